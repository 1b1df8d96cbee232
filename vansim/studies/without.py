"""A night marched anew with one of its causes taken out: what it would save.

The two days before the account are marched anew too, so that cabin and contents come to it as they would have without
the cause. The account begins with the charge that it had, on the bank that it had.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable
from dataclasses import dataclass, replace
from typing import Any

import numpy as np
import numpy.typing as npt
import pandas as pd

from vansim.boundary.envelope import FaceGains
from vansim.boundary.forcing import COOLING_OFF, FAN_OFF, Forcing, ForcingData, build_forcing, rows_of
from vansim.runs.electricity import BANK_STATE
from vansim.runs.night import Night
from vansim.runs.result import Result
from vansim.runs.run import LEAD_IN_DAYS, Run, fresh_state, march_run
from vansim.scenario.schema import DAY_MIN
from vansim.van.bank import CAPACITY, EFFICIENCY, BankParameters
from vansim.van.cabin import FACES
from vansim.van.cooler import cooler_parameters

Array = npt.NDArray[np.float64]

METERED = ("cooler_w", "loads_w", "bank_heat_w", "bank_lost_w")
"""Columns of `Result.intervals` that the meter of an account adds up: cooler, loads, losses in bank and cables."""
WALLS = ("left", "right", "front", "rear")
NO_RESISTANCE_OHM, NO_RAMP_S = 1e-9, 1e-3
"""As good as none; the closed forms divide by them."""


def joules(intervals: pd.DataFrame, *names: str) -> Array:
    """Energy of mean flows of some of `Result.intervals`, added up, in each of them [J]."""
    return (intervals[list(names)].sum(axis=1) * intervals["span_s"]).to_numpy()


# --- the night --------------------------------------------------------------------------------------------------------


@dataclass(frozen=True)
class NightAnew:
    """A night, ready to be marched anew from two days before its account.

    Attributes
    ----------
    run : Run
        Those two days, as far as they lie in the run that holds the night, and the account; with the days that lead
        that run in where they are needed.
    account_s : float
        Where the account begins [s since midnight of the run's first day].
    first, begin, waking : record of STATE
        The van where `run` begins, where the account begins, and at waking, as it was.
    """

    run: Run
    account_s: float
    first: Any
    begin: Any
    waking: Any

    def without(self, cause: str | None) -> Result:
        """March the account, two days before it included, without a cause.

        Parameters
        ----------
        cause : str or None
            One of `vansim.studies.energy.CAUSES`; None takes nothing out, which gives the account as it was.

        Returns
        -------
        Result
            Of the account alone.
        """
        changed = take_out(self.run, cause)
        state = self.first.copy()
        if changed.lead_in.rows.size:
            state = _with_bank(fresh_state(changed), self.first)
        place = int(np.searchsorted(changed.laid.forcing.start_s, self.account_s - 1e-6))
        state = _with_bank(_state_after(changed, 0, place, state), self.begin)
        account = part_of(changed, place, changed.laid.rows.size)
        if cause == "stored_heat":
            setpoint_c = float(account.laid.forcing.setpoint_c[0])
            state.cabin_c, state.contents_c = min(state.cabin_c, setpoint_c), min(state.contents_c, setpoint_c)
        elif cause == "stored_moisture":
            state.ratio = min(state.ratio, self.waking.ratio)
        return Result(account, march_run(account, state))


def night_anew(result: Result, night: Night) -> NightAnew:
    """Take a night out of a run, so that it can be marched anew.

    Parameters
    ----------
    result : Result
        The run.
    night : Night
        One of its nights.

    Returns
    -------
    NightAnew
        What was before those two days stays as it was.
    """
    run, start_s = result.run, result.run.laid.forcing.start_s
    account, wake = night.evening.start, night.asleep.stop
    since_s = start_s[account] - LEAD_IN_DAYS * DAY_MIN * 60.0
    first = int(np.searchsorted(start_s, since_s - 1e-6))
    before = _state_after(run, 0, first, result.marched.start)
    window = part_of(run, first, wake)
    if since_s > start_s[0] - 1e-6:  # the run itself holds them
        window = replace(window, lead_in=rows_of_data(run.lead_in, 0, 0))
    return NightAnew(
        run=window,
        account_s=float(start_s[account]),
        first=before,
        begin=_state_after(run, first, account, before),
        waking=night.waking_state,
    )


def savings(result: Result, night: Night, causes: Iterable[str]) -> pd.DataFrame:
    """What the account of a night would save without each of its causes, a march each.

    Parameters
    ----------
    result, night
        As for `night_anew`.
    causes : iterable of str
        Some of `vansim.studies.energy.CAUSES`.

    Returns
    -------
    DataFrame
        Indexed by cause: `saved_wh` (negative where the cause helps), `waking_soc_without` and `empty_at_without`.
    """
    anew = night_anew(result, night)
    used_j = joules(result.intervals.iloc[night.evening.start : night.asleep.stop], *METERED).sum()
    rows = {cause: _left(anew.without(cause)) for cause in causes}
    table = pd.DataFrame.from_dict(rows, orient="index", columns=["used_j", "waking_soc", "emptied_s"])
    return pd.DataFrame(
        {
            "saved_wh": (used_j - table["used_j"]) / 3600.0,
            "waking_soc_without": table["waking_soc"],
            "empty_at_without": result.moment(0.0) + pd.to_timedelta(table["emptied_s"], unit="s"),
        }
    ).rename_axis("cause")


def _left(account: Result) -> tuple[float, float, float]:
    """What an account used [J], the state of charge that it left, and when its bank was empty [s], or not-a-number."""
    intervals, events = account.intervals, account.events
    emptied = events.loc[events["kind"] == "disconnected", "time_s"]
    return (
        float(joules(intervals, *METERED).sum()),
        float(intervals["soc"].iloc[-1]),
        float(emptied.iloc[0]) if len(emptied) else float("nan"),
    )


# --- parts of a run ---------------------------------------------------------------------------------------------------


def rows_of_data(laid: ForcingData, first: int, end: int) -> ForcingData:
    """Some intervals in a row of a run laid out, without copying."""
    gains = {name: getattr(laid.gains, name)[first:end] for name in FaceGains.__dataclass_fields__}
    return ForcingData(
        forcing=rows_of(laid.forcing, first, end),
        rows=laid.rows[first:end],
        gains=FaceGains(**gains),
        segments=laid.segments[first:end],
    )


def part_of(run: Run, first: int, end: int) -> Run:
    """Some intervals in a row of a run as a run; `end` lies behind `first`."""
    laid = rows_of_data(run.laid, first, end)
    start_min, end_min = (round(s / 60.0) for s in (laid.forcing.start_s[0], laid.forcing.end_s[-1]))
    return replace(run, laid=laid, start_min=start_min, end_min=end_min)


def _state_after(run: Run, first: int, end: int, state: Any) -> Any:
    """State after some intervals of a run in a row; there may be none."""
    return state.copy() if end <= first else march_run(part_of(run, first, end), state).end


def _with_bank(state: Any, other: Any) -> Any:
    """A state with the bank of another."""
    for name in BANK_STATE:
        state[name] = other[name]
    return state


# --- causes, taken out ------------------------------------------------------------------------------------------------


def take_out(run: Run, cause: str | None) -> Run:
    """A run without a cause, as far as its forcing or its constants hold it; what is stored is in the state."""
    if cause in _FORCING:
        change = _FORCING[cause]
        return replace(run, lead_in=_changed(run.lead_in, change), laid=_changed(run.laid, change))
    return _RUN[cause](run) if cause in _RUN else run


def _changed(laid: ForcingData, change: Callable[[ForcingData], Forcing]) -> ForcingData:
    return replace(laid, forcing=change(laid))


def _zeroed(*names: str) -> Callable[[ForcingData], Forcing]:
    """A change that sets columns of the forcing to nothing."""
    return lambda laid: laid.forcing._replace(**{name: np.zeros_like(getattr(laid.forcing, name)) for name in names})


def _faces_off(*faces: str) -> Callable[[ForcingData], Forcing]:
    """A change that takes away the conductance of faces, and what sun and sky do through it."""
    at = [FACES.index(name) for name in FACES if name in faces]
    level = [f"{name}_outward_w_k" for name in ("roof", "floor") if name in faces]
    return lambda laid: laid.forcing._replace(
        **{name: np.zeros_like(getattr(laid.forcing, name)) for name in level},
        ua_w_k=laid.forcing.ua_w_k - laid.gains.ua_w_k[:, at].sum(axis=1),
        sol_air_gain_w=laid.forcing.sol_air_gain_w - laid.gains.sol_air_gain_w[:, at].sum(axis=1),
    )


def _glass_conduction_off(laid: ForcingData) -> Forcing:
    return laid.forcing._replace(
        ua_w_k=laid.forcing.ua_w_k - laid.gains.glass_ua_w_k,
        sol_air_gain_w=laid.forcing.sol_air_gain_w - laid.gains.glass_gain_w,
        pane_kg_s=np.zeros_like(laid.forcing.pane_kg_s),
    )


def _roof_fan_off(laid: ForcingData) -> Forcing:
    return laid.forcing._replace(fan=np.full_like(laid.forcing.fan, FAN_OFF))


_FORCING: dict[str | None, Callable[[ForcingData], Forcing]] = {
    "roof": _faces_off("roof"),
    "walls": _faces_off(*WALLS),
    "floor": _faces_off("floor"),
    "glass_sun": _zeroed("sun_air_w", "sun_contents_w"),
    "glass_conduction": _glass_conduction_off,
    "leakage": _zeroed("air_kg_s", "air_w_k", "opening_kg2_s2", "opening_kg2_s2_k"),
    "roof_fan_air": _roof_fan_off,
    "people": _zeroed("people_w"),
    "dogs": _zeroed("dogs_w"),
    "equipment": _zeroed("internal_gains_w", "inverter_heat_w", "fridge_heat"),
    "vehicle_cooling": _zeroed("vehicle"),
}
"""Causes that lie in the forcing."""


def _lossless(run: Run) -> Run:
    """No resistance in bank and feed, no loss of charge, nothing out of reach by rate or cold."""
    bank: BankParameters = run.bank
    curve, climate = bank.curve.copy(), bank.climate.copy()
    curve[EFFICIENCY] = climate[CAPACITY] = 1.0
    ideal = bank._replace(
        curve=curve, climate=climate, r_cell_ohm=NO_RESISTANCE_OHM, r_fixed_ohm=0.0, bound_share=0.0
    )  # fmt: skip
    return replace(run, bank=ideal, electrical=run.electrical._replace(feed_ohm=0.0))


def _fans_off(run: Run) -> Run:
    """No standby, and fans that take nothing and warm nothing, but move the same air."""
    constants = run.constants._replace(standby_w=0.0, fan_w=0.0)
    cooler, cooling = run.scenario.cooler, run.cooling
    if cooler is not None:
        fans_w = cooler_parameters(cooler).fans_w[np.newaxis, :, np.newaxis, np.newaxis, np.newaxis]
        cooling = cooling._replace(power_w=cooling.power_w - fans_w, blower_w=np.zeros_like(cooling.blower_w))
    return replace(run, constants=constants, cooling=cooling)


def _no_ramp(run: Run) -> Run:
    return replace(run, constants=run.constants._replace(ramp_s=NO_RAMP_S))


def _loads_off(run: Run) -> Run:
    """All other loads off, with their heat; shore power is free of them too."""
    scenario = run.scenario.model_copy(update={"loads": ()})

    def laid_anew(laid: ForcingData) -> ForcingData:
        if not laid.rows.size:
            return laid
        start_min, end_min = (round(s / 60.0) for s in (laid.forcing.start_s[0], laid.forcing.end_s[-1]))
        return build_forcing(scenario, run.weather, run.first_hour, start_min, end_min)

    return replace(run, scenario=scenario, lead_in=laid_anew(run.lead_in), laid=laid_anew(run.laid))


_RUN: dict[str | None, Callable[[Run], Run]] = {
    "bank_losses": _lossless,
    "fans_and_standby": _fans_off,
    "cycling": _no_ramp,
    "loads": _loads_off,
}
"""Causes that lie in the van's constants, and the loads, whose hours cut the forcing."""


def enabled_s(intervals: pd.DataFrame, forcing: Forcing) -> Array:
    """Time for which the cooler was switched on by the plan and connected to the bank, in each interval [s]."""
    asked = forcing.cooling != COOLING_OFF
    return np.where(asked, (1.0 - intervals["disconnected"]) * intervals["span_s"], 0.0)
