"""Years used by several tests: the three typical years that pvlib ships, and the two invented ones."""

from __future__ import annotations

import pytest

from tests.support.places import DEMO, SHIPPED
from vansim.climate import Weather, read_weather


@pytest.fixture(scope="session")
def greensboro() -> Weather:
    return read_weather(SHIPPED / "723170TYA.CSV")


@pytest.fixture(scope="session")
def sand_point() -> Weather:
    return read_weather(SHIPPED / "703165TY.csv")


@pytest.fixture(scope="session")
def miami() -> Weather:
    return read_weather(SHIPPED / "12839.tm2")


@pytest.fixture(scope="session")
def desert() -> Weather:
    return read_weather(DEMO / "desert.epw")


@pytest.fixture(scope="session")
def coast() -> Weather:
    return read_weather(DEMO / "coast.epw")
