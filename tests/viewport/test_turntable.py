"""The turntable: what stays where it is when the view is turned, moved and enlarged."""

import numpy as np
import pytest

from splitplanner.viewport.turntable import Turntable

SIZE = (800, 600)
PARALLEL = pytest.mark.parametrize("is_parallel", [False, True], ids=["perspective", "parallel"])


def corners(low, high):
    return np.array(
        [[x, y, z] for x in (low[0], high[0]) for y in (low[1], high[1]) for z in (low[2], high[2])]
    )


@PARALLEL
@pytest.mark.parametrize(
    "direction", [(-0.5, -1, 0.6), (0, 0, 1), (0, 0, -1), (1, 0, 0), (0, 1, 0)]
)
@pytest.mark.parametrize("size", [(800, 600), (300, 900)])
def test_what_is_fitted_is_in_the_picture_and_fills_it(is_parallel, direction, size):
    box = corners((-200, -50, 0), (300, 80, 120))
    table = Turntable(is_parallel=is_parallel).seen_from(direction).fitted(box, size)
    seen = table.camera(size).pixels(box)
    assert (seen >= 0).all()
    assert (seen <= size).all()
    share = np.ptp(seen, axis=0) / size
    assert share.max() > 0.7
    np.testing.assert_allclose(
        table.axes[2], np.array(direction) / np.linalg.norm(direction), atol=1e-12
    )


def test_z_is_upright_and_from_above_y_is():
    for direction in ((1, 2, 0.5), (-1, 0, 0)):
        camera = Turntable().seen_from(direction).camera(SIZE)
        foot, top = camera.pixels([[0, 0, 0], [0, 0, 10]])
        assert top[0] == pytest.approx(foot[0])
        assert top[1] < foot[1]
    foot, top = Turntable().seen_from((0, 0, 1)).camera(SIZE).pixels([[0, 0, 0], [0, 10, 0]])
    assert top == pytest.approx([foot[0], foot[1] - 10 / 1000 * 600 / (2 * np.tan(np.radians(15)))])


@PARALLEL
def test_zooming_leaves_what_is_under_the_pointer(is_parallel):
    table = Turntable((10.0, 20.0, 30.0), is_parallel=is_parallel)
    ray = table.camera(SIZE).ray(650, 120)
    along = (table.focus - ray.start) @ table.axes[2] / (ray.direction @ table.axes[2])
    point = ray.start + along * ray.direction
    nearer = table.zoomed(1.7, 650, 120, SIZE).camera(SIZE)
    assert nearer.pixels(point)[0] == pytest.approx([650, 120])
    assert table.camera(SIZE).pixel_size(point)[0] == pytest.approx(
        1.7 * nearer.pixel_size(point)[0]
    )


@PARALLEL
def test_panning_takes_the_scene_along_with_the_pointer(is_parallel):
    table = Turntable((10.0, 20.0, 30.0), is_parallel=is_parallel)
    moved = table.panned(25, -40, SIZE[1]).camera(SIZE)
    before = table.camera(SIZE).pixels(table.focus)[0]
    assert moved.pixels(table.focus)[0] == pytest.approx(before + np.array([25, -40]))


def test_turning_goes_round_the_focus_and_stops_above_it():
    table = Turntable((1.0, 2.0, 3.0), azimuth=170.0, elevation=80.0)
    turned = table.orbited(30.0, 25.0)
    assert (turned.azimuth, turned.elevation, turned.focus) == (-160.0, 90.0, table.focus)
    assert turned.orbited(0.0, -200.0).elevation == -90.0
    # Straight above and below there still is an upward.
    np.testing.assert_allclose(turned.axes @ turned.axes.T, np.eye(3), atol=1e-12)


def test_nothing_to_fit_changes_nothing():
    assert Turntable().fitted(np.zeros((0, 3)), SIZE) == Turntable()
    point = Turntable().fitted([[5.0, 5.0, 5.0]], SIZE)
    assert point.focus == (5.0, 5.0, 5.0)
    assert point.distance > 0
