"""Random vans, days and windows; every combination that the schema allows."""

from __future__ import annotations

from typing import Any

from hypothesis import strategies as st

from tests.support.vans import cabin, cooler
from vansim.scenario.schema import Day, Occupants, Pitch, PlanSegment, RunWindow, Scenario, VehicleCooling
from vansim.van.bank import Bank, BankUnit
from vansim.van.charging import Alternator, ShoreCharger, ShorePower, SolarArray
from vansim.van.cooler import Speed
from vansim.van.cooler_thermostat import Thermostat
from vansim.van.loads import DailyHours, Inverter, Load
from vansim.van.people import Dog, Person


def clock(minute: int) -> str:
    """``"HH:MM"``."""
    return f"{minute // 60 % 24:02d}:{minute % 60:02d}"


@st.composite
def segments(draw: st.DrawFn) -> dict[str, Any]:
    """A segment without its hours."""
    doing = draw(st.sampled_from(["parked", "parked", "parked", "idling", "driving"]))
    return {
        "doing": doing,
        "speed_kmh": draw(st.floats(20.0, 120.0)) if doing == "driving" else 0.0,
        "shade": draw(st.sampled_from([0.0, 0.3, 1.0])),
        "heading_deg": draw(st.one_of(st.none(), st.sampled_from([0.0, 90.0, 217.0]))),
        "covers": draw(st.booleans()),
        "window_open": draw(st.booleans()),
        "fan": draw(st.sampled_from(["off", "on", "auto"])),
        "cooling": draw(st.sampled_from(["off", "eco", "boost", "boost_then_eco"])),
        "vehicle_cooling": doing != "parked" and draw(st.booleans()),
        "setpoint_c": draw(st.one_of(st.none(), st.floats(18.0, 30.0))),
        "people": draw(st.sampled_from(["awake", "asleep", "out"])),
        "dogs": draw(st.sampled_from(["awake", "asleep", "out"])),
        "shore": doing != "driving" and draw(st.booleans()),
    }


@st.composite
def days(draw: st.DrawFn) -> Day:
    """One to four segments at odd minutes."""
    edges = sorted(draw(st.sets(st.integers(0, 1439), min_size=1, max_size=4)))
    parts = [draw(segments()) for _ in edges]
    ends = [*edges[1:], edges[0]]
    return Day(
        segment=tuple(
            PlanSegment(start=clock(a), end=clock(b), **p) for a, b, p in zip(edges, ends, parts, strict=True)
        )
    )


@st.composite
def banks(draw: st.DrawFn) -> Bank:
    """AGM or LFP, small and large, young and old."""
    unit = BankUnit(
        chemistry=draw(st.sampled_from(["lfp", "agm"])), capacity_ah=draw(st.sampled_from([50.0, 100.0, 280.0]))
    )
    return Bank(
        unit=unit,
        parallel=draw(st.integers(1, 8)),
        start_soc=draw(st.floats(0.0, 1.0)),
        reserve_soc=draw(st.sampled_from([0.0, 0.1, 0.5])),
        state_of_health=draw(st.sampled_from([0.6, 1.0])),
        location=draw(st.sampled_from(["cabin", "outside"])),
        cable_mohm=draw(st.sampled_from([0.0, 1.0, 5.0])),
    )


@st.composite
def loads(draw: st.DrawFn) -> tuple[Load, ...]:
    """A fridge, a kettle on the inverter, lights at night; or not."""
    return tuple(
        load
        for load in (
            Load(name="fridge", power_w=draw(st.floats(10.0, 90.0)), duty=0.4),
            Load(
                name="kettle",
                power_w=draw(st.floats(200.0, 1500.0)),
                supply="ac",
                heat_to_cabin=0.8,
                hours=(DailyHours(start="07:10", end="07:17"),),
            ),
            Load(name="lights", power_w=20.0, hours=(DailyHours(start="21:00", end="00:30"),)),
        )
        if draw(st.booleans())
    )


@st.composite
def scenarios(draw: st.DrawFn, max_days: int = 2) -> Scenario:
    """A van, its day, and a window of the year."""
    machine = cooler(
        min_on_s=draw(st.sampled_from([0.0, 180.0, 400.0])),
        min_off_s=draw(st.sampled_from([0.0, 180.0, 300.0])),
        max_starts_per_h=draw(st.sampled_from([4.0, 10.0, 60.0])),
        ramp_s=draw(st.sampled_from([1.0, 45.0, 200.0])),
        eco=Speed(compressor=draw(st.sampled_from([0.4, 0.66])), coil_air=0.65, condenser_air=0.85),
    )
    month, day = draw(st.integers(1, 12)), draw(st.integers(1, 28))
    return Scenario(
        run=RunWindow(
            date=f"{month:02d}-{day:02d}", start=clock(draw(st.integers(0, 1439))), days=draw(st.integers(1, max_days))
        ),
        site=Pitch(
            heading_deg=draw(st.sampled_from([0.0, 135.0])), wind_shelter_factor=draw(st.sampled_from([0.0, 0.7]))
        ),
        cabin=cabin(
            contents_kj_k=draw(st.sampled_from([60.0, 400.0, 1500.0])),
            contents_w_k=draw(st.sampled_from([20.0, 120.0, 800.0])),
            air_kj_k=draw(st.sampled_from([20.0, 90.0, 300.0])),
            moisture_buffer=draw(st.sampled_from([1.0, 10.0, 60.0])),
        ),
        occupants=Occupants(
            people=tuple(Person() for _ in range(draw(st.integers(0, 4)))),
            dogs=tuple(Dog(mass_kg=draw(st.floats(3.0, 60.0))) for _ in range(draw(st.integers(0, 2)))),
        ),
        cooler=machine,
        thermostat=Thermostat(deadband_k=draw(st.sampled_from([0.4, 1.0, 3.0]))),
        bank=draw(banks()),
        alternator=draw(st.one_of(st.none(), st.just(Alternator(idle_a=60.0, road_a=180.0, vehicle_a=40.0)))),
        solar=draw(st.one_of(st.none(), st.builds(SolarArray, rated_w=st.floats(50.0, 800.0), area_m2=st.just(3.0)))),
        charger=ShoreCharger(output_a=draw(st.sampled_from([5.0, 60.0]))),
        shore=ShorePower(breaker_a=draw(st.sampled_from([6.0, 30.0]))),
        vehicle_cooling=VehicleCooling(capacity_w=draw(st.sampled_from([500.0, 4000.0]))),
        inverter=Inverter(),
        loads=draw(loads()),
        day=(draw(days()),),
    )
