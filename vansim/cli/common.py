"""What all commands share: the app, its options, and how a fault is told."""

from __future__ import annotations

import gc
import json
import sys
from collections.abc import Callable, Iterable, Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import Annotated, Any, NoReturn

import typer

app = typer.Typer(
    help="How long the battery-powered cooling of a camper van runs, and what would make it last until morning.",
    rich_markup_mode=None,
    pretty_exceptions_enable=False,
    add_completion=False,
    no_args_is_help=True,
)

SCENARIO_HELP = "Scenario file (TOML). Left out: the bundled, invented desert night."
WEATHER_HELP = "Typical-year file (EPW, TMY3, TMY2, PVGIS) instead of the scenario's."
SEASON_HELP = "jun-sep, 06-01..09-30 or year. Left out: the hottest three months."
HEAT_WAVE_HELP = "Margin for a heat wave: warm the hottest fortnight by so many kelvin."

ScenarioFile = Annotated[Path | None, typer.Argument(help=SCENARIO_HELP, show_default=False)]
WeatherFile = Annotated[Path | None, typer.Option("--weather", help=WEATHER_HELP, show_default=False)]
Units = Annotated[str, typer.Option("--units", help="Units to show: si or us.")]
Out = Annotated[Path | None, typer.Option("--out", help="Folder for tables and pictures.", show_default=False)]
AsJson = Annotated[bool, typer.Option("--json", help="Print JSON instead of words.")]
Season = Annotated[str | None, typer.Option("--season", help=SEASON_HELP, show_default=False)]
HeatWave = Annotated[float | None, typer.Option("--heat-wave", help=HEAT_WAVE_HELP, show_default=False)]


@contextmanager
def report_errors() -> Iterator[None]:
    """Turn bad input into messages and exit code 2; nothing else is caught."""
    from vansim.errors import VansimError

    try:
        yield
    except VansimError as error:
        for fault in error.faults:
            typer.echo(fault, err=True)
        raise typer.Exit(2) from None
    except KeyboardInterrupt:
        typer.echo("stopped; nothing was written", err=True)
        raise typer.Exit(130) from None


def fail(*faults: str) -> NoReturn:
    """End with faults of the input."""
    from vansim.errors import ScenarioError

    raise ScenarioError(faults)


def system_of(units: str) -> str:
    """Check the asked system of units."""
    if units not in ("si", "us"):
        fail(f"--units: {units!r} is not a system of units here; allowed: si, us")
    return units


def load(path: Path | None) -> Any:
    """Read the scenario, or the bundled one."""
    from vansim.scenario.files import default_scenario_path, load_scenario

    return load_scenario(path if path is not None else default_scenario_path())


def weather_for(path: Path | None, scenario: Any) -> Any:
    """Read the given weather, or the scenario's own."""
    from vansim.climate import read_weather
    from vansim.runs.run import weather_of

    return read_weather(path) if path is not None else weather_of(scenario)


def print_json(value: Any) -> None:
    """Print as JSON; tables as lists of rows, dates as text, what is not finite as null."""
    typer.echo(json.dumps(plain(value), indent=2, ensure_ascii=False))


def plain(value: Any) -> Any:
    """Make anything that a study holds into what JSON can hold."""
    import math

    from vansim.notes import Note

    if hasattr(value, "to_dict") and hasattr(value, "columns"):
        return [plain(row) for row in value.reset_index().to_dict("records")]
    if isinstance(value, dict):
        return {str(key): plain(item) for key, item in value.items()}
    if isinstance(value, list | tuple):
        return [plain(item) for item in value]
    if isinstance(value, Note):
        return {"code": value.code, **plain(dict(value.values))}
    if hasattr(value, "isoformat"):
        return value.isoformat()
    if hasattr(value, "item"):
        value = value.item()
    if isinstance(value, float) and not math.isfinite(value):
        return None
    return value


def write(folder: Path, files: dict[str, bytes]) -> None:
    """Write all files or none, and say where."""
    from vansim.output_files import write_together

    try:
        for path in write_together(folder, files):
            typer.echo(f"wrote {path}", err=True)
    except OSError as problem:
        fail(f"--out {folder}: cannot write there ({problem.strerror})")


def pictures(**figures: Any) -> dict[str, bytes]:
    """Each figure as PNG and SVG, by name."""
    from vansim.show.plots import png, svg

    files = {}
    for name, figure in figures.items():
        files[f"{name}.png"], files[f"{name}.svg"] = png(figure), svg(figure).encode()
    return files


def tables(**frames: Any) -> dict[str, bytes]:
    """Each table as CSV and JSON, by name."""
    files = {}
    for name, frame in frames.items():
        files[f"{name}.csv"] = frame.to_csv().encode()
        files[f"{name}.json"] = (json.dumps(plain(frame), indent=2, ensure_ascii=False) + "\n").encode()
    return files


def progress(what: str) -> Callable[[int, int], None] | None:
    """Say on stderr how far long work has come; None where nobody watches."""
    if not sys.stderr.isatty():
        return None

    def tell(done: int, of: int) -> None:
        sys.stderr.write(f"\r{what}: {done} of {of}" + ("\n" if done >= of else ""))
        sys.stderr.flush()

    return tell


def echo_lines(lines: Iterable[str]) -> None:
    """Print lines."""
    typer.echo("\n".join(lines))


UNSWEPT = 300_000
"""New objects before Python looks for garbage. Importing makes about as many and all of them stay, so that looking
through them again and again, as it does by default, is a tenth of a short run."""


def main() -> None:
    """Entry point: anything that is not bad input is a fault of ours, and exits with 1."""
    gc.set_threshold(UNSWEPT)
    try:
        app()
    except Exception as problem:
        typer.echo(f"a fault of ours: {type(problem).__name__}: {problem}", err=True)
        sys.exit(1)
    finally:
        # what is left goes with the process; looking through it for garbage on the way out can take half a second
        gc.freeze()
