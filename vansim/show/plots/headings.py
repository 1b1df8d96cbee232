"""What pictures find, in a sentence with its numbers and without a full stop; and the quieter lines below.

Everything said here is read from named values of the result that is drawn.
"""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

import numpy as np
import pandas as pd

from vansim import phrases
from vansim.scenario.schema import AT_BEDTIME, Scenario

if TYPE_CHECKING:
    from vansim.runs.night import Night
    from vansim.runs.result import Result
    from vansim.studies.design import NightsReading
    from vansim.studies.nights import Nights
    from vansim.studies.sizing import Sizing

TOO_WARM = ("cooler", "controls", "no-cooler")
"""Why a night was not covered though the bank lasted."""


def hours(length: pd.Timedelta) -> float:
    """A difference of two moments [h]."""
    return float(length / pd.Timedelta(hours=1))


def clock_of(moment: pd.Timestamp) -> str:
    """Clock time of a moment, to the minute."""
    return phrases.clock(hours(moment - moment.normalize()))


def begin_of(noun: str) -> str:
    """``"bedtime"``, or when what is no night begins."""
    return "bedtime" if noun == "night" else f"the {noun} begins"


def end_of(noun: str) -> str:
    """``"waking"``, or when what is no night ends."""
    return "waking" if noun == "night" else f"the {noun} ends"


# --- a night ----------------------------------------------------------------------------------------------------------


def night(one: Night, system: str = "si") -> str:
    """What became of a night.

    Parameters
    ----------
    one : Night
        From `Result.night`.
    system : {"si", "us"}
        Units shown.

    Returns
    -------
    str
        For example ``"The cooling lasts the night, with 29% of the charge left at waking"``.
    """
    row, noun = one.row, one.label
    left, limit = phrases.percent(row["waking_soc"]), phrases.temperature(row["limit_c"], system, None)
    if row["covered"]:
        return f"The cooling lasts the {noun}, with {left} of the charge left {phrases.at_end(noun)}"
    if pd.isna(row["empty_at"]):
        over = phrases.duration(float(row["over_limit_h"]))
        return f"The bank lasts ({left} left), but the cabin is above {limit} for {over} of the {noun}"
    empty = f"The bank reaches its reserve at {clock_of(row['empty_at'])}"
    if row["empty_at"] < one.bedtime:
        early = phrases.duration(hours(one.bedtime - row["empty_at"]))
        warm = phrases.temperature(float(row["cabin_at_empty_c"]), system)
        return f"{empty}, {early} before {begin_of(noun)}; the cabin is then at {warm}"
    short = phrases.duration(hours(one.waking - row["empty_at"]))
    return f"{empty}, {short} before {end_of(noun)}"


def night_under(one: Night, result: Result) -> str:
    """Which night of which van, from when and with what charge it is followed, and for how long it would cool."""
    row = one.row
    where = f"{result.run.scenario.title}, {result.run.weather.site.name}, {phrases.date(one.date)}."
    days = (one.date.normalize() - one.account.normalize()).days
    since = clock_of(one.account) + (" the day before" if days == 1 else "")
    runtime = phrases.runtime(float(row["runtime_h"]), bool(row["outlasts"]))
    start = "at bedtime" if one.account == one.bedtime and one.label == "night" else f"at {since}"
    follows = f"Bank at {phrases.percent(row['start_soc'])} {start}."
    follows += f" {phrases.EVENING_LEFT_OUT}" if at_bedtime(result.run.scenario) else ""
    if row["runtime_h"] <= 0.0:
        return f"{where} {follows}"
    if result.laid_nights is not None and not result.laid_nights.cools_before_waking:
        return f"{where} {follows} No cooling is planned for the last hours before {end_of(one.label)}."
    at = "bedtime" if one.label == "night" else clock_of(one.bedtime)
    return f"{where} {follows} Runtime from {at}, with nothing charging: {runtime}."


# --- nights of a season -----------------------------------------------------------------------------------------------


def noun_of(nights: Nights) -> str:
    """What a night is called."""
    return nights.design.scenario.night.label


def season(nights: Nights, read: NightsReading) -> str:
    """How many nights are covered in a reading, and how the hardest went."""
    noun = noun_of(nights)
    said = phrases.covered(read.covered, read.count, noun)
    said = said[:1].upper() + said[1:]
    worst = read.table.iloc[read.design_night(1.0)]
    on = phrases.date(pd.Timestamp(str(worst.name)))
    if worst["covered"]:
        return f"{said}; on the hardest, {on}, {phrases.percent(worst['waking_soc'])} is left {phrases.at_end(noun)}"
    early = int((~read.table["covered"] & (read.table["runtime_h"] <= 0.0)).sum())
    if early:
        return f"{said}; on {early} the bank is at its reserve before {begin_of(noun)}"
    if worst["why"] in TOO_WARM:
        return f"{said}; on {on} the cabin is above its limit for {phrases.duration(worst['over_limit_h'])}"
    return f"{said}; on the hardest, {on}, the bank is empty at {clock_of(worst['empty_at'])}"


def readings(nights: Nights, read: NightsReading) -> str:
    """Which reading is drawn, and what the other one says."""
    noun, design = noun_of(nights), nights.design
    many = phrases.plural(noun)
    start = "with the bank full" if design.start_soc == 1.0 else f"at {phrases.percent(design.start_soc)}"
    start += " at bedtime, nothing before it counted" if design.full_at_bedtime else ""
    other = nights.consecutive if read.kind == "independent" else nights.independent
    counts = f"{other.covered} of {other.count}"
    if read.kind == "independent":
        drawn = f"Independent {many}: each begins {start}."
        if nights.reason != "no-engine-or-shore":
            return f"{drawn} Consecutive, charged as planned: {counts}."
        worst = nights.in_a_row.worst
        lasts = f"; in a row the bank lasts {_in_a_row(worst, noun)}" if worst else ""
        return f"{drawn} Consecutive, with neither engine nor shore power: {counts}{lasts}."
    return f"Consecutive {many}, the bank carried over and charged as planned. Independent ones: {counts}."


def _in_a_row(number: int, noun: str) -> str:
    return f"at least {phrases.count(number, noun)}" if number > 1 else f"1 {noun}, not always two"


def dates(nights: Nights) -> str:
    """Which nights, with the margin of a heat wave where there is one."""
    label = phrases.sentence(phrases.season(nights.design.season.nights.label))
    shifts = [note.code for note in nights.design.season.weather.notes if note.code == "heat-wave"]
    label += " With a heat-wave margin." if shifts else ""
    if nights.design.season.cools_before_waking:
        return label
    return f"{label} No cooling is planned for the last hours before {end_of(noun_of(nights))}."


def outdoors(nights: Nights, read: NightsReading, system: str = "si") -> str:
    """Up to which outdoor temperature nights are covered."""
    table, noun = read.table, noun_of(nights)
    outdoor, covered = table["outdoor_mean_c"], table["covered"].astype(bool)

    def degrees(value: float) -> str:
        return phrases.temperature(float(value), system)

    if covered.all():
        warmest = table.iloc[int(np.argmax(outdoor))]
        ran = phrases.runtime(float(warmest["runtime_h"]), bool(warmest["outlasts"]))
        return f"Every {noun} is covered; the warmest, {degrees(outdoor.max())} outdoors on average, runs for {ran}"
    coolest = outdoor[~covered].min()
    if not covered.any():
        return f"No {noun} is covered, not even the mildest with a mean of {degrees(outdoor.min())} outdoors"
    if (outdoor[covered] < coolest).any():
        return f"Every {noun} with a mean below {degrees(coolest)} outdoors is covered; some warmer ones are not"
    many = phrases.plural(noun).capitalize()
    return f"{many} fail from a mean of {degrees(coolest)} outdoors; temperature alone does not decide it"


# --- banks ------------------------------------------------------------------------------------------------------------


def size(sizing: Sizing, noun: str = "night") -> str:
    """Which bank covers the asked share of nights, or that none does."""
    asked, many = phrases.percent(sizing.target), phrases.plural(noun)
    if not len(sizing.table):
        best = sizing.failed.sort_values("best_share", kind="stable").iloc[-1]
        counted = phrases.count(int(best["nights"]), noun)
        if best["why"] == "cooler":
            warm = int(best["nights_too_warm"])
            return f"No bank covers {asked} of the {many}: even on an endless one {warm} of {counted} are too warm"
        if best["why"] == "charging":
            return f"No bank covers {asked} of the {many}: charging does not keep up"
        count = round(float(best["best_share"]) * int(best["nights"]))
        return f"No bank that was tried covers {asked} of the {many}; the best covers {count} of {counted}"
    row = sizing.table.iloc[0]
    covers = "covers" if row["units"] == 1 else "cover"
    return f"{bank(row)} {covers} {phrases.percent(float(row['covered_share']))} of the {many} (asked: {asked})"


def bank(row: pd.Series[Any]) -> str:
    """A bank by its batteries and usable energy."""
    usable = phrases.energy(1000.0 * float(row["usable_kwh"]))
    return f"{phrases.count(int(row['units']), 'battery')} ({usable} usable)"


def size_under(sizing: Sizing, noun: str = "night") -> str:
    """What the sizes were judged on."""
    many = phrases.plural(noun)
    said = {
        "headline": f"Every size was run through every {noun}, {phrases.season(sizing.season)}",
        "independent": f"Independent {many}, {phrases.season(sizing.season)}",
        "consecutive": f"Consecutive {many}, {phrases.season(sizing.season)}",
    }[sizing.judged]
    if any(note.code == "full-at-bedtime" for note in sizing.notes):
        said += f". {phrases.EVENING_LEFT_OUT[:-1]}"
    if not len(sizing.table):
        return f"{said}."
    row = sizing.table.iloc[0]
    one, other = (phrases.percent(float(row[f"{kind}_share"])) for kind in ("independent", "consecutive"))
    return f"{said}. With that bank: independent {many} {one}, consecutive {many} {other}."


def at_bedtime(scenario: Scenario) -> bool:
    """Whether accounts begin at bedtime, so that the evening is not counted."""
    return scenario.run.start == AT_BEDTIME
