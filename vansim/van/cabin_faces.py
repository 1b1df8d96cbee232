"""Opaque faces of the cabin: layers, ribs, paint, and the films on their inside."""

from __future__ import annotations

from typing import Any, Literal, Self

from pydantic import Field, model_validator

from vansim.data import table
from vansim.data.near import not_in_table
from vansim.quantities import Fraction, NotNegative, Part, Positive

FaceName = Literal["roof", "left", "right", "front", "rear", "floor"]
FACES: tuple[FaceName, ...] = ("roof", "left", "right", "front", "rear", "floor")

FACE_TILT_DEG = {"roof": 0.0, "left": 90.0, "right": 90.0, "front": 90.0, "rear": 90.0, "floor": 180.0}
FACE_TURN_DEG = {"roof": 0.0, "left": -90.0, "right": 90.0, "front": 0.0, "rear": 180.0, "floor": 0.0}
"""Azimuth of a face relative to the heading of the van [deg]."""
INSIDE_FILM_M2K_W = {"roof": 0.17, "left": 0.13, "right": 0.13, "front": 0.13, "rear": 0.13, "floor": 0.10}
"""Inside surface resistance for heat flowing *inward*: down through a roof 0.17, level 0.13, up through a floor 0.10
(ISO 6946:2017 table 7)."""


class Layer(Part):
    """One layer of a face: a material with a thickness, or a plain resistance.

    Attributes
    ----------
    material : str
        Key of the materials table.
    thickness_mm : float
        Thickness [mm].
    r_m2k_w : float
        Resistance [m2K/W] instead of the two above (an air gap, a sheet with a declared value).
    """

    material: str = ""
    thickness_mm: NotNegative = 0.0
    r_m2k_w: NotNegative = 0.0

    @model_validator(mode="after")
    def _material_or_resistance(self) -> Self:
        if self.material:
            if self.material not in table("materials"):
                raise ValueError(not_in_table("material", self.material, table("materials"), "materials"))
            if self.thickness_mm <= 0.0 or self.r_m2k_w > 0.0:
                raise ValueError("a layer with a material takes a thickness_mm above 0 and no r_m2k_w")
        elif self.r_m2k_w <= 0.0:
            raise ValueError("a layer is a material with thickness_mm, or an r_m2k_w above 0")
        return self

    @property
    def resistance_m2k_w(self) -> float:
        """Resistance of the layer [m2K/W] (ISO 6946:2017 eq. 3: thickness over conductivity)."""
        if not self.material:
            return self.r_m2k_w
        return self.thickness_mm / 1000.0 / float(table("materials")[self.material]["conductivity_w_mk"])


class Face(Part):
    """An outside face of the cabin, its glass not counted.

    Attributes
    ----------
    area_m2 : float
        Area without windows [m2].
    layers : tuple of Layer
        From outside to inside, films left out.
    rib_share : float
        Share of the area where structural ribs bypass the insulation.
    rib_m2k_w : float
        Resistance of that path, films left out [m2K/W].
    paint : str
        Key of the paints table; gives absorptance and emittance.
    """

    area_m2: Positive
    layers: tuple[Layer, ...] = Field(min_length=1)
    rib_share: Fraction = 0.0
    rib_m2k_w: NotNegative = 0.02
    paint: str = "white"

    @model_validator(mode="after")
    def _known_paint(self) -> Self:
        if self.paint not in table("paints"):
            raise ValueError(not_in_table("paint", self.paint, table("paints"), "paints"))
        return self

    @property
    def absorptance(self) -> float:
        """Solar absorptance of the paint."""
        return float(table("paints")[self.paint]["solar_absorptance"])

    @property
    def emittance(self) -> float:
        """Longwave emittance of the paint."""
        return float(table("paints")[self.paint]["emittance"])

    def u_w_m2k(self, inside_m2k_w: float, outside_m2k_w: Any = 0.04) -> Any:
        """U-value between inside air and the outside film's far side [W/m2K].

        Parameters
        ----------
        inside_m2k_w : float
            Inside surface resistance [m2K/W].
        outside_m2k_w : float or (n_times,)
            Outside surface resistance [m2K/W].

        Returns
        -------
        float or (n_times,)
            Area-weighted parallel paths of clear field and ribs (upper limit of ISO 6946:2017 section 6.7.2.2). That is
            the favourable limit: metal ribs in contact with a lining come out up to a third worse.
        """
        clear = sum(layer.resistance_m2k_w for layer in self.layers)
        films = inside_m2k_w + outside_m2k_w
        return (1.0 - self.rib_share) / (clear + films) + self.rib_share / (self.rib_m2k_w + films)
