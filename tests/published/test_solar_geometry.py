"""Where the sun stands, in solar time; the full worked example of the solar-position standard is in tests/climate.

`tests/climate/test_sun.py` holds Reda & Andreas (NREL/TP-560-34302) to 0.003 deg, an almanac's sunrises, and the whole
algorithm at random places; here are the same functions on examples of a textbook, and one row of Reda & Andreas to be
drawn with the rest.
"""

from __future__ import annotations

from datetime import date
from typing import Any

import numpy as np

from tests.support.bench import hold, read, row
from tests.support.sun import solar_moment
from vansim.climate import Location
from vansim.climate.sun import face_normal, sun_vectors


def angle(r: Any) -> float:
    sun = solar_moment(r.latitude, r.month, r.day, r.solar_hour)
    if r.what == "azimuth":
        return float(np.degrees(np.arctan2(sun[0], sun[1])) % 360.0)
    if r.what == "altitude":
        return float(np.degrees(np.arcsin(sun[2])))
    normal = face_normal(r.tilt, r.azimuth)
    return float(np.degrees(np.arccos(sun @ normal)))


def rows() -> list[dict[str, Any]]:
    golden = Location(latitude=39.742476, longitude=-105.1786, altitude=1830.14, utc_offset=-7.0, name="worked example")
    hour = 24.0 * (date(2003, 10, 17) - date(2003, 1, 1)).days + 12.0 + 30.5 / 60.0
    sun = sun_vectors(golden, np.array([hour]), year=2003)[0]
    source, why = "Reda & Andreas 2004, NREL/TP-560-34302, appendix A.5", "declination straight within a day: 0.003"
    out = [
        row(
            "zenith of the worked example",
            50.11162,
            np.degrees(np.arccos(sun[2])),
            0.003,
            "deg",
            why,
            source,
            "standard",
        ),
        row(
            "azimuth of the worked example",
            194.340241,
            np.degrees(np.arctan2(sun[0], sun[1])) % 360,
            0.003,
            "deg",
            why,
            source,
            "standard",
        ),
        row(
            "incidence on 30 deg, 170 deg",
            25.18700,
            np.degrees(np.arccos(sun @ face_normal(30.0, 170.0))),
            0.003,
            "deg",
            why,
            source,
            "standard",
        ),
    ]
    for r in read("solar_geometry").itertuples():
        out.append(row(r.check, r.expected, angle(r), r.tolerance, "deg", r.why, r.source, r.kind, r.status))
    return out


def test_sun_stands_where_the_books_say() -> None:
    hold(rows())
