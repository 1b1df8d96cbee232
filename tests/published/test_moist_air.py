"""Moist air against PsychroLib (the same equations) and CoolProp (a real gas) over a thousand random states."""

from __future__ import annotations

from functools import cache
from typing import Any

import numpy as np
import pandas as pd

from tests.support.bench import hold, read, row
from tests.support.psychro import psychrolib_si, wet_bulb_c
from vansim import psychrometrics as air

N_STATES, N_REAL = 1000, 150
PSYCHROLIB, COOLPROP = "PsychroLib 2.5 (Meyer & Thevenard 2019), 1000 states", "CoolProp 8 HAPropsSI, 150 states"


@cache
def states() -> np.ndarray:
    """Temperature -5 to 55 °C, relative humidity 0.05 to 0.98, pressure of 0 to 3000 m [°C, 1, Pa], (1000, 3)."""
    rng = np.random.default_rng(20260215)
    pressure = np.array([air.pressure_at_altitude_pa(a) for a in rng.uniform(0.0, 3000.0, N_STATES)])
    return np.column_stack([rng.uniform(-5.0, 55.0, N_STATES), rng.uniform(0.05, 0.98, N_STATES), pressure])


@cache
def compared() -> pd.DataFrame:
    """Ours and PsychroLib's quantities at every state; CoolProp's at the first 150."""
    from CoolProp.HumidAirProp import HAPropsSI

    out = []
    for i, (t, rh, p) in enumerate(states()):
        w = psychrolib_si().GetHumRatioFromRelHum(t, rh, p)
        real = {}
        if i < N_REAL:
            at = ("T", t + 273.15, "R", rh, "P", p)
            real = {
                "real_w": HAPropsSI("W", *at),
                "real_wet": HAPropsSI("B", *at) - 273.15,
                "real_v": HAPropsSI("Vda", *at),
            }
        vapour = rh * air.saturation_pressure_pa(t)
        ours_w = air.humidity_ratio(vapour, p)
        out.append(
            {
                "t": t,
                "w": w,
                "ours_w": ours_w,
                "wet": psychrolib_si().GetTWetBulbFromHumRatio(t, w, p),
                "ours_wet": wet_bulb_c(t, w, p),
                "dew": psychrolib_si().GetTDewPointFromHumRatio(t, w, p),
                "ours_dew": air.dew_point_c(w, p),
                "h": psychrolib_si().GetMoistAirEnthalpy(t, w),
                "ours_h": air.enthalpy_j_kg(t, w),
                "v": psychrolib_si().GetMoistAirVolume(t, w, p),
                "ours_v": 1.0 / air.density_kg_m3(t, w, p),
                "rh": rh,
                "ours_rh": air.relative_humidity(t, w, p),
                **real,
            }
        )
    return pd.DataFrame(out)


def worst(name: str, relative: bool, reference: str = "") -> float:
    c = compared()
    if reference:
        c = c.dropna()
        c = c[c["wet"] > 1.0]  # below, the libraries disagree on whether the bulb is iced
    other = c[f"{reference}{name}"]
    off = (c[f"ours_{name}"] - other).abs()
    return float((off / other.abs()).max() if relative else off.max())


def rows() -> list[dict[str, Any]]:
    out = []
    same = "same equations; constants to 6 digits"
    for name, tolerance, unit, relative, why in (
        ("w", 2e-5, "1", True, same),
        ("rh", 2e-5, "1", False, same),
        ("h", 1.0, "J/kg", False, same),
        ("v", 2e-5, "1", True, same + "; gas constant 287.042"),
        ("dew", 0.002, "K", False, "PsychroLib stops its search at 0.001 K"),
        ("wet", 0.002, "K", False, "PsychroLib stops its search at 0.001 K"),
    ):
        what = f"{name}: worst of {N_STATES} states"
        out.append(row(what, 0.0, worst(name, relative), tolerance, unit, why, PSYCHROLIB, "library", "computed"))
    real = "perfect gas against real: ASHRAE states below 0.7 % from -50 to 50 degC (Kuehn et al. 1998)"
    out.append(
        row(
            f"w: worst of {N_REAL} states",
            0.0,
            worst("w", True, "real_"),
            0.0085,
            "1",
            real + ", a little more at 55",
            COOLPROP,
            "library",
            "computed",
        )
    )
    out.append(
        row(
            f"v: worst of {N_REAL} states",
            0.0,
            worst("v", True, "real_"),
            0.002,
            "1",
            real,
            COOLPROP,
            "library",
            "computed",
        )
    )
    out.append(
        row(
            f"wet: worst of {N_REAL} states",
            0.0,
            worst("wet", False, "real_"),
            0.06,
            "K",
            real,
            COOLPROP,
            "library",
            "computed",
        )
    )
    functions = {
        "saturation_pressure": air.saturation_pressure_pa,
        "pressure": air.pressure_at_altitude_pa,
        "saturation_ratio": lambda t: air.saturation_ratio(t, 101325.0),
    }
    for r in read("moist_air").itertuples():
        out.append(
            row(
                f"{r.what} at {r.at:g}",
                r.expected,
                functions[r.what](float(r.at)),
                r.tolerance,
                r.unit,
                r.why,
                r.source,
                r.kind,
                r.status,
            )
        )
    return out


def test_moist_air() -> None:
    hold(rows())
