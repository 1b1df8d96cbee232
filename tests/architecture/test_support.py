"""What tests share stands in `tests/support`, which imports no test; no test imports another."""

from __future__ import annotations

import ast
from pathlib import Path

TESTS = Path(__file__).parents[1]
PROGRAMS = {"benchmarks", "fuzz", "mutation", "notebooks", "readme"}
"""Folders that are run as programs (``python -m tests.benchmarks``); their own tests import them."""


def test_files_import_nothing_of_one_another_but_support() -> None:
    files = {path.stem for path in TESTS.rglob("*.py")} - {path.stem for path in (TESTS / "support").glob("*.py")}
    faults = []
    for path in TESTS.rglob("*.py"):
        room = path.relative_to(TESTS).parts[0]
        for node in ast.walk(ast.parse(path.read_text(encoding="utf-8"))):
            if not isinstance(node, ast.ImportFrom) or not node.module or node.level:
                continue
            first, *rest = node.module.split(".")
            there = [first, *rest[:1]]
            own_program = room in PROGRAMS and there == ["tests", room]
            if (first == "tests" and there != ["tests", "support"] and not own_program) or first in files:
                faults.append(f"{path.relative_to(TESTS)}:{node.lineno}: imports {node.module}")
    assert not faults, "\n".join(faults)
