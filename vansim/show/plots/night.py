"""The picture of one night: warmth, compressor, power and charge on one clock."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

import numpy as np
import numpy.typing as npt
import pandas as pd
from matplotlib.axes import Axes
from matplotlib.ticker import FuncFormatter, MaxNLocator, MultipleLocator

from vansim import phrases
from vansim.show.plots import headings
from vansim.show.plots.figure import COLOURS, EVENING, INK, NIGHT, QUIET, WIDE_IN, Sheet, begin, calm, ink, shown
from vansim.show.plots.labels import beside_ends, over, place
from vansim.units import convert, symbol

if TYPE_CHECKING:
    from vansim.runs.night import Night
    from vansim.runs.result import Result

BEFORE_H, AFTER_H = 1.0, 2.0
"""Drawn before the account and after waking, as far as the run goes [h]."""
LIFT = 18.0
"""Height of the first panel's name above it [pt]: bedtime and waking stand between."""
DASHED, DOTTED = (0, (5, 2)), (0, (2, 1.5))
POWERS = ("cooler_w", "loads_w", "solar_w", "alternator_w", "shore_w")


@dataclass(frozen=True)
class Window:
    """The part of a run that is drawn; all times in hours since midnight of the run's first day.

    Attributes
    ----------
    from_h, to_h : float
        Drawn.
    night : Night or None
        From `Result.night`; None where the run holds no whole one.
    """

    from_h: float
    to_h: float
    night: Night | None

    @property
    def span_h(self) -> float:
        """Drawn in all [h]."""
        return self.to_h - self.from_h

    @property
    def account_h(self) -> float:
        """Where the account begins; of no night, where the picture does."""
        return self.night.times.account_min / 60.0 if self.night else self.from_h

    @property
    def bed_h(self) -> float:
        """Bedtime; of no night, where the picture begins."""
        return self.night.times.bed_min / 60.0 if self.night else self.from_h

    @property
    def wake_h(self) -> float:
        """Waking; of no night, where the picture ends."""
        return self.night.times.wake_min / 60.0 if self.night else self.to_h

    @property
    def empty_h(self) -> float | None:
        """When the account's bank reaches its reserve; None where it does not."""
        if self.night is None or pd.isna(self.night.row["empty_at"]):
            return None
        return self.bed_h + headings.hours(self.night.row["empty_at"] - self.night.bedtime)


def window_of(result: Result, which: int | None = 0) -> Window:
    """Window around a night.

    Parameters
    ----------
    result : Result
        A run.
    which : int or None
        Row of `Result.nights`, from 0; negative from the end. None: the whole run.

    Returns
    -------
    Window
        From shortly before the account begins until a little after waking; the whole run where it holds no night.

    Raises
    ------
    ScenarioError
        No such night.
    """
    intervals = result.intervals
    start = float(intervals["start_s"].iloc[0]) / 3600.0
    end = float(intervals["start_s"].iloc[-1] + intervals["span_s"].iloc[-1]) / 3600.0
    if which is None or (not len(result.nights) and which == 0):
        return Window(start, end, None)
    one = result.night(which)
    from_h, to_h = one.times.account_min / 60.0 - BEFORE_H, one.times.wake_min / 60.0 + AFTER_H
    return Window(max(start, from_h), min(end, to_h), one)


def fine(result: Result, window: Window) -> pd.DataFrame:
    """The fine picture of a window, minute by minute and at the moments that are marked; index in hours."""
    marked = [h for h in (window.bed_h, window.wake_h, window.empty_h) if h is not None]
    even = np.arange(window.from_h * 60.0 + 1.0, window.to_h * 60.0 + 1e-6)
    moments = np.union1d(even * 60.0, np.array(marked) * 3600.0)
    return result.follow(moments[moments > window.from_h * 3600.0]).rename(index=lambda second: second / 3600.0)


def on_spans(result: Result, from_h: float, to_h: float) -> list[tuple[float, float]]:
    """Compressor on-periods of a window as (start, length) [h], exact to the switching."""
    runs = result.compressor_runs / 3600.0
    clipped = runs.clip(from_h, to_h)
    return [(a, b - a) for a, b in zip(clipped["start_s"], clipped["end_s"], strict=True) if b > a]


def mean_powers(result: Result, window: Window) -> tuple[pd.DataFrame, npt.NDArray[np.float64]]:
    """Mean flows [W] of the intervals of a run that lie in a window, and their edges [h]."""
    p = result.intervals
    start = p["start_s"].to_numpy() / 3600.0
    end = start + p["span_s"].to_numpy() / 3600.0
    inside = (end > window.from_h + 1e-9) & (start < window.to_h - 1e-9)
    edges = np.append(start[inside], end[inside][-1]).clip(window.from_h, window.to_h)
    return p.loc[inside, list(POWERS)], edges


def night(
    result: Result, which: int | None = 0, system: str = "si", width_in: float = WIDE_IN, brief: bool = False
) -> Sheet:
    """Draw the account of a night.

    Parameters
    ----------
    result : Result
        From `vansim.simulate`.
    which : int or None
        Row of `Result.nights`, from 0; negative from the end. None draws the whole run.
    system : {"si", "us"}
        Units shown.
    width_in : float
        Width [in]; below 5 it is laid out for a phone.
    brief : bool
        Only temperatures and state of charge, half as high: for the first page of a report.

    Returns
    -------
    Figure
        From the first cooling of the evening to waking: temperatures, compressor on-periods, power and state of charge,
        with bedtime, waking, limit and reserve; and when the bank is empty, where it is.

    Raises
    ------
    ScenarioError
        No such night.
    """
    window = window_of(result, which)
    ratios, body_in = ([3.2, 2.2], 3.4) if brief else ([3.2, 0.45, 2.0, 2.2], 5.85)
    with calm():
        sheet = begin(width_in, body_in, *_heads(result, window, system, brief))
        left, right = (0.56, 0.24) if sheet.narrow else (0.62, 0.98)
        height_in = sheet.get_figheight()
        grid = sheet.add_gridspec(
            len(ratios), 1, height_ratios=ratios, hspace=0.3 if brief else 0.46, left=left / width_in,
            right=1 - right / width_in, top=(body_in - 0.36) / height_in, bottom=0.34 / height_in,
        )  # fmt: skip
        panels = [sheet.add_subplot(grid[0])]
        panels += [sheet.add_subplot(grid[i], sharex=panels[0]) for i in range(1, len(ratios))]
        for panel in panels:
            clock_axis(panel, window, last=panel is panels[-1])
        picture = fine(result, window)
        warmth(panels[0], result, picture, window, system)
        if not brief:
            compressor(panels[1], result, window)
            _power(panels[2], result, window)
        charge(panels[-1], result, picture, window)
        _times(panels[0], window)
        return sheet


def _heads(result: Result, window: Window, system: str, brief: bool = False) -> tuple[str, str, str]:
    """Heading, line below and alternative text."""
    scenario, site = result.run.scenario, result.run.weather.site.name
    if window.night is None:
        noun = scenario.night.label
        low, end = (phrases.percent(result.summary[name]) for name in ("lowest_soc", "end_soc"))
        heading = f"The bank goes down to {low} and ends at {end}; no whole {noun} is in this picture"
        if len(result.nights):
            covered = phrases.covered(int(result.nights["covered"].sum()), len(result.nights), noun)
            heading = f"{covered[:1].upper()}{covered[1:]}; the bank goes down to {low}"
        return heading, f"{scenario.title}, {site}.", ""
    one = window.night
    heading, under = headings.night(one, system), headings.night_under(one, result)
    warmest = phrases.temperature(float(one.row["cabin_max_c"]), system)
    between = "" if brief else "when the compressor runs; power of cooler, other loads and charging; "
    words = (
        f"{heading}. {under} Panels over one clock: temperature outdoors and in the cabin, at most {warmest} "
        f"from {headings.clock_of(one.bedtime)} to {headings.clock_of(one.waking)}; {between}state of charge."
    )
    return heading, under, words


# --- the clock --------------------------------------------------------------------------------------------------------


def clock_axis(ax: Axes, window: Window, last: bool) -> None:
    """Clock times below a panel, and the ground of evening and night."""
    ax.set_xlim(window.from_h, window.to_h)
    every = next(h for h in (2.0, 3.0, 4.0, 6.0, 12.0, 24.0, 48.0, 1e9) if window.span_h / h <= _most_ticks(ax))
    ax.xaxis.set_major_locator(MultipleLocator(every))
    ax.xaxis.set_major_formatter(FuncFormatter(lambda hour, _: phrases.clock(hour)))
    ax.tick_params(axis="x", labelbottom=last)
    if window.night is None:
        return
    ax.axvspan(window.account_h, window.bed_h, color=EVENING, zorder=0)
    ax.axvspan(window.bed_h, window.wake_h, color=NIGHT, zorder=0)
    for hour in (window.bed_h, window.wake_h):
        ax.axvline(hour, color=QUIET, linewidth=0.8, linestyle=(0, (1, 2)), zorder=1)


def _most_ticks(ax: Axes) -> int:
    figure: Any = ax.figure
    return max(2, int(ax.get_position().width * figure.get_figwidth() / 0.56))


def _times(ax: Axes, window: Window) -> None:
    """Bedtime and waking above their lines."""
    one = window.night
    if one is None:
        return
    first, last = ("bedtime", "waking") if one.label == "night" else ("from", "to")
    figure: Any = ax.figure
    per_h = ax.get_position().width * figure.get_figwidth() / window.span_h
    close = (window.wake_h - window.bed_h) * per_h < 1.1
    for hour, word, moment, apart in (
        (window.bed_h, first, one.bedtime, "right"),
        (window.wake_h, last, one.waking, "left"),
    ):
        if (window.to_h - hour) * per_h < 0.4:
            side = "right"
        elif (hour - window.from_h) * per_h < 0.4:
            side = "left"
        else:
            side = apart if close else "center"
        ax.annotate(
            f"{word} {headings.clock_of(moment)}", (hour, 1.0), (0, 3), xycoords=ax.get_xaxis_transform(),
            textcoords="offset points", ha=side, fontsize=8, color=QUIET, annotation_clip=False,
        )  # fmt: skip


# --- panels -----------------------------------------------------------------------------------------------------------


def warmth(ax: Axes, result: Result, picture: pd.DataFrame, window: Window, system: str, named: bool = True) -> None:
    """Temperatures outdoors and in the cabin, and the limit over the night."""
    limit_c = result.run.scenario.night.limit_c
    limit = convert(limit_c, "limit_c", system)
    outdoor, cabin = (shown(picture[name].to_numpy(), name, system) for name in ("outdoor_c", "cabin_c"))
    ax.plot(picture.index, outdoor, color=COLOURS["outdoor"], linestyle=DASHED)
    ax.plot(picture.index, cabin, color=COLOURS["cabin"], linewidth=1.4)
    if window.night is not None:
        asleep = (picture.index >= window.bed_h) & (picture.index <= window.wake_h) & (cabin > limit)
        ax.fill_between(picture.index, limit, cabin, where=asleep, color=COLOURS["limit"], alpha=0.16, linewidth=0)
    ax.hlines(limit, window.bed_h, window.wake_h, color=COLOURS["limit"], linewidth=1.2, linestyle=DOTTED)
    ax.yaxis.set_major_locator(MaxNLocator(5, integer=True))
    ax.margins(y=0.08)
    over(ax, f"Temperature [{symbol('cabin_c', system)}]", LIFT)
    if not named:
        return
    labels = [
        (outdoor[-1], "outdoors", COLOURS["outdoor"]),
        (cabin[-1], "cabin", COLOURS["cabin"]),
        (limit, f"limit {phrases.temperature(limit_c, system, None)}", COLOURS["limit"]),
    ]
    beside_ends(ax, labels, lift=LIFT)


def compressor(ax: Axes, result: Result, window: Window) -> None:
    """When the compressor runs."""
    spans = on_spans(result, window.from_h, window.to_h)
    ax.broken_barh(spans, (0, 1), color=COLOURS["cooler"], linewidth=0)
    ax.set_ylim(0, 1)
    ax.set_yticks([])
    ax.grid(False)
    if window.night is None:
        share = sum(length for _, length in spans) / window.span_h
        over(ax, f"Compressor on, {phrases.percent(share)} of the time")
    else:
        share = float(window.night.row["duty"])
        over(ax, f"Compressor on, {phrases.percent(share)} of the {window.night.label}")


def _power(ax: Axes, result: Result, window: Window) -> None:
    """Mean power of cooler and other loads, one on the other, and of what charges."""
    table, edges = mean_powers(result, window)
    loads, cooler = table["loads_w"].to_numpy(), table["cooler_w"].to_numpy()
    ax.stairs(loads, edges, fill=True, color=COLOURS["loads"])
    ax.stairs(loads + cooler, edges, baseline=loads, fill=True, color=COLOURS["cooler"])
    sources = {name: table[f"{name}_w"].to_numpy() for name in ("solar", "alternator", "shore")}
    sources = {name: watts for name, watts in sources.items() if watts.max() > 1.0}
    for name, stroke in (("solar", "-"), ("alternator", (0, (4, 1.5))), ("shore", (0, (1, 1)))):
        if name in sources:
            ax.stairs(sources[name], edges, baseline=None, color=COLOURS[name], linewidth=1.6, linestyle=stroke)
    top = max([float((loads + cooler).max()), *(float(watts.max()) for watts in sources.values()), 1.0])
    ax.set_ylim(0, top * (1.25))
    ax.yaxis.set_major_locator(MaxNLocator(4))
    over(ax, "Power, hourly means [W]")
    beside_ends(ax, [(0.0, "other loads", ink("loads"))])
    middles = 0.5 * (edges[1:] + edges[:-1])
    named = {"cooler": loads + cooler} if cooler.max() > 0.0 else {}
    for name, watts in {**named, **sources}.items():
        tallest = np.argsort(-watts, kind="stable")[:4]
        spots = [(float(middles[i]), float(watts[i])) for i in tallest if watts[i] > 0.5 * watts.max()]
        place(ax, {"shore": "shore power"}.get(name, name), spots, ink(name))


def charge(ax: Axes, result: Result, picture: pd.DataFrame, window: Window, named: bool = True) -> None:
    """State of charge, the reserve, and what is left at waking or when the bank was empty."""
    reserve = result.run.scenario.bank.reserve_soc
    soc = 100.0 * picture["soc"].to_numpy()
    ax.plot(picture.index, soc, color=COLOURS["soc"], linewidth=2.2)
    ax.axhspan(0, 100 * reserve, facecolor="none", edgecolor=COLOURS["reserve"], hatch="////", alpha=0.25)
    ax.axhline(100 * reserve, color=COLOURS["reserve"], linewidth=1.2)
    ax.set_ylim(0, 104)
    ax.set_yticks([0, 25, 50, 75, 100])
    over(ax, "State of charge [%]")
    if named:
        ends = [(soc[-1], "bank", COLOURS["soc"])]
        beside_ends(ax, [*ends, (100 * reserve, f"reserve {phrases.percent(reserve)}", COLOURS["reserve"])], gap=0.14)
    if window.night is None:
        return
    row, end = window.night.row, phrases.at_end(window.night.label)
    if window.empty_h is None:
        hour, words = window.wake_h, f"{phrases.percent(row['waking_soc'])} {end}"
    else:
        hour, words = window.empty_h, f"reserve at {headings.clock_of(row['empty_at'])}"
    left = float(soc[np.argmin(np.abs(picture.index.to_numpy() - hour))])
    ax.plot([hour], [left], "o", color=COLOURS["soc"], markersize=5)
    place(ax, words, [(hour, left)], INK, ("above right", "above left", "below left", "above", "right", "left"))
