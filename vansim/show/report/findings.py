"""What a report says, as named values: every sentence, caption and table reads these and nothing else.

A name ends in its unit; one without is a share, a count, a date or a word. Each fact has one name.
"""

from __future__ import annotations

import datetime
from collections.abc import Iterator, Mapping
from dataclasses import dataclass, fields, is_dataclass
from typing import Any

from vansim.show.report.facts_after import (
    BiasFound,
    EnergyFound,
    LineFound,
    ModeFound,
    OutageFound,
    RechargeFound,
    UnattendedFound,
)
from vansim.show.report.facts_nights import BankFound, HelpFound, NightFound, Occasion, SeasonFound
from vansim.show.report.facts_van import VanFound

Value = float | int | str | bool | None | datetime.date | datetime.datetime


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
