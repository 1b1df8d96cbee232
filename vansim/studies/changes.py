"""Single changes that a practitioner would try on a van, as far as they apply to it."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass, field
from typing import Any

from vansim.scenario.parts import library_of
from vansim.scenario.plan import standing_min
from vansim.scenario.schema import DAY_MIN, Scenario, minutes
from vansim.studies.missing_charging import CHANGE, PANEL_W, has_panels, with_more_charging
from vansim.van.cabin import FaceName

ADDED_INSULATION_MM = 20.0
SHADE = 0.8
WARMER_K = 1.0
WIDER_BAND_K = 2.0
MORE_DRIVING_MIN = 30
BREAK_M2K_W = 0.15
"""Resistance of a strip of foam between rib and lining, about 5 mm [m2K/W]."""
PARTITION_M2K_W = 0.6
"""Resistance of a padded partition behind the seats, about 20 mm of foam [m2K/W] (assumed)."""
WALLS: tuple[FaceName, ...] = ("left", "right", "front", "rear")


@dataclass(frozen=True)
class Change:
    """A change to a van or its plan.

    Attributes
    ----------
    code : str
        What it is; the words come from whoever shows it.
    keys : dict of str to value
        Keys of the scenario, as for `vary`; may be empty where `make` is given or where it does not apply.
    values : dict of str to value
        Numbers that belong in its words, SI, with the unit in the name.
    make : callable or None
        From a scenario to the changed one, where keys cannot say it; it can be put on top of another change.
    """

    code: str
    keys: Mapping[str, Any] = field(default_factory=dict)
    values: Mapping[str, Any] = field(default_factory=dict)
    make: Callable[[Scenario], Scenario] | None = None


def standard_changes(scenario: Scenario) -> tuple[Change, ...]:
    """Changes that are usually on the table.

    Parameters
    ----------
    scenario : Scenario
        The base; its segments, faces, windows and parts say where a change applies.

    Returns
    -------
    tuple of Change
        Some may change nothing, or not suit the van. Shade at night also hides the cold sky, so shade by day and shade
        throughout are two changes.
    """
    return (*_place(scenario), *_shell(scenario), *_controls(scenario), *_charging(scenario), *_parts(scenario))


def _everywhere(keys: list[str], name: str, value: Any) -> dict[str, Any]:
    return {f"{key}.{name}": value for key in keys}


def _place(scenario: Scenario) -> list[Change]:
    """Where it stands and what hangs before the glass."""
    asleep = {minutes(scenario.night.bedtime), (minutes(scenario.night.waking) - 1) % DAY_MIN}
    parked, by_day, cooled = [], [], []
    for key, segment in scenario.segments().items():
        if segment.cooling != "off":
            cooled.append(key)
        if segment.doing != "driving":
            parked.append(key)
            if not any((m - minutes(segment.start)) % DAY_MIN < segment.span_min for m in asleep):
                by_day.append(key)
    outside = {f"cabin.windows.{i}.cover": "insulated-outside" for i in range(len(scenario.cabin.windows))}
    return [
        Change("shade-by-day", _everywhere(by_day, "shade", SHADE), {"share": SHADE}),
        Change("shade-throughout", _everywhere(parked, "shade", SHADE), {"share": SHADE}),
        Change("covers-when-parked", _everywhere(parked, "covers", True)),
        Change("covers-outside", {**outside, **_everywhere(cooled, "covers", True)}),
    ]


def _shell(scenario: Scenario) -> list[Change]:
    """Paint, insulation, ribs, cracks, and a partition to the cab."""
    cabin = scenario.cabin
    ribs = {
        f"cabin.faces.{name}.rib_break_m2k_w": face.rib_break_m2k_w + BREAK_M2K_W
        for name, face in cabin.faces.items()
        if face.rib_spacing_mm > 0.0
    }
    leaks = ("leakage_parked_per_h", "leakage_wind_per_h")
    thicker: dict[str, tuple[FaceName, ...]] = {"roof": ("roof",), "walls": WALLS, "floor": ("floor",)}
    return [
        Change("white-paint", {"cabin.faces.*.paint": "white"}),
        *(
            Change(f"insulation-{where}", _thicker(scenario, faces), {"thickness_mm": ADDED_INSULATION_MM})
            for where, faces in thicker.items()
        ),
        Change("strips-over-ribs", ribs),
        Change("half-leakage", {f"cabin.{name}": 0.5 * getattr(cabin, name) for name in leaks}),
        Change(
            "cab-partition",
            make=_partition if any(window.face == "front" for window in cabin.windows) else None,
            values={"r_m2k_w": PARTITION_M2K_W},
        ),
    ]


def _thicker(scenario: Scenario, faces: tuple[FaceName, ...]) -> dict[str, Any]:
    """The layer that insulates most, thicker; faces whose layer is a plain resistance are left."""
    changes: dict[str, Any] = {}
    for name in faces:
        face = scenario.cabin.faces[name]
        best = max(range(len(face.layers)), key=lambda i: face.layers[i].resistance_m2k_w)
        if face.layers[best].material:
            thickness = face.layers[best].thickness_mm + ADDED_INSULATION_MM
            changes[f"cabin.faces.{name}.layers.{best}.thickness_mm"] = thickness
    return changes


def _partition(scenario: Scenario) -> Scenario:
    """A padded partition in place of windscreen and front face; the cab behind it is taken as warm as outdoors."""
    cabin = scenario.cabin
    front = [window for window in cabin.windows if window.face == "front"]
    face = cabin.faces["front"]
    area = face.area_m2 + sum(window.area_m2 for window in front)
    layer = face.layers[0].model_copy(update={"material": "", "thickness_mm": 0.0, "r_m2k_w": PARTITION_M2K_W})
    panel = face.model_copy(update={"area_m2": area, "rib_spacing_mm": 0.0, "layers": (layer,)})
    rest = tuple(window for window in cabin.windows if window.face != "front")
    return scenario.model_copy(
        update={"cabin": cabin.model_copy(update={"windows": rest, "faces": {**cabin.faces, "front": panel}})}
    )


def _controls(scenario: Scenario) -> list[Change]:
    """How the cooling is run."""
    cooled = [(key, segment) for key, segment in scenario.segments().items() if segment.cooling != "off"]
    keys = [key for key, _ in cooled]
    own = [f"{key}.setpoint_c" for key, segment in cooled if segment.setpoint_c is not None]
    night = {minutes(scenario.night.bedtime), (minutes(scenario.night.waking) - 1) % DAY_MIN}
    powered = [
        key
        for key, segment in scenario.segments().items()
        if segment.cooling == "off"
        and (segment.doing != "parked" or segment.shore)
        and not any((m - minutes(segment.start)) % DAY_MIN < segment.span_min for m in night)
    ]
    return [
        Change("warmer-setpoint", {"thermostat.setpoint_c": f"+{WARMER_K:g}", **dict.fromkeys(own, f"+{WARMER_K:g}")},
               {"difference_k": WARMER_K}),
        Change("eco-throughout", _everywhere(keys, "cooling", "eco")),
        Change("boost-then-eco", _everywhere(keys, "cooling", "boost_then_eco")),
        Change("boost-throughout", _everywhere(keys, "cooling", "boost")),
        Change("roof-fan-first", _everywhere(keys, "fan", "auto")),
        Change("precooling", _everywhere(powered, "cooling", "boost_then_eco")),
        Change("wider-band", {"thermostat.deadband_k": WIDER_BAND_K}, {"band_k": WIDER_BAND_K}),
        Change("half-loads", {f"loads.{i}.power_w": 0.5 * load.power_w for i, load in enumerate(scenario.loads)}),
    ]  # fmt: skip


def _charging(scenario: Scenario) -> list[Change]:
    """More sun, and more time on the road."""
    with_panels = with_more_charging(scenario, "solar", PANEL_W)
    fits = with_panels.solar is not None and with_panels.solar.area_m2 <= scenario.cabin.faces["roof"].area_m2
    room = scenario.alternator is not None and standing_min(scenario, CHANGE["road"]) >= MORE_DRIVING_MIN
    return [
        Change(
            "more-solar",
            make=(lambda van: with_more_charging(van, "solar", PANEL_W)) if fits else None,
            values={"power_w": PANEL_W, "fitted": has_panels(scenario)},
        ),
        Change(
            "more-driving",
            make=(lambda van: with_more_charging(van, "road", MORE_DRIVING_MIN)) if room else None,
            values={"length_min": float(MORE_DRIVING_MIN)},
        ),
    ]


def _parts(scenario: Scenario) -> list[Change]:
    """The next part up or down in the library, at the voltage of the bus; and one more battery."""
    changes = []
    larger = None
    if scenario.alternator is not None:
        larger = _neighbour(scenario, "alternators", scenario.alternator.road_a, "road_a", up=True)
    changes.append(Change("larger-alternator", {"alternator": larger} if larger else {}, {"part": larger or ""}))
    if scenario.cooler is not None:
        here = scenario.cooler.rated.capacity_w
        for code, up in (("smaller-cooler", False), ("larger-cooler", True)):
            other = _neighbour(scenario, "coolers", here, "rated.capacity_w", up)
            changes.append(Change(code, {"cooler": other} if other else {}, {"part": other or ""}))
    changes.append(Change("one-more-battery", {"bank.parallel": scenario.bank.parallel + 1}))
    return changes


def _neighbour(scenario: Scenario, kind: str, here: float, by: str, up: bool) -> str | None:
    """Name of the part of a kind that is next to what is fitted, up or down."""
    shelf = library_of(scenario).parts[kind]
    found = []
    for name in shelf:
        part: Any = shelf[name]
        value = part
        for step in by.split("."):
            value = getattr(value, step)
        if part.nominal_v == scenario.bank.nominal_v and (value > here * 1.001 if up else value < here * 0.999):
            found.append((value, name))
    return (min(found)[1] if up else max(found)[1]) if found else None
