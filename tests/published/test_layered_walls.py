"""What the massless faces of the model cost: nothing for a van's walls, much for a building's.

The model treats a face as quasi-steady, q = U (sol-air - inside). Two published hourly series tell what that costs on
heavy walls, and an exact solution (transfer matrices of ISO 13786 at the harmonics of the day), first held to those
series, tells what it costs on the lay-ups of a van.
"""

from __future__ import annotations

import cmath
from typing import Any

import numpy as np

from tests.support.bench import between, hold, read, row
from tests.support.vans import library_cabin
from vansim.data import table
from vansim.van.cabin import INSIDE_FILM_M2K_W, Face, Layer

Slab = tuple[float, float, float, float]
"""Thickness [m], conductivity [W/mK], density [kg/m3], heat capacity [J/kgK]; a plain resistance has thickness 0 and
stands in the second place [m2K/W]."""
WALL_III: tuple[Slab, ...] = (
    (0, 0.0586, 0, 0),
    (0.02539, 0.6924, 1858, 836.8),
    (0.10159, 1.731, 2243, 836.8),
    (0.0253, 0.0433, 32, 836.8),
    (0.01905, 0.727, 1602, 836.8),
    (0, 0.1206, 0, 0),
)
WALL_IV: tuple[Slab, ...] = (
    (0, 0.060, 0, 0),
    (0.105, 0.84, 1700, 800),
    (0, 0.18, 0, 0),
    (0.100, 1.63, 2300, 1000),
    (0, 0.120, 0, 0),
)
WANG = "Wang & Chen 2003"
DAY_S = 86400.0


def matrix(wall: tuple[Slab, ...], omega: float) -> np.ndarray:
    """Transfer matrix outside to inside at an angular frequency (ISO 13786:2017; Carslaw & Jaeger section 3.7)."""
    out = np.eye(2, dtype=complex)
    for thickness, conductivity, density, capacity in wall:
        if thickness == 0.0:
            step = np.array([[1.0, conductivity], [0.0, 1.0]], dtype=complex)
        elif omega == 0.0:
            step = np.array([[1.0, thickness / conductivity], [0.0, 1.0]], dtype=complex)
        else:
            root = cmath.sqrt(1j * omega * density * capacity / conductivity)
            x, y = cmath.cosh(root * thickness), cmath.sinh(root * thickness)
            step = np.array([[x, y / (conductivity * root)], [y * conductivity * root, x]])
        out = out @ step
    return out


def flow(wall: tuple[Slab, ...], sol_air_c: np.ndarray, inside_c: float) -> np.ndarray:
    """Periodic heat flow into the room each hour [W/m2], the series joined by straight lines between hours."""
    n, fine = sol_air_c.size, 60
    hours = np.arange(n * fine) / fine
    series = np.interp(hours, np.arange(n + 1), np.append(sol_air_c, sol_air_c[0])) - inside_c
    spectrum = np.fft.rfft(series)
    for j in range(spectrum.size):
        b = matrix(wall, 2 * np.pi * j / DAY_S)[0, 1] if j < 400 else np.inf
        spectrum[j] /= b
    return np.fft.irfft(spectrum, hours.size)[::fine]


def u_of(wall: tuple[Slab, ...]) -> float:
    return float(1.0 / matrix(wall, 0.0)[0, 1].real)


def slabs(face: Face, name: str) -> tuple[Slab, ...]:
    """A face of ours with its masses: films outside and inside, materials with density and heat capacity."""

    def slab(layer: Layer) -> Slab:
        if not layer.material:
            return (0.0, layer.r_m2k_w, 0.0, 0.0)
        m = table("materials")[layer.material]
        return (layer.thickness_mm / 1000, m["conductivity_w_mk"], m["density_kg_m3"], m["heat_capacity_j_kgk"])

    outside, inside = (0.0, 0.04, 0.0, 0.0), (0.0, INSIDE_FILM_M2K_W[name], 0.0, 0.0)
    return (outside, *(slab(layer) for layer in face.layers), inside)  # type: ignore[arg-type]


def driven() -> dict[str, np.ndarray]:
    """Published, exact and quasi-steady flows of both walls [W/m2], each (24,)."""
    sol_air = read("sol_air_west")["te_c"].to_numpy()
    published = read("layered_walls")
    out = {"sol_air_c": sol_air}
    for name, wall in (("iii", WALL_III), ("iv", WALL_IV)):
        face = Face(area_m2=1.0, layers=tuple(Layer(r_m2k_w=s[0] / s[1] if s[0] else s[1]) for s in wall[1:-1]))
        out[f"{name} published"] = published[f"q_{name}_w_m2"].to_numpy()
        out[f"{name} exact"] = flow(wall, sol_air, 24.0)
        out[f"{name} massless"] = face.u_w_m2k(wall[-1][1], wall[0][1]) * (sol_air - 24.0)
    return out


def rows() -> list[dict[str, Any]]:
    d, out = driven(), []
    for name in ("iii", "iv"):
        published, exact, massless = (d[f"{name} {what}"] for what in ("published", "exact", "massless"))
        wall = f"wall {name.upper()}"
        out.append(
            row(
                f"{wall}, exact solution, worst hour",
                0.0,
                np.abs(exact - published).max(),
                0.05,
                "W/m2",
                "printed to 0.001; the series between hours is taken as straight",
                WANG,
                "textbook",
            )
        )
        out.append(
            row(
                f"{wall}, massless face, mean of the day",
                published.mean(),
                massless.mean(),
                0.02,
                "W/m2",
                "the mean needs no mass; printed to 0.001 and 0.1 K",
                WANG,
                "textbook",
            )
        )
        out.append(
            row(
                f"{wall}, massless face, worst hour",
                0.0,
                np.abs(massless - published).max(),
                np.nan,
                "W/m2",
                "known and stated: a massless face is wrong for a masonry wall",
                WANG,
                "textbook",
            )
        )
    sol_air = d["sol_air_c"]
    for name in ("high-roof-50mm", "high-roof-long-80mm", "short-panel-bare", "family-many-windows", "box-body-60mm"):
        for face in ("roof", "left"):
            part = library_cabin(name).faces[face]
            wall_of = slabs(part, face)
            y = 1.0 / matrix(wall_of, 2 * np.pi / DAY_S)[0, 1]
            u = u_of(wall_of)
            lag_h = -cmath.phase(y) / (2 * np.pi) * 24.0
            exact, massless = flow(wall_of, sol_air, 24.0), u * (sol_air - 24.0)
            what, source = f"{name}, {face}", "ISO 13786 transfer matrix"
            out.append(
                row(
                    f"{what}: decrement",
                    1.0,
                    abs(y) / u,
                    0.02,
                    "1",
                    "what a massless face assumes; 2 % of a face's swing is below the spread of its U",
                    source,
                    "closed form",
                    "computed",
                )
            )
            out.append(
                between(
                    f"{what}: lag",
                    0.0,
                    1.0,
                    lag_h,
                    "h",
                    "under the hour of a weather row",
                    source,
                    "closed form",
                    "computed",
                )
            )
            out.append(
                row(
                    f"{what}: worst hour of the west series over its peak",
                    0.0,
                    np.abs(exact - massless).max() / exact.max(),
                    np.nan,
                    "1",
                    "stated: the series falls by 15 K in an hour at sunset, and a lag of that size moves part of "
                    "the peak into the next hour; nothing is lost over the day",
                    source,
                    "closed form",
                    "computed",
                )
            )
    return out


def test_layered_walls() -> None:
    hold(rows())


def test_transfer_matrix_of_standard_walls() -> None:
    """ISO 13786 quantities of two masonry walls at 24 h: decrement and lag, worked out apart (numpy, 4 digits)."""
    for wall, u, decrement, lag in (
        (((0, 0.04, 0, 0), (0.2, 1.8, 2400, 1000), (0, 0.13, 0, 0)), 3.5573, 0.5136, 5.676),
        (((0, 0.06, 0, 0), (0.22, 0.84, 1700, 800), (0, 0.12, 0, 0)), 2.2629, 0.5383, 6.047),
    ):
        y = 1.0 / matrix(wall, 2 * np.pi / DAY_S)[0, 1]
        assert abs(u_of(wall) - u) < 1e-3
        assert abs(abs(y) / u - decrement) < 2e-3
        assert abs(-cmath.phase(y) / (2 * np.pi) * 24.0 - lag) < 0.02
