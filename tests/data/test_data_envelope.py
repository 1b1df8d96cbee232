"""Glass, films and gaps against optics and against printed values."""

import numpy as np
import pytest

from vansim.data import table
from vansim.van.cabin import INSIDE_FILM_M2K_W

ANGLE = table("glass")["angle"]


def slab_shgc(incidence_deg: np.ndarray, extinction: float, index: float = 1.526) -> np.ndarray:
    """SHGC of one pane by Fresnel's equations, with multiple reflection; 0.27 of the absorbed heat flows inward.

    Source: Duffie and Beckman, Solar Engineering of Thermal Processes, 4th edition (2013), section 5.1 to 5.3.
    """
    theta = np.radians(np.clip(incidence_deg, 1e-4, 89.9999))
    refracted = np.arcsin(np.sin(theta) / index)
    passed = np.exp(-extinction / np.cos(refracted))
    transmitted = reflected = 0.0
    for wave in (np.sin, np.tan):
        r = (wave(theta - refracted) / wave(theta + refracted)) ** 2
        t = passed * (1 - r) ** 2 / (1 - (r * passed) ** 2)
        transmitted = transmitted + t / 2
        reflected = reflected + r * (1 + passed * t) / 2
    return transmitted + 0.27 * (1 - transmitted - reflected)


@pytest.mark.published
@pytest.mark.parametrize(
    ("extinction", "misfit"),
    [(0.0, 0.018), (0.05, 0.012), (0.10, 0.007)],  # no absorption at all; between; KL of 3 mm clear glass
)
def test_angle_table_follows_fresnel(extinction, misfit):
    """Table: ASHRAE Fundamentals 2009 ch. 15 table 10, from memory. Largest difference of SHGC(theta)/SHGC(0) measured:
    0.0169 with KL = 0 (all of it from the absorption left out), 0.0116 with 0.05, 0.0066 with 0.10.
    """
    angle, shgc = np.array(ANGLE["incidence_deg"]), np.array(ANGLE["shgc"])
    slab = slab_shgc(angle, extinction)
    assert np.abs(shgc / shgc[0] - slab / slab[0]).max() < misfit


@pytest.mark.published
def test_clear_pane_of_three_millimetres_has_the_tabulated_normal_shgc():
    assert slab_shgc(np.array([0.0]), extinction=0.10)[0] == pytest.approx(ANGLE["shgc"][0], abs=0.01)


@pytest.mark.published
def test_diffuse_value_is_the_hemispherical_mean_of_the_angle_table():
    """The table's diffuse 0.78 against its straight-line integral 0.7784, and Fresnel's ratio 0.914 against 0.907."""
    angle = np.linspace(0.0, 90.0, 9001)
    weight = np.sin(2 * np.radians(angle))
    mean = np.sum(np.interp(angle, ANGLE["incidence_deg"], ANGLE["shgc"]) * weight) / np.sum(weight)
    assert mean == pytest.approx(ANGLE["diffuse_shgc"], abs=0.005)
    slab = slab_shgc(angle, extinction=0.10)
    assert np.sum(slab * weight) / np.sum(weight) / slab[0] == pytest.approx(ANGLE["diffuse_shgc"] / 0.86, abs=0.01)


def test_angle_table_falls_to_nothing_at_grazing():
    assert all(a > b for a, b in zip(ANGLE["shgc"], ANGLE["shgc"][1:], strict=False))
    assert (ANGLE["incidence_deg"][0], ANGLE["incidence_deg"][-1], ANGLE["shgc"][-1]) == (0.0, 90.0, 0.0)


def gap_resistance(thickness_m: float, e1: float, e2: float, direction: str, mean_c: float = 10.0) -> float:
    """Unventilated gap by ISO 6946:2017 annex D: R = 1/(ha + E hr0), E = 1/(1/e1 + 1/e2 - 1)."""
    buoyant = {"horizontal": 1.25, "up": 1.95, "down": 0.12 * thickness_m**-0.44}[direction]
    radiant = 4 * 5.670374e-8 * (mean_c + 273.15) ** 3 / (1 / e1 + 1 / e2 - 1)
    return 1.0 / (max(0.025 / thickness_m, buoyant) + radiant)


@pytest.mark.published
@pytest.mark.parametrize(
    ("thickness_m", "direction", "printed"),
    [
        (0.005, "horizontal", 0.11), (0.005, "up", 0.11), (0.005, "down", 0.11),
        (0.010, "horizontal", 0.15), (0.025, "horizontal", 0.18), (0.025, "up", 0.16), (0.025, "down", 0.19),
    ],
)  # fmt: skip
def test_gap_coefficients_give_the_printed_table(thickness_m, direction, printed):
    """ISO 6946, table of unventilated layers with high-emittance faces, printed to two decimals."""
    assert gap_resistance(thickness_m, 0.9, 0.9, direction) == pytest.approx(printed, abs=0.0051)


def test_pane_u_values_follow_from_the_films():
    """Films of ISO 6946:2017 table 7: 0.13 inside a wall, 0.04 outside; the gap as the standard has it."""
    materials, kinds = table("materials"), table("glass")["kinds"]
    outside_in = 0.13 + 0.04
    single = 1 / (outside_in + 0.004 / materials["glass"]["conductivity_w_mk"])
    double = 1 / (
        outside_in
        + 2 * 0.003 / materials["acrylic"]["conductivity_w_mk"]
        + gap_resistance(0.020, 0.9, 0.9, "horizontal")
    )
    for kind, row in kinds.items():
        assert row["u_w_m2k"] == pytest.approx(double if kind.startswith("acrylic") else single, abs=0.06), kind


@pytest.mark.published
@pytest.mark.parametrize(
    ("layers", "u_w_m2k"),
    [
        (((0.110, 0.69), (0.010, 0.41), (0.030, 0.037), (0.030, 0.44), (0.010, 0.57)), 0.80),
        (((0.030, 3.5), (0.020, 1.3), (0.050, 0.034), (0.140, 0.432), (0.015, 0.3)), 0.49),
    ],
)
def test_inside_film_reproduces_published_u_values(layers, u_w_m2k):
    """Two walls of the open repository pachi/condensaciones (method of ISO 6946), printed to two decimals."""
    resistance = INSIDE_FILM_M2K_W["left"] + 0.04 + sum(d / k for d, k in layers)
    assert 1 / resistance == pytest.approx(u_w_m2k, abs=0.005)


def test_covers_help_more_the_further_out_they_sit():
    covers = table("glass")["covers"]
    factors = [
        covers[key]["shgc_factor"]
        for key in ("none", "plain-curtain", "reflective-inside", "insulated-inside", "insulated-outside")
    ]
    assert factors == sorted(factors, reverse=True)
    assert all(row["r_m2k_w"] >= 0 for row in covers.values())
    assert covers["none"]["r_m2k_w"] == 0
