"""Answers as plain values, for JSON: the sentence, the account, tables in SI, notes with their codes."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from typing import Any

import pandas as pd

from vansim import phrases
from vansim.notes import Note
from vansim.runs.result import Result
from vansim.runs.summary import NULLS as RUN_NULLS
from vansim.scenario.schema import Scenario
from vansim.show.text import after, nights, run, side_by_side, size, upgrades, wording
from vansim.show.text import compare as compared
from vansim.show.text.account import clocks_of, kind_of, run_account, season_account
from vansim.studies.compare import Comparison
from vansim.studies.cool_down import FOLLOWED_H as COOL_DOWN_H
from vansim.studies.design import Design, NightsReading
from vansim.studies.energy import Energy
from vansim.studies.missing_charging import LONGEST_RUN, MissingCharging
from vansim.studies.nights import Nights
from vansim.studies.outage import FOLLOWED_H, Outage
from vansim.studies.recharge import Recharge
from vansim.studies.side_by_side import SideBySide
from vansim.studies.sizing import Sizing
from vansim.studies.upgrades import MOST_ADDED, Upgrades

Plain = dict[str, Any]

NULLS = RUN_NULLS | {
    "empty_at": "the bank does not come down to its reserve",
    "empty_at_without": "the bank would not come down to its reserve",
    "cabin_at_empty_c": "the bank does not come down to its reserve",
    "amount": "the most that there is room for is not enough",
    "price": "not every price is known",
    "added_price": "not every price is known",
    "cheapest": "no bank does it, or not every price is known",
    "best": "none",
    "pair": "no two changes that gain something",
    "season": "of each file its own hottest three months",
    "usable_kwh": "no bank does it; why tells",
    "parallel": "no bank does it; why tells",
    "units": "no bank does it; why tells",
    "first_lost": "every night is covered",
    "largest_usable_kwh": "in some place no bank does it",
    "worst_run": "every night is covered",
    "worst_run_from": "every night is covered",
    "bank_empty_at": "not within 48 h from bedtime",
    "later_min": "one of the two does not cool down to the limit",
    "recharge_road_h": "not within 48 h, or no such way is fitted",
    "recharge_idling_h": "not within 48 h, or no such way is fitted",
    "recharge_shore_h": "not within 48 h, or no such way is fitted",
    "recharge_solar_h": "not within 48 h, or no such way is fitted",
    **dict.fromkeys(("road", "idling", "shore", "solar"), "not within 48 h; in a course, after the goal"),
    "cool_down_min": f"{phrases.within(None, COOL_DOWN_H)}, or no cooling is planned",
    "same_by_batteries": f"not even {MOST_ADDED} strings more do as much",
    "minutes": phrases.within(None, FOLLOWED_H),
    "heat_index_c": "off the scale; off_scale says why",
    "cycle_wh": "the compressor did not start",
    "reading": "no nights are read in the sun",
}
"""What ``null`` means, by key."""


def explained(data: Any) -> dict[str, str]:
    """What each ``null`` in plain data means, by its key."""
    return {key: NULLS.get(key, "not known") for key in dict.fromkeys(_null_keys(data))}


def _null_keys(data: Any, key: str = "") -> Iterator[str]:
    if data is None:
        yield key
    elif isinstance(data, Mapping):
        for name, value in data.items():
            yield from _null_keys(value, str(name))
    elif isinstance(data, list | tuple):
        for value in data:
            yield from _null_keys(value, key)


def said(notes: tuple[Note, ...], system: str) -> list[Plain]:
    """Notes with their codes, values and words."""
    return [{"code": note.code, **note.values, "text": phrases.note(note, system=system)} for note in notes]


def asked_of(scenario: Scenario) -> Plain:
    """What a night must keep to, and the reserve."""
    night = scenario.night
    return {
        "label": night.label,
        "bedtime": night.bedtime,
        "waking": night.waking,
        "limit_c": night.limit_c,
        "grace_min": night.grace_min,
        "reserve_soc": scenario.bank.reserve_soc,
    }


def _season(design: Design, notes: tuple[Note, ...], system: str) -> Plain:
    return {
        "account": season_account(design, readings=True),
        "account_begins": kind_of(design.season.times),
        "account_starts": clocks_of(design.season.times),
        "full_at_bedtime": design.full_at_bedtime,
        "start_soc": design.start_soc,
        "target": design.target,
        "season": design.season.nights.label,
        "night": asked_of(design.scenario),
        "notes": said(notes, system),
    }


# --- one run ----------------------------------------------------------------------------------------------------------


def run_data(result: Result, system: str = "si") -> Plain:
    """A run: its summary, its account, its nights, and the energy of its only night."""
    data = result.summary | {"message": result.answer(system), "account": run_account(result)}
    data["night"] = asked_of(result.run.scenario)
    data["nights_table"] = result.nights
    if len(result.nights) == 1:
        data["energy"] = run.energy_table(result, 0)
        data["duty_by_hour"] = {f"{t:%H}": v for t, v in run.duty_by_hour(result, result.night(0)).items()}
    return data


# --- a season ---------------------------------------------------------------------------------------------------------


def reading_data(reading: NightsReading, target: float) -> Plain:
    """One reading of a season."""
    return {
        "covered": reading.covered,
        "nights": reading.count,
        "share": reading.share,
        "start_soc": reading.start_soc,
        "bedtime_soc_p50": float(reading.table["bedtime_soc"].median()),
        "lowest_waking_soc": float(reading.table["waking_soc"].min()),
        "runtime_p10_h": reading.runtime_h(0.1),
        "runtime_p50_h": reading.runtime_h(0.5),
        "outlast_share": reading.outlast_share,
        "not_covered": reading.reasons(),
        "design_night": reading.night(reading.design_night(target)),
        "by_month": reading.by_month,
        "table": reading.table,
    }


def missing_data(missing: tuple[MissingCharging, ...]) -> list[Plain]:
    """What charging is missing, way by way."""
    return [
        {
            "way": one.way,
            "amount": one.amount,
            "most": one.most,
            "unit": "W" if one.way == "solar" else "min a day",
            "share": one.share,
        }
        for one in missing
    ]


def nights_data(found: Nights, system: str = "si") -> Plain:
    """Nights of a season in both readings."""
    facts = nights.season_facts(found)
    row = found.in_a_row
    return {
        "answer": nights.headline(found),
        **_season(found.design, found.notes, system),
        "judged": found.judged,
        "reason": found.reason,
        "needed": facts.needed,
        "in_a_row": {"worst": row.worst, "median": row.median, "counted_to": LONGEST_RUN},
        "missing": missing_data(found.missing),
        "independent": reading_data(found.independent, found.design.target),
        "consecutive": reading_data(found.consecutive, found.design.target),
    }


def size_data(found: Sizing, scenario: Scenario, system: str = "si") -> Plain:
    """Sizes of a bank."""
    design = found.best or found.short_of_charging
    data: Plain = {"answer": size.headline(found, scenario, system)}
    if design is not None:
        data |= _season(design, found.notes, system)
    if found.best is not None and not found.best.recharges_by_plan:
        best = Nights(found.best, ())
        row = best.in_a_row
        data["in_a_row"] = {"worst": row.worst, "median": row.median, "counted_to": LONGEST_RUN}
        data["missing"] = missing_data(best.missing)
    else:
        data["missing"] = missing_data(found.missing)
    return data | {
        "season": found.season,
        "target": found.target,
        "night": asked_of(scenario),
        "notes": said(found.notes, system),
        "judged": found.judged,
        "currency": scenario.currency,
        "cheapest": None if found.cheapest is None else found.cheapest.to_dict(),
        "size": found.table,
        "curve": found.curve,
        "failed": found.failed,
        "strings_for_independent": 0 if found.short_of_charging is None else found.short_of_charging.bank.parallel,
    }


def compare_data(found: Comparison, system: str = "si") -> Plain:
    """Designs side by side."""
    return {
        "answer": compared.headline(found),
        **_season(found.base, found.notes, system),
        "judged": found.judged,
        "currency": found.base.scenario.currency,
        "designs": found.table,
    }


def upgrades_data(found: Upgrades, system: str = "si") -> Plain:
    """A ranking of changes, each with its words."""
    table = found.table.assign(words=[upgrades.name_of(found, str(code), system) for code in found.table.index])
    return {
        "answer": upgrades.headline(found, system),
        **_season(found.base, found.notes, system),
        "reading": found.reading,
        "nights": len(found.base.season.times),
        "design_night": found.design_night,
        "before": {
            "covered": found.before.covered,
            "waking_soc": found.before.waking_soc,
            "left_kwh": found.before.left_kwh,
            "energy_wh": found.before.energy_wh,
            "other_covered": found.before.other_covered,
        },
        "best": None if found.best is None else str(found.best.name),
        "pair": upgrades.pair_text(found, system) if len(found.pairs) else None,
        "upgrades": table,
        "pairs": found.pairs,
        "values": {code: dict(change.values) for code, change in found.changes.items()},
        "left_out": found.left_out,
    }


# --- after a night, and instead of it ---------------------------------------------------------------------------------


def energy_data(found: Energy, scenario: Scenario) -> Plain:
    """Where a night's electricity went."""
    names = (
        "night", "nights", "date", "account", "bedtime", "waking", "label", "full_at_bedtime", "cooler_wh", "loads_wh",
        "losses_wh", "meter_wh", "cycle_wh", "waking_soc", "empty_at",
    )  # fmt: skip
    plain = {name: getattr(found, name) for name in names}
    plain["night"] = found.night + 1
    return {"answer": after.energy_lines(found, scenario)[0], **plain, "notes": said(found.notes, "si"),
            "energy": found.table}  # fmt: skip


def side_by_side_data(found: SideBySide, system: str = "si") -> Plain:
    """One night in two designs."""
    one, (first, second) = found.results[0].night(found.night), found.table.to_dict("records")
    return {
        "answer": side_by_side.answer(found, system),
        "account": run_account(found.results[0]),
        "date": one.date,
        "night": found.night + 1,
        "nights": len(found.results[0].nights),
        "asked": asked_of(found.results[0].run.scenario),
        "designs": found.table,
        "less_energy_share": 1.0 - first["account_cooler_wh"] / max(second["account_cooler_wh"], 1e-9),
        "later_min": first["cool_down_min"] - second["cool_down_min"],
    }


def recharge_data(found: Recharge, system: str = "si") -> Plain:
    """Recharging after a night."""
    return {
        "answer": after.recharge_lines(found, system)[0],
        "night": found.night + 1,
        "nights": found.nights,
        "date": found.date,
        "waking": found.waking,
        "label": found.label,
        "full_at_bedtime": found.full_at_bedtime,
        "start_soc": found.start_soc,
        "goal_soc": found.goal_soc,
        "hours": found.hours,
        "outcome": found.outcome,
        "course": found.table,
    }


def outage_data(found: Outage, system: str = "si") -> Plain:
    """The cabin after the cooling has stopped."""
    return {
        "caution": wording.OUTAGE_CAUTION,
        "answer": after.start_text(found),
        **_season(found.design, found.notes, system),
        "when": found.when,
        "stop": found.stop,
        "moment": found.moment,
        "reading": found.reading,
        "people": found.people,
        "dogs": found.dogs,
        "shade": found.segment.shade,
        "bias": {
            "minutes": list(found.bias.minutes),
            "bias_k": list(found.bias.bias_k),
            "spread_k": list(found.bias.spread_k),
        },
        "courses": [
            {"covers": course.covers, "series": course.series, "thresholds": course.lines} for course in found.courses
        ],
    }


def weather_data(described: Mapping[str, Any], system: str = "si") -> Plain:
    """The description of a typical year; notes with their words."""
    return dict(described) | {"notes": said(tuple(described["notes"]), system)}


def tables_of(outage: Outage) -> dict[str, pd.DataFrame]:
    """Courses of an outage as one table, and the thresholds of all."""
    series = pd.concat([course.series.assign(covers=course.covers) for course in outage.courses])
    return {"outage": series, "thresholds": outage.table}
