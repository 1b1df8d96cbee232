"""Reading a TOML file for people: line numbers kept, and every way a file can be unreadable put in words."""

from __future__ import annotations

import os
import tomllib
from collections.abc import Iterable
from dataclasses import dataclass
from functools import cached_property
from pathlib import Path
from typing import Any

from vansim.errors import ScenarioError
from vansim.input_files import read_file
from vansim.scenario.address import address
from vansim.scenario.faults import Path as KeyPath
from vansim.scenario.faults import fault_line, nearest
from vansim.scenario.lines import grammar_fault, key_lines, line_of


@dataclass(frozen=True)
class Document:
    """Written tables and where each key stands.

    Attributes
    ----------
    raw : dict
        As the TOML reader gives it.
    source : str
        File name for messages; empty for a mapping given in code.
    text : str
        What stands in the file.
    """

    raw: dict[str, Any]
    source: str = ""
    text: str = ""

    @cached_property
    def lines(self) -> dict[KeyPath, int]:
        """Key path to line; looked for when there is a fault to report."""
        return key_lines(self.text)

    def fault_lines(self, faults: Iterable[tuple[KeyPath, str]]) -> list[str]:
        """Faults as lines of text, in the order of the file, each once."""
        placed = [(line_of(self.lines, path) or 0, address(path, self.raw), words) for path, words in faults]
        placed.sort(key=lambda fault: fault[0])
        return list(dict.fromkeys(fault_line(self._place(line), key, words) for line, key, words in placed))

    def _place(self, line: int) -> str:
        return f"{self.source}:{line}" if self.source and line else self.source


def read_toml(path: Path) -> Document:
    """Read a TOML file.

    Parameters
    ----------
    path : Path
        The file.

    Returns
    -------
    Document

    Raises
    ------
    ScenarioError
        No such file (with the nearest name beside it), a folder, unreadable, not UTF-8, or not TOML (with line, column
        and a hint).
    """
    try:
        data = read_file(path)
    except OSError as problem:
        raise ScenarioError(_unreadable(path, problem)) from None
    except ValueError:
        raise ScenarioError(f"{str(path)!r}: not a valid file name") from None
    try:
        text = data.decode("utf-8-sig")
    except UnicodeDecodeError as problem:
        line = data.count(b"\n", 0, problem.start) + 1
        byte = data[problem.start]
        raise ScenarioError(f"{path}:{line}: not UTF-8 text (byte 0x{byte:02x}); save the file as UTF-8") from None
    try:
        raw = tomllib.loads(text)
    except tomllib.TOMLDecodeError as problem:
        line, column, words = grammar_fault(text, problem)
        raise ScenarioError(f"{path}:{line}:{column}: {words}") from None
    except (ValueError, RecursionError) as problem:  # a number of thousands of digits; brackets nested without end
        words = "nested too deeply" if isinstance(problem, RecursionError) else "a number of thousands of digits"
        raise ScenarioError(f"{path}: not readable as TOML: {words}") from None
    return Document(raw, str(path), text)


def _unreadable(path: Path, problem: OSError) -> str:
    if isinstance(problem, IsADirectoryError) or os.path.isdir(path):
        found = sorted(item.name for item in path.glob("*.toml"))
        return f"{path}: a folder, not a file; TOML files in it: {', '.join(found[:12]) or 'none'}"
    if isinstance(problem, FileNotFoundError):
        beside = {item.stem: item.name for item in path.parent.glob("*.toml")} if os.path.isdir(path.parent) else {}
        near = nearest(path.stem, beside)
        return f"{path}: no such file" + (f"; did you mean {beside[near]!r}?" if near else "")
    return f"{path}: cannot be read: {problem.strerror or problem}"


def demo_folder() -> Path:
    """Folder that holds `data_demo` and `scenarios`: the repository's, or the installed package's own copy.

    Raises
    ------
    ScenarioError
        Neither is there.
    """
    package = Path(__file__).resolve().parents[1]
    for root in (package.parent, package / "demo"):
        if (root / "data_demo").is_dir() and (root / "scenarios").is_dir():
            return root
    raise ScenarioError(f"the demonstration data is missing beside {package}; install vansim again")
