"""Glass of the cabin and what hangs before it.

A data sheet gives a solar heat gain coefficient and a U-value at standard films. The part of the sun that the pane
absorbs leaves on both sides as its films of the moment allow, so both are taken apart here and put together again for
any wind.
"""

from __future__ import annotations

from typing import Literal, Self, overload

from pydantic import Field, model_validator

from vansim.data import table
from vansim.data.near import not_in_table
from vansim.psychrometrics import CP_DRY_AIR
from vansim.quantities import Array, Fraction, NotNegative, Numbers, Part, Positive
from vansim.van.cabin_faces import FACE_TILT_DEG, INSIDE_FILM_M2K_W

DECLARED_U_FILMS_M2K_W = 0.13 + 0.04
"""Films in a declared U-value of glass (ISO 6946:2017 table 7) [m2K/W]."""
DECLARED_G_OUTSIDE_M2K_W = 1.0 / 23.0
"""Outside film in a declared solar factor (EN 410:2011, 23 W/m2K; inside 7.7) [m2K/W]."""


INSIDE_CONVECTIVE_W_M2K = 2.5
"""Convective part of the inside film of a wall (ISO 6946:2017 annex C) [W/m2K]."""


class Cover(Part):
    """Something put over a window: its effect when in place.

    Attributes
    ----------
    shgc_factor : float
        Factor on the solar heat that comes through the glass.
    r_m2k_w : float
        Added resistance [m2K/W].
    light_share : float
        Light that passes it over light that passes the glass; the rest of the solar heat that still comes in is the
        cover's own warmth.
    """

    shgc_factor: Fraction
    r_m2k_w: NotNegative
    light_share: Fraction = 0.0


class Window(Part):
    """Glass in a face.

    Attributes
    ----------
    name : str
        For addressing it; left out, its number serves.
    face : str
        Face that it sits in.
    area_m2 : float
        Area [m2].
    glass : str
        Key of the glass table; gives U and SHGC at normal incidence.
    cover : str or Cover
        What hangs before it when the plan says `covers = true`: a key of the covers table, or values.
    tilt_deg : float
        Slope from horizontal [deg]; a windscreen leans at about 40. Left out, the face's own.
    """

    name: str = ""
    face: Literal["roof", "left", "right", "front", "rear"]
    area_m2: Positive
    glass: str = "clear"
    cover: str | Cover = "none"
    tilt_deg: float | None = Field(default=None, ge=0, le=90)

    @model_validator(mode="after")
    def _known(self) -> Self:
        glasses, covers = table("glass")["kinds"], table("glass")["covers"]
        if self.glass not in glasses:
            raise ValueError(not_in_table("glass", self.glass, glasses, "glass"))
        if isinstance(self.cover, str) and self.cover != "none" and self.cover not in covers:
            raise ValueError(not_in_table("cover", self.cover, dict.fromkeys(["none", *covers]), "covers"))
        return self

    @property
    def slope_deg(self) -> float:
        """Slope from horizontal [deg]."""
        return FACE_TILT_DEG[self.face] if self.tilt_deg is None else self.tilt_deg

    @property
    def shgc(self) -> float:
        """Solar heat gain coefficient at normal incidence, bare, at the films of its declaration."""
        return float(table("glass")["kinds"][self.glass]["shgc"])

    @property
    def bare_u_w_m2k(self) -> float:
        """U-value of the bare glass [W/m2K], at the films of its declaration."""
        return float(table("glass")["kinds"][self.glass]["u_w_m2k"])

    @property
    def pane_m2k_w(self) -> float:
        """Resistance of the pane or panes themselves [m2K/W]: declared 1/U less films of 0.13 and 0.04."""
        return max(1.0 / self.bare_u_w_m2k - DECLARED_U_FILMS_M2K_W, 0.0)

    @property
    def solar_split(self) -> tuple[float, float]:
        """Transmitted and absorbed share of the sun at normal incidence.

        g = tau + N alpha and tau + alpha = 1 - rho (EN 410:2011 eq. 7): two unknowns from the declared g, the
        reflectance of the kind, and the inward share N at the films of the declaration.
        """
        kept = 1.0 - float(table("glass")["kinds"][self.glass]["reflectance"])
        inward = self.inward_share(INSIDE_FILM_M2K_W["left"], DECLARED_G_OUTSIDE_M2K_W)
        passed = (self.shgc - inward * kept) / (1.0 - inward)
        return passed, kept - passed

    def inward_share(self, inside_m2k_w: float, outside_m2k_w: Numbers) -> Numbers:
        """Part of the heat absorbed in the bare glass that goes inward.

        Parameters
        ----------
        inside_m2k_w : float
            Inside surface resistance [m2K/W].
        outside_m2k_w : float or (n_times,)
            Outside surface resistance [m2K/W].

        Returns
        -------
        float or (n_times,)
            Resistance from its middle to the outside over the whole (EN 410:2011 annex: h_i/(h_i + h_o) for one pane);
            absorption is spread evenly over the thickness, so two panes share it.
        """
        pane = self.pane_m2k_w
        return (outside_m2k_w + 0.5 * pane) / (inside_m2k_w + pane + outside_m2k_w)

    def covered(self) -> Cover:
        """The cover as values; one that changes nothing where there is none."""
        if isinstance(self.cover, Cover):
            return self.cover
        if self.cover == "none":
            return Cover(shgc_factor=1.0, r_m2k_w=0.0, light_share=1.0)
        row = table("glass")["covers"][self.cover]
        return Cover(**{key: float(row[key]) for key in ("shgc_factor", "r_m2k_w", "light_share")})

    def coldness(self, covers: bool, outside_m2k_w: Numbers) -> Numbers:
        """How far the pane's inner face lies from the cabin's air toward the outside, 0 to 1.

        Parameters
        ----------
        covers : bool
            Whether its cover hangs before it: damp air finds its way behind, warmth does not.
        outside_m2k_w : float or (n_times,)
            Outside surface resistance [m2K/W].

        Returns
        -------
        float or (n_times,)
            U times what lies between air and pane: 1 less the temperature factor of ISO 13788:2012.
        """
        added = self.covered().r_m2k_w if covers else 0.0
        return self.u_w_m2k(covers, outside_m2k_w) * (INSIDE_FILM_M2K_W[self.face] + added)

    def condensing_kg_s(self, covers: bool) -> float:
        """Water that condenses on the pane, per unit of humidity ratio above saturation at its face [kg/s].

        Analogy of heat and mass transfer with a Lewis number of 1, h/c_p (ASHRAE Handbook Fundamentals, mass transfer),
        and the convective part of the inside film alone; what hangs before the pane hinders both alike.
        """
        added = self.covered().r_m2k_w if covers else 0.0
        return self.area_m2 / (CP_DRY_AIR * (1.0 / INSIDE_CONVECTIVE_W_M2K + added))

    @overload
    def u_w_m2k(self, covers: bool, outside_m2k_w: float = 0.04) -> float: ...

    @overload
    def u_w_m2k(self, covers: bool, outside_m2k_w: Array) -> Array: ...

    def u_w_m2k(self, covers: bool, outside_m2k_w: float | Array = 0.04) -> float | Array:
        """U-value with or without the cover in place [W/m2K], at an outside surface resistance [m2K/W]."""
        added = self.covered().r_m2k_w if covers else 0.0
        return 1.0 / (INSIDE_FILM_M2K_W[self.face] + self.pane_m2k_w + outside_m2k_w + added)
