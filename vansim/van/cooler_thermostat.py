"""When a cooler runs: set point, band, and when it goes back to boost."""

from __future__ import annotations

from pydantic import Field

from vansim.quantities import Part


class Thermostat(Part):
    """When the cooler runs.

    Attributes
    ----------
    setpoint_c : float
        Middle of the band [°C].
    deadband_k : float or None
        Width of the band [K]; left out, the cooler's own.
    boost_return_k : float
        With *boost until cool, then eco*: boost again when the cabin is this far above the set point [K].
    """

    setpoint_c: float = Field(default=24.0, ge=15, le=32)
    deadband_k: float | None = Field(default=None, gt=0, le=6)
    boost_return_k: float = Field(default=3.0, gt=0, le=15)
