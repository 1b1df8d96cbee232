"""The sun at a solar time."""

from __future__ import annotations

from datetime import date

import numpy as np

from vansim.climate import Location
from vansim.climate.sun import sun_vectors


def solar_moment(latitude: float, month: int, day: int, solar_hour: float) -> np.ndarray:
    """Unit vector to the sun at a solar time: counted from the moment at which it stands highest."""
    site = Location(latitude=latitude, longitude=0.0, altitude=0.0, utc_offset=0.0, name="textbook")
    midnight = 24.0 * (date(2001, month, day) - date(2001, 1, 1)).days
    hours = midnight + 11.5 + np.arange(0.0, 1.0, 1 / 600)
    noon = hours[np.argmax(sun_vectors(site, hours)[:, 2])]
    return sun_vectors(site, np.array([noon + solar_hour - 12.0]))[0]
