"""A printer's factors from one print that is known, by hand calculation, and what is refused."""

import json

import pytest

from splitplanner.output import save_stl
from splitplanner.score import known_print, spent_on
from splitplanner.solid import Solid
from splitplanner.workshop import Material, read_printer
from tests.planned import BOX, box, run, save
from tests.test_command_line import assert_one_sentence

# All at 1 mm³/s, and nothing lost; so a block takes as many seconds as it has mm³, twice.
SIMPLE = """flow_limit = 1.0
least_layer_seconds = 0
layer_change_seconds = 0
outer_speed = 100
inner_speed = 100
time_factor = 2.0
infill = 1.0
[bed]
kind = "rectangle"
width = 99
depth = 99
height = 99
"""


@pytest.fixture
def bench(tmp_path, monkeypatch):
    """A folder with a block of 30 x 20 x 10 mm, a printer and a material of 1.25 g/cm³."""
    monkeypatch.chdir(tmp_path)
    save(box((30, 20, 10)), tmp_path / "block.stl")
    (tmp_path / "own.toml").write_text(SIMPLE, encoding="utf-8")
    (tmp_path / "petg.toml").write_text("density = 1.25\nprice = 24\n", encoding="utf-8")
    return tmp_path


def refused(outcome, code):
    assert outcome.exit_code == code
    assert outcome.stdout == ""
    assert_one_sentence(outcome.stderr)


def test_both_factors_by_hand(bench):
    # 6000 mm³ at 1 mm³/s take 1.667 h and weigh 7.5 g.
    outcome = run("calibrate", "block.stl", "--hours", "2.5", "--grams", "8.25", "--printer",
                  "own.toml", "--material", "petg.toml", "--json", "--quiet")  # fmt: skip
    assert outcome.exit_code == 0, outcome.stderr
    record = json.loads(outcome.stdout)
    assert record["time"] == {
        "unit": "h",
        "worked_out": pytest.approx(6000 / 3600, abs=1e-3),
        "known": 2.5,
        "factor_before": 2.0,
        "factor": pytest.approx(1.5, rel=1e-3),
    }
    assert record["mass"]["worked_out"] == pytest.approx(7.5, rel=1e-3)
    assert record["mass"]["factor"] == pytest.approx(1.1, rel=1e-3)
    printer = read_printer(bench / "own.toml")
    assert (printer.time_factor, printer.mass_factor) == pytest.approx((1.5, 1.1), rel=1e-3)
    assert printer.bed.width == 99
    # Worked out with these, the print takes what it took.
    made = known_print(Solid.box((30, 20, 10)), (0, 0, 1), printer)
    spent = spent_on(made, Material("petg", 1.25), printer)
    assert (spent.hours, spent.grams) == pytest.approx((2.5, 8.25), rel=1e-3)


def test_what_is_not_said_stays_as_it_is(bench):
    outcome = run("calibrate", "block.stl", "--hours", "2.5", "--printer", "own.toml", "--quiet")
    assert outcome.exit_code == 0, outcome.stderr
    (row,) = (line for line in outcome.stdout.splitlines() if line.startswith("time"))
    assert row.split() == ["time", "1.67", "h", "2.5", "h", "2", "1.5"]
    assert outcome.stdout.endswith("Written to own.toml.\n")
    text = (bench / "own.toml").read_text(encoding="utf-8")
    assert "mass_factor" not in text
    assert text.count("time_factor = 1.5") == 1


def test_the_way_up_and_supports_count(bench):
    # A table: a plate of 30 x 20 x 2 mm on a leg of 4 x 20 x 8 mm, with 26 x 20 x 8 mm below.
    table = Solid.box((30, 20, 2), (0, 0, 8)).union(Solid.box((4, 20, 8.5)))
    save_stl(table, bench / "table.stl")
    factors = []
    for more in ([], ["--no-support"], ["--up", "-z"]):
        (bench / "own.toml").write_text("support_infill = 1.0\n" + SIMPLE, encoding="utf-8")
        outcome = run("calibrate", "table.stl", "--hours", "2.0", "--printer", "own.toml",
                      "--json", "--quiet", *more)  # fmt: skip
        assert outcome.exit_code == 0, outcome.stderr
        factors.append(json.loads(outcome.stdout)["time"]["worked_out"] * 3600)
    alone = 30 * 20 * 2 + 4 * 20 * 8
    assert factors == pytest.approx([alone + 26 * 20 * 8, alone, alone], rel=0.02)


@pytest.mark.parametrize(
    ("arguments", "words"),
    [
        ([], "Say what the print took: --hours, --grams or both."),
        (["--hours", "0"], "The hours of a print are above 0, got 0."),
        (["--hours", "nan"], "The hours of a print are above 0, got nan."),
        (["--grams", "-2", "--material", "petg.toml"], "The grams of a print are above 0, got -2."),
        (["--grams", "20"], "without the density of its material; add --material FILE"),
        (["--hours", "90"], "took 90 h, but without a factor it should take 1.67 h"),
    ],
)
def test_what_says_nothing_is_refused_and_the_file_left(bench, arguments, words):
    outcome = run("calibrate", "block.stl", "--printer", "own.toml", "--quiet", *arguments)
    refused(outcome, 6)
    assert words in " ".join(outcome.stderr.split())
    assert (bench / "own.toml").read_text(encoding="utf-8") == SIMPLE


def test_files_that_are_not_there(bench):
    outcome = run("calibrate", "block.stl", "--hours", "1", "--printer", "none.toml", "--quiet")
    refused(outcome, 6)
    outcome = run("calibrate", "none.stl", "--hours", "1", "--printer", "own.toml", "--quiet")
    refused(outcome, 3)


# -- the started spool ------------------------------------------------------------------------
def test_a_started_spool_is_told_of_in_the_scorecard(bench):
    save(box(BOX), bench / "box.stl")
    planning = ["plan", "box.stl", "--bed", "220x220x250", "--no-pictures", "--quiet"]
    outcome = run(*planning, "--out", "out", "--material", "petg.toml", "--spool-left", "300",
                  "--json")  # fmt: skip
    assert outcome.exit_code == 0, outcome.stderr
    record = json.loads(outcome.stdout)
    printing = record["printing"]
    assert (printing["material"], printing["spool_left"]) == ("petg", 300)
    mass = sum(piece["filament_mass"] for piece in record["pieces"])
    assert printing["filament_mass"] == pytest.approx(mass, abs=0.01)
    assert printing["filament_cost"] == pytest.approx(mass * 0.024, abs=0.01)
    assert printing["new_spools"] == -int(-(mass - 300) // 1000)
    assert "filament.spools" in [each["kind"] for each in record["findings"]]
    kept = json.loads((bench / "out" / "scorecard.json").read_text(encoding="utf-8"))
    assert kept["printing"] == printing
    outcome = run("check", "out/plan.json", "--spool-left", "50000", "--quiet")
    assert "The started spool is enough" in outcome.stdout
    for left, more, words in (
        ("-1", ["--material", "petg.toml"], "must be 0 g or above"),
        ("20", [], "says nothing without a material"),
    ):
        outcome = run(*planning, "--out", "new", "--spool-left", left, *more)
        refused(outcome, 6)
        assert words in outcome.stderr
        assert not (bench / "new").exists()
