"""Words for what is wrong in a file: one sentence for every kind of fault, with the nearest right name."""

from __future__ import annotations

import datetime
import json
import re
from collections.abc import Callable, Iterable, Mapping
from difflib import get_close_matches
from typing import Any

from vansim.scenario.hints import value_hint
from vansim.units import SUFFIXES, suffix_of

Path = tuple[str | int, ...]
Particulars = Mapping[str, Any]
"""What a checker knows of a fault, such as the limit."""


def dotted(path: Path) -> str:
    """Steps joined by dots: ``bank.unit.mass_kg``; a step that holds a dot or another sign is quoted, as in TOML."""
    return ".".join(str(part) if re.fullmatch(r"[\w:*-]+", str(part)) else _quoted(str(part)) for part in path)


def _quoted(step: str) -> str:
    return json.dumps(step, ensure_ascii=False)


def fault_line(place: str, key: str, words: str) -> str:
    """A fault in a line: where, which key, what is wrong. A sentence that begins with its key stands without it."""
    if words.startswith(f"{key} "):
        key = ""
    return ": ".join(part for part in (place, key, words) if part)


def nearest(word: str, known: Iterable[str], cutoff: float = 0.6) -> str | None:
    """Nearest of the known words, or None."""
    names = list(known)
    lower = {name.lower(): name for name in reversed(names)}
    found = get_close_matches(word.lower(), lower, n=1, cutoff=cutoff)
    return lower[found[0]] if found else None


def listed(names: Iterable[Any]) -> str:
    """Names in a row, cut where it grows too long to be read."""
    words = [str(name) for name in names]
    return ", ".join(words) if len(words) <= 24 else ", ".join(words[:24]) + f" and {len(words) - 24} more"


def shown(value: Any) -> str:
    """What was written, short enough for a message."""
    if isinstance(value, bool):
        return str(value).lower()
    if isinstance(value, dict):
        return "a table" if value else "an empty table"
    if isinstance(value, list | tuple):
        return f"a list of {len(value)}" if value else "an empty list"
    if isinstance(value, datetime.date | datetime.time):
        return value.isoformat()
    try:
        text = repr(value)
    except ValueError:  # an integer of thousands of digits
        return "a number too long to print"
    return text if len(text) <= 60 else text[:57] + "..."


def mean_word(word: str, known: Iterable[str], cutoff: float = 0.6) -> str:
    """``; did you mean 'eco'?`` or nothing."""
    near = nearest(word, known, cutoff)
    return f"; did you mean {near!r}?" if near is not None else ""


def _limit(ctx: Particulars, name: str) -> str:
    return f"out of range@; allowed: {bounds_words(ctx, name)}"


def bounds_words(bounds: Particulars, name: str) -> str:
    """``0 to 1``, ``above 0 m2``: the range of a value from its limits `gt`, `ge`, `lt`, `le`."""
    suffix = suffix_of(name)
    unit = f" {SUFFIXES[suffix].symbol}" if suffix else ""
    if "ge" in bounds and "le" in bounds:
        return f"{bounds['ge']:g} to {bounds['le']:g}{unit}"
    signs = {"gt": "above", "ge": "at least", "lt": "below", "le": "at most"}
    return " and ".join(f"{sign} {bounds[key]:g}{unit}" for key, sign in signs.items() if key in bounds)


def _number(ctx: Particulars, name: str) -> str:
    suffix = suffix_of(name)
    if suffix is None:
        return "must be a number@"
    unit = SUFFIXES[suffix]
    return f"must be a number in {unit.symbol}@; or text with a unit: {listed(unit.written)}"


def _pattern(ctx: Particulars, name: str) -> str:
    pattern = ctx["pattern"]
    choice = re.fullmatch(r"\^\(([\w|]+)\)\$", pattern)
    if choice:
        return f"not a valid choice@; allowed: {', '.join(choice.group(1).split('|'))}"
    if ":" in pattern:
        return 'must be a clock time@; allowed: "HH:MM", two digits each, from "00:00" to "24:00"'
    return 'must be a date@; allowed: "MM-DD", such as "07-15"'


def _literal(ctx: Particulars, name: str) -> str:
    return f"not a valid choice@; allowed: {ctx['expected'].replace(chr(39), '').replace(' or ', ', ')}"


_LIST = "must be a list@; a list of tables has double brackets ([[day]]), a list of values single ones ([1, 2])"

WORDS: dict[str, Callable[[Particulars, str], str]] = {
    "missing": lambda ctx, name: f"{name!r} is missing",
    "extra_forbidden": lambda ctx, name: "no such key@",
    "float_type": _number,
    "float_parsing": _number,
    "int_type": lambda ctx, name: "must be a whole number@",
    "int_parsing": lambda ctx, name: "must be a whole number@",
    "int_parsing_size": lambda ctx, name: "the number is too large@",
    "int_from_float": lambda ctx, name: "must be a whole number@",
    "finite_number": lambda ctx, name: "must be a finite number@; nan and inf are refused",
    "string_type": lambda ctx, name: 'must be text in quotes@; such as "..."',
    "string_unicode": lambda ctx, name: "must be readable text@",
    "bool_type": lambda ctx, name: "must be true or false@, without quotes",
    "bool_parsing": lambda ctx, name: "must be true or false@, without quotes",
    "greater_than": _limit,
    "greater_than_equal": _limit,
    "less_than": _limit,
    "less_than_equal": _limit,
    "literal_error": _literal,
    "string_pattern_mismatch": _pattern,
    "too_short": lambda ctx, name: f"needs at least {ctx['min_length']}@",
    "too_long": lambda ctx, name: f"takes at most {ctx['max_length']}@",
    "tuple_type": lambda ctx, name: _LIST,
    "list_type": lambda ctx, name: _LIST,
    "dict_type": lambda ctx, name: "must be a table@",
    "mapping_type": lambda ctx, name: "must be a table@",
    "model_type": lambda ctx, name: "must be a table@",
    "model_attributes_type": lambda ctx, name: "must be a table@",
    "value_error": lambda ctx, name: str(ctx["error"]),
    "none_required": lambda ctx, name: "must be left out@",
}
"""One sentence for every kind of fault that checking a scenario can raise; ``@`` stands for what was written."""


def sentence(kind: str, ctx: Particulars, name: str, written: Any, message: str = "") -> str:
    """Turn a checker's fault into a sentence for people.

    Parameters
    ----------
    kind : str
        The checker's type of fault.
    ctx : dict
        Its particulars, such as the limit.
    name : str
        Last key of the path.
    written : object
        What stood there.
    message : str
        The checker's own words, for a kind that is not in `WORDS`.

    Returns
    -------
    str
        For example ``"out of range (you wrote -3); allowed: above 0 m2"``.
    """
    text = WORDS[kind](ctx, name) if kind in WORDS else f"{message}@"
    text = text.replace("@", f" (you wrote {shown(written)})") if kind != "value_error" else text
    if kind in ("literal_error", "string_pattern_mismatch") and isinstance(written, str) and "allowed: " in text:
        text += mean_word(written, text.split("allowed: ")[1].split(", "))
    return text + value_hint(kind, ctx, name, written)
