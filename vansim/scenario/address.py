"""How a value in a scenario is addressed: by day and start time, by name, or by number where it has neither.

``day.at-the-camp.22:00.cooling`` is the cooling of the segment that starts at 22:00 on the day named "at the camp";
``loads.fridge.duty`` is the duty of the load named "fridge". Blanks in a name are written as hyphens; a name with a dot
or a quote in it stands in quotes, as in TOML. Paths of keys and positions, such as ``("day", 0, "segment", 3,
"cooling")``, stay inside the program.
"""

from __future__ import annotations

import json
import re
from collections import Counter
from collections.abc import Iterable, Mapping, Sequence
from typing import Any

from vansim.scenario.faults import Path, dotted

NAMING = ("name", "material")
"""Keys that may name an item of a list: a load or a window its name, a layer its material."""
_STEP = re.compile(r"""\s*(?:("(?:[^"\\]|\\.)*")|'([^']*)'|([^".]+?))\s*(?:\.|\Z)""", re.DOTALL)
_LONGEST_NUMBER = 6


def slug(name: str) -> str:
    """Name as it stands in an address: ``"at the camp"`` gives ``"at-the-camp"``."""
    return "-".join(name.split())


def twice(names: Iterable[str]) -> list[str]:
    """Names that stand more than once, blanks and hyphens taken as the same."""
    count = Counter(map(slug, names))
    return [name for name, times in count.items() if times > 1]


def steps_of(address: str) -> list[str]:
    """Steps of an address; a step in quotes may hold dots, in double ones escapes too. Empty where it is malformed."""
    steps, at = [], 0
    while at < len(address):
        match = _STEP.match(address, at)
        if match is None:
            return []
        escaped, literal, bare = match.groups()
        try:
            steps.append(str(json.loads(escaped, strict=False) if escaped else literal or bare or "").strip())
        except ValueError:  # a backslash that begins no escape
            return []
        at = match.end()
    return [] if not all(steps) or address.rstrip().endswith(".") else steps


def own_names(items: Sequence[Any], numbers: bool = True) -> list[str]:
    """Name of each item of a list as an address holds it.

    Empty where it has none, shares it with another, or is called like all of them, ``*``; where items may be addressed
    by number, a name that is one would mean another item.
    """
    names = [slug(next((item[key] for key in NAMING if _text(item, key)), "")) for item in items]
    count = Counter(names)
    return ["" if count[name] > 1 or name == "*" or (numbers and name.isdecimal()) else name for name in names]


def starts(segments: Sequence[Any]) -> list[str]:
    """Start time of each segment of a day; empty where it is missing or stands twice."""
    found = [segment["start"] if _text(segment, "start") else "" for segment in segments]
    count = Counter(found)
    return [start if count[start] == 1 else "" for start in found]


def _text(item: Any, key: str) -> bool:
    return isinstance(item, Mapping) and isinstance(item.get(key), str)


def steps_to(path: Path, tables: Any) -> Path:
    """Path with positions replaced by what the items are called.

    Parameters
    ----------
    path : tuple
        Keys and positions.
    tables : mapping
        Written or complete tables that the path leads through; where they end, positions stay.

    Returns
    -------
    tuple
        For example ``("day", "at-the-camp", "22:00", "cooling")``.
    """
    steps: list[str | int] = []
    node = tables
    for step in path:
        if isinstance(step, int) and isinstance(node, list | tuple) and step < len(node):
            segments, days = len(steps) > 1 and steps[-1] == "segment", steps == ["day"]
            label: str | int = (starts(node) if segments else own_names(node, numbers=not days))[step] or step
            if segments and label != step:
                steps.pop()
            unnamed = label == 0 and days and len(node) == 1
            steps.append("day" if unnamed else label)
            node = node[step]
        else:
            steps.append(step)
            node = node.get(step) if isinstance(node, Mapping) else None
    return tuple(steps)


def address(path: Path, tables: Any) -> str:
    """Path as people write it: ``day.at-the-camp.22:00.cooling``; see `steps_to`."""
    return dotted(steps_to(path, tables))


def below(path: Path, head: Path, tables: Any) -> str:
    """What an address adds to the address of its head: ``22:00.cooling`` below ``day.at-the-camp``."""
    whole, first = steps_to(path, tables), steps_to(head, tables)
    same = next((i for i, (a, b) in enumerate(zip(whole, first, strict=False)) if a != b), min(len(whole), len(first)))
    return dotted(whole[same:])


# --- choosing items ---------------------------------------------------------------------------------------------------


def chosen(items: Sequence[Any], step: str, labels: Sequence[str], numbers: bool) -> list[int]:
    """Positions of the items that a step of an address means.

    Parameters
    ----------
    items : sequence
        Of a list.
    step : str
        ``*`` for all, a label, a name, or a number from 0.
    labels : sequence of str
        What the items are called in addresses; empty for an item without a label.
    numbers : bool
        Whether a number may be written.

    Returns
    -------
    list of int
        Empty where nothing is meant.
    """
    if step == "*":
        return list(range(len(items)))
    names, asked = own_names(items, numbers), slug(step)
    for alike in (str, str.casefold):
        for known in (labels, names):
            found = [i for i, label in enumerate(known) if label and alike(label) == alike(asked)]
            if len(found) == 1:
                return found
    position = as_position(step)
    return [position] if numbers and position is not None and position < len(items) else []


def as_position(step: str) -> int | None:
    """A step of an address that is a number; None where it is not one, or one of no list that anybody writes."""
    return int(step) if step.isdecimal() and len(step) <= _LONGEST_NUMBER else None
