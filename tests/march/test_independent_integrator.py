"""The march against scipy's integrator on the same nonlinear equations (LSODA, rtol 1e-9, with events).

Two hot desert stretches with a cycling cooler and a bank that reaches its reserve; the cooler once read from its map,
once solved afresh at every state.
"""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np
import pytest

from tests.support.integrator import CoolerParameters, Second, Trace, read_map, solve_balance
from tests.support.vans import bank, cabin, van
from vansim.boundary.forcing import Forcing
from vansim.climate import Weather
from vansim.march.records import DISCONNECTED
from vansim.runs.balance import balance_of
from vansim.runs.run import Marched, Run, fresh_state, march_run, prepare
from vansim.scenario.schema import Day, PlanSegment
from vansim.van.cabin import Opening
from vansim.van.loads import Load

CASES = {"night": ("22:00", 9, 2, 0.8), "evening": ("19:00", 12, 3, 0.9)}
MACHINES = {"map": read_map, "balance": solve_balance}


@dataclass(frozen=True)
class Both:
    ours: Marched
    theirs: Trace
    moments: np.ndarray


def cut(run: Run, hours: int) -> Run:
    """The first hours of a run."""
    end = run.start_min + hours * 60
    keep = run.laid.forcing.end_s <= end * 60.0 + 1e-6
    forcing = Forcing(*(column[keep] for column in run.laid.forcing))
    return replace(run, end_min=end, laid=replace(run.laid, forcing=forcing))


def both_ways(weather: Weather, case: str, machine: str) -> Both:
    start, hours, parallel, soc = CASES[case]
    scenario = van(
        run={"date": "07-15", "start": start, "days": 1},
        bank=bank(parallel, start_soc=soc),
        solar=None,
        alternator=None,
        loads=(Load(name="fridge", power_w=50.0, duty=0.4, keeps_c=4.0), Load(name="lights", power_w=20.0)),
    )
    run = cut(prepare(scenario, weather), hours)
    state = fresh_state(run)
    state.on = state.disconnected = 0.0
    state.since_switch_s, state.since_start_s, state.boosting = 1e6, 1e6, 1.0
    moments = np.arange(run.start_min * 60.0 + 30.0, run.end_min * 60.0 + 1e-6, 30.0)
    at: CoolerParameters = MACHINES[machine](run)
    theirs = Second(run, at).march(np.array([state.cabin_c, state.contents_c, state.ratio, state.soc]), moments)
    return Both(march_run(run, state, moments), theirs, moments)


@pytest.fixture(scope="module", params=[(c, m) for c in CASES for m in MACHINES], ids=lambda p: "-".join(p))
def both(request: pytest.FixtureRequest, desert_year: Weather) -> Both:
    return both_ways(desert_year, *request.param)


def differences(both: Both) -> np.ndarray:
    times, states = np.concatenate(both.theirs.times), np.concatenate(both.theirs.states)
    assert times.size > 0.99 * both.moments.size
    rows = both.ours.samples[np.searchsorted(both.moments, times - 1e-6)]
    return np.column_stack([rows.cabin_c, rows.contents_c, rows.ratio, rows.soc]) - states[:, :4]


def test_cabin_temperature(both: Both) -> None:
    """Within 0.05 K rms, switchings and all."""
    rms = np.sqrt((differences(both)[:, 0] ** 2).mean())
    assert rms < 0.05


def test_contents_humidity_and_charge(both: Both) -> None:
    _, contents, ratio, soc = np.sqrt((differences(both) ** 2).mean(axis=0))
    assert contents < 0.01
    assert ratio < 2e-5
    assert soc < 0.003


def test_cooler_energy(both: Both) -> None:
    ours = both.ours.totals.cooler_j.sum()
    assert ours == pytest.approx(both.theirs.cooler_j, rel=0.002)


def test_number_of_starts(both: Both) -> None:
    ours = both.ours.totals.starts.sum()
    assert len(both.theirs.starts) > 30
    assert ours == pytest.approx(len(both.theirs.starts), rel=0.02)


def test_time_of_reaching_the_reserve(both: Both) -> None:
    events = both.ours.events
    at_reserve = events.time_s[events.kind == DISCONNECTED]
    assert at_reserve.size == 1
    assert at_reserve[0] == pytest.approx(both.theirs.reserve_s, abs=60.0)


def test_a_window_and_a_vent_stand_open(desert_year: Weather) -> None:
    """A day and a night without cooling, air driven by stack and wind, roof and floor warmer and colder than the cabin:
    within 0.01 K rms, and what came through the openings within 0.1 %.
    """
    openings = (Opening(width_mm=100.0, height_mm=400.0), Opening(face="roof", width_mm=300.0, height_mm=300.0))
    plan = (PlanSegment(start="00:00", end="00:00", window_open=True, people="asleep", dogs="asleep"),)
    scenario = van(
        run={"date": "04-10", "start": "12:00", "days": 1},
        cabin=cabin().model_copy(update={"openings": openings}),
        day=(Day(segment=plan),),
        solar=None,
        alternator=None,
    )
    run = prepare(scenario, desert_year)
    state = fresh_state(run)
    moments = np.arange(run.start_min * 60.0 + 300.0, run.end_min * 60.0 + 1e-6, 300.0)
    theirs = Second(run, read_map(run)).march(
        np.array([state.cabin_c, state.contents_c, state.ratio, state.soc]), moments
    )
    both = Both(march_run(run, state, moments), theirs, moments)
    off = differences(both)
    assert np.sqrt((off[:, 0] ** 2).mean()) < 0.01
    assert np.sqrt((off[:, 2] ** 2).mean()) < 1e-5
    totals, f = both.ours.totals, run.laid.forcing
    assert np.abs(totals.opening_j).sum() > 1e6
    assert totals.roof_outward_j.min() < 0.0
    assert np.abs(totals.air_exchange_j - totals.opening_j - f.air_w_k * _difference_ks(both, f)).max() < 1.0


def _difference_ks(both: Both, f: Forcing) -> np.ndarray:
    """Outdoor air less cabin, over each interval [K s]."""
    span = f.end_s - f.start_s
    return (f.outdoor_c + 0.5 * f.outdoor_k_s * span) * span - both.ours.totals.cabin_ks


def test_sleepers_behind_cold_glass(desert_year: Weather) -> None:
    """A cold night, shut: panes below the dew point take water from the air; humidity as scipy has it, water closed."""
    plan = (PlanSegment(start="00:00", end="00:00", people="asleep", dogs="asleep"),)
    dry = desert_year.data.assign(temp_air=6.0, temp_dew=0.0)
    cold = replace(desert_year, data=dry)
    scenario = van(
        run={"date": "01-15", "start": "22:00", "days": 1},
        cabin=cabin().model_copy(update={"leakage_parked_per_h": 3.0}),
        day=(Day(segment=plan),),
        solar=None,
        alternator=None,
    )
    run = cut(prepare(scenario, cold), 10)
    state = fresh_state(run)
    moments = np.arange(run.start_min * 60.0 + 300.0, run.end_min * 60.0 + 1e-6, 300.0)
    theirs = Second(run, read_map(run)).march(
        np.array([state.cabin_c, state.contents_c, state.ratio, state.soc]), moments
    )
    both = Both(march_run(run, state, moments), theirs, moments)
    assert np.sqrt((differences(both)[:, 2] ** 2).mean()) < 1e-5
    assert both.ours.totals.wall_condensate_kg.sum() == 0.0  # theirs has no such limit
    assert both.ours.totals.wall_condensate_kg.sum() == 0.0  # theirs has no such limit
    assert both.ours.totals.pane_condensate_kg.sum() > 0.02
    assert abs(balance_of(run, both.ours)["moisture"]) < 1e-12
