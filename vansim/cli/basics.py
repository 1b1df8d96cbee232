"""Run, check, look up: a scenario, its parts, its weather."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated, Any

import typer

from vansim.cli.common import (
    AsJson,
    Out,
    ScenarioFile,
    Units,
    WeatherFile,
    app,
    echo_lines,
    fail,
    load,
    pictures,
    print_json,
    report_errors,
    system_of,
    weather_for,
    write,
)


@app.command()
def run(
    scenario: ScenarioFile = None,
    weather: WeatherFile = None,
    date: Annotated[str | None, typer.Option("--from", help="First day, MM-DD.", show_default=False)] = None,
    days: Annotated[int | None, typer.Option("--days", help="Number of days.", show_default=False)] = None,
    year: Annotated[bool, typer.Option("--year", help="The whole typical year.")] = False,
    out: Out = None,
    units: Units = "si",
    as_json: AsJson = False,
) -> None:
    """Does the cooling last the night? Run a scenario and say."""
    with report_errors():
        system = system_of(units)
        if year and (date is not None or days is not None):
            fail("--year: takes no --from and no --days; write one or the other")
        chosen = _window(load(scenario), date, days, year)
        from vansim.runs.simulate import simulate

        result = simulate(chosen, weather_for(weather, chosen))
        answer = _answer(result)
        if out is not None:
            from vansim.show.plots import night

            files = result.files()
            if len(result.nights):
                files |= pictures(night=night(result, system=system))
            write(out, files)
        if as_json:
            print_json(result.summary | answer)
        else:
            echo_lines(_run_lines(result, answer, system))


def _window(scenario: Any, date: str | None, days: int | None, year: bool) -> Any:
    from pydantic import ValidationError

    from vansim.runs.simulate import over_year, with_window

    if year:
        return over_year(scenario)
    window = {name: value for name, value in (("date", date), ("days", days)) if value is not None}
    try:
        return with_window(scenario, **window) if window else scenario
    except ValidationError as problem:
        option = {"date": "--from", "days": "--days"}
        fail(
            *(
                f"{option.get(str(e['loc'][0]) if e['loc'] else 'date', '--from')}: "
                f"{e['msg'].removeprefix('Value error, ')} (you wrote {e['input'] if e['loc'] else date!r}); "
                "allowed: --from MM-DD, --days 1 to 365"
                for e in problem.errors()
            )
        )


def _answer(result: Any) -> dict[str, Any]:
    """Runtime beyond waking, and recovery, for the last night of a run."""
    from vansim.studies.recharge import recovery
    from vansim.studies.runtime import runtime_tonight

    if not len(result.nights):
        return {}
    again = recovery(result)
    found: dict[str, Any] = {"recovery_h": again.hours, "recovery_goal_soc": again.goal_soc}
    if len(result.nights) == 1 and result.run.scenario.cooler is not None:
        runtime_h, outlasts = runtime_tonight(result)
        found |= {"runtime_from_bedtime_h": runtime_h, "outlasts_48_h": outlasts}
    return found


def _run_lines(result: Any, answer: dict[str, Any], system: str) -> list[str]:
    from vansim.show.text.run import balance_line, night_lines, nights_lines, recovery_line
    from vansim.show.text.wording import cautions

    scenario, place = result.run.scenario, result.run.weather.site.name
    lines = [scenario.title, "", result.message, ""]
    if len(result.nights) == 1:
        runtime, outlasts = answer.get("runtime_from_bedtime_h"), answer.get("outlasts_48_h", False)
        lines += [*night_lines(result, system, runtime, outlasts), ""]
    elif len(result.nights):
        lines += [*nights_lines(result.nights, system), ""]
    if answer:
        lines += [recovery_line(answer["recovery_h"], answer["recovery_goal_soc"]), ""]
    if result.warnings:
        lines += [*result.warnings, ""]
    lines += [f"Weather: {place} ({result.run.weather.kind}); a typical year, not its extremes."]
    lines += [balance_line(result.balance), "", "Cautions"]
    return lines + [f"  - {line}" for line in cautions(scenario)]


@app.command()
def check(scenario: ScenarioFile = None) -> None:
    """Read a scenario and say what is wrong with it, without running."""
    with report_errors():
        from vansim.scenario.files import weather_path
        from vansim.show.text.run import describe_days

        read = load(scenario)
        if read.weather:
            weather_path(read)
        echo_lines([f"{read.title}: nothing wrong", *describe_days(read)])


@app.command()
def schema() -> None:
    """Print the JSON Schema of a scenario file, for editors."""
    from vansim.scenario.json_schema import json_schema

    print_json(json_schema())


@app.command()
def parts(
    kind: Annotated[str | None, typer.Argument(help="One kind of part; left out, all.", show_default=False)] = None,
    as_json: AsJson = False,
) -> None:
    """List the parts library (invented, generic parts)."""
    with report_errors():
        from vansim.scenario.parts import KINDS, parts_table
        from vansim.show.text.run import parts_lines

        tables = {name: parts_table(name) for name in ([kind] if kind is not None else KINDS)}
        if as_json:
            print_json({name: table.to_dict("records") for name, table in tables.items()})
            return
        for name, table in tables.items():
            echo_lines([name, *("  " + line for line in parts_lines(table)), ""])


def download_or_offer(lat: float, lon: float, folder: Path | None, system: str) -> Any:
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
        float | None, typer.Option("--lat", help="Latitude, to download a year.", show_default=False)
    ] = None,
    lon: Annotated[float | None, typer.Option("--lon", help="Longitude, east positive.", show_default=False)] = None,
    labels: Annotated[
        str, typer.Option("--labels", help="find: move a file to where its sun stands; as-written: keep its hours.")
    ] = "find",
    sky: Annotated[
        str, typer.Option("--sky", help="formula: compute the sky's longwave; measured: keep the file's.")
    ] = "formula",
    folder: Annotated[
        Path | None,
        typer.Option("--folder", help="Your weather files, offered where there is no network.", show_default=False),
    ] = None,
    units: Units = "si",
    as_json: AsJson = False,
) -> None:
    """Describe a typical year: place, hot season, closure check, hottest and most typical nights."""
    with report_errors():
        from vansim.climate import describe, read_weather
        from vansim.show.text.weather import weather_dict, weather_lines

        system = system_of(units)
        if file is not None and lat is None and lon is None:
            year = read_weather(file, labels=labels, sky=sky)
        elif file is None and lat is not None and lon is not None:
            year = download_or_offer(lat, lon, folder, system)
        else:
            fail("weather: give a file, or both --lat and --lon")
        described = describe(year)
        if as_json:
            print_json(weather_dict(described))
        else:
            echo_lines(weather_lines(described, system))
