"""Write a canonical year as an EPW file, so that other programs and people's own checks can open it."""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path

import numpy as np

from vansim import psychrometrics as air
from vansim.climate.sun import extraterrestrial_w_m2, hour_positions
from vansim.climate.weather import INSTANTS, Weather

FLAGS = "?9?9?9?9E0?9?9?9?9?9?9?9?9?9?9?9?9?9?9?9*9*9?9?9?9"
YEAR_WRITTEN = 2001


def epw_text(weather: Weather, comments: Sequence[str] = ()) -> str:
    """A canonical year as the text of an EPW file.

    Parameters
    ----------
    weather : Weather
        The year.
    comments : sequence of str
        At most two lines for ``COMMENTS 1`` and ``COMMENTS 2``, without line breaks.

    Returns
    -------
    str
        8 header lines and 8760 rows. Fluxes in whole W/m2, temperatures in 0.1 °C.

    Notes
    -----
    Row i of an EPW holds the means of hour i and the instants at its end, so instants move back by one row.
    """
    site, data = weather.site, weather.data
    first, second = (*comments, "", "")[:2]
    head = [
        f"LOCATION,{site.name.replace(',', ' ')},-,-,vansim,999999,"
        f"{site.latitude:.3f},{site.longitude:.3f},{site.utc_offset:.2f},{site.altitude:.1f}",
        "DESIGN CONDITIONS,0",
        "TYPICAL/EXTREME PERIODS,0",
        "GROUND TEMPERATURES,0",
        "HOLIDAYS/DAYLIGHT SAVINGS,No,0,0,0",
        f"COMMENTS 1,{first}",
        f"COMMENTS 2,{second}",
        "DATA PERIODS,1,1,Data,Monday,1/1,12/31",
    ]
    at_end = {c: np.roll(data[c].to_numpy(dtype=float), -1) for c in INSTANTS}
    flux = {c: data[c].to_numpy(dtype=float) for c in ("ghi", "dni", "dhi", "longwave", "albedo")}
    extra = extraterrestrial_w_m2()
    up = np.maximum(hour_positions(site, 6)[..., 2], 0.0)
    above = extra * (up > 0).mean(axis=1)
    rows = []
    for i, time in enumerate(data.index):
        t, dew = round(at_end["temp_air"][i], 1), round(min(at_end["temp_dew"][i], at_end["temp_air"][i]), 1)
        rh = 100.0 * air.saturation_pressure_pa(dew) / air.saturation_pressure_pa(t)
        cover = 99 if np.isnan(at_end["sky_cover"][i]) else round(10.0 * at_end["sky_cover"][i])
        albedo = 999.0 if np.isnan(flux["albedo"][i]) else flux["albedo"][i]
        rows.append(
            f"{YEAR_WRITTEN},{time.month},{time.day},{time.hour + 1},60,{FLAGS},{t:.1f},{dew:.1f},{rh:.0f},"
            f"{at_end['pressure'][i]:.0f},{extra[i] * up[i].mean():.0f},{above[i]:.0f},{flux['longwave'][i]:.0f},"
            f"{flux['ghi'][i]:.0f},{flux['dni'][i]:.0f},{flux['dhi'][i]:.0f},999999,999999,999999,9999,"
            f"999,{at_end['wind_speed'][i]:.1f},{cover},{cover},9999,99999,9,999999999,999,.999,999,99,{albedo:.3f},999,99"
        )
    return "\n".join([*head, *rows]) + "\n"


def write_epw(weather: Weather, path: str | Path, comments: Sequence[str] = ()) -> None:
    """Write `epw_text` to a file."""
    Path(path).write_text(epw_text(weather, comments), encoding="ascii", errors="replace", newline="\n")
