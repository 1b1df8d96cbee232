"""The closed form of a piece against the matrix exponential and against scipy's integrator, over random pieces.

x' = A x + p + q t + g exp(-t/tau) is, with the drives as further states, a linear system without a drive, so the matrix
exponential (scipy, Al-Mohy & Higham 2009) gives x and its integral exactly.
"""

from __future__ import annotations

import itertools
import math
from decimal import Decimal, getcontext

import numpy as np
import pytest
from hypothesis import assume, given, settings
from hypothesis import strategies as st
from scipy.integrate import solve_ivp
from scipy.linalg import expm

from vansim.march.network import advance, air_and_slope, deviation, first_crossing, mean_fade, phi, two_node_solution

PIECE = st.fixed_dictionaries(
    {
        "loss_w_k": st.floats(0.05, 4000.0),
        "coupling_w_k": st.floats(5.0, 1500.0),
        "air_j_k": st.floats(2e4, 5e5),
        "contents_j_k": st.floats(5e4, 4e6),
        "air_w": st.floats(-4000.0, 4000.0),
        "contents_w": st.floats(-2000.0, 2000.0),
        "drift_w_s": st.floats(-0.5, 0.5),
        "ramp_w": st.one_of(st.just(0.0), st.floats(-3000.0, 3000.0)),
        "tau_s": st.floats(5.0, 600.0),
    }
)
REAL = PIECE.map(lambda p: p | {"ramp_w": abs(p["ramp_w"]), "drift_w_s": 0.2 * p["drift_w_s"]})
"""A cooler that ramps up only ever takes more heat, and outdoor air drifts by kelvins an hour."""
SPAN = st.one_of(st.floats(1e-6, 1.0), st.floats(1.0, 300.0), st.floats(300.0, 7200.0))


def by_matrix(p: dict[str, float], t: float) -> np.ndarray:
    """(air, contents, their integrals) by the exponential of a 7 x 7 matrix, time in units of t."""
    ca, cc, h, u = p["air_j_k"], p["contents_j_k"], p["coupling_w_k"], p["loss_w_k"]
    m = np.zeros((7, 7))  # air, contents, integral of each, 1, t/T, exp(-t/tau)
    m[0] = [-(u + h) / ca, h / ca, 0, 0, p["air_w"] / ca, p["drift_w_s"] * t / ca, p["ramp_w"] / ca]
    m[1] = [h / cc, -h / cc, 0, 0, p["contents_w"] / cc, 0, 0]
    m[2, 0] = m[3, 1] = 1.0
    m[5, 4] = 1.0 / t
    m[6, 6] = -1.0 / p["tau_s"]
    return (expm(m * t) @ np.array([0, 0, 0, 0, 1.0, 0.0, 1.0]))[:4]


def scale(p: dict[str, float], t: float) -> float:
    """Largest deviation that the drives could bring about [K]."""
    drive = abs(p["air_w"]) + abs(p["ramp_w"]) + abs(p["drift_w_s"]) * t
    return drive * t / p["air_j_k"] + abs(p["contents_w"]) * t / p["contents_j_k"] + 1e-12


@given(PIECE, SPAN)
@settings(max_examples=200)
def test_deviation_and_integral(p: dict[str, float], t: float) -> None:
    m = two_node_solution(**p)
    # the closed form moves tau a little off resonance: allow for what that shift does
    shifted = 1e-5 if m.tau != p["tau_s"] else 0.0
    exact = by_matrix(p, t)
    size = scale(p, t)
    ours = np.array(advance(m, t))
    # the ramp's terms are differences of near-equal numbers where t is far below tau: rounding, in K and K s
    tau, rounding = p["tau_s"], 1e-15 * abs(p["ramp_w"]) / p["air_j_k"] * p["tau_s"]
    rounding *= max(1.0, 1.0 / max(abs(m.fast.rate * tau + 1.0), 1e-6), 1.0 / max(abs(m.slow.rate * tau + 1.0), 1e-6))
    allowed = np.array([size, size, size * t, size * t]) * (1e-9 + shifted) + rounding * np.array(
        [1, 1, t + tau, t + tau]
    )
    assert np.all(np.abs(ours - exact) <= allowed)


@given(PIECE, st.floats(1.0, 2000.0))
@settings(max_examples=100)
def test_mean_fade_is_the_weighted_mean(p: dict[str, float], t: float) -> None:
    """Against Gauss-Legendre quadrature of the closed form, itself held to the matrix exponential above."""
    m = two_node_solution(**p)
    nodes, weights = np.polynomial.legendre.leggauss(40)
    # in stretches short against the ramp and the fast mode, so that every one is smooth
    edges = np.linspace(0.0, t, 2 + int(t / min(m.tau, -1.0 / m.fast.rate)))
    times = np.concatenate([0.5 * (a + b) + 0.5 * (b - a) * nodes for a, b in itertools.pairwise(edges)])
    each = np.concatenate([0.5 * (b - a) * weights for a, b in itertools.pairwise(edges)])
    air = np.array([deviation(m, s)[0] for s in times])
    plain, faded = each @ air, each @ (air * np.exp(-times / m.tau))
    if abs(plain) < 2e-3 * t:
        assert 0.0 <= mean_fade(m, t) <= 1.0
    else:
        lost = 1e-9 * scale(p, t) * t / abs(plain)
        assert mean_fade(m, t) == pytest.approx(min(max(faded / plain, 0.0), 1.0), abs=1e-7 + lost)


@given(PIECE, st.floats(-4e-7, 4e-7), st.floats(1.0, 2000.0))
@settings(max_examples=100)
def test_resonance_of_ramp_and_fast_mode(p: dict[str, float], off: float, t: float) -> None:
    """The ramp fading exactly as the fast mode does, or nearly so."""
    p = {**p, "ramp_w": 2000.0}
    tau = -1.0 / two_node_solution(**p).fast.rate * (1.0 + off)
    p["tau_s"] = tau
    ours, exact = np.array(deviation(two_node_solution(**p), t)), by_matrix(p, t)[:2]
    assert np.all(np.abs(ours - exact) <= 2e-5 * scale(p, min(t, 20.0 * tau)))


@given(PIECE, st.floats(2e-6, 1e-3), st.floats(1.0, 2000.0))
@settings(max_examples=100)
def test_close_to_resonance(p: dict[str, float], off: float, t: float) -> None:
    p = {**p, "ramp_w": 2000.0}
    p["tau_s"] = -1.0 / two_node_solution(**p).fast.rate * (1.0 + off)
    ours, exact = np.array(deviation(two_node_solution(**p), t)), by_matrix(p, t)[:2]
    rounding = 1e-15 * 2000.0 / p["air_j_k"] * p["tau_s"] / off
    assert np.all(np.abs(ours - exact) <= 1e-9 * scale(p, t) + rounding)


@given(st.one_of(st.floats(-1e-12, 0.0), st.floats(-0.06, 0.0), st.floats(-700.0, 0.0)))
def test_phi_functions(z: float) -> None:
    """phi_k(z) = sum over n of z^n / (n + k)!, for small z; by their definition with 60 digits otherwise."""
    getcontext().prec = 60
    x = Decimal(z)
    if z == 0.0:
        exact = [Decimal(1), Decimal("0.5"), Decimal(1) / 6]
    elif abs(z) < 1e-3:
        exact = [sum(x**n / math.factorial(n + k) for n in range(12)) for k in (1, 2, 3)]
    else:
        one = (x.exp() - 1) / x
        two = (one - 1) / x
        exact = [one, two, (two - Decimal("0.5")) / x]
    assert phi(z) == pytest.approx([float(e) for e in exact], rel=2e-12)


@given(PIECE, SPAN)
@settings(max_examples=100)
def test_slope_is_the_derivative(p: dict[str, float], t: float) -> None:
    m = two_node_solution(**p)
    d = t * 1e-4
    by_difference = (by_matrix(p, t + d)[0] - by_matrix(p, t - d)[0]) / (2.0 * d)
    size = (abs(p["air_w"]) + abs(p["ramp_w"]) + abs(p["drift_w_s"]) * t + abs(p["contents_w"])) / p["air_j_k"]
    assert air_and_slope(m, t)[1] == pytest.approx(
        by_difference, abs=2e-3 * size * max(1.0, d / p["tau_s"], -d * m.fast.rate)
    )


def crossings(p: dict[str, float], below: float, above: float, span: float) -> float | None:
    """First exit from the band by scipy's integrator (DOP853, rtol 1e-11), or None."""
    ca, cc, h, u = p["air_j_k"], p["contents_j_k"], p["coupling_w_k"], p["loss_w_k"]

    def slope(t: float, x: np.ndarray) -> list[float]:
        ramp = p["ramp_w"] * math.exp(-t / p["tau_s"])
        air = p["air_w"] + p["drift_w_s"] * t + ramp - (u + h) * x[0] + h * x[1]
        return [air / ca, (p["contents_w"] + h * (x[0] - x[1])) / cc]

    events = [lambda t, x: x[0] - above, lambda t, x: x[0] - below]
    for event, direction in zip(events, (1.0, -1.0), strict=True):
        event.terminal, event.direction = True, direction  # type: ignore[attr-defined]
    got = solve_ivp(slope, (0.0, span), [0.0, 0.0], "DOP853", rtol=1e-11, atol=1e-12, events=events, max_step=span / 50)
    times = [float(t[0]) for t in got.t_events if t.size]
    return min(times) if times else None


@given(REAL, st.floats(0.01, 3.0), st.floats(0.01, 3.0), st.floats(10.0, 3600.0))
@settings(max_examples=60)
def test_first_crossing(p: dict[str, float], down: float, up: float, span: float) -> None:
    """The same first exit as scipy's events find, where the path is not merely touching the limit."""
    m = two_node_solution(**p)
    if p["ramp_w"] > 0.0:
        span = min(span, 2.0 * p["tau_s"])  # as the march cuts its pieces
    if m.fast.rate > -1e-2:  # otherwise DOP853 is stiff and slow, and nothing is learned
        ours = first_crossing(m, -down, up, span)
        theirs = crossings(p, -down, up, span)
        if theirs is None:
            x, _ = deviation(m, ours)
            assert ours == span or abs(min(up - x, x + down)) < 1e-6
        else:
            assert abs(air_and_slope(m, theirs)[1]) < 1e-7 or ours == pytest.approx(theirs, abs=1e-4, rel=1e-6)


@given(REAL, st.floats(0.01, 3.0), st.floats(0.01, 3.0), SPAN)
@settings(max_examples=200)
def test_nothing_leaves_before_the_crossing(p: dict[str, float], down: float, up: float, span: float) -> None:
    m = two_node_solution(**p)
    if p["ramp_w"] > 0.0:
        span = min(span, 2.0 * p["tau_s"])  # as the march cuts its pieces
    found = first_crossing(m, -down, up, span)
    assert 0.0 <= found <= span
    for t in np.linspace(0.0, found, 60)[1:-1]:
        x, _ = deviation(m, t)
        assert -down - 1e-9 <= x <= up + 1e-9
    if found < span:
        x, _ = deviation(m, found)
        assert min(abs(x - up), abs(x + down)) < 1e-8


@given(st.floats(0.02, 0.6), st.floats(500.0, 2500.0), st.floats(20.0, 120.0))
@settings(max_examples=150)
def test_out_and_back_within_a_piece(share: float, sensible: float, tau: float) -> None:
    """A starting cooler: the air still rises through the limit, turns, and is back below it at the end."""
    p = {
        "loss_w_k": 60.0,
        "coupling_w_k": 120.0,
        "air_j_k": 9e4,
        "contents_j_k": 4e5,
        "air_w": -0.5 * sensible,
        "contents_w": 0.0,
        "drift_w_s": 0.0,
        "ramp_w": sensible,
        "tau_s": tau,
    }
    m = two_node_solution(**p)
    times = np.linspace(0.0, 600.0, 6001)
    path = np.array([deviation(m, t)[0] for t in times])
    top = path.max()
    assume(top > 1e-3 and path[-1] < 0.0)
    above = share * top
    assume(path[-1] > -50.0)
    found = first_crossing(m, -1e30, above, 600.0)
    first = times[np.argmax(path > above)]
    assert first - 0.11 <= found <= first + 1e-6
