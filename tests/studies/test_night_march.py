"""Books of compiled nights against the single march that they are made of: its log of events, and numpy's sums."""

from __future__ import annotations

import numpy as np
import pytest

from vansim.climate import Weather
from vansim.march import nights as nm
from vansim.march import records as k
from vansim.runs import season as sr
from vansim.runs.run import march_arrays
from vansim.scenario.files import load_scenario
from vansim.scenario.vary import vary
from vansim.studies.nights import laid_season
from vansim.van.bank import bank_parameters

SUMS = {
    nm.ON: k.ON_S,
    nm.STARTS: k.STARTS,
    nm.COOLER: k.COOLER_J,
    nm.LOADS: k.LOADS_J,
    nm.OVER: k.OVER_S,
    nm.HEAT: k.BANK_HEAT_J,
    nm.LOST: k.BANK_LOST_J,
}


@pytest.mark.parametrize("charging", [False, True])
@pytest.mark.parametrize(("parallel", "soc"), [(1, 1.0), (2, 0.3), (2, 0.05), (4, 0.6), (12, 1.0)])
def test_a_nights_books_are_those_of_its_march(desert: Weather, parallel: int, soc: float, charging: bool) -> None:
    """Emptied, never connected, lasting, outlasting; with shore power through the night, connected again within it."""
    van = vary(load_scenario("scenarios/desert-night.toml"), {"bank.parallel": parallel})
    run = laid_season(van, desert, "07-14..07-16", None)
    plan = run.quiet
    if charging:  # two hours of a small supply from midnight, less than the cooler takes
        clock = run.quiet.start_s % 86400.0
        plan = plan._replace(shore_w=np.where(clock < 7200.0, 400.0, 0.0))
    bank, night = bank_parameters(van.bank), 1
    state = sr.with_charge(sr.evenings(run).states[night], bank, soc)
    bed, wake = run.bed_s[night], run.wake_s[night]

    after = state.copy()
    forcing, _ = sr.between(plan, bed, wake)
    out, _, log, _ = march_arrays(forcing, run.house, run.cooling, bank, after, n_log=4000)
    mine = state.copy()
    books = sr.night_books(run, plan, bank, night, mine)

    np.testing.assert_array_equal(mine, after)
    for column, of in SUMS.items():
        assert books[column] == pytest.approx(out[:, of].sum(), rel=1e-12, abs=1e-12)
    assert books[nm.BED_SOC] == soc
    assert books[nm.WAKING] == after[k.SOC]
    assert books[nm.LOWEST] == min(soc, out[:, k.END_SOC].min())
    assert books[nm.CABIN_MAX] == out[:, k.CABIN_MAX].max()
    cooled = out[:, k.SHED_S] == 0.0
    over = np.where(cooled, out[:, k.OVER_S], 0.0)
    assert books[nm.COOLED_OVER] == pytest.approx(over.sum(), abs=1e-9)
    duty = out[:, k.ON_S] / (forcing.end_s - forcing.start_s)
    assert books[nm.DUTY_OVER] == pytest.approx((duty * over).sum() / max(over.sum(), 1e-9))
    sheds = log[log[:, 1] == k.SHEDDED, 0]
    assert books[nm.EMPTIED] == float(sheds.size > 0)
    if sheds.size:
        assert books[nm.RUNTIME] == pytest.approx(sheds[0] - bed, abs=1e-6)
    else:
        rest, _ = sr.between(run.held[run.held_of[night]], wake, bed + sr.RUN_ON_H * 3600.0)
        *_, end_s = march_arrays(rest, run.house, run.cooling, bank, after, stop_when_shed=True)
        assert books[nm.RUNTIME] == end_s - bed


def test_the_cases_above_hold_what_they_say(desert: Weather) -> None:
    """One night empties and is connected again, so that the moment of the reserve cannot be read off the books."""
    van = vary(load_scenario("scenarios/desert-night.toml"), {"bank.parallel": 2})
    run = laid_season(van, desert, "07-14..07-16", None)
    clock = run.quiet.start_s % 86400.0
    plan = run.quiet._replace(shore_w=np.where(clock < 7200.0, 400.0, 0.0))
    bank = bank_parameters(van.bank)
    state = sr.with_charge(sr.evenings(run).states[1], bank, 0.3)
    forcing, _ = sr.between(plan, run.bed_s[1], run.wake_s[1])
    log = march_arrays(forcing, run.house, run.cooling, bank, state, n_log=4000)[2]
    assert k.SHEDDED in log[:, 1]
    assert k.RECONNECTED in log[:, 1]
