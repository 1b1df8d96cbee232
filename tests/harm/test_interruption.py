"""Ctrl-C at any moment: one line, exit code 130, no traceback."""

from __future__ import annotations

import signal
import subprocess
import sys
import time
from pathlib import Path

import pytest

ROOT = Path(__file__).parents[2]
HELD = """
import builtins, sys
real = builtins.__import__
def told(name, *rest, **named):
    found = real(name, *rest, **named)
    if name == {name!r}:
        print("here", flush=True)
        while True:
            pass
    return found
builtins.__import__ = told
sys.argv = ["vansim", "nights"]
from vansim.__main__ import main
main()
"""


@pytest.mark.parametrize("name", ["typer", "pydantic", "numba", "vansim.studies"])
def test_while_it_imports(name: str) -> None:
    """The interruption comes while a library has just been imported, one early, one late."""
    process = subprocess.Popen(
        [sys.executable, "-c", HELD.format(name=name)],
        cwd=ROOT,
        stdout=subprocess.PIPE,
        stderr=subprocess.PIPE,
        text=True,
    )
    assert process.stdout is not None
    assert process.stdout.readline() == "here\n"
    process.send_signal(signal.SIGINT)
    _, said = process.communicate(timeout=60)
    assert process.returncode == 130
    assert said == "stopped; nothing was written\n"


def test_while_it_works(tmp_path: Path) -> None:
    """In the midst of a study: nothing is written."""
    process = subprocess.Popen(
        [sys.executable, "-m", "vansim", "upgrades", "--season", "year", "--out", str(tmp_path / "out")],
        cwd=ROOT,
        stdout=subprocess.DEVNULL,
        stderr=subprocess.PIPE,
        text=True,
    )
    time.sleep(4.0)
    process.send_signal(signal.SIGINT)
    _, said = process.communicate(timeout=60)
    assert process.returncode == 130
    assert said.endswith("stopped; nothing was written\n")
    assert "Traceback" not in said
    assert not (tmp_path / "out").exists()
