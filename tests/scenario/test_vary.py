"""Changes by dotted key."""

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from vansim.errors import ScenarioError
from vansim.scenario.files import default_scenario_path, load_scenario, origins
from vansim.scenario.vary import variants, vary


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
    varied = vary(base, {"day.*.segment.*.shade": 1.0, "cabin.faces.*.paint": "silver"})
    assert {s.shade for day in varied.day for s in day.segment} == {1.0}
    assert {face.paint for face in varied.cabin.faces.values()} == {"silver"}


def test_items_are_reached_by_position_and_by_name(base):
    varied = vary(
        base, {"loads.fridge.duty": 0.9, "day.0.segment.2.shade": 0.5, "day.at the camp.segment.0.shade": 0.25}
    )
    assert next(load for load in varied.loads if load.name == "fridge").duty == 0.9
    assert [s.shade for s in varied.day[0].segment] == [0.25, 0.0, 0.5, 0.0, 0.0]


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
        ({"cooler": "rof-12v-3kw"}, "cooler: no part of this name in coolers (you wrote 'rof-12v-3kw')"),
        ({"cooler": "roof-24v-3kw"}, "cooler.nominal_v: 24 V on a 12 V bank; both must be the same"),
        ({"cooler": {"part": "roof-12v-3kw", "airflow": "-1 m3/h"}},
             "cooler.airflow: out of range (you wrote '-1 m3/h')"),
        ({"day.*.segment.9.shade": 1}, "day.*.segment.9.shade: day.0.segment has no '9'; allowed: *, 0, 1, 2, 3, 4"),
        ({"loads.frige.duty": 1}, "did you mean 'fridge'?"),
        ({"occupants.dogs.*.mass_kg": 4}, "occupants.dogs has no '*'; allowed: nothing, it is empty"),
        ({"bank.unit.capacity_ah.x": 1}, "bank.unit.capacity_ah is a single value"),
        ({"cabin": "box-body-60mm", "cabin.windows": [], "cabin.windows.0.cover": "none"}, "nothing, it is empty"),
        ({"bank": {"unit": "lfp-12v-100ah"}, "bank.unit.x": 1}, "bank.unit.x: no such key"),
        ({"day.0": 1}, "day.0 is a table; name a key of it: name, segment"),
        ({"bank..parallel": 1}, "a key is written as table.key"),
        ({"day.0.segment.0.end": "17:00"}, "the segment ending 17:00 and the next, starting 18:00, leave a gap"),
        ({"cooler": "none"}, "day: a segment asks for cooling, but no cooler is fitted"),
        ({"setpoint_c": 25}, "setpoint_c: no such key here; it belongs under [thermostat]"),
    ],
)  # fmt: skip
def test_a_wrong_change_is_told_by_its_key(base, changes, expected):
    with pytest.raises(ScenarioError) as caught:
        vary(base, changes)
    assert any(expected in fault for fault in caught.value.faults), caught.value.faults


def test_all_wrong_changes_are_told_at_once_and_each_once(base):
    with pytest.raises(ScenarioError) as caught:
        vary(base, {"bank.parallel": 0, "cooler": "x", "day.*.segment.*.shade": 2, "loads.z.duty": 1})
    assert len(caught.value.faults) == 4


def test_variants_come_in_their_order(base):
    made = variants(base)
    assert list(made) == list(base.variants)
    assert made["four batteries"].bank.parallel == 4
    assert all(scenario != base for scenario in made.values())


_VALUES = st.none() | st.booleans() | st.integers() | st.floats() | st.sampled_from(["24 degC", "none", "+1", "", "x"])
_KEYS = st.sampled_from(
    "bank bank.unit bank.unit.capacity_ah cabin.faces cabin.faces.floor cabin.faces.*.layers.0.material day cycle "
    "shore cabin.windows.*.cover day.*.segment day.*.segment.*.shade loads.fridge.hours solar.tilt occupants.people "
    "variants occupants.dogs.0.mass_kg cooler.rated.power_w variants.x *".split()
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
