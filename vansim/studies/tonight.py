"""One night to its end: from bedtime until the reserve, however late that is."""

from __future__ import annotations

import numpy as np

from vansim.march.forcing import Forcing, lay, night_minutes
from vansim.march.kernel import SHED
from vansim.march.result import Result
from vansim.march.simulate import cut_short, march_arrays, march_run
from vansim.scenario.schema import DAY_MIN, Day, Scenario, Segment

LONGEST_H = 48


def runtime_tonight(result: Result, night: int = 0) -> tuple[float, bool]:
    """Hours from bedtime until the reserve, nothing charging and the cooling left on after waking.

    Parameters
    ----------
    result : Result
        A run with that night in it.
    night : int
        Row of `result.nights`.

    Returns
    -------
    runtime_h : float
        Hours; 48 where the reserve is not reached by then.
    outlasts : bool
        Whether that is so.

    Notes
    -----
    Cabin and bank start as the run left them at bedtime. After waking the segment that held just before goes on, under
    the real weather, so a runtime is never cut off at waking.
    """
    run = result.run
    first = (result.nights.index[night] - result.index[0].normalize()).days + run.start_min // DAY_MIN
    bed, wake = night_minutes(run.scenario, int(first))
    state = march_run(cut_short(run, bed), result.marched.start).end
    if state[SHED] > 0.0:
        return 0.0, False
    before = lay(run.scenario, run.weather, run.first_hour, bed, wake)
    last = before.segments[-1]
    after = lay(held(run.scenario, last), run.weather, run.first_hour, wake, bed + LONGEST_H * 60)
    for laid in (before, after):
        _, _, _, end_s = march_arrays(
            uncharged(laid.forcing), run.house, run.cooling, run.bank, state, stop_when_shed=True
        )
        if state[SHED] > 0.0:
            return (end_s / 60.0 - bed) / 60.0, False
    return float(LONGEST_H), True


def held(scenario: Scenario, segment: Segment) -> Scenario:
    """The scenario with one segment all day long."""
    whole = Segment(**(segment.model_dump() | {"start": "00:00", "end": "24:00"}))
    return scenario.model_copy(update={"day": (Day(name="held", segment=(whole,)),), "cycle": ()})


def uncharged(forcing: Forcing) -> Forcing:
    """The same forcing with sun, alternator and shore taken from the bank; the cabin sees no difference."""
    nothing = np.zeros_like(forcing.solar_w)
    return forcing._replace(solar_w=nothing, alternator_a=nothing, shore_w=nothing)
