"""One part in full, and what it would be in a van."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from typing import Any

import pandas as pd

from vansim import phrases
from vansim.quantities import Part
from vansim.show.text.check import check_parts
from vansim.studies.van_figures import VanFigures
from vansim.units import translated

ROOMS = {
    "cabins": ("envelope",), "coolers": ("cooler",), "bank-units": ("bank", "cooler"), "alternators": ("charging",),
    "solar-arrays": ("charging",), "chargers": ("charging",),
}  # fmt: skip
"""What of a van's figures a kind of part changes."""


def part_lines(part: Part, written: Mapping[str, Any], system: str = "si") -> list[str]:
    """Every value of a part with its unit; those that its file does not give are defaults."""
    rows = [(key, value, _given(key, written)) for key, value in _values(part.model_dump(), "")]
    wide = max(len(key) for key, _, _ in rows)
    return [
        f"  {key:<{wide}}  {_shown(key, value, system)}{'' if given else '  (default)'}" for key, value, given in rows
    ]


def row_lines(row: pd.Series, system: str = "si") -> list[str]:
    """Every value of a row of a table of constants."""
    wide = max(len(str(key)) for key in row.index)
    return [
        f"  {key!s:<{wide}}  {_shown(str(key), value, system)}" for key, value in row.items() if not _missing(value)
    ]


def fitted_lines(kind: str, found: VanFigures, system: str = "si") -> list[str]:
    """What the figures of a van are with a part of a kind."""
    return ["In this van", "", *check_parts(found, ROOMS[kind], system)]


def _missing(value: Any) -> bool:
    return isinstance(value, float) and pd.isna(value)


def _given(key: str, written: Mapping[str, Any]) -> bool:
    node: Any = written
    for step in key.split("."):
        if isinstance(node, Mapping) and step in node:
            node = node[step]
        elif isinstance(node, list | tuple) and step.isdecimal() and int(step) < len(node):
            node = node[int(step)]
        else:
            return False
    return True


def _values(value: Any, path: str) -> Iterator[tuple[str, Any]]:
    if isinstance(value, Mapping):
        for key, item in value.items():
            yield from _values(item, f"{path}.{key}" if path else str(key))
    elif isinstance(value, list | tuple):
        for i, item in enumerate(value):
            yield from _values(item, f"{path}.{i}")
    elif value is not None and value != "":
        yield path, value


def _shown(key: str, value: Any, system: str) -> str:
    if isinstance(value, bool):
        return str(value).lower()
    if isinstance(value, int | float):
        return phrases.quantity(float(value), key.split(".")[-1], system)
    return translated(str(value), system)
