"""The cooler: rated point, the coil's air against psychrolib, map against balance, what speeds are worth."""

from __future__ import annotations

import numpy as np
import psychrolib
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from tests.support.vans import cooler
from vansim.errors import PhysicsError
from vansim.psychrometrics import enthalpy_j_kg, saturation_ratio
from vansim.scenario.parts import library
from vansim.van.cooler import Cooler, RatedPoint, cooler_map, cooler_parameters
from vansim.van.cooler_balance import BOOST, ECO, AirState, coil_contact, coil_mass_flow_kg_s, steady_state
from vansim.van.cooler_map import FIRST_CABIN_C, STEP_CABIN_K, STEP_RATIO, running

psychrolib.SetUnitSystem(psychrolib.SI)
PA = 101325.0
MACHINE = cooler_parameters(cooler())
MAP = cooler_map(cooler())

OUTDOOR, CABIN, RH = st.floats(18.0, 48.0), st.floats(16.0, 60.0), st.floats(0.02, 0.9)
MODE = st.sampled_from([ECO, BOOST])


def ratio_at(temp: float, rh: float) -> float:
    return min(psychrolib.GetHumRatioFromRelHum(temp, rh, PA), 0.034)


def test_rated_point_comes_back() -> None:
    """Where the condenser draws in its rated 35 °C, the machine gives its data sheet: net capacity, power with fans."""
    ratio = ratio_at(26.7, 0.5)
    _, _, condensing, gross, work = steady_state(MACHINE, BOOST, AirState(34.0, 26.7, ratio, PA))
    assert gross - 40.0 == pytest.approx(2900.0, rel=1e-3)
    assert work + MACHINE.fans_w[BOOST] == pytest.approx(1250.0, rel=1e-3)
    assert condensing == pytest.approx(50.0, abs=0.05)


@given(MODE, OUTDOOR, CABIN, RH)
@settings(max_examples=200)
def test_energy_of_the_air_through_the_coil(mode: int, outdoor: float, cabin: float, rh: float) -> None:
    """Air that touches the surface leaves saturated, the rest as it came; enthalpies by psychrolib."""
    ratio = ratio_at(cabin, rh)
    surface, _, _, gross, _ = steady_state(MACHINE, mode, AirState(outdoor, cabin, ratio, PA))
    flow = MACHINE.airflow_m3_s[mode] / psychrolib.GetMoistAirVolume(cabin, ratio, PA)
    contact = coil_contact(MACHINE.coil_ntu_kg_s, flow)
    leaving = min(ratio, psychrolib.GetHumRatioFromRelHum(surface, 1.0, PA))
    after_c = cabin + contact * (surface - cabin)
    after_ratio = ratio + contact * (leaving - ratio)
    change = psychrolib.GetMoistAirEnthalpy(cabin, ratio) - psychrolib.GetMoistAirEnthalpy(after_c, after_ratio)
    # mixing by mass: temperature is not exactly linear in the mix, as the two parts differ in humidity
    assert flow * change == pytest.approx(gross, rel=0.004, abs=2.0)


@given(MODE, OUTDOOR, CABIN, RH)
@settings(max_examples=200)
def test_balance_is_a_balance(mode: int, outdoor: float, cabin: float, rh: float) -> None:
    """Condenser rejects cooling and work; work is not below the ideal machine's; limits are kept."""
    ratio = ratio_at(cabin, rh)
    surface, evaporating, condensing, gross, work = steady_state(MACHINE, mode, AirState(outdoor, cabin, ratio, PA))
    assert surface <= cabin + 1e-9
    assert condensing <= 66.0 + 1e-3
    if gross > 1.0:
        assert (gross + work) / MACHINE.condenser_w_k[mode] == pytest.approx(
            condensing - outdoor - 1.0, rel=1e-3, abs=2e-3
        )
        lift = condensing - evaporating
        if lift > 8.0:
            assert gross / work < (evaporating + 273.15) / lift


def random_states(cooler: Cooler, n: int) -> np.ndarray:
    """Map against balance over the whole grid, limits and all: power and total cooling, read over solved less one."""
    machine, read_from, rng, rows = cooler_parameters(cooler), cooler_map(cooler), np.random.default_rng(11), []
    for _ in range(n):
        mode, outdoor, cabin = int(rng.integers(2)), rng.uniform(-5.0, 59.0), rng.uniform(12.0, 69.0)
        ratio = ratio_at(cabin, rng.uniform(0.02, 0.9))
        state = steady_state(machine, mode, AirState(outdoor, cabin, ratio, PA))
        flow = coil_mass_flow_kg_s(machine.airflow_m3_s[mode], cabin, ratio, PA)
        contact = flow * coil_contact(machine.coil_ntu_kg_s, flow)
        water = contact * max(0.0, ratio - saturation_ratio(state.surface_c, PA))
        total = contact * (1006.0 + 1860.0 * ratio) * (cabin - state.surface_c) + 2.45e6 * water
        read = running(read_from, mode, outdoor, cabin, ratio)
        power = state.compressor_w + machine.fans_w[mode]
        found = read.sensible_w + machine.coil_fan_w[mode] + 2.45e6 * read.water_kg_s
        rows.append((read.power_w / power - 1.0, found / total - 1.0))
    return np.array(rows)


@pytest.mark.parametrize("name", ["test", "roof-12v-3kw", "split-48v-3500w"])
def test_map_reads_what_the_balance_solves(name: str) -> None:
    """Ten thousand states anywhere on the grid, at its limits of frost, heat and power too: within 1 % at the worst."""
    part = cooler() if name == "test" else library().part("coolers", name)
    assert isinstance(part, Cooler)
    rows = random_states(part, 10_000)
    assert np.abs(rows).max() < 0.01
    assert np.sqrt((rows**2).mean(axis=0)).max() < 1.5e-3


def test_limits_act_in_the_map_as_they_are_said() -> None:
    """Power limit, frost limit and condensing limit are met exactly, each where it decides."""
    machine = cooler_parameters(cooler(power_max_w=1200.0))
    limited = cooler_map(cooler(power_max_w=1200.0))
    strong = running(limited, BOOST, 41.3, 31.7, 0.0113)
    assert strong.power_w == pytest.approx(1200.0, abs=1e-9)
    assert (strong.power_per_k, strong.power_per_ratio) == (0.0, 0.0)
    cold = running(MAP, BOOST, 18.4, 15.3, 0.0037)
    flow = coil_mass_flow_kg_s(machine.airflow_m3_s[BOOST], 15.3, 0.0037, PA)
    contact = flow * coil_contact(machine.coil_ntu_kg_s, flow)
    assert cold.sensible_w + 40.0 == pytest.approx(contact * (1006.0 + 1860.0 * 0.0037) * 14.3, rel=1e-3)
    hot = steady_state(MACHINE, BOOST, AirState(57.7, 30.0, 0.012, PA))
    assert hot.condensing_c == pytest.approx(66.0, abs=1e-6)
    assert running(MAP, BOOST, 57.7, 30.0, 0.012).power_w == pytest.approx(
        hot.compressor_w + MACHINE.fans_w[BOOST], rel=0.01
    )


@given(MODE, OUTDOOR, CABIN, RH)
@settings(max_examples=200)
def test_slopes_of_the_map(mode: int, outdoor: float, cabin: float, rh: float) -> None:
    """Slopes are the differences of the values: exact within a cell, so both neighbours must lie in it."""
    ratio = ratio_at(cabin, rh)
    here = running(MAP, mode, outdoor, cabin, ratio)
    dk, dw = 1e-5, 1e-9
    up, damp = running(MAP, mode, outdoor, cabin + dk, ratio), running(MAP, mode, outdoor, cabin, ratio + dw)
    same_cell = np.floor((cabin - FIRST_CABIN_C) / STEP_CABIN_K) == np.floor(
        (cabin + dk - FIRST_CABIN_C) / STEP_CABIN_K
    )
    same_cell &= np.floor(ratio / STEP_RATIO) == np.floor((ratio + dw) / STEP_RATIO)
    # nor may a limit begin to act between them
    same_cell &= abs(up.power_w - here.power_w) < 1.0 and abs(up.power_per_k - here.power_per_k) < 0.1
    if same_cell and (here.water_kg_s > 0.0) == (up.water_kg_s > 0.0) == (damp.water_kg_s > 0.0):
        assert here.sensible_per_k == pytest.approx((up.sensible_w - here.sensible_w) / dk, rel=2e-3, abs=0.05)
        assert here.power_per_k == pytest.approx((up.power_w - here.power_w) / dk, rel=2e-3, abs=0.05)
        assert here.sensible_per_ratio == pytest.approx((damp.sensible_w - here.sensible_w) / dw, rel=5e-3, abs=50.0)
        assert here.water_per_k == pytest.approx((up.water_kg_s - here.water_kg_s) / dk, rel=5e-3, abs=1e-8)


def test_more_lift_costs_more_and_gives_less() -> None:
    outdoor = np.arange(20.0, 50.0, 3.0)
    ratio = ratio_at(25.0, 0.5)
    states = [steady_state(MACHINE, BOOST, AirState(t, 25.0, ratio, PA)) for t in outdoor]
    gross, cop = np.array([s[3] for s in states]), np.array([s[3] / s[4] for s in states])
    assert (np.diff(gross) < 0.0).all()
    assert (np.diff(cop) < 0.0).all()


@given(MODE, OUTDOOR, CABIN, RH)
@settings(max_examples=50)
def test_a_warmer_intake_is_warmer_air(mode: int, outdoor: float, cabin: float, rh: float) -> None:
    """Five kelvin of recirculation are five kelvin of outdoor air, and cost 2 to 4 % of COP each in the free range."""
    ratio = ratio_at(cabin, rh)
    hooded = cooler_parameters(cooler(intake_rise_k=6.0))
    here, there = (
        steady_state(machine, mode, AirState(t, cabin, ratio, PA))
        for machine, t in ((hooded, outdoor), (MACHINE, outdoor + 5.0))
    )
    assert here.gross_w == pytest.approx(there.gross_w, rel=1e-6)
    assert here.compressor_w == pytest.approx(there.compressor_w, rel=1e-6)


def test_intake_costs_cop() -> None:
    """Each kelvin of condensing costs 3.4 to 3.8 % of COP on the open map at 45 to 60 °C (tests/published)."""
    air = AirState(35.0, 25.0, ratio_at(25.0, 0.5), PA)
    for mode in (ECO, BOOST):
        plain, hooded = (steady_state(cooler_parameters(cooler(intake_rise_k=k)), mode, air) for k in (0.0, 2.0))
        loss = 1.0 - hooded.gross_w / hooded.compressor_w / (plain.gross_w / plain.compressor_w)
        assert 0.02 < 0.5 * loss < 0.04


@given(MODE, OUTDOOR, CABIN, RH, st.floats(-3.0, 8.0))
@settings(max_examples=100)
def test_frost_limit_is_the_coldest_surface(mode: int, outdoor: float, cabin: float, rh: float, frost: float) -> None:
    """The balance holds the surface at the limit, where it would else be colder."""
    ratio = ratio_at(cabin, rh)
    free, held = (
        steady_state(MACHINE._replace(frost_c=limit), mode, AirState(outdoor, cabin, ratio, PA)).surface_c
        for limit in (-40.0, frost)
    )
    assert held == pytest.approx(max(free, frost), abs=1e-6)


def test_eco_is_the_more_efficient_speed() -> None:
    """Less flow through the same exchangers, so less lift; nothing else is put in."""
    ratio = ratio_at(25.0, 0.5)
    for outdoor in (25.0, 30.0, 35.0, 40.0):
        eco, boost = (steady_state(MACHINE, mode, AirState(outdoor, 25.0, ratio, PA)) for mode in (ECO, BOOST))
        assert eco[3] / eco[4] > boost[3] / boost[4]
        assert eco[3] < boost[3]


def test_dry_air_gives_no_condensate() -> None:
    assert running(MAP, BOOST, 35.0, 27.0, 0.002).water_kg_s == 0.0
    assert running(MAP, BOOST, 35.0, 27.0, 0.016).water_kg_s > 0.0


def test_coil_does_not_freeze() -> None:
    """In cool, dry air the surface is held at the frost limit and the compressor slows."""
    surface, _, _, gross, work = steady_state(MACHINE, BOOST, AirState(18.0, 16.0, 0.004, PA))
    assert surface == pytest.approx(1.0)
    assert 0.0 < gross
    assert work > 0.0


@pytest.mark.published
def test_sensible_share_sets_the_coil() -> None:
    """2000 W from 0.1 m3/s at 26.667 / 19.444 degC with SHR 0.75: ADP 13.01 degC, bypass 0.072 (by psychrolib)."""
    rh = psychrolib.GetRelHumFromTWetBulb(26.667, 19.444, PA)
    machine = cooler_parameters(
        Cooler(
            rated=RatedPoint(cabin_c=26.667, cabin_rh=rh, capacity_w=1960.0, power_w=900.0),
            airflow_m3_h=360.0,
            sensible_share=0.75,
        )
    )
    ratio = ratio_at(26.667, rh)
    surface, _, _, gross, _ = steady_state(machine, BOOST, AirState(34.0, 26.667, ratio, PA))
    flow = coil_mass_flow_kg_s(0.1, 26.667, ratio, PA)
    assert surface == pytest.approx(13.01, abs=0.1)
    assert gross == pytest.approx(2000.0, rel=2e-3)
    assert flow == pytest.approx(0.11566, rel=1e-3)
    assert 1.0 - coil_contact(machine.coil_ntu_kg_s, flow) == pytest.approx(0.072, abs=0.005)
    assert enthalpy_j_kg(26.667, ratio) == pytest.approx(55306.0, abs=60.0)


@pytest.mark.parametrize(
    "changes",
    [
        {"sensible_share": 0.80},  # no wet coil line at 26.7 degC, 50 % meets saturation there
        {"airflow_m3_h": 100.0},  # the surface would ice up
        {"rated": RatedPoint(capacity_w=2900.0, power_w=400.0)},  # better than any machine
        {"rated": RatedPoint(capacity_w=2900.0, power_w=90.0)},  # fans alone take it
    ],
)
def test_impossible_machines_are_refused(changes: dict[str, object]) -> None:
    with pytest.raises((PhysicsError, ValueError)):
        cooler(**changes)
