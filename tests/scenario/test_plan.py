"""The plan in time: no gap, no overlap, the right day."""

from itertools import pairwise

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from vansim.scenario.files import default_scenario_path, load_scenario
from vansim.scenario.plan import is_on, load_edges, unroll_plan
from vansim.scenario.schema import DAY_MIN, Day, PlanSegment, minutes
from vansim.van.loads import DailyHours

BASE = load_scenario(default_scenario_path())


def clock(minute):
    return f"{minute // 60 % 24:02d}:{minute % 60:02d}"


@st.composite
def days(draw, name):
    cuts = sorted(draw(st.sets(st.integers(0, DAY_MIN - 1), min_size=1, max_size=6)))
    turn = draw(st.integers(0, len(cuts) - 1))
    cuts = cuts[turn:] + cuts[:turn]
    pairs = zip(cuts, [*cuts[1:], cuts[0]], strict=True)
    segments = tuple(
        PlanSegment(start=clock(a), end=clock(b), shade=round(i / 10, 1)) for i, (a, b) in enumerate(pairs)
    )
    return Day(name=name, segment=segments)


@settings(deadline=None)
@given(days("a"), days("b"), st.lists(st.sampled_from(["a", "b"]), max_size=4), st.integers(-3, 3), st.integers(1, 5))
def test_the_plan_covers_time_without_gap_or_overlap(one, two, cycle, first, count):
    scenario = BASE.model_copy(update={"day": (one, two), "cycle": tuple(cycle)})
    laid = unroll_plan(scenario, first, first + count)
    assert laid[0].start_min == first * DAY_MIN
    assert laid[-1].end_min == (first + count) * DAY_MIN
    assert all(before.end_min == after.start_min for before, after in pairwise(laid))
    assert all(stretch.end_min > stretch.start_min for stretch in laid)


@settings(deadline=None)
@given(days("a"), st.integers(0, DAY_MIN - 1))
def test_one_kind_of_day_holds_every_segment_at_its_own_clock_time(day, minute):
    scenario = BASE.model_copy(update={"day": (day,), "cycle": ()})
    (now,) = [s for s in unroll_plan(scenario, 0, 1) if s.start_min <= minute < s.end_min]
    since = (minute - minutes(now.segment.start)) % DAY_MIN
    assert since < now.segment.span_min


def test_days_follow_the_cycle():
    a = Day(name="a", segment=(PlanSegment(start="00:00", end="24:00", shade=0.1),))
    b = Day(name="b", segment=(PlanSegment(start="00:00", end="24:00", shade=0.2),))
    scenario = BASE.model_copy(update={"day": (a, b), "cycle": ("a", "a", "b")})
    assert [s.segment.shade for s in unroll_plan(scenario, -1, 4)] == [0.2, 0.1, 0.1, 0.2, 0.1]


@pytest.mark.parametrize(
    ("span", "minute", "on"),
    [
        (("20:00", "22:30"), 20 * 60, True),
        (("20:00", "22:30"), 22 * 60 + 30, False),
        (("22:00", "07:00"), 3 * 60, True),
        (("22:00", "07:00"), 23 * 60 - 2 * DAY_MIN, True),
        (("22:00", "07:00"), 7 * 60 + DAY_MIN, False),
        (("18:00", "24:00"), DAY_MIN - 1, True),
        (("18:00", "24:00"), DAY_MIN, False),
    ],
)
def test_a_load_is_on_in_its_hours(span, minute, on):
    assert is_on((DailyHours(start=span[0], end=span[1]),), minute) is on


def test_a_load_without_hours_is_always_on_and_edges_are_collected():
    assert is_on((), 12345)
    assert load_edges(BASE) == {minutes(c) for c in ("20:00", "22:30", "18:00", "23:00")}
