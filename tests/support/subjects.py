"""All published checks in order, what they rest on, and what could not be checked."""

from __future__ import annotations

from collections.abc import Mapping
from types import ModuleType

import pandas as pd

from tests.support.bench import judge

SUBJECTS = {
    "Where the sun stands": "test_solar_geometry",
    "Sol-air temperature": "test_sol_air",
    "Sky radiation": "test_sky_radiation",
    "Design days": "test_design_day",
    "Years to come": "test_changed_year",
    "U-values and films": "test_envelope",
    "Layered walls, hour by hour": "test_layered_walls",
    "Ground": "test_ground",
    "Air exchange": "test_air_exchange",
    "Step, sine and thermostat": "test_closed_forms",
    "A closed car in the sun": "test_parked_car",
    "People and dogs": "test_occupants",
    "Heat lines": "test_hazard_lines",
    "Moist air": "test_moist_air",
    "Ideal cycle": "test_ideal_cycle",
    "Compressor": "test_compressor",
    "Coil": "test_coil",
    "Cycling": "test_cycling",
    "Bank": "test_bank",
    "Lead-acid": "test_lead_acid",
    "Charging": "test_charging",
    "Rules of the trade": "test_trade_practice",
}
"""Subjects in order, and the module of each in `tests/published`."""
ELSEWHERE = {
    "an almanac's sunrises; the whole solar-position algorithm at random places": "tests/climate/test_sun.py",
    "sky formulas at their own worked values; cloud factor": "tests/climate/test_sky_longwave.py",
    "air gaps (ISO 6946), angle table of glass (Fresnel)": "tests/data/test_data_envelope.py",
    "refrigerant fits over their whole range; a textbook cycle": "tests/provenance/test_refrigerants.py",
    "readers of typical years against each other": "tests/climate/test_weather_readers.py",
    "the march against an independent integrator; conservation": "tests/march, tests/properties",
}
NOT_COVERED = (
    "a camper van's measured UA: none was found in the open",
    "a measured night of a real van with a battery-powered cooler: cabin, current, voltage",
    "how much warmer than the air around a roof unit draws it in: 1 K assumed",
    "measured capacity and power of a 1 to 2.5 kW 12 to 48 V unit away from its rating: no open paper was found",
    "optical data of vehicle glass (solar factor, reflectance): usual ranges from memory; how light that has passed it "
    "is shared between lining and contents: by area, assumed",
    "usable capacity and cold resistance of large LFP cells: data-sheet figures from memory",
    "a step of rest voltage near 70 % charge, and the hysteresis between charge and discharge (10 to 30 mV): left out",
    "measured sky radiation: formulas of four authors are compared instead",
    "moisture held by lining and bedding: an assumed multiple of the air's",
    "dry heat of dogs above 24 degC: by the difference to body temperature, assumed; heat of panting is left out",
    "NIOSH work limits, ISO 7730 comfort votes, cell ageing, wire and fuse sizes: the code does not offer them",
    "ribs of a van: who fits it tells spacing, flange and web; 10 % for ribs that are known, 30 % for guessed ones",
)


def everything(checks: Mapping[str, ModuleType]) -> pd.DataFrame:
    """Every row of every subject, judged, with its subject in front; `checks` holds the module of each subject."""
    parts = []
    for subject, module in checks.items():
        part = judge(module.rows())
        part.insert(0, "subject", subject)
        parts.append(part)
    return pd.concat(parts, ignore_index=True)
