"""Handles of planes: what is grabbed, and where it goes, against points seen in the way."""

import numpy as np
import pytest
from scipy.spatial.transform import Rotation

from splitplanner.output.camera import Camera
from splitplanner.solid import Plane
from splitplanner.viewport.handles import NEAR, Handle

SIZE = (900, 700)
FAR = Camera((400.0, -600.0, 300.0), (0.0, 0.0, 0.0), (0.0, 0.0, 1.0), SIZE)
PARALLEL = Camera((400.0, -600.0, 300.0), (0.0, 0.0, 0.0), (0.0, 0.0, 1.0), SIZE, span=500.0)
CAMERAS = pytest.mark.parametrize("camera", [FAR, PARALLEL], ids=["perspective", "parallel"])


def handle(normal=(1.0, 0.2, 0.3), centre=(20.0, 10.0, -5.0)):
    unit = np.array(normal) / np.linalg.norm(normal)
    return Handle(Plane.through(centre, unit), centre, 80.0)


def place(camera, point):
    return camera.pixels(point)[0]


def angle_between(one, other):
    return np.degrees(np.arccos(np.clip(np.dot(one, other), -1, 1)))


@CAMERAS
@pytest.mark.parametrize("part", ["arrow", "first ring", "second ring"])
def test_what_is_seen_is_grabbed(camera, part):
    line = handle().outline(part)
    # Off the places where two of them meet.
    point = line[0] + 0.7 * (line[1] - line[0]) if part == "arrow" else line[9]
    x, y = place(camera, point)
    assert handle().part_at(camera, x + 2, y - 2) == part
    assert handle().part_at(camera, x + 30 * NEAR, y) is None


@CAMERAS
@pytest.mark.parametrize("shift", [-150.0, -1.0, 0.0, 0.25, 90.0])
def test_the_arrow_follows_the_pointer(camera, shift):
    grabbed = handle().outline("arrow")[0] + 40 * handle().axes[2]
    grip = handle().grip("arrow", camera, *place(camera, grabbed))
    plane = grip.plane(*place(camera, grabbed + shift * handle().axes[2]))
    assert plane.normal == handle().plane.normal
    assert plane.offset - handle().plane.offset == pytest.approx(shift, abs=1e-9)
    slow = grip.plane(*place(camera, grabbed + shift * handle().axes[2]), fine=0.1)
    assert slow.offset - handle().plane.offset == pytest.approx(shift / 10, abs=1e-9)


@CAMERAS
@pytest.mark.parametrize("degrees", [-170.0, -20.0, 0.0, 0.5, 65.0, 179.0])
@pytest.mark.parametrize(("part", "axis"), [("first ring", 0), ("second ring", 1)])
def test_a_ring_follows_the_pointer(camera, part, axis, degrees):
    turn = Rotation.from_rotvec(np.radians(degrees) * handle().axes[axis])
    spoke = handle().outline(part)[7] - handle().centre
    before, after = handle().centre + spoke, handle().centre + turn.apply(spoke)
    plane = handle().grip(part, camera, *place(camera, before)).plane(*place(camera, after))
    wanted = turn.apply(np.array(handle().axes[2]))
    assert angle_between(plane.normal, wanted) < 1e-5
    # It turns about its centre.
    assert plane.height([handle().centre])[0] == pytest.approx(0, abs=1e-9)


@pytest.mark.parametrize("side", [1.0, -1.0])
def test_an_arrow_seen_end_on_goes_up_and_down(side):
    towards = np.array(FAR.position) / np.linalg.norm(FAR.position)
    seen = handle(side * towards, (0.0, 0.0, 0.0))
    x, y = place(FAR, (0.0, 0.0, 0.0))
    size = FAR.pixel_size([0.0, 0.0, 0.0])[0]
    shift = seen.grip("arrow", FAR, x, y).shift(x + 5, y - 40)
    # Up in the picture is towards the eye where the arrow points at it, else away from it.
    assert shift == pytest.approx(side * 40 * size)


def test_a_ring_seen_from_its_edge_rolls_with_the_pointer():
    # The eye lies in the plane of the first ring.
    seen = Handle(Plane((0.0, 0.0, 1.0), 0.0), (0.0, 0.0, 0.0), 80.0)
    first = seen.axes[0]
    eye = np.cross(first, (0.0, 0.0, 1.0)) * 700
    camera = Camera(tuple(eye), (0.0, 0.0, 0.0), (0.0, 0.0, 1.0), SIZE, span=500.0)
    nearest = seen.length * eye / 700
    grip = seen.grip("first ring", camera, *place(camera, nearest))
    for degrees in (-10.0, 5.0):
        turn = Rotation.from_rotvec(np.radians(degrees) * first)
        found = np.degrees(grip.turn(*place(camera, turn.apply(nearest))))
        # By as much as the rim seems to move there.
        assert found == pytest.approx(degrees, rel=0.01)


def test_outlines_lie_where_they_turn():
    first, second, normal = handle().axes
    for part, axis in (("first ring", first), ("second ring", second)):
        spokes = handle().outline(part) - handle().centre
        np.testing.assert_allclose(spokes @ axis, 0, atol=1e-9)
        np.testing.assert_allclose(np.linalg.norm(spokes, axis=1), 80)
    start, tip = handle().outline("arrow")
    np.testing.assert_allclose(tip - start, 80 * normal, atol=1e-12)
    assert abs(first @ second) < 1e-12
