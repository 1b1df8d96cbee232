"""The two-node cabin in closed form, between two switchings.

With deviations x = (air, contents) from the state at the start of a step,

    x' = A x + p + q t + g exp(-t / tau),     x(0) = 0,

where p is the imbalance at the start, q the drift of the outdoor air and g the start-up ramp of the cooler; q and g act
on the air. A has two real, negative eigenvalues, so each decay is a scalar equation whose solution is written with the
functions phi_k(z) = (phi_{k-1}(z) - 1/(k-1)!)/z, phi_0 = exp. Nothing here is stepped, so nothing depends on a step.
"""

from __future__ import annotations

import math
from typing import NamedTuple

from vansim.jit import compiled


class Decay(NamedTuple):
    """One of the two ways in which the cabin settles, on its own a scalar equation.

    Eigenvalue `rate` [1/s]; `shape` of the contents, that of the air being 1; drives `p` [K/s] and `q` [K/s2]; `ramp`,
    what the start-up ramp comes to in it, g / (rate + 1/tau) [K].
    """

    rate: float
    shape: float
    p: float
    q: float
    ramp: float


class TwoNodeSolution(NamedTuple):
    """The cabin from the start of a step: its two decays, and the drives `p`, `q`, `g` of the air, their sum.

    `tau` is the time constant of the start-up ramp [s].
    """

    fast: Decay
    slow: Decay
    p: float
    q: float
    g: float
    tau: float


@compiled
def phi(z: float) -> tuple[float, float, float]:
    """phi_1, phi_2 and phi_3 of z <= 0; near 0, where the quotients cancel, upward from the series of phi_3."""
    if abs(z) < 0.1:
        tail = 1 / 5040 + z * (1 / 40320 + z * (1 / 362880 + z / 3628800))
        three = 1 / 6 + z * (1 / 24 + z * (1 / 120 + z * (1 / 720 + z * tail)))
        two = 0.5 + z * three
        return 1.0 + z * two, two, three
    one = (math.exp(z) - 1.0) / z
    two = (one - 1.0) / z
    return one, two, (two - 0.5) / z


@compiled
def two_node_solution(
    loss_w_k: float,
    coupling_w_k: float,
    air_j_k: float,
    contents_j_k: float,
    air_w: float,
    contents_w: float,
    drift_w_s: float,
    ramp_w: float,
    tau_s: float,
) -> TwoNodeSolution:
    """Solve the cabin from the start of a step.

    Parameters
    ----------
    loss_w_k, coupling_w_k : float
        Everything that pulls the air back [W/K]; air to contents [W/K].
    air_j_k, contents_j_k : float
        Heat capacities [J/K].
    air_w, contents_w : float
        Net heat into each at the start of the step, the ramp left out [W].
    drift_w_s : float
        Growth of the heat into the air [W/s].
    ramp_w, tau_s : float
        Extra heat that fades as exp(-t/tau): what a starting cooler does not yet take [W]; its time constant [s].

    Returns
    -------
    TwoNodeSolution
        For `advance`, `deviation` and `first_crossing`.
    """
    a11 = -(loss_w_k + coupling_w_k) / air_j_k
    a12 = coupling_w_k / air_j_k
    a22 = -coupling_w_k / contents_j_k
    a21 = coupling_w_k / contents_j_k
    root = math.sqrt((a11 - a22) ** 2 + 4.0 * a12 * a21)
    fast = 0.5 * (a11 + a22 - root)
    slow = loss_w_k * coupling_w_k / (air_j_k * contents_j_k) / fast  # product of the eigenvalues is the determinant
    shape_fast, shape_slow = (fast - a11) / a12, (slow - a11) / a12
    across = shape_slow - shape_fast
    pa, pc = air_w / air_j_k, contents_w / contents_j_k
    qa, ga = drift_w_s / air_j_k, ramp_w / air_j_k
    if abs(fast * tau_s + 1.0) < 1e-6:  # resonance of ramp and fast mode
        tau_s *= 1.0 + 1e-5
    return TwoNodeSolution(
        fast=Decay(
            rate=fast,
            shape=shape_fast,
            p=(shape_slow * pa - pc) / across,
            q=shape_slow * qa / across,
            ramp=shape_slow * ga / across / (fast + 1.0 / tau_s),
        ),
        slow=Decay(
            rate=slow,
            shape=shape_slow,
            p=(pc - shape_fast * pa) / across,
            q=-shape_fast * qa / across,
            ramp=-shape_fast * ga / across / (slow + 1.0 / tau_s),
        ),
        p=pa,
        q=qa,
        g=ga,
        tau=tau_s,
    )


@compiled
def _one(d: Decay, tau: float, fade: float, t: float) -> tuple[float, float]:
    """One decay and its time integral; `fade` is exp(-t / tau)."""
    one, two, three = phi(d.rate * t)
    y = t * (d.p * one + d.q * t * two) + d.ramp * (1.0 + d.rate * t * one - fade)
    area = t * t * (d.p * two + d.q * t * three) + d.ramp * (t * one - tau * (1.0 - fade))
    return y, area


@compiled
def _faded(m: TwoNodeSolution, t: float) -> float:
    """Share of the start-up ramp still missing; of no consequence, and spared, where there is none."""
    return math.exp(-t / m.tau) if m.g != 0.0 else 0.0


@compiled
def _both(m: TwoNodeSolution, t: float, fade: float) -> tuple[float, float, float, float]:
    """The fast and the slow decay, and their time integrals."""
    fast, fast_ks = _one(m.fast, m.tau, fade, t)
    slow, slow_ks = _one(m.slow, m.tau, fade, t)
    return fast, slow, fast_ks, slow_ks


class Advance(NamedTuple):
    """Change of air and contents temperature [K], and its time integrals [K s]."""

    air_k: float
    contents_k: float
    air_ks: float
    contents_ks: float


@compiled
def advance(m: TwoNodeSolution, t: float) -> Advance:
    """Change of both temperatures after a time, and their time integrals until then.

    Parameters
    ----------
    m : TwoNodeSolution
        From `two_node_solution`.
    t : float
        Time since the start of the step [s].

    Returns
    -------
    Advance
        Since the start of the step.
    """
    fast, slow, fast_ks, slow_ks = _both(m, t, _faded(m, t))
    return Advance(
        air_k=fast + slow,
        contents_k=m.fast.shape * fast + m.slow.shape * slow,
        air_ks=fast_ks + slow_ks,
        contents_ks=m.fast.shape * fast_ks + m.slow.shape * slow_ks,
    )


@compiled
def _faded_ks(d: Decay, tau: float, fade: float, t: float, y: float) -> float:
    """Integral of exp(-t/tau) y for one decay, by parts; `y` is where it stands at the end."""
    gone = tau * (1.0 - fade)
    g = d.ramp * (d.rate + 1.0 / tau)
    driven = d.p * gone + d.q * tau * (gone - t * fade) + g * 0.5 * gone * (1.0 + fade)
    return (driven - fade * y) / (1.0 / tau - d.rate)


@compiled
def mean_fade(m: TwoNodeSolution, t: float) -> float:
    """Mean of exp(-t/tau) weighted with the deviation of the air: what of a starting cooler is missing for its slopes.

    Parameters
    ----------
    m : TwoNodeSolution
        From `two_node_solution`.
    t : float
        Time since the start of the step [s].

    Returns
    -------
    float
        0 to 1; the plain mean where the air is back where it was, on the mean to a thousandth of a kelvin.
    """
    fade = math.exp(-t / m.tau)
    fast, slow, fast_ks, slow_ks = _both(m, t, fade)
    if abs(fast_ks + slow_ks) < 1e-3 * t:
        return m.tau / t * (1.0 - fade)
    faded_ks = _faded_ks(m.fast, m.tau, fade, t, fast)
    faded_ks += _faded_ks(m.slow, m.tau, fade, t, slow)
    return min(max(faded_ks / (fast_ks + slow_ks), 0.0), 1.0)


@compiled
def deviation(m: TwoNodeSolution, t: float) -> tuple[float, float]:
    """Change of air and contents temperature after a time [K]."""
    air, contents, _, _ = advance(m, t)
    return air, contents


@compiled
def air_and_slope(m: TwoNodeSolution, t: float) -> tuple[float, float]:
    """Deviation of the air [K] and its rate of change [K/s]."""
    fade = _faded(m, t)
    fast, slow, _, _ = _both(m, t, fade)
    return fast + slow, m.fast.rate * fast + m.slow.rate * slow + m.p + m.q * t + m.g * fade


@compiled
def _turning_point(m: TwoNodeSolution, span: float, first: float, last: float) -> float:
    """Time in (0, span) at which the air's slope, `first` at its start and `last` at its end, vanishes.

    Bracketed secant steps (Illinois); bisection toward the last sign of `first` where the slopes agree in sign.
    """
    low, high, kept = 0.0, span, 0
    f_low, f_high = first, last
    straddled = first * last < 0.0 and abs(first) > 1e-18  # a drive of rounding has no turning point worth a secant
    turn = 0.5 * span
    for _ in range(40):
        turn = high - f_high * (high - low) / (f_high - f_low) if straddled else 0.5 * (low + high)
        _, slope = air_and_slope(m, turn)
        if (straddled and abs(slope) < 1e-7 * abs(first)) or high - low < 1e-6:
            break
        if slope * first > 0.0:
            low, f_low = turn, slope
            if kept == 1:
                f_high *= 0.5
            kept = 1
        else:
            high, f_high = turn, slope
            if kept == -1:
                f_low *= 0.5
            kept = -1
    return turn


@compiled
def _on_parabola(goal: float, x: float, end: float, first: float) -> float:
    """Time at which a parabola that sets out with slope `first` and is `x` at `end` passes `goal`; `end` if nowhere."""
    bend = x - first * end
    square = first * first * end * end + 4.0 * bend * goal
    if square < 0.0:
        return end
    return 2.0 * goal * end / (first * end + math.copysign(math.sqrt(square), goal))


@compiled
def _crossing(m: TwoNodeSolution, goal: float, end: float, guess: float, close: float) -> float:
    """Time at which the air's deviation passes `goal`, which it has done at `end`: Newton, held in its bracket.

    A miss below `close` is mended by one more step, unseen: that leaves about its square.
    """
    sign = 1.0 if goal > 0.0 else -1.0
    low, high = 0.0, end
    t = guess if 0.0 < guess < end else 0.5 * end
    for _ in range(60):
        x, slope = air_and_slope(m, t)
        miss = x - goal
        if abs(miss) < close and slope != 0.0:
            return min(max(t - miss / slope, low), high)
        if miss * sign > 0.0:
            high = t
        else:
            low = t
        t = t - miss / slope if slope != 0.0 else 0.5 * (low + high)
        if not low < t < high:
            t = 0.5 * (low + high)
        if high - low < 1e-9:
            break
    return high


@compiled
def _turns_outside(first: float, last: float, x: float, within: tuple[float, float], span: float) -> bool:
    """Whether the air may have left on the side that it set out for, and turned round before the end.

    Its slope falls to zero from `first` on, so it gets no further than `first` times the time; twice that is asked for,
    as contents and outdoor air drift meanwhile.
    """
    below, above = within
    far = 2.0 * first * span
    if first > 0.0:
        return last < 0.0 and x < above < far
    return last > 0.0 and far < below < x


@compiled
def first_crossing(
    m: TwoNodeSolution, below: float, above: float, span: float, guess: float = 0.0, close: float = 1e-6
) -> float:
    """First time at which the air's deviation leaves (below, above), or `span` if it stays.

    Parameters
    ----------
    m : TwoNodeSolution
        From `two_node_solution`.
    below, above : float
        Deviations [K], below < 0 < above; infinities where there is no limit.
    span : float
        Length of the step [s].
    guess : float
        Where to look first [s], if it is known; 0 where not.
    close : float
        How near to the level is near enough for a last step of Newton's [K].

    Returns
    -------
    float
        Time [s].

    Notes
    -----
    If the end lies within, or beyond the side that the air did not set out for, it may have gone out and come back: a
    turning point is looked for where the slope changes sign. One is enough: while a cooler ramps up, a step is no
    longer than two of its time constants.
    """
    if below == -math.inf and above == math.inf:
        return span
    end, first = span, m.p + m.g
    x, last = air_and_slope(m, span)
    inside = below < x < above
    if _turns_outside(first, last, x, (below, above), span):
        turn = _turning_point(m, span, first, last)
        x_turn, _ = air_and_slope(m, turn)
        if not below < x_turn < above:
            end, x, inside = turn, x_turn, False
    if inside:
        return span
    goal = below if x <= below else above
    return _crossing(m, goal, end, guess if guess > 0.0 else _on_parabola(goal, x, end, first), close)
