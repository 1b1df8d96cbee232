"""The cabin: faces, glass, air exchange and the two heat stores.

Van walls have little lag (0.1 h bare, 0.4 h with 50 mm of wool, 0.9 h with 80 mm of foam; more than 99 % of the daily
swing passes, ISO 13786), so faces are quasi-steady; inertia sits in two nodes,
*air with light trim* and *contents*. The sol-air temperature of a face is the temperature that its outside surface
would take if no heat went inward: sun, wind film and longwave exchange in balance.
"""

from __future__ import annotations

from typing import Any, Self

import numpy as np
from pydantic import Field, model_validator

from vansim.psychrometrics import STEFAN_BOLTZMANN, ZERO_C_K
from vansim.quantities import Fraction, NotNegative, Positive
from vansim.van.cabin_faces import (
    FACE_TILT_DEG,
    FACE_TURN_DEG,
    FACES,
    INSIDE_FILM_M2K_W,
    OUTSIDE_M2K_W,
    OUTWARD_FILM_M2K_W,
    Face,
    FaceName,
    Layer,
)
from vansim.van.cabin_glass import Cover, Window
from vansim.van.cabin_measures import CabinMeasures, from_measures
from vansim.van.cabin_openings import Opening

__all__ = [
    "FACES",
    "FACE_TILT_DEG",
    "FACE_TURN_DEG",
    "INSIDE_FILM_M2K_W",
    "OUTSIDE_M2K_W",
    "OUTWARD_FILM_M2K_W",
    "Cabin",
    "Cover",
    "Face",
    "FaceName",
    "Layer",
    "Opening",
    "Window",
    "air_changes_per_h",
    "light_to_contents",
    "road_film_w_m2k",
    "sol_air_c",
    "surface_balance",
    "wind_film_w_m2k",
]


class Cabin(CabinMeasures):
    """A van's cabin as the heat sees it: by its faces, or by its measures (`CabinMeasures`), from which they follow.

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
        Share of the light that passes the glass which the contents absorb; the rest warms lining, trim and air at once.
        Left out, from their surfaces (`light_to_contents`).
    moisture_buffer : float
        Moisture held by fabrics and wood, as a multiple of that held by the air.
    leakage_parked_per_h, leakage_wind_per_h, leakage_moving_per_h : float
        Air changes through cracks [1/h]: still; added per m/s of wind; added per 100 km/h of speed.
    openings : tuple of Opening
        Windows and vents as they stand where the plan says `window_open`.
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
    solar_to_contents: Fraction | None = None
    moisture_buffer: float = Field(default=10.0, ge=1, le=100)
    leakage_parked_per_h: NotNegative = 0.5
    leakage_wind_per_h: NotNegative = 0.1
    leakage_moving_per_h: NotNegative = 8.0
    openings: tuple[Opening, ...] = (Opening(),)
    fan_m3_h: NotNegative = 0.0
    fan_w: NotNegative = 0.0

    @model_validator(mode="before")
    @classmethod
    def _read_units(cls, raw: Any) -> Any:
        read = super()._read_units(raw)  # type: ignore[operator]  # a validator is called like any method
        return from_measures(read) if isinstance(read, dict) else read

    @model_validator(mode="after")
    def _six_faces(self) -> Self:
        missing = [face for face in FACES if face not in self.faces]
        if missing:
            raise ValueError(f"faces missing: {', '.join(missing)}; a cabin has all of {', '.join(FACES)}")
        return self


INSIDE_ABSORPTANCE = 0.6
"""Solar absorptance of what is inside: wood, cloth and trim of medium colour (assumed)."""


def light_to_contents(cabin: Cabin) -> float:
    """Share of the light that passes the glass which the contents absorb.

    Parameters
    ----------
    cabin : Cabin
        Its `solar_to_contents`, where given, is the answer.

    Returns
    -------
    float
        Light comes in downward: it first meets contents and wall lining by area and what they throw back is spread
        over contents, walls and roof by area (a diffuse enclosure of one absorptance). The surface of the contents is
        their conductance over the combined inside film, `contents_w_k` x 0.13 m2K/W (ISO 6946:2017 table 7); it
        holds the floor.
    """
    if cabin.solar_to_contents is not None:
        return cabin.solar_to_contents
    contents = cabin.contents_w_k * INSIDE_FILM_M2K_W["left"]
    walls = sum(cabin.faces[name].area_m2 for name in ("left", "right", "front", "rear"))
    first = contents / (contents + walls)
    again = contents / (contents + walls + cabin.faces["roof"].area_m2)
    return INSIDE_ABSORPTANCE * first + (1.0 - INSIDE_ABSORPTANCE) * again


def wind_film_w_m2k(wind_m_s: Any) -> Any:
    """Convective film of a parked van's outside [W/m2K].

    Parameters
    ----------
    wind_m_s : float or (n_times,)
        Wind at the van [m/s].

    Returns
    -------
    float or (n_times,)
        4 + 4 v (ISO 6946:2017 annex C; with 4 m/s and the radiative part it gives the standard's 0.04 m2K/W). Level and
        cold, without wind, it is less: `cold_roof_film_w_m2k`.
    """
    return 4.0 + 4.0 * np.asarray(wind_m_s)


STILL_FILM_W_M2K = 4.0
"""What `wind_film_w_m2k` has without wind."""


LIES_STILL_K = 1.0
"""Cold air lies on a roof that is so much colder [K]; on one as warm as the air it is as restless as elsewhere, and
between the two the film is joined by a straight line (assumed). Without it, the film would jump at no difference."""


def cold_roof_film_w_m2k(below_air_k: Any, length_m: float) -> Any:
    """Still-air film of a level surface that is colder than the air: the cold air lies on it [W/m2K].

    Parameters
    ----------
    below_air_k : float or (n_times,)
        How much colder it is [K].
    length_m : float
        Area over perimeter [m].

    Returns
    -------
    float or (n_times,)
        Nu = 0.52 Ra^(1/5), 1e4 to 1e9 (upper side of a cold plate, Incropera et al., Fundamentals of Heat and Mass
        Transfer, section 9.6, from memory), air at 20 °C: about 0.9, where warm surfaces have 4.
    """
    conductivity, viscosity, diffusivity = 0.0257, 1.52e-5, 2.14e-5
    rayleigh = 9.81 / 293.0 * np.asarray(below_air_k) * length_m**3 / (viscosity * diffusivity)
    return 0.52 * rayleigh**0.2 * conductivity / length_m


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
    outdoor_c: Any,
    absorbed_w_m2: Any,
    longwave_in_w_m2: Any,
    emittance: float,
    convective_w_m2k: Any,
    level_m: float = 0.0,
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
    level_m : float
        Area over perimeter of a level surface that faces up [m]: colder than the air, it has `cold_roof_film_w_m2k` in
        place of the still part of the convective film. 0 for all others.

    Returns
    -------
    sol_air_c : float or (n_times,)
        [°C].
    film_w_m2k : float or (n_times,)
        Slope of the outward loss at that temperature, h_c + 4 eps sigma T^3 [W/m2K]: what an inward flow meets.
    """
    air_k = np.asarray(outdoor_c, dtype=float) + ZERO_C_K
    loss = emittance * (STEFAN_BOLTZMANN * air_k**4 - longwave_in_w_m2)
    cold = (np.asarray(absorbed_w_m2) < loss) & (level_m > 0.0)
    surface_k: Any = air_k
    convective, steeper = convective_w_m2k, 0.0 * air_k
    for _ in range(60):
        if np.any(cold):
            below_k = np.maximum(air_k - surface_k, 0.0)
            lies = np.minimum(below_k / LIES_STILL_K, 1.0)
            still = cold_roof_film_w_m2k(np.maximum(below_k, 1e-3), level_m)
            convective = np.where(cold, convective_w_m2k - lies * (STILL_FILM_W_M2K - still), convective_w_m2k)
            steeper = np.where(cold, 0.2 * lies * still, 0.0)  # the flow goes by the power 1.2 of the difference
        radiative = emittance * STEFAN_BOLTZMANN * (surface_k**2 + air_k**2) * (surface_k + air_k)
        previous, surface_k = surface_k, sol_air_c(outdoor_c, absorbed_w_m2, loss, convective + radiative) + ZERO_C_K
        if float(np.max(np.abs(surface_k - previous))) < 1e-9:
            break
    return surface_k - ZERO_C_K, convective + steeper + 4.0 * emittance * STEFAN_BOLTZMANN * surface_k**3


def air_changes_per_h(cabin: Cabin, wind_m_s: Any, speed_kmh: Any) -> Any:
    """Air changes through cracks [1/h], open windows and the roof fan not counted.

    Parameters
    ----------
    cabin : Cabin
        Its leakage figures.
    wind_m_s, speed_kmh : float or (n_times,)
        Wind at the van [m/s]; road speed [km/h].

    Returns
    -------
    float or (n_times,)
        Parked, closed: below about 1.4 (Knibbs, de Dear & Atkinson 2009); linear in road speed (Ott, Klepeis & Switzer
        2008).
    """
    return (
        cabin.leakage_parked_per_h
        + cabin.leakage_wind_per_h * np.asarray(wind_m_s)
        + cabin.leakage_moving_per_h * speed_kmh / 100.0
    )
