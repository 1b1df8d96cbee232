"""`vansim parts`: money only where somebody has said what a part costs."""

import json
import re

import pytest
from typer.testing import CliRunner

import vansim
from vansim.cli import app
from vansim.scenario.catalogue import kinds
from vansim.scenario.files import default_scenario_path, weather_path
from vansim.studies.van_figures import van_figures


def call(*words):
    return CliRunner().invoke(app, [str(word) for word in words])


def priced(tmp_path, prices):
    text = default_scenario_path().read_text(encoding="utf-8").replace("../data_demo/climates/", "")
    (tmp_path / "prices.toml").write_text(prices, encoding="utf-8")
    (tmp_path / "van.toml").write_text(f'prices = "prices.toml"\n{text}', encoding="utf-8")
    return tmp_path / "van.toml"


def test_the_library_alone_shows_no_money():
    done = call("parts")
    assert done.exit_code == 0, done.output
    assert "price" not in done.stdout.lower()


def test_a_scenario_shows_its_own_prices_and_a_dash_for_the_others(tmp_path):
    path = priced(tmp_path, 'currency = "EUR"\n[bank-units]\nlfp-12v-100ah = 350\n')
    done = call("parts", "bank-units", "--scenario", path)
    assert done.exit_code == 0, done.output
    lines = done.stdout.splitlines()
    assert "price" in lines[1]
    assert " 350 " in next(line for line in lines if "lfp-12v-100ah" in line)
    assert " – " in next(line for line in lines if "agm-12v-100ah" in line)
    assert lines[-1] == "Prices in EUR."
    rows = json.loads(call("parts", "bank-units", "--scenario", path, "--json").stdout)["bank-units"]
    assert {row["part"]: row["price"] for row in rows}["lfp-12v-100ah"] == 350.0
    assert {row["part"]: row["price"] for row in rows}["agm-12v-100ah"] is None


def test_a_faulty_prices_file_is_told_with_exit_code_2(tmp_path):
    done = call("parts", "--scenario", priced(tmp_path, "[bank-units]\nlfp-12v-110ah = 350\n"))
    assert (done.exit_code, done.stdout) == (2, "")
    assert "prices.toml:2: bank-units.lfp-12v-110ah: no part of this name" in done.stderr


@pytest.mark.parametrize("word", ["cooler", "coolers", "Cooler", "battery", "panels", "material", "glass", "colours"])
def test_kinds_are_found_in_the_singular_and_by_other_names(word):
    done = call("parts", word)
    assert done.exit_code == 0, done.output
    assert done.stdout.splitlines()[0] in kinds()


def test_constants_carry_their_units_and_sources():
    text = call("parts", "materials").stdout
    assert "conductivity [W/mK]" in text
    assert "density [kg/m3]" in text
    assert "heat capacity [J/kgK]" in text
    assert "lb/ft3" in call("parts", "materials", "--units", "us").stdout
    rows = {row["materials"]: row for row in json.loads(call("parts", "materials", "--json").stdout)["materials"]}
    assert rows["xps"]["conductivity_w_mk"] == 0.035
    assert "13164" in rows["xps"]["source"]
    for kind in ("glass", "paints", "covers"):
        assert all(row["source"] for row in json.loads(call("parts", kind, "--json").stdout)[kind])


def test_one_part_in_full_tells_defaults_from_what_was_given():
    lines = call("parts", "roof-12v-2600w").stdout.splitlines()
    assert lines[0] == "coolers: roof-12v-2600w"
    assert any(line.split() == ["standby_w", "4", "W"] for line in lines)
    assert any(line.split() == ["condenser_td_k", "15", "K", "(default)"] for line in lines)
    assert any(line.split() == ["rated.outdoor_c", "95", "°F"] for line in call(
        "parts", "coolers", "roof-12v-2600w", "--units", "us").stdout.splitlines())  # fmt: skip
    assert "0.027 W/mK" in call("parts", "spray-foam").stdout


def test_what_a_part_would_be_in_this_van():
    path = default_scenario_path()
    done = call("parts", "split-12v-1500w", "--scenario", path, "--json")
    found = json.loads(done.stdout)["in_this_van"]["cooler"]
    made = van_figures(vansim.vary(path, {"cooler": "split-12v-1500w"}))
    assert [row["current_a"] for row in found] == pytest.approx(made.cooler["current_a"])
    text = call("parts", "split-12v-1500w", "--scenario", path).stdout
    assert "What the cooler draws" in text
    assert "What charges it" not in text
    refused = call("parts", "roof-24v-3kw", "--scenario", path)
    assert (refused.exit_code, refused.stdout) == (2, "")
    assert "does not fit this van: 24 V on a 12 V bank" in refused.stderr


@pytest.mark.parametrize(
    ("words", "said"),
    [
        (("foam",), "did you mean"),
        (("batery",), "did you mean 'battery'?"),
        (("coolers", "roof-12v"), "near it: roof-12v-2600w"),
        (("nonsense", "roof-12v-2600w"), "no kind of part is called 'nonsense'"),
    ],
)
def test_a_name_that_is_not_there_gets_the_near_ones(words, said):
    done = call("parts", *words)
    assert (done.exit_code, done.stdout) == (2, "")
    assert said in done.stderr


def test_version_names_the_sources():
    said = call("--version").stdout
    assert re.fullmatch(r"vansim \d+\.\d+\.\d+, sources [0-9a-f]{12}\n", said)
    assert said == call("--version").stdout


def test_examples_are_listed_printed_and_copied(tmp_path):
    listed = call("examples").stdout
    names = [path.stem for path in default_scenario_path().parent.glob("*.toml")]
    assert all(f"  {name} " in listed for name in names)
    for name in names:
        path = tmp_path / f"{name}.toml"
        assert call("examples", name, path).exit_code == 0
        assert weather_path(vansim.load_scenario(path)).is_file()
        assert path.read_text(encoding="utf-8") == call("examples", name).stdout
    again = call("examples", names[0], tmp_path / f"{names[0]}.toml")
    assert again.exit_code == 2
    assert "--overwrite" in again.stderr
    assert call("examples", names[0], tmp_path / f"{names[0]}.toml", "--overwrite").exit_code == 0
    assert "did you mean 'desert-night'?" in call("examples", "dessert-night").stderr
