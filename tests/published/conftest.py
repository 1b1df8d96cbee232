"""Every test here is a check against the outside; rows that cannot fail the build are reported at the end."""

from __future__ import annotations

from pathlib import Path

import pytest

from tests.support.bench import REPORTED

HERE = Path(__file__).parent


def pytest_collection_modifyitems(items: list[pytest.Item]) -> None:
    for item in items:
        if HERE in item.path.parents:
            item.add_marker(pytest.mark.published)


def pytest_terminal_summary(terminalreporter: pytest.TerminalReporter) -> None:
    if REPORTED:
        terminalreporter.section("published values that disagree but do not bind")
        for line in REPORTED:
            terminalreporter.line(line)
