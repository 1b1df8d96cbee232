"""What charging is missing: how much more driving, idling, sun or shore a day makes consecutive nights last.

Every amount is found by simulation: the plan is changed, laid out and marched anew.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any, Literal

import numpy as np

from vansim.runs import season as sr
from vansim.runs.night_table import covered_and_why, needed_nights
from vansim.scenario.plan import standing_min, with_more
from vansim.scenario.schema import Scenario
from vansim.studies.design import Design
from vansim.van.bank import bank_parameters

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
        the van stands between waking and bedtime; or more panels.
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
        One for each way that the van is fitted for; empty where consecutive nights reach the target already.
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
    if scenario.solar is not None and scenario.solar.rated_w > 0.0:
        per_w = scenario.solar.area_m2 / scenario.solar.rated_w
        free = scenario.cabin.faces["roof"].area_m2 - scenario.solar.area_m2
        found["solar"] = (max(0.0, free // (per_w * PANEL_W) * PANEL_W) if per_w > 0.0 else 0.0, PANEL_W)
    return found


def _least(design: Design, way: Way, most: float, step: float) -> MissingCharging:
    """Bisect for the least amount, in whole steps."""

    def share(amount: float) -> float:
        return _consecutive_share(design, with_more_charging(design.scenario, way, amount))

    enough = needed_nights(len(design.season.times), design.target) / len(design.season.times) - 1e-12
    best = share(most) if most > 0.0 else 0.0
    if best < enough:
        return MissingCharging(way, None, most, best)
    low, high = 0, round(most / step)
    while high - low > 1:
        middle = (low + high) // 2
        found = share(middle * step)
        if found >= enough:
            high, best = middle, found
        else:
            low = middle
    return MissingCharging(way, high * step, most, best)


def _consecutive_share(design: Design, scenario: Scenario) -> float:
    """Share of consecutive nights covered by another plan, with nothing laid out that only other answers need."""
    run, bank = design.season, bank_parameters(scenario.bank)
    run = sr.season_run(scenario, run.weather, run.nights, beyond_waking=False)
    first = sr.lead_in_states(sr.part_of(run, 0, 1))
    nights, _ = sr.periodic(run, bank, first[0], design.start_soc, follow=False)
    return float(covered_and_why(run, nights)[0].mean())


def with_more_charging(scenario: Scenario, way: Way, amount: float) -> Scenario:
    """The scenario with so much more of a way of charging every day [min; for solar W]."""
    if way == "solar":
        assert scenario.solar is not None
        grown = (scenario.solar.rated_w + amount) / scenario.solar.rated_w
        solar = scenario.solar.model_copy(
            update={"rated_w": scenario.solar.rated_w + amount, "area_m2": scenario.solar.area_m2 * grown}
        )
        return scenario.model_copy(update={"solar": solar})
    return with_more(scenario, round(amount), CHANGE[way])
