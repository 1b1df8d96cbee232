"""Something to hand over: the report."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated

import typer

from vansim.cli.common import app, echo_lines, json_text, report_errors, steps, system_of, write
from vansim.cli.options import FullAtBedtime, Season, Target, share
from vansim.cli.question import Labels, Question, ScenarioFile, Sky, Units, WeatherFile, load

Out = Annotated[Path, typer.Option("--out", help="Folder to write the report to.")]
For = Annotated[str, typer.Option("--for", help="Whom it is for.")]
PaperSize = Annotated[
    str | None,
    typer.Option("--paper", help="a4 or letter. Left out: A4 with SI units, Letter with US units.", show_default=False),
]
LogoFile = Annotated[
    Path | None, typer.Option("--logo", help="Your logo: PNG, JPEG, GIF or SVG, at most 2 MB.", show_default=False)
]
Sender = Annotated[str, typer.Option("--sender", help="Your own name, for the head of the report.")]
Address = Annotated[str, typer.Option("--address", help="Your address; lines are parted by semicolons.")]


@app.command()
def report(
    scenario: ScenarioFile = None,
    out: Out = Path("report"),
    weather: WeatherFile = None,
    labels: Labels = "find",
    sky: Sky = "formula",
    name: For = "",
    sender: Sender = "",
    address: Address = "",
    logo: LogoFile = None,
    paper: PaperSize = None,
    season: Season = None,
    target: Target = "95%",
    full_at_bedtime: FullAtBedtime = False,
    units: Units = "si",
) -> None:
    """Write a report to hand over: a page for the browser, the same as PDF, and its values as JSON."""
    with report_errors(units):
        from vansim.show.report import report as study
        from vansim.show.report.answer import caution

        ask = Question(load(scenario), weather, system_of(units), labels, sky)
        found = study.report(
            ask.scenario,
            ask.weather,
            name=name,
            system=ask.system,
            season=season,
            target=share(target),
            paper=paper,
            sender=sender,
            address="\n".join(line.strip() for line in address.split(";")),
            logo=logo,
            full_at_bedtime=full_at_bedtime,
            progress=steps(),
        )
        values = f"{json_text(found.numbers)}\n".encode()
        write(out, {"report.html": found.html.encode(), "report.pdf": found.pdf, "report.json": values})
        echo_lines([caution(found.findings)] if found.findings.unattended is not None else [])
