"""Years as PVGIS gives them: files of its JSON and CSV answers, and the service itself without a network."""

from __future__ import annotations

import json
from pathlib import Path

import pandas as pd

from tests.support import synthetic
from vansim.climate import Location

TORRID = Location(latitude=28.6, longitude=77.2, altitude=216.0, utc_offset=5.5, name="half-hour zone")
OFFSET_H = 0.1761
INLAND = Location(latitude=45.0, longitude=8.0, altitude=250.0, utc_offset=1.0, name="x")


def write_json(path: Path, site: Location, frame: pd.DataFrame, offset_h: float = OFFSET_H) -> Path:
    """A file in the shape of the service's JSON answer (version 5.3)."""
    location = {
        "latitude": site.latitude,
        "longitude": site.longitude,
        "elevation": site.altitude,
        "irradiance_time_offset": offset_h,
    }
    months = [{"month": m, "year": 2005 + m} for m in range(1, 13)]
    text = {
        "inputs": {"location": location},
        "outputs": {"months_selected": months, "tmy_hourly": frame.to_dict("records")},
        "meta": {"inputs": {}},
    }
    path.write_text(json.dumps(text))
    return path


def write_csv(path: Path, site: Location, frame: pd.DataFrame, offset_h: float = OFFSET_H) -> Path:
    """A file in the shape of the service's CSV answer (version 5.3)."""
    head = [
        f"Latitude (decimal degrees): {site.latitude}",
        f"Longitude (decimal degrees): {site.longitude}",
        f"Elevation (m): {site.altitude}",
        f"Irradiance Time Offset (h): {offset_h}",
        "month,year",
        *(f"{m},{2005 + m}" for m in range(1, 13)),
    ]
    path.write_text(
        "\r\n".join(head) + "\r\n" + frame.to_csv(index=False, lineterminator="\r\n") + "\r\nT2m: 2-m air\r\n"
    )
    return path


class Service:
    """Stands in for the service: counts calls, answers with a synthetic year in pvlib's shape."""

    def __init__(self, fault: Exception | None = None) -> None:
        self.calls, self.fault = 0, fault

    def __call__(self, latitude: float, longitude: float, **options: object) -> tuple[pd.DataFrame, dict]:
        self.calls += 1
        if self.fault:
            raise self.fault
        assert options["outputformat"] == "json"
        raw = synthetic.pvgis_frame(INLAND, 0.1761)
        names = {"T2m": "temp_air", "RH": "relative_humidity", "G(h)": "ghi", "Gb(n)": "dni", "Gd(h)": "dhi"}
        frame = raw.drop(columns="time(UTC)").rename(columns=names | {"WS10m": "wind_speed", "SP": "pressure"})
        frame.index = pd.date_range("2001-01-01", periods=8760, freq="h", tz="UTC")
        place = {"latitude": latitude, "longitude": longitude, "elevation": 250.0, "irradiance_time_offset": 0.1761}
        return frame, {"inputs": {"location": place}}
