"""The march written again in C agrees with the kernel: cycling, humid, boost, sun, alternator, AGM, an empty bank.

Same formulas, other compiler: they may differ by rounding alone, and do by 1e-12; the tolerance is 1e-9. That is sharp
enough to have shown a search for a crossing that stopped a ten-thousandth of a kelvin early in one of the two.
"""

from __future__ import annotations

from dataclasses import replace
from typing import Any

import numpy as np
import pytest

from tests.benchmarks.plain_c import compiler, in_c
from tests.benchmarks.years import HOT_DAY, hot_year, with_endless_bank
from tests.march.vans import SUMMER_DAY, bank, cooler, van
from vansim.climate import Weather
from vansim.march.records import TOTALS, Records
from vansim.runs.run import Run, fresh_state, march_forcing, prepare
from vansim.scenario.schema import Day, PlanSegment, Thermostat

pytestmark = pytest.mark.skipif(compiler() is None, reason="no C compiler")

DRIVING = Day(
    segment=(
        PlanSegment(start="09:00", end="13:00", doing="driving", speed_kmh=90.0, vehicle_cooling=True, fan="off"),
        PlanSegment(start="13:00", end="21:00", fan="auto", shade=0.2),
        PlanSegment(start="21:00", end="09:00", cooling="boost_then_eco", people="asleep", dogs="asleep", covers=True),
    )
)
SHORT = {"min_on_s": 60.0, "min_off_s": 60.0, "max_starts_per_h": 30.0, "ramp_s": 30.0}
CASES: dict[str, dict[str, Any]] = {
    "cycling": {"day": (HOT_DAY,), "cooler": cooler(**SHORT), "thermostat": Thermostat(deadband_k=0.6)},
    "summer": {"day": (SUMMER_DAY,), "bank": bank(3)},
    "emptied": {"day": (HOT_DAY,), "bank": bank(2, start_soc=0.9)},
    "driving": {"day": (DRIVING,), "bank": bank(3, start_soc=0.4)},
    "agm": {"day": (DRIVING,), "bank": bank(4, chemistry="agm", start_soc=0.6)},
    "outside": {"day": (SUMMER_DAY,), "bank": bank(2, location="outside")},
}


def run_of(case: str, weather: Weather) -> Run:
    run = prepare(van(run={"date": "07-10", "start": "12:00", "days": 4}, **CASES[case]), weather)
    return with_endless_bank(run) if case == "cycling" else run


def both(run: Run) -> tuple[Records, Records, Records, Records]:
    ours = fresh_state(run)
    theirs = ours.copy()
    totals = march_forcing(run.laid.forcing, run.van, ours).totals
    again, _ = in_c(run.laid.forcing, run.van).march(theirs)
    return totals, again, ours, theirs


@pytest.mark.parametrize("case", CASES)
def test_same_books(case: str, desert_year: Weather) -> None:
    """Every column of the totals to 1e-9 of what moved in it, and the state at the end."""
    run = run_of(case, hot_year() if case == "cycling" else desert_year)
    totals, again, ours, theirs = both(run)
    assert totals.starts.sum() > (200 if case == "cycling" else 3)
    for name in TOTALS.names or ():
        # what is unserved is a difference of great sums: nothing but rounding where all is served
        scale = np.abs(totals["loads_j" if name == "unserved_j" else name]).sum()
        assert abs(again[name].sum() - totals[name].sum()) < 1e-9 * scale + 1e-12, name
    np.testing.assert_allclose(theirs.tolist(), ours.tolist(), rtol=1e-8, atol=1e-8)


def test_a_wrong_term_is_seen(desert_year: Weather) -> None:
    """The comparison is sharp: a millionth more air exchange in one of the two is outside the tolerance."""
    run = run_of("summer", desert_year)
    totals, *_ = both(run)
    forcing = run.laid.forcing
    leaky = replace(run, laid=replace(run.laid, forcing=forcing._replace(air_w_k=forcing.air_w_k * (1.0 + 1e-6))))
    _, again, *_ = both(leaky)
    air, air_c = totals.air_exchange_j.sum(), again.air_exchange_j.sum()
    assert abs(air_c - air) > 1e-8 * np.abs(totals.air_exchange_j).sum()
