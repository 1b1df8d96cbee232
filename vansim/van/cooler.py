"""The cooling machine, described by what its data sheet or a clamp meter says.

A data sheet gives one point: capacity and power at a stated condition. It calibrates a balance of coil, condenser and
compressor (`cooler_balance`), which carries the point everywhere else; `cooler_map` keeps the solved states.

*eco* and *boost* are two speeds of one machine. What eco gains (less flow through the same exchangers, so less lift) is
a result of the balance and stands nowhere as an input.
"""

from __future__ import annotations

import json
import math
from functools import lru_cache
from typing import Any, Self

import numpy as np
from pydantic import Field, model_validator

from vansim.data import table
from vansim.disk_cache import cached
from vansim.errors import PhysicsError
from vansim.psychrometrics import (
    density_kg_m3,
    dew_point_c,
    enthalpy_j_kg,
    humidity_ratio,
    saturation_pressure_pa,
    saturation_ratio,
)
from vansim.quantities import Fraction, NotNegative, Part, Positive
from vansim.van.cooler_balance import (
    BOOST,
    ECO,
    EITHER,
    AirState,
    CoilContact,
    CoolerParameters,
    coil_gross_w,
    ideal_cop,
    pressure_ratio,
    pumped_w,
    steady_state,
    suction_c,
)
from vansim.van.cooler_compressor import COMPRESSORS, CompressorType, efficiency_shape
from vansim.van.cooler_map import STANDARD_PA, CoolerMap, Running, no_cooler_map, ramp, running, solve_map

__all__ = [
    "BOOST",
    "ECO",
    "STANDARD_PA",
    "Cooler",
    "CoolerMap",
    "CoolerParameters",
    "RatedPoint",
    "Running",
    "Speed",
    "coil_from_bypass",
    "coil_from_share",
    "coil_gross_w",
    "cooler_map",
    "cooler_parameters",
    "ideal_cop",
    "no_cooler_map",
    "pumped_w",
    "ramp",
    "running",
    "steady_state",
]

COIL_APPROACH_K = 5.0
"""Coil surface above evaporating temperature at the rated point [K] (common practice)."""
FAN_EXPONENT = 0.7
"""Condenser conductance against air flow (forced convection over fins, Re^0.6 to Re^0.8)."""


class RatedPoint(Part):
    """What the data sheet or the clamp meter says, at full speed.

    Attributes
    ----------
    outdoor_c, cabin_c : float
        Air at the condenser and at the coil [°C].
    cabin_rh : float
        Relative humidity at the coil, 0 to 1.
    capacity_w : float
        Total cooling into the cabin, the blower's heat taken off [W].
    power_w : float
        Electrical input, fans in [W].
    """

    outdoor_c: float = Field(default=35.0, ge=15, le=55)
    cabin_c: float = Field(default=26.7, ge=15, le=45)
    cabin_rh: Fraction = 0.5
    capacity_w: Positive
    power_w: Positive


class Speed(Part):
    """A mode: fractions of the rated compressor speed and of both air flows.

    Attributes
    ----------
    compressor, coil_air, condenser_air : float
        1 is the rated point.
    """

    compressor: float = Field(ge=0.1, le=1.5)
    coil_air: float = Field(default=1.0, ge=0.1, le=1.5)
    condenser_air: float = Field(default=1.0, ge=0.1, le=1.5)


class Cooler(Part):
    """A battery-powered roof or split unit.

    Attributes
    ----------
    nominal_v : int
        12, 24 or 48 V.
    refrigerant : str
        Key of the refrigerants table.
    compressor_type : {"scroll", "rotary", "unknown"}
        Kind of compressor: how its efficiency falls away from the rated point.
    rated_hz : float
        Shaft speed at the rated point [1/s]; 60 is 3600 a minute (assumed).
    rated : RatedPoint
        Data-sheet point, at speeds of 1.
    airflow_m3_h : float
        Through the coil at the rated point [m3/h].
    sensible_share : float
        Sensible over total cooling at the rated point; 0 where it is not known, then `bypass_factor` is used.
    bypass_factor : float
        Share of the air that misses the coil at the rated point.
    condenser_td_k : float
        Condensing over outdoor temperature at the rated point [K]; 11 to 17 in comfort cooling.
    intake_rise_k : float
        Air drawn in by the fitted condenser over the air around [K]; the rated point has none. 1 K stands for a roof
        at night with 5 % of the discharge drawn in again (r/(1 - r) x 12 K = 0.6 K, from memory) and a little warmth of
        the roof (assumed). Under a hood or against a wall 15 % is 2.1 K; 2 K more over a dark roof in the sun.
    coil_fan_w, condenser_fan_w, standby_w : float
        At rated flow; the controller's draw whenever cooling is enabled [W].
    eco, boost : Speed
        The two modes.
    deadband_k : float
        Width of the band of its own thermostat [K]; 1 to 2 K is common practice.
    min_on_s, min_off_s, max_starts_per_h : float
        Protection of the compressor by its controller; three minutes is common practice.
    ramp_s : float
        Time constant of capacity after a start, Q (1 - e^(-t/tau)), power full at once (Goldschmidt et al. 1980); this
        is the whole cycling loss. 15 to 76 s are machines whose degradation coefficient in the standard's test (6 min
        on, 24 off) is 0.05 to 0.25; 30 s, 0.10, stands for a good modern one (computed). Between 1 s and 60 s the duty
        of a mild night moves by a third: 15 to 21 %.
    power_max_w : float
        The controller slows the compressor rather than draw more than this [W]; 0 for no limit.
    frost_c : float
        The machine slows down rather than let the coil's surface, where ice would form, get colder than this [°C].
    condensing_max_c, evaporating_max_c : float
        It slows down rather than let its condenser get hotter; suction is throttled above the last [°C].
    feed_mohm : float or None
        Its own cable, both ways, with fuse and terminals, from busbar to cooler [mOhm]; left out, 3 % of the nominal
        voltage are lost in it at the rated power.
    cut_off_v, cut_in_v : float
        Voltage at its terminals at which it protects the battery by switching off, and at which it may start again
        [V]; 0 takes 10.5 and 11.7 V for each 12 V (common practice).
    """

    name: str = ""
    note: str = ""
    nominal_v: int = Field(default=12)
    refrigerant: str = "R134a"
    compressor_type: CompressorType = "unknown"
    rated_hz: float = Field(default=60.0, ge=20, le=150)
    rated: RatedPoint
    airflow_m3_h: Positive
    sensible_share: Fraction = 0.0
    bypass_factor: float = Field(default=0.12, gt=0, lt=0.6)
    condenser_td_k: float = Field(default=15.0, ge=5, le=30)
    intake_rise_k: float = Field(default=1.0, ge=0, le=15)
    coil_fan_w: NotNegative = 40.0
    condenser_fan_w: NotNegative = 50.0
    standby_w: NotNegative = 3.0
    eco: Speed = Speed(compressor=0.6, coil_air=0.7, condenser_air=0.8)
    boost: Speed = Speed(compressor=1.0)
    deadband_k: float = Field(default=1.5, gt=0, le=6)
    min_on_s: NotNegative = 180.0
    min_off_s: NotNegative = 180.0
    max_starts_per_h: float = Field(default=8.0, gt=0, le=60)
    ramp_s: float = Field(default=30.0, gt=0, le=600)
    power_max_w: NotNegative = 0.0
    frost_c: float = Field(default=1.0, ge=-5, le=8)
    condensing_max_c: float = Field(default=66.0, ge=45, le=72)
    evaporating_max_c: float = Field(default=20.0, ge=10, le=35)
    feed_mohm: NotNegative | None = None
    cut_off_v: NotNegative = 0.0
    cut_in_v: NotNegative = 0.0
    mass_kg: NotNegative = 0.0
    price: NotNegative | None = None

    @model_validator(mode="after")
    def _possible(self) -> Self:
        if self.nominal_v not in (12, 24, 48):
            raise ValueError(f"nominal_v is {self.nominal_v}; allowed: 12, 24, 48")
        if self.refrigerant.lower() not in table("refrigerants"):
            known = ", ".join(table("refrigerants"))
            raise ValueError(f"refrigerant {self.refrigerant!r} is not in the table; allowed: {known}")
        cooler_parameters(self)
        return self


# --- calibration ----------------------------------------------------------------------------------


def coil_from_share(
    cabin_c: float, ratio: float, gross_w: float, mass_flow_kg_s: float, share: float
) -> tuple[float, float]:
    """Apparatus dew point [°C] and bypass factor of a coil with a stated sensible share.

    Parameters
    ----------
    cabin_c, ratio : float
        Entering air [°C], [kg/kg].
    gross_w, mass_flow_kg_s : float
        Total cooling [W] and dry-air flow [kg/s].
    share : float
        Sensible over total.

    Returns
    -------
    surface_c, bypass : float
        Apparatus dew point [°C], bypass factor.

    Raises
    ------
    PhysicsError
        No saturated state on that line is colder than the leaving air: such a coil cannot exist.

    Notes
    -----
    Going down from the entering dew point, the first surface temperature whose line to the entering state has the
    stated share; of two intersections that is the one nearer the leaving state.
    """
    entering = enthalpy_j_kg(cabin_c, ratio)
    leaving = entering - gross_w / mass_flow_kg_s
    dew = dew_point_c(ratio, STANDARD_PA)

    def share_at(surface: float) -> float:
        saturated = min(ratio, saturation_ratio(surface, STANDARD_PA))
        cold = enthalpy_j_kg(surface, saturated)
        return (enthalpy_j_kg(cabin_c, saturated) - cold) / (entering - cold)

    high, low = dew, dew
    while share_at(low) > share and low > -25.0:
        high, low = low, low - 0.25
    for _ in range(60):
        mid = 0.5 * (low + high)
        low, high = (mid, high) if share_at(mid) < share else (low, mid)
    cold = enthalpy_j_kg(low, min(ratio, saturation_ratio(low, STANDARD_PA)))
    if share_at(low) > share + 1e-6 or cold >= leaving:
        raise PhysicsError(
            f"no coil can do this: {gross_w:.0f} W from {mass_flow_kg_s * 3103:.0f} m3/h at {cabin_c:.1f} °C with "
            f"a sensible_share of {share:.2f} would need a surface that does not lie on the saturation curve; "
            "lower sensible_share or raise airflow_m3_h"
        )
    return low, (leaving - cold) / (entering - cold)


def coil_from_bypass(cabin_c: float, ratio: float, gross_w: float, mass_flow_kg_s: float, bypass: float) -> float:
    """Apparatus dew point [°C] of a coil with a stated bypass factor, wet or dry; `PhysicsError` below -10 °C."""
    air = AirState(outdoor_c=cabin_c, cabin_c=cabin_c, ratio=ratio, pressure_pa=STANDARD_PA)
    contact = CoilContact(kg_s=mass_flow_kg_s * (1.0 - bypass), air=air, kind=EITHER)
    low, high = -40.0, cabin_c
    for _ in range(70):
        mid = 0.5 * (low + high)
        low, high = (mid, high) if coil_gross_w(contact, mid) > gross_w else (low, mid)
    if low < -10.0:
        raise PhysicsError(
            f"no coil can do this: {gross_w:.0f} W from {mass_flow_kg_s * 3103:.0f} m3/h with a bypass_factor "
            f"of {bypass:.2f} needs a coil surface of {low:.0f} °C, which ices up; raise airflow_m3_h or lower "
            "capacity_w"
        )
    return low


@lru_cache(maxsize=256)
def _numbers(key: str) -> CoolerParameters:
    return _calibrate(Cooler.model_construct(**_restore(key)))


def _restore(key: str) -> dict[str, Any]:
    raw: dict[str, Any] = json.loads(key)
    raw["rated"] = RatedPoint.model_construct(**raw["rated"])
    for mode in ("eco", "boost"):
        raw[mode] = Speed.model_construct(**raw[mode])
    return raw


def cooler_parameters(cooler: Cooler) -> CoolerParameters:
    """Calibrate a cooler on its rated point.

    Parameters
    ----------
    cooler : Cooler
        As described by its data sheet.

    Returns
    -------
    Machine
        Numbers for `steady_state`.

    Raises
    ------
    PhysicsError
        An impossible coil, or a rated power that asks more of a compressor than the ideal cycle allows.
    """
    return _numbers(cooler.model_dump_json())


def _fluid(row: Any) -> np.ndarray:
    curves = (row["fraction_of_carnot"], row["ln_volumetric_capacity"], row["ln_saturation_pressure"])
    return np.array([np.pad(np.array(curve, dtype=float), (0, 10 - len(curve))) for curve in curves])


def _calibrate(cooler: Cooler) -> CoolerParameters:
    rated = cooler.rated
    vapour = rated.cabin_rh * saturation_pressure_pa(rated.cabin_c)
    ratio = humidity_ratio(vapour, STANDARD_PA)
    flow = cooler.airflow_m3_h / 3600.0 * density_kg_m3(rated.cabin_c, ratio, STANDARD_PA)
    gross = rated.capacity_w + cooler.coil_fan_w
    if cooler.sensible_share > 0.0:
        surface, bypass = coil_from_share(rated.cabin_c, ratio, gross, flow, cooler.sensible_share)
    else:
        bypass = cooler.bypass_factor
        surface = coil_from_bypass(rated.cabin_c, ratio, gross, flow, bypass)
    compressor_w = rated.power_w - cooler.coil_fan_w - cooler.condenser_fan_w
    if compressor_w <= 0.0:
        raise PhysicsError(f"power_w {rated.power_w:.0f} W is used up by the fans; no compressor is left")
    te, tc = surface - COIL_APPROACH_K, rated.outdoor_c + cooler.condenser_td_k
    row = table("refrigerants")[cooler.refrigerant.lower()]
    modes = (cooler.eco, cooler.boost)
    reject_w_k = (gross + compressor_w) / cooler.condenser_td_k
    flows = np.array([cooler.airflow_m3_h / 3600.0 * s.coil_air for s in modes])
    coil_fan = np.array([cooler.coil_fan_w * s.coil_air**3 for s in modes])
    machine = CoolerParameters(
        fluid=_fluid(row),
        displacement=1.0,
        efficiency=1.0,
        rated_shape=1.0,
        **COMPRESSORS[cooler.compressor_type]._asdict(),
        rated_hz=cooler.rated_hz,
        film_k_w=COIL_APPROACH_K / gross,
        coil_ntu_kg_s=-flow * math.log(bypass),
        airflow_m3_s=flows,
        condenser_w_k=np.array([reject_w_k * s.condenser_air**FAN_EXPONENT for s in modes]),
        speed=np.array([s.compressor for s in modes]),
        coil_fan_w=coil_fan,
        fans_w=coil_fan + np.array([cooler.condenser_fan_w * s.condenser_air**3 for s in modes]),
        intake_rise_k=cooler.intake_rise_k,
        frost_c=cooler.frost_c,
        condensing_max_c=cooler.condensing_max_c,
        evaporating_max_c=cooler.evaporating_max_c,
        power_max_w=cooler.power_max_w or math.inf,
    )
    suction = suction_c(machine, te)
    efficiency = gross / compressor_w / ideal_cop(machine, suction, tc)
    if not 0.2 <= efficiency <= 0.8:
        likely = gross / (0.6 * ideal_cop(machine, te, tc)) + cooler.coil_fan_w + cooler.condenser_fan_w
        raise PhysicsError(
            f"rated: {rated.capacity_w:.0f} W of cooling for {rated.power_w:.0f} W asks for a compressor of "
            f"{efficiency:.0%} efficiency; real ones of this size lie between 45 and 65 % (about {likely:.0f} W)"
        )
    shape = efficiency_shape(machine.best_ratio, machine.fall, pressure_ratio(machine, suction, tc), machine.rated_hz)
    return machine._replace(
        displacement=gross / pumped_w(machine, 1.0, te, tc), efficiency=efficiency, rated_shape=shape
    )


@lru_cache(maxsize=64)
def _map(key: str, pressure_pa: float) -> CoolerMap:
    machine = _numbers(key)
    inputs = b"".join(np.asarray(number, dtype=float).tobytes() for number in machine)
    found = cached("cooler", inputs + np.float64(pressure_pa).tobytes(), lambda: _solved(machine, pressure_pa))
    return CoolerMap(**found, frost_c=machine.frost_c, power_max_w=float(machine.power_max_w), pressure_pa=pressure_pa)


def _solved(machine: CoolerParameters, pressure_pa: float) -> dict[str, np.ndarray]:
    solved = solve_map(machine, pressure_pa)._asdict()
    return {name: value for name, value in solved.items() if isinstance(value, np.ndarray)}


def cooler_map(cooler: Cooler, pressure_pa: float = STANDARD_PA) -> CoolerMap:
    """Solve a cooler once for everything that a year can bring.

    Parameters
    ----------
    cooler : Cooler
        As described by its data sheet.
    pressure_pa : float
        Air pressure of the place [Pa]; rounded to 1 hPa so that designs in one place share a map.

    Returns
    -------
    CoolerMap
        Two modes, -6 to 60 °C outdoors, 11 to 71 °C in the cabin, 0 to 36 g/kg.
    """
    return _map(cooler.model_dump_json(), round(pressure_pa / 100.0) * 100.0)
