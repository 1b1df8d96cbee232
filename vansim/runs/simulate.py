"""From a scenario to a result, in one call."""

from __future__ import annotations

from typing import Any

from vansim.climate import Weather
from vansim.runs.balance import sound
from vansim.runs.result import Result
from vansim.runs.run import (
    march_run,
    prepare,
)
from vansim.scenario.files import ScenarioSource, as_scenario
from vansim.scenario.schema import Scenario


def simulate(scenario: ScenarioSource, weather: Weather | None = None, step: str | None = None) -> Result:
    """Run a scenario: how long does the cooling run, and what becomes of cabin and bank?

    Parameters
    ----------
    scenario : Scenario, str, Path or mapping
        From `load_scenario`, or what it reads: ``simulate("my.toml")``.
    weather : Weather or None
        From `read_weather`; left out, the file that the scenario names.
    step : str or None
        Step of a fine picture to compute at once, for example ``"1min"``; `Result.trace` makes one at any time.

    Returns
    -------
    Result
        Tables, nights, balances and a summary. A bank that runs empty is a result, not an error.

    Raises
    ------
    WeatherError, ScenarioError
        Weather that is missing or cannot be trusted.
    """
    run = prepare(as_scenario(scenario), weather)
    marched = sound(run, march_run(run))
    result = Result(run, marched)
    if step is not None:
        result.trace(step)
    return result


def over_year(scenario: Scenario) -> Scenario:
    """The same scenario over the whole typical year."""
    return with_window(scenario, date="01-01", start="00:00", days=365)


def with_window(scenario: Scenario, **window: Any) -> Scenario:
    """The same scenario over another window (`date`, `start`, `days`)."""
    changed = scenario.run.model_copy(update=window)
    run = type(scenario.run)(**changed.model_dump())
    return scenario.model_copy(update={"run": run})
