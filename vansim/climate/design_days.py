"""Design days: a year of them from a handbook's values of a place, month by month.

A small table stands for a weather file::

    # name: Invented Desert, 1 %
    # latitude: 33.0
    # longitude: -113.0
    # altitude: 350
    # utc_offset: -7
    month,dry_bulb_c,wet_bulb_c,daily_range_k,taub,taud,wind_m_s
    7,43.1,22.4,14.2,0.556,1.779,3.5

Every day of a month is its design day: the dry bulb's maximum is the handbook's, it falls by the daily range with the
published profile, the humidity ratio is that of the coincident wet bulb and is held, less what would condense, and the
sky is clear with the two published optical depths. Months that are not in the table take the nearest that is. With
rows for several annual shares, a column ``percent`` tells them apart and ``# percent: 1`` chooses.
"""

from __future__ import annotations

from pathlib import Path

import numpy as np
import numpy.typing as npt
import pandas as pd

from vansim import psychrometrics as air
from vansim.climate.canonical import computed_longwave
from vansim.climate.head_lines import PLACE, Head, column_names, place_of, read_head, read_months
from vansim.climate.labels import closure_of
from vansim.climate.rows import decoded
from vansim.climate.sun import beam_weights, hour_positions, sun_clock
from vansim.climate.weather import COLUMNS, HOURS, Location, Weather, hour_index
from vansim.errors import WeatherError
from vansim.notes import Note

Array = npt.NDArray[np.float64]

KIND = "design days (CSV)"
NOTE = "design-day"
KEYS = ("name", *PLACE, "percent", "clear_sky")
EDITIONS = ("2013", "2009")
TABLE = {
    "dry_bulb_c": (-10.0, 60.0),
    "wet_bulb_c": (-20.0, 40.0),
    "daily_range_k": (0.0, 30.0),
    "taub": (0.05, 2.0),
    "taud": (0.5, 4.0),
    "wind_m_s": (0.0, 20.0),
    "percent": (0.1, 10.0),
}
NEEDED = ("month", "dry_bulb_c", "wet_bulb_c", "daily_range_k", "taub", "taud")
WIND_M_S = 3.4
"""Wind where the table has none [m/s]: that of a summer design day in the handbook's film coefficients."""
DESIGN_DAY_OF_MONTH = 21
RANGE_FRACTION = (
    0.82, 0.88, 0.92, 0.95, 0.98, 1.00, 0.98, 0.91, 0.74, 0.55, 0.38, 0.23,
    0.13, 0.05, 0.00, 0.00, 0.06, 0.14, 0.24, 0.39, 0.50, 0.59, 0.68, 0.75,
)  # fmt: skip
"""Share of the daily range by which the dry bulb lies below its maximum, at 0 h to 23 h of solar time (ASHRAE
Fundamentals 2009 and later, ch. 14; 0 h is the table's hour 24)."""
LEAST_RATIO = 1e-6
"""Driest air [kg/kg]."""
SOLAR_CONSTANT_W_M2 = 1367.0


def looks_like(text: str) -> bool:
    """Whether a file is such a table."""
    return "dry_bulb_c" in column_names(text)


def read_design_days(content: bytes, source: str) -> Weather:
    """Read a table of design values.

    Parameters
    ----------
    content : bytes
        Of the file.
    source : str
        Its name.

    Returns
    -------
    Weather
        365 design days.

    Raises
    ------
    WeatherError
        With every fault of head and table.
    """
    head = read_head(decoded(content), source, KEYS, {"clear_sky": EDITIONS})
    site = place_of(head, source, Path(source).stem)
    table = _one_a_month(read_months(content, source, head, TABLE, NEEDED), head, source)
    wet = table["wet_bulb_c"] > table["dry_bulb_c"]
    if wet.any():
        raise WeatherError(
            f"{source}: month {m}: wet_bulb_c is {row['wet_bulb_c']:g}, above dry_bulb_c {row['dry_bulb_c']:g}"
            for m, row in table[wet].iterrows()
        )
    pressure = air.pressure_at_altitude_pa(site.altitude)
    bulbs = zip(table.index, table["dry_bulb_c"], table["wet_bulb_c"], strict=True)
    dry = [(m, d, w) for m, d, w in bulbs if humidity_ratio_of(float(d), float(w), pressure) <= LEAST_RATIO]
    if dry:
        raise WeatherError(
            f"{source}: month {m}: wet_bulb_c is {w:g}, lower than dry air of dry_bulb_c {d:g} can have"
            for m, d, w in dry
        )
    return design_year(table, site, source, head.values.get("clear_sky", EDITIONS[0]))


def _one_a_month(table: pd.DataFrame, head: Head, source: str) -> pd.DataFrame:
    """Rows of the share that is asked for, by month."""
    numbers, faults = head.numbers(("percent",), source)
    if faults:
        raise WeatherError(faults)
    if "percent" in table:
        there = sorted(table["percent"].dropna().unique())
        asked = numbers.get("percent", there[0] if len(there) == 1 else None)
        if asked not in there:
            raise WeatherError(
                f"{source}: the table has rows for {', '.join(f'{p:g}' for p in there)} %; choose one above it, as in "
                f"'# percent: {there[0] if there else 1:g}'"
            )
        table = table[table["percent"] == asked]
    twice = sorted(table["month"][table["month"].duplicated()].unique())
    if twice:
        raise WeatherError(f"{source}: month {', '.join(map(str, twice))} stands in several rows; write one a month")
    return table.set_index("month").sort_index()


def design_year(table: pd.DataFrame, site: Location, source: str, edition: str = "2013") -> Weather:
    """A year of design days.

    Parameters
    ----------
    table : DataFrame
        By month, 1 to 12 or some of them: ``dry_bulb_c wet_bulb_c daily_range_k taub taud``, and ``wind_m_s`` or not.
    site : Location
        Place.
    source : str
        Where the values come from.
    edition : {"2013", "2009"}
        Edition of the handbook that the optical depths were made for.

    Returns
    -------
    Weather
        Clear days, each its month's.
    """
    index = hour_index(site)
    given = np.array(table.index)
    away = np.abs((given[None, :] - np.arange(1, 13)[:, None] + 6) % 12 - 6)
    nearest, month = given[away.argmin(axis=1)], np.asarray(index.month)
    by_hour = table.loc[nearest].iloc[month - 1].reset_index(drop=True)
    pressure = air.pressure_at_altitude_pa(site.altitude)
    solar_h = np.arange(HOURS) % 24 + site.longitude / 15.0 - site.utc_offset
    fall = np.interp(solar_h % 24.0, np.arange(25), [*RANGE_FRACTION, RANGE_FRACTION[0]])
    temp = _numbers(by_hour, "dry_bulb_c") - fall * _numbers(by_hour, "daily_range_k")
    bulbs = zip(given.tolist(), table["dry_bulb_c"], table["wet_bulb_c"], strict=True)
    dew = {m: air.dew_point_c(humidity_ratio_of(float(d), float(w), pressure), pressure) for m, d, w in bulbs}
    dew_by_hour = np.array([dew[m] for m in nearest])[month - 1]
    wind = by_hour["wind_m_s"].fillna(WIND_M_S) if "wind_m_s" in by_hour else WIND_M_S
    frame = pd.DataFrame(
        {
            **_clear_sun(_numbers(by_hour, "taub"), _numbers(by_hour, "taud"), site, edition),
            "temp_air": temp,
            "temp_dew": np.minimum(dew_by_hour, temp),
            "pressure": pressure,
            "wind_speed": np.asarray(wind),
            "sky_cover": 0.0,
            "albedo": np.nan,
        }
    )
    clock = sun_clock(site)
    frame["longwave"] = computed_longwave(frame, clock.mean_cos_zenith(), site.altitude)
    frame.index = index
    sun = [frame[c].to_numpy() for c in ("ghi", "dni", "dhi")]
    hottest = int(_numbers(table, "dry_bulb_c").argmax())
    told = [c for c in ("dry_bulb_c", "wet_bulb_c", "daily_range_k", "percent") if c in table]
    values = {"month": int(given[hottest]), **{c: float(_numbers(table, c)[hottest]) for c in told}}
    return Weather(
        data=frame[list(COLUMNS)], site=site, kind=KIND, source=source,
        closure=closure_of(sun[0], sun[1], sun[2], clock.mean_cos_zenith), notes=(Note(NOTE, values),),
    )  # fmt: skip


def _numbers(table: pd.DataFrame, column: str) -> Array:
    return table[column].to_numpy(dtype=float)


def humidity_ratio_of(dry_bulb_c: float, wet_bulb_c: float, pressure_pa: float) -> float:
    """Humidity ratio [kg/kg] from dry and wet bulb [°C], the latter above freezing or not, at a pressure [Pa].

    ASHRAE Fundamentals 2017 ch. 1 eq. 33 and 35.
    """
    saturated = air.saturation_ratio(wet_bulb_c, pressure_pa)
    apart = dry_bulb_c - wet_bulb_c
    if wet_bulb_c >= 0.0:
        ratio = ((2501.0 - 2.326 * wet_bulb_c) * saturated - 1.006 * apart) / (
            2501.0 + 1.86 * dry_bulb_c - 4.186 * wet_bulb_c
        )
    else:
        ratio = ((2830.0 - 0.24 * wet_bulb_c) * saturated - 1.006 * apart) / (
            2830.0 + 1.86 * dry_bulb_c - 2.1 * wet_bulb_c
        )
    return float(max(ratio, LEAST_RATIO))


def clear_sky_w_m2(
    taub: Array | float, taud: Array | float, elevation_deg: Array | float, day: Array | float, edition: str = "2013"
) -> tuple[Array, Array]:
    """Beam and diffuse sun of a clear sky from a place's two optical depths.

    Parameters
    ----------
    taub, taud : array or float
        Optical depths for beam and diffuse, of the month.
    elevation_deg : array or float
        Apparent, above 0 [deg].
    day : array or float
        Of the year, 1 to 365.
    edition : {"2013", "2009"}
        Edition that the depths were made for.

    Returns
    -------
    beam, diffuse : array
        Beam on a plane facing the sun and diffuse on the level [W/m2].

    Notes
    -----
    ASHRAE Fundamentals 2013 (2009) ch. 14: E0 exp(-taub m^ab) and E0 exp(-taud m^ad), m after Kasten & Young (1989).
    """
    b = np.asarray(elevation_deg, dtype=float)
    mass = 1.0 / (np.sin(np.radians(b)) + 0.50572 * (6.07995 + b) ** -1.6364)
    extra = SOLAR_CONSTANT_W_M2 * (1.0 + 0.033 * np.cos(np.radians(360.0 * (np.asarray(day) - 3.0) / 365.0)))
    both = np.asarray(taub) * np.asarray(taud)
    if edition == "2009":
        ab = 1.219 - 0.043 * taub - 0.151 * taud - 0.204 * both
        ad = 0.202 + 0.852 * taub - 0.007 * taud - 0.357 * both
    else:
        ab = 1.454 - 0.406 * taub - 0.268 * taud + 0.021 * both
        ad = 0.507 + 0.205 * taub - 0.080 * taud - 0.190 * both
    return np.asarray(extra * np.exp(-taub * mass**ab)), np.asarray(extra * np.exp(-taud * mass**ad))


def _clear_sun(taub: Array, taud: Array, site: Location, edition: str) -> dict[str, Array]:
    """Means of each hour, (8760,); GHI = DHI + DNI cos z over each hour, exactly."""
    up = hour_positions(site, 6)[..., 2]
    weight, lit = beam_weights(up), up > 0.0
    elevation: Array = np.degrees(np.arcsin(np.clip(up, 1e-6, 1.0)))
    day: Array = 1.0 + np.arange(HOURS, dtype=np.float64) // 24
    beam, diffuse = clear_sky_w_m2(taub[:, None], taud[:, None], elevation, day[:, None], edition)
    dni, dhi = np.where(lit, beam, 0.0).mean(axis=1), np.where(lit, diffuse, 0.0).mean(axis=1)
    return {"dni": dni, "dhi": dhi, "ghi": dhi + dni * (weight * np.maximum(up, 0.0)).sum(axis=1)}
