"""Shared by all tests: typical years, and hypothesis without a deadline (a first call of compiled code compiles)."""

from __future__ import annotations

import os

import pytest
from hypothesis import HealthCheck, settings

from tests.support.places import DEMO, SHIPPED
from vansim.climate import Weather, read_weather

os.environ.pop("COLUMNS", None)  # workers of a parallel run are told 80; a test that means a screen says so itself

settings.register_profile(
    "vansim", deadline=None, derandomize=True, suppress_health_check=[HealthCheck.too_slow, HealthCheck.data_too_large]
)
settings.load_profile("vansim")


@pytest.fixture(scope="session")
def desert_year() -> Weather:
    """The invented hot desert."""
    return read_weather(DEMO / "desert.epw")


@pytest.fixture(scope="session")
def coast_year() -> Weather:
    """The invented hot, humid coast."""
    return read_weather(DEMO / "coast.epw")


@pytest.fixture(scope="session")
def miami_year() -> Weather:
    """A typical year that pvlib ships (TMY2 12839)."""
    return read_weather(SHIPPED / "12839.tm2")
