"""Nights as rows: from the start of their account to waking, covered or not, and why not."""

from __future__ import annotations

import math
from typing import TYPE_CHECKING, Any

import numpy as np
import numpy.typing as npt
import pandas as pd

from vansim.boundary.forcing import rows_of
from vansim.march.records import LIMIT_NAMES, Records

if TYPE_CHECKING:
    from vansim.runs.season import SeasonRun

FOLLOWED_H = 48.0
"""A runtime is followed this long from bedtime [h]."""
NIGHTLY = (
    "account_start", "outdoor_low_c", "outdoor_mean_c", "dew_point_c", "start_soc", "bedtime_soc", "lowest_soc",
    "waking_soc", "runtime_h", "outlasts", "empty_at", "stopped_by", "cabin_at_empty_c", "bedtime_cabin_c", "duty",
    "starts", "evening_wh", "cooler_wh", "loads_wh", "charged_wh", "cabin_max_c", "over_limit_h", "limit_c",
    "covered", "why",
)  # fmt: skip
"""Columns of a table of nights.

account_start       where the account begins
outdoor_*, dew_*    outdoors from bedtime to waking [°C]
start_soc ...       state of charge where the account begins, at bedtime, at its lowest, and at waking
runtime_h           bedtime to a limit, cooling left on and nothing charging [h]; 48 where it goes beyond (`outlasts`)
empty_at            when a limit first stopped the cooler in the account; not-a-time where none did
stopped_by          which one: `LIMIT_NAMES` of `vansim.march.records`; empty where none did
cabin_at_empty_c    cabin at that moment [°C]; not-a-number where there is none
bedtime_cabin_c     cabin at bedtime [°C]
duty, starts        compressor, bedtime to waking
evening_wh          electricity of cooler and loads from the start of the account to bedtime [Wh]
cooler_wh, loads_wh electricity from bedtime to waking [Wh]
charged_wh          given by sun, engine and shore over the account [Wh]
cabin_max_c ...     warmest, and time above the limit, bedtime to waking [°C, h]
covered, why        the verdict, and what a night that is not covered lacks
"""
WHY = ("battery", "cooler", "controls", "both", "no-cooler")
"""What a night that is not covered lacks: battery too small; cooler too small; started too late, or held by timers;
battery too small, and too warm even before it was empty; no cooler is fitted."""


def night_table(run: SeasonRun, nights: Records, outdoor: bool = True) -> pd.DataFrame:
    """Make a table of nights.

    Parameters
    ----------
    run : SeasonRun
        Where the nights lie.
    nights : (n_nights,) records of NIGHT
        What became of them.
    outdoor : bool
        With the columns that tell of the weather outdoors, which take the most time.

    Returns
    -------
    DataFrame
        One row a night, by the date of its bedtime; the columns of `NIGHTLY`.
    """
    zone = pd.DatetimeIndex(run.weather.data.index).tz
    midnight = pd.Timestamp(run.nights.date_of(0), tz=zone)
    covered, why = covered_and_why(run, nights)
    account_s = run.forcing.plan.start_s[run.rows.account]
    emptied_s = np.where(nights["emptied"] > 0.0, nights["emptied_s"], np.nan)
    columns: dict[str, Any] = {
        "account_start": midnight + pd.to_timedelta(account_s, unit="s"),
        **(outdoors(run) if outdoor else {}),
        "start_soc": nights["start_soc"],
        "bedtime_soc": nights["bedtime_soc"],
        "lowest_soc": nights["lowest_soc"],
        "waking_soc": nights["waking_soc"],
        "runtime_h": nights["runtime_s"] / 3600.0,
        "outlasts": nights["runtime_s"] >= FOLLOWED_H * 3600.0 - 1e-3,
        "empty_at": midnight + pd.to_timedelta(emptied_s, unit="s"),
        "stopped_by": [LIMIT_NAMES[int(by)] for by in np.where(nights["emptied"] > 0.0, nights["emptied_by"], 0.0)],
        "cabin_at_empty_c": np.where(nights["emptied"] > 0.0, nights["emptied_cabin_c"], np.nan),
        "bedtime_cabin_c": nights["bedtime_cabin_c"],
        "duty": nights["on_s"] / (run.wake_s - run.bed_s),
        "starts": nights["starts"].round().astype(int),
        "evening_wh": (nights["evening_cooler_j"] + nights["evening_loads_j"]) / 3600.0,
        "cooler_wh": nights["cooler_j"] / 3600.0,
        "loads_wh": nights["loads_j"] / 3600.0,
        "charged_wh": nights["charged_j"] / 3600.0,
        "cabin_max_c": nights["cabin_max_c"],
        "over_limit_h": nights["over_s"] / 3600.0,
        "limit_c": run.constants.limit_c,
        "covered": covered,
        "why": why,
    }
    index = pd.DatetimeIndex([midnight + pd.Timedelta(days=times.day) for times in run.times], name="date")
    return pd.DataFrame(columns, index=index)[[name for name in NIGHTLY if name in columns]]


def outdoors(run: SeasonRun) -> dict[str, npt.NDArray[np.float64]]:
    """Lowest and mean outdoor air and mean dew point of each night, bedtime to waking [°C].

    Temperature runs straight between hour edges, so ends of intervals hold the lowest.
    """
    dew = run.weather.data["temp_dew"].to_numpy(dtype=float)
    low, mean, dew_mean = np.empty((3, len(run.times)))
    for night, row in enumerate(run.rows):
        at = slice(int(row["bed"]), int(row["wake"]))
        f = rows_of(run.forcing.plan, at.start, at.stop)
        span = f.end_s - f.start_s
        last = f.outdoor_c + f.outdoor_k_s * span
        rows = run.laid.rows[at]
        low[night] = min(f.outdoor_c.min(), last.min())
        mean[night] = np.average(0.5 * (f.outdoor_c + last), weights=span)
        dew_mean[night] = np.average(0.5 * (dew[rows] + dew[(rows + 1) % dew.size]), weights=span)
    return {"outdoor_low_c": low, "outdoor_mean_c": mean, "dew_point_c": dew_mean}


def covered_and_why(run: SeasonRun, nights: Records) -> tuple[npt.NDArray[np.bool_], list[str]]:
    """Which nights are covered, and what the others lack."""
    grace_h = run.scenario.night.grace_min / 60.0
    verdicts = [
        verdict(
            empty=bool(night["emptied"] > 0.0),
            over_h=float(night["over_s"]) / 3600.0,
            over_while_cooling_h=float(night["cooled_over_s"]) / 3600.0,
            duty_while_over=float(night["duty_over"]),
            grace_h=grace_h,
            cooler=run.scenario.cooler is not None,
        )
        for night in nights
    ]
    return np.array([covered for covered, _ in verdicts], dtype=bool), [why for _, why in verdicts]


def verdict(
    *,
    empty: bool,
    over_h: float,
    over_while_cooling_h: float,
    duty_while_over: float,
    grace_h: float,
    cooler: bool = True,
) -> tuple[bool, str]:
    """Whether a night is covered, and if not, why not.

    Parameters
    ----------
    empty : bool
        Whether the bank reached its reserve between the start of the account and waking.
    over_h, over_while_cooling_h : float
        Time above the limit from bedtime to waking [h]: in all, and while the bank still allowed cooling.
    duty_while_over : float
        Compressor on-time over that latter time.
    grace_h : float
        Time above the limit that is forgiven [h].
    cooler : bool
        Whether one is fitted.

    Returns
    -------
    covered : bool
        Neither empty nor too long too warm.
    why : str
        Empty, or one of `WHY`. The cooler is too small where it ran nearly all the time that the cabin was too warm;
        otherwise it could have run more.
    """
    warm = over_while_cooling_h > grace_h
    if not cooler and (warm or over_h > grace_h):
        return False, "no-cooler"
    if empty:
        return False, "both" if warm else "battery"
    if over_h <= grace_h:
        return True, ""
    return False, "cooler" if duty_while_over > 0.75 else "controls"


def needed_nights(count: int, target: float) -> int:
    """Nights that must be covered out of `count` for a share."""
    return math.ceil(target * count - 1e-9)
