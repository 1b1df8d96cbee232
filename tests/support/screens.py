"""Commands called as a person would, and their screens read back into numbers."""

from __future__ import annotations

import json
import math
import re
from functools import cache
from pathlib import Path
from typing import Any

from typer.testing import CliRunner

from vansim.cli import app
from vansim.scenario.files import default_scenario_path

SCENARIOS = {path.stem: path for path in sorted(default_scenario_path().parent.glob("*.toml"))}
DESERT = SCENARIOS["desert-night"]
SEASON = "07-14..07-16"
CLIMATES = default_scenario_path().parents[1] / "data_demo" / "climates"
TRIP = SCENARIOS["driving-week"]
DAYS = ("--season", SEASON)
SHADE = ("--vary", "shade: day.at-the-camp.09:00.shade=0.8")
QUESTIONS: dict[str, tuple[str, ...]] = {
    "run": ("run",),
    "run of three days": ("run", "--days", "3"),
    "run that is empty": ("run", str(SCENARIOS["solar-only"]), "--start-soc", "0.3", "--days", "2"),
    "run at bedtime": ("run", "--full-at-bedtime"),
    "nights": ("nights", *DAYS),
    "nights that charge": ("nights", str(SCENARIOS["driving-week"]), *DAYS, "--heat-wave", "3"),
    "size": ("size", *DAYS, "--battery", "lfp-12v-200ah", "--battery", "agm-12v-200ah"),
    "size by charging": ("size", str(SCENARIOS["solar-only"]), *DAYS, "--consecutive"),
    "compare": ("compare", *DAYS, *SHADE, "--vary", "bank.parallel=2"),
    "upgrades": ("upgrades", *DAYS),
    "places": ("places", str(DESERT), str(CLIMATES), *DAYS),
    "years": ("years", str(SCENARIOS["solar-only"]), str(CLIMATES), *DAYS),
    "trip": ("trip", str(TRIP)),
    "energy": ("energy",),
    "recharge": ("recharge",),
    "side by side": ("side-by-side", *SHADE),
    "side by side in modes": ("side-by-side", "--days", "2", "--night", "2"),
    "outage": ("outage", *DAYS),
    "outage in the sun": ("outage", *DAYS, "--when", "sun"),
    "weather": ("weather", str(CLIMATES / "desert.epw")),
}
"""What is asked of every command, by name."""


def call(*words: str | Path) -> Any:
    return CliRunner().invoke(app, [str(word) for word in words])


@cache
def said(name: str, system: str = "si") -> str:
    """The screen of one of `QUESTIONS`."""
    done = call(*QUESTIONS[name], "--units", system)
    assert done.exit_code == 0, done.output
    return done.stdout


@cache
def data(name: str, system: str = "si") -> dict[str, Any]:
    """The JSON of one of `QUESTIONS`."""
    done = call(*QUESTIONS[name], "--units", system, "--json")
    assert done.exit_code == 0, done.output
    found: dict[str, Any] = json.loads(done.stdout)
    return found


def prose(text: str) -> str:
    """A screen in one line, as wrapping does not matter."""
    return " ".join(text.split())


def table(text: str, head: str) -> list[list[str]]:
    """Rows of the table of a screen whose heading begins with some words; letters are replaced by what they stand for.

    Cells are at least two spaces apart, and none is empty.
    """
    lines = text.splitlines()
    start = next(i for i, line in enumerate(lines) if line.strip().startswith(head) and "  " in line.strip())
    rows: list[list[str]] = []
    for line in lines[start + 1 :]:
        cells = re.split(r"\s{2,}", line.strip())
        if not line.strip() or (rows and len(cells) != len(rows[0])):
            break
        rows.append(cells)
    key = dict(found.groups() for line in lines if (found := re.fullmatch(r"  ([A-Z]): (.*)", line)))
    return [[key.get(row[0], row[0]), *row[1:]] for row in rows]


_SIGN = str.maketrans({"−": "-", "+": None})


def number(cell: str) -> tuple[float, float]:
    """A cell as printed, in SI, and how far the value may be from it by rounding.

    Hours, fractions, °C, Wh and kg; ``none`` is 0 and a dash not-a-number.
    """
    text = cell.translate(_SIGN)
    if text in ("–", "none", "not reached"):
        return (0.0 if text == "none" else math.nan), 0.0
    if text.startswith(">"):
        return math.inf, 0.0
    if text == "< 1 min":
        return 0.25 / 60.0, 0.25 / 60.0 + 1e-9
    if found := re.fullmatch(r"(-?)(?:(\d+) h)? ?(?:(\d+) min)?", text):
        hours = int(found[2] or 0) + int(found[3] or 0) / 60.0
        return (-hours if found[1] else hours), 0.5 / 60.0 + 1e-9
    if found := re.fullmatch(r"(?:[<>] )?(-?[\d.]+)%", text):
        return float(found[1]) / 100.0, (0.00051 if "." in found[1] else 0.0051)
    if found := re.fullmatch(r"(-?[\d.]+) (°C|°F|Wh|kWh|kg|lb|USD)", text):
        value, step = float(found[1]), 0.5 * 10.0 ** -len(found[1].partition(".")[2])
        scale, offset = {"°F": (1 / 1.8, -32 / 1.8), "kWh": (1e3, 0.0), "lb": (0.45359237, 0.0)}.get(
            found[2], (1.0, 0.0)
        )
        return value * scale + offset, step * scale * 1.001 + 1e-9
    if found := re.fullmatch(r"-?\d+(\.\d+)?", text):
        return float(text), 0.5 * 10.0 ** -len(text.partition(".")[2]) + 1e-9
    raise AssertionError(f"a cell that cannot be read back: {cell!r}")


def agrees(cell: str, value: float | None) -> bool:
    """Whether a cell says a value; None and what is not finite are a dash, or beyond what was followed."""
    shown, tolerance = number(cell)
    if value is None or not math.isfinite(value):
        return not math.isfinite(shown)
    if math.isinf(shown):
        return value >= 48.0 - 1e-6
    return abs(shown - value) <= tolerance
