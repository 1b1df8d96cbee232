"""Moving a file's values to the canonical hours: fluxes as means over [t, t + 1 h), everything else at t.

Instants in universal time may be brought to any offset, whole hours or not. Their fluxes pass through clearness (flux
over extraterrestrial), which runs smoothly between samples where the flux itself does not.
"""

from __future__ import annotations

import numpy as np
import numpy.typing as npt
import pandas as pd

from vansim.climate.sun import sun_vectors
from vansim.climate.weather import HOURS, INSTANTS, Site

Array = npt.NDArray[np.float64]

LOWEST_COS_Z = 0.035
"""Clearness from samples with the sun below 2 degrees is noise: their neighbours stand in."""
PARTS = 12
"""Parts of an hour over which a flux is averaged."""


def instants_to_edges(data: pd.DataFrame) -> pd.DataFrame:
    """Row i of EPW, TMY3 and TMY2 holds instants of the hour's end: move them to the next row, around the year."""
    moved = data.copy()
    for column in INSTANTS:
        if column in moved:
            moved[column] = np.roll(moved[column].to_numpy(dtype=float), 1)
    return moved


def utc_instants_to_local_hours(data: pd.DataFrame, site: Site, flux_offset_h: float) -> pd.DataFrame:
    """Bring UTC instants to local hours: fluxes as means over [t, t + 1 h), everything else at t.

    Parameters
    ----------
    data : DataFrame, shape (8760, ...)
        Row i holds instants of UTC hour i of the year, fluxes `flux_offset_h` later.
    site : Site
        Place; `utc_offset` may be any fraction of an hour.
    flux_offset_h : float
        Delay of the fluxes [h].

    Returns
    -------
    DataFrame, shape (8760, ...)
        In local standard time; the year is taken as a circle.
    """
    hours = np.arange(HOURS, dtype=float)
    edges_utc = hours - site.utc_offset
    moments = hours[:, None] + (np.arange(PARTS) + 0.5) / PARTS
    sampled_at = hours + flux_offset_h
    cos_sampled = sun_vectors(site, sampled_at + site.utc_offset)[:, 2]
    cos_moment = np.maximum(sun_vectors(site, moments)[..., 2], 0.0)
    out = {}
    for column in data:
        values = data[column].to_numpy(dtype=float)
        if column in ("ghi", "dhi", "dni"):
            clear = cos_sampled > LOWEST_COS_Z
            shape = np.ones(HOURS) if column == "dni" else np.maximum(cos_sampled, LOWEST_COS_Z)
            ratio = np.interp(moments - site.utc_offset, sampled_at[clear], (values / shape)[clear], period=HOURS)
            out[column] = (ratio * (cos_moment > 0.0 if column == "dni" else cos_moment)).mean(axis=1)
        elif column == "longwave":
            out[column] = np.interp(moments - site.utc_offset, sampled_at, values, period=HOURS).mean(axis=1)
        else:
            out[str(column)] = np.interp(edges_utc, hours, values, period=HOURS)
    return pd.DataFrame(out)
