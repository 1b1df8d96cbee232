"""Sentences, and how a number is said."""

from __future__ import annotations

import math
from typing import TYPE_CHECKING, Any

import pandas as pd

from vansim.scenario.schema import minutes
from vansim.units import show

if TYPE_CHECKING:
    from vansim.scenario.schema import Scenario


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
    runtime = float(row["runtime_h"])
    if row["kept"]:
        return f"The cooling lasts the night, with {percent(row['waking_soc'])} of the charge left at waking"
    if not math.isnan(runtime):
        if runtime <= 0.0:
            return f"The bank is already at its reserve at bedtime; {percent(row['waking_soc'])} is left at waking"
        at = clock(minutes(scenario.night.bedtime) / 60.0 + runtime)
        return f"The cooling stops at {at}: the bank reaches its reserve {hours(runtime)} after bedtime"
    over = hours(float(row["over_limit_h"]))
    left = percent(row["waking_soc"])
    return f"The bank lasts ({left} left), but the cabin is above {limit} for {over} of the night"


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
