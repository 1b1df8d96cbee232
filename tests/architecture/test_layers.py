"""The house stands as drawn: rooms import downward only, without circles, and stay light where it matters."""

import ast
import os
import subprocess
import sys
from pathlib import Path

import pytest

PACKAGE = Path(__file__).parents[2] / "vansim"
FLOORS = [
    {"errors", "version", "lazy", "notes", "input_files", "output_files"},
    {"cache_folder", "units", "data"},
    {"code_cache"},
    {"jit"},
    {"phrases", "psychrometrics", "disk_cache", "heat_stress"},
    {"quantities"},
    {"climate", "van"},
    {"scenario"},
    {"boundary"},
    {"march"},
    {"runs"},
    {"studies"},
    {"show"},
    {"cli"},
    {"__main__"},
]
LEVEL = {room: level for level, rooms in enumerate(FLOORS) for room in rooms}
SIBLINGS = {"van"}
"""Rooms whose concepts do not know each other; files of one concept share the first word of their names."""


def room_of(path: Path) -> str:
    return path.relative_to(PACKAGE).parts[0].removesuffix(".py")


def imports(path: Path):
    """Modules of ours that a file imports, at any depth of its code, with the line; type-checking blocks left out."""
    tree = ast.parse(path.read_text(encoding="utf-8"))
    skipped = {
        id(node)
        for block in ast.walk(tree)
        if isinstance(block, ast.If) and getattr(block.test, "id", "") == "TYPE_CHECKING"
        for node in ast.walk(block)
    }
    for node in ast.walk(tree):
        if id(node) in skipped:
            continue
        if isinstance(node, ast.ImportFrom) and node.module and node.module.split(".")[0] == "vansim":
            yield node.lineno, node.module
        elif isinstance(node, ast.Import):
            yield from ((node.lineno, alias.name) for alias in node.names if alias.name.split(".")[0] == "vansim")


FILES = sorted(p for p in PACKAGE.rglob("*.py") if p != PACKAGE / "__init__.py")


def test_every_room_has_a_floor():
    assert {room_of(p) for p in FILES} == set(LEVEL)


def test_imports_run_downward():
    faults = []
    for path in FILES:
        here = room_of(path)
        for line, module in imports(path):
            parts = module.split(".")
            if len(parts) == 1:
                continue  # the package itself: its version
            there = parts[1]
            if LEVEL[there] > LEVEL[here] or (LEVEL[there] == LEVEL[here] and there != here):
                faults.append(f"{path.relative_to(PACKAGE)}:{line}: {here} imports {there}")
    assert not faults, "\n".join(faults)


def test_only_runs_read_what_the_march_writes():
    """Studies and pictures read results and tables; names of the kernel's columns stay in `march` and `runs`."""
    faults = [
        f"{path.relative_to(PACKAGE)}:{line}: imports {module}"
        for path in FILES
        if room_of(path) not in {"march", "runs"}
        for line, module in imports(path)
        if module.split(".")[1:2] == ["march"]
    ]
    assert not faults, "\n".join(faults)


def test_long_calls_name_their_arguments():
    """With more than five arguments in a row nobody sees which is which; compiled functions take names as well."""
    faults = [
        f"{path.relative_to(PACKAGE)}:{node.lineno}: {ast.unparse(node.func)} takes {len(node.args)} by position"
        for path in FILES
        for node in ast.walk(ast.parse(path.read_text(encoding="utf-8")))
        if isinstance(node, ast.Call) and len(node.args) > 5
    ]
    assert not faults, "\n".join(faults)


OPAQUE = {"dict", "Mapping", "pd.Series", "npt.NDArray", "np.dtype"}
"""Holders of mixed things: tables as TOML has them, rows of a frame, arrays of records."""


def says_any(annotation: ast.expr) -> bool:
    """Whether a type says `Any` by itself, or within anything but a holder of mixed things."""
    if isinstance(annotation, ast.Subscript) and ast.unparse(annotation.value) in OPAQUE:
        return False
    if isinstance(annotation, ast.Name):
        return annotation.id == "Any"
    return any(says_any(part) for part in ast.iter_child_nodes(annotation) if isinstance(part, ast.expr))


def public_functions(body: list[ast.stmt]):
    """Functions and methods without a leading underscore, in classes without one."""
    for node in body:
        if isinstance(node, ast.ClassDef) and not node.name.startswith("_"):
            yield from public_functions(node.body)
        elif isinstance(node, ast.FunctionDef | ast.AsyncFunctionDef) and not node.name.startswith("_"):
            yield node


@pytest.mark.parametrize(
    ("written", "found"),
    [
        ("Any", True),
        ("Any | None", True),
        ("tuple[Frame, Any]", True),
        ("Iterator[Any]", True),
        ("list[dict[str, Any]]", False),
        ("pd.Series[Any] | None", False),
        ("float", False),
    ],
)
def test_any_is_seen_wherever_it_stands(written, found):
    assert says_any(ast.parse(written, mode="eval").body) is found


def test_public_functions_say_what_they_return():
    """Records of the march aside: attributes of NumPy records are beyond a type checker, and `Records` says so once."""
    faults = [
        f"{path.relative_to(PACKAGE)}:{node.lineno}: {node.name} returns {ast.unparse(node.returns)}"
        for path in [*FILES, PACKAGE / "__init__.py"]
        for node in public_functions(ast.parse(path.read_text(encoding="utf-8")).body)
        if node.returns is not None and says_any(node.returns)
    ]
    assert not faults, "\n".join(faults)


def test_siblings_do_not_know_each_other():
    faults = [
        f"{path.relative_to(PACKAGE)}:{line}: imports {module}"
        for path in FILES
        if room_of(path) in SIBLINGS
        for line, module in imports(path)
        if module.startswith(f"vansim.{room_of(path)}.")
        and module.split(".")[2].split("_")[0] != path.stem.split("_")[0]
    ]
    assert not faults, "\n".join(faults)


def test_no_circles_within_a_room():
    known = {".".join(("vansim", *p.relative_to(PACKAGE).with_suffix("").parts)): p for p in FILES}
    graph = {name: {m for _, m in imports(path) if m in known} for name, path in known.items()}
    done: set[str] = set()

    def visit(name: str, trail: tuple[str, ...]) -> None:
        assert name not in trail, " -> ".join((*trail, name))
        if name not in done:
            for other in graph[name]:
                visit(other, (*trail, name))
            done.add(name)

    for name in graph:
        visit(name, ())


def test_only_the_climate_opens_pvlib():
    """Sun, sky and weather files are pvlib's, asked for in climate only, and within functions: it is slow to import."""
    faults = []
    for path in FILES:
        tree = ast.parse(path.read_text(encoding="utf-8"))
        above = {id(node) for node in tree.body}
        for node in ast.walk(tree):
            modules = [node.module or ""] if isinstance(node, ast.ImportFrom) else []
            modules += [alias.name for alias in node.names] if isinstance(node, ast.Import) else []
            if "pvlib" in {module.split(".")[0] for module in modules} and (
                room_of(path) != "climate" or id(node) in above
            ):
                faults.append(f"{path.relative_to(PACKAGE)}:{node.lineno}: {modules}")
    assert not faults, "\n".join(faults)


def imported(*arguments: str) -> set[str]:
    """Top-level modules in memory after a command."""
    code = (
        f"import sys; sys.argv = {['vansim', *arguments]!r}\n"
        "import vansim.cli\n"
        "try:\n    vansim.cli.app()\nexcept SystemExit:\n    pass\n"
        "print(*(name for name in sys.modules if '.' not in name), file=sys.stderr)"
    )
    done = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, env=os.environ, check=True)
    return set(done.stderr.splitlines()[-1].split())


def test_help_needs_no_heavy_library():
    found = imported("--help")
    assert "typer" in found
    assert not found & {"matplotlib", "pandas", "numpy", "numba", "pvlib", "scipy", "pydantic"}


@pytest.mark.skipif(os.environ.get("NUMBA_DISABLE_JIT", "0") != "0", reason="nothing is kept while compiling is off")
def test_a_second_run_needs_neither_pvlib_nor_pictures():
    """What pvlib makes of the file and of the sun is kept from the first; numba brings a little of scipy by itself."""
    imported("run")
    found = imported("run")
    assert {"numba", "pandas"} <= found
    assert not found & {"pvlib", "matplotlib", "jinja2", "requests", "h5py"}


def test_imports_are_not_searched_for_garbage():
    """Neither while they come in nor on the way out; the exit code is the same."""
    code = (
        "import gc, sys; sys.argv = ['vansim', 'check', '--jsom']\n"
        "from vansim.cli import main\n"
        "try:\n    main()\nexcept SystemExit as end:\n"
        "    print(end.code, gc.get_threshold()[0] >= 100_000, gc.get_freeze_count() > 10_000)\n"
    )
    done = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, env=os.environ, check=True)
    assert done.stdout.split() == ["2", "True", "True"]


def test_files_fit_in_the_head():
    long = {str(p.relative_to(PACKAGE)): n for p in FILES if (n := len(p.read_text().splitlines())) > 420}
    assert not long
