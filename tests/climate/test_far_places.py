"""Written years of places where habits of the north fail: the south, the poles, the tropics, 4000 m."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest

from tests.support import synthetic
from vansim import load_scenario, simulate
from vansim.climate import Location, Weather, describe, read_weather, sky
from vansim.climate.describe import hot_season, nights
from vansim.climate.epw_writing import epw_text
from vansim.climate.seasons import hottest_fortnight, span_of, with_heat_wave
from vansim.psychrometrics import pressure_at_altitude_pa
from vansim.scenario.files import default_scenario_path
from vansim.studies.nights import nights as season_nights

SOUTH = Location(latitude=-34.9, longitude=138.6, altitude=50.0, utc_offset=9.5, name="south")
ARCTIC = Location(latitude=78.2, longitude=15.6, altitude=30.0, utc_offset=1.0, name="arctic")
ANTARCTIC = Location(latitude=-77.8, longitude=166.7, altitude=10.0, utc_offset=12.0, name="antarctic")
TROPIC = Location(latitude=8.0, longitude=38.0, altitude=400.0, utc_offset=3.0, name="tropic")
HIGH = Location(latitude=-16.5, longitude=-68.1, altitude=4000.0, utc_offset=-4.0, name="high")


def year(
    site: Location, folder: Path, temp: np.ndarray | None = None, dew_c: float = 8.0, pressure_pa: float = 98000.0
) -> Weather:
    """A year of a sky known at every moment, written as EPW and read back; `temp` at each hour's end [°C]."""
    true = synthetic.hour_means(site)
    at_end = synthetic.temperature(site, np.arange(1, 8761) - site.utc_offset) if temp is None else temp
    text = synthetic.epw_text(site, *(true[c].to_numpy() for c in ("ghi", "dni", "dhi")), at_end, dew_c)
    path = folder / f"{site.name}.epw"
    path.write_text(text.replace(",98000,", f",{pressure_pa:.0f},"))
    return read_weather(path)


def moved_months(weather: Weather, months: int) -> Weather:
    """The same air some months later."""
    hours = round(8760 * months / 12 / 24) * 24
    return replace(weather, data=weather.data.assign(temp_air=np.roll(weather.array("temp_air"), hours)))


# --- the south: its summer runs over new year -------------------------------------------------------------------------


@pytest.fixture(scope="module")
def south(tmp_path_factory: pytest.TempPathFactory) -> Weather:
    return year(SOUTH, tmp_path_factory.mktemp("south"))


def test_a_southern_season_runs_over_new_year(south: Weather) -> None:
    """Warmest on day 17: December to February, 90 nights, dated on into January."""
    span = span_of(None, south)
    assert hot_season(south) == (12, 1, 2)
    assert (span.first, span.days) == (334, 90)
    assert [f"{span.date_of(i):%d %b}" for i in (0, 30, 31, 89)] == ["01 Dec", "31 Dec", "01 Jan", "28 Feb"]


def test_the_hottest_fortnight_may_lie_over_new_year(south: Weather) -> None:
    """Summer's peak moved to new year: the fortnight begins in December, its heat wave warms both ends of the file."""
    shifted = replace(south, data=south.data.assign(temp_air=np.roll(south.array("temp_air"), -17 * 24)))
    fortnight = hottest_fortnight(shifted)
    assert fortnight.first > 350
    warmer = with_heat_wave(shifted, 3.0).array("temp_air") - shifted.array("temp_air")
    assert sorted(set(warmer.round(9))) == [0.0, 3.0]
    assert (warmer > 0).sum() == 14 * 24
    assert warmer[0] == pytest.approx(3.0)
    assert warmer[-1] == pytest.approx(3.0)


def test_nights_of_a_southern_season(south: Weather) -> None:
    """One row a night, in order, over new year; the same night alone and in a run of its own."""
    scenario = load_scenario(default_scenario_path())
    table = season_nights(scenario, south).independent.table
    assert len(table) == 90
    assert table.index.is_monotonic_increasing
    single = scenario.model_copy(update={"run": scenario.run.model_copy(update={"date": "12-31"})})
    new_year = simulate(single, south).nights.iloc[0]
    assert table["outdoor_low_c"].iloc[30] == pytest.approx(float(new_year["outdoor_low_c"]), abs=1e-6)


def test_a_run_over_new_year_takes_january_after_december(south: Weather) -> None:
    scenario = load_scenario(default_scenario_path())
    run = scenario.run.model_copy(update={"date": "12-30", "start": "12:00", "days": 4})
    hourly = simulate(scenario.model_copy(update={"run": run}), south).hourly
    temp = south.array("temp_air")
    expected = np.concatenate([temp, temp])[(363 * 24) :][: len(hourly) + 40]
    outdoor = hourly["outdoor_c"].to_numpy()
    first = hourly.index[0].hour
    means = 0.5 * (expected[:-1] + expected[1:])
    assert outdoor == pytest.approx(means[first : first + len(outdoor)], abs=1e-6)


# --- the poles --------------------------------------------------------------------------------------------------------


@pytest.mark.parametrize("site", [ARCTIC, ANTARCTIC], ids=lambda site: site.name)
def test_polar_day_and_polar_night(site: Location, tmp_path: Path) -> None:
    """Months without a sun and months without a night: read, closed, and lit for 24 hours where they should be."""
    weather = year(site, tmp_path, dew_c=-5.0)
    assert weather.closure.verdict == "agrees"
    up = sky(weather).cos_zenith.reshape(365, 24)
    summer, winter = (171, 354) if site.latitude > 0 else (354, 171)
    assert (up[summer] > 0.0).all()
    assert (up[winter] == 0.0).all()
    longwave = weather.array("longwave")
    black = 5.670374e-8 * (weather.array("temp_air") + 273.15) ** 4
    assert (longwave > 0.6 * black).all()
    assert (longwave <= 1.02 * black).all()
    season = describe(weather)["hot_season"]["months"]
    assert season == ([6, 7, 8] if site.latitude > 0 else [12, 1, 2])


def test_a_van_runs_through_a_polar_day(tmp_path: Path) -> None:
    weather = year(ARCTIC, tmp_path, dew_c=-5.0)
    scenario = load_scenario(default_scenario_path())
    run = scenario.run.model_copy(update={"date": "06-20", "days": 3})
    result = simulate(scenario.model_copy(update={"run": run}), weather)
    assert max(abs(gap) for gap in result.balance.values()) < 1e-6
    assert (result.hourly["ghi_w_m2"] > 0.0).all()


# --- the tropics: two hot seasons, and a sun from the north and from the south ----------------------------------------


@pytest.fixture(scope="module")
def tropic(tmp_path_factory: pytest.TempPathFactory) -> Weather:
    """Hot in March and April and, a little less, in October; rains between them."""
    hour = np.arange(1, 8761, dtype=float)
    day = hour / 24.0
    seasons = 4.0 * np.exp(-0.5 * ((day - 95.0) / 25.0) ** 2) + 3.0 * np.exp(-0.5 * ((day - 290.0) / 25.0) ** 2)
    temp = 24.0 + seasons + 6.0 * np.cos(2 * np.pi * (hour - 15.0) / 24.0)
    return year(TROPIC, tmp_path_factory.mktemp("tropic"), temp, dew_c=15.0)


def test_the_hotter_of_two_seasons_is_taken(tropic: Weather) -> None:
    assert hot_season(tropic) == (3, 4, 5)
    cooler_first = moved_months(tropic, 6)
    assert hot_season(cooler_first) == (9, 10, 11)
    hottest = nights(tropic)["mean_c"].idxmax()
    assert hottest.month == 4


def test_the_second_season_can_be_asked_for(tropic: Weather) -> None:
    """A season by name, with its own worst nights."""
    scenario = load_scenario(default_scenario_path())
    second = season_nights(scenario, tropic, season="sep-nov").independent.table
    assert len(second) == 91
    assert second["outdoor_low_c"].max() == pytest.approx(24.0 + 3.0 - 6.0, abs=0.5)


def test_the_sun_changes_sides(tropic: Weather) -> None:
    """At 8 degrees north the noon sun stands in the north in June and in the south in December."""
    s = sky(tropic)
    noon = {month: (31 * (month - 1) + 20) * 24 + 12 for month in (6, 12)}
    north = {m: float((s.weight * s.sun[..., 1])[np.searchsorted(s.hours, h)].sum()) for m, h in noon.items()}
    assert north[6] > 0.1
    assert north[12] < -0.3


# --- 4000 m -----------------------------------------------------------------------------------------------------------


def test_four_thousand_metres(tmp_path: Path) -> None:
    """Thin air: pressure from the file, a lighter cabin, cloud measured by a stronger clear sun, books that close."""
    pressure = pressure_at_altitude_pa(4000.0)
    hour = np.arange(1, 8761, dtype=float)
    temp = 9.0 + 8.0 * np.cos(2 * np.pi * (hour - 15.0) / 24.0)
    high = year(HIGH, tmp_path, temp, dew_c=-6.0, pressure_pa=pressure)
    assert high.mean_pressure_pa == pytest.approx(61640.0, abs=100.0)
    # a sun that is clear at the sea is a third weaker than it could be at 4000 m: that is read as cloud
    low = year(replace(HIGH, altitude=0.0, name="low"), tmp_path, temp, dew_c=-6.0)
    more = (high.array("longwave") - low.array("longwave"))[6000:].mean()
    assert 15.0 < more < 30.0
    scenario = load_scenario(default_scenario_path())
    result = simulate(scenario, high)
    assert max(abs(gap) for gap in result.balance.values()) < 1e-6
    assert result.run.constants.pressure_pa == high.mean_pressure_pa


@pytest.mark.parametrize("place", [SOUTH, ARCTIC, TROPIC, HIGH], ids=lambda site: site.name)
def test_what_is_written_is_read_again(place: Location, tmp_path: Path) -> None:
    """Half-hour zones, the far south, the far north, thin air: through our own writer and back."""
    weather = year(place, tmp_path, dew_c=-8.0)
    path = tmp_path / "again.epw"
    path.write_text(epw_text(weather))
    again = read_weather(path)
    assert again.site.utc_offset == place.utc_offset
    for column, rounding in (("ghi", 0.5), ("dni", 0.5), ("dhi", 0.5), ("temp_air", 0.05), ("pressure", 0.5)):
        assert np.abs(again.array(column) - weather.array(column)).max() <= rounding + 1e-9
