"""The bundled library: it loads, it is plausible, and the coolers do what they were tuned to."""

import shutil

import pytest

from vansim.errors import ScenarioError
from vansim.scenario import parts
from vansim.scenario.files import load_scenario
from vansim.scenario.parts import KINDS, cabin_ua_w_k, library, parts_table
from vansim.scenario.toml import demo_folder
from vansim.van.bank import Bank, bank_parameters, ocv_at
from vansim.van.cooler import BOOST, ECO, Running, cooler_map, cooler_parameters, running


@pytest.mark.parametrize(
    ("kind", "least"),
    [("cabins", 4), ("coolers", 4), ("bank-units", 6), ("alternators", 3), ("solar-arrays", 4), ("chargers", 3)],
)
def test_every_kind_has_parts_and_a_table(kind, least):
    table = parts_table(kind)
    assert len(table) >= least
    assert list(table.index) == list(library().parts[kind])
    assert table["note"].str.contains("invented").all()
    assert table.columns[-1] == "note"


def test_the_library_covers_voltages_and_chemistries():
    coolers, units = library().parts["coolers"].values(), library().parts["bank-units"].values()
    assert {c.nominal_v for c in coolers} == {u.nominal_v for u in units} == {12, 24, 48}
    assert {u.chemistry for u in units} == {"lfp", "agm"}


def test_an_unknown_part_or_kind_is_told_with_the_nearest():
    with pytest.raises(ScenarioError, match="did you mean 'roof-12v-2600w'"):
        library().part("coolers", "roof-12v-2600")
    with pytest.raises(ScenarioError, match="did you mean 'coolers'"):
        parts_table("cooler")
    with pytest.raises(ScenarioError, match="allowed: cabins, coolers"):
        library().part("wheels", "x")


def test_ones_own_folder_must_be_there_and_hold_parts(tmp_path):
    with pytest.raises(ScenarioError, match="does not exist"):
        library(tmp_path / "no")
    with pytest.raises(ScenarioError, match=r"no parts here; allowed file names: cabins.toml"):
        library(tmp_path)
    (tmp_path / "coolers.toml").write_text("x = 3\n")
    with pytest.raises(ScenarioError, match=r"coolers.toml:1: x: a part is a table"):
        library(tmp_path)
    (tmp_path / "coolers.toml").write_text("[x]\nrated = { capacity_w = 100000, power_w = 300 }\nairflow_m3_h = 90\n")
    with pytest.raises(ScenarioError, match=r"coolers.toml:1: x: no coil can do this"):
        library(tmp_path)


IMPOSSIBLE = """
[too-strong]
rated = { capacity_w = 100000, power_w = 300 }
airflow_m3_h = 90

[too-loud]
rated = { capacity_w = 1000, power_w = 300 }
airflow_m3_h = 180
noise_db = 60
"""


@pytest.fixture
def two_broken(tmp_path, monkeypatch):
    """The bundled library with two broken coolers in it."""
    shutil.copytree(demo_folder() / "data_demo" / "parts", tmp_path / "data_demo" / "parts")
    with (tmp_path / "data_demo" / "parts" / "coolers.toml").open("a") as file:
        file.write(IMPOSSIBLE)
    monkeypatch.setattr(parts, "demo_folder", lambda: tmp_path)
    parts._bundled.cache_clear()
    yield
    parts._bundled.cache_clear()


def scenario_with(cooler):
    day = [{"segment": [{"start": "12:00", "end": "12:00"}]}]
    return {"cabin": "high-roof-50mm", "cooler": cooler, "bank": {"unit": "lfp-12v-100ah"}, "day": day}


@pytest.mark.usefixtures("two_broken")
def test_a_broken_part_harms_only_who_names_it():
    assert load_scenario(scenario_with("roof-12v-2600w")).cooler.rated.capacity_w > 0
    with pytest.raises(ScenarioError, match=r"coolers.toml:\d+: too-strong: no coil can do this") as told:
        load_scenario(scenario_with("too-strong"))
    assert len(told.value.faults) == 1
    with pytest.raises(ScenarioError, match=r"coolers.toml:\d+: too-loud.noise_db: .*"):
        library().part("coolers", "too-loud")
    with pytest.raises(ScenarioError, match="did you mean 'too-strong'"):
        load_scenario(scenario_with("too-stron"))


@pytest.mark.usefixtures("two_broken")
def test_listing_tells_every_broken_part_of_its_kind():
    with pytest.raises(ScenarioError) as told:
        parts_table("coolers")
    assert [fault.split(": ")[1].split(".")[0] for fault in told.value.faults] == ["too-strong", "too-loud"]
    assert len(parts_table("cabins")) >= 4


def test_a_shelf_says_what_it_holds_without_checking_it(monkeypatch):
    monkeypatch.setattr(parts.Entry, "checked", property(lambda entry: pytest.fail(f"{entry.name} was checked")))
    parts._bundled.cache_clear()
    try:
        shelf = library().parts["coolers"]
        assert "roof-12v-2600w" in shelf
        assert "roof-12v-2600" not in shelf
        assert len(list(shelf)) == len(shelf) >= 4
        assert "did you mean 'roof-12v-2600w'" in library().table("coolers", "roof-12v-2600")
    finally:
        parts._bundled.cache_clear()


@pytest.mark.published
@pytest.mark.parametrize("name", ["high-roof-50mm", "high-roof-long-80mm", "box-body-60mm", "kennel-van"])
def test_insulated_shells_lie_between_known_limits(name):
    """Mean K of the opaque shell: not below a heavily insulated refrigerated body's 0.4 W/m2K (UNECE ATP, class limits
    0.7 and 0.4), and not above the older leisure-vehicle grade of 1.7 W/m2K (EN 1645-1, from memory).
    """
    cabin = library().parts["cabins"][name]
    shell_m2 = sum(face.area_m2 for face in cabin.faces.values())
    glass_w_k = sum(window.area_m2 * window.bare_u_w_m2k for window in cabin.windows)
    assert 0.4 <= (cabin_ua_w_k(cabin) - glass_w_k) / shell_m2 <= 1.7


def test_the_notes_state_the_conductance_that_comes_out():
    for name, cabin in library().parts["cabins"].items():
        said = float(cabin.note.split("UA about ")[1].split(" ")[0])
        assert cabin_ua_w_k(cabin) == pytest.approx(said, abs=1.0), name


def test_insulation_and_glass_rank_as_they_should():
    ua = {name: cabin_ua_w_k(cabin) for name, cabin in library().parts["cabins"].items()}
    assert ua["box-body-60mm"] < ua["high-roof-long-80mm"] < ua["high-roof-50mm"] < ua["family-many-windows"]
    assert 30.0 <= ua["high-roof-50mm"] <= 60.0
    assert ua["short-panel-bare"] > 1.7 * ua["high-roof-50mm"]


@pytest.mark.parametrize("name", ["high-roof-50mm"])
def test_a_six_metre_high_roof_has_the_usual_areas(name):
    """Common practice: roof, sides and floor 9 to 10 m2 each, windscreen 1.6 m2 at 40 deg, rear 3.3 m2, 11 to 13 m3."""
    cabin = library().parts["cabins"][name]
    assert all(9.0 <= cabin.faces[face].area_m2 <= 10.0 for face in ("roof", "left", "right", "floor"))
    assert 11.0 <= cabin.volume_m3 <= 13.0
    assert 500.0 <= cabin.faces["roof"].rib_spacing_mm <= 1500.0
    windscreen = next(window for window in cabin.windows if window.face == "front")
    assert (windscreen.area_m2, windscreen.slope_deg, windscreen.glass) == (1.6, 40.0, "laminated-green")


def state(name, mode, outdoor_c, cabin_c, ratio):
    return Running(*running(cooler_map(library().parts["coolers"][name]), mode, outdoor_c, cabin_c, ratio))


def test_the_12_v_roof_unit_draws_what_a_clamp_meter_shows():
    """As it was tuned: 50 to 54 A (about 680 W at 12.8 to 13 V) in eco with 25 °C in the cabin and 35 °C outdoors,
    about 88 A flat out; supply air 15 to 22 K below a dry cabin in eco (common practice).
    """
    eco, boost = (state("roof-12v-2600w", mode, 35.0, 25.0, 0.008) for mode in (ECO, BOOST))
    assert 50.0 <= eco.power_w / 12.9 <= 54.0
    assert 79.0 <= boost.power_w / 12.9 <= 92.0
    dry = state("roof-12v-2600w", ECO, 35.0, 25.0, 0.004)
    assert dry.water_kg_s == 0.0
    assert 15.0 <= 25.0 - dry.supply_c <= 22.0


@pytest.mark.parametrize("name", list(library().parts["coolers"]))
def test_coolers_are_plausible_machines(name):
    """Common practice: compressors of this size reach 45 to 65 % of the ideal cycle; eco is frugal, boost is strong."""
    cooler = library().parts["coolers"][name]
    assert 0.45 <= cooler_parameters(cooler).efficiency <= 0.65
    assert 150.0 <= cooler.airflow_m3_h / cooler.rated.capacity_w * 1000.0 <= 200.0
    eco, boost = (state(name, mode, 35.0, 25.0, 0.008) for mode in (ECO, BOOST))
    assert eco.sensible_w < boost.sensible_w
    assert eco.sensible_w / eco.power_w > boost.sensible_w / boost.power_w


@pytest.mark.parametrize(("name", "series"), [("lfp-12v-100ah", 2), ("lfp-24v-100ah", 2), ("agm-12v-100ah", 4)])
def test_units_in_series_add_up(name, series):
    unit = library().parts["bank-units"][name]
    one, many = Bank(unit=unit, cable_mohm=0.0), Bank(unit=unit, series=series, parallel=3, cable_mohm=0.0)
    assert many.nominal_v == series * unit.nominal_v
    assert many.capacity_ah == 3 * unit.capacity_ah
    assert many.units == 3 * series
    assert ocv_at(bank_parameters(many), 0.5) == pytest.approx(series * ocv_at(bank_parameters(one), 0.5))
    assert bank_parameters(many).r_cell_ohm == pytest.approx(bank_parameters(one).r_cell_ohm * series / 3)


@pytest.mark.parametrize("name", list(library().parts["bank-units"]))
def test_batteries_weigh_what_batteries_weigh(name):
    """Common practice: lfp 90 to 170 Wh/kg as a pack, agm 30 to 45 Wh/kg."""
    unit = library().parts["bank-units"][name]
    energy_wh_kg = unit.capacity_ah * unit.nominal_v * (12.8 / 12.0 if unit.chemistry == "lfp" else 1.0) / unit.mass_kg
    low, high = (90.0, 170.0) if unit.chemistry == "lfp" else (30.0, 45.0)
    assert low <= energy_wh_kg <= high


def test_panels_yield_what_panels_of_their_area_yield():
    """Common practice: crystalline modules rate 180 to 230 W per square metre."""
    for array in library().parts["solar-arrays"].values():
        assert 180.0 <= array.rated_w / array.area_m2 <= 230.0


def test_every_kind_is_a_file():
    assert set(library().parts) == set(KINDS)
