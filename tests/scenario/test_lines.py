"""The scanner gives every key its line; grammar errors come with a hint."""

import tomllib

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from vansim.scenario.lines import grammar_fault, key_lines, line_of

TEXT = '''\
# head
title = "a # b"   # not a comment inside
note = """
two = 1
"quoted" """
a.b = 3

[bank]
unit = { part = "x", deep = { y = [1,
  2] } }

[[day]]
name = 'first'
[[day.segment]]
start = "00:00"
[[day.segment]]
start = "12:00"
"odd key" = 1
[[day]]
[[day.segment]]
shade = 0.5
loads = [
  { name = "fridge" },
  { name = "lights", hours = [{ start = "20:00" }] },
]
'''


@pytest.mark.parametrize(
    ("path", "line"),
    [
        (("title",), 2),
        (("note",), 3),
        (("a", "b"), 6),
        (("a",), 6),
        (("bank",), 8),
        (("bank", "unit", "part"), 9),
        (("bank", "unit", "deep", "y", 0), 9),
        (("bank", "unit", "deep", "y", 1), 10),
        (("day",), 12),
        (("day", 0, "name"), 13),
        (("day", 0, "segment", 1, "start"), 17),
        (("day", 0, "segment", 1, "odd key"), 18),
        (("day", 1), 19),
        (("day", 1, "segment", 0, "shade"), 21),
        (("day", 1, "segment", 0, "loads", 1, "hours", 0, "start"), 24),
    ],
)
def test_every_key_has_its_line(path, line):
    assert key_lines(TEXT)[path] == line
    assert key_lines(TEXT.replace("\n", "\r\n"))[path] == line


def test_what_was_not_written_has_the_line_of_what_is_around_it():
    lines = key_lines(TEXT)
    assert line_of(lines, ("day", 0, "segment", 0, "shade")) == 14
    assert line_of(lines, ("cabin",)) is None


def _paths(value, path=()):
    if path:
        yield path
    pairs = value.items() if isinstance(value, dict) else enumerate(value) if isinstance(value, list) else ()
    for key, item in pairs:
        yield from _paths(item, (*path, key))


def test_every_path_of_the_standard_reader_is_found():
    assert set(_paths(tomllib.loads(TEXT))) == set(key_lines(TEXT))


_SCALAR = st.sampled_from(
    ["1", "-0.5", "true", '"t#\\"ext"', "'[x]'", '"""a\n"b" = 2"""', "[1, [2, 3]]", '{ p = 1, q."r s" = "}" }']
)


@settings(deadline=None)
@given(st.lists(st.tuples(st.sampled_from(["", "[t{n}]", "[[list]]", "[[list.deep]]", "# c"]), _SCALAR), max_size=12))
def test_any_text_is_scanned_as_the_standard_reader_reads_it(rows):
    text = "[[list]]\n"
    for n, (header, value) in enumerate(rows):
        text += f"{header.format(n=n)}\nkey{n} = {value}\n"
    assert set(_paths(tomllib.loads(text))) == set(key_lines(text))


@pytest.mark.parametrize(
    ("row", "hint"),
    [
        ("x = 24,5", "24.5, not 24,5"),
        ("x = .9", "0.9, not .9"),
        ("x = 9.", "9.0, not 9."),
        ("x = 22:00", '"22:00"'),
        ("x = True", "true and false"),
        ("x = None", "leave the key out"),
        ("x = 75 degF", '"75 degF"'),
        ("x = roof-unit", "quotes"),
        ("x = 007", "leading zero"),
        ("x =", "the value after the equals sign is missing"),
        ("just words", "a line is key = value"),
        ('x = "C:\\data"', "backslash"),
        ("x = 1\nx = 2", "twice"),
        ("[a]\n[a]", "twice"),
    ],
)
def test_a_grammar_error_comes_with_line_and_hint(row, hint):
    text = f"a_first = 1\n{row}\nlast = 3\n"
    with pytest.raises(tomllib.TOMLDecodeError) as caught:
        tomllib.loads(text)
    line, column, words = grammar_fault(text, caught.value)
    assert hint in words
    assert 2 <= line <= 3
    assert column >= 1
