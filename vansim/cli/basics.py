"""Run, check, look up: a scenario, its parts, its weather."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, Annotated, Any

import typer

from vansim.cli.common import app, echo_lines, fail, pictures, print_json, report_errors, system_of
from vansim.cli.question import Answer, AsJson, Question, ScenarioFile, Units, load, question

if TYPE_CHECKING:
    from vansim.runs.result import Result
    from vansim.scenario.schema import Scenario


@question
def run(
    ask: Question,
    date: Annotated[str | None, typer.Option("--from", help="First day, MM-DD.", show_default=False)] = None,
    days: Annotated[int | None, typer.Option("--days", help="Number of days.", show_default=False)] = None,
    year: Annotated[bool, typer.Option("--year", help="The whole typical year.")] = False,
) -> Answer:
    """Run a scenario: does the cooling last the night?"""
    if year and (date is not None or days is not None):
        fail("--year: cannot be combined with --from or --days; write one or the other")
    chosen = _window(ask.scenario, date, days, year)
    from vansim.runs.simulate import simulate

    result = simulate(chosen, ask.weather)
    answer = _answer(result)
    return Answer(
        lines=_run_lines(result, answer, ask.system),
        data=result.summary | answer,
        files=lambda: _run_files(result, ask.system),
    )


def _window(scenario: Scenario, date: str | None, days: int | None, year: bool) -> Scenario:
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


def _answer(result: Result) -> dict[str, Any]:
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


def _run_files(result: Result, system: str) -> dict[str, bytes]:
    from vansim.show.plots import night

    drawn = pictures(night=night(result, system=system)) if len(result.nights) else {}
    return result.files() | drawn


def _run_lines(result: Result, answer: dict[str, Any], system: str) -> list[str]:
    from vansim.show.text.run import balance_line, night_lines, nights_lines, recovery_line
    from vansim.show.text.wording import cautions

    place = result.run.weather.site.name
    lines = [result.message, ""]
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
    return lines + [f"  - {line}" for line in cautions(result.run.scenario)]


@app.command()
def check(scenario: ScenarioFile = None) -> None:
    """Check a scenario file without running it; every error is listed with its line."""
    with report_errors():
        from vansim.scenario.files import weather_path
        from vansim.show.text.run import describe_days

        read = load(scenario)
        if read.weather:
            weather_path(read)
        echo_lines([read.title, "OK: no errors found", *describe_days(read)])


@app.command()
def schema() -> None:
    """Print the JSON Schema of scenario files, for editors."""
    from vansim.scenario.json_schema import json_schema

    print_json(json_schema())


@app.command()
def parts(
    kind: Annotated[
        str | None, typer.Argument(help="One kind of part. Left out: every kind.", show_default=False)
    ] = None,
    scenario: Annotated[
        Path | None,
        typer.Option("--scenario", help="As this scenario sees it: its own parts, its prices.", show_default=False),
    ] = None,
    as_json: AsJson = False,
) -> None:
    """List the parts library (invented, generic parts)."""
    with report_errors():
        from vansim.scenario.parts import KINDS, library, library_of, parts_table
        from vansim.show.text.run import parts_lines

        own = None if scenario is None else load(scenario)
        known = library() if own is None else library_of(own)
        found = {name: parts_table(name, known) for name in ([kind] if kind is not None else KINDS)}
        if as_json:
            print_json(found)
            return
        for name, table in found.items():
            echo_lines([name, *("  " + line for line in parts_lines(table)), ""])
        if own is not None and own.currency and any("price" in table for table in found.values()):
            echo_lines([f"Prices in {own.currency}."])


@app.command()
def weather(
    file: Annotated[Path | None, typer.Argument(help="Typical-year file.", show_default=False)] = None,
    lat: Annotated[
        float | None, typer.Option("--lat", help="Latitude, north positive; downloads a year.", show_default=False)
    ] = None,
    lon: Annotated[float | None, typer.Option("--lon", help="Longitude, east positive.", show_default=False)] = None,
    trust_labels: Annotated[
        bool, typer.Option("--trust-labels", help="Use a file although the sun in it disagrees with its hours.")
    ] = False,
    units: Units = "si",
    as_json: AsJson = False,
) -> None:
    """Describe a typical year: place, hot season, closure check, hottest and most typical nights."""
    with report_errors():
        from vansim.climate import describe, download_weather, read_weather
        from vansim.show.text.weather import weather_dict, weather_lines

        system = system_of(units)
        if file is not None and lat is None and lon is None:
            year = read_weather(file, trust_labels=trust_labels)
        elif file is None and lat is not None and lon is not None:
            year = download_weather(lat, lon)
        else:
            fail("weather: give a file, or both --lat and --lon")
        described = describe(year)
        if as_json:
            print_json(weather_dict(described))
        else:
            echo_lines(weather_lines(described, system))
