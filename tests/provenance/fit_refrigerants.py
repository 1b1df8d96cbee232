"""Make ``vansim/data/refrigerants.toml``: fits of the ideal vapour-compression cycle, from CoolProp.

Run ``python tests/provenance/fit_refrigerants.py > vansim/data/refrigerants.toml`` to make the table again. CoolProp is
needed here and in the tests only; the package itself evaluates the polynomials.

Source: Bell, Wronski, Quoilin, Lemort (2014), Ind. Eng. Chem. Res. 53, 2498-2508 (CoolProp).
"""

from __future__ import annotations

from math import ceil, floor, log10

import numpy as np
from CoolProp import __version__ as coolprop_version
from CoolProp.CoolProp import PropsSI

KELVIN = 273.15
SUPERHEAT_K = 5.0
SUBCOOLING_K = 5.0
LIFT_MIN_K = 5.0
EVAPORATING_C = (-10.0, 40.0)
CONDENSING_MIN_C = 25.0
CONDENSING_MAX_C = {"R134a": 75.0, "R410A": 68.0, "R32": 74.0}  # a few kelvin below critical
PRESSURE_MIN_C = -15.0
TERMS = [(n - j, j) for n in range(4) for j in range(n + 1)]  # exponents of (Te, Tc)

HEAD = """\
# Made by tests/provenance/fit_refrigerants.py with CoolProp {version}; not edited by hand.
#
# Ideal cycle: dew-point vapour at Te plus {superheat:g} K (all useful), isentropic compression, liquid
# {subcooling:g} K below the bubble point at the pressure whose dew point is Tc. Te, Tc in degC; terms of the cubics:
#   1, Te, Tc, Te^2, Te*Tc, Tc^2, Te^3, Te^2*Tc, Te*Tc^2, Tc^3
# fraction_of_carnot: ideal COP over (Te + 273.15)/(Tc - Te)
# ln_volumetric_capacity: ln of cooling per suction volume [kJ/m3]
# ln_saturation_pressure: ln of dew-point pressure [Pa]; terms 1, T, T^2, T^3
# *_misfit: largest relative error against CoolProp over evaporating_c x condensing_c with Tc - Te >= lift_min_k
#   (pressure: from {pressure_min:g} degC to the end of condensing_c).\
"""


def ideal_cycle(
    fluid: str, te_c: float, tc_c: float, superheat_k: float = SUPERHEAT_K, subcooling_k: float = SUBCOOLING_K
) -> tuple[float, float]:
    """COP and volumetric capacity [kJ/m3] of the ideal cycle between dew temperatures te_c and tc_c."""
    suction_pa, head_pa = (PropsSI("P", "T", t + KELVIN, "Q", 1, fluid) for t in (te_c, tc_c))
    where = ("T", te_c + superheat_k + KELVIN, "P", suction_pa) if superheat_k else ("P", suction_pa, "Q", 1)
    h1, s1, density = (PropsSI(what, *where, fluid) for what in "HSD")
    h2 = PropsSI("H", "P", head_pa, "S", s1, fluid)
    bubble_k = PropsSI("T", "P", head_pa, "Q", 0, fluid)
    liquid = ("T", bubble_k - subcooling_k, "P", head_pa) if subcooling_k else ("P", head_pa, "Q", 0)
    h3 = PropsSI("H", *liquid, fluid)
    return (h1 - h3) / (h2 - h1), density * (h1 - h3) / 1000.0


def carnot_cop(te_c: np.ndarray | float, tc_c: np.ndarray | float) -> np.ndarray | float:
    """COP of the reversible machine between the two temperatures."""
    return (te_c + KELVIN) / (tc_c - te_c)


def grid(fluid: str, step_k: float = 2.5) -> tuple[np.ndarray, np.ndarray]:
    """All (Te, Tc) of the fitting range with enough lift, each of shape (n,)."""
    te = np.arange(EVAPORATING_C[0], EVAPORATING_C[1] + 0.1, step_k)
    tc = np.append(np.arange(CONDENSING_MIN_C, CONDENSING_MAX_C[fluid], step_k), CONDENSING_MAX_C[fluid])
    te, tc = (axis.ravel() for axis in np.meshgrid(te, tc, indexing="ij"))
    keep = tc - te >= LIFT_MIN_K
    return te[keep], tc[keep]


def basis(te_c: np.ndarray | float, tc_c: np.ndarray | float) -> np.ndarray:
    """Terms of the two-way cubic, shape (..., 10)."""
    te_c, tc_c = np.asarray(te_c, dtype=float), np.asarray(tc_c, dtype=float)
    return np.stack([te_c**i * tc_c**j for i, j in TERMS], axis=-1)


def cycle_arrays(fluid: str, te_c: np.ndarray, tc_c: np.ndarray) -> tuple[np.ndarray, np.ndarray]:
    """Fraction of Carnot and volumetric capacity [kJ/m3] by CoolProp, each of shape (n,)."""
    cop, capacity = np.array([ideal_cycle(fluid, *at) for at in zip(te_c, tc_c, strict=True)]).T
    return cop / carnot_cop(te_c, tc_c), capacity


def dew_pressure(fluid: str, step_k: float = 1.0) -> tuple[np.ndarray, np.ndarray]:
    """Temperatures [degC] and dew-point pressures [Pa], each of shape (n,)."""
    t_c = np.arange(PRESSURE_MIN_C, CONDENSING_MAX_C[fluid] + 0.1, step_k)
    return t_c, np.array([PropsSI("P", "T", t + KELVIN, "Q", 1, fluid) for t in t_c])


def fit(fluid: str) -> dict[str, list[float] | float]:
    """Coefficients by least squares of the relative error, and the largest relative errors."""
    te, tc = grid(fluid)
    fraction, capacity = cycle_arrays(fluid, te, tc)
    terms = basis(te, tc)
    a = np.linalg.lstsq(terms / fraction[:, None], np.ones_like(fraction), rcond=None)[0]
    b = np.linalg.lstsq(terms, np.log(capacity), rcond=None)[0]
    t, pressure = dew_pressure(fluid)
    c = np.polynomial.polynomial.polyfit(t, np.log(pressure), 3)
    powers = t[:, None] ** np.arange(4)
    return {
        "fraction_of_carnot": a.tolist(),
        "ln_volumetric_capacity": b.tolist(),
        "ln_saturation_pressure": c.tolist(),
        "fraction_of_carnot_misfit": np.abs(terms @ a / fraction - 1).max(),
        "volumetric_capacity_misfit": np.abs(np.exp(terms @ b) / capacity - 1).max(),
        "saturation_pressure_misfit": np.abs(np.exp(powers @ c) / pressure - 1).max(),
    }


def rounded_up(value: float) -> float:
    """Two significant digits, never smaller than the value."""
    scale = 10.0 ** (1 - floor(log10(value)))
    return ceil(value * scale) / scale


def toml(fluid: str) -> str:
    """One refrigerant as a TOML table."""
    lines = [f"[{fluid.lower()}]"]
    for key, value in fit(fluid).items():
        if isinstance(value, list):
            lines += [f"{key} = [", *(f"    {number:.10e}," for number in value), "]"]
        else:
            lines.append(f"{key} = {rounded_up(value):.2g}")
    lines += [
        f"evaporating_c = [{EVAPORATING_C[0]:.1f}, {EVAPORATING_C[1]:.1f}]",
        f"condensing_c = [{CONDENSING_MIN_C:.1f}, {CONDENSING_MAX_C[fluid]:.1f}]",
        f"lift_min_k = {LIFT_MIN_K:.1f}",
        f"critical_c = {PropsSI('Tcrit', fluid) - KELVIN:.2f}",
        'source = "coolprop-fit"',
    ]
    return "\n".join(lines)


if __name__ == "__main__":
    print(
        HEAD.format(
            version=coolprop_version, superheat=SUPERHEAT_K, subcooling=SUBCOOLING_K, pressure_min=PRESSURE_MIN_C
        )
    )
    print("\n\n".join(toml(fluid) for fluid in CONDENSING_MAX_C))
