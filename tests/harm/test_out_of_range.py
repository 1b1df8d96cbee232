"""What no van has is refused with the reason, and what the model cannot say is not said."""

from __future__ import annotations

import pytest

from vansim.climate import Weather
from vansim.errors import MarchError, PhysicsError, ScenarioError
from vansim.runs import simulate as room
from vansim.runs.simulate import simulate
from vansim.scenario.files import load_scenario
from vansim.scenario.vary import vary
from vansim.studies.nights import nights

DESERT = "scenarios/desert-night.toml"


@pytest.mark.parametrize(
    ("change", "words"),
    [
        ({"bank.cable_mohm": 1e5}, "no joint that carries a cooler has more"),
        ({"cabin.volume_m3": 5000.0}, "no van holds more"),
        ({"site.heading_deg": 400.0}, "allowed: 0 to 360 deg"),
    ],
)
def test_what_no_van_has_is_refused(change: dict[str, float], words: str) -> None:
    with pytest.raises(ScenarioError, match=words):
        vary(load_scenario(DESERT), change)


def heated(power_w: float, supply: str) -> dict[str, list[dict[str, object]]]:
    return {"loads": [{"name": "heater", "power_w": power_w, "supply": supply}]}


@pytest.mark.parametrize("supply", ["dc", "ac"])
@pytest.mark.parametrize("power_w", [10_000.0, 90_000.0])
def test_a_cabin_beyond_what_the_model_describes_stops_in_words(power_w: float, supply: str) -> None:
    scenario = vary(load_scenario(DESERT), heated(power_w, supply))
    with pytest.raises(PhysicsError, match="the cabin passes 90 °C"):
        simulate(scenario)
    with pytest.raises(PhysicsError, match="the cabin passes 90 °C"):
        nights(scenario, season="07-14..07-15").judged  # noqa: B018


def test_books_that_do_not_close_are_no_answer(desert_year: Weather, monkeypatch: pytest.MonkeyPatch) -> None:
    real = room.march_run

    def leaking(*args: object, **named: object):
        marched = real(*args, **named)
        marched.totals["sensible_j"][0] += 1.0e4
        return marched

    monkeypatch.setattr(room, "march_run", leaking)
    with pytest.raises(MarchError, match="do not close"):
        simulate(load_scenario(DESERT), desert_year)


def test_a_march_that_is_not_finite_is_no_answer(desert_year: Weather, monkeypatch: pytest.MonkeyPatch) -> None:
    real = room.march_run

    def lost(*args: object, **named: object):
        marched = real(*args, **named)
        marched.totals["end_soc"][-1] = float("nan")
        return marched

    monkeypatch.setattr(room, "march_run", lost)
    with pytest.raises(MarchError, match="not finite"):
        simulate(load_scenario(DESERT), desert_year)
