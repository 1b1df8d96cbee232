"""The shapes that a report is made of: sections, and pictures with their values."""

from __future__ import annotations

from dataclasses import dataclass, field

from vansim.show.plots.figure import Sheet

Rows = tuple[tuple[str, ...], ...]


@dataclass(frozen=True)
class Picture:
    """A picture drawn for a page and for a phone, its words, and a table of its main values.

    Attributes
    ----------
    name : str
        Short, unique in a report.
    wide, narrow : Sheet
        The same picture at two widths.
    head : tuple of str
        Heads of the table's columns.
    rows : tuple of tuple of str
        Table.
    """

    name: str
    wide: Sheet
    narrow: Sheet
    head: tuple[str, ...]
    rows: Rows

    @property
    def words(self) -> str:
        """Alternative text."""
        return self.wide.words

    @property
    def sheets(self) -> tuple[Sheet, Sheet]:
        """For a page, for a phone."""
        return self.wide, self.narrow


@dataclass(frozen=True)
class Section:
    """A heading and what stands below it."""

    name: str
    heading: str
    paragraphs: tuple[str, ...] = ()
    pictures: tuple[Picture, ...] = ()
    bullets: tuple[str, ...] = ()
    terms: tuple[tuple[str, str], ...] = ()
    head: tuple[str, ...] = ()
    rows: Rows = field(default=())
