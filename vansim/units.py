"""Units: what a suffix means, how a written quantity is read, and how a number is shown.

A value that crosses a border carries its unit at the end of its name (`cabin_c`, `bank_w`). This table is the one place
that knows these endings; files, tables, axis labels and messages all ask it, so they cannot drift apart.
SI inside, always. US units exist only where a person reads or writes.
"""

from __future__ import annotations

import re
from dataclasses import dataclass

_NUMBER = re.compile(r"^\s*([-+]?(?:\d+\.?\d*|\.\d+)(?:[eE][-+]?\d+)?)\s*(.*?)\s*$")


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


def _unit(symbol: str, us: tuple[str, float, float] | None = None, /, **also: float) -> Unit:
    us_symbol, scale, offset = us or (symbol, 1.0, 0.0)
    written = {symbol: (1.0, 0.0)} | {name.replace("__", "/"): (factor, 0.0) for name, factor in also.items()}
    return Unit(symbol, us_symbol, scale, offset, written)


_FAHRENHEIT = (5.0 / 9.0, -160.0 / 9.0)

SUFFIXES: dict[str, Unit] = {
    "c": Unit(
        "°C",
        "°F",
        1.8,
        32.0,
        {"degC": (1, 0), "°C": (1, 0), "C": (1, 0), "degF": _FAHRENHEIT, "°F": _FAHRENHEIT, "F": _FAHRENHEIT},
    ),
    "k": Unit("K", "°F", 1.8, 0.0, {"K": (1, 0), "delta_degF": (1 / 1.8, 0), "degF": (1 / 1.8, 0), "°F": (1 / 1.8, 0)}),
    "w": _unit("W", None, kW=1000.0),
    "wh": _unit("Wh", None, kWh=1000.0),
    "kwh": _unit("kWh", None, Wh=0.001),
    "kj_k": _unit("kJ/K"),
    "kg": _unit("kg", ("lb", 2.2046226, 0.0), lb=0.45359237, g=0.001),
    "g_h": _unit("g/h", None, kg__h=1000.0),
    "s": _unit("s", None, min=60.0, h=3600.0),
    "min": _unit("min", None, s=1 / 60.0, h=60.0),
    "h": _unit("h", None, min=1 / 60.0),
    "m": _unit("m", ("ft", 3.2808399, 0.0), cm=0.01, mm=0.001, ft=0.3048, **{"in": 0.0254}),
    "mm": _unit("mm", ("in", 1 / 25.4, 0.0), cm=10.0, m=1000.0, **{"in": 25.4}),
    "m2": _unit("m2", ("ft2", 10.76391, 0.0), ft2=0.09290304),
    "m3": _unit("m3", ("ft3", 35.314667, 0.0), ft3=0.028316847, l=0.001, L=0.001),
    "m3_h": _unit("m3/h", ("cfm", 0.58857778, 0.0), cfm=1.69901082, m3__s=3600.0, l__s=3.6),
    "deg": _unit("deg"),
    "v": _unit("V"),
    "a": _unit("A"),
    "ah": _unit("Ah"),
    "pa": _unit("Pa", None, hPa=100.0, mbar=100.0, kPa=1000.0),
    "w_m2": _unit("W/m2"),
    "w_m2k": _unit("W/m2K", ("Btu/h ft2 °F", 0.17611, 0.0)),
    "m2k_w": _unit("m2K/W", ("h ft2 °F/Btu", 5.678263, 0.0)),
    "w_k": _unit("W/K", ("Btu/h °F", 1.8956, 0.0)),
    "w_mk": _unit("W/mK"),
    "km": _unit("km", ("mi", 0.62137119, 0.0), m=0.001, mi=1.609344),
    "kmh": _unit("km/h", ("mph", 0.62137119, 0.0), mph=1.609344, m__s=3.6),
    "m_s": _unit("m/s", ("mph", 2.2369363, 0.0), mph=0.44704, km__h=1 / 3.6),
    "per_h": _unit("1/h"),
    "mohm": _unit("mOhm", None, Ohm=1000.0),
}


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


def parse_quantity(text: str, suffix: str) -> float:
    """Read a number with a unit into the SI unit of a suffix.

    Parameters
    ----------
    text : str
        For example ``"75 degF"``; the unit is compulsory.
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
    match = _NUMBER.match(text)
    if match is None:
        raise ValueError(f"{text!r} does not start with a number; write for example '20 {next(iter(unit.written))}'")
    number, written = float(match.group(1)), match.group(2)
    if written not in unit.written:
        problem = f"unit {written!r} is not known here" if written else "the unit is missing"
        raise ValueError(f"{text!r}: {problem}; allowed: {allowed}")
    scale, offset = unit.written[written]
    return number * scale + offset


def show(value: float, name: str, system: str = "si", digits: int = 1) -> str:
    """Number with its unit for a reader.

    Parameters
    ----------
    value : float
        In SI, as named.
    name : str
        A name with a unit suffix; without one the bare number is returned.
    system : {"si", "us"}
        Units to show.
    digits : int
        Decimals.

    Returns
    -------
    str
        For example ``"24.0 °C"`` or ``"75.2 °F"``.
    """
    return f"{convert(value, name, system):.{digits}f} {symbol(name, system)}".rstrip()


def convert(value: float, name: str, system: str = "si") -> float:
    """Value in the shown unit system; numbers and arrays alike."""
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


def label(name: str, system: str = "si") -> str:
    """Axis label from a name: ``"cabin_c"`` gives ``"Cabin [°C]"``."""
    words = stem_of(name).replace("_", " ")
    unit = symbol(name, system)
    return words[:1].upper() + words[1:] + (f" [{unit}]" if unit else "")
