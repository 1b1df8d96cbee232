"""The canonical weather frame: one typical year of one place, labelled in one way.

8760 rows, hour-beginning, fixed offset from UTC, year 2001. A flux in row *t* is the mean over [t, t + 1 h); an
instant (temperature, dew point, pressure, wind, sky cover) in row *t* is the value *at* t. Everything after the
readers relies on this.
"""

from __future__ import annotations

import hashlib
from dataclasses import astuple, dataclass
from datetime import timedelta, timezone
from functools import cached_property

import numpy as np
import numpy.typing as npt
import pandas as pd

from vansim.errors import WeatherError
from vansim.notes import Note

Array = npt.NDArray[np.float64]

HOURS = 8760
YEAR = 2001
FLUXES = ("ghi", "dni", "dhi", "longwave")
INSTANTS = ("temp_air", "temp_dew", "pressure", "wind_speed", "sky_cover")
COLUMNS = (*FLUXES, *INSTANTS, "albedo")
MAY_LACK = ("sky_cover", "albedo")
"""Columns that nothing is computed with where a file has none."""


@dataclass(frozen=True, kw_only=True)
class Location:
    """Where a weather file was made for.

    Parameters
    ----------
    latitude, longitude : float
        North and east positive [deg].
    altitude : float
        Above sea level [m].
    utc_offset : float
        Standard time minus UTC [h]; half and quarter hours are fine.
    name : str
        As the file gives it, without quotes.
    """

    latitude: float
    longitude: float
    altitude: float
    utc_offset: float
    name: str

    def __post_init__(self) -> None:
        faults = [
            f"{self.name}: {what} is {value:g}, allowed {low:g} to {high:g}"
            for what, value, low, high in (
                ("latitude", self.latitude, -90, 90),
                ("longitude", self.longitude, -180, 180),
                ("altitude", self.altitude, -450, 6000),
                ("utc_offset", self.utc_offset, -12, 14),
            )
            if not low <= value <= high
        ]
        if not faults and abs((self.utc_offset - self.longitude / 15 + 12) % 24 - 12) > 4:
            faults.append(
                f"{self.name}: utc_offset {self.utc_offset:+g} h does not go with longitude {self.longitude:g} "
                f"(sun time there is UTC{self.longitude / 15:+.1f} h); is the sign of one of them wrong?"
            )
        if faults:
            raise WeatherError(faults)

    @property
    def tz(self) -> timezone:
        """Fixed offset as a time zone."""
        return timezone(timedelta(hours=self.utc_offset))


@dataclass(frozen=True, kw_only=True)
class Closure:
    """How well DHI + DNI cos z explains GHI, with the sun at the declared hour and shifted from it.

    Parameters
    ----------
    shift_min : tuple of float
        Shifts of the sun [min]; positive: the sun stands later than the hour says.
    rms_w_m2 : tuple of float
        Root mean square of DHI + DNI cos z - GHI over hours with GHI above 20 W/m2, one for each shift [W/m2].
    verdict : str
        ``"agrees"``: at the label or within the noise of it; ``"shifted"``: elsewhere; ``"loose"``: nowhere well;
        ``"open"``: not at all; ``"nothing to check"``: no beam.
    moved_min : float
        By how much the file's hours were moved to their sun [min]; 0 where they were left.
    """

    shift_min: tuple[float, ...]
    rms_w_m2: tuple[float, ...]
    verdict: str
    moved_min: float = 0.0

    @property
    def best_shift_min(self) -> float:
        """Shift with the smallest residual [min]; the label where nothing can be checked."""
        return 0.0 if self.verdict == "nothing to check" else self.shift_min[int(np.argmin(self.rms_w_m2))]

    @property
    def best_w_m2(self) -> float:
        """The smallest residual [W/m2]."""
        return min(self.rms_w_m2)

    @property
    def at_label_w_m2(self) -> float:
        """Residual at the declared hour [W/m2]."""
        return self.rms_w_m2[self.shift_min.index(0.0)]


class _HeldFrame:
    """The `data` of a year: taken as a frame, held as bytes that nothing can write to, given out as a frame over them.

    Every asking makes a frame anew, so that whatever is done to one of them, the year stays what its digest says.
    """

    def __set__(self, year: Weather, frame: pd.DataFrame) -> None:
        missing = [c for c in COLUMNS if c not in frame.columns]
        if missing:
            raise WeatherError(f"the frame of a year has no column {', '.join(missing)}")
        values = np.stack([frame[c].to_numpy(dtype=float) for c in COLUMNS])
        year.__dict__.update(content=values.tobytes(), index=pd.DatetimeIndex(frame.index))

    def __get__(self, year: Weather | None, owner: type[Weather]) -> pd.DataFrame:
        if year is None:
            raise AttributeError("data")  # so the dataclass sees a field without a default
        return pd.DataFrame(_values(year.__dict__["content"]).T, year.__dict__["index"], list(COLUMNS), copy=False)


def _values(content: bytes) -> Array:
    """The columns as rows of one array, (10, n_hours); over bytes, so it cannot be made writeable."""
    return np.frombuffer(content).reshape(len(COLUMNS), -1)


@dataclass(frozen=True, kw_only=True, eq=False, repr=False)
class Weather:
    """A year of one place, ready for use; nothing in it can be changed.

    Two years are equal where their places and their numbers are, whatever file they came from: so a cache may take a
    year as its key.

    Parameters
    ----------
    data : DataFrame, shape (8760, 10)
        Columns ``ghi dni dhi longwave`` [W/m2, means over the hour], ``temp_air temp_dew`` [°C], ``pressure`` [Pa],
        ``wind_speed`` [m/s, at 10 m] (instants at the hour edge), ``sky_cover`` [0 to 1] and ``albedo`` (NaN where
        the file gives none). Read-only: to change it, ``replace(weather, data=weather.data.assign(...))``.
    site : Location
        Place.
    kind : str
        Format it came in: ``EPW``, ``TMY3``, ``TMY2``, ``PVGIS JSON``, ``PVGIS CSV`` or ``invented``.
    source : str
        File or address.
    closure : Closure
        Check of the hour labels.
    notes : tuple of Note
        What was repaired, estimated or left out.

    Raises
    ------
    WeatherError
        Where the frame does not have the canonical index and columns, or holds NaN outside of these two.
    """

    data: _HeldFrame = _HeldFrame()
    site: Location
    kind: str
    source: str
    closure: Closure
    notes: tuple[Note, ...] = ()

    def __post_init__(self) -> None:
        faults = []
        index = self.__dict__["index"]
        if len(index) != HOURS or not index.equals(hour_index(self.site)):
            faults.append(
                f"{self.source}: the frame must have {HOURS} hours of {YEAR} at UTC{self.site.utc_offset:+g} h"
            )
        holes = [c for c in COLUMNS if c not in MAY_LACK and not np.isfinite(self.array(c)).all()]
        if holes:
            faults.append(f"{self.source}: the frame has holes in {', '.join(holes)}")
        if faults:
            raise WeatherError(faults)

    def array(self, column: str) -> Array:
        """One column of `data`, (8760,), in its units; it cannot be written to."""
        return np.asarray(_values(self.__dict__["content"])[COLUMNS.index(column)])

    @cached_property
    def digest(self) -> str:
        """Hash of the numbers and of where on earth and on the clock they stand; computed once."""
        where = astuple(self.site)[:4]
        return hashlib.sha256(repr(where).encode() + self.__dict__["content"]).hexdigest()

    @cached_property
    def mean_pressure_pa(self) -> float:
        """Mean air pressure of the year [Pa], by which a cabin and a cooler in that place are computed."""
        return float(self.array("pressure").mean())

    def __eq__(self, other: object) -> bool:
        return isinstance(other, Weather) and self.digest == other.digest

    def __hash__(self) -> int:
        return hash(self.digest)

    def __repr__(self) -> str:
        return f"Weather({self.site.name!r}, {self.kind}, {self.source!r})"


def hour_index(site: Location) -> pd.DatetimeIndex:
    """The canonical index of a site: 8760 hours of 2001, hour-beginning, at the site's fixed offset."""
    return pd.date_range(f"{YEAR}-01-01", periods=HOURS, freq="h", tz=site.tz)
