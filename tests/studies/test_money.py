"""Money in the studies: the user's own prices, by name, or none at all."""

import pytest

from vansim import compare, load_scenario, size, upgrades
from vansim.scenario.files import default_scenario_path
from vansim.studies.changes import standard_changes

NIGHTS = "07-14..07-16"
PRICES = """
[bank-units]
lfp-12v-100ah = 400
lfp-12v-200ah = 300
[coolers]
{cooler} = 2000
split-12v-1500w = 1500
[alternators]
{alternator} = 900
[solar-arrays]
single-200w = 100
full-roof-800w = 380
"""


@pytest.fixture(scope="module")
def priced(tmp_path_factory):
    folder = tmp_path_factory.mktemp("priced")
    text = default_scenario_path().read_text(encoding="utf-8").replace("../data_demo/climates/", "")
    plain = load_scenario(default_scenario_path())
    prices = PRICES.format(cooler=plain.cooler.name, alternator=plain.alternator.name)
    (folder / "prices.toml").write_text(prices, encoding="utf-8")
    (folder / "van.toml").write_text(f'prices = "prices.toml"\n{text}', encoding="utf-8")
    return folder / "van.toml"


def test_size_prices_the_batteries_that_it_is_asked_about(priced):
    found = size(priced, season=NIGHTS, batteries=["lfp-12v-100ah", "lfp-12v-200ah"], judged="independent")
    each = dict(zip(found.table["battery"], found.table["price"] / found.table["units"], strict=True))
    assert each == {"lfp-12v-100ah": 400.0, "lfp-12v-200ah": 300.0}
    assert found.cheapest is not None
    assert found.cheapest["battery"] == "lfp-12v-200ah"


def test_size_knows_no_cheapest_where_a_price_is_missing(priced):
    found = size(priced, season=NIGHTS, batteries=["lfp-12v-200ah", "agm-12v-200ah"], judged="independent")
    assert list(found.table.set_index("battery")["price"].isna()[["lfp-12v-200ah", "agm-12v-200ah"]]) == [False, True]
    assert found.cheapest is None


def test_compare_adds_up_prices_by_name(priced):
    added = compare(
        priced,
        season=NIGHTS,
        variants={
            "panels": {"solar": "full-roof-800w"},
            "split": {"cooler": "split-12v-1500w"},
            "four": {"bank.parallel": 4},
            "unpriced": {"solar": "pair-400w"},
        },
    ).table["added_price"]
    assert list(added[["panels", "split", "four"]]) == [280.0, -500.0, -800.0]
    assert added.isna().sum() == 1
    assert added.isna()["unpriced"]


def test_upgrades_price_the_parts_that_they_try(priced):
    wanted = ("smaller-cooler", "one-more-battery", "white-paint")
    changes = [change for change in standard_changes(load_scenario(priced)) if change.code in wanted]
    added = upgrades(priced, changes=changes, season=NIGHTS, pairs=False).table["added_price"]
    assert dict(added[list(wanted)]) == {"smaller-cooler": -500.0, "one-more-battery": 400.0, "white-paint": 0.0}


def test_without_prices_there_is_no_money():
    found = compare(default_scenario_path(), season=NIGHTS, variants={"four": {"bank.parallel": 4}})
    assert found.table[["price", "added_price"]].isna().all(axis=None)
