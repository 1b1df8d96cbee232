"""Many nights and several designs: nights, size, compare, upgrades, energy, outage, report."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated, Any

import typer

from vansim.cli.common import app, fail, json_text, pictures, progress, report_errors, system_of, tables, write
from vansim.cli.designs import parse_designs
from vansim.cli.question import Answer, Question, ScenarioFile, Units, WeatherFile, load, question

Season = Annotated[
    str | None,
    typer.Option(
        "--season", help="jun-sep, 06-01..09-30 or year. Left out: the hottest three months.", show_default=False
    ),
]
HeatWave = Annotated[
    float | None,
    typer.Option(
        "--heat-wave", help="Margin for a heat wave: warm the hottest fortnight by so many kelvin.", show_default=False
    ),
]
Target = Annotated[str, typer.Option("--target", help="Share of nights to cover.")]
Consecutive = Annotated[
    bool, typer.Option("--consecutive", help="Consecutive nights: the bank carries over, with the plan's charging.")
]


def share(text: str) -> float:
    """Read a share of nights: ``95%`` or ``0.95``."""
    try:
        value = float(text.rstrip("%")) / (100.0 if text.endswith("%") else 1.0)
    except ValueError:
        fail(f"--target: {text!r} is not a share of nights; write for example 95% or 0.95")
    if not 0.0 < value <= 1.0:
        fail(f"--target: {text!r} is out of range; allowed: above 0%, up to 100%")
    return value


@question
def nights(
    ask: Question,
    season: Season = None,
    consecutive: Consecutive = False,
    start_soc: Annotated[
        float | None, typer.Option("--start-soc", help="State of charge at bedtime, 0 to 1.", show_default=False)
    ] = None,
    heat_wave: HeatWave = None,
) -> Answer:
    """Every night of a season: how long does the cooling run, and is the night covered?"""
    from vansim.show import plots
    from vansim.show.text.studies import nights_words
    from vansim.studies.nights import nights_alone, nights_chained

    start = {} if start_soc is None else {"start_soc": start_soc}
    found = (nights_chained if consecutive else nights_alone)(
        ask.scenario, ask.weather, season=season, heat_wave=heat_wave, progress=progress("nights"), **start
    )
    return Answer(
        lines=nights_words(found, ask.system),
        data={"nights": found.table, "distribution": found.distribution, "notes": found.notes},
        files=lambda: (
            tables(nights=found.table)
            | pictures(
                calendar=plots.calendar(found, system=ask.system),
                runtime=plots.runtime_against_outdoors(found, system=ask.system),
            )
        ),
    )


@question
def size(
    ask: Question,
    target: Target = "95%",
    season: Season = None,
    battery: Annotated[
        list[str] | None,
        typer.Option("--battery", help="Battery from the parts library; repeatable.", show_default=False),
    ] = None,
    mode: Annotated[
        list[str] | None, typer.Option("--mode", help="eco, boost or boost_then_eco; repeatable.", show_default=False)
    ] = None,
    cooler: Annotated[
        list[str] | None,
        typer.Option("--cooler", help="Cooler from the parts library; repeatable.", show_default=False),
    ] = None,
    consecutive: Consecutive = False,
    heat_wave: HeatWave = None,
) -> Answer:
    """Find the smallest bank that covers a share of the nights."""
    from vansim.show import plots
    from vansim.show.text.studies import size_words
    from vansim.studies.sizing import size as sized

    found = sized(
        ask.scenario,
        ask.weather,
        keep=share(target),
        season=season,
        units=battery or None,
        modes=mode or None,
        coolers=cooler or None,
        chained=consecutive,
        heat_wave=heat_wave,
        progress=progress("sizes"),
    )
    kinds = {"size": found.table, "curve": found.curve, "failed": found.failed}
    return Answer(
        lines=size_words(found, ask.scenario.currency),
        data={**kinds, "notes": found.notes},
        files=lambda: tables(**kinds) | pictures(bank_size=plots.bank_size(found, system=ask.system)),
    )


@question
def compare(
    ask: Question,
    vary: Annotated[
        list[str] | None,
        typer.Option("--vary", help="[NAME:] KEY=VALUE[,KEY=VALUE]: one more design; repeatable.", show_default=False),
    ] = None,
    variants: Annotated[bool, typer.Option("--variants", help="Also the variants that the scenario names.")] = False,
    target: Target = "95%",
    season: Season = None,
    heat_wave: HeatWave = None,
) -> Answer:
    """Designs side by side: runtime, energy, comfort, price and mass."""
    from vansim.show import plots
    from vansim.show.text.studies import compare_words
    from vansim.studies.compare import compare as compared

    own = ask.scenario.variants if variants or not vary else {}
    table = compared(
        ask.scenario,
        ask.weather,
        {**own, **parse_designs(vary or [], taken=own)},
        season=season,
        heat_wave=heat_wave,
        keep=share(target),
        progress=progress("designs"),
    )
    return Answer(
        lines=compare_words(table, ask.scenario.currency, ask.system),
        data=table,
        files=lambda: tables(compare=table) | pictures(compare=plots.designs(table, system=ask.system)),
    )


@question
def upgrades(ask: Question, season: Season = None, heat_wave: HeatWave = None) -> Answer:
    """Which single change gains most, and what would the same gain cost in batteries?"""
    from vansim.show import plots
    from vansim.show.text.studies import worth_words
    from vansim.studies.upgrades import worth_most

    table = worth_most(ask.scenario, ask.weather, season=season, heat_wave=heat_wave, progress=progress("changes"))
    return Answer(
        lines=worth_words(table, ask.scenario.currency),
        data=table,
        files=lambda: tables(upgrades=table) | pictures(upgrades=plots.worth(table, system=ask.system)),
    )


@question
def energy(
    ask: Question,
    night: Annotated[int, typer.Option("--night", help="Which night of the run; the first is 1.")] = 1,
) -> Answer:
    """Where the night's energy went: walls, glass, people, losses."""
    from vansim.runs.simulate import simulate
    from vansim.show import plots
    from vansim.show.text.studies import causes_words
    from vansim.studies.energy import causes

    result = simulate(ask.scenario, ask.weather)
    count = len(result.nights)
    if not 1 <= night <= count:
        there = "the run holds 1 night: --night 1" if count == 1 else f"the run holds {count} nights: 1 to {count}"
        fail(f"--night: there is no night {night}; {there if count else 'the run holds no whole night'}")
    table = causes(result, night - 1)
    return Answer(
        lines=causes_words(table),
        data=table,
        files=lambda: tables(energy=table) | pictures(energy=plots.energy(table, system=ask.system)),
    )


@question
def outage(
    ask: Question,
    when: Annotated[
        str, typer.Option("--when", help="night: when the bank runs out; sun: at noon in the sun.")
    ] = "night",
    season: Season = None,
    heat_wave: HeatWave = None,
) -> Answer:
    """What happens in the cabin once the cooling has stopped."""
    from vansim.show import plots
    from vansim.show.text.studies import hazard_words
    from vansim.studies.outage import after_reserve

    case: Any = when
    if when not in ("night", "sun"):
        fail(f"--when: {when!r} is not a case; allowed: night, sun")
    found = after_reserve(ask.scenario, ask.weather, case, season=season, heat_wave=heat_wave)
    return Answer(
        lines=hazard_words(found, ask.system),
        data={"caution": found.caution, "story": found.story, "thresholds": found.lines, "series": found.series},
        files=lambda: (
            tables(outage=found.series, thresholds=found.lines)
            | pictures(outage=plots.after_reserve(found, system=ask.system))
        ),
    )


@app.command()
def report(
    scenario: ScenarioFile = None,
    out: Annotated[Path, typer.Option("--out", help="Folder to write the report to.")] = Path("report"),
    weather: WeatherFile = None,
    name: Annotated[str, typer.Option("--for", help="Whom it is for.")] = "",
    season: Season = None,
    units: Units = "si",
) -> None:
    """Write a report to hand over: a page for the browser, and the same as PDF."""
    with report_errors():
        from vansim.show.report.report import report as made

        system = system_of(units)
        ask = Question(load(scenario), weather, system)
        found = made(ask.scenario, ask.weather, name=name, system=system, season=season)
        files = {"report.html": found.html.encode(), "report.pdf": found.pdf()}
        write(out, {**files, "summary.json": f"{json_text(found.numbers)}\n".encode()})
