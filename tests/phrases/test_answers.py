"""Whole sentences from numbers and codes: both readings, the account, cautions, notes and changes."""

from __future__ import annotations

import ast
import datetime
import re
from pathlib import Path

import pytest

from vansim import phrases
from vansim.notes import Note
from vansim.phrases.notes import _NOTES
from vansim.phrases.weather_notes import SAID
from vansim.scenario.files import default_scenario_path, load_scenario
from vansim.show.text.check import SLIPS
from vansim.studies.changes import standard_changes

ROOT = Path(__file__).parents[2] / "vansim"
DAY = datetime.date(2001, 7, 15)
BEDTIME, WAKING = datetime.datetime(2001, 7, 15, 22), datetime.datetime(2001, 7, 16, 7)


def facts(**values) -> phrases.NightFacts:
    usual = {
        "date": DAY, "bedtime": BEDTIME, "waking": WAKING, "waking_soc": 0.29, "cabin_max_c": 25.9, "over_limit_h": 0.0,
        "bedtime_cabin_c": 25.6, "people": 2,
    }  # fmt: skip
    return phrases.NightFacts(**(usual | values))


def answer(status: str, nights: int = 1, covered: int = 0, system: str = "si", noun: str = "night", **values) -> str:
    return phrases.answer(
        status=status, nights=nights, nights_covered=covered, limit_c=26.0, grace_min=15.0, telling=facts(**values),
        noun=noun, system=system,
    )  # fmt: skip


# --- a run ------------------------------------------------------------------------------------------------------------


def test_a_covered_night_says_what_is_left_and_the_limit() -> None:
    assert answer("covered") == (
        "The cooling lasts the night: 29% of the charge is left at waking, and the cabin stays at or below 26 °C."
    )
    assert "at or below 78.8 °F but for 4 min, 15 are forgiven." in answer("covered", system="us", over_limit_h=4 / 60)
    assert "but for less than a minute, 15 min are forgiven." in answer("covered", over_limit_h=20 / 3600)
    assert answer("covered", nights=3).startswith("The cooling lasts all 3 nights: at least 29% of the charge is left")
    assert "the bank is full at waking" in answer("covered", waking_soc=1.0)
    assert answer("covered", noun="working day").startswith("The cooling lasts the working day: 29% of the charge is")
    assert "left at its end" in answer("covered", noun="working day")


def test_a_bank_empty_before_bedtime_says_when_how_warm_and_who() -> None:
    empty = {"empty_at": datetime.datetime(2001, 7, 15, 20, 41), "cabin_at_empty_c": 24.3, "bedtime_cabin_c": 31.0}
    assert answer("bank_empty", **empty) == (
        "The bank is at its reserve at 20:41, before bedtime: cabin 24.3 °C then, 31.0 °C at bedtime; "
        "two people aboard."
    )
    said = answer("bank_empty", system="us", people=0, dogs=2, **empty)
    assert said.endswith("cabin 75.7 °F then, 87.8 °F at bedtime; two dogs aboard.")
    long_ago = empty | {"empty_at": datetime.datetime(2001, 7, 14, 21)}
    assert "at 21:00 on 14 July, before bedtime" in answer("bank_empty", **long_ago)
    assert "before the working day begins" in answer("bank_empty", noun="working day", **empty)


def test_a_bank_empty_in_the_night_says_how_long_before_waking() -> None:
    at = datetime.datetime(2001, 7, 16, 2, 52, 20)
    said = answer("bank_empty", empty_at=at, cabin_at_empty_c=22.9, cabin_max_c=29.8)
    assert said == (
        "The bank is at its reserve at 02:52, 4 h 08 min before waking: cabin 22.9 °C then, 29.8 °C at most that "
        "night; two people aboard."
    )
    several = answer("bank_empty", nights=3, covered=1, empty_at=at, cabin_at_empty_c=22.9)
    assert several.startswith("1 of 3 nights is covered. On 15 July: the bank is at its reserve at 02:52")


def test_a_cabin_that_is_too_warm_says_for_how_long_and_why() -> None:
    assert answer("too_warm", over_limit_h=2.5, why="cooler", system="us") == (
        "The bank lasts, but the cabin is above 78.8 °F for 2 h 30 min (15 min are forgiven): cooler too small."
    )


def test_no_night_is_said_too() -> None:
    said = phrases.answer(status="no_night", nights=0, nights_covered=0, limit_c=26.0, grace_min=15.0, noun="shift")
    assert said == "No whole shift lies in this run."


def test_a_runtime_is_never_a_bare_nothing() -> None:
    assert phrases.runtime_from(12.05, False, 0.6) == (
        "12 h 03 min from bedtime at 60%, cooling left on, nothing charging"
    )
    assert phrases.runtime_from(48.0, True, 1.0).startswith("more than 48 h from bedtime")
    assert phrases.runtime_from(0.0, False, 0.07, "20:26") == (
        "nothing left at bedtime: the bank is at its reserve from 20:26 on"
    )
    assert "from 12:00 at 78%" in phrases.runtime_from(4.1, False, 0.78, "", "working day", "12:00")


def test_a_van_without_a_cooler_is_not_said_to_cool() -> None:
    values = {
        "date": DAY, "bedtime": BEDTIME, "waking": WAKING, "waking_soc": 0.98, "cabin_max_c": 24.0, "over_limit_h": 0.0,
        "bedtime_cabin_c": 23.0, "cooler": False,
    }  # fmt: skip
    terms = {"nights": 1, "limit_c": 26.0, "grace_min": 15.0}
    mild = phrases.answer(status="covered", nights_covered=1, telling=phrases.NightFacts(**values), **terms)
    assert mild.startswith("The night is covered without a cooler: 98% of the charge is left at waking")
    hot = phrases.NightFacts(**values | {"over_limit_h": 9.0, "why": "no-cooler"})
    assert phrases.answer(status="too_warm", nights_covered=0, telling=hot, **terms) == (
        "No cooler is fitted, and the cabin is above 26 °C for 9 h."
    )


def test_recharging_names_every_way_and_never_says_never() -> None:
    hours = {"road": 1.5, "idling": 2.9, "shore": 6.0, "solar": None}
    assert phrases.recharged(0.98, hours, 90.0, "us") == (
        "Back at 98% after 1 h 30 min driving at 56 mph, 2 h 54 min engine idling or 6 h on shore power; not within "
        "48 h on solar alone"
    )
    assert phrases.recharged(0.98, {"solar": float("inf")}) == "The bank is not back at 98% within 48 h on solar alone"
    assert phrases.recharged(0.98, {"solar": 0.0}) == "The bank is at 98% or more already"
    assert "nothing aboard brings the bank back to 98%" in phrases.recharged(0.98, {})
    assert phrases.recharge_outcome("not_within_48_h") == "not within 48 h"
    assert phrases.recharge_outcome("nothing_given").startswith("never")


# --- the account ------------------------------------------------------------------------------------------------------


def test_the_account_in_one_line() -> None:
    assert phrases.account("first-cooling", ["18:30"], 1.0, "07:00") == (
        "from the first cooling of the day (18:30) with a full bank to waking (07:00), with the plan's own charging"
    )
    assert "(16:30 or 17:00) with the bank at 60%" in phrases.account("first-cooling", ["16:30", "17:00"], 0.6, "07:00")
    assert "from the end of the working day before (17:00)" in phrases.account(
        "waking-before", ["17:00"], 1.0, "17:00", "working day"
    )
    assert phrases.account("bedtime", ["22:00"], 1.0, "07:00").endswith("; no cooling is planned before then")
    assert "what is used before then is not counted" in phrases.account(
        "bedtime", ["22:00"], 1.0, "07:00", full_at_bedtime=True
    )
    assert "not where the account of its first night does" in phrases.begins_elsewhere(
        "20:00", 1.0, "first-cooling", "18:30"
    )


# --- a season ---------------------------------------------------------------------------------------------------------


def season(reason: str, independent: int, consecutive: int, **values) -> str:
    usual = {
        "nights": 92, "target": 0.95, "needed": 88, "start_soc": 1.0, "start_kind": "first-cooling", "lacks": {},
        "in_a_row_worst": 1, "in_a_row_median": 1.0,
    }  # fmt: skip
    given = usual | {"reason": reason, "independent": independent, "consecutive": consecutive} | values
    return phrases.season_answer(phrases.SeasonFacts(**given))


def test_a_plan_without_engine_is_told_nights_in_a_row_and_what_would_keep_it_going() -> None:
    said = season("no-engine-or-shore", 92, 0, missing=(("road", 80.0), ("solar", None)), planned=("solar",))
    assert said == (
        "All 92 nights are covered, each from a full bank at the first cooling of the day. This plan has no engine or "
        "shore time: from full the bank lasts 1 night in a row; driving 1 h 20 min a day would keep it going on 95% "
        "of the nights."
    )
    every = season("no-engine-or-shore", 92, 0, target=1.0, needed=92, missing=(("solar", 300.0),))
    assert every.endswith("300 W of panels would keep it going.")
    warm = season("no-engine-or-shore", 10, 0, lacks={"battery": 0, "controls": 82}, in_a_row_worst=0,
                  in_a_row_median=0.0, missing=(("solar", None),))  # fmt: skip
    assert "Covered in a row, from full: not one night at worst. More charging alone is not enough" in warm
    assert "the bank lasts" not in warm
    bare = season("no-engine-or-shore", 92, 88)
    assert bare.endswith("1 night in a row; 88 of 92 consecutive nights are covered.")
    some = season("no-engine-or-shore", 90, 0, lacks={"battery": 2}, in_a_row_worst=0, in_a_row_median=2.0,
                  missing=(("solar", None),), planned=("solar",))  # fmt: skip
    assert some.startswith("90 of 92 nights are covered, each from a full bank")
    assert "(battery too small on 2)" in some
    assert "no night in a row at worst, 2 in the median" in some
    assert "no charging that there is room for would keep it going (0 of 92 consecutive nights covered)" in some
    sunny = season("no-engine-or-shore", 92, 90, planned=("solar",), in_a_row_worst=30, in_a_row_median=30.0)
    assert "30 nights in a row or more; the sun keeps it going, with 90 of 92 consecutive nights covered." in sunny


def test_charging_that_falls_behind_says_what_would_do() -> None:
    said = season("charging-falls-behind", 92, 61, planned=("road",), missing=(("road", 45.0), ("solar", 300.0)))
    assert said == (
        "Only 61 of 92 consecutive nights are covered (each for itself: 92): the planned driving does not keep up. "
        "45 min more driving a day or 300 W of panels would bring it to 95%."
    )
    assert "They are the 95% that was asked for all the same." in season("charging-falls-behind", 92, 90)
    none = season("charging-falls-behind", 92, 0, missing=(("road", None),))
    assert none.startswith("None of the 92 consecutive nights is covered (each for itself: 92)")
    assert none.endswith("No more charging that there is room for would bring it to 95%.")
    small = season("charging-falls-behind", 70, 61, missing=(("road", None),), lacks={"battery": 22})
    assert "even each for itself they are fewer than 95% (battery too small on 22)" in small


def test_charging_that_keeps_up_says_so_of_both_readings() -> None:
    assert season("charging-keeps-up", 92, 92, planned=("shore",)) == (
        "All 92 nights are covered, each for itself and one after another: the planned shore power keeps up."
    )
    assert "and 91 one after another" in season("charging-keeps-up", 90, 91)


WHYS = ("no-cooler", "no-cooling-at-night", "cooler", "charging", "larger-not-tried")


@pytest.mark.parametrize("why", WHYS)
@pytest.mark.parametrize("system", ["si", "us"])
def test_why_no_bank_is_enough(why: str, system: str) -> None:
    text = phrases.no_bank(
        why, nights=92, warm=90, limit_c=26.0, most=64, best_share=0.5, target=0.95, missing=(("road", 30.0),),
        planned=("road",), strings=4, system=system,
    )  # fmt: skip
    assert text.endswith(".")
    assert ("26 °C" if system == "us" else "78.8 °F") not in text
    assert "92" in text or "64" in text
    if why == "charging":
        assert "With 4 in parallel, 30 min more driving a day would bring it to 95%." in text
    if why == "larger-not-tried":
        assert "46 of 92 nights" in text
    with pytest.raises(ValueError, match="no_bank"):
        phrases.no_bank("no_cooler", nights=1, limit_c=26.0)


# --- cautions and outages ---------------------------------------------------------------------------------------------


def test_a_plan_with_nobody_who_can_act_is_cautioned_with_the_time_of_an_empty_bank() -> None:
    said = phrases.unattended(
        "only-animals", [("09:00", "18:00")], dogs=2, people=0, cooled=1, how_empty="in_account",
        empty_at=datetime.datetime(2001, 7, 16, 2, 52),
    )  # fmt: skip
    assert said == (
        "CAUTION: in this plan only animals are in the van from 09:00 to 18:00 (two dogs). Cooling can stop at any "
        "moment, with nobody there to act: the bank alone is empty at 02:52 on 16 July. Change the plan: somebody who "
        "can act must stay with them."
    )
    child = phrases.unattended("only-children", [("09:00", "10:00"), ("13:00", "14:00")], dogs=0, people=1, cooled=0)
    assert "nobody but children" in child
    assert "from 09:00 to 10:00 and 13:00 to 14:00 (one person)" in child
    lasts = phrases.unattended("only-animals", [("09:00", "18:00")], dogs=1, people=0, cooled=1, how_empty="outlasts")
    assert "a bank that lasts does not change that" in lasts


def test_the_outage_begins_with_its_reason_its_moment_and_who_is_aboard() -> None:
    moment = datetime.datetime(2001, 7, 17, 3, 30)
    for stop in ("bank_empty", "left_on", "fault", "sun"):
        said = phrases.outage_start(stop, moment, people=2, dogs=1)
        assert said.endswith(": 03:30 on 17 July, two people and one dog aboard.")
    assert "earliest" in phrases.outage_start("bank_empty", moment, people=0, dogs=0)
    alone, in_a_row = (
        phrases.outage_start("left_on", moment, people=0, dogs=0, reading=r) for r in ("independent", "consecutive")
    )
    assert alone.startswith("Each for itself, no night of the season empties the bank")
    assert in_a_row.startswith("One after another, no night of the season empties the bank")
    some = phrases.note("no-account-empties-the-bank", {"nights": 92, "consecutive_empty": 24})
    assert "One after another, it is empty on 24 of 92" in some
    assert "One after another" not in phrases.note("no-account-empties-the-bank", {"nights": 92})


def test_the_known_error_stands_in_both_systems() -> None:
    said = phrases.warm_up_bias((-0.5, 1.1), 1.9, (2.4, 3.5))
    assert "between 0.5 K too cool and 1.1 K too warm in the first half hour and 1.9 K too warm at one hour" in said
    assert "between 0.9 °F too cool and 2 °F too warm" in phrases.warm_up_bias((-0.5, 1.1), 1.9, (2.4, 3.5), "us")


def test_spans_that_follow_one_another_are_one() -> None:
    def caution(*spans: tuple[str, str]) -> str:
        return phrases.unattended("only-animals", spans, dogs=1, people=0, cooled=1)

    assert "in the van all day (one dog)" in caution(("09:00", "18:00"), ("18:00", "07:00"), ("07:00", "09:00"))
    assert "from 18:00 to 07:00 (one dog)" in caution(("22:00", "07:00"), ("18:00", "22:00"))
    assert "from 09:00 to 10:00 and 12:00 to 13:00" in caution(("09:00", "10:00"), ("12:00", "13:00"))


# --- notes and changes ------------------------------------------------------------------------------------------------

SKY = {"nearest": "Brunt", "nearest_apart_w_m2": 3.0, "rms_w_m2": 9.0}
VALUES = {
    "mains-loads-refused": {"rated_w": 2000.0},
    "hot-bank": {"hours": 2.5, "limit_c": 60.0},
    "other-chemistry-reserve": {"chemistry": "agm", "reserve_soc": 0.5, "own_chemistry": "lfp"},
    "current-above-battery-limit": {"current_a": 240.2, "limit_a": 200.0},
    "no-account-empties-the-bank": {"nights": 92},
    "heat-index-off-scale": {"above_c": 58.3, "air_above_c": 50.0},
    "heat-wave": {"shift_k": 3.0, "first": "2001-07-01", "last": "2001-07-14", "hottest_fortnight": True},
    "file-comment": {"text": "made up"},
    "leap-day-left-out": {"hours": 24},
    "hours-absent": {"hours": 3, "first": "07-01 03:00"},
    "hours-mended": {
        "column": "ghi", "missing": 2, "impossible": 1, "from_sun": 3, "from_days": 0, "by_line": 0, "where": "row 7",
    },
    "flux-below-zero": {"column": "ghi", "hours": 12},
    "dew-point-capped": {"hours": 4},
    "universal-time-moved": {"utc_offset_h": -7.0, "flux_delay_min": 30.0},
    "offset-from-longitude": {"utc_offset_h": -7.0},
    "labels-moved": {"shift_min": 30.0, "whole": True},
    "labels-as-written": {"shift_min": -30.0},
    "labels-loose": {"rms_w_m2": 40.0},
    "sky-replaced": SKY | {"computed_column": True, "bias_w_m2": -2.0},
    "sky-measured": SKY | {"computed_column": False, "bias_w_m2": 2.0},
    "own-year": {"first": "2026-07-01", "last": "2026-07-14", "step_min": 10},
    "heat-wave-each": {"shift_k": 3.0},
    "one-year": {"year": 2019},
    "design-day": {"month": 7, "dry_bulb_c": 43.1, "wet_bulb_c": 22.0, "daily_range_k": 14.0, "percent": 1.0},
    "changed-year": {"base": "desert.epw", "changes": "later.csv", "mean_k": 2.0},
    "columns-ignored": {"columns": "rain"},
    "pressure-from-altitude": {"pressure_pa": 97100.0},
    "hours-from-rest": {"hours": 8000, "rest": "desert.epw", "columns": ""},
}  # fmt: skip


@pytest.mark.parametrize("code", [*_NOTES, *SAID])
def test_every_note_is_said_in_both_systems(code: str) -> None:
    assert re.fullmatch(r"[a-z0-9]+(-[a-z0-9]+)*", code)
    for system in ("si", "us"):
        text = phrases.note(Note(code, VALUES.get(code, {})), system=system)
        assert len(text) > 10
        assert not re.search(r"°C|\bK\b|W/m2|\bPa\b" if system == "us" else r"°F|Btu|inHg", text)
    with pytest.raises(KeyError):
        phrases.note("no-such-code")


def test_every_code_that_is_written_down_is_said() -> None:
    """`Note("...")` anywhere in the program."""
    known = {*_NOTES, *SAID, *SLIPS, "only-animals", "only-children"}  # those two are said by `unattended`
    found = set()
    for path in ROOT.rglob("*.py"):
        for node in ast.walk(ast.parse(path.read_text(encoding="utf-8"))):
            if isinstance(node, ast.Call) and getattr(node.func, "id", "") == "Note" and node.args:
                found |= {leaf.value for leaf in ast.walk(node.args[0]) if isinstance(leaf, ast.Constant)}
    found -= {"measured"}  # what a choice between two codes compares with
    assert found
    assert found <= known


@pytest.mark.parametrize("system", ["si", "us"])
def test_every_standard_change_has_a_name_that_fits_a_table(system: str) -> None:
    for path in sorted(default_scenario_path().parent.glob("*.toml")):
        for change in standard_changes(load_scenario(path)):
            name = phrases.change(change.code, change.values, system)
            assert name
            assert len(name) <= 40
            assert not re.search(r"°C|\bK\b|mm|m2K" if system == "us" else r"°F|R-\d", name)
    assert phrases.change("warmer-setpoint", {"difference_k": 1.0}, "us") == "set point 1.8 °F higher"
    assert phrases.change("insulation-floor", {"thickness_mm": 20.0}, "us") == "0.8 in more insulation in the floor"


def test_what_is_left_out_is_said_by_why() -> None:
    said = phrases.left_out({"white paint": "changes-nothing", "eco": "changes-nothing", "fan": "does-not-apply"})
    assert said == "already so: white paint and eco; does not apply here: fan"
