"""What the program wants to say besides its numbers: a code with values, put into words by whoever shows it."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field

Value = float | int | str | bool
"""What a note may carry: numbers in SI, names, dates as text."""


@dataclass(frozen=True)
class Note:
    """Something to be said, without its words.

    Parameters
    ----------
    code : str
        What is said, in lower case with hyphens.
    values : mapping of str to float, int, str or bool
        What it is said of; numbers in SI with the unit in the name, not to be changed.
    """

    code: str
    values: Mapping[str, Value] = field(default_factory=dict)

    def __hash__(self) -> int:
        return hash((self.code, *sorted(self.values)))
