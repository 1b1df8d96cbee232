"""What the march carries: constants, one interval of forcing, and the named columns of its state and of all it writes.

A new column costs one line here, one that books it (`step`), and one that shows it (`vansim.runs`).
"""

from __future__ import annotations

from typing import Any, NamedTuple

import numpy as np
import numpy.typing as npt

from vansim.boundary.forcing import Forcing
from vansim.jit import compiled
from vansim.van.bank_steps import BankParameters
from vansim.van.cooler_map import CoolerMap

Records = Any
"""A NumPy record, or an array of them: `totals.cooler_j` is a number of one record, a column of many."""


class CabinConstants(NamedTuple):
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


class ElectricalConstants(NamedTuple):
    """What lies between bank and consumers: the cooler's feed and low-voltage cut, the inverter's, the chargers."""

    feed_ohm: float
    cooler_off_v: float
    cooler_on_v: float
    inverter_off_v: float
    inverter_on_v: float
    charger_efficiency: float
    mppt_a: float


class VanParameters(NamedTuple):
    """A van as the march knows it: cabin with its controls, cooler, bank, and what lies between the last two."""

    cabin: CabinConstants
    cooler: CoolerMap
    bank: BankParameters
    electrical: ElectricalConstants


class ForcingInterval(NamedTuple):
    """One interval of the forcing, as plain numbers; the names are those of `Forcing`."""

    start_s: float
    outdoor_c: float
    outdoor_k_s: float
    outdoor_ratio: float
    ua_w_k: float
    sol_air_gain_w: float
    sun_air_w: float
    sun_contents_w: float
    roof_outward_w_k: float
    roof_excess_k: float
    floor_outward_w_k: float
    floor_excess_k: float
    pane_kg_s: float
    pane_coldness: float
    pane_excess_k: float
    opening_kg2_s2: float
    opening_kg2_s2_k: float
    air_kg_s: float
    air_w_k: float
    fan_kg_s: float
    fan_w_k: float
    people_w: float
    dogs_w: float
    internal_gains_w: float
    loads_w: float
    peak_w: float
    inverter_w: float
    inverter_peak_w: float
    inverter_heat_w: float
    refused_w: float
    fridge_w: float
    fridge_w_k: float
    fridge_w_k2: float
    fridge_most_w: float
    fridge_heat: float
    shore_ac_w: float
    solar_w: float
    alternator_a: float
    shore_w: float
    setpoint_c: float
    cooling: int
    fan: int
    vehicle: int


@compiled
def interval_of(f: Forcing, i: int) -> ForcingInterval:
    """Interval `i` of the forcing."""
    return ForcingInterval(
        start_s=f.start_s[i],
        outdoor_c=f.outdoor_c[i],
        outdoor_k_s=f.outdoor_k_s[i],
        outdoor_ratio=f.outdoor_ratio[i],
        ua_w_k=f.ua_w_k[i],
        sol_air_gain_w=f.sol_air_gain_w[i],
        sun_air_w=f.sun_air_w[i],
        sun_contents_w=f.sun_contents_w[i],
        roof_outward_w_k=f.roof_outward_w_k[i],
        roof_excess_k=f.roof_excess_k[i],
        floor_outward_w_k=f.floor_outward_w_k[i],
        floor_excess_k=f.floor_excess_k[i],
        pane_kg_s=f.pane_kg_s[i],
        pane_coldness=f.pane_coldness[i],
        pane_excess_k=f.pane_excess_k[i],
        opening_kg2_s2=f.opening_kg2_s2[i],
        opening_kg2_s2_k=f.opening_kg2_s2_k[i],
        air_kg_s=f.air_kg_s[i],
        air_w_k=f.air_w_k[i],
        fan_kg_s=f.fan_kg_s[i],
        fan_w_k=f.fan_w_k[i],
        people_w=f.people_w[i],
        dogs_w=f.dogs_w[i],
        internal_gains_w=f.internal_gains_w[i],
        loads_w=f.loads_w[i],
        peak_w=f.peak_w[i],
        inverter_w=f.inverter_w[i],
        inverter_peak_w=f.inverter_peak_w[i],
        inverter_heat_w=f.inverter_heat_w[i],
        refused_w=f.refused_w[i],
        fridge_w=f.fridge_w[i],
        fridge_w_k=f.fridge_w_k[i],
        fridge_w_k2=f.fridge_w_k2[i],
        fridge_most_w=f.fridge_most_w[i],
        fridge_heat=f.fridge_heat[i],
        shore_ac_w=f.shore_ac_w[i],
        solar_w=f.solar_w[i],
        alternator_a=f.alternator_a[i],
        shore_w=f.shore_w[i],
        setpoint_c=f.setpoint_c[i],
        cooling=f.cooling[i],
        fan=f.fan[i],
        vehicle=f.vehicle[i],
    )


def _records_of(names: tuple[str, ...]) -> np.dtype[Any]:
    """Records of floats: elements are read by attribute, compiled or not, and whole arrays as one table of numbers."""
    return np.dtype((np.record, [(name, np.float64) for name in names]))


STATE = _records_of(
    (
        "cabin_c",  # cabin air [°C]
        "contents_c",  # contents [°C]
        "ratio",  # humidity ratio of the cabin air [kg/kg]
        "soc",  # state of charge, 0 to 1
        "bank_v",  # terminal voltage [V]
        "on",  # compressor, 0 or 1
        "since_switch_s",  # since the compressor was last switched [s]
        "since_start_s",  # since it last started [s]
        "boosting",  # whether *boost until cool, then eco* boosts, 0 or 1
        "fan",  # roof fan, 0 or 1
        "bound",  # charge out of reach for its rate, share of the bank's capacity
        "disconnected",  # whether the cooler was disconnected by a limit, 0 or 1
        "disconnected_by",  # which one: of LIMIT_NAMES
        "disconnect_soc",  # state of charge at which that was
        "since_cut_s",  # since then [s]
        "inverter_off",  # whether the inverter shut off at low voltage, 0 or 1
        "bank_heat_due_j",  # heat of the bank that the contents are still to get [J]
        "emptied",  # whether the cooler was disconnected by a limit since the account began, 0 or 1
        "emptied_s",  # when that first was [s]
        "emptied_cabin_c",  # cabin air then [°C]
        "emptied_by",  # which limit it was
    )
)
"""Everything that a march needs to be taken up again."""

TOTALS = _records_of(
    (
        "cabin_ks",  # cabin air temperature over time [°C s]
        "contents_ks",  # temperature of the contents over time [°C s]
        "ratio_s",  # humidity ratio over time [s kg/kg]
        "on_s",  # compressor on [s]
        "starts",  # compressor starts
        "sensible_j",  # heat taken out by the coil, blower taken off [J]
        "steady_j",  # what it would have taken out without the start-up ramp [J]
        "condensate_kg",  # water condensed on the coil [kg]
        "cooler_j",  # electricity of the cooler with its standby and its feed [J]
        "feed_j",  # what of it is lost in its feed [J]
        "occupants_j",  # dry heat of people and dogs [J]
        "vapour_kg",  # their moisture [kg]
        "air_exchange_j",  # heat brought in by leakage and roof fan [J]
        "air_exchange_kg",  # moisture brought in by them [kg]
        "opening_j",  # heat of it by what stands open [J]
        "opening_kg",  # moisture of it by what stands open [kg]
        "roof_outward_j",  # what the turned film adds to the heat through the roof [J]
        "floor_outward_j",  # and through the floor [J]
        "envelope_j",  # heat through faces and glass, the sun through it left out [J]
        "equipment_j",  # heat of appliances [J]
        "vehicle_cooling_j",  # heat taken out by the vehicle's own cooling [J]
        "bank_to_cabin_j",  # heat of the bank given to the contents [J]
        "wall_condensate_kg",  # water condensed on cold walls [kg]
        "pane_condensate_kg",  # water condensed on cold glass [kg]
        "fan_s",  # roof fan on [s]
        "boost_s",  # compressor on in boost [s]
        "supply_ks",  # supply air temperature over the time on [°C s]
        "loads_j",  # electricity of all other loads [J]
        "solar_j",  # given by the panels [J]
        "alternator_j",  # given by the alternator [J]
        "shore_j",  # given by shore power through the charger [J]
        "charger_loss_j",  # lost in the charger [J]
        "pedestal_j",  # drawn from the pedestal: charger and mains loads [J]
        "bank_j",  # taken by the bank at its terminals, given where negative [J]
        "bank_as",  # charge into the bank [A s]
        "bank_heat_j",  # heat in its resistance [J]
        "bank_lost_j",  # energy of charge that was not stored [J]
        "unserved_j",  # electricity that nobody could give [J]
        "disconnected_s",  # cooler disconnected by a limit [s]
        "over_s",  # cabin above the night's limit [s]
        "cabin_max_c",  # highest cabin temperature [°C]
        "end_cabin_c",  # cabin at the end [°C]
        "end_contents_c",  # contents at the end [°C]
        "end_ratio",  # humidity ratio at the end [kg/kg]
        "end_soc",  # state of charge at the end
        "end_bank_v",  # terminal voltage at the end [V]
    )
)
"""What flowed in an interval of forcing, and the state at its end."""

SAMPLE = _records_of(
    (
        "outdoor_c",  # outdoor air [°C]
        "cabin_c",  # cabin air [°C]
        "contents_c",  # contents [°C]
        "ratio",  # humidity ratio of the cabin air [kg/kg]
        "on",  # compressor, 0 or 1
        "boost",  # compressor on in boost, 0 or 1
        "cooler_w",  # electrical power of the cooler, mean of the step [W]
        "fan",  # roof fan, 0 or 1
        "loads_w",  # electrical power of the loads, roof fan in [W]
        "bank_w",  # power into the bank, mean of the step [W]
        "bank_v",  # terminal voltage [V]
        "soc",  # state of charge
    )
)
"""The fine picture, at one wanted moment."""

EVENT = np.dtype(
    (
        np.record,
        [
            ("time_s", np.float64),  # when [s since midnight of the run's first day]
            ("kind", np.int64),  # one of the four below
        ],
    )
)
"""A switching."""
LIMIT_NAMES = ("", "reserve", "bank_voltage", "battery_current", "cooler_voltage")
"""What can disconnect the cooler, in the order in which they are asked."""
NO_LIMIT, AT_RESERVE, AT_BANK_VOLTAGE, AT_BATTERY_CURRENT, AT_COOLER_VOLTAGE = range(len(LIMIT_NAMES))

EVENT_NAMES = ("started", "stopped", "disconnected", "reconnected")
STARTED, STOPPED, DISCONNECTED, RECONNECTED = range(len(EVENT_NAMES))

NIGHT_ROWS = np.dtype(
    (
        np.record,
        [
            (name, np.int64)
            for name in (
                "lead",  # first interval of the days that lead to the account, in the plan
                "day",  # first interval after the waking before, from which a consecutive night goes on
                "account",  # first interval of the account
                "bed",  # first interval of the night
                "wake",  # the one after its last
                "after",  # first interval of what follows waking, in the forcing that holds then
                "after_end",  # the one after its last; none where the night is not to be followed
            )
        ],
    )
)
"""Where a night lies in its forcing."""

NIGHT = _records_of(
    (
        "start_soc",  # state of charge where the account begins
        "bedtime_soc",  # state of charge at bedtime
        "lowest_soc",  # lowest state of charge of the account
        "waking_soc",  # state of charge at waking
        "bedtime_cabin_c",  # cabin air at bedtime [°C]
        "evening_cooler_j",  # electricity of the cooler before bedtime [J]
        "evening_loads_j",  # electricity of all other loads before bedtime [J]
        "cooler_j",  # electricity of the cooler, bedtime to waking [J]
        "loads_j",  # electricity of all other loads, bedtime to waking [J]
        "charged_j",  # given by sun, engine and shore over the account [J]
        "on_s",  # compressor on, bedtime to waking [s]
        "starts",  # compressor starts, bedtime to waking
        "over_s",  # cabin above the limit, bedtime to waking [s]
        "cooled_over_s",  # that in intervals in which the cooler was connected throughout [s]
        "duty_over",  # compressor's share of that time
        "cabin_max_c",  # highest cabin temperature, bedtime to waking [°C]
        "bank_heat_j",  # heat in the bank's resistance, bedtime to waking [J]
        "bank_lost_j",  # energy of charge lost, bedtime to waking [J]
        "emptied",  # whether a limit disconnected the cooler in the account, 0 or 1
        "emptied_s",  # when that first was [s]
        "emptied_cabin_c",  # cabin air then [°C]
        "emptied_by",  # which limit it was
        "runtime_s",  # bedtime to a limit, cooling left on and nothing charging [s]
    )
)
"""The account of a night: from when the plan first switches cooling on to waking, and the runtime from bedtime."""


def new_records(kind: np.dtype[Any], count: int) -> Records:
    """Records of a kind, all zero.

    Parameters
    ----------
    kind : dtype
        `STATE`, `TOTALS`, `SAMPLE`, `EVENT`, `NIGHT` or `NIGHT_ROWS`.
    count : int
        How many.

    Returns
    -------
    (count,) recarray
        Columns are its attributes.
    """
    return np.zeros(count, kind).view(np.recarray)


def new_state(**values: float) -> Records:
    """A state; what is not named is zero."""
    state = new_records(STATE, 1)[0]
    for name, value in values.items():
        state[name] = value
    return state


def sums(totals: Records) -> Records:
    """Every column of some totals added up; of use for what flowed, not for extremes and end states.

    Parameters
    ----------
    totals : (n,) recarray of `TOTALS`
        Of intervals in a row.

    Returns
    -------
    record of `TOTALS`
        The sums.
    """
    table: npt.NDArray[np.float64] = totals.view(np.float64).reshape(totals.size, -1)
    return np.rec.fromarrays(table.sum(axis=0)[:, np.newaxis], dtype=TOTALS)[0]
