"""Addresses hold whatever people call things: each leads back to its own value, and to no other."""

import tomllib
from collections.abc import Iterator, Mapping
from typing import Any

import pytest
from hypothesis import HealthCheck, example, given, settings
from hypothesis import strategies as st

from vansim.errors import ScenarioError
from vansim.scenario.address import address, slug, steps_of
from vansim.scenario.faults import Path, dotted
from vansim.scenario.files import load_scenario
from vansim.scenario.vary import variants, vary

ODD = ["", " ", "*", "0", "1", "01", "a.b", 'the "big" one', "driver's side", "'x'", "back\\slash", "a=b", "line\nend",
       "22:00 late", "a b", "a-b", "A B", "name", "segment", "part", "shade", "été", "9" * 5000]  # fmt: skip
NAMES = st.sampled_from(ODD) | st.text(max_size=6)


def addressed_values(tables: Mapping[str, Any]) -> dict[str, Any]:
    """Every plain value of a scenario's tables by its address; an empty list or table counts as a value."""
    return {address(path, tables): value for path, value in _values(tables, ())}


def _values(value: Any, path: Path) -> Iterator[tuple[Path, Any]]:
    if isinstance(value, Mapping) and value:
        for key, item in value.items():
            yield from _values(item, (*path, key))
    elif isinstance(value, list | tuple) and value:
        for i, item in enumerate(value):
            yield from _values(item, (*path, i))
    else:
        yield path, value


def tables(days=("a",), segments=("", ""), loads=(), windows=()):
    halves = (("08:00", "20:00"), ("20:00", "08:00"))
    segment = [{"start": a, "end": b, "name": n} for (a, b), n in zip(halves, segments, strict=True)]
    return {
        "cabin": {"part": "high-roof-50mm", "windows": [{"name": n, "face": "rear", "area_m2": 0.1} for n in windows]},
        "bank": {"unit": "lfp-12v-100ah"},
        "loads": [{"name": n, "power_w": 1.0} for n in loads],
        "day": [{"name": name, "segment": segment} for name in days],
    }


def refused(given_tables):
    try:
        load_scenario(given_tables)
    except ScenarioError as problem:
        return "\n".join(problem.faults)
    return ""


@given(st.lists(st.text(max_size=8) | st.sampled_from(ODD), min_size=1, max_size=4))
def test_steps_survive_being_written(steps):
    written = dotted(tuple(steps))
    found = steps_of(written)
    assert found == [step.strip() for step in steps] or (found == [] and not all(step.strip() for step in steps))
    if "\n" not in written:
        assert written.isprintable() or not "".join(steps).isprintable()


@settings(deadline=None, max_examples=60, suppress_health_check=[HealthCheck.too_slow])
@given(
    days=st.lists(NAMES, min_size=1, max_size=2),
    segments=st.tuples(NAMES, NAMES),
    loads=st.lists(NAMES, max_size=3),
    windows=st.lists(NAMES, max_size=2),
)
@example(days=["1", "0"], segments=("late", "Late"), loads=["1", ""], windows=["*", "0"])
@example(days=['the "big" day', "a.b"], segments=("a.b", 'a"b'), loads=["*", "a b", "a-b"], windows=["name", "1"])
def test_every_address_leads_to_its_own_value_alone(days, segments, loads, windows):
    written = tables(days, segments, loads, windows)
    fault = refused(written)
    if fault:
        assert "cannot be called" in fault or "are called" in fault
        return
    scenario = load_scenario(written)
    before = addressed_values(scenario.model_dump())
    changes = {"shade": 0.75, "power_w": 7.5, "area_m2": 0.25}
    for key in before:
        value = changes.get(steps_of(key)[-1])
        if value is None or not key.startswith(("day.", "loads.", "cabin.windows.")):
            continue
        after = addressed_values(vary(scenario, {key: value}).model_dump())
        assert {name for name in before if before[name] != after[name]} == {key}
    assert len(scenario.segments()) == 2 * len(days)
    everywhere = vary(scenario, {f"{key}.shade": 0.5 for key in scenario.segments()})
    assert {segment.shade for day in everywhere.day for segment in day.segment} == {0.5}


@pytest.mark.parametrize("name", ["", "  ", "*", " * "])
def test_a_day_has_a_name_that_an_address_can_hold(name):
    assert f"a day cannot be called {name.strip()!r}" in refused(tables([name]))


@pytest.mark.parametrize("name", ["*", " * ", "22", " 20:00 ", "name", " segment"])
def test_a_segment_is_not_called_like_something_else(name):
    assert "a segment cannot be called" in refused(tables(segments=(name, "")))


def test_names_are_told_apart_as_addresses_tell_them_apart():
    assert "two days are called 'a-b'" in refused(tables(["a b", "a-b"]))
    assert "two segments are called 'a-b'" in refused(tables(segments=("a b", " a-b")))
    assert not refused(tables(segments=("late", "Late")))


@pytest.mark.parametrize(
    ("key", "steps"),
    [
        ('day."a.b".22:00.shade', ["day", "a.b", "22:00", "shade"]),
        (r'loads."the \"big\" one".duty', ["loads", 'the "big" one', "duty"]),
        ("loads.'a.b'.duty", ["loads", "a.b", "duty"]),
        ("loads.driver's side.duty", ["loads", "driver's side", "duty"]),
        (' loads . "a.b" .duty ', ["loads", "a.b", "duty"]),
        ('loads."a.duty', []),
        ('loads."a"b.duty', []),
        (r'loads."a\q".duty', []),
        ("loads..duty", []),
        ("loads.", []),
        (".loads", []),
        ("", []),
        (".", []),
    ],
)
def test_quotes_and_dots(key, steps):
    assert steps_of(key) == steps
    if not steps:
        with pytest.raises(ScenarioError, match=r"a key is written as table\.key"):
            vary(tables(loads=["a"]), {key: 1})


@pytest.mark.parametrize("number", ["9" * 5000, "7", "-1"])
def test_a_number_beyond_the_list_is_told(number):
    with pytest.raises(ScenarioError, match="loads has no"):
        vary(tables(loads=["a"]), {f"loads.{number}.power_w": 2.0})
    with pytest.raises(ScenarioError, match=r"write day\.a\.08:00\.shade; there are"):
        vary(tables(), {f"day.a.segment.{number}.shade": 0.5})


def test_a_name_that_is_a_number_does_not_stand_for_an_item():
    scenario = load_scenario(tables(loads=["1", "pump"]))
    assert [load.power_w for load in vary(scenario, {"loads.1.power_w": 3.0}).loads] == [1.0, 3.0]
    assert vary(tables(["1", "0"]), {"day.0.08:00.shade": 0.5}).day[1].segment[0].shade == 0.5


# --- one value, two changes -------------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("changes", "fault"),
    [
        ({"thermostat.setpoint_c": 25, "thermostat.setpoint": "75 degF"},
         "thermostat.setpoint: changes the same value as thermostat.setpoint_c; keep one"),
        ({"day.a.08:00.shade": 0.1, 'day."a".08:00.shade': 0.2}, "the same value as day.a.08:00.shade"),
        ({"bank.unit": "agm-12v-100ah", "bank.unit.part": "lfp-12v-200ah"}, "the same value as bank.unit; keep one"),
        ({"bank.unit.mass_kg": 5.0, "bank.unit": "lfp-12v-200ah"},
         "bank.unit: replaces what bank.unit.mass_kg changes; write it before that"),
        ({"loads.a.power_w": 2.0, "loads": []}, "loads: replaces what loads.a.power_w changes"),
        ({"day.a.08:00.shade": 0.1, "day.*.*.shade": 0.2}, "undoes day.a.08:00.shade; write it before that"),
        ({"day.*.08:00.shade": 0.1, "day.a.*.shade": 0.2}, "the same value as day.*.08:00.shade"),
    ],
)  # fmt: skip
def test_a_change_that_would_be_lost_is_told(changes, fault):
    with pytest.raises(ScenarioError) as caught:
        vary(tables(loads=["a"]), changes)
    assert any(fault in line for line in caught.value.faults), caught.value.faults


def test_the_special_may_follow_the_general():
    varied = vary(tables(), {"day.*.*.shade": 0.2, "day.a.*.shade": 0.3, "day.a.08:00.shade": 0.4})
    assert [segment.shade for segment in varied.day[0].segment] == [0.4, 0.3]
    varied = vary(varied, {"bank.unit": "lfp-12v-200ah", "bank.unit.mass_kg": 5.0})
    assert (varied.bank.unit.capacity_ah, varied.bank.unit.mass_kg) == (200.0, 5.0)


# --- variants as TOML has them ----------------------------------------------------------------------------------------

NESTED = """
cabin = "high-roof-50mm"
[bank]
unit = "lfp-12v-100ah"
[[day]]
name = 'lot no. 4, "east"'
[[day.segment]]
start = "08:00"
end = "08:00"
[variants.nested]
day."lot no. 4, \\"east\\""."08:00".shade = 0.5
[variants.flat]
"day.'lot no. 4, \\"east\\"'.08:00.shade" = 0.25
[variants.part]
"bank.unit" = { mass_kg = 9.0, part = "lfp-12v-200ah" }
"""


def test_a_variant_reaches_a_day_with_dots_and_quotes_in_its_name():
    made = variants(tomllib.loads(NESTED))
    assert made["nested"].day[0].segment[0].shade == 0.5
    assert made["flat"].day[0].segment[0].shade == 0.25
    assert (made["part"].bank.unit.mass_kg, made["part"].bank.unit.capacity_ah) == (9.0, 200.0)


def test_faults_in_variants_keep_their_line(tmp_path):
    (tmp_path / "v.toml").write_text(
        NESTED.split("[variants.flat]")[0].replace("shade = 0.5", "shade = 5")
        + '[variants.twice]\n"bank.parallel" = 2\nbank.parallel = 3\n'
    )
    with pytest.raises(ScenarioError) as caught:
        load_scenario(tmp_path / "v.toml")
    shade, twice = caught.value.faults
    assert shade.startswith(f"{tmp_path / 'v.toml'}:11: variants.nested.day.")
    assert "out of range (you wrote 5); allowed: 0 to 1" in shade
    assert twice == f"{tmp_path / 'v.toml'}:14: variants.twice.bank.parallel: bank.parallel is given twice; keep one"


def test_slug_joins_any_blanks():
    assert slug("  a \t b\n") == "a-b"
