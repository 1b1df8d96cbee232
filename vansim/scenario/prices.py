"""A prices file: what parts cost, in the user's own money.

One table a kind of part, one line a part: its name and its price. The currency may stand at the top. The library that
comes along has no prices, so that no figure of its own can pass for an offer.
"""

from __future__ import annotations

from collections.abc import Collection, Mapping
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any

from vansim.errors import ScenarioError
from vansim.quantities import NotNegative, Part
from vansim.scenario.faults import Path as KeyPath
from vansim.scenario.faults import listed, mean_word, sentence
from vansim.scenario.reading import Reading, checked
from vansim.scenario.toml import read_toml


@dataclass(frozen=True)
class Prices:
    """Prices by kind and name of part.

    Attributes
    ----------
    by_kind : dict of str to dict of str to float
        Kind, then name, to price.
    currency : str
        In which they are; empty where the file does not say.
    source : str
        Name of the file; empty where there is none.
    """

    by_kind: Mapping[str, Mapping[str, float]] = field(default_factory=dict)
    currency: str = ""
    source: str = ""


class _Price(Part):
    price: NotNegative


def read_prices(path: Path, names: Mapping[str, Collection[str]], all_known: bool = True) -> Prices:
    """Read a prices file.

    Parameters
    ----------
    path : Path
        The file.
    names : dict of str to collection of str
        Every kind of part that can have a price, and the names of its parts.
    all_known : bool
        Whether there are no others; then a name that is not among them is a fault.

    Returns
    -------
    Prices

    Raises
    ------
    ScenarioError
        No such file, or not readable as TOML; or every fault in it, with line, key and the nearest right name.
    """
    document = read_toml(path)
    faults: list[tuple[KeyPath, str]] = []
    by_kind: dict[str, Mapping[str, float]] = {}
    currency = document.raw.get("currency", "")
    for kind, table in document.raw.items():
        if kind == "currency":
            if not isinstance(currency, str):
                faults.append(((kind,), sentence("string_type", {}, kind, currency)))
        elif kind not in names:
            faults.append(((kind,), _no_kind(kind, table, names)))
        elif not isinstance(table, Mapping):
            faults.append(((kind,), sentence("dict_type", {}, kind, table) + f": [{kind}], then a line a part"))
        else:
            by_kind[kind] = _prices_of(kind, table, names[kind] if all_known else table, faults)
    if faults:
        raise ScenarioError(document.fault_lines(faults))
    return Prices(by_kind, currency, path.name)


def _prices_of(
    kind: str, table: Mapping[str, Any], known: Collection[str], faults: list[tuple[KeyPath, str]]
) -> dict[str, float]:
    prices = {}
    for name, value in table.items():
        if name not in known:
            hint = mean_word(name, known, 0.4)
            faults.append(((kind, name), f"no part of this name in {kind}; allowed: {listed(known)}{hint}"))
            continue
        reading = Reading(_Price)
        found = checked(_Price, {"price": value}, reading)
        faults += [((kind, name), words) for _, words in reading.faults]
        if found is not None:
            prices[name] = found.price
    return prices


def _no_kind(kind: str, table: Any, names: Mapping[str, Collection[str]]) -> str:
    """What was probably meant by a table that is no kind of part with a price."""
    home = next((known for known, parts in names.items() if kind in parts), None)
    if home is not None:
        return f"a price stands below its kind of part: write it under [{home}]"
    if isinstance(table, Mapping):
        return f"no kind of part that has a price; allowed: {listed(names)}{mean_word(kind, names)}"
    return f"no such key; allowed: currency, and a table a kind of part{mean_word(kind, ['currency'])}"
