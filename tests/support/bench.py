"""The bench of the published checks: every check is a row with its source, and one rule says what a row may do.

A row holds ``check, expected, ours, tolerance, unit, why, source, kind, status``:

* `why` says where the tolerance comes from;
* `kind` is ``standard``, ``textbook``, ``measurement``, ``library``, ``closed form`` or ``common practice``;
* `status` is ``look-up`` (read in a public copy), ``computed`` (worked out with the named library or equation),
  ``common practice`` (a rule of the trade without one author) or ``memory`` (recalled, not yet re-read in print).

A row binds, that is, it can fail the build, unless its status is ``memory`` or it has no tolerance. A row without a
tolerance is a known disagreement or a value that is only stated; its `why` says which. Rows that do not bind and do not
agree are printed at the end of a test run.
"""

from __future__ import annotations

from typing import Any

import pandas as pd

from tests.support.places import ROOT

TABLES = ROOT / "tests" / "published"
COLUMNS = ["check", "expected", "ours", "tolerance", "unit", "why", "source", "kind", "status"]
KINDS = ("standard", "textbook", "measurement", "library", "closed form", "common practice")
STATUSES = ("look-up", "computed", "common practice", "memory")
REPORTED: list[str] = []
"""Rows that do not bind and do not agree, for the end of a test run."""


def read(name: str) -> pd.DataFrame:
    """A table beside the published checks; lines that start with # say where it comes from."""
    return pd.read_csv(TABLES / f"{name}.csv", comment="#", skipinitialspace=True)


def row(
    check: str,
    expected: float,
    ours: float,
    tolerance: float,
    unit: str,
    why: str,
    source: str,
    kind: str,
    status: str = "look-up",
) -> dict[str, Any]:
    """One check; a tolerance of NaN makes it a statement."""
    return dict(zip(COLUMNS, (check, expected, float(ours), tolerance, unit, why, source, kind, status), strict=True))


def between(
    check: str,
    low: float,
    high: float,
    ours: float,
    unit: str,
    why: str,
    source: str,
    kind: str,
    status: str = "look-up",
) -> dict[str, Any]:
    """A check against a range."""
    return row(check, 0.5 * (low + high), ours, 0.5 * (high - low), unit, why, source, kind, status)


def judge(rows: Any) -> pd.DataFrame:
    """Errors and verdicts of a table of checks.

    Returns
    -------
    DataFrame
        With ``error`` (ours less expected), ``agrees`` and ``binds``.
    """
    table = pd.DataFrame(rows)
    missing = [c for c in COLUMNS if c not in table]
    assert not missing, f"columns missing: {missing}"
    assert set(table["kind"]) <= set(KINDS), set(table["kind"]) - set(KINDS)
    assert set(table["status"]) <= set(STATUSES), set(table["status"]) - set(STATUSES)
    assert table[["check", "unit", "why", "source"]].map(lambda text: bool(str(text).strip())).all(axis=None)
    table["error"] = table["ours"] - table["expected"]
    table["agrees"] = table["error"].abs() <= table["tolerance"] * (1.0 + 1e-12)
    table["binds"] = (table["status"] != "memory") & table["tolerance"].notna()
    return table


def hold(rows: Any) -> pd.DataFrame:
    """Judge, keep what does not bind for the report, and fail where a binding row does not agree."""
    table = judge(rows)
    off = table[~table["agrees"]]
    lines = [
        f"{r.check}: {r.ours:.5g} {r.unit}, expected {r.expected:.5g} +/- {r.tolerance:.3g} ({r.source}; {r.status})"
        for r in off.itertuples()
    ]
    for line, binds in zip(lines, off["binds"], strict=True):
        if not binds and line not in REPORTED:
            REPORTED.append(line)
    failed = [line for line, binds in zip(lines, off["binds"], strict=True) if binds]
    assert not failed, "\n" + "\n".join(failed)
    assert table["binds"].any(), "nothing here can fail"
    return table
