"""Many nights and several designs: nights, size, compare, worth, causes, hazard, report."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated, Any

import typer

from vansim.cli.common import (
    AsJson,
    HeatWave,
    Out,
    ScenarioFile,
    Season,
    Units,
    WeatherFile,
    app,
    echo_lines,
    fail,
    load,
    pictures,
    print_json,
    progress,
    report_errors,
    system_of,
    tables,
    weather_for,
    write,
)


@app.command()
def nights(
    scenario: ScenarioFile = None,
    weather: WeatherFile = None,
    season: Season = None,
    chained: Annotated[bool, typer.Option("--chained", help="The bank carries over from day to day.")] = False,
    start_soc: Annotated[
        float | None, typer.Option("--start-soc", help="State of charge at bedtime, 0 to 1.", show_default=False)
    ] = None,
    heat_wave: HeatWave = None,
    out: Out = None,
    units: Units = "si",
    as_json: AsJson = False,
) -> None:
    """Every night of a season: how long does the cooling run, and is the night kept?"""
    with report_errors():
        system, read = system_of(units), load(scenario)
        from vansim.show.text.studies import nights_words
        from vansim.studies.nights import nights_alone, nights_chained

        study = nights_chained if chained else nights_alone
        start = {} if start_soc is None else {"start_soc": start_soc}
        found = study(
            read,
            weather_for(weather, read),
            season=season,
            heat_wave=heat_wave,
            progress=progress("nights"),
            **start,
        )
        if out is not None:
            from vansim.show.plots import calendar, runtime_against_outdoors

            drawn = pictures(
                calendar=calendar(found, system=system), runtime=runtime_against_outdoors(found, system=system)
            )
            write(out, tables(nights=found.table) | drawn)
        if as_json:
            print_json({"nights": found.table, "distribution": found.distribution, "notes": found.notes})
        else:
            echo_lines([read.title, "", *nights_words(found, system)])


def _share(text: str) -> float:
    try:
        value = float(text.rstrip("%")) / (100.0 if text.endswith("%") else 1.0)
    except ValueError:
        fail(f"--keep: {text!r} is not a share; write for example 95% or 0.95")
    if not 0.0 < value <= 1.0:
        fail(f"--keep: {text!r} is out of range; allowed: above 0 up to 100%")
    return value


@app.command()
def size(
    scenario: ScenarioFile = None,
    weather: WeatherFile = None,
    keep: Annotated[str, typer.Option("--keep", help="Share of nights to keep.")] = "95%",
    season: Season = None,
    unit: Annotated[
        list[str] | None, typer.Option("--with", help="Battery from the parts library; repeatable.", show_default=False)
    ] = None,
    mode: Annotated[
        list[str] | None, typer.Option("--mode", help="eco, boost or boost_then_eco; repeatable.", show_default=False)
    ] = None,
    cooler: Annotated[
        list[str] | None, typer.Option("--cooler", help="Cooler from the library; repeatable.", show_default=False)
    ] = None,
    chained: Annotated[bool, typer.Option("--chained", help="Judge nights in a row, with recharging.")] = False,
    heat_wave: HeatWave = None,
    out: Out = None,
    units: Units = "si",
    as_json: AsJson = False,
) -> None:
    """The smallest bank that keeps a share of the nights."""
    with report_errors():
        system, read = system_of(units), load(scenario)
        from vansim.show.text.studies import size_words
        from vansim.studies.sizing import size as sized

        found = sized(
            read,
            weather_for(weather, read),
            keep=_share(keep),
            season=season,
            units=unit or None,
            modes=mode or None,
            coolers=cooler or None,
            chained=chained,
            heat_wave=heat_wave,
            progress=progress("sizes"),
        )
        if out is not None:
            from vansim.show.plots import bank_size

            kinds = {"size": found.table, "curve": found.curve, "failed": found.failed}
            filled = {name: table for name, table in kinds.items() if len(table)}
            write(out, tables(**filled) | pictures(bank_size=bank_size(found, system=system)))
        if as_json:
            print_json({"size": found.table, "curve": found.curve, "failed": found.failed, "notes": found.notes})
        else:
            echo_lines([read.title, "", *size_words(found, read.currency, system)])


def _changes(pairs: list[str]) -> dict[str, dict[str, Any]]:
    """``KEY=VALUE[,KEY=VALUE]`` each, read as TOML values where they are such."""
    import tomllib

    found: dict[str, dict[str, Any]] = {}
    for text in pairs:
        change: dict[str, Any] = {}
        for part in text.split(","):
            key, equals, value = part.partition("=")
            if not equals or not key.strip():
                fail(f"--vary: {part!r} is not KEY=VALUE; write for example --vary thermostat.setpoint_c=26")
            try:
                change[key.strip()] = tomllib.loads(f"x = {value.strip()}")["x"]
            except tomllib.TOMLDecodeError:
                change[key.strip()] = value.strip()
        found[text] = change
    return found


@app.command()
def compare(
    scenario: ScenarioFile = None,
    weather: WeatherFile = None,
    vary: Annotated[
        list[str] | None,
        typer.Option("--vary", help="KEY=VALUE[,KEY=VALUE]: one more design; repeatable.", show_default=False),
    ] = None,
    variants: Annotated[bool, typer.Option("--variants", help="Those that the scenario names, besides.")] = False,
    season: Season = None,
    heat_wave: HeatWave = None,
    out: Out = None,
    units: Units = "si",
    as_json: AsJson = False,
) -> None:
    """Designs side by side: runtime, energy, comfort, money and mass."""
    with report_errors():
        system, read = system_of(units), load(scenario)
        from vansim.show.text.studies import compare_words
        from vansim.studies.compare import compare as compared

        asked = _changes(vary or [])
        chosen = {**read.variants, **asked} if variants or not asked else asked
        table = compared(
            read, weather_for(weather, read), chosen, season=season, heat_wave=heat_wave, progress=progress("designs")
        )
        if out is not None:
            from vansim.show.plots import designs

            write(out, tables(compare=table) | pictures(compare=designs(table, system=system)))
        if as_json:
            print_json(table)
        else:
            echo_lines([read.title, "", *compare_words(table, read.currency, system)])


@app.command()
def worth(
    scenario: ScenarioFile = None,
    weather: WeatherFile = None,
    season: Season = None,
    heat_wave: HeatWave = None,
    out: Out = None,
    units: Units = "si",
    as_json: AsJson = False,
) -> None:
    """Which single change is worth most, and what the same would cost in batteries."""
    with report_errors():
        system, read = system_of(units), load(scenario)
        from vansim.show.text.studies import worth_words
        from vansim.studies.upgrades import worth_most

        table = worth_most(
            read, weather_for(weather, read), season=season, heat_wave=heat_wave, progress=progress("changes")
        )
        if out is not None:
            from vansim.show.plots import worth as drawn

            write(out, tables(worth=table) | pictures(worth=drawn(table, system=system)))
        if as_json:
            print_json(table)
        else:
            echo_lines([read.title, "", *worth_words(table, read.currency, system)])


@app.command()
def causes(
    scenario: ScenarioFile = None,
    weather: WeatherFile = None,
    night: Annotated[int, typer.Option("--night", help="Which night of the run, from 1.")] = 1,
    out: Out = None,
    units: Units = "si",
    as_json: AsJson = False,
) -> None:
    """Where the night's electricity went: walls, glass, people, losses."""
    with report_errors():
        system, read = system_of(units), load(scenario)
        from vansim.runs.simulate import simulate
        from vansim.show.text.studies import causes_words
        from vansim.studies.energy import causes as attributed

        table = attributed(simulate(read, weather_for(weather, read)), night - 1)
        if out is not None:
            from vansim.show.plots import energy

            write(out, tables(causes=table) | pictures(causes=energy(table, system=system)))
        if as_json:
            print_json(table)
        else:
            echo_lines([read.title, "", *causes_words(table)])


@app.command()
def hazard(
    scenario: ScenarioFile = None,
    weather: WeatherFile = None,
    when: Annotated[str, typer.Option("--when", help="night or sun.")] = "night",
    season: Season = None,
    heat_wave: HeatWave = None,
    out: Out = None,
    units: Units = "si",
    as_json: AsJson = False,
) -> None:
    """What happens in the cabin after the bank's reserve is reached."""
    with report_errors():
        system, read = system_of(units), load(scenario)
        from vansim.show.text.studies import hazard_words
        from vansim.studies.outage import after_reserve

        case: Any = when
        found = after_reserve(read, weather_for(weather, read), case, season=season, heat_wave=heat_wave)
        if out is not None:
            from vansim.show.plots import after_reserve as drawn

            write(
                out,
                tables(hazard=found.series, thresholds=found.lines) | pictures(hazard=drawn(found, system=system)),
            )
        if as_json:
            print_json(
                {"caution": found.caution, "story": found.story, "thresholds": found.lines, "series": found.series}
            )
        else:
            echo_lines([read.title, "", *hazard_words(found, system)])


@app.command()
def report(
    scenario: ScenarioFile = None,
    out: Annotated[Path, typer.Option("--out", help="Folder for the report.")] = Path("report"),
    weather: WeatherFile = None,
    name: Annotated[str, typer.Option("--for", help="Whom it is for.")] = "",
    season: Season = None,
    units: Units = "si",
) -> None:
    """A report to hand over: one page to open in a browser, and the same as PDF."""
    with report_errors():
        import json

        system, read = system_of(units), load(scenario)
        from vansim.show.report.report import report as made

        found = made(read, weather_for(weather, read), name=name, system=system, season=season)
        numbers = json.dumps(found.numbers, indent=2, ensure_ascii=False) + "\n"
        write(
            out,
            {"report.html": found.html.encode(), "report.pdf": found.pdf(), "summary.json": numbers.encode()},
        )
