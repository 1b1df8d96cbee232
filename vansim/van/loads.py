"""Everything else that draws on the bank: lights, fridge, pumps, a kettle through the inverter."""

from __future__ import annotations

from collections.abc import Iterable
from typing import Self

from pydantic import Field, model_validator

from vansim.jit import compiled
from vansim.quantities import ClockTime, Fraction, NotNegative, Part


class DailyHours(Part):
    """A daily span of clock time; one that ends before it starts runs past midnight.

    Attributes
    ----------
    start, end : str
        ``"HH:MM"``.
    """

    start: ClockTime
    end: ClockTime


class Load(Part):
    """A consumer.

    Attributes
    ----------
    name : str
        As the report calls it.
    power_w : float
        Power while it runs [W], at its own terminals.
    duty : float
        Share of its hours that it runs.
    hours : tuple of Hours
        When; all day if empty.
    supply : {"dc", "ac"}
        Straight from the bank, or through the inverter (and straight from shore power when plugged in).
    heat_to_cabin : float
        Share of its power that ends up as heat in the cabin.
    keeps_c : float or None
        What a refrigerator on DC keeps inside [°C]; then `duty` is its share at 25 °C around it, and follows the cabin.
    """

    name: str
    power_w: NotNegative
    duty: Fraction = 1.0
    hours: tuple[DailyHours, ...] = ()
    supply: str = Field(default="dc", pattern="^(dc|ac)$")
    heat_to_cabin: Fraction = 1.0
    keeps_c: float | None = Field(default=None, ge=-30, le=15)

    @model_validator(mode="after")
    def _a_refrigerator_on_dc(self) -> Self:
        if self.keeps_c is not None and self.supply != "dc":
            raise ValueError(f"keeps_c is {self.keeps_c:g} on an AC load; only a DC refrigerator follows the cabin")
        return self


FRIDGE_AT_C = 25.0
"""Temperature around a refrigerator at which its duty is stated [°C]; held by @compiled code of the march, whose cache
by this word heeds edits of this file."""
FRIDGE_CONDENSER_K = 15.0
"""Condensing over the air around [K] (from memory)."""
FRIDGE_MOST = 2.0
"""A refrigerator takes at most so many times its mean at 25 °C: measured ones rise by 15 to 53 % from 20 to 33 °C, the
equation alone by 130 % (International Journal of Energy Engineering, abstract; the cap is judged)."""


def fridge_law(fridges: Iterable[Load]) -> tuple[float, float, float, float, float]:
    """Mean power of refrigerators against the temperature around them.

    Parameters
    ----------
    fridges : iterable of Load
        Those with `keeps_c`.

    Returns
    -------
    tuple of float
        Mean at 25 °C [W], its slope there [W/K], half its curvature [W/K2], the most that it comes to [W], and the
        share that warms the cabin.

    Notes
    -----
    Heat leaks in by T - T_box, and the machine's lift is T + 15 K - T_e, with T_e -12 °C for a box at 4 °C and -27 °C
    for one at -18 °C, at a set fraction of Carnot (from memory): P = P25 (T - T_box)(T + 15 K - T_e) over the same at
    25 °C.
    """
    mean = slope = bend = most = heat = 0.0
    for load in fridges:
        assert load.keeps_c is not None
        at_25 = load.power_w * load.duty
        leak_k = FRIDGE_AT_C - load.keeps_c
        lift_k = FRIDGE_AT_C + FRIDGE_CONDENSER_K - (-12.0 + (load.keeps_c - 4.0) * 15.0 / 22.0)
        mean += at_25
        slope += at_25 * (1.0 / leak_k + 1.0 / lift_k)
        bend += at_25 / (leak_k * lift_k)
        most += min(FRIDGE_MOST * at_25, load.power_w)
        heat += at_25 * load.heat_to_cabin
    return mean, slope, bend, most, heat / mean if mean > 0.0 else 0.0


@compiled
def fridge_extra_w(mean_w: float, w_k: float, w_k2: float, most_w: float, cabin_c: float) -> tuple[float, float]:
    """What refrigerators draw beyond their mean at 25 °C [W], and its slope [W/K].

    Parameters
    ----------
    mean_w, w_k, w_k2, most_w : float
        From `fridge_law`: mean, slope and half the curvature at 25 °C, and the most.
    cabin_c : float
        Around them [°C].
    """
    over_k = cabin_c - FRIDGE_AT_C
    asked = mean_w + w_k * over_k + w_k2 * over_k * over_k
    if asked >= most_w or asked <= 0.0:
        return max(min(asked, most_w), 0.0) - mean_w, 0.0
    return asked - mean_w, w_k + 2.0 * w_k2 * over_k


class Inverter(Part):
    """Bank to AC.

    Attributes
    ----------
    efficiency : float
        AC out over DC in.
    idle_w : float
        Drawn whenever it is on [W].
    always_on : bool
        Left on day and night, but where plugged in; else on through the hours of its loads, also between their runs.
    rated_w : float
        AC power above which it shuts off [W]; 0 for none.
    cut_off_v, cut_in_v : float
        Voltage at the busbar at which it shuts off and comes back [V]; 0 takes 10.5 and 12.0 V for each 12 V (owner
        manuals, common practice).
    """

    efficiency: float = Field(default=0.88, gt=0, le=1)
    idle_w: NotNegative = 15.0
    always_on: bool = False
    rated_w: NotNegative = 0.0
    cut_off_v: NotNegative = 0.0
    cut_in_v: NotNegative = 0.0


INVERTER_OFF_V, INVERTER_ON_V = 10.5, 12.0
"""Usual low-voltage shutdown of an inverter and its return, for each 12 V (owner manuals; common practice)."""
