"""Who is aboard when: parts of a plan in which only animals, or nobody who can act, is in the van.

Cooling stops without warning: an empty bank, a fuse, a fault. What is found here is a reason to change the plan,
however long the bank would last.
"""

from __future__ import annotations

from dataclasses import dataclass

import pandas as pd

from vansim.notes import Note
from vansim.runs.result import Result
from vansim.scenario.address import slug
from vansim.scenario.faults import dotted
from vansim.scenario.schema import PlanSegment, Scenario
from vansim.studies.bank_empty import BankEmpty, bank_empty
from vansim.studies.design import Design
from vansim.van.people import Person

ACTS_FROM_M, ACTS_FROM_KG = 1.50, 40.0
"""Whoever is smaller or lighter is taken for a child, who cannot be counted on to act [m, kg] (assumed). A size says
little about a person: it decides on a caution alone."""
ONLY_ANIMALS, ONLY_CHILDREN = "only-animals", "only-children"


@dataclass(frozen=True)
class Unattended:
    """Parts of a plan in which nobody who can act is aboard.

    Attributes
    ----------
    table : DataFrame
        A row for each such segment, by its address (``day.at-the-camp.22:00``): `day`, `start` and `end` as the plan
        has them, `aboard` (``"only-animals"`` or ``"only-children"``, perhaps with animals), how many `people` and
        `dogs` that is, `cooled` (by the cooler or the vehicle), `window_open`, `doing`.
    no_person : bool
        The scenario has no person at all.
    bank_empty : BankEmpty or None
        When the bank would be empty, for a run or a design; None for a scenario, which does not know.
    """

    table: pd.DataFrame
    no_person: bool
    bank_empty: BankEmpty | None

    @property
    def code(self) -> str:
        """``"only-animals"`` where that is so in any segment; else ``"only-children"``."""
        return ONLY_ANIMALS if (self.table["aboard"] == ONLY_ANIMALS).any() else ONLY_CHILDREN

    @property
    def note(self) -> Note:
        """The caution for the top of an answer, as a code with numbers.

        ``only-animals`` or ``only-children``, with `segments`, `cooled_segments`, `dogs`, `people`, `no_person`; where
        it is known, `empty_at` (ISO 8601; missing where 48 h do not empty the bank) and `how_empty`.
        """
        values: dict[str, float | int | str | bool] = {
            "segments": len(self.table),
            "cooled_segments": int(self.table["cooled"].sum()),
            "dogs": int(self.table["dogs"].max()),
            "people": int(self.table["people"].max()),
            "no_person": self.no_person,
        }
        if self.bank_empty is not None:
            values["how_empty"] = self.bank_empty.how
            if self.bank_empty.at is not None:
                values["empty_at"] = self.bank_empty.at.isoformat()
        return Note(self.code, values)


def unattended(source: Scenario | Result | Design) -> Unattended | None:
    """Find the parts of a plan in which only animals, or nobody who can act, is aboard.

    Parameters
    ----------
    source : Scenario, Result or Design
        A run or a design also tells when its bank would be empty.

    Returns
    -------
    Unattended or None
        None where whoever is aboard always has somebody with them who can act. Segments without cooling count too: a
        van is no safer for it. While it is driven, a driver is aboard. Sleepers can act once they are woken, and are
        counted so; that something wakes them is for the plan's owner to see to.
    """
    scenario = source if isinstance(source, Scenario) else _scenario(source)
    rows = {
        dotted(("day", slug(day.name), segment.start)): {"day": day.name, **_row(scenario, segment, left)}
        for day in scenario.days()
        for segment in day.segment
        if (left := who_is_left(scenario, segment)) is not None
    }
    if not rows:
        return None
    return Unattended(
        table=pd.DataFrame.from_dict(rows, orient="index").rename_axis("segment"),
        no_person=not scenario.occupants.people,
        bank_empty=None if isinstance(source, Scenario) else bank_empty(source),
    )


def _scenario(source: Result | Design) -> Scenario:
    return source.run.scenario if isinstance(source, Result) else source.scenario


def aboard(scenario: Scenario, segment: PlanSegment) -> tuple[int, int]:
    """People and dogs in the van during a segment; whoever drives without being described is not counted."""
    people = 0 if segment.people == "out" else len(scenario.occupants.people)
    return people, 0 if segment.dogs == "out" else len(scenario.occupants.dogs)


def who_is_left(scenario: Scenario, segment: PlanSegment) -> str | None:
    """``"only-animals"``, ``"only-children"``, or None where somebody who can act is aboard, or nobody at all."""
    people, dogs = aboard(scenario, segment)
    if segment.doing == "driving" or not people + dogs:
        return None
    if not people:
        return ONLY_ANIMALS
    return None if any(can_act(person) for person in scenario.occupants.people) else ONLY_CHILDREN


def can_act(person: Person) -> bool:
    """Whether a person is large enough to be taken for somebody who can act."""
    return person.height_m >= ACTS_FROM_M and person.mass_kg >= ACTS_FROM_KG


def _row(scenario: Scenario, segment: PlanSegment, left: str) -> dict[str, object]:
    people, dogs = aboard(scenario, segment)
    return {
        "start": segment.start,
        "end": segment.end,
        "aboard": left,
        "people": people,
        "dogs": dogs,
        "cooled": (segment.cooling != "off" and scenario.cooler is not None) or segment.vehicle_cooling,
        "window_open": segment.window_open,
        "doing": segment.doing,
    }
