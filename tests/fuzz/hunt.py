"""The hunt: inputs made by chance from a seed, each held against its kind's oracle, each with a limit of time."""

from __future__ import annotations

import json
import signal
import time
import traceback
from collections import Counter
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from pathlib import Path
from random import Random
from types import FrameType
from typing import Any

from tests.fuzz.kinds import KINDS, warm, whole

SECONDS = 20
"""Most that one input may compute; it may wait `WAITED` times as long."""
WAITED = 6
SEEDS = Path(__file__).parent / "seeds"
"""Every finding so far, an input a file: ``{"kind": ..., "input": ...}``."""
WEIGHTS = {"scenario": 50, "toml": 25, "parts": 12, "command": 3, "run": 6, "weather": 4}


@dataclass(frozen=True)
class Finding:
    """An input that broke something."""

    kind: str
    input: Any
    words: str


class TookTooLongError(Exception):
    """An input has had its time."""


@contextmanager
def limited(seconds: int = SECONDS) -> Iterator[None]:
    """Raise `TookTooLongError` in what runs longer than this."""

    def over(number: int, frame: FrameType | None) -> None:
        raise TookTooLongError(f"more than {seconds} s")

    before = [signal.signal(kind, over) for kind in (signal.SIGPROF, signal.SIGALRM)]
    signal.setitimer(signal.ITIMER_PROF, seconds)  # of computing, so that a busy machine is no finding
    signal.alarm(WAITED * seconds)  # of waiting, as for a pipe that nobody writes to
    try:
        yield
    finally:
        signal.setitimer(signal.ITIMER_PROF, 0)
        signal.alarm(0)
        signal.signal(signal.SIGPROF, before[0])
        signal.signal(signal.SIGALRM, before[1])


def tried(kind: str, given: Any) -> Finding | None:
    """Hold one input against its oracle."""
    try:
        with limited():
            KINDS[kind].holds(given)
    except BaseException as problem:
        if isinstance(problem, KeyboardInterrupt):
            raise
        return Finding(kind, given, "".join(traceback.format_exception(problem)[-3:]))
    return None


def inputs(seed: int, kinds: dict[str, int] | None = None) -> Iterator[tuple[str, Any]]:
    """Inputs without end; the same seed gives the same ones."""
    weights = kinds or WEIGHTS
    random = Random(seed)
    while True:
        kind = random.choices(list(weights), list(weights.values()))[0]
        yield kind, KINDS[kind].make(random)


def hunt(
    seed: int, minutes: float, most: int, kinds: dict[str, int] | None = None
) -> tuple[Counter[str], list[Finding]]:
    """Try inputs until the time or the number is over."""
    if {"run", "command"} & (kinds or WEIGHTS).keys():
        warm()
    counts: Counter[str] = Counter()
    found: list[Finding] = []
    ends = time.monotonic() + 60.0 * minutes
    for kind, given in inputs(seed, kinds):
        if time.monotonic() >= ends or counts.total() >= most:
            return counts, found
        finding = tried(kind, given)
        counts[kind] += 1
        if finding is not None and finding.words not in {known.words for known in found}:
            found.append(finding)
            print(f"{kind}: {finding.words}\n  {whole(given)[:400]}", flush=True)
    return counts, found


def keep(finding: Finding, folder: Path = SEEDS) -> Path:
    """Write a finding as a seed; text that UTF-8 cannot hold is escaped by JSON."""
    folder.mkdir(exist_ok=True)
    path = folder / f"{finding.kind}-{len(list(folder.iterdir())):03d}.json"
    path.write_text(json.dumps({"kind": finding.kind, "input": finding.input}, default=str), encoding="utf-8")
    return path
