"""The schema for editors, held by a JSON Schema library of others: what it accepts, refuses and says."""

import json
import tomllib

import jsonschema
import pytest

import vansim
from tests.support.screens import SCENARIOS, call
from vansim.scenario.described import made_from
from vansim.scenario.json_schema import json_schema
from vansim.scenario.parts import KINDS, library

SCHEMA = json_schema()
VALIDATOR = jsonschema.Draft202012Validator(SCHEMA)


def faults(raw):
    return [f"{error.json_path}: {error.message[:200]}" for error in VALIDATOR.iter_errors(raw)]


def test_it_is_a_schema_and_what_the_command_prints():
    jsonschema.Draft202012Validator.check_schema(SCHEMA)
    assert json.loads(call("schema").stdout) == json.loads(json.dumps(SCHEMA))


@pytest.mark.parametrize("path", SCENARIOS.values(), ids=lambda p: p.stem)
def test_every_scenario_is_accepted(path):
    assert faults(tomllib.loads(path.read_text(encoding="utf-8"))) == []


@pytest.mark.parametrize(
    "answers",
    [{}, {"length": "22 ft", "dogs": "20 kg", "shore": "30", "setpoint": "75 degF"}, {"fan": "0", "solar": "0"}],
)
def test_every_described_van_is_accepted(answers):
    assert faults(tomllib.loads(made_from(answers)[1])) == []


@pytest.mark.parametrize(
    "change",
    [
        {"thermostat": {"setpoint_c": 75.0}},
        {"thermostat": {"setpont_c": 24.0}},
        {"cabin": {"length_m": 6.0, "width_m": 2.0}},
        {"cabin": {"length_m": 6.0, "width_m": 9.0, "height_m": 2.5}},
        {"cabin": {"length_m": 6.0, "width_m": 2.0, "height_m": 2.5, "paint": "purple"}},
        {"solar": 400},
        {"occupants": {"people": "two"}},
        {"bank": {"unit": "lfp-12v-100ah", "parallel": 6.5}},
    ],
)
def test_what_the_reader_refuses_is_refused(change):
    raw = {**tomllib.loads(SCENARIOS["desert-night"].read_text(encoding="utf-8")), "variants": {}}
    assert faults(raw) == []
    assert faults({**raw, **change})
    with pytest.raises(vansim.ScenarioError):
        vansim.load_scenario({**raw, **change})


def test_parts_are_offered_by_name_and_ones_own_are_accepted():
    text = json.dumps(SCHEMA)
    for kind in KINDS:
        assert all(json.dumps(name) in text for name in library().parts[kind]), kind
    raw = tomllib.loads(SCENARIOS["desert-night"].read_text(encoding="utf-8"))
    assert faults({**raw, "cooler": "one of my own"}) == []


def test_every_key_says_what_it_is_with_unit_default_and_range():
    tables = {"Scenario": SCHEMA, **SCHEMA["$defs"]}
    for name, table in tables.items():
        for key, field in table.get("properties", {}).items():
            assert field.get("description"), f"{name}.{key}"
    words = tables["Thermostat"]["properties"]["setpoint_c"]["description"]
    assert words == "Middle of the band [°C]. Allowed: 15 to 32 °C. Default: 24.0."
    assert "[m]" in tables["Cabin"]["properties"]["width_m"]["description"]
    assert "Allowed: 1.4 to 2.6 m." in tables["Cabin"]["properties"]["width_m"]["description"]
