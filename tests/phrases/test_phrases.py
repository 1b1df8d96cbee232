"""How things are said: one form for every kind of number, and whole sentences from numbers and a status."""

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
        (phrases.runtime(48.0), "more than 48 h"),
        (phrases.runtime(3.5, outlasts=True), "more than 48 h"),
        (phrases.runtime(47.5), "47 h 30 min"),
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
        (phrases.clock(27.3), "03:18"),
        (phrases.date(datetime.date(2001, 7, 15)), "15 July"),
        (phrases.short_date(datetime.date(2001, 7, 5)), " 5 Jul"),
        (phrases.count(1, "battery"), "1 battery"),
        (phrases.count(3, "battery"), "3 batteries"),
        (phrases.count(2, "person"), "2 people"),
        (phrases.count(2, "working day"), "2 working days"),
        (phrases.listed(["a", "b", "c"], "or"), "a, b or c"),
        (phrases.covered(12, 12), "all 12 nights are covered"),
        (phrases.covered(2, 2), "both nights are covered"),
        (phrases.covered(0, 12), "none of the 12 nights is covered"),
        (phrases.covered(1, 12), "1 of 12 nights is covered"),
        (phrases.covered(0, 1), "the night is not covered (0 of 1)"),
        (phrases.temperature(26.0, "us", None), "78.8 °F"),
        (phrases.temperature(26.0, "si", None), "26 °C"),
        (phrases.temperature(-0.04), "0.0 °C"),
        (phrases.temperature(-5.0), "−5.0 °C"),
        (phrases.difference(1.0), "1 K"),
        (phrases.difference(1.0, "us"), "1.8 °F"),
        (phrases.difference(3.0, "us"), "5.4 °F"),
        (phrases.heat_index(60.0, "us"), "off the scale"),
        (phrases.energy(204.4), "204 Wh"),
        (phrases.energy(999.4), "999 Wh"),
        (phrases.energy(999.6), "1.00 kWh"),
        (phrases.energy(2186.0), "2.19 kWh"),
        (phrases.energy(12340.0), "12.3 kWh"),
        (phrases.power(3000.0), "3.00 kW"),
        (phrases.mass(24.0, "us"), "53 lb"),
        (phrases.height(350.0, "us"), "1148 ft"),
        (phrases.thickness(20.0, "us"), "0.8 in"),
        (phrases.daily_sun(6.9), "6.9 kWh/m2 a day"),
        (phrases.daily_sun(6.9, "us"), "6.9 peak sun hours a day"),
        (phrases.quantity(12350.0, "contents_kj_k"), "12350 kJ/K"),
        (phrases.quantity(-0.0035, "gamma_per_k", "us"), "−0.001944 per °F"),
        (phrases.quantity(0.9, "r_m2k_w", "us"), "R-5.11"),
        (phrases.quantity(0.9, "emittance", "us"), "0.9"),
        (phrases.way("road"), "driving at 90 km/h"),
        (phrases.way("road", 90.0, "us"), "driving at 56 mph"),
        (phrases.way("sun"), "on solar alone"),
        (phrases.season("07-14..07-18"), "14 July to 18 July"),
        (phrases.season("jun-aug, the hottest three months"), "June to August, the hottest three months"),
        (phrases.season("the year"), "the year"),
        (phrases.cool_down(38.0), "38 min"),
        (phrases.cool_down(math.inf), "not reached"),
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


def test_answers_say_status_and_numbers() -> None:
    night = {"nights": 1, "limit_c": 26.0}
    assert phrases.answer(status="covered", covered=1, **night) == (
        "The cooling lasts the night: the bank stays above its reserve and the cabin at or below 26 °C."
    )
    assert phrases.answer(status="covered", covered=1, over_limit_h=4 / 60, grace_min=15.0, system="us", **night) == (
        "The cooling lasts the night: the bank stays above its reserve and the cabin at or below 78.8 °F but for 4 min "
        "(up to 15 min is forgiven)."
    )
    assert "but for less than a minute (up to 15 min" in phrases.answer(
        status="covered", covered=1, over_limit_h=20 / 3600, grace_min=15.0, **night
    )
    assert phrases.answer(status="bank_empty", covered=0, emptied=1, runtime_h=5.2, **night) == (
        "The bank reaches its reserve 5 h 12 min after bedtime."
    )
    assert phrases.answer(status="bank_empty", covered=0, emptied=1, runtime_h=0.0, **night) == (
        "The bank is already at its reserve at bedtime."
    )
    assert phrases.answer(status="bank_empty", covered=3, emptied=2, nights=5, limit_c=26.0) == (
        "The cooling lasts on 3 of 5 nights; on 2 the bank reaches its reserve before the end."
    )
    assert phrases.answer(status="too_warm", covered=0, over_limit_h=2.5, why="cooler", system="us", **night) == (
        "The bank lasts, but the cabin is above 78.8 °F for 2 h 30 min: cooler too small."
    )
    day = {"noun": "working day", "bedtime": "12:00"}
    assert phrases.answer(status="no_night", nights=0, covered=0, limit_c=26.0, **day) == (
        "No whole working day lies in this run."
    )
    assert "after 12:00" in phrases.answer(status="bank_empty", covered=0, runtime_h=1.0, **night, **day)


def test_recharging_names_every_way_and_never_says_never() -> None:
    hours = {"road": 1.5, "idling": 2.9, "sun": None}
    assert phrases.recharged(0.98, hours, 90.0, "us") == (
        "Back at 98% after 1 h 30 min driving at 56 mph or 2 h 54 min engine idling; not within 48 h on solar alone"
    )
    assert phrases.recharged(0.98, {"shore": 6.0}) == "Back at 98% after 6 h on shore power"
    assert phrases.recharged(0.98, {"sun": None}) == "The bank is not back at 98% within 48 h on solar alone"
    assert phrases.recharged(0.98, {"sun": 0.0}) == "The bank is at 98% or more already"
    assert phrases.recharged(0.98, {}) == "Nothing on board brings the bank back to 98%; only shore power would"


STATUSES = ("no_cooler", "no_cooling_at_night", "cooler_too_small", "charging_too_little", "beyond_largest")


@pytest.mark.parametrize("status", STATUSES)
@pytest.mark.parametrize("system", ["si", "us"])
def test_why_no_bank_is_enough(status: str, system: str) -> None:
    text = phrases.no_bank(
        status, nights=92, warm=90, limit_c=26.0, largest=64, best_share=0.5, target=0.95, system=system
    )
    assert text.endswith(".")
    assert ("26 °C" if system == "us" else "78.8 °F") not in text
    assert "92" in text or "64" in text


NOTES = {
    "typical_year": {},
    "heat_wave": {"shift_k": 3.0, "where": "the hottest fortnight"},
    "no_cooling_before_waking": {},
    "seasonal_store": {},
    "other_chemistry_reserve": {"chemistry": "agm", "reserve_soc": 0.5, "own": "lfp"},
    "current_above_battery_limit": {"current_a": 240.2, "limit_a": 200.0},
    "loads_unserved": {},
}
CHANGES = {
    "set_point_higher": ({"delta_k": 1.0}, "set point 1 K higher", "set point 1.8 °F higher"),
    "thermostat_band": ({"band_k": 2.0}, "thermostat band of 2 K", "thermostat band of 3.6 °F"),
    "more_insulation": (
        {"added_mm": 20.0, "where": "in the floor"}, "20 mm more insulation in the floor",
        "0.8 in more insulation in the floor",
    ),
    "shade": ({"share": 0.8, "when": "by day"}, "80% shade by day", "80% shade by day"),
    "white_paint": ({}, "white paint", "white paint"),
}  # fmt: skip


@pytest.mark.parametrize("code", NOTES)
def test_notes_are_sentences(code: str) -> None:
    for system in ("si", "us"):
        text = phrases.note(code, NOTES[code], system)
        assert text[0].isupper()
        assert text.endswith(".")
    assert "5.4 °F warmer" in phrases.note("heat_wave", NOTES["heat_wave"], "us")
    with pytest.raises(KeyError):
        phrases.note("no_such_code")


@pytest.mark.parametrize("code", CHANGES)
def test_changes_are_named_in_the_readers_units(code: str) -> None:
    values, si, us = CHANGES[code]
    assert phrases.change(code, values) == si
    assert phrases.change(code, values, "us") == us


def test_the_outage_begins_with_its_reason_and_moment() -> None:
    day = datetime.date(2001, 7, 17)
    assert phrases.outage_start("sun", day, 12.0).endswith("with the cabin at its set point: 17 July, 12:00.")
    assert phrases.outage_start("halfway", day, 2.5).endswith(": 17 July, 02:30.")
    assert "reaches its reserve" in phrases.outage_start("reserve", day, 27.5)


def test_a_line_ends_neither_before_a_unit_nor_within_a_duration() -> None:
    assert phrases.unbroken("runs 12 h 05 min at 78.8 °F, 15 July").split(" ") == [
        "runs", "12\u00a0h\u00a005\u00a0min", "at", "78.8\u00a0°F,", "15", "July",
    ]  # fmt: skip


def test_rows_line_up() -> None:
    assert phrases.aligned(("a", "b", "c"), (-4, 4, -2)) == "  a      bc"


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
