"""What a study says, found again by plain runs: one `simulate` a night, or one for a whole chain of nights."""

from __future__ import annotations

from typing import Any

import numpy as np
import pandas as pd

from vansim.climate import Weather
from vansim.runs.result import Result
from vansim.runs.simulate import simulate
from vansim.scenario.schema import Scenario

SAME = (
    "start_soc", "bedtime_soc", "lowest_soc", "waking_soc", "runtime_h", "duty", "evening_wh", "cooler_wh", "loads_wh",
    "charged_wh", "cabin_max_c", "bedtime_cabin_c", "over_limit_h", "outdoor_low_c", "outdoor_mean_c", "dew_point_c",
)  # fmt: skip
"""Columns of numbers of a night."""


def on_day(scenario: Scenario, date: pd.Timestamp, days: int = 1, start_soc: float | None = None) -> Scenario:
    """The scenario run for some nights from that of a date on; its cycle of days is turned to that day."""
    run = scenario.run.model_copy(update={"date": f"{date:%m-%d}", "days": days})
    bank = scenario.bank if start_soc is None else scenario.bank.model_copy(update={"start_soc": start_soc})
    return scenario.model_copy(update={"run": run, "bank": bank})


def turned(scenario: Scenario, days: int) -> Scenario:
    """The scenario whose first day is what was its day number `days`."""
    names = [day.name for day in scenario.days()]
    at = days % len(names)
    return scenario.model_copy(update={"cycle": tuple(names[at:] + names[:at])})


def one_night(scenario: Scenario, weather: Weather, table: pd.DataFrame, place: int, start_soc: float) -> Result:
    """The plain run of a night of a season."""
    return simulate(on_day(turned(scenario, place), table.index[place], 1, start_soc), weather)


def assert_same_night(row: pd.Series[Any], other: pd.Series[Any], rtol: float = 1e-7) -> None:
    """Two rows tell the same night."""
    assert row.name == other.name
    for name in SAME:
        np.testing.assert_allclose(row[name], other[name], rtol=rtol, atol=1e-7, err_msg=f"{row.name} {name}")
    for name in ("starts", "outlasts", "covered", "why", "limit_c", "account_start"):
        assert row[name] == other[name], name
    assert pd.isna(row["empty_at"]) == pd.isna(other["empty_at"])
    if not pd.isna(row["empty_at"]):
        assert abs(row["empty_at"] - other["empty_at"]) < pd.Timedelta(seconds=0.1)
        np.testing.assert_allclose(row["cabin_at_empty_c"], other["cabin_at_empty_c"], rtol=1e-6)
