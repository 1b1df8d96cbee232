"""Causes add up to the meter, and heat to what the coil took out."""

from __future__ import annotations

import numpy as np
import pytest
from steady_nights import LOAD_W, conductance_w_k, plain_van, steady_weather

from vansim.data import table
from vansim.errors import ScenarioError
from vansim.runs.result import EVAPORATION_J_KG, Result
from vansim.runs.simulate import simulate
from vansim.scenario.files import load_scenario
from vansim.scenario.vary import vary
from vansim.studies.energy import CYCLING, FANS, LOADS, causes, heat_by_cause

NAMES = ("desert-night", "coast-family", "kennel-day", "driving-week", "shore-weekend", "solar-only")


@pytest.fixture(scope="module", params=NAMES)
def result(request: pytest.FixtureRequest) -> Result:
    return simulate(load_scenario(f"scenarios/{request.param}.toml"))


def test_causes_add_up_to_the_bank_meter(result: Result) -> None:
    for night in range(len(result.nights)):
        row, found = result.nights.iloc[night], causes(result, night)
        total = found["electric_wh"].sum()
        assert total == pytest.approx(found.attrs["meter_wh"], rel=1e-12)
        losses = found.attrs["meter_wh"] - row["cooler_wh"] - row["loads_wh"]
        assert losses >= -1e-9
        assert total == pytest.approx(row["cooler_wh"] + row["loads_wh"] + losses, rel=1e-9)
        assert found.loc[LOADS, "electric_wh"] == pytest.approx(row["loads_wh"])
        assert (found["electric_wh"] >= -1e-9).all()
        assert found["share"].sum() == pytest.approx(1.0)


def test_heats_add_up_to_what_coil_and_vehicle_took(result: Result) -> None:
    at = np.arange(result.marched.totals.size)
    heat = {name: float(j.sum()) for name, j in heat_by_cause(result, at).items()}
    totals = result.marched.totals
    coil = totals.sensible_j.sum() + totals.condensate_kg.sum() * EVAPORATION_J_KG
    without_fan = sum(joules for name, joules in heat.items() if name != FANS)
    flowed = sum(abs(joules) for joules in heat.values())
    assert abs(without_fan - coil) < 1e-9 * flowed


def test_a_steady_night_is_given_to_the_faces_by_their_conductance() -> None:
    """No sun, no bodies: roof, walls and floor share by area and film, nothing else but fans, loads and losses."""
    van = vary(plain_van(), {"run.date": "07-10", "run.days": 2})
    found = causes(simulate(van, steady_weather(34.0)))
    heat = found["heat_wh"]
    whole = conductance_w_k(34.0, emittance=float(table("paints")["white"]["emittance"])) * 10.0 * 9.0
    assert heat[["roof", "walls", "floor"]].sum() == pytest.approx(whole, rel=0.005)
    # four walls of one area against a roof whose inside film is 0.17 rather than 0.13 (ISO 6946:2017 table 7)
    assert heat["walls"] / heat["roof"] == pytest.approx(4.0 * (1.0 + 0.17 + 0.107) / (1.0 + 0.13 + 0.107), rel=0.005)
    faces = found.loc[["roof", "walls", "floor"], "electric_wh"]
    shares = faces / heat[["roof", "walls", "floor"]]
    assert shares.max() == pytest.approx(shares.min(), rel=1e-6)
    assert found.loc[LOADS, "electric_wh"] == pytest.approx(LOAD_W * 9.0)
    assert found.loc[CYCLING, "electric_wh"] < 0.001 * found["electric_wh"].sum()
    for nothing in ("glass, sun", "people and dogs", "leakage", "latent"):
        assert found.loc[nothing, "electric_wh"] == pytest.approx(0.0, abs=1e-9)


def test_what_removes_heat_all_night_costs_nothing() -> None:
    """Cool air outside, heat from bodies within: the faces let heat out, so none of the compressor's work is theirs."""
    van = load_scenario("scenarios/desert-night.toml")
    crowd = vary(van, {"occupants.people": [{}] * 6, "day.*.*.cooling": "eco", "cabin.faces.*.rib_share": 0.0})
    found = causes(simulate(crowd, steady_weather(18.0)))
    for face in ("roof", "walls", "floor", "glass, conduction", "leakage"):
        assert found.loc[face, "heat_wh"] < 0.0
        assert found.loc[face, "electric_wh"] == 0.0
    assert found.loc["people and dogs", "electric_wh"] > 0.0


def test_a_night_that_is_not_there_is_refused(result: Result) -> None:
    with pytest.raises(ScenarioError, match="allowed"):
        causes(result, 99)
