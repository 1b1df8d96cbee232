"""After the cooler has stopped: how fast the cabin becomes dangerous.

This is a warning, never a permission. Times are those of a model with typical, stated inputs; a real van in the sun, a
sick or short-nosed dog, a small child can be in danger long before any line below is reached.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Literal

import numpy as np
import numpy.typing as npt
import pandas as pd

from vansim.air import humidity_ratio, relative_humidity, saturation_pressure_pa
from vansim.climate import Weather
from vansim.errors import ScenarioError
from vansim.march import kernel as k
from vansim.march.forcing import Forcing, lay
from vansim.march.run import march_arrays
from vansim.scenario.schema import Scenario, Segment
from vansim.studies import night_march as nm
from vansim.studies import season_run as sr
from vansim.studies.nights import laid_season
from vansim.studies.season import HeatWave
from vansim.van.bank import bank_numbers

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
class Line:
    """A published threshold.

    Attributes
    ----------
    name, source : str
        What it is, and who says so.
    quantity : {"cabin_c", "heat_index_c", "dog_line"}
        What is compared; `dog_line` falls with humidity.
    value_c : float
        Threshold [°C]; for `dog_line` its temperature at 90 % relative humidity.
    """

    name: str
    source: str
    quantity: Literal["cabin_c", "heat_index_c", "dog_line"]
    value_c: float


def _c(fahrenheit: float) -> float:
    return (fahrenheit - 32.0) / 1.8


LINES = (
    Line("sleep begins to suffer", "CIBSE Guide A 2006, from memory", "cabin_c", 24.0),
    Line("bedroom criterion", "CIBSE TM59: 2017", "cabin_c", 26.0),
    Line("caution", "US National Weather Service heat index, 80 degF", "heat_index_c", _c(80.0)),
    Line("extreme caution", "US National Weather Service heat index, 90 degF", "heat_index_c", _c(90.0)),
    Line("danger", "US National Weather Service heat index, 103 degF", "heat_index_c", _c(103.0)),
    Line("extreme danger", "US National Weather Service heat index, 125 degF", "heat_index_c", _c(125.0)),
    Line("dogs in transport: ventilation or cooling required", "US 9 CFR 3.16(e), 85 degF", "cabin_c", 29.5),
    Line("above a dog's thermoneutral zone", "Carter 2020", "cabin_c", 35.0),
    Line(
        "survival line of healthy dogs",
        "US FAA report AM-87/8: 85 degF at 90 % RH, 4 % less per degF",
        "dog_line",
        _c(85.0),
    ),
)
"""Set alarms far below the last: it is the line at which healthy dogs began to die within six hours."""


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


def heat_index_c(temp_c: float, relative_humidity: float) -> float:
    """Heat index [°C] in the shade.

    Parameters
    ----------
    temp_c : float
        Air temperature [°C].
    relative_humidity : float
        0 to 1; more is taken as 1.

    Returns
    -------
    float
        Apparent temperature [°C].

    Notes
    -----
    US National Weather Service: Rothfusz's regression (technical attachment SR 90-23, 1990) with the adjustments for
    dry and humid air, in degF and %; below 80 degF the mean of Steadman's simple form and the temperature. In full sun
    it feels up to 8 K warmer. It was made for adults; children and animals are worse off. Its chart ends at 58 °C
    (137 degF): beyond that the number only means extreme danger.
    """
    t, r = temp_c * 1.8 + 32.0, 100.0 * min(max(relative_humidity, 0.0), 1.0)
    simple = 0.5 * (t + 61.0 + 1.2 * (t - 68.0) + 0.094 * r)
    if 0.5 * (simple + t) < 80.0:
        return (0.5 * (simple + t) - 32.0) / 1.8
    index = (
        -42.379
        + 2.04901523 * t
        + 10.14333127 * r
        - 0.22475541 * t * r
        - 6.83783e-3 * t * t
        - 5.481717e-2 * r * r
        + 1.22874e-3 * t * t * r
        + 8.5282e-4 * t * r * r
        - 1.99e-6 * t * t * r * r
    )
    if r < 13.0 and 80.0 <= t <= 112.0:
        index -= (13.0 - r) / 4.0 * math.sqrt((17.0 - abs(t - 95.0)) / 17.0)
    elif r > 85.0 and 80.0 <= t <= 87.0:
        index += (r - 85.0) / 10.0 * (87.0 - t) / 5.0
    return (index - 32.0) / 1.8


def dog_line_c(relative_humidity: float) -> float:
    """Temperature of the FAA AM-87/8 line for dogs at a relative humidity (0 to 1) [°C]: 85 degF at 90 %, +1 degF per
    4 % less.
    """
    return _c(85.0 + (90.0 - 100.0 * relative_humidity) / 4.0)


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
    laid = lay(held, run.weather, run.span.first_hour, start_min, start_min + FOLLOWED_H * 60)
    series = _follow(run, sr.without_charging(laid.forcing), state)
    midnight = pd.Timestamp(run.span.date_of(0), tz=pd.DatetimeIndex(run.weather.data.index).tz)
    moment = midnight + pd.Timedelta(minutes=start_min)
    return Hazard(series, passed(series), when, moment, f"{story} {moment:%d %B, %H:%M}.")


def _closed(run: sr.SeasonRun, stop_s: float, when: str) -> Segment:
    """The segment in force when the cooler stops, closed up, with everybody inside."""
    night = int(np.clip(np.searchsorted(run.bed_s, stop_s, side="right") - 1, 0, run.span.days - 1))
    place = np.searchsorted(run.laid.forcing.start_s, run.wake_s[night] - 1e-6) - 1
    segment = run.laid.segments[int(place)]
    inside = "asleep" if when == "night" else "awake"
    closed = {"doing": "parked", "speed_kmh": 0.0, "vehicle_cooling": False, "cooling": "off", "fan": "off"}
    sun = {"shade": 0.0, "sky_open": None} if when == "sun" else {}
    return segment.model_copy(update={**closed, **sun, "window_open": False, "people": inside, "dogs": inside})


def _stopped_at_night(run: sr.SeasonRun) -> tuple[float, Array, str]:
    """Moment of the reserve on the night with the shortest runtime, and the state then."""
    bank, states = bank_numbers(run.scenario.bank), sr.evenings(run).states
    books = sr.alone(run, bank, states, 1.0)
    night = int(np.argmin(books[:, nm.RUNTIME]))
    bed, wake = run.bed_s[night], run.wake_s[night]
    emptied = bool(books[night, nm.EMPTIED])
    stop = bed + books[night, nm.RUNTIME] if emptied else 0.5 * (bed + wake)
    state = sr.with_charge(states[night], bank, 1.0)
    forcing = _until(sr.between(run.quiet, bed, wake)[0], stop)
    march_arrays(forcing, run.house, run.cooling, bank, state)
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


def _stopped_in_sun(run: sr.SeasonRun) -> tuple[float, Array, str]:
    """Noon of the hottest day with the cabin at its set point."""
    forcing = run.laid.forcing
    days = np.floor(forcing.start_s / 86400.0).astype(int)
    inside = (days >= 0) & (days < run.span.days)
    day = int(days[inside][np.argmax(forcing.outdoor_c[inside])])
    stop = (day * 24 + SUN_STOP_H) * 3600.0
    here = sr.between(forcing, stop, stop + 3600.0)[0]
    state = sr.rested_state(here, run.scenario.thermostat.setpoint_c)
    # a cooled cabin is no damper than half saturated, nor than the air outside
    state[k.RATIO] = min(here.outdoor_ratio[0], _ratio_at(run, state[k.CABIN], 0.5))
    return stop, state, "The cooler stops in full sun at noon of the hottest day, the cabin at its set point:"


def _ratio_at(run: sr.SeasonRun, temp_c: float, humidity: float) -> float:
    return float(humidity_ratio(humidity * saturation_pressure_pa(temp_c), run.house.pressure_pa))


def _follow(run: sr.SeasonRun, forcing: Forcing, state: Array) -> pd.DataFrame:
    """March with nothing cooling, minute by minute."""
    first = forcing.start_s[0]
    moments = first + np.arange(0.0, FOLLOWED_H * 3600.0, STEP_S)
    state = sr.with_charge(state, sr.endless_bank(), 0.5)
    state[k.ON], state[k.FAN], state[k.SINCE_SWITCH] = 0.0, 0.0, 0.0
    rows = march_arrays(forcing, run.house, run.cooling, sr.endless_bank(), state, moments=moments)[1]
    pressure = run.house.pressure_pa
    humidity = [relative_humidity(row[k.S_CABIN], row[k.S_RATIO], pressure) for row in rows]
    pairs = list(zip(rows[:, k.S_CABIN], humidity, strict=True))
    return pd.DataFrame(
        {
            "outdoor_c": rows[:, k.S_OUTDOOR],
            "cabin_c": rows[:, k.S_CABIN],
            "contents_c": rows[:, k.S_CONTENTS],
            "cabin_rh": humidity,
            "heat_index_c": [heat_index_c(c, rh) for c, rh in pairs],
            "margin_to_dog_line_k": [dog_line_c(rh) - c for c, rh in pairs],
        },
        index=pd.Index((moments - first) / 60.0, name="minutes"),
    )


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
