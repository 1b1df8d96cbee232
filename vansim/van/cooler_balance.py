"""Coil, condenser and compressor in steady balance.

* **coil** - the air that touches the cold surface leaves saturated at the apparatus dew point, the rest bypasses it;
* **condenser** - condensing stands above the outdoor air by rejected heat over a conductance;
* **compressor** - it pumps a volume; what that volume is worth depends on evaporating and condensing temperature. So
  does the work, which is the ideal cycle's over a constant efficiency. The ideal cycle falls off faster than Carnot at
  high lift; a constant fraction of Carnot would flatter hot nights.
"""

from __future__ import annotations

import math
from typing import NamedTuple

import numpy as np

from vansim.air import CP_DRY_AIR, CP_VAPOUR, ZERO_C_K, density_kg_m3, enthalpy_j_kg, saturation_ratio
from vansim.compiled import compiled

ECO, BOOST = 0, 1
DRY, WET, EITHER = 0, 1, 2
"""How a coil is solved: as if nothing condensed, as if its whole surface were wet, or as it is (the warmer of both)."""
LIFT_FLOOR_K = 8.0
"""Least lift that a running compressor sees [K]; valves and lines cost at least that (assumed)."""
CLEARANCE = 0.03
"""Dead volume of the compressor over its displacement (common practice), re-expansion exponent 1.1."""


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
    power_max_w: float


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
def coil_gross_w(
    contact_kg_s: float, cabin_c: float, ratio: float, surface_c: float, pressure_pa: float, kind: int = EITHER
) -> float:
    """Total cooling of the coil [W], sensible and condensation, by the enthalpy of the air that touches it."""
    leaving = ratio
    if kind != DRY:
        leaving = saturation_ratio(surface_c, pressure_pa)
        if kind == EITHER:
            leaving = min(ratio, leaving)
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
        if abs(new - tc) < 1e-8:
            return new
        tc = new
    return tc


@compiled
def _imbalance(m: Machine, mode: int, outdoor_c: float, air: tuple, surface_c: float) -> tuple:
    contact, cabin_c, ratio, pressure_pa, kind = air
    gross = coil_gross_w(contact, cabin_c, ratio, surface_c, pressure_pa, kind)
    te = surface_c - gross * m.film_k_w
    tc = condensing_for(m, mode, outdoor_c, te, gross)
    work = gross / (m.efficiency * ideal_cop(m, min(te, m.evaporating_max_c), tc))
    strained = tc > m.condensing_max_c or work + m.fans_w[mode] > m.power_max_w
    return gross - pumped_w(m, m.speed[mode], te, tc), tc, strained


@compiled
def steady_state(
    m: Machine, mode: int, outdoor_c: float, cabin_c: float, ratio: float, pressure_pa: float, kind: int = EITHER
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
    kind : int
        `EITHER` for the real coil; `DRY` and `WET` for the two smooth branches that it is made of.

    Returns
    -------
    tuple
        The fields of `Steady`: surface, evaporating and condensing [°C], gross cooling and compressor power [W].

    Notes
    -----
    The coil gives less, and the compressor pumps more, the warmer the surface: one root, by bisection with secant steps
    (Illinois). Where the coil would freeze, the condenser run too hot, or the machine draw more than its limit, the
    compressor slows: the surface is held at the temperature where the limit is just met.
    """
    flow = coil_mass_flow_kg_s(m.airflow_m3_s[mode], cabin_c, ratio, pressure_pa)
    air = (flow * coil_contact(m.coil_ntu_kg_s, flow), cabin_c, ratio, pressure_pa, kind)
    low, high = cabin_c - 60.0, cabin_c
    f_low, _, _ = _imbalance(m, mode, outdoor_c, air, low)
    f_high, _, _ = _imbalance(m, mode, outdoor_c, air, high)
    surface = 0.5 * (low + high)
    for _ in range(80):
        surface = high - f_high * (high - low) / (f_high - f_low)
        f, _, _ = _imbalance(m, mode, outdoor_c, air, surface)
        if abs(f) < 1e-5 or high - low < 1e-9:
            break
        if f > 0.0:
            low, f_low, f_high = surface, f, 0.5 * f_high
        else:
            high, f_high, f_low = surface, f, 0.5 * f_low
    surface = max(surface, min(m.frost_c, cabin_c))
    _, tc, strained = _imbalance(m, mode, outdoor_c, air, surface)
    if strained:
        low, high = surface, cabin_c
        for _ in range(60):
            surface = 0.5 * (low + high)
            _, tc, strained = _imbalance(m, mode, outdoor_c, air, surface)
            if strained:
                low = surface
            else:
                high = surface
    gross = coil_gross_w(air[0], cabin_c, ratio, surface, pressure_pa, kind)
    te = min(surface - gross * m.film_k_w, m.evaporating_max_c)
    return surface, te, tc, gross, gross / (m.efficiency * ideal_cop(m, te, tc))
