"""One small set of studies for all tests of pictures and reports."""

from __future__ import annotations

from typing import TYPE_CHECKING

import pytest

from tests.support.pictured import SEASON, Pictured, pictured
from vansim.scenario.files import default_scenario_path, load_scenario
from vansim.scenario.vary import vary

if TYPE_CHECKING:
    from vansim.show.report.findings import Findings
    from vansim.show.report.report import Report

NAME = "A <script>alert(1)</script> & Sons, $5"


@pytest.fixture(scope="session")
def lasting() -> Pictured:
    """The bundled night over a few days of its season."""
    return pictured(load_scenario(default_scenario_path()))


@pytest.fixture(scope="session")
def emptied() -> Pictured:
    """The same with a bank that is empty before bedtime, and with a dog."""
    desert = load_scenario(default_scenario_path())
    return pictured(vary(desert, {"bank.parallel": 2, "occupants.dogs": [{"mass_kg": 20.0}]}))


@pytest.fixture(scope="session")
def kennel() -> Pictured:
    """A working day instead of a night, charged on the road and plugged in."""
    return pictured(load_scenario(default_scenario_path().parent / "kennel-day.toml"))


@pytest.fixture(scope="session")
def coast() -> Pictured:
    """Damp nights in a family's van."""
    return pictured(load_scenario(default_scenario_path().parent / "coast-family.toml"))


@pytest.fixture(scope="session")
def found() -> Findings:
    """The bundled night over a few days of its season."""
    from vansim.show.report.findings import find

    return find(load_scenario(default_scenario_path()), season=SEASON)


@pytest.fixture(scope="session")
def short() -> Findings:
    """The same with a bank that does not last, in US units and with a dog."""
    from vansim.show.report.findings import find

    scenario = vary(load_scenario(default_scenario_path()), {"bank.parallel": 1, "occupants.dogs": [{"mass_kg": 20.0}]})
    return find(scenario, season=SEASON)


@pytest.fixture(scope="session")
def customer(found: Findings) -> Report:
    """A report with a hostile name and a fixed date."""
    from vansim.show.report.report import tell

    return tell(found, name=NAME, date="2026-07-01")


@pytest.fixture(scope="session")
def customer_us(short: Findings) -> Report:
    """A report on a lost night in US units."""
    from vansim.show.report.report import tell

    return tell(short, name="Example", system="us", date="2026-07-01")
