"""What can be looked up: kinds of part, and the tables of materials, glass, paints, covers and grounds."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

import pandas as pd

from vansim.data import sources, table
from vansim.data.near import near_names
from vansim.errors import ScenarioError
from vansim.scenario.change import varied
from vansim.scenario.faults import listed, mean_word
from vansim.scenario.parts import KINDS, Library
from vansim.scenario.reading import PART_OF
from vansim.scenario.schema import Scenario

TABLES: dict[str, tuple[str, ...]] = {
    "materials": ("materials",),
    "glass": ("glass", "kinds"),
    "paints": ("paints",),
    "covers": ("glass", "covers"),
    "grounds": ("ground",),
}
"""Tables of constants by the name under which they are looked up: table, and key within it."""
ALSO = {
    "battery": "bank-units", "batteries": "bank-units", "bank": "bank-units", "units": "bank-units",
    "van": "cabins", "vans": "cabins", "panel": "solar-arrays", "panels": "solar-arrays", "solar": "solar-arrays",
    "array": "solar-arrays", "arrays": "solar-arrays", "insulation": "materials", "colour": "paints",
    "colours": "paints", "color": "paints", "colors": "paints", "glasses": "glass", "window": "glass",
    "windows": "glass", "ground": "grounds",
}  # fmt: skip
"""Other words for a kind."""


def kinds() -> list[str]:
    """Everything that can be looked up, in order; a table that this version does not have is left out."""
    return [*KINDS, *(name for name in TABLES if _rows(name) is not None)]


def _rows(name: str) -> Mapping[str, Any] | None:
    first, *below = TABLES[name]
    try:
        found: Mapping[str, Any] = table(first)
    except (KeyError, ValueError, OSError):
        return None
    for key in below:
        found = found[key]
    return found


def kind_of(word: str) -> str | None:
    """The kind that a word means, in the singular or plural or by another name; None where it means none."""
    asked = "-".join(word.strip().lower().replace("_", "-").split())
    known = {name: name for name in kinds()}
    known |= {name.removesuffix("s"): name for name in known if name != "glass"}
    return known.get(asked) or (ALSO.get(asked) if ALSO.get(asked) in kinds() else None)


def table_of_constants(name: str) -> pd.DataFrame:
    """A table of constants as rows, with the source of each.

    Parameters
    ----------
    name : str
        One of `TABLES`.

    Returns
    -------
    DataFrame
        Indexed by name; columns carry their unit; `source` is the published one.
    """
    rows = _rows(name) or {}
    known = sources()
    plain = {
        key: {column: value for column, value in row.items() if not column.endswith("source")}
        | {"source": str(getattr(known[row["source"]], "title", row["source"])) if "source" in row else ""}
        for key, row in rows.items()
        if isinstance(row, Mapping)
    }
    return pd.DataFrame.from_dict(plain, orient="index").rename_axis(name)


def no_kind(library: Library, word: str) -> str:
    """What to say of a word that is neither a kind nor a part: the nearest of both."""
    names = [one for kind in kinds() for one in (library.parts[kind] if kind in KINDS else _rows(kind) or ())]
    near = near_names(word, names)
    hint = f"; did you mean {', '.join(near)}?" if near else mean_word(word, [*kinds(), *ALSO], 0.6)
    return f"no kind of part is called {word!r}; allowed: {listed(kinds())}{hint}"


def find_part(library: Library, name: str, kind: str | None = None) -> tuple[str, str]:
    """Kind and name of a part or a constant.

    Raises
    ------
    ScenarioError
        Nothing is called so, with the nearest names.
    """
    looked = [kind] if kind else kinds()
    names = {one: list(library.parts[one]) if one in KINDS else list(_rows(one) or {}) for one in looked}
    found = [(one, name) for one in looked if name in names[one]]
    if found:
        return found[0]
    every = [one for some in names.values() for one in some]
    near = near_names(name, every)
    hint = f"; near it: {listed(near)}" if near else f"; there are {listed(every)}"
    raise ScenarioError(f"nothing in {', '.join(looked)} is called {name!r}{hint}")


def fitted_with(scenario: Scenario, kind: str, name: str) -> Scenario:
    """A scenario with one of its parts in place of its own.

    Raises
    ------
    ScenarioError
        It does not fit, in words.
    """
    key = next(".".join(map(str, path)) for path, of in PART_OF.items() if of == kind)
    made, change = varied(scenario, {key: name})
    if made is None:
        raise ScenarioError([f"{name} does not fit this van: {words}" for _, _, words in change.faults()])
    return made
