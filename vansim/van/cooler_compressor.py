"""Shape of a compressor's efficiencies against pressure ratio and speed, anchored elsewhere at the rated point."""

from __future__ import annotations

import math
from typing import Literal, NamedTuple

from vansim.jit import compiled

CompressorType = Literal["scroll", "rotary", "unknown"]


class CompressorShape(NamedTuple):
    """How a kind of compressor departs from its best.

    `best_ratio`, `fall`: pressure ratio of the best efficiency, and how it falls with the squared logarithm of the
    distance from there. `leak`: flow lost per unit of pressure ratio, over the full speed's swept flow.
    """

    best_ratio: float
    fall: float
    leak: float


COMPRESSORS: dict[str, CompressorShape] = {
    "scroll": CompressorShape(best_ratio=2.54, fall=0.63, leak=0.0202 / 1.0058),
    "rotary": CompressorShape(best_ratio=1.37, fall=0.065, leak=0.035 / 0.865),
    "unknown": CompressorShape(best_ratio=2.5, fall=0.42, leak=0.030),
}
"""Efficiency of the scroll: a fixed-speed R410A ten-coefficient map in the form of ANSI/AHRI 540, 28 points, pressure
ratio 1.7 to 5.4, within 0.008 rms. Of the valved rotary: the rational curve of Xu et al. (2021), Energy (secondary
copy), within 0.7 % from 1.7 to 6. Filling of the scroll: 1.026 - 0.0202 PR (Cuevas et al. 2010, Appl.
Therm. Eng. 30:605, 118 tests, abstract); of the rotary: 0.9 - 0.035 PR (Bai et al. 2019, Energy, secondary copy). An
unknown kind stands between the two, a little on the cautious side (judgement)."""

LEAST_RATIO, GREATEST_RATIO = 1.5, 6.0
"""The curves hold between these pressure ratios; beyond, the end value."""
ENDS_ROUND = 0.12
"""Width to either side over which they are rounded, in the logarithm (assumed: no machine has a corner there)."""
SLOWEST_HZ, FASTEST_HZ, MIDDLE_HZ = 40.0, 100.0, 50.0
LOSS_PER_HZ = 0.0023
"""Friction and flow losses of a rolling piston: 4 to 6 % of efficiency for 20 Hz (Molinaroli, Joppolo & De Antonellis
2017, Int. J. Refrig. 79:226, loss split, parameters from a secondary copy). Below 40 Hz leakage takes over: flat."""


@compiled
def smooth_max(value: float, least: float, width: float) -> float:
    """The larger of two, its corner rounded over a width to either side: a quarter of it at the corner."""
    over = value - least
    if over >= width:
        return value
    if over <= -width:
        return least
    return least + (over + width) * (over + width) / (4.0 * width)


@compiled
def smooth_min(value: float, most: float, width: float) -> float:
    """The smaller of two, its corner rounded over a width."""
    return value + most - smooth_max(value, most, width)


@compiled
def efficiency_shape(best_ratio: float, fall: float, pressure_ratio: float, hz: float) -> float:
    """Efficiency over the ideal cycle, as a factor on that at the best pressure ratio and 50 Hz.

    Parameters
    ----------
    best_ratio, fall : float
        Of the kind of compressor.
    pressure_ratio : float
        Discharge over suction pressure.
    hz : float
        Shaft speed [1/s].

    Returns
    -------
    float
        (1 - fall ln²(PR / best)) (1 - 0.0023 (f - 50)).
    """
    held = smooth_max(math.log(max(pressure_ratio, 0.5)), math.log(LEAST_RATIO), ENDS_ROUND)
    away = smooth_min(held, math.log(GREATEST_RATIO), ENDS_ROUND) - math.log(best_ratio)
    speed = 1.0 - LOSS_PER_HZ * (min(max(hz, SLOWEST_HZ), FASTEST_HZ) - MIDDLE_HZ)
    return (1.0 - fall * away * away) * speed


@compiled
def filled_speed(speed: float, leak: float, pressure_ratio: float) -> float:
    """Swept flow that is really pumped, over the full speed's.

    The gap between sweeping and pumping is taken as leakage, which the pressures drive and the speed does not: a slow
    compressor loses the larger share (Winandy, Saavedra & Lebrun 2002, Appl. Therm. Eng. 22:107: one leakage area).
    """
    return max(speed - leak * (max(pressure_ratio, 1.0) - 1.0), 0.02 * speed)
