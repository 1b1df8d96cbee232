"""What stops the cooler, one limit at a time, against voltages and currents worked out by hand.

A cooler of 800 W runs all the time on a bank that stands at one open-circuit voltage: every current is the root of a
quadratic, and every limit can be set a hair to either side of what is met.
"""

from __future__ import annotations

import math
from typing import Any

import numpy as np
import pytest

from tests.support.marching import Counted, march_counted, most_steps
from tests.support.vans import (
    big_bank,
    constant_cooler,
    parameters,
    plain_house,
    start_state,
    steady_forcing,
    straight_feed,
)
from vansim.march.records import DISCONNECTED, LIMIT_NAMES, RECONNECTED, STARTED
from vansim.van.bank import OCV, ocv_at

COOLER_W, LOAD_W, OCV_V, CELLS, CABLE, FEED = 800.0, 60.0, 13.0, 0.006, 0.001, 0.004


def bank(**changes: Any) -> Any:
    numbers = big_bank()
    curve = numbers.curve.copy()
    curve[OCV] = OCV_V + 1e-6 * curve[0]
    curve[2] = OCV_V * curve[0] + 5e-7 * curve[0] ** 2
    climate = numbers.climate.copy()
    climate[1] = 1.0
    limits = {"reserve_soc": 0.0, "cutoff_v": 0.0, "discharge_max_a": math.inf}
    return numbers._replace(
        **{
            "curve": curve,
            "climate": climate,
            "r_cell_ohm": CELLS,
            "r_fixed_ohm": CABLE,
            "capacity_as": 3.6e6,
            **limits,
            **changes,
        }
    )


def marched(numbers: Any, hours: int = 2, loads: dict[str, float] | None = None, **electrical: float) -> Counted:
    """A cooler that never reaches its set point."""
    forcing = steady_forcing(hours, outdoor_c=40.0, internal_gains_w=4000.0, cooling=1, loads_w=LOAD_W, **(loads or {}))
    wiring = straight_feed(feed_ohm=FEED, **electrical)
    van = parameters(plain_house(air_j_k=4e7), constant_cooler(2000.0, COOLER_W), numbers, wiring)
    state = start_state(26.0, soc=0.9)
    state.bank_v = ocv_at(numbers, 0.9)
    counted = march_counted(forcing, van, state)
    assert counted.steps <= most_steps(forcing, van, counted.totals.starts.sum())
    counted.totals.end_soc[-1] = state.soc
    return Counted(counted.totals, counted.events, int(state.emptied_by))


def by_hand(extra_w: float = 0.0) -> tuple[float, float, float]:
    """Current of the bank [A], voltage at the batteries and at the cooler [V], by halving the busbar's voltage."""
    low, high = 10.0, OCV_V
    for _ in range(80):
        volts = 0.5 * (low + high)
        feed_a = (volts - math.sqrt(volts**2 - 4.0 * FEED * COOLER_W)) / (2.0 * FEED)
        amps = feed_a + (LOAD_W + extra_w) / volts
        low, high = (volts, high) if OCV_V - amps * (CELLS + CABLE) > volts else (low, volts)
    return amps, OCV_V - amps * CELLS, volts - feed_a * FEED


@pytest.mark.parametrize("limit", ["bank_voltage", "battery_current", "cooler_voltage"])
@pytest.mark.parametrize("extra_w", [0.0, 300.0], ids=["mean", "all loads at once"])
def test_each_limit_acts_where_it_says(limit: str, extra_w: float) -> None:
    """`reserve_v` at the batteries, before cables; the current of everything; the cooler's cut behind its feed."""
    amps, bank_v, cooler_v = by_hand(extra_w)
    for stops, hair in ((True, 1.0), (False, -1.0)):
        changes = {
            "bank_voltage": {"cutoff_v": bank_v + 1e-4 * hair},
            "battery_current": {"discharge_max_a": amps - 1e-2 * hair},
            "cooler_voltage": {},
        }[limit]
        cut = {"cooler_off_v": cooler_v + 1e-4 * hair, "cooler_on_v": 13.5} if limit == "cooler_voltage" else {}
        found = marched(bank(**changes), loads={"peak_w": extra_w}, **cut)
        assert LIMIT_NAMES[found.steps] == (limit if stops else "")
        assert (found.events.kind == DISCONNECTED).sum() == int(stops)


def test_the_feed_takes_its_share() -> None:
    """At the busbar the cooler costs its power and what its cable turns to heat; energy closes."""
    totals = marched(bank()).totals
    volts = by_hand()[2]
    per_s = (COOLER_W / volts) ** 2 * FEED
    on_s = totals.on_s.sum()
    assert totals.feed_j.sum() == pytest.approx(per_s * on_s, rel=1e-4)
    assert totals.cooler_j.sum() == pytest.approx((COOLER_W + per_s) * on_s, rel=1e-6)
    assert totals.cooler_j.sum() + totals.loads_j.sum() == pytest.approx(-totals.bank_j.sum(), rel=1e-12)


def test_a_cut_cooler_comes_back_with_the_voltage_and_is_cut_again() -> None:
    """It hunts, as real ones do: at each start it is cut at once, at rest the voltage is back a reading later."""
    found = marched(bank(), cooler_off_v=by_hand()[2] + 0.01, cooler_on_v=12.9)
    kinds = found.events.kind
    assert (kinds == DISCONNECTED).sum() > 10
    assert abs(int((kinds == RECONNECTED).sum()) - int((kinds == DISCONNECTED).sum())) <= 1
    assert (kinds == STARTED).sum() == (kinds == DISCONNECTED).sum()
    assert found.totals.on_s.sum() < 1.0


def test_an_inverter_shuts_off_at_low_voltage_and_its_loads_lose_power() -> None:
    bus_v = by_hand()[1] - by_hand()[0] * CABLE
    loads = {"loads_w": LOAD_W + 500.0, "inverter_w": 500.0, "inverter_heat_w": 100.0}
    forcing = steady_forcing(2, outdoor_c=40.0, internal_gains_w=4000.0, cooling=1, **loads)
    for off_v, served in ((bus_v - 1.0, True), (bus_v + 0.1, False)):
        wiring = straight_feed(feed_ohm=FEED, inverter_off_v=off_v, inverter_on_v=13.5)
        van = parameters(plain_house(air_j_k=4e7), constant_cooler(2000.0, COOLER_W), bank(), wiring)
        state = start_state(26.0, soc=0.9)
        totals = march_counted(forcing, van, state).totals
        unserved = totals.unserved_j[-1] / 3600.0
        assert unserved == pytest.approx(0.0 if served else 500.0, abs=1e-6)
        assert totals.equipment_j[-1] / 3600.0 == pytest.approx(4100.0 if served else 4000.0)
        supply = totals.unserved_j.sum() - totals.bank_j.sum()
        assert supply == pytest.approx(totals.loads_j.sum() + totals.cooler_j.sum(), rel=1e-12)


def test_charge_out_of_reach_stops_the_night_as_the_reserve_does_and_comes_back() -> None:
    """In the cold a tenth cannot be reached: the cooler stops there, whatever the reserve below it."""
    numbers = bank(capacity_as=3.6e5)
    climate = numbers.climate.copy()
    climate[2] = 0.9
    totals = marched(numbers._replace(climate=climate), hours=3).totals
    assert np.min(totals.end_soc[:-1]) == pytest.approx(0.1, abs=1e-3)
