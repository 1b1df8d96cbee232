"""Pictures for the validation notebook: model beside outside value, and the residuals below or beside."""

from __future__ import annotations

from typing import Any

import matplotlib.pyplot as plt
import numpy as np
import pandas as pd
from matplotlib.axes import Axes
from matplotlib.figure import Figure

INK, OURS, THEIRS, OFF, SOFT = "#22302f", "#b4552d", "#2f6f8f", "#8a2d3b", "#c9d3cf"


def style() -> None:
    """Calm pictures, small files."""
    plt.style.use("vansim.show.plots.calm")
    plt.rcParams.update({"figure.dpi": 80, "savefig.dpi": 80, "figure.constrained_layout.use": True, "font.size": 9})


def panes(title: str, residual: str, height: float = 3.6) -> tuple[Figure, Axes, Axes]:
    """A picture above, its residuals below."""
    figure, (above, below) = plt.subplots(
        2, 1, figsize=(8.2, height), sharex=True, gridspec_kw={"height_ratios": [3, 1]}
    )
    above.set_title(title)
    below.axhline(0.0, color=INK, lw=0.7)
    below.set_ylabel(residual)
    return figure, above, below


def series(x: Any, outside: Any, ours: Any, labels: dict[str, str], band: Any = None) -> Figure:
    """Two series over one axis with their difference below.

    `labels` holds title, x, y, outside and ours; `band` a half-width around the outside value.
    """
    x, outside, ours = (np.asarray(v, dtype=float) for v in (x, outside, ours))
    figure, above, below = panes(labels["title"], "ours less\noutside")
    if band is not None:
        above.fill_between(x, outside - band, outside + band, color=SOFT, lw=0, alpha=0.45)
        below.fill_between(x, -np.asarray(band), band, color=SOFT, lw=0, alpha=0.45)
    above.plot(x, outside, "o", ms=4, color=THEIRS, label=labels["outside"])
    above.plot(x, ours, color=OURS, label=labels["ours"])
    above.set_ylabel(labels["y"])
    above.legend(loc="best", fontsize=8)
    below.plot(x, ours - outside, "o-", ms=3, lw=1, color=OURS)
    below.set_xlabel(labels["x"])
    return figure


def parity(outside: Any, ours: Any, groups: Any, labels: dict[str, str]) -> Figure:
    """Ours over the outside value on the diagonal, and the relative difference below."""
    outside, ours = np.asarray(outside, dtype=float), np.asarray(ours, dtype=float)
    figure, above, below = panes(labels["title"], "ours/outside\nless 1")
    for name, marker in zip(pd.unique(pd.Series(groups)), "osD^v", strict=False):
        at = np.asarray(groups) == name
        above.plot(outside[at], ours[at], marker, ms=4, label=str(name))
        below.plot(outside[at], ours[at] / outside[at] - 1.0, marker, ms=3)
    ends = [min(outside.min(), ours.min()), max(outside.max(), ours.max())]
    above.plot(ends, ends, color=INK, lw=0.7)
    above.set_ylabel(labels["y"])
    above.legend(loc="upper left", fontsize=8)
    below.set_xlabel(labels["x"])
    return figure


def residuals(table: pd.DataFrame, title: str) -> Figure:
    """Every row of a subject that has a tolerance: its error in units of it; within the grey band it agrees."""
    part = table[table["tolerance"].notna()].iloc[::-1]
    scale = part["tolerance"].where(part["tolerance"] > 0.0, 1.0)
    error = (part["error"] / scale).clip(-2.0, 2.0)
    figure, axes = plt.subplots(figsize=(8.2, 0.72 + 0.17 * len(part)))
    axes.axvspan(-1.0, 1.0, color=SOFT, lw=0, alpha=0.6)
    axes.axvline(0.0, color=INK, lw=0.7)
    place = np.arange(len(part))
    colour = np.where(part["agrees"], OURS, OFF)
    axes.scatter(error, place, c=colour, s=np.where(part["binds"], 16, 16), marker="o",
                 facecolors=np.where(part["binds"], colour, "white"), edgecolors=colour)  # fmt: skip
    axes.set_yticks(place, [text[:72] for text in part["check"]], fontsize=7)
    axes.set_xlim(-2.1, 2.1)
    axes.set_xlabel("error over tolerance (hollow: from memory, cannot fail)")
    axes.set_title(title)
    axes.grid(axis="y", visible=False)
    return figure
