"""The second page, and the appendix: what the answer rests on."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace

from vansim import phrases
from vansim.scenario.origins import origins
from vansim.show.report import pictures
from vansim.show.report.answer import called
from vansim.show.report.findings import Findings
from vansim.show.report.findings_after import OutageFound
from vansim.show.report.inputs import input_tables
from vansim.show.report.pictures import does_something
from vansim.show.report.sections import Block, Points, Section, Terms, Words
from vansim.show.report.studies import Studies
from vansim.show.report.van import van_table
from vansim.show.text import wording

GOOD_BALANCE = 1e-6


def page_two(studies: Studies, found: Findings, system: str) -> tuple[Section, ...]:
    """The van as it was understood, the season in a picture, safety."""
    table = van_table(found, origins(studies.scenario), system)
    safety = Points(tuple(wording.cautions(studies.scenario)), columns=2)
    return (
        Section("van", "The van as it was understood", (table,), new_page=True),
        Section("season", "The season", (pictures.calendar(studies, found, system),)),
        Section("safety", "Safety", (safety,)),
    )


def appendix(studies: Studies, found: Findings, system: str, whole: tuple[str, ...]) -> tuple[Section, ...]:
    """Everything else, each picture with its table.

    Parameters
    ----------
    studies, found : Studies, Findings
        What was computed.
    system : {"si", "us"}
        Units shown.
    whole : tuple of str
        Title and name, where the head of the report had no room for all of them.
    """
    parts: list[Section] = [
        Section("appendix", "Appendix", tuple(Words(f"In full: {text}") for text in whole), new_page=True)
    ]
    telling: tuple[Callable[[Studies, Findings, str], Section | None], ...] = (
        _night, _nights, _help, _bank, _modes, _energy, _recharging, _stopped, _inputs, _confidence, _glossary,
    )  # fmt: skip
    for tell in telling:
        section = tell(studies, found, system)
        if section is not None:
            parts.append(section)
    return tuple(parts)


def _sub(name: str, heading: str, *blocks: Block) -> Section:
    return Section(name, heading, blocks, level=3)


def _night(studies: Studies, found: Findings, system: str) -> Section:
    o, n = found.occasion, found.night
    more = phrases.covered(n.nights_covered, n.nights, o.label)
    which = "the first that is not is shown" if n.nights_covered < n.nights else "the first is shown"
    said = (Words(f"In this run {more}; {which}."),) if n.nights > 1 else ()
    brief = replace(pictures.night_table(found, system), on_paper_only=True)
    return _sub(
        "night-figures", f"The {o.label} in figures", *said, brief, pictures.night_whole(studies, found, system)
    )


def _nights(studies: Studies, found: Findings, system: str) -> Section:
    s, o = found.season, found.occasion
    many = phrases.plural(o.label)
    said = (
        f"{phrases.season(o.season)}, {phrases.count(s.nights, o.label)}: "
        f"{s.independent} covered when each is judged for itself, {s.consecutive} when they follow one another with "
        f"the planned charging. Runtimes are those of {_kind(found)} {many}: {phrases.runtime(s.runtime_p50_h)} in the "
        f"median, and 1 {o.label} in 10 is shorter than {phrases.runtime(s.runtime_p10_h)}."
    )
    months = replace(pictures.months_table(found), on_paper_only=True)
    return _sub("nights", f"Every {o.label}", Words(said), months, pictures.outdoors(studies, found, system))


def _kind(found: Findings) -> str:
    return "independent" if found.season.judged == "independent" else "consecutive"


def _help(studies: Studies, found: Findings, system: str) -> Section | None:
    if found.help is None or not found.help.changes:
        return None
    said = (
        "Each change is made alone, and the whole season is run again. What it gains depends on everything else in the "
        "van, so two together seldom gain the sum of both."
    )
    idle = {called(change, system): "no effect here" for change in found.help.changes if not does_something(change)}
    others = {
        phrases.change(code.replace("_", "-"), values, system): why.replace("_", "-")
        for code, values, why in found.help.left_out
    }
    blocks: list[Block] = [Words(said), pictures.changes(studies, found, system)]
    if idle or others:
        blocks.append(Words(f"Not in the table: {phrases.left_out(idle | others)}.", "quiet"))
    return _sub("changes", "Changes", *blocks)


def _bank(studies: Studies, found: Findings, system: str) -> Section | None:
    bank, o = found.bank, found.occasion
    if bank is None:
        return None
    target = phrases.percent(o.target)
    many = phrases.plural(o.label)
    if bank.least is None:
        said = f"No number of batteries like those fitted covers {target} of the {many}: {_why(found, system)}"
    else:
        least = phrases.count(bank.least.units, "battery")
        covers = "covers" if bank.least.units == 1 else "cover"
        weight = "" if bank.mass_kg is None else f", {phrases.mass(bank.mass_kg, system)}"
        weight += "" if bank.price is None else f", {phrases.money(bank.price, o.currency)}"
        usable = phrases.energy(1000.0 * bank.least.usable_kwh)
        said = (
            f"{least} like those fitted ({usable} usable{weight}) {covers} {phrases.percent(bank.least.covered_share)} "
            f"of the {many}; asked were {target}. Fitted are {found.van.units}."
        )
    return _sub("bank", "Size of the bank", Words(said), pictures.sizes(studies, found, system))


def _why(found: Findings, system: str) -> str:
    bank, o = found.bank, found.occasion
    assert bank is not None
    if bank.why == "cooler":
        limit = phrases.temperature(o.limit_c, system, None)
        return (
            f"even on an endless bank the cabin is above {limit} on {bank.nights_too_warm} of "
            f"{phrases.count(found.season.nights, o.label)}. A larger or an earlier cooler, shade or insulation "
            "may help."
        )
    best = phrases.percent(bank.best_share)
    tried = phrases.count(bank.most_parallel, "battery")
    if bank.why == "charging":
        return (
            f"the planned charging does not keep up. With {tried} in parallel {best} of consecutive ones are covered."
        )
    if bank.why == "no_cooling_at_night":
        return f"no cooling is planned during the {o.label}."
    return f"{tried} in parallel cover {best}; larger banks are not tried."


def _modes(studies: Studies, found: Findings, system: str) -> Section | None:
    if not found.modes:
        return None
    return _sub("modes", "Eco against boost", pictures.modes(studies, found, system))


def _energy(studies: Studies, found: Findings, system: str) -> Section:
    total, date = phrases.energy(found.energy.meter_wh), phrases.date(found.night.date)
    said = (
        f"The account of {date} took {total}, losses included. The compressor's electricity is shared out by the heat "
        "and moisture that it removed. Beside each cause stands what would be saved without it, found by running the "
        f"{found.occasion.label} again; these do not add up, as causes help one another."
    )
    return _sub("energy", "Where the energy went", Words(said), pictures.causes(studies, found, system))


def _recharging(studies: Studies, found: Findings, system: str) -> Section:
    if not found.recharge.hours:
        return _sub("recharging", "Recharging", Words(phrases.sentence(phrases.recharged(found.recharge.goal_soc, {}))))
    said = (
        f"Run from the charge left {phrases.at_end(found.occasion.label)}, cooling off and the other loads on. "
        "Charging slows down as the bank fills and as the alternator warms up."
    )
    return _sub("recharging", "Recharging", Words(said), pictures.recharging(studies, found, system))


def _stopped(studies: Studies, found: Findings, system: str) -> Section | None:
    if not found.outages:
        return None
    blocks: list[Block] = [Words(wording.OUTAGE_CAUTION, "caution"), Words(_bias(found, system))]
    for place, outage in enumerate(found.outages):
        blocks += [Words(stop_words(outage, found, system)), pictures.stopped(studies, found, place, system)]
    sources = "; ".join(dict.fromkeys(line.source for line in found.thresholds))
    dogs = " Dogs' survival line: where healthy dogs began to die; shown at 90% humidity, it is higher in drier air."
    return _sub("stopped", "When the cooling stops", *blocks, Words(f"Thresholds: {sources}.{dogs}", "quiet"))


def _bias(found: Findings, system: str) -> str:
    bias = found.bias
    assert bias is not None
    return phrases.warm_up_bias(bias.half_hour_k, bias.hour_k, bias.spread_k, system)


def stop_words(outage: OutageFound, found: Findings, system: str) -> str:
    """Why and when the cooling stops in a case, who is on board, and what the cabin does."""
    start = phrases.outage_start(
        outage.stop,
        outage.at,
        people=outage.people,
        dogs=outage.dogs,
        noun=found.occasion.label,
        reading=found.season.judged,
    )
    courses = " ".join(
        f"{'With' if course.covers else 'Without'} window covers the cabin goes from "
        f"{phrases.temperature(course.start_c, system)} to {phrases.temperature(course.hour_later_c, system)} "
        "in an hour."
        for course in outage.courses
    )
    return f"{start} {courses}"


def _inputs(studies: Studies, found: Findings, system: str) -> Section:
    said = (
        "From: given (by whoever described the van), a part of the library, or a default. Parts of the library that "
        "comes with this program are invented."
    )
    return _sub("inputs", "Every input", Words(said), *input_tables(studies.scenario, found, system))


def _confidence(studies: Studies, found: Findings, system: str) -> Section:
    balance = (
        "Heat, moisture and electricity balance: none was lost or created in the computation."
        if found.balance < GOOD_BALANCE
        else "Internal error (please report): the balances of this run do not close. Do not use these figures."
    )
    return _sub(
        "sure", "Confidence and limits", *(Words(text) for text in (*wording.LIMITS, balance, *wording.NOT_MODELLED))
    )


def _glossary(studies: Studies, found: Findings, system: str) -> Section:
    return _sub("glossary", "Glossary", Terms(wording.GLOSSARY))
