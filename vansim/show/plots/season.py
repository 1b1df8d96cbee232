"""Pictures of a season: its nights as a calendar, and runtime against how warm the night is."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

import numpy as np
import pandas as pd
from matplotlib.axes import Axes
from matplotlib.patches import Polygon, Rectangle
from matplotlib.ticker import MaxNLocator

from vansim import phrases
from vansim.show.plots import headings
from vansim.show.plots.figure import (
    COLOURS,
    INK,
    NARROW_BELOW_IN,
    NIGHT,
    QUIET,
    WIDE_IN,
    Sheet,
    begin,
    calm,
    ink,
    panel,
    shown,
)
from vansim.show.plots.headings import TOO_WARM
from vansim.show.plots.labels import along, over
from vansim.units import symbol

if TYPE_CHECKING:
    from vansim.studies.design import NightsReading, Reading
    from vansim.studies.nights import Nights

EMPTY, WARM, HATCH = COLOURS["not_covered"], "#f0dcbf", "#cf9f5f"
LEAST_LEFT, MOST_LEFT = np.array([0.50, 0.74, 0.70]), np.array([0.88, 0.945, 0.93])
"""Colours of a night with nothing above the reserve left at waking, and of one with a full bank."""
FOLLOWED_H = phrases.FOLLOWED_H
NEXT_H = 24.0
"""From one bedtime to the next [h]."""


def reading_of(nights: Nights, reading: Reading | None) -> NightsReading:
    """The reading that is drawn: the headline's where none is asked for."""
    return nights.headline if reading is None else nights.design.read_as(reading)


def calendar(nights: Nights, system: str = "si", width_in: float = WIDE_IN, reading: Reading | None = None) -> Sheet:
    """Draw a season as a calendar of nights.

    Parameters
    ----------
    nights : Nights
        From `vansim.nights`.
    system : {"si", "us"}
        Units shown.
    width_in : float
        Width [in]; below 5 the months stand side by side instead of one below the other.
    reading : {"independent", "consecutive"} or None
        Which nights are drawn; left out, those of the headline.

    Returns
    -------
    Figure
        One square a night: charge left at waking, or why it is not covered. A corner marks a night that the other
        reading judges otherwise.
    """
    read = reading_of(nights, reading)
    other = nights.consecutive if read.kind == "independent" else nights.independent
    months = list(dict.fromkeys((d.year, d.month) for d in read.table.index))
    upright = width_in < NARROW_BELOW_IN
    cell = 0.158 if upright else 0.27
    differs = read.table["covered"].to_numpy() != other.table["covered"].to_numpy()
    if not nights.design.recharges_by_plan:
        differs[:] = False  # the line below says it: nothing but sun recharges it
    entries = _entries(read, differs)
    body_in = (31 if upright else len(months)) * cell
    key_in = 0.16 + 0.2 * (len(entries) if upright else -(-len(entries) // 2))
    with calm():
        sheet = begin(width_in, body_in + key_in + 0.3, *_heads(nights, read, system))
        ax = panel(sheet, 0.3 if upright else 0.5, key_in, 0.1, body_in)
        _grid(ax, months, upright)
        for (date, row), mark in zip(read.table.iterrows(), differs, strict=True):
            month, day = months.index((date.year, date.month)), date.day - 1  # type: ignore[attr-defined]
            _cell(ax, (month, day) if upright else (day, month), row)
            if mark:
                _corner(ax, (month, day) if upright else (day, month), bool(row["covered"]), upright)
        _key(sheet, entries, key_in - 0.1, upright)
        return sheet


def _heads(nights: Nights, read: NightsReading, system: str) -> tuple[str, str, str]:
    noun = headings.noun_of(nights)
    heading = headings.season(nights, read)
    told = f"{headings.readings(nights, read)} {headings.dates(nights)}"
    lost = read.table[~read.table["covered"]]
    days = ", ".join(phrases.date(date) for date in lost.index[:12])
    more = f" and {len(lost) - 12} more" if len(lost) > 12 else ""
    words = f"Calendar of {phrases.plural(noun)}. {heading}. {told}" + (f" Not covered: {days}{more}." if days else "")
    return heading, f"{told} In each square: charge left {phrases.at_end(noun)} [%].", words


def _grid(ax: Axes, months: list[tuple[int, int]], upright: bool) -> None:
    names = [phrases.MONTHS[month - 1][:3] for _, month in months]
    ax.grid(False)
    for side in ("left", "bottom"):
        ax.spines[side].set_visible(False)
    days = [1, 5, 10, 15, 20, 25, 30]
    x, y = (ax.xaxis, ax.yaxis) if upright else (ax.yaxis, ax.xaxis)
    x.set_ticks(np.arange(len(months)) + 0.5, names)
    y.set_ticks(np.array(days) - 0.5, [str(day) for day in days])
    ax.tick_params(length=0, labeltop=True, labelbottom=False)
    ax.set_xlim(0, len(months) if upright else 31)
    ax.set_ylim(31 if upright else len(months), 0)


def face_of(row: pd.Series[Any]) -> str | tuple[float, ...]:
    """Colour of a night's square."""
    if row["covered"]:
        return tuple(LEAST_LEFT + (MOST_LEFT - LEAST_LEFT) * min(max(float(row["waking_soc"]), 0.0), 1.0))
    return WARM if row["why"] in TOO_WARM else EMPTY


def _cell(ax: Axes, spot: tuple[int, int], row: pd.Series[Any]) -> None:
    x, y = spot
    patch = Rectangle((x + 0.04, y + 0.06), 0.92, 0.88, facecolor=face_of(row), edgecolor="none")
    if row["why"] in TOO_WARM:
        patch.set(hatch="////", edgecolor=HATCH, linewidth=0)
    ax.add_patch(patch)
    colour = "white" if face_of(row) == EMPTY else INK
    text = f"{100.0 * row['waking_soc']:.0f}"
    ax.text(x + 0.5, y + 0.53, text, ha="center", va="center", fontsize=6.5, color=colour)


def _corner(ax: Axes, spot: tuple[int, int], covered: bool, upright: bool) -> None:
    """Marks a night that the other reading judges otherwise."""
    x, y = spot[0] + 0.96, spot[1] + 0.06
    across, down = (0.07, 0.5) if upright else (0.34, 0.36)
    corner = [(x - across, y), (x, y), (x, y + down)]
    ax.add_patch(Polygon(corner, facecolor=EMPTY if covered else tuple(MOST_LEFT), edgecolor="none"))


def _entries(read: NightsReading, differs: Any) -> list[tuple[Any, str, str]]:
    """Face, kind of mark and words of what occurs."""
    table = read.table
    entries: list[tuple[Any, str, str]] = []
    if table["covered"].any():
        entries.append((tuple(LEAST_LEFT), "square", "covered (paler: more charge left)"))
    if table["why"].isin(["battery", "both"]).any():
        entries.append((EMPTY, "square", "bank at its reserve before the end"))
    if table["why"].isin(TOO_WARM).any():
        entries.append((WARM, "hatched", "bank lasts, cabin above its limit"))
    other = "consecutive" if read.kind == "independent" else "independent"
    covered = table["covered"].to_numpy()
    if (differs & ~covered).any():
        entries.append((tuple(MOST_LEFT), "corner", f"corner: covered among {other} ones"))
    if (differs & covered).any():
        entries.append((EMPTY, "corner", f"corner: not covered among {other} ones"))
    return entries


def _key(sheet: Sheet, entries: list[tuple[Any, str, str]], top_in: float, upright: bool) -> None:
    """Name the kinds of night that occur, in one column on a phone and else in two."""
    width, height = sheet.get_size_inches()
    for number, (face, kind, words) in enumerate(entries):
        row, column = (number, 0) if upright else divmod(number, 2)
        x, y = (0.3 if upright else 0.5) + 3.4 * column, top_in - 0.2 * (row + 1) + 0.04
        box = ((x / width, y / height), 0.13 / width, 0.13 / height)
        ground = "#b9c4c2" if kind == "corner" else face
        patch = Rectangle(*box, facecolor=ground, linewidth=0, transform=sheet.transFigure)
        if kind == "hatched":
            patch.set(hatch="////", edgecolor=HATCH)
        sheet.add_artist(patch)
        if kind == "corner":
            corner = [(x + 0.05, y + 0.13), (x + 0.13, y + 0.13), (x + 0.13, y + 0.05)]
            shape = [(a / width, b / height) for a, b in corner]
            sheet.add_artist(Polygon(shape, facecolor=face, edgecolor="none", transform=sheet.transFigure))
        sheet.text((x + 0.19) / width, (y + 0.02) / height, words, fontsize=8, color=QUIET)


# --- runtime against outdoors -----------------------------------------------------------------------------------------


def runtime_against_outdoors(
    nights: Nights, system: str = "si", width_in: float = WIDE_IN, reading: Reading | None = None
) -> Sheet:
    """Draw runtime against the night's mean outdoor temperature, every night a point.

    Parameters
    ----------
    nights : Nights
        From `vansim.nights`.
    system : {"si", "us"}
        Units shown.
    width_in : float
        Width [in].
    reading : {"independent", "consecutive"} or None
        Which nights are drawn; left out, those of the headline.

    Returns
    -------
    Figure
        Runtime goes on beyond waking, cooling left on: rings are nights that run on into the next day, triangles those
        that run into the night after it, which is why points leap there; crosses are not covered.
    """
    read = reading_of(nights, reading)
    table, noun = read.table, headings.noun_of(nights)
    length_h = nights.design.scenario.night.length_h
    since, end = ("bedtime", "waking") if noun == "night" else ("beginning", "end")
    with calm():
        under = (
            f"{headings.readings(nights, read)} {headings.dates(nights)} Runtime: cooling left on, nothing charging."
        )
        heading = headings.outdoors(nights, read, system)
        kinds = kinds_of(table, length_h)
        counted = phrases.listed([f"{int(where.sum())} {name}" for name, _, _, where in kinds])
        rows = _rows_of(kinds, width_in - 0.6)
        sheet = begin(width_in, 3.35 + 0.19 * len(rows), heading, under, f"{heading}. {under} {counted}.")
        ax = panel(sheet, 0.5, 0.5, 0.2, 2.55)
        outdoor = shown(table["outdoor_mean_c"], "outdoor_c", system)
        runtime = table["runtime_h"].to_numpy()
        top = max(float(runtime.max()) * 1.1, 1.3 * length_h)
        span = max(float(np.ptp(outdoor)), 1.0)
        ax.set_ylim(-0.02 * top, top)
        ax.set_xlim(outdoor.min() - 0.06 * span, outdoor.max() + 0.06 * span)
        ax.yaxis.set_major_locator(MaxNLocator(6, integer=True))
        for _, marker, colour, where in kinds:
            _points(ax, outdoor[where], runtime[where], marker, colour)
        _levels(ax, length_h, top, noun, end)
        for number, row in enumerate(reversed(rows)):
            _named(ax, row, 6.0 + 13.5 * number)
        ax.xaxis.set_major_locator(MaxNLocator(5 if sheet.narrow else 8, integer=True))
        ax.set_xlabel(f"Mean outdoor temperature, {since} to {end} [{symbol('outdoor_c', system)}]")
        over(ax, f"Runtime ({since} to reserve) [h]", lift=8.0 + 13.5 * len(rows), shift=-30)
        return sheet


Kind = tuple[str, str, str, Any]


def kinds_of(table: pd.DataFrame, length_h: float) -> list[Kind]:
    """Kinds of point: words, marker, colour of the words, and which nights; those that occur."""
    covered, runtime = table["covered"].to_numpy(dtype=bool), table["runtime_h"].to_numpy()
    beyond, next_night = covered & (runtime > length_h), covered & (runtime > NEXT_H)
    before = ~covered & (runtime <= 0.0)
    kinds: list[Kind] = [
        ("covered", "o", ink("covered"), covered & ~beyond),
        ("run on into the next day", "ring", ink("covered"), beyond & ~next_night),
        ("into the night after", "^", ink("covered"), next_night),
        ("not covered", "x", EMPTY, ~covered & ~before),
        ("empty before the start", "v", EMPTY, before),
    ]
    return [kind for kind in kinds if kind[3].any()]


def _points(ax: Axes, x: Any, y: Any, marker: str, colour: str) -> None:
    face = COLOURS["covered"] if colour != EMPTY else EMPTY
    if marker == "ring":
        ax.scatter(x, y, facecolors="white", edgecolors=face, s=20, linewidths=1.2, zorder=3)
    elif marker == "x":
        ax.scatter(x, y, color=face, marker="x", s=22, linewidths=1.3, zorder=3)
    else:
        ax.scatter(x, y, color=face, marker=marker, s=24, linewidths=0.5, edgecolors="white", zorder=3)


def _levels(ax: Axes, length_h: float, top: float, noun: str, end: str) -> None:
    """Waking, the next bedtime, and how far runtimes are followed; the nights themselves on a darker ground."""
    for from_h in (0.0, NEXT_H):
        if from_h < top:
            ax.axhspan(from_h, min(from_h + length_h, top), color=NIGHT, zorder=0, linewidth=0)
    ax.axhline(length_h, color=QUIET, linewidth=1.0, linestyle=(0, (4, 2)), zorder=2)
    along(ax, f"{end}, {phrases.duration(length_h)}", length_h, QUIET)
    if NEXT_H < 0.97 * top:
        ax.axhline(NEXT_H, color=QUIET, linewidth=0.8, linestyle=(0, (1, 2)), zorder=2)
        next_one = "next bedtime" if noun == "night" else f"next {noun}"
        along(ax, f"{next_one}, {phrases.duration(NEXT_H)}", NEXT_H, QUIET)
    if FOLLOWED_H < top:
        ax.axhline(FOLLOWED_H, color=QUIET, linewidth=0.8, linestyle=(0, (1, 2)), zorder=2)
        along(ax, phrases.BEYOND, FOLLOWED_H, QUIET)


SIGNS = {"o": "●", "ring": "○", "^": "▲", "x": "×", "v": "▼"}
LETTER_IN = 0.071


def _rows_of(kinds: list[Kind], most_in: float) -> list[list[tuple[str, str]]]:
    """Names of kinds with their numbers, in as many rows as they need."""
    rows: list[list[tuple[str, str]]] = [[]]
    for name, marker, colour, where in kinds:
        label = (f"{SIGNS[marker]} {int(where.sum())} {name}", colour)
        if rows[-1] and LETTER_IN * sum(len(text) + 2 for text, _ in [*rows[-1], label]) > most_in:
            rows.append([])
        rows[-1].append(label)
    return rows


def _named(ax: Axes, row: list[tuple[str, str]], lift: float) -> None:
    """Words in a row above the panel, from the left."""
    before: Any = ax
    for text, colour in row:
        first = before is ax
        before = ax.annotate(
            text, (0.0, 1.0) if first else (1.0, 0.5), xycoords="axes fraction" if first else before,
            xytext=(0, lift) if first else (12, 0), textcoords="offset points", ha="left",
            va="bottom" if first else "center", color=colour, fontsize=8.5,
        )  # fmt: skip
