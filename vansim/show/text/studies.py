"""Studies on a terminal: a finding first, then a short table, then what has to be said beside it."""

from __future__ import annotations

import math
from typing import Any

import pandas as pd

from vansim.show.text.run import hours_words
from vansim.show.text.weather import note_text
from vansim.studies.nights import Nights
from vansim.studies.outage import Hazard
from vansim.studies.sizing import Sizing
from vansim.units import show


def _hours(value: float) -> str:
    return "never" if not math.isfinite(value) else f"{value:.1f} h"


def _date(moment: Any) -> str:
    return f"{pd.Timestamp(moment):%d %b}"


def nights_words(found: Nights, system: str = "si") -> list[str]:
    """Nights of a season in words and by month."""
    told, table = found.distribution, found.table
    runtime, kept = told["runtime_h"], int(table["kept"].sum())
    way = "in a row, the bank carrying over" if found.chained else "each starting as asked, nothing charging"
    lines = [
        f"{kept} of {len(table)} nights kept ({told['kept_share']:.0%}), {found.season}, {way}.",
        "",
        f"  runtime from bedtime to the reserve: nine nights in ten more than {hours_words(runtime['p10'])}, "
        f"half more than {hours_words(runtime['p50'])}, one in ten more than {hours_words(runtime['p90'])}",
    ]
    if told["outlast_share"] > 0.0:
        lines.append(f"  {told['outlast_share']:.0%} of the nights outlast 48 h")
    lost = {why: n for why, n in told["why"].items() if n}
    if lost:
        lines.append("  lost: " + ", ".join(f"{n} {_lost(why)}" for why, n in lost.items()))
    for words, night in (
        ("worst night", told["worst_night"]),
        (f"night that binds at {told['keep']:.0%}", told["design_night"]),
    ):
        lines.append(
            f"  {words}: {_date(night['date'])}, outdoors down to {show(night['outdoor_low_c'], 't_c', system, 0)}, "
            f"runtime {hours_words(night['runtime_h'])}, warmest {show(night['cabin_max_c'], 't_c', system)}"
        )
    lines += [
        "",
        f"  {'month':8s}{'nights':>7s}{'kept':>7s}{'bad night':>12s}{'middling':>11s}{'duty':>7s}{'cooler':>11s}",
    ]
    for month, row in told["by_month"].iterrows():
        lines.append(
            f"  {month!s:8s}{row['nights']:>7.0f}{row['kept_share']:>7.0%}{_hours(row['runtime_p10_h']):>12s}"
            f"{_hours(row['runtime_p50_h']):>11s}{row['duty']:>7.0%}{row['cooler_wh']:>8.0f} Wh"
        )
    return [*lines, "", *(f"Note: {note_text(note, system)}" for note in found.notes)]


def _lost(why: str) -> str:
    return {
        "bank": "for want of battery",
        "cooler too small": "because the cooler is too small",
        "controls": "because it was not cooled down in time",
        "both": "for want of battery and of cooling",
    }[why]


def size_words(found: Sizing, currency: str) -> list[str]:
    """Banks that keep the asked share, or why none does."""
    lines: list[str] = []
    if len(found.table):
        least = found.table.sort_values("price").iloc[0]
        lines += [
            f"Smallest bank that keeps {found.keep:.0%} of the nights ({found.season}): "
            f"{_layout(least)} {least['unit']}, {least['usable_kwh']:.1f} kWh usable.",
            "",
            f"  {'battery':20s}{'mode':16s}{'cooler':20s}{'layout':>9s}{'usable':>10s}{'mass':>9s}{'price':>12s}"
            f"{'kept':>7s}{'bad night':>11s}  binds",
        ]
        for _, row in found.table.iterrows():
            lines.append(
                f"  {row['unit']:20s}{row['mode']:16s}{row['cooler']:20s}{_layout(row):>9s}"
                f"{row['usable_kwh']:>6.1f} kWh{row['mass_kg']:>6.0f} kg{row['price']:>8.0f} {currency}"
                f"{row['kept_share']:>7.0%}{_hours(row['runtime_p10_h']):>11s}  {_date(row['binding_night'])}"
            )
        lines += ["", *_after(least)]
    for _, row in found.failed.iterrows():
        lines.append(f"{row['unit']}, {row['mode']}, {row['cooler']}: {row['words']}")
    return [*lines, "", *(f"Note: {note_text(note)}" for note in found.notes)]


def _layout(row: pd.Series) -> str:
    return f"{row['series']}s{row['parallel']}p" if row["series"] > 1 else f"{row['parallel']} x"


def _after(row: pd.Series) -> list[str]:
    ways = [(k, v) for k, v in row.items() if str(k).startswith("recovery_") and isinstance(v, float)]
    words = {"recovery_road_h": "on the road", "recovery_idling_h": "idling", "recovery_sun_h": "by sun alone"}
    told = ", ".join(f"{_hours(v)} {words.get(str(k), str(k))}" for k, v in ways if not math.isnan(v))
    lines = [f"Recharging it after the night that binds: {told}."] if told else []
    if "keeps_up" in row and "chained_share" in row:
        keeps = "keeps up" if row["keeps_up"] else "does not keep up"
        lines.append(
            f"With nights in a row, charging as planned {keeps}: {row['chained_share']:.0%} of the nights kept."
        )
    return lines


def compare_words(table: pd.DataFrame, currency: str, system: str = "si") -> list[str]:
    """Designs side by side."""
    best = table.iloc[1:]["gained_p10_h"].idxmax() if len(table) > 1 else table.index[0]
    gain = float(table["gained_p10_h"].max()) if len(table) > 1 else 0.0
    lines = [
        f"Longest on a bad night: {best} ({gain:+.1f} h against as it is)." if gain > 0 else "None runs longer.",
        "",
        f"  {'design':38s}{'kept':>6s}{'bad night':>11s}{'gained':>9s}{'cooler':>10s}{'duty':>6s}{'starts':>8s}"
        f"{'too warm':>10s}{'cool down':>11s}{'price':>13s}{'mass':>9s}",
    ]
    for design, row in table.iterrows():
        cool = "never" if not math.isfinite(row["cool_down_min"]) else f"{row['cool_down_min']:.0f} min"
        lines.append(
            f"  {str(design)[:37]:38s}{row['kept_share']:>6.0%}{_hours(row['runtime_p10_h']):>11s}"
            f"{row['gained_p10_h']:>+7.1f} h{row['cooler_wh']:>7.0f} Wh{row['duty']:>6.0%}{row['starts_per_h']:>6.1f}/h"
            f"{row['over_limit_h']:>8.1f} h{cool:>11s}{row['added_price']:>+9.0f} {currency}"
            f"{show(row['added_mass_kg'], 'm_kg', system, 0):>9s}"
        )
    return [
        *lines,
        "",
        "A bad night is one that nine in ten outlast; cooler and too warm are means a night; starts are per hour;",
        "cool down is from a cabin of 55 °C in the sun; price and mass are what is added.",
    ]


def worth_words(table: pd.DataFrame, currency: str) -> list[str]:
    """Single changes, ranked."""
    if not len(table):
        return ["No change of the list applies here."]
    first = table.iloc[0]
    lines = [
        f"Worth most: {table.index[0]}, {first['gained_p10_h']:+.1f} h on a bad night.",
        "",
        f"  {'change':44s}{'bad night':>11s}{'middling':>11s}{'kept':>7s}   the same by more battery",
    ]
    for change, row in table.iterrows():
        same = "-"
        if row["gained_p10_h"] > 0.05:
            same = f"{row['same_by_bank_kwh']:.1f} kWh, {row['same_by_bank_price']:.0f} {currency}"
            if not math.isfinite(row["same_by_bank_kwh"]):
                same = "no bank would do it"
        lines.append(
            f"  {str(change)[:43]:44s}{row['gained_p10_h']:>+9.1f} h{row['gained_p50_h']:>+9.1f} h"
            f"{row['kept_share']:>7.0%}   {same}"
        )
    left = table.attrs.get("left_out", {})
    return [*lines, "", *(f"Left out: {change} ({why})" for change, why in left.items())]


def causes_words(table: pd.DataFrame) -> list[str]:
    """Where the electricity went."""
    ranked = table.sort_values("electric_wh", ascending=False)
    lines = [
        f"Most of it went into: {ranked.index[0]} ({ranked['share'].iloc[0]:.0%} of {table.attrs['meter_wh']:.0f} Wh).",
        "",
        f"  {'cause':26s}{'heat':>11s}{'electricity':>14s}{'share':>8s}",
    ]
    for cause, row in ranked.iterrows():
        heat = "" if math.isnan(row["heat_wh"]) else f"{row['heat_wh']:.0f} Wh"
        lines.append(f"  {cause!s:26s}{heat:>11s}{row['electric_wh']:>11.0f} Wh{row['share']:>8.1%}")
    return [*lines, f"  {'bank meter':26s}{'':11s}{table.attrs['meter_wh']:>11.0f} Wh"]


def hazard_words(found: Hazard, system: str = "si") -> list[str]:
    """What becomes of the cabin; the caution first and last."""
    lines = [found.caution, "", found.story, "", f"  {'minutes after':>14s}{'cabin':>11s}{'heat index':>12s}"]
    for minute in (0, 10, 20, 30, 60, 120, 240, 480):
        row = found.series.iloc[int(abs(found.series.index.to_numpy() - minute).argmin())]
        lines.append(
            f"  {minute:>14d}{show(row['cabin_c'], 't_c', system):>11s}{show(row['heat_index_c'], 't_c', system):>12s}"
        )
    lines += ["", f"  {'threshold':58s}{'passed after':>14s}"]
    for name, row in found.lines.iterrows():
        minutes = float(row["minutes"])
        passed = "not in 12 h" if not math.isfinite(minutes) else "at once" if minutes <= 0 else f"{minutes:.0f} min"
        lines.append(f"  {str(name)[:57]:58s}{passed:>14s}")
    return [*lines, "", found.caution]
