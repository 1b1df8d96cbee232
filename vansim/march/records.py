"""What the march carries: constants, one row of forcing, and the columns of its state, its books and its log."""

from __future__ import annotations

from typing import NamedTuple

from vansim.boundary.forcing import Forcing
from vansim.jit import compiled


class CabinConstants(NamedTuple):
    """Constants of a run: capacities, controls and limits, all SI."""

    air_j_k: float
    contents_j_k: float
    coupling_w_k: float
    moisture_kg: float
    pressure_pa: float
    deadband_k: float
    boost_return_k: float
    min_on_s: float
    min_off_s: float
    between_starts_s: float
    ramp_s: float
    standby_w: float
    fan_w: float
    vehicle_c: float
    vehicle_w_k: float
    vehicle_w: float
    bank_inside: bool
    limit_c: float


class ForcingInterval(NamedTuple):
    """One row of the forcing, as plain numbers; the names are those of `Forcing`."""

    start_s: float
    outdoor_c: float
    outdoor_k_s: float
    outdoor_ratio: float
    ua_w_k: float
    sol_air_gain_w: float
    sun_air_w: float
    sun_contents_w: float
    air_kg_s: float
    air_w_k: float
    fan_kg_s: float
    fan_w_k: float
    people_w: float
    dogs_w: float
    equipment_w: float
    loads_w: float
    solar_w: float
    alternator_a: float
    shore_w: float
    setpoint_c: float
    cooling: int
    fan: int
    vehicle: int


@compiled
def interval_of(f: Forcing, i: int) -> ForcingInterval:
    """Row `i` of the forcing."""
    return ForcingInterval(
        f.start_s[i],
        f.outdoor_c[i],
        f.outdoor_k_s[i],
        f.outdoor_ratio[i],
        f.ua_w_k[i],
        f.sol_air_gain_w[i],
        f.sun_air_w[i],
        f.sun_contents_w[i],
        f.air_kg_s[i],
        f.air_w_k[i],
        f.fan_kg_s[i],
        f.fan_w_k[i],
        f.people_w[i],
        f.dogs_w[i],
        f.equipment_w[i],
        f.loads_w[i],
        f.solar_w[i],
        f.alternator_a[i],
        f.shore_w[i],
        f.setpoint_c[i],
        f.cooling[i],
        f.fan[i],
        f.vehicle[i],
    )


# state: everything that a run needs to be taken up again
CABIN, CONTENTS, RATIO, SOC, BANK_V, ON, SINCE_SWITCH, SINCE_START, BOOSTING, FAN, SHED, SHED_SOC, BANK_WARMTH_J = (
    range(13)
)
N_STATE = 13

# what flowed in a piece of forcing: time integrals, counts, and the state at its end
(
    CABIN_KS,
    CONTENTS_KS,
    RATIO_S,
    ON_S,
    STARTS,
    SENSIBLE_J,
    STEADY_J,
    WATER_KG,
    COOLER_J,
    PEOPLE_J,
    VAPOUR_KG,
    AIR_J,
    AIR_KG,
    ENVELOPE_J,
    VEHICLE_J,
    BANK_WARM_J,
    WALL_KG,
    FAN_S,
    BOOST_S,
    SUPPLY_KS,
    LOADS_J,
    SOLAR_J,
    ALTERNATOR_J,
    SHORE_J,
    BANK_J,
    BANK_AS,
    BANK_HEAT_J,
    BANK_LOST_J,
    UNSERVED_J,
    SHED_S,
    OVER_S,
    CABIN_MAX,
    END_CABIN,
    END_CONTENTS,
    END_RATIO,
    END_SOC,
    END_V,
) = range(37)
N_OUT = 37

# the fine picture, at wanted moments
S_OUTDOOR, S_CABIN, S_CONTENTS, S_RATIO, S_ON, S_COOLER_W, S_LOADS_W, S_BANK_W, S_BANK_V, S_SOC, S_BOOST = range(11)
N_SAMPLE = 11

# events in the log
STARTED, STOPPED, SHEDDED, RECONNECTED = 0.0, 1.0, 2.0, 3.0
