"""Words that come from outside, such as a title or a name: made fit to be set, and never longer than there is room."""

from __future__ import annotations

import re
import unicodedata

UNSHOWN = frozenset({"Cc", "Cf", "Cs", "Co", "Cn"})
"""Categories of letters that neither paper nor a screen can show; some of them turn the direction of writing."""
HEAD_LETTERS = 120
"""So much of a name has room at the head of a page or a picture."""


def clean(text: str) -> str:
    """Text without control characters and marks of direction; blanks in a row are one, line breaks stay."""
    if not text.replace("\u00a0", " ").replace("\n", " ").isprintable():
        text = re.sub(r"[\t\v\f\r]", " ", text)
        text = "".join(c for c in text if c == "\n" or unicodedata.category(c) not in UNSHOWN)
    return re.sub(r"[^\S\n\u00a0]+", " ", text).strip()


def shortened(text: str, most: int = HEAD_LETTERS) -> str:
    """Text on one line, with an end that says so where it is cut off."""
    line = " ".join(text.split())
    return line if len(line) <= most else f"{line[: most - 1].rstrip()}…"
