"""Small tables on a terminal: as wide as their cells, and folded where the screen is narrower."""

from __future__ import annotations

from collections.abc import Sequence

from vansim.show.text.width import WIDEST, columns

INDENT, GAP = 2, 2

Row = Sequence[str]


def table_lines(head: Row, rows: Sequence[Row], left: Sequence[int] = (0,)) -> list[str]:
    """A table as lines.

    Parameters
    ----------
    head : sequence of str
        Headings; one of several lines is parted by line breaks and stands on the rows.
    rows : sequence of sequences of str
        Cells; none is empty, and none holds two spaces, so that a table can be read back.
    left : sequence of int
        Columns that stand at the left; the others, numbers, stand at the right.

    Returns
    -------
    list of str
        Headings, then a line a row. Where names in the first column are too long, letters stand for them, and lines
        below say which; where even that is wider than the screen, each row is folded.
    """
    width = columns()
    lines = _aligned(head, rows, left)
    if fits(lines, width):
        return lines
    names, key = lettered([row[0] for row in rows], 1)
    short = [*_aligned(head, [(name, *row[1:]) for name, row in zip(names, rows, strict=True)], left), *key]
    return short if width >= WIDEST or fits(short[: len(short) - len(key)], width) else folded(head, rows)


def fits(lines: Sequence[str], width: int) -> bool:
    """Whether every line fits into so many columns."""
    return max((len(line) for line in lines), default=0) <= width


def folded(head: Row, rows: Sequence[Row]) -> list[str]:
    """A table too wide for a screen: each row a name, and below it each figure after its heading."""
    heads = [" ".join(name.split()) for name in head]
    lines = []
    for row in rows:
        lines.append(f"{' ' * INDENT}{row[0]}")
        lines += [f"{' ' * 2 * INDENT}{name}: {cell}" for name, cell in zip(heads[1:], row[1:], strict=True)]
    return lines


def _aligned(head: Row, rows: Sequence[Row], left: Sequence[int]) -> list[str]:
    heads = [name.split("\n") for name in head]
    deep = max(len(lines) for lines in heads)
    stacked = [[*[""] * (deep - len(lines)), *lines] for lines in heads]
    every = [*([lines[i] for lines in stacked] for i in range(deep)), *rows]
    widths = [max(len(cell) for cell in column) for column in zip(*every, strict=True)]
    return [
        " " * INDENT
        + (" " * GAP)
        .join(
            cell.ljust(width) if i in left else cell.rjust(width)
            for i, (cell, width) in enumerate(zip(row, widths, strict=True))
        )
        .rstrip()
        for row in every
    ]


def lettered(names: Sequence[str], longest: int) -> tuple[list[str], list[str]]:
    """Names for the first column of a table: themselves, or letters with a key where one is too long.

    Parameters
    ----------
    names : sequence of str
        At most 26 of them are lettered; further ones are numbered.
    longest : int
        Characters that there is room for.

    Returns
    -------
    labels : list of str
        One a name.
    key : list of str
        Lines that say what each letter is; empty where none is needed.
    """
    if all(len(name) <= longest for name in names):
        return list(names), []
    labels = [chr(ord("A") + i) if i < 26 else str(i + 1) for i in range(len(names))]
    return labels, [f"  {label}: {name}" for label, name in zip(labels, names, strict=True)]
