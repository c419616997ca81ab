"""Outlines of braces against closed forms, and against shapely on a part of one's own."""

import numpy as np
import pytest
import shapely

from splitplanner.errors import JointError
from splitplanner.joint.brace.outline import profile_of, swept
from splitplanner.plan.brace import BraceWish
from splitplanner.solid import Plane, Solid

BOX = Solid.box((200, 40, 30), (0, -20, -30))
TOP = {"along": (1, 0, 0), "towards": (0, 0, 1), "offset": 0.0}


def cylinder(radius, length=40.0, sides=720):
    """A bar round the y axis whose sides are chords of its circle."""
    angles = 2 * np.pi * np.arange(sides) / sides
    circle = shapely.Polygon(radius * np.column_stack([np.cos(angles), np.sin(angles)]))
    return Solid.prism(circle, Plane((0.0, 1.0, 0.0), 0.0), -length / 2, length / 2)


def test_a_brace_on_a_box_is_a_rectangle():
    # Closed form: the strip lies between clearance and clearance + depth over the flat top.
    wish = BraceWish(**TOP, low=20, high=170, depth=15, stock=3, clearance=0.5)
    profile = profile_of(BOX, wish)
    rectangle = shapely.box(20, 0.5, 170, 15.5)
    assert shapely.symmetric_difference(profile.outline, rectangle).area < 1e-6
    solid = profile.solid()
    assert solid.volume == pytest.approx(150 * 15 * 3, rel=1e-9)
    assert solid.bounds == pytest.approx(np.array([[20, -1.5, 0.5], [170, 1.5, 15.5]]))


def test_any_way_of_the_part_gives_the_same_brace():
    # A rotation of part and wish together changes nothing in the brace's own coordinates.
    angle = np.radians(33)
    c, s = np.cos(angle), np.sin(angle)
    turn = np.array([[c, -s, 0], [s, c, 0], [0, 0, 1]]) @ np.array(
        [[1, 0, 0], [0, c, -s], [0, s, c]]
    )
    turned = BOX.transformed(np.hstack([turn, np.zeros((3, 1))]))
    wish = BraceWish(
        tuple(turn @ [1, 0, 0]), tuple(turn @ [0, 0, 1]), 0.0, 20, 170, 15, 3, clearance=0.5
    )
    outline = profile_of(turned, wish).outline
    assert shapely.symmetric_difference(outline, shapely.box(20, 0.5, 170, 15.5)).area < 1e-6
    points = np.random.default_rng(1).normal(size=(5, 3))
    assert wish.to_own(wish.to_space(points)) == pytest.approx(points)


def test_a_brace_round_a_ring_is_bounded_by_arcs():
    # Closed form: between the circles R + c and R + c + d, cut off at |u| <= h; the area under an
    # arc over -h..h is h sqrt(r² - h²) + r² asin(h / r).
    radius, gap, depth, half = 80.0, 0.3, 12.0, 60.0
    tube = cylinder(radius).difference(cylinder(radius - 4, 60.0))
    wish = BraceWish(**TOP, low=-half, high=half, depth=depth, stock=4, clearance=gap, bridged=0.0)
    profile = profile_of(tube, wish)

    def under(r):
        return half * np.sqrt(r * r - half * half) + r * r * np.arcsin(half / r)

    inner, outer = radius + gap, radius + gap + depth
    assert profile.outline.area == pytest.approx(under(outer) - under(inner), rel=2e-4)
    reach = np.hypot(*shapely.get_coordinates(profile.outline).T)
    assert reach.min() == pytest.approx(inner, abs=0.03)
    assert reach.max() == pytest.approx(outer, abs=0.03)
    line = profile.line(5.0)
    assert np.hypot(*shapely.get_coordinates(line).T) == pytest.approx(inner + 5.0, abs=0.03)
    assert line.length == pytest.approx(2 * (inner + 5) * np.arcsin(half / (inner + 5)), rel=1e-3)
    assert shapely.get_coordinates(line)[0, 0] == pytest.approx(-half)


def test_the_strip_clears_the_part_between_both_faces_of_the_sheet():
    # The top falls sideways, 1 in 10: over a sheet of 6 mm the highest is at y = -3.
    wedge = Solid.hull_of(
        [(x, y, z) for x in (0, 100) for y, top in ((-20, 2), (20, -2)) for z in (-30, top)]
    )
    wish = BraceWish(**TOP, low=10, high=90, depth=10, stock=6, clearance=0.0)
    assert profile_of(wedge, wish).outline.bounds[1] == pytest.approx(0.3, abs=1e-6)
    assert profile_of(wedge, wish).solid().intersection(wedge).volume < 1e-6


def test_hollows_are_bridged_and_open_ground_is_refused():
    gap = Solid.box((20, 60, 60), (90, -30, -25))
    notched = BOX.difference(gap)
    wish = {**TOP, "low": 20, "high": 170, "depth": 15, "stock": 3, "clearance": 0.5}
    straight = profile_of(notched, BraceWish(**wish, bridged=500.0)).outline
    # A disc of 500 mm sinks 500 - sqrt(500² - 10²) = 0.1 mm into a gap of 20 mm.
    assert straight.bounds[1] == pytest.approx(0.5 - (500 - np.sqrt(500**2 - 10**2)), abs=1e-2)
    # The notch goes down 25 of 30 mm; without bridging the strip follows it down.
    assert profile_of(notched, BraceWish(**wish, bridged=0.0)).outline.bounds[1] < -20
    halves = BOX.difference(Solid.box((20, 60, 60), (90, -30, -40)))
    with pytest.raises(JointError, match=r"from 90\.0 to 110\.0 mm"):
        profile_of(halves, BraceWish(**wish, bridged=5.0))
    with pytest.raises(JointError, match=r"from 200\.0 to 210\.0"):
        profile_of(BOX, BraceWish(**{**wish, "high": 210}))


def test_what_is_swept_is_the_area_under_the_outline():
    # Closed form: a triangle on high, swept down to 0: its own area and the rectangle below its
    # lowest line of sight.
    roof = shapely.MultiPolygon([shapely.Polygon([(0, 10), (10, 10), (5, 20)])])
    assert swept(roof, 0.0).area == pytest.approx(10 * 10 + 50)
    ring = shapely.MultiPolygon(
        [shapely.Point(0, 0).buffer(5).difference(shapely.Point(0, 0).buffer(3))]
    )
    filled = shapely.union(shapely.Point(0, 0).buffer(5), shapely.box(-5, -7, 5, 0))
    assert swept(ring, -7.0).area == pytest.approx(filled.area, rel=1e-9)


@pytest.mark.parametrize(
    "wrong",
    [
        {"towards": (1, 0, 1)},
        {"high": 20},
        {"depth": 0},
        {"stock": -1},
        {"clearance": -0.1},
        {"cutter": float("nan")},
    ],
)
def test_wishes_without_sense_are_refused(wrong):
    with pytest.raises(ValueError, match="brace"):
        BraceWish(**{**TOP, "low": 20, "high": 170, "depth": 15, "stock": 3, **wrong})


def test_an_end_beside_a_wall_does_not_climb_it():
    # Past defect: a strip that ended 25 mm before a wall followed the arc that bridges the corner.
    deck = Solid.box((200, 60, 10), (0, -30, -10)).union(Solid.box((10, 60, 150), (0, -30, -10)))
    wish = BraceWish((1, 0, 0), (0, 0, 1), 0.0, 35.0, 190.0, 20.0, 4.0, bridged=100.0)
    outline = profile_of(deck, wish).outline
    assert outline.bounds == pytest.approx((35, 0.2, 190, 20.2), abs=0.01)
    # Without the clearance of the wall: 155 x 20 mm.
    assert outline.area == pytest.approx(155 * 20, rel=1e-3)
