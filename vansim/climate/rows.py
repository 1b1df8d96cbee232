"""Rows of a weather file: their numbers in words, their shape, and what parsers throw at damaged ones."""

from __future__ import annotations

import warnings
from collections.abc import Callable, Iterator, Sequence
from contextlib import contextmanager
from pathlib import Path

import numpy as np
import numpy.typing as npt

from vansim.errors import WeatherError

ROWS_SHOWN = 8


def rows_text(rows: Sequence[int] | npt.NDArray[np.intp]) -> str:
    """Row numbers as people write them: ``row 7``, ``rows 3-5, 9 and 40 more``."""
    runs = np.split(np.asarray(rows), np.flatnonzero(np.diff(rows) > 1) + 1)
    words = [f"{r[0]}" if len(r) == 1 else f"{r[0]}-{r[-1]}" for r in runs[:ROWS_SHOWN]]
    left = sum(len(r) for r in runs[ROWS_SHOWN:])
    return ("row " if len(rows) == 1 else "rows ") + ", ".join(words) + (f" and {left} more" if left else "")


def row_faults(path: Path, first: int, fields: tuple[int, int], dated: Callable[[list[str]], bool]) -> list[str]:
    """Faults in the shape of a comma-separated file's rows, each kind with its rows.

    Parameters
    ----------
    path : Path
        File.
    first : int
        Row of the first hour.
    fields : tuple of int
        Fewest and most fields in a row.
    dated : callable
        Whether the fields of a row begin with a date of the format.
    """
    with path.open(encoding="utf-8", errors="replace") as file:
        lines = file.read().splitlines()[first - 1 :]
    split = {n: line.split(",") for n, line in enumerate(lines, first) if line.strip()}
    shape = [n for n, parts in split.items() if not fields[0] <= len(parts) <= fields[1]]
    undated = [n for n, parts in split.items() if not dated(parts)]
    faults = []
    if shape:
        allowed = f"{fields[0]} to {fields[1]}" if fields[0] < fields[1] else f"{fields[0]}"
        faults.append(
            f"{path}: {rows_text(shape)}: {len(split[shape[0]])} fields, allowed {allowed}. Is the file cut short?"
        )
    if undated:
        faults.append(f"{path}: {rows_text(undated)}: does not begin with the date and hour of its format")
    if not split:
        faults.append(f"{path}: no hours after the header")
    return faults


@contextmanager
def reading(path: Path, kind: str) -> Iterator[None]:
    """Turn what the parsers throw, and warn of, at a damaged file into one WeatherError."""
    with warnings.catch_warnings():
        warnings.simplefilter("ignore")  # every column is checked afterwards
        try:
            yield
        except (ValueError, KeyError, IndexError, TypeError, AttributeError, OverflowError) as error:
            raise WeatherError(
                f"{path}: cannot be read as {kind} ({error}). Is the file cut short or edited?"
            ) from error
