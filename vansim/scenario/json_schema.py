"""What may be written in a scenario file, as a JSON Schema for editors and other programs."""

from __future__ import annotations

import re
from inspect import cleandoc
from typing import Any

from vansim.data import table as table_of
from vansim.quantities import Part
from vansim.scenario.faults import bounds_words
from vansim.scenario.keys import bounds_of, models_below
from vansim.scenario.parts import library
from vansim.scenario.reading import OPTIONAL_PARTS, PART_OF
from vansim.scenario.schema import Scenario
from vansim.units import SUFFIXES, stem_of, suffix_of, symbol

_REF = "#/$defs/"
_EVERYWHERE = {
    "name": "What it is called.",
    "note": "A remark, for people.",
    "price": "One's own price, in the scenario's currency; left out, not known.",
    "mass_kg": "Mass.",
}
"""Words for keys that stand in many tables and are not described in each."""


def json_schema() -> dict[str, Any]:
    """Describe scenario files, with all that the reader accepts beyond the plain models.

    Returns
    -------
    dict
        JSON Schema, draft 2020-12: keys with their unit or, with a unit in the text, without it; parts by name, inline,
        or by name with changes; people by number.
    """
    schema = Scenario.model_json_schema()
    defs: dict[str, Any] = schema.pop("$defs")
    defs["Scenario"] = schema
    models = {model.__name__: model for model in models_below(Scenario)}
    for name, table in defs.items():
        _plain_words(table, _described(models[name]) if name in models else {}, models.get(name))
        _with_units(table)
    _by_measures(defs["Cabin"])
    _with_choices(defs)
    people = defs["Occupants"]["properties"]["people"]
    defs["Occupants"]["properties"]["people"] = _either(people, {"type": "integer", "minimum": 0, "maximum": 20})
    changed: dict[str, Any] = {}
    for path in PART_OF:
        owner = defs["Scenario"] if len(path) == 1 else defs["Bank"]
        model = _refs(owner["properties"][path[-1]])[0]
        _changed(model, defs, changed)
        by_name = _names_of(path)
        words = owner["properties"][path[-1]]["description"]
        ways = (by_name, {"$ref": _REF + model}, {"$ref": f"{_REF}{model}-by-name"})
        owner["properties"][path[-1]] = {**_either(*ways), "description": words}
        top = changed[f"{model}-changed"]
        changed[f"{model}-by-name"] = {
            **top,
            "properties": {"part": by_name, **top["properties"]},
            "required": ["part"],
        }
    root = defs.pop("Scenario")
    return {
        "$schema": "https://json-schema.org/draft/2020-12/schema",
        **root,
        "title": "vansim scenario",
        "$defs": defs | changed,
    }


def _names_of(path: tuple[str | int, ...]) -> dict[str, Any]:
    """Names of the bundled parts of a kind, for completion; one's own may be called anything."""
    kind = PART_OF[path]
    names = [*library().parts[kind], *(["none"] if path in OPTIONAL_PARTS else [])]
    return {
        "description": f"Name of a part: one of the library ({kind}), or of one's own.",
        "anyOf": [{"enum": names}, {"type": "string"}],
    }


def _described(model: type[Part]) -> dict[str, str]:
    """What the docstrings of a model, and of what it is built on, say of each key."""
    words: dict[str, str] = {}
    for one in reversed(model.__mro__):
        words |= attribute_words(one.__doc__ or "")
    return words


def _by_measures(cabin: dict[str, Any]) -> None:
    """A cabin has its faces and volume, or its measures."""
    by_faces = {"required": cabin.pop("required"), "allOf": cabin.pop("allOf", [])}
    ways = [{"anyOf": [{"required": [f"{key}_m"]}, {"required": [key]}]} for key in ("length", "width", "height")]
    cabin["allOf"] = [{"anyOf": [by_faces, {"allOf": ways}]}]


def _either(*schemas: dict[str, Any]) -> dict[str, Any]:
    words = next((schema["description"] for schema in schemas if "description" in schema), None)
    return {"anyOf": list(schemas)} | ({"description": words} if words else {})


def attribute_words(doc: str) -> dict[str, str]:
    """What a docstring's *Attributes* section says of each name.

    Parameters
    ----------
    doc : str
        A numpydoc docstring; ``a, b : type`` speaks of both.

    Returns
    -------
    dict of str to str
    """
    lines = cleandoc(doc).split("\n")
    found: dict[str, str] = {}
    names: list[str] = []
    for line in lines[lines.index("Attributes") + 2 :] if "Attributes" in lines else ():
        head = re.fullmatch(r"(\w+(?:, \w+)*) : .*", line)
        if head:
            names = head.group(1).split(", ")
        elif line.startswith(" "):
            found |= {name: f"{found.get(name, '')} {line.strip()}".strip() for name in names}
    return found


def _plain_words(table: dict[str, Any], fields: dict[str, str], model: type[Part] | None) -> None:
    """Describe every key with its unit, range and default; keep a table's first sentence."""
    for name, field in table.get("properties", {}).items():
        words = (fields.get(name) or _EVERYWHERE.get(name, "")).replace("`", "")
        default = field.get("default")
        if default is None:  # a file cannot hold it; the words say what leaving the key out means
            field.pop("default", None)
        unit = symbol(name)
        if unit and f"[{unit}" not in words:
            words = f"{words.rstrip('.')} [{unit}]."
        bounds = bounds_of(model, (name,)) if model is not None else {}
        if bounds:
            words = f"{words.rstrip('.')}. Allowed: {bounds_words(bounds, name)}."
        if isinstance(default, str | int | float) and default != "":
            words += f" Default: {str(default).lower() if isinstance(default, bool) else default}."
        field["description"] = words.strip()
    if "description" in table:
        table["description"] = table["description"].split("\n\n")[0].replace("\n", " ").replace("`", "")


def _with_units(table: dict[str, Any]) -> None:
    """Let every number with a unit also be text, and stand under its name without the unit."""
    properties = table.get("properties", {})
    stems = [stem_of(name) for name in properties if suffix_of(name)]
    needed: list[str] = list(table.get("required", ()))
    choices = []
    for name in list(properties):
        suffix = suffix_of(name)
        if suffix is None:
            continue
        stem = stem_of(name)
        text = {"type": "string", "description": f"number and unit: {', '.join(SUFFIXES[suffix].written)}"}
        words = properties[name].get("description", "")
        properties[name] = _either(properties[name], text)
        if stem in table["properties"] or stems.count(stem) > 1:
            continue
        properties[stem] = {
            **text,
            "description": f"{words} Written with its unit: {', '.join(SUFFIXES[suffix].written)}.",
        }
        if name in needed:
            needed.remove(name)
            choices.append(_either({"required": [name]}, {"required": [stem]}))
    if "required" in table:
        table["required"] = needed
    if choices:
        table["allOf"] = choices


def _with_choices(defs: dict[str, Any]) -> None:
    """List the names that the tables of constants know; a refrigerant may be written in either case."""
    glass = table_of("glass")
    choices = {
        ("Layer", "material"): list(table_of("materials")),
        ("Face", "paint"): list(table_of("paints")),
        ("Window", "glass"): list(glass["kinds"]),
        ("Window", "cover"): list(dict.fromkeys(["none", *glass["covers"]])),
        ("Cabin", "paint"): list(table_of("paints")),
        ("Cabin", "covers"): list(dict.fromkeys(["none", *glass["covers"]])),
    }
    for (model, key), names in choices.items():
        field = defs[model]["properties"][key]
        written = next(way for way in (field, *field.get("anyOf", ())) if way.get("type") == "string")
        written["enum"] = names
    defs["Cooler"]["properties"]["refrigerant"]["examples"] = list(table_of("refrigerants"))


def _refs(schema: Any) -> list[str]:
    """Names of the models that a schema points to."""
    if isinstance(schema, dict):
        own = [schema["$ref"].removeprefix(_REF)] if "$ref" in schema else []
        return own + [name for value in schema.values() for name in _refs(value)]
    return [name for item in schema for name in _refs(item)] if isinstance(schema, list) else []


def _changed(model: str, defs: dict[str, Any], changed: dict[str, Any]) -> None:
    """Add a copy of a model in which nothing is compulsory: what may be laid over a library part."""
    name = f"{model}-changed"
    if name in changed:
        return
    table = {key: value for key, value in defs[model].items() if key not in ("required", "allOf")}
    changed[name] = table
    table["properties"] = {key: _optional_inside(value, defs, changed) for key, value in table["properties"].items()}


def _optional_inside(schema: Any, defs: dict[str, Any], changed: dict[str, Any]) -> Any:
    """Point single tables to their copies; lists are replaced whole, so their items stay as they are."""
    if not isinstance(schema, dict) or "items" in schema or "prefixItems" in schema:
        return schema
    if "$ref" in schema:
        model = schema["$ref"].removeprefix(_REF)
        _changed(model, defs, changed)
        return {**schema, "$ref": f"{_REF}{model}-changed"}
    return {
        key: [_optional_inside(item, defs, changed) for item in value]
        if isinstance(value, list)
        else _optional_inside(value, defs, changed)
        for key, value in schema.items()
    }
