"""The frame and the site check themselves; importing is light."""

from __future__ import annotations

import pickle
import subprocess
import sys
from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest

from vansim.climate import Location, Weather, sky
from vansim.errors import WeatherError

ROOT = Path(__file__).parents[2]


def test_site_tells_all_faults() -> None:
    with pytest.raises(WeatherError) as caught:
        Location(latitude=95.0, longitude=200.0, altitude=9000.0, utc_offset=20.0, name="nowhere")
    assert len(caught.value.faults) == 4
    assert "latitude is 95, allowed -90 to 90" in str(caught.value)


@pytest.mark.parametrize(
    ("longitude", "offset"), [(-180.0, 12.0), (180.0, -11.0), (178.0, 13.0), (-172.0, 13.0), (77.2, 5.5)]
)
def test_offsets_in_use_are_allowed(longitude: float, offset: float) -> None:
    assert Location(latitude=0.0, longitude=longitude, altitude=0.0, utc_offset=offset, name="x").tz is not None


def test_frame_with_holes_or_of_another_place_is_refused(desert: Weather) -> None:
    hole = desert.data.copy()
    hole.iloc[5, hole.columns.get_loc("temp_air")] = np.nan
    with pytest.raises(WeatherError, match="holes in temp_air"):
        replace(desert, data=hole)
    with pytest.raises(WeatherError, match="8760 hours of 2001 at UTC-6"):
        replace(desert, site=replace(desert.site, utc_offset=-6.0))
    with pytest.raises(WeatherError, match="no column ghi"):
        replace(desert, data=desert.data.drop(columns="ghi"))


def test_weather_travels_to_other_processes(desert: Weather) -> None:
    copy = pickle.loads(pickle.dumps(desert))
    assert copy.data.equals(desert.data)
    assert np.array_equal(sky(copy).sun, sky(desert).sun)


def test_importing_the_room_does_not_import_pvlib() -> None:
    code = "import sys, vansim.climate; sys.exit(any(m in sys.modules for m in ('pvlib', 'requests', 'matplotlib')))"
    assert subprocess.run([sys.executable, "-c", code], check=False, cwd=ROOT).returncode == 0
