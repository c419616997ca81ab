"""What is said of flanges. Expected values: plane and solid geometry of the parts."""

from dataclasses import replace

import numpy as np
import pytest
import trimesh

from splitplanner.findings import Severity
from splitplanner.joint.flange.checks import (
    check_flange,
    check_seen,
    faces_that_show,
    faces_to_support,
    free_widths,
)
from splitplanner.plan import Flange
from splitplanner.score.overhang import overhang
from splitplanner.solid import Plane, Solid, fibonacci_sphere, seen_from_outside
from splitplanner.workshop import Printer
from tests.joint.flanged import Z, channel, flanged, prism, square, square_tube, upright

UP = (0.0, 0.0, 1.0)
DOWN = (0.0, 0.0, -1.0)


def check(case, bodies=None, flange=None, ups=(UP, UP), printer=None):
    found = check_flange(
        flange or case.flange,
        case.seam,
        case.below,
        case.above,
        bodies or case.bodies,
        case.part,
        ups,
        printer or Printer(),
    )
    return {finding.kind: finding for finding in found}


def seen_of(case, seen):
    """Return the finding on what shows, if there is one."""
    assembled = case.part.union(*case.bodies)
    found = check_seen([(case.seam, case.bodies)], case.part, assembled, seen)
    return found[0] if found else None


@pytest.fixture(scope="module")
def tube():
    return flanged(*square_tube(length=400.0), Z)


def moved(solid, x, y, z):
    return solid.transformed([[1, 0, 0, x], [0, 1, 0, y], [0, 0, 1, z]])


def test_a_sound_flange_has_no_findings(tube):
    assert check(tube) == {}
    assert seen_of(tube, seen_from_outside(tube.part)) is None


@pytest.mark.parametrize("ribs", [(), (-20.0, 12.0)])
def test_nor_has_one_in_a_channel(ribs):
    part, hidden = channel(ribs=ribs, rib=(3.0, 12.0))
    assert check(flanged(part, hidden, Z)) == {}


def test_nothing_built(tube):
    found = check(tube, bodies=(None, tube.bodies[1]))["flange.none"]
    assert found.severity is Severity.FAULT
    assert f"“{tube.seam.below}”" in found.message


def test_a_loose_part(tube):
    crumb = Solid.box((4, 5, 6), (-2, -2.5, 2))
    found = check(tube, bodies=(tube.bodies[0], tube.bodies[1].union(crumb)))["flange.loose"]
    assert found.severity is Severity.FAULT
    assert found.measured == 1
    assert found.where[0] == pytest.approx((0, 0, 5))


def test_outside_of_the_part(tube):
    bump = Solid.box((10, 6, 4), (28, -3, 1))
    found = check(tube, bodies=(tube.bodies[0], tube.bodies[1].union(bump)))["flange.out"]
    assert found.severity is Severity.FAULT
    assert found.measured == pytest.approx(8 * 6 * 4)
    assert found.where[0] == pytest.approx((34, 0, 3))


def test_width(tube):
    places, widths = free_widths(tube.flange, tube.seam, tube.bodies)
    assert len(places) > 4 * 54 / 2 - 4
    assert widths == pytest.approx(8.0, abs=0.03)
    cut = Solid.box((60, 20, 40), (-30, -27, -20))
    narrow = tuple(body.difference(cut) for body in tube.bodies)
    found = check(tube, bodies=narrow)["flange.narrow"]
    assert found.severity is Severity.WARNING
    assert found.measured == pytest.approx(0.0, abs=0.1)
    assert found.allowed == 8.0
    assert (found.where[:, 1] < -6.9).all()


def test_a_narrow_room_makes_a_narrow_flange():
    hole = [(-37, -2.5), (37, -2.5), (37, 2.5), (-37, 2.5)]
    part = prism([(-40, -8), (40, -8), (40, 8), (-40, 8)], 100, [hole])
    inside = (np.abs(part.face_centroids[:, :2]) < (38.5, 5)).all(axis=1) & upright(part)
    case = flanged(part, inside, Z, width=4.0)
    assert "flange.narrow" not in check(case)
    # Wider than the room: behind it is the seam of the wall opposite, which carries as well.
    case = flanged(part, inside, Z, width=7.0)
    assert "flange.narrow" not in check(case)


# -- support -------------------------------------------------------------------------------
def test_a_slope_cut_short_by_the_end_of_the_wall():
    part, hidden = square_tube(length=200.0)
    case = flanged(part, hidden, Plane((0.0, 0.0, 1.0), -92.0))
    found = check(case)["flange.steep"]
    assert found.severity is Severity.WARNING
    assert found.allowed == 45.0
    assert found.measured > 60.0
    assert (found.where[:, 2] < -92).all()
    # Printed with the seam downward it hangs over nowhere.
    assert check(case, ups=(DOWN, UP)) == {}


def test_a_wall_that_ends_a_little_early_makes_the_free_edge_lower():
    part, hidden = square_tube(length=200.0)
    case = flanged(part, hidden, Plane((0.0, 0.0, 1.0), -90.5))
    assert check(case) == {}
    # Of the 9.5 mm of wall the slope of 45° takes 8: 1.5 mm are left at the free edge, and half a
    # millimetre less where the wall's end is found that much early.
    for height, low, high in ((0.9, 19.0, 19.0), (5.5, 23.0, 23.6)):
        flat = case.bodies[0].section(Plane((0.0, 0.0, 1.0), -90.5 - height))
        (hole,) = flat.polygons[0].interiors
        assert low - 0.02 <= hole.bounds[2] <= high + 0.02


def test_a_square_end_hangs_over_by_all_of_its_width():
    # But for what is bridged across the corners, unless nothing is.
    case = flanged(*square_tube(length=400.0), Z, slopes=(90.0, 90.0))
    printer = replace(Printer(), bridge_span=0.0)
    found = check(case, printer=printer)["flange.steep"]
    assert found.measured == pytest.approx(90.0)
    joined = case.below.union(case.bodies[0])
    faces = faces_to_support(case.below, joined, UP, printer)
    assert joined.face_areas[faces].sum() == pytest.approx(54**2 - 38**2, rel=1e-3)
    assert joined.face_centroids[faces, 2] == pytest.approx(-4.0, abs=0.02)


def test_a_bridge_hangs_over_nowhere():
    # The rims of a slot 12 mm wide meet in the middle: 10 mm can be bridged, 15 mm cannot.
    for width, bridged in ((9.0, True), (15.0, False)):
        half = width / 2
        part = prism(square(40), 60, [[(-30, -half), (30, -half), (30, half), (-30, half)]])
        inside = (np.abs(part.face_centroids[:, :2]) < (31, half + 1)).all(axis=1) & upright(part)
        case = flanged(part, inside, Z, width=8.0, slopes=(90.0, 90.0))
        assert ("flange.steep" not in check(case, ups=(UP, UP))) == bridged


def test_what_ends_on_support_that_is_there_anyway_is_no_fault():
    # A channel printed with its roof up: the rim hangs under the roof, which hangs over itself.
    part, hidden = channel()
    case = flanged(part, hidden, Z, slopes=(90.0, 90.0))
    up = (0.0, 1.0, 0.0)
    assert overhang(case.below, up, 45.0, 10.0).area == pytest.approx(74 * 100)
    joined = case.below.union(case.bodies[0])
    assert overhang(joined, up, 45.0, 10.0).area == pytest.approx(74 * 100, rel=0.01)
    assert check(case, ups=(up, up)) == {}


# -- sight ---------------------------------------------------------------------------------
def test_what_lies_on_the_good_side_shows(tube):
    # All of the tube is said to be the good side, with its inside: then the ends of the rims show,
    # towards the mouths of a tube that is short enough.
    short = flanged(*square_tube(length=100.0), Z, slopes=(90.0, 90.0))
    everything = np.ones(len(short.part.faces), dtype=np.bool_)
    found = seen_of(short, everything)
    assert found.severity is Severity.WARNING
    assert found.kind == "flange.seen"
    # The upper end of the rim is seen, 54² less 38² mm², and not the lower one; its free edges at
    # most, 38 by 8 mm each.
    end = 54**2 - 38**2
    assert end * 0.99 < found.measured < 1.01 * (end + 4 * 38 * 8)


def test_what_is_seen_before_the_hidden_side_does_not_show():
    # The same rim in the same tube, the inside of which is not the good side.
    part, hidden = square_tube(length=100.0)
    short = flanged(part, hidden, Z, slopes=(90.0, 90.0))
    assembled = part.union(*short.bodies)
    open_to_view = seen_from_outside(assembled)
    new = np.abs(assembled.face_centroids[:, :2]).max(axis=1) < 26.9
    assert assembled.face_areas[open_to_view & new].sum() > 1000
    assert seen_of(short, ~hidden) is None


def tunnel(length):
    """Return a roof on two walls, open at both ends, and its faces inside: those hidden."""
    part = Solid.box((length, 120, 44), (-length / 2, -60, 0))
    part = part.difference(Solid.box((length + 9, 114, 60), (-length / 2 - 5, -57, -20)))
    middles = part.face_centroids
    inside = (np.abs(middles[:, 1]) < 58) & (middles[:, 2] < 42)
    return part, inside & (np.abs(part.face_normals[:, 0]) < 0.5)


ACROSS = Plane((1.0, 0.0, 0.0), 0.0)


def test_a_rim_shows_where_people_look_past_it_into_the_open():
    # Through a short tunnel one sees what is behind it, and the rim before that.
    part, hidden = tunnel(40.0)
    found = seen_of(flanged(part, hidden, ACROSS, slopes=(90.0, 90.0)), ~hidden)
    assert found is not None
    # Most of both sides of it, which are 8 mm by 114 mm and twice 32 mm.
    sides = 2 * 8 * (114 + 2 * 32)
    assert 0.6 * sides < found.measured < sides
    part, hidden = tunnel(400.0)
    assert seen_of(flanged(part, hidden, ACROSS, slopes=(90.0, 90.0)), ~hidden) is None


def test_what_shows_is_what_rays_say():
    # Brute force by another ray tracer than ours: trimesh's, written in numpy.
    part, hidden = tunnel(70.0)
    case = flanged(part, hidden, ACROSS, slopes=(90.0, 90.0))
    assembled = part.union(*case.bodies)
    shows = np.zeros(len(assembled.faces), dtype=np.bool_)
    shows[faces_that_show(part, assembled, ~hidden)] = True

    def tracer(solid):
        mesh = trimesh.Trimesh(solid.vertices, solid.faces, process=False)
        return trimesh.ray.ray_triangle.RayMeshIntersector(mesh)

    whole, bare = tracer(assembled), tracer(part)
    views = fibonacci_sphere(128)
    views = views[views[:, 2] >= -np.sin(np.radians(10.0))]
    middles, areas = assembled.face_centroids, assembled.face_areas
    inside = (np.abs(middles) < (4.1, 56.9, 40.9)).all(axis=1)
    new = inside & (areas > 20)
    found = set()
    for face in np.flatnonzero(new):
        normal = assembled.face_normals[face]
        every = np.maximum(fibonacci_sphere(128) @ normal, 0).sum()
        towards = views[views @ normal > 0.02]
        start = np.broadcast_to(middles[face] + 1e-3 * normal, towards.shape)
        # Slivers have no inverse, and are met by no ray.
        with np.errstate(divide="ignore", invalid="ignore"):
            free = ~whole.intersects_any(start, towards)
            met = bare.intersects_first(start, -towards)
        counted = free & ((met < 0) | ~hidden[met])
        share = (towards @ normal)[counted].sum() / every
        # Faces are looked at from up to 16 points and here from one: not those close to a tenth.
        if abs(share - 0.1) > 0.05:
            assert shows[face] == (share >= 0.1)
            found.add(bool(share >= 0.1))
    assert found == {True, False}


def test_a_mask_of_another_part(tube):
    with pytest.raises(ValueError, match="mask"):
        faces_that_show(tube.part, tube.part, np.ones(3, dtype=np.bool_))


def test_no_lines(tube):
    assert check(tube, flange=Flange((), 8.0, 4.0)) == {}
