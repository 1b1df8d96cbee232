"""The answer on a terminal: words first, then a short table."""

from __future__ import annotations

import numpy as np
import pandas as pd

from vansim import phrases
from vansim.runs.result import Result
from vansim.scenario.plan import is_on
from vansim.scenario.schema import Scenario, minutes
from vansim.show.text import handed
from vansim.units import convert, stem_of, suffix_of, symbol, translated
from vansim.van.loads import inverter_input_w


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
    p = result.pieces
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


def answer_lines(result: Result, system: str = "si") -> list[str]:
    """The answer in a sentence, and what in the design is worth a second look."""
    return [handed.answer(result, system), *(handed.told(text, system) for text in result.warnings)]


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
        Hours from bedtime until the reserve without charging, and whether even 48 h did not reach it.

    Returns
    -------
    list of str
        Lines to print.
    """
    night, scenario = result.nights.iloc[0], result.run.scenario
    bed, wake = bed_and_wake(result, result.nights.index[0])
    low, mean = (phrases.temperature(night[f"outdoor_{name}_c"], system) for name in ("low", "mean"))
    lines = [
        f"{scenario.night.label.capitalize()} of {phrases.date(bed)}, {scenario.night.bedtime} to "
        f"{scenario.night.waking}: outdoor low {low}, mean {mean}",
        "",
        *(phrases.aligned(row, (-31, -1)) for row in _facts(result, night, system, runtime_h, outlasts)),
    ]
    duty = _duty_by_hour(result, bed, wake)
    widths = (-31, *(6 for _ in duty))
    lines += ["", phrases.aligned(("hour", *(hour for hour, _ in duty)), widths)]
    lines += [phrases.aligned(("compressor duty", *(phrases.percent(share) for _, share in duty)), widths)]
    end = "bedtime to waking" if scenario.night.label == "night" else "beginning to end"
    lines += ["", f"  energy, {end}"]
    users = sorted(energy_by_user(result, bed, wake).items(), key=lambda item: -item[1])
    return [*lines, *("  " + phrases.aligned((name, phrases.energy(wh)), (-29, 10)) for name, wh in users)]


def _facts(
    result: Result, night: pd.Series[float], system: str, runtime_h: float | None, outlasts: bool
) -> list[tuple[str, str]]:
    """Rows of the night's table."""
    scenario = result.run.scenario
    since = phrases.since(scenario.night.label, scenario.night.bedtime)
    ran = [] if runtime_h is None else [f"{phrases.runtime(runtime_h, outlasts)}, cooling left on, nothing charging"]
    limit = phrases.temperature(scenario.night.limit_c, system)
    return [
        *((f"runtime ({since} to reserve)", text) for text in ran),
        (
            "lowest state of charge",
            f"{phrases.percent(night['lowest_soc'])} (reserve {phrases.percent(scenario.bank.reserve_soc)})",
        ),
        ("warmest in the cabin", f"{phrases.temperature(night['cabin_max_c'], system)} (limit {limit})"),
        ("above the limit", phrases.duration(float(night["over_limit_h"]))),
        (
            "compressor",
            f"on {phrases.percent(night['duty'])} of the time, {phrases.count(int(night['starts']), 'start')}",
        ),
    ]


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
    widths = (-8, 13, 16, 7, 10, 10, 2, -1)
    head = ("night", "outdoor low", "lowest charge", "duty", "cooler", "warmest", "", "covered")
    lines = [phrases.aligned(head, widths)]
    for date, night in nights.iterrows():
        covered = "yes" if night["kept"] else f"no: {handed.reason(night['why'])}"
        if not np.isnan(night["runtime_h"]):
            covered += f", reserve after {phrases.duration(float(night['runtime_h']))}"
        row = (
            phrases.short_date(pd.Timestamp(str(date))), phrases.temperature(night["outdoor_low_c"], system),
            phrases.percent(night["lowest_soc"]), phrases.percent(night["duty"]), phrases.energy(night["cooler_wh"]),
            phrases.temperature(night["cabin_max_c"], system), "", covered,
        )  # fmt: skip
        lines.append(phrases.aligned(row, widths))
    return lines


def _month_lines(nights: pd.DataFrame) -> list[str]:
    months = pd.DatetimeIndex(nights.index).month
    widths = (-10, 8, 10, 12, 20)
    lines = [phrases.aligned(("month", "nights", "covered", "mean duty", "cooler, mean night"), widths)]
    for month in sorted(set(months)):
        part = nights[months == month]
        row = (
            phrases.MONTHS[month - 1], str(len(part)), str(int(part["kept"].sum())),
            phrases.percent(part["duty"].mean()), phrases.energy(part["cooler_wh"].mean()),
        )  # fmt: skip
        lines.append(phrases.aligned(row, widths))
    return lines


def recovery_line(hours: dict[str, float | None], goal_soc: float, system: str = "si") -> str:
    """How long to recharge, in a sentence."""
    return phrases.sentence(handed.recharged(hours, goal_soc, system))


def parts_lines(table: pd.DataFrame, system: str = "si") -> list[str]:
    """A parts table as aligned text, its numbers and the ends of its column names in the units shown."""
    shown = table.copy()
    for name in table.columns:
        if suffix_of(str(name)) is not None and pd.api.types.is_numeric_dtype(table[name]):
            shown[name] = convert(table[name].to_numpy(dtype=float), str(name), system)
    shown.columns = pd.Index([_heading(str(name), system) for name in table.columns])
    return str(shown.map(lambda value: _cell(value, system)).to_string(index_names=False)).splitlines()


def _heading(name: str, system: str) -> str:
    """A column's name with its unit as printed: ``"mass [lb]"``."""
    suffix = suffix_of(name)
    words = {"ua": "UA", "cop": "COP"}.get(stem_of(name), stem_of(name).replace("_", " "))
    return words if suffix is None else f"{words} [{symbol(name, system)}]"


def _cell(value: object, system: str) -> object:
    if isinstance(value, float):
        return phrases.figures(value)
    return translated(value, system) if isinstance(value, str) else value


def describe_days(scenario: Scenario, system: str = "si") -> list[str]:
    """The plan in a line a segment."""
    lines = []
    for day in scenario.days():
        lines.append(f"  {day.name}")
        for s in day.segment:
            doing = phrases.way("road", s.speed_kmh, system) if s.doing == "driving" else s.doing
            length = phrases.duration(s.span_min / 60.0)
            lines.append(f"    {s.start} to {s.end} ({length}): {doing}, cooling {phrases.cooling(s.cooling)}")
    return lines
