"""Flanges without the stretches where they cannot be. Expected values: geometry of the parts."""

import numpy as np
import pytest
from shapely.geometry import LineString

from splitplanner.demo_parts import DEMO_PARTS
from splitplanner.joint.flange.checks import check_flange, check_seen
from splitplanner.joint.flange.gaps import Spans, beside_faces, beside_places, without
from splitplanner.joint.flange.lines import flange_lines
from splitplanner.joint.flange.sizes import flange_size, slopes
from splitplanner.joint.making import Maker
from splitplanner.joint.settling import settled
from splitplanner.plan import Cut, Fastening, Flange, Joint, PartFile, Plan, divide
from splitplanner.solid import Plane, Solid, seen_from_outside
from splitplanner.workshop import Printer, hardware_shelf
from tests.joint.flanged import Z, flanged, square_tube, upright

LONG = ((0.0, 0.0), (100.0, 0.0))
RING = ((0.0, 0.0), (0.0, 40.0), (40.0, 40.0), (40.0, 0.0), (0.0, 0.0))
UP, DOWN = (0.0, 0.0, 1.0), (0.0, 0.0, -1.0)


def spans(*found):
    return Spans(tuple((0, span) for span in found))


def lengths(lines):
    return [LineString(line).length for line in lines]


# -- gaps ----------------------------------------------------------------------------------
def test_a_gap_in_a_straight_line():
    left = without([LONG], spans((40.0, 50.0)), 8.0)
    assert left == (((0.0, 0.0), (39.0, 0.0)), ((51.0, 0.0), (100.0, 0.0)))
    assert without([LONG], Spans(), 8.0) == (LONG,)


def test_gaps_are_no_slits_and_no_line_is_shorter_than_wide():
    # A point is left out with 2 mm on both sides.
    assert lengths(without([LONG], spans((40.0, 40.0)), 8.0)) == pytest.approx([38, 58])
    # Between 10 and 20 there are 8 mm after both gaps were widened: as much as the flange is wide.
    gaps = spans((5.0, 10.0), (20.0, 60.0))
    assert lengths(without([LONG], gaps, 8.0)) == pytest.approx([8, 39])
    assert lengths(without([LONG], gaps, 8.1)) == pytest.approx([39])
    assert without([LONG], spans((-1.0, 101.0)), 8.0) == ()


def test_gaps_in_a_closed_line():
    # One gap leaves one line, which begins after it and passes the first corner.
    (left,) = without([RING], spans((50.0, 60.0)), 8.0)
    assert left[0] == pytest.approx((21, 40))
    assert left[-1] == pytest.approx((9, 40))
    assert LineString(left).length == pytest.approx(160 - 12)
    # A gap across the first corner.
    (left,) = without([RING], spans((155.0, 5.0)), 8.0)
    assert left[0] == pytest.approx((0, 6))
    assert left[-1] == pytest.approx((6, 0))
    assert len(left) == 5
    assert lengths(without([RING], spans((10.0, 20.0), (90.0, 100.0)), 8.0)) == [68, 68]


def test_gaps_belong_to_their_line():
    other = ((0.0, 50.0), (100.0, 50.0))
    found = Spans(((1, (10.0, 90.0)),))
    assert without([LONG, other], found, 8.0) == (
        LONG, ((0.0, 50.0), (9.0, 50.0)), ((91.0, 50.0), (100.0, 50.0)),
    )  # fmt: skip


def test_faces_and_places_beside_lines():
    case = flanged(*square_tube(), Z)
    box = Solid.box((10, 4, 3), (20, 1, 2))
    lines = [LONG, ((0.0, 50.0), (100.0, 50.0))]
    found = beside_faces(lines, case.seam, box, np.arange(len(box.faces)))
    assert {number for number, _ in found.found} == {0}
    assert min(low for _, (low, _) in found.found) == pytest.approx(20)
    assert max(high for _, (_, high) in found.found) == pytest.approx(30)
    # Across the first corner of a closed line, a span goes over its end.
    corner = Solid.box((3, 3, 1), (-1, -1, 0))
    found = beside_faces([RING], case.seam, corner, np.arange(len(corner.faces)))
    assert any(low > high for _, (low, high) in found.found)
    assert all(low > 155 or high < 5 for _, (low, high) in found.found)
    places = beside_places(lines, np.array([[30.0, 1.0], [70.0, 49.0]]), 2.0)
    assert places.of(0) == [(29.0, 31.0)]
    assert places.of(1) == [(69.0, 71.0)]


# -- flanges -------------------------------------------------------------------------------
def settle(part, hidden, plane, ups=(UP, UP), lines=None):
    """Return the flange of a cut before and after, or None, and length of both."""
    division = divide(part, [Cut(plane)])
    (seam,) = division.seams
    slopes = tuple(
        45.0 if up[2] * side > 0.5 else 90.0 for up, side in zip(ups, (1, -1), strict=True)
    )
    lines = flange_lines(seam, part, ~hidden, 8.0) if lines is None else lines
    flange = Flange(lines, 8.0, 4.0, *slopes)
    file = PartFile("part.stl", "mm", part.fingerprint)
    directions = {seam.below: ups[0], seam.above: ups[1]}
    plan = Plan(file, Printer(), (Cut(plane),), directions)
    left = settled({seam.name: flange}, division, plan, ~hidden, Maker())
    return flange, left.get(seam.name)


def test_a_sound_flange_stays():
    part, hidden = square_tube()
    before, after = settle(part, hidden, Z)
    assert after == before


def test_a_flange_that_shows_goes():
    part, hidden = square_tube(length=60.0)
    flange, _ = settle(part, hidden, Z)
    # The same lines, but nothing of the tube is hidden, and one looks through it.
    _, after = settle(part, np.zeros_like(hidden), Z, lines=flange.lines)
    assert after is None


def windowed(at, height):
    """Return a tube with a window in its wall at x > 0, and its faces inside."""
    tube, _ = square_tube()
    part = tube.difference(Solid.box((40, 14, height), (15, -7, at)))
    reach = np.abs(part.face_centroids[:, :2]).max(axis=1)
    return part, (reach < 28.5) & upright(part)


def test_beside_a_window_that_leaves_no_room_for_the_slope_there_is_a_gap():
    # The window begins 2 mm below the seam, where the run-out of the piece below would be.
    part, hidden = windowed(-22.0, 20.0)
    before, after = settle(part, hidden, Z)
    assert len(before.lines) == 1
    (line,) = after.lines
    # Left out is as much as the window is wide, and what shared a stretch with it.
    gone = LineString(before.lines[0]).length - LineString(line).length
    assert 14.0 < gone < 14.0 + 2 * 15.0
    assert LineString(line).distance(LineString([(27, -7), (27, 7)])) > 1
    # Printed the other way up the flange runs out square, and where there is a wall is whole.
    _, after = settle(part, hidden, Z, ups=(DOWN, DOWN))
    assert after is not None


def test_when_nearly_all_would_go_it_stays():
    part, hidden = square_tube(length=200.0)
    before, after = settle(part, hidden, Plane((0.0, 0.0, 1.0), -92.0))
    assert after == before


# -- demo parts ----------------------------------------------------------------------------
def settled_demo(name, planes, ups, fastening):
    """Return seams, flanges as drawn, settled ones, and what is found of these."""
    part = DEMO_PARTS[name].make(20_000)
    seen = seen_from_outside(part)
    cuts = tuple(Cut(plane) for plane in planes)
    division = divide(part, cuts)
    printer = Printer()
    file = PartFile("part.stl", "mm", part.fingerprint)
    plan = Plan(file, printer, cuts, {piece.name: ups(piece) for piece in division.pieces})
    width, thickness = flange_size(fastening, hardware_shelf(), printer)
    drawn = {}
    for seam in division.seams:
        both = plan.up(seam.below), plan.up(seam.above)
        slope = slopes(seam.plane.normal, both, printer.overhang_limit)
        lines = flange_lines(seam, part, seen, width)
        drawn[seam.name] = Flange(lines, width, thickness, *slope)
    maker = Maker()
    left = settled(drawn, division, plan, seen, maker)
    joints = tuple(Joint(seam, flange=flange) for seam, flange in left.items())
    plan = plan.with_joints(joints)
    findings = []
    rims = maker.flanges(division, plan)
    for seam in division.seams:
        if seam.name not in left:
            continue
        pieces = (division.piece(each).solid for each in (seam.below, seam.above))
        rim, both = rims[seam.name], (plan.up(seam.below), plan.up(seam.above))
        bodies = rim.below, rim.above
        findings += check_flange(left[seam.name], seam, *pieces, bodies, part, both, printer)
    flanges = [(rim.contact, (rim.below, rim.above)) for rim in rims.values()]
    findings += check_seen(flanges, part, maker.assembled(division, plan), seen)
    return drawn, left, findings


def total(flange):
    return sum(lengths(flange.lines))


@pytest.mark.parametrize("screws", ["none", "insert"])
def test_the_hood_lengthwise_beside_a_window_below_its_cap(screws):
    # One piece stands on its side wall, leaning by 7°; beside the seam is a window, in front of
    # which stands the wall of a cap.
    lying, standing = np.array((0.0, 0.53, -0.85)), np.array((0.0, -0.99, -0.12))

    def ups(piece):
        up = standing if piece.solid.centroid[1] > -40.8 else lying
        return tuple((up / np.linalg.norm(up)).tolist())

    planes = [Plane((0.0, 1.0, 0.0), -40.8)]
    drawn, left, findings = settled_demo("rain_hood", planes, ups, Fastening(screws=screws))
    assert findings == []
    assert sum(map(total, left.values())) > 0.9 * sum(map(total, drawn.values()))


def test_a_tube_cut_along_a_rib_that_runs_out():
    # The rib has a chamfer below: the wall is met behind it at one height only.
    planes = [Plane((0.0, 0.0, 1.0), 197.5)]

    def ups(piece):
        return DOWN if piece.solid.centroid[2] < 197.5 else UP

    drawn, left, findings = settled_demo("dew_shield", planes, ups, Fastening(screws="insert"))
    assert findings == []
    assert left == drawn
