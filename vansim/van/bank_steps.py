"""A bank from moment to moment: voltage, current, and what a stretch of time does to its charge.

Under load the terminals stand at V = OCV(soc) + I R (I positive when charging), so a power draw solves a quadratic.
One step of constant power, or of an absorption that tapers by itself, is closed-form in each straight piece of the OCV
curve, and its energy, heat and stored charge agree exactly.
"""

from __future__ import annotations

import math
from typing import NamedTuple

import numpy as np

from vansim.jit import compiled


class BankParameters(NamedTuple):
    """A bank as plain numbers.

    `curve` (6, n) over the breaks of the OCV curve: state of charge; OCV [V]; integral of OCV over soc from empty [V];
    charge stored over charge put in, within the piece that begins there; factor on resistance when drawn from, and when
    charged. `climate` (4, m) over bank temperature [°C]: factors on resistance, on usable capacity and on allowed
    charging. `absorption_v` holds at 25 °C and changes by `compensation_v_k`.

    `bound_share`, `bound_spare` and `recovery_per_s` are the two wells of charge (`bound_after`); `knee_v` is the
    voltage at which a discharge at a rate ends.
    """

    curve: np.ndarray
    climate: np.ndarray
    capacity_as: float
    r_cell_ohm: float
    r_fixed_ohm: float
    bound_share: float
    bound_spare: float
    recovery_per_s: float
    rated_a: float
    knee_v: float
    absorption_v: float
    compensation_v_k: float
    cutoff_v: float
    charge_max_a: float
    discharge_max_a: float
    charge_from_c: float
    charge_to_c: float
    acceptance_per_s: float
    reserve_soc: float
    reconnect_soc: float


BREAK, OCV, ENERGY, EFFICIENCY, DRAWN, CHARGED = range(6)
"""Rows of `BankParameters.curve`."""
TEMPERATURE, RESISTANCE, CAPACITY, CHARGING = range(4)
"""Rows of `BankParameters.climate`."""
COMPENSATION_ABOUT_C = 25.0
"""Bank temperature for which absorption voltages are stated [°C]."""
KNEE_SHARE = 0.05
"""Share of what can be reached over which the last voltage falls, by a factor e (assumed)."""


class BankStep(NamedTuple):
    """What a time under constant power did.

    State of charge at the end; mean current [A], positive into the bank; mean terminal voltage [V]; energy exchanged at
    the terminals [J], not negative; heat in the resistance [J]; energy of charge that was not stored [J].
    """

    soc: float
    current_a: float
    terminal_v: float
    energy_j: float
    heat_j: float
    lost_j: float


class _Offer(NamedTuple):
    """Power offered for a time, and what limits it: temperature [°C], charge limit [A], absorption voltage [V]."""

    power_w: float
    temp_c: float
    limit_a: float
    absorption_v: float
    span_s: float


class _Charged(NamedTuple):
    """What charging within one straight piece of the OCV curve did, and the time and charge that it took."""

    soc: float
    used_s: float
    charge_as: float
    energy_j: float
    heat_j: float
    lost_j: float


# --- curves at a state ----------------------------------------------------------------------------


@compiled
def piece_of(b: BankParameters, soc: float) -> int:
    """Index of the straight piece of the OCV curve that holds `soc`; a break belongs to the piece above it."""
    low, high = 0, b.curve.shape[1] - 1
    while high - low > 1:
        mid = (low + high) // 2
        if b.curve[BREAK, mid] <= soc:
            low = mid
        else:
            high = mid
    return low


@compiled
def ocv_at(b: BankParameters, soc: float) -> float:
    """Open-circuit voltage [V]."""
    i, c = piece_of(b, soc), b.curve
    return float(c[OCV, i] + (c[OCV, i + 1] - c[OCV, i]) / (c[BREAK, i + 1] - c[BREAK, i]) * (soc - c[BREAK, i]))


@compiled
def energy_at(b: BankParameters, soc: float) -> float:
    """Integral of OCV from empty to `soc`, per unit of capacity [V]; times capacity in A s it is the energy in J."""
    i, c = piece_of(b, soc), b.curve
    here = c[OCV, i] + (c[OCV, i + 1] - c[OCV, i]) / (c[BREAK, i + 1] - c[BREAK, i]) * (soc - c[BREAK, i])
    return float(c[ENERGY, i] + 0.5 * (c[OCV, i] + here) * (soc - c[BREAK, i]))


@compiled
def at_temperature(b: BankParameters, what: int, temp_c: float) -> float:
    """Factor on resistance, capacity or charging at a temperature; the table is even and held at its ends."""
    c = b.climate
    first, second = c[TEMPERATURE, 0], c[TEMPERATURE, 1]
    place = min(max((temp_c - first) / (second - first), 0.0), c.shape[1] - 1.0)
    i = min(int(place), c.shape[1] - 2)
    return float(c[what, i] + (c[what, i + 1] - c[what, i]) * (place - i))


@compiled
def along(b: BankParameters, what: int, soc: float) -> float:
    """A row of the curve at a state of charge, straight between the breaks."""
    i, c = piece_of(b, soc), b.curve
    return float(c[what, i] + (c[what, i + 1] - c[what, i]) / (c[BREAK, i + 1] - c[BREAK, i]) * (soc - c[BREAK, i]))


@compiled
def cells_ohm(b: BankParameters, soc: float, bound: float, temp_c: float) -> float:
    """Resistance of the cells under a draw [Ohm]; it rises until terminals stand at `knee_v` under the mean current,
    where a capacity at a rate ends (1.75 V per lead-acid cell, IEC 60896-21); how is assumed (`KNEE_SHARE`).
    """
    at_rest = b.r_cell_ohm * at_temperature(b, RESISTANCE, temp_c)
    if b.bound_share <= 0.0:
        return at_rest * along(b, DRAWN, soc)
    floor = floor_soc(b, bound, temp_c)
    reach = min(max((soc - floor) / max(1.0 - floor, 1e-9), 0.0), 1.0)
    plain = at_rest * along(b, DRAWN, reach)
    mean_a = bound * b.recovery_per_s * b.capacity_as / b.bound_share
    last = (ocv_at(b, min(floor, 1.0)) - b.knee_v) / max(mean_a, b.rated_a) - at_rest * b.curve[DRAWN, 0]
    return float(plain + max(last, 0.0) * math.exp(-reach / KNEE_SHARE))


@compiled
def resistance_ohm(b: BankParameters, soc: float, bound: float, temp_c: float) -> float:
    """Resistance between the open-circuit voltage and the busbar under a draw [Ohm]."""
    return cells_ohm(b, soc, bound, temp_c) + b.r_fixed_ohm


@compiled
def charge_resistance_ohm(b: BankParameters, soc: float, temp_c: float) -> float:
    """The same when charged [Ohm], one figure for each piece of the curve."""
    i, c = piece_of(b, soc), b.curve[CHARGED]
    return float(b.r_cell_ohm * at_temperature(b, RESISTANCE, temp_c) * 0.5 * (c[i] + c[i + 1]) + b.r_fixed_ohm)


@compiled
def bound_after(b: BankParameters, bound: float, drawn_a: float, span_s: float) -> float:
    """Charge that is out of reach for the moment, as a share of capacity, after a time at a current drawn.

    Two wells, one at hand (share c of the room) and one behind it, and k the rate at which they level out: what the
    first lacks follows the mean of the current over the time 1/k, and comes back at rest (Manwell & McGowan 1993, Solar
    Energy 50:399). `bound_share` is (1 - c)/c, `recovery_per_s` k. Charging levels them no faster (assumed).
    """
    if b.bound_share <= 0.0:
        return 0.0
    fade = math.exp(-b.recovery_per_s * span_s)
    return bound * fade + b.bound_share * drawn_a / b.capacity_as * (1.0 - fade) / b.recovery_per_s


@compiled
def floor_soc(b: BankParameters, bound: float, temp_c: float) -> float:
    """What cold and rate put out of reach for now; `bound_spare`: what both wells hold beyond the rated capacity."""
    return 1.0 - at_temperature(b, CAPACITY, temp_c) * (1.0 - min(max(bound - b.bound_spare, 0.0), 1.0))


@compiled
def charge_limit_a(b: BankParameters, temp_c: float) -> float:
    """Largest charging current at a temperature [A]; none outside the window, for lithium below 0 °C."""
    if not b.charge_from_c <= temp_c <= b.charge_to_c:
        return 0.0
    return b.charge_max_a * at_temperature(b, CHARGING, temp_c)


@compiled
def absorption_v(b: BankParameters, temp_c: float) -> float:
    """Voltage at which charging is held [V]; lead-acid's falls as it warms (-3 mV a cell and kelvin about 25 °C)."""
    return float(b.absorption_v + b.compensation_v_k * (temp_c - COMPENSATION_ABOUT_C))


@compiled
def current_for_power(ocv_v: float, resistance: float, power_w: float) -> float:
    """Current [A] at which the terminals exchange a power [W] (+ charging): root of R I² + OCV I - P = 0.

    A draw beyond OCV²/4R cannot be met; the current at that summit is returned.
    """
    square = ocv_v * ocv_v + 4.0 * resistance * power_w
    if square <= 0.0:
        return -0.5 * ocv_v / resistance
    return 2.0 * power_w / (ocv_v + math.sqrt(square))


@compiled
def heat_loss_w(b: BankParameters, soc: float, bound: float, power_w: float, temp_c: float) -> float:
    """Heat that the bank gives off at this moment [W]: its resistance, and charge offered that is not stored.

    Parameters
    ----------
    b : BankParameters
        The bank.
    soc, bound, temp_c : float
        Its state [°C].
    power_w : float
        Power offered to it, or drawn where negative [W]; it takes what its limits allow.

    Returns
    -------
    float
        [W].
    """
    ocv = ocv_at(b, soc)
    if power_w <= 0.0:
        resistance = resistance_ohm(b, soc, bound, temp_c)
        drawn = current_for_power(ocv, resistance, power_w) if soc > floor_soc(b, bound, temp_c) else 0.0
        return resistance * drawn * drawn
    resistance = charge_resistance_ohm(b, soc, temp_c)
    most = min(charge_limit_a(b, temp_c), b.acceptance_per_s * (1.0 - soc) * b.capacity_as)
    by_voltage = (absorption_v(b, temp_c) - ocv) / resistance
    current = max(min(current_for_power(ocv, resistance, power_w), most, by_voltage), 0.0)
    unused = 1.0 - b.curve[EFFICIENCY, piece_of(b, soc)] if soc < 1.0 else 0.0
    return resistance * current * current + unused * ocv * current


# --- steps ----------------------------------------------------------------------------------------


@compiled
def discharge(b: BankParameters, soc: float, bound: float, power_w: float, temp_c: float, span_s: float) -> BankStep:
    """Draw a constant power for a time.

    Parameters
    ----------
    b : BankParameters
        The bank.
    soc, bound : float
        State of charge at the start, and charge out of reach for its rate (`bound_after`).
    power_w : float
        Power drawn at the busbar [W], not negative.
    temp_c : float
        Bank temperature [°C].
    span_s : float
        Time [s].

    Returns
    -------
    BankStep
        The current is negative. Where nothing more can be reached within the span, less energy is given.

    Notes
    -----
    The current is the one at the mean open-circuit voltage of the step and the resistance half way, found by
    repetition, so that energy given, heat and stored energy agree exactly. A step of minutes moves soc by a hundredth.
    """
    resistance = resistance_ohm(b, soc, bound, temp_c)
    i, c = piece_of(b, soc), b.curve
    slope = (c[OCV, i + 1] - c[OCV, i]) / (c[BREAK, i + 1] - c[BREAK, i])
    start = c[OCV, i] + slope * (soc - c[BREAK, i])
    least = min(max(floor_soc(b, bound, temp_c), 0.0), soc)
    ocv, end = start, soc
    for _ in range(12):
        current = -current_for_power(ocv, resistance, -power_w)
        last, end = end, max(soc - current * span_s / b.capacity_as, least)
        if end >= c[BREAK, i]:
            ocv = start - 0.5 * slope * (soc - end)
        else:
            ocv = (energy_at(b, soc) - energy_at(b, end)) / (soc - end)
        if abs(end - last) < 1e-10:  # the next change would be a thousand times smaller
            break
        if b.bound_share > 0.0 or c[DRAWN, i] != c[DRAWN, i + 1]:
            resistance = resistance_ohm(b, 0.5 * (soc + end), bound, temp_c)
    charge = (soc - end) * b.capacity_as
    current = charge / span_s
    heat = resistance * current * current * span_s
    return BankStep(
        soc=end,
        current_a=-current,
        terminal_v=ocv - resistance * current,
        energy_j=ocv * charge - heat,
        heat_j=heat,
        lost_j=0.0,
    )


@compiled
def charge(b: BankParameters, soc: float, power_w: float, temp_c: float, span_s: float) -> BankStep:
    """Offer a constant power for a time; the bank takes what its limits allow.

    Parameters
    ----------
    b, soc, temp_c, span_s
        As for `discharge`; what is out of reach for its rate does not hinder charging.
    power_w : float
        Power offered at the busbar [W], not negative.

    Returns
    -------
    BankStep
        The current is not negative.

    Notes
    -----
    Within one straight piece of the OCV curve the limit is one of: the offered power or the charge limit (constant
    current at the piece's mean OCV); the absorption voltage or lead-acid's acceptance (current falls exponentially).
    """
    limit = charge_limit_a(b, temp_c)
    left = span_s
    taken = heat = lost = passed = 0.0
    for _ in range(400):
        if left <= 0.0 or soc >= 1.0 or limit <= 0.0 or power_w <= 1e-9:
            break
        offer = _Offer(power_w=power_w, temp_c=temp_c, limit_a=limit, absorption_v=absorption_v(b, temp_c), span_s=left)
        piece = _charge_piece(b, soc, offer)
        soc = piece.soc
        if piece.used_s <= 0.0:
            break
        left -= piece.used_s
        taken += piece.energy_j
        heat += piece.heat_j
        lost += piece.lost_j
        passed += piece.charge_as
    mean_v = taken / passed if passed > 0.0 else ocv_at(b, soc)
    return BankStep(soc=soc, current_a=passed / span_s, terminal_v=mean_v, energy_j=taken, heat_j=heat, lost_j=lost)


@compiled
def _charge_piece(b: BankParameters, soc: float, offer: _Offer) -> _Charged:
    """Charge within one straight piece of the OCV curve, as far as it or the time reaches."""
    i, c = piece_of(b, soc), b.curve
    power_w, temp_c, limit_a, held_v, span_s = offer
    resistance = charge_resistance_ohm(b, soc, temp_c)
    top, stored = c[BREAK, i + 1], c[EFFICIENCY, i]
    slope = (c[OCV, i + 1] - c[OCV, i]) / (top - c[BREAK, i])
    ocv = c[OCV, i] + slope * (soc - c[BREAK, i])
    per_charge = stored / b.capacity_as
    constant = min(current_for_power(ocv, resistance, power_w), limit_a)
    by_voltage = (held_v - ocv) / resistance
    by_chemistry = b.acceptance_per_s * (1.0 - soc) * b.capacity_as
    if constant < min(by_voltage, by_chemistry) * (1.0 - 1e-9):
        # bulk: at most up to where the voltage or the chemistry takes over
        meets_v = soc + (by_voltage - constant) * resistance / slope
        meets_c = 1.0 - constant / (b.acceptance_per_s * b.capacity_as)
        goal = min(top, max(min(meets_v, meets_c), soc))
        end = soc
        for _ in range(8):
            last, end = end, min(soc + constant * per_charge * span_s, goal)
            mean = ocv + 0.5 * slope * (end - soc)
            constant = min(current_for_power(mean, resistance, power_w), limit_a)
            if abs(end - last) < 1e-13:
                break
        if end >= goal - 1e-13:
            end = max(goal, soc + 1e-13)
        used = min((end - soc) / (constant * per_charge), span_s)
        dq = constant * used
        end = min(soc + dq * per_charge, 1.0)
        mean = ocv + 0.5 * slope * (end - soc)
        return _Charged(
            soc=end,
            used_s=used,
            charge_as=dq,
            energy_j=(mean + resistance * constant) * dq,
            heat_j=resistance * constant * dq,
            lost_j=(1.0 - stored) * mean * dq,
        )
    if by_voltage <= 0.0:
        return _Charged(soc=soc, used_s=0.0, charge_as=0.0, energy_j=0.0, heat_j=0.0, lost_j=0.0)
    # absorption: dI/dt = -I/tau, with the voltage held or with the acceptance falling as the bank fills
    if by_voltage <= by_chemistry:
        first, tau = by_voltage, resistance / (slope * per_charge)
    else:
        first, tau = by_chemistry, 1.0 / (stored * b.acceptance_per_s)
    reach = first * per_charge * tau
    used = span_s
    if soc + reach * (1.0 - math.exp(-span_s / tau)) > top:
        used = -tau * math.log1p(-min((top - soc) / reach, 1.0 - 1e-16))
    decayed = 1.0 - math.exp(-used / tau)
    dq = first * tau * decayed
    end = min(soc + dq * per_charge, 1.0)
    if end >= top - 1e-14:
        end = top
    heat = resistance * first * first * 0.5 * tau * (1.0 - math.exp(-2.0 * used / tau))
    mean = ocv + 0.5 * slope * (end - soc)
    if by_chemistry < by_voltage:
        # polarisation lifts the terminals to the absorption voltage, or as far as the offered power carries them
        heat = max(min(held_v * dq, power_w * used) - mean * dq, heat)
    return _Charged(
        soc=end,
        used_s=used,
        charge_as=dq,
        energy_j=mean * dq + heat,
        heat_j=heat,
        lost_j=(1.0 - stored) * mean * dq,
    )
