"""Every night of a season, read in two ways: each for itself, and one after another.

Both follow the account of a night: from when the plan first switches cooling on after the waking before, through the
evening, to waking, with the plan's own charging. Independent nights each begin with the starting charge. Consecutive
nights hand the bank on from day to day, in the periodic state: the season gives back what it began with.
"""

from __future__ import annotations

from dataclasses import dataclass

import pandas as pd

from vansim.climate import Weather
from vansim.climate.seasons import HeatWave
from vansim.lazy import lazy
from vansim.notes import Note
from vansim.runs.jobs import Progress
from vansim.scenario.files import ScenarioSource, as_scenario
from vansim.studies.design import TARGET, Design, NightsReading, Reading, design_of, season_notes
from vansim.studies.missing_charging import MissingCharging, NightsInARow, missing_charging, nights_in_a_row


@dataclass(frozen=True)
class Nights:
    """Nights of a season in both readings.

    Attributes
    ----------
    design : Design
        What was marched.
    notes : tuple of Note
        What has to be said beside the numbers.
    """

    design: Design
    notes: tuple[Note, ...]

    @property
    def independent(self) -> NightsReading:
        """Every night for itself."""
        return self.design.independent

    @property
    def consecutive(self) -> NightsReading:
        """One night after another."""
        return self.design.consecutive

    @property
    def judged(self) -> Reading:
        """Which of the two the headline speaks of: the worse; independent nights without engine or shore time.

        Where both cover as many nights, the worse leaves less charge at waking on its design night.
        """
        return self.design.judged

    @property
    def headline(self) -> NightsReading:
        """The nights that the headline speaks of."""
        return self.design.headline

    @property
    def table(self) -> pd.DataFrame:
        """The nights of the headline, a row a night."""
        return self.headline.table

    @property
    def reason(self) -> str:
        """Why the headline takes its reading.

        ``"no-engine-or-shore"``; ``"charging-falls-behind"`` where fewer consecutive nights are covered;
        ``"charging-keeps-up"`` where they are not fewer.
        """
        if not self.design.recharges_by_plan:
            return "no-engine-or-shore"
        behind = self.consecutive.covered < self.independent.covered
        return "charging-falls-behind" if behind else "charging-keeps-up"

    @lazy
    def in_a_row(self) -> NightsInARow:
        """How many nights in a row the bank lasts from full."""
        return nights_in_a_row(self.design)

    @lazy
    def missing(self) -> tuple[MissingCharging, ...]:
        """What charging would make consecutive nights reach the target; empty where they do."""
        return missing_charging(self.design)


def nights(
    scenario: ScenarioSource,
    weather: Weather | None = None,
    season: str | None = None,
    target: float = TARGET,
    start_soc: float | None = None,
    heat_wave: HeatWave | float | None = None,
    full_at_bedtime: bool = False,
    progress: Progress | None = None,
) -> Nights:
    """Every night of a season: is it covered, and how long would the cooling run?

    Parameters
    ----------
    scenario : Scenario, str, Path or mapping
        Van, plan and place, or what `load_scenario` reads them from.
    weather, season, target, start_soc, heat_wave, full_at_bedtime
        As for `vansim.studies.design.design_of`.
    progress : callable or None
        Called with readings marched and in all.

    Returns
    -------
    Nights
        Independent and consecutive nights. The cabin starts as the two days before left it, had the bank been endless.
        After waking the segment that held before waking stays in force under the real weather, so no runtime is cut off
        at waking.

    Raises
    ------
    ScenarioError, WeatherError
        A season, share or weather that cannot be used.
    """
    design = design_of(
        as_scenario(scenario),
        weather,
        season,
        heat_wave=heat_wave,
        target=target,
        start_soc=start_soc,
        full_at_bedtime=full_at_bedtime,
    )
    found = Nights(design, season_notes(design))
    kinds: tuple[Reading, ...] = ("independent", "consecutive")
    for done, kind in enumerate(kinds, 1):
        design.read_as(kind)
        if progress is not None:
            progress(done, 2)
    return found
