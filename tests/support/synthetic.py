"""A sky and a temperature given as functions of time, so that any file's truth is known at every minute.

The sun is pvlib's, run at every moment; the package's own placing of the sun is not used here.
"""

from __future__ import annotations

import numpy as np
import pandas as pd
from pvlib import solarposition

from vansim.climate import Location

HOURS = 8760


def cos_z(site: Location, utc_hours: np.ndarray) -> np.ndarray:
    """Cosine of the apparent zenith at hours of 2001 in universal time."""
    flat = np.asarray(utc_hours, dtype=float).ravel()
    index = pd.Timestamp("2001-01-01", tz="UTC") + pd.to_timedelta(np.round(flat * 3600.0), unit="s")
    place = solarposition.get_solarposition(index, site.latitude, site.longitude, altitude=site.altitude)
    cosine = np.cos(np.radians(place["apparent_zenith"].to_numpy()))
    return np.maximum(cosine, 0.0).reshape(np.shape(utc_hours))


def clearness(utc_hours: np.ndarray) -> np.ndarray:
    """A slow change of the sky, period 50 h, between 0.5 and 1."""
    return 0.75 + 0.25 * np.cos(2.0 * np.pi * np.asarray(utc_hours) / 50.0)


def fluxes(site: Location, utc_hours: np.ndarray) -> dict[str, np.ndarray]:
    """DNI, DHI and GHI at moments; closed exactly."""
    cosine = cos_z(site, utc_hours)
    dni = np.where(cosine > 0.0, 1150.0 * np.exp(-0.2 / np.maximum(cosine, 0.01)) * clearness(utc_hours), 0.0)
    dhi = 120.0 * cosine
    return {"dni": dni, "dhi": dhi, "ghi": dhi + dni * cosine}


def temperature(site: Location, utc_hours: np.ndarray) -> np.ndarray:
    """Warmest in the local summer and at 15 h local standard time."""
    local = np.asarray(utc_hours) + site.utc_offset
    season = -1.0 if site.latitude < 0 else 1.0
    return (
        18.0
        + season * 8.0 * np.cos(2.0 * np.pi * (local / 24.0 - 200.0) / 365.0)
        + 6.0 * np.cos(2.0 * np.pi * (local - 15.0) / 24.0)
    )


def hour_means(site: Location) -> pd.DataFrame:
    """True means over each local hour, from 5-minute moments."""
    moments = np.arange(HOURS)[:, None] + (np.arange(12) + 0.5) / 12 - site.utc_offset
    return pd.DataFrame({name: values.mean(axis=1) for name, values in fluxes(site, moments).items()})


def pvgis_frame(site: Location, offset_h: float) -> pd.DataFrame:
    """8760 rows as PVGIS gives them: UTC instants, fluxes `offset_h` after the label."""
    labels = np.arange(HOURS, dtype=float)
    flux = fluxes(site, labels + offset_h)
    return pd.DataFrame(
        {
            "time(UTC)": [f"{t:%Y%m%d:%H%M}" for t in mixed_years()],
            "T2m": temperature(site, labels).round(2),
            "RH": 40.0 + 20.0 * np.cos(2.0 * np.pi * labels / 24.0).round(2),
            "G(h)": flux["ghi"].round(1),
            "Gb(n)": flux["dni"].round(1),
            "Gd(h)": flux["dhi"].round(1),
            "IR(h)": np.full(HOURS, 350.0),
            "WS10m": np.full(HOURS, 3.0),
            "WD10m": np.full(HOURS, 180.0),
            "SP": np.full(HOURS, 98000.0),
        }
    )


def mixed_years() -> list[pd.Timestamp]:
    """Hours of a year whose months come from different years."""
    return [t.replace(year=2005 + t.month) for t in pd.date_range("2001-01-01", periods=HOURS, freq="h")]


def epw_text(
    site: Location, ghi: np.ndarray, dni: np.ndarray, dhi: np.ndarray, temp: np.ndarray, dew_c: float = 8.0
) -> str:
    """An EPW with given rows (fluxes of hours, temperatures at their ends) and no longwave and no sky cover."""
    lines = [
        f"LOCATION,Somewhere,-,-,test,999999,{site.latitude},{site.longitude},{site.utc_offset},{site.altitude}",
        "DESIGN CONDITIONS,0",
        "TYPICAL/EXTREME PERIODS,0",
        "GROUND TEMPERATURES,0",
        "HOLIDAYS/DAYLIGHT SAVINGS,No,0,0,0",
        "COMMENTS 1,",
        "COMMENTS 2,",
        "DATA PERIODS,1,1,Data,Monday,1/1,12/31",
    ]
    for i, time in enumerate(pd.date_range("2001-01-01", periods=HOURS, freq="h")):
        lines.append(
            f"2001,{time.month},{time.day},{time.hour + 1},0,?9,{temp[i]:.2f},{min(dew_c, temp[i]):.2f},50,98000,"
            f"9999,9999,9999,{ghi[i]:.1f},{dni[i]:.1f},{dhi[i]:.1f},999999,999999,999999,9999,999,3.0,99,99,9999,99999,9,999999999,"
            "999,.999,999,99,999,999,99"
        )
    return "\n".join(lines) + "\n"
