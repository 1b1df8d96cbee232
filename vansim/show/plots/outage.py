"""The picture of an outage: how the cabin warms once the cooling has stopped."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

import numpy as np
import numpy.typing as npt
import pandas as pd
from matplotlib.axes import Axes
from matplotlib.ticker import MaxNLocator

from vansim import phrases
from vansim.show.plots.figure import COLOURS, NARROW_BELOW_IN, WIDE_IN, Sheet, begin, calm, panel, shown
from vansim.show.plots.headings import clock_of
from vansim.show.plots.labels import along, beside_ends, over, place
from vansim.units import convert, symbol

if TYPE_CHECKING:
    from vansim.studies.outage import Course, Outage

SHOWN_MIN = 360.0
BIAS_MIN = 30.0
"""The known bias is drawn this long [min]."""
FIRST_LINE = "dogs_in_transport"
"""The line that the heading speaks of."""
LEVELS = ("dogs_in_transport", "dogs_above_thermoneutral")
"""Lines of cabin temperature that are drawn; the milder ones are passed at once."""
MARKED = ("danger", "extreme_danger", "dogs_survival")
"""Lines that are marked where they are first passed, as they lie at no one temperature of the cabin."""
MARK_SIDES = ("below right", "right", "above left", "left", "below", "above", "above right", "below left")
OFF_SIDES = ("right", "above right", "above left", "above", "left", "below right")
STROKES: dict[bool, Any] = {False: "-", True: (0, (5, 2))}
"""Cabin without and with window covers, where both are drawn."""
NEVER = "No grace period: never leave a child or an animal alone in a van, cooled or not."


def outage(found: Outage, system: str = "si", width_in: float = WIDE_IN) -> Sheet:
    """Draw how a cabin warms once the cooling has stopped, against published thresholds.

    Parameters
    ----------
    found : Outage
        From `vansim.outage`.
    system : {"si", "us"}
        Units shown.
    width_in : float
        Width [in].

    Returns
    -------
    Figure
        Outdoors, cabin and heat index over six hours, the cabin without window covers and with where both were
        followed; how much warmer a measured car was in the first half hour; thresholds of cabin temperature as lines,
        those of the heat index and of dogs as marks where they are first passed. The heat index ends where its scale
        does. The caution stands in the heading.
    """
    first = found.courses[0]
    heading, under = finding(found, system), f"{_start(found)} {NEVER} {BIAS_WORDS}"
    with calm():
        sheet = begin(
            width_in,
            3.85 if width_in < NARROW_BELOW_IN else 3.62,
            heading,
            under,
            _words(found, heading, under, system),
        )
        ax = panel(sheet, 0.5, 0.5, 0.15 if sheet.narrow else 1.35, 2.9)
        drawn = {course.covers: part(course.series) for course in found.courses}
        _curves(ax, drawn, first, system)
        bias(ax, found, drawn[first.covers], system)
        ax.set_xlim(0, SHOWN_MIN / 60.0)
        ax.yaxis.set_major_locator(MaxNLocator(6, integer=True))
        low, high = ax.get_ylim()
        ax.set_ylim(low, high + 0.06 * (high - low))
        levels, passed = _levels(ax, first, system), _marks(ax, first, system)
        beside_ends(ax, _ends(drawn, first, system), gap=0.06, lift=6.0)
        for level, words in levels:
            along(ax, words, level, COLOURS["limit"])
        if drawn[first.covers]["off_scale"].ne("").any():
            _off_scale(ax, drawn[first.covers], system)
        for spot, words, colour in passed:
            place(ax, words, [spot], colour=colour, sides=MARK_SIDES, fontsize=8.0)
        ax.set_xlabel("Hours after the cooling stops")
        over(ax, f"Temperature [{symbol('cabin_c', system)}]", lift=20.0 if sheet.narrow else 6.0, shift=-30)
        return sheet


def part(series: pd.DataFrame) -> pd.DataFrame:
    """The minutes that are drawn."""
    return series[series.index <= SHOWN_MIN]


# --- what it finds ----------------------------------------------------------------------------------------------------


def finding(found: Outage, system: str = "si") -> str:
    """How soon a stopped cooling becomes a danger."""
    course = found.courses[0]
    where = "in full sun" if found.when == "sun" else f"at {clock_of(found.moment)}"
    bare = ", without covers" if len(found.courses) > 1 else ""
    lines = course.lines
    after = float(lines["minutes"][FIRST_LINE])
    level = phrases.temperature(float(lines["value_c"][FIRST_LINE]), system)
    if after == 0.0:
        return f"When the cooling stops {where}, the cabin is above {level} already"
    if after <= SHOWN_MIN:
        return f"{phrases.duration(after / 60.0)} after the cooling stops {where}{bare}, the cabin is above {level}"
    cabin = course.series["cabin_c"]
    low, high = (phrases.temperature(float(cabin.loc[minute]), system) for minute in (0.0, 60.0))
    return f"In the first hour after the cooling stops {where}, the cabin goes from {low} to {high}"


def _start(found: Outage) -> str:
    """When and why the cooling stops."""
    at, noun = f"{phrases.date(found.moment)}, {clock_of(found.moment)}", found.design.scenario.night.label
    read = "One after another" if found.reading == "consecutive" else "Each for itself"
    begun = f" {phrases.EVENING_LEFT_OUT}" if found.design.full_at_bedtime and found.reading is not None else ""
    return {
        "bank_empty": f"The bank is empty: {at}, the earliest of the season.",
        "left_on": f"{read}, no {noun} empties the bank; left on with nothing charging it is empty: {at}.",
        "fault": f"The bank would outlast every {noun}; something fails: {at}.",
        "sun": f"The cooling stops in full sun at noon of the hottest day, {phrases.date(found.moment)}.",
    }[found.stop] + begun


def _words(found: Outage, heading: str, under: str, system: str) -> str:
    told = []
    for course in found.courses:
        covers = f" with{'' if course.covers else 'out'} covers" if len(found.courses) > 1 else ""
        hot = course.series["cabin_c"].loc[60.0]
        told.append(f"After an hour{covers} the cabin is at {phrases.temperature(float(hot), system)}.")
    return f"{heading}. {under} {' '.join(told)}"


BIAS_WORDS = "Shaded: as much warmer as one day in six of a measured car, in its first half hour."


# --- how it is drawn --------------------------------------------------------------------------------------------------


def _curves(ax: Axes, drawn: dict[bool, pd.DataFrame], first: Course, system: str) -> None:
    series = drawn[first.covers]
    hour = series.index.to_numpy() / 60.0
    ax.plot(hour, shown(series["outdoor_c"], "outdoor_c", system), color=COLOURS["outdoor"], linestyle=(0, (5, 2)))
    index = shown(series["heat_index_c"], "heat_index_c", system)
    ax.plot(hour, index, color=COLOURS["heat_index"], linestyle=(0, (1.5, 1.2)))
    for covers, one in drawn.items():
        stroke = STROKES[covers] if len(drawn) > 1 else "-"
        ax.plot(hour, shown(one["cabin_c"], "cabin_c", system), color=COLOURS["cabin"], linewidth=2.1, linestyle=stroke)


def warmer_at(found: Outage, minutes: npt.NDArray[np.float64]) -> npt.NDArray[np.float64]:
    """How much warmer a measured car was than the model on one day in six [K]: a standard deviation above the mean."""
    known = (0.0, *map(float, found.bias.minutes))
    above = [max(spread - mean, 0.0) for mean, spread in zip(found.bias.bias_k, found.bias.spread_k, strict=True)]
    return np.interp(minutes, known, (0.0, *above))


def bias(ax: Axes, found: Outage, series: pd.DataFrame, system: str) -> None:
    """Shade how much warmer it may be in the first half hour, above the cabin."""
    early = series[series.index <= BIAS_MIN]
    warmer = early["cabin_c"] + warmer_at(found, early.index.to_numpy(dtype=float))
    low, high = (shown(values, "cabin_c", system) for values in (early["cabin_c"], warmer))
    ax.fill_between(early.index / 60.0, low, high, color=COLOURS["cabin"], alpha=0.22, linewidth=0)


def _off_scale(ax: Axes, series: pd.DataFrame, system: str) -> None:
    """Say where the heat index leaves its scale."""
    index = series["heat_index_c"].dropna()
    if not len(index):
        return
    last = float(index.index[-1])
    spot = (last / 60.0, float(convert(float(index.iloc[-1]), "heat_index_c", system)))
    ax.plot(*([value] for value in spot), marker="x", color=COLOURS["heat_index"], markersize=6)
    place(ax, "heat index: off the scale", [spot], colour=COLOURS["heat_index"], sides=OFF_SIDES, fontsize=8.0)


def _levels(ax: Axes, course: Course, system: str) -> list[tuple[float, str]]:
    """Draw the thresholds of cabin temperature that lie in the picture; their levels and words."""
    bottom, top = ax.get_ylim()
    lines = course.lines.loc[list(LEVELS)]
    inside = []
    for code, value_c in zip(lines.index, lines["value_c"].tolist(), strict=True):
        level = float(convert(value_c, "value_c", system))
        if bottom < level < top - 0.06 * (top - bottom):
            ax.axhline(level, color=COLOURS["limit"], linewidth=0.8, linestyle=(0, (2, 1.5)), zorder=1)
            inside.append((level, f"{phrases.heat_line(str(code))}, {phrases.temperature(value_c, system)}"))
    return inside


def _marks(ax: Axes, course: Course, system: str) -> list[tuple[tuple[float, float], str, str]]:
    """Mark where the lines are first passed that lie at no one temperature; places and words for their labels."""
    found = []
    for code in MARKED:
        minute = float(course.lines["minutes"][code])
        if not np.isfinite(minute) or minute > SHOWN_MIN:
            continue
        dogs = course.lines["quantity"][code] == "dog_line"
        name = "cabin_c" if dogs else "heat_index_c"
        value = float(course.series[name].loc[minute])
        if not np.isfinite(value):
            continue  # passed where the heat index is off its scale: said there
        spot = (minute / 60.0, float(convert(value, name, system)))
        colour = COLOURS["cabin" if dogs else "heat_index"]
        ax.plot(*([value] for value in spot), marker="o", color=colour, markersize=5.5, zorder=5)
        found.append(
            (spot, f"{phrases.heat_line(code).removeprefix('heat index: ')}, {phrases.duration(minute / 60.0)}", colour)
        )
    return found


def _ends(drawn: dict[bool, pd.DataFrame], first: Course, system: str) -> list[tuple[float, str, str]]:
    """Names of the curves that end at the right."""
    series = drawn[first.covers]
    both = len(drawn) > 1
    named = [(float(series["outdoor_c"].iloc[-1]), "outdoors", COLOURS["outdoor"])]
    for covers, one in drawn.items():
        words = ("cabin, covers" if covers else "cabin, no covers") if both else "cabin"
        named.append((float(one["cabin_c"].iloc[-1]), words, COLOURS["cabin"]))
    if np.isfinite(series["heat_index_c"].iloc[-1]):
        named.append((float(series["heat_index_c"].iloc[-1]), "heat index", COLOURS["heat_index"]))
    return [(float(convert(value, "cabin_c", system)), words, colour) for value, words, colour in named]
