"""The solids of flanges. Expected values: prisms, Pappus, and shapely's one-sided buffers."""

import math

import numpy as np
import pytest
import shapely
import trimesh
from shapely.geometry import LineString, MultiPolygon

from splitplanner.demo_parts import DEMO_PARTS
from splitplanner.joint.flange.building import flange_bodies, flange_foot, flange_limits, trimmed
from splitplanner.joint.flange.lines import flange_lines
from splitplanner.plan import Cut, Flange, divide
from splitplanner.solid import Plane, Solid, seen_from_outside
from tests.joint.flanged import Z, channel, flanged, prism, square, square_tube, upright

# Flanges are up to 0.01 mm slimmer and lower than asked, so that no faces coincide by rounding.
SLIM = 3e-3


def cone(low, high, height, sides=96):
    turn = np.arange(sides) * 2 * np.pi / sides
    rings = [
        np.column_stack([r * np.cos(turn), r * np.sin(turn), np.full(sides, z)])
        for r, z in ((low, -height / 2), (high, height / 2))
    ]
    return Solid.hull_of(np.vstack(rings))


def conical_tube(radius, lean, wall=3.0, height=120.0, sides=96):
    """Return a tube whose inner radius at z = 0 is given and grows by tan(lean) on each mm."""
    slope = math.tan(math.radians(lean))
    ends = np.array([-height / 2, height / 2])
    inner = radius + slope * ends
    outer = inner + wall / math.cos(math.radians(lean))
    more = 1.0
    bore = cone(inner[0] - more * slope, inner[1] + more * slope, height + 2 * more, sides)
    tube = cone(*outer, height, sides).difference(bore)
    outward = np.einsum("ij,ij->i", tube.face_normals[:, :2], tube.face_centroids[:, :2])
    return tube, (outward < 0) & (np.abs(tube.face_centroids[:, 2]) < height / 2 - 1e-6)


def ring_volume(section):
    """Return the volume of a plane section (radius, height) once round the axis: Pappus."""
    area = shapely.Polygon(section)
    return 2 * math.pi * area.centroid.x * area.area


def check_sound(case):
    """Check what must hold of all flanges: closed, one with their pieces, volumes add up."""
    for piece, body in zip((case.below, case.above), case.bodies, strict=True):
        joined = piece.union(body)
        assert len(joined.bodies()) == len(piece.bodies())
        new = body.difference(piece)
        assert joined.volume == pytest.approx(piece.volume + new.volume, rel=1e-9)
        mesh = trimesh.Trimesh(joined.vertices, joined.faces, process=False)
        assert mesh.is_watertight
        assert mesh.is_winding_consistent
        assert mesh.volume == pytest.approx(joined.volume, rel=1e-9)
        # Nothing in the other piece, and nothing outside of the part.
        other = case.above if piece is case.below else case.below
        assert new.intersection(other).volume < 1e-6
        assert new.difference(case.part.hull).volume < 1e-4


def test_square_tube():
    part, hidden = square_tube()
    case = flanged(part, hidden, Z)
    check_sound(case)
    # Square on the one side; on the other a frustum of a pyramid is left open below the rim.
    rim = (54**2 - 38**2) * 4.0
    frustum = 8 / 3 * (38**2 + 54**2 + 38 * 54)
    assert case.added(1) == pytest.approx(rim, rel=SLIM)
    assert case.added(0) == pytest.approx(rim + 54**2 * 8 - frustum, rel=SLIM)


@pytest.mark.parametrize("slope", [20.0, 45.0, 60.0])
def test_square_tube_at_other_slopes(slope):
    part, hidden = square_tube()
    case = flanged(part, hidden, Z, slopes=(slope, slope))
    rise = 8 / math.tan(math.radians(slope))
    rim = (54**2 - 38**2) * 4.0
    frustum = rise / 3 * (38**2 + 54**2 + 38 * 54)
    for side in (0, 1):
        assert case.added(side) == pytest.approx(rim + 54**2 * rise - frustum, rel=SLIM)


def test_round_tube():
    part, hidden = conical_tube(37.0, 0.0)
    case = flanged(part, hidden, Z)
    check_sound(case)
    square_end = ring_volume([(37, 0), (29, 0), (29, 4), (37, 4)])
    sloping = ring_volume([(37, 0), (29, 0), (29, 4), (37, 12)])
    assert case.added(1) == pytest.approx(square_end, rel=SLIM)
    assert case.added(0) == pytest.approx(sloping, rel=SLIM)


@pytest.mark.parametrize("lean", [10.0, 20.0, 30.0, 45.0])
def test_conical_tubes_whose_wall_leans_in_below_and_away_above(lean):
    part, hidden = conical_tube(70.0, lean)
    case = flanged(part, hidden, Z, slopes=(45.0, 90.0))
    check_sound(case)
    tan = math.tan(math.radians(lean))
    # Below, the wall comes towards the rim: slope and wall meet where 70 - h tan = 62 + h - 4.
    top = 12 / (1 + tan)
    below = [(70, 0), (62, 0), (62, 4), (70 - top * tan, top)]
    above = [(70, 0), (62, 0), (62, 4), (70 + 4 * tan, 4)]
    assert case.added(0) == pytest.approx(ring_volume(below), rel=2 * SLIM)
    assert case.added(1) == pytest.approx(ring_volume(above), rel=2 * SLIM)


def test_a_wall_that_leans_away_with_a_slope():
    part, hidden = conical_tube(70.0, 15.0)
    case = flanged(part, hidden, Z, slopes=(90.0, 45.0))
    check_sound(case)
    tan = math.tan(math.radians(15))
    top = 12 / (1 - tan)
    section = [(70, 0), (62, 0), (62, 4), (70 + top * tan, top)]
    assert case.added(1) == pytest.approx(ring_volume(section), rel=2 * SLIM)


def test_where_slope_and_wall_do_not_meet_the_flange_ends_all_the_same():
    part, hidden = conical_tube(70.0, 45.0)
    case = flanged(part, hidden, Z, slopes=(90.0, 45.0))
    check_sound(case)
    height = case.bodies[1].bounds[1, 2]
    assert height == pytest.approx(4 + 3 * 8, abs=0.1)


def test_channel():
    part, hidden = channel()
    case = flanged(part, hidden, Z)
    check_sound(case)
    # Three prisms; at the corners the legs' strips are part of the roof's.
    area = 74 * 8 + 2 * (47 - 8 - 1) * 8
    assert case.added(1) == pytest.approx(area * 4, rel=SLIM)
    # The sloping part: a triangle of 8 by 8, the inner corners taken once: pyramids 8^3 / 3.
    prisms = 32 * (74 + 2 * (47 - 1)) - 2 * 8**3 / 3
    assert case.added(0) == pytest.approx(area * 4 + prisms, rel=SLIM)


@pytest.mark.parametrize("kind", ["tube", "square", "channel"])
def test_the_foot_is_the_one_sided_buffer_of_the_lines(kind):
    part, hidden = {
        "tube": lambda: conical_tube(37.0, 12.0),
        "square": square_tube,
        "channel": channel,
    }[kind]()
    case = flanged(part, hidden, Z)
    foot = flange_foot(case.seam, *case.bodies)
    (line,) = case.flange.lines
    if line[0] == line[-1]:
        hole = shapely.Polygon(line)
        strip = hole.difference(hole.buffer(-8.0, join_style="mitre"))
    else:
        strip = LineString(line).buffer(-8.0, single_sided=True, join_style="mitre")
    assert foot.area == pytest.approx(strip.area, rel=SLIM)
    assert foot.symmetric_difference(strip).area < 0.01 * strip.area
    assert foot.intersection(case.seam.section.shape).area < 1e-3


def test_nothing_depends_on_how_the_part_lies():
    part, hidden = channel(ribs=(0.0,))
    plain = flanged(part, hidden, Z)
    turn = trimesh.transformations.euler_matrix(0.3, 1.1, -2.0)
    turn[:3, 3] = (11.0, -7.0, 5.0)
    moved = part.transformed(turn)
    # `transformed` keeps the order of faces, so the mask still holds.
    case = flanged(moved, hidden, Plane.through(turn[:3, 3], turn[:3, 2]))
    check_sound(case)
    for side in (0, 1):
        assert case.added(side) == pytest.approx(plain.added(side), rel=1e-4)


def test_an_oblique_cut_keeps_width_and_slope():
    # Walls of a square tube lean by up to 40° to the plane; each rim lies on its own side.
    part, hidden = square_tube()
    plane = Plane.through((0, 0, 0), (math.tan(math.radians(40)), 0.0, 1.0))
    case = flanged(part, hidden, plane)
    check_sound(case)
    foot = flange_foot(case.seam, *case.bodies)
    (line,) = case.flange.lines
    hole = shapely.Polygon(line)
    assert foot.area == pytest.approx(
        hole.area - hole.buffer(-8, join_style="mitre").area, rel=2 * SLIM
    )
    # No higher than the slope takes it, but for what the leaning wall adds.
    lower = -plane.height(case.bodies[0].vertices).min()
    assert 12 < lower < 4 + 3 * 8 + 0.1


def test_deep_ribs_divide_a_flange_and_shallow_ones_do_not():
    for depth, count in ((12.0, 3), (5.0, 1)):
        part, hidden = channel(ribs=(-15.0, 15.0), rib=(3.0, depth))
        case = flanged(part, hidden, Z)
        check_sound(case)
        new = case.bodies[1].difference(case.above)
        assert len(new.bodies()) == count
        area = 74 * 8 + 2 * (47 - 8 - 1) * 8 - 2 * 3 * min(depth, 8)
        assert new.volume == pytest.approx(area * 4, rel=SLIM)


def test_several_outlines():
    holes = [[(x * 15 + a, b) for a, b in square(12)] for x in (-1, 1)]
    part = prism(square(30), 100, holes)
    inside = (np.abs(part.face_centroids[:, :2]).max(axis=1) < 29) & upright(part)
    case = flanged(part, inside, Z, width=2.5)
    check_sound(case)
    assert case.added(1) == pytest.approx(2 * (24**2 - 19**2) * 4, rel=2 * SLIM)


def test_a_narrow_tube_is_filled_and_nothing_comes_out_of_it():
    part, hidden = square_tube(outer=16.0, wall=2.0)
    case = flanged(part, hidden, Z, width=8.0)
    check_sound(case)
    assert case.added(1) == pytest.approx(12**2 * 4, rel=SLIM)
    case = flanged(part, hidden, Z, width=11.9)
    check_sound(case)
    assert case.added(1) == pytest.approx(12**2 * 4, rel=SLIM)


def test_a_flange_wider_than_the_room_ends_in_the_wall_opposite():
    part = prism(
        [(-40, -8), (40, -8), (40, 8), (-40, 8)], 100, [[(-37, -5), (37, -5), (37, 5), (-37, 5)]]
    )
    inside = (np.abs(part.face_centroids[:, :2]) < (38.5, 6.5)).all(axis=1) & upright(part)
    case = flanged(part, inside, Z, width=20.0)
    check_sound(case)
    assert case.added(1) == pytest.approx(74 * 10 * 4, rel=SLIM)


@pytest.mark.parametrize("slope", [45.0, 90.0])
def test_a_cut_along_a_frame_has_its_flange_behind_the_frame(slope):
    # The frame is 10 mm deep and 3 mm thick; the flange of 8 mm begins 1.5 mm behind the seam.
    tube, _ = square_tube()
    part = tube.union(prism(square(28), 3, [square(17)]))
    hidden = np.abs(part.face_centroids[:, :2]).max(axis=1) < 28.5
    case = flanged(part, hidden, Z, slopes=(slope, 90.0))
    check_sound(case)
    rim = (54**2 - 38**2) * 2.5
    assert case.added(1) == pytest.approx(rim, rel=2 * SLIM)
    frustum = 8 / 3 * (38**2 + 54**2 + 38 * 54)
    sloping = 54**2 * 8 - frustum if slope < 90 else 0.0
    assert case.added(0) == pytest.approx(rim + sloping, rel=2 * SLIM)


def test_limits():
    part, hidden = square_tube()
    low, side = Plane((0.0, 0.0, -1.0), 6.0), Plane((1.0, 0.0, 0.0), 10.0)
    case = flanged(part, hidden, Z, limits=((low,), (side,)))
    assert case.bodies[0].bounds[0, 2] >= -6 - 1e-9
    assert case.bodies[1].bounds[1, 0] <= 10 + 1e-9
    assert case.bodies[1].bounds[0, 0] < -27


def test_pieces_of_two_cuts_keep_to_their_own_side():
    part, hidden = square_tube()
    oblique = Plane.through((4, 0, 0), (1.0, 0.0, 0.3))
    division = divide(part, [Cut(Z), Cut(oblique)])
    pieces = {piece.name: piece.solid for piece in division.pieces}
    for seam in division.seams:
        flange = Flange(flange_lines(seam, part, ~hidden, 8.0), 8.0, 4.0, 45.0, 45.0)
        limits = tuple(flange_limits(name, seam, division) for name in (seam.below, seam.above))
        bodies = flange_bodies(flange, seam, pieces[seam.below], pieces[seam.above], limits, part)
        for name, body in zip((seam.below, seam.above), bodies, strict=True):
            for other, solid in pieces.items():
                if other != name:
                    assert body.intersection(solid).volume < 1e-6
            pieces[name] = pieces[name].union(body)
    assert all(len(solid.bodies()) == 1 for solid in pieces.values())


def test_a_flange_ends_where_the_wall_does():
    part, hidden = square_tube(length=200.0)
    case = flanged(part, hidden, Plane((0.0, 0.0, 1.0), -94.0))
    check_sound(case)
    assert -100 <= case.bodies[0].bounds[0, 2] < -97


def test_a_hole_in_the_wall_stays_open():
    tube, _ = square_tube()
    window = Solid.box((100, 10, 6), (0, -5, 5))
    part = tube.difference(window)
    hidden = np.abs(part.face_centroids[:, :2]).max(axis=1) < 28.5
    case = flanged(part, hidden, Z, slopes=(45.0, 45.0))
    check_sound(case)
    rim = case.bodies[1].difference(case.above)
    assert rim.intersection(Solid.box((3, 10, 6), (24, -5, 5))).volume < 1e-6
    # The other walls have the whole height.
    assert rim.bounds[1, 2] == pytest.approx(12, abs=0.02)


def test_no_lines_no_bodies():
    part, hidden = square_tube()
    case = flanged(part, np.zeros_like(hidden), Z)
    assert case.bodies == (None, None)
    assert flange_foot(case.seam, *case.bodies) == MultiPolygon()


# -- bosses --------------------------------------------------------------------------------
LONG = Flange((((0.0, 0.0), (100.0, 0.0)), ((0.0, 50.0), (0.0, 90.0))), 8.0, 4.0)
RING = Flange((((0.0, 0.0), (0.0, 40.0), (40.0, 40.0), (40.0, 0.0), (0.0, 0.0)),), 8.0, 4.0)


def lengths(flange):
    return [LineString(line).length for line in flange.lines]


def test_bosses_on_a_straight_line():
    assert trimmed(LONG, [(30.0, -4.0)], 7.0).lines == (((23.0, 0.0), (37.0, 0.0)),)
    assert lengths(trimmed(LONG, [(30, -4), (40, -4), (3, 70), (98, -4)], 7.0)) == [24, 9, 14]
    assert trimmed(LONG, np.empty((0, 2)), 7.0).lines == ()


def test_bosses_on_a_closed_line_pass_its_first_corner():
    assert lengths(trimmed(RING, [(2.0, 4.0)], 7.0)) == [14]
    assert lengths(trimmed(RING, [(2.0, 4.0), (4.0, 2.0), (38, 20)], 7.0)) == [22, 14]
    assert trimmed(RING, [(2.0, 4.0), (38.0, 20.0)], 60.0).lines == RING.lines


def test_bosses_leave_no_slits():
    # The rim is 8 mm wide: gaps of less than that between bosses are filled.
    assert lengths(trimmed(LONG, [(30, -4), (51.9, -4)], 7.0)) == [pytest.approx(35.9)]
    assert lengths(trimmed(LONG, [(30, -4), (52.1, -4)], 7.0)) == [14, pytest.approx(14)]
    # And where the line begins.
    assert lengths(trimmed(RING, [(4, 22), (17, 4)], 7.0)) == [14, 14]
    assert lengths(trimmed(RING, [(4, 10), (10.9, 4)], 7.0)) == [pytest.approx(34.9)]
    middles = [(4, 20), (20, 36), (36, 20), (20, 4)]
    assert trimmed(RING, middles, 16.1).lines == RING.lines
    assert lengths(trimmed(RING, middles, 15.9)) == pytest.approx([31.8] * 4)


def test_bosses_are_sound():
    part, hidden = channel()
    (seam,) = divide(part, [Cut(Z)]).seams
    whole = Flange(flange_lines(seam, part, ~hidden, 8.0), 8.0, 4.0, 45.0, 90.0)
    bosses = trimmed(whole, [(0.0, 43.0), (-33.0, 20.0)], 8.0)
    division = divide(part, [Cut(Z)])
    solids = division.piece(seam.below).solid, division.piece(seam.above).solid
    bodies = flange_bodies(bosses, seam, *solids)
    assert len(bodies[1].bodies()) == 2
    assert bodies[1].difference(solids[1]).volume == pytest.approx(2 * 16 * 8 * 4, rel=SLIM)


# -- the hood ------------------------------------------------------------------------------
@pytest.fixture(scope="module")
def hood():
    part = DEMO_PARTS["rain_hood"].make(20_000)
    return part, ~seen_from_outside(part)


@pytest.mark.parametrize("at", [-120.0, 57.3, 160.0])
def test_hood_cut_across(hood, at):
    part, hidden = hood
    case = flanged(part, hidden, Plane((1.0, 0.0, 0.0), at), width=10.0, thickness=5.0)
    check_sound(case)
    foot = flange_foot(case.seam, *case.bodies)
    run = sum(LineString(line).length for line in case.flange.lines)
    # The seam's wall is 2.4 mm; the rim makes it four times as wide along nearly all of it.
    assert run > 400
    assert foot.area > 0.85 * run * 10
    for body in case.bodies:
        assert (body.bounds[:, 2] > 0).all()
        assert len(body.difference(part.hull).bodies()) <= 1


def test_hood_cut_level(hood):
    part, hidden = hood
    case = flanged(part, hidden, Plane((0.0, 0.0, 1.0), 80.0), width=10.0, thickness=5.0)
    check_sound(case)
    assert flange_foot(case.seam, *case.bodies).area > 11_000
