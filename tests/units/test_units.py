"""Units: every suffix goes there and back, and each US form is held to one value worked out from a published factor."""

from __future__ import annotations

import math
from collections.abc import Iterator
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st
from pydantic import BaseModel

from vansim.scenario.schema import Scenario
from vansim.units import SUFFIXES, convert, parse_quantity, suffix_of, symbol, translated
from vansim.van.charging import SolarArray

# value in SI, suffix, value in US units, and where that comes from. SP 811: NIST Special Publication 811 (2008),
# appendix B.8, "Factors for units listed alphabetically"; the products are worked out by hand.
WORKED = [
    (26.0, "c", 78.8, "SP 811: t/degF = 1.8 t/degC + 32"),
    (1.0, "k", 1.8, "SP 811: 1 degF difference = 5/9 K"),
    (-0.0035, "per_k", -0.001944444, "-0.0035/K over 1.8 degF per K"),
    (1000.0, "k_h", 1800.0, "SP 811: 1 degF difference = 5/9 K"),
    (45.359237, "kg", 100.0, "SP 811: 1 lb = 0.453 592 37 kg"),
    (60.0, "g_h", 0.1322774, "60 g over 453.592 37 g per lb"),
    (0.3048, "m", 1.0, "SP 811: 1 ft = 0.3048 m"),
    (25.4, "mm", 1.0, "SP 811: 1 in = 25.4 mm"),
    (10.0, "m2", 107.6391, "SP 811: 1 ft2 = 0.092 903 04 m2"),
    (1.0, "m3", 35.31467, "SP 811: 1 ft3 = 0.028 316 85 m3"),
    (360.0, "m3_h", 211.888, "SP 811: 1 ft3/min = 4.719 474e-4 m3/s, that is 1.699 011 m3/h"),
    (120.0, "km", 74.564543, "SP 811: 1 mi = 1.609 344 km"),
    (90.0, "kmh", 55.92341, "SP 811: 1 mi/h = 1.609 344 km/h"),
    (10.0, "m_s", 22.36936, "SP 811: 1 mi/h = 0.447 04 m/s"),
    (101325.0, "pa", 29.92126, "SP 811: standard atmosphere 101 325 Pa, 1 inHg = 3386.389 Pa"),
    (1000.0, "w_m2", 316.9983, "SP 811: 1 Btu(IT)/(h ft2) = 3.154 591 W/m2"),
    (1.0, "w_m2k", 0.1761102, "SP 811: 1 Btu(IT)/(h ft2 degF) = 5.678 263 W/(m2 K)"),
    (1.0, "m2k_w", 5.678263, "SP 811: 1 degF h ft2/Btu(IT) = 0.176 110 2 K m2/W"),
    (0.5275279, "w_k", 1.0, "SP 811: 1 Btu(IT)/h = 0.293 071 1 W, over 5/9 K"),
    (0.1442279, "w_mk", 1.0, "SP 811: 1 Btu(IT) in/(h ft2 degF) = 0.144 227 9 W/(m K)"),
    (1.899101, "kj_k", 1.0, "SP 811: 1 Btu(IT)/degF = 1.899 101e3 J/K"),
    (16.01846, "kg_m3", 1.0, "SP 811: 1 lb/ft3 = 1.601 846e1 kg/m3"),
    (4186.8, "j_kgk", 1.0, "SP 811: 1 Btu(IT)/(lb degF) = 4.1868e3 J/(kg K)"),
    (6.9, "kwh_m2_day", 6.9, "common practice: a peak sun hour is 1 kWh/m2"),
]


@pytest.mark.parametrize(("si", "suffix", "us", "source"), WORKED, ids=[row[1] for row in WORKED])
def test_us_values_as_worked_out_by_hand(si: float, suffix: str, us: float, source: str) -> None:
    assert convert(si, f"x_{suffix}", "us") == pytest.approx(us, rel=2e-6), source


def test_every_us_form_is_worked_out() -> None:
    differ = {name for name, unit in SUFFIXES.items() if unit.symbol != unit.us_symbol}
    assert differ == {suffix for _, suffix, _, _ in WORKED}


def _suffixes(model: Any) -> Iterator[str]:
    """Suffixes of a model's keys and of those of the tables in it."""
    seen: set[Any] = set()
    left = [model]
    while left:
        one = left.pop()
        if isinstance(one, type) and issubclass(one, BaseModel) and one not in seen:
            seen.add(one)
            yield from (suffix for name in one.model_fields if (suffix := suffix_of(name)))
            left += [field.annotation for field in one.model_fields.values()]
        left += getattr(one, "__args__", ())


def test_every_suffix_of_a_scenario_has_a_us_form_where_readers_use_one() -> None:
    found = set(_suffixes(Scenario))
    assert len(found) > 20
    for suffix in found:
        shown = symbol(f"x_{suffix}", "us")
        parts = shown.replace("/", " ").split()
        assert not set(parts) & {"°C", "K", "m", "m2", "m3", "mm", "kg", "g", "km", "Pa", "kJ", "mK", "m2K"}, suffix


@given(st.sampled_from(sorted(SUFFIXES)), st.floats(-1e5, 1e5))
def test_shown_in_us_units_and_read_again_is_the_same(suffix: str, value: float) -> None:
    name = f"x_{suffix}"
    unit = SUFFIXES[suffix]
    text = f"{convert(value, name, 'us')!r} {unit.us_symbol}"
    if "peak sun" in unit.us_symbol:  # a name of the trade for the same number; not written in a file
        text = f"{value!r} {next(iter(unit.written))}"
    assert parse_quantity(text, suffix) == pytest.approx(value, rel=1e-9, abs=1e-9)


@given(st.sampled_from(sorted(SUFFIXES)), st.floats(-1e5, 1e5))
def test_every_unit_that_may_be_written_keeps_order_and_zero(suffix: str, value: float) -> None:
    for written, (scale, offset) in SUFFIXES[suffix].written.items():
        assert scale > 0.0
        assert parse_quantity(f"{value!r} {written}", suffix) == pytest.approx(value * scale + offset)
        assert offset == 0.0 or suffix == "c"


def test_a_value_per_kelvin_is_a_difference_in_a_denominator() -> None:
    assert convert(-0.0035, "gamma_per_k", "us") == pytest.approx(-0.0035 / 1.8)
    assert symbol("gamma_per_k", "us") == "per °F"
    assert parse_quantity("-0.35 %/K", "per_k") == pytest.approx(-0.0035)
    assert parse_quantity("-0.19 %/degF", "per_k") == pytest.approx(-0.00342)
    assert parse_quantity("-0.19 %/°F", "per_k") == pytest.approx(-0.00342)
    assert parse_quantity("-0.0035 1/K", "per_k") == -0.0035


@pytest.mark.parametrize("text", ["-0.35 %/K", "-0.35 %/°C", "-0.19444444 %/degF"])
def test_a_panel_takes_its_coefficient_as_the_data_sheet_has_it(text: str) -> None:
    panel = {"rated_w": 400.0, "area_m2": 2.0}
    for key in ("gamma", "gamma_per_k"):
        assert SolarArray(**{**panel, key: text}).gamma_per_k == pytest.approx(-0.0035)


def test_a_difference_takes_no_offset() -> None:
    assert parse_quantity("2 degF", "k") == pytest.approx(1.1111, abs=1e-4)
    assert parse_quantity("2 degC", "k") == 2.0
    assert (convert(1.0, "deadband_k", "us"), symbol("deadband_k", "us")) == (pytest.approx(1.8), "°F")
    assert (convert(1.0, "deadband_c", "us"), symbol("deadband_c", "us")) == (pytest.approx(33.8), "°F")


@pytest.mark.parametrize(
    ("text", "suffix", "value"),
    [
        ("1 Btu/h degF", "w_k", 0.5275279),
        ("1 Btu/(h·°F)", "w_k", 0.5275279),
        ("0.5 W/(m²·K)", "w_m2k", 0.5),
        ("0.5 W/m2K", "w_m2k", 0.5),
        ("R-13", "m2k_w", 2.289433),
        ("R 13", "m2k_w", 2.289433),
        ("13 h ft2 degF/Btu", "m2k_w", 2.289433),
        ("10000 Btu/h", "w", 2930.711),
        ("1 Btu/degF", "kj_k", 1.899101),
        ("30 Wh/K", "kj_k", 108.0),
        ("29.92 inHg", "pa", 101320.8),
        ("14.7 psi", "pa", 101352.9),
        ("317 Btu/h ft2", "w_m2", 1000.005),
        ("5 oz", "kg", 0.1417476),
        ("0.13 lb/h", "g_h", 58.967),
        ("200 cfm", "m3_h", 339.802),
    ],
)  # fmt: skip
def test_units_of_the_trade_are_read(text: str, suffix: str, value: float) -> None:
    """Factors as in SP 811 above; 3.154 591 W/m2 a Btu/(h ft2), 6894.757 Pa a psi, 28.349 52 g an ounce."""
    assert parse_quantity(text, suffix) == pytest.approx(value, rel=1e-5)


@pytest.mark.parametrize(
    ("text", "suffix", "says"),
    [
        ("warm", "c", "does not start with a number"),
        ("24", "c", "the unit is missing"),
        ("24 kWh", "c", "unit 'kWh' is not known here"),
        ("-0.35 %", "per_k", "%/K"),
        ("75 degF", "w_k", "Btu/h degF"),
        ("R-13", "w_m2k", "does not start with a number"),
    ],
)
def test_what_is_no_such_unit_is_refused_with_those_that_are(text: str, suffix: str, says: str) -> None:
    with pytest.raises(ValueError, match=r"allowed|write for example") as refused:
        parse_quantity(text, suffix)
    assert says in str(refused.value)


def test_quantities_of_a_note_are_turned_and_the_rest_is_not() -> None:
    note = "invented 6 m van, 50 mm of wool; UA about 57 W/K, 360 m3/h at 26 °C; 12 V, 20 h rate, 3 kW"
    assert translated(note, "us") == (
        "invented 19.7 ft van, 1.97 in of wool; UA about 108 Btu/h °F, 212 cfm at 78.8 °F; 12 V, 20 h rate, 3 kW"
    )
    assert translated(note, "si") == note
    assert translated("allowed: 15 to 32 °C", "us") == "allowed: 59 to 89.6 °F"
    assert translated("95 °F, 10 lb, 5 in the front", "si") == "35 °C, 4.54 kg, 5 in the front"


def test_nothing_is_lost_in_arrays() -> None:
    import numpy as np

    values = np.array([0.0, 100.0, math.nan])
    np.testing.assert_allclose(convert(values, "x_c", "us"), [32.0, 212.0, math.nan])
