"""Registers and tape in the plan of a seam: where they lie, how they are drawn and told.

Expected values: plane geometry; the registers that are made of the same joint, as solids.
"""

import math
from functools import cache

import numpy as np
import pytest
import shapely
from PySide6.QtCore import QLocale, QPointF
from PySide6.QtGui import QColor
from PySide6.QtTest import QTest
from shapely.geometry import LineString, MultiLineString, MultiPolygon, Point, box

from splitplanner.joint import Maker
from splitplanner.plan import Cut, Joint, Pin, Register, Tape, divide
from splitplanner.score import measure
from splitplanner.solid import Plane
from splitplanner.window.look import LIGHT
from splitplanner.window.quantities import Quantities
from splitplanner.window.seams.band_painting import REGISTER_COLOUR, TAPE_COLOUR
from splitplanner.window.seams.bands import Bands, bands_of, register_shape, tape_lines
from splitplanner.window.seams.ground import SeamGround, shown_lines
from splitplanner.window.seams.legend import SeamLegend, kinds_of
from splitplanner.window.seams.picture import tinted
from splitplanner.window.seams.seam_plan import SeamPlan
from splitplanner.window.seams.tips import tip_at
from splitplanner.workshop import Printer
from tests.joint.flanged import square_tube

C = QLocale(QLocale.Language.C)
OUTER, WALL = 80.0, 12.0
INNER = OUTER - 2 * WALL
GAP = 0.2
THIRD = (WALL - 2 * GAP) / 3
"""A tongue divides the wall, less its gaps, into three."""
TONGUE = Register("tongue", 3.0, THIRD, GAP)
STUDS = Register("studs", 8.0, 8.0, GAP, ((-34.0, 34.0), (34.0, -34.0)))
TAPE = Tape("glass", 163.0, 2, 0.5, 30.0, 4 * INNER)
RING = MultiPolygon([box(-40, -40, 40, 40).difference(box(-28, -28, 28, 28))])


@cache
def tube():
    """Return a square tube cut across, its one seam as measured, and its faces that are seen."""
    part, hidden = square_tube(OUTER, WALL, 120.0)
    division = divide(part, [Cut(Plane((0.0, 0.0, 1.0), 0.0))])
    ups = {piece.name: (0.0, 0.0, 1.0) for piece in division.pieces}
    return division, measure(division, ups, Printer(), ~hidden).seams[0], ~hidden


def pin(u, v, edge=3.0):
    return Pin((u, v, 0.0), (0.0, 0.0, 1.0), "ISO 8734", 3.0, 10.0, 3.2, 5.5, edge)


# -- geometry -------------------------------------------------------------------------------
def test_a_tongue_is_a_band_of_its_width_along_the_middle_of_the_wall():
    foot = register_shape(Bands(register=TONGUE), RING)
    # Between two squares about the middle of the wall; the outer corners are cut round.
    middle = 40 - WALL / 2
    low, high = middle - THIRD / 2, middle + THIRD / 2
    wanted = box(-high, -high, high, high).difference(box(-low, -low, low, low))
    assert foot.symmetric_difference(wanted).area < 0.02 * wanted.area
    for place in ((middle, 0.0), (0.0, -middle)):
        across = LineString([(0.0, 0.0), tuple(2 * each for each in place)])
        assert across.intersection(foot).length == pytest.approx(THIRD, abs=0.01)


@pytest.mark.parametrize("form", ["tongue", "lap", "wedge"])
def test_it_is_drawn_where_it_is_made(form):
    division, row, _ = tube()
    register = Register(form, 3.0, 3.0, GAP)
    joint = Joint(row.seam.name, (pin(34.0, 34.0),), register=register)
    drawn = register_shape(bands_of(joint, row.seam.plane), row.seam.section.shape)
    added, _ = Maker().register(joint, row.seam, division)
    made = added.section(row.seam.plane.shifted(0.01)).shape
    assert drawn.symmetric_difference(made).area < 0.02 * made.area
    assert drawn.distance(Point(34.0, 34.0)) >= 3.0


def test_studs_are_circles():
    foot = register_shape(Bands(register=STUDS), RING)
    assert len(foot.geoms) == 2
    assert foot.area == pytest.approx(2 * math.pi * 4.0**2, rel=0.01)
    middles = sorted(each.centroid.coords[0] for each in foot.geoms)
    assert middles == [pytest.approx(place, abs=1e-6) for place in sorted(STUDS.places)]


def test_tape_goes_along_what_is_not_seen():
    outer = MultiLineString([RING.geoms[0].exterior])
    lines = tape_lines(Bands(tape=TAPE), RING, outer)
    assert lines.length == pytest.approx(4 * INNER)
    assert tape_lines(Bands(), RING, outer).is_empty
    # As it is measured, and where it is not known what is seen.
    division, row, seen = tube()
    bands = Bands(tape=TAPE)
    shown = shown_lines(row.seam, division.part, seen)
    for known in (shown, None):
        ground = SeamGround(row.seam.section.shape, MultiPolygon(), known, None, bands)
        assert ground.tape_lines.length == pytest.approx(4 * INNER, abs=0.5)


def test_without_register_and_tape_there_is_nothing():
    ground = SeamGround(RING, MultiPolygon())
    assert ground.register_shape.is_empty
    assert ground.tape_lines.is_empty


def test_what_holds_a_seam_is_drawn_anew_when_it_changes():
    _, row, _ = tube()
    plane = row.seam.plane
    with_pin = bands_of(Joint("S1", (pin(0.0, 34.0),), register=TONGUE), plane)
    assert with_pin != bands_of(Joint("S1", (pin(5.0, 34.0),), register=TONGUE), plane)
    # Without a register it is all one where the pins are.
    assert bands_of(Joint("S1", (pin(0.0, 34.0),)), plane) == Bands()


# -- drawing --------------------------------------------------------------------------------
@pytest.fixture
def plan(qtbot):
    division, row, seen = tube()
    made = SeamPlan()
    qtbot.addWidget(made)
    made.set_quantities(Quantities("mm", C))
    made.resize(440, 560)
    made.show()
    joint = Joint(row.seam.name, register=TONGUE, tape=TAPE)
    made.show_seam(
        row, joint, 2.0, names=("1", "2"), shown=shown_lines(row.seam, division.part, seen)
    )
    return made


def colours_near(plan, u, v, right_of=0.0):
    """Return the colours of some pixels about a place, or so many pixels to the right of it."""
    image = plan.canvas.grab().toImage()
    ratio = image.devicePixelRatio()
    at = (plan.canvas.scale.to_screen(u, v) + QPointF(right_of, 0.0)).toPoint() * ratio
    return {
        image.pixelColor(at.x() + right, at.y() + down).name()
        for right in range(-5, 6)
        for down in range(-5, 6)
    }


def test_register_and_tape_are_drawn_in_colours_of_their_own(plan):
    middle = 40 - WALL / 2
    assert tinted(LIGHT, REGISTER_COLOUR, 0.5).name() in colours_near(plan, middle, 0.0)
    # Beside the hidden outline, away from the wall.
    inside = colours_near(plan, 28.0, 3.0, -3.0)
    assert QColor(TAPE_COLOUR).name() in inside
    assert QColor(TAPE_COLOUR).name() not in colours_near(plan, 40.0, 3.0, 3.0)


def test_a_tip_says_what_is_under_the_pointer(plan):
    canvas, middle = plan.canvas, 40 - WALL / 2
    QTest.mouseMove(canvas, canvas.scale.to_screen(middle, 3.0).toPoint())
    assert canvas.toolTip().startswith("Tongue and groove, 3.9 mm wide at the foot: stands 3.0 mm")
    QTest.mouseMove(canvas, canvas.scale.to_screen(28.0, 3.0).toPoint())
    assert "2 plies of glass, 30.0 mm wide" in canvas.toolTip()
    QTest.mouseMove(canvas, canvas.scale.to_screen(40.0, 3.0).toPoint())
    assert "seen from outside" in canvas.toolTip()
    QTest.mouseMove(canvas, canvas.scale.to_screen(0.0, 3.0).toPoint())
    assert canvas.toolTip() == ""


def test_studs_are_told_as_printed_pins():
    ground = SeamGround(RING, MultiPolygon(), None, None, Bands(register=STUDS))
    tip = tip_at(ground, 34.0, -34.0, 0.1, Quantities("mm", C))
    assert tip.startswith("Printed pins, 8.0 mm thick at the foot")


@pytest.mark.parametrize(
    ("form", "words"),
    [
        ("lap", "lap"),
        ("tongue", "tongue and groove"),
        ("wedge", "wedge key"),
        ("studs", "printed pins"),
    ],
)
def test_the_legend_tells_only_what_is_there(qtbot, form, words):
    legend = SeamLegend()
    qtbot.addWidget(legend)
    legend.show_kinds(kinds_of(Joint("S1", register=Register(form, 3.0, 3.0, GAP))))
    assert words in legend.words
    assert "tape" not in legend.words
    legend.show_kinds(kinds_of(Joint("S1", tape=TAPE)))
    assert "tape" in legend.words
    assert words not in legend.words
    legend.resize(300, 100)
    # It is drawn without a fault, which the test of Qt's messages would find.
    assert not legend.grab().toImage().isNull()


def test_a_register_leaves_the_seam_where_no_band_fits():
    thin = MultiPolygon([box(0, 0, 100, 3)])
    assert register_shape(Bands(register=TONGUE), thin).is_empty
    assert np.isclose(shapely.area(register_shape(Bands(), thin)), 0.0)
