"""Ratios for ``pytest --benchmark-only tests/benchmarks``; skipped in the ordinary suite, no time is asserted."""

from __future__ import annotations

import numpy as np
import pytest
from pytest_benchmark.fixture import BenchmarkFixture

from tests.benchmarks.hourly import hourly
from tests.benchmarks.measure import least, marcher
from tests.benchmarks.years import cycling
from vansim.runs.run import Run


@pytest.fixture(scope="module")
def run() -> Run:
    return cycling()


def test_year_of_cycling(benchmark: BenchmarkFixture, run: Run) -> None:
    work = marcher(run)
    totals = benchmark.pedantic(work, rounds=5, warmup_rounds=1)
    ours = least(work, 3)
    benchmark.extra_info["starts"] = float(totals.starts.sum())
    benchmark.extra_info["hourly_loop_over_ours"] = least(lambda: hourly(run), 2) / ours
    assert np.isfinite(totals.tolist()).all()
