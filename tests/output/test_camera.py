"""The camera against VTK's own projection, and there and back again."""

import numpy as np
import pytest

from splitplanner.output.camera import Camera

CAMERAS = [
    Camera((300.0, -500.0, 250.0), (10.0, 20.0, 30.0), (0.0, 0.0, 1.0), (800, 600)),
    Camera((0.0, 0.0, 900.0), (0.0, 0.0, 0.0), (0.0, 1.0, 0.0), (640, 480), angle=50.0),
    Camera((400.0, 400.0, 0.0), (0.0, 0.0, 0.0), (0.2, 0.0, 1.0), (500, 700), span=420.0),
]


def points():
    return np.random.default_rng(1).uniform(-150, 150, (40, 3))


def drawn_by_vtk(camera, places):
    """Where VTK draws points, in pixels from the upper left."""
    from vtkmodules.vtkRenderingCore import vtkCamera

    theirs = vtkCamera()
    theirs.SetPosition(camera.position)
    theirs.SetFocalPoint(camera.focus)
    theirs.SetViewUp(camera.upward)
    theirs.SetViewAngle(camera.angle)
    theirs.SetClippingRange(1.0, 5000.0)
    if camera.span is not None:
        theirs.ParallelProjectionOn()
        theirs.SetParallelScale(camera.span / 2)
    width, height = camera.size
    matrix = theirs.GetCompositeProjectionTransformMatrix(width / height, -1.0, 1.0)
    rows = np.array([[matrix.GetElement(i, j) for j in range(4)] for i in range(4)])
    seen = np.hstack([places, np.ones((len(places), 1))]) @ rows.T
    flat = seen[:, :2] / seen[:, 3:]
    return np.stack([(flat[:, 0] + 1) / 2 * width, (1 - flat[:, 1]) / 2 * height], axis=1)


@pytest.mark.parametrize("camera", CAMERAS, ids=["above", "wide", "parallel"])
def test_pixels_are_those_of_vtk(camera):
    np.testing.assert_allclose(camera.pixels(points()), drawn_by_vtk(camera, points()), atol=1e-6)


@pytest.mark.parametrize("camera", CAMERAS, ids=["above", "wide", "parallel"])
def test_the_ray_through_a_pixel_meets_its_point(camera):
    for point, (x, y) in zip(points(), camera.pixels(points()), strict=True):
        ray = camera.ray(x, y)
        assert np.linalg.norm(ray.direction) == pytest.approx(1)
        along = (point - ray.start) @ ray.direction
        assert along > 0
        np.testing.assert_allclose(ray.start + along * ray.direction, point, atol=1e-9)


@pytest.mark.parametrize("camera", CAMERAS, ids=["above", "wide", "parallel"])
def test_a_step_of_a_pixels_size_is_a_pixel(camera):
    for point in points()[:5]:
        step = camera.pixel_size(point)[0] * camera.axes[0]
        (before, after) = camera.pixels([point, point + step])
        assert np.hypot(*(after - before)) == pytest.approx(1, rel=1e-6)


def test_what_is_behind_the_eye_is_nowhere():
    camera = CAMERAS[0]
    behind = 2 * np.array(camera.position) - camera.focus
    assert np.isnan(camera.pixels(behind)).all()


def test_axes_are_right_angled():
    for camera in CAMERAS:
        np.testing.assert_allclose(camera.axes @ camera.axes.T, np.eye(3), atol=1e-12)
        # To the right, up and towards the eye make a right-handed frame.
        assert np.linalg.det(camera.axes) == pytest.approx(-1)
