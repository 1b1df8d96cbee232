"""What every picture shares: its paper, its colours, its heading, and how it is written to a file.

A quantity has one colour, here and nowhere else. The colours differ in lightness too, so that a grey print and a
colour-blind reader keep them apart; lines that cross also differ in stroke.
"""

from __future__ import annotations

import io
import re
import textwrap
from contextlib import AbstractContextManager
from functools import cache
from pathlib import Path
from typing import Any

import matplotlib
import numpy as np
import numpy.typing as npt
from matplotlib.axes import Axes
from matplotlib.figure import Figure

from vansim.phrases import unbroken
from vansim.phrases.outside import clean, shortened
from vansim.units import convert

WIDE_IN = 7.2
NARROW_IN = 3.8
"""Width of a picture on a page, and on a phone [in]."""

NARROW_BELOW_IN = 5.0
LONGEST = 600
"""Letters of a heading, or of the line below it; a title of somebody's own may be longer."""

INK = "#22302f"
QUIET = "#5d6a68"
NIGHT, EVENING = "#e6ebf1", "#f6f4ee"
"""Ground of the night, bedtime to waking, and of the evening before it."""

COLOURS = {
    "outdoor": "#b5651d",
    "cabin": "#0b5d66",
    "heat_index": "#8a4b6e",
    "limit": "#8c1c13",
    "soc": "#3b3f8f",
    "reserve": "#8c1c13",
    "cooler": "#2a78a8",
    "loads": "#9aa5a3",
    "solar": "#d8a31a",
    "alternator": "#6c7a2b",
    "shore": "#7a4f86",
    "idling": "#6c7a2b",
    "road": "#3b4a17",
    "faces": "#c98a52",
    "glass": "#e0b354",
    "air": "#7fb3bd",
    "people": "#b0708f",
    "losses": "#6d6f9c",
    "eco": "#5aa3b8",
    "boost": "#0e3f5c",
    "covered": "#3f8f86",
    "not_covered": "#8c1c13",
}
"""Colour of each quantity."""

INKS = {"loads": "#5f6b69", "solar": "#8a6508", "covered": "#2f7f78", "eco": "#2f7f95", "people": "#8d4c6b"}
"""Darker shades of light colours, for words."""


def ink(quantity: str) -> str:
    """Colour for words about a quantity: its own, or a shade that can be read on white."""
    return INKS.get(quantity, COLOURS[quantity])


@cache
def _style() -> dict[str, Any]:
    path = Path(__file__).with_name("calm.mplstyle")
    params: Any = matplotlib.rc_params_from_file(path, use_default_template=False)
    return dict(params)


def calm() -> AbstractContextManager[None]:
    """Drawing inside this context has our style, whatever the user's own settings are."""
    defaults: Any = matplotlib.rcParamsDefault
    ours = {name: value for name, value in defaults.items() if not name.startswith(("backend", "webagg", "toolbar"))}
    style: Any = ours | _style()
    return matplotlib.rc_context(style)


class Sheet(Figure):
    """A figure that carries its style with it, and is written the same way every time.

    Parameters
    ----------
    width_in, height_in : float
        Size [in].

    Attributes
    ----------
    finding : str
        The heading: what the picture shows, with its number.
    words : str
        The same for somebody who cannot see it.
    """

    def __init__(self, width_in: float, height_in: float) -> None:
        super().__init__(figsize=(width_in, height_in))
        self.finding = ""
        self.words = ""

    @property
    def narrow(self) -> bool:
        """Whether it is meant for a phone."""
        return bool(self.get_figwidth() < NARROW_BELOW_IN)

    def draw(self, renderer: Any) -> None:
        """Draw in our style: ticks are made when a figure is drawn, not when it is built."""
        with calm():
            super().draw(renderer)

    def savefig(self, fname: Any, **kwargs: Any) -> None:
        """Write without date, so that the same picture gives the same bytes."""
        kind = kwargs.get("format") or Path(str(fname)).suffix.lstrip(".").lower()
        undated = {"svg": {"Date": None, "Creator": "vansim"}, "pdf": {"CreationDate": None}}
        if kind in undated:
            kwargs.setdefault("metadata", undated[kind])
        with calm():
            super().savefig(fname, **kwargs)


def begin(width_in: float, body_in: float, finding: str, under: str = "", words: str = "") -> Sheet:
    """A sheet with its heading on it, and so much room below.

    Parameters
    ----------
    width_in, body_in : float
        Width, and height below the heading [in].
    finding : str
        The heading: what the picture shows, with its number. Wrapped to the width.
    under : str
        A quieter line below it: where, when, of what.
    words : str
        Alternative text; left out, the finding and the line below.

    Returns
    -------
    Sheet
        Place panels with `panel`.
    """
    finding, under, words = (shortened(clean(text), LONGEST) for text in (finding, under, words))
    size = 10.5 if width_in < NARROW_BELOW_IN else 12.0
    lines = balanced(finding, int(width_in * 72 / (size * 0.635)), 0.6)
    below = balanced(under, int(width_in * 72 / 4.75), 0.25)
    under_in = 0.08 + size * 1.28 / 72 * len(lines) + 0.04
    head_in = under_in + 8.5 * 1.3 / 72 * len(below) + 0.06
    height_in = head_in + body_in
    sheet = Sheet(width_in, height_in)
    left = 0.08 / width_in
    sheet.text(left, 1 - 0.08 / height_in, "\n".join(lines), fontsize=size, weight="bold", va="top", linespacing=1.22)
    sheet.text(left, 1 - under_in / height_in, "\n".join(below), fontsize=8.5, color=QUIET, va="top", linespacing=1.25)
    sheet.finding = finding
    sheet.words = words or " ".join(part for part in (finding + ".", under) if part)
    return sheet


def balanced(text: str, most: int, least: float) -> list[str]:
    """Lines of at most so many letters, the last no shorter than a share of that where narrower lines allow it."""
    lines = textwrap.wrap(unbroken(text), most)
    for width in range(most - 1, most // 2, -1):
        if len(lines) < 2 or len(lines[-1]) >= least * most:
            break
        narrower = textwrap.wrap(unbroken(text), width)
        if len(narrower) > len(lines):
            break
        lines = narrower
    return lines


def panel(sheet: Sheet, left: float, bottom: float, right: float, height: float) -> Axes:
    """Axes on a sheet, by margins and height in inches; `bottom` counts from the sheet's lower edge."""
    width_in, height_in = sheet.get_size_inches()
    box = (left / width_in, bottom / height_in, 1 - (left + right) / width_in, height / height_in)
    return sheet.add_axes(box)


def shown(values: Any, name: str, system: str) -> npt.NDArray[Any]:
    """Values in the units shown; see `vansim.units.convert`."""
    array: Any = np.asarray(values, dtype=float)
    return np.array(convert(array, name, system))


def svg(figure: Figure) -> str:
    """Figure as an SVG file.

    Parameters
    ----------
    figure : Figure
        Any of ours.

    Returns
    -------
    str
        The whole file; the same figure gives the same text.
    """
    buffer = io.StringIO()
    figure.savefig(buffer, format="svg")
    return buffer.getvalue()


def inline_svg(figure: Figure, prefix: str, glyphs: dict[str, str] | None = None, drawn: str | None = None) -> str:
    """Figure as SVG, fit to stand in a page among others.

    Parameters
    ----------
    figure : Figure
        Any of ours.
    prefix : str
        Set before every id, so that several pictures in one page do not share any.
    glyphs : dict or None
        Takes the shapes of letters, id to element, so that a page holds each only once; left out, they stay inside.
    drawn : str or None
        What `svg` made of the figure, where that is known already.

    Returns
    -------
    str
        From ``<svg`` on, hidden from readers that are given its words instead, and without a size: the page sets it.
    """
    text = svg(figure) if drawn is None else drawn
    text = re.sub(r"<metadata>.*?</metadata>", "", text[text.index("<svg") :], flags=re.DOTALL)
    text = re.sub(r'(?<= d=")[^"]+', lambda path: _SURPLUS.sub(r"\1", path.group()), text)
    if glyphs is not None:
        text = _without_glyphs(text, glyphs)
    # a bare "#" also begins a colour: only what refers to an id is touched
    text = re.sub(r'\bid="', f'id="{prefix}-', text)
    text = text.replace("url(#", f"url(#{prefix}-").replace('xlink:href="#', f'xlink:href="#{prefix}-')
    opening, rest = text.split(">", 1)
    opening = re.sub(r'\s(?:width|height|version)="[^"]*"', "", opening)
    return f'{opening} aria-hidden="true" focusable="false">{rest.strip()}'


def _without_glyphs(text: str, glyphs: dict[str, str]) -> str:
    """Move the shapes of letters out, under short ids; what refers to them does so without a prefix."""

    def taken(found: re.Match[str]) -> str:
        name = _short(found.group(1))
        glyphs.setdefault(name, f'<path id="{name}"{found.group(2)}/>')
        return ""

    text = _GLYPH.sub(taken, text)
    return _USED.sub(lambda found: f'href="#{_short(found.group(1))}"', text)


def _short(glyph: str) -> str:
    """``DejaVuSans-Bold-3`` as ``gB3``."""
    return "g" + glyph.removeprefix("DejaVuSans-").replace("Bold-", "B").replace("-", "")


_GLYPH = re.compile(r'<path id="(DejaVuSans-[\w-]+)"([^>]*)/>\s*')
_USED = re.compile(r'xlink:href="#(DejaVuSans-[\w-]+)"')
_SURPLUS = re.compile(r"(\.\d\d)\d+")
"""Decimals of a coordinate beyond a hundredth of a point."""


def png(figure: Figure, dpi: int = 150) -> bytes:
    """Figure as PNG, with its heading and its alternative text among the file's texts.

    Parameters
    ----------
    figure : Figure
        Any of ours.
    dpi : int
        Dots per inch.

    Returns
    -------
    bytes
        The file.
    """
    buffer = io.BytesIO()
    told = {"Title": getattr(figure, "finding", ""), "Description": getattr(figure, "words", ""), "Software": None}
    figure.savefig(buffer, format="png", dpi=dpi, metadata=told)
    return buffer.getvalue()
