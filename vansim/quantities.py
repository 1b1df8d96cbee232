"""`Part`: the frozen, checked, unit-suffixed record that every part of a van is described by.

A key ends in its unit (`setpoint_c = 24`) or is written without it and then needs a unit (`setpoint = "75 degF"`).
Values are checked where they are built; a wrong key, a number of the wrong kind, nan and infinity are refused.
"""

from __future__ import annotations

from typing import Annotated, Any

from pydantic import BaseModel, ConfigDict, Field, model_validator

from vansim.phrases.outside import clean
from vansim.units import parse_quantity, stem_of, suffix_of

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


Positive = Annotated[float, Field(gt=0)]
NotNegative = Annotated[float, Field(ge=0)]
Fraction = Annotated[float, Field(ge=0, le=1)]
ClockTime = Annotated[str, Field(pattern=r"^([01]\d|2[0-3]):[0-5]\d$|^24:00$")]
