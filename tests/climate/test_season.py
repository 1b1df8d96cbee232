"""Hot season, nights and design temperatures."""

from __future__ import annotations

import datetime as dt
from dataclasses import replace
from pathlib import Path

import numpy as np
import pandas as pd
import pytest

from tests.support import synthetic
from tests.support.sky import total_w_m2
from vansim.climate import Location, Weather, describe, face_irradiance, read_weather, sky
from vansim.climate.describe import design_conditions, hot_season, nights


@pytest.fixture(scope="module")
def southern(tmp_path_factory: pytest.TempPathFactory) -> Weather:
    site = Location(latitude=-34.9, longitude=138.6, altitude=50.0, utc_offset=9.5, name="southern")
    true = synthetic.hour_means(site)
    temp = synthetic.temperature(site, np.arange(1, 8761) - site.utc_offset)
    path: Path = tmp_path_factory.mktemp("south") / "south.epw"
    path.write_text(synthetic.epw_text(site, *(true[c].to_numpy() for c in ("ghi", "dni", "dhi")), temp))
    return read_weather(path)


def with_temperature(weather: Weather, temp: np.ndarray) -> Weather:
    return replace(weather, data=weather.data.assign(temp_air=temp))


def test_hot_season_runs_over_new_year_in_the_south(southern: Weather) -> None:
    """Warmest on day 17 of the year (half a year from day 200): December to February."""
    assert hot_season(southern) == (12, 1, 2)
    found = describe(southern)
    assert found["hot_season"]["months"] == [12, 1, 2]
    assert {d.month for d in found["hottest_nights"].index} <= {12, 1, 2}
    assert len(found["months"]) == 12


def test_walls_in_the_south_are_sunlit_from_the_north(southern: Weather) -> None:
    june = southern.data.index.month == 6
    north, south = (total_w_m2(face_irradiance(sky(southern), 90, a, 0.2))[june].sum() for a in (0, 180))
    assert north > 3.0 * south


@pytest.mark.parametrize("name", ["greensboro", "miami", "desert"])
def test_hot_season_in_the_north(name: str, request: pytest.FixtureRequest) -> None:
    assert hot_season(request.getfixturevalue(name)) == (6, 7, 8)


def test_night_carries_the_date_of_its_evening(desert: Weather) -> None:
    temp = np.full(8760, 20.0)
    evening = (31 + 28 + 9) * 24 + 21  # 10 March, 21:00
    temp[evening : evening + 11] = 30.0
    table = nights(with_temperature(desert, temp))
    assert table.loc[dt.date(2001, 3, 10), ["mean_c", "min_c", "evening_c"]].tolist() == [30.0, 30.0, 30.0]
    assert (table.drop(index=dt.date(2001, 3, 10))["mean_c"] == 20.0).all()


def test_night_mean_takes_temperature_as_straight_between_edges(desert: Weather) -> None:
    ramp = np.arange(8760) % 8760 * 0.001
    table = nights(with_temperature(desert, ramp))
    assert table["mean_c"].iloc[3] == pytest.approx(0.001 * (3 * 24 + 26.0))
    assert len(table) == 365


def test_last_night_runs_into_the_first_morning(desert: Weather) -> None:
    temp = np.full(8760, 20.0)
    temp[:8] = 10.0
    assert nights(with_temperature(desert, temp))["min_c"].iloc[-1] == 10.0


def test_design_temperatures_are_exceeded_as_often_as_said(desert: Weather) -> None:
    """ASHRAE Fundamentals 2017 ch. 14: 0.4 % of 8760 h is 35 h, 1 % 88 h, 2 % 175 h; a file in tenths has ties."""
    temp = desert.data["temp_air"]
    for share, row in design_conditions(desert).iterrows():
        hours = 8760 * float(str(share))
        assert (temp > row["temp_c"]).sum() <= hours <= (temp >= row["temp_c"] - 1e-9).sum() + 1


def test_coincident_dew_point(desert: Weather) -> None:
    data = desert.data.assign(temp_dew=desert.data["temp_air"] - 20.0)
    table = design_conditions(replace(desert, data=data))
    assert (table["temp_c"] - table["coincident_dew_c"]).to_numpy() == pytest.approx(20.0, abs=0.5)


def test_months_add_up(desert: Weather) -> None:
    found = describe(desert)
    months: pd.DataFrame = found["months"]
    days = np.array([31, 28, 31, 30, 31, 30, 31, 31, 30, 31, 30, 31])
    assert (months["sun_kwh_m2_day"] * days).sum() == pytest.approx(desert.data["ghi"].sum() / 1000.0)
    excess = np.maximum(desert.data["temp_air"].to_numpy() - 24.0, 0.0).sum()
    assert months["degree_hours_above_24_k_h"].sum() == pytest.approx(excess)
    season = found["hot_season"]
    assert season["degree_hours_above_24_k_h"] == pytest.approx(
        months.loc[season["months"], "degree_hours_above_24_k_h"].sum()
    )


def test_typical_nights_are_near_the_middle_and_hottest_at_the_end(desert: Weather) -> None:
    found = describe(desert)
    table = nights(desert)
    season = table[[d.month in (6, 7, 8) for d in table.index]]
    assert found["hottest_nights"]["mean_c"].iloc[0] == season["mean_c"].max()
    assert found["hottest_nights"]["mean_c"].is_monotonic_decreasing
    assert (found["typical_nights"]["mean_c"] - season["mean_c"].median()).abs().max() < season["mean_c"].std()


def test_place_and_closure_are_told(miami: Weather) -> None:
    found = describe(miami)
    assert found["place"]["kind"] == "TMY2"
    assert found["closure"]["verdict"] == "agrees"
    assert {-120.0, -30.0, -10.0, 0.0, 10.0, 30.0, 120.0} <= set(found["closure"]["rms_w_m2_by_shift_min"])
    assert found["closure"]["moved_min"] == 0.0
    assert found["notes"]
