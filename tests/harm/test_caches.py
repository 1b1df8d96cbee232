"""Damaged, planted, foreign or impossible cache folders: the program starts, and says the same number."""

from __future__ import annotations

import os
import shutil
import subprocess
import sys
from collections.abc import Callable
from pathlib import Path

import numba
import pytest

from vansim import cache_folder

ROOT = Path(__file__).parents[2]
PASCAL = 3169.2
"""Saturation pressure at 25 °C [Pa] (IAPWS-IF97)."""
CODE = "from vansim.psychrometrics import saturation_pressure_pa as p; print(repr(p(25.0)))"
NOBODY = """
import os, pwd
def unknown(uid):
    raise KeyError(uid)
pwd.getpwuid = unknown
"""
"""A user whom the system does not know, as in a container; without HOME there is no home then."""

pytestmark = pytest.mark.skipif(bool(numba.config.DISABLE_JIT), reason="nothing is kept while compiling is off")


def start(code: str = CODE, less: tuple[str, ...] = (), **environment: str) -> str:
    """Run a program of its own; its words on the error output. The number that it prints is right."""
    surroundings = {k: v for k, v in os.environ.items() if k not in less and k != "VANSIM_CACHE"} | environment
    done = subprocess.run(
        [sys.executable, "-W", "error", "-c", code],
        env=surroundings,
        cwd=ROOT,
        capture_output=True,
        text=True,
        timeout=120,
        check=False,
    )
    assert done.returncode == 0, done.stderr
    assert float(done.stdout) == pytest.approx(PASCAL, rel=1e-3)
    return done.stderr


def flipped(content: bytes) -> bytes:
    middle = len(content) // 2
    return content[:middle] + bytes([content[middle] ^ 1]) + content[middle + 1 :]


@pytest.fixture(scope="module")
def once(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A cache folder as a first start leaves it."""
    folder = tmp_path_factory.mktemp("once")
    assert start(VANSIM_CACHE=str(folder)) == ""
    return folder


@pytest.fixture
def filled(once: Path, tmp_path: Path) -> Path:
    """A copy of it to be damaged."""
    return shutil.copytree(once, tmp_path / "cache")


@pytest.mark.parametrize(
    "damage",
    [lambda content: b"", lambda content: content[: len(content) // 2], flipped],
    ids=["emptied", "cut", "one-bit"],
)
def test_damaged_code_is_compiled_anew_and_written_over(damage: Callable[[bytes], bytes], filled: Path) -> None:
    kept = {path: path.read_bytes() for path in filled.rglob("*.code")}
    assert kept
    for path, content in kept.items():
        path.write_bytes(damage(content))
    assert start(VANSIM_CACHE=str(filled)) == ""
    for path in kept:
        assert cache_folder.read_kept(path) is not None, "healed"


def test_a_pipe_in_the_place_of_code_does_not_hang(filled: Path) -> None:
    for path in filled.rglob("*.code"):
        path.unlink()
        os.mkfifo(path)
    start(VANSIM_CACHE=str(filled))


def test_whole_code_that_is_something_else_is_not_run(filled: Path) -> None:
    """A pickle with a right digest, as of another version of a library: compiled anew."""
    for path in filled.rglob("*.code"):
        assert cache_folder.write_kept(path, b"\x80\x04]\x94.")  # an empty list
    assert start(VANSIM_CACHE=str(filled)) == ""


def test_the_folder_is_the_users_alone(filled: Path) -> None:
    for folder in [filled / "vansim", *(filled / "vansim").rglob("*/")]:
        assert folder.stat().st_mode & 0o077 == 0


def test_a_folder_that_others_can_write_to_is_not_read(filled: Path) -> None:
    (filled / "vansim" / "compiled").chmod(0o770)
    before = {path: path.read_bytes() for path in filled.rglob("*.code")}
    said = start(VANSIM_CACHE=str(filled))
    assert "others can write to it" in said
    assert len(said.splitlines()) == 1
    assert {path: path.read_bytes() for path in filled.rglob("*.code")} == before


def test_no_home_and_a_user_whom_nobody_knows() -> None:
    said = start(NOBODY + CODE, less=("HOME", "XDG_CACHE_HOME"))
    assert said == "vansim: no home folder: nothing is kept for the next start\n"


@pytest.mark.skipif(not hasattr(os, "geteuid"), reason="no owners here")
def test_a_folder_of_another_user_is_not_read(tmp_path: Path) -> None:
    other = "import os; real = os.geteuid(); os.geteuid = lambda: real + 1\n"
    said = start(other + CODE, VANSIM_CACHE=str(tmp_path))
    assert "belongs to another user" in said
    assert not list(tmp_path.rglob("*.code"))


def test_something_in_the_way(tmp_path: Path) -> None:
    """A file where the folder should be."""
    blocked = tmp_path / "file"
    blocked.write_text("in the way")
    assert "nothing is kept" in start(VANSIM_CACHE=str(blocked))
    assert blocked.read_text() == "in the way"
    assert "nothing is kept" in start(VANSIM_CACHE="/proc/nowhere")


def test_a_full_disk(tmp_path: Path) -> None:
    """No file may grow beyond a kilobyte: everything is worked out in memory, and said once."""
    limit = "import resource; resource.setrlimit(resource.RLIMIT_FSIZE, (1000, 1000))\n"
    said = start(limit + CODE, VANSIM_CACHE=str(tmp_path))
    assert len(said.splitlines()) == 1
    assert "nothing is kept for the next start" in said
    assert not [path for path in tmp_path.rglob("*") if path.is_file()]
