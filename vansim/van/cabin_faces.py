"""Opaque faces of the cabin: layers, ribs, paint, and the films on their inside."""

from __future__ import annotations

from typing import Literal, Self, overload

from pydantic import Field, model_validator

from vansim.data import table
from vansim.data.near import not_in_table
from vansim.quantities import Array, NotNegative, Part, Positive

FaceName = Literal["roof", "left", "right", "front", "rear", "floor"]
FACES: tuple[FaceName, ...] = ("roof", "left", "right", "front", "rear", "floor")

FACE_TILT_DEG = {"roof": 0.0, "left": 90.0, "right": 90.0, "front": 90.0, "rear": 90.0, "floor": 180.0}
FACE_TURN_DEG = {"roof": 0.0, "left": -90.0, "right": 90.0, "front": 0.0, "rear": 180.0, "floor": 0.0}
"""Azimuth of a face relative to the heading of the van [deg]."""
OUTSIDE_M2K_W = 0.04
"""Outside surface resistance of a declared U-value (ISO 6946:2017 table 7)."""
LEAST_COVER_MM = 13.0
"""Least depth of a rib below the surface in the zone method: half an inch."""
OUTWARD_FILM_M2K_W = {"roof": 0.10, "floor": 0.17}
"""The same for heat flowing *outward*, where it differs: up through a cold roof, down through a floor."""
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
    rib_spacing_mm : float
        Metal ribs from middle to middle [mm]; 0 where there are none.
    rib_flange_mm : float
        Width of a rib on its inner side, where the lining lies on it [mm]; 40 is common practice.
    rib_web_mm : float
        Metal that runs through the insulation, across the rib [mm]: two webs of 1 mm, as a hat section has (common
        practice); 1 for a single web.
    rib_depth_mm : float or None
        How far ribs reach inward from the outside [mm]; left out, through all layers but the innermost.
    rib_break_m2k_w : float
        Resistance of a strip between rib and lining [m2K/W].
    paint : str
        Key of the paints table; gives absorptance and emittance.
    """

    area_m2: Positive
    layers: tuple[Layer, ...] = Field(min_length=1)
    rib_spacing_mm: NotNegative = 0.0
    rib_flange_mm: Positive = 40.0
    rib_web_mm: Positive = 2.0
    rib_depth_mm: Positive | None = None
    rib_break_m2k_w: NotNegative = 0.0
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

    @overload
    def u_w_m2k(self, inside_m2k_w: float, outside_m2k_w: float = OUTSIDE_M2K_W) -> float: ...

    @overload
    def u_w_m2k(self, inside_m2k_w: float, outside_m2k_w: Array) -> Array: ...

    def u_w_m2k(self, inside_m2k_w: float, outside_m2k_w: float | Array = OUTSIDE_M2K_W) -> float | Array:
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
            The zone method for metal in insulation (ASHRAE Handbook Fundamentals, chapter on insulated assemblies): a
            zone as wide as the flange and twice its depth below the surface, 13 mm at least, in which each layer is
            the area-weighted mean of its metal and its own material and the layers lie in series; the rest is clear;
            both side by side. Within 5 % of a two-dimensional solution of a van's wall.
        """
        films = inside_m2k_w + outside_m2k_w
        clear = 1.0 / (sum(layer.resistance_m2k_w for layer in self.layers) + films)
        if self.rib_spacing_mm <= 0.0:
            return clear
        crossed, covered = self._along_ribs()
        cover_mm = sum(thickness for thickness, _ in covered)
        width = self.rib_flange_mm + 2.0 * max(cover_mm, LEAST_COVER_MM)
        metal = min(self.rib_web_mm / width, 1.0)
        zone = _series(crossed, metal) + sum(r for _, r in covered) + self.rib_break_m2k_w
        share = min(width / self.rib_spacing_mm, 1.0)
        return share / (zone + films) + (1.0 - share) * clear

    def u_limits_w_m2k(self, inside_m2k_w: float, outside_m2k_w: float = OUTSIDE_M2K_W) -> tuple[float, float]:
        """Lower and upper limit of the U-value [W/m2K].

        Parameters
        ----------
        inside_m2k_w, outside_m2k_w : float
            Surface resistances [m2K/W].

        Returns
        -------
        low, high : float
            Heat that flows straight through metal and insulation side by side; planes of one temperature, along which
            it finds the metal without hindrance (upper and lower limit of resistance, ISO 6946:2017 section 6.7.2). For
            metal they lie far apart, and the standard's mean of both does not hold.
        """
        films = inside_m2k_w + outside_m2k_w
        clear = 1.0 / (sum(layer.resistance_m2k_w for layer in self.layers) + films)
        if self.rib_spacing_mm <= 0.0:
            return clear, clear
        crossed, covered = self._along_ribs()
        inner = sum(r for _, r in covered) + self.rib_break_m2k_w
        metal = min(self.rib_web_mm / self.rib_spacing_mm, 1.0)
        beside = metal / (_series(crossed, 1.0) + inner + films) + (1.0 - metal) * clear
        return beside, 1.0 / (_series(crossed, metal) + inner + films)

    def _along_ribs(self) -> tuple[list[tuple[float, float]], list[tuple[float, float]]]:
        """Thickness [mm] and resistance [m2K/W] of what the ribs run through, and of what lies on their inner side."""
        crossed, covered, begins = [], [], 0.0
        for place, layer in enumerate(self.layers):
            thickness, resistance = layer.thickness_mm, layer.resistance_m2k_w
            if self.rib_depth_mm is None:
                share = 1.0 if place < max(len(self.layers) - 1, 1) else 0.0
            elif thickness > 0.0:
                share = min(max((self.rib_depth_mm - begins) / thickness, 0.0), 1.0)
            else:
                share = 1.0 if begins < self.rib_depth_mm else 0.0
            if share > 0.0:
                crossed.append((share * thickness, share * resistance))
            if share < 1.0:
                covered.append(((1.0 - share) * thickness, (1.0 - share) * resistance))
            begins += thickness
        return crossed, covered


def _series(layers: list[tuple[float, float]], metal: float) -> float:
    """Layers in series, each with a share of metal beside its own material [m2K/W].

    A layer that is told by its resistance alone is taken as short for the metal: it adds nothing beside some.
    """
    conductivity = float(table("materials")["steel"]["conductivity_w_mk"])
    total = 0.0
    for thickness_mm, resistance in layers:
        if metal <= 0.0:
            total += resistance
        elif thickness_mm > 0.0:
            total += 1.0 / (metal * conductivity * 1000.0 / thickness_mm + (1.0 - metal) / resistance)
    return total
