"""Many at once: what they share is made once, and as the march lets go of the lock, every core is kept busy.

Shared are the weather of a place, the sun on each plane in it, what a van meets there, and the map of each cooler.
Results stream in the order asked, so memory grows with the number of threads and not with the number of runs. Nights,
banks and designs all go through here.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator
from pathlib import Path
from typing import TypeVar, overload

from vansim.climate import Weather
from vansim.runs.balance import sound
from vansim.runs.jobs import THREADS, in_order
from vansim.runs.result import Result
from vansim.runs.run import march_run, prepare, weather_of
from vansim.scenario.files import weather_path
from vansim.scenario.schema import Scenario

Made = TypeVar("Made")


def whole_run(scenario: Scenario, weather: Weather) -> Result:
    """Prepare a scenario over its own window and march it."""
    run = prepare(scenario, weather)
    return Result(run, sound(run, march_run(run)))


@overload
def simulate_many(
    scenarios: Iterable[Scenario], weather: Weather | None = None, threads: int = THREADS
) -> Iterator[Result]: ...


@overload
def simulate_many(
    scenarios: Iterable[Scenario],
    weather: Weather | None = None,
    threads: int = THREADS,
    *,
    study: Callable[[Scenario, Weather], Made],
) -> Iterator[Made]: ...


def simulate_many(
    scenarios: Iterable[Scenario],
    weather: Weather | None = None,
    threads: int = THREADS,
    study: Callable[[Scenario, Weather], Made | Result] = whole_run,
) -> Iterator[Made | Result]:
    """Run many scenarios, sharing what can be shared: the weather, the sun on each plane, each cooler's map.

    Parameters
    ----------
    scenarios : iterable of Scenario
        May be endless; it is read as results are taken.
    weather : Weather or None
        One typical year for all; left out, each scenario's own, every file read once.
    threads : int
        Runs at a time; the march lets go of the interpreter's lock.
    study : callable
        What is made of a scenario and its weather; left out, a run over its own window.

    Yields
    ------
    Result, or what `study` makes
        In the order asked. No more than `threads` + 1 are held at once, so memory does not grow with their number.

    Raises
    ------
    WeatherError, ScenarioError
        As for `simulate`, when the result of that scenario is taken.
    """
    years: dict[Path, Weather] = {}

    def year_of(scenario: Scenario) -> Weather:
        if weather is not None or not scenario.weather:
            return weather_of(scenario) if weather is None else weather
        path = weather_path(scenario)
        if path not in years:
            years[path] = weather_of(scenario)
        return years[path]

    def one(asked: tuple[Scenario, Weather]) -> Made | Result:
        return study(*asked)

    yield from in_order(one, ((scenario, year_of(scenario)) for scenario in scenarios), threads)
