"""Painting on a part, boxes by dragging, and what is drawn of wishes over the view."""

from dataclasses import replace
from functools import cache

import numpy as np
import pytest
import trimesh
from hypothesis import given
from hypothesis import strategies as st

from splitplanner.demo_parts import DEMO_PARTS
from splitplanner.errors import WishesError
from splitplanner.score import (
    GoodSide,
    KeepOutBox,
    KeepOutFaces,
    KeepOutSphere,
    Wishes,
    check_wishes,
)
from splitplanner.solid import Plane, Solid
from splitplanner.window.view.region_marks import (
    plane_outline,
    region_outlines,
    rims,
    wish_marks,
    wish_outlines,
)
from splitplanner.window.wishing import _paint_kernels as kernels
from splitplanner.window.wishing.painting import (
    GOOD_SIDE,
    KEEP_OUT,
    Brush,
    Stroke,
    box_of,
    face_colours,
    painted_before,
    with_painted,
)

TOP = (0.0, 0.0, 1.0)
DOWN = (0.0, 0.0, -1.0)


def gridded(solid, size):
    """Return a solid with its triangles divided until no side is longer than `size`, mm."""
    vertices, faces = trimesh.remesh.subdivide_to_size(solid.vertices, solid.faces, size)
    mesh = trimesh.Trimesh(vertices, faces)
    mesh.merge_vertices()
    return Solid.from_arrays(mesh.vertices, mesh.faces)


@cache
def shell():
    """Return a box shell of 120 x 80 x 40 mm, walls of 2 mm, open below, triangles of 4 mm."""
    outer = Solid.box((120.0, 80.0, 40.0))
    return gridded(outer.difference(Solid.box((116.0, 76.0, 38.0), (2.0, 2.0, 0.0))), 4.0)


@cache
def block():
    """Return a plain box of 100 x 50 x 20 mm: twelve large triangles."""
    return Solid.box((100.0, 50.0, 20.0))


@cache
def hood():
    return DEMO_PARTS["rain_hood"].make(triangles=20_000)


def places(part, faces):
    return part.face_centroids[faces], part.face_normals[faces]


# ----- the brush


def test_a_brush_on_the_outside_of_a_thin_wall_leaves_its_inside_alone():
    part = shell()
    found = Brush(part, 15.0).faces_at((60.0, 40.0, 40.0), TOP)
    centroids, normals = places(part, found)
    assert (centroids[:, 2] == 40.0).all()
    assert (normals == TOP).all()
    # All of the disc, and no more than a triangle beyond it.
    away = np.linalg.norm(part.face_centroids - (60.0, 40.0, 40.0), axis=1)
    on_top = np.abs(part.face_centroids[:, 2] - 40.0) < 1e-9
    assert set(np.flatnonzero(on_top & (away <= 15.0))) <= set(found.tolist())
    assert away[found].max() < 15.0 + 4.0


def test_a_brush_on_the_inside_leaves_the_outside_alone():
    part = shell()
    found = Brush(part, 15.0).faces_at((60.0, 40.0, 38.0), DOWN)
    assert len(found) > 50
    assert np.allclose(part.face_centroids[found, 2], 38.0)


def test_a_brush_stops_at_the_edge_of_a_side():
    part = shell()
    found = Brush(part, 15.0).faces_at((3.0, 40.0, 40.0), TOP)
    assert (part.face_normals[found] == TOP).all()


def test_a_brush_does_not_jump_over_a_gap():
    # Two towers on a plate: their tops look the same way and are 6 mm apart.
    plate = Solid.box((60.0, 20.0, 4.0))
    towers = [Solid.box((20.0, 20.0, 30.0), (x, 0.0, 2.0)) for x in (5.0, 31.0)]
    part = gridded(plate.union(*towers), 3.0)
    found = Brush(part, 12.0).faces_at((24.0, 10.0, 32.0), TOP)
    assert len(found) > 20
    assert part.face_centroids[found, 0].max() < 25.0


def test_a_large_triangle_is_painted_though_its_middle_is_far_away():
    part = block()
    found = Brush(part, 2.0).faces_at((90.0, 10.0, 20.0), TOP)
    # The one triangle of the top that is under the brush; near the diagonal it is both.
    assert len(found) == 1
    assert part.face_normals[found[0]].tolist() == list(TOP)
    assert len(Brush(part, 60.0).faces_at((90.0, 10.0, 20.0), TOP)) == 2


def test_the_face_is_found_from_the_point_and_the_way_the_surface_looks():
    part = shell()
    # On a lighter mesh the point may lie off the surface, here nearer to the inner wall.
    touch = Brush(part, 5.0).touch((60.0, 40.0, 38.5), TOP)
    assert part.face_normals[touch.face].tolist() == list(TOP)
    assert part.face_centroids[touch.face] == pytest.approx((60.0, 40.0, 40.0), abs=4.0)
    inner = Brush(part, 5.0).touch((60.0, 40.0, 39.5), DOWN)
    assert part.face_centroids[inner.face, 2] == pytest.approx(38.0)


def test_the_nearest_face_is_that_of_trimesh():
    part = hood()
    reference = trimesh.Trimesh(part.vertices, part.faces, process=False)
    random = np.random.default_rng(4)
    low, high = part.bounds
    points = random.uniform(low, high, (12, 3))
    # Trimesh takes either side of a wall: a brush is told which one.
    closest, _, faces = trimesh.proximity.closest_point(reference, points)
    brush = Brush(part, 1.0)
    for point, on_part, face in zip(points, closest, faces, strict=True):
        touch = brush.touch(tuple(point), tuple(part.face_normals[face]))
        corners = part.vertices[part.faces[touch.face]][None]
        ours = trimesh.triangles.closest_point(corners, point[None])[0]
        assert np.linalg.norm(ours - point) == pytest.approx(np.linalg.norm(on_part - point))


coordinates = st.floats(-10, 10).map(lambda value: round(value, 2))
points = st.tuples(coordinates, coordinates, coordinates)


@given(points, points, points, points)
def test_the_distance_of_a_point_from_a_triangle_is_that_of_trimesh(p, a, b, c):
    if np.linalg.norm(np.cross(np.subtract(b, a), np.subtract(c, a))) < 0.05:
        return
    closest = trimesh.triangles.closest_point(np.array([[a, b, c]]), np.array([p]))[0]
    gap = np.linalg.norm(closest - p)
    assert np.sqrt(kernels._to_triangle(p, a, b, c)) == pytest.approx(gap, abs=1e-6)


@given(points, points, points, points, points)
def test_the_distance_of_a_segment_from_a_triangle_is_the_least_of_its_points(p, q, a, b, c):
    if np.linalg.norm(np.cross(np.subtract(b, a), np.subtract(c, a))) < 0.05:
        return
    shares = np.linspace(0.0, 1.0, 201)[:, None]
    along = np.asarray(p) * (1 - shares) + np.asarray(q) * shares
    closest = trimesh.triangles.closest_point(np.tile([a, b, c], (201, 1, 1)), along)
    sampled = np.linalg.norm(closest - along, axis=1).min()
    exact = np.sqrt(kernels._segment_to_triangle(p, q, a, b, c))
    # The samples lie no more than half a step from the nearest point.
    step = np.linalg.norm(np.subtract(p, q)) / 200
    assert sampled - step - 1e-6 <= exact <= sampled + 1e-6


def test_an_outer_wall_of_a_ribbed_hood_is_painted_without_its_inside():
    part = hood()
    reference = trimesh.Trimesh(part.vertices, part.faces, process=False)
    outer = np.flatnonzero(
        (part.face_normals[:, 2] > 0.9)
        & (part.face_centroids[:, 2] > part.bounds[0, 2] + 0.8 * part.extents[2])
    )
    # The roof's outside: nothing of the part is above it.
    over = part.face_centroids[outer] + (0.0, 0.0, 0.01)
    free = ~reference.ray.intersects_any(over, np.tile(TOP, (len(over), 1)))
    middle = part.bounds.mean(axis=0)
    roof = outer[free]
    chosen = roof[np.argmin(np.linalg.norm(part.face_centroids[roof, :2] - middle[:2], axis=1))]
    touch = tuple(part.face_centroids[chosen]), tuple(part.face_normals[chosen])
    found = Brush(part, 30.0).faces_at(*touch, int(chosen))
    assert len(found) > 20
    above = part.face_centroids[found] + 0.01 * part.face_normals[found]
    assert not reference.ray.intersects_any(above, np.tile(TOP, (len(above), 1))).any()


def test_after_preparing_nothing_of_the_part_is_left_to_be_worked_out():
    part = gridded(Solid.box((20.0, 20.0, 20.0)), 5.0)
    brush = Brush(part, 3.0)
    brush.prepare()
    assert "neighbours" in vars(part)
    assert "_boxes" in vars(brush)


# ----- strokes


def test_a_stroke_paints_all_of_its_way_however_far_apart_the_points_are():
    part = shell()
    stroke = Stroke(Brush(part, 5.0))
    stroke.move((20.0, 40.0, 40.0), TOP)
    stroke.move((100.0, 40.0, 40.0), TOP)
    fine = Stroke(Brush(part, 5.0))
    for x in np.linspace(20.0, 100.0, 161):
        fine.move((x, 40.0, 40.0), TOP)
    assert stroke.has_changed
    assert set(fine.faces) <= set(stroke.faces)
    assert len(stroke.faces) <= 1.02 * len(fine.faces)
    assert part.face_centroids[stroke.faces, 2].min() == 40.0


def test_a_lifted_stroke_leaves_out_what_lies_between():
    part = shell()
    stroke = Stroke(Brush(part, 5.0))
    stroke.move((20.0, 40.0, 40.0), TOP)
    stroke.lift()
    stroke.move((100.0, 40.0, 40.0), TOP)
    x = part.face_centroids[stroke.faces, 0]
    assert len(x) > 20
    assert not ((x > 30.0) & (x < 90.0)).any()


def test_erasing_takes_away_what_the_brush_covers_and_tells_of_that_alone():
    part = shell()
    brush = Brush(part, 5.0)
    painting = Stroke(brush)
    first = painting.move((60.0, 40.0, 40.0), TOP)
    assert painting.move((60.0, 40.0, 40.0), TOP).tolist() == []
    painting.move((80.0, 40.0, 40.0), TOP)
    erasing = Stroke(brush, painting.faces, erases=True)
    assert not erasing.has_changed
    gone = erasing.move((60.0, 40.0, 40.0), TOP)
    assert set(gone) == set(first)
    assert set(erasing.faces) == set(painting.faces) - set(first)
    with pytest.raises(ValueError, match="read-only"):
        erasing.mask[0] = True


# ----- wishes


def test_a_finished_stroke_becomes_one_region_in_its_place():
    box, ball = KeepOutBox((0, 0, 0), (1, 1, 1)), KeepOutSphere((0, 0, 0), 1.0)
    wishes = Wishes(keep_out=(box, KeepOutFaces((7, 3)), ball, KeepOutFaces((9,))), pieces=3)
    assert painted_before(wishes, KEEP_OUT) == (3, 7, 9)
    merged = with_painted(wishes, KEEP_OUT, np.array([9, 3, 7, 11]))
    assert merged.keep_out == (box, KeepOutFaces((3, 7, 9, 11)), ball)
    assert merged.pieces == 3
    assert with_painted(merged, KEEP_OUT, []).keep_out == (box, ball)
    assert with_painted(Wishes(), KEEP_OUT, [2]).keep_out == (KeepOutFaces((2,)),)
    check_wishes(block(), merged)


def test_a_painted_good_side_takes_the_place_of_directions():
    wishes = Wishes(good_side=GoodSide(directions=(TOP,)))
    painted = with_painted(wishes, GOOD_SIDE, [5, 1])
    assert painted.good_side == GoodSide(faces=(1, 5))
    assert with_painted(painted, GOOD_SIDE, []).good_side == GoodSide()


def test_erasing_begins_with_the_good_side_that_was_found():
    seen = np.array([True, False, True])
    assert painted_before(Wishes(), GOOD_SIDE, True, seen) == (0, 2)
    assert painted_before(Wishes(), GOOD_SIDE, False, seen) == ()
    painted = Wishes(good_side=GoodSide(faces=(1,)))
    assert painted_before(painted, GOOD_SIDE, True, seen) == (1,)


def test_a_dragged_box_reaches_round_its_points_by_the_margin():
    box = box_of([(30.04, 20.0, 40.0), (10.0, 60.0, 40.0)], 5.0)
    assert (box.low, box.high) == ((5.0, 15.0, 35.0), (35.1, 65.0, 45.0))
    with pytest.raises(WishesError, match="low and a high corner"):
        box_of([(30.0, 20.0, 40.0), (10.0, 60.0, 40.0)], 0.0)


@given(st.lists(points, min_size=1, max_size=5), st.floats(0.5, 20))
def test_a_dragged_box_holds_its_points_and_is_no_more_than_a_step_larger(dragged, margin):
    box = box_of(dragged, margin)
    low, high = np.min(dragged, axis=0) - margin, np.max(dragged, axis=0) + margin
    assert (np.array(box.low) <= low + 1e-6).all()
    assert (np.array(box.high) >= high - 1e-6).all()
    assert (np.abs(np.subtract(box.low, low)) <= 0.1 + 1e-6).all()
    assert (np.abs(np.subtract(box.high, high)) <= 0.1 + 1e-6).all()


# ----- colours


def test_faces_take_the_colours_of_their_wishes():
    part = block()
    seen = np.zeros(len(part.faces), dtype=bool)
    seen[[0, 1]] = True
    wishes = Wishes(keep_out=(KeepOutFaces((1, 2)),))
    colours = face_colours(part, wishes, seen, "#808080")
    assert colours.dtype == np.uint8
    assert colours[[1, 2]].tolist() == [[0xD5, 0x5E, 0x00]] * 2
    assert colours[3].tolist() == [0x80] * 3
    # 0.45 of #009E73 over grey.
    assert colours[0].tolist() == [70, 142, 122]
    painted = face_colours(part, replace(wishes, good_side=GoodSide(faces=(3,))), seen, "#808080")
    assert painted[3].tolist() == [0x00, 0x9E, 0x73]
    assert painted[0].tolist() == [0x80] * 3


def test_a_stroke_in_hand_is_shown_instead_of_what_was_painted():
    part = block()
    wishes = Wishes(keep_out=(KeepOutFaces((0, 1)),))
    stroke = Stroke(Brush(part, 2.0), (0, 1))
    (new,) = stroke.move((90.0, 10.0, 20.0), TOP)
    colours = face_colours(part, wishes, None, "#808080", stroke, KEEP_OUT)
    vermilion = np.flatnonzero((colours == (0xD5, 0x5E, 0x00)).all(axis=1))
    assert set(vermilion) == {0, 1, new}


def test_faces_that_the_part_does_not_have_are_not_coloured():
    colours = face_colours(block(), Wishes(keep_out=(KeepOutFaces((500,)),)), None, "#808080")
    assert (colours == 0x80).all()


# ----- outlines


def lengths(lines):
    return sum(float(np.linalg.norm(np.diff(line, axis=0), axis=1).sum()) for line in lines)


def test_the_lines_of_a_box_are_its_twelve_edges():
    lines = region_outlines(KeepOutBox((1, 2, 3), (4, 6, 8)))
    assert lengths(lines) == pytest.approx(4 * (3 + 4 + 5))
    corners = np.unique(np.vstack(lines), axis=0)
    assert corners.tolist() == [[x, y, z] for x in (1, 4) for y in (2, 6) for z in (3, 8)]


def test_the_lines_of_a_ball_are_great_circles():
    lines = region_outlines(KeepOutSphere((1.0, 2.0, 3.0), 10.0))
    assert len(lines) == 3
    for line in lines:
        assert np.linalg.norm(line - (1.0, 2.0, 3.0), axis=1) == pytest.approx(10.0)
        assert line[0].tolist() == line[-1].tolist()
    assert lengths(lines) == pytest.approx(3 * 2 * np.pi * 10.0, rel=1e-3)


def test_a_plane_is_drawn_a_little_larger_than_the_part():
    bounds = [(0.0, 0.0, 0.0), (100.0, 50.0, 20.0)]
    line = plane_outline(Plane((1.0, 0.0, 0.0), 30.0), bounds)
    assert len(line) == 5
    assert np.allclose(line[:, 0], 30.0)
    over = 0.04 * np.sqrt(100.0**2 + 50.0**2 + 20.0**2)
    assert lengths([line]) == pytest.approx(2 * (50.0 + 20.0 + 4 * over))
    assert len(plane_outline(Plane((1.0, 0.0, 0.0), 500.0), bounds)) == 0


def test_a_slanting_plane_meets_a_cube_in_a_hexagon():
    cube = [(0.0, 0.0, 0.0), (10.0, 10.0, 10.0)]
    plane = Plane.through((5.0, 5.0, 5.0), (1.0, 1.0, 1.0))
    line = plane_outline(plane, cube)
    assert len(line) == 7
    sides = np.linalg.norm(np.diff(line, axis=0), axis=1)
    over = 0.04 * np.sqrt(300.0)
    assert sides == pytest.approx((5.0 + over) * np.sqrt(2.0))


def test_the_rim_of_painted_faces_is_that_of_the_side():
    part = shell()
    roof = np.flatnonzero(part.face_centroids[:, 2] > 39.999)
    (rim,) = rims(part, roof)
    assert lengths([rim]) == pytest.approx(2 * (120.0 + 80.0))
    assert rim[0].tolist() == rim[-1].tolist()
    # With a spot left out there is a second line.
    spot = Brush(part, 6.0).faces_at((60.0, 40.0, 40.0), TOP)
    assert len(rims(part, np.setdiff1d(roof, spot))) == 2
    assert rims(part, []) == []


def test_every_wish_is_drawn_and_named_with_its_number():
    part = block()
    top = tuple(np.flatnonzero(part.face_normals[:, 2] > 0.5).tolist())
    wishes = Wishes(
        keep_out=(
            KeepOutBox((0, 0, 0), (10, 10, 10)),
            KeepOutFaces(top),
            KeepOutSphere((50, 25, 10), 5),
        ),
        must_cut=(Plane((1, 0, 0), 50.0), Plane((1, 0, 0), 900.0)),
    )
    outlines = wish_outlines(wishes, part.bounds, part, chosen=1)
    # Six lines of the box, one rim, three circles, and the one plane that meets the part.
    assert len(outlines) == 6 + 1 + 3 + 1
    assert [line.width for line in outlines].index(4.0) == 6
    marks = wish_marks(wishes, part.bounds, part)
    names = ["keep out 1", "keep out 2", "keep out 3", "must cut 1"]
    assert [mark.text for mark in marks] == names
    assert marks[1].at[2] == 20.0
    # What is not known yet of the part is left out.
    assert [mark.text for mark in wish_marks(wishes, part.bounds)] == [names[0], *names[2:]]
