"""What the README shows is what the program says: every screen, picture, row, command and file in it."""

from __future__ import annotations

import re
import shlex
from pathlib import Path

import pytest
from typer.testing import CliRunner

from tests.readme.make import DRAWN, HEAD, MADE, PICTURES, README, ROOT, drawn, row, shown, stems, told
from tests.support.places import DEMO
from vansim.cli import app
from vansim.climate import read_weather
from vansim.scenario.files import load_scenario

MAKE = "make it again with: python -m tests.readme.make"
TEXT = README.read_text(encoding="utf-8")
SPANS = re.compile(r"`((?:vansim [a-z][^`]*)|(?:--[^`]+))`")
SHORT = ("--season", "07-15..07-15")
"""One night of a season is enough to see that a command is understood."""
SEASONAL = ("nights", "size", "compare", "upgrades", "outage", "report")


def commands() -> list[str]:
    """Every command that is written out, and with each of the options beside it in a row of a table or a sentence."""
    found = re.findall(r"^\.venv/bin/(vansim .*)$", TEXT, re.MULTILINE)
    for line in TEXT.splitlines():
        base = ""
        for span in SPANS.findall(line):
            if span.startswith("vansim "):
                base = span
                found.append(span)
            elif base and " FILE" not in base and not base.startswith("vansim report"):
                found.append(f"{base} {span}")
            elif base:  # a report takes its time, and all of its options together
                found[-1] = f"{found[-1]} {span}"
    return sorted(set(found))


@pytest.mark.parametrize("name", [name for name in MADE if name != "scenarios"])
def test_a_screen_is_what_the_command_prints(name: str) -> None:
    assert shown()[name] == MADE[name](), MAKE


def test_every_block_is_made() -> None:
    assert set(shown()) == set(MADE)


@pytest.mark.parametrize("stem", stems())
def test_a_row_of_the_table_is_what_the_commands_say(stem: str) -> None:
    assert row(stem) in shown()["scenarios"], MAKE


def test_the_table_has_every_scenario_and_nothing_else() -> None:
    made = shown()["scenarios"]
    assert made.startswith(HEAD), MAKE
    assert re.findall(r"^\| `([\w-]+)`", made, re.MULTILINE) == stems()


@pytest.mark.parametrize("name", DRAWN)
def test_a_picture_is_what_the_command_draws(name: str) -> None:
    """By heading and by the words for those who do not see it, which hold its figures."""
    assert told((PICTURES / f"{name}.png").read_bytes()) == told(drawn(name)), MAKE


def test_there_is_something_to_try() -> None:
    tried = {command.split()[1] for command in commands()}
    assert tried >= set(SEASONAL) | {"run", "check", "energy", "recharge", "side-by-side", "parts", "weather", "schema"}


@pytest.mark.parametrize("command", commands())
def test_a_command_that_is_written_out_runs(
    command: str, tmp_path: Path, monkeypatch: pytest.MonkeyPatch, desert_year: object
) -> None:
    monkeypatch.setattr("vansim.climate.download_weather", lambda lat, lon: desert_year)  # no network in tests
    logo = tmp_path / "logo.svg"
    logo.write_text('<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 9 9"><circle r="4"/></svg>')
    own = {
        "VAN.toml": str(tmp_path / "van.toml"),
        "MY.toml": str(ROOT / "scenarios" / "desert-night.toml"),
        "FOLDER": str(tmp_path / "out"),
        "YEARS": str(DEMO),
        "NAME": "Example",
        "FILE": str(logo) if "--logo" in command else str(DEMO / "desert.epw"),
    }
    words = [own.get(word, word) for word in shlex.split(command)[1:]]
    short = SHORT if words[0] in SEASONAL and "--season" not in words else ()
    done = CliRunner().invoke(app, [*words, *short])
    assert done.exit_code == 0, (words, done.output)


def fence(kind: str, first: str) -> str:
    """The code of a fence by how it begins."""
    fences = re.findall(r"^```(\w*)\n(.*?)^```$", TEXT, re.DOTALL | re.MULTILINE)
    return next(code for named, code in fences if named == kind and code.startswith(first))


def test_the_year_of_ones_own_is_read(tmp_path: Path) -> None:
    sample = fence("", "# latitude").replace("desert.epw", str(DEMO / "desert.epw"))
    path = tmp_path / "mine.csv"
    more = "".join(f"2026-07-{12 + h // 24} {h % 24:02d}:00,0,30.4,19,1.1\n" for h in range(1, 26))
    path.write_text(sample + more, encoding="utf-8")  # a day and a bit, as the least that is taken
    assert read_weather(path).site.latitude == 33.0


def test_the_prices_of_ones_own_are_read(tmp_path: Path) -> None:
    (tmp_path / "my-prices.toml").write_text(fence("toml", "currency"), encoding="utf-8")
    text = (ROOT / "scenarios" / "desert-night.toml").read_text(encoding="utf-8")
    text = text.replace("../data_demo/climates", str(DEMO))
    (tmp_path / "van.toml").write_text(f'prices = "my-prices.toml"\n{text}', encoding="utf-8")
    scenario = load_scenario(tmp_path / "van.toml")
    assert scenario.currency == "EUR"
    assert scenario.bank.unit.price == 350.0


def test_the_first_screen_is_the_job_the_answer_two_commands_and_six_lines() -> None:
    places = [
        TEXT.index(words) for words in ("For people who fit", "made: answer", "```sh", "```python", "## Four words")
    ]
    assert places == sorted(places)
    shell, code = (fence(*one).split("\n") for one in (("sh", "python3 -m venv"), ("python", "import vansim")))
    assert len([line for line in shell if line]) == 2
    assert len([line for line in code if line]) == 6
    for word in ("**reserve**", "**covered**", "**Consecutive**"):
        assert TEXT.index(word) < TEXT.index("made: scenarios")


def test_every_place_that_is_pointed_to_is_there() -> None:
    heads = {
        re.sub(r"[^\w -]", "", head).lower().replace(" ", "-") for head in re.findall(r"^#+ (.*)$", TEXT, re.MULTILINE)
    }
    assert set(re.findall(r"\]\(#([^)]*)\)", TEXT)) <= heads
    for path in re.findall(r"`((?:notebooks|scenarios|data_demo|vansim)/[\w/.-]*)`", TEXT):
        assert (ROOT / path).exists(), path
