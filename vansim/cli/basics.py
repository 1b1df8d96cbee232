"""Check and look up: a scenario, its weather."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from vansim.cli.common import app, echo_lines, fail, print_json, report_errors, system_of
from vansim.cli.question import AsJson, Labels, ScenarioFile, Sky, Units, load

if TYPE_CHECKING:
    from vansim.climate import Weather


@app.command()
def check(scenario: ScenarioFile = None, units: Units = "si", as_json: AsJson = False) -> None:
    """Check a scenario file without running it: every error with its line; or the van as it was understood."""
    with report_errors(units):
        from vansim import phrases
        from vansim.runs.run import weather_of
        from vansim.scenario.schema import AT_BEDTIME
        from vansim.show.text.caution import caution_lines
        from vansim.show.text.check import check_data, check_lines
        from vansim.show.text.run import describe_days
        from vansim.studies.trip import stop_files
        from vansim.studies.van_figures import van_figures

        system, read = system_of(units), load(scenario)
        stop_files(read)
        found = van_figures(read, weather_of(read) if read.weather else None)
        caution = caution_lines(read)
        if as_json:
            unattended = {"unattended": caution[0]} if caution else {}
            print_json({**unattended, "title": read.title, **check_data(found, system)})
            return
        begun = [phrases.EVENING_LEFT_OUT, ""] if read.run.start == AT_BEDTIME else []
        echo_lines([read.title, "OK: no errors found", "", *caution, *begun, *check_lines(found, system)])
        echo_lines(["The plan", *describe_days(read, system)])


@app.command()
def schema() -> None:
    """Print the JSON Schema of scenario files, for editors."""
    from vansim.scenario.json_schema import json_schema

    print_json(json_schema())


def download_or_offer(lat: float, lon: float, folder: Path | None, system: str) -> Weather:
    """Download a year; where it cannot be had, the files at hand are part of the message."""
    from vansim.climate import download_weather, files_at_hand
    from vansim.climate.at_hand import own_folder
    from vansim.errors import WeatherError
    from vansim.show.text.weather import at_hand_lines

    try:
        return download_weather(lat, lon)
    except WeatherError as fault:
        where = folder or own_folder()
        raise WeatherError([*fault.faults, *at_hand_lines(files_at_hand(lat, lon, where), where, system)]) from fault


@app.command()
def weather(
    file: Annotated[Path | None, typer.Argument(help="Typical-year file.", show_default=False)] = None,
    lat: Annotated[
        float | None, typer.Option("--lat", help="Latitude, north positive; downloads a year.", show_default=False)
    ] = None,
    lon: Annotated[float | None, typer.Option("--lon", help="Longitude, east positive.", show_default=False)] = None,
    labels: Labels = "find",
    sky: Sky = "formula",
    folder: Annotated[
        Path | None,
        typer.Option("--folder", help="Your weather files, offered where there is no network.", show_default=False),
    ] = None,
    units: Units = "si",
    as_json: AsJson = False,
) -> None:
    """Describe a typical year: place, hot season, closure check, hottest and most typical nights."""
    with report_errors(units):
        from vansim.climate import describe, read_weather
        from vansim.scenario.files import check_weather_file
        from vansim.show.data import weather_data
        from vansim.show.text.weather import weather_lines

        system = system_of(units)
        if file is not None and lat is None and lon is None:
            check_weather_file(file)
            year = read_weather(file, labels=labels, sky=sky)
        elif file is None and lat is not None and lon is not None:
            year = download_or_offer(lat, lon, folder, system)
        else:
            fail("weather: give a file, or both --lat and --lon")
        described = describe(year)
        if as_json:
            print_json(weather_data(described, system))
        else:
            echo_lines(weather_lines(described, system))
