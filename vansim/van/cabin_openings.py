"""Windows and vents that stand open: what stack and wind drive through them, from what a rule measures.

One opening breathes in and out through itself; openings in two faces let air through. In both the square of the flow
is a sum: what wind does, and what a difference of temperature does in proportion. So an opening is two numbers, and the
march adds the temperatures of the moment.
"""

from __future__ import annotations

import math
from typing import Literal, NamedTuple

from pydantic import Field

from vansim.quantities import Part, Positive

DISCHARGE = 0.6
"""Discharge coefficient of a sharp-edged opening (0.60 to 0.65; Iqbal et al. 2023 give 0.6)."""
GRAVITY, AROUND_K = 9.81, 300.0
WALL_CP = (0.60, 0.47, 0.12, -0.44, -0.68, -0.39, -0.36)
"""Mean pressure coefficient of a low building's wall, wind at 0, 30, ... 180 deg to it (Swami & Chandra 1987)."""
ROOF_CP = -0.7
"""Of a flat roof, in the open, wind along it (AIVC tables)."""
SINGLE_WIND, SINGLE_STACK, SINGLE_STILL = 0.001, 0.0035, 0.01
"""One opening: by wind [1], height and temperature difference [m/(s2 K)], turbulence in still air [m2/s2] (de Gids &
Phaff 1982, as in EN 16798-7, from memory)."""


class Opening(Part):
    """A window or vent as it stands open.

    Attributes
    ----------
    name : str
        For addressing it; left out, its number serves.
    face : str
        Face that it is in.
    width_mm, height_mm : float
        Free opening, across and up: a sliding window 25 mm open is 25 wide; a flap, as wide as it is and as high as
        its gap. In the roof, its two sides.
    above_floor_m : float or None
        Its middle above the floor [m]; left out, 1.2 in a wall and 1.9 in the roof.
    """

    name: str = ""
    face: Literal["roof", "left", "right", "front", "rear"] = "right"
    width_mm: Positive = 250.0
    height_mm: Positive = 400.0
    above_floor_m: float | None = Field(default=None, ge=0, le=3)

    @property
    def area_m2(self) -> float:
        """Free area [m2]."""
        return self.width_mm * self.height_mm * 1e-6

    @property
    def middle_m(self) -> float:
        """Its middle above the floor [m]."""
        if self.above_floor_m is not None:
            return self.above_floor_m
        return 1.9 if self.face == "roof" else 1.2


class Draught(NamedTuple):
    """Square of a flow [m6/s2]: `still`, and per (m/s)2 of wind `wind`, and per kelvin of difference `stack`."""

    still: float
    wind: float
    stack: float


def single_sided(openings: tuple[Opening, ...]) -> Draught:
    """Openings that breathe each for itself.

    Parameters
    ----------
    openings : tuple of Opening
        Any number; none gives nothing.

    Returns
    -------
    Draught
        Q = (A/2) sqrt(0.001 U2 + 0.0035 H dT + 0.01) (de Gids & Phaff 1982), H the height of the opening; one that lies
        flat in the roof has none. Of several, areas add, and heights are weighted by them.
    """
    half = sum(opening.area_m2 for opening in openings) / 2.0
    high = sum(o.area_m2 / 2.0 * o.height_mm / 1000.0 for o in openings if o.face != "roof")
    return Draught(SINGLE_STILL * half**2, SINGLE_WIND * half**2, SINGLE_STACK * half * high)


def through(openings: tuple[Opening, ...]) -> Draught:
    """Air through openings in two faces, in by one and out by the other.

    Parameters
    ----------
    openings : tuple of Opening
        Any number; nothing unless they are in two faces.

    Returns
    -------
    Draught
        Two orifices in series, 1/A2 = 1/A1^2 + 1/A2^2, Q = Cd A sqrt(2 dp/rho), dp = rho g H dT/T + 0.5 rho dCp U2
        (ASHRAE Handbook Fundamentals, ventilation and infiltration). The roof stands against all walls; without a roof
        vent, the face with the largest opening against the rest.
    """
    faces: dict[str, list[Opening]] = {}
    for opening in openings:
        faces.setdefault(opening.face, []).append(opening)
    if len(faces) < 2:
        return Draught(0.0, 0.0, 0.0)
    first = "roof" if "roof" in faces else max(faces, key=lambda face: sum(o.area_m2 for o in faces[face]))
    one, other = faces.pop(first), [opening for rest in faces.values() for opening in rest]
    areas = [sum(o.area_m2 for o in group) for group in (one, other)]
    middles = [
        sum(o.area_m2 * o.middle_m for o in group) / area for group, area in zip((one, other), areas, strict=True)
    ]
    square = DISCHARGE**2 / sum(1.0 / area**2 for area in areas)
    largest = max(other, key=lambda o: o.area_m2).face
    stack = 2.0 * GRAVITY * abs(middles[0] - middles[1]) / AROUND_K
    return Draught(0.0, square * pressure_difference(first, largest), square * stack)


def draught(openings: tuple[Opening, ...]) -> Draught:
    """All that open windows and vents exchange: what goes through and what they breathe, added in quadrature."""
    return Draught(*(a + b for a, b in zip(through(openings), single_sided(openings), strict=True)))


def wall_cp(angle_deg: float) -> float:
    """Pressure coefficient of a wall with the wind at an angle to it, from the table of 30 degrees."""
    turned = abs((angle_deg + 180.0) % 360.0 - 180.0) / 30.0
    low = min(int(turned), len(WALL_CP) - 2)
    return WALL_CP[low] + (WALL_CP[low + 1] - WALL_CP[low]) * (turned - low)


_TURN_DEG = {"front": 0.0, "right": 90.0, "rear": 180.0, "left": 270.0}


def pressure_difference(one: str, other: str) -> float:
    """Difference of pressure coefficients between two faces that drives the mean flow over all winds.

    Weather files that every place has know no direction near a van: the flow, which goes by the root of the difference,
    is averaged over all of them. 0.46 between a wall and the roof, 0.60 between opposite walls.
    """
    roots = []
    for wind in range(0, 360, 5):
        pressures = [ROOF_CP if face == "roof" else wall_cp(wind - _TURN_DEG[face]) for face in (one, other)]
        roots.append(math.sqrt(abs(pressures[0] - pressures[1])))
    return (sum(roots) / len(roots)) ** 2
