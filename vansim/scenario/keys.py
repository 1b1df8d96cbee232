"""Which keys belong in which table of a file, and what was probably meant by one that does not."""

from __future__ import annotations

import re
import types
from collections.abc import Iterator
from functools import cache
from typing import Annotated, Any, Union, get_args, get_origin

from vansim.quantities import Part
from vansim.scenario.faults import Path, listed, nearest
from vansim.scenario.hints import meant_key
from vansim.scenario.pitch import Pitch
from vansim.scenario.schema import Night, PlanSegment
from vansim.units import SUFFIXES, stem_of, suffix_of
from vansim.van.bank import Bank
from vansim.van.cabin import Cabin, Face
from vansim.van.charging import SolarArray

RENAMED: dict[type[Part], dict[str, str]] = {
    Cabin: {"leakage_open_per_h": "openings"},
    Face: {"rib_share": "rib_spacing_mm", "rib_m2k_w": "rib_break_m2k_w"},
    Bank: {"health": "state_of_health", "place": "location"},
    Night: {"called": "label"},
    Pitch: {"shelter": "wind_shelter_factor", "ground_warming": "ground"},
    PlanSegment: {"sky_open": "sky_view_factor"},
    SolarArray: {"turn_deg": "azimuth_from_nose_deg"},
}
"""Old keys to new ones, by the table in which they stand. Old keys are refused with the new name."""

# --- what a field holds -----------------------------------------------------------------------------------------------


def model_in(annotation: Any) -> tuple[str, type[Part]] | None:
    """How a field holds parts: ``("one" | "many" | "named", model)``, or None for a plain value."""
    origin, args = get_origin(annotation), get_args(annotation)
    if isinstance(annotation, type) and issubclass(annotation, Part):
        return "one", annotation
    if origin is Annotated:
        return model_in(args[0])
    if origin in (Union, types.UnionType):
        return next((found for found in map(model_in, args) if found), None)
    inner = model_in(args[0]) if origin is tuple else model_in(args[1]) if origin is dict else None
    return None if inner is None else ("many" if origin is tuple else "named", inner[1])


def fields_of(model: type[Part]) -> dict[str, Any]:
    """Field name to annotation."""
    return {name: info.annotation for name, info in model.model_fields.items()}


@cache
def homes(root: type[Part]) -> dict[str, tuple[str, ...]]:
    """Every key that may be written in a file, to the tables in which it belongs (``""`` is the top)."""
    found: dict[str, list[str]] = {}
    for path, model in _tables(root, ""):
        for name in model.model_fields:
            found.setdefault(name, []).append(path)
    return {name: tuple(dict.fromkeys(places)) for name, places in found.items()}


def _tables(model: type[Part], path: str) -> Iterator[tuple[str, type[Part]]]:
    """Tables as their headers are written: ``[bank.unit]``, ``[[day.segment]]``."""
    yield path, model
    for name, annotation in fields_of(model).items():
        inner = model_in(annotation)
        if inner:
            below = ".".join([*([path.strip("[]")] if path else []), name, *(["NAME"] if inner[0] == "named" else [])])
            yield from _tables(inner[1], f"[[{below}]]" if inner[0] == "many" else f"[{below}]")


def models_below(root: type[Part]) -> list[type[Part]]:
    """Every model that a file may hold, the root first, each once."""
    return list(dict.fromkeys(model for _, model in _tables(root, "")))


def field_for(model: type[Part], key: str) -> str | None:
    """Full field name of a key written with or without its unit; None where it means no field, or several."""
    if key in model.model_fields:
        return key
    same = [name for name in model.model_fields if suffix_of(name) and stem_of(name) == key]
    return same[0] if len(same) == 1 else None


def bounds_of(model: type[Part], path: Path) -> dict[str, float]:
    """Limits `gt`, `ge`, `lt`, `le` of the value at a path, as its field states them."""
    for step, key in enumerate(path):
        info = model.model_fields.get(str(key))
        if info is None:  # a position in a list, or a name
            continue
        inner = model_in(info.annotation)
        if inner is not None and step + 1 < len(path):
            model = inner[1]
            continue
        marks = [*info.metadata, *(m for arg in get_args(info.annotation) for m in getattr(arg, "__metadata__", ()))]
        marks += [m for mark in marks for m in getattr(mark, "metadata", ())]
        return {key: getattr(m, key) for m in marks for key in ("gt", "ge", "lt", "le") if hasattr(m, key)}
    return {}


def renamed(model: type[Part], key: str) -> str | None:
    """New name of an old key, written with or without its unit; None where it is no old key."""
    names = RENAMED.get(model, {})
    if key in names:
        return names[key]
    return next((stem_of(new) for old, new in names.items() if suffix_of(old) and stem_of(old) == key), None)


# --- words for a key that does not belong -----------------------------------------------------------------------------


def wrong_key(model: type[Part], key: str, value: Any, root: type[Part], table: str = "") -> str:
    """Say what is wrong with a key that a table (its dotted path) does not have, and what was probably meant."""
    same = [name for name in model.model_fields if suffix_of(name) and stem_of(name) == key]
    if len(same) > 1:
        return f"{key!r} could be {' or '.join(same)}; write one of them"
    unit = _wrong_unit(model, key, value)
    if unit:
        return unit
    old = next((names[key] for names in RENAMED.values() if key in names), None)
    if old in homes(root):
        return f"no such key here; {key!r} is now {old!r}, and {_belongs(homes(root)[old], table)}"
    meant = meant_key(key, model.model_fields)
    if meant:
        return f"no such key; did you mean {meant!r}?"
    moved = key if key in homes(root) else _other_home(root, key, table)
    near = nearest(key, model.model_fields, 0.7)
    if moved and (model is not root or not near):
        meant = ";" if moved == key else f"; did you mean {moved!r}?"
        return f"no such key here{meant} {_belongs(homes(root)[moved], table)}"
    if near:
        return f"no such key; did you mean {near!r}?"
    far = nearest(key, homes(root), 0.8)
    if far:
        return f"no such key; did you mean {far!r}? {_belongs(homes(root)[far], table)}"
    return f"no such key; allowed: {listed(model.model_fields)}"


def _other_home(root: type[Part], key: str, table: str) -> str | None:
    """Key of another table with the same name but for its unit; one below this table first."""
    stems = {key, *(key[: m.start()] for m in re.finditer("_", key))}
    found = [name for name in homes(root) if suffix_of(name) and stem_of(name) in stems]
    return min(found, key=lambda name: not _below(homes(root)[name], table), default=None)


def _below(places: tuple[str, ...], table: str) -> bool:
    return bool(table) and any(place.strip("[]").startswith(f"{table}.") for place in places)


def _belongs(places: tuple[str, ...], table: str) -> str:
    if places[0] == "":
        return "it belongs at the top of the file, before the first [table]"
    best = sorted(places, key=lambda place: not _below((place,), table))
    return "it belongs under " + " or ".join(best[:3])


def _wrong_unit(model: type[Part], key: str, value: Any) -> str:
    """A right name with the unit of something else, or with a unit that has no suffix."""
    pieces = key.split("_")
    for end in range(len(pieces) - 1, 0, -1):
        stem, ending = "_".join(pieces[:end]), "_".join(pieces[end:])
        names = [name for name in model.model_fields if suffix_of(name) and stem_of(name) == stem]
        if len(names) != 1:
            continue
        suffix = suffix_of(names[0]) or ""
        unit = SUFFIXES[suffix]
        meant = next((w for w in unit.written if _plain(w) in (_plain(ending), "deg" + _plain(ending))), None)
        number = f"{value:g}" if isinstance(value, int | float) and not isinstance(value, bool) and meant else "..."
        example = f'{stem} = "{number} {meant or next(iter(unit.written))}"'
        return (
            f"the unit expected here is {unit.symbol} (you wrote {ending!r}): {names[0]} = ..., or with a unit, "
            f"{example}; allowed units: {listed(unit.written)}"
        )
    return ""


def _plain(unit: str) -> str:
    return re.sub(r"[^a-z0-9]", "", unit.lower())
