"""The caution at the top of every answer to a plan in which only animals, or nobody who can act, is aboard."""

from __future__ import annotations

import pandas as pd

from vansim import phrases
from vansim.runs.result import Result
from vansim.scenario.schema import Scenario
from vansim.studies.attendance import Unattended, unattended
from vansim.studies.design import Design


def caution_lines(source: Scenario | Result | Design | None) -> list[str]:
    """The caution, and an empty line after it; nothing where somebody who can act is always with whoever is aboard.

    Parameters
    ----------
    source : Scenario, Result, Design or None
        A run or a design also tells when its bank would be empty.
    """
    found = None if source is None else unattended(source)
    return [] if found is None else [caution(found), ""]


def caution(found: Unattended) -> str:
    """The caution in words."""
    values = found.note.values
    empty_at = values.get("empty_at")
    return phrases.unattended(
        found.code,
        list(zip(found.table["start"], found.table["end"], strict=True)),
        dogs=int(values["dogs"]),
        people=int(values["people"]),
        cooled=int(values["cooled_segments"]),
        no_person=found.no_person,
        how_empty=str(values.get("how_empty", "")),
        empty_at=None if empty_at is None else pd.Timestamp(str(empty_at)),
    )
