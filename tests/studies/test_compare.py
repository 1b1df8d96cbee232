"""Designs side by side: each row is what `nights` says of that design alone."""

from __future__ import annotations

import numpy as np
import pytest

from vansim.climate import Weather
from vansim.errors import ScenarioError
from vansim.scenario.files import load_scenario
from vansim.scenario.schema import Scenario
from vansim.scenario.vary import vary
from vansim.studies.compare import compare
from vansim.studies.cool_down import cool_down_min
from vansim.studies.design import design_of
from vansim.studies.nights import nights

SEASON = "07-10..07-16"
CHANGES = {
    "two": {"bank.parallel": 2},
    "aged": {"bank.state_of_health": 0.7},
    "shaded by day": {"day.at-the-camp.09:00.shade": 0.8},
    "covers off": {"day.*.*.covers": False},
    "warmer": {"thermostat.setpoint_c": 25.0},
}


@pytest.fixture(scope="module")
def camper() -> Scenario:
    return vary(load_scenario("scenarios/desert-night.toml"), {"bank.parallel": 5})


@pytest.mark.parametrize("judged", ["headline", "independent", "consecutive"])
def test_each_row_is_what_nights_says_of_that_design(camper: Scenario, desert: Weather, judged: str) -> None:
    found = compare(camper, desert, CHANGES, season=SEASON, judged=judged)
    assert found.table.index.tolist() == ["as it is", *CHANGES]
    base = nights(camper, desert, season=SEASON)
    decides = base.headline.night(base.headline.design_night(0.95))["date"]
    for name, change in {"as it is": {}, **CHANGES}.items():
        alone = nights(vary(camper, change) if change else camper, desert, season=SEASON)
        reading = alone.headline if judged == "headline" else getattr(alone, judged)
        row = found.table.loc[name]
        assert row["judged"] == reading.kind
        assert row["covered_share"] == reading.share
        assert row["independent_share"] == alone.independent.share
        assert row["consecutive_share"] == alone.consecutive.share
        assert row["runtime_p10_h"] == np.percentile(reading.table["runtime_h"], 10)
        assert row["runtime_p50_h"] == np.percentile(reading.table["runtime_h"], 50)
        assert row["waking_soc"] == reading.table.loc[decides, "waking_soc"]
        assert row["evening_wh"] == pytest.approx(reading.table["evening_wh"].mean())
        assert row["cooler_wh"] == pytest.approx(reading.table["cooler_wh"].mean())
        assert row["lacks_battery"] == reading.table["why"].isin(["battery", "both"]).sum()
        assert row["mass_kg"] == alone.design.mass_kg
        for way, hours in alone.design.recharge_h.items():
            assert row[f"recharge_{way}_h"] == hours


def test_gains_are_against_the_base(camper: Scenario, desert: Weather) -> None:
    table = compare(camper, desert, CHANGES, season=SEASON).table
    for gained, column in (("gained_p10_h", "runtime_p10_h"), ("added_mass_kg", "mass_kg")):
        assert table[gained].to_list() == (table[column] - table.loc["as it is", column]).to_list()
    assert table.loc["two", "gained_p10_h"] < -3.0
    assert table.loc["two", "added_mass_kg"] == -3 * camper.bank.unit.mass_kg


def test_shade_by_day_pays_in_the_evening(camper: Scenario, desert: Weather) -> None:
    """A cooler cabin at the first cooling saves pull-down; the night itself hardly changes."""
    table = compare(camper, desert, CHANGES, season=SEASON).table
    base, shaded = table.loc["as it is"], table.loc["shaded by day"]
    assert base["evening_wh"] - shaded["evening_wh"] > 100.0
    assert abs(base["cooler_wh"] - shaded["cooler_wh"]) < 0.1 * base["cooler_wh"]
    assert shaded["waking_soc"] > base["waking_soc"]


def test_prices_are_told_only_where_all_are_known(camper: Scenario, desert: Weather) -> None:
    unpriced = camper.model_copy(
        update={
            "bank": camper.bank.model_copy(update={"unit": camper.bank.unit.model_copy(update={"price": None})}),
            "cooler": camper.cooler.model_copy(update={"price": 900.0}),
            "solar": camper.solar.model_copy(update={"price": 200.0}),
            "alternator": camper.alternator.model_copy(update={"price": 700.0}),
        }
    )
    assert compare(unpriced, desert, {"two": {"bank.parallel": 2}}, season=SEASON).table["price"].isna().all()
    unit = unpriced.bank.unit.model_copy(update={"price": 400.0})
    priced = unpriced.model_copy(update={"bank": unpriced.bank.model_copy(update={"unit": unit})})
    table = compare(priced, desert, {"two": {"bank.parallel": 2}}, season=SEASON).table
    assert table["price"].to_list() == [5 * 400.0 + 1800.0, 2 * 400.0 + 1800.0]
    assert table["added_price"].to_list() == [0.0, -1200.0]


def test_a_series_string_is_priced_and_weighed_whole(desert: Weather) -> None:
    van = load_scenario("scenarios/desert-night.toml")
    string = vary(van, {"cooler": "roof-24v-3kw", "bank.series": 2, "bank.parallel": 3, "alternator": "none"})
    design = design_of(string, desert, season=SEASON)
    assert design.mass_kg == pytest.approx(6 * string.bank.unit.mass_kg + string.cooler.mass_kg + string.solar.mass_kg)


def test_boost_cools_down_sooner_and_a_hotter_soak_takes_longer(camper: Scenario, desert: Weather) -> None:
    eco, boost = (
        design_of(vary(camper, {"day.at-the-camp.18:30.cooling": mode}), desert, season=SEASON).season
        for mode in ("eco", "boost")
    )
    assert cool_down_min(boost) < cool_down_min(eco)
    assert cool_down_min(boost, 45.0) < cool_down_min(boost, 60.0)


def test_what_cannot_be_compared_is_refused_at_once(camper: Scenario, desert: Weather) -> None:
    with pytest.raises(ScenarioError) as told:
        compare(camper, desert, {"as it is": {}, "odd": {"bank.paralel": 2}, "worse": {"bank.parallel": -1}})
    for part in ("as it is", "odd", "paralel", "worse"):
        assert part in str(told.value)
    with pytest.raises(ScenarioError, match="none are given"):
        compare(camper.model_copy(update={"variants": {}}), desert)
