"""How far prints may be tilted before they fall over."""

import numpy as np
import pytest
import trimesh

from splitplanner.score import tipping_angle
from splitplanner.score.ranking_terms import unsteady
from splitplanner.score.tipping import BRIM, tipping_with_brim
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


@pytest.mark.parametrize("lean", [0.0, 0.4, 1.0])
def test_a_brim_is_a_foot_that_is_wider_all_round(lean):
    # A block of 20 x 30 x 60, sheared so that its top stands out by `lean` times its height, beside
    # the same on a sheet of 0.01 mm that reaches 5 mm farther on all sides.
    shear = np.eye(4)
    shear[0, 2] = lean
    block = Solid.box((20, 30, 60)).transformed(shear)
    sheet = Solid.box((20 + 2 * BRIM, 30 + 2 * BRIM, 0.01), (-BRIM, -BRIM, 0))
    bare = tipping_angle(block, UP)
    assert bare == pytest.approx(np.degrees(np.arctan2(10 - 30 * lean, 30)), rel=1e-9)
    expected = tipping_angle(block.union(sheet), UP)
    assert tipping_with_brim(bare, 30.0) == pytest.approx(expected, abs=0.03)


@pytest.mark.parametrize(
    ("inside", "middle", "expected"),
    [
        # 0.1 for the brim as far as a tilt is missing, and what is missing with it, of 10 degrees:
        # atan(12.5 / 100) = 7.13, with the brim atan(17.5 / 100) = 9.93.
        (12.5, 100.0, 0.1 * (1 - 0.7125) + (1 - 0.9926)),
        # Firm by itself, or nearly: atan(20 / 100) = 11.3; atan(7 / 40) = 9.93, with the brim 16.7.
        (20.0, 100.0, 0.0),
        (7.0, 40.0, 0.1 * (1 - 0.9926)),
        # On a point: a low print stands on its brim, atan(5 / 20) = 14.0, a tall one does not.
        (0.0, 20.0, 0.1),
        (0.0, 200.0, 0.1 + (1 - 0.1432)),
        # Its centre just over the edge of the brim; and far outside.
        (-5.0, 50.0, 1.1),
        (-80.0, 50.0, 2.1),
    ],
)
def test_what_a_brim_holds_is_nearly_as_good_as_firm(inside, middle, expected):
    tip = np.degrees(np.arctan2(inside, middle))
    assert unsteady(tip, middle) == pytest.approx(expected, abs=2e-4)


def test_the_more_firmly_it_stands_the_less_unsteady_it_is():
    for middle in (5.0, 50.0, 150.0):
        found = [unsteady(tip, middle) for tip in np.linspace(-80, 80, 321)]
        assert found == sorted(found, reverse=True)
        # No steps: half a degree is little more than one with the brim, a tenth of `FIRM`.
        assert max(-np.diff(found)) < 0.12
