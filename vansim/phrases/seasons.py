"""What becomes of a season of nights, in both readings, and what charging is missing: sentences from numbers."""

from __future__ import annotations

import datetime
import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from vansim.phrases.accounts import bank_at, start
from vansim.phrases.answers import covered
from vansim.phrases.numbers import (
    FULL_SOC,
    count,
    date,
    figures,
    listed,
    percent,
    plural,
    runtime,
    temperature,
    time_of_day,
)
from vansim.phrases.vocabulary import aboard, at_end, more_of, planned_charging, reasons


@dataclass(frozen=True, kw_only=True)
class SeasonFacts:
    """What the headline of a season is made from.

    Attributes
    ----------
    reason : {"no-engine-or-shore", "charging-falls-behind", "charging-keeps-up"}
        Why the headline takes its reading.
    nights, independent, consecutive : int
        Nights, and those covered in each reading.
    target : float
        Share of nights asked for.
    needed : int
        Nights that are this share.
    start_soc, start_kind : float, str
        Charge where an account begins, and where that is (`vansim.phrases.accounts.start`).
    lacks : dict of str to int
        Nights not covered, in the reading of the headline, by reason.
    planned : tuple of str
        Ways in which the plan charges.
    missing : tuple of (str, float or None)
        Ways of charging with the least amount more that reaches the target; empty where it is reached.
    in_a_row_worst, in_a_row_median : int, float
        Nights in a row that the bank lasts from full.
    in_a_row_most : int
        Nights in a row are not counted beyond this.
    noun : str
        What a night is called.
    """

    reason: str
    nights: int
    independent: int
    consecutive: int
    target: float
    needed: int
    start_soc: float
    start_kind: str
    lacks: Mapping[str, int]
    planned: tuple[str, ...] = ()
    missing: tuple[tuple[str, float | None], ...] = ()
    in_a_row_worst: int = 0
    in_a_row_median: float = 0.0
    in_a_row_most: int = 30
    noun: str = "night"


def season_answer(facts: SeasonFacts) -> str:
    """The headline of a season: one or two sentences with both readings.

    Parameters
    ----------
    facts : SeasonFacts
        Numbers and codes.

    Returns
    -------
    str
        For example ``"All 92 nights are covered, each from a full bank at the first cooling of the day. This plan has
        no engine or shore time: from full the bank lasts 1 night in a row; driving 1 h 20 min a day would keep it
        going."``
    """
    if facts.reason == "no-engine-or-shore":
        return f"{_each_for_itself(facts)} {without_engine(facts)}"
    if facts.reason == "charging-falls-behind":
        return f"{_falls_behind(facts)} {_would_do(facts)}"
    return _keeps_up(facts)


def _capital(text: str) -> str:
    return text[:1].upper() + text[1:]


def _lacks(facts: SeasonFacts) -> str:
    said = reasons(dict(facts.lacks))
    return f" ({said})" if said else ""


def _each_for_itself(facts: SeasonFacts) -> str:
    said = _capital(covered(facts.independent, facts.nights, facts.noun))
    start_from = f"{bank_at(facts.start_soc)} at {start(facts.start_kind, facts.noun)}"
    return f"{said}, each from {start_from}{_lacks(facts)}."


def in_a_row(facts: SeasonFacts) -> str:
    """How many nights in a row the bank lasts: ``"1 night in a row"``, ``"1 night in a row at worst, 3 as a rule"``."""
    worst, median = facts.in_a_row_worst, facts.in_a_row_median
    if worst >= facts.in_a_row_most:
        return f"{count(facts.in_a_row_most, facts.noun)} in a row or more"
    text = f"{count(worst, facts.noun) if worst else 'no ' + facts.noun} in a row"
    if median <= worst:
        return text if worst else f"not one {facts.noun} at worst"
    rule = f"{facts.in_a_row_most} or more" if median >= facts.in_a_row_most else figures(median, 2)
    return f"{text} at worst, {rule} in the median"


def without_engine(facts: SeasonFacts) -> str:
    """Of a plan without engine or shore time: how many nights in a row it lasts, and what would make it go on."""
    charge = "full" if facts.start_soc >= FULL_SOC else percent(facts.start_soc)
    text = f"This plan has no engine or shore time: from {charge} the bank lasts {in_a_row(facts)}"
    if any(number for code, number in facts.lacks.items() if code != "battery"):  # the bank is not all that fails
        lasts = in_a_row(facts).replace(" in a row", "")
        text = f"This plan has no engine or shore time. Covered in a row, from {charge}: {lasts}"
    total = f"{facts.consecutive} of {count(facts.nights, f'consecutive {facts.noun}')}"
    if not facts.missing:
        if "solar" not in facts.planned:
            return f"{text}; {total} are covered."
        by_sun = "the sun keeps it going, with"
        return f"{text}; {by_sun} {total} covered." if facts.consecutive < facts.nights else f"{text}; {by_sun} all."
    ways = _ways(facts)
    if ways:
        share = "" if facts.needed == facts.nights else f" on {percent(facts.target)} of the {plural(facts.noun)}"
        return f"{text}; {ways} would keep it going{share}."
    if facts.independent < facts.needed:
        return (
            f"{text}. More charging alone is not enough: even each for itself fewer than {percent(facts.target)} are "
            "covered."
        )
    return f"{text}, and no charging that there is room for would keep it going ({total} covered)."


def _ways(facts: SeasonFacts) -> str:
    planned = {code: code in facts.planned for code, _ in facts.missing}
    found = [more_of(code, amount, planned[code]) for code, amount in facts.missing if amount is not None]
    return listed(found, "or")


def _falls_behind(facts: SeasonFacts) -> str:
    enough = facts.consecutive >= facts.needed
    said = f"{facts.consecutive} of {count(facts.nights, f'consecutive {facts.noun}')} are covered"
    if facts.consecutive == 0:
        said = f"none of the {count(facts.nights, f'consecutive {facts.noun}')} is covered"
    elif not enough:
        said = f"only {said}"
    cause = f"{planned_charging(facts.planned)} does not keep up"
    return f"{_capital(said)} (each for itself: {facts.independent}): {cause}."


def _would_do(facts: SeasonFacts) -> str:
    if facts.consecutive >= facts.needed:
        return f"They are the {percent(facts.target)} that was asked for all the same."
    if ways := _ways(facts):
        every = "would" if facts.needed == facts.nights else f"would bring it to {percent(facts.target)}"
        return f"{_capital(ways)} {every}."
    if facts.independent < facts.needed:
        return (
            f"More charging alone is not enough: even each for itself they are fewer than {percent(facts.target)}"
            f"{_lacks(facts)}."
        )
    return "No more charging that there is room for would bring it to " + f"{percent(facts.target)}."


def _keeps_up(facts: SeasonFacts) -> str:
    said = _capital(covered(facts.independent, facts.nights, facts.noun))
    cause = planned_charging(facts.planned)
    if facts.consecutive == facts.independent:
        return f"{said}, each for itself and one after another{_lacks(facts)}: {cause} keeps up."
    return f"{said} each for itself{_lacks(facts)}, and {facts.consecutive} one after another: {cause} keeps up."


def night_in_figures(
    day: datetime.date, *, start_soc: float, start_kind: str, bedtime_soc: float, waking_soc: float, runtime_h: float,
    outlasts: bool, outdoor_low_c: float, cabin_max_c: float, empty_at: datetime.datetime | None = None,
    cabin_at_empty_c: float = math.nan, people: int = 0, dogs: int = 0, noun: str = "night", system: str = "si",
) -> str:  # fmt: skip
    """A night of a season in a line, such as its design night; no full stop.

    Parameters
    ----------
    day : date
        Of its bedtime.
    start_soc, bedtime_soc, waking_soc : float
        State of charge where its account begins, at bedtime and at waking.
    start_kind : str
        Where its account begins, as `vansim.phrases.accounts.start`.
    runtime_h, outlasts : float, bool
        Bedtime to reserve [h], and whether it goes beyond what is followed.
    outdoor_low_c, cabin_max_c : float
        Lowest outdoors and warmest in the cabin, bedtime to waking [°C].
    empty_at : datetime or None
        When the bank was at its reserve; None where it was not.
    cabin_at_empty_c : float
        Cabin then [°C].
    people, dogs : int
        Aboard then.
    noun, system
        As for `answer`.
    """
    charge = f"charge {percent(start_soc)} at {start(start_kind, noun)}, {percent(bedtime_soc)} at bedtime, "
    if start_kind == "bedtime":
        charge = f"charge {percent(bedtime_soc)} at bedtime, "
    if noun != "night":
        charge = charge.replace(" at bedtime", " at its beginning")
    empty = ""
    if empty_at is not None:
        at = f"{time_of_day(empty_at)} on {date(empty_at)}"
        then = temperature(cabin_at_empty_c, system)
        empty = f"bank at its reserve at {at}, cabin {then} then, {aboard(people, dogs)}; "
    return (
        f"{date(day)}: {charge}{percent(waking_soc)} {at_end(noun)}; {empty}runtime "
        f"{runtime(runtime_h, outlasts) if runtime_h > 0.0 else 'none'}; "
        f"outdoors down to {temperature(outdoor_low_c, system)}, cabin up to {temperature(cabin_max_c, system)}"
    )


def no_bank(
    why: str, *, nights: int, warm: int = 0, limit_c: float, most: int = 0, best_share: float = 0.0,
    target: float = 0.0, missing: Sequence[tuple[str, float | None]] | None = None, planned: tuple[str, ...] = (),
    strings: int = 0, noun: str = "night", system: str = "si",
) -> str:  # fmt: skip
    """Why no bank covers the asked share of nights.

    Parameters
    ----------
    why : {"no-cooler", "no-cooling-at-night", "cooler", "charging", "larger-not-tried"}
        What stands in the way.
    nights, warm : int
        Nights looked at, and those on which the cabin is above its limit on an endless bank.
    limit_c : float
        Cabin limit [°C].
    most : int
        Most strings in parallel that were tried.
    best_share, target : float
        Share of nights that these cover, and that was asked.
    missing : sequence of (str, float or None), or None
        Where charging is why: ways of charging with the least amount more that does it, with `strings` in parallel;
        None where it was not looked for.
    planned : tuple of str
        Ways in which the plan charges.
    strings : int
        Least in parallel that cover the share of independent nights.
    noun, system
        As for `answer`.
    """
    warmth = f"the cabin is above {temperature(limit_c, system, None)} on {warm} of {count(nights, noun)}"
    if why == "no-cooler":
        return f"No cooler is fitted: {warmth}, and no bank helps."
    if why == "no-cooling-at-night":
        return f"No cooling is planned during the {noun}: {warmth}, and no bank helps."
    if why == "cooler":
        return (
            f"The cooler is too small, or starts too late: however large the bank, {warmth}. A larger cooler, an "
            "earlier start, shade or insulation may help."
        )
    if why == "charging":
        text = (
            f"Charging does not keep up: {most} in parallel cover enough {plural(noun)} each for itself, but only "
            f"{percent(best_share)} one after another. A larger bank does not mend that."
        )
        if missing is None:
            return text
        found = [more_of(code, amount, code in planned) for code, amount in missing if amount is not None]
        if not found:
            return f"{text} No more charging that there is room for does."
        return f"{text} With {strings} in parallel, {listed(found, 'or')} would bring it to {percent(target)}."
    if why == "larger-not-tried":
        return (
            f"{most} in parallel cover {round(best_share * nights)} of {count(nights, noun)}, which is less than "
            f"{percent(target)}; larger banks are not tried."
        )
    raise ValueError(f"no_bank: {why!r} is not a reason")
