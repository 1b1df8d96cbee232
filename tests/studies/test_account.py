"""The account of a night, in studies as in plain runs: every row of a season is what `simulate` of that day gives.

Bedtimes before and after midnight, day sleepers and working days; banks that are aged, in series, half full, held by
voltage; plans with driving, shore power, open windows and several disconnections. Nothing here compares a study with
itself: the other side is always a plain run.
"""

from __future__ import annotations

import numpy as np
import pandas as pd
import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from tests.support.brute_force import assert_same_night, on_day, one_night
from vansim.boundary.forcing import without_charging
from vansim.climate import Weather
from vansim.runs.run import march_forcing
from vansim.runs.season import lay_nights, with_charge
from vansim.runs.simulate import simulate
from vansim.scenario.files import load_scenario
from vansim.scenario.plan import extended_scenario, unplugged
from vansim.scenario.schema import DAY_MIN, Scenario
from vansim.scenario.vary import vary
from vansim.studies.nights import nights
from vansim.studies.sizing import size
from vansim.van.bank import bank_parameters

SEASON = "07-12..07-16"
BEDTIMES = [
    ("20:00", "06:00"),
    ("23:59", "07:00"),
    ("00:00", "07:00"),
    ("00:30", "07:00"),
    ("06:00", "14:00"),
    ("09:00", "17:00"),
]


def scenario(name: str, **changes: object) -> Scenario:
    return vary(load_scenario(f"scenarios/{name}.toml"), {k.replace("__", "."): v for k, v in changes.items()})


AGED = {"bank.state_of_health": 0.6, "bank.start_soc": 0.85}
PLANS = {
    "desert": scenario("desert-night"),
    "empty before bedtime": scenario("desert-night", bank__parallel=2),
    "aged, not full": vary(load_scenario("scenarios/desert-night.toml"), AGED),
    "held by voltage": vary(load_scenario("scenarios/desert-night.toml"), {"bank.reserve_v": 12.9}),
    "in series": vary(
        load_scenario("scenarios/desert-night.toml"),
        {"cooler": "roof-24v-3kw", "bank.series": 2, "bank.parallel": 2, "alternator": "none"},
    ),
    "half full on shore": scenario("shore-weekend"),
    "driving, two kinds of day": scenario("driving-week"),
    "working day": scenario("kennel-day"),
    "idling at night": vary(
        load_scenario("scenarios/desert-night.toml"), {"day.at-the-camp.22:00.doing": "idling", "bank.parallel": 3}
    ),
    "window open at night": vary(
        load_scenario("scenarios/desert-night.toml"), {"day.at-the-camp.22:00.window_open": True, "bank.parallel": 4}
    ),
    "sheds and comes back": vary(
        load_scenario("scenarios/desert-night.toml"),
        {"bank.parallel": 2, "solar": "full-roof-800w", "bank.reconnect_soc": 0.02},
    ),
    "no grace": vary(load_scenario("scenarios/desert-night.toml"), {"night.grace_min": 0.0}),
    "full at bedtime": vary(load_scenario("scenarios/desert-night.toml"), {"run.start": "bedtime"}),
}


@pytest.mark.parametrize("plan", PLANS)
def test_every_independent_night_is_the_plain_run_of_that_day(plan: str, desert: Weather) -> None:
    van = PLANS[plan]
    table = nights(van, desert, season=SEASON).independent.table
    for place in range(len(table)):
        run = one_night(van, desert, table, place, van.bank.start_soc)
        assert_same_night(table.iloc[place], run.nights.iloc[0])


@pytest.mark.parametrize("plan", PLANS)
def test_consecutive_nights_are_one_plain_run(plan: str, desert: Weather) -> None:
    van = PLANS[plan]
    reading = nights(van, desert, season=SEASON).consecutive
    run = simulate(on_day(van, reading.table.index[0], len(reading.table), reading.start_soc), desert)
    assert len(run.nights) == len(reading.table)
    for place in range(len(reading.table)):
        assert_same_night(reading.table.iloc[place], run.nights.iloc[place])


@pytest.mark.parametrize(("bedtime", "waking"), BEDTIMES)
@pytest.mark.parametrize("plan", ["desert", "driving, two kinds of day"])
def test_at_every_bedtime_the_same_night_has_the_same_date_and_numbers(
    plan: str, bedtime: str, waking: str, desert: Weather
) -> None:
    van = vary(PLANS[plan], {"night.bedtime": bedtime, "night.waking": waking})
    table = nights(van, desert, season=SEASON).independent.table
    assert [f"{date:%m-%d}" for date in table.index] == ["07-12", "07-13", "07-14", "07-15", "07-16"]
    for place in (0, 3):
        run = one_night(van, desert, table, place, 1.0)
        assert_same_night(table.iloc[place], run.nights.iloc[0])
        night = run.night(0)
        assert f"{night.bedtime:%H:%M}" == bedtime
        assert f"{night.waking:%H:%M}" == waking
        assert night.date == night.bedtime.normalize() == table.index[place]
        assert night.account == night.row["account_start"]
        asleep = run.intervals.iloc[night.asleep]
        assert asleep["span_s"].sum() == pytest.approx(night.length_h * 3600.0)


@pytest.mark.parametrize("plan", ["desert", "half full on shore", "idling at night", "driving, two kinds of day"])
def test_runtime_is_a_plain_march_with_nothing_charging_and_cooling_left_on(plan: str, desert: Weather) -> None:
    """Built again from the plain run's own state at bedtime: unplugged, uncharged, the last segment extended."""
    van = PLANS[plan]
    result = simulate(on_day(van, pd.Timestamp("2001-07-14"), 1), desert)
    night, run = result.night(0), result.run
    laid = lay_nights(van, desert, result.laid_nights.nights, list(result.laid_nights.times), run.laid)
    state = result.marched.start.copy()
    until_bed = run.laid.forcing
    first = type(until_bed)(*(column[: night.asleep.start] for column in until_bed))
    if first.start_s.size:
        march_forcing(first, run.van, state)
    from vansim.boundary.forcing import build_forcing

    def uncharged(which: Scenario, start: int, end: int) -> object:
        return without_charging(build_forcing(which, desert, run.first_hour, start, end).forcing)

    times = night.times
    asleep = uncharged(unplugged(van), times.bed_min, times.wake_min)
    end = march_forcing(asleep, run.van, state, stop_at_reserve=True).end_s
    if not state.disconnected:
        last = run.laid.segments[night.asleep.stop - 1]
        after = uncharged(extended_scenario(van, last), times.wake_min, times.bed_min + 2 * DAY_MIN)
        end = march_forcing(after, run.van, state, stop_at_reserve=True).end_s
    assert night.row["runtime_h"] == pytest.approx((end / 60.0 - times.bed_min) / 60.0, abs=1e-6)
    assert laid.times[0] == times


def test_an_empty_bank_before_bedtime_says_when_and_how_warm(desert: Weather) -> None:
    result = simulate(PLANS["empty before bedtime"], desert)
    row = result.night(0).row
    assert row["runtime_h"] == 0.0
    assert row["account_start"] < row["empty_at"] < result.night(0).bedtime
    moments = (row["empty_at"] - result.moment(0)).total_seconds()
    fine = result.follow(np.array([moments - 0.5, moments]))
    assert row["cabin_at_empty_c"] == pytest.approx(fine["cabin_c"].iloc[-1], abs=0.01)
    assert row["bedtime_cabin_c"] > row["cabin_at_empty_c"] + 2.0
    assert not row["covered"]
    assert row["why"] in ("battery", "both")
    disconnected = result.events[result.events["kind"] == "disconnected"]["time_s"].iloc[0]
    assert moments == pytest.approx(disconnected, abs=1e-3)


def test_recharging_starts_from_the_charge_at_waking(desert: Weather) -> None:
    for bedtime, waking in BEDTIMES:
        van = vary(PLANS["desert"], {"night.bedtime": bedtime, "night.waking": waking})
        night = simulate(van, desert).night(0)
        assert night.waking_state["soc"] == pytest.approx(night.row["waking_soc"])


def test_a_year_holds_its_nights_once(desert: Weather) -> None:
    from vansim.runs.simulate import over_year

    for bedtime in ("22:00", "00:30"):
        van = vary(PLANS["desert"], {"night.bedtime": bedtime})
        index = simulate(over_year(van), desert).nights.index
        assert len(index) >= 364
        assert index.is_unique
        assert index.is_monotonic_increasing


# --- what `size` names, `simulate` confirms -----------------------------------------------------------------------


@settings(max_examples=8, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture])
@given(
    plan=st.sampled_from(["desert", "aged, not full", "half full on shore", "in series", "no grace"]),
    setpoint=st.sampled_from([22.0, 24.0]),
    season=st.sampled_from(["06-10..06-16", "07-12..07-18", "08-20..08-26"]),
    target=st.sampled_from([0.7, 1.0]),
    climate=st.sampled_from(["desert", "coast"]),
)
def test_the_bank_that_size_names_lasts_its_design_night_and_one_fewer_does_not(
    plan: str, setpoint: float, season: str, target: float, climate: str, desert: Weather, coast: Weather
) -> None:
    weather = {"desert": desert, "coast": coast}[climate]
    van = vary(PLANS[plan], {"thermostat.setpoint_c": setpoint})
    sizing = size(van, weather, target=target, season=season)
    if not len(sizing.table):
        assert set(sizing.failed["why"]) <= {"cooler", "charging"}
        return
    row = sizing.table.iloc[0]
    found = nights(van, weather, season=season)
    place = found.independent.table.index.get_loc(row["design_night"])
    for fewer in (0, 1):
        parallel = int(row["parallel"]) - fewer
        if parallel < 1:
            continue
        tried = van.model_copy(update={"bank": van.bank.model_copy(update={"parallel": parallel})})
        if row["judged"] == "independent":
            run = one_night(tried, weather, found.independent.table, place, van.bank.start_soc)
            night = run.nights.iloc[0]
        else:
            chain = nights(tried, weather, season=season).consecutive
            run = simulate(on_day(tried, chain.table.index[0], len(chain.table), chain.start_soc), weather)
            night = run.nights.iloc[place]
        assert night["covered"] == (fewer == 0), (plan, parallel, row["judged"])


def test_the_periodic_state_gives_back_what_it_began_with(desert: Weather) -> None:
    """A season after a season, run plainly, ends as the reading says that it begins."""
    van = PLANS["driving, two kinds of day"]
    reading = nights(van, desert, season="07-01..07-07").consecutive
    charge = reading.start_soc
    run = simulate(on_day(van, reading.table.index[0], 8, charge), desert)
    again = run.nights.iloc[7]["start_soc"]
    assert again >= charge - 2e-3


def test_a_seasonal_store_does_not_keep_up(desert: Weather) -> None:
    """64 batteries carry the nights of a season from full; charged with next to nothing they do not in the next."""
    van = vary(load_scenario("scenarios/desert-night.toml"), {"bank.parallel": 60})
    found = nights(van, desert, season="07-01..07-31")
    from_full = simulate(on_day(van, found.independent.table.index[0], 5, 1.0), desert)
    assert from_full.nights["covered"].all()
    assert found.consecutive.start_soc < 0.9
    assert found.consecutive.share < 0.5


def test_states_of_charge_are_carried_and_not_shared(desert: Weather) -> None:
    states = nights(PLANS["desert"], desert, season=SEASON).design.states
    bank = bank_parameters(PLANS["desert"].bank)
    charged = with_charge(states, bank, 0.4)
    assert (charged["soc"] == 0.4).all()
    assert not (states["soc"] == 0.4).any()
