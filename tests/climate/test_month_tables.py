"""Design values and monthly changes as small tables that stand for a weather file: reading, seasons, faults."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest

from tests.support.places import DEMO
from vansim import load_scenario, simulate
from vansim import nights as nights_study
from vansim.climate import read_weather
from vansim.climate.seasons import span_of
from vansim.errors import WeatherError
from vansim.scenario.files import default_scenario_path

HEAD = "# name: Invented, 1 %\n# latitude: 33.0\n# longitude: -113.0\n# altitude: 350\n# utc_offset: -7\n"
COLUMNS = "month,dry_bulb_c,wet_bulb_c,daily_range_k,taub,taud,wind_m_s\n"
JULY, JANUARY = "7,43.1,22.4,14.2,0.556,1.779,3.5\n", "1,21.0,9.5,12.0,0.33,2.4,\n"
MONTHS = "".join(f"{m},2.0,2.6,1.6,5,0,-3\n" for m in range(1, 13))
CHANGES = "month,temp_k,temp_max_k,temp_min_k,humidity_ratio_percent,ghi_percent,wind_percent\n" + MONTHS


def written(path: Path, text: str) -> Path:
    path.write_text(text, encoding="utf-8")
    return path


def test_design_days_by_month(tmp_path: Path) -> None:
    """July to the table; a month without a row takes the nearest (December January's, around the year)."""
    year = read_weather(written(tmp_path / "d.csv", HEAD + COLUMNS + JULY + JANUARY))
    temp = year.array("temp_air").reshape(365, 24)
    assert temp[200].max() == pytest.approx(43.1)
    assert temp[120].max() == pytest.approx(43.1)
    assert temp[350].max() == pytest.approx(21.0)
    assert (year.site.name, year.kind) == ("Invented, 1 %", "design days (CSV)")
    assert year.array("wind_speed").reshape(365, 24)[[5, 200], 0] == pytest.approx([3.4, 3.5])
    assert read_weather(tmp_path / "d.csv") == year  # from the cache


def test_the_season_of_design_days_is_their_hottest_day(tmp_path: Path) -> None:
    year = read_weather(written(tmp_path / "d.csv", HEAD + COLUMNS + JULY + JANUARY))
    span = span_of(None, year)
    assert (span.date_of(0).month, span.date_of(0).day, span.days) == (7, 21, 1)
    assert span_of("jun-aug", year).days == 92


def test_a_design_day_is_as_hard_as_the_same_day_in_a_run(tmp_path: Path) -> None:
    """`nights` over the design day against `simulate` of it; said to be no typical year."""
    path = written(tmp_path / "d.csv", HEAD + COLUMNS + JULY)
    scenario = load_scenario(default_scenario_path())
    found = nights_study(scenario, read_weather(path))
    run = scenario.run.model_copy(update={"date": "07-21"})
    result = simulate(scenario.model_copy(update={"run": run}), read_weather(path))
    assert found.independent.count == 1
    assert found.independent.table["runtime_h"].iloc[0] == pytest.approx(result.nights["runtime_h"].iloc[0], abs=1e-6)
    assert [note.code for note in found.notes] == ["design-day"]


def test_the_share_of_a_table_with_several(tmp_path: Path) -> None:
    rows = "month,percent,dry_bulb_c,wet_bulb_c,daily_range_k,taub,taud\n" + "".join(
        f"7,{p},{t},22,14,0.556,1.779\n" for p, t in ((0.4, 44), (1, 43), (2, 42))
    )
    for share, hottest in ((0.4, 44.0), (2, 42.0)):
        year = read_weather(written(tmp_path / "d.csv", f"{HEAD}# percent: {share}\n{rows}"))
        assert year.array("temp_air").max() == pytest.approx(hottest)
    with pytest.raises(WeatherError, match=r"rows for 0\.4, 1, 2 %; choose one"):
        read_weather(written(tmp_path / "d.csv", HEAD + rows))


@pytest.mark.parametrize(
    ("text", "said"),
    [
        (HEAD + COLUMNS + JULY.replace("43.1,22.4", "21.0,22.4"), "above dry_bulb_c"),
        (HEAD + COLUMNS + JULY.replace("22.4", "10"), "lower than dry air"),
        (HEAD + COLUMNS + JULY.replace("7,", "13,", 1), "month is 13, allowed: 1 to 12"),
        (HEAD + COLUMNS + JULY + JULY, "stands in several rows"),
        (HEAD + COLUMNS.replace("taud", "tau_d") + JULY, "did you mean 'taud'"),
        (HEAD + COLUMNS.replace(",taud", "") + "7,43.1,22.4,14.2,0.556,3.5\n", "no column 'taud'"),
        (HEAD.replace("latitude", "latitud") + COLUMNS + JULY, "did you mean 'latitude'"),
        (HEAD.replace("33.0", "north") + COLUMNS + JULY, "allowed: a number"),
        (HEAD.replace("# altitude: 350\n", "") + COLUMNS + JULY, "says altitude"),
        (HEAD + "# clear_sky: 2011\n" + COLUMNS + JULY, "allowed: 2013, 2009"),
        (HEAD + COLUMNS + JULY.replace("43.1", "warm"), "dry_bulb_c is warm"),
        (HEAD + COLUMNS, "no row"),
        (CHANGES, "names a year"),
        (f"# year: {DEMO / 'desert.epw'}\n" + CHANGES.replace("12,2.0", "11,2.0"), "one row for each month"),
        (f"# year: {DEMO / 'desert.epw'}\n" + CHANGES.replace("2.6", "15"), "stretch a daily range"),
        (f"# year: {DEMO / 'desert.epw'}\n" + CHANGES.replace("ghi_percent", "dew_point_k"), "write one of them"),
        (f"# year: {DEMO / 'nowhere.epw'}\n" + CHANGES, "cannot be opened"),
    ],
)
def test_faults_say_what_and_where(text: str, said: str, tmp_path: Path) -> None:
    with pytest.raises(WeatherError, match=said):
        read_weather(written(tmp_path / "x.csv", text))


def test_a_changed_year_stands_for_a_weather_file(tmp_path: Path) -> None:
    """Warmer by its table's shift; the note says from what and by how much; the rest is the year's own."""
    path = written(tmp_path / "later.csv", f"# year: {DEMO / 'desert.epw'}\n" + CHANGES)
    year, base = read_weather(path), read_weather(DEMO / "desert.epw")
    assert year.array("temp_air").mean() - base.array("temp_air").mean() == pytest.approx(2.0, abs=1e-9)
    assert year.array("wind_speed") == pytest.approx(0.97 * base.array("wind_speed"))
    assert (year.array("longwave") > base.array("longwave")).all()
    assert np.array_equal(year.array("pressure"), base.array("pressure"))
    note = year.notes[0]
    assert (note.code, note.values["base"], note.values["changes"]) == ("changed-year", "desert.epw", "later.csv")
    assert note.values["mean_k"] == pytest.approx(2.0, abs=1e-9)
    assert span_of(None, year).days == span_of(None, base).days
    assert read_weather(path) == year


def test_a_changed_year_follows_its_year(tmp_path: Path) -> None:
    """Another year under the same name is another answer; a table of a table is refused."""
    base = tmp_path / "year.epw"
    path = written(tmp_path / "later.csv", "# year: year.epw\n" + CHANGES)
    base.write_bytes((DEMO / "desert.epw").read_bytes())
    first = read_weather(path)
    base.write_bytes((DEMO / "coast.epw").read_bytes())
    assert read_weather(path) != first
    again = written(tmp_path / "again.csv", "# year: later.csv\n" + CHANGES)
    with pytest.raises(WeatherError, match="is no year of weather itself"):
        read_weather(again)


def test_warmer_years_cover_fewer_nights(tmp_path: Path) -> None:
    scenario = load_scenario(default_scenario_path())
    path = written(tmp_path / "later.csv", f"# year: {DEMO / 'desert.epw'}\n" + CHANGES)
    now = nights_study(scenario, season="07-01..07-20")
    later = nights_study(scenario, replace(read_weather(path)), season="07-01..07-20")
    assert later.independent.table["runtime_h"].median() < now.independent.table["runtime_h"].median()
    assert {"typical-year", "changed-year"} <= {note.code for note in later.notes}
