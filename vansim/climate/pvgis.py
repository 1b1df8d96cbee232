"""The PVGIS typical year: universal time, instants everywhere, fluxes some minutes after the label.

Fluxes are brought to hour means through clearness (flux over extraterrestrial), which runs smoothly between the
samples where the flux itself does not; temperature and the rest run linearly. The offset of local time may be any
fraction of an hour.
"""

from __future__ import annotations

import io
from typing import Any

import numpy as np
import pandas as pd

from vansim.climate.canonical import Table
from vansim.climate.rows import decoded, reading
from vansim.climate.weather import Location
from vansim.errors import WeatherError
from vansim.notes import Note

NO_VALUE = -9900.0
COLUMNS = {
    "temp_air": "temp_air",
    "relative_humidity": "relative_humidity",
    "ghi": "ghi",
    "dni": "dni",
    "dhi": "dhi",
    "IR(h)": "longwave",
    "wind_speed": "wind_speed",
    "pressure": "pressure",
}


def standard_offset_h(longitude: float) -> float:
    """Whole-hour standard time of a longitude [h]: the nearest meridian of 15 degrees."""
    return float(round(longitude / 15.0))


def table_from_pvgis(
    frame: pd.DataFrame, meta: dict[str, Any], source: str, kind: str, utc_offset: float | None = None
) -> Table:
    """Reader's table from what pvlib returns for a PVGIS typical year.

    Parameters
    ----------
    frame, meta : DataFrame, dict
        From `pvlib.iotools.read_pvgis_tmy` or `get_pvgis_tmy` with variables mapped.
    source, kind : str
        File or address, ``PVGIS JSON`` or ``PVGIS CSV``.
    utc_offset : float, optional
        Standard time of the place [h]; by longitude where not given.

    Returns
    -------
    Table

    Raises
    ------
    WeatherError
        Where columns or the place are missing.
    """
    # the CSV parser pads a cut file to 8760 rows without a time
    dated = np.flatnonzero(pd.DatetimeIndex(frame.index).notna())
    frame = frame.iloc[: dated[-1] + 1 if len(dated) else 0]
    inputs = meta.get("inputs", {})
    place = inputs.get("location", inputs)
    absent = [
        name for name in (*COLUMNS, "latitude", "longitude", "elevation") if name not in frame and name not in place
    ]
    if absent:
        raise WeatherError(f"{source}: {kind} without {', '.join(absent)}")
    longitude = float(place["longitude"])
    offset = standard_offset_h(longitude) if utc_offset is None else utc_offset
    notes = () if utc_offset is not None else (Note("offset-from-longitude", {"utc_offset_h": offset}),)
    site = Location(
        latitude=float(place["latitude"]),
        longitude=longitude,
        altitude=float(place["elevation"]),
        utc_offset=offset,
        name=f"{float(place['latitude']):.2f}, {longitude:.2f}",
    )
    minutes = float(place.get("irradiance_time_offset", place.get("irradiance time offset", 0.0)))
    data = pd.DataFrame(
        {ours: pd.to_numeric(frame[theirs], errors="coerce").to_numpy(dtype=float) for theirs, ours in COLUMNS.items()}
    )
    data = data.mask(data <= NO_VALUE)
    data["relative_humidity"] /= 100.0
    index = pd.DatetimeIndex(frame.index)
    calendar = pd.DataFrame({"month": index.month, "day": index.day, "hour": index.hour})
    return Table(
        data=data,
        calendar=calendar,
        site=site,
        kind=kind,
        source=source,
        first_row=1 if kind == "PVGIS JSON" else _first_csv_row(minutes, place),
        utc_instants=True,
        flux_offset_h=minutes,
        notes=notes,
    )


def _first_csv_row(offset_h: float, place: dict[str, Any]) -> int:
    """Three lines of place, perhaps one of offset, a heading, twelve months, a heading."""
    return 18 + ("irradiance time offset" in place)


def read_pvgis(content: bytes, source: str, kind: str, utc_offset: float | None = None) -> Table:
    """Read a PVGIS typical year from the bytes of a file, JSON or CSV by its kind."""
    from pvlib.iotools import read_pvgis_tmy

    with reading(source, kind):
        if kind == "PVGIS JSON":
            frame, meta = read_pvgis_tmy(io.StringIO(decoded(content)), pvgis_format="json")
        else:
            frame, meta = read_pvgis_tmy(io.BytesIO(decoded(content).encode()), pvgis_format="csv")
        return table_from_pvgis(frame, meta, source, kind, utc_offset)
