"""Longwave radiation from the sky: emissivity from the dew point, cloud, and cloud from the sun where nobody looked up.

Authors differ most on hot dry nights (4 K of sky temperature at 38 °C and 15 % relative humidity); Berdahl & Martin
is used where a file brings no longwave, because it was fitted to whole-year measurements by day and by night.
"""

from __future__ import annotations

import numpy as np
import numpy.typing as npt

from vansim.psychrometrics import STEFAN_BOLTZMANN, ZERO_C_K

Array = npt.NDArray[np.float64]
Numbers = float | Array


def sky_emissivity_berdahl_martin(temp_dew_c: Numbers, hour: Numbers, pressure_pa: Numbers = 1.0e5) -> Numbers:
    """Emissivity of the clear sky.

    Parameters
    ----------
    temp_dew_c : float or array
        Dew point [°C].
    hour : float or array
        Hours from midnight [h].
    pressure_pa : float or array
        Station pressure [Pa].

    Returns
    -------
    float or array
        Emissivity.

    Notes
    -----
    Berdahl & Martin (1984), Solar Energy 32:663: 0.711 + 0.56 (Td/100) + 0.73 (Td/100)^2 + 0.013 cos(2 pi t/24)
    + 0.00012 (P - 1000), P in mbar (the pressure term from memory; it is 0.012 for 1000 m).
    """
    x = np.asarray(temp_dew_c) / 100.0
    daily = 0.013 * np.cos(2.0 * np.pi * np.asarray(hour) / 24.0)
    return 0.711 + 0.56 * x + 0.73 * x**2 + daily + 0.00012 * (np.asarray(pressure_pa) / 100.0 - 1000.0)


def sky_emissivity_clark_allen(temp_dew_c: Numbers) -> Numbers:
    """Emissivity of the clear sky after Clark & Allen (1978): 0.787 + 0.764 ln(Td/273), Td in kelvin."""
    return 0.787 + 0.764 * np.log((np.asarray(temp_dew_c) + ZERO_C_K) / 273.0)


def cloud_factor_walton(sky_cover: Numbers) -> Numbers:
    """Factor of cloud on the whole clear-sky emissivity.

    Parameters
    ----------
    sky_cover : float or array
        Opaque sky cover, 0 to 1.

    Returns
    -------
    float or array
        1 for a clear sky, 1.154 for an overcast one.

    Notes
    -----
    Walton (1983), NBSIR 83-2655: 1 + 0.0224 N - 0.0035 N^2 + 0.00028 N^3, N in tenths.
    """
    n = 10.0 * np.asarray(sky_cover)
    return 1.0 + 0.0224 * n - 0.0035 * n**2 + 0.00028 * n**3


def longwave_w_m2(temp_air_c: Numbers, emissivity: Numbers) -> Numbers:
    """Downward longwave on a horizontal face [W/m2]: emissivity (at most 1) times sigma T^4."""
    return np.minimum(emissivity, 1.0) * STEFAN_BOLTZMANN * (np.asarray(temp_air_c) + ZERO_C_K) ** 4


def sky_temperature_c(longwave: Numbers) -> Numbers:
    """Temperature [°C] of a black sky that sends a given longwave [W/m2]."""
    return (np.asarray(longwave) / STEFAN_BOLTZMANN) ** 0.25 - ZERO_C_K


def sky_cover_from_ghi(ghi_w_m2: Array, cos_zenith: Array) -> Array:
    """Sky cover by the sun that came through, night values carried over from the evening and morning around it.

    Parameters
    ----------
    ghi_w_m2 : (n_times,) array
        Global horizontal irradiance [W/m2].
    cos_zenith : (n_times,) array
        Cosine of the sun's zenith angle, 0 when it is down.

    Returns
    -------
    (n_times,) array
        Sky cover, 0 to 1.

    Notes
    -----
    Kasten & Czeplak (1980), Solar Energy 24:177: clear sky G0 = 910 sin(h) - 30 W/m2; G/G0 = 1 - 0.75 (N/8)^3.4,
    turned round.
    Only hours with the sun above 10 degrees are used; the year is taken as a circle.
    """
    high = cos_zenith > np.sin(np.radians(10.0))
    if not high.any():
        return np.full(len(ghi_w_m2), 0.5)
    clear = 910.0 * cos_zenith[high] - 30.0
    cover = (np.clip(1.0 - ghi_w_m2[high] / clear, 0.0, 0.75) / 0.75) ** (1.0 / 3.4)
    hours = np.arange(len(ghi_w_m2), dtype=float)
    return np.interp(hours, hours[high], cover, period=len(hours))
