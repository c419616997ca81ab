"""The stage: the right colours at the right places, in the light and where the camera says."""

import numpy as np
import pytest

from splitplanner.demo_parts import DEMO_PARTS
from splitplanner.output.camera import Camera
from splitplanner.solid import Plane, Solid
from splitplanner.viewport.bodies import Mesh, Placed, Sheet, Wires
from splitplanner.viewport.stage import Stage

SIZE = (300, 240)
CAMERA = Camera((300.0, -400.0, 350.0), (50.0, 30.0, 20.0), (0.0, 0.0, 1.0), SIZE)
PARALLEL = Camera((300.0, -400.0, 350.0), (50.0, 30.0, 20.0), (0.0, 0.0, 1.0), SIZE, span=200.0)
CAMERAS = pytest.mark.parametrize("camera", [CAMERA, PARALLEL], ids=["perspective", "parallel"])
ORANGE, SKY, GREEN, INK, PAPER = "#E69F00", "#56B4E9", "#009E73", "#000000", "#FFFFFF"


@pytest.fixture
def stage():
    made = Stage()
    yield made
    made.close()


def placed(solid, colour=ORANGE, **more):
    return Placed(Mesh(solid.vertices, solid.faces), colour, **{"has_edges": False} | more)


def box():
    return Solid.box((100, 60, 40))


def drawn(stage, camera=CAMERA):
    picture = stage.picture(camera, paper=PAPER, ink=INK)
    assert picture.shape == (camera.size[1], camera.size[0], 4)
    return picture[:, :, :3]


def at(picture, camera, point):
    x, y = np.floor(camera.pixels(point)[0]).astype(int)
    return picture[y, x].astype(float)


def named(picture, camera, point, colours=(ORANGE, SKY, GREEN)):
    """Which of the colours is seen at a point, whatever the light."""
    seen = at(picture, camera, point)
    hues = [np.array([int(c[k : k + 2], 16) for k in (1, 3, 5)], float) for c in colours]
    alike = [hue @ seen / np.linalg.norm(hue) / np.linalg.norm(seen) for hue in hues]
    assert max(alike) > 0.995
    return colours[int(np.argmax(alike))]


@CAMERAS
def test_bodies_are_seen_in_their_colours_where_they_stand(stage, camera):
    sides = box().split(Plane((1.0, 0.0, 0.0), 40.0))
    stage.show([placed(sides[0], ORANGE), placed(sides[1], SKY, shift=(8.0, 0.0, 0.0))])
    picture = drawn(stage, camera)
    assert named(picture, camera, (20.0, 12.0, 40.0)) == ORANGE
    assert named(picture, camera, (104.0, 12.0, 40.0)) == SKY
    assert (picture[0, 0] == 255).all()


@CAMERAS
def test_the_outline_is_that_of_the_cameras_own_sums(stage, camera):
    solid = box()
    stage.show([placed(solid)])
    rows, columns = np.nonzero(drawn(stage, camera).min(axis=2) < 250)
    seen = camera.pixels(solid.vertices)
    assert [columns.min(), rows.min()] == pytest.approx(seen.min(axis=0), abs=1.5)
    assert [columns.max() + 1, rows.max() + 1] == pytest.approx(seen.max(axis=0), abs=1.5)


def test_faces_that_meet_look_different_and_the_light_goes_with_the_eye(stage):
    stage.show([placed(box(), "#C0C0C0")])
    picture = drawn(stage)
    lights = [
        at(picture, CAMERA, point)[0]
        for point in ((50.0, 30.0, 40.0), (50.0, 0.0, 20.0), (100.0, 30.0, 20.0))
    ]
    assert min(abs(a - b) for k, a in enumerate(lights) for b in lights[:k]) > 10
    # By turns of the eye about z, and of what it sees with it, nothing changes.
    turned = Camera((400.0, 300.0, 350.0), (-30.0, 50.0, 20.0), CAMERA.upward, SIZE)
    vertices = box().vertices[:, [1, 0, 2]] * [-1, 1, 1]
    stage.show([Placed(Mesh(vertices, box().faces), "#C0C0C0", has_edges=False)])
    differs = np.abs(drawn(stage, turned).astype(int) - picture).max(axis=2) > 3
    assert differs.mean() < 0.005


def test_faces_have_their_own_colours_until_they_are_taken_away(stage):
    solid = box()
    is_top = solid.face_normals[:, 2] > 0.9
    tints = np.where(is_top[:, None], [0, 158, 115], [230, 159, 0]).astype(np.uint8)
    body = placed(solid, SKY)
    for colours, top, side in ((tints, GREEN, ORANGE), (None, SKY, SKY), (tints, GREEN, ORANGE)):
        stage.show([Placed(body.mesh, SKY, face_colours=colours, has_edges=False)])
        picture = drawn(stage)
        assert named(picture, CAMERA, (50.0, 30.0, 40.0)) == top
        assert named(picture, CAMERA, (50.0, 0.0, 20.0)) == side


def test_what_is_not_shown_is_gone_and_what_is_kept_comes_back(stage):
    body, other = placed(box()), placed(Solid.box((20, 20, 20)), SKY)
    stage.show([body])
    first = drawn(stage).copy()
    stage.show([other], kept=[body])
    assert named(drawn(stage), CAMERA, (10.0, 10.0, 20.0)) == SKY
    stage.show([body])
    np.testing.assert_array_equal(drawn(stage), first)
    stage.show([])
    assert (drawn(stage) == 255).all()
    # What has drawn one mesh draws another.
    stage.show([other])
    assert named(drawn(stage), CAMERA, (10.0, 10.0, 20.0)) == SKY


def test_sharp_edges_are_dark_and_others_are_not_drawn(stage):
    stage.show([placed(box(), has_edges=True)])
    picture = drawn(stage)
    x, y = np.floor(CAMERA.pixels((50.0, 0.0, 40.0))[0]).astype(int)
    assert picture[y - 1 : y + 2, x].max(axis=1).min() < 60
    # Along the diagonal of a side lies an edge of faces, but no edge of the box.
    plain = at(picture, CAMERA, (50.0, 30.0, 40.0))
    assert plain.max() > 120


def test_sheets_are_seen_through_and_hidden_by_what_is_before_them(stage):
    stage.show([placed(box())])
    bare = drawn(stage).astype(int)
    corners = np.array([[50, -40, -30], [50, 100, -30], [50, 100, 90], [50, -40, 90]], float)
    stage.show_flat([Sheet(corners, "#0000FF", 0.5)], [])
    sheeted = drawn(stage).astype(int)
    # Above the body the paper is seen through it, and behind the sheet the body.
    assert at(sheeted, CAMERA, (50.0, 30.0, 70.0)) == pytest.approx([127, 127, 255], abs=3)
    behind = at(bare, CAMERA, (20.0, 30.0, 40.0))
    blue = at(sheeted, CAMERA, (20.0, 30.0, 40.0))
    assert blue == pytest.approx(behind / 2 + [0, 0, 127], abs=3)
    hidden = (100.0, 30.0, 20.0)
    assert (at(sheeted, CAMERA, hidden) == at(bare, CAMERA, hidden)).all()
    stage.show_flat([], [])
    np.testing.assert_array_equal(drawn(stage), bare)


def test_a_sheet_may_be_hollow(stage):
    ell = np.array([[0, 0], [90, 0], [90, 30], [30, 30], [30, 90], [0, 90]], float)
    stage.show_flat([Sheet(np.column_stack([ell, np.zeros(6)]), "#0000FF", 0.9)], [])
    picture = drawn(stage)
    assert at(picture, CAMERA, (15.0, 60.0, 0.0))[0] < 60
    assert at(picture, CAMERA, (60.0, 15.0, 0.0))[0] < 60
    assert (at(picture, CAMERA, (60.0, 60.0, 0.0)) == 255).all()


def test_wires_are_hidden_by_bodies(stage):
    stage.show([placed(box())])
    line = np.array([[[50.0, -60.0, 20.0], [50.0, 120.0, 20.0]]])
    bare = drawn(stage).astype(int)
    stage.show_flat([], [Wires(line, "#0000FF", 2.0)])
    wired = drawn(stage).astype(int)
    assert at(wired, CAMERA, (50.0, -30.0, 20.0)) == pytest.approx([0, 0, 255], abs=2)
    changed = np.argwhere((wired != bare).any(axis=2))[:, ::-1]
    ends = CAMERA.pixels([[50.0, -60.0, 20.0], [50.0, 0.0, 20.0]])
    assert changed[:, 1].max() <= ends[:, 1].max() + 2
    inside = CAMERA.pixels([[50.0, 25.0, 20.0]])[0]
    assert (np.hypot(*(changed - inside).T) > 5).all()


def test_thin_walls_of_the_hood_leave_no_holes(stage):
    solid = DEMO_PARTS["rain_hood"].make(8_000)
    camera = Camera((500.0, -700.0, 500.0), (0.0, 0.0, 60.0), (0.0, 0.0, 1.0), (450, 300))
    stage.show([placed(solid)])
    whole = drawn(stage, camera).min(axis=2) < 250
    stage.show([placed(side) for side in solid.split(Plane((0.9, 0.3, 0.3), 12.0))])
    # Cut in two it covers what it covered.
    assert (whole ^ (drawn(stage, camera).min(axis=2) < 250)).mean() < 2e-4
    assert whole.mean() > 0.1


def test_sizes_may_change_between_pictures(stage):
    solid = box()
    stage.show([placed(solid)])
    for size in ((300, 240), (120, 200), (400, 100)):
        camera = Camera(CAMERA.position, CAMERA.focus, CAMERA.upward, size)
        rows, columns = np.nonzero(drawn(stage, camera).min(axis=2) < 250)
        seen = np.clip(camera.pixels(solid.vertices), 0, np.array(size) - 1)
        assert columns.min() == pytest.approx(seen[:, 0].min(), abs=2.5)
        assert rows.max() == pytest.approx(seen[:, 1].max(), abs=2.5)
