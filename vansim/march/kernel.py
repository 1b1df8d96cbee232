"""The march: cabin, cooler and bank answer each other, moment by moment.

Between two switchings the cabin is linear and solved in closed form (`network`), so the march goes from event to event:
a thermostat crossing, the end of a timer, the reserve of the bank, an edge of the forcing, and at the latest after
five minutes, when the cooler's map and the bank are read again. Everything is compiled, and lets go of the lock.

    controls    who runs: compressor, roof fan
    piece       what flows until the next event, and what cabin and bank make of it
    books       the columns in which it is written down
"""

from __future__ import annotations

import numpy as np

from vansim.boundary.forcing import Forcing
from vansim.jit import compiled, compiled_apart
from vansim.march.controls import decide
from vansim.march.network import TwoNodeSolution, deviation
from vansim.march.records import (
    BANK_V,
    CABIN,
    CABIN_MAX,
    CONTENTS,
    END_CABIN,
    END_CONTENTS,
    END_RATIO,
    END_SOC,
    END_V,
    ON,
    RATIO,
    RECONNECTED,
    S_BANK_V,
    S_BANK_W,
    S_BOOST,
    S_CABIN,
    S_CONTENTS,
    S_COOLER_W,
    S_LOADS_W,
    S_ON,
    S_OUTDOOR,
    S_RATIO,
    S_SOC,
    SHED,
    SHED_SOC,
    SHEDDED,
    SOC,
    STARTED,
    STARTS,
    STOPPED,
    CabinConstants,
    ForcingInterval,
    interval_of,
)
from vansim.march.step import step_to_event
from vansim.van.bank_steps import BankParameters
from vansim.van.cooler_balance import BOOST
from vansim.van.cooler_map import CoolerMap

READ_EVERY_S = 300.0
"""The cooler's map and the bank are read again after five minutes at the latest [s]."""


@compiled_apart
def march(
    forcing: Forcing,
    first: int,
    last: int,
    h: CabinConstants,
    cooling: CoolerMap,
    b: BankParameters,
    s: np.ndarray,
    out: np.ndarray,
    moments: np.ndarray,
    samples: np.ndarray,
    log: np.ndarray,
    stop_when_shed: bool,
) -> tuple[float, int]:
    """Run over pieces of the forcing.

    Parameters
    ----------
    forcing : Forcing
        Arrays over pieces.
    first, last : int
        The first piece, and the one before which to end.
    h : CabinConstants
        Constants.
    cooling : CoolerMap
        The cooler, solved.
    b : BankParameters
        The bank.
    s : (N_STATE,) array
        State, changed in place.
    out : (last - first, N_OUT) array
        Filled with what flowed; given as zeros.
    moments : (n_samples,) array
        Increasing times at which the fine picture is wanted [s]; may be empty.
    samples : (n_samples, N_SAMPLE) array
        Filled with it.
    log : (n_events, 2) array
        Filled with time [s] and kind of each event, as far as it reaches; may be empty.
    stop_when_shed : bool
        End when the bank's reserve is reached.

    Returns
    -------
    end_s : float
        When it ended [s].
    n_events : int
        Events that happened, also those that no longer fitted the log.
    """
    n_events, at_sample = 0, 0
    while at_sample < moments.size and moments[at_sample] < forcing.start_s[first]:
        at_sample += 1
    for i in range(first, last):
        f = interval_of(forcing, i)
        t, o, end_s = forcing.start_s[i], out[i - first], forcing.end_s[i]
        o[CABIN_MAX] = s[CABIN]
        while t < end_s - 1e-9:
            outdoor = f.outdoor_c + f.outdoor_k_s * (t - f.start_s)
            was_on, was_shed = s[ON], s[SHED]
            if s[SHED] > 0.0 and s[SOC] >= s[SHED_SOC] + b.reconnect_soc:
                s[SHED] = 0.0
            started, mode = decide(f, h, s, outdoor)
            if started:
                o[STARTS] += 1.0
            n_events = _note(log, n_events, t, STARTED, started)
            n_events = _note(log, n_events, t, STOPPED, was_on > 0.0 and s[ON] == 0.0)
            n_events = _note(log, n_events, t, RECONNECTED, was_shed > 0.0 and s[SHED] == 0.0)
            limit = min(end_s - t, READ_EVERY_S)
            before = s[CABIN], s[CONTENTS], s[RATIO], s[SOC]
            span, solution, cooler_w, bank_w, shed = step_to_event(f, h, cooling, b, s, o, mode, outdoor, limit)
            boost = 1.0 if s[ON] > 0.0 and mode == BOOST else 0.0
            while at_sample < moments.size and moments[at_sample] <= t + span:
                row = samples[at_sample]
                _sample(f, s, before, solution, span, moments[at_sample] - t, outdoor, row)
                row[S_COOLER_W], row[S_BANK_W], row[S_BOOST] = cooler_w, bank_w, boost
                at_sample += 1
            t += span
            if shed:
                s[SHED], s[SHED_SOC] = 1.0, s[SOC]
                n_events = _note(log, n_events, t, SHEDDED, True)
                if stop_when_shed:
                    _end(s, o)
                    return t, n_events
        _end(s, o)
    return forcing.end_s[last - 1], n_events


@compiled
def _note(log: np.ndarray, n_events: int, t: float, kind: float, happened: bool) -> int:
    """Write an event into the log, as far as it reaches; returns how many there were."""
    if not happened:
        return n_events
    if n_events < log.shape[0]:
        log[n_events, 0], log[n_events, 1] = t, kind
    return n_events + 1


@compiled
def _end(s: np.ndarray, o: np.ndarray) -> None:
    o[END_CABIN], o[END_CONTENTS], o[END_RATIO] = s[CABIN], s[CONTENTS], s[RATIO]
    o[END_SOC], o[END_V] = s[SOC], s[BANK_V]


@compiled
def _sample(
    f: ForcingInterval,
    s: np.ndarray,
    before: tuple[float, float, float, float],
    solution: TwoNodeSolution,
    span: float,
    after: float,
    outdoor: float,
    row: np.ndarray,
) -> None:
    """The fine picture at one moment within a piece."""
    rise, contents_rise = deviation(solution, after)
    share = after / span
    row[S_OUTDOOR] = outdoor + f.outdoor_k_s * after
    row[S_CABIN], row[S_CONTENTS] = before[0] + rise, before[1] + contents_rise
    row[S_RATIO] = before[2] + (s[RATIO] - before[2]) * share
    row[S_SOC] = before[3] + (s[SOC] - before[3]) * share
    row[S_ON], row[S_BANK_V] = s[ON], s[BANK_V]
    row[S_LOADS_W] = f.loads_w
