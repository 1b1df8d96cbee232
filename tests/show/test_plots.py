"""Pictures: a finding with its number, nothing empty, nothing outside the paper, the same bytes every time."""

from __future__ import annotations

import itertools
import re
from collections.abc import Callable, Iterator
from xml.etree import ElementTree

import matplotlib as mpl
import numpy as np
import pytest
from matplotlib.backends.backend_agg import FigureCanvasAgg
from matplotlib.colors import to_rgb

from vansim.show import plots
from vansim.show.plots.figure import COLOURS, NARROW_IN, WIDE_IN, Sheet, inline_svg
from vansim.show.report.findings import Findings

Draw = Callable[[Findings, str, float], Sheet]
PICTURES: dict[str, Draw] = {
    "night": lambda f, system, width: plots.night(f.result, system, f.which, width),
    "calendar": lambda f, system, width: plots.calendar(f.alone, system, width),
    "calendar in a row": lambda f, system, width: plots.calendar(f.chained, system, width),
    "outdoors": lambda f, system, width: plots.runtime_against_outdoors(f.alone, system, width, 9.0),
    "size": lambda f, system, width: plots.bank_size(f.sizing, system, width),
    "recovery": lambda f, system, width: plots.recovery(f.again, system, width),
    "causes": lambda f, system, width: plots.energy(f.causes, system, width),
    "worth": lambda f, system, width: plots.worth(f.worth, system, width),
    "modes": lambda f, system, width: plots.eco_against_boost(f.modes["eco"], f.modes["boost"], system, width),
    "stopped at night": lambda f, system, width: plots.after_reserve(f.hazards["night"], system, width),
    "stopped in the sun": lambda f, system, width: plots.after_reserve(f.hazards["sun"], system, width),
}
EVERY = pytest.mark.parametrize("name", PICTURES)
WIDTHS = pytest.mark.parametrize("width", [WIDE_IN, NARROW_IN])


@pytest.fixture(params=["found", "short"])
def either(request: pytest.FixtureRequest) -> Findings:
    """A night that is kept, and one that is not."""
    return request.getfixturevalue(request.param)


@EVERY
@WIDTHS
@pytest.mark.parametrize("system", ["si", "us"])
def test_says_a_finding_with_a_number_and_leaves_no_panel_empty(
    either: Findings, name: str, width: float, system: str
) -> None:
    sheet = PICTURES[name](either, system, width)
    assert re.search(r"\d", sheet.finding)
    assert len(sheet.finding) < 130
    assert sheet.words.startswith(sheet.finding) or sheet.finding in sheet.words
    assert sheet.axes
    for ax in sheet.axes:
        assert ax.lines or ax.patches or ax.collections, "an empty panel"
    assert sheet.finding.split() == sheet.texts[0].get_text().split()


@EVERY
@WIDTHS
def test_no_text_leaves_the_paper(either: Findings, name: str, width: float) -> None:
    sheet = PICTURES[name](either, "us", width)
    renderer = FigureCanvasAgg(sheet).get_renderer()
    sheet.draw(renderer)
    for text in _texts(sheet):
        box = text.get_window_extent(renderer)
        assert box.x0 >= -2.0, text.get_text()
        assert box.y0 >= -2.0, text.get_text()
        assert box.x1 <= sheet.bbox.x1 + 2.0, text.get_text()
        assert box.y1 <= sheet.bbox.y1 + 2.0, text.get_text()


@EVERY
@WIDTHS
def test_no_two_labels_run_into_one_another(either: Findings, name: str, width: float) -> None:
    sheet = PICTURES[name](either, "us", width)
    renderer = FigureCanvasAgg(sheet).get_renderer()
    sheet.draw(renderer)
    boxes = [(t.get_text(), t.get_window_extent(renderer)) for t in _texts(sheet)]
    clashes = [
        (a, b)
        for (a, box), (b, other) in itertools.combinations(boxes, 2)
        if min(box.x1, other.x1) - max(box.x0, other.x0) > 3.0 and min(box.y1, other.y1) - max(box.y0, other.y0) > 4.0
    ]
    assert not clashes


def _texts(sheet: Sheet) -> Iterator[mpl.text.Text]:
    from matplotlib.text import Text

    for text in sheet.findobj(Text):
        if text.get_visible() and text.get_text().strip() and not _hidden_tick(text, sheet):
            yield text


def _hidden_tick(text: mpl.text.Text, sheet: Sheet) -> bool:
    """Tick labels that exist but are not drawn: outside the view, or switched off."""
    for ax in sheet.axes:
        for axis, limits in ((ax.xaxis, ax.get_xlim()), (ax.yaxis, ax.get_ylim())):
            low, high = sorted(limits)
            for tick in (*axis.get_major_ticks(), *axis.get_minor_ticks()):
                if text in (tick.label1, tick.label2):
                    return (
                        not low - 1e-9 <= tick.get_loc() <= high + 1e-9
                        or axis.get_tick_params().get("labelbottom") is False
                    )
    return False


@EVERY
def test_the_same_picture_gives_the_same_bytes(found: Findings, name: str) -> None:
    first, second = (PICTURES[name](found, "si", WIDE_IN) for _ in range(2))
    assert plots.svg(first) == plots.svg(second)
    assert plots.svg(first) == plots.svg(first)
    assert plots.png(first) == plots.png(second)


def test_the_users_own_settings_do_not_reach_a_picture(found: Findings) -> None:
    ours = plots.svg(plots.night(found.result))
    with mpl.rc_context({"font.size": 20, "axes.facecolor": "black", "svg.fonttype": "none"}):
        assert plots.svg(plots.night(found.result)) == ours


@EVERY
def test_svg_is_well_formed_and_its_ids_are_its_own(found: Findings, name: str) -> None:
    sheet = PICTURES[name](found, "si", WIDE_IN)
    ElementTree.fromstring(plots.svg(sheet))
    text = inline_svg(sheet, "p1")
    ElementTree.fromstring(text)
    ids = re.findall(r'\bid="([^"]+)"', text)
    assert len(ids) == len(set(ids))
    assert all(name.startswith("p1-") for name in ids)
    used = set(re.findall(r'href="#([^"]+)"', text)) | set(re.findall(r"url\(#([^)]+)\)", text))
    assert used <= set(ids)


def test_units_change_what_is_shown_and_not_what_happened(found: Findings) -> None:
    si, us = (plots.night(found.result, system).axes[0].lines[1].get_ydata() for system in ("si", "us"))
    np.testing.assert_allclose(np.asarray(us), np.asarray(si) * 1.8 + 32.0)


def test_compressor_bars_add_up_to_the_duty(found: Findings) -> None:
    from vansim.show.plots.night import choose_night, on_spans

    window = choose_night(found.result, found.which)
    assert window.bed_h is not None
    assert window.wake_h is not None
    on_h = sum(length for _, length in on_spans(found.result, window.bed_h, window.wake_h))
    assert on_h / (window.wake_h - window.bed_h) == pytest.approx(found.night["duty"], abs=1e-6)


def test_what_is_no_night_is_not_called_one() -> None:
    from vansim.runs.simulate import simulate
    from vansim.scenario.files import default_scenario_path, load_scenario
    from vansim.scenario.vary import vary

    day = vary(load_scenario(default_scenario_path()), {"night.label": "working day"})
    sheet = plots.night(simulate(day))
    said = " ".join(text.get_text() for text in _texts(sheet))
    assert "working day" in sheet.finding
    assert not re.search(r"\b(night|bedtime|waking)\b", said.replace(day.title, ""))


def test_a_night_that_is_not_there_is_refused(found: Findings) -> None:
    with pytest.raises(IndexError, match="this run has 1 nights"):
        plots.night(found.result, which=7)


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
    ("kept", "failed"),
    ("soc", "reserve"),
    ("road", "solar"),
)


@pytest.mark.parametrize("vision", VISION)
@pytest.mark.parametrize(("one", "other"), TOGETHER)
def test_colours_of_one_picture_stay_apart_for_every_eye(vision: str, one: str, other: str) -> None:
    apart = _seen(to_rgb(COLOURS[one]), VISION[vision]) - _seen(to_rgb(COLOURS[other]), VISION[vision])
    assert np.hypot.reduce(apart) > 20.0


@pytest.mark.parametrize(
    ("one", "other"), [("cooler", "loads"), ("eco", "boost"), ("kept", "failed"), ("road", "solar")]
)
def test_areas_and_bars_differ_in_grey(one: str, other: str) -> None:
    lightness = [_seen(to_rgb(COLOURS[name]), np.eye(3))[0] for name in (one, other)]
    assert abs(lightness[0] - lightness[1]) > 12.0
