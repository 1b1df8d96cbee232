"""Places, and years of one place, on a terminal: the answer, a line each, what was passed over."""

from __future__ import annotations

from typing import Any

import pandas as pd

from vansim import phrases
from vansim.notes import Note
from vansim.show.text.account import season_account
from vansim.show.text.nights import notes_lines
from vansim.show.text.tables import table_lines
from vansim.studies.design import season_notes
from vansim.studies.places import Places, Years


def headline(found: Places) -> str:
    """The answer in two or three sentences."""
    noun = found.scenario.night.label
    if isinstance(found, Years):
        return _years_headline(found)
    rows = [_counts(row) for row in found.table.to_dict("records")]
    largest = found.largest
    bank = None if largest is None else (str(largest["place"]), float(largest["usable_kwh"]))
    none = [str(name) for name in found.table["place"][found.table["usable_kwh"].isna()]]
    reach = int(found.reach_target.sum())
    return phrases.places_answer(rows, reach, found.asked.target, bank=bank, no_bank=none, noun=noun)


def _years_headline(found: Years) -> str:
    order = found.table.sort_values(["covered_share", "worst_run"], ascending=[True, False], kind="stable")
    rows = [(name_of_year(row), *_counts(row)[1:]) for row in order.to_dict("records")]
    longest = found.worst_run
    run = None
    if longest is not None:
        run = int(longest["worst_run"]), phrases.date(longest["worst_run_from"]), name_of_year(longest.to_dict())
    return phrases.years_answer(found.covered, found.nights, rows, run, found.scenario.night.label)


def _counts(row: dict[Any, Any]) -> tuple[str, int, int]:
    return str(row["place"]), int(row["covered"]), int(row["nights"])


def name_of_year(row: dict[Any, Any]) -> str:
    """A year by its number, or by its file where the file does not tell one."""
    return str(row["year"]) if row["year"] else str(row["file"])


def notes_of(found: Places) -> tuple[Note, ...]:
    """What has to be said of all: as of a season, a heat wave once for all places."""
    wave = found.asked.heat_wave
    every = [note for note in season_notes(found.noted) if note.code in ("typical-year", "full-at-bedtime")]
    if wave is not None:
        shift = wave if isinstance(wave, int | float) else wave.shift_k
        every.append(Note("heat-wave-each", {"shift_k": float(shift)}))
    return tuple(every)


def places_lines(found: Places, system: str = "si") -> list[str]:
    """Places, or years, in words and a table.

    Parameters
    ----------
    found : Places or Years
        The study.
    system : {"si", "us"}
        Units shown.

    Returns
    -------
    list of str
        Lines to print.
    """
    by_year, noun = isinstance(found, Years), found.scenario.night.label
    lines = [headline(found), "", season_account(found.noted, readings=True)]
    seasons = found.table["season"].unique()
    if len(seasons) == 1:
        lines.append(f"Season: {phrases.season(str(seasons[0]))}.")
    else:
        lines.append(f"Season: of each {'year' if by_year else 'place'} its own, {SEASON_LEFT_OUT}.")
    target = phrases.percent(found.asked.target)
    head = (
        "year" if by_year else "place", f"{phrases.plural(noun)}\ncovered", "share", f"bank for\n{target}",
        f"design\n{noun}", "outdoors\nthen", "runtime\nthen", *(("longest run\nnot covered",) if by_year else ()),
    )  # fmt: skip
    rows = [_row(row, by_year, system) for row in found.table.to_dict("records")]
    lines += ["", *table_lines(head, rows), "", BANK_MEANING.format(noun=noun)]
    if found.stopped:
        lines.append(phrases.stopped(len(found.table) + found.passed_over["file"].nunique(), found.files))
    return [*lines, *passed_lines(found), *caution_notes(found, system), *notes_lines(notes_of(found), system)]


SEASON_LEFT_OUT = "the hottest three months"
BANK_MEANING = (
    "Bank: usable energy of the smallest one in whole batteries of the scenario's kind that covers the target there; "
    "the other columns are with the bank as it is. Runtime from bedtime, cooling left on, nothing charging."
)


def _row(row: dict[Any, Any], by_year: bool, system: str) -> tuple[str, ...]:
    run = int(row["worst_run"])
    first = phrases.short_date(pd.Timestamp(row["worst_run_from"])).strip() if run else ""
    return (
        name_of_year(row) if by_year else str(row["place"]),
        f"{row['covered']} of {row['nights']}",
        phrases.percent(row["covered_share"]),
        phrases.bank_cell(row["usable_kwh"], row["why"]),
        phrases.short_date(row["design_night"]).strip(),
        phrases.temperature(row["design_outdoor_mean_c"], system),
        phrases.runtime_cell(row["design_runtime_h"]),
        *((phrases.run_cell(run, first),) if by_year else ()),
    )


def passed_lines(found: Places) -> list[str]:
    """Files that could not be used, each with its faults."""
    if not len(found.passed_over):
        return []
    number = found.passed_over["file"].nunique()
    faults = [f"  - {fault}" for fault in found.passed_over["fault"]]
    return ["", f"{phrases.passed_over(number, found.files)}:", *faults]


def caution_notes(found: Places, system: str) -> list[str]:
    """What has to be said of single files."""
    said = [f"  - {file}: {phrases.note(n, system=system)}" for file, notes in found.cautions.items() for n in notes]
    return ["", "Of single files:", *said] if said else []
