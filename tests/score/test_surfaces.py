"""Walls in lines and the good side of pieces, as a plan is examined, remembered and told.

Expected values: closed forms on a shell that is open below, and the hood's own dimensions.
"""

import json
from dataclasses import replace

import numpy as np
import pytest

from splitplanner.demo_parts import DEMO_PARTS
from splitplanner.examining import Examiner
from splitplanner.findings import Severity
from splitplanner.output import scorecard_csv, scorecard_json
from splitplanner.output.tables import scorecard_text
from splitplanner.plan import WHOLE, Cut, PartFile, Plan, with_up
from splitplanner.score import Surfaces, good_sides, surfaces, thick_enough_for
from splitplanner.solid import Plane, ReadPart, Solid
from splitplanner.workshop import Bed, Printer

X, DOWN = (1.0, 0.0, 0.0), (0.0, 0.0, -1.0)


def examined(solid, printer, *cuts, directions=None):
    """An examiner, and what it says of a plan for a solid."""
    examiner = Examiner(ReadPart(solid, "mm", (), len(solid.faces)))
    plan = Plan(PartFile("s.stl", "mm", solid.fingerprint), printer, cuts, directions or {})
    return examiner, examiner.examine(plan, "s", completing=directions is None)


@pytest.fixture(scope="module")
def shell():
    """A shell of 120 x 80 x 60 mm, 2.4 mm thick, open below, printed as it stands in one piece."""
    inner = Solid.box((115.2, 75.2, 57.6), (2.4, 2.4, 0.0))
    solid = Solid.box((120.0, 80.0, 60.0)).difference(inner)
    return examined(solid, Printer(nozzle=0.4, line_width=0.45), directions={WHOLE: (0, 0, 1.0)})


def test_walls_of_the_part_are_told_in_one_note(shell):
    _, result = shell
    (note,) = (each for each in result.findings if each.kind.startswith("walls."))
    assert note.severity is Severity.NOTE
    # 2.4 mm are 5.33 lines of 0.45 mm, 5 of 0.48 mm, and 4 of 0.6 mm, which is further away.
    assert "5.3 lines" in note.message
    assert "print lines of 0.48 mm" in note.message
    assert "2.25 mm thick" in note.message
    assert result.walls.best_off == 0.0
    assert result.walls.off == 1.0
    assert len(note.where) == 20


def test_thin_walls_are_a_warning():
    sheet = Solid.box((60, 40, 3)).union(Solid.box((60, 0.3, 25), (0, 20, 2)))
    found = Surfaces().walls(sheet, Printer()).findings
    assert [each.severity for each in found if each.kind == "walls.thin"] == [Severity.WARNING]


def test_whole_walls_are_nothing_to_tell_of(shell):
    examiner, result = shell
    fitting = replace(result.plan, printer=replace(result.plan.printer, line_width=0.6))
    again = examiner.examine(fitting, "s")
    assert not [each for each in again.findings if each.kind.startswith("walls.")]
    assert again.walls.off == 0.0


def test_the_good_side_has_what_hangs_and_what_lies_on_the_bed(shell):
    # The ceiling inside hangs but is not seen; turned over, the top lies on the bed.
    examiner, result = shell
    (standing,) = result.good_sides
    assert (standing.supports, standing.seam, standing.crossings) == (0.0, 0.0, 0.0)
    turned = examiner.examine(with_up(result.plan, WHOLE, DOWN), "s")
    (lying,) = turned.good_sides
    assert lying.contact == pytest.approx(120.0 * 80.0)
    assert lying.supports == 0.0
    # The same as of the whole plan at once.
    (alone,) = good_sides(turned.card.figures)
    assert alone == lying


def test_seams_that_are_seen_count_for_both_pieces():
    # A bar across which a cut goes: its outline is seen but for the side that it stands on.
    bar = Solid.box((200.0, 30.0, 20.0))
    printer = Printer(bed=Bed.rectangle(120.0, 120.0, 120.0))
    _, result = examined(bar, printer, Cut(Plane(X, 100.0), WHOLE))
    seen = sum(seam.figures.seen_length for seam in result.card.figures.seams)
    assert seen >= 2 * 20.0 + 30.0 - 1e-6
    assert [each.seam for each in result.good_sides] == pytest.approx([seen, seen])
    assert [each.name for each in result.good_sides] == ["1", "2"]


def test_both_are_measured_once_for_a_part_and_a_piece(shell, monkeypatch):
    examiner, result = shell
    calls = []
    monkeypatch.setattr(surfaces, "thickness", lambda *_, **__: calls.append("walls"))
    monkeypatch.setattr(surfaces, "good_side_figures", lambda *_: calls.append("good side"))
    again = examiner.examine(result.plan, "s")
    assert calls == []
    assert again.walls == result.walls or again.walls.off == result.walls.off
    assert again.good_sides == result.good_sides


def test_another_line_width_needs_no_new_rays(shell, monkeypatch):
    examiner, result = shell
    monkeypatch.setattr(surfaces, "thickness", lambda *_, **__: pytest.fail("measured again"))
    wider = replace(result.plan.printer, nozzle=0.6, line_width=0.8)
    assert examiner.surfaces.walls(examiner.source.solid, wider).off == 0.0


def test_coarse_printers_are_measured_far_enough():
    # 8 lines on either side of 1.5 mm, and two more.
    assert thick_enough_for(Printer(nozzle=1.0, line_width=1.2, wall_lines=8)) == 18 * 1.5
    assert thick_enough_for(Printer()) == 20.0


# -- told ---------------------------------------------------------------------------------------
def test_scorecard_tells_walls_and_good_side(shell):
    examiner, result = shell
    turned = examiner.examine(with_up(result.plan, WHOLE, DOWN), "s")
    text = scorecard_text(turned)
    assert "On the good side, as each piece prints" in text
    assert "Walls of the part, in printed lines of 0.45 mm" in text
    assert "5, off" in text
    assert "100.0 % of all wall area is off by more than 0.045 mm; with lines of 0.48 mm" in text
    record = json.loads(scorecard_json(turned))
    (piece,) = record["pieces"]
    assert piece["good_side_on_bed"] == pytest.approx(9600.0)
    assert piece["good_side_held"] == piece["good_side_seam"] == 0.0
    walls = record["walls"]
    assert (walls["line_width"], walls["best_line_width"]) == (0.45, pytest.approx(0.48))
    assert (walls["off"], walls["off_at_best"]) == (1.0, 0.0)
    assert sum(walls["histogram"]["areas"]) == pytest.approx(walls["area"])
    assert walls["thicknesses"][0]["model_instead"] == pytest.approx(2.25)
    rows = scorecard_csv(turned).splitlines()
    assert "walls,,off,1.0," in rows
    assert "piece,1,good_side_on_bed,9600.0,mm2" in rows


# -- the hood -----------------------------------------------------------------------------------
def test_pieces_of_the_hood_have_hardly_any_wall_off_at_the_best_line_width():
    """Less than 2 % of the wall area of each piece, with its pins and flanges, is off."""
    hood = DEMO_PARTS["rain_hood"].make(60_000)
    printer = Printer(bed=Bed.rectangle(256.0, 256.0, 256.0))
    cuts = Cut(Plane(X, -72.0), WHOLE), Cut(Plane(X, 117.5), "2")
    examiner, result = examined(hood, printer, *cuts)
    assert result.is_sound
    assert result.walls.off > 0.9
    # Walls of 2.4 mm and frames of 3.0 mm are 4 and 5 lines.
    assert result.walls.best_line_width == pytest.approx(0.6, abs=0.005)
    # Points by area tell the same as those on every face.
    whole = examiner.surfaces.wall_lines(hood, printer).in_short
    assert result.walls.off == pytest.approx(whole.off, abs=0.005)
    assert result.walls.best_off == pytest.approx(whole.best_off, abs=0.005)
    assert [each.thickness for each in result.walls.walls[:2]] == pytest.approx(
        [each.thickness for each in whole.walls[:2]], rel=1e-3
    )
    chosen = replace(printer, line_width=round(result.walls.best_line_width, 2))
    for row in result.card.figures.pieces:
        found = examiner.surfaces.wall_lines(row.piece.solid, chosen)
        assert found.off < 0.02
        shown = np.isfinite(found.face_gaps)
        areas = row.piece.solid.face_areas
        assert areas[shown & found.face_off].sum() < 0.02 * areas[shown].sum()
