"""What a report says, as named values: every sentence, caption and table reads these and nothing else.

A name ends in its unit; one without is a share, a count, a date or a word. Each fact has one name.
"""

from __future__ import annotations

import datetime
from collections.abc import Iterator, Mapping
from dataclasses import dataclass, fields, is_dataclass
from typing import Any

from vansim.show.report.findings_after import (
    BiasFound,
    EnergyFound,
    LineFound,
    OutageFound,
    RechargeFound,
)
from vansim.show.report.findings_van import VanFound

Value = float | int | str | bool | None | datetime.date | datetime.datetime


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


@dataclass(frozen=True)
class ModeFound:
    """The same night in one mode throughout.

    Attributes
    ----------
    cool_down_min, cooler_wh, waking_soc, starts, empty_at : float, datetime or None
        Of the account, as `vansim.studies.side_by_side.ModeNumbers`.
    """

    mode: str
    cool_down_min: float
    cooler_wh: float
    waking_soc: float
    starts: int
    empty_at: datetime.datetime | None


@dataclass(frozen=True)
class UnattendedFound:
    """When nobody who can act is on board; see `vansim.studies.attendance`.

    Attributes
    ----------
    code : {"only-animals", "only-children"}
        Who is left.
    spans : tuple of (str, str)
        Clock times from and to which that is so.
    dogs, people, cooled : int
        The most of them at a time; how many of the spans are cooled.
    no_person : bool
        The scenario has no person at all.
    how_empty, empty_at : str, datetime or None
        How and when the bank would be empty on the hardest night of the season.
    """

    code: str
    spans: tuple[tuple[str, str], ...]
    dogs: int
    people: int
    cooled: int
    no_person: bool
    how_empty: str
    empty_at: datetime.datetime | None


@dataclass(frozen=True)
class Findings:
    """Everything that a report says.

    Attributes
    ----------
    help, bank, modes : HelpFound, BankFound, tuple of ModeFound
        None, or empty, where nothing is cooled.
    unattended : UnattendedFound or None
        Where only animals, or nobody who can act, are aboard at some time.
    balance : float
        Worst of the closures of heat, moisture and charge.
    """

    occasion: Occasion
    van: VanFound
    night: NightFound
    season: SeasonFound
    help: HelpFound | None
    bank: BankFound | None
    modes: tuple[ModeFound, ...]
    energy: EnergyFound
    recharge: RechargeFound
    thresholds: tuple[LineFound, ...]
    outages: tuple[OutageFound, ...]
    bias: BiasFound | None
    unattended: UnattendedFound | None
    balance: float

    def named(self) -> dict[str, Value]:
        """Every value by its name, such as ``night.waking_soc`` or ``season.months.0.covered``."""
        return dict(_leaves(self, ""))


def _leaves(value: Any, path: str) -> Iterator[tuple[str, Value]]:
    if is_dataclass(value):
        for item in fields(value):
            yield from _leaves(getattr(value, item.name), f"{path}.{item.name}".lstrip("."))
    elif isinstance(value, Mapping):
        for key, below in value.items():
            yield from _leaves(below, f"{path}.{key}")
    elif isinstance(value, tuple):
        for place, below in enumerate(value):
            yield from _leaves(below, f"{path}.{place}")
    else:
        yield path, value
