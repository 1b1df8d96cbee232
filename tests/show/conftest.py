"""One small set of studies for all tests of pictures and reports."""

from __future__ import annotations

import pytest

from tests.support.pictured import SEASON, Pictured, pictured
from vansim.scenario.files import default_scenario_path, load_scenario
from vansim.scenario.vary import vary
from vansim.show.report.report import Report, tell
from vansim.show.report.studies import Studies, run_studies

DATE = "2026-07-01"
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
def studies() -> Studies:
    """Everything that a report is made from, for the bundled night over a few days of its season."""
    return run_studies(load_scenario(default_scenario_path()), season=SEASON)


@pytest.fixture(scope="session")
def short_studies() -> Studies:
    """The same with a bank that is empty before bedtime, and with a dog but nobody else on board."""
    desert = load_scenario(default_scenario_path())
    changes = {
        "bank.parallel": 2,
        "occupants.people": [],
        "occupants.dogs": [{"mass_kg": 20.0}],
        "day.*.*.dogs": "awake",
    }
    return run_studies(vary(desert, changes), season=SEASON)


@pytest.fixture(scope="session")
def customer(studies: Studies) -> Report:
    """A report with a hostile name and a fixed date."""
    return tell(studies, name=NAME, date=DATE, sender="Example Vans", address="1 Example Road\nExampletown")


@pytest.fixture(scope="session")
def customer_us(short_studies: Studies) -> Report:
    """A report on a bank that is empty before bedtime, in US units."""
    return tell(short_studies, name="Example", system="us", date=DATE)
