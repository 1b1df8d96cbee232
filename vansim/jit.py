"""`@compiled`: plain scalar functions, compiled by numba where they are defined.

Why a wrapper around ``numba.njit``: numba's disk cache looks only at the file of the function itself, so a cached
caller keeps running an *old* callee after that callee's file was edited. Here the cache folder is named after a hash
of every source file of the package that holds compiled code; an edit of any of them opens a fresh folder. And numba
runs whatever bytes it finds there: `vansim.code_cache` verifies them first. Where nothing can be kept, functions are
compiled in memory.

``NUMBA_DISABLE_JIT=1`` leaves plain Python functions, for coverage and for reading along in a debugger.
"""

from __future__ import annotations

import hashlib
from collections.abc import Callable
from pathlib import Path
from typing import Any, TypeVar, cast

import numba

from vansim.cache_folder import usable_folder
from vansim.code_cache import CodeCache

F = TypeVar("F", bound=Callable[..., Any])

PACKAGE = Path(__file__).parent

ROUNDING = {"contract", "arcp", "nsz"}
"""Liberties in rounding alone: a product and a sum in one step, a reciprocal for a division, the sign of zero.

Sums keep their order, and infinities, which stand for "no limit", their meaning.
"""


def source_hash(package: Path = PACKAGE) -> str:
    """Hash of all sources that hold compiled code, and of numba's version.

    Parameters
    ----------
    package : Path
        Folder of the package.

    Returns
    -------
    str
        16 hexadecimal digits.
    """
    digest = hashlib.sha256(numba.__version__.encode())
    for path in sorted(package.rglob("*.py")):
        content = path.read_bytes()
        if b"@compiled" in content:
            digest.update(path.name.encode())
            digest.update(content)
    return digest.hexdigest()[:16]


def cache_folder() -> Path | None:
    """Folder of this version's compiled code, named after the source hash; None where nothing can be kept."""
    return usable_folder("compiled", source_hash())


_FOLDER = cache_folder()


def compiled(function: F) -> F:
    """Compile a scalar function, without the interpreter lock, cached on disk where that is possible.

    Parameters
    ----------
    function : callable
        A function of numbers, arrays and named tuples of them; no Python objects, and it makes no arrays: arrays are
        then passed without counting references, and functions are merged into their callers. In a kernel of small
        functions that carry a hundred numbers, counting and calling would be three quarters of the time.

    Returns
    -------
    callable
        The same function, compiled at its first call.
    """
    return _compile(function, counted=False, merged=True)


def compiled_apart(function: F) -> F:
    """`compiled`, but called rather than merged: for a function so large that copies of it would take long to compile.

    Parameters
    ----------
    function : callable
        As for `compiled`.

    Returns
    -------
    callable
        The same function, compiled at its first call.
    """
    return _compile(function, counted=False, merged=False)


def compiled_maker(function: F) -> F:
    """`compiled` for a function that makes arrays.

    Parameters
    ----------
    function : callable
        As for `compiled`.

    Returns
    -------
    callable
        The same function, compiled at its first call.
    """
    return _compile(function, counted=True, merged=False)


def _compile(function: F, counted: bool, merged: bool) -> F:
    config: Any = numba.config
    options: dict[str, Any] = {
        "nogil": True,
        "error_model": "numpy",
        "fastmath": ROUNDING,
        "_nrt": counted,
        "forceinline": merged,
    }
    dispatcher: Any = numba.njit(**options)(function)
    if _FOLDER is not None and not config.DISABLE_JIT:
        dispatcher._cache = CodeCache(function, _FOLDER)
    return cast(F, dispatcher)
