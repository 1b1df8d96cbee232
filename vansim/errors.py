"""The exception tree.

    VansimError
    ├── ScenarioError     a scenario or a part file says something that cannot be
    ├── WeatherError      a typical-year file that cannot be trusted, or cannot be had
    └── PhysicsError      numbers that are each allowed but together impossible (a coil, a compressor)

Every one of them is about input and carries *all* the faults found, so that a person mends a file once. A bank that
runs empty is not an error: it is a result. Beside the tree stands what can only be a mistake in the program:

    MarchError            the march goes in a circle
"""

from __future__ import annotations

import re
from collections.abc import Iterable

ENDLESS_WORD = re.compile(r"(\S{60})\S{240,}")
"""What was written is quoted in a fault; a word of thousands of letters is not a word that anybody reads."""


class VansimError(Exception):
    """Base of everything that vansim raises on purpose.

    Parameters
    ----------
    faults : str or iterable of str
        One sentence a fault: where, what was written, what is allowed.
    """

    def __init__(self, faults: str | Iterable[str]) -> None:
        told = (faults,) if isinstance(faults, str) else faults
        self.faults: tuple[str, ...] = tuple(ENDLESS_WORD.sub(r"\1...", fault) for fault in told)
        super().__init__("\n".join(self.faults))


class ScenarioError(VansimError):
    """A scenario, a part or a plan that cannot be used as written."""


class WeatherError(VansimError):
    """A weather file that is missing, damaged, mislabelled, or cannot be downloaded."""


class PhysicsError(VansimError, ValueError):
    """Values that are each in range but contradict one another."""


class MarchError(RuntimeError):
    """The march, `@compiled`, took more steps than physics allows: an internal error, whatever the input."""
