"""The studies that a report is made from, run once, in the order of what a customer asks first."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass, field

from vansim.climate import Weather
from vansim.errors import ScenarioError
from vansim.runs.result import Result
from vansim.runs.run import weather_of
from vansim.runs.simulate import simulate
from vansim.scenario.schema import AT_BEDTIME, Scenario
from vansim.show.report.sections import Picture
from vansim.studies.design import TARGET
from vansim.studies.energy import Energy, energy
from vansim.studies.nights import Nights, nights
from vansim.studies.outage import Outage, When, outage
from vansim.studies.recharge import Recharge, recharge
from vansim.studies.side_by_side import MODES, cooled, in_mode
from vansim.studies.sizing import Sizing, size
from vansim.studies.upgrades import Upgrades, upgrades

Progress = Callable[[str], None]
WHEN: tuple[When, ...] = ("bank_empty", "sun")


@dataclass(frozen=True)
class Studies:
    """What was computed for a report.

    Attributes
    ----------
    result : Result
        The run.
    which : int
        Row of `result.nights` that is shown: the first night that is not covered, else the first.
    nights : Nights
        The season, in both readings.
    upgrades, sizing : Upgrades, Sizing
        None where the plan cools nowhere.
    modes : dict of str to Result
        The run with every stretch of cooling in eco, and in boost; empty where nothing is cooled.
    energy : Energy
        Of the night that is shown.
    recharge : Recharge
        After it.
    outages : tuple of Outage
        When the bank is empty, and in the sun; empty where there is no cooler.
    drawn : dict
        Pictures that were laid out of it, so that a second report of the same studies, for somebody else or on other
        paper, does not draw them again.
    """

    result: Result
    which: int
    nights: Nights
    upgrades: Upgrades | None
    sizing: Sizing | None
    modes: Mapping[str, Result]
    energy: Energy
    recharge: Recharge
    outages: tuple[Outage, ...]
    drawn: dict[object, Picture] = field(default_factory=dict, repr=False, compare=False)

    @property
    def scenario(self) -> Scenario:
        """What was asked."""
        return self.result.run.scenario


def run_studies(
    scenario: Scenario,
    weather: Weather | None = None,
    season: str | None = None,
    target: float = TARGET,
    full_at_bedtime: bool = False,
    progress: Progress | None = None,
) -> Studies:
    """Run every study of a report.

    Parameters
    ----------
    scenario, weather, season, target, full_at_bedtime, progress
        As for `vansim.show.report.report.report`.

    Returns
    -------
    Studies
        For the findings and the pictures.

    Raises
    ------
    ScenarioError, WeatherError
        As for the studies; or the scenario's run holds no whole night.
    """
    tell = progress or (lambda name: None)
    tell("the night")
    if full_at_bedtime:
        scenario = scenario.model_copy(update={"run": scenario.run.model_copy(update={"start": AT_BEDTIME})})
    weather = weather_of(scenario) if weather is None else weather
    result = simulate(scenario, weather)
    if not len(result.nights):
        night = scenario.night
        raise ScenarioError(
            f"run: no whole {night.label} ({night.bedtime} to {night.waking}) lies in this run of "
            f"{scenario.run.days} d from {scenario.run.start}; start it earlier, or make it longer"
        )
    failed = ~result.nights["covered"].to_numpy(dtype=bool)
    which = int(failed.argmax()) if failed.any() else 0
    cools = cooled(scenario)
    tell("the season")
    every = nights(scenario, weather, season=season, target=target)
    tell("upgrades")
    ranked = upgrades(scenario, weather, season=season, target=target) if cools else None
    tell("size of the bank")
    sizing = size(scenario, weather, target=target, season=season) if cools else None
    tell("energy, modes, recharging and the stopped cooler")
    return Studies(
        result=result,
        which=which,
        nights=every,
        upgrades=ranked,
        sizing=sizing,
        modes={mode: simulate(in_mode(scenario, mode), weather) for mode in MODES} if cools else {},
        energy=energy(result, which),
        recharge=recharge(result, which),
        outages=tuple(outage(scenario, weather, when=when, season=season) for when in WHEN) if cools else (),
    )
