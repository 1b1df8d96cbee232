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
from vansim.boundary.forcing import night_minutes
from vansim.march import records as k
from vansim.runs.run import march_run
from vansim.scenario.schema import DAY_MIN
from vansim.show.plots.figure import (
    COLOURS,
    INK,
    NIGHT,
    QUIET,
    WIDE_IN,
    Sheet,
    begin,
    calm,
    is_narrow,
    note,
    over,
    shown,
)
from vansim.show.text import handed, headings
from vansim.units import convert, symbol

if TYPE_CHECKING:
    from vansim.runs.result import Result

Array = npt.NDArray[Any]
BEFORE_H, AFTER_H = 4.0, 2.0
LIFT = 18.0
"""Height of the first panel's name above it [pt]: bedtime and waking stand between."""


@dataclass(frozen=True)
class Window:
    """The part of a run that is drawn; all times in hours since midnight of the run's first day.

    Attributes
    ----------
    from_h, to_h : float
        Drawn.
    bed_h, wake_h : float or None
        Bedtime and waking; None where the run has no whole night.
    row : Series or None
        The night's row of `Result.nights`.
    """

    from_h: float
    to_h: float
    bed_h: float | None
    wake_h: float | None
    row: pd.Series[Any] | None


def choose_night(result: Result, which: int | None = None) -> Window:
    """Window around a night.

    Parameters
    ----------
    result : Result
        A run.
    which : int or None
        Position in `Result.nights`; left out, the first night that was not covered, else the first.

    Returns
    -------
    Window
        From a few hours before bedtime to a little after waking; the whole run where it holds no night.

    Raises
    ------
    IndexError
        No such night.
    """
    run, nights = result.run, result.nights
    start, end = run.start_min / 60.0, run.end_min / 60.0
    if not len(nights):
        return Window(start, end, None, None, None)
    if which is None:
        which = int(np.argmin(nights["kept"].to_numpy(dtype=bool)))
    if not -len(nights) <= which < len(nights):
        raise IndexError(f"night {which}: this run has {len(nights)} nights, 0 to {len(nights) - 1}")
    row = nights.iloc[which]
    day = (nights.index[which] - nights.index[0]).days + _first_night_day(result)
    bed, wake = (m / 60.0 for m in night_minutes(run.scenario, day))
    return Window(max(start, bed - BEFORE_H), min(end, wake + AFTER_H), bed, wake, row)


def _first_night_day(result: Result) -> int:
    run = result.run
    days = range(run.start_min // DAY_MIN - 1, run.end_min // DAY_MIN + 1)
    return next(d for d in days if night_minutes(run.scenario, d)[0] >= run.start_min)


def fine(result: Result, from_h: float, to_h: float, step_min: float = 1.0) -> pd.DataFrame:
    """States at even moments of a window, from the closed form; index in hours since the first midnight."""
    moments = np.arange(from_h * 3600.0 + 60.0 * step_min, to_h * 3600.0 + 1e-6, 60.0 * step_min)
    rows = march_run(result.run, result.marched.start, moments).samples
    names = {"outdoor_c": k.S_OUTDOOR, "cabin_c": k.S_CABIN, "soc": k.S_SOC, "on": k.S_ON, "cooler_w": k.S_COOLER_W}
    return pd.DataFrame({name: rows[:, column] for name, column in names.items()}, index=moments / 3600.0)


def on_spans(result: Result, from_h: float, to_h: float) -> list[tuple[float, float]]:
    """Compressor on-periods of a window as (start, length) [h], exact to the switching."""
    spans, since = [], from_h if result.marched.start[k.ON] > 0.0 else None
    for second, kind in result.marched.log:
        hour = second / 3600.0
        if kind == k.STARTED:
            since = hour
        elif kind in (k.STOPPED, k.SHEDDED) and since is not None:
            spans.append((since, hour))
            since = None
    if since is not None:
        spans.append((since, to_h))
    clipped = ((max(a, from_h), min(b, to_h)) for a, b in spans)
    return [(a, b - a) for a, b in clipped if b > a]


def night(result: Result, system: str = "si", which: int | None = None, width_in: float = WIDE_IN) -> Sheet:
    """Draw a night.

    Parameters
    ----------
    result : Result
        A run.
    system : {"si", "us"}
        Units shown.
    which : int or None
        Position in `Result.nights`; left out, the first night that was not covered, else the first.
    width_in : float
        Width [in]; below 5 it is laid out for a phone.

    Returns
    -------
    Figure
        Temperatures, compressor on-periods, power and state of charge over one time axis, with bedtime, waking, limit
        and reserve.
    """
    window = choose_night(result, which)
    with calm():
        finding, under = _headline(result, window, system)
        body_in = 6.0
        sheet = begin(width_in, body_in, finding, under)
        left, right = (0.56, 0.24) if sheet.narrow else (0.62, 0.98)
        height_in = sheet.get_figheight()
        grid = sheet.add_gridspec(
            4, 1, height_ratios=[3.2, 0.45, 2.0, 2.2], hspace=0.46, left=left / width_in, right=1 - right / width_in,
            top=(body_in - 0.36) / height_in, bottom=0.34 / height_in,
        )  # fmt: skip
        panels = [sheet.add_subplot(grid[0])]
        panels += [sheet.add_subplot(grid[i], sharex=panels[0]) for i in range(1, 4)]
        picture = fine(result, window.from_h, window.to_h)
        _warmth(panels[0], result, picture, window, system)
        _compressor(panels[1], result, window)
        _power(panels[2], result, window)
        _charge(panels[3], result, picture, window)
        for panel in panels:
            _clock_axis(panel, window, last=panel is panels[-1])
        _bed_and_waking(panels, window, result.run.scenario.night.label)
        return sheet


def _headline(result: Result, window: Window, system: str) -> tuple[str, str]:
    scenario, place = result.run.scenario, result.run.weather.site.name
    if window.row is None:
        return handed.answer(result, system).rstrip("."), f"{scenario.title}, {place}"
    return headings.night(
        window.row, scenario, system
    ), f"{scenario.title}, {place}, {phrases.date(pd.Timestamp(str(window.row.name)))}"


def _clock_axis(ax: Axes, window: Window, last: bool) -> None:
    ax.set_xlim(window.from_h, window.to_h)
    span = window.to_h - window.from_h
    ax.xaxis.set_major_locator(MultipleLocator((3.0 if is_narrow(ax) else 2.0) * max(1, round(span / 16))))
    ax.xaxis.set_major_formatter(FuncFormatter(lambda hour, _: phrases.clock(hour)))
    ax.tick_params(axis="x", labelbottom=last)
    if window.bed_h is not None and window.wake_h is not None:
        ax.axvspan(window.bed_h, window.wake_h, color=NIGHT, zorder=0)
        for hour in (window.bed_h, window.wake_h):
            ax.axvline(hour, color=QUIET, linewidth=0.8, linestyle=(0, (1, 2)), zorder=1)


def _bed_and_waking(panels: list[Axes], window: Window, called: str) -> None:
    begins, ends = ("bedtime", "waking") if called == "night" else ("from", "to")
    for hour, word in ((window.bed_h, begins), (window.wake_h, ends)):
        if hour is not None:
            place = panels[0].get_xaxis_transform()
            panels[0].text(
                hour, 1.01, f"{word} {phrases.clock(hour)}", transform=place, ha="center", fontsize=8, color=QUIET
            )


def _beside(ax: Axes, labels: list[tuple[float, str, str]], gap: float = 0.11, lift: float = 6.0) -> None:
    """Labels at the right edge, or on a narrow picture in the panel's head; moved apart where they would touch."""
    low, high = ax.get_ylim()
    if is_narrow(ax):
        _in_a_row(ax, [(text, colour) for _, text, colour in labels], lift)
        return
    spots = sorted(((value - low) / (high - low), text, colour) for value, text, colour in labels)
    ys: list[float] = []
    for spot, _, _ in spots:
        ys.append(max(spot, ys[-1] + gap) if ys else spot)
    over = max(0.0, ys[-1] - 1.0) if ys else 0.0
    for y, (_, text, colour) in zip(ys, spots, strict=True):
        ax.text(1.015, y - over, text, transform=ax.transAxes, color=colour, fontsize=8.5, va="center")


def _in_a_row(ax: Axes, labels: list[tuple[str, str]], lift: float) -> None:
    """Names of lines in a row above the panel, from the right: for narrow pictures."""
    before: Any = ax
    spot: tuple[float, float] = (1.0, 1.0)
    for text, colour in reversed(labels):
        before = ax.annotate(
            text.replace("\n", " "), spot, xycoords="axes fraction" if before is ax else before,
            xytext=(0, lift) if before is ax else (-8, 0), textcoords="offset points", ha="right",
            va="bottom" if before is ax else "center", color=colour, fontsize=8.5,
        )  # fmt: skip
        spot = (0.0, 0.5)


def _warmth(ax: Axes, result: Result, picture: pd.DataFrame, window: Window, system: str) -> None:
    limit_c = result.run.scenario.night.limit_c
    limit = convert(limit_c, "limit_c", system)
    outdoor, cabin = (shown(picture[name].to_numpy(), name, system) for name in ("outdoor_c", "cabin_c"))
    ax.plot(picture.index, outdoor, color=COLOURS["outdoor"], linestyle=(0, (5, 2)))
    ax.plot(picture.index, cabin, color=COLOURS["cabin"], linewidth=1.4)
    from_h = window.from_h if window.bed_h is None else window.bed_h
    to_h = window.to_h if window.wake_h is None else window.wake_h
    ax.hlines(limit, from_h, to_h, color=COLOURS["limit"], linewidth=1.2, linestyle=(0, (2, 1.5)))
    ax.yaxis.set_major_locator(MaxNLocator(5, integer=True))
    ax.margins(y=0.08)
    unit = symbol("cabin_c", system)
    over(ax, f"Temperature [{unit}]", LIFT)
    _beside(ax, [
        (outdoor[-1], "outdoors", COLOURS["outdoor"]),
        (cabin[-1], "cabin", COLOURS["cabin"]),
        (limit, f"limit {phrases.temperature(limit_c, system, None)}", COLOURS["limit"]),
    ], lift=LIFT)  # fmt: skip


def _compressor(ax: Axes, result: Result, window: Window) -> None:
    spans = on_spans(result, window.from_h, window.to_h)
    ax.broken_barh(spans, (0, 1), color=COLOURS["cooler"], linewidth=0)
    ax.set_ylim(0, 1)
    ax.set_yticks([])
    ax.grid(False)
    share = sum(length for _, length in spans) / (window.to_h - window.from_h)
    over(ax, f"Compressor running {phrases.percent(share)} of the time shown")


def mean_powers(result: Result, window: Window) -> tuple[pd.DataFrame, Array]:
    """Mean flows [W] of each piece of a run that lies in a window, and the edges of the pieces [h].

    A piece ends at every full hour and wherever the plan changes.
    """
    p = result.pieces
    start = p["start_s"].to_numpy() / 3600.0
    end = start + p["span_s"].to_numpy() / 3600.0
    inside = (end > window.from_h + 1e-9) & (start < window.to_h - 1e-9)
    edges = np.append(start[inside], end[inside][-1]).clip(window.from_h, window.to_h)
    return p.loc[inside, ["cooler_w", "loads_w", "solar_w", "alternator_w", "shore_w"]], edges


def _power(ax: Axes, result: Result, window: Window) -> None:
    table, edges = mean_powers(result, window)
    loads, cooler = table["loads_w"].to_numpy(), table["cooler_w"].to_numpy()
    ax.stairs(loads, edges, fill=True, color=COLOURS["loads"])
    ax.stairs(loads + cooler, edges, baseline=loads, fill=True, color=COLOURS["cooler"])
    labels = [(0.0, "other loads", "#5f6b69"), (float((loads + cooler).max()) * 0.45, "cooler", COLOURS["cooler"])]
    for name, strokes in (("solar", "-"), ("alternator", (0, (4, 1.5))), ("shore", (0, (1, 1)))):
        watts = table[f"{name}_w"].to_numpy()
        if watts.max() > 1.0:
            ax.stairs(watts, edges, baseline=None, color=COLOURS[name], linewidth=1.6, linestyle=strokes)
            colour = "#8a6508" if name == "solar" else COLOURS[name]
            labels.append((float(watts.max()), {"shore": "shore power"}.get(name, name), colour))
    ax.set_ylim(0, None)
    ax.yaxis.set_major_locator(MaxNLocator(4))
    over(ax, "Power, hourly means [W]")
    _beside(ax, labels, gap=0.17, lift=6.0 if len(labels) < 4 else 19.0)


def _charge(ax: Axes, result: Result, picture: pd.DataFrame, window: Window) -> None:
    bank = result.run.scenario.bank
    charge = 100.0 * picture["soc"].to_numpy()
    ax.plot(picture.index, charge, color=COLOURS["soc"], linewidth=2.2)
    ax.axhspan(0, 100 * bank.reserve_soc, facecolor="none", edgecolor=COLOURS["reserve"], hatch="////", alpha=0.25)
    ax.axhline(100 * bank.reserve_soc, color=COLOURS["reserve"], linewidth=1.2)
    ax.set_ylim(0, 104)
    ax.set_yticks([0, 25, 50, 75, 100])
    over(ax, "State of charge [%]")
    labels = [
        (float(charge[-1]), f"bank {phrases.percent(charge[-1] / 100.0)}", COLOURS["soc"]),
        (100 * bank.reserve_soc, f"reserve {phrases.percent(bank.reserve_soc)}", COLOURS["reserve"]),
    ]
    _beside(ax, labels, gap=0.14)
    row = window.row
    if row is None or window.bed_h is None or window.wake_h is None:
        return
    hour = window.bed_h + row["runtime_h"] if row["runtime_h"] > 0.0 else window.wake_h
    soc = float(np.interp(hour, picture.index, charge))
    end = phrases.at_end(result.run.scenario.night.label)
    left = f"{phrases.percent(soc / 100.0)} {end}"
    words = f"reserve at {phrases.clock(hour)}" if row["runtime_h"] > 0.0 else left
    ax.plot([hour], [soc], "o", color=COLOURS["soc"], markersize=5)
    # the curve falls towards the point: free space is below and before it, or above and after it
    if soc >= 32.0:
        covered = (picture.index <= hour) & (picture.index > hour - 0.4 * (window.to_h - window.from_h))
        note(ax, hour - 0.15, charge[covered].min() - 8, words, INK, ha="right", va="top")
    else:
        after = hour + 0.15 < window.to_h - 0.3 * (window.to_h - window.from_h)
        note(ax, hour + (0.15 if after else -0.15), soc + 12, words, INK, ha="left" if after else "right", va="bottom")
