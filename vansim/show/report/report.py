"""The customer's report: one self-contained page, and the same as a PDF."""

from __future__ import annotations

import importlib.util
from dataclasses import dataclass
from datetime import date as calendar_date
from functools import cached_property
from typing import Any

from jinja2 import Environment, PackageLoader, StrictUndefined

from vansim import __version__
from vansim.climate import Weather
from vansim.scenario.schema import Scenario
from vansim.show.plots.figure import inline_svg
from vansim.show.report.compose import story
from vansim.show.report.findings import Findings, Progress, find, numbers_of
from vansim.show.report.pdf import pages
from vansim.show.report.sections import Picture, Section
from vansim.show.text.wording import NEVER_ALONE
from vansim.studies.nights import KEEP


@dataclass(frozen=True)
class Report:
    """A report, ready to be written.

    Attributes
    ----------
    name : str
        Whom or what it is for.
    title, place : str
        The scenario's, the weather's.
    system : {"si", "us"}
        Units shown.
    date : str
        On its head.
    sections : tuple of Section
        What it says.
    numbers : dict
        Every number that its text says, by section, in SI; ``numbers["summary"]`` is what `summary.json` holds.
    """

    name: str
    title: str
    place: str
    system: str
    date: str
    sections: tuple[Section, ...]
    numbers: dict[str, Any]

    @property
    def heading(self) -> str:
        """First line."""
        return f"Battery cooling for {self.name}" if self.name else f"Battery cooling: {self.title}"

    @property
    def byline(self) -> str:
        """Second line."""
        return f"{self.title}. Weather of {self.place}, a typical year. {self.date}."

    @cached_property
    def html(self) -> str:
        """One page without scripts and without anything from elsewhere; pictures are inside it."""
        glyphs: dict[str, str] = {}
        drawings = {
            picture.name: [
                inline_svg(sheet, f"{picture.name}{place}", glyphs) for place, sheet in enumerate(picture.sheets)
            ]
            for picture in self._pictures
        }
        return self._page(drawings, "".join(glyphs[name] for name in sorted(glyphs)))

    @property
    def paper_html(self) -> str:
        """The same page for a page-setting engine: without the pictures for phones, each with its own letters.

        Some engines do not look for a letter's shape in another picture than the one it stands in.
        """
        return self._page(
            {picture.name: [inline_svg(picture.wide, picture.name), ""] for picture in self._pictures}, ""
        )

    @property
    def _pictures(self) -> list[Picture]:
        return [picture for section in self.sections for picture in section.pictures]

    def _page(self, drawings: dict[str, list[str]], letters: str) -> str:
        engine = Environment(
            loader=PackageLoader("vansim.show.report"),
            autoescape=True,
            undefined=StrictUndefined,
            trim_blocks=True,
            lstrip_blocks=True,
        )
        template = engine.get_template("report.html.j2")
        return template.render(report=self, drawings=drawings, letters=letters, never=NEVER_ALONE, version=__version__)

    def pdf(self, engine: str | None = None) -> bytes:
        """Render as PDF.

        Parameters
        ----------
        engine : {"weasyprint", "matplotlib"} or None
            The page set by weasyprint, which the extra ``pdf`` brings, or pages drawn by matplotlib; left out, the
            first if it is installed.

        Returns
        -------
        bytes
            The file.
        """
        if engine is None:
            engine = "weasyprint" if importlib.util.find_spec("weasyprint") else "matplotlib"
        if engine == "weasyprint":
            from importlib import import_module

            return bytes(import_module("weasyprint").HTML(string=self.paper_html).write_pdf())
        return pages(self.heading, self.byline, NEVER_ALONE, self.sections)


def report(
    scenario: Scenario,
    weather: Weather | None = None,
    name: str = "",
    system: str = "si",
    season: str | None = None,
    date: str | None = None,
    keep: float = KEEP,
    progress: Progress | None = None,
) -> Report:
    """Run every study of a scenario and tell a customer what comes out.

    Parameters
    ----------
    scenario : Scenario
        Its run must hold a whole night.
    weather : Weather or None
        Typical year; left out, the scenario's own.
    name : str
        Whom or what it is for; printed as it is, never as markup.
    system : {"si", "us"}
        Units shown.
    season : str or None
        ``"jun-sep"``, ``"06-01..09-30"``, ``"year"``; None: the hottest three consecutive months.
    date : str or None
        On its head; left out, today. Two reports with the same date are the same to the byte.
    keep : float
        Share of nights that a bank is sized for.
    progress : callable or None
        Called with the name of each study as it begins.

    Returns
    -------
    Report
        With `html`, `pdf()` and `numbers`.

    Raises
    ------
    ScenarioError, WeatherError
        As for the studies; or the run holds no whole night.
    """
    return tell(find(scenario, weather, season, keep, progress), name, system, date)


def tell(found: Findings, name: str = "", system: str = "si", date: str | None = None) -> Report:
    """Report on studies that were run already; see `report`."""
    numbers = numbers_of(found)
    return Report(
        name=name,
        title=found.scenario.title,
        place=found.result.run.weather.site.name,
        system=system,
        date=calendar_date.today().isoformat() if date is None else date,
        sections=story(found, numbers, system),
        numbers=numbers,
    )
