"""What fills the bank: alternator, sun and shore power."""

from __future__ import annotations

from typing import Literal

import numpy as np
import numpy.typing as npt
from pydantic import Field

from vansim.quantities import Array, Fraction, NotNegative, Numbers, Part, Positive

COPPER_PER_K, COLD_C = 0.00393, 25.0
"""Resistance of copper by temperature [1/K], and the temperature at which an alternator's currents are stated [°C]."""


class Alternator(Part):
    """Charging from the engine.

    Attributes
    ----------
    nominal_v : float
        Bank voltage that the currents are stated at: 12, 24 or 48 [V].
    idle_a, road_a : float
        What it gives, idling and on the road, cool [A at bank voltage].
    vehicle_a : float
        Taken from it for the vehicle's own use [A at bank voltage].
    bonnet_rise_k, own_rise_k : float
        Air under the bonnet over outdoor air, and windings over that, once it is warm [K]: 20 to 40 K and 90 K (from
        memory).
    warm_up_min : float
        Time constant with which it comes there, and back when the engine stops [min]: 8 to 15 (m c / (h A)).
    converter_efficiency : float
        Of a DC-DC charger between it and the bank; 1 for none.
    converter_a : float
        Largest current of that charger into the bank [A]; 0 for none.
    """

    name: str = ""
    note: str = ""
    nominal_v: Literal[12, 24, 48] = 12
    idle_a: NotNegative
    road_a: NotNegative
    vehicle_a: NotNegative = 0.0
    bonnet_rise_k: NotNegative = 30.0
    own_rise_k: NotNegative = 90.0
    warm_up_min: float = Field(default=12.0, gt=0, le=120)
    converter_efficiency: float = Field(default=1.0, gt=0.3, le=1)
    converter_a: NotNegative = 0.0
    price: NotNegative | None = None
    mass_kg: NotNegative = 0.0

    @property
    def hot_rise_k(self) -> float:
        """Windings over outdoor air once it is warm [K]."""
        return self.bonnet_rise_k + self.own_rise_k


def warm_share(winding_c: float | Array, driving: bool | npt.NDArray[np.bool_]) -> Array:
    """What a warm alternator gives over what it gives cool.

    Parameters
    ----------
    winding_c : float or (n_times,)
        Temperature of its windings [°C].
    driving : bool or (n_times,)
        On the road, rather than idling.

    Returns
    -------
    () or (n_times,) array
        At most 1.

    Source
    ------
    At a set voltage the field current falls with the resistance of copper, 1/(1 + 0.00393 (t - 25 °C)). Near idle speed
    output goes with it; on the road iron is saturated, and output goes with its root. A 50 A marine machine, hot and
    cold: 16 of 24 A (0.67) at 1300 1/min and 41 of 50 A (0.82) at 2500 1/min; 120 K over 25 °C give 0.68 and 0.82.
    """
    field = 1.0 / (1.0 + COPPER_PER_K * np.maximum(np.asarray(winding_c, dtype=float) - COLD_C, 0.0))
    return np.where(driving, np.sqrt(field), field)


def alternator_a(
    alternator: Alternator,
    winding_c: float | Array,
    running: bool | npt.NDArray[np.bool_],
    driving: bool | npt.NDArray[np.bool_],
) -> Array:
    """Current offered to the bank [A].

    Parameters
    ----------
    alternator : Alternator
        Its figures.
    winding_c : float or (n_times,)
        Temperature of its windings [°C].
    running, driving : bool or (n_times,)
        Engine on; van on the road.

    Returns
    -------
    () or (n_times,) array
        Current at bank voltage, behind the DC-DC charger where there is one.
    """
    given = np.where(driving, alternator.road_a, alternator.idle_a) * warm_share(winding_c, driving)
    offered = np.maximum(given - alternator.vehicle_a, 0.0) * alternator.converter_efficiency
    if alternator.converter_a > 0.0:
        offered = np.minimum(offered, alternator.converter_a)
    return np.where(running, offered, 0.0)


def warmed_k(alternator: Alternator, start_k: float, running: bool, span_s: Numbers) -> Numbers:
    """Windings over outdoor air after a time with the engine on or off [K], from where they stood.

    It is taken to give what it can, as it does to a bank that is not full; a nearly full one would leave it cooler.
    """
    goal = alternator.hot_rise_k if running else 0.0
    over_k: Numbers = goal + (start_k - goal) * np.exp(-span_s / (60.0 * alternator.warm_up_min))
    return over_k


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
    mppt_a : float
        Largest current of the charge controller into the bank [A]; 0 for no limit.
    string_shade : float
        Direct sun lost for each share of it that shade takes. 1, the favourable case, holds for shade that is even over
        all cells. Shade with an edge costs more, for the cells of a string carry what the weakest does: about 4 (judged
        from single-diode cells computed here: one cell of 36 covered costs half to all of a panel).
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
    mppt_a: NotNegative = 0.0
    string_shade: float = Field(default=1.0, ge=1, le=50)
    price: NotNegative | None = None
    mass_kg: NotNegative = 0.0

    @property
    def yield_factor(self) -> float:
        """What the losses leave, the controller's in (Dobos 2014, PVWatts v5, NREL/TP-6A20-62641: losses multiply)."""
        kept = (1 - self.soiling) * (1 - self.mismatch) * (1 - self.wiring) * (1 - self.other)
        return kept * self.mppt_efficiency


def lit_share(array: SolarArray, shade: float) -> float:
    """Share of the direct sun on an open roof that strings still use, where shade takes some of it."""
    return max(1.0 - array.string_shade * shade, 0.0)


SAPM_MOUNT = {"bracket": (-2.98, -0.0471, 1.0), "glued": (-2.81, -0.0455, 0.0)}
"""a, b, dT of the close-mount glass-glass and the insulated-back glass-polymer module (King, Boyson & Kratochvil 2004,
SAND2004-3535, as tabulated in pvlib)."""
REFERENCE_W_M2, REFERENCE_C = 1000.0, 25.0
"""Light and cell temperature at which modules are rated (IEC 60904-3)."""


def cell_c(array: SolarArray, plane_w_m2: Numbers, outdoor_c: Numbers, wind_m_s: Numbers) -> Numbers:
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
    module_c: Numbers = plane_w_m2 * np.exp(a + b * wind_m_s) + outdoor_c
    return module_c + plane_w_m2 / REFERENCE_W_M2 * rise


def solar_dc_w(array: SolarArray, effective_w_m2: Numbers, panel_c: Numbers) -> Numbers:
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
    offered: Numbers = np.maximum(by_light * (1.0 + array.gamma_per_k * (panel_c - REFERENCE_C)), 0.0)
    return offered * array.yield_factor


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
