"""The sky's formula against published values; formulas by which a column is recognised; faults that would show."""

from __future__ import annotations

import numpy as np
import pandas as pd
import pytest
from pvlib import clearsky

from vansim.climate import Weather
from vansim.climate.known_skies import (
    berdahl_martin,
    berdahl_martin_mean,
    brunt,
    check_column,
    clark_allen,
    unsworth_monteith,
    walton,
)
from vansim.climate.sky_longwave import (
    clear_share,
    clear_sky_emissivity,
    clear_sun_w_m2,
    sky_longwave_w_m2,
)
from vansim.climate.sun import extraterrestrial_w_m2, sun_clock

pytestmark = pytest.mark.published

SIGMA = 5.670374e-8
EXTRA = np.full(6, 1361.0)
SEA = np.array([1.0e5])
STATES = [
    (30.0, 14.93, 0.8109),
    (35.0, 14.85, 0.8102),
    (38.0, 6.89, 0.7531),
    (25.0, 19.15, 0.8450),
    (20.0, 10.00, 0.7743),
]
"""Air and dew point [°C], emissivity by Berdahl & Martin (1984) for the mean of the day, worked by hand."""


def one(value: float) -> np.ndarray:
    return np.array([value])


@pytest.mark.parametrize(("air_c", "dew_c", "mean"), STATES)
def test_clear_sky(air_c: float, dew_c: float, mean: float) -> None:
    """Berdahl & Martin (1984) by day; at midnight 0.013 more."""
    found = clear_sky_emissivity(np.full(4, dew_c), np.array([0.0, 6.0, 12.0, 18.0]))
    assert found == pytest.approx([mean + 0.013, mean, mean, mean], abs=1e-4)


def test_the_term_of_the_night_runs_smoothly() -> None:
    """0.013 cos(2 pi t/24) from 18 to 6 h: no step where it comes and goes."""
    by_minute = clear_sky_emissivity(np.full(1441, 10.0), np.arange(1441) / 60.0)
    assert np.abs(np.diff(by_minute)).max() < 0.013 * 2 * np.pi / 1440 * 1.01
    assert by_minute[3 * 60] - by_minute[720] == pytest.approx(0.013 * np.cos(np.pi / 4), abs=1e-9)


def test_pressure_does_not_enter() -> None:
    """With the authors' term a place at 1700 m (830 hPa) would stand 0.020 lower, 8 W/m2 further from measurement."""
    with_term = berdahl_martin(one(10.0), one(6.0), one(83000.0))
    assert clear_sky_emissivity(one(10.0), one(6.0)) - with_term == pytest.approx(0.0204, abs=1e-4)


@pytest.mark.parametrize("cos_z", [0.2, 0.5, 0.8, 1.0])
def test_clear_sun_against_another_formula(cos_z: float) -> None:
    """At the sea within 10 % of Haurwitz (1945), J. Meteorol. 2:154, which pvlib has, above 30 degrees within 5 %."""
    theirs = float(clearsky.haurwitz(pd.Series(np.degrees(np.arccos([cos_z]))))["ghi"].iloc[0])
    assert clear_sun_w_m2(one(cos_z), EXTRA[:1], 0.0)[0] == pytest.approx(theirs, rel=0.05 if cos_z >= 0.5 else 0.10)


def test_the_clearest_hours_of_stations_are_clear(greensboro: Weather, sand_point: Weather, miami: Weather) -> None:
    """The clearest twentieth of hours lies within 4 % of the clear sky, at each height of the sun."""
    for weather in (greensboro, sand_point, miami):
        cos_z, ghi = sun_clock(weather.site).mean_cos_zenith(), weather.array("ghi")
        for low, high in ((0.3, 0.5), (0.5, 0.7), (0.7, 1.0)):
            at = (cos_z > low) & (cos_z <= high)
            clear = clear_sun_w_m2(cos_z[at], extraterrestrial_w_m2()[at], weather.site.altitude)
            assert np.quantile(ghi[at] / clear, 0.95) == pytest.approx(1.0, abs=0.04)


def test_share_of_the_sun_and_its_nights() -> None:
    """Nights get the line between evening and morning; a sun below 10 degrees is not asked."""
    cos_z = np.array([0.0, 0.5, 0.8, 0.5, 0.1, 0.0])
    share = np.array([0.9, 0.3, 0.6, 0.9, 0.1, 0.9])
    clear = np.where(cos_z > 0.0, clear_sun_w_m2(np.maximum(cos_z, 0.1), EXTRA, 0.0), 0.0)
    found = clear_share(share * clear, cos_z, EXTRA, 0.0)
    assert found[1:4] == pytest.approx([0.3, 0.6, 0.9], abs=1e-12)
    assert found[[4, 5, 0]] == pytest.approx([0.75, 0.6, 0.45], abs=1e-9)
    assert clear_share(2.0 * clear, cos_z, EXTRA, 0.0).max() == 1.0


def steady(share: float, dew_c: float = -4.9, air_c: float = 25.0) -> float:
    """Mean longwave of days that are all alike [W/m2]."""
    return float(sky_longwave_w_m2(np.full(48, air_c), np.full(48, dew_c), np.full(48, share)).mean())


def test_cloud_after_crawford_and_duchon() -> None:
    """Crawford & Duchon (1999): s clear + (1 - s). A quarter through: 0.25 of the clear one + 0.75."""
    black = SIGMA * 298.15**4
    clear = steady(1.0) / black
    assert steady(0.25) / black == pytest.approx(0.25 * clear + 0.75, abs=1e-9)
    assert steady(0.0) == pytest.approx(black, rel=1e-6)


def test_low_overcast_in_dry_air() -> None:
    """Within 20 W/m2 of Unsworth & Monteith (1975) and of Martin & Berdahl's low cloud (0.966 at 0.70 clear).

    A factor on the clear sky (Walton 1983) stands 55 W/m2 or more below both.
    """
    black = SIGMA * 298.15**4
    clear = one(steady(1.0) / black)
    ours = steady(0.2) / black
    assert abs(ours - unsworth_monteith(clear, one(1.0))[0]) * black < 20.0
    assert abs(ours - 0.966) * black < 20.0
    assert (ours - walton(clear, one(1.0))[0]) * black > 55.0


def test_hours_are_means_of_their_ends() -> None:
    air_c, dew_c = np.linspace(10.0, 33.0, 24), np.full(24, 5.0)
    found = sky_longwave_w_m2(air_c, dew_c, np.ones(24))
    edge = clear_sky_emissivity(dew_c, np.arange(24.0)) * SIGMA * (air_c + 273.15) ** 4
    assert found[:-1] == pytest.approx(0.5 * (edge[:-1] + edge[1:]))
    assert found[-1] == pytest.approx(0.5 * (edge[-1] + edge[0]))


def test_longwave_goes_with_the_fourth_power() -> None:
    """Fault: T for T^4."""
    dew = np.full(24, 10.0)
    for share in (0.0, 1.0):  # overcast, clear
        hot, mild = (sky_longwave_w_m2(np.full(24, air), dew, np.full(24, share)) for air in (40.0, 20.0))
        assert hot / mild == pytest.approx((313.15 / 293.15) ** 4, rel=1e-9)
    overcast = sky_longwave_w_m2(np.full(24, 26.85), dew, np.zeros(24))
    assert overcast == pytest.approx(SIGMA * 300.0**4, rel=1e-6)


# --- formulas by which a column is recognised -------------------------------------------------------------------------


def test_clark_allen_worked_value() -> None:
    """20 degC air, 10 degC dew point, clear: 341.2 W/m2 by Clark & Allen (1978), as worked in public code."""
    assert SIGMA * 293.15**4 * clark_allen(one(10.0), one(0.0), SEA) == pytest.approx(341.2, abs=0.1)


@pytest.mark.parametrize(("air_c", "dew_c", "mean"), STATES)
def test_berdahl_martin_with_its_terms(air_c: float, dew_c: float, mean: float) -> None:
    """By hand at 1000 mbar; the term of the hour is nil at 6 h, that of pressure 0.012 at 900 mbar (from memory)."""
    assert berdahl_martin_mean(one(dew_c), one(12.0), SEA) == pytest.approx(mean, abs=1e-4)
    found = [berdahl_martin(one(dew_c), one(hour), SEA)[0] for hour in (6.0, 0.0, 12.0)]
    assert found == pytest.approx([mean, mean + 0.013, mean - 0.013], abs=1e-4)
    drop = berdahl_martin(one(dew_c), one(6.0), SEA) - berdahl_martin(one(dew_c), one(6.0), 0.9 * SEA)
    assert drop == pytest.approx(0.012, abs=1e-9)


@pytest.mark.parametrize(
    ("air_c", "humidity", "emissivity"),
    [(38.0, 0.15, 0.7636), (35.0, 0.30, 0.8131), (25.0, 0.70, 0.8442), (20.0, 0.50, 0.7773), (10.0, 0.60, 0.7408)],
)
def test_brunt(air_c: float, humidity: float, emissivity: float) -> None:
    """0.600 + 1.652 sqrt(e/101325 Pa) worked by hand with the Magnus form."""
    vapour = humidity * 6.1094 * np.exp(17.625 * air_c / (243.04 + air_c))
    log = np.log(vapour / 6.1094)
    dew_c = 243.04 * log / (17.625 - log)
    assert brunt(one(dew_c), one(0.0), SEA) == pytest.approx(emissivity, abs=1e-4)


def test_walton_cloud_factor() -> None:
    """Walton (1983): 1.0595 at 5 tenths, 1.154 at 10."""
    assert walton(np.ones(3), np.array([0.0, 0.5, 1.0])) == pytest.approx([1.0, 1.0595, 1.154], abs=1e-9)


def test_unsworth_monteith() -> None:
    """Unsworth & Monteith (1975): 0.70 becomes 0.826 at half cover and 0.952 at full."""
    assert unsworth_monteith(np.full(3, 0.7), np.array([0.0, 0.5, 1.0])) == pytest.approx([0.7, 0.826, 0.952], abs=1e-9)


FAULTS = {
    "0.0028 for 0.00028": lambda n: 1 + 0.0224 * n - 0.0035 * n**2 + 0.0028 * n**3,
    "plus for minus 0.0035": lambda n: 1 + 0.0224 * n + 0.0035 * n**2 + 0.00028 * n**3,
}


@pytest.mark.parametrize("fault", FAULTS)
def test_cloud_coefficient_faults_would_show(fault: str) -> None:
    for tenths in (3.0, 5.0, 10.0):
        assert abs(FAULTS[fault](tenths) - walton(one(1.0), one(tenths / 10.0))[0]) > 0.05


def test_cloud_factor_multiplies_the_whole_emissivity() -> None:
    """Fault: the factor on the logarithm alone. Overcast, 10 degC dew point, that gives 0.819 for 0.940."""
    whole = walton(clark_allen(one(10.0), one(0.0), SEA), one(1.0))[0]
    on_the_log = 0.787 + 0.764 * np.log(283.15 / 273.0) * 1.154
    assert whole == pytest.approx(0.9403, abs=2e-4)
    assert whole - on_the_log > 0.1


# --- is a column computed? --------------------------------------------------------------------------------------------

HOUR = np.arange(8760.0) % 24
RNG = np.random.default_rng(7)
AIR = 18.0 + 7.0 * np.cos(2 * np.pi * (HOUR - 15) / 24) + RNG.normal(0, 3, 8760)
DEW = np.minimum(AIR - 1.0, 9.0 + RNG.normal(0, 4, 8760))
COVER = np.clip(RNG.normal(0.5, 0.4, 8760), 0, 1).round(1)
PRESSURE = np.full(8760, 97000.0)
OURS = sky_longwave_w_m2(AIR, DEW, 1 - 0.6 * COVER)


def rounded_column(emissivity: np.ndarray) -> np.ndarray:
    """Column of a row's own values, as written: whole W/m2, at the end of its hour."""
    return np.roll(np.round(emissivity * SIGMA * (AIR + 273.15) ** 4), -1)


@pytest.mark.parametrize("cloud", [walton, unsworth_monteith])
@pytest.mark.parametrize("clear", [clark_allen, berdahl_martin, berdahl_martin_mean, brunt])
def test_a_computed_column_is_recognised(clear: object, cloud: object) -> None:
    column = rounded_column(cloud(clear(DEW, HOUR, PRESSURE), COVER))  # type: ignore[operator]
    found = check_column(column, AIR, DEW, PRESSURE, [COVER], OURS)
    assert found.computed
    assert found.apart_w_m2 < 1.0


def test_a_measured_column_is_not_taken_for_computed() -> None:
    """Hours of a pyrgeometer scatter by 15 W/m2 or more about any formula."""
    column = OURS + RNG.normal(0.0, 15.0, 8760)
    assert not check_column(column, AIR, DEW, PRESSURE, [COVER], OURS).computed


def test_the_formula_that_is_used_is_recognised() -> None:
    found = check_column(OURS, AIR, DEW, PRESSURE, [], OURS)
    assert (found.formula, found.computed) == ("the formula used here", True)
