"""PsychroLib in SI units and plain Python.

Where numba is installed, PsychroLib compiles itself anew at every choice of units, which takes longer than all that is
asked of it here; so it is loaded as it is without numba.
"""

from __future__ import annotations

import importlib.util
import sys
from functools import cache
from types import ModuleType
from unittest.mock import patch


@cache
def psychrolib_si() -> ModuleType:
    """The library, loaded once, apart from any other import of it."""
    spec = importlib.util.find_spec("psychrolib")
    assert spec is not None
    assert spec.loader is not None
    module = importlib.util.module_from_spec(spec)
    with patch.dict(sys.modules, {"numba": None}):  # its `import numba` fails, and it goes on without
        spec.loader.exec_module(module)
    module.SetUnitSystem(module.SI)
    return module
