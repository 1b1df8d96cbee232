"""A cabin from what a tape measure says: faces, glass, volume and heat stores by one rule.

The rule is that of a panel van of sheet steel; every figure in it stands below with where it comes from. Whatever is
given for itself (`volume_m3`, one face, one window's list) outranks what the rule makes of the measures.
"""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any, Literal

from pydantic import Field, ValidationError

from vansim.data import table
from vansim.data.near import not_in_table
from vansim.quantities import Part
from vansim.van.cabin_faces import FACES, INSIDE_FILM_M2K_W, FaceName, Layer

Glazing = Literal["none", "cab", "cab_and_door", "cab_and_sides", "all_round"]

# --- the rule ---------------------------------------------------------------------------------------------------------

NOSE_M = 1.0
"""Of the outside length, what lies before the cabin: bumper, bonnet, engine (assumed, 0.8 to 1.2)."""
UNDER_M = 0.65
"""Ground to floor (assumed: 0.55 to 0.75; a loading sill is this high)."""
ROUNDED = 0.92
"""Mean width over greatest width: the sides lean in toward the roof and corners are round (assumed, 0.90 to 0.95)."""
NOT_A_BOX = 0.97
"""Area of a side over its length times its height: the windscreen cuts a corner off (assumed)."""
WALL_M, CEILING_M = 0.135, 0.15
"""A side wall's depth, frame and lining; roof bow, floor and lining together (assumed: load spaces are about 0.27 m
narrower and 0.15 m lower inside than the body outside)."""
FILLED = 0.25
"""Share of the inside that furniture and stores take from the air (assumed, 0.2 to 0.3)."""
LIGHT_KJ_M2K = 1.0
"""Heat that lining and trim take up with the air, per area of shell: the inner millimetre of plywood (500 kg/m3,
1600 J/kgK, ISO 10456) follows within a minute (assumed)."""
FURNISHED_KJ_M2K = 48.0
"""Furniture, floor, bedding and water per area of floor: 30 kg/m2 of wood at 1600 J/kgK (ISO 10456); fitted vans carry
200 to 400 kg of it (common practice)."""
SURFACE_SHARE = 1.8
"""Surface of furniture and floor over floor area (assumed); with an inside film of 0.13 m2K/W (ISO 6946:2017)."""

STEEL_MM, FLOOR_STEEL_MM, LINING_MM, FLOORING_MM = 0.8, 1.0, 6.0, 12.0
"""Skin, floor pan, plywood lining and plywood floor (common practice)."""
CAB_LAYERS = (
    {"material": "steel", "thickness_mm": 0.8},
    {"material": "polyester-batt", "thickness_mm": 20.0},
    {"material": "pvc", "thickness_mm": 3.0},
)
"""Below the windscreen: the maker's own sound deadening and trim (common practice)."""
RIBS: dict[FaceName, dict[str, float]] = {
    "roof": {"rib_spacing_mm": 1333.0},
    "left": {"rib_spacing_mm": 1000.0},
    "right": {"rib_spacing_mm": 1000.0},
    "front": {"rib_spacing_mm": 800.0},
    "rear": {"rib_spacing_mm": 800.0},
    "floor": {"rib_spacing_mm": 2000.0},
}
"""Structural ribs of 40 mm of flange: roof bows and pillars between 0.8 and 2 m (common practice, as in the library's
cabins)."""

WINDSCREEN_SHARE, WINDSCREEN_TILT_DEG = 0.78, 40.0
"""Windscreen area over width [m2/m], and its slope (assumed: 1.6 m2 at 2.05 m)."""
PANES: dict[str, tuple[str, float, str]] = {
    "left cab door": ("left", 0.45, "green"),
    "right cab door": ("right", 0.45, "green"),
    "sliding door": ("right", 0.5, "acrylic-double-tinted"),
    "left side": ("left", 0.5, "acrylic-double-tinted"),
    "left glass": ("left", 1.1, "privacy"),
    "right glass": ("right", 1.1, "privacy"),
    "rear glass": ("rear", 0.9, "privacy"),
}
"""Panes by name: face, area [m2] (assumed), glass."""
_CAB = ("left cab door", "right cab door")
GLAZED: dict[str, tuple[str, ...]] = {
    "none": (),
    "cab": _CAB,
    "cab_and_door": (*_CAB, "sliding door"),
    "cab_and_sides": (*_CAB, "sliding door", "left side"),
    "all_round": (*_CAB, "left glass", "right glass", "rear glass"),
}
"""Panes beside the windscreen of each kind of glazing; ``none`` has no windscreen either."""

DERIVED = ("volume_m3", "faces", "windows", "air_kj_k", "contents_kj_k", "contents_w_k")
"""Keys of a cabin that follow from its measures."""
LENGTH_M, WIDTH_M, HEIGHT_M = (3.5, 12.0), (1.4, 2.6), (1.6, 3.8)
"""Least and greatest length, width and height of a cabin described by measures [m]."""


class CabinMeasures(Part):
    """Measures that a cabin may be described by, in place of its faces.

    Attributes
    ----------
    width_m, height_m : float or None
        Outside width without mirrors, and height from the ground to the roof [m]. With both, and `length_m`, the faces,
        the glass, the volume and the heat stores follow from the measures, so far as they are not given themselves.
    walls, roof, floor : tuple of Layer or None
        What lies between the steel and the lining, from outside to inside, where a cabin is described by its measures;
        left out or empty, nothing does.
    glazing : {"none", "cab", "cab_and_door", "cab_and_sides", "all_round"} or None
        Which glass it has: none, windscreen and cab doors, with a window in the sliding door, with one on each side, or
        glass all round. Left out, the cab's.
    covers : str or None
        What hangs before all of its glass when the plan says so: a key of the covers table. Left out, none.
    paint : str or None
        Key of the paints table for all faces but the floor; left out, white.
    """

    width_m: float | None = Field(default=None, ge=WIDTH_M[0], le=WIDTH_M[1])
    height_m: float | None = Field(default=None, ge=HEIGHT_M[0], le=HEIGHT_M[1])
    walls: tuple[Layer, ...] | None = None
    roof: tuple[Layer, ...] | None = None
    floor: tuple[Layer, ...] | None = None
    glazing: Glazing | None = None
    covers: str | None = None
    paint: str | None = None


MEASURES = tuple(CabinMeasures.model_fields)


def measured(cabin: Mapping[str, Any]) -> bool:
    """Whether a cabin's table describes it by measures."""
    return any(cabin.get(key) is not None for key in ("width_m", "height_m"))


def from_measures(raw: Mapping[str, Any]) -> dict[str, Any]:
    """A cabin's table with what follows from its measures, so far as it is not given.

    Parameters
    ----------
    raw : mapping
        Full names and SI numbers, as written; nothing has been checked.

    Returns
    -------
    dict
        The same where it has no measures. Where a measure is wrong, what follows from usual measures stands in, so that
        the check reports the measure and nothing that only follows from it.

    Raises
    ------
    ValueError
        Not all of length, width and height; or a measure beside faces that do not follow from any.
    """
    if not measured(raw):
        alone = [key for key in MEASURES if raw.get(key) is not None]
        if alone:
            raise ValueError(f"{alone[0]} belongs to a cabin described by its measures; give width_m and height_m too")
        return dict(raw)
    missing = [key for key in ("length_m", "width_m", "height_m") if raw.get(key) is None]
    if missing:
        raise ValueError(f"{missing[0]} is missing: measures are length_m, width_m and height_m, all three outside")
    given = {key: value for key, value in raw.items() if value is not None or key not in DERIVED}
    return dict(_under(derived(raw), given))


def derived(raw: Mapping[str, Any]) -> dict[str, Any]:
    """What follows from the measures in a cabin's table, as tables and numbers: the keys of `DERIVED`."""
    try:
        known = CabinMeasures.model_validate({key: _tuple(raw[key]) for key in MEASURES if key in raw})
    except ValidationError:
        known = CabinMeasures(width_m=2.0, height_m=2.5)
    length = raw.get("length_m")
    if isinstance(length, bool) or not isinstance(length, int | float):
        length = 6.0
    elif not LENGTH_M[0] <= length <= LENGTH_M[1]:
        raise ValueError(f"length_m is {length:g} m; a cabin described by measures is {LENGTH_M[0]:g} to "
                         f"{LENGTH_M[1]:g} m long")  # fmt: skip
    _known(known)
    return _rule(float(length), known.width_m or 2.0, known.height_m or 2.5, known)


def _tuple(value: Any) -> Any:
    return tuple(value) if isinstance(value, list) else value


def _known(cabin: CabinMeasures) -> None:
    paints, covers = table("paints"), table("glass")["covers"]
    if cabin.paint is not None and cabin.paint not in paints:
        raise ValueError(not_in_table("paint", cabin.paint, paints, "paints"))
    if cabin.covers is not None and cabin.covers not in covers:
        raise ValueError(not_in_table("cover", cabin.covers, covers, "covers"))


def _rule(length_m: float, width_m: float, height_m: float, known: CabinMeasures) -> dict[str, Any]:
    """The rule: measures to faces, glass, volume and stores."""
    long, high, wide = length_m - NOSE_M, height_m - UNDER_M, ROUNDED * width_m
    gross = {
        **dict.fromkeys(("roof", "floor"), long * wide),
        **dict.fromkeys(("left", "right"), NOT_A_BOX * long * high),
        **dict.fromkeys(("front", "rear"), wide * high),
    }
    windows = _windows(width_m, known)
    glass = {face: sum(w["area_m2"] for w in windows if w["face"] == face) for face in FACES}
    faces = {
        face: {
            "area_m2": round(gross[face] - glass[face], 3),
            "layers": _layers(face, known),
            "paint": _paint(face, known),
            **RIBS[face],
        }
        for face in FACES
    }
    inside = (long - WALL_M) * (width_m - 2.0 * WALL_M) * (high - CEILING_M)
    floor = gross["floor"]
    return {
        "volume_m3": round((1.0 - FILLED) * inside, 3),
        "faces": faces,
        "windows": tuple(windows),
        "air_kj_k": round(LIGHT_KJ_M2K * sum(gross.values()), 2),
        "contents_kj_k": round(FURNISHED_KJ_M2K * floor, 1),
        "contents_w_k": round(SURFACE_SHARE * floor / INSIDE_FILM_M2K_W["left"], 2),
    }


def _paint(face: FaceName, known: CabinMeasures) -> str:
    return "mid-grey" if face == "floor" else known.paint or "white"


def _layers(face: FaceName, known: CabinMeasures) -> tuple[dict[str, Any], ...]:
    if face == "front":
        return tuple(dict(layer) for layer in CAB_LAYERS)
    between = {"roof": known.roof, "floor": known.floor}.get(face, known.walls) or ()
    steel, lining = (FLOOR_STEEL_MM, FLOORING_MM) if face == "floor" else (STEEL_MM, LINING_MM)
    return (
        {"material": "steel", "thickness_mm": steel},
        *(layer.model_dump(exclude_defaults=True) for layer in between),
        {"material": "plywood", "thickness_mm": lining},
    )


def _windows(width_m: float, known: CabinMeasures) -> list[dict[str, Any]]:
    glazing, cover = known.glazing or "cab", {"cover": known.covers or "none"}
    if glazing == "none":
        return []
    screen = {"name": "windscreen", "face": "front", "area_m2": round(WINDSCREEN_SHARE * width_m, 3)}
    windows: list[dict[str, Any]] = [{**screen, "glass": "laminated-green", "tilt_deg": WINDSCREEN_TILT_DEG, **cover}]
    for name in GLAZED[glazing]:
        face, area, glass = PANES[name]
        windows.append({"name": name, "face": face, "area_m2": area, "glass": glass, **cover})
    return windows


# --- laying what is given over what follows ---------------------------------------------------------------------------


def _under(rule: Any, given: Any) -> Any:
    """What is given, over what follows from the rule; lists are taken whole."""
    if not isinstance(rule, Mapping) or not isinstance(given, Mapping):
        return given
    return {**rule, **{key: _under(rule[key], value) if key in rule else value for key, value in given.items()}}


def remeasured(before: Mapping[str, Any], cabin: Mapping[str, Any]) -> dict[str, Any]:
    """A complete cabin's table after a change of its measures: what followed from the old ones follows from the new.

    Parameters
    ----------
    before, cabin : mapping
        Complete tables before and after the change; values that had been given in place of the rule's, or were changed
        with it, stay.

    Returns
    -------
    dict
    """
    try:
        old, new = derived(before), derived(cabin)
    except ValueError:
        return dict(cabin)  # the check says what is wrong
    return {**cabin, **{key: _followed(cabin[key], _complete(before[key], old[key]), new[key]) for key in DERIVED}}


def _complete(whole: Any, rule: Any) -> Any:
    """The rule's value with the defaults that a complete table has."""
    if isinstance(rule, Mapping) and isinstance(whole, Mapping):
        return {key: _complete(value, rule[key]) if key in rule else value for key, value in whole.items()}
    if isinstance(rule, list | tuple) and isinstance(whole, list | tuple) and len(rule) == len(whole):
        return [_complete(one, other) for one, other in zip(whole, rule, strict=True)]
    return rule


def _followed(now: Any, old: Any, new: Any) -> Any:
    """The new value where the present one is the old rule's, table by table and list by list."""
    if isinstance(now, Mapping) and isinstance(old, Mapping) and isinstance(new, Mapping):
        return {
            **{key: value for key, value in new.items() if key not in now},
            **{key: _followed(value, old.get(key), new[key]) if key in new else value for key, value in now.items()},
        }
    lists = all(isinstance(value, list | tuple) for value in (now, old, new))
    if lists and len(now) == len(old) == len(new):
        return [_followed(*three) for three in zip(now, old, new, strict=True)]
    return new if _same(now, old) else now


def _same(now: Any, old: Any) -> bool:
    if isinstance(now, list | tuple) and isinstance(old, list | tuple):
        return len(now) == len(old) and all(map(_same, now, old))
    return bool(now == old)
