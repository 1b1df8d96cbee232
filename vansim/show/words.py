"""Sentences, and how a number is said."""

from __future__ import annotations

import math
from typing import TYPE_CHECKING, Any

import pandas as pd

from vansim.scenario.schema import minutes
from vansim.units import show

if TYPE_CHECKING:
    from vansim.scenario.schema import Scenario


def clock(hour: float) -> str:
    """Hours since some midnight as clock time.

    Parameters
    ----------
    hour : float
        May lie past midnight [h].

    Returns
    -------
    str
        For example ``"03:18"``.
    """
    minute = round(hour * 60.0) % 1440
    return f"{minute // 60:02d}:{minute % 60:02d}"


def day_of(moment: Any) -> str:
    """Day and month of a typical year, which has no year of its own: ``"15 July"``."""
    stamp = pd.Timestamp(moment)
    return f"{stamp.day} {stamp.month_name()}"


def percent(share: float, digits: int = 0) -> str:
    """Share as ``"39 %"``."""
    return f"{100.0 * share:.{digits}f} %"


def hours(length_h: float) -> str:
    """Length of time: minutes below an hour, else hours to a tenth; ``"12 min"``, ``"5.3 h"``."""
    if length_h < 0.995:
        return f"{60.0 * length_h:.0f} min"
    return f"{length_h:.1f} h"


def temperature(value_c: float, system: str = "si", digits: int = 0) -> str:
    """Temperature with its unit, whole degrees unless asked."""
    return show(value_c, "value_c", system, digits)


def night_sentence(row: pd.Series, scenario: Scenario, system: str = "si") -> str:
    """What became of a night, with its number; no full stop.

    Parameters
    ----------
    row : Series
        Of `Result.nights`.
    scenario : Scenario
        For bedtime and limit.
    system : {"si", "us"}
        Units shown.

    Returns
    -------
    str
        For example ``"The cooling lasts the night, with 39 % of the charge left at waking"``.
    """
    limit = temperature(float(row["limit_c"]), system, 0 if system == "si" and row["limit_c"] % 1 == 0 else 1)
    runtime = float(row["runtime_h"])
    if row["kept"]:
        return f"The cooling lasts the night, with {percent(row['waking_soc'])} of the charge left at waking"
    if not math.isnan(runtime):
        if runtime <= 0.0:
            return f"The bank is already at its reserve at bedtime; {percent(row['waking_soc'])} is left at waking"
        at = clock(minutes(scenario.night.bedtime) / 60.0 + runtime)
        return f"The cooling stops at {at}: the bank reaches its reserve {hours(runtime)} after bedtime"
    over = hours(float(row["over_limit_h"]))
    left = percent(row["waking_soc"])
    return f"The bank lasts ({left} left), but the cabin is above {limit} for {over} of the night"
