"""The plan laid out in time: which segment and which loads hold from when to when."""

from __future__ import annotations

from dataclasses import dataclass

from vansim.scenario.schema import DAY_MIN, PlanSegment, Scenario, minutes
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
    list of Stretch
        In order, from midnight of `first_day` to midnight of `last_day`, cut at midnight only where a day's plan ends
        on another day's.

    Notes
    -----
    A day's plan begins at its first segment's start and lasts 24 hours; the hours before that, on the run's clock,
    belong to the plan of the day before.
    """
    days = scenario.days()
    stretches: list[ScheduledSegment] = []
    for number in range(first_day - 1, last_day + 1):
        day = days[number % len(days)]
        clock = number * DAY_MIN + minutes(day.segment[0].start)
        # a plan that begins later than the one before ends: the earlier plan's last segment is drawn out
        if stretches and stretches[-1].end_min < clock:
            last = stretches.pop()
            stretches.append(ScheduledSegment(last.start_min, clock, last.segment))
        while stretches and stretches[-1].end_min > clock:
            last = stretches.pop()
            if last.start_min < clock:
                stretches.append(ScheduledSegment(last.start_min, clock, last.segment))
        for segment in day.segment:
            stretches.append(ScheduledSegment(clock, clock + segment.span_min, segment))
            clock += segment.span_min
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
