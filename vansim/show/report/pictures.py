"""The pictures of a report, each at two widths and with a table of its main values."""

from __future__ import annotations

from vansim import phrases
from vansim.show import plots
from vansim.show.report.answer import called
from vansim.show.report.findings import ChangeFound, Findings
from vansim.show.report.findings_after import LineFound
from vansim.show.report.sections import Picture, Row, Table
from vansim.show.report.studies import Studies


def _t(value: float, system: str) -> str:
    return phrases.temperature(value, system)


# --- the night --------------------------------------------------------------------------------------------------------


def night_brief(studies: Studies, found: Findings, system: str) -> Picture:
    """Temperatures and charge of the night that is shown."""
    return Picture(
        "night",
        lambda width: plots.night(studies.result, studies.which, system, width, brief=True),
        night_table(found, system),
        fills=True,
    )


def night_whole(studies: Studies, found: Findings, system: str) -> Picture:
    """The same with compressor and power."""
    n = found.night
    rows: tuple[Row, ...] = (
        ("Compressor", f"on {phrases.percent(n.duty)} of the time, {phrases.count(n.starts, 'start')}"),
        ("Cooler and other loads before then", phrases.energy(n.evening_wh)),
        ("Cooler from then on", phrases.energy(n.cooler_wh)),
        ("Other loads from then on", phrases.energy(n.loads_wh)),
        ("Charged by sun, engine and shore", phrases.energy(n.charged_wh)),
    )
    o = found.occasion
    begin = "bedtime" if o.label == "night" else o.bedtime
    table = Table(
        f"The {o.label} of {phrases.date(n.date)}: compressor and energy, {begin} to {_end(found)}",
        ("What", "Value"),
        rows,
    )
    return Picture("night-whole", lambda width: plots.night(studies.result, studies.which, system, width), table)


def _end(found: Findings) -> str:
    return "waking" if found.occasion.label == "night" else found.occasion.waking


def night_table(found: Findings, system: str) -> Table:
    """Temperatures and charge in figures."""
    n, o = found.night, found.occasion
    begin = "bedtime" if o.label == "night" else o.bedtime
    rows: list[Row] = [
        ("Outdoors, lowest and mean", f"{_t(n.outdoor_low_c, system)}, {_t(n.outdoor_mean_c, system)}"),
        ("Cabin, warmest", _t(n.cabin_max_c, system)),
        ("Above the limit", phrases.duration(n.over_limit_h)),
        (f"Charge at {begin}", phrases.percent(n.bedtime_soc)),
        (f"Charge {phrases.at_end(o.label)}", phrases.percent(n.waking_soc)),
    ]
    if n.empty_at is not None:
        rows.insert(3, ("Bank at its reserve", phrases.time_of_day(n.empty_at)))
    return Table(f"The {o.label} of {phrases.date(n.date)}, {begin} to {_end(found)}", ("What", "Value"), tuple(rows))


# --- the season -------------------------------------------------------------------------------------------------------


def calendar(studies: Studies, found: Findings, system: str) -> Picture:
    """A square a night."""
    table = months_table(found)
    return Picture("calendar", lambda width: plots.calendar(studies.nights, system, width), table, fills=True)


def months_table(found: Findings) -> Table:
    """Nights by month."""
    rows = tuple(
        (
            phrases.season(month.month),
            f"{month.covered} of {month.nights}",
            phrases.runtime_cell(month.runtime_p50_h),
            phrases.runtime_cell(month.runtime_p10_h),
        )
        for month in found.season.months
    )
    many = phrases.plural(found.occasion.label)
    kind = "independent" if found.season.judged == "independent" else "consecutive"
    head = ("Month", "Covered", "Runtime, median", "Runtime, 1 in 10 is shorter")
    return Table(f"By month, {kind} {many}", head, rows)


def outdoors(studies: Studies, found: Findings, system: str) -> Picture:
    """Runtime against outdoor temperature."""
    s, o = found.season, found.occasion
    rows = (
        (f"Outdoors on average, mildest {o.label}", _t(s.mildest_c, system)),
        (f"Outdoors on average, warmest {o.label}", _t(s.warmest_c, system)),
        (f"Runtime on the warmest {o.label}", phrases.runtime(s.warmest_runtime_h, s.warmest_outlasts)),
    )
    table = Table(f"All {s.nights} {phrases.plural(o.label)}", ("What", "Value"), rows)
    return Picture("outdoors", lambda width: plots.runtime_against_outdoors(studies.nights, system, width), table)


# --- what would help --------------------------------------------------------------------------------------------------


def changes(studies: Studies, found: Findings, system: str) -> Picture:
    """Single changes in their order, and the best two together."""
    upgrades = studies.upgrades
    assert upgrades is not None
    assert found.help is not None
    rows: list[Row] = [
        (called(change, system), _nights(change.gained_nights), _kwh(change.gained_kwh), _wh(change.energy_saved_wh))
        for change in found.help.changes
        if does_something(change)
    ]
    if found.help.pair is not None:
        pair = found.help.pair
        both = f"Both: {called(pair, system)}"
        rows.append((both, _nights(pair.gained_nights), _kwh(pair.gained_kwh), _wh(pair.energy_saved_wh)))
    o = found.occasion
    head = (
        "Change", f"{phrases.plural(o.label).capitalize()} gained", f"Charge gained {phrases.at_end(o.label)}",
        f"Energy a {o.label}, change",
    )  # fmt: skip
    table = Table("Changes, the best first", head, tuple(rows), (6, 2, 3, 3))
    return Picture("changes", lambda width: plots.upgrades(upgrades, system, width), table)


def does_something(change: ChangeFound) -> bool:
    """Whether a change shows in nights, charge or energy."""
    return bool(change.gained_nights) or abs(change.gained_kwh) >= 0.0005 or abs(change.energy_saved_wh) >= 0.5


def _nights(gained: int) -> str:
    return "0" if not gained else f"{'+' if gained > 0 else phrases.MINUS}{abs(gained)}"


def _kwh(gained: float) -> str:
    return _signed(1000.0 * gained)


def _wh(saved: float) -> str:
    return _signed(-saved)


def _signed(value_wh: float) -> str:
    said = phrases.energy(abs(value_wh))
    return said if said.startswith("0 ") else f"{'+' if value_wh > 0 else phrases.MINUS}{said}"


def sizes(studies: Studies, found: Findings, system: str) -> Picture:
    """Nights covered against the size of the bank."""
    sizing, bank = studies.sizing, found.bank
    assert sizing is not None
    assert bank is not None
    rows = tuple(
        (
            phrases.count(size.units, "battery"),
            phrases.energy(1000.0 * size.usable_kwh),
            phrases.percent(size.covered_share),
        )
        for size in bank.sizes
    )
    noun = found.occasion.label
    table = Table("Batteries like those fitted", ("Bank", "Usable", "Covered"), rows)
    return Picture("sizes", lambda width: plots.bank_size(sizing, system, width, noun), table)


def modes(studies: Studies, found: Findings, system: str) -> Picture:
    """Eco against boost."""
    rows = tuple(
        (
            mode.mode.capitalize(),
            phrases.cool_down(mode.cool_down_min),
            phrases.energy(mode.cooler_wh),
            str(mode.starts),
            phrases.percent(mode.waking_soc),
        )
        for mode in found.modes
    )
    head = ("Mode", "Cool-down to the limit", "Cooler", "Starts", f"Charge {phrases.at_end(found.occasion.label)}")
    table = Table("The same account in one mode throughout", head, rows)
    eco, boost = studies.modes["eco"], studies.modes["boost"]
    return Picture("modes", lambda width: plots.eco_against_boost(eco, boost, system, width, studies.which), table)


# --- after the night --------------------------------------------------------------------------------------------------


def causes(studies: Studies, found: Findings, system: str) -> Picture:
    """Where the electricity went, and what would be saved."""
    rows = tuple(
        (
            phrases.cause(cause.cause).capitalize(),
            phrases.energy(cause.electric_wh),
            phrases.percent(cause.share),
            _saved(cause.saved_wh),
        )
        for cause in found.energy.causes
    )
    table = Table("Causes, the largest first", ("Cause", "Energy", "Share", "Saved without it"), rows)
    return Picture("causes", lambda width: plots.energy(studies.energy, system, width), table)


def _saved(value_wh: float) -> str:
    said = phrases.energy(abs(value_wh))
    return said if value_wh >= 0.0 or said.startswith("0 ") else f"{phrases.MINUS}{said}"


def recharging(studies: Studies, found: Findings, system: str) -> Picture:
    """How soon the bank is full again."""
    rows = tuple(
        (phrases.way(way, system=system).capitalize(), _recharged(hours, found.recharge.outcome[way]))
        for way, hours in found.recharge.hours.items()
    )
    start, goal = phrases.percent(found.night.waking_soc), phrases.percent(found.recharge.goal_soc)
    table = Table(f"From {start} to {goal}", ("Way of charging", "Time"), rows)
    return Picture("recharging", lambda width: plots.recharge(studies.recharge, system, width), table)


def _recharged(hours: float | None, outcome: str) -> str:
    if outcome == "nothing_given":
        return "never: it gives nothing here"
    if outcome == "loads_exceed_charging":
        return "never: the other loads take more than it gives"
    return phrases.within(hours)


def stopped(studies: Studies, found: Findings, case: int, system: str) -> Picture:
    """The cabin once the cooling has stopped."""
    outage, told = studies.outages[case], found.outages[case]
    head: Row = ("Threshold", "At", *(f"Passed after, {phrases.course_name(course.covers)}" for course in told.courses))
    rows = tuple(
        (_line(line), _t(line.value_c, system), *(phrases.passed_after(c.passed_min[place]) for c in told.courses))
        for place, line in enumerate(found.thresholds)
    )
    table = Table("When published thresholds are passed, counted from the stop", head, rows)
    return Picture(f"stopped-{told.when.replace('_', '-')}", lambda width: plots.outage(outage, system, width), table)


def _line(line: LineFound) -> str:
    said = phrases.heat_line(line.line)
    return said[:1].upper() + said[1:]
