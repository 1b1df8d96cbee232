"""Each system of units is spoken whole: no screen, picture or report shows a unit of the other."""

from __future__ import annotations

import re
from collections.abc import Iterator

import pytest
from matplotlib.backends.backend_agg import FigureCanvasAgg
from matplotlib.text import Text

from vansim.climate import describe
from vansim.climate.seasons import with_heat_wave
from vansim.runs.simulate import simulate, with_window
from vansim.scenario.parts import KINDS, parts_table
from vansim.scenario.vary import vary
from vansim.show import plots
from vansim.show.plots.figure import NARROW_IN, WIDE_IN, Sheet
from vansim.show.report.findings import Findings
from vansim.show.report.report import tell
from vansim.show.text import run as run_text
from vansim.show.text import studies as text
from vansim.show.text import wording
from vansim.show.text.weather import weather_lines
from vansim.studies.compare import compare
from vansim.studies.nights import nights_alone
from vansim.studies.sizing import size

ONLY = {
    "si": re.compile(
        r"°C|\bK\b|\bkm\b|km/h|\bmm\b|\bcm\b|\bkg\b|\bg/h\b|\bm[23]\b|m²|m2K|W/m|W/K|kJ|\bh?Pa\b|\d[\s\xa0]m\b|\[m\]"
    ),
    "us": re.compile(
        r"°F|degF|mph|\blb\b|\boz\b|\bft[23]?\b|cfm|Btu|inHg|psi\b|R-\d|peak sun|\d\.\d+[\s\xa0]in\b|\[in\]"
    ),
}
OTHER = {"si": "us", "us": "si"}
SYSTEMS = pytest.mark.parametrize("system", ["si", "us"])
EITHER = pytest.mark.parametrize("which", ["found", "short"])


def holds_none_of_the_other(lines: list[str], system: str) -> None:
    faults = [line for line in lines if ONLY[OTHER[system]].search(line)]
    assert not faults, "\n".join(faults)


def shows_its_own(lines: list[str], system: str) -> None:
    assert any(ONLY[system].search(line) for line in lines)


def test_the_patterns_find_what_they_look_for() -> None:
    for line in (
        "26 °C",
        "1 K higher",
        "20 mm more",
        "[kg]",
        "57 W/K",
        "6 m van",
        "12 m2",
        "90 km/h",
        "3.1 W/m2",
        "0.1 g/h",
    ):
        assert ONLY["si"].search(line), line
        assert not ONLY["us"].search(line), line
    for line in ("78.8 °F", "56 mph", "53 lb", "[in]", "108 Btu/h °F", "R-5", "412 cfm", "0.8 in", "19.7 ft van"):
        assert ONLY["us"].search(line), line
        assert not ONLY["si"].search(line), line
    assert not any(p.search("12 V, 100 Ah, 2.19 kWh, 12 h 05 min, 5 in the front, 39%") for p in ONLY.values())


@SYSTEMS
@EITHER
def test_run(which: str, system: str, request: pytest.FixtureRequest) -> None:
    f: Findings = request.getfixturevalue(which)
    lines = run_text.answer_lines(f.result, system)
    lines += run_text.night_lines(f.result, system, f.runtime_h, f.outlasts)
    lines += [run_text.recovery_line(f.again.hours, f.again.goal_soc, system)]
    lines += wording.cautions(f.scenario)
    shows_its_own(lines, system)
    holds_none_of_the_other(lines, system)


@SYSTEMS
def test_run_of_several_nights_and_of_none(found: Findings, system: str) -> None:
    several = simulate(with_window(found.scenario, days=3))
    lines = run_text.answer_lines(several, system) + run_text.nights_lines(several.nights, system)
    lines += run_text.nights_lines(several.nights, system, most=1)
    shows_its_own(lines, system)
    none = simulate(vary(found.scenario, {"run.start": "23:00", "night.waking": "23:59"}))
    holds_none_of_the_other(lines + run_text.answer_lines(none, system), system)


@SYSTEMS
def test_a_cabin_that_is_too_warm_says_its_limit(found: Findings, system: str) -> None:
    warm = simulate(vary(found.scenario, {"thermostat.setpoint_c": 28.0}))
    assert warm.status == "too_warm"
    lines = run_text.answer_lines(warm, system)
    shows_its_own(lines, system)
    holds_none_of_the_other([*lines, plots.night(warm, system).words], system)


@SYSTEMS
@EITHER
def test_nights(which: str, system: str, request: pytest.FixtureRequest) -> None:
    f: Findings = request.getfixturevalue(which)
    hot = nights_alone(f.scenario, season="07-14..07-15", heat_wave=3.0)
    for nights in (f.alone, f.chained, hot):
        lines = text.nights_words(nights, system)
        shows_its_own(lines, system)
        holds_none_of_the_other(lines, system)
    assert ("5.4 °F warmer" if system == "us" else "3 K warmer") in " ".join(lines)


@SYSTEMS
@EITHER
def test_size(which: str, system: str, request: pytest.FixtureRequest) -> None:
    f: Findings = request.getfixturevalue(which)
    assert f.sizing is not None
    lines = text.size_words(f.sizing, "USD", system)
    shows_its_own(lines, system)
    holds_none_of_the_other(lines, system)


@SYSTEMS
@pytest.mark.parametrize(
    ("change", "chained"),
    [
        ({"thermostat.setpoint_c": 28.0}, False),
        ({"cabin.leakage_parked_per_h": 20.0}, True),
        ({"day.*.segment.3.cooling": "off"}, False),
    ],
    ids=["controls", "charging", "no cooling at night"],
)
def test_size_where_no_bank_is_enough(found: Findings, change: dict[str, object], chained: bool, system: str) -> None:
    sizing = size(vary(found.scenario, change), season="07-14..07-15", chained=chained, units=["agm-12v-100ah"])
    lines = text.size_words(sizing, "USD", system)
    assert len(sizing.table) + len(sizing.failed) == 1
    shows_its_own(lines, system)
    holds_none_of_the_other(lines, system)


@SYSTEMS
def test_compare(found: Findings, system: str) -> None:
    designs = {"set point 26 degC": {"thermostat.setpoint_c": 26.0}, "two": {"bank.parallel": 2}}
    table = compare(found.scenario, variants=designs, season="07-14..07-15")
    lines = text.compare_words(table, "USD", system)
    shows_its_own(lines, system)
    holds_none_of_the_other(lines, system)
    holds_none_of_the_other(_said(plots.designs(table, system)), system)


@SYSTEMS
@EITHER
def test_upgrades_energy_and_outage(which: str, system: str, request: pytest.FixtureRequest) -> None:
    f: Findings = request.getfixturevalue(which)
    assert f.worth is not None
    upgrades = text.worth_words(f.worth, "USD", system)
    shows_its_own(upgrades, system)
    assert ("set point 1.8 °F higher" if system == "us" else "set point 1 K higher") in " ".join(upgrades)
    lines = upgrades + text.causes_words(f.causes, system)
    for hazard in f.hazards.values():
        outage = text.hazard_words(hazard, system)
        shows_its_own(outage, system)
        lines += outage
    holds_none_of_the_other(lines, system)


@SYSTEMS
def test_check_and_parts(found: Findings, system: str) -> None:
    driving = vary(found.scenario, {"day.*.segment.0.doing": "driving", "day.*.segment.0.speed_kmh": 80})
    plan = run_text.describe_days(driving, system)
    shows_its_own(plan, system)
    holds_none_of_the_other(plan, system)
    shown = [line for kind in KINDS for line in run_text.parts_lines(parts_table(kind), system)]
    shows_its_own(shown, system)
    holds_none_of_the_other(shown, system)


@SYSTEMS
def test_weather(found: Findings, system: str) -> None:
    lines = weather_lines(describe(with_heat_wave(found.result.run.weather, 3.0)), system)
    shows_its_own(lines, system)
    holds_none_of_the_other(lines, system)


def _said(sheet: Sheet) -> list[str]:
    """Everything written on a picture, ticks and alternative text included."""
    sheet.draw(FigureCanvasAgg(sheet).get_renderer())
    return [sheet.words, *(item.get_text() for item in sheet.findobj(Text))]


def _pictures(f: Findings, system: str, width: float) -> Iterator[Sheet]:
    assert f.sizing is not None
    assert f.worth is not None
    yield plots.night(f.result, system, f.which, width)
    for nights in (f.alone, f.chained):
        yield plots.calendar(nights, system, width)
        yield plots.runtime_against_outdoors(nights, system, width, 9.0)
    yield plots.bank_size(f.sizing, system, width)
    yield plots.recovery(f.again, system, width)
    yield plots.energy(f.causes, system, width)
    yield plots.worth(f.worth, system, width)
    yield plots.eco_against_boost(f.modes["eco"], f.modes["boost"], system, width)
    for hazard in f.hazards.values():
        yield plots.after_reserve(hazard, system, width)


@SYSTEMS
@EITHER
@pytest.mark.parametrize("width", [WIDE_IN, NARROW_IN])
def test_pictures(which: str, width: float, system: str, request: pytest.FixtureRequest) -> None:
    said: list[str] = []
    for sheet in _pictures(request.getfixturevalue(which), system, width):
        holds_none_of_the_other(_said(sheet), system)
        said += _said(sheet)
    shows_its_own(said, system)


@SYSTEMS
@EITHER
def test_the_text_of_an_svg_file(which: str, system: str, request: pytest.FixtureRequest) -> None:
    """Letters are drawn as shapes; the words stand in comments beside them."""
    f: Findings = request.getfixturevalue(which)
    words = re.findall(r"<!-- (.*?) -->", plots.svg(plots.night(f.result, system, f.which)), re.DOTALL)
    shows_its_own(words, system)
    holds_none_of_the_other(words, system)


@SYSTEMS
@EITHER
def test_report(which: str, system: str, request: pytest.FixtureRequest) -> None:
    made = tell(request.getfixturevalue(which), name="Example", system=system, date="2026-07-01")
    body = re.sub(r"<style>.*?</style>", "", made.html, flags=re.DOTALL)
    labels = re.findall(r'aria-label="([^"]*)"', body)
    lines = [*labels, *re.sub(r"<[^>]+>", "\n", body).split("\n")]
    shows_its_own(lines, system)
    holds_none_of_the_other(lines, system)
