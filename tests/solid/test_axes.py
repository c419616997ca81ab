"""Tightest boxes and principal axes against closed forms and trimesh."""

import numpy as np
import pytest
import shapely
import trimesh
from scipy.spatial.transform import Rotation

from splitplanner.demo_parts import DEMO_PARTS
from splitplanner.solid import (
    Plane,
    Solid,
    axes_of_flats,
    flat_normals,
    principal_axes,
    tightest_box_axes,
)
from tests.catalogue import solid_of, turned

X, Y, Z = np.eye(3)


def random_prism(rng):
    corners = int(rng.integers(3, 24))
    angles, radii = np.sort(rng.uniform(0, 2 * np.pi, corners)), rng.uniform(40, 160, corners)
    plan = np.stack([radii * np.cos(angles), 0.6 * radii * np.sin(angles)], axis=1)
    height = rng.uniform(10, 300)
    ends = [np.column_stack([plan, np.full(corners, z)]) for z in (0.0, height)]
    return trimesh.convex.convex_hull(np.vstack(ends))


# -- the tightest box ---------------------------------------------------------------------------
@pytest.mark.parametrize("seed", range(5))
def test_tightest_box_of_a_turned_box_lies_along_its_sides(seed):
    sizes = np.random.default_rng(seed).uniform(20, 500, 3)
    box, turn = turned(Solid.box(sizes), seed)
    axes = tightest_box_axes(box)
    np.testing.assert_allclose(np.abs(axes @ turn[:, np.argsort(-sizes)]), np.eye(3), atol=1e-7)
    np.testing.assert_allclose(np.ptp(box.vertices @ axes.T, axis=0), np.sort(sizes)[::-1])


@pytest.mark.parametrize("seed", range(12))
def test_tightest_box_is_no_larger_than_that_of_trimesh(seed):
    rng = np.random.default_rng(seed)
    cloud = rng.normal(size=(int(rng.integers(8, 40)), 3)) * [200, 80, 40]
    mesh = random_prism(rng) if seed % 2 else trimesh.convex.convex_hull(cloud)
    mesh.apply_transform(trimesh.transformations.random_rotation_matrix(rng.uniform(size=3)))
    axes = tightest_box_axes(solid_of(mesh))
    np.testing.assert_allclose(axes @ axes.T, np.eye(3), atol=1e-9)
    volume = np.prod(np.ptp(mesh.vertices @ axes.T, axis=0))
    _, extents = trimesh.bounds.oriented_bounds(mesh)
    assert volume <= np.prod(extents) * 1.005


@pytest.mark.parametrize("seed", [10, 37, 96])
def test_flats_that_face_nearly_alike_are_each_tried(seed):
    # Hulls of few points with two flats within 2° of each other, of which one carries the tightest
    # box; a box on their mean is 0.6 to 1.1 % larger.
    rng = np.random.default_rng(seed)
    mesh = trimesh.convex.convex_hull(
        rng.normal(size=(int(rng.integers(8, 40)), 3)) * [200, 80, 40]
    )
    axes = tightest_box_axes(solid_of(mesh))
    _, extents = trimesh.bounds.oriented_bounds(mesh)
    assert np.prod(np.ptp(mesh.vertices @ axes.T, axis=0)) <= np.prod(extents) * 1.001


def test_tightest_box_of_round_parts():
    # A rod tilted in space lies along the longest side of its box, 2 r x 2 r x h.
    rod, turn = turned(Solid.cylinder((0, 0, 0), (0, 0, 300), 50.0, sides=64), 3)
    axes = tightest_box_axes(rod)
    assert abs(axes[0] @ turn[:, 2]) == pytest.approx(1, abs=1e-6)
    assert np.prod(np.ptp(rod.vertices @ axes.T, axis=0)) <= 100 * 100 * 300 * 1.005
    # A cone's box is as small when it lies on its flank: a triangle's rectangle is twice its area
    # on every side.
    cone, _ = turned(solid_of(trimesh.creation.cone(100.0, 300.0, sections=64)), 3)
    axes = tightest_box_axes(cone)
    assert np.prod(np.ptp(cone.vertices @ axes.T, axis=0)) <= 200 * 200 * 300 * 1.005


def test_the_own_frame_wins_ties():
    # Every box round a disc is as large; a maker expects the axes of the drawing.
    disc = Solid.cylinder((0, 0, 0), (0, 0, 30), 150.0, sides=200)
    np.testing.assert_array_equal(np.abs(tightest_box_axes(disc)), [X, Y, Z])


@pytest.mark.parametrize("seed", range(4))
def test_tightest_box_of_a_tilted_l_lies_along_its_legs(seed):
    # Legs of 300 and 200 mm, 60 mm wide: along them the rectangle is 300 x 200 = 60 000 mm². The
    # hull's slanting side from (300, 60) to (60, 200) has the direction (-240, 140) / 277.85:
    # along it lie (0, 200) at 100.78 and (300, 0) at -259.13, across it (300, 60) at 203.00 and
    # (0, 0) at 0, so its rectangle is larger: 359.91 x 203.00 = 73 060 mm².
    ell, turn = turned(Solid.box((300, 60, 40)).union(Solid.box((60, 200, 40))), seed)
    axes = tightest_box_axes(ell)
    np.testing.assert_allclose(np.abs(axes @ turn), np.eye(3), atol=1e-7)
    np.testing.assert_allclose(np.ptp(ell.vertices @ axes.T, axis=0), [300, 200, 40])


def test_tightest_box_of_a_cut_corner_lies_on_the_slanting_side():
    # A triangle with sides 500, 400, 300 of which the right corner points up: every rectangle on a
    # side holds twice its area, 120 000 mm²; with the corner at the top cut off at half its height
    # (240 mm) only the one on the long side shrinks, to 500 x 120 = 60 000 mm².
    corners = np.array([(0, 0), (500, 0), (410, 120), (160, 120)])
    slab = trimesh.convex.convex_hull([(x, y, z) for x, y in corners for z in (0, 20)])
    part, turn = turned(solid_of(slab), 6)
    axes = tightest_box_axes(part)
    np.testing.assert_allclose(np.abs(axes @ turn), np.eye(3), atol=1e-7)


def test_hulls_of_many_faces_have_as_small_a_box():
    # An ellipsoid with half axes 150, 75, 50: the box along them is the tightest, 300 x 150 x 100.
    ball = trimesh.creation.icosphere(5, 1.0)
    ball.vertices *= [150, 75, 50]
    egg, turn = turned(solid_of(ball), 8)
    axes = tightest_box_axes(egg)
    volume = np.prod(np.ptp(egg.vertices @ axes.T, axis=0))
    assert volume == pytest.approx(300 * 150 * 100, rel=0.01)
    assert abs(axes[0] @ turn[:, 0]) > np.cos(np.radians(5))


def test_flats_that_face_alike_or_apart_count_together():
    box = Solid.box((30, 20, 10))
    found = flat_normals(box.face_normals, box.face_areas, most=6)
    # Two flats each of 600, 300 and 200 mm².
    np.testing.assert_allclose(np.abs(found), [Z, Y, X], atol=1e-12)
    # The smallest pair holds 400 of 2200 mm², 18 %.
    assert len(flat_normals(box.face_normals, box.face_areas, most=6, share=0.2)) == 2
    assert len(flat_normals(box.face_normals, box.face_areas, most=1)) == 1


# -- principal axes -----------------------------------------------------------------------------
def second_moments(solid, axes, count=60):
    """Mean square distance of the volume from its middle along each axis, by cutting in slices."""
    found = []
    for axis in axes:
        heights = solid.vertices @ axis
        low, high = heights.min(), heights.max()
        stations = low + (high - low) * (np.arange(count) + 0.5) / count
        plane = Plane.through((0, 0, 0), axis)
        areas = np.array([section.area for section in solid.sections(plane, stations)])
        middle = areas @ stations / areas.sum()
        found.append(float(areas @ (stations - middle) ** 2 / areas.sum()))
    return found


@pytest.mark.parametrize("seed", range(4))
def test_principal_axes_of_a_box_are_its_edges_longest_first(seed):
    # The moment of a box about its middle along an edge a is m a² / 12 (textbook mechanics), so
    # the longest edge is the axis of the greatest spread.
    sizes = np.random.default_rng(seed).permutation([430.0, 240.0, 200.0])
    box, turn = turned(Solid.box(sizes), seed)
    axes = principal_axes(box)
    np.testing.assert_allclose(np.abs(axes @ turn[:, np.argsort(-sizes)]), np.eye(3), atol=1e-9)
    wanted = np.sort(sizes)[::-1] ** 2 / 12
    np.testing.assert_allclose(second_moments(box, axes), wanted, rtol=1e-3)


@pytest.mark.parametrize("seed", range(3))
def test_principal_axes_agree_with_trimesh(seed):
    part, _ = turned(
        Solid.box((300, 80, 40)).union(Solid.box((60, 200, 40)), Solid.box((40, 40, 120))), seed
    )
    mesh = trimesh.Trimesh(part.vertices, part.faces, process=False)
    # The greatest spread along an axis is the least moment of inertia about it.
    order = np.argsort(mesh.principal_inertia_components)
    axes = principal_axes(part)
    cosines = np.abs(axes @ mesh.principal_inertia_vectors[order].T)
    np.testing.assert_allclose(cosines, np.eye(3), atol=1e-6)


def test_principal_axes_do_not_depend_on_the_triangles():
    fine = trimesh.creation.box((430, 200, 240)).subdivide().subdivide()
    part, turn = turned(solid_of(fine), 5)
    np.testing.assert_allclose(np.abs(principal_axes(part) @ turn), [X, Z, Y], atol=1e-9)


def test_principal_axes_that_are_not_unique_are_those_of_the_frame():
    for size in ((300, 40, 40), (40, 40, 40), (20, 20, 5)):
        axes = principal_axes(Solid.box(size, (100, 0, 0)))
        np.testing.assert_allclose(np.sort(np.abs(axes), axis=0), np.sort(np.eye(3), axis=0))
    bar = principal_axes(Solid.cylinder((5, 5, 5), (5, 5, 105), 6.0))
    np.testing.assert_allclose(np.abs(bar[0]), Z, atol=1e-12)
    # Across a round bar that stands askew, the axis nearest to one of the frame is taken: here the
    # bar leans in the plane of y and z, so x stays.
    leaning = principal_axes(Solid.cylinder((0, 0, 0), (0, 60, 80), 6.0))
    np.testing.assert_allclose(np.abs(leaning), [(0, 0.6, 0.8), X, (0, 0.8, 0.6)], atol=1e-9)


# -- along flats --------------------------------------------------------------------------------
def gable(slope, length=120.0):
    """Two plates that lean against each other, alike left and right of x = 0."""
    outside = [(-80.0, 0.0), (80.0, 0.0), (0.0, 80.0 * slope)]
    inside = [(x * 0.9, z * 0.9 - 1.0) for x, z in outside]
    whole, hollow = (
        Solid.prism(shapely.Polygon(ring), Plane(-Y, 0.0), low, length - low)
        for ring, low in ((outside, 0.0), (inside, -1.0))
    )
    return whole.difference(hollow)


def drilled():
    plate = Solid.box((200, 80, 6)).union(Solid.box((200, 6, 50)), Solid.box((6, 80, 30)))
    return plate.difference(*(Solid.cylinder((x, 40, -1), (x, 40, 7), 8.0) for x in (40, 90, 150)))


@pytest.mark.parametrize("seed", range(4))
def test_flats_of_a_turned_part_are_its_axes(seed):
    part, turn = turned(drilled(), seed)
    axes = axes_of_flats(part)
    # The same but for order and sense, right-handed, and nearest to the world's.
    seen = axes @ turn
    np.testing.assert_allclose(
        np.sort(np.abs(seen), axis=0), [(0, 0, 0), (0, 0, 0), (1, 1, 1)], atol=1e-9
    )
    assert np.linalg.det(axes) == pytest.approx(1.0)
    quarters = Rotation.create_group("O").as_matrix()
    assert np.trace(axes) == pytest.approx(np.trace(quarters @ axes, axis1=1, axis2=2).max())
    rounded = Solid.from_arrays(part.vertices.astype(np.float32), part.faces)
    np.testing.assert_allclose(axes_of_flats(rounded), axes, atol=1e-6)


def test_a_little_turned_keeps_its_order():
    for axis in np.eye(3):
        turn = Rotation.from_rotvec(np.radians(40.0) * axis).as_matrix()
        whole = np.eye(4)
        whole[:3, :3] = turn
        np.testing.assert_allclose(axes_of_flats(drilled().transformed(whole)), turn.T, atol=1e-9)


@pytest.mark.parametrize(
    "part",
    [
        drilled(),
        Solid.cylinder((0, 0, 0), (30, 80, 200), 25.0),
        gable(0.6),
        gable(0.6, 30.0),
        DEMO_PARTS["rain_hood"].make(5_000),
        turned(DEMO_PARTS["rain_hood"].make(5_000), 1)[0],
    ],
    ids=["along them", "round", "gable", "short gable", "hood", "hood turned"],
)
def test_others_stay_along_the_axes_of_the_frame(part):
    assert np.array_equal(axes_of_flats(part), np.eye(3))


def test_a_disc_lies_along_its_ends():
    axes = axes_of_flats(Solid.cylinder((0, 0, 0), (0, 3, 4), 80.0))
    assert np.abs(axes @ (0.0, 0.6, 0.8)).max() == pytest.approx(1.0)
    np.testing.assert_allclose(axes @ axes.T, np.eye(3), atol=1e-12)


def test_plates_square_to_each_other_lean_both_ways():
    axes = axes_of_flats(gable(1.0))
    assert np.sort(np.abs(axes @ Y)) == pytest.approx([0, 0, 1], abs=1e-9)
    assert np.sort(np.abs(axes @ Z)) == pytest.approx([0, 0.5**0.5, 0.5**0.5])
