"""A night of a run: the one way from a row of `Result.nights` to times, intervals and states."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

import pandas as pd

from vansim.scenario.night_times import NightTimes


@dataclass(frozen=True)
class Night:
    """One night of a run.

    Attributes
    ----------
    place : int
        Row of `Result.nights`, from 0.
    date : Timestamp
        Day on which its bedtime falls.
    label : str
        What the plan calls it: ``"night"``, ``"working day"``.
    times : NightTimes
        Minutes on the run's clock.
    account, bedtime, waking : Timestamp
        The same in the place's standard time.
    evening, asleep : slice
        Rows of `Result.intervals` from the start of the account to bedtime, and from bedtime to waking.
    row : Series
        Of `Result.nights`.
    waking_state : record of STATE
        The van at waking.
    """

    place: int
    date: pd.Timestamp
    label: str
    times: NightTimes
    account: pd.Timestamp
    bedtime: pd.Timestamp
    waking: pd.Timestamp
    evening: slice
    asleep: slice
    row: pd.Series[Any]
    waking_state: Any

    @property
    def length_h(self) -> float:
        """Bedtime to waking [h]."""
        return self.times.length_min / 60.0
