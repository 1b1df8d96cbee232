"""The report on paper: its sections as data, set by one typst template as a tagged PDF (PDF/UA-1)."""

from __future__ import annotations

import datetime
import json
from collections.abc import Iterable, Mapping
from functools import cache
from importlib.resources import files
from pathlib import Path
from typing import TYPE_CHECKING, Any, Literal

from vansim.show.report.sections import Block, Picture, Points, Section, Table, Terms, Words

if TYPE_CHECKING:
    from vansim.show.report.logo import Logo

Paper = Literal["a4", "letter"]
SHEETS: dict[Paper, str] = {"a4": "a4", "letter": "us-letter"}
FONT = "DejaVu Sans"


def set_pages(
    head: Mapping[str, Any], sections: Iterable[Section], paper: Paper, logo: Logo | None, date: datetime.date
) -> bytes:
    """Set a report as PDF.

    Parameters
    ----------
    head : mapping
        `heading`, `byline`, `footer`, `author` and `sender` (lines).
    sections : iterable of Section
        In order.
    paper : {"a4", "letter"}
        Size of the sheets.
    logo : Logo or None
        Stands at its head.
    date : date
        Written into the file as the time of its making, so that the same report gives the same bytes.

    Returns
    -------
    bytes
        The file.
    """
    import typst

    data = {
        **head,
        "sections": [_section(section) for section in sections],
        "paper": SHEETS[paper],
        "lang": "en",
        "fonts": [FONT],
        "logo": [] if logo is None else list(logo.content),
        "logo_words": "" if logo is None else logo.words,
    }
    text = json.dumps(data, ensure_ascii=False)
    made = datetime.datetime.combine(date, datetime.time(), datetime.UTC)
    return bytes(
        typst.compile(
            files("vansim.show.report").joinpath("templates/report.typ").read_bytes(),
            sys_inputs={"report": text},
            # only what our own font cannot show is looked for among those of the machine
            font_paths=typst.Fonts(include_system_fonts=_unknown(text), font_paths=[fonts_folder()]),
            pdf_standards="ua-1",
            timestamp=made,
        )
    )


def _section(section: Section) -> dict[str, Any]:
    return {
        "heading": section.heading,
        "level": section.level,
        "new_page": section.new_page,
        "blocks": [_block(block) for block in section.blocks],
    }


def _block(block: Block) -> dict[str, Any]:
    match block:
        case Words():
            return {"kind": "words", "text": block.text, "manner": block.manner}
        case Points():
            return {"kind": "points", "lines": block.lines, "columns": block.columns}
        case Terms():
            return {"kind": "terms", "pairs": block.pairs}
        case Table():
            return {"kind": "table", **_table(block)}
        case Picture():
            drawn = {"svg": block.svg, "words": block.words, "fills": block.fills}
            return {"kind": "picture", "table": _table(block.table), **drawn}


def _table(table: Table) -> dict[str, Any]:
    head = [cell or "Value" for cell in table.head]
    return {
        "caption": table.caption,
        "head": head,
        "rows": table.rows,
        "widths": table.widths,
    }


def fonts_folder() -> str:
    """Where the font of pages and pictures lies; matplotlib brings it."""
    import matplotlib

    return str(Path(matplotlib.get_data_path()) / "fonts" / "ttf")


@cache
def _letters() -> frozenset[int]:
    from matplotlib.ft2font import FT2Font

    return frozenset(FT2Font(str(Path(fonts_folder()) / "DejaVuSans.ttf")).get_charmap())


def _unknown(text: str) -> bool:
    """Whether a text holds letters that our own font does not have."""
    return not {ord(letter) for letter in set(text)} <= _letters() | {0x0A, 0x200B}
