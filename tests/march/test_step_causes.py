"""Every cause that ends a step, by itself: the steps are those counted by hand, and none besides.

One node of air (the contents hang on by a thread) with time constant C / UA, so that the moment at which a level is
reached is a logarithm. Between two of the moments named by a case the march reads its map every five minutes.
"""

from __future__ import annotations

import math
from collections.abc import Callable
from typing import Any, NamedTuple

import numpy as np
import pytest

from tests.support.marching import Counted, march_counted, most_steps
from tests.support.vans import big_bank, constant_cooler, parameters, plain_house, start_state, steady_forcing
from vansim.boundary.forcing import COOLING_BOOST_THEN_ECO, COOLING_ECO, FAN_AUTO, Forcing
from vansim.march import kernel
from vansim.march.records import DISCONNECTED, RECONNECTED, STARTED, STOPPED, VanParameters
from vansim.van.bank import ocv_at

AIR_J_K, UA_W_K, OUTDOOR_C, COOLER_W, GAIN_W = 4e5, 100.0, 34.0, 2000.0, 200.0
HIGH_C, LOW_C, RUNAWAY_K = 24.5, 23.5, 3.0
RUNAWAY_C = 24.0 + RUNAWAY_K
RAMP_S = 1e-3


def until(start_c: float, goal_c: float, settles_c: float, ua_w_k: float = UA_W_K) -> float:
    """Time in which the air comes from one temperature to another [s]."""
    return AIR_J_K / ua_w_k * math.log((start_c - settles_c) / (goal_c - settles_c))


WARM_C = OUTDOOR_C + GAIN_W / UA_W_K
"""Where the air settles with the cooler off."""
COLD_C = WARM_C - COOLER_W / UA_W_K
"""Where it settles with the cooler on."""


class Case(NamedTuple):
    """A march of some hours: forcing, van, air at the start [°C], and the moments at which a step must end [s]."""

    forcing: Forcing
    van: VanParameters
    cabin_c: float
    moments: Callable[[Counted], list[float]]
    soc: float = 0.8


def forcing(hours: int = 6, piece_s: float = 3600.0, **columns: Any) -> Forcing:
    air = {"outdoor_c": OUTDOOR_C, "ua_w_k": UA_W_K, "internal_gains_w": GAIN_W, "cooling": COOLING_ECO}
    return steady_forcing(hours, piece_s, **{**air, **columns})


def van(cooler_w: float = COOLER_W, bank: Any = None, **house: float) -> VanParameters:
    return parameters(plain_house(air_j_k=AIR_J_K, **house), constant_cooler(cooler_w, 800.0), bank)


def at(counted: Counted, *kinds: int) -> np.ndarray:
    """Times of some events [s]."""
    return counted.events.time_s[np.isin(counted.events.kind, kinds)]


def switchings(counted: Counted) -> list[float]:
    """Starts and stops, and the cut in the ramp of each start."""
    starts = at(counted, STARTED)
    return [*starts, *(starts + 2.0 * RAMP_S), *at(counted, STOPPED)]


def low_touched(counted: Counted) -> list[float]:
    """Switchings, and the air at the bottom of the band before the minimum on-time is over."""
    return [*switchings(counted), *(at(counted, STARTED) + until(HIGH_C, LOW_C, COLD_C))]


def high_touched(counted: Counted) -> list[float]:
    """Switchings, and the air at the top of the band before it may start."""
    return [*switchings(counted), *(at(counted, STOPPED) + until(LOW_C, HIGH_C, WARM_C))]


def run_away(counted: Counted) -> list[float]:
    """The same, and the air where boost returns."""
    return [*high_touched(counted), *(at(counted, STOPPED) + until(LOW_C, RUNAWAY_C, WARM_C))]


VEHICLE = {"vehicle_c": 24.0, "vehicle_w_k": 500.0, "vehicle_w": 2000.0}
"""The vehicle cools from nothing at 24 °C to all it can at 28 °C."""


def through_the_band(counted: Counted) -> list[float]:
    """From 31 °C down to the upper end of the band, through it, and on below it, in air of 10 °C."""
    full = until(31.0, 28.0, 10.0 - VEHICLE["vehicle_w"] / UA_W_K)
    inside = (UA_W_K * 10.0 + VEHICLE["vehicle_w_k"] * 24.0) / (UA_W_K + VEHICLE["vehicle_w_k"])
    return [full, full + until(28.0, 24.0, inside, UA_W_K + VEHICLE["vehicle_w_k"])]


def into_the_band(counted: Counted) -> list[float]:
    """From 20 °C up to the lower end of the band, where the vehicle holds the air."""
    return [until(20.0, 24.0, OUTDOOR_C)]


def fading() -> np.ndarray:
    """Three hours of sun for the bank, three of none, over and over."""
    return np.where(np.arange(24) // 3 % 2 == 0, 3000.0, 0.0)


SMALL = big_bank(capacity_as=100.0 * 3600.0, reserve_soc=0.3, reconnect_soc=0.05)
FAN = {"fan": FAN_AUTO, "fan_w_k": 200.0}
OFF = {"cooling": 0, "internal_gains_w": 0.0}
CASES = {
    "reading": Case(forcing(**OFF), van(), 30.0, lambda c: []),
    "edge": Case(forcing(piece_s=450.0, **OFF), van(), 30.0, lambda c: []),
    "thermostat": Case(forcing(), van(), 24.0, switchings),
    "ramp": Case(forcing(internal_gains_w=3000.0), van(), 25.0, switchings),
    "minimum on-time": Case(forcing(), van(min_on_s=700.0), 24.0, low_touched),
    "minimum off-time": Case(forcing(), van(min_off_s=700.0), 24.0, high_touched),
    "starts per hour": Case(forcing(), van(between_starts_s=1800.0), 24.0, high_touched),
    "return of boost": Case(
        forcing(24, cooling=COOLING_BOOST_THEN_ECO), van(min_off_s=5000.0, boost_return_k=RUNAWAY_K), 24.0, run_away
    ),
    "plan": Case(forcing(cooling=np.array([1, 0, 1, 0, 0, 1])), van(), 24.0, switchings),
    "vehicle's band, downward": Case(forcing(outdoor_c=10.0, vehicle=1, **OFF), van(**VEHICLE), 31.0, through_the_band),
    "vehicle's band, upward": Case(forcing(vehicle=1, **OFF), van(**VEHICLE), 20.0, into_the_band),
    "roof fan": Case(forcing(outdoor_c=20.0, internal_gains_w=2000.0, cooling=0, **FAN), van(), 24.0, lambda c: []),
    "reserve": Case(
        forcing(internal_gains_w=3000.0), van(bank=SMALL), 25.0, lambda c: [*switchings(c), *at(c, DISCONNECTED)], 0.35
    ),
    "reconnection": Case(
        forcing(24, internal_gains_w=3000.0, solar_w=fading()),
        van(bank=SMALL, between_starts_s=600.0),
        25.0,
        lambda c: [*switchings(c), *at(c, DISCONNECTED)],
        0.35,
    ),
}  # fmt: skip


def counted_by_hand(case: Case, counted: Counted) -> int:
    """Steps between the moments of a case, each no longer than five minutes."""
    f = case.forcing
    moments = np.concatenate([f.start_s, f.end_s, case.moments(counted)])
    moments = np.unique(np.round(moments[(moments >= 0.0) & (moments <= f.end_s[-1])], 5))
    return sum(math.ceil(gap / kernel.READ_EVERY_S - 1e-6) for gap in np.diff(moments))


def march(case: Case) -> Counted:
    state = start_state(case.cabin_c, soc=case.soc)
    state.bank_v = ocv_at(case.van.bank, case.soc)
    return march_counted(case.forcing, case.van, state)


@pytest.mark.parametrize("name", CASES)
def test_steps_are_those_counted_by_hand(name: str) -> None:
    case = CASES[name]
    counted = march(case)
    assert counted.steps == counted_by_hand(case, counted)
    assert counted.steps <= most_steps(case.forcing, case.van, counted.totals.starts.sum())


def test_every_cause_is_there() -> None:
    """The cases do what they are named for."""
    seen = {name: march(case) for name, case in CASES.items()}
    for name in ("thermostat", "minimum on-time", "minimum off-time", "starts per hour"):
        assert at(seen[name], STOPPED).size > 5, name
    assert at(seen["return of boost"], STARTED).size > 5
    assert at(seen["plan"], STOPPED).size > 3
    assert at(seen["ramp"], STARTED).size == 1
    assert seen["roof fan"].totals.fan_s.sum() > 0.0
    assert at(seen["reserve"], DISCONNECTED).size == 1
    assert at(seen["reconnection"], RECONNECTED).size >= 2
    for name in ("vehicle's band, downward", "vehicle's band, upward"):
        assert seen[name].totals.vehicle_cooling_j.sum() > 0.0, name
