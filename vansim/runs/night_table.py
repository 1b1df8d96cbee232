"""Nights as rows: from bedtime to waking, kept or not, and why not."""

from __future__ import annotations

from typing import Any

import numpy as np
import numpy.typing as npt
import pandas as pd

from vansim.march.records import DISCONNECTED, Records
from vansim.runs.run import Run

Array = npt.NDArray[Any]

NIGHTLY = (
    "date", "outdoor_low_c", "outdoor_mean_c", "dew_point_c", "runtime_h", "lowest_soc", "waking_soc", "duty", "starts",
    "cooler_wh", "loads_wh", "cabin_max_c", "over_limit_h", "limit_c", "kept", "why",
)  # fmt: skip


def night_row(run: Run, events: Records, p: pd.DataFrame, bed: int, wake: int) -> dict[str, Any]:
    """One night as a row.

    Parameters
    ----------
    run : Run
        What was asked.
    events : (n_events,) recarray
        Time [s] and kind of each event.
    p : DataFrame
        The night's rows of `Result.intervals`.
    bed, wake : int
        Bedtime and waking on the run's clock [min].

    Returns
    -------
    dict
        The columns of `NIGHTLY`.
    """
    span, hours = p["span_s"], p["span_s"] / 3600.0
    limit = run.scenario.night.limit_c
    at_reserve = events.time_s[events.kind == DISCONNECTED]
    tonight = at_reserve[(at_reserve >= bed * 60.0) & (at_reserve <= wake * 60.0)]
    runtime = (tonight[0] / 60.0 - bed) / 60.0 if tonight.size else np.nan
    if p["disconnected"].iloc[0] >= 1.0 - 1e-12:
        runtime = 0.0
    over_h = float((p["over_limit"] * hours).sum())
    able = p[p["disconnected"] < 1e-12]
    able_over = able["over_limit"] * able["span_s"] / 3600.0
    kept, why = verdict(
        empty=not np.isnan(runtime),
        over_h=over_h,
        over_while_cooling_h=float(able_over.sum()),
        duty_while_over=float((able["duty"] * able_over).sum() / max(able_over.sum(), 1e-9)),
        grace_h=run.scenario.night.grace_min / 60.0,
    )
    rows = (run.first_hour + (p["start_s"] // 3600).astype(int)) % len(run.weather.data)
    dew = run.weather.data["temp_dew"].to_numpy()[rows.to_numpy()]
    return {
        "date": date_of(run, bed),
        "outdoor_low_c": float(p["outdoor_low_c"].min()),
        "outdoor_mean_c": float((p["outdoor_c"] * span).sum() / span.sum()),
        "dew_point_c": float((dew * span).sum() / span.sum()),
        "runtime_h": float(runtime),
        "lowest_soc": float(p["soc"].min()),
        "waking_soc": float(p["soc"].iloc[-1]),
        "duty": float((p["duty"] * span).sum() / span.sum()),
        "starts": float(p["starts"].sum()),
        "cooler_wh": float((p["cooler_w"] * hours).sum()),
        "loads_wh": float((p["loads_w"] * hours).sum()),
        "cabin_max_c": float(p["cabin_max_c"].max()),
        "over_limit_h": over_h,
        "limit_c": limit,
        "kept": kept,
        "why": why,
    }


def date_of(run: Run, minute: int) -> pd.Timestamp:
    """Date of a minute on the run's clock."""
    zone = pd.DatetimeIndex(run.weather.data.index).tz
    midnight = pd.Timestamp(2001, 1, 1, tz=zone)
    return (midnight + pd.Timedelta(hours=run.first_hour, minutes=minute)).normalize()


def verdict(
    *, empty: bool, over_h: float, over_while_cooling_h: float, duty_while_over: float, grace_h: float
) -> tuple[bool, str]:
    """Whether a night was kept, and if not, why not.

    Parameters
    ----------
    empty : bool
        Whether the bank reached its reserve between bedtime and waking.
    over_h, over_while_cooling_h : float
        Time above the limit [h]: in all, and while the bank still allowed cooling.
    duty_while_over : float
        Compressor on-time over that latter time.
    grace_h : float
        Time above the limit that is forgiven [h].

    Returns
    -------
    kept : bool
        Neither empty nor too long too warm.
    why : str
        ``""``, ``"bank"``, ``"cooler too small"`` (it ran nearly all that time, and it was not enough), ``"controls"``
        (it could have run more: switched on too late, or held back by its timers), ``"both"`` (empty, and too warm even
        before).
    """
    warm = over_while_cooling_h > grace_h
    if empty:
        return False, "both" if warm else "bank"
    if over_h <= grace_h:
        return True, ""
    return False, "cooler too small" if duty_while_over > 0.75 else "controls"
