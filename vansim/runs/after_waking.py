"""What holds after each waking, were the plan to stand still: what a runtime is followed in."""

from __future__ import annotations

from typing import NamedTuple

import numpy as np
import numpy.typing as npt

from vansim.boundary.forcing import Forcing, build_forcing, without_charging
from vansim.climate import Weather
from vansim.climate.seasons import NightRange
from vansim.runs.night_table import FOLLOWED_H
from vansim.scenario.night_times import NightTimes
from vansim.scenario.plan import extended_scenario
from vansim.scenario.schema import PlanSegment, Scenario


class AfterWaking(NamedTuple):
    """What holds after each waking: intervals from `first` to before `end` of `forcing`."""

    forcing: Forcing
    first: npt.NDArray[np.int64]
    end: npt.NDArray[np.int64]


def after_waking(
    scenario: Scenario, weather: Weather, nights: NightRange, times: list[NightTimes], segments: list[PlanSegment]
) -> AfterWaking:
    """The segment before each waking extended, uncharged, until 48 h after bedtime; one kind after another."""
    last = round(times[-1].bed_min + FOLLOWED_H * 60)
    first, end = np.zeros((2, len(times)), dtype=np.int64)
    follows = np.array([(t.wake_min * 60.0, t.bed_min * 60.0 + FOLLOWED_H * 3600.0) for t in times])
    extended: list[Forcing] = []
    for kind in dict.fromkeys(segments):
        there = extended_scenario(scenario, kind)
        forcing = build_forcing(there, weather, nights.first_hour, times[0].wake_min, last).forcing
        offset = sum(f.start_s.size for f in extended)
        at = np.array([segment == kind for segment in segments])
        first[at] = offset + np.searchsorted(forcing.start_s, follows[at, 0] - 1e-6)
        end[at] = offset + np.searchsorted(forcing.start_s, follows[at, 1] - 1e-6)
        extended.append(without_charging(forcing))
    return AfterWaking(Forcing(*(np.concatenate(columns) for columns in zip(*extended, strict=True))), first, end)
