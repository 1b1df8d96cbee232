"""Whether the parts of a scenario fit together: voltages, the plan and what it needs, panels and roof."""

from __future__ import annotations

from collections.abc import Callable
from typing import TYPE_CHECKING, Any

from vansim.scenario.address import twice
from vansim.scenario.trip import trip_faults

if TYPE_CHECKING:
    from vansim.scenario.schema import PlanSegment


def fit_faults(scenario: Any) -> list[str]:
    """Faults of parts that are right for themselves but do not fit together.

    Parameters
    ----------
    scenario : Scenario or namespace
        May lack fields (those that are wrong for themselves); what needs a missing one is passed over.

    Returns
    -------
    list of str
        One sentence each, after the dotted key that it belongs to.
    """
    has = vars(scenario).keys()
    checks: tuple[tuple[set[str], Callable[[Any], list[str]]], ...] = (
        ({"bank"}, _voltage_faults),
        ({"day", "cycle"}, _cycle_faults),
        ({"day", "trip"}, trip_faults),
        ({"day", "cooler"}, _cooling_faults),
        ({"day", "cabin"}, _fan_faults),
        ({"day", "charger", "shore"}, _shore_faults),
        ({"cabin", "solar"}, _roof_faults),
    )
    return [fault for needs, check in checks if needs <= has for fault in check(scenario)]


def _first(scenario: Any, holds: Callable[[PlanSegment], bool]) -> str:
    """The first segment for which something holds, in words; empty where there is none."""
    found = ((day.name, s.start) for day in scenario.day for s in day.segment if holds(s))
    return next((f"the segment from {start} on the day {name!r}" for name, start in found), "")


def _voltage_faults(scenario: Any) -> list[str]:
    bank_v = scenario.bank.nominal_v
    faults = []
    if bank_v not in (12, 24, 48):
        faults.append(f"bank.series: the batteries add up to {bank_v} V; allowed: 12, 24, 48 V")
    for key in ("cooler", "alternator", "charger"):
        part = getattr(scenario, key, None)
        if part is not None and part.nominal_v != bank_v:
            faults.append(f"{key}.nominal_v: {part.nominal_v} V on a {bank_v} V bank; both must be the same")
    return faults


def _cycle_faults(scenario: Any) -> list[str]:
    names = [day.name for day in scenario.day]
    unknown = [name for name in dict.fromkeys(scenario.cycle) if name not in names]
    return [
        *(f"day: two days are called {name!r}" for name in sorted(twice(names))),
        *(f"cycle: no day is called {name!r}; there are {', '.join(names)}" for name in unknown),
    ]


def _cooling_faults(scenario: Any) -> list[str]:
    where = _first(scenario, lambda segment: segment.cooling != "off")
    return [f"day: {where} asks for cooling, but no cooler is fitted"] if where and scenario.cooler is None else []


def _fan_faults(scenario: Any) -> list[str]:
    where = _first(scenario, lambda segment: segment.fan != "off")
    no_fan = scenario.cabin.fan_m3_h == 0.0
    return [f"day: {where} uses the roof fan, but cabin.fan_m3_h is 0"] if where and no_fan else []


def _shore_faults(scenario: Any) -> list[str]:
    where = _first(scenario, lambda segment: segment.shore)
    unplugged = scenario.charger is None or scenario.shore is None
    return [f"day: {where} uses shore power; that needs both [charger] and [shore]"] if where and unplugged else []


def _roof_faults(scenario: Any) -> list[str]:
    roof = scenario.cabin.faces["roof"].area_m2
    if scenario.solar is None or scenario.solar.area_m2 <= roof * 1.05:
        return []
    return [f"solar.area_m2: {scenario.solar.area_m2:g} m2 of panels do not fit on a roof of {roof:g} m2"]
