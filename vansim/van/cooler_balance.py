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
from vansim.van.cooler_compressor import efficiency_shape, filled_speed

ECO, BOOST = 0, 1
DRY, WET, EITHER = 0, 1, 2
"""How a coil is solved: as if nothing condensed, as if its whole surface were wet, or as it is (the warmer of both)."""
LIFT_FLOOR_K = 8.0
"""Least lift that a running compressor sees [K]; valves and lines cost at least that (assumed)."""


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
    return c[row, 0] + c[row, 1] * x + c[row, 2] * y + square + cube


@compiled
def ideal_cop(m: CoolerParameters | OneSpeed, evaporating_c: float, condensing_c: float) -> float:
    """COP of the ideal cycle: a fitted, falling fraction of Carnot (5 K superheat, 5 K subcooling)."""
    lift = max(condensing_c - evaporating_c, LIFT_FLOOR_K)
    fraction = polynomial(m.fluid, FRACTION, evaporating_c, evaporating_c + lift)
    return max(fraction, 0.3) * (evaporating_c + ZERO_C_K) / lift


@compiled
def pressure_ratio(m: CoolerParameters | OneSpeed, evaporating_c: float, condensing_c: float) -> float:
    """Condensing over evaporating pressure."""
    return math.exp(saturation_ln_p(m, condensing_c) - saturation_ln_p(m, evaporating_c))


@compiled
def swept_w(m: CoolerParameters | OneSpeed, evaporating_c: float, condensing_c: float) -> float:
    """Refrigerating capacity of the full speed's swept volume, were it filled [W]."""
    return m.displacement * 1000.0 * math.exp(polynomial(m.fluid, LN_CAPACITY, evaporating_c, condensing_c))


@compiled
def pumped_w(m: CoolerParameters | OneSpeed, speed: float, evaporating_c: float, condensing_c: float) -> float:
    """Refrigerating capacity of the compressor [W]: swept volume, less leakage, x volumetric capacity."""
    te = min(evaporating_c, m.evaporating_max_c)
    filled = filled_speed(speed, m.leak, pressure_ratio(m, te, condensing_c))
    return filled * swept_w(m, te, condensing_c)


@compiled
def work_w(m: CoolerParameters | OneSpeed, evaporating_c: float, condensing_c: float, gross_w: float) -> float:
    """Electrical input of the compressor [W] for a cooling, at the speed that this cooling asks for."""
    te = min(evaporating_c, m.evaporating_max_c)
    ratio = pressure_ratio(m, te, condensing_c)
    speed = gross_w / swept_w(m, te, condensing_c) + m.leak * (max(ratio, 1.0) - 1.0)
    shape = efficiency_shape(m.best_ratio, m.fall, ratio, speed * m.rated_hz) / m.rated_shape
    return gross_w / (m.efficiency * shape * ideal_cop(m, te, condensing_c))


@compiled
def saturation_ln_p(m: CoolerParameters | OneSpeed, temp_c: float) -> float:
    """Natural logarithm of the refrigerant's saturation pressure [ln Pa]: terms 1, T, T², T³."""
    c = m.fluid
    at = temp_c
    return c[LN_PRESSURE, 0] + at * (c[LN_PRESSURE, 1] + at * (c[LN_PRESSURE, 2] + at * c[LN_PRESSURE, 3]))


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


@compiled
def _imbalance(m: OneSpeed, contact: CoilContact, surface_c: float) -> tuple[float, float, float]:
    """Coil less compressor [W] at a surface temperature; how far beyond its limits the machine is; condensing [°C]."""
    gross = coil_gross_w(contact, surface_c)
    te = surface_c - gross * m.film_k_w
    tc = condensing_for(m, contact.air.outdoor_c, te, gross)
    work = work_w(m, te, tc, gross)
    strain = max(tc - m.condensing_max_c, (work + m.fans_w - m.power_max_w) / 25.0)
    return gross - pumped_w(m, m.speed, te, tc), strain, tc


@compiled
def _between(m: OneSpeed, contact: CoilContact, low_c: float, high_c: float) -> Bracket:
    """The imbalance at both ends."""
    f_low, _, _ = _imbalance(m, contact, low_c)
    f_high, _, _ = _imbalance(m, contact, high_c)
    return Bracket(low_c=low_c, f_low=f_low, high_c=high_c, f_high=f_high)


@compiled
def _root(m: OneSpeed, contact: CoilContact, within: Bracket, of_strain: bool) -> float:
    """Surface temperature at which imbalance, or strain, vanishes: bracketed secant steps (Illinois)."""
    low, f_low, high, f_high = within
    surface, least, kept = 0.5 * (low + high), 1e-8 if of_strain else 1e-5, 0
    for _ in range(80):
        surface = high - f_high * (high - low) / (f_high - f_low)
        imbalance, strain, _ = _imbalance(m, contact, surface)
        f = strain if of_strain else imbalance
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
def steady_state(
    machine: CoolerParameters, mode: int, air: AirState, kind: int = EITHER, near_c: float = math.nan
) -> Balance:
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
    near_c : float
        A surface temperature to look near first, where one is known [°C].

    Returns
    -------
    Balance
        Temperatures [°C], gross cooling and compressor power [W].

    Notes
    -----
    The coil gives less, and the compressor pumps more, the warmer the surface: one root, by bisection with secant steps
    (Illinois). Where the coil would freeze, the condenser run too hot, or the machine draw more than its limit, the
    compressor slows: the surface is held at the temperature where the limit is just met.
    """
    m, cabin_c = in_mode(machine, mode), air.cabin_c
    flow = coil_mass_flow_kg_s(m.airflow_m3_s, cabin_c, air.ratio, air.pressure_pa)
    contact = CoilContact(kg_s=flow * coil_contact(m.coil_ntu_kg_s, flow), air=air, kind=kind)
    low, high = cabin_c - 60.0, cabin_c
    if not math.isnan(near_c):
        low, high = near_c - 1.5, min(near_c + 1.5, cabin_c)
    within = _between(m, contact, low, high)
    if within.f_low < 0.0 or within.f_high > 0.0:
        within = _between(m, contact, cabin_c - 60.0, cabin_c)
    surface = _root(m, contact, within, False)
    surface = max(surface, min(m.frost_c, cabin_c))
    _, strain, tc = _imbalance(m, contact, surface)
    if strain > 0.0:
        _, least, _ = _imbalance(m, contact, cabin_c)
        within = Bracket(low_c=surface, f_low=strain, high_c=cabin_c, f_high=least)
        surface = _root(m, contact, within, True) if least < 0.0 else cabin_c
        _, _, tc = _imbalance(m, contact, surface)
    gross = coil_gross_w(contact, surface)
    te = min(surface - gross * m.film_k_w, m.evaporating_max_c)
    return Balance(
        surface_c=surface,
        evaporating_c=te,
        condensing_c=tc,
        gross_w=gross,
        compressor_w=work_w(m, te, tc, gross),
    )
