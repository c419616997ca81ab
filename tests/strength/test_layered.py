"""Layered materials. Expected values: closed forms and limits, named at each check."""

import math

import numpy as np
import pytest
from scipy.spatial.transform import Rotation

from splitplanner.errors import WorkshopError
from splitplanner.strength import (
    LayeredStiffness,
    LayeredStrength,
    bar_stress,
    turned_compliance,
)
from splitplanner.workshop import Material

STIFF = LayeredStiffness(2000.0, 1500.0, 600.0)
STRONG = LayeredStrength(50.0, 30.0, 18.0)
UP = (0.0, 0.0, 1.0)


def at(degrees):
    """A direction that rises so much from the layers."""
    return math.cos(math.radians(degrees)), 0.0, math.sin(math.radians(degrees))


def voigt(stress):
    return np.array([stress[i, j] for i, j in ((0, 0), (1, 1), (2, 2), (1, 2), (2, 0), (0, 1))])


def some_stress(seed):
    half = np.random.default_rng(seed).normal(size=(3, 3)) * 10
    return half + half.T


def test_modulus_along_across_and_between():
    assert STIFF.modulus(at(0), UP) == pytest.approx(2000.0)
    assert STIFF.modulus(at(90), UP) == pytest.approx(1500.0)
    assert STIFF.modulus((3.0, -1.0, 0.0), UP) == pytest.approx(2000.0)
    # At 45°: 4/E = 1/E₁ + 1/E₃ + 1/G - 2ν/E₁ (Lekhnitskii, Jones).
    expected = 4 / (1 / 2000 + 1 / 1500 + 1 / 600 - 2 * 0.35 / 2000)
    assert STIFF.modulus(at(45), UP) == pytest.approx(expected)
    assert STIFF.modulus(at(-45), UP) == pytest.approx(expected)


@pytest.mark.parametrize("seed", range(4))
def test_modulus_is_that_of_the_turned_compliance(seed):
    rotation = Rotation.random(random_state=seed).as_matrix()
    compliance = STIFF.compliance_in(rotation)
    for axis in range(3):
        assert STIFF.modulus(rotation[axis], UP) == pytest.approx(1 / compliance[axis, axis])


@pytest.mark.parametrize("seed", range(4))
def test_turning_there_and_back(seed):
    rotation = Rotation.random(random_state=seed).as_matrix()
    turned = turned_compliance(STIFF.compliance(), rotation)
    assert turned_compliance(turned, rotation.T) == pytest.approx(STIFF.compliance(), abs=1e-15)
    # By the tensors of the fourth rank, written out: S_ijkl, with halves of the shear strains.
    scale = np.array([1, 1, 1, 2, 2, 2])
    pairs = ((0, 0), (1, 1), (2, 2), (1, 2), (2, 0), (0, 1))
    tensor = np.zeros((3, 3, 3, 3))
    plain = STIFF.compliance() / np.outer(scale, scale)
    for a, (i, j) in enumerate(pairs):
        for b, (k, m) in enumerate(pairs):
            for ij in ((i, j), (j, i)):
                for km in ((k, m), (m, k)):
                    tensor[(*ij, *km)] = plain[a, b]
    moved = np.einsum("ai,bj,ck,dl,ijkl->abcd", *[rotation] * 4, tensor)
    found = np.array([[moved[(*p, *q)] for q in pairs] for p in pairs]) * np.outer(scale, scale)
    assert turned == pytest.approx(found, abs=1e-15)


@pytest.mark.parametrize("seed", range(4))
def test_energy_is_the_same_in_every_frame(seed):
    rotation, stress = Rotation.random(random_state=seed).as_matrix(), some_stress(seed)
    here = voigt(stress) @ STIFF.compliance() @ voigt(stress)
    seen = voigt(rotation @ stress @ rotation.T)
    assert seen @ STIFF.compliance_in(rotation) @ seen == pytest.approx(here)


def test_a_turn_about_the_print_direction_changes_nothing():
    rotation = Rotation.from_rotvec([0, 0, 0.7]).as_matrix()
    assert STIFF.compliance_in(rotation) == pytest.approx(STIFF.compliance(), abs=1e-15)


def test_without_a_weak_direction_every_frame_is_alike():
    even = LayeredStiffness(2000.0, 2000.0, 2000.0 / 2.7)
    rotation = Rotation.random(random_state=9).as_matrix()
    assert even.compliance_in(rotation) == pytest.approx(even.compliance(), abs=1e-15)
    assert even.rigidity(at(30), UP) == pytest.approx(2000.0 / 2.7)
    assert even.modulus(at(30), UP) == pytest.approx(2000.0)


def test_rigidity():
    # Along the print direction all shear is between layers; along the layers half of it, and half
    # is in them with G = E / 2(1 + ν): the mean of both compliances.
    assert STIFF.rigidity(UP, UP) == pytest.approx(600.0)
    assert STIFF.rigidity(at(0), UP) == pytest.approx(2 / (1 / 600 + 2.7 / 2000))


def test_stiffness_of_a_filament():
    found = LayeredStiffness.of(Material("x", 1.2, stiffness_xy=2400.0, stiffness_z=2400.0))
    assert found.shear == pytest.approx(2400.0 / 2.7)
    found = LayeredStiffness.of(Material("x", 1.2, stiffness_xy=2400.0, stiffness_z=600.0))
    assert found.shear == pytest.approx(1200.0 / 2.7)
    with pytest.raises(WorkshopError, match="stiffness"):
        LayeredStiffness.of(Material("x", 1.2, stiffness_xy=2400.0))
    with pytest.raises(ValueError, match="elastic constants"):
        LayeredStiffness(2000.0, 9000.0, 600.0, 0.3, 0.9)


def test_strength_along_across_and_between():
    assert STRONG.pull(at(0), UP) == pytest.approx(50.0)
    assert STRONG.pull(at(90), UP) == pytest.approx(30.0)
    # Azzi and Tsai: 1/σ² = c⁴/X² + (1/S² - 1/X²) c² s² + s⁴/Z²; at 45°
    # 4/σ² = 1/S² + 1/Z².
    assert STRONG.pull(at(45), UP) == pytest.approx(2 / math.sqrt(1 / 18**2 + 1 / 30**2))
    c, s = math.cos(math.radians(20)) ** 2, math.sin(math.radians(20)) ** 2
    square = c**2 / 50**2 + (1 / 18**2 - 1 / 50**2) * c * s + s**2 / 30**2
    assert STRONG.pull(at(20), UP) == pytest.approx(1 / math.sqrt(square))


def test_pull_along_layers_under_an_angle_is_weaker_the_steeper_it_is():
    weaker = LayeredStrength(50.0, 25.0, 25.0 / math.sqrt(3.0))
    found = [weaker.pull(at(a), UP) for a in range(0, 91, 5)]
    # Where shear is the weakest it may dip below the strength across, but never below shear's.
    assert found[0] == pytest.approx(50.0)
    assert found[-1] == pytest.approx(25.0)
    assert min(found) > 0.9 * 25.0


def test_plane_stress_is_the_criterion_of_azzi_and_tsai():
    for seed in range(5):
        one, three, shear = np.abs(np.random.default_rng(seed).normal(size=3)) * 10
        stress = np.array([[one, 0, shear], [0, 0, 0], [shear, 0, three]])
        square = one**2 / 50**2 - one * three / 50**2 + three**2 / 30**2 + shear**2 / 18**2
        assert STRONG.share(stress, UP) == pytest.approx(math.sqrt(square))


@pytest.mark.parametrize("seed", range(6))
def test_without_a_weak_direction_it_is_von_mises(seed):
    even = LayeredStrength(40.0, 40.0, 40.0 / math.sqrt(3.0))
    stress = some_stress(seed)
    away = stress - np.eye(3) * np.trace(stress) / 3
    mises = math.sqrt(1.5 * (away**2).sum())
    up = Rotation.random(random_state=seed).as_matrix()[2]
    assert even.share(stress, up) == pytest.approx(mises / 40.0)


@pytest.mark.parametrize("seed", range(6))
def test_it_goes_with_the_frame_and_the_load(seed):
    rotation, stress = Rotation.random(random_state=seed).as_matrix(), some_stress(seed)
    here = STRONG.share(stress, UP)
    assert STRONG.share(rotation @ stress @ rotation.T, rotation @ UP) == pytest.approx(here)
    assert STRONG.share(3.0 * stress, UP) == pytest.approx(3.0 * here)
    assert STRONG.share(stress, (0.0, 0.0, -5.0)) == pytest.approx(here)


def test_no_stress_is_stood_for_nothing():
    # The squares are never below 0: on ten thousand stresses, without the guard for rounding.
    rng = np.random.default_rng(1)
    half = rng.normal(size=(10_000, 3, 3))
    stress = half + half.transpose(0, 2, 1)
    assert (STRONG.share(stress, UP) > 1e-4).all()


def test_layers_that_are_pressed_do_not_part():
    assert STRONG.share(np.diag([0.0, 0.0, -50.0]), UP) == pytest.approx(1.0)
    assert STRONG.share(np.diag([0.0, 0.0, 30.0]), UP) == pytest.approx(1.0)
    # And layers are not stronger across than along.
    odd = LayeredStrength(30.0, 80.0, 17.0)
    assert odd.pull(UP, UP) == pytest.approx(30.0)


def test_strength_of_a_filament():
    found = LayeredStrength.of(Material("x", 1.2, strength_xy=50.0, strength_z=30.0))
    assert (found.along, found.across) == (50.0, 30.0)
    assert found.shear == pytest.approx(30.0 / math.sqrt(3.0))
    with pytest.raises(WorkshopError, match="strength"):
        LayeredStrength.of(Material("x", 1.2, strength_xy=50.0))
    with pytest.raises(ValueError, match="above 0"):
        LayeredStrength(50.0, 0.0, 1.0)


def test_stress_of_a_bar():
    found = bar_stress([12.0], [5.0], (0.0, 0.0, 2.0), 8)
    assert found.shape == (1, 8, 3, 3)
    assert found[0] == pytest.approx(found[0].transpose(0, 2, 1))
    assert found[0, :, 2, 2] == pytest.approx(np.full(8, 12.0))
    assert np.linalg.norm(found[0, :, :2, 2], axis=1) == pytest.approx(np.full(8, 5.0))
    # Von Mises: √(σ² + 3 τ²).
    even = LayeredStrength(1.0, 1.0, 1.0 / math.sqrt(3.0))
    assert even.share(found, UP) == pytest.approx(np.full((1, 8), math.sqrt(12**2 + 75)))
