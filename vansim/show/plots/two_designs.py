"""The picture of two designs side by side, the same night in each."""

from __future__ import annotations

from typing import TYPE_CHECKING

import pandas as pd
from matplotlib.axes import Axes

from vansim import phrases
from vansim.errors import ScenarioError
from vansim.show.plots import findings, headings
from vansim.show.plots.figure import COLOURS, INK, WIDE_IN, Sheet, begin, calm, panel, shown
from vansim.show.plots.labels import in_a_row
from vansim.show.plots.night import Window, charge, clock_axis, fine, warmth, window_of
from vansim.units import translated

if TYPE_CHECKING:
    from vansim.runs.result import Result

PALE = "#b9c4c2"
"""The first design's curves behind the second's."""


def two_designs(
    one: Result,
    other: Result,
    names: tuple[str, str] = ("as it is", "changed"),
    which: int = 0,
    system: str = "si",
    width_in: float = WIDE_IN,
) -> Sheet:
    """Draw the same night of two designs side by side.

    Parameters
    ----------
    one, other : Result
        From `vansim.simulate`, in the same place.
    names : (str, str)
        What they are called.
    which : int
        Row of `Result.nights` of both, from 0; negative from the end.
    system : {"si", "us"}
        Units shown.
    width_in : float
        Width [in]; below 5 one stands below the other.

    Returns
    -------
    Figure
        Temperatures and state of charge of each on the same scales; the first design's curves stand pale behind the
        second's.

    Raises
    ------
    ScenarioError
        No such night in one of them, or the nights are not the same.
    """
    results = (one, other)
    windows = [window_of(result, which) for result in results]
    nights = [result.night(which) for result in results]
    if (nights[0].date, nights[0].times.bed_min % 1440) != (nights[1].date, nights[1].times.bed_min % 1440):
        dates = " and ".join(f"{phrases.date(n.date)}, {headings.clock_of(n.bedtime)}" for n in nights)
        raise ScenarioError(f"two_designs: night {which} of the two is not the same: {dates}")
    pictures = [fine(result, window) for result, window in zip(results, windows, strict=True)]
    called = [translated(name, system) for name in names]
    with calm():
        heading, under = finding(one, other, called, which), _under(one, called, which)
        narrow = width_in < 5.0
        sheet = begin(width_in, 7.2 if narrow else 3.95, heading, under, f"{heading}. {under}")
        pairs = []
        for place in range(2):
            if narrow:
                bottom = 3.55 * (1 - place) + 0.32
                above, below = panel(sheet, 0.55, bottom + 1.45, 0.28, 1.2), panel(sheet, 0.55, bottom, 0.28, 1.05)
            else:
                half = 0.5 * width_in
                left, right = (0.55, half + 0.2) if place == 0 else (half + 0.45, 0.28)
                above, below = panel(sheet, left, 1.75, right, 1.45), panel(sheet, left, 0.32, right, 1.1)
            pairs.append((above, below))
        for place, (axes, result, picture, window) in enumerate(zip(pairs, results, pictures, windows, strict=True)):
            behind = None if place == 0 else pictures[0]
            _design(axes, result, picture, window=window, system=system, behind=behind)
            _named(axes[0], f"{'AB'[place]}: {called[place]}")
        _same_scales(pairs)
        return sheet


def finding(one: Result, other: Result, called: list[str], which: int = 0) -> str:
    """What the second design makes of the night, beside the first."""
    rows = [result.night(which).row for result in (one, other)]
    told = [_ends(result, which) for result in (one, other)]
    if rows[0]["covered"] == rows[1]["covered"] and pd.isna(rows[0]["empty_at"]) and pd.isna(rows[1]["empty_at"]):
        left = [phrases.percent(float(row["waking_soc"])) for row in rows]
        return (
            f"{_brief(called[1], True)}: {left[1]} left {phrases.at_end(one.night(which).label)} instead of {left[0]}"
        )
    return f"{_brief(called[1], True)}: {told[1]}; {_brief(called[0])}: {told[0]}"


def _brief(name: str, first: bool = False) -> str:
    name = findings.brief(name, 40)
    return f"{name[:1].upper()}{name[1:]}" if first and "=" not in name else name  # a key stays as it is written


def _ends(result: Result, which: int) -> str:
    one = result.night(which)
    if not pd.isna(one.row["empty_at"]):
        return f"empty at {headings.clock_of(one.row['empty_at'])}"
    left = f"{phrases.percent(float(one.row['waking_soc']))} left"
    if one.row["covered"]:
        return f"{left} {phrases.at_end(one.label)}"
    return f"{left}, but too warm for {phrases.duration(float(one.row['over_limit_h']))}"


def _under(result: Result, called: list[str], which: int) -> str:
    one = result.night(which)
    site = result.run.weather.site.name
    begun = f" {phrases.EVENING_LEFT_OUT}" if headings.at_bedtime(result.run.scenario) else ""
    return f"{result.run.scenario.title}, {site}, {phrases.date(one.date)}. Behind B, pale: A.{begun}"


def _design(
    axes: tuple[Axes, Axes],
    result: Result,
    picture: pd.DataFrame,
    window: Window,
    system: str,
    behind: pd.DataFrame | None,
) -> None:
    above, below = axes
    for ax in axes:
        clock_axis(ax, window, last=ax is below)
    if behind is not None:
        above.plot(behind.index, shown(behind["cabin_c"], "cabin_c", system), color=PALE, linewidth=1.2)
        below.plot(behind.index, 100.0 * behind["soc"], color=PALE, linewidth=2.0)
    warmth(above, result, picture, window, system, named=False)
    charge(below, result, picture, window, named=False)


def _named(ax: Axes, name: str) -> None:
    """The design's name over its panels, and on the first panel the names of its lines."""
    ax.annotate(
        findings.brief(name, 46), (0, 1), (-36, 32),
        xycoords="axes fraction", textcoords="offset points", fontsize=9, weight="bold", color=INK, va="bottom",
    )  # fmt: skip
    in_a_row(ax, [("outdoors", COLOURS["outdoor"]), ("cabin", COLOURS["cabin"]), ("limit", COLOURS["limit"])], 18.0)


def _same_scales(pairs: list[tuple[Axes, Axes]]) -> None:
    """The temperatures of both on one scale, and the clocks too."""
    low = min(above.get_ylim()[0] for above, _ in pairs)
    high = max(above.get_ylim()[1] for above, _ in pairs)
    first, last = (f(ax.get_xlim()[i] for pair in pairs for ax in pair) for f, i in ((min, 0), (max, 1)))
    for pair in pairs:
        pair[0].set_ylim(low, high)
        for ax in pair:
            ax.set_xlim(first, last)
