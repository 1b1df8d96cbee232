"""How a number is said, with its unit: one form for every kind."""

from __future__ import annotations

import datetime
import math
import re
from collections.abc import Sequence

from vansim.units import convert, suffix_of, symbol

FOLLOWED_H = 48.0
"""How long a runtime or a recharge is followed [h]; beyond it nothing is known."""
BEYOND = "more than 48 h"
HEAT_INDEX_END_C, HEAT_INDEX_AIR_END_C = (137.0 - 32.0) / 1.8, 50.0
"""End of the published heat-index chart, and warmest air in its tables, as `vansim.heat_stress` [°C]."""
FULL_SOC = 0.9995
"""A bank from this state of charge on is called full."""
NOTHING = "–"
MINUS = "−"
_WORDS = (
    "no", "one", "two", "three", "four", "five", "six", "seven", "eight", "nine", "ten", "eleven", "twelve",
)  # fmt: skip
MONTHS = (
    "January", "February", "March", "April", "May", "June",
    "July", "August", "September", "October", "November", "December",
)  # fmt: skip


def duration(length_h: float) -> str:
    """Length of time: ``"45 min"``, ``"12 h 05 min"``, ``"3 h"``.

    Parameters
    ----------
    length_h : float
        Not negative [h]; infinite and not-a-number are unknown.

    Returns
    -------
    str
        To the minute; less than half a minute, but not nothing, is ``"< 1 min"``.
    """
    if not math.isfinite(length_h):
        return NOTHING
    if 0.0 < length_h < 0.5 / 60.0:
        return "< 1 min"
    whole, rest = divmod(round(length_h * 60.0), 60)
    if whole == 0:
        return f"{rest} min"
    return f"{whole} h {rest:02d} min" if rest else f"{whole} h"


def rest(length_s: float) -> str:
    """Time that is left of a piece of work: ``"40 s"``, ``"3 min"``."""
    return f"{_number(length_s, 0)} s" if length_s < 90.0 else minutes_of(length_s / 60.0)


def voltage(value_v: float) -> str:
    """Voltage, to a tenth: ``"13.2 V"``."""
    return f"{_number(value_v, 1)} V"


def amp_hours(value_ah: float) -> str:
    """Charge: ``"300 Ah"``."""
    return f"{_number(value_ah, 0)} Ah"


def minutes_of(length_min: float) -> str:
    """A length of time that is always told in minutes: ``"90 min"``."""
    return f"{_number(length_min, 0)} min"


def runtime(length_h: float, outlasts: bool = False) -> str:
    """Time until the reserve, which is followed for 48 h: ``"12 h 05 min"``, ``"more than 48 h"``."""
    return BEYOND if outlasts or length_h >= FOLLOWED_H - 1e-9 else duration(length_h)


def runtime_cell(length_h: float, outlasts: bool = False) -> str:
    """A runtime in a table: ``"12 h 05 min"``, ``"> 48 h"``; ``"none"`` where the bank is empty before bedtime."""
    if length_h <= 0.0:
        return "none"
    return f"> {duration(FOLLOWED_H)}" if runtime(length_h, outlasts) == BEYOND else duration(length_h)


def within(length_h: float | None, followed_h: float = FOLLOWED_H) -> str:
    """Time until something is reached; None or infinite where the time followed did not do: ``"not within 48 h"``."""
    return f"not within {duration(followed_h)}" if length_h is None or math.isinf(length_h) else duration(length_h)


def gain(length_h: float) -> str:
    """Change of a length of time: ``"+1 h 05 min"``, ``"−12 min"``, ``"0 min"``."""
    if not math.isfinite(length_h) or abs(length_h) < 0.5 / 60.0:
        return duration(0.0 * length_h)
    return (MINUS if length_h < 0.0 else "+") + duration(abs(length_h))


def signed(number: int) -> str:
    """Change of a count: ``"+3"``, ``"−2"``, ``"0"``."""
    return f"{number:+d}".replace("-", MINUS) if number else "0"


def energy_gain(value_wh: float) -> str:
    """Change of an energy: ``"+620 Wh"``, ``"−1.20 kWh"``; less than half a watt-hour is ``"0 Wh"``."""
    return energy(value_wh) if value_wh < 0.5 else f"+{energy(value_wh)}"


def batteries(number: float, most: float = math.inf) -> str:
    """Batteries that do as much as something else, in parts of one: ``"0.6 of a battery"``, ``"2 batteries"``.

    Parameters
    ----------
    number : float
        Not negative; infinite where `most` do not do it.
    most : float
        How many were tried.
    """
    if not math.isfinite(number):
        return f"more than {count(round(most), 'battery')}" if math.isfinite(most) else "no number of batteries"
    if number < 0.05:
        return NOTHING
    if number < 0.95:
        return f"{number:.1f} of a battery"
    text = _number(number, None)
    return f"{text} {'battery' if text == '1' else 'batteries'}"


def batteries_cell(number: float, most: float = math.inf) -> str:
    """The same in a table of batteries: ``"0.6"``, ``"> 16"``, ``"–"``."""
    if not math.isfinite(number):
        return f"> {_number(most, 0)}" if math.isfinite(most) else NOTHING
    return NOTHING if number < 0.05 else _number(number, 1)


def spelled(number: int) -> str:
    """A small count as a word: ``"two"``; from 13 on in figures."""
    return _WORDS[number] if 0 <= number < len(_WORDS) else str(number)


def whole_parts(parts: Sequence[float]) -> list[int]:
    """Parts rounded to whole numbers that add up to their rounded sum; the largest remainders are rounded up."""
    lower = [math.floor(part) for part in parts]
    missing = round(sum(parts)) - sum(lower)
    by_rest = sorted(range(len(parts)), key=lambda i: lower[i] - parts[i])
    return [low + (i in by_rest[:missing]) for i, low in enumerate(lower)]


def percent(share: float) -> str:
    """Share as ``"39%"``; one that is not quite all or nothing never reads ``"100%"`` or ``"0%"``."""
    value = 100.0 * share
    if 1e-4 < value < 0.5:
        return f"{value:.1f}%" if value >= 0.05 else "< 0.1%"
    if 99.5 <= value < 100.0 - 1e-4:
        return f"{value:.1f}%" if value < 99.95 else "> 99.9%"
    return f"{value:.0f}%"


def clock(hour: float) -> str:
    """Hours since some midnight as clock time: ``"03:18"``; may lie past midnight."""
    minute = round(hour * 60.0) % 1440
    return f"{minute // 60:02d}:{minute % 60:02d}"


def time_of_day(moment: datetime.datetime) -> str:
    """Clock time of a moment, rounded to the minute: ``"03:18"``."""
    return clock(moment.hour + moment.minute / 60.0 + moment.second / 3600.0)


def date(moment: datetime.date) -> str:
    """Day of a typical year, which has no year of its own: ``"15 July"``."""
    return f"{moment.day} {MONTHS[moment.month - 1]}"


def short_date(moment: datetime.date) -> str:
    """The same for a table: ``"15 Jul"``."""
    return f"{moment.day:2d} {MONTHS[moment.month - 1][:3]}"


def plural(noun: str) -> str:
    """``"nights"``, ``"batteries"``, ``"people"``."""
    irregular = {"person": "people", "battery": "batteries"}
    return irregular.get(noun, noun + "s")


def count(number: int, noun: str) -> str:
    """``"1 night"``, ``"3 batteries"``, ``"2 people"``."""
    return f"{number} {noun if number == 1 else plural(noun)}"


def listed(words: Sequence[str], last: str = "and") -> str:
    """``"a, b and c"``."""
    return f" {last} ".join([", ".join(words[:-1]), words[-1]]) if len(words) > 1 else "".join(words)


def sentence(text: str) -> str:
    """Text with a capital and a full stop."""
    return f"{text[:1].upper()}{text[1:]}" + ("" if text.endswith((".", "!", "?")) else ".")


def _number(value: float, digits: int | None) -> str:
    """With so many decimals; None: one, unless it is a whole number. Never a minus before nothing."""
    text = f"{value:.{1 if digits is None else digits}f}"
    text = text.removesuffix(".0") if digits is None else text
    bare = text.lstrip("-")
    return bare if not bare.strip("0.") else text.replace("-", MINUS)


def temperature(value_c: float, system: str = "si", digits: int | None = 1) -> str:
    """Temperature: ``"26.0 °C"``, ``"78.8 °F"``; with `digits` None ``"26 °C"``, for set points and limits."""
    return f"{_number(convert(value_c, 'value_c', system), digits)} {symbol('value_c', system)}"


def heat_index(value_c: float, off_scale: str = "", system: str = "si") -> str:
    """Heat index; where it leaves its chart the number means nothing: ``"above 58 °C"``.

    Parameters
    ----------
    value_c : float
        [°C].
    off_scale : {"", "index", "air"}
        Whether it is above its chart, or the air is warmer than any in its tables.
    system : {"si", "us"}
        Units shown.
    """
    if off_scale == "air":
        return f"air over {temperature(HEAT_INDEX_AIR_END_C, system, 0)}"
    if off_scale or value_c > HEAT_INDEX_END_C + 0.5:
        return f"above {temperature(HEAT_INDEX_END_C, system, 0)}"
    return temperature(value_c, system)


def shade(share: float) -> str:
    """Shade over a van: ``"in 80% shade"``, ``"in the open"``."""
    return f"in {percent(share)} shade" if share > 0.0 else "in the open"


def difference(value_k: float, system: str = "si", digits: int | None = None) -> str:
    """Temperature difference: ``"1 K"``, ``"1.8 °F"``; the offset of 32 has no place here."""
    return f"{_number(convert(value_k, 'value_k', system), digits)} {symbol('value_k', system)}"


def energy(value_wh: float) -> str:
    """Energy: whole Wh below 1 kWh, else kWh to three figures: ``"204 Wh"``, ``"2.19 kWh"``, ``"12.3 kWh"``."""
    return _scaled(value_wh, "Wh")


def power(value_w: float) -> str:
    """Power, as `energy`: ``"400 W"``, ``"1.20 kW"``."""
    return _scaled(value_w, "W")


def _scaled(value: float, unit: str) -> str:
    if abs(value) < 999.5:
        return f"{_number(value, 0)} {unit}"
    thousands = value / 1000.0
    digits = 2 if abs(thousands) < 9.995 else 1 if abs(thousands) < 99.95 else 0
    return f"{_number(thousands, digits)} k{unit}"


def current(value_a: float) -> str:
    """Current in whole amperes: ``"118 A"``."""
    return f"{_number(value_a, 0)} A"


def mass(value_kg: float, system: str = "si") -> str:
    """Mass in whole kilograms or pounds: ``"24 kg"``, ``"53 lb"``."""
    return f"{_number(convert(value_kg, 'value_kg', system), 0)} {symbol('value_kg', system)}"


def height(value_m: float, system: str = "si") -> str:
    """Height above the sea in whole metres or feet."""
    return f"{_number(convert(value_m, 'value_m', system), 0)} {symbol('value_m', system)}"


def distance(value_km: float, system: str = "si") -> str:
    """Distance between places, whole: ``"120 km"``, ``"75 mi"``."""
    return f"{_number(convert(value_km, 'distance_km', system), 0)} {symbol('distance_km', system)}"


def speed(value_kmh: float, system: str = "si") -> str:
    """Road speed: ``"90 km/h"``, ``"56 mph"``."""
    return f"{_number(convert(value_kmh, 'value_kmh', system), 0)} {symbol('value_kmh', system)}"


def thickness(value_mm: float, system: str = "si") -> str:
    """Thickness of insulation: ``"20 mm"``, ``"0.8 in"``."""
    return f"{_number(convert(value_mm, 'value_mm', system), None)} {symbol('value_mm', system)}"


def degree_hours(value_k_h: float, system: str = "si") -> str:
    """Cooling degree-hours: ``"8421 K h"``, ``"15158 °F h"``."""
    return f"{_number(convert(value_k_h, 'value_k_h', system), 0)} {symbol('value_k_h', system)}"


def daily_sun(value_kwh_m2: float, system: str = "si") -> str:
    """Sun of a mean day: ``"6.9 kWh/m2 a day"``; in the US as hours at 1 kW/m2 (common practice)."""
    return f"{_number(value_kwh_m2, 1)} {symbol('value_kwh_m2_day', system)}"


def irradiance(value_w_m2: float, system: str = "si") -> str:
    """Irradiance: ``"3.1 W/m2"``, ``"1.0 Btu/h ft2"``."""
    return f"{_number(convert(value_w_m2, 'value_w_m2', system), 1)} {symbol('value_w_m2', system)}"


def money(value: float, currency: str) -> str:
    """Price in whole units of the user's own currency, if it is named: ``"1250 USD"``."""
    return f"{_number(value, 0)} {currency}".rstrip()


def quantity(value: float, name: str, system: str = "si") -> str:
    """An input with its unit, to four figures: ``"0.35 mm"``; US resistances the trade's way, ``"R-7.2"``.

    Parameters
    ----------
    value : float
        In SI.
    name : str
        A name with a unit suffix, or without one.
    system : {"si", "us"}
        Units shown.
    """
    if math.isnan(value):
        return NOTHING
    shown = figures(convert(value, name, system))
    return f"R-{shown}" if system == "us" and suffix_of(name) == "m2k_w" else f"{shown} {symbol(name, system)}".rstrip()


def figures(value: float, digits: int = 4) -> str:
    """A bare number to so many figures, never with an exponent: ``"0.0019"``, ``"12350"``."""
    if value == 0.0 or not math.isfinite(value):
        return "0" if value == 0.0 else NOTHING
    decimals = max(digits - 1 - math.floor(math.log10(abs(value))), 0)
    text = f"{value:.{decimals}f}"
    text = text.rstrip("0").rstrip(".") if "." in text else text
    return text.replace("-", MINUS)


_BEFORE_UNIT = re.compile(r"(?<=\d) (?=(?:h \d\d min|h|min|k?Wh?|°[CF]|K|A|V|Ah|mm|in|m|ft|kg|lb|km/h|mph)\b)")


def unbroken(text: str) -> str:
    """Text in which no line may end between a number and its unit, nor within a duration."""
    return _BEFORE_UNIT.sub("\u00a0", re.sub(r"(?<=\d h) (?=\d\d min)", "\u00a0", text))


def mass_gain(value_kg: float, system: str = "si") -> str:
    """Change of a mass: ``"+11 kg"``, ``"0 kg"``."""
    text = mass(value_kg, system)
    return text if text.startswith((MINUS, "0 ")) else f"+{text}"


def watt_hours(value_wh: float) -> str:
    """Energy in whole watt-hours, where figures of a table add up: ``"3187 Wh"``."""
    return f"{_number(value_wh, 0)} Wh"


def percent_fine(share: float) -> str:
    """A small share with a decimal: ``"0.4%"``, ``"1.0%"``."""
    return f"{100.0 * share:.1f}%"
