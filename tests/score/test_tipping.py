"""How far prints may be tilted before they fall over."""

import numpy as np
import pytest
import trimesh

from splitplanner.score import tipping_angle
from splitplanner.solid import Solid

UP = (0.0, 0.0, 1.0)


@pytest.mark.parametrize(("width", "depth", "height"), [(20, 30, 40), (100, 80, 3), (5, 5, 200)])
def test_a_block_falls_over_its_shorter_side(width, depth, height):
    block = Solid.box((width, depth, height), (-7, 3, 11))
    expected = np.degrees(np.arctan(min(width, depth) / height))
    assert tipping_angle(block, UP) == pytest.approx(expected, rel=1e-9)


def test_it_does_not_matter_where_a_print_stands_or_how_it_is_turned():
    block = Solid.box((20, 30, 40))
    matrix = trimesh.transformations.rotation_matrix(1.0, (0.3, 1.0, 0.5), (3, 1, 2))
    found = tipping_angle(block.transformed(matrix), matrix[:3, 2])
    assert found == pytest.approx(np.degrees(np.arctan(20 / 40)), rel=1e-9)


def test_a_cone_on_its_base_has_its_centre_a_quarter_up():
    # The base is a polygon of 96 sides, whose edges are a little nearer than its corners.
    cone = trimesh.creation.cone(30.0, 80.0, sections=96)
    found = tipping_angle(Solid.from_arrays(cone.vertices, cone.faces), UP)
    expected = np.degrees(np.arctan(30 * np.cos(np.pi / 96) / 20))
    assert found == pytest.approx(expected, rel=1e-6)


def test_a_point_holds_nothing():
    cone = trimesh.creation.cone(30.0, 80.0, sections=96)
    found = tipping_angle(Solid.from_arrays(cone.vertices, cone.faces), (0, 0, -1))
    assert found == pytest.approx(0.0, abs=1e-6)


def test_what_leans_beyond_its_foot_falls_by_itself():
    # A foot of 10 x 10 and a slab on it that reaches 90 to one side.
    solid = Solid.box((10, 10, 10)).union(Solid.box((100, 10, 10), (0, 0, 10)))
    middle = np.average([(5, 5), (50, 15)], axis=0, weights=[1000, 10000])
    expected = -np.degrees(np.arctan((middle[0] - 10) / middle[1]))
    assert tipping_angle(solid, UP) == pytest.approx(expected, rel=1e-9)
    with pytest.raises(ValueError, match="length"):
        tipping_angle(solid, (0, 0, 0))
