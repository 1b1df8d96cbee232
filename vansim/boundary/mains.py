"""Mains loads: what a pitch's breaker carries, what the inverter must, and what nobody can give.

Loads that run for a share of their hours are on and off by chance, each for itself. Energy is a mean over every
combination of them; a breaker and an inverter meet each combination by itself (3000 W for a tenth of the time is not
300 W).
"""

from __future__ import annotations

from collections.abc import Iterable
from typing import NamedTuple

from vansim.van.charging import ShoreCharger, ShorePower, continuous_w, largest_dc_w
from vansim.van.loads import Inverter


class MainsShare(NamedTuple):
    """Who carries the mains loads of a stretch of time [W].

    `shore_ac_w`: mean that the pedestal gives them straight. `inverter_w`, `inverter_peak_w`: what the inverter draws
    from the busbar, mean and highest. `inverter_ac_w`: what of that reaches the loads. `refused_w`: mean that nobody
    can give, since the inverter shuts off above its rating. `charger_w`: mean that the charger can give [W DC].
    """

    shore_ac_w: float
    inverter_w: float
    inverter_peak_w: float
    inverter_ac_w: float
    refused_w: float
    charger_w: float


def combinations(loads: Iterable[tuple[float, float]]) -> dict[float, float]:
    """Chance of each total of loads that are on for a share of the time, each for itself.

    Parameters
    ----------
    loads : iterable of (power_w, duty)
        Power while on [W], and the share of the time.

    Returns
    -------
    dict of float to float
        Total [W] to chance; the chances add up to 1, and the mean is the sum of power times duty.
    """
    found = {0.0: 1.0}
    for power_w, duty in loads:
        after: dict[float, float] = {}
        for total, chance in found.items():
            for more, share in ((power_w, duty), (0.0, 1.0 - duty)):
                if share > 0.0:
                    after[total + more] = after.get(total + more, 0.0) + chance * share
        found = after
    return found


def mains_share(
    loads: Iterable[tuple[float, float]],
    inverter: Inverter,
    shore: ShorePower | None = None,
    charger: ShoreCharger | None = None,
) -> MainsShare:
    """Share mains loads out between pedestal and inverter.

    Parameters
    ----------
    loads : iterable of (power_w, duty)
        Those that are on at this hour.
    inverter : Inverter
        Losses and rating.
    shore : ShorePower or None
        Where plugged in. The breaker is loaded to 80 % (NEC 210.20(A)), loads before the charger. What exceeds it goes
        through the inverter, beside the pedestal: that takes an inverter that can, and is the favourable case.
    charger : ShoreCharger or None
        What fills the bank with the rest.

    Returns
    -------
    MainsShare
        Energy is conserved: the mean of the loads is `shore_ac_w` + `inverter_ac_w` + `refused_w`.
    """
    breaker_w = 0.0 if shore is None else continuous_w(shore)
    rated_w = inverter.rated_w or float("inf")
    carried = input_w = peak = through = refused = charged = 0.0
    totals = combinations(loads)
    # it stays on through the hours of its loads, and beside a pedestal where that alone is not enough for them
    on = max(totals) > breaker_w or (inverter.always_on and shore is None)
    idle_w = inverter.idle_w if on else 0.0
    for total, chance in totals.items():
        straight = min(total, breaker_w)
        over = total - straight
        if over > rated_w:  # it shuts off, and the breaker alone would trip
            refused += chance * total
            straight = over = 0.0
        carried += chance * straight
        through += chance * over
        draws = over / inverter.efficiency + idle_w
        input_w += chance * draws
        peak = max(peak, draws)
        if charger is not None:
            charged += chance * min((breaker_w - straight) * charger.efficiency, largest_dc_w(charger))
    return MainsShare(
        shore_ac_w=carried,
        inverter_w=input_w,
        inverter_peak_w=peak,
        inverter_ac_w=through,
        refused_w=refused,
        charger_w=charged,
    )
