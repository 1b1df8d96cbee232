"""What is kept on disk to start sooner: never stale, never half, never needed."""

from __future__ import annotations

import os
import shutil
from concurrent.futures import ThreadPoolExecutor
from pathlib import Path

import numba
import numpy as np
import pytest

from vansim import disk_cache as room
from vansim.climate import Weather, readers
from vansim.climate.packing import packed, unpacked
from vansim.disk_cache import cached
from vansim.errors import WeatherError
from vansim.scenario.parts import library
from vansim.van import cooler
from vansim.van.cooler_map import solve_map

DESERT = Path(__file__).parents[2] / "data_demo" / "climates" / "desert.epw"

pytestmark = pytest.mark.skipif(bool(numba.config.DISABLE_JIT), reason="nothing is kept while compiling is off")


class Maker:
    """Makes the same arrays each time, and counts."""

    def __init__(self) -> None:
        self.made = 0

    def __call__(self) -> dict[str, np.ndarray]:
        self.made += 1
        return {"grid": np.arange(12.0).reshape(3, 4), "about": np.array('{"name": "é"}')}


@pytest.fixture
def make() -> Maker:
    return Maker()


@pytest.fixture
def folder(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    monkeypatch.setenv("VANSIM_CACHE", str(tmp_path))
    return room.cached_folder()


def same(found: room.Arrays) -> bool:
    want = Maker()()
    return found.keys() == want.keys() and all(np.array_equal(found[name], want[name]) for name in want)


def test_made_once_then_taken_from_disk(folder: Path, make: Maker) -> None:
    assert same(cached("thing", b"1", make))
    assert same(cached("thing", b"1", make))
    assert make.made == 1
    assert [path.name.split("-")[0] for path in folder.iterdir()] == ["thing"]


def test_other_inputs_or_another_kind_are_made_anew(folder: Path, make: Maker) -> None:
    for what, inputs in (("thing", b"1"), ("thing", b"2"), ("other", b"1")):
        cached(what, inputs, make)
    assert make.made == 3
    assert len(list(folder.iterdir())) == 3


@pytest.mark.parametrize("edited", ["climate/labels.py", "data/refrigerants.toml", "kept.py"])
def test_an_edit_of_any_source_or_table_makes_it_anew(
    edited: str, folder: Path, make: Maker, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    copy = tmp_path / "copy"
    shutil.copytree(room.PACKAGE, copy, ignore=shutil.ignore_patterns("__pycache__"))
    monkeypatch.setattr(room, "PACKAGE", copy)
    try:
        for _ in range(2):
            room.sources.cache_clear()
            cached("thing", b"1", make)
        assert make.made == 1
        with (copy / edited).open("a") as file:
            file.write("\n# edited\n")
        room.sources.cache_clear()
        cached("thing", b"1", make)
        assert make.made == 2
    finally:
        monkeypatch.undo()
        room.sources.cache_clear()


@pytest.mark.parametrize("damage", ["empty", "cut", "flipped", "junk", "folder"])
def test_a_damaged_file_is_made_anew(damage: str, folder: Path, make: Maker) -> None:
    cached("thing", b"1", make)
    (path,) = folder.iterdir()
    content = path.read_bytes()
    flipped = bytearray(content)
    flipped[len(content) // 2] ^= 1
    if damage == "folder":
        path.unlink()
        path.mkdir()
    else:
        spoilt = {"empty": b"", "cut": content[:-20], "flipped": bytes(flipped), "junk": b"words\n" * 40}
        path.write_bytes(spoilt[damage])
    assert same(cached("thing", b"1", make))
    assert make.made == 2
    if damage != "folder":
        assert same(cached("thing", b"1", make))
        assert make.made == 2  # mended


@pytest.mark.parametrize("where", ["file", "/proc/nowhere"])
def test_nothing_can_be_written(where: str, make: Maker, tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    (tmp_path / "file").write_text("in the way")
    monkeypatch.setenv("VANSIM_CACHE", str(tmp_path / where))
    assert same(cached("thing", b"1", make))
    assert (tmp_path / "file").read_text() == "in the way"


def test_what_cannot_be_made_leaves_nothing(folder: Path) -> None:
    def fails() -> room.Arrays:
        raise WeatherError("no")

    with pytest.raises(WeatherError):
        cached("thing", b"1", fails)
    assert not list(folder.iterdir())


def test_many_writers_at_once_leave_one_whole_file(folder: Path, make: Maker) -> None:
    with ThreadPoolExecutor(8) as pool:
        assert all(pool.map(lambda _: same(cached("thing", b"1", make)), range(40)))
    assert len(list(folder.iterdir())) == 1


def test_the_oldest_of_a_kind_go(folder: Path, make: Maker, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(room, "MOST_OF_OTHERS", 3)
    cached("other", b"1", make)
    os.utime(next(folder.iterdir()), (0.5, 0.5))
    for age, inputs in enumerate([b"1", b"2", b"3", b"4"]):
        cached("thing", inputs, make)
        for path in folder.iterdir():
            if path.stat().st_mtime > 1e6:  # just written
                os.utime(path, (age + 1.0, age + 1.0))
    assert sorted(path.stat().st_mtime for path in folder.iterdir()) == [0.5, 2.0, 3.0, 4.0]


# --- what is kept -----------------------------------------------------------------------------------------------------


def equal(one: Weather, other: Weather) -> None:
    assert one.data.equals(other.data)
    assert one.data.index.equals(other.data.index)
    assert list(one.data.columns) == list(other.data.columns)
    assert (one.site, one.kind, one.closure, one.notes) == (other.site, other.kind, other.closure, other.notes)


@pytest.mark.parametrize("year", ["desert_year", "miami_year"])
def test_a_year_comes_back_to_the_last_bit(year: str, request: pytest.FixtureRequest) -> None:
    weather = request.getfixturevalue(year)
    again = unpacked(packed(weather), "elsewhere.epw")
    equal(again, weather)
    assert again.source == "elsewhere.epw"


def test_a_year_is_parsed_once(folder: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    first = readers.read_weather(DESERT)

    def twice(path: Path) -> None:
        pytest.fail("parsed again")

    monkeypatch.setattr(readers, "_epw", twice)
    copy = tmp_path / "same content.epw"
    copy.write_bytes(DESERT.read_bytes())
    again = readers.read_weather(copy)
    equal(again, first)
    assert again.source == str(copy)


def test_an_edited_year_is_read_and_checked_again(folder: Path, tmp_path: Path) -> None:
    path = tmp_path / "year.epw"
    path.write_bytes(DESERT.read_bytes())
    readers.read_weather(path)
    text = DESERT.read_text()
    path.write_text(text[: len(text) // 2])
    for _ in range(2):  # a fault is not kept either
        with pytest.raises(WeatherError, match="Is the file cut short"):
            readers.read_weather(path)


def test_a_coolers_map_from_disk_is_the_solved_one(folder: Path) -> None:
    part = library().parts["coolers"]["roof-12v-2600w"]
    solved = solve_map(cooler.cooler_parameters(part), 90000.0)
    for _ in range(2):
        cooler._map.cache_clear()
        found = cooler.cooler_map(part, 90000.0)
        for name, values in solved._asdict().items():
            assert np.array_equal(getattr(found, name), values, equal_nan=True), name
    assert len(list(folder.iterdir())) == 1
