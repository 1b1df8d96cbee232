"""Electricity over a step: busbar, bank, the cooler's feed, and the limits that stop the cooler.

The limits, in the order in which they are asked: the bank's reserve and what can be reached of its charge; its
low-voltage disconnect, at the batteries; the batteries' own current limit; the cooler's low-voltage cut, at the end of
its feed. Loads that run for a share of their time count with their mean for energy, and all at once for these.
"""

from __future__ import annotations

from typing import NamedTuple

from vansim.boundary.forcing import COOLING_OFF
from vansim.jit import compiled
from vansim.march.flows import LEAST_S, Flows, Moment
from vansim.march.network import Advance, TwoNodeSolution, advance
from vansim.march.records import (
    AT_BANK_VOLTAGE,
    AT_BATTERY_CURRENT,
    AT_COOLER_VOLTAGE,
    AT_RESERVE,
    NO_LIMIT,
    Records,
    VanParameters,
)
from vansim.van.bank_steps import (
    BankStep,
    bound_after,
    cells_ohm,
    charge,
    current_for_power,
    discharge,
    floor_soc,
    ocv_at,
)

HALVINGS = 40
"""Of a step, to find when a limit is reached: to less than a microsecond of five minutes."""

FAR = 0.85
"""Share of the voltage that must be left for no limit to be near; only spares work."""


class BankCourse(NamedTuple):
    """Cabin and bank over a step: what they did; power offered less used, of everything else, of the cooler at the
    busbar, and what its feed loses of it [W]; length [s], and the limit at its end.
    """

    cabin: Advance
    step: BankStep
    net_w: float
    other_w: float
    power_w: float
    feed_w: float
    span_s: float
    limit: int


class Draw(NamedTuple):
    """What draws on the busbar at its highest less what is offered, and the cooler at its terminals [W]."""

    other_w: float
    cooler_w: float


@compiled
def fed_w(van: VanParameters, ocv: float, resistance: float, net_w: float, power_w: float) -> float:
    """Power drawn from the busbar for a cooler that takes `power_w` at the end of its feed [W].

    Busbar and cooler hang together: V = OCV + R I(net - drawn), drawn = V i, i the current at which V less the drop in
    the feed gives the power. Each repetition is right to a few hundredths of the last.
    """
    feed = van.electrical.feed_ohm
    if power_w <= 0.0 or feed <= 0.0:
        return power_w
    volts, drawn = ocv, power_w
    for _ in range(6):
        before, drawn = drawn, -volts * current_for_power(volts, feed, -power_w)
        if abs(drawn - before) < 1e-6 * power_w:
            break
        volts = min(ocv + resistance * current_for_power(ocv, resistance, net_w - drawn), van.bank.absorption_v)
        volts = max(volts, 0.1 * ocv)
    return drawn


@compiled
def limit_at(van: VanParameters, soc: float, bound: float, temp_c: float, draw: Draw) -> int:
    """Which limit the bank stands at under a draw; 0 where none.

    Parameters
    ----------
    van : VanParameters
        Bank, feed and low-voltage cut.
    soc, bound, temp_c : float
        State of the bank: charge, charge out of reach for its rate, temperature [°C].
    draw : Draw
        What draws on it.

    Returns
    -------
    int
        The first of `LIMIT_NAMES` that is reached.
    """
    b, e = van.bank, van.electrical
    if soc <= max(b.reserve_soc, floor_soc(b, bound, temp_c)):
        return AT_RESERVE
    ocv, cells = ocv_at(b, soc), cells_ohm(b, soc, bound, temp_c)
    resistance = cells + b.r_fixed_ohm
    # far from every limit nothing has to be solved: a busbar above FAR of the rest voltage, a feed that loses less than
    # the rest of that, hence no more current than this
    most_feed_a = draw.cooler_w / (FAR * FAR * ocv)
    most_a = max(draw.other_w, 0.0) / (FAR * ocv) + most_feed_a
    least_v = ocv - resistance * most_a
    at_cooler_v = least_v - e.feed_ohm * most_feed_a
    if (
        least_v > FAR * ocv
        and at_cooler_v > max(FAR * least_v, e.cooler_off_v)
        and ocv - cells * most_a > b.cutoff_v
        and most_a <= b.discharge_max_a
    ):
        return NO_LIMIT
    drawn = fed_w(van, ocv, resistance, -draw.other_w, draw.cooler_w)
    total = draw.other_w + drawn
    if total <= 0.0:
        return NO_LIMIT
    amps = -current_for_power(ocv, resistance, -total)
    if ocv - cells * amps <= b.cutoff_v or 4.0 * resistance * total >= ocv * ocv:
        return AT_BANK_VOLTAGE
    if amps > b.discharge_max_a:
        return AT_BATTERY_CURRENT
    busbar_v = ocv - resistance * amps
    if busbar_v - e.feed_ohm * drawn / busbar_v <= e.cooler_off_v:
        return AT_COOLER_VOLTAGE
    return NO_LIMIT


@compiled
def first_limit(now: Moment, s: Records, step: BankStep, draw: Draw, temp_c: float, span: float) -> tuple[int, float]:
    """The limit that a step reaches, 0 where none, and after which share of its time; charge falls straight in it."""
    van, drawn_a = now.van, -step.current_a
    fall = s.soc - step.soc
    found = limit_at(van, step.soc, bound_after(van.bank, s.bound, drawn_a, span), temp_c, draw)
    if found == NO_LIMIT:
        return found, 1.0
    at_once = limit_at(van, s.soc, s.bound, temp_c, draw)
    if at_once != NO_LIMIT:
        return at_once, 0.0
    low, high = 0.0, 1.0
    for _ in range(HALVINGS):
        middle = 0.5 * (low + high)
        bound = bound_after(van.bank, s.bound, drawn_a, middle * span)
        there = limit_at(van, s.soc - middle * fall, bound, temp_c, draw)
        if there == NO_LIMIT:
            low = middle
        else:
            high, found = middle, there
    return found, high


@compiled
def bank_until(
    now: Moment, s: Records, n: Flows, by_ratio_w_s: float, solution: TwoNodeSolution, span: float
) -> BankCourse:
    """The bank over a step, cut short at a limit of the cooler; `by_ratio_w_s`: rise of its power by humidity [W/s]."""
    b, f, van = now.van.bank, now.interval, now.van
    bank_c = s.contents_c if van.cabin.bank_inside else now.outdoor_c
    limit = NO_LIMIT
    power = drawn = net = other = 0.0
    moved = advance(solution, span)
    for attempt in range(3):
        other = n.other_w + n.fridge_slope * moved.air_ks / span
        if s.on > 0.0:
            power = n.cooler.power_w + 0.5 * by_ratio_w_s * span + n.cooler.power_per_k * moved.air_ks / span
            ocv, resistance = ocv_at(b, s.soc), cells_ohm(b, s.soc, s.bound, bank_c) + b.r_fixed_ohm
            drawn = fed_w(van, ocv, resistance, n.offered_w - other, power)
        net = n.offered_w - other - drawn
        if net >= 0.0:
            step = charge(b, s.soc, power_w=net, temp_c=bank_c, span_s=span)
            break
        step = discharge(b, s.soc, bound=s.bound, power_w=-net, temp_c=bank_c, span_s=span)
        if f.cooling == COOLING_OFF or s.disconnected > 0.0 or attempt == 2:
            break
        draw = Draw(other_w=other + n.peak_w - n.offered_w, cooler_w=power)
        found, share = first_limit(now, s, step, draw, temp_c=bank_c, span=span)
        if found == NO_LIMIT:
            break
        # cut the step there and look again
        limit = found
        span = max(span * share, LEAST_S)
        moved = advance(solution, span)
    return BankCourse(
        cabin=moved, step=step, net_w=net, other_w=other, power_w=drawn, feed_w=drawn - power, span_s=span, limit=limit
    )


@compiled
def book_power(now: Moment, s: Records, totals: Records, n: Flows, bank: BankCourse) -> None:
    """Who supplied: sun first, then shore, then the alternator; what nobody could give is unserved.

    Beside the busbar stands the pedestal: what the charger takes, and mains loads that it feeds straight.
    """
    f, e, span = now.interval, now.van.electrical, bank.span_s
    bank_j = bank.step.energy_j if bank.net_w >= 0.0 else -bank.step.energy_j
    needed = (bank.other_w + bank.power_w) * span + bank_j
    sun = min(n.solar_w * span, max(needed, 0.0))
    shore = min(f.shore_w * span, max(needed - sun, 0.0))
    engine = min(f.alternator_a * s.bank_v * span, max(needed - sun - shore, 0.0))
    loss = shore * (1.0 / e.charger_efficiency - 1.0)
    totals.solar_j += sun
    totals.shore_j += shore
    totals.charger_loss_j += loss
    totals.pedestal_j += shore + loss + f.shore_ac_w * span
    totals.alternator_j += engine
    totals.unserved_j += max(needed - sun - shore - engine, 0.0) + n.refused_w * span
    totals.loads_j += (bank.other_w - n.standby_w + n.refused_w) * span
    totals.cooler_j += (bank.power_w + n.standby_w) * span
    totals.feed_j += bank.feed_w * span
    totals.equipment_j += n.equipment_w * span + n.fridge_slope * n.fridge_heat * bank.cabin.air_ks


@compiled
def book_bank(now: Moment, s: Records, totals: Records, n: Flows, bank: BankCourse) -> None:
    """What the bank took or gave, and its state at the end."""
    step, span = bank.step, bank.span_s
    charging = bank.net_w >= 0.0
    totals.bank_j += step.energy_j if charging else -step.energy_j
    totals.bank_as += step.current_a * span
    totals.bank_heat_j += step.heat_j
    totals.bank_lost_j += step.lost_j
    if now.van.cabin.bank_inside:
        s.bank_heat_due_j += step.heat_j + step.lost_j - n.bank_heat_w * span
    s.bound = bound_after(now.van.bank, s.bound, max(-step.current_a, 0.0), span)
    s.soc, s.bank_v = step.soc, step.terminal_v
    s.since_cut_s += span


@compiled
def switch_inverter(now_loads_w: float, van: VanParameters, s: Records, bank_c: float) -> None:
    """Shut the inverter off at low voltage with all loads running at once, or bring it back; read where a step starts.

    `now_loads_w`: how far the loads rise above their mean [W]. The voltage is that of the step before.
    """
    e = van.electrical
    if s.inverter_off > 0.0:
        if s.bank_v >= e.inverter_on_v:
            s.inverter_off = 0.0
        return
    resistance = cells_ohm(van.bank, s.soc, s.bound, bank_c) + van.bank.r_fixed_ohm
    sag = resistance * now_loads_w / max(s.bank_v, 1.0)
    if s.bank_v - sag <= e.inverter_off_v:
        s.inverter_off = 1.0
