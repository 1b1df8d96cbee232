"""Many nights and several designs: nights, size, compare, upgrades, outage."""

from __future__ import annotations

from typing import Annotated, Any

import typer

from vansim.cli.common import fail, pictures, plots, progress, tables
from vansim.cli.designs import parse_designs
from vansim.cli.options import (
    Consecutive,
    FullAtBedtime,
    HeatWave,
    Independent,
    Season,
    StartSoc,
    Target,
    judged,
    share,
    soc_of,
)
from vansim.cli.question import Answer, Question, question

Names = list[str] | None


@question
def nights(
    ask: Question,
    season: Season = None,
    target: Target = "95%",
    start_soc: StartSoc = None,
    heat_wave: HeatWave = None,
    full_at_bedtime: FullAtBedtime = False,
) -> Answer:
    """Every night of a season: is it covered, each for itself and one after another?"""
    from vansim.show import data
    from vansim.show.text.nights import nights_lines
    from vansim.studies import nights as study

    found = study.nights(
        ask.scenario,
        ask.weather,
        season=season,
        target=share(target),
        start_soc=soc_of(start_soc),
        heat_wave=heat_wave,
        full_at_bedtime=full_at_bedtime,
        progress=progress("nights"),
    )
    return Answer(
        lines=lambda: nights_lines(found, ask.system),
        data=lambda: data.nights_data(found, ask.system),
        files=lambda: (
            tables(independent=found.independent.table, consecutive=found.consecutive.table)
            | pictures(
                calendar=plots.calendar(found, system=ask.system),
                runtime=plots.runtime_against_outdoors(found, system=ask.system),
            )
        ),
        source=found.design,
    )


@question
def size(
    ask: Question,
    target: Target = "95%",
    season: Season = None,
    battery: Annotated[
        Names, typer.Option("--battery", help="Battery from the parts library, or all; repeatable.", show_default=False)
    ] = None,
    mode: Annotated[
        Names, typer.Option("--mode", help="eco, boost or boost_then_eco; repeatable.", show_default=False)
    ] = None,
    cooler: Annotated[
        Names, typer.Option("--cooler", help="Cooler from the parts library; repeatable.", show_default=False)
    ] = None,
    consecutive: Consecutive = False,
    independent: Independent = False,
    start_soc: StartSoc = None,
    heat_wave: HeatWave = None,
    full_at_bedtime: FullAtBedtime = False,
) -> Answer:
    """Find the smallest bank that covers a share of the nights."""
    from vansim.show import data
    from vansim.show.text.size import size_lines
    from vansim.studies import sizing as study

    batteries: Any = "all" if battery == ["all"] else battery or None
    found = study.size(
        ask.scenario,
        ask.weather,
        target=share(target),
        season=season,
        batteries=batteries,
        modes=mode or None,
        coolers=cooler or None,
        judged=judged(consecutive, independent),
        start_soc=soc_of(start_soc),
        heat_wave=heat_wave,
        full_at_bedtime=full_at_bedtime,
        progress=progress("sizes"),
    )
    return Answer(
        lines=lambda: size_lines(found, ask.scenario, ask.system),
        data=lambda: data.size_data(found, ask.scenario, ask.system),
        files=lambda: (
            tables(size=found.table, curve=found.curve, failed=found.failed)
            | pictures(bank_size=plots.bank_size(found, system=ask.system, noun=ask.scenario.night.label))
        ),
        source=found.best or found.short_of_charging or ask.scenario,
    )


@question
def compare(
    ask: Question,
    vary: Annotated[
        Names,
        typer.Option("--vary", help="[NAME:] KEY=VALUE[,KEY=VALUE]: one more design; repeatable.", show_default=False),
    ] = None,
    variants: Annotated[bool, typer.Option("--variants", help="Also the variants that the scenario names.")] = False,
    target: Target = "95%",
    season: Season = None,
    consecutive: Consecutive = False,
    independent: Independent = False,
    start_soc: StartSoc = None,
    heat_wave: HeatWave = None,
    full_at_bedtime: FullAtBedtime = False,
) -> Answer:
    """Designs side by side: nights, energy, comfort, recharging, mass and price."""
    from vansim.show import data
    from vansim.show.text.compare import compare_lines
    from vansim.studies import compare as study

    own = ask.scenario.variants if variants or not vary else {}
    found = study.compare(
        ask.scenario,
        ask.weather,
        {**own, **parse_designs(vary or [], taken=own)},
        target=share(target),
        season=season,
        judged=judged(consecutive, independent),
        start_soc=soc_of(start_soc),
        heat_wave=heat_wave,
        full_at_bedtime=full_at_bedtime,
        progress=progress("designs"),
    )
    return Answer(
        lines=lambda: compare_lines(found, ask.system),
        data=lambda: data.compare_data(found, ask.system),
        files=lambda: tables(compare=found.table) | pictures(compare=plots.designs(found, system=ask.system)),
        source=found.base,
    )


@question
def upgrades(
    ask: Question,
    season: Season = None,
    target: Target = "95%",
    start_soc: StartSoc = None,
    heat_wave: HeatWave = None,
    full_at_bedtime: FullAtBedtime = False,
) -> Answer:
    """Which change covers most nights and leaves most charge, and how many batteries would do as much?"""
    from vansim.show import data
    from vansim.show.text.upgrades import upgrades_lines
    from vansim.studies import upgrades as study

    found = study.upgrades(
        ask.scenario,
        ask.weather,
        season=season,
        target=share(target),
        start_soc=soc_of(start_soc),
        heat_wave=heat_wave,
        full_at_bedtime=full_at_bedtime,
        progress=progress("changes"),
    )
    return Answer(
        lines=lambda: upgrades_lines(found, ask.system),
        data=lambda: data.upgrades_data(found, ask.system),
        files=lambda: (
            tables(upgrades=found.table, pairs=found.pairs)
            | pictures(upgrades=plots.upgrades(found, system=ask.system))
        ),
        source=found.base,
    )


@question
def outage(
    ask: Question,
    when: Annotated[
        str, typer.Option("--when", help="night: when the bank is empty; sun: at noon in full sun.")
    ] = "night",
    covers: Annotated[
        bool | None,
        typer.Option("--covers/--no-covers", help="Window covers on or off. Left out: as planned.", show_default=False),
    ] = None,
    season: Season = None,
    start_soc: StartSoc = None,
    heat_wave: HeatWave = None,
    full_at_bedtime: FullAtBedtime = False,
) -> Answer:
    """What happens in the cabin once the cooling has stopped."""
    from vansim.show import data
    from vansim.show.text.after import outage_lines
    from vansim.studies import outage as study

    cases: Any = {"night": "bank_empty", "sun": "sun"}
    if when not in cases:
        fail(f"--when: {when!r} is not a case; allowed: night, sun")
    found = study.outage(
        ask.scenario,
        ask.weather,
        cases[when],
        covers=covers,
        season=season,
        start_soc=soc_of(start_soc),
        heat_wave=heat_wave,
        full_at_bedtime=full_at_bedtime,
    )
    return Answer(
        lines=lambda: outage_lines(found, ask.system),
        data=lambda: data.outage_data(found, ask.system),
        files=lambda: tables(**data.tables_of(found)) | pictures(outage=plots.outage(found, system=ask.system)),
        source=found.design,
    )
