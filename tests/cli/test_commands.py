"""The commands as a person or a script meets them: answers, exit codes, and nothing half-written."""

from __future__ import annotations

import gc
import json
import math
import re
from pathlib import Path

import numpy as np
import pandas as pd
import pytest

import vansim
from tests.support.screens import CLIMATES, DESERT, QUESTIONS, SCENARIOS, call, data, prose, said
from vansim.cli import common
from vansim.cli.common import RENAMED_COMMANDS, RENAMED_OPTIONS
from vansim.cli.designs import parse_designs
from vansim.scenario.files import load_scenario, weather_path
from vansim.show.text import wording

JULY = ["--season", "07-14..07-16"]

DESERT_YEAR = weather_path(load_scenario(DESERT))
GOOD = DESERT.read_text(encoding="utf-8").replace("../data_demo/climates/desert.epw", str(DESERT_YEAR))


def damaged(tmp_path: Path, old: str, new: str) -> Path:
    assert old in GOOD
    path = tmp_path / "van.toml"
    path.write_text(GOOD.replace(old, new), encoding="utf-8")
    return path


def refused(done) -> str:
    assert done.exit_code == 2, done.output
    assert done.stdout == ""
    assert "Traceback" not in done.stderr
    return done.stderr


# --- answers ----------------------------------------------------------------------------------------------------------


def test_run_answers_first_and_cautions_last():
    text = said("run")
    left = json.loads(call("run", "--json").stdout)["lowest_waking_soc"]
    assert text.splitlines()[2].startswith(f"The cooling lasts the night: {left:.0%} of the charge is left at waking")
    for words in ("Account of the night", "runtime  ", "state of charge", "compressor on", "energy  ", "back at 98%"):
        assert words in text
    assert "Books" not in text
    assert text.index("back at 98%") < text.index("Never leave a child")


@pytest.mark.parametrize("path", SCENARIOS.values(), ids=lambda p: p.stem)
def test_every_scenario_checks_and_runs(path: Path):
    assert call("check", path).exit_code == 0
    done = call("run", path, "--json")
    assert done.exit_code == 0, done.output
    found = json.loads(done.stdout)
    assert found["status"] in ("covered", "bank_empty", "too_warm")
    assert max(abs(v) for v in found["balance"].values()) < 1e-6


def test_run_in_us_units_says_the_same():
    si, us = said("run"), said("run", "us")
    assert "at or below 26 °C" in prose(si)
    assert "at or below 78.8 °F" in prose(us)
    assert "°C" not in us


def test_a_bank_that_is_empty_before_bedtime_says_when_how_warm_and_who():
    """Two batteries where six last: never a negative, and never a bare 0 h."""
    done = call("run", "--start-soc", "0.3")
    text = prose(done.stdout)
    assert "before bedtime: cabin" in text
    assert "°C at bedtime; two people aboard." in text
    assert "nothing left at bedtime: the bank is at its reserve from" in text
    assert not any(words in text for words in (" 0 h", "−", "runtime 0 min"))


def test_a_run_of_a_clock_time_says_that_it_begins_elsewhere(tmp_path: Path):
    path = damaged(tmp_path, 'date = "07-15"', 'date = "07-15"\nstart = "20:00"')
    text = prose(call("run", path).stdout)
    assert "This run begins at 20:00 with a full bank, and not where the account of its first night does" in text
    assert "first cooling of the day (18:30)" in text


FULL = ("run", "nights", "size", "compare", "upgrades", "outage")


@pytest.mark.parametrize("command", FULL)
def test_full_at_bedtime_is_said_on_every_screen(command: str):
    season = [] if command == "run" else ["--season", "07-15..07-15"]
    done = call(command, *season, "--full-at-bedtime")
    assert done.exit_code == 0, done.output
    assert "Full at bedtime was asked for: what is used before then is not counted" in prose(done.stdout)
    without = call(command, *season)
    assert "ull at bedtime" not in without.stdout
    assert "from the first cooling of the day (18:30)" in prose(without.stdout)


@pytest.mark.parametrize("command", ["nights", "size", "compare"])
def test_both_readings_stand_together(command: str):
    text = prose(said(command))
    assert re.search(r"each for +(itself|one after)", said(command)) or "  independent  consecutive" in said(command)
    assert "Independent nights each begin so; consecutive nights go on" in text


def test_size_names_a_bank_that_run_confirms(tmp_path: Path):
    """The smallest bank covers its design night in a run of that day; one battery fewer does not."""
    row = data("size")["size"][0]
    assert row["units"] > 1
    for units, covered in ((row["units"], 1), (row["units"] - 1, 0)):
        path = damaged(tmp_path, "parallel = 6", f"parallel = {units}")
        path.write_text(path.read_text().replace("lfp-12v-100ah", row["battery"]))
        path.write_text(path.read_text().replace("reserve_soc = 0.1", f"reserve_soc = {row['reserve_soc']}"))
        done = call("run", path, "--from", row["design_night"][5:10], "--json")
        assert json.loads(done.stdout)["nights_covered"] == covered


def test_no_money_is_shown_where_no_price_is_known(tmp_path: Path):
    cells = 'capacity_ah = 100.0\nnominal_v = 12\nchemistry = "lfp"\nmass_kg = 11.0\n'
    path = damaged(tmp_path, 'unit = "lfp-12v-100ah"\n', "")
    path.write_text(path.read_text() + f"\n[bank.unit]\n{cells}")
    done = call("size", path, *JULY)
    assert done.exit_code == 0, done.output
    assert "USD" not in done.stdout or load_scenario(path).bank.unit.price is not None


ALONE = 'people = "out"\ndogs = "out"'


@pytest.mark.parametrize("name", [name for name in QUESTIONS if QUESTIONS[name][0] != "weather"])
def test_a_plan_with_animals_alone_is_cautioned_at_the_top_of_every_answer(name: str, tmp_path: Path):
    """The dog stays in the van by day, while the people are out: said first, with when the bank would be empty."""
    path = damaged(tmp_path, ALONE, 'people = "out"\ndogs = "awake"')
    path.write_text(path.read_text().replace("people = 2", "people = 2\ndogs = [{ mass_kg = 20.0 }]"))
    command, *words = QUESTIONS[name]
    words = [word for word in words if not word.endswith(".toml")]
    if command == "trip":
        path.write_text(f"{path.read_text()}\n[[trip]]\ndate = '07-14'\nweather = '{CLIMATES / 'desert.epw'}'\n")
    done = call(command, path, *words)
    assert done.exit_code == 0, done.output
    lines = prose(done.stdout)
    assert lines.startswith(
        "Two sleepers on a desert night CAUTION: in this plan only animals are in the van from 09:00"
    )
    assert "one dog" in lines
    assert "somebody who can act must stay with them" in lines
    assert re.search(r"the bank alone (is|would be) empty at \d\d:\d\d on", lines) or "a bank that lasts" in lines
    found = json.loads(call(command, path, *words, "--json").stdout)
    assert next(iter(found)) == "unattended"


def test_check_cautions_too(tmp_path: Path):
    path = damaged(tmp_path, "people = 2", "dogs = [{ mass_kg = 20.0 }]")
    text = prose(call("check", path).stdout)
    assert "CAUTION: in this plan only animals are in the van" in text
    assert "It has no person at all." in text
    assert "CAUTION" not in call("check").stdout


def test_out_writes_the_contract(tmp_path: Path):
    path = damaged(tmp_path, 'date = "07-15"', 'date = "07-15"\nstart = "18:00"')  # whole hours
    done = call("run", path, "--out", tmp_path / "out")
    assert done.exit_code == 0, done.output
    names = {p.name for p in (tmp_path / "out").iterdir()}
    assert names == {"hourly.csv", "nights.csv", "summary.json", "night.png", "night.svg"}
    hourly = pd.read_csv(tmp_path / "out" / "hourly.csv", index_col="hour_beginning")
    for column in (
        "outdoor_c cabin_c contents_c cabin_rh ghi_w_m2 faces_w glass_solar_w air_exchange_w people_w equipment_w "
        "bank_to_cabin_w sensible_w latent_w duty starts supply_c cooler_w loads_w solar_w alternator_w shore_w "
        "pedestal_w bank_w bank_v bank_a soc unserved_w"
    ).split():
        assert column in hourly
    assert len(hourly) == 24
    summary = json.loads((tmp_path / "out" / "summary.json").read_text())
    assert {"scenario_hash", "version", "weather", "units"} <= set(summary)
    assert summary["version"] == vansim.__version__
    energy = hourly["cooler_w"].sum()
    assert summary["cooler_wh"] == pytest.approx(energy, rel=1e-6)


def test_hourly_heat_adds_up_to_what_is_stored():
    """Listed columns alone: mean heat into the cabin over the run is what its two stores took up."""
    result = vansim.simulate(vansim.vary(vansim.load_scenario(DESERT), {"run.start": "18:00"}))
    h = result.hourly
    columns = "faces_w glass_solar_w air_exchange_w people_w equipment_w bank_to_cabin_w sensible_w vehicle_w"
    into = h[columns.split()]
    house, first, last = result.run.constants, result.marched.start, result.marched.end
    stored = house.air_j_k * (last.cabin_c - first.cabin_c)
    stored += house.contents_j_k * (last.contents_c - first.contents_c)
    assert into.sum().sum() * 3600.0 == pytest.approx(stored, abs=10.0)


def test_bank_columns_agree():
    h = vansim.simulate(vansim.load_scenario(DESERT)).hourly
    supply = h["solar_w"] + h["alternator_w"] + h["shore_w"] + h["unserved_w"]
    assert np.allclose(supply, h["cooler_w"] + h["loads_w"] + h["bank_w"], atol=1e-3)


def test_year_and_window():
    done = call("run", "--from", "06-30", "--days", "2", "--json")
    assert json.loads(done.stdout)["nights"] == 2
    year = json.loads(call("run", "--year", "--json").stdout)
    assert year["hours"] == 8760
    assert year["nights"] == 364


@pytest.mark.parametrize("name", [name for name in QUESTIONS if QUESTIONS[name][0] not in ("weather", "run")])
def test_studies_write_tables_and_pictures_whole(name: str, tmp_path: Path):
    done = call(*QUESTIONS[name], "--out", tmp_path)
    assert done.exit_code == 0, done.output
    assert done.stdout == said(name)
    written = list(tmp_path.iterdir())
    assert {path.suffix for path in written} >= {".csv", ".json", ".png", ".svg"}
    assert all(p.stat().st_size > 100 for p in written)
    assert not [p for p in written if p.name.startswith(".")]


@pytest.mark.parametrize(
    ("words", "picture"), [((), "eco_against_boost"), (("--vary", "bank.parallel=4"), "two_designs")]
)
def test_one_night_twice_is_drawn_by_command(words: tuple[str, ...], picture: str, tmp_path: Path):
    done = call("side-by-side", *words, "--units", "us", "--out", tmp_path)
    assert done.exit_code == 0, done.output
    names = {f"side_by_side.{kind}" for kind in ("csv", "json")} | {f"{picture}.{kind}" for kind in ("png", "svg")}
    assert {path.name for path in tmp_path.iterdir()} == names
    assert "°F" in (tmp_path / f"{picture}.svg").read_text(encoding="utf-8")
    assert "°C" not in (tmp_path / f"{picture}.svg").read_text(encoding="utf-8")


@pytest.mark.parametrize("name", ["outage", "outage in the sun"])
def test_outage_carries_its_caution_first_and_last(name: str):
    text = prose(said(name))
    assert text.startswith(f"Two sleepers on a desert night {wording.OUTAGE_CAUTION}")
    assert text.endswith(wording.OUTAGE_CAUTION)
    assert "against a measured closed car in the sun" in text
    assert ("no covers" in text) == ("covers on" in text) == ("sun" in name) or "covers on" in text


def test_which_night_is_counted_from_one():
    assert "(1 of 2)" in prose(call("energy", "--days", "2").stdout)
    assert "(2 of 2)" in prose(call("energy", "--days", "2", "--night", "2").stdout)
    assert "(2 of 2)" in prose(call("recharge", "--days", "2", "--night", "2").stdout)


def test_sizing_share_is_read_as_written():
    one = json.loads(call("size", *JULY, "--target", "95%", "--battery", "lfp-12v-200ah", "--json").stdout)
    two = json.loads(call("size", *JULY, "--target", "0.95", "--battery", "lfp-12v-200ah", "--json").stdout)
    assert one == two


def test_parts_weather_and_schema():
    assert "roof-12v-2600w" in call("parts", "coolers").stdout
    assert set(json.loads(call("parts", "--json").stdout)) >= {"coolers", "cabins"}
    text = prose(call("weather", DESERT_YEAR).stdout)
    assert "INVENTED" in text
    assert "Sun and hours: DHI + DNI cos z gives GHI within" in text
    assert json.loads(call("weather", DESERT_YEAR, "--json").stdout)["place"]["latitude"] == 33
    assert json.loads(call("schema").stdout)["properties"]["bank"]


# --- refusals ---------------------------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("old", "new", "says"),
    [
        ("setpoint_c = 24.0", "setpoint = 24.0\nsetpiont_c = 25.0", ["setpiont_c", "did you mean"]),
        ("setpoint_c = 24.0", 'setpoint = "25 kWh"', ["25 kWh", "degF"]),
        ("setpoint_c = 24.0", "setpoint_c = nan", ["setpoint_c"]),
        ('cooler = "roof-12v-2600w"', 'cooler = "roof-12v-2600v"', ["roof-12v-2600v", "roof-12v-2600w"]),
        ("parallel = 6", "parallel = -6", ["parallel", "-6"]),
        ('end = "18:30"', 'end = "17:30"', ["17:30", "gap"]),
        ('end = "18:30"', 'end = "19:00"', ["19:00", "overlap"]),
        ("desert.epw", "no-such.epw", ["no-such.epw"]),
        ('bedtime = "22:00"', 'bedtime = "25:00"', ["25:00"]),
    ],
)
def test_bad_scenarios_are_refused_with_reason(tmp_path: Path, old: str, new: str, says: list[str]):
    path = damaged(tmp_path, old, new)
    fault = refused(call("run", path, "--out", tmp_path / "out"))
    for words in says:
        assert words in fault
    assert not (tmp_path / "out").exists()


def test_all_faults_at_once(tmp_path: Path):
    path = damaged(tmp_path, "setpoint_c = 24.0", "setpoint_c = 99.0\nbnad = 1")
    path.write_text(path.read_text().replace("parallel = 6", "parallel = 0"))
    fault = refused(call("check", path))
    assert len(fault.strip().splitlines()) >= 3
    for words in ("setpoint_c", "bnad", "parallel"):
        assert words in fault


def test_an_impossible_coil_is_refused(tmp_path: Path):
    """2000 W from 360 m3/h with a sensible share of 0.78 at 26.67/19.44 °C: no saturated state lies on that line."""
    cooler = (
        '[cooler]\npart = "roof-12v-2600w"\nairflow_m3_h = 360.0\nsensible_share = 0.78\ncoil_fan_w = 0.0\n'
        "rated = { capacity_w = 2000.0, power_w = 900.0, outdoor_c = 35.0, cabin_c = 26.667, cabin_rh = 0.511 }\n"
    )
    path = tmp_path / "van.toml"
    path.write_text(GOOD.replace('cooler = "roof-12v-2600w"\n', "").replace("[run]", cooler + "\n[run]", 1))
    assert "no coil can do this" in refused(call("check", path))


@pytest.mark.parametrize(
    ("words", "says"),
    [
        (("run", "no-such-file.toml"), "no-such-file.toml"),
        (("run", "--from", "02-30"), "02-30"),
        (("run", "--days", "0"), "--days"),
        (("run", "--units", "imperial"), "imperial"),
        (("run", "--year", "--days", "3"), "--year"),
        (("run", "--year", "--full-at-bedtime"), "--full-at-bedtime"),
        (("run", "--start-soc", "1.2"), "--start-soc: 1.2 is not a state of charge"),
        (("nights", "--start-soc", "-0.1"), "--start-soc"),
        (("size", "--consecutive", "--independent"), "write one or none"),
        (("compare", "--consecutive", "--independent"), "write one or none"),
        (("nights", "--season", "jun-"), "jun-"),
        (("size", "--target", "lots"), "lots"),
        (("size", "--battery", "lfp-12v-10ah"), "lfp-12v-10"),
        (("compare", "--vary", "thermostat.setpiont_c=26"), "setpiont_c"),
        (("compare", "--vary", "setpoint"), "KEY=VALUE"),
        (("compare", "--vary", "a: bank.parallel=2", "--vary", "a: bank.parallel=3"), "two designs are called 'a'"),
        (("compare", "--vary", ": bank.parallel=2"), "no name stands before the colon"),
        (("compare", "--vary", "day.at-the-camp.21:00.shade=1"), "there are 09:00, 18:00, 18:30, 22:00, 07:00"),
        (("compare", "--vary", "day.0.segment.3.shade=1"), "write day.at-the-camp.22:00.shade"),
        (("compare", "--vary", "bank.health=0.8"), "bank.health is called bank.state_of_health"),
        (("compare", "--target", "0"), "--target"),
        (("energy", "--night", "7"), "there is no night 7; the run holds 1 night"),
        (("energy", "--night", "0"), "there is no night 0"),
        (("energy", SCENARIOS["shore-weekend"], "--night", "4"), "the run holds 3 nights: 1 to 3"),
        (("outage", "--when", "noon"), "noon"),
        (("parts", "coolerz"), "coolers"),
        (("weather",), "--lat"),
        (("weather", "--lat", "33"), "--lon"),
        (("weather", "no-such.epw"), "no-such.epw"),
    ],
    ids=lambda value: " ".join(map(str, value)) if isinstance(value, tuple) else "",
)
def test_bad_words_are_refused(words: tuple[str | Path, ...], says: str):
    assert says in refused(call(*words))


@pytest.mark.parametrize(("old", "new"), [*RENAMED_COMMANDS.items()])
def test_an_old_command_is_refused_with_its_new_name(old: str, new: str):
    assert refused(call(old, DESERT, "--json")) == f"{old} is called {new}\n"
    assert call(new, "--help").exit_code == 0


@pytest.mark.parametrize(
    ("command", "old", "new"),
    [
        ("compare", "--chained", "--consecutive"),
        ("size", "--chained", "--consecutive"),
        ("size", "--keep", "--target"),
        ("size", "--keep=95%", "--target"),
        ("size", "--with", "--battery"),
        ("compare", "--keep", "--target"),
    ],
)
def test_an_old_option_is_refused_with_its_new_name(command: str, old: str, new: str):
    assert refused(call(command, DESERT, old, "95%")) == f"{old.partition('=')[0]} is called {new}\n"
    assert old.partition("=")[0] in RENAMED_OPTIONS
    assert new in call(command, "--help").stdout


def test_an_old_option_means_nothing_to_a_command_without_the_new_one():
    done = call("run", "--keep", "95%")
    assert done.exit_code == 2
    assert "is called" not in done.output


def test_every_command_that_answers_a_question_takes_the_same_options():
    for command in ("run", "nights", "size", "compare", "upgrades", "energy", "recharge", "outage"):
        shown = call(command, "--help").stdout
        assert all(option in shown for option in ("scenario", "--weather", "--out", "--units", "--json")), command


@pytest.mark.parametrize(
    ("text", "name", "changes"),
    [
        ("thermostat.setpoint_c=26", "thermostat.setpoint_c=26", {"thermostat.setpoint_c": 26}),
        ("warm: thermostat.setpoint_c=26", "warm", {"thermostat.setpoint_c": 26}),
        ("warm:thermostat.setpoint=75 degF", "warm", {"thermostat.setpoint": "75 degF"}),
        ("shade: day.at-the-camp.09:00.shade=0.8", "shade", {"day.at-the-camp.09:00.shade": 0.8}),
        ("day.a.09:00.shade=0.8,bank.parallel=2", None, {"day.a.09:00.shade": 0.8, "bank.parallel": 2}),
        ("shade from 09:00: day.a.09:00.shade=0.8", "shade from 09:00", {"day.a.09:00.shade": 0.8}),
        ('day."rest: 1".09:00.covers=true', None, {'day."rest: 1".09:00.covers': True}),
        ("dog: occupants.dogs=[{mass_kg=9, name=1},{}], solar=none", "dog",
         {"occupants.dogs": [{"mass_kg": 9, "name": 1}, {}], "solar": "none"}),
        ("night.bedtime=23:30", None, {"night.bedtime": "23:30"}),
    ],
)  # fmt: skip
def test_a_design_is_read_with_its_name(text: str, name: str | None, changes: dict):
    assert parse_designs([text]) == {name or text: changes}


def test_a_named_design_is_shown_by_its_name():
    done = call("compare", "--season", "07-15..07-15", "--vary", "shade: day.at-the-camp.09:00.shade=0.8")
    assert done.exit_code == 0, done.output
    assert "\n  shade  " in done.stdout


def test_check_says_that_a_scenario_is_in_order():
    assert call("check").stdout.splitlines()[:2] == ["Two sleepers on a desert night", "OK: no errors found"]


def test_an_internal_error_asks_to_be_reported(monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture):
    def broken() -> None:
        raise ZeroDivisionError("of something")

    monkeypatch.setattr(common, "app", broken)
    threshold = gc.get_threshold()
    with pytest.raises(SystemExit) as end:
        common.main()
    gc.unfreeze()
    gc.set_threshold(*threshold)
    assert end.value.code == 1
    assert capsys.readouterr().err == "internal error (please report): ZeroDivisionError: of something\n"


def test_a_truncated_weather_file_is_refused(tmp_path: Path):
    lines = DESERT_YEAR.read_text().splitlines()
    short = tmp_path / "short.epw"
    short.write_text("\n".join(lines[:5000]) + "\n")
    fault = refused(call("run", "--weather", short, "--out", tmp_path / "out"))
    assert "short.epw" in fault
    assert not (tmp_path / "out").exists()


def test_a_folder_that_cannot_be_written(tmp_path: Path):
    (tmp_path / "file").write_text("")
    assert "cannot write" in refused(call("run", "--out", tmp_path / "file"))


def test_no_number_is_lost_in_json():
    """What is not finite becomes null, never NaN or Infinity, which JSON does not know; what null means is said."""
    text = call(*QUESTIONS["outage"], "--json").stdout
    assert "NaN" not in text
    assert "Infinity" not in text
    found = json.loads(text)
    rows = found["courses"][0]["thresholds"]
    assert all(row["minutes"] is None or math.isfinite(row["minutes"]) for row in rows)
    assert found["null"]["heat_index_c"] == "off the scale; off_scale says why"
