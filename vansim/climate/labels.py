"""Are the hours of a file what they claim to be? The sun itself answers.

DHI + DNI cos z must give GHI. With the sun placed half an hour early or late it does not, so the residual is smallest
at the true label. A file whose residual is smallest elsewhere heats the wrong side of the van.
"""

from __future__ import annotations

import numpy as np
import numpy.typing as npt
import pandas as pd

from vansim.climate.sun import beam_weights, hour_positions
from vansim.climate.weather import Closure, Location, Weather

Array = npt.NDArray[np.float64]

SHIFTS_MIN = (-60.0, -30.0, 0.0, 30.0, 60.0)
LOWEST_GHI_W_M2 = 20.0
TIE_FACTOR = 1.1
"""A residual at the label within 10 % of the smallest is a tie: too dull a sky, or components too loosely related."""
TIE_W_M2 = 1.0
"""Files carry whole W/m2, so residuals that differ by less than 1 W/m2 do not differ."""


def closure(weather: Weather) -> Closure:
    """Closure of a canonical year: see `closure_of`."""
    return closure_of(weather.data, weather.site)


def closure_of(data: pd.DataFrame, site: Location) -> Closure:
    """Compare DHI + DNI cos z with GHI at several shifts of the sun.

    Parameters
    ----------
    data : DataFrame, shape (8760, ...)
        With ``ghi``, ``dni``, ``dhi``, means over the hour that begins at the label [W/m2].
    site : Location
        Place and offset from UTC.

    Returns
    -------
    Closure
        Residuals and a verdict.
    """
    ghi, dni, dhi = (data[c].to_numpy(dtype=float) for c in ("ghi", "dni", "dhi"))
    used = (ghi > LOWEST_GHI_W_M2) & (dni > 0.0)
    if used.sum() < 100:
        return Closure(
            shift_min=SHIFTS_MIN,
            rms_w_m2=(0.0,) * len(SHIFTS_MIN),
            verdict="nothing to check",
            reason="the file has almost no hours with direct sun, so its labels cannot be checked",
        )
    used = ghi > LOWEST_GHI_W_M2
    rms = []
    for shift in SHIFTS_MIN:
        up = hour_positions(site, 6, shift / 60.0)[used, :, 2]
        cos_z = (beam_weights(up) * np.maximum(up, 0.0)).sum(axis=1)
        rms.append(float(np.sqrt(np.mean((dhi[used] + dni[used] * cos_z - ghi[used]) ** 2))))
    return _judge(tuple(rms))


def _judge(rms: tuple[float, ...]) -> Closure:
    at_label = rms[SHIFTS_MIN.index(0.0)]
    smallest = min(rms)
    best = SHIFTS_MIN[rms.index(smallest)]
    if at_label == smallest:
        verdict = "agrees"
        reason = (
            f"GHI agrees with DHI + DNI cos z within {at_label:.1f} W/m2 rms at the file's hours, "
            "and less well at any other shift"
        )
    elif at_label <= max(TIE_FACTOR * smallest, smallest + TIE_W_M2):
        verdict = "tie"
        reason = (
            f"the residual at the file's hours ({at_label:.1f} W/m2) is within the noise of that at {best:+.0f} min "
            f"({smallest:.1f} W/m2); the labels are kept"
        )
    else:
        verdict = "shifted"
        reason = (
            f"the sun in this file is {abs(best):.0f} min {'later' if best > 0 else 'earlier'} than its hours say: "
            f"DHI + DNI cos z misses GHI by {at_label:.1f} W/m2 rms at the file's hours, "
            f"by {smallest:.1f} W/m2 at {best:+.0f} min"
        )
    return Closure(shift_min=SHIFTS_MIN, rms_w_m2=rms, verdict=verdict, reason=reason)
