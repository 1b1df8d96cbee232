"""What runs and studies hand over, as named values: the one place where their columns and sentences become codes.

Some studies still hand over a ready sentence in SI units. It is read back here into the code and the numbers that
`vansim.phrases` says in the reader's units. Of a text that is not known, such as somebody's note about a part or a
weather file, only the quantities are turned into those units.
"""

from __future__ import annotations

import re
from collections.abc import Callable

import pandas as pd

from vansim import phrases
from vansim.runs.result import Result
from vansim.studies.recharge import ROAD_KMH
from vansim.units import translated

WHY = {"bank": "bank", "cooler too small": "cooler", "controls": "controls", "both": "both"}
"""A night's `why` to the code of `phrases.REASONS`."""
TOO_WARM = ("cooler too small", "controls")
"""Why a night was not covered though the bank lasted."""


def reason(why: str) -> str:
    """Why a night is not covered, as said."""
    return phrases.reason(WHY[why])


def answer(result: Result, system: str = "si") -> str:
    """What became of the nights of a run, in a sentence.

    Parameters
    ----------
    result : Result
        The run.
    system : {"si", "us"}
        Units shown.

    Returns
    -------
    str
    """
    nights, asked = result.nights, result.run.scenario.night
    if not len(nights):
        return phrases.answer(
            status="no_night", nights=0, covered=0, limit_c=asked.limit_c, noun=asked.label, system=system
        )
    missed = nights[~nights["kept"]]
    counted = missed if len(missed) else nights
    emptied = nights["runtime_h"].dropna()
    warm = missed["why"][missed["why"].isin(TOO_WARM)]
    return phrases.answer(
        status="covered" if result.status == "kept" else result.status,
        nights=len(nights),
        covered=len(nights) - len(missed),
        emptied=len(emptied),
        limit_c=asked.limit_c,
        runtime_h=float(emptied.iloc[0]) if len(emptied) else float("nan"),
        over_limit_h=float(counted["over_limit_h"].sum() if len(missed) else counted["over_limit_h"].max()),
        grace_min=asked.grace_min,
        why=WHY[str(warm.mode().iloc[0])] if len(warm) else "",
        noun=asked.label,
        bedtime=asked.bedtime,
        system=system,
    )


def recharged(hours: dict[str, float | None], goal_soc: float, system: str = "si") -> str:
    """How soon the bank is full again, every way; no full stop."""
    return phrases.recharged(goal_soc, hours, ROAD_KMH, system)


def way(code: str, system: str = "si") -> str:
    """A way of charging, as said."""
    return phrases.way(code, ROAD_KMH, system)


# --- sentences read back into numbers -------------------------------------------------------------------------------

_Say = Callable[[re.Match[str], str], str]


def _plain(code: str) -> _Say:
    return lambda found, system: phrases.note(code, found.groupdict(), system)


def _no_bank(status: str) -> _Say:
    def say(found: re.Match[str], system: str) -> str:
        v = found.groupdict()
        return phrases.no_bank(
            status,
            nights=int(v.get("nights") or 0),
            warm=int(v.get("warm") or 0),
            limit_c=float(v.get("limit_c") or "nan"),
            largest=int(v.get("largest") or 0),
            best_share=float(v.get("best") or 0.0) / 100.0,
            target=float(v.get("target") or 0.0) / 100.0,
            system=system,
        )

    return say


def _share(found: re.Match[str], system: str) -> str:
    values = found.groupdict() | {"reserve_soc": float(found["reserve"]) / 100.0}
    return phrases.note("other_chemistry_reserve", values, system)


_WARM = r"the cabin is above (?P<limit_c>[\d.]+) °C on (?P<warm>\d+) of (?P<nights>\d+) nights"
_SENTENCES: tuple[tuple[str, _Say], ...] = (
    (r"A typical year is put together .*", _plain("typical_year")),
    (r"Heat-wave margin: air (?P<shift_k>[-+\d.]+) K on (?P<where>.*), dew point held\. .*", _plain("heat_wave")),
    (r"On some nights no cooling is planned .*", _plain("no_cooling_before_waking")),
    (r"Nights in a row begin .*", _plain("seasonal_store")),
    (
        r"Batteries of type (?P<chemistry>\w+) are held at a reserve of (?P<reserve>[\d.]+)% .* is for (?P<own>\w+)\.",
        _share,
    ),
    (
        r"Cooler flat out and other loads draw about (?P<current_a>\d+) A; the bank is rated for (?P<limit_a>\d+) A\.",
        _plain("current_above_battery_limit"),
    ),
    (r"The bank ran quite empty.*", _plain("loads_unserved")),
    (rf"No cooler is fitted: {_WARM}.*", _no_bank("no_cooler")),
    (rf"No cooling is planned at night: {_WARM}.*", _no_bank("no_cooling_at_night")),
    (rf"The cooler is too small.* {_WARM}.*", _no_bank("cooler_too_small")),
    (r"The charging does not keep up: (?P<largest>\d+) .* only (?P<best>[\d.]+)% .*", _no_bank("charging_too_little")),
    (
        r"(?P<largest>\d+) of these in parallel keep (?P<best>[\d.]+)% of the nights, not (?P<target>[\d.]+)%.*",
        _no_bank("beyond_largest"),
    ),
)


def told(text: str, system: str = "si") -> str:
    """A note, a warning or a reason that was handed over as a sentence, in the reader's units.

    Parameters
    ----------
    text : str
        As the study wrote it.
    system : {"si", "us"}
        Units shown.

    Returns
    -------
    str
        Said by `vansim.phrases`; where the sentence is not known, as it is but for its quantities.
    """
    for pattern, say in _SENTENCES:
        if found := re.fullmatch(pattern, text, re.DOTALL):
            return say(found, system)
    return translated(text, system)


def notes(texts: tuple[str, ...], system: str = "si") -> list[str]:
    """Notes of a study as lines."""
    return [f"Note: {told(text, system)}" for text in texts]


_CHANGES: tuple[tuple[str, str], ...] = (
    (r"set point (?P<delta_k>[\d.]+) K higher", "set_point_higher"),
    (r"thermostat band of (?P<band_k>[\d.]+) K", "thermostat_band"),
    (r"(?P<added_mm>[\d.]+) mm more insulation (?P<where>.*)", "more_insulation"),
    (r"(?P<percent>\d+)% shade (?P<when>.*)", "shade"),
    (r"covers in place whenever parked", "covers_parked"),
    (r"insulated covers outside on all glass, while cooling", "covers_outside"),
    (r"half the leakage", "half_leakage"),
    (r"eco throughout", "eco"),
    (r"boost throughout", "boost"),
)


def change(name: str, system: str = "si") -> str:
    """A change of a ranking, or a design, as said; one's own names stay but for their quantities."""
    for pattern, code in _CHANGES:
        if found := re.fullmatch(pattern, str(name)):
            values: dict[str, float | str] = dict(found.groupdict())
            if "percent" in values:
                values["share"] = float(values["percent"]) / 100.0
            return phrases.change(code, values, system)
    return translated(str(name), system)


def outage_start(when: str, moment: pd.Timestamp, story: str) -> str:
    """When and why the cooler stops, from an outage's case, moment and sentence."""
    case = "sun" if when == "sun" else "halfway" if "halfway" in story else "reserve"
    return phrases.outage_start(case, moment, moment.hour + moment.minute / 60.0)
