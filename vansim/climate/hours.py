"""Moving a file's values to the canonical hours: fluxes as means over [t, t + 1 h), everything else at t.

Fluxes are first divided by what a clear sky makes of the sun's height: that share runs smoothly between samples, where
the flux itself does not. So they may be moved by any part of an hour.
"""

from __future__ import annotations

import numpy as np
import numpy.typing as npt
import pandas as pd

from vansim.climate.sun import sun_vectors
from vansim.climate.weather import FLUXES, HOURS, INSTANTS, Location

Array = npt.NDArray[np.float64]

SUN = ("ghi", "dni", "dhi")
LOWEST_COS_Z = 0.035
"""The share from samples with the sun below 2 degrees is noise: their neighbours stand in."""
HIGHEST_SHARE_W_M2 = 1500.0
"""A flux over its shape cannot pass the sun's own 1361 W/m2 by much; a sample at a low sun may say so by rounding."""
PARTS = 12
"""Parts of an hour over which a flux is averaged."""


def instants_to_edges(data: pd.DataFrame) -> pd.DataFrame:
    """Row i of EPW, TMY3 and TMY2 holds instants of the hour's end: move them to the next row, around the year."""
    moving = [c for c in (*INSTANTS, "total_cover") if c in data]
    return data.assign(**{c: np.roll(data[c].to_numpy(dtype=float), 1) for c in moving})


def clear_beam_shape(cos_zenith: Array) -> Array:
    """How a clear beam falls off with a low sun, 0 to 1: 0.7^(AM^0.678) (Meinel & Meinel 1976); 0 with the sun down.

    Air mass after Kasten & Young (1989). Only the shape matters: measured fluxes are divided and multiplied by it.
    """
    zenith = np.degrees(np.arccos(np.clip(cos_zenith, 0.0, 1.0)))
    air_mass = 1.0 / (np.maximum(cos_zenith, 0.0) + 0.50572 * (96.07995 - zenith) ** -1.6364)
    return np.asarray(np.where(cos_zenith > 0.0, 0.7 ** (air_mass**0.678), 0.0))


def resampled(values: Array, sampled_at: Array, wanted_at: Array) -> Array:
    """Values of a year taken at other hours of it, straight between samples; the year is a circle."""
    return np.interp(wanted_at, sampled_at, values, period=HOURS)


def moved_hours(data: pd.DataFrame, site: Location, shift_h: float, whole: bool) -> pd.DataFrame:
    """Bring values that stand `shift_h` after the hours they are labelled with to those hours.

    Parameters
    ----------
    data : DataFrame, shape (8760, ...)
        Fluxes in row t are means over [t + shift, t + shift + 1 h), instants stand at t, or at t + shift.
    site : Location
        Place.
    shift_h : float
        By which the sun stands later than its rows say [h].
    whole : bool
        Move the instants and the longwave too; otherwise the solar columns alone.

    Returns
    -------
    DataFrame, shape (8760, ...)
        Whole hours are moved exactly; parts of an hour as `averaged_fluxes` does.
    """
    out = data.copy()
    hours = np.arange(HOURS, dtype=float)
    if whole:
        for column in data:
            if column not in SUN:
                out[column] = resampled(data[column].to_numpy(dtype=float), hours + shift_h, hours)
    if float(shift_h).is_integer():
        for column in SUN:
            out[column] = np.roll(data[column].to_numpy(dtype=float), int(shift_h))
        return out
    return out.assign(**averaged_fluxes(data, site, shift_h + (np.arange(PARTS) + 0.5) / PARTS))


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
    values = {str(c): data[c].to_numpy(dtype=float) for c in data}
    local = hours + site.utc_offset
    out = {c: resampled(v, local, hours) for c, v in values.items() if c not in FLUXES}
    if "longwave" in values:
        moments = hours[:, None] + (np.arange(PARTS) + 0.5) / PARTS
        out["longwave"] = resampled(values["longwave"], local + flux_offset_h, moments).mean(axis=1)
    return pd.DataFrame(out | averaged_fluxes(data, site, np.array([site.utc_offset + flux_offset_h])))


def averaged_fluxes(data: pd.DataFrame, site: Location, span_h: Array) -> dict[str, Array]:
    """Solar columns as means over [t, t + 1 h), from samples that stand elsewhere.

    Parameters
    ----------
    data : DataFrame, shape (8760, ...)
        With ``ghi``, ``dni``, ``dhi`` [W/m2].
    site : Location
        Place.
    span_h : (n,) array
        Moments that each sample is the mean of, from its row's hour in local standard time [h]; one for an instant.

    Returns
    -------
    dict of str to (8760,) array
        [W/m2]; GHI keeps its own beam, so that closure still tells whether the three belong together.
    """
    hours = np.arange(HOURS, dtype=float)
    moments = hours[:, None] + (np.arange(PARTS) + 0.5) / PARTS
    cos_moment = np.maximum(sun_vectors(site, moments)[..., 2], 0.0)
    steps = (span_h[0] - 0.5 / PARTS) * PARTS
    if span_h.size == PARTS and abs(steps - round(steps)) < 1e-9:  # the same moments, some of them later
        sampled = np.roll(cos_moment.ravel(), -round(steps)).reshape(HOURS, PARTS)
    else:
        sampled = np.maximum(sun_vectors(site, hours[:, None] + span_h)[..., 2], 0.0)
    up = sampled.mean(axis=1) > LOWEST_COS_Z
    middle = hours[up] + span_h.mean()

    def averaged(flux: Array, shape_sampled: Array, shape_moment: Array) -> Array:
        share = np.minimum(flux[up] / shape_sampled[up].mean(axis=1), HIGHEST_SHARE_W_M2)
        return np.asarray((resampled(share, middle, moments) * shape_moment).mean(axis=1))

    beam_sampled, beam_moment = clear_beam_shape(sampled), clear_beam_shape(cos_moment)
    ghi, dni, dhi = (data[c].to_numpy(dtype=float) for c in SUN)
    diffuse = averaged(dhi, sampled, cos_moment)
    direct = averaged(np.maximum(ghi - dhi, 0.0), beam_sampled * sampled, beam_moment * cos_moment)
    return {"ghi": diffuse + direct, "dni": averaged(dni, beam_sampled, beam_moment), "dhi": diffuse}
