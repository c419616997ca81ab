"""Layouts: least numbers of pieces derived by hand, and pieces that fit by a search of our own.

Nothing here shares code with the program's own measure of fit: boxes come from trimesh, and where
they do not settle it, rotations are searched for with scipy.
"""

import importlib
import itertools
import math
from functools import cache

import numpy as np
import pytest
import trimesh
from scipy.optimize import minimize
from scipy.spatial.transform import Rotation

from splitplanner.plan import divide
from splitplanner.solid import Plane, Solid
from splitplanner.suggest import LayoutSearch, lower_bound
from splitplanner.suggest.layouts import bed_sizes, leaning_reaches
from splitplanner.workshop import Bed

SIZES = np.array([220.0, 220.0, 250.0])
BED = Bed.rectangle(*SIZES)  # Space diagonal 399.1 mm, plan diagonal 311.1 mm.
SLACK = 1e-3
"""The search for rotations stops a little short of an exact fit."""


def turned(solid, angles):
    matrix = np.eye(4)
    matrix[:3, :3] = Rotation.from_euler("xyz", angles, degrees=True).as_matrix()
    matrix[:3, 3] = (100, -40, 7)
    return solid.transformed(matrix)


# -- an independent measure of fit ----------------------------------------------------------------
def fits_box(points, sizes=SIZES):
    """Return whether some rotation brings `points` (n, 3) into a box of `sizes`, by search."""
    hull = trimesh.convex.convex_hull(points)
    _, extents = trimesh.bounds.oriented_bounds(hull)
    if any((extents <= np.array(order) + 1e-3).all() for order in itertools.permutations(sizes)):
        return True

    def excess(vector):
        spans = np.ptp(Rotation.from_rotvec(vector).apply(hull.vertices), axis=0)
        return float((spans / sizes).max())

    starts = Rotation.random(3000, random_state=1).as_rotvec()
    for start in sorted(starts, key=excess)[:8]:
        options = {"xatol": 1e-5, "fatol": 1e-6, "maxiter": 800}
        if minimize(excess, start, method="Nelder-Mead", options=options).fun <= 1 + SLACK:
            return True
    return False


def test_the_measure_of_fit_itself():
    # A square bar along the plan diagonal: (l + w) / sqrt 2 = 220, so 301 mm long at 10 mm wide.
    assert fits_box(Solid.box((301, 10, 10)).vertices)
    # Of no width, along the space diagonal: 399.1 mm.
    assert fits_box(Solid.box((395, 0.5, 0.5)).vertices)
    assert not fits_box(Solid.box((400, 0.5, 0.5)).vertices)
    assert not fits_box(Solid.box((221, 221, 221)).vertices)


def assert_layouts(part, layouts, sizes=SIZES, most=4):
    """Layouts differ, come fewest first, and every one of their pieces fits."""
    assert layouts
    assert [layout.pieces for layout in layouts] == sorted(layout.pieces for layout in layouts)
    assert len({layout.signature for layout in layouts}) == len(layouts)
    for layout in layouts[:most]:
        division = divide(part, layout.cuts)
        assert division.findings == ()
        assert len(division.pieces) == layout.pieces
        total = sum(piece.solid.volume for piece in division.pieces)
        assert total == pytest.approx(part.volume, rel=1e-9)
        for piece in division.pieces:
            assert fits_box(piece.solid.vertices, sizes), (layout, piece.name)


# -- least numbers of pieces ----------------------------------------------------------------------
def l_shape():
    return Solid.box((400, 60, 60)).union(Solid.box((60, 400, 60)))


def u_shape():
    legs = [Solid.box((60, 430, 60), (x, 0, 0)) for x in (0, 370)]
    return Solid.box((430, 60, 60)).union(*legs)


def square_ring():
    return Solid.box((400, 400, 30)).difference(Solid.box((340, 340, 50), (30, 30, -10)))


def cross():
    return Solid.box((400, 60, 60), (-200, -30, 0)).union(Solid.box((60, 400, 60), (-30, -200, 0)))


def rod():
    return Solid.cylinder((0, 0, 0), (900, 0, 0), 10.0, 12)


def tube():
    return Solid.cylinder((0, 0, 0), (0, 0, 620), 100.0, 24).difference(
        Solid.cylinder((0, 0, -1), (0, 0, 621), 97.0, 24)
    )


PARTS = {
    "bar": lambda: Solid.box((280, 15, 15)),
    "box in 2": lambda: Solid.box((430, 200, 240)),
    "box in 4": lambda: Solid.box((430, 430, 240)),
    "box in 8": lambda: Solid.box((430, 430, 480)),
    "L": l_shape,
    "U": u_shape,
    "ring": square_ring,
    "cross": cross,
    "plate": lambda: Solid.box((500, 300, 5)),
    "rod": rod,
    "tube": tube,
}
PLAIN, ASKEW, ON_EDGE = (0, 0, 0), (20, 30, 50), (45, 0, 0)


def part_of(name, angles=PLAIN):
    return turned(PARTS[name](), angles)


def searched(name, angles=PLAIN):
    """Return the layouts of a part; each is searched for only once for all tests."""
    return _searched(name, angles)


@cache
def _searched(name, angles):
    return tuple(LayoutSearch(part_of(name, angles), BED).run())


LEAST = [
    # 430 mm is longer than the space diagonal; halves of 215 x 200 x 240 fit.
    ("box in 2", PLAIN, 2),
    ("box in 2", ASKEW, 2),
    ("box in 2", ON_EDGE, 2),
    ("box in 2", (0, 90, 0), 2),
    # The four upright edges, then all eight corners, are pairwise 430 mm apart or more.
    ("box in 4", PLAIN, 4),
    ("box in 4", ON_EDGE, 4),
    ("box in 8", PLAIN, 8),
    # Both far ends are over 399.1 mm from the outer corner and from each other: three pieces at
    # least; two legs cut apart at the corner are 340 and 400 mm long and 60 wide and do not fit,
    # but a corner with 215 mm of each leg and two ends of 185 mm do.
    ("L", PLAIN, 3),
    ("L", ASKEW, 3),
    # The U's two lower corners and two leg ends are pairwise 430 mm apart or more; half of the
    # foot with half of a leg, 215 x 215 x 60, and two leg ends of 215 mm do.
    ("U", PLAIN, 4),
    # The ring's four outer corners are pairwise 400 mm apart or more; its quarters are 200 x 200.
    ("ring", PLAIN, 4),
    # Two opposite ends of a cross are 400 mm apart: two pieces at least. Cut across between the
    # arms, each half has the ends of two arms in a row, 325 mm long, and fits standing askew.
    ("cross", PLAIN, 2),
    # 583 mm across: two pieces at least; 250 x 300 stands 250 high along the plan diagonal of 311.
    ("plate", PLAIN, 2),
]


@pytest.mark.parametrize(("name", "angles", "least"), LEAST, ids=str)
def test_the_least_number_of_pieces_is_found(name, angles, least):
    layouts = searched(name, angles)
    assert layouts[0].pieces == least
    assert lower_bound(part_of(name, angles), BED).pieces == least
    assert_layouts(part_of(name, angles), layouts)


# 300 x 15 x 15 would not lie flat: (300 + 15) / sqrt 2 = 222.7 mm, so such bars lean.
@pytest.mark.parametrize("angles", [(0, 0, 0), (20, 30, 50), (45, 0, 0)], ids=str)
@pytest.mark.parametrize(
    "size", [(280, 15, 15), (330, 10, 10), (220, 220, 250), (385, 4, 4)], ids=str
)
def test_a_part_that_fits_is_not_cut(size, angles):
    part = turned(Solid.box(size), angles)
    (layout,) = LayoutSearch(part, BED).run()
    assert layout.cuts == ()
    assert layout.pieces == 1
    assert_layouts(part, [layout])


def test_a_part_just_over_the_bed_is_cut():
    layouts = LayoutSearch(Solid.box((220, 220, 250.01)), BED).run()
    assert layouts[0].pieces == 2
    # Of a cube of 221 mm both halves have two sides of 221: only one of them can stand upright.
    layouts = LayoutSearch(Solid.box((221, 221, 221)), BED).run()
    assert layouts[0].pieces == 3


@pytest.mark.parametrize("angles", [PLAIN, (0, 0, 90), (0, 90, 0), ASKEW], ids=str)
def test_a_long_rod_gives_the_least_number_however_it_lies(angles):
    # A chain of pieces, none longer than 399.1 mm, spans 900: three at least. On the space
    # diagonal a rod of 20 mm and 300 fits, so three are possible.
    part, layouts = part_of("rod", angles), searched("rod", angles)
    assert lower_bound(part, BED).pieces == 3
    assert fits_box(Solid.cylinder((0, 0, 0), (300, 0, 0), 10.0, 12).vertices)
    assert layouts[0].pieces == 3
    assert_layouts(part, layouts, most=2)


@pytest.mark.parametrize("bed", [BED, Bed.rectangle(300, 180, 150, margin=5)], ids=str)
def test_how_long_a_leaning_bar_may_be(bed):
    sizes = np.array(bed_sizes(bed))
    for thickness in (5.0, 20.0):
        reaches = leaning_reaches(bed, thickness)
        assert len(reaches) == 2
        # Along the space diagonal it may be as long as said: by the cosines of that direction.
        for reach, used in zip(reaches, (sizes * (1, 1, 0), sizes), strict=True):
            axis = used / np.linalg.norm(used)
            points = Solid.cylinder((0, 0, 0), axis * reach, thickness / 2, 240).vertices
            spans = np.ptp(points, axis=0)
            assert (spans <= sizes + 5e-3).all()
            assert (spans[used > 0] > sizes[used > 0] - 0.02).any()


def test_a_leaning_bar_on_a_round_bed():
    # In plan the four corners of the flat bar lie on the circle: l² + d² = 200².
    flat, leaning = leaning_reaches(Bed.circle(200, 180), 20.0)
    assert flat == pytest.approx(math.sqrt(200**2 - 20**2))
    # On a higher bed only leaning gains anything over standing upright.
    assert leaning_reaches(Bed.circle(200, 300), 20.0) == [pytest.approx(329.85, abs=0.01)]
    # Leaning, in the upright rectangle over that: its diagonal less what the thickness takes.
    assert 200 < leaning < math.hypot(200, 180)


def count_calls(monkeypatch, module, name):
    """Count the calls of a function that a module imported."""
    module = importlib.import_module(module)
    inner, calls = getattr(module, name), []

    def counted(*given):
        calls.append(name)
        return inner(*given)

    monkeypatch.setattr(module, name, counted)
    return calls


def test_few_yaws_are_tried_for_a_yes_or_no_on_an_l_shaped_bed(monkeypatch):
    calls = count_calls(monkeypatch, "splitplanner.score.yaw_window", "fits_at")
    legs = ((0, 0), (300, 0), (300, 150), (150, 150), (150, 300), (0, 300))
    layouts = LayoutSearch(Solid.box((200, 200, 200)), Bed.of_outline(legs, 250.0)).run()
    assert layouts[0].pieces == 2
    # About 140 pieces are asked about; the search for the largest scale tried 500 yaws for each.
    assert 0 < len(calls) < 10_000


def test_few_tilts_of_a_bar_are_measured(monkeypatch):
    calls = count_calls(monkeypatch, "splitplanner.score.bed_fit", "rectangle_fit")
    layouts = LayoutSearch(Solid.box((210, 50, 40)), Bed.rectangle(150, 150, 150)).run()
    assert layouts[0].pieces == 2
    # To measure every tilt of every piece takes 30 000.
    assert 0 < len(calls) < 3000


def test_an_open_frame_takes_fewer_pieces_than_a_grid_cuts_it_into():
    # The box round it takes far more pieces than the frame itself.
    frame = Solid.box((1800, 1800, 30)).difference(Solid.box((1740, 1740, 50), (30, 30, -10)))
    layouts = LayoutSearch(frame, BED).run()
    assert layouts[0].pieces < min(layout.pieces for layout in layouts if _is_grid(layout))
    assert_layouts(frame, layouts, most=1)


def _is_grid(layout):
    return all(cut.piece is None for cut in layout.cuts)


def test_a_long_tube():
    # 620 mm in two leaves a piece of 310 or more along the axis on average, 200 across. In a
    # direction at angle t from its axis a cylinder measures 310 |cos t| + 200 sin t. Of three
    # directions square to each other the squares of the cosines add up to 1, but 220 mm allows no
    # more than 0.07 and 250 no more than 0.18: no cut square to the axis gives two.
    for room, cosine in ((220, 0.07), (250, 0.18)):
        assert 310 * cosine + 200 * math.sqrt(1 - cosine**2) > room
    assert 2 * 0.07**2 + 0.18**2 < 1
    layouts = searched("tube")
    assert layouts[0].pieces == 3
    assert_layouts(part_of("tube"), layouts, most=2)


# -- what a search returns ------------------------------------------------------------------------
def test_there_are_really_different_layouts():
    # Of the L: a corner with two ends, or one end with two pieces of the rest; and one piece more.
    counts = [layout.pieces for layout in searched("L")]
    assert counts.count(3) >= 3
    assert counts.count(4) >= 1


@pytest.mark.parametrize("name", ["box in 2", "plate"])
def test_a_search_gives_the_same_layouts_again(name):
    assert tuple(LayoutSearch(part_of(name), BED).run()) == searched(name)


def test_more_pieces_than_asked_for_come_from_grids_only():
    for layout in LayoutSearch(part_of("box in 2"), BED).run(most_extra=0):
        named = any(cut.piece is not None for cut in layout.cuts)
        assert layout.pieces == 2 or not named


@pytest.mark.parametrize(
    ("name", "angles", "least"),
    [
        ("box in 2", PLAIN, 2),
        ("box in 2", ASKEW, 2),
        ("plate", PLAIN, 2),
        ("L", ASKEW, 3),
    ],
    ids=str,
)
def test_no_layout_has_over_twice_the_least_pieces(name, angles, least):
    assert searched(name, angles)[-1].pieces <= 2 * least


def test_blocks_that_fill_the_same_box_are_told_apart():
    # A box cut from edge to edge: two wedges of the same volume in the same box.
    plane = Plane.through((300, 150, 150), (1, 0, 2))
    lower, upper = Solid.box((600, 300, 300)).split(plane)
    search = LayoutSearch(Solid.box((600, 300, 300)), BED)
    assert search.block(lower).solid is lower
    assert search.block(upper).solid is upper


def test_bodies_that_fit_need_no_cut():
    part = Solid.box((100, 100, 100)).union(Solid.box((100, 100, 100), (500, 0, 0)))
    (layout,) = LayoutSearch(part, BED).run()
    assert (layout.cuts, layout.pieces) == ((), 2)


def test_one_of_two_bodies_is_cut():
    part = Solid.box((430, 200, 240)).union(Solid.box((100, 100, 100), (165, 0, 500)))
    layouts = LayoutSearch(part, BED).run()
    assert layouts[0].pieces == 3
    assert_layouts(part, layouts)


# -- beds -----------------------------------------------------------------------------------------
def test_margin_is_kept_free():
    bed = Bed.rectangle(220, 220, 250, margin=10)
    # Halves of 215 mm no longer fit between the margins, 200 mm apart, but they stand upright:
    # 215 high on 200 x 200. A box 430 x 201 x 240 does not.
    assert LayoutSearch(Solid.box((430, 200, 200)), bed).run()[0].pieces == 2
    part = Solid.box((430, 205, 205))
    layouts = LayoutSearch(part, bed).run()
    assert layouts[0].pieces > 2
    assert_layouts(part, layouts, sizes=np.array([200.0, 200, 250]), most=2)


def test_round_bed():
    # 200 mm round, 300 high: a bar 130 x 130 stands in it (diagonal 183.8), one of 145 x 145 does
    # not (205.1) and is halved lengthwise.
    bed = Bed.circle(200, 300)
    layouts = LayoutSearch(Solid.box((130, 130, 590)), bed).run()
    assert layouts[0].pieces == 2
    layouts = LayoutSearch(Solid.box((145, 145, 290)), bed).run()
    assert layouts[0].pieces == 2
    for piece in divide(Solid.box((145, 145, 290)), layouts[0].cuts).pieces:
        # The smallest circle round a box is that of its corners.
        sides = np.sort(piece.solid.extents)
        assert math.hypot(*sides[:2]) <= 200 + 1e-3


@pytest.mark.parametrize(
    "bed",
    [
        # An L whose arms are 100 mm wide, a triangle, and a bed with a post in its middle.
        Bed.of_outline(
            ((0, 0), (220, 0), (220, 100), (100, 100), (100, 220), (0, 220)), height=250
        ),
        Bed.of_outline(((0, 0), (300, 0), (150, 260)), height=250),
        Bed(
            "rectangle",
            220,
            220,
            250,
            blocked=(((100.0, 100.0), (120.0, 100.0), (120.0, 120.0), (100.0, 120.0)),),
        ),
    ],
    ids=["L", "triangle", "post"],
)
def test_a_part_that_only_fits_the_box_round_an_odd_bed_does_not_fit_it(bed):
    # 200 x 200 x 200 is larger than any free square of these beds; a bar of 90 x 90 lies on all.
    search = LayoutSearch(Solid.box((200, 200, 200)), bed)
    whole, bar = search.block(search.part), search.block(Solid.box((180, 90, 90)))
    assert not whole.fits
    assert whole.needs >= 2
    assert (bar.fits, bar.needs) == (True, 1)


def test_progress_rises_to_the_end_and_can_stop_the_search():
    heard = []
    LayoutSearch(part_of("box in 2"), BED, lambda done, doing: heard.append((done, doing))).run()
    shares = [done for done, _ in heard]
    assert shares == sorted(shares)
    assert 0 == shares[0] < shares[-1] <= 1
    assert {"trying grids of planes", "trying single cuts"} <= {doing for _, doing in heard}

    def stop(done, doing):
        if "trees" in doing:
            raise KeyboardInterrupt

    with pytest.raises(KeyboardInterrupt):
        LayoutSearch(part_of("box in 2"), BED, stop).run()
