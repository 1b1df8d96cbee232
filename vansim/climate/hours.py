"""Moving a file's values to the canonical hours: fluxes as means over [t, t + 1 h), everything else at t.

Instants in universal time may be brought to any offset, whole hours or not. Their fluxes are first divided by what a
clear sky makes of the sun's height: that share runs smoothly between samples, where the flux itself does not.
"""

from __future__ import annotations

import numpy as np
import numpy.typing as npt
import pandas as pd

from vansim.climate.sun import sun_vectors
from vansim.climate.weather import FLUXES, HOURS, INSTANTS, Location

Array = npt.NDArray[np.float64]

LOWEST_COS_Z = 0.035
"""The share from samples with the sun below 2 degrees is noise: their neighbours stand in."""
HIGHEST_SHARE_W_M2 = 1500.0
"""A flux over its shape cannot pass the sun's own 1361 W/m2 by much; a sample at a low sun may say so by rounding."""
PARTS = 12
"""Parts of an hour over which a flux is averaged."""


def instants_to_edges(data: pd.DataFrame) -> pd.DataFrame:
    """Row i of EPW, TMY3 and TMY2 holds instants of the hour's end: move them to the next row, around the year."""
    moved = data.copy()
    for column in INSTANTS:
        if column in moved:
            moved[column] = np.roll(moved[column].to_numpy(dtype=float), 1)
    return moved


def clear_beam_shape(cos_zenith: Array) -> Array:
    """How a clear beam falls off with a low sun, 0 to 1: 0.7^(AM^0.678) (Meinel & Meinel 1976); 0 with the sun down.

    Air mass after Kasten & Young (1989). Only the shape matters: measured fluxes are divided and multiplied by it.
    """
    zenith = np.degrees(np.arccos(np.clip(cos_zenith, 0.0, 1.0)))
    air_mass = 1.0 / (np.maximum(cos_zenith, 0.0) + 0.50572 * (96.07995 - zenith) ** -1.6364)
    return np.where(cos_zenith > 0.0, 0.7 ** (air_mass**0.678), 0.0)


def utc_instants_to_local_hours(data: pd.DataFrame, site: Location, flux_offset_h: float) -> pd.DataFrame:
    """Bring UTC instants to local hours: fluxes as means over [t, t + 1 h), everything else at t.

    Parameters
    ----------
    data : DataFrame, shape (8760, ...)
        Row i holds instants of UTC hour i of the year, fluxes `flux_offset_h` later.
    site : Location
        Place; `utc_offset` may be any fraction of an hour.
    flux_offset_h : float
        Delay of the fluxes [h].

    Returns
    -------
    DataFrame, shape (8760, ...)
        In local standard time; the year is taken as a circle.
    """
    hours = np.arange(HOURS, dtype=float)
    sampled_at = hours + flux_offset_h
    moments = hours[:, None] + (np.arange(PARTS) + 0.5) / PARTS
    values = {str(c): data[c].to_numpy(dtype=float) for c in data}
    out = {c: np.interp(hours - site.utc_offset, hours, v, period=HOURS) for c, v in values.items() if c not in FLUXES}
    if "longwave" in values:
        out["longwave"] = np.interp(moments - site.utc_offset, sampled_at, values["longwave"], period=HOURS).mean(
            axis=1
        )

    cos_sampled = sun_vectors(site, sampled_at + site.utc_offset)[:, 2]
    cos_moment = np.maximum(sun_vectors(site, moments)[..., 2], 0.0)
    up = cos_sampled > LOWEST_COS_Z

    def averaged(flux: Array, shape_sampled: Array, shape_moment: Array) -> Array:
        share = np.minimum(flux[up] / shape_sampled[up], HIGHEST_SHARE_W_M2)
        return (np.interp(moments - site.utc_offset, sampled_at[up], share, period=HOURS) * shape_moment).mean(axis=1)

    beam_sampled, beam_moment = clear_beam_shape(cos_sampled), clear_beam_shape(cos_moment)
    out["dni"] = averaged(values["dni"], beam_sampled, beam_moment)
    out["dhi"] = averaged(values["dhi"], cos_sampled, cos_moment)
    # the global's own beam, so that closure still tells whether the three belong together
    direct = np.maximum(values["ghi"] - values["dhi"], 0.0)
    out["ghi"] = out["dhi"] + averaged(direct, beam_sampled * cos_sampled, beam_moment * cos_moment)
    return pd.DataFrame(out)
