"""From a reader's table to the canonical year: order the rows, mend few bad hours, place the sun, compute the sky.

All faults of a file are gathered and raised together, each with the file and its rows.
"""

from __future__ import annotations

import math
from dataclasses import dataclass, field, replace
from pathlib import Path

import numpy as np
import numpy.typing as npt
import pandas as pd

from vansim import psychrometrics as air
from vansim.climate.hours import instants_to_edges, moved_hours, utc_instants_to_local_hours
from vansim.climate.known_skies import OURS, check_column
from vansim.climate.labels import closure_of, stands_with_sun
from vansim.climate.mending import (
    LONGEST_LINE_H,
    MOST_MENDED,
    SUN,
    Mask,
    Where,
    gaps,
    mended,
    moisture_column,
    without_impossible,
)
from vansim.climate.rows import hours_text, rows_text
from vansim.climate.sky_longwave import clear_share, sky_longwave_w_m2
from vansim.climate.sun import SunClock, extraterrestrial_w_m2, sun_clock
from vansim.climate.weather import COLUMNS, HOURS, Closure, Location, Weather, hour_index
from vansim.errors import WeatherError
from vansim.notes import Note, Value

Array = npt.NDArray[np.float64]

NEEDED = ("temp_air", "pressure", "wind_speed", "ghi", "dni", "dhi")
LABELS = ("find", "as-written")
SKIES = ("formula", "measured")


@dataclass(frozen=True, kw_only=True, eq=False)
class Table:
    """What a reader hands over: SI units, missing codes already NaN, nothing moved in time.

    Parameters
    ----------
    data : DataFrame
        Canonical columns as far as the file has them, also ``relative_humidity`` and ``total_cover`` (0 to 1); one row
        an hour in file order.
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
    at_edges : bool
        Rows are the hours of the 365-day year already, fluxes their means, instants at their beginning.
    rest : Weather or None
        Year from which the hours come that the table lacks.
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
    at_edges: bool = False
    rest: Weather | None = None
    notes: tuple[Note, ...] = field(default=())

    def cos_zenith(self, clock: SunClock, shift_min: float) -> Array:
        """Cos z that each row's fluxes have seen if the sun stands `shift_min` after its label, (8760,)."""
        if not self.utc_instants:
            return clock.mean_cos_zenith(shift_min)
        return clock.cos_zenith_at(
            np.arange(HOURS, dtype=float) + self.flux_offset_h + self.site.utc_offset + shift_min / 60.0
        )


def canonical(table: Table, labels: str = "find", sky: str = "formula") -> Weather:
    """Build the canonical year from a reader's table.

    Parameters
    ----------
    table : Table
        As the file has it.
    labels : {"find", "as-written"}
        Move the file to where its sun stands, or keep its hours even where the sun contradicts them.
    sky : {"formula", "measured"}
        Compute the longwave of the sky, or keep the file's because it was measured.

    Returns
    -------
    Weather
        Checked and complete.

    Raises
    ------
    WeatherError
        With every fault found: missing or disordered hours, too many values that cannot be, labels that contradict the
        sun wherever it is put.
    """
    notes = list(table.notes)
    data, where = (table.data, hours_text) if table.at_edges else _one_year(table, notes)
    data, impossible = without_impossible(data, notes)
    clock = sun_clock(table.site)
    closure, cos_zenith = _placed_sun(table, data, clock, labels, notes)
    moisture = moisture_column(data) or (None if table.rest is None else "temp_dew")
    faults = [] if moisture else ["neither dew point nor relative humidity is given"]
    columns = [*NEEDED, *([moisture] if moisture else [])]
    data, unlogged = _with_rest(table, data, columns, notes)
    most = MOST_MENDED if table.rest is None else HOURS
    data, more = mended(
        data, columns, where=where, impossible=impossible, cos_zenith=cos_zenith, notes=notes, most=most
    )
    if faults + more:
        hint = " Name a typical year for the rest: '# rest: FILE'" if table.at_edges and table.rest is None else ""
        raise WeatherError(f"{table.source}: {fault}{hint}" for fault in faults + more)
    data = _moist(data, str(moisture), notes)
    data = _moved(table, data, clock, closure.moved_min, notes)
    if table.rest is not None:
        data = _taken(data, table.rest, unlogged, closure.moved_min)
    frame = _complete(data, table.site, clock=clock, sky=sky, source=table.source, notes=notes)
    return Weather(
        data=frame, site=table.site, kind=table.kind, source=table.source, closure=closure, notes=tuple(notes)
    )


def _one_year(table: Table, notes: list[Note]) -> tuple[pd.DataFrame, Where]:
    """Rows of the 365-day year, and how their lines are told; hours that the file lacks are NaN."""
    calendar, data = table.calendar, table.data
    rows = np.arange(len(data)) + table.first_row
    leap = ((calendar["month"] == 2) & (calendar["day"] == 29)).to_numpy()
    if leap.any():
        notes.append(Note("leap-day-left-out", {"hours": int(leap.sum())}))
        calendar, data, rows = calendar[~leap], data[~leap], rows[~leap]
    want = pd.date_range("2001-01-01", periods=HOURS, freq="h")
    month, day, hour = (calendar[c].fillna(0).to_numpy(dtype=int) for c in ("month", "day", "hour"))
    keys = (month * 100 + day) * 100 + hour
    wanted = np.asarray((want.month * 100 + want.day) * 100 + want.hour)
    slots = np.minimum(np.searchsorted(wanted, keys), HOURS - 1)
    if len(data) < HOURS - MOST_MENDED or len(data) > HOURS:
        last = f"; the last one is {day[-1]}.{month[-1]}. {hour[-1]:02d}:00" if len(data) else ""
        raise WeatherError(
            f"{table.source}: {len(data)} hours, a typical year has {HOURS}{last}. "
            "Is the file cut short, or not hourly?"
        )
    wrong = keys != wanted if len(data) == HOURS else (wanted[slots] != keys) | (np.diff(slots, prepend=-1) <= 0)
    if wrong.any():
        first = slots[max(int(np.argmax(wrong)) - 1, 0)] + 1 if len(data) != HOURS else int(np.argmax(wrong))
        raise WeatherError(
            f"{table.source}: {rows_text(rows[wrong])}: the hours are not in order from 1 January to 31 December "
            f"({int(wrong.sum())} rows out of place, the first should be {want[first]:%d %B %H:00})"
        )
    if len(data) < HOURS:
        absent = np.setdiff1d(np.arange(HOURS), slots)
        notes.append(Note("hours-absent", {"hours": int(absent.size), "first": f"{want[absent[0]]:%m-%d %H:00}"}))
    every = pd.DataFrame(data.to_numpy(dtype=float), columns=data.columns, index=slots).reindex(np.arange(HOURS))
    # an hour that is absent is told by the line before it
    lines = np.maximum.accumulate(pd.Series(rows, index=slots).reindex(np.arange(HOURS)).fillna(0).to_numpy(dtype=int))
    lines = np.maximum(lines, table.first_row)
    return every, lambda missing: rows_text(lines[missing])


def _with_rest(table: Table, data: pd.DataFrame, columns: list[str], notes: list[Note]) -> tuple[pd.DataFrame, Mask]:
    """Fill what the table never had from the rest of the year; which hours these are.

    An hour is taken from there whole where a needed column lacks in a run longer than can be bridged.
    """
    unlogged = np.zeros(HOURS, dtype=bool)
    if table.rest is None:
        return data, unlogged
    rest = table.rest.data.reset_index(drop=True)
    absent = [c for c in columns if c not in data or data[c].isna().all()]
    sun = [c for c in SUN if c not in data]
    for column in columns:
        if column in absent:
            continue
        for gap in gaps(data[column].isna().to_numpy()):
            unlogged[gap] |= len(gap) > LONGEST_LINE_H
    out = data.copy()
    for column in [*absent, *(SUN if sun else ())]:
        out[column] = rest[column]
    for name in set(out) & set(rest):
        out[name] = np.where(unlogged, rest[name], out[name])
    if "relative_humidity" in columns:
        out["relative_humidity"] = np.where(unlogged, 0.5, out["relative_humidity"])  # overwritten as dew point below
    notes.append(
        Note(
            "hours-from-rest",
            {"hours": int(unlogged.sum()), "columns": ", ".join(absent), "rest": Path(table.rest.source).name},
        )
    )
    return out, unlogged


def _taken(data: pd.DataFrame, rest: Weather, unlogged: Mask, moved_min: float) -> pd.DataFrame:
    """Hours of the rest as they stand there, after what was logged has been moved."""
    hours = moved_min / 60.0
    taken = np.roll(unlogged, math.floor(hours)) | np.roll(unlogged, math.ceil(hours)) if moved_min else unlogged
    return data.assign(
        **{str(c): np.where(taken, rest.array(str(c)), data[c]) for c in data if c in COLUMNS},
    )


def _placed_sun(
    table: Table, data: pd.DataFrame, clock: SunClock, labels: str, notes: list[Note]
) -> tuple[Closure, Array]:
    """Where the sun of the file stands, and what each row has seen of it."""
    if any(c not in data for c in ("ghi", "dni", "dhi")):
        return Closure(shift_min=(0.0,), rms_w_m2=(0.0,), verdict="nothing to check"), np.zeros(HOURS)
    ghi, dni, dhi = (data[c].to_numpy(dtype=float) for c in ("ghi", "dni", "dhi"))
    found = closure_of(ghi, dni, dhi, lambda shift: table.cos_zenith(clock, shift))
    if found.verdict == "open" and labels == "find":
        raise WeatherError(
            f"{table.source}: no placing of the sun explains this file: DHI + DNI cos z misses GHI by "
            f"{found.best_w_m2:.0f} W/m2 rms at best ({found.best_shift_min:+.0f} min from its hours), by "
            f"{found.at_label_w_m2:.0f} W/m2 at its hours. Are its solar columns of one place and one year? "
            "'as-written' labels take it as it is"
        )
    moved = found.best_shift_min if found.verdict == "shifted" and labels == "find" else 0.0
    found = replace(found, moved_min=moved)
    values = {
        "shift_min": found.best_shift_min,
        "rms_w_m2": found.best_w_m2,
        "at_label_w_m2": found.at_label_w_m2,
    }
    if found.verdict == "nothing to check":
        notes.append(Note("labels-unchecked"))
    elif found.verdict in ("loose", "open"):
        notes.append(Note("labels-loose", values))
    elif found.verdict == "shifted" and not moved:
        notes.append(Note("labels-as-written", values))
    return found, table.cos_zenith(clock, moved)


def _moist(data: pd.DataFrame, moisture: str, notes: list[Note]) -> pd.DataFrame:
    """Dew point in every row: from relative humidity where that is what the file has; at most the air's temperature."""
    temp = data["temp_air"].to_numpy(dtype=float)
    if moisture == "relative_humidity":
        dew = dew_point_from_rh(temp, *(data[c].to_numpy(dtype=float) for c in ("relative_humidity", "pressure")))
        notes.append(Note("dew-point-from-humidity"))
    else:
        dew = data["temp_dew"].to_numpy(dtype=float)
        above = dew > temp
        if above.any():
            notes.append(Note("dew-point-capped", {"hours": int(above.sum())}))
    return data.assign(temp_dew=np.minimum(dew, temp))


def dew_point_from_rh(temp_air_c: Array, relative_humidity: Array, pressure_pa: Array) -> Array:
    """Dew point [°C] from temperature [°C], relative humidity [0 to 1] and pressure [Pa], each (n_times,)."""
    out = np.empty(len(temp_air_c))
    for i, (t, rh, p) in enumerate(zip(temp_air_c, relative_humidity, pressure_pa, strict=True)):
        vapour = min(rh, 1.0) * air.saturation_pressure_pa(t)
        out[i] = air.dew_point_c(air.humidity_ratio(vapour, p), p)
    return out


def _moved(table: Table, data: pd.DataFrame, clock: SunClock, moved_min: float, notes: list[Note]) -> pd.DataFrame:
    """To local hours, and to where the sun of the file stands."""
    whole = False
    if table.utc_instants:
        delay_h = table.flux_offset_h + moved_min / 60.0
        values = {"utc_offset_h": table.site.utc_offset, "flux_delay_min": 60.0 * delay_h}
        notes.append(Note("universal-time-moved", values))
        data = utc_instants_to_local_hours(data, table.site, delay_h)
    else:
        data = data if table.at_edges else instants_to_edges(data)
        if moved_min:
            temp, ghi = (data[c].to_numpy(dtype=float) for c in ("temp_air", "ghi"))
            whole = stands_with_sun(temp, ghi, clock, moved_min)
            data = moved_hours(data, table.site, moved_min / 60.0, whole)
    if moved_min:
        notes.append(Note("labels-moved", {"shift_min": moved_min, "whole": whole}))
    return data


def _complete(
    data: pd.DataFrame, site: Location, clock: SunClock, sky: str, source: str, notes: list[Note]
) -> pd.DataFrame:
    """Longwave, sky cover and albedo; the canonical index and column order."""
    frame = data.copy()
    frame["longwave"] = _longwave(frame, site, clock=clock, sky=sky, source=source, notes=notes)
    for column in ("sky_cover", "albedo"):
        if column not in frame:
            frame[column] = np.nan
    albedo = frame["albedo"]
    if albedo.notna().any() and (albedo.fillna(0.0) == 0.0).all():
        notes.append(Note("albedo-zero"))
        frame["albedo"] = np.nan
    return pd.DataFrame({c: frame[c].to_numpy(dtype=float) for c in COLUMNS}, index=hour_index(site))


def _longwave(frame: pd.DataFrame, site: Location, clock: SunClock, sky: str, source: str, notes: list[Note]) -> Array:
    """The sky of each hour [W/m2]: by the one formula, or the file's own where it is told to be measured."""
    computed = computed_longwave(frame, clock.mean_cos_zenith(), site.altitude)
    given = frame["longwave"].to_numpy(dtype=float) if "longwave" in frame else np.full(HOURS, np.nan)
    known = np.isfinite(given)
    if sky == "measured" and not known.any():
        raise WeatherError(f"{source}: there is no longwave in the file to be taken as measured")
    if not known.any():
        notes.append(Note("sky-computed"))
        return computed
    covers = [frame[c].to_numpy(dtype=float) for c in ("sky_cover", "total_cover") if c in frame]
    temp, dew, pressure = (frame[c].to_numpy(dtype=float) for c in ("temp_air", "temp_dew", "pressure"))
    check = check_column(given, temp_air_c=temp, temp_dew_c=dew, pressure_pa=pressure, covers=covers, ours=computed)
    if check.formula == OURS and check.computed and sky == "formula":
        notes.append(Note("sky-computed"))
        return computed
    miss = (computed - given)[known]
    values: dict[str, Value] = {
        "hours": int(known.sum()),
        "computed_column": check.computed,
        "nearest": check.formula,
        "nearest_apart_w_m2": check.apart_w_m2,
        "bias_w_m2": float(miss.mean()),
        "rms_w_m2": float(np.sqrt(np.mean(miss**2))),
    }
    notes.append(Note("sky-measured" if sky == "measured" else "sky-replaced", values))
    return np.where(known, given, computed) if sky == "measured" else computed


def computed_longwave(frame: pd.DataFrame, cos_zenith: Array, altitude_m: float) -> Array:
    """Longwave of each hour [W/m2] from air, dew point and sun, (8760,); see `sky_longwave`."""
    ghi, temp, dew = (frame[c].to_numpy(dtype=float) for c in ("ghi", "temp_air", "temp_dew"))
    return sky_longwave_w_m2(temp, dew, clear_share(ghi, cos_zenith, extraterrestrial_w_m2(), altitude_m))
