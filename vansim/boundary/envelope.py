"""What sun, sky, wind and road do to the outside of the cabin: per face a conductance and an excess temperature.

Nothing here depends on what the cabin does, so it is computed once, as arrays over the run.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import cache, lru_cache
from typing import Any

import numpy as np
import numpy.typing as npt

from vansim.boundary.ground import (
    FLOOR_HEIGHT_M,
    ROAD,
    VAN_WIDTH_M,
    GroundYear,
    facing_share,
    ground_radiosity_w_m2,
    ground_year,
    shade_of,
)
from vansim.climate.sun import FaceIrradiance, face_irradiance, sky
from vansim.climate.weather import Weather
from vansim.data import table
from vansim.psychrometrics import STEFAN_BOLTZMANN, ZERO_C_K
from vansim.scenario.pitch import Pitch
from vansim.scenario.schema import Day, PlanSegment
from vansim.van.cabin import (
    FACE_TILT_DEG,
    FACE_TURN_DEG,
    FACES,
    INSIDE_FILM_M2K_W,
    OUTWARD_FILM_M2K_W,
    Cabin,
    Cover,
    Window,
    road_film_w_m2k,
    surface_balance,
    wind_film_w_m2k,
)
from vansim.van.charging import SolarArray, cell_c, lit_share

Array = npt.NDArray[Any]

GLASS_EMITTANCE = 0.84
VAN_HEIGHT_M = 2.0
PANEL_SHARE = 0.5
"""A roof below bracketed panels exchanges heat with the panel's back by radiation and with the gap's air by convection,
about equally (6 W/m2K each, assumed): its surroundings lie half-way between air and panel."""
PANEL_FILM_W_M2K = 12.0
ROAD_HEADINGS_DEG = (0.0, 45.0, 90.0, 135.0, 180.0, 225.0, 270.0, 315.0)


@dataclass(frozen=True)
class Around:
    """Surroundings of the van in the pieces of a plan segment, each (n,).

    Attributes
    ----------
    rows : int array
        Hour of the year.
    outdoor_c, wind_m_s, speed_m_s : array
        Mean outdoor air [°C]; wind at the van and road speed [m/s].
    sky_w_m2, ground_w_m2, under_w_m2 : array
        Longwave from the sky as the van sees it, from the ground around, and onto the floor [W/m2].
    film_w_m2k : array
        Convective film outside [W/m2K].
    """

    rows: Array
    outdoor_c: Array
    wind_m_s: Array
    speed_m_s: Array
    sky_w_m2: Array
    ground_w_m2: Array
    under_w_m2: Array
    film_w_m2k: Array


@dataclass(frozen=True)
class FaceGains:
    """Heat paths of the envelope in each piece.

    Attributes
    ----------
    ua_w_k : (n, 6) array
        Conductance per opaque face, in the order of `FACES` [W/K].
    sol_air_gain_w : (n, 6) array
        Conductance times (sol-air less outdoor air) [W].
    outward_ua_w_k : (n, 6) array
        What the conductance gains by another inside film when heat flows outward: up to a roof, down to a floor [W/K].
    glass_ua_w_k, glass_gain_w : (n,) array
        The same of all glass [W/K], [W].
    pane_kg_s, pane_coldness, pane_excess_k : (n,) array
        Water that condenses on all panes per unit of humidity above saturation there [kg/s]; how far they lie between
        cabin and outside, 0 to 1; outside less outdoor air as they have it [K].
    glass_light_w, glass_warmth_w : (n,) array
        Sun that passes the glass and falls on what is inside; sun absorbed in panes and covers that goes inward [W].
    solar_w_m2, cell_c : (n,) array
        Irradiance on the panels after angle losses and shade [W/m2], and their temperature [°C].
    """

    ua_w_k: Array
    sol_air_gain_w: Array
    outward_ua_w_k: Array
    glass_ua_w_k: Array
    glass_gain_w: Array
    pane_kg_s: Array
    pane_coldness: Array
    pane_excess_k: Array
    glass_light_w: Array
    glass_warmth_w: Array
    solar_w_m2: Array
    cell_c: Array


# --- irradiance on a plane ------------------------------------------------------------------------


@cache
def _glass_angles() -> tuple[Array, Array, float]:
    angle = table("glass")["angle"]
    shgc = np.array(angle["shgc"], dtype=float)
    cosines = np.cos(np.radians(np.array(angle["incidence_deg"], dtype=float)))
    return cosines[::-1], (shgc / shgc[0])[::-1], float(angle["diffuse_shgc"]) / shgc[0]


def glass_modifier(cosine: Array) -> Array:
    """SHGC at an incidence over SHGC at normal incidence, from the cosine; single clear glass."""
    cosines, factors, _ = _glass_angles()
    return np.interp(cosine, cosines, factors)


PANEL_INDEX, PANEL_ABSORBED = 1.526, 4.0 * 0.002
"""Refractive index of a module's glass; extinction 4 per metre through 2 mm (De Soto, Klein & Beckman 2006)."""


def panel_modifier(cosine: Array) -> Array:
    """Light through a module's glass at an incidence over that at normal incidence, from the cosine.

    De Soto, Klein & Beckman (2006), Solar Energy 80:78: Fresnel's reflection of both polarisations at the front, then
    absorption along the bent path. Written out, and checked against pvlib, which takes long to import.
    """
    n, outside = PANEL_INDEX, np.clip(cosine, 0.0, 1.0)
    inside = np.sqrt(1.0 - (1.0 - outside**2) / n**2)
    across = ((outside - n * inside) / (outside + n * inside)) ** 2
    along = ((inside - n * outside) / (inside + n * outside)) ** 2
    straight = (1.0 - ((n - 1.0) / (n + 1.0)) ** 2) * np.exp(-PANEL_ABSORBED)
    found: Array = (1.0 - 0.5 * (across + along)) * np.exp(-PANEL_ABSORBED / inside) / straight
    return found


PANEL_DIFFUSE = 0.95
"""Angle factor of a module for diffuse light (common practice)."""
_MODIFIERS = {"none": None, "glass": glass_modifier, "panel": panel_modifier}


@lru_cache(maxsize=128)  # 0.3 MB each; the bundled week on the road asks for 27
def irradiance(weather: Weather, tilt_deg: float, azimuth_deg: float, albedo: float, surface: str) -> FaceIrradiance:
    """Irradiance on a plane over the year, computed once for each year, plane and kind of surface.

    Parameters
    ----------
    weather : Weather
        The year.
    tilt_deg, azimuth_deg : float
        Plane [deg].
    albedo : float
        Where the file has none.
    surface : {"none", "glass", "panel"}
        Angle modifier of the beam.

    Returns
    -------
    FaceIrradiance
        Arrays (8760,).
    """
    measured = weather.array("albedo")
    ground = np.where(np.isnan(measured), albedo, measured)
    return face_irradiance(sky(weather), tilt_deg, azimuth_deg, ground, _MODIFIERS[surface])


def _mean_irradiance(
    weather: Weather, site: Pitch, segment: PlanSegment, tilt_deg: float, turn_deg: float, surface: str, rows: Array
) -> tuple[Array, Array, Array]:
    """Beam, modified beam, and diffuse with ground [W/m2], shade of the segment in, at the hours of `rows`."""
    if segment.doing == "driving" and segment.heading_deg is None and tilt_deg > 0.0:
        headings: tuple[float, ...] = ROAD_HEADINGS_DEG
    else:
        headings = (site.heading_deg if segment.heading_deg is None else segment.heading_deg,)
    faces = [irradiance(weather, tilt_deg, (heading + turn_deg) % 360.0, site.albedo, surface) for heading in headings]
    sun, sky_view = 1.0 - segment.shade, segment.sky_view
    beam = sun * np.mean([face.beam[rows] for face in faces], axis=0)
    modified = sun * np.mean([face.beam_modified[rows] for face in faces], axis=0)
    return beam, modified, sky_view * (faces[0].sky_diffuse[rows] + faces[0].ground[rows])


# --- surroundings ---------------------------------------------------------------------------------


def wind_factor(site: Pitch) -> float:
    """Wind at the van over the wind at 10 m."""
    return float((VAN_HEIGHT_M / 10.0) ** site.wind_exponent * site.wind_shelter_factor)


def surroundings(
    weather: Weather, site: Pitch, day: Day, segment: PlanSegment, cabin: Cabin, rows: Array, outdoor_c: Array
) -> Around:
    """Wind, films and longwave around the van.

    Parameters
    ----------
    weather, site, day, segment, cabin : Weather, Pitch, Day, PlanSegment, Cabin
        The year; where; the kind of day; what holds; the van.
    rows : (n,) int array
        Hour of the year of each piece.
    outdoor_c : (n,) array
        Mean outdoor air of each piece [°C].

    Returns
    -------
    Around
        A shaded sky radiates like the air. Walls see the open ground of the pitch or the road; the floor sees the patch
        below it, and past its edges the open ground.
    """
    wind_10m = weather.array("wind_speed")
    wind = 0.5 * (wind_10m[rows] + wind_10m[(rows + 1) % wind_10m.size]) * wind_factor(site)
    speed = np.full(rows.size, segment.speed_kmh / 3.6)
    air = STEFAN_BOLTZMANN * (outdoor_c + ZERO_C_K) ** 4
    open_sky = segment.sky_view
    sky_w = open_sky * weather.array("longwave")[rows] + (1.0 - open_sky) * air
    film = wind_film_w_m2k(wind)
    ground = ground_year(weather, site.ground, wind_factor(site), shade_of(day))
    around_w, under_w = _ground_longwave(site, segment, ground, cabin.length_m, rows=rows, sky_w=sky_w, air_w=air)
    if segment.doing == "driving":
        film = np.maximum(film, road_film_w_m2k(speed, cabin.length_m))
    return Around(
        rows=rows,
        outdoor_c=outdoor_c,
        wind_m_s=wind,
        speed_m_s=speed,
        sky_w_m2=sky_w,
        ground_w_m2=around_w,
        under_w_m2=under_w,
        film_w_m2k=film,
    )


def _ground_longwave(
    site: Pitch, segment: PlanSegment, ground: GroundYear, length_m: float, rows: Array, sky_w: Array, air_w: Array
) -> tuple[Array, Array]:
    """Longwave from the ground around, and onto the floor [W/m2]."""
    driving = segment.doing == "driving"
    emittance = float(table("ground")[ROAD if driving else site.ground]["emittance"])
    around = ground_radiosity_w_m2(emittance, (ground.road_c if driving else ground.open_c)[rows], sky_w)
    if driving:
        return around, around
    share = facing_share(VAN_WIDTH_M, length_m, FLOOR_HEIGHT_M)
    below = ground_radiosity_w_m2(emittance, ground.under_c[rows], air_w)
    return around, share * below + (1.0 - share) * around


def _longwave(around: Around, tilt_deg: float) -> Array:
    """Longwave on a plane [W/m2]: sky and ground by view factor."""
    if tilt_deg > 90.0:
        return around.under_w_m2
    view = 0.5 * (1.0 + np.cos(np.radians(tilt_deg)))
    found: Array = view * around.sky_w_m2 + (1.0 - view) * around.ground_w_m2
    return found


# --- faces ----------------------------------------------------------------------------------------


def face_gains(
    weather: Weather, site: Pitch, segment: PlanSegment, cabin: Cabin, solar: SolarArray | None, around: Around
) -> FaceGains:
    """Heat paths of roof, walls, floor and glass, and the light on the panels.

    Parameters
    ----------
    weather, site, segment, cabin : Weather, Pitch, Segment, Cabin
        As for `surroundings`.
    solar : SolarArray or None
        Panels, which shade the roof below them.
    around : Around
        From `surroundings`.

    Returns
    -------
    FaceGains
        Arrays over the pieces.
    """
    n = around.rows.size
    panel_light, panel_c = _panels(weather, site, segment, solar, around)
    ua, excess, outward = (np.zeros((n, len(FACES))) for _ in range(3))
    parked = segment.doing != "driving"
    for i, name in enumerate(FACES):
        face, tilt = cabin.faces[name], FACE_TILT_DEG[name]
        light = np.zeros(n)
        if name != "floor":
            beam, _, diffuse = _mean_irradiance(
                weather, site, segment, tilt_deg=tilt, turn_deg=FACE_TURN_DEG[name], surface="none", rows=around.rows
            )
            light = beam + diffuse
        sol_air, film = surface_balance(
            around.outdoor_c,
            face.absorptance * light,
            _longwave(around, tilt),
            face.emittance,
            around.film_w_m2k,
            level_m=level_of(face.area_m2, cabin.length_m) if tilt == 0.0 and parked else 0.0,
        )
        share = min(solar.area_m2 / face.area_m2, 1.0) if solar is not None and name == "roof" else 0.0
        inward, out = INSIDE_FILM_M2K_W[name], OUTWARD_FILM_M2K_W.get(name, INSIDE_FILM_M2K_W[name])
        open_u = face.u_w_m2k(inward, 1.0 / film) * face.area_m2 * (1.0 - share)
        ua[:, i], excess[:, i] = open_u, open_u * (sol_air - around.outdoor_c)
        outward[:, i] = face.u_w_m2k(out, 1.0 / film) * face.area_m2 * (1.0 - share) - open_u
        if share > 0.0 and solar is not None:
            glued = solar.mount == "glued"
            below_film = 1.0 / (film if glued else PANEL_FILM_W_M2K)
            below = face.u_w_m2k(inward, below_film) * face.area_m2 * share
            ua[:, i] += below
            outward[:, i] += face.u_w_m2k(out, below_film) * face.area_m2 * share - below
            excess[:, i] += below * (1.0 if glued else PANEL_SHARE) * (panel_c - around.outdoor_c)
    glass = _glass(weather, site, segment, cabin.windows, around)
    names = ("glass_ua_w_k", "glass_gain_w", "pane_kg_s", "pane_coldness", "pane_excess_k", "glass_light_w")
    return FaceGains(
        ua_w_k=ua,
        sol_air_gain_w=excess,
        outward_ua_w_k=outward,
        **dict(zip((*names, "glass_warmth_w"), glass, strict=True)),
        solar_w_m2=panel_light,
        cell_c=panel_c,
    )


def level_of(area_m2: float, length_m: float) -> float:
    """Area over perimeter of a rectangle of that area and length [m]."""
    return area_m2 / (2.0 * (length_m + area_m2 / length_m))


def _panels(
    weather: Weather, site: Pitch, segment: PlanSegment, solar: SolarArray | None, around: Around
) -> tuple[Array, Array]:
    if solar is None:
        return np.zeros(around.rows.size), around.outdoor_c
    beam, modified, diffuse = _mean_irradiance(
        weather,
        site,
        segment,
        tilt_deg=solar.tilt_deg,
        turn_deg=solar.azimuth_from_nose_deg,
        surface="panel",
        rows=around.rows,
    )
    air_speed = np.maximum(around.wind_m_s, around.speed_m_s)
    strings = lit_share(solar, segment.shade) / (1.0 - segment.shade) if segment.shade < 1.0 else 0.0
    return strings * modified + PANEL_DIFFUSE * diffuse, cell_c(solar, beam + diffuse, around.outdoor_c, air_speed)


def _glass(
    weather: Weather, site: Pitch, segment: PlanSegment, windows: tuple[Window, ...], around: Around
) -> tuple[Array, ...]:
    """Conductance of all glass, what wind and sky make of it, panes as damp air meets them, light that passes, and
    absorbed sun that goes inward.
    """
    n = around.rows.size
    ua, gain, light_in, warmth_in = np.zeros(n), np.zeros(n), np.zeros(n), np.zeros(n)
    panes, cold, excess = np.zeros(n), np.zeros(n), np.zeros(n)
    _, _, diffuse_factor = _glass_angles()
    parked = segment.doing != "driving"
    for window in windows:
        tilt = window.slope_deg
        _, modified, diffuse = _mean_irradiance(
            weather,
            site,
            segment,
            tilt_deg=tilt,
            turn_deg=FACE_TURN_DEG[window.face],
            surface="glass",
            rows=around.rows,
        )
        cover = window.covered() if segment.covers else Cover(shgc_factor=1.0, r_m2k_w=0.0, light_share=1.0)
        passed, absorbed = window.solar_split
        light = window.area_m2 * (modified + diffuse_factor * diffuse)
        outside_c, film = surface_balance(
            around.outdoor_c,
            0.0,
            _longwave(around, tilt),
            GLASS_EMITTANCE,
            around.film_w_m2k,
            level_m=level_of(window.area_m2, window.area_m2**0.5) if tilt == 0.0 and parked else 0.0,
        )
        inward = window.inward_share(INSIDE_FILM_M2K_W[window.face], 1.0 / film)
        straight = passed * cover.light_share * light
        light_in += straight
        warmth_in += cover.shgc_factor * (passed + inward * absorbed) * light - straight
        conductance = window.area_m2 * window.u_w_m2k(segment.covers, 1.0 / film)
        ua += conductance
        gain += conductance * (outside_c - around.outdoor_c)
        wetting = window.condensing_kg_s(segment.covers)
        coldness = wetting * window.coldness(segment.covers, 1.0 / film)
        panes, cold = panes + wetting, cold + coldness
        excess += coldness * (outside_c - around.outdoor_c)
    if not windows:
        return ua, gain, panes, cold, excess, light_in, warmth_in
    return ua, gain, panes, cold / panes, excess / cold, light_in, warmth_in
