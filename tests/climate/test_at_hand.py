"""Weather files in a folder of one's own: told by their heads, by distance, offered where there is no network."""

from __future__ import annotations

import gzip
from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest
import requests
from pvlib import iotools
from typer.testing import CliRunner

from tests.support import synthetic
from tests.support.logged_year import SITE, head, minutes, write
from tests.support.places import DEMO, SHIPPED
from tests.support.pvgis_files import TORRID, Service, write_csv, write_json
from vansim.cli import app
from vansim.climate import Weather, files_at_hand, read_weather
from vansim.climate.at_hand import distance_km


@pytest.fixture
def folder(tmp_path: Path) -> Path:
    """A file of every format, one of them packed, and what is no weather file."""
    (tmp_path / "us").mkdir()
    for name in ("723170TYA.CSV", "12839.tm2", "703165TY.csv"):
        (tmp_path / "us" / name).write_bytes((SHIPPED / name).read_bytes())
    (tmp_path / "desert.epw.gz").write_bytes(gzip.compress((DEMO / "desert.epw").read_bytes()))
    frame = synthetic.pvgis_frame(TORRID, 0.2)
    write_json(tmp_path / "a.json", TORRID, frame)
    write_csv(tmp_path / "b.csv", TORRID, frame)
    write(tmp_path / "log.csv", minutes(SITE, "2023-01-01", 48, 60), head())
    (tmp_path / "notes.txt").write_text("not weather")
    (tmp_path / "empty").write_bytes(b"")
    (tmp_path / "picture.png").write_bytes(bytes(range(256)))
    return tmp_path


def test_the_nearest_comes_first(folder: Path) -> None:
    found = files_at_hand(25.8, -80.3, folder)
    assert [file.path.name for file in found][:2] == ["12839.tm2", "723170TYA.CSV"]
    assert len(found) == 7
    assert [file.distance_km for file in found] == sorted(file.distance_km for file in found)
    assert {file.kind for file in found} == {"EPW", "TMY3", "TMY2", "PVGIS JSON", "PVGIS CSV", "CSV"}
    assert {"MIAMI", "Invented Desert", "roof logger", "SAND POINT"} <= {file.name for file in found}


def test_the_place_is_the_one_that_reading_finds(folder: Path) -> None:
    for file in files_at_hand(0.0, 0.0, folder):
        if file.path.name == "log.csv":
            continue
        site = read_weather(file.path).site
        assert (file.latitude, file.longitude) == pytest.approx((site.latitude, site.longitude), abs=1e-6)


@pytest.mark.published
def test_distance() -> None:
    """A quarter of a meridian on a sphere of 6371 km is 10 007.5 km; across the date line is near."""
    assert distance_km(0.0, 0.0, 90.0, 0.0) == pytest.approx(10007.5, abs=0.1)
    assert distance_km(0.0, 179.5, 0.0, -179.5) == pytest.approx(111.19, abs=0.01)
    assert distance_km(10.0, 20.0, 10.0, 20.0) == 0.0


@pytest.mark.parametrize(("units", "words", "never"), [("si", " km ", " mi "), ("us", " mi ", " km ")])
def test_without_a_network_files_are_offered(
    units: str, words: str, never: str, folder: Path, monkeypatch: pytest.MonkeyPatch, tmp_path: Path
) -> None:
    monkeypatch.setattr(iotools, "get_pvgis_tmy", Service(requests.exceptions.ConnectionError("no route")))
    monkeypatch.setenv("XDG_CACHE_HOME", str(tmp_path / "none"))
    call = ["weather", "--lat", "25.8", "--lon", "-80.3", "--folder", str(folder), "--units", units]
    done = CliRunner().invoke(app, call)
    assert done.exit_code == 2
    said = done.output
    assert "PVGIS cannot be reached" in said
    assert said.index("MIAMI") < said.index("GREENSBORO") < said.index("SAND POINT")
    assert words in said
    assert never not in said


def test_an_own_folder_is_named_by_the_environment(
    desert: Weather, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setenv("VANSIM_WEATHER", str(tmp_path))
    assert files_at_hand(33.0, -113.0) == []
    (tmp_path / "desert.epw").write_bytes((DEMO / "desert.epw").read_bytes())
    (found,) = files_at_hand(33.0, -113.0)
    assert np.isclose(found.distance_km, 0.0)
    assert replace(found, name="x").path.name == "desert.epw"
