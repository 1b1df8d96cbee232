"""A trip laid on the calendar: which day of the plan each day follows, and where the van is then."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date
from itertools import pairwise
from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    from vansim.scenario.schema import Day, Scenario

YEAR_DAYS = 365


@dataclass(frozen=True)
class Leg:
    """A place of a trip, on the clock that counts days from the first.

    Attributes
    ----------
    stop : Stop
        As written.
    first, nights : int
        Day of arrival, and nights there.
    """

    stop: Any
    first: int
    nights: int


def day_of_year(text: str) -> int:
    """Day of the 365-day year of ``"MM-DD"``, 0 being 1 January."""
    return (date(2001, int(text[:2]), int(text[3:])) - date(2001, 1, 1)).days


def legs_of(scenario: Scenario) -> tuple[Leg, ...]:
    """The places of a trip in order, each with its days; the last stays as long as its `nights`."""
    stops = scenario.trip
    starts = [day_of_year(stop.date) for stop in stops]
    gaps = [(after - before) % YEAR_DAYS for before, after in pairwise(starts)]
    legs, first = [], 0
    for stop, nights in zip(stops, [*gaps, stops[-1].nights or 1] if stops else [], strict=True):
        legs.append(Leg(stop, first, nights))
        first += nights
    return tuple(legs)


def drives(day: Day) -> bool:
    """Whether a day of the plan drives."""
    return any(segment.doing == "driving" for segment in day.segment)


def arrival_day(scenario: Any, stop: Any) -> str:
    """Name of the day of the plan on which a place is reached: as written, or the first that drives; empty if none."""
    return str(stop.arrive) or next((day.name for day in scenario.day if drives(day)), "")


def staying_day(scenario: Any, stop: Any) -> str:
    """Name of the day of the plan for the days that follow: as written, or the first that does not drive."""
    return str(stop.stay) or next((day.name for day in scenario.day if not drives(day)), scenario.day[0].name)


def calendar_of(scenario: Scenario) -> tuple[str, ...]:
    """Names of days of the plan from the first day of a trip to the day after its last night.

    Two more follow for the days before the first: as a cycle, the calendar is counted back from its end.
    """
    names: list[str] = []
    for number, leg in enumerate(legs_of(scenario)):
        stays = staying_day(scenario, leg.stop)
        reached = arrival_day(scenario, leg.stop) if number or leg.stop.arrive else stays
        names += [reached, *[stays] * (leg.nights - 1)]
    home = staying_day(scenario, scenario.trip[0])
    return (*names, staying_day(scenario, scenario.trip[-1]), home, home)


def trip_faults(scenario: Any) -> list[str]:
    """What is wrong with the stops of a trip, one sentence each after its key."""
    stops, names = scenario.trip, [day.name for day in scenario.day]
    faults = []
    for number, stop in enumerate(stops):
        for key in ("stay", "arrive"):
            name = getattr(stop, key)
            if name and name not in names:
                faults.append(f"trip.{number}.{key}: no day is called {name!r}; there are {', '.join(names)}")
        reached = next((day for day in scenario.day if day.name == arrival_day(scenario, stop)), None)
        if number and (reached is None or not drives(reached)) and stop.arrive in ("", *names):
            faults.append(
                f"trip.{number}.arrive: no day of the plan drives there; give a day a segment with doing = 'driving'"
            )
        if stop.nights is not None and number < len(stops) - 1:
            faults.append(f"trip.{number}.nights: only the last place says it; here the next date does")
    days = [day_of_year(stop.date) for stop in stops]
    gaps = [(after - before) % YEAR_DAYS for before, after in pairwise(days)]
    faults += [
        f"trip.{number}.date: {stops[number].date} is the date before again; write one a place"
        for number, gap in enumerate(gaps, 1)
        if gap == 0
    ]
    total = sum(gaps) + ((stops[-1].nights or 1) if stops else 0)
    if total > YEAR_DAYS:
        faults.append(f"trip: the dates run over {total} nights; they must be in order, within one year")
    return faults
