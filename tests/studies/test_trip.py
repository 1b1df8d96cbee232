"""A trip: one chain of nights. Where it stays in one place it is a plain run; from place to place it hands on."""

from __future__ import annotations

from dataclasses import astuple, replace
from pathlib import Path
from typing import Any

import numpy as np
import pandas as pd
import pytest

from tests.support.places import DEMO
from tests.support.screens import call
from vansim import ScenarioError, WeatherError, load_scenario, plots, simulate, trip
from vansim.boundary import envelope
from vansim.boundary.ground import GroundYear, ground_year
from vansim.climate import Weather, read_weather
from vansim.climate.weather import hour_index
from vansim.runs.simulate import with_window
from vansim.scenario.files import default_scenario_path
from vansim.scenario.schema import Scenario, Stop
from vansim.scenario.trip import calendar_of
from vansim.show.text.trip import headline, trip_lines
from vansim.studies import trip as study

SCENARIOS = default_scenario_path().parent
BOOKS = ("start_soc", "bedtime_soc", "lowest_soc", "waking_soc", "cooler_wh", "charged_wh", "cabin_max_c", "duty")


def van(*stops: Stop, **changes: Any) -> Scenario:
    """The bundled week on the road, with stops; its plan's days are 'travel' and 'rest'."""
    week = load_scenario(SCENARIOS / "driving-week.toml")
    return week.model_copy(update={"trip": stops, **changes})


def stop(date: str, weather: str = "desert.epw", **more: Any) -> Stop:
    return Stop(date=date, weather=weather, **more)


@pytest.fixture(scope="module")
def desert() -> Weather:
    return read_weather(DEMO / "desert.epw")


def with_years(monkeypatch: pytest.MonkeyPatch, *years: Weather) -> None:
    """The years of the stops, whatever their files are called."""
    monkeypatch.setattr(study, "_years", lambda *given: list(years))


def plain(scenario: Scenario, year: Weather) -> pd.DataFrame:
    """The same days in one run of `simulate`, each day with its day of the plan."""
    days = calendar_of(scenario)
    run = scenario.model_copy(update={"cycle": days, "trip": ()})
    return simulate(with_window(run, date=scenario.trip[0].date, days=len(days) - 3), year).nights


def test_two_stops_in_one_place_are_one_run(desert: Weather) -> None:
    """Handing on from a place to itself changes nothing: every night as in one run of five days."""
    scenario = van(stop("07-10"), stop("07-12"), stop("07-14", nights=1))
    found, run = trip(scenario), plain(scenario, desert)
    assert calendar_of(scenario)[:6] == ("rest", "rest", "travel", "rest", "travel", "rest")
    assert found.count == len(run) == 5
    for name in BOOKS:
        assert found.table[name].to_numpy(dtype=float) == pytest.approx(
            run[name].to_numpy(dtype=float), abs=2e-4, rel=2e-4
        ), name
    assert found.table["covered"].tolist() == run["covered"].tolist()


def test_another_place_from_halfway_through_the_drive(desert: Weather, monkeypatch: pytest.MonkeyPatch) -> None:
    """A place 6 K warmer from the handover on, against one run through a year that turns warmer at that hour.

    Driving takes from 09:00 to 12:30 and from 14:00 to 16:30: half of six hours is done at 12:00. The air of the hour
    before runs to the warmer edge in the run, to its own in the trip; that hour passes on the road. The ground keeps
    what came before, and the van arrives on one that has lain in the warmer place: so the run's ground turns too.
    """
    hot = replace(desert, data=desert.data.assign(temp_air=desert.array("temp_air") + 6.0))
    scenario = van(stop("07-10"), stop("07-12", nights=2))
    hour = (pd.Timestamp("2001-07-12 12:00") - pd.Timestamp("2001-01-01")) // pd.Timedelta("1h")
    columns = {
        str(c): np.where(np.arange(8760) < hour, desert.array(str(c)), hot.array(str(c))) for c in desert.data.columns
    }
    both = replace(desert, data=pd.DataFrame(columns, index=hour_index(desert.site)))

    def ground(year: Weather, *pitch: Any) -> GroundYear:
        if year != both:
            return ground_year(year, *pitch)
        cool, warm = (astuple(ground_year(one, *pitch)) for one in (desert, hot))
        return GroundYear(*(np.where(np.arange(8760) < hour, a, b) for a, b in zip(cool, warm, strict=True)))

    with_years(monkeypatch, desert, hot)
    monkeypatch.setattr(envelope, "ground_year", ground)
    found, run = trip(scenario), plain(scenario, both)
    assert found.count == len(run) == 4
    for name in ("start_soc", "bedtime_soc", "waking_soc"):
        assert found.table[name].to_numpy() == pytest.approx(run[name].to_numpy(), abs=0.003), name
    assert found.table["cooler_wh"].to_numpy() == pytest.approx(run["cooler_wh"].to_numpy(), rel=0.01)
    assert found.table["cooler_wh"].iloc[2] > 1.1 * found.table["cooler_wh"].iloc[1]


def test_the_bank_hands_on(desert: Weather) -> None:
    """Without engine, sun and shore nothing is gained between places, and each night begins below the one before."""
    scenario = van(stop("07-10"), stop("07-11"), stop("07-12", nights=1), solar=None, alternator=None, loads=())
    found = trip(scenario)
    start, waking = (found.table[c].to_numpy() for c in ("start_soc", "waking_soc"))
    assert (found.drives["gained_soc"] <= 1e-9).all()
    assert (start[1:] <= waking[:-1] + 1e-9).all()
    charged = trip(van(stop("07-10"), stop("07-11"), stop("07-12", nights=1)))
    assert (charged.drives["gained_soc"] > 0.05).all()
    assert charged.drives["driving_h"].tolist() == [6.0, 6.0]


def test_the_clock_of_another_zone(desert: Weather, monkeypatch: pytest.MonkeyPatch) -> None:
    """The same sky on a clock one hour ahead: the drive is an hour shorter by what is left of it, none is lost.

    The place stays and the clock jumps: everything that the plan does comes an hour earlier under the same sun, so the
    arrival is at 13:00 by the new clock, and an hour is missing from that day.
    """
    site = replace(desert.site, utc_offset=desert.site.utc_offset + 1.0)
    rolled = {str(c): np.roll(desert.array(str(c)), 1) for c in desert.data.columns}
    ahead = replace(desert, site=site, data=pd.DataFrame(rolled, index=hour_index(site)))
    scenario = van(stop("07-10"), stop("07-12", nights=1))
    runs = study._laid(scenario, study.legs_of(scenario), [desert, ahead])
    assert runs[0].forcing.plan.end_s[-1] == (2 * 24 + 12) * 3600.0
    assert runs[1].forcing.plan.start_s[0] == (2 * 24 + 13) * 3600.0
    assert runs[1].forcing.plan.outdoor_c[0] == pytest.approx(desert.array("temp_air")[(181 + 11) * 24 + 12], abs=1e-9)
    with_years(monkeypatch, desert, ahead)
    found = trip(scenario)
    assert [moment.utcoffset() / pd.Timedelta("1h") for moment in found.table["account_start"]] == [-7.0, -7.0, -6.0]


def test_across_new_year_in_the_south(desert: Weather) -> None:
    found = trip(van(stop("12-30"), stop("01-01", "coast.epw", nights=2, name="Second")))
    assert [f"{day:%m-%d}" for day in found.table["evening"]] == ["12-30", "12-31", "01-01", "01-02"]
    assert found.table["place"].tolist() == ["Invented Desert"] * 2 + ["Second"] * 2


def test_what_is_said(desert: Weather) -> None:
    """The sentence against the table, in words; the first lost night with its reason."""
    good = trip(van(stop("07-10"), stop("07-12", nights=1)))
    poor = trip(van(stop("07-10"), stop("07-12", nights=1), solar=None, alternator=None), start_soc=0.5)
    assert poor.covered < poor.count
    lost = poor.first_lost
    assert lost is not None
    assert f"{poor.covered} of 3 nights are covered" in headline(poor)
    assert f"{lost['evening'].day} July in Invented Desert, " in headline(poor)
    assert (good.first_lost is None) == headline(good).startswith("Every night is covered")
    for system in ("si", "us"):
        lines = trip_lines(good, system)
        assert any("12 Jul, to Invented Desert" in line for line in lines)
        assert plots.trip(good, system=system).finding.endswith(".")


@pytest.mark.parametrize(
    ("stops", "said"),
    [
        ([{"date": "07-10"}, {"date": "07-10"}], "is the date before again"),
        ([{"date": "07-10"}, {"date": "07-09"}, {"date": "07-11"}], "in order, within one year"),
        ([{"date": "07-10", "stay": "beach"}], "no day is called 'beach'; there are travel, rest"),
        ([{"date": "07-10"}, {"date": "07-12", "arrive": "rest"}], "no day of the plan drives there"),
        ([{"date": "07-10", "nights": 2}, {"date": "07-13"}], "only the last place says it"),
        ([{"date": "02-29"}], "29 February"),
        ([{"date": "07-10", "wether": "x"}], "weather"),
    ],
)
def test_faults_of_the_table(stops: list[dict[str, Any]], said: str, tmp_path: Path) -> None:
    text = (SCENARIOS / "driving-week.toml").read_text().partition("\n# For `vansim trip`")[0]
    tables = "".join(
        "\n[[trip]]\n"
        + "".join(
            f"{k} = {v if isinstance(v, int) else repr(v)}\n" for k, v in {"weather": "desert.epw", **one}.items()
        )
        for one in stops
    )
    (tmp_path / "trip.toml").write_text(text + tables)
    with pytest.raises(ScenarioError, match=said):
        load_scenario(tmp_path / "trip.toml")


def test_check_looks_for_the_files_of_stops(tmp_path: Path) -> None:
    text = (SCENARIOS / "driving-week.toml").read_text().replace("../data_demo/climates/coast.epw", "nowhere.epw")
    (tmp_path / "trip.toml").write_text(text.replace("../data_demo/climates/", ""))
    done = call("check", tmp_path / "trip.toml")
    assert done.exit_code == 2
    assert "trip.0.weather: no such file (you wrote 'nowhere.epw')" in done.output


def test_a_damaged_file_is_said(tmp_path: Path) -> None:
    (tmp_path / "cut.epw").write_text("".join((DEMO / "desert.epw").read_text().splitlines(keepends=True)[:900]))
    with pytest.raises(WeatherError, match=r"cut\.epw: 892 hours"):
        trip(van(stop("07-10"), stop("07-11", str(tmp_path / "cut.epw"))))


def test_faults_of_files_and_of_none() -> None:
    with pytest.raises(ScenarioError, match=r"trip\.1\.weather: no such file"):
        trip(van(stop("07-10"), stop("07-11", "nowhere.epw")))
    with pytest.raises(ScenarioError, match="names no places"):
        trip(van())
