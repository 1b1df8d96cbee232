"""A van as it was understood, on a terminal, with the slips that show in its figures."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

import pandas as pd

from vansim import phrases
from vansim.notes import Note
from vansim.phrases import numbers
from vansim.show.text.tables import table_lines
from vansim.studies.van_figures import CABIN_C, CALM_M_S, VanFigures
from vansim.units import convert, symbol

Say = Callable[[Any, str], str]


def _shown(value: float, name: str, system: str, digits: int) -> str:
    return "-" if pd.isna(value) else f"{convert(value, name, system):.{digits}f}"


def check_lines(found: VanFigures, system: str = "si") -> list[str]:
    """What was understood of a van, and what looks wrong."""
    return [*slip_lines(found.slips, system), *check_parts(found, tuple(PARTS), system)]


def check_parts(found: VanFigures, names: tuple[str, ...], system: str = "si") -> list[str]:
    """Parts of that account by their names in `PARTS`."""
    return [line for name in names for line in PARTS[name](found, system)]


def _envelope(found: VanFigures, system: str) -> list[str]:
    rows = [
        (
            str(name),
            _shown(row["area_m2"], "area_m2", system, 1),
            _shown(row["u_w_m2k"], "u_w_m2k", system, 2 if system == "si" else 3),
            _shown(row["ua_w_k"], "ua_w_k", system, 1),
        )
        for name, row in found.envelope.iterrows()
    ]
    head = (
        "heat path",
        f"area\n[{symbol('area_m2', system)}]",
        f"U\n[{symbol('u_w_m2k', system)}]",
        f"UA\n[{symbol('ua_w_k', system)}]",
    )
    wind = f"{_shown(CALM_M_S, 'wind_m_s', system, 1)} {symbol('wind_m_s', system)}"
    lines = ["What the van loses or gains for each degree", *table_lines(head, rows)]
    lines.append(f"  air: {found.air_changes_per_h:.1f} changes an hour, shut, {wind} of wind at the van")
    if found.sun:
        bare, covered = numbers.power(found.sun["bare_w"]), numbers.power(found.sun["covered_w"])
        lines.append(f"  sun through the glass around noon, in the open: {bare} bare, {covered} with covers")
    return [*lines, ""]


def _cooler(found: VanFigures, system: str) -> list[str]:
    if found.cooler.empty:
        return ["No battery-powered cooler.", ""]
    rows = [
        (
            str(row["mode"]),
            _shown(row["outdoor_c"], "outdoor_c", system, 0),
            f"{row['current_a']:.0f}",
            f"{row['power_w']:.0f}",
            f"{row['cooling_w']:.0f}",
            numbers.duration(row["runtime_h"]),
        )
        for _, row in found.cooler.iterrows()
    ]
    outside = f"outside\n[{symbol('outdoor_c', system)}]"
    head = ("cooler", outside, "draws\n[A]", "draws\n[W]", "cools\n[W]", "bank lasts")
    cabin, volts = phrases.temperature(CABIN_C, system), numbers.voltage(found.bank["rest_v"])
    return [
        "What the cooler draws while its compressor runs",
        *table_lines(head, rows),
        f"  {cabin} and half humidity in the cabin; amps at {volts}; the bank lasts so long if "
        "the compressor never stops and nothing else draws",
        "",
    ]


def _bank(found: VanFigures) -> list[str]:
    bank = found.bank
    volts = phrases.quantity(bank["nominal_v"], "nominal_v", "si")
    holds, usable = (phrases.amp_hours(bank[key]) for key in ("capacity_ah", "usable_ah"))
    energy = phrases.energy(1000.0 * bank["usable_kwh"])
    return ["Bank", f"  {volts}, {holds}; usable down to the reserve {usable} or {energy}", ""]


def _charging(found: VanFigures) -> list[str]:
    if found.charging.empty:
        return ["Nothing charges the bank.", ""]
    rows = [
        (str(name), f"{row['current_a']:.0f}", f"{row['power_w']:.0f}", numbers.duration(row["refill_h"]))
        for name, row in found.charging.iterrows()
    ]
    lines = ["What charges it, at most", *table_lines(("source", "[A]", "[W]", "reserve to full"), rows)]
    if found.sun.get("panels_wh", 0.0) > 0.0:
        lines.append(f"  panels in the open on the run's first day: {numbers.energy(found.sun['panels_wh'])}")
    return [*lines, ""]


def _aboard(found: VanFigures) -> list[str]:
    rows = []
    for address, row in found.aboard.iterrows():
        who = [numbers.count(int(row[key]), word) for key, word in (("people", "person"), ("dogs", "dog")) if row[key]]
        day = str(address).split(".")[1]
        rows.append((f"{day} {row['start']} to {row['end']}", " and ".join(who) or "nobody"))
    return ["Who is aboard", *table_lines(("segment", "aboard"), rows, (0, 1)), ""]


PARTS: dict[str, Callable[[VanFigures, str], list[str]]] = {
    "envelope": _envelope,
    "cooler": _cooler,
    "bank": lambda found, system: _bank(found),
    "charging": lambda found, system: _charging(found),
    "aboard": lambda found, system: _aboard(found),
}
"""The account of a van, piece by piece."""


# --- slips ------------------------------------------------------------------------------------------------------------


def slip_lines(slips: tuple[Note, ...], system: str = "si") -> list[str]:
    """What is allowed and still looks wrong, a line each; nothing where nothing does."""
    if not slips:
        return []
    return ["Please look at", *(f"- {slip_words(slip, system)}" for slip in slips), ""]


def slip_words(slip: Note, system: str = "si") -> str:
    """A slip in a sentence: what was written, and what was probably meant."""
    return SLIPS[slip.code](slip.values, system)


def _thin(v: Any, system: str) -> str:
    thin, likely = (phrases.quantity(mm, "thickness_mm", system) for mm in (v["thickness_mm"], v["thickness_mm"] * 1e3))
    return f"{v['material']} is {thin} thick in {v['faces']}; was {likely} meant?"


def _thick(v: Any, system: str) -> str:
    return f"{v['material']} is {phrases.quantity(v['thickness_mm'], 'thickness_mm', system)} thick in {v['faces']}"


def _idle(v: Any, system: str) -> str:
    idle, road = (numbers.current(v[key]) for key in ("idle_a", "road_a"))
    return f"the alternator gives more idling ({idle}) than on the road ({road}); are they swapped?"


def _vehicle(v: Any, system: str) -> str:
    takes, gives = (numbers.current(v[key]) for key in ("vehicle_a", "road_a"))
    return f"the vehicle takes {takes} of the alternator's {gives}: nothing is left for the bank"


def _fill(v: Any, system: str) -> str:
    area, roof = (phrases.quantity(v[key], key, system) for key in ("area_m2", "roof_m2"))
    return f"panels take {area} of a roof of {roof}; hatch, fan and cooler need room too"


def _density(v: Any, system: str) -> str:
    area = phrases.quantity(v["area_m2"], "area_m2", system)
    return f"panels of {phrases.power(v['rated_w'])} on {area}: panels of today give about 200 W to the square metre"


def _batteries(v: Any, system: str) -> str:
    whose = "are rated for" if v["whose"] == "rated" else "of their kind usually allow"
    draws, limit = (numbers.current(v[key]) for key in ("current_a", "limit_a"))
    return f"the cooler draws up to {draws}; the batteries {whose} {limit}"


def _limit(v: Any, system: str) -> str:
    limit, setpoint = (phrases.temperature(v[key], system) for key in ("limit_c", "setpoint_c"))
    band = phrases.difference(v["deadband_k"], system)
    return (
        f"the limit of {limit} lies below the set point of {setpoint} and half its band of {band}: the thermostat "
        "itself lets the cabin get warmer"
    )


SLIPS: dict[str, Say] = {
    "thin-layer": _thin,
    "thick-layer": _thick,
    "idle-above-road": _idle,
    "nothing-from-alternator": _vehicle,
    "panels-fill-roof": _fill,
    "panel-density": _density,
    "cooler-above-batteries": _batteries,
    "limit-below-band": _limit,
}
"""Words for each slip, by its code."""


def check_data(found: VanFigures, system: str = "si") -> dict[str, Any]:
    """The same as plain values, in SI."""
    return {
        "envelope": found.envelope,
        "air_changes_per_h": found.air_changes_per_h,
        "sun_at_noon": found.sun,
        "cooler": found.cooler.reset_index(drop=True),
        "bank": found.bank,
        "charging": found.charging,
        "aboard": found.aboard,
        "slips": [{"code": slip.code, **slip.values, "text": slip_words(slip, system)} for slip in found.slips],
    }
