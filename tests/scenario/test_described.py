"""A van described in about ten answers: what is written, what is derived, and what is refused in words."""

import tomllib

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

import vansim
from vansim.scenario.described import made_from, rest_v
from vansim.scenario.description import VanDescription, described_by, layers_of, range_words, said_default
from vansim.scenario.questions import GROUPS, WORDS
from vansim.van.cooler import BOOST, ECO
from vansim.van.cooler_draw import Condition, cooler_that_draws, draw


def amps(scenario, mode, outdoor_c=35.0, cabin_c=25.0):
    volts = rest_v(scenario.bank.nominal_v, scenario.bank.unit.chemistry)
    return draw(scenario.cooler, mode, Condition(outdoor_c, cabin_c)).power_w / volts


def test_every_answer_is_asked_for_or_said_not_to_be():
    asked = [key for keys in GROUPS.values() for key in keys]
    assert len(GROUPS) == 10
    assert (
        sorted([*asked, "title", "label_outdoor_c", "label_cabin_c"])
        == sorted(WORDS)
        == sorted(VanDescription.model_fields)
    )
    for key in asked:
        assert said_default(key)
    assert range_words("width_m") == "1.4 to 2.6 m"


def test_without_any_answer_a_van_that_is_checked_and_runs():
    scenario = vansim.describe_van()
    assert vansim.simulate(scenario).nights["covered"].notna().all()


@pytest.mark.parametrize(
    ("answers", "eco", "boost", "at"),
    [
        ({"eco": "65 A"}, 65.0, 113.8, (35.0, 25.0)),
        ({"eco": "65", "boost": "95"}, 65.0, 95.0, (35.0, 25.0)),
        ({"eco_a": 22.0, "boost_a": 40.0, "volts": 24, "capacity_w": 2400.0}, 22.0, 40.0, (35.0, 25.0)),
        ({"eco": 40, "boost": 70, "label_outdoor": "95 degF", "label_cabin": "80 degF"}, 40.0, 70.0, (35.0, 80.0)),
        ({"eco": "30 A", "boost": "60 A", "chemistry": "agm"}, 30.0, 60.0, (35.0, 25.0)),
    ],
)
def test_amps_come_out_as_given_at_the_stated_condition(answers, eco, boost, at):
    answers = {key: float(v) if isinstance(v, int) and key != "volts" else v for key, v in answers.items()}
    cabin_c = at[1] if at[1] < 50.0 else (at[1] - 32.0) / 1.8
    scenario = vansim.describe_van(**answers)
    assert amps(scenario, ECO, at[0], cabin_c) == pytest.approx(eco, rel=2e-3)
    assert amps(scenario, BOOST, at[0], cabin_c) == pytest.approx(boost, rel=2e-3)
    assert amps(scenario, ECO, 45.0, cabin_c) > eco


@settings(max_examples=15, deadline=None, suppress_health_check=[HealthCheck.too_slow])
@given(st.floats(300.0, 1100.0), st.floats(1.3, 2.5), st.sampled_from([12, 24, 48]))
def test_any_plausible_label_is_met(eco_w, over, volts):
    at = Condition()
    cooler = cooler_that_draws(eco_w, eco_w * over, at, volts)
    assert draw(cooler, ECO, at).power_w == pytest.approx(eco_w, rel=1e-3)
    assert draw(cooler, BOOST, at).power_w == pytest.approx(eco_w * over, rel=1e-3)


def test_units_stay_as_they_were_said_and_the_file_is_changed_by_hand(tmp_path):
    path = tmp_path / "my.toml"
    made = vansim.describe_van(path, length="22 ft", walls="1 in foam", setpoint="75 degF", dogs="25 kg, 8 kg")
    text = path.read_text(encoding="utf-8")
    assert 'length = "22 ft"' in text
    assert 'setpoint = "75 degF"' in text
    assert vansim.load_scenario(path) == made
    assert [dog.mass_kg for dog in made.occupants.dogs] == [25.0, 8.0]
    path.write_text(text.replace('"22 ft"', '"18 ft"'), encoding="utf-8")
    shorter = vansim.load_scenario(path)
    assert shorter.cabin.volume_m3 < made.cabin.volume_m3
    assert shorter.cabin.faces["roof"].area_m2 < made.cabin.faces["roof"].area_m2


def test_every_value_is_a_valid_answer_again(tmp_path):
    """The defaults, as the questions show them, may be typed."""
    typed = {key: said_default(key) for key in WORDS if said_default(key) not in ("estimated", "as the walls")}
    typed.pop("boost_a")
    assert made_from(typed)[0].model_dump() == made_from({})[0].model_dump()


def test_a_file_that_is_there_is_left(tmp_path):
    path = tmp_path / "my.toml"
    path.write_text("mine", encoding="utf-8")
    with pytest.raises(vansim.ScenarioError, match="is there already"):
        vansim.describe_van(path)
    assert path.read_text(encoding="utf-8") == "mine"
    vansim.describe_van(path, overwrite=True)
    assert "[cabin]" in path.read_text(encoding="utf-8")
    assert [item.name for item in tmp_path.iterdir()] == ["my.toml"]
    with pytest.raises(vansim.ScenarioError, match="cannot be written"):
        vansim.describe_van(tmp_path / "no" / "folder.toml")


def test_weather_of_ones_own_is_found_from_the_file(tmp_path):
    from vansim.scenario.files import weather_path

    folder = tmp_path / "vans"
    folder.mkdir()
    year = tmp_path / "my year.epw"
    year.write_bytes(weather_path(vansim.describe_van()).read_bytes())
    vansim.describe_van(folder / "my.toml", weather=str(year))
    assert tomllib.loads((folder / "my.toml").read_text(encoding="utf-8"))["weather"] == "../my year.epw"
    assert weather_path(vansim.load_scenario(folder / "my.toml")).samefile(year)


@pytest.mark.parametrize(
    ("text", "layers"),
    [
        ("25 mm spray-foam", [("spray-foam", 25.0)]),
        ("1 in of foam", [("spray-foam", 25.4)]),
        ('2" wool', [("sheep-wool", 50.8)]),
        ("30mm foam + 20mm board", [("spray-foam", 30.0), ("pir-board", 20.0)]),
        ("2 cm XPS", [("xps", 20.0)]),
        ("none", []),
    ],
)
def test_layers_in_words(text, layers):
    assert [(one["material"], one["thickness_mm"]) for one in layers_of(text)] == layers


@pytest.mark.parametrize(
    ("answers", "words"),
    [
        ({"length": "lang"}, "did you mean 'long'?"),
        ({"lenght": "6 m"}, "did you mean 'length_m'?"),
        ({"length": "60 m"}, "allowed: 3.5 to 12 m"),
        ({"walls": "25 foamy"}, "did you mean 'foam'?"),
        ({"walls": "0.025 mm foam"}, "allowed: 1 to 200 mm"),
        ({"walls": "thick"}, "write for example '25 mm spray-foam'"),
        ({"eco": "65 W"}, "allowed: A"),
        ({"eco": "95 A", "boost": "90 A"}, "eco draws the lesser"),
        ({"eco": "5 A", "boost": "95 A"}, "out of reach"),
        ({"capacity": "9 kW"}, "real ones of this size lie between"),
        ({"setpoint": "75"}, "allowed: 15 to 32 °C"),
        ({"colour": "whit"}, "did you mean 'white'?"),
        ({"waking": "7"}, "must be a clock time"),
        ({"people": "two"}, "must be a whole number"),
        ({"dogs": "2"}, "dogs are given by mass"),
        ({"dogs": "20 kg", "people": "0"}, "never left alone"),
        ({"weather": "tuscon.epw"}, "no such file"),
        ({"weather": "dessert"}, "did you mean 'desert'?"),
        ({"date": "02-30"}, "does not exist"),
        ({"solar": "2900 W"}, "do not fit on a roof"),
        ({"waking": "21:00"}, "allowed: 1 to 16 h"),
    ],
)
def test_wrong_answers_are_refused_in_words(answers, words):
    with pytest.raises(vansim.VansimError) as caught:
        vansim.describe_van(**answers)
    assert words in str(caught.value)
    assert "Value error" not in str(caught.value)
    assert described_by({}).title == "My van"
