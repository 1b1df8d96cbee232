"""What stands at the front door: the public names, listed, described, completed, typed and lazily fetched."""

import ast
import inspect
import pydoc
import re
import subprocess
import sys
import tomllib
from pathlib import Path

import pytest

import vansim
from vansim import _HOMES
from vansim.scenario.files import as_scenario, default_scenario_path

PACKAGE = Path(vansim.__file__).parent
TYPES = {"Scenario", "Weather", "Result", "VansimError", "ScenarioError", "WeatherError", "PhysicsError"}


def test_every_public_name_is_there_and_described():
    assert set(_HOMES) | {"__version__"} == set(vansim.__all__)
    for name in _HOMES:
        found = getattr(vansim, name)
        assert inspect.getdoc(found), name
        assert found is getattr(vansim, name)


def test_what_a_notebook_needs_is_there():
    needed = (
        "load_scenario read_weather simulate simulate_many vary nights size compare upgrades energy outage recharge"
    )
    assert set(needed.split()) | {"plots", "report", "library"} <= set(_HOMES)


def test_dir_shows_the_public_names_alone():
    assert {name for name in dir(vansim) if not name.startswith("__")} == set(_HOMES)


def test_a_wrong_name_is_refused():
    with pytest.raises(AttributeError, match="no attribute 'simulat'"):
        vansim.simulat  # noqa: B018


def test_help_describes_the_public_names():
    doc = vansim.__doc__
    assert set(re.findall(r"`(\w+)`", doc)) == set(_HOMES)
    shown = pydoc.render_doc(vansim, renderer=pydoc.plaintext)
    for name in set(_HOMES) - TYPES - {"plots"}:
        assert re.search(rf"^    {name}(\(| = \w+\()", shown, re.MULTILINE), name


def test_type_checkers_see_the_same_homes():
    tree = ast.parse((PACKAGE / "__init__.py").read_text(encoding="utf-8"))
    block = next(node for node in tree.body if isinstance(node, ast.If))
    seen = {}
    for node in block.body:
        assert isinstance(node, ast.ImportFrom)
        seen |= {alias.asname or alias.name: f"{node.module}:{alias.name}" for alias in node.names}
    assert {name: home.replace(":plots", ".plots") for name, home in seen.items()} == _HOMES


def test_types_are_shipped():
    assert (PACKAGE / "py.typed").is_file()
    project = tomllib.loads((PACKAGE.parent / "pyproject.toml").read_text(encoding="utf-8"))
    assert project["tool"]["hatch"]["build"]["targets"]["wheel"]["packages"] == ["vansim"]


def test_importing_and_listing_need_no_heavy_library():
    code = "import vansim, sys; dir(vansim); print(*(name for name in sys.modules if '.' not in name))"
    done = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)
    assert not set(done.stdout.split()) & {"matplotlib", "pandas", "numpy", "numba", "pvlib", "scipy", "pydantic"}


@pytest.mark.parametrize("kind", [str, Path, lambda path: tomllib.loads(path.read_text(encoding="utf-8"))])
def test_a_path_or_a_mapping_is_loaded(kind):
    path = default_scenario_path()
    assert as_scenario(kind(path)).model_dump() == vansim.load_scenario(path).model_dump()


def test_a_scenario_is_taken_as_it_is():
    scenario = vansim.load_scenario(default_scenario_path())
    assert as_scenario(scenario) is scenario


def test_simulate_takes_a_path():
    path = default_scenario_path()
    assert vansim.simulate(str(path)).summary == vansim.simulate(vansim.load_scenario(path)).summary


def test_nights_take_a_path():
    path = default_scenario_path()
    found = [vansim.nights(given, season="07-14..07-15").table for given in (path, vansim.load_scenario(path))]
    assert found[0].equals(found[1])
