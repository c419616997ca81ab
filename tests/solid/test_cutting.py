"""Cuts of meshes, against the kernel's own cuts, trimesh's checks and closed forms."""

from functools import cache

import numpy as np
import pytest
import trimesh
from manifold3d import Manifold, Mesh64

from splitplanner.demo_parts import DEMO_PARTS
from splitplanner.solid import Plane, Solid
from splitplanner.solid import solid as solid_module
from splitplanner.solid.cutting import cut_mesh
from splitplanner.solid.slicing import mesh_sections

X, Y, Z = np.eye(3)
ROUNDING = 1e-6


def u_shape():
    return Solid.box((100, 60, 80)).difference(Solid.box((60, 80, 80), (20, -10, 20)))


def ring():
    return Solid.cylinder((0, 0, 0), (0, 0, 40), 60, 48).difference(
        Solid.cylinder((0, 0, -1), (0, 0, 41), 40, 48)
    )


def hollow():
    return Solid.box((60, 60, 60)).difference(Solid.box((30, 30, 30), (15, 15, 15)))


def steps():
    return Solid.box((90, 40, 30)).union(
        Solid.box((60, 40, 30), (0, 0, 30)), Solid.box((30, 40, 30), (0, 0, 60))
    )


SHAPES = [u_shape, ring, hollow, steps, *DEMO_PARTS]


@cache
def made(shape):
    return DEMO_PARTS[shape].make(6_000) if isinstance(shape, str) else shape()


def kernel_volume(solid, plane, *, above):
    """Volume of one side as the kernel cuts it, a hair off the plane, mm³."""
    mesh = Mesh64(np.array(solid.vertices), np.array(solid.faces, dtype=np.uint64))
    sides = Manifold(mesh).split_by_plane(plane.normal, plane.offset + (1e-7 if above else -1e-7))
    return sides[0 if above else 1].volume()


def planes_through(solid, count):
    """Planes anywhere, along the axes, and through corners and flat faces of a solid."""
    rng = np.random.default_rng(3)
    low, high = solid.bounds
    for normal in (X, Y, Z, *rng.normal(size=(count, 3))):
        unit = normal / np.linalg.norm(normal)
        yield Plane.through(rng.uniform(low, high), unit)
        yield Plane.through(solid.vertices[rng.integers(len(solid.vertices))], unit)
    for axis in (X, Y, Z):
        flat = np.flatnonzero(np.abs(solid.face_normals @ axis) > 1 - 1e-9)
        for face in rng.choice(flat, 4) if len(flat) else ():
            yield Plane.through(solid.face_centroids[face], axis)


@pytest.mark.parametrize("shape", SHAPES, ids=lambda shape: getattr(shape, "__name__", shape))
def test_both_sides_are_closed_and_have_the_kernels_volume(shape):
    solid = made(shape)
    told = 0
    for plane in planes_through(solid, 4):
        cut = cut_mesh(solid.vertices, solid.faces, plane, ROUNDING)
        if cut is None:
            continue
        told += 1
        total = 0.0
        for (vertices, faces), above in zip(cut, (False, True), strict=True):
            wanted = kernel_volume(solid, plane, above=above)
            if not len(faces):
                assert wanted < 1e-3
                continue
            mesh = trimesh.Trimesh(vertices, faces, process=False)
            assert mesh.is_watertight
            assert mesh.is_winding_consistent
            assert mesh.volume == pytest.approx(wanted, rel=1e-6, abs=0.01)
            # Nothing stands out over the plane, and no corner is left over.
            over = plane.height(vertices) * (1 if above else -1)
            assert over.min() > -2 * ROUNDING
            assert np.array_equal(np.unique(faces), np.arange(len(vertices)))
            # The kernel takes it as it is.
            assert Solid.from_arrays(vertices, faces).volume == pytest.approx(mesh.volume, rel=1e-9)
            total += mesh.volume
        assert total == pytest.approx(solid.volume, rel=1e-7)
    assert told > 15


def test_the_two_sides_share_their_cut_face():
    solid = ring()
    plane = Plane.through((0.0, 0.0, 20.0), (0.2, 0.1, 1.0))
    below, above = cut_mesh(solid.vertices, solid.faces, plane, ROUNDING)
    caps = []
    for vertices, faces in (below, above):
        flat = (np.abs(plane.height(vertices)) < 1e-9)[faces].all(axis=1)
        caps.append({frozenset(map(tuple, vertices[face])) for face in faces[flat]})
    assert caps[0] == caps[1]
    assert len(caps[0]) >= 48


def test_a_plane_in_faces_gives_each_side_what_is_material_there():
    # At 30 the tread of the first step faces up, and the second step goes on above.
    below, above = cut_mesh(steps().vertices, steps().faces, Plane((0.0, 0.0, 1.0), 30.0), ROUNDING)
    volumes = [trimesh.Trimesh(*mesh, process=False).volume for mesh in (below, above)]
    assert volumes == pytest.approx([90 * 40 * 30, 60 * 40 * 30 + 30 * 40 * 30])
    part = Solid.reopened(*above)
    assert part.faces_in(Plane((0.0, 0.0, -1.0), -30.0), 1e-9).any()
    areas = part.face_areas[part.faces_in(Plane((0.0, 0.0, -1.0), -30.0), 1e-9)]
    assert areas.sum() == pytest.approx(60 * 40)


@pytest.mark.parametrize(("offset", "left"), [(-1.0, 1), (0.0, 1), (90.0, 0), (91.0, 0)])
def test_a_plane_beside_a_solid_leaves_it_whole(offset, left):
    solid = steps()
    cut = cut_mesh(solid.vertices, solid.faces, Plane((0.0, 0.0, 1.0), offset), ROUNDING)
    assert len(cut[1 - left][1]) == 0
    assert trimesh.Trimesh(*cut[left], process=False).volume == pytest.approx(solid.volume)


def test_outlines_that_touch_are_left_to_the_kernel():
    # Two prisms that share an edge; across it their outlines meet in a point.
    one, other = Solid.box((20, 20, 40)), Solid.box((20, 20, 40), (20, 20, 0))
    both = one.union(other)
    plane = Plane.through((20.0, 20.0, 20.0), (0.0, 0.0, 1.0))
    cut = cut_mesh(both.vertices, both.faces, plane, ROUNDING)
    if cut is not None:
        # The kernel keeps the shared edge twice.
        assert [trimesh.Trimesh(*mesh, process=False).is_watertight for mesh in cut] == [True] * 2
    below, above = both.split(plane)
    assert (below.volume, above.volume) == pytest.approx((16000, 16000))


def test_an_edge_that_touches_the_plane_divides_nothing():
    roof = Solid.from_arrays(*prism())
    below, above = cut_mesh(roof.vertices, roof.faces, Plane((0.0, 0.0, 1.0), 30.0), ROUNDING)
    assert len(above[1]) == 0
    assert trimesh.Trimesh(*below, process=False).volume == pytest.approx(roof.volume)
    assert sections(roof, [Plane((0.0, 0.0, 1.0), 30.0)]) == [()]


def prism():
    """A roof, 60 x 100 on its base, with its ridge at 30 mm."""
    hull = trimesh.convex.convex_hull(
        [(0, 0, 0), (60, 0, 0), (0, 100, 0), (60, 100, 0), (30, 0, 30), (30, 100, 30)]
    )
    return hull.vertices, hull.faces


def sections(solid, planes):
    rounding = np.full(len(planes), ROUNDING)
    return list(mesh_sections(solid.vertices, solid.faces, planes, rounding))


@pytest.mark.parametrize("shape", SHAPES, ids=lambda shape: getattr(shape, "__name__", shape))
def test_sections_have_the_kernels_area_and_the_outlines_that_trimesh_finds(shape):
    solid = made(shape)
    mesh = trimesh.Trimesh(solid.vertices, solid.faces, process=False)
    kernel = Manifold(Mesh64(np.array(solid.vertices), np.array(solid.faces, dtype=np.uint64)))
    rng = np.random.default_rng(4)
    for normal in (X, Y, Z, *rng.normal(size=(3, 3))):
        plane = Plane.through(rng.uniform(*solid.bounds), normal / np.linalg.norm(normal))
        (polygons,) = sections(solid, [plane])
        upright = kernel.transform(np.column_stack([plane.frame, np.zeros(3)]))
        area = upright.slice(plane.offset).area()
        assert sum(p.area for p in polygons) == pytest.approx(area, rel=1e-6, abs=1e-6)
        segments = trimesh.intersections.mesh_plane(mesh, plane.normal, plane.origin)
        length = np.linalg.norm(segments[:, 1] - segments[:, 0], axis=1).sum()
        assert sum(p.length for p in polygons) == pytest.approx(length, rel=1e-6, abs=1e-6)


@pytest.mark.parametrize("shape", SHAPES, ids=lambda shape: getattr(shape, "__name__", shape))
def test_many_sections_are_those_that_are_cut_one_by_one(shape):
    solid = made(shape)
    for base in (Plane((0.0, 0.0, 1.0), 0.0), Plane((0.0, 0.6, 0.8), 0.0)):
        heights = base.height(solid.vertices)
        # In corners, in faces, between them and off the solid.
        low, high = heights.min(), heights.max()
        offsets = np.unique([low - 1.0, *heights[:20], *np.linspace(low, high, 30), high + 1.0])
        planes = [base.shifted(float(offset)) for offset in offsets]
        alone = [sections(solid, [plane])[0] for plane in planes]
        assert sections(solid, planes) == alone
    assert sections(solid, []) == []


def test_a_section_in_faces_is_that_just_above():
    ((polygon,),) = sections(steps(), [Plane((0.0, 0.0, 1.0), 30.0)])
    assert polygon.area == pytest.approx(60 * 40)


@pytest.mark.parametrize("shape", SHAPES, ids=lambda shape: getattr(shape, "__name__", shape))
def test_the_kernel_does_the_same_where_it_is_asked(shape, monkeypatch):
    solid = made(shape)
    planes = list(planes_through(solid, 1))
    usual = [solid.split(plane) for plane in planes]
    monkeypatch.setattr(solid_module, "cut_mesh", lambda *_: None)
    for plane, sides in zip(planes, usual, strict=True):
        for one, other in zip(sides, solid.split(plane), strict=True):
            assert (one is None) == (other is None)
            if one is not None:
                assert other.volume == pytest.approx(one.volume, rel=1e-7)
                assert len(other.bodies()) == len(one.bodies())
