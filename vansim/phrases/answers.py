"""What became of the nights of a run, and of recharging after them, in a sentence from numbers and a status."""

from __future__ import annotations

import datetime
import math
from collections.abc import Mapping
from dataclasses import dataclass

from vansim.phrases.numbers import (
    FOLLOWED_H,
    FULL_SOC,
    clock,
    count,
    date,
    duration,
    listed,
    percent,
    plural,
    temperature,
    within,
)
from vansim.phrases.vocabulary import aboard, at_end, limit, reason, since, way


@dataclass(frozen=True, kw_only=True)
class NightFacts:
    """What is said of one night.

    Attributes
    ----------
    date : date
        Day of its bedtime.
    bedtime, waking : datetime
        When it begins and ends.
    waking_soc : float
        State of charge at waking.
    cabin_max_c, over_limit_h : float
        Warmest in the cabin, and time above its limit, bedtime to waking [°C, h].
    bedtime_cabin_c : float
        Cabin at bedtime [°C].
    empty_at : datetime or None
        When a limit first stopped the cooler; None where none did.
    cabin_at_empty_c : float
        Cabin then [°C].
    people, dogs : int
        Aboard then.
    why : str
        Code of `REASONS`, empty where it is covered.
    cooler : bool
        Whether one is fitted.
    stopped_by : str
        Code of `LIMITS`: what stopped the cooler then.
    """

    date: datetime.date
    bedtime: datetime.datetime
    waking: datetime.datetime
    waking_soc: float
    cabin_max_c: float
    over_limit_h: float
    bedtime_cabin_c: float
    empty_at: datetime.datetime | None = None
    cabin_at_empty_c: float = math.nan
    people: int = 0
    dogs: int = 0
    why: str = ""
    cooler: bool = True
    stopped_by: str = "reserve"


def answer(
    *, status: str, nights: int, nights_covered: int, limit_c: float, grace_min: float,
    telling: NightFacts | None = None, noun: str = "night", system: str = "si",
) -> str:  # fmt: skip
    """What became of the nights of a run.

    Parameters
    ----------
    status : {"covered", "bank_empty", "too_warm", "no_night"}
        As `Result.status`.
    nights, nights_covered : int
        Nights of the run, and those covered.
    limit_c : float
        Cabin limit [°C].
    grace_min : float
        Time above the limit that is forgiven a night [min].
    telling : NightFacts or None
        The first night that is not covered; where all are, the one with the least charge at waking.
    noun : str
        What a night is called.
    system : {"si", "us"}
        Units shown.

    Returns
    -------
    str
        One or two sentences.
    """
    if telling is None or status == "no_night":
        return f"No whole {noun} lies in this run."
    if status == "covered":
        lasts = f"the {noun}" if nights == 1 else _every(nights, noun)
        least = percent(telling.waking_soc)
        left = f"{least} of the charge is left {at_end(noun)}"
        if telling.waking_soc >= FULL_SOC:
            left = f"the bank is full {at_end(noun)}"
        elif nights > 1:
            left = f"at least {left}"
        kept = within_the_limit(limit_c, telling.over_limit_h, grace_min, system)
        if not telling.cooler:
            spent = f"{lasts[:1].upper()}{lasts[1:]} {'is' if nights == 1 else 'are'} covered"
            return f"{spent} without a cooler: {left}, and the cabin stays {kept}."
        return f"The cooling lasts {lasts}: {left}, and the cabin stays {kept}."
    if nights == 1:
        return f"{_failure(telling, limit_c, grace_min, noun, system)}."
    said = covered(nights_covered, nights, noun)
    failure = _failure(telling, limit_c, grace_min, noun, system)
    return f"{said[:1].upper()}{said[1:]}. On {date(telling.date)}: {failure[:1].lower()}{failure[1:]}."


def _failure(night: NightFacts, limit_c: float, grace_min: float, noun: str, system: str) -> str:
    if night.empty_at is None:
        most = temperature(limit_c, system, None)
        if night.why == "no-cooler":
            return f"No cooler is fitted, and the cabin is above {most} for {duration(night.over_limit_h)}"
        forgiven = f" ({duration(grace_min / 60.0)} are forgiven)" if grace_min > 0.0 else ""
        over = duration(night.over_limit_h)
        more = "just over " if over == duration(grace_min / 60.0) else ""  # as rounded, it would seem to be forgiven
        return f"The bank lasts, but the cabin is above {most} for {more}{over}{forgiven}: {reason(night.why)}"
    return emptied(night, noun, system)


def emptied(night: NightFacts, noun: str = "night", system: str = "si") -> str:
    """When what stopped the cooler, how warm the cabin was and became, and who was aboard; no full stop."""
    assert night.empty_at is not None
    at = clock(_hour(night.empty_at))
    then = temperature(night.cabin_at_empty_c, system)
    who = aboard(night.people, night.dogs)
    if night.empty_at < night.bedtime:
        bed = "bedtime" if noun == "night" else f"the {noun} begins"
        when = f"{at}, before {bed}"
        if (night.bedtime - night.empty_at).total_seconds() > 12 * 3600:
            when = f"{at} on {date(night.empty_at)}, before {bed}"
        later = (
            f"{temperature(night.bedtime_cabin_c, system)} {'at bedtime' if noun == 'night' else 'at its beginning'}"
        )
    else:
        left_h = (_hour(night.waking) - round(_hour(night.empty_at) * 60.0) / 60.0) % 24.0
        when = f"{at}, {duration(left_h)} before {'waking' if noun == 'night' else 'its end'}"
        later = f"{temperature(night.cabin_max_c, system)} at most that {noun}"
    return f"{limit(night.stopped_by)} at {when}: cabin {then} then, {later}; {who}"


def _hour(moment: datetime.datetime) -> float:
    """Hours since midnight."""
    return moment.hour + moment.minute / 60.0 + moment.second / 3600.0


def _every(number: int, noun: str) -> str:
    return f"both {plural(noun)}" if number == 2 else f"all {count(number, noun)}"


def covered(number: int, total: int, noun: str = "night", kind: str = "") -> str:
    """How many nights are covered: ``"all 12 nights are covered"``, ``"none of the 12 nights is covered"``.

    Parameters
    ----------
    number, total : int
        Covered, and in all.
    noun : str
        What a night is called.
    kind : str
        Word before it, such as ``"consecutive"``.
    """
    called = f"{kind} {noun}".strip()
    if number == total:
        return f"{_every(total, called)} are covered" if total > 1 else f"the {noun} is covered (1 of 1)"
    if number == 0:
        return f"none of the {count(total, called)} is covered" if total > 1 else f"the {noun} is not covered (0 of 1)"
    return f"{number} of {count(total, called)} {'is' if number == 1 else 'are'} covered"


def within_the_limit(limit_c: float, over_limit_h: float, grace_min: float, system: str = "si") -> str:
    """The limit and what is forgiven, in one: ``"at or below 26 °C but for 4 min, 15 are forgiven"``."""
    text = f"at or below {temperature(limit_c, system, None)}"
    if over_limit_h < 1.0 / 3600.0:
        return text
    if over_limit_h < 0.5 / 60.0:
        return f"{text} but for less than a minute, {duration(grace_min / 60.0)} are forgiven"
    if over_limit_h < 1.0 - 0.5 / 60.0 and grace_min < 59.5:
        return f"{text} but for {duration(over_limit_h)}, {grace_min:.0f} {'is' if grace_min == 1 else 'are'} forgiven"
    return f"{text} but for {duration(over_limit_h)}, {duration(grace_min / 60.0)} are forgiven"


def runtime_from(
    runtime_h: float, outlasts: bool, bedtime_soc: float, emptied_before: str = "", noun: str = "night",
    bedtime: str = "bedtime",
) -> str:  # fmt: skip
    """A runtime with its terms: ``"12 h 05 min from bedtime at 60%, cooling left on, nothing charging"``.

    Parameters
    ----------
    runtime_h, outlasts : float, bool
        Bedtime to reserve [h], and whether it goes beyond what is followed.
    bedtime_soc : float
        State of charge at bedtime.
    emptied_before : str
        Clock time at which the bank was empty, where that was before bedtime.
    noun, bedtime : str
        What a night is called, and when it begins.
    """
    from_when = since(noun, bedtime)
    if emptied_before and runtime_h <= 0.0:
        return f"nothing left at {from_when}: the bank is at its reserve from {emptied_before} on"
    length = f"more than {duration(FOLLOWED_H)}" if outlasts else duration(runtime_h)
    return f"{length} from {from_when} at {percent(bedtime_soc)}, cooling left on, nothing charging"


def recharged(goal_soc: float, hours: Mapping[str, float | None], speed_kmh: float = 90.0, system: str = "si") -> str:
    """How soon the bank is full again, by every way that the van has; no full stop.

    Parameters
    ----------
    goal_soc : float
        State of charge to reach, 0 to 1.
    hours : mapping of str to float or None
        By way of charging, as `way`; None or infinite where 48 h do not do it.
    speed_kmh : float
        Road speed of ``road`` [km/h].
    system : {"si", "us"}
        Units shown.
    """
    goal = percent(goal_soc)
    if not hours:
        return f"No alternator, panels or shore charger is fitted, so nothing aboard brings the bank back to {goal}"
    known = {code: None if h is None or math.isinf(h) else h for code, h in hours.items()}
    if all(h == 0.0 for h in known.values()):
        return f"The bank is at {goal} or more already"
    done = [f"{duration(h)} {way(code, speed_kmh, system)}" for code, h in known.items() if h is not None]
    late = [way(code, speed_kmh, system) for code, h in known.items() if h is None]
    if not done:
        return f"The bank is not back at {goal} within {duration(FOLLOWED_H)} {listed(late, 'or')}"
    return f"Back at {goal} after {listed(done, 'or')}" + (f"; {within(None)} {listed(late, 'or')}" if late else "")


def recharge_outcome(code: str) -> str:
    """Why a way does not bring the bank back within 48 h: never, where that was shown, or not known.

    Parameters
    ----------
    code : {"reached", "not_within_48_h", "nothing_given", "loads_exceed_charging"}
        As found.
    """
    return {
        "reached": "reached",
        "not_within_48_h": within(None),
        "nothing_given": "never: it gives nothing all year",
        "loads_exceed_charging": "never: the loads left on take more than it gives",
    }[code]
