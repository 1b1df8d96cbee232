"""Notes, warnings and changes to a van, held as a code with numbers and said here."""

from __future__ import annotations

from collections.abc import Mapping

from vansim.phrases.numbers import current, difference, percent, thickness

Values = Mapping[str, float | str]


def _num(values: Values, name: str) -> float:
    return float(values[name])


def note(code: str, values: Values | None = None, system: str = "si") -> str:
    """What has to be said beside an answer, or is worth a second look.

    Parameters
    ----------
    code : str
        ``typical_year``; ``heat_wave`` (`shift_k`, `where`); ``no_cooling_before_waking``; ``seasonal_store``;
        ``other_chemistry_reserve`` (`chemistry`, `reserve_soc`, `own`); ``current_above_battery_limit`` (`current_a`,
        `limit_a`); ``loads_unserved``.
    values : mapping
        Numbers in SI and words, by the names above.
    system : {"si", "us"}
        Units shown.

    Returns
    -------
    str
        One or two sentences.

    Raises
    ------
    KeyError
        No such code, or a value is missing.
    """
    v = values or {}
    if code == "heat_wave":
        return (
            f"Heat-wave margin: air {difference(_num(v, 'shift_k'), system)} warmer on {v['where']}, at the same dew "
            "point. This is a margin, not a forecast."
        )
    if code == "other_chemistry_reserve":
        return (
            f"Batteries of type {v['chemistry']} are given a reserve of {percent(_num(v, 'reserve_soc'))} (common "
            f"practice); the scenario's own reserve is for {v['own']}."
        )
    if code == "current_above_battery_limit":
        return (
            f"With the cooler at full power, it and the other loads draw about {current(_num(v, 'current_a'))}; the "
            f"batteries are rated for {current(_num(v, 'limit_a'))}."
        )
    return _NOTES[code]


_NOTES = {
    "typical_year": (
        "A typical year is put together from ordinary months. Real summers have worse nights than the worst one here; "
        "a heat-wave margin shows what such a night needs."
    ),
    "no_cooling_before_waking": (
        "On some nights no cooling is planned for the last hours before waking. With no cooling the bank does not run "
        "down to its reserve, and such a night counts as lasting more than 48 h."
    ),
    "seasonal_store": (
        "Consecutive nights begin with the bank at its stated charge at the first bedtime. A very large bank can live "
        "on that first charge for weeks, which does not mean that the charging keeps up."
    ),
    "loads_unserved": "The bank ran completely empty, and the other loads lost power.",
}


def change(code: str, values: Values | None = None, system: str = "si") -> str:
    """A change to a van, as it is named in a ranking.

    Parameters
    ----------
    code : str
        ``set_point_higher`` (`delta_k`), ``thermostat_band`` (`band_k`), ``more_insulation`` (`added_mm`, `where`),
        ``shade`` (`share`, `when`), or one of those without numbers.
    values : mapping
        Numbers in SI and words, by the names above.
    system : {"si", "us"}
        Units shown.

    Raises
    ------
    KeyError
        No such code, or a value is missing.
    """
    v = values or {}
    if code == "set_point_higher":
        return f"set point {difference(_num(v, 'delta_k'), system)} higher"
    if code == "thermostat_band":
        return f"thermostat band of {difference(_num(v, 'band_k'), system)}"
    if code == "more_insulation":
        return f"{thickness(_num(v, 'added_mm'), system)} more insulation {v['where']}"
    if code == "shade":
        return f"{percent(_num(v, 'share'))} shade {v['when']}"
    return _CHANGES[code]


_CHANGES = {
    "covers_parked": "window covers on whenever parked",
    "covers_outside": "insulated outside covers on all windows while cooling",
    "eco": "eco all the time",
    "boost": "boost all the time",
    "boost_then_eco": "boost until cool, then eco",
    "fan_first": "roof fan first",
    "white_paint": "white paint",
    "rib_strips": "foam strips over the ribs",
    "half_leakage": "half the air leakage",
    "half_loads": "half of all other loads",
}
