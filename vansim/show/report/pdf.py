"""The report on paper, set by matplotlib alone: plain pages that fit A4 and Letter."""

from __future__ import annotations

import io
from collections.abc import Iterable
from functools import lru_cache

import numpy as np
from matplotlib.backends.backend_pdf import PdfPages
from matplotlib.font_manager import FontProperties
from matplotlib.lines import Line2D
from matplotlib.textpath import TextToPath
from PIL import Image

from vansim.show.plots.figure import INK, QUIET, Sheet, calm, png
from vansim.show.report.sections import Picture, Section

PAGE_IN = (8.27, 11.0)
"""As wide as A4 and as high as Letter: printed on either, nothing is cut."""
MARGIN_IN = 0.8
WIDTH_IN = PAGE_IN[0] - 2 * MARGIN_IN
DOTS = 200
HIGHEST_IN = 5.7
LEADING = 1.42


@lru_cache(maxsize=20000)
def _width_in(word: str, size: float, weight: str) -> float:
    font = FontProperties(family="DejaVu Sans", size=size, weight=weight)
    return float(TextToPath().get_text_width_height_descent(word, font, ismath=False)[0]) / 72.0


def wrap(text: str, width_in: float, size: float, weight: str = "normal") -> list[str]:
    """Break a text into lines by the measured width of its words; a word longer than a line is cut."""
    space, lines, line, used = _width_in("n n", size, weight) - _width_in("nn", size, weight), [], "", 0.0
    for word in _short_words(text, width_in, size, weight):
        wide = _width_in(word, size, weight)
        if line and used + space + wide > width_in:
            lines.append(line)
            line, used = word, wide
        else:
            line, used = (f"{line} {word}", used + space + wide) if line else (word, wide)
    return [*lines, line] if line else lines or [""]


def _short_words(text: str, width_in: float, size: float, weight: str) -> Iterable[str]:
    for word in text.split():
        while _width_in(word, size, weight) > width_in and len(word) > 1:
            fits = next(
                n for n in range(len(word) - 1, 0, -1) if n == 1 or _width_in(word[:n], size, weight) <= width_in
            )
            yield word[:fits]
            word = word[fits:]
        yield word


class Paper:
    """Pages being filled from the top down.

    Parameters
    ----------
    book : PdfPages
        Where full pages go.
    footer : str
        At the foot of each page, before its number.
    """

    def __init__(self, book: PdfPages, footer: str) -> None:
        self.book, self.footer, self.number = book, footer, 0
        self._new()

    def _new(self) -> None:
        self.page = Sheet(*PAGE_IN)
        self.number += 1
        self.y = MARGIN_IN
        self._write(MARGIN_IN, PAGE_IN[1] - 0.5, wrap(self.footer, WIDTH_IN - 0.5, 7.5)[0], 7.5, QUIET)
        self._write(PAGE_IN[0] - MARGIN_IN, PAGE_IN[1] - 0.5, str(self.number), 7.5, QUIET, ha="right")

    def _write(self, x: float, y: float, text: str, size: float, colour: str = INK, weight: str = "normal",
               ha: str = "left") -> None:  # fmt: skip
        self.page.text(
            x / PAGE_IN[0], 1 - y / PAGE_IN[1], text, fontsize=size, color=colour, weight=weight, ha=ha, va="top"
        )

    def close(self) -> None:
        """Hand over the last page."""
        self.book.savefig(self.page)

    def need(self, height_in: float) -> None:
        """Begin a new page unless so much room is left."""
        if self.y + height_in > PAGE_IN[1] - MARGIN_IN and self.y > MARGIN_IN:
            self.close()
            self._new()

    def space(self, height_in: float) -> None:
        """Leave room."""
        self.y += height_in

    def text(
        self, text: str, size: float = 9.0, colour: str = INK, weight: str = "normal", indent_in: float = 0.0
    ) -> None:
        """A paragraph."""
        step = size * LEADING / 72
        for line in wrap(text, WIDTH_IN - indent_in, size, weight):
            self.need(step)
            self._write(MARGIN_IN + indent_in, self.y, line, size, colour, weight)
            self.y += step
        self.y += 0.06

    def rule(self, colour: str = "#cfd6d2") -> None:
        """A thin line across."""
        y = 1 - self.y / PAGE_IN[1]
        ends = MARGIN_IN / PAGE_IN[0], 1 - MARGIN_IN / PAGE_IN[0]
        self.page.add_artist(Line2D(ends, (y, y), color=colour, linewidth=0.7, transform=self.page.transFigure))

    def picture(self, picture: Picture) -> None:
        """A picture across the page, and its table below it."""
        width = min(WIDTH_IN, HIGHEST_IN * picture.wide.get_figwidth() / picture.wide.get_figheight())
        height = width * picture.wide.get_figheight() / picture.wide.get_figwidth()
        self.need(height + 0.1)
        # a figure cannot stand in another: it goes in as an image, fine enough for print
        pixels = np.asarray(
            Image.open(io.BytesIO(png(picture.wide, round(DOTS * width / picture.wide.get_figwidth()))))
        )
        box = (MARGIN_IN / PAGE_IN[0], 1 - (self.y + height) / PAGE_IN[1], width / PAGE_IN[0], height / PAGE_IN[1])
        ax = self.page.add_axes(box)
        ax.imshow(pixels, aspect="auto", interpolation="none")
        ax.set_axis_off()
        self.y += height + 0.08

    def table(self, head: tuple[str, ...], rows: tuple[tuple[str, ...], ...], size: float = 8.0) -> None:
        """A table; columns as wide as their words ask, the last takes the rest and wraps."""
        wanted = [max(_width_in(row[i], size, "normal") for row in (head, *rows)) + 0.18 for i in range(len(head))]
        most = WIDTH_IN / len(head) if len(head) < 3 else WIDTH_IN * 0.3
        widths = [min(width, max(most, WIDTH_IN * 0.3)) for width in wanted[:-1]]
        widths.append(max(WIDTH_IN - sum(widths), 1.0))
        self._row(head, widths, size, QUIET)
        for row in rows:
            self._row(row, widths, size, INK)
        self.y += 0.16

    def _row(self, row: tuple[str, ...], widths: list[float], size: float, colour: str) -> None:
        cells = [wrap(cell, width - 0.12, size) for cell, width in zip(row, widths, strict=True)]
        step = size * 1.35 / 72
        height = step * max(len(lines) for lines in cells) + 0.06
        self.need(height)
        x = MARGIN_IN
        for lines, width in zip(cells, widths, strict=True):
            for place, line in enumerate(lines):
                self._write(x, self.y + 0.03 + place * step, line, size, colour)
            x += width
        self.y += height
        self.rule("#e3e7e4")


def pages(heading: str, byline: str, never: str, sections: tuple[Section, ...]) -> bytes:
    """Set a report as PDF.

    Parameters
    ----------
    heading, byline, never : str
        At its head; the caution follows the answer.
    sections : tuple of Section
        In order.

    Returns
    -------
    bytes
        The file, without its time of making.
    """
    buffer = io.BytesIO()
    with calm(), PdfPages(buffer, metadata={"CreationDate": None, "Title": heading, "Creator": "vansim"}) as book:
        paper = Paper(book, heading)
        paper.text(heading, 17, weight="bold")
        paper.text(byline, 9, QUIET)
        for section in sections:
            _set(paper, section, never)
        paper.close()
    return buffer.getvalue()


def _set(paper: Paper, section: Section, never: str) -> None:
    """One section: heading, paragraphs, pictures, lists, table."""
    lead = section.name == "answer"
    paper.space(0.12)
    paper.need(1.2)
    paper.text(section.heading, 12.5, weight="bold")
    for paragraph in section.paragraphs:
        paper.text(paragraph, 10.5 if lead else 9.0)
    if lead:
        paper.text(never, 9.5, "#8c1c13", weight="bold")
    for picture in section.pictures:
        paper.picture(picture)
        paper.table(tuple(cell or "Value" for cell in picture.head), picture.rows)
    for bullet in section.bullets:
        paper.text(f"•  {bullet}")
    for term, meaning in section.terms:
        inputs = section.name == "inputs"
        paper.text(f"{term}: {meaning if inputs else _lower(meaning)}", 7.0 if inputs else 9.0)
    if section.rows:
        paper.table(section.head, section.rows)


def _lower(text: str) -> str:
    return text[:1].lower() + text[1:]
