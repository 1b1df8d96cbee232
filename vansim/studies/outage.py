"""After the cooling has stopped: how fast the cabin becomes dangerous.

This is a warning, never a permission. Times are those of a model with typical, stated inputs; a real van in the sun, a
sick or short-nosed dog, a small child can be in danger long before any line below is reached.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any, Literal

import numpy as np
import pandas as pd

from vansim.boundary.forcing import COOLING_OFF, Forcing, build_forcing, rows_of, without_charging
from vansim.climate import Weather
from vansim.climate.seasons import HeatWave
from vansim.errors import ScenarioError
from vansim.heat_stress import (
    HEAT_INDEX_AIR_MAX_C,
    HEAT_INDEX_MAX_C,
    LINES,
    dog_line_c,
    heat_index_c,
    heat_index_off_scale,
)
from vansim.notes import Note
from vansim.psychrometrics import humidity_ratio, saturation_pressure_pa
from vansim.runs import season as sr
from vansim.runs.electricity import endless_bank, led_in
from vansim.runs.run import LEAD_IN_SOC, follow, march_forcing, rested_state
from vansim.scenario.plan import extended_scenario
from vansim.scenario.schema import PlanSegment, Scenario
from vansim.studies.attendance import Unattended, aboard, unattended
from vansim.studies.bank_empty import BankEmpty, bank_empty
from vansim.studies.cool_down import hottest_day
from vansim.studies.design import TARGET, Design, Reading, design_of, season_notes
from vansim.van.bank import bank_parameters

FOLLOWED_H = 12
STEP_S = 60.0
SUN_STOP_H = 12
When = Literal["bank_empty", "sun"]
Stop = Literal["bank_empty", "left_on", "fault", "sun"]


@dataclass(frozen=True)
class WarmUpBias:
    """Model less measurement of a closed dark sedan in the sun, nothing fitted: mean of twelve days, and their spread.

    Attributes
    ----------
    minutes : tuple of int
        After it was closed.
    bias_k, spread_k : tuple of float
        Mean difference, negative where the model warms too slowly, and standard deviation of what was measured [K].

    Source
    ------
    Null (2003), table 1; worked out in tests/published/test_parked_car.py.
    """

    minutes: tuple[int, ...] = (10, 20, 30, 60)
    bias_k: tuple[float, ...] = (1.4, -0.1, 0.8, 2.5)
    spread_k: tuple[float, ...] = (2.4, 2.7, 2.9, 3.5)

    @property
    def first_half_hour_k(self) -> tuple[float, float]:
        """Lowest and highest within the first half hour [K]."""
        early = [k for m, k in zip(self.minutes, self.bias_k, strict=True) if m <= 30]
        return min(early), max(early)

    @property
    def one_hour_k(self) -> float:
        """After an hour [K]."""
        return self.bias_k[self.minutes.index(60)]


@dataclass(frozen=True)
class Course:
    """The cabin from the stop on, in one case.

    Attributes
    ----------
    covers : bool
        Window covers in place.
    series : DataFrame
        Indexed by minutes from the stop, twelve hours: `outdoor_c, cabin_c, contents_c, cabin_rh, heat_index_c,
        off_scale, margin_to_dog_line_k`. Beyond its range the heat index is not-a-number, and `off_scale` says why:
        ``"index"`` above 58 °C, ``"air"`` where the cabin is warmer than any in its tables; else it is empty.
    lines : DataFrame
        Indexed by `line`, the codes of `vansim.heat_stress.LINES`: `quantity`, `value_c`, `minutes` until it is first
        passed (0 where it already was when the cooling stopped, infinite where 12 h do not reach it), `minutes_above`
        within those 12 h, `source`. A heat index that is off the scale is above every line of it.
    """

    covers: bool
    series: pd.DataFrame
    lines: pd.DataFrame


@dataclass(frozen=True)
class Outage:
    """The cabin after the cooling has stopped. Nothing here is a time for which anybody can be left.

    Attributes
    ----------
    when : {"bank_empty", "sun"}
        What was asked.
    stop : {"bank_empty", "left_on", "fault", "sun"}
        Why the cooling stopped: the account emptied the bank; no account does, and with cooling left on from bedtime
        and nothing charging it is empty then; not even that empties it in 48 h, and something fails at the warmest hour
        of the night in which the plan cools; in full sun at noon of the hottest day.
    moment : Timestamp
        When.
    reading : {"independent", "consecutive"} or None
        Which nights were read; None in the sun.
    night : BankEmpty or None
        Which of them, and when its bank is empty; None in the sun.
    segment : PlanSegment
        What the plan has at that moment.
    people, dogs : int
        Who is aboard then: whoever the plan has in the van; in the sun, everybody.
    courses : tuple of Course
        One as the plan has the covers, or as asked; in the sun without covers and with.
    bias : WarmUpBias
        To stand beside the minutes: how the model warmed a measured car, and how far single days lay apart.
    unattended : Unattended or None
        Where the plan has only animals, or nobody who can act, in the van, with the time at which the bank is empty.
    design : Design
        Van, plan, season and nights that were read.
    notes : tuple of Note
        Those of the season; ``no-account-empties-the-bank`` (`nights`, `consecutive_empty`), with ``outlasts-48-h``
        where that is so; ``heat-index-off-scale`` (`above_c`, `air_above_c`) where any course leaves its range.
    """

    when: When
    stop: Stop
    moment: pd.Timestamp
    reading: Reading | None
    night: BankEmpty | None
    segment: PlanSegment
    people: int
    dogs: int
    courses: tuple[Course, ...]
    bias: WarmUpBias
    unattended: Unattended | None
    design: Design
    notes: tuple[Note, ...]

    @property
    def table(self) -> pd.DataFrame:
        """The lines of every course, one below the other, with `covers`."""
        return pd.concat([course.lines.assign(covers=course.covers) for course in self.courses])


def outage(
    scenario: Scenario,
    weather: Weather | None = None,
    when: When = "bank_empty",
    covers: bool | None = None,
    season: str | None = None,
    heat_wave: HeatWave | float | None = None,
    target: float = TARGET,
    start_soc: float | None = None,
    full_at_bedtime: bool = False,
) -> Outage:
    """Follow the cabin after the cooling has stopped.

    Parameters
    ----------
    scenario, weather, season, heat_wave, target, start_soc, full_at_bedtime
        As for `vansim.studies.design.design_of`.
    when : {"bank_empty", "sun"}
        ``"bank_empty"``: from the moment at which the account of a night empties the bank, on the night of the season
        on which that is earliest, counted from bedtime. ``"sun"``: at noon of the hottest day, the van in the open,
        cabin and contents at the set point until then.
    covers : bool or None
        Window covers in place; left out, as the plan has them then, and in the sun without and with, a course each.

    Returns
    -------
    Outage
        Twelve hours in the plan's segment of that moment, parked and closed up: windows and roof fan shut, nothing
        cooling, nothing charging, other loads on. Aboard are those whom the plan has aboard; in the sun, everybody.

    Raises
    ------
    ScenarioError, WeatherError
        `when` is something else; the scenario has no cooler; a season, share or weather that cannot be used.
    """
    if when not in ("bank_empty", "sun"):
        raise ScenarioError(f"when: {when!r} is not a case; allowed: bank_empty, sun")
    if scenario.cooler is None:
        raise ScenarioError("cooler: the scenario has none, so there is no cooling that could stop")
    design = design_of(
        scenario, weather, season, heat_wave=heat_wave, target=target, start_soc=start_soc,
        full_at_bedtime=full_at_bedtime,
    )  # fmt: skip
    stopped = _stopped_in_sun(design) if when == "sun" else _stopped_at_night(design)
    if when == "sun":
        segment = stopped.segment.model_copy(
            update={"shade": 0.0, "sky_view_factor": None, "people": "awake", "dogs": "awake"}
        )
        cases = (False, True) if covers is None else (covers,)
    else:
        segment, cases = stopped.segment, (stopped.segment.covers if covers is None else covers,)
    courses = tuple(_course(design, stopped, segment, case) for case in cases)
    people, dogs = aboard(scenario, segment)
    return Outage(
        when=when,
        stop=stopped.why,
        moment=_moment(design, stopped),
        reading=None if when == "sun" else design.judged,
        night=stopped.night,
        segment=stopped.segment,
        people=people,
        dogs=dogs,
        courses=courses,
        bias=WarmUpBias(),
        unattended=unattended(design),
        design=design,
        notes=(*season_notes(design), *_notes(design, stopped, courses)),
    )


def _notes(design: Design, stopped: _Stopped, courses: tuple[Course, ...]) -> list[Note]:
    notes = []
    if stopped.why in ("left_on", "fault"):
        # where consecutive nights are not the headline, they may find the bank empty all the same
        empty = 0 if design.judged == "consecutive" else int(design.consecutive.table["empty_at"].notna().sum())
        counts = {"nights": design.headline.count, "consecutive_empty": empty}
        notes.append(Note("no-account-empties-the-bank", counts))
    if stopped.why == "fault":
        notes.append(Note("outlasts-48-h"))
    if any((course.series["off_scale"] != "").any() for course in courses):
        limits = {"above_c": HEAT_INDEX_MAX_C, "air_above_c": HEAT_INDEX_AIR_MAX_C}
        notes.append(Note("heat-index-off-scale", limits))
    return notes


# --- where it stops ---------------------------------------------------------------------------------------------------


@dataclass(frozen=True)
class _Stopped:
    """Why and when cooling stopped, and since when the weather of that moment holds [s on the clock of the season]; the
    van then, and the plan's segment.
    """

    why: Stop
    at_s: float
    since_s: float
    state: Any
    segment: PlanSegment
    night: BankEmpty | None


def _stopped_at_night(design: Design) -> _Stopped:
    """The bank's reserve on the hardest night of the headline."""
    run, bank, night = design.season, bank_parameters(design.bank), bank_empty(design)
    assert night is not None  # a season has nights
    row, forcing, van = run.rows[night.place], run.forcing, run.van(bank)
    account, bed, wake = (int(row[name]) for name in ("account", "bed", "wake"))
    state, segments = _account_state(design, night.place), run.laid.segments
    if night.how == "in_account":
        at_s = march_forcing(rows_of(forcing.plan, account, wake), van, state, stop_at_reserve=True).end_s
        place = _interval_of(forcing.plan, at_s, account)
        return _Stopped("bank_empty", at_s, forcing.plan.start_s[place], state, segments[place], night=night)
    _march(forcing.plan, account, bed, van, state)
    if night.how == "outlasts":
        place = _warmest_cooled(forcing.plan, bed, wake)
        _march(forcing.plan, bed, place, van, state)
        at_s = float(forcing.plan.start_s[place])
        return _Stopped("fault", at_s, at_s, state, segments[place], night=night)
    at_s = march_forcing(rows_of(forcing.no_charging, bed, wake), van, state, stop_at_reserve=True).end_s
    if state["disconnected"] > 0.0:
        place = _interval_of(forcing.no_charging, at_s, bed)
        return _Stopped("left_on", at_s, forcing.no_charging.start_s[place], state, segments[place], night=night)
    after, beyond = int(row["after"]), int(row["after_end"])
    at_s = march_forcing(rows_of(forcing.after, after, beyond), van, state, stop_at_reserve=True).end_s
    place = after + _interval_of(rows_of(forcing.after, after, beyond), at_s, 0)
    return _Stopped("left_on", at_s, forcing.after.start_s[place], state, segments[wake - 1], night=night)


def _march(forcing: Forcing, first: int, end: int, van: Any, state: Any) -> None:
    """Change a state by some intervals in a row, of which there may be none."""
    if end > first:
        march_forcing(rows_of(forcing, first, end), van, state)


def _interval_of(forcing: Forcing, at_s: float, first: int) -> int:
    """The interval that ends with or holds a moment; none before `first`."""
    return max(int(np.searchsorted(forcing.start_s, at_s - 1e-3, side="right")) - 1, first)


def _account_state(design: Design, place: int) -> Any:
    """The van where the account of a night of the headline begins."""
    run, bank, reading = design.season, bank_parameters(design.bank), design.headline
    if reading.kind == "independent" or place == 0:
        return sr.with_charge(design.states[place : place + 1], bank, float(reading.table["start_soc"].iloc[place]))[0]
    row, state = run.rows[place], reading.waking[place - 1].copy()
    _march(run.forcing.plan, int(row["day"]), int(row["account"]), run.van(bank), state)
    return state


def _warmest_cooled(plan: Forcing, bed: int, wake: int) -> int:
    """Interval between bedtime and waking that begins warmest outdoors, of those in which the plan cools, if any."""
    outdoor_c, cooled = plan.outdoor_c[bed:wake], plan.cooling[bed:wake] != COOLING_OFF
    return bed + int(np.argmax(np.where(cooled, outdoor_c, -np.inf) if cooled.any() else outdoor_c))


def _stopped_in_sun(design: Design) -> _Stopped:
    """Noon of the hottest day with the cabin at its set point."""
    run = design.season
    at_s = (hottest_day(run) * 24 + SUN_STOP_H) * 3600.0
    place = int(np.searchsorted(run.forcing.plan.start_s, at_s - 1e-6))
    here, cabin_c = rows_of(run.forcing.plan, place, place + 1), run.scenario.thermostat.setpoint_c
    # a cooled cabin is no damper than half saturated, nor than the air outside
    half = float(humidity_ratio(0.5 * saturation_pressure_pa(cabin_c), run.constants.pressure_pa))
    state = rested_state(here, cabin_c, min(float(here.outdoor_ratio[0]), half))
    return _Stopped("sun", at_s, at_s, state, run.laid.segments[place], night=None)


def _moment(design: Design, stopped: _Stopped) -> pd.Timestamp:
    """The stop as a time of the typical year; that of the night's own table where it is told there."""
    if stopped.night is not None and stopped.night.at is not None:
        return stopped.night.at
    zone = pd.DatetimeIndex(design.season.weather.data.index).tz
    return pd.Timestamp(design.season.nights.date_of(0), tz=zone) + pd.Timedelta(seconds=stopped.at_s)


# --- and what comes then ----------------------------------------------------------------------------------------------


def _course(design: Design, stopped: _Stopped, segment: PlanSegment, covers: bool) -> Course:
    """Twelve hours closed up from the stop on."""
    run = design.season
    closed = {"doing": "parked", "speed_kmh": 0.0, "vehicle_cooling": False, "cooling": "off", "fan": "off"}
    closed_up = segment.model_copy(update={**closed, "window_open": False, "covers": covers})
    # what is constant within an interval is reckoned at its middle: begin with it, and cut it at the stop
    start_min, end_min = round(stopped.since_s / 60.0), int(stopped.at_s // 60.0) + FOLLOWED_H * 60 + 1
    there = extended_scenario(run.scenario, closed_up)
    laid = build_forcing(there, run.weather, run.nights.first_hour, start_min, end_min)
    series = _series(run, _from(without_charging(laid.forcing), stopped.at_s), stopped.state)
    return Course(covers, series, passed(series))


def _from(forcing: Forcing, at_s: float) -> Forcing:
    """The forcing from a moment on."""
    forcing = rows_of(forcing, _interval_of(forcing, at_s, 0), forcing.start_s.size)
    start_s, outdoor_c = forcing.start_s.copy(), forcing.outdoor_c.copy()
    outdoor_c[0] += forcing.outdoor_k_s[0] * (at_s - start_s[0])
    start_s[0] = at_s
    return forcing._replace(start_s=start_s, outdoor_c=outdoor_c)


def _series(run: sr.SeasonRun, forcing: Forcing, state: Any) -> pd.DataFrame:
    """March with nothing cooling, minute by minute."""
    endless, first = endless_bank(), float(forcing.start_s[0])
    since_s = np.arange(0.0, FOLLOWED_H * 3600.0 + 1.0, STEP_S)
    series = follow(forcing, led_in(run.van(endless)), sr.with_charge(state, endless, LEAD_IN_SOC), first + since_s)
    series = series[["outdoor_c", "cabin_c", "contents_c", "cabin_rh"]]
    return with_heat_stress(series.set_index(pd.Index(since_s / 60.0, name="minutes")))


def with_heat_stress(series: pd.DataFrame) -> pd.DataFrame:
    """Add heat index and the margin to the dogs' line to a course of `cabin_c` [°C] and `cabin_rh` (0 to 1).

    Parameters
    ----------
    series : DataFrame
        At even steps.

    Returns
    -------
    DataFrame
        With `heat_index_c`, `off_scale` and `margin_to_dog_line_k` as in `Course.series`.
    """
    pairs = list(zip(series["cabin_c"], series["cabin_rh"], strict=True))
    index = np.array([heat_index_c(c, rh) for c, rh in pairs])
    off = np.array([heat_index_off_scale(c, i) for (c, _), i in zip(pairs, index, strict=True)], dtype=object)
    return series.assign(
        heat_index_c=np.where(off == "", index, np.nan),
        off_scale=off,
        margin_to_dog_line_k=[dog_line_c(rh) - c for c, rh in pairs],
    )


def passed(series: pd.DataFrame) -> pd.DataFrame:
    """When a course passes each published threshold.

    Parameters
    ----------
    series : DataFrame
        As in `Course`, at even steps.

    Returns
    -------
    DataFrame
        As `Course.lines`.
    """
    minutes = series.index.to_numpy(dtype=float)
    off = (series["off_scale"] != "").to_numpy()
    rows = {}
    for line in LINES:
        if line.quantity == "dog_line":
            above = (series["margin_to_dog_line_k"] < 0.0).to_numpy()
        else:
            above = (series[line.quantity] > line.value_c).to_numpy()
        if line.quantity == "heat_index_c":
            above = above | off
        rows[line.code] = {
            "quantity": line.quantity,
            "value_c": line.value_c,
            "minutes": float(minutes[np.argmax(above)]) if above.any() else float("inf"),
            "minutes_above": float(above[:-1].sum() * (minutes[1] - minutes[0])),
            "source": line.source,
        }
    return pd.DataFrame.from_dict(rows, orient="index").rename_axis("line")
