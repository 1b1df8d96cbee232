"""Designs side by side: what each change does to runtime, energy, comfort, recovery, money and mass."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator, Mapping
from dataclasses import dataclass
from typing import Any, TypeVar

import numpy as np
import pandas as pd

from vansim.boundary.forcing import COOLING_OFF, build_forcing
from vansim.climate import Weather
from vansim.climate.seasons import HeatWave
from vansim.errors import ScenarioError
from vansim.runs import season as sr
from vansim.runs.batch import Progress, simulate_many
from vansim.runs.run import follow, rested_state
from vansim.scenario.schema import DAY_MIN, Scenario
from vansim.scenario.vary import vary
from vansim.studies.nights import KEEP, Nights, laid_season, nights_of
from vansim.studies.sizing import recovery_h
from vansim.van.bank import bank_parameters, usable_kwh

R = TypeVar("R")
BASE = "as it is"
SOAK_C = 55.0
SOAK_FROM_H = 12
COOL_DOWN_H = 6.0
COOL_DOWN_STEP_S = 10.0


@dataclass(frozen=True)
class DesignResult:
    """A design marched over a season.

    Attributes
    ----------
    run : SeasonRun
        ForcingData out.
    evenings : BedtimeStates
        Cabin at bedtime.
    nights : Nights
        Independent nights from full.
    """

    run: sr.SeasonRun
    evenings: sr.BedtimeStates
    nights: Nights


def evaluate(
    scenario: Scenario,
    weather: Weather | None,
    season: str | None,
    heat_wave: HeatWave | float | None = None,
    keep: float = KEEP,
) -> DesignResult:
    """March the independent nights of a design, keeping what further questions need."""
    run = laid_season(scenario, weather, season, heat_wave)
    evenings = sr.evenings(run)
    books = sr.alone(run, bank_parameters(scenario.bank), evenings.states, 1.0)
    return DesignResult(run, evenings, nights_of(run, books, keep, chained=False))


def evaluate_many(
    designs: Iterable[Scenario],
    weather: Weather | None,
    season: str | None,
    heat_wave: HeatWave | float | None,
    keep: float,
    told: Callable[[DesignResult], R],
) -> Iterator[R]:
    """`evaluate` at many designs side by side, and give what is told of each: the season itself is not kept."""

    def study(design: Scenario, year: Weather) -> R:
        return told(evaluate(design, year, season, heat_wave, keep))

    return simulate_many(designs, weather, study=study)


def compare(
    scenario: Scenario,
    weather: Weather | None = None,
    variants: Mapping[str, Mapping[str, Any]] | None = None,
    season: str | None = None,
    heat_wave: HeatWave | float | None = None,
    keep: float = KEEP,
    soak_c: float = SOAK_C,
    progress: Progress | None = None,
) -> pd.DataFrame:
    """Lay variants of a scenario side by side.

    Parameters
    ----------
    scenario : Scenario
        The base.
    weather : Weather or None
        Typical year; left out, the scenario's own.
    variants : dict of str to dict, or None
        Name to changes, as for `vary`; left out, those that the scenario names.
    season, heat_wave, keep
        As for `nights_alone`.
    soak_c : float
        Cabin and contents before the cool-down [°C].
    progress : callable or None
        Called with designs done and in all.

    Returns
    -------
    DataFrame
        One row a design, the base first as ``"as it is"``. `gained_p10_h` and `gained_p50_h` are hours of runtime
        gained (lost where negative) on bad and on middling nights, each starting full and followed for up to 48 h.
        Energies are means a night. `cool_down_min` is the time from the hot soak to the night's limit, switched on as
        planned after noon of the hottest day; infinite where 6 h do not do it. `recovery_*_h` follow the night that
        binds. `lost_to_bank` and `lost_to_cooler` count nights; one may be lost to both.

    Raises
    ------
    ScenarioError
        Variants that cannot be made, all faults at once; or none are given and none named.
    """
    changes = scenario.variants if variants is None else variants
    if not changes:
        raise ScenarioError("variants: none are given, and the scenario names none")
    designs = {BASE: scenario, **_made(scenario, changes)}
    looked = evaluate_many(designs.values(), weather, season, heat_wave, keep, lambda one: design_row(one, soak_c))
    rows = {}
    for name, row in zip(designs, looked, strict=True):
        rows[name] = row
        if progress is not None:
            progress(len(rows), len(designs))
    table = pd.DataFrame.from_dict(rows, orient="index").rename_axis("design")
    for gained, column in (
        ("gained_p10_h", "runtime_p10_h"),
        ("gained_p50_h", "runtime_p50_h"),
        ("added_price", "price"),
        ("added_mass_kg", "mass_kg"),
    ):
        table[gained] = table[column] - table[column].iloc[0]
    first = ["kept_share", "runtime_p10_h", "gained_p10_h", "runtime_p50_h", "gained_p50_h"]
    return table[first + [column for column in table if column not in first]]


def _made(scenario: Scenario, changes: Mapping[str, Mapping[str, Any]]) -> dict[str, Scenario]:
    made, faults = {}, []
    for name, change in changes.items():
        if name == BASE:
            faults.append(f"variants: {BASE!r} is what the scenario itself is called here; choose another name")
            continue
        try:
            made[name] = vary(scenario, change)
        except ScenarioError as problem:
            faults += [f"{name}: {fault}" for fault in problem.faults]
    if faults:
        raise ScenarioError(faults)
    return made


def design_row(looked: DesignResult, soak_c: float = SOAK_C) -> dict[str, Any]:
    """What a design is and does.

    Parameters
    ----------
    looked : DesignResult
        Marched.
    soak_c : float
        Hot soak [°C].

    Returns
    -------
    dict
        The columns of `compare`, gains left out.
    """
    run, table, told = looked.run, looked.nights.table, looked.nights.distribution
    scenario = run.scenario
    binding = int(np.argmax(table.index == told["design_night"]["date"]))
    length_h = (run.wake_s - run.bed_s) / 3600.0
    return {
        "kept_share": told["kept_share"],
        "runtime_p10_h": told["runtime_h"]["p10"],
        "runtime_p50_h": told["runtime_h"]["p50"],
        "cooler_wh": float(table["cooler_wh"].mean()),
        "loads_wh": float(table["loads_wh"].mean()),
        "duty": float(np.average(table["duty"], weights=length_h)),
        "starts_per_h": float(table["starts"].sum() / length_h.sum()),
        "over_limit_h": float(table["over_limit_h"].mean()),
        "cabin_max_c": float(table["cabin_max_c"].max()),
        "cool_down_min": cool_down_min(run, soak_c),
        **recovery_h(run, looked.evenings.states, scenario.bank, binding),
        "usable_kwh": usable_kwh(scenario.bank),
        "price": total_of(scenario, "price"),
        "mass_kg": total_of(scenario, "mass_kg"),
        "lost_to_bank": told["why"]["bank"] + told["why"]["both"],
        "lost_to_cooler": told["why"]["cooler too small"] + told["why"]["both"],
    }


def total_of(scenario: Scenario, what: str) -> float:
    """Price or mass [kg] of bank, cooler and what charges, as far as the parts tell."""
    bank = scenario.bank
    others = (scenario.cooler, scenario.solar, scenario.alternator, scenario.charger)
    return float(getattr(bank.unit, what) * bank.units + sum(getattr(part, what, 0.0) for part in others if part))


def cool_down_min(run: sr.SeasonRun, soak_c: float = SOAK_C) -> float:
    """Time from a hot soak to the night's limit.

    Parameters
    ----------
    run : SeasonRun
        Season; its hottest day is taken.
    soak_c : float
        Cabin air and contents at the start [°C]; humidity is the outdoor air's.

    Returns
    -------
    float
        [min], from when the plan first cools after noon, with the segment then in force held on and the bank
        inexhaustible; infinite where 6 h do not do it or the plan cools at no time.
    """
    forcing = run.laid.forcing
    day = _hottest_day(run)
    first = np.flatnonzero(
        (forcing.start_s >= (day * 24 + SOAK_FROM_H) * 3600.0 - 1e-6) & (forcing.cooling != COOLING_OFF)
    )
    if not first.size or run.scenario.cooler is None:
        return float("inf")
    at = int(first[0])
    start_min = round(forcing.start_s[at] / 60.0)
    held = sr.held_scenario(run.scenario, run.laid.segments[at])
    end_min = start_min + int(COOL_DOWN_H * 60)
    piece = sr.without_charging(build_forcing(held, run.weather, run.span.first_hour, start_min, end_min).forcing)
    # a mode put in place of the plan's holds here too
    piece = piece._replace(cooling=np.full(piece.start_s.size, forcing.cooling[at]))
    bank = sr.endless_bank()
    state = sr.with_charge(rested_state(piece, soak_c), bank, 0.5)
    moments = np.arange(start_min * 60.0, end_min * 60.0, COOL_DOWN_STEP_S)
    cool = np.flatnonzero(follow(piece, run.van(bank), state, moments)["cabin_c"] <= run.house.limit_c)
    return float((moments[cool[0]] - moments[0]) / 60.0) if cool.size else float("inf")


def _hottest_day(run: sr.SeasonRun) -> int:
    forcing = run.laid.forcing
    days = np.floor(forcing.start_s / (DAY_MIN * 60.0)).astype(int)
    inside = (days >= 0) & (days < run.span.days)
    return int(days[inside][np.argmax(forcing.outdoor_c[inside])])
