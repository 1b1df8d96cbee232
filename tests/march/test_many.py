"""Many scenarios at once are the same as one by one, in order, and no more are held than asked."""

from __future__ import annotations

from collections.abc import Iterator

import pandas as pd
import pytest

import vansim
from tests.support.vans import bank, van
from vansim.climate import Weather
from vansim.errors import ScenarioError
from vansim.scenario.files import load_scenario
from vansim.scenario.schema import Scenario
from vansim.studies.compare import compare


def test_many_are_the_same_as_one_by_one(desert_year: Weather) -> None:
    scenarios = [van(bank=bank(parallel)) for parallel in (1, 2, 3, 4, 5)]
    many = list(vansim.simulate_many(scenarios, desert_year))
    for scenario, result in zip(scenarios, many, strict=True):
        alone = vansim.simulate(scenario, desert_year)
        assert result.run.scenario == scenario
        assert result.hourly.equals(alone.hourly)


def test_they_are_read_as_they_are_taken(desert_year: Weather) -> None:
    taken = 0

    def endless() -> Iterator[Scenario]:
        nonlocal taken
        while True:
            taken += 1
            yield van(bank=bank(2))

    results = vansim.simulate_many(endless(), desert_year, threads=2)
    for count in range(1, 5):
        next(results)
        assert taken <= count + 2
    results.close()


@pytest.mark.parametrize("threads", [1, 2, 3])
def test_a_study_is_made_of_each_in_order(desert_year: Weather, threads: int) -> None:
    """Anything can be made of a scenario and its weather, on any number of threads."""
    scenarios = [van(bank=bank(parallel)) for parallel in (5, 1, 4, 2, 3)]

    def usable_ah(scenario: Scenario, weather: Weather) -> tuple[float, bool]:
        return scenario.bank.parallel * scenario.bank.unit.capacity_ah, weather is desert_year

    made = list(vansim.simulate_many(scenarios, desert_year, threads, study=usable_ah))
    assert made == [(s.bank.parallel * s.bank.unit.capacity_ah, True) for s in scenarios]


def test_designs_side_by_side_are_what_each_is_alone(desert_year: Weather) -> None:
    """Shared maps, suns and threads change no number of a comparison."""
    scenario = load_scenario("scenarios/desert-night.toml")
    changes = {"eco": {"day.at-the-camp.22:00.cooling": "eco"}, "a larger bank": {"bank.parallel": 6}}
    table = compare(scenario, desert_year, changes, season="07-10..07-14").table
    for name, change in changes.items():
        alone = compare(scenario, desert_year, {name: change}, season="07-10..07-14").table
        pd.testing.assert_series_equal(table.loc[name], alone.loc[name], check_exact=True)


def test_a_scenario_without_weather_says_so() -> None:
    with pytest.raises(ScenarioError, match="names no weather"):
        list(vansim.simulate_many([van()]))
