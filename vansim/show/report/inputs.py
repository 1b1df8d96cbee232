"""What a report rests on: the van as it was taken, and every input with where it came from."""

from __future__ import annotations

from collections.abc import Mapping

from vansim.scenario.address import addressed_values
from vansim.scenario.files import origins
from vansim.scenario.schema import Scenario
from vansim.show.report.findings import Findings
from vansim.show.report.sections import Section
from vansim.show.text import wording as w
from vansim.units import stem_of


def assumed(found: Findings, system: str) -> Section:
    """The inputs that matter most, in a table."""
    scenario, weather = found.scenario, found.result.run.weather
    where = origins(scenario)
    people, dogs = len(scenario.occupants.people), len(scenario.occupants.dogs)
    inside = " and ".join(
        part for part in (w.count(people, "person") if people else "", w.count(dogs, "dog") if dogs else "") if part
    )
    bank, cooler = scenario.bank, scenario.cooler
    setpoint, limit = (w.temperature(c, system, 1) for c in (scenario.thermostat.setpoint_c, scenario.night.limit_c))
    rows = [
        ("Weather", f"{weather.site.name}, typical year ({weather.kind})", _from(where, "weather")),
        ("Inside", inside or "nobody", _from(where, "occupants")),
        ("Cabin", scenario.cabin.name or "described inline", _from(where, "cabin")),
        ("Cooler", (cooler.name or "described inline") if cooler else "none", _from(where, "cooler")),
        ("Set point, limit", f"{setpoint}, {limit}",
         f"{_from(where, 'thermostat.setpoint_c')}, {_from(where, 'night.limit_c')}"),
        (scenario.night.label.capitalize(), f"{scenario.night.bedtime} to {scenario.night.waking}",
         _from(where, "night.bedtime")),
        ("Bank", f"{w.count(bank.units, 'battery')}, {bank.capacity_ah:.0f} Ah at {bank.nominal_v} V",
         _from(where, "bank.unit")),
        ("Reserve", w.percent(bank.reserve_soc), _from(where, "bank.reserve_soc")),
    ]  # fmt: skip
    said = (
        "The van, its people and its plan were taken as follows; every single input stands at the end, with where it "
        "came from: given (by whoever wrote the scenario), a part of the library, or a default.",
    )
    return Section("assumed", "What was assumed", said, head=("Input", "Value", "From"), rows=tuple(rows))


def _from(where: Mapping[str, str], key: str) -> str:
    found = dict.fromkeys(o for k, o in where.items() if k == key or k.startswith(f"{key}."))
    return ", ".join(list(found)[:2]) or "default"


def inputs(scenario: Scenario, system: str) -> Section:
    """Every input, gathered by table and origin; nested tables by their place in it."""
    where = origins(scenario)
    groups: dict[str, dict[str, list[str]]] = {}
    for key, value in addressed_values(scenario.model_dump()).items():
        table, _, name = key.rpartition(".")
        top, _, below = table.partition(".")
        if key == "title" or key.startswith("variants"):
            continue
        # a list left empty has no leaves of its own: the table that it stands in knows
        origin = where.get(key) or where.get(table, "default")
        group = groups.setdefault(f"{top or 'scenario'} ({origin})", {})
        group.setdefault(below, []).append(f"{stem_of(name).replace('_', ' ')} {w.value_words(name, value, system)}")
    terms = tuple(
        (name, "; ".join(f"{place}: {', '.join(said)}" if place else ", ".join(said) for place, said in group.items()))
        for name, group in groups.items()
    )
    return Section("inputs", "Every input", terms=terms)
