"""A scenario written from a description: a commented TOML file that may be changed by hand, and the scenario in it.

What the answers do not tell is written out as a figure of common practice with a comment, so that nothing is hidden.
"""

from __future__ import annotations

import json
import os
import re
import tomllib
from collections.abc import Mapping
from functools import lru_cache
from pathlib import Path
from typing import Any

from vansim.errors import PhysicsError, ScenarioError
from vansim.output_files import write_new
from vansim.scenario.description import VanDescription, described_by, field_of, layers_of
from vansim.scenario.faults import mean_word
from vansim.scenario.files import read_scenario
from vansim.scenario.schema import Scenario
from vansim.scenario.toml import Document, demo_folder
from vansim.units import parse_quantity, stem_of, suffix_of
from vansim.van.bank import Bank, BankUnit, bank_parameters, ocv_at
from vansim.van.cooler import Cooler
from vansim.van.cooler_draw import Condition, cooler_that_draws

PANEL_M2_PER_W = 1.0 / 200.0
"""Area of panels per watt: 20 % of 1000 W/m2 (common practice)."""
FAN_W_PER_M3_H = 0.043
"""Roof fan's power over its flow (assumed, as in the library's cabins)."""
REST_SOC = 0.5
"""State of charge at whose resting voltage currents are turned into power."""
EVENING_MIN, AIRING_MIN, MORNING_MIN = 210, 30, 120
"""Cooling before bedtime, airing before that, and the morning after waking [min]."""


def describe_van(to: str | Path | None = None, overwrite: bool = False, **answers: Any) -> Scenario:
    """Make a scenario from about ten answers.

    Parameters
    ----------
    to : str or Path, optional
        Where to write the scenario as a commented TOML file; left out, nothing is written.
    overwrite : bool
        Whether a file that is there may be replaced.
    **answers
        Fields of `vansim.scenario.description.VanDescription`, as numbers in the unit of the key or as text with a
        unit: ``length="6.9 m"``, ``height="high"``, ``walls="25 mm spray-foam"``, ``eco="65 A"``, ``boost_a=95``,
        ``bank_ah=600``, ``dogs="25 kg, 8 kg"``, ``setpoint="75 degF"``. What is left out is the default.

    Returns
    -------
    Scenario
        As read from the file, or from its text.

    Raises
    ------
    ScenarioError
        Every fault of the answers, by key; or the file is there already, or cannot be written.
    PhysicsError
        No cooler does what its label says.

    Notes
    -----
    Faces, glass, volume and heat stores follow from the measures (`vansim.van.cabin_measures`) whenever the file is
    read. The cooler is calibrated once, here: its rated input and its eco speed are such that it draws the given
    currents at the stated condition, at the bank's resting voltage at half charge, standard air pressure and half
    humidity.
    """
    folder = Path() if to is None else Path(to).parent
    scenario, text = made_from(answers, folder)
    if to is not None:
        try:
            write_new(Path(to), text.encode(), overwrite)
        except FileExistsError:
            raise ScenarioError(f"{to}: is there already; choose another name, or allow it to be overwritten") from None
        except OSError as problem:
            raise ScenarioError(f"{to}: cannot be written ({problem.strerror})") from None
    return scenario


def made_from(answers: Mapping[str, Any], folder: Path = Path()) -> tuple[Scenario, str]:
    """The scenario of answers, and the text of its file; errors and parameters as for `describe_van`."""
    text = scenario_text(described_by(answers), answers, folder)
    return read_scenario(Document(tomllib.loads(text), "", text), folder), text


def scenario_text(van: VanDescription, said: Mapping[str, Any], folder: Path = Path()) -> str:
    """The scenario file of a description.

    Parameters
    ----------
    van : VanDescription
        The answers.
    said : mapping
        Answers as they were given: one with a unit is written down so.
    folder : Path
        Where the file is to be, for the path of the weather.

    Returns
    -------
    str
        TOML, every value with a comment.
    """
    written = {field_of(key): value for key, value in said.items() if isinstance(value, str)}
    pieces = [
        _head(van, folder), _cabin(van, written), _occupants(van), _cooler(van, written), _bank(van), _charging(van),
        _loads(), _day(van),
    ]  # fmt: skip
    return "\n".join(_aligned(piece) for piece in pieces if piece)


_REMARK = re.compile(r"^(?!title|weather)(\S.*?)  +# (.*)$", re.MULTILINE)
_COLUMN = 36
"""Where remarks begin."""


def _aligned(piece: str) -> str:
    return _REMARK.sub(lambda found: f"{found[1]:<{_COLUMN}}  # {found[2]}", piece)


# --- pieces of the file -----------------------------------------------------------------------------------------------


def _quoted(text: str) -> str:
    return json.dumps(text, ensure_ascii=False)


def _measure(van: VanDescription, key: str, written: Mapping[str, str], name: str = "") -> str:
    """A value as it was said, where it was said with its unit, else as a number."""
    name, said, suffix = name or key, written.get(key, ""), suffix_of(key) or ""
    try:
        parse_quantity(said, suffix)
    except ValueError:
        return f"{name} = {round(float(getattr(van, key)), 4)}"
    return f"{stem_of(name)} = {_quoted(said.strip())}"


def _head(van: VanDescription, folder: Path) -> str:
    return f"""# Written from a description of a van; every value may be changed by hand.
# `vansim check FILE` says what it makes of it.
# CAUTION: never leave a child or an animal alone in a van, whatever the cooling does.

title = {_quoted(van.title)}
# A typical-year file of the place (EPW, TMY3, TMY2, PVGIS), or one of the bundled, invented climates:
weather = {_quoted(_weather(van.weather, folder))}

[run]
date = "{van.date}"          # the evening on which the night begins

[night]
bedtime = "{van.bedtime}"
waking = "{van.waking}"
limit_c = {van.limit_c:g}           # the cabin must stay at or below this
"""


def _weather(said: str, folder: Path) -> str:
    """Path as the file is to hold it: a bundled climate by its file name, one's own from the file's folder."""
    bundled = {path.stem: path.name for path in sorted((demo_folder() / "data_demo" / "climates").glob("*.epw"))}
    if said in bundled or said in bundled.values():
        return bundled.get(said, said)
    own = Path(os.path.expanduser(said))
    if not own.is_file():
        hint = mean_word(said, [*bundled, *bundled.values()])
        raise ScenarioError(
            f"weather: no such file (you wrote {said!r}); give a typical-year file, or one of the bundled, invented "
            f"climates: {', '.join(bundled)}{hint}"
        )
    return os.path.relpath(own, folder)


def _layers(text: str) -> str:
    rows = [f'{{ material = "{one["material"]}", thickness_mm = {one["thickness_mm"]:g} }}' for one in layers_of(text)]
    return f"[{', '.join(rows)}]"


def _cabin(van: VanDescription, written: Mapping[str, str]) -> str:
    power = f"{van.fan_m3_h * FAN_W_PER_M3_H:.0f}"
    fan = f"fan_m3_h = {van.fan_m3_h:g}  # roof fan\nfan_w = {power}\n" if van.fan_m3_h else ""
    return f"""# Faces, glass, volume and heat stores follow from these measures; what is given beside them holds.
[cabin]
{_measure(van, "length_m", written)}           # outside, bumper to bumper
{_measure(van, "width_m", written)}          # outside, without mirrors
{_measure(van, "height_m", written)}           # from the ground to the roof
walls = {_layers(van.walls)}   # between steel and lining
roof = {_layers(van.roof or van.walls)}
floor = {_layers(van.floor)}
glazing = "{van.glazing}"   # none, cab, cab_and_door, cab_and_sides, all_round
covers = "{van.covers}"   # before the glass where the plan says covers = true
paint = "{van.colour}"
{fan}"""


def _occupants(van: VanDescription) -> str:
    dogs = ", ".join(f"{{ mass_kg = {mass:g} }}" for mass in van.dogs_kg)
    return f"""[occupants]
people = {van.people}
dogs = [{dogs}]
"""


def rest_v(nominal_v: int, chemistry: str) -> float:
    """Voltage at rest of a half charged bank [V], at which currents of a label are turned into power."""
    unit = BankUnit(chemistry=chemistry, nominal_v=nominal_v, capacity_ah=100.0)  # type: ignore[arg-type]
    return float(ocv_at(bank_parameters(Bank(unit=unit)), REST_SOC))


_calibrated = lru_cache(maxsize=64)(cooler_that_draws)


def labelled_cooler(van: VanDescription) -> Cooler:
    """The cooler that draws what the description says.

    Raises
    ------
    PhysicsError
        None does.
    """
    volts = rest_v(van.volts, van.chemistry)
    at = Condition(outdoor_c=van.label_outdoor_c, cabin_c=van.label_cabin_c)
    try:
        return _calibrated(van.eco_a * volts, van.flat_out_a * volts, at, van.volts, van.capacity_w)
    except PhysicsError as problem:
        raise PhysicsError(f"cooler: {fault}" for fault in problem.faults) from None


def _cooler(van: VanDescription, written: Mapping[str, str]) -> str:
    cooler, volts = labelled_cooler(van), rest_v(van.volts, van.chemistry)
    eco, rated = cooler.eco, cooler.rated
    guessed = "estimated from the current" if van.capacity_w is None else "by its label"
    return f"""# Calibrated to draw {van.eco_a:g} A in eco and {van.flat_out_a:g} A flat out at {volts:.1f} V, with {van.label_outdoor_c:g} °C outside and {van.label_cabin_c:g} °C in
# the cabin. Power, speed and limit belong together: for another current, describe the cooler again.
[cooler]
name = "roof unit"
nominal_v = {van.volts}
airflow_m3_h = {cooler.airflow_m3_h:g}     # through the coil (common practice for this capacity)
coil_fan_w = {cooler.coil_fan_w:g}
condenser_fan_w = {cooler.condenser_fan_w:g}
power_max_w = {cooler.power_max_w:g}      # its controller draws no more
rated = {{ capacity_w = {rated.capacity_w}, power_w = {rated.power_w}, outdoor_c = {rated.outdoor_c}, cabin_c = {rated.cabin_c}, cabin_rh = {rated.cabin_rh} }}   # capacity {guessed}
eco = {{ compressor = {eco.compressor}, coil_air = {eco.coil_air}, condenser_air = {eco.condenser_air} }}

[thermostat]
{_measure(van, "setpoint_c", written)}
"""  # noqa: E501


def _bank(van: VanDescription) -> str:
    reserve = 0.1 if van.chemistry == "lfp" else 0.4
    return f"""[bank]
parallel = {van.batteries}
reserve_soc = {reserve}       # the cooler stops here
unit = {{ name = "one battery", chemistry = "{van.chemistry}", nominal_v = {van.volts}, capacity_ah = {round(van.bank_ah / van.batteries, 3):g} }}
"""  # noqa: E501


def _charging(van: VanDescription) -> str:
    pieces = []
    if van.idle_a or van.road_a:
        pieces.append(f"""[alternator]          # current into the bank, cool
nominal_v = {van.volts}
idle_a = {van.idle_a:g}
road_a = {van.road_a:g}
""")
    if van.solar_w:
        pieces.append(f"""[solar]
rated_w = {van.solar_w:g}
area_m2 = {van.solar_w * PANEL_M2_PER_W:.3g}        # 200 W/m2 (common practice)
""")
    if van.shore_a:
        pieces.append(f"""[charger]             # plugged in where the plan says shore = true
nominal_v = {van.volts}
output_a = {van.shore_a:g}

[shore]
breaker_a = 15
mains_v = 120.0  # or 230
""")
    return "\n".join(pieces)


def _loads() -> str:
    return """# What else draws on the bank: usual figures (assumed); change them to your own.
[[loads]]
name = "fridge"
power_w = 45
duty = 0.45

[[loads]]
name = "lights"
power_w = 20
hours = [{ start = "20:00", end = "22:30" }]
"""


def _clock(bedtime: str, shift_min: int) -> str:
    now = (int(bedtime[:2]) * 60 + int(bedtime[3:]) + shift_min) % 1440
    return f"{now // 60:02d}:{now % 60:02d}"


def _day(van: VanDescription) -> str:
    evening = _clock(van.bedtime, -EVENING_MIN)
    airing, morning = _clock(evening, -AIRING_MIN), _clock(van.waking, MORNING_MIN)
    fan = ("on", "auto") if van.fan_m3_h else ("off", "off")
    shade = f"shade = {van.shade:g}"
    return f"""# The day: parked and shut with nobody aboard, aired, cooled from early evening, slept in, aired again.
[[day]]
name = "at the camp"

[[day.segment]]
start = "{morning}"
end = "{airing}"
{shade}             # share of the direct sun kept off
covers = true
people = "out"
dogs = "out"

[[day.segment]]
start = "{airing}"
end = "{evening}"
{shade}
window_open = true
fan = "{fan[0]}"
covers = true

[[day.segment]]
start = "{evening}"
end = "{van.bedtime}"
{shade}
covers = true
cooling = "boost_then_eco"

[[day.segment]]
start = "{van.bedtime}"
end = "{van.waking}"
covers = true
cooling = "eco"
people = "asleep"
dogs = "asleep"

[[day.segment]]
start = "{van.waking}"
end = "{morning}"
window_open = true
fan = "{fan[1]}"
"""
