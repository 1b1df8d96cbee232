"""Heat and moisture of people and dogs, on `people`; their constants are checked in tests/van."""

from __future__ import annotations

from typing import Any

from tests.support.bench import hold, read, row
from vansim.van.people import LATENT_J_KG, Dog, Person, dog_sensible_share, person_sensible_share


def ours(what: str) -> float:
    kind, *v = what.split()
    if kind in ("surface", "heat"):
        person = Person(mass_kg=float(v[0]), height_m=float(v[1]))
        return person.surface_m2 if kind == "surface" else person.heat_w(v[2] == "asleep")
    if kind == "dog":
        return Dog(mass_kg=float(v[0])).heat_w(v[1] == "asleep")
    at = float(v[0])
    adult = Person(mass_kg=70.0, height_m=1.73)

    def moisture_g_h(asleep: bool) -> float:
        return adult.heat_w(asleep) * (1.0 - person_sensible_share(at)) / LATENT_J_KG * 3.6e6

    return {
        "share": lambda: person_sensible_share(at),
        "dry": lambda: 115.0 * person_sensible_share(at),
        "ratio": lambda: person_sensible_share(at) / person_sensible_share(24.0),
        "water": lambda: at / LATENT_J_KG * 3.6e6,
        "sleeper": lambda: moisture_g_h(True),
        "sitter": lambda: moisture_g_h(False),
        "dogratio": lambda: Dog(mass_kg=at).heat_w(False) / Dog(mass_kg=at).heat_w(True),
        "dogshare": lambda: dog_sensible_share(at),
    }[kind]()


def rows() -> list[dict[str, Any]]:
    return [
        row(r.check, r.expected, ours(r.what), r.tolerance, r.unit, r.why, r.source, r.kind, r.status)
        for r in read("occupants").itertuples()
    ]


def test_people_and_dogs() -> None:
    hold(rows())
