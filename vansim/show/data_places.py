"""Answers about many places as plain values, for JSON."""

from __future__ import annotations

from vansim.show.data import Plain, asked_of, said
from vansim.show.text import trip as tripped
from vansim.show.text.account import clocks_of, kind_of, season_account
from vansim.show.text.places import headline, notes_of
from vansim.studies.places import Places, Years
from vansim.studies.trip import Trip


def places_data(found: Places, system: str = "si") -> Plain:
    """Places, or years: a row each, and what was passed over."""
    times, target = found.noted.season.times, found.asked.target
    largest = found.largest
    data: Plain = {
        "answer": headline(found),
        "account": season_account(found.noted, readings=True),
        "account_begins": kind_of(times),
        "account_starts": clocks_of(times),
        "start_soc": found.noted.start_soc,
        "target": target,
        "season": found.asked.season,
        "night": asked_of(found.scenario),
        "reach_target": int(found.reach_target.sum()),
        "largest_usable_kwh": None if largest is None else float(largest["usable_kwh"]),
        "places": found.table,
        "passed_over": found.passed_over,
        "cautions": {file: said(notes, system) for file, notes in found.cautions.items()},
        "files": found.files,
        "stopped": found.stopped,
        "notes": said(notes_of(found), system),
    }
    if isinstance(found, Years):
        run = found.worst_run
        data |= {
            "nights": found.nights,
            "covered": found.covered,
            "share": found.share,
            "worst_year": found.worst.to_dict(),
            "worst_run": None if run is None else run.to_dict(),
        }
    return data


def trip_data(found: Trip, system: str = "si") -> Plain:
    """A trip: a row a night and a row a drive."""
    lost = found.first_lost
    return {
        "answer": tripped.headline(found),
        "account": tripped.account(found),
        "account_begins": kind_of(found.times),
        "account_starts": clocks_of(found.times),
        "start_soc": found.start_soc,
        "night": asked_of(found.scenario),
        "nights": found.count,
        "covered": found.covered,
        "first_lost": None if lost is None else lost.to_dict(),
        "lowest": found.lowest.to_dict(),
        "trip": found.table,
        "drives": found.drives,
        "notes": said(found.notes, system),
    }
