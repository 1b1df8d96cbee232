"""When a night is: its account, its bedtime and its waking, on the clock of a run.

A night is dated by the day on which its bedtime falls. Its account begins when the plan first switches cooling on after
the waking before; at that waking where cooling was on already; at bedtime where it is never on before it.
"""

from __future__ import annotations

from bisect import bisect_right
from dataclasses import dataclass

from vansim.scenario.plan import unroll_plan
from vansim.scenario.schema import AT_BEDTIME, DAY_MIN, Scenario, minutes


@dataclass(frozen=True)
class NightTimes:
    """A night on the clock of a run.

    Attributes
    ----------
    day : int
        Day of the run on which its bedtime falls, 0 being the first.
    account_min, bed_min, wake_min : int
        Where its account begins, its bedtime and its waking [min since midnight of the run's first day].
    """

    day: int
    account_min: int
    bed_min: int
    wake_min: int

    @property
    def begins(self) -> str:
        """Where its account begins: ``"first-cooling"``, ``"waking-before"`` or ``"bedtime"``.

        Where bedtime is the waking before, as the night is the whole day, it is called that: nothing lies between.
        """
        if self.account_min == self.wake_min - DAY_MIN:
            return "waking-before"
        return "bedtime" if self.account_min == self.bed_min else "first-cooling"

    @property
    def length_min(self) -> int:
        """Bedtime to waking [min]."""
        return self.wake_min - self.bed_min


def night_times(scenario: Scenario, first_day: int, days: int) -> list[NightTimes]:
    """The nights whose bedtimes fall on some consecutive days.

    Parameters
    ----------
    scenario : Scenario
        Its plan, bedtime and waking; ``run.start = "bedtime"`` begins every account at bedtime.
    first_day, days : int
        First day of the run, 0 being its own first, and how many.

    Returns
    -------
    list of NightTimes
        In order, one a day. A waking at the same clock time as bedtime is that of the next day.
    """
    bedtime = minutes(scenario.night.bedtime) % DAY_MIN
    length = round(scenario.night.length_h * 60)
    cooled = [
        (stretch.start_min, stretch.end_min)
        for stretch in unroll_plan(scenario, first_day - 2, first_day + days + 1)
        if stretch.segment.cooling != "off"
    ]
    ends = [end for _, end in cooled]
    nights = []
    for day in range(first_day, first_day + days):
        bed = day * DAY_MIN + bedtime
        waking, account = bed + length - DAY_MIN, bed
        place = bisect_right(ends, waking)  # the first stretch of cooling that goes on after the waking before
        if scenario.run.start != AT_BEDTIME and place < len(cooled) and cooled[place][0] < bed:
            account = max(cooled[place][0], waking)
        nights.append(NightTimes(day, account, bed, bed + length))
    return nights
