"""Longwave radiation from the sky: one formula for every file, from the dew point, the air and the sun.

A clear sky after Berdahl & Martin (1984), cloud after Crawford & Duchon (1999): what cloud takes of the sun, it gives
as a black sky. Every format brings the sun; a cover of cloud is observed in some, estimated in others, in tenths or in
eighths, all of it or the opaque part, or left out. So the same place in two formats has the same sky.

Error to expect against pyrgeometers, model less measured [W/m2]:

==========================  ====  ====  =====================================================================
sky                         bias  rms   source
==========================  ====  ====  =====================================================================
clear, by day               -3.6   9.5  4787 minutes at 7 stations of a US network, 2012 (computed)
clear, by day, hot and dry  -7.7  11.6  the same, above 25 °C and below 12 hPa of vapour
cloudy, hour by hour               25   Flerchinger et al. (2009), Water Resour. Res. 45:W03423, 21 stations;
cloudy, mean of a day              16   this cloud term is among the best three of ten
==========================  ====  ====  =====================================================================

Clear nights were not at hand; at Granada (Theor. Appl. Climatol. 48:127, 1993) the formula with its term of the night
stood within experimental error. A clear-sky bias of 5 and rms of 10 W/m2 are 1 and 2 K of sky temperature. Above about
2000 m the clear sun is stronger than the formula that cloud is measured by, so that thin cloud is not seen there: at
most 12 W/m2 too low at 4000 m.
"""

from __future__ import annotations

from typing import TypeVar

import numpy as np
import numpy.typing as npt

from vansim.psychrometrics import STEFAN_BOLTZMANN, ZERO_C_K

Array = npt.NDArray[np.float64]
Numbers = TypeVar("Numbers", float, Array)

LOWEST_SUN_DEG = 10.0
"""Elevation [deg] below which the sun says nothing of cloud."""


def clear_sky_emissivity(temp_dew_c: Array, hour: Array) -> Array:
    """Emissivity of the clear sky.

    Parameters
    ----------
    temp_dew_c : (n,) array
        Dew point [°C].
    hour : (n,) array
        Hours from midnight [h].

    Returns
    -------
    (n,) array
        Emissivity.

    Notes
    -----
    Berdahl & Martin (1984), Solar Energy 32:663: 0.711 + 0.56 (Td/100) + 0.73 (Td/100)^2 + 0.013 cos(2 pi t/24), the
    last term only from 18 to 6 h: by day it draws the formula away from what stations measure (bias from -3.6 to
    -7.1 W/m2). The authors' term for pressure is left out: it makes high places worse (from 0 to -8 W/m2 at 1700 m).
    """
    x = np.asarray(temp_dew_c) / 100.0
    night = np.maximum(np.cos(2.0 * np.pi * np.asarray(hour) / 24.0), 0.0)
    return np.asarray(0.711 + 0.56 * x + 0.73 * x**2 + 0.013 * night)


def clear_sun_w_m2(cos_zenith: Array) -> Array:
    """Global sun of a clear sky [W/m2] by cos z: 1098 cos z exp(-0.059/cos z) (Haurwitz 1945, J. Meteorol. 2:154)."""
    up = np.maximum(cos_zenith, 1e-6)
    return np.asarray(np.where(cos_zenith > 0.0, 1098.0 * up * np.exp(-0.059 / up), 0.0))


def clear_share(ghi_w_m2: Array, cos_zenith: Array) -> Array:
    """Share of a clear sky's sun that comes through, night values carried over from the evening and morning around.

    Parameters
    ----------
    ghi_w_m2 : (n_times,) array
        Global horizontal irradiance [W/m2].
    cos_zenith : (n_times,) array
        Cosine of the sun's zenith angle, 0 when it is down.

    Returns
    -------
    (n_times,) array
        0 to 1: 1 under a clear sky, about 0.25 under a low overcast.

    Notes
    -----
    The s of Crawford & Duchon (1999), J. Appl. Meteorol. 38:474, who hold the late afternoon's value through the
    night; here it runs straight from the evening's to the morning's. Only hours with the sun above 10 degrees count;
    the year is taken as a circle.
    """
    high = cos_zenith > np.sin(np.radians(LOWEST_SUN_DEG))
    share = np.clip(ghi_w_m2[high] / clear_sun_w_m2(cos_zenith[high]), 0.0, 1.0)
    hours = np.arange(len(ghi_w_m2), dtype=float)
    return np.asarray(np.interp(hours, hours[high], share, period=len(hours)))


def sky_longwave_w_m2(temp_air_c: Array, temp_dew_c: Array, share: Array) -> Array:
    """Downward longwave on the level, mean of each hour of a year.

    Parameters
    ----------
    temp_air_c, temp_dew_c : (n_hours,) array
        Air and dew point at the beginning of each hour [°C], from midnight on; the year is taken as a circle.
    share : (n_hours,) array
        From `clear_share`, of each hour.

    Returns
    -------
    (n_hours,) array
        [W/m2].

    Notes
    -----
    Crawford & Duchon (1999): emissivity = s clear + (1 - s). The module's docstring has the error.
    """
    hour = np.arange(len(temp_air_c)) % 24
    black = STEFAN_BOLTZMANN * (np.asarray(temp_air_c) + ZERO_C_K) ** 4
    clear = clear_sky_emissivity(temp_dew_c, hour.astype(float)) * black
    return np.asarray(share * _hour_mean(clear) + (1.0 - share) * _hour_mean(black))


def _hour_mean(edge: Array) -> Array:
    """Mean of each hour of what runs straight between hour edges."""
    return np.asarray(0.5 * (edge + np.roll(edge, -1)))


def longwave_w_m2(temp_air_c: Numbers, emissivity: Numbers) -> Numbers:
    """Longwave [W/m2] of a sky of some emissivity at the air's temperature [°C]: emissivity times sigma T^4."""
    return emissivity * STEFAN_BOLTZMANN * (temp_air_c + ZERO_C_K) ** 4


def sky_temperature_c(longwave: Numbers) -> Numbers:
    """Temperature [°C] of a black sky that sends a given longwave [W/m2]."""
    out: Numbers = (longwave / STEFAN_BOLTZMANN) ** 0.25 - ZERO_C_K
    return out
