"""The command line: thin commands that read, call and print.

Exit codes: 0 done; 2 bad input, every fault at once; 1 a fault of ours.
"""

from vansim.cli import basics, many_nights
from vansim.cli.common import app, main

__all__ = ["app", "basics", "main", "many_nights"]
