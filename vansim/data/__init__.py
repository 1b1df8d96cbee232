"""Tables of constants as TOML, each row with the key of the source it was taken from.

``table("materials")["plywood"]["conductivity_w_mk"]`` is a number; ``sources()[key]`` says who published it, where, and
how surely it is known. A row is any TOML table that holds values of its own: it carries ``source``, and a field that
comes from elsewhere carries ``<field>_source`` beside it. The tests hold every row to that.
"""

from __future__ import annotations

import tomllib
from collections.abc import Mapping
from dataclasses import dataclass
from difflib import get_close_matches
from functools import cache
from importlib.resources import files
from types import MappingProxyType
from typing import Any

TABLES = ("chemistries", "glass", "ground", "materials", "paints", "refrigerants")
STATUSES = ("look-up", "memory", "computed", "assumed", "common practice")


@dataclass(frozen=True, kw_only=True)
class Source:
    """Where a number comes from.

    Parameters
    ----------
    author : str
        Person, body, or ``vansim`` for what the project worked out or assumed.
    title : str
        Publication.
    year : int
        Year of the edition; of the computation or assumption where nothing was published.
    where : str
        Table, equation or clause, with what was taken or done.
    status : {"look-up", "memory", "computed", "assumed", "common practice"}
        How surely the number is known.
    """

    author: str
    title: str
    year: int
    where: str
    status: str

    def __post_init__(self) -> None:
        if self.status not in STATUSES:
            raise ValueError(f"status of the source {self.title!r} is {self.status!r}; allowed: {', '.join(STATUSES)}")

    def __str__(self) -> str:
        return f"{self.author} ({self.year}), {self.title}, {self.where} [{self.status}]"


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


def sources() -> Mapping[str, Source]:
    """Give every source by its key, read-only.

    Returns
    -------
    mapping of str to Source
    """
    return MappingProxyType({key: Source(**row) for key, row in _read("sources").items()})


def _read(name: str) -> dict[str, Any]:
    return tomllib.loads(files(__package__).joinpath(f"{name}.toml").read_text(encoding="utf-8"))


def _frozen(value: Any) -> Any:
    if isinstance(value, dict):
        return MappingProxyType({key: _frozen(item) for key, item in value.items()})
    if isinstance(value, list):
        return tuple(_frozen(item) for item in value)
    return value
