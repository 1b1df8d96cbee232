"""Vans and years to be timed; all invented."""

from __future__ import annotations

from dataclasses import replace
from functools import cache
from typing import Any

import numpy as np

from tests.support.vans import bank, cooler, made_weather, van
from vansim.climate import Weather
from vansim.runs.run import Run, prepare
from vansim.runs.simulate import over_year
from vansim.scenario.schema import Day, PlanSegment, Thermostat

HOT_DAY = Day(
    segment=(
        PlanSegment(start="07:00", end="22:00", cooling="boost_then_eco", covers=True, people="awake", dogs="awake"),
        PlanSegment(start="22:00", end="07:00", cooling="eco", covers=True, people="asleep", dogs="asleep"),
    )
)


@cache
def hot_year() -> Weather:
    """Warm and moist all year: 25 to 35 °C, dew point 17 to 23 °C, a clear sun, a light wind."""
    hour = np.arange(8760)
    season = np.cos(2.0 * np.pi * (hour / 24.0 - 200.0) / 365.0)
    daily = np.cos(2.0 * np.pi * (hour % 24 - 15.0) / 24.0)
    sun = 550.0 * np.clip(np.cos(2.0 * np.pi * (hour % 24 - 12.0) / 24.0), 0.0, None)
    return made_weather(
        30.0 + 1.5 * season + 3.5 * daily, 20.0 + 3.0 * season, ghi=sun, dhi=sun, wind_speed=2.0 + 0.5 * daily
    )


def cycling(**changes: Any) -> Run:
    """A year of cooling around the clock: a narrow band, short timers, shade, a bank that never empties."""
    day = Day(segment=tuple(s.model_copy(update={"shade": 0.8}) for s in HOT_DAY.segment))
    parts: dict[str, Any] = {
        "day": (day,),
        "cooler": cooler(min_on_s=60.0, min_off_s=60.0, max_starts_per_h=30.0, ramp_s=30.0),
        "thermostat": Thermostat(setpoint_c=24.0, deadband_k=1.5),
        "bank": bank(60),
        "solar": None,
        "alternator": None,
        **changes,
    }
    run = prepare(over_year(van(**parts)), hot_year())
    return run if "bank" in changes else with_endless_bank(run)


def with_endless_bank(run: Run) -> Run:
    """The same run on a bank a thousand times as large, still at its voltage."""
    return replace(run, bank=run.bank._replace(capacity_as=run.bank.capacity_as * 1e3))
