"""Vans whose nights begin at awkward hours, and with values that are neither 0, 1 nor off. All invented."""

from __future__ import annotations

from typing import Any

import pandas as pd

from vansim.runs.result import Result
from vansim.scenario.files import load_scenario
from vansim.scenario.schema import Scenario, minutes
from vansim.scenario.vary import vary

BEDTIMES = ("20:00", "23:59", "00:00", "00:30", "06:00", "09:00")
NIGHT_H = 8
ODD: dict[str, dict[str, Any]] = {
    "aged": {"bank.state_of_health": 0.6},
    "in series": {
        "bank.unit": "lfp-12v-100ah",
        "bank.series": 2,
        "bank.parallel": 3,
        "cooler": "roof-24v-3kw",
        "alternator": "none",
    },
    "partly charged": {"bank.start_soc": 0.3},
    "reserve by voltage": {"bank.reserve_v": 12.9, "bank.reserve_soc": 0.02, "bank.cable_mohm": 3.0},
    "windows open": {"day.*.22:00.window_open": True},
    "no grace": {"night.grace_min": 0},
    "bank outside": {"bank.location": "outside"},
    "on shore power": {
        "charger": "charger-12v-100a",
        "shore.breaker_a": 6.0,
        "loads.fridge.supply": "ac",
        "loads.fridge.keeps_c": None,
        "day.*.07:00.shore": True,
        "day.*.09:00.shore": True,
    },
}
"""Changes to the desert night."""


def van_at(bedtime: str, **changes: Any) -> Scenario:
    """The desert night with eight hours from another bedtime on; its plan stays, so cooling begins at 18:30."""
    waking = f"{(minutes(bedtime) // 60 + NIGHT_H) % 24:02d}:{minutes(bedtime) % 60:02d}"
    desert = load_scenario("scenarios/desert-night.toml")
    return vary(desert, {"night.bedtime": bedtime, "night.waking": waking, **changes})


def odd_van(name: str) -> Scenario:
    """The desert night with one of `ODD`."""
    return vary(load_scenario("scenarios/desert-night.toml"), ODD[name])


def between(result: Result, first: pd.Timestamp, last: pd.Timestamp) -> pd.DataFrame:
    """Intervals of a run that lie between two times, found by the clock alone."""
    seconds = result.intervals["start_s"].to_numpy()
    midnight = pd.Timestamp(f"2001-{result.run.scenario.run.date}", tz=first.tz)
    starts = midnight + pd.to_timedelta(seconds, unit="s")
    return result.intervals[(starts >= first) & (starts < last)]


def clock(result: Result, time: str, days: int = 0) -> pd.Timestamp:
    """A clock time on the first day of a run, or some days later."""
    midnight = pd.Timestamp(f"2001-{result.run.scenario.run.date}", tz=result.index.tz)
    return midnight + pd.Timedelta(minutes=minutes(time)) + pd.Timedelta(days=days)
