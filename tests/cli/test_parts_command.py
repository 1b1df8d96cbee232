"""`vansim parts`: money only where somebody has said what a part costs."""

import json

from typer.testing import CliRunner

from vansim.cli import app
from vansim.scenario.files import default_scenario_path


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
