"""What the pictures hold: labels, cut planes, pieces apart, the bed."""

import numpy as np
import pytest

from splitplanner.output import exploded, part_with_cuts, piece_colours, piece_on_bed
from splitplanner.output.anchors import coarse_view
from splitplanner.output.scene import OKABE_ITO, PORTRAIT, Scene, view_frame
from splitplanner.plan import Cut, Joint, PartFile, Pin, Plan, divide
from splitplanner.solid import Plane, Solid
from splitplanner.workshop import Bed, Printer

X, Y, Z = (1.0, 0.0, 0.0), (0.0, 1.0, 0.0), (0.0, 0.0, 1.0)


def planned(part, *cuts, joints=()):
    plan = Plan(PartFile("folder/long_box.stl", "mm", ""), Printer(), tuple(cuts), joints=joints)
    return divide(part, cuts), plan


def box(*size):
    return Solid.box(size)


def in_frame(scene):
    at = scene.camera.pixels(scene.points)
    width, height = scene.size
    return (at >= [0, scene.head]).all() and (at <= [width, height]).all()


def gap_along(low, high, normal):
    """Return the free distance between two clouds of points along a direction."""
    return (high @ np.array(normal)).min() - (low @ np.array(normal)).max()


def test_whole_part_shows_every_piece_seam_and_cut():
    part = box(300, 100, 60)
    division, plan = planned(part, Cut(Plane(X, 100)), Cut(Plane(X, 200)))
    scene = part_with_cuts(division, plan)
    assert len(scene.bodies) == 3
    assert len(scene.sheets) == 2
    assert [label.text for label in scene.labels] == ["1", "2", "3", "S1", "S2"]
    assert "300 x 100 x 60 mm" in scene.caption[0]
    assert scene.title.startswith("long_box")
    assert in_frame(scene)
    # A box section has one outline of four corners, on the cut plane.
    assert len(scene.lines) == 2
    assert scene.lines[0].points[:, 0] == pytest.approx(100)


def test_cut_planes_reach_past_the_part():
    part = box(300, 100, 60)
    division, plan = planned(part, Cut(Plane(X, 100)))
    corners = part_with_cuts(division, plan).sheets[0].corners
    assert corners[:, 0] == pytest.approx(100)
    assert (corners.min(axis=0)[1:] < -1).all()
    assert (corners.max(axis=0)[1:] > [101, 61]).all()


def test_cut_of_one_piece_ends_near_that_piece():
    part = box(300, 100, 60)
    division, plan = planned(part, Cut(Plane(X, 100)), Cut(Plane(Y, 40), "1"))
    corners = part_with_cuts(division, plan).sheets[1].corners
    assert corners[:, 1] == pytest.approx(40)
    past = 0.06 * part.size
    assert -past < corners[:, 0].min() < 0
    assert 100 < corners[:, 0].max() < 100 + past


def test_missed_cut_has_no_sheet():
    division, plan = planned(box(300, 100, 60), Cut(Plane(X, 500)))
    scene = part_with_cuts(division, plan)
    assert scene.sheets == ()
    assert [label.text for label in scene.labels] == ["1"]


@pytest.mark.parametrize("scene_of", [part_with_cuts, exploded])
def test_labels_sit_on_a_seen_face_of_their_piece(scene_of):
    division, plan = planned(
        box(300, 100, 60), Cut(Plane(X, 100)), Cut(Plane(X, 200)), Cut(Plane(Y, 50))
    )
    scene = scene_of(division, plan)
    towards = view_frame(scene.view_from)[2]
    numbers = [label for label in scene.labels if label.round]
    assert len(numbers) == 6
    for label, body in zip(numbers, scene.bodies, strict=True):
        low, high = body.vertices.min(axis=0), body.vertices.max(axis=0)
        assert (label.at >= low - 1e-9).all()
        assert (label.at <= high + 1e-9).all()
        # On one of the three faces of the box that are turned to the viewer.
        facing = np.where(towards > 0, high, low)
        assert np.isclose(label.at, facing).any()
        assert label.colour == body.colour


def test_label_of_a_tube_is_on_its_wall_not_in_the_air():
    bar = Solid.cylinder((0, 0, 0), (0, 0, 200), 50, 96)
    tube = bar.difference(Solid.cylinder((0, 0, -1), (0, 0, 201), 47, 96))
    division, plan = planned(tube, Cut(Plane(Z, 100)))
    for label in exploded(division, plan).labels:
        assert 46.9 < np.hypot(*label.at[:2]) < 50.1


def test_seam_label_stands_clear_of_the_part():
    bar = Solid.cylinder((0, 0, 0), (0, 0, 300), 50, 48)
    division, plan = planned(bar, Cut(Plane(Z, 150)))
    scene = part_with_cuts(division, plan)
    assert scene.size == PORTRAIT
    view = coarse_view([(bar.vertices, bar.faces)], view_frame(scene.view_from))
    mark = next(label for label in scene.labels if not label.round)
    assert not view.covers([mark.at])[0]
    assert view.covers([(0.0, 0.0, 150.0)])[0]


def test_row_of_pieces_is_pulled_apart_evenly():
    division, plan = planned(box(300, 100, 60), Cut(Plane(X, 100)), Cut(Plane(X, 200)))
    scene = exploded(division, plan, apart=0.1)
    gap = 0.1 * division.part.size
    first, second, third = (body.vertices for body in scene.bodies)
    assert gap_along(first, second, X) == pytest.approx(gap)
    assert gap_along(second, third, X) == pytest.approx(gap)
    # Moved apart from the middle: as a whole the part stays where it was.
    assert (first.min(axis=0) + third.max(axis=0)) / 2 == pytest.approx([150, 50, 30])


@pytest.mark.parametrize(
    "cuts",
    [
        [Cut(Plane(X, 100)), Cut(Plane(Y, 50)), Cut(Plane(Z, 20))],
        [Cut(Plane(X, 100)), Cut(Plane(Y, 50), "1"), Cut(Plane(Y, 30), "2")],
        [
            Cut(Plane.through((90, 0, 0), (1, 0.3, 0))),
            Cut(Plane.through((200, 0, 0), (1, 0, -0.4))),
        ],
        [Cut(Plane(Y, 50)), Cut(Plane(X, 100), "1"), Cut(Plane(X, 150), "2"), Cut(Plane(X, 230))],
    ],
)
def test_neighbours_are_apart_along_their_seam(cuts):
    division, plan = planned(box(300, 100, 60), *cuts)
    scene = exploded(division, plan)
    at = {
        piece.name: body.vertices for piece, body in zip(division.pieces, scene.bodies, strict=True)
    }
    assert division.seams
    for seam in division.seams:
        apart = gap_along(at[seam.below], at[seam.above], seam.plane.normal)
        assert apart > 0.05 * division.part.size
    assert in_frame(scene)


def test_loose_bodies_are_pulled_apart_too():
    part = box(100, 50, 50).union(Solid.box((100, 50, 50), (110, 0, 0)))
    division, plan = planned(part)
    left, right = (body.vertices for body in exploded(division, plan).bodies)
    assert gap_along(left, right, X) > 20


def test_pins_hang_between_their_pieces():
    pin = Pin((100.0, 50.0, 30.0), X, "ISO 8734", 4.0, 20.0, 4.2, 10.5, 6.0)
    cut = Cut(Plane(X, 100))
    division, plan = planned(box(200, 100, 60), cut, joints=(Joint("S1", (pin,)),))
    scene = exploded(division, plan)
    first, second, bar = (body.vertices for body in scene.bodies)
    assert np.ptp(bar, axis=0)[0] == pytest.approx(20)
    assert np.ptp(bar, axis=0)[1] == pytest.approx(4, abs=0.05)
    assert gap_along(first, bar, X) == pytest.approx(gap_along(bar, second, X))
    assert "1 dowel pin" in scene.caption[0]
    assert len(scene.lines) == 1


def test_pieces_that_meet_differ_in_colour_and_number():
    cuts = [Cut(Plane(X, float(at))) for at in range(30, 300, 30)] + [Cut(Plane(Y, 50))]
    division, _ = planned(box(300, 100, 60), *cuts)
    colours = piece_colours(division)
    assert set(colours.values()) <= set(OKABE_ITO)
    assert len(division.pieces) == 20
    for seam in division.seams:
        assert colours[seam.below] != colours[seam.above]


def test_piece_lies_on_its_bed():
    division, _ = planned(box(200, 100, 60), Cut(Plane(X, 100)))
    piece = division.pieces[1]
    # Stood on its cut face: +x of the part up, +y along x of the bed.
    pose = np.array([[0, 1, 0, 20], [0, 0, 1, 30], [1, 0, 0, -100], [0, 0, 0, 1]], float)
    bed = Bed.rectangle(220, 220, 250, margin=5)
    scene = piece_on_bed(piece, pose, bed, OKABE_ITO[1])
    (body,) = scene.bodies
    assert body.vertices.min(axis=0) == pytest.approx([20, 30, 0])
    assert body.vertices.max(axis=0) == pytest.approx([120, 90, 100])
    assert scene.bed.height == 250
    assert np.ptp(scene.bed.outline, axis=0) == pytest.approx([220, 220])
    assert np.ptp(scene.bed.margin, axis=0) == pytest.approx([210, 210])
    assert len(scene.bed.grid) == 2 * 21
    assert "100 x 60 x 100 mm" in scene.caption[0]
    assert "+x of the part" in scene.caption[1]
    assert [label.text for label in scene.labels] == ["2"]
    assert in_frame(scene)


def test_round_and_odd_beds_are_drawn_as_they_are():
    piece = planned(box(50, 50, 50))[0].pieces[0]
    circle = piece_on_bed(piece, np.eye(4), Bed.circle(200, 300)).bed
    assert np.hypot(*(circle.outline - 100).T) == pytest.approx(100)
    ends = np.concatenate(circle.grid)
    assert (np.hypot(*(ends - 100).T) <= 100 + 1e-9).all()
    corner = ((0.0, 80.0), (20.0, 80.0), (20.0, 100.0), (0.0, 100.0))
    outline = ((0.0, 0.0), (100.0, 0.0), (100.0, 100.0), (0.0, 100.0))
    odd = piece_on_bed(piece, np.eye(4), Bed.of_outline(outline, 80, 3, (corner,))).bed
    assert odd.blocked[0] == pytest.approx(np.array(corner))


def test_view_frame_is_right_handed_also_from_straight_above():
    for view in [(-0.5, -1, 0.6), (0, 0, 1), (0, 0, -2), (1, 0, 0)]:
        frame = view_frame(view)
        assert frame @ frame.T == pytest.approx(np.eye(3))
        assert np.linalg.det(frame) == pytest.approx(1)
        assert frame[2] == pytest.approx(np.array(view) / np.linalg.norm(view))


def test_empty_scene_has_a_camera():
    assert Scene("nothing").camera.span > 0
