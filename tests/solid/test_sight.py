"""Lines of sight past solids of known shape."""

import gc

import numpy as np
import pytest

from splitplanner.solid import Sight, Solid
from splitplanner.solid import sight as module

X, NONE = np.array([[1.0, 0.0, 0.0]]), np.zeros((1, 3))


def test_a_ray_is_open_until_it_meets_the_box():
    sight = Sight.of(Solid.box((10, 20, 30), (100, 0, 0)))
    eye = np.array([[40.0, 7.0, 11.0]])
    assert sight.is_open(eye, NONE, -X).tolist() == [True]
    assert sight.is_open(eye, NONE, X).tolist() == [False]
    # 60 mm of air up to the box.
    for reach, is_open in ((59.9, True), (60.1, False)):
        assert sight.is_open(eye, NONE, X, np.array([reach])).tolist() == [is_open]


def test_the_first_face_and_how_far_it_is():
    box = Solid.box((10, 20, 30), (100, 0, 0))
    sight = Sight.of(box)
    points = np.array([[40.0, 7.0, 11.0], [105.0, 7.0, 11.0], [40.0, 77.0, 11.0]])
    distance, face = sight.first(points, np.zeros((3, 3)), np.tile(X, (3, 1)))
    np.testing.assert_allclose(distance, [60, 5, np.inf], rtol=0, atol=1e-4)
    # From outside it meets the low side, from inside the high one, and past it nothing.
    assert face[2] == -1
    np.testing.assert_allclose(box.face_normals[face[:2]], [[-1, 0, 0], [1, 0, 0]], atol=1e-12)


def test_a_ray_that_starts_on_a_face_does_not_meet_it():
    box = Solid.box((10, 20, 30))
    sight = Sight.of(box)
    on = np.array([[10.0, 7.0, 11.0]])
    assert sight.is_open(on, X, X).tolist() == [True]
    assert sight.off == pytest.approx(box.size / 20_000)
    distance, _ = sight.first(on, -X, -X)
    # Told from the point itself, not from where the ray starts.
    assert distance == pytest.approx([10.0], abs=1e-4)


def test_it_is_made_once_and_forgotten_with_its_solid():
    gc.collect()
    before = len(module._KNOWN)
    box = Solid.box((10, 20, 30))
    assert Sight.of(box) is Sight.of(box)
    assert len(module._KNOWN) == before + 1
    del box
    gc.collect()
    assert len(module._KNOWN) == before
