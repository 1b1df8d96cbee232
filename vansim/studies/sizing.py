"""How large a bank? The smallest one in whole batteries that covers an asked share of nights.

More batteries in parallel hold more and sag less, and hardly touch the cabin, so the covered nights grow with their
number and bisection finds the least. Every size that is looked at is marched; none is scaled from another. Nights that
are too warm even on an endless bank are a matter of the cooler, and no bank mends them.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np
import numpy.typing as npt
import pandas as pd

from vansim.climate import Weather
from vansim.climate.seasons import HeatWave
from vansim.lazy import lazy
from vansim.notes import Note
from vansim.runs import season as sr
from vansim.runs.jobs import Progress, all_of
from vansim.scenario.files import ScenarioSource, as_scenario
from vansim.studies.candidates import Candidate, Judged, candidates, layout_of, reserve_notes
from vansim.studies.design import TARGET, Design, season_notes
from vansim.studies.missing_charging import MissingCharging, missing_charging
from vansim.van.bank import BankUnit
from vansim.van.cooler import Cooler

Array = npt.NDArray[np.float64]

LARGEST_PARALLEL = 64
CURVE_POINTS = 12
FAILED = ("battery", "mode", "cooler", "best_share", "most_parallel", "why", "nights_too_warm", "nights")


@dataclass(frozen=True)
class Sizing:
    """What bank covers the asked share of nights.

    Attributes
    ----------
    table : DataFrame
        One row a battery, mode and cooler for which a bank was found, the smallest first: by usable energy, then mass,
        then price. Layout, `usable_kwh` (open-circuit energy from full to the reserve), `mass_kg`, `price`
        (not-a-number where it is not known), `covered_share`, `independent_share`, `consecutive_share`, `judged` (the
        reading that decided), `runtime_p10_h`, the design night with its `design_*`, hours to recharge after it
        (infinite where 48 h do not do it).
    failed : DataFrame
        One row a combination that no bank makes work: `best_share` with `most_parallel` batteries and `why`:
        ``"no-cooler"``, ``"no-cooling-at-night"``, ``"cooler"`` (too warm however large the bank, on
        `nights_too_warm` of `nights`), ``"charging"`` (enough independent nights, not enough consecutive ones) or
        ``"larger-not-tried"``.
    curve : DataFrame
        `covered_share` against size, each size marched; `chosen` marks the bank found, `knee` the size with the largest
        distance from the chord between the ends of the curve, both axes scaled to 0 to 1 (common practice).
    target : float
        Asked share.
    judged : str
        ``"headline"``, ``"independent"`` or ``"consecutive"``: what the share was judged on.
    season : str
        Which nights.
    best : Design or None
        The van with the smallest bank, None where there is none.
    short_of_charging : Design or None
        Of the first combination that charging alone makes fail: the van with the smallest bank that covers enough
        independent nights.
    notes : tuple of Note
        What has to be said beside the numbers.
    """

    table: pd.DataFrame
    failed: pd.DataFrame
    curve: pd.DataFrame
    target: float
    judged: Judged
    season: str
    best: Design | None
    short_of_charging: Design | None
    notes: tuple[Note, ...]

    @lazy
    def missing(self) -> tuple[MissingCharging, ...]:
        """What charging `short_of_charging` lacks; empty where there is none such."""
        return () if self.short_of_charging is None else missing_charging(self.short_of_charging)

    @property
    def cheapest(self) -> pd.Series[Any] | None:
        """The row with the lowest price; None unless every price is known."""
        if not len(self.table) or self.table["price"].isna().any():
            return None
        return self.table.iloc[int(self.table["price"].argmin())]


def size(
    scenario: ScenarioSource,
    weather: Weather | None = None,
    target: float = TARGET,
    season: str | None = None,
    batteries: str | Sequence[str | BankUnit] | None = None,
    modes: Sequence[str] | None = None,
    coolers: Sequence[str | Cooler] | None = None,
    judged: Judged = "headline",
    start_soc: float | None = None,
    heat_wave: HeatWave | float | None = None,
    full_at_bedtime: bool = False,
    progress: Progress | None = None,
) -> Sizing:
    """Find the smallest bank that covers a share of nights.

    Parameters
    ----------
    scenario : Scenario, str, Path or mapping
        Van, plan, place; reserve, cables, state of health and location of the bank.
    weather : Weather or None
        Typical year; left out, the scenario's own.
    target : float
        Share of nights to cover, above 0 up to 1.
    season : str or None
        As for `nights`.
    batteries : sequence of str or BankUnit, ``"all"``, or None
        Batteries by name in the parts library, or given; all of the library that suit the bus; or the scenario's own.
    modes : sequence of {"eco", "boost", "boost_then_eco"} or None
        Each put in place of every stretch of cooling; left out, the plan as it stands.
    coolers : sequence of str or Cooler, or None
        By name or given; left out, the one fitted.
    judged : {"headline", "independent", "consecutive"}
        On the worse of both readings (on independent nights where the plan has neither engine nor shore time), or on
        one of them.
    start_soc, heat_wave, full_at_bedtime
        As for `nights`.
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
    scenario = as_scenario(scenario)
    offers = candidates(
        scenario, weather, season, heat_wave=heat_wave, target=target, start_soc=start_soc,
        full_at_bedtime=full_at_bedtime, batteries=batteries, modes=modes, coolers=coolers, judged=judged,
    )  # fmt: skip
    found = all_of(_sized, offers, progress)
    rows = [row for row, _, _ in found if row is not None]
    table = pd.DataFrame(rows)
    if rows:
        order = ["usable_kwh", "mass_kg", "price"]
        table = table.sort_values(order, kind="stable", na_position="last")
        best = table.index[0]
        table = table.reset_index(drop=True)
        chosen = [offer for offer, (row, _, _) in zip(offers, found, strict=True) if row is not None][best]
        least = chosen.sized(int(table.iloc[0]["parallel"]))
    short = [offer for offer, (_, fault, _) in zip(offers, found, strict=True) if fault and fault["why"] == "charging"]
    return Sizing(
        table=table,
        failed=pd.DataFrame([fault for _, fault, _ in found if fault is not None], columns=list(FAILED)),
        curve=pd.concat([curve for _, _, curve in found], ignore_index=True),
        target=target,
        judged=judged,
        season=offers[0].design.season.nights.label,
        best=least if rows else None,
        short_of_charging=_enough_each_for_itself(short[0]) if short else None,
        notes=(*season_notes(offers[0].design), *reserve_notes(scenario, offers)),
    )


def _sized(offer: Candidate) -> tuple[dict[str, Any] | None, dict[str, Any] | None, pd.DataFrame]:
    """Row of a combination that works, or row of one that does not; and its curve."""
    least = least_parallel(offer)
    curve = _curve(offer, least)
    if least is None:
        return None, fault_of(offer), curve
    return _row(offer, least), None, curve


def least_parallel(offer: Candidate) -> int | None:
    """Smallest number in parallel that covers the share; None where 64 do not.

    Doubling, then bisection: covered nights never fall as batteries are added.
    """
    if offer.too_warm_nights > offer.spare_nights:
        return None
    high = 1
    while not offer.covers(high):
        if high == LARGEST_PARALLEL:
            return None
        high *= 2
    low = high // 2
    while high - low > 1:
        middle = (low + high) // 2
        low, high = (low, middle) if offer.covers(middle) else (middle, high)
    return high


def _enough_each_for_itself(offer: Candidate) -> Design:
    """The van with the smallest bank that covers the share of independent nights."""
    enough = len(offer.design.season.times) - offer.spare_nights
    low, high = 0, LARGEST_PARALLEL
    while high - low > 1:
        middle = (low + high) // 2
        covers = int(offer.covered(middle, "independent").sum()) >= enough
        low, high = (low, middle) if covers else (middle, high)
    return offer.sized(high)


# --- what is said of each ---------------------------------------------------------------------------------------------


def _row(offer: Candidate, parallel: int) -> dict[str, Any]:
    design = offer.sized(parallel)
    reading = offer.reading(parallel)
    place = _design_night(offer, parallel)
    night = reading.night(place)
    price = design.bank.unit.price
    return {
        **offer.labels,
        **layout_of(design.bank),
        "reserve_soc": design.bank.reserve_soc,
        "mass_kg": design.bank.unit.mass_kg * design.bank.units,
        "price": np.nan if price is None else price * design.bank.units,
        "covered_share": reading.share,
        "independent_share": design.independent.share,
        "consecutive_share": design.consecutive.share,
        "judged": reading.kind,
        "runtime_p10_h": reading.runtime_h(0.1),
        "design_night": night["date"],
        "design_runtime_h": night["runtime_h"],
        "design_bedtime_soc": night["bedtime_soc"],
        "design_waking_soc": night["waking_soc"],
        **{f"recharge_{way}_h": hours for way, hours in design.recharge_after(reading, place).items()},
    }


def _design_night(offer: Candidate, parallel: int) -> int:
    """Place of the night that decides: the hardest of those that this bank covers and one battery fewer does not."""
    reading = offer.reading(parallel)
    covered = reading.table["covered"].to_numpy()
    if parallel > 1:
        needs_it = covered & ~offer.covered(parallel - 1, reading.kind)
        if needs_it.any():
            return int(np.flatnonzero(needs_it)[np.argmin(reading.table["waking_soc"].to_numpy()[needs_it])])
    return reading.design_night(offer.design.target)


def fault_of(offer: Candidate) -> dict[str, Any]:
    """Why no bank does it."""
    scenario, too_warm = offer.design.scenario, offer.too_warm_nights
    if too_warm <= offer.spare_nights and not offer.consecutive_decides(LARGEST_PARALLEL):
        # a real bank sags and warms the cabin, so a few nights more may be too warm than on an endless one
        lacks = offer.reading(LARGEST_PARALLEL).reasons()
        too_warm = lacks["cooler"] + lacks["controls"] + lacks["both"]
    if scenario.cooler is None:
        why = "no-cooler"
    elif not sr.cools_at_night(offer.design.season):
        why = "no-cooling-at-night"
    elif too_warm > offer.spare_nights:
        why = "cooler"
    elif offer.consecutive_decides(LARGEST_PARALLEL):
        why = "charging"
    else:
        why = "larger-not-tried"
    return {
        **offer.labels,
        "best_share": offer.share(LARGEST_PARALLEL),
        "most_parallel": LARGEST_PARALLEL,
        "why": why,
        "nights_too_warm": too_warm,
        "nights": len(offer.design.season.times),
    }


# --- the curve --------------------------------------------------------------------------------------------------------


def _curve(offer: Candidate, least: int | None) -> pd.DataFrame:
    """Covered share over at most a dozen sizes, from one battery to well beyond the one found."""
    sizes = _sizes(offer, least)
    shares = np.array([offer.share(n) for n in sizes])
    layouts = pd.DataFrame([{**offer.labels, **layout_of(offer.sized(n).bank)} for n in sizes])
    marks = pd.DataFrame(
        {
            "covered_share": shares,
            "knee": knee(np.array(sizes, dtype=float), shares),
            "chosen": [n == least for n in sizes],
        }
    )
    return pd.concat([layouts, marks], axis=1)


def _sizes(offer: Candidate, least: int | None) -> list[int]:
    top = min(max(least + 2, -(-3 * least // 2)), LARGEST_PARALLEL) if least else _saturation(offer)
    if top <= CURVE_POINTS:
        return list(range(1, top + 1))
    spread = np.linspace(1, top, CURVE_POINTS - 2).round().astype(int).tolist()
    return sorted({*spread, *((least - 1, least) if least else (top - 1,))} - {0})


def _saturation(offer: Candidate) -> int:
    """Smallest size that covers as many nights as the largest."""
    best, low, high = offer.share(LARGEST_PARALLEL), 0, LARGEST_PARALLEL
    while high - low > 1:
        middle = (low + high) // 2
        low, high = (low, middle) if offer.share(middle) >= best else (middle, high)
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
