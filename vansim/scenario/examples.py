"""Example scenarios that come along, all invented: a stranger's first file to change."""

from __future__ import annotations

import tomllib
from pathlib import Path

from vansim.errors import ScenarioError
from vansim.output_files import write_new
from vansim.scenario.faults import listed, mean_word
from vansim.scenario.toml import demo_folder


def _paths() -> dict[str, Path]:
    return {path.stem: path for path in sorted((demo_folder() / "scenarios").glob("*.toml"))}


def example_titles() -> dict[str, str]:
    """Name to title of each example."""
    return {name: str(tomllib.loads(path.read_text(encoding="utf-8"))["title"]) for name, path in _paths().items()}


def example_text(name: str) -> str:
    """An example as it may stand in any folder: its climate is named, and found among the bundled ones.

    Parameters
    ----------
    name : str
        With or without ``.toml``.

    Raises
    ------
    ScenarioError
        No such example, with the nearest.
    """
    paths, asked = _paths(), name.removesuffix(".toml")
    if asked not in paths:
        raise ScenarioError(f"no example is called {name!r}; there are {listed(paths)}{mean_word(asked, paths, 0.4)}")
    return paths[asked].read_text(encoding="utf-8").replace('"../data_demo/climates/', '"')


def copy_example(name: str, to: Path, overwrite: bool = False) -> None:
    """Write an example to a file of one's own.

    Parameters
    ----------
    name : str
        As for `example_text`.
    to : Path
        The file.
    overwrite : bool
        Whether one that is there may be replaced.

    Raises
    ------
    ScenarioError
        No such example.
    OSError
        It cannot be written; `FileExistsError` where it is there already.
    """
    write_new(to, example_text(name).encode(), overwrite)
