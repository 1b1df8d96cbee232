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

from vansim.climate.design_days import humidity_ratio_of
from vansim.psychrometrics import dew_point_c


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


def wet_bulb_c(temp_c: float, ratio: float, pressure_pa: float) -> float:
    """Wet bulb [°C] at which `humidity_ratio_of` gives a humidity ratio, between dew point and air, by bisection."""
    low, high = dew_point_c(ratio, pressure_pa), temp_c
    for _ in range(40):
        middle = 0.5 * (low + high)
        if humidity_ratio_of(temp_c, middle, pressure_pa) > ratio:
            high = middle
        else:
            low = middle
    return 0.5 * (low + high)
