"""The cooling machine as a steady balance of compressor, condenser and coil.

A data sheet gives one point: capacity and power at a stated condition. Three balances carry it everywhere else:

* **coil** - the air that touches the cold surface leaves saturated at the apparatus dew point, the rest bypasses it;
* **condenser** - condensing stands above the outdoor air by rejected heat over a conductance;
* **compressor** - it pumps a volume; what that volume is worth depends on evaporating and condensing temperature. So
  does the work, which is the ideal cycle's over a constant efficiency. The ideal cycle falls off faster than Carnot at
  high lift; a constant fraction of Carnot would flatter hot nights.

*eco* and *boost* are two speeds of one machine. What eco gains (less flow through the same exchangers, so less lift) is
a result of the balance and stands nowhere as an input.
"""

from __future__ import annotations

import math
from functools import lru_cache
from typing import NamedTuple, Self

import numpy as np
from pydantic import Field, model_validator

from vansim.air import (
    CP_DRY_AIR,
    CP_VAPOUR,
    ZERO_C_K,
    density_kg_m3,
    dew_point_c,
    enthalpy_j_kg,
    saturation_pressure_pa,
    saturation_ratio,
)
from vansim.compiled import compiled
from vansim.data import table
from vansim.errors import PhysicsError
from vansim.quantities import Fraction, NotNegative, Part, Positive

STANDARD_PA = 101325.0
ECO, BOOST = 0, 1
COIL_APPROACH_K = 5.0
"""Coil surface above evaporating temperature at the rated point [K] (common practice)."""
FAN_EXPONENT = 0.7
"""Condenser conductance against air flow (forced convection over fins, Re^0.6 to Re^0.8)."""
LIFT_FLOOR_K = 8.0
"""Least lift that a running compressor sees [K]; valves and lines cost at least that (assumed)."""
CLEARANCE = 0.03
"""Dead volume of the compressor over its displacement (common practice), re-expansion exponent 1.1."""


class RatedPoint(Part):
    """What the data sheet or the clamp meter says, at full speed.

    Attributes
    ----------
    outdoor_c, cabin_c : float
        Air at the condenser and at the coil [°C].
    cabin_rh : float
        Relative humidity at the coil, 0 to 1.
    capacity_w : float
        Total cooling into the cabin, the blower's heat taken off [W].
    power_w : float
        Electrical input, fans in [W].
    """

    outdoor_c: float = Field(default=35.0, ge=15, le=55)
    cabin_c: float = Field(default=26.7, ge=15, le=45)
    cabin_rh: Fraction = 0.5
    capacity_w: Positive
    power_w: Positive


class Speed(Part):
    """A mode: fractions of the rated compressor speed and of both air flows.

    Attributes
    ----------
    compressor, coil_air, condenser_air : float
        1 is the rated point.
    """

    compressor: float = Field(ge=0.1, le=1.5)
    coil_air: float = Field(default=1.0, ge=0.1, le=1.5)
    condenser_air: float = Field(default=1.0, ge=0.1, le=1.5)


class Cooler(Part):
    """A battery-powered roof or split unit.

    Attributes
    ----------
    nominal_v : int
        12, 24 or 48 V.
    refrigerant : str
        Key of the refrigerants table.
    rated : RatedPoint
        Data-sheet point, at speeds of 1.
    airflow_m3_h : float
        Through the coil at the rated point [m3/h].
    sensible_share : float
        Sensible over total cooling at the rated point; 0 where it is not known, then `bypass_factor` is used.
    bypass_factor : float
        Share of the air that misses the coil at the rated point.
    condenser_td_k : float
        Condensing over outdoor temperature at the rated point [K]; 11 to 17 in comfort cooling.
    coil_fan_w, condenser_fan_w, standby_w : float
        At rated flow; the controller's draw whenever cooling is enabled [W].
    eco, boost : Speed
        The two modes.
    min_on_s, min_off_s, max_starts_per_h : float
        Protection of the compressor.
    ramp_s : float
        Time constant of capacity after a start; power is full at once. This is the whole cycling loss.
    frost_c, condensing_max_c, evaporating_max_c : float
        The machine slows down rather than let its coil freeze or its condenser overheat; suction is throttled above
        the last [°C].
    """

    name: str = ""
    note: str = ""
    nominal_v: int = Field(default=12)
    refrigerant: str = "R134a"
    rated: RatedPoint
    airflow_m3_h: Positive
    sensible_share: Fraction = 0.0
    bypass_factor: float = Field(default=0.12, gt=0, lt=0.6)
    condenser_td_k: float = Field(default=15.0, ge=5, le=30)
    coil_fan_w: NotNegative = 40.0
    condenser_fan_w: NotNegative = 50.0
    standby_w: NotNegative = 3.0
    eco: Speed = Speed(compressor=0.6, coil_air=0.7, condenser_air=0.8)
    boost: Speed = Speed(compressor=1.0)
    min_on_s: NotNegative = 180.0
    min_off_s: NotNegative = 180.0
    max_starts_per_h: float = Field(default=10.0, gt=0, le=60)
    ramp_s: float = Field(default=45.0, gt=0, le=600)
    frost_c: float = Field(default=1.0, ge=-5, le=8)
    condensing_max_c: float = Field(default=66.0, ge=45, le=72)
    evaporating_max_c: float = Field(default=20.0, ge=10, le=35)
    mass_kg: NotNegative = 0.0
    price: NotNegative = 0.0

    @model_validator(mode="after")
    def _possible(self) -> Self:
        if self.nominal_v not in (12, 24, 48):
            raise ValueError(f"nominal_v is {self.nominal_v}; allowed: 12, 24, 48")
        if self.refrigerant.lower() not in table("refrigerants"):
            known = ", ".join(table("refrigerants"))
            raise ValueError(f"refrigerant {self.refrigerant!r} is not in the table; allowed: {known}")
        machine_numbers(self)
        return self


class Machine(NamedTuple):
    """A calibrated cooler as plain numbers; arrays of two run over the modes eco, boost.

    `fraction`, `ln_qv`, `ln_p`: the refrigerant's fitted polynomials. `displacement`: swept volume at full speed
    [m3/s]. `film_k_w`: coil surface to evaporating, per watt. `coil_ntu_kg_s`: -m ln(bypass).
    """

    fraction: np.ndarray
    ln_qv: np.ndarray
    ln_p: np.ndarray
    displacement: float
    efficiency: float
    film_k_w: float
    coil_ntu_kg_s: float
    airflow_m3_s: np.ndarray
    condenser_w_k: np.ndarray
    speed: np.ndarray
    coil_fan_w: np.ndarray
    fans_w: np.ndarray
    frost_c: float
    condensing_max_c: float
    evaporating_max_c: float


class Steady(NamedTuple):
    """Coil surface, evaporating and condensing temperature [°C], gross cooling and compressor power [W]."""

    surface_c: float
    evaporating_c: float
    condensing_c: float
    gross_w: float
    compressor_w: float


# --- refrigerant ----------------------------------------------------------------------------------


@compiled
def polynomial(c: np.ndarray, x: float, y: float) -> float:
    """Full cubic in two variables: terms 1, x, y, x², xy, y², x³, x²y, xy², y³."""
    return (
        c[0]
        + c[1] * x
        + c[2] * y
        + c[3] * x * x
        + c[4] * x * y
        + c[5] * y * y
        + c[6] * x * x * x
        + c[7] * x * x * y
        + c[8] * x * y * y
        + c[9] * y * y * y
    )


@compiled
def ideal_cop(m: Machine, evaporating_c: float, condensing_c: float) -> float:
    """COP of the ideal cycle: a fitted, falling fraction of Carnot (5 K superheat, 5 K subcooling)."""
    lift = max(condensing_c - evaporating_c, LIFT_FLOOR_K)
    fraction = polynomial(m.fraction, evaporating_c, evaporating_c + lift)
    return max(fraction, 0.3) * (evaporating_c + ZERO_C_K) / lift


@compiled
def pumped_w(m: Machine, speed: float, evaporating_c: float, condensing_c: float) -> float:
    """Refrigerating capacity of the compressor [W]: displaced volume x volumetric efficiency x volumetric capacity."""
    te = min(evaporating_c, m.evaporating_max_c)
    ratio = math.exp(saturation_ln_p(m, condensing_c) - saturation_ln_p(m, te))
    filling = 1.0 - CLEARANCE * (max(ratio, 1.0) ** (1.0 / 1.1) - 1.0)
    return speed * m.displacement * filling * 1000.0 * math.exp(polynomial(m.ln_qv, te, condensing_c))


@compiled
def saturation_ln_p(m: Machine, temp_c: float) -> float:
    """Natural logarithm of the refrigerant's saturation pressure [ln Pa]: terms 1, T, T², T³."""
    c = m.ln_p
    return c[0] + temp_c * (c[1] + temp_c * (c[2] + temp_c * c[3]))


# --- coil -----------------------------------------------------------------------------------------


@compiled
def coil_mass_flow_kg_s(airflow_m3_s: float, cabin_c: float, ratio: float, pressure_pa: float) -> float:
    """Dry air through the coil [kg/s]; the blower moves a volume."""
    return airflow_m3_s * density_kg_m3(cabin_c, ratio, pressure_pa)


@compiled
def coil_contact(coil_ntu_kg_s: float, mass_flow_kg_s: float) -> float:
    """Contact factor, 1 - bypass = 1 - exp(-NTU); -m ln(bypass) is a constant of the coil."""
    return 1.0 - math.exp(-coil_ntu_kg_s / mass_flow_kg_s)


@compiled
def coil_sensible_w(contact_kg_s: float, cabin_c: float, ratio: float, surface_c: float) -> float:
    """Sensible cooling of the coil [W]; `contact_kg_s` is mass flow times contact factor."""
    return contact_kg_s * (CP_DRY_AIR + CP_VAPOUR * ratio) * (cabin_c - surface_c)


@compiled
def coil_water_kg_s(contact_kg_s: float, ratio: float, surface_c: float, pressure_pa: float) -> float:
    """Water condensed by the coil [kg/s]; none while its surface is above the dew point."""
    return contact_kg_s * max(0.0, ratio - saturation_ratio(surface_c, pressure_pa))


@compiled
def coil_gross_w(contact_kg_s: float, cabin_c: float, ratio: float, surface_c: float, pressure_pa: float) -> float:
    """Total cooling of the coil [W], sensible and condensation, by the enthalpy of the air that touches it."""
    leaving = min(ratio, saturation_ratio(surface_c, pressure_pa))
    return contact_kg_s * (enthalpy_j_kg(cabin_c, ratio) - enthalpy_j_kg(surface_c, leaving))


# --- balance --------------------------------------------------------------------------------------


@compiled
def condensing_for(m: Machine, mode: int, outdoor_c: float, evaporating_c: float, gross_w: float) -> float:
    """Condensing temperature [°C] at which the condenser rejects `gross_w` and the work that it takes."""
    te = min(evaporating_c, m.evaporating_max_c)
    tc = outdoor_c + 1.3 * gross_w / m.condenser_w_k[mode]
    for _ in range(40):
        work = gross_w / (m.efficiency * ideal_cop(m, te, tc))
        new = min(outdoor_c + (gross_w + work) / m.condenser_w_k[mode], 95.0)
        if abs(new - tc) < 1e-10:
            return new
        tc = new
    return tc


@compiled
def _imbalance(m: Machine, mode: int, outdoor_c: float, air: tuple, surface_c: float) -> tuple:
    contact, cabin_c, ratio, pressure_pa = air
    gross = coil_gross_w(contact, cabin_c, ratio, surface_c, pressure_pa)
    te = surface_c - gross * m.film_k_w
    tc = condensing_for(m, mode, outdoor_c, te, gross)
    return gross - pumped_w(m, m.speed[mode], te, tc), tc


@compiled
def steady_state(
    m: Machine, mode: int, outdoor_c: float, cabin_c: float, ratio: float, pressure_pa: float
) -> tuple[float, float, float, float, float]:
    """Solve the balance of coil, compressor and condenser.

    Parameters
    ----------
    m : Machine
        Calibrated cooler.
    mode : int
        0 eco, 1 boost.
    outdoor_c, cabin_c : float
        Air at condenser and coil [°C].
    ratio : float
        Humidity ratio at the coil [kg/kg].
    pressure_pa : float
        Air pressure [Pa].

    Returns
    -------
    tuple
        The fields of `Steady`: surface, evaporating and condensing [°C], gross cooling and compressor power [W].

    Notes
    -----
    The coil gives less, and the compressor pumps more, the warmer the surface: one root, by bisection with secant steps
    (Illinois). Where it would freeze, or condense too hot, the surface is held at the limit and the compressor slows.
    """
    flow = coil_mass_flow_kg_s(m.airflow_m3_s[mode], cabin_c, ratio, pressure_pa)
    air = (flow * coil_contact(m.coil_ntu_kg_s, flow), cabin_c, ratio, pressure_pa)
    low, high = cabin_c - 60.0, cabin_c
    f_low, _ = _imbalance(m, mode, outdoor_c, air, low)
    f_high, _ = _imbalance(m, mode, outdoor_c, air, high)
    surface = 0.5 * (low + high)
    for _ in range(80):
        surface = high - f_high * (high - low) / (f_high - f_low)
        f, _ = _imbalance(m, mode, outdoor_c, air, surface)
        if abs(f) < 1e-7 or high - low < 1e-11:
            break
        if f > 0.0:
            low, f_low, f_high = surface, f, 0.5 * f_high
        else:
            high, f_high, f_low = surface, f, 0.5 * f_low
    surface = max(surface, min(m.frost_c, cabin_c))
    _, tc = _imbalance(m, mode, outdoor_c, air, surface)
    if tc > m.condensing_max_c:
        low, high = surface, cabin_c
        for _ in range(60):
            surface = 0.5 * (low + high)
            _, tc = _imbalance(m, mode, outdoor_c, air, surface)
            if tc > m.condensing_max_c:
                low = surface
            else:
                high = surface
    gross = coil_gross_w(air[0], cabin_c, ratio, surface, pressure_pa)
    te = min(surface - gross * m.film_k_w, m.evaporating_max_c)
    return surface, te, tc, gross, gross / (m.efficiency * ideal_cop(m, te, tc))


# --- calibration ----------------------------------------------------------------------------------


def coil_from_share(
    cabin_c: float, ratio: float, gross_w: float, mass_flow_kg_s: float, share: float
) -> tuple[float, float]:
    """Apparatus dew point [°C] and bypass factor of a coil with a stated sensible share.

    Parameters
    ----------
    cabin_c, ratio : float
        Entering air [°C], [kg/kg].
    gross_w, mass_flow_kg_s : float
        Total cooling [W] and dry-air flow [kg/s].
    share : float
        Sensible over total.

    Returns
    -------
    surface_c, bypass : float
        Apparatus dew point [°C], bypass factor.

    Raises
    ------
    PhysicsError
        No saturated state on that line is colder than the leaving air: such a coil cannot exist.

    Notes
    -----
    Going down from the entering dew point, the first surface temperature whose line to the entering state has the
    stated share; of two intersections that is the one nearer the leaving state.
    """
    entering = enthalpy_j_kg(cabin_c, ratio)
    leaving = entering - gross_w / mass_flow_kg_s
    dew = dew_point_c(ratio, STANDARD_PA)

    def share_at(surface: float) -> float:
        saturated = min(ratio, saturation_ratio(surface, STANDARD_PA))
        cold = enthalpy_j_kg(surface, saturated)
        return (enthalpy_j_kg(cabin_c, saturated) - cold) / (entering - cold)

    high, low = dew, dew
    while share_at(low) > share and low > -25.0:
        high, low = low, low - 0.25
    for _ in range(60):
        mid = 0.5 * (low + high)
        low, high = (mid, high) if share_at(mid) < share else (low, mid)
    cold = enthalpy_j_kg(low, min(ratio, saturation_ratio(low, STANDARD_PA)))
    if share_at(low) > share + 1e-6 or cold >= leaving:
        raise PhysicsError(
            f"no coil can do this: {gross_w:.0f} W from {mass_flow_kg_s * 3103:.0f} m3/h at {cabin_c:.1f} °C with "
            f"a sensible_share of {share:.2f} would need a surface that does not lie on the saturation curve; "
            "lower sensible_share or raise airflow_m3_h"
        )
    return low, (leaving - cold) / (entering - cold)


def coil_from_bypass(cabin_c: float, ratio: float, gross_w: float, mass_flow_kg_s: float, bypass: float) -> float:
    """Apparatus dew point [°C] of a coil with a stated bypass factor, wet or dry; `PhysicsError` below -10 °C."""
    contact = mass_flow_kg_s * (1.0 - bypass)
    low, high = -40.0, cabin_c
    for _ in range(70):
        mid = 0.5 * (low + high)
        low, high = (mid, high) if coil_gross_w(contact, cabin_c, ratio, mid, STANDARD_PA) > gross_w else (low, mid)
    if low < -10.0:
        raise PhysicsError(
            f"no coil can do this: {gross_w:.0f} W from {mass_flow_kg_s * 3103:.0f} m3/h with a bypass_factor "
            f"of {bypass:.2f} needs a coil surface of {low:.0f} °C, which ices up; raise airflow_m3_h or lower "
            "capacity_w"
        )
    return low


@lru_cache(maxsize=256)
def _numbers(key: str) -> Machine:
    return _calibrate(Cooler.model_construct(**_restore(key)))


def _restore(key: str) -> dict:
    import json

    raw = json.loads(key)
    raw["rated"] = RatedPoint.model_construct(**raw["rated"])
    for mode in ("eco", "boost"):
        raw[mode] = Speed.model_construct(**raw[mode])
    return raw


def machine_numbers(cooler: Cooler) -> Machine:
    """Calibrate a cooler on its rated point.

    Parameters
    ----------
    cooler : Cooler
        As described by its data sheet.

    Returns
    -------
    Machine
        Numbers for `steady_state`.

    Raises
    ------
    PhysicsError
        An impossible coil, or a rated power that asks more of a compressor than the ideal cycle allows.
    """
    return _numbers(cooler.model_dump_json())


def _calibrate(cooler: Cooler) -> Machine:
    rated = cooler.rated
    vapour = rated.cabin_rh * saturation_pressure_pa(rated.cabin_c)
    ratio = 0.621945 * vapour / (STANDARD_PA - vapour)
    flow = cooler.airflow_m3_h / 3600.0 * density_kg_m3(rated.cabin_c, ratio, STANDARD_PA)
    gross = rated.capacity_w + cooler.coil_fan_w
    if cooler.sensible_share > 0.0:
        surface, bypass = coil_from_share(rated.cabin_c, ratio, gross, flow, cooler.sensible_share)
    else:
        bypass = cooler.bypass_factor
        surface = coil_from_bypass(rated.cabin_c, ratio, gross, flow, bypass)
    compressor_w = rated.power_w - cooler.coil_fan_w - cooler.condenser_fan_w
    if compressor_w <= 0.0:
        raise PhysicsError(f"power_w {rated.power_w:.0f} W is used up by the fans; no compressor is left")
    te, tc = surface - COIL_APPROACH_K, rated.outdoor_c + cooler.condenser_td_k
    row = table("refrigerants")[cooler.refrigerant.lower()]
    modes = (cooler.eco, cooler.boost)
    reject_w_k = (gross + compressor_w) / cooler.condenser_td_k
    flows = np.array([cooler.airflow_m3_h / 3600.0 * s.coil_air for s in modes])
    coil_fan = np.array([cooler.coil_fan_w * s.coil_air**3 for s in modes])
    machine = Machine(
        fraction=np.array(row["fraction_of_carnot"], dtype=float),
        ln_qv=np.array(row["ln_volumetric_capacity"], dtype=float),
        ln_p=np.array(row["ln_saturation_pressure"], dtype=float),
        displacement=1.0,
        efficiency=1.0,
        film_k_w=COIL_APPROACH_K / gross,
        coil_ntu_kg_s=-flow * math.log(bypass),
        airflow_m3_s=flows,
        condenser_w_k=np.array([reject_w_k * s.condenser_air**FAN_EXPONENT for s in modes]),
        speed=np.array([s.compressor for s in modes]),
        coil_fan_w=coil_fan,
        fans_w=coil_fan + np.array([cooler.condenser_fan_w * s.condenser_air**3 for s in modes]),
        frost_c=cooler.frost_c,
        condensing_max_c=cooler.condensing_max_c,
        evaporating_max_c=cooler.evaporating_max_c,
    )
    efficiency = gross / compressor_w / ideal_cop(machine, te, tc)
    if not 0.2 <= efficiency <= 0.8:
        likely = gross / (0.6 * ideal_cop(machine, te, tc)) + cooler.coil_fan_w + cooler.condenser_fan_w
        raise PhysicsError(
            f"rated: {rated.capacity_w:.0f} W of cooling for {rated.power_w:.0f} W asks for a compressor of "
            f"{efficiency:.0%} efficiency; real ones of this size lie between 45 and 65 % (about {likely:.0f} W)"
        )
    return machine._replace(displacement=gross / pumped_w(machine, 1.0, te, tc), efficiency=efficiency)


# --- map ------------------------------------------------------------------------------------------

OUTDOOR_C = np.arange(-6.0, 58.1, 4.0)
CABIN_C = np.arange(10.0, 70.1, 3.0)
RATIO = np.arange(0.0, 0.0361, 0.0015)


class CoolerMap(NamedTuple):
    """Steady states on a grid over outdoor air, cabin air and cabin humidity, per mode.

    `grid` has shape (2, 2, n_outdoor, n_cabin, n_ratio): coil surface [°C] and electrical power with fans [W], for each
    mode. The coil's surface is stored, not its cooling: sensible and latent follow from it exactly, so the kink where a
    coil begins to drip stays sharp. `coil` (2, 3) holds per mode the air flow [m3/s], the blower's power [W] and
    -m ln(bypass) [kg/s]. Beyond its edge the states are held.
    """

    grid: np.ndarray
    coil: np.ndarray
    pressure_pa: float


@compiled
def _fill(m: Machine, outdoor: np.ndarray, cabin: np.ndarray, ratio: np.ndarray, pressure_pa: float) -> np.ndarray:
    out = np.empty((2, 2, outdoor.size, cabin.size, ratio.size))
    for mode in range(2):
        for i in range(outdoor.size):
            for j in range(cabin.size):
                for k in range(ratio.size):
                    state = steady_state(m, mode, outdoor[i], cabin[j], ratio[k], pressure_pa)
                    out[0, mode, i, j, k] = state[0]
                    out[1, mode, i, j, k] = state[4] + m.fans_w[mode]
    return out


@lru_cache(maxsize=64)
def _map(key: str, pressure_pa: float) -> CoolerMap:
    machine = _numbers(key)
    ntu = np.full(2, machine.coil_ntu_kg_s)
    coil = np.column_stack([machine.airflow_m3_s, machine.coil_fan_w, ntu])
    return CoolerMap(_fill(machine, OUTDOOR_C, CABIN_C, RATIO, pressure_pa), coil, pressure_pa)


def cooler_map(cooler: Cooler, pressure_pa: float = STANDARD_PA) -> CoolerMap:
    """Solve a cooler once for everything that a year can bring.

    Parameters
    ----------
    cooler : Cooler
        As described by its data sheet.
    pressure_pa : float
        Air pressure of the place [Pa]; rounded to 1 hPa so that designs in one place share a map.

    Returns
    -------
    CoolerMap
        Two modes, -6 to 58 °C outdoors, 10 to 70 °C in the cabin, 0 to 36 g/kg.
    """
    return _map(cooler.model_dump_json(), round(pressure_pa / 100.0) * 100.0)


def no_cooler_map() -> CoolerMap:
    """A map for a van without a cooler: right in kind, never read."""
    return CoolerMap(np.zeros((2, 2, 2, 2, 2)), np.ones((2, 3)), STANDARD_PA)


@compiled
def _bracket(value: float, first: float, step: float, count: int) -> tuple[int, float]:
    """Cell and position in it (0 to 1) on an even axis, held at the ends."""
    place = min(max((value - first) / step, 0.0), count - 1.0)
    cell = min(int(place), count - 2)
    return cell, place - cell


@compiled
def _trilinear(
    grid: np.ndarray, what: int, mode: int, i: int, u: float, j: int, v: float, k: int, w: float
) -> tuple[float, float, float]:
    """Value, and its differences over the cell along the second and the third axis."""
    a00 = grid[what, mode, i, j, k] * (1 - u) + grid[what, mode, i + 1, j, k] * u
    a01 = grid[what, mode, i, j, k + 1] * (1 - u) + grid[what, mode, i + 1, j, k + 1] * u
    a10 = grid[what, mode, i, j + 1, k] * (1 - u) + grid[what, mode, i + 1, j + 1, k] * u
    a11 = grid[what, mode, i, j + 1, k + 1] * (1 - u) + grid[what, mode, i + 1, j + 1, k + 1] * u
    low, high = a00 * (1 - w) + a01 * w, a10 * (1 - w) + a11 * w
    return low * (1 - v) + high * v, high - low, (a01 - a00) * (1 - v) + (a11 - a10) * v


class Running(NamedTuple):
    """What a running cooler does now: net sensible cooling of the cabin [W], condensate [kg/s], electrical power [W],
    supply air [°C], and their slopes against cabin temperature [1/K].
    """

    sensible_w: float
    sensible_w_k: float
    water_kg_s: float
    water_per_ratio: float
    power_w: float
    power_w_k: float
    supply_c: float


@compiled
def running(
    cooling: CoolerMap, mode: int, outdoor_c: float, cabin_c: float, ratio: float
) -> tuple[float, float, float, float, float, float, float]:
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
    tuple
        The fields of `Running`; the blower's heat is taken off the sensible cooling.
    """
    grid, pressure = cooling.grid, cooling.pressure_pa
    airflow, blower, ntu = cooling.coil[mode, 0], cooling.coil[mode, 1], cooling.coil[mode, 2]
    i, u = _bracket(outdoor_c, -6.0, 4.0, grid.shape[2])
    j, v = _bracket(cabin_c, 10.0, 3.0, grid.shape[3])
    k, w = _bracket(ratio, 0.0, 0.0015, grid.shape[4])
    surface, by_cabin, by_ratio = _trilinear(grid, 0, mode, i, u, j, v, k, w)
    power, power_by_cabin, _ = _trilinear(grid, 1, mode, i, u, j, v, k, w)
    flow = coil_mass_flow_kg_s(airflow, cabin_c, ratio, pressure)
    contact = flow * coil_contact(ntu, flow)
    sensible = coil_sensible_w(contact, cabin_c, ratio, surface)
    water = coil_water_kg_s(contact, ratio, surface, pressure)
    water_slope = 0.0
    if water > 0.0:
        rise = (saturation_ratio(surface + 0.01, pressure) - saturation_ratio(surface, pressure)) / 0.01
        water_slope = contact * max(0.0, 1.0 - rise * by_ratio / 0.0015)
    heat_capacity = CP_DRY_AIR + CP_VAPOUR * ratio
    return (
        sensible - blower,
        contact * heat_capacity * (1.0 - by_cabin / 3.0),
        water,
        water_slope,
        power,
        power_by_cabin / 3.0,
        cabin_c - (sensible - blower) / (flow * heat_capacity),
    )


@compiled
def ramp(since_start_s: float, ramp_s: float) -> float:
    """Share of steady capacity reached a time after a start: one time constant, power full at once."""
    return 1.0 - math.exp(-since_start_s / ramp_s)


class Thermostat(Part):
    """When the cooler runs.

    Attributes
    ----------
    setpoint_c : float
        Middle of the band [°C].
    deadband_k : float
        Width of the band [K].
    boost_return_k : float
        With *boost until cool, then eco*: boost again when the cabin is this far above the set point [K].
    """

    setpoint_c: float = Field(default=24.0, ge=15, le=32)
    deadband_k: float = Field(default=1.0, gt=0, le=6)
    boost_return_k: float = Field(default=3.0, gt=0, le=15)
