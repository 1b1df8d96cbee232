"""The number of steps is bounded by what physics can make happen, in vans that provoke switching."""

from __future__ import annotations

import math

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from tests.support.marching import march_counted, most_steps
from tests.support.scenarios import scenarios
from vansim.climate import Weather
from vansim.runs.run import fresh_state, prepare
from vansim.scenario.schema import Scenario, VehicleCooling
from vansim.van.bank import LEAST_RECONNECT_SOC
from vansim.van.cooler_thermostat import Thermostat


@pytest.fixture(scope="module")
def years(desert_year: Weather, coast_year: Weather, miami_year: Weather) -> tuple[Weather, ...]:
    return desert_year, coast_year, miami_year


@st.composite
def restless(draw: st.DrawFn) -> Scenario:
    """A narrow band, short timers, the vehicle's band at a level of the thermostat, limits close to rest."""
    scenario = draw(scenarios(max_days=1))
    deadband_k = draw(st.sampled_from([1e-9, 1e-3, 0.4, 2.0]))
    thermostat = Thermostat(
        setpoint_c=draw(st.floats(18.0, 28.0)),
        deadband_k=deadband_k,
        boost_return_k=draw(st.sampled_from([1e-9, 0.5, 3.0])),
    )
    level = draw(st.sampled_from([-4.0, -0.5 * deadband_k, 0.0, 0.5 * deadband_k]))
    assert scenario.cooler is not None
    timers = {
        "min_on_s": draw(st.sampled_from([0.0, 30.0, 180.0])),
        "min_off_s": draw(st.sampled_from([0.0, 30.0, 180.0])),
        "max_starts_per_h": draw(st.sampled_from([8.0, 60.0])),
        "ramp_s": draw(st.sampled_from([1e-6, 1.0, 30.0, 600.0])),
        "cut_off_v": draw(st.one_of(st.just(0.0), st.floats(11.5, 13.3))),
        "cut_in_v": draw(st.sampled_from([0.0, 13.0])),
    }
    bank = {
        "reserve_v": draw(st.one_of(st.just(0.0), st.floats(11.5, 13.6))),
        "reconnect_soc": draw(st.sampled_from([LEAST_RECONNECT_SOC, 0.05])),
    }
    return scenario.model_copy(
        update={
            "thermostat": thermostat,
            "vehicle_cooling": VehicleCooling(
                setpoint_c=thermostat.setpoint_c + level if level > -4.0 else 15.0,
                capacity_w=draw(st.sampled_from([100.0, 1500.0, 5000.0])),
            ),
            "cooler": scenario.cooler.model_copy(update=timers),
            "bank": scenario.bank.model_copy(update=bank),
        }
    )


@given(restless(), st.integers(0, 2))
@settings(max_examples=150)
def test_steps_are_bounded_by_physics(years: tuple[Weather, ...], scenario: Scenario, climate: int) -> None:
    run = prepare(scenario, years[climate], lead_in_days=1)
    forcing, van = run.laid.forcing, run.van
    counted = march_counted(forcing, van, fresh_state(run))
    starts, span_s = counted.totals.starts.sum(), forcing.end_s[-1] - forcing.start_s[0]
    assert starts <= math.floor(span_s / van.cabin.between_starts_s + 1e-6) + 1
    assert counted.steps <= most_steps(forcing, van, starts)
