"""Changes by dotted key."""

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from vansim.errors import ScenarioError
from vansim.scenario.files import default_scenario_path, load_scenario, origins
from vansim.scenario.keys import RENAMED
from vansim.scenario.schema import Night, Pitch, PlanSegment
from vansim.scenario.vary import variants, vary
from vansim.van.bank import Bank
from vansim.van.cabin import Cabin, Face
from vansim.van.charging import SolarArray


@pytest.fixture(scope="module")
def base():
    return load_scenario(default_scenario_path())


def test_a_change_gives_a_new_scenario_and_leaves_the_old(base):
    before = base.model_dump()
    varied = vary(base, {"bank.parallel": 4, "thermostat.setpoint_c": 26})
    assert (varied.bank.parallel, varied.thermostat.setpoint_c) == (4, 26.0)
    assert base.model_dump() == before
    assert varied._folder == base._folder


def test_no_change_is_the_same_scenario_with_the_same_origins(base):
    assert vary(base, {}) == base
    assert origins(vary(base, {})) == origins(base)


def test_wildcards_reach_every_item_of_lists_and_tables(base):
    varied = vary(base, {"day.*.*.shade": 1.0, "cabin.faces.*.paint": "silver"})
    assert {s.shade for day in varied.day for s in day.segment} == {1.0}
    assert {face.paint for face in varied.cabin.faces.values()} == {"silver"}


def test_segments_are_addressed_by_day_and_start_time(base):
    varied = vary(base, {"day.at-the-camp.18:30.shade": 0.5, "day.at the camp.09:00.shade": 0.25})
    assert [s.shade for s in varied.day[0].segment] == [0.25, 0.0, 0.5, 0.0, 0.0]
    every = vary(base, {"day.*.09:00.shade": 0.3, "day.at-the-camp.*.covers": False})
    assert [s.shade for s in every.day[0].segment] == [0.3, 0.0, 0.0, 0.0, 0.0]
    assert not any(s.covers for s in every.day[0].segment)


def test_a_segment_is_addressed_by_its_own_name_too(base):
    named = vary(base, {"day.at-the-camp.22:00.name": "in bed"})
    for key in ("day.at-the-camp.in-bed.shade", "day.at-the-camp.22:00.shade", 'day."at the camp"."in bed".shade'):
        assert vary(named, {key: 0.4}).day[0].segment[3].shade == 0.4
    with pytest.raises(ScenarioError, match=r"two segments are called 'in-bed'"):
        vary(named, {"day.at-the-camp.07:00.name": "in-bed"})
    for name in ("22:00", "4", "segment", "*"):
        with pytest.raises(ScenarioError, match="a segment cannot be called"):
            vary(base, {"day.at-the-camp.22:00.name": name})


def test_other_items_are_addressed_by_name_or_by_number_where_they_have_none(base):
    varied = vary(
        base,
        {
            "loads.fridge.duty": 0.9,
            "loads.phones-and-pump.power_w": 3.0,
            "loads.1.power_w": 5.0,
            "cabin.windows.0.cover": "none",
            "cabin.faces.roof.layers.1.thickness_mm": 9.0,
        },
    )
    assert varied.loads[0].duty == 0.9
    assert [load.power_w for load in varied.loads[1:]] == [5.0, 3.0]
    assert varied.cabin.windows[0].cover == "none"
    assert varied.cabin.faces["roof"].layers[1].thickness_mm == 9.0
    material = varied.cabin.faces["roof"].layers[1].material
    assert vary(varied, {f"cabin.faces.roof.layers.{material}.thickness_mm": 9.0}) == varied


def test_two_items_of_one_name_are_told_apart_by_number(base):
    twins = vary(base, {"loads": [{"name": "lamp", "power_w": 1.0}, {"name": "lamp", "power_w": 2.0}]})
    with pytest.raises(ScenarioError, match=r"loads has no 'lamp'; allowed: \*, 0, 1"):
        vary(twins, {"loads.lamp.power_w": 3.0})
    assert vary(twins, {"loads.1.power_w": 3.0}).loads[1].power_w == 3.0


@pytest.mark.parametrize(
    ("old", "new"),
    [
        ("day.at-the-camp.segment.4.doing", "day.at-the-camp.07:00.doing"),
        ("day.0.segment.4.doing", "day.at-the-camp.07:00.doing"),
        ("day.0.22:00.doing", "day.at-the-camp.22:00.doing"),
        ("day.*.segment.*.doing", "day.*.*.doing"),
        ("day.*.segment.1.doing", "day.*.18:00.doing"),
        ("day.0.name", "day.at-the-camp.name"),
        ("day.at-the-camp.segment.9.doing", "there are 09:00, 18:00, 18:30, 22:00, 07:00"),
    ],
)
def test_an_address_by_number_is_refused_with_the_new_form(base, old, new):
    with pytest.raises(ScenarioError) as caught:
        vary(base, {old: "parked"})
    (fault,) = caught.value.faults
    assert fault.startswith(f"{old}: days are addressed by name, segments by start time: write day.")
    assert new in fault


@pytest.mark.parametrize(
    ("model", "old", "new"), [(model, old, new) for model, names in RENAMED.items() for old, new in names.items()]
)
def test_a_renamed_key_is_refused_with_its_new_name(base, model, old, new):
    where: dict[type, str] = {
        Cabin: "cabin",
        Face: "cabin.faces.roof",
        Bank: "bank",
        Night: "night",
        Pitch: "site",
        PlanSegment: "day.at-the-camp.22:00",
        SolarArray: "solar",
    }
    table = where[model]
    assert new in model.model_fields
    assert old not in model.model_fields
    with pytest.raises(ScenarioError) as caught:
        vary(base, {f"{table}.{old}": 0.5})
    assert caught.value.faults == (f"{table}.{old} is called {table}.{new}",)
    with pytest.raises(ScenarioError) as caught:
        vary(base, {table.replace("camp.22:00", "camp.*") + f".{old}": 0.5})
    assert all(f".{old} is called " in fault and fault.endswith(f".{new}") for fault in caught.value.faults)


def test_a_renamed_key_is_refused_without_its_unit_and_in_a_table_given_whole(base):
    with pytest.raises(ScenarioError, match=r"solar\.turn is called solar\.azimuth_from_nose$"):
        vary(base, {"solar.turn": "90 deg"})
    with pytest.raises(ScenarioError, match=r"bank\.health is called bank\.state_of_health$"):
        vary(base, {"bank": {"unit": "lfp-12v-100ah", "health": 0.8}})
    with pytest.raises(ScenarioError, match=r"'health' is now 'state_of_health', and it belongs under \[bank\]"):
        vary(base, {"bank.unit.health": 0.8})


def test_units_and_steps_are_read(base):
    varied = vary(base, {"thermostat.setpoint": "75 degF", "bank.parallel": "+2", "night.limit_c": "-0.5"})
    assert varied.thermostat.setpoint_c == pytest.approx((75 - 32) / 1.8)
    assert varied.bank.parallel == base.bank.parallel + 2
    assert varied.night.limit_c == base.night.limit_c - 0.5


def test_a_part_is_replaced_whole_then_changed(base):
    varied = vary(base, {"cooler": "split-12v-1500w", "cooler.standby_w": 7.0})
    assert varied.cooler.name == "split-12v-1500w"
    assert varied.cooler.standby_w == 7.0
    same = vary(base, {"cooler": {"part": "split-12v-1500w", "standby_w": 7.0}})
    assert same == varied
    assert origins(varied) == origins(same)
    assert origins(varied)["cooler.rated.capacity_w"] == "part split-12v-1500w"
    assert origins(varied)["cooler.standby_w"] == "given"
    assert origins(varied)["bank.unit.capacity_ah"] == "part lfp-12v-100ah"


@pytest.mark.parametrize("nothing", ["none", None])
def test_an_optional_part_is_taken_out(base, nothing):
    assert vary(base, {"solar": nothing}).solar is None


def test_a_missing_table_is_made(base):
    assert vary(base, {"shore.breaker_a": 15, "charger": "charger-12v-40a"}).shore.breaker_a == 15.0


@pytest.mark.parametrize(
    ("changes", "expected"),
    [
        ({"bank.paralel": 3}, "bank.paralel: no such key; did you mean 'parallel'?"),
        ({"bank.parallel": 0}, "bank.parallel: out of range (you wrote 0); allowed: 1 to 64"),
        ({"bank.parallel": None}, "bank.parallel: must have a value"),
        ({"night.limit_c": "+40"}, "night.limit_c: out of range (you wrote '+40'); allowed: 18 to 35 °C"),
        ({"thermostat.setpoint_f": 75}, 'thermostat.setpoint_f: the unit expected here is °C'),
        ({"cooler": "rof-12v-2600w"}, "cooler: no part of this name in coolers (you wrote 'rof-12v-2600w')"),
        ({"cooler": "roof-24v-3kw"}, "cooler.nominal_v: 24 V on a 12 V bank; both must be the same"),
        ({"cooler": {"part": "roof-12v-2600w", "airflow": "-1 m3/h"}},
             "cooler.airflow: out of range (you wrote '-1 m3/h')"),
        ({"day.*.21:00.shade": 1}, "day.*.21:00.shade: day.at-the-camp has no segment '21:00'; "
             "there are 09:00, 18:00, 18:30, 22:00, 07:00"),
        ({"day.at-the-camp.21:00.shade": 1}, "21:00 falls within the one from 18:30"),
        ({"day.at-the-camp.03:00.shade": 1}, "03:00 falls within the one from 22:00"),
        ({"day.at-the-camp.shade": 1}, "'shade' is a key of a segment: write day.at-the-camp.09:00.shade; there are"),
        ({"day.at-the-camp.9:00.shade": 1}, "did you mean '09:00'?"),
        ({"day.at-the-beach.09:00.shade": 1}, "day has no 'at-the-beach'; allowed: *, at-the-camp"),
        ({"day.at-the-camp.22:00.shad": 1}, "day.at-the-camp.22:00.shad: no such key; did you mean 'shade'?"),
        ({"day.at-the-camp.22:00": 1}, "day.at-the-camp.22:00 is a table; name a key of it: start, end, name"),
        ({"day.at-the-camp.22:00.shade": 3}, "day.at-the-camp.22:00.shade: out of range (you wrote 3)"),
        ({"loads.frige.duty": 1}, "did you mean 'fridge'?"),
        ({"occupants.dogs.*.mass_kg": 4}, "occupants.dogs is empty: there is no '*'"),
        ({"bank.unit.capacity_ah.x": 1}, "bank.unit.capacity_ah is a single value"),
        ({"cabin": "box-body-60mm", "cabin.windows": [], "cabin.windows.0.cover": "none"}, "cabin.windows is empty"),
        ({"bank": {"unit": "lfp-12v-100ah"}, "bank.unit.x": 1}, "bank.unit.x: no such key"),
        ({"day.at-the-camp": 1}, "day.at-the-camp is a table; name a key of it: name, segment"),
        ({"bank..parallel": 1}, "a key is written as table.key"),
        ({"day.at-the-camp.09:00.end": "17:00"}, "the segment ending 17:00 and the next, starting 18:00, leave a gap"),
        ({"cooler": "none"}, "from 18:30 on the day 'at the camp' asks for cooling, but no cooler is fitted"),
        ({"setpoint_c": 25}, "setpoint_c: no such key here; it belongs under [thermostat]"),
    ],
)  # fmt: skip
def test_a_wrong_change_is_told_by_its_key(base, changes, expected):
    with pytest.raises(ScenarioError) as caught:
        vary(base, changes)
    assert any(expected in fault for fault in caught.value.faults), caught.value.faults


def test_all_wrong_changes_are_told_at_once_and_each_once(base):
    with pytest.raises(ScenarioError) as caught:
        vary(base, {"bank.parallel": 0, "cooler": "x", "day.*.*.shade": 2, "loads.z.duty": 1})
    assert len(caught.value.faults) == 4


def test_variants_come_in_their_order(base):
    made = variants(base)
    assert list(made) == list(base.variants)
    assert made["four batteries"].bank.parallel == 4
    assert all(scenario != base for scenario in made.values())


_VALUES = st.none() | st.booleans() | st.integers() | st.floats() | st.sampled_from(["24 degC", "none", "+1", "", "x"])
_KEYS = st.sampled_from(
    "bank bank.unit bank.unit.capacity_ah cabin.faces cabin.faces.floor cabin.faces.*.layers.0.material day cycle "
    "shore cabin.windows.*.cover day.*.segment day.*.*.shade day.0.segment.1.x day.*.22:00.start loads.fridge.hours "
    "day.at-the-camp.segment day.at-the-camp.07:00.name cabin.windows.windscreen.name "
    "solar.tilt occupants.people variants occupants.dogs.0.mass_kg cooler.rated.power_w variants.x *".split()
)


@settings(deadline=None)
@given(changes=st.dictionaries(_KEYS, _VALUES, min_size=1, max_size=3))
def test_any_change_gives_a_scenario_or_faults_in_our_own_words(base, changes):
    faults = ["none"]
    try:
        vary(base, changes)
    except ScenarioError as problem:
        faults = list(problem.faults)
    assert faults
    assert not any(words in fault for fault in faults for words in ("pydantic", "should", "Value error", "validat"))


def test_a_file_may_be_varied_without_being_loaded_first(base):
    assert vary(default_scenario_path(), {"bank.parallel": 4}) == vary(base, {"bank.parallel": 4})
    assert variants(str(default_scenario_path())) == variants(base)
