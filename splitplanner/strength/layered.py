"""A printed material: alike in all directions of its layers, and weaker and softer across them.

In the frame of the print, x and y lie in the layers and z is the print direction. Stress and strain
are written as (xx, yy, zz, yz, zx, xy), shear strains as angles (Voigt).
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike

from splitplanner.arrays import Floats, frozen_floats, unit_vector
from splitplanner.errors import WorkshopError
from splitplanner.solid import frame_of
from splitplanner.strength.beams import POISSON
from splitplanner.workshop import Material

_PAIRS = ((0, 0), (1, 1), (2, 2), (1, 2), (2, 0), (0, 1))
"""Which two axes each of the six components has."""


@dataclass(frozen=True)
class LayeredStiffness:
    """Five elastic constants of a material that is alike in all directions of its layers.

    Attributes
    ----------
    along, across : float
        Moduli of elasticity in the layers and across them, MPa.
    shear : float
        Modulus of rigidity of layers that slide on each other, MPa.
    poisson : float
        Contraction in the layers by a pull along them.
    poisson_across : float
        Contraction across them by such a pull.

    Raises
    ------
    ValueError
        If no material can have them together: some stress would give energy away.
    """

    along: float
    across: float
    shear: float
    poisson: float = POISSON
    poisson_across: float = POISSON

    def __post_init__(self) -> None:
        if not (self.along > 0.0 and self.across > 0.0 and self.shear > 0.0) or not (
            np.linalg.eigvalsh(self.compliance()).min() > 0.0
        ):
            raise ValueError(f"no material has these elastic constants: {self}")

    @staticmethod
    def of(material: Material) -> LayeredStiffness:
        """Return the stiffness of a filament as printed.

        Poisson's ratios are `POISSON`, and the modulus of rigidity across the layers is
        ``√(E_xy E_z) / (2 (1 + ν))`` (Huber's estimate, from memory): nothing is known of either.

        Raises
        ------
        WorkshopError
            If the material does not tell its stiffness.
        """
        if material.stiffness_xy is None or material.stiffness_z is None:
            raise WorkshopError(
                f"Material “{material.name}”: give its stiffness along and across the layers, so "
                "that it can be told how far a part bends."
            )
        along, across = material.stiffness_xy, material.stiffness_z
        return LayeredStiffness(along, across, math.sqrt(along * across) / (2.0 * (1.0 + POISSON)))

    def compliance(self) -> Floats:
        """Return strain over stress in the frame of the print, (6, 6) 1/MPa.

        Transverse isotropy (Lekhnitskii, Theory of Elasticity of an Anisotropic Body; from memory).
        """
        found = np.zeros((6, 6))
        found[:2, :2] = -self.poisson / self.along
        found[2, :2] = found[:2, 2] = -self.poisson_across / self.along
        found[0, 0] = found[1, 1] = 1.0 / self.along
        found[2, 2] = 1.0 / self.across
        found[3, 3] = found[4, 4] = 1.0 / self.shear
        found[5, 5] = 2.0 * (1.0 + self.poisson) / self.along
        return found

    def compliance_in(self, frame: Floats) -> Floats:
        """Return strain over stress in another frame, (6, 6) 1/MPa.

        Parameters
        ----------
        frame : (3, 3) float array
            Rows: the axes of the other frame as the print sees them.
        """
        return turned_compliance(self.compliance(), frame)

    def modulus(self, direction: ArrayLike, up: ArrayLike) -> float:
        """Return the modulus of elasticity along a direction, MPa.

        ``1/E = c⁴/E_xy + s⁴/E_z + (1/G - 2ν/E_xy) s² c²`` at an angle to the layers: the turned
        compliance (Lekhnitskii; from memory).

        Parameters
        ----------
        direction, up : (3,) array
            In one frame; the second is the print direction.
        """
        sine = float(unit_vector(direction) @ unit_vector(up)) ** 2
        cosine = 1.0 - sine
        mixed = 1.0 / self.shear - 2.0 * self.poisson_across / self.along
        return 1.0 / (cosine**2 / self.along + sine**2 / self.across + mixed * sine * cosine)

    def rigidity(self, axis: ArrayLike, up: ArrayLike) -> float:
        """Return the modulus of rigidity for twisting about an axis, MPa.

        Of shear between the axis and all directions across it, by the mean of their compliances:
        exact for round bars along and across the layers, else an estimate.
        """
        frame = frame_of(axis) @ frame_of(up).T
        compliance = self.compliance_in(frame)
        return 2.0 / float(compliance[3, 3] + compliance[4, 4])


def turned_compliance(compliance: Floats, frame: Floats) -> Floats:
    """Return a compliance (6, 6) as seen in another frame.

    Stress is ``σ = Rᵀ σ' R`` with R the frame; the energy is the same in both, so that
    ``S' = Tᵀ S T`` with T from the six components of σ' to those of σ (Bond's matrices).

    Parameters
    ----------
    compliance : (6, 6) float array
    frame : (3, 3) float array
        Rows: axes of the other frame in the old one, a rotation.
    """
    back = np.zeros((6, 6))
    for k, (i, j) in enumerate(_PAIRS):
        unit = np.zeros((3, 3))
        unit[i, j] = unit[j, i] = 1.0
        stress = frame.T @ unit @ frame
        back[:, k] = [stress[a, b] for a, b in _PAIRS]
    result: Floats = back.T @ compliance @ back
    return result


@dataclass(frozen=True)
class LayeredStrength:
    """What a material stands along its layers, across them, and between them.

    Attributes
    ----------
    along, across : float
        Tensile strength in the layers and across them, MPa.
    shear : float
        Of layers that slide on each other, MPa.

    Raises
    ------
    ValueError
        If one is not above 0.
    """

    along: float
    across: float
    shear: float

    def __post_init__(self) -> None:
        if not min(self.along, self.across, self.shear) > 0.0:
            raise ValueError(f"strengths must be above 0, got {self}")

    @staticmethod
    def of(material: Material) -> LayeredStrength:
        """Return the strength of a filament as printed.

        Shear between layers is the lesser strength over √3, as it is where layers do not matter
        (von Mises): nothing is known of it.

        Raises
        ------
        WorkshopError
            If the material does not tell its strength.
        """
        if material.strength_xy is None or material.strength_z is None:
            raise WorkshopError(
                f"Material “{material.name}”: give its strength along and across the layers, so "
                "that it can be told what a part stands."
            )
        along, across = material.strength_xy, material.strength_z
        return LayeredStrength(along, across, min(along, across) / math.sqrt(3.0))

    def share(self, stress: ArrayLike, up: ArrayLike) -> Floats:
        """Return which share of the strength a stress takes, (...); 1 is where it fails.

        With σn and τ pulling and sliding the layers apart, s the sum and v the von Mises stress of
        what acts in them, X, Z and S the strengths::

            share² = v² / X² - s σn / X² + σn² / Z² + τ² / S²

        For one stress in the layers it is the criterion of Tsai and Hill as Azzi and Tsai wrote it
        (1965; Jones, Mechanics of Composite Materials; from memory), the layers being the strong
        direction; where Z = X and S = X/√3 it is von Mises'. Layers that are pressed together do
        not part: then X stands for Z. Nor are they taken to be stronger across than along (common
        practice, no source). Tensile strengths stand for compression, which plastics stand better.

        Parameters
        ----------
        stress : (..., 3, 3) array
            MPa, tension above 0.
        up : (3,) array
            Print direction in the same frame.
        """
        acting, normal = np.asarray(stress, float), unit_vector(up)
        on_layer = acting @ normal
        pulling = on_layer @ normal
        sliding = (on_layer**2).sum(axis=-1) - pulling**2
        flat = np.eye(3) - np.outer(normal, normal)
        inside = flat @ acting @ flat
        total = np.trace(inside, axis1=-2, axis2=-1)
        mises = 1.5 * (inside**2).sum(axis=(-2, -1)) - 0.5 * total**2
        across = np.where(pulling > 0.0, min(self.across, self.along), self.along)
        square = (mises - total * pulling) / self.along**2
        square = square + (pulling / across) ** 2 + sliding / self.shear**2
        found: Floats = np.sqrt(np.maximum(square, 0.0))
        return found

    def pull(self, direction: ArrayLike, up: ArrayLike) -> float:
        """Return the tensile strength along a direction, MPa, of a print with direction `up`."""
        unit = unit_vector(direction)
        return 1.0 / float(self.share(np.outer(unit, unit), up))


def bar_stress(normal: ArrayLike, twist: ArrayLike, axis: ArrayLike, turns: int = 24) -> Floats:
    """Return the stresses at the rim of a twisted and pulled section, (..., turns, 3, 3) MPa.

    Which way the shear stress points depends on the place: all ways round are given.

    Parameters
    ----------
    normal, twist : (...) array
        Stress along the axis and shear stress across it, MPa.
    axis : (3,) array
    turns : int
        How many ways.
    """
    u, v, n = frame_of(axis)
    angle = np.arange(turns) * 2.0 * np.pi / turns
    ways = np.cos(angle)[:, None] * u + np.sin(angle)[:, None] * v
    shears = ways[:, :, None] * n + n[:, None] * ways[:, None, :]
    along = np.asarray(normal, float)[..., None, None, None] * np.outer(n, n)
    return frozen_floats(along + np.asarray(twist, float)[..., None, None, None] * shears)
