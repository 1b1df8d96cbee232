"""Nights marched one after another, and what is written down of each; compiled whole, so that threads need not wait.

A study marches thousands of nights of a tenth of a millisecond; what a night costs in Python would be most of it.
"""

from __future__ import annotations

from typing import NamedTuple

import numpy as np

from vansim.boundary.forcing import Forcing
from vansim.jit import compiled, compiled_maker
from vansim.march.kernel import march
from vansim.march.records import EVENT, NIGHT, SAMPLE, TOTALS, Records, VanParameters


class NightForcing(NamedTuple):
    """What nights meet: the plan; the same with nothing charging, unplugged; and what holds after waking."""

    plan: Forcing
    no_charging: Forcing
    after: Forcing


@compiled_maker
def march_lead_ins(no_charging: Forcing, rows: Records, van: VanParameters, states: Records) -> None:
    """March the days that lead to each account; `states` are those where they begin, and are changed in place."""
    for i in range(rows.size):
        row = rows[i]
        led = np.zeros(row.account - row.lead, TOTALS)
        _march_on(no_charging, row.lead, van, states[i], totals=led, stop_at_reserve=False)


@compiled_maker
def march_accounts(
    forcing: NightForcing, rows: Records, van: VanParameters, states: Records, consecutive: bool
) -> Records:
    """March the account of each night, and its runtime.

    Parameters
    ----------
    forcing : NightForcing
        What the nights meet.
    rows : (n_nights,) records of `NIGHT_ROWS`
        Where each night lies in it.
    van : VanParameters
        Cabin, cooler and bank.
    states : (n_nights,) records of `STATE`
        Changed in place to those at waking. Independent nights: where each account begins. Consecutive nights: only the
        first is read, where the day before the first account begins.
    consecutive : bool
        Each night goes on from the one before.

    Returns
    -------
    (n_nights,) records of `NIGHT`
        `runtime_s` is not-a-number where a night is not to be followed.
    """
    nights = np.zeros(rows.size, NIGHT)
    onward = states.copy()
    for i in range(rows.size):
        row, night = rows[i], nights[i]
        if consecutive:
            if i > 0:
                states[i] = states[i - 1]
            day = np.zeros(row.account - row.day, TOTALS)
            _march_on(forcing.plan, row.day, van, states[i], totals=day, stop_at_reserve=False)
        if states[i].disconnected == 0.0:
            states[i].emptied = 0.0
        night.start_soc = night.lowest_soc = states[i].soc
        evening = np.zeros(row.bed - row.account, TOTALS)
        _march_on(forcing.plan, row.account, van, states[i], totals=evening, stop_at_reserve=False)
        write_evening(evening, night)
        night.bedtime_soc, night.bedtime_cabin_c = states[i].soc, states[i].cabin_c
        onward[i] = states[i]
        asleep = np.zeros(row.wake - row.bed, TOTALS)
        _march_on(forcing.plan, row.bed, van, states[i], totals=asleep, stop_at_reserve=False)
        write_night(forcing.plan, row.bed, asleep, night)
        night.waking_soc = states[i].soc
        night.emptied, night.emptied_s = states[i].emptied, states[i].emptied_s
        night.emptied_cabin_c, night.emptied_by = states[i].emptied_cabin_c, states[i].emptied_by
        night.runtime_s = np.nan
        if row.after_end > row.after:
            night.runtime_s = _reserve_s(forcing, row, van, onward[i]) - forcing.plan.start_s[row.bed]
    return nights


@compiled_maker
def _march_on(
    forcing: Forcing, first: int, van: VanParameters, state: Records, totals: Records, stop_at_reserve: bool
) -> float:
    """March as many intervals as there are totals, without samples or events; returns when it ended [s]."""
    if totals.size == 0:
        return float(forcing.start_s[first])
    end_s, _ = march(
        forcing=forcing,
        first=first,
        end=first + totals.size,
        van=van,
        state=state,
        totals=totals,
        moments=np.empty(0),
        samples=np.zeros(0, SAMPLE),
        events=np.zeros(0, EVENT),
        stop_at_reserve=stop_at_reserve,
    )
    return end_s


@compiled_maker
def _reserve_s(forcing: NightForcing, row: Records, van: VanParameters, state: Records) -> float:
    """When the reserve is reached from bedtime on, cooling left on and nothing charging [s]; else the end followed."""
    if state.disconnected > 0.0:
        return float(forcing.plan.start_s[row.bed])
    asleep = np.zeros(row.wake - row.bed, TOTALS)
    moment = _march_on(forcing.no_charging, row.bed, van, state, totals=asleep, stop_at_reserve=True)
    if state.disconnected > 0.0:
        return moment
    later = np.zeros(row.after_end - row.after, TOTALS)
    return _march_on(forcing.after, row.after, van, state, totals=later, stop_at_reserve=True)


@compiled
def write_evening(totals: Records, night: Records) -> None:
    """What an account holds before bedtime."""
    for i in range(totals.size):
        total = totals[i]
        night.evening_cooler_j += total.cooler_j
        night.evening_loads_j += total.loads_j
        night.charged_j += total.solar_j + total.alternator_j + total.shore_j
        night.lowest_soc = min(night.lowest_soc, total.end_soc)


@compiled
def write_night(plan: Forcing, first: int, totals: Records, night: Records) -> None:
    """What an account holds from bedtime to waking; `first` is the interval of the plan at bedtime."""
    night.cabin_max_c = -np.inf
    on_over = 0.0
    for i in range(totals.size):
        total, span = totals[i], plan.end_s[first + i] - plan.start_s[first + i]
        night.on_s += total.on_s
        night.starts += total.starts
        night.cooler_j += total.cooler_j
        night.loads_j += total.loads_j
        night.charged_j += total.solar_j + total.alternator_j + total.shore_j
        night.over_s += total.over_s
        night.bank_heat_j += total.bank_heat_j
        night.bank_lost_j += total.bank_lost_j
        # the reserve is often reached within an interval: its end is not the lowest point of a bank that charges again
        night.lowest_soc = min(night.lowest_soc, total.end_soc)
        night.cabin_max_c = max(night.cabin_max_c, total.cabin_max_c)
        if total.disconnected_s < 1e-12 * span:
            night.cooled_over_s += total.over_s
            on_over += total.on_s / span * total.over_s
    night.duty_over = on_over / max(night.cooled_over_s, 1e-9)
