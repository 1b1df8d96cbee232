"""What a run means: hourly tables, nights, balances and the summary that others script against."""

from __future__ import annotations

import json
from pathlib import Path
from typing import Any

import numpy as np
import numpy.typing as npt
import pandas as pd

from vansim.climate.seasons import NightRange
from vansim.errors import ScenarioError
from vansim.lazy import lazy
from vansim.march.records import DISCONNECTED, EVENT_NAMES, STARTED, STOPPED, Records
from vansim.notes import Note
from vansim.output_files import write_together
from vansim.psychrometrics import relative_humidity
from vansim.runs.balance import balance_of
from vansim.runs.night import Night
from vansim.runs.night_table import NIGHTLY, night_table
from vansim.runs.recharge import recharge_forcings, recharge_hours
from vansim.runs.run import Marched, Run, follow
from vansim.runs.season import SeasonRun, consecutive, lay_nights
from vansim.runs.summary import answer, summary, warnings
from vansim.scenario.night_times import night_times
from vansim.scenario.schema import DAY_MIN

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
        ``"covered"``, ``"bank_empty"``, ``"too_warm"`` or ``"no_night"``; and the answer in words.
    warnings : tuple of Note
        What in the design asks for a second look.
    balance : dict
        Closure of heat, moisture and bank, relative to what flowed.
    """

    def __init__(self, run: Run, marched: Marched) -> None:
        self.run = run
        self.marched = marched

    @property
    def _zone(self) -> Any:
        return pd.DatetimeIndex(self.run.weather.data.index).tz

    @lazy
    def index(self) -> pd.DatetimeIndex:
        """Hours of the run, beginning, in the place's standard time."""
        f = self.run.laid.forcing
        first = int(f.start_s[0] // 3600)
        count = int(-(-f.end_s[-1] // 3600)) - first
        zone = self._zone
        midnight = pd.Timestamp(2001, 1, 1, tz=zone) + pd.Timedelta(hours=self.run.first_hour)
        return pd.DatetimeIndex(pd.date_range(midnight + pd.Timedelta(hours=first), periods=count, freq="h"))

    @lazy
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
            "equipment_w": totals.equipment_j / span,
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
            "pedestal_w": totals.pedestal_j / span,
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
            "feed_w": totals.feed_j / span,
            "charger_loss_w": totals.charger_loss_j / span,
            "stored_w": self._stored_j() / span,
            "vapour_kg_s": totals.vapour_kg / span,
            "air_exchange_kg_s": totals.air_exchange_kg / span,
            "pane_condensate_kg_s": totals.pane_condensate_kg / span,
            "opening_w": totals.opening_j / span,
            "opening_kg_s": totals.opening_kg / span,
            "roof_outward_w": totals.roof_outward_j / span,
            "floor_outward_w": totals.floor_outward_j / span,
            "stored_kg_s": self._stored_kg() / span,
        }
        return pd.DataFrame(shown)

    def _stored_j(self) -> Array:
        """Heat taken up by air and contents in each interval [J]."""
        h, start, totals = self.run.constants, self.marched.start, self.marched.totals
        air = np.diff(totals.end_cabin_c, prepend=start.cabin_c)
        contents = np.diff(totals.end_contents_c, prepend=start.contents_c)
        found: Array = h.air_j_k * air + h.contents_j_k * contents
        return found

    def _stored_kg(self) -> Array:
        """Moisture taken up by air and fabrics in each interval [kg]."""
        totals = self.marched.totals
        found: Array = self.run.constants.moisture_kg * np.diff(totals.end_ratio, prepend=self.marched.start.ratio)
        return found

    @lazy
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
        pressure = self.run.constants.pressure_pa
        table["cabin_rh"] = [
            relative_humidity(c, w, pressure) for c, w in zip(table["cabin_c"], table["cabin_ratio"], strict=True)
        ]
        rows = (self.run.first_hour + table.index.to_numpy()) % len(self.run.weather.data)
        table["ghi_w_m2"] = self.run.weather.data["ghi"].to_numpy()[rows]
        table.index = self.index
        return table[[c for c in HOURLY if c in table] + [c for c in table if c not in HOURLY]]

    @lazy
    def events(self) -> pd.DataFrame:
        """Switchings in order: `time_s` [s since midnight of the first day] and `kind`.

        Kinds are ``"started"`` and ``"stopped"`` for the compressor, ``"disconnected"`` and ``"reconnected"`` for the
        cooler at the bank's reserve.
        """
        events = self.marched.events
        return pd.DataFrame({"time_s": events.time_s, "kind": np.array(EVENT_NAMES)[events.kind]})

    @lazy
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
            `outdoor_c, cabin_c, contents_c, cabin_rh, on, boost, fan, cooler_w, loads_w, bank_w, bank_v, soc`, indexed
            by the moments.
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

    @lazy
    def laid_nights(self) -> SeasonRun | None:
        """The whole nights of the run, laid out; None where there is none."""
        run = self.run
        first, end = run.start_min // DAY_MIN - 1, run.end_min // DAY_MIN + 1
        times = [
            t
            for t in night_times(run.scenario, first, end - first)
            if t.bed_min >= run.start_min and t.wake_min <= run.end_min
        ]
        if not times:
            return None
        nights = NightRange(run.first_hour // 24, len(times), "this run")
        laid = lay_nights(run.scenario, run.weather, nights, times, run.laid)
        laid.rows["day"][0] = 0  # the first night goes on from where the run begins
        return laid

    @lazy
    def _marched_nights(self) -> tuple[Records, Records]:
        """Records of NIGHT, and of STATE at each waking: the march of the run, night by night."""
        assert self.laid_nights is not None
        return consecutive(self.laid_nights, self.run.bank, self.marched.start)

    @lazy
    def nights(self) -> pd.DataFrame:
        """One row a night that lies wholly in the run, by the date of its bedtime.

        Columns as `vansim.runs.night_table.NIGHTLY`, then hours from waking to 98 % by each way of recharging that the
        van is fitted for, `recharge_road_h` and so on; infinite where 48 h do not do it. Whether a night is covered or
        not, its runtime and its recharging are there.
        """
        laid = self.laid_nights
        if laid is None:
            return pd.DataFrame(columns=list(NIGHTLY), index=pd.DatetimeIndex([], name="date", tz=self._zone))
        nights, waking = self._marched_nights
        ways = recharge_forcings(laid, 0, len(laid.times) - 1)
        recharge = [recharge_hours(laid, place, state, ways) for place, state in enumerate(waking)]
        table = night_table(laid, nights)
        return table.assign(**{f"recharge_{way}_h": [hours[way] for hours in recharge] for way in ways})

    def night(self, place: int) -> Night:
        """One night of the run.

        Parameters
        ----------
        place : int
            Row of `nights`, from 0; negative from the end.

        Returns
        -------
        Night
            Its date, times, intervals and row.

        Raises
        ------
        ScenarioError
            There is no such night.
        """
        laid, count = self.laid_nights, len(self.nights)
        if laid is None or not -count <= place < count:
            there = f"it has {count}, counted from 0" if count else "it has none that lies wholly in it"
            raise ScenarioError(f"night {place}: no such night in this run; {there}")
        place %= count
        times, row = laid.times[place], laid.rows[place]
        return Night(
            place=place,
            date=self.nights.index[place],
            label=self.run.scenario.night.label,
            times=times,
            account=self.moment(times.account_min),
            bedtime=self.moment(times.bed_min),
            waking=self.moment(times.wake_min),
            evening=slice(int(row["account"]), int(row["bed"])),
            asleep=slice(int(row["bed"]), int(row["wake"])),
            row=self.nights.iloc[place],
            waking_state=self._marched_nights[1][place],
        )

    def moment(self, minute: float) -> pd.Timestamp:
        """A minute of the run's clock as a time of the typical year."""
        midnight = pd.Timestamp(2001, 1, 1, tz=self._zone) + pd.Timedelta(hours=self.run.first_hour)
        return midnight + pd.Timedelta(minutes=minute)

    # --- meaning ----------------------------------------------------------------------------------------------------

    @lazy
    def status(self) -> str:
        """`covered`, `bank_empty`, `too_warm`, or `no_night` where no whole night was run."""
        nights = self.nights
        if not len(nights):
            return "no_night"
        if nights["covered"].all():
            return "covered"
        return "bank_empty" if nights["empty_at"].notna().any() else "too_warm"

    @lazy
    def message(self) -> str:
        """The status in one or two sentences, in SI units."""
        return self.answer()

    def answer(self, system: str = "si") -> str:
        """The status in one or two sentences.

        Parameters
        ----------
        system : {"si", "us"}
            Units shown.

        Returns
        -------
        str
            Whether the cooling lasts; where it does not, when the bank is empty, how warm the cabin is then, and who
            is aboard.
        """
        return answer(self, system)

    def __repr__(self) -> str:
        return f"<Result of {self.run.scenario.title!r}: {self.message}>"

    @lazy
    def balance(self) -> dict[str, float]:
        """Closure of heat, moisture, bank and busbar, over what flowed; see `vansim.runs.balance`."""
        return balance_of(self.run, self.marched)

    @lazy
    def summary(self) -> dict[str, Any]:
        """Plain dict: what was run, what came out, how well the books close; see `vansim.runs.summary`."""
        return summary(self)

    @lazy
    def warnings(self) -> tuple[Note, ...]:
        """What in the design asks for a second look: ``current-above-battery-limit``, ``loads-unserved``."""
        return warnings(self)

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
    "people_w", "equipment_w", "bank_to_cabin_w", "sensible_w", "latent_w", "vehicle_w", "duty", "starts", "supply_c",
    "cooler_w", "loads_w", "solar_w", "alternator_w", "shore_w", "pedestal_w", "bank_w", "bank_v", "bank_a", "soc",
    "unserved_w",
)  # fmt: skip
"""Columns of `Result.hourly` that others script against, in their order; any further column of `Result.intervals`
follows behind."""
NOT_HOURLY = (
    "boost", "steady_w", "feed_w", "charger_loss_w", "bank_heat_w", "bank_lost_w", "stored_w",
    "vapour_kg_s", "air_exchange_kg_s", "pane_condensate_kg_s", "opening_w", "opening_kg_s", "roof_outward_w",
    "floor_outward_w", "stored_kg_s",
)  # fmt: skip
"""Columns of `Result.intervals` that only an account of energy needs."""
NOT_MEANS = {
    "starts": "sum", "supply_ks": "sum", "soc": "last", "bank_v": "last", "cabin_max_c": "max", "outdoor_low_c": "min",
}  # fmt: skip
"""Columns of an hour that are not means over its time."""
