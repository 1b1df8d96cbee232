"""The balances of a run: what came in, less what went out and what stayed, over what flowed."""

from __future__ import annotations

import numpy as np

from vansim.errors import MarchError
from vansim.march.records import sums
from vansim.runs.run import Marched, Run
from vansim.van.bank import energy_at

CLOSES = 1e-6
"""No balance of an answer is further off than this, over what flowed. Most close to 1e-14; where a bank
stands at a limit for a year, what its voltage is solved to adds up to some 1e-8."""


def sound(run: Run, marched: Marched) -> Marched:
    """Give a march back, or refuse it where it is not finite or does not balance.

    Raises
    ------
    MarchError
        Which of its books is wrong.
    """
    if not (np.isfinite(marched.totals.tolist()).all() and np.isfinite(marched.end.tolist()).all()):
        raise MarchError("the run is not finite; internal error, please report")
    off = {name: gap for name, gap in balance_of(run, marched).items() if not abs(gap) < CLOSES}
    if off:
        words = ", ".join(f"{name} by {gap:.1e}" for name, gap in off.items())
        raise MarchError(f"the books of the run do not close ({words}); internal error, please report")
    return marched


def balance_of(run: Run, marched: Marched) -> dict[str, float]:
    """Closure of heat, moisture, bank and busbar.

    Parameters
    ----------
    run : Run
        What was asked.
    marched : Marched
        What the kernel made of it.

    Returns
    -------
    dict of str to float
        ``heat``, ``moisture``, ``bank``, ``busbar`` and ``pedestal``: 0 where nothing is lost and nothing comes from
        nowhere. The last sets what the pedestal gave, less the charger's loss, against what the busbar got from it and
        the mains loads that it carries by plan.
    """
    f, totals, h, b = run.laid.forcing, marched.totals, run.constants, run.bank
    span = f.end_s - f.start_s
    first, last = marched.start, marched.end
    total = sums(totals)

    def moved(*names: str) -> float:
        return float(sum(np.abs(totals[name]).sum() for name in names))

    sun_j = float(((f.sun_air_w + f.sun_contents_w) * span).sum())
    gains_j = total.occupants_j + total.bank_to_cabin_j + total.equipment_j + sun_j
    heat = total.envelope_j + total.air_exchange_j + gains_j - total.sensible_j - total.vehicle_cooling_j
    heat_kept = h.air_j_k * (last.cabin_c - first.cabin_c) + h.contents_j_k * (last.contents_c - first.contents_c)
    heat_moved = moved("envelope_j", "air_exchange_j", "occupants_j", "sensible_j") + sun_j
    water = total.vapour_kg + total.air_exchange_kg - total.condensate_kg - total.wall_condensate_kg
    water -= total.pane_condensate_kg
    water_kept = h.moisture_kg * (last.ratio - first.ratio)
    water_moved = moved("vapour_kg", "air_exchange_kg", "condensate_kg")
    stored = (energy_at(b, last.soc) - energy_at(b, first.soc)) * b.capacity_as
    bank = total.bank_j - total.bank_heat_j - total.bank_lost_j - stored
    supply = total.solar_j + total.alternator_j + total.shore_j + total.unserved_j
    used = total.cooler_j + total.loads_j
    mains = total.pedestal_j - total.charger_loss_j - total.shore_j - float((f.shore_ac_w * span).sum())
    return {
        "heat": float((heat - heat_kept) / max(heat_moved, 1.0)),
        "moisture": float((water - water_kept) / max(water_moved, 1e-3)),
        "bank": float(bank / max(moved("bank_j"), 1.0)),
        "busbar": float((supply - used - total.bank_j) / max(used, moved("bank_j"), 1.0)),
        "pedestal": float(mains / max(total.pedestal_j, 1.0)),
    }
