"""From a reader's table to the canonical year: check every row, mend short gaps, move instants, fill longwave.

All faults of a file are gathered and raised together, each with the file and its rows.
"""

from __future__ import annotations

from dataclasses import dataclass, field

import numpy as np
import numpy.typing as npt
import pandas as pd

from vansim import psychrometrics as air
from vansim.climate import sky_longwave
from vansim.climate.hours import instants_to_edges, utc_instants_to_local_hours
from vansim.climate.labels import closure_of
from vansim.climate.rows import rows_text
from vansim.climate.sun import beam_weights, hour_positions
from vansim.climate.weather import COLUMNS, FLUXES, HOURS, Location, Weather, hour_index
from vansim.errors import WeatherError
from vansim.notes import Note

Array = npt.NDArray[np.float64]

LONGEST_GAP_H = 6
ALLOWED = {
    "temp_air": (-60.0, 60.0, "degC"),
    "temp_dew": (-80.0, 40.0, "degC"),
    "relative_humidity": (0.0, 1.1, ""),
    "pressure": (5.0e4, 1.1e5, "Pa"),
    "wind_speed": (0.0, 60.0, "m/s"),
    "ghi": (0.0, 1500.0, "W/m2"),
    "dni": (0.0, 1420.0, "W/m2"),
    "dhi": (0.0, 1000.0, "W/m2"),
    "longwave": (50.0, 700.0, "W/m2"),
    "sky_cover": (0.0, 1.0, ""),
    "albedo": (0.0, 1.0, ""),
}
MOISTURE = ("temp_dew", "relative_humidity")
NEEDED = ("temp_air", "pressure", "wind_speed", "ghi", "dni", "dhi")
DEW_ABOVE_AIR_C = 1.0
"""Files round temperature and dew point apart; more than this above the air is a fault, less is set to saturation."""


@dataclass(frozen=True, kw_only=True, eq=False)
class Table:
    """What a reader hands over: SI units, missing codes already NaN, nothing moved in time.

    Parameters
    ----------
    data : DataFrame
        Canonical columns as far as the file has them, also ``relative_humidity`` (0 to 1); one row an hour in file
        order.
    calendar : DataFrame
        ``month day hour`` of each row, hour 0 to 23 (of the beginning of the hour).
    site : Location
        Place.
    kind, source : str
        Format and file.
    first_row : int
        Line of the file that holds the first hour.
    utc_instants : bool
        False: rows are local hours, fluxes are their means and instants stand at their ends (EPW, TMY3, TMY2). True:
        rows are UTC instants (PVGIS).
    flux_offset_h : float
        With `utc_instants`: how long after the label the fluxes stand [h].
    notes : tuple of Note
        What the reader did.
    """

    data: pd.DataFrame
    calendar: pd.DataFrame
    site: Location
    kind: str
    source: str
    first_row: int
    utc_instants: bool = False
    flux_offset_h: float = 0.0
    notes: tuple[Note, ...] = field(default=())


def canonical(table: Table, trust_labels: bool = False) -> Weather:
    """Build the canonical year from a reader's table.

    Parameters
    ----------
    table : Table
        As the file has it.
    trust_labels : bool
        Keep the file's hours even where the sun contradicts them; the contradiction is then a note.

    Returns
    -------
    Weather
        Checked and complete.

    Raises
    ------
    WeatherError
        With every fault found: missing or disordered hours, values that cannot be, gaps too long to mend, labels that
        the sun contradicts.
    """
    notes = list(table.notes)
    data, rows = _one_year(table, notes)
    faults = _impossible(data, rows, table)
    data, more = _mended(data, rows, table, notes)
    faults += more
    if faults:
        raise WeatherError(faults)
    data = _moist(data, table, notes)
    data = _utc_to_local(data, table, notes) if table.utc_instants else instants_to_edges(data)
    frame = _complete(data, table.site, notes)
    check = closure_of(frame, table.site)
    if not check.trusted and not trust_labels:
        raise WeatherError(f"{table.source}: {check.reason}. {_LABEL_HINT}")
    if check.verdict != "agrees":
        notes.append(Note(f"labels-{check.verdict.replace(' ', '-')}"))
    return Weather(data=frame, site=table.site, kind=table.kind, source=table.source, closure=check, notes=tuple(notes))


_LABEL_HINT = (
    "Some exports are labelled an hour off, or carry universal time under a local offset; get the year in its original "
    "format, or correct the offset or the hours in the file."
)


def _one_year(table: Table, notes: list[Note]) -> tuple[pd.DataFrame, npt.NDArray[np.intp]]:
    """Rows of the 365-day year and the file line of each."""
    calendar, data = table.calendar, table.data
    rows = np.arange(len(data)) + table.first_row
    leap = ((calendar["month"] == 2) & (calendar["day"] == 29)).to_numpy()
    if leap.any() and len(data) == HOURS + 24:
        notes.append(Note("leap-day-left-out", {"hours": int(leap.sum())}))
        calendar, data, rows = calendar[~leap], data[~leap], rows[~leap]
    if len(data) != HOURS:
        last = calendar.iloc[-1] if len(calendar) else None
        at = (
            ""
            if last is None
            else f"; the last one is {int(last['day'])}.{int(last['month'])}. {int(last['hour']):02d}:00"
        )
        raise WeatherError(
            f"{table.source}: {len(data)} hours, a typical year has {HOURS}{at}. Is the file cut short, or not hourly?"
        )
    want = pd.date_range("2001-01-01", periods=HOURS, freq="h")
    wrong = (
        (calendar["month"].to_numpy() != want.month)
        | (calendar["day"].to_numpy() != want.day)
        | (calendar["hour"].to_numpy() != want.hour)
    )
    if wrong.any():
        raise WeatherError(
            f"{table.source}: {rows_text(rows[wrong])}: the hours are not in order from 1 January to 31 December "
            f"({int(wrong.sum())} rows out of place, the first should be {want[int(np.argmax(wrong))]:%d %B %H:00})"
        )
    return data.reset_index(drop=True), rows


def _impossible(data: pd.DataFrame, rows: npt.NDArray[np.intp], table: Table) -> list[str]:
    faults = []
    for column, (low, high, unit) in ALLOWED.items():
        if column not in data:
            continue
        values = data[column].to_numpy(dtype=float)
        bad = (values < low) | (values > high)
        if bad.any():
            worst = values[bad][np.argmax(np.abs(values[bad] - (low + high) / 2))]
            faults.append(
                f"{table.source}: {rows_text(rows[bad])}: {column} up to {worst:g} {unit}, "
                f"allowed {low:g} to {high:g} {unit}"
            )
    if "temp_dew" in data and "temp_air" in data:
        above = (data["temp_dew"] - data["temp_air"]).to_numpy(dtype=float) > DEW_ABOVE_AIR_C
        if above.any():
            faults.append(
                f"{table.source}: {rows_text(rows[above])}: "
                f"temp_dew lies more than {DEW_ABOVE_AIR_C:g} K above temp_air"
            )
    return faults


def gaps(missing: npt.NDArray[np.bool_]) -> list[npt.NDArray[np.intp]]:
    """Runs of missing hours, each as an array of positions; a run over New Year counts as two."""
    at = np.flatnonzero(missing)
    return [] if len(at) == 0 else np.split(at, np.flatnonzero(np.diff(at) > 1) + 1)


def _mended(
    data: pd.DataFrame, rows: npt.NDArray[np.intp], table: Table, notes: list[Note]
) -> tuple[pd.DataFrame, list[str]]:
    """Fill gaps of at most six hours; longer ones in a needed column are faults, optional columns stay open."""
    data, faults = data.copy(), []
    moisture = [c for c in MOISTURE if c in data and data[c].notna().any()]
    needed = [*NEEDED, *moisture[:1]]
    if not moisture:
        faults.append(f"{table.source}: neither dew point nor relative humidity is given")
    for column in needed:
        if column not in data or data[column].isna().all():
            faults.append(f"{table.source}: {column} is missing in every row")
            continue
        missing = data[column].isna().to_numpy()
        long = [g for g in gaps(missing) if len(g) > LONGEST_GAP_H]
        if long:
            faults.append(
                f"{table.source}: {rows_text(rows[np.concatenate(long)])}: {column} is missing for more than "
                f"{LONGEST_GAP_H} hours in a row"
            )
        elif missing.any():
            data[column] = _filled(data[column].to_numpy(dtype=float), missing, column in FLUXES)
            how = "days beside" if column in FLUXES else "line"
            notes.append(
                Note(
                    "hours-filled",
                    {"column": column, "hours": int(missing.sum()), "rows": rows_text(rows[missing]), "how": how},
                )
            )
    return data, faults


def _filled(values: Array, missing: npt.NDArray[np.bool_], flux: bool) -> Array:
    """Fill short gaps: instants by a straight line, fluxes from the same hour of the nearest days that have it.

    The days beside have almost the same sun, so closure of the fluxes holds; a straight line would not keep it.
    """
    hours = np.arange(len(values), dtype=float)
    if not flux:
        return np.where(missing, np.interp(hours, hours[~missing], values[~missing], period=len(values)), values)
    out = values.reshape(-1, 24).copy()
    for hour in np.flatnonzero(missing.reshape(-1, 24).any(axis=0)):
        days = np.arange(len(out), dtype=float)
        known = ~np.isnan(out[:, hour])
        out[:, hour] = np.interp(days, days[known], out[known, hour], period=len(out))
    return out.ravel()


def _moist(data: pd.DataFrame, table: Table, notes: list[Note]) -> pd.DataFrame:
    """Dew point in every row: from relative humidity where the file has none; at most the air's temperature."""
    data = data.copy()
    if "temp_dew" not in data or data["temp_dew"].isna().all():
        data["temp_dew"] = dew_point_from_rh(
            data["temp_air"].to_numpy(dtype=float),
            data["relative_humidity"].to_numpy(dtype=float),
            data["pressure"].to_numpy(dtype=float),
        )
        notes.append(Note("dew-point-from-humidity"))
    above = (data["temp_dew"] > data["temp_air"]).to_numpy()
    if above.any():
        data.loc[above, "temp_dew"] = data.loc[above, "temp_air"]
        if "relative_humidity" not in data or table.kind in ("EPW", "TMY3", "TMY2"):
            notes.append(Note("dew-point-capped", {"hours": int(above.sum())}))
    return data


def dew_point_from_rh(temp_air_c: Array, relative_humidity: Array, pressure_pa: Array) -> Array:
    """Dew point [°C] from temperature [°C], relative humidity [0 to 1] and pressure [Pa], each (n_times,)."""
    out = np.empty(len(temp_air_c))
    for i, (t, rh, p) in enumerate(zip(temp_air_c, relative_humidity, pressure_pa, strict=True)):
        vapour = min(rh, 1.0) * air.saturation_pressure_pa(t)
        out[i] = air.dew_point_c(air.humidity_ratio(vapour, p), p)
    return out


def _utc_to_local(data: pd.DataFrame, table: Table, notes: list[Note]) -> pd.DataFrame:
    values = {"utc_offset_h": table.site.utc_offset, "flux_delay_min": 60.0 * table.flux_offset_h}
    notes.append(Note("universal-time-moved", values))
    return utc_instants_to_local_hours(data, table.site, table.flux_offset_h)


def _complete(data: pd.DataFrame, site: Location, notes: list[Note]) -> pd.DataFrame:
    """Sky cover, longwave and albedo; the canonical index and column order."""
    frame = data.copy()
    frame["sky_cover"] = _sky_cover(frame, site, notes)
    computed = computed_longwave(frame)
    given = frame["longwave"].to_numpy(dtype=float) if "longwave" in frame else np.full(HOURS, np.nan)
    absent = np.isnan(given)
    frame["longwave"] = np.where(absent, computed, given)
    if absent.any():
        notes.append(Note("longwave-computed", {"hours": int(absent.sum())}))
    albedo = frame["albedo"] if "albedo" in frame else pd.Series(np.nan, index=frame.index)
    if albedo.notna().any() and (albedo.fillna(0.0) == 0.0).all():
        notes.append(Note("albedo-zero"))
        albedo = albedo * np.nan
    frame["albedo"] = albedo
    out = pd.DataFrame({c: frame[c].to_numpy(dtype=float) for c in COLUMNS}, index=hour_index(site))
    return out


def _sky_cover(frame: pd.DataFrame, site: Location, notes: list[Note]) -> Array:
    given = frame["sky_cover"].to_numpy(dtype=float) if "sky_cover" in frame else np.full(HOURS, np.nan)
    absent = np.isnan(given)
    if not absent.any():
        return given
    if any(len(g) > LONGEST_GAP_H for g in gaps(absent)):
        up = hour_positions(site, 4)[..., 2]
        cos_z = (beam_weights(up) * np.maximum(up, 0.0)).sum(axis=1)
        estimate = sky_longwave.sky_cover_from_ghi(frame["ghi"].to_numpy(dtype=float), cos_z)
        # an hour's mean belongs to its middle, an instant to its edge
        estimate = 0.5 * (estimate + np.roll(estimate, 1))
        notes.append(Note("sky-cover-from-sun", {"hours": int(absent.sum())}))
        return np.where(absent, estimate, given)
    notes.append(Note("sky-cover-filled", {"hours": int(absent.sum())}))
    return _filled(given, absent, flux=False)


def computed_longwave(frame: pd.DataFrame) -> Array:
    """Longwave of each hour [W/m2] from dew point, pressure, sky cover and temperature at its two edges, (8760,)."""
    hour = np.arange(HOURS) % 24
    emissivity = sky_longwave.sky_emissivity_berdahl_martin(
        frame["temp_dew"].to_numpy(dtype=float), hour.astype(float), frame["pressure"].to_numpy(dtype=float)
    ) * sky_longwave.cloud_factor_walton(frame["sky_cover"].to_numpy(dtype=float))
    edge = np.asarray(sky_longwave.longwave_w_m2(frame["temp_air"].to_numpy(dtype=float), emissivity))
    return 0.5 * (edge + np.roll(edge, -1))
