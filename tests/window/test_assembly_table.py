"""The order of assembly as a table, and each step in the view.

Expected values: by hand on blocks; keys by ISO 4762 and nuts by ISO 4032; how far pieces go by the
volumes that they share on their way, as manifold3d has them.
"""

import gc
import math
import weakref
from dataclasses import replace

import numpy as np
import pytest
import shapely
from PySide6.QtCore import QLocale, Qt
from PySide6.QtGui import QGuiApplication
from PySide6.QtTest import QTest

from splitplanner.findings import Finding, Severity
from splitplanner.joint import Assembly, find_order
from splitplanner.plan import (
    Cut,
    Division,
    Joint,
    PartFile,
    Piece,
    Pin,
    Plan,
    Seam,
    direction_words,
    divide,
)
from splitplanner.solid import Plane, Section, Solid
from splitplanner.window.lists import assembly_table
from splitplanner.window.lists.assembly_table import AssemblyTable
from splitplanner.window.lists.step_rows import order_said, step_rows, way_in
from splitplanner.window.lists.way_words import way_arrow, way_brief, way_words
from splitplanner.window.quantities import Quantities
from splitplanner.workshop import Printer
from tests.window import boxes
from tests.window.hands import Keyboard, Mouse
from tests.window.joints import held

X, Y, Z = (1.0, 0.0, 0.0), (0.0, 1.0, 0.0), (0.0, 0.0, 1.0)
C = QLocale(QLocale.Language.C)
PART = PartFile("part.stl", "mm", "f")
HALF = math.sqrt(0.5)


def pinned(seam, length=10.0):
    at = tuple(seam.section.centroid)
    pin = Pin(at, seam.plane.normal, "ISO 8734", 3.0, length, 3.2, length / 2 + 0.5, 4.0)
    return Joint(seam.name, (pin,))


def rows_of(division, joints):
    """Return the order of a division and its rows."""
    order = find_order(division, {joint.seam: joint for joint in joints})
    plan = Plan(PART, Printer(), joints=tuple(joints))
    return order, step_rows(order, division, plan, None, {})


def crossing():
    """Return four blocks of one of 100 x 80 x 40 mm, by two cuts, with a pin in each seam."""
    division = divide(Solid.box((100, 80, 40)), [Cut(Plane(X, 50.0)), Cut(Plane(Y, 30.0))])
    return division, [pinned(seam) for seam in division.seams]


def ring():
    """Return a ring of 20 to 40 mm in three; its seams close along three directions."""
    whole = Solid.cylinder((0, 0, 0), (0, 0, 15), 40, 48)
    whole = whole.difference(Solid.cylinder((0, 0, -1), (0, 0, 16), 20, 48))
    pieces, seams = [], []
    for at in range(3):
        turn = 2 * np.pi * at / 3
        fan = np.linspace(turn, turn + 2 * np.pi / 3, 13)
        wedge = [(0, 0), *(100 * np.column_stack([np.cos(fan), np.sin(fan)])).tolist()]
        solid = whole.intersection(Solid.prism(shapely.Polygon(wedge), Plane(Z, 0.0), -1, 16))
        pieces.append(Piece(f"P{at + 1}", at + 1, solid))
        plane = Plane((-math.sin(turn), math.cos(turn), 0.0), 0.0)
        corners = [
            (r * math.cos(turn), r * math.sin(turn), z)
            for r, z in ((20, 0), (40, 0), (40, 15), (20, 15))
        ]
        section = Section(plane, (shapely.Polygon(plane.to_plane(corners)),))
        seams.append(Seam(f"S{at + 1}", at, f"P{at or 3}", f"P{at + 1}", section))
    return Division(whole, tuple(pieces), tuple(seams))


# -- directions ---------------------------------------------------------------------------------
@pytest.mark.parametrize(
    ("way", "arrow", "words"),
    [
        (X, "→", "to the right"),
        ((-1.0, 0.0, 0.0), "←", "to the left"),
        (Y, "⊗", "to the back"),
        ((0.0, -1.0, 0.0), "⊙", "to the front"),
        (Z, "↑", "up"),
        ((0.0, 0.0, -1.0), "↓", "down"),
        ((HALF, 0.0, -HALF), "↘", "to the right and down"),
        ((0.6, 0.8, 0.0), "⊗", "to the back and to the right"),
        # 5° off an axis is still that axis.
        ((-0.087, 0.0, 0.996), "↑", "up"),
        ((0.48, 0.6, 0.64), "↗", "up, to the back and to the right"),
    ],
)
def test_a_direction_as_arrow_and_in_words(way, arrow, words):
    assert (way_arrow(way), way_words(way)) == (arrow, words)


def test_a_direction_in_few_words():
    assert [way_brief(way) for way in (X, Z, (HALF, 0.0, -HALF), (0.48, 0.6, 0.64))] == [
        "to the right", "up", "right and down", "up, back and right",
    ]  # fmt: skip


# -- how far ------------------------------------------------------------------------------------
def shared(standing, moving, way, back):
    """Return the volume that two solids share when one is drawn back against its way."""
    matrix = np.hstack([np.eye(3), (-back * np.array(way))[:, None]])
    return standing.intersection(moving.transformed(matrix)).volume


def tongue():
    """Return a block with a tongue 5 mm high in a groove of another, which lies on it."""
    below = Solid.box((40, 30, 10)).union(Solid.box((40, 6, 5), (0, 12, 10)))
    above = Solid.box((40, 30, 15), (0, 0, 10)).difference(
        Solid.box((42, 6.4, 5.2), (-1, 11.8, 10))
    )
    return below, above


def corner():
    """Return a block in the inner corner of an L, which it meets in two seams."""
    ell = Solid.box((60, 20, 60)).difference(Solid.box((40, 22, 40), (20, -1, 20)))
    return ell, Solid.box((40, 20, 40), (20, 0, 20))


LEANING = tuple((np.array([1.0, 0.0, 1.0]) * HALF).tolist())


def leaning():
    """Return a block cut at 45°: the boxes round its pieces overlap far."""
    below, above = Solid.box((100, 30, 40)).split(Plane(LEANING, 60.0))
    return below, above


@pytest.mark.parametrize(
    ("pair", "way", "closing", "expected"),
    [
        # Down onto the tongue: as far as it stands up.
        (tongue, (0.0, 0.0, -1.0), [(Z, 5.0)], 5.0),
        # Along the tongue: all its length.
        (tongue, X, [(Z, 5.0)], 40.0),
        # Into the corner across: both seams open at once. Down into it: along 40 mm of wall.
        (corner, (-HALF, 0.0, -HALF), [(X, 0.0), (Z, 0.0)], 0.0),
        (corner, (0.0, 0.0, -1.0), [(X, 0.0), (Z, 0.0)], 40.0),
        (leaning, tuple(-each for each in LEANING), [(LEANING, 0.0)], 0.0),
        # Straight down on a seam that leans by 45°, with a register: by its height times √2.
        (leaning, (0.0, 0.0, -1.0), [(LEANING, 3.0)], 3.0 / HALF),
        # Along the seam, at which they lie apart.
        (leaning, Y, [(LEANING, 0.0)], 0.0),
    ],
)
def test_how_far_pieces_go_against_volumes_on_the_way(pair, way, closing, expected):
    standing, moving = pair()
    far = way_in([standing], [moving], way, closing)
    assert far == pytest.approx(expected, abs=1e-6)
    # From further back nothing is in the way.
    for back in far + np.geomspace(1e-3, 200.0, 12):
        assert shared(standing, moving, way, back) < 1e-6
    if pair is not leaning and far:
        # A little nearer the one is inside the form of the other: no plane is between them.
        hulls = [Solid.hull_of(each.vertices) for each in (standing, moving)]
        assert shared(*hulls, way, 0.99 * far) > 0.0


def test_pins_that_stand_out_are_slid_over():
    division, joints = crossing()
    long = replace(joints[0].pins[0], length=16.0)
    _, rows = rows_of(division, [replace(joints[0], pins=(long,)), *joints[1:]])
    # Of a pin of 16 mm half stands out, of the others 5 mm.
    by_seam = {row.step.seams: row.way for row in rows}
    assert {8.0} == {way for seams, way in by_seam.items() if joints[0].seam in seams}
    assert {5.0} == {way for seams, way in by_seam.items() if joints[0].seam not in seams}
    # A dowel that is put in later, across the way, guides nothing.
    across = [replace(j, pins=tuple(replace(p, axis=Z) for p in j.pins)) for j in joints]
    order, _ = rows_of(division, joints)
    plan = Plan(PART, Printer(), joints=tuple(across))
    assert {row.way for row in step_rows(order, division, plan, None, {})} == {0.0}


# -- rows ---------------------------------------------------------------------------------------
def test_the_steps_of_four_blocks():
    division, joints = crossing()
    order, rows = rows_of(division, joints)
    assert [row.number for row in rows] == [1, 2, 3]
    numbers = {piece.name: piece.number for piece in division.pieces}
    for row, step in zip(rows, order.steps, strict=True):
        assert row.moving == tuple(sorted(numbers[name] for name in step.moving))
        assert row.standing == tuple(sorted(numbers[name] for name in step.standing))
        assert len(row.joint.pins) == len(step.seams)
    # The two short blocks go onto the long ones along y, then the halves along x.
    assert [len(row.joint.pins) for row in rows] == [1, 1, 2]
    assert [direction_words(row.step.direction) for row in rows[:2]] == ["+y", "+y"]
    assert direction_words(rows[2].step.direction)[1] == "x"
    assert order_said(order, len(division.pieces)) == ""


def test_screws_are_tightened_by_the_keys_of_their_standards():
    division, joint = boxes.division(), held()
    (row,) = rows_of(division, [joint])[1]
    # ISO 4762: an M3 screw has a hexagon of 2.5 mm. Its nut is in a pocket and holds itself.
    assert row.tools == "hex key 2.5 mm"
    assert len(row.joint.screws) == len(joint.screws) == 2
    assert row.tapes == (joint.tape,)
    # ISO 4032: a nut M3 that lies open is held by 5.5 mm; ISO 4762: M4 has a hexagon of 3 mm.
    open_nut = replace(joint.screws[0], nut_room=0.0)
    larger = replace(joint.screws[1], size="M4")
    (row,) = rows_of(division, [replace(joint, screws=(open_nut, larger))])[1]
    assert row.tools == "hex key 2.5 and 3 mm, spanner 5.5 mm"
    # What the shelf does not have is told elsewhere.
    odd = replace(joint.screws[1], standard="none such")
    assert rows_of(division, [replace(joint, screws=(odd,))])[1][0].tools == ""


def test_what_conflicts_is_counted_at_its_step_and_said_as_a_whole():
    division = ring()
    order, rows = rows_of(division, [pinned(seam) for seam in division.seams])
    assert not order.is_possible
    assert "proposed below" in order_said(order, 3)
    counted = {name: row.findings for row in rows for name in row.step.seams}
    assert counted[order.findings[0].subject] == 1
    assert {row.worst for row in rows if row.findings} == {Severity.FAULT}


@pytest.mark.parametrize(
    ("order", "pieces", "words"),
    [
        (Assembly(()), 1, "in one piece"),
        (Assembly(()), 2, "No seam joins"),
        (Assembly((), (Finding("assembly.conflict", Severity.FAULT, "…"),)), 3, "cannot be put"),
    ],
)
def test_why_there_are_no_steps(order, pieces, words):
    assert words in order_said(order, pieces)
    assert order_said(order, pieces).count(".") == 1


# -- the table ----------------------------------------------------------------------------------
@pytest.fixture
def table(qtbot):
    division, joints = crossing()
    order, rows = rows_of(division, joints)
    made = AssemblyTable()
    qtbot.addWidget(made)
    made.set_quantities(Quantities("mm", C))
    made.resize(420, 600)
    made.shown = []
    made.step_shown.connect(lambda row: made.shown.append(row and row.number))
    made.show_steps(rows, order.findings)
    made.show()
    QTest.qWaitForWindowExposed(made)
    return made


def click(table, row):
    place = table.table.visualRect(table.table.rows_model.index(row, 1)).center()
    QTest.mouseClick(
        table.table.viewport(), Qt.MouseButton.LeftButton, Qt.KeyboardModifier.NoModifier, place
    )


def test_a_step_is_chosen_by_mouse_keys_slider_and_buttons(qtbot, table):
    click(table, 1)
    assert table.slider.value() == 2
    qtbot.keyClick(table.table, Qt.Key.Key_Down)
    qtbot.keyClick(table.table, Qt.Key.Key_Escape)
    assert (table.chosen, table.slider.value(), table.words) == (None, 0, "")
    table.slider.setFocus()
    qtbot.keyClick(table.slider, Qt.Key.Key_Right)
    qtbot.keyClick(table.slider, Qt.Key.Key_End)
    qtbot.mouseClick(table.back, Qt.MouseButton.LeftButton)
    assert table.chosen.number == 2
    qtbot.mouseClick(table.on, Qt.MouseButton.LeftButton)
    assert not table.on.isEnabled()
    qtbot.keyClick(table.slider, Qt.Key.Key_Home)
    assert not table.back.isEnabled()
    assert table.shown == [2, 3, None, 1, 3, 2, 3, None]


def test_the_chosen_step_is_said_in_words(table):
    click(table, 2)
    row = table.chosen
    one, other = row.moving, row.standing
    way = "→ to the right" if row.step.direction[0] > 0 else "← to the left"
    assert table.words == (
        f"Step 3: push pieces {one[0]} and {one[1]} {way}"
        f" onto pieces {other[0]} and {other[1]}, the last 5.0 mm straight; this closes seams "
        f"{row.step.seams[0]} and {row.step.seams[1]} on 2 pins."
    )
    table.set_quantities(Quantities("inch", C))
    # 5 mm are 0.197 inches.
    assert "the last 0.20 in straight" in table.words


def test_a_step_is_copied_with_tabs_between_its_figures(qtbot, table):
    click(table, 0)
    qtbot.keyClick(table.table, Qt.Key.Key_C, Qt.KeyboardModifier.ControlModifier)
    row = table.chosen
    assert QGuiApplication.clipboard().text().split("\t") == [
        "1", "none", str(row.moving[0]), str(row.standing[0]), "⊗ to the back", "+y", "last 5.0 mm",
        f"{row.step.seams[0]} on 1 pin", "–", "",
    ]  # fmt: skip


def test_screws_and_tape_follow_in_order(qtbot):
    made = AssemblyTable()
    qtbot.addWidget(made)
    made.set_quantities(Quantities("mm", C))
    order, rows = rows_of(boxes.division(), [held()])
    made.show_steps(rows, order.findings)
    made.go_to(1)
    pins = len(held().pins)
    assert made.words.endswith(
        f"closes seam S1 on {pins} pins. Then tighten 1 × M3 × 12 with nuts, 1 × M3 × 12 in inserts"
        " (hex key 2.5 mm) and lay 2 plies of glass, 30 × 400 mm."
    )
    cells = made.table.rows_model.text_of(0).split("\t")
    assert cells[-3:] == [f"S1 on {pins} pins", "2 × M3 × 12, then tape", "hex key 2.5 mm"]


def test_a_step_is_shown_only_while_the_table_is_in_front(table):
    click(table, 1)
    table.hide()
    assert table.shown == [2, None]
    assert table.chosen.number == 2
    table.show()
    assert table.shown == [2, None, 2]


def test_steps_of_the_plan_before_stay_and_are_not_shown(table):
    click(table, 1)
    rows = table.table.rows_model.rows
    table.show_waiting()
    assert table.said == assembly_table.STALE
    assert table.table.rows_model.rows == rows
    click(table, 0)
    assert table.shown == [2, None]
    table.show_steps(rows)
    assert table.shown == [2, None, 1]
    # With fewer steps there may be none left that was chosen.
    click(table, 2)
    table.show_steps(rows[:2])
    assert table.shown[-1] is None
    assert table.slider.maximum() == 2


def test_what_is_wrong_is_listed_with_the_proposal_and_shown(qtbot, table):
    division = ring()
    order, rows = rows_of(division, [pinned(seam) for seam in division.seams])
    assert not table.findings.isVisible()
    table.show_steps(rows, order.findings, order_said(order, 3))
    assert table.findings.isVisible()
    told = []
    table.finding_chosen.connect(told.append)
    table.findings.setFocus()
    place = table.findings.visualRect(table.findings_model.index(0)).center()
    qtbot.mouseClick(table.findings.viewport(), Qt.MouseButton.LeftButton, pos=place)
    assert told == [order.findings[0]]
    qtbot.keyClick(table.findings, Qt.Key.Key_C, Qt.KeyboardModifier.ControlModifier)
    text = QGuiApplication.clipboard().text()
    assert text.startswith("Fault: Seams S1, S2 and S3 close along different directions")
    assert "loose dowels" in text
    assert "turn the holes" in text


def test_nothing_to_show_is_one_sentence(qtbot):
    made = AssemblyTable()
    qtbot.addWidget(made)
    made.show()
    assert made.said == assembly_table.NO_PART
    made.show_waiting()
    assert made.said == assembly_table.WAITING
    assert not any(each.isVisible() for each in (made.table, made.slider, made.findings))


def test_nothing_is_left_behind(qapp):
    division, joints = crossing()
    order, rows = rows_of(division, joints)
    made = AssemblyTable()
    made.show_steps(rows, order.findings)
    made.go_to(1)
    gone = weakref.ref(made)
    del made
    gc.collect()
    assert gone() is None


# -- in the window ------------------------------------------------------------------------------
@pytest.fixture(scope="module")
def plan(desk, model):
    """Two cuts of the part that is open."""
    desk.begin(model)
    for _ in range(2):
        desk.window.commands["add"].trigger()
        desk.settle()
    return desk.session.plan


@pytest.fixture
def cut(desk, plan):
    """With two cuts, and the table in front."""
    desk.window.tools.spread.setValue(0)
    desk.window.right.setCurrentIndex(tab(desk, "Assembly"))
    desk.drawn()
    yield desk
    desk.window.assembly.leave()
    desk.window.right.setCurrentIndex(0)
    if desk.session.plan != plan:
        desk.session.apply("as before", plan)
        desk.settle()


def tab(desk, title):
    bar = desk.window.right.tabBar()
    return next(at for at in range(bar.count()) if bar.tabText(at) == title)


def steps(desk):
    return desk.session.examined.order.steps


def bodies(desk):
    return {body.name: body for body in desk.view._bodies}


def test_a_step_in_the_view_is_what_stands_and_what_moves(cut):
    window, before = cut.window, cut.view.turntable
    assert len(bodies(cut)) == 3
    assert len(steps(cut)) == 2
    click(window.assembly, 0)
    first = steps(cut)[0]
    shown = bodies(cut)
    # Two pieces; the third comes later.
    assert set(shown) == {*first.moving, *first.standing}
    assert len(shown) == 2
    (moving,), (standing,) = first.moving, first.standing
    assert shown[standing].shift == (0.0, 0.0, 0.0)
    away = np.array(shown[moving].shift)
    assert away / np.linalg.norm(away) == pytest.approx(-np.array(first.direction))
    # What stands in for heavy pieces while the view moves is as far apart.
    assert {each.shift for each in cut.view._maker._stand_ins} == {
        body.shift for body in shown.values()
    }
    # Clear of all pins, whose halves stand out.
    pins = [pin for name in first.seams for pin in cut.session.plan.joint(name).pins]
    assert np.linalg.norm(away) > max(pin.length / 2 for pin in pins)
    assert not cut.view.planes
    (arrow,) = [line for line in cut.view._outlines if line.has_head]
    (seam,) = [each for each in cut.session.division.seams if each.name in first.seams]
    middle = seam.section.centroid
    assert arrow.points == pytest.approx(np.array([middle + away, middle]))
    numbers = {str(cut.session.division.piece(name).number) for name in shown}
    assert {mark.text for mark in cut.view._marks} == {*numbers, seam.name}
    QTest.keyClick(window.assembly.table, Qt.Key.Key_Down)
    assert len(bodies(cut)) == 3
    QTest.keyClick(window.assembly.table, Qt.Key.Key_Escape)
    assert all(body.shift == (0.0, 0.0, 0.0) for body in bodies(cut).values())
    assert len(cut.view.planes) == 2
    assert cut.view.turntable == before


def test_what_moves_is_pushed_in_by_the_slider_of_the_view(cut):
    window, slider = cut.window, cut.window.tools.spread
    slider.setValue(4)
    apart = {name: body.shift for name, body in bodies(cut).items()}
    click(window.assembly, 0)
    first, most = steps(cut)[0], slider.value()
    assert most > 4
    far = abs(np.array(bodies(cut)[first.moving[0]].shift)).max()
    slider.setFocus()
    QTest.keyClick(slider, Qt.Key.Key_Left)
    near = abs(np.array(bodies(cut)[first.moving[0]].shift)).max()
    assert near / far == pytest.approx((most - 1) / most)
    assert bodies(cut)[first.standing[0]].shift == (0.0, 0.0, 0.0)
    # By the command's keys as well; together there is no arrow.
    for _ in range(most):
        QTest.keyClick(window.assembly.table, Qt.Key.Key_Comma, Qt.KeyboardModifier.ControlModifier)
    assert bodies(cut)[first.moving[0]].shift == (0.0, 0.0, 0.0)
    assert not any(line.has_head for line in cut.view._outlines)
    # The whole part is as far apart as it was.
    window.assembly.leave()
    assert slider.value() == 4
    assert {name: body.shift for name, body in bodies(cut).items()} == apart
    slider.setValue(0)


def test_going_to_another_list_and_back(cut):
    window, mouse = cut.window, Mouse()
    click(window.assembly, 0)
    bar = window.right.tabBar()
    mouse.click(bar, bar.tabRect(0).center())
    assert len(bodies(cut)) == 3
    assert len(cut.view.planes) == 2
    mouse.click(bar, bar.tabRect(tab(cut, "Assembly")).center())
    assert len(bodies(cut)) == 2


def test_the_bed_comes_back_when_the_step_is_left(cut):
    window = cut.window
    window.tools.on_bed.setChecked(True)
    assert len(bodies(cut)) == 1
    click(window.assembly, 0)
    assert not window.tools.on_bed.isChecked()
    assert len(bodies(cut)) == 2
    window.assembly.leave()
    assert window.tools.on_bed.isChecked()
    assert len(bodies(cut)) == 1
    window.tools.on_bed.setChecked(False)


def test_the_steps_are_gone_through_with_keys_alone(cut):
    keys, window = Keyboard(), cut.window
    window.right.tabBar().setFocus()
    keys.tab_to(window.assembly.table)
    keys.press(Qt.Key.Key_Down)
    assert window.assembly.chosen.number == 1
    keys.tab_to(window.assembly.slider)
    keys.press(Qt.Key.Key_Right)
    assert window.assembly.chosen.number == 2
    assert len(bodies(cut)) == 3
    keys.press(Qt.Key.Key_Home)
    assert window.assembly.chosen is None


def test_the_table_follows_the_plan_and_undo(cut):
    window = cut.window
    click(window.assembly, 1)
    labels = cut.session.document.undo_labels
    window.commands["undo"].trigger()
    # One cut is known already; its only step is the first one.
    cut.settle()
    assert len(window.assembly.table.rows_model.rows) == 1
    assert window.assembly.chosen is None
    click(window.assembly, 0)
    window.seams.emptied.emit("S1")
    assert window.assembly.said == assembly_table.STALE
    assert window.tools.spread.value() == 0
    cut.settle()
    assert window.assembly.chosen.number == 1
    assert "on" not in window.assembly.table.rows_model.text_of(0).split("\t")[-3]
    assert len(bodies(cut)) == 2
    # What is looked at is no step of the document.
    window.commands["undo"].trigger()
    cut.settle()
    window.commands["undo"].trigger()
    cut.settle()
    assert window.assembly.said == "The part is in one piece, so there is nothing to put together."
    for _ in range(2):
        window.commands["redo"].trigger()
    assert cut.session.document.undo_labels[-1:] == labels[-1:]


def test_a_plan_that_cannot_be_cut_says_so(cut):
    plan = cut.session.plan
    cut.session.apply("off the part", replace(plan, cuts=(Cut(Plane(X, 9999.0), "1"),)))
    cut.until(lambda: cut.session.fault is not None)
    assert cut.window.assembly.said == assembly_table.NOT_CUT
    cut.window.commands["undo"].trigger()
    cut.settle()
    assert len(cut.window.assembly.table.rows_model.rows) == 2


def test_the_window_closes_on_a_step(desk, model):
    # The last one here: with this window, so that no other one has to be opened.
    desk.begin(model)
    desk.window.commands["add"].trigger()
    desk.settle()
    desk.window.right.setCurrentIndex(tab(desk, "Assembly"))
    click(desk.window.assembly, 0)
    assert len(bodies(desk)) == 2
    # What is wrong in a handler fails the test by itself.
    desk.close()
    QTest.qWait(50)
    assert not desk.faults
