"""Pictures of what could be done otherwise: designs, upgrades in their order, and where the energy went."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

import numpy as np
import numpy.typing as npt
import pandas as pd

from vansim import phrases
from vansim.show.plots import findings
from vansim.show.plots.figure import COLOURS, NARROW_BELOW_IN, WIDE_IN, Sheet, begin, calm
from vansim.show.plots.rows import Column, body_in, rows

if TYPE_CHECKING:
    from vansim.studies.compare import Comparison
    from vansim.studies.energy import Energy
    from vansim.studies.upgrades import Upgrades

MOST_CHANGES = 12
"""Single changes that a picture takes."""
LEAST_KWH = 0.005
LEAST_SHARE = 0.005
OTHERS = "all_others"

CAUSE_COLOURS = {
    "roof": COLOURS["faces"], "walls": COLOURS["faces"], "floor": COLOURS["faces"], "glass_sun": COLOURS["glass"],
    "glass_conduction": COLOURS["glass"], "leakage": COLOURS["air"], "roof_fan_air": COLOURS["air"],
    "people": COLOURS["people"], "dogs": COLOURS["people"], "loads": COLOURS["loads"], "equipment": COLOURS["loads"],
    "stored_heat": COLOURS["cabin"], "stored_moisture": COLOURS["air"], "bank_losses": COLOURS["losses"],
    OTHERS: COLOURS["loads"],
}  # fmt: skip
"""Colour of each cause; those that are not here are the cooler's own."""


# --- designs ----------------------------------------------------------------------------------------------------------


def designs(comparison: Comparison, system: str = "si", width_in: float = WIDE_IN) -> Sheet:
    """Draw designs side by side.

    Parameters
    ----------
    comparison : Comparison
        From `vansim.compare`; its first row is the design as it is.
    system : {"si", "us"}
        Units shown.
    width_in : float
        Width [in].

    Returns
    -------
    Figure
        For each design, in the order of the table, the nights covered, with the other reading as a ring where it
        differs, and the charge left at waking on the base's design night; an outline where fewer nights are covered
        than as it is.
    """
    table, noun = comparison.table, comparison.base.scenario.night.label
    share = table["covered_share"].to_numpy(dtype=float)
    pale = share < share[0] - 1e-9
    other = other_share(table)
    rings = np.where(np.abs(other - share) > 1e-9, 100.0 * other, np.nan)
    with calm():
        heading, under = findings.designs(comparison, system), findings.designs_under(comparison)
        under += " Ring: the other reading." if np.isfinite(rings).any() else ""
        under += " Outline: fewer are covered than as it is." if pale.any() else ""
        sheet = begin(width_in, body_in(len(table), width_in, NARROW_BELOW_IN), heading, under)
        names = [findings.design_name(str(name), system) for name in table.index]
        left = table["waking_soc"].to_numpy(dtype=float)
        rows(sheet, names, [
            Column(name=f"{phrases.plural(noun).capitalize()} covered [%]", values=100.0 * share,
                   texts=[phrases.percent(s) for s in share], colours=[COLOURS["covered"]] * len(table),
                   pale=pale, rings=rings),
            Column(f"Charge left {phrases.at_end(noun)} [%]", 100.0 * left, [phrases.percent(s) for s in left],
                   [COLOURS["soc"]] * len(table), pale),
        ])  # fmt: skip
        return sheet


def other_share(table: pd.DataFrame) -> npt.NDArray[np.float64]:
    """Share of nights covered in the reading that was not judged, a row a design."""
    return np.where(table["judged"] == "consecutive", table["independent_share"], table["consecutive_share"]).astype(
        float
    )


# --- upgrades ---------------------------------------------------------------------------------------------------------


def upgrades(found: Upgrades, system: str = "si", width_in: float = WIDE_IN) -> Sheet:
    """Draw single changes in the order of their table, and the best two together.

    Parameters
    ----------
    found : Upgrades
        From `vansim.upgrades`.
    system : {"si", "us"}
        Units shown; energies are in kWh in both.
    width_in : float
        Width [in].

    Returns
    -------
    Figure
        For each change the charge that it leaves more at waking on the design night, and the nights that it covers
        more; an outline where it loses nights. At most a dozen, the first and the last of the table; those that change
        nothing are left out. Below them the best pair.
    """
    table = telling(found.table)
    pair = best_pair(found)
    drawn = table if pair is None else pd.concat([table, pair[table.columns].to_frame("pair").T])
    gained, nights = drawn["gained_kwh"].to_numpy(dtype=float), drawn["gained_nights"].to_numpy(dtype=float)
    pale = drawn["loses_nights"].to_numpy(dtype=bool)
    names = [findings.change_name(found, str(code), system) for code in table.index]
    names += [] if pair is None else [findings.pair_name(found, pair, system)]
    noun = found.base.scenario.night.label
    with calm():
        heading, under = findings.upgrades(found, system), findings.upgrades_under(found)
        under += f" Outline: loses {phrases.plural(noun)}." if pale.any() else ""
        under += " Last: the best two together." if pair is not None else ""
        sheet = begin(width_in, body_in(len(drawn), width_in, NARROW_BELOW_IN), heading, under)
        columns = []
        if np.abs(gained).max() >= LEAST_KWH or not nights.any():
            texts = [phrases.energy_gain(1000.0 * float(kwh)) for kwh in gained]
            columns.append(Column(f"More charge left {phrases.at_end(noun)} [kWh]", gained, texts,
                                  [COLOURS["soc"]] * len(drawn), pale))  # fmt: skip
        if nights.any():
            texts = [phrases.signed(round(n)) for n in nights]
            columns.append(Column(f"More {phrases.plural(noun)} covered", nights, texts,
                                  [COLOURS["covered"]] * len(drawn), pale))  # fmt: skip
        rows(sheet, names, columns, None if pair is None else len(table))
        return sheet


def telling(table: pd.DataFrame) -> pd.DataFrame:
    """Changes that do something, in their order: the first of them, and the last two."""
    some = table[(table["gained_kwh"].abs() >= LEAST_KWH) | (table["gained_nights"] != 0)]
    some = some if len(some) else table
    if len(some) <= MOST_CHANGES:
        return some
    return pd.concat([some.iloc[: MOST_CHANGES - 2], some.iloc[-2:]])


def best_pair(found: Upgrades) -> pd.Series[Any] | None:
    """The best two changes together; None where no pair was tried, or the best loses nights."""
    if not len(found.pairs) or bool(found.pairs.iloc[0]["loses_nights"]):
        return None
    return found.pairs.iloc[0]


# --- energy -----------------------------------------------------------------------------------------------------------


def energy(found: Energy, system: str = "si", width_in: float = WIDE_IN) -> Sheet:
    """Draw where the electricity of a night's account went, and what it would save without each cause.

    Parameters
    ----------
    found : Energy
        From `vansim.energy`.
    system : {"si", "us"}
        Units shown; energy is in Wh in both.
    width_in : float
        Width [in].

    Returns
    -------
    Figure
        Bars by cause, the largest first; causes below half a per cent are put together. Savings are an outline where
        they are no larger than one start of the compressor, which says nothing.
    """
    told = telling_causes(found.table)
    used, saved = told["electric_wh"].to_numpy(dtype=float), told["saved_wh"].to_numpy(dtype=float)
    known = np.isfinite(saved)
    noise = known & (np.abs(saved) <= np.nan_to_num(found.cycle_wh))
    colours = [CAUSE_COLOURS.get(str(name), COLOURS["cooler"]) for name in told.index]
    with calm():
        under = findings.energy_under(found)
        if noise.any() and found.empty_at is None:
            under += f" Outline: no more than one start of the compressor, {phrases.energy(found.cycle_wh)}."
        sheet = begin(width_in, body_in(len(told), width_in, NARROW_BELOW_IN), findings.energy(found), under)
        shares = zip(used.tolist(), told["share"].tolist(), strict=True)
        names = [phrases.cause(str(name)) for name in told.index]
        texts = [f"{phrases.energy(wh)}, {phrases.percent(part)}" for wh, part in shares]
        gains = _longer(told, found, colours) if found.empty_at is not None else Column(
            "Saved without it [Wh]", np.where(known, saved, 0.0),
            [phrases.energy(wh) if there else phrases.NOTHING for wh, there in zip(saved, known, strict=True)],
            colours, noise,
        )  # fmt: skip
        rows(sheet, names, [Column("Went to it [Wh]", used, texts, colours), gains])
        return sheet


def _longer(told: pd.DataFrame, found: Energy, colours: list[str]) -> Column:
    """How much longer the bank would last without each cause, where it was empty before waking."""
    assert found.empty_at is not None
    hours, texts = longer_h(told, found), []
    for length_h, (name, row) in zip(hours, told.iterrows(), strict=True):
        if name == OTHERS:
            texts.append(phrases.NOTHING)
        elif pd.isna(row["empty_at_without"]):
            texts.append(f"past {'waking' if found.label == 'night' else 'its end'}")
        else:
            texts.append(phrases.gain(float(length_h)))
    return Column("Bank lasts longer without it [h]", hours, texts, colours)


def longer_h(told: pd.DataFrame, found: Energy) -> npt.NDArray[np.float64]:
    """How much later the bank would be empty without each cause [h]; at waking at the latest."""
    assert found.empty_at is not None
    then = told["empty_at_without"].where(told["empty_at_without"].notna(), found.waking)
    hours = ((pd.to_datetime(then, utc=True) - found.empty_at) / pd.Timedelta(hours=1)).to_numpy(dtype=float)
    return np.where((told.index == OTHERS) | (np.abs(hours) < 0.5 / 60.0), 0.0, hours)


def telling_causes(table: pd.DataFrame) -> pd.DataFrame:
    """Causes that took something, the largest first; the smallest put together, without a saving, as they overlap."""
    some, rest = table[table["share"] >= LEAST_SHARE], table[table["share"] < LEAST_SHARE]
    if rest["electric_wh"].sum() < 0.5:
        return some
    told = some.copy()
    told.loc[OTHERS, ["electric_wh", "share"]] = [rest["electric_wh"].sum(), rest["share"].sum()]
    return told
