"""No march goes on for ever, and none ignores an interruption.

The half hour that once took 1.2 s of a processor: the invented kennel's van on the road in humid heat, the vehicle's
own cooling and the cooler in eco beside one another, so that the air comes to rest where the vehicle's cooling begins.
"""

from __future__ import annotations

import os
import signal
import subprocess
import sys
from dataclasses import replace
from typing import Any

import numpy as np
import pytest

from tests.support.integrator import Second, read_map
from tests.support.marching import march_counted, most_steps
from tests.support.places import ROOT
from tests.support.vans import (
    big_bank,
    constant_cooler,
    made_weather,
    parameters,
    plain_house,
    start_state,
    steady_forcing,
)
from vansim.boundary.forcing import Forcing
from vansim.errors import MarchError
from vansim.march import kernel
from vansim.march.nights import NightForcing, march_accounts
from vansim.march.records import EVENT, NIGHT_ROWS, SAMPLE, STATE, TOTALS, Records, new_records
from vansim.runs.run import Run, march_forcing, march_run, prepare, rested_state
from vansim.scenario.files import load_scenario
from vansim.scenario.vary import vary

DEW_POINT_C = 23.6
"""Of air with 18.4 g/kg at 1008 hPa."""


@pytest.fixture(scope="module")
def half_hour() -> Run:
    """12:30 to 13:00 on the road, the bank at rest, the sun such that the air rests where the vehicle's band begins."""
    scenario = load_scenario(ROOT / "scenarios" / "kennel-day.toml")
    weather = made_weather(34.6, DEW_POINT_C, pressure=100800.0, ghi=1050.0, dni=850.0, dhi=200.0, wind_speed=5.0)
    run = prepare(vary(scenario, {"alternator": "none"}), weather, lead_in_days=0)
    f = run.laid.forcing
    at = slice(*np.searchsorted(f.start_s, (12.5 * 3600.0 - 1.0, 13.0 * 3600.0 - 1.0)))
    forcing = Forcing(*(np.ascontiguousarray(column[at]) for column in f))
    less, more = -6000.0, 6000.0  # the sun of that day never sets, and the road is hot
    for _ in range(40):
        run = with_heat(replace(run, laid=replace(run.laid, forcing=forcing)), 0.5 * (less + more))
        state = resting(run, 23.6, 23.2, 0.0082)
        march_forcing(run.laid.forcing, run.van, state)
        less, more = (
            (less, 0.5 * (less + more)) if state.cabin_c > run.van.cabin.vehicle_c else (0.5 * (less + more), more)
        )
    return run


def with_heat(run: Run, heat_w: float) -> Run:
    """The same with more heat in the cabin [W]."""
    forcing = run.laid.forcing._replace(internal_gains_w=run.laid.forcing.internal_gains_w + heat_w)
    return replace(run, laid=replace(run.laid, forcing=forcing))


def resting(run: Run, cabin_c: float, contents_c: float, ratio: float) -> Records:
    """The cooler at rest, the air near the top of its band."""
    state = rested_state(run.laid.forcing, cabin_c, ratio)
    state.contents_c, state.soc, state.bank_v = contents_c, 0.8, 13.2
    return state


def test_air_at_the_end_of_the_vehicles_band(half_hour: Run) -> None:
    """Six readings, one start with the cut in its ramp, and the band entered or left once or twice."""
    draw = np.random.default_rng(1)
    steps = []
    for _ in range(500):
        run = with_heat(half_hour, draw.uniform(-60.0, 60.0))
        state = resting(run, draw.uniform(23.4, 23.75), draw.uniform(22.5, 24.5), draw.uniform(0.007, 0.0095))
        steps.append(march_counted(run.laid.forcing, run.van, state).steps)
    assert max(steps) <= 12


@pytest.mark.parametrize("heat_w", [-30.0, 0.0, 30.0])
def test_air_at_the_end_of_the_band_is_where_an_integrator_has_it(half_hour: Run, heat_w: float) -> None:
    run = with_heat(half_hour, heat_w)
    state = resting(run, 23.6, 23.2, 0.0082)
    f = run.laid.forcing
    moments = np.arange(f.start_s[0] + 30.0, f.end_s[-1] + 1e-6, 30.0)
    start = np.array([state.cabin_c, state.contents_c, state.ratio, state.soc])
    theirs = Second(run, read_map(run)).march(start, moments)
    ours = march_run(run, state, moments)
    times, air = np.concatenate(theirs.times), np.concatenate(theirs.states)[:, 0]
    cabin = ours.samples.cabin_c[np.searchsorted(moments, times - 1e-6)]
    assert np.abs(air - run.van.cabin.vehicle_c).min() < 0.05  # it does come to the end of the band
    assert np.sqrt(((cabin - air) ** 2).mean()) < 0.01
    assert ours.totals.cooler_j.sum() == pytest.approx(theirs.cooler_j, rel=1e-3)


# --- what goes in a circle is stopped ---------------------------------------------------------------------------------


def circling(**bank: float) -> tuple[Forcing, Any, Records]:
    """A cooler that is connected again as soon as it was disconnected: no scenario can ask for that."""
    forcing = steady_forcing(3, outdoor_c=40.0, ua_w_k=200.0, cooling=1, solar_w=300.0)
    small = big_bank(**{"capacity_as": 3.6e5, "reserve_soc": 0.5, "reconnect_soc": 0.0, **bank})
    van = parameters(plain_house(), constant_cooler(3000.0, 900.0), small)
    return forcing, van, start_state(30.0, soc=0.50001)


@pytest.mark.parametrize("reconnect_soc", [0.0, 1e-20])
def test_a_circle_is_a_named_fault(reconnect_soc: float) -> None:
    forcing, van, state = circling(reconnect_soc=reconnect_soc)
    with pytest.raises(
        MarchError, match=r"^00:00 on day 1: .* more than 10,000 steps in an hour; internal error, please"
    ):
        march_forcing(forcing, van, state)


def test_a_circle_in_a_season_is_a_fault() -> None:
    forcing, van, state = circling()
    rows = new_records(NIGHT_ROWS, 1)
    rows.bed, rows.wake = 1, 3
    states = new_records(STATE, 1)
    states[0] = state
    with pytest.raises(RuntimeError, match="more than 10,000 steps"):
        march_accounts(NightForcing(forcing, forcing, forcing), rows, van, states, False)


def test_a_scenario_cannot_ask_for_a_circle() -> None:
    scenario = load_scenario(ROOT / "scenarios" / "desert-night.toml")
    for soc in (0.0, 1e-20, 0.009):
        with pytest.raises(Exception, match=r"bank\.reconnect_soc.*0\.01"):
            vary(scenario, {"bank.reconnect_soc": soc})


def test_the_worst_hour_lies_below_the_budget() -> None:
    """What the docstring of the kernel adds up: 60 starts, the vehicle's cooling, a bank charged within an hour."""
    hour = steady_forcing(1, cooling=1, vehicle=1, solar_w=1.0)
    bank = big_bank(capacity_as=3.6e5, charge_max_a=100.0, reconnect_soc=0.01)
    worst = most_steps(hour, parameters(bank=bank), 60)
    assert worst == pytest.approx(3400, rel=0.01)
    assert 2 * worst < kernel.MOST_STEPS_PER_HOUR


# --- interruptions ----------------------------------------------------------------------------------------------------


def busy(hours: int) -> tuple[Forcing, Any, Records]:
    """A cooler without timers in a van without mass: some thousand starts an hour."""
    forcing = steady_forcing(hours, outdoor_c=40.0, ua_w_k=200.0, cooling=1)
    van = parameters(plain_house(air_j_k=3000.0, deadband_k=0.5, ramp_s=1e-6), constant_cooler(6400.0, 2000.0))
    return forcing, van, start_state(24.0)


def test_the_kernel_returns_after_half_a_million_steps() -> None:
    """And what it makes in parts is what it makes at once."""
    forcing, van, state = busy(100)
    made = kernel.Progress(
        *kernel.march_on(
            forcing=forcing,
            first=0,
            end=100,
            van=van,
            state=state,
            totals=new_records(TOTALS, 100),
            moments=np.empty(0),
            samples=new_records(SAMPLE, 0),
            events=new_records(EVENT, 0),
            stop_at_reserve=False,
        )
    )
    assert kernel.PAUSE_STEPS <= made.n_steps < kernel.PAUSE_STEPS + kernel.MOST_STEPS_PER_HOUR
    assert 0 < made.reached < 100
    assert made.end_s == forcing.end_s[made.reached - 1]
    whole, parts = start_state(24.0), start_state(24.0)
    totals = march_forcing(forcing, van, whole).totals
    pieces = [
        march_forcing(Forcing(*(column[i : i + 25] for column in forcing)), van, parts).totals
        for i in range(0, 100, 25)
    ]
    assert np.array_equal(np.concatenate(pieces), totals)
    assert parts == whole


def test_events_and_samples_go_on_after_a_pause() -> None:
    forcing, van, state = busy(100)
    moments = np.arange(0.0, 100 * 3600.0 + 1.0, 1800.0)
    made = march_forcing(forcing, van, state, moments=moments, n_events=10**6)
    assert made.events.size == round(2 * made.totals.starts.sum()) - (1 if state.on else 0)
    assert (np.diff(made.events.time_s) >= 0.0).all()
    assert (np.diff(made.events.kind) != 0).all()
    assert made.samples.cabin_c.min() > 23.7
    assert made.samples.cabin_c.max() < 24.3


INTERRUPTED = """
import sys
from tests.march.test_endless import busy, march_forcing
forcing, van, state = busy(3000)
march_forcing(*busy(1))
try:
    print("marching", flush=True)
    for _ in range(10_000):
        march_forcing(forcing, van, state)
except KeyboardInterrupt:
    sys.exit(130)
"""


def test_a_march_can_be_interrupted() -> None:
    """Otherwise this takes an hour."""
    environment = {**os.environ, "PYTHONPATH": str(ROOT)}
    with subprocess.Popen(
        [sys.executable, "-c", INTERRUPTED], stdout=subprocess.PIPE, cwd=ROOT, env=environment, text=True
    ) as process:
        assert process.stdout is not None
        assert process.stdout.readline() == "marching\n"
        process.send_signal(signal.SIGINT)
        assert process.wait(timeout=300) == 130
