"""The cabin: faces, glass, air exchange and the two heat stores.

Van walls have little lag (0.1 h bare, 0.4 h with 50 mm of wool, 0.9 h with 80 mm of foam; more than 99 % of the daily
swing passes, ISO 13786), so faces are quasi-steady; inertia sits in two nodes,
*air with light trim* and *contents*. The sol-air temperature of a face is the temperature that its outside surface
would take if no heat went inward: sun, wind film and longwave exchange in balance.
"""

from __future__ import annotations

from typing import Any, Literal, Self

import numpy as np
from pydantic import Field, model_validator

from vansim.data import table
from vansim.psychrometrics import STEFAN_BOLTZMANN, ZERO_C_K
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
                raise ValueError(f"material {self.material!r} is not in the materials table")
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
            known = ", ".join(table("paints"))
            raise ValueError(f"paint {self.paint!r} is not in the paints table; allowed: {known}")
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


class Cover(Part):
    """Something put over a window: its effect when in place.

    Attributes
    ----------
    shgc_factor : float
        Factor on the glass's solar heat gain coefficient.
    r_m2k_w : float
        Added resistance [m2K/W].
    """

    shgc_factor: Fraction
    r_m2k_w: NotNegative


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
            raise ValueError(f"glass {self.glass!r} is not in the glass table; allowed: {', '.join(glasses)}")
        if isinstance(self.cover, str) and self.cover != "none" and self.cover not in covers:
            raise ValueError(f"cover {self.cover!r} is not in the covers table; allowed: none, {', '.join(covers)}")
        return self

    @property
    def slope_deg(self) -> float:
        """Slope from horizontal [deg]."""
        return FACE_TILT_DEG[self.face] if self.tilt_deg is None else self.tilt_deg

    @property
    def shgc(self) -> float:
        """Solar heat gain coefficient at normal incidence, bare."""
        return float(table("glass")["kinds"][self.glass]["shgc"])

    @property
    def bare_u_w_m2k(self) -> float:
        """U-value of the bare glass [W/m2K], films in."""
        return float(table("glass")["kinds"][self.glass]["u_w_m2k"])

    def covered(self) -> Cover:
        """The cover as values; one that changes nothing where there is none."""
        if isinstance(self.cover, Cover):
            return self.cover
        if self.cover == "none":
            return Cover(shgc_factor=1.0, r_m2k_w=0.0)
        row = table("glass")["covers"][self.cover]
        return Cover(shgc_factor=float(row["shgc_factor"]), r_m2k_w=float(row["r_m2k_w"]))

    def u_w_m2k(self, covers: bool) -> float:
        """U-value with or without the cover in place [W/m2K]."""
        added = self.covered().r_m2k_w if covers else 0.0
        return 1.0 / (1.0 / self.bare_u_w_m2k + added)


class Cabin(Part):
    """A van's cabin as the heat sees it.

    Attributes
    ----------
    volume_m3, length_m : float
        Air volume [m3]; outside length along the road [m], for the film when driving.
    faces : dict of face name to Face
        All six.
    windows : tuple of Window
        Glass.
    air_kj_k, contents_kj_k : float
        Heat stored per kelvin in lining and light trim (the air itself is added) and in furniture, floor, bedding and
        water [kJ/K].
    contents_w_k : float
        Conductance between air and contents [W/K].
    solar_to_contents : float
        Share of transmitted sun that the contents absorb; the rest warms air and trim at once.
    moisture_buffer : float
        Moisture held by fabrics and wood, as a multiple of that held by the air.
    leakage_parked_per_h, leakage_wind_per_h, leakage_open_per_h, leakage_moving_per_h : float
        Air changes [1/h]: closed and still; added per m/s of wind; with a window open; added per 100 km/h of speed.
    fan_m3_h, fan_w : float
        Roof fan's flow and power; 0 where there is none.
    """

    name: str = ""
    note: str = ""
    volume_m3: Positive
    length_m: Positive = 6.0
    faces: dict[FaceName, Face]
    windows: tuple[Window, ...] = ()
    air_kj_k: NotNegative = 90.0
    contents_kj_k: Positive = 400.0
    contents_w_k: Positive = 120.0
    solar_to_contents: Fraction = 0.7
    moisture_buffer: float = Field(default=10.0, ge=1, le=100)
    leakage_parked_per_h: NotNegative = 0.5
    leakage_wind_per_h: NotNegative = 0.1
    leakage_open_per_h: NotNegative = 6.5
    leakage_moving_per_h: NotNegative = 8.0
    fan_m3_h: NotNegative = 0.0
    fan_w: NotNegative = 0.0

    @model_validator(mode="after")
    def _six_faces(self) -> Self:
        missing = [face for face in FACES if face not in self.faces]
        if missing:
            raise ValueError(f"faces missing: {', '.join(missing)}; a cabin has all of {', '.join(FACES)}")
        return self


def wind_film_w_m2k(wind_m_s: Any) -> Any:
    """Convective film of a parked van's outside [W/m2K].

    Parameters
    ----------
    wind_m_s : float or (n_times,)
        Wind at the van [m/s].

    Returns
    -------
    float or (n_times,)
        4 + 4 v (ISO 6946:2017 annex C; with 4 m/s and the radiative part it gives the standard's 0.04 m2K/W).
    """
    return 4.0 + 4.0 * np.asarray(wind_m_s)


def road_film_w_m2k(speed_m_s: Any, length_m: float) -> Any:
    """Mean convective film of a van's flanks on the road [W/m2K].

    Parameters
    ----------
    speed_m_s : float or (n_times,)
        Road speed [m/s].
    length_m : float
        Length along the road [m].

    Returns
    -------
    float or (n_times,)
        Turbulent flat plate, Nu = 0.037 Re^0.8 Pr^(1/3) (Incropera et al., Fundamentals of Heat and Mass Transfer,
        section 7.2, from memory), air at 35 °C.
    """
    conductivity, viscosity, prandtl = 0.0268, 1.67e-5, 0.71
    reynolds = np.asarray(speed_m_s) * length_m / viscosity
    return 0.037 * reynolds**0.8 * prandtl ** (1.0 / 3.0) * conductivity / length_m


def sol_air_c(outdoor_c: Any, absorbed_w_m2: Any, longwave_loss_w_m2: Any, film_w_m2k: Any) -> Any:
    """Sol-air temperature with a given combined film [°C].

    Parameters
    ----------
    outdoor_c : float or (n_times,)
        Outdoor air [°C].
    absorbed_w_m2 : float or (n_times,)
        Absorbed sun, absorptance times irradiance [W/m2].
    longwave_loss_w_m2 : float or (n_times,)
        Emittance times (black body at air temperature less incoming longwave) [W/m2].
    film_w_m2k : float or (n_times,)
        Combined convective and radiative film [W/m2K].

    Returns
    -------
    float or (n_times,)
        t_o + alpha I / h_o - eps dR / h_o (ASHRAE Handbook Fundamentals, non-residential cooling load chapter).
    """
    return outdoor_c + (absorbed_w_m2 - longwave_loss_w_m2) / film_w_m2k


def surface_balance(
    outdoor_c: Any, absorbed_w_m2: Any, longwave_in_w_m2: Any, emittance: float, convective_w_m2k: Any
) -> tuple[Any, Any]:
    """Sol-air temperature and outside film, with radiation at the fourth power.

    The surface temperature T at which sun absorbed and longwave received leave again by convection and emission:
    alpha I + eps (L - sigma T^4) = h_c (T - t_o). The linear form `sol_air_c` is repeated with the radiative film that
    belongs to the last temperature until nothing moves.

    Parameters
    ----------
    outdoor_c, absorbed_w_m2, longwave_in_w_m2, convective_w_m2k : float or (n_times,)
        Outdoor air [°C], absorbed sun [W/m2], longwave received [W/m2], convective film [W/m2K].
    emittance : float
        Longwave emittance.

    Returns
    -------
    sol_air_c : float or (n_times,)
        [°C].
    film_w_m2k : float or (n_times,)
        Slope of the outward loss at that temperature, h_c + 4 eps sigma T^3 [W/m2K]: what an inward flow meets.
    """
    air_k = np.asarray(outdoor_c, dtype=float) + ZERO_C_K
    loss = emittance * (STEFAN_BOLTZMANN * air_k**4 - longwave_in_w_m2)
    surface_k = air_k
    for _ in range(60):
        radiative = emittance * STEFAN_BOLTZMANN * (surface_k**2 + air_k**2) * (surface_k + air_k)
        previous, surface_k = (
            surface_k,
            sol_air_c(outdoor_c, absorbed_w_m2, loss, convective_w_m2k + radiative) + ZERO_C_K,
        )
        if float(np.max(np.abs(surface_k - previous))) < 1e-9:
            break
    return surface_k - ZERO_C_K, convective_w_m2k + 4.0 * emittance * STEFAN_BOLTZMANN * surface_k**3


def air_changes_per_h(cabin: Cabin, wind_m_s: Any, speed_kmh: Any, window_open: Any) -> Any:
    """Air changes through cracks and windows [1/h], the roof fan not counted.

    Parameters
    ----------
    cabin : Cabin
        Its leakage figures.
    wind_m_s, speed_kmh : float or (n_times,)
        Wind at the van [m/s]; road speed [km/h].
    window_open : bool or (n_times,)
        Whether a window stands open.

    Returns
    -------
    float or (n_times,)
        Parked, closed: below about 1.4 (Knibbs, de Dear & Atkinson 2009); one window open: 6.5 (Ott, Klepeis & Switzer
        2008); linear in road speed (same).
    """
    still = np.where(window_open, cabin.leakage_open_per_h, cabin.leakage_parked_per_h)
    return still + cabin.leakage_wind_per_h * np.asarray(wind_m_s) + cabin.leakage_moving_per_h * speed_kmh / 100.0
