"""What loads draw and give off: a refrigerator in a warm cabin, an inverter left on, mains loads by chance."""

from __future__ import annotations

import itertools

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from tests.support.vans import bank, cabin, idle_van, made_weather
from vansim.boundary.mains import combinations, mains_share
from vansim.runs.simulate import simulate
from vansim.scenario.schema import Day, PlanSegment
from vansim.van.charging import ShoreCharger, ShorePower, SolarArray, lit_share
from vansim.van.loads import Inverter, Load

LOADS = st.lists(st.tuples(st.floats(0.0, 3000.0), st.floats(0.0, 1.0)), max_size=5)
HELD = {"contents_kj_k": 20_000.0, "contents_w_k": 5000.0}
"""A cabin whose contents hold its air where the weather has it."""


@given(LOADS)
def test_combinations_are_all_that_can_be_on_at_once(loads: list[tuple[float, float]]) -> None:
    found = combinations(loads)
    assert sum(found.values()) == pytest.approx(1.0)
    mean = sum(total * chance for total, chance in found.items())
    assert mean == pytest.approx(sum(power * duty for power, duty in loads))
    for on in itertools.product((0, 1), repeat=len(loads)):
        chance = np.prod([duty if up else 1.0 - duty for up, (_, duty) in zip(on, loads, strict=True)])
        if chance > 0.0:
            total = sum(up * power for up, (power, _) in zip(on, loads, strict=True))
            assert min(abs(total - other) for other in found) < 1e-6


@given(LOADS, st.floats(1.0, 60.0), st.one_of(st.just(0.0), st.floats(100.0, 4000.0)), st.booleans())
def test_mains_loads_are_carried_once(
    loads: list[tuple[float, float]], breaker_a: float, rated_w: float, plugged: bool
) -> None:
    """Pedestal, inverter and nobody share them out, nothing comes from nowhere, and the breaker holds."""
    shore = ShorePower(breaker_a=breaker_a) if plugged else None
    charger = ShoreCharger(output_a=40.0) if plugged else None
    inverter = Inverter(rated_w=rated_w)
    found = mains_share(loads, inverter, shore, charger)
    whole = found.shore_ac_w + found.inverter_ac_w + found.refused_w
    assert whole == pytest.approx(sum(power * duty for power, duty in loads))
    assert found.inverter_w >= found.inverter_ac_w / inverter.efficiency * (1.0 - 1e-12)
    assert found.inverter_peak_w >= found.inverter_w * (1.0 - 1e-12)
    drawn = found.shore_ac_w + found.charger_w / (charger.efficiency if charger else 1.0)
    assert drawn <= (0.8 * breaker_a * 120.0 if plugged else 0.0) * (1.0 + 1e-9)


@pytest.mark.parametrize(("around_c", "ratio"), [(16.0, 0.4725), (25.0, 1.0), (35.0, 1.760), (45.0, 2.0)])
def test_a_refrigerator_follows_the_cabin(around_c: float, ratio: float) -> None:
    """(T - 4)(T + 27) over the same at 25 °C, at most twice; what it draws warms the cabin, and energy closes."""
    fridge = Load(name="fridge", power_w=50.0, duty=0.4, keeps_c=4.0)
    van = idle_van(bank=bank(60, location="outside"), cabin=cabin(**HELD, windows=()), loads=(fridge,))
    result = simulate(van, made_weather(around_c))
    hour = result.hourly.iloc[3]
    cabin_c = hour["cabin_c"]
    expected = 20.0 * min((cabin_c - 4.0) * (cabin_c + 27.0) / (21.0 * 52.0), 2.0)
    assert hour["loads_w"] == pytest.approx(expected, rel=1e-3)
    assert hour["loads_w"] == pytest.approx(20.0 * ratio, rel=0.05)
    assert hour["equipment_w"] == pytest.approx(hour["loads_w"], rel=1e-9)
    assert all(abs(result.balance[name]) < 1e-12 for name in ("bank", "busbar"))


def test_an_inverter_left_on_draws_day_and_night() -> None:
    van = idle_van(bank=bank(6, location="outside"), inverter=Inverter(idle_w=15.0, always_on=True))
    assert simulate(van, made_weather(20.0)).hourly["loads_w"].to_numpy() == pytest.approx(15.0)


def test_the_trace_holds_the_roof_fan() -> None:
    day = (Day(segment=(PlanSegment(start="00:00", end="00:00", fan="on"),)),)
    trace = simulate(idle_van(cabin=cabin(fan_w=25.0), day=day), made_weather(20.0)).trace("10min")
    assert (trace["fan"] == 1.0).all()
    assert trace["loads_w"].to_numpy() == pytest.approx(25.0)


def test_a_bank_too_hot_to_be_charged_is_told() -> None:
    """Outside in 62 °C with sun to be had."""
    van = idle_van(bank=bank(6, location="outside", start_soc=0.5), solar=SolarArray(rated_w=200.0, area_m2=1.0))
    result = simulate(van, made_weather(62.0, ghi=500.0, dhi=500.0))
    assert result.hourly["bank_a"].max() == 0.0
    (note,) = [note for note in result.warnings if note.code == "hot-bank"]
    assert note.values["limit_c"] == 60.0
    assert note.values["hours"] > 5.0


def test_the_charge_controller_limits_current() -> None:
    sun = made_weather(20.0, ghi=800.0, dhi=800.0)
    parts = {"bank": bank(60, location="outside", start_soc=0.5), "cabin": cabin(windows=())}
    free, held = (
        simulate(idle_van(**parts, solar=SolarArray(rated_w=600.0, area_m2=3.0, mppt_a=amps)), sun).hourly
        for amps in (0.0, 20.0)
    )
    assert free["bank_a"].max() > 25.0
    assert held["bank_a"].max() == pytest.approx(20.0, rel=1e-3)


def test_shade_on_a_string_costs_more_than_its_share() -> None:
    array = SolarArray(rated_w=200.0, area_m2=1.0)
    assert lit_share(array, 0.2) == pytest.approx(0.8)
    edged = array.model_copy(update={"string_shade": 4.0})
    assert [lit_share(edged, shade) for shade in (0.0, 0.1, 0.25, 0.6)] == pytest.approx([1.0, 0.6, 0.0, 0.0])
