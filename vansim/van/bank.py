"""The bank: batteries in series and parallel, and the numbers that their chemistry gives them.

State of charge counts coulombs; energy is the integral of open-circuit voltage over them. Both books are kept and must
agree (`bank_steps`). What cold or a high rate put out of reach is still there: it is a floor, not a loss.
"""

from __future__ import annotations

from typing import Any, Literal

import numpy as np
from pydantic import Field

from vansim.data import table
from vansim.quantities import Fraction, NotNegative, Part, Positive
from vansim.van.bank_steps import (
    BREAK,
    CAPACITY,
    CHARGED,
    CHARGING,
    DRAWN,
    EFFICIENCY,
    ENERGY,
    OCV,
    RESISTANCE,
    TEMPERATURE,
    BankParameters,
    absorption_v,
    at_temperature,
    bound_after,
    charge,
    charge_limit_a,
    charge_resistance_ohm,
    current_for_power,
    discharge,
    energy_at,
    floor_soc,
    ocv_at,
    piece_of,
    resistance_ohm,
)

__all__ = [
    "BREAK",
    "CAPACITY",
    "CHARGED",
    "CHARGING",
    "DRAWN",
    "EFFICIENCY",
    "ENERGY",
    "OCV",
    "RESISTANCE",
    "TEMPERATURE",
    "Bank",
    "BankParameters",
    "BankUnit",
    "Chemistry",
    "absorption_v",
    "at_temperature",
    "bank_parameters",
    "bound_after",
    "charge",
    "charge_limit_a",
    "charge_resistance_ohm",
    "current_for_power",
    "discharge",
    "energy_at",
    "floor_soc",
    "ocv_at",
    "piece_of",
    "resistance_ohm",
]

Chemistry = Literal["lfp", "agm"]

LEAST_RECONNECT_SOC = 0.01
"""Least state of charge to be gained before a disconnected cooler is connected again.

A hundredth is what a counter of ampere-hours shows. With less, a cooler would be connected, drawn down and disconnected
within seconds for as long as the sun lasts, which no relay does: its own hysteresis, some tenths of a volt, is wider.
"""


RATED_HOURS = 20.0
"""Time of discharge at which lead-acid is rated [h]."""


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
        Continuous limits [A]; 0 takes the chemistry's usual share of capacity. Above the latter lithium switches off.
    mass_kg : float
        Mass [kg].
    price : float or None
        One's own price, in the scenario's currency; left out, not known.
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
    price: NotNegative | None = None


class Bank(Part):
    """Units in series and parallel, and how far down they may go.

    Attributes
    ----------
    unit : BankUnit
        The battery.
    series : int
        Batteries in series, which add up to the voltage of the bank.
    parallel : int
        Strings in parallel.
    start_soc : float
        State of charge when a run begins.
    reserve_soc : float
        The cooler stops here; the rest is for lights, fridge, a start in the morning, and the bank's life.
    reserve_v : float
        The cooler also stops when the terminals sag to this [V at the batteries, before cables]; 0 takes the
        chemistry's cut-off.
    reconnect_soc : float
        State of charge to be gained after a disconnect before the cooler may start again; at least 0.01.
    state_of_health : float
        Capacity left, as a fraction of new.
    location : {"cabin", "outside"}
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
    reconnect_soc: float = Field(default=0.05, ge=LEAST_RECONNECT_SOC, le=1)
    state_of_health: float = Field(default=1.0, gt=0.3, le=1.0)
    location: Literal["cabin", "outside"] = "cabin"
    cable_mohm: NotNegative = 1.0

    @property
    def nominal_v(self) -> int:
        """Voltage class of the bank [V]."""
        return self.unit.nominal_v * self.series

    @property
    def capacity_ah(self) -> float:
        """Charge when full [Ah], age in."""
        return self.unit.capacity_ah * self.parallel * self.state_of_health

    @property
    def units(self) -> int:
        """Number of batteries."""
        return self.series * self.parallel


def bank_parameters(bank: Bank) -> BankParameters:
    """Series and parallel units as one bank.

    Parameters
    ----------
    bank : Bank
        Layout.

    Returns
    -------
    BankParameters
        Curves of the chemistry (its table names the sources), scaled to the layout.
    """
    unit = bank.unit
    chemistry = table("chemistries")[unit.chemistry]
    blocks = unit.nominal_v / 12.0 * bank.series
    cells = blocks * (4.0 if unit.chemistry == "lfp" else 1.0)
    curve = chemistry["open-circuit"]
    soc = np.array(curve["soc"], dtype=float)
    ocv = np.array(curve["cell_v" if unit.chemistry == "lfp" else "block_v"], dtype=float) * cells
    if unit.chemistry == "agm":  # charge efficiency and resistance bend between the OCV points
        fine = np.union1d(soc, np.linspace(0.0, 1.0, 51))
        soc, ocv = fine, np.interp(fine, soc, ocv)
    by_charge = chemistry["resistance-by-charge"]
    energy = np.concatenate([[0.0], np.cumsum(0.5 * (ocv[1:] + ocv[:-1]) * np.diff(soc))])
    temps = np.arange(-30.0, 75.1, 5.0)
    charge = chemistry["charge"]
    level = "cell_v" if unit.chemistry == "lfp" else "block_v"
    capacity = unit.capacity_ah * bank.parallel * bank.state_of_health
    return BankParameters(
        curve=np.array(
            [
                soc,
                ocv,
                energy,
                np.append(_efficiency(chemistry, unit.chemistry, soc), 1.0),
                np.interp(soc, *_curve(by_charge, "soc", "drawn")),
                np.interp(soc, *_curve(by_charge, "soc", "charged")),
            ]
        ),
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
        **_wells(chemistry),
        rated_a=capacity / RATED_HOURS,
        knee_v=float(chemistry["end-of-discharge"]["block_v"]) * cells if "end-of-discharge" in chemistry else 0.0,
        absorption_v=float(charge[f"absorption_{level}"]) * cells,
        compensation_v_k=float(charge.get("compensation_v_k", 0.0)) * cells,
        cutoff_v=bank.reserve_v or float(chemistry["discharge"][f"cut_off_{level}"]) * cells,
        charge_max_a=(unit.charge_max_a or float(charge["limit_c_rate"]) * unit.capacity_ah) * bank.parallel,
        discharge_max_a=discharge_limit_a(bank),
        charge_from_c=float(chemistry["charge-window"]["minimum_c"]),
        charge_to_c=float(chemistry["charge-window"]["maximum_c"]),
        acceptance_per_s=float(chemistry["acceptance"]["alpha_per_h"]) / 3600.0 if unit.chemistry == "agm" else 1.0,
        reserve_soc=bank.reserve_soc,
        reconnect_soc=bank.reconnect_soc,
    )


def discharge_limit_a(bank: Bank) -> float:
    """Current above which the batteries switch themselves off [A]; infinite where they have no such switch."""
    share = table("chemistries")[bank.unit.chemistry]["discharge"].get("limit_c_rate")
    usual = float("inf") if share is None else float(share) * bank.unit.capacity_ah
    return (bank.unit.discharge_max_a or usual) * bank.parallel


def _wells(chemistry: Any) -> dict[str, float]:
    """The two wells of charge for the chemistry's Peukert exponent; none where charge does not depend on the rate."""
    if "wells" not in chemistry:
        return {"bound_share": 0.0, "bound_spare": 0.0, "recovery_per_s": 1.0}
    return wells_of(float(chemistry["peukert"]["exponent"]))


def wells_of(exponent: float) -> dict[str, float]:
    """The two wells of charge that give a Peukert exponent.

    Parameters
    ----------
    exponent : float
        1.05 to 1.25.

    Returns
    -------
    dict of str to float
        `bound_share`, `bound_spare` and `recovery_per_s` of `BankParameters`.
    """
    row = table("chemistries")["agm"]["wells"]
    share, over, per_h = (
        float(np.interp(exponent, row["exponent"], row[name]))
        for name in ("share_at_hand", "charge_over_rated", "levelling_per_h")
    )
    return {"bound_share": (1.0 - share) / share, "bound_spare": over - 1.0, "recovery_per_s": per_h / 3600.0}


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
    return np.asarray(np.interp(middle, *_curve(chemistry["charge-efficiency"], "soc", "efficiency")))


def _capacity_factor(chemistry: Any, name: str, temps: np.ndarray) -> np.ndarray:
    row = chemistry["capacity"]
    if name == "lfp":
        return np.asarray(np.interp(temps, *_curve(row, "temperature_c", "fraction")))
    x = np.clip(temps, *row["valid_c"]) / 100.0
    size = sum(c * x**i for i, c in enumerate(row["size_factor"]))
    return np.asarray(np.minimum(1.0 / size, float(row["maximum_fraction"])))


def _charge_factor(chemistry: Any, temps: np.ndarray) -> np.ndarray:
    derate = chemistry.get("charge-derate")
    return (
        np.ones(temps.size)
        if derate is None
        else np.interp(temps, *_curve(derate, "temperature_c", "current_fraction"))
    )


def usable_kwh(bank: Bank) -> float:
    """Open-circuit energy between full and the reserve [kWh], at 25 °C and low rate."""
    b = bank_parameters(bank)
    return (energy_at(b, 1.0) - energy_at(b, b.reserve_soc)) * b.capacity_as / 3.6e6
