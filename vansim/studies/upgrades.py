"""Which change is worth more than another battery?

Changes are ranked by the nights that they cover (consecutive ones where the plan charges by engine or shore), then by
the charge left at waking on the design night, then by energy. A change that loses nights is marked, and never comes
first. Runtime beyond waking does not count: nobody sleeps in it.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from itertools import combinations
from typing import Any

import numpy as np
import pandas as pd

from vansim.climate import Weather
from vansim.climate.seasons import HeatWave
from vansim.errors import ScenarioError
from vansim.lazy import lazy
from vansim.notes import Note
from vansim.runs.jobs import Progress, all_of
from vansim.scenario.files import ScenarioSource, as_scenario
from vansim.scenario.schema import Scenario
from vansim.scenario.vary import vary
from vansim.studies.changes import Change, standard_changes
from vansim.studies.design import TARGET, Design, Reading, design_of, redesigned, season_notes
from vansim.van.bank import Bank, bank_parameters, energy_at

BEST_FOR_PAIRS = 4
"""The best so many changes are tried two at a time."""
MOST_ADDED = 16
"""Strings of batteries that a change is compared with, at the most."""
LEAST_GAIN_KWH = 0.01


@dataclass(frozen=True)
class Outcome:
    """What a design makes of the season, as far as it ranks.

    Attributes
    ----------
    covered : int
        Nights covered.
    left_kwh : float
        Energy above the reserve at waking on the design night [kWh].
    waking_soc : float
        State of charge then.
    energy_wh : float
        Electricity of cooler and loads over a mean account [Wh].
    other_covered : int
        Nights covered in the reading that does not rank; 0 where that was not asked for.
    """

    covered: int
    left_kwh: float
    waking_soc: float
    energy_wh: float
    other_covered: int = 0

    @property
    def rank(self) -> tuple[int, float, float]:
        """Larger is better."""
        return self.covered, round(self.left_kwh, 3), -round(self.energy_wh, 1)


@dataclass(frozen=True)
class Upgrades:
    """Changes, the best first.

    Attributes
    ----------
    table : DataFrame
        Indexed by change: `covered`, `gained_nights`, `waking_soc` and `left_kwh` on the design night, `gained_kwh`,
        `energy_saved_wh` a night, `added_price` (not-a-number where a price is not known), `added_mass_kg`,
        `same_by_batteries` (batteries more that do as much, in parts of one where only charge differs; 0 where nothing
        is gained, infinite where 16 strings do not do it), `other_covered` and `other_gained` (nights in the reading
        that does not rank), and `loses_nights`.
    pairs : DataFrame
        The best changes two at a time, the best pair first: `first`, `second`, and the same columns; `together_kwh`
        is what they gain beyond the sum of both (less where negative).
    changes : dict of str to Change
        What each is.
    left_out : dict of str to str
        Code of each change that does not apply, and why: ``"changes-nothing"``, ``"does-not-apply"`` or a fault.
    base : Design
        The van as it is.
    before : Outcome
        Its nights.
    reading : {"independent", "consecutive"}
        Which nights rank.
    design_night : Timestamp
        On which the charge left is read.
    notes : tuple of Note
        What has to be said beside the numbers.
    """

    table: pd.DataFrame
    pairs: pd.DataFrame
    changes: dict[str, Change]
    left_out: dict[str, str]
    base: Design
    before: Outcome
    reading: Reading
    design_night: pd.Timestamp
    notes: tuple[Note, ...]

    @property
    def best(self) -> pd.Series[Any] | None:
        """The first change that gains something and loses no night; None where there is none."""
        good = self.table[~self.table["loses_nights"]]
        gains = good[(good["gained_nights"] > 0) | (good["gained_kwh"] >= LEAST_GAIN_KWH)]
        return gains.iloc[0] if len(gains) else None


def upgrades(
    scenario: ScenarioSource,
    weather: Weather | None = None,
    changes: Sequence[Change] | None = None,
    season: str | None = None,
    heat_wave: HeatWave | float | None = None,
    target: float = TARGET,
    start_soc: float | None = None,
    full_at_bedtime: bool = False,
    pairs: bool = True,
    progress: Progress | None = None,
) -> Upgrades:
    """Rank single changes, and the best two together, beside the battery that would do as much.

    Parameters
    ----------
    scenario : Scenario, str, Path or mapping
        The base.
    weather : Weather or None
        Typical year; left out, the scenario's own.
    changes : sequence of Change or None
        Left out, `standard_changes`.
    season, heat_wave, target, start_soc, full_at_bedtime
        As for `nights`.
    pairs : bool
        Try the best changes two at a time too.
    progress : callable or None
        Called with changes done and in all.

    Returns
    -------
    Upgrades
        Tables, the best first.

    Raises
    ------
    ScenarioError, WeatherError
        A season, share or weather that cannot be used.
    """
    base = design_of(
        as_scenario(scenario),
        weather,
        season,
        heat_wave=heat_wave,
        target=target,
        start_soc=start_soc,
        full_at_bedtime=full_at_bedtime,
    )
    ranking = Ranking(base)
    asked = standard_changes(base.scenario) if changes is None else tuple(changes)
    varied, left_out = _applied(base.scenario, asked)

    def outcome(made: Scenario) -> tuple[Outcome, Design]:
        design = redesigned(base, made)
        return ranking.outcome(design), design

    found = dict(zip(varied, all_of(outcome, varied.values(), progress), strict=True))
    rows = {code: ranking.row(*found[code]) for code in sorted(found, key=lambda c: found[c][0].rank, reverse=True)}
    table = pd.DataFrame.from_dict(rows, orient="index", columns=list(COLUMNS)).rename_axis("change")
    table = table.sort_values("loses_nights", kind="stable")
    by_code = {change.code: change for change in asked}
    together = _pairs(ranking, by_code, table) if pairs else pd.DataFrame(columns=list(PAIR_COLUMNS))
    return Upgrades(
        table=table,
        pairs=together,
        changes=by_code,
        left_out=left_out,
        base=base,
        before=ranking.before,
        reading=ranking.reading,
        design_night=base.read_as(ranking.reading).table.index[ranking.place],
        notes=season_notes(base),
    )


COLUMNS = (
    "covered", "gained_nights", "waking_soc", "left_kwh", "gained_kwh", "energy_saved_wh", "added_price",
    "added_mass_kg", "same_by_batteries", "other_covered", "other_gained", "loses_nights",
)  # fmt: skip
PAIR_COLUMNS = ("first", "second", *COLUMNS, "together_kwh")


class Ranking:
    """What designs are ranked by, against a base; larger banks are marched when first asked for.

    Parameters
    ----------
    base : Design
        The van as it is.
    """

    def __init__(self, base: Design) -> None:
        self.base = base
        self.reading: Reading = "consecutive" if base.recharges_by_plan else "independent"
        self.other: Reading = "independent" if base.recharges_by_plan else "consecutive"
        self.place = base.read_as(self.reading).design_night(base.target)

    def outcome(self, design: Design, other: bool = True) -> Outcome:
        """March a design's nights, none beyond waking; in the other reading too where that is asked for."""
        table = design.brief(self.reading)
        soc = float(table["waking_soc"].iloc[self.place])
        return Outcome(
            covered=int(table["covered"].sum()),
            left_kwh=left_kwh(design.bank, soc),
            waking_soc=soc,
            energy_wh=float(table[["evening_wh", "cooler_wh", "loads_wh"]].sum(axis=1).mean()),
            other_covered=int(design.covered(self.other).sum()) if other else 0,
        )

    @lazy
    def before(self) -> Outcome:
        """The base."""
        return self.outcome(self.base)

    @lazy
    def larger_banks(self) -> list[Outcome]:
        """The base with one string more, two, and so on, as far as was asked."""
        return []

    def batteries_for(self, wanted: Outcome) -> float:
        """Batteries more that cover as many nights and leave as much charge; infinite where `MOST_ADDED` do not.

        Where only the charge left differs, the last battery counts by the part of it that is needed.
        """
        if wanted.rank[:2] <= self.before.rank[:2]:
            return 0.0
        smaller = self.before
        for added in range(1, MOST_ADDED + 1):
            if added > len(self.larger_banks):
                bank = self.base.bank.model_copy(update={"parallel": self.base.bank.parallel + added})
                self.larger_banks.append(self.outcome(self.base.with_bank(bank), other=False))
            larger = self.larger_banks[added - 1]
            if larger.rank[:2] >= wanted.rank[:2]:
                alike = smaller.covered == wanted.covered == larger.covered
                part = (wanted.left_kwh - smaller.left_kwh) / (larger.left_kwh - smaller.left_kwh) if alike else 1.0
                return (added - 1 + part) * self.base.bank.series
            smaller = larger
        return float("inf")

    def row(self, outcome: Outcome, design: Design) -> dict[str, Any]:
        """The columns of `Upgrades.table`."""
        before, prices = self.before, (design.price, self.base.price)
        return {
            "covered": outcome.covered,
            "gained_nights": outcome.covered - before.covered,
            "waking_soc": outcome.waking_soc,
            "left_kwh": outcome.left_kwh,
            "gained_kwh": outcome.left_kwh - before.left_kwh,
            "energy_saved_wh": before.energy_wh - outcome.energy_wh,
            "added_price": np.nan if None in prices else float(prices[0] or 0.0) - float(prices[1] or 0.0),
            "added_mass_kg": design.mass_kg - self.base.mass_kg,
            "same_by_batteries": self.batteries_for(outcome),
            "other_covered": outcome.other_covered,
            "other_gained": outcome.other_covered - before.other_covered,
            "loses_nights": outcome.covered < before.covered,
        }


def left_kwh(bank: Bank, soc: float) -> float:
    """Open-circuit energy above the reserve at a state of charge [kWh]."""
    b = bank_parameters(bank)
    return max(0.0, (energy_at(b, soc) - energy_at(b, b.reserve_soc)) * b.capacity_as / 3.6e6)


def _applied(scenario: Scenario, changes: Sequence[Change]) -> tuple[dict[str, Scenario], dict[str, str]]:
    """Each change made to the scenario, and why those that are left out are."""
    varied, left_out = {}, {}
    for change in changes:
        if change.make is None and not change.keys:
            left_out[change.code] = "does-not-apply"
            continue
        try:
            made = _made(scenario, change)
        except ScenarioError as problem:
            left_out[change.code] = "; ".join(problem.faults)
            continue
        if made == scenario:
            left_out[change.code] = "changes-nothing"
        else:
            varied[change.code] = made
    return varied, left_out


def _made(scenario: Scenario, *changes: Change) -> Scenario:
    """The scenario with some changes; what keys say comes first, as it names segments and windows as they are."""
    keys = {key: value for change in changes for key, value in change.keys.items()}
    made = vary(scenario, keys) if keys else scenario
    for change in changes:
        made = made if change.make is None else change.make(made)
    return made


def _pairs(ranking: Ranking, changes: dict[str, Change], table: pd.DataFrame) -> pd.DataFrame:
    """The best changes two at a time; those of one kind (two shades, two modes, two coolers) are not put together.

    A pair that loses nights is none of the best.
    """
    gains = (table["gained_nights"] > 0) | (table["gained_kwh"] >= LEAST_GAIN_KWH)
    good = list(table.index[~table["loses_nights"] & gains])[:BEST_FOR_PAIRS]
    asked = [(one, two) for one, two in combinations(good, 2) if not set(changes[one].keys) & set(changes[two].keys)]

    def outcome(pair: tuple[str, str]) -> tuple[Outcome, Design]:
        design = redesigned(ranking.base, _made(ranking.base.scenario, *(changes[code] for code in pair)))
        return ranking.outcome(design), design

    rows = []
    for pair, found in zip(asked, all_of(outcome, asked), strict=True):
        row, apart = ranking.row(*found), float(table.loc[list(pair), "gained_kwh"].sum())
        rows.append({"first": pair[0], "second": pair[1], **row, "together_kwh": row["gained_kwh"] - apart})
    pairs = pd.DataFrame([row for row in rows if not row["loses_nights"]], columns=list(PAIR_COLUMNS))
    return pairs.sort_values(["covered", "left_kwh"], ascending=False, kind="stable", ignore_index=True)
