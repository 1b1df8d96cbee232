"""Cool-down: how long from a hot soak to the night's limit."""

from __future__ import annotations

import numpy as np

from vansim.boundary.forcing import COOLING_OFF, build_forcing, without_charging
from vansim.runs import season as sr
from vansim.runs.electricity import endless_bank, led_in
from vansim.runs.run import LEAD_IN_SOC, follow, rested_state
from vansim.scenario.plan import extended_scenario
from vansim.scenario.schema import DAY_MIN

SOAK_C = 55.0
"""Cabin and contents of a van that stood shut in the sun (common practice)."""
SOAK_FROM_H = 12
FOLLOWED_H = 6
STEP_S = 10.0


def cool_down_min(run: sr.SeasonRun, soak_c: float = SOAK_C) -> float:
    """Time from a hot soak to the night's limit.

    Parameters
    ----------
    run : SeasonRun
        Nights; the hottest of their days is taken.
    soak_c : float
        Cabin air and contents at the start [°C]; humidity is the outdoor air's.

    Returns
    -------
    float
        [min], from when the plan first cools after noon, with the segment then in force extended and the bank
        endless; infinite where 6 h do not do it or the plan cools at no time.
    """
    forcing = run.forcing.plan
    start_s = (hottest_day(run) * DAY_MIN + SOAK_FROM_H * 60) * 60.0
    first = np.flatnonzero((forcing.start_s >= start_s - 1e-6) & (forcing.cooling != COOLING_OFF))
    if not first.size or run.scenario.cooler is None:
        return float("inf")
    at = int(first[0])
    start_min = round(forcing.start_s[at] / 60.0)
    extended = extended_scenario(run.scenario, run.laid.segments[at])
    laid = build_forcing(extended, run.weather, run.nights.first_hour, start_min, start_min + FOLLOWED_H * 60)
    # a mode put in place of the plan's holds here too
    hours = without_charging(laid.forcing)._replace(cooling=np.full(laid.forcing.start_s.size, forcing.cooling[at]))
    moments = np.arange(start_min * 60.0, (start_min + FOLLOWED_H * 60) * 60.0, STEP_S)
    endless = endless_bank()
    state = sr.with_charge(rested_state(hours, soak_c), endless, LEAD_IN_SOC)
    fine = follow(hours, led_in(run.van(endless)), state, moments)
    cool = np.flatnonzero(fine["cabin_c"].to_numpy() <= run.constants.limit_c)
    return float((moments[cool[0]] - moments[0]) / 60.0) if cool.size else float("inf")


def hottest_day(run: sr.SeasonRun) -> int:
    """Day of the season, 0 being the first, with the highest outdoor temperature at the start of an interval."""
    forcing = run.forcing.plan
    days = np.floor(forcing.start_s / (DAY_MIN * 60.0)).astype(int)
    inside = (days >= 0) & (days < len(run.times))
    return int(days[inside][np.argmax(forcing.outdoor_c[inside])])
