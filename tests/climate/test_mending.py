"""Hours that are missing or cannot be: mended where they are few, counted by column, refused with their rows beyond."""

from __future__ import annotations

import gzip
from itertools import pairwise
from pathlib import Path

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from tests.support.places import DEMO, SHIPPED
from vansim.climate import Weather, read_weather
from vansim.climate.mending import ALLOWED, MOST_MENDED, from_days_beside, gaps
from vansim.errors import WeatherError
from vansim.notes import Note

TEMP, DEW, RH, PRESSURE, LONGWAVE, GHI, DNI, DHI, WIND = 6, 7, 8, 9, 12, 13, 14, 15, 21
FIELD = {
    "temp_air": TEMP,
    "temp_dew": DEW,
    "pressure": PRESSURE,
    "ghi": GHI,
    "dni": DNI,
    "dhi": DHI,
    "wind_speed": WIND,
}
FIRST = 9
NOON = FIRST - 1 + 180 * 24 + 13
"""File row of the hour from 12 to 13 o'clock on 30 June."""


def edited(tmp_path: Path, change: dict[int, dict[int, str]], name: str = "desert.epw") -> Path:
    """An EPW with fields changed: {file row: {field: text}}."""
    lines = (DEMO / name).read_text().splitlines()
    for row, fields in change.items():
        parts = lines[row - 1].split(",")
        for field, text in fields.items():
            parts[field] = text
        lines[row - 1] = ",".join(parts)
    path = tmp_path / "edited.epw"
    path.write_text("\n".join(lines) + "\n")
    return path


def mended_of(weather: Weather) -> dict[str, Note]:
    return {str(note.values["column"]): note for note in weather.notes if note.code == "hours-mended"}


@pytest.mark.parametrize(
    ("column", "text"),
    [
        ("temp_air", "61.0"),
        ("temp_air", "-75"),
        ("ghi", "1900"),
        ("dni", "-120"),
        ("dhi", "1200"),
        ("pressure", "970"),
        ("wind_speed", "-1"),
        ("temp_dew", "41"),
    ],
)
def test_an_impossible_hour_is_mended_and_counted(column: str, text: str, tmp_path: Path, desert: Weather) -> None:
    found = read_weather(edited(tmp_path, {NOON: {FIELD[column]: text}}))
    note = mended_of(found)[column]
    assert (note.values["impossible"], note.values["missing"], note.values["where"]) == (1, 0, f"row {NOON}")
    near = {"temp_air": 2.0, "temp_dew": 2.0, "ghi": 1.0, "dni": 2.0, "dhi": 1.0, "pressure": 100.0, "wind_speed": 3.0}
    assert np.abs(found.array(column) - desert.array(column)).max() < near[column]


@pytest.mark.parametrize(
    ("column", "code"),
    [
        ("temp_air", "99.9"),
        ("temp_dew", "99.9"),
        ("pressure", "999999"),
        ("ghi", "9999"),
        ("dni", "9999"),
        ("dhi", "9999"),
        ("wind_speed", "999"),
        ("temp_air", "-9999"),
        ("ghi", "-9900"),
        ("wind_speed", ""),
        ("temp_air", "x"),
    ],
)
def test_codes_for_missing_values(column: str, code: str, tmp_path: Path, desert: Weather) -> None:
    """Those of the format's data dictionary, those that other formats leave behind, blanks and words."""
    found = read_weather(edited(tmp_path, {NOON + i: {FIELD[column]: code} for i in range(3)}))
    note = mended_of(found)[column]
    assert (note.values["impossible"], note.values["missing"]) == (0, 3)
    assert np.isfinite(found.array(column)).all()


def test_missing_codes_of_tmy3(tmp_path: Path, greensboro: Weather) -> None:
    """-9900 in any column."""
    lines = (SHIPPED / "723170TYA.CSV").read_text().splitlines()
    titles = lines[1].split(",")
    for title, row in (("Dry-bulb (C)", 4000), ("GHI (W/m^2)", 4003), ("Wspd (m/s)", 4100)):
        parts = lines[row - 1].split(",")
        parts[titles.index(title)] = "-9900"
        lines[row - 1] = ",".join(parts)
    path = tmp_path / "x.csv"
    path.write_text("\n".join(lines) + "\n")
    found = mended_of(read_weather(path))
    assert {c: note.values["where"] for c, note in found.items()} == {
        "temp_air": "row 4000",
        "ghi": "row 4003",
        "wind_speed": "row 4100",
    }


def test_missing_codes_of_tmy2(tmp_path: Path, miami: Weather) -> None:
    """9999 for temperature, in tenths; 9999 for the sun."""
    lines = (SHIPPED / "12839.tm2").read_text().splitlines()
    row = lines[4000]
    lines[4000] = row[:17] + "9999" + row[21:67] + "9999" + row[71:]
    path = tmp_path / "x.tm2"
    path.write_text("\n".join(lines) + "\n")
    found = read_weather(path)
    assert {c: note.values["where"] for c, note in mended_of(found).items()} == {
        "ghi": "row 4001",
        "temp_air": "row 4001",
    }
    assert np.abs(found.array("temp_air") - miami.array("temp_air")).max() < 2.0


@pytest.mark.parametrize("column", ["ghi", "dni", "dhi"])
def test_one_solar_column_comes_from_the_other_two(column: str, tmp_path: Path, desert: Weather) -> None:
    """By closure, to the rounding of the format; nights have none to tell."""
    rows = range(NOON - 3, NOON + 4)
    found = read_weather(edited(tmp_path, {row: {FIELD[column]: "9999"} for row in rows}))
    assert mended_of(found)[column].values["from_sun"] == 7
    assert np.abs(found.array(column) - desert.array(column)).max() < 2.0


def test_closure_is_taken_where_the_sun_of_the_file_stands(tmp_path: Path, desert: Weather) -> None:
    """Rows an hour early: the sun that the row has seen decides, not the one of its label."""
    lines = (DEMO / "desert.epw").read_text().splitlines()
    split = [line.split(",") for line in lines[8:]]
    early = [[*a[:GHI], *b[GHI : DHI + 1], *a[DHI + 1 :]] for a, b in zip(split, split[1:] + split[:1], strict=True)]
    early[NOON - FIRST][DNI] = "9999"
    path = tmp_path / "x.epw"
    path.write_text("\n".join([*lines[:8], *(",".join(row) for row in early)]) + "\n")
    found = read_weather(path)
    assert found.closure.moved_min == 60.0
    assert np.abs(found.array("dni") - desert.array("dni")).max() < 2.0


def test_all_three_missing_come_from_the_days_beside(tmp_path: Path, desert: Weather) -> None:
    found = read_weather(edited(tmp_path, {NOON: {GHI: "9999", DNI: "9999", DHI: "9999"}}))
    i = NOON - FIRST
    for column in ("ghi", "dni", "dhi"):
        assert mended_of(found)[column].values["from_days"] == 1
        known = desert.array(column)
        assert found.array(column)[i] == pytest.approx((known[i - 24] + known[i + 24]) / 2)


def test_a_short_gap_is_a_line_and_a_day_is_the_days_beside(tmp_path: Path, desert: Weather) -> None:
    """Six hours straight; a whole day keeps its course."""
    short = read_weather(edited(tmp_path, {NOON + i: {TEMP: "99.9"} for i in range(6)}))
    assert mended_of(short)["temp_air"].values["by_line"] == 6
    edge = NOON - FIRST + 1  # the row's instant stands at the end of its hour
    known = desert.array("temp_air")
    assert short.array("temp_air")[edge - 1 : edge + 7] == pytest.approx(
        np.linspace(known[edge - 1], known[edge + 6], 8)
    )
    day = read_weather(edited(tmp_path, {NOON + i: {TEMP: "99.9"} for i in range(24)}))
    assert mended_of(day)["temp_air"].values["from_days"] == 24
    beside = (known[edge - 24 : edge] + known[edge + 24 : edge + 48]) / 2
    assert day.array("temp_air")[edge : edge + 24] == pytest.approx(beside)


@pytest.mark.parametrize("text", ["99.9", "75.0"])
def test_one_in_a_hundred_is_the_limit(text: str, tmp_path: Path) -> None:
    """87 hours of a column are mended, 88 are refused with their rows."""
    rows = [FIRST + 50 * i for i in range(MOST_MENDED + 1)]
    assert MOST_MENDED == 87
    found = read_weather(edited(tmp_path, {row: {TEMP: text} for row in rows[:-1]}))
    note = mended_of(found)["temp_air"]
    assert int(note.values["missing"]) + int(note.values["impossible"]) == 87
    with pytest.raises(
        WeatherError, match=r"rows 9, 59, 109, 159, 209, 259, 309, 359 and 80 more: temp_air is"
    ) as caught:
        read_weather(edited(tmp_path, {row: {TEMP: text} for row in rows}))
    words = (
        "missing in 88 hours" if text == "99.9" else "impossible in 88 hours (up to 75 degC, allowed -60 to 60 degC)"
    )
    assert words in str(caught.value)
    assert "up to 87 hours (1 % of the year) would be mended" in str(caught.value)


def test_all_faults_are_told_at_once(tmp_path: Path) -> None:
    many = range(1000, 1100)
    change = {row: {TEMP: "80", WIND: "999", PRESSURE: "970"} for row in many}
    with pytest.raises(WeatherError) as caught:
        read_weather(edited(tmp_path, change))
    assert len(caught.value.faults) == 3
    assert all("rows 1000-1099" in fault for fault in caught.value.faults)


def test_dew_point_above_the_air_is_mended_as_impossible(tmp_path: Path, desert: Weather) -> None:
    found = read_weather(edited(tmp_path, {NOON: {TEMP: "30.0", DEW: "35.0"}}))
    assert mended_of(found)["temp_dew"].values["impossible"] == 1
    assert np.abs(found.array("temp_dew") - desert.array("temp_dew")).max() < 3.0


def test_humidity_stands_in_for_a_dew_point_that_lacks(tmp_path: Path, desert: Weather) -> None:
    found = read_weather(edited(tmp_path, {FIRST + i: {DEW: "99.9"} for i in range(8760)}))
    assert "dew-point-from-humidity" in {note.code for note in found.notes}
    assert np.sqrt(np.mean((found.array("temp_dew") - desert.array("temp_dew")) ** 2)) < 1.0


def test_a_sensors_night_is_zero(tmp_path: Path, desert: Weather) -> None:
    """A thermopile reads -2 W/m2 all night; that is neither missing nor impossible."""
    night = [FIRST + i for i in np.flatnonzero(desert.array("ghi") == 0.0)]
    found = read_weather(edited(tmp_path, {row: {GHI: "-2"} for row in night}))
    assert found.array("ghi").tolist() == desert.array("ghi").tolist()
    assert [n.values for n in found.notes if n.code == "flux-below-zero"] == [{"column": "ghi", "hours": len(night)}]
    assert not mended_of(found)


def test_what_is_not_needed_may_be_wrong(tmp_path: Path, desert: Weather) -> None:
    """Longwave that is not used, and humidity beside a dew point."""
    found = read_weather(edited(tmp_path, {FIRST + i: {LONGWAVE: "9000", RH: "400"} for i in range(500)}))
    assert found == desert


# --- hours of the calendar --------------------------------------------------------------------------------------------


def lines_of(name: str = "desert.epw") -> tuple[list[str], list[str]]:
    lines = (DEMO / name).read_text().splitlines()
    return lines[:8], lines[8:]


def written(path: Path, head: list[str], rows: list[str]) -> Path:
    path.write_text("\n".join([*head, *rows]) + "\n")
    return path


def leap_day(rows: list[str]) -> list[str]:
    return [",".join(["2004", "2", "29", *line.split(",")[3:]]) for line in rows[58 * 24 : 59 * 24]]


def test_a_leap_year_is_read_without_its_day(tmp_path: Path, desert: Weather) -> None:
    """8784 rows."""
    head, rows = lines_of()
    found = read_weather(written(tmp_path / "x.epw", head, [*rows[: 59 * 24], *leap_day(rows), *rows[59 * 24 :]]))
    assert [n.values for n in found.notes if n.code == "leap-day-left-out"] == [{"hours": 24}]
    assert found == desert


def test_a_leap_year_cut_to_8760_rows_loses_its_last_day(tmp_path: Path, desert: Weather) -> None:
    """Some collections keep 29 February and leave out 31 December: that day comes from those beside."""
    head, rows = lines_of()
    rows = [*rows[: 59 * 24], *leap_day(rows), *rows[59 * 24 : -24]]
    assert len(rows) == 8760
    found = read_weather(written(tmp_path / "x.epw", head, rows))
    assert {n.code for n in found.notes} >= {"leap-day-left-out", "hours-absent", "hours-mended"}
    assert found.array("ghi")[: 364 * 24].tolist() == desert.array("ghi")[: 364 * 24].tolist()
    beside = (desert.array("ghi")[363 * 24 : 364 * 24] + desert.array("ghi")[:24]) / 2
    assert found.array("ghi")[364 * 24 :] == pytest.approx(beside)


def test_absent_rows_are_mended_and_said(tmp_path: Path, desert: Weather) -> None:
    head, rows = lines_of()
    found = read_weather(written(tmp_path / "x.epw", head, rows[:4000] + rows[4005:]))
    (note,) = (n for n in found.notes if n.code == "hours-absent")
    assert note.values == {"hours": 5, "first": "06-16 16:00"}
    assert mended_of(found)["temp_air"].values["by_line"] == 5
    others = np.r_[0:4000, 4006:8760]
    assert found.array("temp_air")[others].tolist() == desert.array("temp_air")[others].tolist()


def test_a_row_written_twice_is_refused(tmp_path: Path) -> None:
    head, rows = lines_of()
    twice = [*rows[:100], rows[99], *rows[101:]]
    with pytest.raises(WeatherError, match="row 109: the hours are not in order"):
        read_weather(written(tmp_path / "x.epw", head, twice))


def test_hours_numbered_from_nought(tmp_path: Path, desert: Weather) -> None:
    """0 to 23 for 1 to 24."""
    head, rows = lines_of()
    nought = [",".join([*p[:3], str(int(p[3]) - 1), *p[4:]]) for p in (row.split(",") for row in rows)]
    assert read_weather(written(tmp_path / "x.epw", head, nought)) == desert


# --- the file itself --------------------------------------------------------------------------------------------------


@pytest.mark.parametrize("file", [DEMO / "desert.epw", SHIPPED / "723170TYA.CSV", SHIPPED / "12839.tm2"])
def test_a_packed_file_is_the_same(file: Path, tmp_path: Path) -> None:
    path = tmp_path / (file.name + ".gz")
    path.write_bytes(gzip.compress(file.read_bytes()))
    assert read_weather(path) == read_weather(file)


def test_a_damaged_package_is_refused(tmp_path: Path) -> None:
    content = gzip.compress((DEMO / "desert.epw").read_bytes())
    path = tmp_path / "x.epw.gz"
    path.write_bytes(content[: len(content) // 2])
    with pytest.raises(WeatherError, match="cannot be unpacked"):
        read_weather(path)


@pytest.mark.parametrize("encoding", ["utf-8", "utf-8-sig", "cp1252", "latin-1", "utf-16"])
def test_text_encodings(encoding: str, tmp_path: Path, desert: Weather) -> None:
    """Names with accents, in the encodings that files are written in."""
    head, rows = lines_of()
    head[0] = head[0].replace("Invented Desert", "Peña Ardiente")
    path = tmp_path / "x.epw"
    path.write_bytes(("\r\n".join([*head, *rows]) + "\r\n").encode(encoding))
    found = read_weather(path)
    assert found == desert
    assert found.site.name == "Peña Ardiente"


# --- parts ------------------------------------------------------------------------------------------------------------


@settings(deadline=None, max_examples=30)
@given(st.sets(st.integers(0, 8759), max_size=87), st.integers(0, 23))
def test_days_beside_keep_a_course_that_repeats(lost: set[int], phase: int) -> None:
    """What is the same every day comes back to the last bit, whatever is lost."""
    course = np.tile(np.sin(np.arange(24) + phase), 365)
    holed = course.copy()
    holed[list(lost)] = np.nan
    assert from_days_beside(holed) == pytest.approx(course, abs=1e-12)


@given(st.lists(st.booleans(), max_size=60))
def test_gaps_cover_what_is_missing(missing: list[bool]) -> None:
    found = gaps(np.array(missing, dtype=bool))
    assert [int(i) for gap in found for i in gap] == [i for i, m in enumerate(missing) if m]
    assert all((np.diff(gap) == 1).all() for gap in found)
    assert all(b[0] > a[-1] + 1 for a, b in pairwise(found))


def test_every_canonical_column_has_its_bounds() -> None:
    assert all(low < high for low, high, _ in ALLOWED.values())
