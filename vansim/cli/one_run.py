"""One run and what is asked of a night in it: run, energy, recharge."""

from __future__ import annotations

from typing import TYPE_CHECKING, Annotated

import typer

from vansim.cli.common import fail, pictures, plots, tables
from vansim.cli.options import FullAtBedtime, StartSoc, WhichNight, place_of, started_with
from vansim.cli.question import Answer, Question, question

if TYPE_CHECKING:
    from vansim.runs.result import Result
    from vansim.scenario.schema import Scenario
    from vansim.studies.side_by_side import SideBySide

From = Annotated[str | None, typer.Option("--from", help="First day, MM-DD.", show_default=False)]
Days = Annotated[int | None, typer.Option("--days", help="Number of days.", show_default=False)]


@question
def run(
    ask: Question,
    date: From = None,
    days: Days = None,
    year: Annotated[bool, typer.Option("--year", help="The whole typical year.")] = False,
    start_soc: StartSoc = None,
    full_at_bedtime: FullAtBedtime = False,
) -> Answer:
    """Run a scenario: does the cooling last the night?"""
    if year and (date is not None or days is not None or full_at_bedtime):
        fail("--year: begins at midnight and cannot be combined with --from, --days or --full-at-bedtime")
    from vansim.runs import simulate as runs
    from vansim.show import data
    from vansim.show.text.run import run_lines

    window = runs.over_year(ask.scenario) if year else in_window(ask.scenario, date, days)
    result = runs.simulate(started_with(window, start_soc, full_at_bedtime), ask.weather)
    return Answer(
        lines=lambda: [*run_lines(result, ask.system), "", *closing_lines(result)],
        data=lambda: data.run_data(result, ask.system),
        files=lambda: result.files() | night_picture(result, ask.system),
        source=result,
    )


def in_window(scenario: Scenario, date: str | None, days: int | None) -> Scenario:
    """The scenario over other days."""
    from pydantic import ValidationError

    from vansim.runs.simulate import with_window
    from vansim.scenario.faults import sentence
    from vansim.scenario.keys import bounds_of
    from vansim.scenario.schema import RunWindow

    window = {name: value for name, value in (("date", date), ("days", days)) if value is not None}
    try:
        return with_window(scenario, **window) if window else scenario
    except ValidationError as problem:
        option = {"date": "--from", "days": "--days"}
        faults = [(str(e["loc"][0]) if e["loc"] else "date", e) for e in problem.errors()]
        bounds = {name: bounds_of(RunWindow, (name,)) for name in option}
        fail(
            *(
                f"{option[name]}: {sentence(e['type'], bounds[name] | e.get('ctx', {}), name, e['input'])}"
                for name, e in faults
            )
        )


def night_picture(result: Result, system: str) -> dict[str, bytes]:
    """The night that the answer tells of, as a picture."""
    if not len(result.nights):
        return {}
    from vansim.runs.summary import telling_night

    return pictures(night=plots.night(result, telling_night(result), system))


def closing_lines(result: Result) -> list[str]:
    """Weather and cautions, below the answer of a run."""
    from vansim import phrases
    from vansim.show.text.wording import cautions

    weather = result.run.weather
    what = phrases.kind_of_year([note.code for note in weather.notes])
    lines = [f"Weather: {weather.site.name} ({weather.kind}); {what}.", "", "Cautions"]
    return lines + [f"  - {line}" for line in cautions(result.run.scenario)]


@question
def energy(ask: Question, night: WhichNight = 1, date: From = None, days: Days = None) -> Answer:
    """Where a night's energy went, and what it would save without each cause."""
    from vansim.runs import simulate as runs
    from vansim.show import data
    from vansim.show.text.after import energy_lines
    from vansim.studies import energy as study

    result = runs.simulate(in_window(ask.scenario, date, days), ask.weather)
    found = study.energy(result, place_of(result, night))
    return Answer(
        lines=lambda: energy_lines(found, ask.scenario),
        data=lambda: data.energy_data(found, ask.scenario),
        files=lambda: tables(energy=found.table) | pictures(energy=plots.energy(found, system=ask.system)),
        source=result,
    )


@question
def recharge(ask: Question, night: WhichNight = 1, date: From = None, days: Days = None) -> Answer:
    """How soon the bank is full again after a night: driving, idling, on shore power, on solar alone."""
    from vansim.runs import simulate as runs
    from vansim.show import data
    from vansim.show.text.after import recharge_lines
    from vansim.studies import recharge as study

    result = runs.simulate(in_window(ask.scenario, date, days), ask.weather)
    found = study.recharge(result, place_of(result, night))
    return Answer(
        lines=lambda: recharge_lines(found, ask.system),
        data=lambda: data.recharge_data(found, ask.system),
        files=lambda: tables(recharge=found.table) | pictures(recharge=plots.recharge(found, system=ask.system)),
        source=result,
    )


@question
def side_by_side(
    ask: Question,
    vary: Annotated[
        str | None,
        typer.Option(
            "--vary",
            help="[NAME:] KEY=VALUE[,KEY=VALUE]: the other design. Left out: eco and boost.",
            show_default=False,
        ),
    ] = None,
    night: WhichNight = 1,
    date: From = None,
    days: Days = None,
    start_soc: StartSoc = None,
    full_at_bedtime: FullAtBedtime = False,
) -> Answer:
    """One night in two designs: as it is and changed, or in eco and in boost."""
    from vansim.cli.designs import parse_designs
    from vansim.runs import simulate as runs
    from vansim.show import data
    from vansim.show.text.side_by_side import side_by_side_lines
    from vansim.studies import side_by_side as study

    scenario = started_with(in_window(ask.scenario, date, days), start_soc, full_at_bedtime)
    name, changes = next(iter(parse_designs([vary]).items())) if vary is not None else ("", None)
    results = {name: runs.simulate(each, ask.weather) for name, each in study.pair_of(scenario, changes, name).items()}
    found = study.side_by_side(results, min(place_of(result, night) for result in results.values()))
    return Answer(
        lines=lambda: side_by_side_lines(found, ask.system),
        data=lambda: data.side_by_side_data(found, ask.system),
        files=lambda: tables(side_by_side=found.table) | both_pictures(found, ask.system),
        source=found.results[0],
    )


def both_pictures(found: SideBySide, system: str) -> dict[str, bytes]:
    """Eco against boost; or two designs."""
    if found.of_modes:
        return pictures(eco_against_boost=plots.eco_against_boost(*found.results, system=system, which=found.night))
    return pictures(two_designs=plots.two_designs(*found.results, found.names, found.night, system))
