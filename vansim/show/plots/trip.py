"""Picture of a trip: a chain of nights through places."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from vansim import phrases
from vansim.show.plots.figure import COLOURS, NARROW_BELOW_IN, WIDE_IN, Sheet, begin, calm
from vansim.show.plots.rows import Column, body_in, rows

if TYPE_CHECKING:
    from vansim.studies.trip import Trip

MOST_ROWS = 31
"""Nights that a picture takes: a month."""


def trip(found: Trip, system: str = "si", width_in: float = WIDE_IN) -> Sheet:
    """Draw the nights of a trip in their order.

    Parameters
    ----------
    found : Trip
        From `vansim.trip`.
    system : {"si", "us"}
        Units shown; charge is in per cent in both.
    width_in : float
        Width [in].

    Returns
    -------
    Figure
        For each night, by date and place, the charge at bedtime and what is left at waking; an outline where the night
        is not covered. Of a longer trip the first month.
    """
    from vansim.show.text.trip import headline

    drawn, noun = found.table.iloc[:MOST_ROWS], found.scenario.night.label
    pale = ~drawn["covered"].to_numpy(dtype=bool)
    evenings = drawn[["evening", "place"]].to_dict("records")
    names = [f"{phrases.short_date(row['evening']).strip()}, {row['place']}" for row in evenings]
    finding = f"{headline(found).split('. ')[0].rstrip('.')}."
    under = f"One chain: each {noun} goes on with what the one before and the day since have left."
    under += f" Outline: the {noun} is not covered." if pale.any() else ""
    under += f" The first {MOST_ROWS} of {found.count}." if found.count > MOST_ROWS else ""
    with calm():
        sheet = begin(width_in, body_in(len(drawn), width_in, NARROW_BELOW_IN), finding, under)
        heads = {"bedtime_soc": "Charge at bedtime [%]", "waking_soc": f"Charge left {phrases.at_end(noun)} [%]"}
        columns = []
        for name, when in heads.items():
            soc = drawn[name].to_numpy(dtype=float)
            colours = [COLOURS["soc"]] * len(drawn)
            columns.append(Column(when, np.asarray(100.0 * soc), [phrases.percent(s) for s in soc], colours, pale))
        rows(sheet, names, columns)
        return sheet
