"""The account of a night in words: where it begins, with what charge, and where it ends."""

from __future__ import annotations

from collections.abc import Sequence

from vansim.phrases.numbers import FULL_SOC, percent


def bank_at(soc: float) -> str:
    """The charge that an account begins with: ``"a full bank"``, ``"the bank at 80%"``."""
    return "a full bank" if soc >= FULL_SOC else f"the bank at {percent(soc)}"


EVENING_LEFT_OUT = "Begun at bedtime, as asked: the evening before it is not counted."
"""Said wherever accounts begin at bedtime because that was asked for, and nothing longer says it."""


def start(kind: str, noun: str = "night") -> str:
    """Where accounts begin: ``"the first cooling of the day"``.

    Parameters
    ----------
    kind : {"first-cooling", "waking-before", "bedtime"}
        When the plan first switches cooling on; the waking before, as cooling was on then; or bedtime.
    noun : str
        What a night is called.
    """
    if kind == "first-cooling":
        return "the first cooling of the day"
    if kind == "waking-before":
        return "the waking before" if noun == "night" else f"the end of the {noun} before"
    return "bedtime" if noun == "night" else f"the beginning of the {noun}"


def clocks(times: Sequence[str]) -> str:
    """Clock times in brackets: ``"(18:30)"``, ``"(18:30 or 21:00)"``, ``"(17:00 to 21:00)"``."""
    return f"({times[0]})" if len(times) == 1 else f"({times[0]} {'or' if len(times) == 2 else 'to'} {times[-1]})"


def account(
    kind: str, times: Sequence[str], soc: float, waking: str, noun: str = "night", *, first_only: bool = False,
    full_at_bedtime: bool = False,
) -> str:  # fmt: skip
    """What is counted, in one line; no full stop.

    Parameters
    ----------
    kind : str
        As for `start`.
    times : sequence of str
        Clock times at which accounts begin, in order.
    soc : float
        State of charge there, 0 to 1.
    waking : str
        Clock time at which they end.
    noun : str
        What a night is called.
    first_only : bool
        Only the first night begins with `soc`; the others go on from what the day before left.
    full_at_bedtime : bool
        Whether bedtime was asked for as the start; said, as the evening is left out then.

    Returns
    -------
    str
        ``"from the first cooling of the day (18:30) with a full bank to waking (07:00), with the plan's own charging"``
    """
    end = "waking" if noun == "night" else "its own end"
    carried = "; from the second on with the charge that the day before left" if first_only else ""
    text = (
        f"from {start(kind, noun)} {clocks(times)} with {bank_at(soc)} to {end} ({waking}), with the plan's own "
        f"charging{carried}"
    )
    if full_at_bedtime:
        asked = "Full at bedtime" if soc >= FULL_SOC else "A start at bedtime"
        return f"{text}. {asked} was asked for: what is used before then is not counted"
    if kind == "bedtime":
        return f"{text}; no cooling is planned before then"
    return text


def begins_elsewhere(begins: str, soc: float, kind: str, account_at: str, noun: str = "night") -> str:
    """Said of a run that does not begin where the account of its first night does."""
    return (
        f"This run begins at {begins} with {bank_at(soc)}, and not where the account of its first {noun} does: at "
        f"{start(kind, noun)} ({account_at})"
    )
