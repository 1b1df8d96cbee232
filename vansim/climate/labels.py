"""Are the hours of a file what they claim to be? The sun itself answers.

DHI + DNI cos z must give GHI. With the sun placed half an hour early or late it does not, so the residual is smallest
at the true label: ten minutes off cost about 10 W/m2. Whole collections are written half an hour or an hour off. Where
a shift closes, the file is moved to it; a file moved the wrong way would heat the wrong side of the van.

Does the temperature stand off with the sun, or are the solar columns off alone? The morning answers: on bright days the
air begins to warm when the sun comes up.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace

import numpy as np
import numpy.typing as npt

from vansim.climate.sun import STEP_MIN, SunClock
from vansim.climate.weather import HOURS, Closure

Array = npt.NDArray[np.float64]
CosZenith = Callable[[float], Array]

NEAR_MIN = 120.0
"""Shifts looked at first [min]; all round the day only where none of these closes."""
COARSE_MIN = 30.0
LOWEST_GHI_W_M2 = 20.0
FEWEST_HOURS = 100
TIE_FACTOR = 1.1
"""A residual at the label within 10 % of the smallest is in the noise: a dull sky, or components loosely related."""
TIE_W_M2 = 1.0
"""Files carry whole W/m2, so residuals that differ by less than 1 W/m2 do not differ."""
CLOSES_W_M2 = 30.0
"""A file closes within 30 W/m2: stations' years do within 1 to 9, three times that is half an hour off."""
OPEN_W_M2 = 100.0
"""Beyond 100 W/m2 at best the three components do not belong together."""
CLEAR_GAIN = 0.7
"""A file that closes nowhere well is moved only to where the residual is 30 % less than at its label."""

ONSET_H = 0.13
"""From sunrise until the air warms [h], by hour steps on the brightest quarter of days; at three stations whose typical
years are public (36, 26 and 55 degrees north) 0.12, 0.13 and 0.13."""
ONSET_SPREAD_H = 0.35
LEAST_WHOLE_MIN = 45.0
"""The temperature is asked only where the shift is larger than its answer is uncertain."""


def closure_of(ghi: Array, dni: Array, dhi: Array, cos_zenith: CosZenith) -> Closure:
    """Compare DHI + DNI cos z with GHI at many shifts of the sun.

    Parameters
    ----------
    ghi, dni, dhi : (8760,) array
        Irradiances [W/m2]; hours with a NaN are passed over.
    cos_zenith : callable
        Gives cos z of each of these rows, (8760,), for a shift of the sun [min].

    Returns
    -------
    Closure
        Residuals at every ten minutes up to two hours, and around the best of the day where none of these closes.
    """
    with np.errstate(invalid="ignore"):
        used = (ghi > LOWEST_GHI_W_M2) & np.isfinite(dni) & np.isfinite(dhi)
        beam = used & (dni > 0.0)
    near = np.arange(-NEAR_MIN, NEAR_MIN + 1.0, STEP_MIN)
    if beam.sum() < FEWEST_HOURS:
        return Closure(shift_min=tuple(near.tolist()), rms_w_m2=(0.0,) * near.size, verdict="nothing to check")

    def residual(shift_min: float) -> float:
        miss = dhi[used] + dni[used] * cos_zenith(shift_min)[used] - ghi[used]
        return float(np.sqrt(np.mean(miss**2)))

    rms = {shift: residual(shift) for shift in near.tolist()}
    if min(rms.values()) > CLOSES_W_M2:
        around = {shift: residual(shift) for shift in np.arange(-690.0, 721.0, COARSE_MIN).tolist() if shift not in rms}
        best = min(around, key=lambda shift: around[shift])
        fine = best + np.arange(-COARSE_MIN, COARSE_MIN + 1.0, STEP_MIN)
        fine = 720.0 - (720.0 - fine) % 1440.0  # half a day before is half a day after
        rms |= {shift: residual(shift) for shift in fine.tolist() if shift not in rms}
    shifts = sorted(rms)
    found = Closure(shift_min=tuple(shifts), rms_w_m2=tuple(rms[s] for s in shifts), verdict="")
    return replace(found, verdict=verdict_of(found))


def verdict_of(found: Closure) -> str:
    """Judge residuals: see `Closure.verdict`."""
    if found.best_w_m2 > OPEN_W_M2:
        return "open"
    agrees = found.at_label_w_m2 <= max(TIE_FACTOR * found.best_w_m2, found.best_w_m2 + TIE_W_M2)
    if found.best_w_m2 > CLOSES_W_M2:
        clear = found.best_w_m2 < CLEAR_GAIN * found.at_label_w_m2
        return "shifted" if clear and not agrees else "loose"
    return "agrees" if agrees else "shifted"


def stands_with_sun(temp_air_c: Array, ghi: Array, clock: SunClock, shift_min: float) -> bool:
    """Whether a file's temperature is off by the same shift as its sun.

    Parameters
    ----------
    temp_air_c : (8760,) array
        At the beginning of each declared hour [°C].
    ghi : (8760,) array
        As the file has it [W/m2].
    clock : SunClock
        The sun at the declared hours.
    shift_min : float
        By which the sun of the file stands after its hours [min].

    Returns
    -------
    bool
        False where the shift is too small for the temperature to tell, or the mornings do not speak.
    """
    if abs(shift_min) < LEAST_WHOLE_MIN:
        return False
    onset = warming_onset_h(temp_air_c, ghi, clock)
    if onset is None:
        return False
    off = abs(((onset - (ONSET_H - shift_min / 60.0)) + 12.0) % 24.0 - 12.0)
    return off < ONSET_SPREAD_H and off < abs(onset - ONSET_H)


def warming_onset_h(temp_air_c: Array, ghi: Array, clock: SunClock) -> float | None:
    """Time from sunrise until the air begins to warm on bright days [h]; None where no morning shows it.

    Notes
    -----
    Hour steps of temperature, averaged by the time from sunrise to their middle in bins of half an hour; where the
    mean step turns from falling to rising. Sunrise wanders through the hour over the year, so that half an hour is told
    from hourly values.
    """
    by_day = ghi.reshape(-1, 24).sum(axis=1)
    bright = np.repeat(by_day >= np.quantile(by_day, 0.75), 24)
    rises = (np.flatnonzero((clock.up[:-1] <= 0.0) & (clock.up[1:] > 0.0)) + 1.0) * STEP_MIN / 60.0
    if rises.size < 2:
        return None
    middle = np.arange(HOURS) + 0.5
    after = np.searchsorted(rises, middle)
    last, following = (middle - rises[np.clip(i, 0, rises.size - 1)] for i in (after - 1, after))
    since = np.where(np.abs(last) <= np.abs(following), last, following)
    step = np.roll(temp_air_c, -1) - temp_air_c
    edges = np.arange(-12.0, 12.1, 0.5)
    place = np.digitize(since[bright], edges) - 1
    inside = (place >= 0) & (place < edges.size - 1)
    count = np.bincount(place[inside], minlength=edges.size - 1)
    mean = np.bincount(place[inside], step[bright][inside], edges.size - 1) / np.maximum(count, 1)
    turns = np.flatnonzero((mean[:-1] <= 0.0) & (mean[1:] > 0.0) & (count[:-1] > 0) & (count[1:] > 0))
    if not turns.size:
        return None
    centre = edges[:-1] + 0.25
    strongest = turns[np.argmax([mean[i + 1 : i + 5].sum() - mean[max(i - 4, 0) : i + 1].sum() for i in turns])]
    low, high = mean[strongest], mean[strongest + 1]
    return float(centre[strongest] - low * 0.5 / (high - low))
