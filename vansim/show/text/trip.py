"""A trip on a terminal: the answer, a line a night, a line a drive."""

from __future__ import annotations

from vansim import phrases
from vansim.show.text.account import account_of
from vansim.show.text.nights import notes_lines
from vansim.show.text.tables import table_lines
from vansim.studies.trip import Trip


def headline(found: Trip) -> str:
    """The answer in two or three sentences."""
    lost, low = found.first_lost, found.lowest
    first = None if lost is None else (phrases.date(lost["evening"]), str(lost["place"]), str(lost["why"]))
    return phrases.trip_answer(
        found.covered, found.count, len(found.scenario.trip), first,
        lowest=(phrases.date(low["evening"]), str(low["place"]), float(low["waking_soc"])),
        noun=found.scenario.night.label,
    )  # fmt: skip


def account(found: Trip) -> str:
    """What is counted of each night, as a line."""
    text = account_of(found.scenario, found.times, found.start_soc, first_only=len(found.times) > 1)
    return f"Account of each {found.scenario.night.label}: {text}."


def trip_lines(found: Trip, system: str = "si") -> list[str]:
    """A trip in words and tables.

    Parameters
    ----------
    found : Trip
        The study.
    system : {"si", "us"}
        Units shown.

    Returns
    -------
    list of str
        Lines to print.
    """
    noun = found.scenario.night.label
    head = (noun, "outdoors", "charge at\nbedtime", "at\nwaking", "runtime", "covered")
    rows = [
        (
            f"{phrases.short_date(row['evening']).strip()}, {row['place']}",
            phrases.temperature(row["outdoor_mean_c"], system),
            *(phrases.percent(row[name]) for name in ("bedtime_soc", "waking_soc")),
            phrases.runtime_cell(row["runtime_h"]),
            "yes" if row["covered"] else "no",
        )
        for row in found.table.to_dict("records")
    ]
    lines = [headline(found), "", account(found), "", *table_lines(head, rows)]
    if len(found.drives):
        drives = [
            (
                f"{phrases.short_date(row['date']).strip()}, to {row['to_place']}",
                phrases.duration(row["driving_h"]),
                *(phrases.percent(row[name]) for name in ("waking_soc", "start_soc")),
                phrases.gained(row["gained_soc"]),
            )
            for row in found.drives.to_dict("records")
        ]
        titles = ("drive", "driving", "charge at\nwaking", f"where the\n{noun} begins", "gained")
        lines += ["", "Charge from waking to the next account, driving, sun and shore together:"]
        lines += table_lines(titles, drives)
    lines += ["", f"{phrases.sentence(phrases.runtime_meaning(noun, found.scenario.night.bedtime))}"]
    return [*lines, *notes_lines(found.notes, system)]
