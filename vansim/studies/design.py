"""A design: a van with its plan over a season of nights, and everything that a study asks of it, each marched once.

`size`, `compare` and the ranking of upgrades look at many designs; all of them look through this one.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import Any, Literal

import numpy as np
import numpy.typing as npt
import pandas as pd

from vansim.climate import Weather
from vansim.climate.seasons import MONTHS, HeatWave, span_of, with_heat_wave
from vansim.errors import ScenarioError
from vansim.lazy import lazy
from vansim.notes import Note
from vansim.runs import season as sr
from vansim.runs.night_table import WHY, needed_nights, night_table
from vansim.runs.recharge import recharge_hours
from vansim.runs.run import weather_of
from vansim.scenario.schema import AT_BEDTIME, PlanSegment, Scenario
from vansim.studies.cool_down import cool_down_min
from vansim.van.bank import Bank, bank_parameters, usable_kwh

AS_IT_IS = "as it is"
TARGET = 0.95
"""Share of nights to cover where none is asked for."""
Reading = Literal["independent", "consecutive"]


@dataclass(frozen=True)
class NightsReading:
    """The nights of a season, read in one of two ways.

    Attributes
    ----------
    kind : {"independent", "consecutive"}
        Every night from the starting charge for itself; or one after another, the bank carried over.
    table : DataFrame
        One row a night, by the date of its bedtime; columns of `vansim.runs.night_table`.
    waking : (n_nights,) records of STATE
        The van at each waking.
    """

    kind: Reading
    table: pd.DataFrame
    waking: sr.States

    @property
    def start_soc(self) -> float:
        """State of charge where the first account begins; of consecutive nights, that of their periodic state."""
        return float(self.table["start_soc"].iloc[0])

    @lazy
    def count(self) -> int:
        """Nights."""
        return len(self.table)

    @lazy
    def covered(self) -> int:
        """Nights that are covered."""
        return int(self.table["covered"].sum())

    @property
    def share(self) -> float:
        """Covered nights over nights."""
        return self.covered / self.count

    def runtime_h(self, quantile: float) -> float:
        """Quantile (0 to 1) of the runtimes [h]; those beyond 48 h count as 48 h."""
        return float(np.quantile(self.table["runtime_h"].to_numpy(), quantile))

    @property
    def outlast_share(self) -> float:
        """Share of nights whose runtime goes beyond what is followed."""
        return float(self.table["outlasts"].mean())

    def reasons(self) -> dict[str, int]:
        """How many nights are not covered for each reason."""
        why = self.table["why"]
        return {word: int((why == word).sum()) for word in WHY}

    def design_night(self, target: float) -> int:
        """Place in the table of the night that decides: the hardest of those that must be covered for a share.

        Nights are ordered from the easiest: covered ones first, by charge left at waking, then by runtime; then the
        others, those that only lack battery before those that no battery mends.
        """
        order = pd.DataFrame(
            {
                "open": ~self.table["covered"].to_numpy(),
                "no_bank": self.table["why"].isin([word for word in WHY if word != "battery"]).to_numpy(),
                "soc": -self.table["waking_soc"].to_numpy(),
                "runtime": -self.table["runtime_h"].to_numpy(),
            }
        ).sort_values(["open", "no_bank", "soc", "runtime"], kind="stable")
        return int(order.index[max(needed_nights(self.count, target), 1) - 1])

    def night(self, position: int) -> dict[str, Any]:
        """A row of the table as plain values, with its ``date``."""
        row = self.table.iloc[position]
        plain = {str(name): getattr(row[name], "item", lambda value=row[name]: value)() for name in self.table.columns}
        return {"date": self.table.index[position], **plain}

    @lazy
    def by_month(self) -> pd.DataFrame:
        """Nights, share covered, runtimes, duty, energy and time above the limit, a row a month."""
        months = pd.DatetimeIndex(self.table.index).month
        grouped = self.table.groupby(months, sort=False)
        table = pd.DataFrame(
            {
                "nights": grouped.size(),
                "covered_share": grouped["covered"].mean(),
                "runtime_p10_h": grouped["runtime_h"].quantile(0.1),
                "runtime_p50_h": grouped["runtime_h"].quantile(0.5),
                "duty": grouped["duty"].mean(),
                "evening_wh": grouped["evening_wh"].mean(),
                "cooler_wh": grouped["cooler_wh"].mean(),
                "over_limit_h": grouped["over_limit_h"].sum(),
            }
        )
        table.index = pd.Index([MONTHS[m - 1] for m in table.index], name="month")
        return table


@dataclass(frozen=True)
class Design:
    """A van, its plan, its place and a season.

    Attributes
    ----------
    season : SeasonRun
        Laid out.
    states : (n_nights,) records of STATE
        The van where each account begins, as the day left it; the bank in them means nothing, so banks share them.
    start_soc : float
        State of charge where an independent account begins.
    target : float
        Share of nights that is asked for.
    name : str
        What it is called.
    """

    season: sr.SeasonRun
    states: sr.States
    start_soc: float
    target: float = TARGET
    name: str = AS_IT_IS

    @property
    def scenario(self) -> Scenario:
        """The van and its plan."""
        return self.season.scenario

    @property
    def bank(self) -> Bank:
        """Its bank."""
        return self.scenario.bank

    @property
    def full_at_bedtime(self) -> bool:
        """Whether accounts begin at bedtime, so that nothing before it is counted."""
        return self.scenario.run.start == AT_BEDTIME

    def with_bank(self, bank: Bank) -> Design:
        """The same van with another bank; nothing is laid out again."""
        scenario = self.scenario.model_copy(update={"bank": bank})
        return replace(self, season=replace(self.season, scenario=scenario))

    # --- nights -----------------------------------------------------------------------------------------------------

    def _march(self, kind: Reading, follow: bool) -> tuple[sr.States, sr.States]:
        """Nights in a reading, and the van at each waking; `follow` finds the runtimes too."""
        bank = bank_parameters(self.bank)
        if kind == "independent":
            return sr.independent(self.season, bank, self.states, self.start_soc, follow)
        return sr.periodic(self.season, bank, self.states[0], self.start_soc, follow)

    def brief(self, kind: Reading) -> pd.DataFrame:
        """Nights in a reading as a table, without the weather outdoors and without runtimes: the cheapest look."""
        return night_table(self.season, self._march(kind, follow=False)[0], outdoor=False)

    def covered(self, kind: Reading) -> npt.NDArray[np.bool_]:
        """Which nights are covered in a reading."""
        return self.brief(kind)["covered"].to_numpy()

    def _read(self, kind: Reading) -> NightsReading:
        nights, waking = self._march(kind, follow=True)
        return NightsReading(kind, night_table(self.season, nights), waking)

    @lazy
    def independent(self) -> NightsReading:
        """Every night for itself."""
        return self._read("independent")

    @lazy
    def consecutive(self) -> NightsReading:
        """One night after another."""
        return self._read("consecutive")

    @property
    def recharges_by_plan(self) -> bool:
        """Whether the plan has engine or shore time, so that nights in a row are what it must be judged on."""
        return has_engine_or_shore(self.scenario)

    @property
    def judged(self) -> Reading:
        """The reading that the headline takes: the worse; the independent one where the plan has no engine or shore.

        The worse covers fewer nights; of as many, it leaves less charge at waking on its design night.
        """
        if not self.recharges_by_plan:
            return "independent"
        one, other = self.consecutive, self.independent
        if one.covered != other.covered:
            return "consecutive" if one.covered < other.covered else "independent"
        left = [float(r.table["waking_soc"].iloc[r.design_night(self.target)]) for r in (one, other)]
        return "consecutive" if left[0] < left[1] - sr.SAME_SOC else "independent"

    def read_as(self, kind: Reading) -> NightsReading:
        """One of the two readings."""
        return self.consecutive if kind == "consecutive" else self.independent

    @property
    def headline(self) -> NightsReading:
        """The nights that the headline speaks of."""
        return self.read_as(self.judged)

    # --- what else a design is ---------------------------------------------------------------------------------------

    @lazy
    def design_night(self) -> dict[str, Any]:
        """The night of the headline that decides at the target."""
        return self.headline.night(self.headline.design_night(self.target))

    def recharge_after(self, reading: NightsReading, place: int) -> dict[str, float]:
        """Hours to recharge after a night by each way that the van is fitted for; infinite beyond 48 h."""
        return recharge_hours(self.season, place, reading.waking[place])

    @lazy
    def recharge_h(self) -> dict[str, float]:
        """`recharge_after` the design night."""
        return self.recharge_after(self.headline, self.headline.design_night(self.target))

    @lazy
    def cool_down_min(self) -> float:
        """Time from a hot soak to the night's limit [min]; see `vansim.studies.cool_down`."""
        return cool_down_min(self.season)

    def segment_at(self, moment: pd.Timestamp) -> PlanSegment:
        """What the plan has at a moment of the season, from the two days before its first account on."""
        run = self.season
        midnight = pd.Timestamp(run.nights.date_of(0), tz=pd.DatetimeIndex(run.weather.data.index).tz)
        seconds = (moment - midnight).total_seconds() + 1e-6
        place = int(np.searchsorted(run.laid.forcing.start_s, seconds, side="right")) - 1
        return run.laid.segments[max(place, 0)]

    @property
    def usable_kwh(self) -> float:
        """Open-circuit energy between full and the reserve [kWh]."""
        return usable_kwh(self.bank)

    @property
    def mass_kg(self) -> float:
        """Bank, cooler and what charges, as far as their parts tell [kg]."""
        return float(
            self.bank.unit.mass_kg * self.bank.units + sum(part.mass_kg for part in _other_parts(self.scenario))
        )

    @property
    def price(self) -> float | None:
        """Bank, cooler and what charges; None unless the price of every one is known."""
        prices = [self.bank.unit.price, *(part.price for part in _other_parts(self.scenario))]
        if any(price is None for price in prices):
            return None
        return float(prices[0] * self.bank.units + sum(prices[1:]))


def design_of(
    scenario: Scenario,
    weather: Weather | None = None,
    season: str | None = None,
    heat_wave: HeatWave | float | None = None,
    target: float = TARGET,
    start_soc: float | None = None,
    full_at_bedtime: bool = False,
    name: str = AS_IT_IS,
) -> Design:
    """Lay a design out.

    Parameters
    ----------
    scenario : Scenario
        Van, plan and place.
    weather : Weather or None
        Typical year; left out, the scenario's own.
    season : str or None
        ``"jun-sep"``, ``"06-01..09-30"``, ``"year"``; None: the hottest three consecutive months.
    heat_wave : HeatWave, float or None
        Margin on the hottest fortnight [K], or on given dates.
    target : float
        Share of nights that is asked for, above 0 up to 1.
    start_soc : float or None
        State of charge where an account begins, 0 to 1; left out, the scenario's.
    full_at_bedtime : bool
        Begin every account at bedtime.
    name : str
        What it is called.

    Returns
    -------
    Design
        Nothing is marched but the days that lead to each account.

    Raises
    ------
    ScenarioError, WeatherError
        A season, share or weather that cannot be used.
    """
    faults = []
    if not 0.0 < target <= 1.0:
        faults.append(f"target: {target:g} is not a share of nights; allowed: above 0, up to 1")
    if start_soc is not None and not 0.0 <= start_soc <= 1.0:
        faults.append(f"start_soc: {start_soc:g} is not a share; allowed: 0 to 1")
    if faults:
        raise ScenarioError(faults)
    if full_at_bedtime:
        scenario = scenario.model_copy(update={"run": scenario.run.model_copy(update={"start": AT_BEDTIME})})
    weather = weather_of(scenario) if weather is None else weather
    run = sr.season_run(scenario, with_heat_wave(weather, heat_wave), span_of(season, weather))
    soc = scenario.bank.start_soc if start_soc is None else start_soc
    return Design(run, sr.lead_in_states(run), soc, target, name)


def with_mode(design: Design, mode: str) -> Design:
    """The same design with every stretch of cooling in one mode."""
    run = sr.with_mode(design.season, mode)
    return replace(design, season=run, states=sr.lead_in_states(run))


def with_cooler(design: Design, cooler: Any) -> Design:
    """The same design with another cooler."""
    run = sr.with_cooler(design.season, cooler)
    return replace(design, season=run, states=sr.lead_in_states(run))


def redesigned(design: Design, scenario: Scenario, name: str = "") -> Design:
    """Another van or plan in the same place and season, judged on the same terms.

    Parameters
    ----------
    design : Design
        Gives weather, nights, target and starting charge.
    scenario : Scenario
        Van and plan; where its accounts begin is taken over from `design`.
    name : str
        What it is called.

    Returns
    -------
    Design
        Laid out anew; what hardly differs is shared by the caches of those who make it.
    """
    scenario = scenario.model_copy(update={"run": design.scenario.run})
    changed_soc = scenario.bank.start_soc != design.bank.start_soc
    run = sr.season_run(scenario, design.season.weather, design.season.nights)
    soc = scenario.bank.start_soc if changed_soc else design.start_soc
    return Design(run, sr.lead_in_states(run), soc, design.target, name or design.name)


def has_engine_or_shore(scenario: Scenario) -> bool:
    """Whether the plan charges by engine or shore on any day."""
    segments = [segment for day in scenario.days() for segment in day.segment]
    engine = scenario.alternator is not None and any(segment.doing != "parked" for segment in segments)
    plugged = scenario.shore is not None and scenario.charger is not None and any(s.shore for s in segments)
    return engine or plugged


def _other_parts(scenario: Scenario) -> list[Any]:
    parts = (scenario.cooler, scenario.solar, scenario.alternator, scenario.charger)
    return [part for part in parts if part is not None]


SAID_OF_YEARS = ("heat-wave", "design-day", "changed-year")
"""Notes of a year that are said beside every answer from it."""


def season_notes(design: Design) -> tuple[Note, ...]:
    """What has to be said beside the numbers of a season."""
    of_year = design.season.weather.notes
    typical = not {"design-day", "own-year"} & {note.code for note in of_year}
    notes = [Note("typical-year")] if typical else []
    notes += [note for note in of_year if note.code in SAID_OF_YEARS]
    if not design.season.cools_before_waking:
        notes.append(Note("no-cooling-before-waking"))
    if design.full_at_bedtime:
        notes.append(Note("full-at-bedtime"))
    return tuple(notes)
