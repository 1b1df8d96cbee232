"""What a bank may be made of: batteries on the bus, under each mode and cooler, with the season that goes with them."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field, replace
from typing import Any, Literal

import numpy as np
import numpy.typing as npt

from vansim.boundary.forcing import COOLING_CODE
from vansim.climate import Weather
from vansim.climate.seasons import HeatWave
from vansim.errors import ScenarioError
from vansim.notes import Note
from vansim.runs import season as sr
from vansim.runs.electricity import endless_bank, without_cuts
from vansim.runs.jobs import all_of
from vansim.runs.night_table import covered_and_why, needed_nights
from vansim.scenario.parts import library_of
from vansim.scenario.schema import Scenario
from vansim.studies.design import Design, NightsReading, Reading, design_of, with_cooler, with_mode
from vansim.van.bank import Bank, BankUnit, usable_kwh
from vansim.van.cooler import Cooler

Judged = Literal["headline", "independent", "consecutive"]
RESERVE_SOC = {"lfp": 0.1, "agm": 0.5}
"""Reserve of a battery of another chemistry than the scenario's own (common practice: half of a lead-acid bank)."""
AS_PLANNED, AS_FITTED = "as planned", "as fitted"


@dataclass(frozen=True)
class Candidate:
    """A battery, a mode and a cooler, with the season that goes with them.

    Attributes
    ----------
    labels : dict of str to str
        ``battery``, ``mode``, ``cooler``.
    bank : Bank
        One battery in parallel; series as the bus asks.
    design : Design
        The van with mode and cooler, whatever its bank.
    judged : {"headline", "independent", "consecutive"}
        What a share is judged on.
    too_warm_nights : int
        Nights that are too warm even on an endless bank.
    known : dict
        Which nights are covered, for the sizes and readings marched so far.
    """

    labels: dict[str, str]
    bank: Bank
    design: Design
    judged: Judged
    too_warm_nights: int
    known: dict[tuple[int, Reading], npt.NDArray[np.bool_]] = field(default_factory=dict)

    @property
    def spare_nights(self) -> int:
        """Nights that need not be covered."""
        count = len(self.design.season.times)
        return count - needed_nights(count, self.design.target)

    @property
    def readings(self) -> tuple[Reading, ...]:
        """The readings that must reach the share."""
        if self.judged != "headline":
            return (self.judged,)
        return ("independent", "consecutive") if self.design.recharges_by_plan else ("independent",)

    def sized(self, parallel: int) -> Design:
        """The van with a number of strings in parallel."""
        return self.design.with_bank(self.bank.model_copy(update={"parallel": parallel}))

    def covered(self, parallel: int, reading: Reading) -> npt.NDArray[np.bool_]:
        """Which nights a size covers in one reading; marched once."""
        if (parallel, reading) not in self.known:
            self.known[parallel, reading] = self.sized(parallel).covered(reading)
        return self.known[parallel, reading]

    def covers(self, parallel: int) -> bool:
        """Whether a size covers the asked share in every reading that counts."""
        count = len(self.design.season.times)
        enough = needed_nights(count, self.design.target)
        return all(int(self.covered(parallel, reading).sum()) >= enough for reading in self.readings)

    def share(self, parallel: int) -> float:
        """Covered share of a size, the least of the readings that count."""
        return min(float(self.covered(parallel, reading).mean()) for reading in self.readings)

    def reading(self, parallel: int) -> NightsReading:
        """Nights of a size in the reading that decides."""
        design = self.sized(parallel)
        if self.judged == "headline":
            return design.headline
        return design.read_as(self.judged)

    def consecutive_decides(self, parallel: int) -> bool:
        """Whether a size covers enough independent nights, and not enough consecutive ones."""
        count = len(self.design.season.times)
        enough = needed_nights(count, self.design.target)
        alone = int(self.covered(parallel, "independent").sum())
        return "consecutive" in self.readings and alone >= enough and not self.covers(parallel)


def layout_of(bank: Bank) -> dict[str, Any]:
    """Columns that tell a layout."""
    return {
        "series": bank.series,
        "parallel": bank.parallel,
        "units": bank.units,
        "usable_kwh": usable_kwh(bank),
    }


def candidates(
    scenario: Scenario,
    weather: Weather | None,
    season: str | None,
    heat_wave: HeatWave | float | None,
    target: float,
    start_soc: float | None,
    full_at_bedtime: bool,
    *,
    batteries: str | Sequence[str | BankUnit] | None,
    modes: Sequence[str] | None,
    coolers: Sequence[str | Cooler] | None,
    judged: Judged,
) -> list[Candidate]:
    """Every battery with every mode and cooler; the days before each account are marched once a mode and cooler.

    Parameters
    ----------
    scenario, weather, season, heat_wave, target, start_soc, full_at_bedtime, batteries, modes, coolers, judged
        As for `size`.

    Returns
    -------
    list of Candidate
        Cooler by cooler, mode by mode, battery by battery.

    Raises
    ------
    ScenarioError
        Everything that cannot be used, at once.
    """
    faults: list[str] = []
    units = _units(scenario, batteries, faults)
    machines = _coolers(scenario, coolers, faults)
    allowed = [mode for mode in COOLING_CODE if mode != "off"]
    faults += [f"modes: {m!r} is not a mode; allowed: {', '.join(allowed)}" for m in modes or () if m not in allowed]
    if judged not in ("headline", "independent", "consecutive"):
        faults.append(f"judged: {judged!r} is not a reading; allowed: headline, independent, consecutive")
    if faults:
        raise ScenarioError(faults)
    base = design_of(
        scenario,
        weather,
        season,
        heat_wave=heat_wave,
        target=target,
        start_soc=start_soc,
        full_at_bedtime=full_at_bedtime,
    )
    asked = [
        ({"mode": mode, "cooler": label}, machine, mode)
        for label, machine in machines
        for mode in modes or (AS_PLANNED,)
    ]

    def fitted(one: tuple[dict[str, str], Cooler | None, str]) -> tuple[Design, int]:
        _, machine, mode = one
        design = base if machine is None else with_cooler(base, machine)
        design = design if mode == AS_PLANNED else with_mode(design, mode)
        unlimited = replace(design.season, electrical=without_cuts(design.season.electrical))
        endless = sr.independent(unlimited, endless_bank(), design.states, 0.5, follow=False)[0]
        return design, int((~covered_and_why(design.season, endless)[0]).sum())

    return [
        Candidate({"battery": label, **labels}, bank, design, judged, warm)
        for (labels, _, _), (design, warm) in zip(asked, all_of(fitted, asked), strict=True)
        for label, bank in units
    ]


def _units(
    scenario: Scenario, batteries: str | Sequence[str | BankUnit] | None, faults: list[str]
) -> list[tuple[str, Bank]]:
    bus = scenario.bank.nominal_v
    own = scenario.bank.unit
    if batteries is None:
        return [(own.name or _name_of(own), _string(scenario, own))]
    parts = library_of(scenario)
    every = isinstance(batteries, str) and batteries == "all"
    names: Sequence[str | BankUnit] = (
        list(parts.parts["bank-units"]) if every else [batteries] if isinstance(batteries, str) else batteries
    )
    found = []
    for name in names:
        try:
            unit = name if isinstance(name, BankUnit) else parts.part("bank-units", name)
        except ScenarioError as problem:
            faults += [f"batteries: {fault}" for fault in problem.faults]
            continue
        assert isinstance(unit, BankUnit)
        label = unit.name or (_name_of(unit) if isinstance(name, BankUnit) else name)
        if bus % unit.nominal_v == 0:
            found.append((label, _string(scenario, unit)))
        elif not every:
            faults.append(f"batteries: {label} has {unit.nominal_v} V; that does not make up the bus of {bus} V")
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
    parts, bus = library_of(scenario), scenario.bank.nominal_v
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


def reserve_notes(scenario: Scenario, offers: list[Candidate]) -> tuple[Note, ...]:
    """What is said about batteries of another chemistry than the scenario's."""
    own = scenario.bank.unit.chemistry
    others = sorted({offer.bank.unit.chemistry for offer in offers} - {own})
    return tuple(
        Note("other-chemistry-reserve", {"chemistry": name, "reserve_soc": RESERVE_SOC[name], "own_chemistry": own})
        for name in others
    )
