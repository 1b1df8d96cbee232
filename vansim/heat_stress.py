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
    name, source : str
        What it is, and who says so.
    quantity : {"cabin_c", "heat_index_c", "dog_line"}
        What is compared; `dog_line` falls with humidity.
    value_c : float
        Threshold [°C]; for `dog_line` its temperature at 90 % relative humidity.
    """

    name: str
    source: str
    quantity: Literal["cabin_c", "heat_index_c", "dog_line"]
    value_c: float


def _c(fahrenheit: float) -> float:
    return (fahrenheit - 32.0) / 1.8


LINES = (
    Line("sleep begins to suffer", "CIBSE Guide A 2006, from memory", "cabin_c", 24.0),
    Line("bedroom criterion", "CIBSE TM59: 2017", "cabin_c", 26.0),
    Line("caution", "US National Weather Service heat index", "heat_index_c", _c(80.0)),
    Line("extreme caution", "US National Weather Service heat index", "heat_index_c", _c(90.0)),
    Line("danger", "US National Weather Service heat index", "heat_index_c", _c(103.0)),
    Line("extreme danger", "US National Weather Service heat index", "heat_index_c", _c(125.0)),
    Line("dogs in transport: ventilation or cooling required", "US 9 CFR 3.16(e)", "cabin_c", 29.5),
    Line("above a dog's thermoneutral zone", "Carter 2020", "cabin_c", 35.0),
    Line(
        "survival line of healthy dogs",
        "US FAA report AM-87/8",
        "dog_line",
        _c(85.0),
    ),
)
"""Set alarms far below the last: it is the line at which healthy dogs began to die within six hours."""


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
    it feels up to 8 K warmer. It was made for adults; children and animals are worse off. Its chart ends at 58 °C
    (137 degF): beyond that the number only means extreme danger.
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


def dog_line_c(relative_humidity: float) -> float:
    """Temperature of the FAA AM-87/8 line for dogs at a relative humidity (0 to 1) [°C]: 85 degF at 90 %, +1 degF per
    4 % less.
    """
    return _c(85.0 + (90.0 - 100.0 * relative_humidity) / 4.0)
