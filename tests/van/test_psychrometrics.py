"""Moist air against psychrolib (same handbook, written by others) and CoolProp (real gas), over 1000 random states.

The perfect-gas humidity ratio lies about 0.45 % below the real-gas one; the handbook says so too (ASHRAE Fundamentals
2017 ch. 1, section on perfect-gas relations: errors under 0.7 %).
"""

from __future__ import annotations

import numpy as np
import psychrolib
import pytest
from CoolProp.HumidAirProp import HAPropsSI

from tests.support.psychro import wet_bulb_c
from vansim.psychrometrics import (
    density_kg_m3,
    dew_point_c,
    enthalpy_j_kg,
    humidity_ratio,
    pressure_at_altitude_pa,
    relative_humidity,
    saturation_pressure_pa,
    saturation_ratio,
    vapour_pressure_pa,
)

psychrolib.SetUnitSystem(psychrolib.SI)
RNG = np.random.default_rng(20)
STATES = list(
    zip(RNG.uniform(-20.0, 65.0, 1000), RNG.uniform(0.03, 0.99, 1000), RNG.uniform(7e4, 1.05e5, 1000), strict=True)
)
WARM = [s for s in STATES if s[0] > 1.0][:300]


def ratio_of(temp: float, rh: float, pressure: float) -> float:
    return psychrolib.GetHumRatioFromRelHum(temp, rh, pressure)


def test_saturation_pressure() -> None:
    temps = np.array([s[0] for s in STATES])
    ours = [saturation_pressure_pa(t) for t in temps]
    assert ours == pytest.approx([psychrolib.GetSatVapPres(t) for t in temps], rel=2e-4)


def test_humidity_ratio_and_back() -> None:
    for temp, rh, pressure in STATES:
        vapour = rh * psychrolib.GetSatVapPres(temp)
        ratio = humidity_ratio(vapour, pressure)
        assert ratio == pytest.approx(ratio_of(temp, rh, pressure), rel=1e-4, abs=1e-7)
        assert vapour_pressure_pa(ratio, pressure) == pytest.approx(vapour, rel=1e-12)
        assert relative_humidity(temp, ratio, pressure) == pytest.approx(rh, rel=2e-4)


def test_density_of_dry_air_in_moist_air() -> None:
    for temp, rh, pressure in STATES:
        ratio = ratio_of(temp, rh, pressure)
        theirs = 1.0 / psychrolib.GetMoistAirVolume(temp, ratio, pressure)
        assert density_kg_m3(temp, ratio, pressure) == pytest.approx(theirs, rel=2e-4)


def test_enthalpy() -> None:
    for temp, rh, pressure in STATES:
        ratio = ratio_of(temp, rh, pressure)
        assert enthalpy_j_kg(temp, ratio) == pytest.approx(psychrolib.GetMoistAirEnthalpy(temp, ratio), abs=1.0)


def test_dew_point() -> None:
    for temp, rh, pressure in STATES:
        ratio = ratio_of(temp, rh, pressure)
        theirs = psychrolib.GetTDewPointFromHumRatio(temp, ratio, pressure)
        assert dew_point_c(ratio, pressure) == pytest.approx(theirs, abs=0.02)
        assert saturation_ratio(theirs, pressure) == pytest.approx(ratio, rel=2e-3)


def test_wet_bulb() -> None:
    for temp, rh, pressure in STATES:
        ratio = ratio_of(temp, rh, pressure)
        theirs = psychrolib.GetTWetBulbFromHumRatio(temp, ratio, pressure)
        if abs(theirs) > 0.3:  # over water or over ice: the two switch at 0 degC, not at the triple point
            assert wet_bulb_c(temp, ratio, pressure) == pytest.approx(theirs, abs=0.01)


def test_pressure_at_altitude() -> None:
    for altitude in (-300.0, 0.0, 1500.0, 4000.0):
        assert pressure_at_altitude_pa(altitude) == pytest.approx(psychrolib.GetStandardAtmPressure(altitude), rel=1e-6)


@pytest.mark.published
def test_real_gas() -> None:
    """CoolProp's humid air (ASHRAE RP-1485 formulation) within 1 %."""
    for temp, rh, pressure in WARM:
        given = ("T", temp + 273.15, "R", rh, "P", pressure)
        ratio = HAPropsSI("W", *given)
        ours = humidity_ratio(rh * saturation_pressure_pa(temp), pressure)
        assert ours == pytest.approx(ratio, rel=0.01)
        assert density_kg_m3(temp, ratio, pressure) == pytest.approx(1.0 / HAPropsSI("Vda", *given), rel=0.01)
        assert dew_point_c(ratio, pressure) == pytest.approx(HAPropsSI("D", *given) - 273.15, abs=0.15)
        wet_bulb = HAPropsSI("B", *given) - 273.15
        if abs(wet_bulb) > 0.5:
            assert wet_bulb_c(temp, ratio, pressure) == pytest.approx(wet_bulb, abs=0.15)
        other = ("T", 293.15, "R", 0.4, "P", pressure)
        step = enthalpy_j_kg(temp, ratio) - enthalpy_j_kg(20.0, HAPropsSI("W", *other))
        theirs = HAPropsSI("Hda", *given) - HAPropsSI("Hda", *other)
        assert step == pytest.approx(theirs, rel=0.01, abs=150.0)
