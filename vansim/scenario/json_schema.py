"""What may be written in a scenario file, as a JSON Schema for editors and other programs."""

from __future__ import annotations

import re
from inspect import cleandoc
from typing import Any

from vansim.scenario.keys import models_below
from vansim.scenario.reading import PART_OF
from vansim.scenario.schema import Scenario
from vansim.units import SUFFIXES, stem_of, suffix_of

_REF = "#/$defs/"


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
    docs = {model.__name__: model.__doc__ or "" for model in models_below(Scenario)}
    for name, table in defs.items():
        _plain_words(table, attribute_words(docs.get(name, "")))
        _with_units(table)
    people = defs["Occupants"]["properties"]["people"]
    defs["Occupants"]["properties"]["people"] = _either(people, {"type": "integer", "minimum": 0, "maximum": 20})
    changed: dict[str, Any] = {}
    for path in PART_OF:
        owner = defs["Scenario"] if len(path) == 1 else defs["Bank"]
        model = _refs(owner["properties"][path[-1]])[0]
        _changed(model, defs, changed)
        by_name = {"type": "string", "description": "name of a part in the library"}
        owner["properties"][path[-1]] = _either(by_name, {"$ref": _REF + model}, {"$ref": f"{_REF}{model}-by-name"})
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


def _plain_words(table: dict[str, Any], fields: dict[str, str]) -> None:
    """Describe fields; keep a table's first sentence; leave out defaults that a file cannot hold."""
    for name, words in fields.items():
        if name in table.get("properties", {}):
            table["properties"][name] = {**table["properties"][name], "description": words}
    if "description" in table:
        table["description"] = table["description"].split("\n\n")[0].replace("\n", " ")
    for field in table.get("properties", {}).values():
        if "default" in field and field["default"] is None:
            del field["default"]


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
        properties[name] = _either(properties[name], text)
        if stem in table["properties"] or stems.count(stem) > 1:
            continue
        properties[stem] = text
        if name in needed:
            needed.remove(name)
            choices.append(_either({"required": [name]}, {"required": [stem]}))
    if "required" in table:
        table["required"] = needed
    if choices:
        table["allOf"] = choices


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
