"""Load cases on the chart and the model of a whole window. Expected values: lines of sight."""

from dataclasses import replace

import numpy as np
import pytest
from PySide6.QtCore import QPoint, Qt
from PySide6.QtTest import QTest

from splitplanner.background.overlay import SHARE
from splitplanner.background.strength_overlays import checked_overlay
from splitplanner.plan import with_loading
from tests.window.desk import SIZES, point
from tests.window.hands import NONE
from tests.window.loaded import X, Y, answer_of, between_supports, held_at_end, strength_of

LEFT = Qt.MouseButton.LeftButton
BENDING = between_supports(30.0, 400.0, 200.0, name="bending")
SHELF = replace(held_at_end(10.0, 30.0, 70.0, name="shelf"), axis=Y)


@pytest.fixture(scope="module")
def opened(desk, model):
    desk.begin(model)
    desk.drawn()
    desk.idle()
    return desk


@pytest.fixture
def loaded(opened):
    """With two load cases, along x and along y, of which the first is shown."""
    session, window = opened.session, opened.window
    plan = with_loading(with_loading(session.plan, BENDING), SHELF)
    if plan != session.plan:
        session.apply("add load cases", plan)
    if session.axis != X:
        session.choose_axis(X)
        opened.until(lambda: session.stations.axis == X)
    window.selection.choose_load("bending")
    opened.settle()
    opened.faults.clear()
    return opened


def loading(desk, name="bending"):
    return next(each for each in desk.session.plan.loadings if each.name == name)


def chart_spot(desk, index):
    canvas = desk.window.chart.canvas
    mark = canvas.loads.marks[index]
    room = canvas.frame.below if mark.is_support else canvas.frame.above
    return QPoint(round(canvas.scale.pixel(mark.station)), round(room.center().y()))


def view_spot(desk, index):
    """Half way up an arrow, or the middle of what a support is drawn as."""
    shape = desk.view.loads.shapes[index]
    shown = shape.areas[0] if shape.areas else shape.arrows[0]
    return point(desk.view.camera.pixels(shown.mean(axis=0)[None])[0])


def test_a_marker_that_is_dragged_in_the_chart_is_one_step_and_undone_as_one(loaded):
    session, canvas = loaded.session, loaded.window.chart.canvas
    before, start = session.plan, chart_spot(loaded, 2)
    # Where nothing is near into which it would click, however wide the chart is.
    scale = canvas.scale.mm_per_pixel
    clicks = np.array([215.0, *(place.station for place in session.places)])
    away = max(range(20, 60), key=lambda at: float(np.abs(clicks - 200.0 - at * scale).min()))
    far = QPoint(away, 0)
    QTest.mousePress(canvas, LEFT, NONE, start)
    QTest.mouseMove(canvas, start + QPoint(10, 0))
    session.checked.emit()
    QTest.mouseMove(canvas, start + far)
    QTest.mouseRelease(canvas, LEFT, NONE, start + far)
    station = loading(loaded).case.loads[0].station
    assert station == pytest.approx(200.0 + away * scale, abs=0.1)
    assert session.document.undo_label == "move force 1"
    assert canvas.loads.mark.station == station
    assert loaded.view.loads.shapes[2].mark.station == station
    session.document.undo()
    assert session.plan.loadings == before.loadings
    assert canvas.loads.marks[2].station == 200.0


def test_what_is_dragged_in_the_view_goes_along_the_axis_below_the_pointer(loaded):
    view, session = loaded.view, loaded.session
    shape = view.loads.shapes[2]
    # The force of 100 N ends on the upper side, over the middle of the section.
    assert shape.arrows[0][1] == pytest.approx([200.0, SIZES[1] / 2, SIZES[2]])
    start = view_spot(loaded, 2)
    middle = shape.arrows[0].mean(axis=0)
    # Where nothing is near into which it would click.
    places = np.array([215.0, *(place.station for place in session.places)])
    wanted = max(range(240, 340), key=lambda at: float(np.abs(places - at).min()))
    goal = point(view.camera.pixels([middle + np.array([wanted - 200.0, 0.0, 0.0])])[0])
    QTest.mousePress(view, LEFT, NONE, start)
    QTest.mouseMove(view, goal)
    # Answers that come meanwhile leave it in hand.
    session.checked.emit()
    loaded.window.view_link.refresh()
    QTest.mouseMove(view, goal)
    # Both markers go along at once; the plan waits.
    assert loaded.window.chart.canvas.loads.marks[2].station > 235.0
    assert loading(loaded) == BENDING
    QTest.mouseRelease(view, LEFT, NONE, goal)
    per_pixel = float(view.camera.pixel_size([middle])[0])
    assert loading(loaded).case.loads[0].station == pytest.approx(wanted, abs=3 * per_pixel)
    assert loaded.window.chart.canvas.loads.selected == 2
    assert session.document.undo_label == "move force 1"


def test_escape_puts_a_support_back_in_view_and_chart(loaded):
    view = loaded.view
    start = view_spot(loaded, 1)
    QTest.mousePress(view, LEFT, NONE, start)
    QTest.mouseMove(view, start + QPoint(-40, 5))
    assert view.loads.shapes[1].mark.station < 399.0
    QTest.keyClick(view, Qt.Key.Key_Escape)
    for marks in (loaded.window.chart.canvas.loads.marks, [s.mark for s in view.loads.shapes]):
        assert marks[1].station == 400.0
    QTest.mouseRelease(view, LEFT, NONE, start)
    assert loading(loaded) == BENDING


def test_what_makes_no_sense_is_said_and_nothing_moves(loaded):
    view, canvas = loaded.view, loaded.window.chart.canvas
    QTest.mouseClick(view, LEFT, NONE, view_spot(loaded, 0))
    assert canvas.loads.selected == 0
    view.setFocus()
    QTest.keyClick(view, Qt.Key.Key_Delete)
    assert "not held" in str(loaded.faults[-1])
    canvas.loads.choose(1)
    window = loaded.window
    window.chart.load_moved.emit(canvas.loads.marks[0], 400.0)
    assert "two supports are at one station" in str(loaded.faults[-1])
    assert loading(loaded) == BENDING
    assert [mark.station for mark in canvas.loads.marks] == [30.0, 400.0, 200.0]


def test_the_chart_turns_to_the_axis_of_a_load_case_and_says_where_it_does_not(loaded):
    window, chart = loaded.window, loaded.window.chart
    window.selection.choose_load("shelf")
    loaded.until(lambda: loaded.session.stations.axis == Y)
    assert chart.canvas.has_loads
    assert chart.load_box.currentText() == "shelf"
    assert [each.kind for each in chart.canvas.loads.marks] == ["clamp", "spread", "start", "end"]
    loaded.session.choose_axis((1.0, 0.0, 0.0))
    loaded.until(lambda: loaded.session.stations.axis != Y)
    assert not chart.canvas.has_loads
    assert chart.load_box.currentIndex() == -1
    assert chart.load_box.placeholderText() == "along another axis"
    # On the model it stays.
    assert len(loaded.view.loads.shapes) == 4
    chart.load_box.setFocus()
    QTest.keyClick(chart.load_box, Qt.Key.Key_Down)
    loaded.until(lambda: chart.canvas.has_loads)
    assert window.selection.load == chart.load_box.currentText() == "bending"


def test_a_force_is_placed_where_the_model_is_clicked_and_presses_inward(loaded):
    window, view = loaded.window, loaded.view
    window.chart.load_asked.emit("on face", 0.0)
    assert view.mode == "place"
    at = np.array([330.0, 0.0, 41.0])
    QTest.mouseClick(view, LEFT, NONE, point(view.camera.pixels([at])[0]))
    assert view.mode == "look"
    dialog = window.loads_link.dialog
    assert dialog.isVisible()
    dialog.accept()
    load = loading(loaded).case.loads[-1]
    assert load.at == pytest.approx(at, abs=1.0)
    assert load.station == pytest.approx(at[0], abs=1.0)
    assert load.force == pytest.approx((0.0, 100.0, 0.0))
    shape = loaded.view.loads.shapes[-1]
    assert shape.arrows[0][1] == pytest.approx(load.at, abs=0.1)


def test_figures_are_those_of_the_chosen_case_and_go_when_the_plan_changes(loaded):
    window, session = loaded.window, loaded.session
    known = strength_of(session.part, *session.plan.loadings)
    session.examined = replace(session.examined, strength=known)
    window.loads_link.refresh()
    window.chart.set_curve("moment")
    curve = window.chart.canvas.curve
    assert curve.numbers.max() == pytest.approx(
        abs(answer_of(session.part, BENDING).diagrams.moment).max()
    )
    window.chart.load_asked.emit("support", 215.0)
    assert len(loading(loaded).case.supports) == 3
    assert session.document.undo_label == "add support"
    assert not len(window.chart.canvas.curve.numbers)


def test_nothing_stands_on_pieces_that_are_pulled_apart_or_on_the_bed(loaded):
    window, layer = loaded.window, loaded.view.loads
    assert len(layer.shapes) == 3
    window.tools.set_on_bed(True)
    assert layer.shapes == ()
    window.tools.set_on_bed(False)
    assert len(layer.shapes) == 3


def test_faces_are_coloured_by_the_chosen_load_case_and_by_no_other_meanwhile(loaded):
    window, tools = loaded.window, loaded.window.tools
    tools.faces.setCurrentText(SHARE)
    loaded.until(lambda: tools._overlay is not None)
    assert "“bending”" in tools.words.text()
    assert "%" in tools.legend.text()
    (body,) = loaded.view._bodies
    # The box of 12 faces is divided, so that colours tell of places.
    assert len(body.face_colours) == len(body.faces) > 100
    window.selection.choose_load("shelf")
    assert tools._overlay is None
    loaded.until(lambda: tools._overlay is not None)
    assert "“shelf”" in tools.words.text()
    tools.faces.setCurrentIndex(0)
    offered = checked_overlay(SHARE, "shelf", {"1": np.linspace(0.0, 1.0, 12)})
    tools.offer([offered])
    assert tools.faces.currentText() == "share of strength, checked"
    window.selection.choose_load("bending")
    window.chart.load_asked.emit("support", 215.0)
    assert tools.faces.findText(offered.name) < 0
