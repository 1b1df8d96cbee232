"""Every option of every command is wired: it changes what the library is asked, or what is shown of its answer."""

from __future__ import annotations

import importlib
from pathlib import Path
from typing import Any

import pytest
import typer

from tests.support.screens import DESERT, SCENARIOS, TRIP, call
from vansim.cli import app
from vansim.scenario.files import load_scenario, weather_path

CALLS = {
    "run": "vansim.runs.simulate:simulate",
    "energy": "vansim.studies.energy:energy",
    "recharge": "vansim.studies.recharge:recharge",
    "nights": "vansim.studies.nights:nights",
    "size": "vansim.studies.sizing:size",
    "compare": "vansim.studies.compare:compare",
    "upgrades": "vansim.studies.upgrades:upgrades",
    "outage": "vansim.studies.outage:outage",
    "places": "vansim.studies.places:places",
    "trip": "vansim.studies.trip:trip",
    "years": "vansim.studies.places:years",
    "side-by-side": "vansim.studies.side_by_side:side_by_side",
    "report": "vansim.show.report.report:report",
    "weather": "vansim.climate:read_weather",
    "parts": "vansim.scenario.parts:parts_table",
    "check": "vansim.scenario.files:load_scenario",
    "schema": "vansim.scenario.json_schema:json_schema",
}
"""What each command asks of the library."""
WEEK = SCENARIOS["driving-week"]
COAST = str(weather_path(load_scenario(SCENARIOS["coast-family"])))
GIVEN: dict[str, tuple[str, ...]] = {
    "scenario": (str(WEEK),),
    "--weather": ("--weather", COAST),
    "--from": ("--from", "06-30"),
    "--days": ("--days", "3"),
    "--year": ("--year",),
    "--start-soc": ("--start-soc", "0.8"),
    "--full-at-bedtime": ("--full-at-bedtime",),
    "--season": ("--season", "07-14..07-16"),
    "--heat-wave": ("--heat-wave", "3"),
    "--target": ("--target", "90%"),
    "--consecutive": ("--consecutive",),
    "--independent": ("--independent",),
    "--battery": ("--battery", "lfp-12v-200ah"),
    "--mode": ("--mode", "eco"),
    "--cooler": ("--cooler", "split-12v-1500w"),
    "--vary": ("--vary", "warmer: thermostat.setpoint_c=25"),
    "--variants": ("--variants",),
    "--when": ("--when", "sun"),
    "--covers": ("--covers",),
    "--no-covers": ("--no-covers",),
    "--night": ("--night", "2"),
    "--for": ("--for", "Example"),
    "--sender": ("--sender", "Example"),
    "--address": ("--address", "Example Street; Example Town"),
    "--logo": ("--logo", "logo.png"),
    "--paper": ("--paper", "letter"),
    "--units": ("--units", "us"),
    "--labels": ("--labels", "as-written"),
    "--sky": ("--sky", "measured"),
    "files": (COAST,),
    "kind": ("coolers",),
    "file": (COAST,),
}
"""A value for every option, other than what holds without it."""
OWN_TEST = {"new", "examples"}
"""Commands whose options are held by tests of their own, `test_new` and `test_parts_command`."""
SHOWN = {"--units", "--json", "--out"}
"""Options that change what is shown of an answer, and not what is asked."""
READ = ("--labels", "--sky")
"""How a year is read: a separate test."""
ELSEWHERE = {
    ("parts", "name"),
    ("weather", "--lat"),
    ("weather", "--lon"),
    ("weather", "--folder"),
    ("parts", "--scenario"),
}
"""Asked of the network, or where there is none of files at hand; `test_commands` and tests of the climate hold them.
A scenario with parts or prices of its own: `test_parts_command`."""


class AskedError(Exception):
    """Raised in place of an answer, with what was asked."""


def options() -> list[tuple[str, str]]:
    """Every option and argument of every command."""
    group: Any = typer.main.get_command(app)
    found = []
    for command in group.commands.values():
        if command.name in OWN_TEST:
            continue
        for parameter in command.params:
            names = [*parameter.opts, *parameter.secondary_opts]
            found += [(command.name, name) for name in names if name != "--help"]
    return found


def base(command: str) -> list[str]:
    """The command without any option; a second night needs a run of several."""
    if command in ("places", "years"):
        return [command, str(DESERT), str(weather_path(load_scenario(DESERT)))]
    if command == "trip":
        return [command, str(TRIP)]
    if command == "weather":
        return [command, str(weather_path(load_scenario(DESERT)))]
    if command in ("energy", "recharge", "side-by-side"):
        return [command, "--days", "2"]
    return [command]


def asked(monkeypatch: pytest.MonkeyPatch, command: str, words: list[str]) -> str:
    """What a command line asks of the library, as text."""
    module, _, name = CALLS[command].partition(":")

    def instead(*values: Any, **named: Any) -> Any:
        raise AskedError(repr([*map(_plain, values), *sorted((key, _plain(value)) for key, value in named.items())]))

    with monkeypatch.context() as patch:
        patch.setattr(importlib.import_module(module), name, instead)
        done = call(*words)
    assert isinstance(done.exception, AskedError), (words, done.output)
    return str(done.exception)


def _plain(value: Any) -> Any:
    """What tells values apart: a scenario by all that it says, a year by its source, a run by both."""
    if hasattr(value, "model_dump"):
        return value.model_dump()
    if hasattr(value, "source"):
        return str(value.source)
    return (value.run.scenario.model_dump(), str(value.run.weather.source)) if hasattr(value, "run") else value


def test_every_command_is_looked_at() -> None:
    assert {command for command, _ in options()} | {"schema"} == set(CALLS)
    assert {name for _, name in options()} - SHOWN - {name for _, name in ELSEWHERE} == set(GIVEN) - SHOWN


@pytest.mark.parametrize(
    ("command", "option"), [one for one in options() if one[1] not in (*SHOWN, *READ) and one not in ELSEWHERE]
)
def test_an_option_changes_what_is_asked(monkeypatch: pytest.MonkeyPatch, command: str, option: str) -> None:
    without = base(command)
    given = GIVEN[option]
    words = [command, *given] if option in ("scenario", "file") else [*without, *given]
    if command in ("places", "years") and option in ("scenario", "files"):
        words = [command, *given, without[2]] if option == "scenario" else [command, without[1], *given]
    if command == "trip" and option == "scenario":
        words = [command, str(DESERT)]
    if option == "--variants":  # beside a design of one's own; without any, the scenario's are taken anyway
        without = [*without, *GIVEN["--vary"]]
        words = [*without, *given]
    assert asked(monkeypatch, command, words) != asked(monkeypatch, command, without)


@pytest.mark.parametrize(("command", "option"), [one for one in options() if one[1] in READ])
def test_how_a_year_is_read(monkeypatch: pytest.MonkeyPatch, command: str, option: str) -> None:
    """Every command that reads weather hands it to the reader; with and without a file of one's own."""
    if command in ("places", "years", "trip", "weather"):
        said = [asked(monkeypatch, command, [*base(command), *more]) for more in ((), GIVEN[option])]
        assert said[0] != said[1]
        assert GIVEN[option][1] in said[1]
        return

    def instead(path: Any, **named: Any) -> Any:
        raise AskedError(repr(sorted(named.items())))

    monkeypatch.setattr("vansim.climate.read_weather", instead)
    monkeypatch.setattr("vansim.runs.run.read_weather", instead)
    for more in ((), GIVEN["--weather"]):
        done = call(*base(command), *more, *GIVEN[option])
        assert isinstance(done.exception, AskedError), done.output
        assert repr((option[2:], GIVEN[option][1])) in str(done.exception)


@pytest.mark.parametrize(("command", "option"), [one for one in options() if one[1] in SHOWN])
def test_an_option_changes_what_is_shown(command: str, option: str, tmp_path: Path) -> None:
    if command == "report":
        pytest.skip("it always writes, and says nothing but a caution: held by the tests of the report")
    season = ["--season", "07-15..07-15"] if (command, "--season") in options() else []
    driven = [str(WEEK)] if command == "check" else []  # a plan that names a speed
    words = [*base(command), *driven, *season]
    plain = call(*words)
    given = {"--units": ["--units", "us"], "--json": ["--json"], "--out": ["--out", str(tmp_path / "out")]}[option]
    done = call(*words, *given)
    assert plain.exit_code == done.exit_code == 0, done.output
    if option == "--out":
        assert done.stdout == plain.stdout
        assert all(path.stat().st_size > 100 for path in (tmp_path / "out").iterdir())
    elif command != "energy" or option != "--units":  # its energies are in Wh in both
        assert done.stdout != plain.stdout
