"""The bank's limits: cold charging, low voltage, lead-acid's acceptance, cold and rate, round trip, layout."""

from __future__ import annotations

from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from tests.support.vans import idle_van, made_weather
from vansim.runs.simulate import simulate
from vansim.scenario.schema import Day, PlanSegment
from vansim.van.bank import Bank, BankUnit, bank_parameters
from vansim.van.bank_steps import (
    BankParameters,
    absorption_v,
    bound_after,
    charge,
    charge_limit_a,
    current_for_power,
    discharge,
    energy_at,
    floor_soc,
    ocv_at,
    resistance_ohm,
)
from vansim.van.charging import Alternator


def bank(chemistry: str = "lfp", ah: float = 100.0, **changes: Any) -> Bank:
    unit = BankUnit(chemistry=chemistry, capacity_ah=ah)  # type: ignore[arg-type]
    return Bank(unit=unit, **{"location": "outside", **changes})


CHEMISTRY = st.sampled_from(["lfp", "agm"])
SOC = st.floats(0.0, 1.0)


@pytest.mark.published
@pytest.mark.parametrize("temp_c", [-20.0, -5.0, -4.9, -2.5, -1.0, -0.1, 60.1, 64.9])
def test_lithium_is_not_charged_outside_its_window(temp_c: float) -> None:
    """0 to 60 degC (cell specifications); metal plates below. Not even a little, just below freezing."""
    b = bank_parameters(bank())
    assert charge_limit_a(b, temp_c) == 0.0
    assert charge(b, 0.5, 500.0, temp_c, 600.0)[:2] == (0.5, 0.0)


@pytest.mark.parametrize("temp_c", [-17.0, 52.0])
def test_lead_acid_is_not_charged_outside_its_window(temp_c: float) -> None:
    """-15 to 50 degC, as its table says."""
    assert charge_limit_a(bank_parameters(bank("agm")), temp_c) == 0.0


@pytest.mark.parametrize(("temp_c", "share"), [(0.0, 0.2), (5.0, 0.6), (10.0, 1.0), (30.0, 1.0), (52.5, 0.5)])
def test_lithium_charges_gently_when_cold_or_hot(temp_c: float, share: float) -> None:
    """Share of the charge limit as its table says, straight lines between 0, 10, 45 and 60 degC."""
    assert charge_limit_a(bank_parameters(bank()), temp_c) == pytest.approx(share * 50.0)


def test_a_frozen_night_on_the_engine() -> None:
    """A whole run: the alternator offers 60 A all day at -8 degC; lithium takes nothing, and loads are still fed."""
    day = (Day(segment=(PlanSegment(start="00:00", end="00:00", doing="idling"),)),)
    scenario = idle_van(bank=bank(start_soc=0.5), alternator=Alternator(idle_a=60.0, road_a=60.0), day=day)
    hourly = simulate(scenario, made_weather(-8.0)).hourly
    assert (hourly["bank_a"] == 0.0).all()
    assert (hourly["soc"] == 0.5).all()


@pytest.mark.published
def test_resistance_of_a_pack() -> None:
    """4 cells of 1.0 mOhm and 2 mOhm of switch and links for 100 Ah, four times as much at -20 degC, cable apart."""
    b = bank_parameters(bank(cable_mohm=1.0))
    assert resistance_ohm(b, 0.5, 0.0, 25.0) == pytest.approx(0.006 + 0.001)
    assert resistance_ohm(b, 0.5, 0.0, -20.0) == pytest.approx(4.0 * 0.006 + 0.001)
    twin = bank_parameters(bank(cable_mohm=1.0, parallel=2))
    assert resistance_ohm(twin, 0.5, 0.0, 25.0) == pytest.approx(0.003 + 0.001)


@pytest.mark.published
@pytest.mark.parametrize(("soc", "volts"), [(1.0, 12.9), (0.75, 12.6), (0.5, 12.3), (0.25, 12.0)])
def test_rested_lead_acid(soc: float, volts: float) -> None:
    """Rested AGM block, tables of the trade (they differ by 0.2 V)."""
    assert ocv_at(bank_parameters(bank("agm")), soc) == pytest.approx(volts, abs=0.2)


@pytest.mark.published
@pytest.mark.parametrize(("low", "high"), [(0.5, 0.9), (0.5, 0.98), (0.5, 1.0)])
def test_lead_acid_asks_for_a_tenth_more_than_it_gave(low: float, high: float) -> None:
    """1.05 to 1.15 Ah in for 1 Ah out in partial cycles (common practice; up to 98 % stored, conference abstract)."""
    b = bank_parameters(bank("agm"))._replace(acceptance_per_s=1.0, absorption_v=30.0)
    soc, passed = low, 0.0
    while soc < high - 1e-9:
        soc, amps, _, _, _, _ = charge(b, soc, 20.0, 25.0, 10.0)
        passed += amps * 10.0
    assert 1.02 <= passed / ((high - low) * b.capacity_as) <= 1.15


@given(CHEMISTRY, SOC, st.floats(0.0, 0.4), st.floats(0.0, 3000.0), st.floats(-20.0, 55.0), st.floats(1e-3, 600.0))
def test_discharge_keeps_its_books(
    chemistry: str, soc: float, bound: float, watts: float, temp: float, span: float
) -> None:
    """Stored energy = given + heat + lost; given is what was asked unless nothing more can be reached."""
    b = bank_parameters(bank(chemistry))
    end, amps, _, given_j, heat, lost = discharge(b, soc, bound, watts, temp, span)
    stored = (energy_at(b, soc) - energy_at(b, end)) * b.capacity_as
    assert 0.0 <= end <= soc
    assert amps <= 0.0
    assert min(heat, lost) >= -1e-6
    assert given_j + heat + lost == pytest.approx(stored, rel=1e-9, abs=1e-6)
    summit = ocv_at(b, soc) ** 2 / (4.0 * resistance_ohm(b, min(soc, end), bound, temp))
    if end > max(0.05, floor_soc(b, bound, temp) + 1e-9) and watts < 0.8 * summit:
        assert given_j == pytest.approx(watts * span, rel=1e-6, abs=1e-6)


@given(
    CHEMISTRY, SOC, st.one_of(st.just(0.0), st.floats(1e-9, 8000.0)), st.floats(-20.0, 65.0), st.floats(1e-3, 3600.0)
)
def test_charge_keeps_its_books(chemistry: str, soc: float, watts: float, temp: float, span: float) -> None:
    """Taken = stored + heat + not stored; never more than offered, than the charge limit, or than full."""
    b = bank_parameters(bank(chemistry))
    end, amps, _, taken, heat, lost = charge(b, soc, watts, temp, span)
    stored = (energy_at(b, end) - energy_at(b, soc)) * b.capacity_as
    assert soc <= end <= 1.0
    assert min(heat, lost) >= -1e-9
    assert taken == pytest.approx(stored + heat + lost, rel=1e-8, abs=1e-4)
    assert taken <= watts * span * (1 + 1e-6) + 1e-6
    assert amps <= charge_limit_a(b, temp) * (1 + 1e-9) + 1e-9


@given(CHEMISTRY, st.floats(0.5, 0.95), st.floats(10.0, 1500.0), st.floats(-5.0, 45.0))
def test_two_short_steps_are_a_long_one(chemistry: str, soc: float, watts: float, temp: float) -> None:
    """Above the last of the charge, where resistance rises within a step."""
    b = bank_parameters(bank(chemistry, ah=200.0))
    half = discharge(b, soc, 0.0, watts, temp, 30.0)
    twice = discharge(b, half[0], 0.0, watts, temp, 30.0)
    once = discharge(b, soc, 0.0, watts, temp, 60.0)
    assert once[0] == pytest.approx(twice[0], rel=1e-6, abs=1e-7)
    up = charge(b, soc, watts, temp, 600.0)
    first = charge(b, soc, watts, temp, 300.0)
    second = charge(b, first[0], watts, temp, 300.0)
    assert up[0] == pytest.approx(second[0], rel=2e-6, abs=2e-6)


@pytest.mark.published
@pytest.mark.parametrize(("rate", "low", "high"), [(0.1, 0.975, 0.997), (0.5, 0.92, 0.98)])
def test_lithium_round_trip(rate: float, low: float, high: float) -> None:
    """92 to 98 % for a pack at a usual rate (trade); cells 0.988 at C/10 and 0.956 at C/2 (DFN model of PyBaMM)."""
    b = bank_parameters(bank(cable_mohm=0.0))
    watts, soc, out_j, in_j = rate * 1280.0, 0.9, 0.0, 0.0
    while soc > 0.1:
        soc, _, _, joules, _, _ = discharge(b, soc, 0.0, watts, 25.0, 60.0)
        out_j += joules
    while soc < 0.9:
        soc, _, _, joules, _, _ = charge(b, soc, watts, 25.0, 60.0)
        in_j += joules
    assert low < out_j / in_j < high


@given(st.floats(10.0, 60.0), st.floats(1e-3, 0.1), st.floats(-2000.0, 8000.0))
def test_current_solves_the_quadratic(ocv: float, resistance: float, watts: float) -> None:
    amps = current_for_power(ocv, resistance, watts)
    if ocv * ocv + 4.0 * resistance * watts > 0.0:
        assert (ocv + amps * resistance) * amps == pytest.approx(watts, rel=1e-9, abs=1e-9)
    else:
        assert amps == -0.5 * ocv / resistance  # the most that can be drawn


@pytest.mark.parametrize(("series", "parallel", "unit_v"), [(1, 1, 12), (2, 3, 12), (4, 1, 12), (1, 2, 24), (1, 1, 48)])
def test_layout(series: int, parallel: int, unit_v: int) -> None:
    """Energy is units times the energy of one; voltage goes with series, charge with parallel."""

    def numbers(**layout: Any) -> BankParameters:
        unit = BankUnit(chemistry="lfp", capacity_ah=100.0, nominal_v=unit_v)  # type: ignore[arg-type]
        return bank_parameters(Bank(unit=unit, cable_mohm=0.0, **layout))

    one, many = numbers(), numbers(series=series, parallel=parallel)
    assert ocv_at(many, 0.5) == pytest.approx(series * ocv_at(one, 0.5))
    assert many.capacity_as == pytest.approx(parallel * one.capacity_as)
    assert resistance_ohm(many, 0.5, 0.0, 25.0) == pytest.approx(
        series / parallel * resistance_ohm(one, 0.5, 0.0, 25.0)
    )
    assert energy_at(many, 1.0) * many.capacity_as == pytest.approx(
        series * parallel * energy_at(one, 1.0) * one.capacity_as
    )


@pytest.mark.published
@pytest.mark.parametrize(("temp_f", "factor"), [(77.0, 1.0), (50.0, 1.19), (32.0, 1.40)])
def test_lead_acid_in_the_cold(temp_f: float, factor: float) -> None:
    """Cell size correction of IEEE 485 (from memory): 1.00 at 77 degF, 1.19 at 50 degF, about 1.4 at freezing.

    The count of charge is that of any other day; what can be reached of it is less.
    """
    b = bank_parameters(bank("agm", ah=1000.0))
    temp = (temp_f - 32.0) / 1.8
    assert 1.0 / (1.0 - floor_soc(b, 0.0, temp)) == pytest.approx(factor, rel=0.02)
    end, amps, _, _, _, lost = discharge(b, 0.8, 0.0, 100.0, temp, 3600.0)
    assert (0.8 - end) * 1000.0 == pytest.approx(-amps, rel=1e-9)
    assert lost == 0.0


@pytest.mark.parametrize("chemistry", ["lfp", "agm"])
def test_a_cold_bank_sags_more_and_gives_less(chemistry: str) -> None:
    """The same draw at -8 degC: terminals sag more, and the last of the charge cannot be reached."""
    b = bank_parameters(bank(chemistry, ah=1000.0))
    warm, cold = discharge(b, 0.8, 0.0, 200.0, 25.0, 3600.0), discharge(b, 0.8, 0.0, 200.0, -8.0, 3600.0)
    assert cold[2] < warm[2]
    assert floor_soc(b, 0.0, 25.0) == 0.0
    floor = floor_soc(b, 0.0, -8.0)
    assert floor > 0.1
    assert discharge(b, floor, 0.0, 200.0, -8.0, 60.0)[0] == floor


def test_a_cold_cycle_loses_nothing() -> None:
    """Down and up again at 10 degC: lithium asks for 0.3 % more charge than it gave, as in the warm."""
    b = bank_parameters(bank("lfp"))
    soc, out, into = 0.9, 0.0, 0.0
    while soc > 0.3:
        soc, amps, _, _, _, _ = discharge(b, soc, 0.0, 300.0, 10.0, 60.0)
        out -= amps
    while soc < 0.9:
        soc, amps, _, _, _, _ = charge(b, soc, 300.0, 10.0, 60.0)
        into += amps
    assert out / into == pytest.approx(0.997, abs=0.006)


@given(st.floats(0.0, 0.3), st.floats(0.0, 80.0), st.floats(1.0, 3600.0), st.floats(0.1, 0.9))
def test_two_stretches_bind_as_much_as_one(bound: float, amps: float, span: float, share: float) -> None:
    b = bank_parameters(bank("agm"))
    half = bound_after(b, bound, amps, share * span)
    assert bound_after(b, half, amps, (1.0 - share) * span) == pytest.approx(
        bound_after(b, bound, amps, span), abs=1e-12
    )


@pytest.mark.published
@pytest.mark.parametrize(("temp_c", "volts"), [(25.0, 14.5), (35.0, 14.32), (5.0, 14.86)])
def test_absorption_voltage_of_lead_acid_falls_as_it_warms(temp_c: float, volts: float) -> None:
    """-18 mV/K for a 12 V block about 25 degC (pages of the trade); lithium's stays."""
    assert absorption_v(bank_parameters(bank("agm")), temp_c) == pytest.approx(volts, abs=1e-9)
    assert absorption_v(bank_parameters(bank("lfp")), temp_c) == pytest.approx(14.4)
