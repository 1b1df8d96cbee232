"""After the cooling stops: heat index against the service's chart, lines, and the moment and the van of plain runs."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import numpy as np
import pandas as pd
import pytest

from tests.support.clock_nights import BEDTIMES, ODD, odd_van, van_at
from tests.support.steady_nights import plain_van, steady_weather
from vansim.climate import Weather
from vansim.errors import ScenarioError
from vansim.heat_stress import (
    HEAT_INDEX_AIR_MAX_C,
    HEAT_INDEX_MAX_C,
    LINES,
    dog_line_c,
    heat_index_c,
    heat_index_off_scale,
)
from vansim.runs.result import Result
from vansim.runs.simulate import simulate
from vansim.scenario.files import load_scenario
from vansim.scenario.schema import Occupants, Scenario, minutes
from vansim.scenario.vary import vary
from vansim.studies.bank_empty import hardest_night
from vansim.studies.nights import nights
from vansim.studies.outage import Outage, WarmUpBias, outage, passed, with_heat_stress
from vansim.van.people import Person

CHART = pd.read_csv(Path(__file__).parent / "heat_index_chart.csv", index_col=0)
WEEK = "07-12..07-18"
COURSE = ["outdoor_c", "cabin_c", "contents_c", "cabin_rh"]


# --- heat stress ------------------------------------------------------------------------------------------------------


def f_of(temp_c: float) -> float:
    return temp_c * 1.8 + 32.0


@pytest.mark.published
@pytest.mark.parametrize("humidity", range(40, 90, 5))
def test_heat_index_is_that_of_the_weather_services_chart(humidity: int) -> None:
    """US National Weather Service heat index chart (Tulsa office), whole degF: half a degree is the chart's rounding.

    Above 85 % the service's own humid-air term exceeds its chart by up to 2.3 degF; those columns are left out. So is
    nothing else: where the simple form takes over, at 80 degF and 40 %, it agrees as well.
    """
    column = CHART[str(humidity)].dropna()
    for temp_f, chart in column.items():
        ours = f_of(heat_index_c((float(str(temp_f)) - 32.0) / 1.8, humidity / 100.0))
        assert ours == pytest.approx(chart, abs=0.6), (temp_f, humidity)


def test_heat_index_of_dry_and_humid_air_is_adjusted() -> None:
    """By hand from the service's formulae: 100 degF and 8 %; 84 degF and 95 %."""
    dry, humid = (heat_index_c((t - 32.0) / 1.8, r) for t, r in ((100.0, 0.08), (84.0, 0.95)))
    assert f_of(dry) == pytest.approx(_regression(100.0, 8.0) - 5.0 / 4.0 * (12.0 / 17.0) ** 0.5)
    assert f_of(humid) == pytest.approx(_regression(84.0, 95.0) + 1.0 * 3.0 / 5.0)


def _regression(t: float, r: float) -> float:
    powers = np.array([1.0, t, r, t * r, t * t, r * r, t * t * r, t * r * r, t * t * r * r])
    return float(
        powers
        @ [-42.379, 2.04901523, 10.14333127, -0.22475541, -0.00683783, -0.05481717, 0.00122874, 0.00085282, -0.00000199]
    )


@pytest.mark.published
@pytest.mark.parametrize(("humidity", "line_f"), [(0.9, 85), (0.7, 90), (0.5, 95), (0.3, 100), (0.1, 105)])
def test_the_line_for_dogs(humidity: float, line_f: float) -> None:
    """FAA Office of Aviation Medicine AM-87/8: 85 degF at 90 % RH, 4 % RH less per degF."""
    assert f_of(dog_line_c(humidity)) == pytest.approx(line_f)


def test_thresholds_are_read_off_a_course() -> None:
    minute = np.arange(0.0, 101.0)
    course = pd.DataFrame(
        {
            "cabin_c": 20.0 + 0.1 * minute,
            "heat_index_c": 50.0,
            "off_scale": "",
            "margin_to_dog_line_k": 30.5 - minute,
        },
        index=pd.Index(minute, name="minutes"),
    )
    lines = passed(course)
    assert lines.loc["bedroom_criterion", "minutes"] == 61.0
    assert lines.loc["bedroom_criterion", "minutes_above"] == 39.0
    assert lines.loc["danger", "minutes"] == 0.0
    assert lines.loc["danger", "minutes_above"] == 100.0
    assert lines.loc["extreme_danger", "minutes"] == float("inf")
    assert lines.loc["extreme_danger", "minutes_above"] == 0.0
    assert lines.loc["dogs_survival", "minutes"] == 31.0
    assert lines["source"].str.len().min() > 5
    assert list(lines.index) == [line.code for line in LINES]


def test_a_heat_index_off_the_scale_is_no_number_and_above_every_line() -> None:
    """Damp air beyond 58 °C of index; dry air beyond 50 °C, where the formula gives less than the air itself."""
    cabin_c, cabin_rh = np.array([30.0, 44.0, 49.9, 52.0, 60.0]), np.array([0.5, 0.6, 0.05, 0.04, 0.5])
    series = with_heat_stress(pd.DataFrame({"cabin_c": cabin_c, "cabin_rh": cabin_rh}, index=pd.Index(range(5))))
    assert list(series["off_scale"]) == ["", "index", "", "air", "air"]
    assert list(series["heat_index_c"].isna()) == [False, True, False, True, True]
    assert heat_index_c(52.0, 0.04) < 52.0  # what must not be shown
    lines = passed(series)
    assert lines.loc["extreme_danger", "minutes"] == 1.0
    assert lines.loc["extreme_danger", "minutes_above"] == 2.0  # steps 1 and 3 of those four; 49.9 °C at 5 % is below
    assert HEAT_INDEX_MAX_C == pytest.approx(58.3, abs=0.05)
    assert heat_index_off_scale(HEAT_INDEX_AIR_MAX_C, HEAT_INDEX_MAX_C) == ""


@pytest.mark.published
def test_every_cell_of_the_chart_lies_on_the_scale() -> None:
    """The chart of the service ends at 137 degF; its rounding is half a degree."""
    for humidity in range(40, 90, 5):
        for temp_f in CHART[str(humidity)].dropna().index:
            air_c = (float(temp_f) - 32.0) / 1.8
            index = heat_index_c(air_c, humidity / 100.0)
            assert heat_index_off_scale(air_c, index - 0.6 / 1.8) == ""


# --- the true moment --------------------------------------------------------------------------------------------------


def plain_nights(scenario: Scenario, weather: Weather, season: str) -> list[Result]:
    """Every night of a season by a plain run of its own."""
    first, last = season.split("..")
    days = pd.date_range(f"2001-{first}", f"2001-{last}")
    return [simulate(vary(scenario, {"run.date": f"{day:%m-%d}", "run.days": 1}), weather) for day in days]


def earliest(scenario: Scenario, runs: list[Result]) -> Result:
    """The run in which the bank is empty earliest, counted from bedtime."""
    bedtime = pd.Timedelta(minutes=minutes(scenario.night.bedtime))
    nights = [run.nights.iloc[0] for run in runs]
    after = [night["empty_at"] - (night.name + bedtime) for night in nights]
    assert not all(pd.isna(hours) for hours in after)
    return runs[int(np.argmin([pd.Timedelta.max if pd.isna(hours) else hours for hours in after]))]


def same_moment(found: Outage, run: Result) -> None:
    """The moment, and the van at it, of a plain run of that night."""
    row = run.nights.iloc[0]
    assert found.night is not None
    assert found.night.date == row.name
    assert abs(found.moment - row["empty_at"]) < pd.Timedelta(milliseconds=1)
    assert found.moment == found.design.headline.table.loc[row.name, "empty_at"]
    course = found.courses[0].series
    assert course["outdoor_c"].iloc[0] == pytest.approx(outdoor_at(found.design.season.weather, found.moment), abs=1e-6)
    assert course["cabin_c"].iloc[0] == pytest.approx(row["cabin_at_empty_c"], abs=1e-9)
    seconds = (row["empty_at"] - run.moment(0.0)) / pd.Timedelta(seconds=1)
    now = run.follow(np.array([seconds])).iloc[0]
    for column in COURSE:
        assert course[column].iloc[0] == pytest.approx(now[column], abs=1e-6), column


@pytest.mark.parametrize("bedtime", BEDTIMES)
def test_the_moment_is_that_of_a_plain_run_at_any_hour(desert: Weather, bedtime: str) -> None:
    """Of all nights of a week the one on which the bank is empty earliest, before bedtime or after."""
    van = van_at(bedtime, **{"bank.parallel": 2})
    found = outage(van, desert, season=WEEK)
    assert (found.when, found.stop, found.reading) == ("bank_empty", "bank_empty", "independent")
    same_moment(found, earliest(van, plain_nights(van, desert, WEEK)))


def test_before_bedtime_and_with_the_segment_of_that_hour(desert: Weather) -> None:
    """One battery is empty in the evening: the plan's evening holds, two awake, not the night's."""
    van = vary(load_scenario("scenarios/desert-night.toml"), {"bank.parallel": 1})
    found = outage(van, desert, season=WEEK)
    assert found.night is not None
    assert found.night.from_bedtime_h < -2.0
    assert (found.segment.start, found.segment.people) == ("18:30", "awake")
    assert (found.people, found.dogs) == (2, 0)
    asleep = outage(vary(van, {"bank.parallel": 4}), desert, season=WEEK)
    assert (asleep.segment.start, asleep.segment.people) == ("22:00", "asleep")
    assert asleep.night is not None
    assert asleep.night.from_bedtime_h > 0.0


@pytest.mark.parametrize("odd", ODD)
def test_the_moment_in_vans_that_are_not_plain(desert: Weather, odd: str) -> None:
    van = vary(odd_van(odd), {"bank.parallel": 1 if odd == "in series" else 2})
    season = "07-14..07-16"
    found = outage(van, desert, season=season)
    assert found.stop == "bank_empty"
    same_moment(found, earliest(van, plain_nights(van, desert, season)))


@pytest.mark.parametrize(("start_soc", "full_at_bedtime"), [(0.3, False), (0.4, True)])
def test_charge_and_start_of_the_account_are_taken_over(
    desert: Weather, start_soc: float, full_at_bedtime: bool
) -> None:
    van = vary(load_scenario("scenarios/desert-night.toml"), {"bank.parallel": 4})
    found = outage(van, desert, season=WEEK, start_soc=start_soc, full_at_bedtime=full_at_bedtime)
    start = "bedtime" if full_at_bedtime else "first cooling"
    plain = vary(van, {"bank.start_soc": start_soc, "run.start": start})
    same_moment(found, earliest(plain, plain_nights(plain, desert, WEEK)))
    assert ("full-at-bedtime" in [note.code for note in found.notes]) == full_at_bedtime


def test_consecutive_nights_where_they_are_the_worse(desert: Weather) -> None:
    """Two hours of idling a day do not keep up: the moment is that of the same nights run one after another."""
    idling = {"bank.parallel": 6, "solar": "none", "day.at-the-camp.07:00.doing": "idling"}
    van = vary(load_scenario("scenarios/desert-night.toml"), idling)
    found = outage(van, desert, season=WEEK)
    assert found.reading == "consecutive"
    row = simulate(
        vary(van, {"run.date": WEEK[:5], "run.days": 7, "bank.start_soc": found.design.consecutive.start_soc}), desert
    ).nights
    own = row[row["empty_at"].notna() & (row["empty_at"] >= row["account_start"])]
    after = own["empty_at"] - own.index - pd.Timedelta(hours=22)
    night = own.loc[after.idxmin()]
    assert abs(found.moment - night["empty_at"]) < pd.Timedelta(milliseconds=1)
    assert found.courses[0].series["cabin_c"].iloc[0] == pytest.approx(night["cabin_at_empty_c"], abs=1e-6)
    assert night.name > row.index[0]  # not the first


def test_of_nights_that_tie_the_earliest_and_not_the_first_is_taken() -> None:
    """Bank carried over in a climate that never changes: later nights begin empty, and their moment is the first's."""
    van = vary(plain_van(), {"bank.parallel": 4})
    nights = simulate(vary(van, {"run.date": "07-10", "run.days": 4}), steady_weather(34.0)).nights
    assert nights["empty_at"].notna().sum() > 1
    assert (nights["runtime_h"] == 0.0).sum() > 1
    found = hardest_night(nights, van)
    assert found is not None
    assert found.at == nights["empty_at"].dropna().iloc[0]
    assert found.date == nights.index[nights["account_start"] <= found.at][-1]


def test_where_no_account_empties_the_bank_the_runtime_is_followed(desert: Weather) -> None:
    """From bedtime, cooling left on and nothing charging: the runtime of the night's plain run, at its shortest."""
    van = load_scenario("scenarios/desert-night.toml")
    found = outage(van, desert, season=WEEK)
    assert (found.stop, found.reading) == ("left_on", "independent")
    runs = plain_nights(van, desert, WEEK)
    hours = [float(run.nights["runtime_h"].iloc[0]) for run in runs]
    assert found.night is not None
    assert found.night.date == runs[int(np.argmin(hours))].nights.index[0]
    assert found.night.from_bedtime_h == pytest.approx(min(hours), abs=1e-9)
    apart = found.moment - found.night.bedtime - pd.Timedelta(hours=min(hours))
    assert abs(apart) < pd.Timedelta(milliseconds=1)
    assert found.night.bedtime == found.night.date + pd.Timedelta(hours=22)
    code = next(note for note in found.notes if note.code == "no-account-empties-the-bank")
    consecutive = nights(van, desert, season=WEEK).consecutive.table
    assert code.values == {"nights": 7, "consecutive_empty": int(consecutive["empty_at"].notna().sum())}
    assert code.values["consecutive_empty"] > 0


def outdoor_at(weather: Weather, moment: pd.Timestamp) -> float:
    """Outdoor air at a moment, straight between the hours of the file."""
    air = weather.data["temp_air"]
    hours = (moment - air.index[0]) / pd.Timedelta(hours=1)
    return float(np.interp(hours, np.arange(air.size), air.to_numpy()))


def test_a_runtime_counts_no_charging_between_bedtime_and_waking(desert: Weather) -> None:
    """The kennel's day is driven in between: nothing of that charge is in the moment, nor in the van at it."""
    van = vary(load_scenario("scenarios/kennel-day.toml"), {"bank.parallel": 4})
    found = outage(van, desert, season="07-16..07-17")
    assert found.stop == "left_on"
    runtimes = [float(run.nights["runtime_h"].iloc[0]) for run in plain_nights(van, desert, "07-16..07-17")]
    assert found.night is not None
    assert found.night.from_bedtime_h == pytest.approx(min(runtimes), abs=1e-9)
    assert 4.0 < found.night.from_bedtime_h < 12.0
    course = found.courses[0].series
    assert course["outdoor_c"].iloc[0] == pytest.approx(outdoor_at(desert, found.moment), abs=1e-6)
    # cooled until then: flat out it is behind on the road, but far below the air outside, and rising once it stops
    assert course["cabin_c"].iloc[0] < course["outdoor_c"].iloc[0] - 12.0
    assert course["cabin_c"].iloc[10] > course["cabin_c"].iloc[0] + 4.0


def test_the_van_at_the_end_of_a_runtime_is_that_of_a_run_that_goes_on() -> None:
    """One segment all day and nothing that charges: the next days of a plain run are what the runtime follows."""
    van = vary(plain_van(), {"bank.parallel": 6, "night.waking": "23:00", "night.bedtime": "22:00"})
    weather = steady_weather(34.0)
    found = outage(van, weather, season="07-10..07-10", full_at_bedtime=True)
    assert found.stop == "left_on"
    run = simulate(vary(van, {"run.date": "07-10", "run.days": 3, "run.start": "bedtime"}), weather)
    disconnected = run.events[run.events["kind"] == "disconnected"].iloc[0]["time_s"]
    assert (found.moment - run.moment(0.0)) / pd.Timedelta(seconds=1) == pytest.approx(disconnected, abs=1e-3)
    after = run.follow(disconnected + 60.0 * np.arange(0.0, 361.0))
    for column in COURSE:
        np.testing.assert_allclose(found.courses[0].series[column].iloc[:361], after[column], atol=1e-3)


def test_a_bank_that_outlasts_two_days_stops_by_a_fault_at_the_warmest_hour(desert: Weather) -> None:
    van = vary(load_scenario("scenarios/desert-night.toml"), {"bank.parallel": 64})
    found = outage(van, desert, season="07-14..07-15")
    assert found.stop == "fault"
    assert found.night is not None
    assert found.night.at is None
    assert found.night.from_bedtime_h == float("inf")
    assert f"{found.moment:%H:%M}" == "22:00"
    assert {"no-account-empties-the-bank", "outlasts-48-h"} <= {note.code for note in found.notes}
    assert found.courses[0].series["cabin_c"].iloc[0] < 26.5


# --- what comes then --------------------------------------------------------------------------------------------------


@pytest.mark.parametrize("parallel", [2, 4])
def test_the_course_is_what_the_same_night_goes_on_to_be(desert: Weather, parallel: int) -> None:
    """The plan is closed up already, so until its segment ends a plain run with an empty bank is the same cabin."""
    van = vary(load_scenario("scenarios/desert-night.toml"), {"bank.parallel": parallel, "bank.location": "outside"})
    found = outage(van, desert, season=WEEK)
    run = simulate(vary(van, {"run.date": f"{found.moment - pd.Timedelta(hours=12):%m-%d}"}), desert)
    ends = found.moment.normalize() + pd.Timedelta(hours=22 if found.segment.start == "18:30" else 7)
    ends += pd.Timedelta(days=int(ends < found.moment))
    count = int((ends - found.moment) / pd.Timedelta(minutes=1))
    assert count > 20
    seconds = (found.moment - run.moment(0.0)) / pd.Timedelta(seconds=1) + 60.0 * np.arange(count)
    after = run.follow(seconds)
    for column in COURSE:
        np.testing.assert_allclose(found.courses[0].series[column].iloc[:count], after[column], atol=2e-3)


def test_the_van_is_closed_up_whatever_the_plan_has_open(desert: Weather) -> None:
    """Windows and roof fan of the segment are shut, and it stands: as a plan that had it so all along, from then on."""
    open_ = {"day.*.22:00.window_open": True, "day.*.22:00.fan": "on", "bank.parallel": 2, "bank.start_soc": 0.9}
    van = vary(load_scenario("scenarios/desert-night.toml"), open_)
    found = outage(van, desert, season="07-15..07-15", full_at_bedtime=True)
    assert found.segment.window_open
    course = found.courses[0].series
    closed = course["cabin_c"].iloc[60] - course["cabin_c"].iloc[0]
    airy = simulate(vary(van, {"run.date": "07-15", "run.start": "bedtime"}), desert)
    seconds = (found.moment - airy.moment(0.0)) / pd.Timedelta(seconds=1)
    opened = airy.follow(np.array([seconds, seconds + 3600.0]))["cabin_c"]
    assert 1.2 * closed < opened.iloc[1] - opened.iloc[0]  # a hot night: the open van warms faster at first


def test_whom_the_plan_has_out_is_not_aboard(desert: Weather) -> None:
    """People out, one dog in: it is alone, warms the cabin by itself, and the caution is there with the time."""
    changes: dict[str, Any] = {
        "occupants.dogs": [{"mass_kg": 30.0}], "day.*.18:30.people": "out", "bank.parallel": 1,
    }  # fmt: skip
    van = vary(load_scenario("scenarios/desert-night.toml"), changes)
    found = outage(van, desert, season=WEEK)
    assert (found.people, found.dogs) == (0, 1)
    assert found.unattended is not None
    assert found.unattended.code == "only-animals"
    assert found.unattended.bank_empty == found.night
    assert found.unattended.note.values["empty_at"] == found.moment.isoformat()
    with_people = outage(vary(van, {"day.*.18:30.people": "awake"}), desert, season=WEEK)
    assert with_people.unattended is None
    assert with_people.people == 2


def test_those_aboard_warm_the_cabin() -> None:
    """Two sleepers lift a closed cabin above the air outside; with the plan's people out it stays below."""
    last = {}
    for people in ("asleep", "out"):
        day = plain_van().day[0].segment[0].model_copy(update={"people": people})
        plan = (plain_van().day[0].model_copy(update={"segment": (day,)}),)
        van = plain_van(day=plan, occupants=Occupants(people=(Person(), Person())))
        found = outage(van, steady_weather(30.0), season="07-10..07-10")
        assert found.people == (2 if people == "asleep" else 0)
        last[people] = found.courses[0].series["cabin_c"].iloc[-1]
    assert last["asleep"] > 30.5 > 30.0 > last["out"]


def test_an_empty_van_warms_up_towards_the_outdoors_and_no_further() -> None:
    """No sun, no bodies, no load that warms: the end is known."""
    found = outage(plain_van(), steady_weather(34.0), season="07-10..07-10")
    cabin = found.courses[0].series["cabin_c"]
    assert len(cabin) == 12 * 60 + 1
    assert cabin.is_monotonic_increasing
    assert 33.0 < cabin.iloc[-1] < 34.0
    assert found.courses[0].lines.loc["dogs_above_thermoneutral", "minutes"] == float("inf")


# --- in the sun -------------------------------------------------------------------------------------------------------


def test_in_the_sun_without_covers_and_with(desert: Weather) -> None:
    van = vary(
        load_scenario("scenarios/desert-night.toml"), {"day.*.*.shade": 0.7, "occupants.dogs": [{"mass_kg": 9.0}]}
    )
    found = outage(van, desert, when="sun", season=WEEK)
    assert (found.stop, found.reading, found.night) == ("sun", None, None)
    without, with_ = found.courses
    assert (without.covers, with_.covers) == (False, True)
    assert (found.people, found.dogs) == (2, 1)
    for course in (without, with_):
        assert course.series["cabin_c"].iloc[0] == pytest.approx(24.0)
        assert course.series["contents_c"].iloc[0] == pytest.approx(24.0)
    half_hour = [course.series["cabin_c"].iloc[30] for course in (without, with_)]
    assert half_hour[0] > half_hour[1] + 1.0
    # the plan's shade is gone, and noon is that of the hottest day of the week
    open_ = outage(vary(van, {"day.*.*.shade": 0.0}), desert, when="sun", season=WEEK)
    pd.testing.assert_frame_equal(open_.courses[0].series, without.series)
    air = desert.data["temp_air"].loc["2001-07-12":"2001-07-18"]
    assert found.moment == air.idxmax().normalize() + pd.Timedelta(hours=12)
    assert without.series["outdoor_c"].iloc[0] == pytest.approx(air.loc[found.moment], abs=1e-9)
    assert list(found.table["covers"]) == [False] * len(LINES) + [True] * len(LINES)
    assert found.table["minutes"].to_numpy()[: len(LINES)] == pytest.approx(without.lines["minutes"].to_numpy())


def test_covers_can_be_asked_for(desert: Weather) -> None:
    van = load_scenario("scenarios/desert-night.toml")
    for when in ("bank_empty", "sun"):
        for covers in (False, True):
            (course,) = outage(van, desert, when, covers, season=WEEK).courses  # type: ignore[arg-type]
            assert course.covers == covers
    (as_planned,) = outage(van, desert, season=WEEK).courses
    assert as_planned.covers


def test_sun_is_faster_than_night(desert: Weather) -> None:
    van = vary(load_scenario("scenarios/desert-night.toml"), {"bank.parallel": 4})
    night, sun = (outage(van, desert, when, season=WEEK) for when in ("bank_empty", "sun"))  # type: ignore[arg-type]
    line = "dogs_above_thermoneutral"
    assert sun.courses[0].lines.loc[line, "minutes"] < 0.5 * night.courses[0].lines.loc[line, "minutes"]
    assert "heat-index-off-scale" in [note.code for note in sun.notes]
    assert sun.courses[0].series["off_scale"].isin(["air", "index"]).any()


# --- and what stands beside it ----------------------------------------------------------------------------------------


def test_the_known_bias_stands_beside_the_minutes(desert: Weather) -> None:
    found = outage(load_scenario("scenarios/desert-night.toml"), desert, season="07-14..07-14")
    assert found.bias == WarmUpBias()
    assert found.bias.first_half_hour_k == (-0.1, 1.4)  # worked out in tests/published/test_parked_car.py
    assert found.bias.one_hour_k == 2.5


def test_what_cannot_be_asked_is_refused(desert: Weather) -> None:
    with pytest.raises(ScenarioError, match="bank_empty, sun"):
        outage(plain_van(), desert, "noon")  # type: ignore[arg-type]
    bare = vary(load_scenario("scenarios/desert-night.toml"), {"day.*.*.cooling": "off", "cooler": "none"})
    with pytest.raises(ScenarioError, match="no cooling"):
        outage(bare, desert)
    with pytest.raises(ScenarioError, match="start_soc"):
        outage(plain_van(), desert, start_soc=1.4)


def test_the_result_is_frozen(desert: Weather) -> None:
    found = outage(load_scenario("scenarios/desert-night.toml"), desert, season="07-14..07-14")
    assert found.table.attrs == {}
    with pytest.raises(AttributeError):
        found.stop = "sun"  # type: ignore[misc]
