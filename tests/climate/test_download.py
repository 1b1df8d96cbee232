"""Fetching a year: through pvlib, kept on disk, and what is said without a network. No test touches the network."""

from __future__ import annotations

from pathlib import Path

import pandas as pd
import pytest
import requests
from pvlib import iotools

from tests.support.pvgis_files import Service
from vansim.climate import download_weather
from vansim.climate.download import cache_path
from vansim.errors import WeatherError


def test_a_year_is_fetched_once(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    service = Service()
    monkeypatch.setattr(iotools, "get_pvgis_tmy", service)
    first = download_weather(45.0, 8.0, tmp_path)
    second = download_weather(45.001, 8.0, tmp_path)
    assert service.calls == 1
    pd.testing.assert_frame_equal(first.data, second.data)
    assert first.site.utc_offset == 1.0
    assert first.closure.verdict == "agrees"
    assert first.source == str(cache_path(45.0, 8.0, tmp_path))


@pytest.mark.parametrize(
    ("fault", "words"),
    [
        (requests.exceptions.ConnectionError("no route"), "cannot be reached"),
        (requests.exceptions.Timeout("slow"), "cannot be reached"),
        (requests.exceptions.HTTPError("Location over the sea"), "over the sea"),
        (KeyError("outputs"), "something else"),
    ],
)
def test_without_an_answer_a_file_is_asked_for(
    fault: Exception, words: str, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(iotools, "get_pvgis_tmy", Service(fault))
    with pytest.raises(WeatherError, match=words) as caught:
        download_weather(45.0, 8.0, tmp_path)
    assert "file on disk" in str(caught.value)
    assert list(tmp_path.iterdir()) == []


def test_a_damaged_copy_is_named(tmp_path: Path) -> None:
    cache_path(45.0, 8.0, tmp_path).write_text("{")
    with pytest.raises(WeatherError, match="damaged"):
        download_weather(45.0, 8.0, tmp_path)


def test_a_cache_that_cannot_be_written_is_no_fault(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(iotools, "get_pvgis_tmy", Service())
    (tmp_path / "file").write_text("")
    assert len(download_weather(45.0, 8.0, tmp_path / "file" / "folder").data) == 8760


def test_places_off_the_map(tmp_path: Path) -> None:
    with pytest.raises(WeatherError, match="-90 to 90"):
        download_weather(95.0, 8.0, tmp_path)
