"""``python -m tests.fuzz --minutes 60``: hunt by hand; findings are written to a folder, to be kept as seeds."""

from __future__ import annotations

import argparse
import resource
import sys
from pathlib import Path

from tests.fuzz.hunt import WEIGHTS, hunt, keep

MOST_MEMORY = 4_000_000_000
"""Of address space; what is compiled and mapped counts, so it is far above what is used."""


def main() -> int:
    """Hunt, and say what was tried and found."""
    parser = argparse.ArgumentParser(prog="python -m tests.fuzz", description=__doc__)
    parser.add_argument("--minutes", type=float, default=60.0)
    parser.add_argument("--inputs", type=int, default=10**9)
    parser.add_argument("--seed", type=int, default=1)
    parser.add_argument("--kind", choices=WEIGHTS, action="append", help="only this kind; repeatable")
    parser.add_argument("--found", type=Path, default=Path("found"), help="folder for what is found")
    asked = parser.parse_args()
    resource.setrlimit(resource.RLIMIT_AS, (MOST_MEMORY, MOST_MEMORY))
    kinds = {kind: WEIGHTS[kind] for kind in asked.kind} if asked.kind else None
    counts, found = hunt(asked.seed, asked.minutes, asked.inputs, kinds)
    for finding in found:
        print(f"kept in {keep(finding, asked.found)}")
    each = ", ".join(f"{n} {kind}" for kind, n in counts.most_common())
    print(f"{counts.total()} inputs ({each}), {len(found)} findings")
    return 1 if found else 0


if __name__ == "__main__":
    sys.exit(main())
