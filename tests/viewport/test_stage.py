"""The stage: the right colours at the right places, against cut bodies and against the camera."""

import numpy as np
import pytest

from splitplanner.demo_parts import DEMO_PARTS
from splitplanner.solid import Plane, Solid
from splitplanner.viewport.camera import Camera
from splitplanner.viewport.stage import MOST_PLANES, Stage

SIZE = (300, 240)
CAMERA = Camera((300.0, -400.0, 350.0), (50.0, 30.0, 20.0), (0.0, 0.0, 1.0), SIZE)
PARALLEL = Camera((300.0, -400.0, 350.0), (50.0, 30.0, 20.0), (0.0, 0.0, 1.0), SIZE, span=200.0)
ORANGE, SKY, GREEN, PINK, INK = "#E69F00", "#56B4E9", "#009E73", "#CC79A7", "#000000"
X, Y = Plane((1.0, 0.0, 0.0), 40.0), Plane((0.0, 1.0, 0.0), 25.0)


@pytest.fixture
def stage():
    made = Stage("#FFFFFF")
    yield made
    made.close()


def box():
    return Solid.box((100, 60, 40))


def named(picture, camera, point):
    """Which of the colours is seen at a point, whatever the light."""
    x, y = np.round(camera.pixels(point)[0]).astype(int)
    seen = picture[y, x].astype(float)
    colours = [ORANGE, SKY, GREEN, PINK]
    hues = [np.array([int(c[at : at + 2], 16) for at in (1, 3, 5)], float) for c in colours]
    alike = [hue @ seen / np.linalg.norm(hue) / np.linalg.norm(seen) for hue in hues]
    assert max(alike) > 0.995
    return colours[int(np.argmax(alike))]


@pytest.mark.parametrize("camera", [CAMERA, PARALLEL], ids=["perspective", "parallel"])
def test_both_sides_of_planes_have_their_colours(stage, camera):
    solid = box()
    body = stage.add(solid.vertices, solid.faces)
    body.colour([X, Y], [ORANGE, SKY, GREEN, PINK], INK)
    picture = stage.picture(camera)
    assert picture.shape == (SIZE[1], SIZE[0], 3)
    places = {(20, 12): ORANGE, (70, 12): SKY, (20, 45): GREEN, (70, 45): PINK}
    for (x, y), colour in places.items():
        assert named(picture, camera, (x, y, 40.0)) == colour
    # The line along a plane lies where the plane does.
    x, y = np.round(camera.pixels((40.0, 12.0, 40.0))[0]).astype(int)
    assert picture[y - 1 : y + 2, x - 1 : x + 2].min() < 40
    assert (picture[0, 0] == 255).all()


def test_a_plane_follows_without_anything_being_made_anew(stage):
    solid = box()
    body = stage.add(solid.vertices, solid.faces)
    for offset in (20.0, 60.0, 95.0):
        body.colour([Plane((1.0, 0.0, 0.0), offset)], [ORANGE, SKY], INK)
        picture = stage.picture(CAMERA)
        assert named(picture, CAMERA, (offset - 8.0, 30.0, 40.0)) == ORANGE
        if offset < 90:
            assert named(picture, CAMERA, (offset + 8.0, 30.0, 40.0)) == SKY
    body.colour([], [GREEN], INK)
    picture = stage.picture(CAMERA)
    assert named(picture, CAMERA, (5.0, 30.0, 40.0)) == GREEN
    assert named(picture, CAMERA, (98.0, 30.0, 40.0)) == GREEN


def test_it_looks_as_if_it_had_been_cut(stage):
    solid = DEMO_PARTS["rain_hood"].make(8_000)
    camera = Camera((500.0, -700.0, 500.0), (0.0, 0.0, 60.0), (0.0, 0.0, 1.0), (450, 300))
    plane = Plane.through(solid.bounds.mean(axis=0), (0.9, 0.3, 0.3))
    body = stage.add(solid.vertices, solid.faces)
    # Without a line, which is drawn over both.
    body.colour([plane], [ORANGE, SKY], ORANGE)
    shaded = stage.picture(camera).astype(int)
    stage.remove(body)
    for side, colour in zip(solid.split(plane), (ORANGE, SKY), strict=True):
        stage.add(side.vertices, side.faces).colour([], [colour], INK)
    cut = stage.picture(camera).astype(int)
    differs = np.abs(shaded - cut).max(axis=2) > 12
    body_share = (cut.min(axis=2) < 250).mean()
    assert body_share > 0.1
    # Along the plane alone, where the line is.
    assert differs.mean() < 0.05 * body_share


def test_what_is_removed_is_gone(stage):
    solid = box()
    body = stage.add(solid.vertices, solid.faces)
    assert stage.picture(CAMERA).min() < 250
    stage.remove(body)
    assert (stage.picture(CAMERA) == 255).all()


def test_sizes_may_change_between_pictures(stage):
    solid = box()
    stage.add(solid.vertices, solid.faces)
    for size in ((300, 240), (120, 200), (400, 100)):
        camera = Camera(CAMERA.position, CAMERA.focus, CAMERA.upward, size)
        picture = stage.picture(camera)
        assert picture.shape == (size[1], size[0], 3)
        rows, columns = np.nonzero(picture.min(axis=2) < 250)
        seen = camera.pixels(solid.vertices)
        seen = np.clip(seen, 0, np.array(size) - 1)
        assert columns.min() == pytest.approx(seen[:, 0].min(), abs=2.5)
        assert rows.max() == pytest.approx(seen[:, 1].max(), abs=2.5)


@pytest.mark.parametrize(
    ("planes", "colours"), [([X], [ORANGE]), ([X, Y], [ORANGE, SKY]), ([X] * 5, [SKY] * 32)]
)
def test_every_side_needs_its_colour(stage, planes, colours):
    body = stage.add(box().vertices, box().faces)
    with pytest.raises(ValueError, match=f"up to {MOST_PLANES} planes"):
        body.colour(planes, colours, INK)
