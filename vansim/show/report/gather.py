"""From studies to findings: each fact is read once, from where it was computed."""

from __future__ import annotations

import datetime
import math
from collections.abc import Mapping
from typing import Any

import numpy as np
import pandas as pd

from vansim.runs.night_table import needed_nights
from vansim.scenario.schema import AT_BEDTIME, Scenario
from vansim.show.report import findings as f
from vansim.show.report import findings_after as after
from vansim.show.report.gather_van import van_found
from vansim.show.report.studies import Studies
from vansim.show.text.account import clocks_of, kind_of
from vansim.studies.attendance import unattended
from vansim.studies.missing_charging import LONGEST_RUN, MissingCharging
from vansim.studies.nights import Nights
from vansim.studies.outage import Course, Outage
from vansim.studies.side_by_side import mode_numbers
from vansim.studies.sizing import Sizing
from vansim.studies.upgrades import MOST_ADDED, Upgrades


def findings_of(studies: Studies) -> f.Findings:
    """Read what a report says from its studies.

    Parameters
    ----------
    studies : Studies
        Run.

    Returns
    -------
    Findings
        Plain values.
    """
    return f.Findings(
        occasion=_occasion(studies),
        van=van_found(studies.result, studies.which, studies.nights.design),
        night=_night(studies),
        season=_season(studies.nights),
        help=None if studies.upgrades is None else _help(studies.upgrades),
        bank=None if studies.sizing is None else _bank(studies.sizing),
        modes=tuple(_mode(mode, studies) for mode in studies.modes),
        energy=_energy(studies),
        recharge=_recharge(studies),
        thresholds=_thresholds(studies),
        outages=tuple(_outage(found) for found in studies.outages),
        bias=_bias(studies),
        unattended=_unattended(studies),
        balance=max(abs(value) for value in studies.result.balance.values()),
    )


def _moment(value: Any) -> datetime.datetime | None:
    """A moment in the place's own time, without the zone: nobody reads one in a report."""
    return None if pd.isna(value) else pd.Timestamp(value).tz_localize(None).to_pydatetime(warn=False)


def _there(value: Any) -> datetime.datetime:
    moment = _moment(value)
    assert moment is not None
    return moment


def _day(value: Any) -> datetime.date:
    return pd.Timestamp(value).date()


def _occasion(studies: Studies) -> f.Occasion:
    scenario, design = studies.scenario, studies.nights.design
    weather = studies.result.run.weather
    return f.Occasion(
        title=scenario.title,
        place=weather.site.name,
        weather_kind=weather.kind,
        label=scenario.night.label,
        bedtime=scenario.night.bedtime,
        waking=scenario.night.waking,
        limit_c=scenario.night.limit_c,
        setpoint_c=scenario.thermostat.setpoint_c,
        grace_min=scenario.night.grace_min,
        target=design.target,
        currency=scenario.currency,
        season=design.season.nights.label,
        people=len(scenario.occupants.people),
        dogs=len(scenario.occupants.dogs),
        full_at_bedtime=scenario.run.start == AT_BEDTIME,
        account_kind=kind_of(design.season.times),
        account_clocks=tuple(clocks_of(design.season.times)),
        start_soc=design.start_soc,
    )


def _night(studies: Studies) -> f.NightFound:
    night = studies.result.night(studies.which)
    row, every = night.row, studies.result.nights
    numbers = (
        "bedtime_soc", "waking_soc", "runtime_h", "cabin_at_empty_c", "bedtime_cabin_c", "cabin_max_c",
        "over_limit_h", "outdoor_low_c", "outdoor_mean_c", "duty", "evening_wh", "cooler_wh", "loads_wh",
        "charged_wh",
    )  # fmt: skip
    return f.NightFound(
        date=_day(night.date),
        bedtime_at=_there(night.bedtime),
        waking_at=_there(night.waking),
        empty_at=_moment(row["empty_at"]),
        nights=len(every),
        nights_covered=int(every["covered"].sum()),
        covered=bool(row["covered"]),
        why=str(row["why"]),
        outlasts=bool(row["outlasts"]),
        starts=int(row["starts"]),
        **{name: float(row[name]) for name in numbers},
    )


def _season(nights: Nights) -> f.SeasonFound:
    design, read = nights.design, nights.headline
    table, outdoor = read.table, read.table["outdoor_mean_c"]
    warmest = table.iloc[int(np.argmax(outdoor))]
    return f.SeasonFound(
        nights=read.count,
        needed=needed_nights(read.count, design.target),
        independent=nights.independent.covered,
        consecutive=nights.consecutive.covered,
        judged=nights.judged,
        reason=nights.reason,
        in_a_row_worst=nights.in_a_row.worst,
        in_a_row_median=nights.in_a_row.median,
        in_a_row_most=LONGEST_RUN,
        lacks={why: count for why, count in read.reasons().items() if count},
        missing=tuple(_charging(way) for way in nights.missing),
        planned=planned(design.scenario),
        months=tuple(
            f.MonthFound(
                month=str(month),
                nights=int(row["nights"]),
                covered=round(float(row["covered_share"]) * int(row["nights"])),
                runtime_p50_h=float(row["runtime_p50_h"]),
                runtime_p10_h=float(row["runtime_p10_h"]),
            )
            for month, row in read.by_month.iterrows()
        ),
        runtime_p50_h=read.runtime_h(0.5),
        runtime_p10_h=read.runtime_h(0.1),
        warmest_c=float(outdoor.max()),
        mildest_c=float(outdoor.min()),
        warmest_runtime_h=float(warmest["runtime_h"]),
        warmest_outlasts=bool(warmest["outlasts"]),
    )


def planned(scenario: Scenario) -> tuple[str, ...]:
    """Ways in which a plan charges."""
    segments = [segment for day in scenario.days() for segment in day.segment]
    engine = {segment.doing for segment in segments} if scenario.alternator is not None else set()
    found = [way for way, doing in (("road", "driving"), ("idling", "idling")) if doing in engine]
    if scenario.shore is not None and scenario.charger is not None and any(s.shore for s in segments):
        found.append("shore")
    if scenario.solar is not None and scenario.solar.rated_w > 0.0:
        found.append("solar")
    return tuple(found)


def _charging(way: MissingCharging) -> f.ChargingFound:
    return f.ChargingFound(way=way.way, amount=way.amount, share=way.share)


# --- what would help --------------------------------------------------------------------------------------------------


def _help(upgrades: Upgrades) -> f.HelpFound:
    singles = [_change(upgrades, (str(code),), row) for code, row in upgrades.table.iterrows()]
    best = upgrades.best
    pairs = upgrades.pairs[~upgrades.pairs["loses_nights"].astype(bool)]
    pair = None
    if len(pairs):
        row = pairs.iloc[0]
        pair = _change(upgrades, (str(row["first"]), str(row["second"])), row)
    return f.HelpFound(
        changes=tuple(singles),
        best_place=None if best is None else next(i for i, one in enumerate(singles) if one.codes == (str(best.name),)),
        pair=pair,
        design_date=_day(upgrades.design_night),
        most_batteries=MOST_ADDED * upgrades.base.bank.series,
        left_out=tuple((code, dict(upgrades.changes[code].values), why) for code, why in upgrades.left_out.items()),
    )


def _change(upgrades: Upgrades, codes: tuple[str, ...], row: Mapping[Any, Any] | pd.Series[Any]) -> f.ChangeFound:
    price = float(row["added_price"])
    return f.ChangeFound(
        codes=codes,
        values=tuple(dict(upgrades.changes[code].values) for code in codes),
        covered=int(row["covered"]),
        gained_nights=int(row["gained_nights"]),
        gained_kwh=float(row["gained_kwh"]),
        energy_saved_wh=float(row["energy_saved_wh"]),
        same_by_batteries=float(row["same_by_batteries"]),
        added_mass_kg=float(row["added_mass_kg"]),
        added_price=None if math.isnan(price) else price,
        loses_nights=bool(row["loses_nights"]),
    )


def _bank(sizing: Sizing) -> f.BankFound:
    sizes = tuple(
        f.SizeFound(int(row["units"]), float(row["usable_kwh"]), float(row["covered_share"]))
        for _, row in sizing.curve.iterrows()
    )
    if len(sizing.table):
        best = sizing.table.iloc[0]
        mass, price = float(best["mass_kg"]), float(best["price"])
        return f.BankFound(
            sizes=sizes,
            least_place=int(sizing.curve["chosen"].to_numpy(dtype=bool).argmax()),
            mass_kg=mass if mass > 0.0 else None,
            price=None if math.isnan(price) else price,
            why="",
            best_share=max(one.covered_share for one in sizes),
            most_parallel=0,
            nights_too_warm=0,
        )
    fault = sizing.failed.iloc[0]
    return f.BankFound(
        sizes=sizes,
        least_place=None,
        mass_kg=None,
        price=None,
        why=str(fault["why"]),
        best_share=float(fault["best_share"]),
        most_parallel=int(fault["most_parallel"]),
        nights_too_warm=int(fault["nights_too_warm"]),
    )


# --- after the night --------------------------------------------------------------------------------------------------


def _mode(mode: str, studies: Studies) -> f.ModeFound:
    numbers = mode_numbers(studies.modes[mode], studies.which)
    return f.ModeFound(
        mode=mode,
        cool_down_min=numbers.cool_down_min,
        cooler_wh=numbers.cooler_wh,
        waking_soc=numbers.waking_soc,
        starts=numbers.starts,
        empty_at=numbers.empty_at,
    )


def _energy(studies: Studies) -> after.EnergyFound:
    found = studies.energy
    rows = [
        after.CauseFound(str(cause), float(row["electric_wh"]), float(row["share"]), float(row["saved_wh"]))
        for cause, row in found.table.iterrows()
    ]
    # a cause without electricity that saves nothing when it is gone was not there
    telling = tuple(row for row in rows if row.electric_wh >= 0.5 or abs(row.saved_wh) >= 0.5)
    return after.EnergyFound(causes=telling, meter_wh=found.meter_wh)


def _unattended(studies: Studies) -> f.UnattendedFound | None:
    found = unattended(studies.nights.design)
    if found is None:
        return None
    values, empty = found.note.values, found.bank_empty
    return f.UnattendedFound(
        code=found.code,
        spans=tuple(zip(found.table["start"], found.table["end"], strict=True)),
        dogs=int(values["dogs"]),
        people=int(values["people"]),
        cooled=int(values["cooled_segments"]),
        no_person=found.no_person,
        how_empty="" if empty is None else empty.how,
        empty_at=None if empty is None or empty.at is None else _moment(empty.at),
    )


def _recharge(studies: Studies) -> after.RechargeFound:
    found = studies.recharge
    return after.RechargeFound(found.goal_soc, dict(found.hours), dict(found.outcome))


def _outage(found: Outage) -> after.OutageFound:
    return after.OutageFound(
        when=found.when,
        stop=found.stop,
        at=_there(found.moment),
        people=found.people,
        dogs=found.dogs,
        courses=tuple(_course(course) for course in found.courses),
    )


def _course(course: Course) -> after.CourseFound:
    cabin = course.series["cabin_c"]
    passed = tuple(course.lines["minutes"].astype(float))
    return after.CourseFound(course.covers, float(cabin.iloc[0]), float(cabin.iloc[60]), passed)


def _thresholds(studies: Studies) -> tuple[after.LineFound, ...]:
    if not studies.outages:
        return ()
    lines = studies.outages[0].courses[0].lines
    return tuple(
        after.LineFound(str(code), float(row["value_c"]), plain_source(row["source"])) for code, row in lines.iterrows()
    )


def plain_source(source: Any) -> str:
    """A source as a customer may read it: how we came by it is for those who check the program."""
    return str(source).removesuffix(", from memory")


def _bias(studies: Studies) -> after.BiasFound | None:
    if not studies.outages:
        return None
    bias = studies.outages[0].bias
    return after.BiasFound(bias.first_half_hour_k, bias.one_hour_k, (min(bias.spread_k), max(bias.spread_k)))
