"""The plan laid out in time: which segment and which loads hold from when to when."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from typing import Any

from vansim.scenario.schema import DAY_MIN, Day, PlanSegment, Scenario, minutes
from vansim.van.loads import DailyHours


@dataclass(frozen=True)
class ScheduledSegment:
    """A segment on the clock of a run.

    Attributes
    ----------
    start_min, end_min : int
        Minutes since midnight of the run's first day.
    segment : Segment
        What holds.
    """

    start_min: int
    end_min: int
    segment: PlanSegment


def unroll_plan(scenario: Scenario, first_day: int, last_day: int) -> list[ScheduledSegment]:
    """Lay the cycle of days on a time axis.

    Parameters
    ----------
    scenario : Scenario
        With its days.
    first_day, last_day : int
        Days of the run, 0 being its first; negative ones lead in. `last_day` is not included.

    Returns
    -------
    list of ScheduledSegment
        In order, from midnight of `first_day` to midnight of `last_day`, cut at midnight only where a day's plan ends
        on another day's.

    Notes
    -----
    A day's plan begins at its first segment's start and lasts 24 hours; the hours before that, on the run's clock,
    belong to the plan of the day before.
    """
    days = [[(segment, segment.span_min) for segment in day.segment] for day in scenario.days()]
    stretches: list[ScheduledSegment] = []
    for number in range(first_day - 1, last_day + 1):
        day = days[number % len(days)]
        clock = number * DAY_MIN + minutes(day[0][0].start)
        # a plan that begins later than the one before ends: the earlier plan's last segment is drawn out
        if stretches and stretches[-1].end_min < clock:
            last = stretches.pop()
            stretches.append(ScheduledSegment(last.start_min, clock, last.segment))
        while stretches and stretches[-1].end_min > clock:
            last = stretches.pop()
            if last.start_min < clock:
                stretches.append(ScheduledSegment(last.start_min, clock, last.segment))
        for segment, span in day:
            stretches.append(ScheduledSegment(clock, clock + span, segment))
            clock += span
    start, end = first_day * DAY_MIN, last_day * DAY_MIN
    clipped = (ScheduledSegment(max(s.start_min, start), min(s.end_min, end), s.segment) for s in stretches)
    return [s for s in clipped if s.end_min > s.start_min]


def is_on(hours: tuple[DailyHours, ...], minute: int) -> bool:
    """Whether a daily span holds at a minute of the run's clock; no spans mean all day."""
    if not hours:
        return True
    now = minute % DAY_MIN
    for span in hours:
        start, end = minutes(span.start), minutes(span.end)
        if (start <= now < end) if start < end else (now >= start or now < end):
            return True
    return False


def load_edges(scenario: Scenario) -> set[int]:
    """Minutes of the day at which a load's hours begin or end."""
    return {
        minutes(clock) % DAY_MIN for load in scenario.loads for span in load.hours for clock in (span.start, span.end)
    }


# --- a plan with something else ------------------------------------------------------------------------------------


def with_more(scenario: Scenario, more_min: int, change: Mapping[str, Any]) -> Scenario:
    """The scenario with some of the time that the van stands, from each waking on, spent otherwise.

    Parameters
    ----------
    scenario : Scenario
        With its days.
    more_min : int
        Time a day [min].
    change : dict of str to value
        What differs in it, as fields of a segment; ``{"doing": "idling"}``.

    Returns
    -------
    Scenario
        Every day has so much more of it, as far as it has standing time between waking and bedtime.
    """
    changed = tuple(_day_with_more(scenario, day, more_min, change) for day in scenario.day)
    return scenario.model_copy(update={"day": changed})


def standing_min(scenario: Scenario, change: Mapping[str, Any]) -> int:
    """Standing time between waking and bedtime that a change could take, on the day with the least of it [min]."""
    return min(
        sum(length for _, length, segment in _awake_pieces(scenario, day) if _could(segment, change))
        for day in scenario.days()
    )


def _could(segment: PlanSegment, change: Mapping[str, Any]) -> bool:
    """Whether the van stands in a segment and does not do so already."""
    return segment.doing == "parked" and any(getattr(segment, name) != value for name, value in change.items())


def _pieces(day: Day, edges: Iterable[int]) -> list[tuple[int, int, PlanSegment]]:
    """Segments of a day cut at clock times: start on the clock, length [min], segment; in the order of the day."""
    pieces = []
    for segment in day.segment:
        start, span = minutes(segment.start), segment.span_min
        cuts = sorted({(edge - start) % DAY_MIN for edge in edges if 0 < (edge - start) % DAY_MIN < span})
        for a, b in zip([0, *cuts], [*cuts, span], strict=True):
            pieces.append(((start + a) % DAY_MIN, b - a, segment))
    return pieces


def _awake_pieces(scenario: Scenario, day: Day) -> list[tuple[int, int, PlanSegment]]:
    """Pieces between waking and bedtime, from waking on."""
    waking, bedtime = minutes(scenario.night.waking) % DAY_MIN, minutes(scenario.night.bedtime) % DAY_MIN
    awake = (bedtime - waking) % DAY_MIN
    pieces = _pieces(day, (waking, bedtime))
    return sorted(
        (piece for piece in pieces if (piece[0] - waking) % DAY_MIN < awake), key=lambda p: (p[0] - waking) % DAY_MIN
    )


def _day_with_more(scenario: Scenario, day: Day, more_min: int, change: Mapping[str, Any]) -> Day:
    left = more_min
    taken: dict[int, int] = {}  # start of a piece on the clock, to the minutes of it that change
    for start, length, segment in _awake_pieces(scenario, day):
        if left > 0 and _could(segment, change):
            taken[start] = min(length, left)
            left -= taken[start]
    edges = {minutes(scenario.night.waking), minutes(scenario.night.bedtime)}
    segments = []
    for start, length, segment in _pieces(day, edges):
        spent = taken.get(start, 0)
        for begin, span, update in ((start, spent, change), (start + spent, length - spent, {})):
            if span > 0:
                times = {"name": "", "start": clock(begin), "end": clock(begin + span)}
                segments.append(segment.model_copy(update={**update, **times}))
    return day.model_copy(update={"segment": tuple(segments)})


def unplugged(scenario: Scenario) -> Scenario:
    """The scenario without shore power."""
    days = tuple(
        day.model_copy(update={"segment": tuple(s.model_copy(update={"shore": False}) for s in day.segment)})
        for day in scenario.day
    )
    return scenario.model_copy(update={"day": days})


def extended_scenario(scenario: Scenario, segment: PlanSegment) -> Scenario:
    """The scenario with one segment that lasts all day, unplugged."""
    whole = segment.model_copy(update={"start": "00:00", "end": "00:00", "shore": False})
    return scenario.model_copy(update={"day": (Day(name="extended", segment=(whole,)),), "cycle": ()})


def clock(minute: int) -> str:
    """Clock time of a minute of the day: ``"07:30"``."""
    return f"{minute % DAY_MIN // 60:02d}:{minute % 60:02d}"
