"""Everything else that draws on the bank: lights, fridge, pumps, a kettle through the inverter."""

from __future__ import annotations

from pydantic import Field

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
    """

    name: str
    power_w: NotNegative
    duty: Fraction = 1.0
    hours: tuple[DailyHours, ...] = ()
    supply: str = Field(default="dc", pattern="^(dc|ac)$")
    heat_to_cabin: Fraction = 1.0


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
