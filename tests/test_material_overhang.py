"""A material with an overhang limit of its own: it counts instead of the printer's, everywhere."""

import json
from dataclasses import replace

import numpy as np
import pytest

from splitplanner.background.overlays import overlay
from splitplanner.commands.printer_options import material_of
from splitplanner.examining import Examiner
from splitplanner.job import check_plan, plan_part, write
from splitplanner.joint import with_room_to_shrink
from splitplanner.output import save_stl, scorecard_record, scorecard_text
from splitplanner.output.print_sheet import print_sheet_text
from splitplanner.plan import Cut, PartFile, Plan
from splitplanner.progress import silent
from splitplanner.solid import Plane, ReadPart, Solid
from splitplanner.workshop import Bed, Material, Printer, overhang_words, printing_with
from tests.planned import run

LEAN, HIGH, WIDE = 50.0, 30.0, 40.0
OUT = HIGH * np.tan(np.radians(LEAN))
"""How far the leaning side of the wedge reaches out, mm."""
PETG = Material("PETG", 1.27)
REACHES = replace(PETG, overhang_limit=65.0)
PRINTER = Printer()


def wedge():
    """A block on the bed, one side of which leans out by 50° from vertical."""
    profile = [(0.0, 0.0), (30.0, 0.0), (30.0 + OUT, HIGH), (0.0, HIGH)]
    return Solid.hull_of([(x, y, z) for x, z in profile for y in (0.0, WIDE)])


def examined(material, printer=PRINTER):
    part = wedge()
    plan = Plan(PartFile("w.stl", "mm", part.fingerprint), printer, material=material)
    return Examiner(ReadPart(part, "mm", (), len(part.faces))).examine(plan, "wedge")


@pytest.mark.parametrize(
    ("material", "needs"), [(None, True), (PETG, True), (REACHES, False)]
)  # fmt: skip
def test_a_wedge_needs_support_where_neither_printer_nor_material_reaches_its_lean(material, needs):
    result = examined(material)
    (row,) = result.card.figures.pieces
    # Of a plane leaning by a from vertical: its length is h / cos(a); below it is a triangle.
    area, below = WIDE * HIGH / np.cos(np.radians(LEAN)), WIDE * HIGH * OUT / 2
    assert row.overhang.area == pytest.approx(area if needs else 0.0, rel=1e-6)
    assert row.support.volume == pytest.approx(below if needs else 0.0, rel=1e-3, abs=1e-6)
    # What the user said of his printer stays in the plan.
    assert result.plan.printer == PRINTER
    text = print_sheet_text(result)
    assert ("columns" in text) == needs


def test_a_material_may_reach_less_than_the_printer():
    printer = replace(PRINTER, overhang_limit=60.0)
    (row,) = examined(replace(PETG, overhang_limit=40.0), printer).card.figures.pieces
    assert row.support.volume > 0.0
    (row,) = examined(PETG, printer).card.figures.pieces
    assert row.support.volume == 0.0


def test_the_printer_is_another_one_only_in_its_limit():
    assert printing_with(PRINTER, None) is PRINTER
    assert printing_with(PRINTER, PETG) is PRINTER
    used = printing_with(PRINTER, REACHES)
    assert used.overhang_limit == 65.0
    assert replace(used, overhang_limit=45.0) == PRINTER
    assert with_room_to_shrink(used, REACHES) == used


def test_it_is_said_which_limit_counts():
    assert overhang_words(PRINTER, PETG).endswith("beyond 45° from vertical, the printer's limit.")
    said = "beyond 65° from vertical, the limit of PETG; the printer's of 45° does not count."
    assert overhang_words(PRINTER, REACHES).endswith(said)
    result = examined(REACHES)
    assert said in " ".join(scorecard_text(result).split())
    assert scorecard_record(result)["overhang_limit"] == 65.0
    seen = np.ones(len(result.source.solid.faces), dtype=bool)
    for material, faces in ((PETG, 2), (REACHES, 0)):
        plan = replace(result.plan, material=material)
        shown = overlay("overhang", result.made, plan, seen, result.source.solid, silent)
        assert sum(values.sum() for values in shown.values.values()) == faces
        assert shown.words == overhang_words(PRINTER, material)


def test_flanges_slope_as_the_material_reaches():
    # A channel with walls of 2 mm, which hold pins on flanges alone; printed standing on its end.
    part = Solid.box((200.0, 60.0, 50.0)).difference(
        Solid.box((204.0, 56.0, 48.0), (-2.0, 2.0, 0.0))
    )
    cut = Cut(Plane((1.0, 0.0, 0.0), 100.0))
    found = []
    for material in (PETG, REACHES):
        plan = Plan(
            PartFile("c.stl", "mm", part.fingerprint), PRINTER, (cut,),
            {"1": (1.0, 0.0, 0.0), "2": (-1.0, 0.0, 0.0)}, material=material,
        )  # fmt: skip
        examiner = Examiner(ReadPart(part, "mm", (), len(part.faces)))
        result = examiner.examine(plan, "c", completing=True)
        (joint,) = result.plan.joints
        found.append((joint.flange, result))
    (usual, _), (flat, result) = found
    assert (usual.slope_below, usual.slope_above) == (45.0, 45.0)
    assert (flat.slope_below, flat.slope_above) == (65.0, 65.0)
    # The flatter one has less below it, and still prints without support.
    volumes = [sum(row.volume for row in each.card.figures.pieces) for _, each in found]
    assert volumes[1] < volumes[0]
    assert sum(row.support.volume for row in result.card.figures.pieces) == 0.0
    assert result.is_sound


def test_the_search_plans_with_it_and_the_file_keeps_both(tmp_path):
    model = tmp_path / "wedge.stl"
    save_stl(wedge(), model)
    printer = replace(PRINTER, bed=Bed.parse("60x60x60"))
    result = plan_part(model, printer, material=REACHES)
    assert result.suggestion.proposals[0].draft.card.figures.printer.overhang_limit == 65.0
    assert result.card.figures.printer.overhang_limit == 65.0
    write(result, tmp_path / "out", model, pictures=False)
    kept = json.loads((tmp_path / "out" / "plan.json").read_text(encoding="utf-8"))
    assert kept["printer"]["overhang_limit"] == 45.0
    assert kept["material"]["overhang_limit"] == 65.0
    again = check_plan(tmp_path / "out" / "plan.json")
    assert again.card.total == pytest.approx(result.card.total, rel=1e-9)


def test_a_limit_that_is_asked_for_counts_instead_of_both(tmp_path):
    file = tmp_path / "petg.toml"
    file.write_text("density = 1.27\noverhang_limit = 65\n", "utf-8")
    assert material_of(file).overhang_limit == 65.0
    assert material_of(file, 50.0).overhang_limit is None
    model = tmp_path / "wedge.stl"
    save_stl(wedge(), model)
    options = ["--bed", "120x120x120", "--material", file, "--no-pictures", "--json", "--quiet"]
    for asked, limit in (((), 65.0), (("--overhang", 55), 55.0)):
        outcome = run("plan", model, "--out", tmp_path / f"out-{limit:g}", *options, *asked)
        assert outcome.exit_code == 0
        assert json.loads(outcome.stdout)["overhang_limit"] == limit
