"""Every picture, by name: a result or a study in, a matplotlib figure out.

    night(result, which=0)              the account of a night, from its first cooling to waking
    two_designs(one, other, names)      the same night of two designs, side by side
    eco_against_boost(eco, boost)       the same night in eco and in boost
    calendar(nights)                    a season, a square a night
    runtime_against_outdoors(nights)    a season, a point a night
    bank_size(sizing)                   nights covered against the size of the bank
    places(places)                      places, or years, a row each
    trip(trip)                          a chain of nights through places, a row each
    designs(comparison)                 designs side by side over a season
    upgrades(upgrades)                  changes in their order, and the best two together
    energy(energy)                      where a night's electricity went, and what would be saved
    recharge(recharge)                  how soon the bank is full again, every way
    outage(outage)                      the cabin once the cooling has stopped

All take `system` (``"si"`` or ``"us"``, the units shown) and `width_in`; below 5 a picture is laid out for a phone.
Each figure carries its heading as `finding` and its alternative text as `words`. `png` and `svg` make files of them.
Nothing here reads a file, prints, or opens a window.
"""

from vansim.show.plots.bank_size import bank_size
from vansim.show.plots.changes import designs, energy, upgrades
from vansim.show.plots.figure import inline_svg, png, svg
from vansim.show.plots.modes import eco_against_boost
from vansim.show.plots.night import night
from vansim.show.plots.outage import outage
from vansim.show.plots.places import places
from vansim.show.plots.recharge import recharge
from vansim.show.plots.season import calendar, runtime_against_outdoors
from vansim.show.plots.trip import trip
from vansim.show.plots.two_designs import two_designs

__all__ = [
    "bank_size",
    "calendar",
    "designs",
    "eco_against_boost",
    "energy",
    "inline_svg",
    "night",
    "outage",
    "places",
    "png",
    "recharge",
    "runtime_against_outdoors",
    "svg",
    "trip",
    "two_designs",
    "upgrades",
]
