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
from scipy.optimize import brentq

from vansim.psychrometrics import saturation_ratio
from vansim.runs.run import Run
from vansim.van.bank_steps import (
    CHARGED,
    DRAWN,
    EFFICIENCY,
    RESISTANCE,
    at_temperature,
    charge_limit_a,
    ocv_at,
    piece_of,
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


@dataclass(frozen=True)
class Loop:
    """Currents and voltages of one moment: bank [A, positive when charged], busbar [V], cooler's terminals [V]."""

    bank_a: float
    bank_v: float
    busbar_v: float
    cooler_v: float
    cooler_w: float


class Circuit:
    """Bank, busbar and the cooler's feed as one loop, solved by root finding; the bank's two wells in charge [A s].

    The kernel writes the wells as a share of capacity that is out of reach, steps through them in closed form and finds
    voltages by repetition. Here they are Manwell and McGowan's own: the charge behind stands higher than that at hand
    by `head`, d(head)/dt = I/c - k head, and nothing more can be drawn when (1 - c) head is all that is left.
    """

    def __init__(self, run: Run) -> None:
        self.b, self.e = run.bank, run.electrical
        self.c = 1.0 / (1.0 + self.b.bound_share)

    def head_slope(self, head: float, drawn_a: float) -> float:
        return drawn_a / self.c - self.b.recovery_per_s * head

    def floor(self, head: float, temp_c: float) -> float:
        cold = float(np.interp(temp_c, self.b.climate[0], self.b.climate[2]))
        lacking = (1.0 - self.c) * head / self.b.capacity_as - self.b.bound_spare
        return 1.0 - cold * (1.0 - min(max(lacking, 0.0), 1.0))

    def cells_ohm(self, soc: float, head: float, temp_c: float) -> float:
        b, floor = self.b, self.floor(head, temp_c)
        cells = b.r_cell_ohm * at_temperature(b, RESISTANCE, temp_c)
        if self.c == 1.0:
            return cells * float(np.interp(soc, b.curve[0], b.curve[DRAWN]))
        left = float(np.clip((soc - floor) / (1.0 - floor), 0.0, 1.0))
        mean_a = max(self.c * b.recovery_per_s * head, b.rated_a)
        end = (ocv_at(b, min(floor, 1.0)) - b.knee_v) / mean_a - cells * b.curve[DRAWN, 0]
        return cells * float(np.interp(left, b.curve[0], b.curve[DRAWN])) + max(end, 0.0) * math.exp(-left / 0.05)

    def drawn(self, soc: float, head: float, temp_c: float, other_w: float, cooler_w: float) -> Loop:
        """Voltages when `other_w` (less what is offered) and a cooler of `cooler_w` draw on the busbar."""
        b, ocv, cells = self.b, ocv_at(self.b, soc), self.cells_ohm(soc, head, temp_c)
        charging = b.r_cell_ohm * at_temperature(b, RESISTANCE, temp_c) * np.interp(soc, b.curve[0], b.curve[CHARGED])

        def amps(volts: float) -> float:
            feed = self.e.feed_ohm
            return 2.0 * cooler_w / (volts + math.sqrt(max(volts**2 - 4.0 * feed * cooler_w, 0.0)))

        def gap(volts: float) -> float:
            into = -(other_w + volts * amps(volts)) / volts
            return ocv + into * (cells + b.r_fixed_ohm) - volts

        volts = float(brentq(gap, 0.6 * ocv, 1.4 * ocv, xtol=1e-12)) if gap(0.6 * ocv) > 0.0 else 0.6 * ocv
        # what charges meets another resistance, and is held
        if other_w + volts * amps(volts) < 0.0:
            volts = min(volts, b.absorption_v)
            cells = float(charging)
        into = -(other_w + volts * amps(volts)) / volts
        return Loop(into, ocv + into * cells, volts, volts - self.e.feed_ohm * amps(volts), volts * amps(volts))

    def stops(self, soc: float, head: float, temp_c: float, other_w: float, cooler_w: float) -> float:
        """How far from the nearest limit of the cooler; its zero ends the night."""
        b, loop = self.b, self.drawn(soc, head, temp_c, other_w, cooler_w)
        if loop.bank_a >= 0.0:
            return 1.0
        return min(
            soc - max(b.reserve_soc, self.floor(head, temp_c)),
            loop.bank_v - b.cutoff_v,
            loop.cooler_v - self.e.cooler_off_v,
            1.0 if math.isinf(b.discharge_max_a) else 1.0 + loop.bank_a / b.discharge_max_a,
        )


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
    """The van as differential equations: cabin [°C], contents [°C], humidity ratio, soc, head of the wells [A s],
    cooler energy [J].

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
        self.circuit = Circuit(run)
        self.on = self.shed = False
        self.fridges = [load for load in run.scenario.loads if load.keeps_c is not None]  # here always on
        self.boosting = True
        self.switched, self.started = -1e6, -1e6
        self.piece = 0

    # --- flows ---------------------------------------------------------------------------------------------------

    def mode(self) -> int:
        asked = int(self.f.cooling[self.piece])
        return BOOST if asked == 2 or (asked == 3 and self.boosting) else ECO

    def outdoor(self, t: float) -> float:
        return float(self.f.outdoor_c[self.piece] + self.f.outdoor_k_s[self.piece] * (t - self.f.start_s[self.piece]))

    def fridges_w(self, cabin_c: float) -> float:
        """What refrigerators draw beyond their mean at 25 °C: leak by lift, at most twice, and no more than on [W]."""
        extra = 0.0
        for load in self.fridges:
            cold_c = -12.0 + 15.0 * (load.keeps_c - 4.0) / 22.0
            ratio = (cabin_c - load.keeps_c) * (cabin_c + 15.0 - cold_c)
            ratio /= (25.0 - load.keeps_c) * (40.0 - cold_c)
            extra += min(ratio, 2.0, 1.0 / load.duty) * load.duty * load.power_w - load.duty * load.power_w
        return extra

    def other_w(self, cabin_c: float, peak: bool = False) -> float:
        """Demand but the cooler's less supply [W]; there is no alternator in these runs."""
        i = self.piece
        enabled = self.f.cooling[i] != 0 and not self.shed
        demand = self.f.loads_w[i] + (0.0 if peak else self.fridges_w(cabin_c)) + (self.h.standby_w if enabled else 0.0)
        demand += self.f.peak_w[i] + self.f.inverter_peak_w[i] if peak else 0.0
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
        loop = self.circuit.drawn(soc, y[4], bank_c, self.other_w(cabin), power)
        ocv, fed_w = ocv_at(b, soc), loop.cooler_w
        if loop.bank_a < 0.0:
            amps = -loop.bank_a
            soc_slope = -amps / b.capacity_as
            warm = (self.circuit.cells_ohm(soc, y[4], bank_c) + b.r_fixed_ohm) * amps * amps
            head_slope = self.circuit.head_slope(y[4], amps)
        else:
            resistance = b.r_cell_ohm * at_temperature(b, RESISTANCE, bank_c)
            resistance = resistance * np.interp(soc, b.curve[0], b.curve[CHARGED]) + b.r_fixed_ohm
            offered = -self.other_w(cabin) - fed_w
            taken = 2.0 * offered / (ocv + math.sqrt(ocv * ocv + 4.0 * resistance * offered))
            limits = charge_limit_a(b, bank_c), (b.absorption_v - ocv) / resistance
            amps = max(min(taken, *limits), 0.0) if soc < 1.0 else 0.0
            stored = b.curve[EFFICIENCY, piece_of(b, soc)]
            soc_slope = amps * stored / b.capacity_as
            warm = resistance * amps * amps + (1.0 - stored) * ocv * amps
            head_slope = self.circuit.head_slope(y[4], 0.0)
        exchange = h.coupling_w_k * (contents - cabin)
        air = (f.ua_w_k[i] + f.air_w_k[i]) * (outdoor - cabin) + f.sol_air_gain_w[i] + exchange
        air += dry + f.internal_gains_w[i] + f.inverter_heat_w[i] + f.sun_air_w[i] - sensible
        air += self.fridges_w(cabin) * f.fridge_heat[i]
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
            head_slope,
            fed_w + (h.standby_w if enabled else 0.0),
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
            power, bank_c = self.cooler(t, y)[2], y[1] if h.bank_inside else self.outdoor(t)
            if self.other_w(y[0]) + power <= 0.0:
                return 1.0
            return self.circuit.stops(y[3], y[4], bank_c, self.other_w(y[0], peak=True), power)

        reserve.terminal, reserve.direction, reserve.reserve = True, -1.0, True  # type: ignore[attr-defined]
        found.append(reserve)
        return found, until

    def march(self, state: np.ndarray, moments: np.ndarray) -> Trace:
        """From a rested state (cabin, contents, humidity ratio, soc) over the whole forcing."""
        trace, y = Trace(), np.append(np.asarray(state, dtype=float), [0.0, 0.0])
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
                    atol=[1e-9, 1e-9, 1e-12, 1e-11, 1e-3, 1e-3],
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
        trace.cooler_j, trace.end = float(y[5]), y
        return trace
