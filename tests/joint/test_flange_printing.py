"""Flanges of pieces that print in any direction. Expected values: solid geometry."""

import math

import numpy as np
import pytest

from splitplanner.joint.flange.checks import check_flange, faces_to_support
from splitplanner.joint.flange.sizes import slope_towards
from splitplanner.workshop import Printer
from tests.joint.flanged import Z, channel, flanged, square_tube

SLIM = 3e-3
X, Y = np.array((1.0, 0.0, 0.0)), np.array((0.0, 1.0, 0.0))
UPRIGHT = np.array((0.0, 0.0, 1.0))


def leaning(degrees, towards=X):
    """Return +z leaning by an angle."""
    angle = math.radians(degrees)
    return tuple(math.cos(angle) * UPRIGHT + math.sin(angle) * towards)


def steepest(part, joined, up, where):
    """Return the largest overhang angle of the faces of a flange at some places, degrees."""
    middles = joined.face_centroids
    new = where(middles) & (joined.face_areas > 0.05)
    assert new.any()
    return float(np.degrees(np.arcsin(-(joined.face_normals[new] @ np.array(up)).min())))


# -- slopes --------------------------------------------------------------------------------
@pytest.mark.parametrize("lean", [0.0, 10.0, 30.0, -20.0])
def test_the_slope_of_a_leaning_print(lean):
    # In the plane of both directions angles add up: leaning by 10° towards the free side the face
    # may be 10° more from the normal.
    slope = slope_towards(X, -UPRIGHT, leaning(lean), 45.0)
    assert slope == pytest.approx(45.0 + lean)
    # Across it only the print's height counts: sin(slope) cos(lean) = sin(45°).
    slope = slope_towards(Y, -UPRIGHT, leaning(lean), 45.0)
    expected = math.sin(math.radians(45)) / math.cos(math.radians(lean))
    assert math.sin(math.radians(slope)) == pytest.approx(expected)


def test_slopes_end_where_nothing_hangs_or_all_does():
    assert slope_towards(X, -UPRIGHT, leaning(60.0), 45.0) == 90.0
    assert slope_towards(X, -UPRIGHT, leaning(90.0), 45.0) == 90.0
    assert slope_towards(X, -UPRIGHT, leaning(-50.0), 45.0) == 0.0
    assert slope_towards(X, UPRIGHT, leaning(-5.0), 45.0) == 90.0


@pytest.mark.parametrize("limit", [30.0, 45.0, 60.0])
def test_brute_force_over_slopes(limit):
    rng = np.random.default_rng(3)
    for _ in range(50):
        up = rng.normal(size=3)
        up /= np.linalg.norm(up)
        slopes = np.radians(np.linspace(0, 90, 9001))
        normals = np.sin(slopes)[:, None] * -UPRIGHT + np.cos(slopes)[:, None] * X
        hangs = normals @ up < -math.sin(math.radians(limit)) - 1e-12
        found = slope_towards(X, -UPRIGHT, tuple(up), limit)
        first = int(np.argmax(hangs)) if hangs.any() else 9000
        assert found == pytest.approx(first * 0.01, abs=0.02)


@pytest.mark.parametrize("lean", [0.0, 7.0, 20.0])
def test_a_tube_that_prints_leaning(lean):
    part, hidden = square_tube()
    up = leaning(lean)
    case = flanged(part, hidden, Z, ups=(up, up))
    joined = case.below.union(case.bodies[0])
    assert len(faces_to_support(case.below, joined, up, Printer())) == 0
    # On the side that looks down the slope is so much less, and takes 8 mm / tan(45° - lean).
    height = 4 + 8 / math.tan(math.radians(45 - lean))
    added = case.bodies[0].difference(case.below)
    assert added.bounds[0, 2] == pytest.approx(-height, abs=0.15)
    plain = flanged(part, hidden, Z)
    joined = plain.below.union(plain.bodies[0])
    faces = faces_to_support(plain.below, joined, up, Printer())
    # Left as it is that side would hang over, all of it: from 38 to 54 mm wide, 8 mm at 45°.
    area = (38 + 54) / 2 * 8 * math.sqrt(2) if lean else 0.0
    assert joined.face_areas[faces].sum() == pytest.approx(area, rel=0.01)


# -- ends ----------------------------------------------------------------------------------
def test_lower_ends_run_out_to_the_wall():
    # A channel printed on the edges of its legs: its seam is upright.
    part, hidden = channel()
    up = (0.0, 1.0, 0.0)
    plain = flanged(part, hidden, Z, slopes=(90.0, 90.0))
    case = flanged(part, hidden, Z, slopes=(90.0, 90.0), ups=(up, up))
    for side in (0, 1):
        # Of both ends a wedge of 8 by 8 mm is gone.
        assert plain.added(side) - case.added(side) == pytest.approx(2 * 8 * 8 / 2 * 4, rel=0.02)
        piece = (case.below, case.above)[side]
        joined = piece.union(case.bodies[side])

        def below(middles):
            return (middles[:, 1] > 0.5) & (middles[:, 1] < 12) & (np.abs(middles[:, 0]) < 36.9)

        assert steepest(part, joined, up, below) == pytest.approx(45.0, abs=0.1)
    found = check_flange(
        case.flange, case.seam, case.below, case.above, case.bodies, part, (up, up), Printer()
    )
    assert found == ()


def test_upper_ends_stay_square():
    part, hidden = channel()
    down = (0.0, -1.0, 0.0)
    plain = flanged(part, hidden, Z, slopes=(90.0, 90.0))
    case = flanged(part, hidden, Z, slopes=(90.0, 90.0), ups=(down, down))
    assert case.added(0) == pytest.approx(plain.added(0), rel=1e-9)


@pytest.mark.parametrize("up", [(0.2, 0.9, 0.1), (-0.3, 0.9, -0.3), (0.3, 0.7, 0.3)])
def test_ends_of_pieces_that_lie_askew(up):
    up = tuple(np.array(up) / np.linalg.norm(up))
    part, hidden = channel()
    case = flanged(part, hidden, Z, slopes=(90.0, 90.0), ups=(up, up))
    for piece, body in zip((case.below, case.above), case.bodies, strict=True):
        joined = piece.union(body)
        assert len(joined.bodies()) == 1

        def end(middles):
            inside = (middles[:, 1] > 0.5) & (np.abs(middles[:, 0]) < 36.9)
            return inside & (np.abs(middles[:, 2]) < 3.9) & (middles[:, 1] < 15)

        assert steepest(part, joined, up, end) < 45.1
