"""The customer's report: one self-contained page, and the same as a PDF."""

from __future__ import annotations

import datetime
import re
from collections.abc import Mapping
from dataclasses import dataclass, replace
from functools import cached_property
from pathlib import Path
from typing import Any

from vansim import phrases
from vansim.climate import Weather
from vansim.errors import ScenarioError
from vansim.phrases.outside import clean, shortened
from vansim.scenario.files import ScenarioSource, as_scenario
from vansim.show.report.answer import page_one
from vansim.show.report.appendix import appendix, page_two
from vansim.show.report.findings import Findings
from vansim.show.report.gather import findings_of
from vansim.show.report.logo import Logo, read_logo
from vansim.show.report.page import html_page
from vansim.show.report.paper import Paper, set_pages
from vansim.show.report.pictures import night_brief
from vansim.show.report.sections import Picture, Section
from vansim.show.report.studies import Progress, Studies, run_studies
from vansim.studies.design import TARGET
from vansim.version import __version__

LONGEST_WORD = 24
"""Letters after which a word may break, so that it stays in its column."""
BREAK = "\u200b"
_LONG = re.compile(rf"\S{{{LONGEST_WORD + 1},}}")
PAPERS: Mapping[str, Paper] = {"si": "a4", "us": "letter"}


@dataclass(frozen=True)
class Report:
    """A report, ready to be written.

    Attributes
    ----------
    findings : Findings
        Every value that it says, by name.
    sections : tuple of Section
        What it says.
    heading, byline : str
        Its first lines.
    sender : tuple of str
        Whose it is: own name and address, by line.
    logo : Logo or None
        One's own.
    system : {"si", "us"}
        Units shown.
    paper : {"a4", "letter"}
        Size of its sheets.
    date : date
        On its head.
    """

    findings: Findings
    sections: tuple[Section, ...]
    heading: str
    byline: str
    sender: tuple[str, ...]
    logo: Logo | None
    system: str
    paper: Paper
    date: datetime.date

    @property
    def head(self) -> dict[str, Any]:
        """What stands above and below its sections."""
        return {
            "heading": self.heading,
            "byline": self.byline,
            "footer": f"Computed with vansim {__version__}, {self.date.isoformat()}",
            "author": self.sender[0] if self.sender else "vansim",
            "sender": self.sender,
        }

    @cached_property
    def html(self) -> str:
        """One page without scripts and without anything from elsewhere; pictures are inside it."""
        return html_page(self.head, self.sections, self.logo, __version__)

    @cached_property
    def pdf(self) -> bytes:
        """The same on paper: a tagged PDF."""
        return set_pages(self.head, self.sections, self.paper, self.logo, self.date)

    @property
    def numbers(self) -> dict[str, Any]:
        """Every value that it says, by name; dates as text."""
        return {
            name: value.isoformat() if isinstance(value, datetime.date) else value
            for name, value in self.findings.named().items()
        }


def report(
    scenario: ScenarioSource,
    weather: Weather | None = None,
    name: str = "",
    system: str = "si",
    season: str | None = None,
    target: float = TARGET,
    date: str | None = None,
    paper: str | None = None,
    sender: str = "",
    address: str = "",
    logo: str | Path | None = None,
    full_at_bedtime: bool = False,
    progress: Progress | None = None,
) -> Report:
    """Run every study of a scenario and tell a customer what comes out.

    Parameters
    ----------
    scenario : Scenario, str, Path or mapping
        Its run must hold a whole night.
    weather : Weather or None
        Typical year; left out, the scenario's own.
    name : str
        Whom or what it is for; printed as it is, never as markup.
    system : {"si", "us"}
        Units shown.
    season : str or None
        ``"jun-sep"``, ``"06-01..09-30"``, ``"year"``; None: the hottest three consecutive months.
    target : float
        Share of nights that a bank is sized for.
    date : str or None
        ``"YYYY-MM-DD"``, on its head; left out, today. Two reports with the same date are the same to the byte.
    paper : {"a4", "letter"} or None
        Size of the sheets; left out, A4 with SI units and Letter with US units.
    sender, address : str
        Whose report it is: own name, and address with line breaks.
    logo : path or None
        One's own: PNG, JPEG, GIF or SVG.
    full_at_bedtime : bool
        Begin every account at bedtime, so that the evening is not counted.
    progress : callable or None
        Called with the name of each study as it begins.

    Returns
    -------
    Report
        With `html`, `pdf`, `findings` and `numbers`.

    Raises
    ------
    ScenarioError, WeatherError
        As for the studies; the run holds no whole night; or a paper, date, system or logo that cannot be used.
    """
    image = checked(system, paper, date, logo, shortened(clean(sender)))
    studies = run_studies(
        as_scenario(scenario), weather, season, target=target, full_at_bedtime=full_at_bedtime, progress=progress
    )
    return tell(studies, name, system, date=date, paper=paper, sender=sender, address=address, logo=image)


def checked(system: str, paper: str | None, date: str | None, logo: str | Path | None, sender: str) -> Logo | None:
    """Read the logo, or raise `ScenarioError` for every choice that cannot be made."""
    faults: list[str] = []
    if system not in PAPERS:
        faults.append(f"system: {system!r} is not a system of units; allowed: si, us")
    if paper is not None and paper not in PAPERS.values():
        faults.append(f"paper: {paper!r} is not a size; allowed: a4, letter")
    if date is not None:
        try:
            datetime.date.fromisoformat(date)
        except ValueError:
            faults.append(f"date: {date!r} is not a date; written as YYYY-MM-DD")
    image = None
    try:
        image = None if logo is None else read_logo(logo, f"Logo of {sender}" if sender else "Logo")
    except ScenarioError as problem:
        faults += problem.faults
    if faults:
        raise ScenarioError(faults)
    return image


def tell(
    studies: Studies,
    name: str = "",
    system: str = "si",
    date: str | None = None,
    paper: str | None = None,
    sender: str = "",
    address: str = "",
    logo: Logo | None = None,
) -> Report:
    """Report on studies that were run already; see `report`."""
    found = findings_of(studies)
    brief = shortened(clean(name))
    made = datetime.date.today() if date is None else datetime.date.fromisoformat(date)
    title, place = (shortened(clean(text)) for text in (found.occasion.title, found.occasion.place))
    return Report(
        findings=found,
        sections=sections_of(studies, found, system, name),
        heading=said(f"Battery cooling for {brief}" if brief else f"Battery cooling: {title}"),
        byline=said(f"{title}. Weather of {place}, a typical year. {phrases.date(made)} {made.year}."),
        sender=tuple(said(shortened(line)) for line in clean(f"{sender}\n{address}").split("\n") if line.strip())[:6],
        logo=logo,
        system=system,
        paper=PAPERS[system] if paper is None else PAPERS[next(s for s, p in PAPERS.items() if p == paper)],
        date=made,
    )


def sections_of(studies: Studies, found: Findings, system: str, name: str = "") -> tuple[Section, ...]:
    """What a report says: words and tables from the findings alone, pictures from the studies.

    Parameters
    ----------
    studies, found : Studies, Findings
        What was computed; what of it may be said.
    system : {"si", "us"}
        Units shown.
    name : str
        Whom it is for; told in the appendix where the head has no room for all of it.
    """
    title, name = clean(found.occasion.title), clean(name)
    whole = tuple(text for text in (title, name) if shortened(text) != " ".join(text.split()))
    sections = (
        *page_one(found, night_brief(studies, found, system), system),
        *page_two(studies, found, system),
        *appendix(studies, found, system, whole),
    )
    return tuple(_drawn_once(section.changed(said), studies, system) for section in sections)


def _drawn_once(section: Section, studies: Studies, system: str) -> Section:
    """A section whose pictures are those that were made of the same studies before, where their tables say the same."""
    blocks = tuple(
        studies.drawn.setdefault((block.name, system, block.table), block) if isinstance(block, Picture) else block
        for block in section.blocks
    )
    return replace(section, blocks=blocks)


def said(text: str) -> str:
    """A text as it is set: cleaned, no line ending before a unit, and very long words breaking anywhere."""
    return _LONG.sub(lambda word: BREAK.join(word.group()), phrases.unbroken(clean(text)))
