"""Step, periodic and thermostat answers of the two-node cabin, on `network` and on a whole `simulate`.

The equations are in any text on heat transfer (Incropera et al., Fundamentals of Heat and Mass Transfer, chapter 5:
lumped capacity); the numbers in `closed_forms.csv` were worked out apart from this project. The integrator itself, its
conservation and its independence of the step are the business of tests/analytic, tests/march and tests/properties.
"""

from __future__ import annotations

import math
from typing import Any
from unittest.mock import patch

import numpy as np
from scipy.linalg import expm

from tests.support.bench import hold, read, row
from tests.support.vans import box, constant_cooler, idle_van, made_weather, parameters, start_state, steady_forcing
from vansim import simulate
from vansim.boundary import envelope
from vansim.boundary.ground import GroundYear
from vansim.march.network import deviation, two_node_solution
from vansim.march.records import STARTED, STOPPED
from vansim.psychrometrics import STEFAN_BOLTZMANN, ZERO_C_K
from vansim.runs.run import march_forcing
from vansim.scenario.schema import RunWindow
from vansim.van.bank import bank_parameters
from vansim.van.cabin import Face, Layer

LUMPED = "lumped capacity, closed form"


def network_c(r: Any) -> float:
    """Air (or mass) temperature of a row of the table, by `network`."""
    start_w = r.ua_w_k * (r.outdoor_c - r.start_c) + r.gain_w
    m = two_node_solution(
        loss_w_k=r.ua_w_k,
        coupling_w_k=r.coupling_w_k,
        air_j_k=r.air_j_k,
        contents_j_k=r.mass_j_k,
        air_w=start_w,
        contents_w=0.0,
        drift_w_s=0.0,
        ramp_w=0.0,
        tau_s=1.0,
    )
    air, mass = deviation(m, r.minutes * 60.0)
    return r.start_c + (mass if r.node == "mass" else air)


def table_rows() -> list[dict[str, Any]]:
    return [
        row(
            f"{r.node} after {r.minutes:g} min, {r.case}",
            r.expected,
            network_c(r),
            r.tolerance,
            "degC",
            r.why,
            LUMPED,
            "closed form",
            "computed",
        )
        for r in read("closed_forms").itertuples()
    ]


def ua_of_the_box(outdoor_c: float, emittance: float = 0.04, r_m2k_w: float = 1.0) -> float:
    """UA of `box` by hand: six faces of 6 m2, inside films of ISO 6946, outside 4 W/m2K and radiation."""
    outside = 4.0 + 4.0 * emittance * STEFAN_BOLTZMANN * (outdoor_c + ZERO_C_K) ** 3
    films = (0.17, 0.13, 0.13, 0.13, 0.13, 0.10)
    return sum(6.0 / (r_m2k_w + film + 1.0 / outside) for film in films)


def shiny_box(**changes: Any) -> Any:
    """A box that hardly radiates, so that its UA is a constant."""
    plain = Face(area_m2=6.0, layers=(Layer(r_m2k_w=1.0),), paint="polished-aluminium")
    return box(faces=dict.fromkeys(("roof", "left", "right", "front", "rear", "floor"), plain), **changes)


def as_warm_as_air(outdoor_c: np.ndarray) -> Any:
    """Weather whose sky radiates like the air at the middle of each hour."""
    middle = 0.5 * (outdoor_c + np.roll(outdoor_c, -1))
    return made_weather(temp_air=outdoor_c, longwave=STEFAN_BOLTZMANN * (middle + ZERO_C_K) ** 4)


def answer(scenario: Any, outdoor_c: np.ndarray, step: str) -> Any:
    """A simulate's trace in that weather, on ground without a memory: the closed forms know of the air alone."""
    ground = 0.5 * (outdoor_c + np.roll(outdoor_c, -1))
    follows = GroundYear(open_c=ground, under_c=ground, road_c=ground)
    with patch.object(envelope, "ground_year", lambda *asked: follows):
        return simulate(scenario, as_warm_as_air(outdoor_c)).trace(step)


def step_rows() -> list[dict[str, Any]]:
    """A whole simulate, at rest at 30 degC: outdoor air rises by 10 K from 12 to 13 h and stays; two nodes answer."""
    air_kj, mass_kj, coupling = 48.0, 600.0, 150.0
    cabin = shiny_box(air_kj_k=air_kj, contents_kj_k=mass_kj, contents_w_k=coupling)
    noon = 151 * 24 + 12  # of 1 June
    outdoor = np.where((np.arange(8760) > noon) & (np.arange(8760) < noon + 48), 40.0, 30.0)
    scenario = idle_van(cabin=cabin, run=RunWindow(date="06-01", start="00:00", days=1))
    trace = answer(scenario, outdoor, "1min")
    ua = ua_of_the_box(36.0)
    air_j = air_kj * 1000.0 + 10.0 * 101325.0 / (287.042 * 298.15 * (1 + 0.01 / 0.621945)) * 1006.0
    # an independent road: x' = A x + b T(t), augmented by T and its slope, through the matrix exponential of scipy
    system = np.zeros((4, 4))
    system[0, :3] = -(ua + coupling) / air_j, coupling / air_j, ua / air_j
    system[1, :2] = coupling / mass_kj / 1e3, -coupling / mass_kj / 1e3
    system[2, 3] = 1.0
    hour = expm(system * 3600.0) @ [0.0, 0.0, 0.0, 10.0 / 3600.0]
    hour[3] = 0.0
    why = "closed form; radiation of the shiny skin moves UA by 0.1 % between 30 and 40 degC"
    out = []
    for minutes in (30, 60, 90, 240, 600):
        exact = (
            expm(system * 60.0 * minutes) @ [0, 0, 0, 10.0 / 3600]
            if minutes <= 60
            else (expm(system * 60.0 * (minutes - 60)) @ hour)
        )
        for name, node in (("cabin_c", 0), ("contents_c", 1)):
            ours = trace[name].iloc[12 * 60 + minutes - 1]
            out.append(
                row(
                    f"simulate: {name} {minutes} min into a rise outdoors",
                    30 + exact[node],
                    ours,
                    0.006,
                    "degC",
                    why,
                    LUMPED,
                    "closed form",
                    "computed",
                )
            )
    return out


def sine_rows() -> list[dict[str, Any]]:
    """A whole simulate under a daily sine outdoors; one node: decrement 1/sqrt(1+(w tau)^2), lag atan(w tau)/w."""
    out = []
    omega = 2 * math.pi / 86400.0
    outdoor = 30.0 + 8.0 * np.cos(omega * 3600.0 * (np.arange(8760) - 15.0))
    chord = np.sinc(1 / 24) ** 2  # what straight lines between hours leave of the amplitude
    ua = ua_of_the_box(30.0)
    for tau_h, decrement, lag_h in ((2.0, 0.8859, 1.842), (8.0, 0.4309, 4.298)):
        air_kg = 10.0 * 101325.0 / (287.042 * 298.15 * (1 + 0.01 / 0.621945))
        air_kj = (tau_h * 3600.0 * ua - air_kg * 1006.0) / 1000.0
        cabin = shiny_box(air_kj_k=air_kj, contents_kj_k=1.0, contents_w_k=1e-6)
        scenario = idle_van(cabin=cabin, run=RunWindow(date="06-05", start="00:00", days=2))
        trace = answer(scenario, outdoor, "10min")["cabin_c"].to_numpy()[-144:]
        moments = (np.arange(144) + 1.0) * 600.0
        wave = 2.0 * np.mean(trace * np.exp(-1j * omega * moments))
        lag = (np.angle(np.exp(-1j * omega * 15 * 3600.0) / wave)) / omega / 3600.0
        out.append(
            row(
                f"simulate: daily decrement, tau {tau_h:g} h",
                decrement,
                abs(wave) / (8.0 * chord),
                0.003,
                "1",
                "radiation moves UA by 0.2 % over the day; the first days of the sine still ring",
                LUMPED,
                "closed form",
                "computed",
            )
        )
        out.append(
            row(
                f"simulate: lag behind outdoor air, tau {tau_h:g} h",
                lag_h,
                lag,
                0.005,
                "h",
                "as above",
                LUMPED,
                "closed form",
                "computed",
            )
        )
    return out


def thermostat() -> dict[str, float]:
    """A day of cycling: UA 60 W/K, 400 kJ/K, 38 degC outside, 300 W of gains, 2000 W of cooling, 23.5 to 24.5 degC."""
    forcing = steady_forcing(24, outdoor_c=38.0, ua_w_k=60.0, internal_gains_w=300.0, cooling=1)
    bank = bank_parameters(idle_van().bank)._replace(capacity_as=1e12)
    state = start_state(24.0)
    van = parameters(cooler=constant_cooler(2000.0, 800.0), bank=bank)
    march_forcing(forcing, van, state)  # settles
    totals, _, events, _ = march_forcing(forcing, van, state, n_events=1000)
    starts, stops = events.time_s[events.kind == STARTED], events.time_s[events.kind == STOPPED]
    stops = stops[(stops > starts[0]) & (stops < starts[-1])]
    return {
        "on_s": float(np.mean(stops - starts[:-1])),
        "off_s": float(np.mean(starts[1:] - stops)),
        "per_h": 3600.0 / float(np.mean(np.diff(starts))),
        "duty": totals.on_s.sum() / 86400.0,
        "mean_c": totals.cabin_ks.sum() / 86400.0,
    }


def thermostat_rows() -> list[dict[str, Any]]:
    t = thermostat()
    why = "closed form; the coil of this machine is read as a straight line in cabin temperature"
    expected = {
        "off_s": (350.958, 0.05, "s"),
        "on_s": (465.305, 0.05, "s"),
        "per_h": (4.4103, 0.001, "1/h"),
        "duty": (0.57004, 0.001, "1"),
        "mean_c": (23.99857, 0.002, "degC"),
    }
    return [
        row(
            f"thermostat: {name}",
            value,
            t[name],
            tolerance,
            unit,
            why,
            "lumped capacity between two levels",
            "closed form",
            "computed",
        )
        for name, (value, tolerance, unit) in expected.items()
    ]


def rows() -> list[dict[str, Any]]:
    return table_rows() + step_rows() + sine_rows() + thermostat_rows()


def test_closed_forms() -> None:
    hold(rows())
