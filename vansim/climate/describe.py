"""What a year is like for somebody who sleeps in a van: its hot season, its nights, its sun."""

from __future__ import annotations

from typing import Any

import numpy as np
import numpy.typing as npt
import pandas as pd

from vansim.climate.weather import HOURS, Weather

NIGHT_START_H = 21
NIGHT_HOURS = 10
"""A night runs from 21:00 to 07:00 and carries the date of its evening."""
COOLING_BASE_C = 24.0
DESIGN_SHARES = (0.004, 0.01, 0.02)
NIGHTS_SHOWN = 5


def _months(weather: Weather) -> npt.NDArray[np.int32]:
    """Month of each hour of the year."""
    return pd.DatetimeIndex(weather.data.index).month.to_numpy()


def hot_season(weather: Weather) -> tuple[int, int, int]:
    """Hottest three consecutive months by mean temperature, December to January counted as neighbours."""
    temp = weather.data["temp_air"]
    sums = temp.groupby(_months(weather)).agg(["sum", "count"])
    by_start = {}
    for first in range(1, 13):
        months = [(first - 1 + k) % 12 + 1 for k in range(3)]
        by_start[first] = sums.loc[months, "sum"].sum() / sums.loc[months, "count"].sum()
    first = max(by_start, key=lambda m: by_start[m])
    return first, first % 12 + 1, (first + 1) % 12 + 1


def nights(weather: Weather) -> pd.DataFrame:
    """One row a night of the whole year.

    Returns
    -------
    DataFrame, shape (365, 5)
        Index: date of the evening. ``mean_c``, ``min_c``, ``evening_c`` (at 21:00), ``dew_c`` (mean), and
        ``sun_kwh_m2`` of the day before the night. The last night of the year runs into the first morning.
    """
    temp = weather.array("temp_air")
    dew = weather.array("temp_dew")
    rows = (np.arange(365)[:, None] * 24 + NIGHT_START_H + np.arange(NIGHT_HOURS + 1)) % HOURS
    # hour edges with temperature running straight between them: the mean is the trapezoid's
    share = np.full(NIGHT_HOURS + 1, 1.0 / NIGHT_HOURS)
    share[[0, -1]] /= 2.0
    return pd.DataFrame(
        {
            "mean_c": temp[rows] @ share,
            "min_c": temp[rows].min(axis=1),
            "evening_c": temp[rows[:, 0]],
            "dew_c": dew[rows] @ share,
            "sun_kwh_m2": weather.array("ghi").reshape(365, 24).sum(axis=1) / 1000.0,
        },
        index=pd.Index([d.date() for d in pd.date_range("2001-01-01", periods=365)], name="evening"),
    )


def typical_order(table: pd.DataFrame) -> pd.DataFrame:
    """Nights from the most typical on: least distance from the medians of mean, dew point and sun, in spreads."""
    columns = ["mean_c", "dew_c", "sun_kwh_m2"]
    values = table[columns]
    spread = values.std(ddof=0).replace(0.0, 1.0)
    distance = (((values - values.median()) / spread) ** 2).sum(axis=1)
    return table.loc[distance.sort_values(kind="stable").index]


def design_conditions(weather: Weather) -> pd.DataFrame:
    """Temperatures exceeded in 0.4, 1 and 2 % of the year's hours, and the mean dew point within 0.5 K of each.

    ASHRAE Fundamentals 2017 ch. 14 defines the annual percentiles and mean coincident values (there over many years;
    here over the one typical year, which has seen fewer extremes).
    """
    temp, dew = (weather.array(c) for c in ("temp_air", "temp_dew"))
    out = []
    for share in DESIGN_SHARES:
        level = float(np.quantile(temp, 1.0 - share))
        near = np.abs(temp - level) <= 0.5
        out.append({"share": share, "temp_c": level, "coincident_dew_c": float(dew[near].mean())})
    return pd.DataFrame(out).set_index("share")


def monthly(weather: Weather) -> pd.DataFrame:
    """One row a month: temperatures, mean night minimum, dew point, degree-hours, sun and wind."""
    data, by_night = weather.data, nights(weather)
    month = _months(weather)
    night_month = np.array([d.month for d in by_night.index])
    grouped = data.groupby(month)
    days = grouped["ghi"].count() / 24.0
    excess = (data["temp_air"] - COOLING_BASE_C).clip(lower=0.0)
    table = pd.DataFrame(
        {
            "mean_c": grouped["temp_air"].mean(),
            "min_c": grouped["temp_air"].min(),
            "max_c": grouped["temp_air"].max(),
            "night_min_c": by_night["min_c"].groupby(night_month).mean(),
            "dew_c": grouped["temp_dew"].mean(),
            "degree_hours_above_24_k_h": excess.groupby(month).sum(),
            "sun_kwh_m2_day": grouped["ghi"].sum() / days / 1000.0,
            "wind_m_s": grouped["wind_speed"].mean(),
        }
    )
    table.index.name = "month"
    return table


def describe(weather: Weather) -> dict[str, Any]:
    """What a weather file says, in the terms of a person who plans cooling.

    Parameters
    ----------
    weather : Weather
        A canonical year.

    Returns
    -------
    dict
        ``place`` (dict), ``hot_season`` (dict of the hottest three consecutive months), ``design`` (DataFrame by
        share of the year), ``months`` (DataFrame), ``hottest_nights`` and ``typical_nights`` of the hot season
        (DataFrames, by evening), ``closure`` (dict) and ``notes`` (list).
    """
    site, check = weather.site, weather.closure
    season = hot_season(weather)
    in_season = weather.data[np.isin(_months(weather), season)]
    by_night = nights(weather)
    season_nights = by_night[[d.month in season for d in by_night.index]]
    return {
        "place": {
            "name": site.name,
            "latitude": site.latitude,
            "longitude": site.longitude,
            "altitude_m": site.altitude,
            "utc_offset_h": site.utc_offset,
            "kind": weather.kind,
            "source": weather.source,
        },
        "hot_season": {
            "months": list(season),
            "mean_c": float(in_season["temp_air"].mean()),
            "max_c": float(in_season["temp_air"].max()),
            "night_min_mean_c": float(season_nights["min_c"].mean()),
            "night_min_highest_c": float(season_nights["min_c"].max()),
            "dew_mean_c": float(in_season["temp_dew"].mean()),
            "degree_hours_above_24_k_h": float((in_season["temp_air"] - COOLING_BASE_C).clip(lower=0.0).sum()),
            "sun_kwh_m2_day": float(in_season["ghi"].sum() / (len(in_season) / 24.0) / 1000.0),
        },
        "design": design_conditions(weather),
        "months": monthly(weather),
        "hottest_nights": season_nights.sort_values("mean_c", ascending=False, kind="stable").head(NIGHTS_SHOWN),
        "typical_nights": typical_order(season_nights).head(NIGHTS_SHOWN),
        "closure": {
            "verdict": check.verdict,
            "best_shift_min": check.best_shift_min,
            "best_w_m2": check.best_w_m2,
            "at_label_w_m2": check.at_label_w_m2,
            "moved_min": check.moved_min,
            "rms_w_m2_by_shift_min": dict(zip(check.shift_min, check.rms_w_m2, strict=True)),
        },
        "notes": list(weather.notes),
    }
