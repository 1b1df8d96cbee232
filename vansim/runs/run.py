"""A run: prepared once, marched as often as needed."""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import Any

import numpy as np
import numpy.typing as npt

from vansim.boundary.forcing import Forcing, ForcingData, build_forcing, first_hour_of
from vansim.climate import Weather, read_weather
from vansim.errors import ScenarioError
from vansim.march.kernel import march
from vansim.march.records import (
    BANK_V,
    BOOSTING,
    CABIN,
    CONTENTS,
    N_OUT,
    N_SAMPLE,
    N_STATE,
    RATIO,
    SHED,
    SINCE_START,
    SINCE_SWITCH,
    SOC,
    CabinConstants,
)
from vansim.psychrometrics import CP_DRY_AIR, density_kg_m3
from vansim.scenario.schema import DAY_MIN, Scenario, minutes
from vansim.van.bank import BankParameters, bank_parameters, ocv_at
from vansim.van.cooler import CoolerMap, cooler_map, no_cooler_map

Array = npt.NDArray[Any]

LEAD_IN_DAYS = 2
VEHICLE_BAND_K = 4.0
"""Cabin temperature over which the vehicle's own cooling goes from nothing to all it can [K] (assumed)."""
LOG_PER_DAY = 2 * 24 * 14
REFERENCE_C, REFERENCE_RATIO = 25.0, 0.010


@dataclass(frozen=True)
class Run:
    """A run ready to march: nothing in it depends on the state of cabin or bank.

    Attributes
    ----------
    scenario, weather : Scenario, Weather
        What was asked.
    first_hour : int
        Hour of the year of midnight on the first day.
    start_min, end_min : int
        On the plan's clock [min since that midnight].
    lead_in, laid : ForcingData
        Forcing of the days before, and of the run.
    house, cooling, bank : CabinConstants, CoolerMap, BankParameters
        Constants.
    """

    scenario: Scenario
    weather: Weather
    first_hour: int
    start_min: int
    end_min: int
    lead_in: ForcingData
    laid: ForcingData
    house: CabinConstants
    cooling: CoolerMap
    bank: BankParameters


@dataclass(frozen=True)
class Marched:
    """What the kernel made of a run.

    Attributes
    ----------
    start, end : (N_STATE,) array
        State before and after.
    out : (n_pieces, N_OUT) array
        Books per piece.
    log : (n_events, 2) array
        Time [s] and kind of each event.
    end_s : float
        When it ended [s].
    samples : (n_samples, N_SAMPLE) array
        The fine picture at the wanted moments.
    """

    start: Array
    end: Array
    out: Array
    log: Array
    end_s: float
    samples: Array


def cabin_constants(scenario: Scenario, weather: Weather) -> CabinConstants:
    """Constants of cabin and controls for the kernel; air of 25 °C and 10 g/kg at the place's mean pressure."""
    cabin, cooler, pressure = scenario.cabin, scenario.cooler, weather.mean_pressure_pa
    air_kg = cabin.volume_m3 * density_kg_m3(REFERENCE_C, REFERENCE_RATIO, pressure)
    return CabinConstants(
        air_j_k=cabin.air_kj_k * 1000.0 + air_kg * CP_DRY_AIR,
        contents_j_k=cabin.contents_kj_k * 1000.0,
        coupling_w_k=cabin.contents_w_k,
        moisture_kg=air_kg * cabin.moisture_buffer,
        pressure_pa=pressure,
        deadband_k=scenario.thermostat.deadband_k,
        boost_return_k=scenario.thermostat.boost_return_k,
        min_on_s=cooler.min_on_s if cooler else 0.0,
        min_off_s=cooler.min_off_s if cooler else 0.0,
        between_starts_s=3600.0 / cooler.max_starts_per_h if cooler else 0.0,
        ramp_s=cooler.ramp_s if cooler else 1.0,
        standby_w=cooler.standby_w if cooler else 0.0,
        fan_w=cabin.fan_w,
        vehicle_c=scenario.vehicle_cooling.setpoint_c,
        vehicle_w_k=scenario.vehicle_cooling.capacity_w / VEHICLE_BAND_K,
        vehicle_w=scenario.vehicle_cooling.capacity_w,
        bank_inside=scenario.bank.place == "cabin",
        limit_c=scenario.night.limit_c,
    )


def weather_of(scenario: Scenario) -> Weather:
    """Read the typical year that a scenario names.

    Raises
    ------
    ScenarioError
        The scenario names none.
    """
    if not scenario.weather:
        raise ScenarioError("weather: the scenario names no weather file, and none was given")
    from vansim.scenario.files import weather_path

    return read_weather(weather_path(scenario))


def prepare(scenario: Scenario, weather: Weather | None = None, lead_in_days: int = LEAD_IN_DAYS) -> Run:
    """Do everything about a run that can be done before it starts.

    Parameters
    ----------
    scenario : Scenario
        The van, its plan, and when.
    weather : Weather or None
        A typical year; left out, the scenario's own.
    lead_in_days : int
        Days before the start from which cabin and contents take their warmth.

    Returns
    -------
    Run
        For `march_run`.
    """
    weather = weather_of(scenario) if weather is None else weather
    first_hour = first_hour_of(scenario.run.date)
    start = minutes(scenario.run.start)
    end = start + scenario.run.days * DAY_MIN
    return Run(
        scenario=scenario,
        weather=weather,
        first_hour=first_hour,
        start_min=start,
        end_min=end,
        lead_in=build_forcing(scenario, weather, first_hour, start - lead_in_days * DAY_MIN, start),
        laid=build_forcing(scenario, weather, first_hour, start, end),
        house=cabin_constants(scenario, weather),
        cooling=cooler_map(scenario.cooler, weather.mean_pressure_pa) if scenario.cooler else no_cooler_map(),
        bank=bank_parameters(scenario.bank),
    )


def fresh_state(run: Run, soc: float | None = None) -> Array:
    """State at the start: the warmth of the days before, a rested cooler, the bank as asked.

    Parameters
    ----------
    run : Run
        Prepared.
    soc : float or None
        State of charge; left out, the scenario's.

    Returns
    -------
    (N_STATE,) array
        During the lead-in the bank is taken to be inexhaustible, so that no earlier emptiness is carried in.
    """
    state = np.zeros(N_STATE)
    first = run.lead_in.forcing if run.lead_in.rows.size else run.laid.forcing
    state[CABIN] = state[CONTENTS] = first.outdoor_c[0]
    state[RATIO] = first.outdoor_ratio[0]
    state[SINCE_SWITCH] = state[SINCE_START] = 1e6
    state[BOOSTING] = 1.0
    if run.lead_in.rows.size:
        state[SOC] = 0.9
        state[BANK_V] = ocv_at(run.bank, 0.9)
        endless = run.bank._replace(capacity_as=run.bank.capacity_as * 1e6)
        march_arrays(first, run.house, run.cooling, endless, state)
    state[SOC] = run.scenario.bank.start_soc if soc is None else soc
    state[BANK_V] = ocv_at(run.bank, state[SOC])
    state[SHED] = 0.0
    return state


def march_arrays(
    forcing: Forcing,
    house: CabinConstants,
    cooling: CoolerMap,
    bank: BankParameters,
    state: Array,
    moments: Array | None = None,
    n_log: int = 0,
    stop_when_shed: bool = False,
) -> tuple[Array, Array, Array, float]:
    """Call the kernel; `state` is changed in place.

    Returns
    -------
    out, samples, log : array
        Books per piece; the fine picture; events.
    end_s : float
        When it ended [s].
    """
    moments = np.empty(0) if moments is None else moments
    out = np.zeros((forcing.start_s.size, N_OUT))
    samples = np.zeros((moments.size, N_SAMPLE))
    log = np.zeros((n_log, 2))
    end_s, n = march(forcing, 0, out.shape[0], house, cooling, bank, state, out, moments, samples, log, stop_when_shed)
    return out, samples, log[: min(n, n_log)], end_s


def march_run(run: Run, state: Array | None = None, moments: Array | None = None) -> Marched:
    """March a prepared run.

    Parameters
    ----------
    run : Run
        Prepared.
    state : (N_STATE,) array or None
        To take up from; left out, `fresh_state`.
    moments : (n,) array or None
        Times wanted in the fine picture [s since midnight of the first day].

    Returns
    -------
    Marched
        Everything that the result reads.
    """
    start = fresh_state(run) if state is None else state.copy()
    end = start.copy()
    n_log = max(1, (run.end_min - run.start_min) * LOG_PER_DAY // DAY_MIN)
    out, samples, log, end_s = march_arrays(
        run.laid.forcing, run.house, run.cooling, run.bank, end, moments=moments, n_log=n_log
    )
    return Marched(start, end, out, log, end_s, samples)


def cut_short(run: Run, end_min: int) -> Run:
    """The same run, ended at a minute of its clock; its cabin and bank do the same until then."""
    laid = build_forcing(run.scenario, run.weather, run.first_hour, run.start_min, end_min)
    return replace(run, laid=laid, end_min=end_min)
