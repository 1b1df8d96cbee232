"""Read a typical-year file: which format it is, told by its content, and one small adapter for each.

Parsing is pvlib's, but for TMY2; what stands here is what differs between formats: names, units, codes for missing
values, and what the hour label means. A year that was read without fault is kept, so that the same file is not parsed
and checked again.
"""

from __future__ import annotations

import io
import re
from pathlib import Path
from typing import Any

import numpy as np
import pandas as pd

from vansim.climate import changed_year, design_days
from vansim.climate.canonical import LABELS, SKIES, Table, canonical
from vansim.climate.own_year import KIND, looks_like, read_own_year, rest_of
from vansim.climate.packing import packed, unpacked
from vansim.climate.pvgis import read_pvgis
from vansim.climate.rows import decoded, file_bytes, reading, row_faults
from vansim.climate.tmy2 import read_tmy2
from vansim.climate.weather import YEAR, Location, Weather
from vansim.disk_cache import cached
from vansim.errors import WeatherError
from vansim.notes import Note

KINDS = (
    "EPW, TMY3 (CSV), TMY2, PVGIS typical year (JSON or CSV), a table with pvlib's column names (CSV), design values "
    "or changes by month (CSV)"
)
HEAD_BYTES = 4000


def read_weather(
    path: str | Path, utc_offset: float | None = None, labels: str = "find", sky: str = "formula"
) -> Weather:
    """Read a year from disk.

    Parameters
    ----------
    path : str or Path
        An EPW, TMY3, TMY2 or PVGIS (JSON, CSV) file, one's own year as a table (see `own_year`), a handbook's design
        values (see `design_days`) or a year with monthly changes (see `changed_year`), packed by gzip or not; the
        format is told by content, whatever the name.
    utc_offset : float, optional
        Standard time of the place [h], for PVGIS files only: they carry universal time and do not say.
    labels : {"find", "as-written"}
        ``"find"``: where the sun of the file stands off its hours, the file is moved to its sun, and a note says so
        (see `Weather.closure`). ``"as-written"``: its hours are kept.
    sky : {"formula", "measured"}
        ``"formula"``: longwave from the sky is computed alike for every file (see `vansim.climate.sky_longwave`), for
        what files carry was mostly computed too. ``"measured"``: the file's own is kept.

    Returns
    -------
    Weather
        The canonical year.

    Raises
    ------
    WeatherError
        With every fault found, where the file is absent, of no known format, damaged, or explained by no placing of
        the sun.
    """
    path = Path(path)
    check_choices(labels, sky)
    content = file_bytes(path)
    kind = kind_of(content, str(path))
    if utc_offset is not None and not kind.startswith("PVGIS"):
        raise WeatherError(f"{path}: {kind} brings its own offset from UTC; leave utc_offset out")
    rest = None
    if kind == KIND:
        named = rest_of(content, str(path))
        rest = None if named is None else _read_rest(named, str(path), labels, sky)
    elif kind == changed_year.KIND:
        rest = _read_base(changed_year.base_of(content, str(path)), str(path), labels, sky)
    inputs = repr((kind, utc_offset, labels, sky, rest and rest.digest)).encode() + content

    def read() -> Weather:
        if kind == KIND:
            return canonical(read_own_year(content, str(path), rest), labels, sky)
        if kind == design_days.KIND:
            return design_days.read_design_days(content, str(path))
        if rest is not None:
            return changed_year.read_changed_year(content, str(path), rest)
        if kind.startswith("PVGIS"):
            return canonical(read_pvgis(content, str(path), kind, utc_offset), labels, sky)
        adapter = {"EPW": _epw, "TMY3": _tmy3, "TMY2": read_tmy2}[kind]
        return canonical(adapter(decoded(content), str(path)), labels, sky)

    return unpacked(cached("year", inputs, lambda: packed(read())), str(path))


def check_choices(labels: str, sky: str) -> None:
    """Refuse ways of reading that there are not.

    Raises
    ------
    WeatherError
        Both, if both are wrong.
    """
    asked = (("labels", labels, LABELS), ("sky", sky, SKIES))
    faults = [f"{n} is {value!r}, allowed: {', '.join(allowed)}" for n, value, allowed in asked if value not in allowed]
    if faults:
        raise WeatherError(faults)


def _read_rest(named: Path, source: str, labels: str, sky: str) -> Weather:
    """The year that a table of one's own names for the hours that it lacks."""
    content = file_bytes(named)
    if kind_of(content, str(named)) == KIND and rest_of(content, str(named)) is not None:
        raise WeatherError(f"{source}: its rest, {named}, names a rest itself; name a whole year")
    return read_weather(named, labels=labels, sky=sky)


def _read_base(named: Path, source: str, labels: str, sky: str) -> Weather:
    """The year that a table of changes names."""
    if kind_of(file_bytes(named), str(named)) in (changed_year.KIND, design_days.KIND):
        raise WeatherError(f"{source}: its year, {named}, is no year of weather itself; name a typical or a real year")
    return read_weather(named, labels=labels, sky=sky)


def kind_of(content: bytes, source: str) -> str:
    """Format of a file by its first lines.

    Raises
    ------
    WeatherError
        Where its content is of no known format.
    """
    text = decoded(content[:HEAD_BYTES])
    lines = text.splitlines() or [""]
    first = lines[0].strip()
    second = lines[1] if len(lines) > 1 else ""
    if first.upper().startswith("LOCATION,"):
        return "EPW"
    if "Date (MM/DD/YYYY)" in second:
        return "TMY3"
    if looks_like(text):
        return KIND
    if design_days.looks_like(text):
        return design_days.KIND
    if changed_year.looks_like(text):
        return changed_year.KIND
    if first.startswith("{"):
        return "PVGIS JSON"
    if first.startswith("Latitude (decimal degrees)"):
        return "PVGIS CSV"
    if len(second.rstrip()) in range(120, 150) and second.strip()[:8].isdigit() and len(first.split()) >= 11:
        return "TMY2"
    raise WeatherError(f"{source}: begins with {first[:60]!r}, which is none of {KINDS}")


NO_VALUE = -9900.0


def _column(frame: pd.DataFrame, name: str, missing: float | None = None, factor: float = 1.0) -> np.ndarray:
    """One column as numbers; text, and anything at or beyond the code for a missing value, becomes NaN.

    Some writers put -9900 or -9999 into formats that have a code of their own.
    """
    values = pd.to_numeric(frame[name], errors="coerce").to_numpy(dtype=float).copy()
    values[values <= NO_VALUE] = np.nan
    if missing is not None:
        values[values >= missing] = np.nan
    return values * factor


def _either(first: np.ndarray, second: np.ndarray) -> np.ndarray:
    return np.where(np.isnan(first), second, first)


def _plain(name: Any) -> str:
    return str(name).replace('"', "").strip()


EPW_HEADER_ROWS = 8
EPW_FIELDS = (29, 35)
"""Some writers leave out the last fields, none of which is used here except albedo (the 33rd)."""


def _epw_header(text: str) -> tuple[list[str], list[Note]]:
    """Faults of the header (one data period of one record an hour), and what its comment lines say."""
    lines = [line.strip() for line in text.splitlines()[:EPW_HEADER_ROWS]]
    faults = []
    periods = [(n, line) for n, line in enumerate(lines, 1) if line.upper().startswith("DATA PERIODS")]
    if not periods:
        return [f"no line DATA PERIODS in the first {EPW_HEADER_ROWS} rows"], []
    number, line = periods[0]
    fields = [f.strip() for f in line.split(",")]
    if fields[1:2] != ["1"]:
        faults.append(f"row {number}: {fields[1] if len(fields) > 1 else 'no'} data periods, allowed 1")
    if fields[2:3] != ["1"]:
        faults.append(f"row {number}: {fields[2] if len(fields) > 2 else 'no'} records an hour, allowed 1")
    comments = [_plain(line.partition(",")[2]) for line in lines if line.upper().startswith("COMMENTS")]
    return faults, [Note("file-comment", {"text": c}) for c in comments if c]


def _one_year(text: str) -> list[Note]:
    """The year that every row is dated in; nothing where months come from several, or all are put into `YEAR`."""
    written = {line.split(",", 1)[0].strip() for line in text.splitlines()[EPW_HEADER_ROWS:] if line.strip()}
    year = written.pop() if len(written) == 1 else ""
    return [Note("one-year", {"year": int(year)})] if year.isdigit() and int(year) != YEAR else []


EPW_DATED = re.compile(r"\s*\d+\s*(,\s*\d+\s*){4},")
"""Year, month, day, hour, minute."""


def _hours_from_one(text: str) -> str:
    """Hours are numbered 1 to 24; some writers have 0 to 23. Which hour they mean, the sun tells."""
    lines = text.splitlines()
    rows = [line.split(",", 4) for line in lines[EPW_HEADER_ROWS : EPW_HEADER_ROWS + 1]]
    if int(rows[0][3]) != 0:
        return text
    rows = [line.split(",", 4) for line in lines[EPW_HEADER_ROWS:] if line.strip()]
    later = [",".join([*row[:3], str(int(row[3]) + 1), row[4]]) for row in rows]
    return "\n".join([*lines[:EPW_HEADER_ROWS], *later]) + "\n"


def _epw(text: str, source: str) -> Table:
    """EPW: rows are hours 1 to 24, fluxes their means, instants at the hour's end; pressure in Pa."""
    from pvlib.iotools import read_epw

    faults, comments = _epw_header(text)
    comments += _one_year(text)
    faults += row_faults(text, EPW_HEADER_ROWS + 1, EPW_FIELDS, EPW_DATED)
    if faults:
        raise WeatherError(f"{source}: {fault}" for fault in faults)
    text = _hours_from_one(text)
    with reading(source, "EPW"):
        # only month, day and hour are used; a leap year lets 29 February pass this far
        frame, meta = read_epw(io.StringIO(text), coerce_year=2004)
        site = Location(
            latitude=float(meta["latitude"]),
            longitude=float(meta["longitude"]),
            altitude=float(meta["altitude"]),
            utc_offset=float(meta["TZ"]),
            name=_plain(meta["city"]),
        )
    minutes = set(pd.to_numeric(frame["minute"], errors="coerce").dropna().unique())
    if len(minutes) > 2 or not (minutes <= {0.0, 60.0} or len(minutes) == 1):
        raise WeatherError(f"{source}: minutes {sorted(minutes)} in the rows, allowed one record an hour")
    data = pd.DataFrame(
        {
            "ghi": _column(frame, "ghi", 9999),
            "dni": _column(frame, "dni", 9999),
            "dhi": _column(frame, "dhi", 9999),
            "longwave": _column(frame, "ghi_infrared", 9999),
            "temp_air": _column(frame, "temp_air", 99.9),
            "temp_dew": _column(frame, "temp_dew", 99.9),
            "relative_humidity": _column(frame, "relative_humidity", 999, 0.01),
            "pressure": _column(frame, "atmospheric_pressure", 999999),
            "wind_speed": _column(frame, "wind_speed", 999),
            "sky_cover": _either(
                _column(frame, "opaque_sky_cover", 99, 0.1), _column(frame, "total_sky_cover", 99, 0.1)
            ),
            "total_cover": _column(frame, "total_sky_cover", 99, 0.1),
            "albedo": _column(frame, "albedo", 999),
        }
    )
    # a longwave of zero is a hole, not a black sky
    data.loc[data["longwave"] == 0.0, "longwave"] = np.nan
    calendar = pd.DataFrame({"month": frame["month"], "day": frame["day"], "hour": frame["hour"] - 1})
    return Table(
        data=data,
        calendar=calendar.reset_index(drop=True),
        site=site,
        kind="EPW",
        source=source,
        first_row=EPW_HEADER_ROWS + 1,
        notes=tuple(comments),
    )


TMY3_DATED = re.compile(r"\d\d/\d\d/\d{4},\d\d:\d\d,")


def _tmy3(text: str, source: str) -> Table:
    """TMY3: labels end the hour; pressure in mbar, cover in tenths, -9900 for missing."""
    from pvlib.iotools import read_tmy3

    titles = text.splitlines()[1].split(",")
    faults = row_faults(text, 3, (len(titles), len(titles)), TMY3_DATED)
    if faults:
        raise WeatherError(f"{source}: {fault}" for fault in faults)
    with reading(source, "TMY3"):
        frame, meta = read_tmy3(io.StringIO(text))
        dates = frame["Date (MM/DD/YYYY)"].str.split("/", expand=True).astype(int)
        ending = frame["Time (HH:MM)"].str[:2].astype(int)
        site = Location(
            latitude=meta["latitude"],
            longitude=meta["longitude"],
            altitude=meta["altitude"],
            utc_offset=meta["TZ"],
            name=_plain(meta["Name"]),
        )
        data = pd.DataFrame(
            {
                "ghi": _column(frame, "ghi"),
                "dni": _column(frame, "dni"),
                "dhi": _column(frame, "dhi"),
                "temp_air": _column(frame, "temp_air"),
                "temp_dew": _column(frame, "temp_dew"),
                "relative_humidity": _column(frame, "relative_humidity", factor=0.01),
                "pressure": _column(frame, "pressure", factor=100.0),
                "wind_speed": _column(frame, "wind_speed"),
                "sky_cover": _either(
                    _column(frame, "OpqCld (tenths)", factor=0.1), _column(frame, "TotCld (tenths)", factor=0.1)
                ),
                "total_cover": _column(frame, "TotCld (tenths)", factor=0.1),
                "albedo": _column(frame, "albedo"),
            }
        )
    calendar = pd.DataFrame({"month": dates[0].to_numpy(), "day": dates[1].to_numpy(), "hour": ending.to_numpy() - 1})
    return Table(data=data, calendar=calendar, site=site, kind="TMY3", source=source, first_row=3)
