"""Studies on a terminal: a finding first, then a short table, then what has to be said beside it."""

from __future__ import annotations

import datetime
import math
from collections.abc import Mapping
from typing import Any

import pandas as pd

from vansim import phrases
from vansim.show.text import handed
from vansim.studies.compare import SOAK_C
from vansim.studies.nights import Nights
from vansim.studies.outage import FOLLOWED_H, Hazard
from vansim.studies.sizing import Sizing

P10 = "P10: 1 night in 10 is shorter."


def _day(moment: Any) -> datetime.date:
    return pd.Timestamp(moment)


# --- nights ---------------------------------------------------------------------------------------------------------


def nights_words(found: Nights, system: str = "si") -> list[str]:
    """Nights of a season in words and by month.

    Parameters
    ----------
    found : Nights
        The study.
    system : {"si", "us"}
        Units shown.

    Returns
    -------
    list of str
        Lines to print.
    """
    stats, table = found.distribution, found.table
    runtime, covered = stats["runtime_h"], int(table["kept"].sum())
    way = "consecutive nights, the bank carried over" if found.chained else "independent nights, nothing charging"
    lines = [
        f"{phrases.sentence(phrases.covered(covered, len(table)))[:-1]} ({phrases.percent(stats['kept_share'])}), "
        f"{phrases.season(found.season)}, {way}.",
        "",
        f"  runtime (bedtime to reserve): {phrases.runtime(runtime['p50'])} in the median; 1 night in 10 is shorter "
        f"than {phrases.runtime(runtime['p10'])} (P10), 1 in 10 longer than {phrases.runtime(runtime['p90'])}",
    ]
    if stats["outlast_share"] > 0.0:
        lines.append(f"  {phrases.percent(stats['outlast_share'])} of the nights last {phrases.BEYOND}")
    missed = [f"{phrases.count(n, 'night')} {handed.reason(why)}" for why, n in stats["why"].items() if n]
    if missed:
        lines.append(f"  not covered: {'; '.join(missed)}")
    lines.append("  worst night: " + _one_night(stats["worst_night"], system))
    lines.append(f"  design night for {phrases.percent(stats['keep'])}: " + _one_night(stats["design_night"], system))
    return [*lines, "", *_months(stats["by_month"]), "", *handed.notes(found.notes, system)]


def _one_night(night: Mapping[str, Any], system: str) -> str:
    return (
        f"{phrases.date(_day(night['date']))}, outdoor low {phrases.temperature(night['outdoor_low_c'], system)}, "
        f"runtime {phrases.runtime(night['runtime_h'], night['outlasts'])}, "
        f"warmest in the cabin {phrases.temperature(night['cabin_max_c'], system)}"
    )


def _months(by_month: pd.DataFrame) -> list[str]:
    widths = (-8, 7, 10, 17, 17, 7, 11)
    lines = [phrases.aligned(("month", "nights", "covered", "runtime P10", "median", "duty", "cooler"), widths)]
    for month, row in by_month.iterrows():
        cells = (
            phrases.season(str(month)).partition(" ")[0][:3], str(int(row["nights"])),
            phrases.percent(row["kept_share"]), phrases.runtime(row["runtime_p10_h"]),
            phrases.runtime(row["runtime_p50_h"]), phrases.percent(row["duty"]), phrases.energy(row["cooler_wh"]),
        )  # fmt: skip
        lines.append(phrases.aligned(cells, widths))
    return lines


# --- sizes ----------------------------------------------------------------------------------------------------------


def size_words(found: Sizing, currency: str, system: str = "si") -> list[str]:
    """Banks that cover the asked share, or why none does.

    Parameters
    ----------
    found : Sizing
        The study.
    currency : str
        Of its prices.
    system : {"si", "us"}
        Units shown.

    Returns
    -------
    list of str
        Lines to print.
    """
    lines: list[str] = []
    if len(found.table):
        least = found.table.sort_values("price").iloc[0]
        lines += [
            f"Smallest bank that covers {phrases.percent(found.keep)} of the nights ({phrases.season(found.season)}): "
            f"{_layout(least)} {least['unit']}, {phrases.energy(1000.0 * least['usable_kwh'])} usable.",
            "",
            *_sizes(found.table, currency, system),
            "",
            *_after(least, system),
        ]
    for _, row in found.failed.iterrows():
        fitted = f"{row['unit']}, cooling {phrases.cooling(row['mode'])}, {row['cooler']}"
        lines.append(f"{fitted}: {handed.told(row['words'], system)}")
    return [*lines, "", *handed.notes(found.notes, system)]


def _sizes(table: pd.DataFrame, currency: str, system: str) -> list[str]:
    widths = (-22, -24, -20, 9, 11, 9, 14, 10, 14, 15)
    heads = (
        "battery",
        "cooling",
        "cooler",
        "layout",
        "usable",
        "mass",
        "price",
        "covered",
        "runtime P10",
        "design night",
    )
    lines = [phrases.aligned(heads, widths)]
    for _, row in table.iterrows():
        cells = (
            row["unit"], phrases.cooling(row["mode"]), row["cooler"], _layout(row),
            phrases.energy(1000.0 * row["usable_kwh"]), phrases.mass(row["mass_kg"], system),
            phrases.money(row["price"], currency), phrases.percent(row["kept_share"]),
            phrases.runtime(row["runtime_p10_h"]), phrases.short_date(_day(row["binding_night"])),
        )  # fmt: skip
        lines.append(phrases.aligned(cells, widths))
    return [*lines, "", f"  {P10}"]


def _layout(row: pd.Series[Any]) -> str:
    return f"{row['series']}s{row['parallel']}p" if row["series"] > 1 else f"{row['parallel']} x"


def _after(row: pd.Series[Any], system: str) -> list[str]:
    """Recharging after the design night, and consecutive nights."""
    ways = {str(k): float(v) for k, v in row.items() if str(k).startswith("recovery_") and isinstance(v, float)}
    times = {k.split("_")[1]: None if math.isinf(h) else h for k, h in ways.items() if not math.isnan(h)}
    ways_said = [f"{phrases.within(h)} {handed.way(code, system)}" for code, h in times.items()]
    lines = [f"Recharging after the design night: {phrases.listed(ways_said, 'or')}."] if ways_said else []
    if "keeps_up" in row and "chained_share" in row:
        keeps = "keeps up" if row["keeps_up"] else "does not keep up"
        lines.append(
            f"On consecutive nights the planned charging {keeps}: {phrases.percent(row['chained_share'])} covered."
        )
    return lines


# --- designs and upgrades ---------------------------------------------------------------------------------------------


def compare_words(table: pd.DataFrame, currency: str, system: str = "si") -> list[str]:
    """Designs side by side.

    Parameters
    ----------
    table : DataFrame
        From `vansim.studies.compare.compare`; its first row is the design as it is.
    currency : str
        Of its prices.
    system : {"si", "us"}
        Units shown.

    Returns
    -------
    list of str
        Lines to print.
    """
    gains = table["gained_p10_h"].iloc[1:]
    best, gained = (str(gains.idxmax()), float(gains.max())) if len(gains) else ("", 0.0)
    widths = (-36, 9, 17, 15, 11, 7, 9, 13, 13, 13, 9)
    heads = (
        "design", "covered", "runtime P10", "gain", "cooler", "duty", "starts", "above limit", "cool-down",
        "added price", "added",
    )  # fmt: skip
    lines = [
        f"Longest runtime: {handed.change(best, system)} ({phrases.gain(gained)} P10)."
        if gained > 0.0
        else "No design here runs longer.",
        "",
        phrases.aligned(heads, widths),
    ]
    for design, row in table.iterrows():
        cells = (
            handed.change(str(design), system)[:35], phrases.percent(row["kept_share"]),
            phrases.runtime(row["runtime_p10_h"]), phrases.gain(row["gained_p10_h"]),
            phrases.energy(row["cooler_wh"]), phrases.percent(row["duty"]),
            f"{phrases.figures(row['starts_per_h'], 2)}/h", phrases.duration(row["over_limit_h"]),
            phrases.cool_down(row["cool_down_min"]), phrases.money(row["added_price"], currency),
            phrases.mass(row["added_mass_kg"], system),
        )  # fmt: skip
        lines.append(phrases.aligned(cells, widths))
    return [
        *lines,
        "",
        f"{P10} Cooler and time above the limit are means per night;",
        f"{phrases.cool_down_meaning(SOAK_C, system)}; price and mass are what is added.",
    ]


def worth_words(table: pd.DataFrame, currency: str, system: str = "si") -> list[str]:
    """Single upgrades, ranked.

    Parameters
    ----------
    table : DataFrame
        From `vansim.studies.upgrades.worth_most`.
    currency : str
        Of its prices.
    system : {"si", "us"}
        Units shown.

    Returns
    -------
    list of str
        Lines to print.
    """
    if not len(table):
        return ["None of the upgrades applies here."]
    widths = (-46, 15, 15, 10, 3, -1)
    lines = [
        f"Largest gain: {handed.change(table.index[0], system)}, {phrases.gain(table['gained_p10_h'].iloc[0])} (P10).",
        "",
        phrases.aligned(("upgrade", "runtime P10", "median", "covered", "", "the same from more battery"), widths),
    ]
    for name, row in table.iterrows():
        cells = (
            handed.change(str(name), system)[:45], phrases.gain(row["gained_p10_h"]), phrases.gain(row["gained_p50_h"]),
            phrases.percent(row["kept_share"]), "", _same_by_battery(row, currency),
        )  # fmt: skip
        lines.append(phrases.aligned(cells, widths))
    left = table.attrs.get("left_out", {})
    return [*lines, "", f"  {P10}", "", *(f"Left out: {handed.change(n, system)} ({why})" for n, why in left.items())]


def _same_by_battery(row: pd.Series[Any], currency: str) -> str:
    if row["gained_p10_h"] <= 0.05:
        return phrases.NOTHING
    if not math.isfinite(row["same_by_bank_kwh"]):
        return "no bank gains as much"
    kwh = phrases.energy(1000.0 * row["same_by_bank_kwh"])
    return f"{kwh}, {phrases.money(row['same_by_bank_price'], currency)}"


# --- energy and outage ------------------------------------------------------------------------------------------------


def causes_words(table: pd.DataFrame, system: str = "si") -> list[str]:
    """Where the electricity went.

    Parameters
    ----------
    table : DataFrame
        From `vansim.studies.energy.causes`.
    system : {"si", "us"}
        Units shown; energies are in Wh in both.

    Returns
    -------
    list of str
        Lines to print.
    """
    ranked = table.sort_values("electric_wh", ascending=False)
    widths = (-30, 11, 14, 8)
    total = phrases.energy(table.attrs["meter_wh"])
    lines = [
        f"Largest share: {phrases.cause(str(ranked.index[0]))}, {phrases.percent(ranked['share'].iloc[0])} of {total}.",
        "",
        phrases.aligned(("cause", "heat", "electricity", "share"), widths),
    ]
    for name, row in ranked.iterrows():
        heat = "" if math.isnan(row["heat_wh"]) else phrases.energy(row["heat_wh"])
        cells = (phrases.cause(str(name)), heat, phrases.energy(row["electric_wh"]), phrases.percent(row["share"]))
        lines.append(phrases.aligned(cells, widths))
    return [*lines, phrases.aligned(("total, at the bank", "", total, ""), widths)]


def hazard_words(found: Hazard, system: str = "si") -> list[str]:
    """What becomes of the cabin; the caution first and last.

    Parameters
    ----------
    found : Hazard
        The study.
    system : {"si", "us"}
        Units shown.

    Returns
    -------
    list of str
        Lines to print.
    """
    widths = (-14, 11, 15)
    lines = [found.caution, "", handed.outage_start(found.when, found.moment, found.story), ""]
    lines.append(phrases.aligned(("after", "cabin", "heat index"), widths))
    for minute in (0, 10, 20, 30, 60, 120, 240, 480):
        row = found.series.iloc[int(abs(found.series.index.to_numpy() - minute).argmin())]
        cells = (
            phrases.duration(minute / 60.0), phrases.temperature(row["cabin_c"], system),
            phrases.heat_index(row["heat_index_c"], system),
        )  # fmt: skip
        lines.append(phrases.aligned(cells, widths))
    widths = (-54, 11, 18)
    lines += ["", phrases.aligned(("threshold", "at", "passed after"), widths)]
    for name, row in found.lines.iterrows():
        at = phrases.temperature(float(row["value_c"]), system)
        said = phrases.threshold(str(name), row["quantity"])
        lines.append(phrases.aligned((said, at, passed_after(float(row["minutes"]))), widths))
    return [*lines, "", found.caution]


def passed_after(minutes: float) -> str:
    """When a threshold is passed after the cooler stops: ``"at once"``, ``"4 h 14 min"``, ``"not within 12 h"``."""
    return "at once" if minutes <= 0.0 else phrases.within(minutes / 60.0, float(FOLLOWED_H))
