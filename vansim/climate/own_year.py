"""One's own year as a plain table: CSV with pvlib's column names, hourly or in steps of 10 to 60 minutes.

A real year, or the days that were logged in one. The place stands in comment lines above the table::

    # name: roof logger
    # latitude: 33.0
    # longitude: -113.0
    # altitude: 350
    # utc_offset: -7
    # labels: begin
    # rest: desert.epw
    time,ghi,dni,dhi,temp_air,relative_humidity,pressure,wind_speed
    2026-07-12 00:00,0,0,0,31.2,18,97100,1.4

``labels`` says what a row's time is of its means: their ``begin`` (left out, that), their ``end``, or an ``instant``.
``rest`` names a typical year from which the hours come that were not logged; then place and offset may be left out.
"""

from __future__ import annotations

import io
import re
from difflib import get_close_matches
from pathlib import Path

import numpy as np
import numpy.typing as npt
import pandas as pd

from vansim.climate.canonical import Table
from vansim.climate.head_lines import PLACE, Head, column_names, read_head
from vansim.climate.hours import averaged_fluxes
from vansim.climate.rows import decoded, reading
from vansim.climate.sun import extraterrestrial_w_m2, sun_clock
from vansim.climate.weather import HOURS, Location, Weather
from vansim.errors import WeatherError
from vansim.notes import Note
from vansim.psychrometrics import pressure_at_altitude_pa

Array = npt.NDArray[np.float64]

KIND = "CSV"
COLUMNS = {
    "ghi": 1.0,
    "dni": 1.0,
    "dhi": 1.0,
    "temp_air": 1.0,
    "temp_dew": 1.0,
    "relative_humidity": 0.01,
    "pressure": 1.0,
    "wind_speed": 1.0,
    "longwave_down": 1.0,
    "albedo": 1.0,
}
"""pvlib's names, and what makes SI of their units (humidity comes in per cent)."""
OURS = {"longwave_down": "longwave"}
MEANS = ("ghi", "dni", "dhi", "longwave", "albedo")
KEYS = ("name", "latitude", "longitude", "altitude", "utc_offset", "labels", "rest")
LABELS = ("begin", "end", "instant")
STEPS_MIN = (10, 12, 15, 20, 30, 60)
NO_VALUE = -9900.0
LEAST_HOURS = 24
SEASONS_YEAR = 2001
OFFSET = re.compile(r":\d\d(?:\.\d+)?(?:[zZ]|([+-])(\d\d):?(\d\d))\s*$")
"""Universal time or an offset from it at the end of a time."""
LOW_SUN_COS = 0.065
"""Cos z below which the beam is not told from the global sun (pvlib's own bound)."""


def looks_like(text: str) -> bool:
    """Whether a file is such a table: its first line without ``#`` names the global sun and the air."""
    names = column_names(text)
    return "temp_air" in names and "ghi" in names


def rest_of(content: bytes, source: str) -> Path | None:
    """Typical year that the file names for hours that were not logged, beside the file."""
    named = _head(decoded(content), source).values.get("rest")
    return None if named is None else Path(source).parent / named


def read_own_year(content: bytes, source: str, rest: Weather | None) -> Table:
    """Read a table of one's own.

    Parameters
    ----------
    content : bytes
        Of the file.
    source : str
        Its name.
    rest : Weather or None
        Year from which the hours come that were not logged.

    Returns
    -------
    Table
        Rows of a year of 365 days, fluxes as means over the hour, instants at its beginning; NaN where nothing was
        logged.

    Raises
    ------
    WeatherError
        With every fault of the head, the columns, the times.
    """
    text = decoded(content)
    head = _head(text, source)
    with reading(source, KIND):
        frame = pd.read_csv(io.StringIO(text), comment="#", skipinitialspace=True)
        frame.columns = pd.Index([str(c).strip() for c in frame.columns])
    notes: list[Note] = []
    faults, site = _place(head, frame, source, rest)
    faults += _column_faults(frame, source, head, notes)
    if faults or site is None:
        raise WeatherError(faults)
    times = _times(frame, source, head, site)
    step = _step(times, source, head)
    values = {
        OURS.get(c, c): pd.to_numeric(frame[c], errors="coerce").to_numpy(dtype=float) * factor
        for c, factor in COLUMNS.items()
        if c in frame
    }
    values = {c: np.where(v <= NO_VALUE * COLUMNS.get(c, 1.0), np.nan, v) for c, v in values.items()}
    data = _hours(times, values, step, head.values.get("labels", "begin"), site)
    _completed(data, site, notes)
    first, last = (pd.Timestamp(times[i]).strftime("%Y-%m-%d %H:%M") for i in (0, -1))
    notes.append(Note("own-year", {"first": first, "last": last, "step_min": step}))
    calendar = pd.date_range(f"{SEASONS_YEAR}-01-01", periods=HOURS, freq="h")
    return Table(
        data=data,
        calendar=pd.DataFrame({"month": calendar.month, "day": calendar.day, "hour": calendar.hour}),
        site=site,
        kind=KIND,
        source=source,
        first_row=head.table_line + 1,
        at_edges=True,
        rest=rest,
        notes=tuple(notes),
    )


def _head(text: str, source: str) -> Head:
    return read_head(text, source, KEYS, {"labels": LABELS})


def _place(head: Head, frame: pd.DataFrame, source: str, rest: Weather | None) -> tuple[list[str], Location | None]:
    """Faults of the head, and the place; what it leaves out comes from the rest of the year."""
    known: dict[str, float] = {}
    if rest is not None:
        at = rest.site
        known = {
            "latitude": at.latitude,
            "longitude": at.longitude,
            "altitude": at.altitude,
            "utc_offset": at.utc_offset,
        }
    said, faults = head.numbers(PLACE, source)
    known |= said
    stated = OFFSET.search(str(frame.iloc[0, 0])) if len(frame) else None
    if stated and stated[1] and "utc_offset" not in known:
        known["utc_offset"] = float(f"{stated[1]}1") * (int(stated[2]) + int(stated[3]) / 60.0)
    absent = [key for key in PLACE if key not in known]
    if absent and not faults:
        faults.append(
            f"{source}: no line above the table says {', '.join(absent)}; write for example '# latitude: 33.0'"
        )
    if faults:
        return faults, None
    return [], Location(**known, name=head.values.get("name", rest.site.name if rest else Path(source).stem))


def _column_faults(frame: pd.DataFrame, source: str, head: Head, notes: list[Note]) -> list[str]:
    faults, ignored = [], []
    for name in frame.columns[1:]:
        near = get_close_matches(name, COLUMNS, n=1, cutoff=0.85)
        if name not in COLUMNS and near and near[0] not in frame:
            faults.append(f"{source}: line {head.table_line}: column {name!r}; did you mean {near[0]!r}?")
        elif name not in COLUMNS:
            ignored.append(name)
    if ignored:
        notes.append(Note("columns-ignored", {"columns": ", ".join(ignored)}))
    return faults


def _times(frame: pd.DataFrame, source: str, head: Head, site: Location) -> pd.DatetimeIndex:
    """Time of each row in the standard time of the site."""
    parsed = pd.to_datetime(frame.iloc[:, 0], errors="coerce", format="mixed", utc=True)
    written = frame.iloc[:, 0].astype(str)
    aware = [OFFSET.search(text) is not None for text in written]
    bad = parsed.isna().to_numpy()
    if bad.any() or not len(frame):
        at = int(np.argmax(bad)) if len(frame) else 0
        was = repr(written.iloc[at]) if len(frame) else "nothing"
        raise WeatherError(
            f"{source}: line {head.table_line + 1 + at}: {was} is not a time; write for example 2026-07-12 14:30"
        )
    local = parsed.dt.tz_localize(None) + pd.to_timedelta(np.where(aware, site.utc_offset, 0.0), unit="h")
    times = pd.DatetimeIndex(local)
    step = np.diff(times.to_numpy()) / np.timedelta64(1, "s")
    if (step <= 0).any():
        at = int(np.argmax(step <= 0)) + 1
        raise WeatherError(
            f"{source}: line {head.table_line + 1 + at}: {written.iloc[at]} does not come after the row before. "
            "Times run forward and in standard time, without a change in spring and autumn"
        )
    return times


def _step(times: pd.DatetimeIndex, source: str, head: Head) -> int:
    """Step of the table [min]."""
    span_h = (times[-1] - times[0]) / pd.Timedelta("1h")
    if span_h >= HOURS + LEAST_HOURS:
        raise WeatherError(f"{source}: from {times[0]} to {times[-1]}: a table holds one year at most; cut it")
    if span_h < LEAST_HOURS - 1:
        raise WeatherError(f"{source}: from {times[0]} to {times[-1]}: a table holds one day at least")
    step = float(np.median(np.diff(times.to_numpy()) / np.timedelta64(1, "m")))
    if step not in STEPS_MIN:
        raise WeatherError(
            f"{source}: line {head.table_line + 1}: rows are {step:g} min apart, "
            f"allowed {', '.join(map(str, STEPS_MIN))} min"
        )
    return int(step)


def _hours(
    times: pd.DatetimeIndex, values: dict[str, Array], step_min: int, labels: str, site: Location
) -> pd.DataFrame:
    """Hours of the 365-day year: means over the hour, instants at its beginning.

    An hour of which less than half was logged has no mean; an edge further than half an hour and a step from what was
    logged has no instant. 29 February is left out.
    """
    hours = (times - times[0].floor("h")) / pd.Timedelta("1h")
    moment = hours.to_numpy(dtype=float) + {"begin": 0.5, "end": -0.5, "instant": 0.0}[labels] * step_min / 60.0
    first = times[0].floor("h")
    count = int(np.floor(moment[-1])) + 2
    stamps = pd.date_range(first, periods=count, freq="h")
    # between instants the sun runs straight: one on the hour belongs half to either side of it
    sides = [moment] if labels != "instant" else [moment + s * step_min / 120.0 for s in (-1.0, 1.0)]
    every = np.full((HOURS, len(values)), np.nan)
    kept = ~((stamps.month == 2) & (stamps.day == 29))
    days = pd.to_datetime({"year": SEASONS_YEAR, "month": stamps.month[kept], "day": stamps.day[kept]})
    slot = pd.DatetimeIndex(days).day_of_year.to_numpy() * 24 - 24 + stamps.hour[kept].to_numpy()
    hourly_instants = labels == "instant" and step_min == 60
    for i, (name, column) in enumerate(values.items()):
        known = np.isfinite(column)
        if name in MEANS and not hourly_instants:
            hour = np.mean([_means(at[known], column[known], count, step_min) for at in sides], axis=0)
        else:
            hour = _at_edges(moment, column, known, count, step_min)
        filled = np.isfinite(hour[kept])
        every[slot[filled], i] = hour[kept][filled]
    data = pd.DataFrame(every, columns=list(values))
    if hourly_instants and all(c in data for c in ("ghi", "dni", "dhi")):
        data = data.assign(**averaged_fluxes(data.fillna(0.0), site, np.zeros(1))).where(data.notna())
    return data


def _means(moment: Array, column: Array, count: int, step_min: int) -> Array:
    """Mean of each hour; NaN where less than half of it was logged."""
    whole = np.clip(np.floor(moment).astype(int), 0, count - 1)
    have = np.bincount(whole, minlength=count)
    mean = np.bincount(whole, column, count) / np.maximum(have, 1)
    return np.asarray(np.where(2 * have * step_min >= 60, mean, np.nan))


def _at_edges(moment: Array, column: Array, known: npt.NDArray[np.bool_], count: int, step_min: int) -> Array:
    """Values at whole hours, straight between what was logged; NaN further from it than half an hour and a step."""
    edges = np.arange(count, dtype=float)
    if not known.any():
        return np.full(count, np.nan)
    at, value = moment[known], column[known]
    after = np.searchsorted(at, edges).clip(0, at.size - 1)
    before = (after - 1).clip(0)
    apart = np.minimum(np.abs(at[after] - edges), np.abs(at[before] - edges))
    return np.asarray(np.where(apart <= 0.5 + step_min / 60.0, np.interp(edges, at, value), np.nan))


def _completed(data: pd.DataFrame, site: Location, notes: list[Note]) -> None:
    """What loggers leave out: pressure by altitude; the beam and the diffuse sun from what there is."""
    if "pressure" not in data:
        data["pressure"] = pressure_at_altitude_pa(site.altitude)
        notes.append(Note("pressure-from-altitude", {"pressure_pa": float(data["pressure"].iloc[0])}))
    if "ghi" not in data or ("dni" in data and "dhi" in data):
        return
    cos_zenith = sun_clock(site).mean_cos_zenith()
    ghi = data["ghi"].to_numpy(dtype=float)
    if "dni" in data:
        data["dhi"] = np.maximum(ghi - data["dni"].to_numpy(dtype=float) * cos_zenith, 0.0)
        notes.append(Note("diffuse-from-closure"))
    elif "dhi" in data:
        beam = np.maximum(ghi - data["dhi"].to_numpy(dtype=float), 0.0)
        data["dni"] = np.where(cos_zenith > LOW_SUN_COS, beam / np.maximum(cos_zenith, LOW_SUN_COS), 0.0 * ghi)
        notes.append(Note("beam-from-closure"))
    else:
        share = erbs_diffuse_share(ghi, cos_zenith)
        data["dhi"] = ghi * share
        data["dni"] = np.where(
            cos_zenith > LOW_SUN_COS, ghi * (1.0 - share) / np.maximum(cos_zenith, LOW_SUN_COS), 0.0 * ghi
        )
        data["dhi"] = ghi - data["dni"] * cos_zenith
        notes.append(Note("beam-from-global"))


def erbs_diffuse_share(ghi: Array, cos_zenith: Array) -> Array:
    """Diffuse share of the global sun of an hour, 0 to 1, after Erbs, Klein & Duffie (1982), Solar Energy 28:293.

    Parameters
    ----------
    ghi : (8760,) array
        [W/m2].
    cos_zenith : (8760,) array
        Mean over the hour.
    """
    top = extraterrestrial_w_m2() * np.maximum(cos_zenith, LOW_SUN_COS)
    kt = np.clip(ghi / top, 0.0, 1.0)
    middle = 0.9511 - 0.1604 * kt + 4.388 * kt**2 - 16.638 * kt**3 + 12.336 * kt**4
    return np.asarray(np.where(kt <= 0.22, 1.0 - 0.09 * kt, np.where(kt <= 0.8, middle, 0.165)))
