"""The user's own folder of things kept to start sooner, and when it is left alone.

Compiled code is read back as pickles, which can do anything that the user can. So the folder is made for the user
alone, and one that somebody else owns or can write to is neither read nor written. Nothing kept is ever needed: where
there is no folder, everything is worked out in memory, and one line on the error output says why.
"""

from __future__ import annotations

import hashlib
import os
import stat
import sys
import tempfile
from contextlib import suppress
from pathlib import Path

from vansim.input_files import read_file

DIGEST = hashlib.sha256().digest_size
LARGEST_BYTES = 64_000_000
_SAID: set[str] = set()


def cache_root() -> Path | None:
    """Folder of everything that is kept: in ``$VANSIM_CACHE``, or the user's cache folder; None where there is none."""
    root = os.environ.get("VANSIM_CACHE") or os.environ.get("XDG_CACHE_HOME")
    if root:
        return Path(root) / "vansim"
    try:
        return Path.home() / ".cache" / "vansim"
    except RuntimeError:  # no HOME, and a user whom the system does not know
        return None


def usable_folder(*inside: str) -> Path | None:
    """A folder inside `cache_root`, made where it is missing.

    Parameters
    ----------
    *inside : str
        Names of the folders on the way.

    Returns
    -------
    Path or None
        None where it cannot be made, or where somebody else could have put something there; that is said once.
    """
    root = cache_root()
    if root is None:
        say_once("no home folder: nothing is kept for the next start")
        return None
    folders = [root]
    for name in inside:
        folders.append(folders[-1] / name)
    try:
        root.parent.mkdir(parents=True, exist_ok=True)
        for folder in folders:
            with suppress(FileExistsError):
                folder.mkdir(mode=0o700)
            why = _not_ours(folder)
            if why:
                say_once(f"{folder}: {why}; nothing there is used, and nothing is kept for the next start")
                return None
    except (OSError, ValueError) as problem:
        say_once(f"{root}: {getattr(problem, 'strerror', '') or problem}; nothing is kept for the next start")
        return None
    return folders[-1]


def _not_ours(folder: Path) -> str:
    """Why a folder is not to be trusted; empty where it is the user's own."""
    found = folder.stat()
    if not stat.S_ISDIR(found.st_mode):
        return "not a folder"
    if hasattr(os, "geteuid"):
        if found.st_uid != os.geteuid():
            return "it belongs to another user"
        if found.st_mode & (stat.S_IWGRP | stat.S_IWOTH):
            return f"others can write to it (allow it to yourself alone: chmod go-w {folder})"
    return ""


def read_kept(path: Path) -> bytes | None:
    """Content of a kept file; None where there is none, or where it is not to the last bit what was written."""
    try:
        content = read_file(path, LARGEST_BYTES)
    except OSError:
        return None
    if hashlib.sha256(content[DIGEST:]).digest() != content[:DIGEST]:
        return None
    return content[DIGEST:]


def write_kept(path: Path, content: bytes) -> bool:
    """Keep a content with its digest: whole or not at all, whoever else writes the same.

    Parameters
    ----------
    path : Path
        In a folder from `usable_folder`.
    content : bytes
        What `read_kept` will give.

    Returns
    -------
    bool
        False where it cannot be written; that is no fault, and is said once.
    """
    try:
        handle, part = tempfile.mkstemp(suffix=".part", dir=path.parent)
        try:
            with os.fdopen(handle, "wb") as file:
                file.write(hashlib.sha256(content).digest() + content)
            os.replace(part, path)
        except BaseException:
            Path(part).unlink(missing_ok=True)
            raise
    except OSError as problem:
        say_once(f"{path.parent}: {problem.strerror or problem}; nothing is kept for the next start")
        return False
    return True


def say_once(line: str) -> None:
    """One line on the error output, however many files it is true of."""
    if not _SAID:
        print(f"vansim: {line}", file=sys.stderr)
    _SAID.add(line)
