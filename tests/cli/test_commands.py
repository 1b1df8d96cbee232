"""The commands as a person or a script meets them: answers, exit codes, and nothing half-written."""

from __future__ import annotations

import gc
import json
import math
from pathlib import Path

import numpy as np
import pandas as pd
import pytest
from typer.testing import CliRunner

import vansim
from vansim.cli import app, common
from vansim.cli.common import RENAMED_COMMANDS, RENAMED_OPTIONS
from vansim.cli.designs import parse_designs
from vansim.scenario.files import default_scenario_path, load_scenario, weather_path

SCENARIOS = sorted(default_scenario_path().parent.glob("*.toml"))
SCENARIOS_BY_NAME = {path.stem: path for path in SCENARIOS}
DESERT = SCENARIOS_BY_NAME["desert-night"]
JULY = ["--season", "07-14..07-16"]

DESERT_YEAR = weather_path(load_scenario(DESERT))
GOOD = DESERT.read_text(encoding="utf-8").replace("../data_demo/climates/desert.epw", str(DESERT_YEAR))


def call(*words: str | Path):
    return CliRunner().invoke(app, [str(word) for word in words])


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
    done = call("run")
    assert done.exit_code == 0, done.output
    lines = done.stdout.splitlines()
    assert lines[2].startswith("The cooling lasts the night")
    for words in (
        "runtime (bedtime to reserve)",
        "lowest state of charge",
        "compressor duty",
        "energy, bedtime",
        "Back at",
    ):
        assert words in done.stdout
    assert "Books" not in done.stdout
    assert done.stdout.index("Back at") < done.stdout.index("Never leave a child")


@pytest.mark.parametrize("path", SCENARIOS, ids=lambda p: p.stem)
def test_every_scenario_checks_and_runs(path: Path):
    assert call("check", path).exit_code == 0
    done = call("run", path, "--json")
    assert done.exit_code == 0, done.output
    found = json.loads(done.stdout)
    assert found["status"] in ("kept", "bank_empty", "too_warm")
    assert max(abs(v) for v in found["balance"].values()) < 1e-6


def test_run_in_us_units_says_the_same():
    si, us = call("run").stdout, call("run", "--units", "us").stdout
    assert "26.0 °C" in si
    assert "°C" not in us
    assert "78.8 °F" in us


def test_out_writes_the_contract(tmp_path: Path):
    done = call("run", "--out", tmp_path / "out")
    assert done.exit_code == 0, done.output
    names = {p.name for p in (tmp_path / "out").iterdir()}
    assert names == {"hourly.csv", "nights.csv", "summary.json", "night.png", "night.svg"}
    hourly = pd.read_csv(tmp_path / "out" / "hourly.csv", index_col="hour_beginning")
    for column in (
        "outdoor_c cabin_c contents_c cabin_rh ghi_w_m2 faces_w glass_solar_w air_exchange_w people_w equipment_w "
        "sensible_w latent_w duty starts supply_c cooler_w loads_w solar_w alternator_w shore_w bank_w bank_v bank_a "
        "soc unserved_w"
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
    result = vansim.simulate(vansim.load_scenario(DESERT))
    h = result.hourly
    into = h[["faces_w", "glass_solar_w", "air_exchange_w", "people_w", "equipment_w", "sensible_w", "vehicle_w"]]
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


@pytest.mark.parametrize(
    "words",
    [
        ("nights", *JULY),
        ("nights", *JULY, "--consecutive"),
        ("size", *JULY, "--battery", "lfp-12v-200ah"),
        ("compare", *JULY, "--vary", "thermostat.setpoint_c=26"),
        ("energy",),
        ("upgrades", "--season", "07-15..07-15"),
        ("outage",),
        ("outage", "--when", "sun"),
    ],
    ids=" ".join,
)
def test_studies_speak_write_and_give_json(words: tuple[str, ...], tmp_path: Path):
    said = call(*words)
    assert said.exit_code == 0, said.output
    assert len(said.stdout.splitlines()) > 4
    found = json.loads(call(*words, "--json").stdout)
    assert found
    assert call(*words, "--out", tmp_path).exit_code == 0
    written = list(tmp_path.iterdir())
    assert written
    assert all(p.stat().st_size > 100 for p in written)
    assert not [p for p in written if p.name.startswith(".")]


def test_outage_carries_its_caution_first_and_last():
    lines = [line for line in call("outage").stdout.splitlines() if line]
    assert lines[1].startswith("NEVER leave a child or a pet alone")
    assert lines[-1] == lines[1]


def test_sizing_share_is_read_as_written():
    one = json.loads(call("size", *JULY, "--target", "95%", "--battery", "lfp-12v-200ah", "--json").stdout)
    two = json.loads(call("size", *JULY, "--target", "0.95", "--battery", "lfp-12v-200ah", "--json").stdout)
    assert one == two


def test_parts_weather_and_schema():
    assert "roof-12v-2600w" in call("parts", "coolers").stdout
    assert set(json.loads(call("parts", "--json").stdout)) >= {"coolers", "cabins"}
    said = call("weather", DESERT_YEAR).stdout
    assert "INVENTED" in said
    assert "Sun against the file's hours: agrees" in said
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
    said = refused(call("run", path, "--out", tmp_path / "out"))
    for words in says:
        assert words in said
    assert not (tmp_path / "out").exists()


def test_all_faults_at_once(tmp_path: Path):
    path = damaged(tmp_path, "setpoint_c = 24.0", "setpoint_c = 99.0\nbnad = 1")
    path.write_text(path.read_text().replace("parallel = 6", "parallel = 0"))
    said = refused(call("check", path))
    assert len(said.strip().splitlines()) >= 3
    for words in ("setpoint_c", "bnad", "parallel"):
        assert words in said


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
        (("energy", SCENARIOS_BY_NAME["shore-weekend"], "--night", "4"), "the run holds 3 nights: 1 to 3"),
        (("outage", "--when", "noon"), "noon"),
        (("parts", "cooler"), "coolers"),
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
        ("nights", "--chained", "--consecutive"),
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
    for command in ("run", "nights", "size", "compare", "upgrades", "energy", "outage"):
        said = call(command, "--help").stdout
        assert all(option in said for option in ("scenario", "--weather", "--out", "--units", "--json")), command


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
    said = refused(call("run", "--weather", short, "--out", tmp_path / "out"))
    assert "short.epw" in said
    assert not (tmp_path / "out").exists()


def test_a_folder_that_cannot_be_written(tmp_path: Path):
    (tmp_path / "file").write_text("")
    assert "cannot write" in refused(call("run", "--out", tmp_path / "file"))


def test_no_number_is_lost_in_json():
    """What is not finite becomes null, never NaN or Infinity, which JSON does not know."""
    text = call("outage", "--json").stdout
    assert "NaN" not in text
    assert "Infinity" not in text
    rows = json.loads(text)["thresholds"]
    assert all(row["minutes"] is None or math.isfinite(row["minutes"]) for row in rows)
