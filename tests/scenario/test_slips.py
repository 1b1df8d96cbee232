"""Slips as people write them, and the words that they get: what was meant, never a pattern, never a traceback."""

# ruff: noqa: E501  (a slip and its words stand on one line)
import re

import pytest

import vansim
from tests.support.screens import DESERT, call
from vansim.scenario.files import load_scenario, weather_path
from vansim.scenario.hints import clock_meant, date_meant, meant_unit

GOOD = DESERT.read_text(encoding="utf-8").replace("../data_demo/climates/", "")
CABIN, SOLAR = 'cabin = "high-roof-50mm"', 'solar = "single-200w"'
EVENING = 'start = "18:30"\nend = "22:00"\ncovers = true'


def with_roof(roof: str) -> str:
    return f'cabin = {{ part = "high-roof-50mm", faces = {{ roof = {{ {roof} }} }} }}'


SLIPS = [
    # units and magnitudes
    ("setpoint_c = 24.0", "setpoint = 75", 'did you mean setpoint = "75 degF", which is setpoint_c = 23.9?'),
    ("setpoint_c = 24.0", "setpoint_c = 75", 'out of range (you wrote 75); allowed: 15 to 32 °C; did you mean setpoint = "75 degF"?'),
    ("setpoint_c = 24.0", 'setpoint = "75"', 'the unit is missing; allowed: degC, °C, C, degF, °F, F; did you mean setpoint = "75 degF"?'),
    ("setpoint_c = 24.0", "setpoint = 24", 'write setpoint_c = 24, or setpoint = "24 degC"'),
    ("setpoint_c = 24.0", 'setpoint = "24 K"', "unit 'K' is not known here"),
    ("setpoint_c = 24.0", "setpoint_f = 75", 'setpoint = "75 degF"'),
    ("limit_c = 26.0", "limit_c = 79", 'did you mean limit = "79 degF"?'),
    ("power_w = 45.0", "power = 45", 'write power_w = 45, or power = "45 W"'),
    ("duty = 0.45", "duty = 45", "did you mean 0.45, which is 45 %?"),
    (EVENING, EVENING + "\nshade = 80", "did you mean 0.8, which is 80 %?"),
    ("reserve_soc = 0.1", "reserve_soc = 10", "did you mean 0.1, which is 10 %?"),
    ("reserve_soc = 0.1", 'reserve_soc = "10%"', "must be a number (you wrote '10%'); write 0.1"),
    ("heading_deg = 180.0", 'heading = "south"', "south is 180 deg"),
    ("heading_deg = 180.0", 'heading_deg = "SW"', "SW is 225 deg"),
    (CABIN, with_roof('layers = [{ material = "steel", thickness = 1 }]'), 'write thickness_mm = 1, or thickness = "1 mm"'),
    # names of parts and materials
    (CABIN, 'cabin = "high-roof"', "did you mean 'high-roof-50mm'?"),
    ('cooler = "roof-12v-2600w"', 'cooler = "roof-12v"', "did you mean 'roof-12v-2600w'?"),
    ('unit = "lfp-12v-100ah"', 'unit = "lithium"', "allowed: lfp-12v-100ah, lfp-12v-200ah"),
    ('cooler = "roof-12v-2600w"', 'cooler = "roof-24v-3kw"', "24 V on a 12 V bank; both must be the same"),
    (CABIN, with_roof('layers = [{ material = "foam", thickness_mm = 50 }]'), "near it: polyurethane-foam"),
    (CABIN, with_roof('layers = [{ material = "spray foam", thickness_mm = 50 }]'), "near it: spray-foam"),
    (CABIN, with_roof('layers = [{ material = "wool", thickness_mm = 50 }]'), "near it: sheep-wool"),
    (CABIN, with_roof('paint = "grey"'), "did you mean 'mid-grey'?"),
    (CABIN, 'cabin = { part = "high-roof-50mm", windows = [{ face = "roof", area_m2 = 0.3, glass = "tinted" }] }', "did you mean 'acrylic-double-tinted'?"),
    (CABIN, 'cabin = { part = "high-roof-50mm", windows = [{ face = "roof", area_m2 = 0.3, cover = "curtain" }] }', "did you mean 'plain-curtain'?"),
    (SOLAR, "solar = 400", "a table such as [solar] with rated_w = 400 and area_m2 = 2 (you wrote 400)"),
    (SOLAR, 'solar = "400 W"', "did you mean 'pair-400w'?"),
    ('alternator = "second-12v-230a"', "alternator = 230", "[alternator] with idle_a = 40 and road_a = 60"),
    ('unit = "lfp-12v-100ah"', "unit = 600", 'chemistry = "lfp" and capacity_ah = 100'),
    # who is aboard
    ("[occupants]\npeople = 2", "people = 2", "it belongs under [occupants]"),
    ("people = 2", 'people = "two"', "must be a number, such as people = 2, or a list of people"),
    ("people = 2", "people = 2\ndogs = 1", "a list of dogs by mass, such as dogs = [{ mass_kg = 20 }"),
    ("people = 2", 'people = 2\ndogs = "20 kg"', "a list of dogs by mass"),
    ("people = 2", "people = 2\ndog = 1", "did you mean 'dogs'?"),
    ("people = 2", "people = -1", "allowed: 0 to 20"),
    # tables and keys
    ("[bank]", "[battery]", "no such key; did you mean 'bank'?"),
    ("[bank]", "[batteries]", "did you mean 'bank'?"),
    ("[occupants]", "[people]", "did you mean 'occupants'?"),
    ("[thermostat]", "[thermostats]", "did you mean 'thermostat'?"),
    (SOLAR, 'panels = "single-200w"', "did you mean 'solar'?"),
    ("power_w = 45.0", "watts = 45", "did you mean 'power_w'?"),
    ("[site]", "[site]\nshade = 0.5", "it belongs under [[day.segment]]"),
    ("[bank]", "[[bank]]", "must be a table"),
    # numbers, choices, truth
    ("parallel = 6", "parallel = 6.5", "must be a whole number"),
    ("parallel = 6", 'parallel = "6"', "must be a whole number (you wrote '6')"),
    ('cooling = "boost_then_eco"', 'cooling = "boost then eco"', "did you mean 'boost_then_eco'?"),
    ('cooling = "eco"', 'cooling = "on"', "allowed: off, eco, boost, boost_then_eco"),
    ('fan = "on"', "fan = true", "allowed: off, on, auto"),
    ("covers = true", 'covers = "yes"', "must be true or false (you wrote 'yes'), without quotes"),
    # dates and times
    ('date = "07-15"', 'date = "13-40"', 'must be a date (you wrote \'13-40\'); allowed: "MM-DD", such as "07-15"'),
    ('date = "07-15"', 'date = "2024-07-15"', 'did you mean "07-15"?'),
    ('date = "07-15"', "date = 2024-07-15", 'did you mean "07-15"?'),
    ('date = "07-15"', 'date = "July 4"', 'did you mean "07-04"?'),
    ('date = "07-15"', 'date = "02-30"', "typical years have no 29 February"),
    ('bedtime = "22:00"', 'bedtime = "10 pm"', 'did you mean "22:00"?'),
    ('bedtime = "22:00"', "bedtime = 22", 'did you mean "22:00"?'),
    ('bedtime = "22:00"', "bedtime = 22:00", 'a clock time is text and needs quotes: "22:00"'),
    ('waking = "07:00"', 'waking = "7:00"', 'did you mean "07:00"?'),
    ('start = "18:30"', 'start = "19:30"', "leave a gap"),
    # the file itself
    ('title = "Two', "title = Two", "text needs quotes"),
    ('weather = "desert.epw"', 'weather = "dessert.epw"', "did you mean 'desert.epw'?"),
]  # fmt: skip


@pytest.mark.parametrize(("old", "new", "words"), SLIPS, ids=[new.splitlines()[-1][:50] for _, new, _ in SLIPS])
def test_a_slip_gets_its_words(tmp_path, old, new, words):
    assert old in GOOD
    path = tmp_path / "van.toml"
    path.write_text(GOOD.replace(old, new, 1), encoding="utf-8")
    with pytest.raises(vansim.ScenarioError) as caught:
        weather_path(load_scenario(path))
    assert any(words in fault for fault in caught.value.faults), caught.value.faults
    assert len(caught.value.faults) == 1, caught.value.faults
    assert not re.search(r"\\d|\[01\]|should match|Input should|Value error", str(caught.value))


def test_there_are_fifty():
    assert len(SLIPS) >= 50


COMMANDS = [
    (("run", "--from", "13-40"), '--from: must be a date (you wrote \'13-40\'); allowed: "MM-DD", such as "07-15"'),
    (("run", "--from", "july 4"), 'did you mean "07-04"?'),
    (("run", "--from", "02-30"), "typical years have no 29 February"),
    (("run", "--days", "0"), "--days: out of range (you wrote 0); allowed: 1 to 365"),
    (("run", "--start-soc", "90"), "did you mean 0.9?"),
    (("size", "--target", "95"), "did you mean 95%?"),
    (("size", "--keep", "95"), "--keep is called --target"),
    (("run", "--weather", "tuscon.epw"), "no such weather file; bundled ones are in"),
    (("run", "--weather", "dessert.epw"), "did you mean 'desert.epw'?"),
]


@pytest.mark.parametrize(("command", "words"), COMMANDS, ids=[" ".join(words) for words, _ in COMMANDS])
def test_a_slip_in_a_command_gets_its_words(command, words):
    done = call(*command)
    assert done.exit_code == 2
    assert words in done.stderr
    assert not re.search(r"\\d|\[01\]|should match|Input should", done.stderr)


def test_only_weather_files_are_suggested_for_a_weather_file(tmp_path):
    (tmp_path / "tucson.epw").write_text("", encoding="utf-8")
    (tmp_path / "tuscon.toml").write_text(
        GOOD.replace('weather = "desert.epw"', 'weather = "tuscon.epw"'), encoding="utf-8"
    )
    with pytest.raises(vansim.ScenarioError, match=r"did you mean 'tucson\.epw'\?$"):
        weather_path(load_scenario(tmp_path / "tuscon.toml"))
    done = call("run", "--weather", tmp_path / "tuscon.epw")
    assert "weather files there: tucson.epw; did you mean 'tucson.epw'?" in done.stderr


@pytest.mark.parametrize(
    ("written", "clock"),
    [
        (7, "07:00"),
        ("7h30", "07:30"),
        ("12 am", "00:00"),
        ("12 pm", "12:00"),
        ("25", None),
        ("13 pm", None),
        ("x", None),
    ],
)
def test_clock_times_of_other_kinds(written, clock):
    assert clock_meant(written) == clock


@pytest.mark.parametrize(
    ("written", "date"),
    [("7-4", "07-04"), ("31-12", "12-31"), ("4th July 2025", "07-04"), ("Aug 9", "08-09"), ("13-40", None), ("", None)],
)
def test_dates_of_other_kinds(written, date):
    assert date_meant(written) == date


def test_fahrenheit_is_only_meant_where_celsius_cannot_be():
    bounds = {"ge": 15.0, "le": 32.0}
    assert [meant_unit(value, "setpoint_c", bounds) for value in (24, 75, 900)] == ["degC", "degF", None]
