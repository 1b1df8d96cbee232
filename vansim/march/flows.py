"""Heat and power at this moment, and how they change with the cabin's temperature."""

from __future__ import annotations

import math
from typing import NamedTuple

from vansim.boundary.forcing import COOLING_OFF
from vansim.jit import compiled
from vansim.march.controls import TOUCH_K, levels
from vansim.march.records import CabinConstants, ForcingInterval, Records, VanParameters
from vansim.psychrometrics import CP_DRY_AIR, CP_VAPOUR, saturation_ratio
from vansim.van.bank_steps import heat_loss_w
from vansim.van.cooler_map import Running, running
from vansim.van.loads import fridge_extra_w
from vansim.van.people import dog_sensible_share, person_sensible_share

LEAST_S = 1e-6
"""Shortest step [s]; a level touched again at once cannot stop the clock."""
TANGENT_K, FAR_K, TWO_THIRDS = 0.01, 10.0, 2.0 / 3.0
"""Chord of the occupants' heat: as short as a tangent [K]; a level too far for one step [K]; part of the way."""
BAND_END_K = 1e-4
"""This near to an end of its band, the vehicle's cooling takes the line to which the air moves, and may follow it this
far beyond the end should the air turn round [K]: a tenth of a watt."""


class Moment(NamedTuple):
    """What holds from now on: interval of forcing, van, mode of the cooler, outdoor air [°C], longest step [s].

    `heed_band`: whether an end of the vehicle's proportional band ends the step.
    """

    interval: ForcingInterval
    van: VanParameters
    mode: int
    outdoor_c: float
    limit_s: float
    heed_band: bool


class Draught(NamedTuple):
    """Air by what stands open: flow [kg/s], its heat as a line in the difference to outdoor air, `w_k` and `w` [W]."""

    kg_s: float
    w_k: float
    w: float


class Panes(NamedTuple):
    """Cold glass: water that condenses per unit of humidity ratio above saturation there [kg/s]; that saturation."""

    kg_s: float
    ratio: float


class Flows(NamedTuple):
    """Heat and power at the start of a step [W, kg/s] with their slopes against cabin temperature, and its limits.

    `cooler` is a running cooler at full capacity, zeros where it is off; `ramp_missing` the share not yet reached at
    the start. `occupants_w`: dry heat of people and dogs. `vehicle_cooling_w`: the vehicle's own. `air_ua_w_k`:
    conductance to outdoor air, `still_w` what flows with it beside that difference; in them `roof_w_k` and
    `floor_w_k`, what the turned films of level faces add, and `opening`, what stands open. `air_kg_s`: all air.
    `panes`: cold glass.
    `equipment_w`: heat of appliances; `fridge_slope`: how refrigerators draw more as the
    cabin warms, of which the share `fridge_heat` warms it. `other_w`: all use of electricity at the busbar but the
    running cooler, `standby_w` the cooler's standby in it; `peak_w`: how far it rises when all loads run at once;
    `refused_w`: use that nobody can give. `offered_w`: sun (`solar_w`), shore and alternator. `bank_heat_w`: heat of
    the bank among the contents. `below_k` and `above_k`: deviations of the cabin at which something switches;
    `limit_s`: longest time.
    """

    cooler: Running
    ramp_missing: float
    occupants_w: float
    occupants_slope: float
    vehicle_cooling_w: float
    air_ua_w_k: float
    still_w: float
    air_kg_s: float
    roof_w_k: float
    floor_w_k: float
    opening: Draught
    panes: Panes
    equipment_w: float
    fridge_slope: float
    fridge_heat: float
    other_w: float
    standby_w: float
    peak_w: float
    refused_w: float
    solar_w: float
    offered_w: float
    bank_heat_w: float
    below_k: float
    above_k: float
    limit_s: float


@compiled
def occupant_heat(f: ForcingInterval, cabin_c: float, ahead_k: float) -> tuple[float, float]:
    """Dry heat of people and dogs [W], and how it falls with cabin temperature [W/K].

    Their heat has corners, one of them amid a usual thermostat's band. Where the air is on its way to a level
    `ahead_k` above it, the slope is that of a chord over two thirds of that way: with a corner half way, it has the
    mean of the heat over the whole of it.
    """
    heat = _occupants_w(f, cabin_c)
    if TANGENT_K < ahead_k < FAR_K:
        chord = TWO_THIRDS * ahead_k
        return heat, (heat - _occupants_w(f, cabin_c + chord)) / chord
    return heat, (heat - _occupants_w(f, cabin_c + TANGENT_K)) / TANGENT_K


@compiled
def _occupants_w(f: ForcingInterval, cabin_c: float) -> float:
    """Dry heat of people and dogs [W]."""
    return f.people_w * person_sensible_share(cabin_c) + f.dogs_w * dog_sensible_share(cabin_c)


@compiled
def vehicle_cooling(h: CabinConstants, cabin_c: float) -> float:
    """Cooling by the vehicle [W]: nothing at its set point, all it can at the other end of its proportional band."""
    return min(max(cabin_c - h.vehicle_c, 0.0) * h.vehicle_w_k, h.vehicle_w)


class Line(NamedTuple):
    """A straight piece of the vehicle's cooling: slope [W/K], and the deviations of the cabin at which it ends [K]."""

    slope: float
    below_k: float
    above_k: float


@compiled
def vehicle_line(h: CabinConstants, cabin_c: float, rising: bool) -> Line:
    """The line that the vehicle's cooling follows from here; at an end of its band, the one to which the air moves."""
    start = h.vehicle_c - cabin_c
    full = start + h.vehicle_w / h.vehicle_w_k
    if start > BAND_END_K or (start >= -BAND_END_K and not rising):
        return Line(0.0, -math.inf, max(start, BAND_END_K))
    if full < -BAND_END_K or (full <= BAND_END_K and rising):
        return Line(0.0, min(full, -BAND_END_K), math.inf)
    return Line(h.vehicle_w_k, min(start, -BAND_END_K), max(full, BAND_END_K))


@compiled
def at_band_end(h: CabinConstants, cabin_c: float) -> bool:
    """Whether the air stands where a line of the vehicle's cooling ends, or as far beyond as it may be followed."""
    above_start = cabin_c - h.vehicle_c
    return min(abs(above_start), abs(above_start - h.vehicle_w / h.vehicle_w_k)) <= BAND_END_K + TOUCH_K


@compiled
def draught(f: ForcingInterval, difference_k: float) -> Draught:
    """Air by what stands open, at this difference to outdoor air; by stack alone, its heat goes by the power 3/2."""
    if f.opening_kg2_s2 <= 0.0:
        return Draught(kg_s=0.0, w_k=0.0, w=0.0)
    by_stack = f.opening_kg2_s2_k * abs(difference_k)
    flow = math.sqrt(f.opening_kg2_s2 + by_stack)
    heat = CP_DRY_AIR + CP_VAPOUR * f.outdoor_ratio
    steeper = 0.5 * heat * by_stack / flow
    return Draught(kg_s=flow, w_k=flow * heat + steeper, w=-steeper * difference_k)


@compiled
def panes_now(f: ForcingInterval, h: CabinConstants, s: Records, warmer_k: float) -> Panes:
    """Glass that is colder than the cabin's dew point; its latent heat warms the pane and goes out by most of it."""
    below = warmer_k - f.pane_excess_k
    if f.pane_kg_s > 0.0 and below > 0.0:
        full = saturation_ratio(s.cabin_c - f.pane_coldness * below, h.pressure_pa)
        if s.ratio > full:
            return Panes(kg_s=f.pane_kg_s, ratio=full)
    return Panes(kg_s=0.0, ratio=0.0)


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
    missing = 0.0
    if s.on > 0.0:
        # while capacity ramps up, slopes change fast: a step is cut at two time constants
        since = s.since_start_s
        if since < 2.0 * h.ramp_s - 1e-9:
            limit = min(limit, 2.0 * h.ramp_s - since)
        middle = now.outdoor_c + 0.5 * f.outdoor_k_s * limit
        cooler = running(now.van.cooler, now.mode, middle, s.cabin_c, s.ratio)
        missing = math.exp(-since / h.ramp_s)
    occupants, occupants_slope = occupant_heat(f, s.cabin_c, above if s.on == 0.0 else math.inf)
    # level faces: heat rises to a cold roof and sinks to a cold floor through other films than it comes in
    warmer = s.cabin_c - now.outdoor_c
    roof_w_k = f.roof_outward_w_k if warmer > f.roof_excess_k else 0.0
    floor_w_k = f.floor_outward_w_k if warmer > f.floor_excess_k else 0.0
    opening = draught(f, -warmer)
    panes = panes_now(f, h, s, warmer)
    vehicle_w = vehicle_cooling(h, s.cabin_c) if f.vehicle > 0 else 0.0
    standby = h.standby_w if f.cooling != COOLING_OFF and s.disconnected == 0.0 else 0.0
    equipment, inverter, peak, refused = f.internal_gains_w + f.inverter_heat_w, f.inverter_w, f.peak_w, f.refused_w
    extra, fridge_slope = fridge_extra_w(f.fridge_w, f.fridge_w_k, f.fridge_w_k2, f.fridge_most_w, s.cabin_c)
    equipment += extra * f.fridge_heat
    peak -= extra
    if s.inverter_off > 0.0 and inverter > 0.0:
        equipment, refused, inverter = equipment - f.inverter_heat_w, refused + inverter, 0.0
    else:
        peak += f.inverter_peak_w
    other_w = f.loads_w + extra - f.inverter_w + inverter + s.fan * h.fan_w + standby
    solar_w = min(f.solar_w, now.van.electrical.mppt_a * s.bank_v)
    offered_w = solar_w + f.shore_w + f.alternator_a * s.bank_v
    bank_heat = 0.0
    if h.bank_inside:
        # its heat at this moment, and what the step before gave off more than was foreseen
        net = offered_w - other_w - cooler.power_w
        bank_heat = heat_loss_w(now.van.bank, s.soc, s.bound, net, s.contents_c) + s.bank_heat_due_j / limit
    return Flows(
        cooler=cooler,
        ramp_missing=missing,
        occupants_w=occupants,
        occupants_slope=occupants_slope,
        vehicle_cooling_w=vehicle_w,
        air_ua_w_k=f.ua_w_k + f.air_w_k + s.fan * f.fan_w_k + roof_w_k + floor_w_k + opening.w_k,
        still_w=roof_w_k * f.roof_excess_k + floor_w_k * f.floor_excess_k + opening.w,
        air_kg_s=f.air_kg_s + s.fan * f.fan_kg_s + opening.kg_s,
        roof_w_k=roof_w_k,
        floor_w_k=floor_w_k,
        opening=opening,
        panes=panes,
        equipment_w=equipment,
        fridge_slope=fridge_slope,
        fridge_heat=f.fridge_heat,
        other_w=other_w,
        standby_w=standby,
        peak_w=peak,
        refused_w=refused,
        solar_w=solar_w,
        offered_w=offered_w,
        bank_heat_w=bank_heat,
        below_k=below,
        above_k=above,
        limit_s=limit,
    )
