"""The ground of the pitch: how warm the sun leaves it, in the open and below the van, over the year.

Pavement keeps the day's sun into the night. What decides on it is known before time runs, so that it costs the march
nothing: sun, sky, wind and the plan's shade in the open; air and the van's underside below the van. The floor's own
heat is left out there: 10 W/m2 through a floor warm the patch below it by less than half a kelvin, a twentieth of what
drives that floor.

Every kind of day has its own year: its pitch has lain there with that day's shade, and the van has come and gone by its
hours, on all the days before. So a night finds the same ground wherever a run begins.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from functools import lru_cache
from typing import Any

import numpy as np
import numpy.typing as npt

from vansim.climate.sun import sky
from vansim.climate.weather import Weather
from vansim.data import table
from vansim.jit import compiled_maker
from vansim.psychrometrics import STEFAN_BOLTZMANN, ZERO_C_K
from vansim.quantities import Numbers
from vansim.scenario.schema import DAY_MIN, Day, minutes

Array = npt.NDArray[Any]

STEP_S = 300.0
"""Step of the ground's own march [s]: short beside the 20 min in which its topmost centimetre follows."""
HOUR_STEPS = 12
CELLS_M = tuple(0.01 * 1.4**i for i in range(10))
"""Cells from the surface down [m]: 1 cm growing to 21 cm, 0.7 m in all, seven times as deep as a day's swing reaches
(sqrt(2 a/omega), 7 to 14 cm)."""
SPIN_UP_DAYS = 60
ROAD = "asphalt"
"""What a van drives on."""
FLOOR_HEIGHT_M, VAN_WIDTH_M = 0.5, 2.0
"""A van's floor above the ground, and its width (common practice)."""


@dataclass(frozen=True)
class Shade:
    """What a day's plan does to the ground from one minute of the day to another.

    `shade` keeps off that share of the beam, `sky_view` is the share of the sky seen, `away` whether the van is on the
    road, so that the sun reaches the place where it stands at other hours.
    """

    start_min: int
    end_min: int
    shade: float
    sky_view: float
    away: bool


@dataclass(frozen=True)
class GroundYear:
    """Mean surface temperature of the ground in each hour of the year, each (8760,) [°C]."""

    open_c: Array
    under_c: Array
    road_c: Array


def ground_film_w_m2k(wind_m_s: Numbers) -> Numbers:
    """Convective film of open ground [W/m2K].

    Parameters
    ----------
    wind_m_s : float or (n_times,)
        Wind over it [m/s].

    Returns
    -------
    float or (n_times,)
        2.8 + 3.0 v, radiation not in it (Watmuff, Charters & Proctor 1977, COMPLES 2:56, from memory).
    """
    return 2.8 + 3.0 * wind_m_s


def shade_of(day: Day) -> tuple[Shade, ...]:
    """A day's plan as the ground meets it, in the order of the plan."""
    return tuple(
        Shade(
            start_min=minutes(s.start) % DAY_MIN,
            end_min=(minutes(s.end) - 1) % DAY_MIN + 1,
            shade=s.shade,
            sky_view=s.sky_view,
            away=s.doing == "driving",
        )
        for s in day.segment
    )


@lru_cache(maxsize=32)  # 0.2 MB each
def ground_year(weather: Weather, kind: str, wind_factor: float, plan: tuple[Shade, ...]) -> GroundYear:
    """Ground of a pitch over the year.

    Parameters
    ----------
    weather : Weather
        The year; it repeats.
    kind : str
        Key of the table of grounds.
    wind_factor : float
        Wind over the ground over the wind at 10 m.
    plan : tuple of Shade
        From `shade_of`.

    Returns
    -------
    GroundYear
        In the open; below the van, where the van's underside and the air below it take the place of sun and sky; and of
        the road, where the plan drives (else the open ground again).
    """
    minute = (np.arange(DAY_MIN * 60 // int(STEP_S)) + 0.5) * STEP_S / 60.0
    part = np.zeros(minute.size, dtype=np.int64)
    for i, p in enumerate(plan):
        inside = (minute >= p.start_min) & (minute < p.end_min)
        if p.end_min <= p.start_min:
            inside = (minute >= p.start_min) | (minute < p.end_min)
        part[inside] = i
    days = weather.array("temp_air").size // 24
    lit, view, away = (
        np.tile(np.array([getattr(p, name) for p in plan], dtype=float)[part], days)
        for name in ("shade", "sky_view", "away")
    )
    hourly, light = np.repeat(np.arange(days * 24), HOUR_STEPS), sky(weather)
    sun = (1.0 - lit) * (light.dni * light.cos_zenith)[hourly] + view * light.dhi[hourly]
    after = (np.tile(np.arange(HOUR_STEPS), days * 24) + 1.0) / HOUR_STEPS
    air = _along(weather.array("temp_air"), hourly, after)
    film = ground_film_w_m2k(_along(weather.array("wind_speed"), hourly, after) * wind_factor)
    black = STEFAN_BOLTZMANN * (air + ZERO_C_K) ** 4
    longwave = view * weather.array("longwave")[hourly] + (1.0 - view) * black
    free = surface_c(kind, sun, longwave, air, film)
    stands = away == 0.0
    under = surface_c(kind, np.where(stands, 0.0, sun), np.where(stands, black, longwave), air, film)
    road = free
    if away.any() and kind != ROAD:
        road = surface_c(ROAD, sun, longwave, air, film)
    return GroundYear(*(c.reshape(-1, HOUR_STEPS).mean(axis=1) for c in (free, under, road)))


def _along(values: Array, hourly: Array, after: Array) -> Array:
    """Values at hour edges, straight between them, at so much of each hour."""
    found: Array = values[hourly] * (1.0 - after) + values[(hourly + 1) % values.size] * after
    return found


def surface_c(kind: str, sun_w_m2: Array, longwave_w_m2: Array, air_c: Array, film_w_m2k: Array) -> Array:
    """Surface of a kind of ground at the end of each step, after a spin-up over the last days of the series.

    Parameters
    ----------
    kind : str
        Key of the table of grounds.
    sun_w_m2, longwave_w_m2, air_c, film_w_m2k : (n,) array
        What falls on it, sun and longwave; the air, and its film, step by step.

    Returns
    -------
    (n,) array
        [°C]. One-dimensional conduction in `CELLS_M` above an adiabatic bottom, backward Euler; at the surface

            (1 - albedo)(1 - evaporated) G + eps (L - sigma T^4) = h (T - T_a) + q

        (energy balance of a surface, Oke 1987 ch. 2; force-restore models are the same with two nodes).
    """
    row = table("ground")[kind]
    below = table("ground")["dry-soil"]
    middle = np.cumsum(CELLS_M) - 0.5 * np.array(CELLS_M)
    bound = (middle < row["thickness_m"]) if row["thickness_m"] > 0.0 else np.ones(middle.size, dtype=bool)
    conductivity, capacity = (
        np.where(bound, float(row[name]), float(below[name])) for name in ("conductivity_w_mk", "capacity_mj_m3k")
    )
    absorbed = (1.0 - row["albedo"]) * (1.0 - row["evaporated_share"]) * np.asarray(sun_w_m2, dtype=float)
    first = max(absorbed.size - SPIN_UP_DAYS * 24 * HOUR_STEPS, 0)
    start = np.full(middle.size, float(np.mean(air_c[first:])))
    state = (np.array(CELLS_M), conductivity, 1e6 * capacity, start)
    weather = (absorbed, np.asarray(longwave_w_m2), np.asarray(air_c), np.asarray(film_w_m2k))
    _march_slab(*state, float(row["emittance"]), *(values[first:] for values in weather))
    return _march_slab(*state, float(row["emittance"]), *weather)


@compiled_maker
def _march_slab(
    thickness: Array,
    conductivity: Array,
    capacity: Array,
    cell_c: Array,
    emittance: float,
    absorbed: Array,
    longwave: Array,
    air: Array,
    film: Array,
) -> Array:
    """March the cells, changed in place; the surface [°C] at the end of each step.

    The surface has no store: its balance, radiation linearised at the last temperature, gives the flow into the first
    cell as a straight line in that cell's temperature. The rest is tridiagonal.
    """
    n, steps = thickness.size, air.size
    joint = np.empty(n)  # conductance between a cell and the next [W/m2K]
    for i in range(n - 1):
        joint[i] = 2.0 / (thickness[i] / conductivity[i] + thickness[i + 1] / conductivity[i + 1])
    joint[n - 1] = 0.0
    skin = 2.0 * conductivity[0] / thickness[0]
    store = capacity * thickness / STEP_S
    surface, ratio, found = cell_c[0], np.empty(n), np.empty(steps)
    for k in range(steps):
        kelvin = surface + ZERO_C_K
        slope = 4.0 * emittance * STEFAN_BOLTZMANN * kelvin**3
        pull = absorbed[k] + emittance * (longwave[k] - STEFAN_BOLTZMANN * kelvin**4) + slope * surface
        pull += film[k] * air[k]
        loss = slope + film[k]
        inward = skin / (loss + skin)
        # down: what each cell would be, were the next one at zero, and how far the next one moves it
        diagonal = store[0] + joint[0] + inward * loss
        ratio[0] = joint[0] / diagonal
        cell_c[0] = (store[0] * cell_c[0] + inward * pull) / diagonal
        for i in range(1, n):
            diagonal = store[i] + joint[i] + joint[i - 1] * (1.0 - ratio[i - 1])
            ratio[i] = joint[i] / diagonal
            cell_c[i] = (store[i] * cell_c[i] + joint[i - 1] * cell_c[i - 1]) / diagonal
        for i in range(n - 2, -1, -1):
            cell_c[i] += ratio[i] * cell_c[i + 1]
        surface = (pull + skin * cell_c[0]) / (loss + skin)
        found[k] = surface
    return found


def facing_share(width_m: float, length_m: float, apart_m: float) -> float:
    """View factor between two equal rectangles that face each other (Howell's catalogue, C-11).

    Parameters
    ----------
    width_m, length_m, apart_m : float
        Sides and distance [m].

    Returns
    -------
    float
        Share of what leaves one that meets the other.
    """
    x, y = width_m / apart_m, length_m / apart_m
    u, v = math.sqrt(1.0 + x * x), math.sqrt(1.0 + y * y)
    total = math.log(math.sqrt(u * u * v * v / (1.0 + x * x + y * y)))
    total += x * v * math.atan(x / v) + y * u * math.atan(y / u) - x * math.atan(x) - y * math.atan(y)
    return 2.0 / (math.pi * x * y) * total


def ground_radiosity_w_m2(emittance: float, surface_c: Numbers, longwave_w_m2: Numbers) -> Numbers:
    """Longwave that leaves the ground [W/m2]: its own, and what it throws back of what falls on it."""
    own = STEFAN_BOLTZMANN * (surface_c + ZERO_C_K) ** 4
    return emittance * own + (1.0 - emittance) * longwave_w_m2
