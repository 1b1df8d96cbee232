"""Make again what the README shows of the program: ``python -m tests.readme.make``.

Screens, the table of scenarios and pictures stand between ``<!-- made: NAME -->`` and ``<!-- end -->``; all else is
written by hand.
"""

from __future__ import annotations

import contextlib
import io
import os
import re
import tempfile
from collections.abc import Callable
from functools import cache
from pathlib import Path

from PIL import Image
from typer.testing import CliRunner

import vansim
from vansim import phrases
from vansim.cli import app
from vansim.cli.common import wrapped
from vansim.runs.result import Result
from vansim.studies.nights import Nights
from vansim.studies.sizing import Sizing

ROOT = Path(__file__).parents[2]
README = ROOT / "README.md"
PICTURES = ROOT / "data_demo" / "pictures"
BLOCK = re.compile(r"(<!-- made: (?P<name>[a-z ]+) -->\n)(?P<made>.*?)(<!-- end -->)", re.DOTALL)
DRAWN = {"night": ("run",), "runtime": ("nights",)}
"""Pictures that are shown, and the command that writes each with ``--out``."""


def call(*words: str) -> str:
    """What a command prints on a terminal of 80 columns."""
    done = CliRunner(env={"COLUMNS": "80", "NO_COLOR": "1"}).invoke(app, list(words))
    assert done.exit_code == 0, done.output
    return done.stdout


def screen(words: tuple[str, ...], *kept: str) -> str:
    """A screen in a fence: of its paragraphs, those that begin with some words."""
    paragraphs = call(*words).rstrip().split("\n\n")
    found = [p for p in paragraphs if p.lstrip().startswith(kept)]
    missing = [words for words in kept if not any(p.lstrip().startswith(words) for p in found)]
    assert not missing, f"no paragraph begins with {missing}"
    return "```\n" + "\n\n".join(found) + "\n```\n"


# --- pictures ---------------------------------------------------------------------------------------------------------


@cache
def drawn(name: str) -> bytes:
    """A picture as its command writes it."""
    with tempfile.TemporaryDirectory() as folder:
        call(*DRAWN[name], "--out", folder)
        return (Path(folder) / f"{name}.png").read_bytes()


def told(png: bytes) -> dict[str, str]:
    """Heading and alternative text that a picture carries."""
    texts: dict[str, str] = getattr(Image.open(io.BytesIO(png)), "text")  # noqa: B009
    return {key: texts[key] for key in ("Title", "Description")}


def picture(name: str) -> str:
    """A picture with its finding in place of it, for those who do not see it."""
    return f"![{told(drawn(name))['Title']}](data_demo/pictures/{name}.png)\n"


# --- what stands in the README ----------------------------------------------------------------------------------------


def answer() -> str:
    """The answer of the bundled scenario in words, and its night as a picture."""
    said = call("run").split("\n\n")[1].replace("\n", " ")
    return f"> {said}\n\n{picture('night')}"


def python() -> str:
    """What the first Python fence prints."""
    code = re.search(r"```python\n(.*?)```", README.read_text(encoding="utf-8"), re.DOTALL)
    assert code is not None
    out, before = io.StringIO(), Path.cwd()
    os.chdir(ROOT)
    try:
        with contextlib.redirect_stdout(out):
            exec(compile(code[1], "README.md", "exec"), {})
    finally:
        os.chdir(before)
    rows = [row for line in out.getvalue().splitlines() for row in wrapped(line)]
    return "```\n" + "\n".join(rows) + "\n```\n"


def first_screen() -> str:
    """The screen of a run, without weather and cautions."""
    return screen(("run",), "The cooling", "Account of", "Night of", "runtime", "before", "After the night")


def season_screen() -> str:
    """The headline of a season, and its picture."""
    return f"{screen(('nights',), 'All 92')}\n{picture('runtime')}"


HEAD = (
    "| scenario | its own days | covered: independent, consecutive | lasts from full, and what would keep it going | "
    "smallest bank for 95% of nights |\n|---|---|---|---|---|\n"
)


@cache
def row(stem: str) -> str:
    """A scenario's row: its own days, its season in both readings, and its smallest bank.

    By the functions that the commands call: their tables hold the numbers that are printed.
    """
    scenario = vansim.load_scenario(ROOT / "scenarios" / f"{stem}.toml")
    season = vansim.nights(scenario)
    counts = f"{season.independent.covered}, {season.consecutive.covered} of {season.independent.count}"
    cells = [f"`{stem}`", own_days(vansim.simulate(scenario)), counts, from_full(season), bank(vansim.size(scenario))]
    return "| " + " | ".join(cells) + " |\n"


def own_days(run: Result) -> str:
    """Whether the cooling lasts, and the least charge left."""
    covered, nights = int(run.nights["covered"].sum()), len(run.nights)
    if covered < nights:
        return f"covers {covered} of {nights}"
    left = phrases.percent(float(run.nights["waking_soc"].min()))
    return f"lasts all {nights}, {left} left at least" if nights > 1 else f"lasts, {left} left"


def from_full(season: Nights) -> str:
    """How many nights in a row, and the charging that would keep it going; a dash where the plan charges by itself."""
    if season.reason != "no-engine-or-shore":
        return "–"
    lasts = f"{phrases.count(season.in_a_row.worst, season.design.scenario.night.label)} in a row"
    for one in season.missing:
        if one.amount is not None:
            how = {"road": "driving", "idling": "idling", "solar": f"{phrases.power(one.amount)} more panels"}[one.way]
            daily = "" if one.way == "solar" else f" {phrases.duration(one.amount / 60.0)} a day"
            return f"{lasts}; {how}{daily} would cover {phrases.percent(float(one.share))}"
    return lasts


def bank(sizing: Sizing) -> str:
    """The smallest bank; or that no bank does it."""
    if not len(sizing.table):
        return f"none: too warm on {sizing.failed.iloc[0]['nights_too_warm']}, however large"
    least = sizing.table.iloc[0]
    return f"{least['units']} x `{least['battery']}`, {phrases.energy(1000.0 * float(least['usable_kwh']))}"


def stems() -> list[str]:
    """Scenarios that come with the program."""
    return sorted(path.stem for path in (ROOT / "scenarios").glob("*.toml"))


def scenarios() -> str:
    """The table of all scenarios."""
    return HEAD + "".join(row(stem) for stem in stems())


MADE: dict[str, Callable[[], str]] = {
    "answer": answer,
    "python": python,
    "run": first_screen,
    "nights": season_screen,
    "scenarios": scenarios,
}
"""Every block by name."""


def shown() -> dict[str, str]:
    """What stands in each block of the README."""
    return {found["name"]: found["made"] for found in BLOCK.finditer(README.read_text(encoding="utf-8"))}


def main() -> None:
    """Make all blocks and pictures again."""
    text = README.read_text(encoding="utf-8")
    README.write_text(BLOCK.sub(lambda m: f"{m[1]}{MADE[m['name']]()}{m[4]}", text), encoding="utf-8")
    for name in DRAWN:
        (PICTURES / f"{name}.png").write_bytes(drawn(name))
    print(f"{README.name} and {len(DRAWN)} pictures made")


if __name__ == "__main__":
    main()
