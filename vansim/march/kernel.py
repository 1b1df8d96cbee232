"""The march: cabin, cooler and bank answer each other, moment by moment.

Between two switchings the cabin is linear and solved in closed form (`network`), so the march goes from event to event:
a thermostat crossing, the end of a timer, a limit of bank or feed, an edge of the forcing, and at the latest after
five minutes, when the cooler's map and the bank are read again. Everything is compiled, and lets go of the lock.

    records     what is carried and what is written down, by name
    controls    who runs: compressor, roof fan
    flows       heat and power at this moment
    power       busbar, bank and feed over a step, and the limits that stop the cooler
    step        what flows until the next event, and what cabin and bank make of it
    nights      many nights, each a march

How many steps there can be
---------------------------
A step ends for one of nine reasons, and physics bounds each. Where the compressor starts `starts` times and charging
lifts the state of charge by `rise`, all in all, there are at most

    edges        one for each interval of the forcing
    readings     span_s / READ_EVERY_S
    ramp cuts    starts + 1: a step ends two time constants after a start
    timers       2 (starts + 1): the minimum on-time, and the wait for the next start
    switchings   3 (starts + 1): start, stop, return of boost
    reserve      rise / reconnect_soc + 1: before the cooler is connected again, the charge must rise by so much
    cuts         edges + readings + band ends + 1: after the cooler's own low-voltage cut a step goes to one of these
                 before the voltage is looked at again
    band ends    BAND_ENDS (edges + readings + ramp cuts + timers + 2 (starts + 1)): so many in a row at the ends of
                 the vehicle's proportional band, none without it
    touches      all of the above but starts and stops: a level reached while a timer holds the compressor is not
                 waited for again, and the next step runs to one of these

and the cooler's timer allows span_s / between_starts_s + 1 starts. In an hour with the vehicle's cooling, charging at
one capacity an hour and 60 starts, the most that a scenario may ask for, that makes 3 400; a common hour has 30.
Whoever reaches `MOST_STEPS_PER_HOUR` goes in a circle, and is stopped.
"""

from __future__ import annotations

from typing import NamedTuple

import numpy as np

from vansim.boundary.forcing import Forcing
from vansim.jit import compiled, compiled_apart
from vansim.march.controls import decide
from vansim.march.flows import Moment, at_band_end
from vansim.march.network import deviation
from vansim.march.power import switch_inverter
from vansim.march.records import (
    AT_COOLER_VOLTAGE,
    DISCONNECTED,
    NO_LIMIT,
    RECONNECTED,
    STARTED,
    STOPPED,
    ForcingInterval,
    Records,
    VanParameters,
    interval_of,
)
from vansim.march.step import Step, step_to_event
from vansim.van.cooler_balance import BOOST

READ_EVERY_S = 300.0
"""The cooler's map and the bank are read again after five minutes at the latest [s]."""
BAND_ENDS = 4
"""So many steps in a row may end at an end of the vehicle's proportional band. The air turns once in a step, and the
band has two ends; air that crosses them more often while nothing else happens stands still there, and the next step
goes on to the next reading without them."""
MOST_STEPS_PER_HOUR = 10_000
"""Steps that an interval may take, per hour begun: three times what physics allows in the worst hour (above)."""
PAUSE_STEPS = 500_000
"""`march_on` returns at the end of the interval in which it has made so many steps: a fifth of a second, so that an
interruption is answered at once; a year of ordinary days is one call."""
OUT_OF_STEPS = f"the march took more than {MOST_STEPS_PER_HOUR:,} steps in an hour; internal error, please report"

HOTTEST_C = 90.0
"""Warmest cabin that the model describes [°C]: beyond it moist air, people, batteries and cooler are none of ours."""
TOO_HOT = (
    f"the cabin passes {HOTTEST_C:.0f} °C (194 °F): outside what this model describes; look at what loads draw, "
    "at what heat they leave, at air and glass"
)


class Before(NamedTuple):
    """State at the start of a step: cabin and contents [°C], humidity ratio [kg/kg], state of charge."""

    cabin_c: float
    contents_c: float
    ratio: float
    soc: float


class Progress(NamedTuple):
    """How far a march came.

    `march_on` gives it as a plain tuple: a named one is made by Python, and numba does not look whether that was
    interrupted, as it is where somebody stops a march.

    `end_s`: when it ended [s]. `reached`: the interval before which it ended; the one in which it ended, where it ended
    at the reserve or out of steps. `n_events`, `n_samples`, `n_steps`: events that happened, also those that no longer
    fitted, moments written down, and steps. `at_reserve`, `lost` (too many
    steps, or too hot): why it ended before its end.
    """

    end_s: float
    reached: int
    n_events: int
    n_samples: int
    n_steps: int
    at_reserve: bool
    lost: bool


@compiled
def march(
    forcing: Forcing,
    first: int,
    end: int,
    van: VanParameters,
    state: Records,
    totals: Records,
    moments: np.ndarray,
    samples: Records,
    events: Records,
    stop_at_reserve: bool,
) -> tuple[float, int]:
    """`march_on` to the end, for compiled callers.

    Parameters
    ----------
    forcing, first, end, van, state, totals, moments, samples, events, stop_at_reserve
        As for `march_on`.

    Returns
    -------
    end_s : float
        When it ended [s].
    n_events : int
        Events that happened, also those that no longer fitted.

    Raises
    ------
    ValueError
        The cabin passes `HOTTEST_C`.
    RuntimeError
        More steps than physics allows.
    """
    reached, n_events, n_samples = first, 0, 0
    while True:
        made = Progress(
            *march_on(
                forcing=forcing,
                first=reached,
                end=end,
                van=van,
                state=state,
                totals=totals[reached - first :],
                moments=moments[n_samples:],
                samples=samples[n_samples:],
                events=events[min(n_events, events.size) :],
                stop_at_reserve=stop_at_reserve,
            )
        )
        if made.lost:
            if not state.cabin_c < HOTTEST_C:
                raise ValueError(TOO_HOT)
            raise RuntimeError(OUT_OF_STEPS)
        reached, n_events, n_samples = made.reached, n_events + made.n_events, n_samples + made.n_samples
        if made.at_reserve or reached == end:
            return made.end_s, n_events


@compiled_apart
def march_on(
    forcing: Forcing,
    first: int,
    end: int,
    van: VanParameters,
    state: Records,
    totals: Records,
    moments: np.ndarray,
    samples: Records,
    events: Records,
    stop_at_reserve: bool,
) -> tuple[float, int, int, int, int, bool, bool]:
    """Run over intervals of the forcing, as far as `PAUSE_STEPS` reach.

    Parameters
    ----------
    forcing : Forcing
        Arrays over intervals.
    first, end : int
        The first interval, and the one before which to end.
    van : VanParameters
        Cabin, cooler and bank.
    state : record of `STATE`
        Changed in place.
    totals : (end - first,) records of `TOTALS`
        Filled with what flowed; given as zeros.
    moments : (n_samples,) array
        Increasing times at which the fine picture is wanted [s]; may be empty.
    samples : (n_samples,) records of `SAMPLE`
        Filled with it.
    events : (n_events,) records of `EVENT`
        Filled as far as they reach; may be empty.
    stop_at_reserve : bool
        End when the bank's reserve is reached.

    Returns
    -------
    tuple
        What `Progress` names. To go on, call again with `reached` for `first`, and with what is left of the arrays.
    """
    s = state
    n_events, at_sample, n_steps = 0, 0, 0
    while at_sample < moments.size and moments[at_sample] < forcing.start_s[first]:
        at_sample += 1
    for i in range(first, end):
        f = interval_of(forcing, i)
        t, total, end_s = forcing.start_s[i], totals[i - first], forcing.end_s[i]
        total.cabin_max_c = s.cabin_c
        band_ends, most = 0, n_steps + MOST_STEPS_PER_HOUR * (1 + int((end_s - t) / 3600.0))
        while t < end_s - 1e-9:
            outdoor, was_on = f.outdoor_c + f.outdoor_k_s * (t - f.start_s), s.on
            mode, n_events = _switch(f, van, s, outdoor_c=outdoor, t=t, events=events, n_events=n_events)
            if was_on != s.on:
                total.starts += s.on
                band_ends = 0
            now = Moment(
                interval=f,
                van=van,
                mode=mode,
                outdoor_c=outdoor,
                limit_s=min(end_s - t, READ_EVERY_S),
                heed_band=band_ends < BAND_ENDS,
            )
            before = Before(cabin_c=s.cabin_c, contents_c=s.contents_c, ratio=s.ratio, soc=s.soc)
            step = step_to_event(now, s, total)
            n_steps += 1
            at_limit = step.limit != NO_LIMIT
            if not (step.touched or at_limit):
                band_ends = 0
            elif f.vehicle > 0 and at_band_end(van.cabin, s.cabin_c):
                band_ends += 1
            while at_sample < moments.size and moments[at_sample] <= t + step.span_s:
                _sample(now, s, before, step, after=moments[at_sample] - t, row=samples[at_sample])
                at_sample += 1
            t += step.span_s
            if at_limit:
                s.disconnected, s.disconnected_by, s.disconnect_soc, s.since_cut_s = 1.0, step.limit, s.soc, 0.0
                if s.emptied == 0.0:
                    s.emptied, s.emptied_s, s.emptied_cabin_c, s.emptied_by = 1.0, t, s.cabin_c, step.limit
                n_events = _note(events, n_events, t, DISCONNECTED)
            lost = n_steps >= most or not s.cabin_c < HOTTEST_C
            if (at_limit and stop_at_reserve) or lost:
                _end(s, total)
                return t, i, n_events, at_sample, n_steps, at_limit and stop_at_reserve, lost
        _end(s, total)
        if n_steps >= PAUSE_STEPS:
            end = i + 1
            break
    return forcing.end_s[end - 1], end, n_events, at_sample, n_steps, False, False


@compiled
def _switch(
    f: ForcingInterval, van: VanParameters, s: Records, outdoor_c: float, t: float, events: Records, n_events: int
) -> tuple[int, int]:
    """Switch what is to be switched now; returns the cooler's mode, and how many events there were."""
    was_on, was_disconnected = s.on, s.disconnected
    if s.disconnected > 0.0 and _comes_back(van, s):
        s.disconnected = 0.0
    if f.inverter_w > 0.0:
        bank_c = s.contents_c if van.cabin.bank_inside else outdoor_c
        switch_inverter(f.peak_w + f.inverter_peak_w, van, s, bank_c)
    mode = decide(f, van.cabin, s, outdoor_c)
    if was_on < s.on:
        n_events = _note(events, n_events, t, STARTED)
    if was_on > s.on:
        n_events = _note(events, n_events, t, STOPPED)
    if was_disconnected > s.disconnected:
        n_events = _note(events, n_events, t, RECONNECTED)
    return mode, n_events


@compiled
def _comes_back(van: VanParameters, s: Records) -> bool:
    """Whether a cooler that a limit disconnected is connected again.

    Its own low-voltage cut lets go when the voltage has come back; whoever opened at the bank waits for charge.
    """
    if s.disconnected_by == AT_COOLER_VOLTAGE:
        return bool(s.since_cut_s > 0.0 and s.bank_v >= van.electrical.cooler_on_v)
    return bool(s.soc >= s.disconnect_soc + van.bank.reconnect_soc)


@compiled
def _note(events: Records, n_events: int, t: float, kind: int) -> int:
    """Write an event down, as far as they reach; returns how many there were."""
    if n_events < events.size:
        event = events[n_events]
        event.time_s, event.kind = t, kind
    return n_events + 1


@compiled
def _end(s: Records, total: Records) -> None:
    """The state at the end of an interval."""
    total.end_cabin_c, total.end_contents_c, total.end_ratio = s.cabin_c, s.contents_c, s.ratio
    total.end_soc, total.end_bank_v = s.soc, s.bank_v


@compiled
def _sample(now: Moment, s: Records, before: Before, step: Step, after: float, row: Records) -> None:
    """The fine picture at one moment within a step, some seconds after its start."""
    rise, contents_rise = deviation(step.solution, after)
    share = after / step.span_s
    row.outdoor_c = now.outdoor_c + now.interval.outdoor_k_s * after
    row.cabin_c, row.contents_c = before.cabin_c + rise, before.contents_c + contents_rise
    row.ratio = before.ratio + (s.ratio - before.ratio) * share
    row.soc = before.soc + (s.soc - before.soc) * share
    row.on, row.bank_v = s.on, s.bank_v
    row.boost = 1.0 if s.on > 0.0 and now.mode == BOOST else 0.0
    row.fan = s.fan
    row.loads_w, row.cooler_w, row.bank_w = step.loads_w, step.cooler_w, step.bank_w
