"""Designs on the command line: ``--vary "shade: day.at-the-camp.09:00.shade=0.8"``."""

from __future__ import annotations

import re
import tomllib
from collections.abc import Iterable, Iterator
from typing import Any

from vansim.cli.common import fail
from vansim.phrases.outside import shortened

EXAMPLE = '--vary "warmer: thermostat.setpoint_c=26"'
_NAME = re.compile(r"((?:[^=:\"']|(?<=\d\d):(?=\d\d))*):(?!(?<=\d\d:)\d\d)\s*(.*)", re.DOTALL)
"""A name ends at the first colon that is not part of a clock time and stands before any equals sign."""


def parse_designs(texts: Iterable[str], taken: Iterable[str] = ()) -> dict[str, dict[str, Any]]:
    """Read designs as they are written on the command line.

    Parameters
    ----------
    texts : iterable of str
        ``KEY=VALUE[,KEY=VALUE]`` each, after ``NAME:`` or without a name; values as in TOML, or bare text.
    taken : iterable of str
        Names that are no longer free.

    Returns
    -------
    dict of str to dict
        Name, or the text where it has none, to changes as for `vary`.

    Raises
    ------
    ScenarioError
        Every text that cannot be read, and every name that stands twice.
    """
    found: dict[str, dict[str, Any]] = {}
    faults: list[str] = []
    used = set(taken)
    for text in texts:
        named = _NAME.fullmatch(text)
        name, body = (shortened(named.group(1)), named.group(2)) if named else (shortened(text), text)
        if named and not name:
            faults.append(
                f"--vary: no name stands before the colon (you wrote {shortened(text)!r}); write for example {EXAMPLE}"
            )
        elif name in used:
            faults.append(f"--vary: two designs are called {name!r}; give each a name of its own")
        used.add(name)
        found[name] = _changes(body, faults)
    if faults:
        fail(*faults)
    return found


def _changes(text: str, faults: list[str]) -> dict[str, Any]:
    changes: dict[str, Any] = {}
    for part in _pieces(text):
        key, equals, value = part.partition("=")
        if not equals or not key.strip():
            faults.append(f"--vary: {shortened(part.strip())!r} is not KEY=VALUE; write for example {EXAMPLE}")
            continue
        if key.strip() in changes:
            faults.append(f"--vary: {shortened(key.strip())!r} is given twice; keep one")
        changes[key.strip()] = _value(value.strip())
    return changes


def _value(text: str) -> Any:
    """A value as TOML; what is none is text, and so is what only pretends to be one."""
    try:
        found = tomllib.loads(f"x = {text}")
    except (ValueError, RecursionError):  # a number of thousands of digits; brackets nested without end
        return text
    return found["x"] if len(found) == 1 else text


def _pieces(text: str) -> Iterator[str]:
    """Parts between commas; a comma within quotes or brackets does not part."""
    depth, quote, begin = 0, "", 0
    for i, char in enumerate(text):
        if quote:
            quote = "" if char == quote else quote
        elif char in "\"'":
            quote = char
        elif char in "[{":
            depth += 1
        elif char in "]}":
            depth -= 1
        elif char == "," and depth <= 0:
            yield text[begin:i]
            begin = i + 1
    yield text[begin:]
