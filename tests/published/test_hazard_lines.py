"""The heat index against the printed chart, and the lines that warn against their texts.

Occupational limits (NIOSH 2016-106) and comfort votes (ISO 7730) are not offered by the code and so not covered.
"""

from __future__ import annotations

from typing import Any

import numpy as np
import pytest

from tests.support.bench import hold, read, row
from vansim.heat_stress import HEAT_INDEX_MAX_C, LINES, dog_line_c, heat_index_c

NWS, FAA = "US National Weather Service chart", "FAA AM-87/8 tolerance line, 6 h, healthy male beagles"


def fahrenheit(celsius: float) -> float:
    return celsius * 1.8 + 32.0


def celsius(fahrenheit_: float) -> float:
    return (fahrenheit_ - 32.0) / 1.8


def chart() -> list[tuple[float, float, float, float]]:
    """Temperature [°F], humidity [%], printed and ours [°F]."""
    table = read("heat_index").set_index("temp_f")
    return [
        (float(t), float(rh), float(printed), fahrenheit(heat_index_c(celsius(t), float(rh) / 100.0)))
        for t, line in table.iterrows()
        for rh, printed in line.dropna().items()
    ]


def rows() -> list[dict[str, Any]]:
    cells = chart()
    worst = max(abs(ours - printed) for _, _, printed, ours in cells)
    out = [
        row(
            f"heat index, worst of {len(cells)} cells of the chart",
            0.0,
            worst,
            0.6,
            "degF",
            "printed to 1 degF",
            NWS,
            "standard",
        ),
        row(
            "heat index at 80 degF, 100 %",
            87.0,
            fahrenheit(heat_index_c(celsius(80.0), 1.0)),
            np.nan,
            "degF",
            "known: the algorithm's humid-air term lifts it 2.3 degF over the chart",
            NWS,
            "standard",
        ),
    ]
    for rh, temp_f in ((0.9, 85.0), (0.7, 90.0), (0.5, 95.0), (0.3, 100.0), (0.1, 105.0)):
        out.append(
            row(
                f"dogs' survival line at {rh:.0%}",
                celsius(temp_f),
                dog_line_c(rh),
                0.01,
                "degC",
                "85 degF at 90 %, minus 4 % a degF",
                FAA,
                "measurement",
            )
        )
    by_code = {line.code: line.value_c for line in LINES}
    for code, value, source in (
        ("caution", 80.0, NWS),
        ("extreme_caution", 90.0, NWS),
        ("danger", 103.0, NWS),
        ("extreme_danger", 125.0, NWS),
        ("dogs_in_transport", 85.1, "US 9 CFR 3.16(e), 85 degF (29.5 degC)"),
    ):
        out.append(
            row(
                f"line: {code.replace('_', ' ')}",
                celsius(value),
                by_code[code],
                0.06,
                "degC",
                "printed to 1 degF or 0.1 degC",
                source,
                "standard",
            )
        )
    out.append(
        row(
            "line: bedroom criterion",
            26.0,
            by_code["bedroom_criterion"],
            0.0,
            "degC",
            "taken from it",
            "CIBSE TM59",
            "standard",
        )
    )
    out.append(
        row(
            "top of the heat index's scale",
            max(printed for _, _, printed, _ in cells),
            fahrenheit(HEAT_INDEX_MAX_C),
            0.0,
            "degF",
            "the highest printed cell",
            NWS,
            "standard",
        )
    )
    return out


def test_hazard_lines() -> None:
    hold(rows())


@pytest.mark.parametrize("rh", [0.05, 0.1])
def test_dry_air_takes_something_off(rh: float) -> None:
    """NWS: below 13 % and between 80 and 112 degF the index is lowered; at 13 % the term is nothing."""
    plain = fahrenheit(heat_index_c(celsius(100.0), 0.13))
    assert fahrenheit(heat_index_c(celsius(100.0), rh)) < plain
