"""Labels beside what they name: found a place where no line, point or other word is.

Labels are set after everything else of a panel, when its limits are final.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from itertools import product
from typing import Any

import numpy as np
import numpy.typing as npt
from matplotlib.axes import Axes
from matplotlib.backends.backend_agg import FigureCanvasAgg
from matplotlib.collections import LineCollection, PathCollection, PolyCollection
from matplotlib.lines import Line2D
from matplotlib.patches import StepPatch
from matplotlib.path import Path
from matplotlib.text import Text
from matplotlib.transforms import Bbox

from vansim.phrases import unbroken
from vansim.show.plots.figure import INK, QUIET, Sheet

NEAR_PT = (4.0, 8.0, 13.0, 19.0, 26.0, 36.0, 48.0, 62.0, 80.0)
"""Distances at which a place is looked for, the nearest first [pt]."""
SIDES = {
    "above": (0.0, 1.0, "center", "bottom"),
    "below": (0.0, -1.0, "center", "top"),
    "right": (1.0, 0.0, "left", "center"),
    "left": (-1.0, 0.0, "right", "center"),
    "above right": (0.7, 0.7, "left", "bottom"),
    "above left": (-0.7, 0.7, "right", "bottom"),
    "below right": (0.7, -0.7, "left", "top"),
    "below left": (-0.7, -0.7, "right", "top"),
}
"""Side of a spot to the direction of the offset and the alignment of the words."""
GROUND = {"facecolor": "white", "edgecolor": "none", "alpha": 0.8, "pad": 1.0}
"""Light ground of a label, so that the grid does not run through it."""
KEY_IN = 0.19
"""Height of a line of a key [in]."""
Spot = tuple[float, float]


def over(ax: Axes, text: str, lift: float = 6.0, shift: float = -36.0) -> None:
    """A panel's name above it, where an axis label would be turned on its side."""
    ax.annotate(
        text, (0, 1), xytext=(shift, lift), xycoords="axes fraction", textcoords="offset points", fontsize=8.5,
        color=QUIET, va="bottom", annotation_clip=False,
    )  # fmt: skip


def is_narrow(ax: Axes) -> bool:
    """Whether a panel stands on a picture meant for a phone."""
    figure = ax.get_figure()
    return isinstance(figure, Sheet) and figure.narrow


def place(
    ax: Axes,
    text: str,
    spots: Sequence[Spot],
    colour: str = INK,
    sides: Iterable[str] = tuple(SIDES),
    fontsize: float = 8.5,
    distances: Sequence[float] = NEAR_PT,
) -> Text:
    """A label beside a spot, at the nearest place that is free.

    Parameters
    ----------
    ax : Axes
        With its final limits and everything that is drawn on it.
    text : str
        The label.
    spots : sequence of (float, float)
        What is named, in data coordinates; several where any of them will do.
    colour : str
        Of the words.
    sides : iterable of str
        Some of `SIDES`, the best first.
    fontsize : float
        [pt].
    distances : sequence of float
        At which a place is looked for, the nearest first [pt].

    Returns
    -------
    Text
        On a light ground. Where nothing is free, the place with the fewest clashes is taken.
    """
    figure: Any = ax.figure
    canvas: Any = FigureCanvasAgg(figure)
    renderer = canvas.get_renderer()
    there = (*drawn(ax), [t.get_window_extent(renderer) for t in ax.texts if t.get_text().strip()])
    inside = Bbox(ax.get_window_extent(renderer).get_points())
    label = ax.annotate(
        text, spots[0], xytext=(0, 0), textcoords="offset points", fontsize=fontsize, color=colour, bbox=GROUND,
        zorder=6, annotation_clip=False,
    )  # fmt: skip
    best: tuple[Any, ...] = ()
    fewest = np.inf
    sizes = {words: _size(label, words, renderer) for words in _broken(text)}
    for tried in product(distances, sizes, spots, tuple(sides)):
        box = _box(ax, sizes[tried[1]], *tried).padded(1.5)
        clashes = _clashes(box, *there) + 3 * (not _within(box, inside))
        if clashes < fewest:
            fewest, best = clashes, tried
        if clashes == 0:
            break
    placed: Text = _moved(label, *best)
    return placed


def _broken(text: str) -> list[str]:
    """A label in one line, and in two of like length."""
    text = unbroken(text).replace("< ", "<\u00a0")
    gaps = [i for i, letter in enumerate(text) if letter == " "]
    if "\n" in text or not gaps or len(text) < 8:
        return [text]
    middle = min(gaps, key=lambda i: abs(i - len(text) / 2))
    return [text, f"{text[:middle]}\n{text[middle + 1 :]}"]


def _size(label: Any, text: str, renderer: Any) -> Spot:
    """Width and height of some words [px]."""
    label.set_text(text)
    extent = label.get_window_extent(renderer)
    return float(extent.width), float(extent.height)


def _box(ax: Axes, size: Spot, distance: float, text: str, spot: Spot, side: str) -> Bbox:
    """Where words of a size would stand [px]: setting them for every place that is tried takes far longer."""
    across, up, ha, va = SIDES[side]
    x, y = ax.transData.transform(spot) + np.array([across, up]) * distance * ax.figure.dpi / 72.0
    left = x - size[0] * {"left": 0.0, "center": 0.5, "right": 1.0}[ha]
    low = y - size[1] * {"bottom": 0.0, "center": 0.5, "top": 1.0}[va]
    return Bbox.from_bounds(left, low, *size)


def _moved(label: Any, distance: float, text: str, spot: Spot, side: str) -> Any:
    across, up, ha, va = SIDES[side]
    label.xy = spot
    label.set_position((across * distance, up * distance))
    label.set(ha=ha, va=va, text=text)
    return label


def _within(box: Bbox, outer: Bbox) -> bool:
    return bool(
        box.x0 >= outer.x0 - 1.0 and box.x1 <= outer.x1 + 1.0 and box.y0 >= outer.y0 - 1.0 and box.y1 <= outer.y1 + 1.0
    )


def drawn(ax: Axes) -> tuple[list[Path], list[Path], npt.NDArray[np.float64]]:
    """What a label must not lie on.

    Parameters
    ----------
    ax : Axes
        Drawn.

    Returns
    -------
    lines, areas : list of Path
        Curves and reference lines, and filled steps, in pixels.
    points : (n, 3) array
        Markers: place and radius, in pixels.
    """
    lines: list[Path] = []
    areas: list[Path] = []
    points: list[Any] = [np.empty((0, 3))]
    per_pt = ax.figure.dpi / 72.0
    for line in ax.lines:
        path = line.get_transform().transform_path(line.get_path())
        if line.get_linestyle() not in ("None", "none", ""):
            lines.append(path)
        if line.get_marker() not in ("None", "none", "", None):
            points.append(_discs(path.vertices, 0.5 * line.get_markersize() * per_pt))
    for collection in ax.collections:
        if isinstance(collection, LineCollection):
            lines += [collection.get_transform().transform_path(path) for path in collection.get_paths()]
        elif isinstance(collection, PolyCollection):
            areas += [collection.get_transform().transform_path(path) for path in collection.get_paths()]
        elif isinstance(collection, PathCollection):
            spots = collection.get_offset_transform().transform(collection.get_offsets())
            points.append(_discs(spots, 0.5 * float(np.sqrt(collection.get_sizes().max())) * per_pt))
    steps = [patch for patch in ax.patches if isinstance(patch, StepPatch)]
    filled, hollow = (
        [s.get_transform().transform_path(s.get_path()) for s in steps if s.get_fill() is fill]
        for fill in (True, False)
    )
    return lines + hollow, areas + filled, np.concatenate(points)


def _discs(spots: Any, radius: float) -> Any:
    return np.column_stack([spots, np.full(len(spots), radius)])


def _clashes(box: Bbox, lines: list[Path], areas: list[Path], points: np.ndarray[Any, Any], words: list[Bbox]) -> int:
    hit = sum(bool(path.intersects_bbox(box, filled=False)) for path in lines)
    hit += sum(bool(path.intersects_bbox(box, filled=True)) for path in areas)
    x, y, r = points.T
    inside = (x > box.x0 - r) & (x < box.x1 + r) & (y > box.y0 - r) & (y < box.y1 + r)
    return hit + int(inside.sum()) + 2 * sum(bool(box.overlaps(other)) for other in words)


def along(ax: Axes, text: str, level: float, colour: str, span: tuple[float, float] | None = None) -> Text:
    """A label above or below a level line, wherever along it there is room.

    Parameters
    ----------
    ax : Axes
        With its final limits.
    text : str
        The label.
    level : float
        Of the line.
    colour : str
        Of the words.
    span : (float, float) or None
        From where to where the line runs; left out, across the panel.

    Returns
    -------
    Text
    """
    low, high = span or ax.get_xlim()
    xs = np.linspace(low, high, 25)
    spots = [(float(x), level) for pair in zip(xs[:13], xs[::-1][:13], strict=True) for x in pair]
    sides = ("above right", "above left", "below right", "below left")
    return place(ax, text, spots, colour=colour, sides=sides, fontsize=8.0, distances=NEAR_PT[:2])


def beside_ends(ax: Axes, labels: list[tuple[float, str, str]], gap: float = 0.11, lift: float = 6.0) -> None:
    """Names of lines where they end at the right, moved apart where they would touch; on a phone in the panel's head.

    Parameters
    ----------
    ax : Axes
        With its final limits.
    labels : list of (float, str, str)
        Height of the end in data coordinates, words, colour.
    gap : float
        Least distance of two labels, as a share of the panel's height.
    lift : float
        Height of the row in the panel's head above it [pt].
    """
    low, high = ax.get_ylim()
    if is_narrow(ax):
        in_a_row(ax, [(text, colour) for _, text, colour in labels], lift)
        return
    spots = sorted(((min(max(value, low), high) - low) / (high - low), text, colour) for value, text, colour in labels)
    ys: list[float] = []
    for spot, _, _ in spots:
        ys.append(max(spot, ys[-1] + gap) if ys else spot)
    surplus = max(0.0, ys[-1] - 1.0) if ys else 0.0
    for y, (_, text, colour) in zip(ys, spots, strict=True):
        ax.text(1.015, y - surplus, text, transform=ax.transAxes, color=colour, fontsize=8.5, va="center")


def key(sheet: Sheet, entries: list[tuple[str, str, Any]], left_in: float, top_in: float) -> None:
    """Lines named below a panel, each beside a piece of itself: where they run too close for words between them.

    Parameters
    ----------
    sheet : Sheet
        With `KEY_IN` of room for each line of words.
    entries : list of (str, str, line style)
        Words, colour and stroke, from the top down.
    left_in, top_in : float
        Where they begin [in].
    """
    inches = sheet.dpi_scale_trans
    bottom_in = top_in
    for text, colour, stroke in entries:
        height = KEY_IN * (1 + text.count("\n"))
        y, bottom_in = bottom_in - 0.5 * height, bottom_in - height
        piece = Line2D([left_in, left_in + 0.32], [y, y], color=colour, linestyle=stroke, linewidth=1.6)
        piece.set_transform(inches)
        sheet.add_artist(piece)
        sheet.text(left_in + 0.4, y, text, transform=inches, va="center", fontsize=8, color=colour)


def in_a_row(ax: Axes, labels: list[tuple[str, str]], lift: float = 6.0) -> None:
    """Words in a row above a panel, from the right."""
    before: Any = ax
    spot: tuple[float, float] = (1.0, 1.0)
    for text, colour in reversed(labels):
        before = ax.annotate(
            text.replace("\n", " "), spot, xycoords="axes fraction" if before is ax else before,
            xytext=(0, lift) if before is ax else (-8, 0), textcoords="offset points", ha="right",
            va="bottom" if before is ax else "center", color=colour, fontsize=8.5,
        )  # fmt: skip
        spot = (0.0, 0.5)
