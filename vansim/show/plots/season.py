"""Pictures of a season: its nights as a calendar, and runtime against how warm the night is."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

import numpy as np
import pandas as pd
from matplotlib.axes import Axes
from matplotlib.patches import Rectangle
from matplotlib.ticker import MaxNLocator

from vansim import phrases
from vansim.show.plots.figure import (
    COLOURS,
    INK,
    NARROW_BELOW_IN,
    QUIET,
    WIDE_IN,
    Sheet,
    begin,
    calm,
    is_narrow,
    note,
    over,
    panel,
    shown,
)
from vansim.show.text import headings
from vansim.show.text.handed import TOO_WARM
from vansim.units import symbol

if TYPE_CHECKING:
    from vansim.studies.nights import Nights

BANK, WARM, HATCH = COLOURS["failed"], "#f0dcbf", "#cf9f5f"
KEPT_LEAST, KEPT_MOST = np.array([0.50, 0.74, 0.70]), np.array([0.88, 0.945, 0.93])
"""Colours of a night that was only just covered, and of one covered with hours to spare."""
LONGEST_H = 48.0


def calendar(nights: Nights, system: str = "si", width_in: float = WIDE_IN, called: str = "night") -> Sheet:
    """Draw a season as a calendar of nights.

    Parameters
    ----------
    nights : Nights
        From `nights_alone` or `nights_chained`.
    system : {"si", "us"}
        Units shown.
    width_in : float
        Width [in]; below 5 the months stand side by side instead of one below the other.
    called : str
        What a night is called, as in `vansim.scenario.schema.Night`.

    Returns
    -------
    Figure
        One square a night: hours from bedtime to the reserve, and whether the night was covered.
    """
    table = nights.table
    months = list(dict.fromkeys((d.year, d.month) for d in table.index))
    across = width_in < NARROW_BELOW_IN
    cell = 0.158 if across else 0.27
    body_in, key_in = (31 if across else len(months)) * cell, 0.7 if across else 0.38
    with calm():
        since = "bedtime" if called == "night" else "its beginning"
        under = f"{_kind(nights, called)}. {_dates(nights)} In each square: hours of cooling from {since}."
        heading = headings.season(nights, called)
        sheet = begin(width_in, body_in + key_in + 0.3, heading, under, _words(nights, called))
        ax = panel(sheet, 0.3 if across else 0.5, key_in, 0.1, body_in)
        _grid(ax, months, across)
        for date, row in table.iterrows():
            month, day = months.index((date.year, date.month)), date.day - 1  # type: ignore[attr-defined]
            _cell(ax, (month, day) if across else (day, month), row, 7.5 if len(months) < 7 and across else 6.2)
        _key(sheet, table, key_in - 0.1, across)
        return sheet


def _kind(nights: Nights, called: str) -> str:
    many = phrases.plural(called)
    if nights.chained:
        return f"Consecutive {many}: the bank carries over"
    return f"Independent {many}: each begins with a full bank"


def _dates(nights: Nights) -> str:
    return phrases.sentence(phrases.season(nights.season))


def _words(nights: Nights, called: str) -> str:
    lost = nights.table[~nights.table["kept"]]
    days = ", ".join(phrases.date(date) for date in lost.index[:12])
    more = f" and {len(lost) - 12} more" if len(lost) > 12 else ""
    heading = headings.season(nights, called)
    return f"Calendar of {phrases.plural(called)}. {heading}. " + (f"Not covered: {days}{more}." if len(lost) else "")


def _grid(ax: Axes, months: list[tuple[int, int]], across: bool) -> None:
    names = [phrases.MONTHS[month - 1][:3] for _, month in months]
    ax.grid(False)
    for side in ("left", "bottom"):
        ax.spines[side].set_visible(False)
    days = [1, 5, 10, 15, 20, 25, 30]
    x, y = (ax.xaxis, ax.yaxis) if across else (ax.yaxis, ax.xaxis)
    x.set_ticks(np.arange(len(months)) + 0.5, names)
    y.set_ticks(np.array(days) - 0.5, [str(day) for day in days])
    ax.tick_params(length=0, labeltop=True, labelbottom=False)
    ax.set_xlim(0, len(months) if across else 31)
    ax.set_ylim(31 if across else len(months), 0)


def _cell(ax: Axes, place: tuple[int, int], row: pd.Series[Any], size: float) -> None:
    runtime, why = float(row["runtime_h"]), row["why"]
    if row["kept"]:
        spare = min(1.0, max(0.0, (runtime - 8.0) / 12.0))
        face: Any = tuple(KEPT_LEAST + (KEPT_MOST - KEPT_LEAST) * spare)
    else:
        face = WARM if why in TOO_WARM else BANK
    x, y = place
    patch = Rectangle((x + 0.04, y + 0.06), 0.92, 0.88, facecolor=face, edgecolor="none")
    if why in TOO_WARM:
        patch.set(hatch="////", edgecolor=HATCH, linewidth=0)
    ax.add_patch(patch)
    text = "48+" if row["outlasts"] else f"{runtime:.0f}" if runtime >= 9.95 else f"{runtime:.1f}"
    colour = "white" if face == BANK else INK
    ax.text(x + 0.5, y + 0.53, text, ha="center", va="center", fontsize=size, color=colour)


def _key(sheet: Sheet, table: pd.DataFrame, top_in: float, stacked: bool) -> None:
    """Name the three kinds of night, those that occur."""
    why = table["why"]
    entries: list[tuple[Any, str, str]] = []
    if table["kept"].any():
        entries.append((tuple(KEPT_LEAST), "", "covered (paler: more to spare)"))
    if why.isin(["bank", "both"]).any():
        entries.append((BANK, "", "bank at its reserve before waking"))
    if why.isin(TOO_WARM).any():
        entries.append((WARM, "////", "cabin above its limit"))
    width, height = sheet.get_size_inches()
    x, y = 0.3, top_in - 0.2
    for face, hatch, words in entries:
        patch = Rectangle((x / width, y / height), 0.13 / width, 0.13 / height, facecolor=face, linewidth=0)
        patch.set(hatch=hatch, edgecolor=HATCH if hatch else "none", transform=sheet.transFigure)
        sheet.add_artist(patch)
        sheet.text((x + 0.19) / width, (y + 0.02) / height, words, fontsize=8, color=QUIET)
        if stacked:
            y -= 0.2
        else:
            x += 0.45 + 0.064 * len(words)


def runtime_against_outdoors(
    nights: Nights,
    system: str = "si",
    width_in: float = WIDE_IN,
    night_h: float | None = None,
    called: str = "night",
) -> Sheet:
    """Draw runtime against the night's mean outdoor temperature, every night a point.

    Parameters
    ----------
    nights : Nights
        From `nights_alone` or `nights_chained`.
    system : {"si", "us"}
        Units shown.
    width_in : float
        Width [in].
    night_h : float or None
        Bedtime to waking [h], for a line.
    called : str
        What a night is called, as in `vansim.scenario.schema.Night`.

    Returns
    -------
    Figure
        Covered nights as dots, others as crosses.
    """
    table = nights.table
    with calm():
        under = f"{_kind(nights, called)}. {_dates(nights)} Every {called} is a point."
        sheet = begin(width_in, 3.4, headings.outdoors(nights, system, called), under)
        since, end = ("bedtime", "waking") if called == "night" else ("beginning", "end")
        ax = panel(sheet, 0.5, 0.5, 0.2, 2.55)
        outdoor = shown(table["outdoor_mean_c"], "outdoor_c", system)
        runtime, kept = table["runtime_h"].to_numpy(), table["kept"].to_numpy(dtype=bool)
        ax.scatter(outdoor[kept], runtime[kept], color="#3f8f86", s=22, linewidths=0.5, edgecolors="white", zorder=3)
        ax.scatter(outdoor[~kept], runtime[~kept], color=BANK, marker="x", s=22, linewidths=1.3, zorder=3)
        top = min(LONGEST_H * 1.06, max(float(runtime.max()) * 1.08, 1.25 * (night_h or 0.0)))
        span = max(float(np.ptp(outdoor)), 1.0)
        ax.set_ylim(0, top)
        ax.set_xlim(outdoor.min() - 0.06 * span, outdoor.max() + 0.06 * span)
        ax.yaxis.set_major_locator(MaxNLocator(6, integer=True))
        if night_h is not None:
            _night_line(ax, night_h, top, end)
        _kinds(ax, nights)
        ax.set_xlabel(f"Mean outdoor temperature, {since} to {end} [{symbol('outdoor_c', system)}]")
        over(ax, f"Runtime ({since} to reserve) [h]", shift=-30)
        return sheet


def _night_line(ax: Axes, length_h: float, top: float, end: str) -> None:
    ax.axhline(length_h, color=QUIET, linewidth=1.0, linestyle=(0, (4, 2)), zorder=2)
    low, high = ax.get_xlim()
    note(
        ax, low + 0.015 * (high - low), length_h - 0.012 * top, f"{end}, {phrases.duration(length_h)}", QUIET, va="top"
    )
    if top > LONGEST_H:
        note(ax, high, LONGEST_H - 0.02 * top, phrases.BEYOND, QUIET, ha="right", va="top", fontsize=8)


def _kinds(ax: Axes, nights: Nights) -> None:
    kept = int(nights.table["kept"].sum())
    labels = [(f"● {kept} covered", "#2f7f78")] if kept else []
    if kept < len(nights.table):
        labels.append((f"× {len(nights.table) - kept} not covered", BANK))
    x = 1.0
    for text, colour in reversed(labels):
        ax.annotate(text, (x, 1), xytext=(0, 7), xycoords="axes fraction", textcoords="offset points", ha="right",
                    fontsize=8.5, color=colour)  # fmt: skip
        x -= 0.18 if not is_narrow(ax) else 0.3
