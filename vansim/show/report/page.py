"""The report as one page for a browser: nothing is fetched, nothing runs, and what is said is never markup."""

from __future__ import annotations

import base64
import hashlib
import re
from collections.abc import Iterable, Mapping
from typing import Any

from jinja2 import Environment, PackageLoader, StrictUndefined

from vansim.show.plots.figure import Sheet, inline_svg
from vansim.show.report.logo import Logo
from vansim.show.report.sections import Picture, Section

_PICTURE_STYLE = re.compile(r"<style[^>]*>.*?</style>", re.DOTALL)
"""A picture's own rules for joints and ends of lines; the page says the same for all of them."""


def html_page(head: Mapping[str, Any], sections: Iterable[Section], logo: Logo | None, version: str) -> str:
    """Set a report as a page.

    Parameters
    ----------
    head : mapping
        `heading`, `byline`, `footer`, `author` and `sender` (lines).
    sections : iterable of Section
        In order.
    logo : Logo or None
        Stands at its head.
    version : str
        Of this program.

    Returns
    -------
    str
        The file.
    """
    sections = tuple(sections)
    glyphs: dict[str, str] = {}
    drawings = {
        block.name: [
            _drawing(block.wide, f"{block.name}0", glyphs, block.svg),
            _drawing(block.narrow, f"{block.name}1", glyphs, block.narrow_svg),
        ]
        for section in sections
        for block in section.blocks
        if isinstance(block, Picture)
    }
    engine = Environment(
        loader=PackageLoader("vansim.show.report"),
        autoescape=True,
        undefined=StrictUndefined,
        trim_blocks=True,
        lstrip_blocks=True,
    )
    style = engine.get_template("report.css").render().strip()
    return engine.get_template("report.html.j2").render(
        head=head,
        sections=sections,
        drawings=drawings,
        letters="".join(glyphs[name] for name in sorted(glyphs)),
        style=style,
        style_hash=f"sha256-{base64.b64encode(hashlib.sha256(style.encode()).digest()).decode('ascii')}",
        logo=logo,
        version=version,
        kind_of=lambda block: type(block).__name__,
    )


def _drawing(sheet: Sheet, prefix: str, glyphs: dict[str, str], drawn: str) -> str:
    return _PICTURE_STYLE.sub("", inline_svg(sheet, prefix, glyphs, drawn))
