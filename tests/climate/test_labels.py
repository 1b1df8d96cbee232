"""The closure check: what it trusts, what it calls a tie, what it refuses."""

from __future__ import annotations

import numpy as np
import pytest

from vansim.climate import Weather, closure
from vansim.climate.labels import SHIFTS_MIN, _judge, closure_of


def test_the_function_agrees_with_what_reading_found(desert: Weather) -> None:
    assert closure(desert) == desert.closure


@pytest.mark.parametrize(("rows", "best"), [(-1, 60.0), (1, -60.0)])
def test_a_rolled_year_points_back(rows: int, best: float, desert: Weather) -> None:
    rolled = desert.data.copy()
    for column in ("ghi", "dni", "dhi"):
        rolled[column] = np.roll(rolled[column].to_numpy(), rows)
    found = closure_of(rolled, desert.site)
    assert found.verdict == "shifted"
    assert found.best_shift_min == best
    assert not found.trusted


def test_half_an_hour_is_seen(desert: Weather) -> None:
    """Means of two neighbouring hours are the sun of half an hour later."""
    mixed = desert.data.copy()
    for column in ("ghi", "dni", "dhi"):
        mixed[column] = 0.5 * (mixed[column].to_numpy() + np.roll(mixed[column].to_numpy(), -1))
    assert closure_of(mixed, desert.site).best_shift_min == 30.0


def test_a_tie_is_tolerated_with_its_reason() -> None:
    assert SHIFTS_MIN == (-60.0, -30.0, 0.0, 30.0, 60.0)
    tie = _judge((9.0, 5.2, 5.0, 4.8, 9.0))
    assert tie.verdict == "tie"
    assert "within the noise" in tie.reason
    assert tie.trusted
    assert _judge((90.0, 52.0, 50.0, 40.0, 90.0)).verdict == "shifted"
    assert _judge((20.0, 10.0, 1.0, 10.0, 20.0)).verdict == "agrees"


def test_a_year_without_beam_cannot_be_checked(desert: Weather) -> None:
    dull = desert.data.assign(dni=0.0, ghi=desert.data["dhi"])
    found = closure_of(dull, desert.site)
    assert found.verdict == "nothing to check"
    assert found.trusted
