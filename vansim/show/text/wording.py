"""Sentences, and how a number is said."""

from __future__ import annotations

import math
from collections.abc import Mapping
from typing import TYPE_CHECKING, Any

import numpy as np
import pandas as pd

from vansim.scenario.schema import minutes
from vansim.units import show, suffix_of

if TYPE_CHECKING:
    from vansim.scenario.schema import Scenario
    from vansim.studies.nights import Nights
    from vansim.studies.outage import Hazard
    from vansim.studies.recharge import Recovery
    from vansim.studies.sizing import Sizing


def clock(hour: float) -> str:
    """Hours since some midnight as clock time.

    Parameters
    ----------
    hour : float
        May lie past midnight [h].

    Returns
    -------
    str
        For example ``"03:18"``.
    """
    minute = round(hour * 60.0) % 1440
    return f"{minute // 60:02d}:{minute % 60:02d}"


def day_of(moment: Any) -> str:
    """Day and month of a typical year, which has no year of its own: ``"15 July"``."""
    stamp = pd.Timestamp(moment)
    return f"{stamp.day} {stamp.month_name()}"


def percent(share: float, digits: int = 0) -> str:
    """Share as ``"39 %"``."""
    return f"{100.0 * share:.{digits}f} %"


def hours(length_h: float) -> str:
    """Length of time: minutes below an hour, else hours to a tenth; ``"12 min"``, ``"5.3 h"``."""
    if length_h < 0.995:
        return f"{60.0 * length_h:.0f} min"
    return f"{length_h:.1f} h"


def temperature(value_c: float, system: str = "si", digits: int = 0) -> str:
    """Temperature with its unit, whole degrees unless asked."""
    return show(value_c, "value_c", system, digits)


def night_sentence(row: pd.Series, scenario: Scenario, system: str = "si") -> str:
    """What became of a night, with its number; no full stop.

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
        For example ``"The cooling lasts the night, with 39 % of the charge left at waking"``.
    """
    limit = temperature(float(row["limit_c"]), system, 0 if system == "si" and row["limit_c"] % 1 == 0 else 1)
    night = scenario.night
    at_end, since = ("at waking", "bedtime") if night.label == "night" else ("at its end", night.bedtime)
    runtime = float(row["runtime_h"])
    if row["kept"]:
        return f"The cooling lasts the {night.label}, with {percent(row['waking_soc'])} of the charge left {at_end}"
    if not math.isnan(runtime):
        if runtime <= 0.0:
            return f"The bank is already at its reserve at {since}; {percent(row['waking_soc'])} is left {at_end}"
        at = clock(minutes(scenario.night.bedtime) / 60.0 + runtime)
        return f"The cooling stops at {at}: the bank reaches its reserve {hours(runtime)} after {since}"
    over = hours(float(row["over_limit_h"]))
    left = percent(row["waking_soc"])
    return f"The bank lasts ({left} left), but the cabin is above {limit} for {over} of the {night.label}"


TOO_WARM = ("cooler too small", "controls")
"""Why a night was lost though the bank lasted."""

# --- findings of studies --------------------------------------------------------------------------------------------


def count(number: int, noun: str) -> str:
    """``"1 night"``, ``"3 nights"``; batteries and people too."""
    plural = "people" if noun == "person" else noun[:-1] + "ies" if noun.endswith("y") else noun + "s"
    return f"{number} {noun if number == 1 else plural}"


def runtime_words(runtime_h: float, outlasts: bool = False) -> str:
    """Runtime for a reader; beyond two days it is not followed."""
    return "more than 48 h" if outlasts else hours(runtime_h)


def season_finding(nights: Nights, called: str = "night") -> str:
    """How many nights are kept, and how the hardest went; no full stop."""
    table = nights.table
    kept, n = int(table["kept"].sum()), len(table)
    worst = nights.distribution["worst_night"]
    ran = runtime_words(worst["runtime_h"], worst["outlasts"])
    on = day_of(worst["date"])
    if kept == n:
        return f"All {n} {called}s are kept; the hardest, {on}, would run {ran}"
    if worst["why"] in TOO_WARM:
        over = hours(worst["over_limit_h"])
        return f"{kept} of {n} {called}s are kept; on {on} the cabin is above its limit for {over}"
    return f"{kept} of {n} {called}s are kept; on the hardest, {on}, the cooling runs {ran}"


def outdoors_finding(nights: Nights, system: str = "si", called: str = "night") -> str:
    """Up to which outdoor temperature nights are kept; no full stop."""
    table = nights.table
    outdoor, kept = table["outdoor_mean_c"], table["kept"]

    def degrees(value: float) -> str:
        return temperature(float(value), system, 1)

    if kept.all():
        warmest = table.iloc[int(np.argmax(outdoor))]
        ran = runtime_words(warmest["runtime_h"], bool(warmest["outlasts"]))
        return f"Every {called} is kept; the warmest, {degrees(outdoor.max())} outdoors on average, runs {ran}"
    coolest = outdoor[~kept].min()
    if not kept.any():
        return f"No {called} is kept, not even the mildest at {degrees(outdoor.min())} mean outdoors"
    if (outdoor[kept] < coolest).any():
        return f"Every {called} below {degrees(coolest)} mean outdoors is kept; {called}s are lost from there on"
    return f"{called.capitalize()}s are lost from {degrees(coolest)} mean outdoors on; warmth alone does not decide"


def size_finding(sizing: Sizing, called: str = "night") -> str:
    """Which bank keeps the asked share of nights, or that none does; no full stop."""
    asked = percent(sizing.keep)
    if not len(sizing.table):
        return f"No bank keeps {asked} of the {called}s; {percent(sizing.curve['kept_share'].max())} is the best"
    row = sizing.table.iloc[0]
    name = count(int(row["units"]), "battery")
    keeps = "keeps" if row["units"] == 1 else "keep"
    return f"{name} ({row['usable_kwh']:.1f} kWh usable) {keeps} {asked} of the {called}s"


WAYS = {"road": "on the road", "idling": "idling", "sun": "on the sun alone"}


def recovery_finding(recovery: Recovery) -> str:
    """How soon the bank is full again; no full stop."""
    goal = percent(recovery.goal_soc)
    times = {way: h for way, h in recovery.hours.items() if h is not None}
    if not recovery.hours:
        return f"Nothing on board brings the bank back to {goal}"
    if not times:
        return f"The bank is not back at {goal} within two days"
    told = [f"{hours(h)} {WAYS[way]}" for way, h in times.items()]
    return f"Back at {goal} after " + (", ".join(told[:-1]) + " or " + told[-1] if len(told) > 1 else told[0])


CAUSE_WORDS = {"latent": "moisture (latent heat)", "equipment": "heat of equipment"}
"""Causes whose name in the table says too little to a reader."""


def energy_finding(table: pd.DataFrame) -> str:
    """Which cause took most of a night's electricity; no full stop."""
    top = table.iloc[0]
    name = str(table.index[0])
    return (
        f"{name[:1].upper()}{name[1:]}: {percent(top['share'])} of the night's {table.attrs['meter_wh'] / 1000:.1f} kWh"
    )


def worth_finding(table: pd.DataFrame, base_share: float | None = None) -> str:
    """Which single change gains most without keeping fewer nights; no full stop."""
    good = table[table["kept_share"] >= (base_share or 0.0) - 1e-9]
    good = good if len(good) else table
    best = good.iloc[0]
    name, gain = str(good.index[0]), float(best["gained_p10_h"])
    if gain < 0.05:
        return f"No single change gains as much as {hours(0.05)} of runtime on bad nights"
    kwh = float(best["same_by_bank_kwh"])
    bank = f", as much as {kwh:.1f} kWh more battery" if np.isfinite(kwh) and kwh >= 0.05 else ""
    return f"Most is gained by {name}: {hours(gain)} more on bad nights{bank}"


def modes_finding(numbers: Mapping[str, Mapping[str, float]]) -> str:
    """What eco saves against boost, and what it costs in time; no full stop."""
    eco, boost = numbers["eco"], numbers["boost"]
    share = 1.0 - eco["cooler_wh"] / boost["cooler_wh"] if boost["cooler_wh"] > 0.0 else 0.0
    energy = f"Eco uses {percent(abs(share))} {'less' if share >= 0 else 'more'} energy over the night than boost"
    if not (np.isfinite(eco["cool_down_min"]) and np.isfinite(boost["cool_down_min"])):
        return energy
    later = eco["cool_down_min"] - boost["cool_down_min"]
    if abs(later) < 1.0:
        return energy + " and cools down as fast"
    return energy + f", and cools down {hours(abs(later) / 60.0)} {'later' if later > 0 else 'sooner'}"


DAY_H = (7, 20)
DOG_TRANSPORT = "dogs in transport: ventilation or cooling required"


def hazard_finding(hazard: Hazard, system: str = "si") -> str:
    """How soon a stopped cooler becomes a danger; no full stop."""
    by_day = DAY_H[0] <= hazard.moment.hour < DAY_H[1]
    where = "in full sun" if hazard.when == "sun" else "by day" if by_day else "at night"
    line: Any = hazard.lines.loc[DOG_TRANSPORT]
    passed, level = float(line["minutes"]), temperature(float(line["value_c"]), system, 1)
    if passed == 0.0:
        return f"When the cooler stops {where} the cabin is above {level} already"
    if np.isfinite(passed):
        return f"{hours(passed / 60.0)} after the cooler stops {where}, the cabin is above {level}"
    first = hazard.series["cabin_c"].iloc[:61]
    rise = f"{temperature(first.iloc[0], system, 0)} to {temperature(first.iloc[-1], system, 0)}"
    return f"In the first hour after the cooler stops {where}, the cabin goes from {rise}"


# --- what has to be said beside every answer ------------------------------------------------------------------------

NEVER_ALONE = (
    "Never leave a child, an animal or anyone who cannot get out unaided in a van because the cooling runs. Cooling "
    "stops without warning (an empty bank, a blown fuse, a fault), and a closed van then turns deadly within minutes."
)
HEAT = (
    "Heat kills people too. Have a second way to stay cool, watch for heat warnings, and leave the van when it cannot "
    "be kept cool: headache, dizziness or confusion are signs to act on at once."
)
DOGS = (
    "Dogs overheat sooner than people and cannot say so. Somebody stays with them, or within reach with an alarm that "
    "does not hang on the same bank."
)
LITHIUM = (
    "Lithium batteries need a battery management system, firm mounting and charging only within the temperatures that "
    "their maker allows. A swollen, hot, hissing or dropped one: get everybody out and keep away."
)
LEAD = (
    "Lead-acid batteries give off hydrogen when charged and spill acid when broken: ventilate them, keep sparks away, "
    "and wear eye protection."
)
CURRENT = (
    "Low voltage means high current: a loose joint or a thin cable starts a fire. Fuse at the bank, size cable for "
    "current and length, disconnect before working, and keep rings and bare tools away from the terminals."
)
MAINS = (
    "Mains voltage kills. Shore inlets, chargers and inverters are for a licensed electrician, with residual-current "
    "protection and bonding as the local code asks."
)
EXHAUST = (
    "A running engine makes carbon monoxide, which cannot be smelt. Never idle in an enclosed or sheltered place, nor "
    "to charge while people sleep; fit an alarm; many places forbid idling."
)
CODES = (
    "These figures are estimates to plan with. Local codes, the makers' instructions and licensed practice come before "
    "anything printed here."
)


def cautions(scenario: Scenario) -> list[str]:
    """The usual cautions, as far as they touch a scenario.

    Parameters
    ----------
    scenario : Scenario
        Which batteries, mains, engine charging and animals it has.

    Returns
    -------
    list of str
        Sentences, the gravest first.
    """
    mains = scenario.shore is not None or scenario.charger is not None
    mains = mains or any(load.supply == "ac" for load in scenario.loads)
    said = [NEVER_ALONE, HEAT]
    said += [DOGS] if scenario.occupants.dogs else []
    said += [LITHIUM if scenario.bank.unit.chemistry == "lfp" else LEAD, CURRENT]
    said += [MAINS] if mains else []
    said += [EXHAUST] if scenario.alternator is not None else []
    return [*said, CODES]


GLOSSARY: tuple[tuple[str, str], ...] = (
    ("Bank", "All batteries that the cooling draws on, taken together."),
    ("State of charge", "How full the bank is, from empty to full."),
    ("Reserve", "The state of charge at which the cooler is switched off, to spare the bank and the other loads."),
    ("Runtime", "Hours from bedtime until the bank reaches its reserve, with nothing charging it."),
    ("Kept night", "A night in which the bank stays above its reserve and the cabin within its limit until waking."),
    ("Duty", "Share of the time that the compressor runs."),
    ("Set point", "The cabin temperature that the thermostat aims at."),
    ("Eco and boost", "Two speeds of one cooler: eco moves less heat in an hour, but more for each watt-hour."),
    ("Dew point", "The temperature at which the air's moisture condenses: the higher it is, the more muggy the night."),
    ("Typical year", "A weather year put together from ordinary months of many years; it leaves the extremes out."),
)

HOW_SURE = (
    "The weather is a typical year. It leaves out the hottest nights and heat waves that real years bring: a bank "
    "sized on it will fall short on some of them.",
    "The figures hold for the van as described. Doors opened at night, a cover left off, a dirty filter, an ageing "
    "battery or one more person all shorten the night.",
)
NOT_MODELLED = (
    "Not modelled: rain on the roof, gusts through gaps, sunlight moving over single seats, radiation felt from hot "
    "walls, mould and noise, wear of the compressor, faults of any kind.",
)


def value_words(name: str, value: Any, system: str) -> str:
    """An input as a reader sees it, with its unit."""
    if isinstance(value, bool):
        return "yes" if value else "no"
    if value is None or value in ("", (), {}, []):
        return "–"
    if isinstance(value, int | float):
        if suffix_of(name) is None or pd.isna(value):
            return f"{value:g}"
        text = show(float(value), name, system, 6)
        number, _, unit = text.partition(" ")
        return f"{float(number):.5g} {unit}".strip()
    return str(value)
