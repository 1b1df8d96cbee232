"""When cooling stops: why and when, who is aboard, and what is known of the model's error beside the minutes."""

from __future__ import annotations

import datetime
from collections.abc import Sequence

from vansim.phrases.numbers import date, difference, duration, listed, temperature, time_of_day
from vansim.phrases.vocabulary import aboard


def _when(moment: datetime.datetime) -> str:
    return f"{time_of_day(moment)} on {date(moment)}"


def unattended(
    code: str, spans: Sequence[tuple[str, str]], *, dogs: int, people: int, cooled: int, no_person: bool = False,
    how_empty: str = "", empty_at: datetime.datetime | None = None,
) -> str:  # fmt: skip
    """The caution at the top of an answer to a plan in which nobody who can act is aboard.

    Parameters
    ----------
    code : {"only-animals", "only-children"}
        Who is left.
    spans : sequence of (str, str)
        Clock times from and to which that is so.
    dogs, people : int
        The most of them at a time.
    cooled : int
        How many of the spans are cooled.
    no_person : bool
        The scenario has no person at all.
    how_empty : {"in_account", "left_on", "outlasts", ""}
        How the bank would be empty; empty where it is not known.
    empty_at : datetime or None
        When.

    Returns
    -------
    str
        Sentences.
    """
    children = "nobody but children, who cannot be counted on to act, is"
    who = "only animals are" if code == "only-animals" else children
    times = _times(spans)
    said = aboard(people if code != "only-animals" else 0, dogs).removesuffix(" aboard")
    plan = f"CAUTION: in this plan {who} in the van {times} ({said})."
    if no_person:
        plan += " It has no person at all."
    stops = "Cooling can stop at any moment, with nobody there to act" if cooled else "Nobody there can act"
    bank = {
        "": "",
        "in_account": "the bank alone is empty at {at}",
        "left_on": "with cooling left on and nothing charging, the bank alone would be empty at {at}",
        "outlasts": "a bank that lasts does not change that",
    }[how_empty]
    if empty_at is not None:
        bank = bank.format(at=_when(empty_at))
    return f"{plan} {stops}{': ' + bank if bank else ''}. Change the plan: somebody who can act must stay with them."


def _times(spans: Sequence[tuple[str, str]]) -> str:
    """Spans of the clock in words, those that follow one another as one: ``"from 18:00 to 09:00"``, ``"all day"``."""
    joined = list(dict.fromkeys(spans))
    while True:
        pair = next(((a, b) for a in joined for b in joined if a is not b and a[1] == b[0]), None)
        if pair is None:
            break
        first, then = pair
        joined[joined.index(first)] = (first[0], then[1])
        joined.remove(then)
    if len(joined) == 1 and joined[0][0] == joined[0][1]:
        return "all day"
    return f"from {listed([f'{start} to {end}' for start, end in joined])}"


def outage_start(
    stop: str, moment: datetime.datetime, *, people: int, dogs: int, noun: str = "night", reading: str = "independent"
) -> str:
    """Why and when cooling stops, before the cabin is followed without it.

    Parameters
    ----------
    stop : {"bank_empty", "left_on", "fault", "sun"}
        The bank is empty under the plan; only with cooling left on; something fails; at noon in full sun.
    moment : datetime
        When.
    people, dogs : int
        Aboard then.
    noun : str
        What a night is called.
    reading : {"independent", "consecutive"}
        Which nights were looked at.
    """
    read = "One after another" if reading == "consecutive" else "Each for itself"
    stops = {
        "bank_empty": f"Cooling stops when the bank is empty, on the {noun} on which that is earliest",
        "left_on": (
            f"{read}, no {noun} of the season empties the bank, so cooling is left on from bedtime with nothing "
            f"charging, on the {noun} with the shortest runtime, until the bank is empty"
        ),
        "fault": (
            f"The bank outlasts every {noun} of the season, so a fault stops the cooling, at the warmest hour of the "
            f"hardest {noun}"
        ),
        "sun": "Cooling stops in full sun at noon of the hottest day, with the cabin at its set point",
    }
    return f"{stops[stop]}: {_when(moment)}, {aboard(people, dogs)}."


def warm_up_bias(
    first_half_hour_k: tuple[float, float], one_hour_k: float, spread_k: tuple[float, float], system: str = "si"
) -> str:
    """The known error of the first hour, to stand beside the minutes.

    Parameters
    ----------
    first_half_hour_k, spread_k : tuple of float
        Model less measurement, lowest and highest, negative where it is too cool; and the spread of what was measured
        [K].
    one_hour_k : float
        The same after an hour [K].
    system : {"si", "us"}
        Units shown.
    """
    low, high = (difference(k, system) for k in spread_k)
    coolest, warmest = (_off(k, system) for k in first_half_hour_k)
    return (
        f"Held against a measured closed car in the sun, the model was between {coolest} and {warmest} in the first "
        f"half hour and {_off(one_hour_k, system)} at one hour, on average; single days spread by {low} to {high}. On "
        "some days a line is passed well before the minutes said here."
    )


def _off(value_k: float, system: str) -> str:
    return f"{difference(abs(value_k), system)} too {'warm' if value_k > 0.0 else 'cool'}"


def course_name(covers: bool) -> str:
    """A course in a table's heading: ``"covers on"``."""
    return "covers on" if covers else "no covers"


def passed_after(minutes: float, followed_h: float = 12.0) -> str:
    """When a threshold is passed after the cooling stops: ``"at once"``, ``"4 h 14 min"``, ``"not in 12 h"``."""
    if minutes <= 0.0:
        return "at once"
    return duration(minutes / 60.0) if minutes <= 60.0 * followed_h else f"not in {duration(followed_h)}"


def heat_index_range(above_c: float, air_above_c: float, system: str = "si") -> str:
    """Where the heat index ends."""
    return (
        f"heat index above {temperature(above_c, system, 0)}: off the scale, as its chart ends there; so it is in air "
        f"over {temperature(air_above_c, system, 0)}. Either is extreme danger"
    )
