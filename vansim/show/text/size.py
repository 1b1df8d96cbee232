"""Sizes of a bank on a terminal: the smallest, the cheapest where prices are known, and why none does it."""

from __future__ import annotations

import math
from typing import Any

import pandas as pd

from vansim import phrases
from vansim.runs.recharge import GOAL_SOC, ROAD_KMH
from vansim.scenario.schema import Scenario
from vansim.show.text.account import season_account
from vansim.show.text.nights import amounts, notes_lines, planned_ways, season_facts
from vansim.show.text.tables import lettered, table_lines
from vansim.studies.design import has_engine_or_shore
from vansim.studies.nights import Nights
from vansim.studies.sizing import Sizing

LONGEST_LABEL = 18
LABELS = ("battery", "mode", "cooler")


def size_lines(found: Sizing, scenario: Scenario, system: str = "si") -> list[str]:
    """Banks that cover the asked share, or why none does.

    Parameters
    ----------
    found : Sizing
        The study.
    scenario : Scenario
        What was asked.
    system : {"si", "us"}
        Units shown.

    Returns
    -------
    list of str
        Lines to print.
    """
    lines = headline(found, scenario, system)
    design = found.best or found.short_of_charging
    if design is not None:
        lines += ["", season_account(design, readings=True)]
    lines += [f"Season: {phrases.season(found.season)}; {_judged(found, scenario)}."]
    if len(found.table):
        lines += ["", *table_of_sizes(found.table, scenario.currency, system)]
        lines += ["", *_of_the_smallest(found.table.iloc[0], scenario.night.label, system)]
    if len(found.table) and len(found.failed):
        lines += ["", *(_failure(row, found, scenario, system) for _, row in found.failed.iterrows())]
    return [*lines, *notes_lines(found.notes, system)]


def headline(found: Sizing, scenario: Scenario, system: str = "si") -> list[str]:
    """The smallest bank, then the cheapest where every price is known; or why none covers the share."""
    if not len(found.table):
        return [_failure(row, found, scenario, system) for _, row in found.failed.iterrows()]
    least, target = found.table.iloc[0], phrases.percent(found.target)
    many = phrases.plural(scenario.night.label)
    lines = [
        f"Smallest bank that covers {target} of the {many}: {bank_text(least)}. It covers "
        f"{phrases.percent(least['independent_share'])} of them each for itself and "
        f"{phrases.percent(least['consecutive_share'])} one after another."
    ]
    if found.best is not None and not found.best.recharges_by_plan:
        lines.append(phrases.without_engine(season_facts(Nights(found.best, ()))))
    cheapest = found.cheapest
    if cheapest is not None:
        same = " (the same)" if len(found.table) > 1 and cheapest.name == least.name else ""
        what = "Its price" if len(found.table) == 1 else f"Cheapest{same}: {bank_text(cheapest)}"
        lines.append(f"{what}: {phrases.money(float(cheapest['price']), scenario.currency)}.")
    return lines


def bank_text(row: pd.Series[Any]) -> str:
    """A bank in words: ``"8 x lfp-12v-100ah in parallel, 9.60 kWh usable"``."""
    series, parallel = int(row["series"]), int(row["parallel"])
    wired = phrases.wired(series, parallel)
    return f"{int(row['units'])} x {row['battery']}{wired}, {phrases.usable(row['usable_kwh'])}"


def _judged(found: Sizing, scenario: Scenario) -> str:
    many = phrases.plural(scenario.night.label)
    if found.judged == "independent":
        return f"judged on independent {many}, as asked"
    if found.judged == "consecutive":
        return f"judged on consecutive {many}, as asked"
    if not has_engine_or_shore(scenario):
        return f"judged on independent {many}, as the plan has no engine or shore time"
    return "judged on the worse of both readings"


def table_of_sizes(table: pd.DataFrame, currency: str, system: str = "si") -> list[str]:
    """Banks in a table, the smallest first; prices only where one is known."""
    names, key = lettered(labels_of(table), LONGEST_LABEL)
    priced = bool(table["price"].notna().any())
    head = ["bank of", "number", "usable", "mass", "each for\nitself", "one after\nanother", "design\nnight"]
    rows = []
    for name, (_, row) in zip(names, table.iterrows(), strict=True):
        cells = [
            name, str(int(row["units"])), phrases.energy(1000.0 * row["usable_kwh"]),
            phrases.mass(row["mass_kg"], system), phrases.percent(row["independent_share"]),
            phrases.percent(row["consecutive_share"]), phrases.short_date(pd.Timestamp(row["design_night"])).strip(),
        ]  # fmt: skip
        price = phrases.NOTHING if math.isnan(row["price"]) else phrases.money(float(row["price"]), currency)
        rows.append([*cells[:4], price, *cells[4:]] if priced else cells)
    lines = table_lines([*head[:4], "price", *head[4:]] if priced else head, rows)
    return [*lines, *key]


def labels_of(table: pd.DataFrame) -> list[str]:
    """What tells combinations apart: battery, and mode and cooler where several were asked for."""
    several = [name for name in LABELS if name == "battery" or table[name].nunique() > 1]
    return [
        ", ".join(phrases.cooling(str(row[name])) if name == "mode" else str(row[name]) for name in several)
        for _, row in table.iterrows()
    ]


def _of_the_smallest(row: pd.Series[Any], noun: str, system: str) -> list[str]:
    """Design night and recharging of the smallest bank."""
    bed = "at bedtime" if noun == "night" else "at its beginning"
    lines = [
        f"Design {noun} of the smallest, {row['judged']}: {phrases.date(pd.Timestamp(row['design_night']))}: charge "
        f"{phrases.percent(row['design_bedtime_soc'])} {bed}, {phrases.percent(row['design_waking_soc'])} "
        f"{phrases.at_end(noun)}; runtime {phrases.runtime(row['design_runtime_h'])}."
    ]
    hours = {str(k)[len("recharge_") : -len("_h")]: float(v) for k, v in row.items() if str(k).startswith("recharge_")}
    hours = {way: h for way, h in hours.items() if not math.isnan(h)}
    again = phrases.sentence(phrases.recharged(GOAL_SOC, hours, ROAD_KMH, system))
    return [*lines, f"After it, with the cooler off: {_lower(again)}"]


def _lower(text: str) -> str:
    return text[:1].lower() + text[1:]


def _failure(row: pd.Series[Any], found: Sizing, scenario: Scenario, system: str) -> str:
    """Why a combination does not do it, and what charging is missing where that is why."""
    short = found.short_of_charging
    own = short is not None and row["why"] == "charging" and _first_of_charging(found) == row.name
    said = phrases.no_bank(
        str(row["why"]),
        nights=int(row["nights"]),
        warm=int(row["nights_too_warm"]),
        limit_c=scenario.night.limit_c,
        most=int(row["most_parallel"]),
        best_share=float(row["best_share"]),
        target=found.target,
        missing=amounts(found.missing) if own else None,
        planned=planned_ways(scenario),
        strings=short.bank.parallel if own and short is not None else 0,
        noun=scenario.night.label,
        system=system,
    )
    if len(found.failed) + len(found.table) == 1:
        return said
    parts = [str(row["battery"]), phrases.cooling(str(row["mode"])), str(row["cooler"])]
    return f"{', '.join(parts)}: {_lower(said)}"


def _first_of_charging(found: Sizing) -> object:
    return found.failed.index[found.failed["why"] == "charging"][0]
