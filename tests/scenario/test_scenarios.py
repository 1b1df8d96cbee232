"""The bundled scenarios: they load, say that they are invented, and ask for what they are for."""

import pytest

from vansim.scenario.files import default_scenario_path, load_scenario, weather_path
from vansim.scenario.plan import unroll_plan
from vansim.scenario.schema import DAY_MIN
from vansim.scenario.toml import demo_folder
from vansim.scenario.vary import variants

PATHS = sorted((demo_folder() / "scenarios").glob("*.toml"))


def test_there_are_six_and_the_default_is_one_of_them():
    assert len(PATHS) >= 6
    assert default_scenario_path() in PATHS


@pytest.mark.parametrize("path", PATHS, ids=lambda path: path.stem)
def test_a_scenario_is_whole(path):
    scenario = load_scenario(path)
    assert scenario.title
    assert scenario.title != "untitled"
    assert "nvented" in scenario.note
    assert weather_path(scenario).is_file()
    assert 3 <= len(scenario.variants) <= 6
    made = variants(scenario)
    assert len({v.model_dump_json() for v in made.values()} | {scenario.model_dump_json()}) == len(made) + 1
    assert scenario.loads
    laid = unroll_plan(scenario, 0, scenario.run.days)
    assert sum(s.end_min - s.start_min for s in laid) == scenario.run.days * DAY_MIN


@pytest.mark.parametrize("path", PATHS, ids=lambda path: path.stem)
def test_no_scenario_leaves_dogs_or_children_alone(path):
    """An animal or a child is in the van only while an adult is: what we show must not suggest otherwise."""
    scenario = load_scenario(path)
    assert any(person.mass_kg >= 50.0 for person in scenario.occupants.people)
    for day in scenario.day:
        for segment in day.segment:
            assert not (segment.people == "out" and segment.dogs != "out" and scenario.occupants.dogs)


def test_the_kennel_and_the_family_carry_the_caution():
    for name in ("kennel-day", "coast-family"):
        text = (demo_folder() / "scenarios" / f"{name}.toml").read_text(encoding="utf-8")
        assert "CAUTION" in text
