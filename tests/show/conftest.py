"""One small set of studies for all tests of pictures and reports."""

from __future__ import annotations

import pytest

from vansim.scenario.files import default_scenario_path, load_scenario
from vansim.scenario.vary import vary
from vansim.show.report.findings import Findings, find
from vansim.show.report.report import Report, tell

SEASON = "07-14..07-18"
NAME = "A <script>alert(1)</script> & Sons, $5"


@pytest.fixture(scope="session")
def found() -> Findings:
    """The bundled night over a few days of its season."""
    return find(load_scenario(default_scenario_path()), season=SEASON)


@pytest.fixture(scope="session")
def short() -> Findings:
    """The same with a bank that does not last, in US units and with a dog."""
    scenario = vary(load_scenario(default_scenario_path()), {"bank.parallel": 1, "occupants.dogs": [{"mass_kg": 20.0}]})
    return find(scenario, season=SEASON)


@pytest.fixture(scope="session")
def customer(found: Findings) -> Report:
    """A report with a hostile name and a fixed date."""
    return tell(found, name=NAME, date="2026-07-01")


@pytest.fixture(scope="session")
def customer_us(short: Findings) -> Report:
    """A report on a lost night in US units."""
    return tell(short, name="Example", system="us", date="2026-07-01")
