"""Rows of the tables of constants, and the keys of the sources that they name."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from typing import Any

from vansim.data import table


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
