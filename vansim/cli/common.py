"""What all commands share: the app, how bad input is reported, and how answers are printed and written."""

from __future__ import annotations

import gc
import json
import sys
import time
from collections.abc import Callable, Iterable, Iterator, Mapping
from contextlib import contextmanager
from pathlib import Path
from typing import TYPE_CHECKING, Annotated, Any, NoReturn, TypeAlias, overload

import typer
from typer.core import TyperGroup

from vansim.lazy import LaterModule

if TYPE_CHECKING:
    import pandas as pd
    from matplotlib.figure import Figure
    from typer._click.core import Command, Context

Json: TypeAlias = "dict[str, Json] | list[Json] | str | int | float | bool | None"
"""What JSON can hold."""

RENAMED_COMMANDS = {"worth": "upgrades", "causes": "energy", "hazard": "outage"}
RENAMED_OPTIONS = {"--chained": "--consecutive", "--keep": "--target", "--with": "--battery"}
"""Old names to new ones. Old names are refused, so that nobody goes on with a command that means something else."""


class Commands(TyperGroup):
    """The commands; one called by an old name, or with an option's old name, is refused with the new name."""

    def resolve_command(self, ctx: Context, args: list[str]) -> tuple[str | None, Command | None, list[str]]:
        """Find the command of a line; see the class."""
        if args and args[0] in RENAMED_COMMANDS:
            self._refuse(args[0], RENAMED_COMMANDS[args[0]])
        name, command, rest = super().resolve_command(ctx, args)
        options = {option for parameter in command.params for option in parameter.opts} if command else set()
        for word in rest:
            option = word.partition("=")[0]
            if RENAMED_OPTIONS.get(option) in options:
                self._refuse(option, RENAMED_OPTIONS[option])
        return name, command, rest

    def _refuse(self, old: str, new: str) -> NoReturn:
        typer.echo(f"{old} is called {new}", err=True)
        raise typer.Exit(2)


app = typer.Typer(
    cls=Commands,
    help="How long the battery-powered cooling of a camper van runs, and what would make it last until morning.",
    rich_markup_mode=None,
    pretty_exceptions_enable=False,
    add_completion=False,
    no_args_is_help=True,
)


def _version(asked: bool) -> None:
    if asked:
        from vansim.version import __version__, sources_hash

        typer.echo(f"vansim {__version__}, sources {sources_hash()}")
        raise typer.Exit


@app.callback()
def _options(
    version: Annotated[
        bool,
        typer.Option("--version", callback=_version, is_eager=True, help="Show the version and a hash of its sources."),
    ] = False,
) -> None:
    pass


# --- input ------------------------------------------------------------------------------------------------------------


METRIC_KEYS = 'Keys that end in a metric unit take numbers in it; text with its unit, such as "77 degF", is read too.'


@contextmanager
def report_errors(units: str = "si") -> Iterator[None]:
    """Turn bad input into messages in the units asked for, and exit code 2; nothing else is caught."""
    from vansim.errors import VansimError
    from vansim.units import translated

    try:
        yield
    except VansimError as error:
        said = [translated(fault, units) if units == "us" else fault for fault in error.faults]
        for fault in said:
            typer.echo(fault, err=True)
        if said != list(error.faults):
            typer.echo(METRIC_KEYS, err=True)
        raise typer.Exit(2) from None


def fail(*faults: str) -> NoReturn:
    """End with faults of the input."""
    from vansim.errors import ScenarioError

    raise ScenarioError(faults)


def system_of(units: str) -> str:
    """Check which system of units is asked for."""
    if units not in ("si", "us"):
        fail(f"--units: {units!r} is not a system of units; allowed: si, us")
    return units


def progress(what: str) -> Callable[[int, int], None] | None:
    """Count on stderr how far long work has come, and how long the rest takes; None where nobody watches."""
    if not sys.stderr.isatty():
        return None
    began, before = time.monotonic(), 0

    def count(done: int, of: int) -> None:
        nonlocal before
        line = f"{what}: {done} of {of}{rest_words(time.monotonic() - began, done, of)}"
        sys.stderr.write(f"\r{line:<{before}}" + ("\n" if done >= of else ""))
        sys.stderr.flush()
        before = len(line)

    return count


TOLD_AFTER_S = 2.0
"""Shorter work is over before anybody has read how long it takes."""


def rest_words(spent_s: float, done: int, of: int) -> str:
    """``, about 40 s left``, from the pace so far; nothing at first and at the end."""
    if spent_s < TOLD_AFTER_S or not 0 < done < of:
        return ""
    rest_s = spent_s * (of - done) / done
    from vansim import phrases

    return f", about {phrases.rest(rest_s)} left"


def compiling_notice() -> None:
    """Say on stderr that the first run of this version compiles; nothing where it has been, or where nobody watches."""
    if not sys.stderr.isatty():
        return
    from vansim.jit import cache_folder

    folder = cache_folder()
    if folder is None or not any(folder.iterdir()):
        once = "each time, for nothing can be kept" if folder is None else "once"
        typer.echo(f"compiling {once}, about 20 s ...", err=True)


def steps() -> Callable[[str], None] | None:
    """Name on stderr each piece of long work as it begins; None where nobody watches."""
    return (lambda name: typer.echo(f"{name} ...", err=True)) if sys.stderr.isatty() else None


# --- output -----------------------------------------------------------------------------------------------------------


def echo_lines(lines: Iterable[str], wide: bool = False) -> None:
    """Print lines, prose wrapped to the screen unless they are `wide`; none ends between a number and its unit."""
    typer.echo("\n".join(row for line in lines for row in ([line] if wide else wrapped(line))))


def wrapped(line: str) -> list[str]:
    """A line as rows that fit the screen; further rows of a list or a named figure stand below its first word."""
    from vansim.show.text.width import columns

    width = columns()
    if len(line) <= width:
        return [line]
    import re
    import textwrap

    from vansim.phrases import unbroken

    text = line.lstrip()
    indent = len(line) - len(text)
    named = re.match(r"\S+(?: \S+)*  +(?=\S)", text)
    hang = " " * min(indent + (named.end() if named else 2 if text.startswith("- ") else 0), width // 2)
    rows = textwrap.wrap(
        unbroken(text), width, initial_indent=" " * indent, subsequent_indent=hang, break_long_words=False,
        break_on_hyphens=False,
    )  # fmt: skip
    return [row.replace("\u00a0", " ") for row in rows]


def json_text(value: object) -> str:
    """JSON of anything that a study holds; see `plain`."""
    return json.dumps(plain(value), indent=2, ensure_ascii=False)


def print_json(value: object) -> None:
    """Print as JSON; tables as lists of rows, dates as text, what is not finite as null."""
    typer.echo(json_text(value))


@overload
def plain(value: Mapping[str, Any]) -> dict[str, Json]: ...


@overload
def plain(value: object) -> Json: ...


def plain(value: Any) -> Json:
    """Make anything that a study holds into what JSON can hold."""
    import math

    if hasattr(value, "to_dict") and hasattr(value, "columns"):
        return [plain(row) for row in value.reset_index().to_dict("records")]
    if isinstance(value, Mapping):
        return {str(key): plain(item) for key, item in value.items()}
    if isinstance(value, list | tuple):
        return [plain(item) for item in value]
    if hasattr(value, "isoformat"):
        return None if value != value else str(value.isoformat())  # not-a-time is not itself
    if hasattr(value, "item"):
        value = value.item()
    if isinstance(value, float) and not math.isfinite(value):
        return None
    found: bool | int | float | str | None = value
    return found


def write(folder: Path, files: dict[str, bytes]) -> None:
    """Write all files or none, and say where."""
    from vansim.output_files import write_together

    try:
        for path in write_together(folder, files):
            typer.echo(f"wrote {path}", err=True)
    except OSError as problem:
        fail(f"--out {folder}: cannot write there ({problem.strerror})")


if TYPE_CHECKING:
    from vansim.show import plots as plots
else:
    plots = LaterModule("vansim.show.plots")  # drawing takes as long to import as a short run takes in all


def pictures(**figures: Figure) -> dict[str, bytes]:
    """Each figure as PNG and SVG, by name."""
    from vansim.show.plots import png, svg

    files = {}
    for name, figure in figures.items():
        files[f"{name}.png"], files[f"{name}.svg"] = png(figure), svg(figure).encode()
    return files


def tables(**frames: pd.DataFrame) -> dict[str, bytes]:
    """Each table as CSV and JSON, by name; those without a row are left out."""
    files = {}
    for name, frame in frames.items():
        if len(frame):
            files[f"{name}.csv"] = csv_text(frame).encode()
            files[f"{name}.json"] = f"{json_text(frame)}\n".encode()
    return files


def csv_text(frame: pd.DataFrame) -> str:
    """A table as CSV; text that a spreadsheet would take for a formula is written so that it shows as text."""
    table = frame.reset_index() if any(frame.index.names) else frame
    words = table.select_dtypes(include=["object", "string", "category"]).columns
    shown = table.assign(**{str(name): table[name].map(_as_text) for name in words})
    return shown.to_csv(index=not any(frame.index.names))


def _as_text(value: Any) -> Any:
    return f"'{value}" if isinstance(value, str) and value.startswith(("=", "+", "-", "@")) else value


# --- entry ------------------------------------------------------------------------------------------------------------

UNSWEPT = 300_000
"""New objects before Python looks for garbage. Importing makes about as many and all of them stay, so that looking
through them again and again, as it does by default, is a tenth of a short run."""


def main() -> None:
    """Entry point: anything that is not bad input is an internal error, and exits with 1."""
    gc.set_threshold(UNSWEPT)
    try:
        app()
    except Exception as problem:
        typer.echo(f"internal error (please report): {type(problem).__name__}: {problem}", err=True)
        sys.exit(1)
    finally:
        # what is left goes with the process; looking through it for garbage on the way out can take half a second
        gc.freeze()
