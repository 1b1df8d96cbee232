"""What has to be said beside every answer: cautions, glossary, confidence and limits."""

from __future__ import annotations

from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from vansim.scenario.schema import Scenario

NEVER_ALONE = (
    "Never leave a child, an animal or anyone who cannot get out unaided in a van because the cooling runs. Cooling "
    "stops without warning (an empty bank, a blown fuse, a fault), and a closed van then turns deadly within minutes."
)
OUTAGE_CAUTION = (
    "NEVER leave a child or an animal alone in a vehicle, whether the cooling is running or not. Cooling can stop at "
    "any moment: an empty bank, a tripped fuse, a fault. A closed van can become deadly within minutes, and those "
    "inside cannot help themselves. These times are no grace period: somebody who can act must stay with them or take "
    "them out. In an emergency call the local emergency number."
)
HEAT = (
    "Heat kills people too. Have a second way to stay cool, watch for heat warnings, and leave the van when it cannot "
    "be kept cool: headache, dizziness or confusion are signs to act on at once."
)
DOGS = (
    "Dogs overheat sooner than people and cannot say so. Somebody who can act must stay with them; an alarm does not "
    "take anybody's place."
)
LITHIUM = (
    "Lithium batteries need a battery management system, firm mounting, and charging only within the temperatures that "
    "their maker allows. If one is swollen, hot, hissing or has been dropped, get everybody out and keep away."
)
LEAD = (
    "Lead-acid batteries give off hydrogen when charged and spill acid when broken: ventilate them, keep sparks away, "
    "and wear eye protection."
)
CURRENT = (
    "Low voltage means high current: a loose joint or a thin cable starts a fire. Fuse at the bank, size cable for "
    "current and length, disconnect before working, and keep rings and bare tools away from the terminals."
)
MAINS = (
    "Mains voltage kills. Shore inlets, chargers and inverters are for a licensed electrician, with residual-current "
    "protection and bonding as the local code asks."
)
EXHAUST = (
    "A running engine makes carbon monoxide, which has no smell. Never idle in an enclosed or sheltered place, or "
    "while people sleep. Fit an alarm. Many places forbid idling."
)
CODES = (
    "These figures are estimates to plan with. Local codes, the makers' instructions and licensed practice come before "
    "anything printed here."
)


def cautions(scenario: Scenario) -> list[str]:
    """The usual cautions, as far as they touch a scenario.

    Parameters
    ----------
    scenario : Scenario
        Which batteries, mains, engine charging and animals it has.

    Returns
    -------
    list of str
        Sentences, the gravest first.
    """
    mains = scenario.shore is not None or scenario.charger is not None
    mains = mains or any(load.supply == "ac" for load in scenario.loads)
    said = [NEVER_ALONE, HEAT]
    said += [DOGS] if scenario.occupants.dogs else []
    said += [LITHIUM if scenario.bank.unit.chemistry == "lfp" else LEAD, CURRENT]
    said += [MAINS] if mains else []
    said += [EXHAUST] if scenario.alternator is not None else []
    return [*said, CODES]


GLOSSARY: tuple[tuple[str, str], ...] = (
    ("Bank", "All the batteries that the cooling runs on, taken together."),
    ("State of charge", "How full the bank is, from empty to full."),
    ("Reserve", "The state of charge at which the cooler is switched off, to spare the bank and the other loads."),
    (
        "Account of a night",
        "From when the plan first switches cooling on after the waking before, with a full bank, through the evening, "
        "to waking, with all that the plan uses and charges.",
    ),
    (
        "Covered night",
        "A night when the bank stays above its reserve from the start of the account to waking, and the cabin within "
        "its limit from bedtime to waking, but for a stated grace.",
    ),
    ("Runtime", "Time from bedtime until the bank is at its reserve, with cooling left on and nothing charging."),
    ("Independent nights", "Nights taken one by one: each begins its account with a full bank."),
    (
        "Consecutive nights",
        "Nights that follow one another: the bank carries over and is charged as planned, in a season that gives back "
        "the charge it began with.",
    ),
    ("Design night", "The hardest of the nights that must be covered for the asked share."),
    ("1 night in 10 is shorter (P10)", "The runtime that nine nights in ten exceed; the median is exceeded by half."),
    ("Duty", "Share of the time that the compressor runs."),
    ("Set point", "The cabin temperature that the thermostat aims at."),
    ("Eco and boost", "Two speeds of one cooler: eco moves less heat per hour, but more per watt-hour."),
    ("Dew point", "The temperature at which moisture condenses from the air: the higher it is, the muggier the night."),
    ("Typical year", "A weather year put together from ordinary months of many years; it leaves out the extremes."),
)

LIMITS = (
    "The weather is a typical year. It leaves out the hottest nights and heat waves that real years bring: a bank "
    "sized on it will fall short on some of them.",
    "The figures hold for the van as described. Doors opened at night, a cover left off, a dirty filter, an ageing "
    "battery or one more person all shorten the runtime.",
)
NOT_MODELLED = (
    "Not modelled: rain on the roof, gusts through gaps, sun patches on single seats, heat felt from hot walls, mould, "
    "noise, compressor wear, and faults of any kind.",
)
