"""Nights: by hand in a steady climate, and by property in an invented one."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from tests.support.steady_nights import (
    LOAD_W,
    OUTDOOR_C,
    SETPOINT_C,
    by_hand,
    hours_by_hand,
    plain_cabin,
    plain_van,
    steady_weather,
    unit,
)
from vansim.climate import Weather
from vansim.climate.seasons import HeatWave, span_of
from vansim.errors import ScenarioError
from vansim.scenario.files import load_scenario
from vansim.scenario.schema import Day, Occupants, PlanSegment, Scenario
from vansim.scenario.vary import vary
from vansim.studies.design import NightsReading
from vansim.studies.missing_charging import least_that
from vansim.studies.nights import nights
from vansim.van.bank import Bank
from vansim.van.charging import Alternator
from vansim.van.people import Person

ONE = "07-10..07-10"


def from_bedtime(scenario: Scenario, weather: Weather, season: str) -> NightsReading:
    """Independent nights from a full bank at bedtime: what a closed form of the night alone can be held against."""
    return nights(scenario, weather, season=season, full_at_bedtime=True).independent


@pytest.mark.parametrize(
    "bank",
    [
        Bank(unit=unit("lfp", 100.0), parallel=6, location="outside", cable_mohm=0.0),
        Bank(unit=unit("agm", 100.0), parallel=10, reserve_soc=0.5, location="outside", cable_mohm=0.0),
    ],
    ids=["lfp", "agm with Peukert"],
)
def test_runtime_and_duty_are_those_worked_out_by_hand(bank: Bank) -> None:
    """Closed form: duty = load / capacity, runtime = usable charge / mean drain; 0.5 %."""
    night = from_bedtime(plain_van(bank=bank), steady_weather(OUTDOOR_C), season=ONE).table.iloc[0]
    duty, power = by_hand()
    assert night["duty"] == pytest.approx(duty, rel=0.01)  # a night is some hundred cycles, the last one cut
    assert night["cooler_wh"] == pytest.approx(duty * power * 9.0, rel=0.01)
    assert 18.0 < night["runtime_h"] < 46.0
    assert night["runtime_h"] == pytest.approx(hours_by_hand(bank), rel=0.005)
    assert night["covered"]
    assert night["why"] == ""


def test_a_night_that_outlasts_two_days_says_so() -> None:
    big = vary(plain_van(), {"bank.parallel": 40})
    night = from_bedtime(big, steady_weather(OUTDOOR_C), season=ONE).table.iloc[0]
    assert night["outlasts"]
    assert night["runtime_h"] == pytest.approx(48.0)


def test_why_a_night_is_lost() -> None:
    small_bank = vary(plain_van(), {"bank.parallel": 1})
    hot = steady_weather(58.0)
    weak = vary(plain_van(cabin=plain_cabin(0.2)), {"bank.parallel": 60})
    assert from_bedtime(small_bank, steady_weather(OUTDOOR_C), season=ONE).table["why"].tolist() == ["battery"]
    assert from_bedtime(weak, hot, season=ONE).table["why"].tolist() == ["cooler"]
    assert from_bedtime(vary(weak, {"bank.parallel": 1}), hot, season=ONE).table["why"].tolist() == ["both"]


def test_after_waking_the_nights_last_segment_stays_in_force() -> None:
    """By day the plan opens the windows and stops cooling; the runtime must not see it."""
    night = PlanSegment(start="22:00", end="07:00", cooling="eco", people="out", dogs="out")
    open_day = PlanSegment(start="07:00", end="12:00", window_open=True, people="out", dogs="out")
    evening = PlanSegment(start="12:00", end="22:00", cooling="eco", people="out", dogs="out")
    by_plan = plain_van(day=(Day(segment=(open_day, evening, night)),))
    weather = steady_weather(OUTDOOR_C)
    one, other = (from_bedtime(s, weather, season=ONE).table["runtime_h"].iloc[0] for s in (by_plan, plain_van()))
    assert one > 9.5
    assert one == pytest.approx(other, rel=0.005)


def test_consecutive_nights_that_start_full_equal_independent_ones(desert: Weather) -> None:
    """A day of driving on a large alternator fills the bank before every account."""
    drive = PlanSegment(start="09:00", end="19:00", doing="driving", speed_kmh=80.0, people="out", dogs="out")
    evening = PlanSegment(start="19:00", end="21:00", people="out", dogs="out", doing="idling")
    rest = PlanSegment(start="21:00", end="09:00", cooling="eco", people="out", dogs="out")
    van = plain_van(
        day=(Day(segment=(drive, evening, rest)),),
        alternator=Alternator(idle_a=200.0, road_a=300.0),
        loads=(),
        night={"bedtime": "21:00", "waking": "09:00"},
    )
    found = nights(van, desert, season="07-10..07-16")
    independent, consecutive = found.independent.table, found.consecutive.table
    assert consecutive["start_soc"].min() > 1.0 - 1e-6
    assert found.reason == "charging-keeps-up"
    assert found.judged == "independent"
    apart_h = (independent["runtime_h"] - consecutive["runtime_h"]).abs()
    assert (apart_h <= one_cycle_h(found.independent)).all()
    assert (independent["covered"] == consecutive["covered"]).all()


def test_a_bank_that_nothing_charges_is_empty_in_its_periodic_state() -> None:
    found = nights(plain_van(), steady_weather(OUTDOOR_C), season="07-01..07-05")
    assert found.reason == "no-engine-or-shore"
    assert found.judged == "independent"
    table = found.consecutive.table
    assert found.consecutive.start_soc < 0.2
    assert table["runtime_h"].iloc[-1] == 0.0
    assert table["why"].iloc[-1] == "battery"
    assert table["cooler_wh"].iloc[-1] == 0.0
    # cooled day and night, a bank that lasts so many hours lasts so many whole accounts
    assert found.in_a_row.worst == int(hours_by_hand(plain_van().bank) // 24.0)


def test_of_as_many_covered_nights_the_reading_with_less_charge_left_is_the_headline(desert: Weather) -> None:
    """A week of travel and rest covers every night in both readings, and leaves less charge in one of them."""
    found = nights(load_scenario("scenarios/driving-week.toml"), desert, season="07-12..07-18")
    assert found.consecutive.covered == found.independent.covered
    left = {
        kind: read.table["waking_soc"].sort_values().iloc[0]
        for kind, read in (("independent", found.independent), ("consecutive", found.consecutive))
    }
    assert left["consecutive"] < left["independent"] - 0.01
    assert found.judged == "consecutive"
    assert found.headline is found.consecutive
    assert found.reason == "charging-keeps-up"


def test_charging_that_falls_behind_is_the_headline(desert: Weather) -> None:
    van = vary(load_scenario("scenarios/driving-week.toml"), {"bank.parallel": 1, "thermostat.setpoint_c": 21.0})
    found = nights(van, desert, season="07-01..07-21")
    assert found.consecutive.covered < found.independent.covered
    assert found.judged == "consecutive"
    assert found.headline is found.consecutive
    assert found.reason == "charging-falls-behind"


# --- properties: each within one compressor cycle ------------------------------------------------------------


def one_cycle_h(nights: NightsReading) -> np.ndarray:
    """Length of a cycle on each night [h], the night itself where the compressor never stops."""
    return 9.0 / np.maximum(nights.table["starts"].to_numpy(), 1)


def never_shorter(before: NightsReading, after: NightsReading) -> bool:
    slack = np.maximum(one_cycle_h(before), one_cycle_h(after))
    return bool((after.table["runtime_h"] >= before.table["runtime_h"] - slack).all())


@pytest.fixture(scope="module")
def camper() -> Scenario:
    van = load_scenario("scenarios/desert-night.toml")
    # the sky is the same with and without shade: see the exception below
    return vary(van, {"day.*.*.sky_view_factor": 0.6, "bank.parallel": 3})


HOT = "07-14..07-16"


@settings(max_examples=12, deadline=None)
@given(fewer=st.integers(1, 6), more=st.integers(1, 6))
def test_a_larger_bank_never_shortens_a_night(camper: Scenario, desert: Weather, fewer: int, more: int) -> None:
    small, large = (vary(camper, {"bank.parallel": n}) for n in (fewer, fewer + more))
    assert never_shorter(from_bedtime(small, desert, season=HOT), from_bedtime(large, desert, season=HOT))


@settings(max_examples=12, deadline=None)
@given(low=st.floats(21.0, 25.0), step=st.floats(0.2, 3.0))
def test_a_higher_set_point_never_shortens_a_night(camper: Scenario, desert: Weather, low: float, step: float) -> None:
    cold, warm = (vary(camper, {"thermostat.setpoint_c": c}) for c in (low, low + step))
    assert never_shorter(from_bedtime(cold, desert, season=HOT), from_bedtime(warm, desert, season=HOT))


@settings(max_examples=12, deadline=None)
@given(less=st.floats(0.0, 0.9), added=st.floats(0.05, 1.0))
def test_more_shade_never_shortens_a_hot_night(camper: Scenario, desert: Weather, less: float, added: float) -> None:
    open_, shaded = (vary(camper, {"day.*.*.shade": s}) for s in (less, min(less + added, 1.0)))
    assert never_shorter(from_bedtime(open_, desert, season=HOT), from_bedtime(shaded, desert, season=HOT))


@settings(max_examples=12, deadline=None)
@given(r=st.floats(0.3, 2.0), added=st.floats(0.1, 2.0), outdoor_c=st.floats(SETPOINT_C + 2.0, 40.0))
def test_better_insulation_never_shortens_a_night_hotter_outside(r: float, added: float, outdoor_c: float) -> None:
    weather = steady_weather(round(outdoor_c, 1))
    thin, thick = (from_bedtime(plain_van(cabin=plain_cabin(x)), weather, season=ONE) for x in (r, r + added))
    assert never_shorter(thin, thick)


# --- and where they stop being true --------------------------------------------------------------------------


def test_on_a_cool_night_better_insulation_shortens_a_full_vans_night() -> None:
    """Outside cooler than in, the walls let the heat of bodies out: insulation keeps it in, and the cooler works."""
    asleep = PlanSegment(start="00:00", end="00:00", cooling="eco", people="asleep", dogs="out")
    crowd = Occupants(people=(Person(),) * 5)
    thin, thick = (
        from_bedtime(
            plain_van(
                cabin=plain_cabin(r),
                occupants=crowd,
                day=(Day(segment=(asleep,)),),
                bank=Bank(unit=unit("lfp", 100.0), parallel=2, location="outside"),
            ),
            steady_weather(19.0),
            season=ONE,
        )
        for r in (0.5, 4.0)
    )
    lost_h = thin.table["runtime_h"].iloc[0] - thick.table["runtime_h"].iloc[0]
    assert lost_h > one_cycle_h(thick)[0]
    assert lost_h > 2.0


def test_shade_that_hides_the_night_sky_costs_energy_at_night(desert: Weather) -> None:
    """A tree keeps off the sun by day and the cold sky by night; only the first helps."""
    van = load_scenario("scenarios/desert-night.toml")
    tree = vary(van, {"day.at-the-camp.22:00.shade": 0.9})  # from bedtime to waking only
    bare, under = (from_bedtime(s, desert, season=HOT).table["cooler_wh"] for s in (van, tree))
    assert (under > bare * 1.02).all()


def test_a_higher_set_point_before_bedtime_alone_shortens_the_night(desert: Weather) -> None:
    """Warm contents at bedtime are work left for the night."""
    van = load_scenario("scenarios/desert-night.toml")
    late = vary(van, {"day.at-the-camp.18:30.setpoint_c": 30.0})
    before, after = (from_bedtime(s, desert, season=HOT).table["cooler_wh"] for s in (van, late))
    assert (after > before).all()


# --- seasons and margins -------------------------------------------------------------------------------------


def test_seasons_are_read(desert: Weather) -> None:
    assert span_of("jun-sep", desert).days == 30 + 31 + 31 + 30
    assert span_of("06-01..09-30", desert).days == 122
    assert span_of("dec-feb", desert).days == 90
    assert span_of("year", desert).days == 365
    assert span_of("jul", desert).days == 31
    hottest = span_of(None, desert)
    assert (hottest.date_of(0).month, hottest.days) == (6, 92)


@pytest.mark.parametrize("season", ["summer", "06-31..07-02", "6-1..7-1", "jun-jul-aug", "06-01..07-01..08-01", ""])
def test_what_is_no_season_is_refused(desert: Weather, season: str) -> None:
    with pytest.raises(ScenarioError):
        span_of(season, desert)


def test_nights_across_new_year_keep_their_order(desert: Weather) -> None:
    index = from_bedtime(plain_van(), desert, season="12-30..01-02").table.index
    assert [str(d.date()) for d in index] == ["2001-12-30", "2001-12-31", "2002-01-01", "2002-01-02"]


def test_a_heat_wave_warms_its_days_alone_and_says_so(desert: Weather) -> None:
    wave = HeatWave(shift_k=3.0, dates="07-10..07-12")
    found = [nights(plain_van(), desert, season="07-06..07-15", heat_wave=w) for w in (None, wave)]
    plain, hot = (one.independent for one in found)
    warmer = hot.table["outdoor_mean_c"] - plain.table["outdoor_mean_c"]
    inside = [str(d.date()) in ("2001-07-10", "2001-07-11") for d in hot.table.index]
    np.testing.assert_allclose(warmer[inside], 3.0)
    assert (warmer[:3] == 0.0).all()
    np.testing.assert_allclose(hot.table["dew_point_c"], plain.table["dew_point_c"])
    assert (hot.table["runtime_h"] <= plain.table["runtime_h"] + one_cycle_h(plain)).all()
    assert [note.values["shift_k"] for note in found[1].notes if "shift_k" in note.values] == [3.0]
    assert not any("shift_k" in note.values for note in found[0].notes)
    assert all("typical" in one.notes[0].code for one in found)


def test_a_reading_agrees_with_its_table(desert: Weather) -> None:
    van = vary(load_scenario("scenarios/desert-night.toml"), {"bank.parallel": 4})
    reading = nights(van, desert, target=0.8).independent
    table = reading.table
    assert reading.covered == table["covered"].sum()
    assert reading.share == table["covered"].mean()
    assert 0 < reading.covered < reading.count == len(table)
    assert reading.runtime_h(0.1) == np.percentile(table["runtime_h"], 10)
    assert reading.runtime_h(0.1) < reading.runtime_h(0.5) < reading.runtime_h(0.9)
    assert reading.by_month["nights"].sum() == len(table)
    assert sum(reading.reasons().values()) == len(table) - reading.covered
    assert table.loc[table["covered"], "why"].eq("").all()
    assert table.loc[~table["covered"], "why"].ne("").all()


def test_the_design_night_is_the_hardest_that_must_be_covered(desert: Weather) -> None:
    van = vary(load_scenario("scenarios/desert-night.toml"), {"bank.parallel": 6})
    reading = nights(van, desert).independent
    soc = reading.table["waking_soc"].to_numpy()
    assert reading.covered == reading.count
    for target in (0.5, 0.9, 1.0):
        place = reading.design_night(target)
        assert (soc < soc[place]).sum() == reading.count - int(np.ceil(target * reading.count - 1e-9))
        assert reading.night(place)["date"] == reading.table.index[place]
        assert reading.night(place)["waking_soc"] == soc[place]


def test_a_whole_day_as_a_night_counts_every_hour(desert: Weather) -> None:
    van = plain_van(night={"bedtime": "09:00", "waking": "09:00"})
    row = nights(van, steady_weather(OUTDOOR_C), season=ONE).independent.table.iloc[0]
    duty, power = by_hand()
    assert row["cooler_wh"] == pytest.approx(duty * power * 24.0, rel=0.01)
    assert row["loads_wh"] == pytest.approx(LOAD_W * 24.0)
    assert row["evening_wh"] == 0.0


def test_the_evening_counts(desert: Weather) -> None:
    """Cooling from three hours before bedtime on: charge at bedtime is what it leaves, by hand within 1 %."""
    day = PlanSegment(start="07:00", end="19:00", people="out", dogs="out", cooling="off", window_open=True)
    evening = PlanSegment(start="19:00", end="07:00", people="out", dogs="out", cooling="eco")
    van = plain_van(day=(Day(segment=(day, evening)),))
    row = nights(van, steady_weather(OUTDOOR_C), season=ONE).independent.table.iloc[0]
    duty, power = by_hand()
    assert f"{row['account_start']:%H:%M}" == "19:00"
    # the open cabin is as warm as outdoors at seven: the pull-down comes on top of three steady hours
    assert row["evening_wh"] > (duty * power + LOAD_W) * 3.0 * 1.05
    assert row["loads_wh"] == pytest.approx(LOAD_W * 9.0)
    used = row["evening_wh"]
    per_soc = van.bank.capacity_ah * 13.2
    assert row["bedtime_soc"] == pytest.approx(1.0 - used / per_soc, abs=0.02)


@given(st.integers(1, 60), st.integers(1, 70), st.integers(-5, 80))
def test_the_least_that_does_is_found_from_any_guess(most: int, least: int, guess: int) -> None:
    looked: list[int] = []

    def does(steps: int) -> bool:
        looked.append(steps)
        assert 1 <= steps <= most
        return steps >= least

    assert least_that(does, most, guess) == (least if least <= most else None)
    assert len(looked) == len(set(looked))
    assert len(looked) <= 2 * int(np.log2(most) + 2)
