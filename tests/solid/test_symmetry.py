"""Planes of symmetry of solids, and frames of round ones, where they are plain to see."""

import numpy as np
import pytest
import trimesh
from scipy.spatial.transform import Rotation

from splitplanner.demo_parts import DEMO_PARTS
from splitplanner.solid import Solid, axes_of_form, mirror_offset
from tests.catalogue import solid_of, turned
from tests.suggest.shapes import l_shape, u_shape

X, Y, Z = np.eye(3)


def test_a_box_is_symmetric_across_each_side():
    part = Solid.box((400, 100, 60), (10, 20, 30))
    assert [mirror_offset(part, axis) for axis in (X, Y, Z)] == pytest.approx([210, 70, 60])
    assert mirror_offset(part, -X) == pytest.approx(-210)
    # A plane halves the box in any direction, but does not mirror it.
    assert mirror_offset(part, np.array([0.6, 0.8, 0.0])) is None


def test_an_l_is_symmetric_across_its_diagonal_and_its_thickness():
    part = l_shape()
    assert mirror_offset(part, Z) == pytest.approx(30)
    assert mirror_offset(part, X) is None
    assert mirror_offset(part, Y) is None
    assert mirror_offset(part, (X - Y) / np.sqrt(2)) == pytest.approx(0, abs=1e-9)
    assert mirror_offset(part, (X + Y) / np.sqrt(2)) is None


def test_symmetry_goes_with_the_part():
    part, turn = turned(u_shape(), 4)
    before = u_shape().bounds.mean(axis=0)
    middle = turn @ before + (110, -70, 33)
    assert mirror_offset(part, turn @ X) == pytest.approx(float(turn @ X @ middle))
    assert mirror_offset(part, turn @ Y) is None


def test_what_looks_the_same_in_outline_need_not_be_symmetric():
    # A box with a pit near one end below and near the other above: turned by half a turn about y
    # it is the same, so that its sections have the same areas, but it is no mirror image.
    pits = [Solid.box((60, 60, 30), (20, 20, -5)), Solid.box((60, 60, 30), (320, 20, 35))]
    part = Solid.box((400, 100, 60)).difference(*pits)
    assert mirror_offset(part, X) is None
    assert mirror_offset(part, Y) == pytest.approx(50)


def test_coarse_facets_need_not_be_symmetric():
    # A prism of 23 sides has no plane of symmetry across x, but stands for a cylinder.
    turn = Rotation.from_euler("z", 3, degrees=True).as_matrix()
    mesh = trimesh.creation.cylinder(50.0, 100.0, sections=48)
    part = solid_of(mesh).transformed(np.column_stack([turn, np.zeros(3)]))
    assert mirror_offset(part, X) == pytest.approx(0, abs=0.1)


def test_demonstration_parts():
    # The hood is made symmetric across x or y, the heron is not symmetric lengthwise.
    hood = DEMO_PARTS["rain_hood"].make(5_000)
    assert sum(mirror_offset(hood, axis) is not None for axis in (X, Y)) >= 1
    heron = DEMO_PARTS["garden_heron"].make(5_000)
    assert mirror_offset(heron, heron.long_axis) is None


@pytest.mark.parametrize("seed", [1, 2])
def test_a_round_part_that_is_turned_lies_along_its_planes_of_symmetry(seed):
    hood = DEMO_PARTS["rain_hood"].make(5_000)
    assert np.array_equal(axes_of_form(hood), np.eye(3))
    part, turn = turned(hood, seed)
    axes = axes_of_form(part)
    assert axes @ axes.T == pytest.approx(np.eye(3), abs=1e-12)
    assert np.linalg.det(axes) == pytest.approx(1.0)
    # It is alike left and right along y; how it lies across that is not told by symmetry.
    assert np.abs(axes @ turn @ Y).max() == pytest.approx(1.0, abs=1e-4)


def test_flats_go_before_symmetry():
    part, turn = turned(u_shape(), 3)
    assert np.sort(np.abs(axes_of_form(part) @ turn), axis=0) == pytest.approx(
        np.sort(np.eye(3), axis=0), abs=1e-9
    )


def test_a_part_without_either_stays_along_the_axes_of_the_frame():
    bent = Solid.cylinder((0, 0, 0), (30, 80, 200), 25.0).union(
        Solid.cylinder((0, 0, 0), (90, -20, 40), 18.0), Solid.cylinder((0, 0, 0), (-40, 90, 0), 9.0)
    )
    assert np.array_equal(axes_of_form(bent), np.eye(3))
