"""A cabin described by its measures: what follows, what outranks it, and what a change of a measure moves."""

import tomllib

import pytest

import vansim
from tests.support.screens import DESERT
from vansim.scenario.files import weather_path
from vansim.scenario.parts import cabin_ua_w_k, library
from vansim.van.cabin import FACES, Cabin
from vansim.van.cabin_measures import DERIVED, FURNISHED_KJ_M2K, NOSE_M, ROUNDED, derived

WOOL = ({"material": "sheep-wool", "thickness_mm": 50.0},)
MEASURES = {
    "length_m": 6.0,
    "width_m": 2.05,
    "height_m": 2.7,
    "walls": WOOL,
    "roof": WOOL,
    "floor": ({"material": "xps", "thickness_mm": 20.0},),
    "glazing": "cab_and_door",
    "covers": "insulated-inside",
    "fan_m3_h": 700.0,
}


def scenario(leave_out=(), **cabin):
    raw = tomllib.loads(DESERT.read_text(encoding="utf-8"))
    table = {key: value for key, value in {**MEASURES, **cabin}.items() if key not in leave_out}
    weather = str(weather_path(vansim.load_scenario(DESERT)))
    return vansim.load_scenario({**raw, "weather": weather, "variants": {}, "cabin": table})


@pytest.mark.parametrize(
    ("part", "size", "walls", "floor", "glazing"),
    [
        ("high-roof-50mm", (6.0, 2.05, 2.7), ("sheep-wool", 50.0), ("xps", 20.0), "cab_and_door"),
        ("family-many-windows", (6.0, 2.0, 2.4), ("elastomeric-sheet", 30.0), ("xps", 20.0), "all_round"),
    ],
)
def test_the_rule_gives_what_was_laid_out_by_hand(part, size, walls, floor, glazing):
    """Common practice: the library's panel vans were laid out face by face, before there was a rule."""
    layer = ({"material": walls[0], "thickness_mm": walls[1]},)
    made = Cabin(
        **dict(zip(("length_m", "width_m", "height_m"), size, strict=True)),
        walls=layer, roof=layer, floor=({"material": floor[0], "thickness_mm": floor[1]},), glazing=glazing,
    )  # fmt: skip
    known = library().part("cabins", part)
    for name in ("volume_m3", "air_kj_k", "contents_kj_k", "contents_w_k"):
        assert getattr(made, name) == pytest.approx(getattr(known, name), rel=0.15), name
    for face in ("roof", "left", "right", "floor"):
        assert made.faces[face].area_m2 == pytest.approx(known.faces[face].area_m2, rel=0.10), face
    assert cabin_ua_w_k(made) == pytest.approx(cabin_ua_w_k(known), rel=0.10)


def test_shell_and_glass_close():
    """Glass is cut out of the face that it sits in: both together are the body's."""
    bare, glazed = (Cabin(**{**MEASURES, "glazing": how}) for how in ("none", "all_round"))
    assert bare.windows == ()
    for face in FACES:
        glass = sum(window.area_m2 for window in glazed.windows if window.face == face)
        assert glazed.faces[face].area_m2 + glass == pytest.approx(bare.faces[face].area_m2, abs=2e-3)


def test_a_change_of_length_moves_what_follows_from_it():
    short, long = scenario(), vansim.vary(scenario(), {"cabin.length_m": 7.0})
    assert long == scenario(length_m=7.0)
    grown = (7.0 - NOSE_M) / (6.0 - NOSE_M)
    assert long.cabin.faces["roof"].area_m2 == pytest.approx(short.cabin.faces["roof"].area_m2 * grown, rel=1e-3)
    assert long.cabin.contents_kj_k == pytest.approx(FURNISHED_KJ_M2K * 6.0 * ROUNDED * 2.05, rel=1e-3)
    assert vansim.vary(scenario(), {"cabin.length": "7 m"}) == long


@pytest.mark.parametrize(
    ("change", "cabin"),
    [
        ({"cabin.walls.sheep-wool.thickness": "1 in"}, {"walls": ({"material": "sheep-wool", "thickness_mm": 25.4},)}),
        ({"cabin.glazing": "all_round"}, {"glazing": "all_round"}),
        ({"cabin.paint": "black"}, {"paint": "black"}),
        ({"cabin.height_m": 2.1, "cabin.width_m": 1.9}, {"height_m": 2.1, "width_m": 1.9}),
    ],
)
def test_a_change_of_any_measure_is_as_if_it_had_been_written(change, cabin):
    assert vansim.vary(scenario(), change) == scenario(**cabin)


def test_what_is_given_outranks_the_rule_and_stays():
    made = scenario(volume_m3=9.0, faces={"roof": {"paint": "black"}})
    assert made.cabin.volume_m3 == 9.0
    assert made.cabin.faces["roof"].paint == "black"
    assert made.cabin.faces["roof"].area_m2 == scenario().cabin.faces["roof"].area_m2
    long = vansim.vary(made, {"cabin.length_m": 7.0})
    assert (long.cabin.volume_m3, long.cabin.faces["roof"].paint) == (9.0, "black")
    assert long.cabin.faces["roof"].area_m2 > made.cabin.faces["roof"].area_m2
    thin = vansim.vary(made, {"cabin.faces.left.layers.sheep-wool.thickness_mm": 20.0})
    assert vansim.vary(thin, {"cabin.length_m": 7.0}).cabin.faces["left"].layers == thin.cabin.faces["left"].layers


def test_origins_tell_what_follows_from_measures():
    found = vansim.origins(scenario(volume_m3=9.0))
    assert found["cabin.length_m"] == found["cabin.volume_m3"] == "given"
    assert found["cabin.faces.roof.area_m2"] == found["cabin.contents_kj_k"] == "measures"
    assert found["cabin.moisture_buffer"] == "default"
    again = vansim.origins(vansim.vary(scenario(), {"cabin.length_m": 7.0}))
    assert again["cabin.faces.roof.area_m2"] == "measures"


def test_a_measured_cabin_is_whole_in_its_dump():
    cabin = scenario().cabin
    assert Cabin.model_validate(cabin.model_dump()) == cabin
    assert set(derived(cabin.model_dump())) == set(DERIVED)


@pytest.mark.parametrize(
    ("cabin", "words"),
    [
        ({"leave_out": ("width_m",)}, "width_m is missing"),
        ({"length_m": 20.0}, "3.5 to 12 m long"),
        ({"width_m": 9.0}, "allowed: 1.4 to 2.6 m"),
        ({"paint": "purple"}, "'purple' is not in the paints table"),
        ({"covers": "tarpaulin"}, "'tarpaulin' is not in the covers table"),
        ({"glazing": "cab-and-door"}, "did you mean 'cab_and_door'"),
        ({"walls": ({"material": "sheepwool", "thickness_mm": 50.0},)}, "'sheepwool' is not in the materials table"),
        ({"part": "high-roof-50mm"}, "has faces of its own"),
    ],
)
def test_a_wrong_measure_is_named_alone(cabin, words):
    with pytest.raises(vansim.ScenarioError) as caught:
        scenario(**cabin)
    assert words in str(caught.value)
    assert len(caught.value.faults) == 1, caught.value.faults
