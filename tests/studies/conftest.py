"""The invented desert year, read once."""

from __future__ import annotations

from pathlib import Path

import pytest

from vansim.climate import Weather, read_weather


@pytest.fixture(scope="session")
def desert() -> Weather:
    return read_weather(Path(__file__).parents[2] / "data_demo" / "climates" / "desert.epw")


@pytest.fixture(scope="session")
def coast() -> Weather:
    return read_weather(Path(__file__).parents[2] / "data_demo" / "climates" / "coast.epw")
