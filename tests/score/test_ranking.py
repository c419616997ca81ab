"""Ranked print directions of solids for which the best is known."""

from dataclasses import replace
from functools import cache

import numpy as np
import pytest
import trimesh

from splitplanner.demo_parts import DEMO_PARTS
from splitplanner.plan import WHOLE, Cut, Piece, divide
from splitplanner.score import (
    CRITERIA,
    LEAST_CONTACT,
    RANKING_TERMS,
    Origin,
    bed_fit,
    fits_any,
    islands,
    measure,
    measure_piece,
    measured_direction,
    overhang,
    rank_directions,
    scorecard,
    seen_crossings,
    support_volume,
)
from splitplanner.score.glancing import Glances
from splitplanner.score.ranking_terms import ranking_weights, way_of
from splitplanner.score.ways_up import finer, ways_up
from splitplanner.solid import Plane, Solid, fibonacci_sphere, seen_from_outside
from splitplanner.suggest import seam_normals
from splitplanner.workshop import Bed, Printer

X, Y, UP = (1.0, 0.0, 0.0), (0.0, 1.0, 0.0), (0.0, 0.0, 1.0)
PRINTER = Printer(bridge_span=0.0)
FEW = 120
"""Directions that are enough for simple solids."""


def solid_of(mesh):
    return Solid.from_arrays(mesh.vertices, mesh.faces)


def unseen(solid):
    return np.zeros(len(solid.faces), dtype=bool)


def ranked(solid, printer=PRINTER, seen=None, **options):
    """Rank directions of an uncut part, of which no side is good if none is given."""
    options = {"most": FEW, **options}
    good = unseen(solid) if seen is None else seen
    return rank_directions(Piece(WHOLE, 1, solid), solid, good, printer, **options)


def glance(solid, up, printer=PRINTER, seen=None, layers=24):
    looks = Glances(solid, unseen(solid) if seen is None else seen, printer)
    return looks.look(np.array([up], dtype=float), layers)[0]


def tee():
    """A T, 40 deep: a stem 10 wide and 50 high below a plate 70 x 8."""
    return Solid.box((10, 40, 55), (-5, 0, 0)).union(Solid.box((70, 40, 8), (-35, 0, 50)))


def channel():
    """A U of 60 x 90 x 40 with walls of 3, open above."""
    return Solid.box((60, 90, 40)).difference(Solid.box((54, 100, 40), (3, -5, 3)))


def pile(seed):
    """Five boxes that hang together, in no order."""
    rng = np.random.default_rng(seed)
    corners, sizes = rng.uniform(0, 30, (5, 3)), rng.uniform(31, 60, (5, 3))
    boxes = [Solid.box(size, corner) for size, corner in zip(sizes, corners, strict=True)]
    return boxes[0].union(*boxes[1:])


# -- a glance beside closed forms and the functions of the scorecard ------------------------


def test_support_of_a_t_is_that_of_its_arms():
    # Two arms of 30 at height 50, 40 deep: V = 2 arm depth h, all of it on the bed.
    found = glance(tee(), UP)
    assert found.support == pytest.approx(2 * 30 * 40 * 50, rel=1e-9)
    assert found.overhang == pytest.approx(2 * 30 * 40, rel=1e-9)
    assert found.contact == pytest.approx(10 * 40, rel=1e-9)
    assert found.height == pytest.approx(58)
    assert found.sides == pytest.approx((70, 40))
    assert found.outline == pytest.approx(70 * 40)
    assert found.tip < np.degrees(np.arctan(5 / 29))


def test_support_that_lands_on_the_piece_ends_there():
    # A T on a base that reaches below one arm: 30 x 40 x (50 - 9) there.
    solid = tee().union(Solid.box((35, 40, 9), (0, 0, 0)))
    found = glance(solid, UP)
    assert found.support == pytest.approx(30 * 40 * 50 + 30 * 40 * 41, rel=0.01)


def test_legs_of_a_channel_take_a_crossing_in_each_layer():
    good = np.isclose(channel().face_centroids[:, 0], 3.0) & (channel().face_normals[:, 0] > 0.9)
    found = glance(channel(), UP, seen=good)
    assert (found.crossings, found.islands) == (pytest.approx(37 / 0.2, abs=200 / 24), 2)
    # The gap ends on the inner face, which is good.
    assert found.crossings_seen == found.crossings
    assert glance(channel(), UP).crossings_seen == 0
    # Standing on its end every layer is a U; on its side, too.
    for up in (Y, X, (-1, 0, 0)):
        assert glance(channel(), up).crossings == 0


@pytest.mark.parametrize("seed", range(3))
def test_glances_agree_with_what_the_scorecard_measures(seed):
    solid, ups = pile(seed), np.array(fibonacci_sphere(12))
    for up, found in zip(ups, Glances(solid, unseen(solid), PRINTER).look(ups, 120), strict=True):
        hanging = overhang(solid, up, 45.0, 0.0)
        assert found.overhang == pytest.approx(hanging.area, rel=1e-9, abs=1e-6)
        assert found.contact == pytest.approx(hanging.contact_area, rel=1e-9, abs=1e-6)
        held = support_volume(solid, up, 45.0, 0.0, known=hanging)
        assert found.support == pytest.approx(held.volume, rel=0.03, abs=1.0)
        counted = islands(solid, up, 0.2, 0.45)
        assert found.crossings == pytest.approx(counted.crossings, rel=1e-12)
        assert found.islands == counted.most
        fit = bed_fit(solid, up, PRINTER.bed)
        assert found.height == pytest.approx(fit.height, rel=1e-12)
        assert fit.sides[0] * fit.sides[1] <= found.sides[0] * found.sides[1] + 1e-6
        assert fit.outline_area <= found.outline * (1 + 1e-9) <= 1.05 * fit.outline_area
        assert found.fits


def test_islands_of_a_heron_are_those_of_trimesh():
    heron = DEMO_PARTS["garden_heron"].make(5000)
    mesh = trimesh.Trimesh(heron.vertices, heron.faces, process=False)
    found = glance(
        heron, UP, replace(PRINTER, layer_height=np.ptp(heron.vertices[:, 2]) / 15), layers=15
    )
    low, height = heron.vertices[:, 2].min(), np.ptp(heron.vertices[:, 2])
    levels = low + (np.arange(15) + 0.5) / 15 * height
    # The heron is solid, so no outline is a hole.
    counts = [len(mesh.section(plane_origin=(0, 0, at), plane_normal=UP).discrete) for at in levels]
    assert found.crossings == sum(counts) - 15 > 3
    assert found.islands == max(counts)


def test_gaps_beside_the_good_side_of_the_hood():
    # A glance looks at the corners of outlines only, so single directions may be off.
    hood = DEMO_PARTS["rain_hood"].make(5000)
    seen, ups = seen_from_outside(hood), np.array(fibonacci_sphere(10))
    looks = Glances(hood, seen, PRINTER).look(ups, 120)
    told = np.array([look.crossings_seen for look in looks])
    exact = np.array([seen_crossings(hood, up, 0.2, 0.45, hood, seen) for up in ups])
    assert told.sum() == pytest.approx(exact.sum(), rel=0.1)
    assert np.abs(told - exact).mean() < 0.25 * exact.mean()
    assert (told <= [look.crossings for look in looks]).all()


def test_bridges_need_no_support():
    # A gate whose opening is 9 wide.
    gate = Solid.box((30, 20, 30)).difference(Solid.box((9, 30, 20), (10, -5, 0)))
    assert glance(gate, UP, Printer(bridge_span=10.0)).support == pytest.approx(0, abs=1e-6)
    assert glance(gate, UP, Printer(bridge_span=8.0)).support == pytest.approx(9 * 20 * 20)


def test_measured_islands_are_those_of_the_scorecard():
    # The scorecard cuts the layers (kernel and shapely); here their outlines are walked round.
    heron = DEMO_PARTS["garden_heron"].make(3000)
    seen, layer, most = seen_from_outside(heron), (PRINTER.layer_height, PRINTER.line_width), 0
    for up in map(tuple, [UP, *fibonacci_sphere(5).tolist()]):
        row = measure_piece(Piece(WHOLE, 1, heron), up, PRINTER)
        found = measured_direction(row, seen, heron, seen, PRINTER)
        counted = islands(heron, up, *layer)
        assert found.crossings == pytest.approx(counted.crossings, rel=1e-12)
        assert found.islands == counted.most
        shown = seen_crossings(heron, up, *layer, heron, seen)
        assert found.crossings_seen == pytest.approx(shown, rel=1e-12)
        most = max(most, found.crossings_seen)
    assert most > 50
    # Fewer layers than are looked at of a tall print: every layer counts.
    low = channel().transformed(np.diag([1.0, 1.0, 0.25, 1.0]))
    row = measure_piece(Piece(WHOLE, 1, low), UP, PRINTER)
    found = measured_direction(row, unseen(low), low, unseen(low), PRINTER)
    assert found.crossings == islands(low, UP, *layer).crossings == 46


# -- where the best direction is known ---------------------------------------------------


def test_a_t_lies_on_its_side():
    # So, and upside down, nothing hangs; on its side it is 40 high, upside down 58.
    best = ranked(tee()).best
    assert abs(best.up[1]) == pytest.approx(1)
    assert best.total == pytest.approx(0, abs=1e-9)
    assert (best.figures.height, best.fits) == (pytest.approx(40), True)
    assert best.figures.contact == pytest.approx(10 * 50 + 70 * 8)


def test_a_channel_stands_on_its_end_or_lies_on_its_back_but_not_with_two_legs():
    found = ranked(channel())
    assert found.best.figures.crossings == 0
    assert abs(found.best.up[1]) == pytest.approx(1)
    assert "no travel over gaps" in found.best.best_at
    upright = next(way for way in found.looked_at if np.dot(way.up, UP) > 0.999)
    assert upright.terms == {"travel crossings": pytest.approx(37 / 0.2 / 1000, rel=0.05)}


def test_a_plate_lies_flat():
    best = ranked(Solid.box((100, 80, 4))).best
    assert abs(best.up[2]) == pytest.approx(1)
    assert best.figures.contact == pytest.approx(100 * 80)
    assert best.figures.tip == pytest.approx(np.degrees(np.arctan(40 / 2)))


def test_a_cone_stands_on_its_base():
    best = ranked(solid_of(trimesh.creation.cone(60.0, 150.0, sections=48))).best
    np.testing.assert_allclose(best.up, UP, atol=1e-9)
    assert best.figures.support == 0
    assert "most bed contact" in best.best_at


def test_a_cap_of_a_ball_lies_on_its_flat():
    ball = solid_of(trimesh.creation.icosphere(subdivisions=4, radius=40.0))
    cap = ball.intersection(Solid.box((100, 100, 100), (-50, -50, 15)))
    best = ranked(cap).best
    np.testing.assert_allclose(best.up, UP, atol=1e-6)
    assert best.total == pytest.approx(0, abs=1e-9)
    # Its flat is a circle of sqrt(40² - 15²), drawn with many corners.
    assert best.figures.contact == pytest.approx(np.pi * (40**2 - 15**2), rel=0.01)


def test_a_bar_that_is_pulled_lies_along_the_pull():
    cube = Solid.box((20, 20, 20))
    for pull in np.eye(3):
        found = ranked(cube, load_direction=3.0 * pull)
        assert np.dot(found.best.up, pull) == pytest.approx(0, abs=1e-9)


@pytest.mark.parametrize("angle", [0.0, 20.0, 45.0, 70.0, 90.0])
@pytest.mark.parametrize("length", [2.5, -1.0])
def test_of_a_pull_at_an_angle_to_the_layers_cos_squared_parts_them(angle, length):
    # Stress on an inclined section, s cos² t; half a point for the whole of it.
    turned = np.radians(angle)
    up = (float(np.sin(turned)), 0.0, float(np.cos(turned)))
    options = {"also": (up,), "most": 6, "measured": 1}
    for pull, share in ((UP, np.cos(turned) ** 2), (X, np.sin(turned) ** 2), (Y, 0.0)):
        found = ranked(Solid.box((20, 20, 20)), load_direction=length * np.array(pull), **options)
        way = next(way for way in found.measured if np.dot(way.up, up) > 1 - 1e-9)
        told = way.terms.get("layers across the load", 0.0)
        assert told == pytest.approx(0.5 * share, abs=1e-9)


def test_each_piece_is_ranked_by_its_own_load():
    # Two halves of a bar, one pulled along it, one across: layers lie along either pull.
    division = divide(Solid.box((80, 20, 20)), [Cut(Plane(X, 40.0), WHOLE)])
    good = unseen(division.part)
    for name, pull in (("1", X), ("2", UP)):
        piece = division.piece(name)
        best = rank_directions(
            piece, division.part, good, PRINTER, load_direction=pull, most=FEW
        ).best
        assert np.dot(best.up, pull) == pytest.approx(0, abs=1e-9)


def test_a_good_face_is_kept_off_bed_and_supports():
    # A block like any other, but for its good top: it prints with that up or to a side.
    block = Solid.box((40, 40, 40))
    good = block.face_normals[:, 2] > 0.9
    found = ranked(block, seen=good)
    assert found.best.figures.contact_seen == 0
    below = next(way for way in found.looked_at if way.up[2] < -0.999)
    share = 40 * 40 / (6 * 40 * 40 / 100) / 10
    assert below.terms == {"good side on the bed": pytest.approx(0.1 * share)}


def test_a_piece_too_large_to_stand_lies_and_one_too_large_at_all_is_ranked_too():
    bar = ranked(Solid.box((280, 20, 20)))
    assert bar.best.fits
    assert all(
        way.fits == fits_any(Solid.box((280, 20, 20)), way.up, PRINTER.bed) for way in bar.measured
    )
    ranks = [way.fits for way in bar.looked_at]
    assert ranks == sorted(ranks, reverse=True)
    huge = ranked(Solid.box((500, 400, 300)))
    assert len(huge.measured) == 4
    assert not any(way.fits for way in (*huge.measured, *huge.looked_at))
    assert all(way.terms["too large for the bed"] > 0 for way in huge.looked_at)


# -- the hood, as it is cut for a bed of 256 mm and of 220 mm ------------------------------


@pytest.fixture(scope="module")
def hood():
    part = DEMO_PARTS["rain_hood"].make(12_000)
    return part, seen_from_outside(part)


WIDE = Printer(bed=Bed.rectangle(256.0, 256.0, 256.0))
THREE = [(X, -72.0, WHOLE), (X, 117.5, "2")]
SIX = [(X, 18.5, WHOLE), (X, -201.5, "1"), (X, 113.5, "2"), (X, 203.5, "2.2")]
HALVES = [(X, -52.5, WHOLE), (X, 163.0, "2"), (Y, -40.8, "2.1"), (Y, -40.8, "1")]


PLANS = {"three": (THREE, WIDE), "six": (SIX, WIDE), "halves": (HALVES, Printer())}
"""Plans that the search finds for the two beds."""
MOSTLY_AIR = 4.0
"""Supports are filled to a sixth or so: those of four times a piece's volume take less than it."""


@pytest.fixture(scope="module")
def of_hood(hood):
    """Return a function that ranks the pieces of a plan, and remembers them: by name, each with its
    ranked directions."""
    part, seen = hood

    @cache
    def pieces_of(plan):
        cuts, printer = PLANS[plan]
        division = divide(part, [Cut(Plane(normal, at), of) for normal, at, of in cuts])
        found = {}
        for piece in division.pieces:
            seams = seam_normals(division, piece)
            options = {"seams": seams, "most": 90, "measured": 1}
            found[piece.name] = piece, rank_directions(piece, part, seen, printer, **options)
        return found

    return pieces_of


@pytest.mark.parametrize(
    ("plan", "name"),
    [
        ("three", "2.1"),
        ("six", "1.2"),
        ("six", "2.1"),
        ("six", "2.2.1"),
        ("halves", "2.1.1"),
        ("halves", "2.1.2"),
    ],
)
def test_u_shaped_pieces_of_the_hood_stand_on_a_seam_without_islands(of_hood, plan, name):
    piece, found = of_hood(plan)[name]
    best = found.best
    assert best.fits
    assert best.origin is Origin.SEAM
    assert abs(best.up[0]) == pytest.approx(1)
    assert (best.figures.crossings, best.figures.islands) == (0, 1)
    assert islands(piece.solid, best.up, 0.2, 0.45).crossings == 0
    assert best.figures.contact > 500
    if plan != "halves":
        # With its legs down, as it is used, it would string between them in most layers.
        legs = Glances(piece.solid, unseen(piece.solid), WIDE).look(np.array([UP]))[0]
        assert legs.crossings > 0.5 * legs.height / 0.2


@pytest.mark.parametrize(("plan", "expected"), [("three", 1), ("six", 3), ("halves", 2)])
def test_what_prints_without_islands_and_stands_is_ranked_first(of_hood, plan, expected):
    # Of a piece that has a direction in which it fits, has no islands, stands by itself or on a
    # brim, and whose supports take less plastic than the piece, the first has no islands.
    counted = 0
    for piece, found in of_hood(plan).values():
        if any(islands_free(piece.solid, way) for way in found.looked_at):
            counted += 1
            assert found.best.fits
            assert found.best.figures.crossings == 0
    assert counted == expected


def islands_free(solid, way):
    """Whether a piece prints well in a direction, one island in each layer; by simple statics."""
    figures, up = way.figures, np.array(way.up)
    if not way.fits or figures.crossings or figures.support > MOSTLY_AIR * solid.volume:
        return False
    middle = solid.centroid @ up - (solid.vertices @ up).min()
    # The centre of mass lies no farther outside the foot than a brim of 5 mm reaches.
    stands = middle * np.tan(np.radians(figures.tip)) > -5.0 and figures.contact >= LEAST_CONTACT
    return stands and islands(solid, way.up, 0.2, 0.45).crossings == 0


def test_a_piece_that_would_fall_over_is_rather_printed_with_a_few_islands(of_hood):
    # The end of the hood, its closed end down: one U in each layer, but it stands on the rim of
    # that end and leans 44 degrees over it. Tilted until the end lies flat it stands by itself.
    _, found = of_hood("three")["2.2"]
    falls = next(way for way in found.looked_at if np.dot(way.up, X) < -0.9999)
    assert (falls.figures.crossings, falls.fits) == (0, True)
    assert falls.figures.tip < -40
    assert falls.terms["unsteady on the bed"] == pytest.approx(0.25 * 2.1)
    assert found.best.figures.crossings > 0
    assert found.best.figures.tip > 20
    assert "unsteady on the bed" not in found.best.terms


# -- how it is ranked -------------------------------------------------------------------


@pytest.mark.parametrize("seed", range(2))
def test_the_best_is_that_of_measuring_every_direction(seed):
    solid = pile(seed)
    piece, good = Piece(WHOLE, 1, solid), unseen(solid)
    found = ranked(solid, most=24)
    weights = ranking_weights({})
    totals = []
    for up in ways_up(solid, (), PRINTER.bed, 24)[0]:
        row = measure_piece(piece, tuple(up.tolist()), PRINTER)
        way = way_of(
            measured_direction(row, good, solid, good, PRINTER), solid, solid, PRINTER, None
        )
        totals.append(
            sum(weights[term.name] * term.value(way) / term.reference for term in RANKING_TERMS)
        )
    # What is found nearby may be better still.
    assert found.best.total <= min(totals) + 1e-6
    assert [way.total for way in found.measured] == sorted(way.total for way in found.measured)


def test_totals_are_those_of_the_scorecard_where_criteria_are_the_same():
    division = divide(pile(1), [])
    found = ranked(division.part)
    for way in found.measured:
        figures = measure(division, {WHOLE: way.up}, PRINTER, unseen(division.part))
        by_name = {term.criterion.name: term for term in scorecard(figures).terms}
        weights = ranking_weights({})
        for name, value in way.terms.items():
            if name in by_name:
                term = by_name[name]
                expected = weights[name] * term.value / term.criterion.reference
                assert value == pytest.approx(expected, rel=1e-9)
        assert way.row.support.volume == way.figures.support
        assert way.figures.exact


def test_the_same_piece_has_the_same_ranks():
    one, other = ranked(pile(2)), ranked(pile(2))
    assert [way.up for way in one.looked_at] == [way.up for way in other.looked_at]
    assert [way.figures for way in one.looked_at] == [way.figures for way in other.looked_at]
    assert [way.terms for way in one.measured] == [way.terms for way in other.measured]


def test_a_glance_does_not_depend_on_the_other_directions():
    solid, ups = pile(0), np.array(fibonacci_sphere(25))
    looks = Glances(solid, unseen(solid), PRINTER)
    together = looks.look(ups)
    assert [looks.look(ups[at : at + 1])[0].support for at in range(25)] == pytest.approx(
        [each.support for each in together], rel=1e-12
    )
    assert looks.look(np.empty((0, 3))) == []


def test_a_symmetric_piece_has_with_each_direction_its_mirror_image():
    # An arrow: the same on either side of x = 0.
    arrow = Solid.hull_of([(x, y, z) for x, y in ((-40, 0), (40, 0), (0, 50)) for z in (0, 12)])
    arrow = arrow.union(Solid.box((16, 30, 12), (-8, -30, 0)))
    ups, origins = ways_up(arrow, (), PRINTER.bed, 150)
    free = ups[np.array(origins) == Origin.FREE]
    assert len(free) > 50
    mirrored = free * (-1, 1, 1)
    assert ((free @ mirrored.T).max(axis=0) > 1 - 1e-9).all()
    looks = Glances(arrow, unseen(arrow), PRINTER)
    for one, other in zip(looks.look(free), looks.look(mirrored), strict=True):
        assert one.overhang == pytest.approx(other.overhang, rel=1e-9, abs=1e-6)
        assert one.crossings == pytest.approx(other.crossings, abs=2 * one.height / 0.2 / 24)
        assert one.support == pytest.approx(other.support, rel=0.05, abs=200.0)
        assert one.tip == pytest.approx(other.tip, abs=1e-6)


def test_directions_are_turned_to_where_they_are_cheapest():
    # Cheapest towards a target, and of two valleys each start finds its own.
    target = np.array([0.36, 0.48, 0.8])
    valleys = target * [[1, 1, 1], [-1, 1, 1]]

    def price(ups):
        return 1.0 - (np.array(ups) @ valleys.T).max(axis=1)

    starts = np.array([[0.5, 0.4, 0.768], [-0.5, 0.4, 0.768]])
    starts /= np.linalg.norm(starts, axis=1)[:, None]
    found = finer(starts, np.eye(3), price, price(starts))
    assert (np.einsum("ij,ij->i", found, valleys) > np.cos(np.radians(1.5))).all()
    np.testing.assert_allclose(found[0], found[1] * [-1, 1, 1], atol=1e-12)
    # What is at its best stays.
    np.testing.assert_array_equal(finer(valleys, np.eye(3), price, price(valleys)), valleys)


def test_finer_directions_are_no_worse_than_where_they_came_from():
    # A ring that leans: no direction that is usual is square to it, its faces are small.
    ring = trimesh.creation.torus(30.0, 8.0, major_sections=48, minor_sections=16)
    ring.apply_transform(trimesh.transformations.rotation_matrix(0.6, (1, 2, 0)))
    found = ranked(solid_of(ring), most=60)
    first = [way for way in found.looked_at if way.origin is not Origin.FINER]
    assert len(first) <= 60
    assert found.looked_at[0].total <= first[0].total
    axis = trimesh.transformations.rotation_matrix(0.6, (1, 2, 0))[:3, 2]
    # A torus that lies flat has one island in every layer.
    assert abs(np.dot(found.best.up, axis)) > np.cos(np.radians(10))
    assert found.best.figures.crossings == 0


def test_directions_come_from_where_they_say():
    box = Solid.box((60, 40, 20))
    seam = np.array([0.6, 0.0, 0.8])
    ups, origins = ways_up(box, [tuple(seam)], PRINTER.bed, 60)
    assert len(ups) == len(origins) <= 60
    assert {Origin.SEAM, Origin.AXIS, Origin.FREE} <= set(origins)
    for up, origin in zip(ups, origins, strict=True):
        assert np.linalg.norm(up) == pytest.approx(1)
        assert (origin is Origin.SEAM) == (abs(up @ seam) > np.cos(np.radians(1)))
        assert (origin is Origin.AXIS) == (np.abs(up).max() > np.cos(np.radians(1)))
    cosines = ups @ ups.T - 2 * np.eye(len(ups))
    assert cosines.max() < 1 - 1e-9


def test_the_best_few_lie_apart_and_are_the_first_of_those_looked_at():
    found = ranked(pile(1), measured=6)
    assert len(found.measured) == 6
    ups = np.array([way.up for way in found.measured])
    assert (ups @ ups.T - 2 * np.eye(6)).max() < np.cos(np.radians(8))
    assert found.looked_at[0].up in {way.up for way in found.measured}
    assert found.piece == WHOLE


def test_directions_that_are_asked_for_are_measured_besides():
    lean = tuple((np.array([1.0, 2.0, 3.0]) / np.sqrt(14.0)).tolist())
    plain, found = ranked(pile(1), measured=3), ranked(pile(1), measured=3, also=(lean,))
    (asked,) = (way for way in found.measured if way.origin is Origin.GIVEN)
    assert asked.up == pytest.approx(lean)
    assert asked.figures.exact
    others = [way.up for way in found.measured if way is not asked]
    assert others == [way.up for way in plain.measured]
    totals = [way.total for way in found.measured if way.fits]
    assert totals == sorted(totals)
    # One that is among them is not measured twice.
    again = ranked(pile(1), measured=3, also=(plain.best.up,))
    assert [way.up for way in again.measured] == [way.up for way in plain.measured]


def test_weights_change_the_ranks():
    # Without travels and with nothing else wrong, a channel prints as low as it can.
    found = ranked(channel(), weights={"travel crossings": 0.0})
    assert found.best.figures.height == pytest.approx(40)
    assert "travel crossings" not in found.best.terms
    # A criterion of the plan score that no direction changes is taken, and does nothing.
    assert ranked(channel(), weights={"pieces": 3.0}).best.up == ranked(channel()).best.up
    slow = ranked(channel(), weights={"print time": 50.0, "travel crossings": 0.0})
    assert slow.best.terms["print time"] > 0


def test_references_are_those_of_the_plan_score():
    own = {criterion.name: criterion for criterion in CRITERIA}
    shared = [term for term in RANKING_TERMS if term.name in own]
    assert len(shared) == 11
    for term in shared:
        assert (term.unit, term.reference) == (own[term.name].unit, own[term.name].reference)
        assert term.weight == own[term.name].weight or term.name.startswith("travel")


def test_progress_is_reported_and_may_stop_it():
    shares = []
    ranked(tee(), report=lambda share, words: shares.append(share))
    assert shares == sorted(shares)
    assert (shares[0], shares[-1]) == (0, 1)

    class StopError(Exception):
        pass

    def stop(share, words):
        if share > 0.65:
            raise StopError

    with pytest.raises(StopError):
        ranked(tee(), report=stop)


@pytest.mark.parametrize(
    ("options", "words"),
    [
        ({"most": 0}, "at least one print direction"),
        ({"measured": 0}, "at least one print direction"),
        ({"weights": {"beauty": 1.0}}, "no criterion called beauty"),
        ({"load_direction": (0, 0, 0)}, "length"),
        ({"seams": [(0, 0, 0)]}, "length"),
        ({"seen": np.ones(3, dtype=bool)}, "faces, got 3"),
    ],
)
def test_wrong_wishes_are_refused(options, words):
    with pytest.raises(ValueError, match=words):
        ranked(tee(), **options)
