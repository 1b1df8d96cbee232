"""The electrical columns of a forcing: what loads use, and what sun, engine and shore offer."""

from __future__ import annotations

from typing import Any

import numpy as np
import numpy.typing as npt

from vansim.boundary.envelope import FaceGains
from vansim.boundary.mains import mains_share
from vansim.scenario.plan import ScheduledSegment, is_on
from vansim.scenario.schema import DAY_MIN, PlanSegment, Scenario
from vansim.van.charging import Alternator, alternator_a, solar_dc_w, warmed_k
from vansim.van.loads import fridge_law

Array = npt.NDArray[Any]

WARMTH_MIN = 6 * 60
"""An alternator's warmth is followed from so long before a run [min]: thirty of its time constants."""
PARTS = 12
"""Of a piece, for the mean of what a warming alternator gives."""


def electric_columns(scenario: Scenario, segment: PlanSegment, starts: Array, gains: FaceGains) -> dict[str, Array]:
    """What loads use and the sun gives in the pieces of one kind of segment; columns of a forcing."""
    n = starts.size
    clock, place = np.unique(starts % DAY_MIN, return_inverse=True)  # a year has 8760 hours, and 24 of them differ
    hours = np.array([_use(scenario, segment, int(m)) for m in clock])[place]
    use = dict(zip(USE, hours.T, strict=True))
    sun = np.zeros(n)
    if scenario.solar is not None:
        sun = solar_dc_w(scenario.solar, gains.solar_w_m2, gains.cell_c)
    return {**use, "solar_w": sun}


USE = (
    "internal_gains_w", "loads_w", "peak_w", "inverter_w", "inverter_peak_w", "inverter_heat_w", "refused_w",
    "shore_ac_w", "shore_w", "fridge_w", "fridge_w_k", "fridge_w_k2", "fridge_most_w", "fridge_heat",
)  # fmt: skip
"""Columns that the loads of an hour give."""


def _use(scenario: Scenario, segment: PlanSegment, minute: int) -> list[float]:
    """What loads do at a minute of the day, in the order of `USE`."""
    on = [load for load in scenario.loads if is_on(load.hours, minute)]
    dc, ac = [load for load in on if load.supply == "dc"], [load for load in on if load.supply == "ac"]
    plugged = segment.shore and scenario.shore is not None and scenario.charger is not None
    mains = mains_share(
        [(load.power_w, load.duty) for load in ac],
        scenario.inverter,
        scenario.shore if plugged else None,
        scenario.charger if plugged else None,
    )
    dc_w, ac_w = (sum(load.power_w * load.duty for load in kind) for kind in (dc, ac))
    dc_heat, ac_heat = (sum(load.power_w * load.duty * load.heat_to_cabin for load in kind) for kind in (dc, ac))
    per_watt = ac_heat / ac_w if ac_w > 0.0 else 0.0
    by_inverter = per_watt * mains.inverter_ac_w + mains.inverter_w - mains.inverter_ac_w
    return [
        dc_heat + per_watt * mains.shore_ac_w,
        dc_w + mains.inverter_w,
        sum(load.power_w for load in dc) - dc_w,
        mains.inverter_w,
        mains.inverter_peak_w - mains.inverter_w,
        by_inverter,
        mains.refused_w,
        mains.shore_ac_w,
        mains.charger_w,
        *fridge_law(load for load in dc if load.keeps_c is not None),
    ]


def alternator_column(
    alternator: Alternator | None,
    stretches: list[ScheduledSegment],
    segments: list[PlanSegment],
    starts: Array,
    ends: Array,
    outdoor_c: Array,
    outdoor_k_s: Array,
) -> Array:
    """Mean current offered by the alternator in each piece [A], warming from before the first one on."""
    offered = np.zeros(starts.size)
    if alternator is None:
        return offered
    over_k, begin = 0.0, int(starts[0])
    for stretch in stretches:
        first, last = max(stretch.start_min, begin - WARMTH_MIN), min(stretch.end_min, begin)
        if last > first:
            over_k = warmed_k(alternator, over_k, stretch.segment.doing != "parked", (last - first) * 60.0)
    for i, segment in enumerate(segments):
        running, span_s = segment.doing != "parked", float(ends[i] - starts[i]) * 60.0
        if running:
            moments = (np.arange(PARTS) + 0.5) / PARTS * span_s
            winding_c = warmed_k(alternator, over_k, running, moments) + outdoor_c[i] + outdoor_k_s[i] * moments
            offered[i] = alternator_a(alternator, winding_c, running, segment.doing == "driving").mean()
        if running or over_k > 0.0:
            over_k = warmed_k(alternator, over_k, running, span_s)
    return offered
