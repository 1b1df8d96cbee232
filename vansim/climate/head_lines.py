"""Lines above a table of one's own that say what it is of: ``# latitude: 33.0``."""

from __future__ import annotations

import io
import re
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from difflib import get_close_matches

import pandas as pd

from vansim.climate.rows import decoded, reading
from vansim.climate.weather import Location
from vansim.errors import WeatherError

PLACE = ("latitude", "longitude", "altitude", "utc_offset")
LINE = re.compile(r"#\s*(\w+)\s*[:=]\s*(.*?)\s*$")


@dataclass(frozen=True)
class Head:
    """What stands above the table.

    Attributes
    ----------
    values : dict of str to str
        By key.
    lines : dict of str to int
        File line of each key.
    table_line : int
        Line of the column names.
    """

    values: dict[str, str]
    lines: dict[str, int]
    table_line: int

    def numbers(self, keys: Sequence[str], source: str) -> tuple[dict[str, float], list[str]]:
        """Numbers of those keys that are there, and a fault for each that is none."""
        found, faults = {}, []
        for key in keys:
            if key in self.values:
                try:
                    found[key] = float(self.values[key])
                except ValueError:
                    line = self.lines[key]
                    faults.append(f"{source}: line {line}: {key} is {self.values[key]!r}, allowed: a number")
        return found, faults


def column_names(text: str) -> list[str]:
    """Names in the first line that is not a comment, in lower case."""
    first = next((line for line in text.splitlines() if line.strip() and line[0] != "#"), "")
    return [name.strip().lower() for name in first.split(",")]


def read_head(text: str, source: str, keys: Sequence[str], choices: Mapping[str, Sequence[str]]) -> Head:
    """Read the lines above a table.

    Parameters
    ----------
    text : str
        The whole file.
    source : str
        Its name.
    keys : sequence of str
        What may be said; other comments are passed over.
    choices : mapping of str to sequence of str
        Allowed values of some keys.

    Raises
    ------
    WeatherError
        A key that is nearly one of these, or a value that is not allowed.
    """
    values, lines, table_line, faults = {}, {}, 1, []
    for number, line in enumerate(text.splitlines(), 1):
        if not line.strip():
            continue
        if not line.startswith("#"):
            table_line = number
            break
        found = LINE.match(line)
        if not found:
            continue
        key, value = found[1].lower(), found[2]
        near = get_close_matches(key, keys, n=1, cutoff=0.8)
        if key in keys:
            values[key], lines[key] = value, number
        elif near:
            faults.append(f"{source}: line {number}: {key!r} is not said here; did you mean {near[0]!r}?")
    for key, allowed in choices.items():
        if values.get(key, allowed[0]) not in allowed:
            faults.append(f"{source}: line {lines[key]}: {key} is {values[key]!r}, allowed: {', '.join(allowed)}")
    if faults:
        raise WeatherError(faults)
    return Head(values, lines, table_line)


def place_of(head: Head, source: str, name: str) -> Location:
    """The place that a head tells.

    Raises
    ------
    WeatherError
        What is not said, and what is not a number.
    """
    known, faults = head.numbers(PLACE, source)
    absent = [key for key in PLACE if key not in head.values]
    if absent:
        faults.append(
            f"{source}: no line above the table says {', '.join(absent)}; write for example '# latitude: 33.0'"
        )
    if faults:
        raise WeatherError(faults)
    return Location(**known, name=head.values.get("name", name))


def read_months(
    content: bytes, source: str, head: Head, columns: Mapping[str, tuple[float, float]], needed: Sequence[str] = ()
) -> pd.DataFrame:
    """A small table with a row a month.

    Parameters
    ----------
    content : bytes
        Of the file.
    source : str
        Its name.
    head : Head
        Above it.
    columns : mapping of str to tuple of float
        Allowed columns beside ``month``, each with its least and largest value.
    needed : sequence of str
        Those that must be there.

    Returns
    -------
    DataFrame
        Rows in file order, ``month`` 1 to 12; a cell that is empty is not-a-number.

    Raises
    ------
    WeatherError
        Every column and every cell that cannot be used, with its line.
    """
    with reading(source, "a table with a row a month"):
        frame = pd.read_csv(io.StringIO(decoded(content)), comment="#", skipinitialspace=True, skip_blank_lines=True)
        frame.columns = pd.Index([str(c).strip().lower() for c in frame.columns])
    at, faults = head.table_line, []
    for name in frame.columns:
        if name != "month" and name not in columns:
            near = get_close_matches(name, columns, n=1, cutoff=0.6)
            hint = f"did you mean {near[0]!r}?" if near else f"allowed: month, {', '.join(columns)}"
            faults.append(f"{source}: line {at}: column {name!r}; {hint}")
    faults += [f"{source}: line {at}: there is no column {name!r}" for name in needed if name not in frame]
    for name in [c for c in frame.columns if c == "month" or c in columns]:
        low, high = (1, 12) if name == "month" else columns[name]
        numbers = pd.to_numeric(frame[name], errors="coerce")
        whole = (numbers % 1 == 0) if name == "month" else True
        may_lack = name not in ("month", *needed)
        bad = ~(numbers.between(low, high) & whole) & ~(may_lack & frame[name].isna())
        for row in frame.index[bad]:
            cell = "nothing" if pd.isna(frame[name][row]) else frame[name][row]
            faults.append(f"{source}: row {row + 1} of the table: {name} is {cell}, allowed: {low:g} to {high:g}")
        frame[name] = numbers
    if not len(frame):
        faults.append(f"{source}: the table has no row")
    if faults:
        raise WeatherError(faults)
    return frame.astype({"month": int})
