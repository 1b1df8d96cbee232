"""Forcing: weather, envelope and plan as plain arrays over the pieces of a run.

A piece lies between hour edges, plan edges and the edges of load hours. Within it outdoor temperature runs straight,
everything else is constant. Arrays over pieces are all that the kernel sees of the world.
"""

from __future__ import annotations

from collections import deque
from dataclasses import dataclass
from typing import Any, NamedTuple

import numpy as np
import numpy.typing as npt

from vansim.boundary.electric import WARMTH_MIN, alternator_column, electric_columns
from vansim.boundary.envelope import FaceGains, face_gains, surroundings
from vansim.climate.weather import Weather
from vansim.jit import compiled_maker
from vansim.psychrometrics import CP_DRY_AIR, CP_VAPOUR, density_kg_m3, saturation_ratio
from vansim.scenario.plan import ScheduledSegment, load_edges, unroll_plan
from vansim.scenario.schema import DAY_MIN, PlanSegment, Scenario, minutes
from vansim.van.cabin import FACES, air_changes_per_h, light_to_contents
from vansim.van.cabin_openings import draught

Array = npt.NDArray[Any]

COOLING_OFF, COOLING_ECO, COOLING_BOOST, COOLING_BOOST_THEN_ECO = 0, 1, 2, 3
COOLING_CODE = {
    "off": COOLING_OFF,
    "eco": COOLING_ECO,
    "boost": COOLING_BOOST,
    "boost_then_eco": COOLING_BOOST_THEN_ECO,
}
"""What the plan asks of the cooler, as the march knows it."""
FAN_OFF, FAN_ON, FAN_AUTO = 0, 1, 2
FAN_CODE = {"off": FAN_OFF, "on": FAN_ON, "auto": FAN_AUTO}
"""What the plan asks of the roof fan."""


class Forcing(NamedTuple):
    """Arrays over the pieces of a run, each (n_pieces,).

    `start_s`, `end_s` count from midnight of the run's first day. `outdoor_c` holds at the start and changes by
    `outdoor_k_s`. `ua_w_k` and `sol_air_gain_w` gather faces and glass. `air_kg_s` is leakage as dry air,
    `air_w_k` its heat capacity flow; `fan_kg_s`, `fan_w_k` the roof fan's, were it on. What stands open moves
    sqrt(`opening_kg2_s2` + `opening_kg2_s2_k` times the difference to outdoor air) [kg/s]. Where roof or floor (outdoor
    air and `roof_excess_k`, `floor_excess_k`) are colder than the cabin, `roof_outward_w_k` and `floor_outward_w_k` are
    added to their conductance. Panes are `pane_coldness` of the way from the cabin to outdoor air and `pane_excess_k`;
    `pane_kg_s` of water condense on them per unit of humidity ratio above saturation. `people_w`, `dogs_w` are total
    body heats.

    `loads_w` is the mean of everything that the busbar feeds but cooler and roof fan; `peak_w` is how far it rises
    above that when all DC loads run at once. `inverter_w` is the inverter's part of the mean, `inverter_peak_w` how far
    that rises, `inverter_heat_w` the heat that the cabin has from it and its loads. `shore_ac_w` are mains loads on the
    pedestal, `refused_w` those that nobody can give. `fridge_w` is the part of `loads_w` that follows the cabin about
    25 °C by `fridge_w_k` and `fridge_w_k2`, up to `fridge_most_w`; `fridge_heat` the share of it that warms the cabin.
    """

    start_s: Array
    end_s: Array
    outdoor_c: Array
    outdoor_k_s: Array
    outdoor_ratio: Array
    ua_w_k: Array
    sol_air_gain_w: Array
    sun_air_w: Array
    sun_contents_w: Array
    roof_outward_w_k: Array
    roof_excess_k: Array
    floor_outward_w_k: Array
    floor_excess_k: Array
    pane_kg_s: Array
    pane_coldness: Array
    pane_excess_k: Array
    opening_kg2_s2: Array
    opening_kg2_s2_k: Array
    air_kg_s: Array
    air_w_k: Array
    fan_kg_s: Array
    fan_w_k: Array
    people_w: Array
    dogs_w: Array
    internal_gains_w: Array
    loads_w: Array
    peak_w: Array
    inverter_w: Array
    inverter_peak_w: Array
    inverter_heat_w: Array
    refused_w: Array
    fridge_w: Array
    fridge_w_k: Array
    fridge_w_k2: Array
    fridge_most_w: Array
    fridge_heat: Array
    shore_ac_w: Array
    solar_w: Array
    alternator_a: Array
    shore_w: Array
    setpoint_c: Array
    cooling: Array
    fan: Array
    vehicle: Array


NOT_READ = frozenset(
    {
        "title",
        "note",
        "weather",
        "parts",
        "prices",
        "variants",
        "currency",
        "run",
        "trip",
        "bank",
        "cooler",
        "vehicle_cooling",
    }
)
"""Fields of a scenario that forcing does not depend on (on the cooler only whether there is one)."""


@dataclass(frozen=True)
class ForcingData:
    """A run laid out: the kernel's arrays, and what they were gathered from.

    Attributes
    ----------
    forcing : Forcing
        Arrays over pieces.
    rows : (n_pieces,) int array
        Hour of the year of each piece.
    gains : FaceGains
        Envelope, face by face.
    segments : list of Segment
        The plan's segment in each piece.
    """

    forcing: Forcing
    rows: Array
    gains: FaceGains
    segments: list[PlanSegment]


_KEPT: deque[tuple[Weather, tuple[Any, ...], ForcingData]] = deque(maxlen=8)
"""The last few runs laid out: banks and coolers tried in one van and place share them."""


def first_hour_of(date: str) -> int:
    """Hour of the year of midnight on ``"MM-DD"``."""
    from datetime import date as day

    return (day(2001, int(date[:2]), int(date[3:])) - day(2001, 1, 1)).days * 24


def build_forcing(scenario: Scenario, weather: Weather, first_hour: int, start_min: int, end_min: int) -> ForcingData:
    """Gather everything that does not depend on the cabin.

    Parameters
    ----------
    scenario : Scenario
        The van and its plan.
    weather : Weather
        The typical year; it repeats.
    first_hour : int
        Hour of the year of midnight on the run's first day.
    start_min, end_min : int
        Run on the plan's clock [min since that midnight]; negative minutes lead in.

    Returns
    -------
    ForcingData
        Pieces in order. Scenarios that differ in nothing read here share the same arrays: they are not to be changed.
    """
    if end_min <= start_min:
        return _nothing(build_forcing(scenario, weather, first_hour, start_min, start_min + 1))
    read = [getattr(scenario, name) for name in type(scenario).model_fields if name not in NOT_READ]
    asked = (first_hour, start_min, end_min, scenario.cooler is None, *read)
    for year, known, laid in tuple(_KEPT):
        if year == weather and known == asked:
            return laid
    laid = _build(scenario, weather, first_hour, start_min, end_min)
    _KEPT.append((weather, asked, laid))
    return laid


def _build(scenario: Scenario, weather: Weather, first_hour: int, start_min: int, end_min: int) -> ForcingData:
    """`build_forcing` without looking at what was laid before."""
    stretches = unroll_plan(scenario, (start_min - WARMTH_MIN) // DAY_MIN, -(-end_min // DAY_MIN))
    starts, ends, segments = _cut(scenario, stretches, start_min, end_min)
    temp = weather.array("temp_air")
    rows = (first_hour + starts // 60) % temp.size
    before, after = temp[rows], temp[(rows + 1) % temp.size]
    slope = (after - before) / 3600.0
    outdoor = before + slope * (starts % 60) * 60.0
    mean = outdoor + slope * (ends - starts) * 30.0
    ratio = _outdoor_ratio(weather, rows, starts, ends)
    columns, gains = _by_segment(scenario, weather, segments, rows=rows, starts=starts, outdoor_c=mean, ratio=ratio)
    forcing = Forcing(
        start_s=starts * 60.0,
        end_s=ends * 60.0,
        alternator_a=alternator_column(
            scenario.alternator, stretches, segments, starts=starts, ends=ends, outdoor_c=outdoor, outdoor_k_s=slope
        ),
        outdoor_c=outdoor,
        outdoor_k_s=slope,
        outdoor_ratio=ratio,
        ua_w_k=gains.ua_w_k.sum(axis=1) + gains.glass_ua_w_k,
        sol_air_gain_w=gains.sol_air_gain_w.sum(axis=1) + gains.glass_gain_w,
        sun_air_w=gains.glass_light_w * (1.0 - light_to_contents(scenario.cabin)) + gains.glass_warmth_w,
        sun_contents_w=gains.glass_light_w * light_to_contents(scenario.cabin),
        pane_kg_s=gains.pane_kg_s,
        pane_coldness=gains.pane_coldness,
        pane_excess_k=gains.pane_excess_k,
        **_level_faces(gains),
        **columns,
    )
    return ForcingData(forcing, rows, gains, segments)


def _level_faces(gains: FaceGains) -> dict[str, Array]:
    """Roof and floor, whose inside film turns with the direction of heat."""
    columns = {}
    for name in ("roof", "floor"):
        at = FACES.index(name)
        columns[f"{name}_outward_w_k"] = np.ascontiguousarray(gains.outward_ua_w_k[:, at])
        columns[f"{name}_excess_k"] = gains.sol_air_gain_w[:, at] / gains.ua_w_k[:, at]
    return columns


def _nothing(laid: ForcingData) -> ForcingData:
    """The same arrays without a piece, for a run with no lead-in."""
    forcing = Forcing(*(column[:0] for column in laid.forcing))
    gains = FaceGains(**{name: getattr(laid.gains, name)[:0] for name in FaceGains.__dataclass_fields__})
    return ForcingData(forcing, laid.rows[:0], gains, [])


def _cut(
    scenario: Scenario, stretches: list[ScheduledSegment], start_min: int, end_min: int
) -> tuple[Array, Array, list[PlanSegment]]:
    """Cut the plan at hour edges, load edges, bedtime and waking; minutes."""
    edges = load_edges(scenario) | {minutes(scenario.night.bedtime) % DAY_MIN, minutes(scenario.night.waking) % DAY_MIN}
    # every day is cut where any day's plan changes, so that an account and what leads to it begin on an edge
    edges |= {minutes(segment.start) for day in scenario.day for segment in day.segment}
    cuts = set(range(-(-start_min // 60) * 60, end_min, 60))
    first_day, last_day = start_min // DAY_MIN, -(-end_min // DAY_MIN)
    cuts |= {day * DAY_MIN + edge for day in range(first_day, last_day + 1) for edge in edges}
    cuts |= {s.start_min for s in stretches}
    starts = np.array(sorted(c for c in cuts | {start_min} if start_min <= c < end_min), dtype=np.int64)
    ends = np.append(starts[1:], end_min)
    begins = np.array([s.start_min for s in stretches])
    places = np.searchsorted(begins, starts, side="right") - 1
    return starts, ends, [stretches[i].segment for i in places]


@compiled_maker
def _saturation_ratios(dew_c: Array, pressure_pa: Array) -> Array:
    out = np.empty(dew_c.size)
    for i in range(dew_c.size):
        out[i] = saturation_ratio(dew_c[i], pressure_pa[i])
    return out


@compiled_maker
def _densities(temp_c: Array, ratio: Array, pressure_pa: Array) -> Array:
    out = np.empty(temp_c.size)
    for i in range(temp_c.size):
        out[i] = density_kg_m3(temp_c[i], ratio[i], pressure_pa[i])
    return out


def _outdoor_ratio(weather: Weather, rows: Array, starts: Array, ends: Array) -> Array:
    """Outdoor humidity ratio at the middle of each piece [kg/kg]."""
    edge = _saturation_ratios(weather.array("temp_dew"), weather.array("pressure"))
    middle = ((starts % 60) + 0.5 * (ends - starts)) / 60.0
    found: Array = edge[rows] * (1.0 - middle) + edge[(rows + 1) % edge.size] * middle
    return found


def _by_segment(
    scenario: Scenario,
    weather: Weather,
    segments: list[PlanSegment],
    rows: Array,
    starts: Array,
    outdoor_c: Array,
    ratio: Array,
) -> tuple[dict[str, Array], FaceGains]:
    """Columns and envelope, segment kind by segment kind, scattered back to the order of the pieces."""
    n = rows.size
    columns: dict[str, Array] = {}
    shape = dict.fromkeys(("ua_w_k", "sol_air_gain_w", "outward_ua_w_k"), (n, len(FACES)))
    gains = {name: np.zeros(shape.get(name, n)) for name in FaceGains.__dataclass_fields__}
    day_of = {id(segment): day for day in scenario.day for segment in day.segment}
    places: dict[int, list[int]] = {}
    for i, segment in enumerate(segments):
        places.setdefault(id(segment), []).append(i)
    for indices in places.values():
        at = np.array(indices)
        segment = segments[at[0]]
        day = day_of[id(segment)]
        around = surroundings(
            weather, scenario.site, day, segment, cabin=scenario.cabin, rows=rows[at], outdoor_c=outdoor_c[at]
        )
        part = face_gains(weather, scenario.site, segment, cabin=scenario.cabin, solar=scenario.solar, around=around)
        for name in gains:
            gains[name][at] = getattr(part, name)
        pressure = weather.array("pressure")[rows[at]]
        density = _densities(outdoor_c[at], ratio[at], pressure)
        for name, values in {
            **_air(scenario, segment, around.wind_m_s, density, ratio[at]),
            **_occupants(scenario, segment),
            **electric_columns(scenario, segment, starts[at], part),
            **_controls(scenario, segment),
        }.items():
            kind = np.int64 if name in ("cooling", "fan", "vehicle") else np.float64
            columns.setdefault(name, np.zeros(n, dtype=kind))[at] = values
    return columns, FaceGains(**gains)


def _air(scenario: Scenario, segment: PlanSegment, wind_m_s: Array, density: Array, ratio: Array) -> dict[str, Array]:
    cabin = scenario.cabin
    changes = air_changes_per_h(cabin, wind_m_s, segment.speed_kmh)
    leak = changes * cabin.volume_m3 / 3600.0 * density
    fan = cabin.fan_m3_h / 3600.0 * density
    heat = CP_DRY_AIR + CP_VAPOUR * ratio
    wind = np.maximum(wind_m_s, segment.speed_kmh / 3.6)
    opened = draught(cabin.openings if segment.window_open else ())
    return {
        "opening_kg2_s2": density**2 * (opened.still + opened.wind * wind**2),
        "opening_kg2_s2_k": density**2 * opened.stack,
        "air_kg_s": leak,
        "air_w_k": leak * heat,
        "fan_kg_s": fan,
        "fan_w_k": fan * heat,
    }


def _occupants(scenario: Scenario, segment: PlanSegment) -> dict[str, Any]:
    people = sum(person.heat_w(segment.people == "asleep") for person in scenario.occupants.people)
    dogs = sum(dog.heat_w(segment.dogs == "asleep") for dog in scenario.occupants.dogs)
    return {
        "people_w": 0.0 if segment.people == "out" else people,
        "dogs_w": 0.0 if segment.dogs == "out" else dogs,
    }


def _controls(scenario: Scenario, segment: PlanSegment) -> dict[str, Any]:
    setpoint = scenario.thermostat.setpoint_c if segment.setpoint_c is None else segment.setpoint_c
    return {
        "setpoint_c": setpoint,
        "cooling": COOLING_CODE[segment.cooling] if scenario.cooler is not None else COOLING_OFF,
        "fan": FAN_CODE[segment.fan],
        "vehicle": int(segment.vehicle_cooling),
    }


# --- parts and kinds of a forcing -------------------------------------------------------------------------------------


def without_charging(forcing: Forcing) -> Forcing:
    """Sun, engine and shore give the bank nothing; the panels still shade the roof."""
    nothing = np.zeros(forcing.start_s.size)
    return forcing._replace(solar_w=nothing, alternator_a=nothing, shore_w=nothing)


def between(forcing: Forcing, start_s: float, end_s: float) -> tuple[Forcing, slice]:
    """Intervals from one edge of the forcing to another, without copying, and where they lie."""
    i, j = (int(n) for n in np.searchsorted(forcing.start_s, (start_s - 1e-6, end_s - 1e-6)))
    return rows_of(forcing, i, j), slice(i, j)


def rows_of(forcing: Forcing, first: int, end: int) -> Forcing:
    """Some intervals in a row, without copying."""
    return Forcing(*(column[first:end] for column in forcing))
