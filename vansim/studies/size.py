"""How large a bank? The smallest one in whole batteries that keeps an asked share of nights.

More batteries in parallel hold more and sag less, and hardly touch the cabin, so the kept nights grow with their number
and bisection finds the least. Every size that is looked at is marched; none is scaled from another. Nights that are too
warm even on an inexhaustible bank are a matter of the cooler, and no bank mends them.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any

import numpy as np
import numpy.typing as npt
import pandas as pd

from vansim.climate import Weather
from vansim.errors import ScenarioError
from vansim.march.forcing import COOLING_CODE, COOLING_OFF
from vansim.march.simulate import Run
from vansim.scenario.parts import library
from vansim.scenario.schema import Scenario
from vansim.studies import season_run as sr
from vansim.studies.nights import KEEP, OVER_TOLERANCE_H, kept_and_why, laid_season, needed_nights, nights_of
from vansim.studies.recovery import possible_ways, recover_from
from vansim.van.bank import Bank, BankUnit, bank_numbers, energy_at
from vansim.van.cooler import Cooler

Array = npt.NDArray[np.float64]

LARGEST_PARALLEL = 64
CURVE_POINTS = 12
RESERVE_SOC = {"lfp": 0.1, "agm": 0.5}
"""Reserve of a battery of another chemistry than the scenario's own (common practice: half of a lead-acid bank)."""
AS_PLANNED, AS_FITTED = "as planned", "as fitted"


@dataclass(frozen=True)
class Sizing:
    """What bank keeps the asked share.

    Attributes
    ----------
    table : DataFrame
        One row a battery, mode and cooler for which a bank was found: layout, `usable_kwh` (open-circuit energy from
        full to the reserve), `mass_kg`, `price`, `kept_share`, `runtime_p10_h`, the night that binds, hours to recharge
        after it (infinite where two days do not do it), and with the nights in a row `chained_share`,
        `bedtime_soc_p10` and `keeps_up`.
    failed : DataFrame
        One row a combination that no bank makes work: `best_share` and `words`.
    curve : DataFrame
        `kept_share` against size, each size marched; `chosen` marks the bank found, `knee` the size with the largest
        distance from the chord between the ends of the curve, both axes scaled to 0 to 1 (common practice).
    keep : float
        Asked share.
    season : str
        Which nights.
    notes : tuple of str
        What has to be said beside the numbers.
    """

    table: pd.DataFrame
    failed: pd.DataFrame
    curve: pd.DataFrame
    keep: float
    season: str
    notes: tuple[str, ...]


@dataclass(frozen=True)
class Choice:
    """A battery, a mode and a cooler, with the season that goes with them.

    Attributes
    ----------
    labels : dict of str to str
        ``unit``, ``mode``, ``cooler``.
    bank : Bank
        One battery in parallel; series as the bus asks.
    run : SeasonRun
        Season with mode and cooler.
    evenings : Evenings
        Cabin at bedtime, shared by all sizes.
    chained : bool
        Whether nights are in a row.
    shares : dict
        Kept share of the sizes marched so far.
    """

    labels: dict[str, str]
    bank: Bank
    run: sr.SeasonRun
    evenings: sr.Evenings
    chained: bool
    shares: dict[int, float] = field(default_factory=dict)

    def sized(self, parallel: int) -> Bank:
        """The bank with a number of strings in parallel."""
        return self.bank.model_copy(update={"parallel": parallel})

    def books(self, parallel: int, run_on: bool, chained: bool | None = None) -> Array:
        """March the season on a size."""
        numbers = bank_numbers(self.sized(parallel))
        if self.chained if chained is None else chained:
            start = self.run.scenario.bank.start_soc
            return sr.chained(self.run, numbers, self.evenings.states[0], start, run_on)
        return sr.alone(self.run, numbers, self.evenings.states, 1.0, run_on)

    def share(self, parallel: int) -> float:
        """Kept share on a size; marched once."""
        if parallel not in self.shares:
            self.shares[parallel] = float(np.mean(kept_and_why(self.books(parallel, run_on=False))[0]))
        return self.shares[parallel]


def size(
    scenario: Scenario,
    weather: Weather | None = None,
    keep: float = KEEP,
    season: str | None = None,
    units: str | Sequence[str | BankUnit] | None = None,
    modes: Sequence[str] | None = None,
    coolers: Sequence[str | Cooler] | None = None,
    chained: bool = False,
    heat_wave: Any = None,
    progress: sr.Progress | None = None,
) -> Sizing:
    """Find the smallest bank that keeps a share of nights.

    Parameters
    ----------
    scenario : Scenario
        Van, plan, place; reserve, cables, health and place of the bank.
    weather : Weather or None
        Typical year; left out, the scenario's own.
    keep : float
        Share of nights to keep, above 0 up to 1.
    season : str or None
        As for `nights_alone`.
    units : sequence of str or BankUnit, ``"all"``, or None
        Batteries by name in the parts library, or given; all of the library that suit the bus; or the scenario's own.
    modes : sequence of {"eco", "boost", "boost_then_eco"} or None
        Each put in place of every stretch of cooling; left out, the plan as it stands.
    coolers : sequence of str or Cooler, or None
        By name or given; left out, the one fitted.
    chained : bool
        Size on nights in a row, with the plan's charging, rather than on nights that each start full.
    heat_wave : HeatWave, float or None
        As for `nights_alone`.
    progress : callable or None
        Called with combinations done and in all.

    Returns
    -------
    Sizing
        Exact in whole batteries, up to 64 in parallel.

    Raises
    ------
    ScenarioError
        Parts, modes or shares that cannot be used, all at once.
    """
    if not 0.0 < keep <= 1.0:
        raise ScenarioError(f"keep: {keep:g} is not a share of nights; allowed: above 0, up to 1")
    choices = _choices(scenario, weather, season, units, modes, coolers, chained, heat_wave)
    rows, failed, curves = [], [], []
    for done, choice in enumerate(choices, 1):
        least = least_parallel(choice, keep)
        if least is None:
            failed.append(
                {**choice.labels, "best_share": choice.share(LARGEST_PARALLEL), "words": _why_not(choice, keep)}
            )
        else:
            rows.append(_row(choice, least, keep))
        curves.append(_curve(choice, least))
        if progress is not None:
            progress(done, len(choices))
    run = choices[0].run
    notes = nights_of(run, choices[0].books(1, run_on=False, chained=False), keep, chained).notes
    return Sizing(
        table=pd.DataFrame(rows),
        failed=pd.DataFrame(failed, columns=["unit", "mode", "cooler", "best_share", "words"]),
        curve=pd.concat(curves, ignore_index=True),
        keep=keep,
        season=run.span.label,
        notes=(*notes, *_reserve_notes(scenario, choices)),
    )


def least_parallel(choice: Choice, keep: float) -> int | None:
    """Smallest number in parallel that keeps the share; None where 64 do not.

    Doubling, then bisection: kept nights never fall as batteries are added.
    """
    count = choice.run.span.days
    enough = needed_nights(count, keep) / count - 1e-12
    if np.mean(choice.evenings.over_s <= OVER_TOLERANCE_H * 3600.0) < enough:
        return None
    high = 1
    while choice.share(high) < enough:
        if high == LARGEST_PARALLEL:
            return None
        high *= 2
    low = high // 2
    while high - low > 1:
        middle = (low + high) // 2
        if choice.share(middle) >= enough:
            high = middle
        else:
            low = middle
    return high


# --- what is compared -------------------------------------------------------------------------------------------------


def _choices(
    scenario: Scenario,
    weather: Weather | None,
    season: str | None,
    units: str | Sequence[str | BankUnit] | None,
    modes: Sequence[str] | None,
    coolers: Sequence[str | Cooler] | None,
    chained: bool,
    heat_wave: Any,
) -> list[Choice]:
    faults: list[str] = []
    batteries = _units(scenario, units, faults)
    machines = _coolers(scenario, coolers, faults)
    allowed = [mode for mode in COOLING_CODE if mode != "off"]
    faults += [f"modes: {m!r} is not a mode; allowed: {', '.join(allowed)}" for m in modes or () if m not in allowed]
    if faults:
        raise ScenarioError(faults)
    base = laid_season(scenario, weather, season, heat_wave)
    choices = []
    for machine_label, machine in machines:
        fitted = base if machine is None else sr.with_cooler(base, machine)
        for mode in modes or (AS_PLANNED,):
            run = fitted if mode == AS_PLANNED else sr.with_mode(fitted, mode)
            evenings = sr.evenings(run)
            for unit_label, bank in batteries:
                labels = {"unit": unit_label, "mode": mode, "cooler": machine_label}
                choices.append(Choice(labels, bank, run, evenings, chained))
    return choices


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


# --- what is told -----------------------------------------------------------------------------------------------------


def usable_kwh(bank: Bank) -> float:
    """Open-circuit energy between full and the reserve [kWh], at 25 °C and low rate."""
    b = bank_numbers(bank)
    return (energy_at(b, 1.0) - energy_at(b, b.reserve_soc)) * b.capacity_as / 3.6e6


def _layout(bank: Bank) -> dict[str, Any]:
    return {
        "series": bank.series,
        "parallel": bank.parallel,
        "units": bank.units,
        "usable_kwh": usable_kwh(bank),
    }


def _row(choice: Choice, parallel: int, keep: float) -> dict[str, Any]:
    bank = choice.sized(parallel)
    nights = nights_of(choice.run, choice.books(parallel, run_on=True), keep, choice.chained)
    binding = nights.distribution["design_night"]
    position = int(np.argmax(nights.table.index == binding["date"]))
    row = {
        **choice.labels,
        **_layout(bank),
        "reserve_soc": bank.reserve_soc,
        "mass_kg": bank.unit.mass_kg * bank.units,
        "price": bank.unit.price * bank.units,
        "kept_share": nights.distribution["kept_share"],
        "runtime_p10_h": nights.distribution["runtime_h"]["p10"],
        "binding_night": binding["date"],
        "binding_runtime_h": binding["runtime_h"],
        "binding_waking_soc": binding["waking_soc"],
        **recovery_h(choice.run, choice.evenings.states, bank, position, nights.table["bedtime_soc"].iloc[position]),
    }
    in_a_row = choice.books(parallel, run_on=False, chained=True)
    share = float(np.mean(kept_and_why(in_a_row)[0]))
    row["chained_share"] = share
    row["bedtime_soc_p10"] = float(np.percentile(in_a_row[:, sr.BED_SOC], 10))
    row["keeps_up"] = share * choice.run.span.days >= needed_nights(choice.run.span.days, keep) - 1e-9
    return row


def recovery_h(run: sr.SeasonRun, states: Array, bank: Bank, night: int, start_soc: float = 1.0) -> dict[str, float]:
    """Hours to recharge after a night.

    Parameters
    ----------
    run : SeasonRun
        Season.
    states : (n_nights, N_STATE) array
        Cabin at bedtime.
    bank : Bank
        The bank.
    night : int
        Which.
    start_soc : float
        State of charge at its bedtime.

    Returns
    -------
    dict of str to float
        ``recovery_road_h`` and so on for each way that the van can; infinite where two days do not do it.
    """
    scenario = run.scenario.model_copy(update={"bank": bank})
    numbers = bank_numbers(bank)
    state = sr.with_charge(states[night], numbers, start_soc)
    sr.night_books(run, run.quiet, numbers, night, state, run_on=False)
    there = Run(
        scenario=scenario,
        weather=run.weather,
        first_hour=run.span.first_hour,
        start_min=round(run.bed_s[night] / 60.0),
        end_min=round(run.wake_s[night] / 60.0),
        lead_in=run.laid,
        laid=run.laid,
        house=run.house,
        cooling=run.cooling,
        bank=numbers,
    )
    hours = recover_from(there, state, there.end_min).hours
    return {
        f"recovery_{way}_h": float("inf") if hours[way] is None else float(hours[way] or 0.0)
        for way in possible_ways(scenario)
    }


def _why_not(choice: Choice, keep: float) -> str:
    """Why no bank does it, in a sentence."""
    run = choice.run
    count, limit = run.span.days, run.scenario.night.limit_c
    warm = int((choice.evenings.over_s > OVER_TOLERANCE_H * 3600.0).sum())
    if run.scenario.cooler is None:
        return f"No cooler is fitted: the cabin is above {limit:g} °C on {warm} of {count} nights, and no bank helps."
    if not _cools_at_night(run):
        return f"No cooling is planned at night: the cabin is above {limit:g} °C on {warm} of {count} nights."
    if warm > count - needed_nights(count, keep):
        return (
            f"The cooler is too small, or is switched on too late: even on an inexhaustible bank the cabin is above "
            f"{limit:g} °C on {warm} of {count} nights. No bank helps."
        )
    if choice.chained and _alone_share(choice) >= needed_nights(count, keep) / count - 1e-12:
        return (
            f"The charging does not keep up: {LARGEST_PARALLEL} of these in parallel keep enough nights from full, "
            f"but only {choice.share(LARGEST_PARALLEL):.0%} in a row. More charging helps, more battery hardly."
        )
    return (
        f"{LARGEST_PARALLEL} of these in parallel keep {choice.share(LARGEST_PARALLEL):.0%} of the nights, "
        f"not {keep:.0%}; larger banks are not looked at."
    )


def _alone_share(choice: Choice) -> float:
    """Kept share of the largest bank when it starts every night full."""
    return float(np.mean(kept_and_why(choice.books(LARGEST_PARALLEL, run_on=False, chained=False))[0]))


def _cools_at_night(run: sr.SeasonRun) -> bool:
    """Whether the plan cools at some time between bedtime and waking."""
    return any(
        bool((sr.between(run.quiet, bed, wake)[0].cooling != COOLING_OFF).any())
        for bed, wake in zip(run.bed_s, run.wake_s, strict=True)
    )


def _reserve_notes(scenario: Scenario, choices: list[Choice]) -> tuple[str, ...]:
    own = scenario.bank.unit.chemistry
    others = sorted({c.bank.unit.chemistry for c in choices} - {own})
    return tuple(
        f"Batteries of type {name} are held at a reserve of {RESERVE_SOC[name]:.0%} (common practice); the scenario's "
        f"own reserve is for {own}."
        for name in others
    )


# --- the curve --------------------------------------------------------------------------------------------------------


def _curve(choice: Choice, least: int | None) -> pd.DataFrame:
    """Kept share over at most a dozen sizes, from one battery to well beyond the one found."""
    sizes = _sizes(choice, least)
    shares = np.array([choice.share(n) for n in sizes])
    layouts = pd.DataFrame([{**choice.labels, **_layout(choice.sized(n))} for n in sizes])
    marks = pd.DataFrame(
        {
            "kept_share": shares,
            "knee": knee(np.array(sizes, dtype=float), shares),
            "chosen": [n == least for n in sizes],
        }
    )
    return pd.concat([layouts, marks], axis=1)


def _sizes(choice: Choice, least: int | None) -> list[int]:
    top = min(max(least + 2, -(-3 * least // 2)), LARGEST_PARALLEL) if least else _saturation(choice)
    if top <= CURVE_POINTS:
        return list(range(1, top + 1))
    spread = np.linspace(1, top, CURVE_POINTS - 2).round().astype(int).tolist()
    return sorted({*spread, *((least - 1, least) if least else (top - 1,))} - {0})


def _saturation(choice: Choice) -> int:
    """Smallest size that keeps as many nights as the largest."""
    best, low, high = choice.share(LARGEST_PARALLEL), 0, LARGEST_PARALLEL
    while high - low > 1:
        middle = (low + high) // 2
        if choice.share(middle) >= best:
            high = middle
        else:
            low = middle
    return min(high + 1, LARGEST_PARALLEL)


def knee(sizes: Array, shares: Array) -> npt.NDArray[np.bool_]:
    """Where a rising curve bends.

    Parameters
    ----------
    sizes, shares : (n,) array
        Increasing sizes and their shares.

    Returns
    -------
    (n,) bool array
        True at the point farthest above the chord from first to last, axes scaled to 0 to 1 (common practice); nowhere
        where no point lies above it.
    """
    marked = np.zeros(sizes.size, dtype=bool)
    if sizes.size < 3 or shares[-1] <= shares[0]:
        return marked
    across = (sizes - sizes[0]) / (sizes[-1] - sizes[0])
    above = (shares - shares[0]) / (shares[-1] - shares[0]) - across
    place = int(np.argmax(above))
    marked[place] = above[place] > 1e-9
    return marked
