"""Blocks: known without being cut, against really cutting."""

import numpy as np
import pytest
import trimesh
from scipy.spatial import ConvexHull
from scipy.spatial.transform import Rotation

from splitplanner.plan import Cut, divide
from splitplanner.solid import Plane, Solid
from splitplanner.suggest.estimate import blocks as blocks_module
from splitplanner.suggest.estimate.blocks import Block
from splitplanner.suggest.estimate.ground import Ground
from splitplanner.suggest.estimate.walls import Wall
from tests.catalogue import solid_of, turned
from tests.suggest.shapes import PRINTER, cross, demo, l_shape, square_ring, survey_of, u_shape

X, Y, Z = (1.0, 0.0, 0.0), (0.0, 1.0, 0.0), (0.0, 0.0, 1.0)


def ground_of(solid):
    return Ground(solid, np.zeros(len(solid.faces), dtype=bool), PRINTER)


def ring():
    outer = Solid.cylinder((0, 0, 0), (0, 0, 60), 120.0, 400)
    return outer.difference(Solid.cylinder((0, 0, -1), (0, 0, 61), 100.0, 400))


def torus():
    return solid_of(trimesh.creation.torus(80.0, 25.0, major_sections=60, minor_sections=30))


def comb():
    """A bar with five teeth: cuts through them leave many bodies."""
    teeth = [Solid.box((20, 80, 30), (60 * k, 0, 0)) for k in range(5)]
    return Solid.box((260, 20, 30)).union(*teeth)


def hollow():
    """A ball with an empty ball inside: two surfaces, one body."""
    balls = [trimesh.creation.icosphere(4, radius) for radius in (60.0, 40.0)]
    return solid_of(balls[0]).difference(solid_of(balls[1]))


def rain_hood():
    return demo("rain_hood")


def garden_heron():
    return demo("garden_heron")


def cargo_lid():
    return demo("cargo_lid")


SHAPES = [
    l_shape,
    u_shape,
    square_ring,
    cross,
    ring,
    torus,
    comb,
    hollow,
    rain_hood,
    garden_heron,
    cargo_lid,
]


def random_walls(solid, rng, count):
    """Planes through the box round a solid, each with a side of it."""
    low, high = solid.bounds
    walls = []
    for _ in range(count):
        normal = Rotation.random(random_state=rng).as_matrix()[0]
        if rng.random() < 0.5:
            normal = np.eye(3)[rng.integers(3)]
        # Not on a grid, so that no plane passes along an edge.
        point = low + (high - low) * rng.uniform(0.137, 0.863, 3)
        walls.append(Wall(Plane.through(point, normal), int(rng.choice([-1, 1]))))
    return tuple(walls)


def random_blocks(shape, count, seed):
    solid, rng = shape(), np.random.default_rng(seed)
    ground = ground_of(solid)
    return [Block(ground, random_walls(solid, rng, 1 + k % 4)) for k in range(count)]


def name_of(shape):
    return shape.__name__


# -- extent ---------------------------------------------------------------------------------------
@pytest.mark.parametrize("shape", SHAPES, ids=name_of)
def test_points_have_the_hull_of_the_cut_block(shape):
    looked_at = 0
    for block in random_blocks(shape, 12, seed=3):
        cut = block.solid
        if cut is None or block.is_empty:
            assert cut is None or cut.volume < 1e-3
            continue
        # trimesh's hull of the cut block's corners.
        hull = trimesh.convex.convex_hull(cut.vertices)
        assert ConvexHull(block.points).volume == pytest.approx(hull.volume, rel=1e-6)
        np.testing.assert_allclose(
            [block.points.min(axis=0), block.points.max(axis=0)], cut.bounds, atol=1e-5
        )
        looked_at += 1
    assert looked_at >= 6


def test_the_whole_has_its_own_points():
    part = l_shape()
    assert Block(ground_of(part), ()).points is part.vertices


def test_a_block_inside_massive_material_has_its_corners():
    # Six walls leave a box of 20 x 30 x 40 of which no surface and no edge of the part is left.
    ground = ground_of(Solid.box((200, 200, 200)))
    walls = [
        Wall(Plane(axis, offset), side)
        for axis, low, high in ((X, 50, 70), (Y, 60, 90), (Z, 80, 120))
        for offset, side in ((low, 1), (high, -1))
    ]
    block = Block(ground, tuple(walls))
    np.testing.assert_allclose(np.unique(block.points, axis=0).min(axis=0), (50, 60, 80))
    np.testing.assert_allclose(np.unique(block.points, axis=0).max(axis=0), (70, 90, 120))
    assert ConvexHull(block.points).volume == pytest.approx(20 * 30 * 40)
    assert not block.is_empty
    assert block.bodies == (block,)
    # Askew, three walls meet in one corner inside.
    sides = [
        Plane.through((100, 100, 100), normal) for normal in ((1, 1, 0), (1, -1, 0), (0, 1, 1))
    ]
    block = Block(ground, tuple(Wall(side, 1) for side in sides))
    assert np.isclose(block.points, 100).all(axis=1).any()


def test_corners_outside_the_material_are_not_points():
    # The three walls meet in the ring's hole.
    ground = ground_of(square_ring())
    walls = [Wall(Plane(X, 200.0), 1), Wall(Plane(Y, 200.0), 1), Wall(Plane(Z, 10.0), 1)]
    points = Block(ground, tuple(walls)).points
    assert not np.isclose(points, (200, 200, 10)).all(axis=1).any()
    assert np.isclose(points, (370, 200, 10)).all(axis=1).any()


def test_what_is_empty():
    ground = ground_of(Solid.box((100, 100, 100)))
    beyond = Block(ground, (Wall(Plane(X, 200.0), 1),))
    on_the_face = Block(ground, (Wall(Plane(X, 100.0), 1),))
    film = Block(ground, (Wall(Plane(X, 100.0 - 1e-5), 1),))
    thin = Block(ground, (Wall(Plane(X, 99.9), 1),))
    assert [block.is_empty for block in (beyond, on_the_face, film, thin)] == [
        True,
        True,
        True,
        False,
    ]
    below, above = Block(ground, ()).cut(Plane(X, 100.0))
    assert not below.is_empty
    assert above.is_empty


def test_surface_left_of_the_uncut_body():
    # Of a finely meshed ball about half is left on one side of its middle.
    ball = solid_of(trimesh.creation.icosphere(5, 50.0))
    half = Block(ground_of(ball), (Wall(Plane(X, 0.0), 1),))
    assert half.area == pytest.approx(2 * np.pi * 50**2, rel=0.03)
    assert Block(ground_of(ball), ()).area == pytest.approx(ball.area)


@pytest.mark.parametrize("shape", SHAPES, ids=name_of)
def test_surface_with_cut_faces(shape):
    measured = 0
    for block in random_blocks(shape, 40, seed=5):
        if block.is_empty or block.solid is None:
            continue
        assert block.surface == pytest.approx(block.solid.area, rel=1e-6, abs=1e-6)
        measured += 1
    assert measured >= 10


@pytest.mark.parametrize(
    ("walls", "area"),
    [
        # The L of 60 mm thick bars, cut off level with the inside of its foot: a wall in a face.
        ([(Y, 60.0, 1)], 4 * 60 * 340 + 2 * 60 * 60),
        ([(Y, 60.0, -1)], 2 * 400 * 60 + 2 * (400 + 60) * 60),
        ([(X, 200.0, 1)], 4 * 60 * 200 + 2 * 60 * 60),
        # A corner of 10 x 10 x 10 with no face of the part's but three.
        ([(X, 10.0, -1), (Y, 10.0, -1), (Z, 10.0, -1)], 600),
    ],
)
def test_surface_of_a_piece_of_an_l(walls, area):
    block = Block(
        ground_of(l_shape()), tuple(Wall(Plane(normal, at), side) for normal, at, side in walls)
    )
    assert block.surface == pytest.approx(area, rel=1e-9)


# -- falling apart --------------------------------------------------------------------------------
@pytest.mark.parametrize("shape", SHAPES, ids=name_of)
def test_the_quick_look_for_loose_bodies_agrees_with_cutting(shape):
    found = {True: 0, False: 0}
    for block in random_blocks(shape, 40, seed=11):
        cut = block.solid
        if cut is None or block.is_empty:
            continue
        in_one = len(cut.bodies()) == 1
        quick = block._hangs_together()
        if shape is hollow or not _has_surface(block):
            # A cavity is a surface of its own, and a block may have none: then it is really cut.
            assert in_one or not quick
        else:
            assert quick == in_one, block.walls
        found[in_one] += 1
    assert found[True] >= 10
    if shape in (u_shape, comb):
        assert found[False] >= 3


@pytest.mark.parametrize("shape", SHAPES, ids=name_of)
def test_one_cut_face_leaves_one_part_to_either_side(shape):
    rng = np.random.default_rng(5)
    told = 0
    for block in random_blocks(shape, 40, seed=12):
        if block.solid is None or block.is_empty or block.bodies != (block,):
            continue
        plane = Plane.through(block.points.mean(axis=0), rng.normal(size=3))
        for side in block.cut(plane):
            if not side.is_empty and side._was_cut_in_one_place():
                assert len(side.solid.bodies()) == 1, (block.walls, plane)
                told += 1
    assert told >= 10


def _area_in(solid, wall):
    """Area of the faces of a block that lie in a wall."""
    on_it = np.abs(wall.plane.height(solid.face_centroids)) < 1e-6
    return solid.face_areas[on_it].sum()


def _has_surface(block):
    """Whether anything of the part's surface is left."""
    faces = sum(_area_in(block.solid, wall) for wall in block.walls)
    return block.solid.area - faces > 1e-3


@pytest.mark.parametrize("small", [0, 10**9], ids=["quick look", "really cut"])
def test_bodies_are_named_as_a_plan_names_them(small, monkeypatch):
    monkeypatch.setattr(blocks_module, "_SMALL", small)
    for shape, cuts in [
        # Through both legs of the U; then across one of them.
        (u_shape, [Cut(Plane(Y, 150.0)), Cut(Plane(Y, 300.0), "2a")]),
        (u_shape, [Cut(Plane(Y, 150.0)), Cut(Plane(Y, 300.0)), Cut(Plane(X, 215.0), "1")]),
        (comb, [Cut(Plane(Y, 50.0)), Cut(Plane(Y, 30.0))]),
        (comb, [Cut(Plane.through((130, 50, 0), (0.2, 1, 0))), Cut(Plane(X, 100.0))]),
        (square_ring, [Cut(Plane(X, 200.0)), Cut(Plane(Y, 200.0))]),
        (ring, [Cut(Plane(X, 105.0)), Cut(Plane(X, -105.0))]),
        (torus, [Cut(Plane(X, 10.0)), Cut(Plane(Y, 0.0), "2"), Cut(Plane(Z, 0.0))]),
        (hollow, [Cut(Plane(X, 0.0)), Cut(Plane(Z, 0.0), "1")]),
    ]:
        part = shape()
        sketch = survey_of(part).sketch(cuts)
        pieces = divide(part, cuts).by_name
        assert set(sketch.blocks) == set(pieces)
        for name, block in sketch.blocks.items():
            solid = pieces[name].solid
            np.testing.assert_allclose(
                [block.points.min(axis=0), block.points.max(axis=0)], solid.bounds, atol=1e-5
            )
            assert ConvexHull(block.points).volume == pytest.approx(
                trimesh.convex.convex_hull(solid.vertices).volume, rel=1e-6
            )
            (body,) = block.bodies
            assert body.solid.volume == pytest.approx(solid.volume, rel=1e-9)


def test_loose_bodies_of_the_part_itself():
    part, _ = turned(Solid.box((50, 50, 50)).union(Solid.box((50, 50, 50), (100, 0, 0))), 1)
    assert set(survey_of(part).start.blocks) == {"a", "b"}


def test_a_body_that_fell_off_remembers_where():
    part = u_shape()
    sketch = survey_of(part).sketch([Cut(Plane(Y, 150.0))])
    leg = sketch.blocks["2a"]
    assert leg.walls == ()
    assert leg.before == (Wall(Plane(Y, 150.0), 1),)
    assert leg.ground.whole.solid is part
    assert not leg.ground.seen.any()
