"""What the user wishes of proposals, entered with mouse and keys."""

import gc
import weakref

import numpy as np
import pytest
from PySide6.QtCore import QLocale, Qt
from PySide6.QtGui import QGuiApplication
from PySide6.QtWidgets import (
    QAbstractButton,
    QAbstractSpinBox,
    QComboBox,
    QLineEdit,
    QListWidget,
)

from splitplanner.score import GoodSide, KeepOutBox, KeepOutFaces, KeepOutSphere, Wishes
from splitplanner.solid import Plane
from splitplanner.window.parts.length_box import LengthBox
from splitplanner.window.parts.note_line import Mark
from splitplanner.window.quantities import Quantities
from splitplanner.window.wishing.painting import BOX, GOOD_SIDE, KEEP_OUT
from splitplanner.window.wishing.wish_rows import plane_text
from splitplanner.window.wishing.wishes_panel import WishesPanel
from tests.window.widgets import box_called, button_called, tick

C = QLocale(QLocale.Language.C)
GERMAN = QLocale(QLocale.Language.German)
BOUNDS = np.array([[0.0, 0.0, 0.0], [300.0, 120.0, 60.0]])
AREAS = np.full(500, 20.0)
BOX_REGION = KeepOutBox((10.0, 20.0, 30.0), (40.0, 50.0, 55.0))
BALL = KeepOutSphere((100.0, 60.0, 30.0), 12.5)
FACES = KeepOutFaces((1, 2, 3))
WISHES = Wishes(
    keep_out=(BOX_REGION, BALL, FACES),
    must_cut=(Plane((1.0, 0.0, 0.0), 150.0), Plane((0.0, -1.0, 0.0), -40.0)),
    longest_seam=600.0,
)


class Told:
    """What a panel said, in order."""

    def __init__(self, panel):
        self.steps, self.tools, self.chosen = [], [], []
        panel.wishes_changed.connect(lambda label, wishes: self.steps.append((label, wishes)))
        panel.tool_asked.connect(self.tools.append)
        panel.region_chosen.connect(self.chosen.append)

    @property
    def labels(self):
        return [label for label, _ in self.steps]

    @property
    def last(self):
        return self.steps[-1][1]


@pytest.fixture
def panel(qtbot):
    made = WishesPanel()
    qtbot.addWidget(made)
    made.set_quantities(Quantities("mm", C))
    made.resize(360, 1100)
    made.show_wishes(Wishes(), BOUNDS, AREAS)
    made.show()
    made.activateWindow()
    return made


@pytest.fixture
def told(panel):
    return Told(panel)


def field(panel, name):
    """Return the one visible length field of this name."""
    (found,) = (
        box
        for box in panel.findChildren(LengthBox)
        if box.accessibleName() == name and box.isVisible()
    )
    return found


def enter(qtbot, box, text):
    box.setFocus()
    box.selectAll()
    qtbot.keyClicks(box, text)
    qtbot.keyClick(box, Qt.Key.Key_Return)


def click(qtbot, panel, text):
    qtbot.mouseClick(button_called(panel, text), Qt.MouseButton.LeftButton)


def lines(widget):
    return [widget.item(row).text() for row in range(widget.count())]


# ----- pieces and seams


def test_the_number_of_pieces_is_any_or_a_number(qtbot, panel, told):
    assert panel.pieces.text() == "any"
    enter(qtbot, panel.pieces, "4")
    assert told.steps == [("wish for 4 pieces", Wishes(pieces=4))]
    qtbot.keyClick(panel.pieces, Qt.Key.Key_Up)
    assert told.last == Wishes(pieces=5)
    enter(qtbot, panel.pieces, "0")
    assert told.steps[-1] == ("wish for any number of pieces", Wishes())
    assert panel.pieces.text() == "any"


def test_half_a_number_is_no_wish(qtbot, panel, told):
    panel.pieces.setFocus()
    panel.pieces.selectAll()
    qtbot.keyClicks(panel.pieces, "12")
    assert told.steps == []
    qtbot.keyClick(panel.pieces, Qt.Key.Key_Tab)
    assert told.last.pieces == 12


def test_equal_pieces_and_no_support_are_ticked(qtbot, panel, told):
    tick(box_called(panel, "Pieces of equal volume"))
    box = box_called(panel, "No support")
    box.setFocus()
    qtbot.keyClick(box, Qt.Key.Key_Space)
    assert told.last == Wishes(equal_pieces=True, support_free=True)
    assert told.labels == ["wish for pieces of equal volume", "wish for no support"]
    tick(box)
    assert told.steps[-1] == ("allow support", Wishes(equal_pieces=True))


def test_limits_are_set_and_lifted(qtbot, panel, told):
    assert not panel.longest.length.isEnabled()
    tick(box_called(panel, "Longest seam"))
    assert told.last.longest_seam == 500.0
    enter(qtbot, panel.longest.length, "612.5")
    assert told.last.longest_seam == 612.5
    tick(box_called(panel, "Smallest piece"))
    assert told.last == Wishes(longest_seam=612.5, smallest_piece=40.0)
    tick(box_called(panel, "Longest seam"))
    assert told.steps[-1] == ("let seams be of any length", Wishes(smallest_piece=40.0))
    # What was entered is there again when it is wanted again.
    tick(box_called(panel, "Longest seam"))
    assert told.last.longest_seam == 612.5


def test_a_limit_that_cannot_be_is_told_in_place_and_stays_to_be_mended(qtbot, panel, told):
    panel.show_wishes(WISHES, BOUNDS, AREAS)
    enter(qtbot, panel.longest.length, "0")
    assert told.steps == []
    assert panel.longest.note.mark == Mark.FAULT
    assert "longest acceptable seam must be above 0 mm" in panel.longest.note.text
    tick(box_called(panel, "No support"))
    assert told.last.longest_seam == 600.0
    assert panel.longest.length.mm == 0.0
    assert panel.longest.note.text
    enter(qtbot, panel.longest.length, "550")
    assert told.last.longest_seam == 550.0
    assert not panel.longest.note.isVisible()


def test_another_limit_from_outside_takes_the_place_of_a_refused_one(qtbot, panel):
    panel.show_wishes(WISHES, BOUNDS, AREAS)
    enter(qtbot, panel.longest.length, "0")
    panel.show_wishes(Wishes(longest_seam=700.0), BOUNDS, AREAS)
    assert panel.longest.length.mm == 700.0
    assert panel.longest.note.text == ""


# ----- keep-out regions


def test_a_box_is_added_in_the_middle_of_the_part_and_edited_by_its_numbers(qtbot, panel, told):
    click(qtbot, panel, "Add box")
    added = KeepOutBox((100.0, 40.0, 20.0), (200.0, 80.0, 40.0))
    assert told.steps == [("keep seams out of a box", Wishes(keep_out=(added,)))]
    assert told.chosen == [0]
    enter(qtbot, field(panel, "High corner, x"), "210.5")
    assert told.labels[-1] == "change a keep-out box"
    assert told.last.keep_out == (KeepOutBox((100.0, 40.0, 20.0), (210.5, 80.0, 40.0)),)
    assert lines(panel.regions.list) == ["1   Box, 110.5 × 40.0 × 20.0 mm"]


def test_a_box_inside_out_is_told_in_place_and_taken_once_it_is_one_again(qtbot, panel, told):
    panel.show_wishes(WISHES, BOUNDS, AREAS)
    panel.choose_region(0)
    enter(qtbot, field(panel, "Low corner, y"), "70")
    assert told.steps == []
    assert "y goes from 70.0 mm to 50.0 mm" in panel.regions.form.fault
    # Something else changes meanwhile: what was entered stays.
    tick(box_called(panel, "No support"))
    panel.show_wishes(told.last, BOUNDS, AREAS)
    assert field(panel, "Low corner, y").mm == 70.0
    enter(qtbot, field(panel, "High corner, y"), "90")
    assert told.last.keep_out[0] == KeepOutBox((10.0, 70.0, 30.0), (40.0, 90.0, 55.0))
    assert panel.regions.form.fault == ""


def test_a_sphere_is_added_and_edited(qtbot, panel, told):
    click(qtbot, panel, "Add sphere")
    assert told.last.keep_out == (KeepOutSphere((150.0, 60.0, 30.0), 10.0),)
    enter(qtbot, field(panel, "Centre, z"), "-3.5")
    enter(qtbot, field(panel, "Radius"), "8")
    assert told.last.keep_out == (KeepOutSphere((150.0, 60.0, -3.5), 8.0),)
    enter(qtbot, field(panel, "Radius"), "0")
    assert "radius above 0 mm" in panel.regions.form.fault
    assert told.last.keep_out[0].radius == 8.0


def test_painted_faces_show_their_count_and_area(qtbot, panel, told):
    panel.show_wishes(WISHES, BOUNDS, AREAS)
    # 3 faces of 20 mm².
    assert lines(panel.regions.list)[2] == "3   Painted, 3 faces, 0.6 cm²"
    panel.show_wishes(WISHES, BOUNDS)
    assert lines(panel.regions.list)[2] == "3   Painted, 3 faces"
    qtbot.mouseClick(
        panel.regions.list.viewport(), Qt.MouseButton.LeftButton,
        pos=panel.regions.list.visualItemRect(panel.regions.list.item(2)).center(),
    )  # fmt: skip
    assert told.chosen == [2]
    assert "3 faces" in panel.regions.form._faces.text()
    assert panel.regions.form._faces.isVisible()


def test_regions_are_deleted_with_a_key_and_copied_as_text(qtbot, panel, told):
    panel.show_wishes(WISHES, BOUNDS, AREAS)
    panel.choose_region(1)
    rows = panel.regions.list
    rows.setFocus()
    qtbot.keyClick(rows, Qt.Key.Key_C, Qt.KeyboardModifier.ControlModifier)
    assert QGuiApplication.clipboard().text() == "2   Sphere, radius 12.5 mm"
    qtbot.keyClick(rows, Qt.Key.Key_Delete)
    assert told.labels == ["delete a keep-out sphere"]
    assert told.last.keep_out == (BOX_REGION, FACES)
    assert panel.chosen_region == 1
    qtbot.keyClick(rows, Qt.Key.Key_A, Qt.KeyboardModifier.ControlModifier)
    click(qtbot, panel.regions, "Delete")
    assert told.labels[-1] == "delete keep-out regions"
    assert told.last.keep_out == ()
    assert panel.chosen_region == -1
    assert not rows.isVisible()


def test_the_chosen_region_stays_chosen_when_wishes_are_shown_anew(panel, told):
    panel.show_wishes(WISHES, BOUNDS, AREAS)
    panel.choose_region(1)
    panel.show_wishes(Wishes(keep_out=(*WISHES.keep_out, BOX_REGION)), BOUNDS, AREAS)
    assert panel.chosen_region == 1
    assert field(panel, "Radius").mm == 12.5
    assert told.steps == []
    panel.show_wishes(Wishes(), BOUNDS, AREAS)
    assert panel.chosen_region == -1


# ----- must-cut planes


def test_a_plane_is_added_across_the_longest_axis_moved_and_turned(qtbot, panel, told):
    click(qtbot, panel, "Add plane")
    assert told.last.must_cut == (Plane((1.0, 0.0, 0.0), 150.0),)
    enter(qtbot, field(panel, "Place of the plane"), "120.5")
    assert told.steps[-1][0] == "move a must-cut plane"
    assert told.last.must_cut == (Plane((1.0, 0.0, 0.0), 120.5),)
    axis = panel.planes.form.findChild(QComboBox)
    axis.setFocus()
    qtbot.keyClick(axis, Qt.Key.Key_Down)
    # At the middle of the part along the other axis.
    assert told.last.must_cut == (Plane((0.0, 1.0, 0.0), 60.0),)
    click(qtbot, panel.planes, "Delete")
    assert told.last.must_cut == ()


def test_a_plane_that_looks_down_its_axis_is_where_it_is_and_keeps_its_normal(qtbot, panel, told):
    panel.show_wishes(WISHES, BOUNDS, AREAS)
    assert lines(panel.planes.list) == ["1   x = 150.00 mm", "2   y = 40.00 mm"]
    panel.planes.choose(1)
    enter(qtbot, field(panel, "Place of the plane"), "45")
    assert told.last.must_cut[1] == Plane((0.0, -1.0, 0.0), -45.0)


def test_a_leaning_plane_shows_its_normal_and_keeps_it_when_it_moves(qtbot, panel, told):
    leaning = Plane((0.6, 0.0, 0.8), 12.0)
    panel.show_wishes(Wishes(must_cut=(leaning,)), BOUNDS, AREAS)
    assert lines(panel.planes.list) == ["1   Leaning, (0.60; 0.00; 0.80) at 12.00 mm"]
    panel.planes.choose(0)
    assert panel.planes.form._normal.text() == "Normal (0.6000; 0.0000; 0.8000)"
    enter(qtbot, field(panel, "Place of the plane"), "13")
    assert told.last.must_cut == (Plane((0.6, 0.0, 0.8), 13.0),)


# ----- the good side


def test_the_good_side_is_seen_from_the_directions_ticked(qtbot, panel, told):
    way = panel.good_side.findChild(QComboBox)
    way.setFocus()
    qtbot.keyClick(way, Qt.Key.Key_Down)
    # Nothing is ticked yet: no other wish.
    assert told.steps == []
    assert "Tick at least one" in panel.good_side._hint.text()
    tick(box_called(panel, "Front"))
    tick(box_called(panel, "Top"))
    front, top = (0.0, -1.0, 0.0), (0.0, 0.0, 1.0)
    assert told.last.good_side == GoodSide(directions=(front, top))
    # Shown back by whoever keeps the wishes, the way that was chosen stays with none ticked.
    tick(box_called(panel, "Front"))
    tick(box_called(panel, "Top"))
    assert told.last.good_side == GoodSide()
    panel.show_wishes(told.last, BOUNDS, AREAS)
    assert way.currentText() == "Seen from these directions"


def test_other_directions_of_a_file_can_be_unticked_too(panel, told):
    side = GoodSide(directions=((0.6, 0.0, 0.8), (0.0, 1.0, 0.0)))
    panel.show_wishes(Wishes(good_side=side), BOUNDS, AREAS)
    assert box_called(panel, "Back").isChecked()
    tick(box_called(panel, "(0.60; 0.00; 0.80)"))
    assert told.last.good_side == GoodSide(directions=((0.0, 1.0, 0.0),))


def test_going_to_another_way_and_back_loses_nothing(qtbot, panel, told):
    painted = Wishes(good_side=GoodSide(faces=(4, 5)), part="a")
    panel.show_wishes(painted, BOUNDS, AREAS)
    way = panel.good_side.findChild(QComboBox)
    assert way.currentText() == "Painted in the view"
    assert panel.good_side._hint.text() == "2 faces, 0.4 cm² painted."
    way.setFocus()
    qtbot.keyClick(way, Qt.Key.Key_Home)
    assert told.steps[-1] == ("find the good side all around", Wishes(part="a"))
    qtbot.keyClick(way, Qt.Key.Key_End)
    assert told.steps[-1] == ("take the painted good side", painted)
    assert told.tools == []
    # Faces of one part are none of another.
    panel.show_wishes(Wishes(part="b"), BOUNDS, AREAS)
    qtbot.keyClick(way, Qt.Key.Key_End)
    assert told.last == painted
    assert told.tools == [GOOD_SIDE]
    assert "Nothing is painted yet" in panel.good_side._hint.text()


# ----- tools


def test_one_tool_at_a_time_is_in_hand(qtbot, panel, told):
    assert not panel.brush.isVisible()
    click(qtbot, panel, "Paint keep-out")
    click(qtbot, panel, "Box by dragging")
    assert told.tools == [KEEP_OUT, BOX]
    assert panel.tool == BOX
    assert not button_called(panel, "Paint keep-out").isChecked()
    click(qtbot, panel, "Box by dragging")
    assert told.tools[-1] == ""
    assert panel.tool == ""


def test_escape_and_done_put_the_tool_away(qtbot, panel, told):
    click(qtbot, panel, "Paint good side")
    panel.brush._radius.setFocus()
    qtbot.keyClick(panel.brush._radius, Qt.Key.Key_Escape)
    assert told.tools == [GOOD_SIDE, ""]
    # The keyboard is back where the tool was taken.
    assert button_called(panel, "Paint good side").hasFocus()
    click(qtbot, panel, "Paint keep-out")
    click(qtbot, panel, "Done")
    assert told.tools == [GOOD_SIDE, "", KEEP_OUT, ""]
    # There is none to put away any more.
    qtbot.keyClick(panel.pieces, Qt.Key.Key_Escape)
    assert len(told.tools) == 4
    assert not panel.brush.isVisible()


def test_a_tool_that_is_set_is_shown_and_not_told(panel, told):
    panel.set_tool(KEEP_OUT)
    assert button_called(panel, "Paint keep-out").isChecked()
    assert panel.brush.isVisible()
    assert box_called(panel, "Erase").isVisible()
    panel.set_tool(BOX)
    assert not box_called(panel, "Erase").isVisible()
    assert field(panel, "Margin").isVisible()
    panel.set_tool("")
    assert panel.tool == ""
    assert told.tools == []


def test_brush_radius_and_erasing(qtbot, panel):
    panel.set_tool(KEEP_OUT)
    assert panel.brush_radius == 10.0
    with qtbot.waitSignal(panel.brush_changed) as changed:
        enter(qtbot, field(panel, "Brush radius"), "3.5")
    assert changed.args == [3.5]
    assert panel.brush_radius == 3.5
    with qtbot.waitSignal(panel.erase_toggled) as toggled:
        tick(box_called(panel, "Erase"))
    assert toggled.args == [True]
    assert panel.is_erasing
    panel.brush_radius = 0.0
    assert panel.brush_radius == 0.1


# ----- files, units, words


def test_files_are_asked_for_and_what_is_wrong_with_one_is_said_in_place(qtbot, panel):
    with qtbot.waitSignals([panel.read_asked, panel.save_asked]):
        click(qtbot, panel, "Read wishes…")
        click(qtbot, panel, "Save wishes…")
    panel.say(Mark.FAULT, "The file of wishes a.toml cannot be read.")
    assert panel.note.isVisible()
    panel.show_wishes(WISHES, BOUNDS, AREAS)
    assert not panel.note.isVisible()


def test_inches_are_shown_and_entered_and_nothing_changes_by_that_alone(qtbot, panel, told):
    odd = KeepOutBox((1.0 / 3.0, 20.0, 30.0), (40.0, 50.0, 55.0))
    wishes = Wishes(keep_out=(odd,), longest_seam=508.0)
    panel.show_wishes(wishes, BOUNDS, AREAS)
    panel.choose_region(0)
    panel.set_quantities(Quantities("inch", GERMAN))
    assert told.steps == []
    # By the definition of the inch, 25.4 mm.
    assert panel.longest.length.text() == "20,000 in"
    assert lines(panel.regions.list) == ["1   Box, 1,56 × 1,18 × 0,98 in"]
    enter(qtbot, field(panel, "High corner, z"), "2,5")
    assert told.last.keep_out == (KeepOutBox(odd.low, (40.0, 50.0, 63.5)),)
    assert plane_text(WISHES.must_cut[0], Quantities("inch", GERMAN)) == "x = 5,906 in"


def test_every_control_has_a_name_and_says_what_it_is_for(panel):
    panel.show_wishes(WISHES, BOUNDS, AREAS)
    kinds = (QAbstractButton, QAbstractSpinBox, QComboBox, QListWidget)
    controls = [each for kind in kinds for each in panel.findChildren(kind)]
    assert len(controls) > 30
    for control in controls:
        if control.objectName().startswith("qt_") or isinstance(control.parent(), QListWidget):
            continue
        text = control.text() if isinstance(control, QAbstractButton) else ""
        assert control.accessibleName() or text
        assert control.accessibleDescription() or control.toolTip()


def test_all_is_reached_with_the_tab_key(qtbot, panel):
    panel.show_wishes(WISHES, BOUNDS, AREAS)
    panel.choose_region(0)
    panel.set_tool(KEEP_OUT)
    panel.pieces.setFocus()
    reached = set()
    for _ in range(60):
        now = panel.focusWidget()
        reached.add(now.accessibleName() or getattr(now, "text", str)().replace("&", ""))
        qtbot.keyClick(now, Qt.Key.Key_Tab)
    wanted = {
        "Number of pieces", "Longest seam", "Smallest piece", "No support", "Keep-out regions",
        "Low corner, x", "High corner, z", "Add box", "Add sphere", "Paint keep-out",
        "Box by dragging", "Must-cut planes", "Add plane", "Good side", "Paint good side",
        "Brush radius", "Erase", "Done", "Read wishes…", "Save wishes…",
    }  # fmt: skip
    assert wanted <= reached


def test_a_closed_panel_leaves_nothing_behind(qapp):
    panel = WishesPanel()
    panel.show_wishes(WISHES, BOUNDS, AREAS)
    gone = weakref.ref(panel)
    panel.close()
    del panel
    gc.collect()
    assert gone() is None


def test_numbers_are_shown_in_fields_that_hold_them(panel):
    far = KeepOutBox((-123.4, -123.4, -123.4), (999.9, 999.9, 999.9))
    panel.show_wishes(Wishes(keep_out=(far,)), BOUNDS, AREAS)
    panel.choose_region(0)
    for name in ("Low corner, x", "High corner, z"):
        line = field(panel, name).findChild(QLineEdit)
        room = line.width() - 4
        assert line.fontMetrics().horizontalAdvance(line.text()) <= room
