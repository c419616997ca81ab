"""Pins placed on real seams. Expected values: plane geometry, shapely and trimesh."""

import math

import numpy as np
import pytest
import shapely
import shapely.affinity
import trimesh
from scipy.spatial.distance import pdist
from shapely.geometry import Point, box

from splitplanner.joint import SeamOutline, check_pins, end_cover, pins_apart, place_pins
from splitplanner.plan import Cut, divide
from splitplanner.solid import Plane, Solid
from splitplanner.workshop import Printer, dowel_pins

PRINTER = Printer()
UP = (0.0, 0.0, 1.0)


def seam_of(part, plane=None, count=1):
    """Cut a part in half and return its seam and the two pieces."""
    plane = plane or Plane(UP, float(part.bounds[:, 2].mean()))
    division = divide(part, [Cut(plane)])
    assert len(division.seams) == count
    seam = division.seams[0]
    return seam, division.piece(seam.below).solid, division.piece(seam.above).solid


def tube(outer, wall, height=100.0, sides=128):
    bar = Solid.cylinder((0, 0, 0), (0, 0, height), outer, sides)
    return bar.difference(Solid.cylinder((0, 0, -1), (0, 0, height + 1), outer - wall, sides))


def kinds(findings):
    return [finding.kind for finding in findings]


def flat(seam, joint):
    return seam.plane.to_plane([pin.at for pin in joint.pins])


def assert_in_material(joint, seam, below, above):
    """Judge the pins with trimesh and shapely, without the planner's own check."""
    for pin, place in zip(joint.pins, flat(seam, joint), strict=True):
        assert seam.section.shape.boundary.distance(Point(place)) >= pin.edge_distance - 1e-6
        turns = np.linspace(0, 2 * np.pi, 24, endpoint=False)
        u, v = seam.plane.frame[:2]
        ring = pin.edge_distance * 0.998 * (np.cos(turns)[:, None] * u + np.sin(turns)[:, None] * v)
        for piece, side in ((above, 1), (below, -1)):
            mesh = trimesh.Trimesh(piece.vertices, piece.faces, process=False)
            depths = np.linspace(0.05, (pin.depth + end_cover(pin)) * 0.999, 9)
            along = side * depths[:, None, None] * np.array(pin.axis)
            points = (np.array(pin.at) + ring[None] + along).reshape(-1, 3)
            assert mesh.contains(points).all()
    if len(joint.pins) > 1:
        assert pdist(flat(seam, joint)).min() >= 3 * max(pin.diameter for pin in joint.pins) - 1e-6


PARTS = {
    "box": Solid.box((200, 240, 100)),
    "square bar": Solid.box((40, 40, 100)),
    "small bar": Solid.box((12, 12, 100)),
    "tube": tube(60, 10),
    "wide tube": tube(150, 10),
    "box wall": Solid.box((200, 240, 100)).difference(Solid.box((191, 231, 100), (4.5, 4.5, 0))),
    "channel": Solid.box((100, 60, 100)).difference(Solid.box((84, 60, 100), (8, 8, 0))),
    "frame": Solid.box((100, 40, 100)).difference(Solid.box((76, 40, 60), (12, 0, 20))),
    "cone": Solid.cylinder((0, 0, 0), (0, 0, 100), 40.0),
}


@pytest.mark.parametrize("name", PARTS)
def test_two_pins_or_more_in_material_and_keyed(name):
    seam, below, above = seam_of(PARTS[name])
    joint, findings = place_pins(seam, below, above, PRINTER)
    assert kinds(findings) == ["joint.keyed"]
    assert joint.seam == seam.name
    assert 2 <= len(joint.pins) <= 6
    assert_in_material(joint, seam, below, above)
    assert check_pins(joint, seam, below, above) == ()
    assert_keyed(seam, joint)


def assert_keyed(seam, joint):
    """Turn the seam by all angles about all pairs of holes; compare outlines with shapely."""
    places, shape = flat(seam, joint), seam.section.shape
    sizes = [pin.diameter for pin in joint.pins]
    slack = max(pin.hole_diameter for pin in joint.pins) / 2
    for i in range(len(places)):
        for j in range(len(places)):
            if i == j or (i, j) == (0, 1):
                continue
            was, now = places[1] - places[0], places[j] - places[i]
            turn = math.atan2(now[1], now[0]) - math.atan2(was[1], was[0])
            turned = shapely.affinity.rotate(shape, turn, origin=(0, 0), use_radians=True)
            holes = shapely.affinity.rotate(
                shapely.multipoints(places), turn, origin=(0, 0), use_radians=True
            )
            moved = shapely.get_coordinates(holes)
            shift = (places[i] + places[j] - moved[0] - moved[1]) / 2
            moved = moved + shift
            apart = np.linalg.norm(moved[:, None] - places[None], axis=2)
            unlike = np.not_equal.outer(sizes, sizes)
            if (np.where(unlike, np.inf, apart).min(axis=1) <= slack).all():
                there = shapely.affinity.translate(turned, *shift)
                assert shapely.hausdorff_distance(there, shape, densify=0.05) >= 2.0 - 0.05


def test_box_pins_are_as_far_apart_as_the_room_allows():
    seam, below, above = seam_of(PARTS["box"])
    joint, _ = place_pins(seam, below, above, PRINTER)
    edge = joint.pins[0].edge_distance
    diagonal = math.hypot(200 - 2 * edge, 240 - 2 * edge)
    farthest = pdist(flat(seam, joint)).max()
    # Some of the diagonal goes into more material round the pins, some into the keying.
    assert 0.85 * diagonal <= farthest <= diagonal + 1e-6
    # Half of the outline is 440 mm; one pin for each 120 mm.
    assert len(joint.pins) == 4


def test_holes_follow_pin_and_printer():
    seam, below, above = seam_of(PARTS["tube"])
    joint, _ = place_pins(seam, below, above, Printer(hole_allowance=0.3, line_width=0.6))
    for pin in joint.pins:
        assert pin.standard == "ISO 8734"
        assert pin.hole_diameter == pytest.approx(pin.diameter + 0.3)
        assert pin.depth == pytest.approx(pin.length / 2 + 0.5)
        # Half the hole, and two lines or a quarter of the diameter.
        wall = max(1.2, pin.diameter / 4)
        assert pin.edge_distance == pytest.approx(pin.hole_diameter / 2 + wall)
        assert pin.axis == UP
        assert pin.at[2] == pytest.approx(50.0, abs=1e-9)


def test_pins_of_a_ring_are_not_antipodal():
    seam, below, above = seam_of(tube(25, 10))
    joint, findings = place_pins(seam, below, above, PRINTER)
    places = flat(seam, joint)
    assert len(places) == 2
    # Half a turn about their midpoint moves the ring by twice the midpoint's radius.
    moved = 2 * np.linalg.norm(places.mean(axis=0))
    assert moved >= 2.0
    assert findings[0].measured == pytest.approx(moved, abs=0.1)
    assert findings[0].allowed == 2.0
    # And still nearly a diameter of the room's outer circle apart.
    assert pdist(places)[0] >= 0.85 * 2 * (25 - joint.pins[0].edge_distance)


def test_thin_wall_has_no_room():
    seam, below, above = seam_of(tube(80, 2.4))
    joint, (finding,) = place_pins(seam, below, above, PRINTER)
    assert joint.pins == ()
    assert (finding.kind, finding.severity, finding.subject) == ("joint.no_room", "warning", "S1")
    assert finding.measured == pytest.approx(2.4, abs=0.01)
    # Smallest pin 2 mm: hole 2.2 mm and two lines of 0.45 mm on both sides.
    assert finding.allowed == pytest.approx(2.2 + 4 * 0.45, abs=0.02)
    assert np.hypot(*finding.where[0, :2]) == pytest.approx(78.8, abs=0.1)
    assert "2.4" in finding.message


def test_room_for_one_pin_only():
    seam, below, above = seam_of(Solid.box((6, 6, 100)))
    joint, findings = place_pins(seam, below, above, PRINTER)
    assert len(joint.pins) == 1
    assert kinds(findings) == ["joint.one_pin"]
    assert_in_material(joint, seam, below, above)


def test_pins_near_together_on_a_long_seam():
    # A wall of 2.4 mm with one boss of 30 x 10 mm: both pins stand in the boss.
    wall = Solid.box((200, 2.4, 100)).union(Solid.box((30, 10, 100), (20, 0, 0)))
    seam, below, above = seam_of(wall)
    joint, findings = place_pins(seam, below, above, PRINTER)
    assert kinds(findings) == ["joint.keyed", "joint.close"]
    places = flat(seam, joint)
    assert ((places[:, 0] > 20) & (places[:, 0] < 50)).all()
    assert findings[1].severity == "warning"
    assert findings[1].measured == pytest.approx(pdist(places).max())
    # 0.3 of the seam's greatest extent, a diagonal.
    assert findings[1].allowed == pytest.approx(0.3 * math.hypot(200, 2.4), rel=0.01)


def test_slanted_wall_leaves_no_depth():
    # A plate 5 mm thick leaning at 45°: its section is 7.07 mm wide, but runs away with depth.
    plate = Solid.box((5, 150, 140), (-2.5, 0, -70)).transformed(
        trimesh.transformations.rotation_matrix(math.radians(45), [0, 1, 0])
    )
    seam, below, above = seam_of(plate, Plane(UP, 0.0))
    joint, (finding,) = place_pins(seam, below, above, PRINTER)
    assert joint.pins == ()
    assert finding.kind == "joint.no_room"
    assert "deep on both sides" in finding.message
    assert finding.measured < finding.allowed < 5 * math.sqrt(2)
    # Cut square to the wall, the same plate takes pins.
    square = Plane.through((0, 0, 0), (1.0, 0.0, 1.0))
    seam, below, above = seam_of(plate, square)
    joint, findings = place_pins(seam, below, above, PRINTER)
    assert kinds(findings) == ["joint.keyed"]
    assert len(joint.pins) >= 2
    assert_in_material(joint, seam, below, above)


def test_tapered_wall_keeps_pins_inside():
    # A square frustum: above the seam the material draws in by 1 mm for each 2 mm.
    size = np.array([(x, y) for x in (-1, 1) for y in (-1, 1)])
    low = np.column_stack([size * 50.0, np.zeros(4)])
    high = np.column_stack([size * 20.0, np.full(4, 60.0)])
    frustum = Solid.from_arrays(*_hull(np.vstack([low, high])))
    seam, below, above = seam_of(frustum)
    joint, _ = place_pins(seam, below, above, PRINTER)
    assert len(joint.pins) >= 2
    assert_in_material(joint, seam, below, above)
    for pin in joint.pins:
        half = 50 - (pin.at[2] + pin.depth + end_cover(pin)) / 2
        assert max(abs(pin.at[0]), abs(pin.at[1])) + pin.edge_distance <= half + 1e-6


def _hull(points):
    mesh = trimesh.convex.convex_hull(points)
    return mesh.vertices, mesh.faces


def test_shallow_piece_has_no_depth():
    seam, below, above = seam_of(Solid.box((100, 100, 54)), Plane(UP, 50.5))
    joint, (finding,) = place_pins(seam, below, above, PRINTER)
    assert joint.pins == ()
    assert finding.kind == "joint.no_room"
    assert finding.measured == 0.0


def test_separate_polygons_each_get_a_pin():
    seam, below, above = seam_of(PARTS["frame"])
    assert len(seam.section.polygons) == 2
    joint, _ = place_pins(seam, below, above, PRINTER)
    feet = [
        sum(foot.contains(Point(place)) for place in flat(seam, joint))
        for foot in seam.section.polygons
    ]
    assert min(feet) >= 1
    # Feet of 12 x 40 mm at both ends of 100 mm.
    assert pdist(flat(seam, joint)).max() >= 0.8 * math.hypot(88, 30)


def test_pins_of_two_seams_stay_apart():
    # Two cuts across each other leave four quarters; their pins must not meet at the middle.
    bar = Solid.box((30, 30, 60))
    cuts = [Cut(Plane(UP, 30.0)), Cut(Plane((1.0, 0.0, 0.0), 15.0))]
    division = divide(bar, cuts)
    pins = []
    for seam in division.seams:
        below, above = division.piece(seam.below).solid, division.piece(seam.above).solid
        joint, _ = place_pins(seam, below, above, PRINTER, others=pins)
        assert joint.pins
        assert_in_material(joint, seam, below, above)
        for pin in joint.pins:
            allowed = [pin.edge_distance + other.edge_distance for other in pins]
            assert (pins_apart(pin, pins) >= np.array(allowed) - 1e-9).all()
        pins += joint.pins
    assert len(division.seams) == 4


def test_own_shelf_is_used():
    only = [pin for pin in dowel_pins() if pin.standard == "ISO 2338" and pin.diameter == 3]
    seam, below, above = seam_of(PARTS["box"])
    joint, _ = place_pins(seam, below, above, PRINTER, shelf=only)
    assert {(pin.standard, pin.diameter, pin.length) for pin in joint.pins} == {
        ("ISO 2338", 3.0, 12.0)
    }


def test_shelf_without_a_printable_pin():
    only = [pin for pin in dowel_pins() if pin.diameter == 1]
    seam, below, above = seam_of(PARTS["box"])
    for shelf in (only, []):
        joint, findings = place_pins(seam, below, above, PRINTER, shelf=shelf)
        assert joint.pins == ()
        assert kinds(findings) == ["joint.no_pin"]


def test_hidden_hollow_below_the_seam_is_avoided():
    # Hollows 4 mm below the seam under three quarters of it: pins go to the last quarter.
    block = Solid.box((120, 120, 60)).difference(
        Solid.box((50, 110, 20), (5, 5, 36)), Solid.box((110, 50, 20), (5, 5, 36))
    )
    seam, below, above = seam_of(block, Plane(UP, 32.0))
    joint, findings = place_pins(seam, below, above, PRINTER)
    assert kinds(findings) == ["joint.keyed"]
    assert_in_material(joint, seam, below, above)


def test_equal_places_each_time():
    seam, below, above = seam_of(PARTS["channel"])
    first, second = (place_pins(seam, below, above, PRINTER)[0] for _ in range(2))
    assert first == second


def test_moved_and_turned_part_gives_the_same_spread():
    matrix = trimesh.transformations.rotation_matrix(0.7, [1, 2, 3], [300, -200, 50])
    seam, below, above = seam_of(PARTS["channel"])
    straight, _ = place_pins(seam, below, above, PRINTER)
    normal = matrix[:3, :3] @ np.array(UP)
    point = matrix[:3, :3] @ np.array([0, 0, 50]) + matrix[:3, 3]
    turned = seam_of(PARTS["channel"].transformed(matrix), Plane.through(point, normal))
    joint, findings = place_pins(*turned, PRINTER)
    assert kinds(findings) == ["joint.keyed"]
    assert_in_material(joint, *turned)
    spread = [pdist([pin.at for pin in one.pins]).max() for one in (straight, joint)]
    assert spread[1] == pytest.approx(spread[0], rel=0.05)


def test_keying_of_a_rectangle():
    # Half a turn about the centre of a rectangle maps it onto itself; about a point 3 mm off it
    # moves all of it by 6 mm (plane geometry).
    outline = SeamOutline(shapely.MultiPolygon([box(0, 0, 100, 60)]))
    diameters, slack = np.array([4.0, 4.0]), np.array([2.1, 2.1])
    centred = outline.keying(np.array([[10.0, 10.0], [90.0, 50.0]]), diameters, slack)
    assert centred.step == pytest.approx(0.0, abs=0.15)
    assert not centred.is_keyed
    off = outline.keying(np.array([[10.0, 10.0], [96.0, 50.0]]), diameters, slack)
    assert off.step == pytest.approx(6.0, abs=0.02)
    assert off.is_keyed
    unlike = outline.keying(
        np.array([[10.0, 10.0], [90.0, 50.0]]), np.array([4.0, 3.0]), np.array([2.1, 1.6])
    )
    assert math.isinf(unlike.step)


def test_keying_of_a_square_pattern():
    # Four holes on a square go onto themselves by quarter turns: so does the square seam, but an
    # oblong of 60 x 80 stands off by 10 mm after a quarter turn.
    places = np.array([[20.0, 20.0], [-20.0, 20.0], [-20.0, -20.0], [20.0, -20.0]])
    diameters, slack = np.full(4, 4.0), np.full(4, 2.1)
    square = SeamOutline(shapely.MultiPolygon([box(-40, -40, 40, 40)]))
    assert square.keying(places, diameters, slack).step == pytest.approx(0.0, abs=0.15)
    oblong = SeamOutline(shapely.MultiPolygon([box(-40, -30, 40, 30)]))
    assert oblong.step(np.array([[0.0, -1.0, 0.0], [1.0, 0.0, 0.0]])) == pytest.approx(10, abs=0.1)


def test_large_mesh_gets_sound_pins():
    sphere = trimesh.creation.icosphere(subdivisions=7, radius=100.0)
    assert len(sphere.faces) > 300_000
    shell = Solid.from_arrays(sphere.vertices, sphere.faces)
    seam, below, above = seam_of(shell)
    joint, _ = place_pins(seam, below, above, PRINTER)
    assert len(joint.pins) >= 2
    assert check_pins(joint, seam, below, above) == ()
