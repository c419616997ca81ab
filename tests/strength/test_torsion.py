"""Torsion constants. Expected values: closed forms and frozen values, named at each check."""

import math
from itertools import pairwise

import numpy as np
import pytest
import shapely.affinity
from shapely.geometry import MultiPolygon, Polygon, box

from splitplanner.strength import torsion


def ring(outer, inner=0.0, sides=720):
    turn = np.arange(sides) * 2 * np.pi / sides
    corners = np.stack([np.cos(turn), np.sin(turn)], axis=1)
    return Polygon(outer * corners, [inner * corners] if inner else [])


def rectangle_series(b, t):
    """J of a rectangle, b >= t (Timoshenko and Goodier: the exact series)."""
    odd = np.arange(1, 200, 2)
    tail = (np.tanh(odd * math.pi * b / (2 * t)) / odd**5).sum()
    return b * t**3 / 3 * (1 - 192 / math.pi**5 * t / b * tail)


def bounds(shape, exact, accuracy=0.02):
    found = torsion(shape, accuracy)
    assert found.low <= exact * (1 + 1e-9)
    assert found.high >= exact * (1 - 1e-9)
    assert found.off <= accuracy
    assert abs(found.constant - exact) <= found.off * found.constant * (1 + 1e-9)
    return found


@pytest.mark.parametrize(("b", "t"), [(20, 10), (50, 20), (10, 10), (100, 3), (300, 1.2)])
def test_rectangles_lie_between_the_bounds(b, t):
    exact = rectangle_series(b, t)
    bounds(box(0, 0, b, t), exact)
    assert torsion(box(0, 0, b, t), 0.002).constant == pytest.approx(exact, rel=0.002)


def test_the_series_is_that_of_the_handbook():
    # Roark's table of 10 x 20: 4577.6; of a square: 0.1406 a⁴.
    assert rectangle_series(20, 10) == pytest.approx(4577.6, rel=1e-3)
    assert rectangle_series(1, 1) == pytest.approx(0.1406, abs=5e-5)


@pytest.mark.parametrize(("b", "t", "factor"), [(10, 10, 0.208), (50, 20, 0.258), (100, 3, 0.327)])
def test_shear_stress_of_rectangles(b, t, factor):
    # T / (c b t²) (Timoshenko and Goodier's table, c of 100 x 3 from (1 - 0.63 t/b) / 3).
    assert torsion(box(0, 0, b, t), 0.005).modulus == pytest.approx(factor * b * t**2, rel=0.03)


def test_an_equilateral_triangle():
    # √3 a⁴ / 80 (Timoshenko and Goodier), shear 20 T / a³.
    a = 30.0
    shape = Polygon([(0, 0), (a, 0), (a / 2, a * math.sqrt(3) / 2)])
    found = bounds(shape, math.sqrt(3) * a**4 / 80, 0.005)
    assert found.modulus == pytest.approx(a**3 / 20, rel=0.02)


def test_an_ellipse():
    # π a³ b³ / (a² + b²); a polygon of 720 corners is a little smaller, and fewer corners are left.
    shape = shapely.affinity.scale(ring(1.0), 20.0, 9.0)
    found = torsion(shape, 0.005)
    assert found.constant == pytest.approx(math.pi * 20**3 * 9**3 / (400 + 81), rel=0.01)


def test_round_bars_and_tubes_have_their_polar_moment():
    # π R⁴ / 2 and W = π R³ / 2; tube π (R⁴ - r⁴) / 2 = 5401.969.
    bar = torsion(ring(10.0), 0.005)
    assert bar.constant == pytest.approx(math.pi * 10**4 / 2, rel=0.01)
    assert bar.modulus == pytest.approx(math.pi * 10**3 / 2, rel=0.02)
    tube = torsion(ring(10.0, 9.0))
    assert tube.constant == pytest.approx(5401.969, rel=0.003)
    assert tube.modulus == pytest.approx(540.197, rel=0.01)


@pytest.mark.parametrize("sides", [48, 128, 720])
@pytest.mark.parametrize("accuracy", [0.02, 0.002])
def test_shear_in_round_rods_that_are_polygons(sides, accuracy):
    # τ = 2 T / π R³, in however fine triangles.
    rod = torsion(ring(10.0, sides=sides), accuracy)
    assert rod.modulus == pytest.approx(math.pi * 10**3 / 2, rel=0.02)


def test_shear_is_not_that_of_inner_corners():
    # Thin walls: 2 Am t and Σ b t³ / 3t (Bredt; Timoshenko), to what walls of a tenth of the width
    # allow; finer triangles do not change it, though stress in the corners has no end.
    small = box(0, 0, 20, 30).difference(box(2, 2, 18, 28))
    assert torsion(small).modulus == pytest.approx(2 * 18 * 28 * 2, rel=0.15)
    assert torsion(small, 0.001).modulus == pytest.approx(torsion(small).modulus, rel=0.02)
    channel = box(0, 0, 40, 30).difference(box(3, 3, 37, 31))
    assert torsion(channel).modulus == pytest.approx(841.3 / 3, rel=0.06)
    assert torsion(channel, 0.001).modulus == pytest.approx(torsion(channel).modulus, rel=0.03)


def test_a_web_next_to_nothing_does_not_tell_of_the_rest():
    # A bore that leaves 0.01 of a wall of 4: the shear flow of Bredt is that of the other walls,
    # and stress in the web is 70 times as high over next to no area.
    walls = box(0, 0, 60, 60).difference(box(4, 4, 56, 56))
    bore = shapely.affinity.translate(ring(1.95, sides=48), 30.0, 58.04)
    found = torsion(walls.difference(bore))
    assert found.modulus == pytest.approx(torsion(walls).modulus, rel=0.05)


def test_a_tube_slit_open_keeps_next_to_nothing():
    # Open: 2πr t³ / 3. Closed: 2πr³ t. The slit of 0.1 mm is taken off the length.
    slit = ring(10.0, 9.0).difference(box(0, -0.05, 20, 0.05))
    length = 2 * math.pi * 9.5 - 0.1
    assert torsion(slit).constant == pytest.approx(length / 3 * (1 - 0.63 / length), rel=0.02)


def test_frozen_values_of_a_section_library():
    # sectionproperties 3.10.2: channel 40 x 30 x 3 841.3 on its fine mesh, thin-wall Σ b t³/3 846;
    # box 20 x 30 x 2 23093; box 200 x 150 x 3 1.4753e7; channel of that 4448.3; angle 3090.
    channel = box(0, 0, 40, 30).difference(box(3, 3, 37, 31))
    assert torsion(channel, 0.005).constant == pytest.approx(841.3, rel=0.005)
    assert torsion(channel).constant == pytest.approx(846, rel=0.02)
    small = box(0, 0, 20, 30).difference(box(2, 2, 18, 28))
    assert torsion(small, 0.005).constant == pytest.approx(23093, rel=0.005)
    large = box(0, 0, 200, 150)
    assert torsion(large.difference(box(3, 3, 197, 147)), 0.005).constant == pytest.approx(
        1.4753e7, rel=0.005
    )
    assert torsion(large.difference(box(3, 3, 197, 151)), 0.005).constant == pytest.approx(
        4448.3, rel=0.005
    )
    angle = box(0, 0, 60, 90).difference(box(4, 4, 61, 91))
    assert torsion(angle, 0.005).constant == pytest.approx(3090, rel=0.005)


def test_a_tee_of_thin_walls():
    # Σ b t³ / 3 with the junction counted once and end losses of 0.105 t⁴ at each of three ends
    # (Trayer and March, from memory); the bulge at the root adds 0.15 t⁴ at most.
    tee = box(-40, 0, 40, 2).union(box(-1, -60, 1, 0))
    plain = (80 + 60) * 2**3 / 3
    found = torsion(tee, 0.005)
    assert plain - 3 * 0.105 * 16 <= found.constant * 1.005
    assert found.constant * 0.995 <= plain - 3 * 0.105 * 16 + 0.15 * 16 * 2


def test_a_thin_box_by_bredt():
    # 4 Am² t / s, W = 2 Am t; walls of 1 in 200 x 100.
    shape = box(0, 0, 200, 100).difference(box(1, 1, 199, 99))
    enclosed, length = 199.0 * 99.0, 2 * (199.0 + 99.0)
    found = torsion(shape)
    assert found.constant == pytest.approx(4 * enclosed**2 / length, rel=0.005)
    assert found.modulus == pytest.approx(2 * enclosed, rel=0.02)


@pytest.mark.parametrize("wall", [0.0, 50.0, 30.0])
def test_cells_by_bredt(wall):
    # Two cells with a common wall: Σ over their walls of (q_i - q_j) s/t = 2 A_i for unit Gθ, and
    # J = 2 Σ q_i A_i (Bredt; Timoshenko, Strength of Materials). Mean lines; what corners add goes
    # with t / b: 0.6 % at walls of 1, a quarter of that here.
    b, h, t = 120.0, 60.0, 0.25
    shape = box(-t / 2, -t / 2, b + t / 2, h + t / 2)
    edges = [0.0, wall, b] if wall else [0.0, b]
    for left, right in pairwise(edges):
        shape = shape.difference(box(left + t / 2, t / 2, right - t / 2, h - t / 2))
    widths = np.diff(edges)
    matrix = np.diag(2 * (widths + h))
    if wall:
        matrix[0, 1] = matrix[1, 0] = -h
    q = np.linalg.solve(matrix, 2 * widths * h)
    assert torsion(shape).constant == pytest.approx(2 * t * q @ (widths * h), rel=0.003)


def test_polygons_apart_add_up():
    one, other = box(0, 0, 20, 10), box(100, 50, 103, 150)
    apart = torsion(MultiPolygon([one, other]), 0.01).constant
    assert apart == pytest.approx(rectangle_series(20, 10) + rectangle_series(100, 3), rel=0.01)


def test_it_does_not_depend_on_place_and_turn():
    shape = box(0, 0, 40, 30).difference(box(3, 3, 37, 31))
    moved = shapely.affinity.translate(shapely.affinity.rotate(shape, 37.0), 4000.0, -900.0)
    assert torsion(moved).constant == pytest.approx(torsion(shape).constant, rel=0.01)


def test_without_area_there_is_none():
    with pytest.raises(ValueError, match="needs an area"):
        torsion(Polygon())


def test_shear_centre_of_a_channel():
    # 3 b² / (h + 6 b) beyond the middle of the web, of mean lines (Timoshenko): thin walls. And the
    # frozen -10.01 from the web's outer face for walls of 3 (sectionproperties 3.10.2), with the
    # centroid at 10.117.
    t, b, h = 0.2, 30.0, 60.0
    thin = box(-t / 2, -t / 2, h + t / 2, b).difference(box(t / 2, t / 2, h - t / 2, b + 1))
    u, v = torsion(thin).shear_centre
    assert u == pytest.approx(0.0, abs=0.01)
    assert thin.centroid.y + v == pytest.approx(-3 * b**2 / (h + 6 * b), rel=0.01)
    u, v = torsion(box(0, 0, 40, 30).difference(box(3, 3, 37, 31)), 0.003).shear_centre
    assert u == pytest.approx(0.0, abs=0.01)
    assert 10.117 + v == pytest.approx(-10.01, abs=0.05)


def test_shear_centre_of_an_angle_is_its_corner():
    # Both legs' forces meet there (Timoshenko).
    angle = box(-0.1, -0.1, 60, 90).difference(box(0.1, 0.1, 61, 91))
    u, v = torsion(angle).shear_centre
    assert (angle.centroid.x + u, angle.centroid.y + v) == pytest.approx((0, 0), abs=0.3)


def test_shear_centre_of_a_slit_tube():
    # 2 r from the middle, on the side away from the slit (Timoshenko).
    slit = ring(10.1, 9.9).difference(box(0, -0.05, 20, 0.05))
    u, v = torsion(slit).shear_centre
    assert slit.centroid.x + u == pytest.approx(-20.0, rel=0.02)
    assert v == pytest.approx(0.0, abs=0.05)


def test_shear_centre_of_symmetric_sections_is_their_middle():
    for shape in (box(5, 7, 25, 17), box(0, 0, 20, 30).difference(box(2, 2, 18, 28)), ring(9.0)):
        assert torsion(shape).shear_centre == pytest.approx((0.0, 0.0), abs=0.02)


def test_shear_centre_of_polygons_apart():
    # Two webs share a force as their second moments: 2³ to 1 for thicknesses of 2 and 1 across
    # it, 2 to 1 along it.
    webs = MultiPolygon([box(0, 0, 2, 40), box(20, 0, 21, 40)])
    u, v = torsion(webs).shear_centre
    assert webs.centroid.x + u == pytest.approx((2 * 1.0 + 20.5) / 3, rel=1e-3)
    assert webs.centroid.y + v == pytest.approx(20.0, rel=1e-3)


def test_shear_centre_turns_with_the_section():
    shape = box(0, 0, 40, 30).difference(box(3, 3, 37, 31))
    turned = torsion(shapely.affinity.rotate(shape, 90.0)).shear_centre
    assert turned == pytest.approx((-torsion(shape).shear_centre[1], 0.0), abs=0.05)
