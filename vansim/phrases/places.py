"""One van in several places or years, said: sentences from counts and names."""

from __future__ import annotations

from collections.abc import Sequence

from vansim.phrases.numbers import MINUS, NOTHING, energy, listed, percent, plural
from vansim.phrases.numbers import count as counted
from vansim.phrases.vocabulary import REASONS, usable

WHY_NO_BANK = {
    "no-cooler": "no cooler",
    "no-cooling-at-night": "no cooling planned",
    "cooler": "cooler too small or late",
    "charging": "charging too little",
    "larger-not-tried": "none that was tried",
}
"""Why no bank reaches the target, as a cell."""


def places_answer(
    rows: Sequence[tuple[str, int, int]], reach: int, target: float, bank: tuple[str, float] | None,
    no_bank: Sequence[str], noun: str = "night", what: str = "place",
) -> str:  # fmt: skip
    """Where a van's nights are covered, in two or three sentences.

    Parameters
    ----------
    rows : sequence of (str, int, int)
        Name, covered nights and nights of each place, the best first.
    reach : int
        How many of them reach the target.
    target : float
        Share asked.
    bank : (str, float) or None
        The place that asks for the largest bank for the target, and its usable energy [kWh]; None where some has none.
    no_bank : sequence of str
        Places in which no bank reaches the target.
    noun, what : str
        What a night and a place are called.
    """
    many = plural(noun)
    (best, covered, nights), (last, least, of) = rows[0], rows[-1]
    if len(rows) == 1:
        text = f"{best}: {covered} of {counted(nights, noun)} covered with this bank."
    else:
        share = f"cover {percent(target)} of {many} with this bank"
        share = share.replace("cover", "covers", 1) if reach == 1 else share
        text = f"{reach} of {counted(len(rows), what)} {share}."
        if (covered, nights) == (least, of):
            text += f" In each, {covered} of {nights} are covered."
        else:
            text += f" Most in {best} ({covered} of {nights}), fewest in {last} ({least} of {of})."
    if bank is not None and len(rows) == 1:
        return f"{text} The smallest bank for {percent(target)} has {usable(bank[1])}."
    if bank is not None:
        return f"{text} A bank for {percent(target)} in all of them has {usable(bank[1])}; {bank[0]} asks for it."
    shown = list(no_bank[:3]) + ([f"{len(no_bank) - 3} more"] if len(no_bank) > 3 else [])
    return f"{text} No bank reaches {percent(target)} in {listed(shown)}."


def years_answer(
    covered: int, nights: int, rows: Sequence[tuple[str, int, int]], run: tuple[int, str, str] | None,
    noun: str = "night",
) -> str:  # fmt: skip
    """How many nights of several years are covered, the worst year and the worst run of nights.

    Parameters
    ----------
    covered, nights : int
        Of all years.
    rows : sequence of (str, int, int)
        Name, covered nights and nights of each year, the worst first.
    run : (int, str, str) or None
        Longest run of nights that are not covered, its first evening as said, and its year; None where there is none.
    noun : str
        What a night is called.
    """
    text = f"{percent(covered / nights)} of {counted(nights, noun)} in {counted(len(rows), 'year')} are covered."
    (worst, least, of), (best, most, best_of) = rows[0], rows[-1]
    if least * best_of != most * of:
        text += f" Worst year {worst} ({percent(least / of)}), best {best} ({percent(most / best_of)})."
    if run is None:
        return f"{text} Not one {noun} is lost."
    length, first, year = run
    one = f"One {noun} alone" if length == 1 else f"{length} {plural(noun)} in a row"
    return f"{text} Longest run not covered: {one[0].lower()}{one[1:]}, from {first} in {year}."


def bank_cell(kwh: float, why: str) -> str:
    """The bank for the target as a cell: its usable energy, or why there is none."""
    return WHY_NO_BANK[why] if why else energy(1000.0 * kwh)


def run_cell(length: int, first: str) -> str:
    """A run of nights as a cell."""
    return f"{length} from {first}" if length else NOTHING


def passed_over(number: int, files: int) -> str:
    """How many files were passed over; no full stop."""
    return f"Passed over {number} of {counted(files, 'file')}"


def stopped(done: int, files: int) -> str:
    """That the work was interrupted."""
    return f"Stopped after {done} of {counted(files, 'file')}: the others were not looked at."


def trip_answer(
    covered: int, nights: int, places: int, lost: tuple[str, str, str] | None, lowest: tuple[str, str, float],
    noun: str = "night",
) -> str:  # fmt: skip
    """How a chain of nights through several places goes.

    Parameters
    ----------
    covered, nights, places : int
        Of the trip.
    lost : (str, str, str) or None
        The first night that is not covered: its date as said, its place, and why, as `REASONS`.
    lowest : (str, str, float)
        The night with the least charge at waking: its date, its place, and that charge, 0 to 1.
    noun : str
        What a night is called.
    """
    through = "in one place" if places == 1 else f"through {counted(places, 'place')}"
    if lost is None:
        text = f"Every {noun} is covered: {counted(nights, noun)} {through}, one after another."
    else:
        date, place, why = lost
        text = (
            f"{covered} of {counted(nights, noun)} are covered, {through}, one after another. The first that is not: "
            f"{date} in {place}, {REASONS[why]}."
        )
    date, place, soc = lowest
    return f"{text} Least charge at waking: {percent(soc)}, after {date} in {place}."


def gained(soc: float) -> str:
    """How much charge a day on the road gave or took, as a cell: ``"+31%"``."""
    return f"{'+' if soc >= 0.0 else MINUS}{percent(abs(soc))}"
