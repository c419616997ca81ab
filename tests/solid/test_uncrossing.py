"""Surfaces that pass through themselves, against closed forms and winding numbers."""

import math

import numpy as np
import pytest
import trimesh
from scipy.spatial.transform import Rotation

from splitplanner.findings import Severity
from splitplanner.solid import Solid, heal
from splitplanner.solid.uncrossing import uncrossed
from splitplanner.solid.winding import wrong_stretches

SQUARE = [(-4, -4), (4, -4), (4, 4), (-4, 4)]
ROUND = [(4 * math.cos(a), 4 * math.sin(a)) for a in 2 * np.pi * np.arange(48) / 48]


def swept(path, outline):
    """Corners and outward faces of a closed tube along `path` (n, 3)."""
    along = np.roll(path, -1, axis=0) - np.roll(path, 1, axis=0)
    along /= np.linalg.norm(along, axis=1)[:, None]
    aside = np.cross(along, [0, 0, 1.0])
    aside /= np.linalg.norm(aside, axis=1)[:, None]
    up = np.cross(aside, along)
    ring = np.stack([path + a * aside + b * up for a, b in outline], axis=1)
    index = np.arange(ring.shape[0] * ring.shape[1]).reshape(ring.shape[:2])
    ahead, right = np.roll(index, -1, axis=0), np.roll(index, -1, axis=1)
    both = np.roll(ahead, -1, axis=1)
    faces = np.stack([index, right, both, index, both, ahead], axis=-1).reshape(-1, 3)
    mesh = trimesh.Trimesh(ring.reshape(-1, 3), faces, process=False)
    return ring.reshape(-1, 3), faces if mesh.volume > 0 else faces[:, ::-1]


def figure_eight(outline):
    """A tube that passes through itself at the origin, at a right angle."""
    turn = 2 * np.pi * np.arange(96) / 96
    return swept(np.column_stack([40 * np.sin(turn), 20 * np.sin(2 * turn), 0 * turn]), outline)


def trefoil(rise):
    """A tube round a path with three crossings in plan, `rise` mm up and down at each."""
    turn = 2 * np.pi * np.arange(240) / 240
    x = np.sin(turn) + 2 * np.sin(2 * turn)
    y = np.cos(turn) - 2 * np.cos(2 * turn)
    return swept(np.column_stack([20 * x, 20 * y, rise * np.sin(3 * turn)]), ROUND)


def limacon():
    """A plate over r = 10 + 30 cos t, whose inner loop is wrapped twice; corners and faces."""
    turn = 2 * np.pi * np.arange(180) / 180
    r = 10 + 30 * np.cos(turn)
    plan = np.column_stack([r * np.cos(turn), r * np.sin(turn)])
    low, high = (np.column_stack([plan, np.full(180, z)]) for z in (0.0, 8.0))
    vertices = np.vstack([low, high, [(15, 0, 0), (15, 0, 8)]])
    i = np.arange(180)
    j = np.roll(i, -1)
    faces = np.concatenate(
        [
            np.stack([i, j, j + 180], axis=1),
            np.stack([i, j + 180, i + 180], axis=1),
            np.stack([j, i, np.full(180, 360)], axis=1),
            np.stack([i + 180, j + 180, np.full(180, 361)], axis=1),
        ]
    )
    return vertices, faces


def found(healed, kind):
    (finding,) = [finding for finding in healed.findings if finding.kind.startswith("healing.")]
    assert finding.kind == kind
    return finding


@pytest.mark.parametrize("seed", [None, 1, 2])
def test_a_tube_that_passes_through_itself_is_made_one(seed):
    turn = np.eye(3) if seed is None else Rotation.random(random_state=seed).as_matrix()
    vertices, faces = figure_eight(SQUARE)
    healed = heal(vertices @ turn.T, faces)
    finding = found(healed, "healing.uncrossed")
    assert finding.severity is Severity.NOTE
    # The bars cross at the origin at the angle of the path there, direction (40, 40): a right
    # angle, so they share 8 * 8 * 8 mm³ but for what the path is bent within 4 mm.
    assert finding.measured == pytest.approx(512, rel=1e-3)
    raw = trimesh.Trimesh(vertices, faces, process=False)
    assert healed.solid.volume == pytest.approx(raw.volume - 512, rel=1e-4)
    assert np.linalg.norm(finding.where, axis=1).max() < 9
    assert len(healed.solid.bodies()) == 1
    assert not len(wrong_stretches(healed.solid.vertices, healed.solid.faces, 60).wraps)


def test_two_round_bars_share_a_steinmetz_solid():
    # Two cylinders of radius r that cross at a right angle share 16/3 r³ (Archimedes). A tube of
    # 48 sides drawn inside the circle holds sin(2 pi / n) / (2 pi / n) of the circle's area; the
    # shared body goes with the cube of lengths.
    finding = found(heal(*figure_eight(ROUND)), "healing.uncrossed")
    inscribed = math.sin(2 * math.pi / 48) / (2 * math.pi / 48)
    assert finding.measured == pytest.approx(16 / 3 * 4**3 * inscribed**1.5, rel=2e-3)


def test_several_crossings_are_each_made_one():
    vertices, faces = trefoil(rise=2.0)
    healed = heal(vertices, faces)
    finding = found(healed, "healing.uncrossed")
    fine = wrong_stretches(vertices, faces, 200)
    assert finding.measured == pytest.approx(fine.lengths.sum() * fine.cell, rel=0.01)
    # One closed ring through which three more ways lead: Euler-Poincaré, V - E + F = 2 (1 - g)
    # with g = 4: each crossing adds a hole to the ring's one.
    solid = healed.solid
    assert len(solid.vertices) - len(solid.faces) // 2 == 2 * (1 - 4)


def test_a_tube_that_passes_itself_clear_is_left_alone():
    healed = heal(*trefoil(rise=8.0))
    assert [f.kind for f in healed.findings if f.kind.startswith("healing.")] == []


def test_a_crossing_that_runs_out_in_the_surface_is_reported_as_it_is():
    # Inner loop of a limaçon r = a + b cos t with b > a: the area within is that of
    # r² / 2 from the angle where r = 0 to the one opposite (textbook calculus).
    vertices, faces = limacon()
    assert uncrossed(Solid.from_arrays(vertices, faces)) is None
    finding = found(heal(vertices, faces), "healing.crossing")
    assert finding.severity is Severity.WARNING
    zero = math.acos(-1 / 3)
    angles = np.linspace(zero, 2 * np.pi - zero, 100_001)
    loop = np.trapezoid((10 + 30 * np.cos(angles)) ** 2 / 2, angles)
    assert finding.measured == pytest.approx(8 * loop, rel=0.1)


def test_a_surface_that_wraps_a_place_backwards_is_reported_as_it_is():
    # The top of a box is drawn down to a point 10 mm below its floor: what is below the floor, a
    # pyramid on 20 x 20 with a height of 10, is wrapped -1 times.
    vertices = np.array(
        [(0, 0, 0), (40, 0, 0), (40, 40, 0), (0, 40, 0), (0, 0, 10), (40, 0, 10), (40, 40, 10),
         (0, 40, 10), (20, 20, -10)], float
    )  # fmt: skip
    sides = [(i, (i + 1) % 4, (i + 1) % 4 + 4, i + 4) for i in range(4)]
    faces = [(0, 2, 1), (0, 3, 2)]
    faces += [(a, b, c) for a, b, c, _ in sides] + [(a, c, d) for a, _, c, d in sides]
    faces += [(4 + i, 4 + (i + 1) % 4, 8) for i in range(4)]
    assert uncrossed(Solid.from_arrays(vertices, faces)) is None
    finding = found(heal(vertices, np.array(faces)), "healing.crossing")
    assert finding.measured == pytest.approx(20 * 20 * 10 / 3, rel=0.1)
    assert finding.where[:, 2].max() < 0
