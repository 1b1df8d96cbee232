"""Who is aboard when: only animals, or nobody who can act, is found wherever the plan has it."""

from __future__ import annotations

from typing import Any

import pandas as pd
import pytest

from vansim.climate import Weather
from vansim.runs.simulate import simulate
from vansim.scenario.files import load_scenario
from vansim.scenario.schema import Scenario
from vansim.scenario.vary import vary
from vansim.studies.attendance import unattended
from vansim.studies.bank_empty import bank_empty
from vansim.studies.design import design_of

DOG = {"occupants.dogs": [{"mass_kg": 20.0}, {"mass_kg": 8.0}]}
CHILD = {"mass_kg": 30.0, "height_m": 1.35}


def desert_van(**changes: Any) -> Scenario:
    return vary(load_scenario("scenarios/desert-night.toml"), changes)


@pytest.mark.parametrize(
    "name", ["desert-night", "coast-family", "kennel-day", "driving-week", "shore-weekend", "solar-only"]
)
def test_the_bundled_plans_leave_nobody_alone(name: str) -> None:
    """With animals there is always an attendant; asleep, out together, or at the wheel is not left alone."""
    assert unattended(load_scenario(f"scenarios/{name}.toml")) is None


def test_dogs_in_and_people_out() -> None:
    """By hand: of five segments the day and the evening have the people out; the dogs are out by day."""
    van = desert_van(**DOG, **{"day.*.18:30.people": "out"})
    found = unattended(van)
    assert found is not None
    assert list(found.table.index) == ["day.at-the-camp.18:30"]
    row = found.table.iloc[0]
    assert (row["start"], row["end"], row["aboard"], row["people"], row["dogs"]) == (
        "18:30",
        "22:00",
        "only-animals",
        0,
        2,
    )
    assert row["cooled"]
    assert not row["window_open"]
    assert not found.no_person
    assert found.bank_empty is None
    assert found.note.code == "only-animals"
    assert found.note.values["segments"] == found.note.values["cooled_segments"] == 1


def test_a_segment_without_cooling_counts_too() -> None:
    found = unattended(desert_van(**DOG, **{"day.*.18:00.people": "out"}))
    assert found is not None
    assert not found.table["cooled"].any()
    assert found.table["window_open"].all()
    assert found.note.values["cooled_segments"] == 0


def test_a_scenario_with_no_person_at_all() -> None:
    found = unattended(desert_van(**DOG, **{"occupants.people": []}))
    assert found is not None
    assert found.no_person
    assert found.code == "only-animals"
    assert len(found.table) == 4  # by day the dogs are out too
    assert unattended(desert_van(**{"occupants.people": []})) is None  # nobody at all is aboard


def test_children_by_size_cannot_act() -> None:
    """A child alone, asleep or not; with one adult beside it somebody can."""
    alone = unattended(desert_van(**{"occupants.people": [CHILD]}))
    assert alone is not None
    assert alone.code == "only-children"
    assert set(alone.table["aboard"]) == {"only-children"}
    assert alone.note.values["people"] == 1
    assert unattended(desert_van(**{"occupants.people": [CHILD, {}]})) is None
    both = unattended(desert_van(**{"occupants.people": [CHILD], **DOG, "day.*.22:00.people": "out"}))
    assert both is not None
    assert both.code == "only-animals"  # the graver of the two
    assert set(both.table["aboard"]) == {"only-animals", "only-children"}


def test_whoever_drives_is_aboard() -> None:
    """Kennel van, attendant not described: alone at the stops, not on the road."""
    found = unattended(vary(load_scenario("scenarios/kennel-day.toml"), {"occupants.people": []}))
    assert found is not None
    assert "driving" not in set(found.table["doing"])
    assert {"10:00", "13:15"} <= set(found.table["start"])


def test_days_that_are_not_in_the_cycle_do_not_count() -> None:
    van = vary(load_scenario("scenarios/driving-week.toml"), {"day.rest.17:00.people": "out"})
    found = unattended(van)
    assert found is not None
    assert set(found.table["day"]) == {"rest"}
    assert unattended(vary(van, {"cycle": ["travel"]})) is None


@pytest.mark.parametrize("parallel", [1, 6, 64])
def test_the_time_of_emptiness_is_that_of_the_run_and_of_the_design(desert: Weather, parallel: int) -> None:
    """Emptied by the plan; by cooling left on; not within 48 h: the same for one night as run and as season."""
    van = desert_van(**DOG, **{"day.*.22:00.people": "out", "bank.parallel": parallel, "run.date": "07-15"})
    result, design = simulate(van, desert), design_of(van, desert, season="07-15..07-15")
    found = [unattended(source) for source in (result, design)]
    row = result.nights.iloc[0]
    how = {1: "in_account", 6: "left_on", 64: "outlasts"}[parallel]
    at = {
        1: row["empty_at"],
        6: row.name + pd.Timedelta(hours=22) + pd.Timedelta(hours=row["runtime_h"]),
        64: None,
    }[parallel]
    for each in found:
        assert each is not None
        assert each.bank_empty is not None
        assert each.bank_empty.how == each.note.values["how_empty"] == how
        if at is None:
            assert each.bank_empty.at is None
            assert "empty_at" not in each.note.values
        else:
            assert abs(each.bank_empty.at - at) < pd.Timedelta(milliseconds=1)
            assert each.note.values["empty_at"] == each.bank_empty.at.isoformat()


def test_a_run_without_a_night_knows_no_time(desert: Weather) -> None:
    van = desert_van(**DOG, **{"day.*.18:30.people": "out", "run.start": "12:00", "night.bedtime": "09:00",
                               "night.waking": "17:00"})  # fmt: skip
    result = simulate(van, desert)
    assert not len(result.nights)
    assert bank_empty(result) is None
    found = unattended(result)
    assert found is not None
    assert "how_empty" not in found.note.values
