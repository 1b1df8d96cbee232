"""The command that describes a van: by options, by questions, and never over a file that is there."""

import pytest
from typer.testing import CliRunner

import vansim
from tests.support.screens import call, prose
from vansim.cli import app
from vansim.cli.new import ask
from vansim.scenario.questions import GROUPS


class Typist:
    """Types lines at prompts and remembers the screen."""

    def __init__(self, **answers):
        self.answers, self.screen = {key: list(lines) for key, lines in answers.items()}, []

    def read(self, prompt):
        self.screen.append(prompt)
        lines = self.answers.get(prompt.strip().split(" [")[0].replace(" ", "_"), [])
        return lines.pop(0) if lines else ""

    def write(self, line):
        self.screen.append(line)


def test_options_alone_write_a_file_that_check_accepts(tmp_path):
    path = tmp_path / "my.toml"
    done = call("new", path, "--length", "6.9", "--foam", "25mm", "--eco", "65A", "--bank", "600Ah")
    assert done.exit_code == 0, done.output
    assert "--solar" in done.stdout
    assert "--eco" not in done.stdout
    van = vansim.load_scenario(path)
    assert van.cabin.length_m == 6.9
    assert van.cabin.faces["roof"].layers[1].thickness_mm == 25.0
    assert call("check", path).exit_code == 0
    again = call("new", path)
    assert again.exit_code == 2
    assert "--overwrite" in again.stderr
    assert call("new", path, "--overwrite", "--length", "5").exit_code == 0
    assert vansim.load_scenario(path).cabin.length_m == 5.0


def test_without_a_terminal_nothing_is_asked_and_the_scenario_is_printed():
    import tomllib

    done = call("new")
    assert done.exit_code == 0
    assert vansim.load_scenario(tomllib.loads(done.stdout)) == vansim.describe_van()


def test_ten_questions_with_default_range_and_help():
    typist = Typist(length=["?", "60 m", "22 ft"], walls=["1 in foam"], eco=["65 A"])
    assert ask(typist.read, typist.write) == {"length_m": "22 ft", "walls": "1 in foam", "eco_a": "65 A"}
    screen = "\n".join(typist.screen)
    for number, heading in enumerate(GROUPS, 1):
        assert f"{number} of 10: {heading}" in screen
    assert "length [6 m]" in screen
    assert "bumper to bumper" in screen
    assert "Allowed: 3.5 to 12 m." in screen
    assert "out of range (you wrote '60 m'); allowed: 3.5 to 12 m" in screen


def test_what_does_not_fit_what_was_said_before_is_asked_again():
    """A label that no cooler has, panels that the roof does not hold: said at once, not after the last question."""
    typist = Typist(eco=["65 A"], boost=["60 A", "95 A"], capacity=["9 kW", "3 kW"], solar=["2900 W"])
    found = ask(typist.read, typist.write)
    assert (found["boost_a"], found["capacity_w"]) == ("95 A", "3 kW")
    assert "solar_w" not in found
    screen = "\n".join(typist.screen)
    assert "eco draws the lesser" in screen
    assert "do not fit on a roof" in screen


@pytest.mark.parametrize("typed", ["", "long\n2.1\n"])
def test_questions_that_end_early_take_the_rest_by_default(tmp_path, typed):
    path = tmp_path / "my.toml"
    done = CliRunner().invoke(app, ["new", str(path), "--ask"], input=typed)
    assert done.exit_code == 0, done.output
    assert vansim.load_scenario(path).cabin.width_m == (2.1 if typed else 2.05)


def test_all_faults_at_once_and_nothing_written(tmp_path):
    path = tmp_path / "my.toml"
    done = call("new", path, "--length", "lang", "--colour", "whit", "--eco", "65 W")
    assert done.exit_code == 2
    assert sorted(line.split(":")[0] for line in done.stderr.splitlines()) == ["colour", "eco", "length"]
    assert not list(tmp_path.iterdir())


def test_help_names_every_answer_without_heavy_imports():
    text = prose(call("new", "--help").stdout)
    for word in ("--length", "--label-cabin", "--foam", "bumper to bumper", "--overwrite"):
        assert word in text


ANSWERS = {
    "--length": "7 m", "--width": "2 m", "--height": "low", "--walls": "25 mm xps", "--roof": "1 in foam",
    "--floor": "none", "--glazing": "cab", "--covers": "none", "--colour": "black", "--people": "1", "--dogs": "9 kg",
    "--volts": "24", "--eco": "40", "--boost": "80", "--capacity": "2.4 kW", "--bank": "500", "--batteries": "1",
    "--chemistry": "agm", "--idle": "0", "--road": "90", "--solar": "0", "--shore": "30", "--fan": "none",
    "--weather": "coast", "--date": "08-01", "--bedtime": "21:30", "--waking": "06:00", "--setpoint": "75 degF",
    "--limit": "27", "--shade": "50%", "--title": "Ours", "--label-outdoor": "30", "--label-cabin": "27",
    "--foam": "25mm", "--wool": "30mm",
}  # fmt: skip


@pytest.mark.parametrize("option", ANSWERS)
def test_every_option_changes_the_scenario(option):
    without, given = call("new"), call("new", option, ANSWERS[option])
    assert given.exit_code == 0, given.output
    assert given.stdout != without.stdout


def test_every_answer_has_its_option():
    from vansim.cli.new import _option
    from vansim.scenario.questions import WORDS

    assert {_option(key) for key in WORDS} | {"--foam", "--wool"} == set(ANSWERS)
