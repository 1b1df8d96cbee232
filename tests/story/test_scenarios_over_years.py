"""The six scenarios over whole years in three climates, and one place given in two formats."""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pytest

from tests.support.epw_writer import epw_from_tmy3
from tests.support.places import SHIPPED
from vansim import load_scenario, read_weather, simulate
from vansim.climate import Weather
from vansim.runs.simulate import over_year
from vansim.scenario.files import default_scenario_path

SCENARIOS = sorted(default_scenario_path().parent.glob("*.toml"))


@pytest.mark.parametrize("place", ["desert", "coast", "miami"])
@pytest.mark.parametrize("path", SCENARIOS, ids=lambda p: p.stem)
def test_a_year_of_every_scenario(path: Path, place: str, request: pytest.FixtureRequest) -> None:
    """Warnings are errors; the books close; what goes unserved is said."""
    weather: Weather = request.getfixturevalue(f"{place}_year")
    result = simulate(over_year(load_scenario(path)), weather)
    assert max(abs(gap) for gap in result.balance.values()) < 1e-6
    hourly = result.hourly
    assert hourly.drop(columns="supply_c").notna().all().all()
    assert hourly["soc"].between(0.0, 1.0).all()
    dark = hourly["unserved_w"].sum() > 1.0
    assert dark == any(note.code == "loads-unserved" for note in result.warnings)


@pytest.mark.parametrize("name", ["723170TYA.CSV", "703165TY.csv"])
def test_one_place_in_two_formats(name: str, tmp_path: Path) -> None:
    """TMY3 as shipped and the same year rewritten as EPW: the same cabin, the same energy."""
    (tmp_path / "same.epw").write_text(epw_from_tmy3(SHIPPED / name))
    scenario = over_year(load_scenario(default_scenario_path()))
    one = simulate(scenario, read_weather(SHIPPED / name)).hourly
    two = simulate(scenario, read_weather(tmp_path / "same.epw")).hourly
    rms = float(np.sqrt(((one["cabin_c"].to_numpy() - two["cabin_c"].to_numpy()) ** 2).mean()))
    assert rms < 0.1
    assert two["cooler_w"].sum() == pytest.approx(one["cooler_w"].sum(), rel=0.005)
