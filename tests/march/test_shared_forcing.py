"""What banks and coolers share is shared, and nothing that matters to the forcing is taken for the same."""

from __future__ import annotations

from dataclasses import replace
from typing import Any

import numpy as np
import pytest

from tests.support.vans import bank, cooler, van
from vansim.boundary import forcing
from vansim.boundary.forcing import NOT_READ, build_forcing
from vansim.climate import Weather
from vansim.scenario.schema import Night, Pitch, Scenario, Thermostat, VehicleCooling

DAY = (0, 0, 2 * 1440)


def same_arrays(a: forcing.Forcing, b: forcing.Forcing) -> bool:
    return all(np.array_equal(one, other) for one, other in zip(a, b, strict=True))


@pytest.mark.parametrize(
    "change",
    [
        {"bank": bank(7)},
        {"bank": bank(2, chemistry="agm", start_soc=0.3)},
        {"cooler": cooler(min_on_s=60.0)},
        {"vehicle_cooling": VehicleCooling(setpoint_c=19.0)},
        {"title": "another", "note": "a word", "currency": "EUR", "run": van().run.model_copy(update={"days": 9})},
        {"weather": "elsewhere.epw", "parts": "own", "variants": {"eco": {"bank.parallel": 2}}},
    ],
    ids=lambda change: "+".join(change),
)
def test_what_is_not_read_is_shared_and_rightly_so(desert_year: Weather, change: dict[str, Any]) -> None:
    """The arrays are the same object, and the same numbers as when laid anew."""
    before, after = van(), van().model_copy(update=change)
    assert set(change) <= NOT_READ
    shared = build_forcing(before, desert_year, *DAY)
    assert build_forcing(after, desert_year, *DAY) is shared
    assert same_arrays(forcing._build(after, desert_year, *DAY).forcing, shared.forcing)


@pytest.mark.parametrize(
    "change",
    [
        {"cooler": None},
        {"site": Pitch(albedo=0.5)},
        {"night": Night(bedtime="21:30")},
        {"thermostat": Thermostat(setpoint_c=21.0)},
        {"loads": ()},
        {"solar": None},
    ],
    ids=lambda change: "+".join(change),
)
def test_what_is_read_is_laid_anew(desert_year: Weather, change: dict[str, Any]) -> None:
    shared = build_forcing(van(), desert_year, *DAY)
    assert build_forcing(van().model_copy(update=change), desert_year, *DAY) is not shared


def test_another_place_or_window_is_laid_anew(desert_year: Weather, coast_year: Weather) -> None:
    shared = build_forcing(van(), desert_year, *DAY)
    assert build_forcing(van(), coast_year, *DAY) is not shared
    assert build_forcing(van(), desert_year, 24, 0, 2 * 1440) is not shared
    assert build_forcing(van(), desert_year, 0, 0, 1440) is not shared


def test_forcing_goes_by_what_a_year_holds(desert_year: Weather) -> None:
    """The same numbers from elsewhere are the same; other numbers are laid anew."""
    before = build_forcing(van(), desert_year, *DAY)
    same = replace(desert_year, data=desert_year.data.copy(), source="elsewhere.epw")
    assert build_forcing(van(), same, *DAY) is before
    warmer = replace(desert_year, data=desert_year.data.assign(temp_air=desert_year.data["temp_air"] + 3.0))
    after = build_forcing(van(), warmer, *DAY)
    np.testing.assert_allclose(after.forcing.outdoor_c, before.forcing.outdoor_c + 3.0)


def test_fields_known_not_to_be_read_are_fields() -> None:
    """A field that is added to a scenario is taken to matter; one that goes must go from the list too."""
    assert set(Scenario.model_fields) >= NOT_READ
