"""No screen contradicts another: where accounts begin, units of messages, reserve and cautions."""

from __future__ import annotations

import re
from pathlib import Path

import pytest

from tests.support.screens import DESERT, call, prose
from vansim.scenario.files import load_scenario, weather_path

YEAR = weather_path(load_scenario(DESERT))
SHORT = ("--season", "07-14..07-15")


def van(tmp_path: Path, *changes: tuple[str, str]) -> Path:
    """The desert night with some words replaced."""
    text = DESERT.read_text(encoding="utf-8").replace("../data_demo/climates/desert.epw", YEAR.as_posix())
    for old, new in changes:
        assert old in text
        text = text.replace(old, new)
    path = tmp_path / "van.toml"
    path.write_text(text, encoding="utf-8")
    return path


def test_messages_are_in_the_units_asked_for(tmp_path: Path) -> None:
    file = van(tmp_path, ("setpoint_c = 24.0", "setpoint_c = 240.0"))
    metric, other = (call("check", file, "--units", units).output for units in ("si", "us"))
    assert "allowed: 15 to 32 °C" in metric
    assert "allowed: 59 to 89.6 °F" in other
    assert "°C" not in other
    assert '"77 degF", is read too' in other


SCREENS = [
    ("check",),
    ("run",),
    ("energy",),
    ("recharge",),
    ("nights", *SHORT),
    ("size", *SHORT),
    ("upgrades", *SHORT),
    ("outage", *SHORT),
    ("compare", *SHORT, "--vary", "shade: day.*.09:00.shade=0.8"),
]


@pytest.mark.parametrize("words", SCREENS, ids=lambda words: words[0])
def test_a_start_at_bedtime_is_said_on_every_screen(words: tuple[str, ...], tmp_path: Path) -> None:
    done = call(words[0], van(tmp_path, ("days = 1", 'days = 1\nstart = "bedtime"')), *words[1:])
    assert done.exit_code == 0, done.output
    assert re.search(r"(Full|Begun) at bedtime", done.output)


def test_a_start_at_bedtime_with_less_charge_is_not_called_full(tmp_path: Path) -> None:
    said = prose(call("run", van(tmp_path), "--full-at-bedtime", "--start-soc", "0.6").output)
    assert "from bedtime (22:00) with the bank at 60%" in said
    assert "A start at bedtime was asked for" in said
    assert "Full at bedtime" not in said


def test_a_whole_day_is_not_said_to_be_without_cooling_before_it(tmp_path: Path) -> None:
    said = prose(call("run", van(tmp_path, ('bedtime = "22:00"', 'bedtime = "07:00"'))).output)
    assert "no cooling is planned before" not in said
    assert "from the waking before (07:00) with a full bank to waking (07:00)" in said


def test_an_empty_design_night_says_when_how_warm_and_for_whom(tmp_path: Path) -> None:
    said = prose(call("nights", van(tmp_path, ("parallel = 6", "parallel = 2")), *SHORT).output)
    assert re.search(r"bank at its reserve at \d\d:\d\d on 1\d July, cabin [\d.]+ °C then, two people aboard", said)
    assert "runtime none" in said
    assert "runtime 0 min" not in said


def test_a_van_without_charging_is_told_of_panels_and_of_nothing_that_it_lacks(tmp_path: Path) -> None:
    fitted = 'alternator = "second-12v-230a"\nsolar = "single-200w"\n'
    file = van(tmp_path, (fitted, ""))
    said = prose(call("nights", file, *SHORT).output)
    assert re.search(r"[\d.]+ k?W of panels would keep it going", said)
    again = prose(call("recharge", file).output)
    assert "nothing aboard brings the bank back" in again
    assert "panels help" not in again


def test_where_too_warm_nights_stand_in_the_way_the_bank_is_not_blamed(tmp_path: Path) -> None:
    said = prose(call("nights", van(tmp_path, ('bedtime = "22:00"', 'bedtime = "07:00"')), *SHORT).output)
    assert "Covered in a row, from full: not one night at worst" in said
    assert "the bank lasts" not in said


def test_what_decides_is_said_of_a_plan_without_engine_even_where_no_bank_is_enough(tmp_path: Path) -> None:
    said = prose(call("size", van(tmp_path, ('bedtime = "22:00"', 'bedtime = "07:00"')), *SHORT).output)
    assert "judged on independent nights, as the plan has no engine or shore time" in said


def test_a_plan_alone_all_day_is_said_to_be_so(tmp_path: Path) -> None:
    file = van(tmp_path, ("people = 2", "people = 0\ndogs = [{ mass_kg = 22.0 }]"), ('dogs = "out"', 'dogs = "awake"'))
    assert "only animals are in the van all day (one dog)" in prose(call("check", file).output)


def test_tables_stay_as_wide_as_a_terminal_whatever_a_night_is_called() -> None:
    kennel = DESERT.parent / "kennel-day.toml"
    done = call("compare", kennel, "--vary", "shade: day.*.13:15.shade=0.8", "--season", "06-20..06-21")
    assert done.exit_code == 0, done.output
    rows = done.output.splitlines()
    start = next(i for i, row in enumerate(rows) if row.strip().startswith("mean working day"))
    assert [re.split(r"\s{2,}", row.strip())[0] for row in rows[start + 1 : start + 3]] == ["as it is", "shade"]
    assert max(len(row) for row in rows) <= 80


def test_a_van_without_a_cooler_is_not_told_of_its_set_point(tmp_path: Path) -> None:
    plan = (('cooler = "roof-12v-2600w"\n', ""), ('cooling = "boost_then_eco"\n', ""), ('cooling = "eco"\n', ""))
    file = van(tmp_path, *plan)
    once = prose(call("run", file).output)
    assert "No cooler is fitted, and the cabin is above 26 °C for" in once
    season = prose(call("nights", file, *SHORT).output)
    assert "not covered: no cooler is fitted" in season
    for said in (once, season):
        assert "set point" not in said
        assert "set too warm" not in said
