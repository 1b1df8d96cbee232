"""Tables of constants as TOML, each row with the key of the source it was taken from.

``table("materials")["plywood"]["conductivity_w_mk"]`` is a number; ``sources.toml`` says under the key of its source
who published it, where, and how surely it is known. A row is any TOML table that holds values of its own: it carries
``source``, and a field that comes from elsewhere carries ``<field>_source`` beside it. The tests hold every row to it.
"""

from __future__ import annotations

import tomllib
from collections.abc import Mapping
from difflib import get_close_matches
from functools import cache
from importlib.resources import files
from types import MappingProxyType
from typing import Any

TABLES = ("chemistries", "glass", "ground", "materials", "paints", "refrigerants")


@cache  # one entry a table: parts ask for their rows by the thousand
def table(name: str) -> Mapping[str, Any]:
    """Read one table of constants; read once, read-only, arrays as tuples.

    Parameters
    ----------
    name : str
        One of `TABLES`.

    Returns
    -------
    mapping
        The rows by key; nested tables are mappings too.

    Raises
    ------
    KeyError
        No table of that name; the message lists the tables.
    """
    if name not in TABLES:
        near = get_close_matches(name, TABLES, n=1)
        hint = f"; nearest: {near[0]}" if near else ""
        raise KeyError(f"no data table {name!r}; there are {', '.join(TABLES)}{hint}")
    frozen: Mapping[str, Any] = _frozen(_read(name))
    return frozen


def _read(name: str) -> dict[str, Any]:
    return tomllib.loads(files(__package__).joinpath(f"{name}.toml").read_text(encoding="utf-8"))


def _frozen(value: Any) -> Any:
    if isinstance(value, dict):
        return MappingProxyType({key: _frozen(item) for key, item in value.items()})
    if isinstance(value, list):
        return tuple(_frozen(item) for item in value)
    return value
