"""PVGIS years: universal time, instants after the label, any offset; and the export that is an hour off."""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pandas as pd
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from tests.support import synthetic
from tests.support.pvgis_files import OFFSET_H, TORRID, write_csv, write_json
from vansim.climate import Location, read_weather
from vansim.climate.hours import utc_instants_to_local_hours
from vansim.climate.pvgis import standard_offset_h
from vansim.errors import WeatherError


@pytest.fixture(scope="module")
def frame() -> pd.DataFrame:
    return synthetic.pvgis_frame(TORRID, OFFSET_H)


def test_half_hour_zone_against_the_minutes(frame: pd.DataFrame, tmp_path: Path) -> None:
    """Hour means of a sky known at every moment. Residuals: GHI 1.4, DHI 0.02, DNI 8.8 W/m2 rms; yearly sums 0.2 %.

    DNI is worst in the hour of sunrise and sunset, where one sample a file cannot tell how fast the beam rises.
    Temperature between samples is linear: 0.06 K.
    """
    weather = read_weather(write_json(tmp_path / "x.json", TORRID, frame), utc_offset=5.5)
    true = synthetic.hour_means(TORRID)
    for column, rms in (("ghi", 1.5), ("dhi", 0.1), ("dni", 10.0)):
        found, wanted = weather.data[column].to_numpy(), true[column].to_numpy()
        assert np.sqrt(np.mean((found - wanted) ** 2)) < rms
        assert found.sum() == pytest.approx(wanted.sum(), rel=2e-3)
    local = synthetic.temperature(TORRID, np.arange(8760) - 5.5)
    assert weather.data["temp_air"].iloc[24:-24].to_numpy() == pytest.approx(local[24:-24], abs=0.06)
    assert weather.data.index[0].utcoffset() == pd.Timedelta("5.5h")


def test_json_and_csv_give_the_same_year(frame: pd.DataFrame, tmp_path: Path) -> None:
    a = read_weather(write_json(tmp_path / "a.txt", TORRID, frame), utc_offset=5.5)
    b = read_weather(write_csv(tmp_path / "b.txt", TORRID, frame), utc_offset=5.5)
    assert (a.kind, b.kind) == ("PVGIS JSON", "PVGIS CSV")
    np.testing.assert_allclose(a.data.to_numpy(), b.data.to_numpy(), atol=1e-9)
    assert a.closure.verdict == "agrees"


def test_offset_comes_from_the_longitude_and_is_said(frame: pd.DataFrame, tmp_path: Path) -> None:
    weather = read_weather(write_json(tmp_path / "x.json", TORRID, frame))
    assert weather.site.utc_offset == 5.0
    assert any(note.code == "offset-from-longitude" for note in weather.notes)
    assert standard_offset_h(-80.2) == -5.0


def test_dew_point_and_longwave(frame: pd.DataFrame, tmp_path: Path) -> None:
    """PVGIS has humidity but no dew point; its longwave is IR(h). 25 degC and 50 % is 13.9 degC (ASHRAE chart)."""
    flat = frame.assign(T2m=25.0, RH=50.0)
    weather = read_weather(write_json(tmp_path / "x.json", TORRID, flat), utc_offset=5.5)
    assert weather.data["temp_dew"].to_numpy() == pytest.approx(13.86, abs=0.03)
    measured = read_weather(write_json(tmp_path / "x.json", TORRID, flat), utc_offset=5.5, sky="measured")
    assert measured.data["longwave"].to_numpy() == pytest.approx(350.0)


def test_an_offset_that_the_file_leaves_out_is_found(frame: pd.DataFrame, tmp_path: Path) -> None:
    """Fluxes 50 min after a label that says 0: the sun tells, and the year is the one that says 50."""
    late = synthetic.pvgis_frame(TORRID, 50 / 60)
    silent = read_weather(write_json(tmp_path / "a.json", TORRID, late, offset_h=0.0), utc_offset=5.5)
    honest = read_weather(write_json(tmp_path / "b.json", TORRID, late, offset_h=50 / 60), utc_offset=5.5)
    assert (silent.closure.moved_min, honest.closure.moved_min) == (50.0, 0.0)
    np.testing.assert_allclose(silent.data["dni"], honest.data["dni"], atol=1e-6)


def test_universal_time_under_a_local_offset_is_brought_to_its_sun(tmp_path: Path) -> None:
    """The service's EPW export: row 1 holds the sample of 00:00 UTC although the header says UTC+1.

    Temperatures stand right (row 1 is 01:00 local, the end of its hour); the sun stands 40 min late.
    """
    site = Location(latitude=45.0, longitude=8.0, altitude=250.0, utc_offset=1.0, name="x")
    raw = synthetic.pvgis_frame(site, OFFSET_H)
    path = tmp_path / "export.epw"
    path.write_text(
        synthetic.epw_text(
            site, *(raw[c].to_numpy() for c in ("G(h)", "Gb(n)", "Gd(h)")), raw["T2m"].to_numpy(), dew_c=-5.0
        )
    )
    found, true = read_weather(path), synthetic.hour_means(site)
    (note,) = (note for note in found.notes if note.code == "labels-moved")
    assert note.values == {"shift_min": 40.0, "whole": False}
    for column, rms in (("ghi", 6.0), ("dni", 25.0)):
        assert np.sqrt(np.mean((found.array(column) - true[column].to_numpy()) ** 2)) < rms
        assert found.array(column).sum() == pytest.approx(true[column].sum(), rel=0.01)


@pytest.mark.parametrize("cut", [100, 4000, 200_000])
def test_cut_files_are_refused(cut: int, frame: pd.DataFrame, tmp_path: Path) -> None:
    for path in (write_json(tmp_path / "a", TORRID, frame), write_csv(tmp_path / "b", TORRID, frame)):
        path.write_bytes(path.read_bytes()[:cut])
        with pytest.raises(WeatherError, match="cut short"):
            read_weather(path)


def test_row_numbers_of_the_csv(frame: pd.DataFrame, tmp_path: Path) -> None:
    spoilt = frame.copy()
    spoilt.loc[10, "T2m"] = 75.0
    path = write_csv(tmp_path / "x.csv", TORRID, spoilt)
    row = next(n for n, line in enumerate(path.read_text().splitlines(), 1) if line.split(",")[1:2] == ["75.0"])
    (note,) = (note for note in read_weather(path).notes if note.code == "hours-mended")
    assert note.values["where"] == f"row {row}"


@settings(deadline=None, max_examples=12)
@given(st.integers(-11, 13))
def test_whole_hours_move_instants_exactly(offset: int) -> None:
    site = Location(
        latitude=20.0, longitude=15.0 * offset if offset < 12 else 180.0, altitude=0.0, utc_offset=offset, name="x"
    )
    data = pd.DataFrame(
        {
            "temp_air": np.random.default_rng(1).normal(size=8760),
            "ghi": np.zeros(8760),
            "dni": np.zeros(8760),
            "dhi": np.zeros(8760),
        }
    )
    moved = utc_instants_to_local_hours(data, site, 0.0)
    np.testing.assert_allclose(moved["temp_air"], np.roll(data["temp_air"], offset), atol=1e-9)
    assert (moved["ghi"] == 0.0).all()
