"""A typical year on a terminal: the place, its hot season, and whether its sun stands where its hours say."""

from __future__ import annotations

from typing import Any

import pandas as pd

from vansim.units import convert, show


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
    return lines + [f"Note: {note}" for note in described["notes"]]
