"""A canonical year written in other formats, for tests: TMY3 and the PVGIS typical year; neither carries longwave here.

Written from the published formats alone: TMY3 columns after Wilcox & Marion (2008), Users Manual for TMY3 Data Sets,
NREL/TP-581-43156, table 1-2; PVGIS in the shape of the service's JSON answer (version 5.3).
"""

from __future__ import annotations

import json

import numpy as np

from vansim.climate import Weather
from vansim.psychrometrics import saturation_pressure_pa

TMY3_TITLES = (
    "Date (MM/DD/YYYY),Time (HH:MM),ETR (W/m^2),ETRN (W/m^2),GHI (W/m^2),GHI source,GHI uncert (%),DNI (W/m^2),"
    "DNI source,DNI uncert (%),DHI (W/m^2),DHI source,DHI uncert (%),TotCld (tenths),OpqCld (tenths),Dry-bulb (C),"
    "Dew-point (C),RHum (%),Pressure (mbar),Wdir (degrees),Wspd (m/s),Pwat (cm),AOD (unitless),Alb (unitless)"
)


def humidity(weather: Weather) -> np.ndarray:
    """Relative humidity at each hour edge, 0 to 1."""
    air, dew = weather.array("temp_air"), weather.array("temp_dew")
    return np.array([saturation_pressure_pa(d) / saturation_pressure_pa(t) for t, d in zip(air, dew, strict=True)])


def tmy3_text(weather: Weather, total_cover: np.ndarray | None = None) -> str:
    """TMY3: rows carry the means of the hour that ends, and instants at its end; cover in whole tenths."""
    site = weather.site
    end = {c: np.roll(weather.array(c), -1) for c in ("temp_air", "temp_dew", "pressure", "wind_speed", "sky_cover")}
    rh = np.roll(humidity(weather), -1)
    cover = np.where(np.isnan(end["sky_cover"]), -990.0, end["sky_cover"])
    total = cover if total_cover is None else np.roll(total_cover, -1)
    lines = [
        f'999999,"{site.name}",XX,{site.utc_offset},{site.latitude:.3f},{site.longitude:.3f},{site.altitude:.0f}',
        TMY3_TITLES,
    ]
    for i, time in enumerate(weather.data.index):
        flux = [f"{weather.array(c)[i]:.0f},1,0" for c in ("ghi", "dni", "dhi")]
        albedo = weather.array("albedo")[i]
        lines.append(
            f"{time.month:02d}/{time.day:02d}/1999,{time.hour + 1:02d}:00,0,0,{','.join(flux)},"
            f"{10 * total[i]:.0f},{10 * cover[i]:.0f},{end['temp_air'][i]:.1f},{end['temp_dew'][i]:.1f},"
            f"{100 * rh[i]:.0f},{end['pressure'][i] / 100:.0f},0,{end['wind_speed'][i]:.1f},1.0,0.1,"
            f"{-9900 if np.isnan(albedo) else albedo:.3f}"
        )
    return "\n".join(lines) + "\n"


def pvgis_text(weather: Weather) -> str:
    """PVGIS: UTC instants; each hour's mean sun is given as the sample of its middle; no albedo, no cover."""
    site, hours = weather.site, round(weather.site.utc_offset)
    column = {c: np.roll(weather.array(c), -hours) for c in weather.data}
    rh = np.roll(humidity(weather), -hours)
    rows = [
        {
            "time(UTC)": f"{time:%Y%m%d:%H%M}",
            "T2m": round(column["temp_air"][i], 2),
            "RH": round(100.0 * rh[i], 2),
            "G(h)": round(column["ghi"][i], 1),
            "Gb(n)": round(column["dni"][i], 1),
            "Gd(h)": round(column["dhi"][i], 1),
            "IR(h)": -9999.0,
            "WS10m": round(column["wind_speed"][i], 2),
            "WD10m": 180.0,
            "SP": round(column["pressure"][i]),
        }
        for i, time in enumerate(weather.data.index)
    ]
    location = {
        "latitude": site.latitude,
        "longitude": site.longitude,
        "elevation": site.altitude,
        "irradiance_time_offset": 0.5,
    }
    months = [{"month": m, "year": 2005 + m} for m in range(1, 13)]
    outputs = {"months_selected": months, "tmy_hourly": rows}
    return json.dumps({"inputs": {"location": location}, "outputs": outputs, "meta": {"inputs": {}}})
