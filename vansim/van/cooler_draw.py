"""What a cooler draws at a stated condition, and a cooler made to draw what its label or a clamp meter says."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

from pydantic import ValidationError

from vansim.errors import PhysicsError
from vansim.psychrometrics import humidity_ratio, saturation_pressure_pa
from vansim.van.cooler import BOOST, ECO, STANDARD_PA, Cooler, RatedPoint, Speed, cooler_parameters, steady_state
from vansim.van.cooler_balance import AirState

RATED_OUTDOOR_C, RATED_CABIN_C, RATED_RH = 35.0, 26.7, 0.5
"""Usual rating of comfort cooling: 95 °F outside, 80 °F and half humidity inside (near ISO 5151 T1)."""
USUAL_COP = 2.3
"""Capacity over input at the rating where no capacity is given (assumed: small 12 V roof units lie at 2.0 to 2.6)."""
AIR_M3_H_PER_W = 0.17
"""Coil air per watt of rated capacity (common practice: 350 to 450 cfm a ton is 0.17 to 0.22)."""
COIL_FAN_SHARE, CONDENSER_FAN_SHARE = 0.048, 0.06
"""Fans over electrical input flat out (assumed, as in the library's roof units)."""
ECO_COIL_AIR, ECO_CONDENSER_AIR = 0.65, 0.85
"""Air flows in eco over those flat out (assumed, as in the library's roof units)."""
LIMIT_OVER_LABEL = 1.02
"""The controller holds the current that the label gives as the greatest; 2 % for its tolerance (assumed)."""
SLOWEST, FASTEST = 0.1, 1.0
"""Compressor speeds between which eco is sought, over the rated one."""


@dataclass(frozen=True)
class Condition:
    """Air at which a draw is stated: outdoors and in the cabin [°C], relative humidity in the cabin, 0 to 1."""

    outdoor_c: float = 35.0
    cabin_c: float = 25.0
    cabin_rh: float = 0.5


@dataclass(frozen=True)
class Draw:
    """A cooler that runs without a pause: electrical input, controller and fans in, and total cooling [W]."""

    power_w: float
    cooling_w: float


def draw(cooler: Cooler, mode: int, at: Condition) -> Draw:
    """What a cooler draws and does while its compressor runs.

    Parameters
    ----------
    cooler : Cooler
        As described.
    mode : int
        `ECO` or `BOOST`.
    at : Condition
        Air at condenser and coil.

    Returns
    -------
    Draw
        At standard air pressure.
    """
    machine = cooler_parameters(cooler)
    ratio = humidity_ratio(at.cabin_rh * saturation_pressure_pa(at.cabin_c), STANDARD_PA)
    state = steady_state(machine, mode, AirState(at.outdoor_c, at.cabin_c, ratio, STANDARD_PA))
    return Draw(
        power_w=float(state.compressor_w + machine.fans_w[mode] + cooler.standby_w),
        cooling_w=float(state.gross_w - machine.coil_fan_w[mode]),
    )


def cooler_that_draws(
    eco_w: float, boost_w: float, at: Condition, nominal_v: int = 12, capacity_w: float | None = None, **known: Any
) -> Cooler:
    """A cooler that draws a stated power in each mode at a stated condition.

    Parameters
    ----------
    eco_w, boost_w : float
        Electrical input in eco and flat out [W], controller in.
    at : Condition
        Where those were read.
    nominal_v : int
        12, 24 or 48 V.
    capacity_w : float, optional
        Cooling at the usual rating, 35 °C outdoors and 26.7 °C inside [W]; left out, `USUAL_COP` times the input there.
    **known
        Other fields of `Cooler`.

    Returns
    -------
    Cooler
        `draw` gives both powers back within 0.1 %.

    Raises
    ------
    PhysicsError
        No compressor does that: a capacity that is not to be had from that power, or eco outside of what a slower
        compressor reaches.
    """
    if not 0.0 < eco_w <= boost_w:
        raise PhysicsError(f"eco draws {eco_w:.0f} W and flat out {boost_w:.0f} W; eco is the lesser of the two")
    limit = LIMIT_OVER_LABEL * boost_w
    rated_w = boost_w
    for _ in range(40):
        cooler = _made(rated_w, capacity_w, FASTEST, nominal_v, known)
        now = draw(cooler, BOOST, at).power_w
        if abs(now / boost_w - 1.0) < 1e-4:
            break
        rated_w *= boost_w / now
    rated_w = round(rated_w, 1)

    def eco_draw(speed: float) -> float:
        return draw(_made(rated_w, capacity_w, speed, nominal_v, known), ECO, at).power_w

    low, high = SLOWEST, FASTEST
    least, most = eco_draw(low), eco_draw(high)
    if not least <= eco_w <= most:
        raise PhysicsError(
            f"eco of {eco_w:.0f} W beside {boost_w:.0f} W flat out is out of reach; slower compressors of this cooler "
            f"draw {least:.0f} to {most:.0f} W"
        )
    for _ in range(40):
        middle = 0.5 * (low + high)
        low, high = (middle, high) if eco_draw(middle) < eco_w else (low, middle)
    return _made(rated_w, capacity_w, round(0.5 * (low + high), 4), nominal_v, {**known, "power_max_w": round(limit)})


def _made(rated_w: float, capacity_w: float | None, eco: float, nominal_v: int, known: dict[str, Any]) -> Cooler:
    capacity = USUAL_COP * rated_w if capacity_w is None else capacity_w
    point = RatedPoint(
        outdoor_c=RATED_OUTDOOR_C, cabin_c=RATED_CABIN_C, cabin_rh=RATED_RH,
        capacity_w=round(capacity, 1), power_w=rated_w,
    )  # fmt: skip
    usual: dict[str, Any] = {
        "nominal_v": nominal_v,
        "rated": point,
        "airflow_m3_h": round(AIR_M3_H_PER_W * capacity),
        "coil_fan_w": round(COIL_FAN_SHARE * rated_w),
        "condenser_fan_w": round(CONDENSER_FAN_SHARE * rated_w),
        "eco": Speed(compressor=eco, coil_air=ECO_COIL_AIR, condenser_air=ECO_CONDENSER_AIR),
    }
    try:
        return Cooler(**{**usual, **known})
    except ValidationError as problem:
        raise PhysicsError(error["msg"].removeprefix("Value error, ") for error in problem.errors()) from None
