"""The smallest bank: against a closed form, against brute force, and why where no bank helps."""

from __future__ import annotations

import math

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from tests.support.steady_nights import OUTDOOR_C, hours_by_hand, plain_cabin, plain_van, steady_weather, unit
from vansim.climate import Weather
from vansim.data import table
from vansim.errors import ScenarioError
from vansim.scenario.files import load_scenario
from vansim.scenario.schema import Scenario
from vansim.scenario.vary import vary
from vansim.studies.nights import nights
from vansim.studies.sizing import knee, size
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
    sizing = size(plain_van(bank=bank), weather, target=1.0, season=ONE, full_at_bedtime=True)
    found = sizing.table.iloc[0]["parallel"]
    assert 0.995 * by_hand <= found <= math.ceil(1.005 * by_hand)


@pytest.mark.parametrize("start_soc", [1.0, 0.7])
def test_a_bank_that_does_not_start_full_is_sized_so(start_soc: float) -> None:
    """Of what is there above the reserve only a part is: the bank grows in proportion."""
    bank = bank_of("lfp", 5.0)
    weather = steady_weather(OUTDOOR_C)
    full, part = (
        size(plain_van(bank=bank.model_copy(update={"start_soc": soc})), weather, target=1.0, season=ONE,
             full_at_bedtime=True).table.iloc[0]["parallel"]
        for soc in (1.0, start_soc)
    )  # fmt: skip
    assert part == pytest.approx(full * 0.9 / (start_soc - 0.1), rel=0.04)
    given = size(plain_van(bank=bank), weather, target=1.0, season=ONE, full_at_bedtime=True, start_soc=start_soc)
    assert given.table.iloc[0]["parallel"] == part


@pytest.fixture(scope="module")
def camper() -> Scenario:
    return load_scenario("scenarios/desert-night.toml")


SMALL = [unit("lfp", 20.0), unit("agm", 50.0)]


@settings(max_examples=5, deadline=None)
@given(target=st.floats(0.05, 1.0), mode=st.sampled_from(["eco", "boost_then_eco"]))
def test_bisection_finds_what_brute_force_finds(camper: Scenario, desert: Weather, target: float, mode: str) -> None:
    """Every size from one battery on is marched: covered share never falls, and the first that is enough is the one."""
    season = "07-10..07-24"
    unit_60 = unit("lfp", 60.0)
    found = size(camper, desert, target=target, season=season, batteries=[unit_60], modes=[mode])
    cooled = {f"day.at-the-camp.{start}.cooling": mode for start in ("18:30", "22:00")}
    shares = []
    for parallel in range(1, 17):
        van = vary(camper, cooled)
        bank = van.bank.model_copy(update={"unit": unit_60, "parallel": parallel})
        shares.append(nights(van.model_copy(update={"bank": bank}), desert, season=season).independent.share)
    assert all(np.diff(shares) >= 0.0)
    enough = [n for n, share in enumerate(shares, 1) if share >= target - 1e-9]
    assert found.table.iloc[0]["parallel"] == enough[0]
    curve = found.curve.set_index("parallel")["covered_share"]
    for n in curve.index:
        if n <= len(shares):
            assert curve[n] == shares[n - 1]


@pytest.mark.parametrize("judged", ["headline", "independent", "consecutive"])
def test_the_size_covers_the_share_and_the_next_smaller_does_not(desert: Weather, judged: str) -> None:
    van = vary(load_scenario("scenarios/driving-week.toml"), {"thermostat.setpoint_c": 21.0})
    season, target = "07-01..07-21", 0.9
    sizing = size(van, desert, target=target, season=season, batteries=SMALL, judged=judged)
    assert len(sizing.table) == 2
    for _, row in sizing.table.iterrows():
        battery = SMALL[0] if "lfp" in row["battery"] else SMALL[1]
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
            found = nights(van.model_copy(update={"bank": bank}), desert, season=season, target=target)
            shares = {"independent": found.independent.share, "consecutive": found.consecutive.share}
            share[n] = shares[judged] if judged in shares else min(shares.values())
            if n == row["parallel"]:
                assert row["independent_share"] == shares["independent"]
                assert row["consecutive_share"] == shares["consecutive"]
        assert share[row["parallel"]] >= target
        assert share[row["parallel"]] == row["covered_share"]
        assert share.get(row["parallel"] - 1, 0.0) < target
        assert row["units"] == row["series"] * row["parallel"]


def test_the_smallest_is_the_least_energy_then_mass_then_price(camper: Scenario, desert: Weather) -> None:
    heavy = unit("lfp", 100.0).model_copy(update={"name": "heavy", "mass_kg": 20.0, "price": 1.0})
    light = unit("lfp", 100.0).model_copy(update={"name": "light", "mass_kg": 9.0, "price": 300.0})
    cheap = unit("lfp", 100.0).model_copy(update={"name": "cheap", "mass_kg": 9.0, "price": 200.0})
    large = unit("lfp", 700.0).model_copy(update={"name": "large", "mass_kg": 1.0, "price": 0.5})
    sizing = size(camper, desert, season="07-12..07-16", batteries=[large, heavy, light, cheap])
    assert sizing.table["battery"].tolist() == ["cheap", "light", "heavy", "large"]
    assert sizing.table["usable_kwh"].is_monotonic_increasing
    assert sizing.cheapest is not None
    assert sizing.cheapest["battery"] == "large"
    assert sizing.best is not None
    assert sizing.best.bank.unit.name == "cheap"
    assert sizing.best.bank.parallel == sizing.table.iloc[0]["parallel"]


def test_without_every_price_there_is_no_cheapest(camper: Scenario, desert: Weather) -> None:
    known, unknown = unit("lfp", 100.0), unit("lfp", 150.0).model_copy(update={"price": None})
    sizing = size(camper, desert, season=ONE, batteries=[known, unknown])
    assert sizing.table["price"].isna().sum() == 1
    assert sizing.cheapest is None


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
    assert sizing.best is None
    fault = sizing.failed.iloc[0]
    assert (fault["why"], fault["nights_too_warm"], fault["nights"]) == ("cooler", 1, 1)
    assert (sizing.curve["covered_share"] == 0.0).all()


def test_charging_that_does_not_keep_up_is_told_apart_from_a_small_bank() -> None:
    sizing = size(plain_van(), steady_weather(OUTDOOR_C), season="06-01..06-20", judged="consecutive")
    assert sizing.failed.iloc[0]["why"] == "charging"
    assert sizing.failed.iloc[0]["best_share"] < 0.95


def test_lead_acid_beside_lithium_is_held_at_half_and_says_so(camper: Scenario, desert: Weather) -> None:
    sizing = size(camper, desert, season="07-14..07-16", batteries=["lfp-12v-100ah", "agm-12v-100ah"])
    assert sizing.table.set_index("battery")["reserve_soc"].to_dict() == {"lfp-12v-100ah": 0.1, "agm-12v-100ah": 0.5}
    (note,) = [note for note in sizing.notes if "reserve" in note.code]
    assert note.values["chemistry"] == "agm"
    assert note.values["reserve_soc"] == 0.5


def test_batteries_in_series_make_up_the_bus(desert: Weather) -> None:
    van = load_scenario("scenarios/desert-night.toml")
    changes = {"cooler": "roof-24v-3kw", "bank.series": 2, "alternator": "none"}
    table = size(vary(van, changes), desert, season=ONE, batteries=["lfp-12v-100ah", "lfp-24v-100ah"]).table
    rows = table.set_index("battery")
    assert rows["series"].to_dict() == {"lfp-12v-100ah": 2, "lfp-24v-100ah": 1}
    assert (rows["units"] == rows["series"] * rows["parallel"]).all()
    assert table["usable_kwh"].is_monotonic_increasing


def test_every_fault_is_told_at_once(camper: Scenario, desert: Weather) -> None:
    with pytest.raises(ScenarioError) as told:
        size(camper, desert, batteries=["lfp-24v-100ah", "lpf-12v-100ah"], modes=["turbo"], coolers=["roof-24v-3kw"])
    text = str(told.value)
    for part in ("24 V", "lpf-12v-100ah", "turbo", "roof-24v-3kw"):
        assert part in text
    for target in (0.0, 1.2):
        with pytest.raises(ScenarioError, match="target"):
            size(camper, desert, target=target)
    with pytest.raises(ScenarioError, match="headline, independent, consecutive"):
        size(camper, desert, judged="chained")


def test_the_knee_lies_farthest_above_the_chord() -> None:
    sizes = np.arange(1.0, 6.0)
    assert knee(sizes, np.array([0.0, 0.5, 0.9, 0.95, 1.0])).tolist() == [False, False, True, False, False]
    assert not knee(sizes, np.linspace(0.0, 1.0, 5)).any()
    assert not knee(sizes, np.ones(5)).any()
