"""Shift and stretch: Belcher, Hacker & Powell (2005), Building Services Engineering Research and Technology 26:49.

The worked numbers were computed from the paper's equations by hand (ten values, a shift of 3.0, maxima 3.8 and minima
2.4 warmer); the other checks are properties that the paper's equations have exactly.
"""

from __future__ import annotations

from typing import Any

import numpy as np
import pandas as pd
import pytest

from tests.support.bench import hold, row
from tests.support.places import DEMO
from vansim.climate import Weather, read_weather
from vansim.climate.changed_year import changed, shifted, shifted_and_stretched, stretch_of, stretched

X = np.array([22.0, 20.0, 19.0, 24.0, 31.0, 36.0, 38.0, 35.0, 29.0, 25.0])
BOTH = (24.5653, 22.4179, 21.3442, 26.7126, 34.2284, 39.5968, 41.7442, 38.5232, 32.0811, 27.7863)


@pytest.fixture(scope="module")
def desert() -> Weather:
    return read_weather(DEMO / "desert.epw")


def changes(**columns: float) -> pd.DataFrame:
    return pd.DataFrame({name: [value] * 12 for name, value in columns.items()}, index=range(1, 13))


def month_of(weather: Weather) -> np.ndarray:
    return np.asarray(pd.DatetimeIndex(weather.data.index).month)


PAPER = "Belcher, Hacker & Powell 2005, BSERT 26:49"


def rows() -> list[dict[str, Any]]:
    a = stretch_of(3.8, 2.4, X.max(), X.min())
    found = shifted_and_stretched(X, 3.0, a)
    worst = float(np.abs(found - BOTH).max())
    return [
        row("stretch, 1.4 K over 19 K", 0.073684, a, 1e-6, "-", "given to 1e-6", PAPER, "textbook", "computed"),
        row("ten values, worst", 0.0, worst, 5e-5, "K", "given to 1e-4", PAPER, "textbook", "computed"),
        row("mean moves by", 3.0, found.mean() - X.mean(), 1e-9, "K", "exact", PAPER, "textbook", "computed"),
        row("range grows by", 1.4, np.ptp(found) - np.ptp(X), 1e-9, "K", "exact", PAPER, "textbook", "computed"),
    ]


def test_worked_values() -> None:
    hold(rows())


def test_shift_and_stretch_alone() -> None:
    assert shifted(X, 1.5) == pytest.approx(X + 1.5)
    assert stretched(X, -20.0) == pytest.approx(0.8 * X)


def test_monthly_means_move_by_the_shift(desert: Weather) -> None:
    """Exactly, in every month; the daily ranges grow by 1 + a of the month."""
    found = changed(desert, changes(temp_k=2.5, temp_max_k=3.2, temp_min_k=2.0), "test")
    before, after, month = desert.array("temp_air"), found.array("temp_air"), month_of(desert)
    for m in range(1, 13):
        x, y = before[month == m], after[month == m]
        assert y.mean() - x.mean() == pytest.approx(2.5, abs=1e-9)
        days = x.reshape(-1, 24)
        a = 1.2 / (days.max(axis=1).mean() - days.min(axis=1).mean())
        ranges = np.ptp(y.reshape(-1, 24), axis=1) / np.ptp(days, axis=1)
        assert ranges == pytest.approx(1.0 + a, abs=1e-9)


def test_a_shift_alone_leaves_differences_between_hours(desert: Weather) -> None:
    found = changed(desert, changes(temp_k=2.0), "test")
    assert found.array("temp_air") - desert.array("temp_air") == pytest.approx(2.0)
    assert np.array_equal(found.array("ghi"), desert.array("ghi"))


def test_no_change_gives_the_same_year(desert: Weather) -> None:
    found = changed(
        desert, changes(temp_k=0.0, temp_max_k=0.0, temp_min_k=0.0, ghi_percent=0.0, wind_percent=0.0), "test"
    )
    for column in ("temp_air", "temp_dew", "ghi", "dni", "dhi", "longwave", "wind_speed", "pressure"):
        assert found.array(column) == pytest.approx(desert.array(column), abs=1e-9)


def test_sun_and_wind_are_stretched(desert: Weather) -> None:
    """Less sun by 5 % in every hour, more beam share lost than diffuse; wind by 10 %; the sun's books close."""
    found = changed(desert, changes(ghi_percent=-5.0, wind_percent=10.0), "test")
    assert found.array("wind_speed") == pytest.approx(1.1 * desert.array("wind_speed"))
    assert found.array("ghi") == pytest.approx(0.95 * desert.array("ghi"), abs=1e-9)
    assert found.array("dni").sum() < 0.95 * desert.array("dni").sum()
    assert found.closure.at_label_w_m2 < desert.closure.at_label_w_m2 + 0.1


def test_more_sun_stays_below_a_clear_sky(desert: Weather) -> None:
    """Clear hours cannot gain 10 %, cloudy ones do; none gains more, and none loses."""
    found = changed(desert, changes(ghi_percent=10.0), "test")
    lit = desert.array("ghi") > 50.0
    ratio = found.array("ghi")[lit] / desert.array("ghi")[lit]
    assert ratio.min() >= 1.0 - 1e-9
    assert ratio.max() == pytest.approx(1.1, abs=1e-9)
    assert ratio.mean() < 1.09
    assert (found.array("dhi") >= -1e-9).all()


def test_moisture_is_never_above_saturation(desert: Weather) -> None:
    """A colder year with half as much moisture again: capped at the air; otherwise the ratio grows by half."""
    found = changed(desert, changes(temp_k=-5.0, humidity_ratio_percent=50.0), "test")
    dew, temp = found.array("temp_dew"), found.array("temp_air")
    assert (dew <= temp + 1e-12).all()
    assert (dew == temp).any()
    assert (dew[dew < temp] > desert.array("temp_dew")[dew < temp]).all()
