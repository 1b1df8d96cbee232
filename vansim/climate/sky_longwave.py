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
stood within experimental error. A clear-sky bias of 5 and rms of 10 W/m2 are 1 and 2 K of sky temperature. Cloud is
measured against the sun of a clear sky of one turbidity: haze that takes a tenth of it counts as thin cloud, 7 to 15
W/m2 too much.
"""

from __future__ import annotations

import numpy as np
import numpy.typing as npt

from vansim.psychrometrics import STEFAN_BOLTZMANN, ZERO_C_K, pressure_at_altitude_pa

Array = npt.NDArray[np.float64]

TURBIDITY = 2.5
"""Linke turbidity of the clear sky: with it the clearest twentieth of hours of three stations whose typical years are
public (36, 55 and 26 degrees north) lies at 0.97 to 1.00 of it, whatever the sun's height above 17 degrees."""
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


def clear_sun_w_m2(cos_zenith: Array, extra_w_m2: Array, altitude_m: float) -> Array:
    """Global sun of a clear sky.

    Parameters
    ----------
    cos_zenith : (n,) array
        Cosine of the sun's zenith angle, above 0.
    extra_w_m2 : (n,) array
        Extraterrestrial normal irradiance [W/m2].
    altitude_m : float
        Of the place [m]: at 4000 m a clear sky passes a third more than at the sea.

    Returns
    -------
    (n,) array
        [W/m2].

    Notes
    -----
    Ineichen & Perez (2002), Solar Energy 73:151, by pvlib, for the turbidity above.
    """
    from pvlib import atmosphere, clearsky  # not above: a year that was read before does without

    zenith = np.degrees(np.arccos(np.clip(cos_zenith, 0.0, 1.0)))
    mass = atmosphere.get_absolute_airmass(atmosphere.get_relative_airmass(zenith), pressure_at_altitude_pa(altitude_m))
    clear = clearsky.ineichen(zenith, mass, TURBIDITY, altitude=altitude_m, dni_extra=extra_w_m2)
    return np.asarray(clear["ghi"], dtype=float)


def clear_share(ghi_w_m2: Array, cos_zenith: Array, extra_w_m2: Array, altitude_m: float) -> Array:
    """Share of a clear sky's sun that comes through, night values carried over from the evening and morning around.

    Parameters
    ----------
    ghi_w_m2 : (n_times,) array
        Global horizontal irradiance [W/m2].
    cos_zenith : (n_times,) array
        Cosine of the sun's zenith angle, 0 when it is down.
    extra_w_m2 : (n_times,) array
        Extraterrestrial normal irradiance [W/m2].
    altitude_m : float
        Of the place [m].

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
    clear = clear_sun_w_m2(cos_zenith[high], extra_w_m2[high], altitude_m)
    share = np.clip(ghi_w_m2[high] / clear, 0.0, 1.0)
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
