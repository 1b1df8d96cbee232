"""Pictures of what could be done otherwise: where the energy went, eco or boost, which upgrade gains most."""

from __future__ import annotations

import textwrap
from typing import TYPE_CHECKING, Any

import numpy as np
import pandas as pd
from matplotlib.axes import Axes
from matplotlib.ticker import MaxNLocator

from vansim import phrases
from vansim.show.plots.figure import (
    COLOURS,
    NARROW_BELOW_IN,
    QUIET,
    WIDE_IN,
    Sheet,
    begin,
    calm,
    note,
    over,
    panel,
    shown,
)
from vansim.show.plots.night import fine
from vansim.show.text import handed, headings
from vansim.units import symbol

if TYPE_CHECKING:
    from vansim.runs.result import Result

ROW_IN = 0.3
LETTER_IN = 0.072
"""Room that a letter of a bar's value takes, on the safe side [in]."""
MOST_CHANGES = 12
LOST, FEWER = "#c9b3a8", "#b7d3cf"


CAUSE_COLOURS = {
    "roof": COLOURS["faces"], "walls": COLOURS["faces"], "floor": COLOURS["faces"], "glass, sun": COLOURS["glass"],
    "glass, conduction": COLOURS["glass"], "leakage": COLOURS["air"], "roof fan's air": COLOURS["air"],
    "latent": COLOURS["air"], "people and dogs": COLOURS["people"], "other loads": COLOURS["loads"],
    "equipment": COLOURS["loads"],
}  # fmt: skip
LEAST_SHARE = 0.005


def energy(table: pd.DataFrame, system: str = "si", width_in: float = WIDE_IN, under: str = "") -> Sheet:
    """Draw where a night's electricity went.

    Parameters
    ----------
    table : DataFrame
        From `vansim.studies.energy.causes`.
    system : {"si", "us"}
        Units shown; energy is in Wh in both.
    width_in : float
        Width [in].
    under : str
        Which van and night.

    Returns
    -------
    Figure
        Bars by cause from bedtime to waking, the largest first; causes below half a per cent are put together.
    """
    told = telling_causes(table)
    with calm():
        sheet = begin(width_in, 0.45 + ROW_IN * len(told), headings.energy(table), under)
        ax = panel(sheet, _names_in(told.index, sheet) + 0.1, 0.1, 0.1, 0.15 + ROW_IN * len(told))
        colours = [CAUSE_COLOURS.get(str(name), COLOURS["cooler"]) for name in told.index]
        pairs = zip(told["electric_wh"].tolist(), told["share"].tolist(), strict=True)
        texts = [f"{phrases.energy(wh)}, {phrases.percent(share)}" for wh, share in pairs]
        names = [phrases.cause(str(name)) for name in told.index]
        _bars(ax, names, told["electric_wh"].to_numpy(), colours, texts)
        return sheet


def telling_causes(table: pd.DataFrame) -> pd.DataFrame:
    """Causes that took something, the largest first; the smallest put together as ``all others``."""
    some = table[table["share"] >= LEAST_SHARE]
    rest = table[table["share"] < LEAST_SHARE]
    if rest["share"].sum() < 1e-6:
        return some
    return pd.concat([some, rest.sum().to_frame("all others").T])


def _names_in(names: Any, sheet: Sheet) -> float:
    """Room for names at the left of bars [in]."""
    return min(0.1 + 0.08 * max(len(str(name)) for name in names), 0.42 * float(sheet.get_figwidth()))


def _bars(ax: Axes, names: list[str], values: Any, colours: list[str], texts: list[str]) -> None:
    """Horizontal bars from the top down, each with its value at its end."""
    places = np.arange(len(names))
    ax.barh(places, values, height=0.62, color=colours)
    ax.set_ylim(len(names) - 0.4, -0.6)
    ax.grid(False)
    ax.set_xticks([])
    ax.spines["bottom"].set_visible(False)
    ax.spines["left"].set_visible(False)
    ax.set_yticks(places, names)
    ax.axvline(0.0, color="#7b8786", linewidth=0.8)
    low, high = min(0.0, float(np.min(values))), max(0.0, float(np.max(values)))
    span = (high - low) or 1.0
    figure = ax.get_figure()
    width_in = ax.get_position().width * (figure.get_figwidth() if isinstance(figure, Sheet) else WIDE_IN)
    after, before = (
        max((LETTER_IN * len(t) + 0.1 for t, v in zip(texts, values, strict=True) if (v < 0.0) == left), default=0.0)
        for left in (False, True)
    )
    per_in = span / max(width_in - after - before, 0.5)
    ax.set_xlim(low - before * per_in, high + after * per_in)
    for place, (value, text) in enumerate(zip(values, texts, strict=True)):
        side = -1 if value < 0.0 else 1
        ax.text(
            value + side * 0.05 * per_in, place, text, va="center", ha="right" if side < 0 else "left", fontsize=8.5
        )


# --- what is worth most ---------------------------------------------------------------------------------------------


def worth(table: pd.DataFrame, system: str = "si", width_in: float = WIDE_IN, base_share: float | None = None) -> Sheet:
    """Draw single upgrades ranked by the runtime that they gain.

    Parameters
    ----------
    table : DataFrame
        From `vansim.studies.upgrades.worth_most`.
    system : {"si", "us"}
        Units shown; hours in both.
    width_in : float
        Width [in].
    base_share : float or None
        Share of nights covered without any upgrade: those that cover fewer are pale and do not make the heading.

    Returns
    -------
    Figure
        Bars in hours of runtime (P10), each with the battery that would gain as much; those that lose hours point left.
        At most a dozen, and those that change nothing are left out.
    """
    ranked = telling(table)
    gains = ranked["gained_p10_h"].to_numpy()
    fewer = (ranked["kept_share"].to_numpy() < (base_share or 0.0) - 1e-9) & (gains > 0.0)
    narrow = width_in < NARROW_BELOW_IN
    row_in = 0.34 if narrow else ROW_IN
    with calm():
        under = (
            "Runtime gained (P10: 1 night in 10 is shorter), one upgrade at a time."
            + ("" if narrow else " In brackets: the battery that would gain as much.")
            + (" Pale: fewer nights are covered." if fewer.any() else "")
        )
        sheet = begin(width_in, 0.4 + row_in * len(ranked), headings.upgrades(table, base_share, system), under)
        names = [_wrapped(handed.change(str(name), system), sheet) for name in ranked.index]
        ax = panel(sheet, 1.62 if sheet.narrow else 2.9, 0.1, 0.1, 0.15 + row_in * len(ranked))
        texts = [_gain(row, brief=narrow) for _, row in ranked.iterrows()]
        colours = [
            FEWER if few else COLOURS["change"] if gain > 0 else LOST for gain, few in zip(gains, fewer, strict=True)
        ]
        _bars(ax, names, gains, colours, texts)
        ax.tick_params(axis="y", labelsize=8)
        return sheet


def designs(table: pd.DataFrame, system: str = "si", width_in: float = WIDE_IN) -> Sheet:
    """Draw designs side by side by their runtime (P10).

    Parameters
    ----------
    table : DataFrame
        From `vansim.studies.compare.compare`; its first row is the design as it is.
    system : {"si", "us"}
        Units shown; hours in both.
    width_in : float
        Width [in].

    Returns
    -------
    Figure
        A bar a design, each with the share of nights covered; pale where fewer are covered than as it is.
    """
    hours_p10, kept = table["runtime_p10_h"].to_numpy(), table["kept_share"].to_numpy()
    under = "Runtime (bedtime to reserve), P10: 1 night in 10 is shorter. In brackets: nights covered."
    row_in = 0.34 if width_in < NARROW_BELOW_IN else ROW_IN
    with calm():
        sheet = begin(width_in, 0.4 + row_in * len(table), headings.designs(table, system), under)
        names = [_wrapped(handed.change(str(name), system), sheet) for name in table.index]
        ax = panel(sheet, 1.62 if sheet.narrow else 2.9, 0.1, 0.1, 0.15 + row_in * len(table))
        texts = [f"{phrases.runtime(h)} ({phrases.percent(share)})" for h, share in zip(hours_p10, kept, strict=True)]
        colours = [QUIET, *(FEWER if share < kept[0] - 1e-9 else COLOURS["change"] for share in kept[1:])]
        _bars(ax, names, hours_p10, colours, texts)
        ax.tick_params(axis="y", labelsize=8)
        return sheet


def _wrapped(name: str, sheet: Sheet) -> str:
    return "\n".join(textwrap.wrap(phrases.unbroken(name), 24 if sheet.narrow else 44)[:3])


def telling(table: pd.DataFrame) -> pd.DataFrame:
    """Changes that do something, as many as a picture takes: the largest gains, and the largest losses."""
    some = table[table["gained_p10_h"].abs() >= 0.05]
    some = some if len(some) else table
    if len(some) <= MOST_CHANGES:
        return some
    return pd.concat([some.iloc[: MOST_CHANGES - 2], some.iloc[-2:]])


def _gain(row: pd.Series[Any], brief: bool) -> str:
    hour, kwh = float(row["gained_p10_h"]), float(row["same_by_bank_kwh"])
    text = phrases.gain(hour)
    if brief or hour < 0.05 or kwh <= 0.0:
        return text
    return text + (f" ({phrases.energy(1000.0 * kwh)})" if np.isfinite(kwh) else " (no bank)")


# --- eco against boost ----------------------------------------------------------------------------------------------


def eco_against_boost(eco: Result, boost: Result, system: str = "si", width_in: float = WIDE_IN) -> Sheet:
    """Draw the same night cooled in eco and in boost.

    Parameters
    ----------
    eco, boost : Result
        The same scenario, every stretch of cooling in the one mode or the other.
    system : {"si", "us"}
        Units shown.
    width_in : float
        Width [in].

    Returns
    -------
    Figure
        Cool-down of the hot cabin from the first start on; energy and starts from bedtime to waking.
    """
    runs = {"eco": eco, "boost": boost}
    with calm():
        one, other = ("Above", "Below") if width_in < NARROW_BELOW_IN else ("Left", "Right")
        under = (
            f"{eco.run.scenario.title}. {one}: cool-down, from the first start to the night's limit. "
            f"{other}: bedtime to waking."
        )
        heading = headings.modes({name: mode_numbers(result) for name, result in runs.items()})
        sheet = begin(width_in, 4.75 if width_in < NARROW_BELOW_IN else 3.1, heading, under)
        if sheet.narrow:
            curve = panel(sheet, 0.5, 2.45, 0.2, 1.95)
            bars = [panel(sheet, 0.62, 0.15 + 0.86 * i, 0.2, 0.62) for i in (1, 0)]
        else:
            curve = panel(sheet, 0.5, 0.5, 0.5 * width_in, 2.2)
            bars = [panel(sheet, 0.62 * width_in, 0.55 + 1.2 * i, 0.2, 0.82) for i in (1, 0)]
        _cool_down(curve, runs, system)
        for ax, name, words, say in (
            (bars[0], "cooler_wh", "Energy of the cooler", phrases.energy),
            (bars[1], "starts", "Compressor starts", lambda starts: str(round(starts))),
        ):
            values = np.array([mode_numbers(result)[name] for result in runs.values()])
            _bars(ax, list(runs), values, [COLOURS["eco"], COLOURS["boost"]], [say(float(v)) for v in values])
            over(ax, words, lift=1, shift=-38)
        return sheet


def mode_numbers(result: Result) -> dict[str, float]:
    """What tells modes apart: cool-down to the night's limit [min, nan if never], and the night's energy and starts."""
    start = first_start_h(result)
    row = result.nights.iloc[0]
    picture = fine(result, start, start + 12.0) if start is not None else None
    goal = result.run.scenario.night.limit_c
    reached = np.flatnonzero(picture["cabin_c"] <= goal) if picture is not None else np.empty(0)
    return {
        "cool_down_min": 60.0 * float(picture.index[reached[0]] - start)
        if picture is not None and reached.size
        else np.nan,
        "cooler_wh": float(row["cooler_wh"]),
        "starts": float(row["starts"]),
    }


def first_start_h(result: Result) -> float | None:
    """First compressor start of a run, in hours since its first midnight."""
    log = result.marched.log
    starts = log[log[:, 1] == k.STARTED, 0]
    return float(starts[0]) / 3600.0 if starts.size else None


def _cool_down(ax: Axes, runs: dict[str, Result], system: str) -> None:
    minutes_to = {name: mode_numbers(result)["cool_down_min"] for name, result in runs.items()}
    longest = np.nanmax([*minutes_to.values(), 30.0])
    span_min = float(min(max(1.3 * longest, 45.0), 360.0))
    limit_c = next(iter(runs.values())).run.scenario.night.limit_c
    limit = float(shown(limit_c, "limit_c", system))
    ends = {}
    for (name, result), stroke in zip(runs.items(), ("-", (0, (5, 2))), strict=True):
        start = first_start_h(result)
        if start is None:
            continue
        picture = fine(result, start - 0.25, start + span_min / 60.0)
        cabin = shown(picture["cabin_c"], "cabin_c", system)
        minutes = 60.0 * (picture.index.to_numpy() - start)
        ax.plot(minutes, cabin, color=COLOURS[name], linestyle=stroke, linewidth=1.6)
        ends[name] = (minutes, cabin)
    ax.axhline(limit, color=COLOURS["limit"], linewidth=0.9, linestyle=(0, (2, 1.5)), zorder=1)
    ax.set_xlim(-15, span_min)
    ax.margins(y=0.1)
    low, high = ax.get_ylim()
    for place, name in enumerate(ends):
        text = f"{name}: {phrases.cool_down(minutes_to[name])}"
        note(ax, span_min, high - (0.07 + 0.11 * place) * (high - low), text, COLOURS[name], ha="right", va="center")
    ax.xaxis.set_major_locator(MaxNLocator(5, integer=True, steps=[1, 1.5, 3, 6, 10]))
    ax.set_xlabel("Minutes from the first start")
    over(ax, f"Cabin [{symbol('cabin_c', system)}]", shift=-30)
    note(
        ax, -13, limit, f"limit {phrases.temperature(limit_c, system, None)}", COLOURS["limit"], va="bottom", fontsize=8
    )
