"""A change to a van or its plan, as it is named in a ranking."""

from __future__ import annotations

from collections.abc import Mapping

from vansim.phrases.numbers import difference, duration, listed, percent, power, quantity, thickness

Values = Mapping[str, float | int | str | bool]


def change(code: str, values: Values | None = None, system: str = "si") -> str:
    """A change to a van or its plan, as it is named in a ranking.

    Parameters
    ----------
    code : str
        Of `vansim.studies.changes`.
    values : mapping
        Its numbers in SI and its words.
    system : {"si", "us"}
        Units shown.

    Returns
    -------
    str
        A few words without a capital.

    Raises
    ------
    KeyError
        No such code, or a value is missing.
    """
    v = values or {}

    def number(name: str) -> float:
        return float(v[name])

    if code in _INSULATION:
        return f"{thickness(number('thickness_mm'), system)} more insulation {_INSULATION[code]}"
    if code in _SHADE:
        return f"{percent(number('share'))} shade {_SHADE[code]}"
    if code in _PARTS:
        part = str(v.get("part", ""))
        return f"{_PARTS[code]} ({part})" if part else _PARTS[code]
    if code == "warmer-setpoint":
        return f"set point {difference(number('difference_k'), system)} higher"
    if code == "wider-band":
        return f"thermostat band of {difference(number('band_k'), system)}"
    if code == "more-solar":
        return f"{power(number('power_w'))} {'more' if v.get('fitted', True) else 'of'} panels"
    if code == "more-driving":
        return f"{duration(number('length_min') / 60.0)} more driving a day"
    if code == "cab-partition":
        return f"padded cab partition, {quantity(number('r_m2k_w'), 'r_m2k_w', system)}"
    return _CHANGES[code]


_INSULATION = {
    "insulation-roof": "in the roof",
    "insulation-walls": "in the walls",
    "insulation-floor": "in the floor",
}
_SHADE = {"shade-by-day": "by day", "shade-throughout": "day and night"}
_PARTS = {
    "larger-alternator": "larger alternator",
    "smaller-cooler": "smaller cooler",
    "larger-cooler": "larger cooler",
}
_CHANGES = {
    "covers-when-parked": "window covers on whenever parked",
    "covers-outside": "insulated covers outside when cooling",
    "white-paint": "white paint",
    "strips-over-ribs": "foam strips over the ribs",
    "half-leakage": "half the air leakage",
    "eco-throughout": "eco all the time",
    "boost-throughout": "boost all the time",
    "boost-then-eco": "boost until cool, then eco",
    "roof-fan-first": "roof fan first",
    "precooling": "pre-cooling on the road or on shore",
    "half-loads": "half of all other loads",
    "one-more-battery": "one more battery in parallel",
}
_LEFT_OUT = {
    "changes-nothing": "already so",
    "does-not-apply": "does not apply here",
}


def left_out(changes: Mapping[str, str]) -> str:
    """Changes that were not tried, by why: ``"already so: white paint, eco all the time; does not apply here: ..."``.

    Parameters
    ----------
    changes : mapping of str to str
        Change as said, to the code of why, or to what is wrong with it.
    """
    by_why: dict[str, list[str]] = {}
    for name, why in changes.items():
        by_why.setdefault(_LEFT_OUT.get(why, why), []).append(name)
    return "; ".join(f"{why}: {listed(names)}" for why, names in by_why.items())
