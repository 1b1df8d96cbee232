"""Each heat path by itself against its closed form, everything else switched off; to 0.1 %.

Forcing is checked through whole scenarios in made-up, constant weather; formulas are written out here by hand from the
sources that they are named after.
"""

from __future__ import annotations

import math
from typing import Any

import numpy as np
import pytest

from tests.support.vans import box, cabin, idle_van, made_weather
from vansim.climate import Weather
from vansim.runs.result import Result
from vansim.runs.run import march_run, prepare
from vansim.scenario.schema import Day, Occupants, Pitch, PlanSegment, Scenario
from vansim.van.bank import Bank, BankUnit
from vansim.van.cabin import Face, Layer, Opening, Window
from vansim.van.loads import Load
from vansim.van.people import Dog, Person

SIGMA = 5.670374419e-8
FILMS_IN = {"roof": 0.17, "left": 0.13, "right": 0.13, "front": 0.13, "rear": 0.13, "floor": 0.10}  # ISO 6946 table 7


def ran(scenario: Scenario, weather: Weather, cabin_c: float | None = None) -> Result:
    run = prepare(scenario, weather, lead_in_days=0)
    marched = march_run(run)
    if cabin_c is not None:
        state = marched.start.copy()
        state.cabin_c = state.contents_c = cabin_c
        marched = march_run(run, state)
    return Result(run, marched)


def day(**segment: Any) -> tuple[Day, ...]:
    return (Day(segment=(PlanSegment(start="00:00", end="00:00", **segment),)),)


def held(scenario: Scenario, weather: Weather, cabin_c: float) -> Result:
    """Run with heat stores so large that the cabin stays where it is."""
    still = scenario.cabin.model_copy(update={"air_kj_k": 1e12, "contents_kj_k": 1e12})
    return ran(scenario.model_copy(update={"cabin": still}), weather, cabin_c)


@pytest.mark.parametrize("wind", [0.0, 4.0])
def test_conduction_is_u_a_dt(wind: float) -> None:
    """Sum of U A (to - ti); U from ISO 6946 films and layers; outside h = 4 + 4 v, and radiation 4 eps sigma T^3."""
    to, ti, r = 40.0, 25.0, 0.5
    scenario = idle_van(cabin=box(r), site=Pitch(wind_exponent=0.0, wind_shelter_factor=1.0))
    hourly = held(scenario, made_weather(to, wind_speed=wind), ti).hourly
    eps = scenario.cabin.faces["roof"].emittance
    outside = 4.0 + 4.0 * wind + 4.0 * eps * SIGMA * (to + 273.15) ** 3
    expected = sum(6.0 / (r + film + 1.0 / outside) for film in FILMS_IN.values()) * (to - ti)
    assert hourly["faces_w"].to_numpy() == pytest.approx(expected, rel=1e-3)
    assert abs(hourly["sensible_w"]).max() == 0.0


def test_u_value_of_a_rib_path() -> None:
    """The zone method written out: 2 mm of steel through 28 mm of foam, a flange of 40 mm below 6 mm of plywood."""
    ribbed = Face(
        area_m2=6.0,
        layers=(Layer(material="polyurethane-foam", thickness_mm=28.0), Layer(material="plywood", thickness_mm=6.0)),
        rib_spacing_mm=500.0,
    )
    foam, ply = (layer.resistance_m2k_w for layer in ribbed.layers)
    wide = 40.0 + 2.0 * 13.0
    through = 1.0 / (2.0 / wide * 50.0 / 0.028 + (1.0 - 2.0 / wide) / foam)
    expected = wide / 500.0 / (through + ply + 0.17) + (1.0 - wide / 500.0) / (foam + ply + 0.17)
    assert ribbed.u_w_m2k(0.13, 0.04) == pytest.approx(expected, rel=1e-12)
    low, high = ribbed.u_limits_w_m2k(0.13, 0.04)
    assert low == pytest.approx(0.004 / (0.028 / 50.0 + ply + 0.17) + 0.996 / (foam + ply + 0.17), rel=1e-12)
    assert high == pytest.approx(1.0 / (1.0 / (0.004 * 50.0 / 0.028 + 0.996 / foam) + ply + 0.17), rel=1e-12)
    with_strip = ribbed.model_copy(update={"rib_break_m2k_w": 0.15})
    assert with_strip.u_w_m2k(0.13, 0.04) < ribbed.u_w_m2k(0.13, 0.04)


def test_sol_air_of_a_shaded_sky() -> None:
    """Sun and sky on a roof: alpha I + eps L = h (Ts - to) + eps sigma Ts^4 is solved here by bisection."""
    to, ghi, longwave, wind = 35.0, 800.0, 380.0, 2.0
    # all light diffuse and the same in every hour, so that no position of the sun enters
    weather = made_weather(to, ghi=ghi, dhi=ghi, longwave=longwave, wind_speed=wind)
    huge = Face(area_m2=6.0, layers=(Layer(r_m2k_w=1e9),))
    faces = {**dict.fromkeys(FILMS_IN, huge), "roof": Face(area_m2=6.0, layers=(Layer(r_m2k_w=0.5),), paint="white")}
    scenario = idle_van(
        cabin=box(faces=faces), site=Pitch(wind_exponent=0.0, wind_shelter_factor=1.0), run={"date": "06-21"}
    )
    got = held(scenario, weather, 30.0)
    noon = got.hourly[got.hourly.index.hour == 12]
    alpha, eps, h = faces["roof"].absorptance, faces["roof"].emittance, 4.0 + 4.0 * wind
    low, high = 0.0, 120.0
    for _ in range(100):
        ts = 0.5 * (low + high)
        surplus = alpha * ghi + eps * (longwave - SIGMA * (ts + 273.15) ** 4) - h * (ts - to)
        low, high = (ts, high) if surplus > 0.0 else (low, ts)
    outside = h + 4.0 * eps * SIGMA * (ts + 273.15) ** 3
    expected = 6.0 / (0.5 + 0.17 + 1.0 / outside) * (ts - 30.0)
    assert noon["faces_w"].iloc[0] == pytest.approx(expected, rel=1e-3)


@pytest.mark.parametrize(("speed", "opened", "wind"), [(0.0, False, 3.0), (0.0, True, 2.0), (90.0, False, 0.0)])
def test_leakage(speed: float, opened: bool, wind: float) -> None:
    """Q = V rho (cp,a + W cp,v) (to - ti), rho as dry air from the gas law; V from cracks, and from a window 0.3 m by
    0.5 m after de Gids & Phaff: (A/2) sqrt(0.001 U2 + 0.0035 H dT + 0.01).
    """
    to, ti, dew = 38.0, 26.0, 12.0
    window = Opening(width_mm=300.0, height_mm=500.0)
    leaky = box(1e9, leakage_parked_per_h=0.5, leakage_wind_per_h=0.1, leakage_moving_per_h=8.0, openings=(window,))
    driving = {"doing": "driving", "speed_kmh": speed} if speed else {}
    scenario = idle_van(
        cabin=leaky, site=Pitch(wind_exponent=0.0, wind_shelter_factor=1.0), day=day(window_open=opened, **driving)
    )
    got = held(scenario, made_weather(to, dew, wind_speed=wind), ti)
    ach = 0.5 + 0.1 * wind + 8.0 * speed / 100.0
    flow = ach * 10.0 / 3600.0
    through = 0.15 / 2.0 * math.sqrt(0.001 * wind**2 + 0.0035 * 0.5 * (to - ti) + 0.01) if opened else 0.0
    vapour = 611.2 * math.exp(17.62 * dew / (243.12 + dew))  # Magnus, WMO-No. 8
    ratio = 0.621945 * vapour / (101325.0 - vapour)
    rho = 101325.0 / (287.042 * (to + 273.15) * (1.0 + ratio / 0.621945))
    per_m3 = rho * (1006.0 + 1860.0 * ratio) * (to - ti)
    assert got.hourly["air_exchange_w"].to_numpy() == pytest.approx((flow + through) * per_m3, rel=1e-3)
    assert got.intervals["opening_w"].to_numpy() == pytest.approx(through * per_m3, rel=1e-3)


@pytest.mark.parametrize(("name", "inward", "outward"), [("roof", 0.17, 0.10), ("floor", 0.10, 0.17)])
def test_inside_films_turn_with_the_direction_of_heat(name: str, inward: float, outward: float) -> None:
    """ISO 6946 table 7: heat comes down through a roof at 0.17 and leaves upward at 0.10; through a floor, the other
    way round.
    """
    huge = Face(area_m2=6.0, layers=(Layer(r_m2k_w=1e9),))
    faces = {**dict.fromkeys(FILMS_IN, huge), name: Face(area_m2=6.0, layers=(Layer(r_m2k_w=0.3),))}
    scenario = idle_van(cabin=box(faces=faces))
    for ti, film in ((20.0, inward), (40.0, outward)):
        got = held(scenario, made_weather(30.0), ti).hourly
        outside = 4.0 + 4.0 * faces[name].emittance * SIGMA * 303.15**3
        expected = 6.0 / (0.3 + film + 1.0 / outside) * (30.0 - ti)
        assert got["faces_w"].to_numpy() == pytest.approx(expected, rel=1e-3)


def test_a_cold_roof_in_still_air() -> None:
    """Under a cold sky the roof's cold air lies on it: h = 0.52 Ra^0.2 k / L, solved here by bisection."""
    to, longwave = 20.0, 300.0
    plate = Face(area_m2=6.0, layers=(Layer(r_m2k_w=1e9),))
    scenario = idle_van(cabin=box(faces=dict.fromkeys(FILMS_IN, plate), length_m=3.0))
    gains = prepare(scenario, made_weather(to, longwave=longwave), 0).laid.gains
    size, eps = 6.0 / (2.0 * (3.0 + 2.0)), plate.emittance
    low, high = -40.0, to
    for _ in range(100):
        ts = 0.5 * (low + high)
        h = 0.52 * (9.81 / 293.0 * (to - ts) * size**3 / (1.52e-5 * 2.14e-5)) ** 0.2 * 0.0257 / size
        surplus = eps * (longwave - SIGMA * (ts + 273.15) ** 4) + h * (to - ts)
        low, high = (ts, high) if surplus > 0.0 else (low, ts)
    excess = gains.sol_air_gain_w[:, 0] / gains.ua_w_k[:, 0]
    assert excess == pytest.approx(ts - to, abs=1e-4)
    assert h < 1.6


def test_roof_fan() -> None:
    """The fan's flow, like leakage; and its power on the bank."""
    to, ti = 20.0, 30.0
    scenario = idle_van(cabin=box(1e9, fan_m3_h=400.0, fan_w=25.0), day=day(fan="on"))
    got = held(scenario, made_weather(to, -40.0), ti).hourly
    expected = 400.0 / 3600.0 * 101325.0 / (287.042 * (to + 273.15)) * 1006.0 * (to - ti)
    assert got["air_exchange_w"].to_numpy() == pytest.approx(expected, rel=1e-3)
    assert got["bank_w"].to_numpy() == pytest.approx(-25.0, rel=1e-9)


def test_glass_conducts_and_transmits() -> None:
    """Diffuse light only, half of the sky and half of the ground on an upright pane: A g E f_diffuse.

    g = tau + N alpha, N = (R_out + R/2)/(R_in + R + R_out); of it tau reaches what is inside as light.
    """
    dhi, albedo, to = 200.0, 0.2, 30.0
    pane = Window(face="left", area_m2=1.5, glass="green")
    weather = made_weather(to, ghi=dhi, dhi=dhi, albedo=albedo)
    van = idle_van(cabin=box(1e9, windows=(pane,), solar_to_contents=1.0), run={"date": "06-21"})
    got = held(van, weather, to)
    forcing = prepare(van, weather, 0).laid.forcing
    from vansim.data import table

    glass = table("glass")
    factor = glass["angle"]["diffuse_shgc"] / glass["angle"]["shgc"][0]
    light = dhi * (1.0 + math.cos(math.pi / 2)) / 2.0 + albedo * dhi * 0.5
    passed, absorbed = pane.solar_split
    assert passed + absorbed == pytest.approx(0.925, abs=1e-12)
    noon = got.hourly[got.hourly.index.hour == 12]
    film = 1.0 / forcing.ua_w_k[12] * 1.5 - 0.13 - (1.0 / 5.8 - 0.17)
    ua = 1.5 / (0.13 + (1.0 / 5.8 - 0.17) + film)
    outside_c = to + forcing.sol_air_gain_w[12] / ua  # sky and ground are not at 30 °C, nor is the pane between them
    assert 1.0 / film == pytest.approx(4.0 + 0.84 * 4.0 * SIGMA * (outside_c + 273.15) ** 3, rel=1e-6)
    assert forcing.ua_w_k[12] == pytest.approx(ua, rel=1e-9)
    inward = (film + 0.5 * (1.0 / 5.8 - 0.17)) * ua / 1.5
    g = passed + inward * absorbed
    assert noon["glass_solar_w"].iloc[0] == pytest.approx(1.5 * g * factor * light, rel=1e-3)
    assert forcing.sun_contents_w[12] == pytest.approx(1.5 * passed * factor * light, rel=1e-3)
    assert pane.shgc < g < pane.shgc + 0.1  # calm air: more of what the pane absorbs comes in than its declaration has


@pytest.mark.parametrize(("doing", "per_m2"), [("awake", 60.0), ("asleep", 40.0)])
def test_people(doing: str, per_m2: float) -> None:
    """Two people of 1.9 m2 (DuBois), 40 or 60 W/m2 (ASHRAE Fundamentals ch. 9); dry share 0.652 at 24 degC (Jones)."""
    scenario = idle_van(
        cabin=box(1e9), occupants=Occupants(people=(Person(), Person())), day=day(people=doing, dogs="out")
    )
    result = held(scenario, made_weather(24.0, 5.0), 24.0)
    total = 2 * 0.202 * 75.0**0.425 * 1.75**0.725 * per_m2
    assert result.hourly["people_w"].to_numpy() == pytest.approx(0.652 * total, rel=1e-3)
    water = result.marched.totals.vapour_kg.sum() / 24.0
    assert water == pytest.approx(0.348 * total / 2430e3 * 3600.0, rel=1e-3)


def test_nobody_home() -> None:
    scenario = idle_van(
        cabin=box(1e9),
        occupants=Occupants(people=(Person(),), dogs=(Dog(mass_kg=30.0),)),
        day=day(people="out", dogs="out"),
    )
    assert abs(held(scenario, made_weather(24.0, 5.0), 24.0).hourly["people_w"]).max() == 0.0


def test_equipment_and_the_inverters_loss() -> None:
    """DC load; AC load over 0.88 with 15 W idle, its loss warms the cabin."""
    loads = (
        Load(name="fridge", power_w=50.0, duty=0.4, heat_to_cabin=1.0),
        Load(name="kettle", power_w=100.0, supply="ac", heat_to_cabin=0.5),
    )
    got = held(
        idle_van(
            cabin=box(1e9),
            loads=loads,
            bank=Bank(unit=BankUnit(chemistry="lfp", capacity_ah=1000.0), location="outside"),
        ),
        made_weather(24.0),
        24.0,
    ).hourly
    dc = 100.0 / 0.88 + 15.0
    assert got["loads_w"].to_numpy() == pytest.approx(20.0 + dc, rel=1e-9)
    assert got["equipment_w"].to_numpy() == pytest.approx(20.0 + 50.0 + dc - 100.0, rel=1e-9)


def test_heat_of_the_bank() -> None:
    """I^2 R: the bank's resistance warms the cabin in which it stands; R I^2 - OCV I + P = 0 at the terminals."""
    unit = BankUnit(chemistry="lfp", capacity_ah=400.0, resistance_mohm=20.0)
    bank = Bank(unit=unit, parallel=1, cable_mohm=0.0, start_soc=0.9)
    loads = (Load(name="heater outside", power_w=600.0, heat_to_cabin=0.0),)
    scenario = idle_van(cabin=box(1e9), bank=bank, loads=loads, run={"date": "07-15", "start": "12:00", "days": 1})
    got = held(scenario, made_weather(25.0), 25.0)
    first = got.hourly.iloc[1]  # the heat of a piece reaches the cabin in the next, so not the first hour
    # OCV at the middle of the hour, from the table of the chemistry
    soc = 0.5 * (got.hourly["soc"].iloc[0] + first["soc"])
    ocv = 4 * float(np.interp(soc, [0.70, 0.75, 0.80, 0.90], [3.305, 3.322, 3.328, 3.331]))
    amps = (ocv - math.sqrt(ocv**2 - 4 * 0.020 * 600.0)) / (2 * 0.020)
    assert first["bank_to_cabin_w"] == pytest.approx(0.020 * amps**2, rel=1e-3)
    assert first["bank_a"] == pytest.approx(-amps, rel=1e-3)


def test_vehicle_cooling_holds_its_band() -> None:
    """Proportional over 4 K: Q = capacity (T - setpoint) / 4 K, balanced by conduction."""
    scenario = idle_van(
        cabin=box(0.5, contents_kj_k=50.0), day=day(doing="idling", vehicle_cooling=True), run={"date": "07-15"}
    )
    last = ran(scenario, made_weather(40.0)).hourly.iloc[-1]
    outside = 4.0 + 4.0 * scenario.cabin.faces["roof"].emittance * SIGMA * 313.15**3
    ua = sum(6.0 / (0.5 + film + 1.0 / outside) for film in FILMS_IN.values())
    gain = 4000.0 / 4.0
    steady = (ua * 40.0 + gain * 24.0) / (ua + gain)
    assert last["cabin_c"] == pytest.approx(steady, rel=1e-4)
    assert last["vehicle_w"] == pytest.approx(-ua * (40.0 - steady), rel=1e-3)


def test_shade_and_covers_take_what_they_say(desert_year: Weather) -> None:
    """Full shade leaves no beam: sun through glass falls to the covered share of diffuse light."""
    plain = prepare(idle_van(cabin=cabin(), day=day()), desert_year, 0).laid.forcing
    covered = prepare(idle_van(cabin=cabin(), day=day(covers=True)), desert_year, 0).laid.forcing
    shaded = prepare(idle_van(cabin=cabin(), day=day(shade=1.0, sky_view_factor=0.0)), desert_year, 0).laid.forcing
    factor = cabin().windows[0].covered().shgc_factor
    sun = plain.sun_air_w + plain.sun_contents_w
    assert sun.max() > 300.0
    assert covered.sun_air_w + covered.sun_contents_w == pytest.approx(factor * sun, rel=1e-9, abs=1e-9)
    assert covered.sun_contents_w.max() == 0.0  # insulated covers let no light through: all of it is their own warmth
    assert plain.sun_contents_w.max() > 100.0
    assert np.abs(shaded.sun_air_w).max() == 0.0
