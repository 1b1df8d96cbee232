"""One word for one thing: ways of charging, reasons, cooling modes, causes, cool-down."""

from __future__ import annotations

import math
import re

from vansim.phrases.numbers import MONTHS, duration, speed, temperature

REASONS = {
    "bank": "battery too small",
    "cooler": "cooler too small",
    "controls": "started too late, or held by timers",
    "both": "battery too small, and too warm even before",
}
"""Why a night is not covered."""
COOLING = {"off": "off", "eco": "eco", "boost": "boost", "boost_then_eco": "boost until cool, then eco"}
CAUSES = {
    "latent": "moisture (latent heat)",
    "equipment": "heat of appliances",
    "stored heat": "heat stored in the cabin",
    "cycling loss": "compressor starts",
    "glass, sun": "sun through glass",
    "glass, conduction": "conduction through glass",
    "leakage": "air leakage",
    "roof fan's air": "air from the roof fan",
}
"""Causes whose name in the table says too little to a reader."""


def way(code: str, speed_kmh: float = 90.0, system: str = "si") -> str:
    """How the bank is charged: ``"driving at 90 km/h"``; codes ``road``, ``idling``, ``sun``, ``shore``."""
    others = {"idling": "engine idling", "sun": "on solar alone", "shore": "on shore power"}
    return f"driving at {speed(speed_kmh, system)}" if code == "road" else others[code]


def reason(code: str) -> str:
    """Why a night is not covered; codes as `REASONS`."""
    return REASONS[code]


def cooling(mode: str) -> str:
    """Cooling mode as said; what is not a mode, such as ``"as planned"``, stays."""
    return COOLING.get(mode, mode)


def cause(name: str) -> str:
    """Cause of a night's electricity as said."""
    return CAUSES.get(name, name)


def threshold(name: str, quantity: str) -> str:
    """A threshold of heat stress as said: by the heat index, or, for the dogs' line, at the humidity of its value."""
    if quantity == "heat_index_c":
        return f"heat index: {name}"
    return f"{name} (in very humid air)" if quantity == "dog_line" else name


def cool_down(minutes: float) -> str:
    """Time of a cool-down [min]: ``"38 min"``, ``"not reached"`` where it is not finite."""
    return duration(minutes / 60.0) if math.isfinite(minutes) else "not reached"


def cool_down_meaning(soak_c: float | None = None, system: str = "si") -> str:
    """What a cool-down is, wherever one is told: down to the night's limit, from a stated soak or the day's heat."""
    start = "as the day left it" if soak_c is None else f"at {temperature(soak_c, system, None)}"
    return f"cool-down is from a cabin {start} until it is down to the night's limit"


def since(noun: str, bedtime: str) -> str:
    """From when a runtime counts: ``"bedtime"``, or the hour where it is no night that counts."""
    return "bedtime" if noun == "night" else bedtime


def at_end(noun: str) -> str:
    """When a night is over: ``"at waking"``, else ``"at its end"``."""
    return "at waking" if noun == "night" else "at its end"


_DATES = re.compile(r"(\d\d)-(\d\d)\.\.(\d\d)-(\d\d)")
_SHORT = re.compile(r"\b(" + "|".join(month[:3].lower() for month in MONTHS) + r")\b")


def season(label: str) -> str:
    """A season as said: ``"14 July to 18 July"`` for ``"07-14..07-18"``, ``"June to August"`` for ``"jun-aug"``."""
    if dates := _DATES.fullmatch(label.strip()):
        first_month, first, last_month, last = (int(part) for part in dates.groups())
        return f"{first} {MONTHS[first_month - 1]} to {last} {MONTHS[last_month - 1]}"
    full = {month[:3].lower(): month for month in MONTHS}
    months, comma, rest = label.partition(",")
    return _SHORT.sub(lambda name: full[name.group()], months).replace("-", " to ") + comma + rest
