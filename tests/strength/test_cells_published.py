"""Cells against published plates and shells, straight from closed meshes: within 5 %."""

import numpy as np
import pytest
from shapely.geometry import Polygon

from splitplanner.solid import Plane, Solid
from splitplanner.strength.cells import Hold, embedded
from tests.strength.embedding import (
    TURNED,
    alike,
    facing,
    held_along,
    mean_move,
    moved_by,
    turned_box,
)

SIDE, THICK, PRESSURE = 240.0, 4.0, 1e-3
RIGIDITY = 2000.0 * THICK**3 / (12 * (1 - 0.3**2))


def quarter_plate(frame, size):
    """From the middle of a square plate to two of its edges, which are left to hold."""
    half = SIDE / 2
    model = embedded(turned_box((half, half, THICK), (0, 0, -THICK / 2), frame), alike(2000, 0.3))
    x, y = frame.T[:2]
    return model, held_along(model, -x, -y), (facing(model, x), facing(model, y))


def deflection(model, holds, frame):
    z = frame[:, 2]
    moved = moved_by(model, holds, model.pushed(facing(model, z), -PRESSURE * z))
    middle = np.zeros((1, 3))
    rows = model.rows_at(middle, -(frame[:, 0] + frame[:, 1]))
    return -model.moves(moved, middle, rows)[0] @ z


@pytest.mark.parametrize("frame", [np.eye(3), TURNED])
def test_a_simply_supported_plate(frame):
    # w = 0.00406 q a⁴ / D (Timoshenko and Woinowsky-Krieger, Theory of Plates and Shells, table 8,
    # from memory). Edges that only keep from moving across let the twisting moment go: +1 % at
    # this thickness.
    model, symmetry, edges = quarter_plate(frame, 12.0)
    holds = [Hold(edge, (tuple(frame[:, 2]),)) for edge in edges]
    expected = 0.00406 * PRESSURE * SIDE**4 / RIGIDITY
    assert deflection(model, symmetry + holds, frame) == pytest.approx(expected, rel=0.03)


@pytest.mark.parametrize("frame", [np.eye(3), TURNED])
def test_a_clamped_plate(frame):
    # w = 0.00126 q a⁴ / D (the same, table 35, from memory).
    model, symmetry, edges = quarter_plate(frame, 12.0)
    holds = [Hold(edge) for edge in edges]
    expected = 0.00126 * PRESSURE * SIDE**4 / RIGIDITY
    assert deflection(model, symmetry + holds, frame) == pytest.approx(expected, rel=0.02)


def ring(inner, outer, start, end, count=200):
    """A stretch of a ring, angles in degrees from x towards z."""
    angle = np.radians(np.linspace(start, end, count))
    way = np.stack([np.cos(angle), np.sin(angle)], axis=1)
    return Polygon(np.vstack([outer * way, inner * way[::-1]]))


def curved(shape, length):
    """The shape in x and z, drawn out along y from 0."""
    drawn = Solid.prism(shape, Plane((0.0, 0.0, 1.0), 0.0), 0.0, length)
    base = Plane((0.0, 0.0, 1.0), 0.0).frame
    local = np.eye(4)
    # (u, v, n) of the plane to (x, z, y), mirrored back by -y.
    local[:3, :3] = np.array([[1, 0, 0], [0, 0, -1], [0, 1, 0]], float) @ base
    return drawn.transformed(local)


def test_scordelis_and_los_roof():
    # 0.3024 down at the middle of the free edge (MacNeal and Harder 1985, from memory; shells of
    # many triangles give about 0.3006). A quarter: crown at x = 0, free edge at 40°, the end at
    # y = -25 on a diaphragm. A wall a fifth of a cell thick.
    radius, thick, weight = 25.0, 0.25, 90.0
    roof = curved(ring(radius - thick / 2, radius + thick / 2, 50.0, 90.0), 25.0)
    model = embedded(roof, alike(4.32e8), size=1.25)
    holds = held_along(model, (-1, 0, 0), (0, 1, 0))
    holds.append(Hold(facing(model, (0, -1, 0)), ((1, 0, 0), (0, 0, 1))))
    moved = moved_by(model, holds, model.weighed((0, 0, -weight / thick)))
    edge = radius * np.array([[np.sin(np.radians(40.0)), 0.0, np.cos(np.radians(40.0))]])
    outward = np.array([np.cos(np.radians(40.0)), 0.0, -np.sin(np.radians(40.0))])
    found = model.moves(moved, edge, model.rows_at(edge, outward))[0]
    assert -found[2] == pytest.approx(0.3024, rel=0.03)


def test_a_pinched_cylinder_on_diaphragms():
    # 1.8248e-5 under two forces of 1 (Belytschko and others 1985, from memory; Flügge's series). An
    # eighth: the force at z = 300, y = 0; the end at y = -300 on a diaphragm.
    pipe = curved(ring(298.5, 301.5, 0.0, 90.0, 300), 300.0)
    model = embedded(pipe, alike(3e6, 0.3), size=15.0)
    # Not the inside beside the edges, which looks almost the same way.
    flat = [facing(model, n, 1 - 1e-9) for n in ((-1, 0, 0), (0, 0, -1), (0, 1, 0))]
    holds = [Hold(f, (w,)) for f, w in zip(flat, ((1, 0, 0), (0, 0, 1), (0, 1, 0)), strict=True)]
    holds.append(Hold(facing(model, (0, -1, 0)), ((1, 0, 0), (0, 0, 1))))
    point = np.array([[0.0, 0.0, 300.0]])
    rows = model.rows_at(point, (-1.0, 1.0, 0.0))
    moved = moved_by(model, holds, model.forced(point, rows, [[0.0, 0.0, -0.25]]))
    assert -model.moves(moved, point, rows)[0, 2] == pytest.approx(1.8248e-5, rel=0.05)


def test_a_twisted_beam():
    # A strip 12 long, 1.1 x 0.32, twisted by a quarter turn: 1.754e-3 under 1 along its end's
    # short side, 5.424e-3 along its long one (MacNeal and Harder 1985, from memory).
    model = embedded(twisted_strip(12.0, 1.1, 0.32), alike(29e6, 0.22), size=0.6)
    start, end = facing(model, (-1, 0, 0)), facing(model, (1, 0, 0))
    for way, expected in (((0, 1, 0), 1.754e-3), ((0, 0, 1), 5.424e-3)):
        moved = moved_by(model, [Hold(start)], model.pushed(end, np.array(way) / end.area))
        assert mean_move(model, moved, end) @ way == pytest.approx(expected, rel=0.01)


def twisted_strip(length, width, thick, count=96, each=6):
    """Along x, its sections turned from y towards z by a quarter turn in all."""
    step = np.linspace(-0.5, 0.5, each, endpoint=False)
    half = np.full(each, 0.5)
    sides = [(step, -half), (half, step), (-step, half), (-half, -step)]
    ring = np.vstack([np.column_stack(side) for side in sides]) * (width, thick)
    turns = np.linspace(0.0, np.pi / 2, count + 1)
    rings = [
        np.column_stack(
            [np.full(len(ring), length * turn / turns[-1]), ring @ [c, -s], ring @ [s, c]]
        )
        for turn, c, s in zip(turns, np.cos(turns), np.sin(turns), strict=True)
    ]
    around, last = len(ring), count * len(ring)
    faces = []
    for own in range(around):
        after = (own + 1) % around
        for base in range(0, last, around):
            a, b, c, d = base + own, base + after, base + around + own, base + around + after
            faces += [(a, b, c), (b, d, c)]
        faces += [(last + around, after, own), (last + around + 1, last + own, last + after)]
    ends = [[0.0, 0.0, 0.0], [length, 0.0, 0.0]]
    return Solid.from_arrays(np.vstack([*rings, ends]), np.array(faces))


def test_an_elliptic_membrane():
    # σyy = 92.7 at the end of the hole's long half axis, pulled at the outer edge by 10 (NAFEMS
    # LE1, from memory). Stress at the edge of a cut cell is 4 % high.
    angle = np.radians(np.linspace(0.0, 90.0, 200))
    way = np.column_stack([np.cos(angle), np.sin(angle)])
    shape = Polygon(np.vstack([way * (3.25, 2.75), way[::-1] * (2.0, 1.0)]))
    part = Solid.prism(shape, Plane((0.0, 0.0, 1.0), 0.0), 0.0, 0.1)
    model = embedded(part, alike(210e3, 0.3), size=0.12)
    middles = part.face_centroids
    holds = [
        Hold(model.patch(middles[:, axis] < 1e-6), (tuple(np.eye(3)[axis]),)) for axis in range(3)
    ]
    outer = ((middles[:, :2] / (3.25, 2.75)) ** 2).sum(axis=1) > 0.98
    upright = np.abs(part.face_normals[:, 2]) < 0.1
    edge = model.patch(outer & upright & (middles[:, :2].min(axis=1) > 1e-6))
    moved = moved_by(model, holds, model.pushed(edge, 10.0 * edge.normals))
    corner = np.array([[2.0, 0.0, 0.05]])
    found = model.stresses(moved, corner, model.rows_at(corner, (-1.0, -1.0, 0.0)))[0]
    assert found[1, 1] == pytest.approx(92.7, rel=0.05)
