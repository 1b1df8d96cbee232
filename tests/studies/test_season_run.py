"""A season laid out once gives what single runs give, and work on threads stops when it is told to."""

from __future__ import annotations

import threading

import pandas as pd
import pytest

from vansim.climate import Weather
from vansim.errors import ScenarioError
from vansim.runs import season as sr
from vansim.runs.jobs import all_of
from vansim.runs.simulate import simulate
from vansim.scenario.files import load_scenario
from vansim.scenario.vary import vary
from vansim.studies.nights import laid_season, nights_alone, nights_by_size
from vansim.van.bank import bank_parameters


@pytest.mark.parametrize("parallel", [1, 3, 6])
def test_a_night_alone_is_the_run_that_starts_full_at_its_bedtime(desert: Weather, parallel: int) -> None:
    """Nothing charges here, so a run from bedtime on sees the same night; the two lead in from different hours."""
    van = load_scenario("scenarios/desert-night.toml")
    van = vary(van, {"solar": "none", "alternator": "none", "bank.parallel": parallel})
    alone = nights_alone(van, desert, season="07-15..07-15").table.iloc[0]
    run = simulate(vary(van, {"run.date": "07-15", "run.start": "22:00", "run.days": 1}), desert).nights.iloc[0]
    for column in ("cooler_wh", "loads_wh", "dew_point_c", "outdoor_mean_c"):
        assert alone[column] == pytest.approx(run[column], rel=0.01)
    for column in ("waking_soc", "lowest_soc", "duty"):
        assert alone[column] == pytest.approx(run[column], abs=0.005)
    assert alone["kept"] == run["kept"]
    assert alone["why"] == run["why"]
    if not run["kept"]:
        assert alone["runtime_h"] == pytest.approx(run["runtime_h"], abs=0.15)


def test_states_at_bedtime_do_not_depend_on_the_bank(desert: Weather) -> None:
    van = load_scenario("scenarios/desert-night.toml")
    one, many = (
        sr.evenings(laid_season(vary(van, {"bank.parallel": n}), desert, "07-14..07-16", None)).states for n in (1, 9)
    )
    assert (one == many).all()


def test_mode_and_cooler_put_in_place_are_those_of_a_plan_that_says_so(desert: Weather) -> None:
    van = load_scenario("scenarios/desert-night.toml")
    base = laid_season(van, desert, "07-14..07-16", None)
    changes = {f"day.at-the-camp.{start}.cooling": "boost" for start in ("18:30", "22:00")}
    written = laid_season(vary(van, {**changes, "cooler": "split-12v-1500w"}), desert, "07-14..07-16", None)
    assert written.scenario.cooler is not None
    swapped = sr.with_cooler(sr.with_mode(base, "boost"), written.scenario.cooler)
    bank = bank_parameters(van.bank)
    found = [sr.alone(run, bank, sr.evenings(run).states, 1.0) for run in (written, swapped)]
    assert (found[0] == found[1]).all()


def test_threads_keep_the_order_and_tell_progress() -> None:
    told: list[tuple[int, int]] = []
    for threads in (1, 2, 5):
        told.clear()
        done = all_of(lambda n: n * n, range(7), lambda a, b: told.append((a, b)), threads)
        assert done == [n * n for n in range(7)]
        assert told == [(n, 7) for n in range(1, 8)]


def test_an_interruption_drops_what_has_not_begun() -> None:
    begun: list[int] = []
    gate = threading.Event()

    def work(n: int) -> int:
        begun.append(n)
        if n == 0:
            gate.set()
            raise KeyboardInterrupt
        gate.wait(5.0)
        return n

    with pytest.raises(KeyboardInterrupt):
        all_of(work, range(1000), threads=2)
    assert len(begun) < 1000


def test_nights_by_size_are_those_of_each_bank_for_itself(desert: Weather) -> None:
    """The shortcut for nights that a smaller bank outlasts changes no number."""
    van = load_scenario("scenarios/desert-night.toml")
    season = "04-20..05-14"
    found = nights_by_size(van, desert, season=season, sizes=(12, 2, 6), modes=("eco",))
    eco = {f"day.at-the-camp.{start}.cooling": "eco" for start in ("18:30", "22:00")}
    for parallel in (2, 6, 12):
        single = nights_alone(vary(van, {**eco, "bank.parallel": parallel}), desert, season=season)
        pd.testing.assert_frame_equal(found["eco", parallel].table, single.table, check_exact=True)
    assert 0.0 < found["eco", 6].table["outlasts"].mean() < 1.0


def test_sizes_and_modes_that_there_are_not(desert: Weather) -> None:
    with pytest.raises(ScenarioError) as told:
        nights_by_size(load_scenario("scenarios/desert-night.toml"), desert, sizes=(0,), modes=("turbo",))
    assert len(told.value.faults) == 2
