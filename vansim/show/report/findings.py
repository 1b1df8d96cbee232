"""What a report is made from: every study of a scenario, and every number that its text may say."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass
from typing import Any

import numpy as np
import pandas as pd

from vansim import phrases
from vansim.climate import Weather
from vansim.errors import ScenarioError
from vansim.runs.result import Result
from vansim.runs.run import weather_of
from vansim.runs.simulate import simulate
from vansim.scenario.schema import Scenario, minutes
from vansim.scenario.vary import vary
from vansim.show.plots.bars import mode_numbers, telling, telling_causes
from vansim.show.plots.night import choose_night
from vansim.studies.energy import causes
from vansim.studies.nights import KEEP, Nights, nights_alone, nights_chained
from vansim.studies.outage import Hazard, after_reserve
from vansim.studies.recharge import ROAD_KMH, Recovery, recovery
from vansim.studies.runtime import runtime_tonight
from vansim.studies.sizing import Sizing, size
from vansim.studies.upgrades import standard_changes, worth_most

Progress = Callable[[str], None]
FOLLOWED_H = 48.0


@dataclass(frozen=True)
class Findings:
    """Everything that a report tells.

    Attributes
    ----------
    result : Result
        The run; `which` is the position of its night that is shown.
    runtime_h, outlasts : float, bool
        Of that night, left on without charging.
    alone, chained : Nights
        The season with a full bank at every bedtime, and with the plan's own charging.
    again : Recovery
        After that night.
    causes : DataFrame
        Of that night.
    hazards : dict of str to Hazard
        ``"night"``, ``"sun"``.
    sizing : Sizing or None
        None without a cooler.
    worth : DataFrame or None
        None without a cooler.
    modes : dict of str to Result
        ``"eco"``, ``"boost"``; empty where nothing is cooled.
    keep : float
        Asked share of nights.
    """

    result: Result
    which: int
    runtime_h: float
    outlasts: bool
    alone: Nights
    chained: Nights
    again: Recovery
    causes: pd.DataFrame
    hazards: Mapping[str, Hazard]
    sizing: Sizing | None
    worth: pd.DataFrame | None
    modes: Mapping[str, Result]
    keep: float

    @property
    def scenario(self) -> Scenario:
        """What was asked."""
        return self.result.run.scenario

    @property
    def night(self) -> pd.Series[Any]:
        """Row of the night that is shown."""
        return self.result.nights.iloc[self.which]


def find(
    scenario: Scenario,
    weather: Weather | None = None,
    season: str | None = None,
    keep: float = KEEP,
    progress: Progress | None = None,
) -> Findings:
    """Run every study of a report.

    Parameters
    ----------
    scenario, weather, season, keep
        As for `vansim.show.report.report.report`.
    progress : callable or None
        Called with the name of each study as it begins.

    Returns
    -------
    Findings
        For the text and the pictures.

    Raises
    ------
    ScenarioError
        The scenario's run holds no whole night.
    """
    tell = progress or (lambda name: None)
    tell("the night")
    weather = weather_of(scenario) if weather is None else weather
    result = simulate(scenario, weather)
    if not len(result.nights):
        night = scenario.night
        raise ScenarioError(
            f"run: no whole {night.label} ({night.bedtime} to {night.waking}) lies in this run of "
            f"{scenario.run.days} d from {scenario.run.start}; start it earlier, or make it longer"
        )
    row = choose_night(result).row
    assert row is not None
    which = int(np.argmax(result.nights.index == row.name))
    cooled = scenario.cooler is not None and any(s.cooling != "off" for d in scenario.day for s in d.segment)
    runtime_h, outlasts = runtime_tonight(result, which) if cooled else (0.0, False)
    tell("the season")
    alone = nights_alone(scenario, weather, season=season, keep=keep)
    chained = nights_chained(scenario, weather, season=season, keep=keep)
    tell("size of the bank")
    sizing = size(scenario, weather, keep=keep, season=season) if cooled else None
    tell("upgrades")
    worth = worth_most(scenario, weather, season=season, keep=keep) if cooled else None
    tell("recharging, modes and the stopped cooler")
    return Findings(
        result=result,
        which=which,
        runtime_h=runtime_h,
        outlasts=outlasts,
        alone=alone,
        chained=chained,
        again=recovery(result, which),
        causes=causes(result, which),
        hazards={when: after_reserve(scenario, weather, when=when, season=season) for when in ("night", "sun")},
        sizing=sizing,
        worth=worth,
        modes=_modes(scenario, weather) if cooled else {},
        keep=keep,
    )


def _modes(scenario: Scenario, weather: Weather) -> dict[str, Result]:
    changes = standard_changes(scenario)
    return {
        mode: simulate(
            vary(scenario, changes[f"{mode} throughout"]) if changes[f"{mode} throughout"] else scenario, weather
        )
        for mode in ("eco", "boost")
    }


def numbers_of(found: Findings) -> dict[str, Any]:
    """Every number that a report may say, by section; plain values, SI.

    Parameters
    ----------
    found : Findings
        From `find`.

    Returns
    -------
    dict
        ``summary`` is `Result.summary` itself. Names end in their unit; those without are shares or counts.
    """
    return {
        "summary": found.result.summary,
        "night": _night(found),
        "season": _season(found.alone, found.chained) | {"keep": found.keep},
        "size": _size(found.sizing) if found.sizing is not None else {},
        "worth": _worth(found.worth) if found.worth is not None else {},
        "modes": _mode_numbers(found.modes),
        "causes": _causes(found.causes),
        "recovery": _recovery(found.again),
        "hazard": {when: _hazard(hazard) for when, hazard in found.hazards.items()},
    }


def _plain(value: Any) -> Any:
    """Numpy and pandas scalars as Python's own; dates as ISO text; what is not finite as text."""
    if isinstance(value, pd.Timestamp):
        return value.date().isoformat()
    value = value.item() if hasattr(value, "item") else value
    return str(value) if isinstance(value, float) and not np.isfinite(value) else value


def _night(found: Findings) -> dict[str, Any]:
    row = {str(name): _plain(value) for name, value in found.night.items()}
    rested = {"to_reserve_h": found.runtime_h, "outlasts": found.outlasts, "followed_h": FOLLOWED_H}
    bank, night = found.scenario.bank, found.scenario.night
    plan: dict[str, Any] = {"reserve_soc": bank.reserve_soc, "night_h": night.length_h}
    plan |= {"bedtime": night.bedtime, "waking": night.waking}
    if not np.isnan(found.night["runtime_h"]):
        plan["stops_at"] = phrases.clock(minutes(night.bedtime) / 60.0 + float(found.night["runtime_h"]))
    return {"date": _plain(found.night.name)} | row | rested | plan


def _season(alone: Nights, chained: Nights) -> dict[str, Any]:
    table, told = alone.table, alone.distribution
    outdoor, kept = table["outdoor_mean_c"], table["kept"]
    worst = {f"worst_{name}": _plain(told["worst_night"][name]) for name in ("date", "runtime_h", "over_limit_h")}
    months = told["by_month"]
    return {
        "season": alone.season,
        "nights": len(table),
        "kept": int(kept.sum()),
        "lost": int((~kept).sum()),
        "lost_dates": [_plain(date) for date in table.index[~kept]],
        "kept_chained": int(chained.table["kept"].sum()),
        "bedtime_soc_chained_p50": float(chained.table["bedtime_soc"].median()),
        "runtime_p10_h": told["runtime_h"]["p10"],
        "runtime_p50_h": told["runtime_h"]["p50"],
        "runtime_p90_h": told["runtime_h"]["p90"],
        "warmest_c": float(outdoor.max()),
        "mildest_c": float(outdoor.min()),
        "warmest_runtime_h": float(table["runtime_h"].iloc[int(np.argmax(outdoor))]),
        "lost_from_c": float(outdoor[~kept].min()) if (~kept).any() else None,
        **worst,
        "followed_h": FOLLOWED_H,
        "by_month": {
            str(month): {
                "nights": int(row["nights"]),
                "kept": round(float(row["kept_share"]) * int(row["nights"])),
                "runtime_p10_h": float(row["runtime_p10_h"]),
                "runtime_p50_h": float(row["runtime_p50_h"]),
            }
            for month, row in months.iterrows()
        },
    }


def _size(sizing: Sizing) -> dict[str, Any]:
    curve = [
        {"units": int(row["units"]), "usable_kwh": float(row["usable_kwh"]), "kept_share": float(row["kept_share"])}
        for _, row in sizing.curve.iterrows()
    ]
    rows: dict[str, Any] = {"keep": sizing.keep, "curve": curve, "best_share": float(sizing.curve["kept_share"].max())}
    if len(sizing.table):
        row = sizing.table.iloc[0]
        names = ("units", "usable_kwh", "kept_share", "runtime_p10_h", "chained_share", "mass_kg", "price")
        rows |= {name: _plain(row[name]) for name in names}
        rows["keeps_up"] = bool(row["keeps_up"])
    else:
        rows["reason"] = str(sizing.failed.iloc[0]["words"])
    return rows


def _worth(table: pd.DataFrame) -> dict[str, Any]:
    names = ("gained_p10_h", "same_by_bank_kwh", "kept_share")
    return {str(change): {name: _plain(row[name]) for name in names} for change, row in telling(table).iterrows()}


def _mode_numbers(modes: Mapping[str, Result]) -> dict[str, Any]:
    found: dict[str, Any] = {
        name: {key: _plain(value) for key, value in mode_numbers(result).items()} for name, result in modes.items()
    }
    if found:
        eco, boost = (mode_numbers(modes[name]) for name in ("eco", "boost"))
        saved = 1.0 - eco["cooler_wh"] / boost["cooler_wh"] if boost["cooler_wh"] else 0.0
        found |= {"saved_share": abs(saved), "later_min": _plain(abs(eco["cool_down_min"] - boost["cool_down_min"]))}
    return found


def _causes(table: pd.DataFrame) -> dict[str, Any]:
    rows = telling_causes(table)
    pairs = zip(rows.index, rows["electric_wh"].tolist(), rows["share"].tolist(), strict=True)
    return {"meter_wh": table.attrs["meter_wh"]} | {
        str(name): {"electric_wh": wh, "share": share} for name, wh, share in pairs
    }


def _recovery(again: Recovery) -> dict[str, Any]:
    charge = {"start_soc": again.start_soc, "goal_soc": again.goal_soc}
    followed = {"road_kmh": ROAD_KMH, "followed_h": FOLLOWED_H}
    return charge | followed | {f"{way}_h": hours for way, hours in again.hours.items()}


def _hazard(hazard: Hazard) -> dict[str, Any]:
    lines = hazard.lines
    columns = (lines["quantity"], lines["value_c"].tolist(), lines["minutes"].tolist(), lines["source"])
    return {
        "start_c": float(hazard.series["cabin_c"].iloc[0]),
        "after_hour_c": float(hazard.series["cabin_c"].iloc[60]),
        "stopped_date": _plain(hazard.moment),
        "stopped_at": phrases.clock(hazard.moment.hour + hazard.moment.minute / 60.0),
        "lines": {
            str(n): {"quantity": str(q), "value_c": v, "after_min": _plain(m), "source": str(s)}
            for n, q, v, m, s in zip(lines.index, *columns, strict=True)
        },
    }
