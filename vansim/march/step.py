"""One step of the march: from now until something happens.

cabin_response   what the cabin makes of the flows (`flows`) in closed form, and the levels at which that ends
step_to_event    how far it goes: a level crossed, a timer, an edge, a limit of bank or feed; and what flowed until then
"""

from __future__ import annotations

import math
from typing import NamedTuple

from vansim.jit import compiled
from vansim.march.flows import LEAST_S, Flows, Moment, flows_now, vehicle_line
from vansim.march.network import TwoNodeSolution, advance, first_crossing, mean_fade, phi, two_node_solution
from vansim.march.power import bank_until, book_bank, book_power
from vansim.march.records import Records
from vansim.psychrometrics import saturation_ratio
from vansim.van.cooler_balance import BOOST
from vansim.van.people import LATENT_J_KG


class Trend(NamedTuple):
    """How a running cooler moves within a step, from where it stands at its start.

    `ratio_per_s`: rise of the humidity ratio as a straight line of the same mean [1/s]; `ramped_per_s`: the same for
    what of it counts with the start-up ramp; `reached`: mean share of the ramp with which the air's slopes act.
    """

    ratio_per_s: float
    ramped_per_s: float
    reached: float


class CabinResponse(NamedTuple):
    """Closed form of the cabin, slope of the vehicle's cooling in it [W/K], deviations at which it ends [K]."""

    solution: TwoNodeSolution
    vehicle_slope: float
    below_k: float
    above_k: float


class Course(NamedTuple):
    """How the air went over a step: length [s], temperature at the start [°C], integral of the deviation [K s]; trend
    of the cooler, slope of the vehicle's cooling [W/K].
    """

    span_s: float
    cabin_c: float
    air_ks: float
    trend: Trend
    vehicle_slope: float


class Moisture(NamedTuple):
    """Humidity over a step: change of the ratio [kg/kg], its integral [s], and that of what of it the start-up ramp
    keeps from a cooler that starts with the step [s]; water on the coil and vapour [kg].
    """

    rise: float
    area_s: float
    faded_s: float
    condensed_kg: float
    vapour_kg: float


class Step(NamedTuple):
    """A step that was made: its length [s], closed form, mean power of cooler, loads and bank [W], and how it ended.

    `limit`: at one of `LIMIT_NAMES` that stops the cooler; else `touched`: at a level of the cabin; else when its time
    was over.
    """

    span_s: float
    solution: TwoNodeSolution
    cooler_w: float
    loads_w: float
    bank_w: float
    touched: bool
    limit: int


@compiled
def cabin_response(now: Moment, s: Records, n: Flows, trend: Trend) -> CabinResponse:
    """Closed form of the cabin from this moment.

    What holds at the start of a step is what holds at the end of the one before: the cooler moves from there with
    humidity and temperature. Were it set to its mean over the step at once, the air would set out at another speed
    than it came with, and at an end of the vehicle's band one step could send it back over the end that the last had
    brought it across, over and over.
    """
    f, h = now.interval, now.van.cabin
    exchange = h.coupling_w_k * (s.contents_c - s.cabin_c)
    gains = f.sol_air_gain_w + n.still_w + n.occupants_w + n.equipment_w + f.sun_air_w
    by_air = n.air_ua_w_k * (now.outdoor_c - s.cabin_c)
    into_air = by_air + gains + exchange - n.cooler.sensible_w - n.vehicle_cooling_w
    ramp_w = n.cooler.sensible_w * n.ramp_missing
    below, above, slope = n.below_k, n.above_k, 0.0
    if f.vehicle > 0:
        line = vehicle_line(h, s.cabin_c, into_air + ramp_w > 0.0)
        slope = line.slope
        if now.heed_band:
            below, above = max(below, line.below_k), min(above, line.above_k)
    solution = two_node_solution(
        loss_w_k=n.air_ua_w_k
        + n.occupants_slope
        - n.fridge_slope * n.fridge_heat
        + n.cooler.sensible_per_k * trend.reached
        + slope,
        coupling_w_k=h.coupling_w_k,
        air_j_k=h.air_j_k,
        contents_j_k=h.contents_j_k,
        air_w=into_air,
        contents_w=f.sun_contents_w + n.bank_heat_w - exchange,
        drift_w_s=n.air_ua_w_k * f.outdoor_k_s - n.cooler.sensible_per_ratio * trend.ramped_per_s,
        ramp_w=ramp_w,
        tau_s=h.ramp_s,
    )
    return CabinResponse(solution=solution, vehicle_slope=slope, below_k=below, above_k=above)


@compiled
def step_to_event(now: Moment, s: Records, totals: Records) -> Step:
    """From now to the next event; changes the state and adds to the totals of the interval."""
    h = now.van.cabin
    n = flows_now(now, s)
    trend = Trend(ratio_per_s=0.0, ramped_per_s=0.0, reached=0.0)
    if s.on > 0.0:
        trend = Trend(
            ratio_per_s=0.0, ramped_per_s=0.0, reached=1.0 - n.ramp_missing * math.exp(-0.5 * n.limit_s / h.ramp_s)
        )
    cabin = cabin_response(now, s, n, trend)
    close = 1e-3 if s.on > 0.0 else 1e-6  # a running cooler is looked at twice
    crossing = first_crossing(cabin.solution, cabin.below_k, cabin.above_k, n.limit_s, close=close)
    span = max(crossing, LEAST_S)
    if s.on > 0.0:
        # what the coil meets on the way, now that the length of the step is known
        wet = moisture(now, s, n, trend, air_ks=advance(cabin.solution, span).air_ks, span=span)
        trend = Trend(
            ratio_per_s=2.0 * wet.area_s / (span * span),
            ramped_per_s=2.0 * (wet.area_s - n.ramp_missing * wet.faded_s) / (span * span),
            reached=1.0 - n.ramp_missing * mean_fade(cabin.solution, span),
        )
        cabin = cabin_response(now, s, n, trend)
        crossing = first_crossing(cabin.solution, cabin.below_k, cabin.above_k, n.limit_s, guess=span)
        span = max(crossing, LEAST_S)
    by_ratio = n.cooler.power_per_ratio * trend.ratio_per_s
    bank = bank_until(now, s, n, by_ratio_w_s=by_ratio, solution=cabin.solution, span=span)
    span, moved = bank.span_s, bank.cabin
    joules = bank.step.energy_j if bank.net_w >= 0.0 else -bank.step.energy_j
    course = Course(span_s=span, cabin_c=s.cabin_c, air_ks=moved.air_ks, trend=trend, vehicle_slope=cabin.vehicle_slope)
    totals.contents_ks += s.contents_c * span + moved.contents_ks
    s.cabin_c += moved.air_k
    s.contents_c += moved.contents_k
    _book_heat(now, s, totals, n, course)
    _book_moisture(now, s, totals, n, course)
    book_power(now, s, totals, n, bank)
    book_bank(now, s, totals, n, bank)
    s.since_switch_s += span
    s.since_start_s += span
    return Step(
        span_s=span,
        solution=cabin.solution,
        cooler_w=bank.power_w + n.standby_w,
        loads_w=bank.other_w - n.standby_w + n.refused_w,
        bank_w=joules / span,
        touched=crossing < n.limit_s,
        limit=bank.limit,
    )


@compiled
def _book_heat(now: Moment, s: Records, totals: Records, n: Flows, c: Course) -> None:
    """Heat of a step; every flow is its value at the start plus its slope times the air's integral."""
    f, h, span = now.interval, now.van.cabin, c.span_s
    cabin_ks = c.cabin_c * span + c.air_ks
    difference = now.outdoor_c * span + 0.5 * f.outdoor_k_s * span * span - cabin_ks
    totals.cabin_ks += cabin_ks
    roof_j = n.roof_w_k * (difference + f.roof_excess_k * span)
    floor_j = n.floor_w_k * (difference + f.floor_excess_k * span)
    opening_j = n.opening.w_k * difference + n.opening.w * span
    totals.roof_outward_j += roof_j
    totals.floor_outward_j += floor_j
    totals.opening_j += opening_j
    totals.envelope_j += f.ua_w_k * difference + f.sol_air_gain_w * span + roof_j + floor_j
    totals.air_exchange_j += (f.air_w_k + s.fan * f.fan_w_k) * difference + opening_j
    totals.occupants_j += n.occupants_w * span - n.occupants_slope * c.air_ks
    totals.vehicle_cooling_j += n.vehicle_cooling_w * span + c.vehicle_slope * c.air_ks
    totals.bank_to_cabin_j += n.bank_heat_w * span
    if s.on > 0.0:
        missing = h.ramp_s * n.ramp_missing * (1.0 - math.exp(-span / h.ramp_s))
        by_ratio = n.cooler.sensible_per_ratio * c.trend.ramped_per_s * 0.5 * span * span
        steady = n.cooler.sensible_w * span + n.cooler.sensible_per_k * c.trend.reached * c.air_ks + by_ratio
        totals.steady_j += steady
        totals.sensible_j += steady - n.cooler.sensible_w * missing
        totals.on_s += span
        totals.supply_ks += n.cooler.supply_c * span
        if now.mode == BOOST:
            totals.boost_s += span
    totals.fan_s += s.fan * span
    if s.disconnected > 0.0:
        totals.disconnected_s += span
    totals.over_s += time_above(c.cabin_c - h.limit_c, s.cabin_c - h.limit_c, span)
    totals.cabin_max_c = max(totals.cabin_max_c, s.cabin_c)


@compiled
def moisture(now: Moment, s: Records, n: Flows, trend: Trend, air_ks: float, span: float) -> Moisture:
    """Humidity over a step: bodies, air exchange, cold glass and coil, one node, closed form."""
    f, h = now.interval, now.van.cabin
    occupants_j = n.occupants_w * span - n.occupants_slope * air_ks
    vapour = ((f.people_w + f.dogs_w) * span - occupants_j) / LATENT_J_KG
    flow = n.air_kg_s
    wet_slope = n.cooler.water_per_ratio * trend.reached
    by_warmth = n.cooler.water_per_k * trend.reached * air_ks / span
    value = -(flow + n.panes.kg_s + wet_slope) / h.moisture_kg
    inward = flow * (f.outdoor_ratio - s.ratio) - n.panes.kg_s * (s.ratio - n.panes.ratio)
    p = (vapour / span + inward - n.cooler.water_kg_s - by_warmth) / h.moisture_kg
    one, two, _ = phi(value * span)
    rise, area = p * span * one, p * span * span * two
    missing = faded = 0.0
    if s.on > 0.0:
        fade = math.exp(-span / h.ramp_s)
        lag = h.ramp_s * (1.0 - fade)
        g, against = n.cooler.water_kg_s * n.ramp_missing / h.moisture_kg, value + 1.0 / h.ramp_s
        rise += g * (1.0 + value * span * one - fade) / against
        area += g * (span * one - lag) / against
        missing = n.cooler.water_kg_s * n.ramp_missing * lag
        faded = (p * lag + g * 0.5 * lag * (1.0 + fade) - fade * rise) / (1.0 / h.ramp_s - value)
    condensed = (n.cooler.water_kg_s + by_warmth) * span - missing + wet_slope * area
    if condensed < 0.0:
        # air dried so fast, by a fan or an open window, that the coil is dry before it is looked at again: it gives
        # nothing back
        rise += condensed / h.moisture_kg
        condensed = 0.0
    return Moisture(rise=rise, area_s=area, faded_s=faded, condensed_kg=condensed, vapour_kg=vapour)


@compiled
def _book_moisture(now: Moment, s: Records, totals: Records, n: Flows, c: Course) -> None:
    """Write down the moisture of a step; what the air cannot hold at the end runs down the walls."""
    f, h = now.interval, now.van.cabin
    m = moisture(now, s, n, c.trend, air_ks=c.air_ks, span=c.span_s)
    drier_s = (f.outdoor_ratio - s.ratio) * c.span_s - m.area_s
    totals.vapour_kg += m.vapour_kg
    totals.air_exchange_kg += n.air_kg_s * drier_s
    totals.opening_kg += n.opening.kg_s * drier_s
    totals.pane_condensate_kg += n.panes.kg_s * ((s.ratio - n.panes.ratio) * c.span_s + m.area_s)
    totals.condensate_kg += m.condensed_kg
    totals.ratio_s += s.ratio * c.span_s + m.area_s
    s.ratio += m.rise
    full = saturation_ratio(s.cabin_c, h.pressure_pa)
    if s.ratio > full:
        totals.wall_condensate_kg += (s.ratio - full) * h.moisture_kg
        s.ratio = full


@compiled
def time_above(first: float, last: float, span: float) -> float:
    """Part of a span during which a straight line from `first` to `last` is positive."""
    if first <= 0.0 and last <= 0.0:
        return 0.0
    if first > 0.0 and last > 0.0:
        return span
    return span * max(first, last) / abs(last - first)
