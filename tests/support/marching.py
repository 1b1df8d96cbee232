"""A march whose steps are counted, and the most that physics allows."""

from __future__ import annotations

import math
from typing import NamedTuple

import numpy as np

from vansim.boundary.forcing import Forcing
from vansim.march.kernel import BAND_ENDS, READ_EVERY_S, Progress, march_on
from vansim.march.records import EVENT, SAMPLE, TOTALS, Records, VanParameters, new_records


class Counted(NamedTuple):
    """Totals and events of a march, and the number of its steps."""

    totals: Records
    events: Records
    steps: int


def march_counted(forcing: Forcing, van: VanParameters, state: Records, n_events: int = 10_000) -> Counted:
    """March all of a forcing; `state` is changed in place."""
    totals, events = new_records(TOTALS, forcing.start_s.size), new_records(EVENT, n_events)
    first = happened = steps = 0
    while first < totals.size:
        made = Progress(
            *march_on(
                forcing=forcing,
                first=first,
                end=totals.size,
                van=van,
                state=state,
                totals=totals[first:],
                moments=np.empty(0),
                samples=new_records(SAMPLE, 0),
                events=events[happened:],
                stop_at_reserve=False,
            )
        )
        assert not made.lost, f"{made.n_steps} steps before interval {made.reached}"
        first, happened, steps = made.reached, happened + made.n_events, steps + made.n_steps
    return Counted(totals=totals, events=events[: min(happened, n_events)], steps=steps)


def most_steps(forcing: Forcing, van: VanParameters, starts: float) -> int:
    """The most steps that a march with so many starts may take, as the docstring of `vansim.march.kernel` has it."""
    span_s = forcing.end_s - forcing.start_s
    fed = (forcing.solar_w > 0.0) | (forcing.shore_w > 0.0) | (forcing.alternator_a > 0.0)
    rise = van.bank.charge_max_a * span_s[fed].sum() / van.bank.capacity_as
    edges, readings = span_s.size, math.floor(span_s.sum() / READ_EVERY_S)
    ramp_cuts, timers, switchings = starts + 1, 2 * (starts + 1), 3 * (starts + 1)
    in_time = edges + readings + ramp_cuts + timers
    band_ends = BAND_ENDS * (in_time + 2 * (starts + 1)) if forcing.vehicle.any() else 0
    reserve = math.floor(rise / van.bank.reconnect_soc) + 1
    cuts = edges + readings + band_ends + 1 if van.electrical.cooler_off_v > 0.0 else 0
    touches = in_time + band_ends + reserve + cuts + starts + 2
    return int(in_time + switchings + band_ends + reserve + cuts + touches)
