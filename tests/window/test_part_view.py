"""The view, with real mouse and key events: what is emitted against the sums of lines of sight."""

import threading
import time

import numpy as np
import pytest
from PySide6.QtCore import QEvent, QPoint, QPointF, Qt
from PySide6.QtGui import QColor, QMouseEvent, QPalette, QWheelEvent
from PySide6.QtWidgets import QApplication

from splitplanner.arrays import to_vector
from splitplanner.output.scene import BedFrame
from splitplanner.solid import Plane, Solid
from splitplanner.window.look import DARK, LIGHT
from splitplanner.window.view.drag import FINE, handle_of
from splitplanner.window.view.marks import spread
from splitplanner.window.view.part_view import PartView
from splitplanner.window.view.values import Mark, Outline, ShownBody, ShownPlane

SIZE = (640, 480)
PART = Solid.box((200, 80, 60), (-100, -40, 0))
ORANGE, SKY = "#E69F00", "#56B4E9"
CUT = Plane((1.0, 0.0, 0.0), 20.0)
LEFT, SHIFT = Qt.MouseButton.LeftButton, Qt.KeyboardModifier.ShiftModifier
NONE, ALT, CTRL = (
    Qt.KeyboardModifier.NoModifier,
    Qt.KeyboardModifier.AltModifier,
    Qt.KeyboardModifier.ControlModifier,
)


def bodies(*solids, colours=(ORANGE, SKY)):
    return [
        ShownBody(f"piece {at + 1}", solid.vertices, solid.faces, colours[at])
        for at, solid in enumerate(solids)
    ]


def shown(plane, index=0, is_selected=True, centre=(0.0, 0.0, 30.0), half=70.0):
    first, second, normal = plane.frame
    foot = np.array(centre) - plane.height([centre])[0] * normal
    signs = ((-1, -1), (1, -1), (1, 1), (-1, 1))
    corners = np.array([foot + half * (a * first + b * second) for a, b in signs])
    return ShownPlane(index, plane, to_vector(foot), corners, f"Cut {index + 1}", is_selected)


@pytest.fixture
def bare(qtbot):
    """A view of the part without a GL."""
    view = PartView(gl_check=lambda: "Nothing can be drawn here.")
    qtbot.addWidget(view, before_close_func=PartView.release)
    view.resize(*SIZE)
    view.show_bodies(bodies(PART))
    view.show()
    qtbot.waitExposed(view)
    return view


@pytest.fixture
def view(qtbot):
    """A view of the part that draws."""
    view = PartView(gl_check=lambda: "")
    qtbot.addWidget(view, before_close_func=PartView.release)
    view.resize(*SIZE)
    view.show_bodies(bodies(PART))
    view.show()
    qtbot.waitUntil(lambda: view._image is not None, timeout=20_000)
    return view


def heard(*signals):
    """Collect what signals say, by name, in order."""
    told = []
    for name, signal in signals:
        signal.connect(lambda *said, name=name: told.append((name, *said)))
    return told


def planes_of(view):
    names = ("grabbed", "dragged", "dropped", "aborted", "chosen")
    return heard(*((name, getattr(view, f"plane_{name}")) for name in names))


def at(view, point):
    return QPoint(*np.round(view.camera.pixels(point)[0]).astype(int).tolist())


def mouse(view, kind, place, modifiers=NONE, button=LEFT):
    """Send an event as Qt does; qtbot's own moves have no buttons."""
    moves = kind == QEvent.Type.MouseMove
    held = Qt.MouseButton.NoButton if kind == QEvent.Type.MouseButtonRelease else button
    place = QPointF(place)
    event = QMouseEvent(
        kind,
        place,
        view.mapToGlobal(place),
        Qt.MouseButton.NoButton if moves else button,
        held,
        modifiers,
    )
    QApplication.sendEvent(view, event)


def drag(view, start, stops, modifiers=NONE, button=LEFT):
    mouse(view, QEvent.Type.MouseButtonPress, start, modifiers, button)
    for stop in stops:
        mouse(view, QEvent.Type.MouseMove, stop, modifiers, button)
    mouse(view, QEvent.Type.MouseButtonRelease, stops[-1], modifiers, button)


def colour_at(view, point):
    place = at(view, point)
    return view.grab().toImage().pixelColor(place)


def is_hue(colour, wanted):
    seen, hue = (np.array(c.getRgb()[:3], float) for c in (colour, QColor(wanted)))
    return seen @ hue / np.linalg.norm(seen) / np.linalg.norm(hue) > 0.995


def height(view, index=0):
    """Where a handle's foot is, and which way its arrow goes."""
    plane = view.planes[index]
    return np.array(plane.centre), np.array(plane.plane.normal)


@pytest.mark.parametrize("is_parallel", [False, True], ids=["perspective", "parallel"])
@pytest.mark.parametrize("normal", [(1.0, 0.0, 0.0), (0.8, 0.3, 0.4)])
def test_the_arrow_takes_the_plane_where_the_pointer_goes(bare, is_parallel, normal):
    bare.set_parallel(is_parallel)
    told = planes_of(bare)
    bare.show_planes([shown(Plane.through((10.0, 5.0, 30.0), normal))])
    # The plane is put where it is dragged to, as the window does it.
    bare.plane_dragged.connect(lambda index, plane, *_: bare.show_planes([shown(plane)]))
    foot, way = height(bare)
    handle = handle_of(bare.planes[0].plane, to_vector(foot), bare.camera)
    start = foot + 0.5 * handle.length * way
    stops = [at(bare, start + step * way) for step in (4.0, 17.0, 31.0)]
    before = bare.planes[0].plane
    drag(bare, at(bare, start), stops)
    assert [said[0] for said in told] == ["grabbed", "dragged", "dragged", "dragged", "dropped"]
    for said, step in zip(told[1:4], (4.0, 17.0, 31.0), strict=True):
        _, index, plane, size, is_fine = said
        assert (index, is_fine) == (0, False)
        assert plane.normal == before.normal
        # A pixel is some 0.7 mm here, and both ends are on whole pixels.
        assert plane.offset - before.offset == pytest.approx(step, abs=1.5 * size)
    # Against lines of sight through just these pixels, it is to the digit.
    camera, (x, y) = bare.camera, (stops[-1].x(), stops[-1].y())
    press = at(bare, start)
    grip = handle.grip("arrow", camera, press.x(), press.y())
    assert told[3][2].offset == pytest.approx(grip.plane(x, y).offset, abs=1e-9)


def nearest_to(ray, foot, way):
    """Where on a line a line of sight passes nearest, by least squares."""
    rows = np.column_stack([way, -ray.direction])
    return np.linalg.lstsq(rows, ray.start - foot, rcond=None)[0][0]


@pytest.mark.parametrize("is_parallel", [False, True], ids=["perspective", "parallel"])
def test_the_dragged_plane_is_where_the_lines_of_sight_pass(bare, is_parallel):
    bare.set_parallel(is_parallel)
    bare.show_planes([shown(CUT)])
    told = planes_of(bare)
    foot, way = height(bare)
    start = at(bare, foot + 10.0 * way)
    stop = start + QPoint(83, -21)
    drag(bare, start, [stop])
    lines = [bare.camera.ray(p.x(), p.y()) for p in (start, stop)]
    before, after = (nearest_to(ray, foot, way) for ray in lines)
    assert told[1][2].offset - CUT.offset == pytest.approx(after - before, abs=0.5)
    assert abs(after - before) > 20


def test_with_shift_it_goes_a_tenth_of_the_way_and_does_not_jump(bare):
    bare.show_planes([shown(CUT)])
    told = planes_of(bare)
    foot, way = height(bare)
    start, middle, stop = (at(bare, foot + step * way) for step in (10.0, 30.0, 50.0))
    mouse(bare, QEvent.Type.MouseButtonPress, start)
    mouse(bare, QEvent.Type.MouseMove, middle)
    mouse(bare, QEvent.Type.MouseMove, middle, SHIFT)
    mouse(bare, QEvent.Type.MouseMove, stop, SHIFT)
    mouse(bare, QEvent.Type.MouseButtonRelease, stop, SHIFT)
    coarse, held, fine = (said for said in told if said[0] == "dragged")
    assert held[2].offset == pytest.approx(coarse[2].offset)
    assert fine[2].offset - coarse[2].offset == pytest.approx(20.0 * FINE, abs=0.2)
    assert [said[4] for said in (coarse, held, fine)] == [False, True, True]
    assert held[3] == pytest.approx(coarse[3] * FINE, rel=0.1)


def test_a_ring_tilts_the_plane_about_its_foot(bare):
    bare.show_planes([shown(CUT)])
    told = planes_of(bare)
    plane = bare.planes[0]
    ring = handle_of(CUT, plane.centre, bare.camera).outline("second ring")
    # Where nothing else is near.
    start, stop = at(bare, ring[24]), at(bare, ring[28])
    drag(bare, start, [stop])
    tilted = told[1][2]
    turn = np.degrees(np.arccos(np.clip(np.dot(tilted.normal, CUT.normal), -1, 1)))
    assert turn == pytest.approx(4 * 360 / 64, abs=1.5)
    assert np.dot(tilted.normal, CUT.frame[1]) == pytest.approx(0, abs=1e-9)
    assert tilted.height([plane.centre])[0] == pytest.approx(0, abs=1e-9)


def test_escape_puts_the_plane_back_and_nothing_is_dropped(bare, qtbot):
    bare.show_planes([shown(CUT)])
    told = planes_of(bare)
    foot, way = height(bare)
    start = at(bare, foot + 10.0 * way)
    mouse(bare, QEvent.Type.MouseButtonPress, start)
    mouse(bare, QEvent.Type.MouseMove, start + QPoint(30, 0))
    assert bare.is_dragging
    qtbot.keyClick(bare, Qt.Key.Key_Escape)
    assert not bare.is_dragging
    mouse(bare, QEvent.Type.MouseMove, start + QPoint(60, 0))
    mouse(bare, QEvent.Type.MouseButtonRelease, start + QPoint(60, 0))
    assert [said[0] for said in told] == ["grabbed", "dragged", "aborted"]


def test_a_plane_that_is_taken_away_in_hand_is_let_go(bare):
    bare.show_planes([shown(CUT)])
    told = planes_of(bare)
    foot, way = height(bare)
    start = at(bare, foot + 10.0 * way)
    mouse(bare, QEvent.Type.MouseButtonPress, start)
    bare.show_planes([])
    mouse(bare, QEvent.Type.MouseMove, start + QPoint(30, 0))
    mouse(bare, QEvent.Type.MouseButtonRelease, start + QPoint(30, 0))
    assert [said[0] for said in told] == ["grabbed"]
    assert not bare.is_dragging


def test_another_planes_arrow_chooses_it_and_its_rings_are_not_there(bare):
    other = Plane((1.0, 0.0, 0.0), -60.0)
    bare.show_planes([shown(CUT), shown(other, 1, is_selected=False)])
    told = planes_of(bare)
    foot, way = height(bare, 1)
    drag(bare, at(bare, foot + 10.0 * way), [at(bare, foot + 20.0 * way)])
    assert [said[:2] for said in told] == [
        ("chosen", 1),
        ("grabbed", 1),
        ("dragged", 1),
        ("dropped", 1),
    ]
    told.clear()
    ring = handle_of(other, to_vector(foot), bare.camera).outline("second ring")
    table = bare.turntable
    drag(bare, at(bare, ring[24]), [at(bare, ring[28])])
    assert told == []
    assert bare.turntable != table


def test_a_click_chooses_planes_and_bodies(bare):
    bare.show_planes([shown(CUT, half=200.0)])
    told = planes_of(bare)
    clicked = heard(("clicked", bare.body_clicked))
    sheet = at(bare, (20.0, 0.0, 120.0))
    drag(bare, sheet, [sheet + QPoint(1, 1)])
    assert told == [("chosen", 0)]
    bare.show_planes([])
    drag(bare, at(bare, (-50.0, 10.0, 60.0)), [at(bare, (-50.0, 10.0, 60.0))])
    (_, name, point, normal), *rest = clicked
    assert (name, rest) == ("piece 1", [])
    assert point == pytest.approx((-50.0, 10.0, 60.0), abs=0.8)
    assert normal == pytest.approx((0.0, 0.0, 1.0))
    # Who turns the view clicks on nothing, and neither does who clicks beside it.
    drag(bare, at(bare, (-50.0, 10.0, 60.0)), [at(bare, (0.0, 10.0, 60.0))])
    drag(bare, QPoint(5, 5), [QPoint(6, 5)])
    assert len(clicked) == 1


def test_the_left_button_turns_and_the_others_move_the_view(bare):
    table = bare.turntable
    drag(bare, QPoint(20, 20), [QPoint(40, 20), QPoint(70, 40)])
    assert bare.turntable.azimuth == pytest.approx(table.azimuth - 50 * 0.4)
    assert bare.turntable.elevation == pytest.approx(table.elevation + 20 * 0.4)
    for button, modifiers in ((Qt.MouseButton.MiddleButton, NONE), (LEFT, SHIFT)):
        table = bare.turntable
        before = bare.camera.pixels(table.focus)[0]
        drag(bare, QPoint(20, 20), [QPoint(30, 45)], modifiers, button)
        assert bare.camera.pixels(table.focus)[0] == pytest.approx(before + np.array([10, 25]))
        assert bare.turntable.azimuth == table.azimuth


def test_the_wheel_comes_nearer_to_what_is_under_the_pointer(bare):
    place, table = QPointF(200, 100), bare.turntable
    ray = bare.camera.ray(200, 100)
    along = (table.focus - ray.start) @ table.axes[2] / (ray.direction @ table.axes[2])
    point = ray.start + along * ray.direction
    event = QWheelEvent(
        place,
        bare.mapToGlobal(place),
        QPoint(),
        QPoint(0, 240),
        Qt.MouseButton.NoButton,
        NONE,
        Qt.ScrollPhase.NoScrollPhase,
        False,
    )
    QApplication.sendEvent(bare, event)
    assert bare.turntable.distance == pytest.approx(table.distance / 1.15**2)
    assert bare.camera.pixels(point)[0] == pytest.approx([200, 100])


def test_a_double_click_brings_it_to_the_middle(bare, qtbot):
    point = (70.0, -10.0, 60.0)
    qtbot.mouseDClick(bare, LEFT, pos=at(bare, point))
    assert bare.turntable.focus == pytest.approx(point, abs=0.8)


def test_keys_turn_move_and_enlarge_the_view(bare, qtbot):
    def after(key, modifiers=NONE):
        bare.turntable = start
        qtbot.keyClick(bare, key, modifiers)
        return bare.turntable

    start = bare.turntable
    assert after(Qt.Key.Key_Right).azimuth == pytest.approx(start.azimuth + 5)
    assert after(Qt.Key.Key_Up).elevation == pytest.approx(start.elevation + 5)
    seen = start.camera(SIZE).pixels(start.focus)[0]
    moved = after(Qt.Key.Key_Right, SHIFT)
    assert moved.camera(SIZE).pixels(start.focus)[0] == pytest.approx(seen - [40, 0])
    moved = after(Qt.Key.Key_Up, SHIFT)
    assert moved.camera(SIZE).pixels(start.focus)[0] == pytest.approx(seen + np.array([0, 40]))
    assert after(Qt.Key.Key_Plus).distance == pytest.approx(start.distance / 1.2)
    assert after(Qt.Key.Key_Minus).distance == pytest.approx(start.distance * 1.2)
    assert after(Qt.Key.Key_P).is_parallel
    for key, towards in zip(
        "12345", np.array([[0, -1, 0], [0, 1, 0], [-1, 0, 0], [1, 0, 0], [0, 0, 1]]), strict=True
    ):
        table = after(getattr(Qt.Key, f"Key_{key}"))
        np.testing.assert_allclose(table.axes[2], towards, atol=1e-12)
        # All of it is seen.
        places = table.camera(SIZE).pixels(PART.vertices)
        assert (places > 0).all()
        assert (places < SIZE).all()
    bare.turntable = start.zoomed(9.0, 0, 0, SIZE)
    qtbot.keyClick(bare, Qt.Key.Key_Home)
    assert bare.turntable == start


def test_keys_choose_planes_and_tab_goes_on_behind_the_last(bare, qtbot):
    planes = [Plane((1.0, 0.0, 0.0), offset) for offset in (-60.0, 0.0, 60.0)]

    def choose(index):
        bare.show_planes([shown(p, k, k == index) for k, p in enumerate(planes)])

    bare.plane_chosen.connect(choose)
    told = planes_of(bare)
    choose(-1)
    for key in (Qt.Key.Key_Tab, Qt.Key.Key_BracketRight, Qt.Key.Key_BracketRight):
        qtbot.keyClick(bare, key)
    assert [said[1] for said in told] == [0, 1, 2]
    qtbot.keyClick(bare, Qt.Key.Key_BracketRight)
    qtbot.keyClick(bare, Qt.Key.Key_BracketLeft)
    assert [said[1] for said in told[3:]] == [0, 2]
    assert not bare._keys.choose(1, goes_round=False)
    assert len(told) == 5


@pytest.mark.parametrize(
    ("key", "modifiers", "step"),
    [
        (Qt.Key.Key_Up, ALT, 1.0),
        (Qt.Key.Key_Down, ALT, -1.0),
        (Qt.Key.Key_Up, ALT | SHIFT, 0.1),
        (Qt.Key.Key_Down, ALT | CTRL, -10.0),
    ],
)
def test_keys_shift_the_chosen_plane(bare, qtbot, key, modifiers, step):
    bare.show_planes([shown(CUT)])
    told = planes_of(bare)
    qtbot.keyClick(bare, key, modifiers)
    assert [said[0] for said in told] == ["grabbed", "dragged", "dropped"]
    _, index, plane, size, is_fine = told[1]
    assert (index, plane.normal) == (0, CUT.normal)
    assert plane.offset - CUT.offset == pytest.approx(step)
    assert (size, is_fine) == (pytest.approx(abs(step)), True)


@pytest.mark.parametrize(
    ("key", "axis", "degrees"),
    [
        (Qt.Key.Key_Right, 0, 1.0),
        (Qt.Key.Key_Left, 0, -1.0),
        (Qt.Key.Key_PageUp, 1, 1.0),
        (Qt.Key.Key_PageDown, 1, -1.0),
    ],
)
def test_keys_tilt_the_chosen_plane(bare, qtbot, key, axis, degrees):
    bare.show_planes([shown(CUT)])
    told = planes_of(bare)
    qtbot.keyClick(bare, key, ALT)
    plane = told[1][2]
    turned = np.cross(CUT.normal, plane.normal)
    assert np.degrees(np.arcsin(turned @ CUT.frame[axis])) == pytest.approx(degrees)
    assert plane.height([bare.planes[0].centre])[0] == pytest.approx(0, abs=1e-9)


def test_a_key_held_down_is_one_act(bare, qtbot):
    bare.show_planes([shown(CUT)])
    bare.plane_dragged.connect(lambda index, plane, *_: bare.show_planes([shown(plane)]))
    told = planes_of(bare)
    for _ in range(3):
        qtbot.keyPress(bare, Qt.Key.Key_Up, ALT)
    qtbot.keyRelease(bare, Qt.Key.Key_Up, ALT)
    assert [said[0] for said in told] == ["grabbed", "dragged", "dragged", "dragged", "dropped"]
    assert told[3][2].offset - CUT.offset == pytest.approx(3.0)


def test_without_a_chosen_plane_keys_move_none(bare, qtbot):
    bare.show_planes([shown(CUT, is_selected=False)])
    told = planes_of(bare)
    qtbot.keyClick(bare, Qt.Key.Key_Up, ALT)
    assert told == []


def test_painting_follows_the_body(bare):
    bare.set_mode("paint")
    bare.show_planes([shown(CUT)])
    told = heard(
        ("begun", bare.stroke_begun), ("moved", bare.stroke_moved), ("ended", bare.stroke_ended)
    )
    table = bare.turntable
    points = [(x, 0.0, 60.0) for x in (10.0, 30.0, 50.0)]
    # Over the arrow of a plane too, and beside the body nothing is painted.
    drag(bare, at(bare, points[0]), [*(at(bare, p) for p in points[1:]), QPoint(3, 3)])
    assert [said[0] for said in told] == ["begun", "moved", "moved", "ended"]
    for said, point in zip(told, points, strict=False):
        assert said[1] == pytest.approx(point, abs=0.8)
        assert said[2] == pytest.approx((0.0, 0.0, 1.0))
    assert bare.turntable == table
    drag(bare, QPoint(3, 3), [QPoint(40, 3)])
    assert bare.turntable != table
    assert len(told) == 4


def test_the_next_face_is_picked_once(bare, qtbot):
    told = heard(("picked", bare.face_picked), ("mode", bare.mode_changed))
    bare.set_mode("pick")
    place = at(bare, (40.0, -40.0, 30.0))
    drag(bare, QPoint(4, 4), [QPoint(4, 4)])
    assert [said[0] for said in told] == ["mode"]
    for _ in range(2):
        drag(bare, place, [place])
    assert [said[:2] for said in told] == [
        ("mode", "pick"),
        ("mode", "look"),
        ("picked", "piece 1"),
    ]
    assert told[2][2] == pytest.approx((40.0, -40.0, 30.0), abs=0.8)
    assert told[2][3] == pytest.approx((0.0, -1.0, 0.0))
    bare.set_mode("pick")
    qtbot.keyClick(bare, Qt.Key.Key_Escape)
    assert bare.mode == "look"


def test_what_has_been_pulled_apart_is_hit_where_it_is_seen(bare):
    sides = PART.split(CUT)
    near, far = bodies(*sides)
    bare.show_bodies([near, ShownBody("far", far.vertices, far.faces, SKY, (60.0, 0.0, 0.0))])
    place = at(bare, (120.0, 0.0, 60.0))
    name, hit = bare.hit_at(place.x(), place.y())
    assert name == "far"
    assert hit.point == pytest.approx((120.0, 0.0, 60.0), abs=0.8)
    gap = at(bare, (50.0, 0.0, 60.0))
    found = bare.hit_at(gap.x(), gap.y())
    assert found is None or abs(found[1].point[2] - 60.0) > 1.0


def test_what_is_under_the_pointer_is_told(bare, qtbot):
    told = heard(("hovered", bare.hovered))
    place = at(bare, (-50.0, 10.0, 60.0))
    bare.setAttribute(Qt.WidgetAttribute.WA_UnderMouse)
    mouse(bare, QEvent.Type.MouseMove, place, button=Qt.MouseButton.NoButton)
    qtbot.waitUntil(lambda: bool(told), timeout=5_000)
    assert told[0][1] == "piece 1"
    assert told[0][2] == pytest.approx((-50.0, 10.0, 60.0), abs=0.8)
    QApplication.sendEvent(bare, QEvent(QEvent.Type.Leave))
    assert told[-1] == ("hovered", "", None)


def test_without_a_gl_it_says_so_and_shows_planes_all_the_same(bare, qtbot):
    qtbot.waitUntil(lambda: bool(bare._maker.fault), timeout=20_000)
    plain = bare.grab().toImage()
    assert plain.pixelColor(2, SIZE[1] // 2).name().upper() in (LIGHT.paper, LIGHT.accent)
    bare.show_planes([shown(CUT)])
    bare.show_outlines([Outline(np.array([[-100, -40, 0], [100, -40, 0]], float), "#D55E00", 3.0)])
    bare.show_marks([Mark((-100.0, -40.0, 60.0), "7", ORANGE)])
    assert is_hue(colour_at(bare, (0.0, -40.0, 0.0)), "#D55E00")
    assert colour_at(bare, (-100.0, -40.0, 60.0)) != plain.pixelColor(at(bare, (-100, -40, 60)))


def test_bodies_are_drawn_in_their_colours(view):
    assert is_hue(colour_at(view, (-50.0, 10.0, 60.0)), ORANGE)
    sides = PART.split(CUT)
    view.show_light(bodies(*sides, colours=(SKY, ORANGE)))
    assert is_hue(colour_at(view, (-50.0, 10.0, 60.0)), SKY)
    assert is_hue(colour_at(view, (80.0, 10.0, 60.0)), ORANGE)
    view.show_light(None)
    assert is_hue(colour_at(view, (-50.0, 10.0, 60.0)), ORANGE)
    green = np.tile(np.array([0, 158, 115], np.uint8), (len(PART.faces), 1))
    view.set_overlay({"piece 1": green})
    assert is_hue(colour_at(view, (-50.0, 10.0, 60.0)), "#009E73")
    view.set_overlay({"piece 1": None})
    assert is_hue(colour_at(view, (-50.0, 10.0, 60.0)), ORANGE)


def test_bodies_with_the_same_arrays_are_not_made_anew(view):
    before = [body.mesh for body in view._maker.full]
    view.show_bodies([ShownBody("x", PART.vertices, PART.faces, SKY, (0.0, 0.0, 30.0))])
    assert [body.mesh for body in view._maker.full] == before
    assert is_hue(colour_at(view, (-50.0, 10.0, 90.0)), SKY)
    other = Solid.box((50, 50, 50))
    view.show_bodies(bodies(other))
    assert len(view._maker._meshes) == 1


def test_a_bed_is_drawn_below_the_piece(view):
    square = np.array([[-150, -100], [150, -100], [150, 100], [-150, 100], [-150, -100]], float)
    clip = np.array([[100, 60], [150, 60], [150, 100], [100, 100]], float)
    view.show_bed(BedFrame(square, square * 0.95, (clip,), 120.0))
    view.look_from((-0.5, -1.0, 1.2))
    assert colour_at(view, (-130.0, -80.0, 0.0)).name().upper() != LIGHT.paper
    blocked = colour_at(view, (125.0, 80.0, 0.0))
    assert blocked.red() > blocked.blue() + 60
    assert is_hue(colour_at(view, (-50.0, 10.0, 60.0)), ORANGE)
    view.show_bed(None)
    assert colour_at(view, (-130.0, -80.0, 0.0)).name().upper() == LIGHT.paper


def test_it_follows_the_system_from_light_to_dark(view):
    assert view.grab().toImage().pixelColor(4, 4).name().upper() == LIGHT.paper
    palette = view.palette()
    palette.setColor(QPalette.ColorRole.Window, QColor("#202020"))
    view.setPalette(palette)
    assert view.grab().toImage().pixelColor(4, 4).name().upper() == DARK.paper


def test_it_rests_when_nothing_happens(view, qtbot):
    qtbot.waitUntil(lambda: not view._is_moving, timeout=5_000)
    qtbot.wait(100)
    drawn = []
    inner = view._maker.image

    def noted(*arguments):
        drawn.append(time.monotonic())
        return inner(*arguments)

    view._maker.image = noted
    qtbot.wait(400)
    assert drawn == []
    # All that changes before it is painted is drawn once.
    for step in range(5):
        view.turn_to(view.turntable.orbited(step, 0.0))
    qtbot.waitUntil(lambda: not view._is_moving, timeout=5_000)
    qtbot.wait(50)
    assert len(drawn) == 2


def test_heavy_bodies_stand_in_only_while_the_view_moves(view, qtbot, monkeypatch):
    monkeypatch.setattr("splitplanner.window.view.picture._HEAVY", 5)
    view.rest_light(bodies(PART, colours=(SKY,)))
    view.turn_to(view.turntable.orbited(1.0, 0.0))
    assert is_hue(colour_at(view, (-50.0, 10.0, 60.0)), SKY)
    qtbot.waitUntil(lambda: not view._is_moving, timeout=5_000)
    assert is_hue(colour_at(view, (-50.0, 10.0, 60.0)), ORANGE)


def test_nobody_waits_for_a_large_picture(view, qtbot, monkeypatch):
    qtbot.waitUntil(lambda: not view._is_moving and view._maker.is_ready, timeout=5_000)
    monkeypatch.setattr("splitplanner.window.view.picture._LARGE", 5)
    stage = view._maker._stage
    inner, gate = stage._draw, threading.Event()

    def slowly(setting):
        gate.wait(20)
        return inner(setting)

    stage._draw = slowly
    view.show_bodies(bodies(PART, colours=(SKY,)))
    # What was there before is painted, however often, until the picture has come.
    for _ in range(2):
        assert is_hue(colour_at(view, (-50.0, 10.0, 60.0)), ORANGE)
    assert not view._maker.is_ready
    arrived = heard(("drawn", view._maker.drawn))
    gate.set()
    qtbot.waitUntil(lambda: bool(arrived), timeout=5_000)
    assert is_hue(colour_at(view, (-50.0, 10.0, 60.0)), SKY)
    # Who moves the view meanwhile sees it from where it is now.
    gate.clear()
    view.show_bodies(bodies(PART))
    view.grab()
    view.turn_to(view.turntable.orbited(60.0, 10.0))
    gate.set()
    qtbot.waitUntil(lambda: len(arrived) > 1 and not view._is_moving, timeout=5_000)
    qtbot.waitUntil(lambda: len(arrived) > 2 and view._maker.is_ready, timeout=5_000)
    assert is_hue(colour_at(view, (-90.0, 30.0, 60.0)), ORANGE)
    assert view._image.size().width() >= SIZE[0]


def test_marks_are_pushed_apart_and_kept_inside():
    rng = np.random.default_rng(2)
    anchors = rng.uniform(0, 60, (12, 2)) + np.array([2.0, 100.0])
    halves = rng.uniform(8, 20, (12, 2))
    places = spread(anchors, halves, SIZE)
    gaps = np.abs(places[:, None] - places[None])
    over = halves[:, None] + halves[None] - gaps
    pairs = (over > 0).all(axis=2)
    assert pairs.sum() == len(places)
    assert (places - halves >= 0).all()
    assert (places + halves <= SIZE).all()
    # What covers nothing stays.
    alone = np.array([[100.0, 100.0], [300.0, 300.0]])
    np.testing.assert_array_equal(spread(alone, np.full((2, 2), 10.0), SIZE), alone)
    # They give way to ends of handles too, but those do not.
    clear = np.array([[103.0, 101.0]])
    moved = spread(alone, np.full((2, 2), 10.0), SIZE, clear)
    assert np.abs(moved[0] - clear[0]).max() >= 18.0
    np.testing.assert_array_equal(moved[1], alone[1])


def test_it_can_be_closed_before_it_is_ready(qtbot):
    for _ in range(3):
        view = PartView(gl_check=lambda: "")
        view.resize(*SIZE)
        view.show_bodies(bodies(PART))
        view.show()
        QApplication.processEvents()
        view.release()
        view.close()
        view.deleteLater()
    QApplication.processEvents()


def test_screen_readers_are_told_what_it_is(bare):
    assert bare.accessibleName() == "View of the part"
    assert "Alt + up and down: shift the chosen plane" in bare.accessibleDescription()
