"""One word for one thing: ways of charging, reasons, cooling modes, who is aboard, cool-down."""

from __future__ import annotations

import math
import re

from vansim.phrases.numbers import (
    MONTHS,
    count,
    duration,
    energy,
    listed,
    power,
    speed,
    spelled,
    temperature,
)

REASONS = {
    "battery": "battery too small",
    "cooler": "cooler too small",
    "controls": "cooling set too warm, started too late or held back by its timers",
    "both": "battery too small, and too warm even before it was empty",
    "no-cooler": "no cooler is fitted",
}
"""Why a night is not covered."""
LIMITS = {
    "reserve": "The bank is at its reserve",
    "bank_voltage": "The bank is down to its low-voltage disconnect",
    "battery_current": "The batteries switch off, drawn from above their current limit,",
    "cooler_voltage": "The cooler switches off at its own low-voltage cut",
}
"""What stopped the cooler, with when behind it."""
COOLING = {"off": "off", "eco": "eco", "boost": "boost", "boost_then_eco": "boost until cool, then eco"}
PLANNED = {"road": "driving", "idling": "idling", "shore": "shore power", "solar": "sun"}
"""Ways of charging as the plan has them."""


def way(code: str, speed_kmh: float = 90.0, system: str = "si") -> str:
    """How the bank is charged: ``"driving at 90 km/h"``; codes ``road``, ``idling``, ``shore``, ``solar``."""
    others = {"idling": "engine idling", "solar": "on solar alone", "shore": "on shore power"}
    return f"driving at {speed(speed_kmh, system)}" if code == "road" else others[code]


def more_of(code: str, amount: float, planned: bool) -> str:
    """So much more of a way of charging: ``"45 min more driving a day"``, ``"300 W more panels"``.

    Parameters
    ----------
    code : {"road", "idling", "shore", "solar"}
        Way.
    amount : float
        Time [min a day]; of panels their rated power [W].
    planned : bool
        Whether the plan has some of it already; where not, ``"driving 45 min a day"``, ``"300 W of panels"``.
    """
    if code == "solar":
        return f"{power(amount)} {'more' if planned else 'of'} panels"
    length = duration(amount / 60.0)
    if planned:
        return {
            "road": f"{length} more driving a day",
            "idling": f"{length} more idling a day",
            "shore": f"{length} more on shore power a day",
        }[code]
    return {
        "road": f"driving {length} a day",
        "idling": f"idling the engine {length} a day",
        "shore": f"{length} a day on shore power",
    }[code]


def planned_charging(codes: tuple[str, ...]) -> str:
    """What a plan charges with: ``"the planned driving"``, or ``"the planned charging"`` where it is several."""
    return f"the planned {PLANNED[codes[0]]}" if len(codes) == 1 else "the planned charging"


def reason(code: str) -> str:
    """Why a night is not covered; codes as `REASONS`."""
    return REASONS[code]


def limit(code: str) -> str:
    """What stopped the cooler, as a sentence begins; codes as `LIMITS`."""
    return LIMITS[code]


def reasons(nights_by_code: dict[str, int]) -> str:
    """Why nights are not covered, with their number: ``"battery too small on 3, cooler too small on 1"``."""
    return listed([f"{reason(code)} on {number}" for code, number in nights_by_code.items() if number])


def cooling(mode: str) -> str:
    """Cooling mode as said; what is not a mode, such as ``"as planned"``, stays."""
    return COOLING.get(mode, mode)


def aboard(people: int, dogs: int) -> str:
    """Who is in the van: ``"two people and one dog aboard"``, ``"nobody aboard"``."""
    parts = [(people, "person"), (dogs, "dog")]
    said = [count(number, noun).replace(str(number), spelled(number), 1) for number, noun in parts if number]
    return f"{listed(said)} aboard" if said else "nobody aboard"


def cool_down(minutes: float) -> str:
    """Time of a cool-down [min]: ``"38 min"``, ``"not reached"`` where it is not finite."""
    return duration(minutes / 60.0) if math.isfinite(minutes) else "not reached"


def cool_down_meaning(soak_c: float | None = None, system: str = "si") -> str:
    """What a cool-down is, wherever one is told: down to the night's limit, from a stated soak or the day's heat."""
    start = "as the day left it" if soak_c is None else f"at {temperature(soak_c, system, None)}"
    return f"cool-down is from a cabin {start} until it is down to the night's limit"


def runtime_meaning(noun: str = "night", bedtime: str = "bedtime") -> str:
    """What a runtime is, wherever one is told."""
    start = since(noun, bedtime)
    return (
        f"runtime: from {start} until the bank is at its reserve, cooling left on and nothing charging; none where it "
        f"is so before {start}"
    )


def wired(series: int, parallel: int) -> str:
    """How batteries are wired, after their number: ``" in parallel"``, ``", 4 in series, 2 strings in parallel"``."""
    if series == 1:
        return " in parallel" if parallel > 1 else ""
    if parallel == 1:
        return " in series"
    return f", {series} in series, {parallel} such strings in parallel"


def usable(kwh: float) -> str:
    """Energy from full to the reserve: ``"3.70 kWh usable"``."""
    return f"{energy(1000.0 * kwh)} usable"


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


def short_reason(code: str) -> str:
    """Why nights are not covered, as a row of a table; codes as `REASONS`."""
    return {
        "battery": "not covered: battery too small",
        "cooler": "not covered: cooler too small",
        "controls": "not covered: too warm by set point or timing",
        "both": "not covered: battery too small, and too warm",
        "no-cooler": "not covered: no cooler is fitted",
    }[code]


def more_way(code: str, planned: bool) -> str:
    """A way of charging more, without its amount: ``"more driving at 90 km/h"``."""
    more = "more " if planned else ""
    return {
        "road": f"{more}driving",
        "idling": f"{more}idling of the engine",
        "shore": f"{more}time on shore power",
        "solar": f"{more}panels",
    }[code]


def amount(code: str, value: float) -> str:
    """An amount of a way of charging: ``"45 min a day"``, ``"300 W"``."""
    return power(value) if code == "solar" else f"{duration(value / 60.0)} a day"
