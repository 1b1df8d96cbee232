"""Sun and sky over the canonical year: the only door to pvlib's solar position and extraterrestrial radiation.

The sun is placed at several moments of each hour. Declination and the Greenwich hour angle at 0 h UT come from the
Solar Position Algorithm (Reda & Andreas 2004, Solar Energy 76:577) once a day; between them they are all but
straight, and the rest is exact hour-angle geometry with that paper's parallax and refraction. Against the algorithm
run at every moment the place of the sun differs by less than 0.02 degrees (a test holds this).
"""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass
from functools import lru_cache

import numpy as np
import numpy.typing as npt

from vansim.climate.weather import HOURS, YEAR, Location, Weather
from vansim.disk_cache import cached
from vansim.psychrometrics import pressure_at_altitude_pa

Array = npt.NDArray[np.float64]
Modifier = Callable[[Array], Array]

REFRACTION_TEMP_C = 12.0
"""Air temperature for refraction [°C]: the mean that pvlib also takes."""
DELTA_T_S = 67.0
"""Terrestrial minus universal time [s]; 10 s move the sun by 0.0001 degrees."""
PARALLAX_DEG = 8.794 / 3600.0
"""Equatorial horizontal parallax of the sun [deg]."""
STEP_MIN = 10.0
"""Step of `SunClock` [min]."""
LOW_SUN = 0.01745
"""Smallest cos z by which circumsolar light is divided (sin 1 deg; the floor that pvlib takes)."""


@dataclass(frozen=True, kw_only=True, eq=False)
class Sky:
    """The sun and the short-wave sky of a year.

    Parameters
    ----------
    hours : (n_day,) array of int
        Rows of the year that have a sun or a beam.
    sun : (n_day, n_sub, 3) array
        Unit vectors to the sun: east, north, up (never below the horizon).
    weight : (n_day, n_sub) array
        Share of the hour's beam that comes from each position; each row sums to 1 and only positions above the
        horizon count.
    cos_zenith : (8760,) array
        Beam-weighted mean cos z of the hour, 0 at night.
    dni, dhi, ghi, dni_extra : (8760,) array
        Irradiances, means over the hour [W/m2].
    anisotropy : (8760,) array
        DNI over extraterrestrial DNI, 0 to 1 (Hay & Davies 1980).
    """

    hours: npt.NDArray[np.intp]
    sun: Array
    weight: Array
    cos_zenith: Array
    dni: Array
    dhi: Array
    ghi: Array
    dni_extra: Array
    anisotropy: Array


@dataclass(frozen=True, kw_only=True, eq=False)
class FaceIrradiance:
    """Short-wave on a plane, means over the hour, each (8760,) [W/m2].

    ``beam`` holds the direct and circumsolar light, ``sky_diffuse`` the isotropic rest of the sky, ``ground`` what
    the ground reflects. ``beam_modified`` is the beam after the modifier of incidence (equal to ``beam`` where none
    was given).
    """

    beam: Array
    sky_diffuse: Array
    ground: Array
    beam_modified: Array


@lru_cache(maxsize=2)  # the canonical year, and one that a published moment lies in; 9 kB each
def _almanac(year: int) -> Mapping[str, Array]:
    """The sun day by day, from disk where it was computed before: see `_computed_almanac`."""
    return cached("sun", str(year).encode(), lambda: _computed_almanac(year))


def _computed_almanac(year: int) -> dict[str, Array]:
    """`days` from 1 January 0 h UT, `declination_deg` and Greenwich `hour_angle_deg` at 0 h UT; `extra_w_m2` a day."""
    from pvlib import (
        irradiance,
        spa,
    )  # not above: pvlib takes half a second to import, and a cached almanac does without

    days = np.arange(-2.0, 368.0)
    unix = (np.datetime64(f"{year}-01-01") - np.datetime64("1970-01-01")) / np.timedelta64(1, "s") + 86400.0 * days
    sidereal, ascension, declination = spa.solar_position(
        unix,
        lat=0.0,
        lon=0.0,
        elev=0.0,
        pressure=1013.25,
        temp=12.0,
        delta_t=DELTA_T_S,
        atmos_refract=0.5667,
        sst=True,
    )
    hour_angle = np.unwrap(sidereal - ascension, period=360.0)
    extra = np.array([float(irradiance.get_extra_radiation(day)) for day in range(1, 366)])
    return {"days": days, "declination_deg": declination, "hour_angle_deg": hour_angle, "extra_w_m2": extra}


def sun_vectors(site: Location, hour_of_year: Array, year: int = YEAR) -> Array:
    """Unit vectors to the apparent sun.

    Parameters
    ----------
    site : Location
        Place and offset from UTC.
    hour_of_year : array, any shape
        Hours since 1 January 0 h in the site's standard time [h].
    year : int
        Calendar year; the canonical one unless a published moment is to be met.

    Returns
    -------
    array, shape (..., 3)
        East, north, up.

    Notes
    -----
    Refraction after Reda & Andreas (2004) eq. 42, for the standard pressure at the site's altitude.
    """
    almanac = _almanac(year)
    table_days, table_declination, table_angle = (almanac[c] for c in ("days", "declination_deg", "hour_angle_deg"))
    days = (np.asarray(hour_of_year, dtype=float) - site.utc_offset) / 24.0
    declination = np.radians(np.interp(days, table_days, table_declination))
    hour_angle = np.radians(np.interp(days, table_days, table_angle) + 360.0 * (days % 1.0) + site.longitude)
    latitude = np.radians(site.latitude)
    across = np.cos(declination) * np.cos(hour_angle)
    east = -np.cos(declination) * np.sin(hour_angle)
    north = np.cos(latitude) * np.sin(declination) - np.sin(latitude) * across
    up = np.sin(latitude) * np.sin(declination) + np.cos(latitude) * across
    horizontal = np.hypot(east, north)
    true_deg = np.degrees(np.arctan2(up, horizontal)) - PARALLAX_DEG * horizontal
    elevation = np.radians(true_deg + refraction_deg(true_deg, pressure_at_altitude_pa(site.altitude)))
    stretch = np.cos(elevation) / np.maximum(horizontal, 1e-12)
    return np.stack([east * stretch, north * stretch, np.sin(elevation)], axis=-1)


@dataclass(frozen=True, eq=False)
class SunClock:
    """The sun's height over the year in steps of ten minutes, to ask what each hour sees if its clock is off.

    Parameters
    ----------
    up : (52560,) array
        Sine of the apparent elevation, 5 minutes after the hour and every 10 minutes from there.
    """

    up: Array

    def mean_cos_zenith(self, shift_min: float = 0.0) -> Array:
        """Beam-weighted mean cos z of the hours that begin `shift_min` after each hour, (8760,); whole tens of minutes.

        The mean over the part of the hour with the sun up; 0 where it is down all through.
        """
        parts = np.roll(self.up, -round(shift_min / STEP_MIN)).reshape(HOURS, -1)
        above = parts > 0.0
        return np.asarray((parts * above).sum(axis=1) / np.maximum(above.sum(axis=1), 1))

    def cos_zenith_at(self, hour_of_year: Array) -> Array:
        """Cos z at moments [h of the year, local standard time], 0 with the sun down; between the steps straight."""
        middles = (np.arange(self.up.size) + 0.5) * STEP_MIN / 60.0
        return np.maximum(np.interp(hour_of_year, middles, self.up, period=float(HOURS)), 0.0)


def sun_clock(site: Location) -> SunClock:
    """The sun's height over the canonical year of a site."""
    return SunClock(hour_positions(site, round(60.0 / STEP_MIN))[..., 2].ravel())


def refraction_deg(true_elevation_deg: Array, pressure_pa: float, temp_c: float = REFRACTION_TEMP_C) -> Array:
    """Refraction [deg] at a true elevation [deg]: Reda & Andreas (2004) eq. 42; 0 when the whole disc is down."""
    visible = true_elevation_deg >= -(0.26667 + 0.5667)
    e = np.where(visible, true_elevation_deg, 0.0)
    bend = 1.02 / (60.0 * np.tan(np.radians(e + 10.3 / (e + 5.11))))
    return np.asarray(np.where(visible, pressure_pa / 101000.0 * 283.0 / (273.0 + temp_c) * bend, 0.0))


def hour_positions(site: Location, n_sub: int, shift_h: float = 0.0) -> Array:
    """Sun vectors at the middles of `n_sub` equal parts of each hour of the year, shape (8760, n_sub, 3)."""
    middles = (np.arange(n_sub) + 0.5) / n_sub
    return sun_vectors(site, np.arange(HOURS)[:, None] + middles + shift_h)


def beam_weights(up: Array) -> Array:
    """Share of the hour's beam from each sub-hour position.

    Parameters
    ----------
    up : (n_hours, n_sub) array
        Sine of the sun's elevation.

    Returns
    -------
    (n_hours, n_sub) array
        Equal over the positions above the horizon; where none is, all on the highest (a sunrise in the last minutes).
    """
    above = up > 0.0
    highest = up == up.max(axis=1, keepdims=True)
    weight = np.where(above.any(axis=1, keepdims=True), above, highest).astype(float)
    return np.asarray(weight / weight.sum(axis=1, keepdims=True))


@lru_cache(maxsize=4)  # 1.5 MB each; a run looks at one year, a margin and a comparison at two or three
def sky(weather: Weather, n_sub: int = 6) -> Sky:
    """Sun and sky of a year, computed once for what the year holds.

    Parameters
    ----------
    weather : Weather
        A canonical year.
    n_sub : int
        Sun positions in each hour.

    Returns
    -------
    Sky
        With the energy of each hour kept: the hour's mean DNI falls only on the part of the hour when the sun is up.
    """
    ghi, dni, dhi = (weather.array(c) for c in ("ghi", "dni", "dhi"))
    vectors = hour_positions(weather.site, n_sub)
    up = vectors[..., 2]
    hours = np.flatnonzero((up > 0.0).any(axis=1) | (dni > 0.0))
    weight = beam_weights(up[hours])
    sun = _not_below_horizon(vectors[hours])
    cos_z = np.zeros(HOURS)
    cos_z[hours] = (weight * sun[..., 2]).sum(axis=1)
    extra = extraterrestrial_w_m2()
    return Sky(
        hours=hours,
        sun=sun,
        weight=weight,
        cos_zenith=cos_z,
        dni=dni,
        dhi=dhi,
        ghi=ghi,
        dni_extra=extra,
        anisotropy=np.clip(dni / extra, 0.0, 1.0),
    )


def _not_below_horizon(vectors: Array) -> Array:
    """Vectors below the horizon laid onto it: beam reported with the sun just down must not light a floor."""
    flat = vectors.copy()
    flat[..., 2] = np.maximum(flat[..., 2], 0.0)
    return np.asarray(flat / np.linalg.norm(flat, axis=-1, keepdims=True))


def extraterrestrial_w_m2() -> Array:
    """Extraterrestrial normal irradiance of each hour of the year, (8760,) [W/m2], after Spencer (1971) by pvlib."""
    return np.repeat(_almanac(YEAR)["extra_w_m2"], 24)


def face_normal(tilt_deg: float, azimuth_deg: float) -> Array:
    """Outward unit vector (east, north, up) of a plane: tilt from horizontal, azimuth clockwise from north [deg]."""
    tilt, azimuth = np.radians(tilt_deg), np.radians(azimuth_deg)
    return np.array([np.sin(tilt) * np.sin(azimuth), np.sin(tilt) * np.cos(azimuth), np.cos(tilt)])


def face_irradiance(
    sky: Sky,
    tilt_deg: float,
    azimuth_deg: float,
    albedo: float | Array,
    beam_modifier: Modifier | None = None,
) -> FaceIrradiance:
    """Short-wave on a plane over the year, after Hay & Davies (1980).

    Parameters
    ----------
    sky : Sky
        Sun and sky of the year.
    tilt_deg : float
        From horizontal: 0 looks up, 90 is a wall, 180 looks down [deg].
    azimuth_deg : float
        Of the outward normal, clockwise from north [deg].
    albedo : float or (8760,) array
        Reflectance of the ground, 0 to 1.
    beam_modifier : callable, optional
        Takes an array of cosines of incidence in (0, 1] and gives the factor on the beam (glass, modules); applied at
        each position of the sun within the hour.

    Returns
    -------
    FaceIrradiance
        Arrays (8760,) [W/m2].

    Notes
    -----
    Circumsolar light, DHI times the anisotropy index A, comes from the sun's place and is counted as beam: as a direct
    light of DHI A / cos z over the hour. The isotropic rest is DHI (1 - A)(1 + cos tilt)/2, the ground
    GHI albedo (1 - cos tilt)/2.
    """
    cos_tilt = np.cos(np.radians(tilt_deg))
    incidence = np.maximum(sky.sun @ face_normal(tilt_deg, azimuth_deg), 0.0)
    day = sky.hours
    direct = sky.dni[day] + sky.dhi[day] * sky.anisotropy[day] / np.maximum(sky.cos_zenith[day], LOW_SUN)

    def over_year(cosines: Array) -> Array:
        out = np.zeros(HOURS)
        out[day] = direct * (sky.weight * cosines).sum(axis=1)
        return out

    beam = over_year(incidence)
    modified = beam
    if beam_modifier is not None:
        lit = incidence > 0.0
        passed = np.zeros_like(incidence)
        passed[lit] = incidence[lit] * beam_modifier(incidence[lit])
        modified = over_year(passed)
    return FaceIrradiance(
        beam=beam,
        sky_diffuse=sky.dhi * (1.0 - sky.anisotropy) * (1.0 + cos_tilt) / 2.0,
        ground=sky.ghi * np.asarray(albedo) * (1.0 - cos_tilt) / 2.0,
        beam_modified=modified,
    )
