"""A run on a terminal: its night in figures, or its nights in a table; its energy, its plan."""

from __future__ import annotations

import numpy as np
import pandas as pd

from vansim import phrases
from vansim.boundary.forcing import rows_of
from vansim.runs.night import Night
from vansim.runs.recharge import GOAL_SOC, ROAD_KMH
from vansim.runs.result import Result
from vansim.runs.summary import recharge_of, telling_night
from vansim.scenario.plan import is_on
from vansim.scenario.schema import Scenario
from vansim.show.text.account import run_account
from vansim.show.text.tables import table_lines

HOURS_A_LINE = 9
MOST_ROWS = 31
"""Nights listed one by one; of a longer run the months are summed up instead."""


def run_lines(result: Result, system: str = "si") -> list[str]:
    """A run in words and tables.

    Parameters
    ----------
    result : Result
        The run.
    system : {"si", "us"}
        Units shown.

    Returns
    -------
    list of str
        The answer, what was counted, then the night, or a table of nights; recharging; warnings.
    """
    nights = result.nights
    lines = [result.answer(system), "", *run_account(result)]
    if len(nights) == 1:
        lines += ["", *night_lines(result, 0, system)]
    elif len(nights):
        lines += ["", *nights_lines(result, system)]
    if len(nights):
        lines += ["", recharge_line(result, system)]
    return [*lines, *(f"Warning: {phrases.note(note, system=system)}" for note in result.warnings)]


def recharge_line(result: Result, system: str = "si") -> str:
    """How long to recharge after the night that the answer tells of, by every way that the van is fitted for."""
    place = telling_night(result)
    said = phrases.sentence(phrases.recharged(GOAL_SOC, recharge_of(result.nights.iloc[place]), ROAD_KMH, system))
    date = phrases.date(pd.Timestamp(str(result.nights.index[place])))
    noun = result.run.scenario.night.label
    return f"After the {noun} of {date}, with the cooler off: {said[:1].lower()}{said[1:]}"


# --- one night --------------------------------------------------------------------------------------------------------


def night_lines(result: Result, place: int, system: str = "si") -> list[str]:
    """A night of a run in figures.

    Parameters
    ----------
    result : Result
        The run.
    place : int
        Row of `Result.nights`.
    system : {"si", "us"}
        Units shown.

    Returns
    -------
    list of str
        Facts, the compressor's duty by the hour, and energy of evening and night apart.
    """
    night, noun = result.night(place), result.run.scenario.night.label
    low, mean = (phrases.temperature(night.row[f"outdoor_{name}_c"], system) for name in ("low", "mean"))
    asked = result.run.scenario.night
    head = (
        f"{noun.capitalize()} of {phrases.date(night.date)}, {asked.bedtime} to {asked.waking}: "
        f"outdoors down to {low}, mean {mean}"
    )
    facts = [f"  {name:<21}  {said}" for name, said in night_facts(result, night, system)]
    return [head, "", *facts, "", *_duty_lines(result, night), "", *energy_lines(result, place)]


def night_facts(result: Result, night: Night, system: str = "si") -> list[tuple[str, str]]:
    """Rows of a night's figures: what, and how much."""
    scenario, row = result.run.scenario, night.row
    noun, bedtime = scenario.night.label, scenario.night.bedtime
    limit = phrases.temperature(scenario.night.limit_c, system, None)
    early = "" if pd.isna(row["empty_at"]) or row["empty_at"] >= night.bedtime else _clock(row["empty_at"])
    bed = phrases.start("bedtime", noun)
    charge = [(phrases.percent(row[f"{name}_soc"]), when) for name, when in _charges(night, noun, bed)]
    starts = phrases.count(int(row["starts"]), "start")
    over = phrases.duration(float(row["over_limit_h"]))
    return [
        ("runtime", phrases.runtime_from(
            float(row["runtime_h"]), bool(row["outlasts"]), float(row["bedtime_soc"]), emptied_before=early,
            noun=noun, bedtime=bedtime,
        )),
        ("state of charge", f"{', '.join(f'{soc} {when}' for soc, when in charge)} "
            f"(reserve {phrases.percent(scenario.bank.reserve_soc)})"),
        ("cabin", f"{phrases.temperature(row['bedtime_cabin_c'], system)} at {bed}, "
            f"{phrases.temperature(row['cabin_max_c'], system)} at most after it (limit {limit})"),
        ("above the limit", f"{over} ({phrases.duration(scenario.night.grace_min / 60.0)} are forgiven)"),
        ("compressor", f"on {phrases.percent(row['duty'])} of the {noun}, {starts}"),
    ]  # fmt: skip


def _charges(night: Night, noun: str, bed: str) -> list[tuple[str, str]]:
    if night.times.account_min == night.times.bed_min:
        return [("bedtime", f"at {bed}"), ("waking", phrases.at_end(noun))]
    return [("start", f"at {_clock(night.row['account_start'])}"), ("bedtime", f"at {bed}"),
            ("waking", phrases.at_end(noun))]  # fmt: skip


def _clock(moment: pd.Timestamp) -> str:
    return phrases.time_of_day(moment)


def duty_by_hour(result: Result, night: Night) -> pd.Series[float]:
    """Share of each clock hour from bedtime to waking in which the compressor is on, by the hour's beginning."""
    hourly = result.hourly
    at = (hourly.index > night.bedtime - pd.Timedelta(hours=1)) & (hourly.index < night.waking)
    return hourly.loc[at, "duty"]


def _duty_lines(result: Result, night: Night) -> list[str]:
    """The compressor hour by hour, a few hours a line."""
    duty, lines = duty_by_hour(result, night), []
    for first in range(0, len(duty), HOURS_A_LINE):
        part = duty.iloc[first : first + HOURS_A_LINE]
        head = ("hour", *(f"{moment:%H}" for moment in part.index))
        lines += table_lines(head, [("compressor on", *(phrases.percent(share) for share in part))])
    return lines


# --- energy -----------------------------------------------------------------------------------------------------------


def energy_by_user(result: Result, at: slice) -> dict[str, float]:
    """Electrical energy in some intervals of a run by who used it [Wh].

    Parameters
    ----------
    result : Result
        A run.
    at : slice
        Rows of `Result.intervals`.

    Returns
    -------
    dict of str to float
        Cooler, each load by name, inverter losses, roof fan; adds up to `cooler_w` plus `loads_w`.
    """
    p = result.intervals.iloc[at]
    hours, scenario = p["span_s"] / 3600.0, result.run.scenario
    used = {"cooler": float((p["cooler_w"] * hours).sum())}
    ac = np.zeros(len(p))
    for load in scenario.loads:
        on = np.array([is_on(load.hours, int(s // 60)) for s in p["start_s"]], dtype=bool)
        power = np.where(on, load.power_w * load.duty, 0.0)
        used[load.name] = used.get(load.name, 0.0) + float((power * hours).sum())
        ac += power if load.supply == "ac" else 0.0
    f = rows_of(result.run.laid.forcing, at.start, at.stop)
    losses = float(((f.inverter_w - (ac - f.shore_ac_w - f.refused_w)) * hours).sum())
    if losses > 1e-9:
        used["inverter losses"] = losses
    fan = float((p["fan"] * hours).sum()) * scenario.cabin.fan_w
    if fan > 0.0:
        used["roof fan"] = fan
    fridges = {
        load.name: used[load.name] for load in scenario.loads if load.keeps_c is not None and used[load.name] > 0.0
    }
    if fridges:  # beyond, or short of, their mean at 25 degC
        beyond = (
            float((p["loads_w"] * hours).sum() + (f.shore_ac_w * hours).sum()) + used["cooler"] - sum(used.values())
        )
        for name, energy in fridges.items():
            used[name] += beyond * energy / sum(fridges.values())
    return used


def energy_table(result: Result, place: int) -> pd.DataFrame:
    """Electricity of a night's account by who used it [Wh]: ``evening_wh`` to bedtime, ``night_wh``, and ``total_wh``.

    The last row, ``"all"``, is the sum of cooler and loads; where mains loads run on shore power, they are in it too.
    """
    night = result.night(place)
    evening, asleep = energy_by_user(result, night.evening), energy_by_user(result, night.asleep)
    names = list(dict.fromkeys([*evening, *asleep]))
    table = pd.DataFrame(
        {
            "evening_wh": [evening.get(name, 0.0) for name in names],
            "night_wh": [asleep.get(name, 0.0) for name in names],
        },
        index=pd.Index(names, name="used by"),
    )
    table["total_wh"] = table["evening_wh"] + table["night_wh"]
    table = table[table["total_wh"] > 0.0].sort_values("total_wh", ascending=False, kind="stable")
    table.loc["all"] = table.sum()
    return table


def energy_lines(result: Result, place: int) -> list[str]:
    """Electricity of a night's account by who used it, evening and night apart; the figures add up as they stand."""
    table, night = energy_table(result, place), result.night(place)
    noun = result.run.scenario.night.label
    evening = f"{_clock(night.row['account_start'])} to {_clock(night.bedtime)}"
    asleep = f"{_clock(night.bedtime)} to {_clock(night.waking)}"
    users = table.drop(index="all")
    columns = [phrases.whole_parts(users[name].tolist()) for name in ("evening_wh", "night_wh")]
    parts = [*zip(users.index, *columns, strict=True), ("all", *(sum(column) for column in columns))]
    if night.times.account_min == night.times.bed_min:
        return table_lines(("energy", asleep), [(str(name), phrases.watt_hours(b)) for name, _, b in parts])
    return table_lines(
        ("energy", f"before\n{evening}", f"{noun}\n{asleep}", "\nboth"),
        [(str(name), *(phrases.watt_hours(wh) for wh in (a, b, a + b))) for name, a, b in parts],
    )


# --- several nights ---------------------------------------------------------------------------------------------------


def nights_lines(result: Result, system: str = "si", most: int = MOST_ROWS) -> list[str]:
    """Several nights as a table; more than `most` as a table of months."""
    nights = result.nights
    if len(nights) > most:
        return month_lines(nights)
    head = (
        "night", "outdoors\ndown to", "charge\nbedtime", "charge\nwaking", "runtime", "cabin\nup to", "energy",
        "covered,\nor lacks",
    )  # fmt: skip
    rows = [
        (
            phrases.short_date(pd.Timestamp(str(date))).strip(), phrases.temperature(row["outdoor_low_c"], system),
            phrases.percent(row["bedtime_soc"]), phrases.percent(row["waking_soc"]),
            phrases.runtime_cell(row["runtime_h"], bool(row["outlasts"])),
            phrases.temperature(row["cabin_max_c"], system),
            phrases.energy(row["evening_wh"] + row["cooler_wh"] + row["loads_wh"]), str(row["why"]) or "yes",
        )
        for date, row in nights.iterrows()
    ]  # fmt: skip
    noun, bedtime = result.run.scenario.night.label, result.run.scenario.night.bedtime
    lines = table_lines(head, rows, left=(0, 7))
    said = [f"{why}: {phrases.reason(why)}" for why in dict.fromkeys(nights["why"]) if why]
    emptied = nights[nights["empty_at"].notna()]
    when = [
        f"{phrases.short_date(pd.Timestamp(str(d))).strip()} {_moment(t, d)}" for d, t in emptied["empty_at"].items()
    ]
    lines += ["", f"  {phrases.runtime_meaning(noun, bedtime)}", "  energy: cooler and other loads over the account"]
    lines += [f"  {line}" for line in said]
    return [*lines, *([f"  bank at its reserve: {phrases.listed(when)}"] if when else [])]


def _moment(at: pd.Timestamp, date: object) -> str:
    """Clock time of a moment, with its day where that is before the night's own."""
    before = at.normalize() < pd.Timestamp(str(date))
    return f"at {_clock(at)}" + (" the day before" if before else "")


def month_lines(nights: pd.DataFrame) -> list[str]:
    """A long run by month."""
    months = pd.DatetimeIndex(nights.index).month
    rows = []
    for month in sorted(set(months)):
        part = nights[months == month]
        mean = phrases.energy(part["evening_wh"].mean()), phrases.energy((part["cooler_wh"] + part["loads_wh"]).mean())
        rows.append(
            (
                phrases.MONTHS[month - 1], str(len(part)), str(int(part["covered"].sum())),
                phrases.percent(part["waking_soc"].min()), phrases.percent(part["duty"].mean()), *mean,
            )
        )  # fmt: skip
    head = ("month", "nights", "covered", "least charge\nat waking", "mean\nduty", "evening,\nmean", "night,\nmean")
    return table_lines(head, rows)


# --- the plan ---------------------------------------------------------------------------------------------------------


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
