"""Sections against closed forms, with trimesh and shapely as independent references."""

import functools

import numpy as np
import pytest
import shapely
import trimesh
from shapely.geometry import LineString, MultiPolygon, Point, Polygon

from splitplanner.solid import Plane, Section, Solid, to_polygons
from splitplanner.solid.section import polygons_from_rings

UP = Plane((0.0, 0.0, 1.0), 0.0)
TURN = trimesh.transformations.rotation_matrix(0.9, (3, -1, 2), (5, 7, 0))


def tube(sides=64):
    outer = Solid.cylinder((0, 0, 0), (0, 0, 80), 40, sides)
    return outer.difference(Solid.cylinder((0, 0, -1), (0, 0, 81), 36, sides))


def ring_area(radius, sides):
    return sides * radius**2 * np.tan(np.pi / sides)  # regular polygon round a circle


def test_a_tube_has_a_section_with_a_hole():
    section = tube().section(UP.shifted(30))
    (polygon,) = section.polygons
    assert len(polygon.interiors) == 1
    assert section.area == pytest.approx(ring_area(40, 64) - ring_area(36, 64))
    # Perimeter of the two polygons: 2 n r tan(π/n) each.
    assert section.length == pytest.approx(2 * 64 * (40 + 36) * np.tan(np.pi / 64))
    np.testing.assert_allclose(section.centroid, (0, 0, 30), atol=1e-9)


def test_a_section_is_the_same_however_the_solid_is_turned():
    plain = tube().section(UP.shifted(30))
    turned = (
        tube().transformed(TURN).section(Plane.through((TURN @ [0, 0, 30, 1])[:3], TURN[:3, 2]))
    )
    assert turned.area == pytest.approx(plain.area)
    np.testing.assert_allclose(turned.centroid, (TURN @ [0, 0, 30, 1])[:3], atol=1e-9)
    for ring in turned.rings():
        np.testing.assert_allclose(turned.plane.height(ring), 0, atol=1e-9)
        np.testing.assert_array_equal(ring[0], ring[-1])
    assert len(turned.rings()) == 2


def test_tilted_sections_agree_with_trimesh():
    mesh = trimesh.creation.torus(40.0, 12.0, 64, 32)
    solid = Solid.from_arrays(mesh.vertices, mesh.faces)
    rng = np.random.default_rng(5)
    for _ in range(10):
        plane = Plane.through(rng.normal(0, 8, 3), rng.normal(size=3))
        path = mesh.section(plane_origin=plane.origin, plane_normal=plane.normal)
        loops = [Polygon(plane.to_plane(loop)) for loop in path.discrete]
        reference = functools.reduce(shapely.symmetric_difference, loops)
        section = solid.section(plane)
        assert section.area == pytest.approx(reference.area, rel=1e-6)
        assert section.shape.symmetric_difference(reference).area < 1e-3
        assert section.shape.is_valid


def test_islands_in_holes_are_polygons_of_their_own():
    outer = Solid.box((60, 60, 10)).difference(Solid.box((40, 40, 20), (10, 10, -5)))
    island = Solid.box((20, 20, 10), (20, 20, 0)).difference(Solid.box((5, 5, 20), (25, 25, -5)))
    section = outer.union(island).section(UP.shifted(5))
    assert sorted(polygon.area for polygon in section.polygons) == pytest.approx(
        [400 - 25, 3600 - 1600]
    )
    assert section.area == pytest.approx(2375)


def test_a_section_in_a_face_is_the_one_just_above_it():
    step = Solid.box((40, 40, 20)).union(Solid.box((20, 40, 20), (0, 0, 20)))
    areas = [step.section(UP.shifted(z)).area for z in (0.0, 20.0, 40.0)]
    assert areas == pytest.approx([1600, 800, 0])
    assert step.section(UP.shifted(41)).is_empty
    assert np.isnan(step.section(UP.shifted(41)).centroid).all()


def test_many_sections_at_once_are_those_one_by_one():
    solid = tube().transformed(TURN)
    base = Plane.through((TURN @ [0, 0, 0, 1])[:3], TURN[:3, 0])
    offsets = [-39.0, -20.0, 0.5, 38.0]
    for offset, section in zip(offsets, solid.sections(base, offsets), strict=True):
        alone = solid.section(base.shifted(offset))
        assert section.plane == base.shifted(offset)
        assert section.area == pytest.approx(alone.area, rel=1e-9)


def flat_area(solid, plane):
    """Area of the faces in a plane, of their outlines and added up one by one."""
    chosen = solid.faces_in(plane, 1e-6)
    area = sum(outline.area for outline in solid.polygons_of(chosen, plane))
    assert area == pytest.approx(solid.face_areas[chosen].sum())
    return area


def test_faces_in_a_plane_are_those_that_lie_in_it_and_face_its_way():
    step = Solid.box((40, 40, 20)).union(Solid.box((20, 40, 20), (0, 0, 20)))
    assert flat_area(step, UP.shifted(20)) == pytest.approx(800)
    assert flat_area(step, UP.shifted(20).flipped()) == 0
    assert flat_area(step, UP.flipped()) == pytest.approx(1600)
    assert flat_area(step, UP.shifted(10)) == 0
    top = tube().transformed(TURN)
    plane = Plane.through((TURN @ [0, 0, 80, 1])[:3], TURN[:3, 2])
    assert flat_area(top, plane) == pytest.approx(ring_area(40, 64) - ring_area(36, 64))


# -- polygons out of anything ----------------------------------------------------------------------
SQUARE = Polygon([(0, 0), (2, 0), (2, 2), (0, 2)])


@pytest.mark.parametrize(
    ("geometry", "areas"),
    [
        (None, []),
        (Polygon(), []),
        (Point(0, 0), []),
        (LineString([(0, 0), (1, 1)]), []),
        (SQUARE, [4]),
        (MultiPolygon([SQUARE, shapely.affinity.translate(SQUARE, 5)]), [4, 4]),
        (shapely.GeometryCollection([SQUARE, Point(9, 9), MultiPolygon([SQUARE])]), [4, 4]),
        # A bow tie: two triangles of area 1 that meet in a point.
        (Polygon([(0, 0), (2, 2), (2, 0), (0, 2)]), [1, 1]),
        # A square with a spike: the spike has no area and is dropped.
        (Polygon([(0, 0), (2, 0), (2, 1), (9, 1), (2, 1), (2, 2), (0, 2)]), [4]),
    ],
)
def test_only_polygons_come_out_and_they_are_valid(geometry, areas):
    polygons = to_polygons(geometry)
    assert sorted(polygon.area for polygon in polygons) == pytest.approx(areas)
    assert all(polygon.is_valid for polygon in polygons)


def test_small_polygons_can_be_left_out():
    both = MultiPolygon([SQUARE, Polygon([(5, 5), (5.1, 5), (5, 5.1)])])
    assert len(to_polygons(both, smallest=0.01)) == 1
    assert len(to_polygons(both)) == 2


def test_a_section_of_nothing():
    empty = Section(UP, ())
    assert empty.is_empty
    assert empty.area == 0
    assert empty.length == 0
    assert empty.rings() == []


# A square of 10 mm; on one side its outline turns back, and crosses itself by rounding.
@pytest.mark.parametrize(
    "outer",
    [
        [(0, 0), (6, 0), (4, 0), (10, 0), (10, 10), (0, 10)],
        [(0, 0), (6, 1e-15), (4, 0), (5, -1e-15), (10, 0), (10, 10), (0, 10)],
        [(0, 0), (10, 0), (10, 5), (10 - 1e-14, 4.9), (10 + 1e-14, 5.1), (10, 10), (0, 10)],
    ],
)
def test_an_outline_that_crosses_itself_by_rounding_keeps_its_area(outer):
    hole = np.array([(2, 2), (2, 8), (8, 8), (8, 2)], float)
    (polygon,) = polygons_from_rings([np.array(outer), hole])
    assert polygon.area == pytest.approx(10 * 10 - 6 * 6, abs=1e-9)
    assert len(polygon.interiors) == 1
