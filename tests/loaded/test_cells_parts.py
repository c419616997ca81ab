"""What loads, supports and braces are in cells, against closed forms and statics."""

import numpy as np
import pytest
import trimesh
from trimesh.remesh import subdivide_to_size

from splitplanner.errors import LoadError
from splitplanner.loaded.cells_braces import BraceBeam, beam_stiffness, joined_rows
from splitplanner.loaded.cells_check import check_uncut
from splitplanner.loaded.cells_loads import LoadedParts
from splitplanner.loaded.cells_spots import spot_under
from splitplanner.loaded.cells_values import percentiles_of
from splitplanner.plan import (
    LoadCase,
    Loading,
    PointLoad,
    SpreadLoad,
    Support,
    WeightLoad,
    between_clamps,
    cantilever,
    over_two_supports,
    twisted,
)
from splitplanner.solid import Solid
from splitplanner.strength import LayeredStiffness
from splitplanner.strength.cells import Assembly, embedded
from splitplanner.workshop import Material
from tests.loaded.celled import planned

SPAN, WIDTH, HEIGHT, MODULUS = 200.0, 16.0, 12.0, 2000.0
SECOND = WIDTH * HEIGHT**3 / 12.0
EVEN = Material(
    "even", 1.2, strength_xy=50.0, strength_z=50.0, stiffness_xy=2000.0, stiffness_z=2000.0
)
X = (1.0, 0.0, 0.0)
DOWN = (0.0, 0.0, -10.0)


def bar(extra=0.0):
    return Solid.box((SPAN + 2 * extra, WIDTH, HEIGHT), (-extra, -WIDTH / 2, -HEIGHT / 2))


def checked(part, case, size=8.0):
    division, plan = planned(part, material=EVEN)
    return check_uncut(division, plan, Loading(X, case), size=size)


def rigidity():
    return LayeredStiffness.of(EVEN).shear


def sliding(force, length):
    """Deflection by shear of a rectangle, 6/5 F L / G A (Timoshenko; from memory)."""
    return 1.2 * force * length / (rigidity() * WIDTH * HEIGHT)


# -- supports -------------------------------------------------------------------------------
def test_a_bar_on_two_supports_bends_as_a_beam():
    # F L³ / 48 E I and 6/5 F L / 4 G A.
    case = over_two_supports(0.0, SPAN, PointLoad(SPAN / 2, DOWN))
    found = checked(bar(5.0), case)
    bent = 10.0 * SPAN**3 / (48 * MODULUS * SECOND) + sliding(10.0, SPAN / 4)
    assert found.sag == pytest.approx(bent, rel=0.02)
    # It has no corner where it moves most, and its surface is divided.
    assert found.deflection == pytest.approx(bent, rel=0.03)
    # Whichever way round.
    case = over_two_supports(0.0, SPAN, PointLoad(SPAN / 2, (0.0, 0.0, 10.0)))
    assert checked(bar(5.0), case).sag == pytest.approx(found.sag, rel=1e-3)


@pytest.mark.parametrize("size", [10.0, 9.0, 8.0, 7.0])
def test_a_cantilever_bends_as_a_beam(size):
    # The clamp holds a band of 10 mm, of which half is beside its station; with most sizes of cells
    # its ends are within a cell.
    found = checked(bar(5.0), cantilever(0.0, PointLoad(SPAN, DOWN)), size)
    free = SPAN - 5.0
    bent = 10.0 * free**3 / (3 * MODULUS * SECOND) + sliding(10.0, free)
    assert found.sag == pytest.approx(bent, rel=0.01)


def test_a_bar_between_clamps_bends_as_a_beam():
    # F L³ / 192 E I; the second clamp may slide along the bar, and holds it from tilting.
    found = checked(bar(5.0), between_clamps(0.0, SPAN, PointLoad(SPAN / 2, DOWN)))
    free = SPAN - 10.0
    bent = 10.0 * free**3 / (192 * MODULUS * SECOND) + sliding(10.0, free / 4)
    assert found.sag == pytest.approx(bent, rel=0.02)


def test_a_bar_twists_as_a_rectangle():
    # T L / G J with J = 0.196 b h³ at b / h = 4/3 (Roark's table between 1.2 and 1.5; here by the
    # series, 0.178): the mean of warped ends turns a little less.
    ratio = WIDTH / HEIGHT
    series = sum(np.tanh(n * np.pi * ratio / 2) / n**5 for n in (1, 3, 5, 7))
    constant = WIDTH * HEIGHT**3 / 3 * (1 - 192 / (np.pi**5 * ratio) * series)
    found = checked(bar(5.0), twisted(0.0, SPAN, 1000.0, X))
    turn = 1000.0 * (SPAN - 5.0) / (rigidity() * constant)
    assert found.sag == pytest.approx(turn, rel=0.04)


def test_what_slides_is_refused():
    case = LoadCase("slides", (Support.rolling(0.0), Support.rolling(SPAN)), (PointLoad(50.0, X),))
    with pytest.raises(LoadError, match="move freely"):
        checked(bar(5.0), case)
    with pytest.raises(LoadError, match="nothing of the part"):
        checked(bar(5.0), cantilever(-50.0, PointLoad(50.0, DOWN)))


# -- loads ----------------------------------------------------------------------------------
def total_of(load, parts=None):
    """Force and moment about the origin of what acts on the cells."""
    solids = parts or (bar(),)
    models = tuple(embedded(solid, LayeredStiffness.of(EVEN), size=8.0) for solid in solids)
    assembly = Assembly(models, ())
    forces = LoadedParts(assembly, Loading(X, cantilever(0.0, load))).forces().reshape(-1, 3)
    places = np.vstack([model.grid.places for model in models])
    return forces.sum(axis=0), np.cross(places, forces).sum(axis=0)


@pytest.mark.parametrize(
    ("load", "force", "at"),
    [
        (PointLoad(120.0, DOWN), DOWN, (120, 0, 0)),
        (PointLoad(120.0, DOWN, at=(0.0, 5.0, 3.0)), DOWN, (120, 5, 0)),
        (PointLoad(120.0, (3.0, -8.0, -4.0)), (3, -8, -4), (120, 0, 0)),
        # Beside the bar: it acts all the same, as a force and a couple.
        (PointLoad(120.0, DOWN, at=(0.0, 40.0, 0.0)), DOWN, (120, 40, 0)),
        (SpreadLoad(40.0, 140.0, DOWN), DOWN, (90, 0, 0)),
        (WeightLoad(DOWN), DOWN, (SPAN / 2, 0, 0)),
    ],
)
def test_loads_have_their_force_and_moment(load, force, at):
    found, moment = total_of(load)
    assert found == pytest.approx(force, abs=1e-9)
    assert moment == pytest.approx(np.cross(at, force), abs=0.02 * 10)


def test_couples_have_no_force():
    found, moment = total_of(PointLoad(120.0, moment=(300.0, -20.0, 5.0)))
    assert found == pytest.approx(0.0, abs=1e-9)
    assert moment == pytest.approx((300.0, -20.0, 5.0), abs=1e-6)


def test_a_force_presses_on_the_pieces_that_it_meets():
    lower, upper = bar(), bar().transformed(np.hstack([np.eye(3), [[0.0], [0.0], [30.0]]]))
    at, down = np.array([100.0, 0.0, 0.0]), np.array([0.0, 0.0, -1.0])
    (spot,) = spot_under([lower, upper], at, down)
    assert spot.piece == 1
    assert spot.points[:, 2] == pytest.approx(36.0)
    # Round, of 20 mm, as far as the bar goes.
    assert np.hypot(*(spot.points - at)[:, :2].T).max() == pytest.approx(9.0)
    assert np.abs(spot.points[:, 1]).max() <= WIDTH / 2
    (spot,) = spot_under([lower, upper], at, -down)
    assert spot.piece == 0
    assert spot.points[:, 2] == pytest.approx(-6.0)
    halves = Solid.box((50, 20, 5), (0, -10, 0)), Solid.box((50, 20, 5), (50, -10, 0))
    spots = spot_under(halves, np.array([50.0, 0.0, 0.0]), down)
    assert [each.piece for each in spots] == [0, 1]
    assert spot_under(halves, np.array([50.0, 90.0, 0.0]), down) == []


# -- braces ---------------------------------------------------------------------------------
def test_a_strip_bends_as_timoshenko_says_both_ways():
    # Clamped at its start: F L³ / 3 E I + 6/5 F L / G A; pulled F L / E A.
    depth, stock, length = 20.0, 3.0, 90.0
    soft = np.linalg.inv(beam_stiffness(length, depth, stock, 70_000.0)[6:, 6:])
    area, rigid = depth * stock, 70_000.0 / 2.66
    for way, second in ((1, stock * depth**3 / 12), (2, depth * stock**3 / 12)):
        expected = length**3 / (3 * 70_000.0 * second) + 1.2 * length / (rigid * area)
        assert soft[way, way] == pytest.approx(expected)
    assert soft[0, 0] == pytest.approx(length / (70_000.0 * area))


def strip(bend=0.0, springs=1e9, aside=0.0):
    """Three bolts on a strip of 20 x 3 along x; the one in the middle lies higher by `bend`."""
    along = np.linspace(0.0, 160.0, 17)
    rise = bend * (1.0 - np.abs(along - 80.0) / 80.0)
    nodes = np.column_stack([along, rise])
    return BraceBeam(
        "strip", nodes, nodes[[0, 8, 16]] - [0.0, aside], np.array([0, 8, 16]), 20.0, 3.0, 70_000.0,
        np.full((3, 3), springs), np.eye(3),
    )  # fmt: skip


def test_a_strip_on_three_bolts_holds_as_a_beam_on_two_supports():
    # 48 E I / L³ with shear, F L / 4 by 6/5 / G A: pushed in the middle in its sheet.
    beam = strip()
    moved = np.zeros((3, 3))
    moved[1, 1] = 1.0
    second, rigid = 3.0 * 20.0**3 / 12, 70_000.0 / 2.66
    soft = 160.0**3 / (48 * 70_000.0 * second) + 1.2 * 160.0 / (4 * rigid * 60.0)
    forces = (beam.felt @ moved.ravel()).reshape(3, 3)
    assert forces[1, 1] == pytest.approx(1.0 / soft, rel=1e-3)
    assert forces[[0, 2], 1] == pytest.approx(-0.5 / soft, rel=1e-3)
    ends = beam.ends(moved)
    assert np.abs(ends[..., 5]).max() == pytest.approx(160.0 / 4 / soft, rel=1e-3)
    # M / W in the middle.
    assert beam.stress(ends).max() == pytest.approx(40.0 / soft / (3.0 * 400.0 / 6), rel=1e-3)


def test_a_strip_that_moves_as_a_whole_feels_nothing():
    beam = strip(bend=30.0, springs=2e3, aside=4.0)
    points = np.column_stack([beam.bolts, np.zeros(3)])
    for way in np.eye(3):
        for moved in (np.tile(way, (3, 1)), np.cross(way, points)):
            assert beam.felt @ moved.ravel() == pytest.approx(0.0, abs=1e-5)
    rows = joined_rows([beam], [4], 20)
    assert rows.rows.T @ (rows.springs[:, None] * rows.rows) == pytest.approx(
        np.pad(beam.felt, (4, 7)), abs=1e-5
    )
    assert len(rows.springs) <= 3


# -- surfaces --------------------------------------------------------------------------------
def test_a_coarse_surface_is_divided_and_stays_what_it_is():
    case = cantilever(0.0, PointLoad(SPAN, DOWN))
    part = bar(5.0).difference(Solid.cylinder((50.0, 0.0, -20.0), (50.0, 0.0, 20.0), 4.0))
    (piece,) = checked(part, case).pieces
    assert piece.moved.shape == piece.vertices.shape
    assert piece.share.shape == (len(piece.faces),)
    mesh = trimesh.Trimesh(piece.vertices, piece.faces, process=False)
    assert mesh.is_watertight
    assert mesh.volume == pytest.approx(part.volume)
    assert mesh.area == pytest.approx(part.face_areas.sum())
    assert mesh.edges_unique_length.max() < np.sqrt(3) * 8.0
    # Bent, its top takes most where it is held, and less and less from there on.
    along, up = mesh.triangles_center[:, 0], mesh.triangles_center[:, 2]
    top = up > HEIGHT / 2 - 1e-6
    near, far = (piece.share[top & (along > x) & (along < x + 8.0)].mean() for x in (60.0, 120.0))
    # σ = M / W.
    assert near / far == pytest.approx((SPAN - 64.0) / (SPAN - 124.0), rel=0.1)


def test_a_surface_of_faces_smaller_than_cells_is_left_as_it_is():
    vertices, faces = subdivide_to_size(bar().vertices, bar().faces, 6.0, max_iter=9)
    welded = trimesh.Trimesh(vertices, faces)
    part = Solid.from_arrays(welded.vertices, welded.faces)
    (piece,) = checked(part, cantilever(0.0, PointLoad(SPAN, DOWN))).pieces
    assert len(piece.faces) == len(part.faces)
    assert len(piece.share) == len(part.faces)


# -- percentiles ----------------------------------------------------------------------------
def test_percentiles_count_area():
    share = np.array([0.2, 0.9, 0.1, 0.5])
    assert percentiles_of(share, np.array([50.0, 0.5, 47.0, 2.5])) == (0.2, 0.5)
    assert percentiles_of(share, np.ones(4)) == (0.9, 0.9)
