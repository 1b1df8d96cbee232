"""A typical year shifted and stretched by monthly changes: the same days in a climate to come.

A small table stands for a weather file::

    # year: desert.epw
    # name: Invented Desert, mid-century
    month,temp_k,temp_max_k,temp_min_k,humidity_ratio_percent,ghi_percent,wind_percent
    1,1.8,2.1,1.6,6,0,-1
    ...

After Belcher, Hacker & Powell (2005), Building Services Engineering Research and Technology 26:49. A column that is
left out changes nothing; without ``temp_max_k`` and ``temp_min_k`` the air is shifted alone, without ``temp_k`` their
mean is the shift. A month without a row is refused: a year with eleven warmer months is nobody's climate.
"""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

import numpy as np
import numpy.typing as npt
import pandas as pd

from vansim import psychrometrics as air
from vansim.climate.canonical import computed_longwave
from vansim.climate.head_lines import column_names, read_head, read_months
from vansim.climate.labels import closure_of
from vansim.climate.own_year import LOW_SUN_COS, erbs_diffuse_share
from vansim.climate.rows import decoded
from vansim.climate.sky_longwave import clear_sun_w_m2
from vansim.climate.sun import extraterrestrial_w_m2, sun_clock
from vansim.climate.weather import Weather, hour_index
from vansim.errors import WeatherError
from vansim.notes import Note

Array = npt.NDArray[np.float64]
Months = npt.NDArray[np.int64]

KIND = "changed year (CSV)"
NOTE = "changed-year"
KEYS = ("name", "year")
TABLE = {
    "temp_k": (-10.0, 15.0),
    "temp_max_k": (-10.0, 20.0),
    "temp_min_k": (-10.0, 20.0),
    "dew_point_k": (-10.0, 15.0),
    "humidity_ratio_percent": (-60.0, 150.0),
    "ghi_percent": (-50.0, 50.0),
    "wind_percent": (-60.0, 100.0),
}
MOST_STRETCH = 0.5
"""A month's temperatures are stretched by at most half: beyond it the warmest hours are the method's, not a
climate's."""


def looks_like(text: str) -> bool:
    """Whether a file is such a table."""
    names = column_names(text)
    return names[0] == "month" and bool(set(names) & set(TABLE))


def base_of(content: bytes, source: str) -> Path:
    """Year that the file names, beside the file.

    Raises
    ------
    WeatherError
        Where it names none.
    """
    head = read_head(decoded(content), source, KEYS, {})
    if not head.values.get("year"):
        raise WeatherError(f"{source}: no line above the table names a year; write for example '# year: desert.epw'")
    return Path(source).parent / head.values["year"]


def read_changed_year(content: bytes, source: str, base: Weather) -> Weather:
    """Read a table of monthly changes and apply it.

    Parameters
    ----------
    content : bytes
        Of the file.
    source : str
        Its name.
    base : Weather
        The year that it names.

    Returns
    -------
    Weather
        The year, changed.

    Raises
    ------
    WeatherError
        With every fault of head and table.
    """
    head = read_head(decoded(content), source, KEYS, {})
    table = read_months(content, source, head, TABLE, ("month",))
    faults = []
    if sorted(table["month"]) != list(range(1, 13)):
        faults.append(f"{source}: the table needs one row for each month, 1 to 12")
    if {"dew_point_k", "humidity_ratio_percent"} <= set(table):
        faults.append(f"{source}: dew_point_k and humidity_ratio_percent change the same thing; write one of them")
    if ("temp_max_k" in table) != ("temp_min_k" in table):
        faults.append(f"{source}: temp_max_k and temp_min_k stretch the air together; write both or none")
    if faults:
        raise WeatherError(faults)
    name = head.values.get("name", f"{base.site.name}, changed")
    return changed(base, table.set_index("month").fillna(0.0), source, name)


def changed(base: Weather, changes: pd.DataFrame, source: str, name: str = "") -> Weather:
    """Shift and stretch a year.

    Parameters
    ----------
    base : Weather
        A year.
    changes : DataFrame
        By month, 1 to 12, the columns of `TABLE` or some of them [K, %].
    source : str
        Where the changes come from.
    name : str
        Of the place in that climate; left out, the base's.

    Returns
    -------
    Weather
        Air by shift, or by shift and stretch; sun and wind by stretch. The humidity ratio by stretch or the dew point
        by shift, else the dew point is held; never above saturation. The sun stays at or below a clear sky's (or
        where it stood, if above), and is split anew. Longwave follows the formula's change.

    Raises
    ------
    WeatherError
        A stretch that is larger than the method can bear.
    """
    month = np.asarray(hour_index(base.site).month)
    table = changes.sort_index()
    temp = _air(base.array("temp_air"), month, table, source)
    data = base.data.assign(temp_air=temp, temp_dew=np.minimum(_dew_point(base, month, table), temp))
    if "wind_percent" in table:
        data["wind_speed"] = stretched(base.array("wind_speed"), _by_hour(table["wind_percent"], month))
    clock = sun_clock(base.site)
    cos_zenith = clock.mean_cos_zenith()
    if "ghi_percent" in table:
        data = data.assign(**_sun(base, _by_hour(table["ghi_percent"], month), cos_zenith))
    altitude = base.site.altitude
    ratio = computed_longwave(data, cos_zenith, altitude) / computed_longwave(base.data, cos_zenith, altitude)
    data["longwave"] = base.array("longwave") * ratio
    sun = [data[c].to_numpy() for c in ("ghi", "dni", "dhi")]
    mean_k = float(temp.mean() - base.array("temp_air").mean())
    note = Note(NOTE, {"base": Path(base.source).name, "changes": Path(source).name, "mean_k": mean_k})
    return replace(
        base, data=data, site=replace(base.site, name=name or base.site.name), kind=KIND, source=source,
        closure=closure_of(sun[0], sun[1], sun[2], clock.mean_cos_zenith), notes=(note, *base.notes),
    )  # fmt: skip


def shifted(x: Array, shift: Array | float) -> Array:
    """Shift: x + dx, in the units of x; `shift` is one number, or one for each value."""
    return np.asarray(x + shift)


def stretched(x: Array, percent: Array | float) -> Array:
    """Stretch: a x with a = 1 + percent / 100."""
    return np.asarray(x * (1.0 + np.asarray(percent) / 100.0))


def shifted_and_stretched(x: Array, shift: float, stretch: float) -> Array:
    """Shift and stretch: x + dx + a (x - mean of x), for the hours of one month.

    Parameters
    ----------
    x : (n_hours,) array
        Values of the month.
    shift : float
        dx, in the units of x.
    stretch : float
        a, dimensionless; 0 only shifts.
    """
    return np.asarray(x + shift + stretch * (x - x.mean()))


def stretch_of(max_k: float, min_k: float, mean_max_c: float, mean_min_c: float) -> float:
    """Stretch a of a month: (change of maxima - change of minima) / (mean daily maximum - mean daily minimum)."""
    return (max_k - min_k) / (mean_max_c - mean_min_c)


def _by_hour(by_month: pd.Series[float], month: Months) -> Array:
    return np.asarray(by_month.to_numpy(dtype=float)[month - 1])


def _air(temp: Array, month: Months, table: pd.DataFrame, source: str) -> Array:
    """Air temperature of the changed year, (8760,) [°C]."""
    if "temp_max_k" not in table:
        return shifted(temp, _by_hour(table["temp_k"], month)) if "temp_k" in table else temp.copy()
    days, day_month = temp.reshape(-1, 24), month[::24]
    out, faults = temp.copy(), []
    for m, row in zip(range(1, 13), table.to_dict("records"), strict=True):
        max_k, min_k = float(row["temp_max_k"]), float(row["temp_min_k"])
        of_month = days[day_month == m]
        span = of_month.max(axis=1).mean() - of_month.min(axis=1).mean()
        a = stretch_of(max_k, min_k, span, 0.0) if span > 0.0 else np.inf
        if abs(a) > MOST_STRETCH:
            faults.append(
                f"{source}: month {m}: temp_max_k {max_k:g} and temp_min_k {min_k:g} stretch a daily "
                f"range of {span:.1f} K by {a:+.0%}; allowed: -50% to +50%"
            )
            continue
        shift = float(row["temp_k"]) if "temp_k" in table else 0.5 * (max_k + min_k)
        out[month == m] = shifted_and_stretched(temp[month == m], shift, a)
    if faults:
        raise WeatherError(faults)
    return out


def _dew_point(base: Weather, month: Months, table: pd.DataFrame) -> Array:
    """Dew point of the changed year, (8760,) [°C], not yet held below the air."""
    dew = base.array("temp_dew")
    if "dew_point_k" in table:
        return shifted(dew, _by_hour(table["dew_point_k"], month))
    if "humidity_ratio_percent" not in table:
        return dew
    percent, pressure = _by_hour(table["humidity_ratio_percent"], month), base.array("pressure")
    return np.array(
        [
            air.dew_point_c(air.saturation_ratio(d, p) * (1.0 + more / 100.0), p)
            for d, p, more in zip(dew, pressure, percent, strict=True)
        ]
    )


def _sun(base: Weather, percent: Array, cos_zenith: Array) -> dict[str, Array]:
    """Global sun stretched and split anew: the year's own diffuse share, changed as Erbs, Klein & Duffie (1982) do."""
    ghi, dhi = base.array("ghi"), base.array("dhi")
    high = cos_zenith > LOW_SUN_COS
    top = np.full_like(ghi, np.inf)
    top[high] = clear_sun_w_m2(cos_zenith[high], extraterrestrial_w_m2()[high], base.site.altitude)
    more = np.maximum(np.minimum(stretched(ghi, percent), np.maximum(top, ghi)), 0.0)
    before, after = erbs_diffuse_share(ghi, cos_zenith), erbs_diffuse_share(more, cos_zenith)
    share = np.divide(dhi, ghi, out=np.ones_like(ghi), where=ghi > 0.0)
    share = np.clip(share * after / before, 0.0, 1.0)
    same = (percent == 0.0) | ~high
    beam = np.where(high, more * (1.0 - share) / np.maximum(cos_zenith, LOW_SUN_COS), 0.0)
    dni = np.where(same, stretched(base.array("dni"), percent), np.minimum(beam, extraterrestrial_w_m2()))
    diffuse = np.where(same, stretched(dhi, percent), more - dni * cos_zenith)
    return {"ghi": np.where(same, stretched(ghi, percent), more), "dni": dni, "dhi": diffuse}
