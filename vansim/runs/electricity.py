"""Bank and wiring of a run: constants for the march, and the bank's part of its state."""

from __future__ import annotations

import numpy as np

from vansim.march.records import ElectricalConstants, Records, VanParameters
from vansim.scenario.schema import Scenario
from vansim.van.bank import Bank, BankParameters, BankUnit, bank_parameters, ocv_at
from vansim.van.cooler_feed import feed_ohm, low_voltage
from vansim.van.loads import INVERTER_OFF_V, INVERTER_ON_V

BANK_STATE = (
    "soc", "bank_v", "bound", "disconnected", "disconnected_by", "disconnect_soc", "since_cut_s", "inverter_off",
)  # fmt: skip
"""Columns of a state that belong to the bank and to what hangs on its voltage."""


def electrical_constants(scenario: Scenario) -> ElectricalConstants:
    """Feed, low-voltage cuts and chargers of a scenario for the kernel; harmless ones for parts that are not fitted."""
    cooler, inverter, charger = scenario.cooler, scenario.inverter, scenario.charger
    off_v, on_v = low_voltage(cooler) if cooler else (0.0, 0.0)
    blocks = scenario.bank.nominal_v / 12.0
    inverter_off_v = inverter.cut_off_v or INVERTER_OFF_V * blocks
    return ElectricalConstants(
        feed_ohm=feed_ohm(cooler) if cooler else 0.0,
        cooler_off_v=off_v,
        cooler_on_v=on_v,
        inverter_off_v=inverter_off_v,
        inverter_on_v=max(inverter.cut_in_v or INVERTER_ON_V * blocks, inverter_off_v),
        charger_efficiency=charger.efficiency if charger else 1.0,
        mppt_a=(scenario.solar.mppt_a if scenario.solar else 0.0) or float("inf"),
    )


def endless_bank() -> BankParameters:
    """A bank that is never empty, never sags and stays cold, the same whatever bank is studied."""
    numbers = bank_parameters(Bank(unit=BankUnit(chemistry="lfp", capacity_ah=100.0)))
    return numbers._replace(
        capacity_as=1e18, r_cell_ohm=1e-9, r_fixed_ohm=0.0, reserve_soc=0.0, cutoff_v=1.0, reconnect_soc=0.0,
        discharge_max_a=np.inf,
    )  # fmt: skip


def without_cuts(electrical: ElectricalConstants) -> ElectricalConstants:
    """No feed and no low-voltage cut."""
    return electrical._replace(feed_ohm=0.0, cooler_off_v=0.0, inverter_off_v=0.0)


def led_in(van: VanParameters) -> VanParameters:
    """A van on an endless bank: no limit stops its cooler, whatever bank, nominal voltage and feed are studied."""
    return van._replace(bank=endless_bank(), electrical=without_cuts(van.electrical))


def with_charge(state: Records, bank: BankParameters, soc: float) -> None:
    """Put a rested bank of some charge into a state, or into many, and connect the cooler; changed in place."""
    for name in BANK_STATE:
        state[name] = 0.0
    state["soc"], state["bank_v"] = soc, ocv_at(bank, soc)
