"""Room on a seam. Expected values: plane lattice geometry and Oler's bound, named at each check."""

import math

import numpy as np
import pytest
import shapely
import shapely.affinity
from scipy.spatial.distance import pdist
from shapely.geometry import MultiPolygon, Point, Polygon, box

from splitplanner.score import room, widest_place
from splitplanner.solid import Plane, Section


def square_count(a, b, s):
    # Plane lattice geometry.
    return (math.floor(a / s) + 1) * (math.floor(b / s) + 1)


def hexagonal_count(a, b, s):
    # Plane lattice geometry: rows s·√3/2 apart, every other row set off by s/2.
    rows = math.floor(b / (s * math.sqrt(3) / 2) + 1e-9) + 1
    odd = math.floor((a - s / 2) / s) + 1 if a >= s / 2 else 0
    return (rows + 1) // 2 * (math.floor(a / s) + 1) + rows // 2 * odd


def oler_bound(area, perimeter, s):
    # N. Oler, An inequality in the geometry of numbers, Acta Math. 105 (1961) 19: at most this
    # many points with distances of at least s lie in a compact convex set.
    return math.floor(2 / math.sqrt(3) * area / s**2 + perimeter / (2 * s) + 1 + 1e-9)


@pytest.mark.parametrize(
    ("a", "b", "s"),
    [(40, 30, 10), (100, 80, 12), (100, 3, 10), (55, 55, 10), (200, 20, 7), (41, 17.4, 10)],
)
@pytest.mark.parametrize("turn", [0.0, 31.7])
def test_rectangle(a, b, s, turn):
    seam = shapely.affinity.rotate(box(-5, -5, a + 5, b + 5), turn, origin=(0, 0))
    found = room(seam, 5.0, s)
    lattices = [square_count(a, b, s), hexagonal_count(a, b, s), hexagonal_count(b, a, s)]
    assert max(lattices) <= found.count <= oler_bound(a * b, 2 * (a + b), s)
    assert found.area == pytest.approx(a * b, rel=1e-9)
    assert pdist(found.positions).min() >= s * (1 - 1e-5)
    inside = shapely.distance(found.polygons, shapely.points(found.positions))
    assert inside.max() <= 1e-4


def test_square_of_exactly_nine():
    # 20 x 20 at 10 mm: nine on the square lattice, and Oler's bound is nine too.
    assert oler_bound(400, 80, 10) == 9
    assert room(box(0, 0, 20, 20), 0.0, 10.0).count == 9


@pytest.mark.parametrize("k", [1, 2, 5])
def test_triangle_is_filled_exactly(k):
    # Equilateral triangle with sides of k spacings: (k+1)(k+2)/2 points reach Oler's bound.
    side = 10.0 * k
    seam = Polygon([(0, 0), (side, 0), (side / 2, side * math.sqrt(3) / 2)])
    assert oler_bound(seam.area, 3 * side, 10) == (k + 1) * (k + 2) // 2
    assert room(seam, 0.0, 10.0).count == (k + 1) * (k + 2) // 2


def test_rim_takes_a_chord_for_each_spacing():
    # A ring of wall 8 mm, edge distance 3.99: all but a circle of radius 46 is left. Chords of a
    # circle: floor(pi / asin(s / 2r)) points.
    seam = Point(0, 0).buffer(50, 256).difference(Point(0, 0).buffer(42, 256))
    found = room(seam, 3.99, 20.0)
    most = math.floor(math.pi / math.asin(20 / (2 * 46.01)))
    assert found.count == most == 14
    # Polar radius of gyration of masses on a circle is its radius (statics): ru² + rv² = r².
    assert math.hypot(*found.lever_arm) == pytest.approx(46, rel=1e-3)


def test_lever_arm_of_two_points():
    # 60 x 10 strip shrunk by 4.9: only the two ends of a 50 mm line are 50 mm apart.
    found = room(box(100, 20, 160, 30), 4.9, 50.0)
    assert found.count == 2
    assert found.lever_arm[0] == pytest.approx(25.0, abs=0.11)
    assert found.lever_arm[1] <= 0.1 + 1e-6


def test_two_feet_and_a_section():
    plane = Plane((0.0, 0.0, 1.0), 7.0)
    feet = (box(0, 0, 10, 10), box(90, 0, 100, 10))
    found = room(Section(plane, feet), 4.0, 20.0)
    assert found.count == 2
    assert len(found.polygons.geoms) == 2
    assert abs(found.positions[0, 0] - found.positions[1, 0]) >= 88.0 - 1e-6
    assert room(feet, 4.0, 20.0).count == room(MultiPolygon(feet), 4.0, 20.0).count == 2


def test_no_room():
    found = room(box(0, 0, 100, 2.4), 2.0, 10.0)
    assert (found.count, found.area, found.lever_arm) == (0, 0.0, (0.0, 0.0))
    assert found.positions.shape == (0, 2)
    assert room((), 2.0, 10.0).count == 0


def test_positions_are_read_only():
    with pytest.raises(ValueError, match="read-only"):
        room(box(0, 0, 20, 20), 0.0, 10.0).positions[0, 0] = 1.0


@pytest.mark.parametrize(
    ("edge", "spacing"), [(-1.0, 10.0), (1.0, 0.0), (1.0, math.nan), (0, 1e-3)]
)
def test_wrong_distances(edge, spacing):
    with pytest.raises(ValueError, match="mm"):
        room(box(0, 0, 100, 100), edge, spacing)


@pytest.mark.parametrize(
    ("seam", "diameter"),
    [
        (box(0, 0, 100, 2.4), 2.4),
        # Inradius of a right triangle (a + b - c) / 2, plane geometry.
        (Polygon([(0, 0), (30, 0), (0, 40)]), 20.0),
        (Point(0, 0).buffer(50, 256).difference(Point(0, 0).buffer(42, 256)), 8.0),
    ],
)
def test_widest_place(seam, diameter):
    measured, centre = widest_place(MultiPolygon([seam]))
    assert measured == pytest.approx(diameter, abs=5e-3)
    assert seam.boundary.distance(Point(centre)) == pytest.approx(diameter / 2, abs=5e-3)


def test_widest_place_of_nothing():
    measured, centre = widest_place(MultiPolygon())
    assert measured == 0.0
    assert np.isnan(centre).all()
