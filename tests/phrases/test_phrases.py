"""How things are said: one form for every kind of number, and one word for every thing."""

from __future__ import annotations

import ast
import datetime
import math
import re
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from vansim import phrases
from vansim.heat_stress import HEAT_INDEX_AIR_MAX_C, HEAT_INDEX_MAX_C, LINES
from vansim.runs.night_table import WHY
from vansim.runs.recharge import LONGEST_H, WAYS
from vansim.studies.energy import CAUSES

ROOT = Path(__file__).parents[2] / "vansim"


@pytest.mark.parametrize(
    ("said", "text"),
    [
        (phrases.duration(12.0 + 5 / 60), "12 h 05 min"),
        (phrases.duration(0.75), "45 min"),
        (phrases.duration(0.999), "1 h"),
        (phrases.duration(0.004), "< 1 min"),
        (phrases.duration(0.0), "0 min"),
        (phrases.duration(math.nan), "–"),
        (phrases.minutes_of(90.0), "90 min"),
        (phrases.runtime(48.0), "more than 48 h"),
        (phrases.runtime(3.5, outlasts=True), "more than 48 h"),
        (phrases.runtime(47.5), "47 h 30 min"),
        (phrases.runtime_cell(48.0), "> 48 h"),
        (phrases.runtime_cell(0.0), "none"),
        (phrases.runtime_cell(9.5), "9 h 30 min"),
        (phrases.within(None), "not within 48 h"),
        (phrases.within(math.inf, 12.0), "not within 12 h"),
        (phrases.within(1.5), "1 h 30 min"),
        (phrases.gain(-1.25), "−1 h 15 min"),
        (phrases.gain(0.001), "0 min"),
        (phrases.percent(0.39), "39%"),
        (phrases.percent(363 / 364), "99.7%"),
        (phrases.percent(0.99999), "> 99.9%"),
        (phrases.percent(1.0), "100%"),
        (phrases.percent(0.0002), "< 0.1%"),
        (phrases.percent_fine(0.004), "0.4%"),
        (phrases.signed(3), "+3"),
        (phrases.signed(-2), "−2"),
        (phrases.signed(0), "0"),
        (phrases.clock(27.3), "03:18"),
        (phrases.date(datetime.date(2001, 7, 15)), "15 July"),
        (phrases.short_date(datetime.date(2001, 7, 5)), " 5 Jul"),
        (phrases.count(1, "battery"), "1 battery"),
        (phrases.count(3, "battery"), "3 batteries"),
        (phrases.count(2, "person"), "2 people"),
        (phrases.count(2, "working day"), "2 working days"),
        (phrases.listed(["a", "b", "c"], "or"), "a, b or c"),
        (phrases.spelled(2), "two"),
        (phrases.spelled(13), "13"),
        (phrases.covered(12, 12), "all 12 nights are covered"),
        (phrases.covered(2, 2), "both nights are covered"),
        (phrases.covered(0, 12), "none of the 12 nights is covered"),
        (phrases.covered(1, 12), "1 of 12 nights is covered"),
        (phrases.covered(0, 1), "the night is not covered (0 of 1)"),
        (phrases.covered(3, 9, "night", "consecutive"), "3 of 9 consecutive nights are covered"),
        (phrases.temperature(26.0, "us", None), "78.8 °F"),
        (phrases.temperature(26.0, "si", None), "26 °C"),
        (phrases.temperature(-0.04), "0.0 °C"),
        (phrases.temperature(-5.0), "−5.0 °C"),
        (phrases.difference(1.0), "1 K"),
        (phrases.difference(1.0, "us"), "1.8 °F"),
        (phrases.difference(3.0, "us"), "5.4 °F"),
        (phrases.heat_index(40.0), "40.0 °C"),
        (phrases.heat_index(60.0, "index"), "above 58 °C"),
        (phrases.heat_index(math.nan, "index", "us"), "above 137 °F"),
        (phrases.heat_index(math.nan, "air"), "air over 50 °C"),
        (phrases.energy(204.4), "204 Wh"),
        (phrases.energy(999.4), "999 Wh"),
        (phrases.energy(999.6), "1.00 kWh"),
        (phrases.energy(2186.0), "2.19 kWh"),
        (phrases.energy(12340.0), "12.3 kWh"),
        (phrases.energy_gain(623.0), "+623 Wh"),
        (phrases.energy_gain(-1200.0), "−1.20 kWh"),
        (phrases.energy_gain(0.2), "0 Wh"),
        (phrases.watt_hours(3187.2), "3187 Wh"),
        (phrases.batteries(0.62), "0.6 of a battery"),
        (phrases.batteries(1.0), "1 battery"),
        (phrases.batteries(1.5), "1.5 batteries"),
        (phrases.batteries(math.inf, 16.0), "more than 16 batteries"),
        (phrases.batteries(0.0), "–"),
        (phrases.batteries_cell(0.62), "0.6"),
        (phrases.batteries_cell(math.inf, 16.0), "> 16"),
        (phrases.power(3000.0), "3.00 kW"),
        (phrases.mass(24.0, "us"), "53 lb"),
        (phrases.mass_gain(11.0), "+11 kg"),
        (phrases.mass_gain(-11.0), "−11 kg"),
        (phrases.mass_gain(0.0), "0 kg"),
        (phrases.height(350.0, "us"), "1148 ft"),
        (phrases.thickness(20.0, "us"), "0.8 in"),
        (phrases.daily_sun(6.9), "6.9 kWh/m2 a day"),
        (phrases.daily_sun(6.9, "us"), "6.9 peak sun hours a day"),
        (phrases.money(1250.0, "USD"), "1250 USD"),
        (phrases.money(1250.0, ""), "1250"),
        (phrases.quantity(12350.0, "contents_kj_k"), "12350 kJ/K"),
        (phrases.quantity(-0.0035, "gamma_per_k", "us"), "−0.001944 per °F"),
        (phrases.quantity(0.9, "r_m2k_w", "us"), "R-5.11"),
        (phrases.quantity(0.9, "emittance", "us"), "0.9"),
        (phrases.way("road"), "driving at 90 km/h"),
        (phrases.way("road", 90.0, "us"), "driving at 56 mph"),
        (phrases.way("solar"), "on solar alone"),
        (phrases.more_of("road", 45.0, True), "45 min more driving a day"),
        (phrases.more_of("road", 80.0, False), "driving 1 h 20 min a day"),
        (phrases.more_of("shore", 120.0, False), "2 h a day on shore power"),
        (phrases.more_of("solar", 300.0, True), "300 W more panels"),
        (phrases.more_of("solar", 300.0, False), "300 W of panels"),
        (phrases.amount("idling", 25.0), "25 min a day"),
        (phrases.planned_charging(("road",)), "the planned driving"),
        (phrases.planned_charging(("road", "solar")), "the planned charging"),
        (phrases.aboard(2, 1), "two people and one dog aboard"),
        (phrases.aboard(1, 0), "one person aboard"),
        (phrases.aboard(0, 0), "nobody aboard"),
        (phrases.shade(0.8), "in 80% shade"),
        (phrases.shade(0.0), "in the open"),
        (phrases.season("07-14..07-18"), "14 July to 18 July"),
        (phrases.season("jun-aug, the hottest three months"), "June to August, the hottest three months"),
        (phrases.season("the year"), "the year"),
        (phrases.cool_down(38.0), "38 min"),
        (phrases.cool_down(math.inf), "not reached"),
        (phrases.passed_after(0.0), "at once"),
        (phrases.passed_after(75.0), "1 h 15 min"),
        (phrases.passed_after(math.inf), "not in 12 h"),
    ],
)
def test_one_form_for_every_kind_of_number(said: str, text: str) -> None:
    assert said == text


@given(st.floats(0.0, 47.9))
def test_a_duration_is_told_to_the_minute(length_h: float) -> None:
    text = phrases.duration(length_h)
    found = re.fullmatch(r"(?:(\d+) h)? ?(?:(\d+) min)?|< 1 min", text)
    assert found, text
    told = 60 * int(found[1] or 0) + int(found[2] or 0)
    assert abs(told - 60.0 * length_h) <= 0.5 + 1e-6


@given(st.floats(0.0, 1.0))
def test_a_share_that_is_not_all_is_never_told_as_all(share: float) -> None:
    text = phrases.percent(share)
    assert (text == "100%") == (share >= 1.0 - 1e-6)
    assert (text == "0%") == (share <= 1e-6)


@given(st.floats(0.0, 1e6))
def test_an_energy_keeps_three_figures(value_wh: float) -> None:
    number, unit = phrases.energy(value_wh).split()
    assert float(number) * {"Wh": 1.0, "kWh": 1000.0}[unit] == pytest.approx(value_wh, rel=0.0051, abs=0.5)


@given(st.lists(st.floats(0.0, 1e5), min_size=1, max_size=20))
def test_whole_parts_add_up_and_lie_within_one_of_what_they_were(parts: list[float]) -> None:
    whole = phrases.whole_parts(parts)
    assert sum(whole) == round(sum(parts))
    assert all(abs(a - b) <= 1.0 for a, b in zip(whole, parts, strict=True))


def test_every_code_of_a_study_has_a_word() -> None:
    for code in WHY:
        assert phrases.reason(code)
        assert phrases.short_reason(code).startswith("not covered: ")
    for way in WAYS:
        assert phrases.way(way)
        assert phrases.more_way(way, True)
    assert set(phrases.CAUSES) >= set(CAUSES)
    assert set(phrases.LINES) == {line.code for line in LINES}


def test_constants_agree_with_where_they_come_from() -> None:
    """`phrases` stands below the rooms that compute, so it names these numbers anew."""
    assert phrases.FOLLOWED_H == LONGEST_H
    assert pytest.approx(HEAT_INDEX_MAX_C) == phrases.HEAT_INDEX_END_C
    assert phrases.HEAT_INDEX_AIR_END_C == HEAT_INDEX_AIR_MAX_C


def test_a_line_ends_neither_before_a_unit_nor_within_a_duration() -> None:
    assert phrases.unbroken("runs 12 h 05 min at 78.8 °F, 15 July").split(" ") == [
        "runs", "12\u00a0h\u00a005\u00a0min", "at", "78.8\u00a0°F,", "15", "July",
    ]  # fmt: skip


UNIT = r"(?:Wh|kWh|W|kW|°C|°F|K|km/h|mph|kg|lb|mm|ft|min|h|Ah|A|V|W/K|%)"
SCREENS = sorted(p for room in ("show", "cli") for p in (ROOT / room).rglob("*.py"))


@pytest.mark.parametrize("path", SCREENS, ids=lambda p: str(p.relative_to(ROOT)))
def test_no_screen_puts_a_number_to_its_unit_by_itself(path: Path) -> None:
    """In text that people read a number meets its unit in `phrases` alone; axis labels hold units without a number."""
    tree = ast.parse(path.read_text(encoding="utf-8"))
    faults = []
    for node in ast.walk(tree):
        if isinstance(node, ast.JoinedStr):
            for before, after in zip(node.values, node.values[1:], strict=False):
                if (
                    isinstance(before, ast.FormattedValue)
                    and isinstance(after, ast.Constant)
                    and re.match(rf"\s?{UNIT}(?![\w/])", str(after.value))
                ):
                    faults.append(f"{path.name}:{node.lineno}: {ast.unparse(node)}")
    assert not faults


def test_a_moment_is_rounded_to_the_minute() -> None:
    assert phrases.time_of_day(datetime.datetime(2001, 7, 15, 20, 33, 47)) == "20:34"
    assert phrases.time_of_day(datetime.datetime(2001, 7, 15, 23, 59, 40)) == "00:00"
