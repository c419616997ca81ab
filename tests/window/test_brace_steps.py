"""The steps that bolt braces on, in the table of the assembly and in the view, by hand on a bar."""

import numpy as np
import pytest
from PySide6.QtCore import QLocale

from splitplanner.background.examined import MadeBrace
from splitplanner.joint import find_order
from splitplanner.joint.brace.bolts import BraceBolt
from splitplanner.joint.brace.first_hole import FirstHole
from splitplanner.plan import Cut, PartFile, Plan, divide
from splitplanner.solid import Plane, Solid
from splitplanner.window.lists.assembly_table import AssemblyTable
from splitplanner.window.lists.brace_step_rows import brace_step_rows
from splitplanner.window.lists.step_rows import order_said, step_rows
from splitplanner.window.quantities import Quantities
from splitplanner.window.view.steps import ShownStep, step_bodies, step_lines
from splitplanner.workshop import Printer

C = QLocale(QLocale.Language.C)
UP = (0.0, 0.0, 1.0)
ORIGIN = (0.0, 0.0, 0.0)


def bolt(piece, x):
    return BraceBolt(
        piece=piece, at=(x, 10.0, 26.0), axis=(0.0, 1.0, 0.0), station=x, standard="ISO 4762",
        size="M4", length=16.0, hold="nut", brace_hole=4.5, hole=4.5, depth=8.0,
    )  # fmt: skip


@pytest.fixture(scope="module")
def steps():
    """Return a bar cut in two with a strip on top: its plan, its division and the rows."""
    plan = Plan(PartFile("bar.stl", "mm", "f"), Printer(), (Cut(Plane((1.0, 0.0, 0.0), 100.0)),))
    division = divide(Solid.box((200.0, 20.0, 20.0), ORIGIN), plan.cuts)
    strip = Solid.box((160.0, 4.0, 12.0), (20.0, 8.0, 20.0))
    one, other = (piece.name for piece in division.pieces)
    brace = MadeBrace("left", strip, UP, (bolt(one, 30.0), bolt(one, 80.0), bolt(other, 170.0)),
                      FirstHole((-1.0, 0.0, 0.0), 30.0))  # fmt: skip
    order = find_order(division, {})
    rows = step_rows(order, division, plan, None, {})
    return plan, division, order, (*rows, *brace_step_rows([brace], len(rows), division, None))


def test_a_brace_is_bolted_on_after_all_pieces_are_together(steps, qtbot):
    _, division, order, rows = steps
    made = AssemblyTable()
    qtbot.addWidget(made)
    made.set_quantities(Quantities("mm", C))
    made.show_steps(rows, (), order_said(order, len(division.pieces), 1))
    assert len(rows) == 2
    # The key of an M4 is 3 mm by ISO 4762, and its nut 7 mm across flats by ISO 4032.
    assert made.table.rows_model.text_of(1).split("\t") == [
        "2", "none", "brace left", "1 + 2", "↓ down", "−z", "lies on its bosses", "–",
        "3 × M4 × 16", "hex key 3 mm, spanner 7 mm",
    ]  # fmt: skip
    made.go_to(2)
    assert made.words == (
        "Step 2: push brace left ↓ down into its place and bolt it to pieces 1 and 2; tighten "
        "3 × M4 × 16 with nuts (hex key 3 mm, spanner 7 mm). The left end of its drawing goes "
        "towards −x, its first hole 30.0 mm from that end of the part."
    )


def test_the_view_shows_the_brace_off_the_whole_part(steps):
    plan, division, _, rows = steps
    shown = ShownStep(rows[1].step, rows[1].way, rows[1].brace)
    bodies = step_bodies(shown, division, dict.fromkeys(division.by_name, "#000000"), 1.0)
    assert [body.name for body in bodies] == [*division.by_name, "brace left"]
    assert not any(np.any(body.shift) for body in bodies[:-1])
    assert bodies[-1].shift[:2] == (0.0, 0.0)
    assert bodies[-1].shift[2] > 0.0
    outline, *arrows = step_lines(shown, division, plan, 1.0)
    # It may lie inside the part, so that it is outlined where it is drawn.
    assert not outline.has_head
    assert np.allclose(outline.points.min(axis=0), np.add((20, 10, 20), bodies[-1].shift))
    # One for each bolt, from where the strip is to where it goes.
    assert [arrow.points[1][0] for arrow in arrows] == [30.0, 80.0, 170.0]
    assert all(arrow.has_head and arrow.points[0][2] > arrow.points[1][2] for arrow in arrows)
    assert step_lines(shown, division, plan, 0.0) == []


def test_a_part_in_one_piece_may_still_get_braces(steps):
    order = steps[2]
    whole = type(order)(())
    assert order_said(whole, 1, 1) == ""
    assert "one piece" in order_said(whole, 1)
