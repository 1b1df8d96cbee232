"""Scenario files: TOML in, a checked scenario out, and every fault at once for people.

Readers never compute. A scenario read here knows the folder it came from, and of every value whether it was given, came
with a part, or is a default.
"""

from __future__ import annotations

import os.path
from collections.abc import Iterable, Iterator, Mapping
from pathlib import Path
from types import SimpleNamespace
from typing import Any

from pydantic import TypeAdapter, ValidationError

from vansim.errors import ScenarioError
from vansim.scenario.change import variant_faults
from vansim.scenario.faults import Path as KeyPath
from vansim.scenario.faults import dotted, listed, nearest
from vansim.scenario.fit import fit_faults
from vansim.scenario.origins import origin_of, origins
from vansim.scenario.parts import beside, library_and_faults
from vansim.scenario.prices import Prices
from vansim.scenario.reading import Reading, checked
from vansim.scenario.schema import Scenario
from vansim.scenario.toml import Document, demo_folder, read_toml

__all__ = [
    "ScenarioSource",
    "as_scenario",
    "default_scenario_path",
    "load_scenario",
    "origins",
    "weather_path",
]

DEEPEST = 32
"""Tables in tables; a scenario needs six."""

ScenarioSource = Scenario | str | Path | Mapping[str, Any]
"""A scenario, or what `load_scenario` reads one from."""


def as_scenario(source: ScenarioSource) -> Scenario:
    """Give a scenario as it is, and load a path or mapping.

    Parameters
    ----------
    source : Scenario, str, Path or mapping
        A scenario, a TOML file, or tables as such a file would give them.

    Returns
    -------
    Scenario

    Raises
    ------
    ScenarioError
        As for `load_scenario`.
    """
    return source if isinstance(source, Scenario) else load_scenario(source)


def load_scenario(source: str | Path | Mapping[str, Any]) -> Scenario:
    """Read and check a scenario.

    Parameters
    ----------
    source : str, Path or mapping
        A TOML file, or tables as such a file would give them.

    Returns
    -------
    Scenario

    Raises
    ------
    ScenarioError
        Every fault: file, line, key, what was written, what is allowed, the nearest right name. Named variants are
        checked too.
    """
    if isinstance(source, Mapping):
        document, folder = Document(dict(source)), Path()
    else:
        document, folder = read_toml(Path(source)), Path(source).parent
    return read_scenario(document, folder)


def read_scenario(document: Document, folder: Path) -> Scenario:
    """Check written tables; see `load_scenario`. Relative paths in them start from `folder`."""
    if _depth(document.raw) > DEEPEST:
        raise ScenarioError(f"{document.source or 'scenario'}: tables nested too deeply; allowed: {DEEPEST} deep")
    parts, faulty = library_and_faults(*(_beside(document.raw, key, folder) for key in ("parts", "prices")))
    reading = Reading(Scenario, lambda: parts, document.raw)
    for key in faulty:
        what = "parts folder" if key == "parts" else "prices file"
        reading.faults.append(((key,), f"the {what} cannot be used (you wrote {document.raw[key]!r})"))
    clean = reading.keys(Scenario, document.raw, (), ())
    clean["variants"], written, twice = _flat_variants(clean.get("variants", {}))
    _take_currency(clean, reading, parts.prices)
    scenario = checked(Scenario, clean, reading)
    if scenario is None:
        reading.faults += _cross_faults(clean, reading)
        raise ScenarioError([*(f for some in faulty.values() for f in some), *document.fault_lines(reading.faults)])
    scenario._folder = str(folder)
    scenario._origins = origin_of(scenario, reading)
    _check_variants(scenario, document, written, twice)
    return scenario


def _depth(raw: Any) -> int:
    """How deeply tables and lists lie in one another; looked at level by level, however deep it is."""
    depth, level = 0, [raw]
    while level and depth <= DEEPEST:
        depth += 1
        level = [
            item
            for one in level
            if isinstance(one, Mapping | list | tuple)
            for item in (one.values() if isinstance(one, Mapping) else one)
        ]
    return depth


def _beside(raw: Mapping[str, Any], key: str, folder: Path) -> Path | None:
    """Path that a key names; None where it does not, or is not text, which the check reports."""
    written = raw.get(key)
    return beside(folder, written) if isinstance(written, str) else None


def _take_currency(clean: dict[str, Any], reading: Reading, prices: Prices) -> None:
    """The currency of the prices file is the scenario's, unless it gives another; then they do not fit."""
    given = clean.get("currency") or ""
    if prices.currency and given == "":
        clean["currency"], reading.origin["currency",] = prices.currency, f"prices {prices.source}"
    elif prices.currency and given != prices.currency:
        words = f"the prices in {prices.source} are in {prices.currency!r} (you wrote {given!r}); keep one of the two"
        reading.fault(("currency",), words)


def _cross_faults(clean: Mapping[str, Any], reading: Reading) -> list[tuple[KeyPath, str]]:
    """Whether those tables that are right for themselves fit together, so that these faults are not left for later."""
    good: dict[str, Any] = {}
    for name, info in Scenario.model_fields.items():
        if any(path and path[0] == name for path in reading.spoilt) or () in reading.spoilt:
            continue
        try:
            kind: Any = info.annotation
            value = clean[name] if name in clean else info.get_default(call_default_factory=True)
            good[name] = TypeAdapter(kind).validate_python(value, strict=True)
        except ValidationError:
            continue
    found = []
    for line in fit_faults(SimpleNamespace(**good)):
        key, words = line.split(": ", 1)
        found.append((reading.as_written(tuple(key.split("."))), words))
    return found


# --- variants ---------------------------------------------------------------------------------------------------------


def _flat_variants(tables: Any) -> tuple[Any, dict[tuple[str, str], KeyPath], list[tuple[KeyPath, str]]]:
    """Changes of each variant by their address, where each is written, and the faults of those written twice.

    ``bank.parallel = 4`` comes from TOML as nested tables; as a key with a dot in it, it means the same.
    """
    written: dict[tuple[str, str], KeyPath] = {}
    twice: list[tuple[KeyPath, str]] = []
    if not isinstance(tables, Mapping):
        return tables, written, twice
    flat: dict[str, Any] = {}
    for name, changes in tables.items():
        flat[name] = {} if isinstance(changes, Mapping) else changes
        for path, value in _leaves_of(changes, ("variants", name)) if isinstance(changes, Mapping) else ():
            _, _, first, *rest = path
            key = ".".join([str(first), *([dotted(tuple(rest))] if rest else [])])
            if (name, key) in written:
                twice.append((path, f"{key} is given twice; keep one"))
            flat[name][key], written[name, key] = value, path
    return flat, written, twice


def _leaves_of(table: Mapping[str, Any], path: KeyPath) -> Iterator[tuple[KeyPath, Any]]:
    """Values below a table by their path; an empty table counts as a value. A part comes before what changes it."""
    for key, value in sorted(table.items(), key=lambda item: item[0] != "part"):
        if isinstance(value, Mapping) and value:
            yield from _leaves_of(value, (*path, key))
        else:
            yield (*path, key), value


def _check_variants(
    scenario: Scenario,
    document: Document,
    written: Mapping[tuple[str, str], KeyPath],
    twice: Iterable[tuple[KeyPath, str]],
) -> None:
    """Refuse variants that cannot be made, with the line of each change."""
    faults = list(twice)
    for name, changes in scenario.variants.items():
        for key, below, words in variant_faults(scenario, changes):
            path = written.get((name, key), ("variants", name))
            faults.append((path, f"{below}: {words}" if below else words))
    if faults:
        raise ScenarioError(document.fault_lines(faults))


# --- places -----------------------------------------------------------------------------------------------------------


WEATHER_ENDINGS = frozenset({".epw", ".csv", ".tm2", ".tmy", ".json", ".gz", ".zip"})
"""Endings of files that may hold a typical year."""


def weather_files(folder: Path) -> list[str]:
    """Names of the files in a folder that may hold a typical year."""
    try:
        return sorted(item.name for item in folder.iterdir() if item.suffix.lower() in WEATHER_ENDINGS)
    except OSError:
        return []


def mean_weather(name: str, known: Iterable[str]) -> str:
    """``; did you mean 'tucson.epw'?``: among weather files alone, their endings left out; or nothing."""
    stems = {Path(one).stem: one for one in known}
    near = nearest(Path(name).stem, stems, 0.6)
    return "" if near is None else f"; did you mean {stems[near]!r}?"


def check_weather_file(path: Path) -> None:
    """Refuse a weather file that is not there, with the nearest in its folder and among the bundled.

    Raises
    ------
    ScenarioError
        No such file.
    """
    if os.path.lexists(path):
        return
    climates = demo_folder() / "data_demo" / "climates"
    there, bundled = weather_files(path.parent), [name for name in weather_files(climates) if name.endswith(".epw")]
    near = mean_weather(path.name, [*there, *bundled])
    shown = (
        f"; weather files there: {listed(there)}" if there else f"; bundled ones are in {climates}: {listed(bundled)}"
    )
    raise ScenarioError(f"{path}: no such weather file{shown}{near}")


def default_scenario_path() -> Path:
    """The scenario that is run where none is named: two sleepers on a desert night."""
    return demo_folder() / "scenarios" / "desert-night.toml"


def weather_path(scenario: Scenario) -> Path:
    """File of the typical year that a scenario names.

    Parameters
    ----------
    scenario : Scenario
        Its `weather` is looked for from the scenario file's folder, then among the bundled climates.

    Returns
    -------
    Path

    Raises
    ------
    ScenarioError
        None is named, or it is in neither place; the bundled climates are listed.
    """
    climates = demo_folder() / "data_demo" / "climates"
    bundled = sorted(item.name for item in climates.iterdir() if item.suffix == ".epw")
    if not scenario.weather:
        raise ScenarioError(
            f"weather: no typical-year file is named; take a bundled one ({', '.join(bundled)}) or a file of your own"
        )
    written = Path(os.path.expanduser(scenario.weather))
    tried = [Path(scenario._folder) / written, demo_folder() / written, climates / written]
    for path in tried:
        if path.is_file():
            return path
    near = mean_weather(written.name, [*bundled, *weather_files(Path(scenario._folder))])
    raise ScenarioError(
        f"weather: no such file (you wrote {scenario.weather!r}); looked for {tried[0]} and among the bundled: "
        f"{', '.join(bundled)}{near}"
    )
