"""Nights marched one after another, and what is written down of each; compiled whole, so that threads need not wait.

A study marches thousands of nights of a tenth of a millisecond; what a night costs in Python would be most of it.
"""

from __future__ import annotations

import numpy as np

from vansim.boundary.forcing import Forcing
from vansim.jit import compiled, compiled_maker
from vansim.march.kernel import march
from vansim.march.records import EVENT, NIGHT, SAMPLE, TOTALS, Records, VanParameters


@compiled_maker
def march_nights(plan: Forcing, after: Forcing, rows: Records, van: VanParameters, states: Records) -> Records:
    """March each night from its own state, and on until the reserve.

    Parameters
    ----------
    plan : Forcing
        In which the nights lie.
    after : Forcing
        What holds after waking.
    rows : (n_nights,) records of `NIGHT_ROWS`
        Where each night lies in them.
    van : VanParameters
        Cabin, cooler and bank.
    states : (n_nights,) records of `STATE`
        At bedtime; changed in place to those at waking.

    Returns
    -------
    (n_nights,) records of `NIGHT`
        `runtime_s` of a night that lasts and is not followed is its length.
    """
    nights = np.zeros(rows.size, NIGHT)
    at_bedtime, beyond = states.copy(), states.copy()
    for i in range(rows.size):
        row, night, bedtime, waking = rows[i], nights[i], at_bedtime[i], states[i]
        totals = np.zeros(row.end - row.first, TOTALS)
        _march_on(plan, row.first, van, waking, totals, stop_at_reserve=False)
        span_s = plan.end_s[row.first : row.end] - plan.start_s[row.first : row.end]
        write_night(span_s, totals, bedtime, waking, night)
        moment = plan.end_s[row.end - 1]
        if night.emptied > 0.0:
            moment = moment_of_reserve(plan, row.first, totals, bedtime)
            if moment < 0.0:
                again = np.zeros(row.end - row.first, TOTALS)
                moment = _march_on(plan, row.first, van, bedtime, again, stop_at_reserve=True)
        elif row.after_end > row.after_first:
            beyond[i] = waking
            rest = np.zeros(row.after_end - row.after_first, TOTALS)
            moment = _march_on(after, row.after_first, van, beyond[i], rest, stop_at_reserve=True)
        night.runtime_s = moment - row.bed_s
    return nights


@compiled_maker
def _march_on(
    forcing: Forcing, first: int, van: VanParameters, state: Records, totals: Records, stop_at_reserve: bool
) -> float:
    """March as many intervals as there are totals, without samples and events; returns when it ended [s]."""
    end_s, _ = march(
        forcing=forcing,
        first=first,
        end=first + totals.size,
        van=van,
        state=state,
        totals=totals,
        moments=np.empty(0),
        samples=np.empty(0, SAMPLE),
        events=np.empty(0, EVENT),
        stop_at_reserve=stop_at_reserve,
    )
    return end_s


@compiled
def write_night(span_s: np.ndarray, totals: Records, bedtime: Records, waking: Records, night: Records) -> None:
    """Everything of a night but its runtime: lengths [s] and totals of its intervals, and the states at both ends."""
    night.bedtime_soc = night.lowest_soc = bedtime.soc
    night.waking_soc, night.cabin_max_c = waking.soc, -np.inf
    disconnected_s = on_over = 0.0
    for i in range(totals.size):
        total = totals[i]
        night.on_s += total.on_s
        night.starts += total.starts
        night.cooler_j += total.cooler_j
        night.loads_j += total.loads_j
        night.over_s += total.over_s
        night.bank_heat_j += total.bank_heat_j
        night.bank_lost_j += total.bank_lost_j
        # the reserve is often reached within an interval: its end is not the lowest point of a bank that charges again
        night.lowest_soc = min(night.lowest_soc, total.end_soc)
        night.cabin_max_c = max(night.cabin_max_c, total.cabin_max_c)
        disconnected_s += total.disconnected_s
        if total.disconnected_s < 1e-12 * span_s[i]:
            night.cooled_over_s += total.over_s
            on_over += total.on_s / span_s[i] * total.over_s
    night.duty_over = on_over / max(night.cooled_over_s, 1e-9)
    night.emptied = 1.0 if disconnected_s > 0.0 or waking.disconnected > 0.0 else 0.0


@compiled
def moment_of_reserve(plan: Forcing, first: int, totals: Records, bedtime: Records) -> float:
    """When the reserve was first reached [s], by the totals; -1 where the cooler was connected again since."""
    if bedtime.disconnected > 0.0:
        return plan.start_s[first]
    moment = plan.end_s[first + totals.size - 1]
    found = False
    for i in range(totals.size):
        disconnected_s, span = totals[i].disconnected_s, plan.end_s[first + i] - plan.start_s[first + i]
        if found and disconnected_s < span * (1.0 - 1e-12):
            return -1.0
        if not found and disconnected_s > 0.0:
            moment, found = plan.end_s[first + i] - disconnected_s, True
    return moment
