"""A season of nights on a terminal: the headline, both readings side by side, months, and what charging is missing."""

from __future__ import annotations

import pandas as pd

from vansim import phrases
from vansim.runs.night_table import needed_nights
from vansim.scenario.schema import Scenario
from vansim.show.text.account import kind_of, season_account
from vansim.show.text.tables import table_lines
from vansim.studies.attendance import aboard
from vansim.studies.design import Design, NightsReading
from vansim.studies.missing_charging import LONGEST_RUN, MissingCharging, NightsInARow
from vansim.studies.nights import Nights


def planned_ways(scenario: Scenario) -> tuple[str, ...]:
    """Ways in which a plan charges the bank: ``road``, ``idling``, ``shore``, ``solar``."""
    segments = [segment for day in scenario.days() for segment in day.segment]
    engine = scenario.alternator is not None
    shore = scenario.shore is not None and scenario.charger is not None
    found = {
        "road": engine and any(s.doing == "driving" for s in segments),
        "idling": engine and any(s.doing == "idling" for s in segments),
        "shore": shore and any(s.shore for s in segments),
        "solar": scenario.solar is not None and scenario.solar.rated_w > 0.0,
    }
    return tuple(way for way, has in found.items() if has)


def amounts(missing: tuple[MissingCharging, ...]) -> tuple[tuple[str, float | None], ...]:
    """Ways of charging with the least amount that does it, as phrases take them."""
    return tuple((one.way, one.amount) for one in missing)


def season_facts(found: Nights) -> phrases.SeasonFacts:
    """What a headline says of a season.

    Parameters
    ----------
    found : Nights
        The study; nights in a row, and what charging is missing, are found only where they are said.
    """
    design, count = found.design, found.independent.count
    needed = needed_nights(count, design.target)
    alone, falls = found.reason == "no-engine-or-shore", found.reason == "charging-falls-behind"
    lacks_charging = alone or (falls and found.consecutive.covered < needed)
    row = found.in_a_row if alone else NightsInARow(0, 0.0)
    return phrases.SeasonFacts(
        reason=found.reason,
        nights=count,
        independent=found.independent.covered,
        consecutive=found.consecutive.covered,
        target=design.target,
        needed=needed,
        start_soc=design.start_soc,
        start_kind=kind_of(design.season.times),
        lacks=(found.independent if falls else found.headline).reasons(),
        planned=planned_ways(design.scenario),
        missing=amounts(found.missing) if lacks_charging else (),
        in_a_row_worst=row.worst,
        in_a_row_median=row.median,
        in_a_row_most=LONGEST_RUN,
        noun=design.scenario.night.label,
    )


def headline(found: Nights) -> str:
    """The season in one or two sentences, with both readings."""
    if found.design.scenario.cooler is None:
        covered = phrases.covered(found.independent.covered, found.independent.count, found.design.scenario.night.label)
        return f"No cooler is fitted; without one {covered}."
    return phrases.season_answer(season_facts(found))


def nights_lines(found: Nights, system: str = "si") -> list[str]:
    """Nights of a season in words and tables.

    Parameters
    ----------
    found : Nights
        The study.
    system : {"si", "us"}
        Units shown.

    Returns
    -------
    list of str
        Lines to print.
    """
    design, noun = found.design, found.design.scenario.night.label
    called = f"{'consecutive' if found.judged == 'consecutive' else 'independent'} {phrases.plural(noun)}"
    lines = [headline(found), "", season_account(design, readings=True)]
    lines += [f"Season: {phrases.season(design.season.nights.label)}.", "", *readings_lines(found), ""]
    lines += [f"Design {noun} for {phrases.percent(design.target)} ({called}):"]
    lines += [f"  {design_night_text(design, found.headline, system)}", ""]
    lines += [f"By month, {called}:", *month_lines(found.headline.by_month)]
    if found.headline.outlast_share > 0.0:
        lines += [f"  {phrases.percent(found.headline.outlast_share)} of them would last {phrases.BEYOND}"]
    lines += ["", f"{phrases.sentence(phrases.runtime_meaning(noun, design.scenario.night.bedtime))}"]
    missing = missing_lines(found.missing, design)
    return [*lines, *(["", *missing] if missing else []), *notes_lines(found.notes, system)]


def notes_lines(notes: tuple[object, ...], system: str = "si") -> list[str]:
    """Notes of a study as lines, after an empty one."""
    said = [f"Note: {phrases.note(note, system=system)}" for note in notes]  # type: ignore[arg-type]
    return ["", *said] if said else []


def readings_lines(found: Nights) -> list[str]:
    """Both readings side by side."""
    both = (found.independent, found.consecutive)
    bed = "at bedtime" if found.design.scenario.night.label == "night" else "at its beginning"
    rows = [
        ("covered", *(f"{one.covered} of {one.count}" for one in both)),
        ("share", *(phrases.percent(one.share) for one in both)),
        ("charge where the first account begins", *(phrases.percent(one.start_soc) for one in both)),
        (f"charge {bed}, median", *(phrases.percent(one.table["bedtime_soc"].median()) for one in both)),
        (
            f"charge {phrases.at_end(found.design.scenario.night.label)}, least",
            *(phrases.percent(one.table["waking_soc"].min()) for one in both),
        ),
        ("runtime, median", *(phrases.runtime_cell(one.runtime_h(0.5)) for one in both)),
        ("runtime, 1 in 10 is shorter (P10)", *(phrases.runtime_cell(one.runtime_h(0.1)) for one in both)),
    ]
    by_reason = [one.reasons() for one in both]
    rows += [
        (phrases.short_reason(code), *(str(counts[code]) for counts in by_reason))
        for code in by_reason[0]
        if any(counts[code] for counts in by_reason)
    ]
    return table_lines(("", "independent", "consecutive"), rows)


def design_night_text(design: Design, reading: NightsReading, system: str = "si", place: int | None = None) -> str:
    """The night of a reading that decides at the target, in figures; or another one by its place."""
    row = reading.night(reading.design_night(design.target) if place is None else place)
    empty_at = None if pd.isna(row["empty_at"]) else pd.Timestamp(row["empty_at"])
    people, dogs = (0, 0) if empty_at is None else aboard(design.scenario, design.segment_at(empty_at))
    return phrases.night_in_figures(
        pd.Timestamp(row["date"]),
        start_soc=row["start_soc"],
        start_kind=kind_of(design.season.times),
        bedtime_soc=row["bedtime_soc"],
        waking_soc=row["waking_soc"],
        runtime_h=row["runtime_h"],
        outlasts=bool(row["outlasts"]),
        outdoor_low_c=row["outdoor_low_c"],
        cabin_max_c=row["cabin_max_c"],
        empty_at=empty_at,
        cabin_at_empty_c=float(row["cabin_at_empty_c"]),
        people=people,
        dogs=dogs,
        noun=design.scenario.night.label,
        system=system,
    )


def month_lines(by_month: pd.DataFrame) -> list[str]:
    """A reading by month."""
    rows = [
        (
            phrases.season(str(month)), str(int(row["nights"])), phrases.percent(row["covered_share"]),
            phrases.runtime_cell(row["runtime_p10_h"]), phrases.runtime_cell(row["runtime_p50_h"]),
            phrases.percent(row["duty"]), phrases.energy(row["evening_wh"]), phrases.energy(row["cooler_wh"]),
        )
        for month, row in by_month.iterrows()
    ]  # fmt: skip
    head = (
        "month", "nights", "covered", "runtime\nP10", "runtime\nmedian", "duty", "evening,\nall", "night,\ncooler",
    )  # fmt: skip
    return table_lines(head, rows)


def missing_lines(missing: tuple[MissingCharging, ...], design: Design) -> list[str]:
    """What charging would make consecutive nights reach the target; nothing where they do."""
    if not missing:
        return []
    planned, noun = planned_ways(design.scenario), design.scenario.night.label
    target = f"{phrases.percent(design.target)} of consecutive {phrases.plural(noun)}"
    rows = [
        (
            phrases.more_way(one.way, one.way in planned),
            "not enough" if one.amount is None else phrases.amount(one.way, one.amount),
            phrases.amount(one.way, one.most),
            phrases.percent(one.share),
        )
        for one in missing
    ]
    head = ("any one of these", "least that\ndoes it", "room\nthere is", "share covered\nwith it")
    lines = [f"What would bring {target}:", *table_lines(head, rows)]
    if any(one.amount is None for one in missing):
        lines.append("  where it is not enough, the share is that with all there is room for")
    return lines
