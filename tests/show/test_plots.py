"""How pictures look: a finding with its number, nothing empty, no label over another or over a line, and the same bytes
every time. That they show their data is tested beside, in `test_plots_data`.
"""

from __future__ import annotations

import itertools
import re
from xml.etree import ElementTree

import matplotlib as mpl
import numpy as np
import pytest
from matplotlib.colors import to_rgb
from matplotlib.transforms import Bbox

import vansim
from tests.support.pictured import PICTURES, Pictured, rendered, words_on
from vansim.errors import ScenarioError
from vansim.runs.simulate import simulate
from vansim.scenario.files import default_scenario_path, load_scenario
from vansim.scenario.vary import vary
from vansim.show import plots
from vansim.show.plots.figure import COLOURS, NARROW_IN, WIDE_IN, Sheet, inline_svg
from vansim.show.plots.labels import drawn

EVERY = pytest.mark.parametrize("name", PICTURES)
UNITS = {
    "si": re.compile(r"°C|\bK\b|km/h|\bmm\b|\bkg\b|m2K/W|W/m2"),
    "us": re.compile(r"°F|degF|mph|\blb\b|\bft\b|Btu|R-\d|\d\.\d+[\s\xa0]in\b"),
}
OTHER = {"si": "us", "us": "si"}


@pytest.fixture(scope="session", params=["lasting", "emptied", "kennel", "coast"])
def every(request: pytest.FixtureRequest) -> Pictured:
    """A night that is covered, one whose bank is empty before bedtime, a working day, and two damp nights."""
    found: Pictured = request.getfixturevalue(request.param)
    return found


@EVERY
@pytest.mark.parametrize(("system", "width"), [("si", WIDE_IN), ("us", NARROW_IN)])
def test_a_picture_can_be_read(every: Pictured, name: str, system: str, width: float) -> None:
    sheet, canvas = rendered(PICTURES[name](every, system, width))
    _says_its_finding(sheet)
    boxes = [(text.get_text(), text.get_window_extent(canvas.get_renderer())) for text in words_on(sheet)]
    for text, box in boxes:
        assert min(box.x0, box.y0) >= -2.0, f"leaves the paper: {text}"
        assert box.x1 <= sheet.bbox.x1 + 2.0, f"leaves the paper: {text}"
        assert box.y1 <= sheet.bbox.y1 + 2.0, f"leaves the paper: {text}"
    clashes = [
        (one, other)
        for (one, a), (other, b) in itertools.combinations(boxes, 2)
        if min(a.x1, b.x1) - max(a.x0, b.x0) > 3.0 and min(a.y1, b.y1) - max(a.y0, b.y0) > 4.0
    ]
    assert not clashes
    assert not _on_lines(sheet, canvas.get_renderer())
    assert not _other_units([sheet.words, *(text for text, _ in boxes)], system)


def _says_its_finding(sheet: Sheet) -> None:
    assert re.search(r"\d", sheet.finding)
    assert len(sheet.finding) < 150
    assert sheet.finding in sheet.words
    assert sheet.finding.split() == sheet.texts[0].get_text().split()
    assert not sheet.finding.endswith(".")
    assert sheet.axes
    for ax in sheet.axes:
        assert ax.lines or ax.patches or ax.collections, "an empty panel"


def _on_lines(sheet: Sheet, renderer: object) -> list[str]:
    """Labels that lie on a line, a filled step or a point of their own panel."""
    faults = []
    for ax in sheet.axes:
        lines, areas, points = drawn(ax)
        for text in ax.texts:
            if not text.get_text().strip():
                continue
            extent = text.get_window_extent(renderer)
            box = Bbox.from_extents(extent.x0 + 1, extent.y0 + 1, extent.x1 - 1, extent.y1 - 1)
            hit = [path for path in lines if path.intersects_bbox(box, filled=False)]
            hit += [path for path in areas if path.intersects_bbox(box, filled=True)]
            if hit or any(box.contains(x, y) for x, y, _ in points):
                faults.append(text.get_text())
    return faults


def _other_units(told: list[str], system: str) -> list[str]:
    """What is said in units of the other system."""
    return [
        text for text in told if UNITS[OTHER[system]].search(text.replace("27 degC", "") if system == "si" else text)
    ]


@EVERY
@pytest.mark.parametrize("system", ["si", "us"])
def test_the_words_of_an_svg_file_are_of_one_system(lasting: Pictured, name: str, system: str) -> None:
    """Letters are drawn as shapes there, and the words stand in comments beside them."""
    told = re.findall(r"<!-- (.*?) -->", plots.svg(PICTURES[name](lasting, system, WIDE_IN)), re.DOTALL)
    assert told
    assert not _other_units(told, system)


@pytest.mark.parametrize("name", ["night", "calendar", "sizes", "outage"])
def test_the_same_picture_gives_the_same_bytes(lasting: Pictured, name: str) -> None:
    first, second = (PICTURES[name](lasting, "si", WIDE_IN) for _ in range(2))
    assert plots.svg(first) == plots.svg(second)
    assert plots.svg(first) == plots.svg(first)
    assert plots.png(first) == plots.png(second)


def test_the_users_own_settings_do_not_reach_a_picture(lasting: Pictured) -> None:
    ours = plots.svg(plots.night(lasting.result))
    with mpl.rc_context({"font.size": 20, "axes.facecolor": "black", "svg.fonttype": "none"}):
        assert plots.svg(plots.night(lasting.result)) == ours


@EVERY
def test_svg_is_well_formed_and_its_ids_are_its_own(lasting: Pictured, name: str) -> None:
    sheet = PICTURES[name](lasting, "si", WIDE_IN)
    ElementTree.fromstring(plots.svg(sheet))
    text = inline_svg(sheet, "p1")
    ElementTree.fromstring(text)
    ids = re.findall(r'\bid="([^"]+)"', text)
    assert len(ids) == len(set(ids))
    assert all(name.startswith("p1-") for name in ids)
    used = set(re.findall(r'href="#([^"]+)"', text)) | set(re.findall(r"url\(#([^)]+)\)", text))
    assert used <= set(ids)


def test_every_picture_is_listed_and_reached_by_name() -> None:
    files = {"inline_svg", "png", "svg"}
    listed = re.findall(r"^    (\w+)\(", plots.__doc__ or "", re.MULTILINE)
    assert sorted(listed) == sorted(set(plots.__all__) - files)
    for name in listed:
        assert getattr(vansim.plots, name).__doc__.startswith("Draw ")


def test_what_is_no_night_is_not_called_one(kennel: Pictured) -> None:
    for name in set(PICTURES) - {"outage", "outage in the sun"}:
        sheet, _ = rendered(PICTURES[name](kennel, "si", WIDE_IN))
        told = " ".join([sheet.words, *(text.get_text() for text in words_on(sheet))])
        told = told.replace(kennel.scenario.title, "").replace("into the night after", "").replace("day and night", "")
        assert not re.search(r"\b(nights?|bedtime|waking)\b", told), (name, told)


@pytest.mark.parametrize("width", [WIDE_IN, NARROW_IN])
def test_a_name_without_end_stays_on_the_paper(lasting: Pictured, width: float) -> None:
    name = "a very long name " * 600
    table = lasting.comparison.table.rename(index={"set point 27 degC": name})
    comparison = type(lasting.comparison)(table, lasting.comparison.base, "headline", ())
    pictures = [
        plots.designs(comparison, "si", width),
        plots.two_designs(lasting.result, lasting.other, ("as it is", name), width_in=width),
    ]
    for made in pictures:
        sheet, canvas = rendered(made)
        for text in words_on(sheet)[2:]:
            assert text.get_window_extent(canvas.get_renderer()).x1 <= sheet.bbox.x1 + 2.0


def test_a_night_that_is_not_there_is_refused(lasting: Pictured) -> None:
    with pytest.raises(ScenarioError, match="night 7: no such night"):
        plots.night(lasting.result, 7)


def test_two_designs_need_the_same_night(lasting: Pictured) -> None:
    later = simulate(vary(lasting.scenario, {"run.date": "07-16"}))
    with pytest.raises(ScenarioError, match="15 July, 22:00 and 16 July, 22:00"):
        plots.two_designs(lasting.result, later)


def test_a_run_without_a_whole_night_is_drawn_whole() -> None:
    desert = load_scenario(default_scenario_path())
    result = simulate(vary(desert, {"run.start": "23:00", "night.bedtime": "22:00", "night.waking": "21:59"}))
    assert not len(result.nights)
    sheet = plots.night(result)
    assert "no whole night" in sheet.finding
    assert sheet.axes[0].get_xlim() == (23.0, 47.0)


def _seen(rgb: tuple[float, float, float], matrix: np.ndarray) -> np.ndarray:
    """Colour as seen with a colour-vision deficiency, in CIE L*a*b* (D65, 2 degrees)."""
    linear = np.where(np.array(rgb) <= 0.04045, np.array(rgb) / 12.92, ((np.array(rgb) + 0.055) / 1.055) ** 2.4)
    xyz = np.array([[0.4124, 0.3576, 0.1805], [0.2126, 0.7152, 0.0722], [0.0193, 0.1192, 0.9505]]) @ np.clip(
        matrix @ linear, 0.0, 1.0
    )
    f = np.cbrt(xyz / np.array([0.9505, 1.0, 1.089]))
    return np.array([116.0 * f[1] - 16.0, 500.0 * (f[0] - f[1]), 200.0 * (f[1] - f[2])])


# Machado, Oliveira & Fernandes 2009, IEEE TVCG 15(6), table 1, severity 1.0 (from memory)
VISION = {
    "all colours": np.eye(3),
    "protanopia": np.array(
        [[0.152286, 1.052583, -0.204868], [0.114503, 0.786281, 0.099216], [-0.003882, -0.048116, 1.051998]]
    ),
    "deuteranopia": np.array(
        [[0.367322, 0.860646, -0.227968], [0.280085, 0.672501, 0.047413], [-0.011820, 0.042940, 0.968881]]
    ),
}
TOGETHER = (
    ("outdoor", "cabin"),
    ("cooler", "loads"),
    ("eco", "boost"),
    ("covered", "not_covered"),
    ("soc", "reserve"),
    ("road", "solar"),
)


@pytest.mark.parametrize("vision", VISION)
@pytest.mark.parametrize(("one", "other"), TOGETHER)
def test_colours_of_one_picture_stay_apart_for_every_eye(vision: str, one: str, other: str) -> None:
    apart = _seen(to_rgb(COLOURS[one]), VISION[vision]) - _seen(to_rgb(COLOURS[other]), VISION[vision])
    assert np.hypot.reduce(apart) > 20.0


@pytest.mark.parametrize(
    ("one", "other"), [("cooler", "loads"), ("eco", "boost"), ("covered", "not_covered"), ("road", "solar")]
)
def test_areas_and_bars_differ_in_grey(one: str, other: str) -> None:
    lightness = [_seen(to_rgb(COLOURS[name]), np.eye(3))[0] for name in (one, other)]
    assert abs(lightness[0] - lightness[1]) > 12.0
