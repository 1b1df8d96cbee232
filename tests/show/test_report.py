"""The report: every number in its text was computed, nothing in it comes from elsewhere, and it can be read."""

from __future__ import annotations

import importlib.util
import json
import math
import re
import shutil
from collections import Counter
from html.parser import HTMLParser
from pathlib import Path
from typing import Any

import pytest
from vansim.show.text.handed import change

from vansim.errors import ScenarioError
from vansim.scenario.files import origins
from vansim.scenario.vary import vary
from vansim.show.report.findings import Findings, find
from vansim.show.report.report import Report, tell
from vansim.show.report.sections import Section
from vansim.show.text.wording import NEVER_ALONE, cautions
from vansim.units import convert, suffix_of

from .conftest import NAME

TOLD_FROM = {
    "answer": ("night", "season"),
    "night": ("night", "summary"),
    "season": ("season", "night"),
    "help": ("size", "worth", "modes", "causes", "season", "night"),
    "recharging": ("recovery",),
    "hazard": ("hazard",),
}
NUMBER = re.compile(r"\d+(?:[.:]\d+)*")


@pytest.fixture(params=["customer", "customer_us"])
def any_report(request: pytest.FixtureRequest) -> Report:
    return request.getfixturevalue(request.param)


def _forms(name: str, value: Any, system: str) -> set[str]:
    """Ways in which a value may stand in a text."""
    if isinstance(value, dict):
        named = {key: (str(key), change(str(key), system)) for key in value}
        return set().union(
            *(set(NUMBER.findall(" ".join(named[key]))) | _forms(str(key), v, system) for key, v in value.items())
        )
    if isinstance(value, list):
        return set().union(*(_forms(name, item, system) for item in value))
    if isinstance(value, str):
        return {token.lstrip("0") or "0" for token in re.findall(r"\d+", value)} | set(NUMBER.findall(value))
    if isinstance(value, bool) or value is None or math.isnan(value):
        return set()
    suffix, size = suffix_of(name), abs(value)
    if suffix in ("h", "min"):
        whole, rest = divmod(round(size * (60 if suffix == "h" else 1)), 60) if math.isfinite(size) else (0, 0)
        return {f"{whole}", f"{rest:02d}", f"{rest}", f"{size:.1f}", f"{size:.0f}"}
    if suffix == "c":
        shown = abs(convert(value, name, system))
        return {f"{shown:.0f}", f"{shown:.1f}"}
    if suffix == "wh":
        return {f"{size:.0f}", f"{size / 1000:.2f}", f"{size / 1000:.1f}"}
    if suffix == "kwh":
        return {f"{size:.2f}", f"{size:.1f}", f"{1000 * size:.0f}"}
    if suffix == "kmh":
        return {f"{convert(size, name, system):.0f}"}
    return {f"{100 * size:.0f}", f"{100 * size:.1f}", f"{size:.0f}"} if size <= 1.0 else {f"{size:.0f}"}


def _texts(section: Section) -> list[str]:
    pictures = [text for p in section.pictures for text in (p.wide.finding, p.narrow.finding, p.words)]
    tables = [cell for p in section.pictures for row in (p.head, *p.rows) for cell in row]
    return [*section.paragraphs, *pictures, *tables]


@pytest.mark.parametrize("name", TOLD_FROM)
def test_every_number_of_a_section_was_computed_for_it(any_report: Report, name: str) -> None:
    section = next(s for s in any_report.sections if s.name == name)
    allowed = _forms("", {key: any_report.numbers[key] for key in TOLD_FROM[name]}, any_report.system)
    said = {token for text in _texts(section) for token in NUMBER.findall(text)}
    assert said
    assert said <= allowed


def test_a_wrong_number_would_be_noticed(customer: Report) -> None:
    allowed = _forms("", {key: customer.numbers[key] for key in TOLD_FROM["night"]}, "si")
    waking = customer.numbers["night"]["waking_soc"]
    assert f"{100 * waking:.0f}" in allowed
    assert "73.21" not in allowed
    assert "61" not in allowed or f"{100 * waking:.0f}" == "61"


def test_numbers_equal_the_summary_that_is_saved(found: Findings, customer: Report) -> None:
    saved = json.loads(found.result.files()["summary.json"])
    assert json.loads(json.dumps(customer.numbers["summary"])) == saved
    json.dumps(customer.numbers)  # plain values all through


def test_headline_numbers_are_those_of_the_studies(found: Findings, customer: Report) -> None:
    answer = customer.sections[0].paragraphs[0]
    kept, count = int(found.alone.table["kept"].sum()), len(found.alone.table)
    assert kept == count
    assert f"all {count} nights are covered when each begins with a full bank and nothing" in answer
    assert f"{int(found.chained.table['kept'].sum())} of {count} when they follow one another" in answer
    hours, minutes = divmod(round(60 * found.runtime_h), 60)
    assert f"{hours} h {minutes:02d} min from bedtime" in answer


def test_a_lost_night_says_when_and_why(short: Findings, customer_us: Report) -> None:
    assert not short.night["kept"]
    assert "reserve" in customer_us.sections[0].paragraphs[0]


def test_every_input_is_listed_with_its_origin(found: Findings, customer: Report) -> None:
    inputs = next(s for s in customer.sections if s.name == "inputs")
    told = {name.rpartition(" (")[2].rstrip(")") for name, _ in inputs.terms}
    assert told == set(origins(found.scenario).values())
    values = sum(len(re.split(r"; |, (?=[a-z])", text)) for _, text in inputs.terms)
    leaves = [key for key in origins(found.scenario) if not key.startswith(("variants", "title"))]
    assert values >= len(leaves)


class _Page(HTMLParser):
    """Tags in order, ids, and what is fetched."""

    VOID = frozenset({"meta", "link", "br", "img", "input", "hr"})

    def __init__(self) -> None:
        super().__init__()
        self.open: list[str] = []
        self.tags: Counter[str] = Counter()
        self.ids: list[str] = []
        self.fetched: list[str] = []
        self.labels: list[str] = []

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        self.tags[tag] += 1
        values = dict(attrs)
        if values.get("id"):
            self.ids.append(str(values["id"]))
        self.fetched += [str(v) for k, v in attrs if k in ("src", "href", "xlink:href") and not str(v).startswith("#")]
        if values.get("role") == "img":
            self.labels.append(str(values.get("aria-label") or ""))
        if tag not in self.VOID:
            self.open.append(tag)

    def handle_startendtag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        self.handle_starttag(tag, attrs)
        if tag not in self.VOID:
            self.open.pop()

    def handle_endtag(self, tag: str) -> None:
        assert self.open.pop() == tag


def _read(report: Report) -> _Page:
    page = _Page()
    page.feed(report.html)
    assert page.open == []
    return page


def test_page_is_whole_and_alone(any_report: Report) -> None:
    page = _read(any_report)
    assert len(page.ids) == len(set(page.ids))
    assert page.fetched == []
    assert page.tags["script"] == 0
    assert not re.search(r"@import|url\((?!#)", any_report.html)
    used = set(re.findall(r'href="#([^"]+)"', any_report.html)) | set(re.findall(r"url\(#([^)]+)\)", any_report.html))
    assert used <= set(page.ids)
    assert len(any_report.html.encode()) < 1_500_000


def test_every_picture_has_words_and_a_table(any_report: Report) -> None:
    page = _read(any_report)
    pictures = [p for s in any_report.sections for p in s.pictures]
    assert len(page.labels) == len(pictures) >= 9
    assert all(len(label) > 30 and re.search(r"\d", label) for label in page.labels)
    assert all(p.rows and all(len(row) == len(p.head) for row in p.rows) for p in pictures)
    assert page.tags["figcaption"] == len(pictures)


def test_a_name_is_text_and_never_markup(customer: Report) -> None:
    assert NAME not in customer.html
    assert "A &lt;script&gt;alert(1)&lt;/script&gt; &amp; Sons, $5" in customer.html


def test_the_page_warns_and_defers(any_report: Report, short: Findings) -> None:
    text = any_report.html.replace("&#39;", "'")
    assert text.count(NEVER_ALONE) == 2
    for words in ("typical year", "Local codes", "licensed", "Not modelled", "No grace period"):
        assert words in text
    assert any("Dogs overheat" in line for line in cautions(short.scenario))
    assert not re.search(r"\bsafe(ly)? (to|alone|without)\b", text)


def test_both_systems_of_units_are_told_apart(customer: Report, customer_us: Report) -> None:
    for report, unit, other in ((customer, "°C", "°F"), (customer_us, "°F", "°C")):
        text = " ".join(t for s in report.sections if s.name in TOLD_FROM for t in _texts(s))
        assert unit in text
        assert other not in text


def test_a_run_without_a_whole_night_is_refused_in_words(found: Findings) -> None:
    with pytest.raises(ScenarioError, match=r"no whole night \(22:00 to 23:59\)"):
        find(vary(found.scenario, {"run.start": "23:00", "night.waking": "23:59"}))


def test_same_date_same_bytes(found: Findings, customer: Report) -> None:
    again = tell(found, name=NAME, date="2026-07-01")
    assert again.html == customer.html
    assert tell(found, name=NAME, date="2026-07-02").html != customer.html


def test_paper_holds_the_same_words(customer: Report) -> None:
    data = customer.pdf("matplotlib")
    assert data.startswith(b"%PDF-")
    pages = len(re.findall(rb"/Type /Page\b(?!s)", data))
    assert 6 <= pages <= 20
    assert customer.pdf("matplotlib") == data


def test_pictures_for_page_setting_hold_their_own_letters(customer: Report) -> None:
    drawings = re.findall(r"<svg.*?</svg>", customer.paper_html, re.DOTALL)[1:]
    assert len(drawings) == sum(len(s.pictures) for s in customer.sections)
    for drawing in drawings:
        used = set(re.findall(r'href="#([^"]+)"', drawing))
        assert len(used) > 20
        assert used <= set(re.findall(r'\bid="([^"]+)"', drawing))


@pytest.mark.skipif(importlib.util.find_spec("weasyprint") is None, reason="the extra pdf is not installed")
def test_paper_by_the_page_engine(customer: Report) -> None:
    assert customer.pdf("weasyprint").startswith(b"%PDF-")


CHROMIUM = shutil.which("chromium") or shutil.which("chromium-browser")
ARGS = "--headless --no-sandbox --disable-gpu --disable-quic --no-first-run --disable-background-networking".split()


@pytest.mark.slow
@pytest.mark.skipif(
    CHROMIUM is None or importlib.util.find_spec("playwright") is None, reason="chromium or playwright is absent"
)
def test_fits_screens_and_asks_for_nothing(any_report: Report, tmp_path: Path) -> None:
    from playwright.sync_api import sync_playwright

    path = tmp_path / "report.html"
    path.write_text(any_report.html, encoding="utf-8")
    with sync_playwright() as driver:
        browser = driver.chromium.launch(executable_path=CHROMIUM, args=ARGS)
        for width in (390, 820, 1280):
            page = browser.new_page(viewport={"width": width, "height": 900})
            asked: list[str] = []
            page.on("request", lambda request, asked=asked: asked.append(request.url))
            page.goto(path.as_uri())
            assert asked == [path.as_uri()]
            assert page.evaluate("document.documentElement.scrollWidth") <= width
            shown = page.evaluate(
                "[...document.querySelectorAll('figure svg')].map(e => e.getBoundingClientRect())"
                ".filter(b => b.width > 0).map(b => [b.width, b.height])"
            )
            assert len(shown) == sum(len(s.pictures) for s in any_report.sections)
            assert all(w > 0.75 * min(width, 700) and h > 60 for w, h in shown)
        browser.close()
