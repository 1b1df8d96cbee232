"""How long to get it back: recharging after a night, marched from the van at waking.

Taper, heat derating of the alternator, panel temperature and the loads that stay on all count; nothing is got by
dividing energies.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

import numpy as np
import pandas as pd

from vansim.errors import ScenarioError
from vansim.runs.recharge import (
    GOAL_SOC,
    WAYS,
    hours_until,
    possible_ways,
    recharge_curves,
    recharge_forcings,
    way_forcing,
)
from vansim.runs.result import Result
from vansim.runs.season import SeasonRun
from vansim.scenario.schema import AT_BEDTIME
from vansim.van.bank import bank_parameters, energy_at

Outcome = Literal["reached", "not_within_48_h", "nothing_given", "loads_exceed_charging"]
YEAR_MIN = 365 * 24 * 60


@dataclass(frozen=True)
class Recharge:
    """Recharging after a night, a way each.

    Attributes
    ----------
    table : DataFrame
        State of charge, indexed by hours from waking, a row a minute; a column for each way; not-a-number after the
        goal.
    hours : dict of str to float or None
        Hours until the goal by each way; None where 48 h do not do it.
    outcome : dict of str to str
        ``"reached"``; ``"not_within_48_h"``, with nothing known of later; ``"nothing_given"``, never, as that way gives
        nothing in a whole year; ``"loads_exceed_charging"``, never, as in a whole year the other loads take more than
        it gives and no stretch of good days carries the bank to the goal.
    start_soc, goal_soc : float
        State of charge at waking, and what counts as full.
    night, nights : int
        Which night of the run, from 0, and how many it has.
    date, waking : Timestamp
        Date of its bedtime, and its waking.
    label : str
        What the plan calls such a night.
    full_at_bedtime : bool
        Whether accounts begin at bedtime as asked, so that the evening is not counted.
    panels : bool
        Whether panels are fitted, which help in every way.
    """

    table: pd.DataFrame
    hours: dict[str, float | None]
    outcome: dict[str, Outcome]
    start_soc: float
    goal_soc: float
    night: int
    nights: int
    date: pd.Timestamp
    waking: pd.Timestamp
    label: str
    full_at_bedtime: bool
    panels: bool

    @property
    def never(self) -> tuple[str, ...]:
        """Ways that can never do it, as was shown over a whole year."""
        return tuple(way for way, what in self.outcome.items() if what in ("nothing_given", "loads_exceed_charging"))


def recharge(
    result: Result, night: int = -1, goal_soc: float = GOAL_SOC, ways: tuple[str, ...] | None = None
) -> Recharge:
    """Recharge from the van at the waking of a night.

    Parameters
    ----------
    result : Result
        A run with that night in it.
    night : int
        Row of `result.nights`, from 0; negative from the end, the last by default.
    goal_soc : float
        State of charge to reach, above 0 up to 1.
    ways : tuple of str or None
        Some of ``"road"`` (90 km/h), ``"idling"``, ``"shore"``, ``"solar"`` (parked in the open, engine off); left out,
        all that the van is fitted for.

    Returns
    -------
    Recharge
        With the cooler off and all other loads on. On the road, idling and plugged in, the panels help.

    Raises
    ------
    ScenarioError
        No such night in the run; a way or a goal that there is not.
    """
    faults = []
    if not 0.0 < goal_soc <= 1.0:
        faults.append(f"goal_soc: {goal_soc:g} is not a state of charge to reach; allowed: above 0, up to 1")
    unknown = [way for way in ways or () if way not in WAYS]
    faults += [f"ways: {way!r} is not a way to recharge; allowed: {', '.join(WAYS)}" for way in unknown]
    if faults:
        raise ScenarioError(faults)
    found, laid = result.night(night), result.laid_nights
    assert laid is not None  # a run with a night has them laid out
    asked = possible_ways(result.run.scenario) if ways is None else ways
    forcings = recharge_forcings(laid, found.place, found.place, asked)
    curves = recharge_curves(laid, found.place, found.waking_state, forcings, goal_soc)
    hours = {way: hours_until(curves[way], goal_soc) for way in asked}
    start_soc = float(found.waking_state.soc)
    return Recharge(
        table=curves,
        hours={way: h if np.isfinite(h) else None for way, h in hours.items()},
        outcome={
            way: "reached" if np.isfinite(h) else _why_not(laid, found.times.wake_min, way, start_soc, goal_soc)
            for way, h in hours.items()
        },
        start_soc=start_soc,
        goal_soc=goal_soc,
        night=found.place,
        nights=len(result.nights),
        date=found.date,
        waking=found.waking,
        label=found.label,
        full_at_bedtime=result.run.scenario.run.start == AT_BEDTIME,
        panels="solar" in possible_ways(result.run.scenario),
    )


def _why_not(laid: SeasonRun, wake_min: int, way: str, start_soc: float, goal_soc: float) -> Outcome:
    """What a year from waking on, which repeats, says of a way that 48 h were not enough for.

    A bound, without any loss: the bank holds no more than it had and what was offered beyond the loads since, or, had
    it been empty meanwhile, than what was offered beyond the loads since then.
    """
    bank = bank_parameters(laid.scenario.bank)
    f = way_forcing(laid, way, wake_min, wake_min + YEAR_MIN)
    span = f.end_s - f.start_s
    offered_w = f.solar_w + f.shore_w + f.alternator_a * bank.absorption_v
    if not offered_w.any():
        return "nothing_given"
    gained_j = np.concatenate([[0.0], np.cumsum(np.tile((offered_w - f.loads_w) * span, 2))])
    rise_j = float((gained_j - np.minimum.accumulate(gained_j)).max())
    goal_j, start_j = (energy_at(bank, soc) * bank.capacity_as for soc in (goal_soc, start_soc))
    short = start_j + float(gained_j.max()) < goal_j and rise_j < goal_j
    return "loads_exceed_charging" if gained_j[-1] <= 0.0 and short else "not_within_48_h"
