"""Pictures show what happened: every line, point, bar and label is read back and held against its named values."""

from __future__ import annotations

from typing import Any

import numpy as np
import pandas as pd
import pytest
from matplotlib.axes import Axes
from matplotlib.collections import PathCollection, PolyCollection
from matplotlib.colors import to_hex, to_rgba
from matplotlib.patches import Polygon, Rectangle, StepPatch

from tests.support.pictured import Pictured
from vansim import phrases
from vansim.runs.simulate import simulate
from vansim.scenario.files import default_scenario_path, load_scenario
from vansim.scenario.vary import vary
from vansim.show import plots
from vansim.show.plots import changes, season
from vansim.show.plots.bank_size import ordered_lines
from vansim.show.plots.figure import COLOURS, Sheet
from vansim.show.plots.night import mean_powers, on_spans, window_of
from vansim.studies.energy import energy
from vansim.studies.side_by_side import MODES, in_mode, mode_numbers
from vansim.units import convert

SYSTEMS = pytest.mark.parametrize("system", ["si", "us"])


@pytest.fixture(scope="session", params=["lasting", "emptied", "kennel"])
def every(request: pytest.FixtureRequest) -> Pictured:
    found: Pictured = request.getfixturevalue(request.param)
    return found


def line_of(ax: Axes, quantity: str, place: int = 0) -> Any:
    """A curve by the colour of its quantity."""
    return [line for line in ax.lines if line.get_color() == COLOURS[quantity] and len(line.get_xdata()) > 2][place]


def dots(ax: Axes, marker: str = "o") -> list[tuple[float, float]]:
    return [
        (float(line.get_xdata()[0]), float(line.get_ydata()[0]))
        for line in ax.lines
        if line.get_marker() == marker and len(line.get_xdata()) == 1
    ]


def bars(ax: Axes) -> list[Rectangle]:
    """Bars from the top down."""
    found = [patch for patch in ax.patches if isinstance(patch, Rectangle)]
    return sorted(found, key=lambda bar: bar.get_y())


def said(sheet: Sheet) -> str:
    texts = [text.get_text() for ax in sheet.axes for text in ax.texts]
    return (
        " ".join([sheet.finding, *(text.get_text() for text in sheet.texts), *texts])
        .replace("\n", " ")
        .replace("\xa0", " ")
    )


# --- a night ----------------------------------------------------------------------------------------------------------


@SYSTEMS
def test_a_nights_curves_are_the_run(every: Pictured, system: str) -> None:
    result = every.result
    warmth, _, _, charge = plots.night(result, 0, system).axes
    for ax, quantity, column in (
        (warmth, "cabin", "cabin_c"),
        (warmth, "outdoor", "outdoor_c"),
        (charge, "soc", "soc"),
    ):
        line = line_of(ax, quantity)
        true = result.follow(np.asarray(line.get_xdata()) * 3600.0)[column].to_numpy()
        shown = 100.0 * true if column == "soc" else convert(true, column, system)
        np.testing.assert_allclose(line.get_ydata(), shown, atol=1e-9)


def test_a_night_marks_what_is_left_or_when_the_bank_is_empty(every: Pictured) -> None:
    one = every.result.night(0)
    sheet = plots.night(every.result)
    [(hour, soc)] = dots(sheet.axes[3])
    if pd.isna(one.row["empty_at"]):
        assert hour == one.times.wake_min / 60.0
        assert soc == pytest.approx(100.0 * one.row["waking_soc"], abs=1e-6)
        assert phrases.percent(one.row["waking_soc"]) in sheet.finding
    else:
        moment = every.result.moment(hour * 60.0)
        assert abs(moment - one.row["empty_at"]) < pd.Timedelta(seconds=1e-3)
        assert soc == pytest.approx(100.0 * every.scenario.bank.reserve_soc, abs=0.1)
        at = one.row["empty_at"].round("min").strftime("%H:%M")
        assert f"reserve at {at}" in said(sheet)
        assert at in sheet.finding
        before = one.bedtime - one.row["empty_at"]
        assert phrases.duration(before / pd.Timedelta(hours=1)) in sheet.finding.replace("\xa0", " ")


def test_a_nights_powers_are_the_intervals(every: Pictured) -> None:
    window = window_of(every.result, 0)
    table, edges = mean_powers(every.result, window)
    steps = [p for p in plots.night(every.result).axes[2].patches if isinstance(p, StepPatch)]
    by_colour = {to_hex(p.get_facecolor() if p.get_fill() else p.get_edgecolor()): p for p in steps}
    tops = {
        "loads": table["loads_w"], "cooler": table["loads_w"] + table["cooler_w"], "solar": table["solar_w"],
        "alternator": table["alternator_w"], "shore": table["shore_w"],
    }  # fmt: skip
    for name, watts in tops.items():
        if to_hex(COLOURS[name]) not in by_colour:
            assert watts.max() <= 1.0
            continue
        data = by_colour[to_hex(COLOURS[name])].get_data()
        np.testing.assert_allclose(data.values, watts)
        np.testing.assert_allclose(data.edges, edges)
    hours = np.diff(edges)
    asleep = (edges[:-1] >= window.bed_h - 1e-9) & (edges[1:] <= window.wake_h + 1e-9)
    row = every.result.night(0).row
    assert float((table["cooler_w"].to_numpy() * hours)[asleep].sum()) == pytest.approx(row["cooler_wh"], abs=1e-6)


def test_compressor_bars_add_up_to_the_duty(every: Pictured) -> None:
    one = every.result.night(0)
    bed, wake = one.times.bed_min / 60.0, one.times.wake_min / 60.0
    on_h = sum(length for _, length in on_spans(every.result, bed, wake))
    assert on_h / (wake - bed) == pytest.approx(one.row["duty"], abs=1e-6)
    assert f"{phrases.percent(one.row['duty'])} of the {every.noun}" in said(plots.night(every.result))


@pytest.mark.parametrize("bedtime", ["20:00", "23:59", "00:00", "00:30", "06:00", "09:00"])
def test_bedtime_and_waking_stand_where_the_night_has_them(bedtime: str) -> None:
    waking = f"{(int(bedtime[:2]) + 8) % 24:02d}:00"
    desert = load_scenario(default_scenario_path())
    result = simulate(vary(desert, {"night.bedtime": bedtime, "night.waking": waking}))
    one, sheet = result.night(0), plots.night(result)
    upright = [line.get_xdata()[0] for line in sheet.axes[0].lines if len(set(line.get_xdata())) == 1]
    assert upright == [one.times.bed_min / 60.0, one.times.wake_min / 60.0]
    assert f"bedtime {bedtime}" in said(sheet)
    assert f"waking {waking}" in said(sheet)
    assert phrases.date(result.nights.index[0]) in said(sheet)
    first, last = sheet.axes[0].get_xlim()
    assert first <= one.times.account_min / 60.0
    assert last >= one.times.wake_min / 60.0


def test_two_designs_stand_on_one_scale(lasting: Pictured) -> None:
    sheet = plots.two_designs(lasting.result, lasting.other, ("as it is", "four batteries"))
    above_a, below_a, above_b, below_b = sheet.axes
    assert above_a.get_ylim() == above_b.get_ylim()
    assert above_a.get_xlim() == below_b.get_xlim()
    for ax, result in ((below_a, lasting.result), (below_b, lasting.other)):
        line = line_of(ax, "soc")
        true = result.follow(np.asarray(line.get_xdata()) * 3600.0)["soc"].to_numpy()
        np.testing.assert_allclose(line.get_ydata(), 100.0 * true, atol=1e-9)
    behind = next(line for line in below_b.lines if line.get_color() == "#b9c4c2")
    np.testing.assert_allclose(behind.get_ydata(), line_of(below_a, "soc").get_ydata())
    emptied = lasting.other.night(0).row["empty_at"].round("min")
    left = phrases.percent(lasting.result.night(0).row["waking_soc"])
    assert sheet.finding.startswith(f"Four batteries: empty at {emptied:%H:%M}; as it is: {left} left")


def test_modes_show_the_night_that_is_asked_for() -> None:
    scenario = vary(load_scenario(default_scenario_path()), {"run.days": 2, "bank.parallel": 12})
    eco, boost = (simulate(in_mode(scenario, mode)) for mode in MODES)
    sheet = plots.eco_against_boost(eco, boost, which=1)
    numbers = [mode_numbers(result, 1) for result in (eco, boost)]
    assert [bar.get_width() for bar in bars(sheet.axes[1])] == [n.cooler_wh for n in numbers]
    assert phrases.date(eco.night(1).date) in sheet.words
    assert phrases.date(eco.night(0).date) not in sheet.words


def test_modes_show_the_account(every: Pictured) -> None:
    sheet = plots.eco_against_boost(every.eco, every.boost)
    numbers = [mode_numbers(result) for result in (every.eco, every.boost)]
    curve, cooler, starts, left = sheet.axes
    assert [bar.get_width() for bar in bars(cooler)] == [n.cooler_wh for n in numbers]
    assert [bar.get_width() for bar in bars(starts)] == [n.starts for n in numbers]
    assert [bar.get_width() for bar in bars(left)] == [100.0 * n.waking_soc for n in numbers]
    for n, result in zip(numbers, (every.eco, every.boost), strict=True):
        row = result.night(0).row
        account = row["evening_wh"] + row["cooler_wh"] + row["loads_wh"]
        loads = result.intervals.iloc[result.night(0).evening.start : result.night(0).asleep.stop]
        loads_wh = float((loads["loads_w"] * loads["span_s"]).sum() / 3600.0)
        assert n.cooler_wh + loads_wh == pytest.approx(account, abs=1e-6)
        assert n.waking_soc == row["waking_soc"]
    limit = every.scenario.night.limit_c
    # a cabin that no start finds above its limit, or that stays above, has no cool-down to show
    came = [n for n in numbers if np.isfinite(n.cool_down_min)]
    assert came
    for (minute, cabin), n in zip(dots(curve), came, strict=True):
        assert minute == n.cool_down_min
        assert cabin == pytest.approx(limit, abs=0.3)
    emptied = [result.night(0).row["empty_at"] for result in (every.eco, every.boost)]
    if all(pd.isna(moment) for moment in emptied):
        share = 1.0 - numbers[0].cooler_wh / numbers[1].cooler_wh
        assert f"Eco uses {phrases.percent(abs(share))} {'less' if share > 0 else 'more'}" in sheet.finding
    else:  # a cooler that stands still for want of charge has saved nothing
        ends = [
            f"{phrases.percent(n.waking_soc)} left" if pd.isna(moment) else f"empty at {moment.round('min'):%H:%M}"
            for n, moment in zip(numbers, emptied, strict=True)
        ]
        assert sheet.finding.startswith(f"Eco: {ends[0]}")
        assert f"; boost: {ends[1]}" in sheet.finding
        assert "uses" not in sheet.finding


# --- a season ---------------------------------------------------------------------------------------------------------


@pytest.mark.parametrize("reading", ["independent", "consecutive", None])
def test_a_calendar_has_a_square_for_every_night(every: Pictured, reading: Any) -> None:
    read = season.reading_of(every.nights, reading)
    if reading is None:
        assert read.kind == every.nights.judged
    sheet = plots.calendar(every.nights, reading=reading)
    squares = [p for p in sheet.axes[0].patches if isinstance(p, Rectangle)]
    assert len(squares) == read.count
    for square, text, (date, row) in zip(squares, sheet.axes[0].texts, read.table.iterrows(), strict=True):
        assert int(square.get_x()) == date.day - 1  # type: ignore[attr-defined]
        assert text.get_text() == f"{100.0 * row['waking_soc']:.0f}"
        assert square.get_facecolor() == to_rgba(season.face_of(row))
        assert (to_hex(square.get_facecolor()) == COLOURS["not_covered"]) == (row["why"] in ("battery", "both"))
    other = every.nights.consecutive if read.kind == "independent" else every.nights.independent
    differs = int((read.table["covered"].to_numpy() != other.table["covered"].to_numpy()).sum())
    corners = [p for p in sheet.axes[0].patches if isinstance(p, Polygon) and not isinstance(p, Rectangle)]
    assert len(corners) == (differs if every.nights.design.recharges_by_plan else 0)
    assert phrases.covered(read.covered, read.count, every.noun) in sheet.finding.replace("All", "all").replace(
        "None", "none"
    )
    assert f"{other.covered} of {other.count}" in said(sheet)


@SYSTEMS
@pytest.mark.parametrize("reading", ["independent", "consecutive"])
def test_every_night_is_a_point_of_its_kind(every: Pictured, reading: Any, system: str) -> None:
    table = season.reading_of(every.nights, reading).table
    length_h = every.scenario.night.length_h
    sheet = plots.runtime_against_outdoors(every.nights, system, reading=reading)
    drawn = np.concatenate(
        [np.asarray(c.get_offsets()) for c in sheet.axes[0].collections if isinstance(c, PathCollection)]
    )
    true = np.column_stack([convert(table["outdoor_mean_c"].to_numpy(), "outdoor_c", system), table["runtime_h"]])
    np.testing.assert_allclose(drawn[np.lexsort(drawn.T)], true[np.lexsort(true.T)])
    kinds = {name: int(where.sum()) for name, _, _, where in season.kinds_of(table, length_h)}
    assert sum(kinds.values()) == len(table)
    beyond = table["covered"] & (table["runtime_h"] > length_h)
    assert kinds.get("run on into the next day", 0) + kinds.get("into the night after", 0) == int(beyond.sum())
    assert kinds.get("empty before the start", 0) == int((~table["covered"] & (table["runtime_h"] <= 0.0)).sum())
    for name, number in kinds.items():
        assert f"{number} {name}" in said(sheet)
    level = [line.get_ydata()[0] for line in sheet.axes[0].lines if len(set(line.get_ydata())) == 1]
    assert level[0] == length_h
    assert (24.0 in level) == (max(table["runtime_h"].max() * 1.1, 1.3 * length_h) * 0.97 > 24.0)


def test_points_that_leap_stand_beyond_a_marked_line(coast_nights: Any) -> None:
    """Nights that run on into the night after leap, as that night is cooler than the day before it."""
    table = coast_nights.table
    kinds = {name: where for name, _, _, where in season.kinds_of(table, coast_nights.design.scenario.night.length_h)}
    assert kinds["into the night after"].any()
    ax = plots.runtime_against_outdoors(coast_nights).axes[0]
    assert 24.0 in [line.get_ydata()[0] for line in ax.lines]
    assert "next bedtime, 24\u00a0h" in [text.get_text() for text in ax.texts]


@pytest.fixture(scope="session")
def coast_nights() -> Any:
    from vansim.studies.nights import nights

    return nights(load_scenario(default_scenario_path().parent / "coast-family.toml"), season="09-20..09-30")


# --- banks and changes ------------------------------------------------------------------------------------------------


@pytest.mark.parametrize("which", ["sizing", "several"])
def test_sizes_and_the_recommended_bank_are_those_of_the_table(every: Pictured, which: str) -> None:
    sizing = getattr(every, which)
    sheet = plots.bank_size(sizing, noun=every.noun)
    ax = sheet.axes[0]
    curves = [line for line in ax.lines if line.get_marker() == "o" and line.get_linestyle() != "None"]
    for line, points in zip(curves, ordered_lines(sizing), strict=True):
        np.testing.assert_allclose(line.get_xdata(), points["usable_kwh"])
        np.testing.assert_allclose(line.get_ydata(), 100.0 * points["covered_share"])
    diamonds = [line for line in ax.lines if line.get_marker() == "D" and len(line.get_xdata())]
    assert len(diamonds) == len(sizing.table)
    if len(sizing.table):
        best = sizing.table.iloc[0]
        assert diamonds[0].get_color() == COLOURS["covered"]
        assert diamonds[0].get_xdata()[0] == pytest.approx(best["usable_kwh"])
        assert diamonds[0].get_ydata()[0] == pytest.approx(100.0 * best["covered_share"])
        assert sheet.finding.startswith(
            f"{phrases.count(int(best['units']), 'battery')} ({phrases.energy(1000.0 * best['usable_kwh'])} usable)"
        )
        for kind in ("independent", "consecutive"):
            assert f"{kind} {phrases.plural(every.noun)} {phrases.percent(best[f'{kind}_share'])}" in said(sheet)
    else:
        assert sheet.finding.startswith("No bank")


def test_designs_are_bars_of_their_table(every: Pictured) -> None:
    table = every.comparison.table
    sheet = plots.designs(every.comparison)
    covered, left = sheet.axes
    np.testing.assert_allclose([bar.get_width() for bar in bars(covered)], 100.0 * table["covered_share"])
    np.testing.assert_allclose([bar.get_width() for bar in bars(left)], 100.0 * table["waking_soc"])
    pale = [to_hex(bar.get_facecolor()) == "#ffffff" for bar in bars(covered)]
    assert pale == (table["covered_share"] < table["covered_share"].iloc[0]).tolist()
    other = np.where(table["judged"] == "consecutive", table["independent_share"], table["consecutive_share"])
    rings = np.asarray(covered.lines[-1].get_xdata(), dtype=float)
    differs = other != table["covered_share"].to_numpy()
    np.testing.assert_allclose(rings[differs], 100.0 * other[differs])
    assert np.isnan(rings[~differs]).all()


def test_upgrades_keep_the_order_of_their_table(every: Pictured) -> None:
    found = every.upgrades
    sheet = plots.upgrades(found)
    table, pair = changes.telling(found.table), changes.best_pair(found)
    assert [code for code in found.table.index if code in set(table.index)] == list(table.index)
    expected = table["gained_kwh"].tolist() + ([] if pair is None else [pair["gained_kwh"]])
    drawn, charge = bars(sheet.axes[0]), any(abs(kwh) >= changes.LEAST_KWH for kwh in expected)
    if charge:
        np.testing.assert_allclose([bar.get_width() for bar in drawn], expected)
    pale = [to_hex(bar.get_facecolor()) == "#ffffff" for bar in drawn]
    assert pale == table["loses_nights"].astype(bool).tolist() + ([] if pair is None else [False])
    nights = table["gained_nights"].tolist() + ([] if pair is None else [pair["gained_nights"]])
    if any(nights):
        np.testing.assert_allclose([bar.get_width() for bar in bars(sheet.axes[-1])], np.array(nights, dtype=float))
    if found.best is not None:
        change = found.changes[str(found.best.name)]
        assert phrases.change(change.code, change.values) in sheet.finding
        assert not found.best["loses_nights"]


def test_energy_shares_add_up_and_savings_stand_beside(lasting: Pictured, emptied: Pictured) -> None:
    for found in (lasting.energy, emptied.energy):
        used, gains = plots.energy(found).axes
        told = changes.telling_causes(found.table)
        assert sum(bar.get_width() for bar in bars(used)) == pytest.approx(found.meter_wh, abs=1.0)
        np.testing.assert_allclose([bar.get_width() for bar in bars(used)], told["electric_wh"].astype(float))
        if found.empty_at is None:
            np.testing.assert_allclose(
                [bar.get_width() for bar in bars(gains)], told["saved_wh"].astype(float).fillna(0.0)
            )
        else:
            np.testing.assert_allclose([bar.get_width() for bar in bars(gains)], changes.longer_h(told, found))
    assert "lasts longer" in said(plots.energy(emptied.energy))


def test_energy_of_another_night_is_dated(lasting: Pictured) -> None:
    two = simulate(vary(lasting.scenario, {"run.days": 2}))
    assert "16 July, night 2 of 2" in said(plots.energy(energy(two, 1)))


@SYSTEMS
def test_recharging_is_drawn_to_its_goal(every: Pictured, system: str) -> None:
    found = every.recharge
    sheet = plots.recharge(found, system)
    ax = sheet.axes[0]
    for way in found.hours:
        line = line_of(ax, way)
        curve = found.table[way].dropna()
        np.testing.assert_allclose(line.get_xdata(), curve.index)
        np.testing.assert_allclose(line.get_ydata(), 100.0 * curve)
        assert f"{phrases.way(way, system=system)}: " in said(sheet)
    reached = {hours for hours in found.hours.values() if hours is not None}
    assert {x for x, _ in dots(ax)} == reached
    for hours in reached:
        assert phrases.duration(hours) in sheet.finding


@SYSTEMS
@pytest.mark.parametrize("which", ["empty", "sun"])
def test_an_outage_is_its_courses(every: Pictured, which: str, system: str) -> None:
    found = getattr(every, which)
    sheet = plots.outage(found, system)
    ax = sheet.axes[0]
    for place, course in enumerate(found.courses):
        series = course.series[course.series.index <= 360.0]
        line = line_of(ax, "cabin", place)
        np.testing.assert_allclose(line.get_xdata(), series.index / 60.0)
        np.testing.assert_allclose(line.get_ydata(), convert(series["cabin_c"].to_numpy(), "cabin_c", system))
    first = found.courses[0]
    series = first.series[first.series.index <= 360.0]
    index = np.asarray(line_of(ax, "heat_index").get_ydata())
    np.testing.assert_allclose(index, convert(series["heat_index_c"].to_numpy(), "heat_index_c", system))
    assert ("off the scale" in said(sheet)) == bool(series["off_scale"].ne("").any())
    for hour, value in dots(ax):
        minutes = first.lines["minutes"][["danger", "extreme_danger", "dogs_survival"]]
        assert round(60.0 * hour) in {round(m) for m in minutes if np.isfinite(m)}
        both = [
            convert(float(series[name].loc[round(60.0 * hour)]), name, system) for name in ("cabin_c", "heat_index_c")
        ]
        assert min(abs(value - shown) for shown in both) < 1e-9
    passed = float(first.lines["minutes"]["dogs_in_transport"])
    assert passed == 0.0 or passed > 360.0 or phrases.duration(passed / 60.0) in sheet.finding.replace("\xa0", " ")
    assert ("without covers" in sheet.finding) == (len(found.courses) > 1 and 0.0 < passed <= 360.0)


def test_the_known_bias_stands_above_the_cabin_for_half_an_hour(lasting: Pictured) -> None:
    found = lasting.sun
    ax = plots.outage(found).axes[0]
    [band] = [c for c in ax.collections if isinstance(c, PolyCollection)]
    corners = band.get_paths()[0].vertices
    assert corners[:, 0].max() == 0.5
    cabin = found.courses[0].series["cabin_c"]
    for minute, bias_k, spread_k in zip(found.bias.minutes, found.bias.bias_k, found.bias.spread_k, strict=True):
        if minute <= 30:
            top = corners[np.isclose(corners[:, 0], minute / 60.0), 1].max()
            assert top - cabin.loc[float(minute)] == pytest.approx(spread_k - bias_k, abs=1e-9)
    assert "as one day in six of a measured car" in said(plots.outage(found))
