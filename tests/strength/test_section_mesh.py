"""Triangles over sections, and what is solved on them. Expected values: scipy, closed forms."""

import numpy as np
import pytest
import shapely
from scipy.sparse import coo_matrix
from scipy.sparse.linalg import spsolve
from scipy.spatial import Delaunay
from shapely.geometry import box

from splitplanner.strength import section_mesh, section_properties
from splitplanner.strength._division_kernels import divided
from splitplanner.strength._section_kernels import linked
from splitplanner.strength.section_mesh import SectionMesh

CELLS = box(-15, -10, 15, 10).difference(box(-13, -8, -1, 8)).difference(box(1, -8, 13, 8))


def triangles_of(shape, step=2.0):
    """Return points and triangles with outlines divided."""
    found = shapely.get_parts(shapely.constrained_delaunay_triangles(shape))
    corners = shapely.get_coordinates(shapely.orient_polygons(found)).reshape(-1, 4, 2)[:, :3]
    points, number = np.unique(corners.reshape(-1, 2), axis=0, return_inverse=True)
    triangles = number.reshape(-1, 3)
    edges, _, uses = linked(triangles, len(points))
    return divided(points, triangles, edges, uses, step)


def mesh_of(shape, step=2.0):
    return SectionMesh.of(*triangles_of(shape, step))


@pytest.mark.parametrize("step", [0.7, 2.0, 50.0])
def test_divided_outlines(step):
    mesh = mesh_of(CELLS, step)
    starts, ends, middles = mesh.rim.T
    lengths = np.linalg.norm(mesh.points[ends] - mesh.points[starts], axis=1)
    assert lengths.sum() == pytest.approx(CELLS.length)
    assert lengths.max() <= 1.02 * step
    assert mesh.areas.sum() == pytest.approx(CELLS.area)
    assert shapely.distance(CELLS.boundary, shapely.points(mesh.points[middles])).max() < 1e-9


def test_triangles_are_those_of_delaunay():
    # Of points on a convex outline without four on a circle there is one such division (scipy).
    turn = np.sort(np.random.default_rng(3).uniform(0.0, 2.0 * np.pi, 40))
    shape = shapely.Polygon(np.stack([30.0 * np.cos(turn), 11.0 * np.sin(turn)], axis=1))
    points, triangles = triangles_of(shape, 1.7)
    scipys = Delaunay(points)
    # What lies on straight edges makes triangles without area there.
    corners = points[scipys.simplices]
    areas = shapely.area(shapely.polygons(corners))
    wanted = {tuple(sorted(face)) for face in scipys.simplices[areas > 1e-9]}
    assert {tuple(sorted(face)) for face in triangles} == wanted


def test_sums_over_triangles():
    # Of all functions together: the area and its moments, those of polygons by Green's theorem.
    mesh, wanted = mesh_of(CELLS), section_properties(CELLS)
    assert mesh.sums[0].sum() == pytest.approx(wanted.area)
    assert mesh.sums[1:3].sum(axis=1) == pytest.approx([0.0, 0.0], abs=1e-9)
    assert mesh.tensor == pytest.approx(wanted.tensor, abs=1e-6)
    # A constant has no slope, and ∫ |∇(x² + y²)|² is four times the polar moment.
    square = (mesh.points**2).sum(axis=1)
    local = mesh.local.reshape(-1, 6, 6)
    assert np.abs(local.sum(axis=2)).max() < 1e-9
    of = square[mesh.nodes]
    assert np.einsum("mi,mij,mj->", of, local, of) == pytest.approx(4.0 * wanted.polar)


@pytest.mark.parametrize("most", [section_mesh._MOST_WORK, 0.0])
@pytest.mark.parametrize("holes", [0, 2])
def test_systems_are_solved(most, holes, monkeypatch):
    # Rows of compiled loops and sparse factors, against scipy's own solver.
    monkeypatch.setattr(section_mesh, "_MOST_WORK", most)
    mesh = mesh_of(CELLS)
    number = np.arange(len(mesh.points)) % (len(mesh.points) - 40) - 1
    count = int(number.max()) + 1
    of = number[mesh.nodes]
    rows, columns = np.repeat(of, 6, axis=1).ravel(), np.tile(of, 6).ravel()
    kept = (rows >= 0) & (columns >= 0)
    entries = (mesh.local.ravel()[kept], (rows[kept], columns[kept]))
    matrix = coo_matrix(entries, shape=(count, count)).tocsc()
    force = np.random.default_rng(0).normal(size=(count, 2))
    found = mesh.solver(number, count, holes)(force)
    assert found == pytest.approx(spsolve(matrix, force), rel=1e-8, abs=1e-8)


def test_the_gaps_of_triangles_are_what_the_bounds_are_apart():
    # Prager and Synge: to the last digit, whatever the triangles.
    mesh = mesh_of(CELLS)
    (low, stress), (high, warped, _) = mesh.prandtl(), mesh.warping()
    gaps = mesh.gaps(stress, warped)
    assert gaps.min() >= 0.0
    assert gaps.sum() == pytest.approx(high - low, rel=1e-6)
    # Where the worst are divided they come nearer, and what is covered stays.
    finer = SectionMesh.of(*mesh.refined(np.argsort(-gaps)[:20]))
    assert len(mesh.areas) < len(finer.areas) < 2 * len(mesh.areas)
    assert finer.areas.sum() == pytest.approx(CELLS.area)
    assert low < finer.prandtl()[0] < finer.warping()[0] < high
    assert finer.warping()[0] - finer.prandtl()[0] < 0.8 * (high - low)


def test_all_triangles_in_quarters():
    mesh = mesh_of(CELLS)
    finer = SectionMesh.of(*mesh.refined(np.arange(len(mesh.areas))))
    assert len(finer.areas) == 4 * len(mesh.areas)
    assert len(finer.rim) == 2 * len(mesh.rim)
    assert finer.areas.sum() == pytest.approx(CELLS.area)
