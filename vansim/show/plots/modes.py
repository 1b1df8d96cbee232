"""The picture of eco against boost: the same night in one mode and in the other."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np
from matplotlib.axes import Axes
from matplotlib.ticker import MaxNLocator

from vansim import phrases
from vansim.show.plots.figure import COLOURS, WIDE_IN, Sheet, begin, calm, ink, panel, shown
from vansim.show.plots.headings import clock_of
from vansim.show.plots.labels import along, over, place
from vansim.show.plots.rows import Column, rows_in
from vansim.studies.side_by_side import ModeNumbers, first_start_s, mode_numbers, moments
from vansim.units import symbol

if TYPE_CHECKING:
    from vansim.runs.result import Result

BEFORE_MIN = 10.0


def eco_against_boost(
    eco: Result, boost: Result, system: str = "si", width_in: float = WIDE_IN, which: int = 0
) -> Sheet:
    """Draw the same night cooled in eco and in boost.

    Parameters
    ----------
    eco, boost : Result
        From `vansim.simulate`: the same scenario, every segment with cooling in the one mode or the other.
    system : {"si", "us"}
        Units shown.
    width_in : float
        Width [in].
    which : int
        Row of `Result.nights` of both, from 0; negative from the end.

    Returns
    -------
    Figure
        Cool-down of the cabin as the day left it, from the first start on; energy, starts and charge left of the
        account.
    """
    runs = {"eco": eco, "boost": boost}
    numbers = {name: mode_numbers(result, which) for name, result in runs.items()}
    scenario, date = eco.run.scenario, phrases.date(eco.night(which).date)
    with calm():
        under = (
            f"{scenario.title}, {date}. Cool-down: from the first start in a cabin above its limit until it is below."
        )
        heading, narrow = finding(numbers, scenario.night.label), width_in < 5.0
        sheet = begin(width_in, 4.9 if narrow else 3.1, heading, under, _words(numbers, heading, under))
        curve = panel(sheet, 0.5, 2.75, 0.2, 1.8) if narrow else panel(sheet, 0.5, 0.5, 0.5 * width_in + 0.1, 2.2)
        _cool_down(curve, runs, numbers, system, which)
        left = 0.62 if narrow else 0.5 * width_in + 0.6
        for place_, (name, column) in enumerate(columns(numbers, scenario.night.label).items()):
            bottom = 1.5 - 0.72 * place_ if narrow else 2.05 - 0.95 * place_
            ax = panel(sheet, left, bottom, 0.1, 0.44 if narrow else 0.56)
            rows_in(ax, column, list(runs), width_in - left - 0.1)
            over(ax, name, lift=1, shift=-34)
        return sheet


def columns(numbers: dict[str, ModeNumbers], noun: str = "night") -> dict[str, Column]:
    """The bars: what is measured, by name."""
    shades = [COLOURS[name] for name in numbers]
    told = list(numbers.values())
    return {
        "Cooler, whole account [Wh]": Column(
            "", np.array([n.cooler_wh for n in told]), [phrases.energy(n.cooler_wh) for n in told], shades
        ),
        "Compressor starts": Column(
            "", np.array([float(n.starts) for n in told]), [str(n.starts) for n in told], shades
        ),
        f"Charge left {phrases.at_end(noun)} [%]": Column(
            "", np.array([100.0 * n.waking_soc for n in told]), [phrases.percent(n.waking_soc) for n in told], shades
        ),
    }


def finding(numbers: dict[str, ModeNumbers], noun: str = "night") -> str:
    """What eco saves against boost, and what it costs in time; where a bank runs empty, how long each lasts.

    A cooler that stands still for want of charge saves nothing: its energy is not set against the other's then.
    """
    eco, boost = numbers["eco"], numbers["boost"]
    if eco.empty_at is not None or boost.empty_at is not None:
        return f"Eco: {_ends(eco, noun)}; boost: {_ends(boost, noun)}"
    if max(eco.cooler_wh, boost.cooler_wh) < 0.5:
        return f"The cooler uses {phrases.energy(0.0)}, in eco and in boost"
    share = 1.0 - eco.cooler_wh / boost.cooler_wh if boost.cooler_wh > 0.0 else 0.0
    text = f"Eco uses {phrases.percent(abs(share))} {'less' if share >= 0 else 'more'} energy than boost"
    later = eco.cool_down_min - boost.cool_down_min
    if not np.isfinite(later):
        return text
    if abs(later) < 1.0:
        return f"{text} and cools down just as fast"
    return f"{text} and cools down {phrases.duration(abs(later) / 60.0)} {'later' if later > 0 else 'sooner'}"


def _ends(one: ModeNumbers, noun: str) -> str:
    """When the bank is empty, or what is left in it."""
    if one.empty_at is not None:
        return f"empty at {clock_of(one.empty_at)}"
    return f"{phrases.percent(one.waking_soc)} left {phrases.at_end(noun)}"


def _words(numbers: dict[str, ModeNumbers], heading: str, under: str) -> str:
    told = "; ".join(
        f"{name}: cool-down {phrases.cool_down(n.cool_down_min)}, {phrases.energy(n.cooler_wh)}, "
        f"{phrases.count(n.starts, 'start')}"
        for name, n in numbers.items()
    )
    return f"{heading}. {under} {told}."


def _cool_down(ax: Axes, runs: dict[str, Result], numbers: dict[str, ModeNumbers], system: str, which: int) -> None:
    longest = np.nanmax([30.0, *(n.cool_down_min for n in numbers.values())])
    span_min = float(min(max(1.3 * longest, 45.0), 360.0))
    limit_c = next(iter(runs.values())).run.scenario.night.limit_c
    limit = float(shown(limit_c, "limit_c", system))
    spots = {}
    for (name, result), stroke in zip(runs.items(), ("-", (0, (5, 2))), strict=True):
        start_s = first_start_s(result, which)
        if start_s is None:
            continue
        times = moments(result, start_s, start_s - BEFORE_MIN * 60.0, start_s + span_min * 60.0)
        cabin = shown(result.follow(times)["cabin_c"], "cabin_c", system)
        minutes = (times - start_s) / 60.0
        ax.plot(minutes, cabin, color=COLOURS[name], linestyle=stroke, linewidth=1.6)
        at = [int(share * (minutes.size - 1)) for share in (0.2, 0.3, 0.15, 0.4, 0.1)]
        spots[name] = [(float(minutes[i]), float(cabin[i])) for i in at]
        done = numbers[name].cool_down_min
        if np.isfinite(done):
            ax.plot([done], [float(np.interp(done, minutes, cabin))], "o", color=COLOURS[name], markersize=5, zorder=5)
            spots[name].insert(0, (done, limit))
    ax.axhline(limit, color=COLOURS["limit"], linewidth=0.9, linestyle=(0, (2, 1.5)), zorder=1)
    ax.set_xlim(-BEFORE_MIN, span_min)
    ax.margins(y=0.12)
    ax.xaxis.set_major_locator(MaxNLocator(5, integer=True, steps=[1, 1.5, 3, 6, 10]))
    ax.set_xlabel("Minutes from the first start")
    over(ax, f"Cabin [{symbol('cabin_c', system)}]", shift=-30)
    along(ax, f"limit {phrases.temperature(limit_c, system, None)}", limit, COLOURS["limit"])
    for name, where in spots.items():
        text = f"{name}: {phrases.cool_down(numbers[name].cool_down_min)}"
        place(ax, text, where, ink(name), ("above right", "right", "below left", "left", "above", "below"))
