"""Moist air as a perfect-gas mixture.

Saturation pressure after ASHRAE Handbook Fundamentals 2017, chapter 1, equations 5 and 6 (Hyland & Wexler 1983); the
other relations from the same chapter. The perfect-gas humidity ratio lies about 0.45 % below the real-gas table.
All functions are scalar and compiled; temperatures in °C, pressures in Pa, humidity ratios in kg per kg of dry air.
"""

from __future__ import annotations

import math

from vansim.jit import compiled

ZERO_C_K = 273.15
"""0 °C [K]."""
GAS_CONSTANT_DRY = 287.042
"""Gas constant of dry air [J/(kg K)] (ASHRAE Fundamentals 2017 ch. 1)."""
WATER_RATIO = 0.621945
"""Molar mass of water over dry air (ASHRAE Fundamentals 2017 ch. 1 eq. 20)."""
CP_DRY_AIR = 1006.0
"""Heat capacity of dry air [J/(kg K)] (ASHRAE Fundamentals 2017 ch. 1 eq. 28)."""
CP_VAPOUR = 1860.0
"""Heat capacity of water vapour [J/(kg K)] (same)."""
EVAPORATION_0C = 2.501e6
"""Heat of evaporation at 0 °C [J/kg] (same)."""
STEFAN_BOLTZMANN = 5.670374e-8
"""Stefan-Boltzmann constant [W/(m2 K4)] (CODATA 2018)."""


@compiled
def saturation_pressure_pa(temp_c: float) -> float:
    """Saturation pressure of water vapour over water, or over ice below 0 °C.

    Parameters
    ----------
    temp_c : float
        Temperature [°C], -100 to 200.

    Returns
    -------
    float
        Pressure [Pa].

    Notes
    -----
    ASHRAE Fundamentals 2017 ch. 1 eq. 5 (ice) and 6 (water), natural logarithm, kelvin.
    """
    t = temp_c + ZERO_C_K
    if temp_c < 0.0:
        ln_p = (
            -5.6745359e3 / t
            + 6.3925247
            - 9.677843e-3 * t
            + 6.2215701e-7 * t**2
            + 2.0747825e-9 * t**3
            - 9.484024e-13 * t**4
            + 4.1635019 * math.log(t)
        )
    else:
        ln_p = (
            -5.8002206e3 / t
            + 1.3914993
            - 4.8640239e-2 * t
            + 4.1764768e-5 * t**2
            - 1.4452093e-8 * t**3
            + 6.5459673 * math.log(t)
        )
    return math.exp(ln_p)


@compiled
def humidity_ratio(vapour_pa: float, pressure_pa: float) -> float:
    """Humidity ratio [kg/kg] from the vapour's partial pressure (ASHRAE Fundamentals 2017 ch. 1 eq. 20)."""
    return WATER_RATIO * vapour_pa / (pressure_pa - vapour_pa)


@compiled
def saturation_ratio(temp_c: float, pressure_pa: float) -> float:
    """Humidity ratio of saturated air [kg/kg]; equally the ratio at a dew point `temp_c`."""
    return humidity_ratio(saturation_pressure_pa(temp_c), pressure_pa)


@compiled
def saturation_ratio_slope(temp_c: float, ratio: float, pressure_pa: float) -> float:
    """Slope of the saturation curve [kg/kg per K] at a temperature above freezing where it stands at `ratio`.

    Notes
    -----
    d ln p / dT of ASHRAE Fundamentals 2017 ch. 1 eq. 6, and dW/dp of eq. 20.
    """
    t = temp_c + ZERO_C_K
    per_k = 5.8002206e3 / t**2 - 4.8640239e-2 + 8.3529536e-5 * t - 4.3356279e-8 * t**2 + 6.5459673 / t
    return ratio * (1.0 + ratio / WATER_RATIO) * per_k


@compiled
def vapour_pressure_pa(ratio: float, pressure_pa: float) -> float:
    """Partial pressure of water vapour [Pa] in air of a humidity ratio [kg/kg] (eq. 20 turned round)."""
    return pressure_pa * ratio / (WATER_RATIO + ratio)


@compiled
def relative_humidity(temp_c: float, ratio: float, pressure_pa: float) -> float:
    """Relative humidity, 0 to 1 (above 1 where the state is over-saturated)."""
    return vapour_pressure_pa(ratio, pressure_pa) / saturation_pressure_pa(temp_c)


@compiled
def enthalpy_j_kg(temp_c: float, ratio: float) -> float:
    """Enthalpy of moist air per kg of dry air [J/kg], zero for dry air at 0 °C (eq. 30)."""
    return CP_DRY_AIR * temp_c + ratio * (EVAPORATION_0C + CP_VAPOUR * temp_c)


@compiled
def density_kg_m3(temp_c: float, ratio: float, pressure_pa: float) -> float:
    """Dry-air mass per volume of moist air [kg/m3] (eq. 26 turned round)."""
    return pressure_pa / (GAS_CONSTANT_DRY * (temp_c + ZERO_C_K) * (1.0 + ratio / WATER_RATIO))


@compiled
def dew_point_c(ratio: float, pressure_pa: float) -> float:
    """Dew point [°C] by Newton on the saturation curve, from a start by the Magnus form; -80 °C for bone-dry air."""
    vapour = vapour_pressure_pa(ratio, pressure_pa)
    if vapour < 0.06:
        return -80.0
    ln_ratio = math.log(vapour / 611.2)
    temp = 243.12 * ln_ratio / (17.62 - ln_ratio)
    for _ in range(12):
        p = saturation_pressure_pa(temp)
        slope = (saturation_pressure_pa(temp + 0.01) - p) / 0.01
        step = (vapour - p) / slope
        temp += step
        if abs(step) < 1e-9:
            break
    return temp


@compiled
def pressure_at_altitude_pa(altitude_m: float) -> float:
    """Standard atmosphere [Pa] at an altitude [m] (ASHRAE Fundamentals 2017 ch. 1 eq. 3)."""
    return float(101325.0 * (1.0 - 2.25577e-5 * altitude_m) ** 5.2559)
