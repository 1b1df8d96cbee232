"""The parts library: cabins, coolers, batteries, alternators, panels and chargers by name.

One TOML file a kind, one table a part. The library that comes along is invented; one's own folder of the same file
names adds to it, and replaces a part of the same name.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from functools import cache
from pathlib import Path
from typing import TYPE_CHECKING, Any

from vansim.errors import ScenarioError
from vansim.quantities import Part
from vansim.scenario.faults import listed, mean_word
from vansim.scenario.reading import Reading, checked
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
class Library:
    """Checked parts by kind and name.

    Attributes
    ----------
    parts : dict of str to dict of str to Part
        By kind, then name, in the order of the files.
    written : dict of str to dict of str to dict
        The same as tables with full names and SI numbers, holding only what the file says.
    """

    parts: Mapping[str, Mapping[str, Part]]
    written: Mapping[str, Mapping[str, Mapping[str, Any]]]

    def table(self, kind: str, name: str) -> Mapping[str, Any] | str:
        """Table of a part, or a sentence saying that there is none of that name."""
        found = self.written[kind].get(name)
        if found is not None:
            return found
        known = self.written[kind]
        hint = mean_word(name, known, 0.4)
        return f"no part of this name in {kind} (you wrote {name!r}); allowed: {listed(known)}{hint}"

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
            No such kind or part; with the nearest name.
        """
        if kind not in KINDS:
            raise ScenarioError(
                f"no kind of part is called {kind!r}; allowed: {listed(KINDS)}{mean_word(kind, KINDS, 0.4)}"
            )
        found = self.table(kind, name)
        if isinstance(found, str):
            raise ScenarioError(found)
        return self.parts[kind][name]


def library(folder: str | Path | None = None) -> Library:
    """Read and check all parts.

    Parameters
    ----------
    folder : str or Path, optional
        One's own parts, added to the bundled ones. Files that are not there are passed over.

    Returns
    -------
    Library

    Raises
    ------
    ScenarioError
        Every fault in every file; or the folder does not exist, or holds none of the files.
    """
    bundled = _bundled()
    if folder is None:
        return bundled
    own = Path(folder)
    if not own.is_dir():
        raise ScenarioError(f"{own}: this parts folder does not exist")
    if not any((own / f"{kind}.toml").exists() for kind in KINDS):
        raise ScenarioError(f"{own}: no parts here; allowed file names: {listed(f'{kind}.toml' for kind in KINDS)}")
    added = _read_folder(own)
    return Library(
        {kind: {**bundled.parts[kind], **added.parts[kind]} for kind in KINDS},
        {kind: {**bundled.written[kind], **added.written[kind]} for kind in KINDS},
    )


@cache
def _bundled() -> Library:
    return _read_folder(demo_folder() / "data_demo" / "parts")


def _read_folder(folder: Path) -> Library:
    parts: dict[str, dict[str, Part]] = {kind: {} for kind in KINDS}
    written: dict[str, dict[str, Mapping[str, Any]]] = {kind: {} for kind in KINDS}
    faults: list[str] = []
    for kind, model in KINDS.items():
        path = folder / f"{kind}.toml"
        if not path.exists():
            continue
        try:
            document = read_toml(path)
        except ScenarioError as problem:
            faults += problem.faults
            continue
        for name, raw in document.raw.items():
            part, clean, wrong = _read_part(model, name, raw, document)
            faults += wrong
            if part is not None:
                parts[kind][name], written[kind][name] = part, clean
    if faults:
        raise ScenarioError(faults)
    return Library(parts, written)


def _read_part(model: type[Part], name: str, raw: Any, document: Document) -> tuple[Part | None, dict, list[str]]:
    reading = Reading(model)
    if isinstance(raw, Mapping):
        clean = reading.table(model, {"name": name, **raw}, (), ())
        part = checked(model, clean, reading)
    else:
        clean, part = {}, None
        reading.fault((), f"a part is a table: [{name}], then its keys")
    return part, clean, document.tell([((name, *path), words) for path, words in reading.faults])


def parts_table(kind: str, folder: str | Path | None = None) -> pd.DataFrame:
    """Parts of a kind as rows, for reading.

    Parameters
    ----------
    kind : str
        One of `KINDS`.
    folder : str or Path, optional
        One's own parts, as for `library`.

    Returns
    -------
    DataFrame
        Indexed by part name; columns carry their unit; `note` comes last.

    Raises
    ------
    ScenarioError
        No such kind, with the nearest; or faulty files.
    """
    import pandas as pd

    if kind not in KINDS:
        raise ScenarioError(
            f"no kind of part is called {kind!r}; allowed: {listed(KINDS)}{mean_word(kind, KINDS, 0.4)}"
        )
    rows = {
        name: {**_row(part), "note": getattr(part, "note", "")} for name, part in library(folder).parts[kind].items()
    }
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
    left_out = {"name", "note", "derate_from_c", "derate_per_k", "derate_floor", "mismatch", "wiring", "other"}
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
