"""Where the energy went: shares add up to the meter, heat to what the coil took, savings are those of plain runs."""

from __future__ import annotations

from dataclasses import fields
from typing import Any

import numpy as np
import pandas as pd
import pytest

from tests.support.clock_nights import BEDTIMES, NIGHT_H, ODD, between, clock, odd_van, van_at
from tests.support.steady_nights import LOAD_W, SETPOINT_C, conductance_w_k, plain_van, steady_weather
from vansim.boundary.forcing import rows_of
from vansim.climate import Weather
from vansim.data import table
from vansim.errors import ScenarioError
from vansim.psychrometrics import saturation_ratio
from vansim.runs.result import EVAPORATION_J_KG, Result
from vansim.runs.run import fresh_state, march_run
from vansim.runs.simulate import simulate
from vansim.scenario.files import load_scenario
from vansim.scenario.schema import Scenario
from vansim.scenario.vary import vary
from vansim.studies.energy import CAUSES, HEATS, Energy, energy, heat_by_cause
from vansim.studies.without import METERED, joules, night_anew
from vansim.van.bank import Bank
from vansim.van.cooler import ECO, cooler_map, running

NAMES = ("desert-night", "coast-family", "kennel-day", "driving-week", "shore-weekend", "solar-only")
NO_LEAKAGE: dict[str, object] = {f"cabin.leakage_{kind}_per_h": 0.0 for kind in ("parked", "wind", "moving")}
NO_LEAKAGE["cabin.openings"] = []
REMOVED: dict[str, dict[str, Any]] = {
    "people": {"occupants.people": []},
    "dogs": {"occupants.dogs": []},
    "loads": {"loads": []},
    "leakage": NO_LEAKAGE,
}
"""Causes that a change to the scenario takes away as well."""


@pytest.fixture(scope="module", params=NAMES)
def result(request: pytest.FixtureRequest) -> Result:
    return simulate(load_scenario(f"scenarios/{request.param}.toml"))


def metered_wh(result: Result, place: int = 0) -> float:
    """Cooler, loads and losses over the account of a night, by the clock of its table."""
    row, waking = result.nights.iloc[place], result.night(place).waking
    return float(joules(between(result, row["account_start"], waking), *METERED).sum()) / 3600.0


# --- shares -----------------------------------------------------------------------------------------------------------


def adds_up(result: Result, place: int, found: Energy) -> None:
    """Everything that must hold of a night's account, whatever the van."""
    row, causes = result.nights.iloc[place], found.table
    assert set(causes.index) == set(CAUSES)
    assert causes["share"].sum() == pytest.approx(1.0, abs=1e-12)
    assert (causes[["evening_wh", "night_wh"]] >= -1e-9).all(axis=None)
    assert causes["electric_wh"].sum() == pytest.approx(metered_wh(result, place), rel=1e-12)
    assert found.meter_wh == pytest.approx(metered_wh(result, place), rel=1e-12)
    # the night's own table counts cooler and loads before and after bedtime for itself
    losses = causes["evening_wh"].sum() + causes["night_wh"].sum() - row[["evening_wh", "cooler_wh", "loads_wh"]].sum()
    assert found.losses_wh == pytest.approx(losses, abs=1e-6)
    assert -1e-6 <= causes["night_wh"].sum() - row["cooler_wh"] - row["loads_wh"] <= found.losses_wh + 1e-6
    assert found.waking_soc == row["waking_soc"]
    assert found.largest == causes["electric_wh"].idxmax()


def test_causes_add_up_to_the_meter(result: Result) -> None:
    for place in range(len(result.nights)):
        adds_up(result, place, energy(result, place))


@pytest.mark.parametrize("bedtime", BEDTIMES)
def test_the_account_is_that_of_the_clock(desert: Weather, bedtime: str) -> None:
    """Cooling begins at 18:30 whenever the night is; hours by hand, energy by a plain run."""
    van = van_at(bedtime)
    result = simulate(van, desert)
    found = energy(result)
    adds_up(result, 0, found)
    bed = clock(result, bedtime)
    start = clock(result, "18:30") if bedtime > "18:30" else clock(result, "18:30", -1)
    if bedtime == "20:00":  # the waking before, at 04:00, finds cooling on
        start = clock(result, "04:00")
    assert (found.account, found.bedtime, found.waking) == (start, bed, bed + pd.Timedelta(hours=NIGHT_H))
    assert found.date == bed.normalize() == result.nights.index[0]
    assert (found.night, found.nights, found.label) == (0, 1, "night")
    for column, first, last in (("evening_wh", start, bed), ("night_wh", bed, found.waking)):
        metered = joules(between(result, first, last), *METERED).sum() / 3600.0
        assert found.table[column].sum() == pytest.approx(metered, rel=1e-12)


@pytest.mark.parametrize("odd", ODD)
def test_causes_add_up_in_vans_that_are_not_plain(desert: Weather, odd: str) -> None:
    result = simulate(odd_van(odd), desert)
    adds_up(result, 0, energy(result))


def test_heats_add_up_to_what_the_coil_took(result: Result) -> None:
    """In every interval, blower's heat apart: what came in, dry and damp, is what the coil took out."""
    heat = heat_by_cause(result, slice(0, len(result.intervals)))
    coil_j = -joules(result.intervals, "sensible_w", "latent_w")
    came_in = heat.drop(columns="fans_and_standby")
    assert list(heat.columns) == list(HEATS)
    np.testing.assert_allclose(came_in.sum(axis=1), coil_j, atol=1e-9 * came_in.abs().to_numpy().sum())


def test_heat_of_air_exchange_and_occupants_is_what_the_march_wrote_down(result: Result) -> None:
    """Dry parts by subtraction of the water: leakage and roof fan together, people and dogs together."""
    heat, p = heat_by_cause(result, slice(0, len(result.intervals))), result.intervals
    dry = p["duty"].to_numpy() < 1e-12  # the compressor stood still: no condensate, so nothing but dry heat
    assert dry.any()
    for causes, column in ((["leakage", "roof_fan_air"], "air_exchange_w"), (["people", "dogs"], "people_w")):
        np.testing.assert_allclose(heat[causes].sum(axis=1)[dry], joules(p, column)[dry], rtol=1e-9, atol=1e-6)
    faces = ["roof", "walls", "floor", "glass_conduction"]
    np.testing.assert_allclose(heat[faces].sum(axis=1), joules(p, "faces_w"), rtol=1e-9, atol=1e-3)


def test_a_steady_day_is_given_to_the_faces_by_their_conductance() -> None:
    """No sun, no bodies: roof, walls and floor share by area and film, nothing else but fans, loads and losses."""
    found = energy(simulate(vary(plain_van(), {"run.date": "07-10", "run.days": 2}), steady_weather(34.0)))
    heat, electric = found.table["heat_wh"], found.table["electric_wh"]
    assert found.waking - found.account == pd.Timedelta(hours=24)
    whole = conductance_w_k(34.0, emittance=float(table("paints")["white"]["emittance"])) * 10.0 * 24.0
    assert heat[["roof", "walls", "floor"]].sum() == pytest.approx(whole, rel=0.005)
    # four walls of one area against a roof whose inside film is 0.17 rather than 0.13 (ISO 6946:2017 table 7)
    assert heat["walls"] / heat["roof"] == pytest.approx(4.0 * (1.0 + 0.17 + 0.107) / (1.0 + 0.13 + 0.107), rel=0.005)
    shares = electric[["roof", "walls", "floor"]] / heat[["roof", "walls", "floor"]]
    assert shares.max() == pytest.approx(shares.min(), rel=1e-6)
    assert electric["loads"] == pytest.approx(LOAD_W * 24.0)
    assert electric["cycling"] < 0.001 * electric.sum()
    for nothing in ("glass_sun", "people", "dogs", "leakage", "roof_fan_air", "vehicle_cooling"):
        assert heat[nothing] == pytest.approx(0.0, abs=1e-9)
        assert electric[nothing] == pytest.approx(0.0, abs=1e-9)


def test_cycling_takes_the_share_that_the_ramp_withholds() -> None:
    """Each start loses one time constant of capacity (the compressor is on for far longer), by hand."""
    cooler = {"cooler.ramp_s": 20.0, "cooler.min_on_s": 200.0, "cooler.coil_fan_w": 0.0, "cooler.condenser_fan_w": 0.0}
    van = vary(plain_van(), {**cooler, "thermostat.deadband_k": 1.0, "run.date": "07-10", "run.days": 2})
    result = simulate(van, steady_weather(34.0))
    found = energy(result)
    account = result.intervals.iloc[result.night(0).evening.start : result.night(0).asleep.stop]
    starts, on_s = account["starts"].sum(), float((account["duty"] * account["span_s"]).sum())
    assert starts > 20
    assert found.table.loc["cycling", "share"] > 0.03
    expected = starts * 20.0 / on_s * found.cooler_wh
    # at a start the cabin is half a kelvin above its mean, and the cooler 2 % stronger
    assert found.table.loc["cycling", "electric_wh"] == pytest.approx(expected, rel=0.04)


def test_what_removes_heat_all_night_costs_nothing() -> None:
    """Cool air outside, heat from bodies within: the faces let heat out, so none of the compressor's work is theirs."""
    van = load_scenario("scenarios/desert-night.toml")
    crowd = vary(van, {"occupants.people": [{}] * 6, "day.*.*.cooling": "eco", "cabin.faces.*.rib_spacing_mm": 0.0})
    found = energy(simulate(crowd, steady_weather(18.0)))
    for face in ("roof", "walls", "floor", "glass_conduction", "leakage"):
        assert found.table.loc[face, "heat_wh"] < 0.0
        assert found.table.loc[face, "electric_wh"] == 0.0
        assert found.table.loc[face, "saved_wh"] < 0.0  # without it the cooler has more to do
    assert found.table.loc["people", "electric_wh"] > 0.0


def test_leakage_carries_its_moisture() -> None:
    """Air as warm as the cabin, but damp: its heat is that of its water, by hand m (w_out - w_in) 2.45 MJ/kg."""
    damp = steady_weather(SETPOINT_C, 22.0)
    van = plain_van(cabin=plain_van().cabin.model_copy(update={"leakage_parked_per_h": 2.0}))
    heater = {"loads.0.heat_to_cabin": 1.0, "loads.0.power_w": 400.0, "bank.parallel": 60}
    van = vary(van, {**heater, "run.days": 2, "run.date": "07-10"})
    result = simulate(van, damp)
    heat = heat_by_cause(result, slice(0, len(result.intervals))).sum()
    water_kg = result.intervals["latent_w"].mul(result.intervals["span_s"]).sum() / -EVAPORATION_J_KG
    assert water_kg > 1.0
    outside = saturation_ratio(22.0, 101325.0)
    f, p = result.run.laid.forcing, result.intervals
    brought_kg = float((f.air_kg_s * (outside - p["cabin_ratio"]) * p["span_s"]).sum())
    assert heat["leakage"] / EVAPORATION_J_KG == pytest.approx(brought_kg, rel=0.01)
    assert heat["leakage"] + heat["stored_moisture"] == pytest.approx(water_kg * EVAPORATION_J_KG, rel=0.02)
    without = energy(result).table.loc["leakage"]
    assert without["electric_wh"] > 300.0
    assert without["saved_wh"] > 300.0


def test_people_and_dogs_are_told_apart(desert: Weather) -> None:
    """Each carries its own breath: with one kind gone, its heat is nothing and the other's is that of its bodies."""
    both = vary(load_scenario("scenarios/desert-night.toml"), {"occupants.dogs": [{"mass_kg": 30.0}]})
    result = simulate(both, desert)
    at = slice(0, len(result.intervals))
    heat, f, p = heat_by_cause(result, at), result.run.laid.forcing, result.intervals
    asleep = result.night(0).asleep
    ratio = (heat["dogs"] / heat["people"])[asleep]
    # dry shares are 0.652 and 0.65 at 24 degC and fall alike up to 30 degC: total heats decide, dry and damp
    np.testing.assert_allclose(ratio, f.dogs_w[asleep] / f.people_w[asleep], rtol=0.02)
    for kind in ("people", "dogs"):
        alone = heat_by_cause(simulate(vary(both, REMOVED[kind]), desert), at)
        assert (alone[kind] == 0.0).all()
    total_j = float(((f.people_w + f.dogs_w) * p["span_s"]).sum())
    # damp and dry together no more than the bodies give off; heat of condensing is reckoned a little higher
    assert 0.5 * total_j < heat[["people", "dogs"]].to_numpy().sum() < 1.01 * total_j


def test_the_roof_fan_is_a_fan(desert: Weather) -> None:
    """Its electricity, metered with the loads, belongs to the fans."""
    van = vary(
        load_scenario("scenarios/desert-night.toml"), {"day.*.22:00.fan": "on", "loads": [], "bank.parallel": 30}
    )
    van = vary(van, {"bank.location": "outside"})
    still = vary(van, {"cabin.fan_w": 0.0})
    with_power, without = (energy(simulate(v, desert)).table["night_wh"] for v in (van, still))
    assert with_power["fans_and_standby"] - without["fans_and_standby"] == pytest.approx(30.0 * 9.0, rel=1e-6)
    assert with_power["loads"] == pytest.approx(0.0, abs=1e-9)


# --- savings ----------------------------------------------------------------------------------------------------------


def saves(scenario: Scenario, weather: Weather, changes_by_cause: dict[str, dict[str, Any]]) -> None:
    """What a study says would be saved is the difference of two plain runs, for each cause."""
    as_it_is = simulate(scenario, weather)
    found = energy(as_it_is).table
    for cause, changes in changes_by_cause.items():
        without, row = simulate(vary(scenario, changes), weather), found.loc[cause]
        expected, emptied = metered_wh(as_it_is) - metered_wh(without), without.nights["empty_at"].iloc[0]
        assert row["saved_wh"] == pytest.approx(expected, rel=1e-9, abs=1e-6), cause
        assert row["waking_soc_without"] == pytest.approx(without.nights["waking_soc"].iloc[0], abs=1e-12), cause
        assert pd.isna(row["empty_at_without"]) == pd.isna(emptied), cause
        assert pd.isna(emptied) or abs(row["empty_at_without"] - emptied) < pd.Timedelta(milliseconds=1), cause


@pytest.mark.parametrize("bedtime", BEDTIMES)
def test_savings_are_those_of_a_plain_run_without_the_cause(desert: Weather, bedtime: str) -> None:
    saves(van_at(bedtime, **{"occupants.dogs": [{"mass_kg": 25.0}]}), desert, REMOVED)


@pytest.mark.parametrize("odd", ODD)
def test_savings_in_vans_that_are_not_plain(desert: Weather, odd: str) -> None:
    saves(odd_van(odd), desert, {cause: REMOVED[cause] for cause in ("people", "loads", "leakage")})


def test_savings_of_faces_glass_fan_and_heat_of_loads(desert: Weather) -> None:
    """Each by a change that leaves nothing of it: a face of no area, covers that let no sun in, no glass, no fan."""
    bare = {"shgc_factor": 1.0, "r_m2k_w": 0.0}
    van = load_scenario("scenarios/desert-night.toml")
    van = vary(van, {"solar": "none", "day.*.*.covers": True, "day.*.18:30.fan": "on", "cabin.windows.*.cover": bare})
    dark = {"cabin.windows.*.cover": {"shgc_factor": 0.0, "r_m2k_w": 0.0}}
    walls = ("left", "right", "front", "rear")
    changes: dict[str, dict[str, Any]] = {
        "glass_sun": dark,
        "roof": {"cabin.faces.roof.area_m2": 1e-12},
        "floor": {"cabin.faces.floor.area_m2": 1e-12},
        "walls": {f"cabin.faces.{face}.area_m2": 1e-12 for face in walls},
        "roof_fan_air": {"day.*.*.fan": "off"},
        "equipment": {"loads.*.heat_to_cabin": 0.0},
    }
    saves(van, desert, changes)
    saves(vary(van, dark), desert, {"glass_conduction": {"cabin.windows": []}})


def test_savings_of_the_vehicles_cooling_of_standby_and_of_cycling(desert: Weather) -> None:
    kennel, van = (load_scenario(f"scenarios/{name}.toml") for name in ("kennel-day", "desert-night"))
    saves(kennel, desert, {"vehicle_cooling": {"day.*.*.vehicle_cooling": False}})
    still = {"cooler.coil_fan_w": 0.0, "cooler.condenser_fan_w": 0.0, "cooler.standby_w": 6.0, "day.*.22:00.fan": "on"}
    saves(vary(van, still), desert, {"fans_and_standby": {"cooler.standby_w": 0.0, "cabin.fan_w": 0.0}})
    saves(van, desert, {"cycling": {"cooler.ramp_s": 1e-3}})


def test_what_fans_cost_by_hand() -> None:
    """A steady day: duty is load over capacity; without fans capacity gains the blower's heat and power loses both."""
    van = plain_van()
    assert van.cooler is not None
    found = energy(simulate(vary(van, {"run.date": "07-10", "run.days": 2}), steady_weather(34.0)))
    now = running(cooler_map(van.cooler, 101325.0), ECO, 34.0, SETPOINT_C, saturation_ratio(-10.0, 101325.0))
    speed = van.cooler.eco
    blower = van.cooler.coil_fan_w * speed.coil_air**3
    fans = blower + van.cooler.condenser_fan_w * speed.condenser_air**3
    load_wh = found.table.loc[["roof", "walls", "floor"], "heat_wh"].sum()
    as_it_is, without = now.power_w / now.sensible_w, (now.power_w - fans) / (now.sensible_w + blower)
    assert found.table.loc["fans_and_standby", "saved_wh"] == pytest.approx(load_wh * (as_it_is - without), rel=0.01)


def test_what_the_losses_of_a_bank_outside_cost_is_what_was_lost(desert: Weather) -> None:
    """Their heat stays out of the cabin, so nothing else changes: without them the meter shows so much less."""
    found = energy(simulate(odd_van("bank outside"), desert))
    assert found.losses_wh > 20.0
    lost = found.table.loc["bank_losses"]  # the bank's and those of the cooler's cable
    assert lost["electric_wh"] > found.losses_wh
    assert lost["saved_wh"] == pytest.approx(lost["electric_wh"], rel=1e-3)
    charged = energy(simulate(vary(load_scenario("scenarios/shore-weekend.toml"), {"bank.location": "outside"})))
    assert charged.losses_wh > 20.0  # those of charging: charge that is not stored, and heat
    lost = charged.table.loc["bank_losses"]
    assert lost["saved_wh"] == pytest.approx(lost["electric_wh"], rel=1e-3)
    warm = energy(simulate(load_scenario("scenarios/desert-night.toml"), desert))  # the same bank, in the cabin
    assert warm.table.loc["bank_losses", "electric_wh"] > warm.losses_wh
    assert warm.table.loc["bank_losses", "heat_wh"] == pytest.approx(warm.losses_wh, rel=0.15)


@pytest.mark.parametrize("van", ["desert-night", "coast-family"])
def test_what_the_day_left_behind_costs(van: str) -> None:
    """The account once more, from a cabin at its set point, or as dry as at waking: the march of the run itself."""
    result = simulate(load_scenario(f"scenarios/{van}.toml"))
    found, night = energy(result).table["saved_wh"], result.night(0)
    setpoint_c = result.run.scenario.thermostat.setpoint_c
    for cause, values in (
        ("stored_heat", {"cabin_c": setpoint_c, "contents_c": setpoint_c}),
        ("stored_moisture", {"ratio": night.waking_state.ratio}),
    ):
        state = fresh_state(result.run)
        for name, value in values.items():
            assert state[name] > value  # the day left it warmer and damper
            state[name] = value
        anew = Result(result.run, march_run(result.run, state))
        assert found[cause] == pytest.approx(metered_wh(result) - metered_wh(anew), rel=1e-9)
        assert found[cause] > 30.0


def test_nothing_taken_out_gives_the_account_as_it_was(result: Result) -> None:
    """Bit by bit, on every night of every run: what leads to an account, and its bank, are taken up as they were."""
    for place in range(len(result.nights)):
        night = result.night(place)
        anew, at = night_anew(result, night).without(None), slice(night.evening.start, night.asleep.stop)
        found, expected = anew.intervals, result.intervals.iloc[at].reset_index(drop=True)
        pd.testing.assert_frame_equal(found, expected, check_exact=True)
        assert rows_of(result.run.laid.forcing, at.start, at.stop).start_s[0] == found["start_s"].iloc[0]


@pytest.mark.parametrize("cause", ["people", "loads", "leakage"])
def test_savings_of_a_later_night_are_those_of_that_night_alone(cause: str) -> None:
    """The sixth night of a run against a plain run of it alone, charged as the run had it: within one start or two.

    A day of rest came before it, so its bank is not full, and would be fuller had the cause been gone for longer.
    """
    van = load_scenario("scenarios/driving-week.toml")
    result = simulate(van)
    place = 5
    row = result.nights.iloc[place]
    alone = {"run.date": f"{row.name:%m-%d}", "run.days": 1, "bank.start_soc": float(row["start_soc"]),
             "cycle": [*van.cycle[place:], *van.cycle[:place]]}  # fmt: skip
    as_it_is, without = (simulate(vary(van, {**alone, **more})) for more in ({}, REMOVED[cause]))
    found = energy(result, place)
    assert row["start_soc"] < 0.9
    assert found.date == row.name
    assert found.meter_wh == pytest.approx(metered_wh(as_it_is), abs=found.cycle_wh)
    saved = found.table.loc[cause]
    assert saved["saved_wh"] == pytest.approx(metered_wh(as_it_is) - metered_wh(without), abs=2.0 * found.cycle_wh)
    assert saved["waking_soc_without"] == pytest.approx(without.nights["waking_soc"].iloc[0], abs=0.01)


def test_a_bank_that_runs_empty_limits_what_can_be_saved(desert: Weather) -> None:
    """Without a cause it is empty later, and that is where the gain shows."""
    result = simulate(vary(load_scenario("scenarios/desert-night.toml"), {"bank.parallel": 3}), desert)
    found = energy(result)
    assert found.empty_at == result.nights["empty_at"].iloc[0]
    assert [note.code for note in found.notes] == ["savings-limited-by-bank"]
    people = found.table.loc["people"]
    assert people["empty_at_without"] > found.empty_at + pd.Timedelta(minutes=20)
    assert people["saved_wh"] < 0.5 * people["electric_wh"]
    full = energy(simulate(load_scenario("scenarios/desert-night.toml"), desert))
    assert full.empty_at is None
    assert full.notes == ()


def test_a_van_without_cooler_has_only_loads_and_losses(desert: Weather) -> None:
    van = vary(load_scenario("scenarios/desert-night.toml"), {"day.*.*.cooling": "off", "cooler": "none"})
    found = energy(simulate(van, desert))
    assert found.account == found.bedtime
    used = found.table["electric_wh"]
    assert used["loads"] == pytest.approx(found.loads_wh)
    assert used.drop(["loads", "bank_losses"]).abs().max() == 0.0
    assert np.isnan(found.cycle_wh)


def test_a_night_that_is_not_there_is_refused(result: Result) -> None:
    with pytest.raises(ScenarioError, match="no such night"):
        energy(result, 99)
    assert energy(result, -1).night == len(result.nights) - 1


def test_a_result_is_frozen_and_speaks_in_codes(result: Result) -> None:
    found = energy(result)
    assert found.table.attrs == {}
    assert {f.name for f in fields(found)} >= {"table", "date", "label", "account", "bedtime", "waking"}
    with pytest.raises(AttributeError):
        found.night = 3  # type: ignore[misc]
    assert all(code == code.lower() and " " not in code for code in found.table.index)


def test_a_bank_in_the_steady_night_loses_nothing_to_the_cabin() -> None:
    """A bank outside, without resistance: no cause takes anything for it."""
    bank = Bank(unit=plain_van().bank.unit, parallel=6, location="outside", cable_mohm=0.0)
    found = energy(simulate(vary(plain_van(bank=bank), {"run.date": "07-10", "run.days": 2}), steady_weather(34.0)))
    assert found.table.loc["bank_losses", "heat_wh"] == 0.0
    assert found.table.loc["bank_losses", "electric_wh"] == pytest.approx(0.0, abs=0.01)
