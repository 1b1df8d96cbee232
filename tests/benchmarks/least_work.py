"""What a step cannot do without: exponentials, logarithms, roots, divisions, and the numbers it reads and writes.

A yardstick for the compiled march that shares none of its code. Each kind of operation is done as often as the closed
forms ask for it when nothing is done twice; additions, multiplications, decisions and searches count as nothing. The
operations of a step depend on one another no more than they must, so that a processor may do them side by side.
"""

from __future__ import annotations

import math
from collections.abc import Callable
from typing import NamedTuple

import numba
import numpy as np

from vansim.march.records import TOTALS
from vansim.van.cooler_map import CABIN_C, OUTDOOR_C, RATIO


class Work(NamedTuple):
    """How often a step needs each operation; reads of the cooler's map, additions to what is written down."""

    exponentials: int
    logarithms: int
    roots: int
    divisions: int
    reads: int
    writes: int


RESTING = Work(
    exponentials=2 + 1 + 1,  # the cabin's two decays, humidity, saturation at the end
    logarithms=1,  # saturation
    roots=1 + 1,  # eigenvalues; current for a power
    divisions=2 + 2 + 1 + 2,  # eigenvalues and their shapes, phi of both decays, humidity, current and charge
    reads=0,
    writes=24,
)
"""A step with the compressor off."""
RUNNING = Work(
    exponentials=RESTING.exponentials + 1 + 1 + 1,  # start-up ramp, contact of the coil, saturation at its surface
    logarithms=RESTING.logarithms + 1,  # saturation at the coil
    roots=RESTING.roots,
    divisions=RESTING.divisions + 1 + 1 + 1 + 1,  # density and contact of the air, slope of saturation, the crossing
    reads=16,  # the corners of a cell: surface and power
    writes=RESTING.writes + 6,
)
"""A step with the compressor on."""


def least_work(work: Work) -> Callable[[int], float]:
    """A compiled function that does a number of steps' worth of these operations, and nothing else.

    Parameters
    ----------
    work : Work
        Operations of a step.

    Returns
    -------
    callable
        Takes the number of steps; gives a sum of all results, so that none is left out.
    """
    exponentials, logarithms, roots, divisions, reads, writes = work
    given = np.linspace(0.2, 0.9, 4096)
    table = np.linspace(0.0, 1.0, 2 * OUTDOOR_C.size * CABIN_C.size * RATIO.size)
    cells = np.random.default_rng(1).integers(0, 40, given.size) * 64  # a cabin moves among neighbouring cells
    columns = np.zeros(len(TOTALS.names or ()))

    @numba.njit(nogil=True, error_model="numpy", fastmath={"contract", "arcp", "nsz"})
    def done(given: np.ndarray, table: np.ndarray, cells: np.ndarray, columns: np.ndarray, steps: int) -> float:
        total = 0.0
        for step in range(steps):
            at = step % given.size
            x = given[at]
            for k in range(exponentials):
                total += math.exp(-x * (1.0 + 0.1 * k))
            for k in range(logarithms):
                total += math.log(x + 0.1 * k)
            for k in range(roots):
                total += math.sqrt(x + 0.1 * k)
            for k in range(divisions):
                total += (1.0 + x) / (x + 0.1 * k)
            for k in range(reads):
                total += table[cells[at] + (k // 2) * 37 + k % 2]
            for k in range(writes):
                columns[k] += x
        return total

    return lambda steps: float(done(given, table, cells, columns, steps))
