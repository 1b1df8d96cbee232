"""Headings of pictures: what each shows, in a sentence with its numbers and without a full stop."""

from __future__ import annotations

import math
from collections.abc import Mapping
from typing import TYPE_CHECKING, Any

import numpy as np
import pandas as pd

from vansim import phrases
from vansim.scenario.schema import minutes
from vansim.show.text import handed

if TYPE_CHECKING:
    from vansim.scenario.schema import Scenario
    from vansim.studies.nights import Nights
    from vansim.studies.outage import Hazard
    from vansim.studies.recharge import Recovery
    from vansim.studies.sizing import Sizing

DAY_H = (7, 20)
DOG_TRANSPORT = "dogs in transport: ventilation or cooling required"


def night(row: pd.Series[Any], scenario: Scenario, system: str = "si") -> str:
    """What became of a night, with its number.

    Parameters
    ----------
    row : Series
        Of `Result.nights`.
    scenario : Scenario
        For bedtime and limit.
    system : {"si", "us"}
        Units shown.

    Returns
    -------
    str
        For example ``"The cooling lasts the night, with 39% of the charge left at waking"``.
    """
    asked = scenario.night
    end, left = phrases.at_end(asked.label), phrases.percent(row["waking_soc"])
    runtime_h = float(row["runtime_h"])
    if row["kept"]:
        return f"The cooling lasts the {asked.label}, with {left} of the charge left {end}"
    if runtime_h <= 0.0:
        start = phrases.reserve_reached(runtime_h, phrases.since(asked.label, asked.bedtime))
        return f"{start}, with {left} left {end}"
    if not math.isnan(runtime_h):
        stops_at = phrases.clock(minutes(asked.bedtime) / 60.0 + runtime_h)
        return phrases.reserve_reached(runtime_h, phrases.since(asked.label, asked.bedtime), stops_at)
    over, limit = phrases.duration(float(row["over_limit_h"])), phrases.temperature(row["limit_c"], system, None)
    return f"The bank lasts ({left} left), but the cabin is above {limit} for {over} of the {asked.label}"


def season(nights: Nights, called: str = "night") -> str:
    """How many nights are covered, and how the hardest went."""
    table = nights.table
    covered, n = int(table["kept"].sum()), len(table)
    worst = nights.distribution["worst_night"]
    ran, on = phrases.runtime(worst["runtime_h"], worst["outlasts"]), phrases.date(worst["date"])
    said = phrases.covered(covered, n, called)
    said = said[:1].upper() + said[1:]
    if covered == n:
        return f"{said}; the hardest, {on}, would run for {ran}"
    if worst["why"] in handed.TOO_WARM:
        over = phrases.duration(worst["over_limit_h"])
        return f"{said}; on {on} the cabin is above its limit for {over}"
    return f"{said}; on the hardest, {on}, the cooling runs for {ran}"


def outdoors(nights: Nights, system: str = "si", called: str = "night") -> str:
    """Up to which outdoor temperature nights are covered."""
    table, many = nights.table, phrases.plural(called)
    outdoor, covered = table["outdoor_mean_c"], table["kept"]

    def degrees(value: float) -> str:
        return phrases.temperature(float(value), system)

    if covered.all():
        warmest = table.iloc[int(np.argmax(outdoor))]
        ran = phrases.runtime(warmest["runtime_h"], bool(warmest["outlasts"]))
        return f"Every {called} is covered; the warmest, {degrees(outdoor.max())} outdoors on average, runs for {ran}"
    coolest = outdoor[~covered].min()
    if not covered.any():
        return f"No {called} is covered, not even the mildest with a mean of {degrees(outdoor.min())} outdoors"
    if (outdoor[covered] < coolest).any():
        return f"Every {called} with a mean below {degrees(coolest)} outdoors is covered; some warmer ones are not"
    return f"{many.capitalize()} fail from a mean of {degrees(coolest)} outdoors; temperature alone does not decide it"


def size(sizing: Sizing, called: str = "night") -> str:
    """Which bank covers the asked share of nights, or that none does."""
    asked, many = phrases.percent(sizing.keep), phrases.plural(called)
    if not len(sizing.table):
        return (
            f"No bank covers {asked} of the {many}; the best covers {phrases.percent(sizing.curve['kept_share'].max())}"
        )
    row = sizing.table.iloc[0]
    covers = "covers" if row["units"] == 1 else "cover"
    usable = phrases.energy(1000.0 * row["usable_kwh"])
    return f"{phrases.count(int(row['units']), 'battery')} ({usable} usable) {covers} {asked} of the {many}"


def recharging(recovery: Recovery, system: str = "si") -> str:
    """How soon the bank is full again."""
    return handed.recharged(recovery.hours, recovery.goal_soc, system)


def energy(table: pd.DataFrame) -> str:
    """Which cause took most of a night's electricity."""
    top = table.iloc[0]
    name, total = phrases.cause(str(table.index[0])), phrases.energy(table.attrs["meter_wh"])
    return f"Largest share: {name}, {phrases.percent(top['share'])} of the night's {total}"


def upgrades(table: pd.DataFrame, base_share: float | None = None, system: str = "si") -> str:
    """Which single upgrade gains most without losing a night."""
    good = table[table["kept_share"] >= (base_share or 0.0) - 1e-9]
    best = (good if len(good) else table).iloc[0]
    name, gained = handed.change(str(best.name), system), float(best["gained_p10_h"])
    if gained < 0.05:
        return f"No single upgrade adds even {phrases.duration(0.05)} of runtime"
    kwh = float(best["same_by_bank_kwh"])
    bank = f", as much as {phrases.energy(1000.0 * kwh)} more battery" if np.isfinite(kwh) and kwh >= 0.05 else ""
    return f"Largest gain: {name}, {phrases.duration(gained)} more runtime{bank}"


def designs(table: pd.DataFrame, system: str = "si") -> str:
    """Which design runs longest; the first row is the one as it is."""
    gained = table["gained_p10_h"].to_numpy()
    best = int(np.argmax(gained))
    ran = phrases.runtime(float(table["runtime_p10_h"].iloc[best]))
    if gained[best] < 0.05:
        return f"No design runs longer than the one as it is, {phrases.runtime(float(table['runtime_p10_h'].iloc[0]))}"
    return (
        f"Longest runtime: {handed.change(str(table.index[best]), system)}, {ran} ({phrases.gain(float(gained[best]))})"
    )


def modes(numbers: Mapping[str, Mapping[str, float]]) -> str:
    """What eco saves against boost, and what it costs in time."""
    eco, boost = numbers["eco"], numbers["boost"]
    if eco["cooler_wh"] < 0.5 and boost["cooler_wh"] < 0.5:
        return f"The cooler uses {phrases.energy(0.0)} over the night, in eco and in boost"
    share = 1.0 - eco["cooler_wh"] / boost["cooler_wh"] if boost["cooler_wh"] > 0.0 else 0.0
    text = f"Eco uses {phrases.percent(abs(share))} {'less' if share >= 0 else 'more'} energy over the night than boost"
    if not (np.isfinite(eco["cool_down_min"]) and np.isfinite(boost["cool_down_min"])):
        return text
    later = eco["cool_down_min"] - boost["cool_down_min"]
    if abs(later) < 1.0:
        return text + " and cools down just as fast"
    return text + f" and cools down {phrases.duration(abs(later) / 60.0)} {'later' if later > 0 else 'sooner'}"


def outage(hazard: Hazard, system: str = "si") -> str:
    """How soon a stopped cooler becomes a danger."""
    by_day = DAY_H[0] <= hazard.moment.hour < DAY_H[1]
    where = "in full sun" if hazard.when == "sun" else "by day" if by_day else "at night"
    line = hazard.lines.loc[DOG_TRANSPORT]
    passed, level = float(str(line["minutes"])), phrases.temperature(float(str(line["value_c"])), system)
    if passed == 0.0:
        return f"When the cooler stops {where}, the cabin is above {level} already"
    if np.isfinite(passed):
        return f"{phrases.duration(passed / 60.0)} after the cooler stops {where}, the cabin is above {level}"
    first = hazard.series["cabin_c"].iloc[:61]
    low, high = (phrases.temperature(float(first.iloc[place]), system) for place in (0, -1))
    return f"In the first hour after the cooler stops {where}, the cabin goes from {low} to {high}"
