import numpy as np
import pytest

from splitplanner.score.overhang import CONTACT, overhang, overhang_areas
from splitplanner.solid import Plane, Solid
from tests.catalogue import ringed_ball

UP = (0.0, 0.0, 1.0)


def _slot(width, height=20.0, length=60.0):
    """A block 100 wide with a slot below, open at both ends."""
    block = Solid.box((100, length, 40))
    return block.difference(
        Solid.box((width, length + 20, height + 10), (50 - width / 2, -10, -10))
    )


@pytest.mark.parametrize("limit", [30.0, 45.0, 60.0])
def test_sphere_area_over_the_limit(limit):
    # Rings of 1 degree, so that the limit falls between two of them.
    # Zone of a sphere (Archimedes): 2 pi r^2 (1 - sin limit). What lies on the bed is part of it.
    r = 20.0
    found = overhang(ringed_ball(r), UP, limit, 0)
    expected = 2 * np.pi * r**2 * (1 - np.sin(np.radians(limit)))
    assert found.area + found.contact_area == pytest.approx(expected, rel=0.002)
    assert found.contact_area <= 2 * np.pi * r * CONTACT * 1.2


def test_sphere_area_grows_right_as_the_mesh_is_refined():
    # The facet on the limit counts whole, so the error is of the order of one ring of facets.
    r, limit = 20.0, np.radians(45)
    expected = 2 * np.pi * r**2 * (1 - np.sin(limit))
    errors = []
    for rings in (31, 127, 719):
        found = overhang(ringed_ball(r, rings), UP, 45, 0)
        errors.append(abs(found.area + found.contact_area - expected) / expected)
    assert errors[2] < 0.004
    assert errors[2] < errors[0]


@pytest.mark.parametrize(("half_angle", "over"), [(30.0, False), (44.0, False), (46.0, True)])
def test_cone_on_its_tip(half_angle, over):
    # The wall of a cone on its tip hangs over by its half angle; its area is pi r s.
    h, n = 30.0, 720
    r = h * np.tan(np.radians(half_angle))
    turn = np.linspace(0, 2 * np.pi, n, endpoint=False)
    rim = np.column_stack([r * np.cos(turn), r * np.sin(turn), np.full(n, h)])
    corners = np.vstack([[0, 0, 0], rim, [0, 0, h]])
    ring = np.arange(1, n + 1)
    after = np.roll(ring, -1)
    faces = np.vstack(
        [
            np.column_stack([np.zeros(n, int), after, ring]),
            np.column_stack([np.full(n, n + 1), ring, after]),
        ]
    )
    found = overhang(Solid.from_arrays(corners, faces), UP, 45, 0)
    wall = np.pi * r * np.hypot(r, h)
    assert found.area == pytest.approx(wall if over else 0.0, rel=1e-4)


def test_a_face_at_exactly_the_limit_needs_no_support():
    # A 45 degree chamfer as a unit-slope prism, tilted round the vertical so that nothing is exact.
    wedge = Solid.box((10, 10, 10)).split(Plane.through((5, 0, 5), (1, 0, -1)))[0]
    assert wedge is not None
    angle = 0.3
    turn = np.array(
        [[np.cos(angle), -np.sin(angle), 0, 1], [np.sin(angle), np.cos(angle), 0, 2], [0, 0, 1, 3]]
    )
    turned = wedge.transformed(turn)
    assert overhang(turned, UP, 45, 0).area == 0
    assert overhang(turned, UP, 44.9, 0).area == pytest.approx(100 * np.sqrt(2), rel=1e-9)


def test_box_rests_on_the_bed_and_has_no_overhang():
    found = overhang(Solid.box((10, 20, 30), (0, 0, 7)), UP, 45, 10)
    assert found.area == 0
    assert found.contact_area == pytest.approx(200)
    tipped = overhang(Solid.box((10, 20, 30)), (0, 1, 1), 40, 10)
    # On its edge both lower faces hang over by 45 degrees and nothing rests.
    assert tipped.area == pytest.approx(10 * 20 + 10 * 30)
    assert tipped.contact_area == 0


def test_slot_is_bridged_up_to_the_span():
    slot = _slot(8)
    bridged = overhang(slot, UP, 45, 10)
    assert (bridged.area, bridged.bridged_area) == pytest.approx((0, 8 * 60))
    open_ = overhang(slot, UP, 45, 6)
    assert (open_.area, open_.bridged_area) == pytest.approx((8 * 60, 0))
    exactly = overhang(slot, UP, 45, 8)
    assert exactly.bridged_area == pytest.approx(8 * 60)


@pytest.mark.parametrize("angle", [7.0, 33.3, 90.0, 127.0])
def test_bridges_do_not_depend_on_yaw(angle):
    a = np.radians(angle)
    turn = np.array([[np.cos(a), -np.sin(a), 0, 5], [np.sin(a), np.cos(a), 0, -3], [0, 0, 1, 0]])
    found = overhang(_slot(8).transformed(turn), UP, 45, 9)
    assert found.bridged_area == pytest.approx(8 * 60, rel=1e-9)


def test_cantilever_is_never_a_bridge():
    beam = Solid.box((10, 20, 40)).union(Solid.box((16, 20, 5), (0, 0, 35)))
    found = overhang(beam, UP, 45, 100)
    assert (found.area, found.bridged_area) == pytest.approx((6 * 20, 0))


def test_table_on_four_legs_is_no_bridge_but_one_on_two_walls_is():
    top = Solid.box((60, 40, 5), (0, 0, 20))
    legs = [Solid.box((5, 5, 22), (x, y, 0)) for x in (0, 55) for y in (0, 35)]
    table = overhang(top.union(*legs), UP, 45, 100)
    assert (table.area, table.bridged_area) == pytest.approx((60 * 40 - 4 * 25, 0))
    bench = top.union(*(Solid.box((5, 40, 22), (x, 0, 0)) for x in (0, 55)))
    assert overhang(bench, UP, 45, 50).bridged_area == pytest.approx(50 * 40)
    assert overhang(bench, UP, 45, 49).area == pytest.approx(50 * 40)


def test_round_blind_hole_is_bridged_by_its_diameter():
    n, d = 96, 8.0
    block = Solid.box((20, 20, 20))
    hole = Solid.cylinder((10, 10, -1), (10, 10, 12), d / 2, n)
    drilled = block.difference(hole)
    # Area of the prism's base, drawn round the circle: n r^2 tan(pi / n).
    area = n * (d / 2) ** 2 * np.tan(np.pi / n)
    assert overhang(drilled, UP, 45, 8.1).bridged_area == pytest.approx(area, rel=1e-9)
    assert overhang(drilled, UP, 45, 7.5).area == pytest.approx(area, rel=1e-9)


def test_hole_through_a_ceiling_leaves_free_edges():
    slot = _slot(8)
    vented = slot.difference(Solid.cylinder((50, 30, 10), (50, 30, 50), 1.5, 24))
    assert overhang(vented, UP, 45, 10).bridged_area == 0
    # A post below the ceiling is no free edge.
    post = slot.union(Solid.box((2, 2, 30), (49, 29, 0)))
    assert overhang(post, UP, 45, 10).bridged_area == pytest.approx(8 * 60 - 4)


def test_half_round_tunnel():
    # Facets of a half circle drawn with 2n sides; those steeper than the limit, one by one.
    r, length, sides = 15.0, 50.0, 64
    block = Solid.box((50, length, 40), (-25, 0, 0))
    tunnel = block.difference(Solid.cylinder((0, -5, 0), (0, length + 5, 0), r, sides))
    middles = (np.arange(sides) + 0.5) * 2 * np.pi / sides
    steep = np.sin(middles) > np.sin(np.radians(45))
    facet = 2 * r * np.tan(np.pi / sides)
    assert overhang(tunnel, UP, 45, 0).area == pytest.approx(steep.sum() * facet * length, rel=1e-6)
    # And the smooth limit: the arc over the limit is pi / 2 of a half circle at 45 degrees.
    assert overhang(tunnel, UP, 45, 0).area == pytest.approx(r * np.pi / 2 * length, rel=0.01)


def test_many_directions_equal_one_by_one():
    shape = _slot(8).union(Solid.cylinder((50, 30, 30), (50, 30, 70), 20, 64))
    ups = np.vstack([np.eye(3), -np.eye(3), np.random.default_rng(3).normal(size=(30, 3))])
    for limit in (30.0, 45.0, 65.0):
        one_by_one = [overhang(shape, up, limit, 0).area for up in ups]
        areas, contact = overhang_areas(shape, ups, limit)
        np.testing.assert_allclose(areas, one_by_one, atol=1e-9)
        resting = [overhang(shape, up, limit, 0.0).contact_area for up in ups]
        np.testing.assert_allclose(contact, resting, atol=1e-9)


def test_nothing_is_over_ninety_degrees_and_other_limits_are_refused():
    assert overhang(_slot(8), UP, 90, 0).area == 0
    for limit in (-1, 90.5):
        with pytest.raises(ValueError, match="between 0 and 90"):
            overhang(_slot(8), UP, limit, 0)
