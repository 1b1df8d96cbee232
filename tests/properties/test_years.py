"""Whole years, and the cold: no warning (warnings are errors), books closed, and numbers that make sense."""

from __future__ import annotations

import numpy as np
import pytest

from tests.support.vans import bank, idle_van, made_weather, van
from vansim.climate import Weather
from vansim.runs.result import Result
from vansim.runs.run import march_run, prepare
from vansim.runs.simulate import over_year, simulate, with_window
from vansim.scenario.schema import Scenario


def check(result: Result) -> None:
    for name, gap in result.balance.items():
        assert abs(gap) < 1e-6, name
    totals = result.marched.totals
    assert np.isfinite(totals.tolist()).all()
    assert (totals.end_soc >= 0.0).all()
    assert (totals.end_soc <= 1.0).all()


@pytest.mark.parametrize("place", ["desert", "coast", "miami"])
def test_a_whole_year(place: str, request: pytest.FixtureRequest) -> None:
    weather: Weather = request.getfixturevalue(f"{place}_year")
    result = simulate(over_year(van()), weather)
    check(result)
    hourly = result.hourly
    assert len(hourly) == 8760
    assert len(result.nights) == 364
    assert hourly["outdoor_c"].mean() == pytest.approx(weather.data["temp_air"].mean(), abs=0.01)
    # a closed van in the sun is warmer than the air around it, and cools only with the cooler
    assert hourly["cabin_c"].mean() > hourly["outdoor_c"].mean()
    assert hourly["duty"].max() == pytest.approx(1.0)
    assert result.summary["starts"] == hourly["starts"].sum()


def test_a_year_is_its_months(desert_year: Weather) -> None:
    """A year marched at once, and its first ten days taken up from the same state."""
    year = prepare(over_year(van()), desert_year, lead_in_days=1)
    whole = march_run(year)
    days = prepare(with_window(over_year(van()), days=10), desert_year, lead_in_days=1)
    part = march_run(days, whole.start)
    ten_days, all_days = np.array(part.totals.tolist()), np.array(whole.totals.tolist())
    # not to the last bit: the envelope is summed over arrays of another length
    assert np.abs(ten_days - all_days[: len(ten_days)]).max() < 1e-5


@pytest.mark.parametrize(("chemistry", "location"), [("lfp", "outside"), ("lfp", "cabin"), ("agm", "outside")])
def test_winter_cold(chemistry: str, location: str) -> None:
    """-25 degC all week: no cooling, no NaN, loads served until cold holds back the rest, then unserved, counted."""
    cold = van(bank=bank(1, chemistry, location=location), solar=None, alternator=None)
    result = simulate(
        with_window(cold, date="01-10", start="12:00", days=7), made_weather(-25.0, -30.0, longwave=150.0)
    )
    check(result)
    assert result.hourly["starts"].sum() == 0.0
    assert 0.2 < result.hourly["soc"].iloc[-1] < 0.5  # in the bank, and out of reach until it is warmer
    assert result.hourly["unserved_w"].iloc[-1] > 0.0
    assert result.hourly["cabin_c"].max() < 5.0


def test_an_empty_van_follows_the_weather(miami_year: Weather) -> None:
    """A year without people, cooler and loads: the bank stands still, the cabin's yearly balance is zero."""
    scenario: Scenario = over_year(idle_van(bank=bank(start_soc=0.5)))
    result = simulate(scenario, miami_year)
    check(result)
    assert result.hourly["soc"].to_numpy() == pytest.approx(0.5, abs=1e-9)
    assert abs(result.hourly["sensible_w"]).max() == 0.0
