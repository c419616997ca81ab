"""Seams that open: closed forms of textbooks, brute force on a grid, equilibrium."""

import math

import numpy as np
import pytest
import shapely
from scipy.optimize import minimize

from splitplanner.strength.bolt_group import SeamLoad, edge_tensions, group_of
from splitplanner.strength.neutral_axis import bed_of, opening_of

NONE = np.empty((0, 2))


def bending(pull=0.0, u=0.0, v=0.0, at=(0.0, 0.0)):
    return SeamLoad(np.array([0.0, 0.0, pull]), np.array([u, v, 0.0]), np.array(at))


def box(width, height):
    return shapely.box(-width / 2, -height / 2, width / 2, height / 2)


CROSS = shapely.Polygon(
    [(0, 0), (60, 0), (60, 20), (25, 20), (25, 55), (60, 55), (60, 70), (0, 70)],
    [[(5, 30), (12, 30), (12, 40), (5, 40)]],
)


@pytest.mark.parametrize("eccentricity", [0.0, 4.0, 10.0, 15.0, 18.0, 19.5])
def test_pressure_beyond_the_kern(eccentricity):
    """A block pressed off its middle: N/A (1 + 6e/h), and 2N / (3b (h/2 - e)) beyond h/6.

    The footing on soil of every textbook of foundations.
    """
    width, height, force = 30.0, 40.0, 900.0
    found = opening_of(NONE, [], bending(-force, force * eccentricity), bed_of(box(width, height)))
    if eccentricity <= height / 6:
        expected = force / (width * height) * (1 + 6 * eccentricity / height)
    else:
        expected = 2 * force / (3 * width * (height / 2 - eccentricity))
    assert found.pressure == pytest.approx(expected, rel=1e-9)
    assert found.is_balanced


@pytest.mark.parametrize("ratio", [0.5, 6.0, 15.0, 100.0])
def test_cracked_beam(ratio):
    """Rectangular section with reinforcement on the pulled side: depth of the neutral axis.

    ``x = n As / b (sqrt(1 + 2 b d / (n As)) - 1)`` of the elastic (n-) method of reinforced
    concrete, and tension ``M / (d - x/3)``.
    """
    width, height, deep, moment = 40.0, 100.0, 88.0, 5e5
    steel = 50.0
    area = ratio * steel
    places = [(-10.0, deep - height / 2), (10.0, deep - height / 2)]
    found = opening_of(places, [area / 2] * 2, bending(u=moment), bed_of(box(width, height)))
    axis = area / width * (math.sqrt(1 + 2 * width * deep / area) - 1)
    assert found.tensions.sum() == pytest.approx(moment / (deep - axis / 3), rel=1e-9)
    assert found.pressed_area == pytest.approx(width * axis, rel=1e-9)
    assert found.pressure == pytest.approx(
        2 * moment / (deep - axis / 3) / (width * axis), rel=1e-9
    )


def test_glued_bed_is_a_beam():
    """Without fasteners a glued seam has the stresses N/A + M y / I of a beam."""
    found = opening_of(NONE, [], bending(600.0, 8e3, -5e3), bed_of(box(30.0, 40.0)), glued=True)
    plane = [600 / 1200, 5e3 / (40 * 30**3 / 12), 8e3 / (30 * 40**3 / 12)]
    assert found.plane == pytest.approx(plane, rel=1e-9)
    assert found.pull == pytest.approx(plane[0] + 15 * plane[1] + 20 * plane[2])
    assert found.pulled_at == pytest.approx([15, 20])


def test_stiff_bed_turns_about_its_edge():
    """With fasteners that are soft by the bed the neutral axis goes to the edge: M L / sum(L²)."""
    places = [(-12.0, -5.0), (12.0, -5.0), (-12.0, 17.0), (12.0, 17.0)]
    bed = bed_of(box(30.0, 40.0))
    found = opening_of(places, [1e-5] * 4, bending(u=1e4), bed)
    edge = edge_tensions(group_of(places), bending(u=1e4), bed.corners)
    assert found.tensions == pytest.approx(edge.tensions, rel=3e-3)


def test_moments_of_rings():
    """Against shapely and a fine grid on a polygon that is not convex."""
    bed = bed_of(CROSS)
    total = bed.edges.moments
    assert total[0] == pytest.approx(CROSS.area)
    assert total[1:3] / total[0] == pytest.approx([CROSS.centroid.x, CROSS.centroid.y])
    step = 0.25
    u, v = np.meshgrid(np.arange(step / 2, 60, step), np.arange(step / 2, 70, step))
    inside = shapely.contains_xy(CROSS, u, v)
    for value, wanted in zip(total[3:], (u * u, u * v, v * v), strict=True):
        assert value == pytest.approx(wanted[inside].sum() * step**2, rel=1e-4)


def half_plane(away, offset):
    """What lies below `offset` along a unit vector, as far as all that is tested here."""
    far = 1e3
    side, edge = np.array([-away[1], away[0]]), away * offset
    lower = edge - away * far
    return shapely.Polygon(
        [edge - side * far, edge + side * far, lower + side * far, lower - side * far]
    )


def by_triangles(shape):
    """Integrals of 1, u, v, u², uv, v²: triangles by their sides' middles, exact for these."""
    total = np.zeros(6)
    for triangle in shapely.get_parts(shapely.constrained_delaunay_triangles(shape)):
        corners = shapely.get_coordinates(triangle)
        u, v = ((corners[1:] + corners[:-1]) / 2).T
        every = np.array([np.ones(3), u, v, u * u, u * v, v * v])
        total += triangle.area * every.mean(axis=1)
    return total


def test_clipping_against_shapely():
    rng = np.random.default_rng(2)
    bed = bed_of(CROSS)
    for _ in range(100):
        angle, offset = rng.uniform(0, 2 * math.pi), rng.uniform(-60, 60)
        away = np.array([math.cos(angle), math.sin(angle)])
        moments = bed.edges.moments_below(np.array([-offset, *away]))
        rest = CROSS.intersection(half_plane(away, offset))
        assert moments[0] == pytest.approx(rest.area, abs=1e-6)
        assert moments == pytest.approx(by_triangles(rest), abs=1e-6)


def test_against_brute_force_on_a_grid():
    """A grid of single springs, minimised by scipy, comes to the same tensions."""
    places = np.array([(8.0, 62.0), (8.0, 10.0), (50.0, 10.0), (50.0, 62.0)])
    areas = np.array([300.0, 200.0, 300.0, 250.0])
    given = bending(120.0, 6e3, 9e3, at=(20.0, 30.0))
    found = opening_of(places, areas, given, bed_of(CROSS))
    step = 0.5
    u, v = np.meshgrid(np.arange(step / 2, 60, step), np.arange(step / 2, 70, step))
    inside = shapely.contains_xy(CROSS, u, v)
    cells = np.column_stack([u[inside], v[inside]])
    wanted = np.array([120.0, -9e3 / 50, 6e3 / 50])

    def rows(points):
        return np.column_stack([np.ones(len(points)), (points - [20.0, 30.0]) / 50])

    pulled, pressed = rows(places), rows(cells)

    def energy(motion):
        tension = areas * np.maximum(pulled @ motion, 0)
        pressure = np.minimum(pressed @ motion, 0) * step**2
        value = (tension @ (pulled @ motion) + pressure @ (pressed @ motion)) / 2
        return value - wanted @ motion, tension @ pulled + pressure @ pressed - wanted

    best = minimize(energy, np.zeros(3), jac=True, method="BFGS", options={"gtol": 1e-6})
    tensions = areas * np.maximum(pulled @ best.x, 0)
    assert found.tensions == pytest.approx(tensions, rel=2e-3, abs=0.05)


def test_equilibrium_of_random_patterns():
    """Tensions and pressure, integrated on shapely's pieces, balance the load to 1e-9."""
    rng = np.random.default_rng(17)
    bed = bed_of(CROSS)
    balanced = 0
    for _ in range(150):
        count = int(rng.integers(1, 8))
        places = rng.uniform((-5, -5), (65, 75), (count, 2))
        areas = 10 ** rng.uniform(0, 4, count)
        given = bending(
            rng.normal(0, 200), *rng.normal(0, 8e3, 2), at=rng.uniform((0, 0), (60, 70))
        )
        found = opening_of(places, areas, given, bed)
        if not found.is_balanced:
            continue
        balanced += 1
        size = np.linalg.norm(found.plane[1:])
        half = half_plane(found.plane[1:] / size, -found.plane[0] / size)
        area, u, v, uu, uv, vv = by_triangles(CROSS.intersection(half))
        total = np.array([[area, u, v], [u, uu, uv], [v, uv, vv]]) @ found.plane
        total += np.array([np.ones(count), *places.T]) @ found.tensions
        zero = given.about((0, 0))
        size = abs(given.force[2]) + np.abs(zero).max() / 50 + found.tensions.max()
        assert abs(total[0] - given.force[2]) < 1e-9 * size
        assert abs(total[2] - zero[0]) < 70e-9 * size
        assert abs(-total[1] - zero[1]) < 70e-9 * size
    assert balanced > 100


def test_nothing_holds_it_closed():
    """Contact alone takes no pull, nor bending, nor a force that presses outside it."""
    bed = bed_of(box(30, 40))
    assert not opening_of(NONE, [], bending(10.0), bed).is_balanced
    assert not opening_of(NONE, [], bending(u=500.0), bed).is_balanced
    assert not opening_of(NONE, [], bending(-10.0, 10 * 21.0), bed).is_balanced
    assert opening_of(NONE, [], bending(-10.0, 10 * 19.9), bed).is_balanced
    # A pull outside of fasteners and contact alike.
    assert opening_of([(0, 0)], [50.0], bending(10.0), bed).is_balanced


def test_no_load_no_forces():
    found = opening_of([(0, 0)], [50.0], bending(), bed_of(box(30, 40)))
    assert found.tensions.tolist() == [0.0]
    assert found.pressure == 0.0
    assert found.is_balanced


def test_symmetry():
    """Left and right of a symmetric seam take the same."""
    places = [(-12.0, -10.0), (12.0, -10.0), (-9.0, 15.0), (9.0, 15.0)]
    found = opening_of(places, [80.0] * 4, bending(20.0, 7e3), bed_of(box(30, 40)))
    assert found.tensions[::2] == pytest.approx(found.tensions[1::2], rel=1e-12)
