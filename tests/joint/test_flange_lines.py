"""Where flanges go. Expected values: plane geometry of the parts' sections."""

import math

import numpy as np
import pytest
import shapely
from shapely.geometry import LineString

from splitplanner.joint.flange.lines import flange_lines
from splitplanner.plan import Cut, divide
from splitplanner.solid import Plane, seen_from_outside
from tests.joint.flanged import Z, channel, prism, square, square_tube, upright


def lines_of(part, hidden, plane=Z, width=8.0, **options):
    (seam,) = divide(part, [Cut(plane)]).seams
    return seam, flange_lines(seam, part, ~hidden, width, **options)


def length(line):
    return LineString(line).length


def test_the_inside_of_a_tube_is_one_closed_line_with_the_wall_on_its_left():
    part, hidden = square_tube()
    _, (line,) = lines_of(part, hidden)
    assert line[0] == line[-1]
    assert length(line) == pytest.approx(4 * 54)
    assert not shapely.is_ccw(LineString(line))
    assert np.abs(np.array(line)).max() == pytest.approx(27)


def test_nothing_where_all_is_seen():
    part, hidden = square_tube()
    assert lines_of(part, np.zeros_like(hidden))[1] == ()


def test_a_channel_gets_a_line_that_ends_before_its_feet():
    # Seen from all around but for below: the feet look down and are hidden, but outside.
    part, hidden = channel()
    _, (line,) = lines_of(part, hidden)
    assert length(line) == pytest.approx(74 + 2 * (47 - 1))
    assert line[0] == pytest.approx((-37, 1))
    assert line[-1] == pytest.approx((37, 1))


def test_the_good_side_need_not_be_told_by_hand():
    part, _ = channel(length=400.0)
    turned = part.transformed([[1, 0, 0, 0], [0, 0, -1, 0], [0, 1, 0, 0]])
    plane = Plane((0.0, 1.0, 0.0), 0.0)
    (seam,) = divide(turned, [Cut(plane)]).seams
    (line,) = flange_lines(seam, turned, seen_from_outside(turned), 8.0)
    points = plane.to_space(line)
    assert np.abs(points[:, 0]).max() <= 37 + 1e-6
    assert points[:, 2].max() == pytest.approx(47)


def test_a_rim_keeps_away_from_a_good_side_that_turns_off_by_less_than_a_right_angle():
    # The feet's side runs at 45° to the wall and shows: a square end of 8 mm needs 8 / tan(45°)
    # more. Where it turns back there is no need.
    for slant, more in ((-3.0, 8.0), (3.0, 0.0)):
        part, hidden = channel(slant=slant)
        feet = part.face_centroids[:, 1] < 3.5
        _, (line,) = lines_of(part, hidden & ~(feet & (np.abs(part.face_normals[:, 1]) > 0.5)))
        assert length(line) == pytest.approx(74 + 2 * (47 + slant - 1 - more))


@pytest.mark.parametrize("depth", [4.0, 12.0, 30.0])
def test_a_line_goes_straight_on_through_thin_ribs(depth):
    part, hidden = channel(ribs=(-20.0, 5.0, 15.0), rib=(3.0, depth))
    _, (line,) = lines_of(part, hidden)
    assert length(line) == pytest.approx(74 + 2 * 46)


def test_a_thick_rib_is_followed_along_its_flanks():
    part, hidden = channel(ribs=(0.0,), rib=(26.0, 20.0))
    _, lines = lines_of(part, hidden)
    assert len(lines) == 3
    # Wall, half of the roof and a flank on both sides, and the rib's own end: 26 mm are more than
    # three rims of 8 mm.
    sizes = sorted(length(line) for line in lines)
    assert sizes == pytest.approx([26 - 2, 46 + 24 + 19, 46 + 24 + 19])
    _, lines = lines_of(part, hidden, width=9.0)
    assert [length(line) for line in lines] == pytest.approx([74 + 2 * 46])


def test_a_rib_with_fillets_is_passed_through():
    fillet = [(3 - 3 * math.sin(a), 3 - 3 * math.cos(a)) for a in np.linspace(0, math.pi / 2, 7)]
    right = [(2 + x, 47 - y) for x, y in fillet[::-1]]
    left = [(-x, y) for x, y in right[::-1]]
    corners = [(-40, 0), (-37, 0), (-37, 47), *left[::1], (-2, 30), (2, 30), *right, (37, 47)]
    corners += [(37, 0), (40, 0), (40, 50), (-40, 50)]
    part = prism(corners[::-1], 100)
    inside = (np.abs(part.face_centroids[:, 0]) < 38.5) & (part.face_centroids[:, 1] < 48.5)
    _, (line,) = lines_of(part, inside & upright(part))
    assert length(line) == pytest.approx(74 + 2 * 46, abs=0.1)


def test_no_line_goes_round_a_rounded_foot():
    angles = np.linspace(0, math.pi, 13)[1:-1]
    right = [(38.5 - 1.5 * math.cos(a), -1.5 * math.sin(a)) for a in angles]
    left = [(-x, y) for x, y in right[::-1]]
    corners = [(-40, 0), *left, (-37, 0), (-37, 47), (37, 47), (37, 0), *right, (40, 0)]
    part = prism([*corners, (40, 50), (-40, 50)][::-1], 100)
    inside = (np.abs(part.face_centroids[:, 0]) < 38.6) & (part.face_centroids[:, 1] < 48.5)
    _, (line,) = lines_of(part, inside & upright(part))
    assert np.array(line)[:, 1].min() > 0
    # To a step of 2 mm at both ends.
    assert 74 + 2 * (46 - 2) < length(line) < 74 + 2 * 46 + 1e-6


def test_one_rim_is_enough_for_a_wall_hidden_on_both_sides():
    part, _ = square_tube()
    _, (line,) = lines_of(part, upright(part))
    assert np.abs(np.array(line)).max() == pytest.approx(27)


def test_no_rim_in_a_shell_that_is_shallower_than_it_is_wide():
    part, hidden = channel(depth=10.0)
    assert lines_of(part, hidden, width=6.0)[1] != ()
    assert lines_of(part, hidden, width=8.0)[1] == ()


def test_lines_shorter_than_wide_are_dropped():
    part, hidden = square_tube(outer=13.0, wall=3.0)
    assert len(lines_of(part, hidden, width=3.0)[1]) == 1
    assert lines_of(part, hidden, width=3.0, shortest=29.0)[1] == ()


def test_lines_inside_the_material_do_not_count():
    # A tube in four: the seams of the second cut end on the first, where no face of the part is.
    part, hidden = square_tube()
    cuts = [Cut(Plane((1.0, 0.0, 0.0), 0.0)), Cut(Z)]
    seams = [seam for seam in divide(part, cuts).seams if seam.cut == 1]
    assert len(seams) == 2
    for seam in seams:
        (line,) = flange_lines(seam, part, ~hidden, 8.0)
        assert length(line) == pytest.approx(54 + 2 * (27 - 1))


def test_several_outlines():
    part = prism(square(30), 100, [[(x * 12 + a, b) for a, b in square(7)] for x in (-1, 1)])
    inside = (np.abs(part.face_centroids[:, :2]).max(axis=1) < 29) & upright(part)
    _, lines = lines_of(part, inside, width=4.0)
    assert [length(line) for line in lines] == pytest.approx([56, 56])
    # The web between the two is 10 mm thick: for wider rims it is one wall with two sides.
    _, lines = lines_of(part, inside, width=6.0)
    assert sorted(length(line) for line in lines) == pytest.approx([56 - 14 - 2, 56], abs=2)


@pytest.mark.parametrize("at", [-1.0, 0.0, 1.0])
def test_a_cut_along_a_frame_has_its_line_on_the_wall_behind(at):
    tube, _ = square_tube()
    ring = prism(square(28), 3, [square(17)])
    part = tube.union(ring)
    hidden = np.abs(part.face_centroids[:, :2]).max(axis=1) < 28.5
    seam, lines = lines_of(part, hidden, Plane((0.0, 0.0, 1.0), at))
    assert seam.section.area == pytest.approx(60**2 - 34**2)
    assert np.abs(np.concatenate(lines)).max() == pytest.approx(27)
    assert [length(line) for line in lines] == pytest.approx([4 * 54])


def test_what_is_asked_must_make_sense():
    part, hidden = square_tube()
    (seam,) = divide(part, [Cut(Z)]).seams
    with pytest.raises(ValueError, match="mask"):
        flange_lines(seam, part, hidden[:-1], 8.0)
    with pytest.raises(ValueError, match="0 mm"):
        flange_lines(seam, part, hidden, 0.0)


def test_a_seen_speck_inside_is_no_good_side():
    # The roof has a strip of 1.5 mm that is told to show, and one of 6 mm.
    for wide in (1.5, 6.0):
        a = wide / 2
        corners = [(-30, 0), (-27, 0), (-27, 47), (-a, 47), (-a, 46.9), (a, 46.9), (a, 47)]
        corners += [(27, 47), (27, 0), (30, 0), (30, 50), (-30, 50)]
        part = prism(corners[::-1], 100)
        x, y = part.face_centroids[:, 0], part.face_centroids[:, 1]
        inside = (np.abs(x) < 28.5) & (y < 48.5) & upright(part)
        strip = inside & (np.abs(x) < a - 1e-6) & (y > 40)
        assert strip.any()
        _, lines = lines_of(part, inside & ~strip)
        if wide < 2:
            assert [length(line) for line in lines] == pytest.approx([54 + 2 * 46], abs=0.3)
        else:
            halves = [27 - 3 - 1 + 46] * 2
            assert [length(line) for line in lines] == pytest.approx(halves, abs=0.3)
