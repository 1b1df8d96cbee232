"""A typical year on a terminal: the place, its hot season, and whether its sun stands where its hours say."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import pandas as pd

from vansim.climate.at_hand import FileAtHand
from vansim.notes import Note
from vansim.units import convert, show

FILES_SHOWN = 8


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
    lines += ["", f"Hour labels: {closure_text(closure)}."]
    return lines + [f"Note: {note_text(note, system)}" for note in described["notes"]]


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
    """
    if not files:
        return [f"No weather file at hand in {folder}."]
    lines = [f"Weather files at hand in {folder}, the nearest first:"]
    for file in files[:FILES_SHOWN]:
        lines.append(f"  {show(file.distance_km, 'distance_km', system, 0):>9}  {file.name} ({file.kind}): {file.path}")
    left = len(files) - FILES_SHOWN
    return lines + ([f"  and {left} more"] if left > 0 else [])


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
    if "shift_min" in values:
        values["off"] = f"{abs(values['shift_min']):.0f} min {'after' if values['shift_min'] > 0 else 'before'}"
    if note.code == "labels-moved":
        values["what"] = "sun and the temperatures" if values["whole"] else "sun"
        values["stand"] = "stand" if values["whole"] else "stands"
    if note.code == "hours-from-rest":
        values["also"] = f", and {values['columns']} in every hour" if values["columns"] else ""
    if note.code == "hours-mended":
        values |= _mended_words(values)
    if note.code in ("sky-replaced", "sky-measured"):
        apart = f"{values['nearest_apart_w_m2']:.0f} W/m2"
        values["told"] = (
            f"it was computed ({values['nearest']} meets it within {apart})"
            if values["computed_column"]
            else f"no known formula meets it (the nearest within {apart}), so it may have been measured"
        )
    return NOTES[note.code].format(**values)


def _mended_words(values: dict[str, Any]) -> dict[str, str]:
    """How many hours of a column were bad, and how each was mended."""
    bad = [f"{values[kind]} {kind}" for kind in ("missing", "impossible") if values[kind]]
    ways = {
        "from_sun": "from the other two solar columns",
        "from_days": "from the same hours of the days beside",
        "by_line": "by a straight line",
    }
    used = [way for way in ways if values[way]]
    how = [ways[way] if len(used) == 1 else f"{values[way]} {ways[way]}" for way in used]
    return {"bad": " and ".join(bad), "how": ", ".join(how)}


def closure_text(closure: dict[str, Any]) -> str:
    """Where the sun of a file stands against its hours, in words; `closure` as `describe` gives it."""
    best, at_label = f"{closure['best_w_m2']:.1f} W/m2 rms", f"{closure['at_label_w_m2']:.1f} W/m2"
    shift = closure["best_shift_min"]
    off = f"{abs(shift):.0f} min {'after' if shift > 0 else 'before'} its hours"
    if closure["verdict"] == "nothing to check":
        return "the file has almost no hours with direct sun, so they cannot be checked"
    if closure["verdict"] == "agrees":
        return f"DHI + DNI cos z gives GHI within {at_label} rms where the file has its sun"
    if closure["verdict"] == "shifted":
        done = "moved there" if closure["moved_min"] else "left as written"
        return f"the sun in this file stands {off} (misses by {best} there, {at_label} at its hours): {done}"
    return f"the solar columns do not belong together: DHI + DNI cos z misses GHI by {best} at best"


NOTES = {
    "heat-wave": "Heat-wave margin: air {shift} warmer on {where}, dew point held. This is a margin, not a forecast.",
    "file-comment": "the file says: {text}",
    "leap-day-left-out": "29 February left out ({hours} hours): a typical year has 365 days",
    "hours-absent": "{hours} hours are not in the file, the first on {first}",
    "hours-mended": "{column}: {bad} hours mended, {how} ({where})",
    "flux-below-zero": "{column} is a little below zero in {hours} hours (a sensor's night), taken as zero",
    "dew-point-from-humidity": "dew point computed from relative humidity (ASHRAE Fundamentals 2017 ch. 1)",
    "dew-point-capped": "dew point lay above the air by rounding in {hours} hours, set to saturation",
    "universal-time-moved": (
        "instants in universal time brought to hours of {offset}; fluxes stand {flux_delay_min:.0f} min after the "
        "label and are averaged over each hour"
    ),
    "offset-from-longitude": "the file carries universal time; {offset} taken as standard time from the longitude",
    "labels-moved": "the {what} in this file {stand} {off} its hour labels: placed there",
    "labels-as-written": "the sun in this file stands {off} its hour labels; they are kept as written, as asked",
    "labels-loose": (
        "CAUTION: the solar columns of this file do not belong together. DHI + DNI cos z misses GHI by {rms_w_m2:.0f} "
        "W/m2 rms at best (a station's year: 1 to 9): sun on walls, glass and panels is that uncertain"
    ),
    "labels-unchecked": "the file has almost no hours with direct sun, so its labels cannot be checked",
    "sky-computed": (
        "longwave from the sky computed from dew point (Berdahl & Martin 1984) and the sun that came through cloud "
        "(Crawford & Duchon 1999)"
    ),
    "sky-replaced": (
        "longwave from the sky computed as for every file; the file's own column is not used: {told}. It differs by "
        "{rms_w_m2:.0f} W/m2 rms, {bias_w_m2:+.0f} on average. To keep it: sky measured"
    ),
    "sky-measured": (
        "longwave from the sky kept from the file, as asked; {told}. Computed as for every file it would differ by "
        "{rms_w_m2:.0f} W/m2 rms, {bias_w_m2:+.0f} on average"
    ),
    "own-year": "logged from {first} to {last}, every {step_min} min; 29 February left out",
    "columns-ignored": "columns that are not read: {columns}",
    "pressure-from-altitude": "no pressure in the table: {pressure_pa:.0f} Pa by the altitude",
    "beam-from-global": "beam told from the global sun (Erbs, Klein & Duffie 1982): sun on walls is that uncertain",
    "beam-from-closure": "beam computed from the global and the diffuse sun",
    "diffuse-from-closure": "diffuse sun computed from the global sun and the beam",
    "hours-from-rest": "{hours} hours that were not logged come from {rest}{also}: they are typical, not measured",
    "albedo-zero": "albedo is 0 all year in the file, taken as missing",
}
