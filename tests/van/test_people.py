"""Bodies: total heat, its dry share, and dogs."""

from __future__ import annotations

import math
from itertools import pairwise

import pytest

from vansim.van.people import AWAKE_W_M2, LATENT_J_KG, Dog, Person, dog_sensible_share, person_sensible_share


@pytest.mark.published
@pytest.mark.parametrize(
    ("mass", "height", "surface"), [(70.0, 1.73, 1.829), (60.0, 1.65, 1.655), (80.0, 1.80, 1.992), (15.0, 0.98, 0.629)]
)
def test_surface_and_metabolic_heat(mass: float, height: float, surface: float) -> None:
    """DuBois & DuBois 1916; 0.7 and 1.0 met of 58.2 W/m2 (ASHRAE Fundamentals ch. 9, rounded there to 40 and 60)."""
    body = Person(mass_kg=mass, height_m=height)
    assert body.surface_m2 == pytest.approx(surface, abs=1e-3)
    assert body.heat_w(asleep=True) == pytest.approx(0.7 * 58.2 * surface, rel=0.02)
    assert body.heat_w(asleep=False) == pytest.approx(58.2 * surface, rel=0.035)


@pytest.mark.published
@pytest.mark.parametrize(("room", "dry"), [(22.0, 80.0), (24.0, 75.0), (26.0, 65.0)])
def test_dry_heat_at_rest(room: float, dry: float) -> None:
    """Jones, Air Conditioning Engineering, 5th ed., table 7.16: of 115 W; the table is rounded to 5 W."""
    assert 115.0 * person_sensible_share(room) == pytest.approx(dry, abs=3.0)


@pytest.mark.published
@pytest.mark.parametrize(("room", "skin"), [(10.0, 29.0), (15.0, 30.0), (20.0, 31.0)])
def test_breath_and_skin_give_off_moisture_in_the_cold(room: float, skin: float) -> None:
    """ISO 7730 terms at 60 W/m2 and 50 % humidity; skin of a cool room from memory.

    The table above has 25 W latent of 115 W at 20 degC, which is 4 W less than these terms: the two sources disagree.
    """
    vapour = 0.5 * 611.2 * math.exp(17.62 * room / (243.12 + room))  # Magnus, WMO-No. 8
    breath = 1.7e-5 * AWAKE_W_M2 * (5867.0 - vapour)
    diffusion = 3.05e-3 * (256.0 * skin - 3373.0 - vapour)
    assert 1.0 - person_sensible_share(room) == pytest.approx((breath + diffusion) / AWAKE_W_M2, abs=0.02)
    assert 115.0 * person_sensible_share(20.0) == pytest.approx(90.0 - 3.75, abs=1e-9)


@pytest.mark.published
def test_three_kelvin_warmer() -> None:
    """ASHRAE Fundamentals 2009 ch. 18 table 1, footnote: at 27 degC about 20 % less dry heat than at 24 degC."""
    assert person_sensible_share(27.0) / person_sensible_share(24.0) == pytest.approx(0.80, abs=0.05)


def test_shares_stay_shares() -> None:
    temps = [t / 2 for t in range(-40, 140)]
    for share in (person_sensible_share, dog_sensible_share):
        values = [share(t) for t in temps]
        assert min(values) == 0.0
        assert max(values) == {person_sensible_share: 0.75, dog_sensible_share: 0.65}[share]
        assert all(a >= b for a, b in pairwise(values))


@pytest.mark.published
def test_moisture_of_a_sleeper() -> None:
    """40 to 60 g/h, asleep to sedentary (BS 5250, from memory; building moisture handbooks): dry share at 24 degC."""
    latent = Person().heat_w(asleep=True) * (1.0 - person_sensible_share(24.0))
    assert 35.0 < latent / LATENT_J_KG * 3.6e6 < 60.0


@pytest.mark.published
@pytest.mark.parametrize(("mass", "caged"), [(5.0, 22.4), (10.0, 37.7), (20.0, 63.5), (30.0, 86.0), (40.0, 106.8)])
def test_dogs(mass: float, caged: float) -> None:
    """1.98 x 70 m^0.75 kcal/d, measured on caged beagles (Besch & Woods 1977); day over night 1.54 to 1.75 there."""
    dog = Dog(mass_kg=mass)
    assert dog.heat_w(asleep=False) == pytest.approx(caged, rel=0.003)
    assert 1.54 <= dog.heat_w(asleep=False) / dog.heat_w(asleep=True) <= 1.75


@pytest.mark.published
def test_dogs_dry_share() -> None:
    """ASHRAE table of laboratory animals (from memory): 30.8 of 47.2 W at 10.3 kg, 67.7 of 104 W at 22.7 kg."""
    assert dog_sensible_share(24.0) == pytest.approx(30.8 / 47.2, abs=0.01)
    assert dog_sensible_share(24.0) == pytest.approx(67.7 / 104.0, abs=0.01)
    for warm, dry in ((28.0, 0.47), (32.0, 0.29), (35.0, 0.16)):  # in proportion to body less air temperature
        assert dog_sensible_share(warm) == pytest.approx(dry, abs=0.005)
