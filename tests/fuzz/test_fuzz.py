"""A short hunt, every finding so far once more, and an oracle that does see what is wrong."""

from __future__ import annotations

import json
from collections import Counter
from collections.abc import Callable
from itertools import islice
from pathlib import Path
from typing import Any

import numpy as np
import pytest

from tests.fuzz import hunt, kinds
from vansim.errors import ScenarioError

SHORT = {"scenario": 150, "toml": 100, "parts": 60, "command": 12, "run": 12, "weather": 12}


@pytest.mark.parametrize("kind", SHORT)
def test_a_short_hunt_finds_nothing(kind: str) -> None:
    if kind in ("run", "command"):
        kinds.warm()
    found = [hunt.tried(*one) for one in islice(hunt.inputs(seed=7, kinds={kind: 1}), SHORT[kind])]
    assert [finding.words for finding in found if finding is not None] == []


@pytest.mark.parametrize("path", sorted(hunt.SEEDS.glob("*.json")), ids=lambda path: path.stem)
def test_what_was_found_once_holds_now(path: Path) -> None:
    seed = json.loads(path.read_text(encoding="utf-8"))
    finding = hunt.tried(seed["kind"], seed["input"])
    assert finding is None, finding.words


def test_the_same_seed_gives_the_same_inputs() -> None:
    one, other = (list(islice(hunt.inputs(seed=3, kinds={"scenario": 3, "toml": 1}), 40)) for _ in range(2))
    assert kinds.whole(one) == kinds.whole(other)
    assert Counter(kind for kind, _ in one).keys() == {"scenario", "toml"}


def endless(tables: Any) -> None:
    while True:
        pass


def wordless(tables: Any) -> None:
    raise ScenarioError([])


@pytest.mark.parametrize(
    ("broken", "words"),
    [(endless, "more than 1 s"), (wordless, "refused without a word"), (json.loads, "JSON object must be")],
)
def test_the_oracle_sees(broken: Callable[[Any], None], words: str, monkeypatch: pytest.MonkeyPatch) -> None:
    """A hang, a refusal without words, and an error that is nobody's refusal."""
    if broken is endless:
        monkeypatch.setattr(hunt, "limited", lambda real=hunt.limited: real(1))
        monkeypatch.setitem(kinds.KINDS, "scenario", kinds.Kind(kinds.KINDS["scenario"].make, broken))
    else:
        monkeypatch.setattr(kinds, "load_scenario", broken)
    finding = hunt.tried("scenario", {})
    assert finding is not None
    assert words in finding.words


def test_the_oracle_sees_an_answer_that_is_not_finite(monkeypatch: pytest.MonkeyPatch) -> None:
    class Result:
        hourly = kinds.simulate(kinds.load_scenario({**kinds.scenarios()[0], "weather": ""}), kinds.desert()).hourly
        nights = None

        def __init__(self) -> None:
            self.balance = {"heat": 0.0}

        def answer(self, system: str) -> str:
            return system

    Result.hourly.iloc[3, 2] = np.nan
    monkeypatch.setattr(kinds, "simulate", lambda scenario, weather: Result())
    finding = hunt.tried("run", kinds.scenarios()[0])
    assert finding is not None
    assert "not finite by the hour" in finding.words
