"""Compressor efficiencies, on `efficiency_shape` and `filled_speed`: an open map, published curves, another balance."""

from __future__ import annotations

import math
from typing import Any

import numpy as np
from CoolProp.CoolProp import PropsSI
from scipy.optimize import brentq

from tests.support.bench import hold, read, row
from tests.support.vans import cooler
from vansim.psychrometrics import enthalpy_j_kg, saturation_ratio
from vansim.van.cooler import cooler_parameters
from vansim.van.cooler_balance import BOOST, ECO, AirState, ideal_cop, pressure_ratio, steady_state, swept_w
from vansim.van.cooler_compressor import COMPRESSORS, efficiency_shape, filled_speed

MASS_LB_H = (217.3163128, 5.094492028, -0.593170311, 4.38e-2, -2.14e-2, 1.04e-2, 7.90e-5, -5.73e-5, 1.79e-4, -8.08e-5)
POWER_W = (
    *(-561.3615705, -15.62601841, 46.92506685, -0.217949552, 0.435062616, -0.442400826),
    *(2.25e-4, 2.37e-3, -3.32e-3, 2.50e-3),
)
"""A fixed-speed R410A scroll in the ten-coefficient form of ANSI/AHRI 540, from an open academic heat-pump library."""
MAP = "ANSI/AHRI 540 coefficients of an R410A scroll; states by CoolProp"


def ten(c: tuple[float, ...], te_c: float, tc_c: float) -> float:
    s, d = te_c * 1.8 + 32.0, tc_c * 1.8 + 32.0
    terms = (1.0, s, d, s * s, s * d, d * d, s**3, d * s * s, s * d * d, d**3)
    return math.fsum(a * b for a, b in zip(c, terms, strict=True))


def measured_efficiency(te_c: float, tc_c: float, superheat_k: float = 11.1) -> tuple[float, float]:
    """Pressure ratio and isentropic efficiency of the map."""
    p1, p2 = (PropsSI("P", "T", t + 273.15, "Q", 1, "R410A") for t in (te_c, tc_c))
    h1, s1 = (PropsSI(what, "T", te_c + superheat_k + 273.15, "P", p1, "R410A") for what in "HS")
    h2 = PropsSI("H", "P", p2, "S", s1, "R410A")
    kg_s = ten(MASS_LB_H, te_c, tc_c) * 0.45359237 / 3600.0
    return p2 / p1, kg_s * (h2 - h1) / ten(POWER_W, te_c, tc_c)


def map_rows() -> list[dict[str, Any]]:
    """Anchored at 10/45 °C, everywhere else: our scroll against the map."""
    scroll = COMPRESSORS["scroll"]
    anchor_ratio, anchor = measured_efficiency(10.0, 45.0)
    out = []
    for te, tc in ((10, 35), (10, 55), (10, 65), (5, 50), (0, 45), (0, 55), (0, 65)):
        ratio, measured = measured_efficiency(te, tc)
        shape = efficiency_shape(scroll.best_ratio, scroll.fall, ratio, 50.0)
        ours = anchor * shape / efficiency_shape(scroll.best_ratio, scroll.fall, anchor_ratio, 50.0)
        why = "one curve in pressure ratio alone; 0.008 rms over the map, 0.03 in its corners"
        name = f"efficiency of a scroll at {te}/{tc} degC, anchored at 10/45"
        out.append(row(name, measured, ours, 0.03, "1", why, MAP, "measurement", "look-up"))
    return out


def curve_rows() -> list[dict[str, Any]]:
    out = []
    for r in read("compressor").itertuples():
        kind = COMPRESSORS[r.kind]
        ours = efficiency_shape(kind.best_ratio, kind.fall, r.ratio, 50.0)
        if "over 3" in r.check:
            ours *= 0.645 / efficiency_shape(kind.best_ratio, kind.fall, 3.0, 50.0)
        out.append(row(f"efficiency, {r.check}", r.expected, ours, r.tolerance, "1", r.why, r.source, r.of, r.status))
    for ratio, filling in ((2.0, 0.986), (3.0, 0.966), (4.0, 0.945), (5.0, 0.925)):
        ours = filled_speed(1.0, COMPRESSORS["scroll"].leak, ratio)
        why = "ours is full at a ratio of 1, the line at 1.3"
        source = "Cuevas et al. 2010 Appl. Therm. Eng. 30:605 (line through the abstract's ends)"
        name = f"filling of a scroll at a pressure ratio of {ratio:g}"
        out.append(row(name, filling, ours, 0.008, "1", why, source, "measurement", "look-up"))
    shape = [efficiency_shape(2.5, 0.42, 2.5, hz) for hz in (50.0, 70.0, 90.0)]
    source = "Molinaroli et al. 2017 Int. J. Refrig. 79:226 (loss split, secondary copy), R290 10/45 degC"
    for hz, expected, ours in ((70, 0.667 / 0.703, shape[1] / shape[0]), (90, 0.634 / 0.703, shape[2] / shape[0])):
        name, why = f"efficiency at {hz} over 50 Hz", "4 to 6 % for 20 Hz"
        out.append(row(name, expected, ours, 0.01, "1", why, source, "measurement", "look-up"))
    return out


def rows() -> list[dict[str, Any]]:
    return map_rows() + curve_rows()


def test_compressor() -> None:
    hold(rows())


def another_balance(mode: int, air: AirState, near_c: float) -> tuple[float, float]:
    """Cooling and compressor power [W], by two nested roots of scipy; efficiencies and coil written anew."""
    m = cooler_parameters(cooler())
    flow = m.airflow_m3_s[mode] * air.pressure_pa / (287.042 * (air.cabin_c + 273.15) * (1.0 + 1.607858 * air.ratio))
    contact = flow * (1.0 - math.exp(-m.coil_ntu_kg_s / flow))

    def work(gross: float, te: float, tc: float) -> float:
        ratio = pressure_ratio(m, te, tc)
        hz = 60.0 * (gross / swept_w(m, te, tc) + 0.03 * (ratio - 1.0))
        shape = 1.0 - 0.42 * math.log(float(np.clip(ratio, 1.5, 6.0)) / 2.5) ** 2
        shape *= 1.0 - 0.0023 * (float(np.clip(hz, 40.0, 100.0)) - 50.0)
        return gross / (m.efficiency * shape / m.rated_shape * ideal_cop(m, te, tc))

    def state(surface: float) -> tuple[float, float, float, float]:
        leaving = min(air.ratio, saturation_ratio(surface, air.pressure_pa))
        gross = contact * (enthalpy_j_kg(air.cabin_c, air.ratio) - enthalpy_j_kg(surface, leaving))
        te = min(surface - gross * m.film_k_w, m.evaporating_max_c)

        def rejected(tc: float) -> float:
            return m.condenser_w_k[mode] * (tc - air.outdoor_c - m.intake_rise_k) - gross - work(gross, te, tc)

        return gross, te, brentq(rejected, air.outdoor_c + m.intake_rise_k, air.outdoor_c + 45.0, xtol=1e-10), 0.0

    def gap(surface: float) -> float:
        gross, te, tc, _ = state(surface)
        return gross - (m.speed[mode] - 0.03 * (pressure_ratio(m, te, tc) - 1.0)) * swept_w(m, te, tc)

    gross, te, tc, _ = state(brentq(gap, near_c - 3.0, near_c + 3.0, xtol=1e-10))
    return gross, work(gross, te, tc)


def test_another_balance_gives_the_same() -> None:
    for mode in (ECO, BOOST):
        for outdoor, cabin, ratio in ((25.0, 24.0, 0.009), (35.0, 26.0, 0.011), (42.0, 27.0, 0.006)):
            air = AirState(outdoor, cabin, ratio, 101325.0)
            ours = steady_state(cooler_parameters(cooler()), mode, air)
            np.testing.assert_allclose(
                (ours.gross_w, ours.compressor_w), another_balance(mode, air, ours.surface_c), rtol=1e-5
            )
