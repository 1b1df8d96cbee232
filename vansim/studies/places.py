"""One van in several places, or in several years of one: nights covered, the bank for the target, the design night.

Each file is read, laid out and marched for itself and then let go, so memory does not grow with their number. A file
that cannot be used is passed over with its fault. An interruption keeps what is done.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass
from datetime import date
from pathlib import Path
from typing import Any

import numpy as np
import numpy.typing as npt
import pandas as pd

from vansim.climate import Weather, read_weather
from vansim.climate.at_hand import is_weather_file
from vansim.climate.readers import check_choices
from vansim.climate.seasons import HeatWave
from vansim.errors import ScenarioError, WeatherError
from vansim.notes import Note
from vansim.runs.jobs import THREADS, Progress, in_order
from vansim.scenario.files import ScenarioSource, as_scenario
from vansim.scenario.schema import Scenario
from vansim.studies.candidates import candidates, layout_of
from vansim.studies.design import TARGET, Design, NightsReading
from vansim.studies.sizing import fault_of, least_parallel

Files = str | Path | Iterable[str | Path]
MOST_FILES = 10_000
PASSED_OVER = ("file", "fault")
CAUTIONS = ("labels-loose", "labels-as-written")
"""Notes of a year that are said beside its row."""


@dataclass(frozen=True)
class Asked:
    """What is asked of every place.

    Attributes
    ----------
    target, season, heat_wave, start_soc, full_at_bedtime
        As for `vansim.nights`.
    labels, sky : str
        As for `vansim.read_weather`.
    """

    target: float = TARGET
    season: str | None = None
    heat_wave: HeatWave | float | None = None
    start_soc: float | None = None
    full_at_bedtime: bool = False
    labels: str = "find"
    sky: str = "formula"


@dataclass(frozen=True)
class PassedOver:
    """A file that could not be used, and why: one fault a line."""

    path: Path
    faults: tuple[str, ...]


@dataclass(frozen=True)
class Looked:
    """A place, or a year, that was looked at: its row, the van there, and what its year has to say."""

    path: Path
    row: dict[str, Any]
    design: Design
    cautions: tuple[Note, ...]


@dataclass(frozen=True)
class Places:
    """One van in several places.

    Attributes
    ----------
    table : DataFrame
        A row a file, most nights covered first, then the smallest bank for the target, then the longest runtime.
        ``place``, ``file``, ``path``, ``kind``, ``year`` (a real year's, 0 where none is known), ``latitude``,
        ``longitude`` [deg], ``altitude_m``, ``season`` (which nights), ``nights``, ``covered``, ``covered_share`` with
        the bank as it is, ``judged`` (the reading that decided), ``independent_share``, ``consecutive_share``,
        ``runtime_p10_h``, the design night with its ``design_runtime_h``, ``design_outdoor_low_c`` and
        ``design_outdoor_mean_c``, ``parallel``, ``units`` and ``usable_kwh`` of the smallest bank for the target
        (not-a-number where there is none, and ``why``, as in `vansim.size`), ``worst_run`` (most nights in a row that
        are not covered) and ``worst_run_from``, its first evening.
    passed_over : DataFrame
        ``file`` and ``fault``, a row a fault, of the files that could not be used.
    cautions : dict of str to tuple of Note
        By place: what has to be said of its file.
    scenario : Scenario
        The van.
    asked : Asked
        On which terms.
    noted : Design
        The van in the hardest of these places (fewest nights covered, then the shortest runtime on the design night),
        for what has to be said of all.
    files : int
        How many were asked for.
    stopped : bool
        Interrupted: the table holds what was done until then.
    """

    table: pd.DataFrame
    passed_over: pd.DataFrame
    cautions: dict[str, tuple[Note, ...]]
    scenario: Scenario
    asked: Asked
    noted: Design
    files: int
    stopped: bool

    @property
    def reach_target(self) -> npt.NDArray[np.bool_]:
        """Which rows cover the target with the bank as it is."""
        return np.asarray(self.table["covered_share"] >= self.asked.target - 1e-9)

    @property
    def largest(self) -> pd.Series[Any] | None:
        """The row with the largest bank for the target; None where some place has none."""
        if self.table["usable_kwh"].isna().any():
            return None
        return self.table.iloc[int(self.table["usable_kwh"].argmax())]


@dataclass(frozen=True)
class Years(Places):
    """One van in several years: as `Places`, the rows by year."""

    @property
    def nights(self) -> int:
        """Nights of all years."""
        return int(self.table["nights"].sum())

    @property
    def covered(self) -> int:
        """Nights that are covered, of all years."""
        return int(self.table["covered"].sum())

    @property
    def share(self) -> float:
        """Covered nights over nights, of all years."""
        return self.covered / self.nights

    @property
    def worst(self) -> pd.Series[Any]:
        """The row of the year with the lowest share; of several, the one with the longest run."""
        order = self.table.sort_values(["covered_share", "worst_run"], ascending=[True, False], kind="stable")
        return order.iloc[0]

    @property
    def worst_run(self) -> pd.Series[Any] | None:
        """The row with the longest run of nights that are not covered; None where every night is."""
        place = int(self.table["worst_run"].argmax())
        return self.table.iloc[place] if self.table["worst_run"].iloc[place] else None


def places(scenario: ScenarioSource, files: Files, progress: Progress | None = None, **asked: Any) -> Places:
    """One van in several places, a row each.

    Parameters
    ----------
    scenario : Scenario, str, Path or mapping
        Van and plan, or what `load_scenario` reads them from; its own weather is not read.
    files : str, Path or iterable of these
        Weather files, and folders of them.
    progress : callable or None
        Called with files done and in all.
    **asked
        As fields of `vansim.studies.places.Asked`: ``target``, ``season``, ``heat_wave``, ``start_soc``,
        ``full_at_bedtime``, ``labels``, ``sky``.

    Returns
    -------
    Places
        Interrupted from the keyboard after at least one place is done: those that are.

    Raises
    ------
    WeatherError
        No file can be used: every fault of each.
    ScenarioError
        A season or share that cannot be used.
    """
    found = Places(**_gathered(as_scenario(scenario), files, Asked(**asked), progress))
    order = found.table.sort_values(
        ["covered_share", "usable_kwh", "design_runtime_h", "place"], ascending=[False, True, False, True],
        kind="stable", na_position="last",
    )  # fmt: skip
    return Places(**{**vars(found), "table": order.reset_index(drop=True)})


def years(scenario: ScenarioSource, files: Files, progress: Progress | None = None, **asked: Any) -> Years:
    """One van in several real years of a place, a row each.

    Parameters
    ----------
    scenario, files, progress, **asked
        As for `places`.

    Returns
    -------
    Years
        By year; files that do not tell their year come last, by name.

    Raises
    ------
    WeatherError, ScenarioError
        As for `places`.
    """
    found = Years(**_gathered(as_scenario(scenario), files, Asked(**asked), progress))
    known = found.table.assign(later=found.table["year"].where(found.table["year"] > 0, np.inf))
    order = known.sort_values(["later", "file"], kind="stable").drop(columns="later")
    return Years(**{**vars(found), "table": order.reset_index(drop=True)})


def weather_files(files: Files) -> list[Path]:
    """Files as given; of a folder, the weather files in it and in its folders, by name.

    Raises
    ------
    WeatherError
        None is given, or a folder holds none.
    """
    given = [files] if isinstance(files, str | Path) else list(files)
    found: list[Path] = []
    faults = []
    for path in map(Path, given):
        if not path.is_dir():
            found.append(path)
            continue
        inside = [p for p, _ in zip(sorted(path.rglob("*")), range(MOST_FILES), strict=False) if is_weather_file(p)]
        if not inside:
            faults.append(f"{path}: no weather file is in this folder")
        found += inside
    if not given:
        faults.append("no weather file is given; name files, or a folder of them")
    if faults:
        raise WeatherError(faults)
    return list(dict.fromkeys(found))


def each_place(scenario: Scenario, files: Sequence[Path], asked: Asked) -> Iterator[Looked | PassedOver]:
    """Look at one file after another, some at a time; results come in the order of the files.

    Parameters
    ----------
    scenario : Scenario
        Van and plan.
    files : sequence of Path
        Weather files.
    asked : Asked
        On which terms.

    Yields
    ------
    Looked or PassedOver
        Of each file. No more are held than there are threads.
    """

    def look(path: Path) -> Looked | PassedOver:
        try:
            year = read_weather(path, labels=asked.labels, sky=asked.sky)
        except WeatherError as fault:
            return PassedOver(path, fault.faults)
        return looked_at(scenario, year, path, asked)

    yield from in_order(look, files, THREADS)


def looked_at(scenario: Scenario, year: Weather, path: Path, asked: Asked) -> Looked:
    """One place: nights with the bank as it is, and the smallest bank for the target."""
    offer = candidates(
        scenario, year, asked.season, heat_wave=asked.heat_wave, target=asked.target, start_soc=asked.start_soc,
        full_at_bedtime=asked.full_at_bedtime,
        batteries=None, modes=None, coolers=None, judged="headline",
    )[0]  # fmt: skip
    design, reading = offer.design, offer.design.headline
    least, night = least_parallel(offer), design.design_night
    bank: dict[str, Any] = {"parallel": np.nan, "units": np.nan, "usable_kwh": np.nan}
    if least is not None:
        bank = {name: float(layout_of(offer.sized(least).bank)[name]) for name in bank}
    run, first = longest_run(~reading.table["covered"].to_numpy(dtype=bool))
    row = {
        **_of_year(year, path),
        "season": design.season.nights.label,
        "nights": reading.count,
        "covered": reading.covered,
        "covered_share": reading.share,
        "judged": reading.kind,
        "independent_share": design.independent.share,
        "consecutive_share": design.consecutive.share,
        "runtime_p10_h": reading.runtime_h(0.1),
        "design_night": night["date"],
        **{f"design_{name}": night[name] for name in ("runtime_h", "outdoor_low_c", "outdoor_mean_c")},
        **bank,
        "why": "" if least is not None else fault_of(offer)["why"],
        "worst_run": run,
        "worst_run_from": _evening(reading, first) if run else None,
    }
    return Looked(path, row, design, tuple(note for note in year.notes if note.code in CAUTIONS))


def longest_run(wanted: npt.NDArray[np.bool_]) -> tuple[int, int]:
    """Length and first place of the longest run of True; the first of equally long ones, (0, 0) where there is none."""
    best, start, at = 0, 0, 0
    for place, one in enumerate(wanted.tolist()):
        at = at + 1 if one else 0
        if at > best:
            best, start = at, place - at + 1
    return best, start


def _evening(reading: NightsReading, place: int) -> date:
    moment: pd.Timestamp = pd.DatetimeIndex(reading.table.index)[place]
    return moment.date()


def _of_year(year: Weather, path: Path) -> dict[str, Any]:
    """What a year's file says of itself."""
    said = {note.code: note.values for note in year.notes}
    real = str(said["own-year"]["first"])[:4] if "own-year" in said else said.get("one-year", {}).get("year", 0)
    return {
        "place": year.site.name,
        "file": path.name,
        "path": str(path),
        "kind": year.kind,
        "year": int(real),
        "latitude": year.site.latitude,
        "longitude": year.site.longitude,
        "altitude_m": year.site.altitude,
    }


def _gathered(scenario: Scenario, files: Files, asked: Asked, progress: Progress | None) -> dict[str, Any]:
    """Fields of `Places`, rows in the order of the files."""
    check_choices(asked.labels, asked.sky)
    if not 0.0 < asked.target <= 1.0:
        raise ScenarioError(f"target: {asked.target:g} is not a share of nights; allowed: above 0, up to 1")
    todo = weather_files(files)
    rows: list[dict[str, Any]] = []
    passed: list[PassedOver] = []
    cautions: dict[str, tuple[Note, ...]] = {}
    noted: Design | None = None
    hardest = (2.0, 0.0)
    stopped = False
    try:
        for one in each_place(scenario, todo, asked):
            if isinstance(one, PassedOver):
                passed.append(one)
            else:
                rows.append(one.row)
                cautions |= {one.path.name: one.cautions} if one.cautions else {}
                if noted is None or _hardness(one.row) < hardest:
                    noted, hardest = one.design, _hardness(one.row)
            if progress is not None:
                progress(len(rows) + len(passed), len(todo))
    except KeyboardInterrupt:
        if noted is None:
            raise
        stopped = True
    if noted is None:
        raise WeatherError(fault for one in passed for fault in one.faults)
    faults = [(one.path.name, fault) for one in passed for fault in one.faults]
    return {
        "table": _named_apart(pd.DataFrame(rows)),
        "passed_over": pd.DataFrame(faults, columns=list(PASSED_OVER)),
        "cautions": cautions,
        "scenario": scenario,
        "asked": asked,
        "noted": noted,
        "files": len(todo),
        "stopped": stopped,
    }


def _hardness(row: dict[str, Any]) -> tuple[float, float]:
    return float(row["covered_share"]), float(row["design_runtime_h"])


def _named_apart(table: pd.DataFrame) -> pd.DataFrame:
    """Places that are called alike are told apart by their files."""
    twice = table["place"].duplicated(keep=False)
    return table.assign(place=table["place"].where(~twice, table["place"] + " (" + table["file"] + ")"))
