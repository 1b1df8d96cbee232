"""A ranking of changes on a terminal."""

from __future__ import annotations

import math
from typing import Any

import pandas as pd

from vansim import phrases
from vansim.show.text.account import season_account
from vansim.show.text.nights import notes_lines
from vansim.show.text.tables import table_lines
from vansim.studies.upgrades import LEAST_GAIN_KWH, MOST_ADDED, Upgrades


def upgrades_lines(found: Upgrades, system: str = "si") -> list[str]:
    """Changes, the best first, beside the battery that would do as much.

    Parameters
    ----------
    found : Upgrades
        The study.
    system : {"si", "us"}
        Units shown.

    Returns
    -------
    list of str
        Lines to print.
    """
    design = found.base
    noun, nights = design.scenario.night.label, len(design.season.times)
    many = f"{found.reading} {phrases.plural(noun)}"
    lines = [
        headline(found, system),
        "",
        season_account(design, readings=found.reading == "consecutive"),
        f"Season: {phrases.season(design.season.nights.label)}; ranked by {many} covered, then by the charge left "
        f"{phrases.at_end(noun)} on the design {noun}, {phrases.date(found.design_night)}, then by energy.",
        f"As it is: {found.before.covered} of {nights} covered, {phrases.percent(found.before.waking_soc)} left "
        f"{phrases.at_end(noun)} on the design {noun}.",
    ]
    if len(found.table):
        lines += ["", *ranking_lines(found, system)]
    if found.before.other_covered < nights:
        lines += ["", other_reading_text(found, system)]
    if len(found.pairs):
        lines += ["", pair_text(found, system)]
    if found.left_out:
        said = phrases.left_out({name_of(found, code, system): why for code, why in found.left_out.items()})
        lines += ["", f"Not in the list: {said}."]
    return [*lines, *notes_lines(found.notes, system)]


def name_of(found: Upgrades, code: str, system: str = "si") -> str:
    """A change as it is said."""
    return phrases.change(code, found.changes[code].values, system)


def headline(found: Upgrades, system: str = "si") -> str:
    """The change that gains most without losing a night, or that none does."""
    best, noun = found.best, found.base.scenario.night.label
    if best is None:
        return f"None of the changes covers one more {noun} or leaves more charge without losing one."
    name = name_of(found, str(best.name), system)
    gain = gain_text(best, noun)
    battery = as_much_as(best, found) if str(best.name) != "one-more-battery" else phrases.NOTHING
    same = f", as much as {battery}" if battery != phrases.NOTHING else ""
    if int(best["gained_nights"]) <= 0 and found.before.covered < len(found.base.season.times):
        return f"None of the changes covers one more {noun}. Most charge is left with {name}: {gain}{same}."
    return f"Largest gain: {name}: {gain}{same}."


def other_reading_text(found: Upgrades, system: str = "si") -> str:
    """What the changes do to nights in the reading that does not rank, the most first."""
    before, nights = found.before.other_covered, len(found.base.season.times)
    noun = found.base.scenario.night.label
    kind = "independent" if found.reading == "consecutive" else "consecutive"
    gains = found.table[found.table["other_gained"] > 0].sort_values("other_gained", ascending=False, kind="stable")
    said = [
        f"{name_of(found, str(code), system)} ({phrases.signed(int(row['other_gained']))})"
        for code, row in gains.iterrows()
    ]
    more = f"more with {phrases.listed(said)}" if said else "no more with any of these"
    return f"Of {phrases.count(nights, f'{kind} {noun}')}, {before} covered as it is; {more}."


def gain_text(row: pd.Series[Any], noun: str) -> str:
    """What a change gains: nights, or else charge on the design night."""
    nights, kwh = int(row["gained_nights"]), float(row["gained_kwh"])
    if nights > 0:
        return f"{phrases.count(nights, noun)} more"
    if abs(kwh) < LEAST_GAIN_KWH:
        return "nothing"
    return f"{phrases.energy(1000.0 * abs(kwh))} {'more' if kwh > 0.0 else 'less'} left on the design {noun}"


def as_much_as(row: pd.Series[Any], found: Upgrades) -> str:
    """Batteries that would do as much."""
    return phrases.batteries(float(row["same_by_batteries"]), _most(found))


def _most(found: Upgrades) -> float:
    """Batteries more that were tried at the most."""
    return float(MOST_ADDED * found.base.bank.series)


def ranking_lines(found: Upgrades, system: str = "si") -> list[str]:
    """The ranking as a table; a price only where it is known."""
    priced, currency = bool(found.table["added_price"].notna().any()), found.base.scenario.currency
    names = [name_of(found, str(code), system) for code in found.table.index]
    rows = []
    for name, (_, row) in zip(names, found.table.iterrows(), strict=True):
        same = phrases.batteries_cell(float(row["same_by_batteries"]), _most(found))
        covered = f"{int(row['covered'])} ({phrases.signed(int(row['gained_nights']))})"
        cells = [name, covered, phrases.percent(row["waking_soc"]), phrases.energy_gain(1000.0 * row["gained_kwh"])]
        cells.append("loses" if row["loses_nights"] else same)
        rows.append(cells)
    many = phrases.plural(found.base.scenario.night.label)
    head = ("change", f"{many}\ncovered", "charge\nleft", "gain", "as much as\nbatteries")
    lines = table_lines(head, rows)
    if found.table["loses_nights"].any():
        lines.append(f"  loses: fewer {phrases.plural(found.base.scenario.night.label)} are covered than as it is")
    if priced:
        lines += ["", *_price_lines(found, names, currency)]
    return lines


def _price_lines(found: Upgrades, names: list[str], currency: str) -> list[str]:
    """Added prices, where a change has one."""
    prices = zip(names, found.table["added_price"], strict=True)
    known = [(name, float(price)) for name, price in prices if not math.isnan(price) and abs(price) >= 0.5]
    if not known:
        return []
    return table_lines(("price of parts, more or less", ""), [(name, phrases.money(p, currency)) for name, p in known])


def pair_text(found: Upgrades, system: str = "si") -> str:
    """The best pair of changes, and whether the two help one another."""
    row = found.pairs.iloc[0]
    one, two = (name_of(found, str(row[which]), system) for which in ("first", "second"))
    noun, together = found.base.scenario.night.label, float(row["together_kwh"])
    battery = as_much_as(row, found)
    same = f", as much as {battery}" if battery != phrases.NOTHING else ""
    alone = found.table.loc[[str(row["first"]), str(row["second"])], "gained_nights"]
    beyond = int(row["gained_nights"]) - int(alone.sum())
    if int(row["gained_nights"]) > 0:  # what is told is nights, so nights are compared
        more = f"{phrases.count(abs(beyond), noun)} {'more' if beyond > 0 else 'fewer'}"
        apart = f"{more} than the sum of the two apart" if beyond else "as many as the two apart"
    elif abs(together) < LEAST_GAIN_KWH:
        apart = "as much as the two apart"
    else:
        side = "more" if together > 0.0 else "less"
        apart = f"{phrases.energy(1000.0 * abs(together))} {side} than the sum of the two apart"
    return f"Best two together: {one}, and {two}: {gain_text(row, noun)}{same}; {apart}."
