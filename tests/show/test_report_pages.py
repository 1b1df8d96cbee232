"""How a report is set: on screen and on paper the same is said, nothing is markup, and everybody can read it."""

from __future__ import annotations

import io
import json
import re
import shutil
import struct
import subprocess
import time
import zlib
from collections import Counter
from dataclasses import replace
from functools import cache
from html import escape, unescape
from html.parser import HTMLParser
from pathlib import Path
from typing import Any

import pytest
from pypdf import PdfReader

from tests.support.tracing import tokens
from vansim.errors import ScenarioError
from vansim.scenario.files import default_scenario_path, load_scenario
from vansim.scenario.vary import vary
from vansim.show.report.logo import read_logo
from vansim.show.report.report import Report, tell
from vansim.show.report.sections import Picture, Table, table_texts
from vansim.show.report.studies import Studies, run_studies

from .conftest import DATE, NAME, SEASON

EITHER = pytest.mark.parametrize("made", ["customer", "customer_us"])
HOSTILE = "#emph[x] $y$ @z <b id=q>&amp;\" ' \\ `c` *s* _u_ //w /*v*/ = h\x00\x1b[31m\u202e ~ ${t} {{ 7 * 7 }}"
SHOWN = "#emph[x] $y$ @z <b id=q>&amp;\" ' \\ `c` *s* _u_ //w /*v*/ = h[31m ~ ${t} {{ 7 * 7 }}"


def pictures_of(made: Report) -> list[Picture]:
    return [block for section in made.sections for block in section.blocks if isinstance(block, Picture)]


# --- the page ---------------------------------------------------------------------------------------------------------


class Page(HTMLParser):
    """Tags in order, ids, words, and what is fetched."""

    VOID = frozenset({"meta", "link", "br", "img", "input", "hr"})

    def __init__(self, text: str) -> None:
        super().__init__()
        self.open: list[str] = []
        self.tags: Counter[str] = Counter()
        self.ids: list[str] = []
        self.fetched: list[str] = []
        self.labels: list[str] = []
        self.heads: list[int] = []
        self.words: list[str] = []
        self.attributes: list[tuple[str, dict[str, str | None]]] = []
        self.feed(text)
        assert self.open == []

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        self.tags[tag] += 1
        values = dict(attrs)
        self.attributes.append((tag, values))
        if values.get("id"):
            self.ids.append(str(values["id"]))
        links = [str(v) for k, v in attrs if k in ("src", "href", "xlink:href")]
        self.fetched += [link for link in links if not link.startswith(("#", "data:"))]
        if values.get("role") == "img":
            self.labels.append(str(values.get("aria-label") or ""))
        if re.fullmatch(r"h\d", tag):
            self.heads.append(int(tag[1]))
        if tag not in self.VOID:
            self.open.append(tag)

    def handle_startendtag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        self.handle_starttag(tag, attrs)
        if tag not in self.VOID:
            self.open.pop()

    def handle_endtag(self, tag: str) -> None:
        assert self.open.pop() == tag

    def handle_data(self, data: str) -> None:
        if not {"svg", "style", "title"} & set(self.open):
            self.words.append(data)


@EITHER
def test_page_is_whole_and_alone(made: str, request: pytest.FixtureRequest) -> None:
    text = request.getfixturevalue(made).html
    page = Page(text)
    assert len(page.ids) == len(set(page.ids))
    assert page.fetched == []
    assert not {"script", "link", "iframe", "form", "object", "base"} & set(page.tags)
    assert not re.search(r"@import|url\((?!#)", text)
    used = set(re.findall(r'href="#([^"]+)"', text)) | set(re.findall(r"url\(#([^)]+)\)", text))
    assert used <= set(page.ids)
    assert len(text.encode()) < 1_500_000


@EITHER
def test_policy_forbids_everything_but_the_own_style(made: str, request: pytest.FixtureRequest) -> None:
    page = Page(request.getfixturevalue(made).html)
    metas = [values for tag, values in page.attributes if tag == "meta"]
    policy = next(str(m["content"]) for m in metas if m.get("http-equiv") == "Content-Security-Policy")
    assert policy.startswith("default-src 'none'; style-src 'sha256-")
    assert "unsafe-inline" not in policy.replace("style-src-attr 'unsafe-inline'", "")
    assert page.tags["style"] == 1  # the one whose hash is allowed
    assert "script" not in policy


@EITHER
def test_page_can_be_read_by_everybody(made: str, request: pytest.FixtureRequest) -> None:
    report: Report = request.getfixturevalue(made)
    page = Page(report.html)
    assert dict(page.attributes)["html"] == {"lang": "en"}
    assert page.heads[0] == 1
    assert page.heads.count(1) == 1
    assert all(after <= before + 1 for before, after in zip(page.heads, page.heads[1:], strict=False))
    assert page.tags["main"] == page.tags["header"] == page.tags["footer"] == 1
    assert len(page.labels) == len(pictures_of(report)) == page.tags["figure"] == page.tags["figcaption"]
    assert all(len(label) > 30 and re.search(r"\d", label) for label in page.labels)
    scopes = [values.get("scope") for tag, values in page.attributes if tag == "th"]
    assert set(scopes) == {"col", "row"}
    assert page.tags["caption"] == page.tags["table"]
    assert all(values.get("alt") for tag, values in page.attributes if tag == "img")


@EITHER
def test_every_table_is_as_wide_as_its_head(made: str, request: pytest.FixtureRequest) -> None:
    report: Report = request.getfixturevalue(made)
    blocks = [block for section in report.sections for block in section.blocks if isinstance(block, Picture | Table)]
    tables = [block.table if isinstance(block, Picture) else block for block in blocks]
    assert all(table.rows and all(len(row) == len(table.head) for row in table.rows) for table in tables)
    assert all(all(table.head) for table in tables)


def luminance(colour: str) -> float:
    """Relative luminance (WCAG 2.2, definition)."""
    digits = colour.lstrip("#")
    digits = "".join(c * 2 for c in digits) if len(digits) == 3 else digits
    parts = [int(digits[i : i + 2], 16) / 255 for i in (0, 2, 4)]
    linear = [part / 12.92 if part <= 0.04045 else ((part + 0.055) / 1.055) ** 2.4 for part in parts]
    return 0.2126 * linear[0] + 0.7152 * linear[1] + 0.0722 * linear[2]


def test_words_stand_out_from_their_ground(customer: Report) -> None:
    """WCAG 2.2, success criterion 1.4.3: 4.5 to 1."""
    style = re.search(r"<style>(.*?)</style>", customer.html, re.DOTALL)
    assert style is not None
    inks = set(re.findall(r"(?<![-\w])color: (#[0-9a-f]{3,6})", style.group(1)))
    grounds = set(re.findall(r"background: (#[0-9a-f]{3,6})", style.group(1)))
    assert len(inks) >= 3
    for ink in inks:
        for ground in grounds:
            light, dark = sorted((luminance(ink), luminance(ground)), reverse=True)
            assert (light + 0.05) / (dark + 0.05) >= 4.5, (ink, ground)


def test_dark_mode_is_left_alone(customer: Report) -> None:
    assert "color-scheme: light only" in customer.html
    assert "prefers-color-scheme" not in customer.html


# --- words from outside are no markup ---------------------------------------------------------------------------------


@pytest.fixture(scope="module")
def hostile() -> Report:
    desert = load_scenario(default_scenario_path())
    loads = [{"name": HOSTILE, "power_w": 45.0, "hours": [{"start": "20:00", "end": "22:00"}]}]
    scenario = vary(desert, {"loads": loads}).model_copy(update={"title": HOSTILE})
    return tell(run_studies(scenario, season=SEASON), name=HOSTILE, date=DATE, sender=HOSTILE, address=HOSTILE)


def test_hostile_words_stand_on_the_page_as_they_are(hostile: Report) -> None:
    page = Page(hostile.html)
    assert "q" not in page.ids
    assert page.tags["b"] == 0
    assert "".join(page.words).replace("\u200b", "").count(SHOWN) >= 4
    assert "\x1b" not in hostile.html
    assert escape(SHOWN, quote=False)[:40] in unescape(hostile.html).replace("&", "&amp;").replace("<", "&lt;").replace(
        ">", "&gt;"
    )


def test_hostile_words_stand_on_paper_as_they_are(hostile: Report) -> None:
    text = paper_text(hostile)
    assert squeezed(text).count(squeezed(SHOWN)) >= 4


def test_letters_of_other_alphabets_can_be_set(studies: Studies) -> None:
    made = tell(studies, name="Ünal Žižková Δημήτρης 日本 😀", date=DATE)
    assert "Δημήτρης" in paper_text(made)
    assert "日本 😀" in made.html


def test_very_long_names_are_set_and_cost_little(studies: Studies) -> None:
    desert = load_scenario(default_scenario_path())
    long = "x" * 10_000
    scenario = vary(desert, {"loads": [{"name": long, "power_w": 45.0}]}).model_copy(update={"title": long})
    plain = tell(studies, date=DATE)
    named = tell(run_studies(scenario, season=SEASON), name=long, sender=long, date=DATE)
    spent = []
    for made in (plain, named):
        _ = [picture.svg for picture in pictures_of(made)]
        begun = time.process_time()
        _ = made.pdf
        spent.append(time.process_time() - begun)
    assert spent[1] < 6.0 * spent[0]  # the plain one takes a fifth of a second
    assert section_pages(named)["The van as it was understood"] == 2
    assert "x" * 10_000 in "".join(Page(named.html).words).replace("\u200b", "")


def test_same_date_same_bytes(studies: Studies, customer: Report) -> None:
    anew = replace(studies, drawn={})
    again = tell(anew, name=NAME, date=DATE, sender="Example Vans", address="1 Example Road\nExampletown")
    assert again.html == customer.html
    assert again.pdf == customer.pdf
    assert tell(studies, name=NAME, date="2026-07-02").html != customer.html


# --- paper ------------------------------------------------------------------------------------------------------------


def reader(made: Report) -> PdfReader:
    return PdfReader(io.BytesIO(made.pdf))


@cache
def pages_of(pdf: bytes) -> tuple[str, ...]:
    """Words of each page; reading the pictures' paths takes its time."""
    return tuple(page.extract_text() for page in PdfReader(io.BytesIO(pdf)).pages)


def paper_text(made: Report) -> str:
    return "\n".join(pages_of(made.pdf)).replace("\u200b", "")


def squeezed(text: str) -> str:
    return re.sub(r"\s+", "", text.replace("\u200b", ""))


def section_pages(made: Report) -> dict[str, int]:
    """Page on which each heading stands, by the outline of the file."""
    book = reader(made)

    def walk(items: list[Any]) -> dict[str, int]:
        found: dict[str, int] = {}
        for item in items:
            if isinstance(item, list):
                found |= walk(item)
            else:
                number = book.get_destination_page_number(item)
                assert number is not None
                found[str(item.title)] = number + 1
        return found

    return walk(book.outline)


@EITHER
def test_paper_is_tagged_and_of_its_size(made: str, request: pytest.FixtureRequest) -> None:
    report: Report = request.getfixturevalue(made)
    book = reader(report)
    root: Any = book.trailer["/Root"]
    assert root["/MarkInfo"]["/Marked"] is True or bool(root["/MarkInfo"]["/Marked"])
    assert root["/Lang"] == "en"
    assert root["/ViewerPreferences"]["/DisplayDocTitle"]
    assert book.metadata is not None
    assert squeezed(str(book.metadata.title)) == squeezed(report.heading)
    assert b"pdfuaid:part" in root["/Metadata"].get_data()
    width, height = (float(v) for v in book.pages[0].mediabox[2:])
    assert (width, height) == pytest.approx((595.3, 841.9) if report.paper == "a4" else (612.0, 792.0), abs=0.1)


def alternative_texts(node: Any, found: list[str]) -> list[str]:
    """Of all figures of a structure tree."""
    node = node.get_object() if hasattr(node, "get_object") else node
    if isinstance(node, list):
        for child in node:
            alternative_texts(child, found)
    elif isinstance(node, dict):
        if node.get("/S") == "/Figure" and "/Alt" in node:
            found.append(str(node["/Alt"]))
        if "/K" in node and node.get("/S") != "/Figure":
            alternative_texts(node["/K"], found)
    return found


@EITHER
def test_pictures_on_paper_have_their_words(made: str, request: pytest.FixtureRequest) -> None:
    report: Report = request.getfixturevalue(made)
    root: Any = reader(report).trailer["/Root"]
    assert alternative_texts(root["/StructTreeRoot"], []) == [picture.words for picture in pictures_of(report)]


@EITHER
def test_two_pages_and_an_appendix(made: str, request: pytest.FixtureRequest) -> None:
    pages = section_pages(request.getfixturevalue(made))
    assert [pages[name] for name in ("The answer", "What would help most", "What to know")] == [1, 1, 1]
    assert [pages[name] for name in ("The van as it was understood", "The season", "Safety")] == [2, 2, 2]
    assert pages["Appendix"] == 3
    assert min(number for name, number in pages.items() if name in ("Glossary", "Every input")) > 3


@EITHER
def test_no_heading_and_no_caption_ends_a_page(made: str, request: pytest.FixtureRequest) -> None:
    report: Report = request.getfixturevalue(made)
    blocks = [block for section in report.sections for block in section.blocks]
    tables = [
        block.table if isinstance(block, Picture) else block for block in blocks if isinstance(block, Picture | Table)
    ]
    lonely = {squeezed(section.heading) for section in report.sections} | {squeezed(t.caption) for t in tables}
    lonely |= {squeezed("".join(table.head)) for table in tables}
    for page in pages_of(report.pdf):
        lines = [squeezed(line) for line in page.split("\n") if line.strip()]
        body = [line for line in lines if "Computedwithvansim" not in line and not re.fullmatch(r"\d+/\d+", line)]
        assert body[-1] not in lonely


@EITHER
def test_tables_over_two_pages_repeat_their_heads(made: str, request: pytest.FixtureRequest) -> None:
    report: Report = request.getfixturevalue(made)
    head = squeezed("InputValueFrom")
    pages = [squeezed(page) for page in pages_of(report.pdf)]
    start = section_pages(report)["Every input"] - 1
    end = section_pages(report)["Confidence and limits"] - 1
    assert end > start
    assert all(head in page for page in pages[start:end])


@EITHER
def test_screen_and_paper_say_the_same_numbers(made: str, request: pytest.FixtureRequest) -> None:
    report: Report = request.getfixturevalue(made)
    screen = Counter(tokens(unescape(" ".join(Page(report.html).words)).replace("\u00a0", " ")))
    pages = pages_of(report.pdf)
    count = len(pages)
    paper = Counter(tokens(" ".join(pages).replace("\u00a0", " ")))
    feet = Counter(tokens(" ".join(f"{report.head['footer']} {n} / {count}" for n in range(1, count + 1))))
    feet -= Counter(tokens(report.head["footer"]))  # the page has one foot
    # tables beside the pictures of the first two pages stand once on paper, and twice in the page's source
    twice = Counter(tokens(" ".join(t for p in pictures_of(report) if p.fills for t in table_texts(p.table))))
    assert not screen - twice - paper
    repeated = set(tokens("Runtime, 1 in 10 is shorter"))  # heads of tables that go on
    assert set(paper - feet - (screen - twice)) <= repeated


# --- logo -------------------------------------------------------------------------------------------------------------


def tiny_png() -> bytes:
    """A red dot (PNG specification, 3rd edition: signature, IHDR, IDAT, IEND)."""

    def chunk(kind: bytes, data: bytes) -> bytes:
        return struct.pack(">I", len(data)) + kind + data + struct.pack(">I", zlib.crc32(kind + data))

    header = struct.pack(">IIBBBBB", 1, 1, 8, 2, 0, 0, 0)
    return (
        b"\x89PNG\r\n\x1a\n"
        + chunk(b"IHDR", header)
        + chunk(b"IDAT", zlib.compress(b"\0\xff\0\0"))
        + chunk(b"IEND", b"")
    )


@pytest.mark.parametrize(
    ("name", "content"),
    [
        ("dot.png", tiny_png()),
        ("dot.svg", b'<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 9 9"><circle r="4"/></svg>'),
    ],
)
def test_logo_stands_on_page_and_paper(studies: Studies, tmp_path: Path, name: str, content: bytes) -> None:
    (tmp_path / name).write_bytes(content)
    made = tell(studies, date=DATE, sender="Example Vans", logo=read_logo(tmp_path / name, "Logo of Example Vans"))
    page = Page(made.html)
    assert page.tags["img"] == 1
    assert page.fetched == []
    root: Any = reader(made).trailer["/Root"]
    assert "Logo of Example Vans" in alternative_texts(root["/StructTreeRoot"], [])


@pytest.mark.parametrize("content", [b"GIF8 but no image", b"<svg>", b"", b"\x89PNG\r\n\x1a\nbroken"])
def test_a_broken_logo_is_refused_in_words(tmp_path: Path, content: bytes) -> None:
    (tmp_path / "logo.png").write_bytes(content)
    with pytest.raises(ScenarioError, match="logo"):
        read_logo(tmp_path / "logo.png")


# --- a browser --------------------------------------------------------------------------------------------------------

CHROMIUM = shutil.which("chromium") or shutil.which("chromium-browser")
ARGS = (
    "--headless --no-sandbox --disable-gpu --disable-quic --no-first-run --disable-background-networking "
    "--disable-component-update --disable-sync"
).split()
BROWSER = pytest.mark.skipif(CHROMIUM is None, reason="chromium is absent")
MEASURE = """<!DOCTYPE html><html><body><script>
const page = PAGE, widths = [390, 820, 1280], found = [];
function look(at) {
  if (at === widths.length) { document.title = "done"; document.body.textContent = JSON.stringify(found); return; }
  const frame = document.createElement("iframe");
  frame.style.cssText = `border:0;height:900px;width:${widths[at]}px`;
  frame.onload = () => {
    const d = frame.contentDocument, w = frame.contentWindow;
    const shown = [...d.querySelectorAll("figure svg")].map(e => e.getBoundingClientRect()).filter(b => b.width > 0);
    const cells = [...d.querySelectorAll("th, td")].filter(e => e.scrollWidth > e.clientWidth + 1 && e.clientWidth > 0);
    found.push({width: widths[at], scroll: d.documentElement.scrollWidth,
      styled: w.getComputedStyle(d.querySelector("h1")).fontWeight,
      max: w.getComputedStyle(d.querySelector("main")).maxWidth, svgs: shown.map(b => [b.width, b.height]),
      asked: w.performance.getEntriesByType("resource").length, spilling: cells.length});
    frame.remove(); look(at + 1);
  };
  frame.srcdoc = page; document.body.append(frame);
}
look(0);
</script></body></html>"""


def browse(tmp_path: Path, *options: str) -> str:
    command = [str(CHROMIUM), *ARGS, f"--user-data-dir={tmp_path / 'profile'}", *options]
    return subprocess.run(command, capture_output=True, text=True, timeout=180, check=True).stdout


@BROWSER
@pytest.mark.parametrize("made", ["customer", "customer_us", "hostile"])
def test_fits_screens_and_asks_for_nothing(made: str, request: pytest.FixtureRequest, tmp_path: Path) -> None:
    report: Report = request.getfixturevalue(made)
    path = tmp_path / "measure.html"
    page = json.dumps(report.html).replace("</", "<\\/")
    path.write_text(MEASURE.replace("PAGE", page), encoding="utf-8")
    dom = browse(tmp_path, "--virtual-time-budget=20000", "--dump-dom", path.as_uri())
    body = re.search(r"<body[^>]*>(.*)</body>", dom, re.DOTALL)
    assert body is not None
    measured = json.loads(unescape(body.group(1)))
    assert [m["width"] for m in measured] == [390, 820, 1280]
    for m in measured:
        assert m["scroll"] <= m["width"]
        assert m["asked"] == 0
        assert m["spilling"] == 0
        assert m["styled"] == "700"  # the style is the one that the policy allows
        assert m["max"].endswith("px")
        assert len(m["svgs"]) == len(pictures_of(report))
        assert all(w > 0.7 * min(m["width"], 700) and h > 60 for w, h in m["svgs"])


@BROWSER
@EITHER
def test_prints_as_the_paper_reads(made: str, request: pytest.FixtureRequest, tmp_path: Path) -> None:
    report: Report = request.getfixturevalue(made)
    (tmp_path / "report.html").write_text(report.html, encoding="utf-8")
    out = tmp_path / "printed.pdf"
    browse(tmp_path, "--no-pdf-header-footer", f"--print-to-pdf={out}", (tmp_path / "report.html").as_uri())
    words = pages_of(out.read_bytes())
    printed = [squeezed(page) for page in words]
    assert squeezed("What to know") in printed[0]
    assert printed[1].startswith(squeezed("The van as it was understood"))
    assert squeezed("Safety") in printed[1]
    assert printed[2].startswith("Appendix")
    # the same numbers, but for what paper counts: pages, and heads of tables that go on
    ours = set(tokens(paper_text(report).replace("\u00a0", " ")))
    theirs = set(tokens(" ".join(words).replace("\u00a0", " ")))
    assert ours - theirs <= {str(number) for number in range(1, len(reader(report).pages) + 1)}
    assert theirs - ours == set()
