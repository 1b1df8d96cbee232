"""A cooler solved once onto a grid, and read back while time passes.

Solving the balance takes some microseconds, a year asks for it a million times; between the points of a grid it is
smooth. The grid holds the coil's *surface* and the power; what the coil does to the air follows from them exactly.
Where a coil begins to drip or a limit begins to act there is a kink, so each side of each kink has a grid of its own.
"""

from __future__ import annotations

import math
from typing import NamedTuple

import numpy as np

from vansim.jit import compiled, compiled_maker
from vansim.psychrometrics import CP_DRY_AIR, CP_VAPOUR, WATER_RATIO, ZERO_C_K, saturation_ratio, saturation_ratio_slope
from vansim.van.cooler_balance import (
    BOOST,
    DRY,
    ECO,
    FREE,
    HOT,
    POWER,
    WET,
    AirState,
    CoolerParameters,
    balanced_c,
    coil_mass_flow_kg_s,
    coil_sensible_w,
    coil_water_kg_s,
    contact_of,
    in_mode,
    limited_c,
    state_at,
)

STANDARD_PA = 101325.0

FIRST_OUTDOOR_C, STEP_OUTDOOR_K = -6.0, 2.0
FIRST_CABIN_C, STEP_CABIN_K = 11.2, 2.0  # thermostat levels in whole degrees and quarters are no points of it
STEP_RATIO = 0.00075
OUTDOOR_C = np.arange(FIRST_OUTDOOR_C, 60.1, STEP_OUTDOOR_K)
CABIN_C = np.arange(FIRST_CABIN_C, 71.3, STEP_CABIN_K)
RATIO = np.arange(0.0, 0.0361, STEP_RATIO)


SURFACES = 3
"""Surfaces of the map: `FREE`, and where the limits `HOT` and `POWER` are just met."""
FREE_W, HOT_W, FROST_W = range(3)
"""Powers of the map: free, at the condenser's limit, and the logarithm of that with the surface at the frost limit (it
rises by 15 % a kelvin there)."""
BELOW_FREE_K = 12.0
"""A limit that is still not reached with the surface this much colder than the free one is not looked for further."""


class CoolerMap(NamedTuple):
    """Steady states on a grid over outdoor air, cabin air and cabin humidity, per mode.

    `surface_c` and `power_w` have shape (3, 2, 2, n_outdoor, n_cabin, n_ratio): what decides (see `SURFACES` and
    `FREE_W`), branch (`DRY`, `WET`) and mode (`ECO`, `BOOST`); coil surface [°C] and electrical power with fans [W].
    Each of these is smooth. A coil's surface is the warmest of the free one, the frost limit and those that just meet a
    limit, and it is dry where the wet one would give water to the air, so every kink stays sharp. The surface is
    stored, not the cooling: sensible and latent follow from it exactly. `airflow_m3_s`, `blower_w` and `coil_ntu_kg_s`,
    -m ln(bypass), hold one number a mode. Beyond its edge the states are held.
    """

    surface_c: np.ndarray
    power_w: np.ndarray
    frost_c: float
    power_max_w: float
    airflow_m3_s: np.ndarray
    blower_w: np.ndarray
    coil_ntu_kg_s: np.ndarray
    pressure_pa: float


class Corner(NamedTuple):
    """One state of the grid: surfaces [°C] and powers with fans [W, ln W] of everything that may decide."""

    free_c: float
    hot_c: float
    strong_c: float
    free_w: float
    hot_w: float
    ln_frost_w: float


@compiled
def _corner(machine: CoolerParameters, mode: int, air: AirState, kind: int, near_c: float) -> Corner:
    """Solve one state of the grid for everything that may decide; `near_c` is a free surface to look near first."""
    m = in_mode(machine, mode)  # not in the caller, which counts references to arrays
    contact = contact_of(m, air, kind)
    free = balanced_c(m, contact, near_c)
    hot = limited_c(m, contact, free - BELOW_FREE_K, HOT)
    frost_w = state_at(m, contact, min(m.frost_c, air.cabin_c)).compressor_w + m.fans_w
    if not 1.0 < frost_w < math.inf:  # no machine gets so cold in so hot a cabin, and it is never read
        frost_w = 1.0
    return Corner(
        free_c=free,
        hot_c=hot,
        strong_c=limited_c(m, contact, free - BELOW_FREE_K, POWER),
        free_w=state_at(m, contact, free).compressor_w + m.fans_w,
        hot_w=state_at(m, contact, hot).compressor_w + m.fans_w,
        ln_frost_w=math.log(frost_w),
    )


@compiled_maker
def _fill(
    m: CoolerParameters, axes: tuple[np.ndarray, np.ndarray, np.ndarray], pressure_pa: float
) -> tuple[np.ndarray, np.ndarray]:
    outdoor, cabin, ratio = axes
    shape = (SURFACES, 2, 2, outdoor.size, cabin.size, ratio.size)
    surface, power = np.empty(shape), np.empty(shape)
    for mode in (ECO, BOOST):
        for i in range(outdoor.size):
            for j in range(cabin.size):
                near = math.nan
                for k in range(ratio.size):
                    wet = _corner(m, mode, AirState(outdoor[i], cabin[j], ratio[k], pressure_pa), WET, near)
                    near = wet.free_c
                    for n in range(SURFACES):
                        surface[n, WET, mode, i, j, k] = wet[n]
                        power[n, WET, mode, i, j, k] = wet[SURFACES + n]
                # a dry coil is straight in humidity to 0.01 K
                first = _corner(m, mode, AirState(outdoor[i], cabin[j], ratio[0], pressure_pa), DRY, math.nan)
                last = _corner(m, mode, AirState(outdoor[i], cabin[j], ratio[-1], pressure_pa), DRY, math.nan)
                for k in range(ratio.size):
                    share = (ratio[k] - ratio[0]) / (ratio[-1] - ratio[0])
                    for n in range(SURFACES):
                        surface[n, DRY, mode, i, j, k] = first[n] + (last[n] - first[n]) * share
                        start, end = first[SURFACES + n], last[SURFACES + n]
                        power[n, DRY, mode, i, j, k] = start + (end - start) * share
    return surface, power


def solve_map(machine: CoolerParameters, pressure_pa: float) -> CoolerMap:
    """Solve a machine at every point of the grid.

    Parameters
    ----------
    machine : CoolerParameters
        Calibrated.
    pressure_pa : float
        Air pressure [Pa].

    Returns
    -------
    CoolerMap
        Two modes, -6 to 60 °C outdoors, 11 to 71 °C in the cabin, 0 to 36 g/kg.
    """
    surface, power = _fill(machine, (OUTDOOR_C, CABIN_C, RATIO), pressure_pa)
    return CoolerMap(
        surface_c=surface,
        power_w=power,
        frost_c=machine.frost_c,
        power_max_w=machine.power_max_w,
        airflow_m3_s=machine.airflow_m3_s,
        blower_w=machine.coil_fan_w,
        coil_ntu_kg_s=np.full(2, machine.coil_ntu_kg_s),
        pressure_pa=pressure_pa,
    )


def no_cooler_map() -> CoolerMap:
    """A map for a van without a cooler: right in kind, never read."""
    nothing, one = np.zeros((SURFACES, 2, 2, 2, 2, 2)), np.ones(2)
    return CoolerMap(
        surface_c=nothing,
        power_w=nothing,
        frost_c=-math.inf,
        power_max_w=math.inf,
        airflow_m3_s=one,
        blower_w=one,
        coil_ntu_kg_s=one,
        pressure_pa=STANDARD_PA,
    )


@compiled
def _bracket(value: float, first: float, step: float, count: int) -> tuple[int, float]:
    """Cell and position in it (0 to 1) on an even axis, held at the ends."""
    place = min(max((value - first) / step, 0.0), count - 1.0)
    cell = min(int(place), count - 2)
    return cell, place - cell


class Cell(NamedTuple):
    """Where a state lies in the grid: cell along each axis, and place in it from 0 to 1."""

    outdoor: int
    outdoor_share: float
    cabin: int
    cabin_share: float
    ratio: int
    ratio_share: float


@compiled
def _trilinear(values: np.ndarray, at: Cell) -> tuple[float, float, float]:
    """Value, and its differences over the cell along the second and the third axis."""
    i, j, k = at.outdoor, at.cabin, at.ratio
    u, v, w = at.outdoor_share, at.cabin_share, at.ratio_share
    a00 = values[i, j, k] * (1 - u) + values[i + 1, j, k] * u
    a01 = values[i, j, k + 1] * (1 - u) + values[i + 1, j, k + 1] * u
    a10 = values[i, j + 1, k] * (1 - u) + values[i + 1, j + 1, k] * u
    a11 = values[i, j + 1, k + 1] * (1 - u) + values[i + 1, j + 1, k + 1] * u
    low, high = a00 * (1 - w) + a01 * w, a10 * (1 - w) + a11 * w
    return low * (1 - v) + high * v, high - low, (a01 - a00) * (1 - v) + (a11 - a10) * v


class Decided(NamedTuple):
    """A coil's surface [°C], power with fans [W], and their differences over a cell along cabin and humidity."""

    surface_c: float
    surface_k: float
    surface_ratio: float
    power_w: float
    power_k: float
    power_ratio: float


@compiled
def _decided(cooling: CoolerMap, branch: int, mode: int, at: Cell) -> Decided:
    """The warmest of the surfaces that may decide, and the power that belongs to it."""
    surface, surface_k, surface_ratio = _trilinear(cooling.surface_c[FREE, branch, mode], at)
    hot, hot_k, hot_ratio = _trilinear(cooling.surface_c[HOT, branch, mode], at)
    strong, strong_k, strong_ratio = _trilinear(cooling.surface_c[POWER, branch, mode], at)
    which = FREE_W
    if surface < cooling.frost_c:
        which, surface, surface_k, surface_ratio = FROST_W, cooling.frost_c, 0.0, 0.0
    if surface < hot:
        which, surface, surface_k, surface_ratio = HOT_W, hot, hot_k, hot_ratio
    if surface < strong:
        return Decided(
            surface_c=strong,
            surface_k=strong_k,
            surface_ratio=strong_ratio,
            power_w=cooling.power_max_w,
            power_k=0.0,
            power_ratio=0.0,
        )
    power, power_k, power_ratio = _trilinear(cooling.power_w[which, branch, mode], at)
    if which == FROST_W:
        power = math.exp(power)
        power_k, power_ratio = power * power_k, power * power_ratio
    if power > cooling.power_max_w:
        power, power_k, power_ratio = cooling.power_max_w, 0.0, 0.0
    return Decided(
        surface_c=surface,
        surface_k=surface_k,
        surface_ratio=surface_ratio,
        power_w=power,
        power_k=power_k,
        power_ratio=power_ratio,
    )


class Running(NamedTuple):
    """What a running cooler does now, and how that changes with cabin temperature [1/K] and humidity ratio [per kg/kg].

    Net sensible cooling of the cabin [W], condensate [kg/s], electrical power [W], supply air [°C].
    """

    sensible_w: float
    sensible_per_k: float
    sensible_per_ratio: float
    water_kg_s: float
    water_per_k: float
    water_per_ratio: float
    power_w: float
    power_per_k: float
    power_per_ratio: float
    supply_c: float


@compiled
def running(cooling: CoolerMap, mode: int, outdoor_c: float, cabin_c: float, ratio: float) -> Running:
    """Read the map and apply the coil.

    Parameters
    ----------
    cooling : CoolerMap
        From `cooler_map`.
    mode : int
        `ECO` or `BOOST`.
    outdoor_c, cabin_c, ratio : float
        Outdoor and cabin air [°C], cabin humidity ratio [kg/kg].

    Returns
    -------
    Running
        The blower's heat is taken off the sensible cooling. The slopes are exact within a cell of the map: they hold
        the move of the coil's surface, and that the blower moves a volume, whose mass follows the air's density.
    """
    pressure, blower, ntu = cooling.pressure_pa, cooling.blower_w[mode], cooling.coil_ntu_kg_s[mode]
    _, _, _, n_outdoor, n_cabin, n_ratio = cooling.surface_c.shape
    i, u = _bracket(outdoor_c, FIRST_OUTDOOR_C, STEP_OUTDOOR_K, n_outdoor)
    j, v = _bracket(cabin_c, FIRST_CABIN_C, STEP_CABIN_K, n_cabin)
    k, w = _bracket(ratio, 0.0, STEP_RATIO, n_ratio)
    at = Cell(outdoor=i, outdoor_share=u, cabin=j, cabin_share=v, ratio=k, ratio_share=w)
    coil = _decided(cooling, WET, mode, at)
    saturated = saturation_ratio(coil.surface_c, pressure)
    if saturated >= ratio:  # the wet branch would give water to the air: the coil is dry
        coil = _decided(cooling, DRY, mode, at)
    surface = coil.surface_c
    surface_k, surface_ratio = coil.surface_k / STEP_CABIN_K, coil.surface_ratio / STEP_RATIO
    flow = coil_mass_flow_kg_s(cooling.airflow_m3_s[mode], cabin_c, ratio, pressure)
    bypass = math.exp(-ntu / flow)
    contact = flow * (1.0 - bypass)
    heat, drop = CP_DRY_AIR + CP_VAPOUR * ratio, cabin_c - surface
    # d(flow (1 - exp(-ntu / flow))) / d flow, times how the flow falls with temperature and humidity
    by_flow = 1.0 - bypass * (1.0 + ntu / flow)
    contact_k = -by_flow * flow / (cabin_c + ZERO_C_K)
    contact_ratio = -by_flow * flow / (WATER_RATIO + ratio)
    sensible = coil_sensible_w(contact, cabin_c, ratio, surface) - blower
    water = coil_water_kg_s(contact, ratio, saturated)
    water_k = water_ratio = 0.0
    if water > 0.0:
        rise = saturation_ratio_slope(surface, ratio - water / contact, pressure)
        water_k = -contact * rise * surface_k + contact_k * water / contact
        water_ratio = max(0.0, contact * (1.0 - rise * surface_ratio) + contact_ratio * water / contact)
    return Running(
        sensible_w=sensible,
        sensible_per_k=contact * heat * (1.0 - surface_k) + contact_k * heat * drop,
        sensible_per_ratio=-contact * heat * surface_ratio + contact * CP_VAPOUR * drop + contact_ratio * heat * drop,
        water_kg_s=water,
        water_per_k=water_k,
        water_per_ratio=water_ratio,
        power_w=coil.power_w,
        power_per_k=coil.power_k / STEP_CABIN_K,
        power_per_ratio=coil.power_ratio / STEP_RATIO,
        supply_c=cabin_c - sensible / (flow * heat),
    )


@compiled
def ramp(since_start_s: float, ramp_s: float) -> float:
    """Share of steady capacity reached a time after a start: one time constant, power full at once."""
    return 1.0 - math.exp(-since_start_s / ramp_s)
