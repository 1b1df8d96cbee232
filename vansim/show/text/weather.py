"""A typical year on a terminal: the place, its hot season, and whether its sun stands where its hours say."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import pandas as pd

from vansim import phrases
from vansim.climate.at_hand import FileAtHand
from vansim.climate.describe import COOLING_BASE_C
from vansim.show.text.tables import table_lines


def weather_lines(described: dict[str, Any], system: str = "si") -> list[str]:
    """The description of a typical year as lines to print.

    Parameters
    ----------
    described : dict
        From `vansim.climate.describe`.
    system : {"si", "us"}
        Units shown.

    Returns
    -------
    list of str
        Place, hot season, design temperatures, months, hottest and most typical nights, the check of the labels, notes.
    """
    place, hot = described["place"], described["hot_season"]
    months = ", ".join(phrases.MONTHS[m - 1] for m in hot["months"])
    ns, ew = ("N" if place["latitude"] >= 0 else "S"), ("E" if place["longitude"] >= 0 else "W")

    def temp(value: float) -> str:
        return phrases.temperature(value, system)

    lines = [
        f"{place['name']} ({place['kind']}): {abs(place['latitude']):.2f} {ns}, {abs(place['longitude']):.2f} {ew}, "
        f"{phrases.height(place['altitude_m'], system)}, UTC{place['utc_offset_h']:+g}",
        "",
        f"Hot season: {months}",
        f"  mean {temp(hot['mean_c'])}, highest {temp(hot['max_c'])}, mean dew point {temp(hot['dew_mean_c'])}",
        f"  lowest of a night: mean {temp(hot['night_min_mean_c'])}, highest {temp(hot['night_min_highest_c'])}",
        f"  cooling degree-hours above {temp(COOLING_BASE_C)}: "
        f"{phrases.degree_hours(hot['degree_hours_above_24_k_h'], system)}; "
        f"sun on the level: {phrases.daily_sun(hot['sun_kwh_m2_day'], system)}",
        "",
        *_design_table(described["design"], system),
        "",
        *_month_table(described["months"], system),
    ]
    for title, key in (("hottest nights", "hottest_nights"), ("most typical nights", "typical_nights")):
        lines += ["", *_night_table(title, described[key], system)]
    check = described["closure"]
    said = phrases.sun_check(
        check["verdict"],
        at_label_w_m2=check["at_label_w_m2"],
        best_w_m2=check["best_w_m2"],
        best_shift_min=check["best_shift_min"],
        moved=bool(check["moved_min"]),
        system=system,
    )
    notes = [f"Note: {phrases.note(note, system=system)}" for note in described["notes"]]
    return [*lines, "", f"Sun and hours: {said}.", *notes]


def _design_table(design: pd.DataFrame, system: str) -> list[str]:
    rows = [
        (
            phrases.percent_fine(float(str(share))), phrases.temperature(row["temp_c"], system),
            phrases.temperature(row["coincident_dew_c"], system),
        )
        for share, row in design.iterrows()
    ]  # fmt: skip
    return table_lines(("reached in this share of the year's hours", "outdoors", "dew point then"), rows)


def _month_table(months: pd.DataFrame, system: str) -> list[str]:
    rows = [
        (
            phrases.MONTHS[int(str(month)) - 1], phrases.temperature(row["mean_c"], system),
            phrases.temperature(row["min_c"], system), phrases.temperature(row["max_c"], system),
            phrases.daily_sun(row["sun_kwh_m2_day"], system),
        )
        for month, row in months.iterrows()
    ]  # fmt: skip
    return table_lines(("month", "mean", "lowest", "highest", "sun"), rows)


def _night_table(title: str, nights: pd.DataFrame, system: str) -> list[str]:
    rows = [
        (
            phrases.date(pd.Timestamp(str(evening))),
            *(phrases.temperature(row[name], system) for name in ("mean_c", "min_c", "dew_c")),
        )
        for evening, row in nights.iterrows()
    ]
    return table_lines((f"{title} of the hot season", "mean", "lowest", "dew point"), rows)


FILES_SHOWN = 8


def at_hand_lines(files: list[FileAtHand], folder: Path, system: str = "si") -> list[str]:
    """Weather files at hand, the nearest first, for somebody who asked for a year that cannot be had.

    Parameters
    ----------
    files : list of FileAtHand
        From `vansim.climate.files_at_hand`.
    folder : Path
        Where they were looked for.
    system : {"si", "us"}
        Units.

    Returns
    -------
    list of str
        Lines to print.
    """
    if not files:
        return [f"No weather file at hand in {folder}."]
    lines = [f"Weather files at hand in {folder}, the nearest first:"]
    for file in files[:FILES_SHOWN]:
        lines.append(f"  {phrases.distance(file.distance_km, system):>9}  {file.name} ({file.kind}): {file.path}")
    left = len(files) - FILES_SHOWN
    return lines + ([f"  and {left} more"] if left > 0 else [])
