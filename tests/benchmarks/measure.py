"""Measurements for the table: each returns rows (what, figure, target, how it was measured)."""

from __future__ import annotations

import gc
import os
import resource
import subprocess
import sys
import tempfile
import time
from collections.abc import Callable
from concurrent.futures import ThreadPoolExecutor
from dataclasses import replace
from pathlib import Path
from typing import Any

import numpy as np

from tests.benchmarks.hourly import hourly
from tests.benchmarks.least_work import RUNNING, least_work
from tests.benchmarks.weather_files import FILES, first_and_again
from tests.support.integrator import Second, read_map
from tests.support.vans import bank, van
from vansim.boundary.forcing import Forcing
from vansim.climate import Weather, read_weather
from vansim.march.records import Records
from vansim.runs.batch import simulate_many
from vansim.runs.run import Run, fresh_state, march_forcing, march_run, prepare
from vansim.runs.simulate import over_year
from vansim.scenario.schema import Scenario

Row = tuple[str, str, str, str]
ROOT = Path(__file__).parents[2]
DESERT = ROOT / "data_demo" / "climates" / "desert.epw"


def least(work: Callable[[], Any], repeats: int = 5) -> float:
    """Least process time [s] of some repeats."""
    times = []
    for _ in range(repeats):
        begun = time.process_time()
        work()
        times.append(time.process_time() - begun)
    return min(times)


def marcher(run: Run, forcing: Forcing | None = None, state: Records | None = None) -> Callable[[], Records]:
    """A march from the same state each time; gives the totals."""
    start = fresh_state(run) if state is None else state
    f = run.laid.forcing if forcing is None else forcing

    def work() -> Records:
        return march_forcing(f, run.van, start.copy()).totals

    return work


def year_rows(run: Run) -> tuple[list[Row], float]:
    """The year itself; also its process time [s]."""
    work = marcher(run)
    totals = work()
    seconds = least(work)
    starts, hours = totals.starts.sum(), totals.on_s.sum() / 3600.0
    return [
        ("year of cycling: compressor starts", f"{starts:,.0f}", ">= 50 000", f"on {hours:,.0f} h"),
        ("  a year, one thread", f"{seconds * 1e3:.0f} ms", "<= 30 ms", "process time, least of 5"),
        ("  of it per start", f"{seconds / starts * 1e6:.2f} us", "", ""),
    ], seconds


def stretch_of(run: Run, day: int, hours: int) -> tuple[Run, Records]:
    """Some hours from midnight of a day, and the state there, with the compressor at rest."""
    f = run.laid.forcing
    first = int(np.searchsorted(f.start_s, (day * 24 + 0) * 3600.0 - 1e-6))
    last = int(np.searchsorted(f.start_s, (day * 24 + hours) * 3600.0 - 1e-6))
    state = fresh_state(run)
    before = Forcing(*(np.ascontiguousarray(column[:first]) for column in f))
    march_forcing(before, run.van, state)
    state.on = state.disconnected = 0.0
    state.since_switch_s, state.since_start_s, state.boosting = 1e6, 1e6, 1.0
    part = Forcing(*(np.ascontiguousarray(column[first:last]) for column in f))
    return replace(run, laid=replace(run.laid, forcing=part)), state


TOLERANCES = (1e-4, 1e-5, 1e-6, 1e-7, 1e-9)
"""Relative tolerances that LSODA is given; the last is the reference."""


def integrator_rows(run: Run, days: tuple[int, ...] = (20, 200), hours: int = 24) -> list[Row]:
    """Against scipy's LSODA with events at several tolerances, each judged, as ours, by the tightest."""
    spent = dict.fromkeys((0.0, *TOLERANCES), 0.0)
    energy, squares = dict(spent), {name: np.zeros(0) for name in spent}
    for day in days:
        part, state = stretch_of(run, day, hours)
        f = part.laid.forcing
        moments = np.arange(f.start_s[0] + 30.0, f.end_s[-1] + 1e-6, 30.0)
        spent[0.0] += least(marcher(part, state=state), 20)
        totals, samples, _, _ = march_forcing(f, run.van, state.copy(), moments=moments)
        energy[0.0] += totals.cooler_j.sum()
        cabins = {0.0: samples.cabin_c}
        rested = np.array([state.cabin_c, state.contents_c, state.ratio, state.soc])
        for rtol in TOLERANCES:
            begun = time.process_time()
            trace = Second(part, read_map(part), rtol).march(rested, moments)
            spent[rtol] += time.process_time() - begun
            energy[rtol] += trace.cooler_j
            at = np.searchsorted(moments, np.concatenate(trace.times) - 1e-6)
            cabins[rtol] = np.full(moments.size, np.nan)
            cabins[rtol][at] = np.concatenate(trace.states)[:, 0]
        for name, cabin in cabins.items():
            squares[name] = np.append(squares[name], (cabin - cabins[TOLERANCES[-1]]) ** 2)
    rows: list[Row] = [
        ("a. solve_ivp (LSODA, events) over ours", "", "", f"process time, {len(days)} x {hours} h of the year")
    ]
    for name in spent:
        rms, off = np.sqrt(np.nanmean(squares[name])), energy[name] / energy[TOLERANCES[-1]] - 1.0
        accuracy = f"cabin rms {rms:.1e} K, energy {off:+.4%}"
        words = f"  rtol {name:.0e}" if name else "  ours"
        rows.append((words, f"{spent[name] / spent[0.0]:,.0f} x", ">= 2000 x" if name else "", accuracy))
    return rows


def kept_nights(run: Run, empty: np.ndarray) -> int:
    """Nights from 22:00 to 08:00 without an hour in which the bank gave out."""
    minute = run.laid.forcing.start_s / 60.0
    night, at_night = ((minute - 22 * 60) // 1440).astype(int), (minute - 22 * 60) % 1440 < 600
    lost = {int(n) for n in np.unique(night[at_night & empty])}
    return len(np.unique(night[at_night])) - len(lost)


def hourly_rows(run: Run, seconds: float) -> list[Row]:
    """Against an hourly loop over a pandas frame: what it costs in time and in truth."""
    loop_s = least(lambda: hourly(run), 3)
    ours_kwh = marcher(run)().cooler_j.sum() / 3.6e6
    season = prepare(over_year(van(bank=bank(3))), read_weather(DESERT))
    totals = marcher(season)()
    rough = hourly(season)
    season_kwh = totals.cooler_j.sum() / 3.6e6
    kept = kept_nights(season, totals.disconnected_s > 0.0)
    kept_rough = kept_nights(season, rough.table["empty"].to_numpy())
    return [
        ("c. hourly pandas loop over our year", f"{loop_s / seconds:.2f} x", "", "process time, least of 3"),
        (
            "  its error in cooler energy, year of cycling",
            f"{hourly(run).cooler_kwh / ours_kwh - 1.0:+.0%}",
            "",
            f"ours {ours_kwh:,.0f} kWh",
        ),
        (
            "  its error in cooler energy, desert van, 300 Ah",
            f"{rough.cooler_kwh / season_kwh - 1.0:+.0%}",
            "",
            f"ours {season_kwh:,.0f} kWh",
        ),
        ("  nights whose bank lasts: ours / its", f"{kept} / {kept_rough}", "", "of 365, same charging"),
    ]


PREPARATION = """
import time
begun = time.perf_counter()
from tests.support.vans import bank, van, cooler
from vansim.climate import read_weather
from vansim.climate.sun import sky
from vansim.boundary.forcing import build_forcing
from vansim.runs import run as s
from vansim.runs.simulate import over_year
from vansim.van.bank import bank_parameters
print("imports", time.perf_counter() - begun)
from vansim.van.cooler_map import solve_map
from vansim.van.cooler import cooler_parameters
from vansim.scenario.schema import Thermostat
import sys
def once(again):
    def timed(name, work):
        begun = time.perf_counter(); got = work(); print(name, time.perf_counter() - begun); return got
    w = timed("weather", lambda: read_weather(sys.argv[1]))
    sc = over_year(van())
    timed("sun", lambda: sky(w))
    timed("forcing", lambda: build_forcing(sc, w, 0, 0, 365 * 1440))
    timed("forcing_kept", lambda: build_forcing(sc, w, 0, 0, 365 * 1440))
    warmer = over_year(van(thermostat=Thermostat(setpoint_c=22.0)))
    timed("forcing_shared", lambda: build_forcing(warmer, w, 0, 0, 365 * 1440))
    timed("map", lambda: solve_map(cooler_parameters(sc.cooler), 97000.0))
    timed("bank", lambda: bank_parameters(sc.bank))
    run = s.prepare(sc, w)
    timed("prepare_shared", lambda: s.prepare(sc, w))
    timed("lead_in", lambda: s.fresh_state(run))
    state = s.fresh_state(run)
    timed("march", lambda: s.march_forcing(run.laid.forcing, run.van, state))
for again in range(4): once(again)
"""
STEPS = {
    "weather": ("weather file", "shared by all designs in a place"),
    "sun": ("sun", "shared by all designs in a place"),
    "forcing": ("faces and forcing, irradiance new", "irradiance shared per plane"),
    "forcing_shared": ("faces and forcing, irradiance known", "irradiance shared by all vans in a place"),
    "forcing_kept": ("faces and forcing, laid before", "shared by all banks and coolers"),
    "map": ("cooler map", "shared by all vans and banks with that cooler"),
    "bank": ("bank numbers", ""),
    "prepare_shared": ("prepare, all shared", "<= 150 ms"),
    "lead_in": ("lead-in of two days", ""),
    "march": ("march of the ordinary year", ""),
}


def preparation_rows() -> list[Row]:
    """Row by row, first and later, in a process of its own."""
    done = subprocess.run(
        [sys.executable, "-c", PREPARATION, str(DESERT)], cwd=ROOT, capture_output=True, text=True, check=True
    )
    seen: dict[str, list[float]] = {}
    for line in done.stdout.splitlines():
        name, value = line.split()
        seen.setdefault(name, []).append(float(value))
    march = min(seen["march"][1:])
    rows: list[Row] = [
        ("d. preparation against stepping", "first / later / later over march", "", "wall time, least of 3 later")
    ]
    for name, (words, shared) in STEPS.items():
        first, later = seen[name][0], min(seen[name][1:])
        figure = f"{first * 1e3:.1f} / {later * 1e3:.1f} ms / {later / march:.2f} x"
        target, note = (shared, "") if shared.startswith("<=") else ("", shared)
        rows.append((f"  {words}", figure, target, note))
    return rows


def weather_rows() -> list[Row]:
    """Many weather files, read for the first time and from the cache."""
    first, again = first_and_again()
    return [
        (
            f"g. {FILES} weather files read",
            f"{first:.1f} s",
            "<= 10 s",
            "processor time, three formats, pvlib's import",
        ),
        ("  again, from the cache", f"{again:.2f} s", "<= 1 s", f"in another process: {first / again:.0f} x"),
    ]


def thread_rows(most: int) -> list[Row]:
    """Scenario-years on one and two threads: time a year and memory."""
    weather = read_weather(DESERT)
    designs = [over_year(van(bank=bank(parallel))) for parallel in range(1, 11)]

    def cooler_j(scenario: Scenario, year: Weather) -> float:
        return float(march_run(prepare(scenario, year)).totals.cooler_j.sum())

    how = "wall time; simulate_many, ten banks in turn"
    rows: list[Row] = [("e. scenario-years", "one / two threads: ms a year, peak RSS", "flat", how)]
    for count in (n for n in (1, 10, 100, 1000) if n <= most):
        walls, peaks = [], []
        for threads in (1, 2):
            best = np.inf
            for _ in range(3 if count <= 10 else 1):
                gc.collect()
                begun = time.perf_counter()
                for _ in simulate_many((designs[i % 10] for i in range(count)), weather, threads, study=cooler_j):
                    pass
                best = min(best, time.perf_counter() - begun)
            walls.append(best)
            peaks.append(resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024.0)
        figure = f"{walls[0] / count * 1e3:.1f} / {walls[1] / count * 1e3:.1f} ms, {peaks[0]:.0f} / {peaks[1]:.0f} MB"
        if count == 10:
            rows.append(("  what the machine gives two threads now", f"{_machine_gain():.2f} x", "", "least work"))
        rows.append((f"  {count} years, gain {walls[0] / walls[1]:.2f} x", figure, ">= 1.8 x" if count > 1 else "", ""))
    return rows


def _machine_gain() -> float:
    """Wall time of compiled work without memory on one thread over two: what neighbours leave of the second core."""
    work = least_work(RUNNING)
    work(1)
    best = []
    for threads in (1, 2):
        times = []
        for _ in range(3):
            begun = time.perf_counter()
            with ThreadPoolExecutor(threads) as pool:
                list(pool.map(lambda _: work(1_000_000), range(10)))
            times.append(time.perf_counter() - begun)
        best.append(min(times))
    return best[0] / best[1]


def wall(arguments: list[str], repeats: int, **environment: str) -> float:
    """Least wall time [s] of a process, which may keep its byte code as it does by default."""
    shell = {name: value for name, value in os.environ.items() if name != "PYTHONDONTWRITEBYTECODE"}
    times = []
    for _ in range(repeats):
        begun = time.perf_counter()
        subprocess.run([sys.executable, *arguments], cwd=ROOT, env=shell | environment, capture_output=True, check=True)
        times.append(time.perf_counter() - begun)
    return min(times)


def start_rows() -> list[Row]:
    """The command line from nothing: with the compiled code at hand, and with an empty cache."""
    night = ["-m", "vansim", "run", "scenarios/desert-night.toml"]
    empty = wall(["-c", "pass"], 3)
    with tempfile.TemporaryDirectory() as folder:
        help_cold, cold = wall(["-m", "vansim", "--help"], 1, VANSIM_CACHE=folder), wall(night, 1, VANSIM_CACHE=folder)
    helped, warm = wall(["-m", "vansim", "--help"], 3), wall(night, 3)
    rows: list[Row] = [
        (
            "f. --help, cache empty / warm",
            f"{help_cold:.2f} / {helped:.2f} s",
            "<= 0.25 s",
            f"wall, least of 3; bare Python {empty:.2f} s",
        ),
        ("  one night, cache empty / warm", f"{cold:.1f} / {warm:.2f} s", "<= 2.0 s", "wall, least of 3; empty once"),
    ]
    done = subprocess.run(
        [sys.executable, "-X", "importtime", *night], cwd=ROOT, capture_output=True, text=True, check=True
    )
    own: dict[str, float] = {}
    for line in done.stderr.splitlines():
        parts = line.removeprefix("import time:").split("|")
        if len(parts) == 3 and parts[0].strip().isdigit():
            package = parts[2].strip().split(".")[0]
            own[package] = own.get(package, 0.0) + int(parts[0]) / 1e3
    heavy = sorted(own.items(), key=lambda item: -item[1])[:8]
    rows.append(
        (
            "  imports of a night, own time",
            f"{sum(own.values()):.0f} ms",
            "",
            ", ".join(f"{n} {t:.0f}" for n, t in heavy),
        )
    )
    return rows
