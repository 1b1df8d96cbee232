"""Nights marched one after another, and what is written down of each; compiled whole, so that threads need not wait.

A study marches thousands of nights of a tenth of a millisecond; what a night costs in Python would be most of it.
"""

from __future__ import annotations

import numpy as np
import numpy.typing as npt

from vansim.boundary.forcing import Forcing
from vansim.jit import compiled, compiled_maker
from vansim.march import records as k
from vansim.march.kernel import march
from vansim.march.records import CabinConstants
from vansim.van.bank_steps import BankParameters
from vansim.van.cooler_map import CoolerMap

Array = npt.NDArray[np.float64]

# books of a night: sums over its pieces, and what is read off them
ON, STARTS, COOLER, LOADS, OVER, HEAT, LOST, LOWEST, WAKING, CABIN_MAX = range(10)
COOLED_OVER, DUTY_OVER, RUNTIME, EMPTIED, BED_SOC = range(10, 15)
N_BOOKS = 15


@compiled_maker
def march_nights(
    plan: Forcing,
    held: Forcing,
    rows: np.ndarray,
    bed_s: np.ndarray,
    h: CabinConstants,
    cooling: CoolerMap,
    b: BankParameters,
    states: np.ndarray,
) -> np.ndarray:
    """March each night from its own state, and on until the reserve.

    Parameters
    ----------
    plan : Forcing
        In which the nights lie.
    held : Forcing
        What holds after waking.
    rows : (n_nights, 4) int array
        First piece of the night in `plan` and the one after its last; the same for what follows in `held`: none where
        the night is not to be followed.
    bed_s : (n_nights,) array
        Bedtimes [s].
    h, cooling, b : CabinConstants, CoolerMap, BankParameters
        Constants.
    states : (n_nights, N_STATE) array
        At bedtime; changed in place to those at waking.

    Returns
    -------
    (n_nights, N_BOOKS) array
        Sums over the night [s, J, counts], states of charge, `RUNTIME` [s] and whether the reserve was reached in it.
        `RUNTIME` of a night that lasts and is not followed is its length.
    """
    n = rows.shape[0]
    books = np.zeros((n, N_BOOKS))
    none, no_sample, no_log = np.empty(0), np.empty((0, k.N_SAMPLE)), np.empty((0, 2))
    for night in range(n):
        first, last, after, until = rows[night, 0], rows[night, 1], rows[night, 2], rows[night, 3]
        s, book = states[night], books[night]
        start = s.copy()
        out = np.zeros((last - first, k.N_OUT))
        march(plan, first, last, h, cooling, b, s, out, none, no_sample, no_log, False)
        write_night(plan, first, out, start, s, book)
        if book[EMPTIED] > 0.0:
            moment = moment_of_reserve(plan, first, out, start)
            if moment < 0.0:
                out[:] = 0.0
                moment, _ = march(plan, first, last, h, cooling, b, start, out, none, no_sample, no_log, True)
        elif until > after:
            rest = np.zeros((until - after, k.N_OUT))
            moment, _ = march(held, after, until, h, cooling, b, s.copy(), rest, none, no_sample, no_log, True)
        else:
            moment = plan.end_s[last - 1]
        book[RUNTIME] = moment - bed_s[night]
    return books


@compiled
def write_night(plan: Forcing, first: int, out: np.ndarray, start: np.ndarray, s: np.ndarray, book: np.ndarray) -> None:
    """Everything of a night but its runtime; `start` and `s` are the states at bedtime and at waking."""
    book[BED_SOC] = book[LOWEST] = start[k.SOC]
    book[WAKING], book[CABIN_MAX] = s[k.SOC], -np.inf
    shed_s = on_over = 0.0
    for i in range(out.shape[0]):
        o, span = out[i], plan.end_s[first + i] - plan.start_s[first + i]
        book[ON] += o[k.ON_S]
        book[STARTS] += o[k.STARTS]
        book[COOLER] += o[k.COOLER_J]
        book[LOADS] += o[k.LOADS_J]
        book[OVER] += o[k.OVER_S]
        book[HEAT] += o[k.BANK_HEAT_J]
        book[LOST] += o[k.BANK_LOST_J]
        # the reserve is often reached within a piece: its end is not the lowest point of a bank that charges again
        book[LOWEST] = min(book[LOWEST], o[k.END_SOC])
        book[CABIN_MAX] = max(book[CABIN_MAX], o[k.CABIN_MAX])
        shed_s += o[k.SHED_S]
        if o[k.SHED_S] < 1e-12 * span:
            book[COOLED_OVER] += o[k.OVER_S]
            on_over += o[k.ON_S] / span * o[k.OVER_S]
    book[DUTY_OVER] = on_over / max(book[COOLED_OVER], 1e-9)
    book[EMPTIED] = 1.0 if shed_s > 0.0 or s[k.SHED] > 0.0 else 0.0


@compiled
def moment_of_reserve(plan: Forcing, first: int, out: np.ndarray, start: np.ndarray) -> float:
    """When the reserve was first reached [s], by the books; -1 where the cooler was connected again since."""
    if start[k.SHED] > 0.0:
        return plan.start_s[first]
    moment = plan.end_s[first + out.shape[0] - 1]
    found = False
    for i in range(out.shape[0]):
        shed_s, span = out[i, k.SHED_S], plan.end_s[first + i] - plan.start_s[first + i]
        if found and shed_s < span * (1.0 - 1e-12):
            return -1.0
        if not found and shed_s > 0.0:
            moment, found = plan.end_s[first + i] - shed_s, True
    return moment
