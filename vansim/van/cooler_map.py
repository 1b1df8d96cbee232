"""A cooler solved once onto a grid, and read back while time passes.

Solving the balance takes some microseconds, a year asks for it a million times; between the points of a grid it is
smooth. The grid holds the coil's *surface* and the power; what the coil does to the air follows from them exactly.
"""

from __future__ import annotations

import math
from typing import NamedTuple

import numpy as np

from vansim.jit import compiled, compiled_maker
from vansim.psychrometrics import CP_DRY_AIR, CP_VAPOUR, WATER_RATIO, ZERO_C_K, saturation_ratio, saturation_ratio_slope
from vansim.van.cooler_balance import (
    DRY,
    WET,
    CoolerParameters,
    coil_mass_flow_kg_s,
    coil_sensible_w,
    coil_water_kg_s,
    steady_state,
)

STANDARD_PA = 101325.0

FIRST_OUTDOOR_C, STEP_OUTDOOR_K = -6.0, 3.0
FIRST_CABIN_C, STEP_CABIN_K = 10.0, 3.0
STEP_RATIO = 0.001
OUTDOOR_C = np.arange(FIRST_OUTDOOR_C, 58.1, STEP_OUTDOOR_K)
CABIN_C = np.arange(FIRST_CABIN_C, 70.1, STEP_CABIN_K)
RATIO = np.arange(0.0, 0.0361, STEP_RATIO)


class CoolerMap(NamedTuple):
    """Steady states on a grid over outdoor air, cabin air and cabin humidity, per mode.

    `grid` has shape (2, 2, 2, n_outdoor, n_cabin, n_ratio): dry and wet branch; coil surface [°C] and electrical power
    with fans [W]; mode. Each branch is smooth, and a coil is dry where the wet one would give water to the air, so the
    kink where it begins to drip stays sharp. The surface is stored, not the cooling: sensible and latent follow from it
    exactly. `coil` (2, 3) holds per mode the air flow [m3/s], the blower's power [W] and -m ln(bypass) [kg/s]. Beyond
    its edge the states are held.
    """

    grid: np.ndarray
    coil: np.ndarray
    pressure_pa: float


@compiled_maker
def _fill(
    m: CoolerParameters, outdoor: np.ndarray, cabin: np.ndarray, ratio: np.ndarray, pressure_pa: float
) -> np.ndarray:
    out = np.empty((2, 2, 2, outdoor.size, cabin.size, ratio.size))
    last = ratio.size - 1
    for mode in range(2):
        for i in range(outdoor.size):
            for j in range(cabin.size):
                near = math.nan
                for k in range(ratio.size):
                    state = steady_state(m, mode, outdoor[i], cabin[j], ratio[k], pressure_pa, WET, near)
                    near = state[0]
                    out[WET, 0, mode, i, j, k], out[WET, 1, mode, i, j, k] = state[0], state[4] + m.fans_w[mode]
                # a dry coil is straight in humidity to 0.01 K
                first = steady_state(m, mode, outdoor[i], cabin[j], ratio[0], pressure_pa, DRY)
                final = steady_state(m, mode, outdoor[i], cabin[j], ratio[last], pressure_pa, DRY)
                for k in range(ratio.size):
                    share = (ratio[k] - ratio[0]) / (ratio[last] - ratio[0])
                    out[DRY, 0, mode, i, j, k] = first[0] + (final[0] - first[0]) * share
                    out[DRY, 1, mode, i, j, k] = first[4] + (final[4] - first[4]) * share + m.fans_w[mode]
    return out


def solve_map(machine: CoolerParameters, pressure_pa: float) -> CoolerMap:
    """Solve a machine at every point of the grid.

    Parameters
    ----------
    machine : Machine
        Calibrated.
    pressure_pa : float
        Air pressure [Pa].

    Returns
    -------
    CoolerMap
        Two modes, -6 to 58 °C outdoors, 10 to 70 °C in the cabin, 0 to 36 g/kg.
    """
    coil = np.column_stack([machine.airflow_m3_s, machine.coil_fan_w, np.full(2, machine.coil_ntu_kg_s)])
    return CoolerMap(_fill(machine, OUTDOOR_C, CABIN_C, RATIO, pressure_pa), coil, pressure_pa)


def no_cooler_map() -> CoolerMap:
    """A map for a van without a cooler: right in kind, never read."""
    return CoolerMap(np.zeros((2, 2, 2, 2, 2, 2)), np.ones((2, 3)), STANDARD_PA)


@compiled
def _bracket(value: float, first: float, step: float, count: int) -> tuple[int, float]:
    """Cell and position in it (0 to 1) on an even axis, held at the ends."""
    place = min(max((value - first) / step, 0.0), count - 1.0)
    cell = min(int(place), count - 2)
    return cell, place - cell


@compiled
def _trilinear(
    grid: np.ndarray, kind: int, what: int, mode: int, i: int, u: float, j: int, v: float, k: int, w: float
) -> tuple[float, float, float]:
    """Value, and its differences over the cell along the second and the third axis."""
    a00 = grid[kind, what, mode, i, j, k] * (1 - u) + grid[kind, what, mode, i + 1, j, k] * u
    a01 = grid[kind, what, mode, i, j, k + 1] * (1 - u) + grid[kind, what, mode, i + 1, j, k + 1] * u
    a10 = grid[kind, what, mode, i, j + 1, k] * (1 - u) + grid[kind, what, mode, i + 1, j + 1, k] * u
    a11 = grid[kind, what, mode, i, j + 1, k + 1] * (1 - u) + grid[kind, what, mode, i + 1, j + 1, k + 1] * u
    low, high = a00 * (1 - w) + a01 * w, a10 * (1 - w) + a11 * w
    return low * (1 - v) + high * v, high - low, (a01 - a00) * (1 - v) + (a11 - a10) * v


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
        0 eco, 1 boost.
    outdoor_c, cabin_c, ratio : float
        Outdoor and cabin air [°C], cabin humidity ratio [kg/kg].

    Returns
    -------
    Running
        The blower's heat is taken off the sensible cooling. The slopes are exact within a cell of the map: they hold
        the move of the coil's surface, and that the blower moves a volume, whose mass follows the air's density.
    """
    grid, pressure = cooling.grid, cooling.pressure_pa
    airflow, blower, ntu = cooling.coil[mode, 0], cooling.coil[mode, 1], cooling.coil[mode, 2]
    i, u = _bracket(outdoor_c, FIRST_OUTDOOR_C, STEP_OUTDOOR_K, grid.shape[3])
    j, v = _bracket(cabin_c, FIRST_CABIN_C, STEP_CABIN_K, grid.shape[4])
    k, w = _bracket(ratio, 0.0, STEP_RATIO, grid.shape[5])
    kind = WET
    surface, surface_k, surface_ratio = _trilinear(grid, WET, 0, mode, i, u, j, v, k, w)
    saturated = saturation_ratio(surface, pressure)
    if saturated >= ratio:  # the wet branch would give water to the air: the coil is dry
        kind = DRY
        surface, surface_k, surface_ratio = _trilinear(grid, DRY, 0, mode, i, u, j, v, k, w)
    power, power_k, power_ratio = _trilinear(grid, kind, 1, mode, i, u, j, v, k, w)
    surface_k, surface_ratio = surface_k / STEP_CABIN_K, surface_ratio / STEP_RATIO
    flow = coil_mass_flow_kg_s(airflow, cabin_c, ratio, pressure)
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
        sensible,
        contact * heat * (1.0 - surface_k) + contact_k * heat * drop,
        -contact * heat * surface_ratio + contact * CP_VAPOUR * drop + contact_ratio * heat * drop,
        water,
        water_k,
        water_ratio,
        power,
        power_k / STEP_CABIN_K,
        power_ratio / STEP_RATIO,
        cabin_c - sensible / (flow * heat),
    )


@compiled
def ramp(since_start_s: float, ramp_s: float) -> float:
    """Share of steady capacity reached a time after a start: one time constant, power full at once."""
    return 1.0 - math.exp(-since_start_s / ramp_s)
