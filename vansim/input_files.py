"""Reading a file that somebody named: whole, bounded, and never something that is not a file.

A pipe that nobody writes to, a device without end or a file of gigabytes would hang a program or fill the memory; here
each is refused at once, as an `OSError` whose text is for people.
"""

from __future__ import annotations

import errno
import os
import stat
from pathlib import Path

LARGEST_BYTES = 64_000_000
"""Of a scenario, a parts table, a weather file, a log: a year by the minute takes half of it."""

KINDS = {
    stat.S_IFDIR: "a folder",
    stat.S_IFIFO: "a pipe",
    stat.S_IFSOCK: "a socket",
    stat.S_IFCHR: "a device",
    stat.S_IFBLK: "a device",
}


def read_file(path: Path, largest: int = LARGEST_BYTES) -> bytes:
    """Content of a plain file.

    Parameters
    ----------
    path : Path
        The file; links are followed.
    largest : int
        Most that is read [bytes].

    Returns
    -------
    bytes

    Raises
    ------
    OSError
        Not there, not readable, not a plain file, or larger than `largest`; its ``strerror`` says which.
    """
    # without O_NONBLOCK, opening a pipe waits for somebody to write to it
    handle = os.open(path, os.O_RDONLY | getattr(os, "O_NONBLOCK", 0) | getattr(os, "O_CLOEXEC", 0))
    kind = stat.S_IFMT(os.fstat(handle).st_mode)
    if kind != stat.S_IFREG:
        os.close(handle)
        raise OSError(errno.EINVAL, f"{KINDS.get(kind, 'something else')}, not a file")
    with os.fdopen(handle, "rb") as file:
        content = file.read(largest + 1)
    if len(content) > largest:
        raise OSError(errno.EFBIG, f"larger than {largest / 1e6:.0f} MB")
    return content
