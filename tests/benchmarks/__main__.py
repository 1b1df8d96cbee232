"""``python -m tests.benchmarks``: one table of ratios, each measured in one run; nothing here passes or fails."""

from __future__ import annotations

import argparse
import os
import platform
from collections.abc import Sequence

from tests.benchmarks import measure
from tests.benchmarks.years import cycling


def show(rows: Sequence[measure.Row]) -> None:
    """Print rows as they come."""
    for what, figure, target, how in rows:
        print(f"{what:<52} {figure:<36} {target:<10} {how}".rstrip(), flush=True)


def main() -> None:
    """Measure and print."""
    parser = argparse.ArgumentParser(prog="python -m tests.benchmarks", description=__doc__)
    parser.add_argument("--only", default="acdefg", help="letters of the rows wanted (default: all)")
    parser.add_argument("--years", type=int, default=1000, help="most scenario-years in row e (1000 take a minute)")
    wanted = parser.parse_args()
    print(f"{platform.machine()}, {os.cpu_count()} cores, load {os.getloadavg()[0]:.2f} at the start\n")
    show([("what", "figure", "target", "how")])
    if set(wanted.only) & set("ac"):
        run = cycling()
        rows, seconds = measure.year_rows(run)
        show(rows)
        if "a" in wanted.only:
            show(measure.integrator_rows(run))
        if "c" in wanted.only:
            show(measure.hourly_rows(run, seconds))
    if "d" in wanted.only:
        show(measure.preparation_rows())
    if "e" in wanted.only:
        show(measure.thread_rows(wanted.years))
    if "f" in wanted.only:
        show(measure.start_rows())
    if "g" in wanted.only:
        show(measure.weather_rows())
    print(f"\nload {os.getloadavg()[0]:.2f} at the end")


if __name__ == "__main__":
    main()
