"""Screws and the flange in the plan of a seam: drawn to scale, told, and moved inside the room."""

import math
from dataclasses import replace

import numpy as np
import pytest
import shapely
from PySide6.QtCore import QLocale, QPointF, QRectF, Qt
from PySide6.QtGui import QColor, QImage, QPainter, QPalette
from PySide6.QtTest import QTest
from shapely.geometry import MultiPolygon, Point, Polygon, box

from splitplanner.plan import Flange, Joint, PartFile, Plan
from splitplanner.window.look import DARK, LIGHT
from splitplanner.window.quantities import Quantities
from splitplanner.window.seams.fastener_painting import hexagon, paint_fasteners
from splitplanner.window.seams.flat import flat_fasteners, letter, mark_of, title
from splitplanner.window.seams.ground import SeamGround, rim_of
from splitplanner.window.seams.legend import SeamLegend
from splitplanner.window.seams.new_pins import one_more_pin
from splitplanner.window.seams.picture import SeamPicture
from splitplanner.window.seams.scale import SeamScale
from splitplanner.window.seams.seam_plan import SeamPlan
from tests.window.boxes import CUTS, PRINTER, figures, joint
from tests.window.joints import (
    CLEARANCE,
    EDGE,
    FLANGE_WIDTH,
    HEAD,
    NUT,
    bounds,
    flange,
    held,
    plane,
    screw,
)

C = QLocale(QLocale.Language.C)
LEFT, NONE = Qt.MouseButton.LeftButton, Qt.KeyboardModifier.NoModifier
CONTROL = Qt.KeyboardModifier.ControlModifier


def row():
    return figures().seams[0]


def middle():
    low_u, low_v, high_u, high_v = bounds()
    return (low_u + high_u) / 2, (low_v + high_v) / 2


def flat(made):
    return flat_fasteners(plane(), made, ("1", "2"))


@pytest.fixture
def plan(qtbot):
    made = SeamPlan()
    qtbot.addWidget(made)
    made.set_quantities(Quantities("mm", C))
    made.resize(420, 420)
    made.show()
    u, v = middle()
    joint = Joint("S1", screws=(screw(u, v), screw(u + 40, v, from_below=False)))
    made.show_seam(row(), joint, 2.25, names=("1", "2"))
    made.canvas.setFocus()
    return made


# -- values ---------------------------------------------------------------------------------
def test_pins_have_numbers_and_screws_have_letters():
    fasteners = flat(held())
    count = len(joint().pins)
    assert [mark_of(fasteners, at) for at in range(count + 2)] == [
        *(str(at + 1) for at in range(count)), "A", "B",
    ]  # fmt: skip
    assert title(fasteners, 0) == "Pin 1"
    assert title(fasteners, count + 1) == "Screw B"
    # As columns of a spreadsheet are counted.
    assert [letter(at) for at in (0, 25, 26, 51, 52, 701, 702)] == [
        "A", "Z", "AA", "AZ", "BA", "ZZ", "AAA",
    ]  # fmt: skip


def test_a_screw_is_where_the_plan_has_it_with_its_head_in_the_right_piece():
    below, above = flat(held())[-2:]
    u, v = middle()
    assert (below.u, below.v) == pytest.approx((u - 20, v))
    assert (below.diameter, below.edge_distance) == (CLEARANCE, EDGE)
    assert (below.screw.head_in, above.screw.head_in) == ("1", "2")
    assert below.screw.size == "M3 × 12"
    assert (below.screw.nut_room, below.screw.hole) == (NUT, 0.0)
    assert (above.screw.nut_room, above.screw.hole) == (0.0, 4.0)


def test_a_hexagon_is_as_wide_as_its_key():
    corners = np.array(hexagon(NUT))
    polygon = Polygon(corners)
    # Of all widths the least is that across flats, and the greatest that across corners.
    assert polygon.buffer(-NUT / 2 + 1e-6).area == pytest.approx(0, abs=1e-4)
    assert Point(0, 0).distance(polygon.exterior) == pytest.approx(NUT / 2)
    assert np.linalg.norm(corners, axis=1) == pytest.approx(NUT / math.sqrt(3))
    # Area of a regular hexagon: (√3 / 2) s².
    assert polygon.area == pytest.approx(math.sqrt(3) / 2 * NUT**2)


# -- the flange -----------------------------------------------------------------------------
def test_a_flange_lies_on_the_right_of_its_lines():
    low_u, low_v, high_u, _ = bounds()
    rim = rim_of(flange())
    # A rectangle of the seam's width by the flange's, and what is sewn into the wall.
    wanted = box(low_u, low_v - FLANGE_WIDTH, high_u, low_v)
    assert rim.symmetric_difference(wanted).area < 0.02 * (wanted.length)
    assert rim_of(None).is_empty


@pytest.mark.parametrize(("turned", "radii"), [(1, (20.0, 26.0)), (-1, (14.0, 20.0))])
def test_a_ring_has_its_flange_on_the_right_too(turned, radii):
    circle = Point(0, 0).buffer(20.0, quad_segs=64)
    line = tuple(shapely.get_coordinates(circle.exterior)[::-turned].tolist())
    rim = rim_of(Flange((tuple(map(tuple, line)),), 6.0, 3.0))
    # With the wall on the left: a ring that turns to the left has it inside.
    inner, outer = radii
    assert rim.area == pytest.approx(math.pi * (outer**2 - inner**2), rel=5e-3)
    assert rim.contains(Point((inner + outer) / 2, 0))


def test_room_reaches_onto_the_flange_and_no_further():
    low_u, low_v, high_u, high_v = bounds()
    thin = box(low_u, low_v, high_u, low_v + 2.4)
    bare = SeamGround(MultiPolygon([thin]), MultiPolygon())
    assert bare.room(EDGE).is_empty
    ground = SeamGround(MultiPolygon([thin]), MultiPolygon(), rim=rim_of(flange()))
    whole = box(low_u, low_v - FLANGE_WIDTH, high_u, low_v + 2.4)
    assert ground.whole.area == pytest.approx(whole.area, rel=1e-4)
    assert ground.room(EDGE).bounds == pytest.approx(whole.buffer(-EDGE).bounds, abs=0.02)
    place = ground.nearest(0.0, high_v, EDGE)
    assert place[1] == pytest.approx(low_v + 2.4 - EDGE, abs=0.01)
    assert ground.to_edge(*place) >= EDGE


def test_the_whole_of_a_seam_with_its_flange_is_seen(plan):
    before = plan.canvas.scale
    plan.show_seam(row(), replace(held(), screws=()), 2.25)
    assert plan.canvas.scale == before
    plan.canvas.fit_all()
    low_u, low_v, *_ = bounds()
    corner = plan.canvas.scale.to_screen(low_u, low_v - FLANGE_WIDTH)
    assert QRectF(plan.canvas.rect()).contains(corner)


def test_a_new_pin_keeps_clear_of_screws():
    plan = Plan(PartFile("box.stl", "mm", "f"), PRINTER, CUTS, (), (held(),))
    pin = one_more_pin(row(), plan)
    gaps = [math.dist(pin.at, each.at) for each in held().screws]
    assert min(gaps) >= EDGE + pin.edge_distance


# -- by hand --------------------------------------------------------------------------------
def test_a_screw_is_told_with_its_size_and_its_head(plan):
    u, v = middle()
    plan.choose(0)
    assert plan.told == (
        f"Screw A, M3 × 12, head in piece 1: u {u:.1f} mm, v {v:.1f} mm, 100.0 mm to the edge, "
        "40.0 mm to screw B"
    )
    assert plan.canvas.accessibleDescription() == plan.told
    plan.choose(1)
    assert plan.told.startswith("Screw B, M3 × 12, head in piece 2: ")


def test_a_dragged_screw_stops_at_the_edge_of_its_room(qtbot, plan):
    u, v = middle()
    low_u = bounds()[0]
    canvas = plan.canvas
    with qtbot.waitSignal(plan.taken) as taken:
        QTest.mousePress(canvas, LEFT, NONE, canvas.scale.to_screen(u, v).toPoint())
    assert taken.args == [0]
    assert canvas.room_distance == EDGE
    out = canvas.scale.to_screen(low_u - 15, v).toPoint()
    QTest.mouseMove(canvas, out)
    with qtbot.waitSignal(plan.moved) as moved:
        QTest.mouseRelease(canvas, LEFT, NONE, out)
    assert moved.args[0] == 0
    assert moved.args[1] == pytest.approx(low_u + EDGE, abs=0.01)
    assert moved.args[1] >= low_u + EDGE
    # What it is otherwise has not changed.
    assert canvas.fasteners[0].screw.size == "M3 × 12"


def test_keys_move_and_delete_screws(qtbot, plan):
    u, v = middle()
    qtbot.keyClick(plan.canvas, Qt.Key.Key_BracketLeft)
    assert plan.chosen == 1
    with qtbot.waitSignal(plan.moved) as moved:
        qtbot.keyClick(plan.canvas, Qt.Key.Key_Up, CONTROL)
    assert moved.args == [1, pytest.approx(u + 40), pytest.approx(v + 5)]
    with qtbot.waitSignal(plan.deleted) as deleted:
        qtbot.keyClick(plan.canvas, Qt.Key.Key_Delete)
    assert deleted.args == [1]


# -- painting -------------------------------------------------------------------------------
def painted(fasteners, look, per_mm=10.0, chosen=None):
    """Paint on a large seam; return how far from (0, 0), and which way, there is any ink."""
    side = 400
    image = QImage(side, side, QImage.Format.Format_RGB32)
    image.fill(look.colour("raised"))
    scale = SeamScale(side, side, 0.0, 0.0, per_mm)
    ground = SeamGround(MultiPolygon([box(-100, -100, 100, 100)]), MultiPolygon())
    picture = SeamPicture(
        ground, tuple(fasteners), chosen, 2.0, scale, "#B8BDC6", Quantities("mm", C), False
    )
    painter = QPainter(image)
    painter.setRenderHint(QPainter.RenderHint.Antialiasing)
    paint_fasteners(painter, ground, picture, look)
    painter.end()
    paper = look.colour("raised").rgb()
    inked = np.array(
        [[image.pixel(x, y) != paper for x in range(side)] for y in range(side)], dtype=bool
    )
    y, x = np.nonzero(inked)
    return np.hypot(x + 0.5 - side / 2, y + 0.5 - side / 2) / per_mm, np.arctan2(
        y - side / 2, x - side / 2
    )


@pytest.mark.parametrize("look", [LIGHT, DARK], ids=["light", "dark"])
def test_a_screw_is_drawn_to_scale(look):
    (one,) = flat_fasteners(plane(), Joint("S1", screws=(screw(0.0, 0.0),)), ("1", "2"))
    away, turn = painted([one], look)
    # Rings: the hole, the room of the head and the edge distance; between them the hexagon.
    for diameter in (CLEARANCE, HEAD, 2 * EDGE):
        assert (np.abs(away - diameter / 2) < 0.1).sum() > 30, diameter
    # Nothing beyond the edge distance.
    assert away.max() < EDGE + 0.15
    # A corner of the nut lies on the axis to the right, a flat 30 degrees on.
    corner, across = NUT / math.sqrt(3), NUT / 2
    assert ((np.abs(turn) < 0.02) & (np.abs(away - corner) < 0.15)).any()
    assert ((np.abs(turn - math.pi / 6) < 0.02) & (np.abs(away - across) < 0.15)).any()
    gap = (np.abs(turn - math.pi / 6) < 0.02) & (np.abs(away - corner) < 0.08)
    assert not gap.any()


def test_a_pin_has_neither_head_nor_nut():
    (one,) = flat_fasteners(plane(), Joint("S1", screws=(screw(0.0, 0.0),)), ("1", "2"))
    away, _ = painted([replace(one, screw=None)], LIGHT)
    between = (away > CLEARANCE / 2 + 0.3) & (away < EDGE - 0.3)
    assert not between.any()


def test_an_insert_has_the_circle_of_its_hole():
    made = Joint("S1", screws=(screw(0.0, 0.0, "insert"),))
    away, _ = painted(flat_fasteners(plane(), made, ("1", "2")), LIGHT)
    assert (np.abs(away - 2.0) < 0.1).sum() > 30
    assert not ((away > 2.2) & (away < HEAD / 2 - 0.3)).any()


def test_a_small_screw_is_a_mark_with_its_letter():
    (one,) = flat_fasteners(plane(), Joint("S1", screws=(screw(0.0, 0.0),)), ("1", "2"))
    away, _ = painted([one], LIGHT, per_mm=0.5)
    # A square of some 9 pixels, and the letter beside it.
    assert 0.5 * away.max() < 40
    assert len(away) > 60


@pytest.mark.parametrize("paper", ["#F4F5F7", "#23262B"])
def test_the_flange_is_drawn_beside_the_wall(plan, paper):
    plan.setPalette(QPalette(QColor(paper)))
    low_u, low_v, *_ = bounds()
    view = (low_u + 20, low_v - 20, low_u + 60, low_v + 10)

    def colour(v):
        picture = plan.canvas.grab().toImage()
        point = plan.canvas.scale.to_screen(low_u + 40, v) * picture.devicePixelRatio()
        return picture.pixelColor(QPointF(point).toPoint())

    plan.show_seam(row(), None, 2.25)
    plan.canvas.fit(view)
    without = colour(low_v - 1)
    assert without == colour(low_v - 16)
    plan.show_seam(row(), Joint("S1", flange=flange()), 2.25)
    plan.canvas.fit(view)
    assert colour(low_v - FLANGE_WIDTH + 1) != without
    assert colour(low_v - FLANGE_WIDTH - 3) == without


def test_the_legend_tells_what_there_is(plan):
    legend = plan.findChild(SeamLegend)
    assert "screw: hole and room for its head" in legend.words
    assert "nut" in legend.words
    assert "flange" not in legend.words
    plan.show_seam(row(), held(), 2.25)
    assert {"flange", "hole for an insert"} <= set(legend.words)
    assert all(word in legend.accessibleDescription() for word in legend.words)
    plan.show_seam(row(), joint(), 2.25)
    assert not {"flange", "nut", "screw: hole and room for its head"} & set(legend.words)


def test_a_flange_that_is_drawn_a_little_off_the_wall_leaves_no_slit():
    wall = MultiPolygon([shapely.box(0.0, 0.0, 100.0, 3.0)])
    rim = MultiPolygon([shapely.box(0.0, -6.0, 100.0, -0.04)])
    ground = SeamGround(wall, MultiPolygon(), None, rim)
    room = ground.room(2.5)
    # Between both edges of wall and flange together, as one of 9 mm.
    assert room.area == pytest.approx(95.0 * 4.0, rel=0.01)
    assert ground.holds(50.0, 0.0, 2.5)
    assert ground.holds(50.0, 0.55, 2.5)
    assert not ground.holds(50.0, 0.7, 2.5)
