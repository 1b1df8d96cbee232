"""One chain of nights through several places: each is laid out for itself, and the van goes from one to the next."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from typing import NamedTuple

from vansim.boundary.forcing import rows_of
from vansim.march.records import Records
from vansim.runs import season as sr
from vansim.runs.run import march_forcing
from vansim.van.bank import BankParameters


class Link(NamedTuple):
    """Nights in one place; whether the bank was empty in the first account before the place began."""

    run: sr.SeasonRun
    nights: Records
    emptied: bool


def chained(places: Iterable[sr.SeasonRun], bank: BankParameters, soc: float) -> Iterator[Link]:
    """March nights in one place after another; what each leaves is what the next begins with.

    Parameters
    ----------
    places : iterable of SeasonRun
        Each laid out from the moment at which the one before ends; the first also holds the days that lead to it.
    bank : BankParameters
        Carried along.
    soc : float
        State of charge where the first account begins.

    Yields
    ------
    Link
        Of each place.
    """
    state: Records | None = None
    for run in places:
        emptied = False
        if state is None:
            state = sr.with_charge(sr.lead_in_states(sr.part_of(run, 0, 1)), bank, soc)
        else:
            emptied = _arrive(run, bank, state)
        nights, waking = sr.consecutive(run, bank, state[0])
        yield Link(run, nights, emptied)
        state = _left(run, bank, waking)


def _arrive(run: sr.SeasonRun, bank: BankParameters, state: Records) -> bool:
    """March to where the first account in a place begins, in place; whether the bank was empty in it before that."""
    first = int(run.rows.account[0])
    if first:
        march_forcing(rows_of(run.forcing.plan, 0, first), run.van(bank), state[0])
        return False
    began_before = run.forcing.plan.start_s[0] > run.times[0].account_min * 60.0
    return bool(state.emptied[0] > 0.0 and began_before)


def _left(run: sr.SeasonRun, bank: BankParameters, waking: Records) -> Records:
    """The van at the end of what is laid out in a place, from its last waking on."""
    state, plan = waking[-1:].copy(), run.forcing.plan
    first = int(run.rows.wake[-1])
    state.emptied = 0.0
    if first < plan.start_s.size:
        march_forcing(rows_of(plan, first, plan.start_s.size), run.van(bank), state[0])
    return state
