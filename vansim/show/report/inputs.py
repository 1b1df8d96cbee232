"""What a report rests on: the van as it was taken, and every input with where it came from."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from vansim import phrases
from vansim.scenario.files import origins
from vansim.scenario.schema import Scenario
from vansim.show.report.findings import Findings
from vansim.show.report.sections import Section
from vansim.show.text import wording
from vansim.units import stem_of
from vansim.van.bank import Bank


def assumed(found: Findings, system: str) -> Section:
    """The inputs that matter most, in a table."""
    scenario, weather = found.scenario, found.result.run.weather
    where = origins(scenario)
    people, dogs = len(scenario.occupants.people), len(scenario.occupants.dogs)
    inside = " and ".join(phrases.count(number, noun) for number, noun in ((people, "person"), (dogs, "dog")) if number)
    bank, cooler = scenario.bank, scenario.cooler
    setpoint, limit = (
        phrases.temperature(c, system, None) for c in (scenario.thermostat.setpoint_c, scenario.night.limit_c)
    )
    rows = [
        ("Weather", f"{weather.site.name}, typical year ({weather.kind})", _from(where, "weather")),
        ("Inside", inside or "nobody", _from(where, "occupants")),
        ("Cabin", scenario.cabin.name or "described inline", _from(where, "cabin")),
        ("Cooler", (cooler.name or "described inline") if cooler else "none", _from(where, "cooler")),
        ("Set point, limit", f"{setpoint}, {limit}",
         f"{_from(where, 'thermostat.setpoint_c')}, {_from(where, 'night.limit_c')}"),
        (scenario.night.label.capitalize(), f"{scenario.night.bedtime} to {scenario.night.waking}",
         _from(where, "night.bedtime")),
        ("Bank", f"{phrases.count(bank.units, 'battery')}, {_size_of(bank, system)}",
         _from(where, "bank.unit")),
        ("Reserve", phrases.percent(bank.reserve_soc), _from(where, "bank.reserve_soc")),
    ]  # fmt: skip
    said = (
        "The van, its people and its plan are assumed to be as follows. Every input is listed at the end with its "
        "origin: given (by whoever wrote the scenario), a part of the library, or a default.",
    )
    return Section("assumed", "What was assumed", said, head=("Input", "Value", "From"), rows=tuple(rows))


def _size_of(bank: Bank, system: str) -> str:
    capacity, volts = (
        phrases.quantity(float(value), name, system)
        for value, name in ((bank.capacity_ah, "capacity_ah"), (bank.nominal_v, "nominal_v"))
    )
    return f"{capacity} at {volts}"


def _from(where: Mapping[str, str], key: str) -> str:
    found = dict.fromkeys(o for k, o in where.items() if k == key or k.startswith(f"{key}."))
    return ", ".join(list(found)[:2]) or "default"


def inputs(scenario: Scenario, system: str) -> Section:
    """Every input, gathered by table and origin; nested tables by their place in it."""
    where = origins(scenario)
    groups: dict[str, dict[str, list[str]]] = {}
    for key, value in _leaves(scenario.model_dump(), "").items():
        table, _, name = key.rpartition(".")
        top, _, below = table.partition(".")
        if key == "title" or key.startswith("variants"):
            continue
        # a list left empty has no leaves of its own: the table that it stands in knows
        origin = where.get(key) or where.get(table, "default")
        group = groups.setdefault(f"{top or 'scenario'} ({origin})", {})
        group.setdefault(below, []).append(
            f"{stem_of(name).replace('_', ' ')} {wording.input_words(name, value, system)}"
        )
    terms = tuple(
        (name, "; ".join(f"{place}: {', '.join(said)}" if place else ", ".join(said) for place, said in group.items()))
        for name, group in groups.items()
    )
    return Section("inputs", "Every input", terms=terms)


def _leaves(value: Any, path: str) -> dict[str, Any]:
    if isinstance(value, Mapping) and value:
        items = value.items()
    elif isinstance(value, list | tuple) and value:
        items = enumerate(value)  # type: ignore[assignment]
    else:
        return {path: value}
    out: dict[str, Any] = {}
    for key, item in items:
        out |= _leaves(item, f"{path}.{key}" if path else str(key))
    return out
