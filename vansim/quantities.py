"""`Part`: the frozen, checked, unit-suffixed record that every part of a van is described by.

A key ends in its unit (`setpoint_c = 24`) or is written without it and then needs a unit (`setpoint = "75 degF"`).
Values are checked where they are built; a wrong key, a number of the wrong kind, nan and infinity are refused.
"""

from __future__ import annotations

from typing import Annotated, Any, NamedTuple, TypeVar

import numpy as np
import numpy.typing as npt
from pydantic import BaseModel, ConfigDict, Field, ValidationInfo, field_validator, model_validator

from vansim.phrases.outside import clean
from vansim.units import SUFFIXES, parse_quantity, stem_of, suffix_of

Array = npt.NDArray[np.float64]
Numbers = TypeVar("Numbers", float, Array)
"""One number, or one for each moment: a function of them gives what it is given."""


class Range(NamedTuple):
    """What a quantity of a unit can be in any van, and why not more."""

    low: float
    high: float
    why: str


RANGES = {
    "c": Range(-90.0, 300.0, "no air, wall or machine described here is colder or hotter"),
    "k": Range(-100.0, 100.0, "no two temperatures in a van lie further apart"),
    "w": Range(-1e5, 1e5, "no wiring of a van carries more"),
    "wh": Range(0.0, 1e6, "no van carries more"),
    "kwh": Range(0.0, 1e3, "no van carries more"),
    "kj_k": Range(0.0, 1e5, "a van of 20 t of steel holds less"),
    "kg": Range(0.0, 2e4, "no van weighs more"),
    "s": Range(0.0, 1e6, "no process described here takes longer"),
    "h": Range(0.0, 1e6, "no process described here takes longer"),
    "min": Range(0.0, 1e5, "no process described here takes longer"),
    "m": Range(0.0, 30.0, "no van is longer"),
    "mm": Range(0.0, 3000.0, "no van is higher"),
    "m2": Range(0.0, 300.0, "no van has a larger surface"),
    "m3": Range(0.0, 200.0, "no van holds more"),
    "m3_h": Range(0.0, 2e4, "no fan of a van moves more"),
    "v": Range(0.0, 1000.0, "no bank or inlet of a van has more"),
    "a": Range(0.0, 5000.0, "no cable of a van carries more"),
    "ah": Range(0.0, 1e4, "no battery of a van holds more"),
    "pa": Range(-1e4, 1.5e7, "no air and no refrigerant described here has more"),
    "w_m2": Range(0.0, 2000.0, "the sun gives less"),
    "w_m2k": Range(0.0, 1000.0, "no surface in air loses more"),
    "w_k": Range(0.0, 1e4, "no coil or wall of a van passes more"),
    "w_mk": Range(0.0, 500.0, "silver conducts less"),
    "km": Range(0.0, 5000.0, "no day's drive is longer"),
    "kmh": Range(0.0, 250.0, "no van is faster"),
    "m_s": Range(0.0, 100.0, "no wind that a van stands in is stronger"),
    "per_h": Range(0.0, 1000.0, "no cabin's air changes faster"),
    "mohm": Range(0.0, 1e4, "no joint that carries a cooler has more"),
}
"""By unit; a quantity beyond these is a slip of the pen, or of the unit, and not a van."""

WORDS_OF_PEOPLE = frozenset({"title", "name", "note", "label"})
"""Keys whose text is shown as it is written, but for what no screen or paper can show."""


class Part(BaseModel):
    """Base of every described thing: immutable, complete, checked, and tolerant of written units."""

    model_config = ConfigDict(frozen=True, extra="forbid", strict=True, allow_inf_nan=False, validate_default=True)

    @model_validator(mode="before")
    @classmethod
    def _read_units(cls, raw: Any) -> Any:
        if not isinstance(raw, dict):
            return raw
        read = dict(raw)
        for name in WORDS_OF_PEOPLE & read.keys():
            if isinstance(read[name], str):
                read[name] = clean(read[name])
        for name in cls.model_fields:
            suffix = suffix_of(name)
            if suffix is None:
                continue
            stem = stem_of(name)
            for key in (name, stem):
                if isinstance(read.get(key), str):
                    read[key] = parse_quantity(read[key], suffix)
                    if key == stem and stem not in cls.model_fields:
                        if name in read:
                            raise ValueError(f"both {stem!r} and {name!r} are given; write one of them")
                        read[name] = read.pop(stem)
        return read

    @field_validator("*")
    @classmethod
    def _in_range(cls, value: Any, info: ValidationInfo) -> Any:
        """Refuse what no van has; keys have narrower ranges of their own where they need them."""
        if isinstance(value, int | float) and not isinstance(value, bool) and info.field_name:
            suffix = suffix_of(info.field_name)
            if suffix in RANGES and not RANGES[suffix].low <= value <= RANGES[suffix].high:
                low, high, why = RANGES[suffix]
                symbol = SUFFIXES[suffix].symbol
                raise ValueError(f"out of range (you wrote {value:g}); allowed: {low:g} to {high:g} {symbol}; {why}")
        return value


Positive = Annotated[float, Field(gt=0)]
NotNegative = Annotated[float, Field(ge=0)]
Fraction = Annotated[float, Field(ge=0, le=1)]
ClockTime = Annotated[str, Field(pattern=r"^([01]\d|2[0-3]):[0-5]\d$|^24:00$")]
