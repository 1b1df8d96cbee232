"""One night in two designs, on a terminal."""

from __future__ import annotations

from vansim import phrases
from vansim.show.text.account import run_account
from vansim.show.text.after import clock, which_night
from vansim.show.text.compare import LONGEST_NAME
from vansim.show.text.tables import lettered, table_lines
from vansim.studies.side_by_side import ModeNumbers, SideBySide
from vansim.units import translated


def answer(found: SideBySide, system: str = "si") -> str:
    """What is told first, as the picture's heading tells it."""
    from vansim.show.plots.modes import finding as mode_finding  # not above: what only prints draws nothing
    from vansim.show.plots.two_designs import finding as design_finding

    if found.of_modes:
        return f"{mode_finding(numbers_of(found), found.results[0].night(found.night).label)}."
    called = [translated(name, system) for name in found.names]
    return f"{design_finding(*found.results, called, found.night)}."


def numbers_of(found: SideBySide) -> dict[str, ModeNumbers]:
    """What the cooler did, by the design's name."""
    return {
        str(name): ModeNumbers(
            float(row["cool_down_min"]),
            float(row["account_cooler_wh"]),
            int(row["account_starts"]),
            float(row["waking_soc"]),
            None if row["empty_at"] != row["empty_at"] else row["empty_at"],
        )
        for name, row in found.table.iterrows()
    }


def side_by_side_lines(found: SideBySide, system: str = "si") -> list[str]:
    """One night in two designs.

    Parameters
    ----------
    found : SideBySide
        The study.
    system : {"si", "us"}
        Units shown.

    Returns
    -------
    list of str
        Lines to print: the finding, the account, charge and runtime, cooler and cabin.
    """
    one = found.results[0].night(found.night)
    names, key = lettered([translated(name, system) for name in found.names], LONGEST_NAME)
    occasion = which_night(one.date, found.night, len(found.results[0].nights), one.label)
    lines = [answer(found, system), "", f"{occasion[:1].upper()}{occasion[1:]}.", *run_account(found.results[0]), ""]
    lines += [*key, *([""] if key else [])]
    bank = []
    cabin = []
    for name, (_, row) in zip(names, found.table.iterrows(), strict=True):
        empty = row["empty_at"]
        bank.append(
            (
                name, phrases.percent(row["bedtime_soc"]), phrases.percent(row["waking_soc"]),
                phrases.runtime_cell(row["runtime_h"]), "no" if empty != empty else clock(empty),
                "yes" if row["covered"] else str(row["why"]),
            )
        )  # fmt: skip
        cabin.append(
            (
                name, phrases.energy(row["account_cooler_wh"]), str(row["account_starts"]),
                phrases.cool_down(row["cool_down_min"]), phrases.temperature(row["cabin_max_c"], system),
                phrases.duration(row["over_limit_h"]),
            )
        )  # fmt: skip
    noun = one.label
    lines += table_lines(("bank", "at\nbedtime", "at\nwaking", "runtime", "empty", "covered"), bank)
    lines += ["", *table_lines(("cooler and cabin", "cooler", "starts", "cool-down", "warmest", "above\nlimit"), cabin)]
    return [
        *lines,
        "",
        f"  {phrases.runtime_meaning(noun, found.results[0].run.scenario.night.bedtime)}",
        "  cooler, starts: over the whole account; warmest, above limit: from bedtime to waking",
        f"  {phrases.cool_down_meaning()}, from the cooler's first start on",
    ]
