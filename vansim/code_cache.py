"""Compiled code from one start to the next, verified before it is run.

numba's own disk cache runs whatever bytes it finds: a file cut short stops every start, a flipped bit crashes the
process. Here every function and signature is one file with a digest (`vansim.cache_folder`): what is damaged is
compiled anew and written over.
"""

from __future__ import annotations

import hashlib
import pickle
from pathlib import Path
from typing import Any

from numba.core import compiler, serialize

from vansim.cache_folder import read_kept, write_kept


class CodeCache:
    """What a numba dispatcher asks of a cache, for one function.

    Parameters
    ----------
    function : callable
        The plain function.
    folder : Path
        From `vansim.cache_folder.usable_folder`; its name stands for all sources.
    """

    def __init__(self, function: Any, folder: Path) -> None:
        self.cache_path = str(folder)
        self._folder = folder
        self._name = f"{function.__module__}.{function.__qualname__}"
        self._code = hashlib.sha256(function.__code__.co_code).digest()

    def load_overload(self, sig: Any, target_context: Any) -> compiler.CompileResult | None:
        """The compiled function for a signature; None where it has to be compiled."""
        target_context.refresh()
        content = read_kept(self._path(sig, target_context.codegen()))
        if content is None:
            return None
        try:
            rebuild: Any = compiler.CompileResult._rebuild
            made: compiler.CompileResult = rebuild(target_context, *pickle.loads(content))
            return made
        except Exception:  # whole, but of another Python or with a class that is gone: compiling is always right
            return None

    def save_overload(self, sig: Any, result: Any) -> None:
        """Keep a compiled function, where it can be kept."""
        if result.lifted or result.library.has_dynamic_globals:
            return
        pickled: Any = serialize.dumps  # can pickle what is defined in a running program
        write_kept(self._path(sig, result.codegen), pickled(result._reduce()))

    def _path(self, sig: Any, codegen: Any) -> Path:
        key = hashlib.sha256(repr((sig, codegen.magic_tuple())).encode() + self._code).hexdigest()[:32]
        return self._folder / f"{self._name}-{key}.code"
