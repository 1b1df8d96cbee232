"""The compile cache: keyed on every source that holds compiled code, and optional."""

from __future__ import annotations

import ast
import os
import shutil
import subprocess
import sys
from pathlib import Path

import pytest

from vansim import jit

PACKAGE = Path(jit.__file__).parent


@pytest.fixture
def copy(tmp_path: Path) -> Path:
    target = tmp_path / "vansim"
    shutil.copytree(PACKAGE, target, ignore=shutil.ignore_patterns("__pycache__", "data"))
    return target


@pytest.mark.parametrize("name", ["psychrometrics.py", "van/people.py", "march/kernel.py", "jit.py"])
def test_any_edit_opens_a_fresh_folder(copy: Path, name: str) -> None:
    before = jit.source_hash(copy)
    assert before == jit.source_hash()
    (copy / name).write_text((copy / name).read_text() + "\n# edited\n")
    assert jit.source_hash(copy) != before


def test_a_new_file_with_compiled_code_opens_a_fresh_folder(copy: Path) -> None:
    before = jit.source_hash(copy)
    (copy / "van" / "extra.py").write_text("@compiled\ndef one():\n    return 1\n")
    assert jit.source_hash(copy) != before


def watched(package: Path = PACKAGE) -> set[str]:
    """Modules that the hash looks at: an edit of one changes it."""
    return {
        ".".join(("vansim", *path.relative_to(package).with_suffix("").parts))
        for path in package.rglob("*.py")
        if b"@compiled" in path.read_bytes()
    }


def compiled_names(tree: ast.Module) -> set[str]:
    """Names that compiled functions of a module use."""
    used: set[str] = set()
    for node in ast.walk(tree):
        if isinstance(node, ast.FunctionDef) and any(
            isinstance(d, ast.Name) and d.id == "compiled" for d in node.decorator_list
        ):
            used |= {n.id for n in ast.walk(node) if isinstance(n, ast.Name)}
    return used


def test_compiled_code_uses_nothing_from_unwatched_files() -> None:
    """A constant or a function of another file is frozen into the machine code; that file must be in the hash too."""
    seen = watched()
    assert len(seen) > 8
    for module in seen:
        tree = ast.parse((PACKAGE / Path(*module.split(".")[1:])).with_suffix(".py").read_text(encoding="utf-8"))
        used = compiled_names(tree)
        for node in ast.walk(tree):
            if isinstance(node, ast.ImportFrom) and (node.module or "").startswith("vansim"):
                for name in node.names:
                    if (name.asname or name.name) in used:
                        whole = f"{node.module}.{name.name}"
                        assert node.module in seen or whole in seen, f"{module}: {name.name} from {node.module}"


def run(code: str, **environment: str) -> str:
    done = subprocess.run(
        [sys.executable, "-W", "error", "-c", code],
        env={**os.environ, **environment},
        cwd=PACKAGE.parent,
        capture_output=True,
        text=True,
        check=False,
    )
    assert done.returncode == 0, done.stderr
    return done.stdout


CODE = "from vansim.psychrometrics import saturation_pressure_pa as p; print(repr(p(25.0)))"


def test_cache_goes_where_it_is_told(tmp_path: Path) -> None:
    assert float(run(CODE, VANSIM_CACHE=str(tmp_path))) == pytest.approx(3169.2, rel=1e-3)
    assert list(tmp_path.rglob("*.code"))
