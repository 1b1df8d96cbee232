"""Many at once: what they share is made once, and as the march lets go of the lock, every core is kept busy.

Shared are the weather of a place, the sun on each plane in it, what a van meets there, and the map of each cooler.
Results stream in the order asked, so memory grows with the number of threads and not with the number of runs. Nights,
banks and designs all go through here.
"""

from __future__ import annotations

import os
from collections import deque
from collections.abc import Callable, Iterable, Iterator
from concurrent.futures import Future, ThreadPoolExecutor
from pathlib import Path
from typing import Any, TypeVar

from vansim.climate import Weather
from vansim.runs.result import Result
from vansim.runs.run import march_run, prepare, weather_of
from vansim.scenario.files import weather_path
from vansim.scenario.schema import Scenario

T = TypeVar("T")
R = TypeVar("R")
Progress = Callable[[int, int], None]
"""Called with pieces of work done, and in all."""
THREADS = os.cpu_count() or 1
"""Threads where none are asked for: one a core."""


def in_order(work: Callable[[T], R], items: Iterable[T], threads: int = THREADS) -> Iterator[R]:
    """Do work on some threads and give the results in the order of the items.

    Parameters
    ----------
    work : callable
        Mostly marching.
    items : iterable
        One a piece of work; may be endless, it is read as results are taken.
    threads : int
        Pieces at a time; with one, the calling thread does them.

    Yields
    ------
    object
        What `work` made of each item. No more than `threads` + 1 are held at once; an interruption, or no more taking,
        drops what has not begun.
    """
    if threads <= 1:
        yield from map(work, items)
        return
    waiting: deque[Future[R]] = deque()
    pool = ThreadPoolExecutor(threads)
    try:
        for item in items:
            waiting.append(pool.submit(work, item))
            if len(waiting) > threads:
                yield waiting.popleft().result()
        while waiting:
            yield waiting.popleft().result()
    finally:
        pool.shutdown(wait=True, cancel_futures=True)


def all_of(
    work: Callable[[T], R], items: Iterable[T], progress: Progress | None = None, threads: int = THREADS
) -> list[R]:
    """`in_order` to its end.

    Parameters
    ----------
    work, items, threads
        As for `in_order`.
    progress : callable or None
        Called with pieces done and pieces in all, from the calling thread.

    Returns
    -------
    list
        In the order of the items.
    """
    todo = list(items)
    done: list[R] = []
    for result in in_order(work, todo, threads):
        done.append(result)
        if progress is not None:
            progress(len(done), len(todo))
    return done


def whole_run(scenario: Scenario, weather: Weather) -> Result:
    """Prepare a scenario over its own window and march it."""
    run = prepare(scenario, weather)
    return Result(run, march_run(run))


def simulate_many(
    scenarios: Iterable[Scenario],
    weather: Weather | None = None,
    threads: int = THREADS,
    study: Callable[[Scenario, Weather], Any] = whole_run,
) -> Iterator[Any]:
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

    def one(asked: tuple[Scenario, Weather]) -> Any:
        return study(*asked)

    yield from in_order(one, ((scenario, year_of(scenario)) for scenario in scenarios), threads)
