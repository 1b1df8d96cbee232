"""What was asked, and what became of a night and of a season, as named values."""

from __future__ import annotations

import datetime
from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any


@dataclass(frozen=True)
class Occasion:
    """What was asked: who sleeps where and when, and what counts.

    Attributes
    ----------
    title, place, weather_kind : str
        Of the scenario; of the weather file.
    label, bedtime, waking : str
        What a night is called, and its clock times.
    limit_c, setpoint_c : float
        Cabin limit and the thermostat's set point [°C].
    grace_min : float
        Time above the limit that is forgiven a night [min].
    target : float
        Share of nights asked for.
    currency : str
        Of prices, where any are known.
    season : str
        Which nights, as `NightRange` writes it.
    people, dogs : int
        Who is in the van.
    full_at_bedtime : bool
        Whether the evening was left out, as asked.
    account_kind, account_clocks : str, tuple of str
        Where most accounts of the season begin, as `NightTimes.begins`, and at which clock times.
    start_soc : float
        State of charge where an account begins.
    """

    title: str
    place: str
    weather_kind: str
    label: str
    bedtime: str
    waking: str
    limit_c: float
    setpoint_c: float
    grace_min: float
    target: float
    currency: str
    season: str
    people: int
    dogs: int
    full_at_bedtime: bool
    account_kind: str
    account_clocks: tuple[str, ...]
    start_soc: float


@dataclass(frozen=True)
class NightFound:
    """The night that is shown; the names are those of `Result.nights`.

    Attributes
    ----------
    date : date
        Day of its bedtime.
    bedtime_at, waking_at, empty_at : datetime or None
        Bedtime; waking; when the bank was at its reserve.
    nights, nights_covered : int
        Nights of the run, and those covered.
    """

    date: datetime.date
    bedtime_at: datetime.datetime
    waking_at: datetime.datetime
    empty_at: datetime.datetime | None
    nights: int
    nights_covered: int
    covered: bool
    why: str
    bedtime_soc: float
    waking_soc: float
    runtime_h: float
    outlasts: bool
    cabin_at_empty_c: float
    bedtime_cabin_c: float
    cabin_max_c: float
    over_limit_h: float
    outdoor_low_c: float
    outdoor_mean_c: float
    duty: float
    starts: int
    evening_wh: float
    cooler_wh: float
    loads_wh: float
    charged_wh: float


@dataclass(frozen=True)
class MonthFound:
    """Nights of a month, in the reading of the headline."""

    month: str
    nights: int
    covered: int
    runtime_p50_h: float
    runtime_p10_h: float


@dataclass(frozen=True)
class ChargingFound:
    """What more of one way of charging does; see `vansim.studies.missing_charging`."""

    way: str
    amount: float | None
    share: float


@dataclass(frozen=True)
class SeasonFound:
    """Every night of the season in both readings; see `vansim.studies.nights`.

    Attributes
    ----------
    nights, needed : int
        Nights, and how many the asked share is.
    independent, consecutive : int
        Covered in each reading.
    judged, reason : str
        Which reading the headline takes, and why.
    in_a_row_worst, in_a_row_median, in_a_row_most : float
        Nights in a row from the starting charge; not counted beyond the last.
    lacks : mapping of str to int
        Nights that are not covered, in the reading of the headline, by reason.
    missing : tuple of ChargingFound
        What more charging would do; empty where consecutive nights reach the target.
    planned : tuple of str
        Ways in which the plan charges.
    months : tuple of MonthFound
        In order.
    runtime_p50_h, runtime_p10_h : float
        Of the headline's reading [h].
    warmest_c, mildest_c, warmest_runtime_h : float
        Means outdoors of the warmest and mildest night [°C], and how long the cooling would run on the warmest [h].
    """

    nights: int
    needed: int
    independent: int
    consecutive: int
    judged: str
    reason: str
    in_a_row_worst: int
    in_a_row_median: float
    in_a_row_most: int
    lacks: Mapping[str, int]
    missing: tuple[ChargingFound, ...]
    planned: tuple[str, ...]
    months: tuple[MonthFound, ...]
    runtime_p50_h: float
    runtime_p10_h: float
    warmest_c: float
    mildest_c: float
    warmest_runtime_h: float
    warmest_outlasts: bool


@dataclass(frozen=True)
class ChangeFound:
    """A change to the van or its plan, or two together; the names are those of `vansim.studies.upgrades`."""

    codes: tuple[str, ...]
    values: tuple[Mapping[str, Any], ...]
    covered: int
    gained_nights: int
    gained_kwh: float
    energy_saved_wh: float
    same_by_batteries: float
    added_mass_kg: float
    added_price: float | None
    loses_nights: bool


@dataclass(frozen=True)
class HelpFound:
    """What would help.

    Attributes
    ----------
    changes : tuple of ChangeFound
        Single ones, the best first.
    best_place : int or None
        Which of them gains most without losing a night; None where nothing gains.
    pair : ChangeFound or None
        The best two together.
    design_date : date
        Of the night on which the charge left is read.
    most_batteries : int
        Batteries more that a change was compared with at the most.
    left_out : tuple of (str, mapping, str)
        Changes that were not tried: code, values, and why.
    """

    changes: tuple[ChangeFound, ...]
    best_place: int | None
    pair: ChangeFound | None
    design_date: datetime.date
    most_batteries: int
    left_out: tuple[tuple[str, Mapping[str, Any], str], ...]

    @property
    def best(self) -> ChangeFound | None:
        """The change that gains most."""
        return None if self.best_place is None else self.changes[self.best_place]


@dataclass(frozen=True)
class SizeFound:
    """A size of the bank that was tried."""

    units: int
    usable_kwh: float
    covered_share: float


@dataclass(frozen=True)
class BankFound:
    """What bank covers the asked share of nights.

    Attributes
    ----------
    sizes : tuple of SizeFound
        The curve.
    least_place : int or None
        Which of them is the smallest that does it.
    mass_kg, price : float or None
        Of that; None where it is not known.
    why : str
        Code of why none does it.
    best_share, most_parallel, nights_too_warm : float, int, int
        Of the largest that was tried.
    """

    sizes: tuple[SizeFound, ...]
    least_place: int | None
    mass_kg: float | None
    price: float | None
    why: str
    best_share: float
    most_parallel: int
    nights_too_warm: int

    @property
    def least(self) -> SizeFound | None:
        """The smallest bank that does it."""
        return None if self.least_place is None else self.sizes[self.least_place]
