"""Heat and power at this moment, and how they change with the cabin's temperature."""

from __future__ import annotations

import math
from typing import NamedTuple

from vansim.boundary.forcing import COOLING_OFF
from vansim.jit import compiled
from vansim.march.controls import levels
from vansim.march.records import CabinConstants, ForcingInterval, Records, VanParameters
from vansim.van.bank_steps import heat_loss_w
from vansim.van.cooler_map import Running, running
from vansim.van.people import dog_sensible_share, person_sensible_share

LEAST_S = 1e-6
"""Shortest step [s]; a level touched again at once cannot stop the clock."""


class Moment(NamedTuple):
    """What holds from now on: interval of forcing, van, mode of the cooler, outdoor air [°C], longest step [s]."""

    interval: ForcingInterval
    van: VanParameters
    mode: int
    outdoor_c: float
    limit_s: float


class Flows(NamedTuple):
    """Heat and power at the start of a step [W, kg/s] with their slopes against cabin temperature, and its limits.

    `cooler` is a running cooler at full capacity, zeros where it is off; `ramp_missing` the share not yet reached at
    the start, `ramp_reached` the mean share that its slopes act with. `occupants_w`: dry heat of people and dogs.
    `vehicle_cooling_w`: the vehicle's own. `air_ua_w_k`: conductance to outdoor air. `other_w`: all use of electricity
    but the running cooler; `offered_w`: sun, shore and alternator. `bank_heat_w`: heat of the bank among the contents.
    `below_k` and `above_k`: deviations of the cabin at which something switches; `limit_s`: longest time.
    """

    cooler: Running
    ramp_missing: float
    ramp_reached: float
    occupants_w: float
    occupants_slope: float
    vehicle_cooling_w: float
    vehicle_slope: float
    air_ua_w_k: float
    other_w: float
    offered_w: float
    bank_heat_w: float
    below_k: float
    above_k: float
    limit_s: float


@compiled
def occupant_heat(f: ForcingInterval, cabin_c: float) -> tuple[float, float]:
    """Dry heat of people and dogs [W] and how it falls with cabin temperature [W/K]."""
    people, dogs = person_sensible_share(cabin_c), dog_sensible_share(cabin_c)
    people_slope = person_sensible_share(cabin_c + 0.01) - people
    dogs_slope = dog_sensible_share(cabin_c + 0.01) - dogs
    heat = f.people_w * people + f.dogs_w * dogs
    return heat, -(f.people_w * people_slope + f.dogs_w * dogs_slope) / 0.01


@compiled
def vehicle_cooling(h: CabinConstants, cabin_c: float) -> tuple[float, float, float, float]:
    """Cooling by the vehicle [W], its slope [W/K], and the deviations at which it starts and saturates [K]."""
    start = h.vehicle_c - cabin_c
    full = start + h.vehicle_w / h.vehicle_w_k
    if start > 0.0:
        return 0.0, 0.0, -math.inf, start
    if full < 0.0:
        return h.vehicle_w, 0.0, full, math.inf
    return -start * h.vehicle_w_k, h.vehicle_w_k, start, full


@compiled
def no_cooling() -> Running:
    """A cooler that is off."""
    return Running(
        sensible_w=0.0,
        sensible_per_k=0.0,
        sensible_per_ratio=0.0,
        water_kg_s=0.0,
        water_per_k=0.0,
        water_per_ratio=0.0,
        power_w=0.0,
        power_per_k=0.0,
        power_per_ratio=0.0,
        supply_c=0.0,
    )


@compiled
def flows_now(now: Moment, s: Records) -> Flows:
    """Read everything that the cabin and the bank meet at this moment."""
    f, h = now.interval, now.van.cabin
    below, above, wait = levels(f, h, s)
    limit = min(now.limit_s, max(wait, LEAST_S))
    cooler = no_cooling()
    missing = reached = 0.0
    if s.on > 0.0:
        # while capacity ramps up, slopes change fast: a step is cut at two time constants
        since = s.since_start_s
        if since < 2.0 * h.ramp_s - 1e-9:
            limit = min(limit, 2.0 * h.ramp_s - since)
        middle = now.outdoor_c + 0.5 * f.outdoor_k_s * limit
        cooler = running(now.van.cooler, now.mode, middle, s.cabin_c, s.ratio)
        missing = math.exp(-since / h.ramp_s)
        reached = 1.0 - missing * math.exp(-0.5 * limit / h.ramp_s)
    occupants, occupants_slope = occupant_heat(f, s.cabin_c)
    vehicle = vehicle_slope = 0.0
    if f.vehicle > 0:
        vehicle, vehicle_slope, lower, upper = vehicle_cooling(h, s.cabin_c)
        below, above = max(below, lower), min(above, upper)
    other_w = f.loads_w + s.fan * h.fan_w
    if f.cooling != COOLING_OFF and s.disconnected == 0.0:
        other_w += h.standby_w
    offered_w = f.solar_w + f.shore_w + f.alternator_a * s.bank_v
    bank_heat = 0.0
    if h.bank_inside:
        # its heat at this moment, and what the step before gave off more than was foreseen
        net = offered_w - other_w - cooler.power_w
        bank_heat = heat_loss_w(now.van.bank, s.soc, net, s.contents_c) + s.bank_heat_due_j / limit
    return Flows(
        cooler=cooler,
        ramp_missing=missing,
        ramp_reached=reached,
        occupants_w=occupants,
        occupants_slope=occupants_slope,
        vehicle_cooling_w=vehicle,
        vehicle_slope=vehicle_slope,
        air_ua_w_k=f.ua_w_k + f.air_w_k + s.fan * f.fan_w_k,
        other_w=other_w,
        offered_w=offered_w,
        bank_heat_w=bank_heat,
        below_k=below,
        above_k=above,
        limit_s=limit,
    )


@compiled
def over_the_step(n: Flows, deviation: float, reached: float) -> Flows:
    """The same flows with the cooler moved by a mean deviation of the humidity ratio, and its slopes' mean share."""
    c = n.cooler
    moved = Running(
        sensible_w=c.sensible_w + c.sensible_per_ratio * deviation,
        sensible_per_k=c.sensible_per_k,
        sensible_per_ratio=c.sensible_per_ratio,
        water_kg_s=c.water_kg_s,
        water_per_k=c.water_per_k,
        water_per_ratio=c.water_per_ratio,
        power_w=c.power_w + c.power_per_ratio * deviation,
        power_per_k=c.power_per_k,
        power_per_ratio=c.power_per_ratio,
        supply_c=c.supply_c,
    )
    return Flows(
        cooler=moved,
        ramp_missing=n.ramp_missing,
        ramp_reached=reached,
        occupants_w=n.occupants_w,
        occupants_slope=n.occupants_slope,
        vehicle_cooling_w=n.vehicle_cooling_w,
        vehicle_slope=n.vehicle_slope,
        air_ua_w_k=n.air_ua_w_k,
        other_w=n.other_w,
        offered_w=n.offered_w,
        bank_heat_w=n.bank_heat_w,
        below_k=n.below_k,
        above_k=n.above_k,
        limit_s=n.limit_s,
    )
