"""vansim: how long the cooling of a camper van runs on its battery, and what would make it last until morning."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

from vansim.version import __version__

if TYPE_CHECKING:
    from vansim.climate import Weather, read_weather
    from vansim.runs.batch import simulate_many
    from vansim.runs.result import Result
    from vansim.runs.simulate import simulate
    from vansim.scenario.files import load_scenario
    from vansim.scenario.schema import Scenario

__all__ = ["Result", "Scenario", "Weather", "__version__", "load_scenario", "read_weather", "simulate", "simulate_many"]

_HOMES = {
    "load_scenario": "vansim.scenario.files",
    "Scenario": "vansim.scenario.schema",
    "read_weather": "vansim.climate",
    "Weather": "vansim.climate",
    "simulate": "vansim.runs.simulate",
    "simulate_many": "vansim.runs.batch",
    "Result": "vansim.runs.result",
}


def __getattr__(name: str) -> Any:
    # looked up when asked for: a bare `import vansim` must not wait for pandas and numba
    if name in _HOMES:
        from importlib import import_module

        return getattr(import_module(_HOMES[name]), name)
    raise AttributeError(f"module 'vansim' has no attribute {name!r}")
