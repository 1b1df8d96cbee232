"""How long to get it back: recharging after a night, simulated from the state at waking.

Taper, heat derating of the alternator, panel temperature and the loads that stay on all count; nothing is got by
dividing energies.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

import numpy as np
import pandas as pd

from vansim.boundary.forcing import build_forcing, night_minutes
from vansim.runs.result import Result
from vansim.runs.run import Run, cut_short, follow, march_run
from vansim.scenario.schema import DAY_MIN, Day, PlanSegment, Scenario

GOAL_SOC = 0.98
"""Full enough: the last hundredths are absorption that nobody waits for (common practice)."""
LONGEST_H = 48
STEP_S = 60.0
ROAD_KMH = 90.0
WAYS: dict[str, dict[str, Any]] = {
    "road": {"doing": "driving", "speed_kmh": ROAD_KMH},
    "idling": {"doing": "idling"},
    "sun": {"doing": "parked"},
}


@dataclass(frozen=True)
class Recovery:
    """Recharging after a night, three ways.

    Attributes
    ----------
    table : DataFrame
        State of charge against hours from waking; a column for each way that the van has.
    hours : dict of str to float or None
        Hours until `goal_soc`; None where it is not reached within two days.
    start_soc, goal_soc : float
        State of charge at waking, and what counts as full.
    """

    table: pd.DataFrame
    hours: dict[str, float | None]
    start_soc: float
    goal_soc: float


def recovery(
    result: Result, night: int = -1, goal_soc: float = GOAL_SOC, ways: tuple[str, ...] | None = None
) -> Recovery:
    """Recharge from the state at waking of a night.

    Parameters
    ----------
    result : Result
        A run with that night in it.
    night : int
        Row of `result.nights`; the last by default.
    goal_soc : float
        State of charge to reach.
    ways : tuple of str or None
        Some of ``"road"`` (90 km/h), ``"idling"``, ``"sun"`` (parked in the open, engine off); left out, all that the
        van can.

    Returns
    -------
    Recovery
        With the cooler off and all other loads on. On the road and idling the panels help.

    Raises
    ------
    ValueError
        The run holds no whole night.
    """
    if not len(result.nights):
        raise ValueError("no whole night in this run")
    run = result.run
    first = result.index[0].normalize() - pd.Timedelta(days=run.start_min // DAY_MIN)
    _, wake = night_minutes(run.scenario, (result.nights.index[night] - first).days)
    state = march_run(cut_short(run, wake), result.marched.start).end
    return recover_from(run, state, wake, goal_soc, ways)


def recover_from(
    run: Run, state: Any, wake_min: int, goal_soc: float = GOAL_SOC, ways: tuple[str, ...] | None = None
) -> Recovery:
    """Recharge from a given state.

    Parameters
    ----------
    run : Run
        Prepared; gives van, weather and clock.
    state : record
        At waking.
    wake_min : int
        Waking on the run's clock [min].
    goal_soc, ways
        As for `recovery`.

    Returns
    -------
    Recovery
        As for `recovery`.
    """
    end = wake_min + LONGEST_H * 60
    moments = np.arange(wake_min * 60.0, end * 60.0 + 1.0, STEP_S)
    columns, hours = {}, {}
    for way in ways if ways is not None else possible_ways(run.scenario):
        scenario = _recharging(run.scenario, way)
        laid = build_forcing(scenario, run.weather, run.first_hour, wake_min, end)
        soc = follow(laid.forcing, run.van, state.copy(), moments[1:])["soc"]
        columns[way] = np.concatenate([[state.soc], soc])
        reached = np.flatnonzero(columns[way] >= goal_soc)
        hours[way] = float(reached[0] * STEP_S / 3600.0) if reached.size else None
    index = pd.Index((moments - moments[0]) / 3600.0, name="hours")
    return Recovery(pd.DataFrame(columns, index=index), hours, float(state.soc), goal_soc)


def possible_ways(scenario: Scenario) -> tuple[str, ...]:
    """Ways to recharge that a van is fitted for."""
    engine = ("road", "idling") if scenario.alternator is not None else ()
    sun = ("sun",) if scenario.solar is not None and scenario.solar.rated_w > 0.0 else ()
    return engine + sun


def _recharging(scenario: Scenario, way: str) -> Scenario:
    segment = PlanSegment(start="00:00", end="24:00", people="awake", dogs="awake", **WAYS[way])
    return scenario.model_copy(update={"day": (Day(name=way, segment=(segment,)),), "cycle": ()})
