"""What was probably meant by a value that cannot be: another unit, a percentage, a clock time, a day."""

from __future__ import annotations

import datetime
import re
from collections.abc import Iterable, Mapping
from contextlib import suppress
from typing import Any

from vansim.units import SUFFIXES, convert, stem_of, suffix_of

CLOCK_NAMES = frozenset({"start", "end", "bedtime", "waking"})
"""Keys that hold a clock time."""
COMPASS_DEG = {
    "n": 0, "north": 0, "ne": 45, "north-east": 45, "northeast": 45, "e": 90, "east": 90, "se": 135,
    "south-east": 135, "southeast": 135, "s": 180, "south": 180, "sw": 225, "south-west": 225, "southwest": 225,
    "w": 270, "west": 270, "nw": 315, "north-west": 315, "northwest": 315,
}  # fmt: skip
MEANT = {
    "battery": "bank", "batteries": "bank", "accumulator": "bank", "house_battery": "bank",
    "ac": "cooler", "aircon": "cooler", "air_conditioner": "cooler", "air_conditioning": "cooler", "cooling": "cooler",
    "van": "cabin", "vehicle": "cabin", "body": "cabin", "shell": "cabin", "walls": "cabin", "windows": "cabin",
    "panels": "solar", "panel": "solar", "pv": "solar", "solar_panels": "solar",
    "people": "occupants", "dogs": "occupants", "passengers": "occupants", "persons": "occupants", "pets": "occupants",
    "generator": "alternator", "engine": "alternator", "dcdc": "alternator", "dc_dc": "alternator",
    "mains": "shore", "hookup": "shore", "hook_up": "shore", "location": "site", "place": "site", "pitch": "site",
    "climate": "weather", "plan": "day", "days": "day", "schedule": "day", "appliances": "loads", "load": "loads",
    "watts": "power_w", "amps": "capacity_ah", "temperature": "setpoint_c", "volts": "nominal_v",
}  # fmt: skip
"""What people call tables and keys, to what they are called here."""
INLINE = {
    "solar": "[solar] with rated_w = 400 and area_m2 = 2",
    "alternator": "[alternator] with idle_a = 40 and road_a = 60",
    "charger": "[charger] with output_a = 30",
    "cooler": "[cooler] with rated = { capacity_w = 2600, power_w = 1150 } and airflow_m3_h = 430",
    "cabin": "[cabin] with length_m = 6, width_m = 2.05 and height_m = 2.7",
    "unit": "[bank.unit] with chemistry = \"lfp\" and capacity_ah = 100",
}  # fmt: skip
"""How a part is described in the file itself, by the key that may name it."""


def meant_key(key: str, known: Iterable[str]) -> str | None:
    """What a key means that people often write, if the table has it."""
    word = MEANT.get(re.sub(r"[\s-]+", "_", key.strip().lower()))
    return word if word in set(known) else None


def value_hint(kind: str, bounds: Mapping[str, Any], name: str, written: Any) -> str:
    """``; did you mean ...?`` for a value that was refused, or nothing.

    Parameters
    ----------
    kind : str
        The checker's type of fault.
    bounds : mapping
        Limits `gt`, `ge`, `lt`, `le` of the value.
    name : str
        Its key.
    written : object
        What stood there.
    """
    if kind in ("greater_than", "greater_than_equal", "less_than", "less_than_equal"):
        return _in_range(bounds, name, written)
    if kind == "float_type" and isinstance(written, str):
        return _percent(bounds, written)
    if kind in ("string_type", "string_pattern_mismatch"):
        return _moment(name, written)
    return ""


def _number(value: Any) -> bool:
    return isinstance(value, int | float) and not isinstance(value, bool)


def within(value: float, bounds: Mapping[str, Any]) -> bool:
    """Whether a value keeps to limits; not where there are none."""
    checks = {"gt": value > bounds.get("gt", value - 1), "ge": value >= bounds.get("ge", value)}
    checks |= {"lt": value < bounds.get("lt", value + 1), "le": value <= bounds.get("le", value)}
    return bool(bounds) and all(checks.values())


def _in_range(bounds: Mapping[str, Any], name: str, written: Any) -> str:
    if not _number(written):
        return ""
    if suffix_of(name) is None:
        share = bounds.get("ge") == 0 and bounds.get("le") == 1 and 1 < written <= 100
        return f"; did you mean {written / 100:g}, which is {written:g} %?" if share else ""
    unit = meant_unit(written, name, bounds)
    if unit is None or unit == _first_unit(name):
        return ""
    return f'; did you mean {stem_of(name)} = "{written:g} {unit}"?'


def _first_unit(name: str) -> str:
    return next(iter(SUFFIXES[suffix_of(name) or ""].written))


def meant_unit(value: float, name: str, bounds: Mapping[str, Any]) -> str | None:
    """Unit in which a bare number lies within its limits: the usual one, or Fahrenheit; None where neither does."""
    if within(value, bounds) or not bounds:
        return _first_unit(name)
    if suffix_of(name) == "c":
        scale, offset = SUFFIXES["c"].written["degF"]
        if within(value * scale + offset, bounds):
            return "degF"
    return None


def unit_words(value: float, key: str, name: str, bounds: Mapping[str, Any]) -> str:
    """What to write in place of a bare number under a key without its unit."""
    unit = meant_unit(value, name, bounds) or _first_unit(name)
    if unit == _first_unit(name):
        return f'the unit is missing; write {name} = {value}, or {key} = "{value} {unit}"'
    scale, offset = SUFFIXES[suffix_of(name) or ""].written[unit]
    si = convert(value * scale + offset, name)
    return f'the unit is missing; did you mean {key} = "{value} {unit}", which is {name} = {si:.1f}?'


def text_hint(written: str, key: str, name: str, bounds: Mapping[str, Any]) -> str:
    """What to write in place of a number in quotes without a unit; nothing where it is something else."""
    if not re.fullmatch(r"\s*[-+]?\d+(?:\.\d+)?\s*", written):
        return ""
    unit = meant_unit(float(written), name, bounds)
    return f'; did you mean {key if key != name else stem_of(name)} = "{written.strip()} {unit}"?' if unit else ""


def _percent(bounds: Mapping[str, Any], written: str) -> str:
    match = re.fullmatch(r"\s*(\d+(?:\.\d+)?)\s*%\s*", written)
    return f"; write {float(match.group(1)) / 100:g}" if match and bounds.get("le") == 1 else ""


def _moment(name: str, written: Any) -> str:
    if name in CLOCK_NAMES:
        clock = clock_meant(written)
    elif name == "date":
        clock = date_meant(written)
    else:
        clock = None
    return f'; did you mean "{clock}"?' if clock else ""


def clock_meant(written: Any) -> str | None:
    """Clock time that was probably meant by ``22``, ``"10 pm"``, ``"7:30"`` or a time of TOML's own."""
    if isinstance(written, datetime.time):
        return f"{written:%H:%M}"
    match = re.fullmatch(r"\s*(\d{1,2})(?:[:.h](\d{2}))?\s*(am|pm|h)?\.?\s*", str(written), re.IGNORECASE)
    if match is None or isinstance(written, bool):
        return None
    hour, half = int(match.group(1)), (match.group(3) or "").lower()
    if half in ("am", "pm"):
        hour = hour % 12 + (12 if half == "pm" else 0) if 1 <= hour <= 12 else 99
    minute = int(match.group(2) or 0)
    return f"{hour:02d}:{minute:02d}" if hour < 24 and minute < 60 else None


def date_meant(written: Any) -> str | None:
    """Month and day that were probably meant by a whole date, or by one with the month's name."""
    if isinstance(written, datetime.date):
        return f"{written:%m-%d}"
    text = " ".join(re.sub(r"(\d)(st|nd|rd|th)\b", r"\1", str(written)).replace(",", " ").split())
    for form in ("%Y-%m-%d", "%B %d", "%d %B", "%b %d", "%d %b", "%d. %B", "%B %d %Y", "%d %B %Y"):
        whole = (text, form) if "%Y" in form else (f"{text} 2001", f"{form} %Y")
        with suppress(ValueError):
            return f"{datetime.datetime.strptime(*whole):%m-%d}"
    match = re.fullmatch(r"(\d{1,2})-(\d{1,2})", text)
    if match and 1 <= int(match[1]) <= 12 and 1 <= int(match[2]) <= 31:
        return f"{int(match[1]):02d}-{int(match[2]):02d}"
    if match and 1 <= int(match[2]) <= 12 and 12 < int(match[1]) <= 31:
        return f"{int(match[2]):02d}-{int(match[1]):02d}"
    return None


def heading_hint(written: str) -> str:
    """Degrees of a direction of the compass; nothing where it is none."""
    degrees = COMPASS_DEG.get(written.strip().lower())
    return "" if degrees is None else f"; {written.strip()} is {degrees} deg"
