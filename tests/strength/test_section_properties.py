"""Figures of sections. Expected values: closed forms and frozen values, named at each check."""

import math

import numpy as np
import pytest
import shapely
from hypothesis import given, settings
from hypothesis import strategies as st
from shapely.geometry import MultiPolygon, Polygon, box

from splitplanner.score import section_modulus
from splitplanner.strength import section_properties, shear_stress

U_AXIS, V_AXIS = np.array([1.0, 0.0]), np.array([0.0, 1.0])

CHANNEL = box(0, 0, 40, 30).difference(box(3, 3, 37, 31))
"""40 wide, 30 tall, walls of 3, open upwards."""


def ring(outer, inner, sides=720):
    turn = np.arange(sides) * 2 * np.pi / sides
    corners = np.stack([np.cos(turn), np.sin(turn)], axis=1)
    return Polygon(outer * corners, [inner * corners] if inner else [])


def placed(shape, turn, shift):
    turned = shapely.affinity.rotate(shape, turn, origin=(0, 0))
    return shapely.affinity.translate(turned, *shift)


def test_a_rectangle():
    # b h³ / 12, b h² / 6, h / √12, d/√12.
    found = section_properties(box(0, 0, 10, 20))
    assert found.area == pytest.approx(200, rel=1e-12)
    assert found.perimeter == pytest.approx(60, rel=1e-12)
    assert found.centroid == pytest.approx([5, 10], rel=1e-12)
    assert found.about_u == pytest.approx(10 * 20**3 / 12, rel=1e-12)
    assert found.about_v == pytest.approx(20 * 10**3 / 12, rel=1e-12)
    assert found.polar == pytest.approx(200 * (100 + 400) / 12, rel=1e-12)
    assert found.product == pytest.approx(0.0, abs=1e-9)
    assert found.moduli(U_AXIS) == pytest.approx([10 * 20**2 / 6] * 2, rel=1e-12)
    assert found.modulus == pytest.approx(20 * 10**2 / 6, rel=1e-12)
    assert found.gyration == pytest.approx([20 / math.sqrt(12), 10 / math.sqrt(12)], rel=1e-12)
    assert found.angle == pytest.approx(0.0, abs=1e-9)
    assert found.fibres(V_AXIS) == pytest.approx([5, 5])


def test_a_channel():
    # Frozen values of an independent finite element section library (sectionproperties 3.10.2),
    # as far as they were written down, and the sum of its three rectangles with Steiner's theorem.
    found = section_properties(CHANNEL)
    assert found.area == pytest.approx(282, rel=1e-12)
    assert found.centroid == pytest.approx([20, 10.11702], abs=5e-6)
    assert found.about_u == pytest.approx(25442.138, abs=5e-4)
    assert found.about_v == pytest.approx(71566.0, rel=1e-9)
    bottom, top = found.moduli(U_AXIS)
    assert top == pytest.approx(1279.594, abs=5e-4)
    assert bottom == pytest.approx(2514.785, abs=5e-4)
    assert found.moduli(V_AXIS) == pytest.approx([3578.3] * 2, rel=1e-9)
    assert found.perimeter == pytest.approx(194, rel=1e-12)
    middle = (40 * 3 * 1.5 + 2 * 3 * 27 * 16.5) / 282
    exact = 40 * 3**3 / 12 + 120 * (middle - 1.5) ** 2
    exact += 2 * (3 * 27**3 / 12 + 81 * (16.5 - middle) ** 2)
    assert found.centroid[1] == pytest.approx(middle, rel=1e-12)
    assert found.about_u == pytest.approx(exact, rel=1e-9)
    # About v the moment is the larger one.
    assert found.angle == pytest.approx(90.0)
    assert found.major == pytest.approx(71566.0, rel=1e-9)
    assert found.minor == pytest.approx(exact, rel=1e-9)


def test_a_hollow_box():
    # (b h³ - b' h'³) / 12.
    found = section_properties(box(0, 0, 20, 30).difference(box(2, 2, 18, 28)))
    assert found.area == pytest.approx(184, rel=1e-12)
    assert found.about_u == pytest.approx((20 * 30**3 - 16 * 26**3) / 12, rel=1e-9)
    assert found.about_v == pytest.approx((30 * 20**3 - 26 * 16**3) / 12, rel=1e-9)
    assert found.about_u == pytest.approx(21565.33, abs=5e-3)
    assert found.about_v == pytest.approx(11125.33, abs=5e-3)


@pytest.mark.parametrize("sides", [5, 12, 96])
def test_a_regular_tube(sides):
    # Of a regular polygon: A = n/2 R² sin a, I = A R² (2 + cos a) / 12 about every axis through
    # its centre, a = 2π/n (handbook form). The polygon itself, not the circle, to 1e-9.
    turn = 2 * np.pi / sides
    area = [sides / 2 * r**2 * np.sin(turn) for r in (10.0, 9.0)]
    second = [a * r**2 * (2 + np.cos(turn)) / 12 for a, r in zip(area, (10.0, 9.0), strict=True)]
    found = section_properties(ring(10.0, 9.0, sides))
    assert found.area == pytest.approx(area[0] - area[1], rel=1e-9)
    assert found.about_u == pytest.approx(second[0] - second[1], rel=1e-9)
    assert found.about_v == pytest.approx(second[0] - second[1], rel=1e-9)
    assert found.angle == 0.0


def test_a_round_tube():
    # π (R⁴ - r⁴) / 4, of which 2000 sides fall short by some 3e-6.
    found = section_properties(ring(10.0, 9.0, 2000))
    assert found.about_u == pytest.approx(math.pi * (10**4 - 9**4) / 4, rel=1e-5)
    assert found.about_u == pytest.approx(2700.984, rel=1e-5)


def test_a_triangle():
    # b h³ / 36 about the base's direction, h / 3 up; with the right angle at the origin the
    # product moment is -b² h² / 72.
    found = section_properties(Polygon([(0, 0), (12, 0), (0, 9)]))
    assert found.centroid == pytest.approx([4, 3], rel=1e-12)
    assert found.about_u == pytest.approx(12 * 9**3 / 36, rel=1e-12)
    assert found.product == pytest.approx(-(12**2) * 9**2 / 72, rel=1e-12)
    assert found.fibres(U_AXIS) == pytest.approx([3, 6])
    # Mohr: tan 2θ = -2 Iuv / (Iu - Iv).
    iu, iv, iuv = found.about_u, found.about_v, found.product
    radius = math.hypot((iu - iv) / 2, iuv)
    assert found.major == pytest.approx((iu + iv) / 2 + radius, rel=1e-12)
    assert found.minor == pytest.approx((iu + iv) / 2 - radius, rel=1e-12)
    assert math.tan(2 * math.radians(found.angle)) == pytest.approx(-2 * iuv / (iu - iv))


@pytest.mark.parametrize("shift", [(0.0, 0.0), (5e3, -2e3), (1e5, -3e5)])
@pytest.mark.parametrize("turn", [0.0, 33.3, 90.0, -71.0])
def test_wherever_it_lies(turn, shift):
    # A rigid motion turns the axes and changes nothing else.
    plain, found = section_properties(CHANNEL), section_properties(placed(CHANNEL, turn, shift))
    assert found.major == pytest.approx(plain.major, rel=1e-9)
    assert found.minor == pytest.approx(plain.minor, rel=1e-9)
    assert found.modulus == pytest.approx(plain.modulus, rel=1e-9)
    assert found.angle == pytest.approx((90.0 + turn + 90.0) % 180.0 - 90.0, abs=1e-6) or (
        abs(abs(found.angle) - 90.0) < 1e-6
    )


def test_rings_may_run_either_way():
    outer, inner = [(0, 0), (9, 0), (9, 5), (0, 5)], [(1, 1), (4, 1), (4, 3)]
    ways = [
        section_properties(Polygon(outer[::a], [inner[::b]])).tensor
        for a in (1, -1)
        for b in (1, -1)
    ]
    for tensor in ways[1:]:
        assert tensor == pytest.approx(ways[0], rel=1e-12)


def test_polygons_apart_are_one_section():
    # Two flanges without a web: (b H³ - b h³) / 12.
    flanges = MultiPolygon([box(0, 0, 100, 4), box(0, 16, 100, 20)])
    found = section_properties(flanges)
    assert found.about_u == pytest.approx(100 * (20**3 - 12**3) / 12, rel=1e-12)


@settings(max_examples=40, deadline=None, derandomize=True, database=None)
@given(st.integers(0, 10_000))
def test_against_triangles(seed):
    # Independent: Delaunay triangles of the polygon, each by the mid-edge rule, exact for
    # quadratic functions.
    rng = np.random.default_rng(seed)
    turn = np.sort(rng.uniform(0, 2 * np.pi, 9))
    spokes = rng.uniform(3, 10, 9)[:, None] * np.stack([np.cos(turn), np.sin(turn)], axis=1)
    shape = Polygon(spokes).buffer(0.3, join_style="mitre").difference(ring(1.0, 0, 12))
    if shape.geom_type != "Polygon" or not shape.is_valid:
        return
    triangles = shapely.get_parts(shapely.constrained_delaunay_triangles(shape))
    corners = np.array([shapely.get_coordinates(t)[:3] for t in triangles])
    area = shapely.area(triangles)
    middles = (corners + np.roll(corners, 1, axis=1)) / 2
    centroid = (middles.mean(axis=1) * area[:, None]).sum(axis=0) / area.sum()
    away = middles - centroid
    tensor = np.einsum("t,tki,tkj->ij", area / 3, away, away)
    found = section_properties(shape)
    assert found.area == pytest.approx(area.sum(), rel=1e-9)
    assert found.centroid == pytest.approx(centroid, abs=1e-9)
    assert found.tensor == pytest.approx(tensor, rel=1e-9, abs=1e-9 * np.trace(tensor))
    # The modulus of the station chart is the same figure.
    assert found.modulus == pytest.approx(section_modulus(MultiPolygon([shape])), rel=1e-9)


def test_unsymmetric_bending_balances_the_moment():
    # A right triangle: stress from its three corners is linear, so ∫ σ r dA follows by the
    # mid-edge rule, and must be -m.
    shape = Polygon([(0, 0), (12, 0), (0, 9)])
    found = section_properties(shape)
    moment = np.array([700.0, -1900.0])
    stress = found.bending_stress(moment)
    middles = (found.hull + np.roll(found.hull, 1, axis=0)) / 2
    between = (stress + np.roll(stress, 1)) / 2
    assert -(between[:, None] * middles).mean(axis=0) * found.area == pytest.approx(moment)
    assert stress.mean() == pytest.approx(0.0, abs=1e-12)


def test_bending_about_a_principal_axis_is_m_over_w():
    found = section_properties(CHANNEL)
    stress = found.bending_stress(np.array([0.0, 5000.0]))
    bottom, top = found.moduli(U_AXIS)
    assert stress.max() == pytest.approx(5000.0 / bottom)
    assert stress.min() == pytest.approx(-5000.0 / top)


def test_shear_stress():
    # Rectangle 3/2 V/A, circle 4/3 V/A (Timoshenko, Strength of Materials).
    assert shear_stress(box(0, 0, 10, 20), 100.0, V_AXIS) == pytest.approx(1.5 * 100 / 200)
    assert shear_stress(ring(10.0, 0, 720), 100.0, V_AXIS) == pytest.approx(
        4 / 3 * 100 / (math.pi * 100), rel=1e-4
    )
    # A box girder: V Q / (I 2t) with Q of half of it.
    girder = box(0, 0, 20, 30).difference(box(2, 2, 18, 28))
    q = 20 * 2 * 14 + 2 * 2 * 13 * 6.5
    second = (20 * 30**3 - 16 * 26**3) / 12
    assert shear_stress(girder, 50.0, V_AXIS) == pytest.approx(50 * q / (second * 4))


def many_cornered(seed):
    """A turned box with corners along its sides that are off by rounding, and a ring beside it."""
    along = np.linspace(-1.0, 1.0, 41)[:-1]
    below = np.column_stack([10.0 * along, np.full(40, -7.0)])
    right = np.column_stack([np.full(40, 10.0), 7.0 * along])
    turn = np.radians(90.0 * (seed % 4) + 17.0 * (seed > 3))
    turned = [[np.cos(turn), np.sin(turn)], [-np.sin(turn), np.cos(turn)]]
    corners = np.concatenate([below, right, -below, -right]) @ turned
    corners *= 1.0 + np.random.default_rng(seed).uniform(-4e-16, 4e-16, corners.shape)
    return MultiPolygon([Polygon(corners), placed(ring(4, 2, 90), 0.0, (30.0, 5.0 * seed))])


@pytest.mark.parametrize("seed", range(8))
def test_fibres_are_those_of_the_convex_hull(seed):
    # Shapely's hull, seen from every degree.
    shape = many_cornered(seed)
    found = section_properties(shape)
    turns = np.radians(np.arange(360.0))
    ways = np.array([np.cos(turns), np.sin(turns)])
    wanted = shapely.get_coordinates(shape.convex_hull) - found.centroid
    assert (found.hull @ ways).max(axis=0) == pytest.approx((wanted @ ways).max(axis=0), abs=1e-12)
    # To the left round.
    assert Polygon(found.hull).exterior.is_ccw


@pytest.mark.parametrize("shape", [MultiPolygon(), Polygon()])
def test_without_area_there_are_no_figures(shape):
    with pytest.raises(ValueError, match="needs an area"):
        section_properties(shape)
