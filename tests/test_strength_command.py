"""Load cases from a file to figures on the terminal; a tube on two supports by hand."""

import csv
import json
import re

import numpy as np
import pytest
import trimesh
from rich.console import Group

from splitplanner.background.cells_told import CellsTold, WayInCells
from splitplanner.commands.cells_tables import cells_blocks, cells_record
from splitplanner.job import check_plan
from splitplanner.loaded.cells_values import BraceInCells, SeamInCells
from splitplanner.output import plain_text, save_stl
from splitplanner.plan import load_plan
from splitplanner.solid import Solid
from splitplanner.strength import CAUTIONS
from tests.planned import BED, run, save
from tests.test_command_line import assert_one_sentence

MODULUS = (80 * 60**3 - 72 * 52**3) / 6 / 60
"""Of the tube's section, mm³: (b h³ - b' h'³) / 6 h (closed form)."""
LOADS = """
[loads.bent]
axis = "x"
supports = [{ station = 0 }, { station = 400 }]
forces = [{ station = 200, force = [0, 0, -100] }]
"""


@pytest.fixture(scope="module")
def planned(tmp_path_factory):
    """A tube of 400 x 80 x 60 mm with walls of 4 mm, screwed together, loaded in its middle."""
    place = tmp_path_factory.mktemp("tube")
    model = place / "tube.stl"
    hollow = Solid.box((402.0, 72.0, 52.0), (-1.0, 4.0, 4.0))
    save_stl(Solid.box((400.0, 80.0, 60.0), (0.0, 0.0, 0.0)).difference(hollow), model)
    (place / "loads.toml").write_text(LOADS, encoding="utf-8")
    outcome = run(
        "plan", model, "--bed", BED, "--loads", place / "loads.toml", "--screws", "insert",
        "--out", place / "out", "--no-pictures", "--json",
    )  # fmt: skip
    assert outcome.exit_code == 0, outcome.stderr
    return place, json.loads(outcome.stdout)


def test_the_plan_keeps_the_loads_and_puts_the_seam_where_the_tube_is_bent_little(planned):
    place, record = planned
    plan = load_plan(place / "out" / "plan.json")
    assert [loading.name for loading in plan.loadings] == ["bent"]
    (cut,) = plan.cuts
    # The moment rises evenly to the middle, F x / 2 (statics), and a piece is as high as the bed is
    # at most.
    assert abs(cut.plane.offset - 200.0) > 40.0
    term = next(t for t in record["score"]["terms"] if t["criterion"] == "strength lost at seams")
    assert term["weight"] > 0.0


def test_figures_are_those_of_a_beam_by_hand(planned):
    strength = planned[1]["strength"]
    (load,) = strength["loads"]
    # F L / 4 over b h² / 6 (statics; Gere and Goodno, Mechanics of Materials).
    assert load["largest_stress"] == pytest.approx(100 * 400 / 4 / MODULUS, rel=1e-3)
    assert [way["way"] for way in load["ways"]] == ["open", "fastened"]
    assert load["ways"][0]["ratio"] == 0.0
    ((seam,), (seam_open,)) = (way["seams"] for way in reversed(load["ways"]))
    nearer = min(seam["station"], 400.0 - seam["station"])
    assert seam["stress"] == pytest.approx(100 / 2 * nearer / MODULUS, rel=1e-3)
    assert 0.0 < seam["ratio"] <= 1.0
    assert seam["ratio"] == pytest.approx(
        min(1.0, seam["weakest"]["factor"] / load["uncut"]["factor"]), rel=1e-4
    )
    assert seam_open["weakest"]["factor"] == 0.0
    # No material was named.
    assert strength["generic"]


def test_the_csv_has_what_every_way_holds(planned):
    place, record = planned
    text = (place / "out" / "scorecard.csv").read_text("utf-8")
    rows = [row for row in csv.reader(text.splitlines()) if row[0] == "load case"]
    told = {row[2]: row[3] for row in rows}
    assert {row[1] for row in rows} == {"bent"}
    (load,) = record["strength"]["loads"]
    assert float(told["uncut_holds"]) == load["uncut"]["factor"]
    assert float(told["fastened_of_uncut"]) == load["ways"][1]["ratio"]
    assert float(told["open_holds"]) == 0.0
    # The tube begins in the origin: its stations are offsets and count from its low end alike.
    assert load["low_end"] == 0.0
    assert record["strength"]["cautions"] == list(CAUTIONS)


def test_the_command_shows_the_same_and_the_cautions(planned):
    place, record = planned
    outcome = run("strength", place / "out" / "plan.json")
    assert outcome.exit_code == 0, outcome.stderr
    plain = re.sub(r"\s+", " ", outcome.stdout)
    assert "Strength, load case “bent” Held at 0 mm, held at 400 mm; 100 N at 200 mm." in plain
    ratio = record["strength"]["loads"][0]["ways"][-1]["ratio"]
    assert f"Holds {100 * ratio:.0f} % of what the uncut part holds" in plain
    assert "They are no proof of safety" in plain
    assert "The strength of the material is not known" in plain
    assert "has not been computed" not in (place / "out" / "scorecard.txt").read_text("utf-8")
    as_json = run("strength", place / "out" / "plan.json", "--json")
    assert json.loads(as_json.stdout) == record["strength"]


def test_usual_loads_stand_for_a_file(planned):
    outcome = run("strength", planned[0] / "out" / "plan.json", "--loads", "usual", "--json")
    assert outcome.exit_code == 0, outcome.stderr
    loads = json.loads(outcome.stdout)["loads"]
    assert len(loads) >= 2
    assert any(load["impact"] for load in loads)


def test_cells_are_told_beside_the_part_in_one(planned):
    # Figures of our own: what is looked at is what becomes of them.
    plan = planned[0] / "out" / "plan.json"
    result = check_plan(plan)
    nothing = np.zeros(3)
    seam = SeamInCells(
        "S1", nothing, nothing, 1.0, 2.0, 3.0, 4.0, 0.25, 0.5, np.array([10.0, 75.5]),
        np.zeros((2, 3)), np.zeros((0, 3)), 0.0,
    )  # fmt: skip
    brace = BraceInCells("left", 5.0, 6.0, 42.0, 130.0, np.zeros((1, 3)))
    ways = (
        WayInCells("glued", 1.0, 0.04, (0.01, 0.02)),
        WayInCells("fastened", 0.63, 0.18, (0.5, 1.25), "1", (seam,), (brace,)),
    )
    loading = result.plan.loadings[0]
    told = CellsTold(loading, 1.0, ways, ("Held by nothing: it falls.",), (), 1.0, "Near enough.")
    text = plain_text(Group(*cells_blocks(told, result)))
    assert re.search(r"printed in one +100 % +0\.04 +1 % +2 % +- +- +- +-\n", text)
    row = r"pins and screws +63 % +0\.18 +50 % +125 % +1 +0\.25 S1 +76 S1 +42\n"
    assert re.search(row, text)
    assert "Held by nothing: it falls." in text
    assert "Near enough." in text
    record = json.loads(json.dumps(cells_record(told), allow_nan=False))
    assert record["ways"][1]["seams"][0]["screws"] == [10.0, 75.5]
    assert record["ways"][1]["braces"][0]["brace"] == "left"


def test_an_unknown_case_is_told_before_anything_is_worked_out_by_cells(planned):
    outcome = run("strength", planned[0] / "out" / "plan.json", "--cells", "falls", "--quiet")
    assert outcome.exit_code == 6
    assert_one_sentence(outcome.stderr, "There is no load case “falls”; there are bent.")


def test_a_plan_without_loads_says_how_to_give_some(planned, tmp_path):
    model = save(trimesh.creation.box((30.0, 20.0, 10.0)), tmp_path / "small.stl")
    made = run("plan", model, "--bed", BED, "--out", tmp_path / "out", "--no-pictures", "--quiet")
    assert made.exit_code == 0, made.stderr
    outcome = run("strength", tmp_path / "out" / "plan.json", "--quiet")
    assert outcome.exit_code == 6
    assert_one_sentence(outcome.stderr, "has no load case: give some with --loads FILE")
    far = planned[0] / "loads.toml"
    outcome = run("strength", tmp_path / "out" / "plan.json", "--loads", far, "--quiet")
    assert outcome.exit_code == 6
    assert_one_sentence(
        outcome.stderr, "the station 400 mm is beside the part, which is 30.0 mm long"
    )


@pytest.mark.parametrize("text", ["500", "500x", "0x100", "axb", "500x100+", "1.2.3x4"])
def test_a_wrong_sheet_is_told_with_an_example(planned, text):
    outcome = run("check", planned[0] / "out" / "plan.json", "--sheet", text, "--quiet")
    assert outcome.exit_code == 6
    assert_one_sentence(outcome.stderr, f"“{text}” is no size of a sheet", "such as 500x250+10")


def test_a_sheet_says_whether_braces_fit_in_mm(planned):
    place = planned[0]
    (place / "braces.toml").write_text(
        "[braces.top]\nalong = [1, 0, 0]\ntowards = [0, 0, 1]\noffset = -40.0\nlow = 30.0\n"
        "high = 370.0\ndepth = 20.0\nstock = 4.0\n",
        encoding="utf-8",
    )
    plan = place / "out" / "plan.json"
    braced = ["check", plan, "--braces", place / "braces.toml", "--quiet", "--json"]

    def told(size):
        outcome = run(*braced, "--sheet", size)
        assert outcome.exit_code in (0, 1), outcome.stderr
        found = json.loads(outcome.stdout)["findings"]
        return [each["message"] for each in found if each["kind"].startswith("brace.stock")]

    # The strip is 340 mm long and lies on a sheet 60 mm longer, less two margins of 10 mm.
    (fits,) = told("400x100+10")
    assert "40" in fits
    assert "spare" in fits
    (missing,) = told("300x30+0")
    assert "missing" in missing
    without = run("check", plan, "--sheet", "400x100", "--quiet")
    assert without.exit_code == 6
    assert_one_sentence(without.stderr, "There is no brace to be cut from the sheet")


def test_a_plan_of_own_hardware_is_checked_by_it(planned, tmp_path):
    place = planned[0]
    (tmp_path / "inserts.csv").write_text(
        "name,size,hole_diameter,length,outer_diameter,least_wall,source\n"
        "own insert,M4,5.6,6,6.3,3.0,data sheet\n",
        encoding="utf-8",
    )
    own = ["--hardware", tmp_path, "--quiet"]
    made = run(
        "plan", place / "tube.stl", "--bed", BED, "--loads", place / "loads.toml", "--screws",
        "insert", "--screw-size", "M4", "--out", tmp_path / "out", "--no-pictures", *own,
    )  # fmt: skip
    assert made.exit_code == 0, made.stderr
    plan = tmp_path / "out" / "plan.json"
    assert run("check", plan, *own).exit_code == 0
    by_own, by_built_in = (run("strength", plan, *each).stdout for each in (own, ["--quiet"]))
    scorecard = (tmp_path / "out" / "scorecard.txt").read_text("utf-8")
    # The same table as on paper; what is not on the shelf is told below it.
    table = by_own[: by_own.index("What goes with")].strip()
    assert table in scorecard
    assert "no heat-set insert of size M4" not in by_own
    assert "no heat-set insert of size M4 on the hardware shelf" in " ".join(by_built_in.split())
    assert run("check", plan, "--quiet").exit_code == 1
