"""The two invented climates: repeatable, as hot as they say, and read back as they were drawn."""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pytest

from tests.support.places import DEMO
from vansim.climate import Weather, describe
from vansim.climate.invented import RECIPES, invented_weather, main, persistent


def test_regeneration_gives_the_same_bytes(tmp_path: Path) -> None:
    main(str(tmp_path))
    for name in RECIPES:
        assert (tmp_path / f"{name}.epw").read_bytes() == (DEMO / f"{name}.epw").read_bytes()


@pytest.mark.parametrize("name", list(RECIPES))
def test_file_says_that_it_is_invented(name: str, request: pytest.FixtureRequest) -> None:
    head = (DEMO / f"{name}.epw").read_text().splitlines()[:8]
    assert "Invented" in head[0]
    assert "INVENTED" in head[5]
    assert any("INVENTED" in str(note.values.get("text")) for note in request.getfixturevalue(name).notes)


@pytest.mark.parametrize("name", list(RECIPES))
def test_written_and_read_back(name: str, request: pytest.FixtureRequest) -> None:
    """Only the rounding of the format is lost: 0.05 degC, 0.5 W/m2, 0.5 Pa, 0.05 m/s, half a tenth of cloud.

    Longwave is computed again from rounded air, dew point and sun: 1 W/m2.
    """
    drawn, read = invented_weather(name), request.getfixturevalue(name)
    rounding = {
        "temp_air": 0.05,
        "temp_dew": 0.05,
        "pressure": 0.5,
        "wind_speed": 0.05,
        "sky_cover": 0.05,
        "albedo": 5e-4,
        "longwave": 1.0,
    }
    for column in drawn.data:
        apart = np.abs(drawn.data[column].to_numpy() - read.data[column].to_numpy())
        assert apart.max() <= rounding.get(str(column), 0.5) + 1e-9


def test_desert_is_hot_and_dry(desert: Weather) -> None:
    season = describe(desert)["hot_season"]
    summer = desert.data[desert.data.index.month.isin([6, 7, 8])]["temp_air"].to_numpy().reshape(-1, 24)
    assert 26.0 < season["night_min_mean_c"] < 30.0
    assert 40.0 < summer.max(axis=1).mean() < 44.0
    assert season["dew_mean_c"] < 12.0


def test_coast_is_warm_and_humid(coast: Weather) -> None:
    season = describe(coast)["hot_season"]
    assert 25.0 < season["night_min_mean_c"] < 27.0
    assert 23.0 < season["dew_mean_c"] < 25.0
    assert coast.data["temp_dew"].max() < 29.0


def test_spells_last(coast: Weather) -> None:
    """Daily means of summer keep half of yesterday's anomaly or more: hot nights come in rows."""
    daily = coast.data["temp_air"].to_numpy().reshape(365, 24).mean(axis=1)[150:245]
    anomaly = daily - daily.mean()
    assert 0.5 < np.corrcoef(anomaly[1:], anomaly[:-1])[0, 1] < 0.95


def test_persistence_has_unit_variance_and_its_memory() -> None:
    series = persistent(np.random.default_rng(0), 20000, 0.7)
    assert series.std() == pytest.approx(1.0, abs=0.03)
    assert np.corrcoef(series[1:], series[:-1])[0, 1] == pytest.approx(0.7, abs=0.02)
