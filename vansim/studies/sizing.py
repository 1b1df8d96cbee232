"""How large a bank? The smallest one in whole batteries that keeps an asked share of nights.

More batteries in parallel hold more and sag less, and hardly touch the cabin, so the kept nights grow with their number
and bisection finds the least. Every size that is looked at is marched; none is scaled from another. Nights that are too
warm even on an inexhaustible bank are a matter of the cooler, and no bank mends them.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np
import numpy.typing as npt
import pandas as pd

from vansim.boundary.forcing import COOLING_OFF
from vansim.climate import Weather
from vansim.climate.seasons import HeatWave
from vansim.errors import ScenarioError
from vansim.march import nights as nm
from vansim.notes import Note
from vansim.runs import season as sr
from vansim.runs.batch import THREADS, Progress, all_of
from vansim.runs.run import Run
from vansim.scenario.schema import Scenario
from vansim.studies.candidates import Candidate, choices, layout_of, reserve_notes
from vansim.studies.nights import KEEP, kept_and_why, needed_nights, nights_of
from vansim.studies.recharge import possible_ways, recover_from
from vansim.van.bank import Bank, BankUnit, bank_parameters
from vansim.van.cooler import Cooler

Array = npt.NDArray[np.float64]

LARGEST_PARALLEL = 64
CURVE_POINTS = 12
CHAIN_NOTE = (
    "Nights in a row begin with the bank at its stated charge at the first bedtime; a very large bank may live on that "
    "first charge for weeks, which is not the same as charging that keeps up."
)
FAILED = ("unit", "mode", "cooler", "best_share", "words")


@dataclass(frozen=True)
class Sizing:
    """What bank keeps the asked share.

    Attributes
    ----------
    table : DataFrame
        One row a battery, mode and cooler for which a bank was found: layout, `usable_kwh` (open-circuit energy from
        full to the reserve), `mass_kg`, `price`, `kept_share`, `runtime_p10_h`, the night that binds, hours to recharge
        after it (infinite where two days do not do it), and with the nights in a row `chained_share`,
        `bedtime_soc_p10` and `keeps_up`.
    failed : DataFrame
        One row a combination that no bank makes work: `best_share` and `words`.
    curve : DataFrame
        `kept_share` against size, each size marched; `chosen` marks the bank found, `knee` the size with the largest
        distance from the chord between the ends of the curve, both axes scaled to 0 to 1 (common practice).
    keep : float
        Asked share.
    season : str
        Which nights.
    notes : tuple of str or Note
        What has to be said beside the numbers.
    """

    table: pd.DataFrame
    failed: pd.DataFrame
    curve: pd.DataFrame
    keep: float
    season: str
    notes: tuple[str | Note, ...]


def size(
    scenario: Scenario,
    weather: Weather | None = None,
    keep: float = KEEP,
    season: str | None = None,
    units: str | Sequence[str | BankUnit] | None = None,
    modes: Sequence[str] | None = None,
    coolers: Sequence[str | Cooler] | None = None,
    chained: bool = False,
    heat_wave: HeatWave | float | None = None,
    progress: Progress | None = None,
) -> Sizing:
    """Find the smallest bank that keeps a share of nights.

    Parameters
    ----------
    scenario : Scenario
        Van, plan, place; reserve, cables, health and place of the bank.
    weather : Weather or None
        Typical year; left out, the scenario's own.
    keep : float
        Share of nights to keep, above 0 up to 1.
    season : str or None
        As for `nights_alone`.
    units : sequence of str or BankUnit, ``"all"``, or None
        Batteries by name in the parts library, or given; all of the library that suit the bus; or the scenario's own.
    modes : sequence of {"eco", "boost", "boost_then_eco"} or None
        Each put in place of every stretch of cooling; left out, the plan as it stands.
    coolers : sequence of str or Cooler, or None
        By name or given; left out, the one fitted.
    chained : bool
        Size on nights in a row, with the plan's charging, rather than on nights that each start full.
    heat_wave : HeatWave, float or None
        As for `nights_alone`.
    progress : callable or None
        Called with combinations done and in all.

    Returns
    -------
    Sizing
        Exact in whole batteries, up to 64 in parallel.

    Raises
    ------
    ScenarioError
        Parts, modes or shares that cannot be used, all at once.
    """
    if not 0.0 < keep <= 1.0:
        raise ScenarioError(f"keep: {keep:g} is not a share of nights; allowed: above 0, up to 1")
    offers = choices(scenario, weather, season, units, modes, coolers, chained, heat_wave)

    def sized(choice: Candidate) -> tuple[int | None, dict[str, Any], pd.DataFrame]:
        least = least_parallel(choice, keep)
        if least is None:
            told = {**choice.labels, "best_share": choice.share(LARGEST_PARALLEL), "words": _why_not(choice, keep)}
        else:
            told = _row(choice, least, keep)
        return least, told, _curve(choice, least)

    # nights alone share the threads among themselves; nights in a row cannot, so whole offers do
    found = all_of(sized, offers, progress, THREADS if chained else 1)
    run = offers[0].run
    notes = nights_of(run, offers[0].books(1, run_on=False, chained=False), keep, chained).notes
    return Sizing(
        table=pd.DataFrame([told for least, told, _ in found if least is not None]),
        failed=pd.DataFrame([told for least, told, _ in found if least is None], columns=list(FAILED)),
        curve=pd.concat([curve for *_, curve in found], ignore_index=True),
        keep=keep,
        season=run.span.label,
        notes=(*notes, *reserve_notes(scenario, offers), *((CHAIN_NOTE,) if chained else ())),
    )


def least_parallel(choice: Candidate, keep: float) -> int | None:
    """Smallest number in parallel that keeps the share; None where 64 do not.

    Doubling, then bisection: kept nights never fall as batteries are added.
    """
    count = choice.run.span.days
    enough = needed_nights(count, keep) / count - 1e-12
    if np.mean(choice.evenings.over_s <= choice.run.scenario.night.grace_min * 60.0) < enough:
        return None
    high = 1
    while choice.share(high) < enough:
        if high == LARGEST_PARALLEL:
            return None
        high *= 2
    low = high // 2
    while high - low > 1:
        middle = (low + high) // 2
        if choice.share(middle) >= enough:
            high = middle
        else:
            low = middle
    return high


# --- what is told -----------------------------------------------------------------------------------------------------


def _row(choice: Candidate, parallel: int, keep: float) -> dict[str, Any]:
    bank = choice.sized(parallel)
    nights = nights_of(choice.run, choice.books(parallel, run_on=True), keep, choice.chained)
    binding = nights.distribution["design_night"]
    position = int(np.argmax(nights.table.index == binding["date"]))
    row = {
        **choice.labels,
        **layout_of(bank),
        "reserve_soc": bank.reserve_soc,
        "mass_kg": bank.unit.mass_kg * bank.units,
        "price": bank.unit.price * bank.units,
        "kept_share": nights.distribution["kept_share"],
        "runtime_p10_h": nights.distribution["runtime_h"]["p10"],
        "binding_night": binding["date"],
        "binding_runtime_h": binding["runtime_h"],
        "binding_waking_soc": binding["waking_soc"],
        **recovery_h(choice.run, choice.evenings.states, bank, position, nights.table["bedtime_soc"].iloc[position]),
    }
    in_a_row = choice.books(parallel, run_on=False, chained=True)
    share = float(np.mean(kept_and_why(choice.run, in_a_row)[0]))
    row["chained_share"] = share
    row["bedtime_soc_p10"] = float(np.percentile(in_a_row[:, nm.BED_SOC], 10))
    row["keeps_up"] = share * choice.run.span.days >= needed_nights(choice.run.span.days, keep) - 1e-9
    return row


def recovery_h(run: sr.SeasonRun, states: Array, bank: Bank, night: int, start_soc: float = 1.0) -> dict[str, float]:
    """Hours to recharge after a night.

    Parameters
    ----------
    run : SeasonRun
        Season.
    states : (n_nights, N_STATE) array
        Cabin at bedtime.
    bank : Bank
        The bank.
    night : int
        Which.
    start_soc : float
        State of charge at its bedtime.

    Returns
    -------
    dict of str to float
        ``recovery_road_h`` and so on for each way that the van can; infinite where two days do not do it.
    """
    scenario = run.scenario.model_copy(update={"bank": bank})
    numbers = bank_parameters(bank)
    state = sr.with_charge(states[night], numbers, start_soc)
    sr.night_books(run, run.quiet, numbers, night, state, run_on=False)
    there = Run(
        scenario=scenario,
        weather=run.weather,
        first_hour=run.span.first_hour,
        start_min=round(run.bed_s[night] / 60.0),
        end_min=round(run.wake_s[night] / 60.0),
        lead_in=run.laid,
        laid=run.laid,
        house=run.house,
        cooling=run.cooling,
        bank=numbers,
    )
    hours = recover_from(there, state, there.end_min).hours
    return {
        f"recovery_{way}_h": float("inf") if hours[way] is None else float(hours[way] or 0.0)
        for way in possible_ways(scenario)
    }


def _why_not(choice: Candidate, keep: float) -> str:
    """Why no bank does it, in a sentence."""
    run = choice.run
    count, limit = run.span.days, run.scenario.night.limit_c
    warm = int((choice.evenings.over_s > run.scenario.night.grace_min * 60.0).sum())
    if run.scenario.cooler is None:
        return f"No cooler is fitted: the cabin is above {limit:g} °C on {warm} of {count} nights, and no bank helps."
    if not _cools_at_night(run):
        return f"No cooling is planned at night: the cabin is above {limit:g} °C on {warm} of {count} nights."
    if warm > count - needed_nights(count, keep):
        return (
            f"The cooler is too small, or is switched on too late: even on an inexhaustible bank the cabin is above "
            f"{limit:g} °C on {warm} of {count} nights. No bank helps."
        )
    if choice.chained and _alone_share(choice) >= needed_nights(count, keep) / count - 1e-12:
        return (
            f"The charging does not keep up: {LARGEST_PARALLEL} of these in parallel keep enough nights from full, "
            f"but only {choice.share(LARGEST_PARALLEL):.0%} in a row. More charging helps, more battery hardly."
        )
    return (
        f"{LARGEST_PARALLEL} of these in parallel keep {choice.share(LARGEST_PARALLEL):.0%} of the nights, "
        f"not {keep:.0%}; larger banks are not looked at."
    )


def _alone_share(choice: Candidate) -> float:
    """Kept share of the largest bank when it starts every night full."""
    return float(np.mean(kept_and_why(choice.run, choice.books(LARGEST_PARALLEL, run_on=False, chained=False))[0]))


def _cools_at_night(run: sr.SeasonRun) -> bool:
    """Whether the plan cools at some time between bedtime and waking."""
    return any(
        bool((sr.between(run.quiet, bed, wake)[0].cooling != COOLING_OFF).any())
        for bed, wake in zip(run.bed_s, run.wake_s, strict=True)
    )


# --- the curve --------------------------------------------------------------------------------------------------------


def _curve(choice: Candidate, least: int | None) -> pd.DataFrame:
    """Kept share over at most a dozen sizes, from one battery to well beyond the one found."""
    sizes = _sizes(choice, least)
    shares = np.array([choice.share(n) for n in sizes])
    layouts = pd.DataFrame([{**choice.labels, **layout_of(choice.sized(n))} for n in sizes])
    marks = pd.DataFrame(
        {
            "kept_share": shares,
            "knee": knee(np.array(sizes, dtype=float), shares),
            "chosen": [n == least for n in sizes],
        }
    )
    return pd.concat([layouts, marks], axis=1)


def _sizes(choice: Candidate, least: int | None) -> list[int]:
    top = min(max(least + 2, -(-3 * least // 2)), LARGEST_PARALLEL) if least else _saturation(choice)
    if top <= CURVE_POINTS:
        return list(range(1, top + 1))
    spread = np.linspace(1, top, CURVE_POINTS - 2).round().astype(int).tolist()
    return sorted({*spread, *((least - 1, least) if least else (top - 1,))} - {0})


def _saturation(choice: Candidate) -> int:
    """Smallest size that keeps as many nights as the largest."""
    best, low, high = choice.share(LARGEST_PARALLEL), 0, LARGEST_PARALLEL
    while high - low > 1:
        middle = (low + high) // 2
        if choice.share(middle) >= best:
            high = middle
        else:
            low = middle
    return min(high + 1, LARGEST_PARALLEL)


def knee(sizes: Array, shares: Array) -> npt.NDArray[np.bool_]:
    """Where a rising curve bends.

    Parameters
    ----------
    sizes, shares : (n,) array
        Increasing sizes and their shares.

    Returns
    -------
    (n,) bool array
        True at the point farthest above the chord from first to last, axes scaled to 0 to 1 (common practice); nowhere
        where no point lies above it.
    """
    marked = np.zeros(sizes.size, dtype=bool)
    if sizes.size < 3 or shares[-1] <= shares[0]:
        return marked
    across = (sizes - sizes[0]) / (sizes[-1] - sizes[0])
    above = (shares - shares[0]) / (shares[-1] - shares[0]) - across
    place = int(np.argmax(above))
    marked[place] = above[place] > 1e-9
    return marked
