"""Designs side by side, and what a change is worth in battery."""

from __future__ import annotations

import pytest

from vansim.climate import Weather
from vansim.errors import ScenarioError
from vansim.scenario.files import load_scenario
from vansim.scenario.schema import Scenario
from vansim.scenario.vary import vary
from vansim.studies.compare import compare
from vansim.studies.nights import nights_alone
from vansim.studies.upgrades import RUNTIME_TOLERANCE_H, standard_changes, worth_most

SEASON = "07-10..07-19"


@pytest.fixture(scope="module")
def camper() -> Scenario:
    return load_scenario("scenarios/desert-night.toml")


def test_a_comparison_is_each_design_looked_at_for_itself(camper: Scenario, desert: Weather) -> None:
    changes = {"two": {"bank.parallel": 2}, "warmer": {"thermostat.setpoint_c": 25.5}}
    table = compare(camper, desert, changes, season=SEASON)
    assert table.index.tolist() == ["as it is", "two", "warmer"]
    for name, change in changes.items():
        told = nights_alone(vary(camper, change), desert, season=SEASON).distribution
        assert table.loc[name, "runtime_p10_h"] == told["runtime_h"]["p10"]
        assert table.loc[name, "kept_share"] == told["kept_share"]
        gained = table.loc[name, "runtime_p50_h"] - table.loc["as it is", "runtime_p50_h"]
        assert table.loc[name, "gained_p50_h"] == pytest.approx(gained)
    assert table.loc["two", "gained_p10_h"] < 0.0 < table.loc["warmer", "gained_p10_h"]
    assert table.loc["two", "added_price"] == -4 * camper.bank.unit.price
    assert table.loc["two", "added_mass_kg"] == -4 * camper.bank.unit.mass_kg


def test_boost_cools_down_faster_and_uses_more(camper: Scenario, desert: Weather) -> None:
    changes = {
        mode: {f"day.at-the-camp.{start}.cooling": mode for start in ("18:30", "22:00")} for mode in ("eco", "boost")
    }
    table = compare(camper, desert, changes, season=SEASON)
    assert table.loc["boost", "cool_down_min"] < table.loc["eco", "cool_down_min"] < 360.0
    assert table.loc["boost", "cooler_wh"] > table.loc["eco", "cooler_wh"]


def test_a_hotter_soak_takes_longer(camper: Scenario, desert: Weather) -> None:
    variant = {"shade": {"day.at-the-camp.09:00.shade": 0.9}}
    mild, hot = (
        compare(camper, desert, variant, season=SEASON, soak_c=c)["cool_down_min"]["as it is"] for c in (40.0, 60.0)
    )
    assert mild < hot


def test_variants_that_cannot_be_made_are_all_told(camper: Scenario, desert: Weather) -> None:
    with pytest.raises(ScenarioError) as told:
        compare(camper, desert, {"a": {"bank.paralel": 2}, "b": {"cooler": "no such part"}, "as it is": {}})
    assert len(told.value.faults) == 3
    with pytest.raises(ScenarioError, match="variants"):
        compare(camper, desert, {})


def test_the_same_gain_by_battery_is_what_that_battery_gains(camper: Scenario, desert: Weather) -> None:
    """The bank that is said to be worth as much is marched again: it gains as much."""
    small = vary(camper, {"bank.parallel": 3})
    names = ("set point 1 K higher", "20 mm more insulation in the floor", "boost throughout")
    changes = {name: standard_changes(small)[name] for name in names}
    table = worth_most(small, desert, changes, season=SEASON)
    assert table["gained_p10_h"].is_monotonic_decreasing
    base = nights_alone(small, desert, season=SEASON).distribution["runtime_h"]["p10"]
    for name in names[:2]:
        row = table.loc[name]
        assert row["gained_p10_h"] > 0.1
        added = row["same_by_bank_price"] / small.bank.unit.price
        bigger = small.model_copy(update={"bank": small.bank.model_copy(update={"parallel": 3 + added})})
        reached = nights_alone(bigger, desert, season=SEASON).distribution["runtime_h"]["p10"]
        assert reached - base == pytest.approx(row["gained_p10_h"], abs=1.5 * RUNTIME_TOLERANCE_H)
    assert table.loc["boost throughout", "gained_p10_h"] < 0.0
    assert table.loc["boost throughout", "same_by_bank_kwh"] == 0.0


def test_standard_changes_that_do_not_apply_are_left_out_with_the_reason(camper: Scenario, desert: Weather) -> None:
    changes = {"nothing": {"bank.parallel": camper.bank.parallel}, "no such key": {"bank.colour": 1}}
    table = worth_most(camper, desert, changes, season="07-14..07-14")
    assert table.empty
    assert table.attrs["left_out"]["nothing"] == "changes nothing here"
    assert "colour" in table.attrs["left_out"]["no such key"]
    assert len(standard_changes(camper)) >= 12
