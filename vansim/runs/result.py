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
from vansim.march import records as k
from vansim.output_files import scenario_hash, write_together
from vansim.psychrometrics import relative_humidity
from vansim.runs.night_table import NIGHTLY, night_row
from vansim.runs.run import Marched, Run, march_run
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
    def pieces(self) -> pd.DataFrame:
        """Books per piece of forcing: mean flows [W], counts, and states at its end."""
        f, o = self.run.laid.forcing, self.marched.out
        span = f.end_s - f.start_s

        def mean(column: int) -> Array:
            return o[:, column] / span

        cabin, sun = mean(k.CABIN_KS), f.sun_air_w + f.sun_contents_w
        bank_w = mean(k.BANK_J)
        amps = mean(k.BANK_AS)
        return pd.DataFrame(
            {
                "start_s": f.start_s,
                "span_s": span,
                "outdoor_c": f.outdoor_c + 0.5 * f.outdoor_k_s * span,
                "outdoor_low_c": np.minimum(f.outdoor_c, f.outdoor_c + f.outdoor_k_s * span),
                "cabin_c": cabin,
                "contents_c": mean(k.CONTENTS_KS),
                "cabin_ratio": mean(k.RATIO_S),
                "faces_w": mean(k.ENVELOPE_J),
                "glass_solar_w": sun,
                "air_exchange_w": mean(k.AIR_J),
                "people_w": mean(k.PEOPLE_J),
                "equipment_w": f.equipment_w + mean(k.BANK_WARM_J),
                "sensible_w": -mean(k.SENSIBLE_J),
                "latent_w": -mean(k.WATER_KG) * EVAPORATION_J_KG,
                "vehicle_w": -mean(k.VEHICLE_J),
                "duty": mean(k.ON_S),
                "starts": o[:, k.STARTS],
                "supply_ks": o[:, k.SUPPLY_KS],
                "fan": mean(k.FAN_S),
                "cooler_w": mean(k.COOLER_J),
                "loads_w": mean(k.LOADS_J),
                "solar_w": mean(k.SOLAR_J),
                "alternator_w": mean(k.ALTERNATOR_J),
                "shore_w": mean(k.SHORE_J),
                "bank_w": bank_w,
                "bank_a": amps,
                "bank_v": o[:, k.END_V],
                "unserved_w": mean(k.UNSERVED_J),
                "shed": mean(k.SHED_S),
                "over_limit": mean(k.OVER_S),
                "cabin_max_c": o[:, k.CABIN_MAX],
                "soc": o[:, k.END_SOC],
            }
        )

    @cached_property
    def hourly(self) -> pd.DataFrame:
        """Mean flows of each hour; columns as in the contract, hour-beginning, `soc` and `bank_v` at its end."""
        p = self.pieces
        hour = (p["start_s"] // 3600).astype(int)
        weights = p["span_s"]
        sums = {"starts", "supply_ks"}
        last = {"soc", "bank_v"}
        columns: dict[str, Any] = {}
        total = weights.groupby(hour).sum()
        for name in p.columns.drop(["start_s", "span_s"]):
            if name in sums:
                columns[name] = p[name].groupby(hour).sum()
            elif name in last:
                columns[name] = p[name].groupby(hour).last()
            elif name == "cabin_max_c":
                columns[name] = p[name].groupby(hour).max()
            elif name == "outdoor_low_c":
                columns[name] = p[name].groupby(hour).min()
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

    def trace(self, step: str = "1min") -> pd.DataFrame:
        """The fine picture: states at even moments, from the closed form, not interpolated.

        Parameters
        ----------
        step : str
            Pandas offset, for example ``"1min"``.

        Returns
        -------
        DataFrame
            `outdoor_c, cabin_c, contents_c, cabin_rh, on, boost, cooler_w, loads_w, bank_w, bank_v, soc` at the end of
            each step.
        """
        f = self.run.laid.forcing
        seconds = pd.Timedelta(step).total_seconds()
        moments = np.arange(f.start_s[0] + seconds, f.end_s[-1] + 1e-6, seconds)
        rows = march_run(self.run, self.marched.start, moments).samples
        pressure = self.run.house.pressure_pa
        humidity = [relative_humidity(r[k.S_CABIN], r[k.S_RATIO], pressure) for r in rows]
        start = self.index[0].normalize() - pd.Timedelta(days=int(f.start_s[0] // 86400))
        return pd.DataFrame(
            {
                "outdoor_c": rows[:, k.S_OUTDOOR],
                "cabin_c": rows[:, k.S_CABIN],
                "contents_c": rows[:, k.S_CONTENTS],
                "cabin_rh": humidity,
                "on": rows[:, k.S_ON],
                "boost": rows[:, k.S_BOOST],
                "cooler_w": rows[:, k.S_COOLER_W],
                "loads_w": rows[:, k.S_LOADS_W],
                "bank_w": rows[:, k.S_BANK_W],
                "bank_v": rows[:, k.S_BANK_V],
                "soc": rows[:, k.S_SOC],
            },
            index=start + pd.to_timedelta(moments, unit="s"),
        )

    @cached_property
    def nights(self) -> pd.DataFrame:
        """One row a night from bedtime to waking; nights cut by the end of the run are left out.

        `runtime_h` is the time from bedtime until the reserve, not-a-number where it was not reached before waking.
        """
        p = self.pieces
        start, end = self.run.start_min, self.run.end_min
        rows = []
        for day in range(start // DAY_MIN - 1, end // DAY_MIN + 1):
            bed, wake = night_minutes(self.run.scenario, day)
            if bed >= start and wake <= end:
                at = (p["start_s"] >= bed * 60 - 1e-6) & (p["start_s"] < wake * 60 - 1e-6)
                rows.append(night_row(self.run, self.marched.log, p[at], bed, wake))
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
        limit, called = asked.limit_c, asked.label
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
        """Closure of the three books: what came in, less what went out and what stayed, over what flowed."""
        f, o, h, b = self.run.laid.forcing, self.marched.out, self.run.house, self.run.bank
        span = f.end_s - f.start_s
        first, last = self.marched.start, self.marched.end
        total = o.sum(axis=0)
        sun_j = float(((f.sun_air_w + f.sun_contents_w) * span).sum())
        equipment_j = float((f.equipment_w * span).sum())
        inward = np.array(
            [total[k.ENVELOPE_J], total[k.AIR_J], total[k.PEOPLE_J], total[k.BANK_WARM_J], sun_j, equipment_j]
        )
        outward = np.array([total[k.SENSIBLE_J], total[k.VEHICLE_J]])
        kept = h.air_j_k * (last[k.CABIN] - first[k.CABIN]) + h.contents_j_k * (last[k.CONTENTS] - first[k.CONTENTS])
        flowed = float(np.abs(o[:, [k.ENVELOPE_J, k.AIR_J, k.PEOPLE_J, k.SENSIBLE_J]]).sum() + sun_j)
        water = total[k.VAPOUR_KG] + total[k.AIR_KG] - total[k.WATER_KG] - total[k.WALL_KG]
        water_kept = h.moisture_kg * (last[k.RATIO] - first[k.RATIO])
        water_flowed = float(np.abs(o[:, [k.VAPOUR_KG, k.AIR_KG, k.WATER_KG]]).sum())
        stored = (energy_at(b, last[k.SOC]) - energy_at(b, first[k.SOC])) * b.capacity_as
        bank = total[k.BANK_J] - total[k.BANK_HEAT_J] - total[k.BANK_LOST_J] - stored
        supply = total[k.SOLAR_J] + total[k.ALTERNATOR_J] + total[k.SHORE_J] + total[k.UNSERVED_J]
        use = total[k.COOLER_J] + total[k.LOADS_J] + total[k.BANK_J]
        return {
            "heat": float((inward.sum() - outward.sum() - kept) / max(flowed, 1.0)),
            "moisture": float((water - water_kept) / max(water_flowed, 1e-3)),
            "bank": float(bank / max(float(np.abs(o[:, k.BANK_J]).sum()), 1.0)),
            "busbar": float((supply - use) / max(total[k.COOLER_J] + total[k.LOADS_J], 1.0)),
        }

    @cached_property
    def summary(self) -> dict[str, Any]:
        """Plain dict: what was run, what came out, how well the books close."""
        scenario, p = self.run.scenario, self.pieces
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
            "end_soc": float(self.marched.end[k.SOC]),
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
        if self.pieces["unserved_w"].max() > 1.0:
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
