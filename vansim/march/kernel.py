"""The march: cabin, cooler and bank answer each other, moment by moment.

Between two switchings the cabin is linear and solved in closed form (`network`), so the march goes from event to event:
a thermostat crossing, the end of a timer, the reserve of the bank, an edge of the forcing, and at the latest after
five minutes, when the cooler's map and the bank are read again. Everything is compiled, and lets go of the lock.

    records     what is carried and what is written down, by name
    controls    who runs: compressor, roof fan
    flows       heat and power at this moment
    step        what flows until the next event, and what cabin and bank make of it
    nights      many nights, each a march
"""

from __future__ import annotations

from typing import NamedTuple

import numpy as np

from vansim.boundary.forcing import Forcing
from vansim.jit import compiled, compiled_apart
from vansim.march.controls import decide
from vansim.march.flows import Moment
from vansim.march.network import deviation
from vansim.march.records import (
    DISCONNECTED,
    RECONNECTED,
    STARTED,
    STOPPED,
    Records,
    VanParameters,
    interval_of,
)
from vansim.march.step import Step, step_to_event
from vansim.van.cooler_balance import BOOST

READ_EVERY_S = 300.0
"""The cooler's map and the bank are read again after five minutes at the latest [s]."""


class Before(NamedTuple):
    """State at the start of a step: cabin and contents [°C], humidity ratio [kg/kg], state of charge."""

    cabin_c: float
    contents_c: float
    ratio: float
    soc: float


@compiled_apart
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
    """Run over intervals of the forcing.

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
    end_s : float
        When it ended [s].
    n_events : int
        Events that happened, also those that no longer fitted.
    """
    s = state
    n_events, at_sample = 0, 0
    while at_sample < moments.size and moments[at_sample] < forcing.start_s[first]:
        at_sample += 1
    for i in range(first, end):
        f = interval_of(forcing, i)
        t, total, end_s = forcing.start_s[i], totals[i - first], forcing.end_s[i]
        total.cabin_max_c = s.cabin_c
        while t < end_s - 1e-9:
            outdoor = f.outdoor_c + f.outdoor_k_s * (t - f.start_s)
            was_on, was_disconnected = s.on, s.disconnected
            if s.disconnected > 0.0 and s.soc >= s.disconnect_soc + van.bank.reconnect_soc:
                s.disconnected = 0.0
            started, mode = decide(f, van.cabin, s, outdoor)
            if started:
                total.starts += 1.0
                n_events = _note(events, n_events, t, STARTED)
            if was_on > 0.0 and s.on == 0.0:
                n_events = _note(events, n_events, t, STOPPED)
            if was_disconnected > 0.0 and s.disconnected == 0.0:
                n_events = _note(events, n_events, t, RECONNECTED)
            limit = min(end_s - t, READ_EVERY_S)
            now = Moment(interval=f, van=van, mode=mode, outdoor_c=outdoor, limit_s=limit)
            before = Before(cabin_c=s.cabin_c, contents_c=s.contents_c, ratio=s.ratio, soc=s.soc)
            step = step_to_event(now, s, total)
            while at_sample < moments.size and moments[at_sample] <= t + step.span_s:
                _sample(now, s, before, step, after=moments[at_sample] - t, row=samples[at_sample])
                at_sample += 1
            t += step.span_s
            if step.at_reserve:
                s.disconnected, s.disconnect_soc = 1.0, s.soc
                if s.emptied == 0.0:
                    s.emptied, s.emptied_s, s.emptied_cabin_c = 1.0, t, s.cabin_c
                n_events = _note(events, n_events, t, DISCONNECTED)
                if stop_at_reserve:
                    _end(s, total)
                    return t, n_events
        _end(s, total)
    return forcing.end_s[end - 1], n_events


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
    row.loads_w, row.cooler_w, row.bank_w = now.interval.loads_w, step.cooler_w, step.bank_w
