"""What is read is bounded, and what is written is whole: all old files or all new ones, wherever it breaks."""

from __future__ import annotations

import errno
import os
import signal
import socket
import subprocess
import sys
import time
from pathlib import Path

import pytest

from vansim import output_files
from vansim.climate import read_weather
from vansim.errors import ScenarioError, WeatherError
from vansim.input_files import LARGEST_BYTES, read_file
from vansim.output_files import write_together
from vansim.scenario.files import load_scenario

OLD = {"one.csv": b"old one", "two.json": b"old two"}
NEW = {"one.csv": b"new one", "two.json": b"new two", "three.png": b"new three"}
ROOT = Path(__file__).parents[2]


# --- reading ----------------------------------------------------------------------------------------------------------


@pytest.fixture(params=["pipe", "socket", "device", "folder", "large"])
def no_file(request: pytest.FixtureRequest, tmp_path: Path) -> tuple[Path, str]:
    """Something that is no readable file, and the word that tells."""
    path = tmp_path / "named.toml"
    if request.param == "pipe":
        os.mkfifo(path)
        return path, "a pipe"
    if request.param == "socket":
        with socket.socket(socket.AF_UNIX) as one:
            os.chdir(tmp_path)
            one.bind(path.name)
        os.chdir(ROOT)
        return path, "No such device"  # the system's own words: a socket cannot be opened
    if request.param == "device":
        return Path("/dev/zero"), "a device"
    if request.param == "folder":
        path.mkdir()
        return path, "a folder"
    with path.open("wb") as file:
        file.truncate(LARGEST_BYTES + 1)
    return path, "larger than 64 MB"


def test_what_is_no_file_is_refused_at_once(no_file: tuple[Path, str]) -> None:
    path, word = no_file
    began = time.process_time()
    with pytest.raises(OSError, match=word):
        read_file(path)
    with pytest.raises(ScenarioError, match=f"{word}|a folder, not a file"):
        load_scenario(path)
    with pytest.raises(WeatherError, match=f"{word}|Is a directory"):
        read_weather(path)
    assert time.process_time() - began < 20.0  # not the minutes that a device without end takes


def test_a_scenario_named_by_a_word_of_300_letters() -> None:
    with pytest.raises(ScenarioError, match="name too long"):
        load_scenario("a" * 300 + ".toml")


# --- writing ----------------------------------------------------------------------------------------------------------


def state(folder: Path) -> dict[str, bytes]:
    return {path.name: path.read_bytes() for path in folder.iterdir() if path.is_file()}


def no_litter(parent: Path) -> bool:
    return not [path for path in parent.rglob("*") if "writing" in path.name]


@pytest.fixture(params=["exchanged", "with a folder in it", "working folder"])
def full(request: pytest.FixtureRequest, tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """A folder that holds the old files and one of somebody else's, in each of the ways that it is written to."""
    folder = tmp_path / "out"
    write_together(folder, OLD)
    (folder / "mine.txt").write_bytes(b"mine")
    if request.param == "with a folder in it":
        (folder / "photographs").mkdir()
        (folder / "photographs" / "van.jpg").write_bytes(b"van")
    if request.param == "working folder":
        monkeypatch.chdir(folder)
    return folder


def test_all_new_and_what_was_there_stays(full: Path) -> None:
    mode = full.stat().st_mode
    assert write_together(full, NEW) == [full / name for name in NEW]
    assert state(full) == {**NEW, "mine.txt": b"mine"}
    assert full.stat().st_mode == mode
    assert no_litter(full.parent)
    for photograph in full.rglob("van.jpg"):
        assert photograph.read_bytes() == b"van"


def test_one_error_leaves_all_old_or_all_new(full: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """The disk fails at the n-th call of a kind, for every n until none is left to break."""
    before = state(full)
    for call in ("fsync", "rename"):
        for n in range(20):
            count = [0]
            real = getattr(os, call)

            def broken(*args: object, real=real, count=count, n=n, **named: object) -> object:
                count[0] += 1
                if count[0] == n + 1:
                    raise OSError(errno.EIO, "Input/output error")
                return real(*args, **named)

            with monkeypatch.context() as patch:
                patch.setattr(output_files.os, call, broken)
                try:
                    write_together(full, NEW)
                    assert state(full) == {**NEW, "mine.txt": b"mine"}
                except OSError:
                    assert state(full) == before
            assert no_litter(full.parent)
            for name in NEW:
                (full / name).unlink(missing_ok=True)
            for name, content in before.items():
                (full / name).write_bytes(content)
            if count[0] <= n:
                break


def test_a_folder_in_the_way_changes_nothing(full: Path) -> None:
    (full / "three.png").mkdir()
    before = state(full)
    with pytest.raises(OSError, match=r"three\.png is a folder"):
        write_together(full, NEW)
    assert state(full) == before
    assert no_litter(full.parent)


KILLED = """
import os, signal, sys
from pathlib import Path
from vansim import output_files
calls, at = [0], int(sys.argv[2])
def dying(real):
    def call(*args, **named):
        calls[0] += 1
        if calls[0] == at:
            os.kill(os.getpid(), signal.SIGKILL)
        return real(*args, **named)
    return call
for name in ("fsync", "link", "rename"):
    setattr(os, name, dying(getattr(os, name)))
output_files._exchange = dying(output_files._exchange)
files = {"one.csv": b"new one", "two.json": b"new two", "three.png": b"new three"}
output_files.write_together(Path(sys.argv[1]), files)
"""


@pytest.mark.parametrize("there", [False, True], ids=["new folder", "folder of files"])
def test_a_kill_at_any_point_leaves_all_old_or_all_new(there: bool, tmp_path: Path) -> None:
    """The process is killed before its n-th write, link, rename or exchange, for every n until it lives."""
    folder = tmp_path / "out"
    for at in range(1, 30):
        if there:
            write_together(folder, OLD)
        done = subprocess.run([sys.executable, "-c", KILLED, str(folder), str(at)], cwd=ROOT, check=False)
        if done.returncode == 0:
            break
        assert done.returncode == -signal.SIGKILL
        if there:
            assert state(folder) in (OLD, NEW)
        else:
            assert not folder.exists() or state(folder) == NEW
    assert at > 3
    assert state(folder) == NEW
