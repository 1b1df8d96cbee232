"""Changing a scenario: dotted keys and new values give a new, checked scenario; the old one stays."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from vansim.errors import ScenarioError
from vansim.scenario.change import varied
from vansim.scenario.faults import Path as KeyPath
from vansim.scenario.faults import dotted, fault_line
from vansim.scenario.files import ScenarioSource, as_scenario
from vansim.scenario.origins import origin_of, origins_by_path
from vansim.scenario.schema import Scenario


def vary(scenario: ScenarioSource, changes: Mapping[str, Any]) -> Scenario:
    """Make a new scenario with some values changed.

    Parameters
    ----------
    scenario : Scenario, str, Path or mapping
        Stays as it is; or what `load_scenario` reads one from.
    changes : mapping of str to value
        Dotted keys as in a file: ``"bank.parallel": 4``; ``"thermostat.setpoint": "75 degF"``; a part by name,
        ``"cooler": "NAME"``, or ``"none"``. Segments by day and start time, or by their own name:
        ``"day.at-the-camp.22:00.cooling": "eco"``; other items of lists by name, or by number from 0 where they have
        none: ``"loads.fridge.duty": 0.5``, ``"cabin.windows.0.cover": "none"``; all of them by a star:
        ``"day.*.*.shade": 1.0``. A name with a dot or a quote in it stands in quotes. ``"+2"`` and ``"-2"`` add to a
        number. Applied in order; one that undoes an earlier one is refused, but the special may follow the general.

    Returns
    -------
    Scenario

    Raises
    ------
    ScenarioError
        Every fault, each with its key.
    """
    scenario = as_scenario(scenario)
    made, change = varied(scenario, changes)
    if made is None:
        raise ScenarioError(
            [fault_line("", ".".join(k for k in (key, under) if k), words) for key, under, words in change.faults()]
        )
    made._origins = origin_of(made, change.reading, _still_valid(scenario, change.replaced))
    return made


def variants(scenario: ScenarioSource) -> dict[str, Scenario]:
    """Give every variant that a scenario names, in its order.

    Parameters
    ----------
    scenario : Scenario, str, Path or mapping
        With `variants`; or what `load_scenario` reads one from.

    Returns
    -------
    dict of str to Scenario
        Without the scenario itself.

    Raises
    ------
    ScenarioError
        Every fault of every variant.
    """
    scenario = as_scenario(scenario)
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


def _still_valid(scenario: Scenario, replaced: set[KeyPath]) -> dict[KeyPath, str]:
    """Origins that still hold: not those of values below something replaced whole."""
    return {
        path: origin
        for path, origin in origins_by_path(scenario).items()
        if not any(path[:end] in replaced for end in range(1, len(path)))
    }
