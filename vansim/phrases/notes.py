"""Notes and warnings, held as a code with numbers and said here."""

from __future__ import annotations

from vansim.notes import Note
from vansim.phrases.numbers import BEYOND, current, difference, duration, percent, power, sentence, temperature
from vansim.phrases.outages import heat_index_range
from vansim.phrases.weather_notes import SAID as WEATHER_NOTES
from vansim.phrases.weather_notes import Say, Values


def note(code: str | Note, values: Values | None = None, system: str = "si") -> str:
    """What has to be said beside an answer, or is worth a second look.

    Parameters
    ----------
    code : str or Note
        Of a note, with its `values`; or the note itself.
    values : mapping
        Numbers in SI and words, by the names that the code asks for.
    system : {"si", "us"}
        Units shown.

    Returns
    -------
    str
        One or two sentences.

    Raises
    ------
    KeyError
        No such code, or a value is missing.
    """
    name, numbers = (code.code, code.values) if isinstance(code, Note) else (code, values or {})
    say = _NOTES.get(name) or WEATHER_NOTES[name]
    return say(numbers, system)


def _plain(text: str) -> Say:
    return lambda v, system: text


def _other_chemistry(v: Values, system: str) -> str:
    names = {"lfp": "lithium iron phosphate", "agm": "lead-acid (AGM)"}
    other, own = (names.get(str(v[name]), str(v[name])) for name in ("chemistry", "own_chemistry"))
    return (
        f"Batteries of {other} are given a reserve of {percent(float(v['reserve_soc']))} (common practice); the "
        f"scenario's own reserve is for {own}."
    )


def _current(v: Values, system: str) -> str:
    return (
        f"With the cooler at full power, it and the other loads draw about {current(float(v['current_a']))}; the "
        f"batteries are rated for {current(float(v['limit_a']))}."
    )


def _none_empties(v: Values, system: str) -> str:
    empty, nights = int(v.get("consecutive_empty", 0)), int(v["nights"])
    said = "No night of the season empties the bank as planned."
    if empty:
        said = (
            "No night of the season empties the bank that each begins with. One after another, it is empty on "
            f"{empty} of {nights}, and the cooling stops earlier than is shown here."
        )
    return (
        f"{said} No bank is a reason to rely on it: a fuse, a fault or a blocked condenser stops the cooling as well."
    )


_NOTES: dict[str, Say] = {
    "typical-year": _plain(
        "A typical year is put together from ordinary months. Real summers have worse nights than the worst one here; "
        "a heat-wave margin shows what such a night needs."
    ),
    "heat-wave-each": lambda v, system: (
        f"Heat-wave margin: air {difference(float(v['shift_k']), system)} warmer on the hottest fortnight of each "
        "year, dew point held. This is a margin, not a forecast."
    ),
    "no-cooling-before-waking": _plain(
        "On some nights no cooling is planned for the last hours before waking. The runtime keeps to the plan of those "
        "hours, so the bank may never run down to its reserve."
    ),
    "full-at-bedtime": _plain(
        "As asked, every night begins at bedtime with the charge said above, and what cooling takes from the bank in "
        "the evening is not counted."
    ),
    "other-chemistry-reserve": _other_chemistry,
    "current-above-battery-limit": _current,
    "savings-limited-by-bank": _plain(
        "The bank is empty that night. Without a cause the cooling goes on for longer and may use as much, so its gain "
        "shows in the charge left rather than in the energy saved."
    ),
    "no-account-empties-the-bank": _none_empties,
    "outlasts-48-h": lambda v, system: f"Left on with nothing charging, it would last {BEYOND}.",
    "heat-index-off-scale": lambda v, system: sentence(
        heat_index_range(float(v["above_c"]), float(v["air_above_c"]), system)
    ),
    "loads-unserved": _plain(
        "Other loads lost power: nothing more could be drawn from the bank, or the inverter shut off at low voltage."
    ),
    "hot-bank": lambda v, system: (
        f"For {duration(float(v['hours']))} the bank is hotter than {temperature(float(v['limit_c']), system, None)} "
        "and takes no charge; a cooler place or shade keeps it charging and living longer."
    ),
    "mains-loads-refused": lambda v, system: (
        f"Mains loads that run at once exceed what the inverter ({power(float(v['rated_w']))}) and the breaker can "
        "give; they lose power then."
    ),
}
