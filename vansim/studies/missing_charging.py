"""What charging is missing: how much more driving, idling, sun or shore a day makes consecutive nights last.

Every amount is found by simulation: the plan is changed, laid out and marched anew.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from typing import Any, Literal

import numpy as np

from vansim.runs import season as sr
from vansim.runs.night_table import covered_and_why, needed_nights
from vansim.scenario.parts import library_of
from vansim.scenario.plan import standing_min, with_more
from vansim.scenario.schema import Scenario
from vansim.studies.design import Design
from vansim.van.bank import bank_parameters
from vansim.van.charging import SolarArray

STEP_MIN = 5
"""Times are found to this [min]."""
LONGEST_RUN = 30
"""Nights in a row are not counted beyond this."""
ROAD_KMH = 90.0
PANEL_W = 100.0
"""One more panel [W]."""
Way = Literal["road", "idling", "shore", "solar"]
CHANGE: dict[Way, dict[str, Any]] = {
    "road": {"doing": "driving", "speed_kmh": ROAD_KMH, "shore": False, "window_open": False, "fan": "off"},
    "idling": {"doing": "idling"},
    "shore": {"shore": True},
}


@dataclass(frozen=True)
class MissingCharging:
    """One way to make consecutive nights reach the target.

    Attributes
    ----------
    way : {"road", "idling", "shore", "solar"}
        More minutes a day on the road at 90 km/h, with the engine idling, or plugged in, each taken from the time that
        the van stands between waking and bedtime; or more panels, which any van may have: like those that are fitted,
        or like the smallest array of the parts library.
    amount : float or None
        Least that does it [min a day; for solar W]; None where the most that there is room for does not.
    most : float
        Room that there is [min a day; W].
    share : float
        Share of consecutive nights covered with that amount, or with the most.
    """

    way: Way
    amount: float | None
    most: float
    share: float


@dataclass(frozen=True)
class NightsInARow:
    """How many nights in a row a bank lasts from full, over all nights of a season to begin on.

    Attributes
    ----------
    worst, median : float
        Fewest, and the median; `LONGEST_RUN` where they were not counted further.
    """

    worst: int
    median: float


def nights_in_a_row(design: Design) -> NightsInARow:
    """Count nights in a row from the starting charge, beginning on each night of the season.

    Parameters
    ----------
    design : Design
        Laid out.

    Returns
    -------
    NightsInARow
        A season that ends first ends the count, so only nights that leave room for a longer run than the one counted,
        or that fail, are used.
    """
    run, bank = design.season, bank_parameters(design.bank)
    counts = []
    for first in range(len(run.times)):
        state = sr.with_charge(design.states[first : first + 1], bank, design.start_soc)[0]
        length = 2
        while True:
            part = sr.part_of(run, first, min(length, LONGEST_RUN))
            covered = covered_and_why(part, sr.consecutive(part, bank, state, follow=False)[0])[0]
            if not covered.all():
                counts.append(int(np.argmin(covered)))
            elif len(covered) >= LONGEST_RUN:
                counts.append(LONGEST_RUN)
            elif len(covered) < length:  # the season ends; how long it would have gone on is not known
                break
            else:
                length *= 4
                continue
            break
    if not counts:
        counts = [len(run.times)]
    return NightsInARow(min(counts), float(np.median(counts)))


def missing_charging(design: Design) -> tuple[MissingCharging, ...]:
    """What would make consecutive nights reach the target.

    Parameters
    ----------
    design : Design
        Laid out.

    Returns
    -------
    tuple of MissingCharging
        One for each way that the van is fitted for, and panels; empty where consecutive nights reach the target.
    """
    if reaches(design, design.consecutive.covered):
        return ()
    return tuple(_least(design, way, *room) for way, room in _rooms(design.scenario).items())


def reaches(design: Design, covered: int) -> bool:
    """Whether so many covered nights are the asked share."""
    return covered >= needed_nights(len(design.season.times), design.target)


def _rooms(scenario: Scenario) -> dict[Way, tuple[float, float]]:
    """Ways that a van is fitted for, with the most that there is room for and the step of the search."""
    fitted = {
        "road": scenario.alternator is not None,
        "idling": scenario.alternator is not None,
        "shore": scenario.charger is not None and scenario.shore is not None,
    }
    found: dict[Way, tuple[float, float]] = {
        way: (float(standing_min(scenario, change) // STEP_MIN * STEP_MIN), STEP_MIN)
        for way, change in CHANGE.items()
        if fitted[way]
    }
    array = panels_like(scenario)
    per_w = array.area_m2 / array.rated_w
    free = scenario.cabin.faces["roof"].area_m2 - (array.area_m2 if has_panels(scenario) else 0.0)
    found["solar"] = (max(0.0, free // (per_w * PANEL_W) * PANEL_W) if per_w > 0.0 else 0.0, PANEL_W)
    return found


def has_panels(scenario: Scenario) -> bool:
    """Whether panels are fitted."""
    return scenario.solar is not None and scenario.solar.rated_w > 0.0


def panels_like(scenario: Scenario) -> SolarArray:
    """The panels that are fitted; where there are none, the smallest array of the parts library."""
    if scenario.solar is not None and has_panels(scenario):
        return scenario.solar
    shelf = library_of(scenario).parts["solar-arrays"]
    arrays = [part for name in shelf if isinstance(part := shelf[name], SolarArray)]
    return min(arrays, key=lambda array: array.rated_w)


GUESSED = 0.8
"""Of the time that refills the bank after the design night, what most nights need: a place to begin the search at."""


def _least(design: Design, way: Way, most: float, step: float) -> MissingCharging:
    """The least amount, in whole steps, and the share that it makes."""
    shares: dict[int, float] = {}
    enough = needed_nights(len(design.season.times), design.target) / len(design.season.times) - 1e-12

    def does(steps: int) -> bool:
        changed = with_more_charging(design.scenario, way, steps * step)
        shares[steps] = _consecutive_share(design, changed, enough if steps < room else 0.0)
        return shares[steps] >= enough

    room, refilled_h = round(most / step), design.recharge_h.get(way, np.inf)
    guess = GUESSED * refilled_h * 60.0 / step if np.isfinite(refilled_h) else 0.5 * room
    found = least_that(does, room, round(guess)) if room > 0 else None
    if found is None:
        return MissingCharging(way, None, most, shares.get(room, 0.0))
    return MissingCharging(way, found * step, most, shares[found])


def least_that(does: Callable[[int], bool], most: int, guess: int) -> int | None:
    """The least whole number from 1 to `most` that does what no smaller one does; None where `most` does not.

    Parameters
    ----------
    does : callable
        Grows: once it is true it stays so. Looked at once a number, by doubled steps away from the guess, then halving.
    most : int
        At least 1.
    guess : int
        Where to begin.

    Returns
    -------
    int or None
    """
    low, high, stride = 0, most + 1, 1
    at = min(max(guess, 1), most)
    while high - low > 1:
        if does(at):
            high = at
            at = at - stride if low == 0 else (low + high) // 2
        else:
            low = at
            at = at + stride if high == most + 1 else (low + high) // 2
        at = min(max(at, low + 1), high - 1, most)
        stride *= 2
    return high if high <= most else None


def _consecutive_share(design: Design, scenario: Scenario, enough: float) -> float:
    """Share of consecutive nights covered by another plan, with nothing laid out that only other answers need.

    Where a season falls short of `enough`, its share is given even if it does not give back the charge that it began
    with: one that does begins with less.
    """
    run, bank = design.season, bank_parameters(scenario.bank)
    run = sr.season_run(scenario, run.weather, run.nights, beyond_waking=False)
    first = sr.lead_in_states(sr.part_of(run, 0, 1))

    def share(nights: sr.States) -> float:
        return float(covered_and_why(run, nights)[0].mean())

    def falls_short(nights: sr.States) -> bool:
        return share(nights) < enough

    nights, _ = sr.periodic(run, bank, first[0], design.start_soc, follow=False, give_up=falls_short)
    return share(nights)


def with_more_charging(scenario: Scenario, way: Way, amount: float) -> Scenario:
    """The scenario with so much more of a way of charging every day [min; for solar W]."""
    if way == "solar":
        array = panels_like(scenario)
        rated_w = (array.rated_w if has_panels(scenario) else 0.0) + amount
        area_m2 = array.area_m2 * rated_w / array.rated_w
        return scenario.model_copy(update={"solar": array.model_copy(update={"rated_w": rated_w, "area_m2": area_m2})})
    return with_more(scenario, round(amount), CHANGE[way])
