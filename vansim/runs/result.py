"""What a run means: hourly tables, nights, balances and the summary that others script against."""

from __future__ import annotations

import json
from functools import cached_property
from pathlib import Path
from typing import Any

import numpy as np
import numpy.typing as npt
import pandas as pd

from vansim.boundary.forcing import night_minutes
from vansim.march.records import DISCONNECTED, EVENT_NAMES, STARTED, STOPPED, sums
from vansim.output_files import scenario_hash, write_together
from vansim.psychrometrics import relative_humidity
from vansim.runs.night_table import NIGHTLY, night_row
from vansim.runs.run import Marched, Run, follow
from vansim.scenario.schema import DAY_MIN
from vansim.van.bank import energy_at
from vansim.version import __version__

Array = npt.NDArray[Any]

EVAPORATION_J_KG = 2.45e6
"""Heat of condensing on the coil [J/kg], at about 20 °C."""


class Result:
    """A finished run.

    Parameters
    ----------
    run : Run
        What was asked.
    marched : Marched
        What the kernel made of it.

    Attributes
    ----------
    hourly : DataFrame
        Mean flows per hour, `soc` at its end.
    nights : DataFrame
        One row a night.
    summary : dict
        Plain numbers and words, for JSON.
    status, message : str
        ``"kept"``, ``"bank_empty"``, ``"too_warm"`` or ``"no_night"``, and a sentence.
    balance : dict
        Closure of heat, moisture and bank, relative to what flowed.
    """

    def __init__(self, run: Run, marched: Marched) -> None:
        self.run = run
        self.marched = marched

    @property
    def _zone(self) -> Any:
        return pd.DatetimeIndex(self.run.weather.data.index).tz

    # --- tables -----------------------------------------------------------------------------------------------------

    @cached_property
    def index(self) -> pd.DatetimeIndex:
        """Hours of the run, beginning, in the place's standard time."""
        f = self.run.laid.forcing
        first = int(f.start_s[0] // 3600)
        count = int(-(-f.end_s[-1] // 3600)) - first
        zone = self._zone
        midnight = pd.Timestamp(2001, 1, 1, tz=zone) + pd.Timedelta(hours=self.run.first_hour)
        return pd.DatetimeIndex(pd.date_range(midnight + pd.Timedelta(hours=first), periods=count, freq="h"))

    @cached_property
    def intervals(self) -> pd.DataFrame:
        """One row an interval of forcing: mean flows [W], shares of its time, counts, and states at its end.

        `start_s` counts from midnight of the run's first day, `span_s` is its length. An interval ends at every full
        hour and wherever the plan or the loads change.
        """
        f, totals = self.run.laid.forcing, self.marched.totals
        span = f.end_s - f.start_s
        shown = {
            "start_s": f.start_s,
            "span_s": span,
            "outdoor_c": f.outdoor_c + 0.5 * f.outdoor_k_s * span,
            "outdoor_low_c": np.minimum(f.outdoor_c, f.outdoor_c + f.outdoor_k_s * span),
            "cabin_c": totals.cabin_ks / span,
            "contents_c": totals.contents_ks / span,
            "cabin_ratio": totals.ratio_s / span,
            "faces_w": totals.envelope_j / span,
            "glass_solar_w": f.sun_air_w + f.sun_contents_w,
            "air_exchange_w": totals.air_exchange_j / span,
            "people_w": totals.occupants_j / span,
            "equipment_w": f.internal_gains_w + totals.bank_to_cabin_j / span,
            "sensible_w": -totals.sensible_j / span,
            "latent_w": -totals.condensate_kg / span * EVAPORATION_J_KG,
            "vehicle_w": -totals.vehicle_cooling_j / span,
            "duty": totals.on_s / span,
            "starts": totals.starts,
            "supply_ks": totals.supply_ks,
            "fan": totals.fan_s / span,
            "cooler_w": totals.cooler_j / span,
            "loads_w": totals.loads_j / span,
            "solar_w": totals.solar_j / span,
            "alternator_w": totals.alternator_j / span,
            "shore_w": totals.shore_j / span,
            "bank_w": totals.bank_j / span,
            "bank_a": totals.bank_as / span,
            "bank_v": totals.end_bank_v,
            "unserved_w": totals.unserved_j / span,
            "disconnected": totals.disconnected_s / span,
            "over_limit": totals.over_s / span,
            "cabin_max_c": totals.cabin_max_c,
            "soc": totals.end_soc,
            "boost": totals.boost_s / span,
            "steady_w": -totals.steady_j / span,
            "bank_to_cabin_w": totals.bank_to_cabin_j / span,
            "bank_heat_w": totals.bank_heat_j / span,
            "bank_lost_w": totals.bank_lost_j / span,
            "stored_w": self._stored_j() / span,
        }
        return pd.DataFrame(shown)

    def _stored_j(self) -> Array:
        """Heat taken up by air and contents in each interval [J]."""
        h, start, totals = self.run.house, self.marched.start, self.marched.totals
        air = np.diff(totals.end_cabin_c, prepend=start.cabin_c)
        contents = np.diff(totals.end_contents_c, prepend=start.contents_c)
        return h.air_j_k * air + h.contents_j_k * contents

    @cached_property
    def hourly(self) -> pd.DataFrame:
        """Mean flows of each hour; columns as in the contract, hour-beginning, `soc` and `bank_v` at its end."""
        p = self.intervals.drop(columns=list(NOT_HOURLY))
        hour = (p["start_s"] // 3600).astype(int)
        weights = p["span_s"]
        total = weights.groupby(hour).sum()
        columns: dict[str, Any] = {}
        for name in p.columns.drop(["start_s", "span_s"]):
            if name in NOT_MEANS:
                columns[name] = p[name].groupby(hour).agg(NOT_MEANS[name])
            else:
                columns[name] = (p[name] * weights).groupby(hour).sum() / total
        table = pd.DataFrame(columns)
        on_s = (p["duty"] * weights).groupby(hour).sum()
        table["supply_c"] = (table.pop("supply_ks") / on_s).where(on_s > 0.0)
        pressure = self.run.house.pressure_pa
        table["cabin_rh"] = [
            relative_humidity(c, w, pressure) for c, w in zip(table["cabin_c"], table["cabin_ratio"], strict=True)
        ]
        rows = (self.run.first_hour + table.index.to_numpy()) % len(self.run.weather.data)
        table["ghi_w_m2"] = self.run.weather.data["ghi"].to_numpy()[rows]
        table.index = self.index
        return table[[c for c in HOURLY if c in table] + [c for c in table if c not in HOURLY]]

    @cached_property
    def events(self) -> pd.DataFrame:
        """Switchings in order: `time_s` [s since midnight of the first day] and `kind`.

        Kinds are ``"started"`` and ``"stopped"`` for the compressor, ``"disconnected"`` and ``"reconnected"`` for the
        cooler at the bank's reserve.
        """
        events = self.marched.events
        return pd.DataFrame({"time_s": events.time_s, "kind": np.array(EVENT_NAMES)[events.kind]})

    @cached_property
    def compressor_runs(self) -> pd.DataFrame:
        """Times for which the compressor was on, `start_s` to `end_s`, exact to the switching."""
        runs = []
        since = self.run.laid.forcing.start_s[0] if self.marched.start.on > 0.0 else None
        for event in self.marched.events:
            if event.kind == STARTED:
                since = event.time_s
            elif event.kind in (STOPPED, DISCONNECTED) and since is not None:
                runs.append((since, event.time_s))
                since = None
        if since is not None:
            runs.append((since, self.marched.end_s))
        return pd.DataFrame(runs, columns=["start_s", "end_s"], dtype=float)

    def follow(self, moments: Array) -> pd.DataFrame:
        """The fine picture at given moments, from the closed form, not interpolated.

        Parameters
        ----------
        moments : (n,) array
            Increasing times within the run [s since midnight of its first day].

        Returns
        -------
        DataFrame
            `outdoor_c, cabin_c, contents_c, cabin_rh, on, boost, cooler_w, loads_w, bank_w, bank_v, soc`, indexed by
            the moments.
        """
        return follow(self.run.laid.forcing, self.run.van, self.marched.start.copy(), moments)

    def trace(self, step: str = "1min") -> pd.DataFrame:
        """The fine picture at even moments.

        Parameters
        ----------
        step : str
            Pandas offset, for example ``"1min"``.

        Returns
        -------
        DataFrame
            As `follow`, at the end of each step, indexed by the date and the time of day.
        """
        f = self.run.laid.forcing
        seconds = pd.Timedelta(step).total_seconds()
        moments = np.arange(f.start_s[0] + seconds, f.end_s[-1] + 1e-6, seconds)
        start = self.index[0].normalize() - pd.Timedelta(days=int(f.start_s[0] // 86400))
        return self.follow(moments).set_index(start + pd.to_timedelta(moments, unit="s"))

    @cached_property
    def nights(self) -> pd.DataFrame:
        """One row a night from bedtime to waking; nights cut by the end of the run are left out.

        `runtime_h` is the time from bedtime until the reserve, not-a-number where it was not reached before waking.
        """
        p = self.intervals
        start, end = self.run.start_min, self.run.end_min
        rows = []
        for day in range(start // DAY_MIN - 1, end // DAY_MIN + 1):
            bed, wake = night_minutes(self.run.scenario, day)
            if bed >= start and wake <= end:
                at = (p["start_s"] >= bed * 60 - 1e-6) & (p["start_s"] < wake * 60 - 1e-6)
                rows.append(night_row(self.run, self.marched.events, p[at], bed, wake))
        table = pd.DataFrame(rows, columns=list(NIGHTLY))
        return table.set_index("date") if len(table) else table

    # --- meaning ----------------------------------------------------------------------------------------------------

    @cached_property
    def status(self) -> str:
        """`kept`, `bank_empty`, `too_warm`, or `no_night` where no whole night was run."""
        nights = self.nights
        if not len(nights):
            return "no_night"
        if nights["kept"].all():
            return "kept"
        return "bank_empty" if nights["runtime_h"].notna().any() else "too_warm"

    @cached_property
    def message(self) -> str:
        """The status in a sentence."""
        nights = self.nights
        kept, n = int(nights["kept"].sum()) if len(nights) else 0, len(nights)
        asked = self.run.scenario.night
        limit, called = asked.limit_c, asked.called
        since = "bedtime" if called == "night" else asked.bedtime
        if self.status == "no_night":
            return f"No whole {called} lies in this run."
        if self.status == "kept":
            lasts = f"The cooling lasts the {called}" if n == 1 else f"The cooling lasts on all {n} {called}s"
            return f"{lasts}: the bank stays above its reserve and the cabin at or below {limit:g} °C."
        if self.status == "bank_empty":
            first = nights["runtime_h"].dropna()
            if n == 1:
                return f"The bank reaches its reserve {first.iloc[0]:.1f} h after {since}."
            return f"The cooling lasts on {kept} of {n} {called}s; on {len(first)} the bank reaches its reserve first."
        lost = nights[~nights["kept"]]
        hours = lost["over_limit_h"].sum()
        cause = {"cooler too small": "the cooler is too small", "controls": "it is not cooled down in time"}
        reason = cause[lost["why"].mode().iloc[0]]
        return f"The bank lasts, but the cabin is above {limit:g} °C for {hours:.1f} h: {reason}."

    @cached_property
    def balance(self) -> dict[str, float]:
        """Closure of the three balances: what came in, less what went out and what stayed, over what flowed."""
        f, totals, h, b = self.run.laid.forcing, self.marched.totals, self.run.house, self.run.bank
        span = f.end_s - f.start_s
        first, last = self.marched.start, self.marched.end
        total = sums(totals)

        def moved(*names: str) -> float:
            return float(sum(np.abs(totals[name]).sum() for name in names))

        sun_j = float(((f.sun_air_w + f.sun_contents_w) * span).sum())
        gains_j = total.occupants_j + total.bank_to_cabin_j + sun_j + float((f.internal_gains_w * span).sum())
        heat = total.envelope_j + total.air_exchange_j + gains_j - total.sensible_j - total.vehicle_cooling_j
        heat_kept = h.air_j_k * (last.cabin_c - first.cabin_c) + h.contents_j_k * (last.contents_c - first.contents_c)
        heat_moved = moved("envelope_j", "air_exchange_j", "occupants_j", "sensible_j") + sun_j
        water = total.vapour_kg + total.air_exchange_kg - total.condensate_kg - total.wall_condensate_kg
        water_kept = h.moisture_kg * (last.ratio - first.ratio)
        water_moved = moved("vapour_kg", "air_exchange_kg", "condensate_kg")
        stored = (energy_at(b, last.soc) - energy_at(b, first.soc)) * b.capacity_as
        bank = total.bank_j - total.bank_heat_j - total.bank_lost_j - stored
        supply = total.solar_j + total.alternator_j + total.shore_j + total.unserved_j
        used = total.cooler_j + total.loads_j
        return {
            "heat": float((heat - heat_kept) / max(heat_moved, 1.0)),
            "moisture": float((water - water_kept) / max(water_moved, 1e-3)),
            "bank": float(bank / max(moved("bank_j"), 1.0)),
            "busbar": float((supply - used - total.bank_j) / max(used, 1.0)),
        }

    @cached_property
    def summary(self) -> dict[str, Any]:
        """Plain dict: what was run, what came out, how well the books close."""
        scenario, p = self.run.scenario, self.intervals
        hours = p["span_s"] / 3600.0
        nights = self.nights
        shortest = nights["runtime_h"].min() if len(nights) and nights["runtime_h"].notna().any() else None

        def energy(name: str) -> float:
            return float((p[name] * hours).sum())

        return {
            "title": scenario.title,
            "version": __version__,
            "scenario_hash": scenario_hash(scenario),
            "weather": {
                "place": self.run.weather.site.name,
                "kind": self.run.weather.kind,
                "source": Path(self.run.weather.source).name,
            },
            "units": "SI: W, Wh, h, °C; soc and duty are fractions",
            "from": self.index[0].isoformat(),
            "hours": float(hours.sum()),
            "status": self.status,
            "message": self.message,
            "nights": len(nights),
            "nights_kept": int(nights["kept"].sum()) if len(nights) else 0,
            "runtime_h": None if shortest is None else float(shortest),
            "lowest_soc": float(p["soc"].min()),
            "end_soc": float(self.marched.end.soc),
            "cabin_max_c": float(nights["cabin_max_c"].max()) if len(nights) else None,
            "duty": float((p["duty"] * hours).sum() / hours.sum()),
            "starts": int(p["starts"].sum()),
            "cooler_wh": energy("cooler_w"),
            "loads_wh": energy("loads_w"),
            "solar_wh": energy("solar_w"),
            "alternator_wh": energy("alternator_w"),
            "shore_wh": energy("shore_w"),
            "unserved_wh": energy("unserved_w"),
            "warnings": list(self.warnings),
            "balance": self.balance,
        }

    @cached_property
    def warnings(self) -> tuple[str, ...]:
        """What in the design asks for a second look, in sentences."""
        scenario, found = self.run.scenario, []
        unit, cooler = scenario.bank.unit, scenario.cooler
        if cooler is not None and unit.discharge_max_a > 0.0:
            limit = unit.discharge_max_a * scenario.bank.parallel
            watts = max(cooler.rated.power_w, cooler.power_max_w) + float(self.run.laid.forcing.loads_w.max())
            amps = watts / (scenario.bank.nominal_v * 1.05)
            if amps > limit:
                found.append(
                    f"Cooler flat out and other loads draw about {amps:.0f} A; the bank is rated for {limit:.0f} A."
                )
        if self.intervals["unserved_w"].max() > 1.0:
            found.append("The bank ran quite empty, and other loads went dark.")
        return tuple(found)

    # --- files ------------------------------------------------------------------------------------------------------

    def save(self, folder: str | Path) -> list[Path]:
        """Write `hourly.csv`, `nights.csv` and `summary.json`, all or none.

        Parameters
        ----------
        folder : path
            Made if it is not there.

        Returns
        -------
        list of Path
            The files.
        """
        return write_together(Path(folder), self.files())

    def files(self) -> dict[str, bytes]:
        """The files of `save` by name, not yet written."""
        texts = {
            "hourly.csv": self.hourly.round(6).to_csv(index_label="hour_beginning"),
            "nights.csv": self.nights.to_csv(),
            "summary.json": json.dumps(self.summary, indent=2, ensure_ascii=False) + "\n",
        }
        return {name: text.encode() for name, text in texts.items()}


HOURLY = (
    "outdoor_c", "cabin_c", "contents_c", "cabin_rh", "ghi_w_m2", "faces_w", "glass_solar_w", "air_exchange_w",
    "people_w", "equipment_w", "sensible_w", "latent_w", "vehicle_w", "duty", "starts", "supply_c", "cooler_w",
    "loads_w", "solar_w", "alternator_w", "shore_w", "bank_w", "bank_v", "bank_a", "soc", "unserved_w",
)  # fmt: skip
"""Columns of `Result.hourly` that others script against, in their order; any further column of `Result.intervals`
follows behind."""
NOT_HOURLY = ("boost", "steady_w", "bank_to_cabin_w", "bank_heat_w", "bank_lost_w", "stored_w")
"""Columns of `Result.intervals` that only an account of energy needs."""
NOT_MEANS = {
    "starts": "sum", "supply_ks": "sum", "soc": "last", "bank_v": "last", "cabin_max_c": "max", "outdoor_low_c": "min",
}  # fmt: skip
"""Columns of an hour that are not means over its time."""
