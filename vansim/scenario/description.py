"""A van described in about ten answers: what is asked, what may be answered, and how answers are read.

Each answer is text as people say it (``"1 in"``, ``"25 mm spray-foam"``, ``"65 A"``, ``"75 degF"``) or a number in the
unit that the key ends in. `described` writes a scenario from them.
"""

from __future__ import annotations

import re
from collections.abc import Mapping
from datetime import date
from typing import Any, Literal, Self, get_args

from pydantic import Field, model_validator

from vansim.data import table
from vansim.errors import ScenarioError
from vansim.quantities import ClockTime, Fraction, NotNegative, Part
from vansim.scenario.faults import bounds_words, fault_line, listed, mean_word, shown
from vansim.scenario.keys import bounds_of
from vansim.scenario.reading import Reading, checked
from vansim.units import parse_quantity, stem_of, suffix_of, symbol
from vansim.van.bank import Chemistry
from vansim.van.cabin_measures import HEIGHT_M, LENGTH_M, WIDTH_M, Glazing

LENGTHS_M = {"short": 5.0, "medium": 5.5, "long": 6.0, "extra-long": 7.0}
HEIGHTS_M = {"low": 2.0, "medium": 2.4, "high": 2.7, "extra-high": 2.9}
"""Size classes of panel vans, in round figures (assumed)."""
CLASSES = {"length_m": LENGTHS_M, "height_m": HEIGHTS_M}
MATERIALS = {
    "foam": "spray-foam", "wool": "sheep-wool", "board": "pir-board", "felt": "polyester-batt",
    "rubber foam": "elastomeric-sheet", "foam sheet": "elastomeric-sheet", "foam board": "xps",
}  # fmt: skip
"""What people call materials, to keys of the materials table."""
FLAT_OUT_OVER_ECO = 1.75
"""Current flat out over that in eco, where only eco is known (assumed, as in the library's roof units)."""
LEAST_LAYER_MM, MOST_LAYER_MM = 1.0, 200.0
"""Of an insulating layer: outside of this a slip of the unit is more likely."""


class VanDescription(Part):
    """Answers about a van, its people and its place; what is left out is the default.

    Each field is described in `vansim.scenario.questions.WORDS`; defaults and ranges stand here. `roof` is as `walls`
    where it is empty, `boost_a` 1.75 times `eco_a`, and `capacity_w` estimated.
    """

    title: str = "My van"
    length_m: float = Field(default=6.0, ge=LENGTH_M[0], le=LENGTH_M[1])
    width_m: float = Field(default=2.05, ge=WIDTH_M[0], le=WIDTH_M[1])
    height_m: float = Field(default=2.7, ge=HEIGHT_M[0], le=HEIGHT_M[1])
    walls: str = "50 mm sheep-wool"
    roof: str = ""
    floor: str = "20 mm xps"
    glazing: Glazing = "cab_and_door"
    covers: str = "insulated-inside"
    colour: str = "white"
    people: int = Field(default=2, ge=0, le=20)
    dogs_kg: tuple[float, ...] = ()
    volts: Literal[12, 24, 48] = 12
    eco_a: float = Field(default=50.0, ge=2, le=200)
    boost_a: float | None = Field(default=None, ge=3, le=300)
    label_outdoor_c: float = Field(default=35.0, ge=20, le=50)
    label_cabin_c: float = Field(default=25.0, ge=18, le=35)
    capacity_w: float | None = Field(default=None, ge=300, le=12000)
    bank_ah: float = Field(default=400.0, ge=10, le=5000)
    batteries: int = Field(default=2, ge=1, le=64)
    chemistry: Chemistry = "lfp"
    idle_a: float = Field(default=40.0, ge=0, le=400)
    road_a: float = Field(default=60.0, ge=0, le=400)
    solar_w: float = Field(default=200.0, ge=0, le=3000)
    shore_a: float = Field(default=0.0, ge=0, le=200)
    fan_m3_h: NotNegative = Field(default=700.0, le=3000)
    weather: str = "desert"
    date: str = Field(default="07-15", pattern=r"^(0[1-9]|1[0-2])-(0[1-9]|[12]\d|3[01])$")
    bedtime: ClockTime = "22:00"
    waking: ClockTime = "07:00"
    setpoint_c: float = Field(default=24.0, ge=15, le=32)
    limit_c: float = Field(default=26.0, ge=18, le=35)
    shade: Fraction = 0.0

    @model_validator(mode="after")
    def _makes_sense(self) -> Self:
        faults = []
        if self.eco_a > self.flat_out_a:
            faults.append(f"eco_a is {self.eco_a:g} A and boost_a {self.boost_a:g} A; eco draws the lesser of the two")
        if any(not 0.5 <= mass <= 120.0 for mass in self.dogs_kg):
            faults.append("dogs_kg: a dog is 0.5 to 120 kg")
        if self.dogs_kg and not self.people:
            faults.append(
                "dogs_kg: dogs without people; an animal is never left alone in a van, so no plan is made for it"
            )
        night = (_minutes(self.waking) - _minutes(self.bedtime)) % 1440
        if not 60 <= night <= 16 * 60:
            faults.append(f"bedtime {self.bedtime} to waking {self.waking} is {night / 60:g} h; allowed: 1 to 16 h")
        try:
            date(2001, int(self.date[:2]), int(self.date[3:]))
        except ValueError:
            faults.append(f"date {self.date} does not exist in a typical year")
        if faults:
            raise ValueError("\n".join(faults))
        return self

    @property
    def flat_out_a(self) -> float:
        """What the cooler draws flat out [A]."""
        return round(FLAT_OUT_OVER_ECO * self.eco_a, 1) if self.boost_a is None else self.boost_a


def _minutes(clock: str) -> int:
    return int(clock[:2]) * 60 + int(clock[3:])


def _unknown(key: str, word: str, allowed: Any) -> list[str]:
    known = list(dict.fromkeys(allowed))
    return [] if word in known else [f"{key}: no {word!r}; allowed: {listed(known)}{mean_word(word, known, 0.4)}"]


# --- reading ----------------------------------------------------------------------------------------------------------

_LAYER = re.compile(r"^\s*([\d.,]+\s*[a-zA-Z\"]*)\s+(?:of\s+)?([a-z][a-z -]*?)\s*$", re.IGNORECASE)
_BARE = re.compile(r"^\s*[-+]?\d+(?:\.\d+)?\s*$")


def layers_of(text: str) -> tuple[dict[str, Any], ...]:
    """Layers of insulation in words.

    Parameters
    ----------
    text : str
        ``"25 mm spray-foam"``, ``"1 in of foam"``, ``"30 mm foam + 20 mm board"``, or ``"none"``.

    Returns
    -------
    tuple of dict
        `material` and `thickness_mm` of each, from outside to inside.

    Raises
    ------
    ValueError
        Not to be read so, an unknown material with the nearest, or a thickness that no layer has.
    """
    if text.strip().lower() in ("", "none"):
        return ()
    return tuple(_layer(piece) for piece in text.split("+"))


def _layer(text: str) -> dict[str, Any]:
    match = _LAYER.match(text)
    if match is None:
        raise ValueError(f"{text.strip()!r} is not a thickness and a material; write for example '25 mm spray-foam'")
    thickness, said = match.group(1).replace('"', " in"), match.group(2).strip().lower()
    number = f"{thickness} mm" if _BARE.match(thickness) else thickness
    thickness_mm = parse_quantity(number, "mm")
    known, material = table("materials"), MATERIALS.get(said, "-".join(said.split()))
    if material not in known:
        hint = mean_word(material, [*known, *MATERIALS], 0.4)
        raise ValueError(f"{said!r} is not in the materials table; allowed: {listed(known)}{hint}")
    if not LEAST_LAYER_MM <= thickness_mm <= MOST_LAYER_MM:
        raise ValueError(f"{thickness_mm:g} mm of {material}: allowed: {LEAST_LAYER_MM:g} to {MOST_LAYER_MM:g} mm")
    return {"material": material, "thickness_mm": round(thickness_mm, 3)}


def described_by(answers: Mapping[str, Any]) -> VanDescription:
    """Read answers.

    Parameters
    ----------
    answers : mapping of str to object
        Fields of `VanDescription`, with their unit in the key or in the text; None for the default.

    Returns
    -------
    VanDescription

    Raises
    ------
    ScenarioError
        Every fault, by key.
    """
    faults: list[str] = []
    clean: dict[str, Any] = {}
    for key, value in answers.items():
        if value is None:
            continue
        try:
            clean[key] = _in_words(key, value)
        except ValueError as fault:
            faults.append(fault_line("", key, str(fault)))
    for key in ("walls", "roof", "floor"):
        try:
            layers_of(str(clean.get(key, "")))
        except ValueError as fault:
            faults.append(fault_line("", key, str(fault)))
    faults += _unknown("covers", clean.get("covers", "none"), ["none", *table("glass")["covers"]])
    faults += _unknown("colour", clean.get("colour", "white"), table("paints"))
    reading = Reading(VanDescription)
    made = checked(VanDescription, reading.table(VanDescription, clean, (), ()), reading)
    faults += [fault_line("", ".".join(map(str, path)), words) for path, words in reading.faults]
    if made is None or faults:
        raise ScenarioError(list(dict.fromkeys(faults)))
    return made


def said_default(key: str) -> str:
    """Default of an answer as it would be typed."""
    value = VanDescription.model_fields[key].default
    if value is None or value == "":
        return {"roof": "as the walls", "boost_a": "1.75 times eco"}.get(key, "estimated")
    if value == ():
        return "none"
    return f"{value:g} {symbol(key)}".rstrip() if isinstance(value, int | float) else str(value)


def range_words(key: str) -> str:
    """What an answer may be, in words; empty where its description says it."""
    bounds = bounds_of(VanDescription, (key,))
    if bounds:
        return bounds_words(bounds, key)
    choices = get_args(VanDescription.model_fields[key].annotation)
    if choices and all(isinstance(choice, str | int) for choice in choices):
        return ", ".join(map(str, choices))
    tables = {"covers": ["none", *table("glass")["covers"]], "colour": table("paints")}
    if key in ("walls", "roof", "floor"):
        tables[key] = table("materials")
    return ", ".join(dict.fromkeys(tables[key])) if key in tables else ""


def field_of(key: str) -> str:
    """Full name of an answer's key, which may be written without its unit; the key itself where there is none."""
    fields = VanDescription.model_fields
    return key if key in fields else next((name for name in fields if suffix_of(name) and stem_of(name) == key), key)


def _in_words(key: str, value: Any) -> Any:
    """An answer as people say it, as what the model takes."""
    name = field_of(key)
    if not isinstance(value, str):
        bare = key != name and isinstance(value, int | float) and not isinstance(value, bool)
        return f"{value} {symbol(name)}" if bare else tuple(value) if isinstance(value, list) else value
    text = value.strip()
    if name in CLASSES and (text.lower() in CLASSES[name] or not re.match(r"[-+\d.]", text)):
        return f"{_class(text, CLASSES[name])} m"
    if name == "dogs_kg":
        masses = [] if text.lower() in ("", "none", "no", "0") else text.split(",")
        if any(_BARE.match(one) for one in masses):
            raise ValueError(f"dogs are given by mass (you wrote {text!r}); write for example '25 kg, 8 kg', or none")
        return tuple(parse_quantity(one, "kg") for one in masses)
    suffix = suffix_of(name)
    if suffix and text.lower() in ("none", "no"):
        return None if name == "capacity_w" else f"0 {symbol(name)}"
    if suffix and _BARE.match(text):
        return f"{text} {symbol(name)}"
    if name in ("people", "batteries", "volts"):
        number = re.fullmatch(r"(\d+)\s*(?:V|volts?)?", text)
        return int(number.group(1)) if number else value
    if name == "shade":
        return float(text.rstrip("% ")) / (100.0 if "%" in text else 1.0) if _BARE.match(text.rstrip("% ")) else value
    if name == "glazing":
        return text.lower().replace(" ", "_").replace("-", "_")
    if name in ("covers", "colour", "chemistry"):
        return {"lithium": "lfp", "lifepo4": "lfp", "lead": "agm", "gel": "agm"}.get(text.lower(), text.lower())
    return value


def _class(word: str, classes: Mapping[str, float]) -> float:
    if word.lower() not in classes:
        hint = mean_word(word, classes)
        raise ValueError(f"{shown(word)} is neither a measure nor a size; allowed: {listed(classes)}{hint}")
    return classes[word.lower()]
