"""What must hold in every run, whatever the van, the day and the weather."""

from __future__ import annotations

from dataclasses import replace
from itertools import pairwise

import numpy as np
import pandas as pd
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from tests.support.scenarios import scenarios
from vansim.boundary.forcing import Forcing
from vansim.climate import Weather
from vansim.march.records import DISCONNECTED, STARTED, STOPPED
from vansim.runs.result import Result
from vansim.runs.run import Run, march_run, prepare
from vansim.scenario.schema import Scenario


@pytest.fixture(scope="module")
def years(desert_year: Weather, coast_year: Weather, miami_year: Weather) -> tuple[Weather, ...]:
    return desert_year, coast_year, miami_year


CLIMATE = st.integers(0, 2)


def marched(scenario: Scenario, weather: Weather) -> Result:
    run = prepare(scenario, weather, lead_in_days=1)
    return Result(run, march_run(run))


@given(scenarios(), CLIMATE)
@settings(max_examples=100)
def test_books_close_and_states_stay_possible(years: tuple[Weather, ...], scenario: Scenario, climate: int) -> None:
    result = marched(scenario, years[climate])
    check_balances(result)
    check_states(result)
    check_suppliers(result)
    check_heat_columns(result)


def check_balances(result: Result) -> None:
    """Heat, moisture, bank, busbar and pedestal close to a millionth of what flowed."""
    assert set(result.balance) == {"heat", "moisture", "bank", "busbar", "pedestal"}
    for name, gap in result.balance.items():
        assert abs(gap) < 1e-6, name


def check_states(result: Result) -> None:
    """No NaN; charge between empty and full; times within their interval; no flow against its sense."""
    totals, f = result.marched.totals, result.run.laid.forcing
    assert np.isfinite(totals.tolist()).all()
    assert np.isfinite(result.marched.end.tolist()).all()
    assert (totals.end_soc >= 0.0).all()
    assert (totals.end_soc <= 1.0).all()
    assert (totals.end_ratio >= 0.0).all()
    span = f.end_s - f.start_s
    for times in (totals.on_s, totals.fan_s, totals.boost_s, totals.disconnected_s, totals.over_s):
        assert (times >= 0.0).all()
        assert (times <= span * (1.0 + 1e-9) + 1e-6).all()
    for flows in (
        totals.cooler_j,
        totals.solar_j,
        totals.shore_j,
        totals.alternator_j,
        totals.unserved_j,
        totals.bank_heat_j,
        totals.condensate_kg,
        totals.wall_condensate_kg,
    ):
        assert (flows >= -1e-6).all()
    assert np.isfinite(result.hourly.drop(columns="supply_c").to_numpy()).all()


def check_suppliers(result: Result) -> None:
    """Sun and shore give no more than they offer, and nobody charges the bank from nothing."""
    totals, f = result.marched.totals, result.run.laid.forcing
    span = f.end_s - f.start_s
    assert (totals.solar_j <= f.solar_w * span * (1 + 1e-9) + 1e-6).all()
    assert (totals.shore_j <= f.shore_w * span * (1 + 1e-9) + 1e-6).all()
    supply = totals.solar_j + totals.shore_j + totals.alternator_j
    assert (totals.bank_j <= supply + 1e-3).all()


def check_heat_columns(result: Result) -> None:
    """The hourly heat columns, added, are the change of heat in air and contents, hour by hour."""
    columns = ["faces_w", "glass_solar_w", "air_exchange_w", "people_w", "equipment_w", "bank_to_cabin_w", "sensible_w"]
    columns.append("vehicle_w")
    intervals, h, totals = result.intervals, result.run.constants, result.marched.totals
    stored = h.air_j_k * totals.end_cabin_c + h.contents_j_k * totals.end_contents_c
    start = h.air_j_k * result.marched.start.cabin_c + h.contents_j_k * result.marched.start.contents_c
    change = pd.Series(np.diff(np.concatenate([[start], stored])))
    hours = (intervals["start_s"] // 3600).astype(int)
    seconds = intervals["span_s"].groupby(hours).sum().to_numpy()
    flowed = result.hourly[columns].sum(axis=1).to_numpy() * seconds
    assert flowed == pytest.approx(change.groupby(hours).sum().to_numpy(), abs=2.0)  # J, of some 1e6


@given(scenarios(), CLIMATE)
@settings(max_examples=60)
def test_switching_keeps_its_timers(years: tuple[Weather, ...], scenario: Scenario, climate: int) -> None:
    """Events in order; starts and stops alternate; minimum on and off times and starts per hour are kept.

    A stop by the plan or by the reserve may come sooner than the minimum on-time: protection of the bank comes first.
    """
    result = marched(scenario, years[climate])
    events, f, house = result.marched.events, result.run.laid.forcing, result.run.constants
    assert (np.diff(events.time_s) >= 0.0).all()
    assert events.size == 0 or (events.time_s[0] >= f.start_s[0] and events.time_s[-1] <= f.end_s[-1])
    switching = events[np.isin(events.kind, (STARTED, STOPPED))]
    assert (np.diff(switching.kind) != 0).all()
    starts = events.time_s[events.kind == STARTED]
    assert result.marched.totals.starts.sum() == starts.size
    assert (np.diff(starts) >= house.between_starts_s - 1e-3).all()
    at_reserve = events.time_s[events.kind == DISCONNECTED]
    for (a, what), (b, _) in pairwise(switching.tolist()):
        if what == STOPPED:
            assert b - a >= house.min_off_s - 1e-3
        else:
            piece = min(int(np.searchsorted(f.end_s, b - 1e-3, side="right")), f.cooling.size - 1)
            by_plan = f.cooling[min(piece + 1, f.cooling.size - 1)] == 0 or f.cooling[piece] == 0
            by_reserve = at_reserve.size and np.abs(at_reserve - b).min() < 1e-3
            assert b - a >= house.min_on_s - 1e-3 or by_plan or by_reserve


@given(scenarios(max_days=1), CLIMATE, st.sampled_from(["1min", "7min", "1h"]))
@settings(max_examples=30)
def test_a_trace_changes_nothing(years: tuple[Weather, ...], scenario: Scenario, climate: int, step: str) -> None:
    """The fine picture is read off the march; it does not step it."""
    run = prepare(scenario, years[climate], lead_in_days=1)
    plain = march_run(run)
    f = run.laid.forcing
    seconds = pd.Timedelta(step).total_seconds()
    traced = march_run(run, plain.start, np.arange(f.start_s[0] + seconds, f.end_s[-1] + 1e-6, seconds))
    assert np.array_equal(plain.totals, traced.totals)
    assert plain.end == traced.end
    assert np.array_equal(plain.events, traced.events)
    fine = Result(run, plain).trace(step)
    assert np.isfinite(fine.to_numpy()).all()
    assert fine["soc"].between(0.0, 1.0).all()
    if f.end_s[-1] % seconds == f.start_s[0] % seconds:
        assert fine["cabin_c"].iloc[-1] == pytest.approx(plain.end.cabin_c, abs=1e-6)


def part_of(run: Run, first: int, last: int) -> Run:
    """Some of a run's intervals as a run."""
    cut = slice(first, last)
    forcing = Forcing(*(column[cut] for column in run.laid.forcing))
    return replace(run, laid=replace(run.laid, forcing=forcing, rows=run.laid.rows[cut]))


@given(scenarios(), CLIMATE, st.floats(0.05, 0.95))
@settings(max_examples=50)
def test_a_run_taken_up_again(years: tuple[Weather, ...], scenario: Scenario, climate: int, share: float) -> None:
    """Two halves, the second from the state in which the first ended, are the whole."""
    run = prepare(scenario, years[climate], lead_in_days=1)
    whole = march_run(run)
    middle = int(share * run.laid.forcing.start_s.size)
    n = run.laid.forcing.start_s.size
    if 0 < middle < n:
        first = march_run(part_of(run, 0, middle), whole.start)
        second = march_run(part_of(run, middle, n), first.end)
        assert np.array_equal(np.concatenate([first.totals, second.totals]), whole.totals)
        assert second.end == whole.end
