"""What pictures of changes and of energy find, in a sentence with its numbers and without a full stop."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

import numpy as np
import pandas as pd

from vansim import phrases
from vansim.show.plots.headings import clock_of
from vansim.units import translated

if TYPE_CHECKING:
    from vansim.studies.compare import Comparison
    from vansim.studies.energy import Energy
    from vansim.studies.upgrades import Upgrades


# --- designs ----------------------------------------------------------------------------------------------------------


def design_name(name: str, system: str = "si") -> str:
    """A design as its owner calls it; quantities in it in the units shown."""
    return translated(name, system)


def brief(name: str, most: int = 60) -> str:
    """A name of somebody's own that has to stand in a heading."""
    return name if len(name) <= most else f"{name[: most - 1]}…"


def designs(comparison: Comparison, system: str = "si") -> str:
    """Which design covers most nights or, where all cover the same, leaves most charge."""
    table, noun = comparison.table, comparison.base.scenario.night.label
    best = table.sort_values(["covered_share", "waking_soc"], ascending=False, kind="stable").iloc[0]
    name, many = brief(design_name(str(best.name), system)), phrases.plural(noun)
    here = table.iloc[0]
    share, left = (phrases.percent(float(best[column])) for column in ("covered_share", "waking_soc"))
    was_share, was_left = (phrases.percent(float(here[column])) for column in ("covered_share", "waking_soc"))
    if best.name == here.name:
        return f"No design does better than the one as it is: {share} of the {many} covered"
    if float(best["covered_share"]) > float(here["covered_share"]) + 1e-9:
        return f"Most {many} covered: {name}, {share} instead of {was_share}"
    end = phrases.at_end(noun)
    return f"Most charge left with as many {many} covered: {name}, {left} {end} instead of {was_left}"


def designs_under(comparison: Comparison) -> str:
    """What the designs are judged on."""
    base = comparison.base
    noun, place = base.scenario.night.label, base.headline.design_night(base.target)
    night = phrases.date(base.headline.table.index[place])
    kinds = comparison.table["judged"].unique()
    many = phrases.plural(noun)
    read = (
        f"{str(kinds[0]).capitalize()} {many}" if len(kinds) == 1 else f"{many.capitalize()}, the worse reading of each"
    )
    return f"{read}, {phrases.season(base.season.nights.label)}. Charge left on {night}.{_begun(base.full_at_bedtime)}"


def _begun(full_at_bedtime: bool) -> str:
    """That accounts begin at bedtime, where that was asked for."""
    return f" {phrases.EVENING_LEFT_OUT}" if full_at_bedtime else ""


# --- upgrades ---------------------------------------------------------------------------------------------------------


def change_name(found: Upgrades, code: str, system: str = "si") -> str:
    """A change as said."""
    change = found.changes[code]
    return phrases.change(change.code, change.values, system)


def pair_name(found: Upgrades, pair: pd.Series[Any], system: str = "si") -> str:
    """Two changes as said, with a plus between them."""
    return " + ".join(change_name(found, str(pair[which]), system) for which in ("first", "second"))


def upgrades(found: Upgrades, system: str = "si") -> str:
    """Which single change gains most without losing a night."""
    best, noun = found.best, found.base.scenario.night.label
    if best is None:
        tried = phrases.count(len(found.table), "single change")
        return f"None of {tried} covers a {noun} more or leaves more charge {phrases.at_end(noun)}"
    name, same = change_name(found, str(best.name), system), float(best["same_by_batteries"])
    kwh = phrases.energy(1000.0 * float(best["gained_kwh"]))
    if best["gained_nights"] > 0:
        gain = f"{phrases.count(int(best['gained_nights']), noun)} more covered"
    else:
        gain = f"{kwh} more left {phrases.at_end(noun)}"
    first = "Largest gain"
    if best["gained_nights"] <= 0 and found.before.covered < found.base.read_as(found.reading).count:
        first = f"No change covers a {noun} more. Most charge left {phrases.at_end(noun)}"
        gain = f"{kwh} more"
    if not 0.05 <= same < np.inf or "battery" in str(best.name):
        return f"{first}: {name}, {gain}"
    return f"{first}: {name}, {gain}, as much as {phrases.batteries(same)} more"


def upgrades_under(found: Upgrades) -> str:
    """What ranks, and what the van does as it is."""
    noun, before = found.base.scenario.night.label, found.before
    count = found.base.read_as(found.reading).count
    many = f"{found.reading} {noun}"
    left = f"{phrases.energy(1000.0 * before.left_kwh)} above the reserve on {phrases.date(found.design_night)}"
    begun = _begun(found.base.full_at_bedtime)
    return f"As it is: {before.covered} of {phrases.count(count, many)} covered, {left}. One change at a time.{begun}"


# --- energy -----------------------------------------------------------------------------------------------------------


def energy(found: Energy) -> str:
    """Which cause took most of a night's electricity, and what it would save without it."""
    top = found.table.iloc[0]
    share, total = phrases.percent(float(top["share"])), phrases.energy(found.meter_wh)
    text = f"Largest share: {phrases.cause(found.largest)}, {share} of {total}"
    saved = float(top["saved_wh"])
    if saved <= np.nan_to_num(found.cycle_wh):
        return text
    return f"{text}; without it {phrases.energy(saved)} less"


def energy_under(found: Energy) -> str:
    """Which night, from when to when, and how savings are to be read."""
    which = f", {found.label} {found.night + 1} of {found.nights}" if found.nights > 1 else ""
    span = f"{phrases.date(found.date)}{which}, {clock_of(found.account)} to {clock_of(found.waking)}."
    span += _begun(found.full_at_bedtime)
    if found.empty_at is None:
        return f"{span} Each saving is a run without that cause; they do not add up."
    return f"{span} The bank is empty at {clock_of(found.empty_at)}: without a cause the cooling goes on for longer."
