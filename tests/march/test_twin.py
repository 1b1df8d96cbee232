"""The plain Python twin (NUMBA_DISABLE_JIT=1) marches to the same numbers as the compiled code."""

from __future__ import annotations

import json
import os
import subprocess
import sys
from pathlib import Path

import pytest

ROOT = Path(__file__).parents[2]
# An evening in a hot place: boost, eco, cycling, charging from the sun, the reserve. Both twins get a made-up map, for
# solving a real one without the compiler would take minutes.
CODE = """
import json
import numpy as np
from tests.support.vans import bank, constant_cooler, made_weather, van
from vansim.march.records import sums
from vansim.runs import run as s
s.prepare.__globals__["cooler_map"] = lambda cooler, pressure: constant_cooler(1900.0, 420.0)
hours = np.arange(8760)
sun = 400 * np.clip(np.sin(2 * np.pi * (hours % 24 - 6) / 24), 0, None)
warmth = 30 + 6 * np.sin(2 * np.pi * (hours - 9) / 24)
weather = made_weather(warmth, 12.0, ghi=sun, dhi=sun, wind_speed=2.0)
scenario = van(run={"date": "07-15", "start": "16:00", "days": 1}, bank=bank(2, start_soc=0.9))
run = s.prepare(scenario, weather, lead_in_days=0)
marched = s.march_run(run)
print(json.dumps([sums(marched.totals).tolist(), marched.end.tolist(), marched.events.tolist()]))
"""


def numbers(**environment: str) -> list[list[float]]:
    done = subprocess.run(
        [sys.executable, "-c", CODE],
        env={**os.environ, **environment},
        cwd=ROOT,
        capture_output=True,
        text=True,
        check=False,
    )
    assert done.returncode == 0, done.stderr
    return json.loads(done.stdout)


def test_twin() -> None:
    out, end, log = numbers(NUMBA_DISABLE_JIT="0")
    plain_out, plain_end, plain_log = numbers(NUMBA_DISABLE_JIT="1")
    assert len(log) == len(plain_log) > 10
    assert plain_out == pytest.approx(out, rel=1e-7, abs=1e-6)
    assert plain_end == pytest.approx(end, rel=1e-7, abs=1e-7)
    for (t, kind), (plain_t, plain_kind) in zip(log, plain_log, strict=True):
        assert kind == plain_kind
        assert plain_t == pytest.approx(t, abs=1e-4)
