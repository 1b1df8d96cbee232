"""The command line: thin commands that read, call and print.

Exit codes: 0 done; 2 bad input, every fault at once; 1 a fault of ours.
"""

from __future__ import annotations

import json
import sys
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import Annotated, Any

import typer

app = typer.Typer(
    help="How long the battery-powered cooling of a camper van runs, and what would make it last until morning.",
    rich_markup_mode=None,
    pretty_exceptions_enable=False,
    add_completion=False,
    no_args_is_help=True,
)

SCENARIO_HELP = "Scenario file (TOML). Left out: the bundled, invented desert night."
WEATHER_HELP = "Typical-year file (EPW, TMY3, TMY2, PVGIS) instead of the scenario's."
UNITS_HELP = "Units to show: si or us."

ScenarioFile = Annotated[Path | None, typer.Argument(help=SCENARIO_HELP, show_default=False)]
WeatherFile = Annotated[Path | None, typer.Option("--weather", help=WEATHER_HELP, show_default=False)]
Units = Annotated[str, typer.Option("--units", help=UNITS_HELP)]
Out = Annotated[Path | None, typer.Option("--out", help="Folder for tables and pictures.", show_default=False)]
AsJson = Annotated[bool, typer.Option("--json", help="Print JSON instead of words.")]


@contextmanager
def friendly() -> Iterator[None]:
    """Turn bad input into messages and exit code 2; nothing else is caught."""
    from vansim.errors import VansimError

    try:
        yield
    except VansimError as error:
        for fault in error.faults:
            typer.echo(fault, err=True)
        raise typer.Exit(2) from None
    except KeyboardInterrupt:
        typer.echo("stopped; nothing was written", err=True)
        raise typer.Exit(130) from None


def _refuse(fault: str) -> None:
    from vansim.errors import ScenarioError

    raise ScenarioError(fault)


def _system(units: str) -> str:
    if units not in ("si", "us"):
        _refuse(f"--units: {units!r} is not a system of units here; allowed: si, us")
    return units


def _load(path: Path | None) -> Any:
    from vansim.scenario.files import default_scenario_path, load_scenario

    return load_scenario(path if path is not None else default_scenario_path())


def _read_weather(path: Path | None, scenario: Any) -> Any:
    from vansim.climate import read_weather
    from vansim.march.simulate import weather_of

    return read_weather(path) if path is not None else weather_of(scenario)


def _print_json(value: Any) -> None:
    typer.echo(json.dumps(value, indent=2, ensure_ascii=False, default=str))


def _write(folder: Path, files: dict[str, bytes]) -> None:
    from vansim.march.result import write_together

    try:
        for path in write_together(folder, files):
            typer.echo(f"wrote {path}", err=True)
    except OSError as problem:
        _refuse(f"--out {folder}: cannot write there ({problem.strerror})")


def _picture(figure: Any, kind: str = "png") -> bytes:
    from vansim.show.plots import png, svg

    return svg(figure).encode() if kind == "svg" else png(figure)


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
    with friendly():
        system = _system(units)
        if year and (date is not None or days is not None):
            _refuse("--year: takes no --from and no --days; write one or the other")
        chosen = _window(_load(scenario), date, days, year)
        from vansim.march.simulate import simulate

        result = simulate(chosen, _read_weather(weather, chosen))
        answer = _answer(result)
        if out is not None:
            from vansim.show.plots import night

            files = result.files()
            if len(result.nights):
                figure = night(result, system=system)
                files |= {"night.png": _picture(figure), "night.svg": _picture(figure, "svg")}
            _write(out, files)
        if as_json:
            _print_json(result.summary | answer)
        else:
            typer.echo("\n".join(_run_lines(result, answer, system)))


def _window(scenario: Any, date: str | None, days: int | None, year: bool) -> Any:
    from pydantic import ValidationError

    from vansim.march.simulate import over_year, with_window

    if year:
        return over_year(scenario)
    window = {name: value for name, value in (("date", date), ("days", days)) if value is not None}
    try:
        return with_window(scenario, **window) if window else scenario
    except ValidationError as problem:
        option = {"date": "--from", "days": "--days"}
        _refuse_all(
            f"{option.get(str(e['loc'][0]) if e['loc'] else 'date', '--from')}: "
            f"{e['msg'].removeprefix('Value error, ')} (you wrote {e['input'] if e['loc'] else date!r}); "
            "allowed: --from MM-DD, --days 1 to 365"
            for e in problem.errors()
        )


def _refuse_all(faults: Any) -> None:
    from vansim.errors import ScenarioError

    raise ScenarioError(faults)


def _answer(result: Any) -> dict[str, Any]:
    """Runtime beyond waking, and recovery, for the last night of a run."""
    from vansim.studies.tonight import runtime_tonight
    from vansim.studies.recovery import recovery

    if not len(result.nights):
        return {}
    again = recovery(result)
    found: dict[str, Any] = {"recovery_h": again.hours, "recovery_goal_soc": again.goal_soc}
    if len(result.nights) == 1 and result.run.scenario.cooler is not None:
        runtime_h, outlasts = runtime_tonight(result)
        found |= {"runtime_from_bedtime_h": runtime_h, "outlasts_48_h": outlasts}
    return found


def _run_lines(result: Any, answer: dict[str, Any], system: str) -> list[str]:
    from vansim.show.screen import balance_line, night_lines, nights_lines, recovery_line
    from vansim.show.words import cautions

    scenario, place = result.run.scenario, result.run.weather.site.name
    lines = [scenario.title, "", result.message, ""]
    if len(result.nights) == 1:
        runtime, outlasts = answer.get("runtime_from_bedtime_h"), answer.get("outlasts_48_h", False)
        lines += [*night_lines(result, system, runtime, outlasts), ""]
    elif len(result.nights):
        lines += [*nights_lines(result.nights, system), ""]
    if answer:
        lines += [recovery_line(answer["recovery_h"], answer["recovery_goal_soc"]), ""]
    if result.summary["unserved_wh"] > 0.5:
        lines += [f"The bank ran quite empty: {result.summary['unserved_wh']:.0f} Wh of other loads went unserved.", ""]
    lines += [f"Weather: {place} ({result.run.weather.kind}); a typical year, not its extremes."]
    lines += [balance_line(result.balance), "", "Cautions"]
    return lines + [f"  - {line}" for line in cautions(scenario)]


@app.command()
def check(scenario: ScenarioFile = None) -> None:
    """Read a scenario and say what is wrong with it, without running."""
    with friendly():
        from vansim.scenario.files import weather_path
        from vansim.show.screen import describe_days

        read = _load(scenario)
        if read.weather:
            weather_path(read)
        typer.echo(f"{read.title}: nothing wrong\n" + "\n".join(describe_days(read)))


@app.command()
def schema() -> None:
    """Print the JSON Schema of a scenario file, for editors."""
    from vansim.scenario.json_schema import json_schema

    _print_json(json_schema())


@app.command()
def parts(
    kind: Annotated[str | None, typer.Argument(help="One kind of part; left out, all.", show_default=False)] = None,
    as_json: AsJson = False,
) -> None:
    """List the parts library (invented, generic parts)."""
    with friendly():
        from vansim.scenario.parts import KINDS, parts_table
        from vansim.show.screen import parts_lines

        tables = {name: parts_table(name) for name in ([kind] if kind is not None else KINDS)}
        if as_json:
            _print_json({name: table.to_dict("records") for name, table in tables.items()})
            return
        for name, table in tables.items():
            typer.echo("\n".join([name, *("  " + line for line in parts_lines(table)), ""]))


@app.command()
def weather(
    file: Annotated[Path | None, typer.Argument(help="Typical-year file.", show_default=False)] = None,
    lat: Annotated[float | None, typer.Option("--lat", help="Latitude, to download a year.", show_default=False)] = None,
    lon: Annotated[float | None, typer.Option("--lon", help="Longitude, east positive.", show_default=False)] = None,
    trust_labels: Annotated[bool, typer.Option("--trust-labels", help="Use a file whose sun disagrees with its hours.")] = False,
    units: Units = "si",
    as_json: AsJson = False,
) -> None:
    """Describe a typical year: place, hot season, closure check, hottest and most typical nights."""
    with friendly():
        from vansim.climate import describe, download_weather, read_weather
        from vansim.show.weather_words import weather_dict, weather_lines

        system = _system(units)
        if file is not None and lat is None and lon is None:
            year = read_weather(file, trust_labels=trust_labels)
        elif file is None and lat is not None and lon is not None:
            year = download_weather(lat, lon)
        else:
            _refuse("weather: give a file, or both --lat and --lon")
        described = describe(year)
        if as_json:
            _print_json(weather_dict(described))
        else:
            typer.echo("\n".join(weather_lines(described, system)))


def main() -> None:
    """Entry point."""
    try:
        app()
    except Exception as problem:
        if "--traceback" in sys.argv:
            raise
        typer.echo(f"a fault of ours: {type(problem).__name__}: {problem}", err=True)
        sys.exit(1)


if __name__ == "__main__":
    main()
