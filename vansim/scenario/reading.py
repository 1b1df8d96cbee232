"""From written tables to checked parts: names and units first, then the values.

The walk follows the models: it knows at every table which keys belong there, reads units, puts in library parts, and
collects every fault with the path of its key. What it hands on has full names and SI numbers, and the models check it.
"""

from __future__ import annotations

import re
from collections.abc import Callable, Iterator, Mapping
from dataclasses import dataclass, field
from typing import Any, Literal, Protocol, TypeVar, get_args, get_origin

from pydantic import ValidationError

from vansim.quantities import Part
from vansim.scenario.address import address
from vansim.scenario.faults import Path, listed, mean_word, sentence, shown
from vansim.scenario.hints import INLINE, heading_hint, meant_key, text_hint, unit_words
from vansim.scenario.keys import bounds_of, field_for, model_in, renamed, wrong_key
from vansim.scenario.schema import Occupants
from vansim.units import parse_quantity, suffix_of
from vansim.van.cabin_measures import MEASURES

P = TypeVar("P", bound=Part)
PART_OF: dict[Path, str] = {
    ("cabin",): "cabins",
    ("cooler",): "coolers",
    ("bank", "unit"): "bank-units",
    ("alternator",): "alternators",
    ("solar",): "solar-arrays",
    ("charger",): "chargers",
}
"""Tables of a scenario that may name a part, and the kind of part."""
DOGS = "a list of dogs by mass, such as dogs = [{ mass_kg = 20 }, { mass_kg = 8 }]"
OPTIONAL_PARTS = {("cooler",), ("alternator",), ("solar",), ("charger",)}


class PartsSource(Protocol):
    """What a walk asks of the parts library."""

    def table(self, kind: str, name: str) -> Mapping[str, Any] | str:
        """A part's full written table, or a sentence saying that there is none."""

    def origin(self, kind: str, name: str, key: str) -> str:
        """Where the value of a key of a part came from."""


# --- the walk ---------------------------------------------------------------------------------------------------------


@dataclass
class Reading:
    """What a walk has found.

    Attributes
    ----------
    root : type
        Model at the top, for saying where a key belongs.
    library : callable or None
        Gives the parts library; called when a part is named.
    tables : mapping or None
        What is read, for addresses in sentences.
    faults : list of (path, sentence)
        All so far; paths as written.
    written : dict of path to value
        Full path to what stood in the file, where the walk changed it.
    spelled : dict of path to path
        Full path to the path as written, where they differ.
    origin : dict of path to str
        Leaves: ``"given"``, ``"part NAME"`` or ``"prices FILE"``.
    """

    root: type[Part]
    library: Callable[[], PartsSource] | None = None
    tables: Mapping[str, Any] | None = None
    faults: list[tuple[Path, str]] = field(default_factory=list)
    written: dict[Path, Any] = field(default_factory=dict)
    spelled: dict[Path, Path] = field(default_factory=dict)
    origin: dict[Path, str] = field(default_factory=dict)
    spoilt: set[Path] = field(default_factory=set)

    def fault(self, path: Path, words: str, full: Path | None = None) -> None:
        """Take down a fault; `full` is the path whose value is now unknown."""
        self.faults.append((path, words))
        self.spoilt.add(path if full is None else full)

    def as_written(self, path: Path) -> Path:
        """Path as it stands in the file."""
        for end in range(len(path), 0, -1):
            if path[:end] in self.spelled:
                return (*self.spelled[path[:end]], *path[end:])
        return path

    def table(self, model: type[Part], raw: Any, path: Path, at: Path) -> object:
        """Clean one table; `path` has full names, `at` the written ones. A thing that is no table passes as it is."""
        if path in PART_OF and self.library is not None:
            return self._part(model, raw, path, at)
        return self.keys(model, raw, path, at) if isinstance(raw, Mapping) else raw

    def keys(self, model: type[Part], raw: Mapping[str, Any], path: Path, at: Path) -> dict[str, Any]:
        """Clean the keys of one table and their values, as `table`."""
        clean: dict[str, Any] = {}
        for key, value in raw.items():
            name = field_for(model, key) if isinstance(key, str) else None
            here = (*at, key)
            if name is None:
                self.fault(here, self.no_key(model, str(key), value, path, at), (*path, key))
            elif name in clean:
                self.fault(here, f"given twice, with and without its unit; keep {name!r}", (*path, name))
            else:
                full = (*path, name)
                if here != full:
                    self.spelled[full] = here
                clean[name] = self.value(model, name, key, value=value, path=full, at=here)
        return clean

    def no_key(self, model: type[Part], key: str, value: Any, path: Path, at: Path) -> str:
        """Say what is wrong with a key that a table does not have: an old name, or a wrong one."""
        new = renamed(model, key)
        if new is None:
            return wrong_key(model, key, value, self.root, _header(path))
        return f"{address((*at, key), self.tables)} is called {address((*at, new), self.tables)}"

    def value(self, model: type[Part], name: str, key: str, value: Any, path: Path, at: Path) -> object:
        """Clean the value of one field."""
        inner = model_in(model.model_fields[name].annotation)
        if model is Occupants and name == "people" and isinstance(value, int) and not isinstance(value, bool):
            value = self._people(value, path, at)
        if model is Occupants and isinstance(value, int | float | str):
            shape = "a number, such as people = 2, or a list of people" if name == "people" else DOGS
            self.fault(at, f"must be {shape} (you wrote {shown(value)})", path)
            return ()
        if inner is None or (inner[0] == "one" and not isinstance(value, Mapping) and path not in PART_OF):
            return self._leaf(model, name, key, value, path, at=at)
        how, part = inner
        if how == "one":
            return self.table(part, value, path, at)
        if how == "many":
            if not isinstance(value, list | tuple):
                return value
            return tuple(self.table(part, item, (*path, i), (*at, i)) for i, item in enumerate(value))
        return self._named(part, model.model_fields[name].annotation, value, path, at)

    def _people(self, count: int, path: Path, at: Path) -> Any:
        if not 0 <= count <= 20:
            self.fault(at, f"out of range (you wrote {shown(count)}); allowed: 0 to 20, or a list of people", path)
            return ()
        self.origin[path] = "given"
        return tuple({} for _ in range(count))

    def _named(self, part: type[Part], annotation: Any, value: Any, path: Path, at: Path) -> Any:
        if not isinstance(value, Mapping):
            return value
        keys = get_args(annotation)[0]
        allowed = get_args(keys) if get_origin(keys) is Literal else None
        clean = {}
        for key, item in value.items():
            if allowed is not None and key not in allowed:
                hint = mean_word(str(key), allowed)
                self.fault((*at, key), f"no such name; allowed: {listed(allowed)}{hint}", (*path, key))
            else:
                clean[key] = self.table(part, item, (*path, key), (*at, key))
        return clean

    def _leaf(self, model: type[Part], name: str, key: str, value: Any, path: Path, at: Path) -> Any:
        self.origin[path] = "given"
        suffix = suffix_of(name)
        annotation = model.model_fields[name].annotation
        if suffix is not None and isinstance(value, str):
            self.written[path] = value
            try:
                number = parse_quantity(value, suffix)
            except ValueError as fault:
                bounds = bounds_of(model, (name,))
                words = heading_hint(value) if suffix == "deg" else text_hint(value, key, name, bounds)
                self.fault(at, f"{fault}{words}", path)
                return value
            whole = annotation is int or get_origin(annotation) is Literal
            return int(number) if whole and number == int(number) else number
        if key != name and isinstance(value, int | float) and not isinstance(value, bool):
            self.fault(at, unit_words(value, key, name, bounds_of(model, (name,))), path)
        return tuples(value)

    def _part(self, model: type[Part], raw: Any, path: Path, at: Path) -> Any:
        """A part by name, inline, or by name with keys that override the library's."""
        if raw == "none" and path in OPTIONAL_PARTS:
            return None
        if isinstance(raw, Mapping) and "part" not in raw:
            return self.keys(model, raw, path, at)
        if not isinstance(raw, str | Mapping):
            table = INLINE[str(path[-1])]
            words = f"must be a part's name in quotes, or a table such as {table} (you wrote {shown(raw)})"
            self.fault(at, f"{words}; `vansim parts {PART_OF[path]}` lists names", path)
            return {}
        named = isinstance(raw, str)
        name = raw if isinstance(raw, str) else raw["part"]
        where = at if named else (*at, "part")
        changes = (
            {} if isinstance(raw, str) else self.keys(model, {k: v for k, v in raw.items() if k != "part"}, path, at)
        )
        if not isinstance(name, str):
            self.fault(where, f"must be a part's name in quotes (you wrote {shown(name)})", path)
            return changes
        assert self.library is not None
        library, kind = self.library(), PART_OF[path]
        found = library.table(kind, name)
        if isinstance(found, str):
            self.fault(where, found, path)
            return changes
        if "faces" in found and (measure := next((key for key in MEASURES if key in changes), None)):
            words = f"the cabin {name!r} of the library has faces of its own; leave out 'part', and give length_m too"
            self.fault(self.as_written((*path, measure)), words)
        for leaf in _leaves(found, path):
            self.origin.setdefault(leaf, library.origin(kind, name, str(leaf[len(path)])))
        return merged(found, changes)


def _header(path: Path) -> str:
    """Table's path as in its header, positions left out."""
    return ".".join(part for part in path if isinstance(part, str))


def merged(base: Mapping[str, Any], changes: Mapping[str, Any]) -> dict[str, Any]:
    """Tables laid over one another, key by key; lists are replaced whole."""
    out = dict(base)
    for key, value in changes.items():
        below = out.get(key)
        both = isinstance(below, Mapping) and isinstance(value, Mapping)
        out[key] = merged(below, value) if both else value  # type: ignore[arg-type]
    return out


def tuples(value: object) -> object:
    """The same value with its lists as tuples, at every depth."""
    if isinstance(value, list | tuple):
        return tuple(tuples(item) for item in value)
    if isinstance(value, Mapping):
        return {key: tuples(item) for key, item in value.items()}
    return value


def _leaves(value: Any, path: Path) -> Iterator[Path]:
    if isinstance(value, Mapping) and value:
        for key, item in value.items():
            yield from _leaves(item, (*path, key))
    elif isinstance(value, list | tuple) and value:
        for i, item in enumerate(value):
            yield from _leaves(item, (*path, i))
    else:
        yield path


def leaves(part: Part) -> Iterator[Path]:
    """Path of every plain value in a checked part."""
    return _leaves(part.model_dump(), ())


# --- the check --------------------------------------------------------------------------------------------------------


def checked(model: type[P], clean: Any, reading: Reading, at: Path = ()) -> P | None:
    """Build a part from a cleaned table; its faults join the reading's.

    Parameters
    ----------
    model : type
        What to build.
    clean : dict
        From `Reading.table`.
    reading : Reading
        The walk so far; faults that only follow from one already known are left out.
    at : tuple
        Path of the table.

    Returns
    -------
    Part or None
        None where anything is wrong, now or before.
    """
    try:
        part = model.model_validate(clean)
    except ValidationError as problem:
        for error in problem.errors(include_url=False):
            _take_down(error, model, reading, at)
        return None
    return None if reading.faults else part


def _take_down(error: Any, model: type[Part], reading: Reading, at: Path) -> None:
    path: Path = (*at, *(part for part in error["loc"] if part not in ("str", "Cover", "[key]")))
    if "str" in error["loc"] and isinstance(error["input"], Mapping):
        return  # a cover given as a table: the branch for names has nothing to say
    if "Cover" in error["loc"] and isinstance(error["input"], str):
        return
    kind, ctx = error["type"], error.get("ctx", {})
    if kind == "too_short" and len(error["input"]) >= ctx["min_length"]:
        return  # only its items were refused
    whole = kind == "value_error"
    if any(path[: len(bad)] == bad or (whole and bad[: len(path)] == path) for bad in reading.spoilt):
        return
    written = reading.written.get(path, error["input"])
    name = str(path[-1]) if path else ""
    others = [str(bad[-1]) for bad in reading.spoilt if bad and bad[:-1] == path[:-1]]
    if kind == "missing" and any(meant_key(other, [name]) for other in others):
        return  # it is there under another name, which has been said
    words = sentence(kind, {**bounds_of(model, path[len(at) :]), **ctx}, name, written, error["msg"])
    place = path[:-1] if kind == "missing" else path
    for line in words.split("\n"):
        key = _leading_key(line) if whole and not path else None
        if key:
            reading.faults.append((reading.as_written(key[0]), key[1]))
        else:
            reading.faults.append((reading.as_written(place), line))
    reading.spoilt.add(path)


def _leading_key(line: str) -> tuple[Path, str] | None:
    """``"solar.area_m2: too large"`` as path and sentence."""
    match = re.match(r"([a-z_0-9]+(?:\.[a-z_0-9]+)*): (.+)", line, re.DOTALL)
    if match is None:
        return None
    parts = match.group(1).split(".")
    return tuple(int(p) if p.isdigit() else p for p in parts), match.group(2)
