"""The picture of sizes: how many nights a bank covers."""

from __future__ import annotations

import textwrap
from typing import TYPE_CHECKING, Any

import pandas as pd
from matplotlib.axes import Axes

from vansim import phrases
from vansim.phrases import unbroken
from vansim.show.plots import headings
from vansim.show.plots.figure import COLOURS, NARROW_BELOW_IN, QUIET, WIDE_IN, Sheet, begin, calm, ink, panel
from vansim.show.plots.labels import KEY_IN, along, key, over, place

if TYPE_CHECKING:
    from vansim.studies.sizing import Sizing

LABELS = ("battery", "mode", "cooler")
STROKES = ("-", (0, (5, 2)), (0, (2, 1.5)), (0, (6, 2, 1.5, 2)), (0, (1, 1)))
GREYS = ("#4d5a58", "#7b8786", "#4d5a58", "#7b8786")
"""Colours of the lines that are not the smallest bank's."""
MOST_LINES = len(STROKES)


def bank_size(sizing: Sizing, system: str = "si", width_in: float = WIDE_IN, noun: str = "night") -> Sheet:
    """Draw the share of nights covered against the size of the bank.

    Parameters
    ----------
    sizing : Sizing
        From `vansim.size`; five combinations of battery, mode and cooler are drawn, the smallest banks first.
    system : {"si", "us"}
        Units shown; energies are in kWh in both.
    width_in : float
        Width [in].
    noun : str
        What a night is called, as `night.label` of the scenario.

    Returns
    -------
    Figure
        A line a combination, in the colour of covered nights where it holds the smallest bank, else grey; a diamond
        where a line reaches the share, a ring at its knee.
    """
    lines = ordered_lines(sizing)
    told = [name for name in LABELS if sizing.curve[name].nunique() > 1]
    with calm():
        more = len(lines) - MOST_LINES
        under = headings.size_under(sizing, noun) + (f" {more} more are not drawn." if more > 0 else "")
        lines = lines[:MOST_LINES]
        from_in = 0.1 if width_in < NARROW_BELOW_IN else 0.5
        most = int((width_in - from_in - 0.5) / 0.064)
        named = ["\n".join(textwrap.wrap(unbroken(_called(points, told)), most)[:2]) for points in lines]
        below = KEY_IN * sum(1 + name.count("\n") for name in named) if len(lines) > 2 else 0.0
        sheet = begin(width_in, 3.2 + below, headings.size(sizing, noun), under, _words(sizing, lines, told, noun))
        ax = panel(sheet, 0.5, 0.5 + below, 0.2, 2.4)
        largest = max(float(points["usable_kwh"].max()) for points in lines)
        ax.set_xlim(0, largest * 1.06)
        ax.set_ylim(-3, 112)
        ax.set_yticks([0, 25, 50, 75, 100])
        ax.axhline(100 * sizing.target, color=COLOURS["limit"], linewidth=1.1, linestyle=(0, (2, 1.5)), zorder=1)
        best = len(sizing.table) > 0
        colours = [COLOURS["covered"] if best else GREYS[0], *GREYS]
        for points, colour, stroke in zip(lines, colours, STROKES, strict=False):
            _line(ax, points, colour, stroke)
        inks = [ink("covered") if colour == COLOURS["covered"] else colour for colour in colours]
        if below:
            key(sheet, list(zip(named, inks, STROKES, strict=False)), from_in, 0.06 + below)
        else:
            for points, colour in zip(lines, inks, strict=False):
                _name(ax, points, told, colour)
        along(ax, f"asked: {phrases.percent(sizing.target)}", 100 * sizing.target, COLOURS["limit"])
        if len(lines) == 1:
            _knee(ax, lines[0])
        ax.set_xlabel("Usable energy of the bank, full to reserve [kWh]")
        over(ax, f"{phrases.plural(noun).capitalize()} covered [%]", shift=-30)
        return sheet


def ordered_lines(sizing: Sizing) -> list[pd.DataFrame]:
    """Points of each combination: the smallest bank's first, in the order of the table, then those without a bank."""
    lines = {key: points for key, points in sizing.curve.groupby(list(LABELS), sort=False)}
    found = [tuple(row[name] for name in LABELS) for _, row in sizing.table.iterrows()]
    return [lines.pop(key) for key in found] + list(lines.values())


def chosen_of(points: pd.DataFrame) -> pd.Series[Any] | None:
    """The point of a line that reaches the share with the fewest batteries."""
    chosen = points[points["chosen"]]
    return chosen.iloc[0] if len(chosen) else None


def _line(ax: Axes, points: pd.DataFrame, colour: str, stroke: Any) -> None:
    kwh, share = points["usable_kwh"].to_numpy(), 100.0 * points["covered_share"].to_numpy()
    ax.plot(kwh, share, color=colour, linestyle=stroke, marker="o", markersize=3.5, linewidth=1.5)
    chosen, knee = points["chosen"].to_numpy(dtype=bool), points["knee"].to_numpy(dtype=bool)
    ax.plot(kwh[knee], share[knee], "o", color=colour, markersize=12, fillstyle="none", markeredgewidth=1.2)
    ax.plot(kwh[chosen], share[chosen], "D", color=colour, markersize=7.5)


def _called(points: pd.DataFrame, told: list[str]) -> str:
    """Which combination a line is, as far as they differ, and its bank."""
    name = ", ".join(phrases.cooling(str(points[column].iloc[0])) for column in told)
    chosen = chosen_of(points)
    size = headings.bank(chosen) if chosen is not None else "no bank is enough"
    return f"{name}: {size}" if name else size


def _name(ax: Axes, points: pd.DataFrame, told: list[str], colour: str) -> None:
    chosen = chosen_of(points)
    at = points.iloc[-1] if chosen is None else chosen
    spot = (float(at["usable_kwh"]), 100.0 * float(at["covered_share"]))
    sides = ("below right", "below left", "right", "left", "below", "above left", "above right", "above")
    place(ax, _called(points, told), [spot], colour, sides)


def _knee(ax: Axes, points: pd.DataFrame) -> None:
    for _, row in points[points["knee"] & ~points["chosen"]].iterrows():
        spot = (float(row["usable_kwh"]), 100.0 * float(row["covered_share"]))
        place(ax, f"knee: {headings.bank(row)}", [spot], QUIET, ("right", "below right", "left", "below left"))


def _words(sizing: Sizing, lines: list[pd.DataFrame], told: list[str], noun: str) -> str:
    heading, under = headings.size(sizing, noun), headings.size_under(sizing, noun)
    named = "; ".join(_called(points, told) for points in lines) if len(lines) > 1 else ""
    return f"{heading}. {under}" + (f" {named}." if named else "")
