"""Every input in words, with where it came from."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from typing import Any

from vansim import phrases
from vansim.scenario.origins import origins_by_path
from vansim.scenario.schema import PlanSegment, Scenario
from vansim.show.report.findings import Findings
from vansim.show.report.input_words import GROUPS, key_words, rough, value_words
from vansim.show.report.sections import Row, Table
from vansim.show.report.van import layer_words, plain, where_from
from vansim.van.cabin import INSIDE_FILM_M2K_W, OUTSIDE_M2K_W, Face, Window
from vansim.van.loads import Load

Origin = Mapping[tuple[str | int, ...], str]
HEAD = ("Input", "Value", "From")
WIDTHS = (5.0, 6.0, 3.0)


def input_tables(scenario: Scenario, found: Findings, system: str) -> tuple[Table, ...]:
    """Every input, gathered by what it is about.

    Parameters
    ----------
    scenario : Scenario
        With its origins.
    found : Findings
        For what the weather file says of its place.
    system : {"si", "us"}
        Units shown.

    Returns
    -------
    tuple of Table
        Input, value, and where it came from: given, a part of the library, or a default.
    """
    origin = origins_by_path(scenario)
    tables = []
    for heading, keys in GROUPS.items():
        rows = list(_plain_rows(scenario, origin, keys, system))
        if heading == "Place and days":
            weather = (f"{found.occasion.place}, a typical year ({found.occasion.weather_kind} file)",)
            rows.insert(0, ("Weather", *weather, where_from(_below(origin, ("weather",)))))
        rows += _more_rows(heading, scenario, origin, system)
        if rows:
            tables.append(Table(heading, HEAD, tuple(rows), WIDTHS))
    tables += [
        Table(heading, HEAD, tuple(rows), WIDTHS)
        for heading, rows in (
            ("People and dogs", _occupants(scenario, origin, system)),
            ("Other loads", [_load_row(load, place, origin) for place, load in enumerate(scenario.loads)]),
            ("The plan of the day", list(_plan_rows(scenario, origin, system))),
        )
        if rows
    ]
    return tuple(tables)


def _plain_rows(scenario: Scenario, origin: Origin, keys: tuple[tuple[str, str], ...], system: str) -> Iterator[Row]:
    for key, words in keys:
        node: Any = scenario
        path = tuple(key.split("."))
        for step in path:
            node = getattr(node, step, None)
        if node is not None:
            yield key_words(words, system), value_words(key, node, system), where_from(_below(origin, path))


def _below(origin: Origin, path: tuple[str | int, ...]) -> list[str]:
    """Origins of a value, or of all values below it."""
    return [where for key, where in origin.items() if key[: len(path)] == path]


def _more_rows(heading: str, scenario: Scenario, origin: Origin, system: str) -> list[Row]:
    """Rows of what is told whole: a face, a window; and what is not fitted."""
    if heading == "Cabin":
        faces = [
            (f"{name.capitalize()}", _face(face, system), where_from(_below(origin, ("cabin", "faces", name))))
            for name, face in scenario.cabin.faces.items()
        ]
        windows = [
            (_window_name(w, place), _window(w, system), where_from(_below(origin, ("cabin", "windows", place))))
            for place, w in enumerate(scenario.cabin.windows)
        ]
        return [*faces, *windows]
    absent = {
        "Cooler": (("cooler", "Cooler"),),
        "Charging": (("alternator", "Alternator"), ("solar", "Solar panels"), ("charger", "Shore charger"),
                     ("shore", "Socket of the pitch")),
    }  # fmt: skip
    return [
        (words, "none", where_from(_below(origin, (key,))))
        for key, words in absent.get(heading, ())
        if getattr(scenario, key) is None
    ]


# --- what is told whole -----------------------------------------------------------------------------------------------


def _face(face: Face, system: str) -> str:
    ribs = ""
    if face.rib_spacing_mm:
        apart, wide = (rough(v, "thickness_mm", system) for v in (face.rib_spacing_mm, face.rib_flange_mm))
        films = INSIDE_FILM_M2K_W["left"], OUTSIDE_M2K_W
        low, high = (rough(u, "u_w_m2k", system) for u in face.u_limits_w_m2k(*films))
        ribs = f"; ribs {apart} apart, {wide} wide inside: U {rough(face.u_w_m2k(*films), 'u_w_m2k', system)}"
        ribs += f", between the limits {low} and {high}"
    layers = ", ".join(layer_words(layer, system) for layer in face.layers)
    return f"{rough(face.area_m2, 'area_m2', system)}, painted {plain(face.paint)}; from outside: {layers}{ribs}"


def _window_name(window: Window, place: int) -> str:
    return f"Window: {window.name}" if window.name else f"Window {place + 1}"


def _window(window: Window, system: str) -> str:
    if window.cover == "none":
        cover = "no cover"
    elif isinstance(window.cover, str):
        cover = f"cover: {plain(window.cover)}"
    else:
        added = rough(window.cover.r_m2k_w, "r_m2k_w", system)
        cover = f"a cover that lets in {phrases.percent(window.cover.shgc_factor)} of the sun and adds {added}"
    slope = f", {window.slope_deg:g} deg from level" if window.tilt_deg is not None else ""
    return f"{window.face}, {rough(window.area_m2, 'area_m2', system)}, {plain(window.glass)} glass{slope}; {cover}"


def _occupants(scenario: Scenario, origin: Origin, system: str) -> list[Row]:
    people = [
        (
            f"Person {place + 1}",
            f"{rough(p.mass_kg, 'mass_kg', system)}, {rough(p.height_m, 'height_m', system)} tall",
            where_from(_below(origin, ("occupants", "people", place))),
        )
        for place, p in enumerate(scenario.occupants.people)
    ]
    dogs = [
        (
            f"Dog {place + 1}",
            rough(dog.mass_kg, "mass_kg", system),
            where_from(_below(origin, ("occupants", "dogs", place))),
        )
        for place, dog in enumerate(scenario.occupants.dogs)
    ]
    return [*people, *dogs]


def _load_row(load: Load, place: int, origin: Origin) -> Row:
    hours = phrases.listed([f"{span.start} to {span.end}" for span in load.hours]) if load.hours else "all day"
    running = "" if load.duty == 1.0 else f" for {phrases.percent(load.duty)} of the time"
    supply = ", on mains voltage through the inverter" if load.supply == "ac" else ""
    heat = "" if load.heat_to_cabin == 1.0 else f"; {phrases.percent(load.heat_to_cabin)} of it warms the cabin"
    return (
        load.name or f"Load {place + 1}",
        f"{phrases.power(load.power_w)}{running}, {hours}{supply}{heat}",
        where_from(_below(origin, ("loads", place))),
    )


def _plan_rows(scenario: Scenario, origin: Origin, system: str) -> Iterator[Row]:
    several = len(scenario.day) > 1
    for at, day in enumerate(scenario.day):
        for place, segment in enumerate(day.segment):
            named = f"{day.name}, " if several else ""
            yield (
                f"{named}{segment.start} to {segment.end}",
                segment_words(segment, scenario, system),
                where_from(_below(origin, ("day", at, "segment", place))),
            )
    if scenario.cycle:
        runs: list[tuple[str, int]] = []
        for name in scenario.cycle:
            runs = [*runs[:-1], (name, runs[-1][1] + 1)] if runs and runs[-1][0] == name else [*runs, (name, 1)]
        order = ", ".join(name if n == 1 else f"{name} ({n} times)" for name, n in runs)
        yield "Order of the days", order, where_from(_below(origin, ("cycle",)))


def segment_words(segment: PlanSegment, scenario: Scenario, system: str) -> str:
    """What happens in a part of the day."""
    doing = {
        "parked": "parked" if segment.shade == 0.0 else f"parked, {phrases.percent(segment.shade)} of the sun kept off",
        "idling": "engine idling",
        "driving": f"driving at {phrases.speed(segment.speed_kmh, system)}",
    }[segment.doing]
    said = [doing]
    if segment.sky_view_factor is not None:
        said.append(f"{phrases.percent(segment.sky_view_factor)} of the sky in view")
    if segment.heading_deg is not None:
        said.append(f"nose at {segment.heading_deg:g} deg from north")
    said += [
        words
        for words, holds in (
            ("covers on", segment.covers), ("a window open", segment.window_open), ("roof fan on", segment.fan == "on"),
            ("roof fan on while it helps", segment.fan == "auto"), ("plugged in", segment.shore),
            ("the vehicle's own cooling on", segment.vehicle_cooling),
        )
        if holds
    ]  # fmt: skip
    at = "" if segment.setpoint_c is None else f" at {phrases.temperature(segment.setpoint_c, system, None)}"
    said.append(f"cooling {phrases.cooling(segment.cooling)}{at}")
    if scenario.occupants.people:
        said.append(f"people {segment.people}")
    if scenario.occupants.dogs:
        said.append(f"dogs {segment.dogs}")
    return "; ".join(said)
