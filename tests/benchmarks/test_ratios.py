"""Ratios for ``pytest --benchmark-only tests/benchmarks``; skipped in the ordinary suite, no time is asserted."""

from __future__ import annotations

import numpy as np
import pytest
from pytest_benchmark.fixture import BenchmarkFixture

from tests.benchmarks.hourly import hourly
from tests.benchmarks.measure import least, marcher
from tests.benchmarks.plain_c import compiler, in_c
from tests.benchmarks.years import cycling
from vansim.runs.run import Run, fresh_state


@pytest.fixture(scope="module")
def run() -> Run:
    return cycling()


def test_year_of_cycling(benchmark: BenchmarkFixture, run: Run) -> None:
    work = marcher(run)
    totals = benchmark.pedantic(work, rounds=5, warmup_rounds=1)
    ours = least(work, 3)
    benchmark.extra_info["starts"] = float(totals.starts.sum())
    benchmark.extra_info["hourly_loop_over_ours"] = least(lambda: hourly(run), 2) / ours
    if compiler() is not None:
        c, start = in_c(run.laid.forcing, run.van), fresh_state(run)
        benchmark.extra_info["ours_over_c"] = ours / least(lambda: c.march(start.copy()), 3)
    assert np.isfinite(totals.tolist()).all()
