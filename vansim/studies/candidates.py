"""What a bank may be made of: batteries on the bus, under each mode and cooler, with the season that goes with them."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any

import numpy as np
import numpy.typing as npt

from vansim.boundary.forcing import COOLING_CODE
from vansim.climate import Weather
from vansim.climate.seasons import HeatWave
from vansim.errors import ScenarioError
from vansim.runs import season as sr
from vansim.runs.batch import all_of
from vansim.scenario.parts import library
from vansim.scenario.schema import Scenario
from vansim.studies.nights import kept_and_why, laid_season
from vansim.van.bank import Bank, BankUnit, bank_parameters, usable_kwh
from vansim.van.cooler import Cooler

Array = npt.NDArray[np.float64]

RESERVE_SOC = {"lfp": 0.1, "agm": 0.5}
"""Reserve of a battery of another chemistry than the scenario's own (common practice: half of a lead-acid bank)."""
AS_PLANNED, AS_FITTED = "as planned", "as fitted"


@dataclass(frozen=True)
class Candidate:
    """A battery, a mode and a cooler, with the season that goes with them.

    Attributes
    ----------
    labels : dict of str to str
        ``unit``, ``mode``, ``cooler``.
    bank : Bank
        One battery in parallel; series as the bus asks.
    run : SeasonRun
        Season with mode and cooler.
    evenings : BedtimeStates
        Cabin at bedtime, shared by all sizes.
    chained : bool
        Whether nights are in a row.
    shares : dict
        Kept share of the sizes marched so far.
    """

    labels: dict[str, str]
    bank: Bank
    run: sr.SeasonRun
    evenings: sr.BedtimeStates
    chained: bool
    shares: dict[int, float] = field(default_factory=dict)

    def sized(self, parallel: int) -> Bank:
        """The bank with a number of strings in parallel."""
        return self.bank.model_copy(update={"parallel": parallel})

    def books(self, parallel: int, run_on: bool, chained: bool | None = None) -> Any:
        """March the season on a size."""
        numbers = bank_parameters(self.sized(parallel))
        if self.chained if chained is None else chained:
            start = self.run.scenario.bank.start_soc
            return sr.chained(self.run, numbers, self.evenings.states[0], start, run_on)
        return sr.alone(self.run, numbers, self.evenings.states, 1.0, run_on)

    def share(self, parallel: int) -> float:
        """Kept share on a size; marched once."""
        if parallel not in self.shares:
            self.shares[parallel] = float(np.mean(kept_and_why(self.run, self.books(parallel, run_on=False))[0]))
        return self.shares[parallel]


def layout_of(bank: Bank) -> dict[str, Any]:
    """Columns that tell a layout."""
    return {
        "series": bank.series,
        "parallel": bank.parallel,
        "units": bank.units,
        "usable_kwh": usable_kwh(bank),
    }


def choices(
    scenario: Scenario,
    weather: Weather | None,
    season: str | None,
    units: str | Sequence[str | BankUnit] | None,
    modes: Sequence[str] | None,
    coolers: Sequence[str | Cooler] | None,
    chained: bool,
    heat_wave: HeatWave | float | None,
) -> list[Candidate]:
    """Every battery with every mode and cooler; each mode and cooler is marched to its evenings once.

    Parameters
    ----------
    scenario, weather, season, units, modes, coolers, chained, heat_wave
        As for `size`.

    Returns
    -------
    list of Choice
        Cooler by cooler, mode by mode, battery by battery.

    Raises
    ------
    ScenarioError
        Everything that cannot be used, at once.
    """
    faults: list[str] = []
    batteries = _units(scenario, units, faults)
    machines = _coolers(scenario, coolers, faults)
    allowed = [mode for mode in COOLING_CODE if mode != "off"]
    faults += [f"modes: {m!r} is not a mode; allowed: {', '.join(allowed)}" for m in modes or () if m not in allowed]
    if faults:
        raise ScenarioError(faults)
    base = laid_season(scenario, weather, season, heat_wave)
    seasons = []
    for machine_label, machine in machines:
        fitted = base if machine is None else sr.with_cooler(base, machine)
        for mode in modes or (AS_PLANNED,):
            run = fitted if mode == AS_PLANNED else sr.with_mode(fitted, mode)
            seasons.append(({"mode": mode, "cooler": machine_label}, run))
    evenings = all_of(sr.evenings, [run for _, run in seasons])
    return [
        Candidate({"unit": unit_label, **labels}, bank, run, at_bedtime, chained)
        for (labels, run), at_bedtime in zip(seasons, evenings, strict=True)
        for unit_label, bank in batteries
    ]


def _parts_folder(scenario: Scenario) -> Path | None:
    return Path(scenario._folder) / scenario.parts if scenario.parts else None


def _units(
    scenario: Scenario, units: str | Sequence[str | BankUnit] | None, faults: list[str]
) -> list[tuple[str, Bank]]:
    bus = scenario.bank.nominal_v
    own = scenario.bank.unit
    if units is None:
        return [(own.name or _name_of(own), _string(scenario, own))]
    parts = library(_parts_folder(scenario))
    every = isinstance(units, str) and units == "all"
    names: Sequence[str | BankUnit] = (
        list(parts.parts["bank-units"]) if every else [units] if isinstance(units, str) else units
    )
    found = []
    for name in names:
        try:
            unit = name if isinstance(name, BankUnit) else parts.part("bank-units", name)
        except ScenarioError as problem:
            faults += [f"units: {fault}" for fault in problem.faults]
            continue
        assert isinstance(unit, BankUnit)
        label = unit.name or (_name_of(unit) if isinstance(name, BankUnit) else name)
        if bus % unit.nominal_v == 0:
            found.append((label, _string(scenario, unit)))
        elif not every:
            faults.append(f"units: {label} has {unit.nominal_v} V; that does not make up the bus of {bus} V")
    return found


def _name_of(unit: BankUnit) -> str:
    return f"{unit.chemistry} {unit.nominal_v} V {unit.capacity_ah:g} Ah"


def _string(scenario: Scenario, unit: BankUnit) -> Bank:
    """One string of a battery on the scenario's bus."""
    bank = scenario.bank
    same = unit.chemistry == bank.unit.chemistry
    return bank.model_copy(
        update={
            "unit": unit,
            "series": bank.nominal_v // unit.nominal_v,
            "parallel": 1,
            "reserve_soc": bank.reserve_soc if same else RESERVE_SOC[unit.chemistry],
            "reserve_v": bank.reserve_v if same else 0.0,
        }
    )


def _coolers(
    scenario: Scenario, coolers: Sequence[str | Cooler] | None, faults: list[str]
) -> list[tuple[str, Cooler | None]]:
    if coolers is None:
        return [((scenario.cooler.name if scenario.cooler else "none") or AS_FITTED, None)]
    parts, bus = library(_parts_folder(scenario)), scenario.bank.nominal_v
    found: list[tuple[str, Cooler | None]] = []
    for name in coolers:
        try:
            cooler = name if isinstance(name, Cooler) else parts.part("coolers", name)
        except ScenarioError as problem:
            faults += [f"coolers: {fault}" for fault in problem.faults]
            continue
        assert isinstance(cooler, Cooler)
        label = cooler.name or (f"{cooler.rated.capacity_w:g} W" if isinstance(name, Cooler) else name)
        if cooler.nominal_v != bus:
            faults.append(
                f"coolers: {label} runs on {cooler.nominal_v} V and the bus has {bus} V; "
                "another voltage also changes bank, alternator and charger: make it a scenario of its own"
            )
        found.append((label, cooler))
    if scenario.cooler is None:
        faults.append(
            "coolers: the scenario has no cooler, so its plan cools nowhere; fit one and plan its hours first"
        )
    return found


def reserve_notes(scenario: Scenario, choices: list[Candidate]) -> tuple[str, ...]:
    """What is said about batteries of another chemistry than the scenario's."""
    own = scenario.bank.unit.chemistry
    others = sorted({c.bank.unit.chemistry for c in choices} - {own})
    return tuple(
        f"Batteries of type {name} are held at a reserve of {RESERVE_SOC[name]:.0%} (common practice); the scenario's "
        f"own reserve is for {own}."
        for name in others
    )
