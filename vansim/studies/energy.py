"""Where a night's electricity went: to the roof, to the glass, to the people, to the machine itself.

Method. Piece by piece of the forcing (an hour at most):

1. The cooler's electricity is compressor, fans and standby. Fans and standby are known; the rest is the compressor's.
2. What the start-up ramp withheld of the steady cooling, over the steady cooling, is the share of the compressor's
   electricity that goes to cycling.
3. The rest is shared over the thermal loads that were positive in that piece, in proportion to their heat. What removed
   heat in the same piece (a cold sky, cool outdoor air, contents taking up heat) gets none; its credit is spread over
   the positive loads by the same proportion, since it lessened the work for all of them alike.
4. Loads, and losses in bank and cables, are added as metered.

So every watt-hour is given to one cause, and the sum is the bank meter: cooler, loads and losses. It is a bookkeeping
of what happened, not of what would happen without a cause: for that, change the cause and march again.
"""

from __future__ import annotations

from typing import Any

import numpy as np
import numpy.typing as npt
import pandas as pd

from vansim.boundary.forcing import COOLING_OFF, night_minutes
from vansim.errors import ScenarioError
from vansim.runs.result import Result
from vansim.scenario.schema import DAY_MIN
from vansim.van.cabin import FACES
from vansim.van.cooler import BOOST, ECO, cooler_parameters

Array = npt.NDArray[np.float64]

FANS, CYCLING, LOADS, LOSSES = "fans and standby", "cycling loss", "other loads", "bank and cable losses"
WALLS = ("left", "right", "front", "rear")


def causes(result: Result, night: int = 0) -> pd.DataFrame:
    """Give a night's electricity to its causes.

    Parameters
    ----------
    result : Result
        A run with that night in it.
    night : int
        Row of `result.nights`.

    Returns
    -------
    DataFrame
        Indexed by cause: `heat_wh` (into the cabin, net over the night; what cools is negative), `electric_wh` and
        `share` of the total. `electric_wh` adds up to the bank meter, ``attrs["meter_wh"]``: cooler, loads and losses
        from bedtime to waking. The method stands at the head of this file.

    Raises
    ------
    ScenarioError
        No such night in the run.
    """
    at, night_s = _pieces_of(result, night)
    heat = heat_by_cause(result, at)
    electric, compressor = _machine(result, at)
    positive = {name: np.maximum(heat_j, 0.0) for name, heat_j in heat.items()}
    total = np.sum(list(positive.values()), axis=0)
    for name, heat_j in positive.items():
        part = np.divide(heat_j, total, out=np.zeros_like(total), where=total > 0.0)
        electric[name] = electric.get(name, 0.0) + compressor * part
    # a compressor that ran without any load to share: its start was for nothing
    electric[CYCLING] = electric[CYCLING] + np.where(total > 0.0, 0.0, compressor)
    electric[LOADS] = joules(result, at, "loads_w")
    electric[LOSSES] = electric[LOSSES] + joules(result, at, "bank_heat_w", "bank_lost_w")
    table = pd.DataFrame(
        {
            "heat_wh": {name: float(heat[name].sum()) / 3600.0 if name in heat else 0.0 for name in electric},
            "electric_wh": {name: float(np.sum(used_j)) / 3600.0 for name, used_j in electric.items()},
        }
    ).rename_axis("cause")
    table["share"] = table["electric_wh"] / max(table["electric_wh"].sum(), 1e-12)
    table = table.sort_values("electric_wh", ascending=False, kind="stable")
    metered = joules(result, at, "cooler_w", "loads_w", "bank_heat_w", "bank_lost_w")
    table.attrs = {"meter_wh": float(metered.sum()) / 3600.0, "night": night_s}
    return table


def _pieces_of(result: Result, night: int) -> tuple[npt.NDArray[np.intp], str]:
    """Pieces from bedtime to waking of a night, and its date."""
    run, nights = result.run, result.nights
    if not -len(nights) <= night < len(nights):
        allowed = f"0 to {len(nights) - 1}" if len(nights) else "none, as no whole night lies in it"
        raise ScenarioError(f"night {night} is not in this run; allowed: {allowed}")
    f = run.laid.forcing
    days = range(run.start_min // DAY_MIN - 1, run.end_min // DAY_MIN + 1)
    spans = [night_minutes(run.scenario, day) for day in days]
    whole = [(bed, wake) for bed, wake in spans if bed >= run.start_min and wake <= run.end_min]
    bed, wake = whole[night]
    inside = (f.start_s >= bed * 60.0 - 1e-6) & (f.start_s < wake * 60.0 - 1e-6)
    return np.flatnonzero(inside), str(nights.index[night].date())


def joules(result: Result, at: npt.NDArray[np.intp], *names: str) -> Array:
    """Energy of mean flows of `Result.intervals` in given intervals, added up [J]."""
    p = result.intervals.iloc[at]
    return (p[list(names)].sum(axis=1) * p["span_s"]).to_numpy()


def heat_by_cause(result: Result, at: npt.NDArray[np.intp]) -> dict[str, Array]:
    """Heat into the cabin by cause in given pieces [J]; their sum is what cooler and coil fan exchange took out.

    Parameters
    ----------
    result : Result
        A run.
    at : (n,) int array
        Pieces, consecutive.

    Returns
    -------
    dict of str to (n,) array
        Sensible causes, latent heat of the condensate, the coil fan's heat, and heat given up by cabin and contents.
    """
    run, p = result.run, result.intervals.iloc[at]
    f, gains = run.laid.forcing, run.laid.gains
    span = p["span_s"].to_numpy()
    difference = ((p["outdoor_c"] - p["cabin_c"]) * p["span_s"]).to_numpy()
    faces = gains.ua_w_k[at] * difference[:, None] + gains.sol_air_gain_w[at] * span[:, None]
    by_face = dict(zip(FACES, faces.T, strict=True))
    leakage = f.air_w_k[at] * difference
    return {
        "roof": by_face["roof"],
        "walls": np.sum([by_face[name] for name in WALLS], axis=0),
        "floor": by_face["floor"],
        "glass, sun": (f.sun_air_w + f.sun_contents_w)[at] * span,
        "glass, conduction": gains.glass_ua_w_k[at] * difference + gains.glass_gain_w[at] * span,
        "leakage": leakage,
        "roof fan's air": joules(result, at, "air_exchange_w") - leakage,
        "people and dogs": joules(result, at, "people_w"),
        "equipment": f.internal_gains_w[at] * span,
        "latent": -joules(result, at, "latent_w"),
        "stored heat": -joules(result, at, "stored_w"),
        "vehicle's own cooling": joules(result, at, "vehicle_w"),
        LOSSES: joules(result, at, "bank_to_cabin_w"),
        FANS: _by_mode_j(result, at, run.cooling.blower_w),
    }


def _by_mode_j(result: Result, at: npt.NDArray[np.intp], watts: Array) -> Array:
    """Energy of something that takes so many watts in eco and in boost while the compressor runs [J]."""
    p = result.intervals.iloc[at]
    mean_w = (p["duty"] - p["boost"]) * watts[ECO] + p["boost"] * watts[BOOST]
    return (mean_w * p["span_s"]).to_numpy()


def _machine(result: Result, at: npt.NDArray[np.intp]) -> tuple[dict[str, Any], Array]:
    """Electricity of fans and standby and of cycling, and the rest of the compressor's, in given intervals [J]."""
    run, p = result.run, result.intervals.iloc[at]
    cooler, span = run.scenario.cooler, p["span_s"].to_numpy()
    enabled = np.where(run.laid.forcing.cooling[at] == COOLING_OFF, 0.0, (1.0 - p["disconnected"].to_numpy()) * span)
    fans = run.constants.standby_w * enabled + run.constants.fan_w * p["fan"].to_numpy() * span
    if cooler is not None:
        fans = fans + _by_mode_j(result, at, cooler_parameters(cooler).fans_w)
    compressor = joules(result, at, "cooler_w") - fans
    steady = -joules(result, at, "steady_w")
    withheld = steady + joules(result, at, "sensible_w")
    share = np.clip(np.divide(withheld, steady, out=np.zeros_like(steady), where=steady > 0.0), 0.0, 1.0)
    cycling = compressor * share
    return {FANS: fans, CYCLING: cycling, LOSSES: np.zeros(at.size)}, compressor - cycling
