"""Many scenarios at once are the same as one by one, in order, and no more are held than asked."""

from __future__ import annotations

from collections.abc import Iterator

import pytest

import vansim
from tests.march.vans import bank, van
from vansim.climate import Weather
from vansim.errors import ScenarioError
from vansim.scenario.schema import Scenario


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


def test_a_scenario_without_weather_says_so() -> None:
    with pytest.raises(ScenarioError, match="names no weather"):
        list(vansim.simulate_many([van()]))
