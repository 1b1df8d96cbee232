"""What a report says of the van as it was understood, as named values."""

from __future__ import annotations

from dataclasses import dataclass


@dataclass(frozen=True)
class FaceFound:
    """An outside face: its paint, and the insulation in it with its thickness [mm], outermost first."""

    name: str
    paint: str
    insulants: tuple[tuple[str, float], ...]


@dataclass(frozen=True)
class WindowFound:
    """A window with its glass and its cover."""

    name: str
    face: str
    area_m2: float
    glass: str
    cover: str


@dataclass(frozen=True)
class VanFound:
    """The van as it was taken.

    Attributes
    ----------
    ua_w_k : float
        Shell and bare glass, parked and closed, at the standard's films [W/K].
    faces, windows : tuple
        One by one.
    covers_asleep : bool
        Whether the plan has the covers on while they sleep.
    shade_by_day, shade_asleep : float
        Share of direct sun kept off, at most, by day and while they sleep.
    rated_w, rated_power_w, rated_outdoor_c : float
        Capacity and power of the cooler at its rated point [W], and that outdoors [°C]; 0 where there is none.
    intake_rise_k, intake_cost : float
        How much warmer than outdoors its condenser draws in air [K], and the share of its cooling per watt-hour that
        this costs on the night that is shown, in eco.
    eco_a, boost_a, at_v : float
        Current while the compressor runs, on the night that is shown [A], and at which voltage [V].
    chemistry, units, unit_ah, unit_v : str, int, float, int
        Kind, number, capacity and voltage of its batteries.
    usable_kwh, reserve_soc : float
        From full to the reserve.
    panels_w, panels_m2 : float
        Solar; 0 where there is none.
    idle_a, road_a : float
        Alternator [A]; 0 where there is none.
    charger_a, breaker_a : float
        Shore power [A]; 0 where there is none.
    loads_wh_day : float
        All other loads over a day [Wh].
    """

    ua_w_k: float
    faces: tuple[FaceFound, ...]
    windows: tuple[WindowFound, ...]
    covers_asleep: bool
    shade_by_day: float
    shade_asleep: float
    rated_w: float
    rated_power_w: float
    rated_outdoor_c: float
    intake_rise_k: float
    intake_cost: float
    eco_a: float
    boost_a: float
    at_v: float
    chemistry: str
    units: int
    unit_ah: float
    unit_v: int
    usable_kwh: float
    reserve_soc: float
    panels_w: float
    panels_m2: float
    idle_a: float
    road_a: float
    charger_a: float
    breaker_a: float
    loads_wh_day: float
