"""A report as sections of sentences, pictures and small tables; how it is set on a page is not its business."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from typing import Any

import pandas as pd

from vansim.show import plots
from vansim.show.plots.bars import telling_causes
from vansim.show.plots.figure import NARROW_IN, WIDE_IN, Sheet
from vansim.show.report.findings import Findings
from vansim.show.report.inputs import assumed, inputs
from vansim.show.report.sections import Picture, Rows, Section
from vansim.show.text import wording as w
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
    parts = [
        Section("answer", "The answer", answer(found, numbers, system)),
        _night(found, numbers, system),
        _season(found, numbers, system),
        _help(found, numbers, system),
        _recharging(found, numbers, system),
        _hazard(found, numbers, system),
        assumed(found, system),
        Section("sure", "How sure this is", (*w.HOW_SURE, _closes(numbers), *w.NOT_MODELLED)),
        Section("cautions", "What never to do", bullets=tuple(w.cautions(scenario))),
        Section("glossary", "Ten words", terms=w.GLOSSARY),
        inputs(scenario, system),
    ]
    return tuple(parts)


def answer(found: Findings, numbers: Mapping[str, Any], system: str) -> tuple[str, ...]:
    """How long, on how many nights, and what stands in the way."""
    n, called = numbers["season"], found.scenario.night.label
    since = "bedtime" if called == "night" else found.scenario.night.bedtime
    said = [f"{w.day_of(found.night.name)}: {_lower(w.night_sentence(found.night, found.scenario, system))}."]
    if found.scenario.cooler is not None:
        ran = w.runtime_words(found.runtime_h, found.outlasts)
        said.append(f"Left on with nothing charging, the bank carries the cooling for {ran} from {since}.")
    said.append(
        f"Over the season ({found.alone.season}) {n['kept']} of {n['nights']} {called}s are kept when every {called} "
        f"begins with a full bank and nothing charges it, and {n['kept_chained']} of {n['nights']} when they follow "
        "one another with this plan's own charging."
    )
    if n["kept_chained"] < 0.9 * n["kept"]:
        said.append("Recharging is the weak point: more battery alone will not mend it.")
    return (" ".join(said),)


def _lower(text: str) -> str:
    return text[:1].lower() + text[1:]


def _picture(name: str, draw: Callable[[float], Sheet], head: tuple[str, ...], rows: Rows) -> Picture:
    kept_whole = tuple(tuple(_unbroken(cell) for cell in row) for row in rows)
    return Picture(name, draw(WIDE_IN), draw(NARROW_IN), head, kept_whole)


def _unbroken(cell: str) -> str:
    """A short value stays on one line, its unit with it."""
    return cell.replace(" ", "\u00a0") if len(cell) <= 10 else cell


def _whole(found: Findings) -> str:
    night = found.scenario.night
    return "From bedtime to waking" if night.label == "night" else f"From {night.bedtime} to {night.waking}"


def _night(found: Findings, numbers: Mapping[str, Any], system: str) -> Section:
    n = numbers["night"]
    limit = w.temperature(n["limit_c"], system, 1)
    rows = (
        ("Outdoors, lowest and mean", f"{_t(n['outdoor_low_c'], system)}, {_t(n['outdoor_mean_c'], system)}"),
        ("Warmest in the cabin", f"{_t(n['cabin_max_c'], system)} (limit {limit})"),
        ("Above the limit", w.hours(n["over_limit_h"])),
        ("Lowest charge", f"{w.percent(n['lowest_soc'])} (reserve {w.percent(n['reserve_soc'])})"),
        ("Compressor", f"on {w.percent(n['duty'])} of the time, {n['starts']:.0f} starts"),
        ("Energy", f"cooler {n['cooler_wh']:.0f} Wh, other loads {n['loads_wh']:.0f} Wh"),
    )
    night = _picture(
        "night",
        lambda width: plots.night(found.result, system, found.which, width),
        (_whole(found), ""),
        rows,
    )
    others = numbers["summary"]["nights"]
    called, kept = found.scenario.night.label, numbers["summary"]["nights_kept"]
    which = "this is the first that is not" if kept < others else "this is the first"
    more = f"The run holds {others} {called}s, of which {kept} are kept; {which}."
    return Section("night", f"The {called}", (more,) if others > 1 else (), (night,))


def _t(value: float, system: str) -> str:
    return w.temperature(value, system, 1)


def _season(found: Findings, numbers: Mapping[str, Any], system: str) -> Section:
    n, called = numbers["season"], found.scenario.night.label
    months = tuple(
        (name.capitalize(), f"{m['kept']} of {m['nights']}", w.hours(m["runtime_p50_h"]), w.hours(m["runtime_p10_h"]))
        for name, m in n["by_month"].items()
    )
    calendar = _picture(
        "calendar",
        lambda width: plots.calendar(found.alone, system, width, called),
        ("Month", "Kept", "Runtime, middling", "Runtime, one in ten is shorter"),
        months,
    )
    against = _picture(
        "outdoors",
        lambda width: plots.runtime_against_outdoors(found.alone, system, width, numbers["night"]["night_h"], called),
        (f"All {called}s", ""),
        (
            ("Outdoors, mean of the mildest", _t(n["mildest_c"], system)),
            ("Outdoors, mean of the warmest", _t(n["warmest_c"], system)),
            ("Runtime of the warmest", w.runtime_words(n["warmest_runtime_h"], n["warmest_runtime_h"] >= 48.0)),
        ),
    )
    said = (
        f"Every {called} begun with a full bank: on one in ten the cooling runs less than "
        f"{w.hours(n['runtime_p10_h'])}, on half of them more than {w.hours(n['runtime_p50_h'])}.",
        f"One after another with this plan's own charging, half of them begin with the bank below "
        f"{w.percent(n['bedtime_soc_chained_p50'])}, and {n['kept_chained']} of {n['nights']} are kept.",
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
        said.append(_size_words(numbers["size"], found.scenario.night.label))
    said.append("Changes are tried one at a time; two of them together gain less than their sum.")
    return Section("help", "What would help", tuple(said), tuple(pictures))


def _size_words(n: Mapping[str, Any], called: str) -> str:
    if "words" in n:
        return str(n["words"])
    many = w.count(int(n["units"]), "battery")
    kept = w.percent(n["kept_share"])
    told = f"{many} like those fitted, {n['usable_kwh']:.1f} kWh usable, would keep {kept} of the {called}s"
    if n["keeps_up"]:
        return told + ", and this plan's charging keeps up with it."
    return (
        f"{told} if every one began full. With this plan's charging alone it keeps {w.percent(n['chained_share'])}: "
        "find more charging first."
    )


def _worth_picture(table: pd.DataFrame, numbers: Mapping[str, Any], system: str) -> Picture:
    base = numbers["season"]["kept"] / numbers["season"]["nights"]

    def gain(hour: float) -> str:
        return f"{'+' if hour >= 0 else '−'}{w.hours(abs(hour))}"

    rows = tuple(
        (change, gain(n["gained_p10_h"]), w.percent(n["kept_share"])) for change, n in numbers["worth"].items()
    )
    return _picture("worth", lambda width: plots.worth(table, system, width, base), ("Change", "Runtime", "Kept"), rows)


def _size_picture(sizing: Sizing, numbers: Mapping[str, Any], system: str, called: str) -> Picture:
    rows = tuple(
        (w.count(n["units"], "battery"), f"{n['usable_kwh']:.1f} kWh", w.percent(n["kept_share"]))
        for n in numbers["size"]["curve"]
    )
    return _picture(
        "size", lambda width: plots.bank_size(sizing, system, width, called), ("Bank", "Usable", "Kept"), rows
    )


def _modes_picture(found: Findings, numbers: Mapping[str, Any], system: str) -> Picture:
    def cool(n: Mapping[str, Any]) -> str:
        reached = isinstance(n["cool_down_min"], float) and n["cool_down_min"] >= 0.0
        return w.hours(n["cool_down_min"] / 60.0) if reached else "not reached"

    rows = tuple(
        (mode, cool(n), f"{n['cooler_wh']:.0f} Wh", f"{n['starts']:.0f}")
        for mode, n in ((mode, numbers["modes"][mode]) for mode in ("eco", "boost"))
    )
    return _picture(
        "modes",
        lambda width: plots.eco_against_boost(found.modes["eco"], found.modes["boost"], system, width),
        ("Mode", "To the set point", "Energy", "Starts"),
        rows,
    )


def _causes_picture(found: Findings, system: str) -> Picture:
    under = (
        f"{found.scenario.title}, {w.day_of(found.night.name)}, {_lower(_whole(found))}. The compressor's electricity "
        "is shared over the heat that it moved."
    )
    table = telling_causes(found.causes)
    pairs = zip(table.index, table["electric_wh"].tolist(), table["share"].tolist(), strict=True)
    rows = tuple((w.CAUSE_WORDS.get(str(n), str(n)), f"{wh:.0f} Wh", w.percent(share)) for n, wh, share in pairs)
    return _picture(
        "causes", lambda width: plots.energy(found.causes, system, width, under), ("Cause", "Energy", "Share"), rows
    )


def _recharging(found: Findings, numbers: Mapping[str, Any], system: str) -> Section:
    n = numbers["recovery"]
    if not found.again.hours:
        return Section("recharging", "Recharging", (f"{w.recovery_finding(found.again)}: only shore power does.",))
    rows = tuple((w.WAYS[way], "not in two days" if h is None else w.hours(h)) for way, h in found.again.hours.items())
    picture = _picture(
        "recovery",
        lambda width: plots.recovery(found.again, system, width),
        (f"From {w.percent(n['start_soc'])} to {w.percent(n['goal_soc'])}", "Takes"),
        rows,
    )
    said = (
        "Simulated from the state of the bank at waking: charging slows down as the bank fills and as the alternator "
        "warms up, and the other loads go on drawing.",
    )
    return Section("recharging", "Recharging", said, (picture,))


def _hazard(found: Findings, numbers: Mapping[str, Any], system: str) -> Section:
    def picture(when: str) -> Picture:
        hazard, n = found.hazards[when], numbers["hazard"][when]
        rows = tuple(
            (name, _threshold(name, line, system), _after(line["after_min"])) for name, line in n["lines"].items()
        )
        return _picture(
            f"stopped-{when}",
            lambda width: plots.after_reserve(hazard, system, width),
            ("Threshold", "At", "Passed after"),
            rows,
        )

    sources = "; ".join(dict.fromkeys(line["source"] for line in numbers["hazard"]["sun"]["lines"].values()))
    said = (found.hazards["sun"].caution, f"Thresholds: {sources}.")
    return Section("hazard", "When the cooling stops", said, (picture("sun"), picture("night")))


def _threshold(name: str, line: Mapping[str, Any], system: str) -> str:
    humid = " where very humid, more where dry" if name.startswith("survival") else ""
    index = " heat index" if "danger" in name or "caution" in name else ""
    return f"{_t(line['value_c'], system)}{index}{humid}"


def _after(minute: Any) -> str:
    if not isinstance(minute, float):
        return "not within the time followed"
    return "already passed" if minute == 0.0 else w.hours(minute / 60.0)


def _closes(numbers: Mapping[str, Any]) -> str:
    worst = max(abs(value) for value in numbers["summary"]["balance"].values())
    good = worst < 1e-6
    return (
        "The books of heat, moisture and electricity close: nothing was lost or made in the computation."
        if good
        else "The books of this run do not close: do not use these figures, and report the fault."
    )
