"""A weather file as text: unpacked, decoded, its rows counted, and what parsers throw at damaged ones."""

from __future__ import annotations

import gzip
import io
import re
import warnings
import zlib
from collections.abc import Iterator, Sequence
from contextlib import contextmanager
from datetime import datetime
from pathlib import Path

import numpy as np
import numpy.typing as npt

from vansim.errors import WeatherError
from vansim.input_files import read_file

ROWS_SHOWN = 8
FIRST_DAY = np.datetime64("2001-01-01T00", "h")
GZIP_MAGIC = b"\x1f\x8b"
LARGEST_BYTES = 200_000_000
"""Of an unpacked file: sixty minutes' values of a year take a hundredth of it."""


def file_bytes(path: Path) -> bytes:
    """Content of a file, unpacked where it is a gzip archive (told by content).

    Raises
    ------
    WeatherError
        Where it cannot be opened or unpacked.
    """
    try:
        content = read_file(path)
        if not content.startswith(GZIP_MAGIC):
            return content
        with gzip.GzipFile(fileobj=io.BytesIO(content)) as file:
            content = file.read(LARGEST_BYTES + 1)
    except (EOFError, zlib.error, gzip.BadGzipFile) as error:
        raise WeatherError(f"{path}: cannot be unpacked ({error}). Is the file cut short?") from error
    except OSError as error:
        raise WeatherError(f"{path}: cannot be opened ({error.strerror or error})") from error
    if len(content) > LARGEST_BYTES:
        raise WeatherError(f"{path}: unpacks to more than {LARGEST_BYTES / 1e6:.0f} MB")
    return content


def decoded(content: bytes) -> str:
    """Text of a file: by its byte-order mark, else UTF-8, else Windows-1252, in which every older tool writes names."""
    if content.startswith((b"\xff\xfe", b"\xfe\xff")):
        return content.decode("utf-16", errors="replace")
    try:
        return content.decode("utf-8-sig")
    except UnicodeDecodeError:
        return content.decode("cp1252", errors="replace")


def rows_text(rows: Sequence[int] | npt.NDArray[np.intp]) -> str:
    """Row numbers as people write them: ``row 7``, ``rows 3-5, 9 and 40 more``."""
    runs = np.split(np.asarray(rows), np.flatnonzero(np.diff(rows) > 1) + 1)
    words = [f"{r[0]}" if r[0] == r[-1] else f"{r[0]}-{r[-1]}" for r in runs[:ROWS_SHOWN]]
    left = sum(len(r) for r in runs[ROWS_SHOWN:])
    return ("row " if len(rows) == 1 else "rows ") + ", ".join(words) + (f" and {left} more" if left else "")


def hours_text(missing: npt.NDArray[np.bool_]) -> str:
    """Hours of a year as people write them: ``05 Mar 14:00 to 07 Mar 09:00 (43 h), 12 Jun 10:00 and 4 more gaps``."""
    at = np.flatnonzero(missing)
    runs = np.split(at, np.flatnonzero(np.diff(at) > 1) + 1)
    words = []
    for run in runs[:ROWS_SHOWN]:
        first, end = (FIRST_DAY + np.timedelta64(int(h), "h") for h in (run[0], run[-1] + 1))
        begin = first.astype(datetime).strftime("%d %b %H:00")
        words.append(begin if len(run) == 1 else f"{begin} to {end.astype(datetime):%d %b %H:00} ({len(run)} h)")
    left = len(runs) - len(words)
    return ", ".join(words) + (f" and {left} more gaps" if left else "")


def row_faults(text: str, first: int, fields: tuple[int, int], dated: re.Pattern[str]) -> list[str]:
    """Faults in the shape of a comma-separated file's rows, each kind with its rows.

    Parameters
    ----------
    text : str
        Content of the file.
    first : int
        Row of the first hour.
    fields : tuple of int
        Fewest and most fields in a row.
    dated : compiled expression
        What a row of the format begins with.
    """
    lines = text.splitlines()[first - 1 :]
    rows = {n: line for n, line in enumerate(lines, first) if line.strip()}
    shape = [n for n, line in rows.items() if not fields[0] <= line.count(",") + 1 <= fields[1]]
    undated = [n for n, line in rows.items() if not dated.match(line)]
    faults = []
    if shape:
        allowed = f"{fields[0]} to {fields[1]}" if fields[0] < fields[1] else f"{fields[0]}"
        faults.append(
            f"{rows_text(shape)}: {rows[shape[0]].count(',') + 1} fields, allowed {allowed}. Is the file cut short?"
        )
    if undated:
        faults.append(f"{rows_text(undated)}: does not begin with the date and hour of its format")
    if not rows:
        faults.append("no hours after the header")
    return faults


@contextmanager
def reading(source: str, kind: str) -> Iterator[None]:
    """Turn what the parsers throw, and warn of, at a damaged file into one WeatherError."""
    with warnings.catch_warnings():
        warnings.simplefilter("ignore")  # every column is checked afterwards
        try:
            yield
        except (ValueError, KeyError, IndexError, TypeError, AttributeError, OverflowError) as error:
            raise WeatherError(
                f"{source}: cannot be read as {kind} ({error}). Is the file cut short or edited?"
            ) from error
