"""Every night of a season: how long would the cooling run, and is the night kept?

*Independent* nights each start at bedtime with the bank at a given state of charge and run on without charging until
the reserve, at most 48 h. *Chained* nights hand the bank on from day to day, with the plan's driving, sun and shore.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np
import numpy.typing as npt
import pandas as pd

from vansim.boundary.forcing import COOLING_CODE, COOLING_OFF
from vansim.climate import Weather
from vansim.climate.seasons import MONTHS, TYPICAL_NOTE, HeatWave, NightRange, span_of, with_heat_wave
from vansim.errors import ScenarioError
from vansim.march import nights as nm
from vansim.notes import Note
from vansim.runs import season as sr
from vansim.runs.batch import Progress, in_order
from vansim.runs.night_table import verdict
from vansim.runs.run import weather_of
from vansim.scenario.schema import Scenario
from vansim.van.bank import bank_parameters

Array = npt.NDArray[np.float64]

MODES = tuple(mode for mode in COOLING_CODE if mode != "off")
KEEP = 0.95
"""Share of nights to be kept where none is given."""
COLUMNS = (
    "outdoor_low_c", "outdoor_mean_c", "dew_point_c", "runtime_h", "outlasts", "bedtime_soc", "lowest_soc",
    "waking_soc", "duty", "starts", "cooler_wh", "loads_wh", "cabin_max_c", "over_limit_h", "kept", "why",
)  # fmt: skip


@dataclass(frozen=True)
class Nights:
    """Nights of a season.

    Attributes
    ----------
    table : DataFrame
        Indexed by the date of the evening. `runtime_h` runs from bedtime to the reserve; where that is not reached in
        48 h it is 48 and `outlasts` is true. Energies, duty, states of charge and `over_limit_h` are from bedtime to
        waking. `why` is empty for a kept night, else as `vansim.runs.night_table.verdict` tells them apart.
    distribution : dict
        ``runtime_h`` (p10, p50, p90), ``kept_share``, ``by_month`` (DataFrame), ``worst_night``, ``design_night``
        (the one that binds at the asked share), ``keep``.
    chained : bool
        Whether the bank carried over.
    season : str
        Which nights, in words.
    notes : tuple of str or Note
        What has to be said beside the numbers.
    """

    table: pd.DataFrame
    distribution: dict[str, Any]
    chained: bool
    season: str
    notes: tuple[str | Note, ...]


def nights_alone(
    scenario: Scenario,
    weather: Weather | None = None,
    season: str | None = None,
    start_soc: float = 1.0,
    heat_wave: HeatWave | float | None = None,
    keep: float = KEEP,
    progress: Progress | None = None,
) -> Nights:
    """Each night of a season for itself, from a given state of charge and without charging.

    Parameters
    ----------
    scenario : Scenario
        Van, plan and place.
    weather : Weather or None
        Typical year; left out, the scenario's own.
    season : str or None
        ``"jun-sep"``, ``"06-01..09-30"``, ``"year"``; None: the hottest three consecutive months.
    start_soc : float
        State of charge at every bedtime, 0 to 1.
    heat_wave : HeatWave, float or None
        Margin on the hottest fortnight [K], or on given dates.
    keep : float
        Share of nights that is asked for; picks the design night.
    progress : callable or None
        Called with pieces of work done and in all.

    Returns
    -------
    Nights
        The cabin starts as the day before left it, had the bank been inexhaustible. After waking the segment that held
        before waking stays in force under the real weather, so no runtime is cut off at waking.

    Raises
    ------
    ScenarioError, WeatherError
        A season, share or weather that cannot be used.
    """
    run = laid_season(scenario, weather, season, heat_wave)
    _check_share("start_soc", start_soc)
    books = sr.alone(run, bank_parameters(scenario.bank), sr.evenings(run).states, start_soc, progress=progress)
    return nights_of(run, books, keep, chained=False)


def nights_chained(
    scenario: Scenario,
    weather: Weather | None = None,
    season: str | None = None,
    start_soc: float | None = None,
    heat_wave: HeatWave | float | None = None,
    keep: float = KEEP,
    progress: Progress | None = None,
) -> Nights:
    """The nights of a season in a row: the bank carries over, with the plan's driving, sun and shore.

    Parameters
    ----------
    scenario, weather, season, heat_wave, keep, progress
        As for `nights_alone`.
    start_soc : float or None
        State of charge at the first bedtime; left out, the scenario's.

    Returns
    -------
    Nights
        A night that begins with the cooler locked out has a runtime of 0. Where the reserve is not reached by waking,
        the runtime goes on as in `nights_alone`, without charging, and the chain goes on from waking with it.

    Raises
    ------
    ScenarioError, WeatherError
        A season, share or weather that cannot be used.
    """
    run = laid_season(scenario, weather, season, heat_wave)
    soc = scenario.bank.start_soc if start_soc is None else start_soc
    _check_share("start_soc", soc)
    first = sr.evenings(run).states[0]
    books = sr.chained(run, bank_parameters(scenario.bank), first, soc, progress=progress)
    return nights_of(run, books, keep, chained=True)


def nights_by_size(
    scenario: Scenario,
    weather: Weather | None = None,
    season: str | None = None,
    sizes: Sequence[int] = tuple(range(1, 13)),
    modes: Sequence[str] = ("eco", "boost", "boost_then_eco"),
    heat_wave: HeatWave | float | None = None,
    keep: float = KEEP,
    progress: Progress | None = None,
) -> dict[tuple[str, int], Nights]:
    """The independent nights of `nights_alone` for many banks and modes at once, sharing weather and evenings.

    Parameters
    ----------
    scenario, weather, season, heat_wave, keep
        As for `nights_alone`.
    sizes : sequence of int
        Numbers of the scenario's batteries in parallel.
    modes : sequence of {"eco", "boost", "boost_then_eco"}
        Each put in place of every stretch of cooling.
    progress : callable or None
        Called with banks done and in all.

    Returns
    -------
    dict of (mode, parallel) to Nights
        Every night is marched on every bank, from bedtime to waking and on to the reserve; only where a smaller bank
        outlasts the 48 h is a larger one not followed past waking, as it outlasts them too.

    Raises
    ------
    ScenarioError
        A mode or size that there is not.
    """
    faults = [f"modes: {m!r} is not a mode; allowed: {', '.join(MODES)}" for m in modes if m not in MODES]
    faults += [f"sizes: {n} is not a number of batteries; allowed: 1 or more" for n in sizes if n < 1]
    if faults:
        raise ScenarioError(faults)
    base = laid_season(scenario, weather, season, heat_wave)
    runs = [sr.with_mode(base, mode) for mode in modes]
    found = {}
    for mode, run, evenings in zip(modes, runs, in_order(sr.evenings, runs), strict=True):
        outlasting = np.zeros(run.span.days, dtype=bool)
        for parallel in sorted(sizes):
            bank = bank_parameters(scenario.bank.model_copy(update={"parallel": parallel}))
            books = sr.alone(run, bank, evenings.states, 1.0, outlasting=outlasting)
            outlasting |= books[:, nm.RUNTIME] >= sr.RUN_ON_H * 3600.0 - 1e-3
            found[mode, parallel] = nights_of(run, books, keep, chained=False)
            if progress is not None:
                progress(len(found), len(modes) * len(sizes))
    return found


def laid_season(
    scenario: Scenario, weather: Weather | None, season: str | None, heat_wave: HeatWave | float | None
) -> sr.SeasonRun:
    """Weather with its heat wave, season read, plan laid out."""
    weather = weather_of(scenario) if weather is None else weather
    return sr.season_run(scenario, with_heat_wave(weather, heat_wave), span_of(season, weather))


def _check_share(name: str, value: float) -> None:
    if not 0.0 <= value <= 1.0:
        raise ScenarioError(f"{name}: {value:g} is not a share; allowed: 0 to 1")


# --- tables ---------------------------------------------------------------------------------------------------------


def nights_of(run: sr.SeasonRun, books: Array, keep: float, chained: bool) -> Nights:
    """Make the nights of a season from their books.

    Parameters
    ----------
    run : SeasonRun
        The season.
    books : (n_nights, N_BOOKS) array
        From `alone` or `chained`.
    keep : float
        Asked share.
    chained : bool
        Whether the bank carried over.

    Returns
    -------
    Nights
        Tables, distribution and notes.
    """
    _check_share("keep", keep)
    table = _table(run, books)
    return Nights(
        table=table,
        distribution=_distribution(table, run.span, keep),
        chained=chained,
        season=run.span.label,
        notes=_notes(run),
    )


def _table(run: sr.SeasonRun, books: Array) -> pd.DataFrame:
    length_s = run.wake_s - run.bed_s
    over_h = books[:, nm.OVER] / 3600.0
    kept, why = kept_and_why(run, books)
    columns: dict[str, Any] = {
        **run.outdoors,
        "runtime_h": books[:, nm.RUNTIME] / 3600.0,
        "outlasts": books[:, nm.RUNTIME] >= sr.RUN_ON_H * 3600.0 - 1e-3,
        "bedtime_soc": books[:, nm.BED_SOC],
        "lowest_soc": books[:, nm.LOWEST],
        "waking_soc": books[:, nm.WAKING],
        "duty": books[:, nm.ON] / length_s,
        "starts": books[:, nm.STARTS].round().astype(int),
        "cooler_wh": books[:, nm.COOLER] / 3600.0,
        "loads_wh": books[:, nm.LOADS] / 3600.0,
        "cabin_max_c": books[:, nm.CABIN_MAX],
        "over_limit_h": over_h,
        "kept": kept,
        "why": why,
    }
    zone = pd.DatetimeIndex(run.weather.data.index).tz
    start = pd.Timestamp(run.span.date_of(0), tz=zone)
    index = pd.date_range(start, periods=run.span.days, freq="D", name="date")
    return pd.DataFrame(columns, index=index)[list(COLUMNS)]


def kept_and_why(run: sr.SeasonRun, books: Array) -> tuple[npt.NDArray[np.bool_], list[str]]:
    """Which nights are kept, and what the others lack: the verdict of a single run, night by night."""
    grace_h = run.scenario.night.grace_min / 60.0
    verdicts = [
        verdict(
            empty=bool(row[nm.EMPTIED] > 0.0),
            over_h=float(row[nm.OVER]) / 3600.0,
            over_while_cooling_h=float(row[nm.COOLED_OVER]) / 3600.0,
            duty_while_over=float(row[nm.DUTY_OVER]),
            grace_h=grace_h,
        )
        for row in books
    ]
    return np.array([kept for kept, _ in verdicts], dtype=bool), [why for _, why in verdicts]


def design_position(table: pd.DataFrame, keep: float) -> int:
    """Place in the table of the night that binds: the hardest of those that must be kept for the asked share.

    Nights are ordered from the easiest: kept ones first, by runtime, then by charge left at waking; then the others,
    those that only lack battery before those that no battery mends.
    """
    order = pd.DataFrame(
        {
            "lost": ~table["kept"].to_numpy(),
            "small": table["why"].isin(["cooler too small", "controls", "both"]).to_numpy(),
            "runtime": -table["runtime_h"].to_numpy(),
            "soc": -table["waking_soc"].to_numpy(),
        }
    ).sort_values(["lost", "small", "runtime", "soc"], kind="stable")
    return int(order.index[max(needed_nights(len(table), keep), 1) - 1])


def needed_nights(count: int, keep: float) -> int:
    """Nights that must be kept out of `count`."""
    return math.ceil(keep * count - 1e-9)


def _distribution(table: pd.DataFrame, span: NightRange, keep: float) -> dict[str, Any]:
    runtime = table["runtime_h"].to_numpy()
    p10, p50, p90 = (float(x) for x in np.percentile(runtime, (10, 50, 90)))
    months = pd.DatetimeIndex(table.index).month
    grouped = table.groupby(months, sort=False)
    by_month = pd.DataFrame(
        {
            "nights": grouped.size(),
            "kept_share": grouped["kept"].mean(),
            "runtime_p10_h": grouped["runtime_h"].quantile(0.1),
            "runtime_p50_h": grouped["runtime_h"].quantile(0.5),
            "duty": grouped["duty"].mean(),
            "cooler_wh": grouped["cooler_wh"].mean(),
            "over_limit_h": grouped["over_limit_h"].sum(),
        }
    )
    by_month.index = pd.Index([MONTHS[m - 1] for m in by_month.index], name="month")
    worst = design_position(table, 1.0)
    return {
        "nights": len(table),
        "runtime_h": {"p10": p10, "p50": p50, "p90": p90},
        "outlast_share": float(table["outlasts"].mean()),
        "kept_share": float(table["kept"].mean()),
        "keep": keep,
        "by_month": by_month,
        "worst_night": _one(table, worst),
        "design_night": _one(table, design_position(table, keep)),
        "why": {word: int((table["why"] == word).sum()) for word in ("bank", "cooler too small", "controls", "both")},
        "season": span.label,
    }


def _one(table: pd.DataFrame, position: int) -> dict[str, Any]:
    row = table.iloc[position]
    plain = {str(name): getattr(row[name], "item", lambda value=row[name]: value)() for name in table.columns}
    return {"date": table.index[position], **plain}


def _notes(run: sr.SeasonRun) -> tuple[str | Note, ...]:
    notes: list[str | Note] = [TYPICAL_NOTE, *(note for note in run.weather.notes if note.code == "heat-wave")]
    held = [run.held[i] for i in dict.fromkeys(run.held_of.tolist())]
    if any((f.cooling == COOLING_OFF).any() for f in held):
        notes.append(
            "On some nights no cooling is planned in the last stretch before waking; a bank that nothing cools with "
            "does not run down to its reserve, and such a night counts as outlasting."
        )
    return tuple(notes)
