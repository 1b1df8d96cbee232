"""U-values and films of the shell on `Face`, `Window` and `surface_balance`.

Air-gap resistances (ISO 6946) enter through the panes' U-values only: `tests/data/test_data_envelope.py`.
"""

from __future__ import annotations

from typing import Any

from tests.support.bench import between, hold, read, row
from tests.support.vans import library_cabin
from vansim.psychrometrics import STEFAN_BOLTZMANN, ZERO_C_K
from vansim.van.cabin import (
    INSIDE_FILM_M2K_W,
    OUTWARD_FILM_M2K_W,
    Face,
    Layer,
    Window,
    cold_roof_film_w_m2k,
    road_film_w_m2k,
    surface_balance,
    wind_film_w_m2k,
)


def layers(text: str) -> tuple[Layer, ...]:
    out = []
    for part in text.split(";"):
        if "/" in part:
            thickness, conductivity = map(float, part.split("/"))
            out.append(Layer(r_m2k_w=thickness / conductivity))
        else:
            material, thickness_mm = part.split(":")
            out.append(Layer(material=material, thickness_mm=float(thickness_mm)))
    return tuple(out)


def film(what: str) -> float:
    kind, *values = what.split(":")
    if kind == "inside":
        return INSIDE_FILM_M2K_W[values[0]]
    if kind == "outward":
        return OUTWARD_FILM_M2K_W[values[0]]
    if kind == "cold":
        return float(cold_roof_film_w_m2k(float(values[0]), float(values[1])))
    wind = wind_film_w_m2k(float(values[0]))
    if kind == "convective":
        return float(wind)
    air = float(values[1])
    black = STEFAN_BOLTZMANN * (air + ZERO_C_K) ** 4
    return float(surface_balance(air, 0.0, black, 0.9, wind)[1])


def u_rows() -> list[dict[str, Any]]:
    out = []
    for r in read("u_values").itertuples():
        u = Face(area_m2=1.0, layers=layers(r.layers)).u_w_m2k(r.inside, r.outside)
        out.append(row(f"U of {r.check}", r.expected, u, r.tolerance, "W/m2K", r.why, r.source, r.kind, r.status))
    single = Window(face="left", area_m2=1.0, glass="clear").u_w_m2k(False)
    out.append(
        between(
            "U of single glass",
            5.7,
            5.9,
            single,
            "W/m2K",
            "range of handbooks",
            "handbooks of glazing",
            "textbook",
            "memory",
        )
    )
    return out


GLASS = (
    # kind, inside and outside film [W/m2K], solar factor from recalled optical data (tau, alpha), what stands for it
    ("clear", 8.0, 10.0, 0.853),
    ("green", 7.7, 23.0, 0.623),
    ("green", 8.0, 10.0, 0.702),
    ("laminated-green", 8.0, 10.0, 0.691),
    ("privacy", 7.7, 23.0, 0.388),
    ("privacy", 8.0, 10.0, 0.533),
)


def glass_rows() -> list[dict[str, Any]]:
    """Solar factors away from the films of the declaration, and one pane's balance written out."""
    source = "EN 410:2011 g = tau + N alpha; optical data from memory"
    out = []
    for kind, inside, outside, expected in GLASS:
        pane = Window(face="left", area_m2=1.0, glass=kind)
        passed, absorbed = pane.solar_split
        g = passed + pane.inward_share(1.0 / inside, 1.0 / outside) * absorbed
        name, why = f"g of {kind} glass, films {inside:g} and {outside:g}", "error of g 0.03, from the optical data"
        out.append(row(name, expected, g, 0.03, "1", why, source, "standard", "memory"))
    for kind in ("clear", "green", "laminated-green", "privacy", "acrylic-double", "acrylic-double-tinted"):
        pane = Window(face="left", area_m2=1.0, glass=kind)
        passed, absorbed = pane.solar_split
        g = passed + pane.inward_share(0.13, 1.0 / 23.0) * absorbed
        why = "what is taken apart must come together again at the films of the declaration"
        out.append(
            row(f"g of {kind} glass as declared", pane.shgc, g, 1e-12, "1", why, source, "closed form", "computed")
        )
    for inside, outside, expected in ((7.7, 23.0, 0.27), (7.7, 10.0, 0.45)):
        factor = 1.0 - Window(face="left", area_m2=1.0, glass="clear").coldness(False, 1.0 / outside)
        name, why = (
            f"temperature factor of one pane, films {inside:g} and {outside:g}",
            "printed to 1e-2; pane's own 0.0024",
        )
        law = "ISO 13788:2012, f = 1 - U/h_i (from memory)"
        out.append(row(name, expected, factor, 0.02, "1", why, law, "standard", "computed"))
    # one pane between 30 and 38 degC, films 8 and 20, 525 W/m2 absorbed: 8 (T - 30) = 195.7 with 8 (T - 30) +
    # 20 (T - 38) = 525
    pane = Window(face="left", area_m2=1.0, glass="privacy")
    u = 1.0 / (1.0 / 8.0 + 1.0 / 20.0 + pane.pane_m2k_w)
    inward = pane.inward_share(1.0 / 8.0, 1.0 / 20.0) * 525.0 + u * 8.0
    law, why = "balance of a pane between two films", "the pane's own 0.0024 m2K/W shifts it by 1 %"
    out.append(row("heat inward of a pane in the sun", 195.7, inward, 2.0, "W/m2", why, law, "closed form", "computed"))
    return out


def film_rows() -> list[dict[str, Any]]:
    out = [
        row(r.check, r.expected, film(r.what), r.tolerance, r.unit, r.why, r.source, r.kind, r.status)
        for r in read("films").itertuples()
    ]
    # Churchill & Bernstein would not fit a flank; a plate at 100 km/h, 6 m, air 35 degC, by the mixed form with
    # transition at 5e5: Nu = (0.037 Re^0.8 - 871) Pr^(1/3)
    reynolds = 27.78 * 6.0 / 1.67e-5
    mixed = (0.037 * reynolds**0.8 - 871.0) * 0.71 ** (1 / 3) * 0.0268 / 6.0
    out.append(
        row(
            "film of a flank at 100 km/h",
            mixed,
            road_film_w_m2k(27.78, 6.0),
            0.07 * mixed,
            "W/m2K",
            "ours is turbulent from the nose; the laminar start takes 6 %",
            "Incropera et al. section 7.2, mixed boundary layer (from memory)",
            "textbook",
            "memory",
        )
    )
    return out


def balance_rows() -> list[dict[str, Any]]:
    """A stagnating black plate: what the surface balance must give when one way out is closed."""
    sun, air = 900.0, 30.0
    black = STEFAN_BOLTZMANN * (air + ZERO_C_K) ** 4
    exact = ((sun + black) / STEFAN_BOLTZMANN) ** 0.25 - ZERO_C_K
    plate, _ = surface_balance(air, sun, black, 1.0, 0.0)
    night = 0.8 * black
    cold, _ = surface_balance(air, 0.0, night, 1.0, 0.0)
    law = "Stefan-Boltzmann law"
    return [
        row(
            "black plate in 900 W/m2, no wind",
            exact,
            plate,
            1e-6,
            "degC",
            "closed form; iterated to 1e-9 K",
            law,
            "closed form",
            "computed",
        ),
        row(
            "black plate under a sky of 0.8, no wind",
            0.8**0.25 * (air + ZERO_C_K) - ZERO_C_K,
            cold,
            1e-6,
            "degC",
            "closed form; iterated to 1e-9 K",
            law,
            "closed form",
            "computed",
        ),
    ]


def k_rows() -> list[dict[str, Any]]:
    """Mean K of the invented cabins, between the classes of insulated bodies and of leisure vehicles."""
    out = []
    for name in ("high-roof-50mm", "high-roof-long-80mm", "box-body-60mm", "short-panel-bare"):
        cabin = library_cabin(name)
        ua = sum(f.u_w_m2k(INSIDE_FILM_M2K_W[n]) * f.area_m2 for n, f in cabin.faces.items())
        ua += sum(w.u_w_m2k(False) * w.area_m2 for w in cabin.windows)
        area = sum(f.area_m2 for f in cabin.faces.values()) + sum(w.area_m2 for w in cabin.windows)
        low, high = (1.7, 5.9) if name == "short-panel-bare" else (0.4, 1.7)
        what = "an unlined skin (5.9)" if name == "short-panel-bare" else "an insulated lorry body (UNECE ATP 0.4)"
        out.append(
            between(
                f"mean K of cabin {name}",
                low,
                high,
                ua / area,
                "W/m2K",
                f"between {what} and the old leisure-vehicle grades of EN 1645/1646 (1.7, from memory)",
                "UNECE ATP; EN 1646-1",
                "standard",
                "look-up",
            )
        )
    return out


def rib_rows() -> list[dict[str, Any]]:
    """A van's wall with a rib: the zone method worked by hand, and a two-dimensional solution of the same wall."""
    out = []
    for r in read("ribs").itertuples():
        wall = [
            Layer(material="steel", thickness_mm=0.8),
            Layer(r_m2k_w=r.depth_mm / 1000.0 / r.k, thickness_mm=r.depth_mm),
        ]
        wall += [Layer(r_m2k_w=r.strip_mm / 1000.0 / 0.035, thickness_mm=r.strip_mm)] if r.strip_mm else []
        face = Face(
            area_m2=1.0,
            layers=(*wall, Layer(material="plywood", thickness_mm=6.0)),
            rib_spacing_mm=r.spacing_mm,
            rib_flange_mm=r.flange_mm,
            rib_web_mm=r.web_mm,
            rib_depth_mm=0.8 + r.depth_mm,
        )
        name, ours = f"U of a wall with ribs, {r.check}", face.u_w_m2k(0.13, 0.04)
        low, high = face.u_limits_w_m2k(0.13, 0.04)
        two = "two-dimensional solution on a grid of 2 mm, 1 mm web and flange"
        out.append(
            row(
                f"{name}, zone method",
                r.zone,
                ours,
                0.002,
                "W/m2K",
                "printed to 1e-3",
                "ASHRAE zone method by hand",
                "textbook",
                "computed",
            )
        )
        out.append(
            row(
                name,
                r.two_d,
                ours,
                0.055 * r.two_d,
                "W/m2K",
                "the method's own error: 1 to 5 % on the safe side",
                two,
                "closed form",
                "computed",
            )
        )
        out.append(
            between(
                f"{name}: within the limits",
                low,
                high,
                r.two_d,
                "W/m2K",
                "limits must hold the truth",
                "ISO 6946:2017 section 6.7.2",
                "standard",
                "computed",
            )
        )
    return out


def rows() -> list[dict[str, Any]]:
    return u_rows() + glass_rows() + film_rows() + balance_rows() + k_rows() + rib_rows()


def test_shell() -> None:
    hold(rows())
