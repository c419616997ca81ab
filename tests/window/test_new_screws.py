"""Screws set by hand in the plan of a seam, by keys and mouse; once by the examiner's process."""

from dataclasses import replace
from functools import cache

import numpy as np
import pytest
from PySide6.QtCore import QLocale, QPoint, QPointF, Qt
from PySide6.QtGui import QContextMenuEvent
from PySide6.QtTest import QTest
from PySide6.QtWidgets import QApplication, QPushButton

from splitplanner.background import Order
from splitplanner.errors import HelperError, JointError
from splitplanner.joint import Maker, join
from splitplanner.plan import Cut, Document, Fastening, Joint, PartFile, Plan, divide
from splitplanner.score import Wishes, measure
from splitplanner.solid import Plane, ReadPart
from splitplanner.window.choices import Choices
from splitplanner.window.jobs import Job
from splitplanner.window.links.seams_link import SeamsLink
from splitplanner.window.lists.seams_table import SeamsTable
from splitplanner.window.quantities import Quantities
from splitplanner.window.session import Session
from splitplanner.workshop import Printer, hardware_shelf
from tests.joint.flanged import channel

SHIFT, CONTROL = Qt.KeyboardModifier.ShiftModifier, Qt.KeyboardModifier.ControlModifier
LEFT, NONE = Qt.MouseButton.LeftButton, Qt.KeyboardModifier.NoModifier
CUTS = (Cut(Plane((0.0, 0.0, 1.0), 0.0)),)


@cache
def known():
    """Return a U cut across with pins, screws with nuts, and a flange; its figures and its plan."""
    part, hidden = channel(length=160.0)
    division = divide(part, CUTS)
    ups = {piece.name: (0.0, 0.0, 1.0) for piece in division.pieces}
    part_file = PartFile("u.stl", "mm", part.fingerprint)
    plan = Plan(part_file, Printer(), CUTS, ups, fastening=Fastening(screws="nut"))
    (joint,), _ = join(division, plan, seen=~hidden, maker=Maker())
    figures = measure(division, ups, Printer(), ~hidden)
    return division, figures, plan.with_joints((replace(joint, screws=joint.screws[:3]),))


class Desk:
    """The table of seams on a plan that nobody examines."""

    def __init__(self, qtbot, monkeypatch):
        self.session = Session()
        division, figures, plan = known()
        self.session.document = Document(Choices(plan, Wishes(), {}))
        self.session.division, self.session.figures = division, figures
        self.session.source = ReadPart(division.part, "mm", (), 0)
        self.said, self.faults, self.asked = [], [], []
        self.session.said.connect(self.said.append)
        self.session.failed.connect(self.faults.append)
        self.really_ask = self.session.jobs.ask
        monkeypatch.setattr(self.session.jobs, "ask", self.ask)
        self.seams = SeamsTable()
        qtbot.addWidget(self.seams)
        self.link = SeamsLink(self.session, self.seams)
        self.session.document.changed.connect(self.show)
        self.show()
        self.seams.set_quantities(Quantities("mm", QLocale(QLocale.Language.C)))
        self.seams.resize(460, 800)
        self.seams.show()
        self.seams.choose("S1")
        self.canvas = self.seams.plan.canvas
        self.canvas.setFocus()

    def show(self, *_):
        self.link.show({})

    def ask(self, desk, task, *given, answered, failed, stopped, title=""):
        """Take an order, and leave it to the test when and how it is answered."""
        job = Job(title, desk, Order(task, given), stopped)
        self.asked.append((task, given, answered, failed, job))
        return job

    def answer(self, what, number=-1):
        _, _, answered, failed, _ = self.asked.pop(number)
        (failed if isinstance(what, Exception) else answered)(what)

    @property
    def joint(self):
        return self.session.plan.joint("S1")

    @property
    def count(self):
        return len(self.joint.pins)

    @property
    def undo_label(self):
        return self.session.document.undo_label

    def at(self, u, v):
        return self.canvas.scale.to_screen(u, v).toPoint()


@pytest.fixture
def desk(qtbot, monkeypatch):
    made = Desk(qtbot, monkeypatch)
    yield made
    made.session.close()


def beside(screw, away=1.0):
    """Return a screw a little beside one, as the examiner would find it."""
    return replace(screw, at=tuple(np.add(screw.at, (0.0, away, 0.0)).tolist()))


# -- adding ---------------------------------------------------------------------------------
def test_shift_insert_asks_for_a_screw_and_the_answer_is_one_step(qtbot, desk):
    before = desk.joint
    qtbot.keyClick(desk.canvas, Qt.Key.Key_Insert, SHIFT)
    task, (plan, wishes, seam, place, index), *_ = desk.asked[0]
    assert (task, plan, seam, place, index) == ("set_screw", desk.session.plan, "S1", None, None)
    assert wishes == Wishes()
    assert desk.seams.plan.told == "Finding a seat for the screw…"
    assert desk.joint == before
    found = beside(before.screws[0], 5.0)
    desk.answer(found)
    assert desk.joint == replace(before, screws=(*before.screws, found))
    assert desk.undo_label == "add a screw to S1"
    # It is the chosen one, so that it can be moved on.
    assert desk.seams.plan.chosen == desk.count + 3
    assert desk.seams.plan.told.startswith("Screw D, M3")
    desk.session.document.undo()
    assert desk.joint == before


def test_a_double_click_with_ctrl_asks_for_one_at_the_edge_of_its_room(desk):
    ground, needed = desk.canvas.ground, desk.canvas.screw_distance
    # The clearance hole of ISO 273 (3.4 mm), allowance and wall as the printer wants it.
    assert needed == pytest.approx(Printer().edge_distance(3.4))
    u, v = ground.room(needed).representative_point().coords[0]
    QTest.mouseDClick(desk.canvas, LEFT, CONTROL, desk.at(u, v))
    place = desk.asked[-1][1][3]
    assert place == pytest.approx(desk.canvas.scale.to_plane(QPointF(desk.at(u, v))), abs=0.5)
    assert ground.to_edge(*place) >= needed
    # Beside the seam there is nothing to ask for.
    desk.answer(JointError("Seam S1: none."))
    QTest.mouseDClick(desk.canvas, LEFT, CONTROL, QPoint(3, 3))
    assert desk.asked == []


def test_several_are_done_one_after_the_other_on_what_is_there_then(qtbot, desk):
    first = beside(desk.joint.screws[0], 5.0)
    for _ in range(2):
        qtbot.keyClick(desk.seams.fasteners, Qt.Key.Key_Insert, SHIFT)
    assert len(desk.asked) == 1
    desk.answer(first)
    ((_, (plan, *_), *_),) = desk.asked
    assert plan.joint("S1").screws[-1] == first
    desk.answer(beside(first, 5.0))
    assert len(desk.joint.screws) == 5


def test_why_none_stands_is_said_and_nothing_is_lost(qtbot, desk):
    before = desk.session.plan
    qtbot.keyClick(desk.canvas, Qt.Key.Key_Insert, SHIFT)
    desk.answer(JointError("Seam S1: no M3 screw stands there: the wall is thin; add a flange."))
    assert desk.said == ["Seam S1: no M3 screw stands there: the wall is thin; add a flange."]
    told = "No M3 screw stands there: the wall is thin; add a flange."
    assert desk.seams.plan.told == told
    assert desk.session.plan == before
    assert not desk.session.document.can_undo
    # It stays while the same is shown again, and goes when the user goes on.
    desk.show()
    assert desk.seams.plan.told == told
    qtbot.keyClick(desk.canvas, Qt.Key.Key_BracketRight)
    assert desk.seams.plan.told.startswith("Pin 1")


def test_a_process_that_died_is_a_fault_to_be_read(qtbot, desk):
    qtbot.keyClick(desk.canvas, Qt.Key.Key_Insert, SHIFT)
    desk.answer(HelperError("The helper process ended."))
    assert [str(fault) for fault in desk.faults] == ["The helper process ended."]
    assert not desk.said
    # And the next one is asked for again.
    qtbot.keyClick(desk.canvas, Qt.Key.Key_Insert, SHIFT)
    assert len(desk.asked) == 1


def test_an_answer_for_other_cuts_is_dropped(qtbot, desk):
    qtbot.keyClick(desk.canvas, Qt.Key.Key_Insert, SHIFT)
    desk.session.apply("another cut", replace(desk.session.plan, cuts=()))
    desk.answer(beside(known()[2].joint("S1").screws[0]))
    assert desk.undo_label == "another cut"
    assert "The cuts were changed" in desk.said[-1]


def test_one_that_is_stopped_says_nothing_more(qtbot, desk):
    for _ in range(2):
        qtbot.keyClick(desk.canvas, Qt.Key.Key_Insert, SHIFT)
    job = desk.asked[0][-1]
    job.is_over = True
    job.stopped()
    assert "Finding" not in desk.seams.plan.told
    # What waited for it is given up too, and the next one begins anew.
    assert len(desk.asked) == 1
    qtbot.keyClick(desk.canvas, Qt.Key.Key_Insert, SHIFT)
    assert len(desk.asked) == 2


# -- turning --------------------------------------------------------------------------------
def test_t_turns_the_chosen_screw_once_it_is_known_how(qtbot, desk):
    before = desk.joint
    desk.seams.fasteners.choose(desk.count + 1)
    qtbot.keyClick(desk.canvas, Qt.Key.Key_T)
    _, (plan, _, _, place, index), *_ = desk.asked[0]
    turned = plan.joint("S1").screws[1]
    assert (place, index) == (None, 1)
    assert turned.axis == pytest.approx(np.negative(before.screws[1].axis))
    assert desk.joint == before
    found = replace(turned, length=25.0)
    desk.answer(found)
    assert desk.joint.screws == (before.screws[0], found, before.screws[2])
    assert desk.undo_label == "turn a screw of S1 round"
    desk.session.document.undo()
    assert desk.joint == before


def test_a_screw_that_is_gone_by_then_is_not_turned(qtbot, desk):
    desk.seams.fasteners.choose(desk.count)
    qtbot.keyClick(desk.seams.fasteners, Qt.Key.Key_T)
    qtbot.keyClick(desk.seams.fasteners, Qt.Key.Key_Delete)
    left = desk.joint
    desk.answer(beside(known()[2].joint("S1").screws[0]))
    assert desk.joint == left
    assert desk.undo_label == "delete a screw of S1"


def test_a_pin_is_not_turned(qtbot, desk):
    desk.seams.fasteners.choose(0)
    qtbot.keyClick(desk.canvas, Qt.Key.Key_T)
    assert desk.asked == []
    assert "same either way" in desk.seams.plan.told
    buttons = {each.text().replace("&", ""): each for each in desk.seams.findChildren(QPushButton)}
    assert not buttons["Turn round"].isEnabled()
    desk.seams.fasteners.choose(desk.count)
    assert buttons["Turn round"].isEnabled()
    qtbot.mouseClick(buttons["Turn round"], LEFT)
    assert len(desk.asked) == 1


# -- moving ---------------------------------------------------------------------------------
def test_a_moved_screw_is_shown_at_once_and_settled_in_the_same_step(qtbot, desk):
    desk.seams.fasteners.choose(desk.count)
    before = desk.joint
    qtbot.keyClick(desk.canvas, Qt.Key.Key_Right)
    moved = desk.joint.screws[0]
    assert moved.at != before.screws[0].at
    _, (plan, _, _, place, index), *_ = desk.asked[0]
    assert (plan, place, index) == (desk.session.plan, None, 0)
    found = replace(moved, seat=6.5, length=18.0)
    desk.answer(found)
    assert desk.joint.screws[0] == found
    assert desk.undo_label == "move a screw of S1"
    desk.session.document.undo()
    assert desk.joint == before
    assert not desk.session.document.can_undo


def test_only_where_it_was_put_last_is_looked_at(qtbot, desk):
    desk.seams.fasteners.choose(desk.count)
    for _ in range(2):
        qtbot.keyClick(desk.canvas, Qt.Key.Key_Right)
    late, last = desk.asked
    # It is of a place where the screw is not any more.
    late[2](replace(late[1][0].joint("S1").screws[0], seat=1.0))
    assert desk.joint.screws[0].seat != 1.0
    last[2](replace(last[1][0].joint("S1").screws[0], seat=2.0))
    assert desk.joint.screws[0].seat == 2.0


def test_where_it_does_not_stand_it_is_left_and_that_is_said(qtbot, desk):
    desk.seams.fasteners.choose(desk.count)
    qtbot.keyClick(desk.canvas, Qt.Key.Key_Right)
    moved = desk.joint
    desk.answer(JointError("Seam S1: no M3 screw stands there: its head finds no seat."))
    assert desk.joint == moved
    assert desk.seams.plan.told == "No M3 screw stands there: its head finds no seat."


# -- the menu -------------------------------------------------------------------------------
def test_the_menu_over_the_plan_adds_what_is_wanted_there(desk, monkeypatch):
    shown = []
    monkeypatch.setattr(desk.seams.table, "pop_up", lambda menu, event: shown.append(menu))
    u, v = desk.canvas.ground.room(desk.canvas.screw_distance).representative_point().coords[0]
    at = desk.canvas.mapTo(desk.seams, desk.at(u, v))
    mouse = QContextMenuEvent.Reason.Mouse
    QApplication.sendEvent(desk.seams, QContextMenuEvent(mouse, at, desk.seams.mapToGlobal(at)))
    named = {action.text(): action for action in shown[0].actions()}
    named["Add a screw here"].trigger()
    assert desk.asked[0][1][3] == pytest.approx((u, v), abs=0.5)
    pins = desk.count
    named["Add a pin here"].trigger()
    assert desk.count == pins + 1
    # From the keyboard there is no place.
    keys = QContextMenuEvent.Reason.Keyboard
    QApplication.sendEvent(desk.seams, QContextMenuEvent(keys, at, desk.seams.mapToGlobal(at)))
    assert "Add a pin here" not in {action.text() for action in shown[1].actions()}


# -- for good -------------------------------------------------------------------------------
def test_the_examiner_finds_it(qtbot, desk, monkeypatch):
    """By the real process: a place of a screw that was taken out holds the same one again."""
    monkeypatch.setattr(desk.session.jobs, "ask", desk.really_ask)
    desk.session.jobs.keep(source=desk.session.source)
    screw = desk.joint.screws[-1]
    (place,) = known()[0].seams[0].plane.to_plane([screw.at]).tolist()
    desk.seams.fasteners.choose(desk.count + 2)
    qtbot.keyClick(desk.canvas, Qt.Key.Key_Delete)
    desk.seams.screw_added_at.emit("S1", *place)
    qtbot.waitUntil(lambda: len(desk.joint.screws) == 3 or bool(desk.said), timeout=60_000)
    assert desk.said == []
    found = desk.joint.screws[-1]
    assert found.at == pytest.approx(screw.at, abs=0.3)
    assert (found.size, found.hold) == ("M3", "nut")
    lengths = hardware_shelf().screw("ISO 4762", "M3").lengths
    assert found.length in lengths


def test_without_anything_shown_nothing_is_asked_for(qtbot, desk):
    desk.session.apply("another cut", replace(desk.session.plan, cuts=(), joints=(Joint("S1"),)))
    desk.seams.screw_added.emit("S1")
    assert desk.asked == []
    assert "still being measured" in desk.said[-1]
