"""Compiled nights against the single march that they are made of: its events, and numpy's sums."""

from __future__ import annotations

import numpy as np
import pytest

from vansim.climate import Weather
from vansim.march.records import DISCONNECTED, RECONNECTED
from vansim.runs import season as sr
from vansim.runs.run import march_forcing
from vansim.scenario.files import load_scenario
from vansim.scenario.vary import vary
from vansim.studies.nights import laid_season
from vansim.van.bank import bank_parameters

SUMS = ("on_s", "starts", "cooler_j", "loads_j", "over_s", "bank_heat_j", "bank_lost_j")


@pytest.mark.parametrize("charging", [False, True])
@pytest.mark.parametrize(("parallel", "soc"), [(1, 1.0), (2, 0.3), (2, 0.05), (4, 0.6), (12, 1.0)])
def test_a_nights_totals_are_those_of_its_march(desert: Weather, parallel: int, soc: float, charging: bool) -> None:
    """Emptied, never connected, lasting, outlasting; with shore power through the night, connected again within it."""
    van = vary(load_scenario("scenarios/desert-night.toml"), {"bank.parallel": parallel})
    run = laid_season(van, desert, "07-14..07-16", None)
    plan = run.quiet
    if charging:  # two hours of a small supply from midnight, less than the cooler takes
        clock = run.quiet.start_s % 86400.0
        plan = plan._replace(shore_w=np.where(clock < 7200.0, 400.0, 0.0))
    bank, night = bank_parameters(van.bank), 1
    states = sr.with_charge(sr.evenings(run).states[night : night + 1], bank, soc)
    bed, wake = run.bed_s[night], run.wake_s[night]

    after = states[0].copy()
    forcing, _ = sr.between(plan, bed, wake)
    totals, _, events, _ = march_forcing(forcing, run.van(bank), after, n_events=4000)
    found = sr.night_totals(run, plan, bank, night, states)[0]

    assert states[0] == after
    for name in SUMS:
        assert found[name] == pytest.approx(totals[name].sum(), rel=1e-12, abs=1e-12)
    assert found.bedtime_soc == soc
    assert found.waking_soc == after.soc
    assert found.lowest_soc == min(soc, totals.end_soc.min())
    assert found.cabin_max_c == totals.cabin_max_c.max()
    over = np.where(totals.disconnected_s == 0.0, totals.over_s, 0.0)
    assert found.cooled_over_s == pytest.approx(over.sum(), abs=1e-9)
    duty = totals.on_s / (forcing.end_s - forcing.start_s)
    assert found.duty_over == pytest.approx((duty * over).sum() / max(over.sum(), 1e-9))
    at_reserve = events.time_s[events.kind == DISCONNECTED]
    assert found.emptied == float(at_reserve.size > 0)
    if at_reserve.size:
        assert found.runtime_s == pytest.approx(at_reserve[0] - bed, abs=1e-6)
    else:
        rest, _ = sr.between(run.held[run.held_of[night]], wake, bed + sr.RUN_ON_H * 3600.0)
        end_s = march_forcing(rest, run.van(bank), after, stop_at_reserve=True).end_s
        assert found.runtime_s == end_s - bed


def test_the_cases_above_hold_what_they_say(desert: Weather) -> None:
    """One night empties and is connected again, so that the moment of the reserve cannot be read off the totals."""
    van = vary(load_scenario("scenarios/desert-night.toml"), {"bank.parallel": 2})
    run = laid_season(van, desert, "07-14..07-16", None)
    clock = run.quiet.start_s % 86400.0
    plan = run.quiet._replace(shore_w=np.where(clock < 7200.0, 400.0, 0.0))
    bank = bank_parameters(van.bank)
    state = sr.with_charge(sr.evenings(run).states[1], bank, 0.3)
    forcing, _ = sr.between(plan, run.bed_s[1], run.wake_s[1])
    events = march_forcing(forcing, run.van(bank), state, n_events=4000).events
    assert DISCONNECTED in events.kind
    assert RECONNECTED in events.kind
