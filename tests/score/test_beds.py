"""Pieces on beds: never over each other or the edge, and on as few beds as brute force finds."""

import itertools
import math

import numpy as np
import pytest
import shapely
from scipy.spatial.transform import Rotation

from splitplanner.score.bed_fit import bed_fit
from splitplanner.score.bed_sharing import SPACING, bed_count
from splitplanner.score.beds import ToPlace, share_beds
from splitplanner.score.beds.cells import Grid, Outline
from splitplanner.score.outline_fit import free_area
from splitplanner.solid import Solid
from splitplanner.solid.plane import Plane
from splitplanner.workshop import Bed
from tests.score.beds import BED, BEDS, UP, free_polygon

FLAT = Plane((0, 0, 1), 0.0)


def plate(shape, height=10.0):
    return Solid.prism(shape, FLAT, 0.0, height)


def bracket(width, depth, thick):
    """A U, open upward, with its arms along y."""
    outer = shapely.box(0, 0, width, depth)
    return outer.difference(shapely.box(thick, thick, width - thick, depth + 1))


def ring(outer, inner):
    return shapely.Point(0, 0).buffer(outer).difference(shapely.Point(0, 0).buffer(inner))


def turned(solid, yaw=0.0, tilt=0.0):
    matrix = np.eye(4)
    matrix[:3, :3] = Rotation.from_euler("zx", [yaw, tilt], degrees=True).as_matrix()
    return solid.transformed(matrix)


def shared(solids, bed, up=UP, spacing=SPACING):
    """Share beds, and hold what comes out against shapely on all triangles of the pieces laid."""
    pieces = to_place(solids, bed, up)
    loads = share_beds(pieces, bed, spacing)
    hold(loads, pieces, solids, bed, spacing)
    return loads


def to_place(solids, bed, up=UP):
    return [
        ToPlace.of(f"p{index}", solid, bed_fit(solid, up, bed))
        for index, solid in enumerate(solids)
    ]


def hold(loads, pieces, solids, bed, spacing=SPACING):
    by_name = dict(zip([piece.name for piece in pieces], solids, strict=True))
    assert sorted(name for load in loads for name in load.names) == sorted(by_name)
    assert [load.number for load in loads] == list(range(1, len(loads) + 1))
    free = free_polygon(bed)
    for load in loads:
        laid = [by_name[each.name].transformed(each.fit.pose(by_name[each.name]))
                for each in load.pieces]  # fmt: skip
        shadows = [shadow(solid) for solid in laid]
        fits = all(each.fit.fits for each in load.pieces)
        for each, solid, shade in zip(load.pieces, laid, shadows, strict=True):
            assert solid.bounds[0, 2] == pytest.approx(0.0, abs=1e-9)
            assert shade.symmetric_difference(each.outline).area <= 1e-5 * shade.length
            if fits:
                assert shade.difference(free).area <= 1e-5 * shade.length
                assert solid.bounds[1, 2] <= bed.height + 2e-6
        for one, other in itertools.combinations(shadows, 2):
            assert one.distance(other) >= spacing - 1e-4
        if fits:
            covered = sum(shade.area for shade in shadows)
            # A round bed is measured by a polygon round it.
            assert load.free == pytest.approx(1 - covered / free.area, abs=1e-3)


def shadow(solid):
    triangles = shapely.polygons(solid.vertices[solid.faces][:, :, :2])
    return shapely.union_all(triangles[shapely.area(triangles) > 1e-9], grid_size=1e-6)


# -- few pieces, by hand and by brute force ---------------------------------------------------
def test_no_pieces_need_no_bed():
    assert share_beds([], BED) == ()


# Two squares and the 5 mm between them along each side: (220 - 5) / 2 = 107.5 mm. Two in opposite
# corners are 5 mm apart aslant: (220 - 5 / sqrt(2)) / 2 = 108.2 mm.
@pytest.mark.parametrize(
    ("side", "count", "expected"),
    [(107.5, 4, 1), (107.5, 5, 2), (107.6, 4, 2), (108.4, 3, 3), (70, 9, 1)],
)
def test_squares_stand_in_rows(side, count, expected):
    loads = shared([turned(Solid.box((side, side, 10)), 20.0)] * count, BED)
    assert len(loads) == expected


def fit_together(sizes, room, spacing):
    """Whether rectangles fit one room along x and y: every place a normal pattern has is tried.

    Normal patterns (Herz, IBM J. Res. Dev. 16 (1972) 462): pushed left and down, each rectangle
    begins at a sum of sides of others.
    """
    sums = [
        sum(chosen)
        for count in range(len(sizes))
        for each in itertools.combinations(sizes, count)
        for chosen in itertools.product(*[(a + spacing, b + spacing) for a, b in each])
    ]
    starts = sorted({round(value, 6) for value in sums if value < max(room)})

    def go_on(left, placed):
        if not left:
            return True
        a, b = left[0]
        for width, depth in {(a, b), (b, a)}:
            for x, y in itertools.product(starts, starts):
                if x + width > room[0] + 1e-9 or y + depth > room[1] + 1e-9:
                    continue
                if all(
                    x >= q[0] + q[2] + spacing - 1e-9 or q[0] >= x + width + spacing - 1e-9
                    or y >= q[1] + q[3] + spacing - 1e-9 or q[1] >= y + depth + spacing - 1e-9
                    for q in placed
                ) and go_on(left[1:], [*placed, (x, y, width, depth)]):  # fmt: skip
                    return True
        return False

    return go_on(sorted(sizes, key=lambda each: -each[0] * each[1]), [])


def least_beds(sizes, room, spacing):
    """The least number of rooms, over all ways to part the rectangles."""
    best = len(sizes)
    for parting in itertools.product(range(len(sizes)), repeat=len(sizes)):
        groups = [[s for s, g in zip(sizes, parting, strict=True) if g == n] for n in set(parting)]
        if len(groups) < best and all(fit_together(group, room, spacing) for group in groups):
            best = len(groups)
    return best


def test_as_few_beds_as_brute_force_finds():
    random = np.random.default_rng(7)
    counts = []
    for _ in range(25):
        sizes = [tuple(np.round(random.uniform(30, 150, 2)).tolist()) for _ in range(3)]
        loads = shared([Solid.box((*size, 10)) for size in sizes], BED)
        expected = least_beds(sizes, (220, 220), SPACING)
        # Brute force keeps them along x and y, and the spacing between their rectangles.
        assert len(loads) <= expected
        counts.append((expected, len(loads)))
    assert counts.count((1, 1)) >= 5
    assert counts.count((2, 2)) >= 3
    assert len(counts) - counts.count((1, 1)) - counts.count((2, 2)) <= 3


# -- outlines ---------------------------------------------------------------------------------
def test_brackets_go_into_each_other():
    # Two U of 140 x 140 mm: side by side they take 285 mm. One turned by half and pushed over an
    # arm of the other, they take 140 + 30 + 5 mm one way and 140 + 30 + 5 mm the other.
    solids = [plate(bracket(140, 140, 30)), turned(plate(bracket(140, 140, 30)), 33.0)]
    assert bed_count([bed_fit(solid, UP, BED) for solid in solids], BED) == 2
    (load,) = shared(solids, BED)
    assert load.free == pytest.approx(1 - 2 * (140 * 140 - 80 * 110) / 220**2, abs=1e-6)


def test_a_small_piece_goes_into_a_ring():
    solids = [plate(ring(105, 60)), Solid.cylinder((0, 0, 0), (0, 0, 10), 50)]
    assert bed_count([bed_fit(solid, UP, BED) for solid in solids], BED) == 2
    assert len(shared(solids, BED)) == 1
    # With 5 mm to each side it goes up to a radius of 55 mm, and no further.
    assert len(shared([solids[0], Solid.cylinder((0, 0, 0), (0, 0, 10), 55.1)], BED)) == 2


def test_corners_of_a_round_bed_are_used():
    # In the square inside a circle of 250 mm there is room for one of 90 mm besides 80: no more.
    bed = BEDS["round"]
    solids = [Solid.box((90, 90, 10))] * 4
    assert bed_count([bed_fit(solid, UP, bed) for solid in solids], bed) == 4
    # Four squares of 90 with 5 mm between them reach 185 / sqrt(2) = 130.8 mm from the middle;
    # shifted like bricks two rows of them do better, but the bed of 126 mm holds three.
    assert len(shared(solids, bed)) <= 2


def many():
    """Nine pieces of all sorts, small and large, turned anyhow."""
    random = np.random.default_rng(11)
    solids = []
    for index in range(3):
        width, depth = random.uniform(60, 110, 2)
        solids.append(plate(bracket(width, depth, 14), 20.0 + index))
        solids.append(Solid.box((*random.uniform(15, 80, 2), 12.0)))
        solids.append(Solid.cylinder((0, 0, 0), (0, 0, 30), random.uniform(8, 35), 12))
    return [turned(solid, random.uniform(0, 360)) for solid in solids]


@pytest.mark.parametrize("name", BEDS)
def test_pieces_of_all_sorts_share_any_bed(name):
    bed, solids = BEDS[name], many()
    pieces = to_place(solids, bed)
    loads = share_beds(pieces, bed)
    hold(loads, pieces, solids, bed)
    assert len(loads) <= bed_count([piece.fit for piece in pieces], bed)
    assert len(loads) >= sum(piece.view.area for piece in pieces) / free_polygon(bed).area
    again = share_beds(pieces, bed)
    assert [[(p.name, p.yaw, p.shift) for p in load.pieces] for load in loads] == [
        [(p.name, p.yaw, p.shift) for p in load.pieces] for load in again
    ]


@pytest.mark.parametrize("name", ["oblong", "round"])
def test_outlines_save_beds_where_rectangles_need_more(name):
    # Six U of 100 mm: rectangles of them go two to an oblong bed, and one to a round one.
    bed, solids = BEDS[name], [plate(bracket(100, 100, 15))] * 6
    pieces = to_place(solids, bed)
    loads = share_beds(pieces, bed)
    hold(loads, pieces, solids, bed)
    assert len(loads) < bed_count([piece.fit for piece in pieces], bed)


def test_pieces_that_lean_are_placed_by_their_shadow():
    up = tuple(np.array([1.0, 2.0, 2.0]) / 3.0)
    loads = shared([plate(bracket(60, 80, 15), 40.0), Solid.box((90, 20, 30))] * 3, BED, up)
    assert len(loads) == 1


# -- what does not fit, order, spacing --------------------------------------------------------
def test_pieces_that_do_not_fit_or_lie_aslant_have_beds_of_their_own():
    loads = shared(
        [Solid.box((400, 20, 10)), Solid.box((50, 50, 10)), Solid.box((50, 50, 300)),
         Solid.box((60, 60, 10))], BED,
    )  # fmt: skip
    assert [load.names for load in loads] == [("p0",), ("p1", "p3"), ("p2",)]


def test_a_piece_that_fits_aslant_alone_shares_what_is_left():
    # 280 x 5 mm fits a bed of 220 only near its diagonal; beside it there is room for squares.
    loads = shared([Solid.box((280, 5, 10)), Solid.box((60, 60, 10))], BED)
    assert len(loads) == 1


def test_a_piece_that_fits_to_the_micrometre_is_placed_as_it_was_measured():
    solids = [Solid.box((220.0 + 5e-7, 220.0, 10)), Solid.box((100, 100, 10))]
    loads = shared(solids, BED)
    fit = bed_fit(solids[0], UP, BED)
    assert (loads[0].pieces[0].yaw, loads[0].pieces[0].shift) == (fit.yaw, fit.shift)
    assert loads[0].free == pytest.approx(0.0, abs=1e-6)


def test_a_bed_of_several_pieces_stands_in_the_middle():
    (load,) = shared([Solid.box((40, 40, 10)), Solid.box((60, 40, 10))], BED)
    bounds = np.array(shapely.union_all([each.outline for each in load.pieces]).bounds)
    np.testing.assert_allclose((bounds[:2] + bounds[2:]) / 2, [110, 110], atol=1e-9)
    assert load.height == 10


def test_spacing_is_kept_and_has_to_be_a_length():
    sides = [Solid.box((105, 105, 10))] * 4
    assert len(shared(sides, BED, spacing=10.0)) == 1
    assert len(shared(sides, BED, spacing=10.1)) == 2
    # In opposite corners they are 10 * sqrt(2) mm apart.
    assert len(shared(sides, BED, spacing=14.2)) == 4
    assert len(shared([Solid.box((110, 110, 10))] * 4, BED, spacing=0.0)) == 1
    for spacing in (-1.0, math.nan, math.inf):
        with pytest.raises(ValueError, match="spacing"):
            share_beds([], BED, spacing)


# -- cells ------------------------------------------------------------------------------------
@pytest.mark.parametrize("name", ["square", "oblong", "L", "round"])
def test_cells_of_a_shape_are_those_that_shapely_finds(name):
    grid = Grid.over(free_area(BEDS[name]))
    shape = ring(30, 17).union(shapely.Polygon([(5, 0), (80, 3), (60, 40)]))
    shape = shapely.affinity.translate(shape, 61.3, 70.9)
    rows, columns = grid.taken.shape
    left, front = (grid.low[axis] + grid.cell[axis] * np.arange(count)
                   for axis, count in ((0, columns), (1, rows)))  # fmt: skip
    boxes = shapely.box(left, front[:, None], left + grid.cell[0], front[:, None] + grid.cell[1])
    found = grid.cells(Outline.of(shape, grid.step))
    within = shapely.area(shapely.intersection(boxes, shape))
    # All cells that it is in by more than a corner which is cut off between two points.
    assert not (~found & (within > grid.slack**2)).any()
    assert not (found & (shapely.distance(boxes, shape) > 1e-9)).any()


@pytest.mark.parametrize("name", BEDS)
def test_cells_that_are_not_free_are_taken(name):
    grid, free = Grid.over(free_area(BEDS[name])), free_polygon(BEDS[name])
    rows, columns = np.nonzero(~grid.taken)
    low = grid.low + grid.cell * np.column_stack([columns, rows])
    open_cells = shapely.box(*low.T, *(low + grid.cell).T)
    # What is not free was grown by the slack before, which is more than any corner that is missed.
    shapely.prepare(allowed := free.buffer(1e-6))
    assert shapely.covers(allowed, open_cells).all()
    # What is lost is a strip of two cells along the edge at most.
    lost = free.area - shapely.area(open_cells).sum()
    assert lost <= 2 * grid.cell.max() * free.length


def test_beds_hold_pieces_at_any_height_below_their_own():
    low = Bed.rectangle(220, 220, 20)
    assert len(shared([Solid.box((50, 50, 20)), Solid.box((50, 50, 21))], low)) == 2
