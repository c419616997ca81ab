"""Supports and loads on the station chart. Expected values: its scale, beam tables."""

from dataclasses import replace

import numpy as np
import pytest
from PySide6.QtCore import QPoint, QPointF, Qt
from PySide6.QtGui import QContextMenuEvent
from PySide6.QtWidgets import QApplication

from splitplanner.errors import LoadError
from splitplanner.plan import Fall, PointLoad, Support, WeightLoad
from splitplanner.score import stations
from splitplanner.solid import Solid
from splitplanner.window.chart.load_curves import in_plane, load_curves, seam_holds
from splitplanner.window.chart.load_marks import (
    load_marks,
    marks_while_moved,
    with_load,
    with_moved,
    with_support,
    without_mark,
)
from splitplanner.window.chart.load_painting import hold_boxes
from splitplanner.window.chart.station_chart import StationChart
from splitplanner.window.chart.values import CURVES, LOAD_CURVES
from splitplanner.workshop import Printer
from tests.window.loaded import X, answer_of, between_supports, held_at_end
from tests.window.test_station_chart import PLAIN, moved

LEFT, SHIFT = Qt.MouseButton.LeftButton, Qt.KeyboardModifier.ShiftModifier
LOW, HIGH = 100.0, 400.0
BENDING = between_supports(120.0, 380.0, 220.0)
SHELF = held_at_end(100.0, 200.0, 300.0)
SEAMS = (("S1", 200.0, 0.4), ("S2", 202.0, 0.9))


@pytest.fixture(scope="module")
def bar():
    return Solid.box((300.0, 40.0, 25.0), (LOW, 0.0, 0.0))


@pytest.fixture(scope="module")
def along(bar):
    return stations(bar, X, Printer(), 60)


@pytest.fixture(scope="module")
def answer(bar):
    return answer_of(bar, BENDING, SEAMS)


@pytest.fixture
def chart(qtbot, along):
    chart = StationChart()
    qtbot.addWidget(chart)
    chart.resize(1000, 260)
    chart.set_quantities(PLAIN)
    chart.set_stations(along)
    chart.told = []
    for name in ("moved", "mark_chosen", "asked", "delete_asked", "edit_asked", "chosen"):
        signal = getattr(chart, f"load_{name}")
        signal.connect(lambda *values, name=name: chart.told.append((name, *values)))
    chart.cut_chosen.connect(lambda index: chart.told.append(("cut", index)))
    chart.show()
    qtbot.waitExposed(chart)
    chart.activateWindow()
    chart.canvas.setFocus()
    qtbot.waitUntil(chart.canvas.hasFocus)
    return chart


def shown(chart, loading, answer=None):
    marks = load_marks(loading, (LOW, HIGH), PLAIN)
    holds = seam_holds(answer, PLAIN)
    chart.set_loads(["bending", "shelf"], loading.name, marks, load_curves(answer), holds)
    return marks


def spot(chart, mark):
    canvas = chart.canvas
    room = canvas.frame.below if mark.is_support else canvas.frame.above
    return QPoint(round(canvas.scale.pixel(mark.station)), round(room.center().y()))


def test_a_support_is_dragged_and_told_once_when_it_is_let_go(qtbot, chart):
    first = shown(chart, BENDING)[0]
    canvas, place, per_pixel = chart.canvas, spot(chart, first), chart.canvas.scale.mm_per_pixel
    qtbot.mousePress(canvas, LEFT, pos=place)
    for step in (10, 25, 40):
        qtbot.mouseMove(canvas, place + QPoint(step, 2))
    assert canvas.loads.is_moving
    assert canvas.loads.mark.station == pytest.approx(first.station + 40 * per_pixel, abs=0.06)
    assert canvas.read_at == canvas.loads.mark.station
    assert chart.told == [("mark_chosen", 0)]
    qtbot.mouseRelease(canvas, LEFT, pos=place + QPoint(40, 2))
    told = chart.told[-1]
    assert told[:2] == ("moved", first)
    # In tenths from the low end, as cuts are.
    assert (told[2] - LOW) * 10 == pytest.approx(round((told[2] - LOW) * 10))
    assert len(chart.told) == 2


def test_a_marker_clicks_into_ends_seams_and_places_but_not_with_shift(qtbot, chart, answer):
    force = shown(chart, BENDING, answer)[2]
    chart.set_snaps([(260.0, "end of a rib")])
    canvas, place = chart.canvas, spot(chart, force)
    pixel = canvas.scale.pixel
    qtbot.mousePress(canvas, LEFT, pos=place)
    for wanted in (200.0, 260.0, 250.0):
        qtbot.mouseMove(canvas, QPoint(round(pixel(wanted)) + 2, place.y()))
        assert canvas.loads.mark.station == wanted
    moved(chart, QPoint(round(pixel(250.0)) + 12, place.y()), held=SHIFT)
    assert canvas.loads.mark.station not in (250.0, 200.0, 260.0)
    qtbot.mouseMove(canvas, QPoint(2000, place.y()))
    assert canvas.loads.mark.station == HIGH
    qtbot.keyClick(canvas, Qt.Key.Key_Escape)
    assert canvas.loads.mark.station == force.station
    qtbot.mouseRelease(canvas, LEFT, pos=place)
    assert [told[0] for told in chart.told] == ["mark_chosen"]


def test_an_end_of_a_spread_load_is_dragged_by_itself_and_all_of_it_by_its_arrows(qtbot, chart):
    _, whole, start, end = shown(chart, SHELF)
    canvas = chart.canvas
    y = spot(chart, start).y()
    assert canvas.loads.at(QPointF(spot(chart, start))) == start
    between = QPoint(round(canvas.scale.pixel(230.0)), y)
    assert canvas.loads.at(QPointF(between)) == whole
    qtbot.mousePress(canvas, LEFT, pos=between)
    qtbot.mouseMove(canvas, between + QPoint(31, 0))
    way = canvas.loads.mark.station - whole.station
    assert way > 0.0
    assert [m.station for m in canvas.loads.marks[1:]] == pytest.approx(
        [250.0 + way, 200.0 + way, 300.0 + way]
    )
    qtbot.keyClick(canvas, Qt.Key.Key_Escape)
    assert [m.station for m in canvas.loads.marks[1:]] == [250.0, 200.0, 300.0]
    assert [m.reach for m in marks_while_moved(canvas.loads.marks, end.index, 330.0)[1:]] == (
        [(200.0, 330.0)] * 3
    )


def test_keys_choose_move_and_delete_loads(qtbot, chart):
    marks = shown(chart, BENDING)
    canvas = chart.canvas
    qtbot.keyClick(canvas, Qt.Key.Key_BracketRight)
    assert canvas.loads.mark == marks[0]
    for _ in range(3):
        qtbot.keyClick(canvas, Qt.Key.Key_Right)
    assert canvas.loads.mark.station == 123.0
    qtbot.keyClick(canvas, Qt.Key.Key_BracketRight)
    assert chart.told == [("mark_chosen", 0), ("moved", marks[0], 123.0), ("mark_chosen", 2)]
    qtbot.keyClick(canvas, Qt.Key.Key_Delete)
    assert chart.told[-1][0] == "delete_asked"
    assert chart.told[-1][1].kind == "force"


def test_the_menu_of_a_place_adds_and_that_of_a_marker_deletes(qtbot, chart):
    marks = shown(chart, BENDING)
    canvas = chart.canvas

    def menu(place):
        asked = QContextMenuEvent(
            QContextMenuEvent.Reason.Mouse, place, canvas.mapToGlobal(place)
        )  # fmt: skip
        QApplication.sendEvent(canvas, asked)
        found = QApplication.activePopupWidget()
        return {each.text().replace("&", ""): each for each in found.actions() if each.text()}

    middle = QPoint(
        round(canvas.scale.pixel(300.0)), round(canvas.frame.plot.center().y())
    )  # fmt: skip
    for words, kind in (
        ("Support here", "support"),
        ("Clamp here", "clamp"),
        ("Force here …", "force"),
        ("Force on a face of the model …", "on face"),
    ):
        menu(middle)[words].trigger()
        assert chart.told[-1][:2] == ("asked", kind)
        assert chart.told[-1][2] == pytest.approx(300.0, abs=1.0)
        QApplication.activePopupWidget().close()
    menu(spot(chart, marks[2]))["Delete force 1"].trigger()
    assert chart.told[-1] == ("delete_asked", marks[2])
    QApplication.activePopupWidget().close()


def test_curves_of_the_load_case_are_there_as_long_as_it_is(qtbot, chart, answer):
    assert not chart.load_box.isVisible()
    assert chart.curve_box.count() == len(CURVES)
    height = chart.canvas.frame.plot.height()
    shown(chart, BENDING, answer)
    assert chart.canvas.frame.plot.height() < height
    assert chart.load_box.currentText() == "bending"
    qtbot.keyClick(chart.curve_box, Qt.Key.Key_End)
    assert chart.canvas.curve.name == "strength"
    chart.set_curve("moment")
    curve = chart.canvas.curve
    # Beam tables: F a b / l under a force between supports.
    assert curve.value_at(chart.canvas.stations, 220.0) == pytest.approx(100 * 100 * 160 / 260)
    assert curve.text(6153.8, PLAIN) == "6.15 N·m"
    chart.canvas.crosshair = 220.0
    readings = dict(chart.canvas.readings())
    assert readings["Bending moment"] == "6.15 N·m"
    assert {"Shear force", "Torque", "Deflection", "Largest stress"} <= set(readings)
    # What was known is dropped with the plan that it was of.
    shown(chart, BENDING)
    assert chart.canvas.curve.name == "moment"
    assert not len(chart.canvas.curve.numbers)
    assert dict(chart.canvas.readings())["Bending moment"] == "not known yet"
    chart.grab()
    chart.set_loads((), None, None)
    assert chart.canvas.curve is CURVES[0]
    assert chart.canvas.frame.plot.height() == height


def test_curves_are_those_of_beam_tables(answer):
    curves = {curve.name: curve for curve in load_curves(answer)}
    assert [*curves] == [curve.name for curve in LOAD_CURVES]
    inertia, force, left, right, span = 40.0 * 25.0**3 / 12, 100.0, 100.0, 160.0, 260.0
    moment = force * left * right / span
    assert curves["moment"].numbers.max() == pytest.approx(moment)
    assert curves["shear"].numbers.max() - curves["shear"].numbers.min() == pytest.approx(force)
    assert curves["stress"].numbers.max() == pytest.approx(moment * 12.5 / inertia)
    sag = force * left**2 * right**2 / (3 * 2000.0 * inertia * span)
    at = np.searchsorted(curves["deflection"].at, 220.0)
    assert abs(curves["deflection"].numbers[at]) == pytest.approx(sag, rel=2e-3)
    _, planned = curves["strength"].beside
    assert planned == pytest.approx(2.0 * curves["strength"].numbers)


def test_vectors_in_one_plane_have_a_sign_and_others_their_size():
    way = np.array([0.6, 0.8])
    assert in_plane(np.outer([1.0, -3.0, 2.0], way)) == pytest.approx([-1.0, 3.0, -2.0])
    assert in_plane(np.array([[3.0, 4.0], [0.0, 5.0]])) == pytest.approx([5.0, 5.0])


def test_seams_are_marked_with_what_they_hold(chart, answer):
    shown(chart, BENDING, answer)
    chart.set_curve("strength")
    canvas = chart.canvas
    boxes = hold_boxes(canvas.holds, canvas.scale, canvas.frame, canvas.fontMetrics())
    assert [hold.text for hold, _ in boxes] == ["S1 40 %", "S2 90 %"]
    # They are 2 mm apart: one below the other.
    assert not boxes[0][1].intersects(boxes[1][1])
    words = canvas.tip_at(boxes[0][1].center())
    assert words.startswith("Seam S1 holds 40 % of what the uncut part holds")
    assert "thread of screw 1" in words


def test_a_load_case_after_a_marker_was_moved_or_taken_away():
    marks = load_marks(SHELF, (LOW, HIGH))
    assert with_moved(SHELF, marks[0], 110.0).case.supports[0].station == 110.0
    start, end = marks[2], marks[3]
    assert with_moved(SHELF, start, 250.0).case.loads[0].start == 250.0
    assert with_moved(SHELF, start, 250.0).case.loads[0].end == 300.0
    with pytest.raises(LoadError):
        with_moved(SHELF, end, 150.0)
    with pytest.raises(LoadError):
        without_mark(SHELF, marks[0])
    assert without_mark(SHELF, marks[1]).case.loads == ()
    held = load_marks(BENDING, (LOW, HIGH))
    with pytest.raises(LoadError):
        with_moved(BENDING, held[0], 380.0)
    three = with_support(BENDING, Support(250.0))
    assert [each.station for each in three.case.supports] == [120.0, 380.0, 250.0]
    beside = with_load(BENDING, PointLoad(200.0, (1.0, 0.0, 0.0), at=(200.0, 3.0, 4.0)))
    mark = load_marks(beside, (LOW, HIGH))[-1]
    # The point of the force's line goes along.
    assert with_moved(beside, mark, 230.0).case.loads[-1].at == (230.0, 3.0, 4.0)


def test_markers_tell_how_much_and_in_which_way():
    case = BENDING.case
    loads = PointLoad(200.0, moment=(2500.0, 0.0, 0.0)), WeightLoad((0.0, 0.0, -9.81))
    loading = replace(BENDING, case=replace(case, loads=(*case.loads, *loads)))
    marks = load_marks(loading, (LOW, HIGH), PLAIN)
    assert [(m.kind, m.label, m.way) for m in marks[2:]] == [
        ("force", "100 N −z", (0, -1)),
        ("couple", "2.5 N·m +x", (0, 0)),
        ("weight", "9.8 N −z", (0, -1)),
    ]
    assert [m.is_movable for m in marks] == [True, True, True, True, False]
    # What falls is told by its share alone: how hard it hits depends on the part.
    falling = replace(BENDING, fall=Fall(500.0))
    assert load_marks(falling, (LOW, HIGH), PLAIN)[-1].label == "fall −z"
    shared = with_load(falling, WeightLoad((0.0, 0.0, -300.0)))
    labels = [mark.label for mark in load_marks(shared, (LOW, HIGH), PLAIN)[-2:]]
    assert labels == ["25 % of the fall −z", "75 % of the fall −z"]
