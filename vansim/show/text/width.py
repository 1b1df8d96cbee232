"""How wide a screen is: that of the terminal, or what ``COLUMNS`` says, and never more than 80 columns."""

from __future__ import annotations

import os
import sys

WIDEST, NARROWEST = 80, 40
"""Columns beyond which lines are hard to read, and below which figures no longer fit."""


def told_columns() -> int | None:
    """Columns of whoever looks on: from ``COLUMNS``, else from the terminal; None for a pipe or a file."""
    said = os.environ.get("COLUMNS", "")
    if said.isdecimal() and int(said) > 0:
        return int(said)
    try:
        return os.get_terminal_size(sys.stdout.fileno()).columns if sys.stdout.isatty() else None
    except (OSError, ValueError):
        return None


def columns() -> int:
    """Columns that every line is to fit into: 80, or fewer on a narrower screen."""
    return max(NARROWEST, min(WIDEST, told_columns() or WIDEST))
