"""The plan of a seam: its room, and pins moved in it by real mouse and key events."""

import gc
import math
import weakref

import numpy as np
import pytest
from PySide6.QtCore import QEvent, QLocale, QPoint, QPointF, QRectF, Qt
from PySide6.QtGui import QColor, QMouseEvent, QPalette, QWheelEvent
from PySide6.QtTest import QTest
from PySide6.QtWidgets import QApplication, QLabel, QPushButton, QVBoxLayout, QWidget
from shapely.geometry import MultiPolygon, Point, box

from splitplanner.plan import Joint, Pin
from splitplanner.window.quantities import Quantities
from splitplanner.window.seams.flat import FlatFastener
from splitplanner.window.seams.ground import SeamGround, shown_lines, standing
from splitplanner.window.seams.painting import bar_length
from splitplanner.window.seams.scale import SeamScale
from splitplanner.window.seams.seam_plan import SeamPlan
from tests.window.boxes import figures, joint

C = QLocale(QLocale.Language.C)
LEFT, NONE = Qt.MouseButton.LeftButton, Qt.KeyboardModifier.NoModifier
SHIFT, CONTROL = Qt.KeyboardModifier.ShiftModifier, Qt.KeyboardModifier.ControlModifier
EDGE = 2.25
THIN = 2.4
"""Wall of a shell, in which no pin of this edge distance fits."""


def row():
    return figures().seams[0]


def pin(u, v, edge=EDGE):
    """Return a pin at a place of the seam, a rectangle of 200 x 240 mm."""
    plane = row().seam.plane
    (at,) = plane.to_space([(u, v)]).tolist()
    return Pin(tuple(at), plane.normal, "ISO 8734", 2.5, 10.0, 2.7, 5.5, edge)


def pinned(*pins):
    return Joint("S1", pins)


def middle():
    low_u, low_v, high_u, high_v = row().seam.section.shape.bounds
    return (low_u + high_u) / 2, (low_v + high_v) / 2


@pytest.fixture
def plan(qtbot):
    made = SeamPlan()
    qtbot.addWidget(made)
    made.set_quantities(Quantities("mm", C))
    made.resize(420, 360)
    made.show()
    u, v = middle()
    made.show_seam(row(), pinned(pin(u, v), pin(u + 40, v)), EDGE)
    made.canvas.setFocus()
    return made


def spot(plan, u, v):
    return plan.canvas.scale.to_screen(u, v).toPoint()


def place(plan, point):
    return plan.canvas.scale.to_plane(QPointF(point))


def press(plan, u, v, button=LEFT):
    QTest.mousePress(plan.canvas, button, NONE, spot(plan, u, v))


def move(plan, u, v, keys=NONE):
    """Move the pointer as a hand does, with the button and perhaps a key held."""
    point = spot(plan, u, v)
    if keys == NONE:
        QTest.mouseMove(plan.canvas, point)
    else:
        event = _move_event(plan, point, keys)
        QApplication.sendEvent(plan.canvas, event)
    return place(plan, point)


def _move_event(plan, point, keys):
    where = QPointF(plan.canvas.mapToGlobal(point))
    return QMouseEvent(
        QEvent.Type.MouseMove, QPointF(point), where, Qt.MouseButton.NoButton, LEFT, keys
    )


def release(plan, u, v, button=LEFT):
    QTest.mouseRelease(plan.canvas, button, NONE, spot(plan, u, v))


# -- geometry -------------------------------------------------------------------------------
def ground(shape, deep=None):
    return SeamGround(MultiPolygon([shape]), MultiPolygon([] if deep is None else [deep]))


def test_the_room_of_a_rectangle_is_a_smaller_one():
    made = ground(box(0, 0, 30, 10))
    assert made.room(2.0).bounds == pytest.approx((2, 2, 28, 8), abs=0.01)
    assert made.holds(15, 5, 2.0)
    assert not made.holds(1.9, 5, 2.0)
    # From outside of one side and of a corner: straight in, and into the corner.
    assert made.nearest(15, 40, 2.0) == pytest.approx((15, 8), abs=0.01)
    assert made.nearest(-5, -5, 2.0) == pytest.approx((2, 2), abs=0.01)
    assert made.nearest(15, 5, 2.0) == (15, 5)


def test_a_place_in_the_room_keeps_all_of_the_edge_distance():
    made = ground(Point(0, 0).buffer(20, quad_segs=64).difference(Point(3, 2).buffer(6)))
    for angle in np.linspace(0, 2 * math.pi, 50):
        u, v = made.nearest(30 * math.cos(angle), 30 * math.sin(angle), 3.0)
        assert made.to_edge(u, v) >= 3.0


def test_the_distance_to_the_edge_is_below_nothing_outside():
    made = ground(box(0, 0, 30, 10))
    assert made.to_edge(15, 2) == pytest.approx(2)
    assert made.to_edge(15, 13) == pytest.approx(-3)


def test_without_room_a_place_is_left_as_it_is():
    made = ground(box(0, 0, 200, THIN))
    assert made.room(EDGE).is_empty
    assert made.nearest(40, 1, EDGE) == (40, 1)
    assert made.roomiest((), EDGE) is None
    assert made.widest[0] == pytest.approx(THIN, abs=0.01)


def test_the_roomiest_place_is_far_from_the_pins():
    made = ground(box(0, 0, 100, 10))
    assert made.holds(*made.roomiest((), 2.0), 2.0)
    u, _ = made.roomiest((FlatFastener(10, 5, 3, 2.0),), 2.0)
    assert u == pytest.approx(98, abs=0.01)
    assert ground(box(0, 0, 5, 5)).roomiest((FlatFastener(2.5, 2.5, 3, 2.0),), 2.0) is None


def test_pins_that_are_too_near_are_found():
    made = ground(box(0, 0, 100, 20))
    pins = [
        FlatFastener(50, 10, 3, 2.0),
        FlatFastener(53.9, 10, 3, 2.0),
        FlatFastener(20, 10, 3, 2.0),
    ]
    stands = standing(made, pins, 0)
    assert (stands.near, stands.too_near) == (1, (1,))
    assert stands.apart == pytest.approx(3.9)
    assert standing(made, pins[::2], 0).too_near == ()
    assert standing(made, pins[:1], 0).near is None


def test_the_scale_goes_to_the_screen_and_back():
    scale = SeamScale(400, 300, 12.0, -7.0, 3.0)
    assert scale.to_screen(12, -7) == QPointF(200, 150)
    # v runs up, and y of the screen down.
    assert scale.to_screen(22, 3) == QPointF(230, 120)
    assert scale.to_plane(QPointF(230, 120)) == pytest.approx((22, 3))
    zoomed = scale.zoomed(4.0, QPointF(30, 40))
    assert zoomed.per_mm == 12.0
    assert zoomed.to_plane(QPointF(30, 40)) == pytest.approx(scale.to_plane(QPointF(30, 40)))
    panned = scale.panned(10, 20)
    assert panned.to_screen(22, 3) == QPointF(240, 140)


def test_what_is_fitted_fills_its_place():
    scale = SeamScale(400, 300).fitted((10, 20, 110, 30), QRectF(20, 10, 200, 100))
    assert scale.per_mm == 2.0
    assert scale.to_screen(10, 25) == QPointF(20, 60)
    assert scale.to_screen(110, 25) == QPointF(220, 60)


@pytest.mark.parametrize(
    ("per_mm", "unit", "length"),
    [(1.0, "mm", 50.0), (9.0, "mm", 10.0), (150.0, "mm", 0.5), (1.0, "inch", 2 * 25.4)],
)
def test_the_scale_bar_is_round(per_mm, unit, length):
    assert bar_length(per_mm, Quantities(unit, C)) == pytest.approx(length)


def test_what_shows_of_an_outline_is_as_long_as_measured():
    part, seen = figures().part, figures().good_side
    assert shown_lines(row().seam, part, seen).length == pytest.approx(
        row().figures.seen_length, abs=0.1
    )
    assert shown_lines(row().seam, part, np.zeros_like(seen)).is_empty
    # The side of the box that looks along y, on which the outline is 240 mm long.
    side = np.isclose(part.face_normals, (0.0, 1.0, 0.0)).all(axis=1)
    assert shown_lines(row().seam, part, side).length == pytest.approx(240, abs=0.1)


# -- mouse ----------------------------------------------------------------------------------
def test_a_dragged_pin_follows_and_is_told_once(qtbot, plan):
    u, v = middle()
    moved = []
    plan.moved.connect(lambda *args: moved.append(args))
    with qtbot.waitSignal(plan.taken) as chosen:
        press(plan, u + 40, v)
    assert chosen.args == [1]
    start = place(plan, spot(plan, u + 40, v))
    move(plan, u + 20, v + 10)
    end = move(plan, u + 10, v + 30)
    assert not moved
    release(plan, u + 10, v + 30)
    wanted = (u + 40 + end[0] - start[0], v + end[1] - start[1])
    assert moved == [(1, pytest.approx(wanted[0]), pytest.approx(wanted[1]))]


def test_a_pin_stops_at_the_edge_of_its_room(qtbot, plan):
    u, v = middle()
    low_u = row().seam.section.shape.bounds[0]
    press(plan, u, v)
    move(plan, low_u - 10, v)
    with qtbot.waitSignal(plan.moved) as moved:
        release(plan, low_u - 10, v)
    assert moved.args[1] == pytest.approx(low_u + EDGE, abs=0.01)
    assert moved.args[1] >= low_u + EDGE
    assert "2.3 mm to the edge" in plan.told


def test_with_shift_it_leaves_the_room_and_that_is_said(qtbot, plan):
    u, v = middle()
    low_u = row().seam.section.shape.bounds[0]
    press(plan, u, v)
    end = move(plan, low_u - 10, v, SHIFT)
    assert "outside of the seam" in plan.told
    with qtbot.waitSignal(plan.moved) as moved:
        release(plan, low_u - 10, v)
    assert moved.args[1] == pytest.approx(end[0], abs=1.0 / plan.canvas.scale.per_mm)
    assert moved.args[1] < low_u


def test_escape_puts_it_back(qtbot, plan):
    u, v = middle()
    press(plan, u, v)
    move(plan, u + 10, v + 30)
    qtbot.keyClick(plan.canvas, Qt.Key.Key_Escape)
    with qtbot.assertNotEmitted(plan.moved):
        move(plan, u + 20, v + 30)
        release(plan, u + 20, v + 30)
    assert (plan.canvas.fasteners[0].u, plan.canvas.fasteners[0].v) == pytest.approx((u, v))


def test_a_click_chooses_and_moves_nothing(qtbot, plan):
    u, v = middle()
    with qtbot.assertNotEmitted(plan.moved), qtbot.waitSignal(plan.taken):
        QTest.mouseClick(plan.canvas, LEFT, NONE, spot(plan, u, v) + QPoint(2, 0))
    assert plan.chosen == 0


def test_pins_near_each_other_are_warned_of(plan):
    u, v = middle()
    plan.canvas.fit((u - 10, v - 10, u + 50, v + 10))
    press(plan, u, v)
    move(plan, u + 37, v)
    assert "only 3.0 mm to pin 2, better 4.5 mm" in plan.told
    release(plan, u + 37, v)


def test_a_drag_goes_on_when_what_was_measured_comes_in(qtbot, plan):
    u, v = middle()
    pins = (pin(u, v), pin(u + 40, v))
    press(plan, u, v)
    move(plan, u + 10, v + 30)
    plan.show_seam(row(), pinned(*pins), EDGE)
    with qtbot.waitSignal(plan.moved):
        release(plan, u + 10, v + 30)
    # Other pins: the one in hand is let go.
    press(plan, u + 40, v)
    move(plan, u + 50, v - 30)
    plan.show_seam(row(), pinned(*pins[:1]), EDGE)
    with qtbot.assertNotEmitted(plan.moved):
        release(plan, u + 50, v - 30)


def test_the_wheel_zooms_to_the_pointer(qtbot, plan):
    at = QPointF(100, 60)
    before, u_v = plan.canvas.scale, plan.canvas.scale.to_plane(at)
    event = QWheelEvent(
        at, QPointF(plan.canvas.mapToGlobal(at.toPoint())), QPoint(0, 0), QPoint(0, 240),
        Qt.MouseButton.NoButton, NONE, Qt.ScrollPhase.NoScrollPhase, False,
    )  # fmt: skip
    QApplication.sendEvent(plan.canvas, event)
    assert plan.canvas.scale.per_mm > 1.2 * before.per_mm
    assert plan.canvas.scale.to_plane(at) == pytest.approx(u_v)


@pytest.mark.parametrize("button", [LEFT, Qt.MouseButton.MiddleButton])
def test_dragging_the_empty_drawing_moves_it_and_a_double_click_fits_it(qtbot, plan, button):
    before = plan.canvas.scale
    start, end = QPoint(10, 10), QPoint(60, 40)
    QTest.mousePress(plan.canvas, button, NONE, start)
    QTest.mouseMove(plan.canvas, end)
    QTest.mouseRelease(plan.canvas, button, NONE, end)
    assert place(plan, end) == pytest.approx(before.to_plane(QPointF(start)))
    QTest.mouseDClick(plan.canvas, LEFT, NONE, QPoint(4, 4))
    assert plan.canvas.scale == before


def test_a_double_click_in_the_room_adds_a_pin(qtbot, plan):
    u, v = middle()
    point = spot(plan, u - 30, v + 20)
    with qtbot.waitSignal(plan.pin_added) as added:
        QTest.mouseDClick(plan.canvas, LEFT, NONE, point)
    assert added.args == pytest.approx(list(place(plan, point)))
    # Not on top of one that is there.
    with qtbot.assertNotEmitted(plan.pin_added):
        QTest.mouseDClick(plan.canvas, LEFT, NONE, spot(plan, u, v))


# -- keys -----------------------------------------------------------------------------------
@pytest.mark.parametrize(
    ("key", "held", "step"),
    [
        (Qt.Key.Key_Right, NONE, (0.5, 0)),
        (Qt.Key.Key_Left, SHIFT, (-0.1, 0)),
        (Qt.Key.Key_Up, CONTROL, (0, 5.0)),
        (Qt.Key.Key_Down, NONE, (0, -0.5)),
    ],
)
def test_arrows_move_the_chosen_pin(qtbot, plan, key, held, step):
    u, v = middle()
    plan.choose(1)
    with qtbot.waitSignal(plan.moved) as moved:
        qtbot.keyClick(plan.canvas, key, held)
    assert moved.args == [1, pytest.approx(u + 40 + step[0]), pytest.approx(v + step[1])]


def test_a_key_that_is_held_is_one_act(qtbot, plan):
    u, _ = middle()
    moved = []
    plan.moved.connect(lambda *args: moved.append(args))
    plan.choose(0)
    for _ in range(3):
        QTest.keyPress(plan.canvas, Qt.Key.Key_Right)
    assert not moved
    QTest.keyRelease(plan.canvas, Qt.Key.Key_Right)
    assert [args[1] for args in moved] == [pytest.approx(u + 1.5)]


def test_arrows_stop_at_the_edge_of_the_room(qtbot, plan):
    low_u, v = row().seam.section.shape.bounds[0], middle()[1]
    plan.show_seam(row(), pinned(pin(low_u + EDGE + 2, v)), EDGE)
    plan.choose(0)
    with qtbot.waitSignal(plan.moved) as moved:
        qtbot.keyClick(plan.canvas, Qt.Key.Key_Left, CONTROL)
    assert moved.args[1] == pytest.approx(low_u + EDGE, abs=0.01)
    with qtbot.assertNotEmitted(plan.moved):
        qtbot.keyClick(plan.canvas, Qt.Key.Key_Left)


def test_brackets_choose_a_pin(qtbot, plan):
    chosen = []
    plan.taken.connect(chosen.append)
    for key in (Qt.Key.Key_BracketRight,) * 3 + (Qt.Key.Key_BracketLeft,):
        qtbot.keyClick(plan.canvas, key)
    assert chosen == [0, 1, 0, 1]


def test_tab_goes_through_the_pins_and_then_on(qtbot, plan):
    holder = QWidget()
    qtbot.addWidget(holder)
    after = QPushButton("after")
    layout = QVBoxLayout(holder)
    layout.addWidget(plan)
    layout.addWidget(after)
    holder.show()
    holder.activateWindow()
    plan.canvas.setFocus()
    for wanted in (0, 1):
        qtbot.keyClick(plan.canvas, Qt.Key.Key_Tab)
        assert plan.chosen == wanted
        assert holder.focusWidget() is plan.canvas
    qtbot.keyClick(plan.canvas, Qt.Key.Key_Tab)
    assert holder.focusWidget() is not plan.canvas
    # Each is closed by itself.
    plan.setParent(None)


def test_pins_are_deleted_and_added_by_keys(qtbot, plan):
    with qtbot.assertNotEmitted(plan.deleted):
        qtbot.keyClick(plan.canvas, Qt.Key.Key_Delete)
    plan.choose(1)
    with qtbot.waitSignal(plan.deleted) as deleted:
        qtbot.keyClick(plan.canvas, Qt.Key.Key_Delete)
    assert deleted.args == [1]
    with qtbot.waitSignal(plan.pin_added) as added:
        qtbot.keyClick(plan.canvas, Qt.Key.Key_Insert)
    u, v = middle()
    assert row().seam.section.shape.contains(Point(added.args))
    assert math.hypot(added.args[0] - u, added.args[1] - v) > 100


def test_the_pins_near_by_and_the_whole_are_seen_by_keys_and_buttons(qtbot, plan):
    whole = plan.canvas.scale
    qtbot.keyClick(plan.canvas, Qt.Key.Key_F)
    near = plan.canvas.scale
    assert near.per_mm > 2 * whole.per_mm
    for each in plan.canvas.fasteners:
        assert QRectF(plan.canvas.rect()).contains(near.to_screen(each.u, each.v))
    plan.resize(600, 500)
    assert plan.canvas.scale.per_mm > near.per_mm
    plan.resize(420, 360)
    qtbot.keyClick(plan.canvas, Qt.Key.Key_0)
    assert plan.canvas.scale == whole
    qtbot.keyClick(plan.canvas, Qt.Key.Key_Plus)
    assert plan.canvas.scale.per_mm > whole.per_mm


# -- what is said ---------------------------------------------------------------------------
def test_where_a_pin_stands_is_told_in_the_units_of_the_user(plan):
    u, v = middle()
    plan.choose(0)
    at = f"Pin 1: u {u:.1f} mm, v {v:.1f} mm, 100.0 mm to the edge, 40.0 mm to pin 2"
    assert plan.told == at
    plan.set_quantities(Quantities("inch", C))
    assert plan.told.endswith("3.94 in to the edge, 1.57 in to pin 2")
    assert plan.told in [label.text() for label in plan.findChildren(QLabel)]
    assert plan.canvas.accessibleDescription() == plan.told
    assert "S1" in plan.canvas.accessibleName()


def test_where_nothing_fits_that_is_said(qtbot, plan):
    # The rectangle is 200 mm wide.
    plan.show_seam(row(), None, 120.0)
    assert plan.told.startswith("No room for a pin: the wall is 200.00 mm wide")
    assert plan.told.endswith("needs 240.01 mm.")
    with qtbot.assertNotEmitted(plan.pin_added):
        qtbot.keyClick(plan.canvas, Qt.Key.Key_Insert)


def test_no_seam_is_no_fault(qtbot, plan):
    plan.choose(0)
    plan.show_seam(None, None, 0.0)
    assert (plan.chosen, plan.told) == (None, "")
    for key in (Qt.Key.Key_Right, Qt.Key.Key_Insert, Qt.Key.Key_F, Qt.Key.Key_BracketRight):
        qtbot.keyClick(plan.canvas, key)
    QTest.mouseDClick(plan.canvas, LEFT, NONE, QPoint(50, 50))
    assert plan.canvas.ground is None


def test_the_same_seam_keeps_zoom_and_chosen_pin(plan):
    plan.canvas.fit_fasteners()
    plan.choose(1)
    scale = plan.canvas.scale
    plan.show_seam(row(), joint(), EDGE)
    assert (plan.canvas.scale, plan.chosen) == (scale, 1)


@pytest.mark.parametrize("paper", ["#F4F5F7", "#23262B"])
def test_the_seam_is_drawn_where_it_is(plan, paper):
    plan.setPalette(QPalette(QColor(paper)))
    picture = plan.canvas.grab().toImage()
    ratio = picture.devicePixelRatio()
    low_u, low_v, _, high_v = row().seam.section.shape.bounds

    def colour(u, v):
        point = plan.canvas.scale.to_screen(u, v) * ratio
        return picture.pixelColor(point.toPoint())

    assert colour(low_u + 30, low_v + 60) != colour(low_u - 8, (low_v + high_v) / 2)
    # Within the edge distance of the outline is the colour of the piece, not that of the room.
    plan.canvas.fit((low_u - 2, high_v - 8, low_u + 8, high_v + 2))
    picture = plan.canvas.grab().toImage()
    assert colour(low_u + 1, high_v - 5) != colour(low_u - 1, high_v - 5)
    assert colour(low_u + 1, high_v - 5) != colour(low_u + 5, high_v - 5)


def test_a_plan_is_freed(qtbot):
    made = SeamPlan()
    made.show_seam(row(), joint(), EDGE)
    gone = weakref.ref(made)
    del made
    gc.collect()
    assert gone() is None
