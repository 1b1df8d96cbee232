"""Who runs: thermostat with its timers, *boost until cool, then eco*, the roof fan."""

from __future__ import annotations

import math

from vansim.boundary.forcing import COOLING_BOOST, COOLING_BOOST_THEN_ECO, COOLING_OFF, FAN_OFF, FAN_ON
from vansim.jit import compiled
from vansim.march.records import CabinConstants, ForcingInterval, Records
from vansim.van.cooler_balance import BOOST, ECO

FAN_GAIN_K = 2.0
"""Outdoor air this much cooler than the cabin makes the automatic roof fan worth running [K]; it stops at 0.5 K."""
FAN_MAX_RATIO = 0.0138
"""Outdoor humidity ratio above which the automatic fan stays off: a dew point of 19 °C at sea level [kg/kg]."""
FAN_BELOW_K = 1.0
"""The automatic fan cools down to this far below the set point [K]."""
TOUCH_K = 1e-8
"""A temperature this close to a level has reached it [K]; crossings are found to a thousandth of that."""


@compiled
def _distances(f: ForcingInterval, h: CabinConstants, s: Records) -> tuple[float, float, float]:
    """How far the cabin is below the top and the bottom of the thermostat's band, and below where boost returns [K].

    `decide` and `levels` read the same numbers: a level that one of them holds to be reached the other does not await.
    """
    up_to_setpoint = f.setpoint_c - s.cabin_c
    return (
        up_to_setpoint + 0.5 * h.deadband_k,
        up_to_setpoint - 0.5 * h.deadband_k,
        up_to_setpoint + h.boost_return_k,
    )


@compiled
def decide(f: ForcingInterval, h: CabinConstants, s: Records, outdoor_c: float) -> int:
    """Set compressor and fan for the coming step; returns the cooler's mode.

    The thermostat starts at the top of its band and stops at the bottom, when its timers allow. *Boost until cool, then
    eco* boosts from the first start until the first stop, and again when the cabin has run away.
    """
    cooling = f.cooling
    enabled = cooling != COOLING_OFF and s.disconnected == 0.0
    high, low, runaway = _distances(f, h, s)
    if not enabled:
        s.boosting = 1.0
        if s.on > 0.0:
            s.on, s.since_switch_s = 0.0, 0.0
    else:
        if runaway <= TOUCH_K:
            s.boosting = 1.0
        if s.on > 0.0:
            if low >= -TOUCH_K and s.since_switch_s >= h.min_on_s - TOUCH_K:
                s.on, s.since_switch_s, s.boosting = 0.0, 0.0, 0.0
        elif (
            high <= TOUCH_K
            and s.since_switch_s >= h.min_off_s - TOUCH_K
            and s.since_start_s >= h.between_starts_s - TOUCH_K
        ):
            s.on, s.since_switch_s, s.since_start_s = 1.0, 0.0, 0.0
    _fan(f, s, outdoor_c)
    boost = cooling == COOLING_BOOST or (cooling == COOLING_BOOST_THEN_ECO and s.boosting > 0.0)
    return BOOST if boost else ECO


@compiled
def _fan(f: ForcingInterval, s: Records, outdoor_c: float) -> None:
    """Roof fan: off, on, or only while outside air helps and is not too damp; never beside the compressor."""
    if f.fan == FAN_ON:
        s.fan = 1.0
        return
    if f.fan == FAN_OFF or s.on > 0.0:
        s.fan = 0.0
        return
    if s.fan > 0.0:
        helps = outdoor_c < s.cabin_c - 0.5 and s.cabin_c > f.setpoint_c - FAN_BELOW_K
    else:
        helps = outdoor_c < s.cabin_c - FAN_GAIN_K and s.cabin_c > f.setpoint_c
    s.fan = 1.0 if helps and f.outdoor_ratio <= FAN_MAX_RATIO else 0.0


@compiled
def levels(f: ForcingInterval, h: CabinConstants, s: Records) -> tuple[float, float, float]:
    """Deviations of the cabin at which the controls want to be asked again, and the time until a timer ends [s]."""
    below, above, wait = -math.inf, math.inf, math.inf
    if f.cooling == COOLING_OFF or s.disconnected > 0.0:
        return below, above, wait
    high, low, runaway = _distances(f, h, s)
    if f.cooling == COOLING_BOOST_THEN_ECO and s.boosting == 0.0 and runaway > TOUCH_K:
        above = runaway
    if s.on > 0.0:
        if low < -TOUCH_K:
            below = low
        else:
            wait = h.min_on_s - s.since_switch_s
    elif high > TOUCH_K:
        above = min(above, high)
    else:
        wait = max(h.min_off_s - s.since_switch_s, h.between_starts_s - s.since_start_s)
    return below, above, wait
