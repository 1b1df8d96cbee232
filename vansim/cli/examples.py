"""The example scenarios that come along: listed, printed and copied."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated

import typer

from vansim.cli.common import app, echo_lines, fail, report_errors


@app.command()
def examples(
    name: Annotated[
        str | None, typer.Argument(help="One of them, to print or to copy. Left out: the list.", show_default=False)
    ] = None,
    to: Annotated[Path | None, typer.Argument(help="File to copy it to.", show_default=False)] = None,
    overwrite: Annotated[bool, typer.Option("--overwrite", help="Replace a file that is there.")] = False,
) -> None:
    """List the example scenarios (invented), print one, or copy one to change it."""
    with report_errors():
        from vansim.scenario.examples import copy_example, example_text, example_titles

        if name is None:
            titles = example_titles()
            wide = max(map(len, titles))
            echo_lines([f"  {one:<{wide}}  {title}" for one, title in titles.items()])
            echo_lines(["", "Copy one: vansim examples NAME MY.toml"])
        elif to is None:
            typer.echo(example_text(name), nl=False)
        else:
            try:
                copy_example(name, to, overwrite)
            except FileExistsError:
                fail(f"{to}: is there already; choose another name, or add --overwrite")
            except OSError as problem:
                fail(f"{to}: cannot be written ({problem.strerror})")
            echo_lines([f"wrote {to}", f"Next: vansim check {to}, then vansim run {to}"])
