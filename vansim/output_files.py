"""Files written together or not at all, and the hash that ties a result to its scenario."""

from __future__ import annotations

import ctypes
import errno
import hashlib
import json
import os
import shutil
import tempfile
from collections.abc import Iterator
from contextlib import contextmanager, suppress
from pathlib import Path
from typing import Any


def write_together(folder: Path, files: dict[str, bytes]) -> list[Path]:
    """Write several files so that either all or none of them change.

    Parameters
    ----------
    folder : Path
        Made if it is not there.
    files : dict of str to bytes
        Name to content.

    Returns
    -------
    list of Path
        The files.

    Raises
    ------
    OSError
        Nothing has changed then.

    Notes
    -----
    A new folder is filled under another name and renamed; a folder of plain files is copied by links, filled, and
    exchanged for the copy. Either is one step of the file system, so even a power cut finds all old or all new files.
    Where that cannot be (a folder with folders in it, the one that the program was started in, a file system without
    exchange), each file is renamed in turn, and taken back on any error; there alone a power cut between two renames
    leaves some of each.
    """
    for name in files:
        if (folder / name).is_dir():
            raise OSError(errno.EISDIR, f"{name} is a folder")
    if not os.path.lexists(folder):
        folder.parent.mkdir(parents=True, exist_ok=True)
        with _aside(folder.parent, folder.name) as aside:
            _fill(aside, files)
            umask = os.umask(0)
            os.umask(umask)
            aside.chmod(0o777 & ~umask)
            aside.rename(folder)
    elif not _exchanged(folder, files):
        _one_by_one(folder, files)
    return [folder / name for name in files]


def write_new(path: Path, content: bytes, overwrite: bool = False) -> None:
    """Write one file whole, in one step; a file that is there stays unless it may be overwritten.

    Parameters
    ----------
    path : Path
        The file; its folder must be there.
    content : bytes
        What it is to hold.
    overwrite : bool
        Whether one that is there may be replaced.

    Raises
    ------
    OSError
        Nothing has changed then; `FileExistsError` where a file is in the way.
    """
    if path.is_dir():
        raise IsADirectoryError(errno.EISDIR, "it is a folder")
    if not overwrite and os.path.lexists(path):
        raise FileExistsError(errno.EEXIST, "it is there already")
    with _aside(path.parent, path.name) as aside:
        _fill(aside, {path.name: content})
        if overwrite:
            os.replace(aside / path.name, path)
        else:
            try:
                os.link(aside / path.name, path)  # refuses a file that came there meanwhile
            except FileExistsError:
                raise
            except OSError:  # a file system without links
                os.rename(aside / path.name, path)


@contextmanager
def _aside(parent: Path, name: str) -> Iterator[Path]:
    """A folder for what is being written, gone afterwards unless it was renamed."""
    aside = Path(tempfile.mkdtemp(prefix=f".{name[:80]}-writing-", dir=parent))
    try:
        yield aside
    finally:
        shutil.rmtree(aside, ignore_errors=True)


def _fill(folder: Path, files: dict[str, bytes]) -> None:
    """Write files down to the disk: a rename must not be there before the content is."""
    for name, content in files.items():
        with open(folder / name, "wb") as file:
            file.write(content)
            file.flush()
            os.fsync(file.fileno())


def _exchanged(folder: Path, files: dict[str, bytes]) -> bool:
    """Put a filled copy in the place of a folder; False, with nothing changed, where that cannot be."""
    if folder.is_symlink() or os.path.ismount(folder) or os.path.samefile(folder, os.curdir):
        return False
    try:
        with _aside(folder.parent, folder.name) as aside:
            for other in folder.iterdir():
                if other.name not in files:
                    os.link(other, aside / other.name, follow_symlinks=False)  # refuses a folder
            _fill(aside, files)
            aside.chmod(folder.stat().st_mode & 0o7777)
            return _exchange(aside, folder)
    except OSError:
        return False


def _exchange(one: Path, other: Path) -> bool:
    """Exchange two folders in one step, where the system can (Linux ``renameat2``, macOS ``renamex_np``)."""
    swap, here = 2, -100  # the flag of either call; paths count from the working folder
    try:
        system = ctypes.CDLL(None, use_errno=True)
        if hasattr(system, "renameat2"):
            return bool(system.renameat2(here, os.fsencode(one), here, os.fsencode(other), swap) == 0)
        if hasattr(system, "renamex_np"):
            return bool(system.renamex_np(os.fsencode(one), os.fsencode(other), swap) == 0)
    except (OSError, TypeError):  # no such library to ask
        pass
    return False


def _one_by_one(folder: Path, files: dict[str, bytes]) -> None:
    """Rename files into a folder one after another, and take them back on any error."""
    with _aside(folder, "files") as aside:
        new, old = aside / "new", aside / "old"
        new.mkdir()
        old.mkdir()
        _fill(new, files)
        done: list[str] = []
        try:
            for name in files:
                done.append(name)
                if os.path.lexists(folder / name):
                    os.rename(folder / name, old / name)
                os.rename(new / name, folder / name)
        except BaseException:
            for name in done:
                with suppress(OSError):
                    if not (new / name).exists():
                        os.unlink(folder / name)
                    if os.path.lexists(old / name):
                        os.rename(old / name, folder / name)
            raise


def scenario_hash(scenario: Any) -> str:
    """Hash of everything that a scenario says, 16 hexadecimal digits."""
    text = json.dumps(scenario.model_dump(mode="json"), sort_keys=True)
    return hashlib.sha256(text.encode()).hexdigest()[:16]
