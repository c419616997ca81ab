"""Marks on seams. Expected values: what an eye before each face sees, and plane geometry."""

import math
from dataclasses import replace

import numpy as np
import pytest
import shapely
from shapely import affinity
from shapely.geometry import MultiPolygon, Point, Polygon, box

from splitplanner.findings import Severity
from splitplanner.joint.marks import (
    can_be_raised,
    mark_bodies,
    mark_outlines,
    place_mark,
    room_for_marks,
)
from splitplanner.joint.spots import roomiest_spot
from splitplanner.plan import Cut, divide
from splitplanner.solid import Plane, Solid
from splitplanner.solid.lettering import lettering
from splitplanner.workshop import Printer

PLANES = (
    Plane((0.0, 0.0, 1.0), 30.0),
    Plane.through((20.0, 30.0, 30.0), (1.0, 0.0, 0.0)),
    Plane.through((20.0, 30.0, 30.0), (0.3, -0.8, 0.4)),
    Plane.through((20.0, 30.0, 30.0), (-0.2, 0.1, -1.0)),
)


def cut(plane, part=None):
    division = divide(part or Solid.box((40, 60, 60)), [Cut(plane)])
    (seam,) = division.seams
    return seam, division.piece(seam.below).solid, division.piece(seam.above).solid


def marked(plane, part=None, **wanted):
    seam, below, above = cut(plane, part)
    mark, findings = place_mark(seam, 1, 2, seam.section.shape, Printer(), **wanted)
    assert findings == ()
    bodies = mark_bodies(mark)
    return mark, (below, bodies.on(below, -1)), (above, bodies.on(above, 1))


def turn_of(mark):
    """Return the way up of the letters in space."""
    turn = math.radians(mark.angle + 90.0)
    u, v, _ = mark.plane.frame
    return math.cos(turn) * u + math.sin(turn) * v


def seen(pieces, plane, depth, outward, up):
    """Return what differs of two solids at `depth` behind the face, as seen with `up` upwards.

    The eye looks against `outward`; right of it is up x outward.
    """
    right = np.cross(up, outward)
    level = plane.shifted(-depth if outward @ np.array(plane.normal) > 0 else depth)
    shapes = []
    for piece in pieces:
        section = piece.section(level)
        polygons = [
            Polygon(
                np.asarray(section.plane.to_space(ring.exterior.coords)) @ np.stack([right, up], 1),
                [
                    np.asarray(section.plane.to_space(hole.coords)) @ np.stack([right, up], 1)
                    for hole in ring.interiors
                ],
            )
            for ring in section.polygons
        ]
        shapes.append(shapely.union_all(polygons))
    return shapes[0].symmetric_difference(shapes[1])


def at_home(shape):
    west, south, _, _ = shape.bounds
    return affinity.translate(shape, -west, -south)


@pytest.mark.parametrize("plane", PLANES)
def test_both_faces_read_plainly_and_their_arrows_point_the_same_way(plane):
    mark, below, above = marked(plane)
    normal, up = np.array(plane.normal), turn_of(mark)
    for pieces, outward, words in ((below, normal, "12"), (above, -normal, "21")):
        picture = at_home(seen(pieces, plane, mark.depth / 2, outward, up))
        # Left the arrow, then the own number, TO, and the other piece's.
        parts = sorted((p for p in picture.geoms if p.area > 0.01), key=lambda p: p.bounds[0])
        assert len(parts) == 5
        for part, letter in zip(parts[1:], (words[0], "T", "O", words[1]), strict=True):
            wanted = at_home(lettering(letter, mark.height, mark.stroke))
            assert at_home(part).symmetric_difference(wanted).area < 2e-3, letter
        # The arrow is even left and right, and heavier at its tip, which is up.
        arrow = at_home(parts[0])
        width = arrow.bounds[2]
        flipped = affinity.scale(arrow, -1.0, 1.0, origin=(width / 2, 0))
        assert arrow.symmetric_difference(flipped).area < 1e-6
        assert arrow.centroid.y > mark.height / 2 + 0.05
    # It points up along the part; on a level seam along +y, or along +x.
    first = next(value for value in up[::-1] if abs(value) > 1e-6)
    assert first > 0


@pytest.mark.parametrize("plane", PLANES)
def test_engraving_takes_its_outline_times_its_depth_and_adds_nothing(plane):
    mark, (below, less_below), (above, less_above) = marked(plane)
    assert mark.depth == pytest.approx(0.4)
    for piece, less, shape in zip(
        (below, above), (less_below, less_above), mark_outlines(mark), strict=True
    ):
        assert piece.volume - less.volume == pytest.approx(shape.area * 0.4, rel=1e-6)
        assert less.difference(piece).volume < 1e-9
        assert len(less.bodies()) == 1
    assert less_below.intersection(less_above).volume < 1e-9


@pytest.mark.parametrize("plane", PLANES[:3])
def test_raised_marks_let_the_seam_close(plane):
    mark, (below, more_below), (above, more_above) = marked(plane, raised=True)
    assert more_below.intersection(more_above).volume < 1e-9
    # Apart by less than the gap in any direction they still clear each other.
    u, v, _ = plane.frame
    for way in (u, -u, v, -v):
        shift = np.hstack([np.eye(3), (way * 0.15)[:, None]])
        assert more_below.intersection(more_above.transformed(shift)).volume < 1e-9
    normal = np.array(plane.normal)
    for pieces, outward in (((below, more_below), normal), ((above, more_above), -normal)):
        # Outside the face there is the mark alone, its own five letters.
        level = seen(pieces, plane, -mark.depth / 2, outward, turn_of(mark))
        letters = [part for part in shapely.get_parts(level) if part.area > 0.01]
        assert len(letters) == 5
        height = mark.plane.height(pieces[1].vertices) * (outward @ normal)
        assert height.max() == pytest.approx(mark.depth)
    # What it adds and takes, by the areas of its outlines.
    shapes = mark_outlines(mark)
    for pieces, own, other in (
        ((below, more_below), *shapes),
        ((above, more_above), *reversed(shapes)),
    ):
        recess = other.buffer(mark.gap, quad_segs=4).area * (mark.depth + mark.gap)
        wanted = own.area * mark.depth - recess
        assert pieces[1].volume - pieces[0].volume == pytest.approx(wanted, rel=1e-6)
        assert len(pieces[1].bodies()) == 1


def test_marks_on_faces_that_lie_back_from_the_plane():
    seam, below, above = cut(PLANES[0])
    # 0.3 mm off each face: for glue.
    slab = Solid.box((50, 70, 0.6), (-5, -5, 29.7))
    below, above = below.difference(slab), above.difference(slab)
    mark, _ = place_mark(seam, 1, 2, seam.section.shape, Printer())
    bodies = mark_bodies(mark, 0.3, 0.3)
    area = mark_outlines(mark)[0].area
    assert below.volume - bodies.on(below, -1).volume == pytest.approx(area * 0.4, rel=1e-6)
    raised, _ = place_mark(seam, 1, 2, seam.section.shape, Printer(), raised=True)
    for back in (0.3, 2.0):
        bodies = mark_bodies(raised, back, back)
        added = bodies.added_below
        assert added.bounds[1, 2] == pytest.approx(30 - back + 0.4)
        assert added.bounds[0, 2] < 30 - back
    # Faces 4 mm apart need no recess: nothing is taken from behind them.
    assert bodies.cut_above.bounds[1, 2] == pytest.approx(32.0)
    with pytest.raises(ValueError, match="side is"):
        bodies.on(below, 0)


def test_a_mark_keeps_clear_of_holes_and_a_line_from_the_edge():
    ring = Solid.cylinder((0, 0, 0), (0, 0, 60), 50, 96).difference(
        Solid.cylinder((0, 0, -1), (0, 0, 61), 42, 96)
    )
    seam, _, _ = cut(Plane((0.0, 0.0, 1.0), 30.0), ring)
    printer = Printer()
    turns = np.radians(np.arange(0, 360, 36))
    holes = [(46 * math.cos(turn), 46 * math.sin(turn), 1.7) for turn in turns]
    room = room_for_marks(seam.section.shape, holes, printer)
    mark, findings = place_mark(seam, 12, 9, room, printer)
    assert findings == ()
    for shape in mark_outlines(mark):
        assert seam.section.shape.buffer(-printer.line_width).covers(shape)
        for u, v, radius in holes:
            assert shape.distance(Point(u, v)) > radius + 1.9 * printer.line_width
    assert mark.height >= 3.0
    assert mark.stroke >= printer.line_width


def test_letters_are_as_large_as_the_room_and_give_up_their_own_number_before_they_vanish():
    seam, _, _ = cut(PLANES[0])
    printer = Printer()

    def placed(shape, **change):
        return place_mark(seam, 1, 2, MultiPolygon([shape]), replace(printer, **change))[0]

    assert placed(box(0, 0, 60, 40)).height == 8.0
    # 5 mm of letters and a line's width above and below them.
    assert placed(box(0, 0, 60, 6.0)).height == 5.0
    narrow = placed(box(0, 0, 60, 4.0))
    assert (narrow.height, narrow.below) == (3.0, ("1", "TO", "2"))
    short = placed(box(0, 0, 15.0, 4.0))
    assert (short.height, short.below, short.above) == (3.0, ("TO", "2"), ("TO", "1"))
    # A line of 0.9 mm asks for letters of 5.85 mm.
    assert placed(box(0, 0, 60, 8.0), line_width=0.9).height == pytest.approx(5.85)
    assert placed(box(0, 0, 60, 40), layer_height=0.3).depth == pytest.approx(0.6)


@pytest.mark.parametrize(
    ("room", "measured"),
    [
        (MultiPolygon(), 0.0),
        (MultiPolygon([box(0, 0, 60, 0.6)]), 0.0),
        # 2.1 mm less two lines leave 1.2 mm, four tenths of 3 mm.
        (MultiPolygon([box(0, 0, 60, 2.11)]), 1.2),
    ],
)
def test_where_nothing_can_be_read_there_is_no_mark_but_a_note(room, measured):
    seam, _, _ = cut(PLANES[0])
    mark, (note,) = place_mark(seam, 1, 2, room, Printer())
    assert mark is None
    assert (note.kind, note.severity, note.subject) == ("mark.no_room", Severity.NOTE, seam.name)
    assert (note.measured, note.allowed, note.unit) == (pytest.approx(measured), 3.0, "mm")
    (place,) = note.where
    assert place[2] == pytest.approx(30.0)
    assert "by hand" in note.message


def test_names_of_pieces_can_be_marked_too():
    seam, _, _ = cut(PLANES[0])
    mark, _ = place_mark(seam, "2.1a", "1", seam.section.shape, Printer())
    assert mark.below == ("2.1A", "TO", "1")
    assert mark.above == ("1", "TO", "2.1A")


@pytest.mark.parametrize(
    ("below", "above", "limit", "expected"),
    [
        ((1, 0, 0), (-1, 0, 0), 45, True),  # both faces are walls
        ((0, 0, 1), (0, 0, -1), 45, True),  # both look up
        ((0, 0, 1), (0, 0, 1), 45, False),  # the upper piece stands on its face
        ((0, 0, -1), (0, 0, -1), 45, False),
        ((0, 0, 1), (0.8, 0, 0.6), 36.8, False),  # a face that looks 36.87° down
        ((0, 0, 1), (0.8, 0, 0.6), 36.9, True),
    ],
)
def test_raised_marks_print_where_no_face_looks_down(below, above, limit, expected):
    plane, printer = Plane((0.0, 0.0, 1.0), 0.0), Printer(overhang_limit=limit)
    assert can_be_raised(plane, np.array(below), np.array(above), printer) is expected


def test_the_roomiest_spot_of_shapes_with_one_answer():
    (at, angle) = roomiest_spot(MultiPolygon([box(0, 0, 30, 10)]), (20.0, 4.0))
    assert (at[1], angle) == (pytest.approx(5.0), 0.0)
    assert 10 < at[0] < 20
    turned = affinity.rotate(box(0, 0, 30, 5), 30, origin=(0, 0))
    at, angle = roomiest_spot(MultiPolygon([turned]), (28.0, 4.0))
    assert angle == pytest.approx(30.0, abs=1e-3)
    assert Point(at).distance(turned.centroid) < 1.0
    assert roomiest_spot(MultiPolygon([turned]), (28.0, 5.1)) is None
    assert roomiest_spot(MultiPolygon(), (1.0, 1.0)) is None
    # Of two the wider one.
    both = MultiPolygon([box(0, 0, 30, 6), box(0, 20, 30, 30)])
    assert roomiest_spot(both, (20.0, 4.0))[0][1] == pytest.approx(25.0)


def test_equal_seams_get_equal_marks():
    seam, _, _ = cut(PLANES[2])
    marks = {place_mark(seam, 1, 2, seam.section.shape, Printer())[0] for _ in range(2)}
    assert len(marks) == 1
