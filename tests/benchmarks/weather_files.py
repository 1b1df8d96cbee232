"""64 typical-year files read for the first time and from the cache, each in a process of its own."""

from __future__ import annotations

import os
import subprocess
import sys
import tempfile
from pathlib import Path

from tests.support.places import DEMO, ROOT, SHIPPED

FILES = 64
READ = """
import sys, time
from pathlib import Path
from vansim.climate import read_weather
begun = time.process_time()
for path in sorted(Path(sys.argv[1]).iterdir()):
    read_weather(path)
print(time.process_time() - begun)
"""


def written(folder: Path, count: int = FILES) -> None:
    """Files of three formats, told apart by a name in the head; their hours are those of four years."""
    originals = [DEMO / "desert.epw", DEMO / "coast.epw", SHIPPED / "723170TYA.CSV", SHIPPED / "12839.tm2"]
    for number in range(count):
        source = originals[number % len(originals)]
        text = source.read_bytes().decode("cp1252")
        head, rest = text.split("\n", 1)
        word = {".epw": "Invented", ".CSV": "GREENSBORO", ".tm2": "MIAMI"}[source.suffix]
        assert word in head, head
        name = f"{chr(97 + number // 26)}{chr(97 + number % 26)}"
        (folder / f"{name}{source.suffix}").write_bytes(f"{head.replace(word, word + name)}\n{rest}".encode("cp1252"))


def seconds(folder: Path, cache: Path) -> float:
    """Processor time of reading every file of a folder, pvlib's import included, in a process of its own [s]."""
    done = subprocess.run(
        [sys.executable, "-c", READ, str(folder)], cwd=ROOT, capture_output=True, text=True, check=True,
        env={**os.environ, "VANSIM_CACHE": str(cache), "PYTHONPATH": str(ROOT)},
    )  # fmt: skip
    return float(done.stdout)


def first_and_again(count: int = FILES) -> tuple[float, float]:
    """Seconds for reading many files with nothing in the cache but compiled code, and once more."""
    with tempfile.TemporaryDirectory() as made:
        files, cache, one = Path(made) / "files", Path(made) / "cache", Path(made) / "one"
        files.mkdir(), one.mkdir()
        written(one, 1)
        seconds(one, cache)  # compiles what reading takes
        for entry in cache.rglob("year-*"):
            entry.unlink()
        written(files, count)
        return seconds(files, cache), seconds(files, cache)
