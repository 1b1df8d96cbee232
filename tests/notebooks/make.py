"""Run every notebook and write the executed copy beside it: ``python -m tests.notebooks.make [name ...]``.

A notebook is kept as a plain script in cells (``# %%``); its executed copy is made from it, never edited.
"""

from __future__ import annotations

import base64
import io
import os
import sys
import time
from pathlib import Path

import jupytext
import nbformat
from nbclient import NotebookClient
from PIL import Image

FOLDER = Path(__file__).parents[2] / "notebooks"
TIMEOUT_S = 300


def scripts() -> list[Path]:
    """All notebooks, as scripts."""
    return sorted(FOLDER.glob("*.py"))


def cells(notebook: nbformat.NotebookNode) -> list[tuple[str, str]]:
    """Kind and text of each cell, without outputs."""
    return [(cell["cell_type"], cell["source"].strip()) for cell in notebook["cells"]]


def smaller(notebook: nbformat.NotebookNode) -> None:
    """Pictures in 48 colours: a third of the size, and nothing lost of a line drawing."""
    for cell in notebook["cells"]:
        for output in cell.get("outputs", []):
            png = output.get("data", {}).get("image/png")
            if png:
                packed = io.BytesIO()
                picture = Image.open(io.BytesIO(base64.b64decode(png))).convert("RGB")
                picture.quantize(48).save(packed, "PNG", optimize=True)
                output["data"]["image/png"] = base64.b64encode(packed.getvalue()).decode()


def executed(script: Path) -> nbformat.NotebookNode:
    """Run a notebook from the folder that it lies in, on kernel python3.

    Raises
    ------
    nbclient.exceptions.CellExecutionError
        A cell failed.
    """
    notebook = jupytext.read(script)
    for i, cell in enumerate(notebook["cells"]):
        cell["id"] = f"cell-{i}"  # the same at every making
    notebook["metadata"] = {"kernelspec": {"name": "python3", "display_name": "Python 3", "language": "python"}}
    path = os.pathsep.join([str(FOLDER.parent), os.environ.get("PYTHONPATH", "")])
    environment = {**os.environ, "PYTHONPATH": path, "PYDEVD_DISABLE_FILE_VALIDATION": "1"}
    client = NotebookClient(
        notebook, timeout=TIMEOUT_S, kernel_name="python3", resources={"metadata": {"path": FOLDER}}
    )
    client.execute(env=environment)
    for cell in notebook["cells"]:
        cell["metadata"].pop("execution", None)
    smaller(notebook)
    return notebook


def main(names: list[str]) -> None:
    """Make all, or those named."""
    for script in scripts():
        if names and script.stem not in names:
            continue
        start = time.perf_counter()
        notebook = executed(script)
        nbformat.write(notebook, script.with_suffix(".ipynb"))
        size = script.with_suffix(".ipynb").stat().st_size / 1024
        print(f"{script.stem}: {time.perf_counter() - start:.0f} s, {size:.0f} KiB")


if __name__ == "__main__":
    main(sys.argv[1:])
