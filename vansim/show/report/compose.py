"""A report as sections of sentences, pictures and small tables; how it is set on a page is not its business."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from typing import Any

import pandas as pd

from vansim import phrases
from vansim.show import plots
from vansim.show.plots.bars import telling_causes
from vansim.show.plots.figure import NARROW_IN, WIDE_IN, Sheet
from vansim.show.report.findings import Findings
from vansim.show.report.inputs import assumed, inputs
from vansim.show.report.sections import Picture, Rows, Section
from vansim.show.text import handed, headings, wording
from vansim.show.text.studies import passed_after
from vansim.studies.sizing import Sizing


def story(found: Findings, numbers: Mapping[str, Any], system: str) -> tuple[Section, ...]:
    """Tell the findings.

    Parameters
    ----------
    found : Findings
        From `find`.
    numbers : dict
        From `numbers_of`: what may be said.
    system : {"si", "us"}
        Units shown.

    Returns
    -------
    tuple of Section
        Answer, night, season, help, recharging, hazard, assumptions, certainty, cautions, glossary, inputs.
    """
    scenario = found.scenario
    return (
        Section("answer", "The answer", answer(found, numbers, system)),
        _night(found, numbers, system),
        _season(found, numbers, system),
        _help(found, numbers, system),
        _recharging(found, numbers, system),
        _hazard(found, numbers, system),
        assumed(found, system),
        Section("sure", "Confidence and limits", (*wording.LIMITS, _closes(numbers), *wording.NOT_MODELLED)),
        Section("cautions", "Safety", bullets=tuple(wording.cautions(scenario))),
        Section("glossary", "Glossary", terms=wording.GLOSSARY),
        inputs(scenario, system),
    )


def answer(found: Findings, numbers: Mapping[str, Any], system: str) -> tuple[str, ...]:
    """How long, on how many nights, and what stands in the way."""
    n, asked = numbers["season"], found.scenario.night
    night = _lower(headings.night(found.night, found.scenario, system))
    said = [f"{phrases.date(_date(found))}: {night}."]
    if found.scenario.cooler is not None and found.runtime_h > 0.0:
        ran, since = phrases.runtime(found.runtime_h, found.outlasts), phrases.since(asked.label, asked.bedtime)
        said.append(f"Left on with nothing charging, the bank runs the cooling for {ran} from {since}.")
    said.append(
        f"Over the season ({phrases.season(found.alone.season)}), "
        f"{phrases.covered(n['kept'], n['nights'], asked.label)} when each begins with a full bank and nothing "
        f"charges it, and {n['kept_chained']} of {n['nights']} when they follow one another with the planned charging."
    )
    if n["kept_chained"] < 0.9 * n["kept"]:
        said.append("Recharging is the weak point: more battery alone will not fix it.")
    return (" ".join(said),)


def _date(found: Findings) -> pd.Timestamp:
    return pd.Timestamp(str(found.night.name))


def _lower(text: str) -> str:
    return text[:1].lower() + text[1:]


def _picture(name: str, draw: Callable[[float], Sheet], head: tuple[str, ...], rows: Rows) -> Picture:
    unbroken = tuple(tuple(phrases.unbroken(cell) for cell in row) for row in rows)
    return Picture(name, draw(WIDE_IN), draw(NARROW_IN), head, unbroken)


def _whole(found: Findings) -> str:
    night = found.scenario.night
    return "From bedtime to waking" if night.label == "night" else f"From {night.bedtime} to {night.waking}"


def _night(found: Findings, numbers: Mapping[str, Any], system: str) -> Section:
    n = numbers["night"]
    limit = phrases.temperature(n["limit_c"], system, None)
    rows = (
        ("Outdoors, lowest and mean", f"{_t(n['outdoor_low_c'], system)}, {_t(n['outdoor_mean_c'], system)}"),
        ("Warmest in the cabin", f"{_t(n['cabin_max_c'], system)} (limit {limit})"),
        ("Above the limit", phrases.duration(n["over_limit_h"])),
        ("Lowest charge", f"{phrases.percent(n['lowest_soc'])} (reserve {phrases.percent(n['reserve_soc'])})"),
        ("Compressor", f"on {phrases.percent(n['duty'])} of the time, {phrases.count(int(n['starts']), 'start')}"),
        ("Energy", f"cooler {phrases.energy(n['cooler_wh'])}, other loads {phrases.energy(n['loads_wh'])}"),
    )
    night = _picture(
        "night",
        lambda width: plots.night(found.result, system, found.which, width),
        (_whole(found), ""),
        rows,
    )
    others = numbers["summary"]["nights"]
    called, covered = found.scenario.night.label, numbers["summary"]["nights_kept"]
    which = "the first that is not is shown" if covered < others else "the first is shown"
    more = f"{covered} of the {phrases.count(others, called)} of this run are covered; {which}."
    return Section("night", f"The {called}", (more,) if others > 1 else (), (night,))


def _t(value: float, system: str) -> str:
    return phrases.temperature(value, system)


def _season(found: Findings, numbers: Mapping[str, Any], system: str) -> Section:
    n, called = numbers["season"], found.scenario.night.label
    months = tuple(
        (
            phrases.season(name),
            f"{m['kept']} of {m['nights']}",
            phrases.runtime(m["runtime_p50_h"]),
            phrases.runtime(m["runtime_p10_h"]),
        )
        for name, m in n["by_month"].items()
    )
    calendar = _picture(
        "calendar",
        lambda width: plots.calendar(found.alone, system, width, called),
        ("Month", "Covered", "Runtime, median", "Runtime, 1 in 10 is shorter"),
        months,
    )
    against = _picture(
        "outdoors",
        lambda width: plots.runtime_against_outdoors(found.alone, system, width, numbers["night"]["night_h"], called),
        (f"All {phrases.plural(called)}", ""),
        (
            (f"Outdoor mean, mildest {called}", _t(n["mildest_c"], system)),
            (f"Outdoor mean, warmest {called}", _t(n["warmest_c"], system)),
            (f"Runtime, warmest {called}", phrases.runtime(n["warmest_runtime_h"])),
        ),
    )
    said = (
        f"When each {called} begins with a full bank, the runtime is {phrases.runtime(n['runtime_p50_h'])} in the "
        f"median; 1 {called} in 10 is shorter than {phrases.runtime(n['runtime_p10_h'])}.",
        f"On consecutive {phrases.plural(called)} with the planned charging, half begin with the bank below "
        f"{phrases.percent(n['bedtime_soc_chained_p50'])}, and {n['kept_chained']} of {n['nights']} are covered.",
    )
    return Section("season", "The season", said, (calendar, against))


def _help(found: Findings, numbers: Mapping[str, Any], system: str) -> Section:
    pictures: list[Picture] = []
    if found.worth is not None:
        pictures.append(_worth_picture(found.worth, numbers, system))
    if found.sizing is not None:
        pictures.append(_size_picture(found.sizing, numbers, system, found.scenario.night.label))
    if found.modes:
        pictures.append(_modes_picture(found, numbers, system))
    pictures.append(_causes_picture(found, system))
    said = []
    if found.sizing is not None:
        said.append(_size_words(numbers["size"], found.scenario.night.label, system))
    said.append("Upgrades are tried one at a time; two together usually gain less than their sum.")
    return Section("help", "What would help", tuple(said), tuple(pictures))


def _size_words(n: Mapping[str, Any], called: str, system: str) -> str:
    if "reason" in n:
        return handed.told(str(n["reason"]), system)
    covers = "covers" if n["units"] == 1 else "cover"
    many, usable = phrases.plural(called), phrases.energy(1000.0 * n["usable_kwh"])
    bank = f"{phrases.count(int(n['units']), 'battery')} like those fitted ({usable} usable) {covers}"
    if n["keeps_up"]:
        return f"{bank} {phrases.percent(n['kept_share'])} of the {many}, and the planned charging keeps up with it."
    return (
        f"{bank} {phrases.percent(n['kept_share'])} of the {many} if each begins full. With the planned charging "
        f"alone, only {phrases.percent(n['chained_share'])} are covered: find more charging first."
    )


def _worth_picture(table: pd.DataFrame, numbers: Mapping[str, Any], system: str) -> Picture:
    base = numbers["season"]["kept"] / numbers["season"]["nights"]
    rows = tuple(
        (handed.change(name, system), phrases.gain(n["gained_p10_h"]), phrases.percent(n["kept_share"]))
        for name, n in numbers["worth"].items()
    )
    heads = ("Upgrade", "Runtime (P10)", "Covered")
    return _picture("worth", lambda width: plots.worth(table, system, width, base), heads, rows)


def _size_picture(sizing: Sizing, numbers: Mapping[str, Any], system: str, called: str) -> Picture:
    rows = tuple(
        (
            phrases.count(n["units"], "battery"), phrases.energy(1000.0 * n["usable_kwh"]),
            phrases.percent(n["kept_share"]),
        )
        for n in numbers["size"]["curve"]
    )  # fmt: skip
    heads = ("Bank", "Usable", "Covered")
    return _picture("size", lambda width: plots.bank_size(sizing, system, width, called), heads, rows)


def _modes_picture(found: Findings, numbers: Mapping[str, Any], system: str) -> Picture:
    def cool(n: Mapping[str, Any]) -> str:
        return phrases.cool_down(n["cool_down_min"] if isinstance(n["cool_down_min"], float) else float("nan"))

    rows = tuple(
        (mode, cool(n), phrases.energy(n["cooler_wh"]), f"{n['starts']:.0f}")
        for mode, n in ((mode, numbers["modes"][mode]) for mode in ("eco", "boost"))
    )
    return _picture(
        "modes",
        lambda width: plots.eco_against_boost(found.modes["eco"], found.modes["boost"], system, width),
        ("Mode", "Cool-down to the limit", "Energy", "Starts"),
        rows,
    )


def _causes_picture(found: Findings, system: str) -> Picture:
    under = (
        f"{found.scenario.title}, {phrases.date(_date(found))}, {_lower(_whole(found))}. The compressor's electricity "
        "is shared out by the heat that it removed."
    )
    table = telling_causes(found.causes)
    pairs = zip(table.index, table["electric_wh"].tolist(), table["share"].tolist(), strict=True)
    rows = tuple((phrases.cause(str(n)), phrases.energy(wh), phrases.percent(share)) for n, wh, share in pairs)
    return _picture(
        "causes", lambda width: plots.energy(found.causes, system, width, under), ("Cause", "Energy", "Share"), rows
    )


def _recharging(found: Findings, numbers: Mapping[str, Any], system: str) -> Section:
    n = numbers["recovery"]
    if not found.again.hours:
        return Section("recharging", "Recharging", (phrases.sentence(headings.recharging(found.again)),))
    rows = tuple((handed.way(way, system), phrases.within(h)) for way, h in found.again.hours.items())
    picture = _picture(
        "recovery",
        lambda width: plots.recovery(found.again, system, width),
        (f"From {phrases.percent(n['start_soc'])} to {phrases.percent(n['goal_soc'])}", "Time"),
        rows,
    )
    said = (
        "Simulated from the charge left at waking. Charging slows down as the bank fills and as the alternator warms "
        "up, and the other loads stay on.",
    )
    return Section("recharging", "Recharging", said, (picture,))


def _hazard(found: Findings, numbers: Mapping[str, Any], system: str) -> Section:
    def picture(when: str) -> Picture:
        hazard, n = found.hazards[when], numbers["hazard"][when]
        rows = tuple(
            (phrases.threshold(name, line["quantity"]), _t(line["value_c"], system), _after(line["after_min"]))
            for name, line in n["lines"].items()
        )
        return _picture(
            f"stopped-{when}",
            lambda width: plots.after_reserve(hazard, system, width),
            ("Threshold", "At", "Passed after"),
            rows,
        )

    lines = numbers["hazard"]["sun"]["lines"].values()
    sources = "; ".join(dict.fromkeys(line["source"].removesuffix(", from memory") for line in lines))
    said = (found.hazards["sun"].caution, f"Thresholds: {sources}.")
    return Section("hazard", "When the cooling stops", said, (picture("sun"), picture("night")))


def _after(minute: Any) -> str:
    return passed_after(minute if isinstance(minute, float) else float("inf"))


def _closes(numbers: Mapping[str, Any]) -> str:
    worst = max(abs(value) for value in numbers["summary"]["balance"].values())
    good = worst < 1e-6
    return (
        "Heat, moisture and electricity balance: none was lost or created in the computation."
        if good
        else "Internal error (please report): the balances of this run do not close. Do not use these figures."
    )
