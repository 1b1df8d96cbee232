"""One van in many weather files: places and years."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, Annotated, Any

import typer

from vansim.cli.common import app, pictures, plots, progress, report_errors, system_of, tables, write
from vansim.cli.options import FullAtBedtime, HeatWave, Season, StartSoc, Target, share, soc_of
from vansim.cli.question import Answer, AsJson, Labels, Out, Sky, Units, answered, load

if TYPE_CHECKING:
    from vansim.studies.places import Places

Van = Annotated[Path, typer.Argument(help="Scenario file (TOML): the van and its plan.", show_default=False)]
WeatherFiles = Annotated[list[Path], typer.Argument(help="Weather files, or folders of them.", show_default=False)]


def _answer(found: Places, system: str) -> Answer:
    from vansim.show import data_places
    from vansim.show.text.places import places_lines

    return Answer(
        lines=lambda: places_lines(found, system),
        data=lambda: data_places.places_data(found, system),
        files=lambda: (
            tables(places=found.table, passed_over=found.passed_over)
            | pictures(places=plots.places(found, system=system))
        ),
        source=found.noted,
    )


def _asked(what: str, scenario: Path, files: list[Path], out: Path | None, units: str, as_json: bool, own: Any) -> None:
    with report_errors():
        from vansim.studies import places as study

        system, van = system_of(units), load(scenario)
        own["target"], own["start_soc"] = share(own["target"]), soc_of(own["start_soc"])
        found = getattr(study, what)(van, files, progress=progress(what), **own)
        answer = _answer(found, system)
        if out is not None:
            write(out, answer.files())
        answered(van.title, answer, as_json)


@app.command()
def places(
    scenario: Van,
    files: WeatherFiles,
    target: Target = "95%",
    season: Season = None,
    start_soc: StartSoc = None,
    heat_wave: HeatWave = None,
    full_at_bedtime: FullAtBedtime = False,
    labels: Labels = "find",
    sky: Sky = "formula",
    out: Out = None,
    units: Units = "si",
    as_json: AsJson = False,
) -> None:
    """The same van in several places: nights covered and the bank for the target, a line each."""
    own = {
        "target": target, "season": season, "start_soc": start_soc, "heat_wave": heat_wave,
        "full_at_bedtime": full_at_bedtime, "labels": labels, "sky": sky,
    }  # fmt: skip
    _asked("places", scenario, files, out=out, units=units, as_json=as_json, own=own)


@app.command()
def years(
    scenario: Van,
    files: WeatherFiles,
    target: Target = "95%",
    season: Season = None,
    start_soc: StartSoc = None,
    heat_wave: HeatWave = None,
    full_at_bedtime: FullAtBedtime = False,
    labels: Labels = "find",
    sky: Sky = "formula",
    out: Out = None,
    units: Units = "si",
    as_json: AsJson = False,
) -> None:
    """The same van in several real years of a place: share of nights by year, and the worst run of nights."""
    own = {
        "target": target, "season": season, "start_soc": start_soc, "heat_wave": heat_wave,
        "full_at_bedtime": full_at_bedtime, "labels": labels, "sky": sky,
    }  # fmt: skip
    _asked("years", scenario, files, out=out, units=units, as_json=as_json, own=own)


@app.command()
def trip(
    scenario: Van,
    start_soc: StartSoc = None,
    heat_wave: HeatWave = None,
    labels: Labels = "find",
    sky: Sky = "formula",
    out: Out = None,
    units: Units = "si",
    as_json: AsJson = False,
) -> None:
    """One chain of nights through the places that the scenario names ([[trip]]), charging on the road between them."""
    with report_errors():
        from vansim.show import data_places
        from vansim.show.text.trip import trip_lines
        from vansim.studies import trip as study

        system, van = system_of(units), load(scenario)
        found = study.trip(van, labels=labels, sky=sky, heat_wave=heat_wave, start_soc=soc_of(start_soc))
        answer = Answer(
            lines=lambda: trip_lines(found, system),
            data=lambda: data_places.trip_data(found, system),
            files=lambda: (
                tables(trip=found.table, drives=found.drives) | pictures(trip=plots.trip(found, system=system))
            ),
            source=found.hardest,
        )
        if out is not None:
            write(out, answer.files())
        answered(van.title, answer, as_json)
