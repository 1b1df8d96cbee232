"""The cooler's own feed: its cable, and the voltage at which it protects the battery."""

from __future__ import annotations

from vansim.van.cooler import Cooler

FEED_DROP = 0.03
"""Share of the nominal voltage that a feed may lose (ABYC E-11, critical circuits; looked up second-hand)."""
COOLER_OFF_V, COOLER_ON_V = 10.5, 11.7
"""Usual low-voltage cut of a 12 V compressor's electronics, and its return (common practice, from memory)."""


def feed_ohm(cooler: Cooler) -> float:
    """Resistance from busbar to cooler, both ways [Ohm]; where it is not given, that of `FEED_DROP` at rated power."""
    if cooler.feed_mohm is not None:
        return cooler.feed_mohm / 1000.0
    return FEED_DROP * cooler.nominal_v**2 / cooler.rated.power_w


def low_voltage(cooler: Cooler) -> tuple[float, float]:
    """Voltage at its terminals at which it switches off, and at which it may start again [V]."""
    blocks = cooler.nominal_v / 12.0
    off = cooler.cut_off_v or COOLER_OFF_V * blocks
    return off, max(cooler.cut_in_v or COOLER_ON_V * blocks, off)
