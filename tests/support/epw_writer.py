"""TMY3 and TMY2 files rewritten as EPW, for tests: the same year in two formats must give the same canonical frame.

Written from the published formats alone, without the package and without pvlib: EPW fields after the format's data
dictionary; TMY3 columns after Wilcox & Marion (2008), Users Manual for TMY3 Data Sets, NREL/TP-581-43156, table 1-2;
TMY2 columns after Marion & Urban (1995), User's Manual for TMY2s, table 3-2. All three formats number hours by their
end (1 to 24) and give instants at that end, so rows map one to one.
"""

from __future__ import annotations

import csv
from pathlib import Path

FLAGS = "?9?9?9?9E0?9?9?9?9?9?9?9?9?9?9?9?9?9?9?9*9*9?9?9?9"


def _header(name: str, latitude: float, longitude: float, utc_offset: float, altitude: float) -> list[str]:
    return [
        f"LOCATION,{name},-,-,rewritten,999999,{latitude},{longitude},{utc_offset},{altitude}",
        "DESIGN CONDITIONS,0",
        "TYPICAL/EXTREME PERIODS,0",
        "GROUND TEMPERATURES,0",
        "HOLIDAYS/DAYLIGHT SAVINGS,No,0,0,0",
        "COMMENTS 1,",
        "COMMENTS 2,",
        "DATA PERIODS,1,1,Data,Sunday,1/1,12/31",
    ]


def _row(date: str, weather: dict[str, float]) -> str:
    """One EPW record: 6 of date and flags, 29 of data; what the source lacks is written as its missing code."""
    fields = [
        f"{weather['temp_c']:.1f}",
        f"{weather['dew_c']:.1f}",
        f"{weather['rh']:.0f}",
        f"{weather['pressure_pa']:.0f}",
        "9999",
        "9999",
        "9999",  # horizontal infrared
        f"{weather['ghi']:.0f}",
        f"{weather['dni']:.0f}",
        f"{weather['dhi']:.0f}",
        *["999999"] * 3,
        "9999",
        "999",
        f"{weather['wind_m_s']:.1f}",
        f"{weather['total_cover']:.0f}",
        f"{weather['opaque_cover']:.0f}",
        "9999",
        "99999",
        "9",
        "999999999",
        "999",
        ".999",
        "999",
        "99",
        f"{weather['albedo']:.3f}",
        "999",
        "99",
    ]
    return ",".join([date, FLAGS, *fields])


def epw_from_tmy3(path: Path) -> str:
    """Text of an EPW file with the content of a TMY3 file."""
    with path.open(encoding="utf-8") as file:
        rows = list(csv.reader(file))
    _, name, _, utc_offset, latitude, longitude, altitude = rows[0]
    column = {title: n for n, title in enumerate(rows[1])}
    lines = _header(name, float(latitude), float(longitude), float(utc_offset), float(altitude))
    for row in rows[2:]:

        def value(title: str, row: list[str] = row) -> float:
            return float(row[column[title]])

        month, day, year = row[0].split("/")
        date = f"{year},{int(month)},{int(day)},{int(row[1][:2])},60"
        lines.append(
            _row(
                date,
                {
                    "temp_c": value("Dry-bulb (C)"),
                    "dew_c": value("Dew-point (C)"),
                    "rh": value("RHum (%)"),
                    "pressure_pa": 100.0 * value("Pressure (mbar)"),
                    "ghi": value("GHI (W/m^2)"),
                    "dni": value("DNI (W/m^2)"),
                    "dhi": value("DHI (W/m^2)"),
                    "wind_m_s": value("Wspd (m/s)"),
                    "total_cover": value("TotCld (tenths)"),
                    "opaque_cover": value("OpqCld (tenths)"),
                    "albedo": value("Alb (unitless)"),
                },
            )
        )
    return "\n".join(lines) + "\n"


def epw_from_tmy2(path: Path) -> str:
    """Text of an EPW file with the content of a TMY2 file (fixed columns, counted from 1 in the manual)."""
    head, *rows = path.read_text(encoding="ascii").splitlines()
    latitude = int(head[39:41]) + int(head[42:44]) / 60.0
    longitude = int(head[47:50]) + int(head[51:53]) / 60.0
    latitude *= 1 if head[37] == "N" else -1
    longitude *= 1 if head[45] == "E" else -1
    lines = _header(head[7:29].strip(), latitude, longitude, float(head[33:36]), float(head[55:59]))
    for row in rows:
        date = f"19{row[1:3]},{int(row[3:5])},{int(row[5:7])},{int(row[7:9])},60"
        lines.append(
            _row(
                date,
                {
                    "temp_c": int(row[67:71]) / 10.0,
                    "dew_c": int(row[73:77]) / 10.0,
                    "rh": int(row[79:82]),
                    "pressure_pa": 100.0 * int(row[84:88]),
                    "ghi": int(row[17:21]),
                    "dni": int(row[23:27]),
                    "dhi": int(row[29:33]),
                    "wind_m_s": int(row[95:98]) / 10.0,
                    "total_cover": int(row[59:61]),
                    "opaque_cover": int(row[63:65]),
                    "albedo": 999.0,
                },
            )
        )
    return "\n".join(lines) + "\n"
