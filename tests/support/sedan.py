"""A dark mid-size sedan closed up in full sun, described from its geometry and the tables, with nothing fitted.

Every figure below was set down from what such a car is made of, before it was compared with the measurements. What is
not known of the measured car (its glass, what its seats store, how its cracks leak) has a plausible range beside it, so
that `test_parked_car` can say how much of an agreement is luck.
"""

from __future__ import annotations

import warnings
from dataclasses import dataclass, replace
from typing import Any

import numpy as np
import pandas as pd

from vansim import Scenario, Weather, simulate
from vansim.climate import Location
from vansim.climate.sky_longwave import clear_sky_emissivity
from vansim.climate.weather import Closure, hour_index
from vansim.psychrometrics import STEFAN_BOLTZMANN, ZERO_C_K
from vansim.scenario.schema import Day, Pitch, PlanSegment, RunWindow
from vansim.van.bank import Bank, BankUnit
from vansim.van.cabin import Cabin, Face, Layer, Window

BAY = Location(latitude=37.3, longitude=-121.9, altitude=30.0, utc_offset=-8.0, name="South of San Francisco Bay")
DAY_OF_RUN = "06-16"
"""Middle of the season of the measurements, 16 May to 8 August."""


@dataclass(frozen=True)
class Car:
    """What has to be assumed of the car and its day.

    `glass_m2` windscreen, rear window and side windows together; `shgc_glass` key of the glass table for side and rear
    windows; `skin_contents_kj_k` light trim (headliner, cloth, skins of dash and doors: about 14 m2 at 0.7 kJ/m2K);
    `contents_kj_k` what an hour reaches of seats, dash, trim, carpet and inner sheet metal: 7 m2 of upholstery at
    4 kJ/m2K, 5 m2 of plastic 3 mm at 5 kJ/m2K, 3 m2 of carpet at 3 kJ/m2K, 10 m2 of inner steel at 2.8 kJ/m2K;
    `contents_w_k` those 14 m2 at a natural-convection film of 4 W/m2K.
    """

    volume_m3: float = 2.9
    glass_m2: float = 2.9
    glass: str = "green"
    paint: str = "dark-blue"
    air_kj_k: float = 10.0
    contents_kj_k: float = 90.0
    contents_w_k: float = 56.0
    solar_to_contents: float = 0.7
    lining_mm: float = 8.0
    leakage_per_h: float = 0.5
    wind_10m_m_s: float = 3.0
    shelter: float = 0.6
    start_hour: int = 12
    heading_deg: float = 180.0
    ambient_c: float = 26.4
    dew_c: float = 10.0
    turbidity: float = 3.0
    ground: str = "asphalt"


def cabin(car: Car) -> Cabin:
    """Steel skins with a thin lining, a third of the shell in glass; no sun on firewall and rear bulkhead."""
    steel = Layer(material="steel", thickness_mm=0.8)
    lined = (
        steel,
        Layer(material="polyester-batt", thickness_mm=car.lining_mm),
        Layer(material="pvc", thickness_mm=2.0),
    )
    door = (steel, Layer(r_m2k_w=0.18), Layer(material="pvc", thickness_mm=3.0))
    floor = (steel, Layer(material="carpet", thickness_mm=12.0))
    inner = "polished-aluminium"  # stands under bonnet and boot lid: neither sun nor sky
    return Cabin(
        name="dark sedan",
        volume_m3=car.volume_m3,
        length_m=4.7,
        faces={
            "roof": Face(area_m2=1.9, layers=lined, paint=car.paint, rib_spacing_mm=800.0),
            "left": Face(area_m2=1.7, layers=door, paint=car.paint, rib_spacing_mm=800.0),
            "right": Face(area_m2=1.7, layers=door, paint=car.paint, rib_spacing_mm=800.0),
            "front": Face(area_m2=1.0, layers=lined, paint=inner),
            "rear": Face(area_m2=1.0, layers=lined, paint=inner),
            "floor": Face(area_m2=3.0, layers=floor, paint="mid-grey"),
        },
        windows=(
            Window(face="front", area_m2=0.34 * car.glass_m2, glass="laminated-green", tilt_deg=30.0),
            Window(face="rear", area_m2=0.26 * car.glass_m2, glass=car.glass, tilt_deg=30.0),
            Window(face="left", area_m2=0.20 * car.glass_m2, glass=car.glass, tilt_deg=65.0),
            Window(face="right", area_m2=0.20 * car.glass_m2, glass=car.glass, tilt_deg=65.0),
        ),
        air_kj_k=car.air_kj_k,
        contents_kj_k=car.contents_kj_k,
        contents_w_k=car.contents_w_k,
        solar_to_contents=car.solar_to_contents,
        leakage_parked_per_h=car.leakage_per_h,
        leakage_wind_per_h=0.2,
    )


def clear_day(car: Car) -> Weather:
    """A clear day whose sun comes out at the start of the test: until then the car stands at ambient, as measured.

    Clear sky after Ineichen & Perez (2002), by pvlib; air at one temperature, as the measured rows state one.
    """
    from pvlib.location import Location

    index = hour_index(BAY)
    place = Location(BAY.latitude, BAY.longitude, tz="UTC", altitude=BAY.altitude)
    first = pd.Timestamp(f"2001-{DAY_OF_RUN}", tz=index.tz) + pd.Timedelta(hours=car.start_hour)
    hours = pd.DatetimeIndex(pd.date_range(first, periods=3, freq="h"))
    minutes = pd.DatetimeIndex(pd.date_range(first, periods=180, freq="min") + pd.Timedelta("30s"))
    with warnings.catch_warnings():
        warnings.simplefilter("ignore")  # pvlib 0.16 calls what pandas 3.1 deprecates
        sun = place.get_clearsky(minutes, model="ineichen", linke_turbidity=car.turbidity)
    mean = sun.groupby(minutes.floor("h")).mean()
    black = STEFAN_BOLTZMANN * (car.ambient_c + ZERO_C_K) ** 4
    frame = pd.DataFrame(
        {
            "ghi": 0.0,
            "dni": 0.0,
            "dhi": 0.0,
            "longwave": black,
            "temp_air": car.ambient_c,
            "temp_dew": car.dew_c,
            "pressure": 101000.0,
            "wind_speed": car.wind_10m_m_s,
            "sky_cover": 0.0,
            "albedo": 0.15,
        },
        index=index,
    )
    frame.loc[hours, ["ghi", "dni", "dhi"]] = mean[["ghi", "dni", "dhi"]].to_numpy()
    frame.loc[hours, "longwave"] = black * clear_sky_emissivity(np.full(3, car.dew_c), car.start_hour + np.arange(3.0))
    closure = Closure(shift_min=(0.0,), rms_w_m2=(0.0,), verdict="nothing to check")
    return Weather(data=frame, site=BAY, kind="invented", source="clear sky", closure=closure)


def scenario(car: Car) -> Scenario:
    """The car alone: nobody in it, nothing switched on."""
    parts: dict[str, Any] = {
        "title": "a closed sedan in the sun",
        "cabin": cabin(car),
        "bank": Bank(unit=BankUnit(chemistry="lfp", capacity_ah=100.0), location="outside"),
        "day": (Day(segment=(PlanSegment(start="00:00", end="00:00", people="out", dogs="out"),)),),
        "run": RunWindow(date=DAY_OF_RUN, start=f"{car.start_hour:02d}:00", days=1),
        "site": Pitch(
            heading_deg=car.heading_deg,
            wind_shelter_factor=car.shelter,
            wind_exponent=0.22,
            ground=car.ground,
        ),
    }
    return Scenario(**parts)


def rise_k(car: Car, minutes: tuple[int, ...] = (10, 20, 30, 60)) -> np.ndarray:
    """Rise of the air in the car above ambient after some minutes in the sun [K], from a whole `simulate`."""
    trace = simulate(scenario(car), clear_day(car)).trace("1min")
    return np.array([trace["cabin_c"].iloc[m - 1] - car.ambient_c for m in minutes])


RANGES: dict[str, tuple[Any, Any]] = {
    "volume_m3": (2.6, 3.2),
    "glass_m2": (2.5, 3.3),
    "glass": ("privacy", "clear"),
    "paint": ("dark-cool", "black"),
    "air_kj_k": (5.0, 20.0),
    "contents_kj_k": (60.0, 140.0),
    "contents_w_k": (35.0, 90.0),
    "solar_to_contents": (0.5, 0.85),
    "lining_mm": (4.0, 12.0),
    "leakage_per_h": (0.1, 1.4),
    "wind_10m_m_s": (1.0, 6.0),
    "start_hour": (10, 14),
    "heading_deg": (90.0, 270.0),
    "ambient_c": (22.2, 30.6),
    "dew_c": (6.0, 14.0),
    "turbidity": (2.2, 4.5),
    "ground": ("grass", "dry-soil"),
}
"""Plausible low and high of each unknown: leakage from 0.1 to Knibbs's 1.4 per hour, ambient over the measured rows,
glass from factory-tinted behind the pillars to plain clear."""


def one_at_a_time(base: Car = Car()) -> pd.DataFrame:
    """Rise at 10, 20, 30, 60 min with each unknown at its low and high, the others at their middle [K]."""
    rows = {("as described", ""): rise_k(base)}
    for name, ends in RANGES.items():
        for end in ends:
            rows[(name, str(end))] = rise_k(replace(base, **{name: end}))
    return pd.DataFrame(rows, index=pd.Index([10, 20, 30, 60], name="minutes")).T


def drawn(n: int, seed: int = 20260101) -> np.ndarray:
    """Rises of `n` cars drawn with all numbers at random within their ranges, shape (n, 4) [K]."""
    rng = np.random.default_rng(seed)
    rises = []
    for _ in range(n):
        change: dict[str, Any] = {}
        for name, (low, high) in RANGES.items():
            if isinstance(low, str):
                change[name] = rng.choice([low, getattr(Car(), name), high])
            elif isinstance(low, int):
                change[name] = int(rng.integers(low, high + 1))
            else:
                change[name] = float(rng.uniform(low, high))
        rises.append(rise_k(replace(Car(), **change)))
    return np.array(rises)
