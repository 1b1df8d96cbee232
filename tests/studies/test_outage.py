"""Heat index against the weather service's chart, thresholds, and the cabin after the stop."""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pandas as pd
import pytest
from steady_nights import plain_van, steady_weather

from vansim.climate import Weather
from vansim.errors import ScenarioError
from vansim.heat_stress import LINES, dog_line_c, heat_index_c
from vansim.scenario.files import load_scenario
from vansim.scenario.vary import vary
from vansim.studies.outage import CAUTION, after_reserve, passed

CHART = pd.read_csv(Path(__file__).parent / "heat_index_chart.csv", index_col=0)


def f_of(temp_c: float) -> float:
    return temp_c * 1.8 + 32.0


@pytest.mark.published
@pytest.mark.parametrize("humidity", range(40, 90, 5))
def test_heat_index_is_that_of_the_weather_services_chart(humidity: int) -> None:
    """US National Weather Service heat index chart (Tulsa office), whole degF: half a degree is the chart's rounding.

    Above 85 % the service's own humid-air term exceeds its chart by up to 2.3 degF; those columns are left out. So is
    nothing else: where the simple form takes over, at 80 degF and 40 %, it agrees as well.
    """
    column = CHART[str(humidity)].dropna()
    for temp_f, chart in column.items():
        ours = f_of(heat_index_c((float(str(temp_f)) - 32.0) / 1.8, humidity / 100.0))
        assert ours == pytest.approx(chart, abs=0.6), (temp_f, humidity)


def test_heat_index_of_dry_and_humid_air_is_adjusted() -> None:
    """By hand from the service's formulae: 100 degF and 8 %; 84 degF and 95 %."""
    dry, humid = (heat_index_c((t - 32.0) / 1.8, r) for t, r in ((100.0, 0.08), (84.0, 0.95)))
    assert f_of(dry) == pytest.approx(_regression(100.0, 8.0) - 5.0 / 4.0 * (12.0 / 17.0) ** 0.5)
    assert f_of(humid) == pytest.approx(_regression(84.0, 95.0) + 1.0 * 3.0 / 5.0)


def _regression(t: float, r: float) -> float:
    powers = np.array([1.0, t, r, t * r, t * t, r * r, t * t * r, t * r * r, t * t * r * r])
    return float(
        powers
        @ [-42.379, 2.04901523, 10.14333127, -0.22475541, -0.00683783, -0.05481717, 0.00122874, 0.00085282, -0.00000199]
    )


@pytest.mark.published
@pytest.mark.parametrize(("humidity", "line_f"), [(0.9, 85), (0.7, 90), (0.5, 95), (0.3, 100), (0.1, 105)])
def test_the_line_for_dogs(humidity: float, line_f: float) -> None:
    """FAA Office of Aviation Medicine AM-87/8: 85 degF at 90 % RH, 4 % RH less per degF."""
    assert f_of(dog_line_c(humidity)) == pytest.approx(line_f)


def test_thresholds_are_read_off_a_course() -> None:
    minutes = np.arange(0.0, 100.0)
    course = pd.DataFrame(
        {"cabin_c": 20.0 + 0.1 * minutes, "heat_index_c": 50.0, "margin_to_dog_line_k": 30.5 - minutes},
        index=pd.Index(minutes, name="minutes"),
    )
    lines = passed(course)
    assert lines.loc["bedroom criterion", "minutes"] == 61.0
    assert lines.loc["danger", "minutes"] == 0.0
    assert lines.loc["extreme danger", "minutes"] == float("inf")
    assert lines.loc["extreme danger", "minutes_above"] == 0.0
    assert lines.loc["survival line of healthy dogs", "minutes"] == 31.0
    assert lines["source"].str.len().min() > 5
    assert len(lines) == len(LINES)


@pytest.mark.parametrize("when", ["night", "sun"])
def test_after_the_stop_the_cabin_only_gets_worse_and_the_caution_stands_by(desert: Weather, when: str) -> None:
    van = vary(load_scenario("scenarios/desert-night.toml"), {"bank.parallel": 1})
    hazard = after_reserve(van, desert, when)  # type: ignore[arg-type]
    first_hour = hazard.series.loc[:60.0, "cabin_c"]
    assert first_hour.iloc[-1] > first_hour.iloc[0] + 1.0
    assert hazard.lines.loc["bedroom criterion", "minutes"] < 60.0
    assert hazard.caution == CAUTION
    assert "NEVER leave a child or a pet alone" in CAUTION
    assert hazard.story.endswith(f"{hazard.moment:%H:%M}.")
    if when == "night":
        assert "at the bank's reserve" in hazard.story


def test_sun_is_faster_than_night(desert: Weather) -> None:
    van = load_scenario("scenarios/desert-night.toml")
    night, sun = (after_reserve(van, desert, w).lines["minutes"] for w in ("night", "sun"))
    hot = "dogs in transport: ventilation or cooling required"
    assert sun[hot] < 0.5 * night[hot]


def test_an_empty_van_warms_up_towards_the_outdoors_and_no_further() -> None:
    """No sun, no bodies, no load that warms: the end is known."""
    hazard = after_reserve(plain_van(), steady_weather(34.0), "night", season="07-10..07-10")
    cabin = hazard.series["cabin_c"]
    assert cabin.is_monotonic_increasing
    assert 33.0 < cabin.iloc[-1] < 34.0
    assert hazard.lines.loc["above a dog's thermoneutral zone", "minutes"] == float("inf")


def test_another_case_is_refused(desert: Weather) -> None:
    with pytest.raises(ScenarioError, match="night, sun"):
        after_reserve(plain_van(), desert, "noon")  # type: ignore[arg-type]
