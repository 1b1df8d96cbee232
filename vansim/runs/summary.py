"""A run in few words and plain numbers: its answer, its warnings, and the summary that others script against."""

from __future__ import annotations

import math
from pathlib import Path
from typing import TYPE_CHECKING, Any

import pandas as pd

from vansim import phrases
from vansim.data import table
from vansim.notes import Note
from vansim.output_files import scenario_hash
from vansim.version import __version__

if TYPE_CHECKING:
    from vansim.runs.result import Result

NULLS = {
    "runtime_h": "no whole night lies in this run",
    "lowest_waking_soc": "no whole night lies in this run",
    "cabin_max_c": "no whole night lies in this run",
    "recharge_h": "not within 48 h",
    "empty_at": "no limit stopped the cooler",
    "stopped_by": "no limit stopped the cooler",
}
"""What ``null`` means in the summary, by key."""


def answer(result: Result, system: str = "si") -> str:
    """What became of the nights of a run, in one or two sentences.

    Parameters
    ----------
    result : Result
        The run.
    system : {"si", "us"}
        Units shown.
    """
    asked = result.run.scenario.night
    return phrases.answer(
        status=result.status,
        nights=len(result.nights),
        nights_covered=int(result.nights["covered"].sum()),
        limit_c=asked.limit_c,
        grace_min=asked.grace_min,
        telling=facts_of(result, telling_night(result)) if len(result.nights) else None,
        noun=asked.label,
        system=system,
    )


def telling_night(result: Result) -> int:
    """Row of the night that an answer tells of: the first that is not covered, else the one with least charge left."""
    covered = result.nights["covered"].to_numpy(dtype=bool)
    return int(covered.argmin()) if not covered.all() else int(result.nights["waking_soc"].to_numpy().argmin())


def facts_of(result: Result, place: int) -> phrases.NightFacts:
    """What is said of one night of a run.

    Parameters
    ----------
    result : Result
        The run.
    place : int
        Row of `Result.nights`.

    Returns
    -------
    NightFacts
        Where every night is covered, its time above the limit is the longest of them all.
    """
    night = result.night(place)
    row = night.row
    empty_at = None if pd.isna(row["empty_at"]) else pd.Timestamp(row["empty_at"])
    people, dogs = (0, 0) if empty_at is None else aboard_at(result, empty_at)
    over = result.nights["over_limit_h"].max() if result.status == "covered" else row["over_limit_h"]
    return phrases.NightFacts(
        date=night.date,
        bedtime=night.bedtime,
        waking=night.waking,
        waking_soc=float(row["waking_soc"]),
        cabin_max_c=float(row["cabin_max_c"]),
        over_limit_h=float(over),
        bedtime_cabin_c=float(row["bedtime_cabin_c"]),
        empty_at=empty_at,
        cabin_at_empty_c=float(row["cabin_at_empty_c"]),
        people=people,
        dogs=dogs,
        why=str(row["why"]),
        cooler=result.run.scenario.cooler is not None,
        stopped_by=str(row["stopped_by"]),
    )


def aboard_at(result: Result, moment: pd.Timestamp) -> tuple[int, int]:
    """People and dogs that the plan has in the van at a moment of the run."""
    seconds = (moment - result.moment(0)).total_seconds()
    start_s = result.run.laid.forcing.start_s
    place = max(int((start_s <= seconds + 1e-6).sum()) - 1, 0)
    segment, occupants = result.run.laid.segments[place], result.run.scenario.occupants
    people = 0 if segment.people == "out" else len(occupants.people)
    return people, 0 if segment.dogs == "out" else len(occupants.dogs)


def warnings(result: Result) -> tuple[Note, ...]:
    """What in the design asks for a second look.

    Parameters
    ----------
    result : Result
        The run.

    Returns
    -------
    tuple of Note
        ``current-above-battery-limit`` with `current_a` and `limit_a`: cooler at full power and other loads, against
        what the batteries may give; ``loads-unserved``: nothing more could be drawn
        from the bank, or the inverter shut off at low voltage; ``mains-loads-refused`` with `rated_w`: they exceed what
        inverter and breaker can give; ``hot-bank`` with `hours` and `limit_c`: too hot to be charged.
    """
    scenario, found = result.run.scenario, []
    unit, cooler = scenario.bank.unit, scenario.cooler
    if cooler is not None and unit.discharge_max_a > 0.0:
        limit = unit.discharge_max_a * scenario.bank.parallel
        watts = max(cooler.rated.power_w, cooler.power_max_w) + _highest_loads_w(result)
        amps = watts / (scenario.bank.nominal_v * 1.05)
        if amps > limit:
            found.append(Note("current-above-battery-limit", {"current_a": amps, "limit_a": limit}))
    refused_w = result.run.laid.forcing.refused_w
    if (result.intervals["unserved_w"] - refused_w).max() > 1.0:
        found.append(Note("loads-unserved"))
    if refused_w.max() > 0.0:
        found.append(Note("mains-loads-refused", {"rated_w": scenario.inverter.rated_w}))
    hot_h = _hot_bank_h(result)
    if hot_h > 0.0:
        limit_c = float(table("chemistries")[unit.chemistry]["charge-window"]["maximum_c"])
        found.append(Note("hot-bank", {"hours": hot_h, "limit_c": limit_c}))
    return tuple(found)


def _hot_bank_h(result: Result) -> float:
    """Time in which the bank was too hot to be charged while something was offered [h]."""
    p, f, bank = result.intervals, result.run.laid.forcing, result.run.bank
    bank_c = p["contents_c"] if result.run.scenario.bank.location == "cabin" else p["outdoor_c"]
    offered = (f.solar_w > 0.0) | (f.shore_w > 0.0) | (f.alternator_a > 0.0)
    return float(p["span_s"][(bank_c > bank.charge_to_c).to_numpy() & offered].sum()) / 3600.0


def _highest_loads_w(result: Result) -> float:
    """Most that the loads draw, all of an hour at once [W]."""
    f = result.run.laid.forcing
    return float((f.loads_w + f.peak_w + f.inverter_peak_w).max())


def summary(result: Result) -> dict[str, Any]:
    """What was run, what came out, and how well the books close.

    Parameters
    ----------
    result : Result
        The run.

    Returns
    -------
    dict
        Plain numbers, words and lists, ready for JSON; ``"null"`` says what an empty value means. `runtime_h`,
        `recharge_h` and `empty_at` are those of the night that the message tells of.
    """
    run, p, nights = result.run, result.intervals, result.nights
    scenario, hours = run.scenario, p["span_s"] / 3600.0
    night = nights.iloc[telling_night(result)] if len(nights) else None

    def energy(name: str) -> float:
        return float((p[name] * hours).sum())

    return {
        "title": scenario.title,
        "version": __version__,
        "scenario_hash": scenario_hash(scenario),
        "weather": {
            "place": run.weather.site.name,
            "kind": run.weather.kind,
            "source": Path(run.weather.source).name,
        },
        "units": "SI: W, Wh, h, °C; soc and duty are fractions",
        "from": result.index[0].isoformat(),
        "hours": float(hours.sum()),
        "status": result.status,
        "message": result.message,
        "nights": len(nights),
        "nights_covered": int(nights["covered"].sum()),
        "night_told": None if night is None else pd.Timestamp(str(night.name)).date().isoformat(),
        "runtime_h": None if night is None else float(night["runtime_h"]),
        "stopped_by": None if night is None or not night["stopped_by"] else night["stopped_by"],
        "empty_at": None if night is None or pd.isna(night["empty_at"]) else night["empty_at"].isoformat(),
        "recharge_h": {} if night is None else recharge_of(night),
        "lowest_waking_soc": None if night is None else float(nights["waking_soc"].min()),
        "lowest_soc": float(p["soc"].min()),
        "end_soc": float(result.marched.end.soc),
        "limit_c": scenario.night.limit_c,
        "grace_min": scenario.night.grace_min,
        "reserve_soc": scenario.bank.reserve_soc,
        "cabin_max_c": None if night is None else float(nights["cabin_max_c"].max()),
        "duty": float((p["duty"] * hours).sum() / hours.sum()),
        "starts": int(p["starts"].sum()),
        "cooler_wh": energy("cooler_w"),
        "loads_wh": energy("loads_w"),
        "solar_wh": energy("solar_w"),
        "alternator_wh": energy("alternator_w"),
        "shore_wh": energy("shore_w"),
        "pedestal_wh": energy("pedestal_w"),
        "unserved_wh": energy("unserved_w"),
        "warnings": [{"code": note.code, **note.values, "text": phrases.note(note)} for note in result.warnings],
        "balance": result.balance,
        "null": NULLS,
    }


def recharge_of(night: pd.Series[Any]) -> dict[str, float | None]:
    """Hours to recharge after a night of `Result.nights`, by way; None where 48 h do not do it."""
    named = {
        str(name)[len("recharge_") : -len("_h")]: float(night[name]) for name in night.index if "recharge_" in name
    }
    return {way: hours if math.isfinite(hours) else None for way, hours in named.items()}
