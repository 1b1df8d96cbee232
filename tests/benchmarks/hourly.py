"""What one would write in a notebook: hourly load over rated capacity, power at the rated COP, charge counted."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import pandas as pd

from vansim.runs.run import Run
from vansim.van.people import person_sensible_share


@dataclass(frozen=True)
class Hourly:
    """Cooler energy [kWh], and per hour the charge left and whether the bank gave out."""

    cooler_kwh: float
    table: pd.DataFrame


def hourly(run: Run) -> Hourly:
    """Cabin at its set point whenever cooling is on; no storage of heat, no moisture, no machine but its rating."""
    f, rated = run.laid.forcing, run.scenario.cooler.rated  # type: ignore[union-attr]
    frame = pd.DataFrame({name: np.asarray(column, dtype=float) for name, column in f._asdict().items()})
    capacity_wh = run.bank.capacity_as / 3600.0 * 12.8
    share = person_sensible_share(24.0)
    soc, socs, empty, cooler_wh = run.scenario.bank.start_soc, [], [], 0.0
    for row in frame.itertuples():
        hours = (row.end_s - row.start_s) / 3600.0
        gain = (row.ua_w_k + row.air_w_k) * (row.outdoor_c - row.setpoint_c) + row.sol_air_gain_w + row.internal_gains_w
        gain += row.sun_air_w + row.sun_contents_w + (row.people_w + row.dogs_w) * share
        duty = min(max(gain / rated.capacity_w, 0.0), 1.0) if row.cooling else 0.0
        power = duty * rated.power_w
        if soc <= run.bank.reserve_soc:
            power = 0.0
        cooler_wh += power * hours
        net = row.solar_w + row.shore_w + row.alternator_a * 13.3 - row.loads_w - power
        soc = min(max(soc + net * hours / capacity_wh, 0.0), 1.0)
        socs.append(soc)
        empty.append(bool(row.cooling) and soc <= run.bank.reserve_soc)
    return Hourly(cooler_wh / 1000.0, frame.assign(soc=socs, empty=empty))
