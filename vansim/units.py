"""Units: what a suffix means, how a written quantity is read, and how a number is shown.

A value that crosses a border carries its unit at the end of its name (`cabin_c`, `bank_w`). This table is the one place
that knows these endings; files, tables, axis labels and messages all ask it, so they cannot drift apart.
SI inside, always. US units exist only where a person reads or writes. A suffix with ``_k`` in it is a temperature
*difference* or a value per one of them: it scales by 1.8 or its inverse and never takes the offset of 32.

Factors are exact where they are defined so (NIST SP 811 (2008), appendix B.8): 1 ft = 0.3048 m, 1 lb = 0.45359237 kg,
1 Btu (IT) = 1055.05585262 J, 1 inHg = 3386.389 Pa, 1 psi = 6894.757 Pa.
"""

from __future__ import annotations

import re
from dataclasses import dataclass
from functools import lru_cache
from typing import TYPE_CHECKING, Any, overload

if TYPE_CHECKING:
    import numpy.typing as npt

_NUMBER = re.compile(r"^\s*([-+]?(?:\d+\.?\d*|\.\d+)(?:[eE][-+]?\d+)?)\s*(.*?)\s*$")
_R_VALUE = re.compile(r"^\s*R\s*-?\s*(\d+\.?\d*)\s*$")


@dataclass(frozen=True)
class Unit:
    """A suffix: its SI symbol, the symbol shown in US units, and what may be written in a file.

    Attributes
    ----------
    symbol : str
        SI symbol as printed.
    us_symbol : str
        Symbol as printed with US units.
    us_scale, us_offset : float
        shown = value * us_scale + us_offset.
    written : dict of str to (float, float)
        Unit as written in a file, to (scale, offset) into SI.
    """

    symbol: str
    us_symbol: str
    us_scale: float
    us_offset: float
    written: dict[str, tuple[float, float]]


def _same(symbol: str, also: dict[str, float] | None = None) -> Unit:
    """A unit that both systems share."""
    return Unit(symbol, symbol, 1.0, 0.0, {name: (scale, 0.0) for name, scale in {symbol: 1.0, **(also or {})}.items()})


def _pair(symbol: str, us_symbol: str, us_in_si: float, also: dict[str, float] | None = None) -> Unit:
    """A unit with a US counterpart, which is worth `us_in_si` of it; both may be written, and others besides."""
    written = {symbol: 1.0, us_symbol.replace("°F", "degF"): us_in_si, **(also or {})}
    return Unit(symbol, us_symbol, 1.0 / us_in_si, 0.0, {name: (scale, 0.0) for name, scale in written.items()})


_FAHRENHEIT = (5.0 / 9.0, -160.0 / 9.0)
_INCH, _FOOT, _MILE, _POUND = 0.0254, 0.3048, 1609.344, 0.45359237
_BTU = 1055.05585262
"""International-table British thermal unit [J]."""
_DEGREE = 1.0 / 1.8
"""A difference of one degree Fahrenheit [K]."""

SUFFIXES: dict[str, Unit] = {
    "c": Unit(
        "°C", "°F", 1.8, 32.0,
        {"degC": (1, 0), "°C": (1, 0), "C": (1, 0), "degF": _FAHRENHEIT, "°F": _FAHRENHEIT, "F": _FAHRENHEIT},
    ),
    "k": _pair("K", "°F", _DEGREE, {"degC": 1.0, "delta_degC": 1.0, "delta_degF": _DEGREE, "C": 1.0, "F": _DEGREE}),
    "per_k": _pair(
        "per K", "per °F", 1.8,
        {"1/K": 1.0, "/K": 1.0, "%/K": 0.01, "%/degC": 0.01, "1/degC": 1.0, "1/degF": 1.8, "%/degF": 0.018},
    ),
    "k_h": _pair("K h", "°F h", _DEGREE),
    "w": _same("W", {"kW": 1000.0, "Btu/h": _BTU / 3600.0}),
    "wh": _same("Wh", {"kWh": 1000.0}),
    "kwh": _same("kWh", {"Wh": 0.001}),
    "kwh_m2_day": Unit("kWh/m2 a day", "peak sun hours a day", 1.0, 0.0, {"kWh/m2": (1.0, 0.0)}),
    "kj_k": _pair("kJ/K", "Btu/°F", _BTU * 1.8 / 1000.0, {"J/K": 0.001, "Wh/K": 3.6}),
    "kg": _pair("kg", "lb", _POUND, {"g": 0.001, "oz": _POUND / 16.0}),
    "kg_m3": _pair("kg/m3", "lb/ft3", _POUND / _FOOT**3),
    "j_kgk": _pair("J/kgK", "Btu/lb °F", _BTU / _POUND * 1.8),
    "g_h": _pair("g/h", "lb/h", 1000.0 * _POUND, {"kg/h": 1000.0}),
    "s": _same("s", {"min": 60.0, "h": 3600.0}),
    "min": _same("min", {"s": 1 / 60.0, "h": 60.0}),
    "h": _same("h", {"min": 1 / 60.0}),
    "m": _pair("m", "ft", _FOOT, {"cm": 0.01, "mm": 0.001, "in": _INCH}),
    "mm": _pair("mm", "in", 1000.0 * _INCH, {"cm": 10.0, "m": 1000.0}),
    "m2": _pair("m2", "ft2", _FOOT**2, {"cm2": 1e-4}),
    "m3": _pair("m3", "ft3", _FOOT**3, {"l": 0.001, "L": 0.001}),
    "m3_h": _pair("m3/h", "cfm", _FOOT**3 * 60.0, {"ft3/min": _FOOT**3 * 60.0, "m3/s": 3600.0, "l/s": 3.6, "L/s": 3.6}),
    "deg": _same("deg"),
    "v": _same("V"),
    "a": _same("A"),
    "ah": _same("Ah"),
    "pa": _pair("Pa", "inHg", 3386.389, {"hPa": 100.0, "mbar": 100.0, "kPa": 1000.0, "psi": 6894.757}),
    "w_m2": _pair("W/m2", "Btu/h ft2", _BTU / 3600.0 / _FOOT**2),
    "w_m2k": _pair("W/m2K", "Btu/h ft2 °F", _BTU / 3600.0 / _FOOT**2 * 1.8),
    "m2k_w": _pair("m2K/W", "h ft2 °F/Btu", _FOOT**2 / 1.8 * 3600.0 / _BTU),
    "w_k": _pair("W/K", "Btu/h °F", _BTU / 3600.0 * 1.8),
    "w_mk": _pair("W/mK", "Btu in/h ft2 °F", _BTU / 3600.0 * _INCH / _FOOT**2 * 1.8),
    "km": _pair("km", "mi", _MILE / 1000.0, {"m": 0.001}),
    "kmh": _pair("km/h", "mph", _MILE / 1000.0, {"m/s": 3.6}),
    "m_s": _pair("m/s", "mph", _MILE / 3600.0, {"km/h": 1 / 3.6}),
    "per_h": _same("1/h"),
    "mohm": _same("mOhm", {"Ohm": 1000.0}),
}  # fmt: skip


@lru_cache(maxsize=1024)
def suffix_of(name: str) -> str | None:
    """Longest known unit suffix of a name, or None for a dimensionless one.

    Parameters
    ----------
    name : str
        For example ``"setpoint_c"``.

    Returns
    -------
    str or None
        For example ``"c"``.
    """
    parts = name.split("_")
    for start in range(1, len(parts)):
        suffix = "_".join(parts[start:])
        if suffix in SUFFIXES:
            return suffix
    return None


def stem_of(name: str) -> str:
    """Name without its unit: ``"setpoint_c"`` gives ``"setpoint"``."""
    suffix = suffix_of(name)
    return name if suffix is None else name[: -len(suffix) - 1]


_SPELLINGS = str.maketrans({"²": "2", "³": "3", " ": None, "·": None, "*": None, "^": None, "(": None, ")": None})


def _plain(unit: str) -> str:
    """A unit as written, without what people write differently: ``"W/(m²·K)"`` and ``"W/m2K"`` are one."""
    return unit.translate(_SPELLINGS).replace("°", "deg").replace("BTU", "Btu")


def parse_quantity(text: str, suffix: str) -> float:
    """Read a number with a unit into the SI unit of a suffix.

    Parameters
    ----------
    text : str
        For example ``"75 degF"``; the unit is compulsory. A thermal resistance may also be written ``"R-13"``.
    suffix : str
        One of `SUFFIXES`.

    Returns
    -------
    float
        Value in the suffix's own unit.

    Raises
    ------
    ValueError
        No number, no unit, or a unit of another quantity; the message lists the allowed ones.
    """
    unit = SUFFIXES[suffix]
    allowed = ", ".join(unit.written)
    if suffix == "m2k_w" and (r_value := _R_VALUE.match(text)):
        return float(r_value.group(1)) / unit.us_scale
    match = _NUMBER.match(text)
    if match is None:
        raise ValueError(f"{text!r} does not start with a number; write for example '20 {next(iter(unit.written))}'")
    number, written = float(match.group(1)), match.group(2)
    factors = {_plain(name): factor for name, factor in unit.written.items()}
    if not written or _plain(written) not in factors:
        problem = f"unit {written!r} is not known here" if written else "the unit is missing"
        raise ValueError(f"{text!r}: {problem}; allowed: {allowed}")
    scale, offset = factors[_plain(written)]
    return number * scale + offset


@overload
def convert(value: float, name: str, system: str = "si") -> float: ...


@overload
def convert(value: npt.NDArray[Any], name: str, system: str = "si") -> npt.NDArray[Any]: ...


def convert(value: float | npt.NDArray[Any], name: str, system: str = "si") -> float | npt.NDArray[Any]:
    """Value in the shown unit system; numbers and arrays alike.

    Parameters
    ----------
    value : float or array of any shape
        In SI, as named.
    name : str
        A name with a unit suffix; without one the value is returned as it is.
    system : {"si", "us"}
        Units to show.

    Returns
    -------
    float or array
        Of the same shape.
    """
    suffix = suffix_of(name)
    if suffix is None or system == "si":
        return value
    unit = SUFFIXES[suffix]
    return value * unit.us_scale + unit.us_offset


def symbol(name: str, system: str = "si") -> str:
    """Symbol of the unit that a name carries; empty for a dimensionless one."""
    suffix = suffix_of(name)
    if suffix is None:
        return ""
    unit = SUFFIXES[suffix]
    return unit.symbol if system == "si" else unit.us_symbol


def _other(system: str) -> dict[str, tuple[str, float, float]]:
    """Symbols that readers of a system do not use, to their own symbol, scale and offset; the longest first."""
    pairs: dict[str, tuple[str, float, float]] = {}
    for unit in SUFFIXES.values():
        if unit.symbol == unit.us_symbol or "per " in unit.symbol or " a " in unit.symbol:
            continue
        scale, offset = unit.us_scale, unit.us_offset
        if system == "us":
            pairs.setdefault(unit.symbol, (unit.us_symbol, scale, offset))
            pairs.setdefault(unit.symbol.replace("°", "deg"), (unit.us_symbol, scale, offset))
        elif unit.us_symbol != "in":  # a word of every other sentence
            pairs.setdefault(unit.us_symbol, (unit.symbol, 1.0 / scale, -offset / scale))
            pairs.setdefault(unit.us_symbol.replace("°", "deg"), (unit.symbol, 1.0 / scale, -offset / scale))
    return dict(sorted(pairs.items(), key=lambda pair: -len(pair[0])))


def translated(text: str, system: str = "si") -> str:
    """A text that somebody wrote, with its quantities in the units shown.

    Parameters
    ----------
    text : str
        For example a note on a part: ``"50 mm of foam"``.
    system : {"si", "us"}
        Units to show.

    Returns
    -------
    str
        ``"1.97 in of foam"``, ``"59 to 89.6 °F"``: quantities in symbols of the other system to three figures,
        everything else as it is.
    """
    table = _other(system)
    symbols = "|".join(re.escape(symbol_) for symbol_ in table)

    def shown(found: re.Match[str]) -> str:
        symbol_, scale, offset = table[found["symbol"]]
        first = f"{float(found['first']) * scale + offset:.3g} to " if found["first"] else ""
        return f"{first}{float(found['last']) * scale + offset:.3g} {symbol_}"

    number = r"[-+]?\d+(?:\.\d+)?"
    spans = rf"(?<![\w.])(?:(?P<first>{number}) to )?(?P<last>{number}) ?(?P<symbol>{symbols})(?![\w/])"
    return re.sub(spans, shown, text)
