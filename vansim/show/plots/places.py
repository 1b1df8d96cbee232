"""Pictures of one van in several places, or in several years of one."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

import numpy as np
import pandas as pd

from vansim import phrases
from vansim.show.plots.figure import COLOURS, NARROW_BELOW_IN, WIDE_IN, Sheet, begin, calm
from vansim.show.plots.rows import Column, body_in, rows

if TYPE_CHECKING:
    from vansim.studies.places import Places

MOST_ROWS = 40
"""Places that a picture takes."""


def places(found: Places, system: str = "si", width_in: float = WIDE_IN) -> Sheet:
    """Draw places, or years, in the order of their table.

    Parameters
    ----------
    found : Places or Years
        From `vansim.places` or `vansim.years`.
    system : {"si", "us"}
        Units shown; energies are in kWh in both.
    width_in : float
        Width [in].

    Returns
    -------
    Figure
        For each the nights covered with the bank as it is, an outline where the target is missed, and beside it the
        smallest bank for the target; of years, the longest run of nights that are not covered. Of more than forty
        places the first and the last twenty.
    """
    from vansim.show.text.places import headline, name_of_year
    from vansim.studies.places import Years

    table = found.table
    cut = len(table) > MOST_ROWS
    drawn = pd.concat([table.iloc[: MOST_ROWS // 2], table.iloc[-MOST_ROWS // 2 :]]) if cut else table
    share, noun, by_year = drawn["covered_share"].to_numpy(dtype=float), found.scenario.night.label, False
    by_year = isinstance(found, Years)
    target = phrases.percent(found.asked.target)
    pale = share < found.asked.target - 1e-9
    finding = f"{headline(found).split('. ')[0].rstrip('.')}."
    under = f"{phrases.plural(noun).capitalize()} with the bank as it is; beside them "
    under += "the longest run that is not covered." if by_year else f"the smallest bank for {target}."
    under += f" Outline: below {target}." if pale.any() else ""
    under += f" {len(table) - MOST_ROWS} in the middle of the table are left out." if cut else ""
    records = drawn.to_dict("records")
    names = [name_of_year(row) if by_year else str(row["place"]) for row in records]
    with calm():
        sheet = begin(width_in, body_in(len(drawn), width_in, NARROW_BELOW_IN), finding, under)
        covered = Column(
            f"{phrases.plural(noun).capitalize()} covered [%]", 100.0 * share,
            [phrases.percent(s) for s in share], [COLOURS["covered"]] * len(drawn), pale,
        )  # fmt: skip
        beside = _runs(records, noun) if by_year else _banks(records, target)
        rows(sheet, names, [covered, beside], None if not cut else MOST_ROWS // 2)
        return sheet


def _banks(records: list[dict[Any, Any]], target: str) -> Column:
    kwh = np.array([row["usable_kwh"] for row in records], dtype=float)
    texts = [phrases.bank_cell(row["usable_kwh"], row["why"]) for row in records]
    return Column(f"Bank for {target} [kWh usable]", np.nan_to_num(kwh), texts, [COLOURS["soc"]] * len(records))


def _runs(records: list[dict[Any, Any]], noun: str) -> Column:
    length = np.array([row["worst_run"] for row in records], dtype=float)
    return Column(
        f"{phrases.plural(noun).capitalize()} in a row not covered", length, [f"{n:.0f}" for n in length],
        [COLOURS["losses"]] * len(records),
    )  # fmt: skip
