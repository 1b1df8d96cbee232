"""Every format into one frame: labels, units, missing codes; what is mended, and what is refused and how."""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pandas as pd
import pvlib
import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st
from pvlib import iotools
from pvlib.iotools import read_tmy2 as read_pvlib_tmy2

from tests.support import synthetic
from tests.support.epw_writer import epw_from_tmy2, epw_from_tmy3
from tests.support.places import DEMO, SHIPPED
from vansim.climate import Location, Weather, read_weather
from vansim.climate.rows import rows_text
from vansim.climate.tmy2 import read_tmy2
from vansim.climate.weather import COLUMNS, hour_index
from vansim.errors import WeatherError


def codes(weather: Weather) -> set[str]:
    return {note.code for note in weather.notes}


EVERY_FILE = ["greensboro", "sand_point", "miami", "desert", "coast"]


@pytest.mark.parametrize("name", EVERY_FILE)
def test_frame_is_canonical(name: str, request: pytest.FixtureRequest) -> None:
    weather = request.getfixturevalue(name)
    assert tuple(weather.data.columns) == COLUMNS
    assert weather.data.index.equals(hour_index(weather.site))
    assert weather.data.index[0] == pd.Timestamp("2001-01-01", tz=weather.site.tz)
    assert np.isfinite(weather.data.drop(columns=["albedo", "sky_cover"]).to_numpy()).all()
    assert (weather.data["temp_dew"] <= weather.data["temp_air"] + 1e-9).all()


@pytest.mark.parametrize(
    ("name", "rms"), [("greensboro", 1.6), ("sand_point", 0.7), ("miami", 9.0), ("desert", 0.5), ("coast", 0.5)]
)
def test_every_shipped_file_closes_at_its_label(name: str, rms: float, request: pytest.FixtureRequest) -> None:
    """Measured 1.5, 0.6, 8.9, 0.4, 0.4 W/m2; half an hour off costs 14 to 33. TMY2 is looser than TMY3."""
    check = request.getfixturevalue(name).closure
    assert check.verdict == "agrees"
    assert (check.best_shift_min, check.moved_min) == (0.0, 0.0)
    assert check.best_w_m2 < rms
    by_shift = dict(zip(check.shift_min, check.rms_w_m2, strict=True))
    assert min(by_shift[-30.0], by_shift[30.0]) > 3.0 * by_shift[0.0]


@pytest.mark.parametrize(("name", "file"), [("greensboro", "723170TYA.CSV"), ("sand_point", "703165TY.csv")])
def test_tmy3_and_the_same_year_as_epw_agree(
    name: str, file: str, tmp_path: Path, request: pytest.FixtureRequest
) -> None:
    """Residual: none but rounding in binary (1e-9) in every column, longwave and estimated cover included."""
    path = tmp_path / "year.epw"
    path.write_text(epw_from_tmy3(SHIPPED / file), encoding="utf-8")
    ours, theirs = read_weather(path), request.getfixturevalue(name)
    assert ours.kind == "EPW"
    assert theirs.kind == "TMY3"
    np.testing.assert_allclose(ours.data.to_numpy(), theirs.data.to_numpy(), atol=1e-9)
    assert ours.site == theirs.site


def test_tmy2_and_its_epw_agree(tmp_path: Path, miami: Weather) -> None:
    """Residual: 1e-9 in every column; the place within 1e-6 deg."""
    path = tmp_path / "year.epw"
    path.write_text(epw_from_tmy2(SHIPPED / "12839.tm2"), encoding="utf-8")
    ours = read_weather(path)
    np.testing.assert_allclose(ours.data.to_numpy(), miami.data.to_numpy(), atol=1e-9)
    assert ours.site.longitude == pytest.approx(miami.site.longitude, abs=1e-6)
    assert ours.site.name == miami.site.name == "MIAMI"


def test_instants_stand_at_the_hour_edge(greensboro: Weather) -> None:
    """TMY3 row 'hour 01:00' holds the temperature at 01:00 and the sun of 00:00 to 01:00."""
    raw, _ = iotools.read_tmy3(SHIPPED / "723170TYA.CSV")
    assert greensboro.data["temp_air"].iloc[1] == raw["temp_air"].iloc[0]
    assert greensboro.data["temp_air"].iloc[0] == raw["temp_air"].iloc[-1]
    assert greensboro.data["ghi"].iloc[8:20].tolist() == raw["ghi"].iloc[8:20].tolist()


def test_units_of_each_format(greensboro: Weather, miami: Weather) -> None:
    """Pressure from mbar to Pa, tenths to units."""
    assert 9.6e4 < greensboro.data["pressure"].mean() < 1.0e5
    assert miami.data["pressure"].mean() == pytest.approx(101700, abs=500)
    assert miami.data["temp_air"].max() == pytest.approx(33.9)
    assert miami.data["wind_speed"].mean() == pytest.approx(4.3, abs=0.5)
    assert miami.data["sky_cover"].max() == 1.0


def test_name_loses_its_quotes_and_albedo_of_zero_is_missing(greensboro: Weather, sand_point: Weather) -> None:
    assert greensboro.site.name == "GREENSBORO PIEDMONT TRIAD INT"
    assert greensboro.data["albedo"].isna().all()
    assert "albedo-zero" in codes(greensboro)
    assert sand_point.data["albedo"].notna().all()


def test_sky_is_computed_and_said_so(greensboro: Weather, desert: Weather) -> None:
    """The invented climates carry the column of the same formula."""
    assert "sky-computed" in codes(greensboro)
    assert 250 < greensboro.data["longwave"].mean() < 350
    assert "sky-computed" in codes(desert)


def test_kind_is_told_by_content(tmp_path: Path) -> None:
    path = tmp_path / "weather.txt"
    path.write_bytes((SHIPPED / "12839.tm2").read_bytes())
    assert read_weather(path).kind == "TMY2"


def test_tmy2_by_characters_is_what_pvlib_reads(miami: Weather) -> None:
    """Every field that is used, in every hour, and the place: exactly."""
    path = SHIPPED / "12839.tm2"
    frame, meta = read_pvlib_tmy2(str(path))
    table = read_tmy2(path.read_text(encoding="cp1252"), "x")
    names = {"ghi": "GHI", "dni": "DNI", "dhi": "DHI", "temp_air": "DryBulb", "temp_dew": "DewPoint"}
    names |= {"relative_humidity": "RHum", "pressure": "Pressure", "wind_speed": "Wspd"}
    names |= {"total_cover": "TotCld", "sky_cover": "OpqCld"}
    for ours, theirs in names.items():
        factor = {"ghi": 1.0, "dni": 1.0, "dhi": 1.0, "relative_humidity": 0.01, "pressure": 100.0}.get(ours, 0.1)
        assert (table.data[ours].to_numpy() == frame[theirs].to_numpy(dtype=float) * factor).all(), ours
    for part, less in (("month", 0), ("day", 0), ("hour", 1)):
        assert (table.calendar[part].to_numpy() == frame[part].astype(int).to_numpy() - less).all()
    assert (miami.site.latitude, miami.site.longitude) == (meta["latitude"], meta["longitude"])
    assert (miami.site.altitude, miami.site.utc_offset) == (meta["altitude"], meta["TZ"])


def test_tmy2_city_of_several_words(tmp_path: Path) -> None:
    path = tmp_path / "year.tm2"
    head, rest = (SHIPPED / "12839.tm2").read_text().split("\n", 1)
    path.write_text(head.replace("MIAMI        ", "PORT OF PALMS") + "\n" + rest)
    assert read_weather(path).site.name == "PORT OF PALMS"


# ---- refusals: the invented desert with one thing wrong ------------------------------------------------------------


def broken(tmp_path: Path, change: dict[int, dict[int, str]] | None = None, **head: str) -> Path:
    """The desert's EPW with fields changed: {file row: {field: text}}, header lines by first word."""
    lines = (DEMO / "desert.epw").read_text().splitlines()
    for row, fields in (change or {}).items():
        parts = lines[row - 1].split(",")
        for field, text in fields.items():
            parts[field] = text
        lines[row - 1] = ",".join(parts)
    for word, text in head.items():
        n = next(i for i, line in enumerate(lines) if line.startswith(word.replace("_", " ")))
        lines[n] = text
    path = tmp_path / "desert.epw"
    path.write_text("\n".join(lines) + "\n")
    return path


TEMP, DEW, PRESSURE, GHI, DNI, WIND = 6, 7, 9, 13, 14, 21
NOON = 8 + 180 * 24 + 13


def faults_of(path: Path) -> list[str]:
    with pytest.raises(WeatherError) as caught:
        read_weather(path)
    assert all(str(path) in fault for fault in caught.value.faults)
    return list(caught.value.faults)


def test_cut_file_is_refused(tmp_path: Path) -> None:
    path = tmp_path / "short.epw"
    path.write_text((DEMO / "desert.epw").read_text()[:-5000])
    text = "\n".join(faults_of(path))
    assert "cut short" in text
    path.write_text("\n".join((DEMO / "desert.epw").read_text().splitlines()[:5008]) + "\n")
    assert "5000 hours, a typical year has 8760" in faults_of(path)[0]


def test_leap_day_is_left_out_and_said(tmp_path: Path, desert: Weather) -> None:
    lines = (DEMO / "desert.epw").read_text().splitlines()
    before = 8 + 59 * 24
    leap = [",".join(["2004", "2", "29", *line.split(",")[3:]]) for line in lines[before - 24 : before]]
    path = tmp_path / "leap.epw"
    path.write_text("\n".join([*lines[:before], *leap, *lines[before:]]) + "\n")
    weather = read_weather(path)
    assert "leap-day-left-out" in codes(weather)
    assert weather.data["ghi"].equals(desert.data["ghi"])


def test_disordered_hours_are_refused(tmp_path: Path) -> None:
    lines = (DEMO / "desert.epw").read_text().splitlines()
    lines[500], lines[501] = lines[501], lines[500]
    path = tmp_path / "mixed.epw"
    path.write_text("\n".join(lines) + "\n")
    assert "rows 501-502: the hours are not in order" in faults_of(path)[0]


def test_mixed_years_are_one_year(tmp_path: Path, desert: Weather) -> None:
    change = {n: {0: str(1980 + n % 17)} for n in range(9, 8769, 700)}
    assert read_weather(broken(tmp_path, change)).data.equals(desert.data)


def test_more_than_one_record_an_hour_is_refused(tmp_path: Path) -> None:
    path = broken(tmp_path, DATA_PERIODS="DATA PERIODS,1,4,Data,Monday,1/1,12/31")
    assert "row 8: 4 records an hour, allowed 1" in faults_of(path)[0]
    path = broken(tmp_path, {n: {4: str(n % 4 * 15)} for n in range(9, 8769)})
    assert "minutes" in faults_of(path)[0]


@pytest.mark.parametrize(("offset", "shift_min"), [("-8.00", -60.0), ("-6.00", 60.0)])
def test_wrong_offset_is_seen_by_the_sun(offset: str, shift_min: float, tmp_path: Path, desert: Weather) -> None:
    """Everything in the file stands off the clock that its header claims, and is moved to it."""
    place = f"LOCATION,Elsewhere,-,-,x,999999,33.000,-113.000,{offset},350.0"
    found = read_weather(broken(tmp_path, LOCATION=place))
    (note,) = (note for note in found.notes if note.code == "labels-moved")
    assert note.values == {"shift_min": shift_min, "whole": True}
    rows = int(shift_min / 60.0)
    for column in ("ghi", "temp_air", "temp_dew"):
        assert np.roll(found.array(column), -rows) == pytest.approx(desert.array(column), abs=1e-9)


def test_offset_of_the_wrong_sign_is_refused(tmp_path: Path) -> None:
    place = "LOCATION,Elsewhere,-,-,x,999999,33.000,-113.000,7.00,350.0"
    with pytest.raises(WeatherError, match="sign"):
        read_weather(broken(tmp_path, LOCATION=place))


def test_epw_without_longwave_and_cover_is_completed(tmp_path: Path) -> None:
    """A half-hour zone in the southern hemisphere, with nothing but the three fluxes and temperature."""
    site = Location(latitude=-34.9, longitude=138.6, altitude=50.0, utc_offset=9.5, name="x")
    true = synthetic.hour_means(site)
    temp = synthetic.temperature(site, np.arange(1, 8761) - site.utc_offset)
    path = tmp_path / "south.epw"
    path.write_text(synthetic.epw_text(site, *(true[c].to_numpy() for c in ("ghi", "dni", "dhi")), temp))
    weather = read_weather(path)
    assert weather.data.index[0].utcoffset() == pd.Timedelta("9.5h")
    assert weather.closure.verdict == "agrees"
    assert weather.data["sky_cover"].isna().all()
    assert "sky-computed" in codes(weather)
    assert 250.0 < weather.data["longwave"].mean() < 400.0
    assert weather.data["temp_air"].to_numpy() == pytest.approx(
        synthetic.temperature(site, np.arange(8760) - site.utc_offset), abs=0.3
    )


def test_no_such_file_and_no_known_format(tmp_path: Path) -> None:
    with pytest.raises(WeatherError, match="cannot be opened"):
        read_weather(tmp_path / "nowhere.epw")
    with pytest.raises(WeatherError, match="cannot be opened"):
        read_weather(tmp_path)
    (tmp_path / "empty.epw").write_text("")
    with pytest.raises(WeatherError, match="none of EPW"):
        read_weather(tmp_path / "empty.epw")
    (tmp_path / "spa.csv").write_bytes((Path(pvlib.__file__).parent / "data" / "ASTMG173.csv").read_bytes())
    with pytest.raises(WeatherError, match="none of EPW"):
        read_weather(tmp_path / "spa.csv")


def test_offset_is_not_taken_for_files_that_bring_one() -> None:
    with pytest.raises(WeatherError, match="brings its own offset"):
        read_weather(DEMO / "desert.epw", utc_offset=-7)


QUIET = settings(deadline=None, max_examples=20, suppress_health_check=[HealthCheck.function_scoped_fixture])
HEADS = [
    "",
    "LOCATION,",
    "LOCATION,a,b,c,d,1,33,-113,-7,350\n",
    "{",
    '{"inputs":{}}',
    "Latitude (decimal degrees): 1\n",
]


@QUIET
@given(head=st.sampled_from(HEADS), tail=st.binary(max_size=400))
def test_no_content_causes_anything_but_a_weather_error(head: str, tail: bytes, tmp_path: Path) -> None:
    path = tmp_path / "any"
    path.write_bytes(head.encode() + tail)
    with pytest.raises(WeatherError):
        read_weather(path)


@QUIET
@given(
    file=st.sampled_from(["desert.epw", "723170TYA.CSV"]),
    where=st.integers(0, 1_000_000),
    length=st.integers(0, 300),
    patch=st.text(alphabet="0123456789,.-:/\n x", max_size=30),
)
def test_damaged_files_are_read_or_refused(file: str, where: int, length: int, patch: str, tmp_path: Path) -> None:
    folder = DEMO if file.endswith("epw") else SHIPPED
    text = (folder / file).read_text()
    path = tmp_path / file
    path.write_text(text[:where] + patch + text[where + length :])
    try:
        weather = read_weather(path)
    except WeatherError:
        return
    assert len(weather.data) == 8760


@given(st.sets(st.integers(1, 60), min_size=1, max_size=20))
def test_rows_are_written_as_people_do(rows: set[int]) -> None:
    ordered = sorted(rows)
    text = rows_text(ordered)
    shown = []
    for word in text.split(" and ")[0].removeprefix("rows ").removeprefix("row ").split(", "):
        first, _, last = word.partition("-")
        shown += range(int(first), int(last or first) + 1)
    left = int(text.split(" and ")[1].split()[0]) if " and " in text else 0
    assert shown == ordered[: len(shown)]
    assert len(shown) + left == len(ordered)
