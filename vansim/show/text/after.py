"""What comes after a night, or instead of it: where its energy went, recharging, and an outage, on a terminal."""

from __future__ import annotations

import math

import pandas as pd

from vansim import phrases
from vansim.runs.recharge import ROAD_KMH
from vansim.scenario.schema import Scenario
from vansim.show.text.account import season_account
from vansim.show.text.nights import notes_lines
from vansim.show.text.tables import table_lines
from vansim.show.text.wording import OUTAGE_CAUTION
from vansim.studies.energy import Energy
from vansim.studies.outage import FOLLOWED_H, Course, Outage
from vansim.studies.recharge import Recharge

SHOWN_MIN = (0, 10, 20, 30, 60, 120, 240, 480)
SHOWN_H = (0, 1, 2, 3, 4, 6, 8, 12, 24, 36, 48)


def clock(moment: pd.Timestamp) -> str:
    """Clock time of a moment."""
    return phrases.time_of_day(moment)


def which_night(date: pd.Timestamp, place: int, nights: int, label: str) -> str:
    """A night with its number: ``"night of 15 July (1 of 3)"``."""
    return f"{label} of {phrases.date(date)} ({place + 1} of {nights})"


# --- energy -----------------------------------------------------------------------------------------------------------


def energy_lines(found: Energy, scenario: Scenario) -> list[str]:
    """Where the electricity of a night's account went, and what it would save without each cause.

    Parameters
    ----------
    found : Energy
        The study.
    scenario : Scenario
        What was run.

    Returns
    -------
    list of str
        Lines to print; energies are in Wh in both systems of units.
    """
    night = which_night(found.date, found.night, found.nights, found.label)
    top = found.table.iloc[0]
    total, used = phrases.energy(found.meter_wh), phrases.energy(top["electric_wh"])
    rows = energy_rows(found)
    lines = [
        f"Largest share: {phrases.cause(found.largest)}, {used} of {total} in the {night}; without it, "
        f"{phrases.energy(abs(top['saved_wh']))} {'less' if top['saved_wh'] >= 0.0 else 'more'} would be used.",
        "",
        f"Account: {clock(found.account)} to {clock(found.waking)} ({clock(found.bedtime)} is {_bed(found.label)}). At "
        f"the bank: cooler {phrases.energy(found.cooler_wh)}, other loads {phrases.energy(found.loads_wh)}, losses "
        f"{phrases.energy(found.losses_wh)}; {phrases.percent(found.waking_soc)} {phrases.at_end(found.label)}"
        + ("." if found.empty_at is None else f", empty at {clock(found.empty_at)}.")
        + (f" {phrases.EVENING_LEFT_OUT}" if found.full_at_bedtime else ""),
        "",
        *table_lines(
            ("cause", "heat", "electricity\nused", "share", "saved\nwithout", "charge\nleft"),
            rows,
        ),
        "",
        "  heat: brought into the cabin, its moisture included; what cools is negative",
        "  shares add up to the whole; what is saved without a cause comes from a run without it, and does not",
        f"  charge left: {phrases.at_end(found.label)}, in that run",
    ]
    starts = [row for row in rows if row[0] == phrases.cause("cycling")]
    if starts and scenario.cooler is not None:
        lines.append(
            f"  {starts[0][0]}: lost while the unit comes up to full cooling, time constant "
            f"{scenario.cooler.ramp_s:g} s: {starts[0][2]}, {starts[0][3]} of the whole"
        )
    if math.isfinite(found.cycle_wh):
        lines.append(
            f"  savings below {phrases.energy(found.cycle_wh)}, one run of the compressor, may be chance: where in its "
            "cycle it is at the end"
        )
    return [*lines, *notes_lines(found.notes)]


def _bed(label: str) -> str:
    return "bedtime" if label == "night" else "its beginning"


def energy_rows(found: Energy) -> list[tuple[str, ...]]:
    """Rows of the causes that brought heat, used electricity or would save some; whole watt-hours that add up."""
    table = found.table[(found.table[["heat_wh", "electric_wh", "saved_wh"]].abs() >= 0.5).any(axis=1)]
    used = phrases.whole_parts(table["electric_wh"].tolist())
    shares = [0.01 * share for share in phrases.whole_parts((100.0 * table["share"]).tolist())]
    rows = [
        (
            phrases.cause(str(name)), phrases.watt_hours(row["heat_wh"]), phrases.watt_hours(wh),
            phrases.percent(share), phrases.watt_hours(row["saved_wh"]), phrases.percent(row["waking_soc_without"]),
        )
        for wh, share, (name, row) in zip(used, shares, table.iterrows(), strict=True)
    ]  # fmt: skip
    total = (
        "all",
        phrases.NOTHING,
        phrases.watt_hours(sum(used)),
        phrases.percent(sum(shares)),
        phrases.NOTHING,
        phrases.NOTHING,
    )
    return [*rows, total]


# --- recharging -------------------------------------------------------------------------------------------------------


def recharge_lines(found: Recharge, system: str = "si") -> list[str]:
    """How soon the bank is full again after a night, by every way that the van is fitted for.

    Parameters
    ----------
    found : Recharge
        The study.
    system : {"si", "us"}
        Units shown.

    Returns
    -------
    list of str
        Lines to print.
    """
    night = which_night(found.date, found.night, found.nights, found.label)
    said = phrases.sentence(phrases.recharged(found.goal_soc, found.hours, ROAD_KMH, system))
    lines = [
        said,
        "",
        f"From the end of the {night}, {clock(found.waking)}, with {phrases.percent(found.start_soc)} left; the cooler "
        f"is off, all other loads stay on{_panels_help(found)}."
        + (f" {phrases.EVENING_LEFT_OUT}" if found.full_at_bedtime else ""),
    ]
    if not found.hours:
        return lines
    ways = [(way, phrases.way(way, ROAD_KMH, system)) for way in found.hours]
    rows = [(said, phrases.within(found.hours[way]) if found.hours[way] is not None
             else phrases.recharge_outcome(found.outcome[way])) for way, said in ways]  # fmt: skip
    lines += ["", *table_lines(("way", f"back at {phrases.percent(found.goal_soc)} after"), rows, left=(0, 1))]
    hours = [h for h in SHOWN_H if h in found.table.index]
    head = ("hours from then", *(str(h) for h in hours))
    course = [(said, *(charge_at(found, way, h) for h in hours)) for way, said in ways]
    return [*lines, "", *table_lines(head, course)]


def _panels_help(found: Recharge) -> str:
    """In which other ways the panels charge as well."""
    places = {"road": "on the road", "idling": "idling", "shore": "on shore power"}
    others = [places[way] for way in found.hours if way in places]
    return f", and the panels help {phrases.listed(others)}" if found.panels and others else ""


def charge_at(found: Recharge, way: str, hour: float) -> str:
    """State of charge some hours from waking; a dash once the goal was reached."""
    soc = float(found.table[way].to_numpy()[found.table.index.get_loc(hour)])
    return phrases.NOTHING if math.isnan(soc) else phrases.percent(soc)


# --- outage -----------------------------------------------------------------------------------------------------------


def outage_lines(found: Outage, system: str = "si") -> list[str]:
    """The cabin after the cooling has stopped; the caution first and last.

    Parameters
    ----------
    found : Outage
        The study.
    system : {"si", "us"}
        Units shown.

    Returns
    -------
    list of str
        Lines to print.
    """
    noun, bias = found.design.scenario.night.label, found.bias
    lines = [
        OUTAGE_CAUTION,
        "",
        start_text(found),
        "The van is parked and closed up from then on: windows and roof fan shut, nothing cooling, nothing charging"
        + (", in full sun." if found.when == "sun" else f", {phrases.shade(found.segment.shade)}."),
    ]
    if found.reading is not None:
        account = season_account(found.design, readings=found.reading == "consecutive")
        lines += [f"{account} {str(found.reading).capitalize()} {phrases.plural(noun)} were looked at."]
    lines += ["", *course_table(found, system), "", *threshold_table(found, system), ""]
    lines += [
        phrases.warm_up_bias(bias.first_half_hour_k, bias.one_hour_k, (min(bias.spread_k), max(bias.spread_k)), system),
        *notes_lines(found.notes, system),
        "",
        OUTAGE_CAUTION,
    ]
    return lines


def start_text(found: Outage) -> str:
    """Why and when the cooling stops, and who is aboard then."""
    return phrases.outage_start(
        found.stop,
        found.moment,
        people=found.people,
        dogs=found.dogs,
        noun=found.design.scenario.night.label,
        reading=found.reading or "independent",
    )


def course_table(found: Outage, system: str = "si") -> list[str]:
    """Cabin and heat index after some minutes, a pair of columns a course."""
    head = ["after"]
    for course in found.courses:
        name = phrases.course_name(course.covers)
        head += [f"{name}:\ncabin", f"\nheat index"]  # noqa: F541
    rows = []
    for minute in SHOWN_MIN:
        cells = [phrases.duration(minute / 60.0)]
        for course in found.courses:
            cabin_c = float(course.series["cabin_c"].to_numpy()[_place(course, minute)])
            cells += [phrases.temperature(cabin_c, system), heat_index_cell(course, minute, system)]
        rows.append(cells)
    return table_lines(head, rows)


def _place(course: Course, minute: float) -> int:
    """Row of a course that is next to a minute; it need not stop on a full one."""
    return int(abs(course.series.index.to_numpy(dtype=float) - minute).argmin())


def heat_index_cell(course: Course, minute: float, system: str = "si") -> str:
    """Heat index in its range; beyond it, that it is off the scale."""
    place = _place(course, minute)
    index_c, off_scale = (course.series[name].to_numpy()[place] for name in ("heat_index_c", "off_scale"))
    return phrases.heat_index(float(index_c), str(off_scale), system)


def threshold_table(found: Outage, system: str = "si") -> list[str]:
    """When each published threshold is passed, a column a course."""
    first = found.courses[0].lines
    rows = [
        (
            phrases.heat_line(str(code)), phrases.temperature(float(row["value_c"]), system),
            *(phrases.passed_after(float(c.lines["minutes"].to_numpy()[i]), FOLLOWED_H) for c in found.courses),
        )
        for i, (code, row) in enumerate(first.iterrows())
    ]  # fmt: skip
    head = ("threshold", "at", *(f"{phrases.course_name(course.covers)}:\npassed after" for course in found.courses))
    return [*table_lines(head, rows), "  dogs' survival line: at 90% humidity; it is higher in drier air"]
