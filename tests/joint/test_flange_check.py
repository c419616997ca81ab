"""What is said of flanges. Expected values: plane and solid geometry of the parts."""

from dataclasses import replace

import numpy as np
import pytest

from splitplanner.findings import Severity
from splitplanner.joint.flange.checks import check_flange, free_widths
from splitplanner.plan import Flange
from splitplanner.solid import Plane, Solid, seen_from_outside
from tests.joint.flanged import Z, channel, flanged, prism, square_tube, upright


def check(case, bodies=None, flange=None, look=None):
    found = check_flange(
        flange or case.flange,
        case.seam,
        case.below,
        case.above,
        bodies or case.bodies,
        case.part,
        look,
    )
    return {finding.kind: finding for finding in found}


@pytest.fixture(scope="module")
def tube():
    return flanged(*square_tube(length=400.0), Z)


def moved(solid, x, y, z):
    return solid.transformed([[1, 0, 0, x], [0, 1, 0, y], [0, 0, 1, z]])


def test_a_sound_flange_has_no_findings(tube):
    assert check(tube, look=seen_from_outside) == {}


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


def test_a_slope_cut_short_by_the_end_of_the_wall():
    part, hidden = square_tube(length=200.0)
    case = flanged(part, hidden, Plane((0.0, 0.0, 1.0), -92.0))
    found = check(case)["flange.steep"]
    assert found.severity is Severity.WARNING
    assert found.allowed == 45.0
    assert found.measured > 60.0
    assert (found.where[:, 2] < -92).all()
    # Ended square it is not said to slope.
    assert check(case, flange=replace(case.flange, slope_below=90.0)) == {}


def test_seen_from_outside(tube):
    # All that lies at x > 0 is said to show: half of both bodies' own faces, none of the part's.
    def look(solid):
        return solid.face_centroids[:, 0] > 19 - 1e-6

    found = check(tube, look=look)["flange.seen"]
    assert found.severity is Severity.WARNING
    assert (np.abs(found.where[:, :2]).max(axis=1) < 27 + 1e-6).all()
    # The free edge's area at x = 19: two rims of 38 by 4 mm; what slopes and ends square comes on
    # top: a trapezium of 38 to 54 mm, 8 mm wide, flat and at 45°.
    side = 38 * 8 + (38 + 54) / 2 * 8 * (1 + np.sqrt(2))
    assert side * 0.98 < found.measured < 3 * side


def test_the_good_side_of_a_shallow_channel():
    # Looked at from below the rim shows; as people look at it, it does not.
    part, hidden = channel(length=400.0)
    case = flanged(part, hidden, Z)

    def from_below(solid):
        return seen_from_outside(solid, up=(0.0, 1.0, 0.0), below=True)

    def as_people_do(solid):
        return seen_from_outside(solid, up=(0.0, 1.0, 0.0))

    assert "flange.seen" in check(case, look=from_below)
    assert check(case, look=as_people_do) == {}


def test_no_lines(tube):
    assert check(tube, flange=Flange((), 8.0, 4.0)) == {}
