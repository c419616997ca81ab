"""Walls, windows between them, and clipping, against shapely and plain numpy."""

import numpy as np
import pytest
import shapely
from scipy.spatial.transform import Rotation

from splitplanner.solid import Plane
from splitplanner.suggest.estimate.clipping import clipped, within
from splitplanner.suggest.estimate.walls import Wall, tightest, window_between

X, Y, Z = (1.0, 0.0, 0.0), (0.0, 1.0, 0.0), (0.0, 0.0, 1.0)


def random_walls(rng, count):
    """Planes round the origin at 10 to 60 mm, on the side where it lies."""
    walls = []
    for normal in Rotation.random(count, random_state=rng).as_matrix()[:, 0]:
        plane = Plane(tuple(normal), float(rng.uniform(10, 60)))
        walls.append(Wall(plane, -1))
        if rng.random() < 0.5:
            walls[-1] = Wall(plane.flipped(), 1)
    return tuple(walls)


def test_the_row_of_a_wall_keeps_its_side():
    plane = Plane((0.6, 0.0, 0.8), 25.0)
    for side in (-1, 1):
        row = np.array(Wall(plane, side).row)
        points = np.random.default_rng(0).uniform(-80, 80, (500, 3))
        kept = points @ row[:3] >= row[3]
        np.testing.assert_array_equal(kept, side * plane.height(points) >= 0)
        assert 0 < kept.sum() < 500


def test_only_the_tightest_of_parallel_walls_are_kept():
    low, high = Plane(X, 10.0), Plane(X, 30.0)
    walls = [Wall(low, 1), Wall(high, 1), Wall(Plane(X, 90.0), -1), Wall(Plane(X, 70.0), -1)]
    assert tightest((*walls, Wall(Plane(Y, 5.0), 1))) == tightest(
        (Wall(Plane(Y, 5.0), 1), Wall(high, 1), Wall(Plane(X, 70.0), -1))
    )
    assert len(tightest((*walls, Wall(Plane(Y, 5.0), 1)))) == 3
    # In whatever order they come, so that equal blocks have equal walls.
    assert tightest(tuple(walls)) == tightest(tuple(reversed(walls)))


@pytest.mark.parametrize("seed", range(8))
def test_a_window_is_what_shapely_leaves_of_a_square(seed):
    rng = np.random.default_rng(seed)
    walls = random_walls(rng, 6)
    plane = Plane(
        tuple(Rotation.random(random_state=rng).as_matrix()[0]), float(rng.uniform(-8, 8))
    )
    window = window_between(plane, walls, 100.0)
    left = shapely.box(-400, -400, 400, 400)
    for wall in walls:
        # The half of the plane within a wall, as a large square that ends at their common line.
        row = np.array(wall.row)
        slope = plane.frame[:2] @ row[:3]
        away = (row[3] - plane.origin @ row[:3]) / np.linalg.norm(slope)
        along = slope / np.linalg.norm(slope)
        across = np.array([-along[1], along[0]])
        corners = [(0, -2000), (4000, -2000), (4000, 2000), (0, 2000)]
        half = shapely.Polygon([(away + d) * along + s * across for d, s in corners])
        left = left.intersection(half)
    assert window.area > 100
    within_reach = window.intersection(shapely.box(-400, -400, 400, 400))
    assert within_reach.symmetric_difference(left).area == pytest.approx(0, abs=1e-6 * left.area)


def test_no_window_is_left_beyond_a_wall():
    plane = Plane(X, 10.0)
    assert window_between(plane, (Wall(Plane(X, 20.0), 1),), 100.0) is None
    assert window_between(plane, (Wall(Plane(X, 20.0), -1),), 100.0) is not None
    # A wall in the plane itself does not count.
    assert window_between(plane, (Wall(plane, 1), Wall(plane, -1)), 100.0) is not None


@pytest.mark.parametrize("seed", range(4))
def test_points_within_walls(seed):
    rng = np.random.default_rng(seed)
    rows = np.array([wall.row for wall in random_walls(rng, 4)])
    points = rng.uniform(-80, 80, (4000, 3))
    wanted = np.flatnonzero((points @ rows[:, :3].T >= rows[:, 3]).all(axis=1))
    np.testing.assert_array_equal(within(points, rows), wanted)
    assert 0 < len(wanted) < 4000


def test_points_in_a_wall_count_as_within():
    assert within(np.zeros((1, 3)), np.array([[1.0, 0, 0, 5e-8]])).tolist() == [0]
    assert within(np.zeros((1, 3)), np.array([[1.0, 0, 0, 2e-7]])).tolist() == []


@pytest.mark.parametrize("seed", range(4))
def test_clipped_segments(seed):
    """Against a thousand points along every segment."""
    rng = np.random.default_rng(seed)
    rows = np.array([wall.row for wall in random_walls(rng, 4)])
    segments = rng.uniform(-80, 80, (60, 2, 3))
    found, owners = clipped(segments, rows)
    steps = np.linspace(0, 1, 2001)[:, None]
    for index, (start, end) in enumerate(segments):
        points = start + steps * (end - start)
        kept = (points @ rows[:, :3].T >= rows[:, 3] - 1e-9).all(axis=1)
        share = kept.mean() * np.linalg.norm(end - start)
        mine = found[owners == index]
        length = np.linalg.norm(mine[:, 1] - mine[:, 0], axis=1).sum()
        assert length == pytest.approx(share, abs=0.15)
        if len(mine):
            assert (mine.reshape(-1, 3) @ rows[:, :3].T >= rows[:, 3] - 1e-9).all()
    assert 5 < len(found) < 60


def test_a_wall_that_is_skipped_does_not_clip():
    rows = np.array([[1.0, 0, 0, 5.0], [0, 1.0, 0, -5.0]])
    segments = np.array([[[0.0, -10, 0], [10.0, 10, 0]]])
    found, _ = clipped(segments, rows)
    np.testing.assert_allclose(found, [[[5, 0, 0], [10, 10, 0]]])
    found, _ = clipped(segments, rows, skip=0)
    np.testing.assert_allclose(found, [[[2.5, -5, 0], [10, 10, 0]]])
