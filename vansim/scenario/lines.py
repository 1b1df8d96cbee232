"""Where each key of a TOML text stands, and what its grammar errors mean.

The standard reader keeps no line numbers, so this one walks the text a second time. It only needs to be right for text
that the standard reader has accepted.
"""

from __future__ import annotations

import re
import tomllib

from vansim.scenario.faults import shown

Path = tuple[str | int, ...]

_BARE = re.compile(r"[A-Za-z0-9_-]+")
_AT = re.compile(r"\s*\(at (?:line (\d+), column (\d+)|end of document)\)")


class _Scanner:
    """One walk over a text; `lines` fills up with the line of every key, table and array item."""

    def __init__(self, text: str) -> None:
        self.text = text
        self.at = 0
        self.lines: dict[Path, int] = {}
        self.counts: dict[Path, int] = {}

    def line(self) -> int:
        return self.text.count("\n", 0, self.at) + 1

    def peek(self, size: int = 1) -> str:
        return self.text[self.at : self.at + size]

    def blank(self, newlines: bool) -> None:
        """Skip spaces and comments, and line ends too where they mean nothing."""
        while self.at < len(self.text):
            char = self.text[self.at]
            if char in " \t\r" or (char == "\n" and newlines):
                self.at += 1
            elif char == "#":
                end = self.text.find("\n", self.at)
                self.at = len(self.text) if end < 0 else end
            else:
                return

    def string(self) -> None:
        quote = self.peek()
        mark = quote * 3 if self.peek(3) == quote * 3 else quote
        self.at += len(mark)
        while self.at < len(self.text) and not self.text.startswith(mark, self.at):
            self.at += 2 if quote == '"' and self.text[self.at] == "\\" else 1
        self.at += len(mark)
        while len(mark) == 3 and self.peek() == quote:  # up to two quotes may stand before the closing three
            self.at += 1

    def key(self) -> Path:
        """A key, perhaps dotted, perhaps quoted."""
        found: list[str] = []
        while True:
            self.blank(False)
            if self.peek() in ('"', "'"):
                start = self.at
                self.string()
                found.append(next(iter(tomllib.loads(f"{self.text[start : self.at]} = 0"))))  # escapes are read
            elif match := _BARE.match(self.text, self.at):
                found.append(match.group())
                self.at = match.end()
            else:
                return tuple(found)
            self.blank(False)
            if self.peek() != ".":
                return tuple(found)
            self.at += 1

    def place(self, base: Path, key: Path) -> Path:
        """Full path of a key under a table; through an array of tables it means the newest item."""
        full = base
        for part in key:
            full = (*full, part)
            if full in self.counts:
                full = (*full, self.counts[full] - 1)
        return full

    def note(self, path: Path, line: int, depth: int) -> None:
        """Give a line to a path, and to the tables that a dotted key opens on the way."""
        for end in range(depth + 1, len(path)):
            self.lines.setdefault(path[:end], line)
        self.lines[path] = line

    def header(self) -> Path:
        line, double = self.line(), self.peek(2) == "[["
        self.at += 2 if double else 1
        key = self.key()
        self.at += 2 if double else 1
        if double:
            array = (*self.place((), key[:-1]), key[-1])
            self.counts[array] = self.counts.get(array, 0) + 1
            self.lines.setdefault(array, line)
            table = (*array, self.counts[array] - 1)
        else:
            table = self.place((), key)
        self.note(table, line, 0)
        return table

    def value(self, path: Path) -> None:
        self.blank(True)
        char = self.peek()
        if char in ('"', "'"):
            self.string()
        elif char == "[":
            self.array(path)
        elif char == "{":
            self.table(path)
        else:
            while self.at < len(self.text) and self.peek() not in ",]}#\n":
                self.at += 1

    def array(self, path: Path) -> None:
        self.at += 1
        number = 0
        while self.at < len(self.text):
            self.blank(True)
            if self.peek() == "]":
                self.at += 1
                return
            self.lines[(*path, number)] = self.line()
            self.value((*path, number))
            number += 1
            self.blank(True)
            if self.peek() == ",":
                self.at += 1

    def table(self, path: Path) -> None:
        self.at += 1
        while self.at < len(self.text):
            self.blank(True)
            if self.peek() == "}":
                self.at += 1
                return
            self.pair(path)
            self.blank(True)
            if self.peek() == ",":
                self.at += 1

    def pair(self, base: Path) -> None:
        line, before = self.line(), self.at
        path = (*base, *self.key())
        self.note(path, line, len(base))
        self.blank(False)
        self.at += 1  # the equals sign
        self.value(path)
        self.at = max(self.at, before + 1)

    def scan(self) -> dict[Path, int]:
        table: Path = ()
        while True:
            self.blank(True)
            if self.at >= len(self.text):
                return self.lines
            if self.peek() == "[":
                table = self.header()
            else:
                self.pair(table)


def key_lines(text: str) -> dict[Path, int]:
    """Line of every key in a TOML text that the standard reader accepts.

    Parameters
    ----------
    text : str
        The file.

    Returns
    -------
    dict of tuple to int
        Path of keys and list positions, such as ``("day", 0, "segment", 2, "shade")``, to line, counted from 1. Tables
        and items of arrays have a line too.
    """
    return _Scanner(text.replace("\r\n", "\n")).scan()


def line_of(lines: dict[Path, int], path: Path) -> int | None:
    """Line of a path, or of the nearest thing around it that was written; None where nothing was."""
    for end in range(len(path), 0, -1):
        if path[:end] in lines:
            return lines[path[:end]]
    return None


_HINTS = (
    (r"=\s*[-+]?\d+,\d", "a decimal is written with a point: 24.5, not 24,5"),
    (r"[=\[,]\s*[-+]?\.\d", "a number needs a digit before its point: 0.9, not .9"),
    (r"[=\[,]\s*[-+]?\d+\.(?!\d)", "a number needs a digit after its point: 9.0, not 9."),
    (r"=\s*\d{1,2}:\d\d(?!:)", 'a clock time is text and needs quotes: "22:00"'),
    (r"=\s*(True|False|TRUE|FALSE|yes|no|Yes|No|on|off)\b", "yes and no are written true and false"),
    (r"=\s*(None|null|nil)\b", "there is no empty value: leave the key out"),
    (r'=\s*"[^"]*\\', r"a backslash in \"...\" must be doubled; for a path use '...' or forward slashes"),
    (r"=\s*[-+]?\d[\d_.]*\s*[A-Za-z°%]", 'a number with a unit is text and needs quotes: "75 degF"'),
    (r"=\s*0\d", "a number has no leading zero"),
    (r"=\s*[A-Za-z]", 'text needs quotes: cooler = "name"'),
    (r"=\s*(#.*)?$", "the value after the equals sign is missing"),
    (r"^\s*[^\[#=]+$", "a line is key = value, [table], [[list of tables]] or # comment"),
    (r"^\s*[^=\[]*[^\w\s.\"'=\[-][^=]*=", "a key with characters other than letters, digits, - and _ needs quotes"),
)


def grammar_fault(text: str, fault: Exception) -> tuple[int, int, str]:
    """What a grammar error of the standard TOML reader means.

    Parameters
    ----------
    text : str
        The file.
    fault : Exception
        As the reader raised it.

    Returns
    -------
    line, column : int
        Where, counted from 1.
    sentence : str
        What is wrong, with a hint where the line shows one.
    """
    message = str(fault)
    match = _AT.search(message)
    rows = text.replace("\r\n", "\n").split("\n")
    line, column = len(rows), len(rows[-1]) + 1
    if match and match.group(1):
        line, column = int(match.group(1)), int(match.group(2))
    said = _AT.sub("", message).strip()
    said = said[:1].lower() + said[1:]
    row = rows[min(line, len(rows)) - 1]
    hint = ""
    if "overwrite" in said or "twice" in said or "already" in said or "mutate" in said:
        said = "this key or table is given twice"
        hint = "keep one; a list of tables has double brackets, such as [[day]]"
    else:
        hint = next((words for pattern, words in _HINTS if re.search(pattern, row)), "")
    sentence = f"not valid TOML: {said} (you wrote {shown(row.strip())})"
    return line, column, f"{sentence}; {hint}" if hint else sentence
