"""One night twice: in two designs, or in eco and in boost."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

import numpy as np
import numpy.typing as npt
import pandas as pd

from vansim.errors import ScenarioError
from vansim.runs.result import Result
from vansim.scenario.schema import Scenario
from vansim.scenario.vary import vary
from vansim.studies.design import AS_IT_IS

STEP_S = 20.0
FOLLOWED_S = 6.0 * 3600.0
MODES = ("eco", "boost")
ROW = ("account_start", "start_soc", "bedtime_soc", "waking_soc", "runtime_h", "outlasts", "empty_at", "evening_wh",
       "cooler_wh", "loads_wh", "charged_wh", "duty", "cabin_max_c", "over_limit_h", "covered", "why")  # fmt: skip


@dataclass(frozen=True)
class ModeNumbers:
    """What the cooler did in the account of a night.

    Attributes
    ----------
    cool_down_min : float
        From the first start of the account with the cabin above its limit until it is down to that [min]; not-a-number
        where six hours do not do it, or the compressor never starts.
    cooler_wh : float
        Electricity of the cooler over the account [Wh].
    starts : int
        Of the compressor over the account.
    waking_soc : float
        State of charge at waking.
    empty_at : Timestamp or None
        When the bank is at its reserve; None where it never is.
    """

    cool_down_min: float
    cooler_wh: float
    starts: int
    waking_soc: float
    empty_at: pd.Timestamp | None


@dataclass(frozen=True)
class SideBySide:
    """One night in two designs.

    Attributes
    ----------
    table : DataFrame
        A row a design: the columns of `ROW` as in `Result.nights`, with the cooler's electricity, its starts and the
        cool-down over the account (`account_cooler_wh`, `account_starts`, `cool_down_min`; see `ModeNumbers`).
    results : (Result, Result)
        The runs.
    night : int
        Row of `Result.nights` of both, from 0.
    """

    table: pd.DataFrame
    results: tuple[Result, Result]
    night: int

    @property
    def names(self) -> tuple[str, str]:
        """What the two are called."""
        one, other = (str(name) for name in self.table.index)
        return one, other

    @property
    def of_modes(self) -> bool:
        """Whether the two are eco and boost."""
        return self.names == MODES


def pair_of(scenario: Scenario, changes: Mapping[str, Any] | None = None, name: str = "changed") -> dict[str, Scenario]:
    """The two designs by name: as it is and changed, or in eco and in boost.

    Parameters
    ----------
    scenario : Scenario
        The van.
    changes : dict or None
        As for `vary`. None: the two are the scenario with every stretch of cooling in eco, and in boost.
    name : str
        What the changed design is called.

    Raises
    ------
    ScenarioError
        Changes that cannot be made; eco and boost of a plan that cools nowhere.
    """
    if changes is not None and name == AS_IT_IS:
        raise ScenarioError(f"{AS_IT_IS!r} is what the scenario itself is called here; choose another name")
    if changes is not None:
        return {AS_IT_IS: scenario, name: vary(scenario, changes)}
    if not cooled(scenario):
        raise ScenarioError("eco and boost: the plan switches no cooler on, so there is nothing to compare")
    return {mode: in_mode(scenario, mode) for mode in MODES}


def side_by_side(results: Mapping[str, Result], night: int = 0) -> SideBySide:
    """Lay the same night of two designs side by side.

    Parameters
    ----------
    results : dict of str to Result
        Two runs by name, in the same place and over the same days.
    night : int
        Row of `Result.nights` of both, from 0; negative from the end.

    Returns
    -------
    SideBySide
        For the screen and the files; the pictures are `plots.two_designs` and `plots.eco_against_boost`.

    Raises
    ------
    ScenarioError
        No such night in one of them.
    """
    one, other = results.values()
    rows = []
    for result in (one, other):
        numbers = mode_numbers(result, night)
        row = {key: result.night(night).row[key] for key in ROW}
        rows.append(row | {"account_cooler_wh": numbers.cooler_wh, "account_starts": numbers.starts,
                           "cool_down_min": numbers.cool_down_min})  # fmt: skip
    table = pd.DataFrame(rows, index=pd.Index(list(results), name="design"))
    return SideBySide(table, (one, other), one.night(night).place)


def cooled(scenario: Scenario) -> bool:
    """Whether there is a cooler and the plan switches it on."""
    return scenario.cooler is not None and any(s.cooling != "off" for s in scenario.segments().values())


def in_mode(scenario: Scenario, mode: str) -> Scenario:
    """The scenario with every stretch of cooling in one mode."""
    days = tuple(
        day.model_copy(
            update={
                "segment": tuple(
                    segment if segment.cooling == "off" else segment.model_copy(update={"cooling": mode})
                    for segment in day.segment
                )
            }
        )
        for day in scenario.day
    )
    return scenario.model_copy(update={"day": days})


# --- what the cooler did ----------------------------------------------------------------------------------------------


def mode_numbers(result: Result, which: int = 0) -> ModeNumbers:
    """What the cooler did in the account of a night.

    Parameters
    ----------
    result : Result
        A run.
    which : int
        Row of `Result.nights`, from 0.
    """
    one = result.night(which)
    account = result.intervals.iloc[one.evening.start : one.asleep.stop]
    start_s = first_start_s(result, which)
    reached = np.empty(0)
    if start_s is not None:
        times = moments(result, start_s, start_s, start_s + FOLLOWED_S)
        cabin = result.follow(times)["cabin_c"].to_numpy()
        reached = times[cabin <= result.run.scenario.night.limit_c]
    return ModeNumbers(
        cool_down_min=(float(reached[0]) - start_s) / 60.0 if reached.size and start_s is not None else float("nan"),
        cooler_wh=float((account["cooler_w"] * account["span_s"]).sum()) / 3600.0,
        starts=round(float(account["starts"].sum())),
        waking_soc=float(one.row["waking_soc"]),
        empty_at=None if pd.isna(one.row["empty_at"]) else one.row["empty_at"],
    )


def first_start_s(result: Result, which: int = 0) -> float | None:
    """First compressor start of a night's account with the cabin above its limit, else the first of all.

    In seconds since midnight of the run's first day; None where there is none.
    """
    times = result.night(which).times
    starts = result.compressor_runs["start_s"]
    inside = starts[(starts >= times.account_min * 60.0) & (starts < times.wake_min * 60.0)]
    if not len(inside):
        return None
    hot = result.follow(inside.to_numpy())["cabin_c"].to_numpy() > result.run.scenario.night.limit_c
    return float(inside.iloc[int(np.argmax(hot))])


def moments(result: Result, start_s: float, from_s: float, to_s: float) -> npt.NDArray[Any]:
    """Even moments that lie in the run, the start among them [s]; shape (n_moments,)."""
    p = result.intervals
    low, high = float(p["start_s"].iloc[0]), float(p["start_s"].iloc[-1] + p["span_s"].iloc[-1])
    even = start_s + STEP_S * np.arange(np.floor((from_s - start_s) / STEP_S), np.ceil((to_s - start_s) / STEP_S))
    inside: npt.NDArray[Any] = even[(even > low) & (even <= high)]
    return inside
