"""What each plain input is called, and how its value is said; those told as a row of their own are in `inputs`."""

from __future__ import annotations

import datetime
import math
from pathlib import Path
from typing import Any

from vansim import phrases
from vansim.units import convert, suffix_of, symbol

Key = tuple[str, str]
"""Key of the scenario, and what it is called."""

GROUPS: dict[str, tuple[Key, ...]] = {
    "Place and days": (
        ("run.date", "Date of the night that was run"),
        ("run.start", "Where the run begins"),
        ("run.days", "Length of the run in days"),
        ("site.heading_deg", "Direction of the nose when parked, from north by east"),
        ("site.wind_shelter_factor", "Share of the wind that reaches the van"),
        ("site.wind_exponent", "How wind falls towards the ground, as an exponent (0.14 open country, 0.33 town)"),
        ("site.albedo", "Sunlight that the ground throws back, where the weather file does not say"),
        ("site.ground", "What the van stands on"),
        ("trip", "Places one after another"),
    ),
    "What counts as a covered night": (
        ("night.label", "What it is called"),
        ("night.bedtime", "Bedtime"),
        ("night.waking", "Waking"),
        ("night.limit_c", "Cabin to stay at or below"),
        ("night.grace_min", "Time above that which is forgiven"),
        ("thermostat.setpoint_c", "Set point of the thermostat"),
        ("thermostat.deadband_k", "Width of its band, where it is not the cooler's own"),
        ("thermostat.boost_return_k", "Boost again when so far above the set point"),
    ),
    "Cabin": (
        ("cabin.volume_m3", "Volume of air"),
        ("cabin.length_m", "Length outside"),
        ("cabin.air_kj_k", "Heat held by lining and light trim, per degree"),
        ("cabin.contents_kj_k", "Heat held by furniture, floor, bedding and water, per degree"),
        ("cabin.contents_w_k", "Heat that passes between those and the air, per degree"),
        ("cabin.solar_to_contents", "Share of the sun through the glass that warms furniture and floor"),
        ("cabin.moisture_buffer", "Moisture held by fabrics and wood, as a multiple of the air's"),
        ("cabin.leakage_parked_per_h", "Air changes when shut, in still air"),
        ("cabin.leakage_wind_per_h", "Air changes added for each metre per second of wind"),
        ("cabin.leakage_moving_per_h", "Air changes added on the road for each 100 km/h of speed"),
        ("cabin.fan_m3_h", "Air moved by the roof fan"),
        ("cabin.fan_w", "Power of the roof fan"),
    ),
    "Cooler": (
        ("cooler.rated.capacity_w", "Cooling at its rated point"),
        ("cooler.rated.power_w", "Power at its rated point, fans included"),
        ("cooler.rated.outdoor_c", "Rated point: outdoors"),
        ("cooler.rated.cabin_c", "Rated point: in the cabin"),
        ("cooler.rated.cabin_rh", "Rated point: humidity in the cabin"),
        ("cooler.nominal_v", "Voltage"),
        ("cooler.refrigerant", "Refrigerant"),
        ("cooler.compressor_type", "Kind of compressor"),
        ("cooler.rated_hz", "Speed of the compressor at the rated point"),
        ("cooler.airflow_m3_h", "Air through the coil"),
        ("cooler.sensible_share", "Share of its cooling that lowers the temperature rather than drying the air"),
        ("cooler.bypass_factor", "Share of the air that misses the coil"),
        ("cooler.condenser_td_k", "Condenser above outdoor air at the rated point"),
        ("cooler.intake_rise_k", "Air at the condenser's intake above outdoor air"),
        ("cooler.coil_fan_w", "Power of the fan at the coil"),
        ("cooler.condenser_fan_w", "Power of the fan at the condenser"),
        ("cooler.standby_w", "Power when idle but switched on"),
        ("cooler.eco.compressor", "Eco: speed of the compressor"),
        ("cooler.eco.coil_air", "Eco: air through the coil"),
        ("cooler.eco.condenser_air", "Eco: air through the condenser"),
        ("cooler.boost.compressor", "Boost: speed of the compressor"),
        ("cooler.boost.coil_air", "Boost: air through the coil"),
        ("cooler.boost.condenser_air", "Boost: air through the condenser"),
        ("cooler.min_on_s", "Least time on"),
        ("cooler.min_off_s", "Least time off"),
        ("cooler.max_starts_per_h", "Most starts"),
        ("cooler.deadband_k", "Width of the band of its own thermostat"),
        ("cooler.ramp_s", "Time to come up to full cooling after a start"),
        ("cooler.power_max_w", "Most power that its controller draws"),
        ("cooler.frost_c", "Coil kept at or above"),
        ("cooler.condensing_max_c", "Condenser kept at or below"),
        ("cooler.evaporating_max_c", "Refrigerant evaporates at or below"),
        ("cooler.feed_mohm", "Resistance of its own cable, both ways"),
        ("cooler.cut_off_v", "Voltage at which it shuts off to protect the battery"),
        ("cooler.cut_in_v", "Voltage at which it may start again"),
        ("cooler.mass_kg", "Weight"),
    ),
    "Battery bank": (
        ("bank.unit.chemistry", "Kind of battery"),
        ("bank.unit.nominal_v", "Voltage of one battery"),
        ("bank.unit.capacity_ah", "Capacity of one battery"),
        ("bank.series", "Batteries in series"),
        ("bank.parallel", "Strings in parallel"),
        ("bank.start_soc", "Charge to begin with"),
        ("bank.reserve_soc", "Reserve at which the cooler stops"),
        ("bank.reserve_v", "Voltage at which the cooler also stops"),
        ("bank.reconnect_soc", "Charge above the reserve at which it may start again"),
        ("bank.state_of_health", "Capacity left, of new"),
        ("bank.location", "Where the bank stands"),
        ("bank.cable_mohm", "Resistance of cables, fuse and switch"),
        ("bank.unit.resistance_mohm", "Inner resistance of one battery"),
        ("bank.unit.charge_max_a", "Most current into one battery"),
        ("bank.unit.discharge_max_a", "Most current out of one battery"),
        ("bank.unit.mass_kg", "Weight of one battery"),
    ),
    "Charging": (
        ("alternator.idle_a", "Alternator into the bank, engine idling"),
        ("alternator.road_a", "Alternator into the bank, on the road"),
        ("alternator.nominal_v", "Alternator: bank voltage of these currents"),
        ("alternator.vehicle_a", "Alternator: taken by the vehicle itself"),
        ("alternator.bonnet_rise_k", "Alternator: air under the bonnet over that outside, once warm"),
        ("alternator.own_rise_k", "Alternator: windings over that air"),
        ("alternator.warm_up_min", "Alternator: time in which it warms up"),
        ("alternator.converter_efficiency", "Alternator: efficiency of the DC-DC charger behind it"),
        ("alternator.converter_a", "Alternator: most current of that charger"),
        ("alternator.mass_kg", "Alternator: weight"),
        ("solar.rated_w", "Panels: rated power"),
        ("solar.area_m2", "Panels: area"),
        ("solar.mount", "Panels: how they are fixed"),
        ("solar.tilt_deg", "Panels: slope"),
        ("solar.azimuth_from_nose_deg", "Panels: direction of the slope, clockwise from the nose"),
        ("solar.gamma_per_k", "Panels: power by temperature, per degree"),
        ("solar.soiling", "Panels: lost to dirt"),
        ("solar.mismatch", "Panels: lost between modules"),
        ("solar.wiring", "Panels: lost in wiring"),
        ("solar.other", "Panels: other losses"),
        ("solar.mppt_efficiency", "Panels: efficiency of the charge controller"),
        ("solar.mppt_a", "Panels: most current of the charge controller"),
        ("solar.string_shade", "Panels: direct sun lost for each share in shade"),
        ("solar.mass_kg", "Panels: weight"),
        ("charger.output_a", "Shore charger: most current into the bank"),
        ("charger.nominal_v", "Shore charger: bank voltage"),
        ("charger.efficiency", "Shore charger: efficiency"),
        ("charger.mass_kg", "Shore charger: weight"),
        ("shore.breaker_a", "Socket: breaker"),
        ("shore.mains_v", "Socket: voltage"),
        ("vehicle_cooling.setpoint_c", "The vehicle's own cooling, where the plan uses it: set point"),
        ("vehicle_cooling.capacity_w", "The vehicle's own cooling: most that it can do"),
        ("inverter.efficiency", "Inverter: efficiency"),
        ("inverter.idle_w", "Inverter: drawn when on"),
        ("inverter.always_on", "Inverter: left on day and night"),
        ("inverter.rated_w", "Inverter: power above which it shuts off"),
        ("inverter.cut_off_v", "Inverter: voltage at which it shuts off"),
        ("inverter.cut_in_v", "Inverter: voltage at which it comes back"),
    ),
}
"""Inputs that are told each on a line, by heading."""

SHARES = frozenset({
    "site.wind_shelter_factor", "site.albedo", "cabin.solar_to_contents",
    "cooler.rated.cabin_rh", "cooler.sensible_share", "cooler.bypass_factor", "cooler.eco.compressor",
    "cooler.eco.coil_air", "cooler.eco.condenser_air", "cooler.boost.compressor", "cooler.boost.coil_air",
    "cooler.boost.condenser_air", "bank.start_soc", "bank.reserve_soc", "bank.reconnect_soc", "bank.state_of_health",
    "alternator.converter_efficiency", "solar.soiling", "solar.mismatch", "solar.wiring", "solar.other",
    "solar.mppt_efficiency", "charger.efficiency", "inverter.efficiency",
})  # fmt: skip
"""Inputs that are shares, told in percent."""
NONE_SAID = {
    "cooler.sensible_share": "not stated",
    "cooler.power_max_w": "no limit stated",
    "cooler.mass_kg": "not stated",
    "cooler.cut_off_v": "as usual for its voltage",
    "cooler.cut_in_v": "as usual for its voltage",
    "inverter.cut_off_v": "as usual for the voltage of the bank",
    "inverter.cut_in_v": "as usual for the voltage of the bank",
    "trip": "the van stays in one place",
    "bank.reserve_v": "as usual for its kind",
    "bank.unit.resistance_mohm": "as usual for its kind and size",
    "bank.unit.charge_max_a": "as usual for its kind and size",
    "bank.unit.discharge_max_a": "as usual for its kind and size",
    "bank.unit.mass_kg": "not stated",
    "cabin.fan_m3_h": "no roof fan",
    "alternator.mass_kg": "not stated",
    "solar.mass_kg": "not stated",
    "charger.mass_kg": "not stated",
}
"""What nothing means, where it is not nothing."""
WORDS = {
    "lfp": "lithium iron phosphate",
    "agm": "lead-acid (AGM)",
    "first cooling": "where the plan first switches cooling on",
    "bedtime": "at bedtime",
    "bracket": "on brackets, with air below",
    "glued": "glued to the roof",
    "cabin": "in the cabin",
    "outside": "outside",
}
"""Values that are words."""


IN_US = {"each metre per second of wind": "each 2.24 mph of wind", "each 100 km/h of speed": "each 62.1 mph of speed"}
"""Names that hold a quantity, in US units."""


def key_words(words: str, system: str) -> str:
    """What an input is called."""
    for ours, theirs in IN_US.items() if system == "us" else ():
        words = words.replace(ours, theirs)
    return words


def value_words(key: str, value: Any, system: str) -> str:
    """The value of an input as a reader sees it.

    Parameters
    ----------
    key : str
        Address in the scenario.
    value : float, int, str, tuple of Stop
        In SI.
    system : {"si", "us"}
        Units shown.
    """
    if value in (0, None, "", ()) and key in NONE_SAID:
        return NONE_SAID[key]
    if key == "trip":
        return "; ".join(f"{stop.name or Path(stop.weather).stem} from {_date(stop.date)}" for stop in value)
    if isinstance(value, str):
        return _date(value) if key == "run.date" else WORDS.get(value, value)
    if key in SHARES:
        return phrases.percent(value)
    if key.endswith("_per_k"):
        return rough(100.0 * value, key, system).replace(" per", "% per")
    if key.endswith("_per_h"):
        return f"{phrases.figures(value, 3)} an hour"
    if key.endswith("_min"):
        return phrases.duration(value / 60.0)
    if key.endswith("_s") and value >= 60.0:
        return phrases.duration(value / 3600.0)
    return rough(value, key, system)


def _date(month_day: str) -> str:
    return phrases.date(datetime.date(2001, int(month_day[:2]), int(month_day[3:])))


def rough(value: float, name: str, system: str) -> str:
    """A quantity with its unit, to three figures, as `vansim.phrases.quantity` says it to four."""
    if math.isnan(value):
        return phrases.NOTHING
    key = name.rpartition(".")[2]
    if suffix_of(key) == "m2k_w" and system == "us":
        return f"R-{phrases.figures(convert(value, key, system), 2)}"
    digits = 2 if suffix_of(key) == "mm" and system == "us" else 3
    return f"{phrases.figures(convert(value, key, system), digits)} {symbol(key, system)}".rstrip()
