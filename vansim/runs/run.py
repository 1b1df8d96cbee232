"""A run: prepared once, marched as often as needed."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any, NamedTuple

import numpy as np
import numpy.typing as npt
import pandas as pd

from vansim.boundary.forcing import Forcing, ForcingData, build_forcing, first_hour_of, without_charging
from vansim.climate import Weather, read_weather
from vansim.errors import MarchError, PhysicsError, ScenarioError
from vansim.march.kernel import HOTTEST_C, OUT_OF_STEPS, TOO_HOT, Progress, march_on
from vansim.march.records import (
    EVENT,
    SAMPLE,
    TOTALS,
    CabinConstants,
    ElectricalConstants,
    Records,
    VanParameters,
    new_records,
    new_state,
)
from vansim.psychrometrics import CP_DRY_AIR, density_kg_m3, relative_humidity
from vansim.runs.electricity import electrical_constants, endless_bank, led_in, with_charge
from vansim.scenario.night_times import night_times
from vansim.scenario.schema import AT_BEDTIME, AT_FIRST_COOLING, DAY_MIN, Scenario, minutes
from vansim.van.bank import BankParameters, bank_parameters, ocv_at
from vansim.van.cooler import Cooler, CoolerMap, cooler_map, no_cooler_map

Array = npt.NDArray[Any]

LEAD_IN_DAYS = 2
LEAD_IN_SOC = 0.5
VEHICLE_BAND_K = 4.0
"""Cabin temperature over which the vehicle's own cooling goes from nothing to all it can [K] (assumed)."""
EVENTS_PER_DAY = 4 * 24 * 14
"""Room for starts and stops: more than the timers of a cooler allow."""
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
    constants, cooling, bank, electrical : CabinConstants, CoolerMap, BankParameters, ElectricalConstants
        Constants.
    """

    scenario: Scenario
    weather: Weather
    first_hour: int
    start_min: int
    end_min: int
    lead_in: ForcingData
    laid: ForcingData
    constants: CabinConstants
    cooling: CoolerMap
    bank: BankParameters
    electrical: ElectricalConstants

    @property
    def van(self) -> VanParameters:
        """The constants together, as the march takes them."""
        return VanParameters(cabin=self.constants, cooler=self.cooling, bank=self.bank, electrical=self.electrical)


@dataclass(frozen=True)
class Marched:
    """What the kernel made of a run.

    Attributes
    ----------
    start, end : record
        State before and after: `cabin_c, contents_c, ratio, soc, on, disconnected` and so on.
    totals : (n_intervals,) recarray
        What flowed in each interval of forcing: `totals.cooler_j` and so on.
    events : (n_events,) recarray
        `time_s` and `kind` of each switching.
    end_s : float
        When it ended [s].
    samples : (n_samples,) recarray
        The fine picture at the wanted moments.
    """

    start: Records
    end: Records
    totals: Records
    events: Records
    end_s: float
    samples: Records


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
        deadband_k=scenario.deadband_k,
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
        bank_inside=scenario.bank.location == "cabin",
        limit_c=scenario.night.limit_c,
    )


def weather_of(scenario: Scenario, labels: str = "find", sky: str = "formula") -> Weather:
    """Read the typical year that a scenario names; `labels` and `sky` as for `read_weather`.

    Raises
    ------
    ScenarioError
        The scenario names none.
    """
    if not scenario.weather:
        raise ScenarioError("weather: the scenario names no weather file, and none was given")
    from vansim.scenario.files import weather_path

    return read_weather(weather_path(scenario), labels=labels, sky=sky)


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
    start = start_of(scenario)
    end = start + scenario.run.days * DAY_MIN
    return Run(
        scenario=scenario,
        weather=weather,
        first_hour=first_hour,
        start_min=start,
        end_min=end,
        lead_in=build_forcing(scenario, weather, first_hour, start - lead_in_days * DAY_MIN, start),
        laid=build_forcing(scenario, weather, first_hour, start, end),
        constants=cabin_constants(scenario, weather),
        cooling=map_of(scenario.cooler, weather),
        bank=bank_parameters(scenario.bank),
        electrical=electrical_constants(scenario),
    )


def start_of(scenario: Scenario) -> int:
    """Where a run begins [min since midnight of its date]: where its first account does, or at a clock time."""
    if scenario.run.start in (AT_FIRST_COOLING, AT_BEDTIME):
        return night_times(scenario, 0, 1)[0].account_min
    return minutes(scenario.run.start)


def map_of(cooler: Cooler | None, weather: Weather) -> CoolerMap:
    """Map of a cooler at a place's mean pressure, or of none."""
    return no_cooler_map() if cooler is None else cooler_map(cooler, weather.mean_pressure_pa)


def fresh_state(run: Run, soc: float | None = None) -> Records:
    """State at the start: the warmth of the days before, a rested cooler, the bank as asked.

    Parameters
    ----------
    run : Run
        Prepared.
    soc : float or None
        State of charge; left out, the scenario's.

    Returns
    -------
    record
        The days before are led in by an endless bank, nothing charging: no earlier emptiness is carried in, and every
        bank finds the same van.
    """
    first = run.lead_in.forcing if run.lead_in.rows.size else run.laid.forcing
    state = rested_state(first, first.outdoor_c[0])
    if run.lead_in.rows.size:
        state.soc, state.bank_v = LEAD_IN_SOC, ocv_at(endless_bank(), LEAD_IN_SOC)
        march_forcing(without_charging(first), led_in(run.van), state)
    with_charge(state, run.bank, run.scenario.bank.start_soc if soc is None else soc)
    return state


def rested_state(forcing: Forcing, cabin_c: float, ratio: float | None = None) -> Records:
    """A cabin at the start of a forcing, the cooler long at rest; the bank is left to be filled in.

    Parameters
    ----------
    forcing : Forcing
        Gives the outdoor air.
    cabin_c : float
        Of cabin air and contents [°C].
    ratio : float or None
        Humidity ratio of the cabin air [kg/kg]; left out, the outdoor air's.

    Returns
    -------
    record
        The state.
    """
    return new_state(
        cabin_c=cabin_c,
        contents_c=cabin_c,
        ratio=forcing.outdoor_ratio[0] if ratio is None else ratio,
        since_switch_s=1e6,
        since_start_s=1e6,
        boosting=1.0,
    )


class MarchedForcing(NamedTuple):
    """What the kernel made of a forcing: totals, fine picture, events, and when it ended [s]."""

    totals: Records
    samples: Records
    events: Records
    end_s: float


def march_forcing(
    forcing: Forcing,
    van: VanParameters,
    state: Records,
    *,
    moments: Array | None = None,
    n_events: int = 0,
    stop_at_reserve: bool = False,
) -> MarchedForcing:
    """Call the kernel.

    Parameters
    ----------
    forcing : Forcing
        All of it is marched.
    van : VanParameters
        Cabin, cooler and bank.
    state : record
        Changed in place.
    moments : (n_samples,) array or None
        Increasing times wanted in the fine picture [s].
    n_events : int
        Room for so many events.
    stop_at_reserve : bool
        End when the bank's reserve is reached; then `state.disconnected` is 1.

    Returns
    -------
    MarchedForcing
        `end_s` is the end of the forcing where nothing stopped it before.

    Raises
    ------
    PhysicsError
        The cabin passes what the model describes.
    MarchError
        More steps than physics allows.
    """
    moments = np.empty(0) if moments is None else moments
    totals = new_records(TOTALS, forcing.start_s.size)
    samples, events = new_records(SAMPLE, moments.size), new_records(EVENT, n_events)
    end_s, first, happened, seen = np.nan, 0, 0, 0
    while first < totals.size:
        # the kernel returns after a fraction of a second, so that an interruption is answered
        made = Progress(
            *march_on(
                forcing=forcing,
                first=first,
                end=totals.size,
                van=van,
                state=state,
                totals=totals[first:],
                moments=moments[seen:],
                samples=samples[seen:],
                events=events[happened:],
                stop_at_reserve=stop_at_reserve,
            )
        )
        end_s, first = made.end_s, made.reached
        happened, seen = happened + made.n_events, seen + made.n_samples
        if made.lost and not state.cabin_c < HOTTEST_C:
            raise PhysicsError(f"{_clock(forcing.start_s[first])}: {TOO_HOT}")
        if made.lost:
            raise MarchError(f"{_clock(forcing.start_s[first])}: {OUT_OF_STEPS}")
        if made.at_reserve:
            break
    return MarchedForcing(totals=totals, samples=samples, events=events[:happened], end_s=end_s)


def _clock(seconds: float) -> str:
    """A time of a run in words, from seconds since midnight of its first day."""
    day, minute = divmod(int(seconds // 60), DAY_MIN)
    return f"{minute // 60:02d}:{minute % 60:02d} on day {day + 1}"


def follow(forcing: Forcing, van: VanParameters, state: Records, moments: Array) -> pd.DataFrame:
    """The fine picture of a forcing; `state` is changed in place.

    Parameters
    ----------
    forcing, van, state
        As for `march_forcing`.
    moments : (n,) array
        Increasing times [s].

    Returns
    -------
    DataFrame
        As `fine_picture`.
    """
    samples = march_forcing(forcing, van, state, moments=moments).samples
    return fine_picture(samples, moments, van.cabin.pressure_pa)


def fine_picture(samples: Records, moments: Array, pressure_pa: float) -> pd.DataFrame:
    """Samples as a table.

    Parameters
    ----------
    samples : (n,) recarray
        From the march.
    moments : (n,) array
        Their times [s]; the table's index.
    pressure_pa : float
        Air pressure [Pa].

    Returns
    -------
    DataFrame
        `outdoor_c, cabin_c, contents_c, cabin_rh, on, boost, fan, cooler_w, loads_w, bank_w, bank_v, soc`.
    """
    columns: dict[str, Any] = {name: samples[name] for name in SAMPLE.names or ()}
    humidity = [relative_humidity(s.cabin_c, s.ratio, pressure_pa) for s in samples]
    named = {("cabin_rh" if name == "ratio" else name): values for name, values in columns.items()}
    return pd.DataFrame({**named, "cabin_rh": humidity}, index=pd.Index(moments, name="seconds"))


def march_run(run: Run, state: Records | None = None, moments: Array | None = None) -> Marched:
    """March a prepared run.

    Parameters
    ----------
    run : Run
        Prepared.
    state : record or None
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
    n_events = max(1, (run.end_min - run.start_min) * EVENTS_PER_DAY // DAY_MIN)
    made = march_forcing(run.laid.forcing, run.van, end, moments=moments, n_events=n_events)
    return Marched(start=start, end=end, totals=made.totals, events=made.events, end_s=made.end_s, samples=made.samples)
