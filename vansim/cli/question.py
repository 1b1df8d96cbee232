"""What every question about a scenario has in common, written once: its options, what it reads, how it is answered.

A command is a function from a `Question`, and options of its own, to an `Answer`. `question` gives it the options that
all of them take (scenario, ``--weather``, ``--labels``, ``--sky``, ``--units``, ``--out``, ``--json``), and prints or
writes what it answers.
"""

from __future__ import annotations

import inspect
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from functools import cached_property
from pathlib import Path
from typing import TYPE_CHECKING, Annotated, Any

import typer

from vansim.cli.common import app, compiling_notice, echo_lines, plain, print_json, report_errors, system_of, write

if TYPE_CHECKING:
    from vansim.climate import Weather
    from vansim.runs.result import Result
    from vansim.scenario.schema import Scenario
    from vansim.studies.design import Design

ScenarioFile = Annotated[
    Path | None,
    typer.Argument(help="Scenario file (TOML). Left out: the bundled, invented desert night.", show_default=False),
]
WeatherFile = Annotated[
    Path | None,
    typer.Option(
        "--weather", help="Typical-year file (EPW, TMY3, TMY2, PVGIS) instead of the scenario's.", show_default=False
    ),
]
Units = Annotated[str, typer.Option("--units", help="Units to show: si or us.")]
Out = Annotated[Path | None, typer.Option("--out", help="Folder to write tables and pictures to.", show_default=False)]
Labels = Annotated[
    str, typer.Option("--labels", help="find: move a weather file to where its sun stands; as-written: keep its hours.")
]
Sky = Annotated[
    str, typer.Option("--sky", help="formula: compute the sky's longwave; measured: keep the weather file's.")
]
AsJson = Annotated[bool, typer.Option("--json", help="Print JSON instead of text.")]


@dataclass(frozen=True)
class Question:
    """A scenario, a typical year and the units of the answer.

    Attributes
    ----------
    scenario : Scenario
        As read.
    weather_file : Path or None
        The typical year asked for; None for the scenario's own.
    system : {"si", "us"}
        Units to show.
    labels, sky : str
        How the year is read; as for `vansim.read_weather`.
    """

    scenario: Scenario
    weather_file: Path | None
    system: str
    labels: str = "find"
    sky: str = "formula"

    @cached_property
    def weather(self) -> Weather:
        """The typical year; read when first needed."""
        from vansim.climate import read_weather
        from vansim.runs.run import weather_of
        from vansim.scenario.files import check_weather_file

        if self.weather_file is None:
            return weather_of(self.scenario, self.labels, self.sky)
        check_weather_file(self.weather_file)
        return read_weather(self.weather_file, labels=self.labels, sky=self.sky)


@dataclass(frozen=True)
class Answer:
    """An answer in every form that may be asked for; each is made when it is.

    Attributes
    ----------
    lines : callable
        Lines for a reader, below the scenario's title.
    data : callable
        Mapping for ``--json``.
    files : callable
        Name to content of what ``--out`` writes.
    source : Scenario, Result, Design or None
        What tells who is aboard, and when the bank is empty: a plan in which nobody who can act is with whoever is
        aboard gets a caution above everything else.
    """

    lines: Callable[[], Sequence[str]]
    data: Callable[[], dict[str, Any]]
    files: Callable[[], dict[str, bytes]]
    source: Scenario | Result | Design | None


def load(path: Path | None) -> Scenario:
    """Read a scenario file, or the bundled scenario."""
    from vansim.scenario.files import default_scenario_path, load_scenario

    return load_scenario(path if path is not None else default_scenario_path())


def answered(title: str, found: Answer, as_json: bool) -> None:
    """Print an answer as text or as JSON, with its caution first."""
    from vansim.show.data import explained
    from vansim.show.text.caution import caution_lines

    caution = caution_lines(found.source)
    if not as_json:
        echo_lines([title, "", *caution, *found.lines()])
        return
    data = plain(found.data())
    if caution:
        data = {"unattended": caution[0], **data}
    print_json(data | {"null": explained({name: value for name, value in data.items() if name != "null"})})


def question(answer: Callable[..., Answer]) -> Callable[..., None]:
    """Make a command of a function from a question, and options of its own, to an answer.

    Parameters
    ----------
    answer : callable
        Its name and docstring become those of the command.

    Returns
    -------
    callable
        The command, with the options that all questions share.
    """

    def command(
        scenario: ScenarioFile = None,
        weather: WeatherFile = None,
        labels: Labels = "find",
        sky: Sky = "formula",
        out: Out = None,
        units: Units = "si",
        as_json: AsJson = False,
        **own: Any,
    ) -> None:
        with report_errors(units):
            system = system_of(units)
            asked = Question(load(scenario), weather, system, labels, sky)
            compiling_notice()
            found = answer(asked, **own)
            if out is not None:
                write(out, found.files())
            answered(asked.scenario.title, found, as_json)

    shared = list(inspect.signature(command, eval_str=True).parameters.values())[:-1]
    own = list(inspect.signature(answer, eval_str=True).parameters.values())[1:]
    parameters = [*shared[:2], *own, *shared[2:]]
    command.__name__, command.__doc__ = answer.__name__, answer.__doc__
    command.__annotations__ = {parameter.name: parameter.annotation for parameter in parameters}
    command.__signature__ = inspect.Signature(parameters)  # type: ignore[attr-defined]
    app.command()(command)
    return command
