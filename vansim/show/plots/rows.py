"""Rows of bars: a name, and one or two quantities beside it on zero lines of their own."""

from __future__ import annotations

import textwrap
from collections.abc import Sequence
from dataclasses import dataclass, field
from typing import Any

import numpy as np
import numpy.typing as npt
from matplotlib.axes import Axes

from vansim.phrases import unbroken
from vansim.show.plots.figure import INK, QUIET, Sheet, panel
from vansim.show.plots.labels import over

ROW_IN, TALL_ROW_IN = 0.31, 0.5
"""Height of a row, and of one with its name above its bars, on a phone [in]."""
LETTER_IN = 0.068
"""Room that a letter of a bar's value takes, on the safe side [in]."""
NAMES_IN = 2.65
"""Room for names at the left [in]."""
HEAD_IN, TALL_HEAD_IN, FOOT_IN = 0.34, 0.48, 0.1


@dataclass(frozen=True)
class Column:
    """A quantity of every row.

    Attributes
    ----------
    name : str
        Stands above its bars, with the unit.
    values : (n_rows,) array
        Lengths of bars.
    texts : sequence of str
        At their ends.
    colours : sequence of str
        Of the bars.
    pale : (n_rows,) bool array
        Bars drawn as an outline.
    rings : (n_rows,) array or None
        A second value of each row, as a ring; not-a-number for none.
    """

    name: str
    values: npt.NDArray[np.float64]
    texts: Sequence[str]
    colours: Sequence[str]
    pale: npt.NDArray[np.bool_] = field(default_factory=lambda: np.zeros(0, dtype=bool))
    rings: npt.NDArray[np.float64] | None = None

    def is_pale(self, row: int) -> bool:
        """Whether a bar is drawn as an outline."""
        return bool(self.pale[row]) if self.pale.size else False


def body_in(count: int, width_in: float, narrow_below_in: float) -> float:
    """Height that so many rows take, head included [in]."""
    if width_in < narrow_below_in:
        return TALL_HEAD_IN + FOOT_IN + count * TALL_ROW_IN
    return HEAD_IN + FOOT_IN + count * ROW_IN


def rows(sheet: Sheet, names: Sequence[str], columns: Sequence[Column], apart: int | None = None) -> list[Axes]:
    """Draw rows of bars from the top down.

    Parameters
    ----------
    sheet : Sheet
        Made with `body_in` of room.
    names : sequence of str
        Of the rows; at the left, or above the bars on a phone.
    columns : sequence of Column
        From the left.
    apart : int or None
        A thin line is drawn above this row.

    Returns
    -------
    list of Axes
        One a column.
    """
    narrow, count = sheet.narrow, len(names)
    height = count * (TALL_ROW_IN if narrow else ROW_IN)
    width_in = float(sheet.get_figwidth())
    longest = max(min(len(name), 44) for name in names)
    left = 0.1 if narrow else min(NAMES_IN, 0.25 + 0.064 * longest)
    each = (width_in - left - 0.1) / len(columns)
    axes = []
    for number, column in enumerate(columns):
        start = left + each * number
        ax = panel(sheet, start, FOOT_IN, width_in - start - each + 0.08, height)
        _bars(ax, column, each - 0.08, narrow)
        over(ax, "\n".join(textwrap.wrap(unbroken(column.name), int(each / 0.063))), lift=5.0, shift=2.0)
        if apart is not None:
            ax.axhline(apart - (0.57 if narrow else 0.5), color="#c9d0ce", linewidth=0.7)
        axes.append(ax)
    _names(axes[0], names, left, narrow)
    return axes


def _names(ax: Axes, names: Sequence[str], left: float, narrow: bool) -> None:
    for place, name in enumerate(names):  # counted from the top
        most = 54 if narrow else int((left - 0.15) / 0.062)
        lines = textwrap.wrap(unbroken(name), most) or [""]
        shown = lines[:2]
        if len(lines) > len(shown):
            shown[-1] = shown[-1][: most - 1] + "…"
        lift = (0.26 if len(shown) == 1 else 0.25) if narrow else 0.0
        ax.annotate(
            "\n".join(shown), (0.0, place - lift), (2 if narrow else -6, 0),
            xycoords=("axes fraction", "data"), textcoords="offset points", ha="left" if narrow else "right",
            va="center", fontsize=8, color=INK, annotation_clip=False, linespacing=1.05,
        )  # fmt: skip


def _bars(ax: Axes, column: Column, width_in: float, narrow: bool) -> None:
    """Horizontal bars, each with its value at its end."""
    values = np.asarray(column.values, dtype=float)
    places = np.arange(len(values)) + (0.17 if narrow else 0.0)
    for row, (place, value) in enumerate(zip(places.tolist(), values.tolist(), strict=True)):
        pale = column.is_pale(row)
        ax.barh(
            place, value, height=0.36 if narrow else 0.6, color="white" if pale else column.colours[row],
            edgecolor=column.colours[row], linewidth=1.0 if pale else 0.0,
        )  # fmt: skip
    ax.set_ylim(len(values) - 0.5, -0.5)
    ax.grid(False)
    ax.set_xticks([])
    ax.set_yticks([])
    for spine in ("left", "bottom"):
        ax.spines[spine].set_visible(False)
    ends = _ends(column, values)
    low, high = min(0.0, float(ends.min())), max(0.0, float(ends.max()))
    per_in = _scale(ax, column, values, ends=ends, span=(low, high), width_in=width_in)
    for row, (place, value) in enumerate(zip(places.tolist(), values.tolist(), strict=True)):
        side = -1 if value < 0.0 else 1
        ax.text(
            ends[row] + side * 0.06 * per_in, place, column.texts[row], va="center", ha="right" if side < 0 else "left",
            fontsize=8.5, color=INK,
        )  # fmt: skip
    half = 0.18 if narrow else 0.5  # on a phone the names stand between the bars
    ax.vlines(np.zeros(len(values)), places - half, places + half, color=QUIET, linewidth=0.8)
    if column.rings is not None:
        ax.plot(
            column.rings, places, "o", color=INK, markersize=5, fillstyle="none", markeredgewidth=1.1, clip_on=False
        )


def _ends(column: Column, values: npt.NDArray[np.float64]) -> npt.NDArray[np.float64]:
    """Where the value of each row is written: at the end of its bar, or of its ring where that lies farther out."""
    if column.rings is None:
        return values
    ends: npt.NDArray[np.float64] = np.fmax(values, np.nan_to_num(column.rings, nan=0.0))
    return ends


def _scale(
    ax: Axes, column: Column, values: npt.NDArray[np.float64], ends: Any, span: tuple[float, float], width_in: float
) -> float:
    """Set limits that leave room for the words at both ends; data units an inch."""
    low, high = span
    room = [LETTER_IN * len(text) + 0.16 for text in column.texts]
    before = max((r for r, v in zip(room, values, strict=True) if v < 0.0), default=0.02)
    after = max((r for r, v in zip(room, values, strict=True) if v >= 0.0), default=0.02)
    per_in = ((high - low) or 1.0) / max(width_in - after - before, 0.4)
    ax.set_xlim(low - before * per_in, high + after * per_in)
    return per_in


def rows_in(ax: Axes, column: Column, names: Sequence[str], width_in: float) -> None:
    """A few rows of bars in a panel that is there already, with short names at the left.

    Parameters
    ----------
    ax : Axes
        Empty.
    column : Column
        The bars.
    names : sequence of str
        Of the rows.
    width_in : float
        Of the panel [in].
    """
    _bars(ax, column, width_in, narrow=False)
    ax.set_yticks(range(len(names)), list(names))
    ax.tick_params(axis="y", length=0)
