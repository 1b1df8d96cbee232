"""Rows of the tables of constants, and the sources that they name."""

from __future__ import annotations

import tomllib
from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from importlib.resources import files
from typing import Any

from vansim.data import table

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


def sources() -> Mapping[str, Source]:
    """Give every source by its key.

    Returns
    -------
    mapping of str to Source
    """
    text = files("vansim.data").joinpath("sources.toml").read_text(encoding="utf-8")
    return {key: Source(**row) for key, row in tomllib.loads(text).items()}


def rows(name: str) -> Iterator[tuple[str, Mapping[str, Any]]]:
    """Walk the rows of a table: every (nested) TOML table that holds values of its own.

    Parameters
    ----------
    name : str
        One of `vansim.data.TABLES`.

    Yields
    ------
    tuple of (str, mapping)
        Dotted key, such as ``"lfp.charge"``, and the row.
    """
    yield from _rows("", table(name))


def source_keys(row: Mapping[str, Any]) -> dict[str, str]:
    """Source keys of one row: ``source`` and every ``<field>_source``.

    Parameters
    ----------
    row : mapping
        A row as `rows` yields it.

    Returns
    -------
    dict
        Field name (``"source"`` for the row as a whole) to source key.
    """
    return {field.removesuffix("_source"): key for field, key in row.items() if field.endswith("source")}


def _rows(prefix: str, node: Mapping[str, Any]) -> Iterator[tuple[str, Mapping[str, Any]]]:
    if prefix and any(not isinstance(value, Mapping) for value in node.values()):
        yield prefix, node
    for key, value in node.items():
        if isinstance(value, Mapping):
            yield from _rows(f"{prefix}.{key}" if prefix else key, value)
