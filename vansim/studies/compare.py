"""Designs side by side: what each change does to nights, energy, comfort, recharging, money and mass."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

import numpy as np
import pandas as pd

from vansim.climate import Weather
from vansim.climate.seasons import HeatWave
from vansim.errors import ScenarioError
from vansim.notes import Note
from vansim.runs.jobs import Progress, all_of
from vansim.scenario.files import ScenarioSource, as_scenario
from vansim.scenario.schema import Scenario
from vansim.scenario.vary import vary
from vansim.studies.candidates import Judged
from vansim.studies.design import AS_IT_IS, TARGET, Design, design_of, redesigned, season_notes

FIRST = ("covered_share", "independent_share", "consecutive_share", "judged", "runtime_p10_h", "runtime_p50_h")


@dataclass(frozen=True)
class Comparison:
    """Designs side by side.

    Attributes
    ----------
    table : DataFrame
        One row a design, the base first as ``"as it is"``. `covered_share` is that of the reading in `judged`; both
        shares stand beside it. Runtimes are of that reading: one night in ten is shorter than the P10. `gained_*_h` are
        hours gained against the base (lost where negative). `waking_soc` is that at the end of the base's design night.
        Energies are means a night over the whole account; `cool_down_min` as `vansim.studies.cool_down`; `recharge_*_h`
        after the design night of each, infinite beyond 48 h. `price` and `added_price` are not-a-number unless the
        prices of all parts are known. `lacks_battery` and `lacks_cooler` count nights; one may lack both.
    base : Design
        The van as it is.
    judged : str
        What the shares were judged on.
    notes : tuple of Note
        What has to be said beside the numbers.
    """

    table: pd.DataFrame
    base: Design
    judged: Judged
    notes: tuple[Note, ...]


def compare(
    scenario: ScenarioSource,
    weather: Weather | None = None,
    variants: Mapping[str, Mapping[str, Any]] | None = None,
    season: str | None = None,
    heat_wave: HeatWave | float | None = None,
    target: float = TARGET,
    judged: Judged = "headline",
    start_soc: float | None = None,
    full_at_bedtime: bool = False,
    progress: Progress | None = None,
) -> Comparison:
    """Lay variants of a scenario side by side.

    Parameters
    ----------
    scenario : Scenario, str, Path or mapping
        The base.
    weather : Weather or None
        Typical year; left out, the scenario's own.
    variants : dict of str to dict, or None
        Name to changes, as for `vary`; left out, those that the scenario names.
    season, heat_wave, target, start_soc, full_at_bedtime
        As for `nights`.
    judged : {"headline", "independent", "consecutive"}
        On the worse of both readings of each design, or on one of them.
    progress : callable or None
        Called with designs done and in all.

    Returns
    -------
    Comparison
        Designs in the order given.

    Raises
    ------
    ScenarioError
        Variants that cannot be made, all faults at once; or none are given and none named.
    """
    scenario = as_scenario(scenario)
    changes = scenario.variants if variants is None else variants
    if not changes:
        raise ScenarioError("variants: none are given, and the scenario names none")
    varied = _made(scenario, changes)
    base = design_of(
        scenario,
        weather,
        season,
        heat_wave=heat_wave,
        target=target,
        start_soc=start_soc,
        full_at_bedtime=full_at_bedtime,
    )
    night = base.headline.night(base.headline.design_night(target))["date"]

    def row(one: tuple[str, Scenario | None]) -> dict[str, Any]:
        name, changed = one
        return design_row(base if changed is None else redesigned(base, changed, name), night, judged)

    asked: list[tuple[str, Scenario | None]] = [(AS_IT_IS, None), *varied.items()]
    rows = dict(zip([name for name, _ in asked], all_of(row, asked, progress), strict=True))
    table = pd.DataFrame.from_dict(rows, orient="index").rename_axis("design")
    for gained, column in (
        ("gained_p10_h", "runtime_p10_h"),
        ("gained_p50_h", "runtime_p50_h"),
        ("added_price", "price"),
        ("added_mass_kg", "mass_kg"),
    ):
        table[gained] = table[column] - table[column].iloc[0]
    table = table[[*FIRST, *(column for column in table if column not in FIRST)]]
    return Comparison(table, base, judged, season_notes(base))


def _made(scenario: Scenario, changes: Mapping[str, Mapping[str, Any]]) -> dict[str, Scenario]:
    made, faults = {}, []
    for name, change in changes.items():
        if name == AS_IT_IS:
            faults.append(f"variants: {AS_IT_IS!r} is what the scenario itself is called here; choose another name")
            continue
        try:
            made[name] = vary(scenario, change)
        except ScenarioError as problem:
            faults += [f"{name}: {fault}" for fault in problem.faults]
    if faults:
        raise ScenarioError(faults)
    return made


def design_row(design: Design, night: pd.Timestamp, judged: Judged) -> dict[str, Any]:
    """What a design is and does.

    Parameters
    ----------
    design : Design
        Laid out.
    night : Timestamp
        The night on which the charge left at waking is read.
    judged : {"headline", "independent", "consecutive"}
        Which reading the row tells of.

    Returns
    -------
    dict
        The columns of `Comparison.table`, gains left out.
    """
    reading = design.headline if judged == "headline" else design.read_as(judged)
    table, why = reading.table, reading.reasons()
    length_h = (design.season.wake_s - design.season.bed_s) / 3600.0
    price = design.price
    return {
        "covered_share": reading.share,
        "independent_share": design.independent.share,
        "consecutive_share": design.consecutive.share,
        "judged": reading.kind,
        "runtime_p10_h": reading.runtime_h(0.1),
        "runtime_p50_h": reading.runtime_h(0.5),
        "waking_soc": float(table["waking_soc"].loc[night]),
        "evening_wh": float(table["evening_wh"].mean()),
        "cooler_wh": float(table["cooler_wh"].mean()),
        "loads_wh": float(table["loads_wh"].mean()),
        "duty": float(np.average(table["duty"], weights=length_h)),
        "starts_per_h": float(table["starts"].sum() / length_h.sum()),
        "over_limit_h": float(table["over_limit_h"].mean()),
        "cabin_max_c": float(table["cabin_max_c"].max()),
        "cool_down_min": design.cool_down_min,
        **{f"recharge_{way}_h": hours for way, hours in design.recharge_h.items()},
        "usable_kwh": design.usable_kwh,
        "price": np.nan if price is None else price,
        "mass_kg": design.mass_kg,
        "lacks_battery": why["battery"] + why["both"],
        "lacks_cooler": why["cooler"] + why["both"],
    }
