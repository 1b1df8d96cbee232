"""TMY2: rows of fixed width, labelled with the hour's end; temperature, wind and cover in tenths, pressure in mbar.

Read by columns of characters: pvlib's own reader goes field by field and takes ten times as long (a test holds both
together).
"""

from __future__ import annotations

import numpy as np
import numpy.typing as npt
import pandas as pd

from vansim.climate.canonical import Table
from vansim.climate.rows import reading, rows_text
from vansim.climate.weather import Location
from vansim.errors import WeatherError

Array = npt.NDArray[np.float64]

WIDTH = 142
FIELDS = {
    "month": (3, 5), "day": (5, 7), "hour": (7, 9), "ghi": (17, 21), "dni": (23, 27), "dhi": (29, 33),
    "total_cover": (59, 61), "opaque_cover": (63, 65), "temp_air": (67, 71), "temp_dew": (73, 77),
    "relative_humidity": (79, 82), "pressure": (84, 88), "wind_speed": (95, 98),
}  # fmt: skip
"""Characters of each field, counted from 0 (User's Manual for TMY2s, NREL/SP-463-7668, 1995, table 3-2)."""
UNITS = {
    "ghi": (9999, 1.0), "dni": (9999, 1.0), "dhi": (9999, 1.0), "total_cover": (99, 0.1), "opaque_cover": (99, 0.1),
    "temp_air": (9999, 0.1), "temp_dew": (9999, 0.1), "relative_humidity": (999, 0.01), "pressure": (9999, 100.0),
    "wind_speed": (999, 0.1),
}  # fmt: skip
"""Code of a missing value, and what makes SI of a field."""


def read_tmy2(text: str, source: str) -> Table:
    """Read a TMY2 file.

    Parameters
    ----------
    text : str
        Its content.
    source : str
        Its name.

    Returns
    -------
    Table
        Rows are hours 1 to 24.

    Raises
    ------
    WeatherError
        Rows of another width, or a field that is no number.
    """
    with reading(source, "TMY2"):
        head, *rows = text.splitlines()
        short = [n for n, row in enumerate(rows, 2) if row.strip() and len(row.rstrip()) != WIDTH]
        if short:
            raise WeatherError(
                f"{source}: {rows_text(short)}: {len(rows[short[0] - 2].rstrip())} characters, allowed {WIDTH}. "
                "Is the file cut short?"
            )
        site = _place(head)
        kept = [row.rstrip() for row in rows if row.strip()]
        letters = np.frombuffer("".join(kept).encode("ascii", "replace"), dtype="S1").reshape(-1, WIDTH)
        fields = {name: _numbers(letters[:, first:end]) for name, (first, end) in FIELDS.items()}
    values = {
        name: np.where(fields[name] >= missing, np.nan, fields[name] * si) for name, (missing, si) in UNITS.items()
    }
    opaque = values.pop("opaque_cover")
    values["sky_cover"] = np.where(np.isnan(opaque), values["total_cover"], opaque)
    calendar = pd.DataFrame({name: fields[name].astype(int) for name in ("month", "day", "hour")})
    calendar["hour"] -= 1
    return Table(data=pd.DataFrame(values), calendar=calendar, site=site, kind="TMY2", source=source, first_row=2)


def _numbers(letters: npt.NDArray[np.bytes_]) -> Array:
    """Fields of equal width, (n_rows, width) characters, as numbers."""
    width = letters.shape[1]
    return np.ascontiguousarray(letters).view(f"S{width}").ravel().astype(np.float64)


def _place(head: str) -> Location:
    """Station, place and standard time: the last nine words are state, offset, latitude, longitude and height."""
    words = head.split()
    hours, north, degrees, minutes, east, across, rest, height = words[-8:]
    return Location(
        latitude=(1 if north == "N" else -1) * (int(degrees) + int(minutes) / 60.0),
        longitude=(1 if east == "E" else -1) * (int(across) + int(rest) / 60.0),
        altitude=float(height),
        utc_offset=float(hours),
        name=" ".join(words[1:-9]).replace("_", " ").replace('"', "").strip(),
    )
