"""One piece of the march: from now until something happens.

flows_now   heat and power at this moment, and how they change with the cabin's temperature
until       how long the closed form holds: a level crossed, a timer, an edge, the bank's reserve
book        what flowed until then
"""

from __future__ import annotations

import math
from typing import NamedTuple

import numpy as np

from vansim.boundary.forcing import COOLING_OFF
from vansim.jit import compiled
from vansim.march import records as k
from vansim.march.controls import TOUCH_K, levels
from vansim.march.network import TwoNodeSolution, advance, first_crossing, mean_fade, modes, phi
from vansim.march.records import (
    BANK_V,
    BANK_WARMTH_J,
    CABIN,
    CONTENTS,
    FAN,
    ON,
    RATIO,
    SHED,
    SINCE_START,
    SINCE_SWITCH,
    SOC,
    CabinConstants,
    ForcingInterval,
)
from vansim.psychrometrics import saturation_ratio
from vansim.van.bank_steps import BankParameters, charge, discharge, heat_loss_w, stop_soc
from vansim.van.cooler_balance import BOOST
from vansim.van.cooler_map import CoolerMap, Running, running
from vansim.van.people import LATENT_J_KG, dog_sensible_share, person_sensible_share

LEAST_S = 1e-6
"""Shortest piece [s]; a level touched again at once cannot stop the clock."""


class Flows(NamedTuple):
    """Heat and power at the start of a piece [W, kg/s] with their slopes against cabin temperature, and its limits.

    `cooler` is a running cooler at full capacity, zeros where it is off; `fade` the share not yet reached at the start,
    `reached` the mean share that its slopes act with. `bodies`: people and dogs. `pull`: the vehicle's own cooling.
    `through`: conductance to outdoor air. `other_w`: all use of electricity but the running cooler. `warm`: heat of the
    bank among the contents. `below` and `above`: deviations of the cabin at which something switches; `limit`: longest
    time.
    """

    cooler: Running
    fade: float
    reached: float
    bodies: float
    bodies_slope: float
    pull: float
    pull_slope: float
    through: float
    other_w: float
    offered_w: float
    warm: float
    below: float
    above: float
    limit: float


@compiled
def body_heat(f: ForcingInterval, cabin_c: float) -> tuple[float, float]:
    """Dry heat of people and dogs [W] and how it falls with cabin temperature [W/K]."""
    people, dogs = person_sensible_share(cabin_c), dog_sensible_share(cabin_c)
    people_slope = person_sensible_share(cabin_c + 0.01) - people
    dogs_slope = dog_sensible_share(cabin_c + 0.01) - dogs
    heat = f.people_w * people + f.dogs_w * dogs
    return heat, -(f.people_w * people_slope + f.dogs_w * dogs_slope) / 0.01


@compiled
def vehicle_heat(h: CabinConstants, cabin_c: float) -> tuple[float, float, float, float]:
    """Cooling by the vehicle [W], its slope [W/K], and the deviations at which it starts and saturates [K]."""
    start = h.vehicle_c - cabin_c
    full = start + h.vehicle_w / h.vehicle_w_k
    if start > 0.0:
        return 0.0, 0.0, -math.inf, start
    if full < 0.0:
        return h.vehicle_w, 0.0, full, math.inf
    return -start * h.vehicle_w_k, h.vehicle_w_k, start, full


@compiled
def bank_temperature(h: CabinConstants, s: np.ndarray, outdoor_c: float) -> float:
    """The bank stands among the contents, or outside [°C]."""
    return s[CONTENTS] if h.bank_inside else outdoor_c


@compiled
def flows_now(
    f: ForcingInterval,
    h: CabinConstants,
    cooling: CoolerMap,
    b: BankParameters,
    s: np.ndarray,
    mode: int,
    outdoor: float,
    limit: float,
) -> Flows:
    """Read everything that the cabin and the bank meet at this moment."""
    cabin = s[CABIN]
    below, above, wait = levels(f, h, s)
    limit = min(limit, max(wait, LEAST_S))
    cooler = Running(0.0, 0.0, 0.0, 0.0, 0.0, 0.0, 0.0, 0.0, 0.0, 0.0)
    fade = reached = 0.0
    if s[ON] > 0.0:
        # while capacity ramps up, slopes change fast: a piece is cut at two time constants
        since = s[SINCE_START]
        if since < 2.0 * h.ramp_s - 1e-9:
            limit = min(limit, 2.0 * h.ramp_s - since)
        middle = outdoor + 0.5 * f.outdoor_k_s * limit
        cooler = running(cooling, mode, middle, cabin, s[RATIO])
        fade = math.exp(-since / h.ramp_s)
        reached = 1.0 - fade * math.exp(-0.5 * limit / h.ramp_s)
    bodies, bodies_slope = body_heat(f, cabin)
    pull = pull_slope = 0.0
    if f.vehicle > 0:
        pull, pull_slope, lower, upper = vehicle_heat(h, cabin)
        below, above = max(below, lower), min(above, upper)
    other_w = f.loads_w + s[FAN] * h.fan_w
    if f.cooling != COOLING_OFF and s[SHED] == 0.0:
        other_w += h.standby_w
    offered_w = f.solar_w + f.shore_w + f.alternator_a * s[BANK_V]
    warm = 0.0
    if h.bank_inside:
        # its heat at this moment, and what the piece before gave off more than was foreseen
        warm = heat_loss_w(b, s[SOC], offered_w - other_w - cooler.power_w, s[CONTENTS]) + s[BANK_WARMTH_J] / limit
    through = f.ua_w_k + f.air_w_k + s[FAN] * f.fan_w_k
    return Flows(
        cooler, fade, reached, bodies, bodies_slope, pull, pull_slope,
        through, other_w, offered_w, warm, below, above, limit,
    )  # fmt: skip


@compiled
def cabin_response(
    f: ForcingInterval, h: CabinConstants, s: np.ndarray, n: Flows, outdoor: float
) -> tuple[TwoNodeSolution, float, float, float]:
    """Closed form of the cabin from this moment; returns it, the slope of the vehicle's cooling, and the levels."""
    cabin, contents = s[CABIN], s[CONTENTS]
    exchange = h.coupling_w_k * (contents - cabin)
    gains = f.sol_air_gain_w + n.bodies + f.equipment_w + f.sun_air_w
    into_air = n.through * (outdoor - cabin) + gains + exchange - n.cooler.sensible_w - n.pull
    loss = n.through + n.bodies_slope + n.cooler.sensible_per_k * n.reached + n.pull_slope
    below, above, pull_slope = n.below, n.above, n.pull_slope
    if pull_slope > 0.0:
        falling = into_air + n.cooler.sensible_w * n.fade < 0.0
        if (below > -TOUCH_K and falling) or (above < TOUCH_K and not falling):
            # at the end of the vehicle's proportional band, and leaving it
            loss, pull_slope = loss - pull_slope, 0.0
        below, above = min(below, -TOUCH_K), max(above, TOUCH_K)
    solution = modes(
        loss,
        h.coupling_w_k,
        h.air_j_k,
        h.contents_j_k,
        into_air,
        f.sun_contents_w + n.warm - exchange,
        n.through * f.outdoor_k_s,
        n.cooler.sensible_w * n.fade,
        h.ramp_s,
    )
    return solution, pull_slope, below, above


@compiled
def step_to_event(
    f: ForcingInterval,
    h: CabinConstants,
    cooling: CoolerMap,
    b: BankParameters,
    s: np.ndarray,
    o: np.ndarray,
    mode: int,
    outdoor: float,
    limit: float,
) -> tuple[float, TwoNodeSolution, float, float, bool]:
    """From now to the next event; changes the state `s` and the books `o`.

    Returns
    -------
    tuple
        Length [s], closed form of the cabin, mean power of the cooler and of the bank [W], whether the reserve was
        reached at the end.
    """
    n = flows_now(f, h, cooling, b, s, mode, outdoor, limit)
    solution, pull_slope, below, above = cabin_response(f, h, s, n, outdoor)
    close = 1e-3 if s[ON] > 0.0 else 1e-6  # a running cooler is looked at twice
    span = max(first_crossing(solution, below, above, n.limit, 0.0, close), LEAST_S)
    if s[ON] > 0.0:
        # what the coil meets on the mean of the piece, now that its length is known
        air_ks = advance(solution, span)[2]
        deviation = moisture(f, h, s, n, air_ks, span)[1] / span
        n = over_the_piece(n, deviation, 1.0 - n.fade * mean_fade(solution, span))
        solution, pull_slope, below, above = cabin_response(f, h, s, n, outdoor)
        span = max(first_crossing(solution, below, above, n.limit, span), LEAST_S)
    bank_c = s[CONTENTS] if h.bank_inside else outdoor
    shed = False
    rise, contents_rise, air_ks, contents_ks = advance(solution, span)
    for attempt in range(3):
        power = n.cooler.power_w + n.cooler.power_per_k * air_ks / span
        net = n.offered_w - n.other_w - power
        if net >= 0.0:
            soc, amps, volts, joules, heat, lost = charge(b, s[SOC], net, bank_c, span)
            break
        soc, amps, volts, joules, heat, lost = discharge(b, s[SOC], -net, bank_c, span)
        joules = -joules
        if f.cooling == COOLING_OFF or s[SHED] > 0.0:
            break
        reserve = stop_soc(b, -net, bank_c)
        if soc > reserve or attempt == 2:
            break
        # the reserve is reached within the piece: charge falls straight, so cut it there and look again
        shed = True
        fall = s[SOC] - soc
        span = max(span * (s[SOC] - reserve) / fall, LEAST_S) if fall > 0.0 else LEAST_S
        rise, contents_rise, air_ks, contents_ks = advance(solution, span)
    cabin, standby = s[CABIN], n.other_w - f.loads_w - s[FAN] * h.fan_w
    cooler_w = power + standby
    s[CABIN], s[CONTENTS] = cabin + rise, s[CONTENTS] + contents_rise
    _book_heat(f, h, s, o, n, mode, outdoor, span, cabin, air_ks, pull_slope)
    o[k.CONTENTS_KS] += (s[CONTENTS] - contents_rise) * span + contents_ks
    _book_power(f, s, o, n.other_w - standby, cooler_w, joules, span)
    o[k.BANK_J] += joules
    o[k.BANK_AS] += amps * span
    o[k.BANK_HEAT_J] += heat
    o[k.BANK_LOST_J] += lost
    if h.bank_inside:
        s[BANK_WARMTH_J] += heat + (lost if net >= 0.0 else 0.0) - n.warm * span
    s[SOC], s[BANK_V] = soc, volts
    s[SINCE_SWITCH] += span
    s[SINCE_START] += span
    return span, solution, cooler_w, joules / span, shed


@compiled
def _book_heat(
    f: ForcingInterval,
    h: CabinConstants,
    s: np.ndarray,
    o: np.ndarray,
    n: Flows,
    mode: int,
    outdoor: float,
    span: float,
    cabin: float,
    air_ks: float,
    pull_slope: float,
) -> None:
    """Heat and moisture of a piece; every flow is its value at the start plus its slope times the air's integral."""
    cabin_ks = cabin * span + air_ks
    difference = outdoor * span + 0.5 * f.outdoor_k_s * span * span - cabin_ks
    bodies_j = n.bodies * span - n.bodies_slope * air_ks
    o[k.CABIN_KS] += cabin_ks
    o[k.ENVELOPE_J] += f.ua_w_k * difference + f.sol_air_gain_w * span
    o[k.AIR_J] += (f.air_w_k + s[FAN] * f.fan_w_k) * difference
    o[k.PEOPLE_J] += bodies_j
    o[k.VEHICLE_J] += n.pull * span + pull_slope * air_ks
    o[k.BANK_WARM_J] += n.warm * span
    if s[ON] > 0.0:
        missing = h.ramp_s * n.fade * (1.0 - math.exp(-span / h.ramp_s))
        steady = n.cooler.sensible_w * span + n.cooler.sensible_per_k * n.reached * air_ks
        o[k.STEADY_J] += steady
        o[k.SENSIBLE_J] += steady - n.cooler.sensible_w * missing
        o[k.ON_S] += span
        o[k.SUPPLY_KS] += n.cooler.supply_c * span
        if mode == BOOST:
            o[k.BOOST_S] += span
    _book_moisture(f, h, s, o, n, air_ks, span)
    o[k.FAN_S] += s[FAN] * span
    if s[SHED] > 0.0:
        o[k.SHED_S] += span
    o[k.OVER_S] += time_above(cabin - h.limit_c, s[CABIN] - h.limit_c, span)
    o[k.CABIN_MAX] = max(o[k.CABIN_MAX], s[CABIN])


@compiled
def moisture(
    f: ForcingInterval, h: CabinConstants, s: np.ndarray, n: Flows, air_ks: float, span: float
) -> tuple[float, float, float]:
    """Humidity over a piece: bodies, air exchange and coil, one node, closed form.

    Returns
    -------
    tuple
        Change of the humidity ratio [kg/kg], its integral over the piece [s], and water condensed on the coil [kg].
    """
    bodies_j = n.bodies * span - n.bodies_slope * air_ks
    vapour = ((f.people_w + f.dogs_w) * span - bodies_j) / LATENT_J_KG
    flow = f.air_kg_s + s[FAN] * f.fan_kg_s
    wet_slope = n.cooler.water_per_ratio * n.reached
    warmth = n.cooler.water_per_k * n.reached * air_ks / span
    value = -(flow + wet_slope) / h.moisture_kg
    p = (vapour / span + flow * (f.outdoor_ratio - s[RATIO]) - n.cooler.water_kg_s - warmth) / h.moisture_kg
    one, two, _ = phi(value * span)
    rise, area = p * span * one, p * span * span * two
    missing = 0.0
    if n.cooler.water_kg_s > 0.0:
        gone = math.exp(-span / h.ramp_s)
        g, against = n.cooler.water_kg_s * n.fade / h.moisture_kg, value + 1.0 / h.ramp_s
        rise += g * (1.0 + value * span * one - gone) / against
        area += g * (span * one - h.ramp_s * (1.0 - gone)) / against
        missing = n.cooler.water_kg_s * n.fade * h.ramp_s * (1.0 - gone)
    return rise, area, (n.cooler.water_kg_s + warmth) * span - missing + wet_slope * area


@compiled
def over_the_piece(n: Flows, deviation: float, reached: float) -> Flows:
    """The same flows with the cooler moved by a mean deviation of the humidity ratio, and its slopes' mean share."""
    c = n.cooler
    moved = Running(
        c.sensible_w + c.sensible_per_ratio * deviation, c.sensible_per_k, c.sensible_per_ratio,
        c.water_kg_s, c.water_per_k, c.water_per_ratio,
        c.power_w + c.power_per_ratio * deviation, c.power_per_k, c.power_per_ratio, c.supply_c,
    )  # fmt: skip
    return Flows(
        moved, n.fade, reached, n.bodies, n.bodies_slope, n.pull, n.pull_slope,
        n.through, n.other_w, n.offered_w, n.warm, n.below, n.above, n.limit,
    )  # fmt: skip


@compiled
def _book_moisture(
    f: ForcingInterval, h: CabinConstants, s: np.ndarray, o: np.ndarray, n: Flows, air_ks: float, span: float
) -> None:
    """Write down the moisture of a piece; what the air cannot hold at the end runs down the walls."""
    rise, area, condensed = moisture(f, h, s, n, air_ks, span)
    flow = f.air_kg_s + s[FAN] * f.fan_kg_s
    o[k.VAPOUR_KG] += ((f.people_w + f.dogs_w) * span - n.bodies * span + n.bodies_slope * air_ks) / LATENT_J_KG
    o[k.AIR_KG] += flow * ((f.outdoor_ratio - s[RATIO]) * span - area)
    o[k.WATER_KG] += condensed
    o[k.RATIO_S] += s[RATIO] * span + area
    s[RATIO] += rise
    full = saturation_ratio(s[CABIN], h.pressure_pa)
    if s[RATIO] > full:
        o[k.WALL_KG] += (s[RATIO] - full) * h.moisture_kg
        s[RATIO] = full


@compiled
def _book_power(
    f: ForcingInterval, s: np.ndarray, o: np.ndarray, other_w: float, cooler_w: float, bank_j: float, span: float
) -> None:
    """Who supplied: sun first, then shore, then the alternator; what nobody could give is unserved."""
    needed = (other_w + cooler_w) * span + bank_j
    sun = min(f.solar_w * span, max(needed, 0.0))
    shore = min(f.shore_w * span, max(needed - sun, 0.0))
    engine = min(f.alternator_a * s[BANK_V] * span, max(needed - sun - shore, 0.0))
    o[k.SOLAR_J] += sun
    o[k.SHORE_J] += shore
    o[k.ALTERNATOR_J] += engine
    o[k.UNSERVED_J] += max(needed - sun - shore - engine, 0.0)
    o[k.LOADS_J] += other_w * span
    o[k.COOLER_J] += cooler_w * span


@compiled
def time_above(first: float, last: float, span: float) -> float:
    """Part of a span during which a straight line from `first` to `last` is positive."""
    if first <= 0.0 and last <= 0.0:
        return 0.0
    if first > 0.0 and last > 0.0:
        return span
    return span * max(first, last) / abs(last - first)
