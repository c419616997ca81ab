import numpy as np
import pytest
import trimesh

from splitplanner.score.overhang import overhang
from splitplanner.score.support import support_volume
from splitplanner.solid import Solid
from tests.catalogue import ringed_ball

UP = (0.0, 0.0, 1.0)


def _placed(angle, axis=(0.2, 1.0, 0.5)):
    return trimesh.transformations.rotation_matrix(angle, axis, (3, 1, 2))


def test_t_beam():
    # Two arms of 30 at height 50, 40 deep: V = 2 arm depth h.
    beam = Solid.box((10, 40, 55), (-5, 0, 0)).union(Solid.box((70, 40, 8), (-35, 0, 50)))
    found = support_volume(beam, UP, 45, 0)
    assert found.volume == pytest.approx(2 * 30 * 40 * 50, rel=1e-9)
    assert found.area == pytest.approx(2 * 30 * 40)
    assert found.touching == 0
    assert found.highest == pytest.approx(50)
    assert found.resolution == pytest.approx(70 / 400)


@pytest.mark.parametrize("angle", [0.4, 2.0])
def test_support_turns_with_the_piece(angle):
    matrix = _placed(angle)
    beam = Solid.box((10, 40, 55), (-5, 0, 0)).union(
        Solid.box((70, 40, 8), (-35, 0, 50)), Solid.box((20, 40, 9), (0, 0, 0))
    )
    straight = support_volume(beam, UP, 45, 0)
    turned = support_volume(beam.transformed(matrix), matrix[:3, 2], 45, 0)
    assert turned.volume == pytest.approx(straight.volume, rel=2e-3)
    assert straight.volume == pytest.approx(30 * 40 * 50 + 15 * 40 * 41 + 15 * 40 * 50, rel=2e-3)


@pytest.mark.parametrize("limit", [30.0, 45.0, 60.0])
def testringed_ball(limit):
    # Needs support below the cap with normal . up < -sin(limit), a disc of radius r cos(limit):
    # V = integral of (r - sqrt(r^2 - q^2)) over it = pi r^3 (c^2 - 2/3 (1 - s^3)), c cos, s sin.
    # Rings of 1 degree, so that the limit falls between two of them.
    r = 20.0
    found = support_volume(ringed_ball(r), UP, limit, 0)
    s, c = np.sin(np.radians(limit)), np.cos(np.radians(limit))
    assert found.volume == pytest.approx(np.pi * r**3 * (c**2 - 2 / 3 * (1 - s**3)), rel=0.005)
    assert found.touching == 0


def test_cone_on_its_tip():
    # The cylinder round a cone less the cone: 2/3 pi r^2 h (half angle 60 degrees, over 45).
    h = 20.0
    r = h * np.tan(np.radians(60))
    cone = trimesh.creation.cone(r, h, sections=360)
    flipped = Solid.from_arrays(cone.vertices * [1, 1, -1], cone.faces[:, ::-1])
    found = support_volume(flipped, UP, 45, 0)
    assert found.volume == pytest.approx(2 / 3 * np.pi * r**2 * h, rel=0.005)
    assert found.highest == pytest.approx(h)


def test_half_round_tunnel():
    # Over the limit within |x| < r cos 45: V = L (w sqrt(r^2 - w^2) + r^2 asin(w / r)), w = r / √2,
    # that is L r^2 (1/2 + pi/4).
    r, length = 15.0, 50.0
    block = Solid.box((50, length, 40), (-25, 0, 0))
    tunnel = block.difference(Solid.cylinder((0, -5, 0), (0, length + 5, 0), r, 512))
    found = support_volume(tunnel, UP, 45, 0)
    assert found.volume == pytest.approx(length * r**2 * (0.5 + np.pi / 4), rel=0.005)


def test_upper_arm_stands_on_the_lower_one():
    # A step 20 wide, 30 deep, 6 high below an arm 50 wide at height 40: 20 of the arm's width
    # stand on the step (34 high), 30 on the bed (40 high).
    post = Solid.box((10, 30, 45))
    step = Solid.box((20, 30, 6), (10, 0, 0))
    arm = Solid.box((50, 30, 5), (10, 0, 40))
    found = support_volume(post.union(step, arm), UP, 45, 0)
    assert found.volume == pytest.approx(30 * (20 * 34 + 30 * 40), rel=0.005)
    assert found.touching == pytest.approx(20 * 30, rel=0.02)
    assert found.area == pytest.approx(50 * 30)
    assert found.highest == pytest.approx(40)


def test_hollow_ball_stands_on_its_own_inside():
    # Hollow sphere: outside as a full one with R; inside, the ceiling over the limit, a disc of
    # radius r cos 45, stands on the inner floor: twice the height, 4 pi / 3 r^3 (1 - s^3).
    outer, inner = 20.0, 14.0
    found = support_volume(ringed_ball(outer).difference(ringed_ball(inner)), UP, 45, 0)
    s, c = np.sin(np.radians(45)), np.cos(np.radians(45))
    below = np.pi * outer**3 * (c**2 - 2 / 3 * (1 - s**3))
    within = 4 / 3 * np.pi * inner**3 * (1 - s**3)
    assert found.volume == pytest.approx(below + within, rel=0.01)
    assert found.touching == pytest.approx(np.pi * (inner * c) ** 2, rel=0.02)


def test_faces_finer_than_the_grid_are_not_lost():
    # The same ceiling over a floor, cut into facets far smaller than a cell.
    box = trimesh.creation.box((20, 20, 10)).subdivide_to_size(0.5)
    cavity = Solid.from_arrays(np.add(box.vertices, (15, 15, 10)), box.faces)
    hollow = Solid.box((30, 30, 20)).difference(cavity)
    found = support_volume(hollow, UP, 45, 0, resolution=3.0)
    assert found.volume == pytest.approx(20 * 20 * 10, rel=1e-6)
    assert found.touching == pytest.approx(400)
    assert found.resolution == 3.0


def test_bridges_need_no_support():
    block = Solid.box((100, 60, 40)).difference(Solid.box((8, 80, 30), (46, -10, -10)))
    assert support_volume(block, UP, 45, 10).volume == 0
    assert support_volume(block, UP, 45, 6).volume == pytest.approx(8 * 60 * 20)
    known = overhang(block, UP, 45, 10)
    assert support_volume(block, UP, 45, 6, known=known).volume == 0


def test_resolution_converges():
    lower = Solid.cylinder((40, 40, 0), (40, 40, 10), 25, 96)
    post = Solid.box((4, 4, 50), (38, 38, 0))
    plate = Solid.box((80, 80, 4), (0, 0, 46))
    solid = lower.union(post, plate)
    # The plate over everything at 46, less the round floor at 10 and the post itself.
    floor = 96 * 25**2 * np.tan(np.pi / 96)
    exact = (80 * 80 - 16) * 46 - (floor - 16) * 10
    for resolution, tolerance in ((4.0, 0.01), (0.5, 0.002)):
        found = support_volume(solid, UP, 45, 0, resolution)
        assert found.volume == pytest.approx(exact, rel=tolerance)
