"""Planes of symmetry, on shapes where they are plain to see."""

import numpy as np
import pytest
import trimesh
from scipy.spatial.transform import Rotation

from splitplanner.demo_parts import DEMO_PARTS
from splitplanner.plan import Cut, divide
from splitplanner.solid import Plane, Solid
from splitplanner.suggest.mirroring import (
    Mirror,
    is_mirrored,
    is_own_image,
    is_own_image_in_any,
    mirror_offset,
)
from tests.catalogue import solid_of, turned
from tests.suggest.shapes import l_shape, survey_of, u_shape

X, Y, Z = np.eye(3)


# -- of parts -------------------------------------------------------------------------------------
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


# -- of planes ------------------------------------------------------------------------------------
@pytest.mark.parametrize("seed", range(5))
def test_the_image_of_a_plane_holds_the_images_of_its_points(seed):
    rng = np.random.default_rng(seed)
    normal, across = Rotation.random(2, random_state=seed).as_matrix()[:, 0]
    mirror = Mirror(tuple(across), float(rng.uniform(-50, 50)))
    plane = Plane(tuple(normal), float(rng.uniform(-50, 50)))
    image = Plane(*mirror.image(plane.normal, plane.offset))
    points = rng.uniform(-80, 80, (40, 3))
    images = points - 2 * (points @ across - mirror.offset)[:, None] * across
    np.testing.assert_allclose(image.height(images), plane.height(points), atol=1e-9)
    again = mirror.image(image.normal, image.offset)
    np.testing.assert_allclose(again[0], plane.normal, atol=1e-9)
    assert again[1] == pytest.approx(plane.offset)


def test_a_plane_in_the_mirror_is_its_own_image():
    mirror = Mirror((1.0, 0.0, 0.0), 30.0)
    assert mirror.image((0.0, 1.0, 0.0), 12.0) == ((0.0, 1.0, 0.0), 12.0)
    assert mirror.image((1.0, 0.0, 0.0), 10.0) == ((-1.0, 0.0, 0.0), -50.0)


# -- of plans -------------------------------------------------------------------------------------
MIDDLE = Mirror((1.0, 0.0, 0.0), 200.0)


@pytest.mark.parametrize(
    ("cuts", "mirrored"),
    [
        ([Cut(Plane(tuple(X), 200.0))], True),
        ([Cut(Plane(tuple(X), 150.0))], False),
        ([Cut(Plane(tuple(X), 150.0)), Cut(Plane(tuple(X), 250.0))], True),
        # One after the other, of named pieces: the blocks are the same.
        ([Cut(Plane(tuple(X), 150.0)), Cut(Plane(tuple(X), 250.0), "2")], True),
        ([Cut(Plane(tuple(X), 150.0)), Cut(Plane(tuple(X), 252.0), "2")], False),
        ([Cut(Plane(tuple(X), 200.0)), Cut(Plane(tuple(Y), 40.0))], True),
        ([Cut(Plane(tuple(X), 200.0)), Cut(Plane(tuple(Y), 40.0), "1")], False),
        (
            [
                Cut(Plane(tuple(X), 200.0)),
                Cut(Plane(tuple(Y), 40.0), "1"),
                Cut(Plane(tuple(Y), 40.0), "2"),
            ],
            True,
        ),
        ([Cut(Plane.through((200, 50, 30), (1, 0.5, 0)))], False),
        (
            [
                Cut(Plane.through((100, 50, 30), (1, 0.5, 0))),
                Cut(Plane.through((300, 50, 30), (1, -0.5, 0))),
            ],
            True,
        ),
    ],
)
def test_plans_that_are_their_own_mirror_image(cuts, mirrored):
    survey = survey_of(Solid.box((400, 100, 60)))
    assert is_mirrored(survey.sketch(cuts), MIDDLE) == mirrored


def test_loose_bodies_are_told_apart():
    # Both legs of the U fall off at the same wall; then only one of them is cut again.
    survey, mirror = survey_of(u_shape()), Mirror((1.0, 0.0, 0.0), 215.0)
    legs = Cut(Plane(tuple(Y), 150.0))
    assert is_mirrored(survey.sketch([legs]), mirror)
    assert not is_mirrored(survey.sketch([legs, Cut(Plane(tuple(Y), 300.0), "2a")]), mirror)
    assert is_mirrored(survey.sketch([legs, Cut(Plane(tuple(Y), 300.0))]), mirror)


def test_half_millimetres_are_no_edge():
    # 150.5 and 249.5 are mirror images to within a millimetre wherever rounding puts them.
    survey = survey_of(Solid.box((400, 100, 60)))
    for off in (-0.01, 0.0, 0.01):
        cuts = [Cut(Plane(tuple(X), 150.5)), Cut(Plane(tuple(X), 249.5 + off))]
        assert is_mirrored(survey.sketch(cuts), MIDDLE)


# -- plans that were cut --------------------------------------------------------------------------
@pytest.mark.parametrize(
    ("places", "own"), [((200.0,), True), ((150.0,), False), ((100.0, 300.0), True)]
)
def test_pieces_of_a_symmetric_plan_are_each_others_images(places, own):
    part = Solid.box((400, 100, 60))
    division = divide(part, tuple(Cut(Plane(tuple(X), place)) for place in places))
    assert is_own_image(division, MIDDLE) == own
    assert is_own_image(division, Mirror(tuple(Y), 50.0))
    assert is_own_image_in_any(division, [MIDDLE]) == own
    assert not is_own_image_in_any(division, [])


def test_images_across_a_diagonal():
    part = Solid.box((200, 200, 60), (-100, -100, 0))
    half = np.sqrt(0.5)
    corners = tuple(Cut(Plane(normal, 50.0)) for normal in ((1.0, 0.0, 0.0), (0.0, 1.0, 0.0)))
    diagonal = Mirror((half, -half, 0.0), 0.0)
    assert is_own_image(divide(part, corners), diagonal)
    assert not is_own_image(divide(part, corners[:1]), diagonal)
