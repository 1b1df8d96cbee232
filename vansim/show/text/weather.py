"""A typical year on a terminal: the place, its hot season, and whether its sun stands where its hours say."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

import pandas as pd

from vansim import phrases
from vansim.climate.describe import COOLING_BASE_C
from vansim.show.text import handed


def weather_dict(described: dict[str, Any]) -> dict[str, Any]:
    """The description as plain values for JSON; tables become lists of rows."""
    plain: dict[str, Any] = {}
    for key, value in described.items():
        if isinstance(value, pd.DataFrame):
            table = value.reset_index()
            dates = table.select_dtypes(include=["datetimetz", "datetime"]).columns
            table[dates] = table[dates].astype(str)
            plain[key] = table.to_dict("records")
        else:
            plain[key] = value
    return plain


def weather_lines(described: dict[str, Any], system: str = "si") -> list[str]:
    """The description as lines to print.

    Parameters
    ----------
    described : dict
        From `vansim.climate.describe`.
    system : {"si", "us"}
        Units.

    Returns
    -------
    list of str
        Place, hot season, design temperatures, months, hottest and most typical nights, the check of the labels, notes.
    """
    return [
        *_place(described["place"], system),
        "",
        *_hot_season(described["hot_season"], system),
        "",
        *_extremes(described["design"], system),
        "",
        *_months(described["months"], system),
        *_nights("Hottest nights", described["hottest_nights"], system),
        *_nights("Most typical nights of the hot season", described["typical_nights"], system),
        "",
        _sun(described["closure"], system),
        *handed.notes(tuple(described["notes"]), system),
    ]


def _place(place: Mapping[str, Any], system: str) -> list[str]:
    ns, ew = ("N" if place["latitude"] >= 0 else "S"), ("E" if place["longitude"] >= 0 else "W")
    return [
        f"{place['name']} ({place['kind']}): {abs(place['latitude']):.2f} {ns}, {abs(place['longitude']):.2f} {ew}, "
        f"{phrases.height(place['altitude_m'], system)}, UTC{place['utc_offset_h']:+g}"
    ]


def _hot_season(hot: Mapping[str, Any], system: str) -> list[str]:
    def temp(name: str) -> str:
        return phrases.temperature(hot[name], system)

    hours = phrases.degree_hours(hot["degree_hours_above_24_k_h"], system)
    return [
        f"Hot season: {phrases.listed([phrases.MONTHS[month - 1] for month in hot['months']])}",
        f"  mean {temp('mean_c')}, highest {temp('max_c')}, mean dew point {temp('dew_mean_c')}",
        f"  night minima: mean {temp('night_min_mean_c')}, highest {temp('night_min_highest_c')}",
        f"  cooling degree-hours above {phrases.temperature(COOLING_BASE_C, system)}: {hours}; "
        f"sun {phrases.daily_sun(hot['sun_kwh_m2_day'], system)} on level ground",
    ]


def _extremes(design: pd.DataFrame, system: str) -> list[str]:
    lines = ["Reached or exceeded in this share of the year's hours"]
    for share, row in design.iterrows():
        dew = f"mean dew point then {phrases.temperature(row['coincident_dew_c'], system)}"
        cells = (phrases.percent(float(str(share))), phrases.temperature(row["temp_c"], system), "", dew)
        lines.append(phrases.aligned(cells, (6, 11, 2, -1)))
    return lines


def _months(months: pd.DataFrame, system: str) -> list[str]:
    widths = (-6, 11, 11, 28)
    lines = [phrases.aligned(("month", "mean", "lowest", "sun"), widths)]
    for month, row in months.iterrows():
        cells = (
            phrases.MONTHS[int(str(month)) - 1][:3], phrases.temperature(row["mean_c"], system),
            phrases.temperature(row["min_c"], system), phrases.daily_sun(row["sun_kwh_m2_day"], system),
        )  # fmt: skip
        lines.append(phrases.aligned(cells, widths))
    return lines


def _nights(title: str, nights: pd.DataFrame, system: str) -> list[str]:
    lines = ["", title]
    for evening, row in nights.iterrows():
        mean, low, dew = (phrases.temperature(row[name], system) for name in ("mean_c", "min_c", "dew_c"))
        lines.append(
            f"  {phrases.short_date(pd.Timestamp(str(evening)))}  mean {mean}, lowest {low}, mean dew point {dew}"
        )
    return lines


def _sun(closure: Mapping[str, Any], system: str) -> str:
    residuals = {float(shift): float(rms) for shift, rms in closure["rms_w_m2_by_shift_min"].items()}
    said = phrases.sun_check(closure["verdict"], residuals, system)
    return f"Sun against the file's hours: {closure['verdict']}. {phrases.sentence(said)}"
