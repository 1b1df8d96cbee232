"""One van in several places and years: every row is what the other studies and plain runs give there."""

from __future__ import annotations

import gzip
from dataclasses import replace
from pathlib import Path
from typing import Any

import numpy as np
import pytest
from matplotlib.backends.backend_agg import FigureCanvasAgg
from matplotlib.text import Text

from tests.support.places import DEMO
from vansim import load_scenario, nights, phrases, simulate, size
from vansim.climate import Weather, read_weather
from vansim.climate.epw_writing import write_epw
from vansim.errors import ScenarioError, WeatherError
from vansim.runs.simulate import with_window
from vansim.scenario.files import default_scenario_path
from vansim.scenario.schema import Scenario
from vansim.scenario.vary import vary
from vansim.show import plots
from vansim.show.text.places import places_lines
from vansim.studies import places as study
from vansim.studies.places import Looked, Places, each_place, longest_run, places, years

SEASON = "07-14..07-18"


@pytest.fixture(scope="module")
def van() -> Scenario:
    """With a bank so small that some nights are not covered."""
    return vary(load_scenario(default_scenario_path()), {"bank.parallel": 5})


@pytest.fixture(scope="module")
def folder(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """The two invented climates, one of them packed; a warmer year; a damaged file; something that is no weather."""
    made = tmp_path_factory.mktemp("places")
    (made / "deep").mkdir()
    (made / "deep" / "coast.epw.gz").write_bytes(gzip.compress((DEMO / "coast.epw").read_bytes()))
    (made / "desert.epw").write_bytes((DEMO / "desert.epw").read_bytes())
    warm = read_weather(DEMO / "desert.epw")
    write_epw(replace(warm, data=warm.data.assign(temp_air=warm.array("temp_air") + 4.0)), made / "warmer.epw")
    (made / "cut.epw").write_text("".join((DEMO / "desert.epw").read_text().splitlines(keepends=True)[:3000]))
    (made / "readme.txt").write_text("not a weather file")
    return made


@pytest.fixture(scope="module")
def found(van: Scenario, folder: Path) -> Places:
    return places(van, folder, season=SEASON)


def test_a_line_a_file_and_what_was_passed_over(found: Places) -> None:
    """Two files of one place are told apart; the damaged file is named; what is no weather is none of the four."""
    assert set(found.table["file"]) == {"coast.epw.gz", "desert.epw", "warmer.epw"}
    assert set(found.table["place"]) == {
        "Invented Coast",
        "Invented Desert (desert.epw)",
        "Invented Desert (warmer.epw)",
    }
    assert found.passed_over["file"].unique().tolist() == ["cut.epw"]
    assert found.files == 4
    assert not found.stopped
    text = " ".join(" ".join(places_lines(found)).split())
    assert "Passed over 1 of 4 files" in text
    assert "cut.epw: 2992 hours" in text


def test_rows_are_those_of_nights_and_size(found: Places, van: Scenario) -> None:
    """Each row against `nights` and `size` with that file alone."""
    for row in found.table.to_dict("records"):
        year = read_weather(row["path"])
        alone, sized = nights(van, year, season=SEASON), size(van, year, season=SEASON)
        assert (row["covered"], row["nights"]) == (alone.headline.covered, alone.headline.count)
        assert row["design_night"] == alone.design.design_night["date"]
        assert row["design_runtime_h"] == alone.design.design_night["runtime_h"]
        if len(sized.table):
            assert row["usable_kwh"] == pytest.approx(sized.table["usable_kwh"].iloc[0])
            assert row["parallel"] == sized.table["parallel"].iloc[0]
        else:
            assert np.isnan(row["usable_kwh"])
            assert row["why"] == sized.failed["why"].iloc[0]


def test_covered_nights_are_those_of_plain_runs(found: Places, van: Scenario) -> None:
    """Every night of every place with `simulate` alone: as many are covered, and the same run of them is not."""
    for row in found.table.to_dict("records"):
        year = read_weather(row["path"])
        runs = [simulate(with_window(van, date=f"07-{day}", days=1), year) for day in range(14, 19)]
        covered = np.array([bool(run.nights["covered"].iloc[0]) for run in runs])
        assert covered.sum() == row["covered"]
        assert longest_run(~covered)[0] == row["worst_run"]


def test_sorted_by_nights_then_bank(found: Places) -> None:
    table = found.table
    assert table["covered_share"].is_monotonic_decreasing
    assert table["covered"].nunique() > 1
    for _, same in table.groupby("covered_share"):
        assert same["usable_kwh"].dropna().is_monotonic_increasing


def test_an_interruption_keeps_what_is_done(van: Scenario, folder: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    whole = each_place

    def interrupted(*given: Any) -> Any:
        for number, one in enumerate(whole(*given)):
            if number == 2:
                raise KeyboardInterrupt
            yield one

    monkeypatch.setattr(study, "each_place", interrupted)
    done = places(van, [folder / n for n in ("desert.epw", "warmer.epw", "deep/coast.epw.gz")], season=SEASON)
    assert done.stopped
    assert len(done.table) == 2
    assert "Stopped after 2 of 3 files" in " ".join(places_lines(done))


def test_files_are_let_go(van: Scenario) -> None:
    """Endless files: the first results come before the last file is asked for."""
    asked = []

    def endless() -> Any:
        for number in range(1000):
            asked.append(number)
            yield DEMO / "desert.epw"

    stream = each_place(van, endless(), study.Asked(season="07-14..07-14"))  # type: ignore[arg-type]
    assert isinstance(next(stream), Looked)
    assert len(asked) < 10
    stream.close()  # type: ignore[attr-defined]


def test_faults(van: Scenario, folder: Path, tmp_path: Path) -> None:
    with pytest.raises(WeatherError, match=r"cut\.epw"):
        places(van, folder / "cut.epw")
    with pytest.raises(WeatherError, match="no weather file is in this folder"):
        places(van, tmp_path)
    with pytest.raises(WeatherError, match="no weather file is given"):
        places(van, [])
    with pytest.raises(ScenarioError, match="not a season"):
        places(van, folder / "desert.epw", season="summer")
    with pytest.raises(ScenarioError, match="target"):
        places(van, folder / "desert.epw", target=1.5)
    with pytest.raises(WeatherError, match="labels is 'moved'"):
        places(van, folder / "desert.epw", labels="moved")


@pytest.mark.parametrize("system", ["si", "us"])
def test_picture(found: Places, system: str) -> None:
    sheet = plots.places(found, system=system)
    reach = int((found.table["covered_share"] >= 0.95).sum())
    verb = "covers" if reach == 1 else "cover"
    assert sheet.finding == f"{reach} of 3 places {verb} 95% of nights with this bank."
    FigureCanvasAgg(sheet).draw()
    drawn = [text.get_text() for text in sheet.findobj(Text)]
    for row in found.table.to_dict("records"):
        assert any(str(row["file"]) in text or str(row["place"]) == text for text in drawn)
        assert phrases.percent(row["covered_share"]) in drawn
        assert phrases.bank_cell(row["usable_kwh"], row["why"]) in drawn


# --- years ------------------------------------------------------------------------------------------------------------


def dated(weather: Weather, path: Path, year: int, warmer_k: float) -> Path:
    """A year of a station, every row dated in it."""
    hot = replace(weather, data=weather.data.assign(temp_air=weather.array("temp_air") + warmer_k))
    write_epw(hot, path)
    lines = path.read_text().splitlines()
    rows = [f"{year},{line.split(',', 1)[1]}" for line in lines[8:]]
    path.write_text("\n".join([*lines[:8], *rows]) + "\n")
    return path


def test_years_by_year_and_their_worst_run(van: Scenario, tmp_path: Path) -> None:
    """Shares and runs against `nights` of each year; the worst year is the warmest; runs counted by hand."""
    base = read_weather(DEMO / "desert.epw")
    files = [
        dated(base, tmp_path / f"{name}.epw", year, k)
        for name, year, k in (("c", 2019, 0.0), ("a", 2021, 4.0), ("b", 2020, 1.5))
    ]
    found = years(van, files, season=SEASON)
    assert found.table["year"].tolist() == [2019, 2020, 2021]
    assert found.worst["year"] == 2021
    assert found.nights == 15
    total, longest = 0, 0
    for path in files:
        table = nights(van, read_weather(path), season=SEASON).headline.table
        total += int(table["covered"].sum())
        lost = "".join("." if covered else "x" for covered in table["covered"])
        longest = max(longest, *(len(run) for run in lost.split(".")))
    assert (found.covered, found.worst_run["worst_run"]) == (total, longest)  # type: ignore[index]
    text = " ".join(" ".join(places_lines(found)).split())
    assert "Worst year 2021" in text
    assert f"{longest} nights in a row" in text
    assert plots.places(found).finding.startswith(f"{round(100 * total / 15)}% of 15 nights in 3 years")


def test_the_year_of_a_typical_file_is_not_told() -> None:
    """Every row of the invented climates is dated 2001, the canonical year: no real one."""
    assert not [n for n in read_weather(DEMO / "desert.epw").notes if n.code == "one-year"]


@pytest.mark.parametrize(
    ("wanted", "run"), [("", (0, 0)), ("..", (0, 0)), ("x.xx.", (2, 2)), ("xx.xx", (2, 0)), ("..x", (1, 2))]
)
def test_longest_run(wanted: str, run: tuple[int, int]) -> None:
    assert longest_run(np.array([c == "x" for c in wanted], dtype=bool)) == run
