"""People and dogs: heat, its sensible part, and moisture.

A body's total heat follows from what it does; how much of it is dry depends on how warm the cabin is.
"""

from __future__ import annotations

from pydantic import Field

from vansim.jit import compiled
from vansim.quantities import Part, Positive

ASLEEP_W_M2 = 40.0
"""Sleeping, per body surface [W/m2] (ASHRAE Fundamentals ch. 9 table of metabolic rates)."""
AWAKE_W_M2 = 60.0
"""Seated, quiet [W/m2] (same)."""
LATENT_J_KG = 2.43e6
"""Heat carried off by a kilogram of sweat and breath [J/kg], evaporation at 30 °C."""
DOG_REST_W = 3.39
"""Resting energy requirement of a dog, 70 kcal/d, per kg^0.75 [W]."""
DOG_KENNEL = 1.98
"""Measured heat of a caged dog over that (Besch & Woods 1977, Lab. Anim. Sci. 27:54)."""


class Person(Part):
    """A person by size.

    Attributes
    ----------
    mass_kg, height_m : float
        Body mass [kg] and height [m].
    """

    mass_kg: float = Field(default=75.0, ge=3, le=250)
    height_m: float = Field(default=1.75, ge=0.4, le=2.4)

    @property
    def surface_m2(self) -> float:
        """Body surface [m2]: 0.202 m^0.425 h^0.725 (DuBois & DuBois 1916)."""
        return float(0.202 * self.mass_kg**0.425 * self.height_m**0.725)

    def heat_w(self, asleep: bool) -> float:
        """Total heat [W], asleep or quietly awake."""
        return self.surface_m2 * (ASLEEP_W_M2 if asleep else AWAKE_W_M2)


class Dog(Part):
    """A dog by mass.

    Attributes
    ----------
    mass_kg : float
        Body mass [kg].
    """

    mass_kg: Positive = Field(le=120)

    def heat_w(self, asleep: bool) -> float:
        """Total heat [W]: twice the resting requirement in a kennel, 1.25 times when asleep (day over night 1.6)."""
        resting = DOG_REST_W * self.mass_kg**0.75
        return float(resting * (1.25 if asleep else DOG_KENNEL))


LEAST_LATENT = 0.25
"""Latent share of a resting person that no cold takes away: breath, 1.7e-5 M (5867 - p_a), and the skin's diffusion,
3.05e-3 (256 t_sk - 3373 - p_a) [W/m2] (ISO 7730:2005 annex, vapour pressure in Pa), with a skin of 29 to 31 °C in a
cool room are 0.24 to 0.28 of 60 W/m2."""
DOG_DRY_SHARE = 0.65
"""Dry share of a dog's heat up to 24 °C (ASHRAE laboratory-animal table, from memory)."""
DOG_BODY_C = 38.5
"""Rectal temperature of a dog [°C]: no dry heat leaves into air as warm as that."""


@compiled
def person_sensible_share(cabin_c: float) -> float:
    """Dry share of a resting person's heat, 0 to 0.75.

    Parameters
    ----------
    cabin_c : float
        Cabin air [°C].

    Returns
    -------
    float
        Line through Jones, Air Conditioning Engineering 5th ed. table 7.16 (90, 80, 75, 65 of 115 W at 20, 22, 24,
        26 °C): 0.652 at 24 °C, falling 0.0348 per kelvin; 0 from about 42.7 °C; at most 1 - `LEAST_LATENT`, reached
        at 21.2 °C.
    """
    return min(1.0 - LEAST_LATENT, max(0.0, 0.652 - 0.0348 * (cabin_c - 24.0)))


@compiled
def dog_sensible_share(cabin_c: float) -> float:
    """Dry share of a dog's heat, 0 to 0.65.

    Parameters
    ----------
    cabin_c : float
        Cabin air [°C].

    Returns
    -------
    float
        0.65 up to 24 °C, then in proportion to body less air temperature, 0 at 38.5 °C: coat and skin lose dry heat by
        that difference, panting takes the rest. The heat that panting itself makes (a tenth to a third more, from
        memory) is left out.
    """
    return DOG_DRY_SHARE * min(1.0, max(0.0, (DOG_BODY_C - cabin_c) / (DOG_BODY_C - 24.0)))
