"""After the cooler has stopped: how fast the cabin becomes dangerous.

This is a warning, never a permission. Times are those of a model with typical, stated inputs; a real van in the sun, a
sick or short-nosed dog, a small child can be in danger long before any line below is reached.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any, Literal

import numpy as np
import numpy.typing as npt
import pandas as pd

from vansim.boundary.forcing import Forcing, build_forcing
from vansim.climate import Weather
from vansim.climate.seasons import HeatWave
from vansim.errors import ScenarioError
from vansim.heat_stress import LINES, dog_line_c, heat_index_c
from vansim.psychrometrics import humidity_ratio, saturation_pressure_pa
from vansim.runs import season as sr
from vansim.runs.run import follow, march_forcing, rested_state
from vansim.scenario.schema import PlanSegment, Scenario
from vansim.studies.nights import laid_season
from vansim.van.bank import bank_parameters

Array = npt.NDArray[np.float64]

FOLLOWED_H = 12
STEP_S = 60.0
SUN_STOP_H = 12
CAUTION = (
    "NEVER leave a child or a pet alone in a vehicle, whether the cooling is running or not. Cooling can stop at any "
    "moment: an empty bank, a tripped fuse, a fault. A closed van can become deadly within minutes, and those inside "
    "cannot help themselves. These times are no grace period: somebody who can act must stay with them or take them "
    "out. In an emergency call the local emergency number."
)


@dataclass(frozen=True)
class Hazard:
    """The cabin after the cooler has stopped.

    Attributes
    ----------
    series : DataFrame
        Indexed by minutes from the stop: `outdoor_c, cabin_c, contents_c, cabin_rh, heat_index_c,
        margin_to_dog_line_k`.
    lines : DataFrame
        Indexed by threshold: `source`, `value_c`, `minutes` until it is first passed (0 where it already was when the
        cooler stopped, infinite where 12 h do not reach it) and `minutes_above` within those 12 h.
    when : {"night", "sun"}
        Which case.
    moment : Timestamp
        When the cooler stopped.
    story : str
        The case in a sentence.
    caution : str
        Shown with every number here.
    """

    series: pd.DataFrame
    lines: pd.DataFrame
    when: str
    moment: pd.Timestamp
    story: str
    caution: str = CAUTION


def after_reserve(
    scenario: Scenario,
    weather: Weather | None = None,
    when: Literal["night", "sun"] = "night",
    season: str | None = None,
    heat_wave: HeatWave | float | None = None,
) -> Hazard:
    """Follow the cabin after the cooler has stopped at the bank's reserve.

    Parameters
    ----------
    scenario : Scenario
        Van, people, dogs, plan.
    weather : Weather or None
        Typical year; left out, the scenario's own.
    when : {"night", "sun"}
        ``"night"``: on the night of the season with the shortest runtime, from a full bank, at the moment of its
        reserve; where it outlasts the night, halfway through it. ``"sun"``: at noon of the hottest day, the van in the
        open, cabin and contents at the set point until then.
    season, heat_wave
        As for `nights_alone`.

    Returns
    -------
    Hazard
        Twelve hours. Windows stay closed, the roof fan is off, and all people and dogs of the scenario are inside.

    Raises
    ------
    ScenarioError
        `when` is something else.
    """
    if when not in ("night", "sun"):
        raise ScenarioError(f"when: {when!r} is not a case; allowed: night, sun")
    run = laid_season(scenario, weather, season, heat_wave)
    stop_s, state, story = _stopped_at_night(run) if when == "night" else _stopped_in_sun(run)
    start_min = int(stop_s // 60.0)
    segment = _closed(run, stop_s, when)
    held = sr.held_scenario(scenario, segment)
    laid = build_forcing(held, run.weather, run.span.first_hour, start_min, start_min + FOLLOWED_H * 60)
    series = _follow(run, sr.without_charging(laid.forcing), state)
    midnight = pd.Timestamp(run.span.date_of(0), tz=pd.DatetimeIndex(run.weather.data.index).tz)
    moment = midnight + pd.Timedelta(minutes=start_min)
    return Hazard(series, passed(series), when, moment, f"{story} {moment:%d %B, %H:%M}.")


def _closed(run: sr.SeasonRun, stop_s: float, when: str) -> PlanSegment:
    """The segment in force when the cooler stops, closed up, with everybody inside."""
    night = int(np.clip(np.searchsorted(run.bed_s, stop_s, side="right") - 1, 0, run.span.days - 1))
    place = np.searchsorted(run.laid.forcing.start_s, run.wake_s[night] - 1e-6) - 1
    segment = run.laid.segments[int(place)]
    inside = "asleep" if when == "night" else "awake"
    closed = {"doing": "parked", "speed_kmh": 0.0, "vehicle_cooling": False, "cooling": "off", "fan": "off"}
    sun = {"shade": 0.0, "sky_view_factor": None} if when == "sun" else {}
    return segment.model_copy(update={**closed, **sun, "window_open": False, "people": inside, "dogs": inside})


def _stopped_at_night(run: sr.SeasonRun) -> tuple[float, Any, str]:
    """Moment of the reserve on the night with the shortest runtime, and the state then."""
    bank, states = bank_parameters(run.scenario.bank), sr.evenings(run).states
    nights = sr.alone(run, bank, states, 1.0)
    night = int(np.argmin(nights.runtime_s))
    bed, wake = run.bed_s[night], run.wake_s[night]
    emptied = bool(nights[night].emptied)
    stop = bed + nights[night].runtime_s if emptied else 0.5 * (bed + wake)
    state = sr.with_charge(states[night], bank, 1.0)
    forcing = _until(sr.between(run.quiet, bed, wake)[0], stop)
    march_forcing(forcing, run.van(bank), state)
    words = (
        "at the bank's reserve" if emptied else "halfway through the night by assumption, as the bank would outlast it"
    )
    return stop, state, f"The cooler stops {words}, on the night with the shortest runtime:"


def _until(forcing: Forcing, stop_s: float) -> Forcing:
    """The forcing cut off at a moment."""
    count = int(np.searchsorted(forcing.start_s, stop_s - 1e-9))
    cut = Forcing(*(column[:count] for column in forcing))
    ends = cut.end_s.copy()
    ends[-1:] = min(ends[-1], stop_s) if count else stop_s
    return cut._replace(end_s=ends)


def _stopped_in_sun(run: sr.SeasonRun) -> tuple[float, Any, str]:
    """Noon of the hottest day with the cabin at its set point."""
    forcing = run.laid.forcing
    days = np.floor(forcing.start_s / 86400.0).astype(int)
    inside = (days >= 0) & (days < run.span.days)
    day = int(days[inside][np.argmax(forcing.outdoor_c[inside])])
    stop = (day * 24 + SUN_STOP_H) * 3600.0
    here = sr.between(forcing, stop, stop + 3600.0)[0]
    cabin_c = run.scenario.thermostat.setpoint_c
    # a cooled cabin is no damper than half saturated, nor than the air outside
    state = rested_state(here, cabin_c, min(here.outdoor_ratio[0], _ratio_at(run, cabin_c, 0.5)))
    return stop, state, "The cooler stops in full sun at noon of the hottest day, the cabin at its set point:"


def _ratio_at(run: sr.SeasonRun, temp_c: float, humidity: float) -> float:
    return float(humidity_ratio(humidity * saturation_pressure_pa(temp_c), run.constants.pressure_pa))


def _follow(run: sr.SeasonRun, forcing: Forcing, state: Any) -> pd.DataFrame:
    """March with nothing cooling, minute by minute."""
    first = forcing.start_s[0]
    moments = first + np.arange(0.0, FOLLOWED_H * 3600.0, STEP_S)
    series = follow(forcing, run.van(sr.endless_bank()), sr.cooling_stopped(state), moments)
    series = series[["outdoor_c", "cabin_c", "contents_c", "cabin_rh"]]
    pairs = list(zip(series["cabin_c"], series["cabin_rh"], strict=True))
    return series.assign(
        heat_index_c=[heat_index_c(c, rh) for c, rh in pairs],
        margin_to_dog_line_k=[dog_line_c(rh) - c for c, rh in pairs],
    ).set_index(pd.Index((moments - first) / 60.0, name="minutes"))


def passed(series: pd.DataFrame) -> pd.DataFrame:
    """When a course passes each published threshold.

    Parameters
    ----------
    series : DataFrame
        As in `Hazard`, at even steps.

    Returns
    -------
    DataFrame
        As `Hazard.lines`.
    """
    minutes = series.index.to_numpy(dtype=float)
    rows = {}
    for line in LINES:
        dog = line.quantity == "dog_line"
        above = (series["margin_to_dog_line_k"] < 0.0 if dog else series[line.quantity] > line.value_c).to_numpy()
        rows[line.name] = {
            "source": line.source,
            "quantity": line.quantity,
            "value_c": line.value_c,
            "minutes": float(minutes[np.argmax(above)]) if above.any() else float("inf"),
            "minutes_above": float(above.sum() * (minutes[1] - minutes[0])),
        }
    return pd.DataFrame.from_dict(rows, orient="index").rename_axis("threshold")
