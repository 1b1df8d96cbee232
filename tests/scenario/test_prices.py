"""Prices are the user's own: none come along, and a key, a parts folder or a prices file gives them."""

import math

import pytest

from vansim.errors import ScenarioError
from vansim.scenario.files import load_scenario, origins
from vansim.scenario.parts import KINDS, library, library_of, parts_table
from vansim.scenario.vary import variants, vary

SCENARIO = """
prices = "my-prices.toml"
cabin = "high-roof-50mm"
cooler = "split-12v-1500w"
[bank]
unit = "lfp-12v-100ah"
[[day]]
[[day.segment]]
start = "08:00"
end = "08:00"
[variants]
larger = { "bank.unit" = "lfp-12v-200ah" }
other = { "bank.unit" = "agm-12v-100ah" }
quoted = { "bank.unit.price" = 300 }
"""
PRICES = """
currency = "EUR"
[bank-units]
lfp-12v-100ah = 350
lfp-12v-200ah = 640.5
[coolers]
split-12v-1500w = 0
"""


@pytest.fixture
def written(tmp_path):
    def write(scenario=SCENARIO, prices=PRICES):
        if prices is not None:
            (tmp_path / "my-prices.toml").write_text(prices.lstrip())
        (tmp_path / "van.toml").write_text(scenario.lstrip())
        return tmp_path / "van.toml"

    return write


def faults_of(path):
    with pytest.raises(ScenarioError) as caught:
        load_scenario(path)
    return caught.value.faults


def test_the_bundled_library_has_no_prices():
    assert all(getattr(part, "price", None) is None for kind in KINDS for part in library().parts[kind].values())
    assert all("price" not in parts_table(kind) for kind in KINDS)


def test_a_scenario_without_prices_has_no_currency_either(written):
    scenario = load_scenario(written(SCENARIO.replace('prices = "my-prices.toml"\n', ""), None))
    assert (scenario.currency, scenario.bank.unit.price) == ("", None)
    assert origins(scenario)["bank.unit.price"] == "default"


def test_a_prices_file_holds_wherever_a_part_is_taken_by_name(written):
    scenario = load_scenario(written())
    assert (scenario.bank.unit.price, scenario.cooler.price, scenario.currency) == (350.0, 0.0, "EUR")
    assert {name: made.bank.unit.price for name, made in variants(scenario).items()} == {
        "larger": 640.5,
        "other": None,
        "quoted": 300.0,
    }
    varied = vary(scenario, {"bank.unit": {"part": "lfp-12v-200ah", "mass_kg": 20.0}, "solar": "pair-400w"})
    assert (varied.bank.unit.price, varied.solar.price, varied.currency) == (640.5, None, "EUR")
    assert vary(varied, {"bank.unit": "lfp-12v-100ah"}).bank.unit.price == 350.0
    assert library_of(varied).part("bank-units", "lfp-12v-200ah").price == 640.5


def test_where_a_price_came_from_is_known(written):
    found = origins(load_scenario(written()))
    assert found["bank.unit.price"] == found["currency"] == "prices my-prices.toml"
    assert found["bank.unit.mass_kg"] == "part lfp-12v-100ah"
    text = SCENARIO.replace('unit = "lfp-12v-100ah"', 'unit = { part = "lfp-12v-100ah", price = 5 }')
    assert origins(load_scenario(written(text)))["bank.unit.price"] == "given"


def test_a_key_on_the_part_outranks_the_file(written, tmp_path):
    text = SCENARIO.replace('cooler = "split-12v-1500w"', 'cooler = { part = "split-12v-1500w", price = 1200 }')
    assert load_scenario(written(text)).cooler.price == 1200.0
    (tmp_path / "mine").mkdir()
    (tmp_path / "mine" / "bank-units.toml").write_text(
        '[lfp-12v-100ah]\nchemistry = "lfp"\ncapacity_ah = 100.0\nprice = 99\n'
        '[tall]\nchemistry = "lfp"\ncapacity_ah = 150.0\n'
    )
    scenario = load_scenario(written('parts = "mine"\n' + SCENARIO, PRICES.replace("[coolers]", "tall = 7\n[coolers]")))
    assert scenario.bank.unit.price == 99.0
    assert origins(scenario)["bank.unit.price"] == "part lfp-12v-100ah"
    assert vary(scenario, {"bank.unit": "tall"}).bank.unit.price == 7.0
    assert vary(scenario, {"bank.unit": "lfp-12v-200ah"}).bank.unit.price == 640.5


def test_a_part_written_out_has_the_price_that_it_is_given(written):
    inline = 'unit = { name = "lfp-12v-100ah", chemistry = "lfp", capacity_ah = 90.0 }'
    scenario = load_scenario(written(SCENARIO.replace('unit = "lfp-12v-100ah"', inline)))
    assert scenario.bank.unit.price is None
    assert vary(scenario, {"bank.unit.price": 12}).bank.unit.price == 12.0


@pytest.mark.parametrize("price", ["-1", "nan", '"350 EUR"', "true"])
def test_a_price_on_a_part_is_checked(written, price):
    text = SCENARIO.replace('unit = "lfp-12v-100ah"', f'unit = {{ part = "lfp-12v-100ah", price = {price} }}')
    (fault,) = faults_of(written(text.split("[variants]")[0]))
    assert ":5: bank.unit.price: " in fault


def test_every_fault_of_a_prices_file_comes_at_once_with_those_of_the_scenario(written, tmp_path):
    prices = """
currency = 3
lfp-12v-200ah = 640
[bank-units]
lfp-12v-100ah = "350 EUR"
lfp-12v-110ah = 300
lfp-24v-100ah = -2
lfp-24v-200ah = nan
lfp-48v-100ah = true
[cooler]
split-12v-1500w = 900
[cabins]
high-roof-50mm = 1
"""
    found = faults_of(written(SCENARIO.replace("[bank]", "[bank]\nparalel = 2"), prices))
    here = tmp_path / "my-prices.toml"
    expected = [
        (f"{here}:1: currency: must be text in quotes (you wrote 3)",),
        (f"{here}:2: lfp-12v-200ah: ", "write it under [bank-units]"),
        (f"{here}:4: bank-units.lfp-12v-100ah: must be a number (you wrote '350 EUR')",),
        (f"{here}:5: bank-units.lfp-12v-110ah: no part of this name in bank-units; allowed: lfp-", "did you mean 'lfp"),
        (f"{here}:6: bank-units.lfp-24v-100ah: out of range (you wrote -2); allowed: at least 0",),
        (f"{here}:7: bank-units.lfp-24v-200ah: must be a finite number (you wrote nan)",),
        (f"{here}:8: bank-units.lfp-48v-100ah: must be a number (you wrote true)",),
        (
            f"{here}:9: cooler: no kind of part that has a price; allowed: coolers, bank-units",
            "did you mean 'coolers'?",
        ),
        (f"{here}:11: cabins: no kind of part that has a price; allowed: coolers, bank-units, alternators",),
        (f"{tmp_path / 'van.toml'}:1: prices: the prices file cannot be used (you wrote 'my-prices.toml')",),
        (f"{tmp_path / 'van.toml'}:5: bank.paralel: no such key; did you mean 'parallel'?",),
    ]
    assert len(found) == len(expected)
    for fault, (head, *rest) in zip(found, expected, strict=True):
        assert fault.startswith(head)
        assert all(words in fault for words in rest)


def test_a_prices_file_that_is_not_there_or_not_toml(written, tmp_path):
    (tmp_path / "my-price.toml").write_text("")
    missing, key = faults_of(written(prices=None))
    assert missing == f"{tmp_path / 'my-prices.toml'}: no such file; did you mean 'my-price.toml'?"
    assert key == f"{tmp_path / 'van.toml'}:1: prices: the prices file cannot be used (you wrote 'my-prices.toml')"
    assert f"{tmp_path / 'my-prices.toml'}:2:" in faults_of(written(prices="[coolers]\nx = 1,5\n"))[0]
    assert faults_of(written(SCENARIO.replace('"my-prices.toml"', "3"))) == (
        f'{tmp_path / "van.toml"}:1: prices: must be text in quotes (you wrote 3); such as "..."',
    )


def test_names_of_a_parts_folder_that_cannot_be_read_are_not_called_unknown(written):
    found = faults_of(written('parts = "nowhere"\n' + SCENARIO, PRICES + "my-own = 3\n"))
    assert len(found) == 2
    assert not any("my-own" in fault for fault in found)


def test_two_currencies_do_not_fit(written, tmp_path):
    assert load_scenario(written('currency = "EUR"\n' + SCENARIO)).currency == "EUR"
    assert (
        load_scenario(written('currency = "CHF"\n' + SCENARIO, PRICES.replace('currency = "EUR"', ""))).currency
        == "CHF"
    )
    (fault,) = faults_of(written('currency = "CHF"\n' + SCENARIO))
    assert fault == (
        f"{tmp_path / 'van.toml'}:1: currency: the prices in my-prices.toml are in 'EUR' (you wrote 'CHF'); "
        "keep one of the two"
    )


def test_sources_of_parts_are_not_changed_midway(written):
    scenario = load_scenario(written())
    for key in ("parts", "prices"):
        with pytest.raises(ScenarioError, match=f"{key}: says where parts come from .* set it in the scenario itself"):
            vary(scenario, {key: "elsewhere"})


def test_a_table_shows_prices_where_there_are_any(written):
    known = library_of(load_scenario(written()))
    table = parts_table("bank-units", known)
    assert list(table.columns[-2:]) == ["price", "note"]
    assert table.loc["lfp-12v-200ah", "price"] == 640.5
    assert math.isnan(table.loc["agm-12v-100ah", "price"])
    assert parts_table("coolers", known).loc["split-12v-1500w", "price"] == 0.0
    assert "price" not in parts_table("alternators", known)


def test_a_library_is_read_with_prices_in_python_too(written, tmp_path):
    written()
    assert library(prices=tmp_path / "my-prices.toml").part("bank-units", "lfp-12v-100ah").price == 350.0
    with pytest.raises(ScenarioError) as caught:
        library(tmp_path / "none", tmp_path / "none.toml")
    assert len(caught.value.faults) == 2
