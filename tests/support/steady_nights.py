"""A climate that never changes, and a van whose night in it can be worked out by hand. All invented."""

from __future__ import annotations

import math
from functools import cache
from typing import Any

import numpy as np
import pandas as pd

from vansim.climate import Closure, Location, Weather
from vansim.climate.weather import COLUMNS, HOURS, hour_index
from vansim.data import table
from vansim.psychrometrics import STEFAN_BOLTZMANN, ZERO_C_K, saturation_ratio
from vansim.scenario.schema import Day, PlanSegment, Scenario
from vansim.van.bank import Bank, BankUnit
from vansim.van.cabin import FACES, INSIDE_FILM_M2K_W, Cabin, Face, Layer
from vansim.van.cooler import ECO, Cooler, RatedPoint, cooler_map, running
from vansim.van.cooler_thermostat import Thermostat
from vansim.van.loads import Load

R_M2K_W, FACE_M2, LOAD_W, SETPOINT_C = 1.0, 8.0, 60.0, 24.0
OUTDOOR_C = 34.0
EMITTANCE_PAINT = "white"


@cache
def steady_weather(temp_c: float, dew_c: float = -10.0) -> Weather:
    """No sun, no wind, sky and ground as warm as the air."""
    site = Location(latitude=35.0, longitude=0.0, altitude=0.0, utc_offset=0.0, name="nowhere")
    data = pd.DataFrame(0.0, index=hour_index(site), columns=list(COLUMNS))
    data["temp_air"], data["temp_dew"], data["pressure"] = temp_c, dew_c, 101325.0
    data["longwave"] = STEFAN_BOLTZMANN * (temp_c + ZERO_C_K) ** 4
    data["albedo"] = np.nan
    assert len(data) == HOURS
    closure = Closure(shift_min=(0.0,), rms_w_m2=(0.0,), verdict="nothing to check")
    return Weather(data=data, site=site, kind="invented", source="steady", closure=closure)


def plain_cabin(r_m2k_w: float = R_M2K_W, **changes: Any) -> Cabin:
    face = Face(area_m2=FACE_M2, layers=(Layer(r_m2k_w=r_m2k_w),), paint=EMITTANCE_PAINT)
    still = {"leakage_parked_per_h": 0.0, "leakage_wind_per_h": 0.0}
    return Cabin(**{"volume_m3": 12.0, "faces": dict.fromkeys(FACES, face), **still, **changes})


def plain_van(**changes: Any) -> Scenario:
    """Cooled in eco all day, tight band, no timers, no ramp to speak of; bank outside, no resistance in it or feed."""
    segment = PlanSegment(start="00:00", end="00:00", cooling="eco", people="out", dogs="out")
    cooler = Cooler(
        rated=RatedPoint(capacity_w=2000.0, power_w=800.0),
        airflow_m3_h=450.0,
        min_on_s=0.0,
        min_off_s=0.0,
        max_starts_per_h=60.0,
        ramp_s=1e-3,
        standby_w=0.0,
        feed_mohm=0.0,
    )
    parts: dict[str, Any] = {
        "cabin": plain_cabin(),
        "cooler": cooler,
        "thermostat": Thermostat(setpoint_c=SETPOINT_C, deadband_k=0.4),
        "bank": Bank(unit=unit("lfp", 100.0), parallel=6, location="outside", cable_mohm=0.0),
        "loads": (Load(name="fridge", power_w=LOAD_W, heat_to_cabin=0.0),),
        "day": (Day(segment=(segment,)),),
    }
    return Scenario(**{**parts, **changes})


def unit(chemistry: str, capacity_ah: float) -> BankUnit:
    return BankUnit(chemistry=chemistry, capacity_ah=capacity_ah, resistance_mohm=1e-6, mass_kg=10.0, price=100.0)


def conductance_w_k(outdoor_c: float, r_m2k_w: float = R_M2K_W, emittance: float = 0.9) -> float:
    """All six faces [W/K]: layer, inside film, and outside 4 W/m2K of still air plus radiation at air temperature."""
    outside = 4.0 + 4.0 * emittance * STEFAN_BOLTZMANN * (outdoor_c + ZERO_C_K) ** 3
    return math.fsum(FACE_M2 / (r_m2k_w + INSIDE_FILM_M2K_W[name] + 1.0 / outside) for name in FACES)


def by_hand(outdoor_c: float = OUTDOOR_C) -> tuple[float, float]:
    """Duty and power of the running cooler [W]: load over capacity at the set point, coil dry."""
    ratio = saturation_ratio(-10.0, 101325.0)
    assert plain_van().cooler is not None
    now = running(cooler_map(plain_van().cooler, 101325.0), ECO, outdoor_c, SETPOINT_C, ratio)
    assert now.water_kg_s == 0.0
    emittance = float(table("paints")["white"]["emittance"])
    load = conductance_w_k(outdoor_c, emittance=emittance) * (outdoor_c - SETPOINT_C)
    return load / now.sensible_w, now.power_w


def hours_by_hand(bank: Bank, outdoor_c: float = OUTDOOR_C) -> float:
    """Quadrature of dt = C d(soc) / mean drain, current = power over open-circuit voltage.

    What a rate puts out of reach lies below every reserve here, and no cold does.
    """
    chemistry, (duty, power) = table("chemistries")[bank.unit.chemistry], by_hand(outdoor_c)
    curve = chemistry["open-circuit"]
    if bank.unit.chemistry == "lfp":
        volts = np.array(curve["cell_v"]) * 4.0
    else:
        volts = np.array(curve["block_v"])
    soc = np.linspace(bank.reserve_soc, 1.0, 20001)
    ocv = np.interp(soc, curve["soc"], volts)
    drain = np.zeros_like(soc)
    for share, watts in ((duty, power + LOAD_W), (1.0 - duty, LOAD_W)):
        drain += share * watts / ocv
    return float(np.trapezoid(bank.capacity_ah / drain, soc))
