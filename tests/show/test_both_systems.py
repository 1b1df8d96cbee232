"""Each system of units is spoken whole: no screen, picture or report shows a unit of the other."""

from __future__ import annotations

import re
from collections.abc import Iterator
from dataclasses import dataclass

import pytest
from matplotlib.backends.backend_agg import FigureCanvasAgg
from matplotlib.text import Text

from tests.support.screens import QUESTIONS, SCENARIOS, call, said
from vansim.climate import describe
from vansim.climate.seasons import with_heat_wave
from vansim.runs.result import Result
from vansim.runs.simulate import simulate
from vansim.scenario.files import default_scenario_path, load_scenario
from vansim.scenario.parts import KINDS, parts_table
from vansim.scenario.schema import Scenario
from vansim.scenario.vary import vary
from vansim.show import plots
from vansim.show.plots.figure import NARROW_IN, WIDE_IN, Sheet
from vansim.show.report.report import Report
from vansim.show.text import wording
from vansim.show.text.parts import parts_lines
from vansim.show.text.run import describe_days, run_lines
from vansim.show.text.size import size_lines
from vansim.show.text.weather import weather_lines
from vansim.studies.compare import Comparison, compare
from vansim.studies.energy import energy
from vansim.studies.nights import Nights, nights
from vansim.studies.outage import Outage, outage
from vansim.studies.recharge import recharge
from vansim.studies.sizing import Sizing, size
from vansim.studies.upgrades import Upgrades, upgrades

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
SEASON = "07-14..07-16"


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


# --- screens ----------------------------------------------------------------------------------------------------------


@SYSTEMS
@pytest.mark.parametrize("name", QUESTIONS)
def test_a_screen(name: str, system: str) -> None:
    lines = said(name, system).splitlines()
    if name not in ("energy", "size by charging"):  # in Wh, min and W, which both share
        shows_its_own(lines, system)
    holds_none_of_the_other(lines, system)


@SYSTEMS
@pytest.mark.parametrize(
    "words",
    [
        ("run", SCENARIOS["coast-family"]),
        ("run", SCENARIOS["kennel-day"]),
        ("run", "--from", "12-01", "--days", "40"),
        ("nights", SCENARIOS["solar-only"], "--season", SEASON),
        ("recharge", SCENARIOS["shore-weekend"], "--night", "3"),
        ("check", SCENARIOS["driving-week"]),
    ],
    ids=lambda words: f"{words[0]} {getattr(words[1], 'stem', words[1])}",
)
def test_other_scenarios(words: tuple[str, ...], system: str) -> None:
    done = call(*words, "--units", system)
    assert done.exit_code == 0, done.output
    holds_none_of_the_other(done.stdout.splitlines(), system)


@pytest.fixture(scope="module")
def desert() -> Scenario:
    return load_scenario(default_scenario_path())


@SYSTEMS
@pytest.mark.parametrize(
    "change", [{"thermostat.setpoint_c": 28.0}, {"run.start": "23:00"}, {"run.start": "20:00"}, {"bank.start_soc": 0.3}]
)
def test_runs_of_every_status(desert: Scenario, change: dict[str, object], system: str) -> None:
    result = simulate(vary(desert, change))
    lines = [*run_lines(result, system), *wording.cautions(desert)]
    if len(result.nights):
        shows_its_own(lines, system)
        lines.append(plots.night(result, system=system).words)
    holds_none_of_the_other(lines, system)
    assert result.answer("si") == result.message
    assert result.message in repr(result)


@SYSTEMS
@pytest.mark.parametrize(
    ("change", "why"),
    [
        ({"thermostat.setpoint_c": 28.0}, "cooler"),
        ({"day.*.22:00.cooling": "off"}, "no-cooling-at-night"),
        ({"cooler": "none", "day.*.*.cooling": "off"}, "no-cooler"),
    ],
    ids=lambda value: value if isinstance(value, str) else "",
)
def test_size_where_no_bank_is_enough(desert: Scenario, change: dict[str, object], why: str, system: str) -> None:
    changed = vary(desert, change)
    sizing = size(changed, season="07-15..07-15")
    assert sizing.failed["why"].tolist() == [why]
    lines = size_lines(sizing, changed, system)
    shows_its_own(lines, system)
    holds_none_of_the_other(lines, system)


@SYSTEMS
def test_parts_and_plan(desert: Scenario, system: str) -> None:
    driving = vary(desert, {"day.*.09:00.doing": "driving", "day.*.09:00.speed_kmh": 80})
    plan = describe_days(driving, system)
    shows_its_own(plan, system)
    holds_none_of_the_other(plan, system)
    shown = [line for kind in KINDS for line in parts_lines(parts_table(kind), system)]
    shows_its_own(shown, system)
    holds_none_of_the_other(shown, system)


@SYSTEMS
def test_a_year_with_a_heat_wave(desert: Scenario, system: str) -> None:
    year = simulate(desert).run.weather
    lines = weather_lines(describe(with_heat_wave(year, 3.0)), system)
    shows_its_own(lines, system)
    holds_none_of_the_other(lines, system)
    assert ("5.4 °F warmer" if system == "us" else "3 K warmer") in " ".join(lines)


# --- pictures ---------------------------------------------------------------------------------------------------------


@dataclass(frozen=True)
class Studies:
    """One of everything that is drawn."""

    result: Result
    other: Result
    nights: Nights
    sizing: Sizing
    comparison: Comparison
    upgrades: Upgrades
    outages: tuple[Outage, ...]


def studies_of(scenario: Scenario) -> Studies:
    return Studies(
        result=simulate(scenario),
        other=simulate(vary(scenario, {"day.*.*.cooling": "eco"})),
        nights=nights(scenario, season=SEASON),
        sizing=size(scenario, season=SEASON),
        comparison=compare(scenario, variants={"set point 26 degC": {"thermostat.setpoint_c": 26.0}}, season=SEASON),
        upgrades=upgrades(scenario, season=SEASON),
        outages=(outage(scenario, season=SEASON), outage(scenario, when="sun", season=SEASON)),
    )


@pytest.fixture(scope="module")
def lasts(desert: Scenario) -> Studies:
    return studies_of(desert)


@pytest.fixture(scope="module")
def short(desert: Scenario) -> Studies:
    """A bank that does not last, and a dog."""
    return studies_of(vary(desert, {"bank.parallel": 1, "occupants.dogs": [{"mass_kg": 20.0}]}))


def _said(sheet: Sheet) -> list[str]:
    """Everything written on a picture, ticks and alternative text included."""
    sheet.draw(FigureCanvasAgg(sheet).get_renderer())
    return [sheet.words, *(item.get_text() for item in sheet.findobj(Text))]


def _pictures(s: Studies, system: str, width: float) -> Iterator[Sheet]:
    yield plots.night(s.result, 0, system, width)
    yield plots.calendar(s.nights, system, width)
    yield plots.runtime_against_outdoors(s.nights, system, width)
    yield plots.bank_size(s.sizing, system, width)
    yield plots.designs(s.comparison, system, width)
    yield plots.upgrades(s.upgrades, system, width)
    yield plots.energy(energy(s.result), system, width)
    yield plots.recharge(recharge(s.result), system, width)
    yield plots.eco_against_boost(s.other, s.result, system=system, width_in=width)
    for found in s.outages:
        yield plots.outage(found, system, width)


@SYSTEMS
@pytest.mark.parametrize("which", ["lasts", "short"])
@pytest.mark.parametrize("width", [WIDE_IN, NARROW_IN])
def test_pictures(which: str, width: float, system: str, request: pytest.FixtureRequest) -> None:
    told: list[str] = []
    for sheet in _pictures(request.getfixturevalue(which), system, width):
        holds_none_of_the_other(_said(sheet), system)
        told += _said(sheet)
    shows_its_own(told, system)


@SYSTEMS
@pytest.mark.parametrize("which", ["lasts", "short"])
def test_the_text_of_an_svg_file(which: str, system: str, request: pytest.FixtureRequest) -> None:
    """Letters are drawn as shapes; the words stand in comments beside them."""
    studies: Studies = request.getfixturevalue(which)
    words = re.findall(r"<!-- (.*?) -->", plots.svg(plots.night(studies.result, 0, system)), re.DOTALL)
    shows_its_own(words, system)
    holds_none_of_the_other(words, system)


# --- the report -------------------------------------------------------------------------------------------------------


@pytest.mark.parametrize(("which", "system"), [("customer", "si"), ("customer_us", "us")])
def test_report(which: str, system: str, request: pytest.FixtureRequest) -> None:
    made: Report = request.getfixturevalue(which)
    body = re.sub(r"<style>.*?</style>", "", made.html, flags=re.DOTALL)
    labels = re.findall(r'aria-label="([^"]*)"', body)
    lines = [*labels, *re.sub(r"<[^>]+>", "\n", body).split("\n")]
    shows_its_own(lines, system)
    holds_none_of_the_other(lines, system)
