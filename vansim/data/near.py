"""What to say of a name that a table does not have: the names near it."""

from __future__ import annotations

import re
from collections.abc import Iterable
from difflib import get_close_matches

WHOLE_LIST = 14
"""A table of no more names is listed whole."""


def near_names(word: str, known: Iterable[str], most: int = 6) -> list[str]:
    """Names spelled nearly as a word, then those that share a part with it.

    Parameters
    ----------
    word : str
        As written.
    known : iterable of str
        Names that there are.
    most : int
        How many are given at most.

    Returns
    -------
    list of str
        The nearest first; empty where none is near.
    """
    names = {str(name).lower(): str(name) for name in known}
    asked = "-".join(word.lower().split())
    alike = get_close_matches(asked, names, n=most, cutoff=0.7)
    pieces = [piece for piece in re.split(r"[\W_\d]+", asked) if len(piece) > 2]
    same = [name for name in names if any(piece in name for piece in pieces)]
    return [names[name] for name in dict.fromkeys([*alike, *same])][:most]


def not_in_table(what: str, word: str, known: Iterable[str], table: str) -> str:
    """A sentence on a name that a table does not have.

    Parameters
    ----------
    what : str
        What it was to be: ``"material"``.
    word : str
        As written.
    known : iterable of str
        Names that there are.
    table : str
        What the table is called.
    """
    names = [str(name) for name in known]
    near = near_names(word, names)
    said = f"{what} {word!r} is not in the {table} table"
    if len(names) > WHOLE_LIST:
        hint = f"; near it: {', '.join(near)}" if near else ""
        return f"{said}{hint}; `vansim parts {table}` lists all"
    return f"{said}; allowed: {', '.join(names)}" + (f"; did you mean {near[0]!r}?" if near else "")
