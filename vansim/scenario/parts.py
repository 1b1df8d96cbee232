"""The parts library: cabins, coolers, batteries, alternators, panels and chargers by name.

One TOML file a kind, one table a part. The library that comes along is invented and has no prices; one's own folder of
the same file names adds to it, and replaces a part of the same name. A prices file says what parts cost.
"""

from __future__ import annotations

import math
import os.path
from collections.abc import Iterator, Mapping
from dataclasses import dataclass, field
from functools import cache, cached_property
from pathlib import Path
from typing import TYPE_CHECKING, Any

from vansim.errors import ScenarioError
from vansim.quantities import Part
from vansim.scenario.faults import listed, mean_word
from vansim.scenario.prices import Prices, read_prices
from vansim.scenario.reading import Reading, checked
from vansim.scenario.schema import Scenario
from vansim.scenario.toml import Document, demo_folder, read_toml
from vansim.van.bank import BankUnit
from vansim.van.cabin import INSIDE_FILM_M2K_W, Cabin
from vansim.van.charging import Alternator, ShoreCharger, SolarArray
from vansim.van.cooler import Cooler

if TYPE_CHECKING:
    import pandas as pd

KINDS: dict[str, type[Part]] = {
    "cabins": Cabin,
    "coolers": Cooler,
    "bank-units": BankUnit,
    "alternators": Alternator,
    "solar-arrays": SolarArray,
    "chargers": ShoreCharger,
}
"""Kind of part, which is also its file's name, to its model."""


@dataclass(frozen=True)
class Entry:
    """One part as a file has it, checked when somebody asks.

    Attributes
    ----------
    model : type
        What it is to become.
    name : str
        As in the file.
    document : Document
        The file.
    """

    model: type[Part]
    name: str
    document: Document

    @cached_property
    def checked(self) -> tuple[Part | None, dict[str, Any], list[str]]:
        """The part, or None; its table with full names and SI numbers; its faults, with file and line."""
        raw, reading = self.document.raw[self.name], Reading(self.model)
        if isinstance(raw, Mapping):
            clean = reading.keys(self.model, {"name": self.name, **raw}, (), ())
            part = checked(self.model, clean, reading)
        else:
            clean, part = {}, None
            reading.fault((), f"a part is a table: [{self.name}], then its keys")
        return part, clean, self.document.fault_lines([((self.name, *path), words) for path, words in reading.faults])


class Shelf(Mapping[str, Part]):
    """Parts of one kind by name, in the order of the files.

    Names cost nothing; a part is checked, and a cooler calibrated, when it is taken, because a scenario names a few of
    many. Taking a faulty part raises a `ScenarioError` with all of its faults.
    """

    def __init__(self, entries: Mapping[str, Entry], prices: Mapping[str, float] | None = None) -> None:
        self._entries = entries
        self._prices = prices or {}

    def __getitem__(self, name: str) -> Part:
        return self._taken(name)[0]

    def __contains__(self, name: object) -> bool:
        return name in self._entries

    def __iter__(self) -> Iterator[str]:
        return iter(self._entries)

    def __len__(self) -> int:
        return len(self._entries)

    def written(self, name: str) -> Mapping[str, Any]:
        """Table of a part with full names and SI numbers, holding only what the file says."""
        return self._taken(name)[1]

    def faults(self) -> list[str]:
        """Faults of all its parts."""
        return [fault for entry in self._entries.values() for fault in entry.checked[2]]

    def _taken(self, name: str) -> tuple[Part, Mapping[str, Any]]:
        part, clean, faults = self._entries[name].checked
        if part is None:
            raise ScenarioError(faults)
        if name in self._prices and "price" not in clean:
            price = {"price": self._prices[name]}
            return part.model_copy(update=price), {**clean, **price}
        return part, clean

    def priced_by_file(self, name: str) -> bool:
        """Whether a part's price is the prices file's; a price in its own table outranks that."""
        return name in self._prices and "price" not in self._entries[name].checked[1]

    def under(self, other: Shelf) -> Shelf:
        """Both shelves, without prices; of two parts of one name the other shelf's."""
        return Shelf({**self._entries, **other._entries})

    def priced(self, prices: Mapping[str, float]) -> Shelf:
        """The same parts with prices by name."""
        return Shelf(self._entries, prices)


@dataclass(frozen=True)
class Library:
    """Parts by kind and name.

    Attributes
    ----------
    parts : dict of str to Shelf
        By kind, then name, in the order of the files.
    prices : Prices
        What the prices file says.
    """

    parts: Mapping[str, Shelf]
    prices: Prices = field(default_factory=Prices)

    def table(self, kind: str, name: str) -> Mapping[str, Any] | str:
        """Table of a part, or a sentence saying that there is none of that name.

        Parameters
        ----------
        kind : str
            One of `KINDS`.
        name : str
            As in its file.

        Returns
        -------
        mapping or str
            Full names and SI numbers, holding only what the file says; or the sentence, with the nearest name.

        Raises
        ------
        ScenarioError
            The part is there and faulty.
        """
        known = self.parts[kind]
        if name in known:
            return known.written(name)
        hint = mean_word(name, known, 0.4)
        return f"no part of this name in {kind} (you wrote {name!r}); allowed: {listed(known)}{hint}"

    def origin(self, kind: str, name: str, key: str) -> str:
        """Where the value of a key of a part came from: ``"part NAME"``, or ``"prices FILE"``."""
        by_file = key == "price" and self.parts[kind].priced_by_file(name)
        return f"prices {self.prices.source}" if by_file else f"part {name}"

    def part(self, kind: str, name: str) -> Part:
        """A part by kind and name.

        Parameters
        ----------
        kind : str
            One of `KINDS`.
        name : str
            As in its file.

        Returns
        -------
        Part

        Raises
        ------
        ScenarioError
            No such kind or part, with the nearest name; or a faulty part.
        """
        if kind not in KINDS:
            raise ScenarioError(
                f"no kind of part is called {kind!r}; allowed: {listed(KINDS)}{mean_word(kind, KINDS, 0.4)}"
            )
        found = self.table(kind, name)
        if isinstance(found, str):
            raise ScenarioError(found)
        return self.parts[kind][name]


def library(folder: str | Path | None = None, prices: str | Path | None = None) -> Library:
    """Read the parts library.

    Parameters
    ----------
    folder : str or Path, optional
        One's own parts, added to the bundled ones. Files that are not there are passed over.
    prices : str or Path, optional
        A prices file: a table a kind of part, with a line a part, such as ``lfp-12v-100ah = 350``; and ``currency``.

    Returns
    -------
    Library
        The bundled parts are checked as they are taken, one's own at once.

    Raises
    ------
    ScenarioError
        Every fault in every file of one's own; or the folder does not exist, or holds none of the files.
    """
    found, faults = library_and_faults(folder, prices)
    if faults:
        raise ScenarioError([fault for some in faults.values() for fault in some])
    return found


def library_of(scenario: Scenario) -> Library:
    """The parts library as a scenario sees it: the bundled one, its own parts folder, its prices.

    Parameters
    ----------
    scenario : Scenario
        Its `parts` and `prices` are looked for from the scenario file's folder.

    Returns
    -------
    Library

    Raises
    ------
    ScenarioError
        As for `library`.
    """
    return library(beside(scenario._folder, scenario.parts), beside(scenario._folder, scenario.prices))


def beside(folder: str | Path, written: str) -> Path | None:
    """A path as a scenario writes it, from the folder of its file; None where it writes none."""
    return Path(folder) / os.path.expanduser(written) if written else None


def library_and_faults(
    folder: str | Path | None, prices: str | Path | None
) -> tuple[Library, dict[str, tuple[str, ...]]]:
    """The library with one's own parts and prices, as far as they can be read.

    Parameters
    ----------
    folder, prices
        As for `library`.

    Returns
    -------
    found : Library
        Without what is faulty.
    faults : dict of str to tuple of str
        Of one's own ``"parts"`` and ``"prices"``; empty where all is well.
    """
    found, faults = _bundled(), {}
    if folder is not None:
        try:
            found = _with_own(found, Path(folder))
        except ScenarioError as problem:
            faults["parts"] = problem.faults
    if prices is not None:
        names = {kind: found.parts[kind] for kind, model in KINDS.items() if "price" in model.model_fields}
        try:
            said = read_prices(Path(prices), names, all_known=not faults)
        except ScenarioError as problem:
            faults["prices"] = problem.faults
        else:
            found = Library({kind: found.parts[kind].priced(said.by_kind.get(kind, {})) for kind in KINDS}, said)
    return found, faults


def _with_own(bundled: Library, own: Path) -> Library:
    if not own.is_dir():
        raise ScenarioError(f"{own}: this parts folder does not exist")
    if not any((own / f"{kind}.toml").exists() for kind in KINDS):
        raise ScenarioError(f"{own}: no parts here; allowed file names: {listed(f'{kind}.toml' for kind in KINDS)}")
    added = _read_folder(own, check=True)
    return Library({kind: bundled.parts[kind].under(added.parts[kind]) for kind in KINDS})


@cache
def _bundled() -> Library:
    return _read_folder(demo_folder() / "data_demo" / "parts", check=False)


def _read_folder(folder: Path, check: bool) -> Library:
    shelves: dict[str, Shelf] = {}
    faults: list[str] = []
    for kind, model in KINDS.items():
        path = folder / f"{kind}.toml"
        entries: dict[str, Entry] = {}
        if path.exists():
            try:
                document = read_toml(path)
                entries = {name: Entry(model, name, document) for name in document.raw}
            except ScenarioError as problem:
                faults += problem.faults
        shelves[kind] = Shelf(entries)
        if check:
            faults += shelves[kind].faults()
    if faults:
        raise ScenarioError(faults)
    return Library(shelves)


def parts_table(kind: str, parts: Library | str | Path | None = None) -> pd.DataFrame:
    """Parts of a kind as rows, for reading.

    Parameters
    ----------
    kind : str
        One of `KINDS`.
    parts : Library, str or Path, optional
        A library, or a folder of one's own parts as for `library`.

    Returns
    -------
    DataFrame
        Indexed by part name; columns carry their unit; `price` only where the price of a part is known, not-a-number
        for those of which it is not; `note` comes last.

    Raises
    ------
    ScenarioError
        No such kind, with the nearest; or every fault of its parts.
    """
    import pandas as pd

    if kind not in KINDS:
        raise ScenarioError(
            f"no kind of part is called {kind!r}; allowed: {listed(KINDS)}{mean_word(kind, KINDS, 0.4)}"
        )
    shelf = (parts if isinstance(parts, Library) else library(parts)).parts[kind]
    if faults := shelf.faults():
        raise ScenarioError(faults)
    priced = any(getattr(part, "price", None) is not None for part in shelf.values())
    rows = {}
    for name, part in shelf.items():
        row = _row(part)
        price = row.pop("price", None)
        money = {"price": math.nan if price is None else price} if priced else {}
        rows[name] = {**row, **money, "note": getattr(part, "note", "")}
    return pd.DataFrame.from_dict(rows, orient="index").rename_axis("part")


def _row(part: Part) -> dict[str, Any]:
    if isinstance(part, Cabin):
        return {
            "length_m": part.length_m,
            "volume_m3": part.volume_m3,
            "shell_m2": sum(face.area_m2 for face in part.faces.values()),
            "glass_m2": sum(window.area_m2 for window in part.windows),
            "ua_w_k": cabin_ua_w_k(part),
            "fan_m3_h": part.fan_m3_h,
        }
    if isinstance(part, Cooler):
        return {
            "nominal_v": part.nominal_v,
            "refrigerant": part.refrigerant,
            "capacity_w": part.rated.capacity_w,
            "power_w": part.rated.power_w,
            "at_outdoor_c": part.rated.outdoor_c,
            "cop": part.rated.capacity_w / part.rated.power_w,
            "airflow_m3_h": part.airflow_m3_h,
            "mass_kg": part.mass_kg,
            "price": part.price,
        }
    if isinstance(part, BankUnit):
        keep = ("chemistry", "nominal_v", "capacity_ah", "mass_kg", "price")
        return {name: getattr(part, name) for name in keep}
    left_out = {
        "name",
        "note",
        "bonnet_rise_k",
        "own_rise_k",
        "warm_up_min",
        "mismatch",
        "wiring",
        "other",
        "string_shade",
    }
    return {name: value for name, value in part.model_dump().items() if name not in left_out}


def cabin_ua_w_k(cabin: Cabin) -> float:
    """Steady conductance of a parked cabin's shell and bare glass, leakage left out.

    Parameters
    ----------
    cabin : Cabin
        Its faces and windows.

    Returns
    -------
    float
        Sum of area times U [W/K], inside films for heat flowing inward and 0.04 m2K/W outside (ISO 6946:2017 table 7).
    """
    shell = sum(face.area_m2 * face.u_w_m2k(INSIDE_FILM_M2K_W[name]) for name, face in cabin.faces.items())
    return float(shell + sum(window.area_m2 * window.u_w_m2k(False) for window in cabin.windows))
