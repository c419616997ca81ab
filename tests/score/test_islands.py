"""Islands of prints whose sections are known."""

import numpy as np
import pytest
import trimesh

from splitplanner.demo_parts import DEMO_PARTS
from splitplanner.score.islands import MOST_LAYERS, islands, layer_count, printed_layers
from splitplanner.solid import Solid

X, UP, DOWN = (1.0, 0.0, 0.0), (0.0, 0.0, 1.0), (0.0, 0.0, -1.0)
WIDTH = 0.45


@pytest.fixture(scope="module")
def table():
    """A plate 100 x 100 x 10 mm on four legs 10 x 10 x 30 mm."""
    plate = Solid.box((100, 100, 10), (0, 0, 30))
    return plate.union(*(Solid.box((10, 10, 30), (x, y, 0)) for x in (0, 90) for y in (0, 90)))


def test_a_block_has_one_island_in_every_layer():
    found = islands(Solid.box((30, 30, 50)), UP, 0.2, WIDTH)
    assert (found.layers, found.looked_at) == (250, MOST_LAYERS)
    assert (found.crossings, found.most) == (0, 1)


@pytest.mark.parametrize("up", [UP, DOWN])
def test_each_layer_of_four_legs_takes_three_crossings(table, up):
    # 60 layers of legs and 20 of the plate, all of them looked at.
    found = islands(table, up, 0.5, WIDTH)
    assert (found.layers, found.looked_at) == (80, 80)
    assert (found.crossings, found.most) == (60 * 3, 4)


def test_layers_that_are_not_looked_at_are_scaled_up(table):
    # Three quarters of 400 layers, and of the 120 of them that are looked at.
    found = islands(table, UP, 0.1, WIDTH)
    assert (found.layers, found.looked_at) == (400, 120)
    assert found.crossings == pytest.approx(300 * 3, rel=1e-12)


def test_legs_that_lie_flat_are_no_islands(table):
    # On its side every layer of the table is the plate, with legs on it or without.
    assert islands(table, X, 0.5, WIDTH).crossings == 0


def test_a_tube_is_one_island_and_its_void_none():
    tube = Solid.box((30, 30, 50)).difference(Solid.box((20, 20, 60), (5, 5, -5)))
    assert islands(tube, UP, 0.5, WIDTH).crossings == 0
    # Within the void a post stands for itself.
    post = Solid.box((5, 5, 20), (12, 12, 0)).union(Solid.box((30, 30, 5), (0, 0, -5)))
    assert islands(tube.union(post), UP, 0.5, WIDTH).crossings == 20 / 0.5


def test_a_standing_ring_is_two_islands_as_high_as_its_hole():
    # The section of a torus by a plane along its axis is one oval from R - r on, two below it
    # (the spiric sections of Perseus); R = 40 and r = 10 mm: the hole is 60 mm high.
    ring = trimesh.creation.torus(40.0, 10.0, major_sections=180, minor_sections=60)
    found = islands(Solid.from_arrays(ring.vertices, ring.faces), X, 0.2, WIDTH)
    assert found.layers == 500
    step = found.layers / found.looked_at
    assert found.crossings == pytest.approx(60 / 0.2, abs=2 * step)
    assert found.most == 2


def test_islands_of_a_heron_are_those_of_the_sections_of_trimesh():
    solid = DEMO_PARTS["garden_heron"].make(5000)
    mesh = trimesh.Trimesh(solid.vertices, solid.faces, process=False)
    height = float(np.ptp(solid.vertices[:, 2]))
    layer = height / 15
    count = 0
    for k in range(15):
        at = solid.vertices[:, 2].min() + (k + 0.5) * layer
        # The heron is solid, so no outline is a hole.
        count += len(mesh.section(plane_origin=(0, 0, at), plane_normal=UP).discrete) - 1
    assert count > 3
    assert islands(solid, UP, layer, WIDTH).crossings == count


@pytest.mark.parametrize(("side", "counted"), [(0.3, 0), (0.45, 20)])
def test_what_is_thinner_than_a_dot_of_the_line_is_not_printed(side, counted):
    # A whisker of square section joined to a block by an arch; a dot of 0.45 mm has 0.159 mm².
    block = Solid.box((20, 20, 10)).union(Solid.box((40, 20, 2), (0, 0, 10)))
    whisker = Solid.box((side, side, 10), (30, 10, 0))
    assert islands(block.union(whisker), UP, 0.5, WIDTH).crossings == counted


def test_rounding_makes_no_layer_more():
    # 0.6 / 0.2 is a little under 3 and 0.3 / 0.1 a little over it.
    assert [layer_count(h, lh) for h, lh in ((0.6, 0.2), (0.3, 0.1), (0.61, 0.2))] == [3, 3, 4]
    assert layer_count(0.05, 0.2) == 1


def test_wrong_layers_and_directions_are_refused():
    with pytest.raises(ValueError, match="above 0 mm"):
        islands(Solid.box((1, 1, 1)), UP, 0.0, WIDTH)
    with pytest.raises(ValueError, match="length"):
        islands(Solid.box((1, 1, 1)), (0, 0, 0), 0.2, WIDTH)


def test_layers_that_are_remembered_are_those_of_the_direction_and_the_line(table):
    # On its side the plate holds the legs together in each layer.
    first = islands(table, UP, 0.5, WIDTH)
    on_its_side = islands(table, X, 0.5, WIDTH)
    assert (first.most, on_its_side.most) == (4, 1)
    assert islands(table, UP, 0.5, WIDTH) == first
    # A line wider than the legs prints none of them.
    assert islands(table, UP, 0.5, 30.0).most == 1
    fresh = printed_layers(table, UP, 0.5, WIDTH, MOST_LAYERS)
    assert islands(table, UP, 0.5, WIDTH, fresh) == first
