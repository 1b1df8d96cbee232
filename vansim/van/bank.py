"""The bank: charge, voltage and the energy behind them.

State of charge counts coulombs; energy is the integral of open-circuit voltage over them. Under load the terminals
stand at V = OCV(soc) + I R (I positive when charging), so a power draw solves a quadratic. Both books are kept and must
agree. One step of constant power, or of an absorption that tapers by itself, is closed-form in each straight piece of
the OCV curve.
"""

from __future__ import annotations

import math
from typing import Any, Literal, NamedTuple

import numpy as np
from pydantic import Field

from vansim.compiled import compiled
from vansim.data import table
from vansim.quantities import Fraction, NotNegative, Part, Positive

Chemistry = Literal["lfp", "agm"]


class BankUnit(Part):
    """One battery as it is bought.

    Attributes
    ----------
    chemistry : {"lfp", "agm"}
        Lithium iron phosphate, or absorbent-glass-mat lead-acid.
    nominal_v : int
        12, 24 or 48 V class.
    capacity_ah : float
        Rated capacity [Ah]; for agm at the 20 h rate.
    resistance_mohm : float
        Internal resistance at 25 °C [mOhm]; 0 takes the chemistry's usual value for this size.
    charge_max_a, discharge_max_a : float
        Continuous limits [A]; 0 takes the chemistry's usual share of capacity.
    mass_kg, price : float
        Mass [kg]; price in the library's invented currency.
    """

    name: str = ""
    note: str = ""
    chemistry: Chemistry
    nominal_v: Literal[12, 24, 48] = 12
    capacity_ah: Positive
    resistance_mohm: NotNegative = 0.0
    charge_max_a: NotNegative = 0.0
    discharge_max_a: NotNegative = 0.0
    mass_kg: NotNegative = 0.0
    price: NotNegative = 0.0


class Bank(Part):
    """Units in series and parallel, and how far down they may go.

    Attributes
    ----------
    unit : BankUnit
        The battery.
    series, parallel : int
        Layout.
    start_soc : float
        State of charge when a run begins.
    reserve_soc : float
        The cooler stops here; the rest is for lights, fridge, a start in the morning, and the bank's life.
    reserve_v : float
        The cooler also stops when the terminals sag to this [V at the bank]; 0 takes the chemistry's cut-off.
    reconnect_soc : float
        State of charge above the reserve at which the cooler may start again.
    health : float
        Capacity left, as a fraction of new.
    place : {"cabin", "outside"}
        Whose temperature the bank has.
    cable_mohm : float
        Cables, fuse and switch between bank and busbar [mOhm].
    """

    unit: BankUnit
    series: int = Field(default=1, ge=1, le=16)
    parallel: int = Field(default=1, ge=1, le=64)
    start_soc: Fraction = 1.0
    reserve_soc: Fraction = 0.1
    reserve_v: NotNegative = 0.0
    reconnect_soc: Fraction = 0.05
    health: float = Field(default=1.0, gt=0.3, le=1.0)
    place: Literal["cabin", "outside"] = "cabin"
    cable_mohm: NotNegative = 1.0

    @property
    def nominal_v(self) -> int:
        """Voltage class of the bank [V]."""
        return self.unit.nominal_v * self.series

    @property
    def capacity_ah(self) -> float:
        """Charge when full [Ah], age in."""
        return self.unit.capacity_ah * self.parallel * self.health

    @property
    def units(self) -> int:
        """Number of batteries."""
        return self.series * self.parallel


class BankNumbers(NamedTuple):
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
    discharge_max_a: float
    acceptance_per_s: float
    reserve_soc: float
    reconnect_soc: float


BREAK, OCV, ENERGY, EFFICIENCY = range(4)
TEMPERATURE, RESISTANCE, CAPACITY, CHARGING = range(4)


def bank_numbers(bank: Bank) -> BankNumbers:
    """Series and parallel units as one bank.

    Parameters
    ----------
    bank : Bank
        Layout.

    Returns
    -------
    BankNumbers
        Curves of the chemistry (its table names the sources), scaled to the layout.
    """
    unit = bank.unit
    chemistry = table("chemistries")[unit.chemistry]
    blocks = unit.nominal_v / 12.0 * bank.series
    cells = blocks * (4.0 if unit.chemistry == "lfp" else 1.0)
    curve = chemistry["open-circuit"]
    soc = np.array(curve["soc"], dtype=float)
    ocv = np.array(curve["cell_v" if unit.chemistry == "lfp" else "block_v"], dtype=float) * cells
    if unit.chemistry == "agm":  # charge efficiency bends between the OCV points
        fine = np.union1d(soc, np.linspace(0.0, 1.0, 51))
        soc, ocv = fine, np.interp(fine, soc, ocv)
    energy = np.concatenate([[0.0], np.cumsum(0.5 * (ocv[1:] + ocv[:-1]) * np.diff(soc))])
    temps = np.arange(-30.0, 75.1, 5.0)
    charge = chemistry["charge"]
    level = "cell_v" if unit.chemistry == "lfp" else "block_v"
    capacity = unit.capacity_ah * bank.parallel * bank.health
    return BankNumbers(
        curve=np.array([soc, ocv, energy, np.append(_efficiency(chemistry, unit.chemistry, soc), 1.0)]),
        climate=np.array(
            [
                temps,
                np.interp(temps, *_curve(chemistry["resistance-factor"], "temperature_c", "factor")),
                _capacity_factor(chemistry, unit.chemistry, temps),
                _charge_factor(chemistry, temps),
            ]
        ),
        capacity_as=capacity * 3600.0,
        r_cell_ohm=_unit_resistance_ohm(unit) * bank.series / bank.parallel,
        r_fixed_ohm=bank.cable_mohm / 1000.0,
        peukert=float(chemistry["peukert"]["exponent"]) if unit.chemistry == "agm" else 1.0,
        rated_a=capacity / 20.0,
        absorption_v=float(charge[f"absorption_{level}"]) * cells,
        cutoff_v=bank.reserve_v or float(chemistry["discharge"][f"cut_off_{level}"]) * cells,
        charge_max_a=(unit.charge_max_a or float(charge["limit_c_rate"]) * unit.capacity_ah) * bank.parallel,
        discharge_max_a=(unit.discharge_max_a or unit.capacity_ah) * bank.parallel,
        acceptance_per_s=float(chemistry["acceptance"]["alpha_per_h"]) / 3600.0 if unit.chemistry == "agm" else 1.0,
        reserve_soc=bank.reserve_soc,
        reconnect_soc=bank.reconnect_soc,
    )


def _curve(row: Any, x: str, y: str) -> tuple[np.ndarray, np.ndarray]:
    return np.array(row[x], dtype=float), np.array(row[y], dtype=float)


def _unit_resistance_ohm(unit: BankUnit) -> float:
    if unit.resistance_mohm > 0.0:
        return unit.resistance_mohm / 1000.0
    row = table("chemistries")[unit.chemistry]["resistance"]
    blocks = unit.nominal_v / 12.0
    if unit.chemistry == "lfp":
        cells = 4.0 * float(row["cell_100ah_ohm"]) * 100.0 / unit.capacity_ah
        return blocks * (cells + float(row["pack_extra_ohm"]))
    return blocks * float(row["block_100ah_ohm"]) * 100.0 / unit.capacity_ah


def _efficiency(chemistry: Any, name: str, soc: np.ndarray) -> np.ndarray:
    middle = 0.5 * (soc[1:] + soc[:-1])
    if name == "lfp":
        return np.full(middle.size, float(chemistry["charge"]["coulombic_efficiency"]))
    return np.interp(middle, *_curve(chemistry["charge-efficiency"], "soc", "efficiency"))


def _capacity_factor(chemistry: Any, name: str, temps: np.ndarray) -> np.ndarray:
    row = chemistry["capacity"]
    if name == "lfp":
        return np.interp(temps, *_curve(row, "temperature_c", "fraction"))
    x = np.clip(temps, *row["valid_c"]) / 100.0
    size = sum(c * x**i for i, c in enumerate(row["size_factor"]))
    return np.minimum(1.0 / size, float(row["maximum_fraction"]))


def _charge_factor(chemistry: Any, temps: np.ndarray) -> np.ndarray:
    window = chemistry["charge-window"]
    allowed = (temps >= float(window["minimum_c"])) & (temps <= float(window["maximum_c"]))
    derate = chemistry.get("charge-derate")
    factor = (
        np.ones(temps.size)
        if derate is None
        else np.interp(temps, *_curve(derate, "temperature_c", "current_fraction"))
    )
    return np.where(allowed, factor, 0.0)


# --- curves at a state ----------------------------------------------------------------------------


@compiled
def piece_of(b: BankNumbers, soc: float) -> int:
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
def ocv_at(b: BankNumbers, soc: float) -> float:
    """Open-circuit voltage [V]."""
    i, c = piece_of(b, soc), b.curve
    return c[OCV, i] + (c[OCV, i + 1] - c[OCV, i]) / (c[BREAK, i + 1] - c[BREAK, i]) * (soc - c[BREAK, i])


@compiled
def energy_at(b: BankNumbers, soc: float) -> float:
    """Integral of OCV from empty to `soc`, per unit of capacity [V]; times capacity in A s it is the energy in J."""
    i, c = piece_of(b, soc), b.curve
    here = c[OCV, i] + (c[OCV, i + 1] - c[OCV, i]) / (c[BREAK, i + 1] - c[BREAK, i]) * (soc - c[BREAK, i])
    return c[ENERGY, i] + 0.5 * (c[OCV, i] + here) * (soc - c[BREAK, i])


@compiled
def soc_at_ocv(b: BankNumbers, ocv_v: float) -> float:
    """State of charge at which the rested bank shows a voltage; 0 or 1 beyond the curve."""
    c = b.curve
    if ocv_v <= c[OCV, 0]:
        return 0.0
    for i in range(c.shape[1] - 1):
        if ocv_v < c[OCV, i + 1]:
            return c[BREAK, i] + (ocv_v - c[OCV, i]) / (c[OCV, i + 1] - c[OCV, i]) * (c[BREAK, i + 1] - c[BREAK, i])
    return 1.0


@compiled
def at_temperature(b: BankNumbers, what: int, temp_c: float) -> float:
    """Factor on resistance, capacity or charging at a temperature; the table is even and held at its ends."""
    c = b.climate
    place = min(max((temp_c - c[0, 0]) / (c[0, 1] - c[0, 0]), 0.0), c.shape[1] - 1.0)
    i = min(int(place), c.shape[1] - 2)
    return c[what, i] + (c[what, i + 1] - c[what, i]) * (place - i)


@compiled
def resistance_ohm(b: BankNumbers, temp_c: float) -> float:
    """Resistance between the open-circuit voltage and the busbar [Ohm]."""
    return b.r_cell_ohm * at_temperature(b, RESISTANCE, temp_c) + b.r_fixed_ohm


@compiled
def charge_limit_a(b: BankNumbers, temp_c: float) -> float:
    """Largest charging current at a temperature [A]; none for lithium below 0 °C."""
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
def drain_factor(b: BankNumbers, current_a: float, temp_c: float) -> float:
    """Charge that leaves the count per ampere-second drawn: Peukert above the rated current, and cold.

    t = H (C / (I H))^k, so the count falls (I / I_rated)^(k-1) times faster; below the rated current that would be a
    credit, which is not given.
    """
    over = max(current_a / b.rated_a, 1.0) ** (b.peukert - 1.0) if b.peukert > 1.0 else 1.0
    return over / at_temperature(b, CAPACITY, temp_c)


@compiled
def stop_soc(b: BankNumbers, power_w: float, temp_c: float) -> float:
    """State of charge at which the cooler must stop under a draw [W]: the reserve, or where the terminals sag to the
    cut-off voltage, whichever comes first.
    """
    sagging = b.cutoff_v + resistance_ohm(b, temp_c) * power_w / b.cutoff_v
    return max(b.reserve_soc, soc_at_ocv(b, sagging))


# --- steps ----------------------------------------------------------------------------------------


@compiled
def discharge(
    b: BankNumbers, soc: float, power_w: float, temp_c: float, span_s: float
) -> tuple[float, float, float, float, float, float]:
    """Draw a constant power for a time.

    Parameters
    ----------
    b : BankNumbers
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
    tuple
        State of charge at the end; mean current [A], negative; mean terminal voltage [V]; energy given [J]; heat in
        the resistance [J]; energy of charge lost to rate and cold [J]. If the bank runs empty within the span, less
        energy is given.

    Notes
    -----
    The current is the one at the mean open-circuit voltage of the step, found by repetition, so that energy given, heat
    and stored energy agree exactly. A step is minutes long and moves soc by about a hundredth.
    """
    resistance = resistance_ohm(b, temp_c)
    ocv, end, current, factor = ocv_at(b, soc), soc, 0.0, 1.0
    for _ in range(8):
        current = -current_for_power(ocv, resistance, -power_w)
        factor = drain_factor(b, current, temp_c)
        last, end = end, max(soc - current * factor * span_s / b.capacity_as, 0.0)
        if abs(end - last) < 1e-15:
            break
        ocv = (energy_at(b, soc) - energy_at(b, end)) / (soc - end) if soc - end > 1e-9 else ocv_at(b, soc)
    charge = (soc - end) * b.capacity_as / factor
    current = charge / span_s
    stored = (energy_at(b, soc) - energy_at(b, end)) * b.capacity_as
    heat = resistance * current * current * span_s
    lost = stored * (1.0 - 1.0 / factor)
    given = stored - lost - heat
    return end, -current, ocv - resistance * current, given, heat, lost


@compiled
def charge(
    b: BankNumbers, soc: float, power_w: float, temp_c: float, span_s: float
) -> tuple[float, float, float, float, float, float]:
    """Offer a constant power for a time; the bank takes what its limits allow.

    Parameters
    ----------
    b, soc, temp_c, span_s
        As for `discharge`.
    power_w : float
        Power offered at the busbar [W], not negative.

    Returns
    -------
    tuple
        State of charge at the end; mean current [A]; mean terminal voltage [V]; energy taken [J]; heat in the
        resistance [J]; energy of charge that was not stored [J].

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
        if left <= 0.0 or soc >= 1.0 or limit <= 0.0 or power_w <= 0.0:
            break
        soc, used, dq, joules, warm, wasted = _charge_piece(b, soc, power_w, resistance, limit, left)
        if used <= 0.0:
            break
        left -= used
        taken += joules
        heat += warm
        lost += wasted
        passed += dq
    mean_v = taken / passed if passed > 0.0 else ocv_at(b, soc)
    return soc, passed / span_s, mean_v, taken, heat, lost


@compiled
def _charge_piece(
    b: BankNumbers, soc: float, power_w: float, resistance: float, limit_a: float, span_s: float
) -> tuple[float, float, float, float, float, float]:
    """Charge within one straight piece; returns soc, time used, charge, energy taken, heat, energy not stored."""
    i, c = piece_of(b, soc), b.curve
    top, stored = c[BREAK, i + 1], c[EFFICIENCY, i]
    slope = (c[OCV, i + 1] - c[OCV, i]) / (top - c[BREAK, i])
    ocv = c[OCV, i] + slope * (soc - c[BREAK, i])
    per_charge = stored / b.capacity_as
    constant = min(current_for_power(ocv, resistance, power_w), limit_a)
    by_voltage = (b.absorption_v - ocv) / resistance
    by_chemistry = b.acceptance_per_s * (1.0 - soc) * b.capacity_as
    if constant <= min(by_voltage, by_chemistry):
        # bulk: at most up to where the voltage or the chemistry takes over
        meets_v = soc + (by_voltage - constant) * resistance / slope
        meets_c = 1.0 - constant / (b.acceptance_per_s * b.capacity_as)
        goal = min(top, max(min(meets_v, meets_c), soc))
        end = soc
        for _ in range(6):
            end = min(soc + constant * per_charge * span_s, goal)
            mean = ocv + 0.5 * slope * (end - soc)
            constant = min(current_for_power(mean, resistance, power_w), limit_a)
        if end >= goal - 1e-13:
            end = max(goal, soc + 1e-13)
        used = min((end - soc) / (constant * per_charge), span_s)
        dq = constant * used
        end = min(soc + dq * per_charge, 1.0)
        mean = ocv + 0.5 * slope * (end - soc)
        wasted = (1.0 - stored) * mean * dq
        return end, used, dq, (mean + resistance * constant) * dq, resistance * constant * dq, wasted
    if by_voltage <= 0.0:
        return soc, 0.0, 0.0, 0.0, 0.0, 0.0
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
    return end, used, dq, mean * dq + heat, heat, (1.0 - stored) * mean * dq
