"""Coil, condenser and compressor in steady balance.

* **coil** - the air that touches the cold surface leaves saturated at the apparatus dew point, the rest bypasses it;
* **condenser** - condensing stands above the air that it draws in by rejected heat over a conductance; fitted to a
  van, it draws in air that is warmer than the air around;
* **compressor** - it pumps a volume; what that volume is worth depends on evaporating and condensing temperature. So
  does the work, which is the ideal cycle's over an efficiency that falls with pressure ratio and speed
  (`cooler_compressor`). The ideal cycle falls off faster than Carnot at high lift, and a compressor falls off beside
  it; a constant fraction of either would flatter hot nights.
"""

from __future__ import annotations

import math
from typing import NamedTuple

import numpy as np

from vansim.jit import compiled
from vansim.psychrometrics import CP_DRY_AIR, CP_VAPOUR, ZERO_C_K, density_kg_m3, enthalpy_j_kg, saturation_ratio
from vansim.van.cooler_compressor import efficiency_shape, filled_speed, smooth_max, smooth_min

ECO, BOOST = 0, 1
DRY, WET, EITHER = 0, 1, 2
"""How a coil is solved: as if nothing condensed, as if its whole surface were wet, or as it is (the warmer of both)."""
LIFT_FLOOR_K = 8.0
"""Least lift that a running compressor sees [K]; valves and lines cost at least that (assumed)."""
LIFT_ROUND_K = 5.0
"""Width to either side over which that floor is rounded [K] (assumed)."""


THROTTLE_ROUND_K = 6.0
"""Width to either side over which suction begins to be throttled [K]: a valve has no corner (assumed)."""


class CoolerParameters(NamedTuple):
    """A calibrated cooler as plain numbers; arrays of two run over the modes eco, boost.

    `efficiency`: that of the rated point; `best_ratio`, `fall` and `leak` shape it and the filling (`CompressorShape`),
    `rated_shape` is the shape at the rated point, `rated_hz` the full speed.
    `fluid` (3, 10): the refrigerant's fitted polynomials for the fraction of Carnot, the logarithm of volumetric
    capacity and the logarithm of saturation pressure. `displacement`: swept volume at full speed [m3/s]. `film_k_w`:
    coil surface to evaporating, per watt. `coil_ntu_kg_s`: -m ln(bypass).
    """

    fluid: np.ndarray
    displacement: float
    efficiency: float
    rated_shape: float
    best_ratio: float
    fall: float
    leak: float
    rated_hz: float
    film_k_w: float
    coil_ntu_kg_s: float
    airflow_m3_s: np.ndarray
    condenser_w_k: np.ndarray
    speed: np.ndarray
    coil_fan_w: np.ndarray
    fans_w: np.ndarray
    intake_rise_k: float
    frost_c: float
    condensing_max_c: float
    evaporating_max_c: float
    power_max_w: float


FRACTION, LN_CAPACITY, LN_PRESSURE = range(3)


class OneSpeed(NamedTuple):
    """A cooler in one of its modes; the fields are those of `CoolerParameters`."""

    fluid: np.ndarray
    displacement: float
    efficiency: float
    rated_shape: float
    best_ratio: float
    fall: float
    leak: float
    rated_hz: float
    film_k_w: float
    coil_ntu_kg_s: float
    airflow_m3_s: float
    condenser_w_k: float
    speed: float
    fans_w: float
    intake_rise_k: float
    frost_c: float
    condensing_max_c: float
    evaporating_max_c: float
    power_max_w: float


@compiled
def in_mode(m: CoolerParameters, mode: int) -> OneSpeed:
    """The cooler in a mode."""
    return OneSpeed(
        fluid=m.fluid,
        displacement=m.displacement,
        efficiency=m.efficiency,
        rated_shape=m.rated_shape,
        best_ratio=m.best_ratio,
        fall=m.fall,
        leak=m.leak,
        rated_hz=m.rated_hz,
        film_k_w=m.film_k_w,
        coil_ntu_kg_s=m.coil_ntu_kg_s,
        airflow_m3_s=m.airflow_m3_s[mode],
        condenser_w_k=m.condenser_w_k[mode],
        speed=m.speed[mode],
        fans_w=m.fans_w[mode],
        intake_rise_k=m.intake_rise_k,
        frost_c=m.frost_c,
        condensing_max_c=m.condensing_max_c,
        evaporating_max_c=m.evaporating_max_c,
        power_max_w=m.power_max_w,
    )


class AirState(NamedTuple):
    """Outdoor air at the condenser and cabin air at the coil [°C], its humidity ratio [kg/kg], air pressure [Pa]."""

    outdoor_c: float
    cabin_c: float
    ratio: float
    pressure_pa: float


class CoilContact(NamedTuple):
    """Air that touches the coil [kg/s], its state, and how the coil is solved: `DRY`, `WET` or `EITHER`."""

    kg_s: float
    air: AirState
    kind: int


class Balance(NamedTuple):
    """Coil surface, evaporating and condensing temperature [°C], gross cooling and compressor power [W]."""

    surface_c: float
    evaporating_c: float
    condensing_c: float
    gross_w: float
    compressor_w: float


class Bracket(NamedTuple):
    """Two surface temperatures [°C] and what is sought to vanish, positive at the lower and negative at the upper."""

    low_c: float
    f_low: float
    high_c: float
    f_high: float


# --- refrigerant ----------------------------------------------------------------------------------


@compiled
def polynomial(fluid: np.ndarray, row: int, x: float, y: float) -> float:
    """Full cubic in two variables: terms 1, x, y, x², xy, y², x³, x²y, xy², y³."""
    c = fluid
    square = c[row, 3] * x * x + c[row, 4] * x * y + c[row, 5] * y * y
    cube = c[row, 6] * x * x * x + c[row, 7] * x * x * y + c[row, 8] * x * y * y + c[row, 9] * y * y * y
    return float(c[row, 0] + c[row, 1] * x + c[row, 2] * y + square + cube)


@compiled
def ideal_cop(m: CoolerParameters | OneSpeed, evaporating_c: float, condensing_c: float) -> float:
    """COP of the ideal cycle: a fitted, falling fraction of Carnot (5 K superheat, 5 K subcooling)."""
    lift = smooth_max(condensing_c - evaporating_c, LIFT_FLOOR_K, LIFT_ROUND_K)
    fraction = polynomial(m.fluid, FRACTION, evaporating_c, evaporating_c + lift)
    return max(fraction, 0.3) * (evaporating_c + ZERO_C_K) / lift


@compiled
def pressure_ratio(m: CoolerParameters | OneSpeed, evaporating_c: float, condensing_c: float) -> float:
    """Condensing over evaporating pressure."""
    return math.exp(saturation_ln_p(m, condensing_c) - saturation_ln_p(m, evaporating_c))


@compiled
def suction_c(m: CoolerParameters | OneSpeed, evaporating_c: float) -> float:
    """Evaporating temperature that the compressor sees [°C]: throttled toward its maximum."""
    return smooth_min(evaporating_c, m.evaporating_max_c, THROTTLE_ROUND_K)


@compiled
def swept_w(m: CoolerParameters | OneSpeed, evaporating_c: float, condensing_c: float) -> float:
    """Refrigerating capacity of the full speed's swept volume, were it filled [W]."""
    return m.displacement * 1000.0 * math.exp(polynomial(m.fluid, LN_CAPACITY, evaporating_c, condensing_c))


@compiled
def pumped_w(m: CoolerParameters | OneSpeed, speed: float, evaporating_c: float, condensing_c: float) -> float:
    """Refrigerating capacity of the compressor [W]: swept volume, less leakage, x volumetric capacity."""
    te = suction_c(m, evaporating_c)
    filled = filled_speed(speed, m.leak, pressure_ratio(m, te, condensing_c))
    return filled * swept_w(m, te, condensing_c)


@compiled
def work_w(m: CoolerParameters | OneSpeed, evaporating_c: float, condensing_c: float, gross_w: float) -> float:
    """Electrical input of the compressor [W] for a cooling, at the speed that this cooling asks for."""
    te = suction_c(m, evaporating_c)
    ratio = pressure_ratio(m, te, condensing_c)
    speed = gross_w / swept_w(m, te, condensing_c) + m.leak * (max(ratio, 1.0) - 1.0)
    shape = efficiency_shape(m.best_ratio, m.fall, ratio, speed * m.rated_hz) / m.rated_shape
    return gross_w / (m.efficiency * shape * ideal_cop(m, te, condensing_c))


@compiled
def saturation_ln_p(m: CoolerParameters | OneSpeed, temp_c: float) -> float:
    """Natural logarithm of the refrigerant's saturation pressure [ln Pa]: terms 1, T, T², T³."""
    c = m.fluid
    at = temp_c
    return float(c[LN_PRESSURE, 0] + at * (c[LN_PRESSURE, 1] + at * (c[LN_PRESSURE, 2] + at * c[LN_PRESSURE, 3])))


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
def coil_water_kg_s(contact_kg_s: float, ratio: float, surface_ratio: float) -> float:
    """Water condensed by the coil [kg/s], whose surface saturates air at `surface_ratio`; none above the dew point."""
    return contact_kg_s * max(0.0, ratio - surface_ratio)


@compiled
def coil_gross_w(contact: CoilContact, surface_c: float) -> float:
    """Total cooling of the coil [W], sensible and condensation, by the enthalpy of the air that touches it."""
    air = contact.air
    leaving = air.ratio
    if contact.kind != DRY:
        leaving = saturation_ratio(surface_c, air.pressure_pa)
        if contact.kind == EITHER:
            leaving = min(air.ratio, leaving)
    return contact.kg_s * (enthalpy_j_kg(air.cabin_c, air.ratio) - enthalpy_j_kg(surface_c, leaving))


# --- balance --------------------------------------------------------------------------------------


@compiled
def condensing_for(m: OneSpeed, outdoor_c: float, evaporating_c: float, gross_w: float) -> float:
    """Condensing temperature [°C] at which the condenser rejects `gross_w` and the work that it takes."""
    intake_c = outdoor_c + m.intake_rise_k
    tc = intake_c + 1.3 * gross_w / m.condenser_w_k
    for _ in range(40):
        work = work_w(m, evaporating_c, tc, gross_w)
        new = min(intake_c + (gross_w + work) / m.condenser_w_k, 95.0)
        if abs(new - tc) < 1e-8:
            return new
        tc = new
    return tc


FREE, HOT, POWER = 0, 1, 2
"""What decides on a coil's surface: balance of coil and compressor, the condenser's limit, or the limit of power."""


@compiled
def _excess(m: OneSpeed, contact: CoilContact, surface_c: float, what: int) -> tuple[float, float]:
    """What vanishes at the surface temperature that `what` decides on, falling with it; condensing temperature [°C]."""
    gross = coil_gross_w(contact, surface_c)
    te = surface_c - gross * m.film_k_w
    tc = condensing_for(m, contact.air.outdoor_c, te, gross)
    if what == HOT:
        return tc - m.condensing_max_c, tc
    if what == POWER:
        return (work_w(m, te, tc, gross) + m.fans_w - m.power_max_w) / 25.0, tc
    return gross - pumped_w(m, m.speed, te, tc), tc


@compiled
def _between(m: OneSpeed, contact: CoilContact, low_c: float, high_c: float, what: int) -> Bracket:
    """The excess at both ends."""
    f_low, _ = _excess(m, contact, low_c, what)
    f_high, _ = _excess(m, contact, high_c, what)
    return Bracket(low_c=low_c, f_low=f_low, high_c=high_c, f_high=f_high)


@compiled
def _root(m: OneSpeed, contact: CoilContact, within: Bracket, what: int) -> float:
    """Surface temperature at which the excess vanishes: bracketed secant steps (Illinois)."""
    low, f_low, high, f_high = within
    surface, least, kept = 0.5 * (low + high), 1e-5 if what == FREE else 1e-8, 0
    for _ in range(80):
        surface = high - f_high * (high - low) / (f_high - f_low)
        f, _ = _excess(m, contact, surface, what)
        if abs(f) < least or high - low < 1e-9:
            break
        if f > 0.0:
            low, f_low = surface, f
            if kept == 1:  # the same end twice: halve the other's weight
                f_high *= 0.5
            kept = 1
        else:
            high, f_high = surface, f
            if kept == -1:
                f_low *= 0.5
            kept = -1
    return surface


@compiled
def contact_of(m: OneSpeed, air: AirState, kind: int) -> CoilContact:
    """Air that touches the coil."""
    flow = coil_mass_flow_kg_s(m.airflow_m3_s, air.cabin_c, air.ratio, air.pressure_pa)
    return CoilContact(kg_s=flow * coil_contact(m.coil_ntu_kg_s, flow), air=air, kind=kind)


@compiled
def balanced_c(m: OneSpeed, contact: CoilContact, near_c: float) -> float:
    """Surface temperature [°C] of a machine without limits; looked for near `near_c` first, where that is a number."""
    cabin_c = contact.air.cabin_c
    low, high = cabin_c - 60.0, cabin_c
    if not math.isnan(near_c):
        low, high = near_c - 1.5, min(near_c + 1.5, cabin_c)
    within = _between(m, contact, low, high, FREE)
    if within.f_low < 0.0 or within.f_high > 0.0:
        within = _between(m, contact, cabin_c - 60.0, cabin_c, FREE)
    return _root(m, contact, within, FREE)


@compiled
def limited_c(m: OneSpeed, contact: CoilContact, low_c: float, what: int) -> float:
    """Surface temperature [°C] at which a limit is just met, at most the cabin's; `low_c` where it is not reached."""
    within = _between(m, contact, low_c, contact.air.cabin_c, what)
    if within.f_low <= 0.0:
        return low_c
    if within.f_high >= 0.0:
        return within.high_c
    return _root(m, contact, within, what)


@compiled
def state_at(m: OneSpeed, contact: CoilContact, surface_c: float) -> Balance:
    """The balance of a machine whose compressor runs as its surface temperature asks."""
    gross = coil_gross_w(contact, surface_c)
    te = surface_c - gross * m.film_k_w
    tc = condensing_for(m, contact.air.outdoor_c, te, gross)
    return Balance(
        surface_c=surface_c,
        evaporating_c=suction_c(m, te),
        condensing_c=tc,
        gross_w=gross,
        compressor_w=work_w(m, te, tc, gross),
    )


@compiled
def steady_state(machine: CoolerParameters, mode: int, air: AirState, kind: int = EITHER) -> Balance:
    """Solve the balance of coil, compressor and condenser.

    Parameters
    ----------
    machine : CoolerParameters
        Calibrated cooler.
    mode : int
        `ECO` or `BOOST`.
    air : AirState
        At condenser and coil.
    kind : int
        `EITHER` for the real coil; `DRY` and `WET` for the two smooth branches that it is made of.

    Returns
    -------
    Balance
        Temperatures [°C], gross cooling and compressor power [W].

    Notes
    -----
    The coil gives less, and the compressor pumps more, the warmer the surface: one root, by bisection with secant steps
    (Illinois). Where the coil would freeze, the condenser run too hot, or the machine draw more than its limit, the
    compressor slows: the surface is held at the temperature where the limit is just met, so it is the warmest of four.
    """
    m = in_mode(machine, mode)
    contact = contact_of(m, air, kind)
    surface = max(balanced_c(m, contact, math.nan), min(m.frost_c, air.cabin_c))
    surface = limited_c(m, contact, surface, HOT)
    return state_at(m, contact, limited_c(m, contact, surface, POWER))
