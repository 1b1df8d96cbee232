"""Bank and charging by themselves against closed forms and quadrature; to 0.1 %."""

from __future__ import annotations

import math
from typing import Any

import numpy as np
import pytest
from scipy.integrate import quad, solve_ivp

from tests.support.vans import box, idle_van, made_weather
from vansim.runs.result import Result
from vansim.runs.run import march_run, prepare
from vansim.scenario.schema import Day, PlanSegment, Scenario
from vansim.van.bank import Bank, BankUnit, bank_parameters
from vansim.van.bank_steps import bound_after, charge, discharge, energy_at, floor_soc
from vansim.van.charging import Alternator, ShoreCharger, ShorePower
from vansim.van.loads import Inverter, Load

# Rest voltage of an LFP cell, the table of `chemistries.toml` written again.
SOC = [0.0, 0.05, 0.10, 0.20, 0.30, 0.40, 0.50, 0.60, 0.65, 0.70, 0.75, 0.80, 0.90, 0.95, 0.98, 1.0]
CELL_V = [2.60, 3.05, 3.19, 3.235, 3.265, 3.285, 3.290, 3.293, 3.296, 3.305, 3.322, 3.328, 3.331, 3.334, 3.345, 3.40]


def pack_ohm(soc: float) -> float:
    """4 mOhm of the unit, 1.3 and 1.8 times as much at 10 and 5 %, and 1 mOhm of cable."""
    return 0.004 * float(np.interp(soc, [0.05, 0.10, 0.20], [1.8, 1.3, 1.0])) + 0.001


def lfp(ah: float = 100.0, **changes: Any) -> Bank:
    """A 12 V bank of 5 mOhm."""
    unit = BankUnit(chemistry="lfp", capacity_ah=ah, resistance_mohm=4.0)
    return Bank(unit=unit, **{"cable_mohm": 1.0, "location": "outside", **changes})


def agm(ah: float = 100.0, **changes: Any) -> Bank:
    return Bank(unit=BankUnit(chemistry="agm", capacity_ah=ah), **{"cable_mohm": 0.0, "location": "outside", **changes})


def ran(scenario: Scenario, outdoor_c: float = 25.0) -> Result:
    run = prepare(scenario, made_weather(outdoor_c), lead_in_days=0)
    return Result(run, march_run(run))


def test_what_a_rate_leaves_comes_back() -> None:
    """Two wells by scipy: bound charge b' = (1 - c)/c I/C - k b, a draw of 50 A for an hour and a rest of three."""
    b = bank_parameters(agm())
    c = 1.0 / (1.0 + b.bound_share)
    drawn = bound_after(b, 0.0, 50.0, 3600.0)
    rested = bound_after(b, drawn, 0.0, 3 * 3600.0)
    exact = solve_ivp(
        lambda t, y: [(1 - c) / c * (50.0 if t < 3600.0 else 0.0) / b.capacity_as - b.recovery_per_s * y[0]],
        (0.0, 4 * 3600.0), [0.0], t_eval=[3600.0, 4 * 3600.0], rtol=1e-10, atol=1e-12, max_step=60.0,
    ).y[0]  # fmt: skip
    assert [drawn, rested] == pytest.approx(exact, rel=1e-4)
    assert floor_soc(b, drawn, 25.0) == pytest.approx(exact[0] - b.bound_spare, rel=1e-4)


def test_the_count_is_that_of_coulombs_at_any_rate() -> None:
    b = bank_parameters(agm())
    for watts in (25.0, 600.0):
        end = discharge(b, 0.9, 0.0, watts, 25.0, 600.0)
        assert 0.9 - end[0] == pytest.approx(-end[1] * 600.0 / b.capacity_as, rel=1e-9)


@pytest.mark.parametrize("watts", [100.0, 400.0, 1000.0])
def test_constant_power_discharge_of_the_measured_curve(watts: float) -> None:
    """Time is the integral of C d(soc) / I, I = (E - sqrt(E^2 - 4 R P)) / 2R, by scipy."""
    b = bank_parameters(lfp())

    def seconds_per_soc(soc: float) -> float:
        e, resistance = 4.0 * np.interp(soc, SOC, CELL_V), pack_ohm(soc)
        return 360000.0 * 2.0 * resistance / (e - math.sqrt(e * e - 4.0 * resistance * watts))

    exact, _ = quad(seconds_per_soc, 0.1, 1.0, points=SOC[3:-1], epsabs=1e-8, epsrel=1e-11)
    soc, t = 1.0, 0.0
    while True:
        after = discharge(b, soc, 0.0, watts, 25.0, 300.0)
        if after[0] < 0.1:
            t += 300.0 * (soc - 0.1) / (soc - after[0])
            break
        soc, t = after[0], t + 300.0
    assert t == pytest.approx(exact, rel=1e-3)


def test_runtime_of_a_whole_run() -> None:
    """The same, through a scenario: the hour at which soc passes 0.1 under a load of 400 W."""
    loads = (Load(name="heater outside", power_w=400.0, heat_to_cabin=0.0),)
    trace = ran(idle_van(bank=lfp(200.0), loads=loads)).trace("1min")

    def seconds_per_soc(soc: float) -> float:
        e = 4.0 * np.interp(soc, SOC, CELL_V)
        return 720000.0 * 2.0 * pack_ohm(soc) / (e - math.sqrt(e * e - 4.0 * pack_ohm(soc) * 400.0))

    exact, _ = quad(seconds_per_soc, 0.1, 1.0, points=SOC[3:-1], epsabs=1e-8, epsrel=1e-11)
    passed = trace.index[trace["soc"] < 0.1][0]
    minutes = (passed - trace.index[0]).total_seconds() / 60.0 + 1.0
    assert minutes - 1.0 <= exact / 60.0 * 1.001
    assert minutes >= exact / 60.0 * 0.999


def test_energy_is_the_integral_of_the_curve() -> None:
    b = bank_parameters(lfp())
    for soc in (0.003, 0.05, 0.5, 0.99, 1.0):
        points = [p for p in SOC if 0.0 < p < soc]
        exact, _ = quad(lambda s: 4.0 * np.interp(s, SOC, CELL_V), 0.0, soc, points=points or None)
        assert energy_at(b, soc) == pytest.approx(exact, rel=1e-9)


def test_absorption_taper_of_lithium() -> None:
    """At a held voltage on a straight piece of the curve the current falls as exp(-t/tau), tau = R C / (E' eta)."""
    b = bank_parameters(lfp())._replace(absorption_v=13.55)
    slope = 4.0 * (3.40 - 3.345) / 0.02  # last piece, V per unit of soc
    start, eta = 0.985, 0.997
    tau = 0.005 * 360000.0 / (slope * eta)
    first = (b.absorption_v - 4.0 * (3.345 + (3.40 - 3.345) * (start - 0.98) / 0.02)) / 0.005
    b = b._replace(charge_max_a=1e4)
    for t in (0.5 * tau, tau, 3.0 * tau):
        soc, mean_a, _, taken, heat, lost = charge(b, start, 1e5, 25.0, t)
        passed = first * tau * (1.0 - math.exp(-t / tau))
        assert mean_a * t == pytest.approx(passed, rel=1e-6)
        assert soc - start == pytest.approx(passed * eta / 360000.0, rel=1e-6)
        assert heat == pytest.approx(0.005 * first**2 * tau / 2.0 * (1.0 - math.exp(-2.0 * t / tau)), rel=1e-6)
        stored = (energy_at(b, soc) - energy_at(b, start)) * 360000.0
        assert taken == pytest.approx(stored + heat + lost, rel=1e-9)
        # at a held voltage the energy is that voltage times the charge
        assert taken == pytest.approx(13.55 * passed, rel=1e-6)


def test_acceptance_of_lead_acid() -> None:
    """I <= alpha (1 - soc) C with alpha 1.3 / h: 1 - soc falls as exp(-alpha eta t) within a piece of constant eta."""
    b = bank_parameters(agm())._replace(absorption_v=20.0, charge_max_a=1e4)
    start = 0.92
    piece = b.curve[0]
    i = int(np.searchsorted(piece, start, side="right")) - 1
    eta = b.curve[3, i]
    assert 0.85 < eta < 0.98  # between its points at 80 and 95 %
    rate = 1.3 / 3600.0 * eta
    soc, mean_a, _, _, _, _ = charge(b, start, 1e5, 25.0, 30.0)
    exact = 1.0 - (1.0 - start) * math.exp(-rate * 30.0)
    assert soc - start == pytest.approx(exact - start, rel=1e-6)
    assert mean_a == pytest.approx(1.3 * (1.0 - 0.5 * (start + soc)) * 100.0, rel=1e-3)


def segment(**what: Any) -> tuple[Day, ...]:
    return (Day(segment=(PlanSegment(start="00:00", end="00:00", **what),)),)


@pytest.mark.parametrize(("doing", "cold_a", "power"), [("idling", 150.0, 1.0), ("driving", 270.0, 0.5)])
def test_an_alternator_warms_up(doing: str, cold_a: float, power: float) -> None:
    """Windings go to 120 K over air of 34 degC in 12 min; copper, and its root on the road. The hours by scipy."""
    part = Alternator(idle_a=150.0, road_a=270.0, vehicle_a=10.0)
    days = (
        Day(
            segment=(
                PlanSegment(start="00:00", end="10:00"),
                PlanSegment(start="10:00", end="13:00", doing=doing, speed_kmh=80.0 if doing == "driving" else 0.0),
                PlanSegment(start="13:00", end="24:00"),
            )
        ),
    )
    unit = BankUnit(chemistry="lfp", capacity_ah=10_000.0, resistance_mohm=0.01)  # the voltage hardly moves
    big = Bank(unit=unit, cable_mohm=0.0, location="outside", start_soc=0.4)
    scenario = idle_van(bank=big, alternator=part, day=days, run={"date": "07-15", "start": "00:00", "days": 1})
    got = ran(scenario, 34.0).hourly["bank_a"]

    def amps(t: float) -> float:
        over = 34.0 + 120.0 * (1.0 - math.exp(-t / 720.0)) - 25.0
        return cold_a / (1.0 + 0.00393 * over) ** power - 10.0

    for hour in range(3):
        mean, _ = quad(amps, hour * 3600.0, (hour + 1) * 3600.0)
        assert got.iloc[10 + hour] == pytest.approx(mean / 3600.0, rel=2e-3)
    assert got.iloc[12] == pytest.approx(cold_a / (1.0 + 0.00393 * 129.0) ** power - 10.0, rel=1e-3)


def test_a_charger_behind_the_alternator() -> None:
    """Nine tenths of what it is given, up to its limit."""
    day, big = segment(doing="driving", speed_kmh=80.0), lfp(10_000.0, start_soc=0.4)
    for limit, expected in ((0.0, 100.0 * 0.9), (60.0, 60.0)):
        part = Alternator(
            idle_a=60.0, road_a=100.0, bonnet_rise_k=0.0, own_rise_k=0.0, converter_efficiency=0.9, converter_a=limit
        )
        got = ran(idle_van(bank=big, alternator=part, day=day), 20.0).hourly
        assert got["bank_a"].iloc[5] == pytest.approx(expected, rel=1e-3)
        assert got["alternator_w"].iloc[5] == pytest.approx(got["bank_w"].iloc[5], rel=1e-9)


def test_shore_power_behind_a_breaker() -> None:
    """80 % of 6 A at 120 V (NEC 210.20), AC loads first, 88 % through the charger."""
    scenario = idle_van(
        bank=lfp(10_000.0, start_soc=0.4),
        shore=ShorePower(breaker_a=6.0, mains_v=120.0),
        charger=ShoreCharger(output_a=100.0, efficiency=0.88),
        loads=(Load(name="kettle", power_w=100.0, supply="ac"),),
        day=segment(shore=True),
    )
    got = ran(scenario).hourly
    assert got["bank_w"].iloc[5] == pytest.approx((0.8 * 6.0 * 120.0 - 100.0) * 0.88, rel=1e-6)
    assert got["pedestal_w"].iloc[5] == pytest.approx(0.8 * 6.0 * 120.0, rel=1e-6)
    assert got["loads_w"].iloc[5] == 0.0


def test_loads_that_a_breaker_does_not_carry_go_through_the_inverter() -> None:
    """3 kW on 576 W: the rest from the bank through 88 % and its idle draw; or, above its rating, from nobody."""
    plugged = {"shore": ShorePower(breaker_a=6.0, mains_v=120.0), "charger": ShoreCharger(output_a=100.0)}
    parts = {"bank": lfp(10_000.0, start_soc=0.4), "day": segment(shore=True), **plugged}
    parts["loads"] = (Load(name="heater", power_w=3000.0, supply="ac", heat_to_cabin=0.0),)
    got = ran(idle_van(**parts)).hourly.iloc[5]
    assert got["loads_w"] == pytest.approx((3000.0 - 576.0) / 0.88 + 15.0)
    assert got["pedestal_w"] == pytest.approx(576.0)
    assert got["bank_w"] == pytest.approx(-got["loads_w"])
    small = ran(idle_van(**parts, inverter=Inverter(rated_w=2000.0)))
    got = small.hourly.iloc[5]
    assert got["unserved_w"] == got["loads_w"] - 15.0 == pytest.approx(3000.0)
    assert {note.code for note in small.warnings} == {"mains-loads-refused"}
    # a tenth of the time is not a tenth of the power: half of it goes beyond the breaker all the same
    parts["loads"] = (Load(name="heater", power_w=3000.0, duty=0.1, supply="ac", heat_to_cabin=0.0),)
    got = ran(idle_van(**parts)).hourly.iloc[5]
    assert got["loads_w"] == pytest.approx(0.1 * (3000.0 - 576.0) / 0.88 + 15.0)
    assert got["pedestal_w"] == pytest.approx(576.0, rel=1e-6)
    for balance in (small.balance, ran(idle_van(**parts)).balance):
        assert all(abs(gap) < 1e-12 for gap in balance.values())


def test_idle_bank_keeps_its_charge() -> None:
    got = ran(idle_van(bank=lfp(start_soc=0.5), cabin=box())).hourly
    assert got["soc"].to_numpy() == pytest.approx(0.5, abs=1e-12)
