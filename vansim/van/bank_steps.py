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

    `curve` (4, n) over the breaks of the OCV curve: state of charge; OCV [V]; integral of OCV over soc from empty [V];
    charge stored over charge put in, within the piece that begins there. `climate` (4, m) over bank temperature [°C]:
    factors on resistance, on usable capacity and on allowed charging.
    """

    curve: np.ndarray
    climate: np.ndarray
    capacity_as: float
    r_cell_ohm: float
    r_fixed_ohm: float
    peukert: float
    rated_a: float
    absorption_v: float
    cutoff_v: float
    charge_max_a: float
    charge_from_c: float
    charge_to_c: float
    acceptance_per_s: float
    reserve_soc: float
    reconnect_soc: float


BREAK, OCV, ENERGY, EFFICIENCY = range(4)
"""Rows of `BankParameters.curve`."""
TEMPERATURE, RESISTANCE, CAPACITY, CHARGING = range(4)
"""Rows of `BankParameters.climate`."""


class BankStep(NamedTuple):
    """What a time under constant power did.

    State of charge at the end; mean current [A], positive into the bank; mean terminal voltage [V]; energy exchanged at
    the terminals [J], not negative; heat in the resistance [J]; energy of charge that was not stored, or that rate and
    cold withheld [J].
    """

    soc: float
    current_a: float
    terminal_v: float
    energy_j: float
    heat_j: float
    lost_j: float


class _Offer(NamedTuple):
    """Power offered for a time, and what limits it: resistance [Ohm], charge limit [A]."""

    power_w: float
    resistance: float
    limit_a: float
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
def soc_at_ocv(b: BankParameters, ocv_v: float) -> float:
    """State of charge at which the rested bank shows a voltage; 0 or 1 beyond the curve."""
    c = b.curve
    if ocv_v <= c[OCV, 0]:
        return 0.0
    for i in range(c.shape[1] - 1):
        if ocv_v < c[OCV, i + 1]:
            return float(
                c[BREAK, i] + (ocv_v - c[OCV, i]) / (c[OCV, i + 1] - c[OCV, i]) * (c[BREAK, i + 1] - c[BREAK, i])
            )
    return 1.0


@compiled
def at_temperature(b: BankParameters, what: int, temp_c: float) -> float:
    """Factor on resistance, capacity or charging at a temperature; the table is even and held at its ends."""
    c = b.climate
    first, second = c[TEMPERATURE, 0], c[TEMPERATURE, 1]
    place = min(max((temp_c - first) / (second - first), 0.0), c.shape[1] - 1.0)
    i = min(int(place), c.shape[1] - 2)
    return float(c[what, i] + (c[what, i + 1] - c[what, i]) * (place - i))


@compiled
def resistance_ohm(b: BankParameters, temp_c: float) -> float:
    """Resistance between the open-circuit voltage and the busbar [Ohm]."""
    return b.r_cell_ohm * at_temperature(b, RESISTANCE, temp_c) + b.r_fixed_ohm


@compiled
def charge_limit_a(b: BankParameters, temp_c: float) -> float:
    """Largest charging current at a temperature [A]; none outside the window, for lithium below 0 °C."""
    if not b.charge_from_c <= temp_c <= b.charge_to_c:
        return 0.0
    return b.charge_max_a * at_temperature(b, CHARGING, temp_c)


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
def rate_factor(b: BankParameters, current_a: float) -> float:
    """Charge that leaves the count per ampere-second drawn, for its rate: Peukert above the rated current.

    t = H (C / (I H))^k, so the count falls (I / I_rated)^(k-1) times faster; below the rated current that would be a
    credit, which is not given.
    """
    if b.peukert <= 1.0 or current_a <= b.rated_a:
        return 1.0
    return float((current_a / b.rated_a) ** (b.peukert - 1.0))


@compiled
def stop_soc(b: BankParameters, power_w: float, temp_c: float) -> float:
    """State of charge at which the cooler must stop under a draw [W]: the reserve, or where the terminals sag to the
    cut-off voltage, whichever comes first.
    """
    sagging = b.cutoff_v + resistance_ohm(b, temp_c) * power_w / b.cutoff_v
    return max(b.reserve_soc, soc_at_ocv(b, sagging))


@compiled
def heat_loss_w(b: BankParameters, soc: float, power_w: float, temp_c: float) -> float:
    """Heat that the bank gives off at this moment [W]: its resistance, and charge offered that is not stored.

    Charge that a high rate or cold withholds on discharge is not heat; it stays in the bank, out of reach.

    Parameters
    ----------
    b : BankParameters
        The bank.
    soc, temp_c : float
        Its state [°C].
    power_w : float
        Power offered to it, or drawn where negative [W]; it takes what its limits allow.

    Returns
    -------
    float
        [W].
    """
    ocv, resistance = ocv_at(b, soc), resistance_ohm(b, temp_c)
    current = current_for_power(ocv, resistance, power_w)
    unused = 0.0
    if power_w > 0.0:
        most = min(charge_limit_a(b, temp_c), b.acceptance_per_s * (1.0 - soc) * b.capacity_as)
        current = max(min(current, most, (b.absorption_v - ocv) / resistance), 0.0)
        unused = 1.0 - b.curve[EFFICIENCY, piece_of(b, soc)] if soc < 1.0 else 0.0
    return resistance * current * current + unused * ocv * current


# --- steps ----------------------------------------------------------------------------------------


@compiled
def discharge(b: BankParameters, soc: float, power_w: float, temp_c: float, span_s: float) -> BankStep:
    """Draw a constant power for a time.

    Parameters
    ----------
    b : BankParameters
        The bank.
    soc : float
        State of charge at the start.
    power_w : float
        Power drawn at the busbar [W], not negative.
    temp_c : float
        Bank temperature [°C].
    span_s : float
        Time [s].

    Returns
    -------
    BankStep
        The current is negative. If the bank runs empty within the span, less energy is given.

    Notes
    -----
    The current is the one at the mean open-circuit voltage of the step, found by repetition, so that energy given, heat
    and stored energy agree exactly. A step is minutes long and moves soc by about a hundredth.
    """
    resistance, usable = resistance_ohm(b, temp_c), at_temperature(b, CAPACITY, temp_c)
    i, c = piece_of(b, soc), b.curve
    slope = (c[OCV, i + 1] - c[OCV, i]) / (c[BREAK, i + 1] - c[BREAK, i])
    start = c[OCV, i] + slope * (soc - c[BREAK, i])
    ocv, end, current, factor = start, soc, 0.0, 1.0
    for _ in range(12):
        current = -current_for_power(ocv, resistance, -power_w)
        factor = rate_factor(b, current) / usable
        last, end = end, max(soc - current * factor * span_s / b.capacity_as, 0.0)
        if end >= c[BREAK, i]:
            ocv = start - 0.5 * slope * (soc - end)
        else:
            ocv = (energy_at(b, soc) - energy_at(b, end)) / (soc - end)
        if abs(end - last) < 1e-10:  # the next change would be a thousand times smaller
            break
    charge = (soc - end) * b.capacity_as / factor
    current = charge / span_s
    stored = ocv * (soc - end) * b.capacity_as
    heat = resistance * current * current * span_s
    lost = stored * (1.0 - 1.0 / factor)
    given = stored - lost - heat
    return BankStep(
        soc=end,
        current_a=-current,
        terminal_v=ocv - resistance * current,
        energy_j=given,
        heat_j=heat,
        lost_j=lost,
    )


@compiled
def charge(b: BankParameters, soc: float, power_w: float, temp_c: float, span_s: float) -> BankStep:
    """Offer a constant power for a time; the bank takes what its limits allow.

    Parameters
    ----------
    b, soc, temp_c, span_s
        As for `discharge`.
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
    resistance = resistance_ohm(b, temp_c)
    limit = charge_limit_a(b, temp_c)
    left = span_s
    taken = heat = lost = passed = 0.0
    for _ in range(400):
        if left <= 0.0 or soc >= 1.0 or limit <= 0.0 or power_w <= 1e-9:
            break
        offer = _Offer(power_w=power_w, resistance=resistance, limit_a=limit, span_s=left)
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
    power_w, resistance, limit_a, span_s = offer
    top, stored = c[BREAK, i + 1], c[EFFICIENCY, i]
    slope = (c[OCV, i + 1] - c[OCV, i]) / (top - c[BREAK, i])
    ocv = c[OCV, i] + slope * (soc - c[BREAK, i])
    per_charge = stored / b.capacity_as
    constant = min(current_for_power(ocv, resistance, power_w), limit_a)
    by_voltage = (b.absorption_v - ocv) / resistance
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
        heat = max(min(b.absorption_v * dq, power_w * used) - mean * dq, heat)
    return _Charged(
        soc=end,
        used_s=used,
        charge_as=dq,
        energy_j=mean * dq + heat,
        heat_j=heat,
        lost_j=(1.0 - stored) * mean * dq,
    )
