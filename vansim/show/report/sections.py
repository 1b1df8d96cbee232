"""The shapes that a report is made of; how they are set on a screen or on paper is not their business."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from dataclasses import dataclass, field, replace
from typing import Literal

from vansim.lazy import lazy
from vansim.show.plots.figure import NARROW_IN, WIDE_IN, Sheet, svg

Row = tuple[str, ...]
Manner = Literal["plain", "lead", "caution", "quiet"]


@dataclass(frozen=True)
class Words:
    """A paragraph.

    Attributes
    ----------
    text : str
        Plain text; never markup.
    manner : {"plain", "lead", "caution", "quiet"}
        How loudly it is said.
    """

    text: str
    manner: Manner = "plain"


@dataclass(frozen=True)
class Points:
    """A list."""

    lines: tuple[str, ...]
    columns: int = 1


@dataclass(frozen=True)
class Terms:
    """Words and their meanings."""

    pairs: tuple[tuple[str, str], ...]


@dataclass(frozen=True)
class Table:
    """A table with heads over its columns; the first cell of a row is the head of that row.

    Attributes
    ----------
    caption : str
        What it holds.
    head : tuple of str
        One for each column.
    rows : tuple of tuple of str
        Cells.
    widths : tuple of float
        Widths of the columns relative to one another; left out, as their words ask.
    on_paper_only : bool
        It stands beside its picture on a screen, and here on paper.
    """

    caption: str
    head: Row
    rows: tuple[Row, ...]
    widths: tuple[float, ...] = ()
    on_paper_only: bool = False


@dataclass(frozen=True)
class Picture:
    """A picture drawn for a page and for a phone.

    Attributes
    ----------
    name : str
        Short, unique in a report.
    draw : callable
        Draws it at a width [in].
    table : Table
        Its main values.
    fills : bool
        On paper it takes the room that is left on its page, and its table stands elsewhere.
    """

    name: str
    draw: Callable[[float], Sheet]
    table: Table
    fills: bool = False

    @lazy
    def wide(self) -> Sheet:
        """For a page."""
        return self.draw(WIDE_IN)

    @lazy
    def narrow(self) -> Sheet:
        """For a phone."""
        return self.draw(NARROW_IN)

    @property
    def words(self) -> str:
        """Alternative text."""
        return str(self.wide.words)

    @lazy
    def svg(self) -> str:
        """Drawn for a page; drawing takes its time, and screen and paper hold the same."""
        return svg(self.wide)

    @lazy
    def narrow_svg(self) -> str:
        """Drawn for a phone."""
        return svg(self.narrow)


Block = Words | Points | Terms | Table | Picture


@dataclass(frozen=True)
class Section:
    """A heading and what stands below it.

    Attributes
    ----------
    name : str
        Short, unique in a report.
    heading : str
        In words.
    blocks : tuple of Block
        In order.
    level : int
        2, or 3 for a section within the one before.
    new_page : bool
        On paper it begins a page.
    """

    name: str
    heading: str
    blocks: tuple[Block, ...] = field(default=())
    level: int = 2
    new_page: bool = False

    def changed(self, say: Callable[[str], str]) -> Section:
        """The same with every text put through a function."""
        return replace(self, heading=say(self.heading), blocks=tuple(_changed(block, say) for block in self.blocks))

    def texts(self) -> Iterator[str]:
        """Everything that it says but its pictures, in order."""
        yield self.heading
        for block in self.blocks:
            match block:
                case Words():
                    yield block.text
                case Points():
                    yield from block.lines
                case Terms():
                    for term, meaning in block.pairs:
                        yield from (term, meaning)
                case Table():
                    yield from table_texts(block)
                case Picture():
                    yield from table_texts(block.table)


def _changed(block: Block, say: Callable[[str], str]) -> Block:
    match block:
        case Words():
            return replace(block, text=say(block.text))
        case Points():
            return replace(block, lines=tuple(map(say, block.lines)))
        case Terms():
            return Terms(tuple((say(term), say(meaning)) for term, meaning in block.pairs))
        case Table():
            rows = tuple(tuple(map(say, row)) for row in block.rows)
            return replace(block, caption=say(block.caption), head=tuple(map(say, block.head)), rows=rows)
        case Picture():
            table = _changed(block.table, say)
            assert isinstance(table, Table)
            return replace(block, table=table)


def table_texts(table: Table) -> Iterator[str]:
    """Everything that a table says, in order."""
    yield table.caption
    yield from table.head
    for row in table.rows:
        yield from row
