"""The smallest bank: against a closed form, against brute force, and in words where no bank helps."""

from __future__ import annotations

import math

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from steady_nights import plain_cabin, plain_van, steady_weather, unit
from test_nights import OUTDOOR_C, hours_by_hand

from vansim.climate import Weather
from vansim.data import table
from vansim.errors import ScenarioError
from vansim.scenario.files import load_scenario
from vansim.scenario.schema import Scenario
from vansim.scenario.vary import vary
from vansim.studies.compare import evaluate
from vansim.studies.nights import nights_alone, nights_chained
from vansim.studies.sizing import knee, size
from vansim.studies.upgrades import BiggerBank
from vansim.van.bank import Bank, usable_kwh

ONE = "07-10..07-10"
NIGHT_H = 9.0


def bank_of(chemistry: str, capacity_ah: float, parallel: float = 1, reserve_soc: float = 0.1) -> Bank:
    bank = Bank(unit=unit(chemistry, capacity_ah), reserve_soc=reserve_soc, location="outside", cable_mohm=0.0)
    return bank.model_copy(update={"parallel": parallel})


def parallel_by_hand(bank: Bank) -> float:
    """Fraction of batteries in parallel whose closed-form runtime is the night."""
    low, high = 0.1, 64.0
    for _ in range(60):
        middle = 0.5 * (low + high)
        short = hours_by_hand(bank.model_copy(update={"parallel": middle})) < NIGHT_H
        low, high = (middle, high) if short else (low, middle)
    return high


@pytest.mark.parametrize(("chemistry", "reserve"), [("lfp", 0.1), ("agm", 0.5)])
def test_the_sized_bank_is_the_one_worked_out_by_hand(chemistry: str, reserve: float) -> None:
    """Small batteries, so that whole ones resolve the size; then fractions of a battery, to 0.5 %."""
    bank = bank_of(chemistry, 5.0, reserve_soc=reserve)
    by_hand = parallel_by_hand(bank)
    weather = steady_weather(OUTDOOR_C)
    found = size(plain_van(bank=bank), weather, keep=1.0, season=ONE).table.iloc[0]["parallel"]
    assert 0.995 * by_hand <= found <= math.ceil(1.005 * by_hand)
    start = bank.model_copy(update={"parallel": int(0.6 * by_hand)})
    fraction = BiggerBank(evaluate(plain_van(bank=start), weather, ONE)).parallel_for(NIGHT_H)
    assert fraction == pytest.approx(by_hand, rel=0.005)


@pytest.fixture(scope="module")
def camper() -> Scenario:
    return load_scenario("scenarios/desert-night.toml")


SMALL = [unit("lfp", 20.0), unit("agm", 50.0)]


@settings(max_examples=5, deadline=None)
@given(keep=st.floats(0.05, 1.0), mode=st.sampled_from(["eco", "boost_then_eco"]))
def test_bisection_finds_what_brute_force_finds(camper: Scenario, desert: Weather, keep: float, mode: str) -> None:
    """Every size from one battery on is marched: kept share never falls, and the first that is enough is the one."""
    season = "07-10..07-24"
    found = size(camper, desert, keep=keep, season=season, units=SMALL[:1], modes=[mode])
    cooled = {f"day.at-the-camp.{start}.cooling": mode for start in ("18:30", "22:00")}
    shares = []
    for parallel in range(1, 26):
        van = vary(camper, {**cooled, "bank.unit.capacity_ah": 20.0, "bank.parallel": parallel})
        van = van.model_copy(update={"bank": van.bank.model_copy(update={"unit": SMALL[0]})})
        shares.append(nights_alone(van, desert, season=season).distribution["kept_share"])
    assert all(np.diff(shares) >= 0.0)
    enough = [n for n, share in enumerate(shares, 1) if share >= keep - 1e-9]
    assert found.table.iloc[0]["parallel"] == enough[0]
    curve = found.curve.set_index("parallel")["kept_share"]
    for n in curve.index:
        if n <= len(shares):
            assert curve[n] == shares[n - 1]


@pytest.mark.parametrize("chained", [False, True])
def test_the_size_keeps_the_share_and_the_next_smaller_does_not(desert: Weather, chained: bool) -> None:
    van = vary(load_scenario("scenarios/driving-week.toml"), {"thermostat.setpoint_c": 21.0})
    season, keep = "07-01..07-21", 0.9
    sizing = size(van, desert, keep=keep, season=season, units=SMALL, chained=chained)
    assert len(sizing.table) == 2
    for _, row in sizing.table.iterrows():
        battery = SMALL[0] if "lfp" in row["unit"] else SMALL[1]
        share = {}
        for n in (row["parallel"], row["parallel"] - 1):
            if n < 1:
                continue
            bank = van.bank.model_copy(
                update={
                    "unit": battery,
                    "series": int(row["series"]),
                    "parallel": int(n),
                    "reserve_soc": row["reserve_soc"],
                    "reserve_v": 0.0,
                }
            )
            there = van.model_copy(update={"bank": bank})
            nights = (nights_chained if chained else nights_alone)(there, desert, season=season, keep=keep)
            share[n] = nights.distribution["kept_share"]
        assert share[row["parallel"]] >= keep
        assert share[row["parallel"]] == row["kept_share"]
        assert share.get(row["parallel"] - 1, 0.0) < keep
        assert row["units"] == row["series"] * row["parallel"]


def test_usable_energy_is_the_open_circuit_curve_between_full_and_reserve() -> None:
    curve = table("chemistries")["lfp"]["open-circuit"]
    soc = np.linspace(0.2, 1.0, 20001)
    volts = np.interp(soc, curve["soc"], np.array(curve["cell_v"]) * 4.0)
    by_hand = 5 * 100.0 * np.trapezoid(volts, soc) / 1000.0
    assert usable_kwh(bank_of("lfp", 100.0, 5, 0.2)) == pytest.approx(by_hand, rel=1e-6)


def test_a_cooler_that_cannot_hold_the_limit_is_said_to_be_too_small() -> None:
    leaky = plain_van(cabin=plain_cabin(0.15))
    sizing = size(leaky, steady_weather(56.0), season=ONE)
    assert sizing.table.empty
    words = sizing.failed.iloc[0]["words"]
    assert "too small" in words
    assert "No bank helps" in words
    assert (sizing.curve["kept_share"] == 0.0).all()


def test_charging_that_does_not_keep_up_is_told_apart_from_a_small_bank() -> None:
    sizing = size(plain_van(), steady_weather(OUTDOOR_C), season="06-01..08-31", chained=True)
    assert "charging does not keep up" in sizing.failed.iloc[0]["words"]


def test_lead_acid_beside_lithium_is_held_at_half_and_says_so(camper: Scenario, desert: Weather) -> None:
    sizing = size(camper, desert, season="07-14..07-16", units=["lfp-12v-100ah", "agm-12v-100ah"])
    assert sizing.table.set_index("unit")["reserve_soc"].to_dict() == {"lfp-12v-100ah": 0.1, "agm-12v-100ah": 0.5}
    assert any("50%" in note and "agm" in note for note in sizing.notes)
    assert {"recovery_road_h", "chained_share", "keeps_up", "price", "mass_kg"} <= set(sizing.table.columns)


def test_batteries_in_series_make_up_the_bus(desert: Weather) -> None:
    van = load_scenario("scenarios/desert-night.toml")
    changes = {"cooler": "roof-24v-3kw", "bank.series": 2, "alternator": "none"}
    row = size(vary(van, changes), desert, season=ONE, units=["lfp-12v-100ah", "lfp-24v-100ah"]).table
    assert row["series"].tolist() == [2, 1]
    assert row["units"].tolist() == [2 * row["parallel"].iloc[0], row["parallel"].iloc[1]]


def test_every_fault_is_told_at_once(camper: Scenario, desert: Weather) -> None:
    with pytest.raises(ScenarioError) as told:
        size(camper, desert, units=["lfp-24v-100ah", "lpf-12v-100ah"], modes=["turbo"], coolers=["roof-24v-3kw"])
    text = str(told.value)
    for part in ("24 V", "lpf-12v-100ah", "turbo", "roof-24v-3kw"):
        assert part in text
    for keep in (0.0, 1.2):
        with pytest.raises(ScenarioError, match="keep"):
            size(camper, desert, keep=keep)


def test_the_knee_lies_farthest_above_the_chord() -> None:
    sizes = np.arange(1.0, 6.0)
    assert knee(sizes, np.array([0.0, 0.5, 0.9, 0.95, 1.0])).tolist() == [False, False, True, False, False]
    assert not knee(sizes, np.linspace(0.0, 1.0, 5)).any()
    assert not knee(sizes, np.ones(5)).any()
