"""What `check` says of a van: its figures, in both systems and as JSON, and the slips that show in them."""

import json

import pandas as pd
import pytest

import vansim
from tests.support.screens import DESERT, SCENARIOS, call, prose
from vansim.runs.run import weather_of
from vansim.scenario.files import load_scenario
from vansim.scenario.parts import cabin_ua_w_k
from vansim.show.text.check import SLIPS, check_lines, slip_words
from vansim.studies.van_figures import AIR_WH_M3K, van_figures
from vansim.units import convert
from vansim.van.cabin import FACES


@pytest.fixture(scope="module")
def desert():
    return load_scenario(DESERT)


def test_ua_by_face_adds_up_and_air_is_its_volume(desert):
    found = van_figures(desert)
    shell = found.envelope.loc[[*FACES, "glass"], "ua_w_k"].sum()
    assert shell == pytest.approx(cabin_ua_w_k(desert.cabin))
    assert found.envelope.loc["glass, covered", "ua_w_k"] < found.envelope.loc["glass", "ua_w_k"]
    # 12 m3 at 0.5 + 2 x 0.1 changes an hour, air of 1.2 kg/m3 and 1006 J/kgK
    assert found.envelope.loc["air", "ua_w_k"] == pytest.approx(12.0 * 0.7 * 1.2 * 1006.0 / 3600.0, rel=2e-3)
    assert AIR_WH_M3K == pytest.approx(1.2 * 1006.0 / 3600.0, rel=2e-3)
    assert not found.slips


def test_the_library_cooler_draws_what_its_note_says(desert):
    rows = van_figures(desert).cooler.set_index(["mode", "outdoor_c"])
    assert rows.loc[("eco", 35.0), "current_a"] == pytest.approx(52.0, abs=1.0)
    assert rows.loc[("boost", 35.0), "current_a"] == pytest.approx(88.0, abs=1.0)
    held_wh = 1000.0 * van_figures(desert).bank["usable_kwh"]
    assert (rows["runtime_h"] * rows["power_w"]).to_numpy() == pytest.approx(held_wh)
    assert rows.loc[("eco", 45.0), "current_a"] > rows.loc[("eco", 35.0), "current_a"]


def test_sun_at_noon_falls_with_covers_and_vanishes_without_glass(desert):
    year = weather_of(desert)
    sun = van_figures(desert, year).sun
    assert 0.0 < sun["covered_w"] < sun["bare_w"]
    assert 11.0 <= sun["hour"] <= 12.0
    assert van_figures(vansim.vary(desert, {"cabin.windows": []}), year).sun["bare_w"] == 0.0
    # what a 200 W panel offers on a clear summer day lies between 3 and 7 full hours (common practice)
    assert 3.0 * 200.0 < sun["panels_wh"] < 7.0 * 200.0


def test_screen_and_json_say_the_same(desert):
    found = json.loads(call("check", "--json").stdout)
    table = {row["path"]: row["ua_w_k"] for row in found["envelope"]}
    for system in ("si", "us"):
        lines = call("check", "--units", system).stdout.splitlines()
        roof = next(line for line in lines if line.startswith("  roof "))
        assert float(roof.split()[-1]) == pytest.approx(convert(table["roof"], "ua_w_k", system), abs=0.051)
    assert found["slips"] == []
    assert [row["people"] for row in found["aboard"]] == [0, 2, 2, 2, 2]
    assert found["bank"]["usable_ah"] == pytest.approx(540.0)


@pytest.mark.parametrize("path", SCENARIOS.values(), ids=lambda p: p.stem)
def test_no_bundled_scenario_holds_a_slip(path):
    assert json.loads(call("check", path, "--json").stdout)["slips"] == []


SLIPPED = {
    "thin-layer": ({"cabin.faces.roof.layers.sheep-wool.thickness_mm": 0.05}, "was 50 mm meant?"),
    "thick-layer": (
        {f"cabin.faces.{face}.layers.sheep-wool.thickness_mm": 500.0 for face in ("roof", "left")},
        "500 mm thick in roof, left",
    ),
    "idle-above-road": ({"alternator.idle_a": 250.0}, "are they swapped?"),
    "nothing-from-alternator": ({"alternator.vehicle_a": 300.0}, "nothing is left for the bank"),
    "panels-fill-roof": ({"solar.area_m2": 9.0, "solar.rated_w": 1800.0}, "9 m2 of a roof of 9.5 m2"),
    "panel-density": ({"solar.rated_w": 2000.0}, "about 200 W to the square metre"),
    "cooler-above-batteries": ({"bank.unit.discharge_max_a": 10.0}, "the batteries are rated for 60 A"),
    "limit-below-band": ({"night.limit_c": 24.5}, "half its band of 1.5 K"),
}


@pytest.mark.parametrize("code", SLIPPED)
def test_a_slip_is_noticed(desert, code):
    changes, words = SLIPPED[code]
    slips = {slip.code: slip for slip in van_figures(vansim.vary(desert, changes)).slips}
    assert set(slips) == {code}
    assert words in slip_words(slips[code])
    assert slip_words(slips[code], "us")
    assert any(words in line for line in check_lines(van_figures(vansim.vary(desert, changes))))


def test_every_slip_has_words_and_a_case():
    assert set(SLIPS) == set(SLIPPED)


def test_animals_alone_come_first():
    text = prose(call("check", SCENARIOS["kennel-day"]).stdout)
    assert "CAUTION" not in text
    lone = vansim.vary(SCENARIOS["kennel-day"], {"occupants.people": 0})
    assert van_figures(lone).aboard["dogs"].max() > 0


def test_a_van_without_cooler_or_charging(desert):
    raw = {
        **desert.model_dump(exclude={"variants", "alternator", "solar", "charger", "shore", "cooler", "day"}),
        "weather": "", "day": ({"segment": ({"start": "00:00", "end": "00:00"},)},),
    }  # fmt: skip
    found = van_figures(load_scenario(raw))
    assert found.cooler.empty
    assert isinstance(found.charging, pd.DataFrame)
    text = "\n".join(check_lines(found))
    assert "No battery-powered cooler." in text
    assert "Nothing charges the bank." in text
