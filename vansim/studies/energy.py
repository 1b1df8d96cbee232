"""Where a night's electricity went: to the roof, to the glass, to the people, to the machine itself.

Method. Interval by interval of the account, from when the plan first switches cooling on to waking:

1. The cooler's electricity is compressor, fans and standby. Fans and standby are known; the rest is the compressor's.
2. What the start-up ramp withheld of the steady cooling, over the steady cooling, is the share of the compressor's
   electricity that goes to cycling.
3. Causes bring heat into the cabin. The latent heat of the condensate belongs to whatever brought moisture in that
   interval, in proportion: bodies, leakage and the roof fan's air where they are damper than the cabin, and cabin and
   fabrics where they dry.
4. The rest of the compressor's electricity is shared over the causes whose heat, moisture included, was positive in
   that interval, in proportion to it. What removed heat in the same interval (a cold sky, cool outdoor air, contents
   taking up heat) gets none; its credit is spread over the positive ones by the same proportion, since it lessened the
   work for all of them alike.
5. Loads, and losses in bank and cables, are added as metered.

So every watt-hour is given to one cause, and the sum is the meter: cooler, loads and losses. It is a bookkeeping of
what happened. What would happen without a cause stands beside it, found by marching the account anew
(`vansim.studies.without`). Those savings do not add up to the total: a cause that is gone takes its part of fans,
cycling and losses with it; what cools the cabin stays, and then does more of the work; and where the bank runs empty
the cooling goes on for longer and may use as much.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

import numpy as np
import numpy.typing as npt
import pandas as pd

from vansim.boundary.forcing import Forcing, rows_of
from vansim.notes import Note
from vansim.runs.night import Night
from vansim.runs.result import Result
from vansim.scenario.schema import AT_BEDTIME
from vansim.studies.without import WALLS, enabled_s, joules, savings
from vansim.van.cabin import FACES
from vansim.van.cooler import BOOST, ECO, cooler_parameters
from vansim.van.people import dog_sensible_share, person_sensible_share

Array = npt.NDArray[np.float64]

HEATS = (
    "roof", "walls", "floor", "glass_sun", "glass_conduction", "leakage", "roof_fan_air", "people", "dogs", "equipment",
    "stored_heat", "stored_moisture", "vehicle_cooling", "bank_losses", "fans_and_standby",
)  # fmt: skip
CAUSES = (*HEATS, "cycling", "loads")
"""Causes of a night's electricity.

roof, walls, floor  conduction through opaque faces, with the sun and the sky on them
glass_sun           sun through glass
glass_conduction    conduction through glass, with the sky on it
leakage             air through cracks, doors and windows, with its moisture
roof_fan_air        air that the roof fan moves, with its moisture
people, dogs        their heat, with the moisture of breath and sweat
equipment           heat of other loads in the cabin
stored_heat         heat given up by cabin and contents, left by the day
stored_moisture     moisture given up by cabin air and fabrics
vehicle_cooling     the vehicle's own cooling; it only takes heat out
bank_losses         losses in bank and cables, and their heat in the cabin
fans_and_standby    fans of the cooler and roof fan, standby, and the heat of the blower
cycling             cooling that is lost at each start of the compressor
loads               all other loads
"""


@dataclass(frozen=True)
class Energy:
    """Where the electricity of a night's account went.

    Attributes
    ----------
    table : DataFrame
        Indexed by `cause`, one of `CAUSES`, the largest first. `heat_wh` is the heat that it brought into the cabin,
        net over the account, moisture included (negative where it cooled). `evening_wh` and `night_wh` are its
        electricity before and after bedtime, `electric_wh` both, `share` its part of the whole. `saved_wh` is what the
        account would use less without it (negative where it helps), `waking_soc_without` the state of charge at waking
        then, `empty_at_without` when the bank would be empty then (not-a-time where it would not).
    night, nights : int
        Which night of the run, from 0, and how many it has.
    date, account, bedtime, waking : Timestamp
        Date of its bedtime; where the account begins, bedtime and waking.
    label : str
        What the plan calls such a night.
    full_at_bedtime : bool
        Whether accounts begin at bedtime as asked, so that the evening is not counted.
    cooler_wh, loads_wh, losses_wh : float
        The meter over the account: cooler, other loads, losses in bank and cables [Wh].
    cycle_wh : float
        The cooler's electricity of one start of its compressor, mean of the account [Wh]; not-a-number without a start.
        The thermostat's phase at waking alone makes such a difference: savings that are not larger say nothing.
    waking_soc : float
        State of charge at waking, as it was.
    empty_at : Timestamp or None
        When the bank was empty, if it was.
    notes : tuple of Note
        ``savings-limited-by-bank`` where it was: without a cause the cooling goes on for longer, so that the gain shows
        in `empty_at_without` and `waking_soc_without` rather than in `saved_wh`.
    """

    table: pd.DataFrame
    night: int
    nights: int
    date: pd.Timestamp
    account: pd.Timestamp
    bedtime: pd.Timestamp
    waking: pd.Timestamp
    label: str
    full_at_bedtime: bool
    cooler_wh: float
    loads_wh: float
    losses_wh: float
    cycle_wh: float
    waking_soc: float
    empty_at: pd.Timestamp | None
    notes: tuple[Note, ...]

    @property
    def meter_wh(self) -> float:
        """Cooler, loads and losses over the account [Wh]."""
        return self.cooler_wh + self.loads_wh + self.losses_wh

    @property
    def largest(self) -> str:
        """The cause with the largest share."""
        return str(self.table.index[0])


def energy(result: Result, night: int = 0) -> Energy:
    """Give the electricity of a night's account to its causes, and say what it would save without each.

    Parameters
    ----------
    result : Result
        A run with that night in it.
    night : int
        Row of `result.nights`, from 0; negative from the end.

    Returns
    -------
    Energy
        Shares add up to 1; savings do not add up to the total, as the head of this file says. Without a cause the
        account begins with the same charge, after two days that lacked the cause as well. What is taken out: the
        conductance of a face with sun and sky on it; sun through glass; conduction through glass; all air through
        cracks and windows; the roof fan; people; dogs; heat of other loads; warmth of cabin and contents above the set
        point where the account begins; moisture then beyond that at waking; the vehicle's own cooling; all losses of
        the bank; fans' power and standby; the start-up ramp; other loads with their heat.

    Raises
    ------
    ScenarioError
        No such night in the run.
    """
    found = result.night(night)
    used = electricity(result, found)
    bedtime = found.evening.stop - found.evening.start
    table = pd.DataFrame(
        {
            "heat_wh": heat_by_cause(result, _account(found)).sum() / 3600.0,
            "evening_wh": used.iloc[:bedtime].sum() / 3600.0,
            "night_wh": used.iloc[bedtime:].sum() / 3600.0,
        },
        index=pd.Index(CAUSES, name="cause"),
    ).fillna({"heat_wh": 0.0})
    table["electric_wh"] = table["evening_wh"] + table["night_wh"]
    table["share"] = table["electric_wh"] / max(table["electric_wh"].sum(), 1e-12)
    table = table.join(savings(result, found, CAUSES)).sort_values("electric_wh", ascending=False, kind="stable")
    row, intervals = found.row, result.intervals.iloc[_account(found)]
    empty_at = None if pd.isna(row["empty_at"]) else row["empty_at"]
    cooler_wh, starts = float(joules(intervals, "cooler_w").sum()) / 3600.0, int(intervals["starts"].sum())
    return Energy(
        table=table,
        night=found.place,
        nights=len(result.nights),
        date=found.date,
        account=row["account_start"],
        bedtime=found.bedtime,
        waking=found.waking,
        label=found.label,
        full_at_bedtime=result.run.scenario.run.start == AT_BEDTIME,
        cooler_wh=cooler_wh,
        loads_wh=float(joules(intervals, "loads_w").sum()) / 3600.0,
        losses_wh=float(joules(intervals, "bank_heat_w", "bank_lost_w").sum()) / 3600.0,
        cycle_wh=cooler_wh / starts if starts else float("nan"),
        waking_soc=float(row["waking_soc"]),
        empty_at=empty_at,
        notes=() if empty_at is None else (Note("savings-limited-by-bank"),),
    )


def _account(night: Night) -> slice:
    """Intervals of a night's account."""
    return slice(night.evening.start, night.asleep.stop)


def electricity(result: Result, night: Night) -> pd.DataFrame:
    """Electricity of each cause in each interval of a night's account [J].

    Parameters
    ----------
    result, night : Result, Night
        A run and one of its nights.

    Returns
    -------
    DataFrame
        A row an interval, a column for each of `CAUSES`; a row adds up to the meter's cooler, loads and losses.
    """
    at = _account(night)
    intervals, positive = result.intervals.iloc[at], heat_by_cause(result, at).clip(lower=0.0).to_numpy()
    roof_fan = result.run.constants.fan_w * joules(intervals, "fan")  # metered with the other loads
    fans, cycling, rest = _machine(result, at)
    total = positive.sum(axis=1)
    parts = np.divide(positive, total[:, None], out=np.zeros_like(positive), where=total[:, None] > 0.0)
    used = pd.DataFrame(rest[:, None] * parts, columns=list(HEATS))
    used["fans_and_standby"] += fans + roof_fan
    # a compressor that ran without any load to share: its start was for nothing
    used["cycling"] = cycling + np.where(total > 0.0, 0.0, rest)
    used["bank_losses"] += joules(intervals, "bank_heat_w", "bank_lost_w", "feed_w")
    used["loads"] = joules(intervals, "loads_w") - roof_fan
    return used[list(CAUSES)]


# --- heat and moisture ------------------------------------------------------------------------------------------------


def heat_by_cause(result: Result, at: slice) -> pd.DataFrame:
    """Heat into the cabin by cause, moisture included, in some intervals of a run [J].

    Parameters
    ----------
    result : Result
        A run.
    at : slice
        Intervals, consecutive.

    Returns
    -------
    DataFrame
        A row an interval, a column for each of `HEATS`. But for the heat of the blower (`fans_and_standby`), a row adds
        up to what the coil took out, blower taken off: sensible and latent.
    """
    run, p = result.run, result.intervals.iloc[at]
    f, gains = rows_of(run.laid.forcing, at.start, at.stop), run.laid.gains
    span, difference_k = p["span_s"].to_numpy(), (p["outdoor_c"] - p["cabin_c"]).to_numpy()
    faces = gains.ua_w_k[at] * difference_k[:, None] + gains.sol_air_gain_w[at]
    by_face = dict(zip(FACES, faces.T, strict=True))
    leakage = f.air_w_k * difference_k + p["opening_w"].to_numpy()
    people_w, dogs_w = _dry_w(p, f)
    dry_w: dict[str, Any] = {
        "roof": by_face["roof"] + p["roof_outward_w"].to_numpy(),
        "walls": np.sum([by_face[name] for name in WALLS], axis=0),
        "floor": by_face["floor"] + p["floor_outward_w"].to_numpy(),
        "glass_sun": f.sun_air_w + f.sun_contents_w,
        "glass_conduction": gains.glass_ua_w_k[at] * difference_k + gains.glass_gain_w[at],
        "leakage": leakage,
        "roof_fan_air": np.where(p["fan"] > 0.0, p["air_exchange_w"] - leakage, 0.0),
        "people": people_w,
        "dogs": dogs_w,
        "equipment": p["equipment_w"],
        "stored_heat": -p["stored_w"],
        "vehicle_cooling": p["vehicle_w"],
        "bank_losses": p["bank_to_cabin_w"],
        "fans_and_standby": _by_mode_w(p, run.cooling.blower_w),
    }
    heat = pd.DataFrame({name: np.asarray(watts) * span for name, watts in dry_w.items()})
    moisture = _moisture_kg_s(p, f, people_w, dogs_w).clip(lower=0.0)
    brought = moisture.sum(axis=1)
    latent = moisture.div(brought.where(brought > 0.0, 1.0), axis=0).mul(-joules(p, "latent_w"), axis=0)
    return heat.add(latent, fill_value=0.0)[list(HEATS)]


def _dry_w(p: pd.DataFrame, f: Forcing) -> tuple[Array, Array]:
    """Dry heat of people and of dogs [W].

    The march writes down both together; they are parted by their dry shares at the mean temperature of the interval.
    """
    cabin_c = p["cabin_c"].to_numpy()
    people = f.people_w * np.array([person_sensible_share(c) for c in cabin_c])
    dogs = f.dogs_w * np.array([dog_sensible_share(c) for c in cabin_c])
    both, booked = people + dogs, p["people_w"].to_numpy()
    # all breath and no dry heat at all: nothing to part
    share = np.divide(people, both, out=np.zeros_like(both), where=both > 0.0)
    return booked * share, booked * (1.0 - share)


def _moisture_kg_s(p: pd.DataFrame, f: Forcing, people_w: Array, dogs_w: Array) -> pd.DataFrame:
    """Moisture brought into the cabin air by cause [kg/s], negative where it was taken out."""
    wet_people, wet_dogs = f.people_w - people_w, f.dogs_w - dogs_w
    wet, vapour = wet_people + wet_dogs, p["vapour_kg_s"].to_numpy()
    share = np.divide(wet_people, wet, out=np.zeros_like(wet), where=wet > 0.0)
    leakage = f.air_kg_s * (f.outdoor_ratio - p["cabin_ratio"].to_numpy()) + p["opening_kg_s"].to_numpy()
    return pd.DataFrame(
        {
            "leakage": leakage,
            "roof_fan_air": np.where(p["fan"] > 0.0, p["air_exchange_kg_s"] - leakage, 0.0),
            "people": vapour * share,
            "dogs": vapour * (1.0 - share),
            "stored_moisture": -p["stored_kg_s"].to_numpy(),
        }
    )


# --- the machine ------------------------------------------------------------------------------------------------------


def _by_mode_w(p: pd.DataFrame, watts: Array) -> Array:
    """Mean of something that takes so many watts in eco and in boost while the compressor runs [W]."""
    found: Array = ((p["duty"] - p["boost"]) * watts[ECO] + p["boost"] * watts[BOOST]).to_numpy()
    return found


def _machine(result: Result, at: slice) -> tuple[Array, Array, Array]:
    """Electricity of the cooler's fans and standby, of cycling, and the rest of the compressor's, each interval [J]."""
    run, p = result.run, result.intervals.iloc[at]
    cooler, span = run.scenario.cooler, p["span_s"].to_numpy()
    enabled = enabled_s(p, rows_of(run.laid.forcing, at.start, at.stop))
    fans = run.constants.standby_w * enabled
    if cooler is not None:
        fans = fans + _by_mode_w(p, cooler_parameters(cooler).fans_w) * span
    compressor = joules(p, "cooler_w") - joules(p, "feed_w") - fans
    steady = -joules(p, "steady_w")
    withheld = steady + joules(p, "sensible_w")
    share = np.clip(np.divide(withheld, steady, out=np.zeros_like(steady), where=steady > 0.0), 0.0, 1.0)
    return fans, compressor * share, compressor * (1.0 - share)
