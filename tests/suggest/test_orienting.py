"""Which way up a piece prints, on shapes for which a maker knows."""

import numpy as np
import pytest
import trimesh
from scipy.spatial.transform import Rotation

from splitplanner.plan import Cut, Piece, divide
from splitplanner.score import Figures, bed_fit, measure_piece, print_directions, scorecard
from splitplanner.solid import Plane, Solid
from splitplanner.suggest import orienting
from splitplanner.suggest.costs import Costs
from splitplanner.suggest.orienting import oriented, seam_normals
from splitplanner.workshop import Bed, Printer
from tests.catalogue import solid_of
from tests.suggest.shapes import PRINTER, l_shape

X, Y, Z = np.eye(3)
TURNS = [0, 1, 2]


def turned(solid, seed):
    """Return the solid as it stands in space for `seed`, and the rotation that brought it there."""
    matrix = np.eye(4)
    if seed:
        matrix[:3, :3] = Rotation.random(random_state=seed).as_matrix()
        matrix[:3, 3] = (30, -200, 5)
    return solid.transformed(matrix), matrix[:3, :3]


def chosen(solid, printer=PRINTER, extra=(), **options):
    return oriented(Piece("1", 1, solid), Costs(solid, printer), extra, **options)


def assert_lies_on_the_bed(row, sizes=(220, 220, 250)):
    """The pose is a rotation and a shift that bring every corner into the bed's volume."""
    pose = row.fit.pose(row.piece.solid)
    np.testing.assert_allclose(pose[:3, :3] @ pose[:3, :3].T, np.eye(3), atol=1e-9)
    assert np.linalg.det(pose[:3, :3]) == pytest.approx(1)
    np.testing.assert_allclose(pose[2, :3], row.up, atol=1e-9)
    placed = row.piece.solid.vertices @ pose[:3, :3].T + pose[:3, 3]
    assert (placed >= -1e-5).all()
    assert (placed <= np.add(sizes, 1e-5)).all()


def t_shape():
    return Solid.box((20, 20, 80)).union(Solid.box((100, 20, 20), (-40, 0, 80)))


def mushroom():
    return Solid.box((20, 20, 50)).union(Solid.box((100, 100, 10), (-40, -40, 50)))


def cone():
    return solid_of(trimesh.creation.cone(60.0, 150.0, sections=48))


def arch():
    rings = Solid.cylinder((0, 0, 0), (0, 60, 0), 90.0, 48).difference(
        Solid.cylinder((0, -1, 0), (0, 61, 0), 75.0, 48)
    )
    return rings.difference(Solid.box((200, 100, 100), (-100, -20, -100)))


@pytest.mark.parametrize("seed", TURNS)
def test_a_t_lies_on_its_side(seed):
    # Upside down needs no support either, but flat it is 20 mm high instead of 100.
    part, turn = turned(t_shape(), seed)
    row = chosen(part)
    assert (row.overhang.area, row.support.volume) == (0, 0)
    assert abs(np.array(row.up) @ turn @ Y) == pytest.approx(1)
    assert row.fit.height == pytest.approx(20)
    assert_lies_on_the_bed(row)


@pytest.mark.parametrize("seed", TURNS)
def test_a_mushroom_stands_on_its_cap(seed):
    part, turn = turned(mushroom(), seed)
    row = chosen(part)
    assert (row.overhang.area, row.support.volume) == (0, 0)
    assert np.array(row.up) @ turn @ Z == pytest.approx(-1)
    assert row.overhang.contact_area == pytest.approx(100 * 100)


@pytest.mark.parametrize("seed", TURNS)
def test_a_cone_stands_on_its_base(seed):
    part, turn = turned(cone(), seed)
    row = chosen(part)
    assert np.array(row.up) @ turn @ Z == pytest.approx(1)
    assert row.support.volume == 0
    # A polygon of 48 sides inside a circle of 60 mm.
    assert row.overhang.contact_area == pytest.approx(24 * 60**2 * np.sin(2 * np.pi / 48))


def test_a_cap_too_wide_for_the_bed_stands_up():
    # A disc of 240 mm is too wide to lie, but not too high to stand.
    disc = Solid.cylinder((0, 0, 0), (0, 0, 20), 120.0, 64)
    row = chosen(disc)
    assert abs(row.up[2]) < 1e-6
    assert_lies_on_the_bed(row)


@pytest.mark.parametrize("seed", TURNS)
def test_a_bar_that_fits_only_leaning_is_found(seed):
    # 330 mm is more than the plan's diagonal of 311 and the height of 250.
    part, turn = turned(Solid.box((330, 10, 10)), seed)
    row = chosen(part)
    assert row.fit.fits
    assert_lies_on_the_bed(row)
    # Upright it reaches 330 sin e + 10 cos e <= 250 and along the diagonal at least
    # 330 cos e <= 311: it leans between 20° and 48°.
    elevation = np.degrees(np.arcsin(abs(np.array(row.up) @ turn @ X)))
    assert 19 < elevation < 48


def test_a_bar_is_found_a_way_to_lean_though_the_likeliest_do_not_fit(monkeypatch):
    monkeypatch.setattr(orienting, "_LEANING", 0)
    row = chosen(Solid.box((330, 10, 10)))
    assert row.fit.fits
    assert_lies_on_the_bed(row)


def test_of_leaning_directions_the_cheapest_is_taken():
    # A bar that fits only leaning, by 20° to 48°. Lying on a side, that side leans out by 42° or
    # more; rolled by 45° about its length no face leans out by over asin(cos 20° / sqrt 2) = 42°.
    part = Solid.box((330, 30, 4))
    row = chosen(part)
    assert_lies_on_the_bed(row)
    assert row.overhang.area == 0
    flat = measure_piece(Piece("1", 1, part), (np.sin(np.pi / 6), 0, np.cos(np.pi / 6)), PRINTER)
    assert flat.overhang.area == pytest.approx(330 * 30)


@pytest.mark.parametrize("seed", TURNS)
def test_a_plate_that_fits_only_leaning_is_found(seed):
    # Lying or upright, 252 mm is more than the plan or the height of the bed takes. Leaning by e
    # from the bed it is 252 sin e + 3 cos e <= 250 high, so e < 82.1°, and turned by 45° on the bed
    # it takes 252 (1 + cos e) + 3 sin e <= 220 sqrt 2: e > 77.1°.
    part, turn = turned(Solid.box((252, 252, 3)), seed)
    row = chosen(part)
    assert row.fit.fits
    assert_lies_on_the_bed(row)
    tilt = np.degrees(np.arccos(abs(np.array(row.up) @ turn @ Z)))
    assert 77 < tilt < 82.2


def test_a_piece_that_fits_in_no_direction_has_none():
    assert chosen(Solid.box((400, 400, 400))) is None
    assert chosen(Solid.box((400, 5, 5))) is None


def test_margin_and_shape_of_the_bed_count():
    plate = Solid.box((210, 210, 10))
    assert_lies_on_the_bed(chosen(plate))
    row = chosen(plate, Printer(bed=Bed.rectangle(220, 220, 250, margin=10)))
    # Only 200 mm are left between the margins: it stands on edge.
    assert abs(row.up[2]) < 0.5
    post = ((100.0, 100.0), (120.0, 100.0), (120.0, 120.0), (100.0, 120.0))
    row = chosen(plate, Printer(bed=Bed("rectangle", 220, 220, 250, blocked=(post,))))
    assert abs(row.up[2]) < 0.5


def test_the_overhang_limit_counts():
    # A frustum on its small end leans out by 40 mm over 60 mm: 33.7° from vertical.
    plan = np.array([(-1, -1), (1, -1), (1, 1), (-1, 1)], dtype=float)
    corners = [np.column_stack([plan * half, np.full(4, z)]) for half, z in ((60, 0), (20, 60))]
    part = solid_of(trimesh.convex.convex_hull(np.vstack(corners)))
    row = chosen(part)
    assert row.up == pytest.approx(Z)
    down = measure_piece(Piece("1", 1, part), tuple(-Z), PRINTER)
    assert down.support.volume == 0
    steep = measure_piece(Piece("1", 1, part), tuple(-Z), Printer(overhang_limit=30.0))
    assert steep.support.volume > 0


def test_seam_normals_are_those_of_the_piece_own_seams():
    part = Solid.box((300, 100, 100))
    division = divide(part, [Cut(Plane(tuple(X), 100.0)), Cut(Plane(tuple(Y), 50.0), "2")])
    assert set(seam_normals(division, division.piece("1"))) == {tuple(X)}
    assert set(seam_normals(division, division.piece("2.1"))) == {tuple(X), tuple(Y)}


def test_extra_directions_are_tried():
    # A ball less a cap rests on nothing but the cap's flat, 25° askew; its seam points there.
    ball = solid_of(trimesh.creation.icosphere(4, 50.0))
    normal = (np.sin(np.radians(25)), 0.0, np.cos(np.radians(25)))
    division = divide(ball, [Cut(Plane.through((0, 0, 0), normal))])
    upper = division.piece("2")
    row = oriented(upper, Costs(ball, PRINTER), seam_normals(division, upper))
    assert row.up == pytest.approx(normal, abs=1e-6)
    assert row.overhang.contact_area == pytest.approx(np.pi * 50**2, rel=0.01)


def quarter():
    """A quarter of a bowl: no way up is free of support."""
    bowl = trimesh.creation.icosphere(3, 70.0)
    hollow = solid_of(bowl).difference(solid_of(trimesh.creation.icosphere(3, 62.0)))
    half = hollow.split(Plane.through((0, 0, 0), Z))[0]
    return half.split(Plane.through((0, 0, 0), (1, 1, 0)))[0]


@pytest.mark.parametrize("shape", [t_shape, mushroom, cone, arch, l_shape, quarter])
@pytest.mark.parametrize("seed", [0, 1])
def test_the_best_of_all_directions_is_found(shape, seed):
    """Against measuring every one of the directions that are looked at."""
    part, _ = turned(shape(), seed)
    costs = Costs(part, Printer(bed=Bed.rectangle(420, 420, 420)))
    piece = Piece("1", 1, part)
    prices = [
        costs.of_print(measure_piece(piece, tuple(up), costs.printer))
        for up in print_directions(part)
        if bed_fit(part, up, costs.printer.bed).fits
    ]
    assert len(prices) >= 6
    found = costs.of_print(oriented(piece, costs, ()))
    assert found == pytest.approx(min(prices), abs=2e-3)
    assert max(prices) > min(prices) + 0.05


@pytest.mark.parametrize("shape", [mushroom, cone])
def test_the_cost_of_a_direction_is_what_it_adds_to_the_plan_score(shape):
    solid = shape()
    piece, scores, costs = Piece("1", 1, solid), [], []
    for up in (Z, -Z):
        row = measure_piece(piece, tuple(up), PRINTER)
        scores.append(scorecard(Figures(solid, PRINTER, (row,), (), True)).total)
        costs.append(Costs(solid, PRINTER).of_print(row))
    assert costs[1] - costs[0] == pytest.approx(scores[1] - scores[0])
    assert abs(costs[1] - costs[0]) > 0.1


def test_weights_count():
    # Upright, a tall T hangs over below both arms; upside down nothing does. Flat it lies low.
    part = t_shape()
    low = oriented(Piece("1", 1, part), Costs(part, PRINTER, {"print time": 50.0}), ())
    assert abs(low.up[1]) == pytest.approx(1)
    # When nothing counts, the lowest print is taken all the same.
    weightless = Costs(part, PRINTER, {"overhang area": 0.0, "support volume": 0.0})
    assert oriented(Piece("1", 1, part), weightless, ()).fit.height == pytest.approx(20)


def test_always_the_same():
    part, _ = turned(mushroom(), 1)
    assert chosen(part).up == chosen(Solid.from_arrays(part.vertices, part.faces)).up


def test_support_is_measured_as_finely_as_asked():
    row = chosen(quarter(), resolution=3.0)
    assert row.support.resolution == 3.0
