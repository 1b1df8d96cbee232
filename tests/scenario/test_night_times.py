"""Where the account of a night begins: each rule by hand, and at every bedtime."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from vansim.scenario.files import load_scenario
from vansim.scenario.night_times import night_times
from vansim.scenario.schema import AT_BEDTIME, DAY_MIN, Day, Night, PlanSegment, Scenario

VAN = load_scenario("scenarios/desert-night.toml")


def van(segments: list[tuple[str, str, str]], bedtime: str = "22:00", waking: str = "07:00", **run: object) -> Scenario:
    """A plan of (start, end, cooling)."""
    day = Day(segment=tuple(PlanSegment(start=a, end=b, cooling=c) for a, b, c in segments))
    return VAN.model_copy(
        update={
            "day": (day,),
            "night": Night(bedtime=bedtime, waking=waking),
            "run": VAN.run.model_copy(update=run),
        }
    )


def times(scenario: Scenario, day: int = 0) -> tuple[float, float, float]:
    """Account, bedtime and waking [h on the run's clock]."""
    (night,) = night_times(scenario, day, 1)
    assert night.day == day
    return night.account_min / 60, night.bed_min / 60, night.wake_min / 60


def test_it_begins_when_cooling_is_first_switched_on() -> None:
    plan = [("09:00", "18:30", "off"), ("18:30", "22:00", "boost_then_eco"), ("22:00", "09:00", "eco")]
    # cooling runs until 09:00, past waking: it was on already
    assert times(van(plan)) == (7.0, 22.0, 31.0)
    until_seven = [("07:00", "18:30", "off"), ("18:30", "22:00", "boost_then_eco"), ("22:00", "07:00", "eco")]
    assert times(van(until_seven)) == (18.5, 22.0, 31.0)
    assert times(van(until_seven), day=3) == (18.5 + 72, 22.0 + 72, 31.0 + 72)


def test_the_first_of_two_stretches_counts_though_cooling_stops_between() -> None:
    plan = [("07:00", "12:00", "off"), ("12:00", "13:00", "eco"), ("13:00", "20:00", "off"), ("20:00", "07:00", "eco")]
    assert times(van(plan))[0] == 12.0


def test_cooling_that_starts_at_waking_itself_counts() -> None:
    plan = [("07:00", "08:00", "eco"), ("08:00", "07:00", "off")]
    assert times(van(plan))[0] == 7.0


def test_without_cooling_before_it_begins_at_bedtime() -> None:
    plan = [("07:00", "22:00", "off"), ("22:00", "07:00", "eco")]
    assert times(van(plan))[0] == 22.0
    assert times(van([("00:00", "24:00", "off")]))[0] == 22.0


def test_cooling_all_day_begins_at_the_waking_before() -> None:
    assert times(van([("00:00", "24:00", "eco")])) == (7.0, 22.0, 31.0)


def test_full_at_bedtime_counts_nothing_before() -> None:
    assert times(van([("00:00", "24:00", "eco")], start=AT_BEDTIME))[0] == 22.0


@pytest.mark.parametrize(
    ("bedtime", "waking", "bed", "wake"),
    [
        ("20:00", "06:00", 20.0, 30.0),
        ("23:59", "07:00", 23 + 59 / 60, 31.0),
        ("00:00", "07:00", 0.0, 7.0),
        ("24:00", "07:00", 0.0, 7.0),
        ("00:30", "07:00", 0.5, 7.0),
        ("06:00", "14:00", 6.0, 14.0),
        ("09:00", "17:00", 9.0, 17.0),
    ],
)
def test_a_night_is_dated_by_its_bedtime(bedtime: str, waking: str, bed: float, wake: float) -> None:
    found = times(van([("00:00", "24:00", "off")], bedtime, waking))
    assert found[1:] == pytest.approx((bed, wake))


def test_bedtime_after_midnight_reaches_back_into_the_evening_before() -> None:
    plan = [("07:00", "18:30", "off"), ("18:30", "07:00", "eco")]
    assert times(van(plan, "00:30", "07:00")) == (18.5 - 24.0, 0.5, 7.0)


def test_waking_at_bedtime_means_the_whole_day() -> None:
    scenario = van([("00:00", "24:00", "eco")], "09:00", "09:00")
    assert scenario.night.length_h == 24.0
    assert times(scenario) == (9.0, 9.0, 33.0)


clock = st.integers(0, DAY_MIN // 5 - 1).map(lambda n: f"{n * 5 // 60:02d}:{n * 5 % 60:02d}")


@given(bedtime=clock, waking=clock, on=clock, off=clock)
def test_an_account_lies_between_two_wakings_and_begins_where_cooling_does(
    bedtime: str, waking: str, on: str, off: str
) -> None:
    if on == off:
        return
    scenario = van([(on, off, "eco"), (off, on, "off")], bedtime, waking)
    for night in night_times(scenario, 0, 2):
        assert night.wake_min - DAY_MIN <= night.account_min <= night.bed_min < night.wake_min
        assert night.bed_min // DAY_MIN == night.day

        def cools(minute: int) -> bool:
            return (minute - _m(on)) % DAY_MIN < (_m(off) - _m(on)) % DAY_MIN

        before = range(night.wake_min - DAY_MIN, night.account_min)
        assert not any(cools(minute) for minute in before)
        assert night.account_min == night.bed_min or cools(night.account_min)


def _m(text: str) -> int:
    return int(text[:2]) * 60 + int(text[3:])
