"""Ranking of upgrades: by nights, then charge left, then energy; each row again by plain runs of the season."""

from __future__ import annotations

import numpy as np
import pandas as pd
import pytest

from vansim.climate import Weather
from vansim.scenario.files import load_scenario
from vansim.scenario.plan import with_more
from vansim.scenario.schema import Scenario
from vansim.scenario.vary import vary
from vansim.studies.changes import Change, standard_changes
from vansim.studies.missing_charging import CHANGE, with_more_charging
from vansim.studies.nights import nights
from vansim.studies.upgrades import Outcome, left_kwh, upgrades
from vansim.van.bank import bank_parameters, energy_at

SEASON = "07-10..07-16"


@pytest.fixture(scope="module")
def camper() -> Scenario:
    return vary(load_scenario("scenarios/desert-night.toml"), {"bank.parallel": 5})


@pytest.fixture(scope="module")
def driver() -> Scenario:
    return vary(load_scenario("scenarios/driving-week.toml"), {"bank.parallel": 1})


@pytest.mark.parametrize("who", ["camper", "driver"])
def test_every_row_is_what_nights_says_of_the_changed_van(
    who: str, request: pytest.FixtureRequest, desert: Weather
) -> None:
    van: Scenario = request.getfixturevalue(who)
    found = upgrades(van, desert, season=SEASON)
    base = nights(van, desert, season=SEASON)
    assert found.reading == ("independent" if who == "camper" else "consecutive")
    before = getattr(base, found.reading)
    assert found.design_night == before.table.index[before.design_night(0.95)]
    assert found.before.covered == before.covered
    made = {change.code: change for change in standard_changes(van)}
    assert set(found.table.index) | set(found.left_out) == set(made)
    for code, row in found.table.iterrows():
        change = made[str(code)]
        changed = change.make(van) if change.make is not None else vary(van, change.keys)
        both = nights(changed, desert, season=SEASON)
        reading = getattr(both, found.reading)
        other = both.independent if found.reading == "consecutive" else both.consecutive
        assert row["other_covered"] == other.covered
        assert row["other_gained"] == other.covered - found.before.other_covered
        night = reading.table.loc[found.design_night]
        assert row["covered"] == reading.covered
        assert row["gained_nights"] == reading.covered - before.covered
        assert row["loses_nights"] == (reading.covered < before.covered)
        assert row["waking_soc"] == pytest.approx(night["waking_soc"], abs=1e-12)
        used = reading.table[["evening_wh", "cooler_wh", "loads_wh"]].sum(axis=1).mean()
        was = before.table[["evening_wh", "cooler_wh", "loads_wh"]].sum(axis=1).mean()
        assert row["energy_saved_wh"] == pytest.approx(was - used, abs=1e-6)
        assert row["left_kwh"] == left_kwh(changed.bank, row["waking_soc"])


def test_the_order_is_nights_then_charge_then_energy(camper: Scenario, desert: Weather) -> None:
    found = upgrades(camper, desert, season=SEASON)
    keeps = found.table[~found.table["loses_nights"]]
    assert found.table["loses_nights"].is_monotonic_increasing
    keys = list(zip(keeps["covered"], keeps["left_kwh"].round(3), keeps["energy_saved_wh"].round(1), strict=True))
    assert keys == sorted(keys, reverse=True)
    assert found.best is not None
    assert found.best.name == keeps.index[0]


def test_shade_by_day_is_worth_something(camper: Scenario, desert: Weather) -> None:
    row = upgrades(camper, desert, season=SEASON).table.loc["shade-by-day"]
    assert row["gained_kwh"] > 0.1
    assert row["energy_saved_wh"] > 100.0


def test_a_change_that_loses_nights_is_never_first(camper: Scenario, desert: Weather) -> None:
    """A small battery fewer with a warmer limit saves energy and loses the night."""
    worse = Change("no_cooling_in_the_evening", {"day.at-the-camp.18:30.cooling": "off"})
    better = Change("shade", {"day.at-the-camp.09:00.shade": 0.8})
    found = upgrades(camper, desert, changes=[worse, better], season=SEASON)
    assert found.table.loc["no_cooling_in_the_evening", "loses_nights"]
    assert found.table.loc["no_cooling_in_the_evening", "gained_kwh"] > found.table.loc["shade", "gained_kwh"]
    assert found.table.index[0] == "shade"
    assert found.best is not None
    assert found.best.name == "shade"
    only = upgrades(camper, desert, changes=[worse], season=SEASON)
    assert only.best is None


def test_as_many_batteries_do_as_much(camper: Scenario, desert: Weather) -> None:
    found = upgrades(camper, desert, season=SEASON)
    assert found.table.loc["one-more-battery", "same_by_batteries"] == pytest.approx(1.0)
    assert found.table.loc["boost-throughout", "same_by_batteries"] == 0.0
    part = found.table.loc["shade-by-day"]
    one = found.table.loc["one-more-battery"]
    if part["covered"] == one["covered"] == found.before.covered:
        assert part["same_by_batteries"] == pytest.approx(part["gained_kwh"] / one["gained_kwh"])


def test_pairs_are_marched_together(camper: Scenario, desert: Weather) -> None:
    found = upgrades(camper, desert, season=SEASON)
    assert len(found.pairs) > 0
    assert found.pairs["covered"].is_monotonic_decreasing
    pair = found.pairs.iloc[0]
    keys = {**found.changes[pair["first"]].keys, **found.changes[pair["second"]].keys}
    both = nights(vary(camper, keys), desert, season=SEASON).independent
    assert pair["covered"] == both.covered
    assert pair["waking_soc"] == pytest.approx(both.table.loc[found.design_night, "waking_soc"], abs=1e-12)
    alone = found.table.loc[[pair["first"], pair["second"]], "gained_kwh"].sum()
    assert pair["together_kwh"] == pytest.approx(pair["gained_kwh"] - alone)


def test_pairs_take_changes_that_keys_cannot_say(driver: Scenario, desert: Weather) -> None:
    """More driving is put on top of what keys change; the pair is what `nights` says of the van with both.

    Two strings, for one leaves nothing at waking, and more driving is then not among the best.
    """
    driver = vary(driver, {"bank.parallel": 2})
    found = upgrades(driver, desert, season=SEASON)
    pairs = found.pairs[(found.pairs["first"] == "more-driving") | (found.pairs["second"] == "more-driving")]
    assert len(pairs) > 0
    pair = pairs.iloc[0]
    other = found.changes[pair["first"] if pair["second"] == "more-driving" else pair["second"]]
    assert other.make is None
    made = with_more(vary(driver, other.keys), 30, CHANGE["road"])
    both = nights(made, desert, season=SEASON).consecutive
    assert pair["covered"] == both.covered
    assert pair["waking_soc"] == pytest.approx(both.table.loc[found.design_night, "waking_soc"], abs=1e-12)
    assert not found.pairs["loses_nights"].any()


def test_a_van_without_panels_is_offered_some(desert: Weather) -> None:
    """Whatever is fitted, panels can be added: like the smallest array of the library, rated and as large as asked."""
    van = vary(load_scenario("scenarios/desert-night.toml"), {"solar": "none", "alternator": "none"})
    made = with_more_charging(van, "solar", 300.0)
    assert made.solar is not None
    assert (made.solar.rated_w, made.solar.area_m2) == pytest.approx((300.0, 300.0 / 200.0 * 0.98))
    found = upgrades(van, desert, season="07-14..07-15", pairs=False)
    assert "more-solar" in found.table.index
    assert {"more-driving", "larger-alternator"} <= set(found.left_out)
    study = nights(van, desert, season="07-10..07-16")
    (panels,) = study.missing
    assert panels.way == "solar"
    assert panels.amount is not None
    reached = {
        w: nights(with_more_charging(van, "solar", w), desert, season="07-10..07-16").consecutive.covered
        for w in (panels.amount - 100.0, panels.amount)
    }
    assert reached[panels.amount] == 7
    assert reached[panels.amount - 100.0] < 7


def test_charge_left_is_energy_above_the_reserve(camper: Scenario) -> None:
    b = bank_parameters(camper.bank)
    soc = np.linspace(camper.bank.reserve_soc, 0.6, 20001)
    volts = np.gradient([energy_at(b, s) for s in soc], soc)
    by_hand = np.trapezoid(volts, soc) * b.capacity_as / 3.6e6
    assert left_kwh(camper.bank, 0.6) == pytest.approx(by_hand, rel=1e-4)
    assert left_kwh(camper.bank, 0.05) == 0.0


def test_rank_puts_nights_before_charge_before_energy() -> None:
    few_full, many_empty = Outcome(3, 9.0, 0.9, 100.0), Outcome(4, 0.1, 0.1, 900.0)
    assert many_empty.rank > few_full.rank
    assert Outcome(4, 0.2, 0.1, 900.0).rank > many_empty.rank
    assert Outcome(4, 0.1, 0.1, 800.0).rank > many_empty.rank


def test_more_of_a_way_of_charging_changes_so_many_minutes_a_day(camper: Scenario, driver: Scenario) -> None:
    for van, minutes_more in ((camper, 95), (driver, 40)):
        for way, change in CHANGE.items():
            if way == "shore" and van is camper:
                continue
            changed = with_more_charging(van, way, minutes_more)
            for before, after in zip(van.days(), changed.days(), strict=True):
                spent = [(s, {name: getattr(s, name) for name in change}) for s in after.segment]
                more = sum(s.span_min for s, now in spent if now == dict(change))
                was = sum(s.span_min for s in before.segment if {n: getattr(s, n) for n in change} == dict(change))
                assert more - was == minutes_more
                assert sum(s.span_min for s in after.segment) == 24 * 60
                assert after.segment[0].start == before.segment[0].start


def test_more_time_comes_after_waking_and_never_from_the_night(camper: Scenario) -> None:
    day = with_more(camper, 24 * 60, CHANGE["road"]).days()[0]
    asleep = [s for s in day.segment if s.people == "asleep"]
    assert all(s.doing == "parked" for s in asleep)
    assert sum(s.span_min for s in day.segment if s.doing == "driving") == 15 * 60
    first = with_more(camper, 30, CHANGE["road"]).days()[0]
    (drive,) = [s for s in first.segment if s.doing == "driving"]
    assert (drive.start, drive.end) == ("07:00", "07:30")


def test_missing_charging_is_the_least_that_reaches_the_target(desert: Weather) -> None:
    van = vary(load_scenario("scenarios/desert-night.toml"), {"solar": "pair-400w"})
    found = nights(van, desert, season=SEASON, target=0.8)
    assert found.consecutive.share < 0.8
    ways = {missing.way: missing for missing in found.missing}
    assert set(ways) == {"road", "idling", "solar"}
    for way, missing in ways.items():
        step = 100.0 if way == "solar" else 5.0
        if missing.amount is None:
            most = with_more_charging(van, way, missing.most)
            assert nights(most, desert, season=SEASON).consecutive.share < 0.8
            continue
        assert missing.amount % step == 0.0
        enough = nights(with_more_charging(van, way, missing.amount), desert, season=SEASON).consecutive
        assert enough.share == missing.share >= 0.8
        if missing.amount > step:
            less = nights(with_more_charging(van, way, missing.amount - step), desert, season=SEASON).consecutive
            assert less.share < 0.8


def test_nothing_is_missing_where_charging_keeps_up(desert: Weather) -> None:
    found = nights(load_scenario("scenarios/shore-weekend.toml"), desert, season=SEASON, target=0.8)
    assert found.consecutive.share >= 0.8
    assert found.missing == ()


def test_nights_in_a_row_are_counted_from_every_night(desert: Weather) -> None:
    van = vary(load_scenario("scenarios/desert-night.toml"), {"bank.parallel": 14})
    found = nights(van, desert, season=SEASON)
    table, counts = found.independent.table, []
    from tests.support.brute_force import on_day
    from vansim.runs.simulate import simulate

    for place in range(len(table)):
        left = len(table) - place
        run = simulate(on_day(van, pd.Timestamp(table.index[place]), left, 1.0), desert)
        covered = run.nights["covered"].to_numpy()
        if not covered.all():
            counts.append(int(np.argmin(covered)))
    assert counts
    assert found.in_a_row.worst == min(counts)
    assert found.in_a_row.median == np.median(counts)
