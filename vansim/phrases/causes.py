"""What a night's electricity went to, and lines of heat stress, as said; the codes are those of the studies."""

from __future__ import annotations

CAUSES = {
    "roof": "roof",
    "walls": "walls",
    "floor": "floor",
    "glass_sun": "sun through glass",
    "glass_conduction": "conduction through glass",
    "leakage": "air leakage",
    "roof_fan_air": "air from the roof fan",
    "people": "people",
    "dogs": "dogs",
    "equipment": "heat of appliances",
    "stored_heat": "heat stored by the day",
    "stored_moisture": "moisture stored by the day",
    "vehicle_cooling": "vehicle's own cooling",
    "bank_losses": "losses in bank and cables",
    "fans_and_standby": "fans and standby",
    "cycling": "compressor starts",
    "loads": "other loads",
    "all_others": "all others",
}
"""Causes, as `vansim.studies.energy.CAUSES`."""
LINES = {
    "sleep_suffers": "sleep begins to suffer",
    "bedroom_criterion": "bedroom limit",
    "caution": "heat index: caution",
    "extreme_caution": "heat index: extreme caution",
    "danger": "heat index: danger",
    "extreme_danger": "heat index: extreme danger",
    "dogs_in_transport": "dogs in transport need cooling",
    "dogs_above_thermoneutral": "dogs: heat stress",
    "dogs_survival": "dogs: survival line",
}
"""Thresholds of heat stress, as `vansim.heat_stress.LINES`."""


def cause(code: str) -> str:
    """Cause of a night's electricity as said."""
    return CAUSES[code]


def heat_line(code: str) -> str:
    """Threshold of heat stress as said, in a few words."""
    return LINES[code]
