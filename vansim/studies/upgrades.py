"""Which single change is worth most, and what would the same gain cost in battery?"""

from __future__ import annotations

from bisect import bisect_right
from collections.abc import Mapping
from typing import Any

import numpy as np
import pandas as pd

from vansim.climate import Weather
from vansim.climate.seasons import HeatWave
from vansim.errors import ScenarioError
from vansim.march import nights as nm
from vansim.runs import season as sr
from vansim.runs.batch import Progress
from vansim.scenario.schema import DAY_MIN, Scenario, minutes
from vansim.scenario.vary import vary
from vansim.studies.compare import DesignResult, evaluate, evaluate_many, total_of
from vansim.studies.nights import KEEP
from vansim.studies.sizing import LARGEST_PARALLEL
from vansim.van.bank import bank_parameters, usable_kwh

RUNTIME_TOLERANCE_H = 0.01
ADDED_INSULATION_MM = 20.0
SHADE = 0.8
BREAK_M2K_W = 0.15
"""Resistance of a strip of foam between rib and lining, about 5 mm [m2K/W]."""


def standard_changes(scenario: Scenario) -> dict[str, dict[str, Any]]:
    """Single changes that are usually on the table.

    Parameters
    ----------
    scenario : Scenario
        The base; its segments, faces and windows say where a change applies.

    Returns
    -------
    dict of str to dict
        Name to changes, as for `vary`. Some may change nothing, or not suit the van. Shade at night also hides the
        cold sky, so shade by day and shade throughout are two changes.
    """
    cooled, parked, by_day = [], [], []
    asleep = {minutes(scenario.night.bedtime), (minutes(scenario.night.waking) - 1) % DAY_MIN}
    for key, segment in scenario.segments().items():
        if segment.cooling != "off":
            cooled.append(key)
        if segment.doing != "driving":
            parked.append(key)
            if not any((m - minutes(segment.start)) % DAY_MIN < segment.span_min for m in asleep):
                by_day.append(key)

    def everywhere(keys: list[str], name: str, value: Any) -> dict[str, Any]:
        return {f"{key}.{name}": value for key in keys}

    own = [f"{key}.setpoint_c" for key in cooled if scenario.segments()[key].setpoint_c is not None]
    warmer = {"thermostat.setpoint_c": "+1", **dict.fromkeys(own, "+1")}
    outside = {f"cabin.windows.{i}.cover": "insulated-outside" for i in range(len(scenario.cabin.windows))}
    return {
        f"{SHADE:.0%} shade by day": everywhere(by_day, "shade", SHADE),
        f"{SHADE:.0%} shade day and night": everywhere(parked, "shade", SHADE),
        "covers in place whenever parked": everywhere(parked, "covers", True),
        "insulated covers outside on all glass, while cooling": {**outside, **everywhere(cooled, "covers", True)},
        "set point 1 K higher": warmer,
        "eco throughout": everywhere(cooled, "cooling", "eco"),
        "boost until cool, then eco": everywhere(cooled, "cooling", "boost_then_eco"),
        "boost throughout": everywhere(cooled, "cooling", "boost"),
        "roof fan first": everywhere(cooled, "fan", "auto"),
        "white paint": {"cabin.faces.*.paint": "white"},
        f"{ADDED_INSULATION_MM:g} mm more insulation on walls and roof": _thicker(scenario, floor=False),
        f"{ADDED_INSULATION_MM:g} mm more insulation in the floor": _thicker(scenario, floor=True),
        "foam strips over the ribs": {
            f"cabin.faces.{name}.rib_m2k_w": face.rib_m2k_w + BREAK_M2K_W
            for name, face in scenario.cabin.faces.items()
            if face.rib_share > 0.0
        },
        "half the leakage": {
            "cabin.leakage_parked_per_h": 0.5 * scenario.cabin.leakage_parked_per_h,
            "cabin.leakage_wind_per_h": 0.5 * scenario.cabin.leakage_wind_per_h,
        },
        "half of all other loads": {f"loads.{i}.power_w": 0.5 * load.power_w for i, load in enumerate(scenario.loads)},
        "thermostat band of 2 K": {"thermostat.deadband_k": 2.0},
    }


def _thicker(scenario: Scenario, floor: bool) -> dict[str, Any]:
    """The layer that insulates most, thicker; faces whose layer is a plain resistance are left."""
    changes: dict[str, Any] = {}
    for name, face in scenario.cabin.faces.items():
        if (name == "floor") != floor:
            continue
        best = max(range(len(face.layers)), key=lambda i: face.layers[i].resistance_m2k_w)
        if face.layers[best].material:
            thickness = face.layers[best].thickness_mm + ADDED_INSULATION_MM
            changes[f"cabin.faces.{name}.layers.{best}.thickness_mm"] = thickness
    return changes


def worth_most(
    scenario: Scenario,
    weather: Weather | None = None,
    changes: Mapping[str, Mapping[str, Any]] | None = None,
    season: str | None = None,
    heat_wave: HeatWave | float | None = None,
    keep: float = KEEP,
    progress: Progress | None = None,
) -> pd.DataFrame:
    """Rank single changes by the runtime that they gain, beside the battery that would gain as much.

    Parameters
    ----------
    scenario : Scenario
        The base.
    weather : Weather or None
        Typical year; left out, the scenario's own.
    changes : dict of str to dict, or None
        Name to changes, as for `vary`; left out, `standard_changes`.
    season, heat_wave, keep
        As for `nights_alone`.
    progress : callable or None
        Called with changes done and in all.

    Returns
    -------
    DataFrame
        Indexed by change, the largest gain first. `gained_p10_h` is the runtime gained at the tenth percentile of the
        nights, which nine in ten exceed; `gained_p50_h` at the median; a runtime that goes on past waking also
        meets the next day's sun, so what helps by day counts. `same_by_bank_kwh`, `same_by_bank_price` and
        `same_by_bank_mass_kg` are what a larger bank of the same batteries would cost for the gain at the tenth
        percentile, found by marching larger banks until the runtime agrees to 0.01 h (fractions of a battery allowed);
        `same_by_bank_units` rounds up to whole ones. They are 0 where nothing is gained and infinite where 64 in
        parallel do not gain as much. ``attrs["left_out"]`` says which changes do not apply, and why.
    """
    base = evaluate(scenario, weather, season, heat_wave, keep)
    bigger = BiggerBank(base)
    varied, left_out = _applied(scenario, standard_changes(scenario) if changes is None else changes)
    rows = {}
    looked = evaluate_many(varied.values(), weather, season, heat_wave, keep, lambda one: one)
    for name, one in zip(varied, looked, strict=True):
        rows[name] = _row(base, one, bigger)
        if progress is not None:
            progress(len(rows), len(varied))
    columns = ["gained_p10_h", "gained_p50_h", "kept_share", "cooler_wh_saved", "over_limit_h", "added_price"]
    columns += [f"same_by_bank_{what}" for what in ("kwh", "units", "price", "mass_kg")]
    table = pd.DataFrame.from_dict(rows, orient="index", columns=columns).rename_axis("change")
    table = table.sort_values("gained_p10_h", ascending=False, kind="stable")
    table.attrs["left_out"] = left_out
    return table


def _applied(
    scenario: Scenario, changes: Mapping[str, Mapping[str, Any]]
) -> tuple[dict[str, Scenario], dict[str, str]]:
    """Each change made to the scenario, and why those that are left out are."""
    varied, left_out = {}, {}
    for name, change in changes.items():
        try:
            made = vary(scenario, change) if change else scenario
        except ScenarioError as problem:
            left_out[name] = "; ".join(problem.faults)
        else:
            if made == scenario:
                left_out[name] = "changes nothing here"
            else:
                varied[name] = made
    return varied, left_out


def _p10_h(looked: DesignResult) -> float:
    return float(looked.nights.distribution["runtime_h"]["p10"])


def _row(base: DesignResult, varied: DesignResult, bigger: BiggerBank) -> dict[str, Any]:
    before, after = base.nights, varied.nights
    gained = _p10_h(varied) - _p10_h(base)
    return {
        "gained_p10_h": gained,
        "gained_p50_h": after.distribution["runtime_h"]["p50"] - before.distribution["runtime_h"]["p50"],
        "kept_share": after.distribution["kept_share"],
        "cooler_wh_saved": float(before.table["cooler_wh"].mean() - after.table["cooler_wh"].mean()),
        "over_limit_h": float(after.table["over_limit_h"].mean()),
        "added_price": total_of(varied.run.scenario, "price") - total_of(base.run.scenario, "price"),
        **bigger.cost_of(_p10_h(varied)),
    }


class BiggerBank:
    """Finds the bank, in fractions of a battery, that reaches a runtime; remembers what was marched.

    Parameters
    ----------
    base : DesignResult
        The design whose bank is made larger.
    """

    def __init__(self, base: DesignResult) -> None:
        self.base = base
        self.bank = base.run.scenario.bank
        self.sizes = [float(self.bank.parallel)]
        self.runtimes_h = [_p10_h(base)]

    def runtime_h(self, parallel: float) -> float:
        """Runtime at the tenth percentile with a number of strings [h]; marched."""
        numbers = bank_parameters(self.bank.model_copy(update={"parallel": parallel}))
        books = sr.alone(self.base.run, numbers, self.base.evenings.states, 1.0)
        found = float(np.percentile(books[:, nm.RUNTIME], 10)) / 3600.0
        place = bisect_right(self.sizes, parallel)
        self.sizes.insert(place, parallel)
        self.runtimes_h.insert(place, found)
        return found

    def parallel_for(self, target_h: float) -> float:
        """Strings in parallel that reach a runtime [h]; infinite where 64 do not."""
        if target_h <= self.runtimes_h[0] + RUNTIME_TOLERANCE_H:
            return self.sizes[0]
        while self.runtimes_h[-1] < target_h - RUNTIME_TOLERANCE_H:
            if self.sizes[-1] >= LARGEST_PARALLEL:
                return float("inf")
            self.runtime_h(min(2.0 * self.sizes[-1], float(LARGEST_PARALLEL)))
        for step in range(40):
            above = next(i for i, h in enumerate(self.runtimes_h) if h >= target_h - RUNTIME_TOLERANCE_H)
            low_h, high_h = self.runtimes_h[above - 1], self.runtimes_h[above]
            low, high = self.sizes[above - 1], self.sizes[above]
            if abs(high_h - target_h) <= RUNTIME_TOLERANCE_H or high - low < 1e-4:
                return high
            share = min(max((target_h - low_h) / (high_h - low_h), 0.02), 0.98) if step % 4 < 3 else 0.5
            self.runtime_h(low + share * (high - low))
        return high

    def cost_of(self, target_h: float) -> dict[str, float]:
        """What a larger bank for a runtime takes: usable energy, batteries, money, mass."""
        bank, parallel = self.bank, self.parallel_for(target_h)
        added = (parallel - bank.parallel) * bank.series
        whole = max(0.0, np.ceil(parallel - bank.parallel - 1e-6)) * bank.series
        one = usable_kwh(bank) / bank.units
        return {
            "same_by_bank_kwh": one * added,
            "same_by_bank_units": float(whole),
            "same_by_bank_price": bank.unit.price * added,
            "same_by_bank_mass_kg": bank.unit.mass_kg * added,
        }
