"""What is done to seams becomes steps of the plan, also while it is being examined."""

from dataclasses import replace

import pytest
from PySide6.QtCore import QLocale, QPointF, Qt, QTimer
from PySide6.QtWidgets import QApplication, QComboBox, QDoubleSpinBox

from splitplanner.errors import CutError
from splitplanner.plan import (
    Document,
    Fastening,
    Fastenings,
    Joint,
    PartFile,
    Plan,
    without_cut,
)
from splitplanner.score import Wishes
from splitplanner.window.links.tables_link import TablesLink
from splitplanner.window.lists.cuts_table import CutsTable
from splitplanner.window.lists.findings_list import FindingsList
from splitplanner.window.lists.pieces_table import PiecesTable
from splitplanner.window.lists.seams_table import SeamsTable
from splitplanner.window.quantities import Quantities
from splitplanner.window.selection import Selection
from splitplanner.window.session import Choices, Session
from tests.window.boxes import CUTS, PRINTER, division, figures, joint, proposals
from tests.window.joints import held

PART = PartFile("box.stl", "mm", "f")
PINNED = Plan(PART, PRINTER, CUTS, (), (joint(),))


def box_called(dialog, name, kind):
    return next(box for box in dialog.findChildren(kind) if box.accessibleName() == name)


class Desk:
    """The tables on a plan, whose document has nobody to examine it."""

    def __init__(self, qtbot, plan):
        self.session = Session()
        self.session.document = Document(Choices(plan, Wishes(), {}))
        self.session.division, self.session.figures = division(), figures()
        self.said = []
        self.session.said.connect(self.said.append)
        self.seams = SeamsTable()
        others = (PiecesTable(), CutsTable(), FindingsList())
        for widget in (self.seams, *others):
            qtbot.addWidget(widget)
        pieces, cuts, findings = others
        self.link = TablesLink(self.session, Selection(), pieces, self.seams, cuts, findings)
        self.session.document.changed.connect(self.forget)
        self.link.refresh()
        self.seams.set_quantities(Quantities("mm", QLocale(QLocale.Language.C)))
        self.seams.resize(440, 780)
        self.seams.show()
        self.seams.choose("S1")
        self.canvas = self.seams.plan.canvas
        self.canvas.setFocus()

    def forget(self, *_):
        """What is known of the plan is so no more when it changes."""
        self.session.division = self.session.figures = None
        self.session.divided.emit()

    @property
    def pins(self):
        return self.session.plan.joint("S1").pins

    def listed(self):
        return [row.index for row in self.seams.fasteners.rows_model.rows]


@pytest.fixture
def desk(qtbot):
    return Desk(qtbot, PINNED)


def test_a_fastener_moved_by_keys_is_a_step_each_also_before_the_last_is_examined(qtbot, desk):
    desk.seams.fasteners.choose(1)
    before = desk.canvas.fasteners[1]
    for _ in range(2):
        qtbot.keyClick(desk.canvas, Qt.Key.Key_Down)
    plane = division().seams[0].plane
    (u, v) = plane.to_plane([desk.pins[1].at])[0]
    assert (u, v) == pytest.approx((before.u, before.v - 1.0))
    assert plane.height([desk.pins[1].at]) == pytest.approx(0.0)
    shown = desk.seams.fasteners.rows_model.rows[1]
    assert (shown.u, shown.v) == pytest.approx((u, v))
    desk.session.document.undo()
    desk.session.document.undo()
    assert desk.pins == joint().pins
    assert (desk.canvas.fasteners[1].u, desk.canvas.fasteners[1].v) == pytest.approx(
        (before.u, before.v)
    )
    assert not desk.said


def test_a_pin_added_in_the_plan_stands_there_and_is_chosen(qtbot, desk):
    at = desk.canvas.scale.to_screen(*desk.canvas.ground.middle).toPoint()
    qtbot.mouseDClick(desk.canvas, Qt.MouseButton.LeftButton, pos=at)
    assert len(desk.pins) == len(joint().pins) + 1
    place = division().seams[0].plane.to_plane([desk.pins[-1].at])[0]
    assert place == pytest.approx(desk.canvas.scale.to_plane(QPointF(at)))
    assert desk.pins[-1].diameter == desk.pins[0].diameter
    assert desk.seams.plan.chosen == desk.seams.fasteners.chosen_key == len(joint().pins)
    qtbot.keyClick(desk.canvas, Qt.Key.Key_Delete)
    assert desk.pins == joint().pins


def test_the_first_pin_of_a_plan_is_added(qtbot):
    desk = Desk(qtbot, Plan(PART, PRINTER, CUTS))
    qtbot.keyClick(desk.canvas, Qt.Key.Key_Insert)
    assert len(desk.pins) == 1
    qtbot.keyClick(desk.seams.fasteners, Qt.Key.Key_Insert)
    assert len(desk.pins) == 2
    assert desk.listed() == [0, 1]
    assert not desk.said


def test_what_is_not_measured_is_said_and_nothing_is_lost(qtbot, desk):
    plan = Plan(PART, PRINTER, (), (), (joint(),))
    desk.session.apply("another cut", plan)
    assert desk.canvas.ground is None
    desk.seams.pin_added.emit("S1")
    desk.seams.fastener_moved.emit("S1", 0, 1.0, 2.0)
    assert desk.session.plan == plan
    assert len(desk.said) == 2
    assert all("S1 is still being measured" in text for text in desk.said)


# -- screws ---------------------------------------------------------------------------------
@pytest.fixture
def screwed(qtbot):
    return Desk(qtbot, Plan(PART, PRINTER, CUTS, (), (held(),)))


def test_screws_are_moved_and_deleted_as_steps_of_their_own(qtbot, screwed):
    desk, count = screwed, len(joint().pins)
    desk.seams.fasteners.choose(count + 1)
    before = desk.canvas.fasteners[count + 1]
    qtbot.keyClick(desk.canvas, Qt.Key.Key_Right)
    made = desk.session.plan.joint("S1")
    (place,) = division().seams[0].plane.to_plane([made.screws[1].at])
    assert place == pytest.approx((before.u + 0.5, before.v))
    assert made == replace(
        held(), screws=(held().screws[0], replace(held().screws[1], at=made.screws[1].at))
    )
    assert desk.session.document.undo_label == "move a screw of S1"
    desk.seams.fasteners.choose(count)
    qtbot.keyClick(desk.seams.fasteners, Qt.Key.Key_Delete)
    assert desk.session.plan.joint("S1").screws == made.screws[1:]
    assert desk.session.document.undo_label == "delete a screw of S1"
    assert desk.pins == joint().pins
    desk.session.document.undo()
    desk.session.document.undo()
    assert desk.session.plan.joint("S1") == held()
    assert not desk.said


def test_a_pin_added_beside_screws_comes_after_the_pins(qtbot, screwed):
    qtbot.keyClick(screwed.canvas, Qt.Key.Key_Insert)
    assert len(screwed.pins) == len(joint().pins) + 1
    assert screwed.session.plan.joint("S1").screws == held().screws
    assert screwed.seams.fasteners.chosen_key == len(joint().pins)


def test_all_that_holds_a_seam_is_removed_in_one_step(screwed):
    screwed.seams.emptied.emit("S1")
    assert screwed.session.plan.joints == (Joint("S1"),)
    screwed.session.document.undo()
    assert screwed.session.plan.joint("S1") == held()


# -- how seams are held ---------------------------------------------------------------------
def test_how_seams_are_held_is_one_step(screwed):
    session, wanted = screwed.session, Fastening(screws="insert", coat=0.1)
    hold = screwed.link.seams_link.fastening_link.hold
    hold(Fastenings(wanted))
    assert session.plan.fastening == wanted
    # All seams are open, so that the examiner places anew.
    assert session.plan.joints == ()
    assert session.document.undo_label == "how seams are held"
    hold(Fastenings(wanted))
    session.document.undo()
    assert (session.plan.fastening, session.plan.joint("S1")) == (Fastening(), held())
    assert not session.document.can_undo


def test_a_single_seam_is_held_in_its_own_way_as_one_step(screwed):
    def answer():
        dialog = QApplication.activeModalWidget()
        shown.append(box_called(dialog, "Which seams", QComboBox).currentText())
        register = box_called(dialog, "Register", QComboBox)
        register.setCurrentIndex(register.findData("lap"))
        dialog.accept()

    shown, session = [], screwed.session
    seams = [row.key for row in screwed.seams.table.rows_model.rows]
    QTimer.singleShot(0, answer)
    screwed.seams.own_action.trigger()
    assert shown == ["only seam S1"]
    assert session.plan.fastening == Fastening()
    assert session.plan.own_fastenings == {"S1": Fastening(register="lap")}
    assert session.plan.joints == ()
    assert session.document.undo_label == "how S1 is held"
    # It is marked while the plan is examined, and after.
    screwed.session.division, screwed.session.figures = division(), figures()
    screwed.link.refresh()
    assert [row.is_own for row in screwed.seams.table.rows_model.rows] == [
        name == "S1" for name in seams
    ]
    session.document.undo()
    assert (session.plan.own_fastenings, session.plan.joint("S1")) == ({}, held())


def test_while_nobody_knows_which_seams_are_meant_the_dialog_waits(screwed):
    link, session = screwed.link.seams_link.fastening_link, screwed.session
    link.hold(Fastenings(Fastening(), {"S1": Fastening(coat=0.1)}))
    session.apply("delete the cut", without_cut(session.plan, 0))
    quantities = Quantities("mm", QLocale(QLocale.Language.C))
    link.ask(screwed.seams, quantities)
    session.fault = CutError("Cut 1 meets nothing.")
    link.ask(screwed.seams, quantities)
    assert [text.partition(";")[0] for text in screwed.said] == [
        "The plan is still being cut", "Mend the cuts first",
    ]  # fmt: skip


def test_a_proposal_has_seams_of_its_own(screwed):
    session = screwed.session
    session.accept(proposals()[0])
    assert not screwed.said
    screwed.link.seams_link.fastening_link.hold(
        Fastenings(Fastening(coat=0.1), {"S1": Fastening(pins=False)})
    )
    session.accept(proposals()[-1])
    assert session.plan.fastening == Fastening(coat=0.1)
    assert session.plan.own_fastenings == {}
    assert len(screwed.said) == 1
    assert "held in its own way" in screwed.said[0]


def test_the_dialog_shows_how_they_are_held_in_the_units_of_the_user(qtbot, screwed):
    def answer():
        dialog = QApplication.activeModalWidget()
        coat = box_called(dialog, "Coat", QDoubleSpinBox)
        shown.append(coat.text())
        coat.setFocus()
        coat.selectAll()
        qtbot.keyClicks(coat, "0.004")
        qtbot.keyClick(coat, Qt.Key.Key_Return)

    shown = []
    link = screwed.link.seams_link.fastening_link
    link.hold(Fastenings(Fastening(coat=0.254)))
    QTimer.singleShot(0, answer)
    quantities = Quantities("inch", QLocale(QLocale.Language.C))
    link.ask(screwed.seams, quantities)
    assert shown == ["0.0100 in"]
    assert screwed.session.plan.fastening == Fastening(coat=0.1016)
