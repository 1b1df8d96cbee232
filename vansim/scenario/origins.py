"""Where every value of a scenario came from: the file, a library part, or a default."""

from __future__ import annotations

from collections.abc import Mapping

from vansim.scenario.address import address
from vansim.scenario.faults import Path
from vansim.scenario.reading import Reading, leaves
from vansim.scenario.schema import Scenario
from vansim.van.cabin_measures import DERIVED, measured


def origin_of(scenario: Scenario, reading: Reading, before: Mapping[Path, str] | None = None) -> dict[Path, str]:
    """Origin of every leaf, by what a reading took down; `before` holds for leaves that it did not touch."""
    found = {}
    for path in leaves(scenario):
        known = next(
            (reading.origin[path[:end]] for end in range(len(path), 0, -1) if path[:end] in reading.origin), None
        )
        found[path] = known or (before or {}).get(path) or _unsaid(scenario, path)
    return found


def _unsaid(scenario: Scenario, path: Path) -> str:
    """Where a value came from that nobody gave: from measures, or it is the default."""
    follows = path[0] == "cabin" and path[1] in DERIVED and measured(vars(scenario.cabin))
    return "measures" if follows else "default"


def origins_by_path(scenario: Scenario) -> dict[Path, str]:
    """Where every value of a scenario came from, by its path of keys and positions."""
    if scenario._origins:
        return dict(scenario._origins)
    reading = Reading(Scenario)
    reading.table(Scenario, scenario.model_dump(exclude_unset=True), (), ())
    return origin_of(scenario, reading)


def origins(scenario: Scenario) -> dict[str, str]:
    """Where every value of a scenario came from.

    Parameters
    ----------
    scenario : Scenario
        Read from a file or mapping, varied, or built in code.

    Returns
    -------
    dict of str to str
        Address, such as ``"bank.unit.capacity_ah"`` or ``"day.at-the-camp.22:00.cooling"``, to ``"given"``,
        ``"part NAME"``, ``"measures"`` (follows from the cabin's) or ``"default"``.
    """
    tables = scenario.model_dump()
    return {address(path, tables): origin for path, origin in origins_by_path(scenario).items()}
