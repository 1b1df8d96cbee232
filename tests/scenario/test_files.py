"""Reading scenario files: what is accepted, where values come from, and words for every fault."""

import copy
import tomllib

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from vansim.errors import ScenarioError
from vansim.scenario.files import (
    default_scenario_path,
    load_scenario,
    origins,
    weather_path,
)
from vansim.scenario.json_schema import json_schema
from vansim.scenario.keys import RENAMED
from vansim.scenario.reading import leaves
from vansim.scenario.schema import Night, Pitch, PlanSegment
from vansim.scenario.toml import demo_folder
from vansim.units import symbol
from vansim.van.bank import Bank
from vansim.van.cabin import Cabin, Face
from vansim.van.charging import SolarArray

BASE = """
cabin = "high-roof-50mm"
cooler = "roof-12v-2600w"
[bank]
unit = "lfp-12v-100ah"
parallel = 4
[thermostat]
setpoint_c = 24
[[day]]
name = "a"
[[day.segment]]
start = "08:00"
end = "20:00"
[[day.segment]]
start = "20:00"
end = "08:00"
cooling = "eco"
"""


def raw(**changes):
    return tomllib.loads(BASE) | changes


def faults_of(source):
    with pytest.raises(ScenarioError) as caught:
        load_scenario(source)
    return caught.value.faults


@pytest.fixture
def written(tmp_path):
    def write(text):
        path = tmp_path / "van.toml"
        path.write_text(text, encoding="utf-8")
        return path

    return write


# --- what is accepted -------------------------------------------------------------------------------------------------


def test_a_part_by_name_by_name_with_changes_and_inline_are_the_same():
    inline = {"chemistry": "lfp", "nominal_v": 12, "capacity_ah": 100.0, "charge_max_a": 50, "discharge_max_a": 100}
    inline |= {"mass_kg": 11.5, "name": "lfp-12v-100ah", "note": "invented"}
    scenarios = [
        load_scenario(raw(bank={"unit": unit})) for unit in ("lfp-12v-100ah", {"part": "lfp-12v-100ah"}, inline)
    ]
    first, second, third = (scenario.model_dump() for scenario in scenarios)
    assert first == second == third


def test_a_change_lies_over_a_part_down_to_its_tables():
    cooler = {"part": "roof-12v-2600w", "standby": "0.01 kW", "rated": {"capacity": "2.8 kW"}}
    changed, plain = load_scenario(raw(cooler=cooler)).cooler, load_scenario(raw()).cooler
    assert changed.rated.capacity_w == pytest.approx(2800.0)
    assert changed.standby_w == pytest.approx(10.0)
    assert changed.rated.power_w == plain.rated.power_w


def test_people_by_number_are_default_adults():
    people = load_scenario(raw(occupants={"people": 2})).occupants.people
    assert len(people) == 2
    assert people[0].mass_kg == 75.0


@pytest.mark.parametrize(
    ("key", "value", "expected_c"),
    [("setpoint", "75 degF", 23.8889), ("setpoint_c", "24 °C", 24.0), ("setpoint_c", 24, 24.0)],
)
def test_a_temperature_is_read_with_its_unit(key, value, expected_c):
    assert load_scenario(raw(thermostat={key: value})).thermostat.setpoint_c == pytest.approx(expected_c, abs=1e-4)


def test_a_voltage_with_its_unit_is_one_of_the_classes():
    cooler = {"part": "roof-12v-2600w", "nominal_v": "12 V"}
    assert load_scenario(raw(cooler=cooler)).cooler.nominal_v == 12


def test_an_optional_part_may_be_none():
    assert load_scenario(raw(solar="none")).solar is None


def test_ones_own_parts_folder_adds_to_the_library(written, tmp_path):
    (tmp_path / "mine").mkdir()
    (tmp_path / "mine" / "bank-units.toml").write_text("[big]\nchemistry = 'lfp'\ncapacity_ah = 500\n")
    text = 'parts = "mine"\n' + BASE.replace("lfp-12v-100ah", "big")
    scenario = load_scenario(written(text))
    assert scenario.bank.unit.capacity_ah == 500.0
    assert scenario.bank.unit.name == "big"


def test_a_fault_in_ones_own_parts_names_that_file(written, tmp_path):
    (tmp_path / "mine").mkdir()
    (tmp_path / "mine" / "bank-units.toml").write_text("[big]\nchemistry = 'lfp'\ncapacity_wh = 500\n")
    found = "\n".join(faults_of(written('parts = "mine"\n' + BASE)))
    assert "bank-units.toml:3: big.capacity_wh: the unit expected here is Ah" in found
    assert "van.toml:1: parts:" in found


def test_a_byte_order_mark_and_windows_line_ends_are_read(tmp_path):
    path = tmp_path / "van.toml"
    path.write_bytes(b"\xef\xbb\xbf" + BASE.replace("\n", "\r\n").encode())
    assert load_scenario(path).model_dump() == load_scenario(raw()).model_dump()


def test_every_leaf_has_an_origin():
    scenario = load_scenario(raw(thermostat={"setpoint": "24 degC"}, cooler={"part": "roof-12v-2600w", "standby_w": 9}))
    found = origins(scenario)
    assert len(found) == len(list(leaves(scenario)))
    assert found["thermostat.setpoint_c"] == "given"
    assert found["thermostat.deadband_k"] == "default"
    assert found["cooler.standby_w"] == "given"
    assert found["cooler.rated.capacity_w"] == "part roof-12v-2600w"
    assert found["cooler.min_on_s"] == "part roof-12v-2600w"
    assert found["cooler.intake_rise_k"] == "default"
    assert found["bank.unit.capacity_ah"] == "part lfp-12v-100ah"
    assert found["day.a.20:00.cooling"] == "given"
    assert found["day.a.20:00.shade"] == "default"


# --- every fault in words ---------------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("change", "line", "expected"),
    [
        (("setpoint_c = 24", "setpiont_c = 24"), 8, "thermostat.setpiont_c: no such key; did you mean 'setpoint_c'?"),
        (("parallel = 4", "setpoint_c = 24"), 6, "bank.setpoint_c: no such key here; it belongs under [thermostat]"),
        (("parallel = 4", 'title = "x"'), 6, "bank.title: no such key here; it belongs at the top of the file"),
        (("setpoint_c = 24", "setpoint_f = 75"), 8, 'setpoint_c = ..., or with a unit, setpoint = "75 degF"'),
        (("parallel = 4", "capacity_wh = 5"), 6, "did you mean 'capacity_ah'? it belongs under [bank.unit]"),
        (("setpoint_c = 24", "setpoint = 24"), 8, 'unit is missing; write setpoint_c = 24, or setpoint = "24 degC"'),
        (("setpoint_c = 24", 'setpoint = "75 degG"'), 8, "unit 'degG' is not known here; allowed: degC"),
        (("setpoint_c = 24", 'setpoint = "75"'), 8, "the unit is missing; allowed: degC"),
        (("setpoint_c = 24", 'setpoint_c = 24\nsetpoint = "75 degF"'), 9, "given twice"),
        (("setpoint_c = 24", "setpoint_c = nan"), 8, "must be a finite number (you wrote nan)"),
        (("setpoint_c = 24", "setpoint_c = inf"), 8, "must be a finite number (you wrote inf)"),
        (("setpoint_c = 24", "setpoint_c = true"), 8, "must be a number in °C (you wrote true)"),
        (("setpoint_c = 24", "setpoint_c = 240"), 8, "out of range (you wrote 240); allowed: 15 to 32 °C"),
        (("parallel = 4", "parallel = 2.5"), 6, "bank.parallel: must be a whole number (you wrote 2.5)"),
        (("parallel = 4", 'parallel = "4"'), 6, "bank.parallel: must be a whole number (you wrote '4')"),
        (('cooling = "eco"', 'cooling = "Eco"'), 17, "allowed: off, eco, boost, boost_then_eco; did you mean 'eco'?"),
        (('start = "08:00"', 'start = "8:00"'), 12, 'must be a clock time (you wrote \'8:00\'); allowed: "HH:MM"'),
        (('start = "08:00"', "start = 08:00:00"), 12, "must be text in quotes (you wrote 08:00:00)"),
        (('end = "20:00"', 'end = "19:00"'), 9, "day.a: the segment ending 19:00 and the next, starting 20:00, leave"),
        (('end = "20:00"', 'end = "21:00"'), 9, "the segment ending 21:00 and the next, starting 20:00, overlap"),
        (('"roof-12v-2600w"', '"rof-12v-2600w"'), 3, "in coolers (you wrote 'rof-12v-2600w'); allowed: roof-12v-2600w"),
        (('"roof-12v-2600w"', '"roof-24v-3kw"'), 3, "cooler.nominal_v: 24 V on a 12 V bank; both must be the same"),
        (('"roof-12v-2600w"', "12"), 3, "or a table such as [cooler]"),
        (('"roof-12v-2600w"', "{ part = 12 }"), 3, "cooler.part: must be a part's name in quotes (you wrote 12)"),
        (('cabin = "high-roof-50mm"', ""), None, "'cabin' is missing"),
        (("cabin =", "cabn ="), 2, "cabn: no such key; did you mean 'cabin'?"),
        (('start = "08:00"', 'start = "24:00"'), 11, "a start at midnight is written 00:00, not 24:00"),
        (('cooling = "eco"', "shore = true"), 9, "from 20:00 on the day 'a' uses shore power; that needs both"),
        (('name = "a"', 'name = "a"\nx = 1979-05-27'), 11, "day.a.x: no such key; allowed: name, segment"),
        (("parallel = 4", "health = 0.8"), 6, "6: bank.health is called bank.state_of_health"),
        (('cooling = "eco"', "sky_open = 1.0"), 17, "17: day.a.20:00.sky_open is called day.a.20:00.sky_view_factor"),
        (('cooling = "eco"', "shade = 2.0"), 17, "17: day.a.20:00.shade: out of range (you wrote 2.0)"),
        (("parallel = 4", "series = 3"), 6, "bank.series: the batteries add up to 36 V"),
        (('[bank]', 'cycle = ["a", "b"]\n[bank]'), 4, "cycle: no day is called 'b'; there are a"),
    ],
)  # fmt: skip
def test_a_fault_says_where_what_and_what_is_allowed(written, change, line, expected):
    assert change[0] in BASE
    path = written(BASE.lstrip("\n").join(["\n", ""]).replace(*change, 1))
    found = faults_of(path)
    assert any(expected in fault for fault in found), found
    if line is not None:
        assert any(fault.startswith(f"{path}:{line}: ") and expected in fault for fault in found), found


@pytest.mark.parametrize("area_m2", [-1.0, 0.0])
def test_a_negative_area_is_refused(area_m2):
    cabin = {"part": "high-roof-50mm", "faces": {"roof": {"area_m2": area_m2}}}
    (fault,) = faults_of(raw(cabin=cabin))
    assert fault == f"cabin.faces.roof.area_m2: out of range (you wrote {area_m2}); allowed: above 0 m2"


def test_a_wrong_face_or_cover_or_paint_is_named():
    cabin = {
        "part": "high-roof-50mm",
        "faces": {"rof": {}, "left": {"paint": "withe"}},
        "windows": [{"face": "rear", "area_m2": 1.0, "cover": 3}],
    }
    found = "\n".join(faults_of(raw(cabin=cabin)))
    assert "cabin.faces.rof: no such name; allowed: roof, left" in found
    assert "did you mean 'roof'?" in found
    assert "cabin.faces.left: paint 'withe' is not in the paints table" in found
    assert "cabin.windows.0.cover:" in found


@pytest.mark.published
def test_an_impossible_coil_is_refused_not_guessed():
    """2000 W from 0.100 m3/s with a sensible share of 0.78 at 26.67 °C dry bulb, 19.44 °C wet bulb (indoor condition of
    AHRI 210/240): no such line meets the saturation curve; with 0.75 one does (worked out with psychrolib).
    """
    rated = {"outdoor_c": 35.0, "cabin_c": 26.667, "cabin_rh": 0.511, "capacity_w": 2000.0, "power_w": 850.0}
    cooler = {"airflow_m3_h": 360.0, "sensible_share": 0.78, "coil_fan_w": 0.0, "rated": rated}
    (fault,) = faults_of(raw(cooler=cooler))
    assert fault.startswith("cooler: no coil can do this: 2000 W")
    assert "lower sensible_share or raise airflow_m3_h" in fault
    assert load_scenario(raw(cooler=cooler | {"sensible_share": 0.75})).cooler is not None


@pytest.mark.parametrize(
    ("model", "old", "new"), [(model, old, new) for model, names in RENAMED.items() for old, new in names.items()]
)
def test_a_renamed_key_is_refused_with_its_new_name(model, old, new):
    where: dict[type, str] = {Cabin: "cabin", Face: "cabin.faces.roof", Bank: "bank", Night: "night", Pitch: "site"}
    table = {**where, PlanSegment: "day.a.08:00", SolarArray: "solar"}[model]
    cabin = load_scenario(raw()).cabin.model_dump(exclude_none=True)
    tables = raw(cabin=cabin, night={}, site={}, solar={"rated_w": 200.0, "area_m2": 1.0})
    held = tables["day"][0]["segment"][0]
    if model is not PlanSegment:
        held = tables
        for key in table.split("."):
            held = held[key]
    held[old] = 0.5
    assert faults_of(tables) == (f"{table}.{old} is called {table}.{new}",)


def test_segments_of_a_variant_are_addressed_by_day_and_start_time(written):
    text = (
        BASE
        + '[variants]\n"warm" = { "day.a.20:00.setpoint_c" = 26 }\n[variants.late]\nday.a."08:00".cooling = "eco"\n'
    )
    assert set(load_scenario(written(text)).variants) == {"warm", "late"}
    found = faults_of(written(text.replace("20:00.setpoint_c", "21:00.setpoint_c").replace('a."08:00"', "0.segment.0")))
    assert any(
        ".toml:19: " in fault and "day.a has no segment '21:00'; there are 08:00, 20:00" in fault for fault in found
    )
    assert any(".toml:21: " in fault and "write day.a.08:00.cooling" in fault for fault in found)


def test_all_faults_come_at_once_in_the_order_of_the_file(written):
    text = BASE.replace("parallel = 4", "paralel = 4").replace("setpoint_c = 24", "setpoint_c = nan")
    text = (
        text.replace('"roof-12v-2600w"', '"split-48v-3500w"')
        .replace('"eco"', '"ecco"')
        .replace("high-roof", "high-rof")
    )
    text += '[[day.segment]]\nstart = "8:00"\nend = "09:00"\nshade = -1\n'
    found = faults_of(written(text))
    places = [int(fault.split(".toml:")[1].split(":")[0]) for fault in found]
    assert places == sorted(places)
    for expected in ("paralel", "nan", "ecco", "high-rof-50mm", "'8:00'", "-1"):
        assert any(expected in fault for fault in found), (expected, found)
    assert len(found) == 6


def test_what_does_not_fit_together_is_told_beside_other_faults():
    found = faults_of(raw(cooler="roof-24v-3kw", thermostat={"setpoint_c": 99}))
    assert any(fault.startswith("cooler.nominal_v: 24 V on a 12 V bank") for fault in found)
    assert any(fault.startswith("thermostat.setpoint_c: out of range") for fault in found)


def test_files_that_cannot_be_read_are_told(tmp_path):
    (tmp_path / "night.toml").write_text(BASE)
    assert "no such file; did you mean 'night.toml'?" in faults_of(tmp_path / "nihgt.toml")[0]
    assert "a folder, not a file; TOML files in it: night.toml" in faults_of(tmp_path)[0]
    latin = tmp_path / "latin.toml"
    latin.write_bytes(b'title = "a"\nnote = "caf\xe9"\n')
    assert f"{latin}:2: not UTF-8 text (byte 0xe9)" in faults_of(latin)[0]
    comma = tmp_path / "comma.toml"
    comma.write_text("[thermostat]\nsetpoint_c = 24,5\n")
    assert faults_of(comma)[0].startswith(f"{comma}:2:16: not valid TOML")
    assert "24.5, not 24,5" in faults_of(comma)[0]
    assert faults_of("nul\0byte.toml")
    huge = tmp_path / "huge.toml"
    huge.write_text("title = " + "9" * 5000)
    assert "not readable as TOML" in faults_of(huge)[0]


def test_an_empty_file_says_what_is_needed(written):
    assert [fault.split(": ")[-1] for fault in faults_of(written(""))] == [
        "'cabin' is missing",
        "'bank' is missing",
        "'day' is missing",
    ]


def test_a_faulty_variant_is_told_with_its_line(written):
    text = (
        BASE + '[variants]\n"more" = { "bank.parallel" = 0 }\n[variants.other]\nbank.paralel = 3\ncooler = "nothing"\n'
    )
    found = faults_of(written(text))
    assert any(".toml:19: " in fault and "out of range (you wrote 0); allowed: 1 to 64" in fault for fault in found)
    assert any(".toml:21: " in fault and "did you mean 'parallel'?" in fault for fault in found)
    assert any(".toml:22: " in fault and "no part of this name in coolers" in fault for fault in found)


# --- any input at all -------------------------------------------------------------------------------------------------

_ANY = st.one_of(
    st.none(),
    st.booleans(),
    st.integers(),
    st.just(10**400),
    st.floats(),
    st.text(max_size=6),
    st.sampled_from(["24 degC", "none", "12:00", "eco", "lfp-12v-100ah"]),
    st.lists(st.integers(0, 3), max_size=2),
    st.dictionaries(
        st.sampled_from(["part", "name", "x", "rated"]), st.integers(0, 3) | st.text(max_size=3), max_size=2
    ),
)
_FULL = load_scenario(default_scenario_path()).model_dump()
_PATHS = sorted(
    {path[:end] for path in leaves(load_scenario(default_scenario_path())) for end in range(1, len(path) + 1)}, key=str
)


@settings(deadline=None, max_examples=300, suppress_health_check=[HealthCheck.too_slow])
@given(st.lists(st.tuples(st.sampled_from(_PATHS), _ANY), min_size=1, max_size=3))
def test_any_damage_gives_a_scenario_or_faults_in_our_own_words(damage):
    tables = copy.deepcopy(_FULL)
    for path, value in damage:
        node = tables
        try:
            for step in path[:-1]:
                node[step] = list(node[step]) if isinstance(node[step], tuple) else node[step]
                node = node[step]
            node[path[-1]] = value
        except (TypeError, KeyError, IndexError):
            continue
    faults = ["none"]
    try:
        load_scenario(tables)
    except ScenarioError as problem:
        faults = list(problem.faults)
    assert faults
    text = "\n".join(faults)
    assert not any(words in text for words in ("pydantic", "should", "Value error", "Error", "validat"))
    assert all(len(fault) < 1000 for fault in faults)


# --- places and schema ------------------------------------------------------------------------------------------------


def test_the_demonstration_is_found():
    assert (demo_folder() / "data_demo" / "parts" / "coolers.toml").is_file()
    assert default_scenario_path().is_file()


def test_the_demonstration_is_found_in_an_installed_package(tmp_path, monkeypatch):
    for folder in ("data_demo", "scenarios"):
        (tmp_path / "vansim" / "demo" / folder).mkdir(parents=True)
    monkeypatch.setattr("vansim.scenario.toml.__file__", str(tmp_path / "vansim" / "scenario" / "toml.py"))
    assert demo_folder() == tmp_path / "vansim" / "demo"
    (tmp_path / "vansim" / "demo" / "scenarios").rmdir()
    with pytest.raises(ScenarioError, match="install vansim again"):
        demo_folder()


def test_weather_is_found_beside_the_scenario_then_among_the_bundled(written, tmp_path):
    scenario = load_scenario(written('weather = "mine.epw"\n' + BASE))
    with pytest.raises(ScenarioError, match=r"no such file \(you wrote 'mine.epw'\).*desert.epw"):
        weather_path(scenario)
    (tmp_path / "mine.epw").write_text("x")
    assert weather_path(scenario) == tmp_path / "mine.epw"
    assert weather_path(load_scenario(raw(weather="desert.epw"))).name == "desert.epw"
    with pytest.raises(ScenarioError, match="no typical-year file is named"):
        weather_path(load_scenario(raw()))


def test_the_json_schema_is_one_and_accepts_what_the_reader_accepts():
    jsonschema = pytest.importorskip("jsonschema")
    jsonschema.Draft202012Validator.check_schema(json_schema())
    accepts = jsonschema.Draft202012Validator(json_schema()).is_valid
    for path in sorted((demo_folder() / "scenarios").glob("*.toml")):
        assert accepts(tomllib.loads(path.read_text(encoding="utf-8"))), path
    assert accepts(raw(cooler={"part": "roof-12v-2600w", "rated": {"capacity": "2 kW"}}))
    assert accepts(raw(thermostat={"setpoint": "75 degF"}, occupants={"people": 2}))
    assert not accepts(raw(cooler={"rated": {"capacity": "2 kW"}}))
    assert not accepts(raw(thermostat={"setpoint_f": 75}))
    assert not accepts(raw(thermostat={"setpoint": 75}))
    assert not accepts(raw(bank={"unit": "x", "parallel": 0}))
    assert not accepts(raw(bank={"unit": "x", "health": 0.8}))
    parts = {"cabins": "cabin", "coolers": "cooler", "alternators": "alternator", "solar-arrays": "solar"}
    for kind, key in parts.items():
        for name, part in tomllib.loads((demo_folder() / "data_demo" / "parts" / f"{kind}.toml").read_text()).items():
            assert accepts(raw(**{key: part})), (kind, name)


def described():
    schema = json_schema()
    for name, table in {"Scenario": schema, **schema["$defs"]}.items():
        for key, field in table["properties"].items():
            yield f"{name}.{key}", key, field


def test_the_json_schema_describes_every_key_with_its_unit_and_default():
    for name, key, field in described():
        words = field.get("description", "")
        assert len(words) > 3, name
        assert symbol(key) in words, (name, words)
        default = field.get(
            "default", next((way["default"] for way in field.get("anyOf", ()) if "default" in way), None)
        )
        if isinstance(default, str | float) and default:
            assert f"Default: {default}" in words, (name, words)
    assert "`" not in str(list(described()))


def test_the_json_schema_lists_what_may_be_chosen_and_holds_new_keys_alone():
    fields = {name: field for name, _, field in described()}
    assert fields["PlanSegment.cooling"]["enum"] == ["off", "eco", "boost", "boost_then_eco"]
    assert fields["Bank.location"]["enum"] == ["cabin", "outside"]
    assert {"white", "silver"} <= set(fields["Face.paint"]["enum"])
    assert {"steel", "plywood"} <= set(fields["Layer.material"]["enum"])
    assert "insulated-outside" in str(fields["Window.cover"]["anyOf"])
    for model, names in RENAMED.items():
        for old, new in names.items():
            assert f"{model.__name__}.{new}" in fields
            assert f"{model.__name__}.{old}" not in fields
