"""Vans, days and weather for the tests; all of them invented."""

from __future__ import annotations

from typing import Any

import numpy as np
import pandas as pd

from vansim.boundary.forcing import Forcing
from vansim.climate import Location, Weather
from vansim.climate.weather import HOURS, Closure, hour_index
from vansim.march.records import CabinConstants, ElectricalConstants, Records, VanParameters, new_state
from vansim.psychrometrics import STEFAN_BOLTZMANN, ZERO_C_K
from vansim.scenario.parts import library
from vansim.scenario.schema import Day, Occupants, PlanSegment, Scenario
from vansim.van.bank import Bank, BankParameters, BankUnit, bank_parameters
from vansim.van.cabin import Cabin, Face, Layer, Window
from vansim.van.charging import Alternator, SolarArray
from vansim.van.cooler import Cooler, RatedPoint, Speed
from vansim.van.cooler_balance import FREE
from vansim.van.cooler_map import CABIN_C, OUTDOOR_C, RATIO, CoolerMap, no_cooler_map
from vansim.van.loads import DailyHours, Load
from vansim.van.people import Dog, Person

PLACE = Location(latitude=30.0, longitude=0.0, altitude=0.0, utc_offset=0.0, name="nowhere")


def made_weather(temp_air: Any = 30.0, temp_dew: Any = -40.0, **columns: Any) -> Weather:
    """A year without sun, wind and clouds; the sky is as warm as the air. Numbers or arrays (8760,)."""
    values: dict[str, Any] = {
        "ghi": 0.0,
        "dni": 0.0,
        "dhi": 0.0,
        "longwave": STEFAN_BOLTZMANN * (np.asarray(temp_air, dtype=float) + ZERO_C_K) ** 4,
        "temp_air": temp_air,
        "temp_dew": temp_dew,
        "pressure": 101325.0,
        "wind_speed": 0.0,
        "sky_cover": 0.0,
        "albedo": 0.2,
        **columns,
    }
    frame = pd.DataFrame({name: np.broadcast_to(np.asarray(v, dtype=float), HOURS) for name, v in values.items()})
    frame.index = hour_index(PLACE)
    closure = Closure(shift_min=(0.0,), rms_w_m2=(0.0,), verdict="nothing to check")
    return Weather(data=frame, site=PLACE, kind="invented", source="made in a test", closure=closure)


def face(area_m2: float, foam_mm: float = 50.0, paint: str = "white") -> Face:
    """Steel, foam, plywood, and ribs."""
    return Face(
        area_m2=area_m2,
        layers=(
            Layer(material="steel", thickness_mm=0.8),
            Layer(material="polyurethane-foam", thickness_mm=foam_mm),
            Layer(material="plywood", thickness_mm=6.0),
        ),
        rib_spacing_mm=1333.0,
        paint=paint,
    )


def cabin(**changes: Any) -> Cabin:
    """A high-roof van."""
    parts: dict[str, Any] = {
        "volume_m3": 11.5,
        "faces": {
            "roof": face(9.5),
            "left": face(9.0),
            "right": face(9.0),
            "front": face(2.0),
            "rear": face(3.0),
            "floor": face(9.5, 25.0),
        },
        "windows": (
            Window(face="front", area_m2=1.6, glass="laminated-green", tilt_deg=40.0, cover="insulated-inside"),
            Window(face="left", area_m2=0.6, glass="green", cover="insulated-inside"),
            Window(face="right", area_m2=0.6, glass="green", cover="insulated-inside"),
        ),
        "fan_m3_h": 400.0,
        "fan_w": 25.0,
        **changes,
    }
    return Cabin(**parts)


def library_cabin(name: str) -> Cabin:
    """A cabin of the parts library."""
    part = library().part("cabins", name)
    assert isinstance(part, Cabin)
    return part


def box(r_m2k_w: float = 1.0, **changes: Any) -> Cabin:
    """Six equal faces of 6 m2 with a plain resistance: no glass, no leakage, no ribs."""
    plain = Face(area_m2=6.0, layers=(Layer(r_m2k_w=r_m2k_w),), paint="white")
    still = {"leakage_parked_per_h": 0.0, "leakage_wind_per_h": 0.0, "openings": ()}
    parts: dict[str, Any] = {
        "volume_m3": 10.0,
        "faces": dict.fromkeys(("roof", "left", "right", "front", "rear", "floor"), plain),
        "leakage_moving_per_h": 0.0,
        **still,
        **changes,
    }
    return Cabin(**parts)


def cooler(**changes: Any) -> Cooler:
    """A roof unit of 2.9 kW."""
    parts: dict[str, Any] = {
        "rated": RatedPoint(capacity_w=2900.0, power_w=1250.0),
        "airflow_m3_h": 480.0,
        "eco": Speed(compressor=0.66, coil_air=0.65, condenser_air=0.85),
        **changes,
    }
    return Cooler(**parts)


def bank(parallel: int = 6, chemistry: str = "lfp", **changes: Any) -> Bank:
    """Units of 100 Ah, 12 V."""
    return Bank(unit=BankUnit(chemistry=chemistry, capacity_ah=100.0), parallel=parallel, **changes)  # type: ignore[arg-type]


SUMMER_DAY = Day(
    segment=(
        PlanSegment(start="08:00", end="17:00", shade=0.3, people="out", dogs="out"),
        PlanSegment(start="17:00", end="22:00", cooling="boost_then_eco", covers=True),
        PlanSegment(start="22:00", end="08:00", cooling="eco", covers=True, people="asleep", dogs="asleep"),
    )
)


def van(**changes: Any) -> Scenario:
    """Two people, a dog, a fridge, lights, panels and an alternator."""
    parts: dict[str, Any] = {
        "title": "a test's van",
        "cabin": cabin(),
        "cooler": cooler(),
        "bank": bank(),
        "occupants": Occupants(people=(Person(), Person()), dogs=(Dog(mass_kg=25.0),)),
        "solar": SolarArray(rated_w=400.0, area_m2=2.0),
        "alternator": Alternator(idle_a=150.0, road_a=270.0),
        "loads": (
            Load(name="fridge", power_w=50.0, duty=0.4),
            Load(name="lights", power_w=20.0, hours=(DailyHours(start="19:00", end="23:00"),)),
        ),
        "day": (SUMMER_DAY,),
        **changes,
    }
    return Scenario(**parts)


def idle_van(**changes: Any) -> Scenario:
    """A box with nobody in it and nothing switched on."""
    parts: dict[str, Any] = {
        "title": "an empty box",
        "cabin": box(),
        "bank": bank(),
        "day": (Day(segment=(PlanSegment(start="00:00", end="00:00"),)),),
        **changes,
    }
    return Scenario(**parts)


# --- the kernel alone: forcing, house and cooler written down as numbers ----------------------------------------------


def steady_forcing(hours: int, piece_s: float = 3600.0, **columns: Any) -> Forcing:
    """Constant forcing; columns as numbers or arrays. What is not named is zero, the set point 24 °C."""
    n = round(hours * 3600.0 / piece_s)
    start = np.arange(n) * piece_s
    values: dict[str, Any] = dict.fromkeys(Forcing._fields, 0.0)
    values.update({"start_s": start, "end_s": start + piece_s, "setpoint_c": 24.0, **columns})
    whole = ("cooling", "fan", "vehicle")
    return Forcing(
        **{name: np.full(n, v, dtype=np.int64 if name in whole else np.float64) for name, v in values.items()}  # type: ignore[arg-type]
    )


def plain_house(**changes: Any) -> CabinConstants:
    """One node: the contents hang on by a thread; no timers, no ramp to speak of, the bank outside."""
    parts: dict[str, Any] = {
        "air_j_k": 4e5,
        "contents_j_k": 1e6,
        "coupling_w_k": 1e-9,
        "moisture_kg": 100.0,
        "pressure_pa": 101325.0,
        "deadband_k": 1.0,
        "boost_return_k": 3.0,
        "min_on_s": 0.0,
        "min_off_s": 0.0,
        "between_starts_s": 0.0,
        "ramp_s": 1e-3,
        "standby_w": 0.0,
        "fan_w": 0.0,
        "vehicle_c": 24.0,
        "vehicle_w_k": 1000.0,
        "vehicle_w": 4000.0,
        "bank_inside": False,
        "limit_c": 26.0,
        **changes,
    }
    return CabinConstants(**parts)


def constant_cooler(sensible_w: float, power_w: float) -> CoolerMap:
    """A cooler that takes out the same dry heat for the same power whatever the air.

    Its coil surface follows the cabin 20 K below, its air flow is so large that contact is the conductance itself, and
    the air is meant to be dry.
    """
    nothing = no_cooler_map()
    shape = (*nothing.surface_c.shape[:3], OUTDOOR_C.size, CABIN_C.size, RATIO.size)
    surface = np.full(shape, -200.0)  # no limit is ever reached
    surface[FREE] = CABIN_C[:, np.newaxis] - 20.0
    return CoolerMap(
        surface_c=surface,
        power_w=np.full(shape, power_w),
        frost_c=nothing.frost_c,
        power_max_w=nothing.power_max_w,
        airflow_m3_s=np.full(2, 1e7),
        blower_w=np.zeros(2),
        coil_ntu_kg_s=np.full(2, sensible_w / (1006.0 * 20.0)),
        pressure_pa=101325.0,
    )


def big_bank(**changes: Any) -> BankParameters:
    """A bank that hardly notices."""
    return bank_parameters(bank(parallel=64))._replace(**{"capacity_as": 1e12, **changes})


def start_state(cabin_c: float, contents_c: float | None = None, soc: float = 0.8, ratio: float = 0.0) -> Records:
    """A rested state for the kernel: cabin, contents [°C], soc, humidity [kg/kg]."""
    return new_state(
        cabin_c=cabin_c,
        contents_c=cabin_c if contents_c is None else contents_c,
        ratio=ratio,
        soc=soc,
        bank_v=13.2,
        boosting=1.0,
        since_switch_s=1e6,
        since_start_s=1e6,
    )


def straight_feed(**changes: float) -> ElectricalConstants:
    """Nothing between bank and consumers: no feed, no low-voltage cut, no loss."""
    parts = {
        "feed_ohm": 0.0,
        "cooler_off_v": 0.0,
        "cooler_on_v": 0.0,
        "inverter_off_v": 0.0,
        "inverter_on_v": 0.0,
        "charger_efficiency": 1.0,
        "mppt_a": np.inf,
        **changes,
    }
    return ElectricalConstants(**parts)


def parameters(
    cabin: CabinConstants | None = None,
    cooler: CoolerMap | None = None,
    bank: BankParameters | None = None,
    electrical: ElectricalConstants | None = None,
) -> VanParameters:
    """A van for the kernel: `plain_house`, no cooler, `big_bank` and `straight_feed` where nothing else is given."""
    return VanParameters(
        cabin=plain_house() if cabin is None else cabin,
        cooler=no_cooler_map() if cooler is None else cooler,
        bank=big_bank() if bank is None else bank,
        electrical=straight_feed() if electrical is None else electrical,
    )
