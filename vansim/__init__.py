"""How long the cooling of a camper van runs on its battery, and what would make it last until morning.

>>> import vansim
>>> result = vansim.simulate("scenarios/desert-night.toml")
>>> print(result.message)  # does it last?
>>> print(result.nights.T)  # runtime, lowest charge, duty, energy, and why

Read and change:

  `describe_van`                      about ten answers about a van to a checked `Scenario`, and a file
  `load_scenario`                     scenario file (TOML) to a checked `Scenario`
  `vary`, `variants`                  a scenario with some values changed; the variants that it names
  `origins`                           which values were given, came with a part, or are defaults
  `read_weather`, `download_weather`  typical-year file, or the network, to a `Weather`
  `library`, `parts_table`            cabins, coolers, batteries ... by name; one kind as a table

One run:

  `simulate`                          a scenario over its own days to a `Result`
  `simulate_many`                     many scenarios, sharing what can be shared
  `recharge`                          after a night: hours of driving, idling or sun until full
  `energy`                            where a night's energy went

A season:

  `nights`                            every night, for itself and one after another
  `size`                              smallest bank that covers a share of the nights
  `compare`                           designs side by side
  `upgrades`                          single changes, ranked by what they gain
  `outage`                            the cabin once the cooling has stopped

Elsewhere:

  `places`                            the same van in several places, a row each
  `years`                             the same van in several real years of a place
  `trip`                              one chain of nights from place to place

To show:

  `plots`                             pictures of runs and studies, as matplotlib figures
  `report`                            all of it, for handing over: HTML and PDF

Bad input raises a `VansimError` that lists every fault: `ScenarioError`, `WeatherError` or `PhysicsError`.
"""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

from vansim.version import __version__

if TYPE_CHECKING:
    from vansim.climate import Weather, download_weather, read_weather
    from vansim.errors import PhysicsError, ScenarioError, VansimError, WeatherError
    from vansim.runs.batch import simulate_many
    from vansim.runs.result import Result
    from vansim.runs.simulate import simulate
    from vansim.scenario.described import describe_van
    from vansim.scenario.files import load_scenario, origins
    from vansim.scenario.parts import library, parts_table
    from vansim.scenario.schema import Scenario
    from vansim.scenario.vary import variants, vary
    from vansim.show import plots
    from vansim.show.report.report import report
    from vansim.studies.compare import compare
    from vansim.studies.energy import energy
    from vansim.studies.nights import nights
    from vansim.studies.outage import outage
    from vansim.studies.places import places, years
    from vansim.studies.recharge import recharge
    from vansim.studies.sizing import size
    from vansim.studies.trip import trip
    from vansim.studies.upgrades import upgrades

_HOMES = {
    "describe_van": "vansim.scenario.described:describe_van",
    "load_scenario": "vansim.scenario.files:load_scenario",
    "Scenario": "vansim.scenario.schema:Scenario",
    "vary": "vansim.scenario.vary:vary",
    "variants": "vansim.scenario.vary:variants",
    "origins": "vansim.scenario.files:origins",
    "read_weather": "vansim.climate:read_weather",
    "download_weather": "vansim.climate:download_weather",
    "Weather": "vansim.climate:Weather",
    "library": "vansim.scenario.parts:library",
    "parts_table": "vansim.scenario.parts:parts_table",
    "simulate": "vansim.runs.simulate:simulate",
    "simulate_many": "vansim.runs.batch:simulate_many",
    "Result": "vansim.runs.result:Result",
    "places": "vansim.studies.places:places",
    "years": "vansim.studies.places:years",
    "recharge": "vansim.studies.recharge:recharge",
    "energy": "vansim.studies.energy:energy",
    "nights": "vansim.studies.nights:nights",
    "size": "vansim.studies.sizing:size",
    "compare": "vansim.studies.compare:compare",
    "trip": "vansim.studies.trip:trip",
    "upgrades": "vansim.studies.upgrades:upgrades",
    "outage": "vansim.studies.outage:outage",
    "plots": "vansim.show.plots",
    "report": "vansim.show.report.report:report",
    "VansimError": "vansim.errors:VansimError",
    "ScenarioError": "vansim.errors:ScenarioError",
    "WeatherError": "vansim.errors:WeatherError",
    "PhysicsError": "vansim.errors:PhysicsError",
}
"""Public name to its home, ``module:name`` or a module. The imports above tell type checkers the same; a test compares
them."""

__all__ = [
    "PhysicsError",
    "Result",
    "Scenario",
    "ScenarioError",
    "VansimError",
    "Weather",
    "WeatherError",
    "__version__",
    "compare",
    "describe_van",
    "download_weather",
    "energy",
    "library",
    "load_scenario",
    "nights",
    "origins",
    "outage",
    "parts_table",
    "places",
    "plots",
    "read_weather",
    "recharge",
    "report",
    "simulate",
    "simulate_many",
    "size",
    "trip",
    "upgrades",
    "variants",
    "vary",
    "years",
]


def __getattr__(name: str) -> Any:
    # looked up when asked for: a bare `import vansim` must not wait for pandas and numba
    if name not in _HOMES:
        raise AttributeError(f"module 'vansim' has no attribute {name!r}")
    from importlib import import_module

    module, _, attribute = _HOMES[name].partition(":")
    home = import_module(module)
    globals()[name] = getattr(home, attribute) if attribute else home
    return globals()[name]


def __dir__() -> list[str]:
    return sorted([*__all__, "__doc__", "__file__", "__name__", "__path__"])
