"""No published check can be left out of the table that is shown."""

from __future__ import annotations

from importlib import import_module
from pathlib import Path

from tests.support.subjects import ELSEWHERE, SUBJECTS

HERE = Path(__file__).parent


def test_every_module_is_listed_and_has_rows() -> None:
    found = {p.stem for p in HERE.glob("test_*.py")} - {Path(__file__).stem}
    assert found == set(SUBJECTS.values())
    assert all(callable(import_module(f"tests.published.{name}").rows) for name in SUBJECTS.values())


def test_every_table_is_used_and_says_where_it_comes_from() -> None:
    code = "".join(p.read_text(encoding="utf-8") for p in HERE.glob("*.py"))
    for path in HERE.glob("*.csv"):
        assert f'read("{path.stem}")' in code, path.name
        assert path.read_text(encoding="utf-8").startswith("# "), path.name


def test_checks_that_stand_elsewhere_do_stand_there() -> None:
    root = HERE.parents[1]
    for places in ELSEWHERE.values():
        for place in places.split(", "):
            assert (root / place).exists(), place
