"""Designs side by side on a terminal."""

from __future__ import annotations

import math

import pandas as pd

from vansim import phrases
from vansim.runs.recharge import GOAL_SOC
from vansim.show.text.account import season_account
from vansim.show.text.nights import notes_lines
from vansim.show.text.tables import lettered, table_lines
from vansim.studies.compare import Comparison
from vansim.studies.cool_down import SOAK_C

LONGEST_NAME = 24


def compare_lines(found: Comparison, system: str = "si") -> list[str]:
    """Designs in small tables: nights, energy, cabin, recharging, bank and price.

    Parameters
    ----------
    found : Comparison
        The study; its first row is the design as it is.
    system : {"si", "us"}
        Units shown.

    Returns
    -------
    list of str
        Lines to print.
    """
    night = found.base.scenario.night
    names, key = lettered([str(name) for name in found.table.index], LONGEST_NAME)
    lines = [headline(found), "", season_account(found.base, readings=True)]
    lines += [f"Season: {phrases.season(found.base.season.nights.label)}.", "", *key, *([""] if key else [])]
    for table in (
        nights_table(found.table, names, night.label),
        energy_table(found.table, names, night.label),
        cabin_table(found.table, names, system),
        recharge_table(found.table, names),
        bank_table(found.table, names, found.base.scenario.currency, system),
    ):
        lines += [*table, ""] if table else []
    said = [
        phrases.runtime_meaning(night.label, night.bedtime),
        f"P10: 1 {night.label} in 10 is shorter",
        *_worse_said(found),
        f"charge left: {phrases.at_end(night.label)} on the design {night.label} of the first design",
        phrases.cool_down_meaning(SOAK_C, system),
    ]
    return [*lines, *(f"  {text}" for text in said), *notes_lines(found.notes, system)]


def _worse_said(found: Comparison) -> list[str]:
    """Which nights the figures of a design are read from, where that is not the same for all."""
    if found.table["judged"].nunique() == 1:
        kind = str(found.table["judged"].iloc[0])
        return [f"runtime, energy, cabin and charge left: of {kind} {phrases.plural(found.base.scenario.night.label)}"]
    return ["runtime, energy, cabin and charge left: of the worse reading of each design"]


def headline(found: Comparison) -> str:
    """The design that covers most nights, and with the longest runtime among those."""
    table, noun = found.table, found.base.scenario.night.label
    ranked = table.sort_values(["covered_share", "waking_soc"], ascending=False, kind="stable")
    best, base = ranked.iloc[0], table.iloc[0]
    share, before = (phrases.percent(row["covered_share"]) for row in (best, base))
    many = phrases.plural(noun)
    if best["covered_share"] <= base["covered_share"]:
        if best["waking_soc"] <= base["waking_soc"]:
            return f"No design here does better than the one as it is, which covers {before} of the {many}."
        left, was = (phrases.percent(row["waking_soc"]) for row in (best, base))
        return (
            f"No design covers more {many} than the one as it is ({before}); most charge is left with {best.name}: "
            f"{left} {phrases.at_end(noun)} on the design {noun}, against {was}."
        )
    return f"Most {many} are covered with {best.name}: {share}, against {before} as it is."


def nights_table(table: pd.DataFrame, names: list[str], noun: str = "night") -> list[str]:
    """Nights: both shares, runtime and its gain, charge left."""
    rows = [
        (
            name, phrases.percent(row["independent_share"]), phrases.percent(row["consecutive_share"]),
            phrases.runtime_cell(row["runtime_p10_h"]), phrases.gain(row["gained_p10_h"]),
            phrases.percent(row["waking_soc"]),
        )
        for name, (_, row) in zip(names, table.iterrows(), strict=True)
    ]  # fmt: skip
    head = (f"{phrases.plural(noun)} covered", "each for\nitself", "one after\nanother", "runtime\nP10", "gain",
            "charge\nleft")  # fmt: skip
    return table_lines(head, rows)


def energy_table(table: pd.DataFrame, names: list[str], noun: str = "night") -> list[str]:
    """Energy, and how the compressor runs."""
    rows = [
        (
            name, phrases.energy(row["evening_wh"]), phrases.energy(row["cooler_wh"]), phrases.energy(row["loads_wh"]),
            phrases.percent(row["duty"]), phrases.figures(row["starts_per_h"], 2),
        )
        for name, (_, row) in zip(names, table.iterrows(), strict=True)
    ]  # fmt: skip
    stacked = noun.replace(" ", "\n")  # one word a line: the table must stay as narrow as a terminal
    head = (
        f"energy of a mean {noun}" if stacked == noun else f"energy of a\nmean {noun}",
        "evening,\nall",
        f"{stacked},\ncooler",
        f"{stacked},\nloads",
        "duty",
        "starts\nan hour",
    )
    return table_lines(head, rows)


def cabin_table(table: pd.DataFrame, names: list[str], system: str = "si") -> list[str]:
    """How warm it is, and how soon it is cool."""
    rows = [
        (
            name, phrases.duration(row["over_limit_h"]), phrases.temperature(row["cabin_max_c"], system),
            phrases.cool_down(row["cool_down_min"]),
        )
        for name, (_, row) in zip(names, table.iterrows(), strict=True)
    ]  # fmt: skip
    return table_lines(("cabin", "above limit,\nmean", "warmest", "cool-down"), rows)


def recharge_table(table: pd.DataFrame, names: list[str]) -> list[str]:
    """Hours to recharge after the design night of each; nothing where no design has a way to."""
    heads = {"road": "driving", "idling": "idling", "shore": "shore\npower", "solar": "sun\nalone"}
    ways = [way for way in heads if f"recharge_{way}_h" in table]
    if not ways:
        return []
    rows = [
        (name, *(_hours(float(row[f"recharge_{way}_h"])) for way in ways))
        for name, (_, row) in zip(names, table.iterrows(), strict=True)
    ]
    return table_lines((f"back to {phrases.percent(GOAL_SOC)} by", *(heads[way] for way in ways)), rows)


def bank_table(table: pd.DataFrame, names: list[str], currency: str, system: str = "si") -> list[str]:
    """Bank, mass and price added; a price only where one is known."""
    priced = bool(table["added_price"].notna().any())
    rows = []
    for name, (_, row) in zip(names, table.iterrows(), strict=True):
        cells = [name, phrases.energy(1000.0 * row["usable_kwh"]), phrases.mass_gain(row["added_mass_kg"], system)]
        price = float(row["added_price"])
        if priced:
            cells.append(phrases.NOTHING if math.isnan(price) else phrases.money(price, currency))
        rows.append(cells)
    return table_lines(("bank and parts", "usable", "mass\nadded", *(["price\nadded"] if priced else [])), rows)


def _hours(hours: float) -> str:
    if math.isnan(hours):
        return phrases.NOTHING
    return f"> {phrases.duration(phrases.FOLLOWED_H)}" if math.isinf(hours) else phrases.duration(hours)
