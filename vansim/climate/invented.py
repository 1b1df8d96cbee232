"""Two invented climates for demonstrations and tests: a hot desert and a hot humid coast.

INVENTED: no station stands there and no year was like that. They are drawn from a seeded generator with the features
that matter for cooling a van at night: warm nights, dry or humid, spells of hotter and duller days, and fluxes that
agree with the sun.

    python -m vansim.climate.invented data_demo/climates
"""

from __future__ import annotations

import sys
from dataclasses import dataclass
from pathlib import Path

import numpy as np
import numpy.typing as npt
import pandas as pd

from vansim.climate.canonical import computed_longwave
from vansim.climate.epw_writing import write_epw
from vansim.climate.labels import closure_of
from vansim.climate.sun import beam_weights, extraterrestrial_w_m2, hour_positions, sun_clock
from vansim.climate.weather import COLUMNS, HOURS, Location, Weather, hour_index
from vansim.notes import Note
from vansim.psychrometrics import pressure_at_altitude_pa

Array = npt.NDArray[np.float64]
COMMENTS = (
    "INVENTED climate: drawn by the seeded generator of vansim; no real place, no real year; for demonstration",
    "Clear sky by pvlib (Ineichen); longwave by Berdahl & Martin 1984 with cloud after Crawford & Duchon 1999",
)
DAYS = HOURS // 24


@dataclass(frozen=True, kw_only=True)
class Recipe:
    """What a climate is drawn from. Pairs are (mean of the year, half swing); the swing peaks on `peak_day`.

    Parameters
    ----------
    site : Location
        Invented place.
    seed : int
        Of the random numbers.
    night_c, day_c, dew_c, cloud : tuple of float
        Daily minimum, daily maximum, dew point [°C], mean sky cover [0 to 1].
    spell_c : float
        Standard deviation of the daily temperature anomaly in winter [°C]; 0.4 of it in summer.
    dew_spell_c : float
        Standard deviation of the daily dew point anomaly in winter [°C]; 0.4 of it in summer.
    turbidity : float
        Linke turbidity.
    wind_m_s : tuple of float
        Mean wind at night and its extra in the afternoon [m/s].
    albedo : float
        Of the ground.
    rains : tuple of float
        Extra dew point [°C] and extra cloud in the summer rains, day of the year of their middle, and their width [d].
    peak_day : float
        Hottest day of the year.
    """

    site: Location
    seed: int
    night_c: tuple[float, float]
    day_c: tuple[float, float]
    dew_c: tuple[float, float]
    cloud: tuple[float, float]
    spell_c: float
    dew_spell_c: float
    turbidity: float
    wind_m_s: tuple[float, float]
    albedo: float
    rains: tuple[float, float, float, float]
    peak_day: float = 202.0


RECIPES = {
    "desert": Recipe(
        site=Location(latitude=33.0, longitude=-113.0, altitude=350.0, utc_offset=-7.0, name="Invented Desert"),
        seed=33,
        night_c=(16.3, 11.6),
        day_c=(30.5, 11.8),
        dew_c=(1.0, 3.5),
        cloud=(0.22, -0.08),
        spell_c=3.2,
        dew_spell_c=3.4,
        turbidity=3.2,
        wind_m_s=(2.2, 2.4),
        albedo=0.28,
        rains=(8.0, 0.18, 215.0, 28.0),
    ),
    "coast": Recipe(
        site=Location(latitude=28.0, longitude=-84.0, altitude=3.0, utc_offset=-5.0, name="Invented Coast"),
        seed=28,
        night_c=(19.3, 6.7),
        day_c=(27.3, 5.0),
        dew_c=(17.9, 6.2),
        cloud=(0.45, 0.05),
        spell_c=3.4,
        dew_spell_c=4.0,
        turbidity=3.9,
        wind_m_s=(2.4, 2.2),
        albedo=0.18,
        rains=(0.6, 0.12, 215.0, 45.0),
        peak_day=212.0,
    ),
}


def persistent(rng: np.random.Generator, n: int, keep: float) -> Array:
    """Normal series (n,) of unit variance in which each value keeps a share of the one before (first-order)."""
    noise = rng.standard_normal(n)
    out = np.empty(n)
    out[0] = noise[0]
    for i in range(1, n):
        out[i] = keep * out[i - 1] + np.sqrt(1.0 - keep**2) * noise[i]
    return out


def _season(pair: tuple[float, float], day: Array, peak: float) -> Array:
    return np.asarray(pair[0] + pair[1] * np.cos(2.0 * np.pi * (day - peak) / DAYS))


def invented_weather(name: str) -> Weather:
    """Draw one of the invented years.

    Parameters
    ----------
    name : str
        ``desert`` or ``coast``.

    Returns
    -------
    Weather
        The canonical year, kind ``invented``; the same at every call.
    """
    recipe = RECIPES[name]
    rng = np.random.default_rng(recipe.seed)
    day = np.linspace(0.5, DAYS - 0.5, DAYS)
    warmth = 0.5 + 0.5 * np.cos(2.0 * np.pi * (day - recipe.peak_day) / DAYS)
    calm = 1.0 - 0.6 * warmth
    rain = np.exp(-0.5 * ((day - recipe.rains[2]) / recipe.rains[3]) ** 2)
    spell = persistent(rng, DAYS, 0.75)
    damp = persistent(rng, DAYS, 0.7)
    dull = 0.5 * damp + 0.85 * persistent(rng, DAYS, 0.5)
    cloud_day = np.clip(_season(recipe.cloud, day, recipe.peak_day) + recipe.rains[1] * rain + 0.2 * dull, 0.0, 0.95)

    cover = _hourly_cover(rng, cloud_day)
    fluxes = _fluxes(recipe, cover)
    dew_day = _season(recipe.dew_c, day, recipe.peak_day) + recipe.rains[0] * rain + recipe.dew_spell_c * calm * damp
    low = _season(recipe.night_c, day, recipe.peak_day) + recipe.spell_c * calm * spell + 2.0 * (cloud_day - 0.3)
    high = _season(recipe.day_c, day, recipe.peak_day) + recipe.spell_c * calm * spell - 5.0 * (cloud_day - 0.3)
    temp = _hourly_temperature(np.minimum(low, high - 3.0), high) + 0.25 * persistent(rng, HOURS, 0.6)
    hours = np.arange(HOURS, dtype=float)
    dew = np.interp(hours, 24.0 * day, dew_day, period=HOURS) + 0.5 * persistent(rng, HOURS, 0.85)
    afternoon = np.maximum(np.cos(2.0 * np.pi * (hours % 24.0 - 16.0) / 24.0), 0.0)
    gust = np.exp(0.45 * persistent(rng, HOURS, 0.85) - 0.1)
    frame = pd.DataFrame(
        {
            **fluxes,
            "temp_air": temp,
            "temp_dew": np.minimum(dew, temp - 0.4),
            "pressure": pressure_at_altitude_pa(recipe.site.altitude) + 250.0 * persistent(rng, HOURS, 0.98),
            "wind_speed": (recipe.wind_m_s[0] + recipe.wind_m_s[1] * afternoon) * gust,
            "sky_cover": cover,
            "albedo": recipe.albedo,
        },
        index=hour_index(recipe.site),
    )
    clock = sun_clock(recipe.site)
    frame["longwave"] = computed_longwave(frame, clock.mean_cos_zenith(), recipe.site.altitude)
    frame = frame[list(COLUMNS)]
    return Weather(
        data=frame,
        site=recipe.site,
        kind="invented",
        source=f"vansim.climate.invented:{name}",
        closure=closure_of(fluxes["ghi"], fluxes["dni"], fluxes["dhi"], clock.mean_cos_zenith),
        notes=(Note("file-comment", {"text": COMMENTS[0]}),),
    )


def _hourly_cover(rng: np.random.Generator, cloud_day: Array) -> Array:
    """Sky cover at each hour edge: the day's cover, with banks of cloud that last some hours; (8760,), 0 to 1."""
    hours = np.arange(HOURS, dtype=float)
    daily = np.interp(hours, 24.0 * (np.arange(DAYS) + 0.5), cloud_day, period=HOURS)
    return np.asarray(np.clip(daily + 0.22 * persistent(rng, HOURS, 0.8), 0.0, 1.0))


def _fluxes(recipe: Recipe, cover: Array) -> dict[str, Array]:
    """Clear sky of Ineichen & Perez (2002) by pvlib, dimmed by cloud; GHI = DHI + DNI cos z over each hour, exactly.

    Cloud takes the beam in its own share and gives part of it back as diffuse; an overcast sky passes a quarter of
    the clear sky's light (Kasten & Czeplak 1980).
    """
    from pvlib import atmosphere, clearsky

    vectors = hour_positions(recipe.site, 6)
    up = vectors[..., 2]
    weight = beam_weights(up)
    lit = up > 0.0
    zenith = np.degrees(np.arccos(np.clip(up, -1.0, 1.0)))
    pressure = pressure_at_altitude_pa(recipe.site.altitude)
    relative = atmosphere.get_relative_airmass(np.where(lit, zenith, np.nan))
    clear = clearsky.ineichen(
        np.where(lit, zenith, 90.0),
        np.nan_to_num(atmosphere.get_absolute_airmass(relative, pressure), nan=40.0),
        recipe.turbidity,
        altitude=recipe.site.altitude,
        dni_extra=extraterrestrial_w_m2()[:, None],
    )
    share_up = lit.mean(axis=1)
    cos_z = (weight * np.maximum(up, 0.0)).sum(axis=1)
    clear_dni = (weight * np.where(lit, clear["dni"], 0.0)).sum(axis=1) * share_up
    clear_dhi = np.where(lit, clear["dhi"], 0.0).mean(axis=1)
    clear_ghi = clear_dhi + clear_dni * cos_z
    n = 0.5 * (cover + np.roll(cover, -1))
    dni = clear_dni * (1.0 - n) ** 1.3
    ghi = np.maximum(clear_ghi * (1.0 - 0.75 * n**3.4), clear_dhi * 0.5 + dni * cos_z)
    return {"ghi": ghi, "dni": dni, "dhi": ghi - dni * cos_z}


def _hourly_temperature(low: Array, high: Array) -> Array:
    """Temperature at each hour edge, (8760,), through each day's minimum at 06:00 and maximum at 16:00.

    The evening falls quickly at first: by 21:00 it has lost 55 % of its way to the next morning, by midnight 78 %.
    """
    from scipy.interpolate import PchipInterpolator

    following = np.roll(low, -1)
    begin = 24.0 * np.arange(DAYS)
    at = np.stack([begin + 6.0, begin + 11.0, begin + 16.0, begin + 21.0, begin + 24.0], axis=1)
    value = np.stack(
        [
            low,
            low + 0.62 * (high - low),
            high,
            following + 0.45 * (high - following),
            following + 0.22 * (high - following),
        ],
        axis=1,
    )
    time = np.concatenate([at[-1] - HOURS, at.ravel(), at[0] + HOURS])
    known = np.concatenate([value[-1], value.ravel(), value[0]])
    return np.asarray(PchipInterpolator(time, known)(np.arange(HOURS, dtype=float)))


def main(folder: str) -> None:
    """Write every invented climate into a folder as EPW."""
    Path(folder).mkdir(parents=True, exist_ok=True)
    for name in RECIPES:
        path = Path(folder) / f"{name}.epw"
        write_epw(invented_weather(name), path, COMMENTS)
        print(path, file=sys.stderr)


if __name__ == "__main__":
    if len(sys.argv) != 2:
        sys.exit("usage: python -m vansim.climate.invented FOLDER")
    main(sys.argv[1])
