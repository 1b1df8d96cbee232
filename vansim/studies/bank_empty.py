"""When the bank would be empty: the hardest night of a run or of a season, and the moment."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any, Literal

import pandas as pd

from vansim.runs.result import Result
from vansim.scenario.schema import DAY_MIN, Scenario, minutes
from vansim.studies.design import Design

HowEmpty = Literal["in_account", "left_on", "outlasts"]


@dataclass(frozen=True)
class BankEmpty:
    """When the bank of the hardest night would be empty.

    Attributes
    ----------
    place : int
        Row of the night in its table.
    date, bedtime : Timestamp
        Date of its bedtime, and bedtime.
    at : Timestamp or None
        When the bank reaches its reserve; None where 48 h from bedtime do not do it.
    how : {"in_account", "left_on", "outlasts"}
        Under the plan, between the start of the account and waking; only with cooling left on from bedtime and nothing
        charging; or not within 48 h even so.
    """

    place: int
    date: pd.Timestamp
    bedtime: pd.Timestamp
    at: pd.Timestamp | None
    how: HowEmpty

    @property
    def from_bedtime_h(self) -> float:
        """Bedtime to that moment [h]; negative before bedtime, infinite where it does not come."""
        return float("inf") if self.at is None else (self.at - self.bedtime) / pd.Timedelta(hours=1)


def bank_empty(source: Result | Design) -> BankEmpty | None:
    """Find when the bank would be empty.

    Parameters
    ----------
    source : Result or Design
        A run, or a design over a season, of which the nights of the headline are read.

    Returns
    -------
    BankEmpty or None
        The night on which the bank is empty earliest, counted from bedtime; of several the one with the least charge at
        waking. Where no account empties the bank, the night with the shortest runtime. None where there is no night.
    """
    if isinstance(source, Design):
        return hardest_night(source.headline.table, source.scenario)
    return hardest_night(source.nights, source.run.scenario)


def hardest_night(nights: pd.DataFrame, scenario: Scenario) -> BankEmpty | None:
    """`bank_empty` of a table of nights (`vansim.runs.night_table`)."""
    if not len(nights):
        return None
    table = nights.reset_index().assign(bedtime=lambda t: t["date"] + _bedtime(scenario))
    empty = table[table["empty_at"].notna()]
    if not len(empty):
        row: Any = table.loc[int(table["runtime_h"].argmin())]
        if row["outlasts"]:
            return BankEmpty(int(row.name), row["date"], row["bedtime"], None, "outlasts")
        at = row["bedtime"] + pd.Timedelta(hours=row["runtime_h"])
        return BankEmpty(int(row.name), row["date"], row["bedtime"], at, "left_on")
    # where a night finds the bank empty from the one before, that one's moment is the true one
    own = empty[empty["empty_at"] >= empty["account_start"]]
    chosen = own if len(own) else empty
    ranked = chosen.assign(after=chosen["empty_at"] - chosen["bedtime"]).sort_values(["after", "waking_soc"])
    row = ranked.iloc[0]
    return BankEmpty(int(row.name), row["date"], row["bedtime"], row["empty_at"], "in_account")


def _bedtime(scenario: Scenario) -> pd.Timedelta:
    return pd.Timedelta(minutes=minutes(scenario.night.bedtime) % DAY_MIN)
