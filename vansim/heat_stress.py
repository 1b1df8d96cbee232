"""Heat stress: heat index, a line for dogs, and the published thresholds that a cabin is held against."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Literal


@dataclass(frozen=True)
class Line:
    """A published threshold.

    Attributes
    ----------
    code, source : str
        What it is, in lower case with underscores, and who says so.
    quantity : {"cabin_c", "heat_index_c", "dog_line"}
        What is compared; `dog_line` falls with humidity.
    value_c : float
        Threshold [°C]; for `dog_line` its temperature at 90 % relative humidity.
    """

    code: str
    source: str
    quantity: Literal["cabin_c", "heat_index_c", "dog_line"]
    value_c: float


def _c(fahrenheit: float) -> float:
    return (fahrenheit - 32.0) / 1.8


LINES = (
    Line("sleep_suffers", "CIBSE Guide A 2006, from memory", "cabin_c", 24.0),
    Line("bedroom_criterion", "CIBSE TM59: 2017", "cabin_c", 26.0),
    Line("caution", "US National Weather Service heat index", "heat_index_c", _c(80.0)),
    Line("extreme_caution", "US National Weather Service heat index", "heat_index_c", _c(90.0)),
    Line("danger", "US National Weather Service heat index", "heat_index_c", _c(103.0)),
    Line("extreme_danger", "US National Weather Service heat index", "heat_index_c", _c(125.0)),
    Line("dogs_in_transport", "US 9 CFR 3.16(e)", "cabin_c", 29.5),
    Line("dogs_above_thermoneutral", "Carter 2020", "cabin_c", 35.0),
    Line("dogs_survival", "US FAA report AM-87/8", "dog_line", _c(85.0)),
)
"""Thresholds, from the mildest; those of cabin temperature, of the heat index, and of the dogs' line apart.

sleep_suffers             sleep begins to suffer
bedroom_criterion         what a bedroom should not exceed for long
caution, extreme_caution, danger, extreme_danger
                          classes of the heat index, at 80, 90, 103 and 125 degF
dogs_in_transport         from here dogs in transport must have ventilation or cooling (85 degF)
dogs_above_thermoneutral  above a dog's thermoneutral zone
dogs_survival             survival line of healthy dogs: 85 degF at 90 % humidity, 4 % less for each degF more

Set alarms far below the last: it is the line at which healthy dogs began to die within six hours.
"""
HEAT_INDEX_MAX_C = _c(137.0)
"""Highest value printed in the service's chart: 137 degF, 58 °C."""
HEAT_INDEX_AIR_MAX_C = 50.0
"""Warmest air in Steadman's tables (1979, J. Appl. Meteorol. 18:861), 20 to 50 °C (from memory)."""
OffScale = Literal["", "index", "air"]


def heat_index_c(temp_c: float, relative_humidity: float) -> float:
    """Heat index [°C] in the shade.

    Parameters
    ----------
    temp_c : float
        Air temperature [°C].
    relative_humidity : float
        0 to 1; more is taken as 1.

    Returns
    -------
    float
        Apparent temperature [°C].

    Notes
    -----
    US National Weather Service: Rothfusz's regression (technical attachment SR 90-23, 1990) with the adjustments for
    dry and humid air, in degF and %; below 80 degF the mean of Steadman's simple form and the temperature. In full sun
    it feels up to 8 K warmer. It was made for adults; children and animals are worse off. Its range is that of
    Steadman's tables: see `heat_index_off_scale`.
    """
    t, r = temp_c * 1.8 + 32.0, 100.0 * min(max(relative_humidity, 0.0), 1.0)
    simple = 0.5 * (t + 61.0 + 1.2 * (t - 68.0) + 0.094 * r)
    if 0.5 * (simple + t) < 80.0:
        return (0.5 * (simple + t) - 32.0) / 1.8
    index = (
        -42.379
        + 2.04901523 * t
        + 10.14333127 * r
        - 0.22475541 * t * r
        - 6.83783e-3 * t * t
        - 5.481717e-2 * r * r
        + 1.22874e-3 * t * t * r
        + 8.5282e-4 * t * r * r
        - 1.99e-6 * t * t * r * r
    )
    if r < 13.0 and 80.0 <= t <= 112.0:
        index -= (13.0 - r) / 4.0 * math.sqrt((17.0 - abs(t - 95.0)) / 17.0)
    elif r > 85.0 and 80.0 <= t <= 87.0:
        index += (r - 85.0) / 10.0 * (87.0 - t) / 5.0
    return (index - 32.0) / 1.8


def heat_index_off_scale(temp_c: float, index_c: float) -> OffScale:
    """Whether a heat index lies beyond what the regression was fitted to.

    Parameters
    ----------
    temp_c, index_c : float
        Air temperature and the heat index at it [°C].

    Returns
    -------
    {"", "index", "air"}
        Empty within its range, air up to 50 °C and index up to 58 °C (137 degF); else what lies beyond. In very dry and
        hot air the formula gives an index far below the air's temperature, which nobody should go by. Either means
        extreme danger.
    """
    if temp_c > HEAT_INDEX_AIR_MAX_C:
        return "air"
    return "index" if index_c > HEAT_INDEX_MAX_C else ""


def dog_line_c(relative_humidity: float) -> float:
    """Temperature of the FAA AM-87/8 line for dogs at a relative humidity (0 to 1) [°C]: 85 degF at 90 %, +1 degF per
    4 % less.
    """
    return _c(85.0 + (90.0 - 100.0 * relative_humidity) / 4.0)
