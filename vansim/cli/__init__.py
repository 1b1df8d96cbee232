"""The command line: thin commands that read, call and print.

Exit codes: 0 done; 2 bad input, with every fault at once; 1 an internal error.
"""

from vansim.cli import basics, examples, many_nights, many_places, new, one_run, parts, report
from vansim.cli.common import app, main

__all__ = ["app", "basics", "examples", "main", "many_nights", "many_places", "new", "one_run", "parts", "report"]
