"""One night to its end: from bedtime until the reserve, however late that is."""

from __future__ import annotations

from vansim.boundary.forcing import build_forcing, night_minutes
from vansim.runs.result import Result
from vansim.runs.run import cut_short, march_forcing, march_run
from vansim.runs.season import held_scenario, without_charging
from vansim.scenario.schema import DAY_MIN

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
    if state.disconnected > 0.0:
        return 0.0, False
    before = build_forcing(run.scenario, run.weather, run.first_hour, bed, wake)
    last = before.segments[-1]
    after = build_forcing(held_scenario(run.scenario, last), run.weather, run.first_hour, wake, bed + LONGEST_H * 60)
    for laid in (before, after):
        end_s = march_forcing(without_charging(laid.forcing), run.van, state, stop_at_reserve=True).end_s
        if state.disconnected > 0.0:
            return (end_s / 60.0 - bed) / 60.0, False
    return float(LONGEST_H), True
