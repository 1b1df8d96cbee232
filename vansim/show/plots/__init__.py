"""Every picture, by name: a result or a study in, a matplotlib figure out.

Nothing here reads a file, prints, or opens a window. Units are shown in `system` ``"si"`` or ``"us"``; `width_in` below
5 lays a picture out for a phone. Each figure carries its heading as `finding` and its alternative text as `words`.
"""

from vansim.show.plots.bank import bank_size, recovery
from vansim.show.plots.bars import designs, eco_against_boost, energy, worth
from vansim.show.plots.figure import inline_svg, png, svg
from vansim.show.plots.night import night
from vansim.show.plots.outage import after_reserve
from vansim.show.plots.season import calendar, runtime_against_outdoors

__all__ = [
    "after_reserve",
    "bank_size",
    "calendar",
    "designs",
    "eco_against_boost",
    "energy",
    "inline_svg",
    "night",
    "png",
    "recovery",
    "runtime_against_outdoors",
    "svg",
    "worth",
]
