"""Where the account of a night begins and ends, said of a season and of a run."""

from __future__ import annotations

from collections import Counter
from collections.abc import Sequence

from vansim import phrases
from vansim.runs.result import Result
from vansim.scenario.night_times import NightTimes
from vansim.scenario.schema import AT_BEDTIME, Scenario
from vansim.studies.design import Design


def kind_of(times: Sequence[NightTimes]) -> str:
    """Where most of some accounts begin, as `NightTimes.begins`."""
    return Counter(t.begins for t in times).most_common(1)[0][0]


def clocks_of(times: Sequence[NightTimes]) -> list[str]:
    """Clock times at which some accounts begin, in order."""
    return sorted({phrases.clock(t.account_min / 60.0) for t in times})


def account_of(
    scenario: Scenario, times: Sequence[NightTimes], start_soc: float, *, first_only: bool = False
) -> str:  # fmt: skip
    """What is counted, in one line; no full stop.

    Parameters
    ----------
    scenario : Scenario
        Its night, and whether accounts begin at bedtime as asked.
    times : sequence of NightTimes
        Nights.
    start_soc : float
        State of charge where an account begins.
    first_only : bool
        Only the first night begins with it.
    """
    return phrases.account(
        kind_of(times),
        clocks_of(times),
        start_soc,
        scenario.night.waking,
        scenario.night.label,
        first_only=first_only,
        full_at_bedtime=scenario.run.start == AT_BEDTIME,
    )


def season_account(design: Design, *, readings: bool = False) -> str:
    """What is counted of each night of a season, as a line.

    Parameters
    ----------
    design : Design
        Laid out.
    readings : bool
        Also say how the two readings differ.
    """
    text = account_of(design.scenario, design.season.times, design.start_soc)
    noun = phrases.plural(design.scenario.night.label)
    apart = (
        f" Independent {noun} each begin so; consecutive {noun} go on with the charge that the day before left, in a "
        "season that gives back the charge it began with."
        if readings
        else ""
    )
    return f"Account of a {design.scenario.night.label}: {text}.{apart}"


def run_account(result: Result) -> list[str]:
    """What is counted of the nights of a run, as lines; none where it holds no whole night."""
    laid, scenario = result.laid_nights, result.run.scenario
    if laid is None:
        return []
    noun, soc = scenario.night.label, scenario.bank.start_soc
    first = laid.times[0]
    if result.run.start_min != first.account_min:
        begins = phrases.clock(result.run.start_min / 60.0)
        account_at = phrases.clock(first.account_min / 60.0)
        return [f"{phrases.begins_elsewhere(begins, soc, first.begins, account_at, noun)}."]
    several = len(laid.times) > 1
    text = account_of(scenario, laid.times, soc, first_only=several)
    return [f"Account of {'each' if several else 'the'} {noun}: {text}."]
