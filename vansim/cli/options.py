"""Options that several commands share, and how what is written is read."""

from __future__ import annotations

from typing import TYPE_CHECKING, Annotated

import typer

from vansim.cli.common import fail

if TYPE_CHECKING:
    from vansim.runs.result import Result
    from vansim.scenario.schema import Scenario
    from vansim.studies.candidates import Judged

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
    bool, typer.Option("--consecutive", help="Judge consecutive nights alone: the bank carries over.")
]
Independent = Annotated[
    bool, typer.Option("--independent", help="Judge independent nights alone: each begins with a full bank.")
]
StartSoc = Annotated[
    float | None,
    typer.Option(
        "--start-soc",
        help="State of charge where the account of a night begins, 0 to 1. Left out: the scenario's.",
        show_default=False,
    ),
]
FullAtBedtime = Annotated[
    bool,
    typer.Option(
        "--full-at-bedtime", help="Begin every night at bedtime, with that charge: the evening is not counted."
    ),
]
WhichNight = Annotated[int, typer.Option("--night", help="Which night of the run; the first is 1.")]


def share(text: str) -> float:
    """Read a share of nights: ``95%`` or ``0.95``."""
    from vansim import phrases

    try:
        value = float(text.rstrip("%")) / (100.0 if text.endswith("%") else 1.0)
    except ValueError:
        fail(f"--target: {text!r} is not a share of nights; write for example 95% or 0.95")
    if not 0.0 < value <= 1.0:
        meant = f"; did you mean {phrases.percent(value / 100.0)}?" if 1.0 < value <= 100.0 else ""
        fail(f"--target: {text!r} is out of range; allowed: above 0%, up to 100%{meant}")
    return value


def judged(consecutive: bool, independent: bool) -> Judged:
    """Which reading is judged: the worse of both, unless one is asked for."""
    if consecutive and independent:
        fail("--consecutive and --independent: both are judged when neither is asked for; write one or none")
    return "consecutive" if consecutive else "independent" if independent else "headline"


def soc_of(start_soc: float | None) -> float | None:
    """Check a state of charge."""
    if start_soc is not None and not 0.0 <= start_soc <= 1.0:
        meant = f"; did you mean {start_soc / 100.0:g}?" if 1.0 < start_soc <= 100.0 else ""
        fail(f"--start-soc: {start_soc:g} is not a state of charge; allowed: 0 to 1, such as 0.8{meant}")
    return start_soc


def started_with(scenario: Scenario, start_soc: float | None, full_at_bedtime: bool) -> Scenario:
    """The scenario of a run with another charge at its start, or beginning at bedtime."""
    from vansim.runs.simulate import with_window
    from vansim.scenario.schema import AT_BEDTIME

    if soc_of(start_soc) is not None:
        scenario = scenario.model_copy(update={"bank": scenario.bank.model_copy(update={"start_soc": start_soc})})
    return with_window(scenario, start=AT_BEDTIME) if full_at_bedtime else scenario


def place_of(result: Result, night: int) -> int:
    """Row of a night that is counted from 1."""
    count = len(result.nights)
    if not 1 <= night <= count:
        there = "the run holds 1 night: --night 1" if count == 1 else f"the run holds {count} nights: 1 to {count}"
        fail(f"--night: there is no night {night}; {there if count else 'the run holds no whole night'}")
    return night - 1
