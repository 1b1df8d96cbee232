"""Pictures of the bank: how large, and how soon it is full again."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

import numpy as np
import pandas as pd
from matplotlib.axes import Axes
from matplotlib.ticker import MaxNLocator

from vansim import phrases
from vansim.show.plots.figure import COLOURS, INK, QUIET, WIDE_IN, Sheet, begin, calm, is_narrow, note, over, panel
from vansim.show.text import handed, headings

if TYPE_CHECKING:
    from vansim.studies.recharge import Recovery
    from vansim.studies.sizing import Sizing

SERIES = (COLOURS["soc"], COLOURS["change"], COLOURS["outdoor"], COLOURS["shore"], "#6b7573")
STROKES = ("-", (0, (5, 2)), (0, (2, 1.5)), (0, (6, 2, 1.5, 2)), "-")
MOST_LINES = len(SERIES)


def bank_size(sizing: Sizing, system: str = "si", width_in: float = WIDE_IN, called: str = "night") -> Sheet:
    """Draw the share of nights covered against the size of the bank.

    Parameters
    ----------
    sizing : Sizing
        From `size`; at most its first five combinations are drawn.
    system : {"si", "us"}
        Units shown; energies are in kWh in both.
    width_in : float
        Width [in].
    called : str
        What a night is called, as in `vansim.scenario.schema.Night`.

    Returns
    -------
    Figure
        A line a battery, mode and cooler; the knee ringed, the recommended bank marked.
    """
    names = [name for name in ("unit", "mode", "cooler") if sizing.curve[name].nunique() > 1] or ["unit"]
    lines = list(sizing.curve.groupby(["unit", "mode", "cooler"], sort=False))[:MOST_LINES]
    with calm():
        under = (
            f"Every size was run through every {called}, {phrases.season(sizing.season)}. Each {called} begins with a "
            "full bank."
        )
        sheet = begin(width_in, 3.2, headings.size(sizing, called), under)
        ax = panel(sheet, 0.5, 0.5, 0.2 if sheet.narrow else 0.3, 2.4)
        ax.axhline(100 * sizing.keep, color=COLOURS["limit"], linewidth=1.1, linestyle=(0, (2, 1.5)), zorder=1)
        for (_, points), colour, stroke in zip(lines, SERIES, STROKES, strict=False):
            _size_line(ax, points, colour, stroke)
        ax.set_ylim(0, 106)
        ax.set_yticks([0, 25, 50, 75, 100])
        most = max(float(points["usable_kwh"].max()) for _, points in lines)
        ax.set_xlim(0, most * 1.04)
        note(
            ax, 0.01 * most, 100 * sizing.keep - 2, f"target {phrases.percent(sizing.keep)}", COLOURS["limit"], va="top"
        )
        _key(ax, _one_line(lines[0][1]) if len(lines) == 1 else _several_lines(lines, names))
        ax.set_xlabel("Usable energy of the bank, full to reserve [kWh]")
        over(ax, f"{phrases.plural(called).capitalize()} covered [%]", shift=-30)
        return sheet


def _size_line(ax: Axes, points: pd.DataFrame, colour: str, stroke: Any) -> None:
    kwh, kept = points["usable_kwh"].to_numpy(), 100.0 * points["kept_share"].to_numpy()
    ax.plot(kwh, kept, color=colour, linestyle=stroke, marker="o", markersize=3.5, linewidth=1.4)
    chosen, knee = points["chosen"].to_numpy(dtype=bool), points["knee"].to_numpy(dtype=bool)
    ax.plot(kwh[knee], kept[knee], "o", color=colour, markersize=12, fillstyle="none", markeredgewidth=1.3)
    ax.plot(kwh[chosen], kept[chosen], "D", color=colour, markersize=8)


def _bank_words(row: pd.Series[Any]) -> str:
    usable = phrases.energy(1000.0 * row["usable_kwh"])
    return f"{phrases.count(int(row['units']), 'battery')}, {usable}"


def _one_line(points: pd.DataFrame) -> list[tuple[str, str]]:
    """Words for the marks of a single line."""
    marks = (("◆ recommended", points["chosen"]), ("○ knee", points["knee"] & ~points["chosen"]))
    told = [(f"{name}: {_bank_words(row)}", INK) for name, where in marks for _, row in points[where].iterrows()]
    return told or [(f"largest tried: {_bank_words(points.iloc[-1])}", INK)]


def _several_lines(lines: list[Any], names: list[str]) -> list[tuple[str, str]]:
    """Words for several lines: which is which, and what it recommends."""
    told = []
    for (_, points), colour in zip(lines, SERIES, strict=False):
        chosen = points[points["chosen"]]
        size = phrases.count(int(chosen.iloc[0]["units"]), "battery") if len(chosen) else "no bank is enough"
        told.append((f"◆ {', '.join(phrases.cooling(str(points[n].iloc[0])) for n in names)}: {size}", colour))
    return told


def _key(ax: Axes, told: list[tuple[str, str]], top: float | None = None) -> None:
    """Lines of words at the lower right, where a rising curve leaves room."""
    step = 0.085
    for place, (text, colour) in enumerate(told):
        y = (0.06 + step * len(told) if top is None else top) - step * (place + 1)
        ground = {"facecolor": "white", "edgecolor": "none", "alpha": 0.8, "pad": 1.0}
        ax.text(0.985, y, text, transform=ax.transAxes, ha="right", color=colour, fontsize=8.5, bbox=ground, zorder=6)


def recovery(again: Recovery, system: str = "si", width_in: float = WIDE_IN) -> Sheet:
    """Draw how the bank fills again after a night.

    Parameters
    ----------
    again : Recovery
        From `vansim.studies.recharge.recovery`.
    system : {"si", "us"}
        Units shown.
    width_in : float
        Width [in].

    Returns
    -------
    Figure
        State of charge against hours from waking; a line each for road, idling and sun.
    """
    table, goal = again.table, 100.0 * again.goal_soc
    last = _last_hour(again)
    with calm():
        under = f"From {phrases.percent(again.start_soc)} at waking, cooler off, other loads on."
        sheet = begin(width_in, 3.1, headings.recharging(again, system), under)
        ax = panel(sheet, 0.5, 0.5, 0.2 if sheet.narrow else 0.3, 2.3)
        ax.set_xlim(0, last)
        ax.set_ylim(0, 107)
        ax.axhline(goal, color=QUIET, linewidth=0.9, linestyle=(0, (2, 1.5)), zorder=1)
        strokes = {"road": "-", "idling": (0, (5, 2)), "sun": "-"}
        for way in table.columns:
            colour = {"road": COLOURS["road"], "idling": COLOURS["idling"], "sun": COLOURS["solar"]}[way]
            ax.plot(table.index, 100 * table[way], color=colour, linestyle=strokes[way], linewidth=2.0)
            done = again.hours[way]
            if done is not None:
                ax.plot([done], [goal], "o", color=colour, markersize=6, zorder=5)
        _ways(ax, again, last, system)
        ax.xaxis.set_major_locator(MaxNLocator(6 if is_narrow(ax) else 9, steps=[1, 2, 5, 10], integer=last > 5))
        ax.set_xlabel("Hours from waking")
        over(ax, "State of charge [%]", shift=-30)
        return sheet


def _last_hour(again: Recovery) -> float:
    """Right edge: some way past the slowest way by engine, or by sun where there is no engine."""
    engine = [h for way, h in again.hours.items() if h is not None and way != "sun"]
    sun = [h for way, h in again.hours.items() if h is not None and way == "sun"]
    reached = engine or sun
    return float(min(again.table.index[-1], max(1.5 * max(reached), 4.0) if reached else again.table.index[-1]))


def _ways(ax: Axes, again: Recovery, last: float, system: str) -> None:
    """Name the ways at the right, clear of a sun line that ends there."""
    told = []
    for way, done in again.hours.items():
        colour = SUN_INK if way == "sun" else COLOURS[way]
        told.append((f"{handed.way(way, system)}: {phrases.within(done)}", colour))
    low = _lowest_end(again, last)
    beside = 0.62 if is_narrow(ax) and low < 0.36 else 0.9
    _key(ax, told, beside if low < 0.5 else None)


def _lowest_end(again: Recovery, last: float) -> float:
    """Where the lowest line that has not reached its goal leaves the picture, 0 to 1; 1 where all have."""
    late = [way for way, done in again.hours.items() if done is None or done > last]
    ends = [float(np.interp(last, again.table.index, again.table[way])) for way in late]
    return min(ends, default=1.0)


SUN_INK = "#8a6508"
"""The sun's colour, dark enough for words."""
