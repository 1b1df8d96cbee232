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
        Drawn whenever an AC load's hours are on [W].
    """

    efficiency: float = Field(default=0.88, gt=0, le=1)
    idle_w: NotNegative = 15.0


def inverter_input_w(inverter: Inverter, ac_w: float) -> float:
    """DC power for an AC load [W]; nothing where there is no load, for it is switched off then.

    Parameters
    ----------
    inverter : Inverter
        Its losses.
    ac_w : float
        Power on the AC side [W].

    Returns
    -------
    float
        [W].
    """
    return ac_w / inverter.efficiency + inverter.idle_w if ac_w > 0.0 else 0.0
