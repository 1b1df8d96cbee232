"""The picture of recharging: how soon the bank is full again, every way."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

import numpy as np
from matplotlib.axes import Axes
from matplotlib.ticker import MaxNLocator

from vansim import phrases
from vansim.show.plots.figure import COLOURS, QUIET, WIDE_IN, Sheet, begin, calm, ink, panel
from vansim.show.plots.headings import clock_of
from vansim.show.plots.labels import along, is_narrow, over, place

if TYPE_CHECKING:
    from vansim.studies.recharge import Recharge

STROKES: dict[str, Any] = {"road": "-", "idling": (0, (5, 2)), "shore": (0, (2, 1.2)), "solar": (0, (7, 2, 1.5, 2))}
SHORTEST_H, BEYOND = 0.5, 1.25
"""Least width of the picture [h], and how far it goes beyond the last way that is done."""


def recharge(found: Recharge, system: str = "si", width_in: float = WIDE_IN) -> Sheet:
    """Draw how the bank fills again after a night.

    Parameters
    ----------
    found : Recharge
        From `vansim.recharge`.
    system : {"si", "us"}
        Units shown.
    width_in : float
        Width [in].

    Returns
    -------
    Figure
        State of charge against hours from waking, a line each for road, idling, shore power and sun as the van is
        fitted; a dot where the goal is reached.
    """
    last = last_hour(found)
    heading = phrases.recharged(found.goal_soc, found.hours, system=system)
    with calm():
        under = (
            f"From {phrases.percent(found.start_soc)} {phrases.at_end(found.label)}, {phrases.date(found.waking)}, "
            f"{clock_of(found.waking)}; cooler off, other loads on."
            f"{f' {phrases.EVENING_LEFT_OUT}' if found.full_at_bedtime else ''}"
        )
        told = "; ".join(_named(found, way, system) for way in found.hours)
        sheet = begin(width_in, 3.1, heading, under, f"{heading}. {under} {told}.")
        ax = panel(sheet, 0.5, 0.5, 0.25, 2.3)
        ax.set_xlim(0, last)
        ax.set_ylim(0, 112)
        ax.set_yticks([0, 25, 50, 75, 100])
        ax.axhline(100.0 * found.goal_soc, color=QUIET, linewidth=0.9, linestyle=(0, (2, 1.5)), zorder=1)
        for way in found.hours:
            _line(ax, found, way)
        along(ax, f"goal {phrases.percent(found.goal_soc)}", 100.0 * found.goal_soc, QUIET)
        for way in found.hours:
            place(ax, _named(found, way, system), _spots(found, way, last), ink(way))
        ax.xaxis.set_major_locator(MaxNLocator(6 if is_narrow(ax) else 9, steps=[1, 2, 5, 10], integer=last > 5))
        ax.set_xlabel(f"Hours after {'waking' if found.label == 'night' else f'the {found.label}'}")
        over(ax, "State of charge [%]", shift=-30)
        return sheet


def last_hour(found: Recharge) -> float:
    """Right edge: some way beyond the slowest way by engine or shore; by sun where there is no other."""
    done = {way: hours for way, hours in found.hours.items() if hours is not None}
    powered = [hours for way, hours in done.items() if way != "solar"]
    reached = powered or list(done.values())
    return max(BEYOND * max(reached), SHORTEST_H) if reached else max(float(found.table.index[-1]), SHORTEST_H)


def _line(ax: Axes, found: Recharge, way: str) -> None:
    curve = found.table[way].dropna()
    ax.plot(curve.index, 100.0 * curve, color=COLOURS[way], linestyle=STROKES[way], linewidth=1.9)
    done = found.hours[way]
    if done is not None:
        ax.plot([done], [100.0 * float(curve.iloc[-1])], "o", color=COLOURS[way], markersize=5.5, zorder=5)


def _named(found: Recharge, way: str, system: str) -> str:
    """A way with its hours, or why it does not do."""
    name = phrases.way(way, system=system)
    outcome = found.outcome[way]
    if outcome == "reached":
        return f"{name}: {phrases.within(found.hours[way])}"
    if way in found.never:
        return f"{name}: never, {'it gives nothing' if 'nothing' in outcome else 'other loads take more'}"
    return f"{name}: {phrases.within(None)}"


def _spots(found: Recharge, way: str, last: float) -> list[tuple[float, float]]:
    """Where along a curve its label may stand."""
    curve = found.table[way].dropna()
    curve = curve[curve.index <= last]
    at = np.linspace(0.0, len(curve) - 1, 9).round().astype(int)[[5, 4, 6, 3, 7, 2]]
    return [(float(curve.index[i]), 100.0 * float(curve.iloc[i])) for i in at]
