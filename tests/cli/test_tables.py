"""Every printed table, read back, is the library's table: in both systems of units."""

from __future__ import annotations

import math
from typing import Any

import pandas as pd
import pytest

from tests.support.screens import DESERT, QUESTIONS, SEASON, SHADE, agrees, data, number, said, table
from vansim import phrases
from vansim.cli.designs import parse_designs
from vansim.climate import describe, read_weather
from vansim.errors import ScenarioError
from vansim.runs.simulate import simulate, with_window
from vansim.scenario.files import load_scenario
from vansim.scenario.schema import Scenario
from vansim.scenario.vary import vary
from vansim.studies.compare import Comparison, compare
from vansim.studies.energy import energy
from vansim.studies.nights import Nights, nights
from vansim.studies.outage import FOLLOWED_H, outage
from vansim.studies.recharge import recharge
from vansim.studies.side_by_side import mode_numbers, pair_of
from vansim.studies.sizing import Sizing, size
from vansim.studies.upgrades import Upgrades, upgrades

SYSTEMS = pytest.mark.parametrize("system", ["si", "us"])


@pytest.fixture(scope="module")
def desert() -> Scenario:
    return load_scenario(DESERT)


@pytest.fixture(scope="module")
def season(desert: Scenario) -> Nights:
    return nights(desert, season=SEASON)


@pytest.fixture(scope="module")
def sizing(desert: Scenario) -> Sizing:
    return size(desert, season=SEASON, batteries=["lfp-12v-200ah", "agm-12v-200ah"])


@pytest.fixture(scope="module")
def designs(desert: Scenario) -> Comparison:
    words = QUESTIONS["compare"]
    texts = [words[i + 1] for i, word in enumerate(words) if word == "--vary"]
    return compare(desert, variants=parse_designs(texts), season=SEASON)


@pytest.fixture(scope="module")
def ranking(desert: Scenario) -> Upgrades:
    return upgrades(desert, season=SEASON)


def holds(rows: list[list[str]], columns: dict[int, list[Any]]) -> None:
    """Each of some columns of a table says the values that it should, in order."""
    assert rows
    for place, values in columns.items():
        assert len(rows) == len(values)
        for row, value in zip(rows, values, strict=True):
            assert agrees(row[place], value), (row, place, value)


def day(moment: Any) -> str:
    return phrases.short_date(pd.Timestamp(str(moment))).strip()


# --- a run ------------------------------------------------------------------------------------------------------------


@SYSTEMS
def test_energy_of_evening_and_night_adds_up_as_printed(desert: Scenario, system: str) -> None:
    result = simulate(desert)
    rows, night = table(said("run", system), "energy"), result.nights.iloc[0]
    wh = [[number(cell)[0] for cell in row[1:]] for row in rows]
    for column in range(3):
        assert sum(row[column] for row in wh[:-1]) == wh[-1][column]
    assert all(row[0] + row[1] == row[2] for row in wh)
    assert wh[-1][0] == pytest.approx(night["evening_wh"], abs=1.0)
    assert wh[-1][1] == pytest.approx(night["cooler_wh"] + night["loads_wh"], abs=1.0)
    assert dict(zip([row[0] for row in rows], wh, strict=True))["cooler"][1] == pytest.approx(
        night["cooler_wh"], abs=1.0
    )


@SYSTEMS
def test_duty_hour_by_hour(desert: Scenario, system: str) -> None:
    result = simulate(desert)
    (row,) = table(said("run", system), "hour")
    hourly = result.hourly.loc["2001-07-15 22:00":"2001-07-16 06:59", "duty"]
    holds([[cell] for cell in row[1:]], {0: hourly.tolist()})


@SYSTEMS
def test_nights_of_a_run(desert: Scenario, system: str) -> None:
    table_ = simulate(with_window(desert, days=3)).nights
    rows = table(said("run of three days", system), "night ")
    assert [row[0] for row in rows] == [day(date) for date in table_.index]
    holds(rows, {
        1: table_["outdoor_low_c"].tolist(), 2: table_["bedtime_soc"].tolist(), 3: table_["waking_soc"].tolist(),
        4: table_["runtime_h"].tolist(), 5: table_["cabin_max_c"].tolist(),
        6: (table_["evening_wh"] + table_["cooler_wh"] + table_["loads_wh"]).tolist(),
    })  # fmt: skip
    assert [row[7] for row in rows] == [why or "yes" for why in table_["why"]]


@pytest.mark.slow
@SYSTEMS
def test_a_year_by_month(desert: Scenario, system: str) -> None:
    from tests.support.screens import call

    done = call("run", "--year", "--units", system)
    from vansim.runs.simulate import over_year

    found = simulate(over_year(desert)).nights
    by_month = found.groupby(pd.DatetimeIndex(found.index).month)
    rows = table(done.stdout, "month")
    holds(rows, {
        1: by_month.size().tolist(), 2: by_month["covered"].sum().tolist(), 3: by_month["waking_soc"].min().tolist(),
        4: by_month["duty"].mean().tolist(), 5: by_month["evening_wh"].mean().tolist(),
        6: (by_month["cooler_wh"].mean() + by_month["loads_wh"].mean()).tolist(),
    })  # fmt: skip


# --- a season ---------------------------------------------------------------------------------------------------------


@SYSTEMS
def test_both_readings_side_by_side(season: Nights, system: str) -> None:
    rows = {row[0]: row[1:] for row in table(said("nights", system), "independent")}
    for place, reading in enumerate((season.independent, season.consecutive)):
        assert rows["covered"][place] == f"{reading.covered} of {reading.count}"
        assert agrees(rows["share"][place], reading.share)
        assert agrees(rows["charge where the first account begins"][place], reading.start_soc)
        assert agrees(rows["charge at bedtime, median"][place], reading.table["bedtime_soc"].median())
        assert agrees(rows["charge at waking, least"][place], reading.table["waking_soc"].min())
        assert agrees(rows["runtime, median"][place], reading.runtime_h(0.5))
        assert agrees(rows["runtime, 1 in 10 is shorter (P10)"][place], reading.runtime_h(0.1))
        for code, count in reading.reasons().items():
            assert int(rows.get(phrases.short_reason(code), ["0", "0"])[place]) == count


@SYSTEMS
def test_months_of_the_headline(season: Nights, system: str) -> None:
    months = season.headline.by_month
    holds(table(said("nights", system), "month"), {
        1: months["nights"].tolist(), 2: months["covered_share"].tolist(), 3: months["runtime_p10_h"].tolist(),
        4: months["runtime_p50_h"].tolist(), 5: months["duty"].tolist(), 6: months["evening_wh"].tolist(),
        7: months["cooler_wh"].tolist(),
    })  # fmt: skip


@SYSTEMS
def test_what_charging_is_missing(season: Nights, system: str) -> None:
    rows = table(said("nights", system), "any one of these")
    assert len(rows) == len(season.missing) > 1
    for row, one in zip(rows, season.missing, strict=True):
        least = "not enough" if one.amount is None else phrases.amount(one.way, one.amount)
        assert row[1:3] == [least, phrases.amount(one.way, one.most)]
        assert agrees(row[3], one.share)


@SYSTEMS
def test_sizes(sizing: Sizing, system: str) -> None:
    rows, found = table(said("size", system), "bank of"), sizing.table
    assert [row[0] for row in rows] == found["battery"].tolist()
    priced = found["price"].notna().any()
    columns = {
        1: found["units"].tolist(), 2: (1000.0 * found["usable_kwh"]).tolist(), 3: found["mass_kg"].tolist(),
        4 + priced: found["independent_share"].tolist(), 5 + priced: found["consecutive_share"].tolist(),
    }  # fmt: skip
    holds(rows, columns | ({4: found["price"].tolist()} if priced else {}))
    assert [row[6 + priced] for row in rows] == [day(night) for night in found["design_night"]]


@SYSTEMS
def test_designs(designs: Comparison, system: str) -> None:
    screen, found = said("compare", system), designs.table
    assert [row[0] for row in table(screen, "nights covered")] == found.index.tolist()
    holds(table(screen, "nights covered"), {
        1: found["independent_share"].tolist(), 2: found["consecutive_share"].tolist(),
        3: found["runtime_p10_h"].tolist(), 4: found["gained_p10_h"].tolist(), 5: found["waking_soc"].tolist(),
    })  # fmt: skip
    holds(table(screen, "energy of a mean night"), {
        1: found["evening_wh"].tolist(), 2: found["cooler_wh"].tolist(), 3: found["loads_wh"].tolist(),
        4: found["duty"].tolist(), 5: found["starts_per_h"].tolist(),
    })  # fmt: skip
    holds(table(screen, "cabin"), {
        1: found["over_limit_h"].tolist(), 2: found["cabin_max_c"].tolist(),
        3: (found["cool_down_min"] / 60.0).tolist(),
    })  # fmt: skip
    holds(table(screen, "back to 98% by"), {
        1: found["recharge_road_h"].tolist(), 2: found["recharge_idling_h"].tolist(),
        3: found["recharge_solar_h"].tolist(),
    })  # fmt: skip
    holds(table(screen, "bank and parts"), {
        1: (1000.0 * found["usable_kwh"]).tolist(), 2: found["added_mass_kg"].tolist(),
    })  # fmt: skip


@SYSTEMS
def test_a_ranking(ranking: Upgrades, system: str) -> None:
    rows, found = table(said("upgrades", system), "change"), ranking.table
    names = [phrases.change(code, ranking.changes[code].values, system) for code in found.index]
    assert [row[0] for row in rows] == names
    holds(rows, {2: found["waking_soc"].tolist(), 3: (1000.0 * found["gained_kwh"]).tolist()})
    for row, (_, values) in zip(rows, found.iterrows(), strict=True):
        covered, gained = row[1].rstrip(")").split(" (")
        assert int(covered) == values["covered"]
        assert int(gained.replace("−", "-")) == values["gained_nights"]
        if values["loses_nights"]:
            assert row[4] == "loses"
        elif math.isinf(values["same_by_batteries"]):
            assert row[4] == "> 16"
        elif values["same_by_batteries"] < 0.05:
            assert row[4] == "–"
        else:
            assert agrees(row[4], values["same_by_batteries"])
    assert found["loses_nights"].any()


# --- after a night, and instead of it ---------------------------------------------------------------------------------


@SYSTEMS
def test_where_the_energy_went(desert: Scenario, system: str) -> None:
    found = energy(simulate(desert))
    rows = table(said("energy", system), "cause")
    by_name = {phrases.cause(str(code)): row for code, row in found.table.iterrows()}
    for name, heat, used, share, saved, left in rows[:-1]:
        row = by_name.pop(name)
        assert abs(number(used)[0] - row["electric_wh"]) <= 1.0
        assert abs(number(share)[0] - row["share"]) <= 0.01
        assert agrees(heat, row["heat_wh"])
        assert agrees(saved, row["saved_wh"])
        assert agrees(left, row["waking_soc_without"])
    assert all(abs(row[["heat_wh", "electric_wh", "saved_wh"]]).max() < 0.5 for row in by_name.values())
    assert sum(number(row[2])[0] for row in rows[:-1]) == number(rows[-1][2])[0] == round(found.meter_wh)
    assert sum(number(row[3])[0] for row in rows[:-1]) == pytest.approx(1.0)
    assert rows[-1][3] == "100%"


@SYSTEMS
def test_recharging(desert: Scenario, system: str) -> None:
    found = recharge(simulate(desert))
    screen = said("recharge", system)
    for (name, after), (way, hours) in zip(table(screen, "way"), found.hours.items(), strict=True):
        assert name == phrases.way(way, 90.0, system)
        assert after == (phrases.recharge_outcome(found.outcome[way]) if hours is None else phrases.duration(hours))
    rows = table(screen, "hours from then")
    shown = [0, 1, 2, 3, 4, 6, 8, 12, 24, 36, 48]
    for row, way in zip(rows, found.hours, strict=True):
        holds([[cell] for cell in row[1:]], {0: found.table.loc[shown, way].tolist()})


@SYSTEMS
@pytest.mark.parametrize("name", ["outage", "outage in the sun"])
def test_the_cabin_after_the_stop(desert: Scenario, name: str, system: str) -> None:
    found = outage(desert, when="sun" if "sun" in name else "bank_empty", season=SEASON)
    screen = said(name, system)
    rows = table(screen, "after ")
    for row in rows:
        minute = 60.0 * number(row[0])[0]
        for i, course in enumerate(found.courses):
            at = course.series.iloc[round(minute)]
            assert at.name == pytest.approx(minute)
            assert agrees(row[1 + 2 * i], at["cabin_c"])
            if at["off_scale"] == "index":
                assert row[2 + 2 * i] == ("above 58 °C" if system == "si" else "above 137 °F")
            elif at["off_scale"] == "air":
                assert row[2 + 2 * i] == ("air over 50 °C" if system == "si" else "air over 122 °F")
            else:
                assert agrees(row[2 + 2 * i], at["heat_index_c"])
    rows = table(screen, "threshold")
    assert [row[0] for row in rows] == [phrases.heat_line(str(code)) for code in found.courses[0].lines.index]
    for i, row in enumerate(rows):
        assert agrees(row[1], found.courses[0].lines["value_c"].iloc[i])
        for j, course in enumerate(found.courses):
            assert row[2 + j] == phrases.passed_after(course.lines["minutes"].iloc[i], FOLLOWED_H)
    assert len(found.courses) == (2 if "sun" in name else 1)


@SYSTEMS
def test_a_typical_year(system: str) -> None:
    found = describe(read_weather(QUESTIONS["weather"][1]))
    screen = said("weather", system)
    holds(table(screen, "reached in this share"), {
        1: found["design"]["temp_c"].tolist(), 2: found["design"]["coincident_dew_c"].tolist(),
    })  # fmt: skip
    months = found["months"]
    holds(table(screen, "month"), {
        1: months["mean_c"].tolist(), 2: months["min_c"].tolist(), 3: months["max_c"].tolist(),
    })  # fmt: skip
    for row, value in zip(table(screen, "month"), months["sun_kwh_m2_day"], strict=True):
        assert row[4] == phrases.daily_sun(value, system)
    for head, key in (("hottest nights", "hottest_nights"), ("most typical nights", "typical_nights")):
        nights_ = found[key]
        rows = table(screen, head)
        assert [row[0] for row in rows] == [phrases.date(pd.Timestamp(str(date))) for date in nights_.index]
        columns = {place: nights_[name].tolist() for place, name in ((1, "mean_c"), (2, "min_c"), (3, "dew_c"))}
        holds(rows, columns)


# --- one night twice --------------------------------------------------------------------------------------------------


@SYSTEMS
@pytest.mark.parametrize(("name", "which"), [("side by side", 0), ("side by side in modes", 1)])
def test_side_by_side_tells_the_two_runs(desert: Scenario, name: str, which: int, system: str) -> None:
    changes = parse_designs([SHADE[1]])["shade"] if which == 0 else None
    pair = pair_of(with_window(desert, days=which + 1), changes, "shade")
    results = {called: simulate(scenario) for called, scenario in pair.items()}
    rows = [result.nights.iloc[which] for result in results.values()]
    bank, cooler = (table(said(name, system), head) for head in ("bank", "cooler and cabin"))
    assert [row[0] for row in bank] == [row[0] for row in cooler] == list(results)
    holds(bank, {column: [row[key] for row in rows] for column, key in ((1, "bedtime_soc"), (2, "waking_soc"))})
    assert [row[5] for row in bank] == [row["why"] or "yes" for row in rows]
    accounts = [mode_numbers(result, which) for result in results.values()]
    holds(cooler, {
        1: [n.cooler_wh for n in accounts], 2: [n.starts for n in accounts],
        3: [n.cool_down_min / 60.0 for n in accounts],
        4: [row["cabin_max_c"] for row in rows], 5: [row["over_limit_h"] for row in rows],
    })  # fmt: skip


def test_eco_and_boost_need_a_cooler_that_runs(desert: Scenario) -> None:
    with pytest.raises(ScenarioError, match="switches no cooler on"):
        pair_of(vary(desert, {"day.*.*.cooling": "off"}))
    with pytest.raises(ScenarioError, match="choose another name"):
        pair_of(desert, {}, "as it is")


# --- and all of them --------------------------------------------------------------------------------------------------


@SYSTEMS
@pytest.mark.parametrize("name", QUESTIONS)
def test_every_line_fits_into_80_columns(name: str, system: str) -> None:
    assert not [line for line in said(name, system).splitlines() if len(line) > 80]


def test_json_holds_the_tables_of_the_screen(season: Nights, sizing: Sizing) -> None:
    found = data("nights")
    for kind, reading in (("independent", season.independent), ("consecutive", season.consecutive)):
        assert found[kind]["covered"] == reading.covered
        assert [row["waking_soc"] for row in found[kind]["table"]] == pytest.approx(
            reading.table["waking_soc"].tolist()
        )
    assert [row["units"] for row in data("size")["size"]] == sizing.table["units"].tolist()
