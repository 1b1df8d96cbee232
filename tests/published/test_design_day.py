"""A design day from handbook values: hourly profile and clear sky.

ASHRAE Handbook of Fundamentals (2009 and later) ch. 14: fractions of the daily range; optical depths for beam and
diffuse, with the exponents of 2009 and of 2013. The values below were computed from these equations by hand, once more,
outside of this project. The fractions were met alike in three independent public codes, the exponents in eight.
"""

from __future__ import annotations

from typing import Any

import numpy as np
import pandas as pd
import psychrolib
import pytest

from tests.support.bench import hold, row
from vansim.climate import Location
from vansim.climate.design_days import RANGE_FRACTION, clear_sky_w_m2, design_year, humidity_ratio_of
from vansim.psychrometrics import humidity_ratio, pressure_at_altitude_pa, saturation_pressure_pa

ON_SOLAR_TIME = Location(latitude=33.0, longitude=-105.0, altitude=350.0, utc_offset=-7.0, name="invented")
HOURS_1_TO_24_C = (
    27.68, 27.12, 26.70, 26.28, 26.00, 26.28, 27.26, 29.64, 32.30, 34.68, 36.78, 38.18,
    39.30, 40.00, 40.00, 39.16, 38.04, 36.64, 34.54, 33.00, 31.74, 30.48, 29.50, 28.52,
)  # fmt: skip
"""40 °C and 14 K, hours 1 to 24 of the handbook's table."""


def table(month: int = 7, **values: float) -> pd.DataFrame:
    row = {"dry_bulb_c": 40.0, "wet_bulb_c": 21.0, "daily_range_k": 14.0, "taub": 0.515, "taud": 2.066}
    return pd.DataFrame([{"month": month, **row, **values}]).set_index("month")


HANDBOOK = "ASHRAE Handbook Fundamentals ch. 14 (2009 and later)"
CLEAR = (
    ("2013", 0.515, 2.066, 75.7, 781.8, 165.1),
    ("2013", 0.556, 1.779, 75.7, 749.0, 219.9),
    ("2013", 0.324, 2.461, 60.0, 926.2, 104.2),
    ("2013", 0.324, 2.461, 20.0, 678.3, 58.0),
    ("2013", 0.400, 2.200, 45.0, 792.5, 120.7),
    ("2009", 0.324, 2.461, 20.0, 682.6, 68.0),
)
"""Edition, optical depths, elevation [deg], beam and diffuse [W/m2] on day 202."""


def rows() -> list[dict[str, Any]]:
    day = design_year(table(), ON_SOLAR_TIME, "test").array("temp_air")[24 * 201 : 24 * 202]
    worst = float(np.abs(np.roll(day, -1) - HOURS_1_TO_24_C).max())
    fractions = ("sum of the shares of the daily range", 12.87, sum(RANGE_FRACTION), 1e-9, "-", "exact")
    found = [
        row(*fractions, HANDBOOK, "standard"),
        row("hours of a 40 degC, 14 K day, worst", 0.0, worst, 1e-9, "K", "exact", HANDBOOK, "standard", "computed"),
        row("mean of that day", 32.4925, float(day.mean()), 1e-9, "degC", "exact", HANDBOOK, "standard", "computed"),
    ]
    for edition, taub, taud, height, beam, diffuse in CLEAR:
        ours = clear_sky_w_m2(taub, taud, height, 202, edition)
        for what, value, one in (("beam", beam, ours[0]), ("diffuse", diffuse, ours[1])):
            called = f"{what}, {edition}, depths {taub:g} and {taud:g}, sun at {height:g} deg"
            found.append(
                row(called, value, float(one), 0.06, "W/m2", "given to 0.1 W/m2", HANDBOOK, "standard", "computed")
            )
    return found


def test_design_day() -> None:
    """The clock is the sun's here; hour 24 stands at 0 h, the two hottest at 14 h and 15 h."""
    hold(rows())


def test_profile_follows_the_sun_and_not_the_clock() -> None:
    """One hour of longitude further west the same day comes an hour later by the clock."""
    west = Location(latitude=33.0, longitude=-120.0, altitude=350.0, utc_offset=-7.0, name="invented")
    here, there = (design_year(table(), site, "test").array("temp_air") for site in (ON_SOLAR_TIME, west))
    assert np.roll(here, 1) == pytest.approx(there, abs=1e-9)


@pytest.mark.parametrize(("dry", "wet"), [(40.0, 21.0), (33.0, 26.0), (5.0, -1.0)])
def test_moisture_of_the_coincident_wet_bulb(dry: float, wet: float) -> None:
    """Against psychrolib, which follows the same handbook; its saturation differs by less than 0.01 %."""
    psychrolib.SetUnitSystem(psychrolib.SI)
    pressure = pressure_at_altitude_pa(350.0)
    assert humidity_ratio_of(dry, wet, pressure) == pytest.approx(
        psychrolib.GetHumRatioFromTWetBulb(dry, wet, pressure), rel=5e-4
    )


def test_moisture_is_held_through_the_day() -> None:
    """A dry day keeps the humidity ratio of its hottest hour."""
    pressure = pressure_at_altitude_pa(350.0)
    dew = design_year(table(wet_bulb_c=21.0), ON_SOLAR_TIME, "test").array("temp_dew")
    assert np.ptp(dew) < 1e-9
    ratio = humidity_ratio(saturation_pressure_pa(dew[0]), pressure)
    assert ratio == pytest.approx(humidity_ratio_of(40.0, 21.0, pressure), rel=1e-6)


def test_a_damp_day_is_saturated_at_dawn() -> None:
    year = design_year(table(wet_bulb_c=33.0), ON_SOLAR_TIME, "test")
    dew, temp = (year.array(c)[24 * 201 : 24 * 202] for c in ("temp_dew", "temp_air"))
    assert dew[5] == temp[5]
    assert dew[14] < temp[14]


def test_the_sun_of_the_year_closes() -> None:
    year = design_year(table(), ON_SOLAR_TIME, "test")
    assert year.closure.verdict == "agrees"
    assert year.closure.at_label_w_m2 < 1e-9


def test_noon_of_the_year_is_the_equation_at_noon() -> None:
    """The mean of the hour after noon on day 202 against the equation at the height that the sun has on its way."""
    year = design_year(table(), ON_SOLAR_TIME, "test")
    at = 24 * 201 + 12
    heights = np.linspace(75.0, 77.8, 9)  # 33° N, declination 20.4°: from 77.4° at noon down to 71.6° at one
    low, high = (clear_sky_w_m2(0.515, 2.066, h, 202)[0] for h in (heights[0] - 4.0, heights[-1]))
    assert low < year.array("dni")[at] < high
