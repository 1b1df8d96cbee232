"""From a number in a report back to the name of its value: change the value, say everything again, see what moves."""

from __future__ import annotations

import datetime
import difflib
import re
from collections.abc import Callable, Iterator, Mapping
from dataclasses import fields, is_dataclass, replace
from typing import Any

NUMBER = re.compile(r"(?<![A-Za-z\d.])\d+(?:[.:]\d+)*")
CLOCK = re.compile(r"\d\d:\d\d")

Texts = Callable[[Any], list[str]]


def tokens(text: str) -> list[str]:
    """Numbers in a text, in order; those in the names of parts are none."""
    return NUMBER.findall(re.sub(r"part: [\w-]+", "part", text.replace("\u200b", "")))


def moved(value: Any) -> list[Any]:
    """Other values of the same kind, far enough away to be told otherwise."""
    if isinstance(value, bool) or value is None:
        return []
    if isinstance(value, int):
        return [value + 7, value + 1, 3 * value + 11]
    if isinstance(value, float):
        return [value * 1.237 + 0.0413, value * 3.31 + 7.7]
    other = _moved(value)
    return [] if other is None else [other]


def _moved(value: Any) -> Any:
    if isinstance(value, datetime.datetime):
        return value + datetime.timedelta(days=3, hours=1, minutes=41)
    if isinstance(value, datetime.date):
        return value + datetime.timedelta(days=3)
    if isinstance(value, str) and re.search(r"\d", value):
        if CLOCK.fullmatch(value):
            return f"{(int(value[:2]) + 1) % 24:02d}:{(int(value[3:]) + 17) % 60:02d}"
        if re.fullmatch(r"\d\d-\d\d\.\.\d\d-\d\d", value):
            return "06-02..06-29"
        return re.sub(r"\d", lambda digit: str((int(digit.group()) + 3) % 10), value)
    return None


def leaves(value: Any, path: tuple[Any, ...] = ()) -> Iterator[tuple[tuple[Any, ...], Any]]:
    """Paths and values of everything that a frozen record holds."""
    if is_dataclass(value):
        for item in fields(value):
            yield from leaves(getattr(value, item.name), (*path, item.name))
    elif isinstance(value, Mapping):
        for key, below in value.items():
            yield from leaves(below, (*path, key))
    elif isinstance(value, tuple):
        for place, below in enumerate(value):
            yield from leaves(below, (*path, place))
    else:
        yield path, value


def changed(record: Any, path: tuple[Any, ...], value: Any) -> Any:
    """The record with one value replaced."""
    if not path:
        return value
    first, rest = path[0], path[1:]
    if is_dataclass(record):
        return replace(record, **{first: changed(getattr(record, first), rest, value)})
    if isinstance(record, Mapping):
        return {**record, first: changed(record[first], rest, value)}
    return (*record[:first], changed(record[first], rest, value), *record[first + 1 :])


def traced(record: Any, texts: Texts) -> tuple[list[list[str]], list[list[set[str]]]]:
    """Numbers of each text, and for each of them the names of the values that it moves with.

    Parameters
    ----------
    record : dataclass
        Named values.
    texts : callable
        Says everything from a record; as many texts in the same order, or a text is taken to be another.
    """
    before = [tokens(text) for text in texts(record)]
    names: list[list[set[str]]] = [[set() for _ in line] for line in before]
    for path, value in leaves(record):
        for other in [] if str(path[-1]).endswith("_place") else moved(value):  # a place is no value
            after = [tokens(text) for text in texts(changed(record, path, other))]
            if len(after) == len(before):
                _compare(before, after, ".".join(map(str, path)), names)
    return before, names


def _compare(before: list[list[str]], after: list[list[str]], name: str, names: list[list[set[str]]]) -> None:
    """Note the name beside every number that is another now."""
    for line, (old, new) in enumerate(zip(before, after, strict=True)):
        if len(old) == len(new):
            for place, (one, other) in enumerate(zip(old, new, strict=True)):
                names[line][place] |= {name} if one != other else set()
            continue
        for kind, first, last, _, _ in difflib.SequenceMatcher(None, old, new, autojunk=False).get_opcodes():
            for place in range(first, last) if kind != "equal" else ():
                names[line][place].add(name)
