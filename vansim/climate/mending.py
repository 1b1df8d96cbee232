"""Hours that are missing or cannot be: found, counted, and mended where they are few.

Up to one hour in a hundred of a column is mended: the sun from the other two of its three components, everything else
from its neighbours. What goes beyond is refused with its rows.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt
import pandas as pd

from vansim.climate.weather import FLUXES, HOURS
from vansim.notes import Note

Array = npt.NDArray[np.float64]
Mask = npt.NDArray[np.bool_]
Rows = npt.NDArray[np.intp]
Where = Callable[[Mask], str]

MOST_MENDED = HOURS // 100
"""Hours of a column that are mended: 1 % of the year."""
LONGEST_LINE_H = 6
"""A gap of instants up to this long is bridged by a straight line, a longer one from the days beside."""
NIGHT_OFFSET_W_M2 = -10.0
"""A thermopile reads a little below zero at night: down to here a flux is taken as zero."""
DEW_ABOVE_AIR_C = 1.0
"""Files round temperature and dew point apart; more than this above the air is a fault, less is set to saturation."""
LOW_SUN = 0.1
"""Cos z below which the beam cannot be told from GHI and DHI."""
HIGHEST_BEAM_W_M2 = 1420.0
ALLOWED = {
    "temp_air": (-60.0, 60.0, "degC"),
    "temp_dew": (-80.0, 40.0, "degC"),
    "relative_humidity": (0.0, 1.1, ""),
    "pressure": (4.0e4, 1.1e5, "Pa"),
    "wind_speed": (0.0, 60.0, "m/s"),
    "ghi": (0.0, 1500.0, "W/m2"),
    "dni": (0.0, HIGHEST_BEAM_W_M2, "W/m2"),
    "dhi": (0.0, 1000.0, "W/m2"),
    "longwave": (50.0, 700.0, "W/m2"),
    "sky_cover": (0.0, 1.0, ""),
    "total_cover": (0.0, 1.0, ""),
    "albedo": (0.0, 1.0, ""),
}
SUN = ("ghi", "dni", "dhi")
MOISTURE = ("temp_dew", "relative_humidity")


@dataclass(frozen=True)
class Impossible:
    """Hours of a column that cannot be.

    Attributes
    ----------
    where : (8760,) array of bool
        Hours.
    why : str
        The worst of them and what is allowed.
    """

    where: Mask
    why: str


def without_impossible(data: pd.DataFrame, notes: list[Note]) -> tuple[pd.DataFrame, dict[str, Impossible]]:
    """Take out what cannot be.

    Parameters
    ----------
    data : DataFrame, shape (8760, ...)
        Columns of `ALLOWED`, in SI.
    notes : list of Note
        ``flux-below-zero`` is added.

    Returns
    -------
    data : DataFrame
        NaN in the hours that cannot be.
    impossible : dict of str to Impossible
        By column; those without such hours left out.
    """
    data, found = data.copy(), {}
    for column, (low, high, unit) in ALLOWED.items():
        if column not in data:
            continue
        values = data[column].to_numpy(dtype=float).copy()
        if column in FLUXES:
            below = (values < 0.0) & (values >= NIGHT_OFFSET_W_M2)
            if below.any():
                notes.append(Note("flux-below-zero", {"column": column, "hours": int(below.sum())}))
                values[below] = 0.0
        bad = (values < low) | (values > high)
        if bad.any():
            worst = values[bad][np.argmax(np.abs(values[bad] - (low + high) / 2))]
            found[column] = Impossible(bad, f"up to {worst:g} {unit}, allowed {low:g} to {high:g} {unit}".strip())
        data[column] = np.where(bad, np.nan, values)
    if "temp_dew" in data and "temp_air" in data:
        above = (data["temp_dew"] - data["temp_air"]).to_numpy(dtype=float) > DEW_ABOVE_AIR_C
        if above.any():
            before = found.get("temp_dew", Impossible(np.zeros(len(data), dtype=bool), ""))
            why = f"temp_dew more than {DEW_ABOVE_AIR_C:g} K above temp_air"
            found["temp_dew"] = Impossible(before.where | above, "; ".join(w for w in (before.why, why) if w))
            data.loc[above, "temp_dew"] = np.nan
    return data, found


def moisture_column(data: pd.DataFrame) -> str | None:
    """Dew point, or relative humidity where it is whole and the dew point is not; None where the file has neither."""
    lacking = {c: int(data[c].isna().sum()) for c in MOISTURE if c in data and data[c].notna().any()}
    whole = [c for c, hours in lacking.items() if hours <= MOST_MENDED]
    if whole or not lacking:
        return whole[0] if whole else None
    return min(lacking, key=lambda c: lacking[c])


def mended(
    data: pd.DataFrame,
    columns: list[str],
    where: Where,
    impossible: dict[str, Impossible],
    cos_zenith: Array,
    notes: list[Note],
    most: int = MOST_MENDED,
) -> tuple[pd.DataFrame, list[str]]:
    """Fill the hours that a column lacks.

    Parameters
    ----------
    data : DataFrame, shape (8760, ...)
        From `without_impossible`.
    columns : list of str
        Columns that must be whole.
    where : callable
        Says which hours are meant, for people.
    impossible : dict of str to Impossible
        From `without_impossible`.
    cos_zenith : (8760,) array
        Of each row, where the sun of the file stands.
    notes : list of Note
        ``hours-mended`` is added for each column: ``missing``, ``impossible``, and how many ``from_sun`` (closure),
        ``from_days`` beside, ``by_line``.
    most : int
        Hours of a column that are mended.

    Returns
    -------
    data : DataFrame
        Whole in `columns`.
    faults : list of str
        Columns that lack too much.
    """
    data, faults = data.copy(), []
    for column in columns:
        if column not in data or (data[column].isna().all() and column not in impossible):
            faults.append(f"{column} is missing in every row")
    if faults:
        return data, faults
    lacking = {c: data[c].isna().to_numpy() for c in columns}
    for column, missing in lacking.items():
        if missing.sum() > most:
            faults.append(_too_many(column, missing, where, impossible.get(column)))
    if faults:
        return data, faults
    filled = {c: _filled(data, c, missing, cos_zenith) for c, missing in lacking.items() if missing.any()}
    for column, (values, ways) in filled.items():
        missing = lacking[column]
        data[column] = values
        wrong = int((impossible[column].where & missing).sum()) if column in impossible else 0
        notes.append(
            Note(
                "hours-mended",
                {
                    "column": column,
                    "missing": int(missing.sum()) - wrong,
                    "impossible": wrong,
                    "where": where(missing),
                    **ways,
                },
            )
        )
    return data, faults


def _too_many(column: str, missing: Mask, where: Where, bad: Impossible | None) -> str:
    wrong = int((bad.where & missing).sum()) if bad else 0
    parts = [f"missing in {int(missing.sum()) - wrong} hours"] if missing.sum() > wrong else []
    if bad and wrong:
        parts.append(f"impossible in {wrong} hours ({bad.why})")
    return (
        f"{where(missing)}: {column} is {' and '.join(parts)}; "
        f"up to {MOST_MENDED} hours (1 % of the year) would be mended"
    )


def _filled(data: pd.DataFrame, column: str, missing: Mask, cos_zenith: Array) -> tuple[Array, dict[str, int]]:
    """The column with its gaps filled, and how many hours in which way."""
    values, ways = data[column].to_numpy(dtype=float).copy(), {"from_sun": 0, "from_days": 0, "by_line": 0}
    if column in SUN:
        closed = _from_the_other_two(data, column, cos_zenith)
        use = missing & np.isfinite(closed)
        values[use] = closed[use]
        ways["from_sun"] = int(use.sum())
    left = np.isnan(values)
    if column not in FLUXES:
        short = np.zeros_like(left)
        for gap in gaps(left):
            short[gap] = len(gap) <= LONGEST_LINE_H
        hours = np.arange(len(values), dtype=float)
        values[short] = np.interp(hours[short], hours[~left], values[~left], period=len(values))
        ways["by_line"] = int(short.sum())
        left &= ~short
    if left.any():
        values = from_days_beside(values)
        ways["from_days"] = int(left.sum())
    return values, ways


def _from_the_other_two(data: pd.DataFrame, column: str, cos_zenith: Array) -> Array:
    """GHI = DHI + DNI cos z, turned to the component that lacks; NaN where it cannot be told."""
    ghi, dni, dhi = (data[c].to_numpy(dtype=float) for c in SUN)
    calculate: dict[str, Callable[[], Array]] = {
        "ghi": lambda: dhi + dni * cos_zenith,
        "dhi": lambda: np.maximum(ghi - dni * cos_zenith, 0.0),
        "dni": lambda: np.where(
            cos_zenith > LOW_SUN,
            np.clip((ghi - dhi) / np.maximum(cos_zenith, LOW_SUN), 0.0, HIGHEST_BEAM_W_M2),
            np.where(cos_zenith > 0.0, np.nan, 0.0 * ghi),
        ),
    }
    return calculate[column]()


def from_days_beside(values: Array) -> Array:
    """Fill NaN from the same hour of the nearest days that have it, straight between them; the year is a circle.

    The days beside have almost the same sun and the same course of temperature; a straight line would keep neither.
    """
    out = values.reshape(-1, 24).copy()
    days = np.arange(len(out), dtype=float)
    for hour in np.flatnonzero(np.isnan(out).any(axis=0)):
        known = ~np.isnan(out[:, hour])
        out[:, hour] = np.interp(days, days[known], out[known, hour], period=len(out))
    return out.ravel()


def gaps(missing: Mask) -> list[Rows]:
    """Runs of missing hours, each as an array of positions; a run over New Year counts as two."""
    at = np.flatnonzero(missing)
    return [] if len(at) == 0 else np.split(at, np.flatnonzero(np.diff(at) > 1) + 1)
