"""What a report says: every number comes from a named value, and nothing is said that a customer should not read."""

from __future__ import annotations

import datetime
import json
import re
from dataclasses import replace
from typing import Any

import pytest
from typer.testing import CliRunner

from tests.support.tracing import leaves, tokens, traced
from vansim.cli import app
from vansim.errors import ScenarioError
from vansim.phrases.outside import clean, shortened
from vansim.scenario.files import default_scenario_path, load_scenario
from vansim.scenario.origins import origins
from vansim.scenario.schema import Scenario
from vansim.scenario.vary import vary
from vansim.show.report.answer import NEEDS, codes_of, season_facts
from vansim.show.report.findings import Findings
from vansim.show.report.gather import findings_of
from vansim.show.report.input_words import GROUPS
from vansim.show.report.inputs import input_tables
from vansim.show.report.report import Report, report, said, sections_of, tell
from vansim.show.report.sections import Picture, Section
from vansim.show.report.studies import Studies, run_studies
from vansim.show.text.wording import NEVER_ALONE, cautions
from vansim.studies.changes import standard_changes

from .conftest import DATE, NAME, SEASON

CONSTANT = {
    "48": "how long recharging is followed [h]",
    "12": "how long the cabin is followed after a stop [h]",
    "90": "speed at which recharging on the road is told [km/h]",
    "56": "the same [mph]",
    "1": "1 night in 10",
    "10": "1 night in 10",
}
"""Numbers that are part of what is asked, not of what was found."""
EITHER = pytest.mark.parametrize("which", ["studies", "short_studies"])


def by_name(made: Report) -> dict[str, Section]:
    return {section.name: section for section in made.sections}


def all_text(made: Report) -> str:
    texts = [made.heading, made.byline, *made.sender, *(t for section in made.sections for t in section.texts())]
    return "\n".join([*texts, *(picture.words for picture in pictures_of(made))])


def pictures_of(made: Report) -> list[Picture]:
    return [block for section in made.sections for block in section.blocks if isinstance(block, Picture)]


# --- numbers ----------------------------------------------------------------------------------------------------------


def plain_forms(found: Findings) -> set[str]:
    """Values as they stand, for those that hold still: a whole that all are of, one layer on several faces."""
    numbers = [v for _, v in leaves(found) if isinstance(v, int | float) and not isinstance(v, bool)]
    return {f"{number:g}" for number in numbers}


def few_changes(found: Findings) -> Findings:
    """The first changes alone: the others are told the same way."""
    assert found.help is not None
    return replace(found, help=replace(found.help, changes=found.help.changes[:6]))


@pytest.mark.parametrize(("which", "system"), [("studies", "si"), ("short_studies", "us")])
def test_every_number_moves_with_a_named_value(
    which: str, system: str, request: pytest.FixtureRequest, monkeypatch: pytest.MonkeyPatch
) -> None:
    studies: Studies = request.getfixturevalue(which)
    found, origin = few_changes(findings_of(studies)), origins(studies.scenario)
    # the inputs have a test of their own, and do not move with what was found
    monkeypatch.setattr("vansim.show.report.appendix.input_tables", lambda *_: ())
    monkeypatch.setattr("vansim.show.report.appendix.origins", lambda _: origin)

    def texts(record: Findings) -> list[str]:
        sections = (s for s in sections_of(studies, record, system) if s.name != "inputs")
        return [text for section in sections for text in section.texts()]

    lines = texts(found)
    numbers, names = traced(found, texts)
    total, untraced = 0, []
    for text, line, of in zip(lines, numbers, names, strict=True):
        total += len(line)
        untraced += [(n, text) for n, moved_by in zip(line, of, strict=True) if not moved_by and n not in CONSTANT]
    still = [(n, text) for n, text in untraced if n not in plain_forms(found)]
    assert not still
    assert len(untraced) < 0.1 * total  # nearly all move
    assert total > 250


def test_a_number_without_a_name_would_be_noticed(studies: Studies) -> None:
    found = findings_of(studies)

    def texts(record: Findings) -> list[str]:
        return [f"{record.night.waking_soc:.3f} and 73.21"]

    _, names = traced(found, texts)
    assert names == [[{"night.waking_soc"}, set()]]
    assert "73.21" not in plain_forms(found)


def test_each_name_has_one_value(studies: Studies) -> None:
    found = findings_of(studies)
    every = [".".join(map(str, path)) for path, _ in leaves(found)]
    assert len(every) == len(set(every)) == len(found.named())
    assert len(every) > 300


@EITHER
def test_findings_are_those_of_the_studies(which: str, request: pytest.FixtureRequest) -> None:
    s: Studies = request.getfixturevalue(which)
    found, row = findings_of(s), s.result.nights.iloc[s.which]
    assert found.night.waking_soc == row["waking_soc"]
    assert found.season.independent == int(s.nights.independent.table["covered"].sum())
    assert found.season.consecutive == int(s.nights.consecutive.table["covered"].sum())
    assert found.help is not None
    assert s.upgrades is not None
    if s.upgrades.best is not None:
        assert found.help.best is not None
        assert found.help.best.codes == (str(s.upgrades.best.name),)
    assert sum(cause.electric_wh for cause in found.energy.causes) == pytest.approx(found.energy.meter_wh, abs=1.0)
    assert found.van.usable_kwh == s.nights.design.usable_kwh
    if found.bank is not None and found.bank.least is not None:
        assert found.bank.least.units == int(s.sizing.table.iloc[0]["units"])  # type: ignore[union-attr]


def test_values_are_written_plainly(customer: Report, studies: Studies) -> None:
    values = json.loads(json.dumps(customer.numbers))
    assert values["night.waking_soc"] == studies.result.nights.iloc[0]["waking_soc"]
    assert values["night.date"] == "2001-07-15"


@pytest.mark.parametrize("made", ["customer", "customer_us"])
def test_numbers_in_pictures_words_are_those_of_the_report(made: str, request: pytest.FixtureRequest) -> None:
    """Alternative texts and headings of pictures are drawn from the studies; they say nothing else than the report."""
    told: Report = request.getfixturevalue(made)
    allowed = set(tokens(all_text(told))) | set(CONSTANT)
    extra = {"100"}  # a full bank, in percent
    for picture in pictures_of(told):
        for sheet in (picture.wide, picture.narrow):
            assert set(tokens(f"{sheet.finding} {picture.table.caption}")) <= allowed | extra


# --- inputs -----------------------------------------------------------------------------------------------------------


def leaf(scenario: Scenario, key: str) -> Any:
    node: Any = scenario
    for step in key.split("."):
        node = getattr(node, step, None)
    return node


def with_leaf(part: Any, path: list[str], value: Any) -> Any:
    below = value if len(path) == 1 else with_leaf(getattr(part, path[0]), path[1:], value)
    return part.model_copy(update={path[0]: below})


@pytest.mark.parametrize("system", ["si", "us"])
def test_every_plain_input_is_told_in_its_own_row(studies: Studies, system: str) -> None:
    found, scenario = findings_of(studies), load_scenario(default_scenario_path().parent / "shore-weekend.toml")

    def rows(asked: Scenario) -> list[tuple[str, ...]]:
        return [row for table in input_tables(asked, found, system) for row in table.rows]

    before, numeric = rows(scenario), 0
    for key in (key for keys in GROUPS.values() for key, _ in keys):
        value = leaf(scenario, key)
        if not isinstance(value, int | float) or isinstance(value, bool):
            continue
        other = value + 3 if isinstance(value, int) else value * 1.5 + 0.31
        after = rows(with_leaf(scenario, key.split("."), other))
        differ = [one for one, two in zip(before, after, strict=True) if one != two]
        numeric += 1
        assert len(differ) == 1, (key, differ)
    assert numeric > 70


NOT_TOLD = {"title", "note", "weather", "parts", "prices", "variants", "currency", "name", "price"}
WHOLE = ("cabin.faces", "cabin.windows", "occupants", "loads", "day", "cycle")


@pytest.mark.parametrize("name", ["desert-night", "coast-family", "kennel-day", "shore-weekend", "driving-week"])
def test_no_input_is_left_out(name: str) -> None:
    scenario = load_scenario(default_scenario_path().parent / f"{name}.toml")
    told = {key for keys in GROUPS.values() for key, _ in keys}
    left = [
        key
        for key in origins(scenario)
        if key not in told
        and not key.startswith(WHOLE)
        and key.rpartition(".")[2] not in NOT_TOLD
        and not key.startswith("variants")
        and leaf(scenario, key) is not None
    ]
    assert left == []


def test_inputs_say_where_they_came_from(customer: Report) -> None:
    sections = by_name(customer)
    rows = [row for block in sections["inputs"].blocks if hasattr(block, "rows") for row in block.rows]
    origins = {word for row in rows for word in row[-1].split("; ")}
    assert "given" in origins
    assert "default" in origins
    assert any(word.startswith("part: ") for word in origins)
    assert all(all(cell for cell in row) for row in rows)


# --- what is said -----------------------------------------------------------------------------------------------------


@pytest.mark.parametrize("made", ["customer", "customer_us"])
def test_nothing_that_a_customer_must_not_read(made: str, request: pytest.FixtureRequest) -> None:
    text = all_text(request.getfixturevalue(made))
    for pattern in (r"from memory", r"\.epw", r"\.toml", r"/work|/home|/tmp|\.\./|\\\\", r"\bnan\b|\binf\b|: None\b"):
        assert not re.search(pattern, text), pattern
    assert not re.search(r"r 0 h ft2|_w_k|_soc\b|\{|\}", text)
    assert not re.search(r"\bsafe(ly)? (to|alone|without)\b", text)
    assert "USD" not in text  # no price was given


def test_prices_stand_where_they_were_given() -> None:
    desert = load_scenario(default_scenario_path())
    prices = {"bank.unit.price": 400.0, "cooler.price": 2000.0, "alternator.price": 500.0, "solar.price": 300.0}
    studies = run_studies(vary(desert, {**prices, "currency": "EUR", "bank.parallel": 2}), season=SEASON)
    text = "\n".join(t for s in sections_of(studies, findings_of(studies), "si") for t in s.texts())
    assert re.search(r"\b\d+ EUR\b", text)


def test_the_answer_is_the_worse_reading_with_its_reason(studies: Studies) -> None:
    found = findings_of(studies)
    text = next(iter(tell(studies, date=DATE).sections)).blocks[0].text  # type: ignore[union-attr]
    facts = season_facts(found)
    assert facts.reason == studies.nights.reason
    assert f"All {found.season.nights} nights are covered" in text
    assert "engine or shore" in text


def test_a_bank_that_is_empty_before_bedtime_is_said_to_be(short_studies: Studies, customer_us: Report) -> None:
    assert findings_of(short_studies).night.empty_at is not None
    answer = by_name(customer_us)["answer"]
    text = " ".join(answer.texts())
    assert "before bedtime" in text
    assert "°F" in text


def test_a_plan_without_a_person_is_cautioned_at_the_top(customer_us: Report, customer: Report) -> None:
    first = by_name(customer_us)["answer"].blocks[0]
    assert first.manner == "caution"  # type: ignore[union-attr]
    assert first.text.startswith("CAUTION")  # type: ignore[union-attr]
    assert re.search(r"\d\d:\d\d", first.text)  # type: ignore[union-attr]
    assert "somebody who can act must stay with them" in first.text  # type: ignore[union-attr]
    assert by_name(customer)["answer"].blocks[0].manner == "lead"  # type: ignore[union-attr]


@pytest.mark.parametrize("made", ["customer", "customer_us"])
def test_the_report_warns_and_defers(made: str, request: pytest.FixtureRequest) -> None:
    text = all_text(request.getfixturevalue(made)).replace("\u00a0", " ")
    assert NEVER_ALONE in text
    for words in ("typical year", "Local codes", "licensed", "Not modelled", "no grace period", "Never leave a child"):
        assert words in text, words


def test_dogs_are_never_left(short_studies: Studies) -> None:
    line = next(line for line in cautions(short_studies.scenario) if line.startswith("Dogs overheat"))
    assert "must stay with them" in line
    assert "within reach" not in line


def test_every_change_says_what_it_needs() -> None:
    for path in default_scenario_path().parent.glob("*.toml"):
        for change in standard_changes(load_scenario(path)):
            assert change.code.replace("_", "-") in NEEDS


def test_changes_that_lose_nights_are_not_recommended(studies: Studies) -> None:
    found = findings_of(studies)
    assert found.help is not None
    assert found.help.best is None or not found.help.best.loses_nights
    assert found.help.pair is None or not found.help.pair.loses_nights
    assert all(codes_of(change)[0] in NEEDS for change in found.help.changes)


def test_pages_and_appendix_stand_in_their_order(customer: Report) -> None:
    names = [section.name for section in customer.sections]
    assert names[:7] == ["answer", "help", "know", "van", "season", "safety", "appendix"]
    assert [s.name for s in customer.sections if s.new_page] == ["van", "appendix"]
    assert {"night-figures", "nights", "changes", "bank", "modes", "energy", "recharging", "stopped"} <= set(names)
    assert names[-3:] == ["inputs", "sure", "glossary"]
    assert len(pictures_of(customer)) >= 11


def test_a_van_without_a_cooler_has_a_report() -> None:
    desert = load_scenario(default_scenario_path())
    bare = desert.model_copy(
        update={
            "cooler": None,
            "day": tuple(
                day.model_copy(update={"segment": tuple(s.model_copy(update={"cooling": "off"}) for s in day.segment)})
                for day in desert.day
            ),
        }
    )
    made = report(bare, season=SEASON, date=DATE)
    assert "fit a cooler" in " ".join(by_name(made)["help"].texts())
    assert made.pdf.startswith(b"%PDF-")


# --- words from outside -----------------------------------------------------------------------------------------------


def test_text_is_cleaned_of_what_cannot_be_set() -> None:
    assert clean("a\x00\x1b[31m\u202ec\ud800\ue000\tx") == "a[31mc x"
    assert clean("26\u00a0°C\nand more") == "26\u00a0°C\nand more"
    assert shortened("x" * 500) == "x" * 119 + "…"
    assert said("y" * 30).count("\u200b") == 29


def test_a_long_name_is_told_whole_in_the_appendix(studies: Studies) -> None:
    name = "Long " * 60
    made = tell(studies, name=name, date=DATE)
    assert made.heading.endswith("…")
    assert name.strip() in " ".join(by_name(made)["appendix"].texts())


# --- asking for one ---------------------------------------------------------------------------------------------------


def test_choices_that_cannot_be_made_are_named_at_once(studies: Studies, tmp_path: Any) -> None:
    (tmp_path / "logo.png").write_bytes(b"not an image")
    with pytest.raises(ScenarioError) as refused:
        report(studies.scenario, system="metric", paper="a3", date="tomorrow", logo=tmp_path / "logo.png")
    faults = " ".join(refused.value.faults)
    for words in ("allowed: si, us", "allowed: a4, letter", "YYYY-MM-DD", "PNG, JPEG"):
        assert words in faults
    assert len(refused.value.faults) == 4


def test_a_run_without_a_whole_night_is_refused_in_words(studies: Studies) -> None:
    with pytest.raises(ScenarioError, match=r"no whole night \(22:00 to 23:59\)"):
        run_studies(vary(studies.scenario, {"run.start": "23:00", "night.waking": "23:59"}))


def test_paper_goes_by_units_where_it_is_left_out(studies: Studies, customer: Report, customer_us: Report) -> None:
    assert (customer.paper, customer_us.paper) == ("a4", "letter")
    assert tell(studies, system="us", paper="a4").paper == "a4"
    assert customer.date == datetime.date(2026, 7, 1)


def test_the_command_writes_page_paper_and_values(tmp_path: Any) -> None:
    out = tmp_path / "out"
    asked = [
        "report", str(default_scenario_path()), "--out", str(out), "--for", NAME, "--season", SEASON,
        "--paper", "letter",
        "--sender", "Example Vans", "--address", "1 Example Road; Exampletown",
    ]  # fmt: skip
    done = CliRunner().invoke(app, asked)
    assert done.exit_code == 0, done.output
    assert {path.name for path in out.iterdir()} == {"report.html", "report.pdf", "report.json"}
    assert "Exampletown" in (out / "report.html").read_text(encoding="utf-8")
    assert json.loads((out / "report.json").read_text(encoding="utf-8"))["occasion.bedtime"] == "22:00"


def test_the_command_refuses_a_size_that_does_not_exist(tmp_path: Any) -> None:
    done = CliRunner().invoke(app, ["report", "--paper", "a3", "--out", str(tmp_path / "out")])
    assert done.exit_code == 2
    assert "allowed: a4, letter" in done.output
    assert not (tmp_path / "out").exists()
