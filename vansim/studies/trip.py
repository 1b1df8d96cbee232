"""A trip: dates and places in order, and one chain of nights through them.

The bank begins the first account as the scenario says and is never filled between: each night hands on to the next
what it left and what driving, sun and shore have given since. The weather changes from one place's year to the
next's halfway through the driving of the day of arrival, and with it the clock, where the offset from universal time
differs: what passes between is the same either way.
"""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path
from typing import Any

import numpy as np
import pandas as pd

from vansim.boundary.forcing import build_forcing
from vansim.climate import Weather, read_weather
from vansim.climate.seasons import HeatWave, NightRange, with_heat_wave
from vansim.errors import ScenarioError, WeatherError
from vansim.notes import Note
from vansim.runs import season as sr
from vansim.runs.chain import chained
from vansim.runs.night_table import night_table
from vansim.runs.run import LEAD_IN_DAYS
from vansim.scenario.files import ScenarioSource, as_scenario, weather_path
from vansim.scenario.night_times import NightTimes, night_times
from vansim.scenario.plan import unroll_plan
from vansim.scenario.schema import DAY_MIN, Scenario
from vansim.scenario.trip import Leg, calendar_of, day_of_year, legs_of
from vansim.studies.design import Design, design_of
from vansim.van.bank import bank_parameters


@dataclass(frozen=True)
class Trip:
    """A chain of nights through several places.

    Attributes
    ----------
    scenario : Scenario
        The van, its plan and its stops.
    table : DataFrame
        A row a night: ``evening`` (its date), ``place``, and the columns of a season's nights; `start_soc` is what the
        trip has left there, and of a night that is reached on the road the account holds what is after arriving.
    drives : DataFrame
        A row a drive: ``date``, ``from_place``, ``to_place``, ``driving_h``, ``waking_soc`` before it, ``start_soc``
        where the next account begins, and ``gained_soc``, their difference.
    times : tuple of NightTimes
        When the nights are, on the clock of each place.
    start_soc : float
        State of charge where the first account begins.
    hardest : Design
        The van as planned on the night with the least charge at waking, in its place: for its caution.
    notes : tuple of Note
        What has to be said beside the numbers.
    """

    scenario: Scenario
    table: pd.DataFrame
    drives: pd.DataFrame
    times: tuple[NightTimes, ...]
    start_soc: float
    hardest: Design
    notes: tuple[Note, ...]

    @property
    def count(self) -> int:
        """Nights."""
        return len(self.table)

    @property
    def covered(self) -> int:
        """Nights that are covered."""
        return int(self.table["covered"].sum())

    @property
    def first_lost(self) -> pd.Series[Any] | None:
        """The first night that is not covered; None where every one is."""
        lost = self.table[~self.table["covered"].astype(bool)]
        return lost.iloc[0] if len(lost) else None

    @property
    def lowest(self) -> pd.Series[Any]:
        """The night with the least charge left at waking."""
        return self.table.iloc[int(self.table["waking_soc"].argmin())]


def trip(
    scenario: ScenarioSource,
    labels: str = "find",
    sky: str = "formula",
    heat_wave: HeatWave | float | None = None,
    start_soc: float | None = None,
) -> Trip:
    """Follow a van from place to place through one chain of nights.

    Parameters
    ----------
    scenario : Scenario, str, Path or mapping
        With stops (``[[trip]]``), or what `load_scenario` reads them from.
    labels, sky
        As for `vansim.read_weather`.
    heat_wave : HeatWave, float or None
        As for `vansim.nights`, in every place.
    start_soc : float or None
        State of charge where the first account begins, 0 to 1; left out, the scenario's.

    Returns
    -------
    Trip
        One row a night.

    Raises
    ------
    ScenarioError
        No stops, files that are not there, or a charge that is none.
    WeatherError
        Every file that cannot be read.
    """
    van = as_scenario(scenario)
    if not van.trip:
        raise ScenarioError(
            "trip: the scenario names no places; write for example [[trip]] with date = '07-10' and "
            "weather = 'desert.epw', once a place"
        )
    if start_soc is not None and not 0.0 <= start_soc <= 1.0:
        raise ScenarioError(f"start_soc: {start_soc:g} is not a share; allowed: 0 to 1")
    years = [with_heat_wave(year, heat_wave) for year in _years(van, labels, sky)]
    soc = van.bank.start_soc if start_soc is None else start_soc
    return _marched(van, legs_of(van), years, soc, heat_wave)


def stop_files(van: Scenario) -> list[Path]:
    """The weather file of each stop.

    Raises
    ------
    ScenarioError
        Those that are not there, all at once.
    """
    found: list[Path] = []
    faults: list[str] = []
    for number, stop in enumerate(van.trip):
        try:
            found.append(weather_path(van.model_copy(update={"weather": stop.weather})))
        except ScenarioError as problem:
            faults += [f"trip.{number}.{fault}" for fault in problem.faults]
    if faults:
        raise ScenarioError(faults)
    return found


def _years(van: Scenario, labels: str, sky: str) -> list[Weather]:
    """The year of each stop; every fault of every file at once."""
    years: list[Weather] = []
    faults: list[str] = []
    for path in stop_files(van):
        try:
            years.append(read_weather(path, labels=labels, sky=sky))
        except WeatherError as problem:
            faults += problem.faults
    if faults:
        raise WeatherError(dict.fromkeys(faults))
    return years


def _notes(years: list[Weather], heat_wave: HeatWave | float | None) -> tuple[Note, ...]:
    typical = any(not {"design-day", "own-year"} & {note.code for note in year.notes} for year in years)
    notes = [Note("typical-year")] if typical else []
    if heat_wave is not None:
        shift = heat_wave.shift_k if isinstance(heat_wave, HeatWave) else float(heat_wave)
        notes.append(Note("heat-wave-each", {"shift_k": shift}))
    return tuple(notes)


def _marched(
    van: Scenario, legs: tuple[Leg, ...], years: list[Weather], soc: float, heat_wave: HeatWave | float | None
) -> Trip:
    laid = _laid(van, legs, years)
    tables, drives, before = [], [], None
    for leg, (run, nights, emptied) in zip(legs, chained(laid, bank_parameters(van.bank), soc), strict=True):
        name = leg.stop.name or run.weather.site.name
        table = night_table(run, nights)
        if emptied and table["covered"].iloc[0]:
            first = np.arange(len(table)) == 0
            table = table.assign(covered=table["covered"] & ~first, why=table["why"].mask(first, "battery"))
        evenings = [stamp.date() for stamp in pd.DatetimeIndex(table.index)]
        table = table.assign(evening=evenings, place=name)
        tables.append(table)
        if before is not None:
            drives.append(_drive(van, leg, before, name, table))
        before = (name, float(table["waking_soc"].iloc[-1]))
    table = pd.concat([one.reset_index(drop=True) for one in tables], ignore_index=True)
    front = ["evening", "place"]
    lowest = int(table["waking_soc"].argmin())
    place = next(n for n in range(len(legs)) if lowest < sum(len(run.times) for run in laid[: n + 1]))
    day = f"{table['evening'].iloc[lowest]:%m-%d}"
    return Trip(
        scenario=van,
        table=table[[*front, *(c for c in table if c not in front)]],
        drives=pd.DataFrame(drives, columns=list(DRIVES)),
        times=tuple(times for run in laid for times in run.times),
        start_soc=soc,
        hardest=design_of(van, years[place], f"{day}..{day}", start_soc=soc),
        notes=_notes(years, heat_wave),
    )


DRIVES = ("date", "from_place", "to_place", "driving_h", "waking_soc", "start_soc", "gained_soc")


def _drive(van: Scenario, leg: Leg, before: tuple[str, float], name: str, table: pd.DataFrame) -> dict[str, Any]:
    start = float(table["start_soc"].iloc[0])
    return {
        "date": table["evening"].iloc[0],
        "from_place": before[0],
        "to_place": name,
        "driving_h": sum(end - begin for begin, end in _driving(_dated(van), leg.first)) / 60.0,
        "waking_soc": before[1],
        "start_soc": start,
        "gained_soc": start - before[1],
    }


def _dated(van: Scenario) -> Scenario:
    """The scenario with the days of its trip as its cycle, from the first date."""
    window = van.run.model_copy(update={"date": van.trip[0].date})
    return van.model_copy(update={"cycle": calendar_of(van), "run": window})


def _driving(dated: Scenario, day: int) -> list[tuple[int, int]]:
    """Stretches of driving on a day [min since midnight of the first day], those that begin on it."""
    stretches = unroll_plan(dated, day - 1, day + 1)
    return [
        (one.start_min, one.end_min)
        for one in stretches
        if one.segment.doing == "driving" and day * DAY_MIN <= one.start_min < (day + 1) * DAY_MIN
    ]


def halfway(dated: Scenario, day: int) -> int:
    """Minute at which half of a day's driving is done, since midnight of the first day."""
    stretches = _driving(dated, day)
    left = 0.5 * sum(end - begin for begin, end in stretches)
    for begin, end in stretches:
        if end - begin >= left:
            return begin + round(left)
        left -= end - begin
    raise ScenarioError(f"trip: nobody drives on day {day + 1}")


def _laid(van: Scenario, legs: tuple[Leg, ...], years: list[Weather]) -> list[sr.SeasonRun]:
    """Each place laid out from the moment at which its weather begins to that at which the next one's does."""
    dated = _dated(van)
    first_day = day_of_year(van.trip[0].date)
    times = night_times(dated, 0, legs[-1].first + legs[-1].nights + 1)
    runs = []
    for number, (leg, year) in enumerate(zip(legs, years, strict=True)):
        # the clock of a place begins at the same moment as that of the one before ends
        ahead = _clock_ahead_min(years[number - 1], year) if number else 0
        start = halfway(dated, leg.first) + ahead if number else times[0].account_min - LEAD_IN_DAYS * DAY_MIN
        later = [night for night in times if night.bed_min >= max(start, times[0].bed_min)]
        last = number + 1 == len(legs)
        end = later[leg.nights - 1].wake_min + 1 if last else halfway(dated, legs[number + 1].first)
        own = [night for night in later if night.bed_min < end]
        _check_order(own, end, leg)
        span = NightRange(first_day, len(own), leg.stop.name or year.site.name)
        runs.append(sr.lay_nights(dated, year, span, own, build_forcing(dated, year, span.first_hour, start, end)))
    return runs


def _clock_ahead_min(before: Weather, after: Weather) -> int:
    """How far the clock of a place is ahead of that of the one before [min]."""
    return round((after.site.utc_offset - before.site.utc_offset) * 60.0)


def _check_order(own: list[NightTimes], end: int, leg: Leg) -> None:
    """A place has a night, and is left after its last waking."""
    if not own:
        raise ScenarioError(f"trip: no bedtime is spent in the place of {leg.stop.date}; drive at another time of day")
    if end <= own[-1].wake_min:
        raise ScenarioError(
            f"trip: half of the driving that leaves the place of {leg.stop.date} is done before waking; drive later "
            "that day"
        )
