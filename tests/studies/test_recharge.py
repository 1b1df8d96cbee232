"""Recharging after a night: from the van of a plain run at waking, by ways that a plain run can be told to take."""

from __future__ import annotations

from dataclasses import fields, replace
from typing import Any

import numpy as np
import pandas as pd
import pytest

from tests.support.clock_nights import BEDTIMES, NIGHT_H, ODD, clock, odd_van, van_at
from vansim.boundary import envelope
from vansim.boundary.ground import GroundYear, Shade, ground_year, shade_of
from vansim.climate import Weather
from vansim.errors import ScenarioError
from vansim.runs.recharge import way_forcing
from vansim.runs.result import Result
from vansim.runs.simulate import simulate
from vansim.scenario.files import load_scenario
from vansim.scenario.schema import DAY_MIN, Day, PlanSegment, Scenario, minutes
from vansim.scenario.vary import vary
from vansim.studies.recharge import recharge

WAY: dict[str, dict[str, Any]] = {
    "road": {"doing": "driving", "speed_kmh": 90.0},
    "idling": {"doing": "idling"},
    "shore": {"shore": True},
    "solar": {},
}
FITTED = {"charger": "charger-12v-100a", "shore.breaker_a": 15.0}
"""Shore power for the desert night, whose van has none."""


def until_waking_then(result: Result, way: str, waking: pd.Timestamp) -> pd.Series[float]:
    """State of charge from waking on, each minute of 24 h: the plan until then, then one way of recharging.

    The plan is written out hour by hour over three days, so that nothing of the study is used. A day's plan also says
    how the ground of its pitch has lain on all days before: that stays as it was planned, as the van leaves only now.
    """
    scenario, run = result.run.scenario, result.run
    wake_min = round((waking - result.moment(0.0)) / pd.Timedelta(minutes=1))
    segment = PlanSegment(start="00:00", end="00:00", people="awake", dogs="awake", **WAY[way])
    days, pitches = [], {}
    for number in range(-3, 4):  # the plan of each day of the cycle; the days before lead in
        planned = scenario.days()[number % len(scenario.days())]
        starts = minutes(planned.segment[0].start) + number * DAY_MIN
        days.append(Day(name=f"day {number}", segment=_turned(planned, wake_min - starts, segment)))
        pitches[shade_of(days[-1])] = shade_of(planned)
    changed = scenario.model_copy(
        update={
            "day": tuple(days),
            "cycle": tuple(f"day {n % 7 if n % 7 < 4 else n % 7 - 7}" for n in range(7)),
            "run": scenario.run.model_copy(update={"days": scenario.run.days + 2}),
        }
    )

    def ground(year: Weather, kind: str, wind: float, plan: tuple[Shade, ...]) -> GroundYear:
        pitch = ground_year(year, kind, wind, pitches.get(plan, plan))
        return replace(pitch, road_c=ground_year(year, kind, wind, plan).road_c)

    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(envelope, "ground_year", ground)
        whole = simulate(changed, run.weather)
    seconds = wake_min * 60.0 + 60.0 * np.arange(1.0, DAY_MIN + 1.0)
    soc = whole.follow(seconds)["soc"].to_numpy()
    start = float(whole.follow(np.array([wake_min * 60.0]))["soc"].iloc[0])
    return pd.Series(np.concatenate([[start], soc]), index=np.arange(DAY_MIN + 1) / 60.0)


def _turned(day: Day, wake_in: int, segment: PlanSegment) -> tuple[PlanSegment, ...]:
    """A day's plan, from some minutes after its start on turned into one segment."""
    if wake_in >= DAY_MIN:
        return day.segment
    start = day.segment[0].start
    if wake_in <= 0:
        return (segment.model_copy(update={"start": start, "end": start}),)
    kept, at = [], 0
    turned = (minutes(start) + wake_in) % DAY_MIN
    clock_at = f"{turned // 60:02d}:{turned % 60:02d}"
    for part in day.segment:
        if at + part.span_min > wake_in > at:
            kept.append(part.model_copy(update={"end": clock_at}))
        elif at < wake_in:
            kept.append(part)
        at += part.span_min
    return (*kept, segment.model_copy(update={"start": clock_at, "end": start}))


def goes_the_same_way(scenario: Scenario, weather: Weather, ways: tuple[str, ...]) -> None:
    """Every curve is the state of charge of a plain run that does so from waking on."""
    result = simulate(scenario, weather)
    found = recharge(result, 0, ways=ways)
    assert found.start_soc == result.nights["waking_soc"].iloc[0]
    for way in ways:
        plain = until_waking_then(result, way, found.waking)
        curve = found.table[way].dropna().iloc[: DAY_MIN + 1]
        np.testing.assert_allclose(curve, plain.iloc[: len(curve)], atol=2e-4, err_msg=way)
        reached = plain.index[plain >= 0.98]
        if len(reached):
            assert found.hours[way] == pytest.approx(reached[0], abs=2.1 / 60.0)


@pytest.mark.parametrize("bedtime", BEDTIMES)
def test_recharging_begins_at_the_waking_of_a_plain_run(desert: Weather, bedtime: str) -> None:
    van = van_at(bedtime, **FITTED)
    goes_the_same_way(van, desert, ("road", "shore", "solar"))
    result = simulate(van, desert)
    found = recharge(result)
    assert found.waking == clock(result, bedtime) + pd.Timedelta(hours=NIGHT_H)
    assert found.date == clock(result, bedtime).normalize()
    assert (found.night, found.nights, found.label) == (0, 1, "night")


@pytest.mark.parametrize("odd", ODD)
def test_recharging_in_vans_that_are_not_plain(desert: Weather, odd: str) -> None:
    van = odd_van(odd)
    ways = ("solar",) if van.alternator is None else ("idling", "solar")
    goes_the_same_way(van, desert, ways)


@pytest.mark.parametrize("name", ["desert-night", "coast-family", "kennel-day", "driving-week", "shore-weekend"])
def test_hours_are_those_of_the_table_of_nights(name: str) -> None:
    result = simulate(load_scenario(f"scenarios/{name}.toml"))
    for place in range(len(result.nights)):
        found, row = recharge(result, place), result.nights.iloc[place]
        assert found.date == row.name
        for way, hours in found.hours.items():
            told = row[f"recharge_{way}_h"]
            assert (hours is None and np.isinf(told)) or hours == told
            assert (found.outcome[way] == "reached") == (hours is not None)


def test_a_curve_ends_at_the_goal_and_rises_to_it(desert: Weather) -> None:
    result = simulate(vary(load_scenario("scenarios/desert-night.toml"), FITTED), desert)
    found = recharge(result, goal_soc=0.7)
    assert list(found.table) == ["road", "idling", "shore", "solar"]
    for way in ("road", "idling", "shore"):
        curve = found.table[way].dropna()
        assert curve.iloc[0] == found.start_soc
        assert curve.iloc[-1] >= 0.7 > curve.iloc[-2]
        assert curve.index[-1] == found.hours[way]
        assert curve.is_monotonic_increasing
    by_current = [found.hours[way] for way in ("road", "idling")]
    assert by_current[0] < by_current[1]  # type: ignore[operator]
    # 230 A cool, less with the root of the copper's resistance: windings 120 K over the air of the morning, in 12 min
    hours = np.linspace(0.0, found.hours["road"] or 0.0, 200)
    outdoor_c = result.hourly["outdoor_c"].loc[found.waking.floor("h")]
    winding_c = outdoor_c + 120.0 * (1.0 - np.exp(-hours / 0.2))
    offered_a = float(np.mean(230.0 / np.sqrt(1.0 + 0.00393 * np.maximum(winding_c - 25.0, 0.0))))
    # loads and panels, a few amperes each way, are left out
    assert found.hours["road"] == pytest.approx((0.7 - found.start_soc) * 600.0 / offered_a, rel=0.03)


def test_the_other_night_of_a_run_has_its_own_waking() -> None:
    result = simulate(load_scenario("scenarios/driving-week.toml"))
    found = [recharge(result, place) for place in (2, -1)]
    assert [f.start_soc for f in found] == list(result.nights["waking_soc"].iloc[[2, -1]])
    assert [f.night for f in found] == [2, 6]
    assert found[0].waking == result.nights.index[2] + pd.Timedelta(hours=30.5)


# --- ways that cannot -------------------------------------------------------------------------------------------------


def test_never_is_said_only_where_a_year_shows_it(desert: Weather) -> None:
    van = load_scenario("scenarios/desert-night.toml")
    slow = recharge(simulate(van, desert))
    assert (slow.hours["solar"], slow.outcome["solar"]) == (None, "not_within_48_h")
    assert slow.never == ()
    hungry = vary(van, {"loads.fridge.power_w": 400.0, "loads.fridge.duty": 1.0, "solar.rated_w": 60.0})
    short = recharge(simulate(hungry, desert))
    assert short.outcome["solar"] == "loads_exceed_charging"
    assert short.outcome["road"] == "reached"
    assert short.never == ("solar",)


def test_a_way_that_gives_nothing_at_all(desert: Weather) -> None:
    """An alternator that the vehicle takes for itself at idle, and a way for which nothing is fitted."""
    van = vary(load_scenario("scenarios/desert-night.toml"), {"alternator.idle_a": 20.0, "alternator.vehicle_a": 30.0,
                                                             "solar": "none", "loads": []})  # fmt: skip
    found = recharge(simulate(van, desert), ways=("road", "idling", "shore"))
    assert found.outcome == {"road": "reached", "idling": "nothing_given", "shore": "nothing_given"}
    assert found.never == ("idling", "shore")
    assert found.hours["idling"] is None


def full_within_a_year(van: Scenario, weather: Weather, start_soc: float, waking: pd.Timestamp) -> bool:
    """Left on its panels from a waking on, by a plain run of 365 days: is it ever full?"""
    day = Day(segment=(PlanSegment(start="00:00", end="00:00"),))
    window = van.run.model_copy(update={"date": f"{waking:%m-%d}", "start": f"{waking:%H:%M}", "days": 365})
    bank = van.bank.model_copy(update={"start_soc": start_soc})
    left = van.model_copy(update={"day": (day,), "cycle": (), "cooler": None, "run": window, "bank": bank})
    return bool((simulate(left, weather).hourly["soc"] >= 0.98).any())


def test_never_is_true_over_a_year_and_what_is_not_never_may_come(desert: Weather) -> None:
    """Vans left on their panels for a year by a plain run: one is full some day, one never."""
    base = load_scenario("scenarios/desert-night.toml")
    seen = set()
    for watts in (60.0, 250.0, 330.0):
        van = vary(base, {"loads.fridge.power_w": 60.0, "loads.fridge.duty": 1.0, "solar.rated_w": watts})
        found = recharge(simulate(van, desert), ways=("solar",))
        full = full_within_a_year(van, desert, found.start_soc, found.waking)
        assert not (full and found.outcome["solar"] == "loads_exceed_charging")
        seen.add((full, found.outcome["solar"]))
    assert (False, "loads_exceed_charging") in seen
    assert (True, "not_within_48_h") in seen


def test_a_bank_that_is_empty_all_winter_and_full_in_summer_is_not_never(desert: Weather) -> None:
    """Over the year the loads take 3 % more than the sun gives; from empty, the good months still fill a small bank."""
    hungry = {"loads.fridge.power_w": 60.0, "loads.fridge.duty": 1.0, "bank.parallel": 1, "run.date": "10-15"}
    van = vary(load_scenario("scenarios/desert-night.toml"), hungry)
    laid = simulate(van, desert).laid_nights
    assert laid is not None
    year = way_forcing(laid, "solar", 0, 365 * DAY_MIN)
    span = year.end_s - year.start_s
    watts = 200.0 * 0.97 * float((year.loads_w * span).sum() / (year.solar_w * span).sum())
    van = vary(van, {"solar.rated_w": watts})
    found = recharge(simulate(van, desert), ways=("solar",))
    assert found.outcome["solar"] == "not_within_48_h"
    assert full_within_a_year(van, desert, found.start_soc, found.waking)


def test_a_way_that_gives_a_little_more_than_is_taken_is_not_never(desert: Weather) -> None:
    """Five watts of panel and no loads on eight kilowatt-hours times ten: years, not never."""
    drip = {"loads": [], "solar.rated_w": 5.0, "bank.parallel": 64, "bank.start_soc": 0.2}
    found = recharge(simulate(vary(load_scenario("scenarios/desert-night.toml"), drip), desert), ways=("solar",))
    assert found.outcome["solar"] == "not_within_48_h"


def test_a_bank_that_is_full_needs_no_time() -> None:
    result = simulate(load_scenario("scenarios/shore-weekend.toml"))
    found = recharge(result)
    assert found.start_soc > 0.98
    assert set(found.hours.values()) == {0.0}
    assert set(found.outcome.values()) == {"reached"}


def test_what_cannot_be_asked_is_refused(desert: Weather) -> None:
    result = simulate(load_scenario("scenarios/desert-night.toml"), desert)
    with pytest.raises(ScenarioError) as told:
        recharge(result, goal_soc=1.2, ways=("wind",))
    assert len(told.value.faults) == 2
    assert "road, idling, shore, solar" in told.value.faults[1]
    with pytest.raises(ScenarioError, match="no such night"):
        recharge(result, 4)


def test_the_result_is_frozen(desert: Weather) -> None:
    found = recharge(simulate(load_scenario("scenarios/desert-night.toml"), desert))
    assert found.table.attrs == {}
    assert {f.name for f in fields(found)} >= {"table", "hours", "outcome", "start_soc", "goal_soc", "date", "waking"}
    with pytest.raises(AttributeError):
        found.goal_soc = 0.5  # type: ignore[misc]
