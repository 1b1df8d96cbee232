"""How long to get it back: recharging after a night, marched from the van at waking.

Taper, heat derating of the alternator, panel temperature and the loads that stay on all count; nothing is got by
dividing energies.
"""

from __future__ import annotations

from typing import Any

import numpy as np
import numpy.typing as npt
import pandas as pd

from vansim.boundary.electric import WARMTH_MIN, alternator_column
from vansim.boundary.forcing import Forcing, between, build_forcing, rows_of
from vansim.march.records import VanParameters
from vansim.runs.run import march_forcing
from vansim.runs.season import SeasonRun
from vansim.scenario.plan import unroll_plan
from vansim.scenario.schema import DAY_MIN, Day, PlanSegment, Scenario
from vansim.van.bank import bank_parameters

GOAL_SOC = 0.98
"""Full enough: the last hundredths are absorption that nobody waits for (common practice)."""
LONGEST_H = 48
STAGES_H = (6, 24, LONGEST_H)
"""Followed in stages [h], as most are full again within a morning."""
STEP_S = 60.0
WARM_AFTER = 20
"""Time constants after which an alternator that was cool is as warm as one that never stopped: 120 K e^-20 < 1e-6 K."""
ROAD_KMH = 90.0
WAYS: dict[str, dict[str, Any]] = {
    "road": {"doing": "driving", "speed_kmh": ROAD_KMH},
    "idling": {"doing": "idling"},
    "shore": {"doing": "parked", "shore": True},
    "solar": {"doing": "parked"},
}
"""Ways to recharge: on the road, engine idling, plugged in, and parked in the open with the engine off."""


def possible_ways(scenario: Scenario) -> tuple[str, ...]:
    """Ways to recharge that a van is fitted for."""
    engine = ("road", "idling") if scenario.alternator is not None else ()
    shore = ("shore",) if scenario.shore is not None and scenario.charger is not None else ()
    sun = ("solar",) if scenario.solar is not None and scenario.solar.rated_w > 0.0 else ()
    return engine + shore + sun


def recharge_forcings(run: SeasonRun, first: int, last: int, ways: tuple[str, ...] | None = None) -> dict[str, Forcing]:
    """What each way of recharging meets, from the waking of one night until 48 h after that of another.

    Parameters
    ----------
    run : SeasonRun
        Nights.
    first, last : int
        Places of the nights.
    ways : tuple of str or None
        Some of `WAYS`; left out, all that the van is fitted for.

    Returns
    -------
    dict of str to Forcing
        The cooler is off and all other loads are on; on the road, idling and plugged in, the panels help.
    """
    start, end = run.times[first].wake_min, run.times[last].wake_min + LONGEST_H * 60
    asked = possible_ways(run.scenario) if ways is None else ways
    return {way: way_forcing(run, way, start, end) for way in asked}


def way_forcing(run: SeasonRun, way: str, start_min: int, end_min: int) -> Forcing:
    """What a way of recharging meets between two minutes on the clock of a run, begun where the plan is left."""
    # the plan's own days come first, unused: every piece is cut at their edges, as in a run that goes on by a way
    days = (*run.scenario.day, Day(name=way, segment=(_segment(way),)))
    scenario = run.scenario.model_copy(update={"day": days, "cycle": (way,)})
    forcing = build_forcing(scenario, run.weather, run.nights.first_hour, start_min, end_min).forcing
    return _from_the_plan(run, way, forcing, start_min)


def _from_the_plan(run: SeasonRun, way: str, forcing: Forcing, start_min: int) -> Forcing:
    """A way whose alternator is as warm where it begins as the plan until then has left it: cool, after a night."""
    alternator, segment = run.scenario.alternator, _segment(way)
    if alternator is None or segment.doing == "parked":
        return forcing
    warm_s = (start_min + WARM_AFTER * alternator.warm_up_min) * 60.0
    early = rows_of(forcing, 0, int(np.searchsorted(forcing.start_s, warm_s)))
    offered_a = forcing.alternator_a.copy()
    offered_a[: early.start_s.size] = alternator_column(
        alternator,
        unroll_plan(run.scenario, (start_min - WARMTH_MIN) // DAY_MIN, -(-start_min // DAY_MIN)),
        [segment] * early.start_s.size,
        starts=early.start_s / 60.0,
        ends=early.end_s / 60.0,
        outdoor_c=early.outdoor_c,
        outdoor_k_s=early.outdoor_k_s,
    )
    return forcing._replace(alternator_a=offered_a)


def recharge_curves(
    run: SeasonRun, night: int, state: Any, forcings: dict[str, Forcing], goal_soc: float = GOAL_SOC
) -> pd.DataFrame:
    """State of charge from waking on, a column for each way.

    Parameters
    ----------
    run : SeasonRun
        Nights.
    night : int
        Place of the night.
    state : record of STATE
        The van at its waking; left as it is.
    forcings : dict of str to Forcing
        From `recharge_forcings`.
    goal_soc : float
        A way is followed until this state of charge, at most 48 h.

    Returns
    -------
    DataFrame
        Indexed by hours from waking, a row a minute; not-a-number after the goal.
    """
    wake_min, van = run.times[night].wake_min, run.van(bank_parameters(run.scenario.bank))
    wake_s, end_s = wake_min * 60.0, (wake_min + LONGEST_H * 60) * 60.0
    begun = {way: _from_the_plan(run, way, between(all_, wake_s, end_s)[0], wake_min) for way, all_ in forcings.items()}
    curves = {way: _curve(forcing, van, wake_s, state.copy(), goal_soc) for way, forcing in begun.items()}
    count = max((curve.size for curve in curves.values()), default=1)
    padded = {way: np.pad(curve, (0, count - curve.size), constant_values=np.nan) for way, curve in curves.items()}
    return pd.DataFrame(padded, index=pd.Index(np.arange(count) * STEP_S / 3600.0, name="hours"))


def _curve(forcing: Forcing, van: VanParameters, wake_s: float, state: Any, goal_soc: float) -> npt.NDArray[np.float64]:
    """State of charge minute by minute until the goal, at most 48 h; `state` is changed."""
    curve = [float(state["soc"])]
    for until_h in STAGES_H:
        if curve[-1] >= goal_soc:
            break
        begin_s = wake_s + (len(curve) - 1) * STEP_S
        part, _ = between(forcing, begin_s, wake_s + until_h * 3600.0)
        moments = np.arange(begin_s + STEP_S, part.end_s[-1] + 1e-6, STEP_S)
        stage = march_forcing(part, van, state, moments=moments).samples["soc"]
        reached = np.flatnonzero(stage >= goal_soc)
        curve += stage[: reached[0] + 1 if reached.size else stage.size].tolist()
    return np.array(curve[: LONGEST_H * 60 + 1])


def recharge_hours(
    run: SeasonRun, night: int, state: Any, forcings: dict[str, Forcing] | None = None, goal_soc: float = GOAL_SOC
) -> dict[str, float]:
    """Hours from waking until the goal by each way that the van is fitted for; infinite where 48 h do not do it."""
    forcings = recharge_forcings(run, night, night) if forcings is None else forcings
    curves = recharge_curves(run, night, state, forcings, goal_soc)
    return {str(way): hours_until(curves[way], goal_soc) for way in curves}


def hours_until(curve: pd.Series[float], goal_soc: float) -> float:
    """When a curve first reaches a state of charge [h]; infinite where it does not."""
    reached = np.flatnonzero(curve.to_numpy() >= goal_soc)
    return float(curve.index[reached[0]]) if reached.size else float("inf")


def _segment(way: str) -> PlanSegment:
    """What a way does, all day."""
    return PlanSegment(start="00:00", end="24:00", people="awake", dogs="awake", **WAYS[way])
