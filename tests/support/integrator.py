"""A second way to march a van: scipy's integrator on the nonlinear equations, with events at the switchings.

It shares with the package the forcing arrays and the scalar functions of the rooms (coil and cooler, bank), and
nothing of the network or the kernel: nothing is linearised, nothing is held over a stretch, no closed form is used.
"""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import dataclass, field
from typing import Any

import numpy as np
from scipy.integrate import solve_ivp

from vansim.psychrometrics import saturation_ratio
from vansim.runs.run import Run
from vansim.van.bank_steps import (
    CAPACITY,
    EFFICIENCY,
    at_temperature,
    charge_limit_a,
    current_for_power,
    ocv_at,
    piece_of,
    rate_factor,
    resistance_ohm,
    stop_soc,
)
from vansim.van.cooler import cooler_parameters
from vansim.van.cooler_balance import (
    AirState,
    coil_contact,
    coil_mass_flow_kg_s,
    coil_sensible_w,
    coil_water_kg_s,
    steady_state,
)
from vansim.van.cooler_map import running
from vansim.van.people import LATENT_J_KG

ECO, BOOST = 0, 1
CoolerParameters = Callable[[int, float, float, float], tuple[float, float, float]]


def read_map(run: Run) -> CoolerParameters:
    """Steady sensible cooling [W], condensate [kg/s] and power [W], read from the cooler's map."""

    def at(mode: int, outdoor_c: float, cabin_c: float, ratio: float) -> tuple[float, float, float]:
        r = running(run.cooling, mode, outdoor_c, cabin_c, ratio)
        return r.sensible_w, r.water_kg_s, r.power_w

    return at


def solve_balance(run: Run) -> CoolerParameters:
    """The same, from the machine's balance solved at that very state."""
    assert run.scenario.cooler is not None
    machine, pressure = cooler_parameters(run.scenario.cooler), run.cooling.pressure_pa

    def at(mode: int, outdoor_c: float, cabin_c: float, ratio: float) -> tuple[float, float, float]:
        air = AirState(outdoor_c=outdoor_c, cabin_c=cabin_c, ratio=ratio, pressure_pa=pressure)
        surface, _, _, _, work = steady_state(machine, mode, air)
        flow = coil_mass_flow_kg_s(machine.airflow_m3_s[mode], cabin_c, ratio, pressure)
        contact = flow * coil_contact(machine.coil_ntu_kg_s, flow)
        sensible = coil_sensible_w(contact, cabin_c, ratio, surface) - machine.coil_fan_w[mode]
        return (
            sensible,
            coil_water_kg_s(contact, ratio, saturation_ratio(surface, pressure)),
            work + machine.fans_w[mode],
        )

    return at


def dry_person(cabin_c: float) -> float:
    """Dry share of a person: 0.652 at 24 °C, 0.0348 less per kelvin, and breath and skin always take a quarter."""
    return float(np.interp(cabin_c, [24.0 - 0.098 / 0.0348, 24.0 + 0.652 / 0.0348], [0.75, 0.0]))


def dry_dog(cabin_c: float) -> float:
    """Dry share of a dog: 0.65 in the cool, straight from 24 °C to nothing at its body's 38.5 °C."""
    return float(np.interp(cabin_c, [24.0, 38.5], [0.65, 0.0]))


@dataclass
class Trace:
    """What came out: switchings, the reserve, energies, and the cabin at the wanted moments."""

    starts: list[float] = field(default_factory=list)
    stops: list[float] = field(default_factory=list)
    reserve_s: float = math.nan
    cooler_j: float = 0.0
    times: list[np.ndarray] = field(default_factory=list)
    states: list[np.ndarray] = field(default_factory=list)
    end: np.ndarray = field(default_factory=lambda: np.zeros(0))


class Second:
    """The van as differential equations: cabin [°C], contents [°C], humidity ratio, soc, cooler energy [J].

    Parameters
    ----------
    run : Run
        Forcing and constants.
    machine : Machine
        `read_map` or `solve_balance`.
    rtol : float
        Relative tolerance of the integrator.
    """

    def __init__(self, run: Run, machine: CoolerParameters, rtol: float = 1e-9) -> None:
        self.f, self.h, self.b, self.machine, self.rtol = run.laid.forcing, run.constants, run.bank, machine, rtol
        self.on = self.shed = False
        self.boosting = True
        self.switched, self.started = -1e6, -1e6
        self.piece = 0

    # --- flows ---------------------------------------------------------------------------------------------------

    def mode(self) -> int:
        asked = int(self.f.cooling[self.piece])
        return BOOST if asked == 2 or (asked == 3 and self.boosting) else ECO

    def outdoor(self, t: float) -> float:
        return float(self.f.outdoor_c[self.piece] + self.f.outdoor_k_s[self.piece] * (t - self.f.start_s[self.piece]))

    def draw_w(self, power: float) -> float:
        """Demand less supply [W]; there is no alternator in these runs."""
        i = self.piece
        enabled = self.f.cooling[i] != 0 and not self.shed
        demand = self.f.loads_w[i] + power + (self.h.standby_w if enabled else 0.0)
        return float(demand - self.f.solar_w[i] - self.f.shore_w[i])

    def cooler(self, t: float, y: np.ndarray) -> tuple[float, float, float]:
        if not self.on:
            return 0.0, 0.0, 0.0
        reached = 1.0 - math.exp(-(t - self.started) / self.h.ramp_s)
        sensible, water, power = self.machine(self.mode(), self.outdoor(t), y[0], y[2])
        return sensible * reached, water * reached, power

    def slopes(self, t: float, y: np.ndarray) -> list[float]:
        i, f, h, b = self.piece, self.f, self.h, self.b
        cabin, contents, ratio, soc = y[0], y[1], y[2], y[3]
        outdoor = self.outdoor(t)
        sensible, water, power = self.cooler(t, y)
        dry = f.people_w[i] * dry_person(cabin) + f.dogs_w[i] * dry_dog(cabin)
        vapour = (f.people_w[i] + f.dogs_w[i] - dry) / LATENT_J_KG
        bank_c = contents if h.bank_inside else outdoor
        draw = self.draw_w(power)
        resistance, ocv = resistance_ohm(b, bank_c), ocv_at(b, soc)
        if draw > 0.0:
            amps = -current_for_power(ocv, resistance, -draw)
            soc_slope = -amps * rate_factor(b, amps) / at_temperature(b, CAPACITY, bank_c) / b.capacity_as
            warm = resistance * amps * amps
        else:
            limits = charge_limit_a(b, bank_c), (b.absorption_v - ocv) / resistance
            amps = max(min(current_for_power(ocv, resistance, -draw), *limits), 0.0) if soc < 1.0 else 0.0
            stored = b.curve[EFFICIENCY, piece_of(b, soc)]
            soc_slope = amps * stored / b.capacity_as
            warm = resistance * amps * amps + (1.0 - stored) * ocv * amps
        exchange = h.coupling_w_k * (contents - cabin)
        air = (f.ua_w_k[i] + f.air_w_k[i]) * (outdoor - cabin) + f.sol_air_gain_w[i] + exchange
        air += dry + f.internal_gains_w[i] + f.sun_air_w[i] - sensible
        if f.vehicle[i]:
            air -= min(max((cabin - h.vehicle_c) * h.vehicle_w_k, 0.0), h.vehicle_w)
        inside = f.sun_contents_w[i] + (warm if h.bank_inside else 0.0) - exchange
        open_kg_s = math.sqrt(f.opening_kg2_s2[i] + f.opening_kg2_s2_k[i] * abs(outdoor - cabin))
        air += open_kg_s * (1006.0 + 1860.0 * f.outdoor_ratio[i]) * (outdoor - cabin)
        for face in ("roof", "floor"):
            below = cabin - outdoor - getattr(f, face + "_excess_k")[i]
            air -= getattr(f, face + "_outward_w_k")[i] * max(below, 0.0)
        moist = vapour + (f.air_kg_s[i] + open_kg_s) * (f.outdoor_ratio[i] - ratio) - water
        pane = cabin + f.pane_coldness[i] * (outdoor + f.pane_excess_k[i] - cabin)
        moist -= f.pane_kg_s[i] * max(ratio - saturation_ratio(min(pane, cabin), h.pressure_pa), 0.0)
        enabled = f.cooling[i] != 0 and not self.shed
        return [
            air / h.air_j_k,
            inside / h.contents_j_k,
            moist / h.moisture_kg,
            soc_slope,
            power + (h.standby_w if enabled else 0.0),
        ]

    # --- switching -----------------------------------------------------------------------------------------------

    def switch(self, t: float, y: np.ndarray, trace: Trace) -> None:
        """The thermostat's rules, written again."""
        i, h = self.piece, self.h
        eps = 1e-7
        if self.f.cooling[i] == 0 or self.shed:
            self.boosting = True
            if self.on:
                self.on, self.switched = False, t
                trace.stops.append(t)
            return
        middle, half = self.f.setpoint_c[i], 0.5 * h.deadband_k
        if y[0] >= middle + h.boost_return_k - eps:
            self.boosting = True
        if self.on:
            if y[0] <= middle - half + eps and t - self.switched >= h.min_on_s - eps:
                self.on, self.switched, self.boosting = False, t, False
                trace.stops.append(t)
        elif (
            y[0] >= middle + half - eps
            and t - self.switched >= h.min_off_s - eps
            and t - self.started >= h.between_starts_s - eps
        ):
            self.on, self.switched, self.started = True, t, t
            trace.starts.append(t)

    def events(self, t: float, y: np.ndarray) -> tuple[list[Any], float]:
        """Functions whose zero ends the stretch, and the time at which it ends at the latest."""
        i, h = self.piece, self.h
        until, found = float(self.f.end_s[i]), []
        if self.f.cooling[i] == 0 or self.shed:
            return found, until
        middle, half = float(self.f.setpoint_c[i]), 0.5 * h.deadband_k

        def level(at: float, direction: float) -> None:
            def crossing(_t: float, y: np.ndarray) -> float:
                return float(y[0] - at)

            crossing.terminal, crossing.direction = True, direction  # type: ignore[attr-defined]
            found.append(crossing)

        if self.on:
            if y[0] > middle - half + 1e-7:
                level(middle - half, -1.0)
            else:
                until = min(until, self.switched + h.min_on_s)
            # the ramp has a kink where it starts; scipy is helped by a cut at three time constants
            if t - self.started < 3.0 * h.ramp_s - 1e-9:
                until = min(until, self.started + 3.0 * h.ramp_s)
        elif y[0] < middle + half - 1e-7:
            level(middle + half, 1.0)
        else:
            until = min(until, max(self.switched + h.min_off_s, self.started + h.between_starts_s))
        if self.f.cooling[i] == 3 and not self.boosting and y[0] < middle + h.boost_return_k - 1e-7:
            level(middle + h.boost_return_k, 1.0)

        def reserve(t: float, y: np.ndarray) -> float:
            draw = self.draw_w(self.cooler(t, y)[2])
            bank_c = y[1] if h.bank_inside else self.outdoor(t)
            return float(y[3] - stop_soc(self.b, max(draw, 0.0), bank_c)) if draw > 0.0 else 1.0

        reserve.terminal, reserve.direction, reserve.reserve = True, -1.0, True  # type: ignore[attr-defined]
        found.append(reserve)
        return found, until

    def march(self, state: np.ndarray, moments: np.ndarray) -> Trace:
        """From a rested state (cabin, contents, humidity ratio, soc) over the whole forcing."""
        trace, y = Trace(), np.append(np.asarray(state, dtype=float), 0.0)
        for piece in range(self.f.start_s.size):
            self.piece = piece
            t = float(self.f.start_s[self.piece])
            while t < self.f.end_s[self.piece] - 1e-9:
                self.switch(t, y, trace)
                found, until = self.events(t, y)
                wanted = moments[(moments > t) & (moments <= until)]
                got = solve_ivp(
                    self.slopes,
                    (t, until),
                    y,
                    method="LSODA",
                    rtol=self.rtol,
                    atol=[1e-9, 1e-9, 1e-12, 1e-11, 1e-3],
                    events=found or None,
                    t_eval=np.append(wanted, until) if not wanted.size or wanted[-1] < until else wanted,
                    max_step=300.0,
                )
                assert got.success, got.message
                hit = [k for k, e in enumerate(got.t_events or []) if e.size]
                if hit:
                    k = min(hit, key=lambda k: got.t_events[k][0])
                    t, y = float(got.t_events[k][0]), got.y_events[k][0].copy()
                    if hasattr(found[k], "reserve"):
                        self.shed, trace.reserve_s = True, t
                else:
                    t, y = until, got.y[:, -1].copy()
                reached = np.asarray(got.t)
                inside = np.isin(reached, wanted) & (reached <= t)
                if inside.any():
                    trace.times.append(reached[inside])
                    trace.states.append(got.y[:, inside].T)
        self.switch(t, y, trace)
        trace.cooler_j, trace.end = float(y[4]), y
        return trace
