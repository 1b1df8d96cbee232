"""What reading a typical year had to do, held as codes with numbers and said here."""

from __future__ import annotations

import calendar
import datetime
from collections.abc import Callable, Mapping, Sequence

from vansim.phrases.numbers import date, difference, irradiance, minutes_of, quantity, temperature

MONTHS = calendar.month_name[1:]
Values = Mapping[str, float | int | str | bool]
Say = Callable[[Values, str], str]


def _num(values: Values, name: str) -> float:
    return float(values[name])


def _heat_wave(v: Values, system: str) -> str:
    first, last = (datetime.date.fromisoformat(str(v[end])) for end in ("first", "last"))
    dates = f"{date(first)} to {date(last)}"
    where = f"the hottest fortnight ({dates})" if v["hottest_fortnight"] else dates
    return (
        f"Heat-wave margin: air {difference(_num(v, 'shift_k'), system)} warmer on {where}, dew point held. This is a "
        "margin, not a forecast."
    )


def _design_day(v: Values, system: str) -> str:
    kind = f"the {_num(v, 'percent'):g} % " if "percent" in v else "the "
    month, top = MONTHS[int(v["month"]) - 1], temperature(_num(v, "dry_bulb_c"), system)
    return (
        f"{kind}design day of {month} all through the month: {top} at the hottest, wet bulb "
        f"{temperature(_num(v, 'wet_bulb_c'), system)} then, daily range "
        f"{difference(_num(v, 'daily_range_k'), system)}; clear sky, moisture held. A hot day by a handbook's share of "
        "hours, not a year"
    )


def _changed_year(v: Values, system: str) -> str:
    mean_k = _num(v, "mean_k")
    side = "warmer" if mean_k >= 0.0 else "cooler"
    return (
        f"{v['base']} shifted and stretched by the monthly changes in {v['changes']} (Belcher, Hacker & Powell 2005): "
        f"{difference(abs(mean_k), system)} {side} over the year. As likely as these changes are, no likelier"
    )


def _mended(v: Values, system: str) -> str:
    bad = [f"{v[kind]} {kind}" for kind in ("missing", "impossible") if v[kind]]
    ways = {
        "from_sun": "from the other two solar columns",
        "from_days": "from the same hours of the days beside",
        "by_line": "by a straight line",
    }
    used = [way for way in ways if v[way]]
    how = ", ".join(ways[way] if len(used) == 1 else f"{v[way]} {ways[way]}" for way in used)
    return f"{v['column']}: {' and '.join(bad)} hours mended, {how} ({v.get('where', v.get('rows', ''))})"


def _offset(v: Values) -> str:
    return f"UTC{_num(v, 'utc_offset_h'):+g} h"


def _universal(v: Values, system: str) -> str:
    return (
        f"instants in universal time brought to hours of {_offset(v)}; fluxes stand "
        f"{minutes_of(_num(v, 'flux_delay_min'))} after the label and are averaged over each hour"
    )


def off_its_hours(shift_min: float) -> str:
    """How far the sun of a file stands from its hours: ``"30 min after"``."""
    return f"{minutes_of(abs(shift_min))} {'after' if shift_min > 0.0 else 'before'}"


def _moved(v: Values, system: str) -> str:
    what = "sun and the temperatures in this file stand" if v["whole"] else "sun in this file stands"
    return f"the {what} {off_its_hours(_num(v, 'shift_min'))} its hour labels: placed there"


def _as_written(v: Values, system: str) -> str:
    return (
        f"the sun in this file stands {off_its_hours(_num(v, 'shift_min'))} its hour labels; they are kept as written, "
        "as asked"
    )


def _loose(v: Values, system: str) -> str:
    return (
        "CAUTION: the solar columns of this file do not belong together. DHI + DNI cos z misses GHI by "
        f"{irradiance(_num(v, 'rms_w_m2'), system)} rms at best (a station's year: {irradiance(1.0, system)} to "
        f"{irradiance(9.0, system)}): sun on walls, glass and panels is that uncertain"
    )


def _sky_told(v: Values, system: str) -> str:
    apart = irradiance(_num(v, "nearest_apart_w_m2"), system)
    if v["computed_column"]:
        return f"it was computed ({v['nearest']} meets it within {apart})"
    return f"no known formula meets it (the nearest within {apart}), so it may have been measured"


def _sky_differs(v: Values, system: str) -> str:
    bias = _num(v, "bias_w_m2")
    side = "above" if bias > 0.0 else "below"
    return (
        f"differ by {irradiance(_num(v, 'rms_w_m2'), system)} rms and lie {irradiance(abs(bias), system)} {side} it on "
        "average"
    )


def _sky_replaced(v: Values, system: str) -> str:
    return (
        f"longwave from the sky computed as for every file; the file's own column is not used: {_sky_told(v, system)}. "
        f"The computed values {_sky_differs(v, system)}. To keep the file's: sky measured"
    )


def _sky_measured(v: Values, system: str) -> str:
    return (
        f"longwave from the sky kept from the file, as asked; {_sky_told(v, system)}. Values computed as for every "
        f"file would {_sky_differs(v, system)}"
    )


def _from_rest(v: Values, system: str) -> str:
    also = f", and {v['columns']} in every hour" if v["columns"] else ""
    return f"{v['hours']} hours that were not logged come from {v['rest']}{also}: they are typical, not measured"


def _plain(text: str) -> Say:
    return lambda v, system: text.format(**v)


SAID: dict[str, Say] = {
    "heat-wave": _heat_wave,
    "design-day": _design_day,
    "changed-year": _changed_year,
    "file-comment": lambda v, system: f"the file says: {v['text']}",
    "leap-day-left-out": _plain("29 February left out ({hours} hours): a typical year has 365 days"),
    "hours-absent": _plain("{hours} hours are not in the file, the first on {first}"),
    "hours-mended": _mended,
    "flux-below-zero": _plain("{column} is a little below zero in {hours} hours (a sensor's night), taken as zero"),
    "dew-point-from-humidity": _plain("dew point computed from relative humidity (ASHRAE Fundamentals 2017 ch. 1)"),
    "dew-point-capped": _plain("dew point lay above the air by rounding in {hours} hours, set to saturation"),
    "universal-time-moved": _universal,
    "offset-from-longitude": lambda v, system: (
        f"the file carries universal time; {_offset(v)} taken as standard time from the longitude"
    ),
    "labels-moved": _moved,
    "labels-as-written": _as_written,
    "labels-loose": _loose,
    "labels-unchecked": _plain("the file has almost no hours with direct sun, so its labels cannot be checked"),
    "sky-computed": _plain(
        "longwave from the sky computed from dew point (Berdahl & Martin 1984) and the sun that came through cloud "
        "(Crawford & Duchon 1999)"
    ),
    "sky-replaced": _sky_replaced,
    "sky-measured": _sky_measured,
    "own-year": lambda v, system: (
        f"logged from {v['first']} to {v['last']}, every {minutes_of(_num(v, 'step_min'))}; 29 February left out"
    ),
    "one-year": _plain("every row is dated in {year}: one real year, if its writer kept the dates"),
    "columns-ignored": _plain("columns that are not read: {columns}"),
    "pressure-from-altitude": lambda v, system: (
        f"no pressure in the table: {quantity(_num(v, 'pressure_pa'), 'pressure_pa', system)} by the altitude"
    ),
    "beam-from-global": _plain(
        "beam told from the global sun (Erbs, Klein & Duffie 1982): sun on walls is that uncertain"
    ),
    "beam-from-closure": _plain("beam computed from the global and the diffuse sun"),
    "diffuse-from-closure": _plain("diffuse sun computed from the global sun and the beam"),
    "hours-from-rest": _from_rest,
    "albedo-zero": _plain("albedo is 0 all year in the file, taken as missing"),
}
"""Code of a note about a year to what says it."""


def kind_of_year(codes: Sequence[str]) -> str:
    """What a year stands for, from the codes of its notes; no full stop."""
    if "design-day" in codes:
        return "design days by a handbook's values, not a year"
    if "changed-year" in codes:
        return "a typical year, changed month by month, not its extremes"
    if "own-year" in codes:
        return "logged values, one year among many"
    return "a typical year, not its extremes"


def sun_check(
    verdict: str, *, at_label_w_m2: float, best_w_m2: float, best_shift_min: float, moved: bool, system: str = "si"
) -> str:
    """Whether the sun of a weather file stands where its hours say; no full stop.

    Parameters
    ----------
    verdict : {"agrees", "shifted", "nothing to check", ...}
        As the closure check found; any other means that no placing of the sun fits.
    at_label_w_m2, best_w_m2 : float
        Residual of DHI + DNI cos z against GHI at the file's hours, and where it is least [W/m2].
    best_shift_min : float
        Where it is least, after the file's hours [min].
    moved : bool
        Whether the file was placed there.
    system : {"si", "us"}
        Units shown.
    """
    best, at_label = irradiance(best_w_m2, system), irradiance(at_label_w_m2, system)
    if verdict == "nothing to check":
        return "the file has almost no hours with direct sun, so they cannot be checked"
    if verdict == "agrees":
        return f"DHI + DNI cos z gives GHI within {at_label} rms where the file has its sun"
    if verdict == "shifted":
        done = "moved there" if moved else "left as written"
        stands = f"the sun in this file stands {off_its_hours(best_shift_min)} its hours"
        return f"{stands} (misses by {best} rms there, {at_label} at its hours): {done}"
    return f"the solar columns do not belong together: DHI + DNI cos z misses GHI by {best} rms at best"
