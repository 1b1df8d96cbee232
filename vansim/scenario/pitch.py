"""Where and how a van stands."""

from __future__ import annotations

from typing import Self

from pydantic import Field, model_validator

from vansim.data import table
from vansim.quantities import Fraction, Part


class Pitch(Part):
    """Where and how the van stands.

    Attributes
    ----------
    heading_deg : float
        Compass direction of the nose when parked [deg].
    albedo : float
        Reflectance of the country around where the weather file has none; what the van stands on absorbs by its kind.
    wind_exponent : float
        Power law from 10 m down to the van: 0.14 open country, 0.22 suburb, 0.33 town (ASHRAE Fundamentals ch. 24).
    wind_shelter_factor : float
        Factor on the wind at the van: 1 in the open, 0 where no wind reaches it.
    ground : str
        What the van stands on, a key of the table of grounds: asphalt, concrete, gravel, dry-soil, sand or grass.
        Asphalt, the default, keeps most of the day's heat into the night.
    """

    heading_deg: float = Field(default=180.0, ge=0, le=360)
    albedo: Fraction = 0.2
    wind_exponent: float = Field(default=0.22, ge=0, le=0.5)
    wind_shelter_factor: Fraction = 0.7
    ground: str = "asphalt"

    @model_validator(mode="after")
    def _known_ground(self) -> Self:
        if self.ground not in table("ground"):
            raise ValueError(f"ground {self.ground!r} is not in the table; allowed: {', '.join(table('ground'))}")
        return self
