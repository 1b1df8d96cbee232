"""Kinds of input, and what must hold of each: refused in words, or an answer that is finite and balanced."""

from __future__ import annotations

import json
import tomllib
from collections.abc import Callable
from dataclasses import dataclass
from functools import cache
from pathlib import Path
from random import Random
from tempfile import TemporaryDirectory
from typing import Any

import numpy as np
import pvlib
from typer.testing import CliRunner

from tests.fuzz import mutate
from tests.support import logged_year, weather_writers
from vansim.cli import app
from vansim.climate import Weather, read_weather
from vansim.climate.epw_writing import epw_text
from vansim.errors import VansimError
from vansim.runs.balance import CLOSES
from vansim.runs.simulate import simulate
from vansim.scenario.files import load_scenario
from vansim.scenario.parts import library

ROOT = Path(__file__).parents[2]
CLIMATES = ROOT / "data_demo" / "climates"


@dataclass(frozen=True)
class Kind:
    """A kind of input.

    Attributes
    ----------
    make : callable
        From a source of chance to an input that JSON can hold.
    holds : callable
        Raises whatever is not as it must be; an `AssertionError`, or anything that is not a `VansimError`.
    """

    make: Callable[[Random], Any]
    holds: Callable[[Any], None]


@cache
def scenarios() -> tuple[dict[str, Any], ...]:
    """Tables of the scenarios that come with the project."""
    return tuple(
        tomllib.loads(path.read_text(encoding="utf-8")) for path in sorted((ROOT / "scenarios").glob("*.toml"))
    )


@cache
def desert() -> Weather:
    """The invented desert."""
    return read_weather(CLIMATES / "desert.epw")


def whole(value: Any) -> str:
    """JSON of an input; what it cannot hold is left to Python's own way of writing it."""
    return json.dumps(value, default=str)


def refused(error: VansimError) -> None:
    """A refusal says why, in sentences that can be read."""
    if not error.faults:
        raise AssertionError("refused without a word")
    if max(map(len, error.faults)) > 3000:
        raise AssertionError("a fault too long to be read")


# --- scenarios --------------------------------------------------------------------------------------------------------


def scenario_loads(tables: dict[str, Any]) -> None:
    """Read, or refused with sentences that name a key."""
    try:
        load_scenario(tables)
    except VansimError as error:
        refused(error)


def warm() -> None:
    """Compile what runs need, so that it is not counted as an input's time."""
    for tables in scenarios()[:2]:
        scenario_runs(tables)


def scenario_runs(tables: dict[str, Any]) -> None:
    """Run over its days, at most three: finite, balanced, charge within 0 to 1."""
    tables = {**tables, "weather": ""}
    window = tables.get("run")
    if isinstance(window, dict) and isinstance(window.get("days"), int) and window["days"] > 3:
        tables["run"] = {**window, "days": 3}
    try:
        result = simulate(load_scenario(tables), desert())
        hourly, nights = result.hourly, result.nights
        worst = max(abs(error) for error in result.balance.values())
        result.answer("si"), result.answer("us")
    except VansimError as error:
        refused(error)
        return
    # the air that the cooler blows has a temperature only while it blows
    numbers = hourly.drop(columns="supply_c").select_dtypes("number").to_numpy(dtype=float)
    assert np.isfinite(numbers).all(), "not finite by the hour"
    assert worst < CLOSES, f"a balance is off by {worst:.3g}"
    for column in ("start_soc", "bedtime_soc", "lowest_soc", "waking_soc"):
        charge = nights[column].to_numpy(dtype=float)
        assert ((charge >= -1e-9) & (charge <= 1.0 + 1e-9)).all(), f"{column} beyond 0 to 1"


# --- files ------------------------------------------------------------------------------------------------------------


@cache
def weather_files() -> tuple[tuple[str, bytes], ...]:
    """The desert in every format that is read."""
    year, tmy2 = desert(), Path(pvlib.__file__).parent / "data" / "12839.tm2"
    with TemporaryDirectory() as folder:
        week = logged_year.minutes(logged_year.SITE, "2021-07-01", 7 * 24, 60)
        logged = logged_year.write(Path(folder) / "week.csv", week, logged_year.head()).read_bytes()
    return (
        ("year.epw", epw_text(year).encode()),
        ("year.csv", weather_writers.tmy3_text(year).encode()),
        ("year.json", weather_writers.pvgis_text(year).encode()),
        ("week.csv", logged),
        ("year.tm2", tmy2.read_bytes()),
    )


def weather_reads(written: dict[str, str]) -> None:
    """Read, or refused with sentences that name the file."""
    with TemporaryDirectory() as folder:
        path = Path(folder) / written["name"]
        path.write_bytes(written["text"].encode("latin-1"))
        try:
            year = read_weather(path)
        except VansimError as error:
            refused(error)
            return
        for column in ("temp_air", "temp_dew", "pressure", "wind_speed", "ghi", "dni", "dhi"):
            values = year.array(column)
            assert values.size == 8760, "not a year"
            assert np.isfinite(values).all(), f"{column} is not finite"


def make_weather(random: Random) -> dict[str, str]:
    name, text = random.choice(weather_files())
    return {"name": name, "text": mutate.text(random, text).decode("latin-1")}


def toml_reads(written: dict[str, str]) -> None:
    """A scenario file as bytes: read, or refused with the file's name in every sentence."""
    with TemporaryDirectory() as folder:
        path = Path(folder) / "fuzzed.toml"
        path.write_bytes(written["text"].encode("latin-1"))
        try:
            load_scenario(path)
        except VansimError as error:
            refused(error)


def make_toml(random: Random) -> dict[str, str]:
    path = random.choice(sorted((ROOT / "scenarios").glob("*.toml")))
    return {"text": mutate.text(random, path.read_bytes()).decode("latin-1")}


def parts_read(written: dict[str, str]) -> None:
    """A parts folder of one's own: read, or refused."""
    with TemporaryDirectory() as folder:
        (Path(folder) / f"{written['kind']}.toml").write_bytes(written["text"].encode("latin-1"))
        try:
            found = library(Path(folder))
            for name in found.parts[written["kind"]]:
                found.part(written["kind"], name)
        except VansimError as error:
            refused(error)


def make_parts(random: Random) -> dict[str, str]:
    folder = ROOT / "data_demo" / "parts"
    kind = random.choice(("cabins", "coolers", "bank-units", "alternators", "solar-arrays", "chargers"))
    return {"kind": kind, "text": mutate.text(random, (folder / f"{kind}.toml").read_bytes()).decode("latin-1")}


# --- command lines ----------------------------------------------------------------------------------------------------

WORDS = (
    "run", "check", "nights", "size", "compare", "energy", "recharge", "outage", "upgrades", "weather", "parts",
    "schema", "--json", "--units", "us", "si", "--season", "06-01..06-02", "13-40..2", "jun", "--target", "95%",
    "nan", "--days", "1", "0", "-1", "1e9", "--from", "07-15", "--night", "--start-soc", "0.3", "--heat-wave",
    "3", "--vary", "bank.parallel=3", "x: =", "a: bank.unit=", "scenarios/desert-night.toml",
    "scenarios/nosuch.toml", "cooler", "coolers", "", "\x00", "é", "--", "-h", "--help",
)  # fmt: skip


def command_answers(words: list[str]) -> None:
    """Exit code 0 with an answer or 2 with words, never a traceback."""
    done = CliRunner().invoke(app, words)
    if done.exception is not None and not isinstance(done.exception, SystemExit):
        raise done.exception
    assert done.exit_code in (0, 2), f"exit code {done.exit_code}"
    assert done.output.strip() or done.stderr.strip(), "not a word"
    assert "nan" not in done.stdout.lower().replace("nan'", "").split(), "nan on the screen"


def make_command(random: Random) -> list[str]:
    return [random.choice(WORDS[:12]), *(random.choice(WORDS) for _ in range(random.randint(0, 5)))]


KINDS: dict[str, Kind] = {
    "scenario": Kind(lambda random: mutate.tables(random, random.choice(scenarios())), scenario_loads),
    "run": Kind(lambda random: mutate.tables(random, random.choice(scenarios()), most=2), scenario_runs),
    "toml": Kind(make_toml, toml_reads),
    "weather": Kind(make_weather, weather_reads),
    "parts": Kind(make_parts, parts_read),
    "command": Kind(make_command, command_answers),
}
