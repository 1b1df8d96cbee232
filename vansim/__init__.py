"""vansim: how long the cooling of a camper van runs on its battery, and what would make it last until morning."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

__version__ = "0.1.0"

if TYPE_CHECKING:
    from vansim.climate import Weather, read_weather
    from vansim.march.batch import simulate_many
    from vansim.march.result import Result
    from vansim.march.simulate import simulate
    from vansim.scenario.files import load_scenario
    from vansim.scenario.schema import Scenario

__all__ = ["Result", "Scenario", "Weather", "load_scenario", "read_weather", "simulate", "simulate_many"]

_HOMES = {
    "load_scenario": "vansim.scenario.files",
    "Scenario": "vansim.scenario.schema",
    "read_weather": "vansim.climate",
    "Weather": "vansim.climate",
    "simulate": "vansim.march.simulate",
    "simulate_many": "vansim.march.batch",
    "Result": "vansim.march.result",
}


def __getattr__(name: str) -> Any:
    # looked up when asked for: a bare `import vansim` must not wait for pandas and numba
    if name in _HOMES:
        from importlib import import_module

        return getattr(import_module(_HOMES[name]), name)
    raise AttributeError(f"module 'vansim' has no attribute {name!r}")
