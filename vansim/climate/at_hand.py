"""Weather files that lie in a folder of one's own, by their distance from a place.

Only the head of each file is read: thousands are told apart in a second.
"""

from __future__ import annotations

import csv
import gzip
import math
import os
import re
import zlib
from dataclasses import dataclass
from pathlib import Path

from vansim.climate.head_lines import LINE
from vansim.climate.own_year import KIND
from vansim.climate.readers import HEAD_BYTES, kind_of
from vansim.climate.rows import GZIP_MAGIC, decoded
from vansim.errors import WeatherError

EARTH_KM = 6371.0
"""Mean radius of the earth [km] (IUGG)."""
MOST_FILES = 20_000
FOLDER_VARIABLE = "VANSIM_WEATHER"


@dataclass(frozen=True, kw_only=True)
class FileAtHand:
    """A weather file, by what its head says.

    Attributes
    ----------
    path : Path
        File.
    name : str
        Of the place.
    kind : str
        Format.
    latitude, longitude : float
        [deg], north and east positive.
    distance_km : float
        From the place that was asked for [km].
    """

    path: Path
    name: str
    kind: str
    latitude: float
    longitude: float
    distance_km: float


def own_folder() -> Path:
    """Folder of one's own weather files: ``$VANSIM_WEATHER``, or where one is."""
    return Path(os.environ.get(FOLDER_VARIABLE) or ".")


def files_at_hand(latitude: float, longitude: float, folder: Path | None = None) -> list[FileAtHand]:
    """Weather files of a folder, the nearest first.

    Parameters
    ----------
    latitude, longitude : float
        Place [deg], north and east positive.
    folder : Path or None
        Folder, with those in it; left out, `own_folder`.

    Returns
    -------
    list of FileAtHand
        What is no weather file, or does not say where it is, is passed over.
    """
    found = []
    paths = (path for path in sorted((folder or own_folder()).rglob("*")) if path.is_file())
    for path, _ in zip(paths, range(MOST_FILES), strict=False):
        place = _place(path)
        if place is not None:
            name, kind, north, east = place
            found.append(
                FileAtHand(
                    path=path,
                    name=name,
                    kind=kind,
                    latitude=north,
                    longitude=east,
                    distance_km=distance_km(latitude, longitude, north, east),
                )
            )
    return sorted(found, key=lambda file: file.distance_km)


def distance_km(latitude: float, longitude: float, to_latitude: float, to_longitude: float) -> float:
    """Great-circle distance [km] between two places [deg], by the haversine formula on a sphere."""
    a, b = math.radians(latitude), math.radians(to_latitude)
    across = math.sin(math.radians(to_longitude - longitude) / 2.0) ** 2
    root = math.sin((b - a) / 2.0) ** 2 + math.cos(a) * math.cos(b) * across
    return 2.0 * EARTH_KM * math.asin(min(1.0, math.sqrt(root)))


def is_weather_file(path: Path) -> bool:
    """Whether a file begins as one of the formats that are read."""
    if not path.is_file():
        return False
    try:
        return bool(kind_of(_head(path), str(path)))
    except (OSError, EOFError, zlib.error, WeatherError):
        return False


def _head(path: Path) -> bytes:
    with path.open("rb") as file:
        content = file.read(HEAD_BYTES)
    if not content.startswith(GZIP_MAGIC):
        return content
    with gzip.open(path) as packed:
        return packed.read(HEAD_BYTES)


def _place(path: Path) -> tuple[str, str, float, float] | None:
    """Name, format, latitude and longitude of a weather file; None where it is none, or does not say."""
    try:
        content = _head(path)
        kind = kind_of(content, str(path))
        text = decoded(content)
        return (_name(text, kind) or path.stem, kind, *_coordinates(text, kind))
    except (OSError, EOFError, zlib.error, WeatherError, ValueError, IndexError, KeyError):
        return None


def _name(text: str, kind: str) -> str | None:
    first = next(csv.reader(text.splitlines()[:1]))
    if kind in ("EPW", "TMY3"):
        return first[1].strip()
    if kind == "TMY2":
        return " ".join(text.splitlines()[0].split()[1:-9])
    return _said(text).get("name") if kind == KIND else None


def _coordinates(text: str, kind: str) -> tuple[float, float]:
    first = next(csv.reader(text.splitlines()[:1]))
    if kind == "EPW":
        return float(first[6]), float(first[7])
    if kind == "TMY3":
        return float(first[4]), float(first[5])
    if kind == "TMY2":
        ns, north, north_min, ew, east, east_min, _ = text.splitlines()[0].split()[-7:]
        return (
            (1 if ns == "N" else -1) * (float(north) + float(north_min) / 60.0),
            (1 if ew == "E" else -1) * (float(east) + float(east_min) / 60.0),
        )
    if kind == KIND:
        said = _said(text)
        return float(said["latitude"]), float(said["longitude"])
    both = [re.search(rf"{word}[^0-9+-]*([-+]?[0-9.]+)", text, re.IGNORECASE) for word in ("latitude", "longitude")]
    if both[0] is None or both[1] is None:
        raise ValueError("no place")
    return float(both[0][1]), float(both[1][1])


def _said(text: str) -> dict[str, str]:
    """Lines above a table of one's own, by key."""
    matches = (LINE.match(line) for line in text.splitlines() if line.startswith("#"))
    return {match[1].lower(): match[2] for match in matches if match}
