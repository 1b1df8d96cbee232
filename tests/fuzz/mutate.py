"""Inputs made wrong on purpose: tables, text and bytes, changed as a person, an editor or a bad disk changes them."""

from __future__ import annotations

import copy
import string
from collections.abc import Callable
from random import Random
from typing import Any

ODD: tuple[Any, ...] = (
    0, -1, 1, 2, 64, 1e-20, 1e20, 1e308, -1e308, 0.0, -0.0, 5e-324, 0.999999999, 1.0000001, 10**25, float("nan"),
    float("inf"), "", " ", "x", "-", "nan", "1e999 V", "25 mm", "25 mm mm", "75 degF", "-40 °C", "12:60", "24:00",
    "00:00", "-1", "02-29", "13-40", "../x", "~nosuchuser/x", "/dev/zero", "\x00", "\x07\u202e", "=1+1", "é" * 40,
    "9" * 5000, "[" * 200, "lfp-12v-100ah", "eco", "off", True, False, None, [], {}, [[]], [{}], [1, "a"],
    {"part": "x"}, {"": 1}, ["12:00", "13:00"],
)  # fmt: skip
"""Values that are wrong, or right in the wrong place."""
CELLS = (b"", b"-", b"9999", b"99999", b"-9999", b"nan", b"1e400", b"0", b"-40", b"60", b"x", b'"', b"2000", b"24:00")
PIECES = (b"\x00", b"\xff\xfe", b"\r", b'"', b",", b"\n\n", b"[", b"=", b"\x1f\x8b", b"1e309", b"x" * 9000)
Place = tuple[str | int, ...]


def places(value: Any, at: Place = ()) -> list[Place]:
    """Every place in a nest of tables and lists, itself left out."""
    steps = value.items() if isinstance(value, dict) else enumerate(value) if isinstance(value, list) else ()
    found: list[Place] = []
    for step, item in steps:
        found += [(*at, step), *places(item, (*at, step))]
    return found


def _holder(tables: Any, place: Place) -> Any:
    for step in place[:-1]:
        tables = tables[step]
    return tables


def _number_near(random: Random, value: float) -> float:
    return random.choice(
        (
            -value,
            0.0,
            value * 10 ** random.uniform(-6, 6),
            value * random.uniform(0.5, 2.0),
            value + random.uniform(-1, 1),
        )
    )


def _typo(random: Random, word: str) -> str:
    at = random.randrange(len(word) + 1)
    more = word[:at] + random.choice(string.ascii_lowercase) + word[at:]
    return random.choice((more, word[: at - 1] + word[at:], word.upper()))


def tables(random: Random, base: dict[str, Any], most: int = 4) -> dict[str, Any]:
    """A copy of tables with one to `most` changes: odd values, numbers moved, keys misspelt, tables doubled or gone."""
    changed = copy.deepcopy(base)
    for _ in range(random.randint(1, most)):
        there = places(changed)
        if not there:
            break
        place = random.choice(there)
        holder, step = _holder(changed, place), place[-1]
        now = holder[step]
        kind = random.random()
        if kind < 0.4 and isinstance(now, int | float) and not isinstance(now, bool):
            moved = _number_near(random, float(now))
            holder[step] = (
                round(moved) if isinstance(now, int) and random.random() < 0.8 and abs(moved) < 1e15 else moved
            )
        elif kind < 0.65:
            holder[step] = copy.deepcopy(random.choice(ODD))
        elif kind < 0.75:
            del holder[step]
        elif kind < 0.85 and isinstance(holder, dict):
            holder[_typo(random, str(step))] = holder.pop(step)
        elif kind < 0.93 and isinstance(holder, list):
            holder.insert(random.randrange(len(holder) + 1), copy.deepcopy(now))
        else:
            other = random.choice(there)
            try:
                holder[step] = copy.deepcopy(_holder(changed, other)[other[-1]])
            except (KeyError, IndexError, TypeError):  # gone by an earlier change
                holder[step] = None
    return changed


def _flip(random: Random, text: bytes) -> bytes:
    at = random.randrange(len(text))
    return text[:at] + bytes([random.randrange(256)]) + text[at + 1 :]


def _cut(random: Random, text: bytes) -> bytes:
    return text[: random.randrange(len(text))]


def _line_moved(random: Random, text: bytes) -> bytes:
    lines = text.split(b"\n")
    line = lines[random.randrange(min(len(lines), 40) if random.random() < 0.5 else len(lines))]
    at = random.randrange(len(lines))
    doubled, gone, blank = (
        [*lines[:at], line, *lines[at:]],
        lines[:at] + lines[at + 1 :],
        [*lines[:at], b"", *lines[at:]],
    )
    return b"\n".join(random.choice((doubled, gone, blank)))


def _field_changed(random: Random, text: bytes) -> bytes:
    """One or many cells of a table; in the head as often as in the rows."""
    lines = text.split(b"\n")
    column = random.randrange(30)
    first = random.randrange(min(len(lines), 12)) if random.random() < 0.5 else random.randrange(len(lines))
    cell = random.choice(CELLS)
    for at in range(first, min(len(lines), first + random.choice((1, 1, 1, 5, 100, 9000)))):
        cells = lines[at].split(b",")
        if column < len(cells):
            cells[column] = cell
            lines[at] = b",".join(cells)
    return b"\n".join(lines)


def _inserted(random: Random, text: bytes) -> bytes:
    at = random.randrange(len(text) + 1)
    return text[:at] + random.choice(PIECES) + text[at:]


BYTES: tuple[Callable[[Random, bytes], bytes], ...] = (
    _flip,
    _flip,
    _cut,
    _line_moved,
    _field_changed,
    _field_changed,
    _inserted,
)


def text(random: Random, base: bytes, most: int = 3) -> bytes:
    """A copy of a file with one to `most` changes of bytes, lines or cells."""
    for _ in range(random.randint(1, most)):
        if base:
            base = random.choice(BYTES)(random, base)
    return base
