"""Nights laid out once and marched on any bank: what is shared between banks, modes and coolers.

Forcing (weather, envelope, plan) depends on none of the three. The van where an account begins depends on mode and
cooler, but not on the bank: the days that lead to it are marched with a bank that never runs out. Only the accounts
themselves are marched for each bank, and every bank is marched: nothing is scaled.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator
from contextlib import contextmanager
from dataclasses import dataclass, replace
from typing import Any

import numpy as np
import numpy.typing as npt

from vansim.boundary.forcing import (
    COOLING_CODE,
    COOLING_OFF,
    Forcing,
    ForcingData,
    build_forcing,
    rows_of,
    without_charging,
)
from vansim.climate import Weather
from vansim.climate.seasons import NightRange
from vansim.errors import MarchError, PhysicsError
from vansim.march.nights import NightForcing, march_accounts, march_lead_ins
from vansim.march.records import (
    NIGHT_ROWS,
    STATE,
    CabinConstants,
    ElectricalConstants,
    Records,
    VanParameters,
    new_records,
)
from vansim.runs.after_waking import after_waking
from vansim.runs.electricity import electrical_constants, endless_bank, led_in
from vansim.runs.electricity import with_charge as fill_bank
from vansim.runs.jobs import Progress, all_of
from vansim.runs.run import LEAD_IN_DAYS, LEAD_IN_SOC, cabin_constants, map_of, march_forcing, rested_state
from vansim.scenario.night_times import NightTimes, night_times
from vansim.scenario.plan import unplugged
from vansim.scenario.schema import DAY_MIN, Scenario
from vansim.van.bank import BankParameters, ocv_at
from vansim.van.cooler import Cooler, CoolerMap

Array = npt.NDArray[np.float64]
States = Records
"""The van at some moments, bank included: what a march is taken up from."""

BLOCK = 24
"""Nights per job: few enough that an interruption is answered at once."""
SAME_SOC = 1e-3
"""A season that gives back what it began with to within this is in its periodic state."""
PLAIN_SEASONS, MOST_SEASONS = 4, 24
"""Seasons that begin with what the one before gave back, before halving; seasons marched at the most."""


@dataclass(frozen=True)
class SeasonRun:
    """Nights of a scenario, ready to be marched on any bank.

    Attributes
    ----------
    scenario, weather : Scenario, Weather
        What was asked.
    nights : NightRange
        Which nights.
    times : tuple of NightTimes
        When they are, on the clock that counts from midnight of the first day.
    laid : ForcingData
        The plan with its charging.
    forcing : NightForcing
        What the nights meet.
    rows : (n_nights,) records of NIGHT_ROWS
        Where they lie in it.
    constants, cooling, electrical : CabinConstants, CoolerMap, ElectricalConstants
        The van without its bank.
    """

    scenario: Scenario
    weather: Weather
    nights: NightRange
    times: tuple[NightTimes, ...]
    laid: ForcingData
    forcing: NightForcing
    rows: Records
    constants: CabinConstants
    cooling: CoolerMap
    electrical: ElectricalConstants

    def van(self, bank: BankParameters) -> VanParameters:
        """The van with a bank."""
        return VanParameters(cabin=self.constants, cooler=self.cooling, bank=bank, electrical=self.electrical)

    @property
    def bed_s(self) -> Array:
        """Bedtimes [s since midnight of the first day]."""
        return np.array([times.bed_min * 60.0 for times in self.times])

    @property
    def wake_s(self) -> Array:
        """Wakings [s since midnight of the first day]."""
        return np.array([times.wake_min * 60.0 for times in self.times])

    @property
    def cools_before_waking(self) -> bool:
        """Whether the plan cools in the last stretch before every waking."""
        return bool((self.forcing.plan.cooling[self.rows.wake - 1] != COOLING_OFF).all())


def season_run(scenario: Scenario, weather: Weather, nights: NightRange, beyond_waking: bool = True) -> SeasonRun:
    """Lay a season of nights out.

    Parameters
    ----------
    scenario : Scenario
        Van, plan and place; of its own run window only where accounts begin is read.
    weather : Weather
        Typical year, with its heat wave if there is one.
    nights : NightRange
        Which nights.
    beyond_waking : bool
        Lay out what holds after each waking too; without it runtimes cannot be followed.

    Returns
    -------
    SeasonRun
        For `lead_in_states`, `independent`, `consecutive` and `periodic`.
    """
    *times, beyond = night_times(scenario, 0, nights.days + 1)
    start = times[0].account_min - LEAD_IN_DAYS * DAY_MIN
    # the day after the last night is there too: it ends where the next account would begin
    laid = build_forcing(scenario, weather, nights.first_hour, start, max(times[-1].wake_min + 1, beyond.account_min))
    return lay_nights(scenario, weather, nights, times=times, laid=laid, beyond_waking=beyond_waking)


def lay_nights(
    scenario: Scenario,
    weather: Weather,
    nights: NightRange,
    times: list[NightTimes],
    laid: ForcingData,
    beyond_waking: bool = True,
) -> SeasonRun:
    """Lay nights out on a plan that is laid out already.

    Parameters
    ----------
    scenario, weather, nights, beyond_waking
        As for `season_run`.
    times : list of NightTimes
        The nights.
    laid : ForcingData
        The plan from before the first account to the last waking.

    Returns
    -------
    SeasonRun
        Nights whose lead-in the plan does not hold cannot be led in.
    """
    plan = laid.forcing
    start, end = round(plan.start_s[0] / 60.0), round(plan.end_s[-1] / 60.0)
    unplugged_plan = (
        build_forcing(unplugged(scenario), weather, nights.first_hour, start, end) if _plugs(scenario) else laid
    )
    rows = _rows_in(plan, times, start)
    extended = plan
    if beyond_waking:
        after = after_waking(scenario, weather, nights, times, [laid.segments[place] for place in rows.wake - 1])
        rows["after"], rows["after_end"], extended = after.first, after.end, after.forcing
    return SeasonRun(
        scenario=scenario,
        weather=weather,
        nights=nights,
        times=tuple(times),
        laid=laid,
        forcing=NightForcing(plan=plan, no_charging=without_charging(unplugged_plan.forcing), after=extended),
        rows=rows,
        constants=cabin_constants(scenario, weather),
        cooling=map_of(scenario.cooler, weather),
        electrical=electrical_constants(scenario),
    )


def _rows_in(plan: Forcing, times: list[NightTimes], start_min: int) -> Records:
    """Where nights lie in a plan that begins at a minute; the first goes on from where its account begins."""
    rows = new_records(NIGHT_ROWS, len(times))
    minutes_of = {
        "lead": [t.account_min - LEAD_IN_DAYS * DAY_MIN for t in times],
        "day": [max(t.wake_min - DAY_MIN, start_min) for t in times],
        "account": [max(t.account_min, start_min) for t in times],
        "bed": [t.bed_min for t in times],
        "wake": [t.wake_min for t in times],
    }
    for name, at in minutes_of.items():
        rows[name] = np.searchsorted(plan.start_s, np.array(at) * 60.0 - 1e-6)
    rows["day"][0] = rows["account"][0]
    return rows


def _plugs(scenario: Scenario) -> bool:
    return any(segment.shore for day in scenario.day for segment in day.segment)


def part_of(run: SeasonRun, first: int, count: int) -> SeasonRun:
    """Some nights in a row, as far as there are."""
    rows, times = run.rows[first : first + count].copy(), run.times[first : first + count]
    rows["day"][0] = rows["account"][0]
    return replace(run, times=times, rows=rows, nights=replace(run.nights, days=len(times)))


def cools_at_night(run: SeasonRun) -> bool:
    """Whether the plan cools at some time between bedtime and waking."""
    cooling = run.forcing.plan.cooling
    return any(bool((cooling[row["bed"] : row["wake"]] != COOLING_OFF).any()) for row in run.rows)


def with_mode(run: SeasonRun, mode: str) -> SeasonRun:
    """The same nights with every stretch of cooling in one mode."""
    code = COOLING_CODE[mode]

    def changed(forcing: Forcing) -> Forcing:
        return forcing._replace(cooling=np.where(forcing.cooling == COOLING_OFF, COOLING_OFF, code))

    forcing = NightForcing(*(changed(part) for part in run.forcing))
    return replace(run, laid=replace(run.laid, forcing=forcing.plan), forcing=forcing)


def with_cooler(run: SeasonRun, cooler: Cooler) -> SeasonRun:
    """The same nights with another cooler; forcing is shared."""
    scenario = run.scenario.model_copy(update={"cooler": cooler})
    return replace(
        run,
        scenario=scenario,
        constants=cabin_constants(scenario, run.weather),
        cooling=map_of(cooler, run.weather),
        electrical=electrical_constants(scenario),
    )


def lead_in_states(run: SeasonRun) -> Records:
    """The van where each account begins, as the two days before it left it.

    Returns
    -------
    (n_nights,) records of STATE
        Led in by an endless bank, nothing charging: the same for every bank.
    """
    states = new_records(STATE, len(run.times))
    no_charging, endless = without_charging(run.forcing.plan), endless_bank()
    for i, lead in enumerate(run.rows.lead):
        states[i] = rested_state(rows_of(no_charging, lead, lead + 1), no_charging.outdoor_c[lead])
    states["soc"], states["bank_v"] = LEAD_IN_SOC, ocv_at(endless, LEAD_IN_SOC)
    with _described(run):
        march_lead_ins(no_charging, run.rows, led_in(run.van(endless)), states)
    return states


@contextmanager
def _described(run: SeasonRun) -> Iterator[None]:
    """Say in our words what a march of nights stops for."""
    try:
        yield
    except ValueError as stop:
        raise PhysicsError(f"{run.scenario.title}: {stop}") from None
    except RuntimeError as stop:
        raise MarchError(f"{run.scenario.title}: {stop}") from None


def with_charge(states: Records, bank: BankParameters, soc: float) -> Records:
    """A copy of states with the bank at a state of charge and the cooler connected."""
    charged = states.copy()
    fill_bank(charged, bank, soc)
    return charged


def independent(
    run: SeasonRun,
    bank: BankParameters,
    states: Records,
    start_soc: float,
    follow: bool = True,
    progress: Progress | None = None,
) -> tuple[Records, Records]:
    """March the account of every night for itself.

    Parameters
    ----------
    run, bank : SeasonRun, BankParameters
        Nights and bank.
    states : (n_nights,) records of STATE
        Where each account begins.
    start_soc : float
        State of charge there.
    follow : bool
        Find the runtime too, however far beyond waking it goes; up to 48 h from bedtime.
    progress : callable or None
        Called with jobs done and in all.

    Returns
    -------
    nights : (n_nights,) records of NIGHT
        What became of them.
    waking : (n_nights,) records of STATE
        The van at each waking.
    """
    waking = with_charge(states, bank, start_soc)
    rows, van = _rows(run, follow), run.van(bank)

    def block(first: int) -> Records:
        part = slice(first, first + BLOCK)
        with _described(run):
            return march_accounts(run.forcing, rows[part], van, waking[part], False)

    nights = np.concatenate(all_of(block, range(0, len(run.times), BLOCK), progress))
    return nights.view(np.recarray), waking


def consecutive(run: SeasonRun, bank: BankParameters, state: Any, follow: bool = True) -> tuple[Records, Records]:
    """March the nights one after another: the bank carries over, with the plan's driving, sun and shore.

    Parameters
    ----------
    run, bank : SeasonRun, BankParameters
        Nights and bank.
    state : record of STATE
        Where the first account begins, bank included.
    follow : bool
        As for `independent`.

    Returns
    -------
    nights, waking
        As for `independent`.
    """
    waking = new_records(STATE, len(run.times))
    waking[0] = state
    with _described(run):
        nights = march_accounts(run.forcing, _rows(run, follow), run.van(bank), waking, True)
    return nights.view(np.recarray), waking


def periodic(
    run: SeasonRun,
    bank: BankParameters,
    state: Any,
    start_soc: float,
    follow: bool = True,
    give_up: Callable[[Records], bool] | None = None,
) -> tuple[Records, Records]:
    """Consecutive nights in their periodic state: the season ends with the charge that it began with.

    A bank that is drained over a season by a little more than is charged is a store that would be empty in the next;
    beginning full would hide that. The charge at the beginning is the largest, up to `start_soc`, that the season gives
    back.

    Parameters
    ----------
    run, bank : SeasonRun, BankParameters
        Nights and bank.
    state : record of STATE
        Where the first account begins; its bank is not read.
    start_soc : float
        Charge to begin with at the most.
    follow : bool
        As for `independent`.
    give_up : callable or None
        Called with the nights of each season that began with more than it gives back; where it is true, those are
        given. What they lack, one that begins with less lacks too.

    Returns
    -------
    nights, waking
        As for `independent`; ``nights.start_soc[0]`` is the charge that was found.
    """
    start = new_records(STATE, 1)
    start[0] = state
    low, high = 0.0, start_soc
    for tried in range(MOST_SEASONS):
        # a season gives back at most what it began with more: once it gives back less, only less can be given back
        soc = high if tried < PLAIN_SEASONS else 0.5 * (low + high)
        nights, waking = consecutive(run, bank, with_charge(start, bank, soc)[0], follow=False)
        back = _next_account_soc(run, bank, waking)
        if give_up is not None and back < soc - SAME_SOC and give_up(nights):
            return nights, waking
        if back >= soc - SAME_SOC and high - soc <= SAME_SOC:
            break
        low, high = (soc, high) if back >= soc - SAME_SOC else (low, min(high, soc, max(back, low)))
    return consecutive(run, bank, with_charge(start, bank, soc)[0]) if follow else (nights, waking)


def _next_account_soc(run: SeasonRun, bank: BankParameters, waking: Records) -> float:
    """State of charge where the account after the last night would begin."""
    state, plan = waking[-1:].copy(), run.forcing.plan
    first = int(run.rows.wake[-1])
    march_forcing(rows_of(plan, first, plan.start_s.size), run.van(bank), state[0])
    return float(state.soc[0])


def _rows(run: SeasonRun, follow: bool) -> Records:
    """Where the nights lie; not to be followed beyond waking where that is not asked for."""
    if follow:
        return run.rows
    rows = run.rows.copy()
    rows["after_end"] = rows["after"]
    return rows
