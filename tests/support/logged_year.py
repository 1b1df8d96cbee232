"""One's own year as a plain table: its head, and a sky known at every moment as a logger would write it down."""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pandas as pd

from tests.support import synthetic
from vansim.climate import Location

SITE = Location(latitude=33.0, longitude=-113.0, altitude=350.0, utc_offset=-7.0, name="roof logger")


def head(site: Location = SITE, **more: str) -> str:
    values = {
        "name": site.name,
        "latitude": site.latitude,
        "longitude": site.longitude,
        "altitude": site.altitude,
        "utc_offset": site.utc_offset,
        **more,
    }
    return "".join(f"# {key}: {value}\n" for key, value in values.items())


def minutes(site: Location, start: str, periods: int, step_min: int, labels: str = "begin") -> pd.DataFrame:
    """A sky known at every moment, logged in means of some minutes."""
    index = pd.date_range(start, periods=periods, freq=f"{step_min}min")
    offset = {"begin": 0.0, "end": -step_min / 60.0, "instant": 0.0}[labels]
    hour = (index - pd.Timestamp(f"{index[0].year}-01-01")) / pd.Timedelta("1h") + offset
    parts = np.zeros(1) if labels == "instant" else (np.arange(5) + 0.5) / 5 * step_min / 60.0
    moments = hour.to_numpy()[:, None] + parts - site.utc_offset
    flux = {c: v.mean(axis=1).round(2) for c, v in synthetic.fluxes(site, moments).items()}
    temp = synthetic.temperature(site, moments).mean(axis=1).round(3)
    return pd.DataFrame(
        {**flux, "temp_air": temp, "temp_dew": np.minimum(temp, 8.0), "pressure": 98000.0, "wind_speed": 3.0},
        index=index,
    ).rename_axis("time")


def write(path: Path, table: pd.DataFrame, top: str) -> Path:
    path.write_text(top + table.to_csv())
    return path
