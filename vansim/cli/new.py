"""Describe a van in about ten answers: asked one after another, or given as options."""

from __future__ import annotations

import inspect
import sys
from collections.abc import Callable
from pathlib import Path
from typing import Annotated, TextIO

import typer

from vansim.cli.common import app, echo_lines, fail, report_errors
from vansim.scenario.questions import GROUPS, WORDS
from vansim.units import stem_of


def ask(read: Callable[[str], str], write: Callable[[str], None]) -> dict[str, str]:
    """Ask the ten questions.

    Parameters
    ----------
    read : callable
        Shows a prompt and gives the line that was typed; raises `EOFError` where there are no more.
    write : callable
        Shows a line.

    Returns
    -------
    dict of str to str
        Answers that were given; what was left empty, or not reached, is not in it.
    """
    from vansim.scenario.description import range_words, said_default

    answers: dict[str, str] = {}
    write("Enter takes what stands in brackets; ? explains; units may be written, such as 1 in, 65 A, 75 degF.")
    try:
        for number, (heading, keys) in enumerate(GROUPS.items(), 1):
            write("")
            write(f"{number} of {len(GROUPS)}: {heading}")
            for key in keys:
                _one(key, answers, read, write, (WORDS[key], range_words(key), said_default(key)))
    except EOFError:
        write("")
    return answers


def _one(
    key: str,
    answers: dict[str, str],
    read: Callable[[str], str],
    write: Callable[[str], None],
    shown: tuple[str, str, str],
) -> None:
    """One answer, asked for until it can be taken."""
    from vansim.errors import VansimError
    from vansim.scenario.described import made_from

    words, allowed, default = shown
    while True:
        said = read(f"  {_name(key)} [{default}]: ").strip()
        if said == "?":
            write(f"    {words}")
            if allowed:
                write(f"    Allowed: {allowed}.")
            continue
        if not said:
            return
        try:
            made_from({**answers, key: said})
        except VansimError as fault:
            for line in fault.faults:
                write(f"    {line}")
            continue
        answers[key] = said
        return


def _name(key: str) -> str:
    return stem_of(key).replace("_", " ")


def _read_line(prompt: str, screen: TextIO) -> str:
    screen.write(prompt)
    screen.flush()
    line = sys.stdin.readline()
    if not line:
        raise EOFError
    return line


def _option(key: str) -> str:
    return "--" + stem_of(key).replace("_", "-")


def _short_forms(answers: dict[str, str | None], foam: str | None, wool: str | None) -> dict[str, str]:
    """Answers that were given; ``--foam 25mm`` means walls and roof."""
    for short, material in ((foam, "spray-foam"), (wool, "sheep-wool")):
        if short is not None:
            answers = {**answers, "walls": answers["walls"] or f"{short} {material}"}
    return {key: value for key, value in answers.items() if value is not None}


def _new(
    file: Annotated[
        Path | None, typer.Argument(help="File to write. Left out: the scenario is printed.", show_default=False)
    ] = None,
    asked: Annotated[
        bool | None,
        typer.Option("--ask/--no-ask", help="Ask, or never ask. Left out: at a terminal, if no answer is given."),
    ] = None,
    overwrite: Annotated[bool, typer.Option("--overwrite", help="Replace a file that is there.")] = False,
    foam: Annotated[
        str | None, typer.Option("--foam", help="Spray foam in walls and roof: 25mm, 1in.", show_default=False)
    ] = None,
    wool: Annotated[
        str | None, typer.Option("--wool", help="Sheep wool in walls and roof: 50mm, 2in.", show_default=False)
    ] = None,
    **answers: str | None,
) -> None:
    """Describe a van in about ten answers and write a commented scenario file."""
    with report_errors():
        from vansim.scenario.described import describe_van, made_from

        given = _short_forms(answers, foam, wool)
        if file is not None and file.exists() and not overwrite:
            fail(f"{file}: is there already; choose another name, or add --overwrite")
        if asked or (asked is None and not given and sys.stdin.isatty()):
            screen = sys.stderr if file is None else sys.stdout
            given |= ask(lambda prompt: _read_line(prompt, screen), lambda line: print(line, file=screen))
        given = {stem_of(key): value for key, value in given.items()}
        if file is None:
            typer.echo(made_from(given)[1], nl=False)
            return
        describe_van(file, overwrite, **given)
        left = [_option(key) for key in WORDS if stem_of(key) not in given]
        said = [f"Not said, so by default: {', '.join(left)}."] if left else []
        echo_lines([f"wrote {file}", *said, f"Next: vansim check {file}, then vansim run {file}"])


def _with_answers(command: Callable[..., None]) -> Callable[..., None]:
    """Give a command an option for every answer, with its words."""
    own = list(inspect.signature(command, eval_str=True).parameters.values())[:-1]
    parameters = own + [
        inspect.Parameter(
            key,
            inspect.Parameter.KEYWORD_ONLY,
            default=None,
            annotation=Annotated[str | None, typer.Option(_option(key), help=words, show_default=False)],
        )
        for key, words in WORDS.items()
    ]
    command.__name__ = "new"
    command.__annotations__ = {parameter.name: parameter.annotation for parameter in parameters}
    command.__signature__ = inspect.Signature(parameters)  # type: ignore[attr-defined]
    return command


new = app.command()(_with_answers(_new))
