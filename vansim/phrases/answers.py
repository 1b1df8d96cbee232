"""Answers in a sentence, from numbers and a status."""

from __future__ import annotations

import datetime
import math
from collections.abc import Mapping

from vansim.phrases.numbers import (
    FOLLOWED_H,
    clock,
    count,
    date,
    duration,
    irradiance,
    listed,
    percent,
    plural,
    temperature,
    within,
)
from vansim.phrases.vocabulary import reason, since, way


def answer(
    *, status: str, nights: int, covered: int, limit_c: float, runtime_h: float = math.nan, emptied: int = 0,
    over_limit_h: float = 0.0, grace_min: float = 0.0, why: str = "", noun: str = "night", bedtime: str = "bedtime",
    system: str = "si",
) -> str:  # fmt: skip
    """What became of the nights of a run.

    Parameters
    ----------
    status : {"covered", "bank_empty", "too_warm", "no_night"}
        As `Result.status`.
    nights, covered, emptied : int
        Nights of the run, those covered, and those on which the bank reached its reserve before waking.
    limit_c : float
        Cabin limit [°C].
    runtime_h : float
        Bedtime to reserve of the only night [h].
    over_limit_h : float
        Time above the limit, over all nights that are not covered, or of the covered ones [h].
    grace_min : float
        Time above the limit that is forgiven a night [min].
    why : str
        Code of `REASONS`; said where the cabin was too warm.
    noun, bedtime : str
        What a night is called, and when it begins (used where it is not called a night).
    system : {"si", "us"}
        Units shown.

    Returns
    -------
    str
        One sentence.
    """
    limit = temperature(limit_c, system, None)
    if status == "no_night":
        return f"No whole {noun} lies in this run."
    if status == "covered":
        lasts = f"the {noun}" if nights == 1 else _every(nights, noun)
        within_limit = within_the_limit(limit_c, over_limit_h, grace_min, system)
        return f"The cooling lasts {lasts}: the bank stays above its reserve and the cabin {within_limit}."
    if status == "bank_empty" and nights == 1:
        return f"{reserve_reached(runtime_h, since(noun, bedtime))}."
    if status == "bank_empty":
        return (
            f"The cooling lasts on {covered} of {count(nights, noun)}; "
            f"on {emptied} the bank reaches its reserve before the end."
        )
    return f"The bank lasts, but the cabin is above {limit} for {duration(over_limit_h)}" + (
        f": {reason(why)}." if why else "."
    )


def _every(number: int, noun: str) -> str:
    return f"both {plural(noun)}" if number == 2 else f"all {count(number, noun)}"


def covered(number: int, total: int, noun: str = "night") -> str:
    """How many nights are covered: ``"all 12 nights are covered"``, ``"none of the 12 nights is covered"``."""
    if number == total:
        return f"{_every(total, noun)} are covered" if total > 1 else f"the {noun} is covered (1 of 1)"
    if number == 0:
        return f"none of the {count(total, noun)} is covered" if total > 1 else f"the {noun} is not covered (0 of 1)"
    return f"{number} of {count(total, noun)} {'is' if number == 1 else 'are'} covered"


def within_the_limit(limit_c: float, over_limit_h: float, grace_min: float, system: str = "si") -> str:
    """The limit and what is forgiven, in one: ``"at or below 26 °C but for 4 min (up to 15 min is forgiven)"``."""
    text = f"at or below {temperature(limit_c, system, None)}"
    if over_limit_h < 1.0 / 3600.0:
        return text
    over = "less than a minute" if over_limit_h < 0.5 / 60.0 else duration(over_limit_h)
    return f"{text} but for {over} (up to {duration(grace_min / 60.0)} is forgiven)"


def reserve_reached(runtime_h: float, from_when: str, stops_at: str = "") -> str:
    """When the bank reaches its reserve; no full stop."""
    if runtime_h <= 0.0:
        return f"The bank is already at its reserve at {from_when}"
    if stops_at:
        return f"The cooling stops at {stops_at}: the bank reaches its reserve {duration(runtime_h)} after {from_when}"
    return f"The bank reaches its reserve {duration(runtime_h)} after {from_when}"


def recharged(goal_soc: float, hours: Mapping[str, float | None], speed_kmh: float = 90.0, system: str = "si") -> str:
    """How soon the bank is full again, by every way that the van has; no full stop.

    Parameters
    ----------
    goal_soc : float
        State of charge to reach, 0 to 1.
    hours : mapping of str to float or None
        By way of charging, as `way`; None where 48 h do not do it.
    speed_kmh : float
        Road speed of ``road`` [km/h].
    system : {"si", "us"}
        Units shown.
    """
    goal = percent(goal_soc)
    if not hours:
        return f"Nothing on board brings the bank back to {goal}; only shore power would"
    if all(h == 0.0 for h in hours.values()):
        return f"The bank is at {goal} or more already"
    done = [f"{duration(h)} {way(code, speed_kmh, system)}" for code, h in hours.items() if h is not None]
    late = [way(code, speed_kmh, system) for code, h in hours.items() if h is None]
    if not done:
        return f"The bank is not back at {goal} within {duration(FOLLOWED_H)} {listed(late, 'or')}"
    return f"Back at {goal} after {listed(done, 'or')}" + (f"; {within(None)} {listed(late, 'or')}" if late else "")


def no_bank(
    status: str, *, nights: int, warm: int = 0, limit_c: float = math.nan, largest: int = 0, best_share: float = 0.0,
    target: float = 0.0, noun: str = "night", system: str = "si",
) -> str:  # fmt: skip
    """Why no bank covers the asked share of nights.

    Parameters
    ----------
    status : {"no_cooler", "no_cooling_at_night", "cooler_too_small", "charging_too_little", "beyond_largest"}
        What stands in the way.
    nights, warm : int
        Nights looked at, and those on which the cabin is above its limit on an inexhaustible bank.
    limit_c : float
        Cabin limit [°C].
    largest : int
        Most batteries in parallel that were tried.
    best_share, target : float
        Share of nights that these cover, and that was asked.
    """
    warmth = f"the cabin is above {temperature(limit_c, system, None)} on {warm} of {count(nights, noun)}"
    if status == "no_cooler":
        return f"No cooler is fitted: {warmth}, and no bank helps."
    if status == "no_cooling_at_night":
        return f"No cooling is planned during the {noun}: {warmth}."
    if status == "cooler_too_small":
        return f"The cooler is too small, or starts too late: even with an endless battery {warmth}. No bank helps."
    if status == "charging_too_little":
        return (
            f"Charging does not keep up: {largest} of these in parallel cover enough {plural(noun)} when each begins "
            f"full, but only {percent(best_share)} of consecutive {plural(noun)}. More charging helps; more battery "
            "hardly does."
        )
    if status == "beyond_largest":
        return (
            f"{largest} of these in parallel cover {percent(best_share)} of the {plural(noun)}, not {percent(target)}; "
            "larger banks are not tried."
        )
    raise ValueError(f"no_bank: {status!r} is not a status")


def outage_start(case: str, date_: datetime.date, hour: float) -> str:
    """When and why the cooler stops, before the cabin is followed without it.

    Parameters
    ----------
    case : {"reserve", "halfway", "sun"}
        At the bank's reserve; halfway through a night that the bank would outlast; at noon in full sun.
    date_, hour : date, float
        Day, and hours since its midnight.
    """
    stops = {
        "reserve": "The cooler stops when the bank reaches its reserve, on the night with the shortest runtime",
        "halfway": "The bank would outlast every night, so the cooler is stopped halfway through the hardest one",
        "sun": "The cooler stops in full sun at noon on the hottest day, with the cabin at its set point",
    }
    return f"{stops[case]}: {date(date_)}, {clock(hour)}."


def sun_check(verdict: str, rms_by_shift: Mapping[float, float], system: str = "si") -> str:
    """Whether the sun of a weather file stands where its hours say.

    Parameters
    ----------
    verdict : {"agrees", "tie", "shifted", "nothing to check"}
        As the closure check found.
    rms_by_shift : mapping of float to float
        Residual of DHI + DNI cos z against GHI [W/m2] by shift of the sun [min].
    """
    if verdict not in ("agrees", "tie", "shifted"):
        return "the file has almost no hours with direct sun, so its hours cannot be checked"
    here = irradiance(rms_by_shift[0.0], system)
    best = min(rms_by_shift, key=lambda shift: rms_by_shift[shift])
    there = irradiance(rms_by_shift[best], system)
    if verdict == "agrees":
        return f"global, direct and diffuse sun agree within {here} rms at the file's hours, and less well at any shift"
    shift = f"{duration(abs(best) / 60.0)} {'later' if best > 0 else 'earlier'}"
    if verdict == "tie":
        return f"the residual at the file's hours ({here}) is as good as that {shift} ({there}); the hours are kept"
    return (
        f"the sun in this file is {shift} than its hours say: the residual is {here} rms at the file's hours and "
        f"{there} rms when shifted"
    )
