"""The parts library on a terminal."""

from __future__ import annotations

import pandas as pd

from vansim import phrases
from vansim.show.text.tables import fits, folded
from vansim.show.text.width import told_columns
from vansim.units import convert, stem_of, suffix_of, symbol, translated


def parts_lines(table: pd.DataFrame, system: str = "si") -> list[str]:
    """A parts table as aligned text, its numbers and the ends of its column names in the units shown; folded where the
    screen is narrower. A pipe has no width.
    """
    shown = table.copy()
    for name in table.columns:
        if suffix_of(str(name)) is not None and pd.api.types.is_numeric_dtype(table[name]):
            shown[name] = convert(table[name].to_numpy(dtype=float), str(name), system)
    shown.columns = pd.Index([_heading(str(name), system) for name in table.columns])
    cells = shown.map(lambda value: _cell(value, system))
    lines = str(cells.to_string(index_names=False)).splitlines()
    screen = told_columns()
    if screen is None or fits(lines, screen - 2):
        return lines
    rows = [(str(name), *map(str, row)) for name, row in zip(cells.index, cells.to_numpy(), strict=True)]
    return folded(("", *map(str, cells.columns)), rows)


def _heading(name: str, system: str) -> str:
    """A column's name with its unit as printed: ``"mass [lb]"``."""
    suffix = suffix_of(name)
    words = {"ua": "UA", "cop": "COP"}.get(stem_of(name), stem_of(name).replace("_", " "))
    return words if suffix is None else f"{words} [{symbol(name, system)}]"


def _cell(value: object, system: str) -> object:
    if isinstance(value, float):
        return phrases.figures(value)
    return translated(value, system) if isinstance(value, str) else value
