"""What a report says of energy, recharging and a stop of the cooling, as named values."""

from __future__ import annotations

import datetime
from collections.abc import Mapping
from dataclasses import dataclass


@dataclass(frozen=True)
class CauseFound:
    """A cause of the night's electricity."""

    cause: str
    electric_wh: float
    share: float
    saved_wh: float


@dataclass(frozen=True)
class EnergyFound:
    """Where the electricity of the account went."""

    causes: tuple[CauseFound, ...]
    meter_wh: float


@dataclass(frozen=True)
class RechargeFound:
    """How soon the bank is full again after the night that is shown.

    Attributes
    ----------
    goal_soc : float
        What counts as full.
    hours : mapping of str to float or None
        By way; None where 48 h do not do it.
    outcome : mapping of str to str
        By way; see `vansim.studies.recharge.Recharge`.
    """

    goal_soc: float
    hours: Mapping[str, float | None]
    outcome: Mapping[str, str]


@dataclass(frozen=True)
class LineFound:
    """A published threshold [°C], and who says so."""

    line: str
    value_c: float
    source: str


@dataclass(frozen=True)
class CourseFound:
    """The cabin from a stop on, with or without window covers.

    Attributes
    ----------
    start_c, hour_later_c : float
        Cabin at the stop and an hour later [°C].
    passed_min : tuple of float
        When each threshold is passed [min]; infinite where 12 h do not reach it.
    """

    covers: bool
    start_c: float
    hour_later_c: float
    passed_min: tuple[float, ...]


@dataclass(frozen=True)
class OutageFound:
    """The cabin after the cooling has stopped; see `vansim.studies.outage`.

    Attributes
    ----------
    when, stop : str
        Which case, and why the cooling stopped.
    at : datetime
        When.
    people, dogs : int
        Aboard then.
    courses : tuple of CourseFound
        Without covers and with, or as the plan has them.
    """

    when: str
    stop: str
    at: datetime.datetime
    people: int
    dogs: int
    courses: tuple[CourseFound, ...]


@dataclass(frozen=True)
class BiasFound:
    """Model less measurement of a measured car [K]: least and most in half an hour, after an hour; and its spread."""

    half_hour_k: tuple[float, float]
    hour_k: float
    spread_k: tuple[float, float]
