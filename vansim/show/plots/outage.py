"""The picture of a cabin after its cooler has stopped."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

import numpy as np
from matplotlib.axes import Axes
from matplotlib.ticker import MaxNLocator

from vansim import phrases
from vansim.show.plots.figure import COLOURS, WIDE_IN, Sheet, begin, calm, is_narrow, note, over, panel, shown
from vansim.show.text import handed, headings
from vansim.units import symbol

if TYPE_CHECKING:
    from vansim.studies.outage import Hazard

SHOWN_H = 6.0
INDEX_DRAWN_TO_C = 53.0
INDEX_COLOUR = "#8a4b6e"
SHORT = {
    "dogs in transport: ventilation or cooling required": "dogs in transport need cooling",
    "above a dog's thermoneutral zone": "dogs: heat stress",
    "survival line of healthy dogs": "dogs: survival line",
}


def after_reserve(hazard: Hazard, system: str = "si", width_in: float = WIDE_IN) -> Sheet:
    """Draw how a cabin warms once the cooler has stopped, against published thresholds.

    Parameters
    ----------
    hazard : Hazard
        From `vansim.studies.outage.after_reserve`.
    system : {"si", "us"}
        Units shown.
    width_in : float
        Width [in].

    Returns
    -------
    Figure
        Cabin, outdoors and heat index over six hours; thresholds of cabin temperature as lines, those of the heat index
        and the dogs' line as marks where they are first passed. The caution stands in the heading.
    """
    series = hazard.series[hazard.series.index <= SHOWN_H * 60.0]
    hour = series.index.to_numpy() / 60.0
    with calm():
        start = handed.outage_start(hazard.when, hazard.moment, hazard.story)
        under = f"{start} No grace period: never leave a child or an animal alone in a van, cooled or not."
        sheet = begin(width_in, 3.7, headings.outage(hazard, system), under)
        ax = panel(sheet, 0.5, 0.5, 0.12 if sheet.narrow else 1.05, 2.85)
        values = {name: shown(series[name], name, system) for name in ("outdoor_c", "cabin_c", "heat_index_c")}
        # the index is a fit to the conditions of its tables: beyond its last line it is not drawn
        values["heat_index_c"][series["heat_index_c"].to_numpy() > INDEX_DRAWN_TO_C] = np.nan
        ax.plot(hour, values["outdoor_c"], color=COLOURS["outdoor"], linestyle=(0, (5, 2)))
        ax.plot(hour, values["heat_index_c"], color=INDEX_COLOUR, linestyle=(0, (1.5, 1.2)))
        ax.plot(hour, values["cabin_c"], color=COLOURS["cabin"], linewidth=2.2)
        ax.set_xlim(0, hour[-1])
        low, high = (f([float(f(c)) for c in values.values()]) for f in (np.nanmin, np.nanmax))
        ax.set_ylim(low - 0.06 * (high - low), high + 0.12 * (high - low))
        _lines(ax, hazard, system)
        _marks(ax, hazard, system)
        _names(ax, values)
        ax.yaxis.set_major_locator(MaxNLocator(6, integer=True))
        ax.set_xlabel("Hours after the cooler stops")
        over(ax, f"Temperature [{symbol('cabin_c', system)}]", shift=-30)
        return sheet


def _lines(ax: Axes, hazard: Hazard, system: str) -> None:
    """Thresholds of cabin temperature that lie in the picture, named at the left above their line."""
    bottom, top = ax.get_ylim()
    drawn: list[float] = []
    lines = hazard.lines[hazard.lines["quantity"] == "cabin_c"].sort_values("value_c", ascending=False)
    for name, value_c in zip(lines.index, lines["value_c"].tolist(), strict=True):
        level = float(shown(value_c, "value_c", system))
        room = 0.06 * (top - bottom)
        if not bottom < level < top - room or any(abs(level - other) < room for other in drawn):
            continue
        drawn.append(level)
        ax.axhline(level, color=COLOURS["limit"], linewidth=0.8, linestyle=(0, (2, 1.5)), zorder=1)
        words = f"{SHORT.get(str(name), str(name))}, {phrases.temperature(value_c, system)}"
        note(ax, 0.99 * ax.get_xlim()[1], level, words, COLOURS["limit"], va="bottom", ha="right", fontsize=7.5)


def _marks(ax: Axes, hazard: Hazard, system: str) -> None:
    """Where the heat index and the dogs' line are first passed."""
    last = ax.get_xlim()[1]
    bottom, top = ax.get_ylim()
    for name in ("danger", "extreme danger", "survival line of healthy dogs"):
        minute = float(hazard.lines["minutes"][name])
        if not np.isfinite(minute) or minute > 60.0 * last:
            continue
        column = "cabin_c" if name.startswith("survival") else "heat_index_c"
        y = float(np.interp(minute, hazard.series.index, shown(hazard.series[column], column, system)))
        colour = COLOURS["cabin"] if column == "cabin_c" else INDEX_COLOUR
        ax.plot([minute / 60.0], [y], "o", color=colour, markersize=6, zorder=5)
        right = minute / 60.0 < 0.6 * last
        shift = (0.015 if right else -0.015) * last
        height = 0.045 * (top - bottom) * (-1 if column == "cabin_c" else 1)
        side: Any = "left" if right else "right"
        note(ax, minute / 60.0 + shift, y + height, SHORT.get(name, name), colour, ha=side, va="center", fontsize=8)


def _names(ax: Axes, values: dict[str, Any]) -> None:
    """Names of the three curves, at their ends or, on a narrow picture, above."""
    named = (("outdoor_c", "outdoors", COLOURS["outdoor"]), ("cabin_c", "cabin", COLOURS["cabin"]),
             ("heat_index_c", "heat index", INDEX_COLOUR))  # fmt: skip
    if is_narrow(ax):
        x = 1.0
        for _, words, colour in reversed(named):
            ax.annotate(words, (x, 1), xytext=(0, 6), xycoords="axes fraction", textcoords="offset points", ha="right",
                        fontsize=8.5, color=colour)  # fmt: skip
            x -= 0.022 * len(words) + 0.03
        return
    low, high = ax.get_ylim()
    last = ax.get_xlim()[1]
    spots = []
    for name, words, colour in named:
        there = np.flatnonzero(np.isfinite(values[name]))[-1]
        if there < values[name].size - 1:  # it ends within the picture
            ax.annotate(words, (1, 1), xytext=(0, 6), xycoords="axes fraction", textcoords="offset points", ha="right",
                        fontsize=8.5, color=colour)  # fmt: skip
        else:
            spots.append((float(values[name][-1]), words, colour))
    y = -np.inf
    for value, words, colour in sorted(spots):
        y = max(value, y + 0.055 * (high - low))
        ax.text(1.015 * last, y, words, color=colour, fontsize=8.5, va="center")
