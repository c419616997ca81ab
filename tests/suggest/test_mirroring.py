"""Planes of symmetry, on shapes where they are plain to see."""

import numpy as np
import pytest
from scipy.spatial.transform import Rotation

from splitplanner.plan import Cut, divide
from splitplanner.solid import Plane, Solid
from splitplanner.suggest.mirroring import (
    Mirror,
    is_mirrored,
    is_own_image,
    is_own_image_in_any,
)
from tests.suggest.shapes import survey_of, u_shape

X, Y, Z = np.eye(3)


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
