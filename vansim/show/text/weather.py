"""A typical year on a terminal: the place, its hot season, and whether its sun stands where its hours say."""

from __future__ import annotations

from typing import Any

import pandas as pd

from vansim.climate.weather import HOURS
from vansim.notes import Note
from vansim.units import convert, show


def weather_dict(described: dict[str, Any]) -> dict[str, Any]:
    """The description as plain values for JSON; tables become lists of rows."""
    plain: dict[str, Any] = {}
    for key, value in described.items():
        if key == "notes":
            plain[key] = [{"code": note.code, **note.values, "text": note_text(note)} for note in value]
        elif isinstance(value, pd.DataFrame):
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
    place, hot, closure = described["place"], described["hot_season"], described["closure"]
    months = ", ".join(pd.Timestamp(2001, m, 1).strftime("%B") for m in hot["months"])
    ns, ew = ("N" if place["latitude"] >= 0 else "S"), ("E" if place["longitude"] >= 0 else "W")

    def temp(value: float) -> str:
        return show(value, "t_c", system)

    lines = [
        f"{place['name']} ({place['kind']}): {abs(place['latitude']):.2f} {ns}, {abs(place['longitude']):.2f} {ew}, "
        f"{show(place['altitude_m'], 'altitude_m', system, 0)}, UTC{place['utc_offset_h']:+g}",
        "",
        f"Hot season: {months}",
        f"  mean {temp(hot['mean_c'])}, highest {temp(hot['max_c'])}, mean dew point {temp(hot['dew_mean_c'])}",
        f"  night minima: mean {temp(hot['night_min_mean_c'])}, highest {temp(hot['night_min_highest_c'])}",
        f"  cooling degree-hours above {temp(24.0)}: "
        f"{convert(hot['degree_hours_above_24_k_h'], 'x_k', system):.0f} {'K h' if system == 'si' else '°F h'}; "
        f"sun {hot['sun_kwh_m2_day']:.1f} kWh/m2 a day on the level",
        "",
        "Reached or exceeded in a share of the year's hours",
    ]
    for share, row in described["design"].iterrows():
        lines.append(f"  {share:6.1%}  {temp(row['temp_c']):>9s}, dew point then {temp(row['coincident_dew_c'])}")
    lines += ["", "  month     mean      lowest   sun kWh/m2 a day"]
    for month, row in described["months"].iterrows():
        name = pd.Timestamp(2001, int(str(month)), 1).strftime("%b")
        lines.append(f"  {name:6s}{temp(row['mean_c']):>9s}{temp(row['min_c']):>11s}{row['sun_kwh_m2_day']:>12.1f}")
    for title, key in (
        ("Hottest nights", "hottest_nights"),
        ("Most typical nights of the hot season", "typical_nights"),
    ):
        lines += ["", title]
        for evening, row in described[key].iterrows():
            lines.append(
                f"  {pd.Timestamp(str(evening)):%d %b}  mean {temp(row['mean_c'])}, lowest {temp(row['min_c'])}, "
                f"dew point {temp(row['dew_c'])}"
            )
    lines += ["", f"Hour labels: {closure['verdict']}. {closure['reason']}."]
    return lines + [f"Note: {note_text(note, system)}" for note in described["notes"]]


def note_text(note: Note | str, system: str = "si") -> str:
    """A note in words.

    Parameters
    ----------
    note : Note or str
        From a year or a study; what is words already stays as it is.
    system : {"si", "us"}
        Units.

    Returns
    -------
    str
        A sentence.
    """
    if isinstance(note, str):
        return note
    values: dict[str, Any] = {**note.values}
    if note.code == "heat-wave":
        dates = f"{pd.Timestamp(values['first']):%d %b} to {pd.Timestamp(values['last']):%d %b}"
        values["where"] = f"the hottest fortnight ({dates})" if values["hottest_fortnight"] else dates
        values["shift"] = show(values["shift_k"], "shift_k", system)
    if "utc_offset_h" in values:
        values["offset"] = f"UTC{values['utc_offset_h']:+g} h"
    if "hours" in values:
        values["share"] = "" if values["hours"] == HOURS else f" in {values['hours']} hours"
    if "how" in values:
        values["how"] = HOW_FILLED[values["how"]]
    return NOTES[note.code].format(**values)


HOW_FILLED = {
    "line": "by a straight line",
    "days beside": "from the same hours of the days beside",
}
NOTES = {
    "heat-wave": "Heat-wave margin: air {shift} warmer on {where}, dew point held. This is a margin, not a forecast.",
    "file-comment": "the file says: {text}",
    "leap-day-left-out": "29 February left out ({hours} rows): a typical year has 365 days",
    "hours-filled": "{rows}: {column} was missing, filled {how}",
    "dew-point-from-humidity": "dew point computed from relative humidity (ASHRAE Fundamentals 2017 ch. 1)",
    "dew-point-capped": "dew point lay above the air by rounding in {hours} rows, set to saturation",
    "universal-time-moved": (
        "instants in universal time brought to hours of {offset}; fluxes stand {flux_delay_min:.0f} min after the "
        "label and are averaged over each hour"
    ),
    "offset-from-longitude": ("the file carries universal time; {offset} taken as standard time from the longitude"),
    "longwave-computed": (
        "no longwave in the file{share}: computed from dew point (Berdahl & Martin 1984) and sky cover (Walton 1983)"
    ),
    "albedo-zero": "albedo is 0 all year in the file, taken as missing",
    "sky-cover-from-sun": (
        "no sky cover in the file{share}: estimated from GHI (Kasten & Czeplak 1980), nights carried over"
    ),
    "sky-cover-filled": "sky cover missing in {hours} hours, filled by a straight line",
    "labels-tie": "more than one placing of the sun explains the file equally well; its labels are kept",
    "labels-shifted": "the sun in this file contradicts its hours",
    "labels-nothing-to-check": "the file has almost no hours with direct sun, so its labels cannot be checked",
}
