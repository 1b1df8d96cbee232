"""Narrow screens, pipes and long work: lines fit, tables fold, nothing is coloured, and the rest time is told."""

from __future__ import annotations

import re
import sys

import pytest

from tests.support.screens import SCENARIOS, call
from vansim.cli.common import compiling_notice, progress, rest_words
from vansim.show.text.tables import folded, table_lines
from vansim.show.text.width import columns, told_columns

SEASON = ("--season", "07-14..07-15")
SCREENS = [
    ("check",),
    ("check", SCENARIOS["driving-week"], "--units", "us"),
    ("run",),
    ("run", SCENARIOS["coast-family"], "--days", "3"),
    ("energy",),
    ("recharge",),
    ("nights", *SEASON),
    ("compare", *SEASON, "--vary", "a name that is much longer than a narrow screen has room for: bank.parallel=2"),
    ("outage", *SEASON),
    ("parts",),
    ("parts", "roof-12v-2600w"),
    ("examples",),
]


@pytest.mark.parametrize("words", SCREENS, ids=lambda words: " ".join(str(getattr(w, "stem", w)) for w in words)[:40])
def test_every_line_fits_sixty_columns(words, monkeypatch):
    monkeypatch.setenv("COLUMNS", "60")
    done = call(*words)
    assert done.exit_code == 0, done.output
    assert [line for line in done.stdout.splitlines() if len(line) > 60] == []


def test_a_folded_table_holds_every_cell(monkeypatch):
    head = ("path", "area\n[m2]", "a heading of many words", "another heading of many words")
    rows = [("roof", "9.5", "1", "2"), ("a wall", "8", "3", "4")]
    wide = table_lines(head, rows)
    monkeypatch.setenv("COLUMNS", "44")
    lines = table_lines(head, rows)
    assert lines == folded(head, rows) != wide
    assert lines[:4] == [
        "  roof", "    area [m2]: 9.5", "    a heading of many words: 1", "    another heading of many words: 2",
    ]  # fmt: skip


@pytest.mark.parametrize(("said", "wide"), [("200", 80), ("60", 60), ("5", 40), ("x", 80), ("", 80), ("0", 80)])
def test_columns_are_bounded_and_nonsense_is_passed_over(monkeypatch, said, wide):
    monkeypatch.setenv("COLUMNS", said)
    assert columns() == wide


def test_a_pipe_has_no_width_and_keeps_tables_whole(monkeypatch):
    monkeypatch.delenv("COLUMNS", raising=False)
    assert told_columns() is None or sys.stdout.isatty()
    lines = call("parts", "coolers").stdout.splitlines()
    assert len(next(line for line in lines if "roof-12v-2600w" in line)) > 80


@pytest.mark.parametrize("colour", ["NO_COLOR", "FORCE_COLOR"])
def test_nothing_is_coloured(monkeypatch, colour):
    monkeypatch.setenv(colour, "1")
    for words in (("check",), ("--help",), ("run", "--help"), ("check", "nowhere.toml")):
        done = call(*words)
        assert "\x1b" not in done.stdout + done.stderr


def test_the_rest_time_is_told_once_it_is_known():
    assert rest_words(1.0, 1, 10) == ""
    assert rest_words(10.0, 0, 10) == ""
    assert rest_words(10.0, 10, 10) == ""
    assert rest_words(10.0, 2, 10) == ", about 40 s left"
    assert rest_words(60.0, 2, 10) == ", about 4 min left"


def test_progress_overwrites_its_own_line(monkeypatch, capsys):
    assert progress("nights") is None
    monkeypatch.setattr(sys.stderr, "isatty", lambda: True)
    clock = iter([0.0, 10.0, 20.0, 100.0])
    monkeypatch.setattr("vansim.cli.common.time.monotonic", lambda: next(clock))
    count = progress("nights")
    assert count is not None
    for done in (2, 3, 10):
        count(done, 10)
    said = capsys.readouterr().err
    assert re.split("\r", said)[1].rstrip() == "nights: 2 of 10, about 40 s left"
    assert said.endswith("\n")
    assert len({len(line.rstrip("\n")) for line in said.split("\r")[1:]}) == 1  # nothing of a longer line is left


def test_the_first_compilation_is_announced(monkeypatch, capsys, tmp_path):
    monkeypatch.setattr("vansim.jit.cache_folder", lambda: tmp_path)
    compiling_notice()
    assert capsys.readouterr().err == ""
    monkeypatch.setattr(sys.stderr, "isatty", lambda: True)
    compiling_notice()
    assert capsys.readouterr().err == "compiling once, about 20 s ...\n"
    (tmp_path / "kept").write_text("")
    compiling_notice()
    assert capsys.readouterr().err == ""
