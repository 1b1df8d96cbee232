"""The answer on a terminal: words first, then a short table."""

from __future__ import annotations

from typing import Any

import numpy as np
import pandas as pd

from vansim.runs.result import Result
from vansim.scenario.plan import is_on
from vansim.scenario.schema import DAY_MIN, Scenario, minutes
from vansim.units import show
from vansim.van.loads import inverter_input_w

WAY_WORDS = {"road": "driving on the road", "idling": "engine idling", "sun": "sun alone"}


def hours_words(hours: float | None, beyond: str = "more than two days") -> str:
    """Hours for a reader: ``"2 h 20 min"``; `beyond` for None."""
    if hours is None:
        return beyond
    whole, rest = divmod(round(hours * 60), 60)
    if whole == 0:
        return f"{rest} min"
    return f"{whole} h {rest:02d} min" if rest else f"{whole} h"


def energy_by_user(result: Result, start: pd.Timestamp, end: pd.Timestamp) -> dict[str, float]:
    """Electrical energy between two moments by who used it [Wh].

    Parameters
    ----------
    result : Result
        A run.
    start, end : Timestamp
        Within it.

    Returns
    -------
    dict of str to float
        Cooler, each load by name, inverter losses, roof fan; adds up to `cooler_w` plus `loads_w`.
    """
    midnight = result.index[0].normalize()
    first, last = ((moment - midnight).total_seconds() for moment in (start, end))
    p = result.intervals
    at = (p["start_s"] >= first - 1e-6) & (p["start_s"] < last - 1e-6)
    p, hours = p[at], p.loc[at, "span_s"] / 3600.0
    scenario = result.run.scenario
    used = {"cooler": float((p["cooler_w"] * hours).sum())}
    ac = np.zeros(len(p))
    for load in scenario.loads:
        on = np.array([is_on(load.hours, int(s // 60)) for s in p["start_s"]])
        power = np.where(on, load.power_w * load.duty, 0.0)
        used[load.name] = used.get(load.name, 0.0) + float((power * hours).sum())
        ac += power if load.supply == "ac" else 0.0
    losses = sum(
        (inverter_input_w(scenario.inverter, w) - w) * h for w, h in zip(ac.tolist(), hours.tolist(), strict=True)
    )
    plugged = np.array([result.run.laid.segments[i].shore for i in p.index])
    if losses > 0.0 and not plugged.any():
        used["inverter losses"] = float(losses)
    fan = float((p["fan"] * hours).sum()) * scenario.cabin.fan_w
    if fan > 0.0:
        used["roof fan"] = fan
    return used


def night_lines(
    result: Result, system: str = "si", runtime_h: float | None = None, outlasts: bool = False
) -> list[str]:
    """The night in words and a table, for a run with one night.

    Parameters
    ----------
    result : Result
        The run.
    system : {"si", "us"}
        Units.
    runtime_h, outlasts : float or None, bool
        Hours from bedtime until the reserve without charging, and whether even two days did not reach it.

    Returns
    -------
    list of str
        Lines to print.
    """
    night = result.nights.iloc[0]
    scenario = result.run.scenario
    bed, wake = bed_and_wake(result, result.nights.index[0])
    low, mean = show(night["outdoor_low_c"], "t_c", system, 0), show(night["outdoor_mean_c"], "t_c", system, 0)
    lines = [
        f"{scenario.night.label.capitalize()} of {bed:%d %B}, {scenario.night.bedtime} to {scenario.night.waking}: "
        f"outdoors down to {low}, mean {mean}",
        "",
    ]
    rows = []
    if runtime_h is not None:
        text = "more than 48 h" if outlasts else hours_words(runtime_h)
        since = "bedtime" if scenario.night.label == "night" else scenario.night.bedtime
        rows.append(("runtime to the reserve", f"{text} from {since}, cooling left on, nothing charging"))
    rows += [
        ("lowest state of charge", f"{night['lowest_soc']:.0%} (reserve {scenario.bank.reserve_soc:.0%})"),
        ("warmest in the cabin", show(night["cabin_max_c"], "t_c", system)),
        ("above the limit", hours_words(float(night["over_limit_h"]))),
        ("compressor", f"on {night['duty']:.0%} of the night, {night['starts']:.0f} starts"),
    ]
    lines += [f"  {name:24s}{value}" for name, value in rows]
    lines += ["", "  hour of the night   " + "".join(f"{t:>6}" for t, _ in _duty_by_hour(result, bed, wake))]
    lines += ["  compressor duty     " + "".join(f"{d:>6.0%}" for _, d in _duty_by_hour(result, bed, wake))]
    lines += ["", "  energy, bedtime to waking"]
    users = sorted(energy_by_user(result, bed, wake).items(), key=lambda item: -item[1])
    lines += [f"    {name:22s}{wh:7.0f} Wh" for name, wh in users]
    return lines


def bed_and_wake(result: Result, date: pd.Timestamp) -> tuple[pd.Timestamp, pd.Timestamp]:
    """Bedtime and waking of the night that `Result.nights` lists under a date."""
    night = result.run.scenario.night
    bed = date + pd.Timedelta(minutes=minutes(night.bedtime))
    return bed, bed + pd.Timedelta(minutes=round(night.length_h * 60))


def _duty_by_hour(result: Result, bed: pd.Timestamp, wake: pd.Timestamp) -> list[tuple[str, float]]:
    hourly = result.hourly
    at = hourly[(hourly.index > bed - pd.Timedelta(hours=1)) & (hourly.index < wake)]
    return [(f"{t:%H}", d) for t, d in zip(at.index, at["duty"], strict=True)]


def nights_lines(nights: pd.DataFrame, system: str = "si", most: int = 31) -> list[str]:
    """Several nights as a short table.

    Parameters
    ----------
    nights : DataFrame
        As `Result.nights`.
    system : {"si", "us"}
        Units.
    most : int
        Rows to print; of a longer table the months are summed up instead.

    Returns
    -------
    list of str
        Lines to print.
    """
    if len(nights) > most:
        return _month_lines(nights)
    head = f"  {'night':10s}{'outdoor low':>12s}{'lowest charge':>15s}{'duty':>7s}{'cooler':>10s}{'warmest':>10s}  kept"
    lines = [head]
    for date, night in nights.iterrows():
        kept = "yes" if night["kept"] else f"no: {night['why']}"
        if not np.isnan(night["runtime_h"]):
            kept += f", reserve after {hours_words(float(night['runtime_h']))}"
        lines.append(
            f"  {pd.Timestamp(str(date)):%d %b}    {show(night['outdoor_low_c'], 't_c', system, 0):>12s}"
            f"{night['lowest_soc']:>15.0%}{night['duty']:>7.0%}{night['cooler_wh']:>7.0f} Wh"
            f"{show(night['cabin_max_c'], 't_c', system):>10s}  {kept}"
        )
    return lines


def _month_lines(nights: pd.DataFrame) -> list[str]:
    months = pd.DatetimeIndex(nights.index).month
    lines = [f"  {'month':8s}{'nights':>8s}{'kept':>8s}{'mean duty':>12s}{'cooler a night':>18s}"]
    for month in sorted(set(months)):
        part = nights[months == month]
        name = pd.Timestamp(2001, month, 1).strftime("%b")
        lines.append(
            f"  {name:8s}{len(part):>8d}{int(part['kept'].sum()):>8d}{part['duty'].mean():>12.0%}"
            f"{part['cooler_wh'].mean():>15.0f} Wh"
        )
    return lines


def recovery_line(hours: dict[str, float | None], goal_soc: float) -> str:
    """How long to recharge, in a sentence."""
    if not hours:
        return "Nothing on board recharges the bank; only shore power would."
    ways = ", ".join(f"{hours_words(h)} {WAY_WORDS[way]}" for way, h in hours.items())
    return f"Back to {goal_soc:.0%}: {ways}."


def balance_line(balance: dict[str, float]) -> str:
    """How well the books close, in a line."""
    return "Books close to: " + ", ".join(f"{name} {abs(value):.0e}" for name, value in balance.items())


def parts_lines(table: Any) -> list[str]:
    """A parts table as aligned text."""
    return str(table.round(2).to_string(index_names=False, na_rep="-")).splitlines()


def describe_days(scenario: Scenario) -> list[str]:
    """The plan in a line a segment."""
    lines = []
    for day in scenario.days():
        lines.append(f"  {day.name}")
        for s in day.segment:
            span = s.span_min if s.span_min < DAY_MIN else DAY_MIN
            lines.append(f"    {s.start} to {s.end} ({span / 60:g} h): {s.doing}, cooling {s.cooling}")
    return lines
