"""Changing a scenario: dotted keys and new values give a new, checked scenario; the old one stays."""

from __future__ import annotations

import re
from collections.abc import Mapping
from pathlib import Path
from typing import Any

from vansim.errors import ScenarioError
from vansim.quantities import Part
from vansim.scenario.faults import Path as KeyPath
from vansim.scenario.faults import dotted, listed, mean_word, shown
from vansim.scenario.keys import field_for, model_in, wrong_key
from vansim.scenario.origins import origin_of, origins
from vansim.scenario.parts import library
from vansim.scenario.reading import OPTIONAL_PARTS, PART_OF, Reading, checked
from vansim.scenario.schema import Scenario

Told = tuple[str, str, str]
_RELATIVE = re.compile(r"[+-]\d+(?:\.\d+)?")


def vary(scenario: Scenario, changes: Mapping[str, Any]) -> Scenario:
    """Make a new scenario with some values changed.

    Parameters
    ----------
    scenario : Scenario
        Stays as it is.
    changes : mapping of str to value
        Dotted keys as in a file: ``"bank.parallel": 4``; ``"thermostat.setpoint": "75 degF"``; a part by name,
        ``"cooler": "NAME"``, or ``"none"``; items of lists by position from 0, by name, or all:
        ``"day.*.segment.*.shade": 1.0``. ``"+2"`` and ``"-2"`` add to a number. Applied in order.

    Returns
    -------
    Scenario

    Raises
    ------
    ScenarioError
        Every fault, each with its key.
    """
    varied, change = _varied(scenario, changes)
    if varied is None:
        raise ScenarioError(
            [": ".join(p for p in (".".join(k for k in fault[:2] if k), fault[2]) if p) for fault in change.all_told()]
        )
    varied._origins = origin_of(varied, change.reading, _kept(scenario, change.replaced))
    return varied


def variants(scenario: Scenario) -> dict[str, Scenario]:
    """Give every variant that a scenario names, in its order.

    Parameters
    ----------
    scenario : Scenario
        With `variants`.

    Returns
    -------
    dict of str to Scenario
        Without the scenario itself.

    Raises
    ------
    ScenarioError
        Every fault of every variant.
    """
    made: dict[str, Scenario] = {}
    faults: list[str] = []
    for name, changes in scenario.variants.items():
        try:
            made[name] = vary(scenario, changes)
        except ScenarioError as problem:
            faults += [f"{dotted(('variants', name))}.{fault}" for fault in problem.faults]
    if faults:
        raise ScenarioError(faults)
    return made


def variant_faults(scenario: Scenario, changes: Mapping[str, Any]) -> list[Told]:
    """Faults of a set of changes: the change, the key below it, the sentence; none where it can be made."""
    varied, change = _varied(scenario, changes)
    return [] if varied is not None else change.all_told()


def _varied(scenario: Scenario, changes: Mapping[str, Any]) -> tuple[Scenario | None, _Change]:
    """The varied scenario, still without the origins of its values, or None; and what was changed."""
    own = Path(scenario._folder) / scenario.parts if scenario.parts else None
    change = _Change(Reading(Scenario, lambda kind, name: library(own).table(kind, name)))
    data = _lists(scenario.model_dump())
    for key, value in changes.items():
        change.apply(data, str(key), value)
    varied = checked(Scenario, _tuples(data), change.reading)
    if varied is not None:
        varied._folder = scenario._folder
    return varied, change


def _kept(scenario: Scenario, replaced: set[KeyPath]) -> dict[str, str]:
    """Origins that still hold: not those of values below something replaced whole."""
    heads = tuple(f"{dotted(path)}." for path in replaced)
    return {key: origin for key, origin in origins(scenario).items() if not key.startswith(heads)}


class _Change:
    """Writes changes into the dump of a scenario, taking down faults and which key caused which path."""

    def __init__(self, reading: Reading) -> None:
        self.reading = reading
        self.caused: dict[KeyPath, str] = {}
        self.replaced: set[KeyPath] = set()
        self.key = ""

    def told(self, path: KeyPath, words: str) -> Told:
        """A fault with the change that caused it, or with its own key."""
        for end in range(len(path), 0, -1):
            if path[:end] in self.caused:
                return self.caused[path[:end]], dotted(path[end:]), words
        return dotted(path), "", words

    def all_told(self) -> list[Told]:
        """Every fault once."""
        return list(dict.fromkeys(self.told(path, words) for path, words in self.reading.faults))

    def fault(self, words: str) -> None:
        self.caused[("change", self.key)] = self.key
        self.reading.fault(("change", self.key), words)

    def apply(self, data: dict[str, Any], key: str, value: Any) -> None:
        self.key = key
        steps = [step.strip() for step in key.split(".")]
        if len(steps) > 1 and steps[-1] == "part":
            steps.pop()
        if not all(steps):
            self.fault("a key is written as table.key, such as bank.parallel")
            return
        self.table(Scenario, data, steps, value, ())

    def table(self, model: type[Part], data: dict[str, Any], steps: list[str], value: Any, path: KeyPath) -> None:
        if not isinstance(data, dict):
            return  # an earlier change put something here that is no table; the check tells it
        name = field_for(model, steps[0])
        if name is None:
            self.fault(self._no_key(model, steps, value, path))
            return
        here = (*path, name)
        inner = model_in(model.model_fields[name].annotation)
        if len(steps) == 1:
            self.leaf(model, name, steps[0], data, value, here)
        elif inner is None:
            self.fault(f"{dotted(here)} is a single value; nothing lies below it")
        elif inner[0] == "one":
            if data.get(name) is None:
                data[name] = {}
                self.replaced.add(here)
            self.table(inner[1], data[name], steps[1:], value, here)
        else:
            self.items(inner[1], data.get(name), steps[1:], value, here)

    def _no_key(self, model: type[Part], steps: list[str], value: Any, path: KeyPath) -> str:
        words = wrong_key(model, steps[0], value, Scenario)
        return words if len(steps) == 1 or not path else f"{dotted((*path, steps[0]))}: {words}"

    def items(self, model: type[Part], data: Any, steps: list[str], value: Any, path: KeyPath) -> None:
        """Go on into the chosen items of a list or of a table of names."""
        if not isinstance(data, list | dict):
            if data is None:
                self.fault(f"{dotted(path)} has nothing in it")
            return
        keys = list(range(len(data))) if isinstance(data, list) else list(data)
        labels = _labels(data)
        step = steps[0]
        if step == "*":
            chosen = keys
        elif step.isdigit() and int(step) in keys:
            chosen = [int(step)]
        elif step in labels or step in keys:
            chosen = [labels.get(step, step)]
        else:
            chosen = []
        if not chosen:
            there = [*labels] if labels else keys
            near = mean_word(step, map(str, there))
            allowed = listed(["*", *there]) if keys else "nothing, it is empty"
            self.fault(f"{dotted(path)} has no {step!r}; allowed: {allowed}{near}")
        elif len(steps) == 1:
            self.fault(f"{dotted((*path, step))} is a table; name a key of it: {listed(model.model_fields)}")
        else:
            for item in chosen:
                self.table(model, data[item], steps[1:], value, (*path, item))

    def leaf(self, model: type[Part], name: str, key: str, data: dict[str, Any], value: Any, path: KeyPath) -> None:
        self.caused[path] = self.key
        now = data.get(name)
        if isinstance(value, str) and _RELATIVE.fullmatch(value) and isinstance(now, int | float):
            step, self.reading.written[path] = float(value), value
            value, key = (now + int(step) if isinstance(now, int) and step.is_integer() else now + step), name
        if value is None and path not in OPTIONAL_PARTS and now is not None and not _may_be_none(model, name):
            self.fault(f"must have a value (you wrote {shown(value)})")
            return
        # faults of the walk are told by the change's own key
        for known in [known for known in self.reading.origin if known[: len(path)] == path]:
            del self.reading.origin[known]
        clean = None if value is None else self.reading.value(model, name, key, value, path, path)
        if value is None:
            self.reading.origin[path] = "given"
        if path in PART_OF or isinstance(clean, dict | tuple):
            self.replaced.add(path)
        data[name] = _lists(clean)


def _labels(data: Any) -> dict[str, int]:
    """Names of the items of a list to their positions."""
    items = enumerate(data) if isinstance(data, list) else ()
    return {item["name"]: i for i, item in items if isinstance(item, dict) and isinstance(item.get("name"), str)}


def _may_be_none(model: type[Part], name: str) -> bool:
    info = model.model_fields[name]
    return info.default is None and not info.is_required()


def _lists(value: Any) -> Any:
    """Tables and lists that may be written to."""
    if isinstance(value, Mapping):
        return {key: _lists(item) for key, item in value.items()}
    return [_lists(item) for item in value] if isinstance(value, list | tuple) else value


def _tuples(value: Any) -> Any:
    if isinstance(value, dict):
        return {key: _tuples(item) for key, item in value.items()}
    return tuple(_tuples(item) for item in value) if isinstance(value, list) else value
