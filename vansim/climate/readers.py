"""Read a typical-year file: which format it is, told by its content, and one small adapter for each.

Parsing is pvlib's; what stands here is what differs between formats: names, units, codes for missing values, and what
the hour label means. A year that was read without fault is kept, so that the same file is not parsed and checked again.
"""

from __future__ import annotations

import re
import tempfile
from pathlib import Path
from typing import Any

import numpy as np
import pandas as pd

from vansim.climate.canonical import Table, canonical
from vansim.climate.packing import packed, unpacked
from vansim.climate.pvgis import read_pvgis
from vansim.climate.rows import reading, row_faults, rows_text
from vansim.climate.weather import Location, Weather
from vansim.disk_cache import cached
from vansim.errors import WeatherError
from vansim.notes import Note

KINDS = "EPW, TMY3 (CSV), TMY2, PVGIS typical year (JSON or CSV)"


def read_weather(path: str | Path, utc_offset: float | None = None, trust_labels: bool = False) -> Weather:
    """Read a typical year from disk.

    Parameters
    ----------
    path : str or Path
        An EPW, TMY3, TMY2 or PVGIS (JSON, CSV) file; the format is told by content, whatever the name.
    utc_offset : float, optional
        Standard time of the place [h], for PVGIS files only: they carry universal time and do not say.
    trust_labels : bool
        Keep the file's hours even where its sun contradicts them (see `Weather.closure`); by default such a file is
        refused.

    Returns
    -------
    Weather
        The canonical year.

    Raises
    ------
    WeatherError
        With every fault found, where the file is absent, of no known format, damaged, or mislabelled.
    """
    path = Path(path)
    kind = kind_of(path)
    if utc_offset is not None and not kind.startswith("PVGIS"):
        raise WeatherError(f"{path}: {kind} brings its own offset from UTC; leave utc_offset out")
    inputs = repr((kind, utc_offset, trust_labels)).encode() + path.read_bytes()
    found = cached("year", inputs, lambda: packed(_read(path, kind, utc_offset, trust_labels)))
    return unpacked(found, str(path))


def _read(path: Path, kind: str, utc_offset: float | None, trust_labels: bool) -> Weather:
    if kind.startswith("PVGIS"):
        return canonical(read_pvgis(path, kind, utc_offset), trust_labels)
    return canonical({"EPW": _epw, "TMY3": _tmy3, "TMY2": _tmy2}[kind](path), trust_labels)


def kind_of(path: Path) -> str:
    """Format of a file by its first lines.

    Raises
    ------
    WeatherError
        Where there is no such file, or its content is of no known format.
    """
    try:
        with path.open(encoding="utf-8", errors="replace") as file:
            head = file.read(4000)
    except OSError as error:
        raise WeatherError(f"{path}: cannot be opened ({error.strerror or error})") from error
    lines = head.lstrip("\ufeff").splitlines() or [""]
    first = lines[0].strip()
    second = lines[1] if len(lines) > 1 else ""
    if first.upper().startswith("LOCATION,"):
        return "EPW"
    if "Date (MM/DD/YYYY)" in second:
        return "TMY3"
    if first.startswith("{"):
        return "PVGIS JSON"
    if first.startswith("Latitude (decimal degrees)"):
        return "PVGIS CSV"
    if len(second.rstrip()) in range(120, 150) and second.strip()[:8].isdigit() and len(first.split()) >= 11:
        return "TMY2"
    raise WeatherError(f"{path}: begins with {first[:60]!r}, which is none of {KINDS}")


def _column(frame: pd.DataFrame, name: str, missing: float | None = None, factor: float = 1.0) -> np.ndarray:
    """One column as numbers; text, and anything at or beyond the code for a missing value, becomes NaN."""
    values = pd.to_numeric(frame[name], errors="coerce").to_numpy(dtype=float).copy()
    if missing is not None:
        values[values >= missing if missing > 0 else values <= missing] = np.nan
    return values * factor


def _either(first: np.ndarray, second: np.ndarray) -> np.ndarray:
    return np.where(np.isnan(first), second, first)


def _plain(name: Any) -> str:
    return str(name).replace('"', "").strip()


EPW_HEADER_ROWS = 8
EPW_FIELDS = (29, 35)
"""Some writers leave out the last fields, none of which is used here except albedo (the 33rd)."""


def _epw_header(path: Path) -> tuple[list[str], list[Note]]:
    """Faults of the header (one data period of one record an hour), and what its comment lines say."""
    with path.open(encoding="utf-8", errors="replace") as file:
        lines = [file.readline().strip() for _ in range(EPW_HEADER_ROWS)]
    faults = []
    periods = [(n, line) for n, line in enumerate(lines, 1) if line.upper().startswith("DATA PERIODS")]
    if not periods:
        return [f"{path}: no line DATA PERIODS in the first {EPW_HEADER_ROWS} rows"], []
    number, line = periods[0]
    fields = [f.strip() for f in line.split(",")]
    if fields[1:2] != ["1"]:
        faults.append(f"{path}: row {number}: {fields[1] if len(fields) > 1 else 'no'} data periods, allowed 1")
    if fields[2:3] != ["1"]:
        faults.append(f"{path}: row {number}: {fields[2] if len(fields) > 2 else 'no'} records an hour, allowed 1")
    comments = [_plain(line.partition(",")[2]) for line in lines if line.upper().startswith("COMMENTS")]
    return faults, [Note("file-comment", {"text": c}) for c in comments if c]


def _epw_dated(parts: list[str]) -> bool:
    return all(part.strip().isdigit() for part in parts[:5])


def _epw(path: Path) -> Table:
    """EPW: rows are hours 1 to 24, fluxes their means, instants at the hour's end; pressure in Pa."""
    from pvlib.iotools import read_epw

    faults, comments = _epw_header(path)
    faults += row_faults(path, EPW_HEADER_ROWS + 1, EPW_FIELDS, _epw_dated)
    if faults:
        raise WeatherError(faults)
    with reading(path, "EPW"):
        with path.open(encoding="utf-8", errors="replace") as file:
            # only month, day and hour are used; a leap year lets 29 February pass this far
            frame, meta = read_epw(file, coerce_year=2004)
        site = Location(
            latitude=float(meta["latitude"]),
            longitude=float(meta["longitude"]),
            altitude=float(meta["altitude"]),
            utc_offset=float(meta["TZ"]),
            name=_plain(meta["city"]),
        )
    minutes = set(pd.to_numeric(frame["minute"], errors="coerce").dropna().unique())
    if len(minutes) > 2 or not (minutes <= {0.0, 60.0} or len(minutes) == 1):
        raise WeatherError(f"{path}: minutes {sorted(minutes)} in the rows, allowed one record an hour")
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
        source=str(path),
        first_row=EPW_HEADER_ROWS + 1,
        notes=tuple(comments),
    )


def _tmy3_dated(parts: list[str]) -> bool:
    return bool(re.fullmatch(r"\d\d/\d\d/\d{4},\d\d:\d\d", ",".join(parts[:2])))


def _tmy3(path: Path) -> Table:
    """TMY3: labels end the hour; pressure in mbar, cover in tenths, -9900 for missing."""
    from pvlib.iotools import read_tmy3

    with path.open(encoding="utf-8", errors="replace") as file:
        titles = file.read().splitlines()[1].split(",")
    faults = row_faults(path, 3, (len(titles), len(titles)), _tmy3_dated)
    if faults:
        raise WeatherError(faults)
    with reading(path, "TMY3"):
        with path.open(encoding="utf-8-sig", errors="replace") as file:
            frame, meta = read_tmy3(file)
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
                "ghi": _column(frame, "ghi", -9900),
                "dni": _column(frame, "dni", -9900),
                "dhi": _column(frame, "dhi", -9900),
                "temp_air": _column(frame, "temp_air", -9900),
                "temp_dew": _column(frame, "temp_dew", -9900),
                "relative_humidity": _column(frame, "relative_humidity", -9900, 0.01),
                "pressure": _column(frame, "pressure", -9900, 100.0),
                "wind_speed": _column(frame, "wind_speed", -9900),
                "sky_cover": _either(
                    _column(frame, "OpqCld (tenths)", -9900, 0.1), _column(frame, "TotCld (tenths)", -9900, 0.1)
                ),
                "albedo": _column(frame, "albedo", -9900),
            }
        )
    calendar = pd.DataFrame({"month": dates[0].to_numpy(), "day": dates[1].to_numpy(), "hour": ending.to_numpy() - 1})
    return Table(data=data, calendar=calendar, site=site, kind="TMY3", source=str(path), first_row=3)


TMY2_WIDTH = 142


def _tmy2(path: Path) -> Table:
    """TMY2: pvlib labels the hour's beginning; temperature, wind and cover in tenths, pressure in mbar."""
    from pvlib.iotools import read_tmy2

    with reading(path, "TMY2"):
        head, *rows = path.read_text(encoding="ascii", errors="replace").splitlines()
        short = [n for n, row in enumerate(rows, 2) if row.strip() and len(row.rstrip()) != TMY2_WIDTH]
        if short:
            raise WeatherError(
                f"{path}: {rows_text(short)}: {len(rows[short[0] - 2].rstrip())} characters, allowed {TMY2_WIDTH}. "
                "Is the file cut short?"
            )
        words = head.split()
        # the reader takes one word for the city: join the words of longer names
        joined = " ".join([words[0], "_".join(words[1:-9]), *words[-9:]])
        with tempfile.TemporaryDirectory() as folder:
            copy = Path(folder) / "one_word_city.tm2"
            copy.write_text("\n".join([f" {joined}", *rows]) + "\n", encoding="ascii", errors="replace")
            frame, meta = read_tmy2(str(copy))
        site = Location(
            latitude=meta["latitude"],
            longitude=meta["longitude"],
            altitude=meta["altitude"],
            utc_offset=float(meta["TZ"]),
            name=_plain(meta["City"]).replace("_", " "),
        )
    data = pd.DataFrame(
        {
            "ghi": _column(frame, "GHI", 9999),
            "dni": _column(frame, "DNI", 9999),
            "dhi": _column(frame, "DHI", 9999),
            "temp_air": _column(frame, "DryBulb", 9999, 0.1),
            "temp_dew": _column(frame, "DewPoint", 9999, 0.1),
            "relative_humidity": _column(frame, "RHum", 999, 0.01),
            "pressure": _column(frame, "Pressure", 9999, 100.0),
            "wind_speed": _column(frame, "Wspd", 999, 0.1),
            "sky_cover": _either(_column(frame, "OpqCld", 99, 0.1), _column(frame, "TotCld", 99, 0.1)),
        }
    )
    calendar = pd.DataFrame(
        {
            "month": frame["month"].astype(int).to_numpy(),
            "day": frame["day"].astype(int).to_numpy(),
            "hour": frame["hour"].astype(int).to_numpy() - 1,
        }
    )
    return Table(data=data, calendar=calendar, site=site, kind="TMY2", source=str(path), first_row=2)
