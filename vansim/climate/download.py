"""Fetch the PVGIS typical year of a place, and keep it on disk so that it is fetched once."""

from __future__ import annotations

import json
import os
from contextlib import suppress
from pathlib import Path
from typing import Any

import pandas as pd

from vansim.climate.canonical import canonical
from vansim.climate.pvgis import table_from_pvgis
from vansim.climate.weather import Weather
from vansim.errors import WeatherError

TIMEOUT_S = 60
HINT = "Give a typical-year file on disk instead (EPW, TMY3, TMY2, or a PVGIS typical year saved as JSON)."


def download_weather(
    latitude: float, longitude: float, cache_dir: str | Path | None = None, utc_offset: float | None = None
) -> Weather:
    """Typical year of a place from PVGIS, from the cache where it is already there.

    Parameters
    ----------
    latitude, longitude : float
        Place, north and east positive [deg]; rounded to 0.01 deg (1 km).
    cache_dir : str or Path, optional
        Folder for downloads; the user's cache folder by default.
    utc_offset : float, optional
        Standard time of the place [h]; by longitude where not given.

    Returns
    -------
    Weather
        Kind ``PVGIS JSON``.

    Raises
    ------
    WeatherError
        Where the place is off the map, the network is absent, the service refuses, or its answer cannot be trusted.
    """
    if not (-90 <= latitude <= 90 and -180 <= longitude <= 180):
        raise WeatherError(f"latitude {latitude:g}, longitude {longitude:g}: allowed -90 to 90 and -180 to 180 degrees")
    latitude, longitude = round(latitude, 2), round(longitude, 2)
    kept = cache_path(latitude, longitude, cache_dir)
    frame, meta = _load(kept) if kept.exists() else _fetch(latitude, longitude, kept)
    return canonical(table_from_pvgis(frame, meta, str(kept), "PVGIS JSON", utc_offset))


def cache_path(latitude: float, longitude: float, cache_dir: str | Path | None = None) -> Path:
    """File in which the year of a place is kept."""
    base = Path(cache_dir) if cache_dir else Path(os.environ.get("XDG_CACHE_HOME") or Path.home() / ".cache") / "vansim"
    return base / f"pvgis_{latitude:+.2f}_{longitude:+.2f}.json"


def _fetch(latitude: float, longitude: float, kept: Path) -> tuple[pd.DataFrame, dict[str, Any]]:
    import requests
    from pvlib.iotools import get_pvgis_tmy

    try:
        frame, meta = get_pvgis_tmy(latitude, longitude, outputformat="json", timeout=TIMEOUT_S, coerce_year=2001)
    except requests.exceptions.HTTPError as error:
        raise WeatherError(f"PVGIS has no year for {latitude:g}, {longitude:g}: {error}. {HINT}") from error
    except (requests.exceptions.RequestException, OSError) as error:
        raise WeatherError(f"PVGIS cannot be reached ({type(error).__name__}). {HINT}") from error
    except (KeyError, ValueError, TypeError) as error:
        raise WeatherError(f"PVGIS answered something else than a typical year ({error}). {HINT}") from error
    _keep(frame, meta, kept)
    return frame, meta


def _keep(frame: pd.DataFrame, meta: dict[str, Any], kept: Path) -> None:
    """Write whole or not at all; a cache that cannot be written is no reason to fail."""
    columns = {str(c): frame[c].tolist() for c in frame}
    text = json.dumps({"meta": meta, "time": [t.isoformat() for t in frame.index], "columns": columns})
    part = kept.with_suffix(".part")
    try:
        kept.parent.mkdir(parents=True, exist_ok=True)
        part.write_text(text, encoding="utf-8")
        part.replace(kept)
    except OSError:
        with suppress(OSError):
            part.unlink(missing_ok=True)


def _load(kept: Path) -> tuple[pd.DataFrame, dict[str, Any]]:
    try:
        stored = json.loads(kept.read_text(encoding="utf-8"))
        frame = pd.DataFrame(stored["columns"], index=pd.DatetimeIndex(pd.to_datetime(stored["time"], utc=True)))
        return frame, stored["meta"]
    except (OSError, ValueError, KeyError, TypeError) as error:
        raise WeatherError(f"{kept}: the kept download is damaged ({error}); delete it and try again") from error
