"""A season laid out once and marched night by night: what is shared between banks, modes and coolers.

Forcing (weather, envelope, plan) depends on none of the three. The cabin at bedtime depends on mode and cooler, but not
on the bank: it comes from one march in which the bank is inexhaustible. Only the nights themselves are marched for each
bank, and every bank is marched: nothing is scaled.
"""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np
import numpy.typing as npt

from vansim.boundary.forcing import COOLING_CODE, COOLING_OFF, Forcing, ForcingData, build_forcing, night_minutes
from vansim.climate import Weather
from vansim.climate.seasons import NightRange
from vansim.march import records as k
from vansim.march.nights import (
    N_BOOKS,
    RUNTIME,
    march_nights,
)
from vansim.march.records import CabinConstants
from vansim.runs.batch import Progress, all_of
from vansim.runs.run import LEAD_IN_DAYS, cabin_constants, march_arrays
from vansim.scenario.schema import DAY_MIN, Day, PlanSegment, Scenario
from vansim.van.bank import Bank, BankParameters, BankUnit, bank_parameters, ocv_at
from vansim.van.cooler import Cooler, CoolerMap, cooler_map, no_cooler_map

Array = npt.NDArray[np.float64]

RUN_ON_H = 48.0
"""A night without charging is followed this long from bedtime [h]."""
BLOCK = 24
"""Nights per piece of work: small enough that an interruption is answered at once."""


@dataclass(frozen=True)
class SeasonRun:
    """A season of a scenario, ready to be marched on any bank.

    Attributes
    ----------
    scenario, weather, span : Scenario, Weather, NightRange
        What was asked.
    laid : ForcingData
        The plan with its charging, from `LEAD_IN_DAYS` before the first evening on.
    quiet : Forcing
        The same without charging, unplugged.
    held : tuple of Forcing
        Days on which the segment before waking never ends, without charging.
    held_of : (n_nights,) int array
        Which of them follows each night.
    bed_s, wake_s : (n_nights,) array
        [s since midnight of the first day].
    house, cooling : CabinConstants, CoolerMap
        Constants.
    outdoors : dict of str to (n_nights,) array
        Lowest and mean outdoor air and mean dew point from bedtime to waking [°C].
    """

    scenario: Scenario
    weather: Weather
    span: NightRange
    laid: ForcingData
    quiet: Forcing
    held: tuple[Forcing, ...]
    held_of: npt.NDArray[np.intp]
    bed_s: Array
    wake_s: Array
    house: CabinConstants
    cooling: CoolerMap
    outdoors: dict[str, Array]


def season_run(scenario: Scenario, weather: Weather, span: NightRange) -> SeasonRun:
    """Lay a season out.

    Parameters
    ----------
    scenario : Scenario
        Van, plan and place; its own run window is not read.
    weather : Weather
        Typical year, with its heat wave if there is one.
    span : NightRange
        Which nights.

    Returns
    -------
    SeasonRun
        For `evenings`, `alone` and `chained`.
    """
    first, last = -LEAD_IN_DAYS * DAY_MIN, (span.days + 3) * DAY_MIN
    laid = build_forcing(scenario, weather, span.first_hour, first, last)
    nights = np.array([night_minutes(scenario, day) for day in range(span.days)], dtype=float) * 60.0
    before_waking = np.searchsorted(laid.forcing.start_s, nights[:, 1] - 1e-6) - 1
    segments = [laid.segments[i] for i in before_waking]
    kinds = list(dict.fromkeys(segments))
    unplugged = scenario.model_copy(update={"day": tuple(_unplugged(day) for day in scenario.day)})
    plugged = any(segment.shore for day in scenario.day for segment in day.segment)
    bare = build_forcing(unplugged, weather, span.first_hour, first, last) if plugged else laid
    held = [build_forcing(held_scenario(scenario, s), weather, span.first_hour, 0, last).forcing for s in kinds]
    return SeasonRun(
        scenario=scenario,
        weather=weather,
        span=span,
        laid=laid,
        quiet=without_charging(bare.forcing),
        held=tuple(without_charging(f) for f in held),
        held_of=np.array([kinds.index(s) for s in segments]),
        bed_s=nights[:, 0],
        wake_s=nights[:, 1],
        house=cabin_constants(scenario, weather),
        cooling=map_of(scenario.cooler, weather.mean_pressure_pa),
        outdoors=_outdoors(weather, laid, nights[:, 0], nights[:, 1]),
    )


def _outdoors(weather: Weather, laid: ForcingData, bed_s: Array, wake_s: Array) -> dict[str, Array]:
    """Outdoor air from bedtime to waking: temperature runs straight between hour edges, so ends hold the lowest."""
    dew = weather.data["temp_dew"].to_numpy(dtype=float)
    low, mean, dew_mean = np.empty((3, bed_s.size))
    for night, (bed, wake) in enumerate(zip(bed_s, wake_s, strict=True)):
        f, at = between(laid.forcing, bed, wake)
        span = f.end_s - f.start_s
        last = f.outdoor_c + f.outdoor_k_s * span
        rows = laid.rows[at]
        low[night] = min(f.outdoor_c.min(), last.min())
        mean[night] = np.average(0.5 * (f.outdoor_c + last), weights=span)
        dew_mean[night] = np.average(0.5 * (dew[rows] + dew[(rows + 1) % dew.size]), weights=span)
    return {"outdoor_low_c": low, "outdoor_mean_c": mean, "dew_point_c": dew_mean}


def _unplugged(day: Day) -> Day:
    return day.model_copy(update={"segment": tuple(s.model_copy(update={"shore": False}) for s in day.segment)})


def held_scenario(scenario: Scenario, segment: PlanSegment) -> Scenario:
    """The scenario with one segment that lasts all day, unplugged."""
    whole = segment.model_copy(update={"start": "00:00", "end": "00:00", "shore": False})
    day = scenario.day[0].model_copy(update={"segment": (whole,)})
    return scenario.model_copy(update={"day": (day,), "cycle": ()})


def map_of(cooler: Cooler | None, pressure_pa: float) -> CoolerMap:
    """Map of a cooler, or of none."""
    return no_cooler_map() if cooler is None else cooler_map(cooler, pressure_pa)


def with_mode(run: SeasonRun, mode: str) -> SeasonRun:
    """The same season with every stretch of cooling in one mode."""
    code = COOLING_CODE[mode]

    def changed(forcing: Forcing) -> Forcing:
        return forcing._replace(cooling=np.where(forcing.cooling == COOLING_OFF, COOLING_OFF, code))

    return replace(
        run,
        laid=replace(run.laid, forcing=changed(run.laid.forcing)),
        quiet=changed(run.quiet),
        held=tuple(changed(forcing) for forcing in run.held),
    )


def with_cooler(run: SeasonRun, cooler: Cooler) -> SeasonRun:
    """The same season with another cooler; forcing is shared."""
    scenario = run.scenario.model_copy(update={"cooler": cooler})
    return replace(
        run,
        scenario=scenario,
        house=cabin_constants(scenario, run.weather),
        cooling=map_of(cooler, run.weather.mean_pressure_pa),
    )


def without_charging(forcing: Forcing) -> Forcing:
    """Sun, engine and shore give the bank nothing; the panels still shade the roof."""
    nothing = np.zeros(forcing.start_s.size)
    return forcing._replace(solar_w=nothing, alternator_a=nothing, shore_w=nothing)


def between(forcing: Forcing, start_s: float, end_s: float) -> tuple[Forcing, slice]:
    """Pieces from one edge of the forcing to another, without copying, and where they lie."""
    i, j = (int(n) for n in np.searchsorted(forcing.start_s, (start_s - 1e-6, end_s - 1e-6)))
    return Forcing(*(column[i:j] for column in forcing)), slice(i, j)


def endless_bank() -> BankParameters:
    """A bank that is never empty, never sags and stays cold, the same whatever bank is studied."""
    numbers = bank_parameters(Bank(unit=BankUnit(chemistry="lfp", capacity_ah=100.0)))
    return numbers._replace(
        capacity_as=1e18, r_cell_ohm=1e-9, r_fixed_ohm=0.0, reserve_soc=0.0, cutoff_v=1.0, reconnect_soc=0.0
    )


@dataclass(frozen=True)
class BedtimeStates:
    """The cabin at all bedtimes, as the days left it.

    Attributes
    ----------
    states : (n_nights, N_STATE) array
        State at bedtime; the bank in it means nothing.
    over_s : (n_nights,) array
        Time above the limit from bedtime to waking with an inexhaustible bank [s]: what no bank can mend.
    """

    states: Array
    over_s: Array


def evenings(run: SeasonRun) -> BedtimeStates:
    """March the season once with an inexhaustible bank.

    Parameters
    ----------
    run : SeasonRun
        ForcingData out.

    Returns
    -------
    BedtimeStates
        Shared by every bank.
    """
    plan = without_charging(run.laid.forcing)
    state = rested_state(plan, plan.outdoor_c[0])
    bank = endless_bank()
    states, over = np.empty((run.span.days, k.N_STATE)), np.empty(run.span.days)
    clock = run.laid.forcing.start_s[0]
    for night, (bed, wake) in enumerate(zip(run.bed_s, run.wake_s, strict=True)):
        march_arrays(between(plan, clock, bed)[0], run.house, run.cooling, bank, state)
        states[night] = state
        out, *_ = march_arrays(between(plan, bed, wake)[0], run.house, run.cooling, bank, state)
        over[night], clock = out[:, k.OVER_S].sum(), wake
    return BedtimeStates(states, over)


def rested_state(forcing: Forcing, cabin_c: float) -> Array:
    """A cabin and its contents at one temperature, with the outdoor air's humidity, the cooler rested."""
    state = np.zeros(k.N_STATE)
    state[k.CABIN] = state[k.CONTENTS] = cabin_c
    state[k.RATIO] = forcing.outdoor_ratio[0]
    state[k.SINCE_SWITCH] = state[k.SINCE_START] = 1e6
    state[k.BOOSTING] = 1.0
    state[k.SOC] = 0.5
    state[k.BANK_V] = ocv_at(endless_bank(), 0.5)
    return state


def with_charge(state: Array, bank: BankParameters, soc: float) -> Array:
    """A copy of a state with the bank at a state of charge, the cooler connected."""
    out = state.copy()
    out[k.SOC], out[k.BANK_V] = soc, ocv_at(bank, soc)
    out[k.SHED] = out[k.SHED_SOC] = 0.0
    return out


def night_rows(run: SeasonRun, plan: Forcing) -> npt.NDArray[np.int64]:
    """First piece of each night in a plan and the one after its last; the same for what follows, (n_nights, 4)."""
    rows = np.empty((run.span.days, 4), dtype=np.int64)
    rows[:, 0] = np.searchsorted(plan.start_s, run.bed_s - 1e-6)
    rows[:, 1] = np.searchsorted(plan.start_s, run.wake_s - 1e-6)
    for kind, held in enumerate(run.held):
        at = run.held_of == kind
        rows[at, 2] = np.searchsorted(held.start_s, run.wake_s[at] - 1e-6)
        rows[at, 3] = np.searchsorted(held.start_s, run.bed_s[at] + RUN_ON_H * 3600.0 - 1e-6)
    return rows


def night_books(
    run: SeasonRun, plan: Forcing, bank: BankParameters, night: int, state: Array, run_on: bool = True
) -> Array:
    """March one night, and on until the reserve.

    Parameters
    ----------
    run : SeasonRun
        ForcingData out.
    plan : Forcing
        `run.quiet`, or `run.laid.forcing` with its charging.
    bank : BankParameters
        The bank.
    night : int
        Which.
    state : (N_STATE,) array
        At bedtime; changed in place to that at waking.
    run_on : bool
        Follow the bank past waking; without it, `RUNTIME` of a night that lasts is its length.

    Returns
    -------
    (N_BOOKS,) array
        Sums over the night [s, J, counts], states of charge, `RUNTIME` [s] and whether the reserve was reached in it.

    Notes
    -----
    After waking the segment before waking stays in force, and nothing charges.
    """
    rows = night_rows(run, plan)[[night]]
    if not run_on:
        rows[:, 3] = rows[:, 2]
    states = state[np.newaxis]  # the same memory
    held = run.held[run.held_of[night]]
    return march_nights(plan, held, rows, run.bed_s[[night]], run.house, run.cooling, bank, states)[0]


def alone(
    run: SeasonRun,
    bank: BankParameters,
    states: Array,
    start_soc: float,
    run_on: bool = True,
    progress: Progress | None = None,
    outlasting: npt.NDArray[np.bool_] | None = None,
) -> Array:
    """March every night for itself, from a given state of charge, without charging.

    Parameters
    ----------
    run, bank : SeasonRun, BankParameters
        Season and bank.
    states : (n_nights, N_STATE) array
        Cabin at bedtime.
    start_soc : float
        State of charge at bedtime.
    run_on, progress
        As for `night_books` and `chained`.
    outlasting : (n_nights,) bool array or None
        Nights whose 48 h a smaller bank is known to outlast: they are marched to waking, and not followed further.

    Returns
    -------
    (n_nights, N_BOOKS) array
        As of `night_books`.
    """
    known = np.zeros(run.span.days, dtype=bool) if outlasting is None else outlasting
    rows = night_rows(run, run.quiet)
    unfollowed = known if run_on else np.ones(run.span.days, dtype=bool)
    rows[unfollowed, 3] = rows[unfollowed, 2]
    start = np.array([with_charge(state, bank, start_soc) for state in states])

    def block(nights: npt.NDArray[np.intp]) -> Array:
        held = run.held[run.held_of[nights[0]]]
        return march_nights(
            run.quiet, held, rows[nights], run.bed_s[nights], run.house, run.cooling, bank, start[nights]
        )

    alike = [np.flatnonzero(run.held_of == kind) for kind in range(len(run.held))]
    blocks = [nights[i : i + BLOCK] for nights in alike for i in range(0, nights.size, BLOCK)]
    books = np.empty((run.span.days, N_BOOKS))
    books[np.concatenate(blocks)] = np.concatenate(all_of(block, blocks, progress))
    if run_on:
        books[known, RUNTIME] = RUN_ON_H * 3600.0
    return books


def chained(
    run: SeasonRun,
    bank: BankParameters,
    first: Array,
    start_soc: float,
    run_on: bool = True,
    progress: Progress | None = None,
) -> Array:
    """March the season in one go: the bank carries over, with the plan's driving, sun and shore.

    Parameters
    ----------
    run, bank : SeasonRun, BankParameters
        Season and bank.
    first : (N_STATE,) array
        Cabin at the first bedtime.
    start_soc : float
        State of charge at the first bedtime.
    run_on : bool
        As for `night_books`.
    progress : callable or None
        Called with nights done and nights in all.

    Returns
    -------
    (n_nights, N_BOOKS) array
        As of `night_books`.
    """
    plan, state = run.laid.forcing, with_charge(first, bank, start_soc)
    rows = []
    for night in range(run.span.days):
        if night:
            day, _ = between(plan, run.wake_s[night - 1], run.bed_s[night])
            march_arrays(day, run.house, run.cooling, bank, state)
        rows.append(night_books(run, plan, bank, night, state, run_on))
        if progress is not None:
            progress(night + 1, run.span.days)
    return np.array(rows)
