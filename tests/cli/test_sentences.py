"""Every number in a sentence is a named value of the same answer's JSON, or a constant that has a name."""

from __future__ import annotations

import datetime
import math
import re
from collections.abc import Iterator
from typing import Any

import pytest

from tests.support.screens import QUESTIONS, data, said
from vansim import phrases
from vansim.climate.describe import COOLING_BASE_C
from vansim.runs.recharge import GOAL_SOC, ROAD_KMH
from vansim.show.text import wording
from vansim.studies.cool_down import SOAK_C
from vansim.studies.outage import FOLLOWED_H

QUANTITY = re.compile(
    r"(?:[-+−]?\d+ h \d\d min|[-+−]?\d+(?:\.\d+)? (?:h|min|°C|°F|K|kWh|Wh|kW|W|kg|lb|mm|km/h|mph|A|USD)(?![\w/])"
    r"|\d\.\d+ in\b|[\d.]+%|\d\d:\d\d|\d{1,2} (?:" + "|".join(phrases.MONTHS) + r")\b)"
)
ANSWERS = [name for name in QUESTIONS if name != "weather"]


def values(found: Any, key: str = "") -> Iterator[tuple[str, Any]]:
    """Every named value of plain data."""
    if isinstance(found, dict):
        for name, value in found.items():
            yield from values(value, str(name))
    elif isinstance(found, list):
        for value in found:
            yield from values(value, key)
    elif found is not None and not isinstance(found, bool):
        yield key, found


def ways_to_say(key: str, value: Any, system: str) -> Iterator[str]:
    """How a named value may stand in a sentence; its name tells its unit."""
    if isinstance(value, str):
        yield from _text(value)
    elif math.isfinite(value):
        yield from (say(float(value), system) for end, say in SAID if key.endswith(end))


def _text(value: str) -> Iterator[str]:
    if re.fullmatch(r"\d\d:\d\d", value):
        yield value
    elif re.match(r"\d{4}-\d\d-\d\dT", value):
        moment = datetime.datetime.fromisoformat(value[:19])
        yield phrases.clock(moment.hour + moment.minute / 60.0 + moment.second / 3600.0)
        yield phrases.date(moment)
    elif re.fullmatch(r"\d{4}-\d\d-\d\d", value):
        yield phrases.date(datetime.date.fromisoformat(value))
    elif ".." in value:
        yield from QUANTITY.findall(phrases.season(value))


SAID = (
    *(
        (end, lambda v, system: phrases.percent(v))
        for end in ("soc", "share", "target", "duty", "shade", "p50", "without")
    ),
    ("_c", lambda v, system: phrases.temperature(v, system)),
    ("_c", lambda v, system: phrases.temperature(v, system, None)),
    ("_c", lambda v, system: phrases.temperature(v, system, 0)),
    ("_k", lambda v, system: phrases.difference(abs(v), system)),
    *((end, lambda v, system: phrases.duration(abs(v))) for end in ("_h", "road", "idling", "shore", "solar")),
    ("_min", lambda v, system: phrases.duration(abs(v) / 60.0)),
    ("_wh", lambda v, system: phrases.energy(abs(v))),
    ("_kwh", lambda v, system: phrases.energy(1000.0 * abs(v))),
    ("_mm", lambda v, system: phrases.thickness(v, system)),
    ("_a", lambda v, system: phrases.current(v)),
    ("price", lambda v, system: phrases.money(v, "USD")),
    ("_w", lambda v, system: phrases.power(v)),
    ("amount", lambda v, system: phrases.power(v)),
    ("amount", lambda v, system: phrases.duration(v / 60.0)),
)
"""End of a name to how its value is said."""


def constants(system: str) -> set[str]:
    """Numbers that belong to what is asked, not to an answer."""
    return {
        phrases.duration(phrases.FOLLOWED_H), phrases.duration(FOLLOWED_H), phrases.percent(GOAL_SOC),
        phrases.speed(ROAD_KMH, system), phrases.temperature(SOAK_C, system, None),
        phrases.temperature(COOLING_BASE_C, system), phrases.temperature(phrases.HEAT_INDEX_END_C, system, 0),
        phrases.temperature(phrases.HEAT_INDEX_AIR_END_C, system, 0), "90%",
    }  # fmt: skip


def sentences(text: str) -> str:
    """The prose of a screen: without its tables, its facts and its cautions."""
    lines = [line for line in text.splitlines() if not re.search(r"\S {2,}\S", line)]
    said_ = " ".join(" ".join(lines).split())
    for caution in vars(wording).values():
        said_ = said_.replace(caution, "") if isinstance(caution, str) else said_
    return said_


def derived(found: dict[str, Any], system: str) -> set[str]:
    """The one number that is a difference of two named ones: from an empty bank to waking."""
    if not found.get("empty_at"):
        return set()
    empty = datetime.datetime.fromisoformat(found["empty_at"][:19])
    hour = round((empty.hour + empty.minute / 60.0 + empty.second / 3600.0) * 60.0)
    waking = 60 * int(found["night"]["waking"][:2]) + int(found["night"]["waking"][3:])
    return {phrases.duration(((waking - hour) % 1440) / 60.0)}


@pytest.mark.parametrize("system", ["si", "us"])
@pytest.mark.parametrize("name", ANSWERS)
def test_every_number_in_a_sentence_has_a_name(name: str, system: str) -> None:
    found = data(name, system)
    named = {text for key, value in values(found) for text in ways_to_say(key, value, system)}
    named |= constants(system) | derived(found, system)
    told = QUANTITY.findall(sentences(said(name, system)))
    assert told
    assert not [text for text in told if text not in named]


@pytest.mark.parametrize("name", ANSWERS)
def test_the_answer_comes_first_and_is_that_of_the_json(name: str) -> None:
    found = data(name)
    text = " ".join(said(name).split())
    answer = found.get("answer") or found["message"]
    for sentence in [answer] if isinstance(answer, str) else answer:
        assert sentence in text
    assert found.get("caution") or text.index(answer if isinstance(answer, str) else answer[0]) < 80


@pytest.mark.parametrize("name", ANSWERS)
def test_every_null_is_explained(name: str) -> None:
    found = data(name)
    explained = found.pop("null")
    empty = {key for key, value in _nulls(found)}
    assert empty <= set(explained)
    assert "not known" not in explained.values()


def _nulls(found: Any, key: str = "") -> Iterator[tuple[str, None]]:
    if isinstance(found, dict):
        for name, value in found.items():
            yield from _nulls(value, str(name))
    elif isinstance(found, list):
        for value in found:
            yield from _nulls(value, key)
    elif found is None:
        yield key, None


@pytest.mark.parametrize("name", QUESTIONS)
def test_notes_have_a_code_their_numbers_and_their_words(name: str) -> None:
    for system in ("si", "us"):
        found, text = data(name, system), " ".join(said(name, system).split())
        for note in found.get("notes", []) + (found.get("warnings", []) if system == "si" else []):
            assert re.fullmatch(r"[a-z0-9]+(-[a-z0-9]+)*", note["code"])
            assert note["text"] in text
