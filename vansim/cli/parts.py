"""Look up parts and constants: kinds, one in full, and what it would be in a van."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, Annotated, Any

import typer

from vansim.cli.common import app, echo_lines, fail, print_json, report_errors, system_of
from vansim.cli.question import AsJson, Units, load

if TYPE_CHECKING:
    from vansim.scenario.parts import Library
    from vansim.scenario.schema import Scenario


@app.command()
def parts(
    kind: Annotated[
        str | None,
        typer.Argument(help="A kind (coolers, materials, ...) or a part. Left out: every kind.", show_default=False),
    ] = None,
    name: Annotated[str | None, typer.Argument(help="One of that kind, in full.", show_default=False)] = None,
    units: Units = "si",
    scenario: Annotated[
        Path | None,
        typer.Option("--scenario", help="As this scenario sees it: its own parts, its prices.", show_default=False),
    ] = None,
    as_json: AsJson = False,
) -> None:
    """List the parts library (invented, generic parts) and the tables of materials, glass, paints and covers."""
    with report_errors(units):
        from vansim.scenario.catalogue import find_part, kind_of, kinds, no_kind
        from vansim.scenario.parts import library, library_of

        system = system_of(units)
        own = None if scenario is None else load(scenario)
        known = library() if own is None else library_of(own)
        of = None if kind is None else kind_of(kind)
        if kind is not None and (name is not None or of is None):
            if of is None and (name is not None or not _is_part(known, kind)):
                fail(no_kind(known, kind))
            _one(known, own, find_part(known, name or kind, of), system, as_json)
            return
        _tables(known, own, [of] if of is not None else kinds(), system, as_json)


def _is_part(known: Library, word: str) -> bool:
    from vansim.errors import ScenarioError
    from vansim.scenario.catalogue import find_part

    try:
        find_part(known, word)
    except ScenarioError:
        return False
    return True


def _one(known: Library, own: Scenario | None, part_of: tuple[str, str], system: str, as_json: bool) -> None:
    """One part or constant in full; with a scenario, what the van would be with it."""
    from vansim.runs.run import weather_of
    from vansim.scenario.catalogue import fitted_with, table_of_constants
    from vansim.scenario.parts import KINDS
    from vansim.show.text.check import check_data
    from vansim.show.text.part import fitted_lines, part_lines, row_lines
    from vansim.studies.van_figures import van_figures

    kind, name = part_of
    if kind not in KINDS:
        row = table_of_constants(kind).T[name]
        if as_json:
            print_json({"kind": kind, "name": name, **row.dropna().to_dict()})
        else:
            echo_lines([f"{kind}: {name}", *row_lines(row, system)])
        return
    part = known.part(kind, name)
    figures = None
    if own is not None:
        made = fitted_with(own, kind, name)
        figures = van_figures(made, weather_of(made) if made.weather else None)
    if as_json:
        data: dict[str, Any] = {"kind": kind, "name": name, **part.model_dump(exclude={"name"})}
        print_json(data if figures is None else {**data, "in_this_van": check_data(figures, system)})
        return
    echo_lines([f"{kind}: {name}", *part_lines(part, known.parts[kind].written(name), system)])
    if figures is not None:
        echo_lines(["", *fitted_lines(kind, figures, system)])


def _tables(known: Library, own: Scenario | None, names: list[str], system: str, as_json: bool) -> None:
    from vansim.scenario.catalogue import table_of_constants
    from vansim.scenario.parts import KINDS, parts_table
    from vansim.show.text.parts import parts_lines
    from vansim.show.text.tables import fits
    from vansim.show.text.width import told_columns

    screen = told_columns()
    found = {name: parts_table(name, known) if name in KINDS else table_of_constants(name) for name in names}
    if as_json:
        print_json(found)
        return
    for name, table in found.items():
        shown = table.drop(columns="source", errors="ignore")
        lines = ["  " + line for line in parts_lines(shown, system)]
        echo_lines([name, *lines, ""], wide=screen is None or fits(lines, screen))
    if own is not None and own.currency and any("price" in table for table in found.values()):
        echo_lines([f"Prices in {own.currency}."])
