"""The thermostat, its timers and the start-up ramp against closed forms.

A lumped cabin C [J/K] under a constant load L with a cooler of constant capacity Q: t_on = C dT / (Q - L),
t_off = C dT / L, duty = L / Q; most cycles at L = Q / 2, N_max = Q / (4 C dT) (from memory: the thermostat law behind
the part-load factor of ARI/AHRI 210/240, derived again here).
"""

from __future__ import annotations

import math

import numpy as np
import pytest

from tests.support.vans import constant_cooler, parameters, plain_house, start_state, steady_forcing
from vansim.march.records import STARTED, STOPPED
from vansim.runs.run import march_forcing


def cycle(load_w: float, capacity_w: float, heat_j_k: float, hours: int = 48, **house: float) -> dict[str, float]:
    """Mean on and off times, duty, and the range of the cabin, once settled."""
    forcing = steady_forcing(hours, outdoor_c=30.0, internal_gains_w=load_w, cooling=1)
    state, cooler = start_state(24.0), constant_cooler(capacity_w, 800.0)
    van = parameters(plain_house(air_j_k=heat_j_k, **house), cooler)
    march_forcing(forcing, van, state)
    moments = np.arange(5.0, min(hours, 48) * 3600.0, 5.0)
    totals, samples, events, _ = march_forcing(forcing, van, state, moments=moments, n_events=20_000)
    starts, stops = events.time_s[events.kind == STARTED], events.time_s[events.kind == STOPPED]
    stops = stops[(stops > starts[0]) & (stops < starts[-1])]
    on, off = stops - starts[:-1], starts[1:] - stops
    return {
        "on_s": on.mean(),
        "off_s": off.mean(),
        "spread_s": max(np.ptp(on), np.ptp(off)),
        "duty": on.sum() / (on.sum() + off.sum()),
        "low_c": samples.cabin_c.min(),
        "high_c": samples.cabin_c.max(),
        "cooler_j": totals.cooler_j.sum(),
        "on_total_s": totals.on_s.sum(),
        "sensible_j": totals.sensible_j.sum(),
        "steady_j": totals.steady_j.sum(),
    }


@pytest.mark.parametrize(
    ("heat_kj_k", "deadband_k", "load_w", "on_s", "off_s"),
    [
        (200.0, 1.0, 800.0, 166.667, 250.0),
        (200.0, 1.0, 500.0, 133.333, 400.0),
        (400.0, 1.0, 800.0, 333.333, 500.0),
        (200.0, 2.0, 1000.0, 400.0, 400.0),
    ],
)
def test_free_cycling(heat_kj_k: float, deadband_k: float, load_w: float, on_s: float, off_s: float) -> None:
    got = cycle(load_w, 2000.0, heat_kj_k * 1e3, deadband_k=deadband_k)
    assert got["on_s"] == pytest.approx(on_s, rel=1e-3)
    assert got["off_s"] == pytest.approx(off_s, rel=1e-3)
    assert got["duty"] == pytest.approx(load_w / 2000.0, rel=1e-3)
    assert got["spread_s"] < 0.01
    assert got["cooler_j"] == pytest.approx(800.0 * got["on_total_s"], rel=1e-9)
    assert got["sensible_j"] == pytest.approx(got["steady_j"], rel=1e-4)


@pytest.mark.parametrize("load_w", [800.0, 500.0])
def test_timers_bind(load_w: float) -> None:
    """3 min on and 5 min off (three thermostats' manuals): the cabin swings wider than its band, duty stays L/Q."""
    heat, capacity, min_on, min_off = 2e5, 2000.0, 180.0, 300.0
    got = cycle(load_w, capacity, heat, min_on_s=min_on, min_off_s=min_off)
    assert got["duty"] == pytest.approx(load_w / capacity, rel=1e-3)
    on, off = heat / (capacity - load_w), heat / load_w
    if off < min_off:
        # off for 300 s: above the band; then cooled down to its bottom, at least for 180 s
        assert got["off_s"] == pytest.approx(min_off, rel=1e-3)
        assert got["on_s"] == pytest.approx(load_w * min_off / (capacity - load_w), rel=1e-3)
        assert got["high_c"] == pytest.approx(23.5 + load_w * min_off / heat, abs=0.02)
    else:
        # on for 180 s: below the band; then warmed up to its top
        assert on < min_on
        assert got["on_s"] == pytest.approx(min_on, rel=1e-3)
        assert got["off_s"] == pytest.approx((capacity - load_w) * min_on / load_w, rel=1e-3)
        assert got["low_c"] == pytest.approx(24.5 - (capacity - load_w) * min_on / heat, abs=0.03)


def test_starts_per_hour_bind() -> None:
    """At most 4 starts an hour: 900 s from start to start."""
    got = cycle(1000.0, 2000.0, 2e5, between_starts_s=900.0)
    assert got["on_s"] + got["off_s"] == pytest.approx(900.0, rel=1e-6)
    # it settles into a long and a short run in turn, so duty is taken over the whole time
    assert got["on_total_s"] == pytest.approx(0.5 * 48 * 3600.0, rel=1e-3)


@pytest.mark.parametrize(
    ("tau_s", "n_max", "plf"),
    [
        (30.0, 3.0, {0.10: 0.9100, 0.25: 0.9250, 0.50: 0.9500, 0.75: 0.9750}),
        (60.0, 3.0, {0.10: 0.8207, 0.25: 0.8502, 0.50: 0.9000, 0.75: 0.9500}),
        (76.0, 3.125, {0.10: 0.7660, 0.25: 0.8033, 0.50: 0.8681, 0.75: 0.9340}),
        (90.0, 3.0, {0.10: 0.7367, 0.25: 0.7776, 0.50: 0.8502, 0.75: 0.9250}),
        (60.0, 6.0, {0.10: 0.6624, 0.25: 0.7107, 0.50: 0.8013, 0.75: 0.9000}),
    ],
)
def test_part_load_factor_of_a_starting_cooler(tau_s: float, n_max: float, plf: dict[float, float]) -> None:
    """PLF = 1 - a (1 - exp(-1/a)), a = 4 tau N_max (1 - X): capacity rises as 1 - exp(-t/tau), power is full at once.

    The table is that closed form; the heat capacity is chosen so that the cycle rate is 4 N_max X (1 - X).
    """
    capacity = 2000.0
    for duty, factor in plf.items():
        on = 3600.0 / (4.0 * n_max * (1.0 - duty))
        off = on * (1.0 - duty) / duty
        load = duty * factor * capacity
        # while capacity builds up the cabin still warms: the band that gives this on-time, counted from start to stop
        got = cycle(load, capacity, load * off, hours=720, ramp_s=tau_s)
        assert got["off_s"] == pytest.approx(off, rel=2e-3)
        assert got["on_s"] == pytest.approx(on, rel=2e-3)
        assert load / capacity / got["duty"] == pytest.approx(factor, rel=1e-3)
        assert got["sensible_j"] / got["steady_j"] == pytest.approx(factor, rel=1e-3)


def test_pull_down() -> None:
    """From 60 to 26 degC: t = tau ln((T0 - Tinf) / (T1 - Tinf)); 138.175 min."""
    forcing = steady_forcing(4, outdoor_c=38.0, ua_w_k=60.0, internal_gains_w=200.0, cooling=2, setpoint_c=26.5)
    state = start_state(60.0)
    house = plain_house(air_j_k=6e5)
    events = march_forcing(forcing, parameters(house, constant_cooler(2500.0, 1000.0)), state, n_events=10).events
    t = 6e5 / 60.0 * math.log((60.0 + 1.0 / 3.0) / (26.0 + 1.0 / 3.0))
    assert t / 60.0 == pytest.approx(138.175, abs=1e-3)
    assert events.time_s[events.kind == STOPPED][0] == pytest.approx(t, rel=1e-4)


def test_vapour_of_a_closed_cabin() -> None:
    """One node of moisture: W = We + (W0 - We) exp(-t m'/M), We = Wo + vapour / m'."""
    flow, mass, vapour_w = 0.01, 100.0, 100.0
    forcing = steady_forcing(
        12, outdoor_c=35.0, outdoor_ratio=0.008, air_kg_s=flow, people_w=vapour_w / 0.348, setpoint_c=24.0
    )
    # heat stores so large that the cabin stays at 24 degC, where 0.348 of a body's heat is latent
    house = plain_house(air_j_k=1e15, moisture_kg=mass)
    state = start_state(24.0, ratio=0.005)
    march_forcing(forcing, parameters(house, constant_cooler(2000.0, 800.0)), state)
    end = 0.008 + vapour_w / 2.43e6 / flow
    exact = end + (0.005 - end) * math.exp(-12 * 3600.0 * flow / mass)
    assert state.ratio == pytest.approx(exact, rel=1e-4)
