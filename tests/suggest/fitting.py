"""An independent measure of fit, which shares no code with the program's own.

Boxes come from trimesh, and where they do not settle it, rotations are searched for with scipy.
"""

import itertools

import numpy as np
import pytest
import trimesh
from scipy.optimize import minimize
from scipy.spatial.transform import Rotation

from splitplanner.plan import divide
from tests.suggest.shapes import SIZES

SLACK = 1e-3
"""The search for rotations stops a little short of an exact fit."""


def fits_box(points, sizes=SIZES):
    """Return whether some rotation brings `points` (n, 3) into a box of `sizes`, by search."""
    hull = trimesh.convex.convex_hull(points)
    _, extents = trimesh.bounds.oriented_bounds(hull)
    if any((extents <= np.array(order) + 1e-3).all() for order in itertools.permutations(sizes)):
        return True

    def excess(vector):
        spans = np.ptp(Rotation.from_rotvec(vector).apply(hull.vertices), axis=0)
        return float((spans / sizes).max())

    starts = Rotation.random(3000, random_state=1).as_rotvec()
    for start in sorted(starts, key=excess)[:8]:
        options = {"xatol": 1e-5, "fatol": 1e-6, "maxiter": 800}
        if minimize(excess, start, method="Nelder-Mead", options=options).fun <= 1 + SLACK:
            return True
    return False


def assert_plans(part, plans, sizes=SIZES):
    """Plans divide the part as their sketches say, and every one of their pieces fits."""
    assert plans
    for plan in plans:
        division = divide(part, plan.sketch.cuts)
        assert division.findings == ()
        assert set(division.by_name) == set(plan.sketch.blocks)
        total = sum(piece.solid.volume for piece in division.pieces)
        assert total == pytest.approx(part.volume, rel=1e-9)
        for piece in division.pieces:
            assert fits_box(piece.solid.vertices, sizes), (plan.sketch.cuts, piece.name)
