"""``python -m vansim``."""

from vansim.cli import main

main()
