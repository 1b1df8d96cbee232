"""Disk cache of expensive results, from one start to the next.

An entry is a handful of arrays that follow from stated inputs and from our own sources alone; both are in the name
of its file, so nothing is ever out of date: an edit of a source, or another version of a library, makes a new one. A
file that is damaged, or a folder where nothing can be written, only costs the time of computing again.

Three kinds are held: the year of a weather file (``year``), the sun day by day (``sun``), a cooler's map (``cooler``).
"""

from __future__ import annotations

import hashlib
import io
from collections.abc import Callable, Mapping
from contextlib import suppress
from functools import cache
from importlib.metadata import version
from pathlib import Path
from typing import Any

import numba
import numpy as np
import numpy.typing as npt

from vansim.cache_folder import read_kept, usable_folder, write_kept

Arrays = Mapping[str, npt.NDArray[Any]]

PACKAGE = Path(__file__).parent
LIBRARIES = ("numpy", "pandas", "pvlib", "numba")
ENDING = ".kept"
"""numpy's archive, with its digest."""
MOST_FILES = {"year": 128}
"""Files of a kind, 16 where none is said; beyond that the oldest go. The largest take a megabyte. A folder of places
that are compared is read again and again, so many years are held."""
MOST_OF_OTHERS = 16


@cache  # one entry: reading every source takes as long as a small run
def sources() -> bytes:
    """Hash of every source and table of the package and of the versions of the libraries that results depend on."""
    digest = hashlib.sha256(" ".join(f"{name} {version(name)}" for name in LIBRARIES).encode())
    for path in sorted([*PACKAGE.rglob("*.py"), *PACKAGE.rglob("data/*.toml")]):
        digest.update(path.relative_to(PACKAGE).as_posix().encode())
        digest.update(path.read_bytes())
    return digest.digest()


def cached_folder() -> Path | None:
    """Folder of the entries, beside that of compiled code; None where nothing can be kept."""
    return usable_folder("kept")


def cached(what: str, inputs: bytes, make: Callable[[], Arrays]) -> Arrays:
    """Arrays from disk, or made now and written there.

    Parameters
    ----------
    what : str
        Kind of result, for the file's name.
    inputs : bytes
        Everything that the result depends on beside the sources.
    make : callable
        Makes the arrays; what it raises is raised, and then nothing is written.

    Returns
    -------
    mapping of str to array
        No array of objects.

    Notes
    -----
    Where compiling is switched off, nothing is read or written: that is for reading along, and for seeing what is run.
    """
    config: Any = numba.config
    if config.DISABLE_JIT:
        return make()
    name = hashlib.sha256(what.encode() + sources() + inputs).hexdigest()[:32]
    folder = cached_folder()
    if folder is None:
        return make()
    path = folder / f"{what}-{name}{ENDING}"
    found = _read(path)
    if found is None:
        found = make()
        _write(path, found)
    return found


def _read(path: Path) -> Arrays | None:
    """The entry; None where there is none, or where it is damaged."""
    content = read_kept(path)
    if content is None:
        return None
    with np.load(io.BytesIO(content)) as stored:
        return {name: stored[name] for name in stored.files}


def _write(path: Path, arrays: Arrays) -> None:
    """Whole or not at all; not being able to is no fault."""
    archive = io.BytesIO()
    np.savez(archive, **dict(arrays))  # type: ignore[arg-type]
    if write_kept(path, archive.getvalue()):
        with suppress(OSError):
            _drop_oldest(path)


def _drop_oldest(newest: Path) -> None:
    """A study of many coolers must not push out the year, so each kind is counted for itself."""
    kind = newest.name.rpartition("-")[0]
    most = MOST_FILES.get(kind, MOST_OF_OTHERS)
    for old in sorted(newest.parent.glob(f"{kind}-*{ENDING}"), key=lambda file: file.stat().st_mtime)[:-most]:
        old.unlink(missing_ok=True)
