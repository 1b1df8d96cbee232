"""Nights: by hand in a steady climate, by property in an invented one, and chained against alone."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from steady_nights import LOAD_W, SETPOINT_C, conductance_w_k, plain_cabin, plain_van, steady_weather, unit

from vansim.climate import Weather
from vansim.climate.seasons import HeatWave, span_of
from vansim.data import table
from vansim.errors import ScenarioError
from vansim.notes import Note
from vansim.psychrometrics import saturation_ratio
from vansim.scenario.files import load_scenario
from vansim.scenario.schema import Day, Occupants, PlanSegment, Scenario
from vansim.scenario.vary import vary
from vansim.studies.nights import Nights, nights_alone, nights_chained
from vansim.van.bank import CAPACITY, Bank, at_temperature, bank_parameters
from vansim.van.charging import Alternator
from vansim.van.cooler import ECO, cooler_map, running
from vansim.van.people import Person

ONE = "07-10..07-10"
OUTDOOR_C = 34.0


def by_hand(outdoor_c: float = OUTDOOR_C) -> tuple[float, float]:
    """Duty and power of the running cooler [W]: load over capacity at the set point, coil dry."""
    ratio = saturation_ratio(-10.0, 101325.0)
    assert plain_van().cooler is not None
    now = running(cooler_map(plain_van().cooler, 101325.0), ECO, outdoor_c, SETPOINT_C, ratio)
    assert now.water_kg_s == 0.0
    emittance = float(table("paints")["white"]["emittance"])
    load = conductance_w_k(outdoor_c, emittance=emittance) * (outdoor_c - SETPOINT_C)
    return load / now.sensible_w, now.power_w


def hours_by_hand(bank: Bank, outdoor_c: float = OUTDOOR_C) -> float:
    """Quadrature of dt = C d(soc) / mean drain, current = power over open-circuit voltage, Peukert where it holds."""
    chemistry, duty_power = table("chemistries")[bank.unit.chemistry], by_hand(outdoor_c)
    duty, power = duty_power
    curve = chemistry["open-circuit"]
    if bank.unit.chemistry == "lfp":
        volts, exponent = np.array(curve["cell_v"]) * 4.0, 1.0
    else:
        volts, exponent = np.array(curve["block_v"]), float(chemistry["peukert"]["exponent"])
    soc = np.linspace(bank.reserve_soc, 1.0, 20001)
    ocv = np.interp(soc, curve["soc"], volts)
    rated_a = bank.capacity_ah / 20.0
    drain = np.zeros_like(soc)
    for share, watts in ((duty, power + LOAD_W), (1.0 - duty, LOAD_W)):
        amps = watts / ocv
        drain += share * amps * np.maximum(amps / rated_a, 1.0) ** (exponent - 1.0)
    usable = bank.capacity_ah * at_temperature(bank_parameters(bank), CAPACITY, outdoor_c)
    return float(np.trapezoid(usable / drain, soc))


@pytest.mark.parametrize(
    "bank",
    [
        Bank(unit=unit("lfp", 100.0), parallel=6, location="outside", cable_mohm=0.0),
        Bank(unit=unit("agm", 100.0), parallel=10, reserve_soc=0.5, location="outside", cable_mohm=0.0),
    ],
    ids=["lfp", "agm with Peukert"],
)
def test_runtime_and_duty_are_those_worked_out_by_hand(bank: Bank) -> None:
    """Closed form: duty = load / capacity, runtime = usable charge / mean drain; 0.5 %."""
    night = nights_alone(plain_van(bank=bank), steady_weather(OUTDOOR_C), season=ONE).table.iloc[0]
    duty, power = by_hand()
    assert night["duty"] == pytest.approx(duty, rel=0.01)  # a night is some hundred cycles, the last one cut
    assert night["cooler_wh"] == pytest.approx(duty * power * 9.0, rel=0.01)
    assert 18.0 < night["runtime_h"] < 46.0
    assert night["runtime_h"] == pytest.approx(hours_by_hand(bank), rel=0.005)
    assert night["kept"]
    assert night["why"] == ""


def test_a_night_that_outlasts_two_days_says_so() -> None:
    big = vary(plain_van(), {"bank.parallel": 40})
    night = nights_alone(big, steady_weather(OUTDOOR_C), season=ONE).table.iloc[0]
    assert night["outlasts"]
    assert night["runtime_h"] == pytest.approx(48.0)


def test_why_a_night_is_lost() -> None:
    small_bank = vary(plain_van(), {"bank.parallel": 1})
    hot = steady_weather(58.0)
    weak = vary(plain_van(cabin=plain_cabin(0.2)), {"bank.parallel": 60})
    assert nights_alone(small_bank, steady_weather(OUTDOOR_C), season=ONE).table["why"].tolist() == ["bank"]
    assert nights_alone(weak, hot, season=ONE).table["why"].tolist() == ["cooler too small"]
    assert nights_alone(vary(weak, {"bank.parallel": 1}), hot, season=ONE).table["why"].tolist() == ["both"]


def test_after_waking_the_nights_last_segment_stays_in_force() -> None:
    """By day the plan opens the windows and stops cooling; the runtime must not see it."""
    night = PlanSegment(start="22:00", end="07:00", cooling="eco", people="out", dogs="out")
    open_day = PlanSegment(start="07:00", end="12:00", window_open=True, people="out", dogs="out")
    evening = PlanSegment(start="12:00", end="22:00", cooling="eco", people="out", dogs="out")
    by_plan = plain_van(day=(Day(segment=(open_day, evening, night)),))
    weather = steady_weather(OUTDOOR_C)
    one, other = (nights_alone(s, weather, season=ONE).table["runtime_h"].iloc[0] for s in (by_plan, plain_van()))
    assert one > 9.5
    assert one == pytest.approx(other, rel=0.005)


def test_chained_nights_that_start_full_equal_nights_alone(desert: Weather) -> None:
    """A day of driving on a large alternator fills the bank before every bedtime."""
    drive = PlanSegment(start="09:00", end="19:00", doing="driving", speed_kmh=80.0, people="out", dogs="out")
    evening = PlanSegment(start="19:00", end="21:00", people="out", dogs="out", doing="idling")
    rest = PlanSegment(start="21:00", end="09:00", cooling="eco", people="out", dogs="out")
    van = plain_van(
        day=(Day(segment=(drive, evening, rest)),),
        alternator=Alternator(idle_a=200.0, road_a=300.0),
        loads=(),
        night={"bedtime": "21:00", "waking": "07:00"},
    )
    alone, chained = (f(van, desert, season="07-10..07-16") for f in (nights_alone, nights_chained))
    assert chained.table["bedtime_soc"].min() > 1.0 - 1e-6
    assert chained.chained
    apart_h = (alone.table["runtime_h"] - chained.table["runtime_h"]).abs()
    assert (apart_h <= one_cycle_h(alone)).all()
    assert (alone.table["kept"] == chained.table["kept"]).all()
    np.testing.assert_allclose(alone.table["cooler_wh"], chained.table["cooler_wh"], rtol=1e-6)


def test_a_bank_that_nothing_charges_runs_down_over_the_nights() -> None:
    chained = nights_chained(plain_van(), steady_weather(OUTDOOR_C), season="07-01..07-05")
    table = chained.table
    assert table["bedtime_soc"].is_monotonic_decreasing
    assert table["runtime_h"].iloc[-1] == 0.0
    assert table["why"].iloc[-1] == "bank"
    assert table["cooler_wh"].iloc[-1] == 0.0
    # the chained day cools too, so the first night's runtime from full is what is left of the whole drain
    assert table["runtime_h"].iloc[0] == pytest.approx(hours_by_hand(plain_van().bank), rel=0.005)


# --- properties: each within one compressor cycle ------------------------------------------------------------


def one_cycle_h(nights: Nights) -> np.ndarray:
    """Length of a cycle on each night [h], the night itself where the compressor never stops."""
    return 9.0 / np.maximum(nights.table["starts"].to_numpy(), 1)


def never_shorter(before: Nights, after: Nights) -> bool:
    slack = np.maximum(one_cycle_h(before), one_cycle_h(after))
    return bool((after.table["runtime_h"] >= before.table["runtime_h"] - slack).all())


@pytest.fixture(scope="module")
def camper() -> Scenario:
    van = load_scenario("scenarios/desert-night.toml")
    # the sky is the same with and without shade: see the exception below
    return vary(van, {"day.*.*.sky_view_factor": 0.6, "bank.parallel": 3})


HOT = "07-14..07-16"


@settings(max_examples=12, deadline=None)
@given(fewer=st.integers(1, 6), more=st.integers(1, 6))
def test_a_larger_bank_never_shortens_a_night(camper: Scenario, desert: Weather, fewer: int, more: int) -> None:
    small, large = (vary(camper, {"bank.parallel": n}) for n in (fewer, fewer + more))
    assert never_shorter(nights_alone(small, desert, season=HOT), nights_alone(large, desert, season=HOT))


@settings(max_examples=12, deadline=None)
@given(low=st.floats(21.0, 25.0), step=st.floats(0.2, 3.0))
def test_a_higher_set_point_never_shortens_a_night(camper: Scenario, desert: Weather, low: float, step: float) -> None:
    cold, warm = (vary(camper, {"thermostat.setpoint_c": c}) for c in (low, low + step))
    assert never_shorter(nights_alone(cold, desert, season=HOT), nights_alone(warm, desert, season=HOT))


@settings(max_examples=12, deadline=None)
@given(less=st.floats(0.0, 0.9), added=st.floats(0.05, 1.0))
def test_more_shade_never_shortens_a_hot_night(camper: Scenario, desert: Weather, less: float, added: float) -> None:
    open_, shaded = (vary(camper, {"day.*.*.shade": s}) for s in (less, min(less + added, 1.0)))
    assert never_shorter(nights_alone(open_, desert, season=HOT), nights_alone(shaded, desert, season=HOT))


@settings(max_examples=12, deadline=None)
@given(r=st.floats(0.3, 2.0), added=st.floats(0.1, 2.0), outdoor_c=st.floats(SETPOINT_C + 2.0, 40.0))
def test_better_insulation_never_shortens_a_night_hotter_outside(r: float, added: float, outdoor_c: float) -> None:
    weather = steady_weather(round(outdoor_c, 1))
    thin, thick = (nights_alone(plain_van(cabin=plain_cabin(x)), weather, season=ONE) for x in (r, r + added))
    assert never_shorter(thin, thick)


# --- and where they stop being true --------------------------------------------------------------------------


def test_on_a_cool_night_better_insulation_shortens_a_full_vans_night() -> None:
    """Outside cooler than in, the walls let the heat of bodies out: insulation keeps it in, and the cooler works."""
    asleep = PlanSegment(start="00:00", end="00:00", cooling="eco", people="asleep", dogs="out")
    crowd = Occupants(people=(Person(),) * 5)
    thin, thick = (
        nights_alone(
            plain_van(
                cabin=plain_cabin(r),
                occupants=crowd,
                day=(Day(segment=(asleep,)),),
                bank=Bank(unit=unit("lfp", 100.0), parallel=2, location="outside"),
            ),
            steady_weather(19.0),
            season=ONE,
        )
        for r in (0.5, 4.0)
    )
    lost_h = thin.table["runtime_h"].iloc[0] - thick.table["runtime_h"].iloc[0]
    assert lost_h > one_cycle_h(thick)[0]
    assert lost_h > 2.0


def test_shade_that_hides_the_night_sky_costs_energy_at_night(desert: Weather) -> None:
    """A tree keeps off the sun by day and the cold sky by night; only the first helps."""
    van = load_scenario("scenarios/desert-night.toml")
    tree = vary(van, {"day.at-the-camp.22:00.shade": 0.9})  # from bedtime to waking only
    bare, under = (nights_alone(s, desert, season=HOT).table["cooler_wh"] for s in (van, tree))
    assert (under > bare * 1.02).all()


def test_a_higher_set_point_before_bedtime_alone_shortens_the_night(desert: Weather) -> None:
    """Warm contents at bedtime are work left for the night."""
    van = load_scenario("scenarios/desert-night.toml")
    late = vary(van, {"day.at-the-camp.18:30.setpoint_c": 30.0})
    before, after = (nights_alone(s, desert, season=HOT).table["cooler_wh"] for s in (van, late))
    assert (after > before).all()


# --- seasons and margins -------------------------------------------------------------------------------------


def test_seasons_are_read(desert: Weather) -> None:
    assert span_of("jun-sep", desert).days == 30 + 31 + 31 + 30
    assert span_of("06-01..09-30", desert).days == 122
    assert span_of("dec-feb", desert).days == 90
    assert span_of("year", desert).days == 365
    assert span_of("jul", desert).days == 31
    hottest = span_of(None, desert)
    assert (hottest.date_of(0).month, hottest.days) == (6, 92)


@pytest.mark.parametrize("season", ["summer", "06-31..07-02", "6-1..7-1", "jun-jul-aug", "06-01..07-01..08-01", ""])
def test_what_is_no_season_is_refused(desert: Weather, season: str) -> None:
    with pytest.raises(ScenarioError):
        span_of(season, desert)


def test_nights_across_new_year_keep_their_order(desert: Weather) -> None:
    index = nights_alone(plain_van(), desert, season="12-30..01-02").table.index
    assert [str(d.date()) for d in index] == ["2001-12-30", "2001-12-31", "2002-01-01", "2002-01-02"]


def test_a_heat_wave_warms_its_days_alone_and_says_so(desert: Weather) -> None:
    wave = HeatWave(shift_k=3.0, dates="07-10..07-12")
    plain, hot = (nights_alone(plain_van(), desert, season="07-06..07-15", heat_wave=w) for w in (None, wave))
    warmer = hot.table["outdoor_mean_c"] - plain.table["outdoor_mean_c"]
    inside = [str(d.date()) in ("2001-07-10", "2001-07-11") for d in hot.table.index]
    np.testing.assert_allclose(warmer[inside], 3.0)
    assert (warmer[:3] == 0.0).all()
    np.testing.assert_allclose(hot.table["dew_point_c"], plain.table["dew_point_c"])
    assert (hot.table["runtime_h"] <= plain.table["runtime_h"] + one_cycle_h(plain)).all()
    assert [note.values["shift_k"] for note in hot.notes if isinstance(note, Note)] == [3.0]
    assert not any(isinstance(note, Note) for note in plain.notes)
    assert all("typical year" in n.notes[0].lower() for n in (plain, hot))


def test_the_distribution_agrees_with_its_table(desert: Weather) -> None:
    nights = nights_alone(vary(load_scenario("scenarios/desert-night.toml"), {"bank.parallel": 2}), desert, keep=0.8)
    table, told = nights.table, nights.distribution
    assert told["kept_share"] == table["kept"].mean()
    assert told["runtime_h"]["p10"] <= told["runtime_h"]["p50"] <= told["runtime_h"]["p90"]
    assert told["by_month"]["nights"].sum() == len(table)
    assert told["worst_night"]["runtime_h"] == table["runtime_h"].min()
    harder = (table["runtime_h"] < told["design_night"]["runtime_h"]).sum()
    assert harder == len(table) - int(np.ceil(0.8 * len(table)))
    assert table.loc[table["kept"], "why"].eq("").all()
    assert table.loc[~table["kept"], "why"].ne("").all()
