"""Every notebook runs from top to bottom, and its executed copy beside it has the same cells."""

from __future__ import annotations

from pathlib import Path

import jupytext
import nbformat
import pytest

from tests.notebooks.make import cells, executed, scripts

MAKE = "python -m tests.notebooks.make"


def names(script: Path) -> str:
    return script.stem


def test_there_are_notebooks() -> None:
    assert "validation" in {script.stem for script in scripts()}


@pytest.mark.parametrize("script", scripts(), ids=names)
def test_executed_copy_has_the_same_cells(script: Path) -> None:
    copy = script.with_suffix(".ipynb")
    assert copy.exists(), f"make it with {MAKE} {script.stem}"
    made = nbformat.read(copy, as_version=4)
    assert cells(made) == cells(jupytext.read(script)), f"make it again with {MAKE} {script.stem}"
    code = [cell for cell in made["cells"] if cell["cell_type"] == "code"]
    assert all(cell["execution_count"] for cell in code), "a cell was never run"
    assert not any(o["output_type"] == "error" for cell in code for o in cell["outputs"])
    assert copy.stat().st_size < 1_500_000


@pytest.mark.slow
@pytest.mark.filterwarnings("default")  # what the notebook server's own libraries warn of is not ours
@pytest.mark.parametrize("script", scripts(), ids=names)
def test_notebook_runs(script: Path) -> None:
    executed(script)
