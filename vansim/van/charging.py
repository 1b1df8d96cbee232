"""What fills the bank: alternator, sun and shore power."""

from __future__ import annotations

from typing import Any, Literal

import numpy as np
from pydantic import Field

from vansim.quantities import Fraction, NotNegative, Part, Positive


class Alternator(Part):
    """Charging from the engine, as an ammeter at the bank shows it.

    Attributes
    ----------
    nominal_v : float
        Bank voltage that the currents are stated at: 12, 24 or 48 [V].
    idle_a, road_a : float
        Current into the house side, idling and on the road, cool [A at bank voltage].
    vehicle_a : float
        Taken from it for the vehicle's own use [A at bank voltage].
    derate_from_c, derate_per_k : float
        Outdoor air above which heat costs output [°C], and the share lost per kelvin.
    derate_floor : float
        Share that is left at the worst.
    """

    name: str = ""
    note: str = ""
    nominal_v: Literal[12, 24, 48] = 12
    idle_a: NotNegative
    road_a: NotNegative
    vehicle_a: NotNegative = 0.0
    derate_from_c: float = 25.0
    derate_per_k: NotNegative = 0.006
    derate_floor: Fraction = 0.67
    price: NotNegative | None = None
    mass_kg: NotNegative = 0.0


def alternator_a(alternator: Alternator, running: Any, driving: Any, outdoor_c: Any) -> Any:
    """Current offered to the bank [A].

    Parameters
    ----------
    alternator : Alternator
        Its figures.
    running, driving : bool or (n_times,)
        Engine on; van on the road.
    outdoor_c : float or (n_times,)
        Outdoor air [°C].

    Returns
    -------
    float or (n_times,)
        Current at bank voltage. A hot alternator gives 0.67 of its cold current at low speed (technical data of a
        marine engine: 16 A hot, 24 A cold at 1300 rpm), hence the floor.
    """
    heat = np.clip(
        1.0 - alternator.derate_per_k * (np.asarray(outdoor_c) - alternator.derate_from_c), alternator.derate_floor, 1.0
    )
    offered = np.where(driving, alternator.road_a, alternator.idle_a) * heat - alternator.vehicle_a
    return np.where(running, np.maximum(offered, 0.0), 0.0)


class SolarArray(Part):
    """Panels on the roof.

    Attributes
    ----------
    rated_w : float
        DC power at standard test conditions [W].
    area_m2 : float
        Panel area, which shades the roof [m2].
    gamma_per_k : float
        Power lost per kelvin of cell temperature (negative).
    mount : {"bracket", "glued"}
        With an air gap below, or bonded to the roof.
    tilt_deg : float
        Slope from horizontal [deg].
    azimuth_from_nose_deg : float
        Direction in which the slope faces, clockwise from the nose of the van [deg].
    soiling, mismatch, wiring, other : float
        Losses, 0 to 1, multiplied (PVWatts defaults without availability and shading; those come from the plan).
    mppt_efficiency : float
        Charge controller.
    """

    name: str = ""
    note: str = ""
    rated_w: NotNegative
    area_m2: NotNegative
    gamma_per_k: float = Field(default=-0.0035, le=0, ge=-0.01)
    mount: Literal["bracket", "glued"] = "bracket"
    tilt_deg: float = Field(default=0.0, ge=0, le=60)
    azimuth_from_nose_deg: float = Field(default=0.0, ge=-180, le=360)
    soiling: Fraction = 0.03
    mismatch: Fraction = 0.02
    wiring: Fraction = 0.02
    other: Fraction = 0.03
    mppt_efficiency: float = Field(default=0.96, gt=0, le=1)
    price: NotNegative | None = None
    mass_kg: NotNegative = 0.0

    @property
    def yield_factor(self) -> float:
        """What the losses leave, the controller's in (Dobos 2014, PVWatts v5, NREL/TP-6A20-62641: losses multiply)."""
        kept = (1 - self.soiling) * (1 - self.mismatch) * (1 - self.wiring) * (1 - self.other)
        return kept * self.mppt_efficiency


SAPM_MOUNT = {"bracket": (-2.98, -0.0471, 1.0), "glued": (-2.81, -0.0455, 0.0)}
"""a, b, dT of the close-mount glass-glass and the insulated-back glass-polymer module (King, Boyson & Kratochvil 2004,
SAND2004-3535, as tabulated in pvlib)."""
REFERENCE_W_M2, REFERENCE_C = 1000.0, 25.0
"""Light and cell temperature at which modules are rated (IEC 60904-3)."""


def cell_c(array: SolarArray, plane_w_m2: Any, outdoor_c: Any, wind_m_s: Any) -> Any:
    """Cell temperature of roof-mounted panels [°C].

    Parameters
    ----------
    array : SolarArray
        Its mount.
    plane_w_m2, outdoor_c, wind_m_s : float or (n_times,)
        Irradiance on the panel [W/m2], air [°C], wind or road speed [m/s].

    Returns
    -------
    float or (n_times,)
        Sandia's cell temperature model.

    Source
    ------
    King, Boyson & Kratochvil (2004), SAND2004-3535, eq. 11 and 12 (numbers from memory): the module's back stands
    E exp(a + b v) above the air, the cell E / (1000 W/m2) dT above the back. Written out, and checked against pvlib,
    because importing pvlib takes longer than a night's run.
    """
    a, b, rise = SAPM_MOUNT[array.mount]
    module_c = plane_w_m2 * np.exp(a + b * wind_m_s) + outdoor_c
    return module_c + plane_w_m2 / REFERENCE_W_M2 * rise


def solar_dc_w(array: SolarArray, effective_w_m2: Any, panel_c: Any) -> Any:
    """Power that the panels offer to the bank [W].

    Parameters
    ----------
    array : SolarArray
        Rating and losses.
    effective_w_m2 : float or (n_times,)
        Irradiance on the panel after angle losses and shade [W/m2].
    panel_c : float or (n_times,)
        Cell temperature [°C].

    Returns
    -------
    float or (n_times,)
        Rated power by light and temperature, times `yield_factor`.

    Source
    ------
    Dobos (2014), PVWatts v5, NREL/TP-6A20-62641, module model: P0 E / (1000 W/m2) (1 + gamma (T - 25 °C)).
    """
    by_light = effective_w_m2 / REFERENCE_W_M2 * array.rated_w
    return np.maximum(by_light * (1.0 + array.gamma_per_k * (panel_c - REFERENCE_C)), 0.0) * array.yield_factor


class ShoreCharger(Part):
    """Mains to bank.

    Attributes
    ----------
    nominal_v : float
        Bank voltage [V].
    output_a : float
        Largest current into the bank [A].
    efficiency : float
        DC out over AC in.
    """

    name: str = ""
    note: str = ""
    nominal_v: Literal[12, 24, 48] = 12
    output_a: Positive
    efficiency: float = Field(default=0.88, gt=0, le=1)
    price: NotNegative | None = None
    mass_kg: NotNegative = 0.0


class ShorePower(Part):
    """A pitch's socket.

    Attributes
    ----------
    breaker_a, mains_v : float
        Breaker [A] and voltage [V].
    """

    breaker_a: Positive
    mains_v: float = Field(default=120.0, ge=90, le=260)


CONTINUOUS_SHARE = 0.8
"""Of a breaker's rating, for three hours or more (NEC 210.19(A), 210.20(A): device at 125 % of the continuous load)."""


def continuous_w(shore: ShorePower) -> float:
    """AC power that a pitch carries for hours [W] (NEC 210.20(A))."""
    return CONTINUOUS_SHARE * shore.breaker_a * shore.mains_v


def largest_dc_w(charger: ShoreCharger) -> float:
    """Largest power out of a charger [W]: its current at 1.1 times its nominal voltage."""
    return charger.output_a * 1.1 * charger.nominal_v


def shore_dc_w(shore: ShorePower, charger: ShoreCharger, ac_loads_w: Any) -> Any:
    """DC power that shore can give the bank's side beside steady AC loads [W].

    Parameters
    ----------
    shore : ShorePower
        Breaker and voltage.
    charger : ShoreCharger
        Efficiency and rating.
    ac_loads_w : float or (n_times,)
        AC loads, which come first [W].

    Returns
    -------
    float or (n_times,)
        The lesser of what the breaker leaves and what the charger can.
    """
    left = np.maximum(continuous_w(shore) - np.asarray(ac_loads_w), 0.0)
    return np.minimum(left * charger.efficiency, largest_dc_w(charger))
