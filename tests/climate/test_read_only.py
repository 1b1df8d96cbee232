"""A year cannot be changed, and what is remembered of it goes by what it holds."""

from __future__ import annotations

import pickle
from collections.abc import Callable
from dataclasses import FrozenInstanceError, replace

import numpy as np
import pandas as pd
import pytest

from vansim.boundary.envelope import irradiance
from vansim.climate import Weather
from vansim.climate.seasons import with_heat_wave
from vansim.climate.weather import COLUMNS


def write_array(weather: Weather) -> None:
    weather.array("temp_air")[0] = 99.0


def unlock_array(weather: Weather) -> None:
    weather.array("temp_air").flags.writeable = True


def unlock_base(weather: Weather) -> None:
    base = weather.array("temp_air").base
    assert isinstance(base, np.ndarray)
    base.flags.writeable = True


def write_column(weather: Weather) -> None:
    weather.data["temp_air"].to_numpy()[0] = 99.0


def write_all(weather: Weather) -> None:
    weather.data.to_numpy()[0, 0] = 99.0


def write_place(weather: Weather) -> None:
    frame = weather.data
    frame.iloc[0, 0] = 99.0


def give_another_frame(weather: Weather) -> None:
    weather.data = pd.DataFrame()  # type: ignore[misc, assignment]


@pytest.mark.parametrize(
    "change", [write_array, unlock_array, unlock_base, write_column, write_all, write_place, give_another_frame]
)
def test_writing_raises(change: Callable[[Weather], None], desert: Weather) -> None:
    with pytest.raises((ValueError, FrozenInstanceError)):
        change(desert)


def test_a_column_set_on_the_frame_does_not_reach_the_year(desert: Weather) -> None:
    before = desert.data
    frame = desert.data
    frame["temp_air"] = 0.0
    del frame["ghi"]
    assert desert.data.equals(before)
    assert desert.array("temp_air").tolist() == before["temp_air"].tolist()


def test_the_frame_that_was_given_is_not_held(desert: Weather) -> None:
    given = desert.data.copy()
    year = replace(desert, data=given)
    given["temp_air"] += 40.0
    assert year == desert


def test_a_copy_in_another_process_is_still_closed(desert: Weather) -> None:
    copy = pickle.loads(pickle.dumps(desert))
    assert copy == desert
    with pytest.raises(ValueError, match="read-only"):
        write_array(copy)


def test_equal_is_what_holds_the_same_numbers_in_the_same_place(desert: Weather) -> None:
    assert replace(desert, source="elsewhere.epw", notes=(), data=desert.data.copy()) == desert
    assert hash(replace(desert, source="elsewhere.epw")) == hash(desert)
    for column in COLUMNS:
        nudged = replace(desert, data=desert.data.assign(**{column: desert.data[column] * (1.0 + 1e-15) + 1e-12}))
        assert nudged != desert
    for change in ({"latitude": 33.01}, {"longitude": -113.01}, {"altitude": 351.0}):
        assert replace(desert, site=replace(desert.site, **change)) != desert
    assert replace(desert, site=replace(desert.site, name="by another name")) == desert


def test_sun_on_a_plane_is_computed_once_for_what_a_year_holds(desert: Weather) -> None:
    once = irradiance(desert, 90.0, 90.0, 0.2, "glass")
    assert irradiance(replace(desert, data=desert.data.copy()), 90.0, 90.0, 0.2, "glass") is once
    assert irradiance(replace(desert, data=desert.data.assign(dhi=0.0)), 90.0, 90.0, 0.2, "glass") is not once


def test_two_heat_waves_alike_are_one_year(desert: Weather) -> None:
    """Made anew each time, equal all the same; each keeps where it came from."""
    one, two = with_heat_wave(desert, 3.0), with_heat_wave(replace(desert, source="elsewhere.epw"), 3.0)
    assert one == two != desert
    assert two.source == "elsewhere.epw"


def test_mean_pressure_is_one_value(desert: Weather) -> None:
    assert desert.mean_pressure_pa == pytest.approx(desert.data["pressure"].mean(), rel=1e-12)
