"""The march: cabin, cooler and bank answer each other, moment by moment.

Between two switchings the cabin is linear and solved in closed form (`network`), so the march goes from event to event:
a thermostat crossing, the end of a timer, the reserve of the bank, an edge of the forcing, and at the latest the next
full five minutes, where the cooler's map and the bank are read again. Everything is compiled, and lets go of the lock.

One piece:
    decide    who runs: compressor, roof fan, the vehicle's own cooling
    balance   heat flows at this moment, and how they change with cabin temperature
    march     how long until something happens, what flowed until then, what the bank made of it
"""

from __future__ import annotations

import math
from typing import NamedTuple

import numpy as np

from vansim.air import saturation_ratio
from vansim.compiled import compiled
from vansim.march.forcing import COOLING_BOOST, COOLING_BOOST_THEN_ECO, COOLING_OFF, Forcing
from vansim.march.network import Modes, deviation, first_crossing, integral, modes, phi
from vansim.van.bank import BankNumbers, charge, current_for_power, discharge, ocv_at, resistance_ohm, stop_soc
from vansim.van.cooler import BOOST, ECO, CoolerMap, running
from vansim.van.people import LATENT_J_KG, dog_sensible_share, person_sensible_share

READ_EVERY_S = 300.0
FAN_GAIN_K = 2.0
"""Outdoor air this much cooler than the cabin makes the automatic roof fan worth running [K]; it stops at 0.5 K."""
FAN_MAX_RATIO = 0.0138
"""Outdoor humidity ratio above which the automatic fan stays off: a dew point of 19 °C at sea level [kg/kg]."""
FAN_BELOW_K = 1.0
"""The automatic fan cools down to this far below the set point [K]."""
TOUCH_K = 1e-8
INFINITE = 1e30


class House(NamedTuple):
    """Constants of a run: capacities, controls and limits, all SI."""

    air_j_k: float
    contents_j_k: float
    coupling_w_k: float
    moisture_kg: float
    pressure_pa: float
    deadband_k: float
    boost_return_k: float
    min_on_s: float
    min_off_s: float
    between_starts_s: float
    ramp_s: float
    standby_w: float
    fan_w: float
    vehicle_c: float
    vehicle_w_k: float
    vehicle_w: float
    bank_inside: bool
    limit_c: float


class Piece(NamedTuple):
    """One row of the forcing, as plain numbers; the names are those of `Forcing`."""

    start_s: float
    outdoor_c: float
    outdoor_k_s: float
    outdoor_ratio: float
    ua_w_k: float
    excess_w: float
    sun_air_w: float
    sun_contents_w: float
    air_kg_s: float
    air_w_k: float
    fan_kg_s: float
    fan_w_k: float
    people_w: float
    dogs_w: float
    equipment_w: float
    loads_w: float
    solar_w: float
    alternator_a: float
    shore_w: float
    setpoint_c: float
    cooling: int
    fan: int
    vehicle: int


@compiled
def piece_of_forcing(f: Forcing, i: int) -> Piece:
    """Row `i` of the forcing."""
    return Piece(
        f.start_s[i],
        f.outdoor_c[i],
        f.outdoor_k_s[i],
        f.outdoor_ratio[i],
        f.ua_w_k[i],
        f.excess_w[i],
        f.sun_air_w[i],
        f.sun_contents_w[i],
        f.air_kg_s[i],
        f.air_w_k[i],
        f.fan_kg_s[i],
        f.fan_w_k[i],
        f.people_w[i],
        f.dogs_w[i],
        f.equipment_w[i],
        f.loads_w[i],
        f.solar_w[i],
        f.alternator_a[i],
        f.shore_w[i],
        f.setpoint_c[i],
        f.cooling[i],
        f.fan[i],
        f.vehicle[i],
    )


# state: everything that a run needs to be taken up again
CABIN, CONTENTS, RATIO, SOC, BANK_V, ON, SINCE_SWITCH, SINCE_START, BOOSTING, FAN, SHED, SHED_SOC = range(12)
N_STATE = 12

# what flowed in a piece of forcing: time integrals, counts, and the state at its end
(
    CABIN_KS,
    CONTENTS_KS,
    RATIO_S,
    ON_S,
    STARTS,
    SENSIBLE_J,
    STEADY_J,
    WATER_KG,
    COOLER_J,
    PEOPLE_J,
    VAPOUR_KG,
    AIR_J,
    AIR_KG,
    ENVELOPE_J,
    VEHICLE_J,
    BANK_WARM_J,
    WALL_KG,
    FAN_S,
    BOOST_S,
    SUPPLY_KS,
    LOADS_J,
    SOLAR_J,
    ALTERNATOR_J,
    SHORE_J,
    BANK_J,
    BANK_AS,
    BANK_HEAT_J,
    BANK_LOST_J,
    UNSERVED_J,
    SHED_S,
    OVER_S,
    CABIN_MAX,
    END_CABIN,
    END_CONTENTS,
    END_RATIO,
    END_SOC,
    END_V,
) = range(37)
N_OUT = 37

# the fine picture, at wanted moments
S_OUTDOOR, S_CABIN, S_CONTENTS, S_RATIO, S_ON, S_COOLER_W, S_LOADS_W, S_BANK_W, S_BANK_V, S_SOC, S_BOOST = range(11)
N_SAMPLE = 11

# events in the log
STARTED, STOPPED, SHEDDED, RECONNECTED = 0.0, 1.0, 2.0, 3.0


@compiled
def decide(f: Piece, h: House, s: np.ndarray, outdoor_c: float) -> tuple[bool, int]:
    """Set compressor and fan for the coming piece; returns whether a start happened, and the mode.

    The thermostat starts at the top of its band and stops at the bottom, when its timers allow. *Boost until cool, then
    eco* boosts from the first start until the first stop, and again when the cabin has run away.
    """
    cooling = f.cooling
    enabled = cooling != COOLING_OFF and s[SHED] == 0.0
    high = f.setpoint_c + 0.5 * h.deadband_k
    low = f.setpoint_c - 0.5 * h.deadband_k
    started = False
    if not enabled:
        s[BOOSTING] = 1.0
        if s[ON] > 0.0:
            s[ON], s[SINCE_SWITCH] = 0.0, 0.0
    else:
        if s[CABIN] >= f.setpoint_c + h.boost_return_k - TOUCH_K:
            s[BOOSTING] = 1.0
        if s[ON] > 0.0:
            if s[CABIN] <= low + TOUCH_K and s[SINCE_SWITCH] >= h.min_on_s - TOUCH_K:
                s[ON], s[SINCE_SWITCH], s[BOOSTING] = 0.0, 0.0, 0.0
        elif (
            s[CABIN] >= high - TOUCH_K
            and s[SINCE_SWITCH] >= h.min_off_s - TOUCH_K
            and s[SINCE_START] >= h.between_starts_s - TOUCH_K
        ):
            s[ON], s[SINCE_SWITCH], s[SINCE_START] = 1.0, 0.0, 0.0
            started = True
    fan = f.fan
    if fan == 1:
        s[FAN] = 1.0
    elif fan == 0 or s[ON] > 0.0:
        s[FAN] = 0.0
    elif s[FAN] > 0.0:
        helps = outdoor_c < s[CABIN] - 0.5 and s[CABIN] > f.setpoint_c - FAN_BELOW_K
        s[FAN] = 1.0 if helps and f.outdoor_ratio <= FAN_MAX_RATIO else 0.0
    else:
        helps = outdoor_c < s[CABIN] - FAN_GAIN_K and s[CABIN] > f.setpoint_c
        s[FAN] = 1.0 if helps and f.outdoor_ratio <= FAN_MAX_RATIO else 0.0
    boost = cooling == COOLING_BOOST or (cooling == COOLING_BOOST_THEN_ECO and s[BOOSTING] > 0.0)
    return started, BOOST if boost else ECO


@compiled
def levels(f: Piece, h: House, s: np.ndarray) -> tuple[float, float, float]:
    """Deviations of the cabin at which the controls want to be asked again, and the time until a timer ends [s]."""
    below, above, wait = -INFINITE, INFINITE, INFINITE
    cabin = s[CABIN]
    if f.cooling == COOLING_OFF or s[SHED] > 0.0:
        return below, above, wait
    high = f.setpoint_c + 0.5 * h.deadband_k - cabin
    low = f.setpoint_c - 0.5 * h.deadband_k - cabin
    runaway = f.setpoint_c + h.boost_return_k - cabin
    if f.cooling == COOLING_BOOST_THEN_ECO and s[BOOSTING] == 0.0 and runaway > TOUCH_K:
        above = runaway
    if s[ON] > 0.0:
        if low < -TOUCH_K:
            below = low
        else:
            wait = h.min_on_s - s[SINCE_SWITCH]
    elif high > TOUCH_K:
        above = min(above, high)
    else:
        wait = max(h.min_off_s - s[SINCE_SWITCH], h.between_starts_s - s[SINCE_START])
    return below, above, wait


@compiled
def body_heat(f: Piece, cabin_c: float) -> tuple[float, float]:
    """Dry heat of people and dogs [W] and how it falls with cabin temperature [W/K]."""
    people, dogs = person_sensible_share(cabin_c), dog_sensible_share(cabin_c)
    people_slope = person_sensible_share(cabin_c + 0.01) - people
    dogs_slope = dog_sensible_share(cabin_c + 0.01) - dogs
    heat = f.people_w * people + f.dogs_w * dogs
    return heat, -(f.people_w * people_slope + f.dogs_w * dogs_slope) / 0.01


@compiled
def vehicle_heat(h: House, cabin_c: float) -> tuple[float, float, float, float]:
    """Cooling by the vehicle [W], its slope [W/K], and the deviations at which it starts and saturates [K]."""
    start = h.vehicle_c - cabin_c
    full = start + h.vehicle_w / h.vehicle_w_k
    if start > 0.0:
        return 0.0, 0.0, -INFINITE, start
    if full < 0.0:
        return h.vehicle_w, 0.0, full, INFINITE
    return -start * h.vehicle_w_k, h.vehicle_w_k, start, full


@compiled
def bank_temperature(h: House, s: np.ndarray, outdoor_c: float) -> float:
    """The bank stands among the contents, or outside [°C]."""
    return s[CONTENTS] if h.bank_inside else outdoor_c


@compiled
def march(
    forcing: Forcing,
    h: House,
    cooling: CoolerMap,
    b: BankNumbers,
    s: np.ndarray,
    out: np.ndarray,
    moments: np.ndarray,
    samples: np.ndarray,
    log: np.ndarray,
    stop_when_shed: bool,
) -> tuple[float, int]:
    """Run from the first to the last piece of the forcing.

    Parameters
    ----------
    forcing : Forcing
        Arrays over pieces.
    h : House
        Constants.
    cooling : CoolerMap
        The cooler, solved.
    b : BankNumbers
        The bank.
    s : (N_STATE,) array
        State, changed in place.
    out : (n_pieces, N_OUT) array
        Filled with what flowed; given as zeros.
    moments : (n_samples,) array
        Increasing times at which the fine picture is wanted [s]; may be empty.
    samples : (n_samples, N_SAMPLE) array
        Filled with it.
    log : (n_events, 2) array
        Filled with time [s] and kind of each event, as far as it reaches; may be empty.
    stop_when_shed : bool
        End when the bank's reserve is reached.

    Returns
    -------
    end_s : float
        When it ended [s].
    n_events : int
        Events that happened, also those that no longer fitted the log.
    """
    n_events, at_sample = 0, 0
    while at_sample < moments.size and moments[at_sample] < forcing.start_s[0]:
        at_sample += 1
    for i in range(forcing.start_s.size):
        f = piece_of_forcing(forcing, i)
        t, o, end_s = forcing.start_s[i], out[i], forcing.end_s[i]
        o[CABIN_MAX] = s[CABIN]
        while t < end_s - 1e-9:
            outdoor = f.outdoor_c + f.outdoor_k_s * (t - f.start_s)
            was_on, was_shed = s[ON], s[SHED]
            if s[SHED] > 0.0 and s[SOC] >= s[SHED_SOC] + b.reconnect_soc:
                s[SHED] = 0.0
            started, mode = decide(f, h, s, outdoor)
            if started:
                o[STARTS] += 1.0
            for happened, kind in (
                (started, STARTED),
                (was_on > 0.0 and s[ON] == 0.0, STOPPED),
                (was_shed > 0.0 and s[SHED] == 0.0, RECONNECTED),
            ):
                if happened:
                    if n_events < log.shape[0]:
                        log[n_events, 0], log[n_events, 1] = t, kind
                    n_events += 1
            limit = min(end_s, (math.floor(t / READ_EVERY_S + 1e-9) + 1.0) * READ_EVERY_S) - t
            before = s[CABIN], s[CONTENTS], s[RATIO], s[SOC]
            span, solution, cooler_w, bank_w, shed = _piece(f, h, cooling, b, s, o, mode, outdoor, limit)
            while at_sample < moments.size and moments[at_sample] <= t + span:
                _sample(f, s, before, solution, span, moments[at_sample] - t, outdoor, samples[at_sample])
                samples[at_sample, S_COOLER_W] = cooler_w
                samples[at_sample, S_BANK_W] = bank_w
                samples[at_sample, S_BOOST] = 1.0 if s[ON] > 0.0 and mode == BOOST else 0.0
                at_sample += 1
            t += span
            if shed:
                s[SHED], s[SHED_SOC] = 1.0, s[SOC]
                if n_events < log.shape[0]:
                    log[n_events, 0], log[n_events, 1] = t, SHEDDED
                n_events += 1
                if stop_when_shed:
                    _end(s, o)
                    return t, n_events
        _end(s, o)
    return forcing.end_s[-1], n_events


@compiled
def _end(s: np.ndarray, o: np.ndarray) -> None:
    o[END_CABIN], o[END_CONTENTS], o[END_RATIO] = s[CABIN], s[CONTENTS], s[RATIO]
    o[END_SOC], o[END_V] = s[SOC], s[BANK_V]


@compiled
def _piece(
    f: Piece,
    h: House,
    cooling: CoolerMap,
    b: BankNumbers,
    s: np.ndarray,
    o: np.ndarray,
    mode: int,
    outdoor: float,
    limit: float,
) -> tuple[float, Modes, float, float, bool]:
    """One piece: from now to the next event; changes state `s` and books `o`."""
    cabin, contents, ratio = s[CABIN], s[CONTENTS], s[RATIO]
    on, fan = s[ON] > 0.0, s[FAN]
    below, above, wait = levels(f, h, s)
    limit = min(limit, max(wait, 1e-6))
    # the cooler now; while its capacity ramps up, pieces are cut at one and three time constants
    sensible = slope = water = water_slope = power = power_slope = supply = 0.0
    fade = 0.0
    if on:
        since = s[SINCE_START]
        if since < 3.0 * h.ramp_s - 1e-9:
            limit = min(limit, h.ramp_s - since if since < h.ramp_s - 1e-9 else 3.0 * h.ramp_s - since)
        middle = outdoor + 0.5 * f.outdoor_k_s * limit
        sensible, slope, water, water_slope, power, power_slope, supply = running(cooling, mode, middle, cabin, ratio)
        fade = math.exp(-since / h.ramp_s)
        reached = 1.0 - math.exp(-(since + 0.5 * limit) / h.ramp_s)
        slope *= reached
        water_slope *= reached
    # heat flows at this moment
    bodies, bodies_slope = body_heat(f, cabin)
    pull_w = pull_slope = 0.0
    if f.vehicle > 0:
        pull_w, pull_slope, lower, upper = vehicle_heat(h, cabin)
        below, above = max(below, lower), min(above, upper)
    through = f.ua_w_k + f.air_w_k + fan * f.fan_w_k
    bank_c = bank_temperature(h, s, outdoor)
    demand = f.loads_w + fan * h.fan_w + power
    if f.cooling != COOLING_OFF and s[SHED] == 0.0:
        demand += h.standby_w
    offered = f.solar_w + f.shore_w + f.alternator_a * s[BANK_V]
    warm = 0.0
    if h.bank_inside:
        current = current_for_power(ocv_at(b, s[SOC]), resistance_ohm(b, bank_c), min(offered - demand, 0.0))
        warm = resistance_ohm(b, bank_c) * current * current
    exchange = h.coupling_w_k * (contents - cabin)
    into_air = (through * (outdoor - cabin) + f.excess_w + exchange + bodies + f.equipment_w + f.sun_air_w) - (
        sensible + pull_w
    )
    into_contents = f.sun_contents_w + warm - exchange
    loss = through + bodies_slope + slope + pull_slope
    if pull_slope > 0.0:
        falling = into_air + sensible * fade < 0.0
        if (below > -TOUCH_K and falling) or (above < TOUCH_K and not falling):
            loss -= pull_slope  # touching the end of the proportional band, and leaving it
            pull_slope = 0.0
        below, above = min(below, -TOUCH_K), max(above, TOUCH_K)
    solution = modes(
        loss,
        h.coupling_w_k,
        h.air_j_k,
        h.contents_j_k,
        into_air,
        into_contents,
        through * f.outdoor_k_s,
        sensible * fade,
        h.ramp_s,
    )
    span = max(first_crossing(solution, below, above, limit), 1e-6)
    # the bank, which may cut the piece short at its reserve
    shed = False
    mean_power = power
    soc, amps, volts = s[SOC], 0.0, s[BANK_V]
    joules = heat = lost = 0.0
    for attempt in range(3):
        air_ks, contents_ks = integral(solution, span)
        mean_power = power + power_slope * air_ks / span if on else 0.0
        net = offered - (demand - power + mean_power)
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
        shed = True
        if s[SOC] - reserve <= 1e-12 or s[SOC] - soc <= 0.0:
            span = 1e-6
        else:
            span = max(span * (s[SOC] - reserve) / (s[SOC] - soc), 1e-6)
    # commit, and keep the books
    air_ks, contents_ks = integral(solution, span)
    rise, contents_rise = deviation(solution, span)
    o[CABIN_KS] += cabin * span + air_ks
    o[CONTENTS_KS] += contents * span + contents_ks
    outdoor_ks = outdoor * span + 0.5 * f.outdoor_k_s * span * span
    difference = outdoor_ks - cabin * span - air_ks
    o[ENVELOPE_J] += f.ua_w_k * difference + f.excess_w * span
    o[AIR_J] += (f.air_w_k + fan * f.fan_w_k) * difference
    bodies_j = bodies * span - bodies_slope * air_ks
    o[PEOPLE_J] += bodies_j
    o[VEHICLE_J] += pull_w * span + pull_slope * air_ks
    o[BANK_WARM_J] += warm * span
    s[CABIN], s[CONTENTS] = cabin + rise, contents + contents_rise
    if on:
        gone = h.ramp_s * fade * (1.0 - math.exp(-span / h.ramp_s))
        o[STEADY_J] += sensible * span + slope * air_ks
        o[SENSIBLE_J] += sensible * (span - gone) + slope * air_ks
        o[ON_S] += span
        o[SUPPLY_KS] += supply * span
        if mode == BOOST:
            o[BOOST_S] += span
    _moisture(f, h, s, o, ratio, bodies_j, water, water_slope, fade, fan, span)
    cooler_w = demand - power - f.loads_w - fan * h.fan_w + mean_power
    o[COOLER_J] += cooler_w * span
    _electricity(f, s, o, demand - power + mean_power - cooler_w, cooler_w, joules, span)
    o[BANK_J] += joules
    o[BANK_AS] += amps * span
    o[BANK_HEAT_J] += heat
    o[BANK_LOST_J] += lost
    o[FAN_S] += fan * span
    if s[SHED] > 0.0:
        o[SHED_S] += span
    o[OVER_S] += _time_above(cabin - h.limit_c, s[CABIN] - h.limit_c, span)
    o[CABIN_MAX] = max(o[CABIN_MAX], s[CABIN])
    s[SOC], s[BANK_V] = soc, volts
    s[SINCE_SWITCH] += span
    s[SINCE_START] += span
    return span, solution, cooler_w, joules / span, shed


@compiled
def _time_above(first: float, last: float, span: float) -> float:
    """Part of a span during which a straight line from `first` to `last` is positive."""
    if first <= 0.0 and last <= 0.0:
        return 0.0
    if first > 0.0 and last > 0.0:
        return span
    return span * max(first, last) / abs(last - first)


@compiled
def _moisture(
    f: Piece,
    h: House,
    s: np.ndarray,
    o: np.ndarray,
    ratio: float,
    bodies_j: float,
    water: float,
    water_slope: float,
    fade: float,
    fan: float,
    span: float,
) -> None:
    """Humidity over a piece: bodies, air exchange and coil, one node, closed form; what the air cannot hold runs down
    the walls.
    """
    vapour = ((f.people_w + f.dogs_w) * span - bodies_j) / LATENT_J_KG
    flow = f.air_kg_s + fan * f.fan_kg_s
    value = -(flow + water_slope) / h.moisture_kg
    p = (vapour / span + flow * (f.outdoor_ratio - ratio) - water) / h.moisture_kg
    g = water * fade / h.moisture_kg
    one, two, _ = phi(value * span)
    gone = math.exp(-span / h.ramp_s)
    rise = p * span * one
    area = p * span * span * two
    if g > 0.0:
        against = value + 1.0 / h.ramp_s
        rise += g * (1.0 + value * span * one - gone) / against
        area += g * (span * one - h.ramp_s * (1.0 - gone)) / against
    condensed = water * (span - h.ramp_s * fade * (1.0 - gone)) + water_slope * area
    o[VAPOUR_KG] += vapour
    o[AIR_KG] += flow * ((f.outdoor_ratio - ratio) * span - area)
    o[WATER_KG] += condensed
    o[RATIO_S] += ratio * span + area
    full = saturation_ratio(s[CABIN], h.pressure_pa)
    s[RATIO] = ratio + rise
    if s[RATIO] > full:
        o[WALL_KG] += (s[RATIO] - full) * h.moisture_kg
        s[RATIO] = full


@compiled
def _electricity(
    f: Piece, s: np.ndarray, o: np.ndarray, other_w: float, cooler_w: float, bank_j: float, span: float
) -> None:
    """Who supplied: sun first, then shore, then the alternator; what nobody could give is unserved."""
    needed = (other_w + cooler_w) * span + bank_j
    sun = min(f.solar_w * span, max(needed, 0.0))
    shore = min(f.shore_w * span, max(needed - sun, 0.0))
    engine = min(f.alternator_a * s[BANK_V] * span, max(needed - sun - shore, 0.0))
    o[SOLAR_J] += sun
    o[SHORE_J] += shore
    o[ALTERNATOR_J] += engine
    o[UNSERVED_J] += max(needed - sun - shore - engine, 0.0)
    o[LOADS_J] += other_w * span


@compiled
def _sample(
    f: Piece,
    s: np.ndarray,
    before: tuple[float, float, float, float],
    solution: Modes,
    span: float,
    after: float,
    outdoor: float,
    row: np.ndarray,
) -> None:
    """The fine picture at one moment within a piece."""
    rise, contents_rise = deviation(solution, after)
    share = after / span
    row[S_OUTDOOR] = outdoor + f.outdoor_k_s * after
    row[S_CABIN], row[S_CONTENTS] = before[0] + rise, before[1] + contents_rise
    row[S_RATIO] = before[2] + (s[RATIO] - before[2]) * share
    row[S_SOC] = before[3] + (s[SOC] - before[3]) * share
    row[S_ON], row[S_BANK_V] = s[ON], s[BANK_V]
    row[S_LOADS_W] = f.loads_w
