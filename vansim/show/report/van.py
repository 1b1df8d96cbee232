"""The van as it was taken, in words: a table in its own values, with where each came from."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping

from vansim import phrases
from vansim.show.report.findings import Findings
from vansim.show.report.findings_van import FaceFound
from vansim.show.report.input_words import WORDS, rough
from vansim.show.report.sections import Row, Table
from vansim.van.cabin import Layer

WALLS = ("left", "right", "front", "rear")


def van_table(found: Findings, origin: Mapping[str, str], system: str) -> Table:
    """The van in its own values, with where each came from."""
    rows: list[Row] = [
        ("On board", _inside(found), _from(origin, "occupants")),
        (
            "Place",
            f"{found.occasion.place}, a typical year ({found.occasion.weather_kind} file)",
            _from(origin, "weather"),
        ),
        (found.occasion.label.capitalize(), _night(found, system), _from(origin, "night", "thermostat.setpoint_c")),
        ("Heat let in", _conductance(found, system), _from(origin, "cabin")),
        ("Insulation", _insulation(found, system), _from(origin, "cabin.faces")),
        ("Paint", _paint(found), _from(origin, "cabin.faces")),
        ("Windows and covers", _windows(found, system), _from(origin, "cabin.windows")),
        ("Shade", _shade(found), _from(origin, "day")),
        ("Cooler", _cooler(found, system), _from(origin, "cooler")),
        ("Battery bank", _bank(found), _from(origin, "bank")),
        ("Solar panels", _panels(found, system), _from(origin, "solar")),
        ("Alternator", _alternator(found), _from(origin, "alternator")),
        ("Shore power", _shore(found), _from(origin, "charger", "shore")),
        ("Other loads", f"{phrases.energy(found.van.loads_wh_day)} a day in all", _from(origin, "loads")),
    ]
    return Table(
        "The van and its plan, as they were given", ("What", "As it was taken", "From"), tuple(rows), (2, 7, 3)
    )


def _from(origin: Mapping[str, str], *keys: str) -> str:
    found = [o for key, o in origin.items() if any(key == k or key.startswith(f"{k}.") for k in keys)]
    return where_from(found)


def where_from(origins: Iterable[str]) -> str:
    """Origins of values that are told together, in words: what was given before what came with a part."""
    words = dict.fromkeys("given" if o == "given" else o.replace("part ", "part: ") for o in origins if o != "default")
    named = sorted(words, key=lambda word: (word != "given", word))
    return "; ".join(named) or "default"


def _inside(found: Findings) -> str:
    people, dogs = found.occasion.people, found.occasion.dogs
    return " and ".join(phrases.count(n, noun) for n, noun in ((people, "person"), (dogs, "dog")) if n) or "nobody"


def _night(found: Findings, system: str) -> str:
    o = found.occasion
    limit, setpoint = (phrases.temperature(c, system, None) for c in (o.limit_c, o.setpoint_c))
    return f"{o.bedtime} to {o.waking}; set point {setpoint}, cabin to stay at or below {limit}"


def _conductance(found: Findings, system: str) -> str:
    per = rough(found.van.ua_w_k, "ua_w_k", system)
    return f"{per}: heat through walls, roof, floor and bare glass for each degree that it is warmer outside than in"


def _layers(insulants: tuple[tuple[str, float], ...], system: str) -> str:
    if not insulants:
        return "none"
    return " + ".join(f"{phrases.thickness(mm, system)} {plain(material)}" for material, mm in insulants)


def plain(key: str) -> str:
    """A name of a table as words: ``"sheep-wool"`` as ``"sheep wool"``."""
    return {"xps": "XPS foam", "pir-board": "PIR board", "pvc": "PVC", "grp": "glass-fibre plastic"}.get(
        key, key.replace("-", " ")
    )


def layer_words(layer: Layer, system: str) -> str:
    """A layer of a face: ``"50 mm sheep wool"``, or its resistance where only that is given."""
    if not layer.material:
        return f"a layer of {rough(layer.r_m2k_w, 'r_m2k_w', system)}"
    return f"{rough(layer.thickness_mm, 'thickness_mm', system)} {plain(layer.material)}"


def _grouped(found: Findings, told: Callable[[FaceFound], str]) -> str:
    """What is told of each face, faces that are alike together."""
    groups: dict[str, list[str]] = {}
    for face in found.van.faces:
        groups.setdefault(told(face), []).append(face.name)
    walls = set(WALLS)

    def names(faces: list[str]) -> str:
        if walls <= set(faces):
            faces = [*(name for name in faces if name not in walls), "walls"]
        return phrases.listed(faces)

    if len(groups) == 1:
        return f"{next(iter(groups))} all over"
    return "; ".join(f"{names(faces)} {words}" for words, faces in groups.items())


def _insulation(found: Findings, system: str) -> str:
    return _grouped(found, lambda face: _layers(face.insulants, system))


def _paint(found: Findings) -> str:
    return _grouped(found, lambda face: plain(face.paint))


def _windows(found: Findings, system: str) -> str:
    if not found.van.windows:
        return "none"
    groups: dict[str, list[float]] = {}
    for window in found.van.windows:
        cover = "no cover" if window.cover == "none" else f"cover: {plain(window.cover)}"
        groups.setdefault(f"{plain(window.glass)} glass, {cover}", []).append(window.area_m2)
    told = "; ".join(f"{rough(sum(areas), 'area_m2', system)} {words}" for words, areas in groups.items())
    return f"{told}. Covers {'on' if found.van.covers_asleep else 'off'} {_then(found)}"


def _shade(found: Findings) -> str:
    def of(share: float) -> str:
        return "none" if share == 0.0 else f"keeps off {phrases.percent(share)} of the direct sun"

    day, asleep = found.van.shade_by_day, found.van.shade_asleep
    then = _then(found)
    return f"{of(day)}, {then} and before" if day == asleep else f"{of(asleep)} {then}; before, {of(day)}"


def _then(found: Findings) -> str:
    """When it counts."""
    return "at night" if found.occasion.label == "night" else f"in the {found.occasion.label}"


def _cooler(found: Findings, system: str) -> str:
    van = found.van
    if not van.rated_w:
        return "none"
    at = phrases.temperature(van.rated_outdoor_c, system, None)
    outdoors = phrases.temperature(found.night.outdoor_mean_c, system)
    return (
        f"{phrases.power(van.rated_w)} of cooling for {phrases.power(van.rated_power_w)}, rated at {at} outdoors. On "
        f"the {found.occasion.label} shown ({outdoors} outdoors) it draws {phrases.current(van.eco_a)} in eco and "
        f"{phrases.current(van.boost_a)} in boost at {rough(van.at_v, 'at_v', system)} while its compressor runs. Its "
        f"condenser draws in air {rough(van.intake_rise_k, 'intake_rise_k', system)} warmer than outdoors, which costs "
        f"{phrases.percent_fine(van.intake_cost)} of the cooling that a watt-hour gives"
    )


def _bank(found: Findings) -> str:
    van = found.van
    one = f"{phrases.quantity(van.unit_ah, 'unit_ah')} {phrases.quantity(van.unit_v, 'unit_v')}"
    return (
        f"{phrases.count(van.units, 'battery')} of {one}, {WORDS[van.chemistry]}: "
        f"{phrases.energy(1000.0 * van.usable_kwh)} usable, down to the reserve of {phrases.percent(van.reserve_soc)}"
    )


def _panels(found: Findings, system: str) -> str:
    van = found.van
    if not van.panels_w:
        return "none"
    return f"{phrases.power(van.panels_w)} on {rough(van.panels_m2, 'panels_m2', system)} of the roof"


def _alternator(found: Findings) -> str:
    van = found.van
    if not van.road_a:
        return "does not charge this bank"
    return f"{phrases.current(van.idle_a)} idling and {phrases.current(van.road_a)} on the road, when cool"


def _shore(found: Findings) -> str:
    van = found.van
    if not van.charger_a:
        return "no charger"
    socket = f", on a {phrases.current(van.breaker_a)} socket" if van.breaker_a else "; the plan has no socket"
    return f"charger of {phrases.current(van.charger_a)}{socket}"
