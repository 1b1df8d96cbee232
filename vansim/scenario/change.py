"""Changes written into the tables of a scenario: which change reached which value, and the faults of each."""

from __future__ import annotations

import re
from collections.abc import Mapping
from functools import cache
from typing import Any

from vansim.quantities import Part
from vansim.scenario.address import address, as_position, below, chosen, own_names, slug, starts, steps_of
from vansim.scenario.faults import Path as KeyPath
from vansim.scenario.faults import dotted, fault_line, listed, mean_word, shown
from vansim.scenario.keys import field_for, model_in
from vansim.scenario.parts import library_of
from vansim.scenario.reading import OPTIONAL_PARTS, PART_OF, Reading, checked, tuples
from vansim.scenario.schema import DAY_MIN, Day, PlanSegment, Scenario, minutes
from vansim.van.cabin_measures import MEASURES, measured, remeasured

ChangeFault = tuple[str, str, str]
"""The change that caused it, the key below that, and a sentence."""
SOURCES_SET_ONCE = "says where parts come from before anything is changed; set it in the scenario itself"
_RELATIVE = re.compile(r"[+-]\d+(?:\.\d+)?")
_CLOCK = re.compile(r"\d\d:\d\d")


def variant_faults(scenario: Scenario, changes: Mapping[str, Any]) -> list[ChangeFault]:
    """Faults of a set of changes: the change, the key below it, the sentence; none where it can be made."""
    made, change = varied(scenario, changes)
    return [] if made is not None else change.faults()


def varied(scenario: Scenario, changes: Mapping[str, Any]) -> tuple[Scenario | None, Change]:
    """The varied scenario, still without the origins of its values, or None; and what was changed."""
    data = _lists(scenario.model_dump())
    change = Change(Reading(Scenario, cache(lambda: library_of(scenario)), data))
    for key, value in changes.items():
        change.apply(data, str(key), value)
    if any(path[0] == "cabin" and path[-1] in BY_MEASURES for path, _ in change.reached):
        _measure_again(scenario, data)
    made = checked(Scenario, tuples(data), change.reading)
    if made is not None:
        made._folder = scenario._folder
    return made, change


BY_MEASURES = frozenset({"length_m", "thickness_mm", "material", "r_m2k_w", *MEASURES})
"""Last steps of addresses in a cabin that may be measures."""


def _measure_again(scenario: Scenario, data: dict[str, Any]) -> None:
    """Let what follows from the measures of a cabin follow from the changed ones."""
    before = _lists(scenario.cabin.model_dump())
    if measured(before) and isinstance(data["cabin"], dict) and "faces" in data["cabin"]:
        data["cabin"] = _lists(remeasured(before, data["cabin"]))


class Change:
    """Writes changes into the dump of a scenario, noting faults and which change caused which path."""

    def __init__(self, reading: Reading) -> None:
        self.reading = reading
        self.caused: dict[KeyPath, str] = {}
        self.reached: list[tuple[KeyPath, str]] = []
        self.replaced: set[KeyPath] = set()
        self.key = ""

    def caused_by(self, path: KeyPath, words: str) -> ChangeFault:
        """A fault with the change that caused it, or with its own key."""
        for end in range(len(path), 0, -1):
            if path[:end] in self.caused:
                return self.caused[path[:end]], below(path, path[:end], self.reading.tables), words
        return address(path, self.reading.tables), "", words

    def faults(self) -> list[ChangeFault]:
        """Every fault once."""
        return list(dict.fromkeys(self.caused_by(path, words) for path, words in self.reading.faults))

    def _fault(self, words: str) -> None:
        self.caused[("change", self.key)] = self.key
        self.reading.fault(("change", self.key), words)

    def apply(self, data: dict[str, Any], key: str, value: Any) -> None:
        """Write one change into the tables."""
        self.key = key
        steps = steps_of(key)
        if len(steps) > 1 and steps[-1] == "part":
            steps.pop()
        if not steps:
            self._fault(
                "a key is written as table.key, such as bank.parallel; a name with a dot or a quote in it stands in "
                'quotes, such as day."lot no. 4".22:00.shade'
            )
        elif numbered := _by_number(data, steps):
            self._fault(numbered)
        else:
            self._table(Scenario, data, steps, value, ())

    def _table(self, model: type[Part], data: dict[str, Any], steps: list[str], value: Any, path: KeyPath) -> None:
        if not isinstance(data, dict):
            return  # an earlier change put something here that is no table; the check reports it
        name = field_for(model, steps[0])
        if name is None and model is Day:  # the key of a day's segments need not be written
            self._items(PlanSegment, data.get("segment"), steps, value, (*path, "segment"))
            return
        if name is None:
            self._fault(self._no_key(model, steps, value, path))
            return
        here = (*path, name)
        inner = model_in(model.model_fields[name].annotation)
        if len(steps) == 1:
            self._leaf(model, name, steps[0], data, value, path=here)
        elif inner is None:
            self._fault(f"{self._address(here)} is a single value, not a table")
        elif inner[0] == "one":
            if data.get(name) is None:
                data[name] = {}
                self.replaced.add(here)
            self._table(inner[1], data[name], steps[1:], value, here)
        else:
            self._items(inner[1], data.get(name), steps[1:], value, here)

    def _address(self, path: KeyPath) -> str:
        return address(path, self.reading.tables)

    def _no_key(self, model: type[Part], steps: list[str], value: Any, path: KeyPath) -> str:
        words = self.reading.no_key(model, steps[0], value, path, path)
        at = self._address((*path, steps[0]))
        return words if len(steps) == 1 or not path else fault_line("", at, words)

    def _items(self, model: type[Part], data: Any, steps: list[str], value: Any, path: KeyPath) -> None:
        """Go on into the chosen items of a list or of a table of names."""
        if not isinstance(data, list | dict):
            if data is None:
                self._fault(f"{self._address(path)} is not set")
            return
        step = steps[0]
        found: list[Any]
        if isinstance(data, list):
            found = list(chosen(data, step, _labels(model, data), model not in (Day, PlanSegment)))
        else:
            found = list(data) if step == "*" else [step] if step in data else []
        if not found:
            self._fault(self._none_such(model, data, step, path))
        elif len(steps) == 1:
            self._fault(f"{self.key} is a table; name a key of it: {listed(model.model_fields)}")
        else:
            for item in found:
                self._table(model, data[item], steps[1:], value, (*path, item))

    def _none_such(self, model: type[Part], data: Any, step: str, path: KeyPath) -> str:
        """Nothing is called so; what there is."""
        if model is PlanSegment and isinstance(data, list):
            if step in PlanSegment.model_fields:
                day = self._address(path[:-1])
                first = next(iter(starts(data)), "") or "*"
                return f"{step!r} is a key of a segment: write {day}.{first}.{step}; {_segments_there(data, first)}"
            return f"{self._address(path[:-1])} has no segment {step!r}; {_segments_there(data, step)}"
        there = [label or i for i, label in enumerate(_labels(model, data))] if isinstance(data, list) else list(data)
        if not there:
            return f"{self._address(path)} is empty: there is no {step!r}"
        allowed = listed(["*", *there])
        return f"{self._address(path)} has no {step!r}; allowed: {allowed}{mean_word(step, map(str, there))}"

    def _leaf(self, model: type[Part], name: str, key: str, data: dict[str, Any], value: Any, path: KeyPath) -> None:
        fault = SOURCES_SET_ONCE if path in (("parts",), ("prices",)) else self._undone(path)
        if fault:
            self._fault(fault)
            return
        self.caused[path] = self.key
        self.reached.append((path, self.key))
        now = data.get(name)
        if isinstance(value, str) and _RELATIVE.fullmatch(value) and isinstance(now, int | float):
            step, self.reading.written[path] = float(value), value
            value, key = (now + int(step) if isinstance(now, int) and step.is_integer() else now + step), name
        if value is None and path not in OPTIONAL_PARTS and now is not None and not _may_be_none(model, name):
            self._fault(f"must have a value (you wrote {shown(value)})")
            return
        # faults of the walk carry the change's own key
        for known in [known for known in self.reading.origin if known[: len(path)] == path]:
            del self.reading.origin[known]
        clean = None if value is None else self.reading.value(model, name, key, value=value, path=path, at=path)
        if value is None:
            self.reading.origin[path] = "given"
        if path in PART_OF or isinstance(clean, dict | tuple):
            self.replaced.add(path)
        data[name] = _lists(clean)

    def _undone(self, path: KeyPath) -> str:
        """What to say where a change undoes an earlier one; a special one may follow a general one, not go before."""
        for earlier, key in self.reached:
            if key == self.key or earlier[: len(path)] != path:
                continue
            if earlier != path:
                return f"replaces what {key} changes; write it before that"
            if key.count("*") == self.key.count("*"):
                return f"changes the same value as {key}; keep one"
            if key.count("*") < self.key.count("*"):
                return f"undoes {key}; write it before that"
        return ""


def _labels(model: type[Part], items: list[Any]) -> list[str]:
    """What the items of a list are called in addresses."""
    return starts(items) if model is PlanSegment else own_names(items, numbers=model is not Day)


def _segments_there(segments: list[Any], step: str) -> str:
    """The segments of a day, and the one that was probably meant."""
    tables = [segment for segment in segments if isinstance(segment, dict)]
    there = [f"{s.get('start')} ({slug(s['name'])})" if s.get("name") else str(s.get("start")) for s in tables]
    if _CLOCK.fullmatch(step):
        holding = [str(s["start"]) for s in tables if _holds(s, minutes(step))]
        hint = f"; {step} falls within the one from {holding[0]}" if holding and holding[0] != step else ""
    else:
        hint = mean_word(step, [str(s[key]) for s in tables for key in ("start", "name") if s.get(key)])
    return f"there are {listed(there)}{hint}"


def _holds(segment: dict[str, Any], minute: int) -> bool:
    """Whether a segment, if its times can be read, holds at a minute of the day."""
    clocks = [str(segment.get(key)) for key in ("start", "end")]
    if not all(map(_CLOCK.fullmatch, clocks)):
        return False
    start, end = map(minutes, clocks)
    return (minute - start) % DAY_MIN < ((end - start) % DAY_MIN or DAY_MIN)


def _by_number(data: dict[str, Any], steps: list[str]) -> str:
    """What to write instead of a key that addresses a day or a segment by number; empty where none does."""
    days = data["day"]
    if steps[0] != "day" or len(steps) < 3 or not isinstance(days, list):
        return ""
    names = own_names(days, numbers=False)
    which = chosen(days, steps[1], names, numbers=True)
    rest = steps[3:] if steps[2] == "segment" else steps[2:]
    day_by_number = steps[1] != "*" and not chosen(days, steps[1], names, numbers=False)
    if not which or not rest or not (day_by_number or steps[2] == "segment"):
        return ""
    segments = days[which[0]].get("segment") if isinstance(days[which[0]], dict) else None
    if not isinstance(segments, list):  # not a list after all: that is another fault's to say
        segments = []
    begin = starts(segments) if segments else [""]
    there = f"; {_segments_there(segments, rest[0])}" if segments and len(rest) > 1 else ""
    place = as_position(rest[0])
    if place is not None and place < len(begin):
        rest[0] = begin[place]
    elif len(rest) > 1 and not chosen(segments, rest[0], begin, numbers=False):
        rest[0] = begin[0]
    new = dotted(("day", "*" if steps[1] == "*" else names[which[0]] or steps[1], *rest))
    return f"days are addressed by name, segments by start time: write {new}{there}"


def _may_be_none(model: type[Part], name: str) -> bool:
    info = model.model_fields[name]
    return info.default is None and not info.is_required()


def _lists(value: Any) -> Any:
    """Tables and lists that may be written to."""
    if isinstance(value, Mapping):
        return {key: _lists(item) for key, item in value.items()}
    return [_lists(item) for item in value] if isinstance(value, list | tuple) else value
